//! The site, ready to simulate: terrain, one draw of the ground, and everything that stands.

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};

use crate::{ground::Ground, motion::Motion, terrain::Terrain, tree::Piece};

/// A convex solid in the world frame.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A box: centre, attitude, half extents.
    Cuboid {
        /// Centre, m.
        centre_m: DVec3,
        /// Attitude.
        attitude: DQuat,
        /// Half extents, m.
        half_m: DVec3,
    },
    /// All points within `radius_m` of the segment.
    Capsule {
        /// One end of the axis, m.
        from_m: DVec3,
        /// Other end of the axis, m.
        to_m: DVec3,
        /// Radius, m.
        radius_m: f64,
    },
    /// The convex hull of points: a roof, a wall over a footprint.
    Hull {
        /// The points, m.
        points_m: Vec<DVec3>,
    },
}

/// What a body is, in the scene's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyKind {
    /// A building or wall.
    Structure,
    /// A tree that stays.
    KeepTree,
    /// A person or a vehicle, on the ground.
    Person,
    /// A vehicle.
    Vehicle,
    /// A road or path: a surface that must not be entered.
    Path,
    /// An overhead wire.
    Wire,
    /// The climber on the spar.
    Climber,
    /// The climber's line.
    ClimberLine,
    /// The feller at the stump.
    Feller,
    /// A log across the bank to stop pieces.
    BarrierLog,
    /// A stump.
    Stump,
    /// The rest of the tree under the cut.
    Spar,
}

impl BodyKind {
    /// Someone: of people nothing is graded.
    #[must_use]
    pub fn is_person(self) -> bool {
        matches!(self, Self::Person | Self::Climber | Self::Feller)
    }
}

/// How a body answers a touch.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Solid and immovable.
    Fixed,
    /// Touches are noted; motion is not altered (people, wires, paths).
    Noted,
    /// Solid and in its place until what holds it is overcome: a barrier log that is held. Until then
    /// `shapes` is where it lies.
    Held {
        /// The body that moves once it is let go.
        piece: Box<Piece>,
        /// Where it lies.
        motion: Motion,
        /// What holds it.
        hold: Holding,
    },
    /// Solid and free to move: a log that is not held.
    Free {
        /// The body that moves; its rounds replace `shapes`.
        piece: Box<Piece>,
        /// Where it lies.
        motion: Motion,
    },
}

/// What holds a body: a steady force over a way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holding {
    /// The force, N.
    pub force_n: f64,
    /// The way, m.
    pub travel_m: f64,
}

impl Holding {
    /// Work that it takes to overcome it, J.
    #[must_use]
    pub fn work_j(&self) -> f64 {
        self.force_n * self.travel_m
    }
}

/// Something that stands or lies on the site.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Stable id from the scene.
    pub id: String,
    /// What it is.
    pub kind: BodyKind,
    /// It is a target: it must not be touched.
    pub is_target: bool,
    /// How it answers a touch.
    pub answer: Answer,
    /// Its convex solids (empty for a free body).
    pub shapes: Vec<Shape>,
}

/// Ground inside a closed outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// Stable id from the scene.
    pub id: String,
    /// Corners in order, m.
    pub outline_m: Vec<DVec2>,
    /// Where given, only the part within this outline too, m: a mat over another patch.
    pub within_m: Option<Vec<DVec2>>,
    /// The draw of its ground.
    pub ground: Ground,
}

impl Patch {
    /// Whether its outline is round a place.
    #[must_use]
    pub fn holds(&self, at: DVec2) -> bool {
        crate::soil::bed::inside(&self.outline_m, at)
    }
}

/// Terrain, ground and bodies, ready to simulate.
#[derive(Clone, Debug)]
pub struct Site {
    /// Heights.
    pub terrain: Arc<Terrain>,
    /// Ground where no patch says otherwise.
    pub ground: Ground,
    /// Patches; a later one wins.
    pub patches: Vec<Patch>,
    /// Everything solid or noted.
    pub bodies: Vec<Body>,
    /// Key of the roughness of this drop: same key, same bumps.
    pub roughness_key: u64,
    /// Where the stump stands, m.
    pub stump_m: DVec3,
}

/// Distance in plan from a place to a body's nearest corner or axis, m: for tables, not physics.
#[must_use]
pub fn distance_in_plan_m(body: &Body, at: glam::DVec2) -> f64 {
    let to = |p: DVec3| p.truncate().distance(at);
    let to_segment = |a: DVec3, b: DVec3| {
        let (a, b) = (a.truncate(), b.truncate());
        let along = b - a;
        let t = (at - a).dot(along) / along.length_squared().max(1e-12);
        (a + along * t.clamp(0.0, 1.0)).distance(at)
    };
    let shape = |shape: &Shape| match shape {
        Shape::Cuboid { centre_m, half_m, .. } => {
            (to(*centre_m) - half_m.truncate().length()).max(0.0)
        }
        Shape::Capsule { from_m, to_m, radius_m } => {
            (to_segment(*from_m, *to_m) - radius_m).max(0.0)
        }
        Shape::Hull { points_m } => points_m
            .iter()
            .enumerate()
            .flat_map(|(i, a)| points_m.iter().skip(i + 1).map(move |b| (*a, *b)))
            .map(|(a, b)| to_segment(a, b))
            .fold(f64::INFINITY, f64::min),
    };
    match &body.answer {
        Answer::Free { motion, .. } => to(motion.centre_m),
        Answer::Fixed | Answer::Noted | Answer::Held { .. } => {
            body.shapes.iter().map(shape).fold(f64::INFINITY, f64::min)
        }
    }
}
