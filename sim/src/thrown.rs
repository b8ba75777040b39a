//! How far soil can be thrown from where a piece digs in: an outer radius, apart from the piece.
//!
//! Models a clod that leaves no faster than the part of the piece that throws it, at whatever
//! angle takes it farthest, through air that doesn't slow it. Thrown at v from a height h over
//! where it comes down it lands within (the envelope of all trajectories of one speed, a textbook
//! result)
//!
//! ```text
//! R = (v/g)·√(v² + 2·g·h)          nowhere if v² + 2·g·h < 0
//! R = v²/(g·(1 − sin β))           along a plane that falls at β, seen from above times cos β
//! ```
//!
//! v speed of the touching point (m/s), g gravity (m/s²), R level distance (m). What is dug is the
//! volume under the ground's surface that the piece fills at its deepest in that touch,
//! V = Σ depth·A·(n·down) over its elements (m³, divergence theorem); under [`LEAST_DUG_M3`]
//! nothing is thrown. That clods are no faster than what throws them is ours: low-speed impacts
//! throw sand at a fraction of their speed (arXiv 2507.11691, abstract; the fraction from memory),
//! a wedge that squeezes mud out sideways may throw some of it faster. So this is a bound for
//! clods, not for splashes. Left out: which way clods go, how many, and what they hurt.
//!
//! Known answers: `verif_thrown` of the acceptance tests.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    drop::{Against, Touch},
    outcome::foot_m,
    site::{Body, Site, distance_in_plan_m},
};

/// Least volume dug that throws anything, m³: a litre, ours.
pub const LEAST_DUG_M3: f64 = 1e-3;

/// One touch that dug in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dig {
    /// Where, m.
    pub point_m: DVec3,
    /// Speed of the part of the piece that dug, as it came, m/s.
    pub speed_m_s: f64,
    /// Volume dug, m³.
    pub dug_m3: f64,
    /// Outer radius of clods down the slope there, seen from above, m.
    pub radius_m: f64,
}

impl Dig {
    /// How far short of a body the outermost clods end, seen from above, m: negative where it lies
    /// within, nothing where none can come up to its lowest point.
    #[must_use]
    pub fn short_m(&self, body: &Body) -> Option<f64> {
        let reach_m = reach_m(self.speed_m_s, self.point_m.z - foot_m(body))?;
        Some(distance_in_plan_m(body, self.point_m.truncate()) - reach_m)
    }
}

/// Level distance that clods of `speed_m_s` can go to come down `fall_m` lower; nothing if they
/// can't come up to there.
#[must_use]
pub fn reach_m(speed_m_s: f64, fall_m: f64) -> Option<f64> {
    let square = speed_m_s * speed_m_s + 2.0 * GRAVITY_M_S2 * fall_m;
    (square >= 0.0).then(|| speed_m_s / GRAVITY_M_S2 * square.sqrt())
}

/// Level distance that clods of `speed_m_s` can go down a plane that falls at `slope_rad`, m.
#[must_use]
pub fn reach_down_m(speed_m_s: f64, slope_rad: f64) -> f64 {
    let (sine, cosine) = libm::sincos(slope_rad);
    speed_m_s * speed_m_s * cosine / (GRAVITY_M_S2 * (1.0 - sine).max(1e-3))
}

/// The touches of a drop that dug in.
#[must_use]
pub fn digs(touches: &[Touch], site: &Site) -> Vec<Dig> {
    touches
        .iter()
        .filter(|touch| touch.against == Against::Ground && touch.dug_m3 >= LEAST_DUG_M3)
        .map(|touch| Dig {
            point_m: touch.point_m,
            speed_m_s: touch.speed_m_s,
            dug_m3: touch.dug_m3,
            radius_m: reach_down_m(touch.speed_m_s, slope_rad(site, touch.point_m)),
        })
        .collect()
}

fn slope_rad(site: &Site, at_m: DVec3) -> f64 {
    let surface = site.terrain.surface(at_m.x, at_m.y);
    surface.map_or(0.0, |surface| libm::atan(surface.gradient.length()))
}
