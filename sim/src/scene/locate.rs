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

/// The value at the end of a path, or the deepest one on the way to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Found {
    /// Bytes of the value, its tag included.
    pub(super) span: Range<usize>,
    /// Names of its fields and their bytes, in order.
    pub(super) fields: Vec<(String, Range<usize>)>,
    /// It is the end of the path.
    pub(super) whole: bool,
}

impl Found {
    /// Bytes of the name of a field of this value; the last one if it is there twice.
    #[must_use]
    pub(super) fn field_name(&self, name: &str) -> Option<Range<usize>> {
        self.fields.iter().rev().find(|f| f.0 == name).map(|f| f.1.clone())
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
    fields: Vec<(String, Range<usize>)>,
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
                self.skip();
                if self.rest().starts_with('(') {
                    inside = self.inside(')', depth, path);
                } else {
                    self.at = end;
                }
            }
        }
        let span = start..self.at;
        let found = path.map(|path| {
            inside.found.unwrap_or(Found {
                span: span.clone(),
                fields: inside.fields,
                whole: path.is_empty(),
            })
        });
        Some((span, found))
    }

    /// Reads what stands in brackets. Only what lies on the path is kept.
    fn inside(&mut self, close: char, depth: usize, path: Option<&[Step]>) -> Inside {
        let mut inside = Inside::default();
        // What a lone item holds, when the path asks for a field: `Some(x)` and `Variant(x)`.
        let (mut lone, mut count) = (None, 0_usize);
        self.at += 1;
        loop {
            self.skip();
            if self.rest().is_empty() || self.take(close) {
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
            if let Some((_, Some(found))) = value {
                if is_lone {
                    lone = Some(found);
                } else if inside.found.is_none() {
                    inside.found = Some(found);
                }
            }
            match name {
                Some(name) if path.is_some() => inside.fields.push(name),
                Some(_) => {}
                None => count += 1,
            }
            self.skip();
            if !self.take(',') && !self.rest().starts_with(close) && self.at == before {
                // Nothing was understood here: step over one character and go on.
                self.at += self.rest().chars().next().map_or(1, char::len_utf8);
            }
        }
        if count == 1 && inside.fields.is_empty() {
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
