//! What was checked against what, as rows of `tests/README.md`.
//!
//! A check gathers its cases, asserts them, and compares its row with the one in `tests/README.md`:
//! a row that differs fails the test. With `TUMBLEWOOD_TABLES=write` the row is written instead, so
//! that the tables are what the tests saw and nothing else. With `TUMBLEWOOD_TABLES=off` rows are left
//! alone, and what is known to be wrong is not asked about: for programs that were changed on purpose.

use std::{env, fmt::Write as _, fs, sync::Mutex};

use crate::{proof, root};

/// Which table a check stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// Closed forms, conservation laws, other integrators: whether the program solves the
    /// equations it says it solves.
    Equations,
    /// Published measurements, handbook tables, other engines, practice: whether the equations are
    /// those of the world.
    World,
    /// What was worked out and can't be scored, with why.
    Unscored,
}

impl Table {
    /// Heading of the table in `tests/README.md`.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Self::Equations => "## Solves its equations",
            Self::World => "## Matches the world",
            Self::Unscored => "## Unscored",
        }
    }
}

/// How far off a case may be.
#[derive(Clone, Copy, Debug)]
pub enum Allowed {
    /// Of the value outside, as a fraction.
    Share(f64),
    /// In the value's own unit.
    By(f64),
}

/// One case, measured in how much of what is allowed it uses up.
struct Case {
    used: f64,
    seen: String,
    off: String,
    allowed: String,
}

/// A check under way.
#[must_use = "a check asserts nothing before its end"]
pub struct Check {
    table: Table,
    test: &'static str,
    what: &'static str,
    source: &'static str,
    cases: Vec<Case>,
    known_wrong: Option<&'static str>,
    of_long_run: bool,
}

impl Check {
    /// A check of one table. `test` is `file::function`; `what` says what is compared, in a few
    /// words; `source` where the truth comes from, with its standing ("from memory", "common
    /// practice") where it wasn't read.
    pub fn new(table: Table, test: &'static str, what: &'static str, source: &'static str) -> Self {
        for text in [test, what, source] {
            assert!(!text.contains(['|', '\n']), "a row is one line of cells: {text}");
        }
        Self { table, test, what, source, cases: Vec::new(), known_wrong: None, of_long_run: false }
    }

    /// Marks a check that does not pass today: its end asserts that it still doesn't, and the row
    /// holds today's value and why.
    pub fn known_wrong(mut self, why: &'static str) -> Self {
        self.known_wrong = Some(why);
        self
    }

    /// A check whose row is that of the long run, which alone has the drops for it.
    pub fn of_long_run(mut self) -> Self {
        self.of_long_run = true;
        self
    }

    /// A value of ours against one from outside.
    pub fn near(&mut self, case: &str, unit: &str, ours: f64, theirs: f64, allowed: Allowed) {
        let (off, allowed, sign) = match allowed {
            Allowed::Share(share) => ((ours / theirs - 1.0) * 100.0, share * 100.0, "%"),
            Allowed::By(by) => (ours - theirs, by, unit),
        };
        let seen = format!("{} for {}{}", shown(ours), with(theirs, unit), of(case));
        self.push(off.abs() / allowed, seen, off, allowed, sign);
    }

    /// A value of ours against an interval from outside; off by how far it lies outside it, in
    /// widths of the interval.
    pub fn within(&mut self, case: &str, unit: &str, ours: f64, interval: [f64; 2]) {
        let [low, high] = interval;
        let middle = 0.5 * (low + high);
        let used = (ours - middle).abs() / (0.5 * (high - low));
        let seen = format!("{}{}", with(ours, unit), of(case));
        let allowed = format!("{} to {}", shown(low), with(high, unit));
        let off = if used <= 1.0 { "within".to_owned() } else { "outside".to_owned() };
        self.cases.push(Case { used: finite(used), seen, off, allowed });
    }

    /// An order, or another yes or no, that the outside says must hold; `seen` says what was.
    pub fn holds(&mut self, case: &str, holds: bool, seen: &str) {
        let off = if holds { "holds" } else { "does not hold" };
        let used = if holds { 0.0 } else { f64::INFINITY };
        let seen = format!("{seen}{}", of(case));
        self.cases.push(Case { used, seen, off: off.to_owned(), allowed: "holds".to_owned() });
    }

    fn push(&mut self, used: f64, seen: String, off: f64, allowed: f64, sign: &str) {
        // Rounding differs between machines where a value is right to the last digits.
        let off = if used < 1e-3 {
            format!("< {}", with(1e-3 * allowed, sign))
        } else {
            let shown = format!("{off:+.0$}", decimals(off, 2));
            if sign.is_empty() { shown } else { format!("{shown} {sign}") }
        };
        let allowed = with(allowed, sign);
        self.cases.push(Case { used: finite(used), seen, off, allowed });
    }

    /// Asserts every case and compares the row.
    ///
    /// # Panics
    ///
    /// Where a case is off by more than allowed, or the row isn't the one in `tests/README.md`.
    pub fn end(self) {
        assert!(!self.cases.is_empty(), "{}: nothing was checked", self.test);
        let mut wrong = String::new();
        for case in self.cases.iter().filter(|case| case.used > 1.0) {
            let Case { seen, off, allowed, .. } = case;
            writeln!(wrong, "{seen}: off by {off}, allowed {allowed}").expect("a string");
        }
        let Self { table, test, what, source, cases, known_wrong, of_long_run } = self;
        if off() && known_wrong.is_some() {
            return;
        }
        assert!(wrong.is_empty() || known_wrong.is_some(), "{test}: {what} ({source})\n{wrong}");
        assert!(
            !wrong.is_empty() || known_wrong.is_none(),
            "{test} is right now: it need no longer be known as wrong"
        );
        let Some(worst) = cases.iter().reduce(|a, b| if b.used > a.used { b } else { a }) else {
            return;
        };
        let Case { seen, off, allowed, .. } = worst;
        let count = cases.len();
        let verdict = match known_wrong {
            Some(why) => format!("**falls outside**: {why}"),
            None => "meets it".to_owned(),
        };
        let cells = [what, source, &count.to_string(), seen, off, allowed, &verdict];
        if proof::is_long() == of_long_run {
            keep(table, test, &cells);
        }
    }

    /// A row for what can't be scored: what was seen, and why that says nothing.
    pub fn unscored(test: &'static str, what: &str, source: &str, seen: &str, why: &str) {
        if !proof::is_long() {
            keep(Table::Unscored, test, &[what, source, seen, why]);
        }
    }
}

/// An unusable number is as far off as can be.
fn finite(used: f64) -> f64 {
    if used.is_finite() { used } else { f64::INFINITY }
}

fn of(case: &str) -> String {
    if case.is_empty() { String::new() } else { format!(" ({case})") }
}

/// Decimals that show this many digits of a value.
fn decimals(value: f64, digits: i32) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    (digits - 1 - value.abs().log10().floor() as i32).clamp(0, 12) as usize
}

/// A value to four digits.
fn shown(value: f64) -> String {
    format!("{value:.0$}", decimals(value, 4))
}

fn with(value: f64, unit: &str) -> String {
    // What is allowed is a round number: no zeros behind it.
    let plain = shown(value);
    let plain = match plain.contains('.') {
        true => plain.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => plain,
    };
    if unit.is_empty() { plain } else { format!("{plain} {unit}") }
}

/// Compares a row with the one in `tests/README.md`, or writes it.
fn keep(table: Table, test: &str, cells: &[&str]) {
    if off() {
        return;
    }
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    let _guard = ONE_AT_A_TIME.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let row = format!("| `{test}` | {} |", cells.join(" | "));
    let path = root().join("tests/README.md");
    let text = fs::read_to_string(&path).expect("tests/README.md");
    if writes() {
        let fresh = replaced(&text, table, test, &row);
        if fresh != text {
            fs::write(&path, fresh).expect("tests/README.md can be written");
        }
        return;
    }
    let key = format!("| `{test}` |");
    let old = text.lines().find(|line| line.starts_with(&key)).unwrap_or("no row");
    assert_eq!(
        old, row,
        "the row of {test} in tests/README.md is not what the test saw; \
         TUMBLEWOOD_TABLES=write cargo test writes what it sees"
    );
}

/// Compares a page that a long test makes with the one kept under `tests/`, or writes it.
///
/// # Panics
///
/// Where the page isn't the one kept.
pub fn page(name: &str, text: &str) {
    let path = root().join("tests").join(name);
    if writes() {
        fs::write(&path, text).expect("a page can be written");
        return;
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        kept, text,
        "tests/{name} is not what the test saw; with TUMBLEWOOD_TABLES=write it writes what it sees"
    );
}

/// Rows are not looked at: a constant is a tenth off, and only what is allowed counts.
fn off() -> bool {
    mode().is_some_and(|v| v == "off")
}

fn mode() -> Option<std::ffi::OsString> {
    env::var_os("TUMBLEWOOD_TABLES")
}

fn writes() -> bool {
    mode().is_some_and(|v| v == "write")
}

/// The text with this row in its table, sorted by name, and nowhere else.
fn replaced(text: &str, table: Table, test: &str, row: &str) -> String {
    let key = format!("| `{test}` |");
    let mut lines: Vec<&str> = text.lines().filter(|line| !line.starts_with(&key)).collect();
    let heading = lines.iter().position(|line| *line == table.heading()).expect("its table");
    let rule = lines[heading..].iter().position(|line| line.starts_with("|---")).expect("its head");
    let first = heading + rule + 1;
    let rows = lines[first..].iter().take_while(|line| line.starts_with("| `")).count();
    let place = lines[first..first + rows].iter().take_while(|line| **line < row).count();
    lines.insert(first + place, row);
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "# T\n\n## Solves its equations\n\nWords.\n\n| test | a |\n|---|---|\n";

    #[test]
    fn prop_rows_stand_sorted_and_once() {
        let text = format!("{HEAD}\n## Matches the world\n");
        let put = |text: &str, test: &str, row: &str| replaced(text, Table::Equations, test, row);
        let b = put(&text, "b", "| `b` | 1 |");
        let ab = put(&b, "a", "| `a` | 2 |");
        let again = put(&ab, "b", "| `b` | 3 |");
        assert_eq!(again, format!("{HEAD}| `a` | 2 |\n| `b` | 3 |\n\n## Matches the world\n"));
    }

    #[test]
    fn prop_numbers_show_four_digits() {
        let cases = [(1.23456, "1.235"), (0.000_123_456, "0.0001235"), (98_765.4, "98765")];
        for (value, expected) in cases {
            assert_eq!(shown(value), expected);
        }
        assert_eq!(with(2.0, "%"), "2 %");
    }

    #[test]
    #[should_panic(expected = "off by +10 %, allowed 1 %")]
    fn prop_a_case_too_far_off_fails() {
        let mut check = Check::new(Table::Equations, "table::none", "a tenth too much", "ours");
        check.near("x", "m", 1.1, 1.0, Allowed::Share(0.01));
        check.end();
    }

    #[test]
    #[should_panic(expected = "is right now")]
    fn prop_a_known_wrong_that_passes_fails() {
        let mut check =
            Check::new(Table::World, "table::none", "right", "ours").known_wrong("it was");
        check.near("", "m", 1.0, 1.0, Allowed::By(0.1));
        check.end();
    }
}
