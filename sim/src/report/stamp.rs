//! What every picture and table says of itself: its origin, and the cautions.

use crate::{forecast::Ask, job::Job};

/// The first caution of every output.
pub const NOT_COMPARED: &str = "The model has not been compared with dropped logs.";

/// What follows it.
pub const PLANNING_AID: &str = "A planning aid, not a clearance: local codes and licensed \
     practice decide. Stop if tree, ground or weather is not as described.";

/// Where a result comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Stamp {
    /// The scene's name.
    pub scene: String,
    /// SHA-256 of the scene as read, hex.
    pub scene_hash: String,
    /// The ground law, `soil N` or `rigid N`.
    pub law: String,
    /// Seed of all draws.
    pub seed: u64,
    /// The day it was made, as it is to be printed.
    pub date: String,
}

impl Stamp {
    /// Of what `ask` asked of a job; `date` is the day, year-month-day.
    #[must_use]
    pub fn of(job: &Job, ask: &Ask, date: &str) -> Self {
        Self {
            scene: job.scene.name.clone(),
            scene_hash: job.scene.hash.clone(),
            law: ask.law.name(),
            seed: ask.seed,
            date: date.to_owned(),
        }
    }

    /// One line: scene, hash, law, seed and date.
    #[must_use]
    pub fn line(&self) -> String {
        let short: String = self.scene_hash.chars().take(12).collect();
        format!(
            "Scene {} ({short}) · law {} · seed {} · {}",
            self.scene, self.law, self.seed, self.date
        )
    }
}
