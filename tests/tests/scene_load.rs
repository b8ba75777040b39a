//! What a scene file on disk can be, besides a good one.

use std::fs;

use tumblewood::scene;

#[test]
fn verif_files_that_are_no_scenes_are_refused_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("bytes.ron"), b"(version: 1,\n name: \"\xff\xfe\")").unwrap();
    fs::write(at("cut.ron"), &scene::starter()[..2000]).unwrap();
    fs::write(
        at("raster.ron"),
        include_str!("../../scenes/lidar-slope.ron").replace("lidar-hillside", "no-such-hillside"),
    )
    .unwrap();
    fs::create_dir(at("folder.ron")).unwrap();
    let huge = fs::File::create(at("huge.ron")).unwrap();
    huge.set_len(scene::FILE_MAX + 1).unwrap();
    for (name, what) in [
        ("nothing.ron", "can't be read"),
        ("folder.ron", "is a directory"),
        ("huge.ron", "too large"),
        ("bytes.ron", "line 2 (byte 21) is no UTF-8"),
        ("cut.ron", "cut.ron:"),
        ("raster.ron", "site.terrain.file: no such file"),
    ] {
        let said = scene::load(&at(name)).unwrap_err().to_string();
        assert!(said.contains(what) && said.contains(name), "{name}: {said}");
        assert!(said.contains("allowed: "), "{name}: {said}");
    }
}

#[test]
fn verif_the_hash_is_that_of_the_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s.ron");
    fs::write(&path, scene::starter()).unwrap();
    let scene = scene::load(&path).unwrap();
    assert_eq!(scene.hash, scene::hash(scene::starter().as_bytes()));
    // FIPS 180-4, the message "abc".
    assert_eq!(
        scene::hash(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(scene.folder, folder.path());
}
