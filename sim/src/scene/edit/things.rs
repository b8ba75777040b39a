//! Things of a scene: where they stand in the file and on the map, moved and turned by hand.
//!
//! What is moved keeps how it was told: a tape keeps the station it starts from and gets a new
//! azimuth and distance, coordinates get new numbers, and each number keeps the word for how sure
//! it is and the units it is written in. Distances are written to the centimetre or half inch,
//! azimuths so finely that both together are within 1.1 cm of the place meant.

use glam::DVec2;

use crate::{
    quantity::Units,
    scene::{
        check::RESERVED_IDS,
        items::{all_places, ids},
        model::*,
        parse,
        places::{MapFrame, heading, place_m, station_m},
    },
};

use super::{
    Thing,
    splice::{self, Draft, EditError, Splice, quoted, set},
    written::{
        azimuth_rad, azimuth_text, floored, length_text, number_text, set_azimuth, set_length,
        units_of,
    },
};

/// The climber's feet are this far below the cut, m (as the scene says where it isn't told).
const FEET_BELOW_M: f64 = 1.5;
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
    things.extend(scene.targets.iter().map(|target| Thing::Target(target.id.clone())));
    things.extend([Thing::Climber, Thing::ClimberLine, Thing::Feller]);
    things.extend(scene.aids.iter().map(|aid| Thing::Aid(aid.id.clone())));
    things.extend(scene.cuts.iter().map(|cut| Thing::Cut(cut.id.clone())));
    things
}

/// The list of the file that a thing is in, and its place there; none for what stands alone.
#[must_use]
pub fn item(scene: &Scene, thing: &Thing) -> Option<(&'static str, usize)> {
    let (list, index) = match thing {
        Thing::Target(id) => ("targets", scene.targets.iter().position(|t| t.id == *id)),
        Thing::Aid(id) => ("aids", scene.aids.iter().position(|a| a.id == *id)),
        Thing::Patch(id) => ("site.patches", scene.site.patches.iter().position(|p| p.id == *id)),
        Thing::Cut(id) => ("cuts", scene.cuts.iter().position(|c| c.id == *id)),
        Thing::Climber | Thing::ClimberLine | Thing::Feller | Thing::Tree => return None,
    };
    Some((list, index?))
}

/// The path of a thing in the file, such as `targets[0]`; `None` if the scene has none such.
#[must_use]
pub fn path(scene: &Scene, thing: &Thing) -> Option<String> {
    Some(match thing {
        Thing::Climber => "climber".to_owned(),
        Thing::ClimberLine => "climber_line".to_owned(),
        Thing::Feller => "feller".to_owned(),
        Thing::Tree => "tree".to_owned(),
        _ => item(scene, thing).map(|(list, index)| format!("{list}[{index}]"))?,
    })
}

/// The thing that an id names, if it names one.
#[must_use]
pub fn by_id(scene: &Scene, id: &str) -> Option<Thing> {
    all(scene).into_iter().find(|thing| self::id(thing) == id)
}

/// The id of a thing; what has none in the file is named as the program names it.
#[must_use]
pub fn id(thing: &Thing) -> &str {
    match thing {
        Thing::Target(id) | Thing::Aid(id) | Thing::Patch(id) | Thing::Cut(id) => id,
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

fn middle(points: &[DVec2]) -> DVec2 {
    points.iter().sum::<DVec2>() / points.len().max(1) as f64
}

/// The first cut that the climber makes.
fn first_on_the_spar(scene: &Scene) -> Option<usize> {
    scene.cuts.iter().position(|cut| cut.cutter == Cutter::OnTheSpar)
}

/// Where the climber is on the map at a cut where the scene doesn't say, m, and the height of the
/// feet, m. The stem is taken as thick as at breast height: the tree's taper is not known here.
fn on_the_spar(scene: &Scene, frame: &MapFrame, cut: Option<usize>) -> (DVec2, f64) {
    let cut = cut.and_then(|i| scene.cuts.get(i));
    let (from_m, toward_rad) = cut.map_or((0.0, 0.0), |cut| {
        let PieceSpec::Section { from_m, .. } = &cut.piece;
        (from_m.told, cut.release.toward_rad().told)
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

/// Moves a thing on the map by so many metres.
///
/// A cut is moved where it is noted as left lying; the climber, the climber's line and the feller
/// are told by a place of their own from then on, the climber with the feet at the height they had
/// at the first cut made from the spar.
///
/// # Errors
/// The scene has no such thing, or it is one that can't be moved.
pub fn move_by(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    thing: &Thing,
    by_m: DVec2,
) -> Result<Vec<Splice>, EditError> {
    move_at_cut(scene, frame, text, thing, by_m, first_on_the_spar(scene))
}

/// As [`move_by`]; a climber who stood on the spar is taken from where that is at the cut of this
/// index.
///
/// # Errors
/// As [`move_by`].
pub fn move_at_cut(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    thing: &Thing,
    by_m: DVec2,
    cut: Option<usize>,
) -> Result<Vec<Splice>, EditError> {
    let path = path(scene, thing).ok_or_else(|| EditError::NoSuch(id(thing).to_owned()))?;
    let found = places(scene, thing);
    if !found.is_empty() {
        return rewrite(scene, frame, text, &found, &|at| at + by_m);
    }
    let refused = |what: &str, allowed: &str| {
        Err(EditError::Refused { path: path.clone(), what: what.into(), allowed: allowed.into() })
    };
    let by_itself = |at: DVec2| place_text(at, frame, scene.units);
    let moved = match (thing, scene.climber, scene.climber_line) {
        (Thing::Tree, ..) => {
            return refused(
                "the stump is where everything is measured from",
                "moving what stands round it",
            );
        }
        (Thing::Cut(_), ..) => {
            return refused(
                "a piece is where the tree is",
                "turning its face, or after: LeftAt(..)",
            );
        }
        (Thing::Climber, ClimberSpec::Away, _) | (Thing::ClimberLine, _, ClimberLineSpec::Away) => {
            return refused("it is away", "a place for it first");
        }
        (Thing::Climber, ..) => {
            let (at, feet_m) = on_the_spar(scene, frame, cut);
            let feet = quoted(&length_text(feet_m, scene.units));
            format!("MovedTo(at: {}, feet: {feet})", by_itself(at + by_m))
        }
        _ => format!("MovedTo(at: {})", by_itself(by_m)),
    };
    Ok(vec![set(text, &path, &moved)?])
}

/// Turns a thing about its middle by an angle (rad), clockwise as azimuths run.
///
/// A vehicle turns its nose, a cut the azimuth its piece is meant to fall toward; what is round
/// stays as it is.
///
/// # Errors
/// The scene has no such thing.
pub fn turn_by(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    thing: &Thing,
    angle_rad: f64,
) -> Result<Vec<Splice>, EditError> {
    let path = path(scene, thing).ok_or_else(|| EditError::NoSuch(id(thing).to_owned()))?;
    let azimuth = match thing {
        Thing::Cut(id) => {
            let cut = scene.cuts.iter().find(|cut| cut.id == *id);
            cut.map(|cut| match cut.release {
                ReleaseSpec::Hinge { face, .. } | ReleaseSpec::BoredHinge { face, .. } => {
                    ("release.face", face.toward_rad.told)
                }
                ReleaseSpec::Snap { toward_rad, .. } | ReleaseSpec::PushOver { toward_rad, .. } => {
                    ("release.toward", toward_rad.told)
                }
            })
        }
        Thing::Target(id) => {
            let target = scene.targets.iter().find(|target| target.id == *id);
            target.and_then(|target| match target.kind {
                TargetKind::Vehicle { heading_rad, .. } => Some(("heading", heading_rad.told)),
                _ => None,
            })
        }
        _ => None,
    };
    if let Some((field, told_rad)) = azimuth {
        return Ok(vec![set_azimuth(text, &format!("{path}.{field}"), told_rad + angle_rad, 1.0)?]);
    }
    let found = places(scene, thing);
    if found.len() < 2 {
        return Ok(Vec::new());
    }
    let about = middle(&points_m(scene, frame, thing));
    // Clockwise from above is the other way round than the frame's x to y.
    let turn = DVec2::new(libm::cos(angle_rad), -libm::sin(angle_rad));
    rewrite(scene, frame, text, &found, &|at| about + turn.rotate(at - about))
}

/// Each place written anew for where `to` takes it.
fn rewrite(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    found: &[(String, &Place)],
    to: &dyn Fn(DVec2) -> DVec2,
) -> Result<Vec<Splice>, EditError> {
    let mut splices = Vec::new();
    for (path, place) in found {
        let before = place_m(&scene.site, place, frame);
        let after = to(before);
        if after != before {
            splices.extend(rewrite_place(scene, frame, text, path, place, after)?);
        }
    }
    Ok(splices)
}

fn rewrite_place(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    path: &str,
    place: &Place,
    to: DVec2,
) -> Result<Vec<Splice>, EditError> {
    let at = |field: &str| format!("{path}.{field}");
    Ok(match place {
        Place::Taped { from, azimuth_rad, inclination_rad, .. } => {
            let by = to - station_m(&scene.site, *from, frame).0;
            let level_m = by.length();
            let azimuth_rad = if level_m > 1e-6 { azimuth_of(by, frame) } else { azimuth_rad.told };
            let tape_m = level_m / libm::cos(inclination_rad.told);
            vec![
                set_azimuth(text, &at("azimuth"), azimuth_rad, level_m)?,
                set_length(text, &at("distance"), tape_m, scene.units)?,
            ]
        }
        Place::AtStation(station) => {
            let by = to - station_m(&scene.site, *station, frame).0;
            let name = splice::value(text, &format!("{path}[0]"))
                .ok_or_else(|| EditError::NoSuch(path.to_owned()))?;
            let place = taped(Some(name), by, frame, scene.units);
            vec![set(text, path, &place)?]
        }
        Place::Local { .. } => vec![
            set_length(text, &at("east"), to.x, scene.units)?,
            set_length(text, &at("north"), to.y, scene.units)?,
        ],
        Place::Grid { .. } => {
            let stump = DVec2::from(scene.site.terrain.stump().unwrap_or([0.0, 0.0]));
            let grid = to / frame.unit_m + stump;
            vec![
                set(text, &at("x"), &coordinate_text(grid.x))?,
                set(text, &at("y"), &coordinate_text(grid.y))?,
            ]
        }
    })
}

/// A coordinate to a hundredth of its unit, as a decimal number.
fn coordinate_text(x: f64) -> String {
    let text = number_text(x, 2);
    if text.contains('.') { text } else { format!("{text}.0") }
}

/// The azimuth of a way on the map in the scene's own north, rad.
pub(super) fn azimuth_of(by: DVec2, frame: &MapFrame) -> f64 {
    azimuth_rad(libm::atan2(by.x, by.y) - frame.turn_rad)
}

/// A place as the file writes it, by tape and compass from the stump.
#[must_use]
pub fn place_text(at: DVec2, frame: &MapFrame, units: Units) -> String {
    taped(None, at, frame, units)
}

fn taped(from: Option<&str>, by: DVec2, frame: &MapFrame, units: Units) -> String {
    let from = from.map(|from| format!("from: {from}, ")).unwrap_or_default();
    let azimuth = azimuth_text(azimuth_of(by, frame), by.length());
    let distance = length_text(by.length(), units);
    format!("At({from}azimuth: {}, distance: {})", quoted(&azimuth), quoted(&distance))
}

/// Takes a thing out of the scene. The climber and the line go away, the feller back to the stump.
///
/// # Errors
/// The scene has no such thing, or it is the tree.
pub fn remove(scene: &Scene, text: &str, thing: &Thing) -> Result<Vec<Splice>, EditError> {
    if let Some((list, index)) = item(scene, thing) {
        return Ok(vec![splice::remove_item(text, list, index)?]);
    }
    match thing {
        Thing::Climber => Ok(vec![set(text, "climber", "Away")?]),
        Thing::ClimberLine => Ok(vec![set(text, "climber_line", "Away")?]),
        Thing::Feller => Ok(splice::unset(text, "feller")?.into_iter().collect()),
        Thing::Tree => Err(EditError::Refused {
            path: "tree".to_owned(),
            what: "a scene has one tree".to_owned(),
            allowed: "another species, size or lean".to_owned(),
        }),
        _ => Err(EditError::NoSuch(id(thing).to_owned())),
    }
}

/// A copy of a thing, moved by so many metres on the map; a copied cut is the next one down the
/// stem. Returns the splices and the new thing.
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
    draft.edit(|text| splice::copy_item(text, list, index, &fresh))?;
    let copy = match thing {
        Thing::Aid(_) => Thing::Aid(fresh),
        Thing::Patch(_) => Thing::Patch(fresh),
        _ => Thing::Target(fresh),
    };
    let with_both = parse(draft.text(), &scene.source.name)?;
    draft.edit_all(&move_by(&with_both, frame, draft.text(), &copy, by_m)?)?;
    Ok((vec![draft.splice()], copy))
}

/// The cut at an index once more, below the last one, as long as it is.
fn copy_cut(scene: &Scene, text: &str, index: usize, id: &str) -> Result<Splice, EditError> {
    let section = |cut: &Cut| {
        let PieceSpec::Section { from_m, to_m } = &cut.piece;
        (from_m.told, to_m.told)
    };
    let missing = || EditError::NoSuch(format!("cuts[{index}]"));
    let (from_m, to_m) = scene.cuts.get(index).map(section).ok_or_else(missing)?;
    let lowest_m = scene.cuts.last().map(section).ok_or_else(missing)?.0;
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
mod tests {
    use super::*;
    use crate::{
        keyed::Key,
        scene::{
            edit::splice::{apply, inverse},
            starter,
        },
    };

    /// Every scene of the tree with the frame it is drawn in, the laser-scanned one turned as a
    /// compass would.
    fn scenes() -> Vec<(String, MapFrame)> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes");
        let mut paths: Vec<_> =
            std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        paths.retain(|path| path.extension().is_some_and(|e| e == "ron"));
        paths.sort();
        assert!(paths.len() >= 4);
        let mut texts: Vec<String> =
            paths.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect();
        texts.push(starter().to_owned());
        let frame = |text: &str| {
            let turn_rad = if text.contains("GeoTiff(\n") { 0.14 } else { 0.0 };
            MapFrame { turn_rad, unit_m: if turn_rad > 0.0 { 0.3048 } else { 1.0 } }
        };
        texts.into_iter().map(|text| (text.clone(), frame(&text))).collect()
    }

    #[test]
    fn verif_the_file_has_things_where_the_lists_have_them() {
        for (text, _) in scenes() {
            let scene = parse(&text, "s").unwrap();
            for thing in all(&scene) {
                let Some((list, index)) = item(&scene, &thing) else { continue };
                let found = splice::value(&text, &format!("{list}[{index}].id")).unwrap();
                assert_eq!(found, quoted(id(&thing)));
                assert_eq!(by_id(&scene, id(&thing)), Some(thing));
            }
        }
    }

    #[test]
    fn prop_what_is_moved_is_where_it_was_meant_to_be() {
        let mut moved = 0;
        for (text, frame) in scenes() {
            let scene = parse(&text, "s").unwrap();
            for (i, thing) in all(&scene).into_iter().enumerate() {
                for k in 0..40 {
                    let key = Key::root(3).number(i as u64).number(k);
                    let far = 10.0_f64.powf(2.6 * key.word("far").uniform() - 1.3);
                    let angle = std::f64::consts::TAU * key.word("angle").uniform();
                    let by_m = DVec2::from_angle(angle) * far;
                    let Some(before) = position_m(&scene, &frame, &thing) else { continue };
                    let Ok(splices) = move_by(&scene, &frame, &text, &thing, by_m) else {
                        assert!(matches!(thing, Thing::Tree | Thing::Cut(_)), "{thing:?}");
                        continue;
                    };
                    let after = apply(&text, &splices).unwrap();
                    let back = inverse(&text, &splices).unwrap();
                    assert_eq!(apply(&after, &back).unwrap(), text);
                    // Some places are refused: in the stump, or past a line's neighbour.
                    let Ok(now) = parse(&after, "s") else { continue };
                    let at = position_m(&now, &frame, &thing).unwrap();
                    assert!(at.distance(before + by_m) < 0.02, "{thing:?} by {by_m}: {at}");
                    let (old, new) =
                        (points_m(&scene, &frame, &thing), points_m(&now, &frame, &thing));
                    for (old, new) in old.iter().zip(&new) {
                        assert!(new.distance(*old + by_m) < 0.02, "{thing:?}: {new} from {old}");
                    }
                    assert_eq!(
                        scene.doubts().len(),
                        now.doubts().len() - new_doubts(&scene, &thing)
                    );
                    moved += 1;
                }
            }
        }
        assert!(moved > 1_500, "only {moved} moves");
    }

    /// Numbers in doubt that a thing has once it is told by a place of its own.
    fn new_doubts(scene: &Scene, thing: &Thing) -> usize {
        match thing {
            Thing::Climber if scene.climber == ClimberSpec::OnSpar => 3,
            Thing::ClimberLine if scene.climber_line == ClimberLineSpec::DownTheSpar => 2,
            Thing::Feller if scene.feller == FellerSpec::AtStump => 2,
            // A line of stations gets a tape of its own.
            Thing::Target(id) if id == "lower-walk" => 2,
            _ => 0,
        }
    }

    #[test]
    fn prop_what_is_turned_keeps_its_middle_and_its_shape() {
        for (text, frame) in scenes() {
            let scene = parse(&text, "s").unwrap();
            for thing in all(&scene) {
                for k in 0..12 {
                    let angle_rad = 0.5 + f64::from(k) * 0.51;
                    let splices = turn_by(&scene, &frame, &text, &thing, angle_rad).unwrap();
                    let after = apply(&text, &splices).unwrap();
                    let Ok(now) = parse(&after, "s") else { continue };
                    let (old, new) =
                        (points_m(&scene, &frame, &thing), points_m(&now, &frame, &thing));
                    let (a, b) = (middle(&old), middle(&new));
                    for (old, new) in old.iter().zip(&new) {
                        let arm = *old - a;
                        let clockwise = DVec2::new(
                            arm.x * angle_rad.cos() + arm.y * angle_rad.sin(),
                            arm.y * angle_rad.cos() - arm.x * angle_rad.sin(),
                        );
                        let meant = if old_only(&thing, &scene) { arm } else { clockwise };
                        assert!(
                            b.distance(a) < 0.02 && (*new - b).distance(meant) < 0.03,
                            "{thing:?}"
                        );
                    }
                }
            }
        }
    }

    /// Turned by an azimuth of its own, or round.
    fn old_only(thing: &Thing, scene: &Scene) -> bool {
        matches!(thing, Thing::Cut(_)) || places(scene, thing).len() < 2
    }

    #[test]
    fn verif_a_vehicle_and_a_face_turn_by_their_azimuths() {
        let text = &scenes()[1].0;
        let scene = parse(text, "lane-ash").unwrap();
        let frame = MapFrame::default();
        let turned = |thing: &Thing, deg: f64| {
            let splices = turn_by(&scene, &frame, text, thing, deg.to_radians()).unwrap();
            splices.into_iter().map(|s| s.text).collect::<String>()
        };
        assert_eq!(turned(&Thing::Target("chipper-truck".into()), -10.0), "\"355 deg\"");
        assert_eq!(turned(&Thing::Cut("a".into()), 20.0), "\"115 deg\"");
        assert_eq!(turned(&Thing::Cut("b".into()), 20.0), "\"115 deg\"");
        assert_eq!(turned(&Thing::Target("lane-guard".into()), 20.0), "");
    }

    #[test]
    fn verif_a_moved_place_keeps_how_it_was_told() {
        let text = &scenes()[0].0;
        let scene = parse(text, "lake-oak").unwrap();
        // From 26 ft at 300 deg to 7.247 m at 300.35 deg.
        let by = DVec2::new(0.61, -0.3);
        let frame = MapFrame::default();
        let splices =
            move_by(&scene, &frame, text, &Thing::Target("keep-maple".into()), by).unwrap();
        let after = apply(text, &splices).unwrap();
        let at = splice::value(&after, "targets[1].at").unwrap();
        assert_eq!(
            at,
            "At(from: \"down:2\", azimuth: \"300.4 deg\", distance: \"23 ft 9 1/2 in\")"
        );
        let splices = move_by(&scene, &frame, text, &Thing::Climber, DVec2::ZERO).unwrap();
        let after = apply(text, &splices).unwrap();
        assert!(after.contains("climber: MovedTo(at: At("), "{after}");
        assert!(after.contains("feet: \"51 ft 1 in\""), "{after}");
    }

    #[test]
    fn prop_a_copy_is_read_and_a_thing_taken_out_is_gone() {
        for (text, frame) in scenes() {
            let scene = parse(&text, "s").unwrap();
            for thing in all(&scene) {
                if let Ok(splices) = remove(&scene, &text, &thing) {
                    let gone = parse(&apply(&text, &splices).unwrap(), "s").unwrap();
                    let count = all(&scene).len() - usize::from(item(&scene, &thing).is_some());
                    assert_eq!(all(&gone).len(), count);
                }
                let Ok((splices, copy)) =
                    self::copy(&scene, &frame, &text, &thing, DVec2::new(0.5, 0.3))
                else {
                    continue;
                };
                let both = parse(&apply(&text, &splices).unwrap(), "s").unwrap();
                assert_eq!(all(&both).len(), all(&scene).len() + 1);
                assert!(all(&both).contains(&copy) && all(&both).contains(&thing));
                assert_eq!(kind(&both, &copy), kind(&scene, &thing));
            }
        }
    }

    #[test]
    fn verif_fresh_ids_count_on() {
        let scene = parse(starter(), "s").unwrap();
        assert_eq!(fresh_id(&scene, "shed"), "shed");
        assert_eq!(fresh_id(&scene, "footpath"), "footpath-2");
        assert_eq!(fresh_id(&scene, "stump"), "stump-2");
        let text = starter().replace("\"footpath\"", "\"path-9\"");
        assert_eq!(fresh_id(&parse(&text, "s").unwrap(), "path-9"), "path-10");
    }
}
