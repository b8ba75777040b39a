//! Terrain from a tape and an inclinometer: transects of legs, made into a surface.
//!
//! A transect starts at the stump, at a given point or at the end of another transect's leg, keeps one
//! azimuth, and is a list of legs of slope distance L and inclination i: each leg goes L·cos i along
//! and L·sin i up.
//!
//! - **All stations on one line in plan** (one transect, or two back to back): heights run straight
//!   between stations, and the bank is taken as the same all across it.
//! - **Otherwise** a triangulation of the stations, constrained to the legs and to any breaklines,
//!   heights linear in each triangle. A plane stays a plane.
//! - **Beyond the outermost stations**, both: the bank carries on from the surveyed ground, without
//!   a step, at the slope of the stations nearest by ([`Trend`], [`tin`]). Exact on planes; ours.
//!
//! Each of these is said as a warning. Known answers: tilted planes, in the tests below.

mod loops;
pub(super) mod tin;

use glam::{DVec2, DVec3};

pub use loops::Closing;
use loops::Legs;
use tin::{Tin, Weights};

use crate::quantity::Units;

use super::{Grid, Terrain, TerrainError, raster::MOST_NODES, said, shape::bearing};

/// Longest leg, m (ours: a tape is 100 m at most).
pub const LONGEST_LEG_M: f64 = 200.0;
/// Steepest leg, rad (ours: 85°; steeper is a cut face).
pub const STEEPEST_LEG_RAD: f64 = 1.483_529_864_195_180_3;
/// Most stations of a survey (ours).
pub const MOST_STATIONS: usize = 5000;
/// Stations closer than this in plan are one, m (ours).
const SAME_M: f64 = 0.05;
/// Smoothing radius of the slope beyond the stations, m.
const FIT_RADIUS_M: f64 = 3.0;
/// Stations that spread less than this (standard deviation) say nothing of the slope that way, m.
const ACROSS_M: f64 = 0.5;
/// A local departure from the mean slope is believed by half where its stations spread this far, m.
const BELIEVED_M: f64 = 0.1;

/// Where a transect starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    /// At a point, m.
    Point(DVec3),
    /// At the stump.
    Stump,
    /// At the end of a leg (from 1; 0: the start) of an earlier transect, by its place in the list.
    Station {
        /// Which transect, from 0; before this one in the list.
        transect: usize,
        /// Which leg's end.
        leg: usize,
    },
}

/// One leg: distance along the slope and inclination.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Distance as taped along the slope, m.
    pub slope_distance_m: f64,
    /// Inclination, positive uphill, rad.
    pub inclination_rad: f64,
}

/// Legs in a row along one azimuth.
#[derive(Clone, Debug, PartialEq)]
pub struct Transect {
    /// Stable id, for messages.
    pub id: String,
    /// Where it starts.
    pub from: Start,
    /// Azimuth, clockwise from the frame's north, rad.
    pub azimuth_rad: f64,
    /// The legs, in order.
    pub legs: Vec<Leg>,
    /// A station known before that the last leg was walked back to.
    pub closes: Option<Start>,
}

/// How a survey becomes a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurveySpec {
    /// Distance between nodes, m.
    pub cell_m: f64,
    /// How far the grid goes on beyond the stations on all sides, m.
    pub margin_m: f64,
    /// Units of the warnings.
    pub units: Units,
}

impl Default for SurveySpec {
    /// Half a metre, and 25 m to all sides: room for a long piece that leaves across the bank.
    fn default() -> Self {
        Self { cell_m: 0.5, margin_m: 25.0, units: Units::Metric }
    }
}

/// The stations of each transect, start first, m.
///
/// # Errors
/// A leg or start that can't be, with the transect's id and the leg's number.
pub fn stations(transects: &[Transect], stump_m: DVec3) -> Result<Vec<Vec<DVec3>>, TerrainError> {
    walk(transects, stump_m).map(|(stations, _)| stations)
}

/// The stations of each transect, start first (m), and what those that close miss by, shared out
/// along their loops ([`loops`]).
///
/// # Errors
/// As [`stations`].
pub fn walk(
    transects: &[Transect],
    stump_m: DVec3,
) -> Result<(Vec<Vec<DVec3>>, Vec<Closing>), TerrainError> {
    let mut total = 0;
    let mut legs: Vec<Vec<DVec3>> = Vec::with_capacity(transects.len());
    for (n, t) in transects.iter().enumerate() {
        let error = |field: &str, read: String, allowed: &str| {
            TerrainError::new(format!("transect {}", t.id), field, read, allowed)
        };
        for (field, station, before) in [("from", Some(t.from), n), ("closes_on", t.closes, n + 1)]
        {
            match station {
                Some(Start::Point(p)) if !(p.is_finite() && p.abs().max_element() < 1e5) => {
                    let allowed = "a point within 100 km of the origin";
                    return Err(error(field, format!("{p}"), allowed));
                }
                Some(Start::Station { transect, leg })
                    if transects
                        .iter()
                        .take(before)
                        .nth(transect)
                        .is_none_or(|t| leg > t.legs.len()) =>
                {
                    return Err(error(
                        field,
                        format!("leg {leg} of transect number {transect}"),
                        "a leg of a transect that comes before this one",
                    ));
                }
                _ => {}
            }
        }
        if !(t.azimuth_rad.is_finite() && t.azimuth_rad.abs() <= 2.0 * std::f64::consts::TAU) {
            let read = format!("{}°", t.azimuth_rad.to_degrees());
            return Err(error("azimuth", read, "0° to 360°"));
        }
        if t.legs.is_empty() {
            return Err(error("legs", "none".into(), "at least one"));
        }
        total += t.legs.len();
        if total > MOST_STATIONS {
            let read = format!("over {MOST_STATIONS} legs");
            return Err(error("legs", read, "at most that many; give a grid instead"));
        }
        let along = bearing(t.azimuth_rad);
        let mut line = Vec::with_capacity(t.legs.len());
        for (k, leg) in t.legs.iter().enumerate() {
            let (l, i) = (leg.slope_distance_m, leg.inclination_rad);
            if !(l > 0.0 && l <= LONGEST_LEG_M) {
                return Err(error(
                    &format!("leg {}, distance", k + 1),
                    format!("{l} m"),
                    "over 0 and up to 200 m",
                ));
            }
            if !(0.0..=STEEPEST_LEG_RAD).contains(&i.abs()) {
                return Err(error(
                    &format!("leg {}, inclination", k + 1),
                    format!("{:.1}°", i.to_degrees()),
                    "−85° to 85°; give a steeper step as a cut face",
                ));
            }
            line.push((along * (l * libm::cos(i))).extend(l * libm::sin(i)));
        }
        legs.push(line);
    }
    let mut survey = Legs { transects, stump_m, legs };
    let closings = survey.close();
    Ok((survey.stations(), closings))
}

/// The terrain of a survey. `breaklines` are edges of known height (crest, toe, road edge) that the
/// surface must follow, each a polyline of points (m); they need stations to either side.
///
/// # Errors
/// An impossible leg, fewer than three stations in all, or a grid beyond [`MOST_NODES`].
pub fn survey(
    transects: &[Transect],
    stump_m: DVec3,
    breaklines: &[Vec<DVec3>],
    spec: &SurveySpec,
) -> Result<Terrain, TerrainError> {
    let error = |field: &str, read: String, allowed: &str| {
        TerrainError::new("survey", field, read, allowed)
    };
    if !(spec.cell_m >= 0.05 && spec.cell_m <= 10.0) {
        return Err(error("cell", format!("{} m", spec.cell_m), "0.05 to 10 m"));
    }
    if !(spec.margin_m >= 0.0 && spec.margin_m <= 500.0) {
        return Err(error("margin", format!("{} m", spec.margin_m), "0 to 500 m"));
    }
    let (mut lines, closings) = walk(transects, stump_m)?;
    for line in breaklines {
        if line.len() < 2 || line.iter().any(|p| !(p.is_finite() && p.abs().max_element() < 1e5)) {
            return Err(error(
                "breakline",
                format!("{} points", line.len()),
                "two or more points, each within 100 km of the origin",
            ));
        }
    }
    let surveyed = lines.len();
    lines.extend(breaklines.iter().cloned());
    if lines.iter().map(Vec::len).sum::<usize>() > 2 * MOST_STATIONS {
        return Err(error("breaklines", "too many points".into(), "10,000 points with the legs"));
    }
    let mut warnings: Vec<String> = closings.iter().map(|c| c.said(spec.units)).collect();
    let (points, edges) = merge(&lines, surveyed, transects, spec.units, &mut warnings);
    if points.len() < 3 {
        return Err(error(
            "transects",
            format!("{} stations", points.len()),
            "at least three stations: two legs, or one leg each of two transects",
        ));
    }
    let (low, high) = points.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
        (l.min(p.truncate()), h.max(p.truncate()))
    });
    let origin = low - DVec2::splat(spec.margin_m);
    let nodes = ((high - low + 2.0 * spec.margin_m) / spec.cell_m).ceil() + 1.0;
    if !(0.0..=MOST_NODES as f64).contains(&(nodes.x * nodes.y)) {
        return Err(error(
            "size",
            format!("{} by {} nodes", nodes.x, nodes.y),
            "16,777,216 nodes; take a larger cell or a smaller margin",
        ));
    }
    let (nx, ny) = ((nodes.x as usize).max(2), (nodes.y as usize).max(2));
    let grid = match straight(&points) {
        Some(along) => {
            warnings.push(format!(
                "all stations lie on one line: the bank is taken as the same for {} to either side \
                 of it; a transect off that line would say more",
                said(spec.margin_m, 0, spec.units)
            ));
            let profile = Profile::new(&points, along);
            fill(origin, spec.cell_m, nx, ny, |p| profile.height(p))
        }
        None => {
            let tin = Tin::new(&points, &edges, origin, origin + (nodes - 1.0) * spec.cell_m)
                .map_err(|read| {
                    error("stations", read, "points that a triangulation can be made of")
                })?;
            if tin.crossings > 0 {
                warnings.push(format!(
                    "{} legs or breaklines cross others in plan; where they do the earlier one \
                     rules",
                    tin.crossings
                ));
            }
            let mut scratch = Weights::default();
            fill(origin, spec.cell_m, nx, ny, |p| tin.height(p, &mut scratch))
        }
    };
    let (grid, outside) = grid;
    if outside > 0 {
        warnings.push(format!(
            "{:.0} % of the terrain, up to {} out, lies beyond the surveyed stations: the bank \
             is carried on there at the slope of the stations nearest by",
            100.0 * outside as f64 / (nx * ny) as f64,
            said(spec.margin_m, 0, spec.units)
        ));
    }
    let mut terrain = Terrain::from(grid);
    terrain.warnings = warnings;
    Ok(terrain)
}

/// Samples the surface (height, and whether beyond the stations) at the nodes; returns the grid and
/// how many nodes lie beyond.
fn fill(
    origin_m: DVec2,
    cell_m: f64,
    nx: usize,
    ny: usize,
    mut height: impl FnMut(DVec2) -> (f64, bool),
) -> (Grid, usize) {
    let mut outside = 0;
    let mut heights_m = Vec::with_capacity(nx * ny);
    for j in 0..ny {
        for i in 0..nx {
            let at = origin_m + DVec2::new(i as f64, j as f64) * cell_m;
            let (h, beyond) = height(at);
            heights_m.push(h as f32);
            outside += usize::from(beyond);
        }
    }
    (Grid { origin_m, cell_m, nx, ny, heights_m }, outside)
}

/// The mean slope of all stations, and what near ones say against it.
struct Trend {
    /// Middle of the stations, m.
    mean: DVec3,
    /// Gradient of the plane fitted to all of them; none across a survey along one line.
    gradient: DVec2,
}

impl Trend {
    fn new(points: &[DVec3]) -> Self {
        let n = points.len().max(1) as f64;
        let mean = points.iter().sum::<DVec3>() / n;
        let (mut xx, mut xy, mut yy, mut z) = (0.0, 0.0, 0.0, DVec2::ZERO);
        for p in points {
            let d = *p - mean;
            xx += d.x * d.x / n;
            xy += d.x * d.y / n;
            yy += d.y * d.y / n;
            z += d.truncate() * (d.z / n);
        }
        // Principal spreads, m², and the direction of the larger.
        let (half, off) = (0.5 * (xx + yy), DVec2::new(0.5 * (xx - yy), xy));
        let (major, minor) = (half + off.length(), half - off.length());
        let gradient = if minor > ACROSS_M * ACROSS_M {
            DVec2::new(yy * z.x - xy * z.y, xx * z.y - xy * z.x) / (xx * yy - xy * xy)
        } else {
            // The longer of the two columns of C − minor·1 points along the major axis.
            let (a, b) = (DVec2::new(xx - minor, xy), DVec2::new(xy, yy - minor));
            let along = if a.length_squared() > b.length_squared() { a } else { b };
            let along = along.normalize_or_zero();
            along * (along.dot(z) / major.max(f64::MIN_POSITIVE))
        };
        Self { mean, gradient }
    }

    /// Slope about a place: the mean one, and a plane fitted to what the stations differ from it by
    /// with weights 1/(d² + R²)², d the distance, so that near stations decide.
    fn slope_near(&self, points: &[DVec3], at: DVec2) -> DVec2 {
        let off = |p: &DVec3| {
            let way = p.truncate() - self.mean.truncate();
            p.truncate().extend(p.z - self.mean.z - self.gradient.dot(way))
        };
        let weight = |p: &DVec3| {
            let d = p.truncate().distance_squared(at) + FIT_RADIUS_M * FIT_RADIUS_M;
            1.0 / (d * d)
        };
        let (mut sum, mut mean) = (0.0, DVec3::ZERO);
        for p in points {
            sum += weight(p);
            mean += weight(p) * off(p);
        }
        mean /= sum;
        let (mut xx, mut xy, mut yy, mut z) = (0.0, 0.0, 0.0, DVec2::ZERO);
        for p in points {
            let (w, d) = (weight(p) / sum, off(p) - mean);
            xx += w * d.x * d.x;
            xy += w * d.x * d.y;
            yy += w * d.y * d.y;
            z += d.truncate() * (w * d.z);
        }
        let (a, c) = (xx + BELIEVED_M * BELIEVED_M, yy + BELIEVED_M * BELIEVED_M);
        self.gradient + DVec2::new(c * z.x - xy * z.y, a * z.y - xy * z.x) / (a * c - xy * xy)
    }
}

/// Makes stations that coincide in plan one (mean height) and says where their heights differ.
fn merge(
    lines: &[Vec<DVec3>],
    surveyed: usize,
    transects: &[Transect],
    units: Units,
    warnings: &mut Vec<String>,
) -> (Vec<DVec3>, Vec<[usize; 2]>) {
    let mut points: Vec<DVec3> = Vec::new();
    let mut counts: Vec<f64> = Vec::new();
    let mut edges = Vec::new();
    for (l, line) in lines.iter().enumerate() {
        let mut before = None;
        for p in line {
            let same = points.iter().position(|q| q.truncate().distance(p.truncate()) < SAME_M);
            let k = match same {
                Some(k) => {
                    if let (Some(q), Some(n)) = (points.get_mut(k), counts.get_mut(k)) {
                        if (q.z - p.z).abs() > 0.3 {
                            let name = transects.get(l).filter(|_| l < surveyed).map_or_else(
                                || "a breakline".into(),
                                |t| format!("transect {}", t.id),
                            );
                            warnings.push(format!(
                                "{name} comes to x {}, y {} at a height {} off what \
                                 was there before: the mean is taken",
                                said(p.x, 1, units),
                                said(p.y, 1, units),
                                said(p.z - q.z, 2, units)
                            ));
                        }
                        q.z = (q.z * *n + p.z) / (*n + 1.0);
                        *n += 1.0;
                    }
                    k
                }
                None => {
                    points.push(*p);
                    counts.push(1.0);
                    points.len() - 1
                }
            };
            if let Some(from) = before.replace(k)
                && from != k
            {
                edges.push([from, k]);
            }
        }
    }
    (points, edges)
}

/// The direction that all points lie along in plan, if they do, to within 5 cm.
fn straight(points: &[DVec3]) -> Option<DVec2> {
    let first = points.first()?.truncate();
    let far = points
        .iter()
        .map(|p| p.truncate() - first)
        .max_by(|a, b| a.length_squared().total_cmp(&b.length_squared()))?;
    let along = far.try_normalize()?;
    points.iter().all(|p| (p.truncate() - first).perp_dot(along).abs() < SAME_M).then_some(along)
}

/// Stations along one line.
struct Profile {
    first: DVec2,
    along: DVec2,
    /// Way along and height, in order.
    heights: Vec<(f64, f64)>,
    /// Rise per metre along the line past its first and its last station.
    past: [f64; 2],
}

impl Profile {
    fn new(points: &[DVec3], along: DVec2) -> Self {
        let first = points.first().map_or(DVec2::ZERO, |p| p.truncate());
        let mut heights: Vec<(f64, f64)> =
            points.iter().map(|p| ((p.truncate() - first).dot(along), p.z)).collect();
        heights.sort_by(|a, b| a.0.total_cmp(&b.0));
        let trend = Trend::new(points);
        let past = [heights.first(), heights.last()].map(|end| {
            let at = first + along * end.map_or(0.0, |e| e.0);
            trend.slope_near(points, at).dot(along)
        });
        Self { first, along, heights, past }
    }

    /// Height at a place; all of it is beyond the stations but the line itself.
    fn height(&self, at: DVec2) -> (f64, bool) {
        let s = (at - self.first).dot(self.along);
        let k = self.heights.partition_point(|(q, _)| *q < s);
        let h = match (k.checked_sub(1).and_then(|k| self.heights.get(k)), self.heights.get(k)) {
            (Some((s0, h0)), Some((s1, h1))) => h0 + (h1 - h0) * (s - s0) / (s1 - s0),
            (None, Some((end, h))) => h + self.past[0] * (s - end),
            (Some((end, h)), None) => h + self.past[1] * (s - end),
            (None, None) => 0.0,
        };
        (h, true)
    }
}

#[cfg(test)]
mod tests;
