//! The brief, notes of what happened and tune, as a user types them.

mod common;

use std::{fs, path::Path};

use common::{err, folder, root, tumblewood};

const FEW: [&str; 4] = ["--drops", "4", "--grounds", "1"];

fn text(path: &Path) -> String {
    fs::read_to_string(path).expect("it is there")
}

fn name(path: &Path) -> &str {
    path.to_str().expect("a name")
}

#[test]
fn prop_a_brief_is_written_twice_and_says_when_the_scene_has_changed() {
    let dir = folder();
    let scene = dir.path().join("job.ron");
    fs::copy(root().join("scenes/lake-oak.ron"), &scene).expect("a copy");
    let [page, paper] = ["brief.html", "brief.pdf"].map(|n| dir.path().join(n));
    let to = ["brief", name(&scene), "--to", name(&page), "--to", name(&paper)];
    let made = tumblewood(&[&to[..], &FEW].concat());
    assert_eq!(made.status.code(), Some(0), "{}", err(&made));
    let html = text(&page);
    for part in ["boathouse", "Stop work when", "<svg", "not been compared with dropped logs"] {
        assert!(html.contains(part), "{part}");
    }
    assert!(fs::read(&paper).expect("a PDF").starts_with(b"%PDF-"));
    // Nothing is replaced unasked.
    let again = tumblewood(&[&to[..], &FEW].concat());
    assert_eq!(again.status.code(), Some(2));
    assert!(err(&again).contains("--force"), "{}", err(&again));
    for file in [&page, &paper] {
        let check = tumblewood(&["brief", "--check", name(file), name(&scene)]);
        assert_eq!(check.status.code(), Some(0), "{}", err(&check));
        assert!(String::from_utf8_lossy(&check.stdout).contains("as it was"));
    }
    fs::write(&scene, text(&scene).replacen("dbh: \"27 in\"", "dbh: \"28 in\"", 1)).expect("it");
    for file in [&page, &paper] {
        let check = tumblewood(&["brief", "--check", name(file), name(&scene)]);
        assert_eq!(check.status.code(), Some(1), "{}", err(&check));
        let said = String::from_utf8_lossy(&check.stdout).into_owned();
        assert!(said.contains("THE SCENE HAS CHANGED SINCE"), "{said}");
    }
    fs::write(&page, html.replace("law soil ", "law soil 9")).expect("it");
    let check = tumblewood(&["brief", "--check", name(&page), name(&scene)]);
    assert!(String::from_utf8_lossy(&check.stdout).contains("THE LAW HAS CHANGED"));
}

#[test]
fn prop_a_brief_is_the_same_on_any_number_of_threads() {
    let dir = folder();
    let make = |threads: &str| {
        let page = dir.path().join(format!("{threads}.html"));
        let to = ["brief", "scenes/terrace-walnut.ron", "--to", name(&page), "--threads", threads];
        let made = tumblewood(&[&to[..], &FEW].concat());
        assert_eq!(made.status.code(), Some(0), "{}", err(&made));
        text(&page)
    };
    assert!(make("1") == make("4"));
}

#[cfg(target_os = "linux")]
#[test]
fn prop_an_interrupted_brief_leaves_nothing() {
    use std::process::{Command, Stdio};
    let dir = folder();
    let page = dir.path().join("brief.html");
    let child = Command::new(env!("CARGO_BIN_EXE_tumblewood"))
        .args(["brief", "scenes/lake-oak.ron", "--drops", "100000", "--to", name(&page)])
        .current_dir(root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs");
    let id = child.id().to_string();
    // Its second thread is the one that listens for Ctrl-C.
    while fs::read_dir(format!("/proc/{id}/task")).map_or(0, Iterator::count) < 2 {
        std::thread::yield_now();
    }
    assert!(Command::new("kill").args(["-INT", &id]).status().expect("kill runs").success());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(130), "{}", err(&output));
    assert!(output.stdout.is_empty());
    assert_eq!(fs::read_dir(dir.path()).expect("the folder").count(), 0);
}

/// A scene and notes of what one of its drops did, written from the starter's comments.
fn noted(dir: &Path) -> (String, String) {
    let scene = dir.join("job.ron");
    assert_eq!(tumblewood(&["new", name(&scene)]).status.code(), Some(0));
    let notes = dir.join("job.happened.ron");
    let made = tumblewood(&["new", "--notes", name(&notes), "--for", name(&scene)]);
    assert_eq!(made.status.code(), Some(0), "{}", err(&made));
    (name(&scene).to_owned(), name(&notes).to_owned())
}

fn first_cut(scene: &str) -> String {
    let told = tumblewood::scene::load(Path::new(scene)).expect("a scene");
    told.cuts[0].id.clone()
}

#[test]
fn prop_notes_are_begun_filled_in_and_tuned_by() {
    let dir = folder();
    let (scene, notes) = noted(dir.path());
    let again = tumblewood(&["new", "--notes", &notes, "--for", &scene]);
    assert_eq!(again.status.code(), Some(2), "{}", err(&again));
    let run = |more: &[&str]| {
        let base = ["tune", &scene, "--notes", &notes, "--draws", "10", "--drops", "2"];
        tumblewood(&[&base[..], more].concat())
    };
    // Nothing is noted yet.
    let nothing = run(&[]);
    assert_eq!(nothing.status.code(), Some(1), "{}", err(&nothing));
    assert!(err(&nothing).contains("nothing yet"), "{}", err(&nothing));
    let cut = first_cut(&scene);
    let note = format!("(version: 1, notes: [(cut: \"{cut}\", left: OverTheFace)])\n");
    fs::write(&notes, note).expect("written");
    let told = run(&[]);
    assert_eq!(told.status.code(), Some(0), "{}", err(&told));
    let words = String::from_utf8_lossy(&told.stdout).into_owned();
    for part in [
        "What the notes are worth",
        "of 10 grounds",
        "beyond what chance would",
        "Reach of the cuts not noted",
        "can't mend",
        "not been compared",
    ] {
        assert!(words.contains(part), "{part} in:\n{words}");
    }
    let one = run(&["--json", "--threads", "1"]);
    assert_eq!(one.status.code(), Some(0), "{}", err(&one));
    for threads in ["2", "4"] {
        assert_eq!(one.stdout, run(&["--json", "--threads", threads]).stdout, "{threads}");
    }
    let json: serde_json::Value = serde_json::from_slice(&one.stdout).expect("JSON");
    assert_eq!(json["draws"], 10);
    // Up the bank no drop comes to lie: that is no answer, and says so.
    let uphill = format!(
        "(version: 1, notes: [(cut: \"{cut}\", lay: Local(east: Exactly(\"-4 m\"), north: \
         Exactly(\"11 m\")))])"
    );
    fs::write(&notes, uphill).expect("written");
    let none = run(&[]);
    assert_eq!(none.status.code(), Some(1), "{}", err(&none));
    assert!(err(&none).contains("agrees with what is noted"), "{}", err(&none));
    assert!(none.stdout.is_empty());
}

/// What is noted wrong, and what the answer must name.
#[test]
fn prop_bad_notes_end_with_place_field_what_was_read_and_what_is_allowed() {
    let dir = folder();
    let (scene, notes) = noted(dir.path());
    let cut = first_cut(&scene);
    let tune = |text: &[u8]| {
        fs::write(&notes, text).expect("written");
        tumblewood(&["tune", &scene, "--notes", &notes])
    };
    for (fields, named) in [
        ("cut: \"no-such\", left: SatBack", vec!["notes[0].cut", "no-such", "allowed"]),
        ("cut: CUT, left: Fell", vec!["left", "Fell", "SatBack"]),
        ("cut: CUT, length: \"-3 m\"", vec!["length", "-3 m", "allowed"]),
        ("cut: CUT, length: 3", vec!["length", "unit"]),
        ("cut: CUT, lay: At(azimuth: \"400 deg\", distance: \"3 m\")", vec!["lay", "400 deg"]),
        (
            "cut: CUT, lay: At(azimuth: \"40 deg\", distance: \"1.9 km\")",
            vec!["lay", "known ground"],
        ),
        ("cut: CUT, went: Seen(Sideways)", vec!["went", "Sideways", "Rolled"]),
        ("cut: CUT, left: SatBack, went: Seen(Slid)", vec!["went", "sat back"]),
        ("cut: CUT, colour: Red", vec!["colour", "allowed", "first_touch"]),
        ("cut: CUT", vec!["notes[0]", "says nothing"]),
        ("left: SatBack", vec!["cut", "missing"]),
    ] {
        let fields = fields.replace("CUT", &format!("\"{cut}\""));
        let text = format!("(\n    version: 1,\n    notes: [({fields})],\n)\n");
        let output = tune(text.as_bytes());
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{fields}: {said}");
        assert!(said.contains("job.happened.ron:"), "{fields}: {said}");
        assert!(!said.contains("panicked"), "{said}");
        for part in named {
            assert!(said.contains(part), "{fields} should name {part}: {said}");
        }
    }
    for whole in [&b""[..], b"(version: 3)", b"(notes: [])", b"\xff\xfe", b"(version: 1, notes: [("]
    {
        let output = tune(whole);
        assert_eq!(output.status.code(), Some(2), "{whole:?}: {}", err(&output));
        assert!(err(&output).contains("allowed"), "{}", err(&output));
    }
}
