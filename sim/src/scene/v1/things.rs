//! Targets, people at work and aids as they are written.

use serde::Deserialize;

use super::{
    super::{model, told::Told},
    Place,
};
use crate::quantity::{Azimuth, Length};

/// Something that must not be touched.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Target {
    Structure {
        id: String,
        corners: Vec<Place>,
        wall: Told<Length>,
        roof: Option<Told<Length>>,
        #[serde(default)]
        windows: Vec<Window>,
    },
    KeepTree {
        id: String,
        at: Place,
        diameter: Told<Length>,
        height: Told<Length>,
        limbs: Option<Limbs>,
    },
    Person {
        id: String,
        at: Place,
    },
    Vehicle {
        id: String,
        at: Place,
        heading: Told<Azimuth>,
        length: Told<Length>,
        width: Told<Length>,
        height: Told<Length>,
    },
    Road {
        id: String,
        line: Vec<Place>,
        width: Told<Length>,
    },
    Path {
        id: String,
        line: Vec<Place>,
        width: Told<Length>,
    },
    Wire {
        id: String,
        from: WireEnd,
        to: WireEnd,
        sag: Option<Told<Length>>,
    },
}

/// A window.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Wall 1 runs from the first corner to the second.
    pub wall: usize,
    /// Near edge from the wall's first corner.
    pub along: Length,
    /// Width.
    pub width: Length,
    /// Sill above the wall's foot.
    pub sill: Length,
    /// Height of the opening.
    pub height: Length,
}

/// Limbs of a keep tree.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limbs {
    /// Height of the lowest.
    pub from: Told<Length>,
    /// Reach from the stem.
    pub spread: Told<Length>,
}

/// One end of a wire.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireEnd {
    /// Where.
    pub at: Place,
    /// Above the ground there.
    pub height: Told<Length>,
}

/// Where the climber is.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Climber {
    OnSpar,
    MovedTo { at: Place, feet: Told<Length> },
    Away,
}

/// Where the climber's line runs.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum ClimberLine {
    DownTheSpar,
    MovedTo { at: Place },
    Away,
}

/// Where the feller is.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Feller {
    AtStump,
    MovedTo { at: Place },
}

/// Something that stops or softens pieces.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Aid {
    BarrierLog { id: String, from: Place, to: Place, diameter: Told<Length>, held: Held },
    BrushMat { id: String, outline: Vec<Place>, thickness: Told<Length> },
    Wall { id: String, line: Vec<Place>, height: Told<Length>, thickness: Told<Length> },
    Stump { id: String, at: Place, diameter: Told<Length>, height: Told<Length> },
}

words!(
    /// How a barrier log is held.
    Held => model::Held { Staked, AgainstStump, InDent, NotHeld }
);
