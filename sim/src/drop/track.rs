//! What happened over time in one drop.

use glam::DVec3;

use crate::{
    drop::{bending::Bent, footprint::Footprint, near::Passage, tether::LineLoad},
    motion::Motion,
};

/// Where the piece was at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Time since Launch, s.
    pub time_s: f64,
    /// Position, attitude and velocities.
    pub motion: Motion,
    /// The ground pushes on it.
    pub on_ground: bool,
}

/// Which part of a piece touched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The butt face or its rim.
    Butt,
    /// The top face or its rim.
    Top,
    /// The side.
    Side,
    /// The whole length at once.
    Flat,
}

/// What was touched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The ground.
    Ground,
    /// A body of the site, by its index in `Site::bodies`.
    Body(usize),
}

/// The beginning of one contact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Time since Launch, s.
    pub time_s: f64,
    /// What was touched.
    pub against: Against,
    /// With which part.
    pub place: Place,
    /// Where, m.
    pub point_m: DVec3,
    /// Speed of that point of the piece, m/s.
    pub speed_m_s: f64,
    /// Kinetic energy of the whole piece, J.
    pub energy_j: f64,
    /// Volume that the piece filled under the ground at its deepest in this touch, m³.
    pub dug_m3: f64,
}

/// Why a drop ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// At rest.
    Rest,
    /// The piece left the terrain that is known.
    LeftTerrain,
    /// Time ran out.
    OutOfTime,
}

/// What a resting piece rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RestsOn {
    /// The ground alone.
    Ground,
    /// A structure or anything solid that is no tree.
    Structure,
    /// A tree.
    Tree,
    /// A line.
    Line,
}

/// How firmly a resting piece rests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    /// It would stay on a slope at least 5° steeper.
    Firm,
    /// It would go on a slope less than 5° steeper.
    Marginal,
    /// Only something solid holds it.
    ByAidOnly,
}

/// The nearest a piece came to one body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Least 3D surface gap to a target, m; 0 once touched, infinite to what is no target.
    pub gap_m: f64,
    /// Energy of the piece at the first touch, J, if it touched.
    pub energy_j: Option<f64>,
    /// Speed of the piece's centre at the first touch, m/s, if it touched.
    pub speed_m_s: Option<f64>,
}

/// The first touch of a target by something that lay loose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LooseTouch {
    /// The target, by its index in `Site::bodies`.
    pub body: usize,
    /// Time since Launch, s.
    pub time_s: f64,
    /// Kinetic energy of the whole body that touched, J.
    pub energy_j: f64,
    /// Speed of its centre, m/s.
    pub speed_m_s: f64,
}

/// What became of something that lay loose: a log that isn't held, a piece already down.
#[derive(Clone, Debug, PartialEq)]
pub struct LooseTrack {
    /// Its index in `Site::bodies`.
    pub body: usize,
    /// Where it lay.
    pub start: Motion,
    /// Where it ended, or lies.
    pub end: Motion,
    /// Why it ended; what was never set going rests.
    pub ending: Ending,
    /// No point of it is further from where it was than this, m.
    pub moved_m: f64,
    /// Targets it touched, in time order; what it lay against before doesn't count.
    pub touches: Vec<LooseTouch>,
    /// Samples while it was in play, in time order; the first is where it lay, the last its end.
    pub samples: Vec<Sample>,
}

/// One drop, followed from Launch to its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// Samples, in time order; the first is the Launch, the last the end.
    pub samples: Vec<Sample>,
    /// Beginnings of contact, in time order.
    pub touches: Vec<Touch>,
    /// The piece at its first touch on the ground, if it came to that.
    pub first_touch: Option<Motion>,
    /// Why it ended.
    pub ending: Ending,
    /// What it rests on, if it rests.
    pub rests_on: Option<RestsOn>,
    /// How firmly it rests, if it rests.
    pub hold: Option<Hold>,
    /// Per body of the site, the nearest it came.
    pub nearest: Vec<Nearest>,
    /// Where the piece went, to measure gaps by.
    pub passage: Passage,
    /// What of the site it can have felt.
    pub footprint: Footprint,
    /// The hardest that the ground bent it, where that was asked for.
    pub bent: Option<Bent>,
    /// What each of its lines bore, in the order of [`Setup`](super::Setup).
    pub lines: Vec<LineLoad>,
    /// Distance along the ground from first touch, m.
    pub path_m: f64,
    /// Of `path_m`, with slip under 30 % of the centre's speed, m.
    pub rolled_m: f64,
    /// Of `path_m`, end over end, m.
    pub tumbled_m: f64,
    /// Turns end over end after first touch.
    pub turns_end_over_end: f64,
    /// Turns about the stem's own axis after first touch.
    pub turns_about_axis: f64,
    /// Greatest height over the ground of the lowest point after first touch, m.
    pub height_over_ground_m: f64,
    /// Steps taken next to something solid.
    pub near_steps: u32,
    /// All steps taken.
    pub steps: u32,
    /// What lay loose, in the order of `Site::bodies`.
    pub loose: Vec<LooseTrack>,
}
