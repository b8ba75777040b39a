//! One piece followed from Launch to rest.

pub mod free;
pub mod mover;
pub mod track;

pub use track::{Against, Ending, Hold, Nearest, Place, RestsOn, Sample, Touch, Track};
