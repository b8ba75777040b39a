//! Tumblewood: where a piece of tree goes when it is cut on a steep bank.
//!
//! Data flows one way, and each step is a plain function on plain data:
//!
//! ```text
//! scene file -load-> Scene -site-> Site --+
//!                      +--cut-> Piece -release-> Launch -drop-> Track -judge-> Outcome
//!                                     many, under doubt -forecast-> Forecast -report-> text, JSON, pictures
//! ```
//!
//! The frame, said once: x east, y north, z up, metres from the site's origin. SI units inside,
//! always, with the unit in the name.

pub mod drop;
pub mod felling;
pub mod forecast;
pub mod ground;
pub mod job;
pub mod keyed;
pub mod lesson;
pub mod line;
pub mod mill;
pub mod motion;
pub mod outcome;
pub mod proposed;
pub mod quantity;
pub mod release;
pub mod report;
pub mod rope;
pub mod scene;
pub mod site;
pub mod soil;
pub mod spar;
mod table;
pub mod terrain;
pub mod thrown;
pub mod tree;
pub mod wood;

/// Standard gravity, m/s² (CGPM 1901).
pub const GRAVITY_M_S2: f64 = 9.806_65;
