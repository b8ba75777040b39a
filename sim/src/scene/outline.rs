//! Closed outlines on the map: area, crossing sides, what lies inside, hulls.

use glam::DVec2;

/// Area inside a closed outline, m²; positive if its corners run counter-clockwise.
#[must_use]
pub fn area_m2(points: &[DVec2]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| 0.5 * a.perp_dot(*b)).sum()
}

/// The first two sides of a closed outline that cross or touch without being neighbours.
#[must_use]
pub fn crossing(points: &[DVec2]) -> Option<(usize, usize)> {
    let n = points.len();
    let side = |i: usize| Some((*points.get(i)?, *points.get((i + 1) % n)?));
    for i in 0..n {
        for j in i + 1..n {
            let neighbours = j == i + 1 || (i == 0 && j == n - 1);
            let (a, b) = side(i)?;
            let (c, d) = side(j)?;
            if !neighbours && meet(a, b, c, d) {
                return Some((i, j));
            }
        }
    }
    None
}

/// True when two segments share a point.
fn meet(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let turn = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let within = |p: DVec2, q: DVec2, r: DVec2| p.min(q).cmple(r).all() && p.max(q).cmpge(r).all();
    let (t1, t2, t3, t4) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    (t1 * t2 < 0.0 && t3 * t4 < 0.0)
        || (t1 == 0.0 && within(a, b, c))
        || (t2 == 0.0 && within(a, b, d))
        || (t3 == 0.0 && within(c, d, a))
        || (t4 == 0.0 && within(c, d, b))
}

/// True when a point is inside a closed outline.
#[must_use]
pub fn contains(points: &[DVec2], at: DVec2) -> bool {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).fold(false, |inside, (a, b)| {
        let crosses =
            (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y);
        inside != crosses
    })
}

/// Convex hull, counter-clockwise (monotone chain, Andrew 1979).
#[must_use]
pub fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.retain(|p| p.is_finite());
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if (b - a).perp_dot(p - a) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut lower = half(&mut points.iter().copied());
    lower.extend(half(&mut points.iter().rev().copied()));
    lower
}

/// Distance from a point to a convex outline, counter-clockwise; 0 inside, infinite to nothing.
#[must_use]
pub fn distance(point: DVec2, outline: &[DVec2]) -> f64 {
    let edges = || outline.iter().copied().zip(outline.iter().copied().cycle().skip(1));
    if outline.len() > 2 && edges().all(|(a, b)| (b - a).perp_dot(point - a) >= 0.0) {
        return 0.0;
    }
    edges()
        .map(|(a, b)| {
            let along = b - a;
            let share = (point - a).dot(along) / along.length_squared().max(1e-18);
            point.distance(a + along * share.clamp(0.0, 1.0))
        })
        .fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[[f64; 2]]) -> Vec<DVec2> {
        list.iter().map(|p| DVec2::from(*p)).collect()
    }

    #[test]
    fn verif_a_rectangle_and_a_bow_tie() {
        let rectangle = points(&[[0.0, 0.0], [3.0, 0.0], [3.0, 2.0], [0.0, 2.0]]);
        assert_eq!(area_m2(&rectangle), 6.0);
        assert_eq!(crossing(&rectangle), None);
        assert!(contains(&rectangle, DVec2::new(1.0, 1.0)));
        assert!(!contains(&rectangle, DVec2::new(4.0, 1.0)));
        let bow_tie = points(&[[0.0, 0.0], [3.0, 2.0], [3.0, 0.0], [0.0, 2.0]]);
        assert_eq!(crossing(&bow_tie), Some((0, 2)));
        assert!(crossing(&points(&[[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 0.0]])).is_some());
    }

    #[test]
    fn verif_hull_of_a_grid_is_its_corners() {
        let grid = (0..25).map(|k| DVec2::new(f64::from(k % 5), f64::from(k / 5))).collect();
        assert_eq!(hull(grid).len(), 4);
    }

    #[test]
    fn verif_distance_to_a_square() {
        let square = hull(vec![DVec2::ZERO, DVec2::X * 2.0, DVec2::splat(2.0), DVec2::Y * 2.0]);
        for (x, y, off) in [(1.0, 1.0, 0.0), (3.0, 1.0, 1.0), (5.0, 6.0, 5.0), (-1.0, 2.0, 1.0)] {
            assert!((distance(DVec2::new(x, y), &square) - off).abs() < 1e-12, "{x} {y}");
        }
        assert_eq!(distance(DVec2::ZERO, &[]), f64::INFINITY);
    }
}
