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

use super::layout::{indentation, indented, put, take};

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
    let (mut put, mut taken, mut end) = (0, 0, 0);
    in_order(splices)
        .into_iter()
        .map(|splice| {
            let old = text.get(splice.at.clone()).filter(|_| splice.at.start >= end);
            let old = old.ok_or(EditError::OtherText)?;
            end = splice.at.end;
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
    "limb",
    "angle",
    "length",
    "brush",
    "crown",
    "spread",
    "full",
    // A cut and its release.
    "piece",
    "stubs",
    "release",
    "cutter",
    "after",
    "log",
    "lengths",
    "trim",
    "face",
    "toward",
    "opening",
    "depth",
    "hinge",
    "width",
    "strap",
    "push",
    "under",
    "step",
    // A line.
    "rope",
    "strength",
    "knot_loss",
    "design_factor",
    "redirects",
    "over",
    "sling",
    "anchor",
    "pull",
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

#[cfg(test)]
mod tests;
