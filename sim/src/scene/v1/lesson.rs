//! A lesson as it is written: a part of a scene that may be left out.

use ron::value::RawValue;
use serde::Deserialize;

use crate::quantity::{Angle, Force, Length};

/// A lesson: the scene asks before it shows.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lesson {
    /// Its title.
    pub title: String,
    /// The one thing it is about.
    pub about: String,
    /// What a learner is told before the first question.
    pub situation: String,
    /// The cut it asks about.
    pub cut: String,
    /// What the scene as it stands is called among cases.
    pub as_it_stands: Option<String>,
    /// Drops of the cut on the ground as told.
    pub drops: Option<u32>,
    /// Grounds drawn, beside the ground as told.
    pub grounds: Option<u32>,
    /// Seed of all draws: every reveal is the same everywhere.
    pub seed: Option<u64>,
    /// What is shown only when it is asked for.
    #[serde(default)]
    pub hidden: Vec<Hidden>,
    /// The scene with something changed.
    #[serde(default)]
    pub cases: Vec<Case>,
    /// What it asks.
    pub questions: Vec<Question>,
    /// Words on why, with placeholders in braces.
    pub why: String,
    /// What to change and try, with placeholders in braces.
    #[serde(default)]
    pub try_next: String,
    /// Cautions beside those that every output has.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What the forecast must give, so that the lesson holds.
    #[serde(default)]
    pub claims: Vec<Claim>,
}

/// Something that isn't shown until it is asked for.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hidden {
    /// Stable id within the lesson.
    pub id: String,
    /// What isn't known yet.
    pub what: String,
    /// What one does on site to know it.
    pub by: String,
    /// Fields that it tells, `ID.field` or a path.
    #[serde(default)]
    pub fields: Vec<String>,
    /// What one finds, in words; what the fields say if left out.
    pub finds: Option<String>,
}

/// The scene with something changed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Stable id within the lesson.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// Fields, `ID.field` or a path, and what stands there instead.
    pub set: Vec<(String, Box<RawValue>)>,
}

/// A question.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// Stable id within the lesson.
    pub id: String,
    /// The question in words.
    pub ask: String,
    /// The case it is about; the scene as it stands if left out.
    pub of: Option<String>,
    /// What is asked, and with it how it is answered.
    pub answer: Asked,
}

/// What is asked.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Asked {
    Mode,
    FirstEnd,
    HowItLies,
    Chance(Event),
    Fewest { event: Event, among: Vec<String> },
    FirstTouch,
    Rest,
    HowFar,
    LetsGoAt,
    Pull(String),
}

/// Something that happens in a drop or does not.
#[derive(Clone, Debug, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Event {
    SitsBack,
    Stayed,
    Slid,
    Rolled,
    Tumbled,
    ButtFirst,
    TopFirst,
    SideFirst,
    LiesFirmly,
    LiesBarely,
    HeldByAidOnly,
    NotAtRest,
    Reaches(String),
    SetsGoing(String),
    LineOver(String),
    HingeHolds,
}

/// What the forecast must give.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Claim {
    Share { of: Option<String>, event: Event, low: f64, high: f64 },
    HowFar { of: Option<String>, low: Length, high: Length },
    LetsGoAt { of: Option<String>, low: Angle, high: Angle },
    Pull { of: Option<String>, line: String, low: Force, high: Force },
    Fewer { event: Event, of: String, than: String },
}
