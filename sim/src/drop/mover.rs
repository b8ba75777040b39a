//! One moving body on the ground: drift half a step, kick, drift half a step.
//!
//! The step is a Strang splitting: position and attitude move half a step with the old twist, the
//! ground and gravity act at that mid-step geometry ([`kick`]), and position and attitude move
//! half a step with the new twist. So the centre moves by the mean of old and new velocity, flight
//! under gravity is exact, rotation is the closed form of [`turn`], and for a law with a potential
//! (e = 1, μ = c = 0) the step is the Störmer–Verlet rule, second order and without drift. With
//! geometry from the step's start instead, energy grows by about half a step's phase in each
//! contact.
//!
//! How long a step may be is judged at the nodes: some two dozen steps across the penetration that
//! would stop each closing node, and no node may end a step deeper than that by which it
//! was not yet seen. Known answers: `verif_flight_is_a_parabola` and the rebound tests.

use glam::{DMat3, DQuat, DVec3};

use crate::{
    GRAVITY_M_S2,
    drop::free::{angular_momentum, spin_rad_s, turn},
    motion::Motion,
    soil::{
        bed::Bed,
        contact::{Contact, Fineness, Node},
        kick::{Exactness, Inertia, Kicked, Ledger, Loads, Twist, kick},
        law::Part,
        spray::{self, Press, Worn},
    },
    tree::Piece,
};

use super::drag::drag;

/// Numbers that set how finely a drop is stepped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Steps across the estimated penetration of a hard touch.
    pub steps_across: f64,
    /// Longest step while touching ground too hard to sink into, s.
    pub longest_touching_s: f64,
    /// Longest step while touching ground, however deep the piece has sunk, s.
    pub longest_sunk_s: f64,
    /// Longest step in flight, s.
    pub longest_flight_s: f64,
    /// Share of 1/ω, ω the swing of the piece on a line, that a step may take.
    pub line_share: f64,
    /// Shortest step, s.
    pub shortest_s: f64,
    /// How finely the surface is sampled.
    pub fineness: Fineness,
    /// How exactly a step is solved.
    pub exactness: Exactness,
}

impl Default for Pace {
    fn default() -> Self {
        Self {
            steps_across: 26.0,
            longest_touching_s: 2e-3,
            longest_sunk_s: 8e-3,
            longest_flight_s: 0.1,
            line_share: 0.05,
            shortest_s: 1e-5,
            fineness: Fineness::default(),
            exactness: Exactness::default(),
        }
    }
}

/// A touch at this closing speed and above gets all of [`Pace::steps_across`], m/s; a gentler one
/// proportionally fewer, because what it could give back is little.
const HARD_TOUCH_M_S: f64 = 2.0;
/// What meets the ground with a rim or on a bump is stopped late in its penetration, because the
/// patch widens as it deepens: a step is fitted to this many times the penetration estimated, which
/// is estimated from below, and speeds count double. Ours: the most at which what touches return
/// over e² stays within 2 % of the work put in, `verif_a_touch_returns_at_most_…`.
const WIDENING_COUNTS: f64 = 1.6;
/// See [`WIDENING_COUNTS`].
const WIDENING_HARD_TOUCH_M_S: f64 = 0.5 * HARD_TOUCH_M_S;
/// No touch gets fewer steps than this across its penetration.
const FEWEST_ACROSS: f64 = 4.0;
/// A cut face leads when the axis is at least this much upright (|axis · normal|).
const FACE_LEADS: f64 = 0.35;
/// Slower than this nothing needs resolving: half of 900 kg at it is a joule, m/s.
const GENTLE_M_S: f64 = 0.05;
/// Share of the time in which the ground would give way that one step may take.
const SUNK_SHARE: f64 = 0.25;
/// A piece buried along this share of its length meets the ground with all of it.
const ALONG_ALL: f64 = 0.9;
/// The step that ends a flight may bury this share of what a step in the ground may: what it
/// buries was never paid for, and it says where the piece came down.
const FIRST_TOUCH_SHARE: f64 = 0.3;
/// Share of a gap that one flight step may use up.
const GAP_SHARE: f64 = 0.6;
/// Furthest that any part moves in a step with a cut face about, m: its nodes see the ground below
/// them and the face only from its band on.
const NEAR_FACE_M: f64 = 0.05;
/// Way of a spray that one step may press into anything, m. Numerical: its springs are soft.
const SPRAY_WAY_M: f64 = 0.02;
/// Share of 1/ω, ω a spray's own swing under the piece, that one step may take. Numerical.
const SWING_SHARE: f64 = 0.5;
/// Longest step of a piece with brush, s: drag turns it meanwhile.
const BRUSH_STEP_S: f64 = 0.02;
/// Share of the memory of the hardest closing speed that fades over as many steps as lie across
/// its penetration, however fine they are.
const PEAK_FADES: f64 = 1.04;

/// A moving body with its scratch memory.
#[derive(Clone, Debug)]
pub struct Mover<'a> {
    /// The body.
    pub piece: &'a Piece,
    /// Centre of mass, m.
    pub centre_m: DVec3,
    /// Attitude.
    pub attitude: DQuat,
    /// Velocity, m/s.
    pub velocity_m_s: DVec3,
    /// Angular momentum about the centre, kg m²/s.
    pub momentum: DVec3,
    /// Elements in the ground at the last mid-step.
    pub contact: Contact,
    /// Work put into the ground and returned in this touch.
    pub ledger: Ledger,
    /// What has become of each spray of its brush.
    pub worn: Vec<Worn>,
    /// Where its brush stands to the ground, and to solids it is pressed into.
    pub presses: Vec<Press>,
    /// What its brush is pressed into besides the ground, put here before a step.
    pub solids: Vec<Press>,
    /// Force, N, and torque about the centre, N m, of the lines that hold it, put here before a step.
    pub lines: Option<(DVec3, DVec3)>,
    /// Elements of its stiff rounds at the last mid-step; those of brush follow them.
    stiff_quads: usize,
    peak_closing_m_s: f64,
    next_step_s: f64,
    strengths: Vec<[[f64; 2]; 2]>,
    length_m: f64,
    bounding_radius_m: f64,
}

impl<'a> Mover<'a> {
    /// A body at a moment.
    #[must_use]
    pub fn new(piece: &'a Piece, motion: &Motion, bed: &Bed<'_>) -> Self {
        let radius = piece.rounds.first().map_or(0.1, |r| 0.5 * (r.from_radius_m + r.to_radius_m));
        let grounds = bed.site().patches.len() + 1;
        let strengths = (0..grounds)
            .map(|g| {
                let at = |part, crush| bed.law(g).surface_strength_pa(part, 2.0 * radius, crush);
                [at(Part::Side, piece.side_crush_pa), at(Part::End, piece.end_crush_pa)]
            })
            .collect();
        let mut mover = Self {
            piece,
            centre_m: motion.centre_m,
            attitude: motion.attitude,
            velocity_m_s: motion.velocity_m_s,
            momentum: DVec3::ZERO,
            contact: Contact::default(),
            ledger: Ledger::default(),
            worn: vec![Worn::default(); piece.brush.sprays.len()],
            presses: Vec::new(),
            solids: Vec::new(),
            lines: None,
            stiff_quads: 0,
            peak_closing_m_s: 0.0,
            next_step_s: 0.0,
            strengths,
            length_m: piece.length_m(),
            bounding_radius_m: piece.bounding_radius_m(),
        };
        mover.momentum = angular_momentum(motion.attitude, motion.spin_rad_s, piece.inertia_kg_m2);
        mover
    }

    /// Where it is and how it moves.
    #[must_use]
    pub fn motion(&self) -> Motion {
        Motion {
            centre_m: self.centre_m,
            attitude: self.attitude,
            velocity_m_s: self.velocity_m_s,
            spin_rad_s: self.spin_rad_s(),
        }
    }

    /// Angular velocity, rad/s.
    #[must_use]
    pub fn spin_rad_s(&self) -> DVec3 {
        spin_rad_s(self.attitude, self.momentum, self.piece.inertia_kg_m2)
    }

    /// Kinetic energy, J.
    #[must_use]
    pub fn kinetic_j(&self) -> f64 {
        0.5 * self.piece.mass_kg * self.velocity_m_s.length_squared()
            + 0.5 * self.momentum.dot(self.spin_rad_s())
    }

    /// Mass and world inertia at the present attitude.
    #[must_use]
    pub fn inertia(&self) -> Inertia {
        let r = DMat3::from_quat(self.attitude);
        Inertia {
            mass_kg: self.piece.mass_kg,
            tensor_kg_m2: r * DMat3::from_diagonal(self.piece.inertia_kg_m2) * r.transpose(),
        }
    }

    /// How long the next step may be, s; first call [`Mover::look`].
    #[must_use]
    pub fn next_step_s(&self) -> f64 {
        self.next_step_s
    }

    /// Looks at the ground where the body is, to judge the first step.
    pub fn look(&mut self, bed: &Bed<'_>, pace: &Pace) {
        let motion = self.motion();
        self.gather(&motion, bed, pace);
        let twist = Twist { linear_m_s: self.velocity_m_s, angular_rad_s: self.spin_rad_s() };
        self.judge(&twist, bed, pace, 0.0);
    }

    /// Finds what of it is in the ground, and where its brush is pressed into anything.
    fn gather(&mut self, motion: &Motion, bed: &Bed<'_>, pace: &Pace) {
        self.contact.gather(self.piece, motion, bed, pace.fineness);
        self.stiff_quads = self.contact.quads.len();
        let brush = &self.piece.brush;
        if !brush.is_empty() {
            spray::on_ground(brush, motion, bed, &mut self.presses);
            self.presses.extend_from_slice(&self.solids);
            spray::gather(brush, &self.worn, &self.presses, bed.law(0), &mut self.contact.quads);
        }
    }

    /// Whether the ground pushes on it, brush and all.
    #[must_use]
    pub fn is_on_ground(&self) -> bool {
        let on_ground = self.presses.len() - self.solids.len().min(self.presses.len());
        self.stiff_quads > 0 || self.presses.iter().take(on_ground).any(|p| p.depth_m > 0.0)
    }

    /// Volume of its stiff wood in the ground at the last mid-step, m³; brush digs nothing.
    #[must_use]
    pub fn dug_m3(&self) -> f64 {
        self.contact.volume_m3(self.stiff_quads)
    }

    /// Of its brush what is deepest in the ground, where no stiff part is in it.
    #[must_use]
    pub fn brush_alone(&self) -> Option<&Press> {
        let on_ground = self.presses.len() - self.solids.len().min(self.presses.len());
        let presses = self.presses.iter().take(on_ground).filter(|p| p.depth_m > 0.0);
        let deepest = presses.reduce(|a, b| if b.depth_m > a.depth_m { b } else { a });
        deepest.filter(|_| self.stiff_quads == 0)
    }

    /// Moves with the present twist for `dt_s`, untouched by anything.
    pub fn drift(&mut self, dt_s: f64) {
        self.centre_m += self.velocity_m_s * dt_s;
        self.attitude = turn(self.attitude, self.momentum, self.piece.inertia_kg_m2, dt_s);
    }

    /// Lets the ground and gravity act for `dt_s` where the body is now.
    pub fn push(&mut self, bed: &Bed<'_>, gravity: DVec3, dt_s: f64, pace: &Pace) -> Kicked {
        let motion = self.motion();
        self.gather(&motion, bed, pace);
        let inertia = self.inertia();
        let before = Twist { linear_m_s: motion.velocity_m_s, angular_rad_s: motion.spin_rad_s };
        let mut loads = Loads {
            force_n: gravity * self.piece.mass_kg,
            torque_n_m: DVec3::ZERO,
            resistance_n: self.resistance_n(bed),
        };
        if !self.piece.brush.is_empty() {
            // At the velocity of mid-step, so that the step stays of second order.
            let half_s = 0.5 * dt_s;
            let (slows_n, _) = drag(&self.piece.brush, &motion, gravity * half_s);
            let ahead_m_s = (gravity + slows_n / self.piece.mass_kg) * half_s;
            let (force_n, torque_n_m) = drag(&self.piece.brush, &motion, ahead_m_s);
            loads.force_n += force_n;
            loads.torque_n_m += torque_n_m;
        }
        if let Some((force_n, torque_n_m)) = self.lines {
            loads.force_n += force_n;
            loads.torque_n_m += torque_n_m;
        }
        let kicked = kick(
            &self.contact.quads,
            &inertia,
            before,
            &loads,
            dt_s,
            &pace.exactness,
            &mut self.ledger,
        );
        self.set_twist(&kicked.twist, &inertia);
        if !self.presses.is_empty() {
            let Twist { linear_m_s, angular_rad_s } = kicked.twist;
            let at = |arm_m: DVec3| linear_m_s + angular_rad_s.cross(arm_m);
            spray::wear(&self.piece.brush, &mut self.worn, &self.presses, at, dt_s);
        }
        self.judge(&kicked.twist, bed, pace, dt_s);
        kicked
    }

    /// Force of the undergrowth that the piece is in, N.
    fn resistance_n(&self, bed: &Bed<'_>) -> f64 {
        let Some(node) = self.contact.nodes.first() else { return 0.0 };
        let Some(thicket) = bed.thicket(node.ground) else { return 0.0 };
        if -self.contact.deepest_m() > thicket.height_m {
            return 0.0;
        }
        let stem = self.attitude * (self.piece.top_m() - self.piece.butt_m());
        let swept = stem.cross(self.velocity_m_s.normalize_or_zero()).length();
        thicket.force_n_m * (swept + 2.0 * node.radius_m)
    }

    /// Gives it a twist.
    pub fn set_twist(&mut self, twist: &Twist, inertia: &Inertia) {
        self.velocity_m_s = twist.linear_m_s;
        self.momentum = inertia.tensor_kg_m2 * twist.angular_rad_s;
    }

    /// One whole step of `dt_s` under gravity and the ground.
    pub fn step(&mut self, bed: &Bed<'_>, gravity: DVec3, dt_s: f64, pace: &Pace) -> Kicked {
        self.drift(0.5 * dt_s);
        let kicked = self.push(bed, gravity, dt_s, pace);
        self.drift(0.5 * dt_s);
        kicked
    }

    /// Judges how long the next step may be from what the nodes are about to do.
    fn judge(&mut self, twist: &Twist, bed: &Bed<'_>, pace: &Pace, dt_s: f64) {
        let touching = !self.contact.quads.is_empty();
        let mut step = if touching { self.longest_touching_s(pace) } else { pace.longest_flight_s };
        let spin_sq = twist.angular_rad_s.length_squared();
        let speed = twist.linear_m_s.length();
        let mut hardest: Option<(f64, Node)> = None;
        for node in &self.contact.nodes {
            let velocity = twist.linear_m_s + twist.angular_rad_s.cross(node.arm_m);
            let closing = -velocity.dot(node.normal);
            // Supported by other nodes and hardly closing: what it could bury is nothing.
            if touching && node.depth_m <= 0.0 && closing < GENTLE_M_S {
                continue;
            }
            if node.depth_m > 0.0 {
                // Leaving matters as much as closing: what is given back is given back there.
                let closing = closing.abs();
                if closing > GENTLE_M_S {
                    step = step.min(self.resolution_m(closing, node, bed, pace) / closing);
                }
                if hardest.is_none_or(|(most, _)| closing > most) {
                    hardest = Some((closing, *node));
                }
                continue;
            }
            // The half step still to drift uses up some of the gap.
            let gap = (-node.depth_m - closing * 0.5 * dt_s).max(0.0);
            let bound = closing.max(if touching { 0.0 } else { 0.2 * speed });
            let into = self.resolution_m(bound.max(GENTLE_M_S), node, bed, pace);
            let room = GAP_SHARE * gap + if touching { into } else { FIRST_TOUCH_SHARE * into };
            let bend = GRAVITY_M_S2 + spin_sq * node.arm_m.length();
            step = step.min(2.0 * room / (bound + (bound * bound + 2.0 * bend * room).sqrt()));
        }
        self.peak_closing_m_s *= 1.0 - PEAK_FADES / pace.steps_across;
        if let Some((closing, node)) = hardest {
            self.peak_closing_m_s = self.peak_closing_m_s.max(closing);
            let peak = self.peak_closing_m_s;
            if peak > GENTLE_M_S && peak > closing {
                step = step.min(self.resolution_m(peak, &node, bed, pace) / peak);
            }
        }
        if !self.piece.brush.is_empty() {
            step = self.brush_step_s(step.min(BRUSH_STEP_S), twist, dt_s);
        }
        let radius = self.bounding_radius_m;
        let (at, swept) = (self.centre_m, speed + spin_sq.sqrt() * radius);
        if bed.site().terrain.faces.near_face(at.x, at.y, radius + swept * step) {
            step = step.min(NEAR_FACE_M / swept.max(GENTLE_M_S));
        }
        self.next_step_s = step.max(pace.shortest_s);
    }

    /// The longest step up to `most_s` in which no spray is pressed in by more than it may.
    fn brush_step_s(&self, most_s: f64, twist: &Twist, dt_s: f64) -> f64 {
        self.presses.iter().fold(most_s, |step, press| {
            let velocity = twist.linear_m_s + twist.angular_rad_s.cross(press.arm_m);
            let closing = -velocity.dot(press.normal);
            if press.depth_m > 0.0 {
                let sways_s = self.spring_time_s(press);
                return step.min(SPRAY_WAY_M / closing.abs().max(GENTLE_M_S)).min(sways_s);
            }
            let gap = (-press.depth_m - closing * 0.5 * dt_s).max(0.0);
            let room = GAP_SHARE * gap + SPRAY_WAY_M;
            let bound = closing.max(0.2 * twist.linear_m_s.length());
            let bend = GRAVITY_M_S2 + twist.angular_rad_s.length_squared() * press.arm_m.length();
            step.min(2.0 * room / (bound + (bound * bound + 2.0 * bend * room).sqrt()))
        })
    }

    /// The part of a spray's own swing that one step may take, s: its push is that of the step's
    /// geometry, and such a step is stable up to 2/ω.
    fn spring_time_s(&self, press: &Press) -> f64 {
        let Some(spray) = self.piece.brush.sprays.get(press.spray) else { return f64::INFINITY };
        let worn = self.worn.get(press.spray).copied().unwrap_or_default();
        let limb = spray
            .carrier
            .filter(|_| !worn.broken)
            .filter(|_| press.depth_m > spray.radius_m - spray.wood_radius_m);
        let stiffness = spray.twigs.stiffness_n_m + limb.map_or(0.0, |c| c.bending.stiffness_n_m);
        let turning = self.attitude.inverse() * press.arm_m.cross(press.normal);
        let yielding = 1.0 / self.piece.mass_kg + turning.dot(turning / self.piece.inertia_kg_m2);
        SWING_SHARE / (stiffness * yielding).max(1e-9).sqrt()
    }

    /// What bears the piece's weight at depth z gives way in about √(z/g); where nothing is being
    /// stopped or thrown back, a step is a part of that.
    fn longest_touching_s(&self, pace: &Pace) -> f64 {
        if self.peak_closing_m_s > GENTLE_M_S {
            return pace.longest_touching_s;
        }
        let sunk_s = (self.contact.deepest_m().max(0.0) / GRAVITY_M_S2).sqrt();
        (SUNK_SHARE * sunk_s).clamp(pace.longest_touching_s, pace.longest_sunk_s)
    }

    /// How far a node closing at `closing_m_s` may move in one step, m.
    ///
    /// That is a share of the penetration that would stop it, estimated from below: what meets the
    /// ground along its whole length or with a whole face is stopped soonest; what meets it with a
    /// rim, or over the part of its length that is buried so far, goes deeper.
    fn resolution_m(&self, closing_m_s: f64, node: &Node, bed: &Bed<'_>, pace: &Pace) -> f64 {
        let turning = node.arm_m.cross(node.normal);
        let body = self.attitude.inverse() * turning;
        let yielding = 1.0 / self.piece.mass_kg + body.dot(body / self.piece.inertia_kg_m2);
        let energy = 0.5 * closing_m_s * closing_m_s / yielding;
        let top = bed.law(node.ground).top_depth_m();
        let radius = node.radius_m.max(0.01);
        let [side, end] = self.strengths[node.ground];
        let root = (2.0 * radius).sqrt();
        let whole = if node.face != 0 && node.upright > FACE_LEADS {
            let area = std::f64::consts::PI * radius * radius;
            let [soft, hard] = end;
            let strength = if energy < soft * area * top { soft } else { hard };
            energy / (strength * area)
        } else {
            // Volume under a round side pressed in by δ: (4/3)·√(2R)·δ^(3/2) a metre.
            let per_length = 4.0 / 3.0 * root * self.length_m;
            let [soft, hard] = side;
            let strength = if energy < soft * per_length * top * top.sqrt() { soft } else { hard };
            power(energy / (strength * per_length), 2.0 / 3.0)
        };
        let across = |hard_touch: f64| {
            (pace.steps_across * (closing_m_s / hard_touch).min(1.0)).max(FEWEST_ACROSS)
        };
        let mut room = whole / across(HARD_TOUCH_M_S);
        // What widens as it deepens: `full`·√(2R)·δ^(5/2)/`fall`, depth falling off by `fall` a
        // metre of axis.
        let mut partly = |fall: f64, full: f64, [soft, hard]: [f64; 2]| {
            let energy = energy * fall / (full * root);
            let strength = if energy < soft * top * top * top.sqrt() { soft } else { hard };
            let deep = WIDENING_COUNTS * power(energy / strength, 0.4);
            room = room.max(deep / across(WIDENING_HARD_TOUCH_M_S).max(2.0 * FEWEST_ACROSS));
        };
        if node.face != 0 {
            // Volume under a rim, u = |axis · normal|: (8/15)·√(2R)·δ^(5/2)/(u·(1−u²)^(3/4)).
            let level = (1.0 - node.upright * node.upright).max(0.0).sqrt();
            partly(node.upright * level * level.sqrt(), 8.0 / 15.0, end);
        } else if node.depth_m > 0.0
            && self.contact.buried_m > 0.0
            && self.contact.buried_m < ALONG_ALL * self.length_m
        {
            // Two slopes of a bump that is `buried_m` wide so far: (π/4)·√(2R)·δ^(5/2)/fall.
            partly(node.depth_m / self.contact.buried_m, std::f64::consts::FRAC_PI_4, side);
        }
        room
    }
}

/// `x` to a power between 0 and 1, to 6 %, which serves a step length: the exponent scaled as a
/// fixed-point number, the same on every machine.
#[inline]
fn power(x: f64, exponent: f64) -> f64 {
    const ONE: i64 = 1.0_f64.to_bits() as i64;
    let scaled = (x.max(0.0).to_bits() as i64 - ONE) as f64 * exponent;
    f64::from_bits((scaled as i64 + ONE) as u64)
}
