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

const SCENES: [&str; 5] =
    ["garden-maple.ron", "lake-oak.ron", "lane-ash.ron", "lidar-slope.ron", "terrace-walnut.ron"];

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

/// The oak with a person eyed to stand half a metre within the north end of the ground as told.
fn watcher_at_the_edge() -> Job {
    let plain = text("lake-oak.ron");
    let (_, high) = load(&plain).world(Outer::Told).expect("a world").site.terrain.bounds();
    load(&plain.replacen(
        "targets: [",
        &format!(
            "targets: [ Person(id: \"watcher\", at: At(azimuth: \"0 deg\", distance: Eyed(\"{:.2} \
             m\"))),",
            high.y - 0.5
        ),
        1,
    ))
}

#[test]
fn prop_a_place_drawn_off_the_terrain_is_a_warning_and_the_forecast_goes_on() {
    use std::sync::atomic::AtomicBool;
    use tumblewood::forecast::{Ask, run};
    let job = watcher_at_the_edge();
    let ask = Ask { cuts: vec![0], drops: 2, grounds: 24, drops_per_ground: 1, ..Ask::default() };
    let run = run(&job, &ask, &AtomicBool::new(false), &|_| {}).expect("a forecast");
    let grounds = &run.forecast.cuts[0].grounds;
    let warned = grounds
        .iter()
        .filter(|g| g.warnings.iter().any(|w| w.contains("watcher lies beyond the terrain")))
        .count();
    assert!(warned > 4 && warned < 24, "{warned}");
    // It stands as high as the nearest ground does.
    for ground in grounds.iter().filter(|g| !g.warnings.is_empty()) {
        let outer = Outer::Drawn { seed: 1, index: u64::from(ground.id) };
        let world = job.world(outer).expect("a world");
        let watcher = world.site.bodies.iter().find(|b| b.id == "watcher").expect("there");
        let tumblewood::site::Shape::Capsule { from_m, .. } = &watcher.shapes[0] else {
            panic!("{watcher:?}")
        };
        let (low, high) = world.site.terrain.bounds();
        let near = from_m.truncate().clamp(low, high);
        let height = world.site.terrain.surface(near.x, near.y).expect("ground").height_m;
        assert!((from_m.z - 0.25 - height).abs() < 1e-9 && from_m.y > high.y, "{from_m}");
    }
}

#[test]
fn prop_words_that_were_drawn_are_listed() {
    let text = text("lake-oak.ron")
        .replacen("soil: ThumbEasily", "soil: DontKnow", 1)
        .replacen("cover: Litter(\"3 in\")", "cover: DontKnow", 1)
        .replacen(
            "lean: Plumb(offset: \"4 ft\", height: \"40 ft\", toward: Eyed(\"190 deg\"))",
            "lean: Upright",
            1,
        );
    let job = load(&text);
    let told = job.world(Outer::Told).expect("a world");
    assert!(told.words.is_empty() && told.inputs.is_empty());
    let mut seen = std::collections::BTreeSet::new();
    for index in 0..24 {
        let world = job.world(Outer::Drawn { seed: 1, index }).expect("a world");
        let loose = world.inputs["site.ground.soil.loose"];
        let word = &world.words["site.ground.soil.word"];
        assert_eq!(loose == 1.0, word.starts_with("loose"), "{word}");
        assert_eq!(loose == 1.0, world.inputs.contains_key("site.ground.soil.friction_angle"));
        let bare = world.inputs["site.ground.cover.bare"];
        assert_eq!(bare == 1.0, world.site.ground.top.is_none());
        assert_eq!(bare == 1.0, world.words["site.ground.cover.word"] == "bare");
        let toward = world.inputs["tree.lean.upright.toward_rad"];
        assert_eq!(world.stem.lean.azimuth_rad, toward);
        seen.insert(word.clone());
        // The patch's soil was told: nothing of it was chosen.
        assert!(!world.words.keys().any(|k| k.starts_with("site.patches")), "{:?}", world.words);
    }
    assert!(seen.len() > 4, "{seen:?}");
}

#[test]
fn prop_a_mat_lies_over_the_ground_beneath_it() {
    use tumblewood::soil::bed::Bed;
    // The mat laid half on the shore, half above it.
    let text = text("lake-oak.ron")
        .replacen(
            "At(from: \"down:1\", azimuth: \"115 deg\", distance: \"8 ft\")",
            "At(from: \"down:4\", azimuth: \"115 deg\", distance: \"30 ft\")",
            1,
        )
        .replacen(
            "At(from: \"down:1\", azimuth: \"295 deg\", distance: \"8 ft\")",
            "At(from: \"down:4\", azimuth: \"115 deg\", distance: \"20 ft\")",
            1,
        )
        .replacen(
            "At(from: \"down:2\", azimuth: \"295 deg\", distance: \"8 ft\")",
            "At(from: \"down:6\", azimuth: \"115 deg\", distance: \"20 ft\")",
            1,
        )
        .replacen(
            "At(from: \"down:2\", azimuth: \"115 deg\", distance: \"8 ft\")",
            "At(from: \"down:6\", azimuth: \"115 deg\", distance: \"30 ft\")",
            1,
        );
    let job = load(&text);
    let outers = (0..8).map(|index| Outer::Drawn { seed: 2, index });
    for outer in std::iter::once(Outer::Told).chain(outers) {
        let world = job.world(outer).expect("a world");
        let bed = Bed::new(&world.site);
        let outline =
            |id: &str| &world.site.patches.iter().find(|p| p.id == id).expect("a patch").outline_m;
        let (mat, shore) = (outline("landing-mat"), outline("shore"));
        let ground_at = |at: glam::DVec2| match bed.ground_at(at.x, at.y) {
            0 => world.site.ground,
            k => world.site.patches[k - 1].ground,
        };
        let middle = |outline: &[glam::DVec2], a: usize, b: usize| 0.5 * (outline[a] + outline[b]);
        // A little in from the mat's upper and lower edge, and bare ground beside both.
        let (top, foot) = (middle(mat, 0, 1), middle(mat, 2, 3));
        let (above, on_shore) = (top.lerp(foot, 0.05), top.lerp(foot, 0.95));
        let beside = shore[0].lerp(shore[2], 0.5);
        let (dry, wet, bare_shore) = (ground_at(above), ground_at(on_shore), ground_at(beside));
        assert_eq!(bare_shore, world.site.patches[0].ground);
        for (over, beneath) in [(dry, world.site.ground), (wet, bare_shore)] {
            assert_eq!(over.soil, beneath.soil);
            assert_eq!(over.adhesion, beneath.adhesion);
            assert_eq!(over.roughness_m, beneath.roughness_m);
            assert_eq!(over.top.expect("a mat").thickness_m, dry.top.expect("a mat").thickness_m);
        }
        assert!(dry.soil != wet.soil);
        assert!(dry.top.expect("a mat").thickness_m > 0.2);
    }
}

#[test]
fn prop_a_gust_pushes_at_most_as_told() {
    use tumblewood::keyed::Key;
    let ratios = |gust: &str| -> Vec<f64> {
        let text = text("lake-oak.ron").replacen("gust: Eyed(\"10 mph\")", gust, 1);
        let ready = load(&text).world(Outer::Told).expect("a world").cut(1).expect("a cut");
        let mean = ready.stand().wind_n.length();
        (0..200).map(|k| ready.scatter(Key::root(3).number(k)).0.wind_n.length() / mean).collect()
    };
    // Twice and a half the mean wind is up to 6.25 times its force.
    let gusty = ratios("gust: Eyed(\"10 mph\")");
    assert!(gusty.iter().all(|r| (1.0..=6.25 + 1e-9).contains(r)));
    assert!(gusty.iter().any(|r| *r < 1.3) && gusty.iter().any(|r| *r > 5.6));
    assert!(ratios("gust: Eyed(\"4 mph\")").iter().all(|r| (r - 1.0).abs() < 1e-12));
}

#[test]
fn regress_no_saved_scene_has_a_cliff_that_no_one_surveyed() {
    for name in SCENES {
        let world = load(&text(name)).world(Outer::Told).expect("a world");
        assert!(!world.warnings.iter().any(|w| w.contains("steeper than")), "{:?}", world.warnings);
    }
}
