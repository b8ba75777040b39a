//! Logs that are held, until a blow or a push overcomes what holds them.
//!
//! What holds one, and how much, is [`crate::job::holding`]. Until then it is solid and still. The step
//! that overcomes it is made once more with the log loose, and the work of what held it is taken from
//! the speed that it gets. On rigid ground held logs stay.

use crate::{
    drop::{near::Response, track::Against},
    motion::Motion,
    site::{Answer, Body, Holding},
    tree::Piece,
};

/// A log that is held.
#[derive(Clone, Debug)]
pub(super) struct HeldLog<'a> {
    pub(super) body: usize,
    pub(super) piece: &'a Piece,
    pub(super) motion: Motion,
    hold: Holding,
    /// What it was pushed with beyond what holds it, N s.
    push_n_s: f64,
}

impl<'a> HeldLog<'a> {
    /// The log that a body is, if it is held.
    pub(super) fn of(index: usize, body: &'a Body) -> Option<Self> {
        let Answer::Held { piece, motion, hold } = &body.answer else { return None };
        Some(Self { body: index, piece, motion: *motion, hold: *hold, push_n_s: 0.0 })
    }

    /// Notes a step's pushes by bodies of `motions`. Where they overcome what holds it: the share of
    /// the speed that it gets from them which is left once that has been paid for.
    pub(super) fn overcome(
        &mut self,
        response: &Response,
        motions: &[Motion],
        pieces: &[&Piece],
        dt_s: f64,
    ) -> Option<f64> {
        let (mut push, mut felt_kg) = (0.0, 0.0_f64);
        for contact in &response.contacts {
            if contact.against != Against::Body(self.body) {
                continue;
            }
            let (Some(motion), Some(piece)) =
                (motions.get(contact.mover), pieces.get(contact.mover))
            else {
                continue;
            };
            push += contact.impulse_n_s;
            let arm = (contact.point_m - motion.centre_m).cross(contact.normal);
            let turning = motion.attitude.inverse() * arm;
            let yields = 1.0 / piece.mass_kg + turning.dot(turning / piece.inertia_kg_m2);
            felt_kg = felt_kg.max(1.0 / yields);
        }
        self.push_n_s = (self.push_n_s + push - self.hold.force_n * dt_s).max(0.0);
        let would_j = 0.5 * self.push_n_s * self.push_n_s / (felt_kg + self.piece.mass_kg);
        let paid = self.hold.work_j() / would_j.max(1e-9);
        (push > 0.0 && paid < 1.0).then(|| (1.0 - paid).sqrt())
    }
}
