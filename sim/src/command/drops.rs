//! The commands that drop pieces: drop, forecast, compare.

use std::path::Path;

use tumblewood::{
    drop::GroundLaw,
    forecast::{
        self, Ask,
        compare::{Lengths, Misfit, fits},
    },
    job::{Job, Outer},
    report::{
        filmstrip, json,
        stamp::{NOT_COMPARED, PLANNING_AID},
        text,
    },
};

use super::{
    Failure, HowArgs, RunArgs, cut_index,
    output::{self, Folder},
    progress::{Bar, stop_flag},
    say::say,
};

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
            "{}\n{}\n{}",
            text::what_happened(outcome, track, &replay.ready.site, units),
            text::what_went(outcome, &replay.ready.site, units),
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
    let pool = pool(how.threads)?;
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
    let lengths = Lengths { cut: index, lengths_m, faces_rad };
    fits(job, &lengths).map_err(|misfit| {
        let flags = match misfit {
            Misfit::Cells(_) => "--lengths, --faces",
            Misfit::Length(_) => "--lengths",
            Misfit::Order(_) => "--order",
            Misfit::Search(_) => "--search",
        };
        Failure::input(format!("{flags}: {misfit}"))
    })?;
    let stop = stop_flag();
    let folder = how.out.as_deref().map(Folder::make).transpose()?;
    let ask = compare_ask(drops, run, how);
    let result = pool(how.threads)?.install(|| {
        let bar = Bar::new();
        forecast::compare::compare(job, &lengths, &ask, &stop, &|p| bar.tell(p))
    })?;
    let stamp = output::stamp(job, &ask);
    let cells: Vec<text::CompareCell> =
        result.cells.iter().map(|cell| text::CompareCell::of(cell, &result)).collect();
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
    answer(how, folder, &Answer { name: "compare", words, table, partial: result.partial }, None)
}

/// What comparisons ask for.
pub(super) fn compare_ask(drops: u32, run: &RunArgs, how: &HowArgs) -> Ask {
    Ask {
        drops,
        drops_per_ground: per_ground(run, forecast::compare::DROPS_PER_GROUND),
        grounds: how.grounds,
        seed: run.seed,
        law: run.ground.law(),
        ..Ask::default()
    }
}

/// What a comparison came to.
pub(super) struct Answer {
    /// What its files are called.
    pub(super) name: &'static str,
    pub(super) words: String,
    pub(super) table: serde_json::Value,
    pub(super) partial: bool,
}

/// Prints a comparison; if it is whole, writes it, and its picture if it has one.
pub(super) fn answer(
    how: &HowArgs,
    folder: Option<Folder>,
    answer: &Answer,
    picture: Option<String>,
) -> Result<(), Failure> {
    let table = format!("{:#}\n", answer.table);
    say(if how.json { &table } else { &answer.words })?;
    if answer.partial {
        return Err(Failure::Interrupted);
    }
    let Some(mut folder) = folder else { return Ok(()) };
    let name = answer.name;
    folder.put(&format!("{name}.txt"), answer.words.as_bytes())?;
    folder.put(&format!("{name}.json"), table.as_bytes())?;
    if let Some(picture) = picture {
        folder.picture(name, &picture)?;
    }
    folder.tell();
    Ok(())
}

/// Drops on each drawn ground: a sixth as many on rigid ground, where each costs some ten times
/// more and answers less.
pub(super) fn per_ground(run: &RunArgs, on_soil: u32) -> u32 {
    match run.ground.law() {
        GroundLaw::Soil => on_soil,
        GroundLaw::Rigid => on_soil / 6,
    }
}

/// Threads as asked for.
pub(super) fn pool(threads: Option<u16>) -> Result<rayon::ThreadPool, Failure> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads.map_or(0, usize::from))
        .build()
        .map_err(|e| Failure::CantAnswer(format!("no threads: {e}")))
}
