//! Whatever stands in a scene file, reading it ends with a scene or a placed refusal.

use proptest::prelude::*;
use tumblewood::scene::{self, SceneError};

/// Pieces of text that a slip of the hand or a broken editor leaves behind.
const SCRAPS: &[&str] = &[
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "\"",
    "'",
    "\\",
    "//",
    "/*",
    "*/",
    "#![enable(x)]",
    "Some(",
    "None",
    "NaN",
    "inf",
    "-inf",
    "-1",
    "0",
    "1e999",
    "99999999999999999999",
    "true",
    "\"0 ft\"",
    "\"-3 in\"",
    "\"1e9 m\"",
    "\"9999 km\"",
    "\"90 deg\"",
    "\"100 %\"",
    "DontKnow",
    "Within(\"1 ft\", \"9 ft\")",
    "Between(\"9 ft\", \"1 ft\")",
    "Eyed(",
    "stump",
    "down:9",
    "\u{0}",
    "\u{202e}",
    "é",
    "🌲",
    "\r",
    "\n",
    "r#\"",
    "b\"x\"",
    "0x1F",
    "'a'",
    "1/0",
    "\"1/0 in\"",
];

fn start() -> impl Strategy<Value = String> {
    prop::sample::select(vec![
        scene::starter().to_owned(),
        include_str!("../../scenes/lane-ash.ron").to_owned(),
        include_str!("../../scenes/lidar-slope.ron").to_owned(),
    ])
}

/// A character boundary at a share of the text.
fn boundary(text: &str, share: f64) -> usize {
    let mut at = (text.len() as f64 * share) as usize;
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn holds(text: &str) -> Result<(), TestCaseError> {
    match scene::parse(text, "x.ron") {
        Ok(scene) => {
            for (path, number) in scene.doubts() {
                let told = number.told;
                prop_assert!(told.is_finite(), "{path} is {told}");
                prop_assert!(number.spread.low <= number.spread.high, "{path}");
                prop_assert!(number.at(0.0).is_finite() && number.at(1.0).is_finite(), "{path}");
            }
        }
        Err(SceneError::Invalid(problem)) => {
            prop_assert!(problem.line >= 1 && problem.column >= 1);
            prop_assert!(problem.line <= 1 + text.matches('\n').count());
            prop_assert!(!problem.what.is_empty() && !problem.allowed.is_empty());
            prop_assert!(!problem.read.is_empty() && !problem.path.is_empty());
        }
        Err(SceneError::File { what, .. }) => prop_assert!(false, "no file was read: {what}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..Default::default() })]

    #[test]
    fn prop_a_mangled_scene_is_read_or_refused(
        text in start(),
        edits in prop::collection::vec(
            (0.0..1.0_f64, 0_usize..40, prop::sample::select(SCRAPS)), 1..5),
    ) {
        let mut text = text;
        for (share, cut, scrap) in edits {
            let from = boundary(&text, share);
            let mut to = (from + cut).min(text.len());
            while !text.is_char_boundary(to) {
                to += 1;
            }
            text.replace_range(from..to, scrap);
        }
        holds(&text)?;
    }

    #[test]
    fn prop_a_truncated_scene_is_read_or_refused(text in start(), share in 0.0..1.0_f64) {
        let end = boundary(&text, share);
        holds(&text[..end])?;
    }

    #[test]
    fn prop_any_text_is_read_or_refused(text in ".{0,200}") {
        holds(&text)?;
    }

    #[test]
    fn prop_any_number_in_any_place_is_read_or_refused(
        place in 0_usize..200,
        number in prop_oneof![Just(0.0), any::<f64>(), -100.0..100.0_f64],
        unit in prop::sample::select(&["ft", "in", "m", "deg", "%", "lbf", "mph", ""][..]),
    ) {
        let text = scene::starter();
        // Every second quote opens a text; replace the one at `place`.
        let quotes: Vec<usize> = text.match_indices('"').map(|q| q.0).collect();
        let k = 2 * (place % (quotes.len() / 2));
        let mangled = format!("{}{number} {unit}{}", &text[..=quotes[k]], &text[quotes[k + 1]..]);
        holds(&mangled)?;
    }
}

/// A scene drawn within its doubt holds exact numbers within their limits, and draws by path.
#[test]
fn prop_a_realised_scene_is_exact_and_keyed_by_path() {
    let scene = scene::parse(scene::starter(), "starter.ron").unwrap();
    let doubts = scene.doubts();
    let mut paths: Vec<&str> = doubts.iter().map(|d| d.0.as_str()).collect();
    paths.sort_unstable();
    paths.dedup();
    assert_eq!(paths.len(), doubts.len(), "no two numbers share a path");
    for share in [0.0, 0.3, 1.0] {
        let drawn = scene.realise(&mut |_, number| number.at(share));
        assert!(drawn.doubts().is_empty());
    }
    let told = scene.realise(&mut |_, number| number.told);
    assert_eq!(told.tree.height_m.told, scene.tree.height_m.told);
    let high = scene.realise(&mut |path, number| {
        if path == "tree.height_m" { number.at(1.0) } else { number.told }
    });
    assert!((high.tree.height_m.told / scene.tree.height_m.told - 1.2).abs() < 1e-12);
    assert_eq!(high.tree.dbh_m.told, scene.tree.dbh_m.told);
}
