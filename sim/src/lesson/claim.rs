//! Whether the forecast still gives what a lesson says: its claims against its own runs; and what
//! it could claim, by the runs of today.
//!
//! A claim made here leaves as much room as counting alone does: for a share the interval of
//! `forecast::interval`, for a median the order statistics whose ranks lie 0.98 √n about the middle
//! (95 %, normal approximation of the binomial; Conover 1999, Practical Nonparametric Statistics,
//! §3.2, from memory), for a pull the middle nine tenths of its draws. What a lesson claims is of one
//! seed: another count is another law of the ground, not another throw.

use crate::{
    forecast::interval,
    quantity::Units,
    report::words::in_hundred,
    scene::model::{Asked, ClaimSpec, Event, LessonSpec, QuestionSpec},
};

use super::{
    answer::Measure,
    reveal::{CaseRun, Reveal},
    truth::{Truth, event_counted, pull_key, truth},
};

/// Ways a drop can go, ends it can touch with first and ways it can lie, one of which each drop has.
const MODES: [Event; 5] =
    [Event::SitsBack, Event::Stayed, Event::Slid, Event::Rolled, Event::Tumbled];
const ENDS: [Event; 4] = [Event::ButtFirst, Event::TopFirst, Event::SideFirst, Event::SitsBack];
const LIES: [Event; 5] =
    [Event::LiesFirmly, Event::LiesBarely, Event::HeldByAidOnly, Event::NotAtRest, Event::SitsBack];
/// Standard deviations either side that hold 95 %, halved: ranks of a median are √n/2 apart.
const RANKS: f64 = 0.98;

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

/// What the runs give for each question that a claim can be made of, in order: of a choice its
/// likeliest option, of cases that counting tells apart which is less often. None for places, nor
/// where no drop tells.
#[must_use]
pub fn measured(reveal: &Reveal, lesson: &LessonSpec) -> Vec<ClaimSpec> {
    let mut claims = Vec::new();
    for question in &lesson.questions {
        let of = question.of;
        let Some(run) = reveal.run(of) else { continue };
        let likeliest = |events: &[Event]| {
            let most = events.iter().max_by_key(|event| event_counted(run, event).hits);
            most.and_then(|event| share(run, of, event))
        };
        let found = match &question.asked {
            Asked::Mode => likeliest(&MODES),
            Asked::FirstEnd => likeliest(&ENDS),
            Asked::HowItLies => likeliest(&LIES),
            Asked::Chance(event) => share(run, of, event),
            Asked::Fewest { event, among } => {
                claims.extend(fewer(reveal, event, among));
                None
            }
            Asked::HowFar => median(reveal, question, 0.1)
                .map(|[low_m, high_m]| ClaimSpec::HowFar { of, low_m, high_m }),
            Asked::LetsGoAt => median(reveal, question, 1.0_f64.to_radians())
                .map(|[low_rad, high_rad]| ClaimSpec::LetsGoAt { of, low_rad, high_rad }),
            Asked::Pull(line) => pulls(run, line).map(|[low_n, high_n]| ClaimSpec::Pull {
                of,
                line: line.clone(),
                low_n,
                high_n,
            }),
            Asked::FirstTouch | Asked::Rest => None,
        };
        claims.extend(found);
    }
    // Two questions may be about one thing.
    let mut unlike: Vec<ClaimSpec> = Vec::new();
    for claim in claims {
        if !unlike.contains(&claim) {
            unlike.push(claim);
        }
    }
    unlike
}

/// An event's share with the room that counting leaves it, in whole numbers of 100.
fn share(run: &CaseRun, of: usize, event: &Event) -> Option<ClaimSpec> {
    let counted = event_counted(run, event);
    let known = counted.of.checked_sub(counted.unknown).filter(|known| *known > 0)?;
    let low = (100.0 * interval::low(counted.hits, known)).floor();
    let high = (100.0 * interval::high(counted.hits, known)).ceil();
    Some(ClaimSpec::Share { of, event: event.clone(), low, high })
}

/// The case in which an event is least often, against each case that counting tells apart from it.
fn fewer(reveal: &Reveal, event: &Event, among: &[usize]) -> Vec<ClaimSpec> {
    let counted = |case: usize| {
        let counted = event_counted(reveal.run(case)?, event);
        let known = counted.of.checked_sub(counted.unknown).filter(|known| *known > 0)?;
        let bound = [interval::low(counted.hits, known), interval::high(counted.hits, known)];
        Some((case, counted.share(), bound))
    };
    let all: Vec<_> = among.iter().filter_map(|case| counted(*case)).collect();
    let Some((of, _, [_, high])) = all.iter().min_by(|a, b| a.1.total_cmp(&b.1)).copied() else {
        return Vec::new();
    };
    let apart = all.iter().filter(|(_, _, [low, _])| *low > high);
    apart.map(|(than, ..)| ClaimSpec::Fewer { event: event.clone(), of, than: *than }).collect()
}

/// Where the median of a number may lie by counting alone, outward to whole steps, SI.
fn median(reveal: &Reveal, question: &QuestionSpec, step: f64) -> Option<[f64; 2]> {
    let Some(Truth::Values { mut values, .. }) = truth(reveal, question) else { return None };
    values.sort_by(f64::total_cmp);
    let n = values.len() as f64;
    let off = RANKS * n.sqrt();
    let low = values.get((0.5 * n - off).floor().max(0.0) as usize)?;
    let high = values.get(((0.5 * n + off).ceil() as usize).min(values.len() - 1))?;
    Some([step * ((low / step).floor() - 1.0).max(0.0), step * ((high / step).ceil() + 1.0)])
}

/// The middle nine tenths of a pull's draws and the pull as told, outward to 10 N.
fn pulls(run: &CaseRun, line: &str) -> Option<[f64; 2]> {
    let key = pull_key(run, line);
    let told = run.fell.first()?.get(&key).copied()?;
    let mut drawn: Vec<f64> = run.fell.iter().filter_map(|row| row.get(&key)).copied().collect();
    drawn.sort_by(f64::total_cmp);
    let at = |share: f64| drawn.get((share * (drawn.len() - 1) as f64).round() as usize).copied();
    let (low, high) = (at(0.05)?.min(told), at(0.95)?.max(told));
    Some([10.0 * ((low / 10.0).floor() - 1.0).max(0.0), 10.0 * ((high / 10.0).ceil() + 1.0)])
}

/// A claim of a lesson in words.
#[must_use]
pub fn words(claim: &ClaimSpec, lesson: &LessonSpec, units: Units) -> String {
    let label = |case: &usize| lesson.cases.get(*case).map_or("", |case| case.label.as_str());
    let between = |measure: Measure, low: &f64, high: &f64| {
        format!("between {} and {}", measure.shown(*low, units), measure.shown(*high, units))
    };
    match claim {
        ClaimSpec::Share { of, event, low, high } => {
            format!("{}: {} in {low} to {high} of 100", label(of), event.said())
        }
        ClaimSpec::Fewer { event, of, than } => {
            format!("{}: {} less often than {}", label(of), event.said(), label(than))
        }
        ClaimSpec::HowFar { of, low_m, high_m } => {
            format!("{}: half run {}", label(of), between(Measure::Distance, low_m, high_m))
        }
        ClaimSpec::LetsGoAt { of, low_rad, high_rad } => {
            format!("{}: lets go {}", label(of), between(Measure::Turn, low_rad, high_rad))
        }
        ClaimSpec::Pull { of, line, low_n, high_n } => {
            format!("{}: {line} {}", label(of), between(Measure::Force, low_n, high_n))
        }
    }
}

fn check(reveal: &Reveal, lesson: &LessonSpec, claim: &ClaimSpec) -> Checked {
    let units = reveal.runs.first().map(|run| run.job.scene.units).unwrap_or_default();
    let claimed = words(claim, lesson, units);
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
    match claim {
        ClaimSpec::Share { of, event, low, high } => {
            let Some(run) = reveal.run(*of) else { return missing(claimed) };
            let counted = event_counted(run, event);
            let share = 100.0 * counted.share();
            let holds = counted.of > counted.unknown && (*low..=*high).contains(&share);
            Checked { claim: claimed, found: format!("{} of {}", counted.hits, counted.of), holds }
        }
        ClaimSpec::Fewer { event, of, than } => {
            let (Some(one), Some(other)) = (reveal.run(*of), reveal.run(*than)) else {
                return missing(claimed);
            };
            let [one, other] = [one, other].map(|run| event_counted(run, event));
            let holds = one.share() < other.share();
            let found = format!(
                "{} in 100 and {} in 100",
                in_hundred(one.share()),
                in_hundred(other.share())
            );
            Checked { claim: claimed, found, holds }
        }
        ClaimSpec::HowFar { of, low_m, high_m } => {
            let of_run = |run: &CaseRun| run.run.forecast.cuts.first()?.rollout_at_least_m.p50;
            let limits = [*low_m, *high_m];
            within(
                claimed,
                reveal.run(*of),
                Found { measure: Measure::Distance, limits, of: &of_run },
            )
        }
        ClaimSpec::LetsGoAt { of, low_rad, high_rad } => {
            let of_run = |run: &CaseRun| {
                let mut turns: Vec<f64> = run.lets_go_rad.iter().copied().flatten().collect();
                turns.sort_by(f64::total_cmp);
                turns.get(turns.len() / 2).copied()
            };
            let limits = [*low_rad, *high_rad];
            within(claimed, reveal.run(*of), Found { measure: Measure::Turn, limits, of: &of_run })
        }
        ClaimSpec::Pull { of, line, low_n, high_n } => {
            let of_run = |run: &CaseRun| run.fell.first()?.get(&pull_key(run, line)).copied();
            let limits = [*low_n, *high_n];
            within(claimed, reveal.run(*of), Found { measure: Measure::Force, limits, of: &of_run })
        }
    }
}

/// A number of a run with its limits.
struct Found<'a> {
    measure: Measure,
    limits: [f64; 2],
    of: &'a dyn Fn(&CaseRun) -> Option<f64>,
}
