//! One piece followed from Launch to rest.

pub mod bending;
pub mod drag;
pub mod footprint;
pub mod free;
mod held;
mod loose;
pub mod mover;
pub mod near;
mod observe;
mod quiet;
mod rest;
mod run;
mod setup;
pub mod tether;
pub mod track;

pub use run::drop;
pub use setup::{GroundLaw, LAW, Setup};
pub use track::{
    Against, Ending, Hold, LooseTouch, LooseTrack, Nearest, Place, RestsOn, Sample, Touch, Track,
};
