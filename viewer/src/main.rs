//! The hillside in 3D.
fn main() {}
