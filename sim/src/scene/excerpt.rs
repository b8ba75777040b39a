//! The few lines of a scene that an error shows.
//!
//! A line of a megabyte is cut to what fits a screen, and what a terminal would obey is replaced,
//! so that whatever was given as a scene, its error can be read.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// Longest line that is shown whole, characters.
const LINE_MAX: usize = 160;
/// Of a longer one: so many characters before the place, and of what stands there.
const BEFORE_MAX: usize = 40;
const PLACE_MAX: usize = 80;
/// Stands where a text was cut.
const CUT: &str = " ...";

/// A line of a file with the one before and the one after it.
#[derive(Clone, Debug)]
pub(super) struct Excerpt {
    name: String,
    text: String,
    /// Where the place is in `text`, bytes.
    place: Range<usize>,
    /// First line of `text` in the file, from 0.
    first_line: usize,
    /// Column of the place in the file, characters from 0.
    column: usize,
}

impl Excerpt {
    /// Round the bytes `place` of a file's text, on the line `line` and at the column `column`,
    /// both from 1. The place ends on the line it begins on.
    pub(super) fn new(
        name: &str,
        text: &str,
        place: &Range<usize>,
        line: usize,
        column: usize,
    ) -> Self {
        let (head, tail) = text.split_at_checked(place.start).unwrap_or((text, ""));
        let (earlier, before) = head.rsplit_once('\n').map_or((None, head), |(e, b)| (Some(e), b));
        let (rest, later) = tail.split_once('\n').map_or((tail, None), |(r, l)| (r, Some(l)));
        let (there, after) =
            rest.split_at_checked(place.len().min(rest.len())).unwrap_or((rest, ""));
        let mut shown = String::new();
        let mut first_line = line.saturating_sub(1);
        if let Some(earlier) = earlier {
            shown += &start(earlier.rsplit('\n').next().unwrap_or(""), LINE_MAX);
            shown.push('\n');
            first_line = first_line.saturating_sub(1);
        }
        let is_long = before.chars().chain(rest.chars()).nth(LINE_MAX).is_some();
        let most = |of_long: usize| if is_long { of_long } else { LINE_MAX };
        shown += &end(before, most(BEFORE_MAX));
        let from = shown.len();
        shown += &start(there, most(PLACE_MAX));
        let place = from..shown.len();
        shown += &start(after, most(LINE_MAX - BEFORE_MAX - PLACE_MAX));
        if let Some(later) = later {
            shown.push('\n');
            shown += &start(later.split('\n').next().unwrap_or(""), LINE_MAX);
        }
        Self {
            name: name.to_owned(),
            text: shown,
            place,
            first_line,
            column: column.saturating_sub(1),
        }
    }

    /// Where the place is in the excerpt.
    pub(super) fn span(&self) -> SourceSpan {
        (self.place.start, self.place.len()).into()
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        lines_before: usize,
        lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let part = self.text.read_span(span, lines_before, lines_after)?;
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            part.data(),
            *part.span(),
            self.first_line + part.line(),
            // Without lines before it the place itself is asked for.
            if lines_before == 0 { self.column } else { 0 },
            part.line_count(),
        )))
    }
}

/// The start of a text, of at most so many characters, fit to be shown.
pub(super) fn start(text: &str, most: usize) -> String {
    let shown: String = text.chars().take(most).map(fit).collect();
    if text.chars().nth(most).is_some() { shown + CUT } else { shown }
}

/// The end of a text.
fn end(text: &str, most: usize) -> String {
    let mut last: Vec<char> = text.chars().rev().take(most).map(fit).collect();
    last.reverse();
    let shown: String = last.into_iter().collect();
    if text.chars().rev().nth(most).is_some() { format!("... {shown}") } else { shown }
}

/// Terminals act on control characters, and some of them hide.
fn fit(c: char) -> char {
    match c {
        '\t' | '\r' => ' ',
        c if c.is_control() => char::REPLACEMENT_CHARACTER,
        c => c,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn excerpt(text: &str, place: Range<usize>) -> Excerpt {
        let line = 1 + text[..place.start].matches('\n').count();
        let column = 1 + text[..place.start].rsplit('\n').next().unwrap_or("").chars().count();
        Excerpt::new("a.ron", text, &place, line, column)
    }

    #[test]
    fn verif_a_place_is_shown_with_its_neighbours() {
        let text = "one\ntwo\nthrée: four,\nfive\nsix";
        let at = text.find("four").unwrap();
        let shown = excerpt(text, at..at + 4);
        assert_eq!(shown.text, "two\nthrée: four,\nfive");
        assert_eq!(&shown.text[shown.place.clone()], "four");
        let label = shown.read_span(&shown.span(), 0, 0).unwrap();
        assert_eq!((label.line(), label.column(), label.name()), (2, 7, Some("a.ron")));
        let context = shown.read_span(&shown.span(), 1, 1).unwrap();
        assert_eq!((context.line(), context.column()), (1, 0));
        assert_eq!(context.data(), shown.text.as_bytes());
    }

    #[test]
    fn verif_a_long_line_is_cut_and_nothing_in_it_is_obeyed() {
        for (before, there, after) in [(0, 1, 9_000), (9_000, 1, 0), (9_000, 9_000, 9_000)] {
            let text = "é".repeat(before) + &"\u{1b}".repeat(there) + &"\0".repeat(after);
            let at = 2 * before;
            let shown = excerpt(&text, at..at + there);
            assert!(shown.text.chars().count() <= LINE_MAX + 3 * CUT.len(), "{}", shown.text);
            assert!(!shown.text.contains(['\u{1b}', '\0']));
            assert!(shown.text[shown.place.clone()].starts_with(char::REPLACEMENT_CHARACTER));
            let label = shown.read_span(&shown.span(), 0, 0).unwrap();
            assert_eq!((label.line(), label.column()), (0, before));
        }
    }

    #[test]
    fn verif_the_end_of_a_text_can_be_shown() {
        let shown = excerpt("one\n", 4..4);
        assert_eq!((&shown.text[..], shown.place.clone()), ("one\n", 4..4));
        assert!(shown.read_span(&shown.span(), 1, 1).is_ok());
        let nothing = excerpt("", 0..0);
        assert!(nothing.read_span(&nothing.span(), 1, 1).is_ok());
    }
}
