//! What of the notes can be drawn already, whatever else is still missing.

use glam::{DVec2, DVec3};
use tumblewood::{
    report::bank::contour_lines,
    scene::{MapFrame, places::heading},
    terrain::{Leg, Start, SurveySpec, Terrain, Transect, transects::survey},
};

use super::form::{Footprint, Kind, NotesForm, Spot, TargetKind};

/// A line of legs as far as it can be read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LineSketch {
    /// Its name.
    pub(crate) id: String,
    /// Where its legs end, start first, x east, y north, z up, m from the stump.
    pub(crate) stations_m: Vec<DVec3>,
    /// Every leg could be read.
    pub(crate) whole: bool,
}

/// A target as far as it can be read: its outline or line on the map, m.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct TargetSketch {
    /// Its name.
    pub(crate) id: String,
    /// Corners, the line's points, or one point.
    pub(crate) points_m: Vec<DVec2>,
    /// What it is.
    pub(crate) what: What,
}

/// How a target is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum What {
    /// A closed outline.
    Building,
    /// A round of this radius, m.
    Tree(f64),
    /// A person.
    Person,
    /// A line of this width, m.
    Path(f64),
}

/// Everything that can be drawn of a form.
#[derive(Clone, Debug)]
pub(crate) struct Sketch {
    /// The lines in order; those that can't be begun are left out.
    pub(crate) lines: Vec<LineSketch>,
    /// The targets that can be placed.
    pub(crate) targets: Vec<TargetSketch>,
    /// Its contours and the height between two of them, m.
    pub(crate) contours: (Vec<Vec<DVec2>>, f64),
}

impl Sketch {
    /// What can be drawn of a form.
    #[must_use]
    pub(crate) fn of(form: &NotesForm) -> Self {
        let lines = lines(form);
        let terrain = sketch(form);
        let contours = terrain.as_ref().map_or((Vec::new(), 0.0), |t| contour_lines(t, form.units));
        let targets = form
            .targets
            .iter()
            .filter_map(|target| {
                let (points_m, what) = placed(form, &target.kind)?;
                Some(TargetSketch { id: target.id.clone(), points_m, what })
            })
            .collect();
        Self { lines, targets, contours }
    }
}

/// The ground that the lines make, if what can be read of them makes one.
#[must_use]
fn sketch(form: &NotesForm) -> Option<Terrain> {
    let transects: Vec<Transect> = lines(form)
        .into_iter()
        .filter(|line| line.stations_m.len() > 1)
        .map(|line| {
            let ends = line.stations_m.windows(2);
            // One azimuth for all legs: they were walked on one.
            let (first, last) = (line.stations_m.first(), line.stations_m.last());
            let way = last.zip(first).map_or(DVec3::Y, |(a, b)| a - b);
            Transect {
                from: Start::Point(line.stations_m.first().copied().unwrap_or(DVec3::ZERO)),
                azimuth_rad: way.x.atan2(way.y),
                legs: ends
                    .map(|ends| {
                        let leg = ends[1] - ends[0];
                        Leg {
                            slope_distance_m: leg.length(),
                            inclination_rad: leg.z.atan2(leg.truncate().length()),
                        }
                    })
                    .collect(),
                id: line.id,
                closes: None,
            }
        })
        .collect();
    let spec = SurveySpec { units: form.units, ..SurveySpec::default() };
    survey(&transects, DVec3::ZERO, &[], &spec).ok()
}

/// The lines as far as each can be read; one whose start or azimuth can't be is left out.
pub(super) fn lines(form: &NotesForm) -> Vec<LineSketch> {
    let mut found: Vec<LineSketch> = Vec::new();
    for line in &form.lines {
        let start = station(&found, &line.from);
        let Some((start, azimuth_rad)) = start.zip(line.azimuth.azimuth_rad(form)) else {
            continue;
        };
        let along = heading(azimuth_rad, &MapFrame::default());
        let mut stations_m = vec![start];
        let mut at = start;
        for leg in &line.legs {
            let distance_m = leg.distance.metres(Kind::Far, form);
            let Some((distance_m, slope_rad)) = distance_m.zip(leg.slope.slope_rad(form)) else {
                break;
            };
            at += (along * distance_m * slope_rad.cos()).extend(distance_m * slope_rad.sin());
            stations_m.push(at);
        }
        let whole = stations_m.len() == line.legs.len() + 1;
        found.push(LineSketch { id: line.id.clone(), stations_m, whole });
    }
    found
}

/// Where a station of the lines is: `stump`, nothing, or `NAME:N`.
fn station(lines: &[LineSketch], text: &str) -> Option<DVec3> {
    let text = text.trim();
    if text.is_empty() || text == "stump" {
        return Some(DVec3::ZERO);
    }
    let (id, leg) = text.rsplit_once(':')?;
    let leg: usize = leg.trim().parse().ok().filter(|leg| *leg > 0)?;
    lines.iter().find(|line| line.id == id.trim())?.stations_m.get(leg).copied()
}

/// Where a spot is on the map, m, if it can be read.
pub(super) fn spot_m(form: &NotesForm, spot: &Spot) -> Option<DVec2> {
    let from = station(&lines(form), &spot.from)?.truncate();
    let azimuth_rad = spot.azimuth.azimuth_rad(form)?;
    let distance_m = spot.distance.metres(Kind::Far, form)?;
    Some(from + heading(azimuth_rad, &MapFrame::default()) * distance_m)
}

/// The corners of a footprint on the map in order, m, if it can be read.
pub(super) fn corners_m(form: &NotesForm, footprint: &Footprint) -> Option<[DVec2; 4]> {
    match footprint {
        Footprint::Wall { one, two, depth } => {
            let (one, two) = (spot_m(form, one)?, spot_m(form, two)?);
            let depth_m = depth.metres(Kind::Far, form)?;
            let across = (two - one).perp().normalize_or_zero();
            // It goes back from the wall that looks at the stump.
            let back = if across.dot((one + two) / 2.0) < 0.0 { -across } else { across };
            Some([one, two, two + back * depth_m, one + back * depth_m])
        }
        Footprint::Middle { at, length, width, heading: way } => {
            let at = spot_m(form, at)?;
            let along = heading(way.azimuth_rad(form)?, &MapFrame::default());
            let along_m = along * (0.5 * length.metres(Kind::Far, form)?);
            let across_m = along.perp() * (0.5 * width.metres(Kind::Far, form)?);
            Some([
                at - along_m - across_m,
                at + along_m - across_m,
                at + along_m + across_m,
                at - along_m + across_m,
            ])
        }
    }
}

fn placed(form: &NotesForm, kind: &TargetKind) -> Option<(Vec<DVec2>, What)> {
    match kind {
        TargetKind::Structure { footprint, .. } => {
            Some((corners_m(form, footprint)?.to_vec(), What::Building))
        }
        TargetKind::KeepTree { at, diameter, .. } => {
            let radius_m = 0.5 * diameter.metres(Kind::Thick, form).unwrap_or(0.3);
            Some((vec![spot_m(form, at)?], What::Tree(radius_m)))
        }
        TargetKind::Person { at } => Some((vec![spot_m(form, at)?], What::Person)),
        TargetKind::Path { line, width } => {
            let points: Vec<DVec2> = line.iter().filter_map(|spot| spot_m(form, spot)).collect();
            let width_m = width.metres(Kind::Far, form).unwrap_or(1.0);
            (points.len() > 1).then_some((points, What::Path(width_m)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_stations_follow_azimuth_and_slope() {
        let form = NotesForm::default();
        let lines = lines(&form);
        assert_eq!(lines.len(), form.lines.len());
        let first = lines[0].stations_m[1];
        let (azimuth, slope, far_m) = (160_f64.to_radians(), -24_f64.to_radians(), 20.0 * 0.3048);
        let level_m = far_m * slope.cos();
        let want =
            DVec3::new(level_m * azimuth.sin(), level_m * azimuth.cos(), far_m * slope.sin());
        assert!((first - want).length() < 1e-9, "{first} {want}");
        assert_eq!(lines[4].stations_m[0], lines[0].stations_m[3], "a line from a station");
    }

    #[test]
    fn prop_the_hillside_appears_while_the_rest_is_still_missing() {
        let mut form = NotesForm::default();
        form.lines[0].legs[3].slope.text = "minus four".to_owned();
        form.tree.dbh.text.clear();
        form.targets[0].id.clear();
        let shown = Sketch::of(&form);
        assert!(!shown.lines[0].whole && shown.lines[0].stations_m.len() == 4);
        let terrain = sketch(&form).expect("six lines make a ground");
        let station = shown.lines[0].stations_m[2];
        let height_m = terrain.surface(station.x, station.y).expect("on it").height_m;
        assert!((height_m - station.z).abs() < 0.3, "{height_m} {station}");
        assert!(shown.contours.0.len() > 3);
        form.lines.clear();
        assert!(sketch(&form).is_none());
    }

    #[test]
    fn verif_a_building_goes_back_from_the_wall_toward_the_tree() {
        let form = NotesForm::default();
        let spot = |azimuth: &str| Spot::new("stump", azimuth, "40 m");
        let wall = Footprint::Wall { one: spot("170"), two: spot("190"), depth: "5 m".into() };
        let corners = corners_m(&form, &wall).expect("read");
        for (corner, y_m) in corners.iter().zip([39.392, 39.392, 44.392, 44.392]) {
            assert!((corner.y + y_m).abs() < 1e-3, "{corner}");
        }
        let middle = Footprint::Middle {
            at: spot("180"),
            length: "6 m".into(),
            width: "4 m".into(),
            heading: "90".into(),
        };
        let corners = corners_m(&form, &middle).expect("read");
        let low = corners.iter().copied().fold(DVec2::INFINITY, DVec2::min);
        let high = corners.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
        assert!((low - DVec2::new(-3.0, -42.0)).length() < 1e-9, "{low}");
        assert!((high - DVec2::new(3.0, -38.0)).length() < 1e-9, "{high}");
    }
}
