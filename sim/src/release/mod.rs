//! How a piece leaves the spar: hinge over a face, snap cut, push over the rim, bored hinge.

use crate::motion::Motion;

/// The moment a piece is free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Launch {
    /// Position, attitude and velocities at that moment.
    pub motion: Motion,
    /// Time since the piece began to move, s.
    pub time_s: f64,
}

/// What came of a release.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Release {
    /// The piece left the spar.
    Left(Launch),
    /// Gravity, push and pull cannot turn it.
    SitsBack {
        /// The moment about the hinge that is missing, N m.
        missing_moment_n_m: f64,
    },
}
