//! The scene file, version 1, as it is written.
//!
//! These types are the file format: they change only by a new version. Fields that may be left out
//! are `Option`s; what is taken instead is said in [`super::Scene::assumed`]. A position is a
//! [`Place`], a number with its doubt a
//! [`Told`](super::told::Told).

use serde::Deserialize;

use crate::quantity;

/// A word of the file and the core's word for it.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident => $core:path { $($word:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Deserialize)]
        #[allow(missing_docs, reason = "the words are those of the core type")]
        pub enum $name { $($word),* }

        impl From<$name> for $core {
            fn from(word: $name) -> Self {
                match word { $($name::$word => Self::$word),* }
            }
        }
    };
}

mod course;
mod happened;
mod job;
mod lesson;
mod limbs;
mod lines;
mod site;
mod things;

pub use course::Course;
pub use happened::{CutNote, Happened, Left, Way, Went};
pub use job::*;
pub use lesson::*;
pub use limbs::*;
pub use lines::*;
pub use site::*;
pub use things::*;

words!(
    /// Units the scene is printed in.
    Units => quantity::Units { Metric, Imperial }
);

/// How plain numbers were taken.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Doubt {
    Exactly,
    #[default]
    Measured,
    Paced,
    Eyed,
}

/// A scene.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scene {
    /// 1.
    pub version: u32,
    /// The job's name.
    pub name: String,
    /// It describes no real place.
    #[serde(default)]
    pub invented: bool,
    /// Free words.
    #[serde(default)]
    pub note: String,
    /// Units it is printed in.
    pub units: Units,
    /// How numbers without a word of their own were taken; measured if left out.
    pub doubt: Option<Doubt>,
    /// Ground and its shape.
    pub site: Site,
    /// The tree.
    pub tree: Tree,
    /// What must not be touched.
    #[serde(default)]
    pub targets: Vec<Target>,
    /// The climber; on the spar if left out.
    pub climber: Option<Climber>,
    /// The climber's line; down the spar if left out.
    pub climber_line: Option<ClimberLine>,
    /// The feller; at the stump if left out.
    pub feller: Option<Feller>,
    /// What stops or softens pieces.
    #[serde(default)]
    pub aids: Vec<Aid>,
    /// The cuts in order.
    #[serde(default)]
    pub cuts: Vec<Cut>,
    /// Lines that pieces are pulled with.
    #[serde(default)]
    pub lines: Vec<Line>,
    /// What it asks before it shows, where it is a lesson.
    pub lesson: Option<Lesson>,
}
