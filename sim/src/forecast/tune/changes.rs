//! What notes change: the inputs of the ground and the reach of cuts still to come, before and after.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{Agreement, Bank, Draw, Weights, weigh};
use crate::{
    forecast::{Ask, Fate},
    job::Job,
    outcome::Reach,
    scene::happened::CutNote,
};

/// The Kolmogorov–Smirnov distance at which chance is left at 1 in 100, times √n (from memory).
const CHANCE: f64 = 1.63;

/// Low, middle and high of something in doubt: nine in ten lie between low and high.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Span {
    /// 5 in 100 are lower.
    pub low: f64,
    /// Half are lower; for what is so or not, the share that is so.
    pub middle: f64,
    /// 5 in 100 are higher.
    pub high: f64,
}

/// One input before and after.
#[derive(Clone, Debug, Serialize)]
pub struct InputChange {
    /// Its path.
    pub input: String,
    /// By the scene alone.
    pub before: Span,
    /// By the notes too.
    pub after: Span,
    /// Greatest distance between the distributions before and after, 0 to 1.
    pub moved: f64,
    /// Whether so few draws would move it so far by chance in less than 1 of 100.
    pub beyond_chance: bool,
}

/// Shares of the words that were drawn where none was told.
#[derive(Clone, Debug, Serialize)]
pub struct WordChange {
    /// The input's path.
    pub input: String,
    /// The word.
    pub word: String,
    /// Share before.
    pub before: f64,
    /// Share after.
    pub after: f64,
}

/// The reach of a cut that was not noted.
#[derive(Clone, Debug, Serialize)]
pub struct ReachChange {
    /// The cut's id.
    pub cut: String,
    /// The target's id.
    pub target: String,
    /// Share of drops that reach, over the draws; `middle` is the mean.
    pub before: Span,
    /// The same with the draws weighed.
    pub after: Span,
}

/// What the notes change.
#[derive(Clone, Debug, Serialize)]
pub struct Tuned {
    /// The scene's name.
    pub scene: String,
    /// SHA-256 of the scene as read, hex.
    pub scene_hash: String,
    /// Which ground law made every number.
    pub law: String,
    /// Seed of all draws.
    pub seed: u64,
    /// Draws that were finished.
    pub draws: u32,
    /// Drops of each cut on each draw.
    pub drops_per_draw: u32,
    /// How many draws the weights are worth.
    pub effective: f64,
    /// Share of the weight that the heaviest draw has.
    pub heaviest: f64,
    /// Per note.
    pub agreement: Vec<Agreement>,
    /// Inputs, those that moved farthest first.
    pub inputs: Vec<InputChange>,
    /// Words drawn where none was told.
    pub words: Vec<WordChange>,
    /// Cuts that were not noted.
    pub reach: Vec<ReachChange>,
    /// The run was stopped before its end.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub partial: bool,
}

/// Why notes can't be answered.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoAnswer {
    /// Nothing is noted.
    #[error("the notes say nothing yet")]
    NothingNoted,
    /// No draw was finished.
    #[error("no draw was finished")]
    NoDraw,
    /// No drop agrees with a note.
    #[error(
        "no drop of {drops} on {draws} grounds agrees with what is noted of cut {cut}{nearest}: \
         either a note or the scene is not as it was, or the model is wrong here"
    )]
    NoDropAgrees {
        /// The cut's id.
        cut: String,
        /// Drops looked at.
        drops: u32,
        /// Draws looked at.
        draws: usize,
        /// How far off the nearest was, in words, or nothing.
        nearest: String,
    },
    /// Each note is met on some draw, but no draw meets them all.
    #[error(
        "each note is met on some of {0} grounds, but no one ground meets all of them: more draws \
         (--draws) may find one; else a note, the scene or the model is wrong"
    )]
    NoDrawAgrees(usize),
}

/// What the notes say of inputs and of the cuts not noted.
///
/// # Errors
/// No draw agrees with the notes.
pub fn tuned(
    job: &Job,
    ask: &Ask,
    bank: &Bank,
    notes: &[CutNote],
    distance: &dyn Fn(f64) -> String,
) -> Result<Tuned, NoAnswer> {
    if notes.is_empty() {
        return Err(NoAnswer::NothingNoted);
    }
    if bank.draws.is_empty() {
        return Err(NoAnswer::NoDraw);
    }
    let found = weigh(bank, notes, None);
    if let Some(none) = found.agreement.iter().find(|a| a.agree == 0) {
        let nearest = none.nearest_m.map(|m| format!("; the nearest is {} off", distance(m)));
        return Err(NoAnswer::NoDropAgrees {
            cut: none.cut.clone(),
            drops: none.drops,
            draws: bank.draws.len(),
            nearest: nearest.unwrap_or_default(),
        });
    }
    if found.meet_all == 0 || found.effective <= 0.0 {
        return Err(NoAnswer::NoDrawAgrees(bank.draws.len()));
    }
    let even = vec![1.0 / bank.draws.len() as f64; bank.draws.len()];
    let mut inputs: Vec<InputChange> = bank
        .draws
        .iter()
        .flat_map(|d| d.inputs.keys())
        .collect::<BTreeSet<_>>()
        .into_iter()
        .filter_map(|input| change(bank, input, &even, &found))
        .collect();
    inputs.sort_by(|a, b| b.moved.total_cmp(&a.moved));
    let noted: Vec<usize> = notes.iter().map(|n| n.cut).collect();
    Ok(Tuned {
        scene: job.scene.name.clone(),
        scene_hash: job.scene.hash.clone(),
        law: ask.law.name(),
        seed: ask.seed,
        draws: bank.draws.len() as u32,
        drops_per_draw: ask.drops_per_ground,
        effective: found.effective,
        heaviest: found.weights.iter().copied().fold(0.0, f64::max),
        words: words(bank, &even, &found.weights),
        reach: reach(bank, &noted, &even, &found.weights),
        agreement: found.agreement,
        inputs,
        partial: bank.partial,
    })
}

fn change(bank: &Bank, input: &str, even: &[f64], found: &Weights) -> Option<InputChange> {
    let weighed = |weights: &[f64]| -> Vec<(f64, f64)> {
        let rows = bank.draws.iter().zip(weights);
        rows.filter_map(|(d, w)| Some((*d.inputs.get(input)?, *w))).collect()
    };
    let (before, after) = (weighed(even), weighed(&found.weights));
    let is_word = |x: &f64| *x == 0.0 || *x == 1.0;
    let yes_or_no = before.iter().all(|(x, _)| is_word(x));
    let (first, second) = (span(&before, yes_or_no)?, span(&after, yes_or_no)?);
    let moved = distance(before, after);
    // An input that not every draw has is there only with a share of the draws.
    let limit = CHANCE / found.effective.max(1.0).sqrt();
    Some(InputChange {
        input: input.to_owned(),
        before: first,
        after: second,
        moved,
        beyond_chance: moved > limit,
    })
}

/// Quantiles of weighed values; the mean in the middle where asked. `None` without weight.
fn span(values: &[(f64, f64)], mean: bool) -> Option<Span> {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let sum: f64 = sorted.iter().map(|v| v.1).sum();
    if sum <= 0.0 {
        return None;
    }
    let at = |share: f64| {
        let mut below = 0.0;
        for (value, weight) in &sorted {
            below += weight / sum;
            if below >= share {
                return *value;
            }
        }
        sorted.last().map_or(0.0, |v| v.0)
    };
    let middle = if mean {
        sorted.iter().map(|(value, weight)| value * weight / sum).sum::<f64>()
    } else {
        at(0.5)
    };
    Some(Span { low: at(0.05), middle, high: at(0.95) })
}

/// Greatest distance between two weighed distributions of the same values.
fn distance(before: Vec<(f64, f64)>, after: Vec<(f64, f64)>) -> f64 {
    let sums = [&before, &after].map(|v| v.iter().map(|x| x.1).sum::<f64>());
    let mut both: Vec<(f64, f64)> = before.iter().map(|(x, w)| (*x, w / sums[0])).collect();
    both.extend(after.iter().map(|(x, w)| (*x, -w / sums[1])));
    both.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut off, mut most) = (0.0, 0.0_f64);
    let mut rows = both.iter().peekable();
    while let Some((x, w)) = rows.next() {
        off += w;
        // Equal values step together.
        if rows.peek().is_none_or(|next| next.0 > *x) {
            most = most.max(f64::abs(off));
        }
    }
    most
}

fn words(bank: &Bank, even: &[f64], weights: &[f64]) -> Vec<WordChange> {
    let mut shares: BTreeMap<(&str, &str), [f64; 2]> = BTreeMap::new();
    for (i, draw) in bank.draws.iter().enumerate() {
        for (input, word) in &draw.words {
            let share = shares.entry((input, word)).or_default();
            share[0] += even.get(i).copied().unwrap_or(0.0);
            share[1] += weights.get(i).copied().unwrap_or(0.0);
        }
    }
    shares
        .into_iter()
        .map(|((input, word), [before, after])| WordChange {
            input: input.to_owned(),
            word: word.to_owned(),
            before,
            after,
        })
        .collect()
}

fn reach(bank: &Bank, noted: &[usize], even: &[f64], weights: &[f64]) -> Vec<ReachChange> {
    let mut changes = Vec::new();
    for (k, cut) in bank.cuts.iter().enumerate().filter(|(_, cut)| !noted.contains(cut)) {
        let id = bank.draws.first().and_then(|d| d.scene.cuts.get(*cut));
        let id = id.map_or_else(String::new, |c| c.id.clone());
        for (t, target) in bank.targets.get(k).into_iter().flatten().enumerate() {
            let share = |draw: &Draw| {
                let fates = draw.fates.get(k).map_or(&[][..], Vec::as_slice);
                let hit = |f: &&Fate| {
                    let reach = f.outcome().and_then(|o| o.reaches.get(t));
                    matches!(reach, Some(Reach::Reached { .. }))
                };
                fates.iter().filter(hit).count() as f64 / fates.len().max(1) as f64
            };
            let shares: Vec<f64> = bank.draws.iter().map(share).collect();
            let weighed = |by: &[f64]| -> Option<Span> {
                let rows: Vec<(f64, f64)> =
                    shares.iter().copied().zip(by.iter().copied()).collect();
                span(&rows, true)
            };
            if let (Some(before), Some(after)) = (weighed(even), weighed(weights)) {
                changes.push(ReachChange {
                    cut: id.clone(),
                    target: target.clone(),
                    before,
                    after,
                });
            }
        }
    }
    changes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_spans_and_distances_of_weighed_values() {
        let even: Vec<(f64, f64)> = (1..=100).map(|i| (f64::from(i), 1.0)).collect();
        let all = span(&even, false).expect("weight");
        assert_eq!((all.low, all.middle, all.high), (5.0, 50.0, 95.0));
        let upper: Vec<(f64, f64)> =
            even.iter().map(|(x, _)| (*x, f64::from(u8::from(*x > 75.0)))).collect();
        assert_eq!(span(&upper, false).expect("weight").low, 77.0);
        assert!((distance(even.clone(), upper) - 0.75).abs() < 1e-12);
        assert!(distance(even.clone(), even).abs() < 1e-12);
        assert_eq!(span(&[(1.0, 0.0)], true), None);
        // Values that tie step together.
        let [a, b] = [[0.5, 0.5], [0.2, 0.8]].map(|w| vec![(0.0, w[0]), (1.0, w[1])]);
        assert!((distance(a, b) - 0.3).abs() < 1e-12);
    }
}
