//! Overlap undone as position only.

use glam::DVec3;

use crate::motion::Motion;

use super::{
    super::{convert, gap},
    Mover, Near,
    contacts::sides,
};

/// Overlap left alone, m: keeps resting contacts alive from step to step.
const SLOP_M: f64 = 1e-4;

/// Time in which overlap beyond [`SLOP_M`] falls to 1/e, s. Ours: fast against a log's rocking
/// (0.1 s and more), slow against the step.
const PUSH_OUT_S: f64 = 0.02;

/// Fastest push-out, m/s: an overlap found at the start of a drop doesn't throw the piece.
const PUSH_OUT_M_S: f64 = 0.5;

/// What takes a body out of overlap in a step: a change of place, not of velocity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Push {
    /// To add to the centre of mass, m.
    pub shift_m: DVec3,
    /// Small turn to add, as a rotation vector in the world frame, rad.
    pub turn_rad: DVec3,
}

impl Push {
    /// The motion with the push applied to its place.
    #[must_use]
    pub fn moved(&self, motion: &Motion) -> Motion {
        Motion {
            centre_m: motion.centre_m + self.shift_m,
            attitude: gap::turned(motion.attitude, self.turn_rad),
            ..*motion
        }
    }
}

impl Near {
    /// One sweep over overlapping contacts: each pushed out by its share of depth less what the
    /// pushes so far have done for it.
    pub(super) fn push_out(&mut self, motions: &[Motion], dt_s: f64) {
        let share = dt_s / (PUSH_OUT_S + dt_s);
        for pair in self.world.narrow_phase.contact_pairs() {
            let Some(sides) = sides(pair, &self.world, &self.movers) else { continue };
            for manifold in pair.rigid().map_or(&[][..], |r| r.solver_manifolds()) {
                let normal = sides.normal(manifold);
                for point in &manifold.data.solver_contacts {
                    let depth_m = -f64::from(point.dist) - SLOP_M;
                    if depth_m > 0.0 {
                        let want_m = (share * depth_m).min(PUSH_OUT_M_S * dt_s);
                        let (own, others) = sides.own_first(point.anchor1, point.anchor2);
                        let ends = [
                            (Some(sides.mover), convert::from_vector(own), normal),
                            (sides.other, convert::from_vector(others), -normal),
                        ];
                        push_apart(&mut self.response.pushes, &self.movers, motions, ends, want_m);
                    }
                }
            }
        }
    }
}

/// Moves the bodies at both ends of a contact apart by `want_m` less what `pushes` do already,
/// each as its mass and inertia yield. An end is a mover's number (`None` for what stands), the
/// point in its frame and the direction to push it.
fn push_apart(
    pushes: &mut [Push],
    movers: &[Mover],
    motions: &[Motion],
    ends: [(Option<usize>, DVec3, DVec3); 2],
    want_m: f64,
) {
    let moving = || {
        ends.into_iter().filter_map(|(number, local_m, n)| {
            let i = number?;
            let (mover, motion) = (movers.get(i)?, motions.get(i)?);
            let swing = (motion.attitude * local_m).cross(n);
            Some((i, n, swing, mover.inverse_mass, mover.yield_to(motion, swing)))
        })
    };
    let (mut done_m, mut give) = (0.0, 0.0);
    for (i, n, swing, inverse_mass, turn) in moving() {
        let Some(push) = pushes.get(i) else { continue };
        done_m += push.shift_m.dot(n) + push.turn_rad.dot(swing);
        give += inverse_mass + swing.dot(turn);
    }
    let lambda = (want_m - done_m) / give;
    if lambda > 0.0 && lambda.is_finite() {
        for (i, n, _, inverse_mass, turn) in moving() {
            if let Some(push) = pushes.get_mut(i) {
                push.shift_m += lambda * inverse_mass * n;
                push.turn_rad += lambda * turn;
            }
        }
    }
}

impl Mover {
    /// Turn given by a moment about the centre, in the world frame: I⁻¹·moment.
    fn yield_to(&self, motion: &Motion, moment: DVec3) -> DVec3 {
        motion.attitude * (self.inverse_inertia * (motion.attitude.conjugate() * moment))
    }
}
