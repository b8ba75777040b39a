//! `compare --search`: lengths and faces tried toward where least reaches.

use tumblewood::{
    forecast::{
        self, Ask,
        compare::Misfit,
        search::{Span, check},
    },
    job::Job,
    report::{text, tried},
};

use super::{
    Failure, HowArgs, RunArgs, cut_index,
    drops::{per_ground, pool},
    output::{self, Folder},
    progress::{Bar, stop_flag},
    say::say,
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
    let ask = Ask {
        drops,
        drops_per_ground: per_ground(run, forecast::compare::DROPS_PER_GROUND),
        grounds: how.grounds,
        seed: run.seed,
        law: run.ground.law(),
        ..Ask::default()
    };
    check(job, &span, &ask).map_err(|misfit| {
        let flag = if matches!(misfit, Misfit::Search(_)) { "--search" } else { "--lengths" };
        Failure::input(format!("{flag}: {misfit}"))
    })?;
    let stop = stop_flag();
    let mut folder = how.out.as_deref().map(Folder::make).transpose()?;
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
    if how.json {
        say(&format!("{table:#}\n"))?;
    } else {
        say(&words)?;
    }
    if result.partial {
        return Err(Failure::Interrupted);
    }
    if let Some(folder) = &mut folder {
        folder.put("search.txt", words.as_bytes())?;
        folder.put("search.json", format!("{table:#}\n").as_bytes())?;
        folder.picture("search", &tried::tried(&result, &stamp, job.scene.units))?;
        folder.tell();
    }
    Ok(())
}
