//! What the lines that hold a piece do in its drop, and when a piece on them is at rest.

use crate::{GRAVITY_M_S2, drop::tether::Taut};

use super::Run;

/// A piece that has hung on its line for so long, touching no ground, hangs there, s; and for …
const HANGS_S: f64 = 2.0;
/// … so many small swings of it: one from level takes 1.18. Ours: what it swings into it has swung
/// into by then.
const HANGS_SWINGS: f64 = 1.2;
/// A line that was tight within this time holds, s: a piece on it may hop.
const HOLDS_S: f64 = 1.0;
/// A line that bears less than this share of a piece's weight doesn't hold it.
const HOLDS_SHARE: f64 = 0.01;

impl<'s, 'p: 's> Run<'s, 'p> {
    /// Finds what the piece's lines pull it with where it is.
    pub(super) fn pull_by_lines(&mut self, dt: f64) {
        let (piece, time_s) = (&self.piece, self.time_s);
        let pulls = self.lines.iter_mut().filter_map(|line| line.pull(piece, time_s, dt));
        let sum = pulls.reduce(|a, b| (a.0 + b.0, a.1 + b.1));
        self.piece.lines = sum;
    }

    /// Lets its lines pull, where no soil does at the same time.
    pub(super) fn kick_by_lines(&mut self, dt: f64) {
        let Some((force_n, torque_n_m)) = self.piece.lines else { return };
        self.piece.velocity_m_s += force_n * (dt / self.piece.piece.mass_kg);
        self.piece.momentum += torque_n_m * dt;
    }

    /// Notes what hangs on lines after a step.
    pub(super) fn note_lines(&mut self, on_ground: bool, dt: f64) {
        for line in &mut self.lines {
            line.note_swing(&self.piece);
        }
        let hangs = !on_ground && self.on_a_line().is_some();
        self.hung_s = if hangs { self.hung_s + dt } else { 0.0 };
    }

    /// The line that was tight last, if one holds.
    pub(super) fn on_a_line(&self) -> Option<&Taut<'s>> {
        let whole = self.lines.iter().filter(|line| line.is_whole());
        whole
            .filter(|line| line.since_tight_s < HOLDS_S)
            .min_by(|a, b| a.since_tight_s.total_cmp(&b.since_tight_s))
    }

    /// Whether a line bears some of the piece's weight.
    pub(super) fn is_held_by_a_line(&self) -> bool {
        let least_n = HOLDS_SHARE * self.piece.piece.mass_kg * GRAVITY_M_S2;
        self.hung_s > 0.0 || self.lines.iter().any(|line| line.load.holds_n > least_n)
    }

    pub(super) fn is_at_rest(&mut self, dt: f64) -> bool {
        let swings_s =
            self.on_a_line().map_or(0.0, |line| HANGS_SWINGS * line.pendulum_s(&self.piece));
        let held = self.is_held_by_a_line();
        self.hung_s >= HANGS_S.max(swings_s) || self.quiet.is_at_rest(&self.piece, dt, held)
    }
}
