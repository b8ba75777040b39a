//! Scores of lessons against the published formulas, worked by hand, and calibration counted by hand.

use glam::DVec2;
use tumblewood::{
    forecast::interval,
    lesson::{
        Measure,
        calibration::{self, Bin},
        record::{Kind, Row},
        score::{best_mark, chance, mark, options, range},
    },
};

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn val_brier_1950_of_one_chance() {
    // 3 in 10 said of what happens in one drop of four: ((0.3 − 1)² + 3·0.3²)/4.
    let score = chance(0.3, 0.25);
    assert!(near(score.value, (0.49 + 0.27) / 4.0), "{score:?}");
    assert!(near(score.could_know, 0.0025) && near(score.nobody_could, 0.1875));
}

#[test]
fn val_brier_1950_of_several() {
    // Two drops, the first option and the second: 0.25 + 0.09 + 0.04 and 0.25 + 0.49 + 0.04.
    let score = options(&[0.5, 0.3, 0.2], &[0.5, 0.5, 0.0]).expect("a score");
    assert!(near(score.value, 0.5 * (0.38 + 0.78)), "{score:?}");
    assert!(near(score.could_know, 0.08) && near(score.nobody_could, 0.5));
    assert!(near(score.stated, 0.5) && near(score.share, 0.5));
    // Sure of what never happens is the worst there is.
    let wrong = options(&[1.0, 0.0], &[0.0, 1.0]).expect("a score");
    assert!(near(wrong.value, 2.0));
    assert!(options(&[1.0], &[0.5, 0.5]).is_none());
}

#[test]
fn val_interval_score_of_gneiting_and_raftery() {
    // α = 0.2, from 2 to 6, drops at 1, 4 and 9: 4 + 10·1, 4, 4 + 10·3.
    let score = range(Measure::Distance, 2.0, 6.0, &[1.0, 4.0, 9.0]).expect("a score");
    assert!(near(score.value, (14.0 + 4.0 + 34.0) / 3.0), "{score:?}");
    assert!(near(score.share, 1.0 / 3.0));
    let [below, above] = score.beside.expect("both sides");
    assert!(near(below, 1.0 / 3.0) && near(above, 1.0 / 3.0));
    // Ten drops, one for each number: 1 in 10 below 1 and above 9 leaves 1 to 9, missed by 10 alone.
    let tens: Vec<f64> = (1..=10).map(f64::from).collect();
    let best = range(Measure::Distance, 1.0, 9.0, &tens).expect("a score");
    assert!(near(best.value, 8.0 + 10.0 * 0.1) && near(best.could_know, 0.0), "{best:?}");
    assert!(range(Measure::Distance, 1.0, 2.0, &[]).is_none());
}

#[test]
fn val_a_mark_by_its_own_formula() {
    // Radius 2, drops 1 and 4 away: 2, and 2 + 5·2.
    let drops = [DVec2::new(1.0, 0.0), DVec2::new(0.0, 4.0)];
    let score = mark(DVec2::ZERO, 2.0, &drops).expect("a score");
    assert!(near(score.value, 7.0), "{score:?}");
    assert!(near(score.share, 0.5));
    // Corners of a square: the middle, and the radius to the corners.
    let corners = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)].map(DVec2::from);
    let (at, radius, least) = best_mark(&corners).expect("a mark");
    assert!(at.length() < 0.02 && (radius - 2_f64.sqrt()).abs() < 0.02, "{at} {radius}");
    assert!((least - 2_f64.sqrt()).abs() < 0.02);
}

fn row(kind: Kind, stated: f64, share: f64, beside: Option<[f64; 2]>) -> Row {
    Row {
        date: "2026-03-14".into(),
        course: String::new(),
        lesson: "a".into(),
        scene_hash: String::new(),
        law: "soil 5".into(),
        seed: 7,
        drops: 100,
        question: "q".into(),
        kind,
        case: "as-it-stands".into(),
        answer: "80".into(),
        happened: String::new(),
        score: 0.2,
        could_know: 0.1,
        stated,
        share,
        beside,
    }
}

#[test]
fn val_calibration_counted_by_hand() {
    let mut rows: Vec<Row> =
        [1.0, 1.0, 0.0, 1.0, 0.0].map(|share| row(Kind::Options, 0.8, share, None)).into();
    rows.push(row(Kind::Chance, 0.3, 0.25, None));
    rows.push(row(Kind::Chance, 1.0, 1.0, None));
    rows.extend((0..5).map(|_| row(Kind::Distance, 0.8, 0.5, Some([0.1, 0.4]))));
    for (i, row) in rows.iter_mut().enumerate() {
        row.question = format!("q{i}");
    }
    // Answered again with its drops seen: no better for it.
    let again = Row { stated: 0.05, ..rows[2].clone() };
    rows.push(again);
    let found = calibration::of(&rows);
    // 0.3 opens its bin, 1.0 closes the last one.
    let edges: Vec<[f64; 2]> = found.bins.iter().map(|bin| bin.edges).collect();
    assert_eq!(edges, [[0.3, 0.5], [0.7, 0.9], [0.9, 1.0]]);
    assert_eq!((found.answers, found.again), (12, 1));
    let Bin { answers, stated, happened, interval: [low, high], .. } = found.bins[1];
    assert_eq!(answers, 5);
    assert!(near(stated, 0.8) && near(happened, 0.6));
    // Three of five: Clopper and Pearson's, as for whole numbers.
    assert!(near(low, interval::low(3, 5)) && near(high, interval::high(3, 5)));
    let held = found.held[0];
    assert_eq!((held.kind, held.answers), (Kind::Distance, 5));
    assert!(near(held.within, 0.5) && near(held.below, 0.1) && near(held.above, 0.4));
    let said = found.errs.join("\n");
    assert!(said.contains("too sure, by 20 in 100"), "{said}");
    assert!(said.contains("too narrow, and too near"), "{said}");
    assert!(!said.contains("Of chances"), "two answers are too few: {said}");
}
