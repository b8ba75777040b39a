//! Solids as triangles and lines: plain arrays in the site's frame, no renderer.
//!
//! Colours are linear RGB with alpha, and carry the light, which comes from where it does in
//! [`crate::mesh`]: a surface is drawn as its nodes say and needs no lamp. Solids are seen from
//! below the bank too, where the sun isn't: their shaded sides are brighter than the ground's.
//! Triangles run anticlockwise seen from outside.

use bevy::math::{Quat, Vec3};
use glam::DVec3;
use parry3d::transformation::try_convex_hull;

use crate::mesh::{light, toward_light};

/// Linear red, green and blue, and alpha, 0 to 1.
pub(crate) type Colour = [f32; 4];

/// Sides of a stem or a log.
pub(crate) const ROUND_SIDES: usize = 16;
/// Rings from the equator of a rounded end to its pole.
const CAP_RINGS: usize = 4;
/// Faces that meet at less than this have no edge drawn between them (cos 20°).
const SMOOTH_COS: f32 = 0.94;
/// Light on the side of a solid that is turned away from the sun altogether.
const SHADED: f32 = 0.4;
/// Growth rings on a cut face.
const FACE_RINGS: usize = 3;

/// Something to be drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Drawn {
    /// Places of the nodes, m.
    pub(crate) points_m: Vec<Vec3>,
    /// Linear colour of each node, lit.
    pub(crate) colours: Vec<Colour>,
    /// Three nodes a triangle, anticlockwise seen from outside.
    pub(crate) triangles: Vec<[u32; 3]>,
    /// Two nodes a line.
    pub(crate) lines: Vec<[u32; 2]>,
    /// From the frame it is drawn in to the site's, for the light alone.
    turned: Quat,
}

/// How a tube ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum End {
    /// Not at all.
    Open,
    /// By half a sphere, as a capsule.
    Round,
    /// By a flat face with rings.
    Face {
        /// The face.
        wood: Colour,
        /// The rings on it.
        ring: Colour,
    },
}

/// One ring of nodes round an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ring {
    /// Its middle, m.
    pub(crate) centre_m: Vec3,
    /// Its radius, m.
    pub(crate) radius_m: f32,
    /// How far the surface there looks along the axis: sine, −1 to 1.
    pub(crate) tilt: f32,
    /// Its colour, unlit.
    pub(crate) colour: Colour,
}

/// A place or direction of the site in single precision.
#[must_use]
pub(crate) fn single(site: DVec3) -> Vec3 {
    Vec3::new(site.x as f32, site.y as f32, site.z as f32)
}

/// Two unit vectors square to an axis and to each other, right-handed with it; x and y for an
/// upright one.
#[must_use]
pub(crate) fn square_to(axis: Vec3) -> (Vec3, Vec3) {
    let start = if axis.z.abs() > 0.9 { Vec3::X } else { Vec3::Z.cross(axis) };
    let u = (start - axis * start.dot(axis)).normalize_or(Vec3::X);
    (u, axis.cross(u))
}

impl Drawn {
    /// Nothing yet, in a frame that is turned by this against the site's.
    #[must_use]
    pub(crate) fn turned(turned: Quat) -> Self {
        Self { turned, ..Self::default() }
    }

    /// Adds all of another.
    pub(crate) fn append(&mut self, other: &Self) {
        let first = self.points_m.len() as u32;
        self.points_m.extend(&other.points_m);
        self.colours.extend(&other.colours);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|k| k + first)));
        self.lines.extend(other.lines.iter().map(|l| l.map(|k| k + first)));
    }

    /// Moves every node; the light stays as it is.
    #[must_use]
    pub(crate) fn moved(mut self, place: impl Fn(Vec3) -> Vec3) -> Self {
        self.points_m.iter_mut().for_each(|point| *point = place(*point));
        self
    }

    /// Lowest and highest corner of the box round it, m, if there is anything.
    #[must_use]
    pub(crate) fn extent_m(&self) -> Option<(Vec3, Vec3)> {
        let both = |(low, high): (Vec3, Vec3), point: Vec3| (low.min(point), high.max(point));
        let mut points = self.points_m.iter().copied();
        let first = points.next()?;
        Some(points.fold((first, first), both))
    }

    /// Every node has one finite place and colour, and every triangle and line has its nodes.
    #[cfg(test)]
    pub(crate) fn is_sound(&self) -> bool {
        let nodes = self.points_m.len();
        let there = |k: &u32| (*k as usize) < nodes;
        self.colours.len() == nodes
            && self.points_m.iter().all(|point| point.is_finite())
            && self.colours.iter().flatten().all(|part| (0.0..=1.0).contains(part))
            && self.triangles.iter().flatten().all(there)
            && self.lines.iter().flatten().all(there)
    }

    /// Adds a node as bright as it says.
    fn plain(&mut self, point_m: Vec3, colour: Colour) -> u32 {
        self.points_m.push(point_m);
        self.colours.push(colour);
        (self.points_m.len() - 1) as u32
    }

    /// Adds a node of a solid whose surface looks along `normal`.
    fn node(&mut self, point_m: Vec3, normal: Vec3, colour: Colour) -> u32 {
        let bright = shade(self.turned * normal);
        self.plain(point_m, dimmed(colour, bright))
    }

    /// A flat convex face; corners anticlockwise seen from outside.
    pub(crate) fn face(&mut self, corners: &[Vec3], colour: Colour) {
        // Newell's normal: it stands for a face that isn't quite flat, too.
        let normal = corners
            .iter()
            .zip(corners.iter().cycle().skip(1))
            .map(|(a, b)| a.cross(*b))
            .sum::<Vec3>()
            .normalize_or(Vec3::Z);
        self.fan(corners, |drawn, corner| drawn.node(corner, normal, colour));
    }

    /// A part of the ground's own surface, each corner with the normal there: as dark as the ground.
    pub(crate) fn on_ground(&mut self, corners: &[(Vec3, Vec3)], colour: Colour) {
        self.fan(corners, |drawn, (corner, normal)| {
            drawn.plain(corner, dimmed(colour, light(normal)))
        });
    }

    /// A flat convex face as bright as its colour says: a sign, not a surface.
    pub(crate) fn sign(&mut self, corners: &[Vec3], colour: Colour) {
        self.fan(corners, |drawn, corner| drawn.plain(corner, colour));
    }

    fn fan<C: Copy>(&mut self, corners: &[C], mut add: impl FnMut(&mut Self, C) -> u32) {
        let nodes: Vec<u32> = corners.iter().map(|&corner| add(self, corner)).collect();
        if let Some((first, rest)) = nodes.split_first() {
            self.triangles.extend(rest.windows(2).map(|pair| [*first, pair[0], pair[1]]));
        }
    }

    /// A line through points, unlit.
    pub(crate) fn polyline(&mut self, points_m: &[Vec3], colour: Colour) {
        if points_m.len() < 2 {
            return;
        }
        let nodes: Vec<u32> = points_m.iter().map(|&point| self.plain(point, colour)).collect();
        self.lines.extend(nodes.windows(2).map(|pair| [pair[0], pair[1]]));
    }

    /// A closed line through points, unlit.
    pub(crate) fn outline(&mut self, points_m: &[Vec3], colour: Colour) {
        let closed: Vec<Vec3> = points_m.iter().chain(points_m.first()).copied().collect();
        self.polyline(&closed, colour);
    }

    /// A box: middle, its three unit axes (right-handed) and its half sizes along them, m.
    pub(crate) fn cuboid(&mut self, centre_m: Vec3, axes: [Vec3; 3], half_m: Vec3, colour: Colour) {
        let half = [axes[0] * half_m.x, axes[1] * half_m.y, axes[2] * half_m.z];
        for k in 0..3 {
            let (out, u, v) = (half[k], half[(k + 1) % 3], half[(k + 2) % 3]);
            for (out, u) in [(out, u), (-out, -u)] {
                let middle = centre_m + out;
                let corners = [middle - u - v, middle + u - v, middle + u + v, middle - u + v];
                self.face(&corners, colour);
            }
        }
    }

    /// A tube of tapered rounds through points, smooth round its axis.
    pub(crate) fn tube(
        &mut self,
        points_m: &[Vec3],
        radii_m: &[f32],
        sides: usize,
        [start, end]: [End; 2],
        colour: Colour,
    ) {
        let (Some((&first, &last)), true) =
            (points_m.first().zip(points_m.last()), points_m.len() == radii_m.len())
        else {
            return;
        };
        let toward =
            |a: Vec3, b: Option<&Vec3>| b.map_or(Vec3::Z, |b| (*b - a).normalize_or(Vec3::Z));
        let ahead = toward(first, points_m.get(1));
        let back = toward(last, points_m.len().checked_sub(2).and_then(|k| points_m.get(k)));
        let cap = |centre_m: Vec3, out: Vec3, radius_m: f32, tilt: f32| Ring {
            centre_m: centre_m + out * radius_m * tilt.abs(),
            radius_m: radius_m * (1.0 - tilt * tilt).max(0.0).sqrt(),
            tilt,
            colour,
        };
        let rounding = |k: usize| (k as f32 / CAP_RINGS as f32 * std::f32::consts::FRAC_PI_2).sin();
        let mut rings = Vec::with_capacity(points_m.len() + 2 * CAP_RINGS);
        if let (End::Round, Some(&radius_m)) = (start, radii_m.first()) {
            rings.extend((1..=CAP_RINGS).rev().map(|k| cap(first, -ahead, radius_m, -rounding(k))));
        }
        rings.extend(points_m.iter().zip(radii_m).map(|(&centre_m, &radius_m)| Ring {
            centre_m,
            radius_m,
            tilt: 0.0,
            colour,
        }));
        if let (End::Round, Some(&radius_m)) = (end, radii_m.last()) {
            rings.extend((1..=CAP_RINGS).map(|k| cap(last, -back, radius_m, rounding(k))));
        }
        self.lathe(&rings, sides);
        for (end, at, out, radius) in
            [(start, first, -ahead, radii_m.first()), (end, last, -back, radii_m.last())]
        {
            if let (End::Face { wood, ring }, Some(&radius_m)) = (end, radius) {
                self.cut_face(at, out, radius_m, sides, wood, ring);
            }
        }
    }

    /// A surface through rings, in order along the axis.
    pub(crate) fn lathe(&mut self, rings: &[Ring], sides: usize) {
        let place = |k: usize| rings.get(k).map(|ring| ring.centre_m);
        let mut across: Option<Vec3> = None;
        let mut before: Option<Vec<u32>> = None;
        for (k, ring) in rings.iter().enumerate() {
            let from = k.checked_sub(1).and_then(place).unwrap_or(ring.centre_m);
            let to = place(k + 1).unwrap_or(ring.centre_m);
            let axis = (to - from).normalize_or(Vec3::Z);
            // Carried along the axis, so that a bent tube isn't wrung.
            let u = across.map_or_else(
                || square_to(axis).0,
                |u| (u - axis * u.dot(axis)).normalize_or(square_to(axis).0),
            );
            across = Some(u);
            let v = axis.cross(u);
            let level = (1.0 - ring.tilt * ring.tilt).max(0.0).sqrt();
            let nodes: Vec<u32> = (0..sides)
                .map(|side| {
                    let (sin, cos) = turn_of(side, sides).sin_cos();
                    let out = u * cos + v * sin;
                    let normal = out * level + axis * ring.tilt;
                    self.node(ring.centre_m + out * ring.radius_m, normal, ring.colour)
                })
                .collect();
            if let Some(before) = before {
                let pairs = before.iter().zip(&nodes);
                let next = before.iter().zip(&nodes).cycle().skip(1);
                for ((a, d), (b, c)) in pairs.zip(next) {
                    self.triangles.extend([[*a, *b, *c], [*a, *c, *d]]);
                }
            }
            before = Some(nodes);
        }
    }

    /// A cut face with rings, looking along `out`.
    pub(crate) fn cut_face(
        &mut self,
        centre_m: Vec3,
        out: Vec3,
        radius_m: f32,
        sides: usize,
        wood: Colour,
        ring: Colour,
    ) {
        self.face(&circle(centre_m, out, radius_m, sides), wood);
        // A little off the face, or it hides them.
        let centre_m = centre_m + out * 0.004;
        for k in 1..=FACE_RINGS {
            let radius_m = radius_m * k as f32 / (FACE_RINGS + 1) as f32;
            self.outline(&circle(centre_m, out, radius_m, sides), ring);
        }
    }

    /// The convex hull of points, each face in the colour of its normal, with its edges as lines
    /// if they have a colour. Points that span no solid are left out.
    pub(crate) fn hull(
        &mut self,
        points_m: &[Vec3],
        colour: impl Fn(Vec3) -> Colour,
        edges: Option<Colour>,
    ) {
        let points: Vec<_> =
            points_m.iter().map(|p| parry3d::math::Vector::new(p.x, p.y, p.z)).collect();
        let Ok((corners, faces)) = try_convex_hull(&points) else { return };
        let corners: Vec<Vec3> = corners.iter().map(|p| Vec3::new(p.x, p.y, p.z)).collect();
        let middle = corners.iter().sum::<Vec3>() / corners.len().max(1) as f32;
        let mut sides: Vec<([u32; 2], Vec3)> = Vec::with_capacity(3 * faces.len());
        for face in faces {
            let [Some(&a), Some(&b), Some(&c)] = face.map(|k| corners.get(k as usize)) else {
                continue;
            };
            let normal = (b - a).cross(c - a).normalize_or_zero();
            if normal == Vec3::ZERO {
                continue;
            }
            let outward = normal.dot(a - middle) >= 0.0;
            let (corners, normal) =
                if outward { ([a, b, c], normal) } else { ([a, c, b], -normal) };
            self.face(&corners, colour(normal));
            let [a, b, c] = face;
            sides.extend([[a, b], [b, c], [c, a]].map(|[p, q]| ([p.min(q), p.max(q)], normal)));
        }
        let Some(edge) = edges else { return };
        sides.sort_by_key(|side| side.0);
        for pair in sides.chunk_by(|a, b| a.0 == b.0) {
            if let [(ends, one), (_, other)] = pair
                && one.dot(*other) < SMOOTH_COS
            {
                let ends: Vec<Vec3> =
                    ends.iter().filter_map(|k| corners.get(*k as usize)).copied().collect();
                self.polyline(&ends, edge);
            }
        }
    }
}

/// Light on a solid's surface: Lambert's cosine wrapped all the way round, so that no two sides of
/// a round thing look the same.
fn shade(normal: Vec3) -> f32 {
    SHADED + (1.0 - SHADED) * 0.5 * (1.0 + normal.dot(toward_light()))
}

fn dimmed([r, g, b, a]: Colour, bright: f32) -> Colour {
    let bright = bright.clamp(0.0, 1.0);
    [r * bright, g * bright, b * bright, a]
}

fn turn_of(side: usize, sides: usize) -> f32 {
    std::f32::consts::TAU * side as f32 / sides as f32
}

/// Points round a circle, anticlockwise seen from where its axis points.
#[must_use]
pub(crate) fn circle(centre_m: Vec3, axis: Vec3, radius_m: f32, sides: usize) -> Vec<Vec3> {
    let (u, v) = square_to(axis);
    (0..sides)
        .map(|side| {
            let (sin, cos) = turn_of(side, sides).sin_cos();
            centre_m + (u * cos + v * sin) * radius_m
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHITE: Colour = [1.0; 4];

    /// Six times the volume inside, by the divergence theorem; negative if it is inside out.
    fn volume_m3(drawn: &Drawn) -> f32 {
        drawn
            .triangles
            .iter()
            .map(|triangle| {
                let [a, b, c] = triangle.map(|k| drawn.points_m[k as usize]);
                a.dot(b.cross(c)) / 6.0
            })
            .sum()
    }

    fn drawn(add: impl FnOnce(&mut Drawn)) -> Drawn {
        let mut drawn = Drawn::default();
        add(&mut drawn);
        assert!(drawn.is_sound());
        drawn
    }

    #[test]
    fn verif_solids_hold_their_volume_and_look_outward() {
        let tilt = Quat::from_rotation_y(0.7) * Quat::from_rotation_x(0.3);
        let axes = [Vec3::X, Vec3::Y, Vec3::Z].map(|axis| tilt * axis);
        let at = Vec3::new(3.0, -2.0, 5.0);
        let half = Vec3::new(1.0, 2.0, 0.5);
        let cuboid = drawn(|d| d.cuboid(at, axes, half, WHITE));
        assert!((volume_m3(&cuboid) - 8.0).abs() < 1e-4);

        let corners: Vec<Vec3> = (0..8)
            .map(|k| {
                let sign = |bit: usize| if k >> bit & 1 == 0 { -1.0 } else { 1.0 };
                at + axes[0] * sign(0) + axes[1] * (2.0 * sign(1)) + axes[2] * (0.5 * sign(2))
            })
            .collect();
        let hull = drawn(|d| d.hull(&corners, |_| WHITE, Some(WHITE)));
        assert!((volume_m3(&hull) - 8.0).abs() < 1e-3);
        assert_eq!(hull.lines.len(), 12, "the edges of a box, without diagonals");

        // A frustum of a 16-sided prism: h/3·(A₁ + √(A₁A₂) + A₂), A = 8 sin(22.5°) r².
        let face = End::Face { wood: WHITE, ring: WHITE };
        let tube = drawn(|d| {
            d.tube(&[at, at + axes[2] * 3.0], &[0.5, 0.25], ROUND_SIDES, [face; 2], WHITE);
        });
        let area = 8.0 * (std::f32::consts::PI / 8.0).sin();
        let want = area * (0.25 + 0.125 + 0.0625);
        assert!((volume_m3(&tube) - want).abs() < 1e-3, "{}", volume_m3(&tube));
    }

    #[test]
    fn verif_a_capsule_reaches_as_far_as_it_says() {
        let (from, to, radius) = (Vec3::new(1.0, 0.0, 2.0), Vec3::new(5.0, 0.0, 2.0), 0.5);
        let capsule = drawn(|d| {
            d.tube(&[from, to], &[radius; 2], ROUND_SIDES, [End::Round; 2], WHITE);
        });
        let (low, high) = capsule.extent_m().unwrap();
        assert!(low.abs_diff_eq(Vec3::new(0.5, -0.5, 1.5), 1e-5), "{low}");
        assert!(high.abs_diff_eq(Vec3::new(5.5, 0.5, 2.5), 1e-5), "{high}");
        // A cylinder and a sphere.
        let want = std::f32::consts::PI * (0.25 * 4.0 + 4.0 / 3.0 * 0.125);
        assert!((volume_m3(&capsule) / want - 1.0).abs() < 0.06, "{}", volume_m3(&capsule));
    }

    #[test]
    fn prop_the_light_turns_with_the_frame() {
        let lit = |turned: Quat| {
            let mut drawn = Drawn::turned(turned);
            drawn.face(&[Vec3::ZERO, Vec3::X, Vec3::Y], WHITE);
            drawn.colours[0][0]
        };
        assert!((lit(Quat::IDENTITY) - shade(Vec3::Z)).abs() < 1e-6);
        assert!((lit(Quat::from_rotation_x(std::f32::consts::PI)) - shade(-Vec3::Z)).abs() < 1e-6);
    }

    #[test]
    fn prop_nothing_comes_of_what_spans_nothing() {
        let nothing = drawn(|d| {
            d.hull(&[Vec3::ZERO, Vec3::X], |_| WHITE, Some(WHITE));
            d.tube(&[], &[], 8, [End::Round; 2], WHITE);
            d.lathe(&[], 8);
            d.face(&[], WHITE);
            d.polyline(&[Vec3::ZERO], WHITE);
            d.outline(&[], WHITE);
        });
        assert_eq!(nothing, Drawn::default());
        assert_eq!(nothing.extent_m(), None);
    }

    #[test]
    fn prop_parts_keep_their_nodes_when_put_together() {
        let mut both = drawn(|d| d.face(&[Vec3::ZERO, Vec3::X, Vec3::Y], WHITE));
        let line = drawn(|d| d.polyline(&[Vec3::Z, Vec3::ONE], WHITE));
        both.append(&line);
        assert!(both.is_sound());
        assert_eq!((both.triangles.clone(), both.lines.clone()), (vec![[0, 1, 2]], vec![[3, 4]]));
        let up = both.clone().moved(|point| point + Vec3::Z);
        assert_eq!(up.extent_m().unwrap().0, Vec3::Z);
        both.lines.push([0, 9]);
        assert!(!both.is_sound());
    }
}
