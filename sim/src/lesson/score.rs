//! How near an answer came to all drops of a lesson. Lower is nearer; none is a grade.
//!
//! Every score is *proper*: averaged over the drops it is least for the one who says what the drops
//! do, so nobody gains by saying other than they think. Symbols: N drops, α = 0.2 the share that a
//! range or a mark may miss.
//!
//! - **Chances** p of options k, of which each drop is one (shares s): Brier 1950 (Monthly Weather
//!   Review 78, 1–3, from memory), mean over drops of `Σ (p_k − 1{k})²`, which is
//!   `Σ (p_k − s_k)² + Σ s_k(1 − s_k)`: what could be known, and what nobody could. 0 to 2.
//! - **A chance** p that something happens (share s): half of that for two options, as is usual,
//!   `(p − s)² + s(1 − s)`. 0 to 1.
//! - **A range** from l to u: the interval score, mean over drops of `(u − l) + (2/α)·max(0, l − x,
//!   x − u)` (Winkler 1972, JASA 67, 187–191; Gneiting & Raftery 2007, JASA 102, 359–378, eq. 43; both
//!   from memory). It is least where 1 in 10 lie below l and 1 in 10 above u, in the unit of x.
//! - **A mark** with radius r: mean over drops of `r + (1/α)·max(0, d − r)`, d from mark to drop. Ours.
//!   At any mark its slope in r is `1 − P(d > r)/α`, so it is least where the radius holds 1 − α of the
//!   drops; there it is the mean distance of the furthest share α of them (what Rockafellar & Uryasev
//!   2000 call the conditional value at risk, from memory), so the best mark is the one that is least
//!   far from its furthest fifth. Convex in mark and radius together; in metres.
//! - **Which case it happens least in**: Brier's against 1 for the case counted least and 0 for the
//!   others; cases that tie share the 1.
//!
//! What nobody could know of a range or a mark is the least that any could have had on these drops.
//! Known answers: `val_lesson_scores.rs`; that the truth is best: `prop_lesson_scores.rs`.

use glam::DVec2;

use super::{
    answer::{Answer, HELD, Measure},
    truth::{Counted, Truth},
};

/// Share of drops that a range or a mark may miss.
const MISSED: f64 = 1.0 - HELD;

/// By which rule an answer is scored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// Brier's, for options; 0 to 2.
    Options,
    /// Brier's, for one chance; 0 to 1.
    Chance,
    /// The interval score, in what it measures.
    Range(Measure),
    /// A mark with a radius, m.
    Mark,
}

/// How near an answer came.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// By which rule.
    pub rule: Rule,
    /// The score; lower is nearer. What could be known and what nobody could, added.
    pub value: f64,
    /// What the answer was off by.
    pub could_know: f64,
    /// The least that anyone could have had on these drops.
    pub nobody_could: f64,
    /// How often the learner says that it happens, 0 to 1: of options the likeliest one, of ranges and
    /// marks [`HELD`].
    pub stated: f64,
    /// Share of drops in which that happened.
    pub share: f64,
    /// Shares of drops below and above a range, or nearer to the stump and farther from it than a mark
    /// beyond its radius; none for chances.
    pub beside: Option<[f64; 2]>,
}

/// How near an answer came to the drops; nothing where the answer is to another question, or no drop
/// tells.
#[must_use]
pub fn score(answer: &Answer, truth: &Truth) -> Option<Score> {
    match (answer, truth) {
        (Answer::Chance(p), Truth::Chance(counted)) => {
            (counted.of > counted.unknown).then(|| chance(*p, counted.share()))
        }
        (Answer::Choice { .. } | Answer::Chances(_), Truth::Options(counted)) => {
            let shares: Vec<f64> = counted.iter().map(Counted::share).collect();
            options(&answer.chances(shares.len()), &shares)
        }
        // A case whose drops were all lost before it could be told may be the least or not.
        (Answer::Choice { .. } | Answer::Chances(_), Truth::Fewest(counted))
            if counted.iter().all(|case| case.of > case.unknown) =>
        {
            options(&answer.chances(counted.len()), &least(counted))
        }
        (Answer::Range { low, high }, Truth::Values { measure, values, .. }) => {
            range(*measure, *low, *high, values)
        }
        (Answer::Mark { at_m, radius_m }, Truth::Points { at_m: drops, .. }) => {
            mark(*at_m, *radius_m, drops)
        }
        _ => None,
    }
}

/// Brier's score of one chance.
#[must_use]
pub fn chance(p: f64, share: f64) -> Score {
    let could_know = (p - share) * (p - share);
    let nobody_could = share * (1.0 - share);
    Score {
        rule: Rule::Chance,
        value: could_know + nobody_could,
        could_know,
        nobody_could,
        stated: p,
        share,
        beside: None,
    }
}

/// Brier's score of chances of options; nothing unless there is a chance for each.
#[must_use]
pub fn options(chances: &[f64], shares: &[f64]) -> Option<Score> {
    if chances.len() != shares.len() {
        return None;
    }
    // Of equals the first: the learner's order.
    let top = chances.iter().enumerate().rev().max_by(|a, b| a.1.total_cmp(b.1))?.0;
    let could_know: f64 = chances.iter().zip(shares).map(|(p, s)| (p - s) * (p - s)).sum();
    let nobody_could: f64 = shares.iter().map(|s| s * (1.0 - s)).sum();
    Some(Score {
        rule: Rule::Options,
        value: could_know + nobody_could,
        could_know,
        nobody_could,
        stated: *chances.get(top)?,
        share: *shares.get(top)?,
        beside: None,
    })
}

/// 1 for the case counted least, 0 for the others; those that tie share it.
fn least(counted: &[Counted]) -> Vec<f64> {
    let least = counted.iter().map(Counted::share).fold(f64::INFINITY, f64::min);
    let is_least = |c: &Counted| c.share() <= least;
    let n = counted.iter().filter(|c| is_least(c)).count().max(1) as f64;
    counted.iter().map(|c| if is_least(c) { 1.0 / n } else { 0.0 }).collect()
}

/// The interval score of a range; nothing without values.
#[must_use]
pub fn range(measure: Measure, low: f64, high: f64, values: &[f64]) -> Option<Score> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let value = interval_score(low, high, values)?;
    let best_low = *sorted.get(rank(0.5 * MISSED, sorted.len()))?;
    let best_high = *sorted.get(rank(1.0 - 0.5 * MISSED, sorted.len()))?;
    let nobody_could = interval_score(best_low, best_high, values)?.min(value);
    let n = values.len() as f64;
    let below = values.iter().filter(|x| **x < low).count() as f64 / n;
    let above = values.iter().filter(|x| **x > high).count() as f64 / n;
    Some(Score {
        rule: Rule::Range(measure),
        value,
        could_know: value - nobody_could,
        nobody_could,
        stated: HELD,
        // Rounding must not make a share of none negative.
        share: (1.0 - below - above).max(0.0),
        beside: Some([below, above]),
    })
}

/// Mean over values of `(u − l) + (2/α)·max(0, l − x, x − u)`.
fn interval_score(low: f64, high: f64, values: &[f64]) -> Option<f64> {
    let missed = |x: &f64| (low - x).max(x - high).max(0.0);
    let n = (!values.is_empty()).then_some(values.len() as f64)?;
    Some(high - low + (2.0 / MISSED) * values.iter().map(missed).sum::<f64>() / n)
}

/// Index of the value at a share `p` of so many sorted ones: an end of least interval score.
fn rank(p: f64, n: usize) -> usize {
    // A hair less, so that a share of a whole number of values is that number.
    ((p * n as f64 - 1e-9).ceil().max(1.0) as usize - 1).min(n.saturating_sub(1))
}

/// The score of a mark with a radius; nothing without drops.
#[must_use]
pub fn mark(at_m: DVec2, radius_m: f64, drops_m: &[DVec2]) -> Option<Score> {
    let n = (!drops_m.is_empty()).then_some(drops_m.len() as f64)?;
    let value = mark_score(at_m, radius_m, drops_m);
    let nobody_could = best_mark(drops_m)?.2.min(value);
    let outside = |nearer: bool| {
        let is = |drop: &&DVec2| {
            drop.distance(at_m) > radius_m && (drop.length() < at_m.length()) == nearer
        };
        drops_m.iter().filter(is).count() as f64 / n
    };
    let beside = [outside(true), outside(false)];
    Some(Score {
        rule: Rule::Mark,
        value,
        could_know: value - nobody_could,
        nobody_could,
        stated: HELD,
        share: (1.0 - beside[0] - beside[1]).max(0.0),
        beside: Some(beside),
    })
}

/// Mean over drops of `r + (1/α)·max(0, d − r)`.
fn mark_score(at_m: DVec2, radius_m: f64, drops_m: &[DVec2]) -> f64 {
    let missed = |drop: &DVec2| (drop.distance(at_m) - radius_m).max(0.0);
    radius_m + drops_m.iter().map(missed).sum::<f64>() / (MISSED * drops_m.len() as f64)
}

/// The radius about a mark that scores least, and what it scores.
fn best_radius(at_m: DVec2, drops_m: &[DVec2]) -> (f64, f64) {
    let mut away: Vec<f64> = drops_m.iter().map(|drop| drop.distance(at_m)).collect();
    away.sort_by(f64::total_cmp);
    let radius_m = away.get(rank(HELD, away.len())).copied().unwrap_or(0.0);
    (radius_m, mark_score(at_m, radius_m, drops_m))
}

/// The mark that scores least on these drops, its radius and its score, by a search over directions
/// from the middle of the drops, to a centimetre; nothing without drops.
#[must_use]
pub fn best_mark(drops_m: &[DVec2]) -> Option<(DVec2, f64, f64)> {
    /// Directions that are tried, and the last step, m.
    const WAYS: u32 = 16;
    const STEP_MIN_M: f64 = 0.01;
    let n = (!drops_m.is_empty()).then_some(drops_m.len() as f64)?;
    let mut at_m = drops_m.iter().sum::<DVec2>() / n;
    let (mut radius_m, mut least) = best_radius(at_m, drops_m);
    let mut step_m = drops_m.iter().map(|drop| drop.distance(at_m)).fold(0.0, f64::max);
    while step_m > STEP_MIN_M {
        let tried = (0..WAYS).map(|way| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(way) / f64::from(WAYS));
            let at_m = at_m + step_m * DVec2::new(cos, sin);
            (at_m, best_radius(at_m, drops_m))
        });
        match tried.min_by(|a, b| a.1.1.total_cmp(&b.1.1)) {
            Some((there_m, (radius, score))) if score < least => {
                (at_m, radius_m, least) = (there_m, radius, score);
            }
            _ => step_m *= 0.5,
        }
    }
    Some((at_m, radius_m, least))
}
