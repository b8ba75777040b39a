//! What lies loose and is set going, counted apart from the piece: logs that aren't held, pieces
//! already down.

use super::{
    Fate,
    count::percentiles,
    interval,
    result::{Interval, LooseForecast, TargetForecast, Unfinished},
};
use crate::{
    drop::Ending,
    job::CutReady,
    outcome::{LooseOutcome, Outcome, Reach},
    site::Body,
};

/// Per body that lies loose at a cut, what its drops did with it: those on the ground as told, and
/// those of each drawn ground.
pub(super) fn of(cut: &CutReady, told: &[Fate], grounds: &[&[Fate]]) -> Vec<LooseForecast> {
    let mut all: Vec<LooseForecast> =
        cut.loose_ids().map(|id| one(cut, &id, told, grounds)).collect();
    // What is held is told of where any drop overcame it.
    let overcome = |id: &String| {
        let mut fates = std::iter::once(told).chain(grounds.iter().copied());
        fates.any(|fates| set_going(fates, id).next().is_some())
    };
    let held = cut.held_ids().filter(overcome);
    all.extend(held.map(|id| LooseForecast { held: true, ..one(cut, &id, told, grounds) }));
    all
}

/// What a drop did with the body of this id, if it set it going.
pub(super) fn outcome<'a>(outcome: &'a Outcome, id: &str) -> Option<&'a LooseOutcome> {
    outcome.loose.iter().find(|loose| loose.id == id)
}

/// Whether anything that lay loose touched a target in a drop, and whether that can't be told.
pub(super) fn reached(outcome: &Outcome, target: &Body) -> [bool; 2] {
    let mut found = [false; 2];
    for loose in &outcome.loose {
        match loose.reach(target) {
            Reach::Reached { .. } => found[0] = true,
            Reach::Unknown => found[1] = true,
            Reach::Missed { .. } => {}
        }
    }
    found
}

fn one(cut: &CutReady, id: &str, told: &[Fate], grounds: &[&[Fate]]) -> LooseForecast {
    let going: Vec<&LooseOutcome> = set_going(told, id).collect();
    let ended = |ending| going.iter().filter(|loose| loose.ending == ending).count() as u32;
    let targets = cut.site.bodies.iter().filter(|body| body.is_target);
    LooseForecast {
        id: id.to_owned(),
        held: false,
        there: {
            let left = told.iter().filter_map(Fate::outcome);
            left.filter(|one| !one.absent.iter().any(|absent| absent == id)).count() as u32
        },
        set_going: going.len() as u32,
        unfinished: Unfinished {
            left_terrain: ended(Ending::LeftTerrain),
            out_of_time: ended(Ending::OutOfTime),
        },
        moved_m: percentiles(going.iter().map(|loose| loose.moved_m).collect()),
        targets: targets.map(|body| target(body, id, told, grounds)).collect(),
    }
}

fn set_going<'a>(fates: &'a [Fate], id: &'a str) -> impl Iterator<Item = &'a LooseOutcome> {
    fates.iter().filter_map(Fate::outcome).filter_map(move |one| outcome(one, id))
}

fn target(body: &Body, id: &str, told: &[Fate], grounds: &[&[Fate]]) -> TargetForecast {
    let hits = |fates: &[Fate]| {
        let reached = |loose: &&LooseOutcome| matches!(loose.reach(body), Reach::Reached { .. });
        set_going(fates, id).filter(reached).count() as u32
    };
    let (reached, drops) = (hits(told), told.len() as u32);
    let lost = |loose: &&LooseOutcome| matches!(loose.reach(body), Reach::Unknown);
    let unknown = set_going(told, id).filter(lost).count() as u32;
    let energies: Vec<f64> = set_going(told, id)
        .filter_map(|loose| match loose.reach(body) {
            Reach::Reached { energy_j, .. } => Some(energy_j),
            Reach::Missed { .. } | Reach::Unknown => None,
        })
        .collect();
    let shares = grounds.iter().filter(|fates| !fates.is_empty());
    TargetForecast {
        id: body.id.clone(),
        reached,
        unknown,
        share: f64::from(reached) / f64::from(drops.max(1)),
        low: interval::low(reached, drops),
        high: interval::high((reached + unknown).min(drops), drops),
        over_grounds: Interval::of(shares.map(|fates| f64::from(hits(fates)) / fates.len() as f64)),
        energy_j: (!body.kind.is_person() && !energies.is_empty()).then(|| percentiles(energies)),
        nearest_miss_m: None,
        harm: None,
    }
}
