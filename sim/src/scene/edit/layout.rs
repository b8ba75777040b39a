//! Where parts stand between brackets: put in and taken out with their commas, line ends and
//! indentation.

use std::ops::Range;

use crate::scene::locate::Found;

use super::splice::Splice;

/// Puts a part into brackets so that it is the one at `index`; `make` gets its indentation.
pub(super) fn put(
    text: &str,
    owner: &Found,
    index: usize,
    make: impl Fn(&str) -> String,
) -> Option<Splice> {
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
pub(super) fn take(text: &str, owner: &Found, index: usize) -> Option<Splice> {
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
pub(super) fn indentation(text: &str, at: usize) -> String {
    let line = text.get(..at).and_then(|before| before.rsplit('\n').next()).unwrap_or_default();
    line.chars().take_while(|c| c.is_whitespace()).collect()
}

/// A value of several lines, indented as the line it begins on.
pub(super) fn indented(text: &str, value: &str, indent: impl AsRef<str>) -> String {
    value.replace('\n', &format!("{}{}", line_end(text), indent.as_ref()))
}

/// How the lines of a text end.
fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}
