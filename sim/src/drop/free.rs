//! Torque-free rotation of a body with any inertia.
//!
//! A symmetric top turns in closed form: with angular momentum L (constant in the world) and
//! principal moments A = I₁ = I₂ and C = I₃,
//!
//! ```text
//! q(t) = rot(L/A·t) · q(0) · rot(ẑ·L₃(1/C − 1/A)·t)
//! ```
//!
//! A body with I₂ ≠ I₁ is split: kinetic energy = that of the top with A = I₁, plus
//! ½L₂²(1/I₂ − 1/I₁), whose own flow is a rotation about the body's y axis; half of it before and
//! half after the top's flow (Strang 1968; splitting of the free rigid body as in Dullweber,
//! Leimkuhler & McLachlan 1997, from memory). Every factor is a rotation, so |L| holds exactly
//! and the energy error stays bounded; with I₂ = I₁ the closed form is what is left.
//!
//! L angular momentum (kg m²/s), I₁…I₃ principal moments (kg m²), ẑ the body's z axis, t time (s).
//! Known answers: `verif_precession_of_a_symmetric_top`, `verif_tennis_racket_flips`.

use glam::{DQuat, DVec3};

/// Below this angle (rad) a rotation's series to the seventh power is exact to 1e-16.
const SERIES_BELOW_RAD: f64 = 0.1;

/// The attitude after `dt_s` of torque-free rotation.
#[inline]
#[must_use]
pub fn turn(attitude: DQuat, momentum: DVec3, inertia: DVec3, dt_s: f64) -> DQuat {
    let lopsided = 1.0 / inertia.y - 1.0 / inertia.x;
    let q = half_y(attitude, momentum, lopsided, 0.5 * dt_s);
    let along = (q.inverse() * momentum).z;
    let spin = rotation(DVec3::Z * (along * (1.0 / inertia.z - 1.0 / inertia.x) * dt_s));
    let q = rotation(momentum * (dt_s / inertia.x)) * q * spin;
    half_y(q, momentum, lopsided, 0.5 * dt_s).normalize()
}

#[inline]
fn half_y(q: DQuat, momentum: DVec3, lopsided: f64, dt_s: f64) -> DQuat {
    if lopsided == 0.0 {
        return q;
    }
    q * rotation(DVec3::Y * ((q.inverse() * momentum).y * lopsided * dt_s))
}

/// The rotation by the vector `by` (rad), with the same rounding on every machine.
#[inline]
#[must_use]
pub fn rotation(by: DVec3) -> DQuat {
    let angle_sq = by.length_squared();
    let h = 0.25 * angle_sq;
    let (share, cosine) = if angle_sq < SERIES_BELOW_RAD * SERIES_BELOW_RAD {
        (
            0.5 * (1.0 - h / 6.0 * (1.0 - h / 20.0 * (1.0 - h / 42.0))),
            1.0 - h / 2.0 * (1.0 - h / 12.0 * (1.0 - h / 30.0 * (1.0 - h / 56.0))),
        )
    } else {
        let angle = angle_sq.sqrt();
        let (sine, cosine) = libm::sincos(0.5 * angle);
        (sine / angle, cosine)
    };
    DQuat::from_xyzw(by.x * share, by.y * share, by.z * share, cosine)
}

/// Angular velocity in the world frame, rad/s, of a body with this angular momentum.
#[inline]
#[must_use]
pub fn spin_rad_s(attitude: DQuat, momentum: DVec3, inertia: DVec3) -> DVec3 {
    attitude * ((attitude.inverse() * momentum) / inertia)
}

/// Angular momentum, kg m²/s, of a body with this angular velocity.
#[inline]
#[must_use]
pub fn angular_momentum(attitude: DQuat, spin_rad_s: DVec3, inertia: DVec3) -> DVec3 {
    attitude * ((attitude.inverse() * spin_rad_s) * inertia)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn energy(q: DQuat, l: DVec3, inertia: DVec3) -> f64 {
        0.5 * l.dot(spin_rad_s(q, l, inertia))
    }

    #[test]
    fn verif_precession_of_a_symmetric_top() {
        // Landau & Lifshitz, Mechanics §35: the axis precesses about L at |L|/A.
        let inertia = DVec3::new(2.0, 2.0, 0.3);
        let l = DVec3::new(1.0, 0.5, 3.0);
        let q0 = DQuat::from_rotation_y(0.4);
        let period = std::f64::consts::TAU * inertia.x / l.length();
        let mut q = q0;
        for _ in 0..1000 {
            q = turn(q, l, inertia, period / 1000.0);
        }
        assert!((q * DVec3::Z - q0 * DVec3::Z).length() < 1e-10);
        let once = turn(q0, l, inertia, period);
        assert!((once * DVec3::Z - q0 * DVec3::Z).length() < 1e-12);
        assert!((once * DVec3::X - q * DVec3::X).length() < 1e-9, "one step equals a thousand");
    }

    #[test]
    fn verif_tennis_racket_flips() {
        // The intermediate axis is unstable (Ashbaugh, Chicone & Cushman 1991); energy is bounded.
        let inertia = DVec3::new(1.0, 2.0, 3.0);
        let mut q = DQuat::IDENTITY;
        let spin = DVec3::new(0.01, 5.0, 0.01);
        let l = angular_momentum(q, spin, inertia);
        let start = energy(q, l, inertia);
        let (mut flipped, mut worst) = (false, 0.0_f64);
        for _ in 0..20_000 {
            q = turn(q, l, inertia, 1e-3);
            flipped |= (q * DVec3::Y).dot(l.normalize()) < -0.9;
            worst = worst.max((energy(q, l, inertia) / start - 1.0).abs());
        }
        assert!(flipped);
        assert!(worst < 2e-4, "{worst}");
    }

    #[test]
    fn verif_lopsided_step_is_second_order() {
        let inertia = DVec3::new(1.0, 1.3, 0.4);
        let l = DVec3::new(2.0, 1.0, 1.5);
        let go =
            |n: u32| (0..n).fold(DQuat::IDENTITY, |q, _| turn(q, l, inertia, 1.0 / f64::from(n)));
        let exact = go(40_000);
        let miss = |n| (go(n) * DVec3::X - exact * DVec3::X).length();
        let order = libm::log2(miss(100) / miss(200));
        assert!((order - 2.0).abs() < 0.1, "{order}");
    }

    #[test]
    fn verif_series_meets_the_closed_form() {
        let by = DVec3::new(0.05, -0.06, 0.059_9);
        let exact = DQuat::from_scaled_axis(by);
        assert!((rotation(by).xyz() - exact.xyz()).length() < 1e-15);
        assert!((rotation(by).w - exact.w).abs() < 1e-15);
    }
}
