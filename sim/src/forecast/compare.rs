//! Piece lengths and face directions side by side, on the same grounds and the same draws.
//!
//! The stem above the cut is what it is, so a longer piece is cut lower down: its top stays and
//! its butt moves. Every cell of lengths × faces is run on the same seed, so cells are paired drop
//! by drop. A cell where nothing reached was picked by looking, so it is run again on a fresh seed
//! over all grounds, and its bound is corrected for the number of cells looked at (Bonferroni).
//! No cell is named best.

use std::sync::atomic::AtomicBool;

use crate::{
    forecast::{
        AnyReach, Ask, Fate, Progress, interval,
        result::{CutForecast, GroundRow},
        run,
    },
    job::{Job, JobError},
    scene::{
        doubt::Doubtful,
        model::{PieceSpec, Scene},
    },
};

/// What to compare: one cut, at these lengths and faces.
#[derive(Clone, Debug, PartialEq)]
pub struct Lengths {
    /// The cut's index in the scene.
    pub cut: usize,
    /// Lengths, m.
    pub lengths_m: Vec<f64>,
    /// Face azimuths from the scene's north, rad; the scene's own when empty.
    pub faces_rad: Vec<f64>,
}

/// One length and face.
#[derive(Clone, Debug)]
pub struct Cell {
    /// Length of the piece, m.
    pub length_m: f64,
    /// Azimuth of the face from the scene's north, rad.
    pub face_rad: f64,
    /// The forecast of the piece.
    pub forecast: CutForecast,
    /// What became of each drop on the ground as told, of the first run; drop i of one cell has the
    /// inner draws of drop i of any other. Fewer than asked for when the run was stopped.
    pub told: Vec<Fate>,
    /// The forecast on a fresh seed, where a target was reached in none of the first.
    pub fresh: Option<CutForecast>,
    /// Drops that touched anything, over all grounds: of the fresh run where nothing was reached
    /// at first, else of the first.
    pub any: AnyReach,
}

impl Cell {
    /// Whether target `k` was reached by any drop, on any ground, of the first run.
    #[must_use]
    pub fn reaches(&self, k: usize) -> bool {
        any_reach(&self.forecast, k)
    }

    /// Upper bound of the share that reaches target `k` on the ground as told, from the fresh run
    /// alone, corrected for `cells` looked at; `None` where the first run reached.
    #[must_use]
    pub fn corrected_bound(&self, k: usize, cells: usize) -> Option<f64> {
        let fresh = self.fresh.as_ref().filter(|_| !self.reaches(k))?;
        let target = fresh.targets.get(k)?;
        let modes = fresh.modes;
        let drops = fresh.sat_back + modes.stayed + modes.slid + modes.rolled + modes.tumbled;
        let tail = (1.0 - interval::CONFIDENCE) / cells.max(1) as f64;
        Some(interval::tail_high((target.reached + target.unknown).min(drops), drops, tail))
    }
}

fn any_reach(forecast: &CutForecast, k: usize) -> bool {
    let on = |row: &GroundRow| row.targets.get(k).is_some_and(|t| t.reached > 0);
    forecast.targets.get(k).is_some_and(|t| t.reached > 0) || forecast.grounds.iter().any(on)
}

/// All cells, lengths first.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The cut's id.
    pub cut: String,
    /// Target ids in the order of each cell's targets.
    pub targets: Vec<String>,
    /// Cells: all lengths of the first face, then of the next.
    pub cells: Vec<Cell>,
    /// True when the run was stopped before all cells were done.
    pub partial: bool,
}

/// The scene with one cut at another length and face.
#[must_use]
pub fn with_length(scene: &Scene, cut: usize, length_m: f64, face_rad: Option<f64>) -> Scene {
    let mut scene = scene.clone();
    if let Some(cut) = scene.cuts.get_mut(cut) {
        let PieceSpec::Section { from_m, to_m } = &mut cut.piece else { return scene };
        *from_m = Doubtful::exact(to_m.told - length_m);
        // Stubs that another length leaves on the spar, or that its kerf goes through, are no
        // longer on the piece.
        let (low, high) = (from_m.told + STUB_CLEAR_M, to_m.told - STUB_CLEAR_M);
        cut.stubs.retain(|stub| (low..=high).contains(&stub.height_m.told));
        // A short piece is pushed at its top.
        if let Some(push) = cut.release.push_mut()
            && push.height_m.told > length_m
        {
            push.height_m = Doubtful::exact(length_m);
        }
        if let Some(face) = face_rad {
            cut.release.set_toward_rad(Doubtful::exact(face));
        }
    }
    scene
}

/// Least height of a cut above the stump that a comparison may ask for, m.
const LEAST_CUT_M: f64 = 0.1;
/// Most cells of a comparison.
pub const CELLS_MAX: usize = 1_000;
/// Drops on the ground as told for a cell, if nothing else is asked for; a forecast has more.
pub const DROPS: u32 = 120;
/// Drops on each drawn ground for a cell; a forecast has more.
pub const DROPS_PER_GROUND: u32 = 20;

/// What can't be compared: what was read and what is allowed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Misfit {
    /// Lengths times faces make more cells than anyone reads.
    #[error("{0}")]
    Cells(String),
    /// A length that the stem doesn't have or that the cut's release doesn't fit.
    #[error("{0}")]
    Length(String),
    /// A search without room.
    #[error("{0}")]
    Search(String),
    /// An order of cuts that can't be.
    #[error("{0}")]
    Order(String),
}

/// Refuses lengths that the stem doesn't have or that the cut's release doesn't fit, and more
/// cells than anyone reads.
///
/// # Errors
///
/// The first that doesn't fit.
pub fn fits(job: &Job, lengths: &Lengths) -> Result<(), Misfit> {
    let Some(spec) = job.scene.cuts.get(lengths.cut) else { return Ok(()) };
    let units = job.scene.units;
    let faces = lengths.faces_rad.len().max(1);
    if lengths.lengths_m.len() * faces > CELLS_MAX {
        return Err(Misfit::Cells(format!(
            "read {} lengths and {faces} faces; allowed: at most {CELLS_MAX} cells, one times the \
             other",
            lengths.lengths_m.len()
        )));
    }
    let PieceSpec::Section { to_m, .. } = &spec.piece else {
        return Err(Misfit::Length(format!(
            "cut {} takes a limb or a top, which has one length; allowed: a cut of a section",
            spec.id
        )));
    };
    let longest = to_m.told - LEAST_CUT_M;
    for &length_m in &lengths.lengths_m {
        let read = units.length(length_m);
        if length_m > longest {
            return Err(Misfit::Length(format!(
                "read {read}; allowed: up to {}, the stem under the top of cut {}",
                units.length(longest),
                spec.id
            )));
        }
        // What the cuts after this one would find isn't asked.
        let mut scene = with_length(&job.scene, lengths.cut, length_m, None);
        scene.cuts.truncate(lengths.cut + 1);
        if let Some(wrong) = scene.wrongs().first() {
            return Err(Misfit::Length(format!(
                "read {read}; {}: {}; allowed: {}",
                wrong.path, wrong.what, wrong.allowed
            )));
        }
    }
    Ok(())
}

/// Runs a comparison; `ask.cuts` is not used.
///
/// # Errors
///
/// As [`run`](super::run), for the first cell that cannot be built.
pub fn compare(
    job: &Job,
    lengths: &Lengths,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Comparison, JobError> {
    let own = job.scene.cuts.get(lengths.cut).map_or(0.0, |c| c.release.toward_rad().told);
    let faces: Vec<(f64, Option<f64>)> = if lengths.faces_rad.is_empty() {
        vec![(own, None)]
    } else {
        lengths.faces_rad.iter().map(|f| (*f, Some(*f))).collect()
    };
    let ask = Ask { cuts: vec![lengths.cut], ..ask.clone() };
    let fresh_ask = Ask { seed: ask.seed.wrapping_add(FRESH), ..ask.clone() };
    let each = ask.drops + ask.grounds * ask.drops_per_ground;
    let cells_in_all = (faces.len() * lengths.lengths_m.len()) as u32;
    let mut comparison = Comparison {
        cut: job.scene.cuts.get(lengths.cut).map_or_else(String::new, |c| c.id.clone()),
        targets: Vec::new(),
        cells: Vec::new(),
        partial: false,
    };
    let mut before = 0;
    for (face_rad, face) in faces {
        for &length_m in &lengths.lengths_m {
            let job = job.with_scene(with_length(&job.scene, lengths.cut, length_m, face));
            let tell = |done: u32, reached: u32| {
                progress(Progress { done, total: each * cells_in_all, reached });
            };
            let mut first = run(&job, &ask, stop, &|p| tell(before + p.done, p.reached))?;
            before += each;
            let mut any = first.any.first().copied().unwrap_or_default();
            let Some(forecast) = first.forecast.cuts.into_iter().next() else { continue };
            comparison.targets = forecast.targets.iter().map(|t| t.id.clone()).collect();
            let quiet = (0..forecast.targets.len()).any(|k| !any_reach(&forecast, k));
            let fresh = if quiet && !first.forecast.partial {
                // A second look takes as long again; progress stands still meanwhile.
                let again = run(&job, &fresh_ask, stop, &|p| tell(before, p.reached))?;
                if any.reached + any.unknown == 0 {
                    any = again.any.first().copied().unwrap_or_default();
                }
                comparison.partial = again.forecast.partial;
                again.forecast.cuts.into_iter().next().filter(|_| !again.forecast.partial)
            } else {
                None
            };
            let told = first.told.pop().map_or_else(Vec::new, |(_, fates)| fates);
            comparison.cells.push(Cell { length_m, face_rad, forecast, told, fresh, any });
            comparison.partial |= first.forecast.partial;
            if comparison.partial {
                return Ok(comparison);
            }
        }
    }
    Ok(comparison)
}

/// A stub nearer to an end of the piece than this is left off, m: under doubt it may lie beyond.
const STUB_CLEAR_M: f64 = 0.5;

/// Added to the seed for the second look; any odd constant would do.
pub(super) const FRESH: u64 = 0x9e37_79b9;
