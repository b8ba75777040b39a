//! A scene as the rest of the program sees it: SI, every number with its doubt, checked.
//!
//! Invariant: a `Scene` that [`crate::scene::parse`] returned has passed every check that needs no
//! terrain file. Lists keep the order of the file; every item has an id that is its own.
//! Azimuths are clockwise from the scene's north; a face's azimuth is where the piece is meant to
//! fall. Heights on the tree are above the stump's ground.

use std::{path::PathBuf, sync::Arc};

use crate::quantity::Units;

use super::error::Source;

mod job;
mod lesson;
mod limbs;
mod lines;
mod site;
mod things;

pub use job::*;
pub use lesson::*;
pub use limbs::*;
pub use lines::*;
pub use site::*;
pub use things::*;

/// A job: site, tree, cuts and what must not be touched.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Its name.
    pub name: String,
    /// It describes no real place.
    pub invented: bool,
    /// Free words.
    pub note: String,
    /// Units it is printed in.
    pub units: Units,
    /// The ground and its shape.
    pub site: SiteSpec,
    /// The tree.
    pub tree: TreeSpec,
    /// What must not be touched, in the order of the file (climber, line and feller are apart).
    pub targets: Vec<Target>,
    /// The climber on the spar.
    pub climber: ClimberSpec,
    /// The climber's line.
    pub climber_line: ClimberLineSpec,
    /// The feller, for cuts from the ground.
    pub feller: FellerSpec,
    /// What is there to stop or soften pieces.
    pub aids: Vec<Aid>,
    /// The cuts in order.
    pub cuts: Vec<Cut>,
    /// Lines made fast to pieces.
    pub lines: Vec<Line>,
    /// What it asks before it shows, where it is a lesson.
    pub lesson: Option<LessonSpec>,
    /// What the scene left open and what was taken instead, for printing.
    pub assumed: Vec<Assumed>,
    /// SHA-256 of the file's bytes, hex.
    pub hash: String,
    /// Folder of the scene file; paths in it are relative to this.
    pub folder: PathBuf,
    /// The file itself, so that later steps can point into it.
    pub source: Arc<Source>,
}

/// Something the scene left open and what was taken instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assumed {
    /// Path of the field.
    pub path: String,
    /// What was taken, in words and units.
    pub taken: String,
}
