//! Who touched whom, where, and with which part, from rapier's contact pairs.

use glam::DVec3;
use rapier3d::geometry::{ContactManifold, ContactPair};
use rapier3d::pipeline::PhysicsWorld;

use crate::{
    drop::{Against, Place},
    motion::Motion,
};

use super::{super::convert, MOVER, Mover, Near, TERRAIN};

/// A contact that pushed during a step: one for each pair of a moving body and another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Which of the step's motions: 0 is the piece.
    pub mover: usize,
    /// What it touched. A contact between the piece and a free body is told once, by the piece.
    pub against: Against,
    /// Where, weighted by impulse, m.
    pub point_m: DVec3,
    /// Unit vector along which the moving body is pushed.
    pub normal: DVec3,
    /// Impulse along the normal over the step, N s.
    pub impulse_n_s: f64,
    /// With which part of the moving body.
    pub place: Place,
}

impl Near {
    pub(super) fn read_contacts(&mut self, motions: &[Motion]) {
        let contacts = &mut self.response.contacts;
        for pair in self.world.narrow_phase.contact_pairs() {
            let Some(sides) = sides(pair, &self.world, &self.movers) else { continue };
            for manifold in pair.rigid().map_or(&[][..], |r| r.solver_manifolds()) {
                let Some(mover) = self.movers.get(sides.mover) else { continue };
                let Some(motion) = motions.get(sides.mover) else { continue };
                note(contacts, &sides, manifold, mover, motion);
            }
        }
        contacts.sort_by_key(|c| (c.mover, order(c.against)));
        contacts.dedup_by(|later, first| {
            let same = (later.mover, later.against) == (first.mover, first.against);
            if same {
                merge(first, later);
            }
            same
        });
    }
}

/// Who meets whom in a contact pair, seen from the mover with the lower number.
pub(super) struct Sides {
    pub(super) mover: usize,
    /// The other mover, if it is one.
    pub(super) other: Option<usize>,
    against: Against,
    /// The mover is rapier's second collider.
    swapped: bool,
}

impl Sides {
    /// Unit vector that pushes the mover away from the other.
    pub(super) fn normal(&self, manifold: &ContactManifold) -> DVec3 {
        // Rapier's points from the first collider to the second.
        let normal = convert::from_vector(manifold.data.normal);
        if self.swapped { normal } else { -normal }
    }

    /// Rapier's two of anything, the mover's first.
    pub(super) fn own_first<T>(&self, one: T, two: T) -> (T, T) {
        if self.swapped { (two, one) } else { (one, two) }
    }
}

pub(super) fn sides(pair: &ContactPair, world: &PhysicsWorld, movers: &[Mover]) -> Option<Sides> {
    let data = |handle| world.colliders.get(handle).map(|c| c.user_data);
    let (one, two) = (data(pair.collider1)?, data(pair.collider2)?);
    let number = |data: u128| data.checked_sub(MOVER).map(|n| n as usize);
    let (mover, other_data, swapped) = match (number(one), number(two)) {
        (Some(a), Some(b)) if b < a => (b, one, true),
        (Some(a), _) => (a, two, false),
        (None, Some(b)) => (b, one, true),
        (None, None) => return None,
    };
    let other = number(other_data);
    let against = match other {
        Some(i) => Against::Body(movers.get(i)?.body?),
        None if other_data == TERRAIN => Against::Ground,
        None => Against::Body(other_data as usize),
    };
    Some(Sides { mover, other, against, swapped })
}

/// Ground first, then bodies by index.
fn order(against: Against) -> usize {
    match against {
        Against::Ground => 0,
        Against::Body(i) => i + 1,
    }
}

/// Adds one manifold's pushing points to the contacts.
fn note(
    contacts: &mut Vec<Contact>,
    sides: &Sides,
    manifold: &ContactManifold,
    mover: &Mover,
    motion: &Motion,
) {
    let (mut sum, mut weighted) = (0.0, DVec3::ZERO);
    let (mut low_m, mut high_m) = (f64::INFINITY, f64::NEG_INFINITY);
    for point in &manifold.data.solver_contacts {
        let [id] = point.contact_indices();
        let Some(tracked) = manifold.points.get(id as usize) else { continue };
        let impulse = f64::from(tracked.data.impulse);
        if impulse > 0.0 {
            let (anchor, _) = sides.own_first(point.anchor1, point.anchor2);
            let local_m = convert::from_vector(anchor);
            let along_m = (local_m - mover.butt_m).dot(mover.axis);
            (low_m, high_m) = (low_m.min(along_m), high_m.max(along_m));
            sum += impulse;
            weighted += impulse * local_m;
        }
    }
    if sum > 0.0 {
        let local_m = weighted / sum;
        contacts.push(Contact {
            mover: sides.mover,
            against: sides.against,
            point_m: motion.point_m(local_m),
            normal: sides.normal(manifold),
            impulse_n_s: sum,
            place: mover.place(local_m, high_m - low_m),
        });
    }
}

impl Mover {
    /// Which part a contact at `local_m` (body frame, m) that spans `span_m` along the stem is on.
    fn place(&self, local_m: DVec3, span_m: f64) -> Place {
        // Ours: contact along four fifths of the stem is the whole length, and the rim is the last
        // twentieth of it, no more than 3 cm.
        if span_m > 0.8 * self.length_m {
            return Place::Flat;
        }
        let rim_m = (0.05 * self.length_m).min(0.03);
        let along_m = (local_m - self.butt_m).dot(self.axis);
        if along_m < rim_m {
            Place::Butt
        } else if along_m > self.length_m - rim_m {
            Place::Top
        } else {
            Place::Side
        }
    }
}

/// Two manifolds of the same pair as one contact.
fn merge(first: &mut Contact, later: &Contact) {
    let sum = first.impulse_n_s + later.impulse_n_s;
    let weigh = |a: DVec3, b: DVec3| (first.impulse_n_s * a + later.impulse_n_s * b) / sum;
    let point_m = weigh(first.point_m, later.point_m);
    let normal = weigh(first.normal, later.normal).normalize_or(first.normal);
    let place = if later.impulse_n_s > first.impulse_n_s { later.place } else { first.place };
    *first = Contact { point_m, normal, place, impulse_n_s: sum, ..*first };
}
