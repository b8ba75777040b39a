//! What was said against what happened, over many answers: is what one calls 80 in 100 about that?
//!
//! Answers with a stated chance (of options the likeliest) are put in bins by what was stated; beside
//! each stands in what share of drops it happened, in the mean. The interval is Clopper & Pearson's
//! 1934 of so many *answers*, not drops: the drops of one lesson are alike, and more of them don't
//! make an answer surer. Where shares aren't whole numbers of answers its Beta quantiles are taken as
//! they stand; drops in between make it wider than need be. Ranges and marks are said to hold 8 in 10
//! ([`HELD`](super::HELD)); how many drops they held is one bin of its own, and on which side the
//! others lay says which way one errs.
//!
//! Of a question of one scene the first answer counts alone: whoever answers again has seen its drops.

use std::collections::BTreeSet;

use crate::forecast::interval;

use super::record::{Kind, Row};

/// Edges of the bins of stated chances.
pub const EDGES: [f64; 7] = [0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0];
/// Answers under which nothing is said of which way one errs (ours).
const FEW: usize = 5;
/// A difference of mean shares under this is not called a way to err (ours).
const SAME: f64 = 0.05;

/// Answers that stated about the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bin {
    /// Least and greatest that the bin takes; the lower end belongs to it, of the last the upper too.
    pub edges: [f64; 2],
    /// Answers in it.
    pub answers: u32,
    /// What they stated, in the mean.
    pub stated: f64,
    /// How often it happened, in the mean.
    pub happened: f64,
    /// Interval of that by the number of answers, 95 %, two-sided.
    pub interval: [f64; 2],
}

/// How often ranges or marks held what they were said to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// What they are of.
    pub kind: Kind,
    /// Answers.
    pub answers: u32,
    /// Share of drops within, in the mean.
    pub within: f64,
    /// Interval of that by the number of answers.
    pub interval: [f64; 2],
    /// Share of drops below a range or nearer than a mark, in the mean.
    pub below: f64,
    /// Share above a range or farther than a mark, in the mean.
    pub above: f64,
}

/// A learner's answers against what happened.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calibration {
    /// Bins of stated chances with at least one answer, lowest first.
    pub bins: Vec<Bin>,
    /// Ranges and marks, by kind.
    pub held: Vec<Held>,
    /// All answers that count.
    pub answers: u32,
    /// Answers that don't: their question had been answered, and its drops shown, before.
    pub again: u32,
    /// Mean of Brier's score over stated chances: options, chances and choices apart; kind, answers,
    /// mean score, mean of what could have been known.
    pub brier: Vec<(Kind, u32, f64, f64)>,
    /// Which way one errs, in sentences; none where there is too little to say.
    pub errs: Vec<String>,
}

/// What answers say of a learner.
#[must_use]
pub fn of(rows: &[Row]) -> Calibration {
    let mut seen = BTreeSet::new();
    let first: Vec<&Row> =
        rows.iter().filter(|row| seen.insert((&row.scene_hash, &row.question))).collect();
    let again = (rows.len() - first.len()) as u32;
    let stated: Vec<&Row> = first.iter().copied().filter(|row| row.beside.is_none()).collect();
    let bins: Vec<Bin> = EDGES
        .windows(2)
        .filter_map(|edges| {
            let [low, high] = *edges else { return None };
            let is_last = high >= 1.0;
            let within = |s: f64| s >= low && (s < high || is_last);
            bin([low, high], stated.iter().copied().filter(|row| within(row.stated)))
        })
        .collect();
    let kinds = [Kind::Distance, Kind::Turn, Kind::Force, Kind::Mark];
    let held: Vec<Held> = kinds
        .into_iter()
        .filter_map(|kind| held(kind, first.iter().copied().filter(|row| row.kind == kind)))
        .collect();
    let brier = [Kind::Chance, Kind::Options, Kind::Fewest].into_iter().filter_map(|kind| {
        let of: Vec<&Row> = stated.iter().copied().filter(|row| row.kind == kind).collect();
        let n = (!of.is_empty()).then_some(of.len() as f64)?;
        let mean = |get: fn(&Row) -> f64| of.iter().map(|row| get(row)).sum::<f64>() / n;
        Some((kind, of.len() as u32, mean(|row| row.score), mean(|row| row.could_know)))
    });
    let brier = brier.collect();
    let errs = errs(&stated, &held);
    Calibration { bins, held, answers: first.len() as u32, again, brier, errs }
}

fn bin<'a>(edges: [f64; 2], rows: impl Iterator<Item = &'a Row>) -> Option<Bin> {
    let (mut answers, mut stated, mut happened) = (0_u32, 0.0, 0.0);
    for row in rows {
        answers += 1;
        stated += row.stated;
        happened += row.share;
    }
    let n = (answers > 0).then_some(f64::from(answers))?;
    Some(Bin {
        edges,
        answers,
        stated: stated / n,
        happened: happened / n,
        interval: interval::of_sum(happened, answers),
    })
}

fn held<'a>(kind: Kind, rows: impl Iterator<Item = &'a Row>) -> Option<Held> {
    let (mut answers, mut below, mut above) = (0_u32, 0.0, 0.0);
    for [under, over] in rows.filter_map(|row| row.beside) {
        answers += 1;
        below += under;
        above += over;
    }
    let n = (answers > 0).then_some(f64::from(answers))?;
    let within = (n - below - above).clamp(0.0, n);
    Some(Held {
        kind,
        answers,
        within: within / n,
        interval: interval::of_sum(within, answers),
        below: below / n,
        above: above / n,
    })
}

/// Which way one errs, where there is enough to say.
fn errs(stated: &[&Row], held: &[Held]) -> Vec<String> {
    let mut said = Vec::new();
    // Of options the likeliest is stated: more often than it happens is too sure.
    let sure: Vec<&&Row> = stated.iter().filter(|row| row.kind != Kind::Chance).collect();
    if sure.len() >= FEW {
        let n = sure.len() as f64;
        let gap = sure.iter().map(|row| row.stated - row.share).sum::<f64>() / n;
        said.push(format!(
            "Of options: you are {}, by {:.0} in 100 in the mean of {} answers.",
            if gap > SAME {
                "too sure"
            } else if gap < -SAME {
                "too unsure"
            } else {
                "about as sure as it happens"
            },
            100.0 * gap.abs(),
            sure.len()
        ));
    }
    let chances: Vec<&&Row> = stated.iter().filter(|row| row.kind == Kind::Chance).collect();
    if chances.len() >= FEW {
        let n = chances.len() as f64;
        let gap = chances.iter().map(|row| row.stated - row.share).sum::<f64>() / n;
        said.push(format!(
            "Of chances: what you are asked about happens {}, by {:.0} in 100 in the mean of {} answers.",
            if gap > SAME { "less often than you say" } else if gap < -SAME { "more often than you say" } else { "about as often as you say" },
            100.0 * gap.abs(),
            chances.len()
        ));
    }
    for held in held.iter().filter(|held| held.answers as usize >= FEW) {
        let (what, less, more) = match held.kind {
            Kind::Mark => ("Marks", "too far out", "too near"),
            Kind::Distance => ("Distances", "too far", "too near"),
            Kind::Turn => ("Turns", "too far round", "too little"),
            _ => ("Pulls", "too hard", "too light"),
        };
        let side = held.above - held.below;
        let width = if held.within < super::HELD - SAME {
            "too narrow"
        } else if held.within > super::HELD + SAME {
            "too wide"
        } else {
            "about as wide as they should be"
        };
        let way = if side > SAME {
            more
        } else if side < -SAME {
            less
        } else {
            "neither to one side nor the other"
        };
        said.push(format!(
            "{what}: {width}, and {way}: of the drops {:.0} in 100 lay within, {:.0} before and {:.0} \
             beyond, in the mean of {} answers.",
            100.0 * held.within,
            100.0 * held.below,
            100.0 * held.above,
            held.answers
        ));
    }
    said
}
