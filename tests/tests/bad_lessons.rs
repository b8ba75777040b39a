//! What is wrong with a lesson, a course or a record of answers is named with its place.

use std::fs;

use tumblewood::{
    lesson::record::{self, COLUMNS, Row},
    scene::{self, SceneError},
};

const LESSON: &str = r#"
    lesson: (
        title: "One",
        about: "One thing.",
        situation: "You stand there.",
        cut: "second",
        drops: 10,
        grounds: 0,
        hidden: [(id: "thumb", what: "how firm", by: "a thumb", fields: ["site.ground.soil"])],
        cases: [(id: "short", label: "6 ft", set: [("second.piece.from", "36 ft"), ("second.release.push.height", "3 ft")])],
        questions: [
            (id: "mode", ask: "How?", answer: Mode),
            (id: "bridge", ask: "How often?", of: "short", answer: Chance(Reaches("footbridge"))),
            (id: "which", ask: "Which?", answer: Fewest(event: Rolled, among: ["as-it-stands", "short"])),
            (id: "far", ask: "How far?", answer: HowFar),
        ],
        why: "It rolled in {rolled}, short in {short.rolled}, and reached in {reaches:footbridge}.",
        claims: [Share(event: Rolled, low: 0, high: 100)],
    ),
)
"#;

fn with(find: &str, put: &str) -> String {
    assert!(find.is_empty() || LESSON.contains(find), "{find} is in the lesson");
    let lesson = if find.is_empty() { LESSON.to_owned() } else { LESSON.replacen(find, put, 1) };
    let starter = scene::starter().trim_end().strip_suffix(')').unwrap();
    format!("{starter}{lesson}")
}

#[test]
fn verif_the_lesson_itself_is_read() {
    let scene = scene::parse(&with("", ""), "lesson.ron").unwrap_or_else(|e| panic!("{e}"));
    let lesson = scene.lesson.as_ref().unwrap();
    assert_eq!(lesson.cases.len(), 2);
    assert_eq!(lesson.hidden[0].finds, "ThumbWithEffort");
    let short = scene::case(&scene, 1).unwrap_or_else(|e| panic!("{e}"));
    assert!(short.lesson.is_none() && short.hash != scene.hash);
    assert!((short.piece_length_m(1).unwrap() - 6.0 * 0.3048).abs() < 1e-9);
}

#[test]
fn prop_what_is_wrong_with_a_lesson_is_named() {
    for (find, put, named) in [
        ("cut: \"second\"", "cut: \"fourth\"", vec!["lesson.cut", "fourth", "first, second"]),
        ("of: \"short\"", "of: \"long\"", vec!["lesson.questions[1].of", "long", "as-it-stands"]),
        (
            "Reaches(\"footbridge\"))",
            "Reaches(\"barn\"))",
            vec!["questions[1].answer", "barn", "footbridge"],
        ),
        (
            "answer: HowFar",
            "answer: Pull(\"pull-line\")",
            vec!["questions[3].answer", "no pull line", "none"],
        ),
        (
            "answer: HowFar",
            "answer: Chance(SetsGoing(\"x\"))",
            vec!["questions[3].answer", "barrier log"],
        ),
        (
            "answer: HowFar",
            "answer: Chance(LineOver(\"x\"))",
            vec!["questions[3].answer", "line that holds"],
        ),
        ("answer: HowFar", "answer: Guess", vec!["questions[3].answer", "Guess", "HowFar"]),
        (
            "among: [\"as-it-stands\", \"short\"]",
            "among: [\"short\"]",
            vec!["questions[2].answer.among", "two or more"],
        ),
        ("\"second.piece.from\"", "\"second.piece.form\"", vec!["lesson.cases[0].set[0]", "piece"]),
        (
            "\"second.piece.from\"",
            "\"sixth.piece.from\"",
            vec!["lesson.cases[0].set[0]", "no such field"],
        ),
        (
            "\"36 ft\"",
            "\"46 ft\"",
            vec!["lesson.cases[0].set[0]", "with it the scene is wrong", "piece"],
        ),
        (
            "fields: [\"site.ground.soil\"]",
            "fields: [\"site.ground.mud\"]",
            vec!["lesson.hidden[0].fields[0]", "no such field"],
        ),
        ("fields: [\"site.ground.soil\"]", "", vec!["lesson.hidden[0]", "nothing that is found"]),
        ("{short.rolled}", "{shirt.rolled}", vec!["lesson.why", "shirt", "short"]),
        ("{rolled}", "{rolls}", vec!["lesson.why", "rolls", "drops, length"]),
        ("{reaches:footbridge}", "{reaches:barn}", vec!["lesson.why", "barn", "footbridge"]),
        ("drops: 10", "drops: 3", vec!["lesson.drops", "3 drops", "10 to"]),
        ("drops: 10", "drops: -3", vec!["lesson.drops", "whole number"]),
        ("id: \"bridge\"", "id: \"mode\"", vec!["lesson.questions[1].id", "taken"]),
        ("title: \"One\"", "title: \" \"", vec!["lesson.title", "no words"]),
        ("title: \"One\"", "titel: \"One\"", vec!["titel", "title"]),
        ("low: 0, high: 100", "low: 60, high: 20", vec!["lesson.claims[0]", "backwards"]),
        ("low: 0, high: 100", "low: 0, high: 120", vec!["lesson.claims[0]", "0 to 100"]),
    ] {
        let error = scene::parse(&with(find, put), "lesson.ron").expect_err(put);
        assert!(matches!(error, SceneError::Invalid(_)), "{error}");
        let said = error.problem().map(|p| {
            let others: String = p.others.iter().map(ToString::to_string).collect();
            format!("{p} {others}")
        });
        let said = said.unwrap_or_default();
        assert!(said.contains("lesson.ron:") && said.contains("allowed"), "{said}");
        for part in named {
            assert!(said.contains(part), "{put} should name {part}: {said}");
        }
    }
    // A hinge is asked about where the cut has none: the first is pushed over.
    let hinge = with("cut: \"second\"", "cut: \"first\"")
        .replace(
            "second.piece.from\", \"36 ft\"), (\"second.release.push.height\", \"3 ft\")",
            "tree.dbh\", \"20 in\")",
        )
        .replace("answer: HowFar", "answer: LetsGoAt");
    let said = scene::parse(&hinge, "lesson.ron").expect_err("no hinge").to_string();
    assert!(said.contains("lesson.questions[3].answer") && said.contains("Hinge"), "{said}");
}

#[test]
fn prop_what_is_wrong_with_a_course_is_named() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("one.ron"), with("", "")).unwrap();
    fs::write(dir.path().join("plain.ron"), scene::starter()).unwrap();
    fs::write(dir.path().join("bad.ron"), with("drops: 10", "drops: 1")).unwrap();
    let load = |text: &str| {
        let path = dir.path().join("course.ron");
        fs::write(&path, text).unwrap();
        scene::load_course(&path)
    };
    let good = load("(version: 1, title: \"T\", lessons: [\"one.ron\"])").unwrap();
    assert_eq!(good.lessons.len(), 1);
    let (again, _) = scene::course::parse(&good.text(), "c.ron", &good.folder).unwrap();
    assert_eq!(again, good);
    for (text, named) in [
        ("(version: 2, title: \"T\", lessons: [\"one.ron\"])", vec!["version"]),
        ("(title: \"T\", lessons: [])", vec!["version must come first"]),
        ("(version: 1, title: \"T\", lessons: [])", vec!["lessons", "0 lessons"]),
        ("(version: 1, title: \"\", lessons: [\"one.ron\"])", vec!["title", "no title"]),
        (
            "(version: 1, title: \"T\", lessons: [\"two.ron\"])",
            vec!["lessons[0]", "two.ron", "no such file"],
        ),
        (
            "(version: 1, title: \"T\", lessons: [\"one.ron\", \"one.ron\"])",
            vec!["lessons[1]", "twice"],
        ),
        (
            "(version: 1, title: \"T\", lessons: [\"plain.ron\"])",
            vec!["lessons[0]", "without a lesson"],
        ),
        ("(version: 1, title: \"T\", lessons: [\"bad.ron\"])", vec!["lessons[0]", "lesson.drops"]),
        ("(version: 1, title: \"T\", lesson: [\"one.ron\"])", vec!["lesson", "lessons"]),
    ] {
        let said = load(text).expect_err(text).to_string();
        assert!(said.contains("course.ron:1:"), "{said}");
        for part in named {
            assert!(said.contains(part), "{text} should name {part}: {said}");
        }
    }
}

fn row() -> Row {
    Row {
        date: "2026-03-14".into(),
        course: "T, \"quoted\"".into(),
        lesson: "One\nline".into(),
        scene_hash: "ab".into(),
        law: "soil 5".into(),
        seed: 7,
        drops: 100,
        question: "mode".into(),
        kind: record::Kind::Chance,
        case: "as-it-stands".into(),
        answer: "80".into(),
        happened: "in 62 of 100 drops".into(),
        score: 0.25,
        could_know: 0.03,
        stated: 0.8,
        share: 0.62,
        beside: None,
    }
}

#[test]
fn prop_a_record_is_only_added_to_and_damage_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("answers.csv");
    assert!(record::read(&path).unwrap().rows.is_empty(), "none is an empty one");
    record::append(&path, &[row(), row()]).unwrap();
    let first = fs::read(&path).unwrap();
    record::append(&path, &[Row { beside: Some([0.1, 0.2]), ..row() }]).unwrap();
    assert!(fs::read(&path).unwrap().starts_with(&first), "what stood there stands");
    let read = record::read(&path).unwrap();
    assert_eq!((read.rows.len(), read.damaged.len()), (3, 0));
    assert_eq!(read.rows[0].course, "T, \"quoted\"");
    assert_eq!(read.rows[0].lesson, "One line", "an answer is one line");
    assert_eq!(read.rows[2].beside, Some([0.1, 0.2]));

    // Each damage in a line of its own, in the middle.
    let line = String::from_utf8(first.clone()).unwrap().lines().nth(1).unwrap().to_owned();
    for (from, to, field, read_part) in [
        ("2026-03-14", "yesterday", "date", "yesterday"),
        ("0.800000", "1.800000", "stated", "1.8"),
        ("0.800000", "much", "stated", "much"),
        ("0.250000", "NaN", "score", "NaN"),
        (",7,", ",seven,", "seed", "seven"),
        (",100,", ",-1,", "drops", "-1"),
        ("chance", "luck", "kind", "luck"),
        ("mode,", "", "(the whole line)", "2026-03-14"),
        ("as-it-stands,80,", "as-it-stands,\"80,", "(the whole line)", "2026"),
    ] {
        assert!(line.contains(from), "{from} in {line}");
        let bad = line.replacen(from, to, 1);
        let text = format!("{}\n{line}\n{bad}\n{line}\n", COLUMNS.join(","));
        fs::write(&path, &text).unwrap();
        let read = record::read(&path).unwrap();
        assert_eq!((read.rows.len(), read.damaged.len()), (2, 1), "{bad}");
        let said = read.damaged[0].to_string();
        for part in ["answers.csv:3:", field, read_part, "allowed"] {
            assert!(said.contains(part), "{bad} should name {part}: {said}");
        }
        record::append(&path, &[row()]).unwrap();
        assert!(fs::read_to_string(&path).unwrap().starts_with(&text), "damage stays");
    }

    // A last line that was cut off is ended, and the next one is whole.
    fs::write(&path, format!("{}\n{line}\n{}", COLUMNS.join(","), &line[..20])).unwrap();
    record::append(&path, &[row()]).unwrap();
    let read = record::read(&path).unwrap();
    assert_eq!((read.rows.len(), read.damaged.len()), (2, 1));

    // What is no record is refused and left as it is.
    for other in ["a,b\n1,2\n", "date\n", "\u{0}\u{1}"] {
        fs::write(&path, other).unwrap();
        let wrong = record::append(&path, &[row()]).unwrap_err().to_string();
        assert!(wrong.contains("answers.csv") && wrong.contains("no record"), "{wrong}");
        assert!(record::read(&path).is_err());
        assert_eq!(fs::read_to_string(&path).unwrap(), other);
    }
    assert!(record::append(dir.path(), &[row()]).is_err());
}
