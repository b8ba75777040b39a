//! A forecast is its drops, counted: sums, replays, pairing, and its published layout.

use std::{fs, path::Path, sync::atomic::AtomicBool};

use tumblewood::{
    drop::GroundLaw,
    forecast::{Ask, Run, replay, run},
    job::{Job, Outer},
    report::json,
    scene,
};
use tumblewood_tests::root;

fn job(name: &str) -> Job {
    let scene = scene::load(&root().join("scenes").join(name)).expect("a scene");
    Job::load(scene).expect("a job")
}

fn few(cut: usize) -> Ask {
    Ask { cuts: vec![cut], drops: 12, grounds: 4, drops_per_ground: 5, ..Ask::default() }
}

fn forecast(job: &Job, ask: &Ask) -> Run {
    run(job, ask, &AtomicBool::new(false), &|_| {}).expect("a forecast")
}

#[test]
fn prop_counts_add_up_and_the_layout_is_the_published_one() {
    let schema = fs::read_to_string(root().join("assets/forecast.schema.json")).expect("schema");
    let schema: serde_json::Value = serde_json::from_str(&schema).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    for name in ["lake-oak.ron", "lane-ash.ron", "lidar-slope.ron", "terrace-walnut.ron"] {
        let job = job(name);
        let run = forecast(&job, &few(0));
        let text = json::forecast(&run.forecast).expect("no NaN");
        let value: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        let errors: Vec<String> = validator.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
        for cut in &run.forecast.cuts {
            let m = cut.modes;
            assert_eq!(cut.sat_back + m.stayed + m.slid + m.rolled + m.tumbled, 12, "{name}");
            let rests = cut.rests_on;
            let lost = cut.unfinished.left_terrain + cut.unfinished.out_of_time;
            let left = 12 - cut.sat_back;
            assert_eq!(rests.ground + rests.structure + rests.tree + rests.line + lost, left);
            let parts = cut.parts.slid + cut.parts.rolled + cut.parts.tumbled;
            assert!(left == 0 || (parts - 1.0).abs() < 1e-9, "{name}: {parts}");
            assert_eq!(cut.grounds.len(), 4);
            for target in &cut.targets {
                assert!(target.low <= target.share && target.share <= target.high, "{target:?}");
                assert!(target.over_grounds.low <= target.over_grounds.high);
            }
        }
    }
}

#[test]
fn prop_a_drop_made_again_alone_is_the_one_in_the_forecast() {
    let job = job("lake-oak.ron");
    for law in [GroundLaw::Soil, GroundLaw::Rigid] {
        let ask = Ask { law, ..few(2) };
        let run = forecast(&job, &ask);
        let (cut, fates) = &run.told[0];
        for index in [0, 5, 11] {
            let again = replay(&job, &ask, Outer::Told, *cut, index, 0.02).expect("a replay");
            match (again.what, fates[index as usize].outcome()) {
                (Ok((track, outcome)), Some(counted)) => {
                    assert_eq!(&outcome, counted, "{law:?} {index}");
                    assert!(track.samples.iter().all(|s| s.motion.centre_m.is_finite()));
                }
                (Err(_), None) => {}
                (what, counted) => panic!("{index}: {what:?} against {counted:?}"),
            }
        }
    }
}

#[test]
fn prop_asking_for_more_changes_no_drop_that_was_there() {
    let job = job("lake-oak.ron");
    let fewer = forecast(&job, &few(0));
    let more = forecast(&job, &Ask { drops: 20, cuts: vec![1, 0], ..few(0) });
    assert_eq!(fewer.told[0].1[..], more.told[1].1[..12]);
}

#[test]
fn prop_every_cover_behaves() {
    // From wet litter to pavement: every drop ends, nothing is NaN, nothing takes off.
    let text = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("the scene");
    let soils = ["FistEasily", "ThumbWithEffort", "ThumbnailWithDifficulty", "Gravel", "Pavement"];
    for (i, soil) in soils.into_iter().enumerate() {
        for wet in ["Dry", "Wet"] {
            let cover = if soil == "Pavement" { "Bare" } else { "Turf(\"2 in\")" };
            let text = text
                .replacen("soil: ThumbEasily", &format!("soil: {soil}"), 1)
                .replacen("cover: Litter(\"3 in\")", &format!("cover: {cover}"), 1)
                .replacen("wetness: DontKnow", &format!("wetness: {wet}"), 1);
            let mut scene = scene::parse(&text, "covers").unwrap_or_else(|e| panic!("{e}"));
            scene.folder = Path::new(&root()).join("scenes");
            let job = Job::load(scene).expect("a job");
            let ask = Ask { drops: 4, grounds: 1, drops_per_ground: 2, ..few(2) };
            let run = forecast(&job, &ask);
            for outcome in run.told[0].1.iter().filter_map(|f| f.outcome()) {
                assert!(outcome.end_m.is_finite() && outcome.rollout_m.is_finite());
                assert!(outcome.rollout_m < 150.0, "{soil} {wet} {i}: {}", outcome.rollout_m);
                assert!(outcome.height_over_ground_m < 8.0, "{soil} {wet}: {outcome:?}");
            }
        }
    }
}
