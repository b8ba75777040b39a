//! What of the site a drop can have felt: the cells of a plan grid of 1 m within reach of anything
//! that moved.
//!
//! A step of a drop is a function of the ground that its nodes see and of the bodies in reach of the
//! piece at its beginning ([`Look::reach_m`](super::near::Look)); what is further away may change
//! and no bit of the drop does. So a drop whose cells hold neither the old nor the new place of
//! anything that differs between two sites is the same drop on both.
//!
//! Plan distance is never more than the gap in space, so a cell test in plan leaves nothing out; it
//! takes in what a piece flew over. Cells are painted where a piece is at the beginning of a step,
//! as wide as its reach then; not again before it has moved by [`SLACK_M`], which they are wider.

use glam::{DQuat, DVec2, DVec3};

use crate::{
    motion::Motion,
    site::{Answer, Body, Patch, Shape},
    soil::bed::inside,
    tree::{Piece, Round},
};

use super::near::Size;
use crate::scene::outline::hull;

/// Side of a cell, m.
const CELL_M: f64 = 1.0;
/// From a cell's middle to its corner, m, and a little for rounding.
const CORNER_M: f64 = 0.71 * CELL_M;
/// Cells are painted this much wider than the reach, m.
const SLACK_M: f64 = 0.25;
/// A round is this much thicker here, m: its axis need not go through the centre of mass, nor its
/// surface be where f32 has it.
const THICKER_M: f64 = 0.05;
/// Hulls are this much larger, m: what lies in one plane is given a thickness.
const HULL_M: f64 = 0.02;
/// More cells than this in one place are everywhere.
const MOST_CELLS: f64 = 1e6;

/// Cells of a plan grid, ascending; or everywhere.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Footprint {
    cells: Vec<[i16; 2]>,
    everywhere: bool,
    sorted: usize,
}

impl Footprint {
    /// How many cells it holds.
    #[must_use]
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether it holds nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty() && !self.everywhere
    }

    /// Whether two footprints have a cell in common.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        if self.everywhere || other.everywhere {
            return !self.is_empty() && !other.is_empty();
        }
        let [few, many] = if self.len() < other.len() { [self, other] } else { [other, self] };
        let (Some(low), Some(high)) = (few.cells.first(), few.cells.last()) else { return false };
        let from = many.cells.partition_point(|c| c < low);
        let to = many.cells.partition_point(|c| c <= high);
        let mut rest = few.cells.iter().peekable();
        many.cells.get(from..to).unwrap_or(&[]).iter().any(|cell| {
            while rest.next_if(|c| *c < cell).is_some() {}
            rest.peek().is_some_and(|c| *c == cell)
        })
    }

    /// Adds where a body stands or lies.
    pub fn add_body(&mut self, body: &Body) {
        match &body.answer {
            Answer::Free { piece, motion } => {
                let at = (motion.centre_m, motion.attitude);
                for [from, to] in &rods(piece) {
                    self.add_rod(at, *from, *to, 0.0);
                }
            }
            Answer::Fixed | Answer::Noted | Answer::Held { .. } => {
                body.shapes.iter().for_each(|s| self.add_shape(s));
            }
        }
    }

    /// Adds where a patch lies.
    pub fn add_patch(&mut self, patch: &Patch) {
        self.add_outline(&patch.outline_m, 0.0);
    }

    /// Puts the cells in order, each once, and gives back memory that isn't used.
    pub fn tidy(&mut self) {
        self.sort();
        self.cells.shrink_to_fit();
    }

    fn sort(&mut self) {
        self.cells.sort_unstable();
        self.cells.dedup();
        self.sorted = self.cells.len();
    }

    fn add_shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Capsule { from_m, to_m, radius_m } => {
                self.paint(&[from_m.truncate(), to_m.truncate()], *radius_m);
            }
            Shape::Cuboid { centre_m, attitude, half_m } => {
                let corner = |k: usize| {
                    let sign = |bit: usize| if k & bit == 0 { -1.0 } else { 1.0 };
                    let way = DVec3::new(sign(1), sign(2), sign(4)) * *half_m;
                    (*centre_m + *attitude * way).truncate()
                };
                let corners: Vec<DVec2> = (0..8).map(corner).collect();
                self.add_outline(&hull(corners), HULL_M);
            }
            Shape::Hull { points_m } => {
                let points = points_m.iter().map(|p| p.truncate()).collect();
                self.add_outline(&hull(points), HULL_M);
            }
        }
    }

    fn add_rod(&mut self, at: (DVec3, DQuat), from: Disc, to: Disc, wider_m: f64) {
        let ends = [from, to].map(|disc| (at.0 + at.1 * disc.at_m).truncate());
        self.paint(&ends, from.radius_m.max(to.radius_m) + wider_m);
    }

    fn add_outline(&mut self, outline: &[DVec2], wider_m: f64) {
        let closed: Vec<DVec2> = outline.iter().chain(outline.first()).copied().collect();
        self.paint(&closed, wider_m);
        self.each_cell(outline, 0.0, |middle| inside(outline, middle));
    }

    /// Adds every cell that comes within `radius_m` of a line.
    fn paint(&mut self, line: &[DVec2], radius_m: f64) {
        let far_m = radius_m + CORNER_M;
        for pair in line.windows(2) {
            let [a, b] = *pair else { continue };
            let along = b - a;
            let over = 1.0 / along.length_squared().max(1e-12);
            self.each_cell(pair, far_m, |middle| {
                let t = ((middle - a).dot(along) * over).clamp(0.0, 1.0);
                (a + along * t).distance_squared(middle) <= far_m * far_m
            });
        }
    }

    /// Adds the cells about `points` whose middle is `held`.
    fn each_cell(&mut self, points: &[DVec2], far_m: f64, held: impl Fn(DVec2) -> bool) {
        let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min) - far_m;
        let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max) + far_m;
        let (low, high) = ((low / CELL_M).floor(), (high / CELL_M).floor());
        let size = high - low + 1.0;
        let most = f64::from(i16::MAX);
        let known = low.is_finite() && high.is_finite() && low.abs().max_element() < most;
        if !known || high.abs().max_element() >= most || size.x * size.y > MOST_CELLS {
            self.everywhere = true;
            return;
        }
        for i in low.x as i16..=high.x as i16 {
            for j in low.y as i16..=high.y as i16 {
                if held((DVec2::new(f64::from(i), f64::from(j)) + 0.5) * CELL_M) {
                    self.cells.push([i, j]);
                }
            }
        }
        // The same cells come again and again as a piece goes on.
        if self.cells.len() > 2 * self.sorted + 1024 {
            self.sort();
        }
    }
}

/// One end of a rod: where, in the body frame, m, and how thick, m.
#[derive(Clone, Copy, Debug)]
struct Disc {
    at_m: DVec3,
    radius_m: f64,
}

/// A piece as rods: the stem, each stub, and each part of its brush.
fn rods(piece: &Piece) -> Vec<[Disc; 2]> {
    let (stem, stubs) = piece.rounds.split_at(piece.stem_rounds.min(piece.rounds.len()));
    let thick = |rounds: &[Round]| {
        rounds.iter().map(|r| r.from_radius_m.max(r.to_radius_m)).fold(0.0, f64::max) + THICKER_M
    };
    let rod = |rounds: &[Round]| {
        let (first, last) = (rounds.first()?, rounds.last()?);
        let radius_m = thick(rounds);
        Some([first.from_m, last.to_m].map(|at_m| Disc { at_m, radius_m }))
    };
    let soft: Vec<Round> = piece.soft_rounds().collect();
    let stubs = stubs.iter().chain(&soft);
    rod(stem).into_iter().chain(stubs.filter_map(|s| rod(std::slice::from_ref(s)))).collect()
}

/// Paints where one moving body has been, as it goes.
#[derive(Clone, Debug)]
pub(super) struct Painter {
    rods: Vec<[Disc; 2]>,
    size: Size,
    /// Where it was painted last, and how wide, m.
    last: Option<((DVec3, DQuat), f64)>,
}

impl Painter {
    pub(super) fn new(piece: &Piece) -> Self {
        Self { rods: rods(piece), size: Size::new(piece), last: None }
    }

    /// Sees to it that all cells within `reach_m` of the body at `motion` are painted.
    pub(super) fn paint(&mut self, footprint: &mut Footprint, motion: &Motion, reach_m: f64) {
        let at = (motion.centre_m, motion.attitude);
        if let Some((last, wide_m)) = self.last
            && self.size.apart_m(last, at) + reach_m <= wide_m
        {
            return;
        }
        let wide_m = reach_m + SLACK_M;
        for [from, to] in &self.rods {
            footprint.add_rod(at, *from, *to, wide_m);
        }
        self.last = Some((at, wide_m));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::BodyKind;

    fn at(shape: Shape) -> Footprint {
        let mut footprint = Footprint::default();
        footprint.add_body(&Body {
            id: "b".into(),
            kind: BodyKind::Structure,
            is_target: true,
            answer: Answer::Fixed,
            shapes: vec![shape],
        });
        footprint.tidy();
        footprint
    }

    fn post(x: f64, y: f64, radius_m: f64) -> Footprint {
        let from_m = DVec3::new(x, y, 0.0);
        at(Shape::Capsule { from_m, to_m: from_m + DVec3::Z, radius_m })
    }

    #[test]
    fn verif_places_meet_where_they_are_a_cell_apart_and_not_where_they_are_three() {
        let slab = at(Shape::Cuboid {
            centre_m: DVec3::new(10.5, -3.5, 2.0),
            attitude: DQuat::from_rotation_z(std::f64::consts::FRAC_PI_4),
            half_m: DVec3::new(6.0, 2.0, 1.0),
        });
        let along = DVec2::splat(std::f64::consts::FRAC_1_SQRT_2);
        let across = DVec2::new(-along.y, along.x);
        let middle = DVec2::new(10.5, -3.5);
        for k in 0..60 {
            let on = middle + along * (0.2 * f64::from(k) - 6.0);
            for side in [-1.0, 1.0] {
                let post_at = |off: f64| {
                    let p = on + across * (side * off);
                    post(p.x, p.y, 0.1)
                };
                assert!(slab.meets(&post_at(0.0)) && slab.meets(&post_at(2.0)), "{k}");
                assert!(post_at(1.0).meets(&slab), "{k}");
                assert!(!slab.meets(&post_at(5.0)), "{k}");
            }
        }
        assert!(!slab.meets(&Footprint::default()));
        let huge = at(Shape::Hull {
            points_m: vec![DVec3::ZERO, DVec3::X * 1e6, DVec3::Y * 1e6, DVec3::ONE],
        });
        assert!(huge.meets(&slab) && slab.meets(&huge) && !huge.meets(&Footprint::default()));
    }

    #[test]
    fn verif_an_outline_holds_what_is_inside_it_and_only_that() {
        let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (4.0, 9.0), (4.0, 4.0), (0.0, 4.0)];
        let outline_m: Vec<DVec2> = corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect();
        let mut patch = Footprint::default();
        patch.add_outline(&outline_m, 0.0);
        patch.tidy();
        for (x, y, held) in
            [(2.0, 2.0, true), (6.5, 6.5, true), (1.5, 7.5, false), (12.0, 4.0, false)]
        {
            assert_eq!(patch.meets(&post(x, y, 0.05)), held, "{x} {y}");
        }
    }

    #[test]
    fn prop_a_hull_holds_all_its_points() {
        let key = crate::keyed::Key::root(3);
        for n in 1..20_u64 {
            let p = |i| key.number(n).number(i);
            let points: Vec<DVec2> = (0..n)
                .map(|i| DVec2::new(p(i).word("x").uniform(), p(i).word("y").uniform()))
                .collect();
            let outline = hull(points.clone());
            assert!(!outline.is_empty() && outline.len() <= points.len());
            for i in 0..outline.len() {
                let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
                assert!(points.iter().all(|q| (b - a).perp_dot(*q - a) >= -1e-12), "{n}");
            }
        }
    }
}
