//! The fields of a thing, for a form beside the picture: what stands in the file, and what is typed
//! put there.
//!
//! What was typed is read by the quantity's own parser first, so that "8" without a unit is refused
//! as the file would refuse it; whether the value fits the scene is told when the scene is read
//! again. A field that may be left out is taken away by an empty text.

use crate::{
    quantity::{self, Kind, Quantity, Units},
    scene::{locate, model::Scene},
};

use super::{
    Thing,
    forms::{self, GROUPS, Need, Part, Row, Word},
    splice::{Draft, EditError, Splice, quoted, remove_item, set, unquoted, unset, value},
    things,
    written::{Doubt, Written, floored, length_text, set_length, si, units_of},
};

/// Two heights on a stem are the same within this, m.
const SAME_HEIGHT_M: f64 = 0.002;

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
    /// A speed.
    Speed,
    /// A number without a unit.
    Number,
    /// One of these words.
    Choice(&'static [Word]),
    /// Free text.
    Text,
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
    units: Units,
    need: Need,
}

impl FieldKind {
    /// The kind of quantity, if it is one.
    #[must_use]
    pub fn quantity(self) -> Option<Kind> {
        Some(match self {
            Self::Length | Self::PlainLength => quantity::Length::KIND,
            Self::Angle => quantity::Angle::KIND,
            Self::Slope => quantity::Slope::KIND,
            Self::Azimuth => quantity::Azimuth::KIND,
            Self::Share => quantity::Share::KIND,
            Self::Force => quantity::Force::KIND,
            Self::Speed => quantity::Speed::KIND,
            Self::Number | Self::Choice(_) | Self::Text => return None,
        })
    }

    fn has_doubt(self, path: &str) -> bool {
        // A declination is looked up, not measured.
        self.quantity().is_some() && self != Self::PlainLength && !path.ends_with("declination")
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
        Thing::Target(_) | Thing::Aid(_) => {
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
            Need::Derived => true,
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
            (FieldKind::Text, Some(found)) => unquoted(found).unwrap_or_default(),
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
            units,
            need,
            path,
        });
    }
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
fn word_of(value: &str) -> &str {
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
fn told<Q: Quantity>(text: &str, path: &str) -> Option<f64> {
    let written = Written::read(value(text, path)?)?;
    let first = Q::read(&written.text).ok()?.si();
    Some(match &written.doubt {
        Doubt::Between(high) => 0.5 * (first + Q::read(high).ok()?.si()),
        _ => first,
    })
}

/// The heights of a cut's butt and top, m; `cut` is the text of the cut.
fn section_m(cut: &str) -> Option<(f64, f64)> {
    let told = |path| told::<quantity::Length>(cut, path);
    Some((told("piece.from")?, told("piece.to")?))
}

/// Puts what was typed into a field.
///
/// Words that hold more than themselves bring it along: a release keeps what the new kind has as
/// well (a face's azimuth is what a snap is broken toward) and gets sensible numbers for the rest.
/// The length of a section and the height of its butt move the butt: stubs that are no longer on
/// the piece go, a push is no higher than the piece, and the next cut's top stays in the same kerf
/// if it was there.
///
/// # Errors
/// What was typed is no value of this kind; the text has no such field.
pub fn set_field(
    text: &str,
    field: &Field,
    typed: &str,
    doubt: &Doubt,
) -> Result<Splice, EditError> {
    let typed = typed.trim();
    let refused = |what: String, allowed: String| {
        Err(EditError::Refused { path: field.path.clone(), what, allowed })
    };
    let is_unknown = *doubt == Doubt::DontKnow && field.doubt.is_some();
    if typed.is_empty() && field.optional && !is_unknown {
        return take_away(text, field);
    }
    let new = match field.kind {
        FieldKind::Text => quoted(typed),
        FieldKind::Number => match typed.parse::<f64>() {
            Ok(number) if number.is_finite() => typed.to_owned(),
            _ => return refused(format!("read {typed:?}: no number"), "a number, like 2".into()),
        },
        FieldKind::Choice(words) => {
            let Some(word) = words.iter().find(|word| word.word == typed) else {
                let allowed: Vec<&str> = words.iter().map(|word| word.word).collect();
                return refused(format!("unknown word {typed:?}"), allowed.join(", "));
            };
            return choose(text, &field.path, word, field.units);
        }
        _ => {
            let Some(kind) = field.kind.quantity() else {
                return Err(EditError::NoSuch(field.path.clone()));
            };
            let doubt = if field.doubt.is_some() { doubt.clone() } else { Doubt::Plain };
            let second = doubt.second().map(|second| second.trim().to_owned());
            let shown = if is_unknown { None } else { Some(typed) };
            for read in shown.into_iter().chain(second.as_deref()) {
                kind.read(read)
                    .map_err(|wrong| EditError::Quantity { path: field.path.clone(), wrong })?;
            }
            let doubt = match (doubt, second) {
                (Doubt::Within(_), Some(half)) => Doubt::Within(half),
                (Doubt::Between(_), Some(high)) => Doubt::Between(high),
                (doubt, _) => doubt,
            };
            Written { text: typed.to_owned(), doubt }.write()
        }
    };
    match cut_of(&field.path) {
        Some((cut, "piece.length")) => with_length(text, cut, field, typed),
        Some((cut, "piece.from")) => {
            with_butt(text, cut, field.units, |text| set(text, &field.path, &new))
        }
        _ if field.need == Need::Group => set_of_group(text, field, &new),
        _ => set(text, &field.path, &new),
    }
}

/// The path of the cut that a path leads into, and what is left of it.
fn cut_of(path: &str) -> Option<(&str, &str)> {
    if !path.starts_with("cuts[") {
        return None;
    }
    path.split_once("].").map(|(cut, rest)| (path.get(..=cut.len()).unwrap_or(cut), rest))
}

fn nothing() -> Splice {
    Splice { at: 0..0, text: String::new() }
}

fn take_away(text: &str, field: &Field) -> Result<Splice, EditError> {
    let path = match (field.need, field.path.rsplit_once('.')) {
        (Need::Group, Some((group, _))) => group,
        _ => &field.path,
    };
    Ok(unset(text, path)?.unwrap_or_else(nothing))
}

/// A field of a group that may not stand there yet: its others begin as [`GROUPS`] says.
fn set_of_group(text: &str, field: &Field, new: &str) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(field.path.clone());
    let (group, name) = field.path.rsplit_once('.').ok_or_else(missing)?;
    if value(text, group).is_some() {
        return set(text, &field.path, new);
    }
    let word = group.rsplit('.').next().unwrap_or(group);
    let (_, parts) = GROUPS.iter().find(|(name, _)| *name == word).ok_or_else(missing)?;
    let parts: Vec<String> = parts
        .iter()
        .map(|(part, begins)| {
            let begins = begins[usize::from(field.units == Units::Metric)];
            let value = if *part == name || begins == "=" { new } else { begins };
            format!("{part}: {value}")
        })
        .collect();
    set(text, group, &format!("({})", parts.join(", ")))
}

/// Puts a word in place of another, with what comes with it.
fn choose(text: &str, path: &str, word: &Word, units: Units) -> Result<Splice, EditError> {
    let begins = |part: &Part| part.begins.map(|b| b[usize::from(units == Units::Metric)]);
    let Some(old) = value(text, path) else {
        return set(text, path, &afresh(word, begins));
    };
    if word_of(old) == word.word {
        return Ok(nothing());
    }
    let named =
        locate::find(old, "").is_some_and(|found| found.parts.iter().any(|p| p.name.is_some()));
    let lone = word.parts.first().filter(|part| part.name.is_empty());
    if let Some(part) = lone {
        // What stood in the brackets of the old word goes into those of the new one.
        let inner = value(old, "[0]").or(begins(part)).unwrap_or_default();
        return set(text, path, &format!("{}({inner})", word.word));
    }
    if word.parts.is_empty() || !named || !old.starts_with(word_of(old)) {
        return set(text, path, &afresh(word, begins));
    }
    let mut draft = Draft::of(old);
    draft.edit(|_| Ok(Splice { at: 0..word_of(old).len(), text: word.word.to_owned() }))?;
    let names: Vec<String> = locate::find(draft.text(), "")
        .map(|found| found.parts.into_iter().filter_map(|p| p.name).map(|n| n.0).collect())
        .unwrap_or_default();
    for name in names {
        let takes = |part: &&Part| part.was == name && value(old, part.name).is_none();
        if word.parts.iter().any(|part| part.name == name) {
            continue;
        }
        if let Some(part) = word.parts.iter().find(takes) {
            draft.edit(|text| {
                let at = locate::find(text, "").and_then(|found| found.field_name(&name));
                let at = at.ok_or_else(|| EditError::NoSuch(path.to_owned()))?;
                Ok(Splice { at, text: part.name.to_owned() })
            })?;
        } else {
            let gone = unset(draft.text(), &name)?;
            draft.edit_all(gone.as_slice())?;
        }
    }
    for part in word.parts {
        if let (None, Some(begins)) = (value(draft.text(), part.name), begins(part)) {
            draft.edit(|text| set(text, part.name, begins))?;
        }
    }
    let inside = draft.splice();
    let start = locate::find(text, path).map_or(0, |found| found.span.start);
    Ok(Splice { at: start + inside.at.start..start + inside.at.end, text: inside.text })
}

/// A word with all that it begins with.
fn afresh<'a>(word: &Word, begins: impl Fn(&Part) -> Option<&'a str>) -> String {
    let parts: Vec<String> = word
        .parts
        .iter()
        .filter_map(|part| {
            let value = begins(part)?;
            Some(if part.name.is_empty() {
                value.to_owned()
            } else {
                format!("{}: {value}", part.name)
            })
        })
        .collect();
    if parts.is_empty() {
        word.word.to_owned()
    } else {
        format!("{}({})", word.word, parts.join(", "))
    }
}

/// A cut with a section of another length: its top stays, its butt moves.
fn with_length(text: &str, cut: &str, field: &Field, typed: &str) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(cut.to_owned());
    let (_, to_m) = value(text, cut).and_then(section_m).ok_or_else(missing)?;
    let length_m = si::<quantity::Length>(&field.path, typed)?;
    if length_m <= 0.0 || length_m > to_m {
        return Err(EditError::Refused {
            path: field.path.clone(),
            what: format!(
                "read {typed:?}: a section from {} down that is no piece of the stem",
                length_text(to_m, field.units)
            ),
            allowed: format!("more than nothing, at most {}", length_text(to_m, field.units)),
        });
    }
    with_butt(text, cut, field.units, |text| {
        set_length(text, &format!("{cut}.piece.from"), to_m - length_m, field.units)
    })
}

/// A cut whose butt is put elsewhere, with what hangs on it.
fn with_butt(
    text: &str,
    cut: &str,
    units: Units,
    put: impl FnOnce(&str) -> Result<Splice, EditError>,
) -> Result<Splice, EditError> {
    let section = |text: &str| value(text, cut).and_then(section_m);
    let before = section(text);
    let mut draft = Draft::of(text);
    draft.edit(put)?;
    let (Some((old_m, _)), Some((from_m, to_m))) = (before, section(draft.text())) else {
        return Ok(draft.splice());
    };
    let told = |text: &str, path: &str| told::<quantity::Length>(text, path);
    let stubs = format!("{cut}.stubs");
    let count = locate::find(text, &stubs).filter(|found| found.whole).map_or(0, |f| f.parts.len());
    for i in (0..count).rev() {
        let height = told(text, &format!("{stubs}[{i}].height"));
        if height.is_some_and(|height_m| !(from_m..=to_m).contains(&height_m)) {
            draft.edit(|text| remove_item(text, &stubs, i))?;
        }
    }
    let push = format!("{cut}.release.push.height");
    let length_m = to_m - from_m;
    if told(text, &push).is_some_and(|height_m| height_m > length_m && length_m > 0.0) {
        let like = units_of(value(text, &push).unwrap_or_default(), units);
        let lower_m = floored(length_m, like);
        draft.edit(|text| set_length(text, &push, lower_m, units))?;
    }
    let index: Option<usize> = cut.trim_start_matches("cuts[").trim_end_matches(']').parse().ok();
    if let Some(next) = index.map(|i| format!("cuts[{}].piece.to", i + 1))
        && told(text, &next).is_some_and(|to_m| (to_m - old_m).abs() <= SAME_HEIGHT_M)
    {
        let like = units_of(value(text, &next).unwrap_or_default(), units);
        draft.edit(|text| set_length(text, &next, floored(from_m, like), units))?;
    }
    Ok(draft.splice())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{
        edit::{splice::apply, things::all},
        parse, starter,
    };

    fn scenes() -> Vec<String> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes/");
        ["lake-oak", "lane-ash", "lidar-slope", "terrace-walnut"]
            .map(|name| std::fs::read_to_string(format!("{folder}{name}.ron")).unwrap())
            .into_iter()
            .chain([starter().to_owned()])
            .collect()
    }

    fn every_field(scene: &Scene, text: &str) -> Vec<Field> {
        let things = all(scene);
        let of_things = things.iter().flat_map(|thing| fields(scene, text, thing));
        scene_fields(scene, text)
            .into_iter()
            .chain(site_fields(scene, text))
            .chain(of_things)
            .collect()
    }

    /// The field of a thing at a path, in a scene.
    fn field(text: &str, thing: &Thing, path: &str) -> Field {
        let scene = parse(text, "s").unwrap();
        let found = fields(&scene, text, thing).into_iter().find(|field| field.path == path);
        found.unwrap_or_else(|| panic!("no field {path}"))
    }

    fn typed(text: &str, thing: &Thing, path: &str, new: &str, doubt: &Doubt) -> String {
        let field = field(text, thing, path);
        let splice = set_field(text, &field, new, doubt).unwrap_or_else(|e| panic!("{e}"));
        apply(text, &[splice]).unwrap()
    }

    #[test]
    fn prop_what_stands_there_typed_again_changes_nothing() {
        let mut count = 0;
        for text in scenes() {
            let scene = parse(&text, "s").unwrap();
            for field in every_field(&scene, &text) {
                let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
                let splice = set_field(&text, &field, &field.text, &doubt).unwrap();
                assert_eq!(apply(&text, &[splice]).unwrap(), text, "{}", field.path);
                assert!(!field.label.is_empty(), "{}", field.path);
                let is_there = value(&text, &field.path).is_some();
                assert!(is_there || field.text.is_empty() || field.need == Need::Derived);
                count += 1;
            }
        }
        assert!(count > 400, "only {count} fields");
    }

    #[test]
    fn prop_every_word_of_every_choice_can_be_chosen() {
        let mut count = 0;
        for text in scenes() {
            let scene = parse(&text, "s").unwrap();
            for field in every_field(&scene, &text) {
                let FieldKind::Choice(words) = field.kind else { continue };
                for word in words {
                    let splice = set_field(&text, &field, word.word, &Doubt::Plain).unwrap();
                    let after = apply(&text, &[splice]).unwrap();
                    let now = parse(&after, "s");
                    let now = now.unwrap_or_else(|e| panic!("{} {}: {e}", field.path, word.word));
                    let fields = every_field(&now, &after);
                    let again = fields.iter().find(|f| f.path == field.path).unwrap();
                    assert_eq!(again.text, word.word, "{}", field.path);
                    count += 1;
                }
            }
        }
        assert!(count > 300, "only {count} words");
    }

    #[test]
    fn verif_what_is_typed_is_checked_as_the_file_is() {
        let text = starter();
        let bridge = Thing::Target("footbridge".to_owned());
        let field = field(text, &bridge, "targets[0].wall");
        assert_eq!((field.text.as_str(), field.doubt.clone()), ("4 ft", Some(Doubt::Plain)));
        let refused = set_field(text, &field, "8", &Doubt::Plain).unwrap_err().to_string();
        let house = "8".parse::<crate::quantity::Length>().unwrap_err().to_string();
        assert_eq!(refused, format!("targets[0].wall: {house}"));
        for (new, doubt) in [
            ("", Doubt::Plain),
            ("4 lb", Doubt::Eyed),
            ("4 ft", Doubt::Within("1".to_owned())),
            ("4 ft", Doubt::Between(String::new())),
        ] {
            assert!(set_field(text, &field, new, &doubt).is_err(), "{new} {doubt:?}");
        }
        let after =
            typed(text, &bridge, "targets[0].wall", " 5 ft ", &Doubt::Within("6 in".into()));
        assert!(after.contains("wall: Within(\"5 ft\", \"6 in\"),"));
        parse(&after, "s").unwrap();
    }

    #[test]
    fn verif_what_may_be_left_out_comes_and_goes() {
        let text = starter();
        let bridge = Thing::Target("footbridge".to_owned());
        let roof = field(text, &bridge, "targets[0].roof");
        assert!(roof.optional && roof.text.is_empty());
        assert_eq!(roof.assumed.as_deref(), Some("flat, as high as the walls"));
        let with = typed(text, &bridge, "targets[0].roof", "7 ft", &Doubt::Eyed);
        assert!(with.contains("wall: \"4 ft\",\n            roof: Eyed(\"7 ft\"),\n"), "{with}");
        assert_eq!(typed(&with, &bridge, "targets[0].roof", "", &Doubt::Eyed), text);
        let third = Thing::Cut("third".to_owned());
        let pushed = typed(text, &third, "cuts[2].release.push.force", "90 lbf", &Doubt::Eyed);
        assert!(
            pushed.contains("width: \"90 %\", push: (force: Eyed(\"90 lbf\"), height: \"4 ft\")),")
        );
        parse(&pushed, "s").unwrap();
        let back = typed(&pushed, &third, "cuts[2].release.push.height", "", &Doubt::Plain);
        assert_eq!(back, text);
        let scene = parse(text, "s").unwrap();
        let speed = site_fields(&scene, text).into_iter().find(|f| f.path == "site.wind.speed");
        let splice = set_field(text, &speed.unwrap(), "12 mph", &Doubt::Eyed).unwrap();
        let windy = parse(&apply(text, &[splice]).unwrap(), "s").unwrap();
        assert_eq!(windy.site.wind.unwrap().gust_m_s.told, 12.0 * 0.447_04);
    }

    #[test]
    fn verif_a_length_moves_the_butt_and_the_next_top() {
        let text = starter();
        let second = Thing::Cut("second".to_owned());
        let path = "cuts[1].piece.length";
        assert_eq!(field(text, &second, path).text, "8 ft");
        let short = typed(text, &second, path, "3 ft", &Doubt::Plain);
        let scene = parse(&short, "s").unwrap();
        let [_, cut, next] = &scene.cuts[..] else { panic!("three cuts") };
        assert_eq!(field(&short, &second, "cuts[1].piece.from").text, "39 ft");
        assert!(cut.stubs.is_empty(), "the stub at 38 ft stays on the spar");
        assert_eq!(field(&short, &second, "cuts[1].release.push.height").text, "3 ft");
        let crate::scene::PieceSpec::Section { to_m, .. } = next.piece;
        assert!((to_m.told - 39.0 * 0.3048).abs() < 1e-9);
        assert!(short.contains("// A limb left on, to stop it rolling."));
        let longer = typed(text, &second, path, "10 ft", &Doubt::Plain);
        assert_eq!(parse(&longer, "s").unwrap().cuts[1].stubs.len(), 1);
        let field = field(text, &second, path);
        for bad in ["0 ft", "43 ft", "-2 ft", "3"] {
            assert!(set_field(text, &field, bad, &Doubt::Plain).is_err(), "{bad}");
        }
    }

    #[test]
    fn verif_a_release_keeps_what_the_new_kind_has_too() {
        let text = starter();
        let second = Thing::Cut("second".to_owned());
        let snap = typed(text, &second, "cuts[1].release", "Snap", &Doubt::Plain);
        let meant = "release: Snap(toward: \"250 deg\", push: (force: Eyed(\"60 lbf\"), height: \"4 ft\")),";
        assert!(snap.contains(meant), "{snap}");
        let bored = typed(&snap, &second, "cuts[1].release", "BoredHinge", &Doubt::Plain);
        let meant = "release: BoredHinge(face: \"250 deg\", opening: \"70 deg\", depth: \"25 %\", hinge: \"3/8 in\", strap: \"1 in\", push: (force";
        assert!(bored.contains(meant), "{bored}");
        let ground = typed(
            text,
            &Thing::Patch("creek-flat".into()),
            "site.patches[0].ground.cover",
            "Litter",
            &Doubt::Plain,
        );
        assert!(ground.contains("cover: Litter(\"1 in\"), roughness: Lawn"));
    }
}
