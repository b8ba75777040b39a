//! What holds a barrier log, and how much: a steady force over a way, past which it is carried away.
//!
//! ```text
//! staked     F = n·H, H the least of soil and wood of one stake                    (N)
//!   clay     H·(e + 1.5·d + f/2) = 2.25·d·g²·s_u, f = H/(9·s_u·d), ℓ = 1.5·d + f + g
//!   loose    H = ½·γ·d·ℓ³·K_p/(e + ℓ), K_p = tan²(45° + φ/2)
//!   wood     H = MOR·π·d³/32/(e + 1.5·d)
//! stump      F·s = M·g·h: it is lifted over a stump of height h above what it lies on
//! dent       F = M·g·tan(α − θ), F·s = M·g·R·(1 − cos(α − θ)), cos α = 1 − z/R
//! ```
//!
//! s the way over which it holds (m); d, ℓ, e thickness, depth and height of the pull of a stake (m),
//! s_u, φ, γ the soil's shear strength (Pa), friction angle and unit weight; M, R, z mass (kg), radius
//! and depth in the ground of the log (m), θ the slope across it. Stakes: Broms 1964, short free-headed
//! piles (from memory); the dent: a round log that is to climb out over its edge, textbook statics.
//! How many stakes, how thick and deep, how high the stump and how far stakes give: ours, as no one
//! measured barrier logs; wide, and drawn anew for every ground.
//!
//! A push is taken up as momentum: of what the log gets, F takes away F·Δt, and the rest p would set
//! log and piece going with p²/(2·(m + M)), m what the log feels of the piece at that place; past F·s
//! the log is let go, and F·s is taken at once from the speed that the blow gives it.
//!
//! Left out: stakes that split, a log held at one end that swings round it, a dent that gives way,
//! where along the log it is hit.
//!
//! Known answers: `verif_barrier_logs.rs` of the acceptance tests.

use crate::{
    GRAVITY_M_S2,
    ground::{Ground, Strength},
    scene::model::Held,
    site::Holding,
};

/// Stakes of a staked log.
const STAKES: f64 = 2.0;
/// Thickness of a stake, least and most, m.
const STAKE_M: [f64; 2] = [0.04, 0.08];
/// Its depth in the ground, least and most, m.
const DRIVEN_M: [f64; 2] = [0.3, 0.6];
/// Modulus of rupture of a stake, green hardwood, Pa (Wood Handbook, read second hand: 48 to 66 MPa).
const STAKE_RUPTURE_PA: f64 = 55e6;
/// Way over which stakes give before the log rides over them, in radii of the log.
const STAKES_GIVE: [f64; 2] = [0.5, 1.5];
/// Height of a stump above what the log lies on, in diameters of the log.
const STUMP_OVER: [f64; 2] = [0.25, 0.75];

/// A barrier log as it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lies {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Radius, m.
    pub radius_m: f64,
    /// Depth in the ground, m.
    pub sunk_m: f64,
    /// Slope of the ground across it, rad.
    pub slope_rad: f64,
}

/// How a log is held; `None` where it isn't. `share` (0 to 1) says where between least and most what
/// isn't known of it lies.
#[must_use]
pub fn holding(held: Held, log: &Lies, ground: &Ground, share: f64) -> Option<Holding> {
    let within = |[low, high]: [f64; 2]| low + (high - low) * share;
    let weight_n = log.mass_kg * GRAVITY_M_S2;
    Some(match held {
        Held::NotHeld => return None,
        Held::Staked => {
            let stake_n = stake_n(within(STAKE_M), within(DRIVEN_M), log.radius_m, &ground.soil);
            Holding { force_n: STAKES * stake_n, travel_m: within(STAKES_GIVE) * log.radius_m }
        }
        Held::AgainstStump => {
            let over_m = within(STUMP_OVER) * 2.0 * log.radius_m;
            let travel_m = 2.0 * log.radius_m;
            Holding { force_n: weight_n * over_m / travel_m, travel_m }
        }
        Held::InDent => {
            let edge_rad = libm::acos((1.0 - log.sunk_m / log.radius_m).clamp(0.0, 1.0));
            let climbs_rad = (edge_rad - log.slope_rad).clamp(0.0, 1.4);
            let force_n = weight_n * libm::tan(climbs_rad);
            let work_j = weight_n * log.radius_m * (1.0 - libm::cos(climbs_rad));
            Holding { force_n, travel_m: if force_n > 0.0 { work_j / force_n } else { 0.0 } }
        }
    })
}

/// What one stake bears across, pulled at a height above the ground, N.
#[must_use]
pub fn stake_n(thick_m: f64, driven_m: f64, height_m: f64, soil: &Strength) -> f64 {
    let (d, l, e) = (thick_m, driven_m, height_m);
    let wood_n = STAKE_RUPTURE_PA * std::f64::consts::PI * d.powi(3) / 32.0 / (e + 1.5 * d);
    let soil_n = match *soil {
        Strength::Cohesive { shear_strength_pa: s_u } => {
            // How deep a stake has to be for a pull grows with it.
            let needs_m = |h: f64| {
                let f = h / (9.0 * s_u * d);
                1.5 * d + f + (h * (e + 1.5 * d + 0.5 * f) / (2.25 * d * s_u)).sqrt()
            };
            let (mut low, mut high) = (0.0, 9.0 * s_u * d * l);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if needs_m(middle) < l { low = middle } else { high = middle }
            }
            low
        }
        Strength::Frictional { friction_angle_rad, unit_weight_n_m3 } => {
            let k = libm::tan(0.25 * std::f64::consts::PI + 0.5 * friction_angle_rad).powi(2);
            0.5 * unit_weight_n_m3 * d * l.powi(3) * k / (e + l)
        }
    };
    wood_n.min(soil_n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_stake_is_in_balance_with_its_soil() {
        // By hand for clay of 36 kPa, a stake of 6 cm, 45 cm deep, pulled 17.5 cm up: the depth that
        // 1.363 kN needs is 45 cm.
        let clay = Strength::Cohesive { shear_strength_pa: 36e3 };
        let h = stake_n(0.06, 0.45, 0.175, &clay);
        let f = h / (9.0 * 36e3 * 0.06);
        let moment = h * (0.175 + 0.09 + 0.5 * f);
        let g = 0.45 - 0.09 - f;
        assert!((moment / (2.25 * 0.06 * g * g * 36e3) - 1.0).abs() < 1e-6, "{h}");
        // Loose: moments about the foot, K_p·γ·d·ℓ³/2 against H·(e + ℓ).
        let sand = Strength::Frictional { friction_angle_rad: 0.6, unit_weight_n_m3: 17e3 };
        let k = (1.0 + 0.6_f64.sin()) / (1.0 - 0.6_f64.sin());
        let theirs = 0.5 * 17e3 * 0.06 * 0.45_f64.powi(3) * k / (0.175 + 0.45);
        assert!((stake_n(0.06, 0.45, 0.175, &sand) / theirs - 1.0).abs() < 1e-9);
        // In hard ground the wood gives way first.
        let hard = Strength::Cohesive { shear_strength_pa: 1e6 };
        let wood = 55e6 * std::f64::consts::PI * 0.04_f64.powi(3) / 32.0 / (0.175 + 0.06);
        assert!((stake_n(0.04, 0.6, 0.175, &hard) / wood - 1.0).abs() < 1e-9);
    }

    #[test]
    fn verif_a_log_in_a_dent_climbs_over_its_edge() {
        let log = Lies { mass_kg: 500.0, radius_m: 0.2, sunk_m: 0.1, slope_rad: 0.0 };
        let ground = crate::soil::testing::firm();
        let held = holding(Held::InDent, &log, &ground, 0.5).unwrap();
        // cos α = ½: 60°.
        let weight_n = 500.0 * GRAVITY_M_S2;
        assert!((held.force_n / (weight_n * 3.0_f64.sqrt()) - 1.0).abs() < 1e-9);
        assert!((held.work_j() / (weight_n * 0.1) - 1.0).abs() < 1e-9);
        let steep = Lies { slope_rad: 1.1, ..log };
        assert_eq!(holding(Held::InDent, &steep, &ground, 0.5).unwrap().force_n, 0.0);
        assert!(holding(Held::NotHeld, &log, &ground, 0.5).is_none());
        let stump = holding(Held::AgainstStump, &log, &ground, 0.5).unwrap();
        assert!((stump.work_j() / (weight_n * 0.2) - 1.0).abs() < 1e-9);
    }
}
