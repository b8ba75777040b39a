//! A replay as a file: what of the scene goes into it, and where it is written.

use std::path::{Path, PathBuf};

use tumblewood::{
    drop::Track,
    forecast::replay,
    job::{CutReady, Job, JobError, Outer},
    report::stamp::{NOT_COMPARED, PLANNING_AID},
    scene::edit::{Thing, things::id},
};

use crate::{
    desk::Desk,
    gltf::{Replayed, glb},
    mesh::relief,
    palette::{Theme, palette},
    things::{piece, things},
    worker::{Made, SAMPLE_S, shown},
};

/// The name of a file for 3D programs.
///
/// # Errors
///
/// It ends otherwise.
pub(crate) fn glb_file(text: &str) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    match path.extension() {
        Some(ending) if ending.eq_ignore_ascii_case("glb") => Ok(path),
        _ => Err(format!("read \"{text}\", expected a name that ends in .glb")),
    }
}

/// Makes a drop of the cut that is looked at again and writes it.
///
/// # Errors
///
/// As [`write`].
pub(crate) fn one(desk: &Desk, drop: u32, path: &Path) -> Result<(), String> {
    let Some(job) = &desk.job else { return Err("there is no scene".to_owned()) };
    let replay = replay(job, &desk.ask, Outer::Told, desk.cut, drop, SAMPLE_S)
        .map_err(|error| shown(&error))?;
    write(job, &Made { job: job.clone(), cut: desk.cut, drop, replay }, path)
}

/// Writes a drop that was made again; a file that is there is replaced.
///
/// # Errors
///
/// It sat back, its site can't be built, or the file can't be written.
pub(crate) fn write(job: &Job, made: &Made, path: &Path) -> Result<(), String> {
    let Ok((track, _)) = &made.replay.what else {
        return Err(format!("drop {} sits back: there is nothing to show of it", made.drop));
    };
    let file = file(job, &made.replay.ready, made.drop, track).map_err(|error| shown(&error))?;
    tumblewood::scene::write(path, &file, true).map_err(|error| error.to_string())
}

/// The bytes of the file.
fn file(job: &Job, ready: &CutReady, drop: u32, track: &Track) -> Result<Vec<u8>, JobError> {
    let world = job.world(Outer::Told)?;
    let palette = palette(Theme::Day);
    // The piece is there once, as the one that moves.
    let moving = Thing::Cut(ready.id.clone());
    let stands: Vec<(String, crate::shape::Drawn)> = things(&world, Some(ready), palette)
        .into_iter()
        .filter(|(thing, _)| *thing != moving)
        .map(|(thing, drawn)| (id(&thing).replace('_', " "), drawn))
        .collect();
    let invented = if job.scene.invented { " Invented: no such place." } else { "" };
    Ok(glb(&Replayed {
        name: &format!("{}, cut {}, drop {drop}", job.scene.name, ready.id),
        caution: &format!("{NOT_COMPARED} {PLANNING_AID}{invented}"),
        relief: &relief(&world.site.terrain),
        ground: palette.ground.linear(),
        things: &stands,
        piece: &piece(&ready.section.piece, palette),
        samples: &track.samples,
        way: palette.chosen.linear(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::gltf::Gltf;
    use tumblewood::forecast::Ask;

    #[test]
    fn val_another_reader_finds_the_drop_in_the_file() {
        let scene = tumblewood::scene::parse(tumblewood::scene::starter(), "starter").unwrap();
        let job = std::sync::Arc::new(Job::load(scene).unwrap());
        let replay = replay(&job, &Ask::default(), Outer::Told, 0, 3, SAMPLE_S).unwrap();
        let made = Made { job: job.clone(), cut: 0, drop: 3, replay };
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("drop.glb");
        write(&job, &made, &path).unwrap();
        let read = Gltf::open(&path).unwrap();
        let names: Vec<&str> = read.nodes().filter_map(|node| node.name()).collect();
        assert_eq!(names.iter().filter(|name| **name == "piece").count(), 1, "{names:?}");
        for target in &job.scene.targets {
            assert!(names.contains(&&*target.id.replace('_', " ")), "{names:?}");
        }
        assert!(!names.contains(&&*job.scene.cuts[0].id), "the piece is there once: {names:?}");
        let (track, _) = made.replay.what.as_ref().unwrap();
        let end_s = track.samples.last().unwrap().time_s - track.samples[0].time_s;
        let animation = read.animations().next().unwrap();
        let last = animation.samplers().next().unwrap().input().max().unwrap();
        assert!((last[0].as_f64().unwrap() - end_s).abs() < 1e-3);
    }

    #[test]
    fn prop_only_a_name_of_its_kind_is_taken() {
        assert_eq!(glb_file("a/drop.glb"), Ok("a/drop.glb".into()));
        for bad in ["", "drop", "drop.gltf", "glb"] {
            assert!(glb_file(bad).unwrap_err().starts_with("read "), "{bad}");
        }
    }
}
