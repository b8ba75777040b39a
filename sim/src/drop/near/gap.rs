//! Which bodies a piece is near, which it touches, and how far it may go before the next look.
//!
//! Invariant: a body alters a drop only from within reach. Before a step the bodies are looked at
//! whose gap could shrink, in that step, to the near margin (to nothing for what is only noted);
//! they alone shorten it, by their gap at that moment, and only what has come near takes part in
//! contact. Of every other body the drop's bits know nothing: it may stand elsewhere, or not at
//! all. How far that is from the piece is said with each look ([`Look::reach_m`]).
//!
//! A gap shrinks no faster than the surfaces close, so from one look on it is known to be at least
//! something, and while that is out of reach the body costs one comparison a step. What is known
//! of one body never depends on another.
//!
//! The least gap of a whole drop is measured afterwards, from where the piece went
//! ([`Passage`](super::Passage)): that alters nothing.

use glam::{DQuat, DVec3};

use crate::{GRAVITY_M_S2, motion::Motion, site::Body, tree::Piece};

use super::form::{Form, Role, Solid, Solids, gap_below_m};

/// A solid is near from this gap on, m, and what the surfaces close in [`NEAR_STEP_S`].
const NEAR_IN_M: f64 = 0.3;

/// Longest step next to something solid, s; no body shortens a step below it.
pub const NEAR_STEP_S: f64 = 1e-3;

/// A solid is no longer near beyond this gap, m.
const NEAR_OUT_M: f64 = 0.6;

/// Least way between looks, m.
const LOOK_M: f64 = 0.005;

/// Flight steps are no longer than this, s: what gravity adds to a speed on average is half of it.
const FLIGHT_S: f64 = 0.1;

/// Gap between the surfaces of a piece at `motion` and a body, m: 0 when they touch or overlap,
/// `f64::INFINITY` for a body without shapes. Made for a few calls; [`GapWatch`] is for many.
#[must_use]
pub fn gap_m(piece: &Piece, motion: &Motion, body: &Body) -> f64 {
    let solids = Solids::new(std::slice::from_ref(body));
    solids.bodies.first().map_or(f64::INFINITY, |solid| {
        gap_below_m(&Form::whole(piece), motion, &solid.form, &solid.start, f64::INFINITY)
    })
}

/// Gap between the surfaces of two bodies that stand still, m: 0 when they touch or overlap,
/// infinite where one has no shapes.
#[must_use]
pub fn clearance_m(a: &Body, b: &Body) -> f64 {
    let solids = Solids::new(&[a.clone(), b.clone()]);
    match &solids.bodies[..] {
        [a, b] => gap_below_m(&a.form, &a.start, &b.form, &b.start, f64::INFINITY),
        _ => f64::INFINITY,
    }
}

/// `attitude` after a small turn given as a rotation vector in the world frame, rad.
pub(super) fn turned(attitude: DQuat, turn_rad: DVec3) -> DQuat {
    let half = 0.5 * turn_rad;
    (DQuat::from_xyzw(half.x, half.y, half.z, 1.0) * attitude).normalize()
}

/// A bound on how fast any point of a body's surface moves in a coming flight step, m/s.
///
/// A turn about the long axis moves only what is off it: a log that rolls spins fast and its ends
/// go no faster than the log.
#[must_use]
pub fn surface_speed_m_s(motion: &Motion, size: &Size) -> f64 {
    let spin = motion.attitude.conjugate() * motion.spin_rad_s;
    let about = spin.dot(size.axis);
    motion.velocity_m_s.length()
        + (spin - size.axis * about).length() * size.far_m
        + about.abs() * size.off_axis_m
        + 0.5 * GRAVITY_M_S2 * FLIGHT_S
}

/// How far a piece's surface is from its centre and from its long axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Unit vector from butt to top, in the body frame.
    pub axis: DVec3,
    /// Greatest distance of a point from the centre of mass, m.
    pub far_m: f64,
    /// Greatest distance of a point from the line through the centre of mass along `axis`, m.
    pub off_axis_m: f64,
    /// The same for what isn't of the main stem, m; 0 without stubs.
    pub stubs_m: f64,
}

impl Size {
    /// Measures a piece.
    #[must_use]
    pub fn new(piece: &Piece) -> Self {
        let axis = (piece.top_m() - piece.butt_m()).normalize_or(DVec3::Z);
        let off = |p: DVec3| (p - axis * p.dot(axis)).length();
        let far = |rounds: &[crate::tree::Round]| {
            let ends = |r: &crate::tree::Round| {
                (off(r.from_m) + r.from_radius_m).max(off(r.to_m) + r.to_radius_m)
            };
            rounds.iter().map(ends).fold(0.0, f64::max)
        };
        let soft_m = far(&piece.soft_rounds().collect::<Vec<_>>());
        Self {
            axis,
            far_m: piece.bounding_radius_m(),
            off_axis_m: far(&piece.rounds).max(soft_m),
            stubs_m: far(piece.rounds.get(piece.stem_rounds..).unwrap_or(&[])).max(soft_m),
        }
    }

    /// A bound on how far any point of the piece is in one pose from the piece in another, m: a
    /// round that turned about its own axis is where it was.
    #[must_use]
    pub fn apart_m(&self, a: (DVec3, DQuat), b: (DVec3, DQuat)) -> f64 {
        let centre_m = a.0.distance(b.0);
        let tilt = (a.1 * self.axis).distance(b.1 * self.axis);
        let turn = if self.stubs_m > 0.0 {
            // The quaternions of a turn by θ differ by 2·sin(θ/4), so θ is at most π times that.
            let same = if a.1.dot(b.1) < 0.0 { -b.1 } else { b.1 };
            std::f64::consts::PI * (a.1 - same).length()
        } else {
            0.0
        };
        centre_m + tilt * self.far_m + turn * self.stubs_m
    }
}

/// What a look found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// [`GapWatch::near`] is another list than before.
    pub near_changed: bool,
    /// [`GapWatch::touched`] holds bodies touched for the first time.
    pub touched: bool,
    /// The next step may be this long, s.
    pub step_s: f64,
    /// No body further from the piece than this had a part in anything, m.
    pub reach_m: f64,
}

/// What is known of one body.
#[derive(Clone, Copy, Debug)]
struct Watched {
    /// The gap is at least this, m.
    least_m: f64,
    /// And at most this, m.
    most_m: f64,
    near: bool,
    touched: bool,
    /// The piece's brush was among it before the piece left: only its stiff rounds count.
    stiff_only: bool,
}

impl Watched {
    /// The gap, if it matters to a step within whose reach bodies are `in_reach_m` away or nearer:
    /// to whether the body is near, to whether it is touched, to how long the step may be.
    fn gap_m(
        &mut self,
        form: &Form,
        piece: &Motion,
        solid: &Solid,
        at: &Motion,
        in_reach_m: f64,
    ) -> Option<f64> {
        if self.near {
            if self.most_m < NEAR_OUT_M && (self.touched || self.least_m > 0.0) {
                return None;
            }
        } else {
            if self.least_m > in_reach_m || (self.touched && solid.role == Role::Noted) {
                return None;
            }
            let middles_m =
                form.middle_in_world_m(piece).distance(solid.form.middle_in_world_m(at));
            self.least_m = middles_m - form.bound_m - solid.form.bound_m;
            if self.least_m > in_reach_m {
                return None;
            }
        }
        Some(gap_below_m(form, piece, &solid.form, at, f64::INFINITY))
    }

    /// Notes the gap; the body is near below `near_m`.
    fn note(&mut self, gap_m: f64, near_m: f64) {
        self.near = gap_m < near_m;
        self.touched |= gap_m == 0.0;
        // A touch of what is near is known to the least way between looks.
        self.least_m = if self.near { gap_m.max(LOOK_M) } else { gap_m };
        self.most_m = gap_m;
    }
}

/// Slot of each body among the free ones, from 1; 0 for what stands.
fn slots(solids: &Solids) -> Vec<usize> {
    let mut free = 0;
    let slots = solids.bodies.iter().map(|s| {
        free += usize::from(s.role == Role::Free);
        if s.role == Role::Free { free } else { 0 }
    });
    slots.collect()
}

/// The speed of slot `slot`, m/s; what isn't there lies still.
fn own(speeds_m_s: &[f64], slot: usize) -> f64 {
    speeds_m_s.get(slot).copied().unwrap_or(0.0)
}

/// Follows which bodies a piece is near through a drop.
#[derive(Clone, Debug)]
pub struct GapWatch {
    form: FormBox,
    /// Its stiff rounds alone, where it has brush.
    stiff: Option<FormBox>,
    bodies: Vec<Watched>,
    /// Slot of each body among the free ones, from 1; 0 for what stands.
    slots: Vec<usize>,
    near: Vec<usize>,
    touched: Vec<usize>,
    /// Of the piece and the free bodies at the last look, m/s.
    speeds_m_s: Vec<f64>,
    looks: u64,
}

#[derive(Clone)]
struct FormBox(Form);

impl std::fmt::Debug for FormBox {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} parts", self.0.parts.len())
    }
}

impl GapWatch {
    /// A watch for `piece` over all of `solids`.
    #[must_use]
    pub fn new(solids: &Solids, piece: &Piece) -> Self {
        let unseen = Watched {
            least_m: 0.0,
            most_m: f64::INFINITY,
            near: false,
            touched: false,
            stiff_only: false,
        };
        Self {
            form: FormBox(Form::whole(piece)),
            stiff: (!piece.brush.is_empty()).then(|| FormBox(Form::of_piece(piece))),
            slots: slots(solids),
            bodies: vec![unseen; solids.bodies.len()],
            near: Vec::new(),
            touched: Vec::new(),
            speeds_m_s: Vec::new(),
            looks: 0,
        }
    }

    /// The same of one of the bodies themselves, which is not near itself.
    #[must_use]
    pub fn but(mut self, body: usize) -> Self {
        if let Some(own) = self.bodies.get_mut(body) {
            // No way that anything goes brings it into reach.
            own.least_m = f64::INFINITY;
        }
        self
    }

    /// A body that was held has been let go, as `solids` know already.
    pub fn let_go(&mut self, solids: &Solids, body: usize) {
        self.slots = slots(solids);
        let slot = self.slots.get(body).copied().unwrap_or(0);
        if !self.speeds_m_s.is_empty() {
            self.speeds_m_s.insert(slot.min(self.speeds_m_s.len()), 0.0);
        }
        if let Some(watched) = self.bodies.get_mut(body) {
            // Its shape has changed by a rim.
            (watched.least_m, watched.most_m) = (0.0, f64::INFINITY);
        }
    }

    /// Looks round where everything is, `dt_s` (s) after the last look, and says how long the next
    /// step may be where it would be `step_s` (s).
    ///
    /// `motions[0]` is the piece, then every free body in the order of [`Solids::free`] (those
    /// left out lie where they started), each with a bound on the speed of its surface in
    /// `speeds_m_s` (m/s; left out: it lies still).
    pub fn look(
        &mut self,
        solids: &Solids,
        motions: &[Motion],
        speeds_m_s: &[f64],
        dt_s: f64,
        step_s: f64,
    ) -> Look {
        self.touched.clear();
        let mut found = Look { near_changed: false, touched: false, step_s, reach_m: 0.0 };
        let Some(piece) = motions.first() else { return found };
        let first = self.speeds_m_s.is_empty();
        self.go(speeds_m_s, dt_s);
        let speed_m_s = speeds_m_s.first().copied().unwrap_or(0.0);
        let enter_m = NEAR_IN_M + speed_m_s * NEAR_STEP_S;
        // What is near first: beside it steps are short, and fewer others are in reach of them.
        for beside in [true, false] {
            if !beside && self.bodies.iter().any(|b| b.near) {
                found.step_s = found.step_s.min(NEAR_STEP_S);
            }
            let most_s = found.step_s;
            found.reach_m = NEAR_OUT_M.max(enter_m + speed_m_s * most_s);
            for i in 0..self.bodies.len() {
                let (Some(solid), Some(body)) = (solids.bodies.get(i), self.bodies.get_mut(i))
                else {
                    continue;
                };
                if body.near != beside {
                    continue;
                }
                let slot = self.slots.get(i).copied().unwrap_or(0);
                let moving = if slot > 0 { motions.get(slot) } else { None };
                let moves_m_s = if slot > 0 { own(speeds_m_s, slot) } else { 0.0 };
                let closing_m_s = speed_m_s + moves_m_s;
                let margin_m = if solid.role == Role::Noted { 0.0 } else { enter_m };
                let in_reach_m = margin_m + closing_m_s * most_s;
                let was = *body;
                let at = moving.unwrap_or(&solid.start);
                let form = self.stiff.as_ref().filter(|_| body.stiff_only).unwrap_or(&self.form);
                let gap_m = body.gap_m(&form.0, piece, solid, at, in_reach_m);
                let Some(mut gap_m) = gap_m else { continue };
                if let Some(stiff) = self.stiff.as_ref().filter(|_| first && gap_m == 0.0) {
                    body.stiff_only = true;
                    gap_m = gap_below_m(&stiff.0, piece, &solid.form, at, f64::INFINITY);
                }
                self.looks += 1;
                body.note(gap_m, if beside { NEAR_OUT_M } else { margin_m });
                found.near_changed |= was.near != body.near;
                if body.touched && !was.touched {
                    found.touched = true;
                    self.touched.push(i);
                }
                if !body.near && gap_m <= in_reach_m {
                    let way_m = (gap_m - margin_m).max(LOOK_M);
                    found.step_s = found.step_s.min((way_m / closing_m_s).max(NEAR_STEP_S));
                }
            }
        }
        self.touched.sort_unstable();
        if found.near_changed {
            let near = self.bodies.iter().enumerate().filter_map(|(i, b)| b.near.then_some(i));
            self.near.clear();
            self.near.extend(near);
        }
        found
    }

    /// All have moved since the last look.
    fn go(&mut self, speeds_m_s: &[f64], dt_s: f64) {
        let way_m = |slot: usize| own(speeds_m_s, slot).max(own(&self.speeds_m_s, slot)) * dt_s;
        for (body, slot) in self.bodies.iter_mut().zip(&self.slots) {
            let way_m = way_m(0) + if *slot > 0 { way_m(*slot) } else { 0.0 };
            body.least_m -= way_m;
            body.most_m += way_m;
        }
        self.speeds_m_s.clear();
        self.speeds_m_s.extend_from_slice(speeds_m_s);
    }

    /// Solid bodies that are near, by index in `Site::bodies`, ascending.
    #[must_use]
    pub fn near(&self) -> &[usize] {
        &self.near
    }

    /// Bodies first touched at the last look, by index in `Site::bodies`, ascending.
    #[must_use]
    pub fn touched(&self) -> &[usize] {
        &self.touched
    }

    /// Notes a touch found otherwise, by a contact's impulse; true if it is the first.
    pub fn note_touch(&mut self, body: usize) -> bool {
        self.bodies.get_mut(body).is_some_and(|b| !std::mem::replace(&mut b.touched, true))
    }

    /// Whether the piece's brush was among a body before it left.
    #[must_use]
    pub fn is_stiff_only(&self, body: usize) -> bool {
        self.bodies.get(body).is_some_and(|b| b.stiff_only)
    }

    /// Exact evaluations so far.
    #[must_use]
    pub fn looks(&self) -> u64 {
        self.looks
    }
}
