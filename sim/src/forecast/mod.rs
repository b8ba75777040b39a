//! Many drops under doubt, counted.

pub mod result;
