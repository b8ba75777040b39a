//! What lies on the ground: lines, bands, discs and outlines that follow the terrain.
//!
//! A part that is off the known ground is left out.

use bevy::math::{Vec2, Vec3, vec2};
use glam::DVec2;
use tumblewood::terrain::Terrain;

use crate::shape::{Colour, Drawn};

/// Most nodes along one line: a stretched step rather than a machine that stands still.
const MOST_STEPS: f32 = 4_000.0;
/// Parts of an area next to a cut face are this wide, m.
const FINE_M: f32 = 0.1;
/// Most strips and most parts of a strip of a draped area.
const MOST_STRIPS: f32 = 400.0;

/// A place on the map in single precision.
#[must_use]
pub(crate) fn flat(map: DVec2) -> Vec2 {
    vec2(map.x as f32, map.y as f32)
}

/// The place on the ground under one on the map, raised by `lift_m`.
#[must_use]
pub(crate) fn on_ground(terrain: &Terrain, at_m: Vec2, lift_m: f32) -> Option<Vec3> {
    let surface = terrain.surface(at_m.x.into(), at_m.y.into())?;
    let point = at_m.extend(surface.height_m as f32 + lift_m);
    point.is_finite().then_some(point)
}

/// The ground's unit normal there.
#[must_use]
pub(crate) fn normal(terrain: &Terrain, at_m: Vec2) -> Vec3 {
    let gradient =
        terrain.surface(at_m.x.into(), at_m.y.into()).map_or(Vec2::ZERO, |s| flat(s.gradient));
    Vec3::new(-gradient.x, -gradient.y, 1.0).normalize_or(Vec3::Z)
}

/// The ground's unit normal as its triangles are lit: over a cell to either side.
fn smooth_normal(terrain: &Terrain, at_m: Vec2) -> Vec3 {
    let cell_m = terrain.grid.cell_m as f32;
    let rise = |off: Vec2| {
        let height = |at: Vec2| on_ground(terrain, at, 0.0).map(|point| point.z);
        Some((height(at_m + off)? - height(at_m - off)?) / (2.0 * cell_m))
    };
    match (rise(Vec2::X * cell_m), rise(Vec2::Y * cell_m)) {
        (Some(x), Some(y)) => Vec3::new(-x, -y, 1.0).normalize_or(Vec3::Z),
        _ => normal(terrain, at_m),
    }
}

/// Points along a line on the map, no further apart than `step_m`.
#[must_use]
pub(crate) fn stepped(line_m: &[Vec2], step_m: f32) -> Vec<Vec2> {
    let length_m: f32 = line_m.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let step_m = step_m.max(length_m / MOST_STEPS).max(1e-3);
    let mut points = Vec::new();
    for pair in line_m.windows(2) {
        let parts = (pair[0].distance(pair[1]) / step_m).ceil().max(1.0) as usize;
        points.extend((0..parts).map(|i| pair[0].lerp(pair[1], i as f32 / parts as f32)));
    }
    points.extend(line_m.last());
    points
}

/// A thin line over the ground.
pub(crate) fn line(
    drawn: &mut Drawn,
    terrain: &Terrain,
    line_m: &[Vec2],
    lift_m: f32,
    step_m: f32,
    colour: Colour,
) {
    let points: Vec<Option<Vec3>> =
        stepped(line_m, step_m).iter().map(|&at| on_ground(terrain, at, lift_m)).collect();
    for part in points.split(Option::is_none) {
        let part: Vec<Vec3> = part.iter().flatten().copied().collect();
        drawn.polyline(&part, colour);
    }
}

/// A band of `width_m` over the ground; where it turns, it is mitred, and where it would stand on
/// edge, at a cut face, it is left out.
pub(crate) fn band(
    drawn: &mut Drawn,
    terrain: &Terrain,
    line_m: &[Vec2],
    (width_m, lift_m, step_m): (f32, f32, f32),
    colour: Colour,
) {
    let points = stepped(line_m, step_m);
    let mut before: Option<[Vec3; 2]> = None;
    for (k, &at) in points.iter().enumerate() {
        let toward = |a: Option<&Vec2>, b: Option<&Vec2>| {
            a.zip(b).map_or(Vec2::ZERO, |(a, b)| (*b - *a).normalize_or_zero())
        };
        let back = toward(k.checked_sub(1).and_then(|j| points.get(j)), Some(&at));
        let ahead = toward(Some(&at), points.get(k + 1));
        let way = (back + ahead).normalize_or(ahead);
        // Wider across a bend, at most twice.
        let wider = 1.0 / way.dot(if ahead == Vec2::ZERO { back } else { ahead }).max(0.5);
        let left = way.perp() * (0.5 * width_m * wider);
        let here = on_ground(terrain, at + left, lift_m).zip(on_ground(terrain, at - left, lift_m));
        let Some((left, right)) = here else {
            before = None;
            continue;
        };
        if let Some([last_left, last_right]) = before
            && [(left, right), (last_left, left), (last_right, right)]
                .iter()
                .all(|(a, b)| lies(*a, *b))
        {
            drawn.sign(&[last_right, right, left, last_left], colour);
        }
        before = Some([left, right]);
    }
}

/// True if one place is not much higher than another beside it.
fn lies(a: Vec3, b: Vec3) -> bool {
    (a.z - b.z).abs() < 2.0 * a.truncate().distance(b.truncate()) + 0.05
}

/// The inside of a closed outline, lit as the ground is: cut along the terrain's own cells, as its
/// triangles are (finer next to a cut face), so that it lies on them whatever they do.
pub(crate) fn area(
    drawn: &mut Drawn,
    terrain: &Terrain,
    outline_m: &[Vec2],
    lift_m: f32,
    colour: Colour,
) {
    let (low, high) = extent(outline_m);
    let size = high - low;
    if !(size.is_finite() && size.min_element() > 0.0) {
        return;
    }
    let origin = flat(terrain.grid.origin_m);
    // A very large area takes several cells at a time.
    let cell_m = terrain.grid.cell_m as f32;
    let cell_m = cell_m * (size.max_element() / cell_m / MOST_STRIPS).ceil().max(1.0);
    // Cut at every corner too, so that each strip is made of trapezoids.
    let mut rows = lines_across(low.y, high.y, origin.y, cell_m);
    rows.extend(outline_m.iter().map(|p| p.y));
    rows.sort_by(f32::total_cmp);
    rows.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    for strip in rows.windows(2) {
        let [from, to] = [strip[0], strip[1]];
        for pair in crossings(outline_m, 0.5 * (from + to)).chunks_exact(2) {
            let [left, right] = [pair[0], pair[1]];
            let corners = [(left, from), (right, from), (right, to), (left, to)]
                .map(|(e, y)| vec2(e.at(y), y));
            let (low, high) = extent(&corners);
            for part in slices(&corners, 0, &lines_across(low.x, high.x, origin.x, cell_m)) {
                add_part(drawn, terrain, &part, cell_m, lift_m, colour);
            }
        }
    }
}

/// Adds a convex part of an area within one cell.
fn add_part(
    drawn: &mut Drawn,
    terrain: &Terrain,
    part: &[Vec2],
    cell_m: f32,
    lift_m: f32,
    colour: Colour,
) {
    let (low, high) = extent(part);
    let middle = 0.5 * (low + high);
    let fine = terrain.faces.near_face(middle.x.into(), middle.y.into(), (0.5 * cell_m).into());
    let parts = if fine {
        let (across, up) =
            (lines_across(low.x, high.x, 0.0, FINE_M), lines_across(low.y, high.y, 0.0, FINE_M));
        slices(part, 0, &across).iter().flat_map(|slice| slices(slice, 1, &up)).collect()
    } else {
        vec![part.to_vec()]
    };
    for part in parts {
        let corners: Option<Vec<(Vec3, Vec3)>> = part
            .iter()
            .map(|&at| Some((on_ground(terrain, at, lift_m)?, smooth_normal(terrain, at))))
            .collect();
        if let Some(corners) = corners.filter(|corners| corners.len() > 2) {
            drawn.on_ground(&corners, colour);
        }
    }
}

/// Where lines `every` apart, one of them through `through`, lie between two ends; and the ends.
fn lines_across(low: f32, high: f32, through: f32, every: f32) -> Vec<f32> {
    let (first, last) = (((low - through) / every).ceil(), ((high - through) / every).floor());
    let inner = (first as i32..=last as i32).map(|k| through + every * k as f32);
    let mut all: Vec<f32> =
        [low].into_iter().chain(inner.filter(|at| *at > low && *at < high)).chain([high]).collect();
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    all
}

/// A convex outline cut at lines across an axis, in order; corners keep their turn.
fn slices(outline_m: &[Vec2], axis: usize, at: &[f32]) -> Vec<Vec<Vec2>> {
    // Sutherland and Hodgman (1974), "Reentrant polygon clipping".
    let keep = |outline: &[Vec2], side: f32, at: f32| -> Vec<Vec2> {
        let over = |p: &Vec2| side * (p[axis] - at);
        let mut kept = Vec::with_capacity(outline.len() + 2);
        for (a, b) in outline.iter().zip(outline.iter().cycle().skip(1)) {
            let (from, to) = (over(a), over(b));
            if from >= 0.0 {
                kept.push(*a);
            }
            if (from > 0.0 && to < 0.0) || (from < 0.0 && to > 0.0) {
                kept.push(a.lerp(*b, from / (from - to)));
            }
        }
        kept
    };
    at.windows(2).map(|pair| keep(&keep(outline_m, 1.0, pair[0]), -1.0, pair[1])).collect()
}

/// Parallel lines inside a closed outline: their angle from x, rad, and their spacing, m.
#[must_use]
pub(crate) fn hatch(outline_m: &[Vec2], angle_rad: f32, spacing_m: f32) -> Vec<[Vec2; 2]> {
    let turn = Vec2::from_angle(angle_rad);
    let turned: Vec<Vec2> =
        outline_m.iter().map(|&p| Vec2::from_angle(-angle_rad).rotate(p)).collect();
    let (low, high) = extent(&turned);
    let spacing_m = spacing_m.max((high.y - low.y) / MOST_STRIPS);
    if !(high.y > low.y && spacing_m.is_finite()) {
        return Vec::new();
    }
    let first = (low.y / spacing_m).floor() as i32 + 1;
    let last = (high.y / spacing_m).ceil() as i32 - 1;
    let mut lines = Vec::new();
    for k in first..=last {
        let y = k as f32 * spacing_m;
        for pair in crossings(&turned, y).chunks_exact(2) {
            lines.push([pair[0].at(y), pair[1].at(y)].map(|x| turn.rotate(vec2(x, y))));
        }
    }
    lines
}

/// True inside a closed outline.
#[must_use]
pub(crate) fn inside(outline_m: &[Vec2], at_m: Vec2) -> bool {
    crossings(outline_m, at_m.y).iter().filter(|edge| edge.at(at_m.y) < at_m.x).count() % 2 == 1
}

/// Lowest and highest corner of the box round points on the map.
#[must_use]
pub(crate) fn extent(points_m: &[Vec2]) -> (Vec2, Vec2) {
    let start = (Vec2::INFINITY, Vec2::NEG_INFINITY);
    points_m.iter().fold(start, |(low, high), p| (low.min(*p), high.max(*p)))
}

#[derive(Clone, Copy, Debug)]
struct Edge(Vec2, Vec2);

impl Edge {
    fn at(self, y: f32) -> f32 {
        let Self(a, b) = self;
        a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y))
    }
}

/// The edges of an outline that a level line meets, from left to right. Half open, so that a
/// corner on the line counts once.
fn crossings(outline_m: &[Vec2], y: f32) -> Vec<Edge> {
    let mut edges: Vec<Edge> = outline_m
        .iter()
        .zip(outline_m.iter().cycle().skip(1))
        .filter(|(a, b)| (a.y <= y) != (b.y <= y))
        .map(|(a, b)| Edge(*a, *b))
        .collect();
    edges.sort_by(|a, b| a.at(y).total_cmp(&b.at(y)));
    edges
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHITE: Colour = [1.0; 4];

    fn bank() -> Terrain {
        Terrain::from_heights(DVec2::splat(-20.0), 1.0, 41, 41, |x, y| 0.2 * x - 0.6 * y)
    }

    /// An L of area 48.
    fn l_shape() -> Vec<Vec2> {
        [(0.0, 0.0), (8.0, 0.0), (8.0, 4.0), (4.0, 4.0), (4.0, 8.0), (0.0, 8.0)]
            .map(|(x, y)| vec2(x, y))
            .to_vec()
    }

    fn check_on_bank(drawn: &Drawn, lift_m: f32) {
        assert!(drawn.is_sound() && !drawn.points_m.is_empty());
        for p in &drawn.points_m {
            assert!((p.z - (0.2 * p.x - 0.6 * p.y) - lift_m).abs() < 1e-3, "{p}");
        }
        for triangle in &drawn.triangles {
            let [a, b, c] = triangle.map(|k| drawn.points_m[k as usize]);
            assert!((b - a).cross(c - a).z >= -1e-5, "it looks down");
        }
    }

    fn area_m2(drawn: &Drawn) -> f32 {
        let plan = |k: u32| drawn.points_m[k as usize].truncate();
        let of = |t: &[u32; 3]| (plan(t[1]) - plan(t[0])).perp_dot(plan(t[2]) - plan(t[0])) / 2.0;
        drawn.triangles.iter().map(of).sum()
    }

    #[test]
    fn verif_an_area_covers_its_outline_either_way_round_and_no_more() {
        let mut outline = l_shape();
        for _ in 0..2 {
            let mut drawn = Drawn::default();
            area(&mut drawn, &bank(), &outline, 0.1, WHITE);
            check_on_bank(&drawn, 0.1);
            assert!((area_m2(&drawn) - 48.0).abs() < 1e-3, "{}", area_m2(&drawn));
            outline.reverse();
        }
        for (at, within) in [((1.0, 7.0), true), ((6.0, 6.0), false), ((7.0, 1.0), true)] {
            assert_eq!(inside(&l_shape(), at.into()), within);
        }
    }

    #[test]
    fn verif_hatches_fill_an_outline_evenly() {
        for angle in [0.0_f32, 0.7, 2.0] {
            let lines = hatch(&l_shape(), angle, 0.05);
            let length: f32 = lines.iter().map(|[a, b]| a.distance(*b)).sum();
            assert!((length * 0.05 / 48.0 - 1.0).abs() < 0.02, "{}", length * 0.05);
            for [a, b] in lines {
                assert!(inside(&l_shape(), a.lerp(b, 0.5)));
            }
        }
    }

    #[test]
    fn verif_bands_and_areas_lie_on_the_ground() {
        let mut drawn = Drawn::default();
        let way = [vec2(-8.0, 0.0), vec2(0.0, 0.0), vec2(0.0, 8.0)];
        band(&mut drawn, &bank(), &way, (1.0, 0.05, 0.5), WHITE);
        check_on_bank(&drawn, 0.05);
        assert!((area_m2(&drawn) - 16.0).abs() < 0.3, "{}", area_m2(&drawn));
        let mut round = Drawn::default();
        let ring: Vec<Vec2> = (0..24)
            .map(|k| {
                vec2(3.0, 3.0) + 2.0 * Vec2::from_angle(std::f32::consts::TAU * k as f32 / 24.0)
            })
            .collect();
        area(&mut round, &bank(), &ring, 0.2, WHITE);
        check_on_bank(&round, 0.2);
        let want = 12.0 * (std::f32::consts::TAU / 24.0).sin() * 4.0;
        assert!((area_m2(&round) - want).abs() < 1e-3);
    }

    #[test]
    fn prop_a_line_off_the_ground_is_drawn_as_far_as_there_is_ground() {
        let mut drawn = Drawn::default();
        line(&mut drawn, &bank(), &[vec2(15.0, 0.0), vec2(30.0, 0.0)], 0.1, 0.5, WHITE);
        check_on_bank(&drawn, 0.1);
        let (_, high) = drawn.extent_m().unwrap();
        assert!((19.0..=20.001).contains(&high.x), "{high}");
        assert_eq!(drawn.lines.len() + 1, drawn.points_m.len());
    }
}
