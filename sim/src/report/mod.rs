//! Forecasts as text, JSON and pictures; runs no physics.
//!
//! Invariant: plain data in, text or bytes out. Nothing here writes a file, reads a clock or
//! draws a random number, so the same inputs give the same bytes.

pub mod contours;
pub mod font;
pub mod png;
pub mod svg;
pub mod units;

pub use units::Units;
