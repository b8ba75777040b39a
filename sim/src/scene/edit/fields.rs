//! The fields of a thing as they stand in the file, for a form beside the picture.

use crate::{
    quantity::{self, Kind, Quantity, Units},
    rope,
    scene::{
        locate,
        model::{ReleaseSpec, Scene},
    },
    wood,
};

use super::{
    Thing,
    forms::{self, Need, Row, Word},
    splice::{unquoted, value},
    things,
    written::{Doubt, Written, length_text, units_of},
};

/// What may stand in a field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FieldKind {
    /// A length with its doubt.
    Length,
    /// A length that is not in doubt.
    PlainLength,
    /// An angle.
    Angle,
    /// An inclination.
    Slope,
    /// A direction, clockwise from north.
    Azimuth,
    /// A share of a whole.
    Share,
    /// A force.
    Force,
    /// A mass.
    Mass,
    /// A speed.
    Speed,
    /// A number without a unit.
    Number,
    /// One of these words.
    Choice(&'static [Word]),
    /// Free text.
    Text,
    /// A name, of which the scene or a table has some to offer.
    Name(Names),
    /// Lengths that are not in doubt, with commas between them.
    Lengths,
}

/// Where names come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Names {
    /// The table of species.
    Species,
    /// The table of ropes; others may stand there too.
    Rope,
    /// The limbs of the tree.
    Limb,
    /// The cuts.
    Cut,
    /// The cuts of the stem that turn on a hinge.
    Hinged,
}

/// A field of a thing as it stands in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Its path in the file, such as `targets[0].wall`.
    pub path: String,
    /// Its label, in the trade's words.
    pub label: String,
    /// What may stand there.
    pub kind: FieldKind,
    /// The value without quotes, such as `8 ft`, or the word; empty if it is left out.
    pub text: String,
    /// How sure it is; `None` for what is not in doubt.
    pub doubt: Option<Doubt>,
    /// It may be left out.
    pub optional: bool,
    /// What is taken where it is left out, in words.
    pub assumed: Option<String>,
    /// Names to choose from, of a [`FieldKind::Name`].
    pub offered: Vec<String>,
    pub(super) units: Units,
    pub(super) need: Need,
}

impl FieldKind {
    /// The kind of quantity, if it is one.
    #[must_use]
    pub fn quantity(self) -> Option<Kind> {
        Some(match self {
            Self::Length | Self::PlainLength | Self::Lengths => quantity::Length::KIND,
            Self::Angle => quantity::Angle::KIND,
            Self::Slope => quantity::Slope::KIND,
            Self::Azimuth => quantity::Azimuth::KIND,
            Self::Share => quantity::Share::KIND,
            Self::Force => quantity::Force::KIND,
            Self::Mass => quantity::Mass::KIND,
            Self::Speed => quantity::Speed::KIND,
            Self::Number | Self::Choice(_) | Self::Text | Self::Name(_) => return None,
        })
    }

    fn has_doubt(self, path: &str) -> bool {
        // A declination is looked up, not measured.
        let is_plain = matches!(self, Self::PlainLength | Self::Lengths);
        self.quantity().is_some() && !is_plain && !path.ends_with("declination")
    }
}

/// The fields of a thing; none if the scene has no such thing.
#[must_use]
pub fn fields(scene: &Scene, text: &str, thing: &Thing) -> Vec<Field> {
    let Some(path) = things::path(scene, thing) else { return Vec::new() };
    let whole = value(text, &path);
    let rows = match thing {
        Thing::Patch(_) => forms::PATCH,
        Thing::Cut(_) => forms::CUT,
        Thing::Tree => forms::TREE,
        Thing::Climber => forms::CLIMBER,
        Thing::ClimberLine => forms::CLIMBER_LINE,
        Thing::Feller => forms::FELLER,
        Thing::Limb(_) => forms::LIMB,
        Thing::Redirect(_) => forms::REDIRECT,
        Thing::Anchor(_) => forms::ANCHOR,
        Thing::Target(_) | Thing::Aid(_) | Thing::Line(_) => {
            let word = whole.map_or("", word_of);
            forms::FORMS.iter().find(|form| form.0 == word).map_or(&[][..], |form| form.1)
        }
    };
    list(scene, whole.unwrap_or_default(), &path, rows)
}

/// The fields of the scene as a whole: its name, its units, how plain numbers were taken.
#[must_use]
pub fn scene_fields(scene: &Scene, text: &str) -> Vec<Field> {
    list(scene, text, "", forms::SCENE)
}

/// The fields of the site: north, the ground where no patch says otherwise, the wind.
#[must_use]
pub fn site_fields(scene: &Scene, text: &str) -> Vec<Field> {
    list(scene, value(text, "site").unwrap_or_default(), "site", forms::SITE)
}

fn list(scene: &Scene, whole: &str, path: &str, rows: &[Row]) -> Vec<Field> {
    let mut form = Form { scene, whole, path, fields: Vec::new() };
    form.rows(rows, "", "");
    form.fields
}

/// A path and what stands below it.
fn below(path: &str, at: &str) -> String {
    match (path.is_empty() || at.is_empty(), at.starts_with('[')) {
        (true, _) | (_, true) => format!("{path}{at}"),
        _ => format!("{path}.{at}"),
    }
}

struct Form<'a> {
    scene: &'a Scene,
    /// The text of the thing.
    whole: &'a str,
    /// Its path in the file.
    path: &'a str,
    fields: Vec<Field>,
}

impl Form<'_> {
    fn rows(&mut self, rows: &[Row], under: &str, label_before: &str) {
        for row in rows {
            match row {
                Row::One { at, label, kind, need } => {
                    self.one(under, at, &labelled(label_before, label), *kind, *need);
                }
                Row::Under { at, label, rows } => {
                    self.rows(rows, &below(under, at), &labelled(label_before, label));
                }
                Row::Where { has, not, rows } => {
                    if value(self.whole, &below(under, has)).is_some() != *not {
                        self.rows(rows, under, label_before);
                    }
                }
                Row::Each { at, label, rows } => {
                    let list = below(under, at);
                    let count = locate::find(self.whole, &list)
                        .filter(|found| found.whole)
                        .map_or(0, |found| found.parts.len());
                    for i in 0..count {
                        let label = labelled(label_before, &format!("{label} {}", i + 1));
                        self.rows(rows, &format!("{list}[{i}]"), &label);
                    }
                }
            }
        }
    }

    fn one(&mut self, under: &str, at: &str, label: &str, kind: FieldKind, need: Need) {
        let relative = below(under, at);
        let path = below(self.path, &relative);
        let found = if self.whole.is_empty() { None } else { value(self.whole, &relative) };
        let units = self.scene.units;
        let is_shown = match need {
            Need::Stands => found.is_some(),
            Need::May("") | Need::Group => true,
            Need::May(other) => {
                let other = other.rsplit('.').next().unwrap_or(other);
                let owner = relative.rsplit_once('.').map_or("", |(owner, _)| owner);
                value(self.whole, &below(owner, other)).is_some()
            }
            Need::Derived => section_m(self.whole).is_some(),
        };
        if !is_shown {
            return;
        }
        let written = found.and_then(Written::read);
        let mut doubt = None;
        let text = match (kind, found) {
            _ if need == Need::Derived => {
                section_m(self.whole).map_or_else(String::new, |(from_m, to_m)| {
                    let like = value(self.whole, "piece.from").unwrap_or_default();
                    length_text(to_m - from_m, units_of(like, units))
                })
            }
            (_, None) => {
                doubt = kind.has_doubt(&path).then_some(Doubt::Plain);
                String::new()
            }
            (FieldKind::Choice(_), Some(found)) => word_of(found).to_owned(),
            (FieldKind::Text | FieldKind::Name(_), Some(found)) => {
                unquoted(found).unwrap_or_default()
            }
            (FieldKind::Lengths, Some(found)) => texts(found).join(", "),
            (FieldKind::Number, Some(found)) => locate::without_comments(found).to_owned(),
            (_, Some(_)) => written.map_or_else(String::new, |written| {
                doubt = kind.has_doubt(&path).then_some(written.doubt);
                written.text
            }),
        };
        let assumed = self.scene.assumed.iter().find(|assumed| assumed.path == path);
        self.fields.push(Field {
            label: label.to_owned(),
            kind,
            text,
            doubt,
            optional: matches!(need, Need::May(_) | Need::Group),
            assumed: assumed.map(|assumed| assumed.taken.clone()),
            offered: match kind {
                FieldKind::Name(names) => names.of(self.scene),
                _ => Vec::new(),
            },
            units,
            need,
            path,
        });
    }
}

impl Names {
    fn of(self, scene: &Scene) -> Vec<String> {
        let hinged = |release: &ReleaseSpec| {
            matches!(release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. })
        };
        match self {
            Self::Species => wood::all_species().iter().map(|s| s.name.to_owned()).collect(),
            Self::Rope => rope::all().iter().map(|rope| rope.name.to_owned()).collect(),
            Self::Limb => scene.tree.limbs.iter().map(|limb| limb.id.clone()).collect(),
            Self::Cut => scene.cuts.iter().map(|cut| cut.id.clone()).collect(),
            Self::Hinged => (scene.cuts.iter())
                .filter(|cut| hinged(&cut.release) && cut.piece.stem_cut_m().is_some())
                .map(|cut| cut.id.clone())
                .collect(),
        }
    }
}

/// The texts of a list as it stands in the file.
fn texts(list: &str) -> Vec<String> {
    let parts = locate::find(list, "").map(|found| found.parts).unwrap_or_default();
    let text = |part: &locate::Part| unquoted(list.get(part.value.clone())?);
    parts.iter().filter_map(text).collect()
}

fn labelled(before: &str, label: &str) -> String {
    match (before.is_empty(), label.is_empty()) {
        (true, _) => label.to_owned(),
        (_, true) => before.to_owned(),
        _ => {
            let mut rest = label.chars();
            let first = rest.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
            format!("{before}, {first}{}", rest.as_str())
        }
    }
}

/// The word a value begins with, `Some` left aside.
pub(super) fn word_of(value: &str) -> &str {
    let value = locate::without_comments(value);
    let end = value.find(|c: char| !c.is_ascii_alphanumeric() && c != '_').unwrap_or(value.len());
    match value.get(..end).unwrap_or_default() {
        "Some" => self::value(value, "[0]")
            .filter(|inner| inner.len() < value.len())
            .map_or("Some", word_of),
        word => word,
    }
}

/// What a number of the file is as told, in SI: between two limits their middle.
pub(super) fn told<Q: Quantity>(text: &str, path: &str) -> Option<f64> {
    let written = Written::read(value(text, path)?)?;
    let first = Q::read(&written.text).ok()?.si();
    Some(match &written.doubt {
        Doubt::Between(high) => 0.5 * (first + Q::read(high).ok()?.si()),
        _ => first,
    })
}

/// The heights of a cut's butt and top, m; `cut` is the text of the cut.
pub(super) fn section_m(cut: &str) -> Option<(f64, f64)> {
    let told = |path| told::<quantity::Length>(cut, path);
    Some((told("piece.from")?, told("piece.to")?))
}

#[cfg(test)]
mod tests;
