//! Forecasts as text, JSON and pictures; runs no physics.
//!
//! Invariant: plain data in, text or bytes out. Nothing here writes a file, reads a clock or
//! draws a random number, so the same inputs give the same bytes.

pub mod bank;
pub mod brief;
pub mod calibration;
pub mod contours;
pub mod csv;
pub mod cut_words;
pub mod filmstrip;
pub mod font;
pub mod geojson;
pub mod hands;
pub mod input_words;
pub mod json;
pub mod kml;
pub mod lesson_sheet;
mod marks;
pub mod outline;
pub mod plan;
pub mod png;
pub mod pull_curve;
pub mod reach_rings;
pub mod stamp;
pub mod svg;
pub mod text;
pub mod tried;
pub mod units;
pub mod words;

pub use stamp::Stamp;
pub use units::Units;

#[cfg(test)]
mod sample;
