//! Worlds of a job: every draw of every scene can be built, and what it says it drew it drew.

use std::fs;

use tumblewood::{
    job::{Job, Outer},
    scene,
};
use tumblewood_tests::root;

fn load(text: &str) -> Job {
    let mut scene = scene::parse(text, "a scene").unwrap_or_else(|e| panic!("{e}"));
    scene.folder = root().join("scenes");
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

fn text(name: &str) -> String {
    fs::read_to_string(root().join("scenes").join(name)).expect("a scene")
}

const SCENES: [&str; 4] = ["lake-oak.ron", "lane-ash.ron", "lidar-slope.ron", "terrace-walnut.ron"];

#[test]
fn prop_every_draw_of_every_scene_is_a_world_with_all_its_cuts() {
    for name in SCENES {
        let job = load(&text(name));
        for index in 0..24 {
            let world =
                job.world(Outer::Drawn { seed: 9, index }).unwrap_or_else(|e| panic!("{e}"));
            assert!(world.inputs.values().all(|v| v.is_finite()), "{name} {index}");
            for cut in 0..job.scene.cuts.len() {
                let ready = world.cut(cut).unwrap_or_else(|e| panic!("{name} {index} {cut}: {e}"));
                assert!(ready.section.piece.mass_kg > 0.0);
            }
        }
    }
}

#[test]
fn prop_a_draw_that_shortens_the_stem_takes_the_cut_down_with_it() {
    // No top, an eyed height and a cut near it: half of the draws are shorter than the cut.
    let text = text("lake-oak.ron").replacen("topped_at: \"62 ft\",", "", 1).replacen(
        "from: \"56 ft\", to: \"62 ft\"",
        "from: \"84 ft\", to: \"91 ft\"",
        1,
    );
    let job = load(&text);
    for index in 0..24 {
        let world = job.world(Outer::Drawn { seed: 1, index }).expect("a world");
        let ready = world.cut(0).unwrap_or_else(|e| panic!("{index}: {e}"));
        let length = ready.section.piece.length_m();
        assert!((length / (7.0 * 0.3048) - 1.0).abs() < 0.05, "{index}: {length}");
    }
}

#[test]
fn prop_diameters_whose_heights_are_drawn_past_each_other_still_make_a_stem() {
    let close = "diameters: [(Eyed(\"38 ft\"), \"18 in\"), (Eyed(\"40 ft\"), \"17 in\"),";
    let text = text("lake-oak.ron").replacen(
        "diameters: [(\"2 ft\", \"33 in\"), (\"20 ft\", \"22 in\"), (\"40 ft\", \"17 in\"),",
        close,
        1,
    );
    assert!(text.contains(close));
    let job = load(&text);
    for index in 0..24 {
        let world = job.world(Outer::Drawn { seed: 1, index }).unwrap_or_else(|e| panic!("{e}"));
        let heights: Vec<f64> = world.stem.stations.iter().map(|s| s.height_m).collect();
        assert!(heights.is_sorted_by(|a, b| a < b), "{index}: {heights:?}");
    }
}

#[test]
fn prop_the_stump_is_at_zero_on_either_side_of_a_step() {
    for side in ["Left", "Right"] {
        let text =
            text("terrace-walnut.ron").replacen("low_side: Left", &format!("low_side: {side}"), 1);
        let world = load(&text).world(Outer::Told).expect("a world");
        let stump = world.site.terrain.surface(0.0, 0.0).expect("ground").height_m;
        assert!(stump.abs() < 1e-5, "{side}: {stump}");
    }
}

#[test]
fn prop_only_what_was_drawn_is_listed_as_drawn() {
    let text = text("lake-oak.ron").replacen("soil: ThumbEasily", "soil: DontKnow", 1);
    let job = load(&text);
    for index in 0..24 {
        let inputs = job.world(Outer::Drawn { seed: 1, index }).expect("a world").inputs;
        let has = |key: &str| inputs.contains_key(&format!("site.ground.soil.{key}"));
        assert!(has("shear_strength") != has("friction_angle"), "{index}: {inputs:?}");
    }
}

#[test]
fn prop_told_is_repeatable_and_an_added_target_changes_no_other_draw() {
    let plain = text("lake-oak.ron");
    let more = plain.replacen(
        "targets: [",
        "targets: [ Person(id: \"watcher\", at: At(azimuth: \"25 deg\", distance: \"30 ft\")),",
        1,
    );
    let (plain, more) = (load(&plain), load(&more));
    let outer = Outer::Drawn { seed: 4, index: 7 };
    let (a, b) = (plain.world(outer).expect("a world"), more.world(outer).expect("a world"));
    for (path, value) in &a.inputs {
        assert_eq!(b.inputs.get(path), Some(value), "{path}");
    }
    assert_eq!(
        plain.world(Outer::Told).expect("told").site.bodies,
        plain.world(Outer::Told).expect("told").site.bodies
    );
}

#[test]
fn verif_a_compass_azimuth_is_turned_by_the_declination() {
    // 8° west: a needle's 130° is 122° on the map (azimuth + declination).
    let plain = text("lidar-slope.ron");
    let north = plain.find("north:").expect("a north");
    let end = north + plain[north..].find(',').expect("its end");
    let turned =
        format!("{}north: Magnetic(declination: \"-8 deg\"){}", &plain[..north], &plain[end..]);
    let world = load(&turned).world(Outer::Told).expect("a world");
    let ready = world.cut(0).expect("a cut");
    let tumblewood::release::Method::FlatCut(spec) = ready.method else {
        panic!("{:?}", ready.method)
    };
    let map_deg = spec.azimuth_rad.to_degrees();
    assert!((map_deg - 122.0).abs() < 1e-9, "{map_deg}");
}
