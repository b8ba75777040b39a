//! The ground's reaction on a piece.

pub mod bed;
pub mod contact;
mod field;
pub mod kick;
pub mod law;
pub mod rough;
pub mod spray;
#[doc(hidden)]
pub mod testing;
pub mod thicket;
