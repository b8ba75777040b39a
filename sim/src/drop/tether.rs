//! A line that holds a piece in its drop: a spring that only pulls, with damping.
//!
//! ```text
//! x = |a − p| − ℓ          stretch (m): p the point of the piece it is fast to, a its hitch or block,
//!                          ℓ the length at which it is tight
//! T = k·x + c·ẋ, ≥ 0       tension (N) while x > 0, none while it is slack
//! k = EA/L                 L the loaded length: ℓ, and over a block ℓ + tail·exp(−μφ)
//! c = 2·ζ·√(k·m)           m the piece's mass (kg)
//! F = T·u₁ + T·exp(−μφ)·u₂ what hangs on a block: u₁ to the piece, u₂ to the brake
//! ```
//!
//! Past what rope and knots bear it breaks, and the piece goes on without it. Out of hands it runs at
//! what they hold, and is longer by what ran. It acts in the middle of a step as weight does, and a
//! step is no longer than a part of its own swing ([`Taut::longest_step_s`]).
//!
//! EA (N) stiffness of the rope, ζ damping as a share of critical, μ friction of the block, φ (rad)
//! the rope's wrap round it with the piece straight under. Springs and capstan are textbook
//! mechanics. Left out: the rope's own weight, what it lies over on its way (branches, the spar, the
//! ground), a rope that stiffens as it is pulled, knots that draw tight, friction of the block that
//! turns round when the piece comes up again, a brake that lets it run, and the give of spar,
//! stump or tree that it is fast to, which takes from the load.
//!
//! Known answers: `verif_lines.rs` of the acceptance tests; for a piece caught straight under,
//! T = W·(1 + √(1 + 2·EA·h/(W·L))), h the free fall until it is tight ([`peak_n`]).

use std::f64::consts::PI;

use glam::DVec3;

use super::mover::{Mover, Pace};

/// A line is looked at this finely while it is slack, m: it may be tight by the next look.
const SLACK_LOOK_M: f64 = 0.002;
/// What gravity adds to a speed in the longest step of a slack line, m/s.
const FALLS_M_S: f64 = 1.0;

/// A line as it is before the piece leaves.
#[derive(Clone, Debug, PartialEq)]
pub struct Tether {
    /// Where on the piece it is fast, from the centre in the piece's frame, m.
    pub at_m: DVec3,
    /// Its hitch, or its block, m.
    pub to_m: DVec3,
    /// Length from piece to hitch or block at which it is tight, m.
    pub free_m: f64,
    /// Over a block: the rope from there on.
    pub tail: Option<Tail>,
    /// Stiffness EA of the rope, N.
    pub stiffness_n: f64,
    /// Damping as a share of critical.
    pub damping: f64,
    /// Tension at which rope or knot breaks, N.
    pub breaks_n: f64,
    /// Tension at which it runs out of hands, N; infinite where it is made fast.
    pub runs_n: f64,
}

/// The rope from a block to the brake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tail {
    /// The brake, m.
    pub brake_m: DVec3,
    /// Friction of the rope over the block.
    pub friction: f64,
}

impl Tail {
    /// Tension on the brake's side over that on the piece's, `leg` pointing from block to piece.
    #[must_use]
    pub fn ratio(&self, block_m: DVec3, leg: DVec3) -> f64 {
        let back = (self.brake_m - block_m).normalize_or(-DVec3::Z);
        let between_rad = libm::acos(leg.dot(back).clamp(-1.0, 1.0));
        libm::exp(-self.friction * (PI - between_rad))
    }
}

impl Tether {
    /// Length that stretches under the load, by what stretches as much, m.
    #[must_use]
    pub fn loaded_m(&self) -> f64 {
        let tail = self.tail.map_or(0.0, |tail| {
            tail.brake_m.distance(self.to_m) * tail.ratio(self.to_m, -DVec3::Z)
        });
        (self.free_m + tail).max(1e-3)
    }

    /// Spring constant, N/m.
    #[must_use]
    pub fn spring_n_m(&self) -> f64 {
        self.stiffness_n / self.loaded_m()
    }

    /// What hangs on hitch or block, N, and the pull on the brake's side, N, under a tension (N)
    /// along `leg`, a unit vector from there to the piece.
    #[must_use]
    pub fn load_n(&self, tension_n: f64, leg: DVec3) -> (DVec3, f64) {
        let along = leg * tension_n;
        let Some(tail) = self.tail else { return (along, 0.0) };
        let tail_n = tension_n * tail.ratio(self.to_m, leg);
        (along + (tail.brake_m - self.to_m).normalize_or_zero() * tail_n, tail_n)
    }
}

/// Peak tension of a line that catches a weight straight under it after a free fall, N: all of the
/// fall's energy goes into the rope.
#[must_use]
pub fn peak_n(weight_n: f64, fall_m: f64, loaded_m: f64, stiffness_n: f64) -> f64 {
    let energy = 2.0 * stiffness_n * fall_m.max(0.0) / (weight_n * loaded_m);
    weight_n * (1.0 + (1.0 + energy).sqrt())
}

/// What a line bore in one drop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LineLoad {
    /// Greatest tension, N.
    pub peak_n: f64,
    /// When it was first tight, s.
    pub tight_s: Option<f64>,
    /// When it broke, s.
    pub broke_s: Option<f64>,
    /// How much of it ran out of hands, m.
    pub ran_m: f64,
    /// What hung on hitch or block at the most, N.
    pub hitch_n: DVec3,
    /// The pull on the brake's side then, N.
    pub hitch_tail_n: f64,
    /// What hung there when the level part of it was greatest, N.
    pub level_n: DVec3,
    /// The pull on the brake's side then, N.
    pub level_tail_n: f64,
    /// How far from hitch or block, on the map, any of the piece came while on the line, m.
    pub swing_m: f64,
    /// Tension at the end, N.
    pub holds_n: f64,
}

/// A line as the drop goes on.
#[derive(Clone, Debug)]
pub(super) struct Taut<'a> {
    tether: &'a Tether,
    free_m: f64,
    spring_n_m: f64,
    /// 1/ω of the piece on it, s.
    swings_s: f64,
    damping_n_s_m: f64,
    pub(super) load: LineLoad,
    /// Since it was last tight, s.
    pub(super) since_tight_s: f64,
}

impl<'a> Taut<'a> {
    pub(super) fn new(tether: &'a Tether, mover: &Mover<'_>) -> Self {
        let spring_n_m = tether.spring_n_m();
        // The lightest that the piece can be felt to be at its point.
        let turning = tether.at_m.length_squared() / mover.piece.inertia_kg_m2.min_element();
        let lightest = 1.0 / mover.piece.mass_kg + turning;
        Self {
            tether,
            free_m: tether.free_m,
            spring_n_m,
            swings_s: 1.0 / (spring_n_m * lightest).sqrt().max(1e-9),
            damping_n_s_m: 2.0 * tether.damping * (spring_n_m * mover.piece.mass_kg).sqrt(),
            load: LineLoad::default(),
            since_tight_s: f64::INFINITY,
        }
    }

    pub(super) fn is_whole(&self) -> bool {
        self.load.broke_s.is_none()
    }

    /// The longest next step, s.
    pub(super) fn longest_step_s(&self, mover: &Mover<'_>, pace: &Pace) -> f64 {
        if !self.is_whole() {
            return f64::INFINITY;
        }
        let fine_s = pace.line_share * self.swings_s;
        let (way, velocity) = self.way(mover);
        let gap_m = self.free_m - way.length();
        if gap_m <= 0.0 {
            return fine_s;
        }
        let turns = mover.spin_rad_s().length_squared() * self.tether.at_m.length();
        let speed_m_s = velocity.length() + FALLS_M_S * (1.0 + turns / crate::GRAVITY_M_S2);
        ((gap_m + SLACK_LOOK_M) / speed_m_s).clamp(fine_s, FALLS_M_S / crate::GRAVITY_M_S2)
    }

    /// From hitch or block to the piece, m, and how fast that point moves, m/s.
    fn way(&self, mover: &Mover<'_>) -> (DVec3, DVec3) {
        let arm_m = mover.attitude * self.tether.at_m;
        let velocity = mover.velocity_m_s + mover.spin_rad_s().cross(arm_m);
        (mover.centre_m + arm_m - self.tether.to_m, velocity)
    }

    /// Force, N, and torque about the centre, N m, on the piece now; nothing while it is slack or broken.
    pub(super) fn pull(
        &mut self,
        mover: &Mover<'_>,
        time_s: f64,
        dt_s: f64,
    ) -> Option<(DVec3, DVec3)> {
        self.since_tight_s += dt_s;
        self.load.holds_n = 0.0;
        if !self.is_whole() {
            return None;
        }
        let (way, velocity) = self.way(mover);
        let length_m = way.length();
        let over_m = length_m - self.free_m;
        if over_m <= 0.0 {
            return None;
        }
        let leg = way / length_m.max(1e-9);
        let opens_m_s = velocity.dot(leg);
        let mut tension_n = (self.spring_n_m * over_m + self.damping_n_s_m * opens_m_s).max(0.0);
        if tension_n > self.tether.runs_n {
            tension_n = self.tether.runs_n;
            let ran_m = over_m - tension_n / self.spring_n_m;
            if ran_m > 0.0 {
                self.free_m += ran_m;
                self.load.ran_m += ran_m;
            }
        }
        self.since_tight_s = 0.0;
        let load = &mut self.load;
        load.tight_s.get_or_insert(time_s);
        load.peak_n = load.peak_n.max(tension_n);
        let (on_hitch, tail_n) = self.tether.load_n(tension_n, leg);
        if on_hitch.length_squared() > load.hitch_n.length_squared() {
            (load.hitch_n, load.hitch_tail_n) = (on_hitch, tail_n);
        }
        let level = |force: DVec3| force.truncate().length_squared();
        if level(on_hitch) > level(load.level_n) {
            (load.level_n, load.level_tail_n) = (on_hitch, tail_n);
        }
        if tension_n > self.tether.breaks_n {
            load.broke_s = Some(time_s);
            return None;
        }
        load.holds_n = tension_n;
        let force = -leg * tension_n;
        let arm_m = mover.attitude * self.tether.at_m;
        Some((force, arm_m.cross(force)))
    }

    /// Notes how far out the piece is while it is on the line.
    pub(super) fn note_swing(&mut self, mover: &Mover<'_>) {
        if self.load.tight_s.is_none() || !self.is_whole() {
            return;
        }
        let out = |local_m: DVec3| {
            let at_m = mover.centre_m + mover.attitude * local_m;
            (at_m - self.tether.to_m).truncate().length()
        };
        let piece = mover.piece;
        let far_m = out(piece.butt_m()).max(out(piece.top_m()));
        self.load.swing_m = self.load.swing_m.max(far_m);
    }

    /// Time of one swing to and fro of the piece hung from hitch or block, s: of a point as far down
    /// as the piece can hang, which is longer.
    pub(super) fn pendulum_s(&self, mover: &Mover<'_>) -> f64 {
        let down_m = self.free_m + mover.piece.length_m();
        2.0 * PI * (down_m / crate::GRAVITY_M_S2).sqrt()
    }
}
