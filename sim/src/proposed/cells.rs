//! A raster of places, groups of cells, their outlines and the least rectangle about points.

use glam::DVec2;

use crate::scene::outline::{area_m2, crossing, hull};

/// Square cells over a rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cells {
    /// South-west corner, m.
    pub(super) low_m: DVec2,
    pub(super) cell_m: f64,
    pub(super) nx: usize,
    pub(super) ny: usize,
}

impl Cells {
    /// Cells that cover a rectangle.
    pub(super) fn over([low_m, high_m]: [DVec2; 2], cell_m: f64) -> Self {
        let count = ((high_m - low_m) / cell_m).ceil().max(DVec2::ONE);
        Self { low_m, cell_m, nx: count.x as usize, ny: count.y as usize }
    }

    pub(super) fn count(&self) -> usize {
        self.nx * self.ny
    }

    /// The cell that holds a place.
    pub(super) fn of(&self, at_m: DVec2) -> Option<usize> {
        let cell = ((at_m - self.low_m) / self.cell_m).floor();
        let inside =
            cell.x >= 0.0 && cell.y >= 0.0 && cell.x < self.nx as f64 && cell.y < self.ny as f64;
        inside.then(|| cell.y as usize * self.nx + cell.x as usize)
    }

    pub(super) fn middle_m(&self, k: usize) -> DVec2 {
        let (i, j) = (k % self.nx, k / self.nx);
        self.low_m + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * self.cell_m
    }

    /// The cells around one, the four beside it first.
    pub(super) fn around(&self, k: usize) -> impl Iterator<Item = usize> + use<> {
        let (nx, ny) = (self.nx as i64, self.ny as i64);
        let (i, j) = ((k % self.nx) as i64, (k / self.nx) as i64);
        [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)]
            .into_iter()
            .map(move |(di, dj)| (i + di, j + dj))
            .filter(move |&(i, j)| i >= 0 && j >= 0 && i < nx && j < ny)
            .map(move |(i, j)| (j * nx + i) as usize)
    }

    /// The cells that share a side with one.
    pub(super) fn beside(&self, k: usize) -> impl Iterator<Item = usize> + use<> {
        let (nx, own) = (self.nx, (k % self.nx, k / self.nx));
        self.around(k).filter(move |n| n % nx == own.0 || n / nx == own.1)
    }

    /// Groups of marked cells that share sides, by their first cell.
    pub(super) fn groups(&self, marked: &[bool]) -> Vec<Vec<usize>> {
        self.linked(marked, |_, _| true)
    }

    /// As [`Cells::groups`], of neighbours that belong together.
    pub(super) fn linked(
        &self,
        marked: &[bool],
        together: impl Fn(usize, usize) -> bool,
    ) -> Vec<Vec<usize>> {
        let mut left = marked.to_vec();
        let mut groups = Vec::new();
        for start in 0..left.len() {
            if !std::mem::take(left.get_mut(start).unwrap_or(&mut false)) {
                continue;
            }
            let (mut group, mut next) = (vec![start], 0);
            while let Some(&k) = group.get(next) {
                next += 1;
                for n in self.beside(k) {
                    if together(k, n) && left.get_mut(n).is_some_and(std::mem::take) {
                        group.push(n);
                    }
                }
            }
            group.sort_unstable();
            groups.push(group);
        }
        groups
    }

    /// The outer outline of a group, counter-clockwise, corners within `off_m` of it left out;
    /// holes in the group are lost.
    pub(super) fn outline(&self, group: &[usize], off_m: f64) -> Vec<DVec2> {
        // A rim of empty cells, so that every edge has an outside.
        let (nx, ny) = (self.nx + 2, self.ny + 2);
        let mut own = vec![false; nx * ny];
        for k in group {
            if let Some(cell) = own.get_mut((k / self.nx + 1) * nx + k % self.nx + 1) {
                *cell = true;
            }
        }
        let is = |own: &[bool], i: usize, j: usize| own.get(j * nx + i) == Some(&true);
        // Where two cells meet at a corner alone, the outline would touch itself: a cell is added.
        loop {
            let mut added = false;
            for j in 1..ny - 2 {
                for i in 1..nx - 2 {
                    let [a, b] = [is(&own, i, j), is(&own, i + 1, j)];
                    let [c, d] = [is(&own, i, j + 1), is(&own, i + 1, j + 1)];
                    if a == d && b == c && a != b {
                        let k = if a { j * nx + i + 1 } else { j * nx + i };
                        if let Some(cell) = own.get_mut(k) {
                            *cell = true;
                            added = true;
                        }
                    }
                }
            }
            if !added {
                break;
            }
        }
        let Some(first) = own.iter().position(|c| *c) else { return Vec::new() };
        // Along the south side of the lowest, westernmost cell, the group to the left.
        let start = (first % nx, first / nx);
        let (mut at, mut way) = (start, 0_usize);
        let mut corners = Vec::new();
        loop {
            corners.push(DVec2::new(at.0 as f64 - 1.0, at.1 as f64 - 1.0));
            at = match way {
                0 => (at.0 + 1, at.1),
                1 => (at.0, at.1 + 1),
                2 => (at.0 - 1, at.1),
                _ => (at.0, at.1 - 1),
            };
            // The cells ahead, to the left and to the right of the way.
            let (left, right) = match way {
                0 => ((at.0, at.1), (at.0, at.1 - 1)),
                1 => ((at.0 - 1, at.1), (at.0, at.1)),
                2 => ((at.0 - 1, at.1 - 1), (at.0 - 1, at.1)),
                _ => ((at.0, at.1 - 1), (at.0 - 1, at.1 - 1)),
            };
            way = if is(&own, right.0, right.1) {
                (way + 3) % 4
            } else if is(&own, left.0, left.1) {
                way
            } else {
                (way + 1) % 4
            };
            if (at == start && way == 0) || corners.len() > 4 * own.len() {
                break;
            }
        }
        let whole: Vec<DVec2> = corners.into_iter().map(|c| self.low_m + c * self.cell_m).collect();
        let fewer = closed(&whole, off_m);
        if fewer.len() >= 3 && crossing(&fewer).is_none() { fewer } else { closed(&whole, 0.0) }
    }
}

/// A line without points that lie within `off_m` of it (Douglas & Peucker 1973).
pub(super) fn simplified(line: &[DVec2], off_m: f64) -> Vec<DVec2> {
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else { return Vec::new() };
    let mut kept = vec![false; line.len()];
    let mut open = vec![(0, line.len() - 1)];
    while let Some((a, b)) = open.pop() {
        let (Some(&from), Some(&to)) = (line.get(a), line.get(b)) else { continue };
        let between = line.iter().enumerate().take(b).skip(a + 1);
        let far = between
            .map(|(k, p)| (k, off_line(*p, from, to)))
            .fold((a, off_m), |most, one| if one.1 > most.1 { one } else { most });
        if far.0 != a
            && let Some(keep) = kept.get_mut(far.0)
        {
            *keep = true;
            open.extend([(a, far.0), (far.0, b)]);
        }
    }
    let middle = line.iter().zip(kept).filter_map(|(p, keep)| keep.then_some(*p));
    std::iter::once(first).chain(middle).chain((line.len() > 1).then_some(last)).collect()
}

/// As [`simplified`], of a closed outline.
fn closed(outline: &[DVec2], off_m: f64) -> Vec<DVec2> {
    let Some(&first) = outline.first() else { return Vec::new() };
    let far = |(k, p): (usize, &DVec2)| (k, p.distance_squared(first));
    let (turn, _) = outline
        .iter()
        .enumerate()
        .map(far)
        .fold((0, 0.0), |most, one| if one.1 > most.1 { one } else { most });
    // Without any distance to spare a corner still goes where the outline runs straight on.
    let off_m = off_m.max(1e-9);
    let (there, back) = outline.split_at(turn);
    let there: Vec<DVec2> = there.iter().chain(back.first()).copied().collect();
    let back: Vec<DVec2> = back.iter().copied().chain([first]).collect();
    let mut points = simplified(&there, off_m);
    points.pop();
    points.extend(simplified(&back, off_m));
    points.pop();
    points
}

/// Distance of a point from a segment.
pub(super) fn off_line(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let share = if along.length_squared() > 0.0 {
        ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * share)
}

/// The rectangle of least area about points, widened by `by_m` on all sides; counter-clockwise.
pub(super) fn rectangle(points: &[DVec2], by_m: f64) -> Option<[DVec2; 4]> {
    let hull = hull(points.to_vec());
    if hull.len() < 3 {
        return None;
    }
    let mut least: Option<(f64, [DVec2; 4])> = None;
    for (a, b) in hull.iter().zip(hull.iter().cycle().skip(1)) {
        let Some(x) = (*b - *a).try_normalize() else { continue };
        let y = x.perp();
        let (low, high) = hull
            .iter()
            .map(|p| DVec2::new(p.dot(x), p.dot(y)))
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high): (DVec2, DVec2), p| {
                (low.min(p), high.max(p))
            });
        let (low, high) = (low - by_m, high + by_m);
        let area = (high - low).x * (high - low).y;
        if least.as_ref().is_none_or(|(best, _)| area < *best) {
            let corner = |u: f64, v: f64| x * u + y * v;
            let corners = [
                corner(low.x, low.y),
                corner(high.x, low.y),
                corner(high.x, high.y),
                corner(low.x, high.y),
            ];
            least = Some((area, corners));
        }
    }
    least.map(|(_, corners)| corners).filter(|c| area_m2(c) > 0.0)
}

/// The value at a share of sorted numbers; 0 of none.
pub(super) fn at_share(sorted: &[f64], share: f64) -> f64 {
    let k = (share * sorted.len().saturating_sub(1) as f64).round() as usize;
    sorted.get(k).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells() -> Cells {
        Cells { low_m: DVec2::new(10.0, 20.0), cell_m: 2.0, nx: 6, ny: 5 }
    }

    #[test]
    fn verif_groups_and_outlines_of_cells() {
        let c = cells();
        // An L of four cells, and two that touch it and each other at corners.
        let own = [7, 8, 13, 19, 20, 27];
        let marked: Vec<bool> = (0..c.count()).map(|k| own.contains(&k)).collect();
        let groups = c.groups(&marked);
        assert_eq!(groups, vec![vec![7, 8, 13, 19, 20], vec![27]]);
        let square = c.outline(&[27], 0.0);
        assert_eq!(square.len(), 4);
        assert!((area_m2(&square) - 4.0).abs() < 1e-12);
        let hook = c.outline(&groups[0], 0.0);
        assert_eq!(hook.len(), 8, "{hook:?}");
        assert!((area_m2(&hook) - 20.0).abs() < 1e-12);
        // Cells that meet at a corner alone are joined by one more: no outline touches itself.
        let ring: Vec<usize> = vec![0, 1, 6, 13, 8, 2];
        let outline = c.outline(&ring, 0.0);
        assert_eq!(crossing(&outline), None);
        assert!(c.outline(&[], 0.0).is_empty());
    }

    #[test]
    fn verif_the_least_rectangle_and_fewer_corners() {
        let turned = DVec2::from_angle(0.4);
        let points: Vec<DVec2> = (0..11)
            .flat_map(|i| (0..6).map(move |j| DVec2::new(f64::from(i), f64::from(j))))
            .map(|p| turned.rotate(p))
            .collect();
        let found = rectangle(&points, 0.5).unwrap();
        assert!((area_m2(&found) - 11.0 * 6.0).abs() < 1e-9);
        assert!(rectangle(&points[..1], 0.5).is_none());
        let line: Vec<DVec2> =
            (0..20).map(|k| DVec2::new(f64::from(k), if k < 10 { 0.0 } else { 3.0 })).collect();
        assert_eq!(simplified(&line, 0.1).len(), 4);
        assert_eq!(simplified(&line[..1], 0.1).len(), 1);
    }
}
