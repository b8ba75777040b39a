//! Scores of lessons are proper: none is less than that of one who says what the drops do.

use glam::DVec2;
use tumblewood::{
    keyed::Key,
    lesson::{
        Measure,
        score::{best_mark, chance, mark, options, range},
    },
};

/// Rounds of each check.
const ROUNDS: u64 = 200;

fn draws(word: &str, round: u64) -> impl Fn(u64) -> f64 {
    let key = Key::root(5).word(word).number(round);
    move |i| key.number(i).uniform()
}

#[test]
fn prop_the_true_share_scores_least() {
    for round in 0..ROUNDS {
        let draw = draws("chance", round);
        let (share, said) = (draw(0), draw(1));
        assert!(chance(said, share).value >= chance(share, share).value, "{share} {said}");
        let of = |from: u64| {
            let all: Vec<f64> = (from..from + 4).map(&draw).collect();
            let sum: f64 = all.iter().sum();
            all.into_iter().map(|x| x / sum).collect::<Vec<f64>>()
        };
        let (shares, said) = (of(10), of(20));
        let [told, truth] = [&said, &shares].map(|p| options(p, &shares).expect("a score"));
        assert!(told.value >= truth.value && truth.could_know.abs() < 1e-12);
    }
}

#[test]
fn prop_no_range_scores_less_than_the_quantiles() {
    for round in 0..ROUNDS {
        let draw = draws("range", round);
        let values: Vec<f64> = (0..37).map(|i| draw(i) * draw(100 + i) * 40.0).collect();
        let ends = [draw(200) * 40.0, draw(201) * 40.0];
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let score = range(Measure::Distance, low, high, &values).expect("a score");
        // Not by being cut off: the best range is of the drops themselves.
        let best = values.iter().flat_map(|l| values.iter().map(move |h| (*l, *h)));
        let best = best
            .filter(|(l, h)| l <= h)
            .filter_map(|(l, h)| range(Measure::Distance, l, h, &values))
            .map(|s| s.value)
            .fold(f64::INFINITY, f64::min);
        assert!((best - score.nobody_could).abs() < 1e-9 || score.value < best + 1e-9);
        assert!(score.could_know >= 0.0 && score.value >= best - 1e-9, "round {round}");
    }
}

#[test]
fn prop_no_mark_scores_less_than_the_one_found() {
    for round in 0..40 {
        let draw = draws("mark", round);
        let drops: Vec<DVec2> = (0..40)
            .map(|i| DVec2::new(draw(2 * i) * 20.0, draw(2 * i + 1) * draw(500 + i) * 60.0))
            .collect();
        let (_, radius_m, least) = best_mark(&drops).expect("a mark");
        assert!(radius_m > 0.0);
        for other in 0..60 {
            let at = DVec2::new(draw(1000 + other) * 20.0, draw(2000 + other) * 60.0);
            let score = mark(at, draw(3000 + other) * 30.0, &drops).expect("a score");
            assert!(score.value >= least - 0.02, "{} under {least}", score.value);
            assert!(score.could_know >= 0.0 && (0.0..=1.0).contains(&score.share));
        }
    }
}
