//! The one table that all targets print their rows of.
//!
//! A row is an area, what was measured, the number with its unit, and what it should be. Every
//! target prints rows of the same shape on stdout, so that `cargo bench -p tumblewood-benches`
//! prints one table; a bench never fails for being slow.

/// What a number should be.
#[derive(Clone, Copy, Debug)]
pub enum Goal {
    /// At least this.
    AtLeast(f64),
    /// At most this.
    AtMost(f64),
    /// No goal: for reading beside the others.
    None,
}

impl Goal {
    /// The goal in words, and whether a number meets it.
    #[must_use]
    pub fn words(self, number: f64, unit: &str) -> String {
        let (sign, goal, met) = match self {
            Self::AtLeast(goal) => ("≥", goal, number >= goal),
            Self::AtMost(goal) => ("≤", goal, number <= goal),
            Self::None => return String::new(),
        };
        format!("goal {sign} {} {unit}: {}", figures(goal), if met { "met" } else { "not met" })
    }
}

/// Prints one row.
pub fn row(area: &str, what: &str, number: f64, unit: &str, goal: Goal) {
    let words = goal.words(number, unit);
    say(format!("{area:<13} {what:<58} {:>9} {unit:<13} {words}", figures(number)));
}

/// Prints a row for what could not be run, with why.
pub fn not_run(area: &str, why: &str) {
    say(format!("{area:<13} not run: {}", why.trim()));
}

/// Prints a remark under the rows of an area.
pub fn remark(area: &str, text: &str) {
    say(format!("{area:<13} · {text}"));
}

fn say(line: String) {
    #[allow(clippy::print_stdout, reason = "a table is what the benches are for")]
    {
        println!("{}", line.trim_end());
    }
}

/// A number with about three figures.
#[must_use]
pub fn figures(number: f64) -> String {
    match number.abs() {
        x if x >= 99.95 => format!("{number:.0}"),
        x if x >= 9.995 => format!("{number:.1}"),
        x if x >= 0.0995 || x == 0.0 => format!("{number:.2}"),
        _ => format!("{number:.4}"),
    }
}

/// The middle one of some numbers; NaN of none.
#[must_use]
pub fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).copied().unwrap_or(f64::NAN)
}

/// The geometric mean of some numbers; NaN of none.
#[must_use]
pub fn geometric_mean(numbers: &[f64]) -> f64 {
    (numbers.iter().map(|x| x.ln()).sum::<f64>() / numbers.len() as f64).exp()
}
