//! One piece followed from Launch to rest.

pub mod bending;
pub mod drag;
pub mod footprint;
pub mod free;
pub mod mover;
pub mod near;
mod observe;
mod rest;
mod run;
pub mod tether;
pub mod track;

pub use run::{GroundLaw, LAW, Setup, drop};
pub use track::{Against, Ending, Hold, Nearest, Place, RestsOn, Sample, Touch, Track};
