//! A forecast brought up to date is the forecast made anew: after any edits, in any order, for any
//! growing asks, on one thread or two, and after it was stopped in the middle.

use std::{
    fs,
    sync::{
        Mutex,
        atomic::{AtomicBool, AtomicU32, AtomicU64, Ordering},
    },
    thread,
};

use glam::{DQuat, DVec2, DVec3};
use rayon::ThreadPoolBuilder;
use tumblewood::{
    drop::{GroundLaw, Setup, drop, footprint::Footprint},
    forecast::{
        Ask, Run,
        renew::{Kept, Renewed, renew},
        replay, run,
    },
    ground::Ground,
    job::{Job, Outer},
    keyed::Key,
    motion::Motion,
    release::Launch,
    report::json,
    scene::{
        self,
        doubt::{Doubtful, How, Spread},
        model::{
            After, Aid, AidKind, ClimberLineSpec, ClimberSpec, Cover, FellerSpec, Heel, Held,
            PieceSpec, Place, Scene, SiteSpec, SoilWord, Target, TargetKind, Thumb, Wetness,
        },
        places::{MapFrame, place_m},
    },
    site::{Answer, Body, BodyKind, Patch, Shape, Site},
    soil::testing::{bank, firm, log},
};
use tumblewood_tests::{
    proof::unless_long,
    root,
    scenes::{Written, scene as written},
};

/// A source of choices, one after another.
struct Dice(Key, u64);

impl Dice {
    fn share(&mut self) -> f64 {
        self.1 += 1;
        self.0.number(self.1).uniform()
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.share() * n as f64) as usize).min(n.saturating_sub(1))
    }
}

fn at(east_m: f64, north_m: f64) -> Place {
    Place::Local { east_m: Doubtful::exact(east_m), north_m: Doubtful::exact(north_m) }
}

/// Turns places about their middle and shifts them, or puts their middle somewhere.
fn shifted(site: &SiteSpec, places: &mut [&mut Place], to: To, turn_rad: f64) {
    let frame = MapFrame::default();
    let old: Vec<DVec2> = places.iter().map(|p| place_m(site, p, &frame)).collect();
    let middle = old.iter().sum::<DVec2>() / old.len().max(1) as f64;
    let turn = DVec2::from_angle(turn_rad);
    let new_middle = match to {
        To::By(by) => middle + by,
        To::Spot(spot) => spot,
    };
    for (place, p) in places.iter_mut().zip(old) {
        let p = new_middle + turn.rotate(p - middle);
        **place = at(p.x, p.y);
    }
}

/// Where to.
#[derive(Clone, Copy)]
enum To {
    By(DVec2),
    Spot(DVec2),
}

fn places_of_target(kind: &mut TargetKind) -> Vec<&mut Place> {
    match kind {
        TargetKind::Structure { corners, .. } => corners.iter_mut().collect(),
        TargetKind::KeepTree { at, .. }
        | TargetKind::Person { at }
        | TargetKind::Vehicle { at, .. } => vec![at],
        TargetKind::Path { line, .. } => line.iter_mut().collect(),
        TargetKind::Wire { from, to, .. } => vec![&mut from.at, &mut to.at],
    }
}

fn places_of_aid(kind: &mut AidKind) -> Vec<&mut Place> {
    match kind {
        AidKind::BarrierLog { from, to, .. } => vec![from, to],
        AidKind::BrushMat { outline, .. } => outline.iter_mut().collect(),
        AidKind::Wall { line, .. } => line.iter_mut().collect(),
        AidKind::Stump { at, .. } => vec![at],
    }
}

/// One change of a scene, and what it was; most are where pieces `went`.
fn edited(
    scene: &Scene,
    dice: &mut Dice,
    number: usize,
    went: &[[f32; 3]],
) -> (Scene, &'static str) {
    let (mut new, mut what) = (scene.clone(), "nothing");
    let site = &scene.site;
    let far = dice.below(2) == 1;
    let by = DVec2::new(dice.within(-1.5, 1.5), dice.within(-1.5, 1.5));
    let turn = if dice.below(2) == 1 { dice.within(-1.0, 1.0) } else { 0.0 };
    let spot = match went.get(dice.below(went.len())) {
        Some(p) => DVec2::new(f64::from(p[0]), f64::from(p[1])) + 2.0 * by,
        None => 8.0 * by,
    };
    let (target, aid) = (dice.below(new.targets.len()), dice.below(new.aids.len()));
    let to = if far { To::Spot(spot) } else { To::By(by) };
    let id = format!("new-{number}");
    match dice.below(21) {
        0..=2 => {
            if let Some(target) = new.targets.get_mut(target) {
                shifted(site, &mut places_of_target(&mut target.kind), to, turn);
                what = "a target moved";
            }
        }
        3 | 4 => {
            if let Some(aid) = new.aids.get_mut(aid) {
                shifted(site, &mut places_of_aid(&mut aid.kind), to, turn);
                what = "an aid moved";
            }
        }
        5 if !new.targets.is_empty() => {
            new.targets.remove(target);
            what = "a target taken away";
        }
        6 if !new.aids.is_empty() => {
            new.aids.remove(aid);
            what = "an aid taken away";
        }
        7 => {
            if let Some(target) = scene.targets.get(target) {
                let mut copy = Target { id, kind: target.kind.clone() };
                shifted(site, &mut places_of_target(&mut copy.kind), to, turn);
                new.targets.insert(dice.below(new.targets.len() + 1), copy);
                what = "a target copied";
            }
        }
        8 if new.targets.len() > 1 => {
            let other = dice.below(new.targets.len());
            new.targets.swap(target, other);
            new.aids.reverse();
            what = "targets and aids in another order";
        }
        9 => {
            let kind = TargetKind::Person { at: at(spot.x, spot.y) };
            new.targets.insert(dice.below(new.targets.len() + 1), Target { id, kind });
            what = "a person";
        }
        10 => {
            let half = 2.5 * DVec2::from_angle(dice.within(0.0, 3.0));
            let [from, to] = [spot - half, spot + half].map(|p| at(p.x, p.y));
            let held = [Held::NotHeld, Held::NotHeld, Held::Staked, Held::InDent][dice.below(4)];
            let diameter_m = Doubtful::exact(dice.within(0.2, 0.5));
            let kind = AidKind::BarrierLog { from, to, diameter_m, held };
            new.aids.push(Aid { id, kind });
            what = "a barrier log";
        }
        11 => {
            if let Some(Aid { kind: AidKind::BarrierLog { held, .. }, .. }) = new.aids.get_mut(aid)
            {
                *held = if *held == Held::NotHeld { Held::Staked } else { Held::NotHeld };
                what = "a barrier log held otherwise";
            } else if let Some(Aid { kind: AidKind::BrushMat { thickness_m, .. }, .. }) =
                new.aids.get_mut(aid)
            {
                thickness_m.told *= 0.9;
                thickness_m.spread.low *= 0.9;
                what = "a brush mat of another thickness";
            }
        }
        12 => {
            let corner = |x: f64, y: f64| at(spot.x + x, spot.y + y);
            let outline =
                vec![corner(0.0, 0.0), corner(5.0, 0.0), corner(5.0, 4.0), corner(0.0, 4.0)];
            let kind = AidKind::BrushMat { outline, thickness_m: Doubtful::exact(0.3) };
            new.aids.insert(0, Aid { id, kind });
            what = "a brush mat";
        }
        13 => {
            new.climber = match new.climber {
                ClimberSpec::Away => ClimberSpec::OnSpar,
                _ => ClimberSpec::Away,
            };
            if far {
                new.climber_line = ClimberLineSpec::To(at(spot.x, spot.y));
                new.feller = FellerSpec::At(at(spot.x, spot.y));
            }
            what = "the people at work";
        }
        14 => {
            let cut = dice.below(new.cuts.len());
            if let Some(cut) = new.cuts.get_mut(cut) {
                let toward = cut.release.toward_rad();
                cut.release.set_toward_rad(Doubtful::exact(toward.told + 0.2));
                what = "a face";
            }
        }
        15 => {
            let cut = dice.below(new.cuts.len());
            if let Some(cut) = new.cuts.get_mut(cut)
                && let PieceSpec::Section { from_m, to_m } = &mut cut.piece
            {
                *from_m = Doubtful::exact(from_m.told + 0.1 * (to_m.told - from_m.told));
                what = "a length";
            }
        }
        16 => {
            let patch = dice.below(new.site.patches.len());
            if let Some(patch) = new.site.patches.get_mut(patch) {
                patch.ground.soil = SoilWord::Thumb(Thumb::ThumbIndents);
                patch.ground.cover = Cover::Bare;
                what = "words of a patch";
            }
        }
        17 => {
            new.site.ground.soil = SoilWord::Heel(Heel::OneCm);
            new.site.ground.wetness = Wetness::Damp;
            what = "words of the ground";
        }
        18 => {
            let dbh = &mut new.tree.dbh_m;
            let (low, high) = (0.93 * dbh.told, 1.04 * dbh.told);
            dbh.spread = Spread { low, high, how: How::Stated };
            if let Some(target) = new.targets.get_mut(target) {
                target.id = id;
            }
            what = "a doubt and a name";
        }
        19 => {
            let cut = dice.below(new.cuts.len());
            if let Some(cut) = new.cuts.get_mut(cut) {
                let left = cut.after == After::LeftWhereItStops;
                cut.after = if left { After::Cleared } else { After::LeftWhereItStops };
                what = "a piece left where it stops, or cleared away";
            }
        }
        20 if new.cuts.len() > 1 => {
            let cut = dice.below(new.cuts.len() - 1);
            new.cuts.swap(cut, cut + 1);
            let fits = |scene: &Scene| scene.wrongs().is_empty();
            if fits(scene) && !fits(&new) {
                new = scene.clone();
            } else {
                what = "cuts in another order";
            }
        }
        _ => {}
    }
    (new, what)
}

fn on<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool").install(work)
}

fn go_on(job: &Job, ask: &Ask, kept: &mut Kept) -> Result<Renewed, String> {
    renew(job, ask, kept, &AtomicBool::new(false), &|_| {}).map_err(|e| e.to_string())
}

fn anew(job: &Job, ask: &Ask) -> Result<Run, String> {
    run(job, ask, &AtomicBool::new(false), &|_| {}).map_err(|e| e.to_string())
}

/// That what was renewed is what a full run makes.
fn same(job: &Job, ask: &Ask, renewed: &Renewed, full: &Run) -> Result<(), String> {
    let text = |run: &Run| json::forecast(&run.forecast).map_err(|e| e.to_string());
    let (got, expected) = (text(&renewed.run)?, text(full)?);
    if got != expected {
        let differ = got.lines().zip(expected.lines()).find(|(a, b)| a != b);
        return Err(format!("another forecast: {differ:?}"));
    }
    for ((cut, got), (_, expected)) in renewed.run.told.iter().zip(&full.told) {
        if got != expected {
            let i = got.iter().zip(expected).position(|(a, b)| a != b);
            let fate = |of: &[_]| i.and_then(|i| of.get(i)).map(|f| format!("{f:?}"));
            return Err(format!("cut {cut}, drop {i:?}: {:?}\n{:?}", fate(got), fate(expected)));
        }
    }
    if renewed.run.told.len() != full.told.len() || renewed.run.any != full.any {
        return Err(format!("counted {:?}, {:?} in full", renewed.run.any, full.any));
    }
    // One path of each cut against the drop made again alone.
    for ((cut, fates), paths) in renewed.run.told.iter().zip(&renewed.paths) {
        if paths.len() != fates.len() {
            return Err(format!("cut {cut}: {} paths of {} drops", paths.len(), fates.len()));
        }
        let index = paths.len().saturating_sub(1);
        let Some(path) = paths.get(index) else { continue };
        let again = replay(job, ask, Outer::Told, *cut, index as u32, 0.1)
            .map_err(|e| format!("no replay: {e}"))?;
        let points: Vec<[f32; 3]> = again.what.map_or_else(
            |_| vec![],
            |(t, _)| t.samples.iter().map(|s| s.motion.centre_m.as_vec3().to_array()).collect(),
        );
        if path.0 != points {
            return Err(format!("cut {cut}: another path of drop {index}"));
        }
    }
    Ok(())
}

/// A chain of edits of one scene, brought up to date at each; what was kept of how many drops.
fn chain(job: &Job, number: u64, edits: usize, few: &Ask) -> Result<[u32; 2], String> {
    let mut dice = Dice(Key::root(number).word("edits"), 0);
    let (mut kept, mut counts) = (Kept::default(), [0, 0]);
    let mut went = Vec::new();
    let mut scenes = vec![job.scene.clone()];
    let threads = 1 + (number % 2) as usize;
    let mut asks = [
        Ask { drops: few.drops / 2, grounds: 0, ..few.clone() },
        Ask { grounds: few.grounds.saturating_sub(1), ..few.clone() },
        few.clone(),
    ]
    .into_iter();
    let mut ask = asks.next().unwrap_or_else(|| few.clone());
    for step in 0..=edits {
        let last = scenes.last().ok_or("no scene")?;
        let (scene, what) = match (step, dice.below(5)) {
            (0, _) => (last.clone(), "the first"),
            (_, 0) if scenes.len() > 1 => {
                let before = scenes.len() - 2;
                (scenes.get(before).ok_or("no scene")?.clone(), "undone")
            }
            _ => edited(last, &mut dice, step, &went),
        };
        if step > 0 {
            ask = asks.next().unwrap_or(ask);
        }
        let other = job.with_scene(scene.clone());
        let which = format!("scene {number}, step {step} ({what}), {threads} threads");
        // Now and then it is stopped in the middle first.
        if dice.below(3) == 0 {
            let (stop, left) = (AtomicBool::new(false), AtomicU32::new(dice.below(8) as u32));
            let tell = |_| {
                let more =
                    left.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |n| n.checked_sub(1));
                stop.store(stop.load(Ordering::Relaxed) || more.is_err(), Ordering::Relaxed);
            };
            let _ = on(threads, || renew(&other, &ask, &mut kept, &stop, &tell));
        }
        let full = on(2, || anew(&other, &ask));
        let renewed = on(threads, || go_on(&other, &ask, &mut kept));
        match (&renewed, &full) {
            (Ok(renewed), Ok(full)) => {
                same(&other, &ask, renewed, full).map_err(|e| format!("{which}: {e}"))?;
                // Of one cut alone, those before it that it hangs on are run too.
                let drops: u32 = full.any.iter().map(|any| any.drops).sum();
                let drops = drops.max(renewed.fresh);
                counts = [counts[0] + drops - renewed.fresh, counts[1] + drops];
                scenes.push(scene);
                went = renewed.paths.iter().flatten().flat_map(|path| path.0.clone()).collect();
            }
            // What an edit makes impossible is so both ways, and what was kept stays good.
            (Err(a), Err(b)) if a == b => {}
            (a, b) => {
                return Err(format!("{which}: {:?} {:?}", a.as_ref().err(), b.as_ref().err()));
            }
        }
    }
    Ok(counts)
}

fn load(written: &Written) -> Job {
    let folder = tempfile::tempdir().expect("a folder");
    if let Some((name, text)) = &written.beside {
        fs::write(folder.path().join(name), text).expect("a file");
    }
    let mut scene = scene::parse(&written.text, "drawn").expect("a valid scene");
    scene.folder = folder.path().to_owned();
    Job::load(scene).expect("a job")
}

fn lake_oak() -> Job {
    let scene = scene::load(&root().join("scenes/lake-oak.ron")).expect("a scene");
    Job::load(scene).expect("a job")
}

#[test]
fn prop_renewed_is_run_anew_on_drawn_scenes() {
    let scenes = unless_long("chains of edits of drawn scenes", 8, 200);
    let few = Ask { drops: 6, grounds: 2, drops_per_ground: 3, seed: 5, ..Ask::default() };
    let (next, wrong) = (AtomicU64::new(0), Mutex::new(Vec::new()));
    let counts = Mutex::new([0, 0]);
    // Plain threads: a pool's worker that waits for another pool takes up the next scene meanwhile.
    let work = || {
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= scenes {
                return;
            }
            let job = load(&written(number));
            let law = if number % 8 == 7 { GroundLaw::Rigid } else { GroundLaw::Soil };
            let cuts = vec![number as usize % job.scene.cuts.len().max(1)];
            match chain(&job, number, 5, &Ask { law, cuts, ..few.clone() }) {
                Ok(found) => {
                    let mut counts = counts.lock().expect("no panic holds it");
                    *counts = [counts[0] + found[0], counts[1] + found[1]];
                }
                Err(why) => wrong.lock().expect("no panic holds it").push(why),
            }
        }
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(work);
        }
    });
    let wrong = wrong.into_inner().expect("no panic holds it");
    assert!(wrong.is_empty(), "{} of {scenes}\n{}", wrong.len(), wrong.join("\n\n"));
    let [kept, all] = counts.into_inner().expect("no panic holds it");
    assert!(kept > all / 4, "hardly anything was kept: {kept} of {all}");
}

#[test]
fn prop_renewed_is_run_anew_on_the_lake_bank() {
    let chains = unless_long("chains of edits of the lake bank", 2, 60);
    let few = Ask { drops: 8, grounds: 2, drops_per_ground: 3, ..Ask::default() };
    let job = lake_oak();
    for number in 0..chains {
        let cuts = vec![[1, 2, 0, 3][number as usize % 4], number as usize % 2];
        chain(&job, 1000 + number, 4, &Ask { cuts, ..few.clone() })
            .unwrap_or_else(|e| panic!("{e}"));
    }
}

/// The lake bank with one target moved, m along the bank and down it.
fn moved(job: &Job, id: &str, by_m: DVec2) -> Job {
    let mut scene = job.scene.clone();
    let target = scene.targets.iter_mut().find(|t| t.id == id).expect("the target");
    shifted(&job.scene.site, &mut places_of_target(&mut target.kind), To::By(by_m), 0.0);
    job.with_scene(scene)
}

#[test]
fn prop_few_drops_are_run_again_for_what_few_can_feel() {
    let job = lake_oak();
    let ask =
        Ask { cuts: vec![1, 2], drops: 12, grounds: 2, drops_per_ground: 5, ..Ask::default() };
    let mut kept = Kept::default();
    let first = go_on(&job, &ask, &mut kept).expect("a forecast");
    assert_eq!(first.fresh, 44);
    assert_eq!(go_on(&job, &ask, &mut kept).expect("a forecast").fresh, 0);
    // More told drops, more grounds, fewer, another cut.
    for (ask, fresh) in [
        (Ask { drops: 16, ..ask.clone() }, 8),
        (Ask { grounds: 3, ..ask.clone() }, 10),
        (Ask { drops: 5, grounds: 1, ..ask.clone() }, 0),
        (Ask { cuts: vec![0, 1, 2], drops: 16, grounds: 0, ..ask.clone() }, 16),
    ] {
        assert_eq!(go_on(&job, &ask, &mut kept).expect("a forecast").fresh, fresh, "{ask:?}");
    }
    // The path lies where hardly a piece of these cuts comes; how far others missed it is measured.
    let off = moved(&job, "shore-path", DVec2::new(1.0, -0.5));
    let renewed = go_on(&off, &ask, &mut kept).expect("a forecast");
    assert!(renewed.fresh < 5, "{}", renewed.fresh);
    same(&off, &ask, &renewed, &anew(&off, &ask).expect("a forecast"))
        .unwrap_or_else(|e| panic!("{e}"));
    // The house a little along the shore: some of the third cut come there, none of the second.
    let house = moved(&off, "boathouse", DVec2::new(0.6, -0.3));
    let renewed = go_on(&house, &ask, &mut kept).expect("a forecast");
    assert!((1..25).contains(&renewed.fresh), "{}", renewed.fresh);
    // A stop keeps what is done.
    let stop = AtomicBool::new(false);
    let mut kept = Kept::default();
    let tell = |p: tumblewood::forecast::Progress| stop.store(p.done >= 7, Ordering::Relaxed);
    let part = renew(&job, &ask, &mut kept, &stop, &tell).expect("a forecast");
    assert!(part.run.forecast.partial && (7..=9).contains(&part.fresh), "{}", part.fresh);
    assert_eq!(go_on(&job, &ask, &mut kept).expect("a forecast").fresh, 44 - part.fresh);
    // Other draws, other drops.
    let other = Ask { seed: 2, drops: 2, grounds: 0, ..ask };
    assert_eq!(go_on(&job, &other, &mut kept).expect("a forecast").fresh, 4);
}

/// A thin post of 60 m about the ground at a place, or a small patch of other ground.
fn put(site: &Site, kind: usize, at_m: DVec2) -> (Site, Footprint) {
    let (mut site, mut place) = (site.clone(), Footprint::default());
    if kind == 2 {
        let corners = [(-0.4, -0.4), (0.4, -0.4), (0.4, 0.4), (-0.4, 0.4)];
        let patch = Patch {
            id: "patch".into(),
            outline_m: corners.iter().map(|&(x, y)| at_m + DVec2::new(x, y)).collect(),
            within_m: None,
            ground: Ground { restitution: 0.9, ..firm() },
        };
        place.add_patch(&patch);
        site.patches.push(patch);
    } else {
        let foot = at_m.extend(-30.0);
        let post = Body {
            id: "post".into(),
            kind: BodyKind::Person,
            is_target: true,
            answer: [Answer::Fixed, Answer::Noted][kind].clone(),
            shapes: vec![Shape::Capsule {
                from_m: foot,
                to_m: foot + 60.0 * DVec3::Z,
                radius_m: 0.05,
            }],
        };
        place.add_body(&post);
        site.bodies.push(post);
    }
    place.tidy();
    (site, place)
}

#[test]
fn prop_what_lies_outside_its_footprint_alters_no_bit_of_a_drop() {
    // A log thrown over a bank, 9 m/s: a step of its flight covers most of a metre.
    let site = bank(0.5, Ground { roughness_m: 0.05, ..firm() });
    let piece = log(2.0, 0.15);
    let motion = Motion {
        centre_m: DVec3::new(-6.0, 0.0, 9.0),
        attitude: DQuat::from_rotation_y(0.4),
        velocity_m_s: DVec3::new(9.0, 0.5, 0.0),
        spin_rad_s: DVec3::new(0.0, 1.5, 0.3),
    };
    let go = |site: &Site| {
        let mut setup = Setup::new(site, GroundLaw::Soil);
        setup.horizon_s = 2.5;
        let launch = Launch { motion, time_s: 0.0 };
        let track = drop(&setup, &piece, &launch, Key::root(1), f64::INFINITY);
        (format!("{:?}", track.samples), track.steps, track.footprint)
    };
    let (end, steps, footprint) = go(&site);
    let (mut outside, mut inside, mut altered) = (0, 0, [0; 3]);
    for i in 0..30 {
        for j in 0..14 {
            let at_m = DVec2::new(0.9 * f64::from(i) - 9.0, 0.75 * f64::from(j) - 4.9);
            let kind = (i + j) as usize % 3;
            let (other, place) = put(&site, kind, at_m);
            let (its_end, its_steps, _) = go(&other);
            let same = its_end == end && its_steps == steps;
            if footprint.meets(&place) {
                inside += 1;
                altered[kind] += usize::from(!same);
            } else {
                outside += 1;
                assert!(same, "{kind} at {at_m}");
            }
        }
    }
    assert!(outside > 100 && inside > 60, "{outside} {inside}");
    assert!(altered.iter().all(|n| *n > 1), "{altered:?} of {inside}");
}
