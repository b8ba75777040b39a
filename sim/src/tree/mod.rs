//! The tree: stem, taper, lean, decay, and the pieces that cuts make of it.

pub mod mass;
pub mod piece;
pub mod section;
pub mod stem;

pub use piece::{Piece, Round};
pub use section::{Section, Stub};
pub use stem::{Hollow, Lean, Station, Stem, StemError};
