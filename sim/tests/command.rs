//! The whole command, as a user types it.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn tumblewood(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tumblewood"))
        .args(arguments)
        .current_dir(root())
        .output()
        .expect("the command runs")
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn err(output: &Output) -> String {
    // miette wraps lines to the terminal; one space for each run of white and frame.
    let text = String::from_utf8_lossy(&output.stderr).replace(['│', '×', '╰', '─', '▶'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
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
    assert!(out(&forecast).contains("over the grounds that fit your notes"));
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

/// What is typed wrong, and what the answer must name.
const BAD_FLAGS: [(&[&str], &[&str]); 30] = [
    (&["fell"], &["fell"]),
    (&["check"], &["SCENE"]),
    (&["check", "no-such.ron"], &["no-such.ron", "allowed"]),
    (&["check", "scenes"], &["scenes", "allowed"]),
    (&["check", "assets/terrain/lidar-hillside.tif"], &["lidar-hillside.tif"]),
    (&["check", "/dev/null"], &["/dev/null"]),
    (&["new", "scenes"], &["scenes", "allowed"]),
    (&["new", "no/such/folder/job.ron"], &["no/such/folder", "allowed"]),
    (&["bundle", "scenes/lake-oak.ron"], &["--to"]),
    (
        &["bundle", "scenes/lake-oak.ron", "--to", "scenes/lake-oak.ron"],
        &["lake-oak.ron", "allowed"],
    ),
    (&["drop", "scenes/lake-oak.ron", "--cut", "s1"], &["--drop"]),
    (&["drop", "scenes/lake-oak.ron", "--cut", "s9", "--drop", "0"], &["--cut", "s9", "s1"]),
    (&["drop", "scenes/lake-oak.ron", "--cut", "s1", "--drop", "-1"], &["-1"]),
    (&["drop", "scenes/lake-oak.ron", "--cut", "s1", "--drop", "one"], &["one"]),
    (&["forecast", "scenes/lake-oak.ron", "--cut", ""], &["--cut", "allowed", "s1"]),
    (&["forecast", "scenes/lake-oak.ron", "--drops", "0"], &["--drops", "0"]),
    (&["forecast", "scenes/lake-oak.ron", "--drops", "99999999"], &["--drops", "100000"]),
    (&["forecast", "scenes/lake-oak.ron", "--drops", "many"], &["--drops", "many"]),
    (&["forecast", "scenes/lake-oak.ron", "--seed", "1.5"], &["--seed", "1.5"]),
    (&["forecast", "scenes/lake-oak.ron", "--threads", "0"], &["--threads", "0"]),
    (
        &["forecast", "scenes/lake-oak.ron", "--ground", "mud"],
        &["--ground", "mud", "soil", "rigid"],
    ),
    (
        &["forecast", "scenes/lake-oak.ron", "--out", "Cargo.toml"],
        &["--out", "Cargo.toml", "allowed"],
    ),
    (
        &["forecast", "scenes/lake-oak.ron", "--out", "/proc/out"],
        &["--out", "/proc/out", "allowed"],
    ),
    (&["compare", "scenes/lake-oak.ron", "--cut", "s2"], &["--lengths"]),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4"],
        &["--lengths", "4", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "9ft..4ft:1ft"],
        &["--lengths", "9ft..4ft:1ft"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft..9ft:0ft"],
        &["--lengths", "0ft"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "90ft"],
        &["--lengths", "90 ft", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "NaNft"],
        &["--lengths", "NaN"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft", "--faces", "200"],
        &["--faces", "200", "allowed"],
    ),
];

#[test]
fn prop_bad_flags_end_with_what_was_read_and_what_is_allowed() {
    for (arguments, named) in BAD_FLAGS {
        let output = tumblewood(arguments);
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
        assert!(!said.contains("panicked"), "{arguments:?}: {said}");
        for part in named {
            assert!(said.contains(part), "{arguments:?} should name {part}: {said}");
        }
    }
    // Nothing half-written was left where it was refused.
    assert!(!root().join("no").exists());
}

/// What is changed in a good scene, and what the answer must name. (Each slip of the scene reader
/// has its own row in tests/tests/bad_scenes.rs; these go through the whole command, and through
/// what only terrain and stem can tell.)
const BAD_SCENES: [(&str, &str, &[&str]); 34] = [
    ("version: 1", "version: 7", &["bad.ron:3", "version", "allowed"]),
    ("units: Imperial", "unit: Imperial", &["unit", "allowed"]),
    ("dbh: \"27 in\"", "dbh: 27", &["tree.dbh", "27", "unit"]),
    ("dbh: \"27 in\"", "dbh: \"27 kg\"", &["tree.dbh", "27 kg", "allowed"]),
    ("dbh: \"27 in\"", "dbh: \"-27 in\"", &["tree.dbh", "allowed"]),
    ("dbh: \"27 in\"", "dbh: \"NaN in\"", &["tree.dbh", "NaN"]),
    ("dbh: \"27 in\"", "dbh: NaN", &["tree.dbh", "NaN"]),
    ("dbh: \"27 in\"", "dbh: \"0 in\"", &["tree.dbh", "allowed"]),
    ("dbh: \"27 in\"", "dbh: \"1e400 in\"", &["tree.dbh"]),
    ("species: \"White oak\"", "species: \"Wihte oak\"", &["species", "White oak"]),
    ("species: \"White oak\"", "species: \"\"", &["species"]),
    ("height: Eyed(\"92 ft\")", "height: Eyed(\"9 ft\")", &["tree", "allowed"]),
    ("toward: Eyed(\"190 deg\")", "toward: Eyed(\"190 ft\")", &["lean.toward", "190 ft"]),
    ("from: \"56 ft\", to: \"62 ft\"", "from: \"56 ft\", to: \"99 ft\"", &["cuts[0]", "allowed"]),
    ("from: \"56 ft\", to: \"62 ft\"", "from: \"62 ft\", to: \"62 ft\"", &["cuts[0]", "allowed"]),
    ("from: \"56 ft\", to: \"62 ft\"", "from: \"62 ft\", to: \"56 ft\"", &["cuts[0]", "allowed"]),
    ("id: \"s2\"", "id: \"s1\"", &["s1"]),
    ("hinge: \"3/8 in\"", "hinge: \"30 in\"", &["hinge", "allowed"]),
    ("opening: \"70 deg\"", "opening: \"170 deg\"", &["opening", "allowed"]),
    ("depth: \"25 %\"", "depth: \"125 %\"", &["depth", "allowed"]),
    ("release: Snap(", "release: Saw(", &["release", "Saw"]),
    ("soil: ThumbEasily", "soil: ThumbHard", &["ThumbHard", "allowed"]),
    ("cover: Litter(\"3 in\")", "cover: Litter(\"30 ft\")", &["cover", "allowed"]),
    ("wetness: DontKnow", "wetness: Moist", &["wetness", "Moist"]),
    ("azimuth: \"205 deg\", legs", "azimuth: \"2050 deg\", legs", &["azimuth", "allowed"]),
    ("(\"18 ft\", \"-22 deg\")", "(\"18 ft\", \"-92 deg\")", &["legs", "allowed"]),
    ("(\"18 ft\", \"-22 deg\")", "(\"0 ft\", \"-22 deg\")", &["legs", "allowed"]),
    (
        "from: \"down:3\", azimuth: \"115 deg\", legs",
        "from: \"down:9\", azimuth: \"115 deg\", legs",
        &["down:9"],
    ),
    ("id: \"boathouse\"", "id: \"barrier\"", &["barrier"]),
    ("wall: \"8 ft\"", "wall: \"18 ft\"", &["roof", "allowed"]),
    ("held: AgainstStump", "held: Firmly", &["held", "Firmly"]),
    ("distance: \"26 ft\"", "distance: \"2600 ft\"", &["keep-maple", "allowed"]),
    ("wall: 1, along", "wall: 9, along", &["wall", "allowed"]),
    ("cuts: [", "cuts: [,", &[":"]),
];

#[test]
fn prop_bad_scenes_end_with_place_path_what_was_read_and_what_is_allowed() {
    let good = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("the scene");
    let dir = folder();
    let mut wrong = Vec::new();
    for (from, to, named) in BAD_SCENES {
        assert!(good.contains(from), "the good scene holds {from}");
        let file = dir.path().join("bad.ron");
        fs::write(&file, good.replacen(from, to, 1)).expect("written");
        let output = tumblewood(&["check", file.to_str().expect("a name")]);
        let said = err(&output);
        let named = named.iter().all(|part| said.contains(part));
        let placed = said.contains("bad.ron:") || said.contains("terrain");
        if output.status.code() != Some(2) || !named || !placed || said.contains("panicked") {
            wrong.push(format!("{to}: {:?}: {said}", output.status.code()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // Cut off anywhere, a scene is refused, never half read.
    for share in [0.1, 0.3, 0.5, 0.7, 0.9, 0.99] {
        let file = dir.path().join("cut.ron");
        let end = (good.len() as f64 * share) as usize;
        fs::write(&file, &good.as_bytes()[..end]).expect("written");
        let output = tumblewood(&["check", file.to_str().expect("a name")]);
        assert_eq!(output.status.code(), Some(2), "{share}");
        assert!(!err(&output).contains("panicked"), "{share}");
    }
}
