//! The commands that drop pieces: drop, forecast, compare.

use std::path::Path;

use tumblewood::{
    drop::GroundLaw,
    forecast::{
        self, Ask,
        compare::{Cell, Comparison, Lengths, with_length},
        result::CutForecast,
    },
    job::{Job, Outer},
    report::{
        filmstrip, json,
        stamp::{NOT_COMPARED, PLANNING_AID},
        text,
    },
    scene::model::PieceSpec,
};

use super::{
    Failure, HowArgs, RunArgs, cut_index,
    output::{self, Folder},
    progress::{Bar, stop_flag},
    say::say,
};

/// Least height of a cut above the stump that a comparison may ask for, m.
const LEAST_CUT_M: f64 = 0.1;
/// Most cells of a comparison.
const CELLS_MAX: usize = 1_000;
/// Drops on each drawn ground for a cell of a comparison; a forecast has more.
const COMPARE_PER_GROUND: u32 = 20;

pub(super) fn drop(
    job: &Job,
    cut: &str,
    drop: u32,
    run: &RunArgs,
    out: Option<&Path>,
) -> Result<(), Failure> {
    let index = cut_index(job, cut)?;
    let mut folder = out.map(Folder::make).transpose()?;
    let ask = Ask { seed: run.seed, law: run.ground.law(), ..Ask::default() };
    let stamp = output::stamp(job, &ask);
    let replay = forecast::replay(job, &ask, Outer::Told, index, drop, 0.02)?;
    let units = job.scene.units;
    let mut words = match &replay.what {
        Err(missing) => {
            let missing = units.moment(*missing);
            format!("Cut {cut}, drop {drop}: sits back; {missing} are missing to turn it.\n")
        }
        Ok((track, outcome)) => format!(
            "{}\n\n{}",
            text::what_happened(outcome, track, &replay.ready.site, units),
            text::drop_table(track, &replay.ready.site, units)
        ),
    };
    words += &format!("\n{}\n{NOT_COMPARED}\n{PLANNING_AID}\n", stamp.line());
    say(&words)?;
    if let (Some(folder), Ok((track, outcome))) = (&mut folder, &replay.what) {
        let of = ask.drops.max(drop.saturating_add(1));
        let strip = filmstrip::of_drop(&job.scene, &stamp, &replay.ready, drop, of, outcome, track);
        folder.picture(&format!("{cut}-drop-{drop}"), &strip)?;
        folder.tell();
    }
    Ok(())
}

pub(super) fn forecast(
    job: &Job,
    cut: Option<&str>,
    drops: u32,
    run: &RunArgs,
    how: &HowArgs,
) -> Result<(), Failure> {
    let cuts = cut.map(|id| cut_index(job, id)).transpose()?;
    if job.scene.cuts.is_empty() {
        return Err(Failure::CantAnswer("the scene has no cuts".into()));
    }
    let stop = stop_flag();
    let mut folder = how.out.as_deref().map(Folder::make).transpose()?;
    let ask = Ask {
        cuts: cuts.into_iter().collect(),
        drops,
        seed: run.seed,
        law: run.ground.law(),
        grounds: how.grounds,
        drops_per_ground: per_ground(run, Ask::default().drops_per_ground),
    };
    let pool = pool(how)?;
    let result = pool.install(|| {
        let bar = Bar::new();
        forecast::run(job, &ask, &stop, &|p| bar.tell(p))
    })?;
    let date = output::stamp(job, &ask).date;
    if how.json {
        let json =
            json::forecast(&result.forecast).map_err(|e| Failure::CantAnswer(e.to_string()))?;
        say(&format!("{json}\n"))?;
    } else {
        say(&text::forecast(&result.forecast, &date, job.scene.units))?;
    }
    if result.forecast.partial {
        return Err(Failure::Interrupted);
    }
    if let Some(folder) = &mut folder {
        pool.install(|| output::forecast(folder, job, &ask, &result, &stop))?;
        folder.tell();
    }
    Ok(())
}

pub(super) fn compare(
    job: &Job,
    cut: &str,
    lengths_m: Vec<f64>,
    faces_rad: Vec<f64>,
    drops: u32,
    run: &RunArgs,
    how: &HowArgs,
) -> Result<(), Failure> {
    let index = cut_index(job, cut)?;
    fits(job, index, &lengths_m, &faces_rad)?;
    let stop = stop_flag();
    let mut folder = how.out.as_deref().map(Folder::make).transpose()?;
    let ask = Ask {
        drops,
        drops_per_ground: per_ground(run, COMPARE_PER_GROUND),
        grounds: how.grounds,
        seed: run.seed,
        law: run.ground.law(),
        ..Ask::default()
    };
    let lengths = Lengths { cut: index, lengths_m, faces_rad };
    let result = pool(how)?.install(|| {
        let bar = Bar::new();
        forecast::compare::compare(job, &lengths, &ask, &stop, &|p| bar.tell(p))
    })?;
    let stamp = output::stamp(job, &ask);
    let cells: Vec<text::CompareCell> =
        result.cells.iter().map(|cell| cell_words(cell, &result)).collect();
    let mut words = text::compare(&cells, &stamp, job.scene.units);
    if result.partial {
        words.insert_str(0, "INTERRUPTED: counts are of the drops done so far.\n");
    }
    let table = serde_json::json!({
        "version": forecast::VERSION,
        "scene": stamp.scene,
        "scene_hash": stamp.scene_hash,
        "law": stamp.law,
        "seed": stamp.seed,
        "cut": result.cut,
        "partial": result.partial,
        "cells": result.cells.iter().map(|cell| serde_json::json!({
            "length_m": cell.length_m,
            "face_deg": cell.face_rad.to_degrees(),
            "forecast": cell.forecast,
            "fresh": cell.fresh,
        })).collect::<Vec<_>>(),
    });
    if how.json {
        say(&format!("{table:#}\n"))?;
    } else {
        say(&words)?;
    }
    if result.partial {
        return Err(Failure::Interrupted);
    }
    if let Some(folder) = &mut folder {
        folder.put("compare.txt", words.as_bytes())?;
        folder.put("compare.json", format!("{table:#}\n").as_bytes())?;
        folder.tell();
    }
    Ok(())
}

/// Refuses lengths that the stem doesn't have or that the cut's release doesn't fit, and more
/// cells than anyone reads.
fn fits(job: &Job, cut: usize, lengths_m: &[f64], faces_rad: &[f64]) -> Result<(), Failure> {
    let Some(spec) = job.scene.cuts.get(cut) else { return Ok(()) };
    let units = job.scene.units;
    let faces = faces_rad.len().max(1);
    if lengths_m.len() * faces > CELLS_MAX {
        return Err(Failure::input(format!(
            "--lengths, --faces: read {} lengths and {faces} faces; allowed: at most {CELLS_MAX} \
             cells, one times the other",
            lengths_m.len()
        )));
    }
    let PieceSpec::Section { to_m, .. } = &spec.piece;
    let longest = to_m.told - LEAST_CUT_M;
    for &length_m in lengths_m {
        let read = units.length(length_m);
        if length_m > longest {
            return Err(Failure::input(format!(
                "--lengths: read {read}; allowed: up to {}, the stem under the top of cut {}",
                units.length(longest),
                spec.id
            )));
        }
        // What the cuts after this one would find isn't asked.
        let mut scene = with_length(&job.scene, cut, length_m, None);
        scene.cuts.truncate(cut + 1);
        if let Some(wrong) = scene.wrongs().first() {
            return Err(Failure::input(format!(
                "--lengths: read {read}; {}: {}; allowed: {}",
                wrong.path, wrong.what, wrong.allowed
            )));
        }
    }
    Ok(())
}

/// One cell as its table says it. Where nothing reached at first, the counts are those of the
/// fresh run.
fn cell_words(cell: &Cell, all: &Comparison) -> text::CompareCell {
    let reached_first = (0..all.targets.len()).any(|k| cell.reaches(k));
    let counted = match (&cell.fresh, reached_first) {
        (Some(fresh), false) => fresh,
        _ => &cell.forecast,
    };
    let told = &cell.forecast;
    let told_drops = |f: &CutForecast| {
        f.sat_back + f.modes.stayed + f.modes.slid + f.modes.rolled + f.modes.tumbled
    };
    let hits = |id: &str| -> u32 {
        let told = counted.targets.iter().filter(|t| t.id == id).map(|t| t.reached);
        let drawn = counted
            .grounds
            .iter()
            .flat_map(|g| g.targets.iter().filter(|t| t.id == id))
            .map(|t| t.reached);
        told.chain(drawn).sum()
    };
    let per_target: Vec<(String, u32)> =
        all.targets.iter().map(|id| (id.clone(), hits(id))).filter(|(_, n)| *n > 0).collect();
    // Where the second look is missing, nothing bounds the share.
    let looked_at = all.cells.len() * all.targets.len();
    let high_corrected = (0..all.targets.len())
        .filter(|k| !cell.reaches(*k))
        .map(|k| cell.corrected_bound(k, looked_at).unwrap_or(1.0))
        .fold(0.0, f64::max);
    text::CompareCell {
        length_m: cell.length_m,
        face: format!("{:.0} deg", cell.face_rad.to_degrees()),
        drops: told_drops(told),
        sat_back: told.sat_back,
        rolled: told.modes.rolled,
        tumbled: told.modes.tumbled,
        all_drops: cell.any.drops,
        reached: cell.any.reached,
        reached_targets: per_target,
        unknown: cell.any.unknown,
        high_corrected,
    }
}

/// Drops on each drawn ground: a sixth as many on rigid ground, where each costs some ten times
/// more and answers less.
fn per_ground(run: &RunArgs, on_soil: u32) -> u32 {
    match run.ground.law() {
        GroundLaw::Soil => on_soil,
        GroundLaw::Rigid => on_soil / 6,
    }
}

/// Threads as asked for.
fn pool(how: &HowArgs) -> Result<rayon::ThreadPool, Failure> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(how.threads.map_or(0, usize::from))
        .build()
        .map_err(|e| Failure::CantAnswer(format!("no threads: {e}")))
}
