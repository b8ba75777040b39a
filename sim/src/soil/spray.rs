//! What the ground, or anything solid, does to brush that is pressed into it.
//!
//! Models each spray ([`crate::tree::brush`]) as two springs that fold. z is how deep the ball of
//! twigs is in, z_w how deep the limb's own wood is, s and s_w the deepest each has been:
//!
//! ```text
//! twigs     N = min(k_t·s, F_t)·(z − κ·s)/((1 − κ)·s)         0 for z < κ·s: what is crushed stays so
//! limb      N = min(k_c·z_w, F_c), 0 once the work on it has passed U_c: it has broken off
//! traction  ≤ (μ + μ_b)·N of the twigs, ≤ μ_c·N of the limb, and of the limb never over F_c
//! ```
//!
//! They stand in the balance of [`super::kick`] as four elements of ¼ m² with S = N: what goes in
//! meets N, what comes out gets e_b²·N, so that brush gives little back and a piece comes to rest on
//! it. The four of the twigs stand at half the chord that the ball has at that depth, as far out as
//! an even push over a disc of it has its radius of gyration: what rolls on brush presses fresh twigs
//! in ahead and gets nothing back behind. The depth is the ball's own at all four.
//! μ is the ground's own friction; limby logs drag with 0.7–1.0 where plain ones do with 0.4–0.7
//! (forest-engineering handbooks, from memory), hence μ_b = 0.3. κ, e_b and μ_c are ours: no source
//! is known. Work on the limb is N·dz_w and traction times its slip.
//!
//! Left out: tips that go into soft ground (the ground is taken as firm under brush), what brush
//! does on the rigid second opinion. Known answers: `verif_a_spray_is_crushed_by_the_energy_it_takes`,
//! `verif_a_limb_breaks_off_after_its_work`.

use glam::DVec3;

use crate::{
    motion::Motion,
    soil::{
        bed::Bed,
        contact::Quad,
        law::{Law, Part},
    },
    tree::{Brush, Spray},
};

/// κ: share of the deepest crush that stays.
const SET_SHARE: f64 = 0.7;
/// e_b²: share of its push that brush keeps as it springs back.
const RETURNED_SHARE: f64 = 0.05;
/// μ_b: what twigs add to the ground's friction.
const TWIGS_HOLD: f64 = 0.3;
/// μ_c: traction of a limb that props over its push; its end digs in.
const LIMB_CATCHES: f64 = 1.2;
/// Ground that bears more than this under a limb is not dug into, Pa: pavement and rock.
const HARD_PA: f64 = 5e6;

/// What has become of one spray.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Worn {
    /// Deepest its twigs have been in anything, m.
    pub crushed_m: f64,
    /// Work done on the limb that carries it, J.
    pub work_j: f64,
    /// The limb has broken off.
    pub broken: bool,
}

/// A spray that is pressed into something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// Which spray.
    pub spray: usize,
    /// How deep its twigs are, m; negative away from it.
    pub depth_m: f64,
    /// Outward normal of what it is pressed into.
    pub normal: DVec3,
    /// Arm from the piece's centre to the spray's lowest point, m.
    pub arm_m: DVec3,
    /// Friction of what it is pressed into.
    pub friction: f64,
    /// Its end can dig in there.
    pub digs: bool,
}

/// Push of a spray at one depth, N.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pushes {
    /// Of its twigs.
    pub twigs_n: f64,
    /// Of the limb that carries it.
    pub limb_n: f64,
}

/// Where each spray stands to the ground, deep or not.
pub fn on_ground(brush: &Brush, motion: &Motion, bed: &Bed<'_>, presses: &mut Vec<Press>) {
    presses.clear();
    for (index, spray) in brush.sprays.iter().enumerate() {
        let middle_m = motion.point_m(spray.at_m);
        let ground = bed.ground_at(middle_m.x, middle_m.y);
        let Some(plane) = bed.plane(ground, middle_m.x, middle_m.y) else { continue };
        let law = bed.law(ground);
        let arm_m = middle_m - motion.centre_m - plane.normal * spray.radius_m;
        presses.push(Press {
            spray: index,
            depth_m: plane.depth_m(middle_m) + spray.radius_m,
            normal: plane.normal,
            arm_m,
            friction: law.bearing(Part::Side, 0.01, 0.1, 1.0, f64::INFINITY).friction,
            digs: law.surface_strength_pa(Part::End, 0.1, f64::INFINITY)[1] < HARD_PA,
        });
    }
}

/// Push of a spray that has worn so, this deep.
#[must_use]
pub fn pushes(spray: &Spray, worn: &Worn, depth_m: f64) -> Pushes {
    let deepest_m = worn.crushed_m.max(depth_m);
    if depth_m <= 0.0 || deepest_m <= 0.0 {
        return Pushes::default();
    }
    let set_m = SET_SHARE * worn.crushed_m;
    let most_n = (spray.twigs.stiffness_n_m * deepest_m).min(spray.twigs.strength_n);
    let twigs_n = if depth_m >= worn.crushed_m {
        most_n
    } else {
        most_n * ((depth_m - set_m) / (worn.crushed_m - set_m)).max(0.0)
    };
    let wood_m = depth_m - (spray.radius_m - spray.wood_radius_m);
    let limb_n = spray.carrier.filter(|_| !worn.broken && wood_m > 0.0).map_or(0.0, |carrier| {
        (carrier.bending.stiffness_n_m * wood_m).min(carrier.bending.strength_n)
    });
    Pushes { twigs_n, limb_n }
}

/// Puts the pressed sprays among the elements of a piece.
pub fn gather(brush: &Brush, worn: &[Worn], presses: &[Press], law: &Law, quads: &mut Vec<Quad>) {
    for press in presses {
        let (Some(spray), Some(worn)) = (brush.sprays.get(press.spray), worn.get(press.spray))
        else {
            continue;
        };
        let Pushes { twigs_n, limb_n } = pushes(spray, worn, press.depth_m);
        if twigs_n + limb_n <= 0.0 {
            continue;
        }
        let (u, w) = press.normal.any_orthonormal_pair();
        let half_m = 0.5 * chord_half_m(spray.radius_m, press.depth_m);
        let twigs = press.friction + if press.digs { TWIGS_HOLD } else { 0.0 };
        let mut push = |push_n: f64, apart_m: f64, friction: f64, most_n: f64| {
            let mut quad = Quad::empty(law);
            quad.restitution_sq = RETURNED_SHARE;
            quad.inertial_kg_m3 = 0.0;
            for (lane, (x, y)) in CORNERS.into_iter().enumerate() {
                let arm_m = press.arm_m + (u * x + w * y) * apart_m;
                quad.set(lane, -press.normal, arm_m, 0.25, press.depth_m);
            }
            quad.strength_pa = [push_n; 4];
            quad.friction = [friction; 4];
            quad.traction_limit_pa = [most_n; 4];
            quads.push(quad);
        };
        if twigs_n > 0.0 {
            push(twigs_n, half_m, twigs, f64::INFINITY);
        }
        if limb_n > 0.0 {
            let breaks_n = spray.carrier.map_or(0.0, |c| c.bending.strength_n);
            let holds = if press.digs { LIMB_CATCHES } else { press.friction };
            push(limb_n, 0.0, holds, breaks_n);
        }
    }
}

/// Corners of a square about the middle of a patch.
const CORNERS: [(f64, f64); 4] = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];

/// Half the width of what a ball of this radius meets at this depth, m.
fn chord_half_m(radius_m: f64, depth_m: f64) -> f64 {
    let depth_m = depth_m.min(radius_m);
    (depth_m * (2.0 * radius_m - depth_m)).max(0.0).sqrt()
}

/// Wears the sprays by a step in which the piece moved with this twist for `dt_s`.
pub fn wear(
    brush: &Brush,
    worn: &mut [Worn],
    presses: &[Press],
    velocity_at: impl Fn(DVec3) -> DVec3,
    dt_s: f64,
) {
    for press in presses {
        let (Some(spray), Some(worn)) = (brush.sprays.get(press.spray), worn.get_mut(press.spray))
        else {
            continue;
        };
        if press.depth_m <= 0.0 {
            continue;
        }
        let pushed = pushes(spray, worn, press.depth_m);
        worn.crushed_m = worn.crushed_m.max(press.depth_m);
        let Some(carrier) = spray.carrier.filter(|_| pushed.limb_n > 0.0) else { continue };
        let velocity = velocity_at(press.arm_m);
        let into = -velocity.dot(press.normal);
        let slip = (velocity + press.normal * into).length();
        let holds = if press.digs { LIMB_CATCHES } else { press.friction };
        let traction_n = (holds * pushed.limb_n).min(carrier.bending.strength_n);
        worn.work_j += (pushed.limb_n * into.max(0.0) + traction_n * slip) * dt_s;
        worn.broken |= worn.work_j > carrier.work_j;
    }
}

#[cfg(test)]
mod tests {
    use glam::DQuat;

    use super::*;
    use crate::{
        GRAVITY_M_S2,
        drop::mover::{Mover, Pace},
        soil::testing::{bank, log, pavement},
        tree::{
            Piece,
            brush::{Bending, Carrier},
        },
    };

    const DOWN: DVec3 = DVec3::new(0.0, 0.0, -GRAVITY_M_S2);

    /// An upright log whose butt carries one spray on its axis, its lowest point 1.5 m under the
    /// centre.
    fn piece(spray: Spray) -> Piece {
        let at_m = DVec3::Z * (spray.radius_m - 1.5);
        let brush = Brush { sprays: vec![Spray { at_m, ..spray }], ..Brush::default() };
        Piece { brush, ..log(1.0, 0.2) }
    }

    fn spray() -> Spray {
        Spray {
            at_m: DVec3::ZERO,
            radius_m: 0.5,
            wood_radius_m: 0.02,
            mass_kg: 2.0,
            drag_area_m2: 0.0,
            twigs: Bending::default(),
            carrier: None,
        }
    }

    fn fall(piece: &Piece, speed_m_s: f64, until: impl Fn(&Mover<'_>) -> bool) -> (f64, f64, Worn) {
        let site = bank(0.0, pavement());
        let bed = Bed::new(&site);
        let motion = Motion {
            centre_m: DVec3::Z * 1.5,
            attitude: DQuat::IDENTITY,
            velocity_m_s: -DVec3::Z * speed_m_s,
            spin_rad_s: DVec3::ZERO,
        };
        let pace = Pace::default();
        let mut mover = Mover::new(piece, &motion, &bed);
        mover.look(&bed, &pace);
        for _ in 0..20_000 {
            let dt = mover.next_step_s();
            mover.step(&bed, DOWN, dt, &pace);
            if until(&mover) {
                break;
            }
        }
        (mover.centre_m.z, mover.velocity_m_s.z, mover.worn[0])
    }

    #[test]
    fn verif_a_spray_is_crushed_by_the_energy_it_takes() {
        // ½·m·v² + m·g·z = ½·k·z², below what folds it; then with folding at F:
        // ½·m·v² + m·g·z = F·z − F²/(2k).
        let (k, speed) = (9_000.0, 2.0);
        let stiff = Spray { twigs: Bending { stiffness_n_m: k, strength_n: 1e9 }, ..spray() };
        let one = piece(stiff);
        let (m, g) = (one.mass_kg, GRAVITY_M_S2);
        let stopped = |mover: &Mover<'_>| mover.velocity_m_s.z >= 0.0;
        let (z, _, worn) = fall(&one, speed, stopped);
        let deep = (m * g + (m * m * g * g + k * m * speed * speed).sqrt()) / k;
        assert!(((1.5 - z) / deep - 1.0).abs() < 0.02, "{} {deep}", 1.5 - z);
        assert!((worn.crushed_m / deep - 1.0).abs() < 0.02);
        let f = 0.5 * k * deep;
        let folding =
            piece(Spray { twigs: Bending { stiffness_n_m: k, strength_n: f }, ..spray() });
        let (z, _, _) = fall(&folding, speed, stopped);
        let deep = (0.5 * m * speed * speed + f * f / (2.0 * k)) / (f - m * g);
        assert!(((1.5 - z) / deep - 1.0).abs() < 0.02, "{} {deep}", 1.5 - z);
    }

    #[test]
    fn verif_a_limb_breaks_off_after_its_work() {
        // A limb that folds at F and takes U: what falls on it comes out with U less.
        let (f, u, speed) = (1_500.0, 120.0, 5.0);
        let carrier =
            Carrier { bending: Bending { stiffness_n_m: 60e3, strength_n: f }, work_j: u };
        let wooden = Spray { radius_m: 0.02, carrier: Some(carrier), ..spray() };
        let one = piece(wooden);
        let (z, v, worn) = fall(&one, speed, |mover| mover.worn[0].broken);
        assert!(worn.broken && worn.work_j >= u && worn.work_j < 1.1 * u, "{worn:?}");
        let (m, g) = (one.mass_kg, GRAVITY_M_S2);
        let left_j = 0.5 * m * speed * speed + m * g * (1.5 - z) - worn.work_j;
        assert!((0.5 * m * v * v / left_j - 1.0).abs() < 0.02, "{v} {left_j}");
        // It holds no more than it breaks at, and nothing afterwards.
        let pushed = pushes(&one.brush.sprays[0], &Worn::default(), 0.3);
        assert_eq!(pushed.limb_n, f);
        assert_eq!(pushes(&one.brush.sprays[0], &worn, 0.3), Pushes::default());
    }

    #[test]
    fn prop_what_is_crushed_stays_so() {
        let twigs = Bending { stiffness_n_m: 1000.0, strength_n: 300.0 };
        let spray = Spray { twigs, ..spray() };
        let worn = Worn { crushed_m: 0.4, ..Worn::default() };
        let at = |depth_m| pushes(&spray, &worn, depth_m).twigs_n;
        assert_eq!([at(-0.1), at(0.2), at(0.27)], [0.0, 0.0, 0.0]);
        assert!(at(0.3) > 0.0 && at(0.3) < at(0.39) && at(0.4) == 300.0);
        let fresh = pushes(&spray, &Worn::default(), 0.2).twigs_n;
        assert!((fresh - 200.0).abs() < 1e-9);
    }
}
