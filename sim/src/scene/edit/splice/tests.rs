use super::*;

#[track_caller]
fn check(text: &str, splice: Result<Splice, EditError>, expect: &str) {
    let splices = [splice.unwrap()];
    let after = apply(text, &splices).unwrap();
    assert_eq!(after, expect);
    assert_eq!(apply(&after, &inverse(text, &splices).unwrap()).unwrap(), text);
    assert_eq!(apply(text, &[Splice::between(text, &after)]).unwrap(), after);
}

#[test]
fn verif_a_value_is_replaced_where_it_stands() {
    check(
        "(a: 1, /* b */ b: \"2\" /* c */)",
        set("(a: 1, /* b */ b: \"2\" /* c */)", "b", "3"),
        "(a: 1, /* b */ b: 3 /* c */)",
    );
}

#[test]
fn verif_a_field_goes_where_its_neighbours_are() {
    for (text, expect) in [
        ("(a: (from: 1))", "(a: (from: 1, sag: 2))"),
        ("(a: (from: 1,))", "(a: (from: 1, sag: 2,))"),
        ("(a: ())", "(a: (sag: 2))"),
        ("(a: (height: 1))", "(a: (sag: 2, height: 1))"),
        ("(a: Some((from: 1)))", "(a: Some((from: 1, sag: 2)))"),
        ("(a: (\n  from: 1, // x\n  // y\n))", "(a: (\n  from: 1, // x\n  sag: 2,\n  // y\n))"),
        ("(a: (\n  from: 1 // x\n))", "(a: (\n  from: 1, // x\n  sag: 2\n))"),
        (
            "(a: (\n  from: 1, to: 2,\n  height: 3))",
            "(a: (\n  from: 1, to: 2, sag: 2,\n  height: 3))",
        ),
        ("(a: (\r\n\tfrom: 1,\r\n))", "(a: (\r\n\tfrom: 1,\r\n\tsag: 2,\r\n))"),
        ("(a: (\n  height: 1))", "(a: (\n  sag: 2,\n  height: 1))"),
    ] {
        check(text, set(text, "a.sag", "2"), expect);
    }
    for (text, path) in
        [("(a: 1)", "a.b"), ("(a: [1])", "a.b"), ("(a: [1])", "a[1]"), ("(a: 1)", "b.c"), ("", "a")]
    {
        assert!(set(text, path, "2").is_err(), "{path} in {text}");
    }
}

#[test]
fn verif_a_field_is_taken_away() {
    for (text, expect) in [
        ("(a: 1, b: 2)", "(a: 1)"),
        ("(a: 1, b: 2,)", "(a: 1,)"),
        ("(b: 2, a: 1)", "(a: 1)"),
        ("(b: 2)", "()"),
        (
            "(\n  a: 1, // one\n  // of b\n  b: 2, // two\n  c: 3,\n)",
            "(\n  a: 1, // one\n  // of b\n  c: 3,\n)",
        ),
        ("(\n  a: 1,\n  b: [\n  ],\n)", "(\n  a: 1,\n)"),
        ("(a: 1, /* x */ b: 2)", "(a: 1, /* x */ )"),
    ] {
        check(text, unset(text, "b").map(Option::unwrap), expect);
    }
    assert_eq!(unset("(a: 1)", "b").unwrap(), None);
}

#[test]
fn verif_items_come_and_go() {
    for (text, index, expect) in [
        ("(a: [])", 0, "(a: [X])"),
        ("(a: [\n])", 0, "(a: [\n    X,\n])"),
        ("(a: [ // none\n])", 0, "(a: [ // none\n    X,\n])"),
        ("(a: [P, Q])", 9, "(a: [P, Q, X])"),
        ("(a: [P, Q])", 1, "(a: [P, X, Q])"),
        ("(a: [P, Q])", 0, "(a: [X, P, Q])"),
        (
            "(\n    a: [\n        P(\n        ), // p\n        // end\n    ],\n)",
            1,
            "(\n    a: [\n        P(\n        ), // p\n        X,\n        // end\n    ],\n)",
        ),
        ("(\n  cuts: 1,\n)", 0, "(\n  cuts: 1,\n  a: [\n      X,\n  ],\n)"),
    ] {
        check(text, insert_item(text, "a", index, "X"), expect);
    }
    let text = "(cuts: 1)";
    check(text, insert_item(text, "aids", 0, "X"), "(aids: [\n    X,\n], cuts: 1)");
    let several = "X(\n    id: 1,\n)";
    let text = "(\n  a: [P],\n)";
    check(
        text,
        insert_item(text, "a", 1, several),
        "(\n  a: [P,\n      X(\n          id: 1,\n      ),\n  ],\n)",
    );
    let text = "(a: [\n  P, // p\n  // of q\n  Q, // q\n  R\n])";
    check(text, remove_item(text, "a", 1), "(a: [\n  P, // p\n  // of q\n  R\n])");
    check(text, remove_item(text, "a", 2), "(a: [\n  P, // p\n  // of q\n  Q, // q\n])");
    assert!(remove_item(text, "a", 3).is_err());
    let text = "(a: [\n  P(\n    id: \"p\", // its name\n  ),\n])";
    let twice =
        "(a: [\n  P(\n    id: \"p\", // its name\n  ),\n  P(\n    id: \"q\", // its name\n  ),\n])";
    check(text, copy_item(text, "a", 0, "q"), twice);
}

#[test]
fn verif_several_splices_are_told_in_one_text() {
    let text = "abcdef";
    let splice = |at: Range<usize>, text: &str| Splice { at, text: text.to_owned() };
    let splices = [splice(4..5, "EEE"), splice(1..2, ""), splice(2..2, "+")];
    let after = apply(text, &splices).unwrap();
    assert_eq!(after, "a+cdEEEf");
    assert_eq!(apply(&after, &inverse(text, &splices).unwrap()).unwrap(), text);
    assert!(apply(text, &[splice(1..3, ""), splice(2..4, "")]).is_err());
    assert!(apply(text, &[splice(5..9, "")]).is_err());
    assert!(inverse(text, &[splice(0..5, ""), splice(0..5, "")]).is_err());
    assert!(apply("é", &[splice(1..2, "")]).is_err());
    assert_eq!(Splice::between("aa", "aaa"), splice(2..2, "a"));
    assert_eq!(Splice::between("(é)", "(è)"), splice(1..3, "è"));
}

#[test]
fn prop_a_broken_text_breaks_nothing() {
    let whole = crate::scene::starter().replace("invented: true", "invented: \u{e9}r#\"x");
    let starts = (0..whole.len()).step_by(61).filter_map(|end| whole.get(..end));
    let ends = (0..whole.len()).step_by(61).filter_map(|start| whole.get(start..));
    let mut made = 0;
    for text in starts.chain(ends) {
        for path in ["targets", "cuts[1].release.push.force", "site.patches[0].ground.cover", ""] {
            let splices = [
                set(text, path, "X(\n)"),
                unset(text, path).map(|splice| splice.unwrap_or_else(|| Splice::between("", ""))),
                insert_item(text, path, 1, "X"),
                remove_item(text, path, 1),
                copy_item(text, path, 0, "x"),
            ];
            for splice in splices.into_iter().flatten() {
                let after = apply(text, std::slice::from_ref(&splice)).unwrap();
                let back = inverse(text, &[splice]).unwrap();
                assert_eq!(apply(&after, &back).unwrap(), text);
                made += 1;
            }
        }
    }
    assert!(made > 500, "only {made} edits were made");
}
