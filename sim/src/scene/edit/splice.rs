//! A scene's text changed in place: bytes replaced, fields set, items put in and taken out.
//!
//! Whatever stands around an edit keeps its comments and its layout: a new field or item goes where
//! its neighbours are and is indented as they are, on their line if they share one. Comments above
//! an item that is taken out stay; one behind it on its last line goes with it.

use std::ops::Range;

use crate::{
    quantity::QuantityError,
    scene::{
        SceneError,
        locate::{self, Found, Part, Step},
    },
};

/// Bytes of a text and what comes in their place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Splice {
    /// Which bytes.
    pub at: Range<usize>,
    /// What stands there afterwards.
    pub text: String,
}

/// Why an edit can't be made.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum EditError {
    /// The scene file has no such field, item or thing.
    #[error("{0}: the scene has no such thing")]
    NoSuch(String),
    /// Splices that don't fit the text they are for.
    #[error("this edit was made for another text of the scene")]
    OtherText,
    /// What was typed is no quantity of the kind that belongs there.
    #[error("{path}: {wrong}")]
    Quantity {
        /// Path of the field.
        path: String,
        /// What is wrong and what is allowed.
        wrong: QuantityError,
    },
    /// The thing can't be changed like that.
    #[error("{path}: {what}; allowed: {allowed}")]
    Refused {
        /// Path of the field or thing.
        path: String,
        /// Why not.
        what: String,
        /// What would be right.
        allowed: String,
    },
    /// The scene would be wrong afterwards.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Scene(#[from] SceneError),
}

impl Splice {
    /// The one splice that takes a text to another.
    #[must_use]
    pub fn between(before: &str, after: &str) -> Self {
        let same = |a: (char, char)| a.0 == a.1;
        let start: usize = before
            .chars()
            .zip(after.chars())
            .take_while(|pair| same(*pair))
            .map(|(c, _)| c.len_utf8())
            .sum();
        let most = before.len().min(after.len()) - start;
        let mut end = 0;
        for (a, b) in before.chars().rev().zip(after.chars().rev()) {
            if a != b || end + a.len_utf8() > most {
                break;
            }
            end += a.len_utf8();
        }
        let text = after.get(start..after.len() - end).unwrap_or_default();
        Self { at: start..before.len() - end, text: text.to_owned() }
    }
}

/// The text after splices that are all told in bytes of the text before; none may overlap.
///
/// # Errors
/// They overlap or lie outside the text.
pub fn apply(text: &str, splices: &[Splice]) -> Result<String, EditError> {
    let mut done = String::with_capacity(text.len() + 64);
    let mut at = 0;
    for splice in in_order(splices) {
        done += text.get(at..splice.at.start).ok_or(EditError::OtherText)?;
        done += &splice.text;
        text.get(splice.at.clone()).ok_or(EditError::OtherText)?;
        at = splice.at.end;
    }
    done += text.get(at..).ok_or(EditError::OtherText)?;
    Ok(done)
}

/// The splices that take the text after `splices` back to `text`.
///
/// # Errors
/// As [`apply`].
pub fn inverse(text: &str, splices: &[Splice]) -> Result<Vec<Splice>, EditError> {
    let (mut put, mut taken) = (0, 0);
    in_order(splices)
        .into_iter()
        .map(|splice| {
            let old = text.get(splice.at.clone()).ok_or(EditError::OtherText)?;
            let start = splice.at.start + put - taken;
            put += splice.text.len();
            taken += old.len();
            Ok(Splice { at: start..start + splice.text.len(), text: old.to_owned() })
        })
        .collect()
}

fn in_order(splices: &[Splice]) -> Vec<&Splice> {
    let mut order: Vec<&Splice> = splices.iter().collect();
    order.sort_by_key(|splice| (splice.at.start, splice.at.end));
    order
}

/// Edits one after another, each made for the text that the one before has left.
pub(super) struct Draft<'a> {
    before: &'a str,
    now: String,
}

impl<'a> Draft<'a> {
    pub(super) fn of(text: &'a str) -> Self {
        Self { before: text, now: text.to_owned() }
    }

    /// The text so far.
    pub(super) fn text(&self) -> &str {
        &self.now
    }

    pub(super) fn edit(
        &mut self,
        make: impl FnOnce(&str) -> Result<Splice, EditError>,
    ) -> Result<(), EditError> {
        self.now = apply(&self.now, &[make(&self.now)?])?;
        Ok(())
    }

    pub(super) fn edit_all(&mut self, splices: &[Splice]) -> Result<(), EditError> {
        self.now = apply(&self.now, splices)?;
        Ok(())
    }

    /// All of it as one splice of the text it began with.
    pub(super) fn splice(self) -> Splice {
        Splice::between(self.before, &self.now)
    }
}

/// The text of the value at a path as it stands, its doubt and quotes included.
#[must_use]
pub fn value<'a>(text: &'a str, path: &str) -> Option<&'a str> {
    let found = locate::find(text, path).filter(|found| found.whole)?;
    text.get(found.span)
}

/// Puts a value at a path: in place of what stands there, or as a new field of what holds it.
///
/// # Errors
/// What should hold the field isn't there.
pub fn set(text: &str, path: &str, value: &str) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(path.to_owned());
    let found = locate::find(text, path).ok_or_else(missing)?;
    if found.whole {
        let value = indented(text, value, indentation(text, found.span.start));
        return Ok(Splice { at: found.span, text: value });
    }
    let (owner_path, name) = parent(path);
    let Some(Step::Field(name)) = name else { return Err(missing()) };
    let owner = holder(text, owner_path).ok_or_else(missing)?;
    if owner.parts.iter().any(|part| part.name.is_none())
        || text.as_bytes().get(owner.span.start) == Some(&b'[')
    {
        return Err(missing());
    }
    let rank = rank(&name);
    let is_before = |part: &Part| part.name.as_ref().is_some_and(|n| self::rank(&n.0) < rank);
    let index = owner.parts.iter().rposition(is_before).map_or(0, |i| i + 1);
    put(text, &owner, index, |indent| format!("{name}: {}", indented(text, value, indent)))
        .ok_or_else(missing)
}

/// Takes a field away; what isn't there needs no taking away.
///
/// # Errors
/// What should hold the field isn't there.
pub fn unset(text: &str, path: &str) -> Result<Option<Splice>, EditError> {
    let missing = || EditError::NoSuch(path.to_owned());
    let (owner_path, name) = parent(path);
    let Some(Step::Field(name)) = name else { return Err(missing()) };
    let owner = holder(text, owner_path).ok_or_else(missing)?;
    let named = |part: &Part| part.name.as_ref().is_some_and(|n| n.0 == name);
    let Some(index) = owner.parts.iter().position(named) else { return Ok(None) };
    take(text, &owner, index).map(Some).ok_or_else(missing)
}

/// Puts an item into a list, before the one at `index` or last; makes the list if there is none.
///
/// # Errors
/// What should hold the list isn't there.
pub fn insert_item(text: &str, list: &str, index: usize, item: &str) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(list.to_owned());
    let Some(owner) = locate::find(text, list).filter(|found| found.whole) else {
        return set(text, list, &format!("[\n    {},\n]", item.replace('\n', "\n    ")));
    };
    let index = index.min(owner.parts.len());
    put(text, &owner, index, |indent| indented(text, item, indent)).ok_or_else(missing)
}

/// As [`insert_item`], of an item whose lines are indented already.
pub(super) fn insert_as_is(
    text: &str,
    list: &str,
    index: usize,
    item: &str,
) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(list.to_owned());
    let owner = locate::find(text, list).filter(|found| found.whole).ok_or_else(missing)?;
    let index = index.min(owner.parts.len());
    put(text, &owner, index, |_| item.to_owned()).ok_or_else(missing)
}

/// Takes an item out of a list.
///
/// # Errors
/// There is no such item.
pub fn remove_item(text: &str, list: &str, index: usize) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(format!("{list}[{index}]"));
    let owner = locate::find(text, list).filter(|found| found.whole).ok_or_else(missing)?;
    take(text, &owner, index).ok_or_else(missing)
}

/// Puts a copy of an item with another id behind it.
///
/// # Errors
/// There is no such item, or it has no id.
pub fn copy_item(text: &str, list: &str, index: usize, id: &str) -> Result<Splice, EditError> {
    let path = format!("{list}[{index}]");
    let item = value(text, &path).ok_or(EditError::NoSuch(path))?;
    let copy = apply(item, &[set(item, "id", &quoted(id))?])?;
    // The copy is indented already: it was cut from a line of this list.
    insert_as_is(text, list, index + 1, &copy)
}

/// A text in quotes, as RON reads it.
#[must_use]
pub fn quoted(text: &str) -> String {
    format!("{text:?}")
}

/// The text that stands in quotes; `None` if none does.
#[must_use]
pub fn unquoted(text: &str) -> Option<String> {
    ron::from_str(text).ok()
}

/// Fields of the file in the order in which its types list them: those that may be left out, and
/// what stands beside them.
const FIELDS: &[&str] = &[
    // A scene.
    "version",
    "name",
    "invented",
    "note",
    "units",
    "doubt",
    "site",
    "tree",
    "targets",
    "climber",
    "climber_line",
    "feller",
    "aids",
    "cuts",
    // A site and its ground.
    "terrain",
    "north",
    "breaklines",
    "ground",
    "patches",
    "wind",
    "soil",
    "cover",
    "roughness",
    "undergrowth",
    "wetness",
    "hard_at",
    // A thing, a place and the tree.
    "id",
    "from",
    "to",
    "at",
    "azimuth",
    "distance",
    "slope",
    "sag",
    "corners",
    "wall",
    "species",
    "dbh",
    "diameter",
    "height",
    "roof",
    "windows",
    "limbs",
    "feet",
    "topped_at",
    "diameters",
    "lean",
    "hollows",
    // A cut and its release.
    "piece",
    "stubs",
    "release",
    "cutter",
    "after",
    "face",
    "toward",
    "opening",
    "depth",
    "hinge",
    "width",
    "strap",
    "push",
];

/// Where in the order of its owner a field belongs.
fn rank(name: &str) -> usize {
    FIELDS.iter().position(|field| *field == name).unwrap_or(FIELDS.len())
}

/// A path without its last step, and that step.
fn parent(path: &str) -> (&str, Option<Step>) {
    let step = locate::steps(path).pop();
    let end = path.rfind(['.', '[']).unwrap_or(0);
    (path.get(..end).unwrap_or_default(), step)
}

/// The struct or list at a path, without a `Some` around it.
fn holder(text: &str, path: &str) -> Option<Found> {
    let mut found = locate::find(text, path).filter(|found| found.whole)?;
    found.body.as_ref()?;
    while text.get(found.span.clone())?.starts_with("Some") && found.parts.len() == 1 {
        let inner = found.parts.first()?.value.clone();
        let within = locate::find(text.get(inner.clone())?, "")?;
        let moved = |range: Range<usize>| range.start + inner.start..range.end + inner.start;
        let part = |part: Part| Part {
            name: part.name.map(|(name, at)| (name, moved(at))),
            value: moved(part.value),
            comma: part.comma.map(|at| at + inner.start),
        };
        found = Found {
            span: moved(within.span),
            body: Some(moved(within.body?)),
            parts: within.parts.into_iter().map(part).collect(),
            whole: true,
        };
    }
    Some(found)
}

/// Puts a part into brackets so that it is the one at `index`; `make` gets its indentation.
fn put(text: &str, owner: &Found, index: usize, make: impl Fn(&str) -> String) -> Option<Splice> {
    let body = owner.body.clone()?;
    let line_end = line_end(text);
    let outer = indentation(text, owner.span.start);
    let deeper = format!("{outer}{}", if outer.contains('\t') { "\t" } else { "    " });
    let Some(before) = index.checked_sub(1).and_then(|i| owner.parts.get(i)) else {
        let Some(first) = owner.parts.first() else {
            return Some(put_alone(text, &body, &outer, &deeper, &make));
        };
        let at = first.start();
        return Some(match own_line(text, at) {
            Some(indent) => {
                let part = make(indent);
                Splice { at: at..at, text: format!("{part},{line_end}{indent}") }
            }
            None => Splice { at: at..at, text: format!("{}, ", make(&outer)) },
        });
    };
    let end = before.value.end;
    let after = before.comma.map_or(end, |comma| comma + 1);
    let is_last = index == owner.parts.len();
    if let Some(indent) = own_line(text, before.start())
        && let Some(free) = free_to(text, after)
    {
        let behind = text.get(end..free)?;
        let part = make(indent);
        return Some(match before.comma {
            Some(_) => Splice { at: free..free, text: format!("{line_end}{indent}{part},") },
            None => Splice { at: end..free, text: format!(",{behind}{line_end}{indent}{part}") },
        });
    }
    let part = make(&outer);
    if part.contains('\n') && is_last && text.get(after..body.end)?.trim().is_empty() {
        // Several lines behind a list on one line: on lines of their own, the bracket as well.
        let comma = if before.comma.is_none() { "," } else { "" };
        let part = make(&deeper);
        let put = format!("{comma}{line_end}{deeper}{part},{line_end}{outer}");
        return Some(Splice { at: after..body.end, text: put });
    }
    Some(match before.comma {
        Some(_) => Splice { at: after..after, text: format!(" {part},") },
        None => Splice { at: end..end, text: format!(", {part}") },
    })
}

/// The first part between brackets that hold none yet.
fn put_alone(
    text: &str,
    body: &Range<usize>,
    outer: &str,
    deeper: &str,
    make: &impl Fn(&str) -> String,
) -> Splice {
    let line_end = line_end(text);
    let inside = text.get(body.clone()).unwrap_or_default();
    let part = make(outer);
    if inside.trim().is_empty() && !part.contains('\n') && !inside.contains('\n') {
        return Splice { at: body.clone(), text: part };
    }
    let part = make(deeper);
    if inside.trim().is_empty() {
        let text = format!("{line_end}{deeper}{part},{line_end}{outer}");
        return Splice { at: body.clone(), text };
    }
    // Behind the comments that stand there.
    let at = body.start + inside.trim_end().len();
    let tail = if inside.get(at - body.start..).is_some_and(|t| t.contains('\n')) {
        String::new()
    } else {
        format!("{line_end}{outer}")
    };
    Splice { at: at..at, text: format!("{line_end}{deeper}{part},{tail}") }
}

/// Takes a part out of brackets.
fn take(text: &str, owner: &Found, index: usize) -> Option<Splice> {
    let body = owner.body.clone()?;
    let part = owner.parts.get(index)?;
    let gone = |at: Range<usize>| Some(Splice { at, text: String::new() });
    let (start, end) = (part.start(), part.comma.map_or(part.value.end, |comma| comma + 1));
    let is_blank = |at: Range<usize>| text.get(at).is_some_and(|t| t.trim().is_empty());
    if owner.parts.len() == 1 && is_blank(body.start..start) && is_blank(end..body.end) {
        return gone(body);
    }
    if let Some(indent) = own_line(text, start)
        && let Some(free) = free_to(text, end)
    {
        // With its line end: the one behind it, or before it where the text ends.
        let from = start - indent.len();
        let until = text.get(free..)?.find('\n').map_or(free, |i| free + i + 1);
        return gone(from..until);
    }
    if let Some(next) = owner.parts.get(index + 1) {
        let until = if is_blank(end..next.start()) { next.start() } else { end };
        return gone(start..until);
    }
    let before = index.checked_sub(1).and_then(|i| owner.parts.get(i));
    match before.and_then(|before| before.comma) {
        Some(comma) if is_blank(comma + 1..start) => {
            // A list that ended with a comma goes on doing so.
            gone(if part.comma.is_some() { comma + 1..end } else { comma..end })
        }
        _ => gone(start..end),
    }
}

/// The blanks before `at`, if nothing else stands before it on its line.
fn own_line(text: &str, at: usize) -> Option<&str> {
    let before = text.get(..at)?;
    let line = before.rsplit('\n').next()?;
    (line.len() < before.len() && line.trim().is_empty()).then_some(line)
}

/// The end of the line of `at`, if nothing but blanks and a comment follow there.
fn free_to(text: &str, at: usize) -> Option<usize> {
    let rest = text.get(at..)?;
    let end = rest.find('\n').unwrap_or(rest.len());
    let line = rest.get(..end)?;
    let line = line.strip_suffix('\r').unwrap_or(line);
    let blank = line.trim_start();
    let is_comment = blank.starts_with("//")
        || (blank.starts_with("/*")
            && blank.trim_end().ends_with("*/")
            && blank.matches("*/").count() == 1);
    (blank.is_empty() || is_comment).then_some(at + line.len())
}

/// The blanks that the line of `at` begins with.
fn indentation(text: &str, at: usize) -> String {
    let line = text.get(..at).and_then(|before| before.rsplit('\n').next()).unwrap_or_default();
    line.chars().take_while(|c| c.is_whitespace()).collect()
}

/// A value of several lines, indented as the line it begins on.
fn indented(text: &str, value: &str, indent: impl AsRef<str>) -> String {
    value.replace('\n', &format!("{}{}", line_end(text), indent.as_ref()))
}

/// How the lines of a text end.
fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

#[cfg(test)]
mod tests {
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
        for (text, path) in [
            ("(a: 1)", "a.b"),
            ("(a: [1])", "a.b"),
            ("(a: [1])", "a[1]"),
            ("(a: 1)", "b.c"),
            ("", "a"),
        ] {
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
        let twice = "(a: [\n  P(\n    id: \"p\", // its name\n  ),\n  P(\n    id: \"q\", // its name\n  ),\n])";
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
        assert!(apply("é", &[splice(1..2, "")]).is_err());
        assert_eq!(Splice::between("aa", "aaa"), splice(2..2, "a"));
        assert_eq!(Splice::between("(é)", "(è)"), splice(1..3, "è"));
    }
}
