//! Notes of what happened against truths that are known: each draw of a bank is taken as the truth
//! once, noted as somebody would note one drop of each cut, and weighed among all the others.
//!
//! Because truth and draws come from one prior, a true input lies in the middle 80 of 100 of the
//! weighed draws about that often, if the weights say no more than the notes do; and a cut that was
//! not noted is foretold better than before, if they say anything.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::sync::{LazyLock, atomic::AtomicBool};

use tumblewood::{
    drop::GroundLaw,
    forecast::{
        Ask, Fate,
        tune::{Bank, NoAnswer, as_cut, bank, tuned, weigh},
    },
    job::Job,
    keyed::Key,
    outcome::Mode,
    scene::{
        self, Doubtful, How,
        happened::{CutNote, Left, Way},
        model::Place,
    },
};
use tumblewood_tests::{
    proof::unless_long,
    ranks::Share,
    table::{Check, Table},
};

const SEED: u64 = 2718;

/// An invented bank of 28° whose soil, cover and wetness are in doubt, and three cuts.
const SCENE: &str = r#"(
    version: 1, name: "Bank to be tuned", invented: true, units: Metric,
    site: (
        terrain: Transects(lines: [
            (id: "down", azimuth: "180 deg", legs: [(Exactly("30 m"), Exactly("-28 deg")), (Exactly("50 m"), Exactly("-3 deg"))]),
            (id: "up", azimuth: "0 deg", legs: [(Exactly("6 m"), Exactly("20 deg")), (Exactly("9 m"), Exactly("10 deg"))]),
            (id: "east", azimuth: "90 deg", legs: [(Exactly("10 m"), Exactly("0 deg")), (Exactly("20 m"), Exactly("0 deg"))]),
            (id: "west", azimuth: "270 deg", legs: [(Exactly("10 m"), Exactly("0 deg")), (Exactly("20 m"), Exactly("0 deg"))]),
        ]),
        ground: (soil: DontKnow, cover: Litter(DontKnow), roughness: Ankle, wetness: DontKnow),
    ),
    tree: (species: "American beech", dbh: "40 cm", height: "22 m", topped_at: Exactly("14 m"), diameters: [("2 m", "38 cm"), ("12 m", "24 cm")]),
    climber: Away, climber_line: Away,
    cuts: [
        (id: "a", piece: Section(from: "12 m", to: "14 m"), release: PushOver(toward: "180 deg"), cutter: OnTheSpar),
        (id: "b", piece: Section(from: "9 m", to: "12 m"), release: PushOver(toward: "190 deg"), cutter: OnTheSpar),
        (id: "c", piece: Section(from: "7 m", to: "9 m"), release: PushOver(toward: "175 deg"), cutter: OnTheSpar),
    ],
)"#;

/// Half width of a noted place, east and north, m.
const NOTED_M: f64 = 0.5;

fn job() -> Job {
    let scene = scene::parse(SCENE, "bank").unwrap_or_else(|e| panic!("{e}"));
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

fn ask(draws: u32, drops: u32) -> Ask {
    Ask {
        cuts: vec![0, 1, 2],
        drops: 0,
        grounds: draws,
        drops_per_ground: drops,
        seed: SEED,
        law: GroundLaw::Soil,
    }
}

fn dropped(draws: u32, drops: u32) -> Bank {
    bank(&job(), &ask(draws, drops), &AtomicBool::new(false), &|_| {}).expect("a bank")
}

/// All tests look at one bank.
static BANK: LazyLock<Bank> = LazyLock::new(|| {
    let draws = unless_long("draws of the bank that is tuned", 120, 800);
    dropped(draws as u32, 8)
});

fn place(at: glam::DVec3, key: Key) -> Place {
    let off = |word: &str| NOTED_M * (2.0 * key.word(word).uniform() - 1.0);
    Place::Local {
        east_m: Doubtful::around(at.x + off("east"), NOTED_M, How::Stated),
        north_m: Doubtful::around(at.y + off("north"), NOTED_M, How::Stated),
    }
}

/// What somebody notes of one drop of a cut.
fn noted(fate: &Fate, cut: usize, key: Key) -> CutNote {
    let empty = CutNote {
        cut,
        path: format!("notes[{cut}]"),
        length_m: None,
        left: Some(Left::SatBack),
        first_touch: None,
        lay: None,
        went: None,
        words: String::new(),
    };
    let Some(outcome) = fate.outcome() else { return empty };
    let way = match outcome.mode {
        Mode::Stayed => Way::Stayed,
        Mode::Slid => Way::Slid,
        Mode::Rolled => Way::Rolled,
        Mode::Tumbled => Way::Tumbled,
    };
    CutNote {
        left: Some(Left::OverTheFace),
        first_touch: outcome.first_touch.map(|t| place(t.point_m, key.word("touch"))),
        lay: Some(place(outcome.end_m, key.word("lay"))),
        went: Some((way, true)),
        ..empty
    }
}

/// Notes of the first drop of the first `cuts` cuts on one draw of the bank.
fn notes(bank: &Bank, truth: usize, cuts: usize) -> Vec<CutNote> {
    let key = Key::root(SEED).word("notes").number(truth as u64);
    let draw = &bank.draws[truth];
    (0..cuts).map(|k| noted(&draw.fates[k][0], k, key.number(k as u64))).collect()
}

/// Share of the weight below a truth, ties half.
fn place_of(truth: f64, values: &[(f64, f64)]) -> f64 {
    values
        .iter()
        .map(|(x, w)| {
            w * if *x < truth {
                1.0
            } else if *x > truth {
                0.0
            } else {
                0.5
            }
        })
        .sum()
}

/// Continuous ranked probability score of weighed values, E|X − y| − ½·E|X − X′|: less is better.
fn crps(truth: f64, values: &[(f64, f64)]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut score, mut below) = (0.0, 0.0);
    // The same by the integral of the squared step between the two distributions.
    for pair in sorted.windows(2) {
        let (from, to) = (pair[0].0, pair[1].0);
        below += pair[0].1;
        let before = (truth.clamp(from, to) - from) * below * below;
        let after = (to - truth.clamp(from, to)) * (1.0 - below) * (1.0 - below);
        score += before + after;
    }
    let (first, last) = (sorted.first().map_or(0.0, |v| v.0), sorted.last().map_or(0.0, |v| v.0));
    score + (first - truth).max(0.0) + (truth - last).max(0.0)
}

/// How far from the stump a piece came to lie, m.
fn farthest(fate: &Fate) -> Option<f64> {
    fate.outcome().map(|o| o.end_m.truncate().length())
}

/// Inputs of the ground that every draw has and that vary.
fn inputs(bank: &Bank) -> Vec<String> {
    let everywhere = |path: &&String| bank.draws.iter().all(|d| d.inputs.contains_key(*path));
    bank.draws[0]
        .inputs
        .keys()
        .filter(|path| path.starts_with("site.ground."))
        .filter(everywhere)
        .cloned()
        .collect()
}

/// Two notes tell wet ground from dry and loose from firm, and nothing of the other numbers: those
/// score a hundredth of their spread worse afterwards, for fewer draws are left to say the same. That
/// is why `tune` shows what moves beyond chance apart from what doesn't.
#[test]
fn verif_a_known_ground_is_covered_and_better_known_than_before() {
    let bank = &*BANK;
    let n = bank.draws.len();
    let inputs = inputs(bank);
    assert!(inputs.len() >= 8, "{inputs:?}");
    let mut places = Vec::new();
    let mut gains = Vec::new();
    let mut by_input = vec![0.0; inputs.len()];
    let (mut effective, mut none) = (0.0, 0);
    for truth in 0..n {
        let found = weigh(bank, &notes(bank, truth, 2), Some(truth));
        if found.meet_all == 0 {
            none += 1;
            continue;
        }
        effective += found.effective;
        for (path, sum) in inputs.iter().zip(&mut by_input) {
            let value = |i: usize| bank.draws[i].inputs[path];
            let others = || (0..n).filter(|i| *i != truth);
            let even = 1.0 / (n - 1) as f64;
            let before: Vec<(f64, f64)> = others().map(|i| (value(i), even)).collect();
            let after: Vec<(f64, f64)> = others().map(|i| (value(i), found.weights[i])).collect();
            let mean = before.iter().map(|v| v.0 * even).sum::<f64>();
            let sd = before.iter().map(|v| even * (v.0 - mean).powi(2)).sum::<f64>().sqrt();
            *sum += (crps(value(truth), &before) - crps(value(truth), &after)) / sd / n as f64;
            // What is so or not has no middle.
            if !path.ends_with("traction_capped") && !path.ends_with("loose") {
                places.push(place_of(value(truth), &after));
            }
        }
        // The cut that is not noted: how far its piece came to lie from the stump.
        let Some(far) = farthest(&bank.draws[truth].fates[2][0]) else { continue };
        let predicted = |weights: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
            let draws = (0..n).filter(|i| *i != truth);
            let drops = draws.flat_map(|i| {
                let fates = bank.draws[i].fates[2].iter().filter_map(farthest);
                fates.map(move |m| (i, m))
            });
            let rows: Vec<(f64, f64)> = drops.map(|(i, m)| (m, weights(i))).collect();
            let sum: f64 = rows.iter().map(|r| r.1).sum();
            rows.into_iter().map(|(m, w)| (m, w / sum)).collect()
        };
        let before = crps(far, &predicted(&|_| 1.0));
        gains.push(before - crps(far, &predicted(&|i| found.weights[i])));
    }
    let answered = gains.len() as f64;
    let mean = gains.iter().sum::<f64>() / answered;
    let error =
        (gains.iter().map(|g| (g - mean).powi(2)).sum::<f64>() / answered / answered).sqrt();
    println!("effective draws: {:.1} of {n}; no draw agrees: {none}", effective / answered);
    for (path, gain) in inputs.iter().zip(&by_input) {
        println!("{path}: {gain:+.4}");
    }
    println!("gain {mean:.4} ± {error:.4} m");
    let mut check = Check::new(
        Table::Equations,
        "verif_tune::verif_a_known_ground_is_covered_and_better_known_than_before",
        "each draw of an invented bank taken as the truth, one drop of two cuts of it noted by tape, \
         the others weighed by the notes: true numbers of the ground in the middle of the weighed \
         draws as often as stated; how far the piece of the third cut comes to lie is foretold better than before \
         (continuous ranked probability score)",
        "truths from the prior; a proper score (Gneiting & Raftery 2007, from memory)",
    );
    for stated in [0.5, 0.8] {
        let share = Share::middle(&places, stated);
        // Places of one truth are not independent: as if one in four were.
        let least = stated - 3.0 * (stated * (1.0 - stated) / (0.25 * places.len() as f64)).sqrt();
        let case = format!("in the middle {stated}");
        check.holds(&case, share.share() >= least, &format!("{:.2}", share.share()));
    }
    check.holds("score", mean > 2.0 * error, &format!("better by {mean:.2} ± {error:.2} m"));
    check.holds("no answer", none as f64 <= 0.1 * n as f64, "for under a tenth of the truths");
    check.end();
}

#[test]
fn prop_more_notes_are_worth_fewer_draws() {
    let bank = &*BANK;
    let mean = |cuts: usize| {
        let all = (0..40).map(|t| weigh(bank, &notes(bank, t, cuts), Some(t)).effective);
        all.sum::<f64>() / 40.0
    };
    let [none, one, two] = [0, 1, 2].map(mean);
    assert!((none - (bank.draws.len() - 1) as f64).abs() < 1e-9, "{none}");
    assert!(one < none && two < one, "{none} {one} {two}");
}

#[test]
fn prop_no_drop_that_agrees_is_no_answer() {
    let bank = &*BANK;
    let mut note = notes(bank, 0, 1);
    let far = Place::Local { east_m: Doubtful::exact(0.0), north_m: Doubtful::exact(14.0) };
    note[0].lay = Some(far);
    note[0].left = Some(Left::OverTheFace);
    let answer = tuned(&job(), &ask(120, 8), bank, &note, &|m| format!("{m:.0} m"));
    let why = answer.expect_err("uphill");
    assert!(matches!(why, NoAnswer::NoDropAgrees { .. }), "{why}");
    let said = why.to_string();
    assert!(said.contains("cut a") && said.contains("m off"), "{said}");
    assert_eq!(
        tuned(&job(), &ask(120, 8), bank, &[], &|m| m.to_string()).expect_err("nothing"),
        NoAnswer::NothingNoted
    );
}

#[test]
fn prop_an_as_cut_length_moves_the_cut_and_not_the_top() {
    let text = "(version: 1, notes: [(cut: \"b\", length: Within(\"2.6 m\", \"10 cm\"))])";
    let job = job();
    let happened = scene::happened::parse(text, "n", &job.scene).unwrap_or_else(|e| panic!("{e}"));
    let cut = as_cut(&job, &happened);
    let scene::PieceSpec::Section { from_m, to_m } = &cut.scene.cuts[1].piece else {
        panic!("the second cut of the starter takes a section");
    };
    assert!((to_m.told - 12.0).abs() < 1e-9 && (from_m.told - 9.4).abs() < 1e-9);
    let lengths: Vec<f64> = (0..8)
        .map(|index| {
            let outer = tumblewood::job::Outer::Drawn { seed: 1, index };
            let ready = cut.world(outer).expect("a world").cut(1).expect("a cut");
            ready.section.piece.length_m()
        })
        .collect();
    assert!(lengths.iter().all(|l| (2.5..=2.7).contains(l)), "{lengths:?}");
    assert!(lengths.iter().any(|l| *l > 2.62) && lengths.iter().any(|l| *l < 2.58), "{lengths:?}");
}
