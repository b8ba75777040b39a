//! Which surface elements of a piece are in the ground, and how hard each is resisted.
//!
//! The axis of every round is split into segments of at most 0.3 m, each with its own buried
//! interval, so that a log bridges hollows. In the interval stand Gauss stations with the terrain
//! looked up at each; a station's disc meets the ground's tangent plane in an arc
//! `|φ| ≤ φ_m`, `cos φ_m = −ψ_c/(R·k)`, on which stand two times four Gauss points in `t = tan(φ/4)`
//! (`cos φ`, `sin φ` and `dφ = 4/(1 + t²)·dt` are rational in t: no trigonometry, and rolling is
//! smooth because the points do not turn with the log); past half a disc they stand in φ itself.
//! A free cut face meets the plane in a circular segment with the same points, each pair at ±1/√3
//! of its chord; past a small segment two strips hold its area and first three moments.
//!
//! ψ depth below the plane (m), ψ_c at the disc's centre, R radius (m), k the sine of the angle
//! between axis and ground normal. Known answers: `verif_buried_area_and_volume_are_those_of_…`.

use glam::DVec3;

use crate::{
    motion::Motion,
    soil::{
        bed::{Bed, Plane},
        field,
        law::{Bearing, Law, Part},
    },
    tree::Piece,
};

/// Longest segment of an axis, m: bumps are 0.4 m apart, and a log over soft ground ran 3 % short
/// with twice this. `verif_halving_v0_or_…` holds it and the points to what finer ones give.
const SEGMENT_M: f64 = 0.3;
/// The chord under a side element is at least this wide, m.
pub(crate) const LEAST_CHORD_M: f64 = 0.05;
/// Gauss–Legendre on four points: abscissae and weights.
const GAUSS4: [[f64; 2]; 4] = [
    [-0.861_136_311_594_052_6, 0.347_854_845_137_453_8],
    [-0.339_981_043_584_856_3, 0.652_145_154_862_546_1],
    [0.339_981_043_584_856_3, 0.652_145_154_862_546_1],
    [0.861_136_311_594_052_6, 0.347_854_845_137_453_8],
];

/// Gauss–Legendre rules on (−1, 1) for the stations of an interval.
const STATIONS: [&[[f64; 2]]; 3] = [
    &[[-0.577_350_269_189_625_8, 1.0], [0.577_350_269_189_625_8, 1.0]],
    &[
        [-0.774_596_669_241_483_4, 0.555_555_555_555_555_6],
        [0.0, 0.888_888_888_888_889],
        [0.774_596_669_241_483_4, 0.555_555_555_555_555_6],
    ],
    &GAUSS4,
];

/// How finely the surface is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Longest segment of an axis, m.
    pub segment_m: f64,
    /// Stations in a segment's buried interval: 2, 3 or 4.
    pub stations: usize,
    /// Quads (of four points) on a station's arc and on a cut face: 1 or more.
    pub arcs: usize,
}

impl Default for Fineness {
    fn default() -> Self {
        Self { segment_m: SEGMENT_M, stations: 2, arcs: 2 }
    }
}

/// Four surface elements that share a station.
#[derive(Clone, Copy, Debug)]
pub struct Quad {
    /// Outward normals, one axis an array.
    pub normal: [[f64; 4]; 3],
    /// Arms from the centre of mass, m.
    pub arm_m: [[f64; 4]; 3],
    /// Areas, m².
    pub area_m2: [f64; 4],
    /// Strength S, Pa.
    pub strength_pa: [f64; 4],
    /// Friction μ.
    pub friction: [f64; 4],
    /// Greatest traction, Pa.
    pub traction_limit_pa: [f64; 4],
    /// Depths, m.
    pub depth_m: [f64; 4],
    /// e² of the ground.
    pub restitution_sq: f64,
    /// c·ρ_s, kg/m³.
    pub inertial_kg_m3: f64,
}

/// A disc of the piece where an axis segment begins or ends.
#[derive(Clone, Copy, Debug)]
pub struct Node {
    /// Depth of its lowest point, m; negative above the ground.
    pub depth_m: f64,
    /// Arm from the centre of mass to its lowest point, m.
    pub arm_m: DVec3,
    /// The ground's normal there.
    pub normal: DVec3,
    /// Radius of the disc, m.
    pub radius_m: f64,
    /// Index of the ground there.
    pub ground: usize,
    /// |axis · ground normal|: 1 when the piece stands upright on the ground.
    pub upright: f64,
    /// It is a free cut face: -1 at a round's `from`, +1 at its `to`, 0 inside.
    pub face: i8,
    /// Which round it belongs to.
    pub round: usize,
}

/// Scratch memory for the elements of one piece; a function of what it is given.
#[derive(Clone, Debug, Default)]
pub struct Contact {
    /// The buried elements.
    pub quads: Vec<Quad>,
    /// The nodes, buried or not.
    pub nodes: Vec<Node>,
    /// Length of axis over buried elements, m.
    pub buried_m: f64,
}

struct Disc {
    centre: DVec3,
    radius: f64,
    /// Unit vector in the disc, steepest into the ground.
    into: DVec3,
    /// Unit vector in the disc, along the ground.
    along: DVec3,
    /// Sine of the angle between axis and ground normal.
    sine: f64,
    /// Depth of the lowest point of the rim.
    low: f64,
    plane: Plane,
    ground: usize,
}

impl Contact {
    /// Volume under the ground's surface of the wood that the first so many quads are of, m³:
    /// Σ depth·A·(n·down) over their elements.
    #[must_use]
    pub fn volume_m3(&self, quads: usize) -> f64 {
        let Some(up) = self.nodes.first().map(|node| node.normal) else { return 0.0 };
        let mut volume = 0.0;
        for quad in self.quads.iter().take(quads) {
            let [x, y, z] = &quad.normal;
            for i in 0..4 {
                let down = -(x[i] * up.x + y[i] * up.y + z[i] * up.z);
                volume += quad.depth_m[i] * quad.area_m2[i] * down;
            }
        }
        volume
    }

    /// Finds the buried elements of a piece.
    pub fn gather(&mut self, piece: &Piece, motion: &Motion, bed: &Bed<'_>, fine: Fineness) {
        self.quads.clear();
        self.nodes.clear();
        self.buried_m = 0.0;
        let at = motion.centre_m;
        if bed.site().terrain.faces.near_face(at.x, at.y, piece.bounding_radius_m()) {
            field::gather(self, piece, motion, bed);
            return;
        }
        for (index, round) in piece.rounds.iter().enumerate() {
            // What bends is not wood that bears: `spray` has it.
            if piece.is_slender(index) {
                continue;
            }
            let from = motion.attitude * round.from_m;
            let to = motion.attitude * round.to_m;
            let length = (to - from).length_squared().sqrt();
            if length <= 0.0 {
                continue;
            }
            let axis = (to - from) / length;
            let taper = (round.to_radius_m - round.from_radius_m) / length;
            // Outward normal of a tapered side: cos α in the disc, sin α along the axis.
            let cosine = 1.0 / (1.0 + taper * taper).sqrt();
            let side = Side { axis, cosine, sine: -taper * cosine, crush_pa: piece.side_crush_pa };
            let segments = (length / fine.segment_m).ceil().max(1.0) as usize;
            let step = length / segments as f64;
            let at = |s: f64, guess: DVec3| {
                let arm = from + axis * s;
                disc(bed, motion.centre_m, arm, axis, round.from_radius_m + taper * s, guess)
            };
            let mut into = steepest(DVec3::Z, axis).0;
            let mut before: Option<Disc> = None;
            for i in 0..=segments {
                let s = step * i as f64;
                let Some(here) = at(s, into) else {
                    before = None;
                    continue;
                };
                into = here.into;
                let face = match i {
                    0 if round.from_is_face => -1,
                    _ if i == segments && round.to_is_face => 1,
                    _ => 0,
                };
                self.note(&here, motion, axis, index, face);
                if face != 0 && here.low > 0.0 {
                    self.face(&here, motion, bed, axis * f64::from(face), piece.end_crush_pa, fine);
                }
                if let Some(last) = before
                    && (last.low > 0.0 || here.low > 0.0)
                {
                    let (mut a, mut b) = (s - step, s);
                    if last.low <= 0.0 {
                        a = edge(&at, b, here.low, a, last.low, into);
                    } else if here.low <= 0.0 {
                        b = edge(&at, a, last.low, b, here.low, into);
                    }
                    // Where discs go under whole the arc stops growing: a knot of its own.
                    self.buried_m += (b - a).max(0.0);
                    let knot = knot(&last, &here, s - step, s).filter(|k| *k > a && *k < b);
                    for (from_s, to_s) in [(a, knot.unwrap_or(b)), (knot.unwrap_or(b), b)] {
                        let half = 0.5 * (to_s - from_s);
                        if half <= 0.0 {
                            continue;
                        }
                        for [x, weight] in STATIONS[fine.stations.clamp(2, 4) - 2] {
                            if let Some(station) = at(from_s + half * (1.0 + x), into)
                                && station.low > 0.0
                            {
                                self.arc(&station, motion, bed, &side, weight * half, fine);
                            }
                        }
                    }
                }
                before = Some(here);
            }
        }
    }

    /// Greatest depth of any node, m; negative when all are above the ground.
    #[must_use]
    pub fn deepest_m(&self) -> f64 {
        self.nodes.iter().map(|node| node.depth_m).fold(f64::NEG_INFINITY, f64::max)
    }

    fn note(&mut self, disc: &Disc, motion: &Motion, axis: DVec3, round: usize, face: i8) {
        self.nodes.push(Node {
            depth_m: disc.low,
            arm_m: disc.centre + disc.into * disc.radius - motion.centre_m,
            normal: disc.plane.normal,
            radius_m: disc.radius,
            ground: disc.ground,
            upright: axis.dot(disc.plane.normal).abs(),
            face,
            round,
        });
    }

    fn arc(
        &mut self,
        disc: &Disc,
        motion: &Motion,
        bed: &Bed<'_>,
        side: &Side,
        length_m: f64,
        fine: Fineness,
    ) {
        let law = bed.law(disc.ground);
        let span = Span::of(disc);
        let chord = 2.0 * disc.radius * span.chord_half();
        let width = chord.max(LEAST_CHORD_M);
        let arm = disc.centre - motion.centre_m;
        for part in 0..fine.arcs {
            let quad = self.next_quad(law);
            for (lane, [x, weight]) in GAUSS4.iter().enumerate() {
                let point = span.point(*x, part, fine.arcs);
                let radial = disc.into * point.cosine + disc.along * point.sine;
                let normal = radial * side.cosine + side.axis * side.sine;
                let depth = (disc.low - disc.radius * disc.sine * (1.0 - point.cosine)).max(0.0);
                let area = weight * point.angle_rad * disc.radius * length_m / side.cosine;
                let bearing = law.bearing(Part::Side, depth, width, -normal.z, side.crush_pa);
                let (normal, area) = interface(&bearing, &disc.plane, normal, area);
                quad.set(lane, normal, arm + radial * disc.radius, area, depth);
                quad.bear(lane, &bearing, law.mobilised(depth, chord));
            }
        }
    }

    /// A quad to fill, where it will stay: copying its 370 bytes costs as much as filling them.
    fn next_quad(&mut self, law: &Law) -> &mut Quad {
        self.quads.push(Quad::empty(law));
        let last = self.quads.len() - 1;
        &mut self.quads[last]
    }

    fn face(
        &mut self,
        disc: &Disc,
        motion: &Motion,
        bed: &Bed<'_>,
        normal: DVec3,
        crush_pa: f64,
        fine: Fineness,
    ) {
        let law = bed.law(disc.ground);
        let span = Span::of(disc);
        let width = 2.0 * disc.radius;
        let chord = width * span.chord_half();
        let arm = disc.centre - motion.centre_m;
        let mut put = |strips: [Strip; 4]| {
            let quad = self.next_quad(law);
            for (lane, strip) in strips.iter().enumerate() {
                let across = disc.radius * strip.half_chord * 3.0_f64.sqrt().recip();
                let down = disc.radius * strip.down;
                let depth = (disc.low - disc.sine * (disc.radius - down)).max(0.0);
                let area = disc.radius * disc.radius * strip.area;
                let offset = disc.into * down + disc.along * across;
                let bearing = law.bearing(Part::End, depth, width, -normal.z, crush_pa);
                let (normal, area) = interface(&bearing, &disc.plane, normal, area);
                quad.set(lane, normal, arm + offset, area, depth);
                quad.bear(lane, &bearing, law.mobilised(depth, chord));
            }
        };
        if fine.arcs <= 2 && span.tan_quarter > TWO_STRIPS_FROM {
            put(two_strips(span.tan_quarter));
            return;
        }
        for part in 0..fine.arcs {
            put(GAUSS4.map(|[x, weight]| {
                let point = span.point(x, part, fine.arcs);
                // A strip across the face at R·cos φ; the two signs of φ hold half of it each.
                Strip {
                    down: point.cosine,
                    half_chord: point.sine,
                    area: point.sine * point.sine * weight * point.angle_rad,
                }
            }));
        }
    }
}

/// Outward normal and area of an element as the ground meets it. Ground that gives way takes the
/// shape of the wood; where the wood gives way, it is the wood that takes the ground's: then the
/// ground's plane is what they meet in, and a rim that is dragged over it rubs and does not plough.
#[inline]
fn interface(bearing: &Bearing, plane: &Plane, normal: DVec3, area_m2: f64) -> (DVec3, f64) {
    if bearing.wood_gives {
        (-plane.normal, area_m2 * (-plane.normal.dot(normal)).max(0.0))
    } else {
        (normal, area_m2)
    }
}

/// Half of a strip across a cut face, in radii.
#[derive(Clone, Copy)]
struct Strip {
    /// Distance from the centre into the ground.
    down: f64,
    /// Half of the chord there, with the sign of the side that this half lies on.
    half_chord: f64,
    area: f64,
}

/// Above this tan(φ_m/4), about φ_m = 0.8, four points in `t` miss the area of a circular segment
/// by more than 1e-4 (a whole disc's by 43 %).
const TWO_STRIPS_FROM: f64 = 0.2;

/// Two strips that hold the area of a circular segment and its first three moments about the
/// centre: the two-point Gauss rule for the weight 2√(1 − x²) on (cos φ_m, 1), by its moments.
fn two_strips(tan_quarter: f64) -> [Strip; 4] {
    let half = 4.0 * libm::atan(tan_quarter);
    let (s, c) = libm::sincos(half);
    let (s2, sc) = (s * s, s * c);
    // ∫ xᵏ·2√(1 − x²) dx, k = 0 to 3, over the area.
    let area = half - sc;
    let mean = 2.0 / 3.0 * s2 * s / area;
    let square = 0.25 * (half - sc * (1.0 - 2.0 * s2)) / area;
    let cube = 2.0 * s2 * s * (1.0 / 3.0 - 0.2 * s2) / area;
    let variance = square - mean * mean;
    let skew = 0.5 * (cube - 3.0 * mean * square + 2.0 * mean * mean * mean) / variance;
    let root = (skew * skew + variance).sqrt();
    let strip = |off: f64, other: f64, side: f64| {
        let down = mean + off;
        let half_chord = side * (1.0 - down * down).max(0.0).sqrt();
        Strip { down, half_chord, area: 0.5 * area * other.abs() / (2.0 * root) }
    };
    let (less, more) = (skew - root, skew + root);
    [
        strip(less, more, 1.0),
        strip(less, more, -1.0),
        strip(more, less, 1.0),
        strip(more, less, -1.0),
    ]
}

impl Quad {
    pub(crate) fn empty(law: &Law) -> Self {
        Self {
            normal: [[0.0; 4]; 3],
            arm_m: [[0.0; 4]; 3],
            area_m2: [0.0; 4],
            strength_pa: [0.0; 4],
            friction: [0.0; 4],
            traction_limit_pa: [0.0; 4],
            depth_m: [0.0; 4],
            restitution_sq: law.restitution_sq,
            inertial_kg_m3: law.inertial_kg_m3,
        }
    }

    #[inline]
    pub(crate) fn bear(&mut self, lane: usize, bearing: &Bearing, mobilised: f64) {
        self.strength_pa[lane] = bearing.strength_pa * mobilised;
        self.friction[lane] = bearing.friction;
        self.traction_limit_pa[lane] = bearing.traction_limit_pa;
    }

    #[inline]
    pub(crate) fn set(
        &mut self,
        lane: usize,
        normal: DVec3,
        arm_m: DVec3,
        area_m2: f64,
        depth_m: f64,
    ) {
        for (axis, (n, r)) in normal.to_array().into_iter().zip(arm_m.to_array()).enumerate() {
            self.normal[axis][lane] = n;
            self.arm_m[axis][lane] = r;
        }
        self.area_m2[lane] = area_m2;
        self.depth_m[lane] = depth_m;
    }
}

struct Side {
    axis: DVec3,
    cosine: f64,
    sine: f64,
    crush_pa: f64,
}

/// The submerged arc of a disc: half of it is `φ_m`, kept as `tan(φ_m/4)`.
struct Span {
    tan_quarter: f64,
}

/// Above this tan(φ_m/4), with the disc more than half under, points stand in φ itself: in `t` the
/// four of a whole disc leave a net push of a tenth of what its width would meet.
const DEEP_ARC: f64 = 0.414;

struct ArcPoint {
    cosine: f64,
    sine: f64,
    /// Arc per unit of the quadrature's abscissa, rad.
    angle_rad: f64,
}

impl Span {
    #[inline]
    fn of(disc: &Disc) -> Self {
        // sin²(φ_m/2) = low/(2·R·k), at most 1.
        let half_sq = disc.low / (2.0 * disc.radius * disc.sine);
        if half_sq >= 1.0 {
            return Self { tan_quarter: 1.0 };
        }
        Self { tan_quarter: half_sq.sqrt() / (1.0 + (1.0 - half_sq).sqrt()) }
    }

    /// sin φ_m, and 1 once the disc is more than half under.
    #[inline]
    fn chord_half(&self) -> f64 {
        let t = self.tan_quarter;
        let (cos_half, sin_half) = ((1.0 - t * t) / (1.0 + t * t), 2.0 * t / (1.0 + t * t));
        if cos_half * cos_half <= 0.5 { 1.0 } else { 2.0 * sin_half * cos_half }
    }

    #[inline]
    fn point(&self, x: f64, part: usize, parts: usize) -> ArcPoint {
        if self.tan_quarter > DEEP_ARC {
            let half = 4.0 * libm::atan(self.tan_quarter);
            let width = 2.0 * half / parts as f64;
            let (sine, cosine) = libm::sincos(-half + width * (part as f64 + 0.5 * (1.0 + x)));
            return ArcPoint { cosine, sine, angle_rad: 0.5 * width };
        }
        let width = 2.0 * self.tan_quarter / parts as f64;
        let t = -self.tan_quarter + width * (part as f64 + 0.5 * (1.0 + x));
        let denominator = 1.0 / (1.0 + t * t);
        let (cos_half, sin_half) = ((1.0 - t * t) * denominator, 2.0 * t * denominator);
        ArcPoint {
            cosine: 1.0 - 2.0 * sin_half * sin_half,
            sine: 2.0 * sin_half * cos_half,
            angle_rad: 0.5 * width * 4.0 * denominator,
        }
    }
}

/// The disc at `arm` from the centre of mass, against the ground under its lowest point, which
/// `guess`, a unit vector in the disc, is near.
#[inline]
fn disc(
    bed: &Bed<'_>,
    centre_of_mass: DVec3,
    arm: DVec3,
    axis: DVec3,
    radius: f64,
    guess: DVec3,
) -> Option<Disc> {
    let centre = centre_of_mass + arm;
    let foot = centre + guess * radius;
    let ground = bed.ground_at(foot.x, foot.y);
    let plane = bed.plane(ground, foot.x, foot.y)?;
    let (into, sine) = steepest(plane.normal, axis);
    let low = plane.depth_m(centre) + radius * sine;
    Some(Disc { centre, radius, into, along: axis.cross(into), sine, low, plane, ground })
}

/// Unit vector across the axis that goes into the ground most steeply, and the sine of the angle
/// between axis and ground normal.
#[inline]
fn steepest(normal: DVec3, axis: DVec3) -> (DVec3, f64) {
    let across = normal - axis * normal.dot(axis);
    // Not glam's length: with its libm feature on it roots in software, to the same bits.
    let sine = across.length_squared().sqrt();
    if sine > 1e-9 { (across * (-1.0 / sine), sine) } else { (axis.any_orthonormal_vector(), 1e-9) }
}

/// Where along a segment discs begin to be under whole, by the depths of its end discs.
#[inline]
fn knot(a: &Disc, b: &Disc, a_s: f64, b_s: f64) -> Option<f64> {
    let over = |disc: &Disc| disc.low - 2.0 * disc.radius * disc.sine;
    let (first, last) = (over(a), over(b));
    ((first > 0.0) != (last > 0.0)).then(|| a_s + (b_s - a_s) * first / (first - last))
}

/// Where the lowest line of a segment crosses the surface: one secant step from both ends, one
/// more after a look.
#[inline]
fn edge(
    at: &impl Fn(f64, DVec3) -> Option<Disc>,
    wet_s: f64,
    wet_depth: f64,
    dry_s: f64,
    dry_depth: f64,
    guess: DVec3,
) -> f64 {
    let first = wet_s + (dry_s - wet_s) * wet_depth / (wet_depth - dry_depth);
    let Some(look) = at(first, guess) else { return first };
    let (s, depth) = if look.low > 0.0 { (dry_s, dry_depth) } else { (wet_s, wet_depth) };
    if (depth - look.low).abs() < 1e-12 {
        return first;
    }
    (first + (s - first) * look.low / (look.low - depth)).clamp(wet_s.min(dry_s), wet_s.max(dry_s))
}
