//! A forecast: many drops of each cut, on the ground as told and over the grounds it could be.
//!
//! Two layers of doubt. *Outer*: what is one unknown truth for the whole job, drawn once per
//! ground and shared by all cuts. *Inner*: what differs from drop to drop. Outer draws are keyed by
//! (seed, outer index, input path), inner ones by (seed, cut id, drop, input path), so that any
//! drop can be made again alone and comparisons are paired.

use std::{
    collections::BTreeMap,
    sync::atomic::{AtomicBool, AtomicU32, Ordering},
};

use rayon::prelude::*;

use crate::{
    drop::{GroundLaw, Setup, Track},
    felling::tree_states,
    forecast::{
        clods, count, hangs, harm, interval, lines, logs, loose, order,
        result::{
            CutForecast, Forecast, GroundRow, GroundTarget, Interval, Job as JobResult, JobTarget,
            PieceSummary,
        },
    },
    job::{CutReady, Job, JobError, Outer, World},
    keyed::Key,
    outcome::{Outcome, Reach},
    site::BodyKind,
};

/// Version of the forecast's layout.
pub const VERSION: u32 = 1;

/// What to forecast.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Cuts by index in the scene; all when empty.
    pub cuts: Vec<usize>,
    /// Drops per cut on the ground as told.
    pub drops: u32,
    /// Grounds drawn.
    pub grounds: u32,
    /// Drops per cut on each of them.
    pub drops_per_ground: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// What the ground is.
    pub law: GroundLaw,
}

impl Default for Ask {
    fn default() -> Self {
        Self {
            cuts: Vec::new(),
            drops: 500,
            grounds: 24,
            drops_per_ground: 60,
            seed: 1,
            law: GroundLaw::Soil,
        }
    }
}

/// How far a forecast has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Drops done.
    pub done: u32,
    /// Drops in all.
    pub total: u32,
    /// Drops done that reached any target.
    pub reached: u32,
}

/// What became of one release.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// It left and was followed.
    Left(Box<Outcome>),
    /// It sat back; the moment that was missing, N m.
    SatBack {
        /// Missing moment, N m.
        missing_moment_n_m: f64,
    },
}

impl Fate {
    pub(super) fn of(what: Result<Outcome, f64>) -> Self {
        match what {
            Ok(outcome) => Self::Left(Box::new(outcome)),
            Err(missing_moment_n_m) => Self::SatBack { missing_moment_n_m },
        }
    }

    /// The outcome, if the piece left.
    #[must_use]
    pub fn outcome(&self) -> Option<&Outcome> {
        match self {
            Self::Left(outcome) => Some(outcome),
            Self::SatBack { .. } => None,
        }
    }

    /// Whether the piece, or anything that it set going, touched a target.
    fn reached(&self) -> bool {
        let touched = |r: &Reach| matches!(r, Reach::Reached { .. });
        let loose = self.outcome().map_or(&[][..], |o| &o.loose);
        self.reaches().iter().any(touched) || loose.iter().any(|l| !l.reached.is_empty())
    }

    /// What it did to each target; nothing if it sat back.
    fn reaches(&self) -> &[Reach] {
        self.outcome().map_or(&[], |o| &o.reaches)
    }
}

/// A forecast with the drops it was counted from.
#[derive(Clone, Debug)]
pub struct Run {
    /// The counts.
    pub forecast: Forecast,
    /// Per cut asked for, its index in the scene and the fates on the ground as told, by drop;
    /// shorter than asked when the run was stopped.
    pub told: Vec<(usize, Vec<Fate>)>,
    /// Per cut asked for, over the ground as told and all drawn ones.
    pub any: Vec<AnyReach>,
    /// Per cut asked for, each drawn ground alone.
    pub by_ground: Vec<Vec<AnyReach>>,
}

/// Drops that touched any target at all, among all drops of a cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AnyReach {
    /// Drops in which the piece, or anything that it set going, touched a target.
    pub reached: u32,
    /// Of the others, those lost before it could be told of every target.
    pub unknown: u32,
    /// All drops, those that sat back included.
    pub drops: u32,
}

impl AnyReach {
    /// Of these drops.
    #[must_use]
    pub fn of(fates: &[Fate]) -> Self {
        let mut any = Self::default();
        any.add(fates);
        any
    }

    fn add(&mut self, fates: &[Fate]) {
        for fate in fates {
            let hit = fate.reached();
            let lost = fate.reaches().iter().any(|r| matches!(r, Reach::Unknown));
            self.reached += u32::from(hit);
            self.unknown += u32::from(lost && !hit);
            self.drops += 1;
        }
    }
}

/// Runs a forecast. `stop` ends it early with what is done; `progress` is told now and then, from
/// any thread.
///
/// # Errors
///
/// When a drawn ground cannot be built or a cut is not in the scene.
pub fn run(
    job: &Job,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Run, JobError> {
    let cuts = cuts_of(job, ask);
    let needed = order::needed(&job.scene, &cuts);
    let watch = Watch::new(ask, needed.len(), stop, progress);
    let world = job.world(Outer::Told)?;
    let told = order::fates(&world, ask, &needed, told_key(ask.seed), ask.drops, &watch)?;
    let (ready, told): (Vec<CutReady>, Vec<Vec<Fate>>) =
        asked(&cuts, &needed, told).into_iter().unzip();
    let grounds = (0..ask.grounds)
        .into_par_iter()
        .with_max_len(1)
        .map(|index| ground(job, ask, [&cuts, &needed], index, &watch))
        .collect::<Result<Vec<_>, _>>()?;
    let stopped = watch.stopped();
    let ready: Vec<&CutReady> = ready.iter().collect();
    Ok(counted(job, ask, &cuts, &world, &ready, told, &grounds, stopped))
}

/// Counts drops: per cut of `cuts` those on the ground as told, and those of every drawn ground.
#[expect(clippy::too_many_arguments, reason = "what a run is made of, once")]
pub(super) fn counted(
    job: &Job,
    ask: &Ask,
    cuts: &[usize],
    world: &World,
    ready: &[&CutReady],
    told: Vec<Vec<Fate>>,
    grounds: &[Ground],
    stopped: bool,
) -> Run {
    let all = (0..job.scene.cuts.len()).all(|cut| cuts.contains(&cut));
    let states = if all { tree_states(world).unwrap_or_default() } else { Vec::new() };
    let mut forecast = summarise(job, ask, world, ready, &told, grounds, stopped);
    forecast.job.states = states;
    let any = (0..cuts.len())
        .map(|k| {
            let mut any = AnyReach::of(told.get(k).map_or(&[][..], Vec::as_slice));
            for ground in grounds {
                any.add(ground.fates.get(k).map_or(&[][..], Vec::as_slice));
            }
            any
        })
        .collect();
    let on = |k: usize, ground: &Ground| {
        AnyReach::of(ground.fates.get(k).map_or(&[][..], Vec::as_slice))
    };
    let by_ground =
        (0..cuts.len()).map(|k| grounds.iter().map(|ground| on(k, ground)).collect()).collect();
    Run { forecast, told: cuts.iter().copied().zip(told).collect(), any, by_ground }
}

/// Makes one drop of a forecast again, alone, and those before it that it hangs on: the cut as it
/// stood, earlier pieces about it where they lay in this drop, the whole track with a sample
/// every `sample_s`, and what it amounts to; or the missing moment if it sat back.
///
/// # Errors
///
/// As [`run`].
pub fn replay(
    job: &Job,
    ask: &Ask,
    outer: Outer,
    cut: usize,
    index: u32,
    sample_s: f64,
) -> Result<Replay, JobError> {
    let world = job.world(outer)?;
    let key = match outer {
        Outer::Told => told_key(ask.seed),
        Outer::Drawn { index, .. } => ground_key(ask.seed, index),
    };
    let mut lain = Vec::new();
    for &before in order::needed(&job.scene, &[cut]).iter().filter(|before| **before != cut) {
        let ready = world.cut(before)?;
        let setup = setup(&ready, ask.law);
        let what = order::one_drop(&ready, &setup, key, index, f64::INFINITY, &lain);
        let left = order::is_left(&job.scene, before);
        lain = order::left_for_next(&ready, left, order::afterwards(lain, &what));
    }
    let ready = world.cut(cut)?;
    let what = order::one_drop(&ready, &setup(&ready, ask.law), key, index, sample_s, &lain);
    Ok(Replay { ready: order::among(&ready, &lain), what })
}

/// One drop made again.
#[derive(Debug)]
pub struct Replay {
    /// The cut as it stood.
    pub ready: CutReady,
    /// The track and outcome, or the missing moment (N m) if it sat back.
    pub what: Result<(Track, Outcome), f64>,
}

/// Cuts asked for, by index.
pub(super) fn cuts_of(job: &Job, ask: &Ask) -> Vec<usize> {
    if ask.cuts.is_empty() { (0..job.scene.cuts.len()).collect() } else { ask.cuts.clone() }
}

/// Key of all inner draws on the ground as told.
pub(super) fn told_key(seed: u64) -> Key {
    Key::root(seed).word("inner")
}

/// Key of all inner draws on a drawn ground.
pub(super) fn ground_key(seed: u64, index: u64) -> Key {
    Key::root(seed).word("ground").number(index)
}

/// What drops of a cut are run with.
pub(super) fn setup(cut: &CutReady, law: GroundLaw) -> Setup<'_> {
    let beam = cut.log.as_ref().map(|log| log.beam.clone());
    let tethers = cut.tied.iter().map(|line| line.tether.clone()).collect();
    Setup { beam, tethers, ..Setup::new(&cut.site, law) }
}

/// Counts what is done and says whether to go on.
pub(super) struct Watch<'a> {
    stop: &'a AtomicBool,
    progress: &'a (dyn Fn(Progress) + Sync),
    done: AtomicU32,
    reached: AtomicU32,
    total: u32,
}

impl<'a> Watch<'a> {
    /// Of a forecast of this many cuts.
    pub(super) fn new(
        ask: &Ask,
        cuts: usize,
        stop: &'a AtomicBool,
        progress: &'a (dyn Fn(Progress) + Sync),
    ) -> Self {
        let total = cuts as u32 * (ask.drops + ask.grounds * ask.drops_per_ground);
        Self { stop, progress, done: 0.into(), reached: 0.into(), total }
    }

    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// One more is done.
    pub(super) fn note(&self, fate: &Fate) {
        self.note_all(std::slice::from_ref(fate));
    }

    /// So many more are done at once.
    pub(super) fn note_all<'f>(&self, fates: impl IntoIterator<Item = &'f Fate>) {
        let (mut more, mut hits) = (0, 0);
        for fate in fates {
            more += 1;
            hits += u32::from(fate.reached());
        }
        let reached = self.reached.fetch_add(hits, Ordering::Relaxed) + hits;
        let done = self.done.fetch_add(more, Ordering::Relaxed) + more;
        (self.progress)(Progress { done, total: self.total, reached });
    }
}

/// One drawn ground: what was drawn and the fates of every cut on it.
pub(super) struct Ground {
    pub(super) index: u32,
    pub(super) inputs: BTreeMap<String, f64>,
    pub(super) words: BTreeMap<String, String>,
    pub(super) warnings: Vec<Vec<String>>,
    pub(super) fates: Vec<Vec<Fate>>,
}

fn ground(
    job: &Job,
    ask: &Ask,
    [cuts, needed]: [&[usize]; 2],
    index: u32,
    watch: &Watch<'_>,
) -> Result<Ground, JobError> {
    let outer = Outer::Drawn { seed: ask.seed, index: u64::from(index) };
    let world = job.world(outer)?;
    let key = ground_key(ask.seed, u64::from(index));
    let done = order::fates(&world, ask, needed, key, ask.drops_per_ground, watch)?;
    let (ready, fates): (Vec<CutReady>, Vec<Vec<Fate>>) =
        asked(cuts, needed, done).into_iter().unzip();
    let warnings = ready.into_iter().map(|cut| cut.warnings).collect();
    Ok(Ground { index, inputs: world.inputs, words: world.words, warnings, fates })
}

/// Of what was done for all cuts that were `needed`, that of the cuts asked for.
pub(super) fn asked<T>(cuts: &[usize], needed: &[usize], done: Vec<T>) -> Vec<T> {
    let mut done: Vec<Option<T>> = done.into_iter().map(Some).collect();
    let place = |cut: &usize| needed.iter().position(|one| one == cut);
    cuts.iter().filter_map(|cut| done.get_mut(place(cut)?)?.take()).collect()
}

fn outcomes(fates: &[Fate]) -> Vec<&Outcome> {
    fates.iter().filter_map(Fate::outcome).collect()
}

fn target_ids(cut: &CutReady) -> Vec<(String, BodyKind)> {
    let targets = cut.site.bodies.iter().filter(|b| b.is_target);
    targets.map(|b| (b.id.clone(), b.kind)).collect()
}

fn summarise(
    job: &Job,
    ask: &Ask,
    world: &World,
    ready: &[&CutReady],
    told: &[Vec<Fate>],
    grounds: &[Ground],
    stopped: bool,
) -> Forecast {
    let windowed = job.scene.windowed();
    let cuts: Vec<CutForecast> = ready
        .iter()
        .zip(told)
        .enumerate()
        .map(|(k, (cut, fates))| {
            let rows: Vec<(&Ground, &Vec<String>, &Vec<Fate>)> = grounds
                .iter()
                .filter_map(|g| Some((g, g.warnings.get(k)?, g.fates.get(k)?)))
                .collect();
            cut_forecast(cut, fates, &rows, &windowed)
        })
        .collect();
    Forecast {
        version: VERSION,
        scene: job.scene.name.clone(),
        scene_hash: job.scene.hash.clone(),
        law: ask.law.name(),
        seed: ask.seed,
        drops: ask.drops,
        confidence: interval::CONFIDENCE,
        job: JobResult { targets: job_targets(world, ready, told, grounds), states: Vec::new() },
        cuts,
        partial: stopped,
    }
}

fn cut_forecast(
    cut: &CutReady,
    fates: &[Fate],
    rows: &[(&Ground, &Vec<String>, &Vec<Fate>)],
    windowed: &[&str],
) -> CutForecast {
    let left = outcomes(fates);
    let drops = fates.len() as u32;
    let ids = target_ids(cut);
    let grounds: Vec<GroundRow> = rows
        .iter()
        .map(|(ground, warnings, fates)| GroundRow {
            id: ground.index,
            inputs: ground.inputs.clone(),
            words: ground.words.clone(),
            warnings: (*warnings).clone(),
            drops: fates.len() as u32,
            sat_back: (fates.len() - outcomes(fates).len()) as u32,
            modes: count::modes(outcomes(fates).into_iter()),
            hold: count::hold(&outcomes(fates)),
            farthest_m: count::farthest_m(&outcomes(fates)),
            targets: ids
                .iter()
                .enumerate()
                .map(|(k, (id, _))| {
                    let hit = count::reached(fates.iter().filter_map(Fate::outcome), k);
                    GroundTarget { id: id.clone(), reached: hit.0, unknown: hit.1 }
                })
                .collect(),
        })
        .collect();
    let (rollout_m, rollout_at_least_m) = count::rollout(&left);
    let piece = &cut.section.piece;
    let end = |k: usize, from: bool| {
        let round = piece.rounds.get(k);
        2.0 * round.map_or(0.0, |r| if from { r.from_radius_m } else { r.to_radius_m })
    };
    CutForecast {
        id: cut.id.clone(),
        piece: PieceSummary {
            length_m: piece.length_m(),
            mass_kg: piece.mass_kg,
            butt_diameter_m: end(0, true),
            top_diameter_m: end(piece.stem_rounds.saturating_sub(1), false),
            from_height_m: cut.from_height_m,
        },
        sat_back: drops - left.len() as u32,
        lets_go_early: (cut.decay_share > 0.0).then_some(cut.decay_share),
        modes: count::modes(left.iter().copied()),
        parts: count::parts(&left),
        unfinished: count::unfinished(&left),
        rests_on: count::rests_on(&left),
        rollout_m,
        rollout_at_least_m,
        turns: count::percentiles(left.iter().map(|o| o.turns).collect()),
        height_over_ground_m: count::percentiles(
            left.iter().map(|o| o.height_over_ground_m).collect(),
        ),
        hold: count::hold(&left),
        targets: ids
            .iter()
            .enumerate()
            .map(|(k, (id, kind))| {
                let over = over_grounds(&grounds, k);
                let mut target = count::target(id, kind.is_person(), &left, k, drops, over);
                let body = cut.site.bodies.iter().filter(|b| b.is_target).nth(k);
                let most_j = target.energy_j.and_then(|e| e.max);
                target.harm = body.zip(most_j).and_then(|(b, most_j)| harm::to_tree(b, most_j));
                target
            })
            .collect(),
        hangs_on: hangs::on(&grounds, &cut.id),
        thrown: clods::of(
            cut,
            windowed,
            fates.iter().chain(rows.iter().flat_map(|(_, _, fates)| fates.iter())),
        ),
        log: cut.log.as_ref().map(|log| logs::of(log, cut, &left)),
        lines: lines::of(cut, &left, &rows.iter().map(|row| outcomes(row.2)).collect::<Vec<_>>()),
        loose: loose::of(
            cut,
            fates,
            &rows.iter().map(|(_, _, fates)| fates.as_slice()).collect::<Vec<_>>(),
        ),
        grounds,
    }
}

/// Least and greatest share of reach of target `k` among the grounds.
fn over_grounds(grounds: &[GroundRow], k: usize) -> Interval {
    Interval::of(
        grounds
            .iter()
            .filter(|g| g.drops > 0)
            .filter_map(|g| Some(f64::from(g.targets.get(k)?.reached) / f64::from(g.drops))),
    )
}

/// The whole job: drop i of every cut together is one job on one shared ground.
fn job_targets(
    world: &World,
    ready: &[&CutReady],
    told: &[Vec<Fate>],
    grounds: &[Ground],
) -> Vec<JobTarget> {
    let places: Vec<Vec<String>> =
        ready.iter().map(|cut| target_ids(cut).into_iter().map(|(id, _)| id).collect()).collect();
    let mut ids: Vec<String> = world.targets.iter().map(|t| t.id.clone()).collect();
    for id in places.iter().flatten() {
        if !ids.contains(id) {
            ids.push(id.clone());
        }
    }
    ids.retain(|id| places.iter().any(|p| p.contains(id)));
    let jobs = |fates: &[Vec<Fate>], id: &str| -> (u32, u32, u32) {
        let n = fates.iter().map(Vec::len).min().unwrap_or(0);
        let (mut reached, mut open) = (0, 0);
        for i in 0..n {
            let (mut hit, mut lost) = (false, false);
            for ((cut, places), ready) in fates.iter().zip(&places).zip(ready) {
                let Some(k) = places.iter().position(|p| p == id) else { continue };
                let Some(outcome) = cut.get(i).and_then(Fate::outcome) else { continue };
                let (r, u) = count::reached(std::iter::once(outcome), k);
                let body = ready.site.bodies.iter().find(|body| body.is_target && body.id == id);
                let [by_loose, loose_lost] =
                    body.map_or([false; 2], |body| loose::reached(outcome, body));
                hit |= r > 0 || by_loose;
                lost |= u > 0 || loose_lost;
            }
            reached += u32::from(hit);
            open += u32::from(lost && !hit);
        }
        (reached, open, n as u32)
    };
    ids.into_iter()
        .map(|id| {
            let (reached, open, n) = jobs(told, &id);
            let drawn: Vec<_> = grounds.iter().map(|g| jobs(&g.fates, &id)).collect();
            let shares = drawn.iter().filter(|j| j.2 > 0);
            JobTarget {
                share: f64::from(reached) / f64::from(n.max(1)),
                low: interval::low(reached, n),
                high: interval::high(reached + open, n),
                over_grounds: Interval::of(shares.map(|j| f64::from(j.0) / f64::from(j.2))),
                reached,
                unknown: open,
                jobs: n,
                drawn_reached: drawn.iter().map(|j| j.0).sum(),
                drawn_jobs: drawn.iter().map(|j| j.2).sum(),
                id,
            }
        })
        .collect()
}
