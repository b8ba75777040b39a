//! Bad input: each slip ends with exit code 2, where it is, what was read and what is allowed;
//! nothing panics, hangs or is left half-written.

mod common;

use std::{
    fs,
    path::{Path, PathBuf},
};

use common::{err, folder, root, tumblewood};

/// What is typed wrong, and what the answer must name.
const BAD_FLAGS: &[(&[&str], &[&str])] = &[
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
    (&["compare", "scenes/lake-oak.ron"], &["--cut"]),
    (&["compare", "scenes/lake-oak.ron", "--order", "s1,s2", "--cut", "s1"], &["--order", "--cut"]),
    (&["compare", "scenes/lake-oak.ron", "--order", "s1,s2"], &["--order", "1 order", "allowed"]),
    (
        &["compare", "scenes/lake-oak.ron", "--order", "s1,s2", "--order", "s2,s1"],
        &["lake-oak.ron", "--order", "s2,s1", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--order", "s1,s9", "--order", "s9,s1"],
        &["--order", "s9", "s1, s2, s3, s4"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "4ft..9ft",
            "--search",
            "100",
        ],
        &["--search", "100", "at least"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "4ft,9ft",
            "--search",
            "90000",
        ],
        &["--lengths", "allowed"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "4ft..9ft",
            "--faces",
            "180deg",
            "--search",
            "90000",
        ],
        &["--faces", "allowed"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "9ft..4ft",
            "--search",
            "90000",
        ],
        &["--lengths", "9ft..4ft", "backwards"],
    ),
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
    (&["brief", "scenes/lake-oak.ron"], &["--to"]),
    (
        &["brief", "scenes/lake-oak.ron", "--to", "brief.doc"],
        &["--to", "brief.doc", ".html", ".pdf"],
    ),
    (&["brief", "scenes/lake-oak.ron", "--to", "scenes"], &["--to", "scenes", "allowed"]),
    (
        &["brief", "scenes/lake-oak.ron", "--to", "no/such/folder/brief.html"],
        &["--to", "no/such/folder", "allowed"],
    ),
    (&["brief", "scenes/lake-oak.ron", "--to", "/proc/brief.pdf"], &["--to", "/proc/brief.pdf"]),
    (&["brief", "scenes/lake-oak.ron", "--to", "b.pdf", "--paper", "A0"], &["--paper", "A0", "a4"]),
    (&["brief", "scenes/lake-oak.ron", "--to", "b.pdf", "--drops", "0"], &["--drops", "0"]),
    (&["brief", "no-such.ron", "--to", "b.pdf"], &["no-such.ron", "allowed"]),
    (&["brief", "scenes/lake-oak.ron", "--check", "b.pdf", "--to", "b.pdf"], &["--check", "--to"]),
    (
        &["brief", "scenes/lake-oak.ron", "--check", "README.md"],
        &["--check", "README.md", "no stamp", "allowed"],
    ),
    (&["brief", "scenes/lake-oak.ron", "--check", "scenes"], &["--check", "scenes", "allowed"]),
    (&["brief", "scenes/lake-oak.ron", "--check", "nowhere.html"], &["--check", "nowhere.html"]),
    (&["new"], &["FILE"]),
    (&["new", "--notes", "n.ron"], &["--for"]),
    (&["new", "--for", "scenes/lake-oak.ron"], &["--notes"]),
    (&["new", "--notes", "scenes", "--for", "scenes/lake-oak.ron"], &["scenes", "directory"]),
    (&["tune", "scenes/lake-oak.ron"], &["--notes"]),
    (&["tune", "scenes/lake-oak.ron", "--notes", "nowhere.ron"], &["nowhere.ron", "allowed"]),
    (
        &["tune", "scenes/lake-oak.ron", "--notes", "scenes/lake-oak.ron"],
        &["lake-oak.ron", "allowed", "scene_hash"],
    ),
    (
        &["tune", "scenes/lake-oak.ron", "--notes", "nowhere.ron", "--draws", "1"],
        &["--draws", "1", "10"],
    ),
    (&["forecast"], &["SCENE"]),
    (&["new", ""], &["FILE"]),
    (&["check", "/dev/zero"], &["/dev/zero", "allowed"]),
    (&["bundle", "scenes/lake-oak.ron", "--to", "scenes"], &["scenes", "directory", "allowed"]),
    (
        &["drop", "scenes/lake-oak.ron", "--cut", "s1", "--drop", "4294967296"],
        &["--drop", "4294967296", "4294967295"],
    ),
    (
        &["drop", "scenes/lake-oak.ron", "--cut", "s1", "--drop", "0", "--threads", "2"],
        &["--threads"],
    ),
    (
        &["drop", "scenes/lake-oak.ron", "--cut", "s1", "--drop", "0", "--out", "README.md"],
        &["--out", "README.md", "allowed"],
    ),
    (&["forecast", "scenes/lake-oak.ron", "--drops", "-5"], &["-5"]),
    (&["forecast", "scenes/lake-oak.ron", "--drops", "NaN"], &["--drops", "NaN"]),
    (&["forecast", "scenes/lake-oak.ron", "--seed", "-1"], &["-1"]),
    (&["forecast", "scenes/lake-oak.ron", "--grounds", "0"], &["--grounds", "0"]),
    (&["forecast", "scenes/lake-oak.ron", "--threads", "5000"], &["--threads", "5000", "1024"]),
    (&["forecast", "scenes/lake-oak.ron", "--jsn"], &["--jsn"]),
    (&["forecast", "scenes/lake-oak.ron", "more.ron"], &["more.ron"]),
    (&["forecast", "scenes/lake-oak.ron", "--out", ""], &["--out"]),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s9", "--lengths", "4ft"],
        &["--cut", "s9", "s1"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "0ft"],
        &["--lengths", "0ft", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4kg"],
        &["--lengths", "4kg", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft..9ft"],
        &["--lengths", "step"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft..9ft:1kg"],
        &["--lengths", "1kg", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft,"],
        &["--lengths", "--lengths"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft,6ft,4ft"],
        &["--lengths", "once"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "1in"],
        &["--lengths", "1 in", "cuts[1].piece", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "1mm..9m:1mm"],
        &["--lengths", "1000"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths=-4ft"],
        &["--lengths", "-4ft", "allowed"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "1cm..5m:1cm",
            "--faces",
            "10deg..90deg:10deg",
        ],
        &["--faces", "500", "9", "1000"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft", "--faces", "400deg"],
        &["--faces", "400deg", "allowed"],
    ),
    (
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "4ft", "--faces", "200ft"],
        &["--faces", "200ft", "allowed"],
    ),
    (
        &[
            "compare",
            "scenes/lake-oak.ron",
            "--cut",
            "s2",
            "--lengths",
            "4ft",
            "--faces",
            "90deg..80deg:1deg",
        ],
        &["--faces", "90deg..80deg:1deg", "allowed"],
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
        for part in *named {
            assert!(said.contains(part), "{arguments:?} should name {part}: {said}");
        }
    }
    // Nothing half-written was left where it was refused.
    assert!(!root().join("no").exists());
}

/// What is changed in a good scene, and what the answer must name. (Each slip of the scene reader
/// has its own row in tests/tests/bad_scenes.rs; these go through the whole command, and through
/// what only terrain and stem can tell.)
const BAD_SCENES: &[(&str, &str, &[&str])] = &[
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

/// What is changed in a good grid of heights, and what the answer must name.
const BAD_GRIDS: &[(&str, &str, &[&str])] = &[
    ("ncols 160", "ncols 2000000000", &["line 1", "ncols", "2000000000", "allowed"]),
    ("ncols 160", "ncols -160", &["line 1", "ncols", "-160", "allowed"]),
    ("ncols 160", "ncols 161", &["heights", "the end of the file", "161", "allowed"]),
    ("ncols 160", "ncols 159", &["heights", "after the last row", "159", "allowed"]),
    ("nrows 160", "rows 160", &["line 2", "rows", "allowed"]),
    ("cellsize 1", "cellsize 0", &["line 5", "cellsize", "allowed"]),
    ("cellsize 1", "cellsize NaN", &["line 5", "cellsize", "NaN", "allowed"]),
    ("xllcorner 429260", "xllcorner 0", &["allowed"]),
    ("10.5 ", "ten ", &["line 7", "ten", "allowed"]),
    ("10.5 ", "inf ", &["height", "inf", "allowed"]),
    ("10.5 ", "-9999 ", &["allowed"]),
];

fn grid() -> String {
    let mut text = "ncols 160\nnrows 160\nxllcorner 429260\nyllcorner 5150566\ncellsize 1\n\
                    NODATA_value -9999\n"
        .to_owned();
    for _ in 0..160 {
        text += &"10.5 ".repeat(160);
        text.push('\n');
    }
    text
}

/// The scene on the scanned hillside with another terrain file, in a folder of its own.
fn with_terrain(folder: &Path, kind: &str, name: &str, bytes: &[u8]) -> PathBuf {
    let scene = fs::read_to_string(root().join("scenes/lidar-slope.ron")).expect("the scene");
    let scene = scene.replacen("GeoTiff(", kind, 1).replacen(
        "../assets/terrain/lidar-hillside.tif",
        name,
        1,
    );
    let file = folder.join("job.ron");
    fs::write(folder.join(name), bytes).expect("written");
    fs::write(&file, scene).expect("written");
    file
}

#[test]
fn prop_bad_terrain_files_end_with_what_was_read_and_what_is_allowed() {
    let dir = folder();
    let check = |file: &Path| tumblewood(&["check", file.to_str().expect("a name")]);
    let good = with_terrain(dir.path(), "AsciiGrid(", "hill.asc", grid().as_bytes());
    let fine = check(&good);
    assert_eq!(fine.status.code(), Some(0), "{}", err(&fine));
    let mut wrong = Vec::new();
    let mut refused = |what: &str, file: &Path, named: &[&str]| {
        let output = check(file);
        let said = err(&output);
        if output.status.code() != Some(2)
            || !output.stdout.is_empty()
            || !named.iter().all(|part| said.contains(part))
            || said.contains("panicked")
        {
            wrong.push(format!("{what}: {:?}: {said}", output.status.code()));
        }
    };
    for (from, to, named) in BAD_GRIDS {
        let slip = if ["-9999 ", "inf "].contains(to) {
            grid().replace(from, to)
        } else {
            grid().replacen(from, to, 1)
        };
        let file = with_terrain(dir.path(), "AsciiGrid(", "hill.asc", slip.as_bytes());
        refused(to, &file, &[&["hill.asc"], *named].concat());
    }
    let cut = &grid().into_bytes()[..40_000];
    let file = with_terrain(dir.path(), "AsciiGrid(", "hill.asc", cut);
    refused("a grid cut off", &file, &["hill.asc", "allowed"]);
    let tiff = fs::read(root().join("assets/terrain/lidar-hillside.tif")).expect("the hillside");
    for (what, bytes) in
        [("cut off", &tiff[..100_000]), ("text", b"hello"), ("empty", b""), ("zeros", &[0; 9_999])]
    {
        let file = with_terrain(dir.path(), "GeoTiff(", "hill.tif", bytes);
        refused(what, &file, &["hill.tif", "allowed"]);
    }
    fs::remove_file(dir.path().join("hill.tif")).expect("removed");
    refused("gone", &file_of(&dir), &["job.ron:13:19", "site.terrain.file", "hill.tif", "allowed"]);
    fs::create_dir(dir.path().join("hill.tif")).expect("a folder");
    refused("a folder", &file_of(&dir), &["job.ron:13:19", "site.terrain.file", "allowed"]);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn file_of(dir: &tempfile::TempDir) -> PathBuf {
    dir.path().join("job.ron")
}

#[test]
fn prop_what_was_never_a_scene_is_refused_in_few_words() {
    let dir = folder();
    let file = file_of(&dir);
    let long = |start: &str, part: &str| format!("{start}{}", part.repeat(200_000));
    let texts = [
        ("zeros", "\0".repeat(20_000_000)),
        ("brackets", long("(version: 1, name: ", "[")),
        ("parentheses", long("", "(")),
        ("comments", long("(version: 1, name: ", "/*")),
        ("quotes", long("(version: 1, name: r", "#") + "\"x)"),
        ("a long name", long("(version: 1, ", "name")),
        ("a long value", long("(version: 1, units: ", "Metric")),
        ("what a terminal obeys", "(version: 1, name: \u{1b}[2J\u{7}".to_owned()),
        ("nothing", String::new()),
    ];
    for (what, text) in texts {
        fs::write(&file, text).expect("written");
        let output = tumblewood(&["check", file.to_str().expect("a name")]);
        let said = String::from_utf8_lossy(&output.stderr);
        let start: String = said.chars().take(2_000).collect();
        assert_eq!(output.status.code(), Some(2), "{what}: {start}");
        assert!(said.contains("job.ron:1:") && said.contains("allowed"), "{what}: {start}");
        assert!(!said.contains("panicked"), "{what}: {start}");
        assert!(said.chars().count() < 2_000, "{what}: {start}");
        assert!(!said.contains(['\0', '\u{7}']) && !said.contains("\u{1b}[2J"), "{what}: {start}");
    }
    // Larger than any scene; no byte of it is on a disk.
    let huge = fs::File::create(&file).expect("a file");
    huge.set_len(200 << 20).expect("sized");
    let output = tumblewood(&["check", file.to_str().expect("a name")]);
    assert_eq!(output.status.code(), Some(2));
    assert!(err(&output).contains("too large"), "{}", err(&output));
}

#[test]
fn prop_what_is_refused_leaves_nothing_behind() {
    let dir = folder();
    let (bad, old) = (dir.path().join("bad.ron"), dir.path().join("old.ron"));
    fs::write(&bad, "(version: 1)").expect("written");
    fs::write(&old, "kept").expect("written");
    let [bad, old] = [&bad, &old].map(|p| p.to_str().expect("a name"));
    let new = dir.path().join("new.ron");
    let out = dir.path().join("out");
    let [new, out] = [&new, &out].map(|p| p.to_str().expect("a name"));
    for arguments in [
        &["new", old][..],
        &["bundle", "scenes/lidar-slope.ron", "--to", old],
        &["bundle", bad, "--to", new],
        &["drop", bad, "--cut", "s1", "--drop", "0", "--out", out],
        &["forecast", bad, "--out", out],
        &["forecast", "scenes/lake-oak.ron", "--cut", "s9", "--out", out],
        &["compare", bad, "--cut", "s2", "--lengths", "4ft", "--out", out],
        &["compare", "scenes/lake-oak.ron", "--cut", "s2", "--lengths", "90ft", "--out", out],
    ] {
        let output = tumblewood(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", err(&output));
        let mut there: Vec<String> = fs::read_dir(dir.path())
            .expect("the folder")
            .map(|e| e.expect("an entry").file_name().to_string_lossy().into_owned())
            .collect();
        there.sort();
        assert_eq!(there, ["bad.ron", "old.ron"], "{arguments:?}");
    }
    assert_eq!(fs::read_to_string(old).expect("still there"), "kept");
}
