//! The ground's reaction on a piece.
