//! Counts and medians that two samples of drops are compared by.

/// How far two shares are apart in standard errors of their difference, pooled (Fleiss, Levin &
/// Paik 2003, Statistical Methods for Rates and Proportions, ch. 3); 0 where both are all or none.
#[must_use]
pub fn shares_apart(a: usize, of_a: usize, b: usize, of_b: usize) -> f64 {
    let (n, m) = (of_a as f64, of_b as f64);
    let pooled = (a + b) as f64 / (n + m);
    let error = (pooled * (1.0 - pooled) * (1.0 / n + 1.0 / m)).sqrt();
    if error > 0.0 { (a as f64 / n - b as f64 / m) / error } else { 0.0 }
}

/// Median and the order statistics that hold the true one in at least 99 % of samples: the sign
/// test's interval by the normal approximation of the binomial (Conover 1999, §3.2). `values` is
/// sorted and holds 20 at least.
#[must_use]
pub fn median_within(values: &[f64]) -> (f64, [f64; 2]) {
    let n = values.len();
    let half_width = 2.576 * (n as f64).sqrt() / 2.0;
    let low = (n as f64 / 2.0 - half_width).floor().max(0.0) as usize;
    let high = ((n as f64 / 2.0 + half_width).ceil() as usize).min(n - 1);
    (0.5 * (values[(n - 1) / 2] + values[n / 2]), [values[low], values[high]])
}
