//! Next to something solid: the one place where rapier works.
//!
//! [`Solids`] are a site's bodies made ready once; [`GapWatch`] follows how near a piece comes to
//! each, on every drop, for almost nothing; [`Near`] holds the piece and the solids near it and
//! answers their contacts as changes of velocity; [`RigidGround`] adds the terrain itself, as a
//! second opinion to the soil law.
//!
//! Invariant: positions stay ours, in f64. Rapier is told poses and velocities at each step and
//! only its impulses come back; where nothing touches, nothing changes, to the last bit.

mod convert;
mod form;
mod fresh;
mod frustum;
mod gap;
mod rigid;
mod world;

pub use form::Solids;
pub use gap::{GapWatch, Noticed, gap_m};
pub use rigid::RigidGround;
pub use world::{Contact, Near, Push, Response};

#[cfg(test)]
mod tests;
