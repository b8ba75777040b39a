//! What a felling report holds.

use serde::Serialize;

use super::rules::Rule;

/// Version of the report as data.
pub const VERSION: u32 = 1;

/// What a number measures; values are SI.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// kg.
    Mass,
    /// m, of timber.
    Length,
    /// m, of a diameter or a thickness.
    Thickness,
    /// rad.
    Angle,
    /// N.
    Force,
    /// N m.
    Moment,
    /// Pa.
    Stress,
    /// Part of one.
    Share,
    /// A number without a unit.
    Number,
}

/// What a number is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// The stem above the cut.
    Stem,
    /// Face and hinge.
    Hinge,
    /// Decay and the stem's own strength.
    Strength,
    /// The pull that is needed.
    Pull,
    /// Rope, blocks, slings and the far end.
    Line,
    /// The vehicle.
    Vehicle,
    /// Wedges.
    Wedge,
    /// Lines that hold the piece in its drop.
    Tied,
}

/// A number with its doubt and what it is worked out by.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Its name for a machine, such as `pull.line-1.gust`.
    pub key: String,
    /// What it is about.
    pub group: Group,
    /// In words.
    pub label: String,
    /// What it measures.
    pub measure: Measure,
    /// The least among the draws.
    pub low: f64,
    /// With every number as told.
    pub told: f64,
    /// The greatest among the draws.
    pub high: f64,
    /// What it is worked out by.
    pub rule: Rule,
    /// Where the case is outside what the rule is good for, or past a limit.
    pub outside: Vec<String>,
}

/// A size of the face or the hinge beside practice; `own` as [`Figure::told`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sized {
    /// Its name for a machine.
    pub key: &'static str,
    /// In words.
    pub label: &'static str,
    /// What it measures.
    pub measure: Measure,
    /// As the scene tells it.
    pub own: f64,
    /// Least by practice.
    pub practice_low: f64,
    /// Greatest by practice.
    pub practice_high: f64,
    /// What practice that is.
    pub rule: Rule,
    /// Where the cut is outside of it.
    pub outside: Vec<String>,
}

/// The tree above the cut's hinge after some of the cuts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// Id of the last cut made; `None` before the first.
    pub after: Option<String>,
    /// What stands, from the ground up along the stem, m.
    pub up_to_m: f64,
    /// All that stands, kg.
    pub whole_kg: f64,
    /// What stands above the hinge, kg.
    pub mass_kg: f64,
    /// Its centre above the hinge, m, along the vertical.
    pub centre_m: f64,
    /// Moment of its weight about the hinge, N m; positive toward the face.
    pub fore_n_m: f64,
    /// Moment of its weight about the hinge, N m; positive to the right of the face.
    pub side_n_m: f64,
}

/// The whole tree as told, before the first cut or after one: what it weighs, how it leans, and what
/// is left to tie to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TreeState {
    /// Id of the last cut made; `None` before the first.
    pub after: Option<String>,
    /// How far up the stem it stands, m; 0 where nothing does.
    pub up_to_m: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Height of its centre over the stump, m.
    pub centre_m: f64,
    /// Moment of its weight about the middle of the stump, N m; positive toward the face of the
    /// last cut.
    pub fore_n_m: f64,
    /// The same to the right of that face, N m.
    pub side_n_m: f64,
    /// Diameter of the stem at its top, m.
    pub top_diameter_m: f64,
    /// Of that, sound wood: twice the shell where it is hollow, m.
    pub top_sound_m: f64,
    /// Listed limbs that still stand whole, by id.
    pub limbs: Vec<String>,
    /// Listed limbs of which a stub stands, by id.
    pub stubs: Vec<String>,
}

/// The pull from first tension to past balance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// Id of the pull line; `None` for a level pull two thirds up.
    pub line: Option<String>,
    /// Turns from where it stands, rad.
    pub turn_rad: Vec<f64>,
    /// Pull at the stem in still air, N; null where this line can't hold it.
    pub still_n: Vec<Option<f64>>,
    /// The same in the gust.
    pub gust_n: Vec<Option<f64>>,
    /// The least among the draws in still air.
    pub low_n: Vec<f64>,
    /// The greatest among the draws in the gust.
    pub high_n: Vec<f64>,
    /// The rope's working load at the stem's side, N.
    pub working_load_n: Option<f64>,
    /// What the line is pulled with at most, at the stem's side, N.
    pub told_pull_n: Option<f64>,
    /// What the vehicle can give, at the stem's side, N.
    pub vehicle_n: Option<f64>,
}

/// Whether the piece sits back without a line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WithoutLine {
    /// Moment that is missing with every number as told, N m; `None` if it goes.
    pub missing_n_m: Option<f64>,
    /// Draws in which it sits back.
    pub sits_back: u32,
    /// Draws in all.
    pub draws: u32,
}

/// The numbers of one cut before it is made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Felling {
    /// [`VERSION`].
    pub version: u32,
    /// The scene's name.
    pub scene: String,
    /// SHA-256 of the scene as read, hex.
    pub scene_hash: String,
    /// Seed of the draws.
    pub seed: u64,
    /// The cut's id.
    pub cut: String,
    /// Height of the cut along the stem, m.
    pub from_m: f64,
    /// Diameter of the stem there, m.
    pub diameter_m: f64,
    /// Draws of all that is in doubt.
    pub draws: u32,
    /// Azimuth of the face, or that it is let go to, rad, as the scene counts.
    pub face_rad: f64,
    /// The tree above the hinge, before the first cut and after each one before this; none where it
    /// turns on no hinge, as sizes and curves.
    pub states: Vec<Standing>,
    /// Face and hinge beside practice.
    pub sizes: Vec<Sized>,
    /// All numbers.
    pub figures: Vec<Figure>,
    /// Without the lines, where it turns on a hinge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without_line: Option<WithoutLine>,
    /// The pull against the angle, one a line.
    pub curves: Vec<Curve>,
    /// What a user should know.
    pub warnings: Vec<String>,
}
