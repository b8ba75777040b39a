//! Many drops under doubt, counted.

mod clods;
pub mod compare;
pub mod count;
mod hangs;
pub mod harm;
pub mod interval;
mod lines;
mod logs;
mod loose;
mod order;
pub mod orders;
pub mod reach_map;
pub mod renew;
pub mod result;
mod run;
pub mod search;
pub mod tune;

pub use order::hinge_turns;
pub use run::{AnyReach, Ask, Fate, Progress, Replay, Run, VERSION, replay, run};
