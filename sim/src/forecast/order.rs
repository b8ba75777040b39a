//! Cuts in their order: pieces that are left where they stop lie there for the cuts after.
//!
//! Drop j of every cut on one ground is one job. A piece left by drop j of one cut lies, for drop j
//! of the next, where it came to rest; that drop may knock it loose, and the one after finds it
//! where it then stopped. So a cut hangs on all cuts from the first whose piece is left, and a drop
//! that is made again alone makes those before it again too. A piece that sat back, left the known
//! terrain, did not come to rest or is held by a line lies nowhere in that drop ([`Outcome::absent`]). Logs that
//! aren't held are put back before each cut. The bumps of the ground are the same for all cuts that
//! share what lies ([`Scene::bumps_of`]), so that what rests goes on resting.

use std::sync::Arc;

use rayon::prelude::*;

use super::{
    Ask, Fate,
    run::{Watch, setup, told_key},
};
use crate::{
    drop::{Ending, RestsOn, Setup, Track, drop},
    job::{CutReady, JobError, World},
    keyed::Key,
    motion::Motion,
    outcome::{Outcome, judge},
    release::{Event, Release, release, trace},
    scene::model::{After, Scene},
    site::{Answer, Body, BodyKind},
    tree::Piece,
};

/// A piece that is left where it stops, in one drop.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Lain {
    /// Id of its cut.
    cut: String,
    piece: Arc<Piece>,
    /// Where it lies; nowhere if it did not come to rest on known ground.
    motion: Option<Motion>,
}

/// What is known of one drop.
pub(super) type What = Result<(Track, Outcome), f64>;

/// The cuts to be run for those asked for, in their order: these, and what they hang on.
pub(super) fn needed(scene: &Scene, asked: &[usize]) -> Vec<usize> {
    let first_left = |cut: usize| scene.left_before(cut).next().unwrap_or(cut);
    let mut all: Vec<usize> = asked.iter().flat_map(|&cut| first_left(cut)..=cut).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Whether a cut's piece is left where it stops.
pub(super) fn is_left(scene: &Scene, cut: usize) -> bool {
    scene.cuts.get(cut).is_some_and(|cut| cut.after == After::LeftWhereItStops)
}

/// The fates of cuts on one ground, drops 0..n of each in order, with the cuts as they stood;
/// `cuts` are [`needed`]. Drops not begun when the run was stopped are left off.
pub(super) fn fates(
    world: &World,
    ask: &Ask,
    cuts: &[usize],
    key: Key,
    n: u32,
    watch: &Watch<'_>,
) -> Result<Vec<(CutReady, Vec<Fate>)>, JobError> {
    let mut bank: Vec<Vec<Lain>> = vec![Vec::new(); n as usize];
    let mut all = Vec::with_capacity(cuts.len());
    for &index in cuts {
        let cut = world.cut(index)?;
        let setup = setup(&cut, ask.law);
        let left = is_left(&world.scene, index);
        let done: Vec<Option<(Fate, Vec<Lain>)>> = bank
            .into_par_iter()
            .enumerate()
            // One drop may take as long as fifty others: nothing is handed out in bundles.
            .with_max_len(1)
            .map(|(drop, lain)| {
                if watch.stopped() {
                    return None;
                }
                let what = one_drop(&cut, &setup, key, drop as u32, f64::INFINITY, &lain);
                let lain = left_for_next(&cut, left, afterwards(lain, &what));
                let fate = Fate::of(what.map(|(_, outcome)| outcome));
                watch.note(&fate);
                Some((fate, lain))
            })
            .collect();
        // A run that was stopped begins no drop of a later cut: what lies there doesn't matter.
        bank =
            done.iter().map(|done| done.as_ref().map_or_else(Vec::new, |d| d.1.clone())).collect();
        all.push((cut, done.into_iter().flatten().map(|(fate, _)| fate).collect()));
    }
    Ok(all)
}

/// One drop of a cut where earlier pieces lie: the whole track and what it amounts to, or the
/// missing moment (N m) if it sat back.
pub(super) fn one_drop(
    cut: &CutReady,
    bare: &Setup<'_>,
    key: Key,
    index: u32,
    sample_s: f64,
    lain: &[Lain],
) -> What {
    let drop_key = |id: &str| key.word(id).number(u64::from(index));
    let (stand, method, scatter) = cut.scatter(drop_key(&cut.id));
    let launch = match release(&stand, &method, &scatter) {
        Release::SitsBack { missing_moment_n_m } => return Err(missing_moment_n_m),
        Release::Left(launch) => launch,
    };
    let roughness = drop_key(&cut.bumps).word("roughness");
    let piece = &cut.section.piece;
    let (track, mut outcome) = if lain.iter().any(|one| one.motion.is_some()) {
        let cut = among(cut, lain);
        let track = drop(&setup(&cut, bare.law), piece, &launch, roughness, sample_s);
        let outcome = judge(&track, &cut.site);
        (track, outcome)
    } else {
        let track = drop(bare, piece, &launch, roughness, sample_s);
        let outcome = judge(&track, &cut.site);
        (track, outcome)
    };
    outcome.lines = cut.on_lines(&track.lines);
    let absent = lain.iter().filter(|one| one.motion.is_none());
    outcome.absent = absent.map(|one| one.cut.clone()).collect();
    Ok((track, outcome))
}

/// How far the piece has turned when its hinge breaks or tears, rad, in drops 0..n on the ground as
/// told, or when it is free if the hinge does neither before; nothing where it sits back.
#[must_use]
pub fn hinge_turns(cut: &CutReady, seed: u64, n: u32) -> Vec<Option<f64>> {
    let key = told_key(seed).word(&cut.id);
    let turn = |drop: u32| {
        let (stand, method, scatter) = cut.scatter(key.number(u64::from(drop)));
        let (Release::Left(_), moments) = trace(&stand, &method, &scatter) else { return None };
        let goes = |event| matches!(event, Event::HingeBroke | Event::HingeTore | Event::Left);
        moments.iter().find(|moment| goes(moment.event)).map(|moment| moment.turn_rad)
    };
    (0..n).map(turn).collect()
}

/// A cut with earlier pieces lying about it.
pub(super) fn among(cut: &CutReady, lain: &[Lain]) -> CutReady {
    let mut cut = cut.clone();
    cut.left_before.clear();
    cut.site.bodies.extend(lain.iter().filter_map(|one| {
        Some(Body {
            id: one.cut.clone(),
            kind: BodyKind::BarrierLog,
            is_target: false,
            answer: Answer::Free { piece: Box::new((*one.piece).clone()), motion: one.motion? },
            shapes: Vec::new(),
        })
    }));
    cut
}

/// Where what lay in a drop lies after it, and where its own piece came to rest, if it did.
pub(super) fn afterwards(mut lain: Vec<Lain>, what: &What) -> (Vec<Lain>, Option<Motion>) {
    let Ok((track, _)) = what else { return (lain, None) };
    let lies = |ending, motion: &Motion| {
        let still = glam::DVec3::ZERO;
        let motion = Motion { velocity_m_s: still, spin_rad_s: still, ..*motion };
        (ending == Ending::Rest).then_some(motion)
    };
    // They are the last bodies of the site, in this order.
    let there: Vec<&mut Lain> = lain.iter_mut().filter(|one| one.motion.is_some()).collect();
    let skip = track.loose.len().saturating_sub(there.len());
    for (one, loose) in there.into_iter().zip(track.loose.iter().skip(skip)) {
        one.motion = lies(loose.ending, &loose.end);
    }
    // What a line holds lies nowhere once the line is let go.
    let lies_there = track.rests_on != Some(RestsOn::Line);
    let end = track.samples.last().filter(|_| lies_there);
    let own = end.and_then(|end| lies(track.ending, &end.motion));
    (lain, own)
}

/// What the cut after finds: what lay, and the piece, if its cut `left` it.
pub(super) fn left_for_next(
    cut: &CutReady,
    left: bool,
    (mut lain, own): (Vec<Lain>, Option<Motion>),
) -> Vec<Lain> {
    if left {
        let piece = Arc::new(cut.section.piece.clone());
        lain.push(Lain { cut: cut.id.clone(), piece, motion: own });
    }
    lain
}
