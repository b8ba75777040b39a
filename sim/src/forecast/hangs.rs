//! What an answer hangs on: which input moves the share that reaches a target.
//!
//! The drawn grounds are split at the median of each input; an input is named when the two halves'
//! mean shares differ by more than 3.5 standard errors of that difference (Welch 1947): with a hundred
//! inputs about one in twenty answers would name one by chance. The bound is ours. What was measured
//! for other cuts is left out: this cut doesn't hang on it.

use crate::forecast::result::{GroundRow, HangsOn};

/// Standard errors by which halves must differ.
const ERRORS: f64 = 3.5;
/// Share by which halves must differ at least.
const LEAST: f64 = 0.02;
/// Inputs named for a target at most.
const MOST: usize = 3;

/// Inputs that the reach of each target by this cut hangs on, greatest difference first within a target.
#[must_use]
pub(super) fn on(grounds: &[GroundRow], cut: &str) -> Vec<HangsOn> {
    let Some(first) = grounds.first() else { return Vec::new() };
    let own = format!("cuts.{cut}.");
    let mut named = Vec::new();
    for (k, target) in first.targets.iter().enumerate() {
        let mut found: Vec<HangsOn> = first
            .inputs
            .keys()
            .filter(|input| !input.starts_with("cuts.") || input.starts_with(&own))
            .filter_map(|input| {
                let (low, high) = halves(grounds, input, k)?;
                Some(HangsOn {
                    input: input.clone(),
                    target: target.id.clone(),
                    share_low: low,
                    share_high: high,
                })
            })
            .collect();
        found.sort_by(|a, b| difference(b).total_cmp(&difference(a)));
        found.truncate(MOST);
        named.append(&mut found);
    }
    named
}

fn difference(h: &HangsOn) -> f64 {
    (h.share_high - h.share_low).abs()
}

/// Mean shares where the input is low and where it is high, if they differ by enough.
fn halves(grounds: &[GroundRow], input: &str, k: usize) -> Option<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = grounds
        .iter()
        .filter(|g| g.drops > 0)
        .filter_map(|g| {
            let share = f64::from(g.targets.get(k)?.reached) / f64::from(g.drops);
            Some((*g.inputs.get(input)?, share))
        })
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let middle = points.get(points.len() / 2)?.0;
    // An input with two values (wet or not) is split between them.
    let (low, high): (Vec<_>, Vec<_>) = points.iter().partition(|p| p.0 < middle);
    let (a, b) = (mean_and_error(&low)?, mean_and_error(&high)?);
    let error = (a.1 * a.1 + b.1 * b.1).sqrt();
    let apart = (a.0 - b.0).abs();
    (apart > LEAST && apart > ERRORS * error).then_some((a.0, b.0))
}

fn mean_and_error(points: &[&(f64, f64)]) -> Option<(f64, f64)> {
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64;
    let mean = points.iter().map(|p| p.1).sum::<f64>() / n;
    let variance = points.iter().map(|p| (p.1 - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some((mean, (variance / n).sqrt()))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::forecast::result::{GroundTarget, HoldCounts, Modes};

    #[test]
    fn verif_the_input_that_matters_is_named_and_the_other_is_not() {
        let grounds: Vec<GroundRow> = (0..24)
            .map(|i| GroundRow {
                id: i,
                inputs: BTreeMap::from([
                    ("wet".to_owned(), f64::from(i % 2)),
                    ("noise".to_owned(), f64::from((i * 7) % 24)),
                    ("cuts.b.hinge_m".to_owned(), f64::from(i % 2)),
                ]),
                words: BTreeMap::new(),
                warnings: Vec::new(),
                drops: 60,
                sat_back: 0,
                modes: Modes { slid: 60, ..Modes::default() },
                hold: HoldCounts::default(),
                farthest_m: 12.0,
                targets: vec![GroundTarget {
                    id: "shed".into(),
                    reached: if i % 2 == 1 { 30 + i % 3 } else { i % 4 },
                    unknown: 0,
                }],
            })
            .collect();
        let named = on(&grounds, "a");
        assert_eq!(named.len(), 1, "{named:?}");
        assert_eq!(named[0].input, "wet");
        assert!(named[0].share_high > 0.4 && named[0].share_low < 0.1);
    }
}
