//! The tables of `tests/README.md` name tests that exist.

use std::fs;

use tumblewood_tests::root;

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
