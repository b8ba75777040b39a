//! `compare --search`: lengths and faces tried toward where least reaches.

use tumblewood::{
    forecast::{
        self,
        compare::Misfit,
        search::{Span, check},
    },
    job::Job,
    report::{text, tried},
};

use super::{
    Failure, HowArgs, RunArgs, cut_index,
    drops::{Answer, answer, compare_ask, pool},
    output::{self, Folder},
    progress::{Bar, stop_flag},
};

pub(super) fn search(
    job: &Job,
    cut: &str,
    (lengths_m, faces_rad, budget): ([f64; 2], Option<[f64; 2]>, u32),
    drops: u32,
    run: &RunArgs,
    how: &HowArgs,
) -> Result<(), Failure> {
    let span = Span { cut: cut_index(job, cut)?, lengths_m, faces_rad, drops: budget };
    let ask = compare_ask(drops, run, how);
    check(job, &span, &ask).map_err(|misfit| {
        let flag = if matches!(misfit, Misfit::Search(_)) { "--search" } else { "--lengths" };
        Failure::input(format!("{flag}: {misfit}"))
    })?;
    let stop = stop_flag();
    let folder = how.out.as_deref().map(Folder::make).transpose()?;
    let result = pool(how.threads)?.install(|| {
        let bar = Bar::new();
        forecast::search::search(job, &span, &ask, &stop, &|p| bar.tell(p))
    })?;
    let stamp = output::stamp(job, &ask);
    let mut words = text::search(&result, &stamp, job.scene.units);
    if result.partial {
        words.insert_str(0, "INTERRUPTED: it tried less than it was to.\n");
    }
    let table = serde_json::json!({
        "version": forecast::VERSION,
        "scene": stamp.scene,
        "scene_hash": stamp.scene_hash,
        "law": stamp.law,
        "seed": stamp.seed,
        "cut": result.cut,
        "choosing_drops": result.choosing,
        "counted_drops": result.counted,
        "partial": result.partial,
        "tries": result.tries.iter().map(|one| serde_json::json!({
            "length_m": one.length_m,
            "face_deg": one.face_rad.to_degrees(),
            "reached": one.told.reached,
            "unknown": one.told.unknown,
            "drops": one.told.drops,
            "over_grounds": one.over_grounds,
            "at_most": one.at_most,
            "forecast": one.forecast,
        })).collect::<Vec<_>>(),
    });
    let picture = tried::tried(&result, &stamp, job.scene.units);
    answer(
        how,
        folder,
        &Answer { name: "search", words, table, partial: result.partial },
        Some(picture),
    )
}
