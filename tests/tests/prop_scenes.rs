//! Any valid scene: it checks, its forecast says only numbers, and every drop of it is a function
//! of scene, seed and index alone, whatever thread makes it and beside whatever else.

use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{
        Mutex,
        atomic::{AtomicBool, AtomicU64, Ordering},
    },
    thread,
};

use rayon::ThreadPoolBuilder;
use tumblewood::{
    forecast::{Ask, Run, replay, run},
    job::{Job, Outer},
    outcome::Reach,
    report::json,
    scene,
};
use tumblewood_tests::{
    proof::unless_long,
    scenes::{Written, scene as written},
};

const FEW: Ask = Ask {
    cuts: Vec::new(),
    drops: 3,
    grounds: 2,
    drops_per_ground: 2,
    seed: 5,
    law: tumblewood::drop::GroundLaw::Soil,
};

fn load(written: &Written) -> Result<Job, String> {
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    if let Some((name, text)) = &written.beside {
        fs::write(folder.path().join(name), text).map_err(|e| e.to_string())?;
    }
    let mut scene = scene::parse(&written.text, "drawn").map_err(|e| format!("refused: {e}"))?;
    scene.folder = folder.path().to_owned();
    Job::load(scene).map_err(|e| format!("refused: {e}"))
}

fn forecast(job: &Job, ask: &Ask, threads: usize) -> Result<Run, String> {
    let pool = ThreadPoolBuilder::new().num_threads(threads).build().map_err(|e| e.to_string())?;
    pool.install(|| run(job, ask, &AtomicBool::new(false), &|_| {}))
        .map_err(|e| format!("no forecast on {threads} threads: {e}"))
}

fn text(run: &Run) -> Result<String, String> {
    json::forecast(&run.forecast).map_err(|e| format!("no JSON: {e}"))
}

/// That each drop made again alone is the one that was counted.
fn replays(job: &Job, made: &Run) -> Result<(), String> {
    for (cut, fates) in &made.told {
        for (index, fate) in (0..).zip(fates) {
            let again = replay(job, &FEW, Outer::Told, *cut, index, f64::INFINITY)
                .map_err(|e| format!("no replay: {e}"))?;
            let same = match (&again.what, fate.outcome()) {
                (Ok((_, outcome)), Some(counted)) => outcome == counted,
                (Err(missing), None) => format!("{missing:?}") == missing_moment(fate),
                _ => false,
            };
            if !same {
                return Err(format!("cut {cut}, drop {index}: {:?}, counted {fate:?}", again.what));
            }
        }
    }
    let (ground, cut) = (0, made.told[0].0);
    let outer = Outer::Drawn { seed: FEW.seed, index: ground };
    let mut reached = 0;
    for index in 0..FEW.drops_per_ground {
        let again = replay(job, &FEW, outer, cut, index, f64::INFINITY)
            .map_err(|e| format!("no replay: {e}"))?;
        if let Ok((_, outcome)) = again.what {
            let hit = |r: &&Reach| matches!(r, Reach::Reached { .. });
            reached += outcome.reaches.iter().filter(hit).count() as u32;
        }
    }
    let row = &made.forecast.cuts[0].grounds[ground as usize];
    let counted: u32 = row.targets.iter().map(|t| t.reached).sum();
    if reached != counted {
        return Err(format!("a drawn ground's drops reached {reached}, counted {counted}"));
    }
    Ok(())
}

fn missing_moment(fate: &tumblewood::forecast::Fate) -> String {
    match fate {
        tumblewood::forecast::Fate::SatBack { missing_moment_n_m } => {
            format!("{missing_moment_n_m:?}")
        }
        tumblewood::forecast::Fate::Left(_) => String::new(),
    }
}

fn holds(number: u64, written: &Written) -> Result<(), String> {
    let job = load(written)?;
    let made = forecast(&job, &FEW, 1)?;
    let said = text(&made)?;
    // No word of a number that is none, in what is counted or in what is told.
    let fates = format!("{:?}", made.told);
    for no_number in ["NaN", "inf"] {
        if fates.contains(no_number) {
            return Err(format!("{no_number} in {fates}"));
        }
    }
    // Every scene with one other pool; which one goes round.
    for threads in if number.is_multiple_of(2) { [4, 2] } else { [2, 4] } {
        let other = forecast(&job, &FEW, threads)?;
        if text(&other)? != said || other.told != made.told {
            return Err(format!("another answer on {threads} threads"));
        }
    }
    let other = forecast(&job, &Ask { seed: FEW.seed + 1, ..FEW }, 2)?;
    if other.told == made.told {
        return Err("another seed made the same drops".to_owned());
    }
    replays(&job, &made)
}

#[test]
fn prop_any_valid_scene_is_forecast_and_its_drops_are_functions_of_their_index() {
    let scenes = unless_long("drawn scenes", 24, 200);
    // Plain threads: a pool's worker that waits for another pool takes up the next scene meanwhile,
    // one on top of the other until its stack is full.
    let (next, wrong) = (AtomicU64::new(0), Mutex::new(Vec::new()));
    let work = || {
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= scenes {
                return;
            }
            let written = written(number);
            let held = catch_unwind(AssertUnwindSafe(|| holds(number, &written)))
                .unwrap_or_else(|_| Err("a panic, see above".to_owned()));
            if let Err(why) = held {
                let short: Vec<&str> =
                    written.text.lines().map(|l| l.get(..4000).unwrap_or(l)).collect();
                let text = format!("scene {number}: {why}\n{}", short.join("\n"));
                wrong.lock().expect("no panic holds it").push((number, text));
            }
        }
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(work);
        }
    });
    let mut wrong = wrong.into_inner().expect("no panic holds it");
    wrong.sort();
    let wrong: Vec<String> = wrong.into_iter().map(|(_, text)| text).collect();
    assert!(wrong.is_empty(), "{} of {scenes}\n{}", wrong.len(), wrong.join("\n\n"));
}

/// Words of the file that no drawn scene may lack for long.
const WORDS: &str = "Metric Imperial Exactly( Measured( Paced( Eyed( Within( Between( DontKnow \
    Transects( Inline( AsciiGrid( GeoTiff( Magnetic( north:_True north:_Grid low_side:_Left \
    low_side:_Right At( Station( Local( Grid( FistEasily ThumbEasily ThumbWithEffort ThumbIndents \
    Thumbnail, ThumbnailWithDifficulty HeelNoMark HeelOneCm HeelThreeCm HeelOverTheWelt Gravel \
    Pavement Litter( Turf( Bare Lawn Ankle Knee Bumps( Dry Damp Wet undergrowth hard_at wind: \
    topped_at Upright Plumb( Angle( shell Structure( windows:_[( roof KeepTree( limbs Person( \
    Vehicle( Road( Path( Wire( sag climber:_OnSpar climber:_Away climber:_MovedTo( \
    climber_line:_DownTheSpar climber_line:_Away climber_line:_MovedTo( feller:_AtStump \
    feller:_MovedTo( BarrierLog( BrushMat( Wall( Stump( Staked AgainstStump InDent NotHeld \
    stubs:_[( Hinge( Snap( PushOver( BoredHinge( push: width: OnTheSpar OnTheGround Cleared \
    LeftWhereItStops LeftAt(";

#[test]
fn prop_drawn_scenes_use_every_word_and_every_truth_of_them_can_be_built() {
    let scenes = unless_long("drawn scenes built", 150, 2_000);
    let mut missing: Vec<String> = WORDS.split_whitespace().map(|w| w.replace('_', " ")).collect();
    // Words that hold an underscore of their own.
    for word in &mut missing {
        for own in ["low_side", "hard_at", "topped_at", "climber_line"] {
            *word = word.replace(&own.replace('_', " "), own);
        }
    }
    let mut wrong = Vec::new();
    for number in 0..scenes {
        let written = written(number);
        missing.retain(|word| !written.text.contains(word.as_str()));
        let built = load(&written).and_then(|job| {
            for index in 0..3 {
                let outer = Outer::Drawn { seed: number, index };
                let world = job.world(outer).map_err(|e| format!("draw {index}: {e}"))?;
                for cut in 0..job.scene.cuts.len() {
                    let ready = world.cut(cut).map_err(|e| format!("draw {index}: {e}"))?;
                    let mass_kg = ready.section.piece.mass_kg;
                    if !mass_kg.is_finite() || mass_kg <= 0.0 {
                        return Err(format!("draw {index}: cut {cut} weighs nothing"));
                    }
                }
            }
            Ok(())
        });
        wrong.extend(built.err().map(|why| format!("scene {number}: {why}")));
    }
    assert!(wrong.is_empty(), "{} of {scenes}\n{}", wrong.len(), wrong.join("\n"));
    assert!(missing.is_empty(), "no drawn scene says {missing:?}");
}
