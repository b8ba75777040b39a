//! A piece turning off its spar, in its upright plane.
//!
//! Turn θ forward from rest, mass m, inertia I about the centre, r from the pivot to the centre
//! (length d, φ its angle from vertical), F and M_c every force but the spar's and its moment
//! about the centre (weight, wind, push), ω = θ˙:
//!
//! ```text
//! hinge, rim, lip    (I + m·d²)·θ¨ = r × F + M_c − M_hinge            (r × F = m·g·d·sin φ of the weight)
//!                    at rest the hinge holds up to ±M_hinge; it is gone past its break angle
//! face closes        ω⁺ = [I·ω⁻ + m·(r_lip→c × v_c⁻)] / (I + m·d_lip²)
//! pressing           R = m·a_c − F on the piece; it slides out when −R·t₁ > μ·R·n₁ and back when
//!                    R·t₀ > μ·R·n₀, n₀ the normal of the spar's cut, n₁ of the piece's
//! sliding            N·[1/m + k·(ρ⊥·n)/I] = ω²·ρ·n − 2·ω·u − F·n/m − M_c·(ρ⊥·n)/I
//!                    k = ρ × (n − μ·sgn(u)·t), ρ from the centre to the contact, u the sliding speed
//!                    (the 2·ω·u only where the spar's edge slides under the piece's cut)
//! free               when N is no more than zero, or the cut has slid off the edge
//! ```
//!
//! Impacts are plastic. A hinge still whole when the face closes holds the butt on the lip, with
//! the moment it had, until it tears. A hinge broken before leaves the butt turning on the apex of
//! the face, free to slide along the lower cut. Integrated by the classical Runge–Kutta method at
//! 1 ms, steps cut at each event. Known answers: `verif_falling_rod`,
//! `verif_closure_keeps_angular_momentum_about_the_lip`, `verif_rod_slips_where_the_ratio_says`.

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;

use super::{
    Event, Moment,
    step::{State, step_until},
};

/// Step, s: a piece turns less than a third of a degree in it.
const STEP_S: f64 = 0.001;
/// A piece that has not gone by then stands in all but name, s.
const LONGEST_S: f64 = 60.0;
/// Changes of contact after which the piece is taken to be stuck; real ones have six or fewer.
const MOST_CHANGES: usize = 32;

/// Position and motion in the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Centre of mass, m.
    pub centre_m: DVec2,
    /// Turn since the start, forward, rad.
    pub turn_rad: f64,
    /// Velocity of the centre, m/s.
    pub velocity_m_s: DVec2,
    /// Turning rate, rad/s.
    pub rate_rad_s: f64,
}

/// The face in front of a hinge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Lower lip, m.
    pub lip_m: DVec2,
    /// Opening, rad.
    pub opening_rad: f64,
    /// Slope of the lower cut, outward and down from square to the stem, rad.
    pub below_rad: f64,
    /// Length of the upper cut from lip to apex, m.
    pub length_m: f64,
    /// Turn on the closed face that tears a whole hinge, rad.
    pub tear_rad: f64,
}

/// What holds the piece to the spar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holding {
    /// Resisting moment, N m.
    pub moment_n_m: f64,
    /// Turn at which it breaks, rad.
    pub until_rad: f64,
}

/// The planar problem: origin on the stem's axis at the cut, x forward, y up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Task {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Moment of inertia about the centre and the turning axis, kg m².
    pub inertia_kg_m2: f64,
    /// Centre of mass at the start, m.
    pub centre_m: DVec2,
    /// Forward tilt of the stem at the start, rad.
    pub stem_tilt_rad: f64,
    /// Hinge line or far rim, m.
    pub pivot_m: DVec2,
    /// The face, where there is a hinge.
    pub face: Option<Face>,
    /// The hinge or the holding wood.
    pub holding: Holding,
    /// Push, level and forward, N.
    pub push_n: f64,
    /// Where the hand pushes at the start, m.
    pub push_at_m: DVec2,
    /// Way of the hand, forward, m.
    pub push_travel_m: f64,
    /// Weight and wind, N.
    pub steady_n: DVec2,
    /// Friction of butt on spar.
    pub friction: f64,
    /// Width of the spar's top, m.
    pub spar_width_m: f64,
}

/// How it ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// Free of the spar.
    Left {
        /// Where and how it moves then.
        pose: Pose,
        /// Time since the start, s.
        time_s: f64,
    },
    /// It did not start, or came to a stop.
    Stopped {
        /// Moment missing about the pivot where it stands, N m.
        missing_moment_n_m: f64,
    },
}

/// Moments about the pivot at the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartMoments {
    /// Angle from vertical of pivot → centre, rad.
    pub line_rad: f64,
    /// Distance of pivot and centre, m.
    pub arm_m: f64,
    /// Of the weight, N m.
    pub weight_n_m: f64,
    /// Of the push, N m.
    pub push_n_m: f64,
    /// Of the wind, N m.
    pub wind_n_m: f64,
    /// Of the hinge, against, N m.
    pub holding_n_m: f64,
}

/// Follows the piece until it is free or stops.
#[must_use]
pub fn turn(task: &Task) -> (End, Vec<Moment>) {
    let mut walk = Walk::new(task);
    let start = task.start_moments();
    let net_n_m = start.weight_n_m + start.push_n_m + start.wind_n_m - start.holding_n_m;
    if net_n_m <= 0.0 {
        return (End::Stopped { missing_moment_n_m: -net_n_m }, Vec::new());
    }
    walk.note(Event::Started);
    for _ in 0..MOST_CHANGES {
        if let Some(end) = walk.phase() {
            return (end, walk.moments);
        }
    }
    (walk.stop(), walk.moments)
}

impl Task {
    /// Moments about the pivot at the start.
    #[must_use]
    pub fn start_moments(&self) -> StartMoments {
        let r = self.centre_m - self.pivot_m;
        let weight = -DVec2::Y * (self.mass_kg * crate::GRAVITY_M_S2);
        let pushes = self.push_n > 0.0 && self.push_travel_m > 0.0;
        let push = DVec2::X * if pushes { self.push_n } else { 0.0 };
        StartMoments {
            line_rad: libm::atan2(r.x, r.y),
            arm_m: r.length(),
            weight_n_m: cross(r, weight),
            push_n_m: cross(self.push_at_m - self.pivot_m, push),
            wind_n_m: cross(r, self.steady_n - weight),
            holding_n_m: self.holding.moment_n_m,
        }
    }
}

/// How butt and spar touch.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Touch {
    /// Held by a hinge at the pivot until this turn, rad.
    Hinged(f64),
    /// The piece's edge on the spar's edge.
    EdgeOnEdge,
    /// The piece's edge on the spar's flat cut.
    EdgeOnSpar,
    /// The spar's edge under the piece's flat cut.
    SparsEdge,
}

/// What ends a phase.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Why {
    PushOver,
    HoldingGone,
    FaceClosed,
    SlipsOut,
    SlipsBack,
    Holds,
    Free,
    Stops,
}

struct Walk<'a> {
    task: &'a Task,
    state: State,
    time_s: f64,
    pushing: bool,
    touch: Touch,
    /// Fixed point of the spar it turns or slides on, m.
    pivot_m: DVec2,
    /// The face has closed: the lip is the pivot and the upper cut the touching plane.
    closed: bool,
    /// Direction of sliding (+1 outward, −1 back) while it slides.
    sliding: Option<f64>,
    moments: Vec<Moment>,
}

impl<'a> Walk<'a> {
    fn new(task: &'a Task) -> Self {
        let held = task.holding.moment_n_m > 0.0;
        let touch = match task.face {
            Some(_) => Touch::Hinged(task.holding.until_rad),
            None if held => Touch::Hinged(task.holding.until_rad),
            None => Touch::EdgeOnEdge,
        };
        Self {
            task,
            state: [task.centre_m.x, task.centre_m.y, 0.0, 0.0, 0.0, 0.0],
            time_s: 0.0,
            pushing: task.push_n > 0.0 && task.push_travel_m > 0.0,
            touch,
            pivot_m: task.pivot_m,
            closed: false,
            sliding: None,
            moments: Vec::new(),
        }
    }

    /// Runs to the next event and changes the contact; the end if it was the last.
    fn phase(&mut self) -> Option<End> {
        // The edge of the piece that slides, in its turned-back frame.
        let edge = unturned(self.pivot_m - centre(&self.state), self.state[2]);
        let from = self.state;
        loop {
            let rate = |s: &State| self.rate(s, edge);
            let why = |s: &State| self.why(s, edge, &from);
            let (gone_s, state, cut) = step_until(&self.state, STEP_S, rate, |s| why(s).is_none());
            let why = if cut { why(&state) } else { None };
            self.state = state;
            self.time_s += gone_s;
            if let Some(why) = why {
                return self.change(why, edge);
            }
            if self.time_s > LONGEST_S {
                return Some(self.stop());
            }
        }
    }

    /// What of the events has come.
    fn why(&self, s: &State, edge: DVec2, from: &State) -> Option<Why> {
        let task = self.task;
        if self.pushing && self.hand_way_m(s) >= task.push_travel_m {
            return Some(Why::PushOver);
        }
        if let Touch::Hinged(until_rad) = self.touch
            && s[2] >= until_rad
        {
            return Some(Why::HoldingGone);
        }
        // Past square the piece lies on the spar with its side: the drop's own contact takes over.
        if !matches!(self.touch, Touch::Hinged(_)) && s[2] >= FRAC_PI_2 {
            return Some(Why::Free);
        }
        let closing = task.face.filter(|_| !self.closed);
        if closing.is_some_and(|f| s[2] >= f.opening_rad) {
            return Some(Why::FaceClosed);
        }
        if let Some(way) = self.sliding {
            let slid_m = way * self.slid_m(s, edge, from);
            let (press_n, speed_m_s) = self.press(s, edge, way);
            if press_n <= 0.0 || slid_m >= self.room_m(way) {
                return Some(Why::Free);
            }
            let least_rad =
                if self.closed { task.face.map_or(0.0, |f| f.opening_rad) } else { 0.0 };
            if s[2] < least_rad {
                return Some(Why::Stops);
            }
            // The first moment of a slide is at rest; only a slide that has begun can end.
            return (speed_m_s * way <= 0.0 && slid_m > 0.0).then_some(Why::Holds);
        }
        if s[5] <= 0.0 {
            return Some(Why::Stops);
        }
        if matches!(self.touch, Touch::Hinged(_)) {
            return None;
        }
        let reaction_n = self.reaction(s);
        let (n, t) = axes(self.outer_tilt(s));
        if -reaction_n.dot(t) > task.friction * reaction_n.dot(n) {
            return Some(Why::SlipsOut);
        }
        let (n, t) = axes(self.inner_tilt(s));
        (reaction_n.dot(t) > task.friction * reaction_n.dot(n)).then_some(Why::SlipsBack)
    }

    /// Changes what touches after an event.
    fn change(&mut self, why: Why, edge: DVec2) -> Option<End> {
        match why {
            Why::PushOver => self.pushing = false,
            Why::HoldingGone if self.closed => {
                self.touch = Touch::EdgeOnEdge;
                self.note(Event::HingeTore);
            }
            Why::HoldingGone => {
                // Behind a face the apex stands on the lower cut; a snapped piece on its rim.
                self.touch = match self.task.face {
                    Some(_) => Touch::EdgeOnSpar,
                    None => Touch::EdgeOnEdge,
                };
                self.note(Event::HingeBroke);
            }
            Why::FaceClosed if self.sliding.is_some() => self.close_sliding(edge),
            Why::FaceClosed => return self.close(),
            Why::SlipsOut | Why::SlipsBack => {
                let out = why == Why::SlipsOut;
                self.sliding = Some(if out { 1.0 } else { -1.0 });
                if self.touch == Touch::EdgeOnEdge {
                    self.touch = if out { Touch::SparsEdge } else { Touch::EdgeOnSpar };
                }
                self.note(if out { Event::SlidOut } else { Event::SlidBack });
            }
            Why::Holds => {
                self.sliding = None;
                if self.touch == Touch::EdgeOnSpar {
                    self.pivot_m = centre(&self.state) + turned(edge, self.state[2]);
                }
                let spin = self.state[5];
                let r = centre(&self.state) - self.pivot_m;
                (self.state[3], self.state[4]) = (spin * r.y, -spin * r.x);
                self.note(Event::Held);
            }
            Why::Free => {
                self.note(Event::Left);
                let pose = Pose {
                    centre_m: centre(&self.state),
                    turn_rad: self.state[2],
                    velocity_m_s: velocity(&self.state),
                    rate_rad_s: self.state[5],
                };
                return Some(End::Left { pose, time_s: self.time_s });
            }
            Why::Stops => return Some(self.stop()),
        }
        None
    }

    /// The face closes: angular momentum about the lip is kept.
    fn close(&mut self) -> Option<End> {
        let Some(face) = self.task.face else { return Some(self.stop()) };
        let task = self.task;
        self.closed = true;
        self.pivot_m = face.lip_m;
        let r = centre(&self.state) - face.lip_m;
        let kept =
            task.inertia_kg_m2 * self.state[5] + task.mass_kg * cross(r, velocity(&self.state));
        let rate = kept / (task.inertia_kg_m2 + task.mass_kg * r.length_squared());
        (self.state[3], self.state[4], self.state[5]) = (rate * r.y, -rate * r.x, rate);
        self.touch = match self.touch {
            Touch::Hinged(_) => Touch::Hinged(face.opening_rad + face.tear_rad),
            _ => Touch::EdgeOnEdge,
        };
        self.note(Event::FaceClosed);
        (rate <= 0.0).then(|| self.stop())
    }

    /// The face closes on a butt that slides: a plastic blow of the lip, with friction, on the
    /// upper cut.
    fn close_sliding(&mut self, edge: DVec2) {
        let Some(face) = self.task.face else { return };
        let (m, i) = (self.task.mass_kg, self.task.inertia_kg_m2);
        self.closed = true;
        self.pivot_m = face.lip_m;
        self.touch = Touch::SparsEdge;
        let s = self.state;
        let (n, t) = axes(self.piece_tilt(&s));
        let rho = self.contact(&s, edge);
        let blow = n - t * (self.task.friction * self.sliding.unwrap_or(1.0));
        let into_m_s = -(velocity(&s) + perp(rho) * s[5]).dot(n);
        let give = 1.0 / m + cross(rho, blow) * perp(rho).dot(n) / i;
        if into_m_s > 0.0 && give > 0.0 {
            let blow_n_s = blow * (into_m_s / give);
            self.state[3] += blow_n_s.x / m;
            self.state[4] += blow_n_s.y / m;
            self.state[5] += cross(rho, blow_n_s) / i;
        }
        self.note(Event::FaceClosed);
    }

    fn stop(&mut self) -> End {
        self.note(Event::Stopped);
        let (force_n, moment_n_m) = self.outside(&self.state);
        let r = centre(&self.state) - self.pivot_m;
        let missing = self.holding_n_m() - cross(r, force_n) - moment_n_m;
        End::Stopped { missing_moment_n_m: missing.max(0.0) }
    }

    fn note(&mut self, event: Event) {
        let r = centre(&self.state) - self.pivot_m;
        self.moments.push(Moment {
            event,
            time_s: self.time_s,
            turn_rad: self.state[2],
            rate_rad_s: self.state[5],
            line_rad: libm::atan2(r.x, r.y),
        });
    }

    /// Every force but the spar's, and its moment about the centre.
    fn outside(&self, s: &State) -> (DVec2, f64) {
        if !self.pushing {
            return (self.task.steady_n, 0.0);
        }
        let push = DVec2::X * self.task.push_n;
        let arm = turned(self.task.push_at_m - self.task.centre_m, s[2]);
        (self.task.steady_n + push, cross(arm, push))
    }

    /// How far the hand has gone forward with the piece, m.
    fn hand_way_m(&self, s: &State) -> f64 {
        let arm = turned(self.task.push_at_m - self.task.centre_m, s[2]);
        (centre(s) + arm).x - self.task.push_at_m.x
    }

    fn holding_n_m(&self) -> f64 {
        if matches!(self.touch, Touch::Hinged(_)) { self.task.holding.moment_n_m } else { 0.0 }
    }

    /// Turning acceleration about the pivot, rad/s².
    fn pinned_rad_s2(&self, s: &State) -> f64 {
        let r = centre(s) - self.pivot_m;
        let (force_n, moment_n_m) = self.outside(s);
        (cross(r, force_n) + moment_n_m - self.holding_n_m())
            / (self.task.inertia_kg_m2 + self.task.mass_kg * r.length_squared())
    }

    /// Acceleration of the centre while it turns about the pivot, m/s².
    fn pinned_m_s2(&self, s: &State) -> DVec2 {
        let r = centre(s) - self.pivot_m;
        perp(r) * self.pinned_rad_s2(s) - r * (s[5] * s[5])
    }

    /// Force of the spar on the piece while it turns about the pivot, N.
    fn reaction(&self, s: &State) -> DVec2 {
        self.pinned_m_s2(s) * self.task.mass_kg - self.outside(s).0
    }

    fn rate(&self, s: &State, edge: DVec2) -> State {
        let (a, turning) = match self.sliding {
            None => (self.pinned_m_s2(s), self.pinned_rad_s2(s)),
            Some(way) => {
                let (force_n, moment_n_m) = self.outside(s);
                let (press_n, _) = self.press(s, edge, way);
                let (n, t) = axes(self.sliding_tilt(s));
                let contact_n = (n - t * (self.task.friction * way)) * press_n.max(0.0);
                let moment_n_m = moment_n_m + cross(self.contact(s, edge), contact_n);
                ((force_n + contact_n) / self.task.mass_kg, moment_n_m / self.task.inertia_kg_m2)
            }
        };
        [s[3], s[4], s[5], a.x, a.y, turning]
    }

    /// Normal force and sliding speed (outward) of a sliding contact.
    fn press(&self, s: &State, edge: DVec2, way: f64) -> (f64, f64) {
        let (m, i) = (self.task.mass_kg, self.task.inertia_kg_m2);
        let (n, t) = axes(self.sliding_tilt(s));
        let rho = self.contact(s, edge);
        let (force_n, moment_n_m) = self.outside(s);
        let speed = (velocity(s) + perp(rho) * s[5]).dot(t);
        let carried = if self.touch == Touch::SparsEdge { -2.0 * s[5] * speed } else { 0.0 };
        let lever = perp(rho).dot(n);
        let k = cross(rho, n - t * (self.task.friction * way));
        let give = 1.0 / m + k * lever / i;
        let need = s[5] * s[5] * rho.dot(n) + carried - force_n.dot(n) / m - moment_n_m * lever / i;
        // With no give the contact would jam (Painlevé); it can only jump free.
        (if give > 0.0 { need / give } else { 0.0 }, speed)
    }

    /// From the centre to the touching point.
    fn contact(&self, s: &State, edge: DVec2) -> DVec2 {
        match self.touch {
            Touch::EdgeOnSpar => turned(edge, s[2]),
            _ => self.pivot_m - centre(s),
        }
    }

    /// How far it has slid outward since the phase began, m.
    fn slid_m(&self, s: &State, edge: DVec2, from: &State) -> f64 {
        let (_, t) = axes(self.sliding_tilt(s));
        match self.touch {
            Touch::EdgeOnSpar => (centre(s) + turned(edge, s[2]) - self.pivot_m).dot(t),
            _ => {
                let (_, before) = axes(self.sliding_tilt(from));
                (self.pivot_m - centre(from)).dot(before) - (self.pivot_m - centre(s)).dot(t)
            }
        }
    }

    /// How far it may slide before it is off, m.
    fn room_m(&self, way: f64) -> f64 {
        let ahead_m = match self.task.face {
            Some(face) if !self.closed => face.lip_m.distance(self.pivot_m),
            _ => 0.0,
        };
        match (self.touch, self.task.face) {
            (Touch::EdgeOnSpar, _) if way > 0.0 => ahead_m,
            (Touch::EdgeOnSpar, _) => self.task.spar_width_m - ahead_m,
            (_, Some(face)) => face.length_m,
            (_, None) => self.task.spar_width_m,
        }
    }

    /// Tilt of the spar's cut.
    fn spar_tilt(&self) -> f64 {
        self.task.stem_tilt_rad + self.task.face.map_or(0.0, |f| f.below_rad)
    }

    /// Tilt of the piece's cut that touches.
    fn piece_tilt(&self, s: &State) -> f64 {
        let cut = self.task.face.filter(|_| self.closed);
        let offset_rad = cut.map_or(0.0, |f| f.opening_rad - f.below_rad);
        self.task.stem_tilt_rad + s[2] - offset_rad
    }

    /// Tilt of the surface along which it would slide out.
    fn outer_tilt(&self, s: &State) -> f64 {
        if self.touch == Touch::EdgeOnSpar { self.spar_tilt() } else { self.piece_tilt(s) }
    }

    /// Tilt of the surface along which it would slide back.
    fn inner_tilt(&self, s: &State) -> f64 {
        if self.touch == Touch::SparsEdge { self.piece_tilt(s) } else { self.spar_tilt() }
    }

    fn sliding_tilt(&self, s: &State) -> f64 {
        if self.touch == Touch::SparsEdge { self.piece_tilt(s) } else { self.spar_tilt() }
    }
}

fn centre(s: &State) -> DVec2 {
    DVec2::new(s[0], s[1])
}

fn velocity(s: &State) -> DVec2 {
    DVec2::new(s[3], s[4])
}

/// Moment of `force` at `arm`, positive forward.
fn cross(arm: DVec2, force: DVec2) -> f64 {
    arm.y * force.x - arm.x * force.y
}

/// Velocity of a point at `arm` per unit of forward turning rate.
fn perp(arm: DVec2) -> DVec2 {
    DVec2::new(arm.y, -arm.x)
}

fn turned(v: DVec2, turn_rad: f64) -> DVec2 {
    let (sin, cos) = (libm::sin(turn_rad), libm::cos(turn_rad));
    DVec2::new(v.x * cos + v.y * sin, v.y * cos - v.x * sin)
}

fn unturned(v: DVec2, turn_rad: f64) -> DVec2 {
    turned(v, -turn_rad)
}

/// Normal and outward tangent of a surface tilted forward.
fn axes(tilt_rad: f64) -> (DVec2, DVec2) {
    let n = DVec2::new(libm::sin(tilt_rad), libm::cos(tilt_rad));
    (n, perp(n))
}

#[cfg(test)]
#[path = "turn_tests.rs"]
mod tests;
