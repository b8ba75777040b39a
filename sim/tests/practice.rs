//! Lessons in a terminal: asked, locked, dropped, shown, kept; and what bad input gets.

mod common;

use std::{
    fs,
    io::Write as _,
    path::Path,
    process::{Command, Output, Stdio},
};

use common::{err, folder, root, tumblewood};
use tumblewood::scene;

const LESSON: &str = r#"
    lesson: (
        title: "One thing",
        about: "What one piece does.",
        situation: "You stand there.",
        cut: "first",
        drops: 10,
        grounds: 0,
        hidden: [(id: "thumb", what: "how firm the soil is", by: "a thumb", fields: ["site.ground.soil"])],
        cases: [(id: "short", label: "3 ft", set: [("first.piece.from", "45 ft")])],
        questions: [
            (id: "mode", ask: "How does it go?", answer: Mode),
            (id: "far", ask: "How far does it run?", answer: HowFar),
            (id: "lies", ask: "Where does it lie?", answer: Rest),
            (id: "which", ask: "Which rolls less often?", answer: Fewest(event: Rolled, among: ["as-it-stands", "short"])),
        ],
        why: "It rolled in {rolled}; drop {shown} came in at {shown_speed}, {shown_steep} to the ground.",
        try_next: "Try {short.length}.",
        cautions: ["Nobody below."],
        claims: [Share(event: SitsBack, low: 0, high: 100)],
    ),
)
"#;

/// Writes the lesson, and a course with it, into a folder.
fn written(dir: &Path) -> [String; 2] {
    let starter = scene::starter().trim_end().strip_suffix(')').expect("a scene");
    let (lesson, course) = (dir.join("one.ron"), dir.join("course.ron"));
    fs::write(&lesson, format!("{starter}{LESSON}")).expect("written");
    let text = "(version: 1, title: \"All of it\", words: \"In order.\", lessons: [\"one.ron\"])";
    fs::write(&course, text).expect("written");
    [lesson, course].map(|path| path.to_str().expect("a name").to_owned())
}

fn practice(arguments: &[&str], typed: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tumblewood"))
        .arg("practice")
        .args(arguments)
        .current_dir(root())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command runs");
    // A command that refuses its flags reads nothing.
    let _ = child.stdin.take().expect("a pipe").write_all(typed.as_bytes());
    child.wait_with_output().expect("it ends")
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

const TYPED: &str = "find thumb\n4 70 %\n10 ft to 60 ft\n250 deg 30 ft radius 15 ft\n60 40\n";

#[test]
fn prop_a_lesson_is_asked_locked_shown_and_kept() {
    let dir = folder();
    let [lesson, _] = written(dir.path());
    let record = dir.path().join("answers.csv");
    let (record, sheet) = (record.to_str().expect("a name"), dir.path().join("sheet.html"));
    let sheet_name = sheet.to_str().expect("a name");
    let given =
        ["--answer", "which=1 60 %", "--hands", "mode:5:4 80 %", "--hands", "mode:3:2 90 %"];
    let typed = "find thumb\n10 ft to 60 ft\n250 deg 30 ft radius 15 ft\n";
    let mut arguments = vec![&lesson[..], "--record", record, "--sheet", sheet_name];
    arguments.extend(given);
    let first = practice(&arguments, typed);
    assert_eq!(first.status.code(), Some(0), "{}", err(&first));
    let words = out(&first);
    let locked = words.find("The answers are locked").expect("a lock");
    assert!(!words[..locked].contains("of 10 drops"), "nothing is shown before:\n{words}");
    let squashed = words.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "a thumb: ThumbWithEffort",
        "rolls: in ",
        "5 hands: rolls, 80 in 100 sure",
        "1 in 10 stay under",
        "The mark that fits these",
        "nobody could know",
        "One drop, number",
        "Change one thing",
        "Try 3 ft.",
        "Nobody below.",
        "not been compared with dropped logs",
        "licensed practice decide",
    ] {
        assert!(squashed.contains(part), "{part} in:\n{words}");
    }
    assert!(!squashed.contains(['{', '}']), "{words}");
    let page = fs::read_to_string(&sheet).expect("a sheet");
    for part in ["One thing", "rolls, 80 in 100 sure", "not been compared", "Nobody below."] {
        assert!(page.contains(part), "{part} in the sheet");
    }
    let kept = fs::read_to_string(record).expect("a record");
    assert_eq!(kept.lines().count(), 1 + 3, "{kept}");

    // The same again is the same, byte for byte, and is added.
    let mut again = arguments.clone();
    again.push("--force");
    let second = practice(&again, typed);
    assert_eq!(out(&second), words);
    let more = fs::read_to_string(record).expect("a record");
    assert!(more.starts_with(&kept) && more.lines().count() == 7);

    let scores = practice(
        &["--scores", "--record", record, "--out", dir.path().to_str().expect("a name")],
        "",
    );
    assert_eq!(scores.status.code(), Some(0), "{}", err(&scores));
    let said = out(&scores);
    assert!(said.contains("3 answers.") && said.contains("3 more are to questions"), "{said}");
    assert!(
        fs::read_to_string(dir.path().join("calibration.svg"))
            .expect("a picture")
            .contains("What you say")
    );

    // A table program may put a byte order mark first.
    fs::write(record, format!("\u{feff}{more}")).expect("written");
    let scores = practice(&["--scores", "--record", record], "");
    assert!(out(&scores).contains("3 answers."), "{}", err(&scores));

    // Damage is named, the rest counts, and nothing is lost.
    fs::write(record, format!("{more}a line of something\n")).expect("written");
    let scores = practice(&["--scores", "--record", record], "");
    let said = out(&scores);
    assert!(said.contains("3 answers.") && said.contains("answers.csv:8:"), "{said}");
}

#[test]
fn prop_a_course_is_listed_taken_and_checked() {
    let dir = folder();
    let [_, course] = written(dir.path());
    let list = tumblewood(&["practice", &course, "--list", "--no-record"]);
    assert!(out(&list).contains("1. One thing: What one piece does."), "{}", out(&list));
    let taken = practice(&[&course, "--no-record"], TYPED);
    assert_eq!(taken.status.code(), Some(0), "{}", err(&taken));
    assert!(out(&taken).contains("In order.") && !err(&taken).contains("Kept"));
    let check = practice(&[&course, "--check", "--no-record"], "");
    assert_eq!(check.status.code(), Some(0), "{}", err(&check));
    assert!(out(&check).contains("holds: as it stands: sits back"), "{}", out(&check));
    // A claim that isn't so is an answer that can't be given.
    let one = dir.path().join("one.ron");
    let text = fs::read_to_string(&one).expect("the lesson");
    let text = text.replace(
        "Share(event: SitsBack, low: 0, high: 100)",
        "HowFar(low: \"900 m\", high: \"901 m\")",
    );
    fs::write(&one, text).expect("written");
    let broken = practice(&[&course, "--check", "--no-record"], "");
    assert_eq!(broken.status.code(), Some(1), "{}", err(&broken));
    assert!(out(&broken).contains("BROKEN"), "{}", out(&broken));
}

#[test]
fn prop_bad_answers_are_refused_before_anything_is_shown() {
    let dir = folder();
    let [lesson, course] = written(dir.path());
    let missing = dir.path().join("none.ron");
    let plain = dir.path().join("plain.ron");
    fs::write(&plain, scene::starter()).expect("written");
    let other = dir.path().join("other.csv");
    fs::write(&other, "a,b\n1,2\n").expect("written");
    let name = |path: &Path| path.to_str().expect("a name").to_owned();
    let (missing, plain, other) = (name(&missing), name(&plain), name(&other));
    let there = dir.path().join("there.html");
    fs::write(&there, "mine").expect("written");
    let there = name(&there);
    let (nowhere, lost) = (name(&dir.path().join("no/x.csv")), name(&dir.path().join("no/x.html")));
    let none = "--no-record";
    for (arguments, typed, named) in [
        (vec![&missing[..], none], "", vec!["none.ron", "can't be read"]),
        (vec![&plain, none], "", vec!["plain.ron", "no lesson", "allowed"]),
        (vec![&course, none, "--lesson", "2"], "", vec!["--lesson", "2", "1 to 1"]),
        (vec![&lesson, none], "", vec!["answers end", "allowed", "skip"]),
        (vec![&lesson, none], "9 50 %\n", vec!["9", "1 to 5", "allowed"]),
        (vec![&lesson, none], "10 10 10 10 10\n", vec!["add up to 50", "allowed"]),
        (vec![&lesson, none], "rolls\n", vec!["rolls", "no number", "allowed"]),
        (vec![&lesson, none], "2 170 %\n", vec!["170", "0 to 100"]),
        (vec![&lesson, none], "skip\n60 ft to 10 ft\n", vec!["backwards", "20 ft to 60 ft"]),
        (vec![&lesson, none], "skip\n10 to 20\n", vec!["unit", "allowed"]),
        (vec![&lesson, none], "skip\nskip\n30 ft\n", vec!["no radius", "allowed"]),
        (vec![&lesson, none], "skip\nskip\n30 ft radius 4 ft\n", vec!["no azimuth"]),
        (vec![&lesson, none, "--answer", "mode"], "", vec!["--answer", "ID=ANSWER"]),
        (vec![&lesson, none, "--answer", "x=1"], "", vec!["--answer", "x", "mode, far"]),
        (vec![&lesson, none, "--answer", "far=3"], "", vec!["--answer far", "two ends"]),
        (vec![&lesson, none, "--hands", "mode:0:2 50 %"], "", vec!["--hands", "1 to"]),
        (vec![&lesson, none, "--hands", "mode:2 50 %"], "", vec!["--hands", "ID:HANDS:ANSWER"]),
        (
            vec![&lesson, none, "--answer", "mode=4 70 %", "--answer", "mode=1 70 %"],
            "",
            vec!["--answer", "mode twice", "allowed"],
        ),
        (vec![&lesson, none], "skip\n1 m to 99999 m\n", vec!["99999 m", "up to 10 km"]),
        (vec![&lesson, "--record", &nowhere], TYPED, vec!["x.csv", "no folder", "allowed"]),
        (vec![&lesson, none, "--sheet", &lost], TYPED, vec!["--sheet", "no folder", "allowed"]),
        (
            vec![&lesson, none, "--sheet", &there],
            TYPED,
            vec!["--sheet", "there already", "--force"],
        ),
        (vec![&lesson, none, "--sheet", &lesson, "--force"], TYPED, vec!["--sheet", ".html"]),
        (vec![&lesson, none, "--find", "x"], "", vec!["--find", "x", "thumb"]),
        (vec![&lesson, "--record", &other], "", vec!["other.csv", "no record", "allowed"]),
        (vec!["--scores", "--record", &other], "", vec!["other.csv", "no record"]),
        (vec![none], "", vec!["FILE"]),
    ] {
        let output = practice(&arguments, typed);
        assert_eq!(output.status.code(), Some(2), "{arguments:?} {typed}: {}", out(&output));
        let said = err(&output);
        for part in named {
            assert!(said.contains(part), "{arguments:?} {typed:?} should name {part}: {said}");
        }
        assert!(!out(&output).contains("of 10 drops"), "{arguments:?} shows nothing");
    }
    assert_eq!(fs::read_to_string(&other).expect("it"), "a,b\n1,2\n", "it is left as it was");

    // Who leaves is told that there is no sheet, and no record was begun.
    let (sheet, record) = (name(&dir.path().join("s.html")), name(&dir.path().join("r.csv")));
    let left = practice(&[&lesson, "--sheet", &sheet, "--record", &record], "quit\n");
    assert_eq!(left.status.code(), Some(0), "{}", err(&left));
    assert!(err(&left).contains("No sheet was written: the lesson was left"), "{}", err(&left));
    assert!(!Path::new(&sheet).exists() && !Path::new(&record).exists());
}
