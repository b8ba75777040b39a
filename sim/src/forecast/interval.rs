//! How sure a counted share is.
//!
//! Clopper & Pearson 1934: the exact interval of a binomial share, from quantiles of the Beta
//! distribution. Known answers: `val_clopper_pearson`.

use statrs::distribution::{Beta, ContinuousCDF};

/// Two-sided confidence of every interval.
pub const CONFIDENCE: f64 = 0.95;

/// Lower bound of the share when `hits` of `trials` hit, each tail holding (1 − confidence)/2.
#[must_use]
pub fn low(hits: u32, trials: u32) -> f64 {
    tail_low(hits, trials, 0.5 * (1.0 - CONFIDENCE))
}

/// Upper bound of the share when `hits` of `trials` hit, each tail holding (1 − confidence)/2.
#[must_use]
pub fn high(hits: u32, trials: u32) -> f64 {
    tail_high(hits, trials, 0.5 * (1.0 - CONFIDENCE))
}

/// Lower bound with `tail` below it.
#[must_use]
pub fn tail_low(hits: u32, trials: u32, tail: f64) -> f64 {
    if hits == 0 || trials == 0 {
        return 0.0;
    }
    quantile(f64::from(hits), f64::from(trials - hits.min(trials)) + 1.0, tail, 0.0)
}

/// Upper bound with `tail` above it.
#[must_use]
pub fn tail_high(hits: u32, trials: u32, tail: f64) -> f64 {
    if hits >= trials {
        return 1.0;
    }
    quantile(f64::from(hits) + 1.0, f64::from(trials - hits), 1.0 - tail, 1.0)
}

/// Both bounds where hits of so many trials are a sum of shares, 0 to `trials`: the same quantiles of
/// the Beta distribution, which need no whole number. Wider than need be where the shares are all
/// alike.
#[must_use]
pub fn of_sum(hits: f64, trials: u32) -> [f64; 2] {
    let n = f64::from(trials);
    let hits = hits.clamp(0.0, n);
    let tail = 0.5 * (1.0 - CONFIDENCE);
    let low = if hits > 0.0 { quantile(hits, n - hits + 1.0, tail, 0.0) } else { 0.0 };
    let high = if hits < n { quantile(hits + 1.0, n - hits, 1.0 - tail, 1.0) } else { 1.0 };
    [low, high]
}

fn quantile(a: f64, b: f64, p: f64, otherwise: f64) -> f64 {
    Beta::new(a, b).map_or(otherwise, |beta| beta.inverse_cdf(p))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn val_clopper_pearson() {
        // Zero of n: 1 − (α/2)^(1/n), closed form; 7 of 500 and 5 of 10 as SciPy's
        // binomtest(...).proportion_ci("exact") gives them.
        assert!((high(0, 500) - (1.0 - 0.025_f64.powf(1.0 / 500.0))).abs() < 1e-9);
        assert!(low(0, 500).abs() < 1e-12);
        assert!((low(5, 10) - 0.187_086_03).abs() < 1e-7, "{}", low(5, 10));
        assert!((high(5, 10) - 0.812_913_97).abs() < 1e-7);
        assert!((low(7, 500) - 0.005_646_76).abs() < 1e-6, "{}", low(7, 500));
        assert!((high(7, 500) - 0.028_631_62).abs() < 1e-6, "{}", high(7, 500));
    }
}
