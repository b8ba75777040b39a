//! What the scene doesn't tell and differs from tree to tree or rope to rope, as told or drawn by
//! its key.

use crate::keyed::Key;

/// Half width of the doubt in wood's strength: within it every value is as likely as any other, so
/// that the coefficient of variation is the 16 % of the Wood Handbook (from memory).
const STRENGTH_SHARE: f64 = 0.28;

/// Which truth.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draw(Option<Key>);

impl Draw {
    /// Everything as told.
    pub(super) const TOLD: Self = Self(None);

    /// The draw at an index.
    pub(super) fn at(seed: u64, index: u64) -> Self {
        Self(Some(Key::root(seed).word("felling").number(index)))
    }

    /// A number between limits: least, as told, greatest.
    pub(super) fn within(self, word: &str, [low, told, high]: [f64; 3]) -> f64 {
        self.0.map_or(told, |key| low + (high - low) * key.word(word).uniform())
    }

    /// The wood's strength over that of its species.
    pub(super) fn strength(self) -> f64 {
        self.within("strength", [1.0 - STRENGTH_SHARE, 1.0, 1.0 + STRENGTH_SHARE])
    }
}
