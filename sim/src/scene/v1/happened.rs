//! The notes of what happened, version 1, as they are written.

use serde::Deserialize;

use super::{
    super::{happened, told::Told},
    Doubt, Place,
};
use crate::quantity::Length;

/// Notes of what happened, beside a scene.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Happened {
    /// 1.
    pub version: u32,
    /// SHA-256 of the scene the notes were begun for, hex; the start of it is enough.
    pub scene_hash: Option<String>,
    /// How numbers without a word of their own were taken; measured if left out.
    pub doubt: Option<Doubt>,
    /// One for each cut that something is noted of.
    #[serde(default)]
    pub notes: Vec<CutNote>,
}

/// What happened with one cut.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CutNote {
    /// The cut's id in the scene.
    pub cut: String,
    /// Length as it was cut; as the scene has it if left out.
    pub length: Option<Told<Length>>,
    /// How it left the spar.
    pub left: Option<Left>,
    /// Where it first touched the ground.
    pub first_touch: Option<Place>,
    /// Where its middle lay at the end.
    pub lay: Option<Place>,
    /// How it went, and how sure that is.
    pub went: Option<Went>,
    /// Free words.
    #[serde(default)]
    pub words: String,
}

/// How a piece went, and how sure that is.
#[derive(Clone, Copy, Debug, Deserialize)]
pub enum Went {
    /// Seen from start to end.
    Seen(Way),
    /// Taken from marks on the ground, or from the corner of an eye.
    Guessed(Way),
}

words!(
    /// How a piece left the spar.
    Left => happened::Left { OverTheFace, SatBack }
);

words!(
    /// How a piece went.
    Way => happened::Way { Stayed, Slid, Rolled, Tumbled }
);
