//! Drag of the air on a piece's brush.
//!
//! ```text
//! F = −½·ρ_a·C·A·min(1, U₀/U)·U·u        at each spray
//! ```
//!
//! u the spray's velocity through still air (m/s), U its speed, A its area in still air (m²), ρ_a
//! density of air (kg/m³). Below U₀ drag grows as the square of speed, above it as speed itself,
//! because brush lays itself into the wind: tree crowns in wind tunnels had a drag about
//! proportional to mass and speed (Vollsinger et al. 2005; Rudnicki et al. 2004, abstracts). C is 0.8
//! of 0.6 to 1.0 at low speed (from memory); with U₀ of a species the coefficient at 20 m/s lies in
//! what was measured there. A bare stem's drag is 3.5 % of its weight at 15 m/s and is left out, as
//! are the wind and the lift. Known answers: `val_drag_of_crowns_at_20_m_s`,
//! `verif_brush_has_a_terminal_speed`.

use glam::DVec3;

use crate::{motion::Motion, tree::Brush};

/// ½·ρ_a·C: density of air 1.2 kg/m³, drag coefficient 0.8.
const HALF_RHO_C_KG_M3: f64 = 0.5 * 1.2 * 0.8;

/// Force (N) and torque about the centre of mass (N m) on brush that moves like this, its velocity
/// further on by `ahead_m_s`.
#[must_use]
pub fn drag(brush: &Brush, motion: &Motion, ahead_m_s: DVec3) -> (DVec3, DVec3) {
    let mut sum = (DVec3::ZERO, DVec3::ZERO);
    for spray in &brush.sprays {
        let velocity = motion.point_velocity_m_s(spray.at_m) + ahead_m_s;
        let speed = velocity.length();
        let eased = speed.min(brush.yields_at_m_s);
        let force = velocity * (-HALF_RHO_C_KG_M3 * spray.drag_area_m2 * eased);
        sum.0 += force;
        sum.1 += (motion.attitude * spray.at_m).cross(force);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        GRAVITY_M_S2,
        drop::mover::{Mover, Pace},
        soil::{
            bed::Bed,
            testing::{bank, firm, log},
        },
        tree::{Piece, Spray, brush::Bending, crown::yields_at_m_s},
        wood::species,
    };

    fn spray(drag_area_m2: f64) -> Spray {
        Spray {
            at_m: DVec3::ZERO,
            radius_m: 1.0,
            wood_radius_m: 0.02,
            mass_kg: 5.0,
            drag_area_m2,
            twigs: Bending::default(),
            carrier: None,
        }
    }

    /// Above U₀ drag is a force times speed: m·g = ½·ρ·C·A·U₀·v, with a time constant of v/g.
    #[test]
    fn verif_brush_has_a_terminal_speed() {
        let plain = log(2.0, 0.1);
        let (falls_m_s, yields_at_m_s) = (8.0, 5.0);
        let weight_n = plain.mass_kg * GRAVITY_M_S2;
        let area_m2 = weight_n / (HALF_RHO_C_KG_M3 * yields_at_m_s * falls_m_s);
        let brush = Brush { sprays: vec![spray(area_m2)], yields_at_m_s, ..Brush::default() };
        let piece = Piece { brush, ..plain };
        let site = bank(0.0, firm());
        let bed = Bed::new(&site);
        let start_m_s = 20.0;
        let motion = Motion {
            centre_m: DVec3::Z * 100.0,
            attitude: glam::DQuat::IDENTITY,
            velocity_m_s: -DVec3::Z * start_m_s,
            spin_rad_s: DVec3::ZERO,
        };
        let mut mover = Mover::new(&piece, &motion, &bed);
        let down = -DVec3::Z * GRAVITY_M_S2;
        let (steps, dt_s) = (100, 0.02);
        for step in 1..=steps {
            mover.step(&bed, down, dt_s, &Pace::default());
            let gone = libm::exp(-f64::from(step) * dt_s * GRAVITY_M_S2 / falls_m_s);
            let exact = falls_m_s + (start_m_s - falls_m_s) * gone;
            assert!((-mover.velocity_m_s.z / exact - 1.0).abs() < 0.005, "{step}");
        }
    }

    /// Drag coefficients of crowns at 20 m/s, on their area in still air: hardwoods 0.15 to 0.22
    /// (Vollsinger et al. 2005, abstract), conifers 0.22 to 0.47 (Rudnicki et al. 2004, abstract).
    #[test]
    fn val_drag_of_crowns_at_20_m_s() {
        for (name, least, most) in [("white oak", 0.15, 0.22), ("douglas-fir", 0.22, 0.47)] {
            let yields_at_m_s = yields_at_m_s(species(name).unwrap());
            let brush = Brush { sprays: vec![spray(1.0)], yields_at_m_s, ..Brush::default() };
            let motion = Motion {
                centre_m: DVec3::ZERO,
                attitude: glam::DQuat::IDENTITY,
                velocity_m_s: DVec3::X * 20.0,
                spin_rad_s: DVec3::ZERO,
            };
            let (force, torque) = drag(&brush, &motion, DVec3::ZERO);
            let coefficient = -force.x / (0.5 * 1.2 * 400.0);
            assert!((least..most).contains(&coefficient), "{name}: {coefficient}");
            assert_eq!(torque, DVec3::ZERO);
        }
    }
}
