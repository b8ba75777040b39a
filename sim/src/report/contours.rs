//! Lines of equal height by marching squares; a line that leaves the field stays open.
//!
//! A cell's corners are in (at or above the level) or out; the line crosses each edge between
//! the two, at the place linear interpolation gives. Where opposite corners agree the mean of
//! the four decides which way the two lines pass. Crossings are named by their edge, a whole
//! number, so that neighbouring cells join exactly. Cells with a hole (NaN) carry no line.

use std::collections::BTreeMap;

use glam::DVec2;

/// Values at the nodes of a square lattice; node (0, 0) is the south-west corner.
#[derive(Clone, Debug)]
pub struct Field {
    /// World x, y of node (0, 0), m.
    pub origin_m: DVec2,
    /// Distance between nodes, m.
    pub step_m: f64,
    /// Nodes in x.
    pub nx: usize,
    /// Nodes in y.
    pub ny: usize,
    /// Values, row by row from the south, x fastest; NaN is a hole.
    pub values: Vec<f64>,
}

/// An edge of the lattice: twice its node's index, plus one if it goes up rather than right.
type Edge = usize;

/// The lines on which `field` equals `level`, as joined polylines in world x, y, m. A closed line
/// ends on its first point; an open one begins and ends where the field does.
#[must_use]
pub fn contours(field: &Field, level: f64) -> Vec<Vec<DVec2>> {
    let mut neighbours: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    let mut join = |a: Edge, b: Edge| {
        neighbours.entry(a).or_default().push(b);
        neighbours.entry(b).or_default().push(a);
    };
    for j in 0..field.ny.saturating_sub(1) {
        for i in 0..field.nx.saturating_sub(1) {
            let k = j * field.nx + i;
            // South-west, south-east, north-east, north-west.
            let nodes = [k, k + 1, k + 1 + field.nx, k + field.nx];
            let corner = nodes.map(|k| value(field, k));
            if corner.iter().any(|v| !v.is_finite()) {
                continue;
            }
            let (south, east, north, west) =
                (2 * k, 2 * (k + 1) + 1, 2 * (k + field.nx), 2 * k + 1);
            let inside = corner.map(|v| v >= level);
            let crossed: Vec<Edge> = [south, east, north, west]
                .into_iter()
                .enumerate()
                .filter(|&(e, _)| inside[e] != inside[(e + 1) % 4])
                .map(|(_, edge)| edge)
                .collect();
            match crossed[..] {
                [a, b] => join(a, b),
                [s, e, n, w] => {
                    let middle_inside = corner.iter().sum::<f64>() / 4.0 >= level;
                    if middle_inside == inside[0] {
                        join(s, e);
                        join(n, w);
                    } else {
                        join(s, w);
                        join(n, e);
                    }
                }
                _ => {}
            }
        }
    }
    let ends: Vec<Edge> =
        neighbours.iter().filter(|(_, n)| n.len() == 1).map(|(&edge, _)| edge).collect();
    let all: Vec<Edge> = neighbours.keys().copied().collect();
    let mut lines = Vec::new();
    for start in ends.into_iter().chain(all) {
        let mut line = vec![];
        let mut at = start;
        while let Some(next) = neighbours.get_mut(&at).and_then(Vec::pop) {
            if line.is_empty() {
                line.push(crossing(field, at, level));
            }
            line.push(crossing(field, next, level));
            if let Some(back) = neighbours.get_mut(&next)
                && let Some(place) = back.iter().position(|&edge| edge == at)
            {
                back.swap_remove(place);
            }
            at = next;
        }
        if line.len() > 1 {
            lines.push(line);
        }
    }
    lines
}

fn value(field: &Field, node: usize) -> f64 {
    field.values.get(node).copied().unwrap_or(f64::NAN)
}

fn crossing(field: &Field, edge: Edge, level: f64) -> DVec2 {
    let node = edge / 2;
    let (along, other) =
        if edge.is_multiple_of(2) { (DVec2::X, node + 1) } else { (DVec2::Y, node + field.nx) };
    let (from, to) = (value(field, node), value(field, other));
    let share = ((level - from) / (to - from)).clamp(0.0, 1.0);
    let corner = DVec2::new((node % field.nx) as f64, (node / field.nx) as f64);
    field.origin_m + (corner + along * share) * field.step_m
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(n: usize, step_m: f64, height: impl Fn(DVec2) -> f64) -> Field {
        let origin_m = DVec2::splat(-((n - 1) as f64) * step_m / 2.0);
        let values = (0..n * n)
            .map(|k| height(origin_m + DVec2::new((k % n) as f64, (k / n) as f64) * step_m))
            .collect();
        Field { origin_m, step_m, nx: n, ny: n, values }
    }

    #[test]
    fn verif_a_plane_gives_one_straight_open_line() {
        let plane = field(21, 1.0, |p| 0.5 * p.x + 0.25 * p.y);
        let lines = contours(&plane, 1.1);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert_ne!(line.first(), line.last());
        assert!(line.iter().all(|p| (0.5 * p.x + 0.25 * p.y - 1.1).abs() < 1e-12));
        // It runs from border to border: its ends lie on the edge of the field.
        for end in [line[0], line[line.len() - 1]] {
            assert!((end.abs().max_element() - 10.0).abs() < 1e-12, "{end}");
        }
        let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
        assert!((length - line[0].distance(line[line.len() - 1])).abs() < 1e-9);
    }

    #[test]
    fn verif_a_cone_gives_one_closed_circle() {
        let cone = field(81, 0.25, |p| 10.0 - p.length());
        let lines = contours(&cone, 10.0 - 6.0);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert_eq!(line.first(), line.last());
        // Linear interpolation on a cell of 0.25 m bends a circle of 6 m by cell²/8r.
        assert!(line.iter().all(|p| (p.length() - 6.0).abs() < 0.25 * 0.25 / (8.0 * 6.0) * 1.01));
        let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
        assert!((length - std::f64::consts::TAU * 6.0).abs() < 0.01, "{length}");
    }

    #[test]
    fn prop_a_saddle_and_a_hole_lose_no_line() {
        let saddle = field(4, 1.0, |p| p.x * p.y);
        assert_eq!(contours(&saddle, 0.0).len(), 2);
        let mut holed = field(11, 1.0, |p| p.x);
        holed.values[5 * 11 + 5] = f64::NAN;
        // The hole cuts the line in two.
        assert_eq!(contours(&holed, 0.3).len(), 2);
        assert!(contours(&holed, 100.0).is_empty());
    }
}
