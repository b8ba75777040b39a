//! What is typed into a field of a form, put into the scene's text.
//!
//! It is read by the quantity's own parser first, so that "8" without a unit is refused as the file
//! would refuse it; whether the value fits the scene is told when the scene is read again.

use crate::{
    quantity::{self, Quantity as _, Units},
    scene::locate,
};

use super::{
    fields::{Field, FieldKind, section_m, told, word_of},
    forms::{ANEW, GROUPS, Need, Part, Word},
    splice::{Draft, EditError, Splice, quoted, remove_item, set, unquoted, unset, value},
    written::{Doubt, Written, floored, length_text, set_length, si, units_of},
};

/// Two heights on a stem are the same within this, m.
const SAME_HEIGHT_M: f64 = 0.002;

/// Puts what was typed into a field; one that may be left out is taken away by an empty text.
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
        FieldKind::Text | FieldKind::Name(_) => quoted(typed),
        FieldKind::Lengths => {
            let texts: Vec<&str> = typed.split(',').map(str::trim).collect();
            for read in &texts {
                quantity::Length::KIND
                    .read(read)
                    .map_err(|wrong| EditError::Quantity { path: field.path.clone(), wrong })?;
            }
            let texts: Vec<String> = texts.into_iter().map(quoted).collect();
            format!("[{}]", texts.join(", "))
        }
        FieldKind::Number => match typed.parse::<f64>() {
            Ok(number) if number.is_finite() => typed.to_owned(),
            _ => return refused(format!("read {typed:?}: no number"), "a number, like 2".into()),
        },
        FieldKind::Choice(words) => {
            let Some(word) = words.iter().find(|word| word.word == typed) else {
                let allowed: Vec<&str> = words.iter().map(|word| word.word).collect();
                return refused(format!("unknown word {typed:?}"), allowed.join(", "));
            };
            return choose(text, &field.path, word, field.units, limb_azimuth(text, &field.path));
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
///
/// What looks toward something looks `toward`, if that is given.
fn choose(
    text: &str,
    path: &str,
    word: &Word,
    units: Units,
    toward: Option<String>,
) -> Result<Splice, EditError> {
    let begins = |part: &Part| match (part.name, &toward) {
        ("face", Some(azimuth)) => Some(azimuth.as_str()),
        _ => part.begins.map(|b| b[usize::from(units == Units::Metric)]),
    };
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
        if word.parts.iter().any(|part| part.name == name && part.was != ANEW) {
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

/// Where the limb points that the cut of a release takes, as the file writes it.
fn limb_azimuth(text: &str, path: &str) -> Option<String> {
    let (cut, "release") = cut_of(path)? else { return None };
    let limb = unquoted(value(text, &format!("{cut}.piece.limb"))?)?;
    let count = locate::find(text, "tree.limbs").filter(|found| found.whole)?.parts.len();
    let of = |i: usize, name: &str| value(text, &format!("tree.limbs[{i}].{name}"));
    let own = (0..count).find(|i| of(*i, "id").and_then(unquoted).as_ref() == Some(&limb))?;
    Some(quoted(&Written::read(of(own, "azimuth")?)?.text))
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
    let (from_m, to_m) = value(text, cut).and_then(section_m).ok_or_else(missing)?;
    let length_m = si::<quantity::Length>(&field.path, typed)?;
    if (to_m - length_m - from_m).abs() < 1e-6 {
        return Ok(nothing());
    }
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
