//! Which way a piece can reach: its face turned to every azimuth, with and without its top.
//!
//! Two answers beside each other. *Laid down*: where it comes to lie if it follows its hinge to the
//! ground ([`crate::felling::laid`]), with every number as told. *Dropped*: the same cut, its face
//! turned so, dropped on as many grounds that fit the notes as there are drops, each with its own
//! scatter; so what closes, breaks, slides and rolls is in it. Where its weight would keep it back it
//! is pulled level, two thirds up, as hard as turns it ([`MORE_PULL`] over what is missing with the
//! hinge at its strongest, in the gust): the map says where it can be brought, not that it can.
//!
//! A [`Sector`] is a run of azimuths on which, laid down, some point of it comes to a target on the
//! way or where it lands, without scatter. What is under a roof's highest point counts as roof.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use glam::DVec3;
use rayon::prelude::*;
use serde::Serialize;

use crate::{
    drop::{Ending, GroundLaw},
    felling::{
        ATTACH_SHARE,
        laid::{self, Swing},
    },
    forecast::{
        Progress, order,
        run::{setup, told_key},
    },
    job::{CutReady, Job, JobError, Outer, PULLED_FOR, World},
    outcome::Reach,
    release::{HingeSpec, Method, Push, describe},
    scene::{
        doubt::Doubtful,
        model::{PieceSpec, ReleaseSpec, Scene},
        outline::{distance, hull},
    },
    site::{BodyKind, Shape, distance_in_plan_m},
};

/// Layout of the answer.
pub const VERSION: u32 = 1;
/// Azimuths at which it is dropped, evenly round.
pub const AZIMUTHS: u32 = 24;
/// Azimuths at which it is laid down, evenly round.
pub const FINE: u32 = 360;
/// Bearings in which it is noted how far parts of it got, evenly round.
pub const BEARINGS: u32 = 72;
/// What is noted for a bearing is the farthest of its own and of so many to either side: few drops
/// on few azimuths leave gaps that mean nothing.
const NEAR: usize = 2;
/// Drops on each azimuth, each on a ground of its own.
pub const DROPS: u32 = 10;
/// A pull is so much more than what is missing (ours).
const MORE_PULL: f64 = 1.25;
/// Least time between looks at how far a drop got, s.
const LOOK_S: f64 = 0.1;
/// Azimuths on which a target is met are one run across gaps of up to so many of [`FINE`].
const GAP: usize = 4;
/// What is further off than a piece comes, by this much for its radius, is not looked at, m.
const CLEAR_M: f64 = 3.0;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MapAsk {
    /// Index of the cut.
    pub cut: usize,
    /// Drops on each azimuth.
    pub drops: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// What the ground is.
    pub law: GroundLaw,
}

/// Why there is no map.
#[derive(Debug, thiserror::Error)]
pub enum MapError {
    /// Something in the scene.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The cut turns on no hinge.
    #[error(
        "the cut {0} turns on no hinge with a face that could look another way; allowed for a map of \
         what it can reach: Hinge or BoredHinge"
    )]
    NoHinge(String),
}

/// Where a piece can reach.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReachMap {
    /// [`VERSION`].
    pub version: u32,
    /// The scene's name.
    pub scene: String,
    /// SHA-256 of the scene as read, hex.
    pub scene_hash: String,
    /// Name of the law of the ground.
    pub law: String,
    /// Seed of the draws.
    pub seed: u64,
    /// The cut's id.
    pub cut: String,
    /// Drops on each azimuth.
    pub drops: u32,
    /// The piece as it is cut, and before any cut where that is another.
    pub pieces: Vec<Reaching>,
    /// The run was stopped before all was done.
    pub partial: bool,
}

/// One piece of a map.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reaching {
    /// All that stands above the hinge before any cut, with its top and limbs.
    pub uncut: bool,
    /// Its mass, kg.
    pub mass_kg: f64,
    /// Its length, m.
    pub length_m: f64,
    /// Laid down: [`FINE`] azimuths from the scene's north on.
    pub laid: Vec<Option<LaidDown>>,
    /// Runs of azimuths on which it comes onto a target.
    pub sectors: Vec<Sector>,
    /// Dropped: [`AZIMUTHS`] from the scene's north on; fewer where the run was stopped.
    pub dropped: Vec<Dropped>,
    /// The farthest from the stump that any part of it got in any of the drops within [`NEAR`]
    /// bearings, by bearing from the map's north on in [`BEARINGS`] steps, m.
    pub farthest_m: Vec<f64>,
}

/// A piece laid down on one azimuth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LaidDown {
    /// Level distance of its top from the stump when its stem first meets the ground, m.
    pub top_m: f64,
    /// The farthest from the stump that any point of it comes to, m.
    pub farthest_m: f64,
    /// Where that is on the map, m.
    pub at_m: [f64; 2],
}

/// A run of azimuths on which a target is met.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sector {
    /// The target's id.
    pub target: String,
    /// The first azimuth from the scene's north, rad.
    pub from_rad: f64,
    /// The last, rad; under `from_rad` where it goes over north.
    pub to_rad: f64,
}

/// All drops on one azimuth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dropped {
    /// The face's azimuth from the scene's north, rad.
    pub azimuth_rad: f64,
    /// Drops.
    pub drops: u32,
    /// Of them, those that sat back all the same.
    pub sat_back: u32,
    /// The farthest from the stump that any part of any of them got, m.
    pub farthest_m: f64,
    /// Some did not come to rest: they got at least so far.
    pub at_least: bool,
    /// Targets reached, and in how many drops.
    pub reached: Vec<(String, u32)>,
}

/// Maps what the piece of a cut can reach.
///
/// # Errors
///
/// A cut without a hinge; a draw that can't be built.
pub fn reach_map(
    job: &Job,
    ask: &MapAsk,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<ReachMap, MapError> {
    let no_hinge = || {
        let cut = job.scene.cuts.get(ask.cut);
        MapError::NoHinge(cut.map_or_else(String::new, |c| c.id.clone()))
    };
    let cut = job.scene.cuts.get(ask.cut).ok_or_else(no_hinge)?;
    if !matches!(cut.release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. }) {
        return Err(no_hinge());
    }
    let as_cut = job.with_scene(unpulled(&job.scene));
    let mut jobs = vec![(as_cut, ask.cut, false)];
    jobs.extend(whole(&job.scene, ask.cut).map(|scene| (job.with_scene(scene), 0, true)));
    let done = Done {
        stop,
        progress,
        done: AtomicU32::new(0),
        reached: AtomicU32::new(0),
        total: jobs.len() as u32 * ask.drops * AZIMUTHS,
    };
    let mut pieces = Vec::new();
    for (job, index, uncut) in &jobs {
        pieces.push(reaching(job, *index, *uncut, ask, &done)?);
    }
    Ok(ReachMap {
        version: VERSION,
        scene: job.scene.name.clone(),
        scene_hash: job.scene.hash.clone(),
        law: ask.law.name(),
        seed: ask.seed,
        cut: cut.id.clone(),
        drops: ask.drops,
        pieces,
        partial: stop.load(Ordering::Relaxed),
    })
}

/// The scene without its lines: a map's pull is its own.
fn unpulled(scene: &Scene) -> Scene {
    let mut scene = scene.clone();
    scene.lines.clear();
    scene
}

/// The scene with one cut, which takes all that stands above its hinge before any cut; `None` where
/// that is what the cut takes as it is.
fn whole(scene: &Scene, cut: usize) -> Option<Scene> {
    let mut scene = unpulled(scene);
    let from_m = scene.cuts.get(cut)?.piece.stem_cut_m()?;
    let before = scene.cuts.get(..cut)?;
    if before.is_empty() && matches!(scene.cuts.get(cut)?.piece, PieceSpec::Top { .. }) {
        return None;
    }
    let mut only = scene.cuts.get(cut)?.clone();
    only.piece = PieceSpec::Top { from_m };
    only.stubs.clear();
    only.log = None;
    scene.cuts = vec![only];
    Some(scene)
}

/// A count of drops that says whether to go on.
struct Done<'a> {
    stop: &'a AtomicBool,
    progress: &'a (dyn Fn(Progress) + Sync),
    done: AtomicU32,
    reached: AtomicU32,
    total: u32,
}

impl Done<'_> {
    fn note(&self, reached: bool) {
        let reached =
            self.reached.fetch_add(u32::from(reached), Ordering::Relaxed) + u32::from(reached);
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.progress)(Progress { done, total: self.total, reached });
    }
}

fn reaching(
    job: &Job,
    index: usize,
    uncut: bool,
    ask: &MapAsk,
    done: &Done<'_>,
) -> Result<Reaching, JobError> {
    let told = job.world(Outer::Told)?;
    let round = |i: u32, of: u32| std::f64::consts::TAU * f64::from(i) / f64::from(of);
    let first = facing(&told, index, 0.0)?;
    let piece = &first.section.piece;
    let (mass_kg, length_m) = (piece.mass_kg, piece.length_m());
    // Nothing but the face turns, so one cut as told stands for all of them.
    let turn_rad = job.frame().turn_rad;
    let stump = told.site.stump_m.truncate();
    let swings: Vec<Option<Swing>> = (0..FINE)
        .into_par_iter()
        .map(|i| {
            let how = faced(&first.method, round(i, FINE) + turn_rad)?;
            Some(Swing::new(&first.stand(), &how, &told.site.terrain))
        })
        .collect();
    let laid: Vec<Option<LaidDown>> = swings
        .iter()
        .map(|swing| {
            let laid = swing.as_ref()?.laid(told.site.stump_m)?;
            Some(LaidDown {
                top_m: laid.top_m.truncate().distance(stump),
                farthest_m: laid.farthest_m.truncate().distance(stump),
                at_m: laid.farthest_m.truncate().to_array(),
            })
        })
        .collect();
    let sectors = sectors(&told, &swings, &laid);
    let worlds = (0..ask.drops)
        .into_par_iter()
        .map(|i| job.world(Outer::Drawn { seed: ask.seed, index: u64::from(i) }))
        .collect::<Result<Vec<World>, _>>()?;
    let mut dropped = Vec::new();
    let mut own_m = vec![0.0; BEARINGS as usize];
    for k in 0..AZIMUTHS {
        let azimuth_rad = round(k, AZIMUTHS);
        let found = worlds
            .par_iter()
            .enumerate()
            .with_max_len(1)
            .map(|(i, world)| {
                if done.stop.load(Ordering::Relaxed) {
                    return Ok(None);
                }
                let ready = facing(world, index, azimuth_rad)?;
                let one = one(&ready, ask, k, i as u32);
                done.note(!one.reached.is_empty());
                Ok(Some(one))
            })
            .collect::<Result<Vec<_>, JobError>>()?;
        let found: Vec<One> = found.into_iter().flatten().collect();
        if found.len() < worlds.len() {
            break;
        }
        dropped.push(counted(azimuth_rad, &found));
        for one in &found {
            for (most, far_m) in own_m.iter_mut().zip(&one.farthest_m) {
                *most = far_m.max(*most);
            }
        }
    }
    let n = own_m.len();
    let around = |i: usize| (n + i - NEAR..=n + i + NEAR).filter_map(|j| own_m.get(j % n));
    let farthest_m = (0..n).map(|i| around(i).copied().fold(0.0, f64::max)).collect();
    Ok(Reaching { uncut, mass_kg, length_m, laid, sectors, dropped, farthest_m })
}

/// A cut of a world with its face turned to an azimuth from the scene's north (rad), and whatever
/// goes by that: who stands where.
fn facing(world: &World, index: usize, azimuth_rad: f64) -> Result<CutReady, JobError> {
    let mut turned = world.clone();
    if let Some(cut) = turned.scene.cuts.get_mut(index) {
        cut.release.set_toward_rad(Doubtful::exact(azimuth_rad));
    }
    let mut ready = turned.cut_without_lines(index)?;
    ready.method = pulled(&ready);
    Ok(ready)
}

/// A hinge whose face looks to another azimuth of the map, rad.
fn faced(how: &Method, azimuth_rad: f64) -> Option<Method> {
    let turned = |spec: &HingeSpec| HingeSpec { face_azimuth_rad: azimuth_rad, ..*spec };
    match how {
        Method::Hinge(spec) => Some(Method::Hinge(turned(spec))),
        Method::BoredHinge(spec) => Some(Method::BoredHinge(turned(spec))),
        _ => None,
    }
}

/// The release with a level pull that turns it.
fn pulled(ready: &CutReady) -> Method {
    let height_m = ATTACH_SHARE * ready.section.piece.length_m();
    let with = |force_n: f64| {
        let push = Push { force_n, height_m, travel_m: PULLED_FOR * height_m };
        match ready.method {
            Method::Hinge(spec) => Method::Hinge(HingeSpec { push, ..spec }),
            Method::BoredHinge(spec) => Method::BoredHinge(HingeSpec { push, ..spec }),
            other => other,
        }
    };
    let start = describe(&ready.stand_in_gust(), &with(1.0));
    let missing_n_m = start.hinge_moment_high_n_m - start.weight_moment_n_m - start.wind_moment_n_m;
    let force_n = MORE_PULL * missing_n_m.max(0.0) / start.push_moment_n_m.max(1e-9);
    with(force_n)
}

/// What one drop came to.
struct One {
    sat_back: bool,
    at_rest: bool,
    /// By bearing.
    farthest_m: Vec<f64>,
    reached: Vec<String>,
}

fn one(ready: &CutReady, ask: &MapAsk, azimuth: u32, index: u32) -> One {
    let stump = ready.site.stump_m.truncate();
    let key = told_key(ask.seed).word("round").number(u64::from(azimuth));
    let what = order::one_drop(ready, &setup(ready, ask.law), key, index, LOOK_S, &[]);
    let Ok((track, outcome)) = what else {
        return One { sat_back: true, at_rest: true, farthest_m: Vec::new(), reached: Vec::new() };
    };
    let tips: Vec<DVec3> = laid::points(&ready.section.piece).map(|(p, ..)| p).collect();
    let mut farthest_m = vec![0.0_f64; BEARINGS as usize];
    for sample in &track.samples {
        for tip in &tips {
            let out = sample.motion.point_m(*tip).truncate() - stump;
            let bearing = libm::atan2(out.x, out.y).rem_euclid(std::f64::consts::TAU);
            let bin = (bearing / std::f64::consts::TAU * f64::from(BEARINGS)) as usize;
            if let Some(most) = farthest_m.get_mut(bin) {
                *most = most.max(out.length());
            }
        }
    }
    let targets = ready.site.bodies.iter().filter(|body| body.is_target);
    let reached = targets
        .zip(&outcome.reaches)
        .filter(|(_, reach)| matches!(reach, Reach::Reached { .. }))
        .map(|(body, _)| body.id.clone())
        .collect();
    let at_rest = outcome.ending == Ending::Rest;
    One { sat_back: false, at_rest, farthest_m, reached }
}

fn counted(azimuth_rad: f64, found: &[One]) -> Dropped {
    let farthest_m = found.iter().flat_map(|one| &one.farthest_m).copied().fold(0.0, f64::max);
    let mut reached: Vec<(String, u32)> = Vec::new();
    for id in found.iter().flat_map(|one| &one.reached) {
        match reached.iter_mut().find(|(other, _)| other == id) {
            Some((_, count)) => *count += 1,
            None => reached.push((id.clone(), 1)),
        }
    }
    reached.sort();
    Dropped {
        azimuth_rad,
        drops: found.len() as u32,
        sat_back: found.iter().filter(|one| one.sat_back).count() as u32,
        farthest_m,
        at_least: found.iter().any(|one| !one.at_rest),
        reached,
    }
}

/// Runs of azimuths on which a piece that is laid down comes to each target of the site.
fn sectors(world: &World, swings: &[Option<Swing>], laid: &[Option<LaidDown>]) -> Vec<Sector> {
    let stump = world.site.stump_m.truncate();
    let mut sectors = Vec::new();
    // Who goes with the cut stands elsewhere by then.
    let stays = |kind: BodyKind| {
        !matches!(kind, BodyKind::Climber | BodyKind::ClimberLine | BodyKind::Feller)
    };
    for body in world.site.bodies.iter().filter(|b| b.is_target && stays(b.kind)) {
        let away_m = distance_in_plan_m(body, stump);
        let meets: Vec<bool> = swings
            .par_iter()
            .zip(laid)
            .map(|(swing, laid)| {
                let far_m = laid.map_or(0.0, |laid| laid.farthest_m);
                swing.as_ref().filter(|_| away_m <= far_m + CLEAR_M).is_some_and(|swing| {
                    swing.comes(|at_m, radius_m| {
                        body.shapes.iter().any(|shape| touches(shape, at_m, radius_m))
                    })
                })
            })
            .collect();
        let n = meets.len();
        let near = |i: usize, way: usize| {
            (1..=GAP).any(|k| meets.get((i + way * k) % n.max(1)).copied().unwrap_or(false))
        };
        // A few degrees between two limbs of a crown are no way through.
        let meets: Vec<bool> = (0..n)
            .map(|i| meets.get(i).copied().unwrap_or(false) || near(i, 1) && near(i, n - 1))
            .collect();
        sectors.extend(runs(&meets).into_iter().map(|[from, to]| {
            let at = |i: usize| std::f64::consts::TAU * i as f64 / n as f64;
            Sector { target: body.id.clone(), from_rad: at(from), to_rad: at(to) }
        }));
    }
    sectors
}

/// Whether a ball touches a solid; of a hull all that is under its highest point counts.
fn touches(shape: &Shape, at_m: DVec3, radius_m: f64) -> bool {
    match shape {
        Shape::Cuboid { centre_m, attitude, half_m } => {
            let from = attitude.inverse() * (at_m - *centre_m);
            from.distance(from.clamp(-*half_m, *half_m)) <= radius_m
        }
        Shape::Capsule { from_m, to_m, radius_m: own_m } => {
            let along = *to_m - *from_m;
            let share = (at_m - *from_m).dot(along) / along.length_squared().max(1e-12);
            let nearest = *from_m + along * share.clamp(0.0, 1.0);
            nearest.distance(at_m) <= radius_m + own_m
        }
        Shape::Hull { points_m } => {
            let top_m = points_m.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
            if at_m.z > top_m + radius_m {
                return false;
            }
            // A hull's corners are few.
            let plan = hull(points_m.iter().map(|p| p.truncate()).collect());
            distance(at_m.truncate(), &plan) <= radius_m
        }
    }
}

/// First and last of each run of what holds, going round.
fn runs(holds: &[bool]) -> Vec<[usize; 2]> {
    let n = holds.len();
    let Some(gap) = holds.iter().position(|h| !h) else {
        return if n == 0 { Vec::new() } else { vec![[0, n - 1]] };
    };
    let mut runs: Vec<[usize; 2]> = Vec::new();
    let mut open = false;
    for step in 1..=n {
        let i = (gap + step) % n;
        match (holds.get(i).copied().unwrap_or(false), open) {
            (true, false) => runs.push([i, i]),
            (true, true) => {
                if let Some(last) = runs.last_mut() {
                    last[1] = i;
                }
            }
            _ => {}
        }
        open = holds.get(i).copied().unwrap_or(false);
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_runs_go_round() {
        assert_eq!(runs(&[true, false, true, true, false, true]), [[2, 3], [5, 0]]);
        assert_eq!(runs(&[false, true, true]), [[1, 2]]);
        assert_eq!(runs(&[true; 4]), [[0, 3]]);
        assert!(runs(&[false; 4]).is_empty() && runs(&[]).is_empty());
    }
}
