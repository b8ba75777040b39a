//! Surface elements near a cut face, where no tangent plane says what is in the ground.
//!
//! Next to a wall or bank the ground is the union of a low level and of what lies behind the face
//! ([`crate::terrain::Terrain::depth_m`]), so a disc no longer meets it in one arc. Here the piece
//! carries fixed elements instead: stations every 0.15 m with sixteen points round each, and two
//! rings of eight on each cut face, each loaded by its own depth in that field, which is looked up
//! once a station and carried over its width as planes ([`Locale`]). Depth does not
//! depend on the terrain's cell, so neither does the answer. Fixed elements leak a few per cent of
//! the energy of a touch, which the arcs of [`crate::soil::contact`] do not; so they serve only
//! within reach of a face. Known answer: `verif_a_cut_face_is_the_same_at_any_cell`.

use glam::DVec3;

use crate::{
    motion::Motion,
    soil::{
        bed::Bed,
        contact::{Contact, LEAST_CHORD_M, Node, Quad},
        law::Part,
    },
    tree::{Piece, Round},
};

/// Distance between stations along a round, m.
const STATION_M: f64 = 0.15;
/// Points round a station, four to a quad.
const AROUND: usize = 16;
/// Distance over which the field's slope is taken, m.
const SLOPE_M: f64 = 1e-3;

/// Finds the buried elements of a piece in the depth field.
pub(crate) fn gather(contact: &mut Contact, piece: &Piece, motion: &Motion, bed: &Bed<'_>) {
    for (index, round) in piece.rounds.iter().enumerate() {
        if piece.is_slender(index) {
            continue;
        }
        let from = motion.attitude * round.from_m;
        let to = motion.attitude * round.to_m;
        let length = (to - from).length();
        if length <= 0.0 {
            continue;
        }
        let axis = (to - from) / length;
        let rod = Rod { index, from, axis, length, round: *round, around: around(axis, motion) };
        let stations = (length / STATION_M).ceil() as usize;
        let step = length / stations as f64;
        for i in 0..stations {
            rod.side(contact, piece, motion, bed, step * (i as f64 + 0.5), step);
        }
        for (s, face) in [(0.0, -1), (length, 1)] {
            let free = if face < 0 { round.from_is_face } else { round.to_is_face };
            let [deepest, behind] = rod.nodes(motion, bed, s, if free { face } else { 0 });
            if free && deepest.is_some_and(|node| node.depth_m > 0.0) {
                rod.face(contact, piece, motion, bed, s, f64::from(face));
            }
            contact.nodes.extend(deepest);
            contact.nodes.extend(behind);
        }
    }
}

struct Rod {
    index: usize,
    from: DVec3,
    axis: DVec3,
    length: f64,
    round: Round,
    /// Unit vectors from the axis to the points round a station.
    around: [DVec3; AROUND],
}

/// Unit vectors square to an axis, evenly round it from the lowest one, so that rolling is smooth.
/// They follow the body a little, so that they do not jump when it stands upright.
fn around(axis: DVec3, motion: &Motion) -> [DVec3; AROUND] {
    let down = motion.attitude * (FOLLOWS * DVec3::X) - DVec3::Z;
    let u = (down - axis * down.dot(axis)).try_normalize();
    let u = u.unwrap_or_else(|| axis.any_orthonormal_vector());
    let w = axis.cross(u);
    // Half a step off, then on by a sixteenth of a turn each: one sine and cosine in all.
    let (s, c) = (STEP_SINE, STEP_COSINE);
    let (mut x, mut y) = (HALF_COSINE, HALF_SINE);
    std::array::from_fn(|_| {
        let out = u * x + w * y;
        (x, y) = (x * c - y * s, x * s + y * c);
        out
    })
}

/// Share of a direction of the body in that of the lowest point: see [`around`].
const FOLLOWS: f64 = 0.05;

/// Cosine and sine of π/16 and of π/8, the half and the whole step of [`AROUND`].
const HALF_COSINE: f64 = 0.980_785_280_403_230_4;
const HALF_SINE: f64 = 0.195_090_322_016_128_27;
const STEP_COSINE: f64 = 0.923_879_532_511_286_7;
const STEP_SINE: f64 = 0.382_683_432_365_089_8;

impl Rod {
    fn radius(&self, s: f64) -> f64 {
        self.round.from_radius_m
            + (self.round.to_radius_m - self.round.from_radius_m) * s / self.length
    }

    fn side(
        &self,
        contact: &mut Contact,
        piece: &Piece,
        motion: &Motion,
        bed: &Bed<'_>,
        s: f64,
        length: f64,
    ) {
        let (arm, radius) = (self.from + self.axis * s, self.radius(s));
        let taper = (self.round.to_radius_m - self.round.from_radius_m) / self.length;
        let cosine = 1.0 / (1.0 + taper * taper).sqrt();
        let foot = motion.centre_m + arm;
        let ground = bed.ground_at(foot.x, foot.y);
        let Some(locale) = bed.locale(ground, foot.x, foot.y) else { return };
        let mut points = [(DVec3::ZERO, 0.0); AROUND];
        for (point, out) in points.iter_mut().zip(&self.around) {
            *point = (*out, locale.depth_m(foot + *out * radius));
        }
        let deepest = points.iter().map(|p| p.1).fold(0.0, f64::max);
        if deepest <= 0.0 {
            return;
        }
        contact.buried_m += length;
        let under = deepest.min(radius);
        let chord = 2.0 * (under * (2.0 * radius - under)).sqrt();
        let width = chord.max(LEAST_CHORD_M);
        let law = bed.law(ground);
        let area = std::f64::consts::TAU * radius * length / (AROUND as f64 * cosine);
        for four in points.chunks_exact(4).filter(|four| four.iter().any(|p| p.1 > 0.0)) {
            let mut quad = Quad::empty(law);
            for (lane, (out, depth)) in four.iter().enumerate() {
                let normal = *out * cosine - self.axis * (taper * cosine);
                let share = if *depth > 0.0 { area } else { 0.0 };
                quad.set(lane, normal, arm + *out * radius, share, depth.max(0.0));
                let depth = depth.max(0.0);
                let bearing = law.bearing(Part::Side, depth, width, -normal.z, piece.side_crush_pa);
                quad.bear(lane, &bearing, law.mobilised(depth, chord));
            }
            contact.quads.push(quad);
        }
    }

    fn face(
        &self,
        contact: &mut Contact,
        piece: &Piece,
        motion: &Motion,
        bed: &Bed<'_>,
        s: f64,
        outward: f64,
    ) {
        let (arm, radius) = (self.from + self.axis * s, self.radius(s));
        let foot = motion.centre_m + arm;
        let ground = bed.ground_at(foot.x, foot.y);
        let Some(locale) = bed.locale(ground, foot.x, foot.y) else { return };
        let law = bed.law(ground);
        let normal = self.axis * outward;
        // Two rings of equal area at their root-mean-square radii.
        let outs: [DVec3; AROUND / 2] = std::array::from_fn(|k| self.around[2 * k]);
        let area = std::f64::consts::PI * radius * radius / AROUND as f64;
        for ring in [0.5, 0.75_f64.sqrt()] {
            for four in outs.chunks_exact(4) {
                let mut quad = Quad::empty(law);
                for (lane, out) in four.iter().enumerate() {
                    let at = arm + *out * (ring * radius);
                    let depth = locale.depth_m(motion.centre_m + at).max(0.0);
                    quad.set(lane, normal, at, if depth > 0.0 { area } else { 0.0 }, depth);
                    let width = 2.0 * radius;
                    let bearing =
                        law.bearing(Part::End, depth, width, -normal.z, piece.end_crush_pa);
                    quad.bear(lane, &bearing, law.mobilised(depth, width));
                }
                contact.quads.push(quad);
            }
        }
    }

    /// The deepest point of a station's rim, and the one deepest behind the face, which a piece
    /// close over the low ground would not see coming otherwise.
    fn nodes(&self, motion: &Motion, bed: &Bed<'_>, s: f64, face: i8) -> [Option<Node>; 2] {
        let foot = motion.centre_m + self.from + self.axis * s;
        let ground = bed.ground_at(foot.x, foot.y);
        let Some(locale) = bed.locale(ground, foot.x, foot.y) else { return [None; 2] };
        let node = |depth: &dyn Fn(DVec3) -> Option<f64>| self.node(motion, s, face, ground, depth);
        [node(&|at| Some(locale.depth_m(at))), node(&|at| locale.face_depth_m(at))]
    }

    fn node(
        &self,
        motion: &Motion,
        s: f64,
        face: i8,
        ground: usize,
        depth: &dyn Fn(DVec3) -> Option<f64>,
    ) -> Option<Node> {
        let (arm, radius) = (self.from + self.axis * s, self.radius(s));
        let depth = |arm: DVec3| depth(motion.centre_m + arm);
        let (arm, depth_m) = self
            .around
            .iter()
            .filter_map(|out| Some((arm + *out * radius, depth(arm + *out * radius)?)))
            .reduce(|a, b| if b.1 > a.1 { b } else { a })?;
        let slope = |axis: DVec3| {
            depth(arm - axis * SLOPE_M).zip(depth(arm + axis * SLOPE_M)).map_or(0.0, |(a, b)| a - b)
        };
        let normal = DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z));
        let normal = normal.try_normalize().unwrap_or(DVec3::Z);
        Some(Node {
            depth_m,
            arm_m: arm,
            normal,
            radius_m: radius,
            ground,
            upright: self.axis.dot(normal).abs(),
            face,
            round: self.index,
        })
    }
}
