//! Truths and the notes somebody took of them.
//!
//! A scene's word of doubt says between which limits the truth may lie, each value in between as
//! likely as any other. Read backwards that is a posterior: given the note t of a number known to
//! a share r, the truth X is even in t(1−r) to t(1+r). It is exactly that where notes t are even in
//! X/(1+r) to X/(1−r), so that p(t | X) ∝ 1/X, and truths are drawn with a density ∝ X; for a half
//! width h that is not a share, where notes are even in X ± h and truths are even. Truths need
//! some range; notes whose limits stick out of it are drawn again together with their truth, which
//! picks jobs by what was noted alone and leaves every posterior as it is.

use std::{collections::BTreeMap, f64::consts::PI};

use tumblewood::keyed::Key;

/// A unit that notes are taken in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unit {
    name: &'static str,
    si: f64,
    /// Half widths of measured, paced and eyed: shares of the value, or of an angle in its unit.
    halves: [f64; 3],
    is_angle: bool,
}

/// As the scene's documentation says: ±2 %, ±8 %, ±20 %.
const SHARES: [f64; 3] = [0.02, 0.08, 0.20];

const fn sized(name: &'static str, si: f64) -> Unit {
    Unit { name, si, halves: SHARES, is_angle: false }
}

pub(super) const METRE: Unit = sized("m", 1.0);
pub(super) const NEWTON: Unit = sized("N", 1.0);
pub(super) const METRE_PER_SECOND: Unit = sized("m/s", 1.0);
pub(super) const PERCENT: Unit = sized("%", 0.01);
/// ±2°, ±5°, ±10°.
pub(super) const DEGREE: Unit =
    Unit { name: "deg", si: PI / 180.0, halves: [2.0, 5.0, 10.0], is_angle: true };

/// How sure a note is.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Sure {
    Exactly,
    /// A word of doubt and its half width: a share, or of an angle in its unit.
    Word(&'static str, f64),
    /// A stated half width, in the unit.
    Within(f64),
}

/// One note: what was written and how sure it is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Note {
    pub(super) told: f64,
    unit: Unit,
    sure: Sure,
}

impl Note {
    /// The note as the scene file has it, with `more` added to the number.
    pub(super) fn text(&self, more: f64) -> String {
        // Nine decimals of a metre: what rounding moves is nothing beside any doubt.
        let quantity = |x: f64| format!("\"{x:.9} {}\"", self.unit.name);
        let told = quantity(self.told + more);
        match self.sure {
            Sure::Exactly => format!("Exactly({told})"),
            Sure::Word(word, _) => format!("{word}({told})"),
            Sure::Within(half) => format!("Within({told}, {})", quantity(half)),
        }
    }
}

/// Truths by input path, SI, and the keys they and their notes are drawn by.
#[derive(Clone, Debug)]
pub(super) struct Notes {
    pub(super) key: Key,
    pub(super) truths: BTreeMap<String, f64>,
}

impl Notes {
    pub(super) fn new(key: Key) -> Self {
        Self { key, truths: BTreeMap::new() }
    }

    /// One of a list, each as likely.
    pub(super) fn pick<T: Copy>(&self, word: &str, all: &[T]) -> T {
        let share = self.key.word(word).uniform();
        all[((share * all.len() as f64) as usize).min(all.len() - 1)]
    }

    /// Draws a truth within `range`, in the unit, and a note of it; keeps the truth.
    pub(super) fn note(&mut self, path: &str, unit: Unit, range: [f64; 2]) -> Note {
        let key = self.key.word(path);
        let sure = sure(key, unit, range);
        let mut tries = (0..).map(|i| truth_and_note(key.number(i), unit, sure, range));
        let (truth, told) = tries.find_map(|found| found).expect("endless tries");
        self.truths.insert(path.to_owned(), truth * unit.si);
        Note { told, unit, sure }
    }

    /// The same, as the scene file has it.
    pub(super) fn number(&mut self, path: &str, unit: Unit, range: [f64; 2]) -> String {
        self.note(path, unit, range).text(0.0)
    }

    /// Keeps a truth that isn't noted: even in `range`.
    pub(super) fn unseen(&mut self, path: &str, [low, high]: [f64; 2]) -> f64 {
        let truth = low + (high - low) * self.key.word(path).uniform();
        self.truths.insert(path.to_owned(), truth);
        truth
    }
}

/// How a note is taken: any way whose limits leave room within the range.
fn sure(key: Key, unit: Unit, [low, high]: [f64; 2]) -> Sure {
    let words = ["Measured", "Paced", "Eyed"].into_iter().zip(unit.halves);
    let mut ways = vec![Sure::Exactly, Sure::Within(0.1 * (high - low))];
    for (word, half) in words {
        let room = if unit.is_angle {
            2.0 * half < 0.7 * (high - low)
        } else {
            low * (1.0 + half) / (1.0 - half) < 0.9 * high
        };
        if room {
            // Twice as often as exactly, or within limits.
            ways.extend([Sure::Word(word, half); 2]);
        }
    }
    ways[((key.word("sure").uniform() * ways.len() as f64) as usize).min(ways.len() - 1)]
}

/// A truth and a note of it, unless the note's limits stick out of the range.
fn truth_and_note(key: Key, unit: Unit, sure: Sure, [low, high]: [f64; 2]) -> Option<(f64, f64)> {
    let (u, v) = (key.word("truth").uniform(), key.word("note").uniform());
    let even = low + (high - low) * u;
    let (truth, told, limits) = match sure {
        Sure::Exactly => return Some((even, even)),
        Sure::Word(_, share) if !unit.is_angle => {
            let truth = (low * low + (high * high - low * low) * u).sqrt();
            let (least, most) = (truth / (1.0 + share), truth / (1.0 - share));
            let told = least + (most - least) * v;
            (truth, told, [told * (1.0 - share), told * (1.0 + share)])
        }
        Sure::Word(_, half) | Sure::Within(half) => {
            let told = even + half * (2.0 * v - 1.0);
            (even, told, [told - half, told + half])
        }
    };
    (limits[0] >= low && limits[1] <= high).then_some((truth, told))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Given the note, the truth is even within its limits: pooled over notes, by thirds.
    #[test]
    fn verif_truths_are_even_within_the_limits_of_their_notes() {
        let n = 20_000;
        let ways = [Sure::Word("Eyed", 0.2), Sure::Word("Measured", 0.02), Sure::Within(0.7)];
        for (sure, unit) in ways
            .map(|sure| (sure, METRE))
            .into_iter()
            .chain([(Sure::Word("Measured", 2.0), DEGREE)])
        {
            let mut thirds = [0; 3];
            let found = (0..n)
                .filter_map(|i| truth_and_note(Key::root(9).number(i), unit, sure, [2.0, 8.0]));
            for (truth, told) in found {
                let half = match sure {
                    Sure::Word(_, share) if !unit.is_angle => told * share,
                    Sure::Word(_, half) | Sure::Within(half) => half,
                    Sure::Exactly => continue,
                };
                let place = 0.5 + 0.5 * (truth - told) / half;
                assert!((-1e-9..=1.0 + 1e-9).contains(&place), "{truth} noted as {told}");
                thirds[((3.0 * place) as usize).min(2)] += 1;
            }
            let all: u32 = thirds.iter().sum();
            let expected = f64::from(all) / 3.0;
            assert!(all > 2_000, "{all}");
            for third in thirds {
                // Four standard errors.
                let off = (f64::from(third) - expected).abs();
                assert!(off < 4.0 * (expected * 2.0 / 3.0).sqrt(), "{sure:?}: {thirds:?}");
            }
        }
    }
}
