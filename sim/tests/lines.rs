//! Lines that hold pieces, through the whole command.

mod common;

use std::fs;

use common::{err, folder, root, tumblewood};

const SCENE: &str = "scenes/quarry-poplar.ron";

fn forecast(scene: &str, cut: &str) -> serde_json::Value {
    let few = ["--drops", "8", "--grounds", "1", "--json"];
    let mut arguments = vec!["forecast", scene, "--cut", cut];
    arguments.extend(few);
    let said = tumblewood(&arguments);
    assert_eq!(said.status.code(), Some(0), "{}", err(&said));
    serde_json::from_slice(&said.stdout).expect("JSON")
}

#[test]
fn prop_a_forecast_counts_what_lines_bear() {
    let data = forecast(SCENE, "top");
    let cut = &data["cuts"][0];
    let line = &cut["lines"][0];
    assert_eq!(
        (line["id"].as_str(), line["kind"].as_str()),
        (Some("bull-line"), Some("lowering line"))
    );
    let tight = line["tight"].as_u64().unwrap();
    assert!(tight > 0, "{line}");
    let peak = |what: &str| line["peak_n"][what].as_f64().unwrap();
    let weight = cut["piece"]["mass_kg"].as_f64().unwrap() * 9.81;
    assert!(peak("p50") > weight && peak("max") >= peak("p50"), "{line}");
    assert!(line["block_n"]["max"].as_f64().unwrap() > peak("max"), "{line}");
    assert!(line["spar"]["strength_share"]["max"].as_f64().unwrap() > 0.0);
    assert!(cut["rests_on"]["line"].as_u64().unwrap() > 0, "{cut}");
}

#[test]
fn prop_a_piece_without_a_line_knows_nothing_of_the_lines_of_others() {
    let text = fs::read_to_string(root().join(SCENE)).unwrap();
    let (before, lines) = text.split_once("    lines: [\n        Lowering").unwrap();
    assert!(lines.contains("TagLine("));
    let dir = folder();
    let file = dir.path().join("bare.ron");
    fs::write(&file, format!("{before})\n")).unwrap();
    for index in ["0", "3"] {
        let drop = |scene: &str| {
            let said = tumblewood(&["drop", scene, "--cut", "free", "--drop", index]);
            assert_eq!(said.status.code(), Some(0), "{}", err(&said));
            let words = String::from_utf8_lossy(&said.stdout).into_owned();
            // But for the scene's hash.
            words.lines().filter(|line| !line.contains("Scene ")).collect::<Vec<_>>().join("\n")
        };
        let with = drop(SCENE);
        assert!(with.lines().count() > 10, "{with}");
        assert_eq!(with, drop(file.to_str().unwrap()));
    }
}

#[test]
fn prop_fell_tells_what_a_fall_into_a_line_loads() {
    for (cut, line, hinged) in [("top", "bull-line", true), ("tied", "butt-line", false)] {
        let said = tumblewood(&["fell", SCENE, "--cut", cut, "--json"]);
        assert_eq!(said.status.code(), Some(0), "{}", err(&said));
        let data: serde_json::Value = serde_json::from_slice(&said.stdout).expect("JSON");
        assert_eq!(data.get("without_line").is_some(), hinged, "{cut}");
        let figure = |key: &str| {
            let key = format!("tied.{line}.{key}");
            let figures = data["figures"].as_array().unwrap();
            let found = figures.iter().find(|f| f["key"] == key.as_str());
            found.unwrap_or_else(|| panic!("{key}")).clone()
        };
        let told = |key: &str| figure(key)["told"].as_f64().unwrap();
        let (weight, ea) = (told("weight") * 9.80665, told("stiffness"));
        let theirs =
            weight * (1.0 + (1.0 + 2.0 * ea * told("fall") / (weight * told("loaded"))).sqrt());
        assert!((told("peak") / theirs - 1.0).abs() < 1e-9, "{} for {theirs}", told("peak"));
        assert!((told("working_share") - told("peak") / told("working")).abs() < 1e-9);
        for part in ["formula", "source", "standing", "assumption"] {
            let rule = figure("peak")["rule"][part].clone();
            assert!(rule.as_str().is_some_and(|s| !s.is_empty()), "{part}");
        }
        let words = tumblewood(&["fell", SCENE, "--cut", cut]);
        let words = String::from_utf8_lossy(&words.stdout).into_owned();
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("Lines that hold the piece in its drop"), "{words}");
        assert!(words.contains("no give of spar"), "{words}");
    }
}

#[test]
fn prop_bad_lines_that_hold_are_refused_where_they_stand() {
    let text = fs::read_to_string(root().join(SCENE)).expect("the scene");
    let dir = folder();
    let file = dir.path().join("job.ron");
    let name = file.to_str().expect("a name");
    let cases: &[(&str, &str, &[&str])] = &[
        ("cut: \"top\"", "cut: \"crown\"", &["lines[0].cut", "no such cut", "top, tied, free"]),
        (
            "from_cut: \"40 cm\"",
            "from_cut: \"4 m\"",
            &["lines[0].from_cut", "not on the piece", "3 m"],
        ),
        ("from_cut: \"40 cm\"", "from_cut: \"-4 cm\"", &["lines[0].from_cut", "negative"]),
        ("from_cut: \"40 cm\"", "from_cut: 40", &["lines[0].from_cut", "unit"]),
        ("slack: Paced(\"1.5 m\")", "slack: DontKnow", &["lines[1].slack", "must be known"]),
        ("slack: Paced(\"1.5 m\")", "slack: \"60 m\"", &["lines[1].slack", "beyond", "40 m"]),
        ("slack: Paced(\"1.5 m\"),", "", &["lines[1]", "\"slack\" is missing"]),
        (
            "rope: \"nylon 3-strand 3/4 in\"",
            "rope: \"wire\"",
            &["lines[1].rope", "no rope of the table"],
        ),
        ("rope: \"nylon 3-strand 3/4 in\"", "rope: \" \"", &["lines[1].rope", "no name"]),
        (
            "block: Spar(height: \"11 m\")",
            "block: Spar(height: \"11.6 m\")",
            &["lines[0].block.height", "no longer stands", "11.5 m"],
        ),
        (
            "block: Spar(height: \"11 m\")",
            "block: Stump(at: At(azimuth: \"0 deg\", distance: \"5 m\"), height: \"1 m\")",
            &["lines[0].block", "a stump", "Spar(..) or Tree(..)"],
        ),
        (
            "brake: Spar(height: \"1.2 m\")",
            "brake: Hand(at: At(azimuth: \"0 deg\", distance: \"5 m\"), hold: \"300 N\")",
            &["lines[0].brake", "hands", "Spar(..) or Tree(..) or Stump(..)"],
        ),
        (
            "anchor: Spar(height: \"8.5 m\")",
            "anchor: Hand(at: At(azimuth: \"0 deg\", distance: \"5 m\"), hold: \"300 N\")",
            &["lines[1].anchor", "hands"],
        ),
        (
            "block_limit: Exactly(\"20 kN\")",
            "block_limit: \"20 kg\"",
            &["lines[0].block_limit", "kN"],
        ),
        ("block_limit: Exactly(\"20 kN\")", "friction: \"120 %\"", &["lines[0].friction", "100 %"]),
        ("block_limit: Exactly(\"20 kN\")", "stretch: \"0 %\"", &["lines[0].stretch", "zero"]),
        ("block_limit: Exactly(\"20 kN\")", "knot_loss: \"95 %\"", &["lines[0].knot_loss", "80 %"]),
        (
            "block_limit: Exactly(\"20 kN\")",
            "design_factor: 0",
            &["lines[0].design_factor", "1 to 30"],
        ),
        ("block_limit: Exactly(\"20 kN\")", "wraps: 3", &["lines[0].wraps", "unknown field"]),
        ("TagLine(", "GuyLine(", &["lines[2]", "unknown word", "TagLine"]),
    ];
    for (find, put, wanted) in cases {
        assert!(text.contains(find), "{find}");
        fs::write(&file, text.replacen(find, put, 1)).unwrap();
        let said = tumblewood(&["check", name]);
        assert_eq!(said.status.code(), Some(2), "{put}");
        let words = err(&said);
        for want in *wanted {
            assert!(words.contains(want), "{put}: {want} in\n{words}");
        }
    }
    // What hands hold may be left open, and a line may be held by them.
    let put = "anchor: Hand(at: At(azimuth: \"300 deg\", distance: \"9 m\"), hold: DontKnow)";
    let tree =
        "anchor: Tree(at: At(azimuth: \"275 deg\", distance: \"8 m\"), height: Eyed(\"9 m\"))";
    assert!(text.contains(tree));
    fs::write(&file, text.replacen(tree, put, 1)).unwrap();
    let said = tumblewood(&["check", name]);
    assert_eq!(said.status.code(), Some(0), "{}", err(&said));
}
