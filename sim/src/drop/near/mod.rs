//! Next to something solid: the one place where rapier works.
//!
//! [`Solids`] are a site's bodies made ready once; [`GapWatch`] follows which of them a piece is
//! near, on every drop, for almost nothing; [`Near`] holds the piece and the solids near it and
//! answers their contacts as changes of velocity; [`RigidGround`] adds the terrain itself, as a
//! second opinion to the soil law; [`Passage`] measures how near the piece came to each, afterwards.
//!
//! Invariant: positions stay ours, in f64. Rapier is told poses and velocities at each step and
//! only its impulses come back; where nothing touches, nothing changes, to the last bit.

mod convert;
mod form;
mod fresh;
mod frustum;
mod gap;
mod passage;
mod rigid;
mod world;

pub use form::Solids;
pub use gap::{GapWatch, Look, NEAR_STEP_S, Size, clearance_m, gap_m, surface_speed_m_s};
pub use passage::{APART_M, Passage};
pub use rigid::RigidGround;
pub use world::{Contact, Near, Push, Response};

#[cfg(test)]
mod tests;
