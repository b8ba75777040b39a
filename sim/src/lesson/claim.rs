//! Whether the forecast still gives what a lesson says: its claims against its own runs.

use crate::{
    report::words::in_hundred,
    scene::model::{ClaimSpec, LessonSpec},
};

use super::{
    answer::Measure,
    reveal::{CaseRun, Reveal},
    truth::{event_counted, pull_key},
};

/// A claim and what the runs say of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// The claim in words.
    pub claim: String,
    /// What the runs give.
    pub found: String,
    /// Whether it is so.
    pub holds: bool,
}

/// Each claim of a lesson against its runs, in order. One whose case was not run doesn't hold.
#[must_use]
pub fn claims(reveal: &Reveal, lesson: &LessonSpec) -> Vec<Checked> {
    lesson.claims.iter().map(|claim| check(reveal, lesson, claim)).collect()
}

fn check(reveal: &Reveal, lesson: &LessonSpec, claim: &ClaimSpec) -> Checked {
    let label = |case: usize| lesson.cases.get(case).map_or("", |case| case.label.as_str());
    let missing = |claim: String| Checked { claim, found: "not run".to_owned(), holds: false };
    let within = |claim: String, run: Option<&CaseRun>, found: Found<'_>| {
        let Some((run, units)) = run.map(|run| (run, run.job.scene.units)) else {
            return missing(claim);
        };
        let Some(x) = (found.of)(run) else {
            return Checked { claim, found: "no drop tells".to_owned(), holds: false };
        };
        let [low, high] = found.limits;
        let holds = (low..=high).contains(&x);
        Checked { claim, found: found.measure.shown(x, units), holds }
    };
    let units = reveal.runs.first().map(|run| run.job.scene.units).unwrap_or_default();
    let between = |measure: Measure, [low, high]: [f64; 2]| {
        format!("between {} and {}", measure.shown(low, units), measure.shown(high, units))
    };
    match claim {
        ClaimSpec::Share { of, event, low, high } => {
            let claim = format!("{}: {} in {low} to {high} of 100", label(*of), event.word());
            let Some(run) = reveal.run(*of) else { return missing(claim) };
            let counted = event_counted(run, event);
            let share = 100.0 * counted.share();
            let holds = counted.of > counted.unknown && (*low..=*high).contains(&share);
            Checked { claim, found: format!("{} of {}", counted.hits, counted.of), holds }
        }
        ClaimSpec::Fewer { event, of, than } => {
            let claim = format!("{}: {} less than {}", label(*of), event.word(), label(*than));
            let (Some(one), Some(other)) = (reveal.run(*of), reveal.run(*than)) else {
                return missing(claim);
            };
            let [one, other] = [one, other].map(|run| event_counted(run, event));
            let holds = one.share() < other.share();
            let found = format!(
                "{} in 100 and {} in 100",
                in_hundred(one.share()),
                in_hundred(other.share())
            );
            Checked { claim, found, holds }
        }
        ClaimSpec::HowFar { of, low_m, high_m } => {
            let limits = [*low_m, *high_m];
            let claim = format!("{}: half run {}", label(*of), between(Measure::Distance, limits));
            let of_run = |run: &CaseRun| run.run.forecast.cuts.first()?.rollout_at_least_m.p50;
            let found = Found { measure: Measure::Distance, limits, of: &of_run };
            within(claim, reveal.run(*of), found)
        }
        ClaimSpec::LetsGoAt { of, low_rad, high_rad } => {
            let limits = [*low_rad, *high_rad];
            let claim = format!("{}: lets go {}", label(*of), between(Measure::Turn, limits));
            let of_run = |run: &CaseRun| {
                let mut turns: Vec<f64> = run.lets_go_rad.iter().copied().flatten().collect();
                turns.sort_by(f64::total_cmp);
                turns.get(turns.len() / 2).copied()
            };
            let found = Found { measure: Measure::Turn, limits, of: &of_run };
            within(claim, reveal.run(*of), found)
        }
        ClaimSpec::Pull { of, line, low_n, high_n } => {
            let limits = [*low_n, *high_n];
            let claim = format!("{}: {line} {}", label(*of), between(Measure::Force, limits));
            let of_run = |run: &CaseRun| run.fell.first()?.get(&pull_key(run, line)).copied();
            let found = Found { measure: Measure::Force, limits, of: &of_run };
            within(claim, reveal.run(*of), found)
        }
    }
}

/// A number of a run with its limits.
struct Found<'a> {
    measure: Measure,
    limits: [f64; 2],
    of: &'a dyn Fn(&CaseRun) -> Option<f64>,
}
