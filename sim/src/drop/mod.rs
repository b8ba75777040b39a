//! One piece followed from Launch to rest.

pub mod near;
pub mod track;

pub use track::{Against, Ending, Hold, Nearest, Place, RestsOn, Sample, Touch, Track};
