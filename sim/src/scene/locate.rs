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

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Node {
    /// Bytes of the value, its tag included.
    pub(super) span: Range<usize>,
    /// Fields: name, bytes of the name, value.
    pub(super) fields: Vec<(String, Range<usize>, Node)>,
    /// Items of a list or a tuple.
    pub(super) items: Vec<Node>,
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

/// Reads the first value of a text; `None` if there is none.
#[must_use]
pub(super) fn read(text: &str) -> Option<Node> {
    Reader { text, at: 0 }.value(0)
}

impl Node {
    /// The value at the end of a path, or the deepest one on the way; true if it is the end.
    #[must_use]
    pub(super) fn find(&self, path: &[Step]) -> (&Self, bool) {
        let mut node = self;
        for step in path {
            // `Some(x)` and `Variant(x)` hold their one value as an item.
            let inner = match (&node.items[..], node.fields.is_empty(), step) {
                ([only], true, Step::Field(_)) => only,
                _ => node,
            };
            let next = match step {
                Step::Field(name) => inner.fields.iter().find(|f| f.0 == *name).map(|f| &f.2),
                Step::Item(index) => inner.items.get(*index),
            };
            match next {
                Some(next) => node = next,
                None => return (node, false),
            }
        }
        (node, true)
    }

    /// Bytes of the name of a field of this value.
    #[must_use]
    pub(super) fn field_name(&self, name: &str) -> Option<Range<usize>> {
        self.fields.iter().rev().find(|f| f.0 == name).map(|f| f.1.clone())
    }
}

/// `text` without blanks and comments at its ends.
#[must_use]
pub(super) fn without_comments(text: &str) -> &str {
    let start = skip(text, 0);
    let end = read(text).map_or(text.len(), |node| node.span.end);
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

    fn value(&mut self, depth: usize) -> Option<Node> {
        self.skip();
        let start = self.at;
        let mut node = Node { span: start..start, fields: Vec::new(), items: Vec::new() };
        if depth > DEPTH_MAX {
            return None;
        }
        match self.rest().chars().next()? {
            '"' => self.string(),
            '[' => self.inside(&mut node, ']', depth),
            '{' => self.inside(&mut node, '}', depth),
            '(' => self.inside(&mut node, ')', depth),
            '\'' => self.at += self.rest().char_indices().nth(3).map_or(1, |(i, _)| i),
            ')' | ']' | '}' | ',' | ':' => return None,
            _ => {
                if self.word().is_empty() {
                    self.at += self.rest().chars().next().map_or(1, char::len_utf8);
                }
                let end = self.at;
                self.skip();
                if self.rest().starts_with('(') {
                    self.inside(&mut node, ')', depth);
                } else {
                    self.at = end;
                }
            }
        }
        node.span = start..self.at;
        Some(node)
    }

    fn inside(&mut self, node: &mut Node, close: char, depth: usize) {
        self.at += 1;
        loop {
            self.skip();
            if self.rest().is_empty() || self.take(close) {
                return;
            }
            let before = self.at;
            let name = self.field_name(close);
            match (self.value(depth + 1), name) {
                (Some(value), Some((name, span))) => node.fields.push((name, span, value)),
                (Some(value), None) => node.items.push(value),
                (None, _) => {}
            }
            self.skip();
            if !self.take(',') && !self.rest().starts_with(close) && self.at == before {
                // Nothing was understood here: step over one character and go on.
                self.at += self.rest().chars().next().map_or(1, char::len_utf8);
            }
        }
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
        let root = read(text).unwrap();
        let (node, whole) = root.find(&steps(path));
        assert!(whole, "{path} not found");
        assert_eq!(&text[node.span.clone()], expect);
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
        let root = read("(a: (b: 1))").unwrap();
        let (node, whole) = root.find(&steps("a.c"));
        assert!(!whole);
        assert_eq!(node.span, 4..10);
        assert_eq!(root.field_name("a"), Some(1..2));
    }

    #[test]
    fn verif_comments_at_the_ends_are_dropped() {
        assert_eq!(without_comments(" /* x */ \"1 m\" // y"), "\"1 m\"");
    }
}
