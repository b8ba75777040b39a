//! `fell`: the numbers of a cut that is pulled over, and which way it can reach.

use std::path::Path;

use tumblewood::{
    felling::{self, FellError, Question},
    forecast::{
        Ask,
        reach_map::{MapAsk, MapError, ReachMap, reach_map},
    },
    job::{Job, Outer},
    report::{json, plan, pull_curve::pull_curve, reach_rings, text, words},
};

use super::{
    Failure, RunArgs, cut_index, drops,
    output::{Folder, stamp},
    progress::{Bar, stop_flag},
    say::say,
};

pub(super) fn fell(
    job: &Job,
    cut: &str,
    seed: u64,
    as_json: bool,
    out: Option<&Path>,
) -> Result<(), Failure> {
    let question = Question { cut: cut_index(job, cut)?, seed, draws: felling::DRAWS };
    let mut folder = out.map(Folder::make).transpose()?;
    let felling = felling::fell(job, &question).map_err(|error| match error {
        FellError::Job(error) => Failure::from(error),
        FellError::NoHinge(..) => Failure::CantAnswer(error.to_string()),
    })?;
    let units = job.scene.units;
    let date = jiff::Zoned::now().date().to_string();
    let words = text::fell(&felling, &date, units);
    let machine = json::felling(&felling).map_err(|e| Failure::CantAnswer(e.to_string()))?;
    say(if as_json { &machine } else { &words })?;
    if let Some(folder) = &mut folder {
        let id = &felling.cut;
        folder.put(&format!("{id}-fell.txt"), words.as_bytes())?;
        folder.put(&format!("{id}-fell.json"), machine.as_bytes())?;
        for curve in &felling.curves {
            let of = curve.line.as_deref().map(|line| format!("-{line}")).unwrap_or_default();
            folder
                .picture(&format!("{id}{of}-pull"), &pull_curve(&felling, curve, &date, units))?;
        }
        folder.tell();
    }
    Ok(())
}

pub(super) fn reach(
    job: &Job,
    cut: &str,
    each: u32,
    run: &RunArgs,
    threads: Option<u16>,
    as_json: bool,
    out: Option<&Path>,
) -> Result<(), Failure> {
    let ask =
        MapAsk { cut: cut_index(job, cut)?, drops: each, seed: run.seed, law: run.ground.law() };
    let mut folder = out.map(Folder::make).transpose()?;
    let stop = stop_flag();
    let map = drops::pool(threads)?.install(|| {
        let bar = Bar::new();
        reach_map(job, &ask, &stop, &|p| bar.tell(p)).map_err(|error| match error {
            MapError::Job(error) => Failure::from(error),
            MapError::NoHinge(_) => Failure::CantAnswer(error.to_string()),
        })
    })?;
    let of = Ask { seed: run.seed, law: run.ground.law(), ..Ask::default() };
    let stamp = stamp(job, &of);
    let words = text::reach_map(&map, &stamp, job.scene.units);
    let machine = json::reach_map(&map).map_err(|e| Failure::CantAnswer(e.to_string()))?;
    say(if as_json { &machine } else { &words })?;
    if let Some(folder) = &mut folder {
        folder.put(&format!("{cut}-reach.txt"), words.as_bytes())?;
        folder.put(&format!("{cut}-reach.json"), machine.as_bytes())?;
        folder.picture(&format!("{cut}-reach"), &drawn(job, &map, &stamp)?)?;
        folder.tell();
    }
    if map.partial { Err(Failure::Interrupted) } else { Ok(()) }
}

/// The map on the plan of the site.
fn drawn(job: &Job, map: &ReachMap, stamp: &tumblewood::report::Stamp) -> Result<String, Failure> {
    let world = job.world(Outer::Told)?;
    let units = job.scene.units;
    let subtitle = format!("Cut {}: which way it can reach", map.cut);
    let patch_words: Vec<String> = job
        .scene
        .site
        .patches
        .iter()
        .map(|p| format!("{}: {}", p.id, words::ground(&p.ground)))
        .collect();
    Ok(plan::plan(&plan::Plan {
        title: &job.scene.name,
        subtitle: &subtitle,
        stamp,
        units,
        site: &world.site,
        ground_words: &words::ground(&job.scene.site.ground),
        patch_words: &patch_words,
        north_words: words::north(job.scene.site.north),
        lines: None,
        rings: &reach_rings::rings(map),
        faces: &[],
        drops: &[],
        standing: None,
        forecast: None,
    }))
}
