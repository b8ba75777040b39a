//! The tree: stem, taper, lean, decay, limbs, and the pieces that cuts make of it.

pub mod brush;
pub mod crown;
pub mod limb;
pub mod mass;
pub mod piece;
pub mod section;
pub mod stem;

pub use brush::{Brush, Spray};
pub use limb::{Limb, LimbCut, LimbPart};
pub use piece::{Piece, Round};
pub use section::{Section, Stub};
pub use stem::{Hollow, Lean, Station, Stem, StemError};
