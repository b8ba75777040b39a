//! Solves its equations: the pull of a stem in the world against the plane formula, felling numbers
//! against the release that forecasts use, and what a line does to a forecast.

use std::{fs, path::PathBuf};

use glam::DVec3;
use tumblewood::{
    felling::{
        Felling, Figure, Question, fell,
        statics::{Above, Rope},
    },
    job::{Job, Outer},
    keyed::Key,
    release::{Release, Scatter, release},
    scene,
};
use tumblewood_tests::table::{Allowed, Check, Table};

const STEM: usize = 2;

fn mill_ash() -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes/mill-ash.ron");
    fs::read_to_string(path).expect("the scene")
}

fn job(text: &str) -> Job {
    let scene = scene::parse(text, "mill-ash.ron").unwrap_or_else(|e| panic!("{e}"));
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

fn numbers(text: &str, draws: u32) -> Felling {
    fell(&job(text), &Question { cut: STEM, seed: 1, draws }).unwrap_or_else(|e| panic!("{e}"))
}

fn figure<'a>(felling: &'a Felling, key: &str) -> &'a Figure {
    felling.figures.iter().find(|f| f.key == key).unwrap_or_else(|| panic!("no {key}"))
}

/// Any plane, any lean in it, any rope: the vectors give the plane formula.
#[test]
fn verif_the_pull_is_that_of_the_plane_formula() {
    let mut check = Check::new(
        Table::Equations,
        "verif_felling::verif_the_pull_is_that_of_the_plane_formula",
        "pull that holds a stem turned in an upright plane of any azimuth, by vectors",
        "closed form: (W·h·sin λ + M)/(l·cos(λ + β)), λ the lean that is left",
    );
    for i in 0..200 {
        let key = Key::root(9).word("plane").number(i);
        let within =
            |word: &str, low: f64, high: f64| low + (high - low) * key.word(word).uniform();
        let azimuth = within("azimuth", 0.0, std::f64::consts::TAU);
        let forward = DVec3::new(azimuth.sin(), azimuth.cos(), 0.0);
        let (weight_n, h, l) =
            (within("weight", 1e3, 5e4), within("h", 2.0, 12.0), within("l", 2.0, 15.0));
        let (lean, below) = (within("lean", 0.01, 0.2), within("below", -0.3, 0.9));
        let hinge_n_m = within("hinge", 0.0, 1e4);
        let turn = within("turn", 0.0, 0.99) * lean;
        let pivot_m = DVec3::new(1.0, -2.0, 0.5);
        let up = DVec3::Z * lean.cos() - forward * lean.sin();
        let above = Above {
            weight_n,
            centre_m: pivot_m + up * h,
            pivot_m,
            axis: DVec3::Z.cross(forward),
            wind_n: DVec3::ZERO,
            hinge_n_m,
            until_rad: 1.0,
        };
        // The rope's first fixed point is where it makes this angle after the turn.
        let left = lean - turn;
        let knot = pivot_m + (DVec3::Z * left.cos() - forward * left.sin()) * l;
        let way = forward * below.cos() - DVec3::Z * below.sin();
        let rope = Rope { from_m: pivot_m + up * l, to_m: knot + way * 25.0 };
        let ours = above.pull_n(&rope, turn).expect("it pulls the right way");
        let theirs = (weight_n * h * left.sin() + hinge_n_m) / (l * (left + below).cos());
        check.near(&format!("stem {i}"), "N", ours, theirs, Allowed::Share(1e-9));
    }
    check.end();
}

#[test]
fn verif_what_is_missing_is_what_the_release_misses() {
    let mut check = Check::new(
        Table::Equations,
        "verif_felling::verif_what_is_missing_is_what_the_release_misses",
        "moment missing without a line in felling numbers, as sum of hinge, weight and wind, and in \
         the release of a forecast; least pull at which a forecast's stem leaves",
        "itself: the release's own balance; the pull needed in the mean wind",
    );
    let text = mill_ash();
    let felling = numbers(&text, 0);
    let told = |key: &str| figure(&felling, key).told;
    let missing = felling.without_line.unwrap().missing_n_m.expect("it sits back");
    let summed = told("hinge_fore") - told("moment_fore") - told("wind_mean");
    check.near("missing", "N m", summed, missing, Allowed::Share(1e-9));
    // At the truck: what the block takes comes on top.
    let needed_n =
        told("pull.pull-line.mean") * told("line.pull-line.far_pull") / told("pull.pull-line.gust");
    for (share, leaves) in [(0.999, false), (1.001, true)] {
        let pull = format!("pull: Exactly(\"{:.3} N\")", share * needed_n);
        let text = text.replace("pull: Eyed(\"4 kN\")", &pull);
        let world = job(&text).world(Outer::Told).expect("a world");
        let ready = world.cut(STEM).expect("a cut");
        let left =
            matches!(release(&ready.stand(), &ready.method, &Scatter::default()), Release::Left(_));
        let seen = if left { "leaves" } else { "sits back" };
        check.holds(&format!("pulled with {share} of it"), left == leaves, seen);
    }
    check.end();
}

#[test]
fn verif_states_lose_what_is_cut() {
    let mut check = Check::new(
        Table::Equations,
        "verif_felling::verif_states_lose_what_is_cut",
        "mass and lean moment above the hinge of the last cut, after each of the cuts before it",
        "itself: the masses of the pieces cut, the moment of the last piece in its release",
    );
    let text = mill_ash();
    let felling = numbers(&text, 0);
    let world = job(&text).world(Outer::Told).expect("a world");
    for (i, pair) in felling.states.windows(2).enumerate() {
        let piece_kg = world.cut(i).expect("a cut").section.piece.mass_kg;
        let case = format!("cut {}", i + 1);
        check.near(&case, "kg", pair[0].mass_kg - pair[1].mass_kg, piece_kg, Allowed::Share(0.005));
    }
    let last = felling.states.last().expect("a state");
    let at_cut = figure(&felling, "moment_fore").told;
    check.near("lean moment", "N m", last.fore_n_m, at_cut, Allowed::Share(1e-6));
    let side = figure(&felling, "moment_side").told;
    check.near("to the side", "N m", last.side_n_m, side, Allowed::Share(1e-6));
    let falls = felling.states.windows(2).all(|p| p[1].fore_n_m.abs() < p[0].fore_n_m.abs());
    check.holds("each cut takes lean moment away", falls, "moments fall");
    check.end();
}

/// In kind, through the whole report: what the trade expects of a change.
#[test]
fn prop_numbers_answer_changes_as_the_trade_expects() {
    let text = mill_ash();
    let base = numbers(&text, 0);
    let told = |felling: &Felling, key: &str| figure(felling, key).told;
    let changed = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        numbers(&text.replace(from, to), 0)
    };
    let pull = |felling: &Felling| told(felling, "pull.pull-line.gust");
    let thick = changed("hinge: \"4 cm\"", "hinge: \"6 cm\"");
    assert!(pull(&thick) > 1.5 * pull(&base));
    assert!(thick.sizes.iter().any(|s| s.key == "hinge_thickness" && !s.outside.is_empty()));
    let first = |felling: &Felling| told(felling, "pull.pull-line.first_tension");
    assert!(first(&base) > 0.0 && first(&base) < pull(&base));
    let toward = changed("toward: Eyed(\"95 deg\")", "toward: Eyed(\"285 deg\")");
    assert_eq!(first(&toward), 0.0);
    let sound = changed("hollows: [(from: \"0 m\", to: \"1.1 m\", shell: Eyed(\"12 cm\"))],", "");
    for key in ["hinge_fore", "hinge_side"] {
        assert!(told(&sound, key) > told(&base, key), "{key}");
    }
    assert!(!sound.figures.iter().any(|f| f.key == "shell"));
    let soft = changed("soil: Gravel, cover: Bare", "soil: ThumbIndents, cover: Turf(\"3 cm\")");
    let gives = |felling: &Felling| told(felling, "vehicle.pull-line.gives");
    assert!(gives(&soft) < gives(&base));
    let bark = changed("height: \"1 m\", sling", "height: \"1 m\", over: Wood, sling");
    assert!(told(&bark, "line.pull-line.far_pull") > told(&base, "line.pull-line.far_pull"));
    let weak = changed("polyester double braid 5/8 in", "manila 3-strand 1/2 in");
    assert!(!figure(&weak, "line.pull-line.rope_share").outside.is_empty());
    let still = changed("gust: Eyed(\"8 m/s\")", "gust: Eyed(\"20 m/s\")");
    assert!(pull(&still) > pull(&base));
}

#[test]
fn prop_draws_hold_what_was_told() {
    let text = mill_ash();
    let felling = numbers(&text, 24);
    for figure in &felling.figures {
        assert!(figure.low <= figure.told && figure.told <= figure.high, "{}", figure.key);
    }
    assert_eq!(felling, numbers(&text, 24), "same seed, same answer");
    let curve = &felling.curves[0];
    assert!(curve.still_n[0].is_some_and(|n| n > 0.0));
    assert_eq!(*curve.still_n.last().expect("angles"), Some(0.0));
    for ((low, high), still) in curve.low_n.iter().zip(&curve.high_n).zip(&curve.still_n) {
        assert!(still.is_none_or(|n| *low <= n && n <= *high));
    }
}

/// Every scene that can be written, with lines and without: an answer of numbers, or why not.
#[test]
fn prop_any_cut_of_any_scene_is_answered_or_refused() {
    let (mut answered, mut with_lines) = (0, 0);
    for number in 0..60 {
        let written = tumblewood_tests::scenes::scene(number);
        if written.beside.is_some() {
            continue;
        }
        let job = job(&written.text);
        for cut in 0..job.scene.cuts.len() {
            let Ok(felling) = fell(&job, &Question { cut, seed: number, draws: 4 }) else {
                continue;
            };
            answered += 1;
            with_lines += u32::from(felling.curves.iter().any(|c| c.line.is_some()));
            for figure in &felling.figures {
                for x in [figure.low, figure.told, figure.high] {
                    assert!(!x.is_nan(), "{number}, cut {cut}: {}", figure.key);
                }
            }
            for curve in &felling.curves {
                assert!(curve.low_n.iter().chain(&curve.high_n).all(|n| n.is_finite()));
            }
        }
    }
    assert!(answered > 30 && with_lines > 5, "{answered} answered, {with_lines} with lines");
}
