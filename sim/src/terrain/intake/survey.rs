//! Points that someone surveyed, as CSV or GPX → the lattice.
//!
//! CSV has a heading: x, y, z (or east, north, height), or latitude, longitude, height, in any
//! order. A column `line` names edges: points of one name, in order, are joined, and triangles
//! don't cross them. GPX holds waypoints, routes and tracks with their heights.

use std::{
    fs::File,
    io::{BufReader, Read as _},
    path::Path,
};

use glam::{DVec2, DVec3};

use super::{
    About, Lattice, MOST_POINT_NODES, POINT_CELL_M, Wanted, check_nodes,
    holes::{FURTHEST_OUTSIDE_M, Sheet},
    open::{Opened, Said, What},
};
use crate::terrain::{
    LengthUnit, TerrainError, raster::HEIGHT_RANGE_M, system::System, transects::tin,
};

/// Most points of a survey: more are a point cloud.
const MOST_POINTS: usize = 50_000;
/// Largest file, bytes.
const LARGEST_FILE: u64 = 32 << 20;

/// Points with their places as the file has them.
pub(super) struct Survey {
    /// x and y, or longitude and latitude; height.
    pub(super) points: Vec<DVec3>,
    /// Line of each point in the file; none of GPX.
    lines: Vec<u64>,
    /// Joined pairs.
    edges: Vec<[usize; 2]>,
    degrees: bool,
    /// The unit that the headings of places name.
    plan_unit: Option<LengthUnit>,
    /// The unit that the heading of heights names.
    height_unit: Option<LengthUnit>,
    pub(super) warnings: Vec<String>,
    /// By a receiver held in the hand.
    hand_held: bool,
}

impl Survey {
    pub(super) fn extent(&self) -> (DVec2, DVec2) {
        let first = self.points.first().map_or(DVec2::ZERO, |p| p.truncate());
        self.points
            .iter()
            .fold((first, first), |(low, high), p| (low.min(p.truncate()), high.max(p.truncate())))
    }

    /// What the headings say; a unit at one column goes for all, but where a system is `told` the
    /// places' is that system's.
    pub(super) fn said(&self, told: bool) -> Said {
        let plan = self.plan_unit.or(self.height_unit.filter(|_| !told));
        let system =
            if self.degrees { System::from_epsg("", 4326).ok() } else { plan.map(System::nowhere) };
        let heights = self.height_unit.or(self.plan_unit);
        let heights = heights.map(|unit| (unit, String::new()));
        Said { system, not_understood: None, heights }
    }

    /// Checks heights in their unit: one that stands for "none", or of another unit, would be ground.
    pub(super) fn check_heights(&self, name: &str, unit: LengthUnit) -> Result<(), TerrainError> {
        let (low, high) = HEIGHT_RANGE_M;
        let wrong = |p: &DVec3| !(low..=high).contains(&(p.z * unit.metres()));
        let Some(k) = self.points.iter().position(wrong) else { return Ok(()) };
        let p = self.points.get(k).copied().unwrap_or_default();
        let read = match self.lines.get(k) {
            Some(_) => format!("{}", p.z),
            None => format!("{} at latitude {}, longitude {}", p.z, p.y, p.x),
        };
        let allowed = format!("{low} to {high} m, in the unit of its heights ({})", unit.word());
        let error = TerrainError::new(name, "height", read, allowed);
        Err(match self.lines.get(k) {
            Some(line) => error.at_line(*line),
            None => error,
        })
    }
}

/// Reads a survey.
pub(super) fn read(path: &Path, ending: &str) -> Result<Survey, TerrainError> {
    let name = path.display().to_string();
    let error =
        |read: String, allowed: &str| TerrainError::new(name.clone(), "file", read, allowed);
    let file = File::open(path).map_err(|e| error(e.to_string(), "a readable survey"))?;
    let about = file.metadata().map_err(|e| error(e.to_string(), "a readable survey"))?;
    if !about.is_file() || about.len() > LARGEST_FILE {
        return Err(error(format!("{} bytes", about.len()), "a plain file up to 32 MB"));
    }
    let source = BufReader::new(file).take(LARGEST_FILE);
    let survey = if ending == "gpx" { read_gpx(&name, source)? } else { read_csv(&name, source)? };
    if !(3..=MOST_POINTS).contains(&survey.points.len()) {
        return Err(TerrainError::new(
            name,
            "points",
            format!("{}", survey.points.len()),
            format!("3 to {MOST_POINTS} with heights"),
        ));
    }
    Ok(survey)
}

/// Which number a column holds.
fn column(heading: &str) -> Option<(usize, Option<LengthUnit>)> {
    let heading = heading.trim().trim_start_matches('\u{feff}').to_ascii_lowercase();
    let (word, unit) = match heading.split_once(['_', ' ', '(', '[']) {
        Some((word, unit)) => {
            (word, unit.trim_matches(|c: char| !c.is_ascii_alphanumeric() && c != '-'))
        }
        None => (heading.as_str(), ""),
    };
    let unit = match unit {
        "" => None,
        "m" | "metres" | "meters" => Some(LengthUnit::Metre),
        "ft" | "feet" => Some(LengthUnit::Foot),
        "us-ft" | "usft" | "us_ft" | "ftus" => Some(LengthUnit::UsSurveyFoot),
        _ => return None,
    };
    let which = match word {
        "x" | "east" | "easting" => 0,
        "y" | "north" | "northing" => 1,
        "z" | "h" | "height" | "elevation" | "elev" | "ele" | "altitude" => 2,
        "lon" | "lng" | "long" | "longitude" => 3,
        "lat" | "latitude" => 4,
        "line" | "breakline" => 5,
        _ => return None,
    };
    Some((which, unit))
}

fn read_csv(name: &str, source: impl std::io::Read) -> Result<Survey, TerrainError> {
    let mut reader =
        csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_reader(source);
    let broken = |e: &csv::Error| {
        let error = TerrainError::new(
            name,
            "row",
            e.to_string(),
            "values apart by commas, as many as headings",
        );
        match e.position() {
            Some(position) => error.at_line(position.line()),
            None => error,
        }
    };
    let headings = reader.headers().map_err(|e| broken(&e))?.clone();
    let mut at: [Option<usize>; 6] = [None; 6];
    let (mut plan_unit, mut height_unit) = (None, None);
    for (index, heading) in headings.iter().enumerate() {
        let Some((which, own)) = column(heading) else { continue };
        if let Some(slot) = at.get_mut(which) {
            *slot = slot.or(Some(index));
        }
        let earlier = plan_unit.or(height_unit);
        if own.is_some() && earlier.is_some() && own != earlier {
            return Err(TerrainError::new(
                name,
                "heading",
                format!("{heading:?}"),
                "one unit for all columns",
            )
            .at_line(1));
        }
        let unit = if which == 2 { &mut height_unit } else { &mut plan_unit };
        *unit = unit.or(own);
    }
    let (x, y, degrees) = match at {
        [Some(x), Some(y), ..] => (x, y, false),
        [_, _, _, Some(lon), Some(lat), _] => (lon, lat, true),
        _ => {
            let read: Vec<&str> = headings.iter().take(12).collect();
            return Err(TerrainError::new(
                name,
                "headings",
                format!("{read:?}"),
                "x, y, z (east, north, height; with _m, _ft or _us-ft) or lat, lon, height, and line \
                 for edges",
            )
            .at_line(1));
        }
    };
    let Some(z) = at[2] else {
        return Err(TerrainError::new(
            name,
            "headings",
            "no height",
            "a column z, height or elevation",
        )
        .at_line(1));
    };
    let (mut points, mut edges, mut joined) =
        (Vec::new(), Vec::new(), Vec::<(String, usize)>::new());
    let mut lines = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| broken(&e))?;
        let line = record.position().map_or(0, csv::Position::line);
        let number = |index: usize| {
            let text = record.get(index).unwrap_or("");
            text.parse::<f64>().ok().filter(|v| v.is_finite() && v.abs() < 1e9).ok_or_else(|| {
                let heading = headings.get(index).unwrap_or("");
                TerrainError::new(name, heading, format!("{text:?}"), "a number").at_line(line)
            })
        };
        points.push(DVec3::new(number(x)?, number(y)?, number(z)?));
        lines.push(line);
        let edge = at[5].and_then(|index| record.get(index)).filter(|text| !text.is_empty());
        if let Some(edge) = edge {
            let here = points.len() - 1;
            match joined.iter_mut().find(|(id, _)| id == edge) {
                Some((_, last)) => {
                    edges.push([*last, here]);
                    *last = here;
                }
                None => joined.push((edge.to_owned(), here)),
            }
        }
        if points.len() > MOST_POINTS {
            break;
        }
    }
    Ok(Survey {
        points,
        lines,
        edges,
        degrees,
        plan_unit,
        height_unit,
        warnings: Vec::new(),
        hand_held: false,
    })
}

fn read_gpx(name: &str, source: impl std::io::Read) -> Result<Survey, TerrainError> {
    let bad = |e: gpx::errors::GpxError| {
        TerrainError::new(name, "file", e.to_string(), "GPX 1.0 or 1.1 with heights (ele)")
    };
    let file = gpx::read(source).map_err(bad)?;
    let tracks = file.tracks.iter().flat_map(|t| &t.segments).flat_map(|s| &s.points);
    let routes = file.routes.iter().flat_map(|r| &r.points);
    let all = file.waypoints.iter().chain(routes).chain(tracks);
    let points = all
        .filter_map(|p| Some(DVec3::new(p.point().x(), p.point().y(), p.elevation?)))
        .filter(|p| p.is_finite())
        .take(MOST_POINTS + 1)
        .collect();
    let warnings = vec![format!(
        "{name}: heights of a hand-held receiver are some 5 to 10 m off (common practice), and so are \
         slopes between near points; a tape and inclinometer, or a scan, says more"
    )];
    // GPX counts in metres by its definition (Topografix, GPX 1.1).
    Ok(Survey {
        points,
        lines: Vec::new(),
        edges: Vec::new(),
        degrees: true,
        plan_unit: None,
        height_unit: Some(LengthUnit::Metre),
        warnings,
        hand_held: true,
    })
}

/// Heights of surveyed points on a lattice about the place, which ends a little beyond them.
pub(super) fn sheet(
    wanted: &Wanted,
    files: &[Opened],
    system: &System,
    at_m: DVec2,
    about: &mut About,
) -> Result<Sheet, TerrainError> {
    let (mut points, mut edges) = (Vec::new(), Vec::new());
    let mut read = 0;
    for file in files {
        let What::Survey(survey) = &file.what else { continue };
        let first = points.len();
        read += survey.points.len() as u64;
        about.hand_held |= survey.hand_held;
        for p in &survey.points {
            let at = if file.system.same(system) {
                Some(p.truncate())
            } else {
                file.system.to(p.truncate(), system)
            };
            let Some(at) = at else {
                return Err(TerrainError::new(
                    file.name.clone(),
                    "place",
                    format!("{}, {}", p.x, p.y),
                    "places that its coordinate system has",
                ));
            };
            points.push((at - at_m).extend(p.z * file.height_unit.metres()));
        }
        edges.extend(survey.edges.iter().map(|e| e.map(|k| k + first)));
    }
    let name = files.first().map_or("", |f| f.name.as_str());
    let (low, high) = points
        .iter()
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high): (DVec2, DVec2), p: &DVec3| {
            (low.min(p.truncate()), high.max(p.truncate()))
        });
    let cell_m = wanted.cell_m.unwrap_or(POINT_CELL_M);
    let around = DVec2::splat(wanted.around_m);
    let low = ((low - FURTHEST_OUTSIDE_M).max(-around) / cell_m).ceil();
    let high = ((high + FURTHEST_OUTSIDE_M).min(around) / cell_m).floor();
    let count = (high - low + 1.0).max(DVec2::ZERO);
    let lattice =
        Lattice { low_m: at_m + low * cell_m, cell_m, nx: count.x as usize, ny: count.y as usize };
    check_nodes(&lattice, MOST_POINT_NODES)?;
    if lattice.nx < 2 || lattice.ny < 2 {
        return Err(TerrainError::new(name, "points", "none near the place", "points about --at"));
    }
    let tin = tin::Tin::new(&points, &edges, low * cell_m, high * cell_m)
        .map_err(|e| TerrainError::new(name, "points", e, "places that are numbers"))?;
    if tin.crossings > 0 {
        about
            .warnings
            .push(format!("{name}: {} edges cross earlier ones and were left out", tin.crossings));
    }
    let (low_m, high_m) = (low * cell_m, high * cell_m);
    let inside = |p: &&DVec3| p.truncate().cmpge(low_m).all() && p.truncate().cmple(high_m).all();
    let within = points.iter().filter(inside).count();
    let mut scratch = tin::Weights::default();
    let (mut heights_m, mut known) = (Vec::new(), Vec::new());
    for k in 0..lattice.count() {
        let (height, carried) = tin.height(lattice.node_m(k) - at_m, &mut scratch);
        heights_m.push(height as f32);
        known.push(!carried);
    }
    about.method = if edges.is_empty() {
        "triangles between the surveyed points".to_owned()
    } else {
        format!("triangles between the surveyed points, along {} edges", edges.len())
    };
    about.fill_method = "by carrying the slope on beyond the outermost points";
    let area = lattice.count() as f64 * cell_m * cell_m;
    about.points = Some(super::Points {
        read,
        withheld: 0,
        within: within as u64,
        ground: within as u64,
        nodes: within,
        spacing_m: (area / within.max(1) as f64).sqrt(),
        found: false,
    });
    Ok(Sheet { lattice, heights_m, known })
}
