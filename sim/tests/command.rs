//! The whole command, as a user types it.

mod common;

use std::{
    fs,
    process::{Command, Output, Stdio},
};

use common::{err, folder, root, tumblewood};

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn prop_a_new_scene_is_understood_and_answered() {
    let dir = folder();
    let file = dir.path().join("job.ron");
    let name = file.to_str().expect("a name");
    assert_eq!(tumblewood(&["new", name]).status.code(), Some(0));
    let again = tumblewood(&["new", name]);
    assert_eq!(again.status.code(), Some(2), "{}", err(&again));
    assert_eq!(tumblewood(&["new", name, "--force"]).status.code(), Some(0));
    let check = tumblewood(&["check", name]);
    assert_eq!(check.status.code(), Some(0), "{}", err(&check));
    let words = out(&check);
    for part in
        ["Ground", "Tree", "Targets", "Cuts, in order", "Doubts", "Warnings", "not been compared"]
    {
        assert!(words.contains(part), "{part} in:\n{words}");
    }
    let forecast = tumblewood(&["forecast", name, "--drops", "5", "--grounds", "2"]);
    assert_eq!(forecast.status.code(), Some(0), "{}", err(&forecast));
    assert!(out(&forecast).contains("over other grounds that fit your notes"));
}

#[test]
fn prop_every_saved_scene_is_understood() {
    let mut seen = 0;
    for entry in fs::read_dir(root().join("scenes")).expect("scenes") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|e| e != "ron") {
            continue;
        }
        let check = tumblewood(&["check", path.to_str().expect("a name")]);
        assert_eq!(check.status.code(), Some(0), "{}", err(&check));
        assert!(out(&check).contains("(invented)"), "{}", path.display());
        seen += 1;
    }
    assert!(seen >= 4, "{seen}");
}

#[test]
fn prop_same_seed_same_bytes_on_any_number_of_threads() {
    let run = |threads: &str| {
        let output = tumblewood(&[
            "forecast",
            "scenes/lake-oak.ron",
            "--cut",
            "s1",
            "--drops",
            "12",
            "--grounds",
            "2",
            "--threads",
            threads,
            "--json",
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", err(&output));
        output.stdout
    };
    let one = run("1");
    assert_eq!(one, run("2"));
    assert_eq!(one, run("4"));
}

#[test]
fn prop_pictures_tables_and_places_are_written() {
    let dir = folder();
    let folder = dir.path().join("out");
    let name = folder.to_str().expect("a name");
    let output = tumblewood(&[
        "forecast",
        "scenes/lidar-slope.ron",
        "--cut",
        "top-log",
        "--drops",
        "10",
        "--grounds",
        "1",
        "--out",
        name,
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    for file in ["forecast.json", "forecast.txt", "top-log-drops.csv", "top-log-ends.geojson"] {
        assert!(folder.join(file).is_file(), "{file}");
    }
    for picture in ["top-log-plan", "top-log-typical", "top-log-worst"] {
        let svg = fs::read_to_string(folder.join(format!("{picture}.svg"))).expect("an SVG");
        assert!(svg.contains("not been compared with dropped logs"), "{picture}");
        let png = fs::read(folder.join(format!("{picture}.png"))).expect("a PNG");
        assert!(png.starts_with(b"\x89PNG") && png.len() > 20_000, "{picture}");
    }
    // The hillside is in the United States, in UTM zone 15 north.
    let places = fs::read_to_string(folder.join("top-log-ends.geojson")).expect("GeoJSON");
    let places: serde_json::Value = serde_json::from_str(&places).expect("JSON");
    let first = &places["features"][0]["geometry"]["coordinates"];
    let (lon, lat) = (first[0].as_f64().expect("lon"), first[1].as_f64().expect("lat"));
    assert!((-96.0..-90.0).contains(&lon) && (44.0..49.0).contains(&lat), "{lon} {lat}");
}

#[test]
fn prop_a_packed_scene_gives_the_same_answer() {
    let dir = folder();
    let packed = dir.path().join("packed.ron");
    let name = packed.to_str().expect("a name");
    let made = tumblewood(&["bundle", "scenes/lidar-slope.ron", "--to", name]);
    assert_eq!(made.status.code(), Some(0), "{}", err(&made));
    let table = |scene: &str| {
        let drop = tumblewood(&["drop", scene, "--cut", "top-log", "--drop", "3"]);
        assert_eq!(drop.status.code(), Some(0), "{}", err(&drop));
        // All but the line that names the scene's hash.
        out(&drop).lines().filter(|l| !l.starts_with("Scene ")).collect::<Vec<_>>().join("\n")
    };
    assert_eq!(table("scenes/lidar-slope.ron"), table(name));
}

#[test]
fn prop_a_comparison_names_no_winner_and_bounds_what_did_not_reach() {
    let output = tumblewood(&[
        "compare",
        "scenes/lake-oak.ron",
        "--cut",
        "s2",
        "--lengths",
        "4ft..8ft:4ft",
        "--faces",
        "205deg,250deg",
        "--drops",
        "4",
        "--grounds",
        "2",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let words = out(&output);
    for part in ["4 ft", "8 ft", "205 deg", "250 deg", "at most"] {
        assert!(words.contains(part), "{part} in:\n{words}");
    }
    for promise in ["best", "recommend", "winner"] {
        assert!(!words.to_lowercase().contains(promise), "{promise} in:\n{words}");
    }
}

#[test]
fn prop_a_rigid_ground_is_a_second_opinion_and_says_so() {
    let output = tumblewood(&[
        "forecast",
        "scenes/lake-oak.ron",
        "--cut",
        "s1",
        "--drops",
        "3",
        "--grounds",
        "1",
        "--ground",
        "rigid",
        "--json",
    ]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert!(json["law"].as_str().expect("a law").starts_with("rigid"));
}

#[test]
fn prop_every_command_shows_an_example() {
    for command in ["check", "new", "bundle", "drop", "forecast", "compare", "brief", "tune"] {
        let help = tumblewood(&[command, "--help"]);
        assert_eq!(help.status.code(), Some(0), "{command}");
        assert!(out(&help).contains(&format!("Example:\n  tumblewood {command} ")), "{command}");
    }
}

#[test]
fn prop_a_scene_without_cuts_is_understood_but_can_not_be_answered() {
    let dir = folder();
    let file = dir.path().join("job.ron");
    let text = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("the scene");
    let (before, _) = text.split_once("\n    cuts: [").expect("cuts at the end");
    fs::write(&file, format!("{before}\n)\n")).expect("written");
    let name = file.to_str().expect("a name");
    let check = tumblewood(&["check", name]);
    assert_eq!(check.status.code(), Some(0), "{}", err(&check));
    assert!(out(&check).contains("No cuts"));
    let forecast = tumblewood(&["forecast", name]);
    assert_eq!(forecast.status.code(), Some(1));
    assert!(forecast.stdout.is_empty());
    assert!(err(&forecast).contains("no cuts"), "{}", err(&forecast));
}

#[test]
fn prop_check_speaks_the_units_of_the_scene() {
    let check = tumblewood(&["check", "scenes/lake-oak.ron"]);
    let words = out(&check);
    let doubts = words.split("\nDoubts").nth(1).expect("doubts").split("\n\n").next();
    for line in doubts.expect("doubts").lines().skip(1) {
        assert!(
            ["ft", "in", "deg", "lbf", "mph", "%"].iter().any(|u| line.contains(&format!(" {u}"))),
            "{line}"
        );
        assert!(!line.contains(" m ") && !line.contains(" cm "), "{line}");
    }
    // Told as 27 in, and 33 in at 2 ft: one of them is not what it seems.
    assert!(words.contains("tree.dbh says 27 in"), "{words}");
}

/// A command that is stopped as soon as it has made its folder, and what it said.
#[cfg(unix)]
fn interrupted(arguments: &[&str]) -> Output {
    let dir = folder();
    let out = dir.path().join("out");
    let child = Command::new(env!("CARGO_BIN_EXE_tumblewood"))
        .args(arguments)
        .arg("--out")
        .arg(&out)
        .current_dir(root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs");
    while !out.exists() {
        std::thread::yield_now();
    }
    let id = child.id().to_string();
    let sent = Command::new("kill").args(["-INT", &id]).status().expect("kill runs");
    assert!(sent.success());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(fs::read_dir(&out).expect("the folder").count(), 0);
    output
}

#[cfg(unix)]
#[test]
fn prop_an_interrupted_answer_is_printed_and_marked() {
    let long = ["--drops", "100000", "--grounds", "1"];
    let forecast = ["forecast", "scenes/lake-oak.ron", "--cut", "s3"];
    let words = interrupted(&[&forecast[..], &long].concat());
    assert_eq!(words.status.code(), Some(130), "{}", err(&words));
    assert!(out(&words).contains("INTERRUPTED"), "{}", out(&words));
    assert!(err(&words).contains("Stopped before the end"), "{}", err(&words));
    let json = interrupted(&[&forecast[..], &long, &["--json"]].concat());
    assert_eq!(json.status.code(), Some(130));
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(json["partial"], true);
    let compare = ["compare", "scenes/lake-oak.ron", "--cut", "s3", "--lengths", "4ft,6ft"];
    let compare = interrupted(&[&compare[..], &long].concat());
    assert_eq!(compare.status.code(), Some(130));
    let words = out(&compare);
    assert!(words.contains("INTERRUPTED"), "{words}");
    // Where nothing was looked at twice, nothing is bounded.
    let reached = words.contains("What did not reach");
    assert!(!reached || words.contains("at most 100 in 100"), "{words}");
}

#[cfg(unix)]
#[test]
fn prop_a_reader_that_leaves_is_no_failure_and_a_full_disk_is_one() {
    let command = |stdout: Stdio| {
        Command::new(env!("CARGO_BIN_EXE_tumblewood"))
            .args(["check", "scenes/lake-oak.ron"])
            .current_dir(root())
            .stdout(stdout)
            .stderr(Stdio::piped())
            .spawn()
            .expect("the command runs")
    };
    let mut left = command(Stdio::piped());
    drop(left.stdout.take());
    let left = left.wait_with_output().expect("it ends");
    assert_eq!(left.status.code(), Some(0), "{}", err(&left));
    if let Ok(full) = fs::OpenOptions::new().write(true).open("/dev/full") {
        let full = command(full.into()).wait_with_output().expect("it ends");
        assert_eq!(full.status.code(), Some(1), "{}", err(&full));
        assert!(err(&full).contains("stdout can't be written"), "{}", err(&full));
    }
}

#[test]
fn prop_a_place_drawn_off_the_terrain_does_not_end_the_forecast() {
    let dir = folder();
    let text = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("the oak");
    // The known ground of this scene ends 25 m beyond its northernmost leg.
    let told = tumblewood::scene::parse(&text, "the oak").expect("a scene");
    let job = tumblewood::job::Job::load(told).expect("a job");
    let world = job.world(tumblewood::job::Outer::Told).expect("a world");
    let north_m = world.site.terrain.bounds().1.y;
    let with = |file: &str, distance_m: f64| {
        let watcher = format!(
            "targets: [ Person(id: \"watcher\", at: At(azimuth: \"0 deg\", distance: \
             Eyed(\"{distance_m:.2} m\"))),"
        );
        let path = dir.path().join(file);
        fs::write(&path, text.replacen("targets: [", &watcher, 1)).expect("written");
        path.to_str().expect("a name").to_owned()
    };
    let run = |file: &str| {
        tumblewood(&["forecast", file, "--cut", "s1", "--drops", "2", "--grounds", "4"])
    };
    let near = run(&with("near.ron", north_m - 0.5));
    assert_eq!(near.status.code(), Some(0), "{}", err(&near));
    let words = out(&near);
    assert!(words.contains("Warnings of the drawn grounds"), "{words}");
    assert!(words.contains("watcher lies beyond the terrain"), "{words}");
    let off = run(&with("off.ron", north_m + 0.5));
    assert_eq!(off.status.code(), Some(2), "{}", err(&off));
    assert!(err(&off).contains("watcher"), "{}", err(&off));
}

#[test]
fn prop_terrain_warnings_are_in_the_scenes_units() {
    for (scene, margin) in [("lake-oak", "up to 82 ft out"), ("lane-ash", "up to 25 m out")] {
        let check = tumblewood(&["check", &format!("scenes/{scene}.ron")]);
        assert!(out(&check).contains(margin), "{}", out(&check));
    }
    // A bored hinge's strap is reckoned with.
    assert!(
        out(&tumblewood(&["check", "scenes/lake-oak.ron"])).contains("crooked grain holds less")
    );
}

/// `view` finds the window's program beside itself or on the path, hands it the scene and gives
/// its answer back.
#[cfg(unix)]
#[test]
fn prop_view_starts_the_window_or_says_what_is_missing() {
    use std::os::unix::fs::PermissionsExt as _;
    let dir = folder();
    let alone = dir.path().join("tumblewood");
    fs::copy(env!("CARGO_BIN_EXE_tumblewood"), &alone).expect("a copy");
    let view = |path: &str| {
        let output = Command::new(&alone).args(["view", "a bank.ron"]).env("PATH", path).output();
        output.expect("it runs")
    };
    let missing = view("/nowhere");
    assert_eq!(missing.status.code(), Some(1));
    assert!(err(&missing).contains("no tumblewood-viewer beside this program or on PATH"));
    for (place, code) in [("on the path", 0), ("beside", 2)] {
        let at = if place == "beside" { dir.path().to_owned() } else { dir.path().join("bin") };
        fs::create_dir_all(&at).expect("a folder");
        let viewer = at.join("tumblewood-viewer");
        fs::write(&viewer, format!("#!/bin/sh\necho \"{place}: $1\"\nexit {code}\n")).expect("it");
        fs::set_permissions(&viewer, fs::Permissions::from_mode(0o755)).expect("it");
        let shown = view(&format!("{}:/bin:/usr/bin", dir.path().join("bin").display()));
        assert_eq!(shown.status.code(), Some(code), "{}", err(&shown));
        assert_eq!(out(&shown), format!("{place}: a bank.ron\n"));
    }
}
