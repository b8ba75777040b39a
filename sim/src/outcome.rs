//! What one drop amounts to.

use glam::DVec3;

use crate::drop::{Ending, Hold, RestsOn, Touch};

/// How a piece went: the first that holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// At least half a turn end over end after first touch.
    Tumbled,
    /// Rollout under 1 m and less than a quarter turn about any axis.
    Stayed,
    /// At least half the path with slip under 30 % of the centre's speed.
    Rolled,
    /// None of the others.
    Slid,
}

/// What a drop did to one target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reach {
    /// Touched, with this energy (J) and speed (m/s).
    Reached {
        /// Kinetic energy of the piece at first touch, J.
        energy_j: f64,
        /// Speed of its centre at first touch, m/s.
        speed_m_s: f64,
    },
    /// Not touched; the least 3D surface gap, m.
    Missed {
        /// Least gap, m.
        gap_m: f64,
    },
    /// The drop was lost before it could be told.
    Unknown,
}

/// What one drop amounts to.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// How it went.
    pub mode: Mode,
    /// First touch on the ground, if any.
    pub first_touch: Option<Touch>,
    /// Shares of the path slid, rolled and tumbled; they sum to 1 (or are all 0).
    pub parts: [f64; 3],
    /// Turns end over end after first touch.
    pub turns: f64,
    /// Distance along the ground from first touch to the end, m.
    pub rollout_m: f64,
    /// Greatest height over ground of the lowest point after first touch, m.
    pub height_over_ground_m: f64,
    /// Why it ended.
    pub ending: Ending,
    /// What it rests on, if it rests.
    pub rests_on: Option<RestsOn>,
    /// How firmly it rests, if it rests.
    pub hold: Option<Hold>,
    /// Where it ended, m.
    pub end_m: DVec3,
    /// Unit vector butt to top at the end.
    pub end_axis: DVec3,
    /// Per target, in the site's order of targets.
    pub reaches: Vec<Reach>,
}
