//! Where a piece comes to lie that turns on its hinge until it meets the ground.
//!
//! Every point of the piece goes round the hinge's line on a circle, in the upright plane of the
//! face:
//!
//! ```text
//! x(φ) = x₀·cos φ + z₀·sin φ      z(φ) = z₀·cos φ − x₀·sin φ
//! ```
//!
//! x₀ level toward the face and z₀ up from the hinge where it stands (m), φ its turn (rad). A point of
//! a stem of radius r meets the ground where it is as near to it as r. The stem lies down at the
//! least turn at which any point of it meets; what lies on it further out has not landed then, and if
//! the stem bends or breaks over what it met, goes on: so the farthest that any point comes to, each
//! on its own circle, bounds what is laid down. On level ground a point at s from a hinge h up lands
//! √(s² − h²) out.
//!
//! Leaves out: the hinge's own place once the face has closed (a face's depth), heading scatter, what
//! the piece meets on its way down, what it does after. Known answer: `verif_laid.rs` of the
//! acceptance tests.

use glam::DVec3;

use crate::{
    release::{Method, Scatter, Stand, plane::Plane},
    terrain::Terrain,
    tree::Piece,
};

/// Step of the turn in which a point is first looked for in the ground, rad.
const LOOK_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
/// Furthest turn looked at, rad: what has not met the ground by then hangs down its spar.
const MOST_TURN_RAD: f64 = 150.0 * std::f64::consts::PI / 180.0;
/// A stem is looked at every so often along it, m.
const ALONG_M: f64 = 0.25;
/// Halvings of the step in which a point meets the ground.
const HALVINGS: u32 = 30;

/// A piece on its way about its hinge: where each of its points is at a turn.
#[derive(Clone, Debug)]
pub struct Swing {
    pivot_m: DVec3,
    forward: DVec3,
    axis: DVec3,
    points: Vec<Point>,
}

/// One point of it.
#[derive(Clone, Copy, Debug)]
struct Point {
    /// From the hinge's line as it stands, m.
    from_m: DVec3,
    radius_m: f64,
    /// From the butt, m, where it is on the stem.
    along_m: Option<f64>,
    /// The turn at which it meets the ground, rad.
    until_rad: Option<f64>,
}

/// A piece laid down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laid {
    /// Its turn when its stem first meets the ground, rad.
    pub turn_rad: f64,
    /// Where on it that is, m from its butt.
    pub meets_m: f64,
    /// Where its top is then, m.
    pub top_m: DVec3,
    /// The farthest from the stump that any point of it comes to, each on its own circle, m.
    pub farthest_m: DVec3,
}

impl Swing {
    /// A piece before it turns, and where each point of it will meet the ground.
    #[must_use]
    pub fn new(stand: &Stand<'_>, how: &Method, terrain: &Terrain) -> Self {
        let plane = Plane::new(stand, how, &Scatter::default());
        let pivot = plane.task.pivot_m;
        let pivot_m = stand.cut_m + plane.forward * pivot.x + DVec3::Z * pivot.y;
        let mut swing =
            Self { pivot_m, forward: plane.forward, axis: plane.axis, points: Vec::new() };
        let motion = stand.motion();
        let piece = &stand.section.piece;
        let found = points(piece).map(|(point, radius_m, is_stem)| {
            let from_m = motion.point_m(point) - pivot_m;
            let along_m = is_stem.then(|| point.distance(piece.butt_m()));
            let mut point = Point { from_m, radius_m, along_m, until_rad: None };
            point.until_rad = swing.lands(&point, terrain);
            point
        });
        swing.points = found.collect();
        swing
    }

    /// Where a point is at a turn, m.
    fn at(&self, point: &Point, turn_rad: f64) -> DVec3 {
        let (x, z) = (point.from_m.dot(self.forward), point.from_m.z);
        let (sin, cos) = libm::sincos(turn_rad);
        self.pivot_m
            + self.axis * point.from_m.dot(self.axis)
            + self.forward * (x * cos + z * sin)
            + DVec3::Z * (z * cos - x * sin)
    }

    /// The turn at which a point meets the ground, rad; `None` for what begins in it, beside the
    /// stump, for what meets none, and where the ground isn't known.
    fn lands(&self, point: &Point, terrain: &Terrain) -> Option<f64> {
        let over = |turn| terrain.depth_m(self.at(point, turn)).map(|d| d + point.radius_m);
        if over(0.0)? >= 0.0 {
            return None;
        }
        let (mut low, mut high) = (0.0, LOOK_RAD);
        while over(high)? < 0.0 {
            (low, high) = (high, high + LOOK_RAD);
            if high > MOST_TURN_RAD {
                return None;
            }
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if over(middle)? < 0.0 { low = middle } else { high = middle }
        }
        Some(high)
    }

    /// Where it comes to lie; `None` where its stem meets no ground that is known.
    #[must_use]
    pub fn laid(&self, stump_m: DVec3) -> Option<Laid> {
        let level = |p: DVec3| p.truncate().distance(stump_m.truncate());
        let landed = || self.points.iter().filter_map(|p| Some((p, p.until_rad?)));
        let stem = landed().filter_map(|(p, turn)| Some((p.along_m?, turn)));
        let (meets_m, turn_rad) = stem.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let on_stem = self.points.iter().filter(|p| p.along_m.is_some());
        let top =
            on_stem.max_by(|a, b| a.along_m.unwrap_or(0.0).total_cmp(&b.along_m.unwrap_or(0.0)))?;
        let places = landed().map(|(p, turn)| self.at(p, turn));
        let farthest_m = places.max_by(|a, b| level(*a).total_cmp(&level(*b)))?;
        Some(Laid { turn_rad, meets_m, top_m: self.at(top, turn_rad), farthest_m })
    }

    /// Whether any point of it, on its way down or where it lands, is somewhere: `there` is told a
    /// place and the radius about it, m.
    #[must_use]
    pub fn comes(&self, there: impl Fn(DVec3, f64) -> bool) -> bool {
        self.points.iter().any(|point| {
            let Some(until_rad) = point.until_rad else { return false };
            let way_m = point.from_m.length() * until_rad;
            let steps = (way_m / ALONG_M).ceil().max(1.0) as u32;
            (1..=steps).any(|i| {
                let turn_rad = until_rad * f64::from(i) / f64::from(steps);
                there(self.at(point, turn_rad), point.radius_m)
            })
        })
    }
}

/// Points of a piece in its body frame with the radius about each, m, and whether they are on its
/// stem: along every round, and the tips of its brush.
pub(crate) fn points(piece: &Piece) -> impl Iterator<Item = (DVec3, f64, bool)> + '_ {
    let along = |round: &crate::tree::Round, is_stem: bool| {
        let round = *round;
        let steps = (round.from_m.distance(round.to_m) / ALONG_M).ceil().max(1.0) as usize;
        (0..=steps).map(move |i| {
            let share = i as f64 / steps as f64;
            let radius_m = round.from_radius_m + share * (round.to_radius_m - round.from_radius_m);
            (round.from_m.lerp(round.to_m, share), radius_m, is_stem)
        })
    };
    let stem_rounds = piece.stem_rounds;
    let wood = piece.rounds.iter().enumerate();
    let wood = wood.flat_map(move |(i, round)| along(round, i < stem_rounds));
    let rods = piece.brush.rods.iter().flat_map(move |rod| along(rod, false));
    let sprays = piece.brush.sprays.iter().map(|spray| (spray.at_m, spray.radius_m, false));
    wood.chain(rods).chain(sprays)
}
