//! The tables of `tests/README.md` name tests that exist, and that of `tests/mutation.md` constants
//! that do, with the values that they have.

use std::fs;

use tumblewood_tests::{
    mutation::{Kind, TABLE, constants, sources},
    root,
};

#[test]
fn prop_every_row_has_its_test() {
    let text = fs::read_to_string(root().join("tests/README.md")).expect("tests/README.md");
    let names = text.lines().filter_map(|line| line.strip_prefix("| `")?.split('`').next());
    for name in names {
        let (file, function) = name.split_once("::").expect("file::function");
        let path = root().join("tests/tests").join(file).with_extension("rs");
        let source = fs::read_to_string(&path).unwrap_or_default();
        assert!(source.contains(&format!("fn {function}(")), "the row of {name} has no test");
    }
}

#[test]
fn prop_every_constant_has_its_row() {
    let text = fs::read_to_string(root().join(TABLE)).expect("the table of constants");
    let rows: Vec<&str> = text.lines().filter(|line| line.starts_with("| `")).collect();
    let all = constants(&sources());
    let counted: Vec<_> = all.iter().filter(|c| c.kind != Kind::Neither).collect();
    for constant in &counted {
        let is_its = |row: &&str| row.starts_with(&constant.to_string());
        assert!(rows.iter().any(is_its), "no row for {constant}: tests/run mutation writes it");
    }
    assert_eq!(rows.len(), counted.len(), "a row of a constant that is gone");
}
