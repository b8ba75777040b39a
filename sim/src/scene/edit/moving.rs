//! Things of a scene moved and turned on the map.
//!
//! What is moved keeps how it was told: a tape keeps the station it starts from and gets a new
//! azimuth and distance, coordinates get new numbers, and each number keeps the word for how sure
//! it is and the units it is written in. Distances are written to the centimetre or half inch,
//! azimuths so finely that both together are within 1.1 cm of the place meant.

use glam::DVec2;

use crate::{
    quantity::Units,
    scene::{
        model::*,
        places::{MapFrame, place_m, station_m},
    },
};

use super::{
    Thing,
    splice::{self, EditError, Splice, quoted, set},
    things::{first_on_the_spar, id, middle, on_the_spar, path, places, points_m},
    written::{azimuth_rad, azimuth_text, length_text, number_text, set_azimuth, set_length},
};

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
        (Thing::Limb(_), ..) => {
            return refused("a limb is where it grew", "turning where it points, or its height");
        }
        (Thing::Line(_), ..) => return refused("it is made fast to the spar", "its heights there"),
        _ => format!("MovedTo(at: {})", by_itself(by_m)),
    };
    Ok(vec![set(text, &path, &moved)?])
}

/// Turns a thing about its middle by an angle (rad), clockwise as azimuths run.
///
/// A vehicle turns its nose, a cut the azimuth its piece is meant to fall toward, a limb where it
/// points; what is round stays as it is.
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
                ReleaseSpec::UnderAndTop { toward_rad, .. } => ("", toward_rad),
            })
        }
        Thing::Limb(id) => {
            let limb = scene.tree.limbs.iter().find(|limb| limb.id == *id);
            limb.map(|limb| ("azimuth", limb.azimuth_rad.told))
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
    // A limb falls where it points.
    let azimuth = azimuth.filter(|(field, _)| !field.is_empty());
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
