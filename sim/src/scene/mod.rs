//! The scene file: what a user writes, checked.
//!
//! A file is read as [`v1`] types (RON, units in words, unknown fields refused), resolved to the
//! core [`Scene`] (SI, every number with its doubt) and checked. What is wrong is said with file,
//! line, column, field, what was read and what is allowed.

pub mod doubt;
pub mod model;
pub mod numbers;

pub use doubt::{Doubtful, How, Spread};
pub use model::*;
