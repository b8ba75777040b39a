//! `tests/mutation.md`: one row a constant.

use std::fs;

use tumblewood_tests::{
    mutation::{Constant, Kind, TABLE},
    root,
};

/// Cells of a row.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    kind: Kind,
    /// Name, where, value, unit, two outcomes, remark.
    cells: Vec<String>,
}

const HEAD: &str = "\
# What a constant that is a tenth off does to the checks

`tests/run mutation` writes this. The list is read from the source. Each check that uses a constant
is run with it times 0.9 and times 1.1, at run time, the tables' rows not compared; checks that only
say that a number was copied right are left out. \"Nobody\" means that every check that uses the
constant passed; \"unused\" that none uses it. The last column is ours and kept when the rest is
written anew.
";

const PHYSICAL: &str = "
## Physical constants

Tables change whole, a column of species or a range of the ground at a time. The first check that
failed stands for all.

| constant | in `sim/src` | value | unit | times 0.9 | times 1.1 | why nobody |
|---|---|---|---|---|---|---|
";

const NUMERICAL: &str = "
## Numerical constants

The other way round: how finely something is reckoned must not decide what comes out, so none of the
checks may fail. Whole numbers change by a tenth, and by one at least; shares of nearly one by a
tenth of what they leave.

| constant | in `sim/src` | value | unit | times 0.9 | times 1.1 | what failed |
|---|---|---|---|---|---|---|
";

impl Row {
    /// A row of what was seen, or of what stood there where nothing was tried.
    pub(crate) fn new(
        constant: &Constant,
        seen: [Option<String>; 2],
        users: usize,
        old: Option<&Self>,
    ) -> Self {
        let mut cells: Vec<String> = constant.to_string()[2..]
            .trim_end_matches(" |")
            .split(" | ")
            .map(str::to_owned)
            .collect();
        let kept = |i: usize| old.map(|row| row.cells[i].clone()).unwrap_or_default();
        for (i, seen) in seen.into_iter().enumerate() {
            let seen = match (seen, constant.kind) {
                (Some(seen), Kind::Numerical) if seen == "nobody" => format!("{users} pass"),
                (Some(seen), _) => seen,
                (None, _) => kept(4 + i),
            };
            cells.push(seen);
        }
        let outcomes = &cells[4..6];
        let is_open = match constant.kind {
            Kind::Numerical => outcomes.iter().any(|seen| seen.contains('`')),
            _ => outcomes.iter().any(|seen| !seen.contains('`')),
        };
        cells.push(if is_open { kept(6) } else { String::new() });
        Self { kind: constant.kind, cells }
    }

    /// Whether it is this constant's.
    pub(crate) fn is_of(&self, constant: &Constant) -> bool {
        constant.to_string().starts_with(&format!("| {} |", self.cells[..2].join(" | ")))
    }

    /// Whether it is this constant's with the value that the constant has now.
    pub(crate) fn is_current(&self, constant: &Constant) -> bool {
        constant.to_string() == format!("| {} |", self.cells[..4].join(" | "))
    }

    /// Whether it names this check.
    pub(crate) fn names(&self, check: &str) -> bool {
        self.cells[4..6].iter().any(|cell| cell.contains(&format!("`{check}`")))
    }
}

/// The rows as they stand.
pub(crate) fn read() -> Vec<Row> {
    let text = fs::read_to_string(root().join(TABLE)).unwrap_or_default();
    let rows = text.lines().filter_map(|line| line.strip_prefix("| `"));
    rows.filter_map(|row| {
        let row = format!("`{}", row.strip_suffix('|')?);
        let cells: Vec<String> = row.split(" | ").map(|cell| cell.trim().to_owned()).collect();
        (cells.len() == 7).then_some(Row { kind: Kind::Neither, cells })
    })
    .collect()
}

/// Writes the rows.
pub(crate) fn write(rows: &[Row], checks: usize) {
    let of = |kind: Kind| rows.iter().filter(move |row| row.kind == kind);
    let count = |kind: Kind, test: &dyn Fn(&str) -> bool| {
        of(kind).filter(|row| row.cells[4..6].iter().all(|cell| test(cell))).count()
    };
    let caught = count(Kind::Physical, &|cell| cell.contains('`'));
    let quiet = count(Kind::Numerical, &|cell| !cell.contains('`'));
    let mut text = HEAD.to_owned();
    text += &format!(
        "\n{checks} checks: {caught} of {} physical constants are caught both ways; {quiet} of {} numerical \
         ones\nchange no verdict.\n",
        of(Kind::Physical).count(),
        of(Kind::Numerical).count(),
    );
    for (head, kind) in [(PHYSICAL, Kind::Physical), (NUMERICAL, Kind::Numerical)] {
        text += head;
        for row in of(kind) {
            text += &format!("| {} |\n", row.cells.join(" | "));
        }
    }
    fs::write(root().join(TABLE), text).expect("tests/mutation.md can be written");
}
