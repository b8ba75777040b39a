//! `fell` as a user types it, and what it says.

mod common;

use std::fs;

use common::{err, folder, root, tumblewood};

const SCENE: &str = "scenes/mill-ash.ron";

#[test]
fn prop_a_pulled_stem_is_answered_in_words_data_and_a_picture() {
    let dir = folder();
    let out = dir.path().join("out");
    let name = out.to_str().expect("a name");
    let said = tumblewood(&["fell", SCENE, "--cut", "stem", "--out", name]);
    assert_eq!(said.status.code(), Some(0), "{}", err(&said));
    let words = String::from_utf8_lossy(&said.stdout);
    for part in [
        "With no line on it, as told: it sits back",
        "What stands above this cut's hinge",
        "after a",
        "after b",
        "Face and hinge as cut, and by practice",
        "first tension, before the back cut",
        "pull to turn it, gust",
        "oak-block: load on it and its anchor",
        "working load",
        "tyres on damp gravel",
        "wedge lift",
        "Source: OSHA Logging eTool (read)",
        "from memory",
        "Taken for granted",
        "Common practice",
        "not been compared with dropped logs",
        "local codes and licensed practice",
    ] {
        assert!(words.contains(part), "{part} in:\n{words}");
    }
    for number in ["NaN", "inf"] {
        assert!(!words.contains(number), "{number} in:\n{words}");
    }
    let text = fs::read_to_string(out.join("stem-fell.txt")).expect("the text");
    assert_eq!(text, words);
    let svg = fs::read_to_string(out.join("stem-pull-line-pull.svg")).expect("an SVG");
    for part in ["in the gust, as told", "first tension", "goes by itself", "not been compared"] {
        assert!(svg.contains(part), "{part}");
    }
    let png = fs::read(out.join("stem-pull-line-pull.png")).expect("a PNG");
    assert!(png.starts_with(b"\x89PNG") && png.len() > 20_000);

    let json = tumblewood(&["fell", SCENE, "--cut", "stem", "--json"]);
    assert_eq!(json.status.code(), Some(0), "{}", err(&json));
    assert_eq!(json.stdout, fs::read(out.join("stem-fell.json")).expect("the data"));
    let data: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(data["cut"], "stem");
    assert_eq!(data["states"].as_array().map(Vec::len), Some(3));
    let figures = data["figures"].as_array().expect("figures");
    assert!(figures.len() > 40);
    for figure in figures {
        for part in ["formula", "source", "standing", "assumption"] {
            assert!(figure["rule"][part].as_str().is_some_and(|s| !s.is_empty()), "{figure}");
        }
    }
    let again = tumblewood(&["fell", SCENE, "--cut", "stem", "--json", "--seed", "2"]);
    assert_ne!(again.stdout, json.stdout);
}

#[test]
fn prop_a_cut_without_a_line_or_a_hinge_is_answered() {
    let hinged = tumblewood(&["fell", SCENE, "--cut", "b"]);
    assert_eq!(hinged.status.code(), Some(0), "{}", err(&hinged));
    let words = String::from_utf8_lossy(&hinged.stdout);
    assert!(words.contains("level line two thirds up"), "{words}");
    let pushed = tumblewood(&["fell", SCENE, "--cut", "a"]);
    assert_eq!(pushed.status.code(), Some(1));
    assert!(err(&pushed).contains("turns on no hinge"), "{}", err(&pushed));
}

#[test]
fn prop_a_forecast_pulls_the_stem_over() {
    let said = tumblewood(&[
        "forecast",
        SCENE,
        "--cut",
        "stem",
        "--drops",
        "6",
        "--grounds",
        "1",
        "--json",
    ]);
    assert_eq!(said.status.code(), Some(0), "{}", err(&said));
    let data: serde_json::Value = serde_json::from_slice(&said.stdout).expect("JSON");
    assert_eq!(data["cuts"][0]["sat_back"], 0, "{}", data["cuts"][0]);
}

#[test]
fn prop_bad_lines_are_refused_where_they_stand() {
    let text = fs::read_to_string(root().join(SCENE)).expect("the scene");
    let dir = folder();
    let file = dir.path().join("job.ron");
    let name = file.to_str().expect("a name");
    let cases: &[(&str, &str, &[&str])] = &[
        ("cut: \"stem\"", "cut: \"trunk\"", &["lines[0].cut", "no such cut", "a, b, stem"]),
        ("cut: \"stem\"", "cut: \"a\"", &["lines[0].cut", "no hinge", "BoredHinge"]),
        ("height: \"6.6 m\"", "height: \"66 m\"", &["lines[0].height", "9.6 m"]),
        ("height: \"6.6 m\"", "height: \"50 cm\"", &["lines[0].height", "above 60 cm"]),
        ("height: \"6.6 m\"", "height: 6.6", &["lines[0].height", "unit"]),
        (
            "rope: \"polyester double braid 5/8 in\"",
            "rope: \"string\"",
            &["lines[0].rope", "no rope of the table", "manila 3-strand 1/2 in", "strength"],
        ),
        ("design_factor: 10", "design_factor: 0", &["lines[0].design_factor", "1 to 30"]),
        ("design_factor: 10", "factor: 10", &["factor", "design_factor"]),
        ("pull: Eyed(\"4 kN\")", "pull: Eyed(\"4 kg\")", &["lines[0].pull", "kN"]),
        ("pull: Eyed(\"4 kN\")", "pull: DontKnow", &["lines[0].pull", "must be known"]),
        ("mass: Eyed(\"2600 kg\")", "mass: Eyed(\"2600 t\")", &["lines[0].anchor.mass"]),
        ("driven: \"100 %\"", "driven: \"150 %\"", &["lines[0].anchor.driven", "100 %"]),
        ("sling: Paced(\"60 deg\")", "sling: Paced(\"200 deg\")", &["redirects[0].sling"]),
        ("id: \"oak-block\"", "id: \"lane-oak\"", &["redirects[0].id", "taken"]),
        ("anchor: Vehicle(", "anchor: Horse(", &["Horse", "Tree, Stump, Vehicle"]),
        (
            "at: At(from: \"west:3\", azimuth: \"15 deg\", distance: \"14 m\")",
            "at: At(azimuth: \"289 deg\", distance: \"16 m\")",
            &["lines[0].anchor.at", "goes nowhere"],
        ),
        (
            "at: At(from: \"west:3\", azimuth: \"15 deg\", distance: \"14 m\")",
            "at: At(azimuth: \"289 deg\", distance: \"900 m\")",
            &["pull-line", "on the terrain"],
        ),
    ];
    for (from, to, parts) in cases {
        assert!(text.contains(from), "{from}");
        fs::write(&file, text.replacen(from, to, 1)).expect("written");
        let said = tumblewood(&["fell", name, "--cut", "stem"]);
        assert_eq!(said.status.code(), Some(2), "{to}: {}", err(&said));
        let words = err(&said);
        for part in *parts {
            assert!(words.contains(part), "{part} for {to} in: {words}");
        }
    }
}

#[test]
fn prop_an_order_that_can_not_be_is_refused_where_it_stands() {
    let text = fs::read_to_string(root().join(SCENE)).expect("the scene");
    let dir = folder();
    let file = dir.path().join("job.ron");
    let name = file.to_str().expect("a name");
    for (from, to, parts) in [
        // Four metres of top still stand.
        ("        topped_at: \"14 m\",\n", "", &["cuts[0].piece.to", "come down with it"][..]),
        // A gap between two cuts.
        (
            "from: \"9.6 m\", to: \"12.2 m\"",
            "from: \"9.6 m\", to: \"11.9 m\"",
            &["cuts[1].piece.to"],
        ),
        // A piece that is no longer there.
        (
            "from: \"60 cm\", to: \"9.6 m\"",
            "from: \"60 cm\", to: \"11 m\"",
            &["cuts[2].piece.to", "\"b\""],
        ),
    ] {
        assert!(text.contains(from), "{from}");
        fs::write(&file, text.replacen(from, to, 1)).expect("written");
        let said = tumblewood(&["fell", name, "--cut", "stem"]);
        assert_eq!(said.status.code(), Some(2), "{to}: {}", err(&said));
        for part in parts {
            assert!(err(&said).contains(part), "{part} in: {}", err(&said));
        }
    }
}

#[test]
fn prop_bad_flags_of_fell_are_refused() {
    for (arguments, parts) in [
        (&["fell", SCENE][..], &["--cut"][..]),
        (&["fell", SCENE, "--cut", "trunk"], &["--cut", "trunk", "a, b, stem"]),
        (&["fell", "no-such.ron", "--cut", "stem"], &["no-such.ron", "allowed"]),
        (&["fell", SCENE, "--cut", "stem", "--seed", "-1"], &["-1"]),
        (&["fell", SCENE, "--cut", "stem", "--out", "README.md"], &["--out", "allowed"]),
        (&["fell", SCENE, "--cut", "stem", "--drops", "3"], &["--drops"]),
    ] {
        let said = tumblewood(arguments);
        assert_eq!(said.status.code(), Some(2), "{arguments:?}");
        for part in parts {
            assert!(err(&said).contains(part), "{part} in: {}", err(&said));
        }
    }
}
