//! Whether truths rank among draws as one more draw would: simulation-based calibration.
//!
//! Talts et al. 2018 (arXiv 1804.06788): where a truth and its measurement come from one joint law
//! and draws from the posterior given the measurement, the truth's rank among the draws is uniform,
//! for any number that is worked out of each. A place in (0, 1) is the rank with ties and the
//! rank's own step broken at random, so that it is uniform without steps where that holds.

use statrs::distribution::{ChiSquared, ContinuousCDF};
use tumblewood::{forecast::interval, keyed::Key};

/// Place of a truth among draws, in (0, 1).
#[must_use]
pub fn place(truth: f64, draws: &[f64], key: Key) -> f64 {
    let below = draws.iter().filter(|d| d.total_cmp(&truth).is_lt()).count() as f64;
    let same = draws.iter().filter(|d| d.total_cmp(&truth).is_eq()).count() as f64;
    // The truth is as likely to be any of those it ties with, itself among them.
    (below + (same + 1.0) * key.uniform()) / (draws.len() as f64 + 1.0)
}

/// Pearson's χ² of places in equal bins, and the probability of so much by chance.
#[must_use]
pub fn chi_square(places: &[f64], bins: usize) -> (f64, f64) {
    let mut counts = vec![0.0; bins];
    for place in places {
        counts[((place * bins as f64) as usize).min(bins - 1)] += 1.0;
    }
    let expected = places.len() as f64 / bins as f64;
    let sum: f64 = counts.iter().map(|c| (c - expected) * (c - expected) / expected).sum();
    let law = ChiSquared::new((bins - 1) as f64).expect("degrees of freedom");
    (sum, law.sf(sum))
}

/// Greatest distance of the places' distribution from the even one, and the probability of so much
/// by chance: Kolmogorov's law with Stephens' correction for n (Stephens 1970, from memory).
#[must_use]
pub fn kolmogorov(places: &[f64]) -> (f64, f64) {
    let mut sorted = places.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let distance = sorted.iter().enumerate().fold(0.0_f64, |most, (i, place)| {
        most.max((i + 1) as f64 / n - place).max(place - i as f64 / n)
    });
    (distance, by_chance((n.sqrt() + 0.12 + 0.11 / n.sqrt()) * distance))
}

/// The distance that chance exceeds with probability `level`, for `n` places.
#[must_use]
pub fn kolmogorov_limit(n: usize, level: f64) -> f64 {
    let (mut low, mut high) = (0.3, 5.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if by_chance(middle) > level {
            low = middle;
        } else {
            high = middle;
        }
    }
    let root = (n as f64).sqrt();
    high / (root + 0.12 + 0.11 / root)
}

/// Kolmogorov's law: probability of more than λ.
fn by_chance(lambda: f64) -> f64 {
    let term = |k: i32| {
        let sign = if k % 2 == 1 { 1.0 } else { -1.0 };
        sign * (-2.0 * f64::from(k * k) * lambda * lambda).exp()
    };
    // Below this the series needs many terms and the law is 1 to six digits.
    if lambda < 0.35 { 1.0 } else { (2.0 * (1..=40).map(term).sum::<f64>()).clamp(0.0, 1.0) }
}

/// A share that was counted, with its interval (Clopper & Pearson 1934).
#[derive(Clone, Copy, Debug)]
pub struct Share {
    /// How many.
    pub hits: u32,
    /// Of how many.
    pub of: u32,
}

impl Share {
    /// Counts the places for which something holds.
    #[must_use]
    pub fn of(places: &[f64], holds: impl Fn(f64) -> bool) -> Self {
        let hits = places.iter().filter(|p| holds(**p)).count() as u32;
        Self { hits, of: places.len() as u32 }
    }

    /// Places in the middle `share` of all.
    #[must_use]
    pub fn middle(places: &[f64], share: f64) -> Self {
        Self::of(places, |p| (p - 0.5).abs() <= 0.5 * share)
    }

    /// The share.
    #[must_use]
    pub fn share(self) -> f64 {
        f64::from(self.hits) / f64::from(self.of.max(1))
    }

    /// What holds the true share but with probability `level`, half of it to each side.
    #[must_use]
    pub fn interval(self, level: f64) -> [f64; 2] {
        let tail = 0.5 * level;
        [
            interval::tail_low(self.hits, self.of, tail),
            interval::tail_high(self.hits, self.of, tail),
        ]
    }

    /// In percent, with what holds the true share in 95 % of samples.
    #[must_use]
    pub fn text(self) -> String {
        let [low, high] = self.interval(0.05);
        format!("{:.0} % ({:.0} to {:.0})", 1e2 * self.share(), 1e2 * low, 1e2 * high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn uniform(n: u64, seed: u64) -> Vec<f64> {
        (0..n).map(|i| Key::root(seed).number(i).uniform()).collect()
    }

    #[test]
    fn val_critical_values_are_those_of_the_tables() {
        // Tables of χ² (19 degrees, 1 %: 36.191) and of Kolmogorov's λ (5 %: 1.358, 1 %: 1.628).
        let law = ChiSquared::new(19.0).expect("degrees of freedom");
        assert!((law.sf(36.191) - 0.01).abs() < 1e-5, "{}", law.sf(36.191));
        assert!((by_chance(1.358) - 0.05).abs() < 1e-4, "{}", by_chance(1.358));
        assert!((by_chance(1.628) - 0.01).abs() < 1e-4, "{}", by_chance(1.628));
        let limit = kolmogorov_limit(10_000, 0.01);
        assert!((limit - 0.01628).abs() < 3e-5, "{limit}");
    }

    #[test]
    fn verif_chance_is_called_chance_as_often_as_stated() {
        // Of 2000 even samples, 5 % by either test: within five standard errors.
        let samples: Vec<Vec<f64>> = (0..2000).map(|seed| uniform(200, seed)).collect();
        for test in [|s: &[f64]| chi_square(s, 20), kolmogorov] {
            let called = samples.iter().filter(|s| test(s).1 < 0.05).count() as f64;
            assert!((called - 100.0).abs() < 5.0 * 95_f64.sqrt(), "{called} of 2000");
        }
    }

    #[test]
    fn prop_draws_too_narrow_too_wide_or_shifted_are_found() {
        // Truths of spread 1 among draws of spread 1/2 and 2, or half a spread off.
        for (scale, shift) in [(0.5, 0.0), (2.0, 0.0), (1.0, 0.5)] {
            let places: Vec<f64> = (0..250)
                .map(|i| {
                    let key = Key::root(5).number(i);
                    let draws: Vec<f64> = (0..100)
                        .map(|d| shift + scale * key.word("draw").number(d).normal())
                        .collect();
                    place(key.word("truth").normal(), &draws, key.word("place"))
                })
                .collect();
            assert!(chi_square(&places, 20).1 < 1e-3, "{scale} {shift}");
            assert!(kolmogorov(&places).1 < 0.02, "{scale} {shift}");
        }
    }

    #[test]
    fn verif_ties_are_broken_evenly() {
        let places: Vec<f64> = (0..2000)
            .map(|i| {
                let key = Key::root(6).number(i);
                let coin = |k: Key| f64::from(u8::from(k.uniform() < 0.7));
                let draws: Vec<f64> = (0..20).map(|d| coin(key.number(d))).collect();
                place(coin(key.word("truth")), &draws, key.word("place"))
            })
            .collect();
        assert!(chi_square(&places, 20).1 > 1e-3 && kolmogorov(&places).1 > 1e-3);
        // A share of nothing is bounded all the same.
        assert!(Share { hits: 0, of: 0 }.interval(0.05)[1] >= 1.0);
    }
}
