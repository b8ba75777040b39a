//! A forecast brought up to date: after a change of the scene only the drops that the change can
//! touch are run again, and a larger forecast goes on from a smaller one.
//!
//! Invariant: what comes back equals a full [`run`](super::run) of the same job and ask, byte for
//! byte, whatever was kept before (`prop_renew`).

use std::sync::atomic::AtomicBool;

use rayon::prelude::*;

use super::{Ask, Progress, Run, replay, run};
use crate::job::{Job, JobError, Outer};

/// Time between two points of a [`Path`], s.
const POINT_S: f64 = 0.1;

/// Where the centre of a piece went on the ground as told, m from Launch to the end, at most
/// every 0.1 s; empty if it sat back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path(pub Vec<[f32; 3]>);

/// Drops done for an earlier ask or an earlier scene.
#[derive(Debug, Default)]
pub struct Kept {}

/// A forecast and how its drops on the ground as told went.
#[derive(Debug)]
pub struct Renewed {
    /// As a full run gives it.
    pub run: Run,
    /// Per cut of `run.told`, per drop, its path.
    pub paths: Vec<Vec<Path>>,
    /// Drops that had to be run; the others were kept.
    pub fresh: u32,
}

/// Brings a forecast up to date with a job and an ask; `kept` is what earlier calls have left and
/// afterwards holds this one's drops, also when `stop` ended it early.
///
/// # Errors
///
/// As [`run`](super::run).
pub fn renew(
    job: &Job,
    ask: &Ask,
    kept: &mut Kept,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Renewed, JobError> {
    let _ = kept;
    let run = run(job, ask, stop, progress)?;
    let path = |cut: usize, drop: usize| -> Result<Path, JobError> {
        let again = replay(job, ask, Outer::Told, cut, drop as u32, POINT_S)?;
        let point = |s: &crate::drop::Sample| s.motion.centre_m.as_vec3().to_array();
        Ok(Path(again.what.map_or_else(|_| vec![], |(t, _)| t.samples.iter().map(point).collect())))
    };
    let paths = run
        .told
        .iter()
        .map(|(cut, fates)| (0..fates.len()).into_par_iter().map(|drop| path(*cut, drop)).collect())
        .collect::<Result<Vec<Vec<Path>>, JobError>>()?;
    let fresh = run.any.iter().map(|any| any.drops).sum();
    Ok(Renewed { run, paths, fresh })
}
