//! What is wrong with a scene, where, and what would be right.

use std::{ops::Range, path::PathBuf, sync::Arc};

use miette::{Diagnostic, SourceSpan};

use super::{
    excerpt::{self, Excerpt},
    locate,
};

/// Most problems of one scene that are shown at once.
const SHOWN_MAX: usize = 20;
/// Most characters of a path or of what is wrong: both can hold a word of the file of any length.
const WORDS_MAX: usize = 300;
/// Most characters of what was read.
const READ_MAX: usize = 60;

/// A scene file as read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// The file's name as the user gave it.
    pub name: String,
    /// Its text.
    pub text: Arc<str>,
}

/// One thing that is wrong, as a check reports it: no place yet, only a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// Path of the field by position, such as `cuts[2].piece.to`.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub allowed: String,
}

/// One thing that is wrong, with its place.
#[derive(Clone, Debug, thiserror::Error, Diagnostic)]
#[error("{file}:{line}:{column}: {path}: {what}; read {read}; allowed: {allowed}")]
pub struct Problem {
    /// The file's name.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Path of the field.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What was read there.
    pub read: String,
    /// What would be right.
    pub allowed: String,
    #[source_code]
    excerpt: Excerpt,
    #[label("{what}")]
    span: SourceSpan,
    /// Further problems of the same scene.
    #[related]
    pub others: Vec<Problem>,
}

/// A scene that can't be used.
#[derive(Debug, thiserror::Error, Diagnostic)]
pub enum SceneError {
    /// The file can't be read.
    #[error("{file}: {what}; allowed: {allowed}")]
    File {
        /// Its path.
        file: PathBuf,
        /// Why not.
        what: String,
        /// What would be right.
        allowed: String,
    },
    /// What is in it is wrong.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Invalid(Box<Problem>),
}

impl SceneError {
    /// The problem in the scene, if it is one.
    #[must_use]
    pub fn problem(&self) -> Option<&Problem> {
        match self {
            Self::Invalid(problem) => Some(problem),
            Self::File { .. } => None,
        }
    }
}

impl Source {
    /// Places what is wrong in this file; the first becomes the error, the others follow it.
    ///
    /// `None` if nothing is wrong.
    #[must_use]
    pub fn error(&self, wrongs: &[Wrong]) -> Option<SceneError> {
        let mut problems: Vec<Problem> =
            wrongs.iter().take(SHOWN_MAX).map(|wrong| self.place(wrong)).collect();
        problems.sort_by_key(|p| (p.line, p.column));
        let mut problems = problems.into_iter();
        let mut first = problems.next()?;
        first.others = problems.collect();
        Some(SceneError::Invalid(Box::new(first)))
    }

    fn place(&self, wrong: &Wrong) -> Problem {
        let span = locate::find(&self.text, &wrong.path).map_or(0..0, |found| found.span);
        self.at(span, wrong.clone())
    }

    /// A problem at these bytes.
    pub(super) fn at(&self, span: Range<usize>, wrong: Wrong) -> Problem {
        let end = span.end.min(self.text.len());
        let start = span.start.min(end);
        let before = self.text.get(..start).unwrap_or("");
        let line = 1 + before.matches('\n').count();
        let column = 1 + before.rsplit('\n').next().unwrap_or("").chars().count();
        let whole = self.text.get(start..end).unwrap_or("");
        // A long value is underlined on its first line only.
        let shown = whole.split('\n').next().unwrap_or("").trim_end();
        let path = if wrong.path.is_empty() { "(the whole scene)".to_owned() } else { wrong.path };
        let excerpt =
            Excerpt::new(&self.name, &self.text, &(start..start + shown.len()), line, column);
        Problem {
            file: self.name.clone(),
            line,
            column,
            path: excerpt::start(&path, WORDS_MAX),
            what: excerpt::start(&wrong.what, WORDS_MAX),
            read: short(shown, shown.len() < whole.trim_end().len()),
            allowed: wrong.allowed,
            span: excerpt.span(),
            excerpt,
            others: Vec::new(),
        }
    }

    /// The problem that RON or a field's reader reported, at `path` and ending near `end`.
    pub(super) fn refused(
        &self,
        path: &str,
        end: ron::error::Position,
        code: &ron::Error,
    ) -> Problem {
        let said = said(code);
        let (what, allowed) = said.split_once("; allowed: ").unwrap_or((
            said.as_str(),
            "RON: (field: value, ...), lists in [ ], text in \" \", comments after //",
        ));
        // A field that is unknown, missing or there twice is named in the path.
        let (owner, field) = match code {
            ron::Error::NoSuchStructField { found, .. } => {
                (without_last(path, found), Some(&found[..]))
            }
            ron::Error::MissingStructField { field, .. }
            | ron::Error::DuplicateStructField { field, .. } => {
                (without_last(path, field), Some(*field))
            }
            _ => (path, None),
        };
        let full = match field {
            Some(field) if owner.is_empty() => field.to_owned(),
            Some(field) => format!("{owner}.{field}"),
            None => owner.to_owned(),
        };
        let wrong = Wrong { path: full, what: what.to_owned(), allowed: allowed.to_owned() };
        let near = self.byte(end);
        // Where no value is to blame, the rest of the line is shown.
        let line_end = self.text.get(near..).and_then(|rest| rest.find('\n'));
        let near = near..line_end.map_or(self.text.len(), |end| near + end);
        let Some(found) = locate::find(&self.text, owner) else {
            return self.at(near, wrong);
        };
        let span = match field.and_then(|field| found.field_name(field)) {
            Some(span) => span,
            None if found.whole && is_of_one_value(code) => found.span,
            None => near,
        };
        self.at(span, wrong)
    }

    /// Byte of a line and column, both from 1, the column in characters.
    fn byte(&self, position: ron::error::Position) -> usize {
        let mut line_start = 0;
        for _ in 1..position.line {
            let rest = self.text.get(line_start..).unwrap_or("");
            line_start += rest.find('\n').map_or(rest.len(), |i| i + 1);
        }
        let line = self.text.get(line_start..).unwrap_or("");
        let offset =
            line.char_indices().nth(position.col.saturating_sub(1)).map_or(line.len(), |c| c.0);
        line_start + offset
    }
}

/// A path without its last field, if that is `field`.
fn without_last<'a>(path: &'a str, field: &str) -> &'a str {
    match path.strip_suffix(field) {
        Some("") => "",
        Some(owner) => owner.strip_suffix('.').unwrap_or(path),
        None => path,
    }
}

/// True when the error is about one value as a whole, not about brackets and commas.
fn is_of_one_value(code: &ron::Error) -> bool {
    use ron::Error as E;
    matches!(
        code,
        E::Message(_)
            | E::MissingStructField { .. }
            | E::InvalidValueForType { .. }
            | E::NoSuchEnumVariant { .. }
            | E::ExpectedDifferentLength { .. }
            | E::ExpectedString
            | E::ExpectedArray
            | E::ExpectedBoolean
            | E::ExpectedInteger
            | E::InvalidIntegerDigit { .. }
            | E::IntegerOutOfBounds
            | E::ExpectedFloat
            | E::ExpectedIdentifier
            | E::ExpectedStructLike
            | E::ExpectedNamedStructLike(_)
            | E::ExpectedOption
            | E::ExpectedUnit
    )
}

/// The start of what was read; `more` of it may follow on other lines.
fn short(text: &str, more: bool) -> String {
    if text.is_empty() {
        return "nothing".to_owned();
    }
    let shown = excerpt::start(text, READ_MAX);
    if more && !shown.ends_with(" ...") { shown + " ..." } else { shown }
}

/// What RON or a field's reader reported, as `what; allowed: ...` where that is known.
pub(super) fn said(code: &ron::Error) -> String {
    let list = |names: &[&str]| names.join(", ");
    match code {
        ron::Error::Message(text) => text.clone(),
        ron::Error::NoSuchStructField { expected, found, .. } => {
            format!("unknown field {found:?}; allowed: {}", list(expected))
        }
        ron::Error::NoSuchEnumVariant { expected, found, .. } => {
            format!("unknown word {found:?}; allowed: {}", list(expected))
        }
        ron::Error::MissingStructField { field, .. } => {
            format!("the field {field:?} is missing; allowed: {field}: with a value")
        }
        ron::Error::DuplicateStructField { field, .. } => {
            format!("the field {field:?} is there twice; allowed: {field}: once")
        }
        ron::Error::InvalidValueForType { expected, found } => {
            format!("not the kind of value that belongs here, {found}; allowed: {expected}")
        }
        ron::Error::ExpectedDifferentLength { expected, found } => {
            format!("{found} values; allowed: {expected}")
        }
        ron::Error::Eof => "the text ends too early; allowed: a closing bracket or quote for \
                            every opening one"
            .to_owned(),
        ron::Error::ExpectedString => {
            "no text in quotes; allowed: text in quotes, like \"boathouse\"".to_owned()
        }
        ron::Error::ExpectedArray => "no list; allowed: a list in [ ]".to_owned(),
        ron::Error::ExpectedBoolean => "no truth value; allowed: true, false".to_owned(),
        ron::Error::ExpectedInteger | ron::Error::InvalidIntegerDigit { .. } => {
            "no whole number; allowed: a whole number, like 1".to_owned()
        }
        ron::Error::IntegerOutOfBounds => {
            "a whole number too large here; allowed: a smaller one".to_owned()
        }
        ron::Error::ExpectedFloat => "no number; allowed: a number, like 12.5".to_owned(),
        ron::Error::ExpectedIdentifier => {
            "no word; allowed: one of the words of this field, without quotes".to_owned()
        }
        ron::Error::TrailingCharacters => {
            "something follows the end of the scene; allowed: one scene in ( )".to_owned()
        }
        ron::Error::ExpectedComma => {
            "no comma between two values; allowed: a comma after each value".to_owned()
        }
        other => other.to_string(),
    }
}
