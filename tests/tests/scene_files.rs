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
    for wanted in ["lake-oak", "lane-ash", "lidar-slope", "terrace-walnut"] {
        assert!(names.iter().any(|n| n == wanted), "{wanted} among {names:?}");
    }
}
