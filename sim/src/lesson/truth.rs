//! What the drops of a lesson say of one question: counts, distances, places. Never one drop.

use glam::DVec2;

use crate::{
    drop::{Ending, Hold, Place},
    forecast::{
        Fate,
        result::{GroundRow, Interval, Modes},
    },
    outcome::{Mode, Outcome, Reach},
    scene::model::{Asked, Event, QuestionSpec},
};

use super::{
    answer::{ENDS, LIES, MODES, Measure},
    reveal::{CaseRun, Reveal},
};

/// How often something happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Counted {
    /// What.
    pub label: String,
    /// Drops, or draws, in which it happened.
    pub hits: u32,
    /// Of the others, those that were lost before it could be told; they are in no share.
    pub unknown: u32,
    /// All.
    pub of: u32,
    /// Least and greatest share over drawn grounds, where that is counted.
    pub over_grounds: Option<Interval>,
    /// They are draws of what is in doubt, not drops.
    pub draws: bool,
}

impl Counted {
    /// Its share of those of which it can be told, 0 to 1; 0 of none.
    #[must_use]
    pub fn share(&self) -> f64 {
        let of = self.of.saturating_sub(self.unknown);
        f64::from(self.hits) / f64::from(of.max(1))
    }
}

/// What the drops say of a question.
#[derive(Clone, Debug, PartialEq)]
pub enum Truth {
    /// How often each option happened; each drop is in one of them.
    Options(Vec<Counted>),
    /// How often it happened.
    Chance(Counted),
    /// In which case it happened least: how often in each.
    Fewest(Vec<Counted>),
    /// A number for each drop or draw, SI.
    Values {
        /// What it measures.
        measure: Measure,
        /// By drop or draw.
        values: Vec<f64>,
        /// Of those, drops that had not come to rest: theirs is at least so much.
        at_least: u32,
        /// Drops without one: they sat back.
        left_out: u32,
        /// They are draws of what is in doubt, not drops.
        draws: bool,
    },
    /// A place for each drop on the map, m.
    Points {
        /// By drop.
        at_m: Vec<DVec2>,
        /// Of those, drops that had not come to rest: theirs is where they were lost.
        lost: u32,
        /// Drops without one: they sat back, or touched no ground.
        left_out: u32,
    },
}

/// What the drops say of a question; nothing if the case wasn't run.
#[must_use]
pub fn truth(reveal: &Reveal, question: &QuestionSpec) -> Option<Truth> {
    let run = reveal.run(question.of)?;
    let options = |labels: &[&str], pick: &dyn Fn(&Fate) -> usize| {
        let mut counts = vec![0_u32; labels.len()];
        for fate in run.fates() {
            if let Some(count) = counts.get_mut(pick(fate)) {
                *count += 1;
            }
        }
        let of = run.fates().len() as u32;
        let counted = |(label, hits): (&&str, u32)| Counted {
            label: (*label).to_owned(),
            hits,
            unknown: 0,
            of,
            over_grounds: None,
            draws: false,
        };
        labels.iter().zip(counts).map(counted).collect::<Vec<_>>()
    };
    Some(match &question.asked {
        Asked::Mode => {
            let mut counted = options(&MODES, &mode_of);
            for (i, count) in counted.iter_mut().enumerate() {
                count.over_grounds = over(run, &|row| Some(mode_count(row, i)));
            }
            Truth::Options(counted)
        }
        Asked::FirstEnd => Truth::Options(options(&ENDS, &end_of)),
        Asked::HowItLies => Truth::Options(options(&LIES, &lie_of)),
        Asked::Chance(event) => Truth::Chance(event_counted(run, event)),
        Asked::Fewest { event, among } => {
            let lesson = reveal.runs.first()?.job.scene.lesson.as_ref()?;
            let counted = among.iter().map(|&case| {
                let label = lesson.cases.get(case)?.label.clone();
                Some(Counted { label, ..event_counted(reveal.run(case)?, event) })
            });
            Truth::Fewest(counted.collect::<Option<_>>()?)
        }
        Asked::FirstTouch => {
            points(run, |o| o.first_touch.map(|touch| touch.point_m.truncate()), false)
        }
        Asked::Rest => points(run, |o| Some(o.end_m.truncate()), true),
        Asked::HowFar => {
            let left = outcomes(run);
            Truth::Values {
                measure: Measure::Distance,
                values: left.iter().map(|o| o.rollout_m).collect(),
                at_least: left.iter().filter(|o| o.ending != Ending::Rest).count() as u32,
                left_out: (run.fates().len() - left.len()) as u32,
                draws: false,
            }
        }
        Asked::LetsGoAt => {
            let values: Vec<f64> = run.lets_go_rad.iter().copied().flatten().collect();
            let left_out = (run.lets_go_rad.len() - values.len()) as u32;
            Truth::Values { measure: Measure::Turn, values, at_least: 0, left_out, draws: false }
        }
        Asked::Pull(line) => Truth::Values {
            measure: Measure::Force,
            values: drawn(run, &pull_key(run, line)).collect(),
            at_least: 0,
            left_out: 0,
            draws: true,
        },
    })
}

/// Key of the pull at the stem that turns it: against the gust, or in still air where the scene has
/// no wind.
pub(super) fn pull_key(run: &CaseRun, line: &str) -> String {
    let key = |wind: &str| format!("pull.{line}.{wind}");
    let has_gust = run.fell.first().is_some_and(|numbers| numbers.contains_key(&key("gust")));
    key(if has_gust { "gust" } else { "still" })
}

/// Key of the share of the hinge's side hold that is used.
pub(super) const SIDE_KEY: &str = "side_share";

/// A number of the cut in each draw.
pub(super) fn drawn<'a>(run: &'a CaseRun, key: &'a str) -> impl Iterator<Item = f64> + 'a {
    run.fell.iter().skip(1).filter_map(move |numbers| numbers.get(key).copied())
}

fn outcomes(run: &CaseRun) -> Vec<&Outcome> {
    run.fates().iter().filter_map(Fate::outcome).collect()
}

fn points(run: &CaseRun, at: impl Fn(&Outcome) -> Option<DVec2>, at_end: bool) -> Truth {
    let left = outcomes(run);
    let at_m: Vec<DVec2> = left.iter().filter_map(|outcome| at(outcome)).collect();
    let lost = left.iter().filter(|o| at_end && o.ending != Ending::Rest).count() as u32;
    let left_out = (run.fates().len() - at_m.len()) as u32;
    Truth::Points { at_m, lost, left_out }
}

/// How often an event happens in a case.
#[must_use]
pub fn event_counted(run: &CaseRun, event: &Event) -> Counted {
    let label = event.word();
    if *event == Event::HingeHolds {
        let shares: Vec<f64> = drawn(run, SIDE_KEY).collect();
        let hits = shares.iter().filter(|share| **share <= 1.0).count() as u32;
        let of = shares.len() as u32;
        return Counted { label, hits, unknown: 0, of, over_grounds: None, draws: true };
    }
    let happens = |fate: &Fate| happens(run, event, fate);
    let fates = run.fates();
    let hits = fates.iter().filter(|fate| happens(fate) == Some(true)).count() as u32;
    let unknown = fates.iter().filter(|fate| happens(fate).is_none()).count() as u32;
    let over_grounds = over(run, &|row| row_count(run, event, row));
    Counted { label, hits, unknown, of: fates.len() as u32, over_grounds, draws: false }
}

/// Whether an event happens in a drop; `None` where the drop was lost before it could be told.
fn happens(run: &CaseRun, event: &Event, fate: &Fate) -> Option<bool> {
    let Some(outcome) = fate.outcome() else { return Some(*event == Event::SitsBack) };
    Some(match event {
        Event::SitsBack | Event::HingeHolds => false,
        Event::Stayed => outcome.mode == Mode::Stayed,
        Event::Slid => outcome.mode == Mode::Slid,
        Event::Rolled => outcome.mode == Mode::Rolled,
        Event::Tumbled => outcome.mode == Mode::Tumbled,
        Event::ButtFirst => end_of(fate) == 0,
        Event::TopFirst => end_of(fate) == 1,
        Event::SideFirst => end_of(fate) == 2,
        Event::LiesFirmly => lie_of(fate) == 0,
        Event::LiesBarely => lie_of(fate) == 1,
        Event::HeldByAidOnly => lie_of(fate) == 2,
        Event::NotAtRest => lie_of(fate) == 3,
        Event::Reaches(id) => {
            let by_loose =
                outcome.loose.iter().flat_map(|l| &l.reached).any(|reach| reach.target == *id);
            let index = run.targets.iter().position(|(target, _)| target == id);
            match index.and_then(|k| outcome.reaches.get(k)) {
                _ if by_loose => true,
                Some(Reach::Reached { .. }) => true,
                Some(Reach::Unknown) => return None,
                Some(Reach::Missed { .. }) | None => false,
            }
        }
        Event::SetsGoing(id) => outcome.loose.iter().any(|loose| loose.id == *id),
        Event::LineOver(id) => {
            outcome.lines.iter().any(|line| line.id == *id && line.is_above_working())
        }
    })
}

/// The option of a drop among how it goes.
fn mode_of(fate: &Fate) -> usize {
    match fate.outcome().map(|outcome| outcome.mode) {
        None => 0,
        Some(Mode::Stayed) => 1,
        Some(Mode::Slid) => 2,
        Some(Mode::Rolled) => 3,
        Some(Mode::Tumbled) => 4,
    }
}

/// The option of a drop among which end touches first.
fn end_of(fate: &Fate) -> usize {
    let Some(outcome) = fate.outcome() else { return 3 };
    match outcome.first_touch.map(|touch| touch.place) {
        Some(Place::Butt) => 0,
        Some(Place::Top) => 1,
        Some(Place::Side | Place::Flat) | None => 2,
    }
}

/// The option of a drop among how it lies.
fn lie_of(fate: &Fate) -> usize {
    let Some(outcome) = fate.outcome() else { return 4 };
    match (outcome.ending, outcome.hold) {
        (Ending::Rest, Some(Hold::Firm)) => 0,
        (Ending::Rest, Some(Hold::Marginal)) => 1,
        (Ending::Rest, Some(Hold::ByAidOnly)) => 2,
        _ => 3,
    }
}

/// Least and greatest share over the drawn grounds, where there are any and it is counted there.
fn over(run: &CaseRun, count: &dyn Fn(&GroundRow) -> Option<u32>) -> Option<Interval> {
    let rows = &run.run.forecast.cuts.first()?.grounds;
    let shares: Option<Vec<f64>> = rows
        .iter()
        .filter(|row| row.drops > 0)
        .map(|row| Some(f64::from(count(row)?) / f64::from(row.drops)))
        .collect();
    let shares = shares.filter(|shares| !shares.is_empty())?;
    Some(Interval::of(shares.into_iter()))
}

fn mode_count(row: &GroundRow, option: usize) -> u32 {
    let Modes { stayed, slid, rolled, tumbled } = row.modes;
    [row.sat_back, stayed, slid, rolled, tumbled].get(option).copied().unwrap_or(0)
}

/// What a drawn ground counts of an event, where it does.
fn row_count(run: &CaseRun, event: &Event, row: &GroundRow) -> Option<u32> {
    let lies = row.hold;
    let at_rest = lies.firm + lies.marginal + lies.by_aid_only;
    match event {
        Event::SitsBack => Some(row.sat_back),
        Event::Stayed => Some(row.modes.stayed),
        Event::Slid => Some(row.modes.slid),
        Event::Rolled => Some(row.modes.rolled),
        Event::Tumbled => Some(row.modes.tumbled),
        Event::LiesFirmly => Some(lies.firm),
        Event::LiesBarely => Some(lies.marginal),
        Event::HeldByAidOnly => Some(lies.by_aid_only),
        Event::NotAtRest => Some(row.drops.saturating_sub(row.sat_back + at_rest)),
        // What is set going is not counted there: only where nothing lies loose is it the whole.
        Event::Reaches(id) if run.run.forecast.cuts.first()?.loose.is_empty() => {
            row.targets.iter().find(|target| target.id == *id).map(|target| target.reached)
        }
        _ => None,
    }
}
