//! The tree: stem, taper, lean, decay, and the pieces that cuts make of it.

pub mod piece;

pub use piece::{Piece, Round};
