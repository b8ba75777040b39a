//! The `--out` folder: pictures and tables of a forecast, each file written whole or not at all.

use std::{
    path::{Path, PathBuf},
    sync::atomic::{AtomicBool, Ordering},
};

use rayon::prelude::*;
use tumblewood::{
    drop::Track,
    forecast::{Ask, Fate, Run, replay},
    job::{CutReady, Job, Outer},
    outcome::{Outcome, Reach},
    report::{
        Stamp, csv, filmstrip,
        geojson::{self, OnEarth},
        json, kml, plan, png, text, words,
    },
    scene,
    terrain::{Terrain, system::System},
};

use super::{Failure, say::note};

/// Tracks replayed for the plan: of drops that reach something, and of the others.
const TRACKS: usize = 40;
/// Time between samples of a replayed drop, s.
pub(super) const SAMPLE_S: f64 = 0.02;
/// Pictures are drawn at this many pixels to the SVG's own.
const SCALE: f32 = 1.5;

/// A folder that can be written, made if it isn't there, and what was written to it.
pub(super) struct Folder {
    path: PathBuf,
    written: usize,
}

impl Folder {
    pub(super) fn make(path: &Path) -> Result<Self, Failure> {
        let refuse = |why: String| {
            Failure::input(format!(
                "--out: read {}; {why}; allowed: a folder that can be written",
                path.display()
            ))
        };
        if path.exists() && !path.is_dir() {
            return Err(refuse("it is a file".into()));
        }
        std::fs::create_dir_all(path).map_err(|e| refuse(e.to_string()))?;
        // Better to know now than after the drops.
        tempfile::tempfile_in(path).map_err(|e| refuse(e.to_string()))?;
        Ok(Self { path: path.to_owned(), written: 0 })
    }

    pub(super) fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        scene::write(&self.path.join(name), bytes, true)?;
        self.written += 1;
        Ok(())
    }

    /// Says what was written, apart from the answer.
    pub(super) fn tell(&self) {
        note(&format!("Wrote {} files to {}.", self.written, self.path.display()));
    }

    pub(super) fn picture(&mut self, name: &str, svg: &str) -> Result<(), Failure> {
        self.put(&format!("{name}.svg"), svg.as_bytes())?;
        let image = png::png(svg, SCALE).map_err(|e| Failure::CantAnswer(e.to_string()))?;
        self.put(&format!("{name}.png"), &image)
    }
}

/// Refuses a file to be written that ends in none of `endings`, is there already without `force`, is
/// one of the `inputs`, or is in no folder that can be written.
pub(super) fn new_file(
    flag: &str,
    to: &Path,
    endings: &[&str],
    force: bool,
    inputs: &[&Path],
) -> Result<(), Failure> {
    let refuse = |what: &str, allowed: &str| {
        Failure::input(format!("{flag}: read {}{what}; allowed: {allowed}", to.display()))
    };
    if to.is_dir() {
        return Err(refuse(", which is a directory", "a file"));
    }
    let ends_in = |ending: &&str| to.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
    if !endings.iter().any(ends_in) {
        let endings = format!("a file name that ends in .{}", endings.join(" or ."));
        return Err(refuse("", &endings));
    }
    apart(flag, to, inputs)?;
    if to.exists() && !force {
        return Err(refuse(", which is there already", "another name, or --force"));
    }
    // Better to know now than after the work.
    let folder = scene::folder_of(to);
    let allowed = "a file in a folder that is there and can be written";
    if !folder.is_dir() {
        return Err(refuse(&format!("; there is no folder {}", folder.display()), allowed));
    }
    tempfile::tempfile_in(folder).map(|_| ()).map_err(|_| {
        refuse(&format!("; the folder {} can't be written", folder.display()), allowed)
    })
}

/// Refuses a file to be written that is one of the `inputs`, by whatever name: what was read would be
/// gone.
pub(super) fn apart(flag: &str, to: &Path, inputs: &[&Path]) -> Result<(), Failure> {
    let Ok(own) = to.canonicalize() else { return Ok(()) };
    let same = |input: &&&Path| input.canonicalize().is_ok_and(|input| input == own);
    match inputs.iter().find(same) {
        None => Ok(()),
        Some(input) => Err(Failure::input(format!(
            "{flag}: read {}, which is the input {} itself; allowed: another file",
            to.display(),
            input.display()
        ))),
    }
}

pub(super) fn stamp(job: &Job, ask: &Ask) -> Stamp {
    Stamp::of(job, ask, &jiff::Zoned::now().date().to_string())
}

/// Writes everything a forecast has to show; `stop` ends it between two cuts.
pub(super) fn forecast(
    folder: &mut Folder,
    job: &Job,
    ask: &Ask,
    run: &Run,
    stop: &AtomicBool,
) -> Result<(), Failure> {
    let stamp = stamp(job, ask);
    let json = json::forecast(&run.forecast).map_err(|e| Failure::CantAnswer(e.to_string()))?;
    folder.put("forecast.json", json.as_bytes())?;
    let words = text::forecast(&run.forecast, &stamp.date, job.scene.units);
    folder.put("forecast.txt", words.as_bytes())?;
    for (index, fates) in &run.told {
        if stop.load(Ordering::Relaxed) {
            return Err(Failure::Interrupted);
        }
        cut(folder, job, ask, &stamp, *index, fates, run)?;
    }
    Ok(())
}

fn cut(
    folder: &mut Folder,
    job: &Job,
    ask: &Ask,
    stamp: &Stamp,
    index: usize,
    fates: &[Fate],
    run: &Run,
) -> Result<(), Failure> {
    let ready = job.world(Outer::Told)?.cut(index)?;
    let id = ready.id.as_str();
    let ids: Vec<&str> =
        ready.site.bodies.iter().filter(|b| b.is_target).map(|b| b.id.as_str()).collect();
    let rows: Vec<(u32, Option<&Outcome>)> =
        fates.iter().enumerate().map(|(i, f)| (i as u32, f.outcome())).collect();
    folder.put(&format!("{id}-drops.csv"), csv::drops_csv(&rows, &ids).as_bytes())?;
    let left: Vec<(u32, &Outcome)> = rows.iter().filter_map(|(i, o)| Some((*i, (*o)?))).collect();
    if left.is_empty() {
        return on_earth(folder, &ready, &ids, &[], &[], stamp);
    }
    let again = |drop: u32| -> Result<Option<Track>, Failure> {
        let replay = replay(job, ask, Outer::Told, index, drop, SAMPLE_S)?;
        Ok(replay.what.ok().map(|(track, _)| track))
    };
    let (reaching, missing): (Vec<_>, Vec<_>) = left.iter().partition(|(_, o)| reaches(o));
    let shown: Vec<u32> =
        reaching.iter().take(TRACKS).chain(missing.iter().take(TRACKS)).map(|(d, _)| *d).collect();
    let tracks: Vec<(u32, Option<Track>)> = shown
        .into_par_iter()
        .map(|drop| Ok((drop, again(drop)?)))
        .collect::<Result<_, Failure>>()?;
    let views: Vec<plan::DropView<'_>> = left
        .iter()
        .map(|(drop, outcome)| plan::DropView {
            outcome,
            track: tracks.iter().find(|(d, _)| d == drop).and_then(|(_, t)| t.as_ref()),
        })
        .collect();
    on_earth(folder, &ready, &ids, &left, &views, stamp)?;
    let counted = run.forecast.cuts.iter().find(|c| c.id == ready.id);
    let piece = &ready.section.piece;
    let units = job.scene.units;
    let subtitle = format!(
        "Cut {id}: {} of stem, {}, {} drops",
        units.length(piece.length_m()),
        units.mass(piece.mass_kg),
        fates.len()
    );
    let toward = job.scene.cuts.get(index).map(|c| c.release.toward_rad().told);
    let faces: Vec<plan::FaceArrow<'_>> = toward
        .map(|told| plan::FaceArrow { azimuth_rad: told + job.frame().turn_rad, name: "" })
        .into_iter()
        .collect();
    let picture = plan::plan(&plan::Plan {
        title: &job.scene.name,
        subtitle: &subtitle,
        stamp,
        units,
        site: &ready.site,
        ground_words: &words::ground(&job.scene.site.ground),
        patch_words: &job
            .scene
            .site
            .patches
            .iter()
            .map(|p| format!("{}: {}", p.id, words::ground(&p.ground)))
            .collect::<Vec<_>>(),
        north_words: words::north(job.scene.site.north),
        lines: None,
        rings: &[],
        faces: &faces,
        drops: &views,
        standing: Some((piece, ready.stand().motion())),
        forecast: counted,
    });
    folder.picture(&format!("{id}-plan"), &picture)?;
    for (name, drop) in [("typical", typical(&left)), ("worst", worst(&left))] {
        let Some((drop, outcome)) = drop else { continue };
        let Some(track) = again(drop)? else { continue };
        let strip = filmstrip::of_drop(
            &job.scene,
            stamp,
            &ready,
            drop,
            fates.len() as u32,
            outcome,
            &track,
        );
        folder.picture(&format!("{id}-{name}"), &strip)?;
    }
    Ok(())
}

fn reaches(outcome: &Outcome) -> bool {
    outcome.reaches.iter().any(|r| matches!(r, Reach::Reached { .. }))
}

/// The drop of the median rollout.
fn typical<'a>(left: &[(u32, &'a Outcome)]) -> Option<(u32, &'a Outcome)> {
    let mut by_rollout: Vec<_> = left.to_vec();
    by_rollout.sort_by(|a, b| a.1.rollout_m.total_cmp(&b.1.rollout_m));
    by_rollout.get(by_rollout.len() / 2).copied()
}

/// The drop that touched a target with the most energy; if none did, the longest.
fn worst<'a>(left: &[(u32, &'a Outcome)]) -> Option<(u32, &'a Outcome)> {
    let harm = |o: &Outcome| {
        o.reaches
            .iter()
            .map(|r| if let Reach::Reached { energy_j, .. } = r { *energy_j } else { 0.0 })
            .fold(0.0, f64::max)
    };
    left.iter()
        .max_by(|a, b| {
            let first = harm(a.1).total_cmp(&harm(b.1));
            first.then(a.1.rollout_m.total_cmp(&b.1.rollout_m))
        })
        .copied()
}

/// Where pieces ended and the lines that they pass, for maps, where the place on earth is known.
fn on_earth(
    folder: &mut Folder,
    ready: &CutReady,
    target_ids: &[&str],
    drops: &[(u32, &Outcome)],
    views: &[plan::DropView<'_>],
    stamp: &Stamp,
) -> Result<(), Failure> {
    let Some(to_lonlat) = lonlat(&ready.site.terrain) else { return Ok(()) };
    let stump_m = ready.site.stump_m;
    let lines = plan::spread(stump_m, views).map_or_else(Vec::new, |spread| {
        let lines = plan::pass_lines(stump_m, views).into_iter();
        lines.map(|line| (line, plan::pass_arc(stump_m, &line, spread))).collect()
    });
    let on = OnEarth { drops, target_ids, lines, stamp, to_lonlat: &to_lonlat };
    folder.put(&format!("{}-ends.geojson", ready.id), geojson::ends(&on).as_bytes())?;
    folder.put(&format!("{}-ends.kml", ready.id), kml::ends(&on).as_bytes())
}

/// From the site's x, y to longitude and latitude, where the terrain's place on earth is known.
fn lonlat(terrain: &Terrain) -> Option<impl Fn(f64, f64) -> (f64, f64)> {
    let crs = terrain.crs.clone()?;
    let system = System::from_epsg("", u16::try_from(crs.epsg?).ok()?).ok()?;
    // By the system's own unit, if it isn't degrees: a file may hold its coordinates in another.
    let unit_m = system.unit_m.unwrap_or(crs.unit_m);
    system.on_earth.then_some(move |x: f64, y: f64| {
        let at = glam::DVec2::new(x + crs.offset_m.x, y + crs.offset_m.y) / unit_m;
        system.lonlat(at).map_or((f64::NAN, f64::NAN), Into::into)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(result: Result<(), Failure>) -> String {
        match result {
            Err(Failure::Input(report)) => report.to_string(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn prop_a_file_to_write_is_no_input_and_has_a_folder() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        let (input, other) = (at("a.tif"), at("b.tif"));
        std::fs::write(&input, "x").expect("written");
        let check = |to: &Path, force| new_file("--to", to, &["tif"], force, &[&other, &input]);
        check(&other, false).expect("a new file");
        let own = folder.path().join(".").join("a.tif");
        for to in [&input, &own] {
            let said = said(check(to, true));
            assert!(said.contains("a.tif itself; allowed: another file"), "{said}");
        }
        let nowhere = said(check(&at("no/c.tif"), true));
        assert!(nowhere.contains("there is no folder") && nowhere.contains("--to"), "{nowhere}");
        let said = said(check(&at("c.ron"), true));
        assert!(said.contains("ends in .tif"), "{said}");
        assert_eq!(std::fs::read_dir(folder.path()).expect("it").count(), 1, "nothing left over");
    }
}
