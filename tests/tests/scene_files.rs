//! The scenes that come with the program are read and pass every check.

use std::{fs, path::PathBuf};

use tumblewood::scene;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes")
}

#[test]
fn regress_every_saved_scene_is_read() {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "ron") {
            continue;
        }
        let scene = scene::load(&path)
            .unwrap_or_else(|e| panic!("{e}\n{:#?}", e.problem().map(|p| &p.others)));
        assert!(scene.invented, "{path:?} says that it is invented");
        assert!(scene.cuts.len() >= 3, "{path:?} has cuts");
        assert!(!scene.targets.is_empty() && !scene.aids.is_empty());
        assert!(scene.doubts().len() > 20, "{path:?} has numbers in doubt");
        names.push(path.file_stem().unwrap().to_string_lossy().into_owned());
    }
    names.sort();
    for wanted in ["garden-maple", "lake-oak", "lane-ash", "lidar-slope", "terrace-walnut"] {
        assert!(names.iter().any(|n| n == wanted), "{wanted} among {names:?}");
    }
}

/// Every target and aid that comes with a scene lies within what its transects span.
#[test]
fn verif_targets_lie_on_the_measured_ground() {
    use glam::DVec2;
    use scene::{AidKind, MapFrame, Place, Station, TargetKind, TerrainSpec, place_m, station_m};
    let frame = MapFrame::default();
    let mut texts = vec![scene::starter().to_owned()];
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            texts.push(fs::read_to_string(path).unwrap());
        }
    }
    for text in texts {
        let scene = scene::parse(&text, "scene").unwrap();
        let TerrainSpec::Transects(lines) = &scene.site.terrain else { continue };
        let stations = lines.iter().enumerate().flat_map(|(transect, line)| {
            (1..=line.legs.len()).map(move |legs| Station::LegEnd { transect, legs })
        });
        let ground: Vec<DVec2> =
            stations.map(|s| station_m(&scene.site, s, &frame).0).chain([DVec2::ZERO]).collect();
        let mut places: Vec<&Place> = Vec::new();
        for target in &scene.targets {
            match &target.kind {
                TargetKind::Structure { corners: list, .. }
                | TargetKind::Path { line: list, .. } => places.extend(list),
                TargetKind::KeepTree { at, .. }
                | TargetKind::Person { at }
                | TargetKind::Vehicle { at, .. } => places.push(at),
                TargetKind::Wire { from, to, .. } => places.extend([&from.at, &to.at]),
            }
        }
        for aid in &scene.aids {
            match &aid.kind {
                AidKind::BarrierLog { from, to, .. } => places.extend([from, to]),
                AidKind::BrushMat { outline: list, .. } | AidKind::Wall { line: list, .. } => {
                    places.extend(list);
                }
                AidKind::Stump { at, .. } => places.push(at),
            }
        }
        for place in places {
            let at = place_m(&scene.site, place, &frame);
            // Inside the convex hull: no direction in which the place is beyond all stations.
            let beyond = (0..360).any(|deg| {
                let (y, x) = f64::from(deg).to_radians().sin_cos();
                let out = DVec2::new(x, y);
                ground.iter().all(|g| g.dot(out) < at.dot(out) - 1e-6)
            });
            assert!(!beyond, "{}: {place:?} at {at} is off the transects", scene.name);
        }
    }
}
