//! Things of a scene: what there is, where it stands in the file and on the map; taken out, copied.

use glam::DVec2;

use crate::scene::{
    check::RESERVED_IDS,
    items::{all_places, ids},
    model::*,
    parse,
    places::{MapFrame, heading, place_m},
};

use super::{
    Thing,
    moving::move_by,
    splice::{self, Draft, EditError, Splice, quoted, set},
    written::{floored, length_text, set_azimuth, set_length, units_of},
};

/// The climber's feet are this far below the cut, m (as the scene says where it isn't told).
const FEET_BELOW_M: f64 = 1.5;
/// A copied limb points this far to the right of its pattern, rad (90°).
const COPY_TURNED_RAD: f64 = std::f64::consts::FRAC_PI_2;
/// Half the width of a person, m.
const PERSON_HALF_M: f64 = 0.25;
/// Longest part of an old id in a new one, so that a number fits behind it.
const ID_STEM_MAX: usize = 34;

/// Every thing of a scene, in the order of the file's fields.
#[must_use]
pub fn all(scene: &Scene) -> Vec<Thing> {
    let mut things: Vec<Thing> =
        scene.site.patches.iter().map(|patch| Thing::Patch(patch.id.clone())).collect();
    things.push(Thing::Tree);
    things.extend(scene.tree.limbs.iter().map(|limb| Thing::Limb(limb.id.clone())));
    things.extend(scene.targets.iter().map(|target| Thing::Target(target.id.clone())));
    things.extend([Thing::Climber, Thing::ClimberLine, Thing::Feller]);
    things.extend(scene.aids.iter().map(|aid| Thing::Aid(aid.id.clone())));
    things.extend(scene.cuts.iter().map(|cut| Thing::Cut(cut.id.clone())));
    for line in &scene.lines {
        things.push(Thing::Line(line.id().to_owned()));
        let Some(line) = line.pull() else { continue };
        things.extend(line.redirects.iter().map(|r| Thing::Redirect(r.id.clone())));
        things.push(Thing::Anchor(line.id.clone()));
    }
    things
}

/// The list of the file that a thing is in, and its place there; none for what stands alone.
#[must_use]
pub fn item(scene: &Scene, thing: &Thing) -> Option<(String, usize)> {
    if let Thing::Redirect(id) = thing {
        return scene.lines.iter().enumerate().find_map(|(i, line)| {
            let index = line.pull()?.redirects.iter().position(|r| r.id == *id)?;
            Some((format!("lines[{i}].redirects"), index))
        });
    }
    let (list, index) = match thing {
        Thing::Target(id) => ("targets", scene.targets.iter().position(|t| t.id == *id)),
        Thing::Aid(id) => ("aids", scene.aids.iter().position(|a| a.id == *id)),
        Thing::Patch(id) => ("site.patches", scene.site.patches.iter().position(|p| p.id == *id)),
        Thing::Cut(id) => ("cuts", scene.cuts.iter().position(|c| c.id == *id)),
        Thing::Limb(id) => ("tree.limbs", scene.tree.limbs.iter().position(|l| l.id == *id)),
        Thing::Line(id) => ("lines", scene.lines.iter().position(|l| l.id() == *id)),
        Thing::Climber
        | Thing::ClimberLine
        | Thing::Feller
        | Thing::Tree
        | Thing::Redirect(_)
        | Thing::Anchor(_) => return None,
    };
    Some((list.to_owned(), index?))
}

/// The path of a thing in the file, such as `targets[0]`; `None` if the scene has none such.
#[must_use]
pub fn path(scene: &Scene, thing: &Thing) -> Option<String> {
    Some(match thing {
        Thing::Climber => "climber".to_owned(),
        Thing::ClimberLine => "climber_line".to_owned(),
        Thing::Feller => "feller".to_owned(),
        Thing::Tree => "tree".to_owned(),
        Thing::Anchor(id) => {
            let index = scene.lines.iter().position(|line| line.id() == *id)?;
            format!("lines[{index}].anchor")
        }
        _ => item(scene, thing).map(|(list, index)| format!("{list}[{index}]"))?,
    })
}

/// The thing that an id names, if it names one.
#[must_use]
pub fn by_id(scene: &Scene, id: &str) -> Option<Thing> {
    all(scene).into_iter().find(|thing| self::id(thing) == id)
}

/// The line that a thing is a part of, or that it is.
#[must_use]
pub fn line_of<'a>(scene: &'a Scene, thing: &Thing) -> Option<&'a Line> {
    let turns = |line: &Line, id: &str| {
        line.pull().is_some_and(|line| line.redirects.iter().any(|r| r.id == id))
    };
    scene.lines.iter().find(|line| match thing {
        Thing::Line(id) | Thing::Anchor(id) => line.id() == *id,
        Thing::Redirect(id) => turns(line, id),
        _ => false,
    })
}

/// The id of a thing; what has none in the file is named as the program names it, and the far end of
/// a line as its line.
#[must_use]
pub fn id(thing: &Thing) -> &str {
    match thing {
        Thing::Target(id)
        | Thing::Aid(id)
        | Thing::Patch(id)
        | Thing::Cut(id)
        | Thing::Limb(id)
        | Thing::Redirect(id)
        | Thing::Line(id)
        | Thing::Anchor(id) => id,
        Thing::Climber => "climber",
        Thing::ClimberLine => "climber_line",
        Thing::Feller => "feller",
        Thing::Tree => "tree",
    }
}

/// What a thing is, in words.
#[must_use]
pub fn kind(scene: &Scene, thing: &Thing) -> &'static str {
    let target = |id: &str| scene.targets.iter().find(|t| t.id == id).map(|t| &t.kind);
    let aid = |id: &str| scene.aids.iter().find(|a| a.id == id).map(|a| &a.kind);
    match thing {
        Thing::Target(id) => match target(id) {
            Some(TargetKind::Structure { .. }) => "structure",
            Some(TargetKind::KeepTree { .. }) => "keep tree",
            Some(TargetKind::Person { .. }) => "person",
            Some(TargetKind::Vehicle { .. }) => "vehicle",
            Some(TargetKind::Path { .. }) => "road or path",
            Some(TargetKind::Wire { .. }) => "overhead wire",
            None => "target",
        },
        Thing::Aid(id) => match aid(id) {
            Some(AidKind::BarrierLog { .. }) => "barrier log",
            Some(AidKind::BrushMat { .. }) => "brush mat",
            Some(AidKind::Wall { .. }) => "wall",
            Some(AidKind::Stump { .. }) => "stump",
            None => "aid",
        },
        Thing::Patch(_) => "patch of other ground",
        Thing::Cut(_) => "cut",
        Thing::Limb(_) => "limb",
        Thing::Line(id) => match scene.lines.iter().find(|l| l.id() == *id) {
            Some(Line::Tied(line)) => line.kind.words(),
            _ => "pull line",
        },
        Thing::Redirect(_) => "redirect",
        Thing::Anchor(_) => "far end",
        Thing::Climber => "climber",
        Thing::ClimberLine => "climber's line",
        Thing::Feller => "feller",
        Thing::Tree => "tree",
    }
}

/// Every place that a thing is told by, with its path in the file.
#[must_use]
pub fn places<'a>(scene: &'a Scene, thing: &Thing) -> Vec<(String, &'a Place)> {
    let Some(path) = path(scene, thing) else { return Vec::new() };
    let is_of = |at: &str| at.strip_prefix(&path).is_some_and(|rest| rest.starts_with('.'));
    all_places(scene).into_iter().filter(|(at, _)| is_of(at)).collect()
}

/// The places of a thing on the map, m: its corners, the points of its line, its ends or its foot.
#[must_use]
pub fn points_m(scene: &Scene, frame: &MapFrame, thing: &Thing) -> Vec<DVec2> {
    places(scene, thing).iter().map(|(_, place)| place_m(&scene.site, place, frame)).collect()
}

/// Where a thing is on the map, m: the middle of its places.
///
/// What stands at the tree without being told so is there: the tree and its cuts, the feller and
/// the line at the stump, the climber opposite the face of the first cut made from the spar.
/// `None` if it isn't there at all.
#[must_use]
pub fn position_m(scene: &Scene, frame: &MapFrame, thing: &Thing) -> Option<DVec2> {
    path(scene, thing)?;
    let points = points_m(scene, frame, thing);
    if !points.is_empty() {
        return Some(middle(&points));
    }
    match (thing, scene.climber, scene.climber_line) {
        (Thing::Climber, ClimberSpec::Away, _) | (Thing::ClimberLine, _, ClimberLineSpec::Away) => {
            None
        }
        (Thing::Climber, ..) => Some(on_the_spar(scene, frame, first_on_the_spar(scene)).0),
        _ => Some(DVec2::ZERO),
    }
}

pub(super) fn middle(points: &[DVec2]) -> DVec2 {
    points.iter().sum::<DVec2>() / points.len().max(1) as f64
}

/// The first cut that the climber makes.
pub(super) fn first_on_the_spar(scene: &Scene) -> Option<usize> {
    scene.cuts.iter().position(|cut| cut.cutter == Cutter::OnTheSpar)
}

/// Where the climber is on the map at a cut where the scene doesn't say, m, and the height of the
/// feet, m. The stem is taken as thick as at breast height: the tree's taper is not known here.
pub(super) fn on_the_spar(scene: &Scene, frame: &MapFrame, cut: Option<usize>) -> (DVec2, f64) {
    let cut = cut.and_then(|i| scene.cuts.get(i));
    let (from_m, toward_rad) = cut.map_or((0.0, 0.0), |cut| {
        (scene.tree.cut_height_m(&cut.piece), cut.release.toward_rad().told)
    });
    let feet_m = (from_m - FEET_BELOW_M).max(0.0);
    let lean = match &scene.tree.lean {
        Lean::Upright(_) => DVec2::ZERO,
        Lean::Plumb { offset_m, height_m, toward_rad } => {
            heading(toward_rad.told, frame) * (offset_m.told / height_m.told.max(0.1))
        }
        Lean::Angle { angle_rad, toward_rad } => {
            heading(toward_rad.told, frame) * libm::tan(angle_rad.told)
        }
    };
    let away_m = 0.5 * scene.tree.dbh_m.told + PERSON_HALF_M;
    (lean * feet_m - heading(toward_rad, frame) * away_m, feet_m)
}

/// Takes a thing out of the scene. The climber and the line go away, the feller back to the stump.
///
/// # Errors
/// The scene has no such thing, or it is the tree.
pub fn remove(scene: &Scene, text: &str, thing: &Thing) -> Result<Vec<Splice>, EditError> {
    if let Some((list, index)) = item(scene, thing) {
        let mut draft = Draft::of(text);
        draft.edit(|text| splice::remove_item(text, &list, index))?;
        // The last first, so that places hold.
        match thing {
            // A line goes with the piece it pulls.
            Thing::Cut(id) => {
                for (i, _) in scene.lines.iter().enumerate().rev().filter(|(_, l)| l.cut() == *id) {
                    draft.edit(|text| splice::remove_item(text, "lines", i))?;
                }
            }
            // So does a cut with the limb it takes.
            Thing::Limb(_) => {
                for (i, cut) in scene.cuts.iter().enumerate().rev() {
                    if matches!(cut.piece, PieceSpec::Limb { limb, .. } if limb == index) {
                        draft.edit(|text| splice::remove_item(text, "cuts", i))?;
                    }
                }
            }
            _ => {}
        }
        return Ok(vec![draft.splice()]);
    }
    match thing {
        Thing::Climber => Ok(vec![set(text, "climber", "Away")?]),
        Thing::ClimberLine => Ok(vec![set(text, "climber_line", "Away")?]),
        Thing::Feller => Ok(splice::unset(text, "feller")?.into_iter().collect()),
        Thing::Anchor(_) => Err(EditError::Refused {
            path: path(scene, thing).unwrap_or_default(),
            what: "a line without a far end pulls nothing".to_owned(),
            allowed: "something else that it is made fast to, or removing the line".to_owned(),
        }),
        Thing::Tree => Err(EditError::Refused {
            path: "tree".to_owned(),
            what: "a scene has one tree".to_owned(),
            allowed: "another species, size or lean".to_owned(),
        }),
        _ => Err(EditError::NoSuch(id(thing).to_owned())),
    }
}

/// A copy of a thing, moved by so many metres on the map; a copied cut is the next one down the
/// stem, a copied limb points elsewhere. Returns the splices and the new thing.
///
/// # Errors
/// The scene has no such thing, there is only one of it, or the copy can't be where it would.
pub fn copy(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    thing: &Thing,
    by_m: DVec2,
) -> Result<(Vec<Splice>, Thing), EditError> {
    let (list, index) =
        item(scene, thing).ok_or_else(|| EditError::NoSuch(id(thing).to_owned()))?;
    let fresh = fresh_id(scene, id(thing));
    if let Thing::Cut(_) = thing {
        return Ok((vec![copy_cut(scene, text, index, &fresh)?], Thing::Cut(fresh)));
    }
    let mut draft = Draft::of(text);
    draft.edit(|text| splice::copy_item(text, &list, index, &fresh))?;
    if let Thing::Limb(_) = thing {
        let turned_rad = scene.tree.limbs.get(index).map_or(0.0, |limb| limb.azimuth_rad.told);
        let azimuth = format!("{list}[{}].azimuth", index + 1);
        draft.edit(|text| set_azimuth(text, &azimuth, turned_rad + COPY_TURNED_RAD, 1.0))?;
        return Ok((vec![draft.splice()], Thing::Limb(fresh)));
    }
    if let Thing::Line(_) = thing {
        // Its redirects have ids as well.
        let count =
            scene.lines.get(index).and_then(Line::pull).map_or(0, |line| line.redirects.len());
        for i in 0..count {
            let id = quoted(&fresh_id(scene, &format!("{fresh}-{}", i + 1)));
            let at = format!("{list}[{}].redirects[{i}].id", index + 1);
            draft.edit(|text| set(text, &at, &id))?;
        }
    }
    let copy = match thing {
        Thing::Aid(_) => Thing::Aid(fresh),
        Thing::Patch(_) => Thing::Patch(fresh),
        Thing::Line(_) => Thing::Line(fresh),
        Thing::Redirect(_) => Thing::Redirect(fresh),
        _ => Thing::Target(fresh),
    };
    let with_both = parse(draft.text(), &scene.source.name)?;
    draft.edit_all(&move_by(&with_both, frame, draft.text(), &copy, by_m)?)?;
    Ok((vec![draft.splice()], copy))
}

/// The cut at an index once more, below the last one, as long as it is.
fn copy_cut(scene: &Scene, text: &str, index: usize, id: &str) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(format!("cuts[{index}]"));
    let cut = scene.cuts.get(index).ok_or_else(missing)?;
    let PieceSpec::Section { from_m, to_m } = &cut.piece else {
        return Err(EditError::Refused {
            path: format!("cuts[{index}]"),
            what: "a limb or a top is there once".to_owned(),
            allowed: "a copy of a section".to_owned(),
        });
    };
    let (from_m, to_m) = (from_m.told, to_m.told);
    let lowest_m = scene.standing(scene.cuts.len()).top_m;
    let by_m = lowest_m - to_m;
    if from_m + by_m < 0.0 {
        return Err(EditError::Refused {
            path: format!("cuts[{index}]"),
            what: "less of the stem is left than this piece is long".to_owned(),
            allowed: format!("a piece of at most {}", length_text(lowest_m, scene.units)),
        });
    }
    let item = splice::value(text, &format!("cuts[{index}]")).ok_or_else(missing)?;
    let mut draft = Draft::of(item);
    draft.edit(|item| set(item, "id", &quoted(id)))?;
    draft.edit(|item| set_length(item, "piece.from", from_m + by_m, scene.units))?;
    let like = units_of(splice::value(item, "piece.to").unwrap_or_default(), scene.units);
    let to_m = floored(to_m + by_m, like);
    draft.edit(|item| set_length(item, "piece.to", to_m, scene.units))?;
    draft.edit_all(splice::unset(draft.text(), "stubs")?.as_slice())?;
    splice::insert_as_is(text, "cuts", usize::MAX, draft.text())
}

/// An id that no item of the scene has: the wanted one, or that with the next number behind it.
#[must_use]
pub fn fresh_id(scene: &Scene, like: &str) -> String {
    let taken = ids(scene);
    let is_free =
        |id: &str| !RESERVED_IDS.contains(&id) && taken.iter().all(|(_, other)| *other != id);
    if is_free(like) {
        return like.to_owned();
    }
    let stem = like.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = like.get(stem.len()..).and_then(|digits| digits.parse::<u32>().ok());
    let stem: String = stem.chars().take(ID_STEM_MAX).collect();
    let stem = if number.is_some() { stem } else { format!("{stem}-") };
    // One of the first so many numbers is free: a scene has fewer items.
    (number.map_or(2, |n| n.saturating_add(1))..)
        .map(|n| format!("{stem}{n}"))
        .find(|id| is_free(id))
        .unwrap_or(stem)
}

#[cfg(test)]
mod tests;
