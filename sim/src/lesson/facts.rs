//! Numbers of a run for the lesson's own words: `{tumbled}`, `{short.far}`, `{shown_speed}`.

use std::collections::BTreeMap;

use glam::DVec3;

use crate::{
    drop::Place,
    forecast::Replay,
    job::JobError,
    outcome::{Mode, Outcome},
    report::units::decimals,
    scene::model::{Event, LessonSpec, Placeholder, words_of},
};

use super::{
    answer::Measure,
    reveal::{CaseRun, Reveal, shown},
    truth::{SIDE_KEY, drawn, event_counted, pull_key},
    words::{bound, elsewhere},
};

/// Facts by case id and name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts(BTreeMap<(String, String), String>);

impl Facts {
    /// A fact of a case.
    #[must_use]
    pub fn get(&self, case: &str, fact: &str) -> Option<&str> {
        self.0.get(&(case.to_owned(), fact.to_owned())).map(String::as_str)
    }
}

/// What stands for a fact that this run doesn't have, because the piece left in none of its drops.
const NONE: &str = "(no drop tells)";

/// The facts that a lesson's words name, of its own runs.
///
/// # Errors
/// A drop can't be made again.
pub fn facts(reveal: &Reveal, lesson: &LessonSpec) -> Result<Facts, JobError> {
    let mut found = Facts::default();
    for run in &reveal.runs {
        let Some(case) = lesson.cases.get(run.case) else { continue };
        let named: Vec<&str> = named(lesson, &case.id).collect();
        let needs_replay = named.iter().any(|fact| fact.starts_with("shown"));
        let drop = shown(run);
        let replay = if needs_replay { Some(run.replay(drop)?) } else { None };
        for fact in named {
            let said = fact_of(run, fact, drop, replay.as_ref());
            found.0.insert(
                (case.id.clone(), fact.to_owned()),
                said.unwrap_or_else(|| NONE.to_owned()),
            );
        }
    }
    Ok(found)
}

/// Facts that the words of a lesson name of a case.
fn named<'a>(lesson: &'a LessonSpec, case: &'a str) -> impl Iterator<Item = &'a str> {
    let own = lesson.cases.first().map_or("", |own| own.id.as_str());
    [&lesson.why, &lesson.try_next]
        .into_iter()
        .flat_map(|text| words_of(text))
        .filter_map(Result::err)
        .filter(move |p| p.case.unwrap_or(own) == case)
        .map(|p| p.fact)
}

/// The lesson's words with their placeholders filled.
#[must_use]
pub fn fill(text: &str, lesson: &LessonSpec, facts: &Facts) -> String {
    let own = lesson.cases.first().map_or("", |own| own.id.as_str());
    words_of(text)
        .into_iter()
        .map(|part| match part {
            Ok(text) => text,
            Err(Placeholder { case, fact }) => facts.get(case.unwrap_or(own), fact).unwrap_or(NONE),
        })
        .collect()
}

fn fact_of(run: &CaseRun, fact: &str, drop: u32, replay: Option<&Replay>) -> Option<String> {
    let units = run.job.scene.units;
    let cut = run.run.forecast.cuts.first()?;
    if let Some(event) = Event::of_word(fact) {
        let counted = event_counted(run, &event);
        let of = if counted.draws { "draws" } else { "drops" };
        let mut said = format!("{} of {} {of}", counted.hits, counted.of);
        // None, said alone, would be read as never.
        if let Some(bound) = bound(&counted) {
            let more: Vec<String> =
                [Some(bound), elsewhere(&counted)].into_iter().flatten().collect();
            said.push_str(&format!(" ({})", more.join("; ")));
        }
        return Some(said);
    }
    if let Some(line) = fact.strip_prefix("pull:") {
        let key = pull_key(run, line);
        let [low, high] = spread(drawn(run, &key))?;
        let told = run.fell.first()?.get(&key).copied()?;
        let [low, told, high] = [low, told, high].map(|n| units.force(n));
        return Some(format!("{told} as told, {low} to {high} within the doubts"));
    }
    let far = cut.rollout_at_least_m;
    let distance = |m: Option<f64>| m.map(|m| units.distance(m));
    let left = replay.and_then(|replay| replay.what.as_ref().ok());
    match fact {
        "drops" => Some(run.fates().len().to_string()),
        "length" => Some(units.length(cut.piece.length_m)),
        "mass" => Some(units.mass(cut.piece.mass_kg)),
        "from" => Some(units.distance(cut.piece.from_height_m)),
        "far" => distance(far.p50),
        "far_near" => distance(far.p10),
        "far_most" => distance(far.p90),
        "most" => distance(far.max),
        "turns_half" => cut.turns.p50.map(|turns| decimals(turns, 1)),
        "lets_go" => {
            let mut turns: Vec<f64> = run.lets_go_rad.iter().copied().flatten().collect();
            turns.sort_by(f64::total_cmp);
            turns.get(turns.len() / 2).map(|turn| Measure::Turn.shown(*turn, units))
        }
        "side_share" => {
            let [low, high] = spread(drawn(run, SIDE_KEY))?;
            let told = run.fell.first()?.get(SIDE_KEY).copied()?;
            let percent = |x: f64| format!("{:.0} %", 100.0 * x);
            Some(format!("{} as told, {} to {}", percent(told), percent(low), percent(high)))
        }
        "shown" => Some(drop.to_string()),
        "shown_lets_go" => {
            let turn = run.lets_go_rad.get(drop as usize).copied().flatten()?;
            Some(Measure::Turn.shown(turn, units))
        }
        "shown_how" => Some(
            left.map_or_else(|| "it sat back on the spar".to_owned(), |(_, outcome)| how(outcome)),
        ),
        "shown_end" => left.and_then(|(_, o)| o.first_touch).map(|t| end(t.place).to_owned()),
        "shown_speed" => {
            left.and_then(|(_, o)| o.first_touch).map(|touch| units.speed(touch.speed_m_s))
        }
        "shown_steep" => {
            let (replay, (track, _)) = replay.zip(left)?;
            let first = track.first_touch?;
            let ground = replay.ready.site.terrain.surface(first.centre_m.x, first.centre_m.y)?;
            let normal = DVec3::new(-ground.gradient.x, -ground.gradient.y, 1.0).normalize();
            let along = (first.attitude * DVec3::Z).dot(normal).abs().min(1.0);
            Some(format!("{:.0}°", libm::asin(along).to_degrees()))
        }
        "shown_turns" => left.map(|(_, outcome)| decimals(outcome.turns, 1)),
        "shown_far" => left.map(|(_, outcome)| units.distance(outcome.rollout_m)),
        "shown_height" => left.map(|(_, o)| units.distance(o.height_over_ground_m)),
        _ => None,
    }
}

/// What one drop did, as part of a sentence.
fn how(outcome: &Outcome) -> String {
    match outcome.mode {
        Mode::Stayed => "it stayed where it landed".to_owned(),
        Mode::Slid => "it slid".to_owned(),
        Mode::Rolled => "it rolled".to_owned(),
        Mode::Tumbled => format!("it went end over end, {} turns", decimals(outcome.turns, 1)),
    }
}

fn end(place: Place) -> &'static str {
    match place {
        Place::Butt => "butt",
        Place::Top => "top",
        Place::Side => "side",
        Place::Flat => "whole length at once",
    }
}

fn spread(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values.fold(None, |spread: Option<[f64; 2]>, x| {
        let [low, high] = spread.unwrap_or([x; 2]);
        Some([low.min(x), high.max(x)])
    })
}
