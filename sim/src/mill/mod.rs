//! What a mill would have of a piece: the logs that can be cut from it, their volume by three
//! published rules, and what is left of them when a landing breaks it.

pub mod lengths;
pub mod scale;

pub use lengths::{Bucked, buck};
pub use scale::{doyle_bd_ft, international_bd_ft, scribner_bd_ft, smalian_m3};
