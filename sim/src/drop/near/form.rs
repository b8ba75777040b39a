//! What a body looks like to the solver: convex parts in its own frame, with bounds.

use glam::{DQuat, DVec3};
use rapier3d::math::{Real, Vector};
use rapier3d::parry::query::details::distance_support_map_support_map;
use rapier3d::parry::shape::{Cuboid, SharedShape};

use crate::{
    motion::Motion,
    site::{Answer, Body, Shape},
    soil::spray::Press,
    tree::{Brush, Piece},
};

use super::{convert, frustum::Frustum};

/// Thickness given to a hull whose points lie in one plane, m. Ours: a sheet of roofing.
const SHEET_M: f64 = 0.01;

/// A convex part, placed in its body's frame.
#[derive(Clone)]
pub(super) struct Part {
    pub(super) centre_m: DVec3,
    pub(super) attitude: DQuat,
    pub(super) shape: SharedShape,
    /// Radius of a sphere about `centre_m` that holds the part, m.
    pub(super) bound_m: f64,
}

/// The convex parts of one body and a sphere that holds them.
#[derive(Clone, Default)]
pub(super) struct Form {
    pub(super) parts: Vec<Part>,
    /// Centre of the bounding sphere in the body's frame, m.
    pub(super) middle_m: DVec3,
    /// Radius of the bounding sphere, m.
    pub(super) bound_m: f64,
}

/// How a body of the site takes part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Fixed,
    Noted,
    Free,
}

/// One body of the site, ready for contact and distance.
#[derive(Clone)]
pub(super) struct Solid {
    pub(super) form: Form,
    pub(super) role: Role,
    /// Frame of `form`: the world for what doesn't move, where it lies for a free body.
    pub(super) start: Motion,
    /// What moves, if it is free.
    pub(super) piece: Option<Piece>,
}

/// All bodies of a site, ready for contact and distance; built once and shared between drops.
#[derive(Clone, Default)]
pub struct Solids {
    pub(super) bodies: Vec<Solid>,
}

impl std::fmt::Debug for Solids {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Solids({} bodies)", self.bodies.len())
    }
}

impl Solids {
    /// Prepares every body, in the site's order.
    #[must_use]
    pub fn new(bodies: &[Body]) -> Self {
        Self { bodies: bodies.iter().map(solid).collect() }
    }

    /// Presses of a piece's brush into those of the bodies `which` names that stand fixed: of each
    /// spray and body the deepest. `skip` says which bodies don't count; `friction` is that of wood
    /// on anything here. Into `presses`, with the bodies beside them.
    pub fn press(
        &self,
        brush: &Brush,
        motion: &Motion,
        which: &[usize],
        skip: impl Fn(usize) -> bool,
        friction: f64,
        (presses, bodies): (&mut Vec<Press>, &mut Vec<usize>),
    ) {
        presses.clear();
        bodies.clear();
        for &index in which.iter().filter(|i| !skip(**i)) {
            let Some(solid) = self.bodies.get(index).filter(|s| s.role == Role::Fixed) else {
                continue;
            };
            for (k, spray) in brush.sprays.iter().enumerate() {
                let middle_m = motion.point_m(spray.at_m);
                let Some((gap_m, normal)) = solid.form.nearest(middle_m, spray.radius_m) else {
                    continue;
                };
                presses.push(Press {
                    spray: k,
                    depth_m: spray.radius_m - gap_m,
                    normal,
                    arm_m: middle_m - motion.centre_m - normal * gap_m.min(spray.radius_m),
                    friction,
                    digs: false,
                });
                bodies.push(index);
            }
        }
    }

    /// Lets a body go that was held: it is `piece`, and lies at `motion`.
    pub fn let_go(&mut self, index: usize, piece: &Piece, motion: &Motion) {
        if let Some(solid) = self.bodies.get_mut(index) {
            *solid = free(piece, motion);
        }
    }

    /// Where each free body lies at the start, with its index in `Site::bodies`, in index order.
    pub fn free(&self) -> impl Iterator<Item = (usize, Motion)> + '_ {
        let free = |(i, s): (usize, &Solid)| (s.role == Role::Free).then_some((i, s.start));
        self.bodies.iter().enumerate().filter_map(free)
    }
}

/// The world's own frame.
pub(super) const WORLD: Motion = Motion {
    centre_m: DVec3::ZERO,
    attitude: DQuat::IDENTITY,
    velocity_m_s: DVec3::ZERO,
    spin_rad_s: DVec3::ZERO,
};

fn solid(body: &Body) -> Solid {
    let standing = |role| Solid {
        form: Form::new(body.shapes.iter().filter_map(part).collect()),
        role,
        start: WORLD,
        piece: None,
    };
    match &body.answer {
        Answer::Fixed | Answer::Held { .. } => standing(Role::Fixed),
        Answer::Noted => standing(Role::Noted),
        Answer::Free { piece, motion } => free(piece, motion),
    }
}

fn free(piece: &Piece, motion: &Motion) -> Solid {
    Solid {
        form: Form::of_piece(piece),
        role: Role::Free,
        start: *motion,
        piece: Some(piece.clone()),
    }
}

impl Form {
    fn new(parts: Vec<Part>) -> Self {
        let low = parts.iter().map(|p| p.centre_m - p.bound_m).reduce(DVec3::min);
        let high = parts.iter().map(|p| p.centre_m + p.bound_m).reduce(DVec3::max);
        let middle_m = low.zip(high).map_or(DVec3::ZERO, |(l, h)| 0.5 * (l + h));
        let reach = |p: &Part| p.centre_m.distance(middle_m) + p.bound_m;
        let bound_m = parts.iter().map(reach).fold(0.0, f64::max);
        Self { parts, middle_m, bound_m }
    }

    /// The stiff rounds of a piece, in the piece's frame.
    pub(super) fn of_piece(piece: &Piece) -> Self {
        Self::of_rounds(piece.stiff_rounds())
    }

    /// All of a piece that can touch, brush too.
    pub(super) fn whole(piece: &Piece) -> Self {
        Self::of_rounds(piece.rounds.iter().copied().chain(piece.soft_rounds()))
    }

    fn of_rounds(rounds: impl Iterator<Item = crate::tree::Round>) -> Self {
        let round = |r: crate::tree::Round| {
            let axis_m = r.to_m - r.from_m;
            let half_m = 0.5 * axis_m.length();
            (half_m > 0.0).then(|| Part {
                centre_m: 0.5 * (r.from_m + r.to_m),
                attitude: DQuat::from_rotation_arc(DVec3::Z, axis_m / (2.0 * half_m)),
                shape: SharedShape::new(Frustum::new(half_m, r.from_radius_m, r.to_radius_m)),
                bound_m: DVec3::new(half_m, r.from_radius_m.max(r.to_radius_m), 0.0).length(),
            })
        };
        Self::new(rounds.filter_map(round).collect())
    }

    /// Distance of a point of the world from what stands still, m (negative inside), and the way
    /// out of it, if it is nearer than `within_m`.
    fn nearest(&self, point_m: DVec3, within_m: f64) -> Option<(f64, DVec3)> {
        let mut least: Option<(f64, DVec3)> = None;
        for part in &self.parts {
            let from_part = point_m - part.centre_m;
            if from_part.length() > part.bound_m + within_m {
                continue;
            }
            let local = convert::vector(part.attitude.conjugate() * from_part);
            let projected = part.shape.project_local_point(local, false);
            let off = convert::from_vector(local - projected.point);
            let gap_m = if projected.is_inside { -off.length() } else { off.length() };
            let out = if projected.is_inside { -off } else { off };
            let normal = part.attitude * out.normalize_or(DVec3::Z);
            if gap_m < within_m && least.is_none_or(|(g, _)| gap_m < g) {
                least = Some((gap_m, normal));
            }
        }
        least
    }

    /// Centre of the bounding sphere in the world, m.
    pub(super) fn middle_in_world_m(&self, at: &Motion) -> DVec3 {
        at.point_m(self.middle_m)
    }
}

/// A part in the world frame; `None` for a hull without extent.
fn part(shape: &Shape) -> Option<Part> {
    Some(match shape {
        Shape::Cuboid { centre_m, attitude, half_m } => {
            let half = convert::vector(*half_m);
            Part {
                centre_m: *centre_m,
                attitude: *attitude,
                shape: SharedShape::cuboid(half.x, half.y, half.z),
                bound_m: half_m.length(),
            }
        }
        Shape::Capsule { from_m, to_m, radius_m } => {
            let (middle_m, half_m) = (0.5 * (*from_m + *to_m), 0.5 * (*to_m - *from_m));
            let half = convert::vector(half_m);
            Part {
                centre_m: middle_m,
                attitude: DQuat::IDENTITY,
                shape: SharedShape::capsule(-half, half, convert::real(*radius_m)),
                bound_m: half_m.length() + radius_m,
            }
        }
        Shape::Hull { points_m } => {
            let low = points_m.iter().copied().reduce(DVec3::min)?;
            let high = points_m.iter().copied().reduce(DVec3::max)?;
            let middle_m = 0.5 * (low + high);
            let local: Vec<_> = points_m.iter().map(|p| *p - middle_m).collect();
            let farthest_m = local.iter().map(|p| p.length()).fold(0.0, f64::max);
            Part {
                centre_m: middle_m,
                attitude: DQuat::IDENTITY,
                shape: hull(&local)?,
                bound_m: farthest_m + SHEET_M,
            }
        }
    })
}

/// The hull of points about the origin; points in one plane or line become a sheet or rod.
fn hull(points_m: &[DVec3]) -> Option<SharedShape> {
    let f32_points: Vec<_> = points_m.iter().map(|p| convert::vector(*p)).collect();
    if is_solid(points_m)
        && let Some(shape) = SharedShape::convex_hull(&f32_points)
    {
        return Some(shape);
    }
    let corners = [-0.5, 0.5].map(|x| [-0.5, 0.5].map(|y| [-0.5, 0.5].map(|z| [x, y, z])));
    let thick: Vec<_> = points_m
        .iter()
        .flat_map(|p| {
            corners.iter().flatten().flatten().map(|c| *p + SHEET_M * DVec3::from_array(*c))
        })
        .map(convert::vector)
        .collect();
    SharedShape::convex_hull(&thick)
}

/// Whether the points span a volume thicker than a sheet: the farthest point from the plane of the
/// three that span most.
fn is_solid(points_m: &[DVec3]) -> bool {
    let Some(&first) = points_m.first() else { return false };
    let by = |f: &dyn Fn(DVec3) -> f64| {
        points_m.iter().copied().max_by(|a, b| f(*a).total_cmp(&f(*b))).unwrap_or(first)
    };
    let second = by(&|p| p.distance(first));
    let along = (second - first).normalize_or_zero();
    let third = by(&|p| along.cross(p - first).length());
    let normal = along.cross(third - first).normalize_or_zero();
    points_m.iter().any(|p| normal.dot(*p - first).abs() > SHEET_M)
}

/// Distance between the surfaces of two bodies, m; 0 when they touch or overlap, `f64::INFINITY`
/// when one has no parts. Pairs of parts that cannot come below `cutoff_m` are not looked at
/// closely: the answer is exact below it and at least `cutoff_m` otherwise.
pub(super) fn gap_below_m(a: &Form, at_a: &Motion, b: &Form, at_b: &Motion, cutoff_m: f64) -> f64 {
    let mut least_m = f64::INFINITY;
    for part_a in &a.parts {
        let (centre_a, turn_a) = placed(part_a, at_a);
        for part_b in &b.parts {
            let (centre_b, turn_b) = placed(part_b, at_b);
            let spheres_m = centre_a.distance(centre_b) - part_a.bound_m - part_b.bound_m;
            if spheres_m >= least_m {
                continue;
            }
            if spheres_m >= cutoff_m {
                least_m = spheres_m;
                continue;
            }
            let back = turn_a.conjugate();
            let between = convert::pose(back * (centre_b - centre_a), back * turn_b, DVec3::ZERO);
            let (Some((map_a, round_a)), Some((map_b, round_b))) =
                (part_a.shape.as_polygonal_feature_map(), part_b.shape.as_polygonal_feature_map())
            else {
                continue;
            };
            let cores = match part_b.shape.as_cuboid() {
                Some(cuboid) => {
                    let seen = between.inverse().translation;
                    let half = cuboid.half_extents;
                    let out = (seen.abs() - half).max(seen * 0.0).length();
                    // The nearest point of the box is no farther from a's centre than this.
                    let reach = out + convert::real(part_a.bound_m);
                    match window(cuboid, seen, reach) {
                        Some((near, offset)) => {
                            let moved = between.prepend_translation(offset);
                            distance_support_map_support_map(&moved, map_a, &near)
                        }
                        None => convert::real(spheres_m.max(0.0)) + round_a + round_b,
                    }
                }
                None => distance_support_map_support_map(&between, map_a, map_b),
            };
            least_m = least_m.min(f64::from(cores - round_a - round_b).max(0.0));
        }
    }
    least_m
}

/// What of a box lies within `reach` of a point in its frame (both m), and how far its centre is
/// from the whole's; `None` if nothing does.
///
/// Parry's closest-point search works in f32 with corners: on a box of 100 m it misses contacts
/// of a log and gives gaps of centimetres where there are none.
pub(super) fn window(cuboid: &Cuboid, seen: Vector, reach: Real) -> Option<(Cuboid, Vector)> {
    // A little more, so that no cut face is ever the nearest.
    let reach = Vector::splat(1.1 * reach + 0.1);
    let low = (seen - reach).max(-cuboid.half_extents);
    let high = (seen + reach).min(cuboid.half_extents);
    let half = 0.5 * (high - low);
    (half.min_element() > 0.0).then(|| (Cuboid::new(half), 0.5 * (high + low)))
}

fn placed(part: &Part, at: &Motion) -> (DVec3, DQuat) {
    (at.point_m(part.centre_m), at.attitude * part.attitude)
}
