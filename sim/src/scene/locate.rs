//! Where in a RON text the value at a path stands.
//!
//! Serde gives a path without a place, and a check after reading has a path only; this finds the
//! place. It reads any text without failing: what it can't follow ends the search at the deepest
//! value found.

use std::ops::Range;

/// One step of a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// A field by name.
    Field(String),
    /// An item by index.
    Item(usize),
}

/// Deepest nesting that is followed.
const DEPTH_MAX: usize = 128;

/// One field of a struct or one item of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Part {
    /// Its name and where that stands; an item has none.
    pub(super) name: Option<(String, Range<usize>)>,
    /// Bytes of its value; none where no value stands.
    pub(super) value: Range<usize>,
    /// Where its comma stands, if it has one.
    pub(super) comma: Option<usize>,
}

impl Part {
    /// Where its name, or else its value, begins.
    #[must_use]
    pub(super) fn start(&self) -> usize {
        self.name.as_ref().map_or(self.value.start, |name| name.1.start)
    }
}

/// The value at the end of a path, or the deepest one on the way to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Found {
    /// Bytes of the value, its tag included.
    pub(super) span: Range<usize>,
    /// Bytes between its brackets, if it has any.
    pub(super) body: Option<Range<usize>>,
    /// What stands between them, in order.
    pub(super) parts: Vec<Part>,
    /// It is the end of the path.
    pub(super) whole: bool,
}

impl Found {
    /// Bytes of the name of a field of this value; the last one if it is there twice.
    #[must_use]
    pub(super) fn field_name(&self, name: &str) -> Option<Range<usize>> {
        self.part(name).and_then(|part| part.name.as_ref()).map(|name| name.1.clone())
    }

    /// The field of a name; the last one if it is there twice.
    #[must_use]
    pub(super) fn part(&self, name: &str) -> Option<&Part> {
        self.parts.iter().rev().find(|part| part.name.as_ref().is_some_and(|n| n.0 == name))
    }
}

/// The steps of a path such as `cuts[2].piece.to`.
#[must_use]
pub(super) fn steps(path: &str) -> Vec<Step> {
    let mut found = Vec::new();
    for part in path.split('.') {
        let (name, rest) = part.split_once('[').map_or((part, ""), |(name, rest)| (name, rest));
        if !name.is_empty() {
            found.push(Step::Field(name.to_owned()));
        }
        for index in rest.split('[') {
            if let Ok(index) = index.trim_end_matches(']').parse() {
                found.push(Step::Item(index));
            }
        }
    }
    found
}

/// Finds the value at a path of the first value of a text; `None` if there is no value at all.
#[must_use]
pub(super) fn find(text: &str, path: &str) -> Option<Found> {
    Reader { text, at: 0 }.value(0, Some(&steps(path)))?.1
}

/// The name of the first field of a text's first value, its bytes, and the bytes of its value.
#[must_use]
pub(super) fn first_field(text: &str) -> Option<(&str, Range<usize>, Range<usize>)> {
    let mut reader = Reader { text, at: 0 };
    reader.skip();
    reader.word();
    reader.skip();
    if !reader.take('(') {
        return None;
    }
    reader.skip();
    let (_, name) = reader.field_name(')')?;
    let (value, _) = reader.value(1, None)?;
    Some((text.get(name.clone())?, name, value))
}

/// `text` without blanks and comments at its ends.
#[must_use]
pub(super) fn without_comments(text: &str) -> &str {
    let start = skip(text, 0);
    let value = Reader { text, at: 0 }.value(0, None);
    let end = value.map_or(text.len(), |(span, _)| span.end);
    text.get(start..end).unwrap_or(text).trim()
}

/// The position after blanks, comments and `#![enable(...)]`.
fn skip(text: &str, mut at: usize) -> usize {
    loop {
        let rest = text.get(at..).unwrap_or("");
        let trimmed = rest.trim_start();
        at += rest.len() - trimmed.len();
        if trimmed.starts_with("//") {
            at += trimmed.find('\n').unwrap_or(trimmed.len());
        } else if trimmed.starts_with("/*") {
            at += block_comment(trimmed);
        } else if trimmed.starts_with("#!") {
            at += trimmed.find(']').map_or(trimmed.len(), |i| i + 1);
        } else {
            return at;
        }
    }
}

/// Length of the (nesting) block comment that `text` begins with.
fn block_comment(text: &str) -> usize {
    let (mut depth, mut at) = (0_usize, 0);
    while let Some(rest) = text.get(at..).filter(|r| !r.is_empty()) {
        if rest.starts_with("/*") {
            depth += 1;
            at += 2;
        } else if rest.starts_with("*/") {
            depth -= 1;
            at += 2;
            if depth == 0 {
                return at;
            }
        } else {
            at += rest.chars().next().map_or(1, char::len_utf8);
        }
    }
    text.len()
}

/// What was kept of what stands in brackets.
#[derive(Default)]
struct Inside {
    body: Option<Range<usize>>,
    parts: Vec<Part>,
    found: Option<Found>,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn skip(&mut self) {
        self.at = skip(self.text, self.at);
    }

    fn take(&mut self, what: char) -> bool {
        let hit = self.rest().starts_with(what);
        if hit {
            self.at += what.len_utf8();
        }
        hit
    }

    /// A run of characters that no separator breaks: a name or a number.
    fn word(&mut self) -> &'a str {
        let rest = self.rest();
        let end = rest
            .find(|c: char| c.is_whitespace() || "()[]{},:\"'/".contains(c))
            .unwrap_or(rest.len());
        self.at += end;
        rest.get(..end).unwrap_or("")
    }

    fn string(&mut self) {
        self.at += 1;
        let mut escaped = false;
        for (i, c) in self.rest().char_indices() {
            match c {
                _ if escaped => escaped = false,
                '\\' => escaped = true,
                '"' => {
                    self.at += i + 1;
                    return;
                }
                _ => {}
            }
        }
        self.at = self.text.len();
    }

    /// Reads a value: its bytes and, if a path is followed, where the path led.
    fn value(
        &mut self,
        depth: usize,
        path: Option<&[Step]>,
    ) -> Option<(Range<usize>, Option<Found>)> {
        self.skip();
        let start = self.at;
        if depth > DEPTH_MAX {
            return None;
        }
        let mut inside = Inside::default();
        match self.rest().chars().next()? {
            '"' => self.string(),
            '[' => inside = self.inside(']', depth, path),
            '{' => inside = self.inside('}', depth, path),
            '(' => inside = self.inside(')', depth, path),
            '\'' => self.at += self.rest().char_indices().nth(3).map_or(1, |(i, _)| i),
            ')' | ']' | '}' | ',' | ':' => return None,
            _ => {
                if self.word().is_empty() {
                    self.at += self.rest().chars().next().map_or(1, char::len_utf8);
                }
                let end = self.at;
                if self.raw_string(start) {
                    return Some(self.told(start, Inside::default(), path));
                }
                self.skip();
                if self.rest().starts_with('(') {
                    inside = self.inside(')', depth, path);
                } else {
                    self.at = end;
                }
            }
        }
        Some(self.told(start, inside, path))
    }

    /// What is told of a value that began at `start` and ends here.
    fn told(
        &self,
        start: usize,
        inside: Inside,
        path: Option<&[Step]>,
    ) -> (Range<usize>, Option<Found>) {
        let span = start..self.at;
        let found = path.map(|path| {
            inside.found.unwrap_or(Found {
                span: span.clone(),
                body: inside.body,
                parts: inside.parts,
                whole: path.is_empty(),
            })
        });
        (span, found)
    }

    /// Reads a raw string, if one stands at `start`.
    fn raw_string(&mut self, start: usize) -> bool {
        let Some(rest) = self.text.get(start..).and_then(|rest| rest.strip_prefix('r')) else {
            return false;
        };
        let fence = rest.len() - rest.trim_start_matches('#').len();
        let Some(inner) = rest.get(fence..).and_then(|rest| rest.strip_prefix('"')) else {
            return false;
        };
        let close = format!("\"{}", "#".repeat(fence));
        let end = inner.find(&close).map_or(rest.len(), |end| fence + 1 + end + close.len());
        self.at = start + 1 + end;
        true
    }

    /// Reads what stands in brackets. Only what lies on the path is kept.
    fn inside(&mut self, close: char, depth: usize, path: Option<&[Step]>) -> Inside {
        let mut inside = Inside::default();
        // What a lone item holds, when the path asks for a field: `Some(x)` and `Variant(x)`.
        let (mut lone, mut count) = (None, 0_usize);
        self.at += 1;
        let start = self.at;
        loop {
            self.skip();
            let end = self.at;
            if self.rest().is_empty() || self.take(close) {
                inside.body = Some(start..end);
                break;
            }
            let before = self.at;
            let name = self.field_name(close);
            let step = path.and_then(|path| path.split_first());
            let below = match (step, &name) {
                (Some((Step::Field(wanted), rest)), Some((name, _))) if wanted == name => {
                    Some(rest)
                }
                (Some((Step::Item(wanted), rest)), None) if *wanted == count => Some(rest),
                (Some((Step::Field(_), _)), None) if count == 0 => path,
                _ => None,
            };
            let is_lone = name.is_none() && matches!(step, Some((Step::Field(_), _)));
            let value = self.value(depth + 1, below);
            let span = value.as_ref().map_or(self.at..self.at, |(span, _)| span.clone());
            if let Some((_, Some(found))) = value {
                if is_lone {
                    lone = Some(found);
                } else if inside.found.is_none() {
                    inside.found = Some(found);
                }
            }
            count += usize::from(name.is_none());
            self.skip();
            let comma = self.at;
            let has_comma = self.take(',');
            if path.is_some() {
                let comma = has_comma.then_some(comma);
                inside.parts.push(Part { name, value: span, comma });
            }
            if !has_comma && !self.rest().starts_with(close) && self.at == before {
                // Nothing was understood here: step over one character and go on.
                self.at += self.rest().chars().next().map_or(1, char::len_utf8);
            }
        }
        if count == 1 && inside.parts.iter().all(|part| part.name.is_none()) {
            inside.found = inside.found.or(lone);
        }
        inside
    }

    /// `name:` at this place of a struct, if it stands here.
    fn field_name(&mut self, close: char) -> Option<(String, Range<usize>)> {
        let start = self.at;
        if close != ')' {
            return None;
        }
        let name = self.word();
        let span = start..self.at;
        self.skip();
        if !name.is_empty() && self.take(':') {
            return Some((name.to_owned(), span));
        }
        self.at = start;
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, path: &str, expect: &str) {
        let found = find(text, path).unwrap();
        assert!(found.whole, "{path} not found");
        assert_eq!(&text[found.span], expect);
    }

    #[test]
    fn verif_paths_lead_to_their_values() {
        let text = "// scene\n(a: 1, /* b: 2 */ b: Leg(\"1 ft\", \"-3 deg\"), c: [X(d: \"e)\"), Y],\n g: Some((h: 7)))";
        check(text, "a", "1");
        check(text, "c[0].d", "\"e)\"");
        check(text, "c[1]", "Y");
        check(text, "b[1]", "\"-3 deg\"");
        check(text, "g.h", "7");
        check(text, "c[0]", "X(d: \"e)\")");
        check("(a: r\"x)\", b: r#\"y\"z\"#, c: 1)", "c", "1");
        check("(a: r\"x)\", b: r#\"y\"z\"#, c: 1)", "b", "r#\"y\"z\"#");
    }

    #[test]
    fn verif_parts_stand_with_their_commas() {
        let text = "(a: [X(1) /* ) */ , Y // y\n])";
        let found = find(text, "a").unwrap();
        assert_eq!(found.body, Some(5..text.len() - 2));
        let shown: Vec<(&str, Option<usize>)> =
            found.parts.iter().map(|p| (&text[p.value.clone()], p.comma)).collect();
        assert_eq!(shown, [("X(1)", Some(18)), ("Y", None)]);
    }

    #[test]
    fn verif_a_missing_field_ends_at_its_owner() {
        let found = find("(a: (b: 1))", "a.c").unwrap();
        assert!(!found.whole);
        assert_eq!(found.span, 4..10);
        assert_eq!(found.field_name("b"), Some(5..6));
        assert_eq!(first_field("/* x */ (a: (b: 1))"), Some(("a", 9..10, 12..18)));
    }

    #[test]
    fn verif_comments_at_the_ends_are_dropped() {
        assert_eq!(without_comments(" /* x */ \"1 m\" // y"), "\"1 m\"");
    }
}
