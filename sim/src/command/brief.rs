//! `brief`: the page a crew is handed, and whether one that is there still fits its scene.

use std::{
    io::Read as _,
    path::{Path, PathBuf},
    sync::atomic::{AtomicBool, Ordering},
};

use rayon::prelude::*;
use tumblewood::{
    drop::{Ending, GroundLaw, Track},
    felling::{self, FellError, Question},
    forecast::{
        self, Ask, Run,
        reach_map::{MapAsk, MapError, reach_map},
        replay,
    },
    job::{CutReady, Job, Outer},
    outcome::{Outcome, Reach},
    quantity::Units,
    release::{Method, describe, strap_moment_n_m},
    report::{
        brief::{self, Brief, Paper, Sheet},
        plan, reach_rings, words,
    },
    scene::{
        self,
        model::{Cut, Cutter, ReleaseSpec},
    },
};

use super::{
    BriefArgs, Failure, RunArgs, drops,
    output::{self, stamp},
    progress::{Bar, stop_flag},
    say::{note, say},
};

/// Tracks drawn of each cut: of drops that reach something, and of the others.
const TRACKS: [usize; 2] = [8, 3];
/// Drops of each cut whose ends are drawn.
const ENDS: usize = 120;
/// The plan on the page that a phone reads, px.
const SCREEN_PLAN: (f64, f64) = (540.0, 500.0);
/// Most of a brief that is read back, bytes.
const READ_MAX: u64 = 64 << 20;

/// What a target's ending asks for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Html,
    Pdf,
}

pub(super) fn brief(scene: &Path, args: &BriefArgs, run: &RunArgs) -> Result<(), Failure> {
    if let Some(file) = &args.check {
        return check(&super::load(scene)?, file);
    }
    let targets: Vec<(PathBuf, Form)> = args
        .to
        .iter()
        .map(|path| target(path, args.force).map(|form| (path.clone(), form)))
        .collect::<Result<_, _>>()?;
    let job = super::load(scene)?;
    if job.scene.cuts.is_empty() {
        return Err(Failure::CantAnswer("the scene has no cuts".into()));
    }
    let stop = stop_flag();
    let ask = Ask {
        drops: args.drops,
        seed: run.seed,
        law: run.ground.law(),
        grounds: args.grounds,
        drops_per_ground: drops::per_ground(run, Ask::default().drops_per_ground),
        ..Ask::default()
    };
    let pool = drops::pool(args.threads)?;
    let files = pool.install(|| {
        let bar = Bar::new();
        let result = forecast::run(&job, &ask, &stop, &|p| bar.tell(p))?;
        if result.forecast.partial {
            return Err(Failure::Interrupted);
        }
        written(&job, &ask, &result, &targets, args.paper.map(Into::into))
    })?;
    if stop.load(Ordering::Relaxed) {
        return Err(Failure::Interrupted);
    }
    for ((path, _), bytes) in targets.iter().zip(&files) {
        scene::write(path, bytes, args.force)?;
    }
    let names: Vec<String> = targets.iter().map(|(p, _)| p.display().to_string()).collect();
    say(&format!(
        "Wrote {}: {} cuts, {} drops each as told and {} grounds.\n{}\nRead it before it is handed \
         out; fill in who does what. Whether it still fits the scene: tumblewood brief --check {} \
         {}\n",
        names.join(" and "),
        job.scene.cuts.len(),
        ask.drops,
        ask.grounds,
        stamp(&job, &ask).line(),
        names.first().map_or("", |n| n),
        scene.display()
    ))
}

/// What a target's name asks for, if something can be written there.
fn target(path: &Path, force: bool) -> Result<Form, Failure> {
    let refuse = |what: String, allowed: &str| {
        Failure::input(format!("--to: read {}; {what}; allowed: {allowed}", path.display()))
    };
    let ending = path.extension().and_then(|e| e.to_str()).map(str::to_lowercase);
    let form = match ending.as_deref() {
        Some("html" | "htm") => Form::Html,
        Some("pdf") => Form::Pdf,
        _ => return Err(refuse("no page or document".into(), "a name that ends in .html or .pdf")),
    };
    if path.is_dir() {
        return Err(refuse("it is a directory".into(), "a file"));
    }
    if path.exists() && !force {
        return Err(refuse("it is there already".into(), "another name, or --force to replace it"));
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Better to know now than after the drops.
    tempfile::tempfile_in(folder)
        .map(|_| form)
        .map_err(|e| refuse(e.to_string(), "a file in a folder that can be written"))
}

fn written(
    job: &Job,
    ask: &Ask,
    run: &Run,
    targets: &[(PathBuf, Form)],
    paper: Option<Paper>,
) -> Result<Vec<Vec<u8>>, Failure> {
    let world = job.world(Outer::Told)?;
    let ready = run
        .told
        .iter()
        .map(|(index, _)| world.cut(*index))
        .collect::<Result<Vec<CutReady>, _>>()?;
    let stamp = stamp(job, ask);
    let turning = ready
        .iter()
        .map(|cut| turning(job, ask, cut))
        .collect::<Result<Vec<brief::Turning>, Failure>>()?;
    // Where cuts that are felled or pulled lie, as they are cut: a small map has room for no more.
    let rings: Vec<plan::Ring> = turning
        .iter()
        .filter_map(|t| t.reach.as_ref())
        .filter_map(|map| reach_rings::rings(map).into_iter().next())
        .collect();
    let shown = shown(job, ask, run)?;
    let told: Vec<&Outcome> =
        run.told.iter().flat_map(|(_, fates)| fates).filter_map(|f| f.outcome()).collect();
    let plan_words = format!(
        "Shown: the ends of {} of {} drops as told, of all cuts, evenly picked but for the {} whose \
         tracks are drawn: of each cut at most {} that reach a target and {} that don't. The lines \
         are counted over all of them.",
        shown.len(),
        told.len(),
        shown.iter().filter(|(_, track)| track.is_some()).count(),
        TRACKS[0],
        TRACKS[1]
    );
    let lines = plan::lines_passed(
        told.iter()
            .map(|outcome| {
                let view = plan::DropView { outcome, track: None };
                (plan::farthest_m(world.site.stump_m, &view), outcome.ending == Ending::Rest)
            })
            .collect(),
    );
    let sheet = brief::sheet(&Brief {
        scene: &job.scene,
        stamp: &stamp,
        run,
        ready: &ready,
        turning: &turning,
        plan_words: &plan_words,
        turn_rad: job.frame().turn_rad,
    });
    let views: Vec<plan::DropView<'_>> = shown
        .iter()
        .map(|(outcome, track)| plan::DropView { outcome, track: track.as_ref() })
        .collect();
    let ground_words = words::ground(&job.scene.site.ground);
    let arrows = brief::arrows(&job.scene);
    let faces: Vec<plan::FaceArrow<'_>> = arrows
        .iter()
        .map(|(told, name)| plan::FaceArrow { azimuth_rad: told + job.frame().turn_rad, name })
        .collect();
    let title = format!("Plan: {}", job.scene.name);
    let input = plan::Plan {
        title: &title,
        subtitle: "",
        stamp: &stamp,
        units: job.scene.units,
        site: &world.site,
        ground_words: &ground_words,
        patch_words: &[],
        north_words: words::north(job.scene.site.north),
        lines: Some(&lines),
        rings: &rings,
        faces: &faces,
        drops: &views,
        forecast: None,
        standing: None,
    };
    let draw = |size: (f64, f64)| plan::map_alone(&input, size);
    targets.iter().map(|(_, form)| one(&sheet, *form, paper, job.scene.units, &draw)).collect()
}

/// What turns a piece and what holds it, before it moves; where it is felled from the ground or
/// pulled, its felling numbers and which way it can lie.
fn turning(job: &Job, ask: &Ask, ready: &CutReady) -> Result<brief::Turning, Failure> {
    let cut = job.scene.cuts.get(ready.index);
    let strap_moment_n_m = match (cut, &ready.method) {
        (
            Some(Cut { release: ReleaseSpec::BoredHinge { strap_m, .. }, .. }),
            Method::BoredHinge(hinge),
        ) => Some(strap_moment_n_m(hinge, ready.stand().cut_radius_m, strap_m.told)),
        _ => None,
    };
    let on_hinge = matches!(ready.method, Method::Hinge(_) | Method::BoredHinge(_));
    let from_ground = cut.is_some_and(|c| c.cutter == Cutter::OnTheGround);
    let lines = || job.scene.lines.iter().filter(|line| line.cut() == ready.id);
    let is_pulled = lines().any(|line| line.pull().is_some());
    let (mut numbers, mut reach) = (None, None);
    if on_hinge && from_ground || lines().next().is_some() {
        let question = Question { cut: ready.index, seed: ask.seed, draws: felling::DRAWS };
        numbers = match felling::fell(job, &question) {
            Ok(felling) => Some(felling),
            Err(FellError::NoHinge(..)) => None,
            Err(FellError::Job(error)) => return Err(error.into()),
        };
    }
    if on_hinge && (from_ground || is_pulled) {
        let geometry = MapAsk { cut: ready.index, drops: 0, seed: ask.seed, law: ask.law };
        reach = match reach_map(job, &geometry, &AtomicBool::new(false), &|_| {}) {
            Ok(map) => Some(map),
            Err(MapError::NoHinge(_)) => None,
            Err(MapError::Job(error)) => return Err(error.into()),
        };
    }
    let balance = describe(&ready.stand(), &ready.method);
    Ok(brief::Turning { balance, strap_moment_n_m, felling: numbers, reach })
}

fn one(
    sheet: &Sheet,
    form: Form,
    paper: Option<Paper>,
    units: Units,
    draw: &dyn Fn((f64, f64)) -> String,
) -> Result<Vec<u8>, Failure> {
    match form {
        Form::Html => Ok(brief::html(sheet, &draw(SCREEN_PLAN)).into_bytes()),
        Form::Pdf => {
            let usual = match units {
                Units::Metric => Paper::A4,
                Units::Imperial => Paper::Letter,
            };
            brief::pdf(sheet, paper.unwrap_or(usual), draw)
                .map_err(|e| Failure::CantAnswer(e.to_string()))
        }
    }
}

/// Drops that the plan shows, evenly picked from each cut, with the tracks of some.
fn shown(job: &Job, ask: &Ask, run: &Run) -> Result<Vec<(Outcome, Option<Track>)>, Failure> {
    let reaches = |o: &Outcome| o.reaches.iter().any(|r| matches!(r, Reach::Reached { .. }));
    let mut wanted = Vec::new();
    for (index, fates) in &run.told {
        let left: Vec<(u32, &Outcome)> = fates
            .iter()
            .enumerate()
            .filter_map(|(i, fate)| Some((i as u32, fate.outcome()?)))
            .collect();
        let step = left.len().div_ceil(ENDS).max(1);
        let mut room = TRACKS;
        for (at, (drop, outcome)) in left.into_iter().enumerate() {
            let room = &mut room[usize::from(!reaches(outcome))];
            let tracked = *room > 0;
            *room = room.saturating_sub(1);
            if tracked || at % step == 0 {
                wanted.push((*index, drop, outcome, tracked));
            }
        }
    }
    wanted
        .into_par_iter()
        .map(|(index, drop, outcome, tracked)| {
            let track = if tracked {
                let again = replay(job, ask, Outer::Told, index, drop, output::SAMPLE_S)?;
                again.what.ok().map(|(track, _)| track)
            } else {
                None
            };
            Ok((outcome.clone(), track))
        })
        .collect()
}

/// Says whether a brief still fits its scene; exit code 1 if it doesn't.
fn check(job: &Job, file: &Path) -> Result<(), Failure> {
    let refuse = |what: String| {
        Failure::input(format!(
            "--check: read {}; {what}; allowed: a brief that tumblewood brief wrote, HTML or PDF",
            file.display()
        ))
    };
    let about = std::fs::metadata(file).map_err(|e| refuse(e.to_string()))?;
    if !about.is_file() {
        return Err(refuse("it is no plain file".into()));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(file)
        .and_then(|f| f.take(READ_MAX).read_to_end(&mut bytes))
        .map_err(|e| refuse(e.to_string()))?;
    let made = brief::read_stamp(&bytes).ok_or_else(|| refuse("no stamp is in it".into()))?;
    let laws = [GroundLaw::Soil, GroundLaw::Rigid].map(GroundLaw::name);
    let hash = |text: &str| text.chars().take(12).collect::<String>();
    let from = format!(
        "{} was made {} from scene {}, law {}, seed {}.",
        file.display(),
        made.date,
        hash(&made.scene_hash),
        made.law,
        made.seed
    );
    let mut changed = Vec::new();
    if made.scene_hash != job.scene.hash {
        changed.push(format!(
            "THE SCENE HAS CHANGED SINCE: {} is now {}.",
            job.scene.source.name,
            hash(&job.scene.hash)
        ));
    }
    if !laws.contains(&made.law) {
        changed.push(format!("THE LAW HAS CHANGED SINCE: it is now {}.", laws[0]));
    }
    if changed.is_empty() {
        return say(&format!("{from}\nThe scene is as it was, and so is the law.\n"));
    }
    say(&format!("{from}\n{}\nMake the brief anew before it is used.\n", changed.join("\n")))?;
    note("The brief does not fit the scene any more.");
    Err(Failure::Said(1))
}
