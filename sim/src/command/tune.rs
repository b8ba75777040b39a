//! `tune`: what notes of what happened tell about the ground.

use std::path::Path;

use tumblewood::{
    forecast::{
        Ask,
        tune::{NoAnswer, as_cut, bank, tuned},
    },
    job::{Job, Outer},
    report::text,
    scene::{Wrong, happened},
};

use super::{
    Failure, RunArgs, drops, output,
    progress::{Bar, stop_flag},
    say::{note, say},
};

pub(super) fn tune(
    job: &Job,
    notes: &Path,
    [draws, per_draw]: [u32; 2],
    run: &RunArgs,
    threads: Option<u16>,
    json: bool,
) -> Result<(), Failure> {
    let happened = happened::load(notes, &job.scene)?;
    if happened.notes.is_empty() {
        return Err(Failure::CantAnswer(format!(
            "{}: {}",
            notes.display(),
            NoAnswer::NothingNoted
        )));
    }
    if happened.is_of_another(&job.scene) {
        note(
            "The notes were begun for another state of the scene: they are taken by the ids of its \
             cuts.",
        );
    }
    on_the_terrain(job, &happened)?;
    let job = as_cut(job, &happened);
    // An as-cut length can leave a piece that the stem has not.
    let world = job.world(Outer::Told)?;
    for noted in &happened.notes {
        world.cut(noted.cut)?;
    }
    let stop = stop_flag();
    let ask = Ask {
        cuts: (0..job.scene.cuts.len()).collect(),
        drops: 0,
        grounds: draws,
        drops_per_ground: per_draw,
        seed: run.seed,
        law: run.ground.law(),
    };
    let pool = drops::pool(threads)?;
    let found = pool.install(|| {
        let bar = Bar::new();
        bank(&job, &ask, &stop, &|p| bar.tell(p))
    })?;
    let units = job.scene.units;
    let answer =
        tuned(&job, &ask, &found, &happened.notes, &|m| units.distance(m)).map_err(|none| {
            match none {
                NoAnswer::NoDraw if found.partial => Failure::Interrupted,
                none => Failure::CantAnswer(none.to_string()),
            }
        })?;
    if json {
        let text = serde_json::to_string_pretty(&answer)
            .map_err(|e| Failure::CantAnswer(e.to_string()))?;
        say(&format!("{text}\n"))?;
    } else {
        say(&text::tune(&answer, &job.scene, &output::stamp(&job, &ask)))?;
    }
    if answer.partial { Err(Failure::Interrupted) } else { Ok(()) }
}

/// Refuses places that lie where no ground is known: no drop could come to rest there.
fn on_the_terrain(job: &Job, happened: &happened::Happened) -> Result<(), Failure> {
    let world = job.world(Outer::Told)?;
    let mut wrongs = Vec::new();
    for noted in &happened.notes {
        for (field, place) in [("first_touch", &noted.first_touch), ("lay", &noted.lay)] {
            let Some(place) = place else { continue };
            let at = world.place_m(place);
            if world.site.terrain.surface(at.x, at.y).is_none() {
                wrongs.push(Wrong {
                    path: format!("{}.{field}", noted.path),
                    what: "a place off the known ground".to_owned(),
                    allowed: "a place on the terrain of the scene".to_owned(),
                });
            }
        }
    }
    happened.source.error(&wrongs).map_or(Ok(()), |error| Err(error.into()))
}
