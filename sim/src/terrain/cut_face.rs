//! Cut faces: a bank, wall or ditch side as a line with a step of its own.
//!
//! A grid says a 0.5 m wall as one steep cell, whose slope is a matter of the cell's size. Here the
//! wall is a polyline with a height and a low side. The grid is taken to hold the drop smeared over
//! a band of half-width b to either side of the line; inside the band the grid is set aside:
//!
//! ```text
//! low(P)  = h(A) + (h(A) − h(A'))/b · (b + s) − δ/2·(1 − |s|/b)    A, A' at −b, −2b from the line
//! high(P) = h(C) + (h(C) − h(C'))/b · (b − s) + δ/2·(1 − |s|/b)    C, C' at +b, +2b
//! δ = H − [high − low] at the line
//! ```
//!
//! s: distance behind the line (m, negative in front); H: the face's height (m). So both levels meet
//! the grid at ±b, run on at their own slope to the line, and the step there is H whatever the cell.
//! Past the ends of a line both levels fade into the grid over b.
//!
//! b is 1 m, and 1.5 cells where that is more, so that no node across the line enters h(A) or h(C).
//! The model and b are ours. Left out: battered (leaning) faces; two faces closer than 2b, where the
//! nearer one rules (a warning says so). Known answer:
//! `verif_the_depth_at_a_step_does_not_depend_on_the_cell`.

use glam::DVec2;

use super::{
    grid::{Grid, Surface},
    said,
};
use crate::quantity::Units;

/// Least half-width of the band about a face within which the grid is set aside, m.
pub const HALF_WIDTH_M: f64 = 1.0;

/// A side of a line, looking along it from its first point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

/// One bank, wall or ditch side.
#[derive(Clone, Debug, PartialEq)]
pub struct CutFace {
    /// Stable id, for messages.
    pub id: String,
    /// The line in plan, m.
    pub line_m: Vec<DVec2>,
    /// Height of the step, m.
    pub height_m: f64,
    /// On which side the low ground is.
    pub low_side: Side,
}

/// Ground levels at a place within the band of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Distance behind the face, m; negative in front of it.
    pub behind_m: f64,
    /// Half-width of the band, m.
    pub half_width_m: f64,
    /// Unit vector in plan pointing from the low to the high side.
    pub into: DVec2,
    /// The low ground, carried on behind the face.
    pub low: Surface,
    /// The high ground, carried on in front of the face.
    pub high: Surface,
}

impl Band {
    /// The distance behind the face, left alone to half the band and then running off to ±∞ at its
    /// edge, so that min and max with it pass over into the plain grid without a jump.
    #[inline]
    #[must_use]
    pub fn stretched_m(&self) -> f64 {
        let u = self.behind_m.abs() / self.half_width_m;
        if u <= 0.5 {
            return self.behind_m;
        }
        let past = (u - 0.5) / (1.0 - u).max(1e-12);
        self.behind_m + (past * past * self.half_width_m).copysign(self.behind_m)
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Segment {
    from: DVec2,
    along: DVec2,
    length: f64,
    /// Unit normal towards the high side.
    into: DVec2,
    /// Sum with the neighbour's normal, at either end: tells the side at a corner.
    corner: [DVec2; 2],
    /// The line ends here, at either end.
    open: [bool; 2],
    height: f64,
}

/// All faces of a terrain, ready for lookup.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct CutFaces {
    segments: Vec<Segment>,
    half_width: f64,
    /// Raster over the faces: which segments have their band in a cell (start offsets, items).
    origin: DVec2,
    cell: f64,
    nx: usize,
    ny: usize,
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl CutFaces {
    /// Prepares faces for lookup. Lines of fewer than two distinct points, or with a height that
    /// isn't positive, are left out with a warning, and so is a disagreement with the grid; warnings
    /// are in `units`.
    #[must_use]
    pub fn new(grid: &Grid, faces: &[CutFace], units: Units) -> (Self, Vec<String>) {
        let mut warnings = Vec::new();
        let half_width = HALF_WIDTH_M.max(1.5 * grid.cell_m);
        let mut all = Self { half_width, ..Self::default() };
        let mut owner = Vec::new();
        for (index, face) in faces.iter().enumerate() {
            let made = segments(face);
            if made.is_empty() {
                warnings.push(format!(
                    "cut face {}: left out; it needs two distinct points and a height over 0",
                    face.id
                ));
            }
            owner.extend(made.iter().map(|_| index));
            all.segments.extend(made);
        }
        if all.segments.is_empty() {
            return (Self::default(), warnings);
        }
        if half_width > HALF_WIDTH_M && grid.cell_m > 1.0 {
            warnings.push(format!(
                "cut faces on cells of {}: the ground within {} of a face is carried on from \
                 further out",
                said(grid.cell_m, 2, units),
                said(half_width, 1, units)
            ));
        }
        all.index();
        for (index, face) in faces.iter().enumerate() {
            warnings.extend(all.disagreement(grid, face, units, |s| owner.get(s) == Some(&index)));
        }
        warnings.extend(all.crowding(faces, &owner, units));
        (all, warnings)
    }

    /// No faces at all.
    #[inline]
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// Whether the band of any face may come within `radius_m` of a place: never a false no.
    #[inline]
    #[must_use]
    pub fn near_face(&self, x_m: f64, y_m: f64, radius_m: f64) -> bool {
        if self.segments.is_empty() {
            return false;
        }
        let (u, v) = (x_m - self.origin.x, y_m - self.origin.y);
        let r = radius_m;
        if !(u + r >= 0.0
            && v + r >= 0.0
            && u - r < self.nx as f64 * self.cell
            && v - r < self.ny as f64 * self.cell)
        {
            return false;
        }
        let clamp = |w: f64, n: usize| ((w / self.cell).max(0.0) as usize).min(n - 1);
        let (i0, i1) = (clamp(u - r, self.nx), clamp(u + r, self.nx));
        let (j0, j1) = (clamp(v - r, self.ny), clamp(v + r, self.ny));
        (j0..=j1).any(|j| {
            // Items of one row are contiguous, so one comparison answers a whole run of cells.
            let row = j * self.nx;
            match (self.starts.get(row + i0), self.starts.get(row + i1 + 1)) {
                (Some(a), Some(b)) => b > a,
                _ => false,
            }
        })
    }

    /// The levels at a place, or `None` outside every band.
    #[must_use]
    pub fn band(&self, grid: &Grid, at_m: DVec2) -> Option<Band> {
        let b = self.half_width;
        let mut best: Option<(f64, Foot, &Segment)> = None;
        for segment in self.candidates(at_m) {
            if let Some(foot) = segment.foot(at_m, b) {
                let distance = foot.behind.abs();
                if distance < b && best.as_ref().is_none_or(|(d, ..)| distance < *d) {
                    best = Some((distance, foot, segment));
                }
            }
        }
        let (_, foot, segment) = best?;
        let s = foot.behind;
        let (low, at_low) = level(grid, foot.point, -foot.into, foot.tangent, b, b + s);
        let (high, at_high) = level(grid, foot.point, foot.into, foot.tangent, b, b - s);
        let half_gap = 0.5 * (segment.height - (at_high - at_low));
        let share = 1.0 - s.abs() / b;
        let bend = foot.into * (half_gap / b).copysign(s);
        let mut band = Band {
            behind_m: s,
            half_width_m: b,
            into: foot.into,
            low: Surface {
                height_m: low.height_m - half_gap * share,
                gradient: low.gradient + bend,
            },
            high: Surface {
                height_m: high.height_m + half_gap * share,
                gradient: high.gradient - bend,
            },
        };
        if foot.fade < 1.0 {
            let plain = grid.nearest_surface(at_m);
            for side in [&mut band.low, &mut band.high] {
                side.height_m = plain.height_m + foot.fade * (side.height_m - plain.height_m);
                side.gradient = plain.gradient.lerp(side.gradient, foot.fade);
            }
        }
        Some(band)
    }

    fn candidates(&self, at: DVec2) -> impl Iterator<Item = &Segment> {
        let (u, v) = ((at.x - self.origin.x) / self.cell, (at.y - self.origin.y) / self.cell);
        let inside = u >= 0.0 && v >= 0.0 && u < self.nx as f64 && v < self.ny as f64;
        let range = if inside {
            let k = v as usize * self.nx + u as usize;
            match (self.starts.get(k), self.starts.get(k + 1)) {
                (Some(&a), Some(&b)) => a as usize..b as usize,
                _ => 0..0,
            }
        } else {
            0..0
        };
        let items = self.items.get(range).unwrap_or_default();
        items.iter().filter_map(|&i| self.segments.get(i as usize))
    }

    fn index(&mut self) {
        let margin = DVec2::splat(2.0 * self.half_width);
        let ends = || self.segments.iter().flat_map(|s| [s.from, s.from + s.along * s.length]);
        let low = ends().fold(DVec2::INFINITY, DVec2::min) - margin;
        let high = ends().fold(DVec2::NEG_INFINITY, DVec2::max) + margin;
        let span = high - low;
        self.origin = low;
        // At most 512 cells a side: 1 MB of offsets however long the walls are.
        self.cell = (span.max_element() / 512.0).max(1.0);
        self.nx = (span.x / self.cell).ceil() as usize + 1;
        self.ny = (span.y / self.cell).ceil() as usize + 1;
        // A point of the cell is within half a diagonal of its centre; of the band past an end,
        // within b along and b across.
        let reach = std::f64::consts::SQRT_2 * self.half_width
            + 0.5 * std::f64::consts::SQRT_2 * self.cell
            + 1e-6;
        self.starts = vec![0];
        for j in 0..self.ny {
            for i in 0..self.nx {
                let centre = low + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * self.cell;
                for (k, s) in self.segments.iter().enumerate() {
                    let t = (centre - s.from).dot(s.along).clamp(0.0, s.length);
                    if (s.from + s.along * t).distance(centre) <= reach {
                        self.items.push(k as u32);
                    }
                }
                self.starts.push(self.items.len() as u32);
            }
        }
    }

    /// Says where the drop that the grid holds is far from the face's height.
    fn disagreement(
        &self,
        grid: &Grid,
        face: &CutFace,
        units: Units,
        mine: impl Fn(usize) -> bool,
    ) -> Option<String> {
        let b = self.half_width;
        let (mut sum, mut count) = (0.0, 0.0);
        let (low, high) = grid.bounds();
        let mut outside = false;
        for (_, s) in self.segments.iter().enumerate().filter(|(k, _)| mine(*k)) {
            let steps = (s.length / 2.0).ceil().clamp(1.0, 200.0) as usize;
            for k in 0..steps {
                let at = s.from + s.along * (s.length * (k as f64 + 0.5) / steps as f64);
                outside |= at.cmplt(low).any() || at.cmpgt(high).any();
                let (_, at_low) = level(grid, at, -s.into, s.along, b, b);
                let (_, at_high) = level(grid, at, s.into, s.along, b, b);
                sum += at_high - at_low;
                count += 1.0;
            }
        }
        if outside {
            return Some(format!("cut face {}: part of its line lies off the terrain", face.id));
        }
        let drop = sum / f64::max(count, 1.0);
        if drop < -0.25 * face.height_m {
            Some(format!(
                "cut face {}: the terrain falls {} the other way across it; is its low side right?",
                face.id,
                said(-drop, 2, units)
            ))
        } else if (drop - face.height_m).abs() > 0.5 * face.height_m {
            Some(format!(
                "cut face {}: its height is {} but the terrain drops {} across it; the ground \
                 within {} was raised and lowered to fit",
                face.id,
                said(face.height_m, 2, units),
                said(drop, 2, units),
                said(b, 1, units)
            ))
        } else {
            None
        }
    }

    /// Says where faces of different lines are closer than their bands.
    fn crowding(&self, faces: &[CutFace], owner: &[usize], units: Units) -> Option<String> {
        for (k, s) in self.segments.iter().enumerate() {
            for (l, t) in self.segments.iter().enumerate().skip(k + 1) {
                let (a, b) = (owner.get(k)?, owner.get(l)?);
                let near = |from: &Segment, to: &Segment| {
                    [from.from, from.from + from.along * from.length].iter().any(|p| {
                        let t = (*p - to.from).dot(to.along).clamp(0.0, to.length);
                        (to.from + to.along * t).distance(*p) < 2.0 * self.half_width
                    })
                };
                if a != b && (near(s, t) || near(t, s)) {
                    return Some(format!(
                        "cut faces {} and {} come closer than {}: between them the nearer one rules",
                        faces.get(*a)?.id,
                        faces.get(*b)?.id,
                        said(2.0 * self.half_width, 1, units)
                    ));
                }
            }
        }
        None
    }
}

/// The nearest point of a face's line to a place.
struct Foot {
    point: DVec2,
    behind: f64,
    into: DVec2,
    tangent: DVec2,
    fade: f64,
}

impl Segment {
    fn foot(&self, at: DVec2, half_width: f64) -> Option<Foot> {
        let rel = at - self.from;
        let t = rel.dot(self.along);
        let past = (-t).max(t - self.length);
        let end = usize::from(t > 0.5 * self.length);
        if past <= 0.0 || *self.open.get(end)? {
            // Beside the segment, or past the line's end where it fades out.
            let fade = (1.0 - past.max(0.0) / half_width).min(1.0);
            return (fade > 0.0).then(|| Foot {
                point: self.from + self.along * t,
                behind: rel.dot(self.into),
                into: self.into,
                tangent: self.along,
                fade,
            });
        }
        // Round a corner: the normal fans out from the corner point.
        let corner = self.from + self.along * (self.length * end as f64);
        let away = at - corner;
        let side = away.dot(*self.corner.get(end)?);
        let distance = away.length().copysign(side);
        let into = if distance.abs() > 1e-9 { away / distance } else { self.into };
        Some(Foot { point: corner, behind: distance, into, tangent: into.perp(), fade: 1.0 })
    }
}

/// The level carried on from distance b out along `out` to `run` metres from there towards the
/// line, and its height at the line.
fn level(grid: &Grid, foot: DVec2, out: DVec2, tangent: DVec2, b: f64, run: f64) -> (Surface, f64) {
    let near = grid.nearest_surface(foot + out * b);
    let far = grid.nearest_surface(foot + out * (2.0 * b));
    let slope = (near.height_m - far.height_m) / b;
    // The gradient across is that between the two; along the line it is taken where no node of the
    // cell lies across the face.
    let gradient = -out * slope + tangent * far.gradient.dot(tangent);
    (Surface { height_m: near.height_m + slope * run, gradient }, near.height_m + slope * b)
}

fn segments(face: &CutFace) -> Vec<Segment> {
    let mut points: Vec<DVec2> = Vec::new();
    for &p in &face.line_m {
        if p.is_finite() && points.last().is_none_or(|q| q.distance(p) > 1e-6) {
            points.push(p);
        }
    }
    if !(face.height_m > 0.0 && face.height_m.is_finite()) {
        return Vec::new();
    }
    let closed = points.len() > 3
        && points.first().zip(points.last()).is_some_and(|(a, b)| a.distance(*b) < 1e-6);
    let normals: Vec<DVec2> = points
        .iter()
        .zip(points.iter().skip(1))
        .map(|(a, b)| {
            let left = (*b - *a).normalize().perp();
            if face.low_side == Side::Right { left } else { -left }
        })
        .collect();
    let count = normals.len();
    points
        .iter()
        .zip(points.iter().skip(1))
        .zip(&normals)
        .enumerate()
        .map(|(k, ((&from, &to), &into))| {
            let neighbour = |k: Option<usize>| k.and_then(|k| normals.get(k)).copied();
            let before = k.checked_sub(1).or((closed && count > 0).then(|| count - 1));
            let after = if k + 1 < count { Some(k + 1) } else { closed.then_some(0) };
            Segment {
                from,
                along: (to - from).normalize(),
                length: from.distance(to),
                into,
                corner: [before, after].map(|n| into + neighbour(n).unwrap_or(DVec2::ZERO)),
                open: [before.is_none(), after.is_none()],
                height: face.height_m,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests;
