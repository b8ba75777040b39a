//! When a body counts as being at rest.
//!
//! Every element of it in contact has been slower than 20·v₀ for half a second; or, leaning on
//! something solid or on rigid ground, whose contacts are never so quiet, neither of its ends has
//! moved by a centimetre in two seconds.

use glam::DVec3;

use super::mover::Mover;

/// Elements slower than this many v₀ are at rest.
const REST_SPEEDS: f64 = 20.0;
/// For this long, s.
const REST_S: f64 = 0.5;
/// Leaning on something solid: neither end has moved further than this, m.
const LEANING_REST_M: f64 = 0.01;
/// In this time, s.
const LEANING_REST_S: f64 = 2.0;
/// Something solid that has not pushed for this long is not leaned on, s.
const LEANS_S: f64 = 0.5;

/// How long one body has been still.
#[derive(Clone, Debug)]
pub(super) struct Quiet {
    quiet_s: f64,
    leaning_quiet_s: f64,
    /// Where the ends were when that time began, m.
    ends_m: [DVec3; 2],
    /// Time since something solid last pushed, s.
    since_solid_s: f64,
}

impl Quiet {
    pub(super) fn new() -> Self {
        Self {
            quiet_s: 0.0,
            leaning_quiet_s: 0.0,
            ends_m: [DVec3::ZERO; 2],
            since_solid_s: f64::INFINITY,
        }
    }

    /// Time has gone on by `dt_s`.
    pub(super) fn pass(&mut self, dt_s: f64) {
        self.since_solid_s += dt_s;
    }

    /// Something solid pushes, or rigid ground.
    pub(super) fn pushed_by_solid(&mut self) {
        self.since_solid_s = 0.0;
    }

    /// Whether something solid has pushed of late.
    pub(super) fn leans(&self) -> bool {
        self.since_solid_s < LEANS_S
    }

    /// Notes the fastest element in contact over a step, for a law smoothed at `v0_m_s`.
    pub(super) fn note(&mut self, touching: bool, fastest_m_s: f64, v0_m_s: f64, dt_s: f64) {
        let slow = touching && fastest_m_s < REST_SPEEDS * v0_m_s;
        self.quiet_s = if slow { self.quiet_s + dt_s } else { 0.0 };
    }

    /// Whether it is at rest after a step of `dt_s`; `held` by a line, it leans on that.
    pub(super) fn is_at_rest(&mut self, mover: &Mover<'_>, dt_s: f64, held: bool) -> bool {
        if self.quiet_s >= REST_S {
            return true;
        }
        let motion = mover.motion();
        let ends = [mover.piece.butt_m(), mover.piece.top_m()].map(|end| motion.point_m(end));
        let moved = ends[0].distance(self.ends_m[0]).max(ends[1].distance(self.ends_m[1]));
        if !(held || self.since_solid_s <= LEANS_S) || moved > LEANING_REST_M {
            self.ends_m = ends;
            self.leaning_quiet_s = 0.0;
        }
        self.leaning_quiet_s += dt_s;
        self.leaning_quiet_s >= LEANING_REST_S
    }
}
