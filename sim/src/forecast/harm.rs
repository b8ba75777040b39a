//! What a touch may do to a tree that stays, in plain words.
//!
//! The energy is that of the whole piece at first touch: an upper bound of what the tree can get. It
//! is set against the work that breaks one of the tree's limbs in bending,
//!
//! ```text
//! U = u·V            V = φ·π·r²·L
//! ```
//!
//! u the work of green wood up to its greatest load (J/m³), φ the form factor of a tapering limb, r
//! and L its radius and length (m): as [`crate::tree::brush`] has them. The steps are ours: no
//! source grades wounds of trees by energy. For a tree whose limbs aren't told, the steps of the
//! stem are ours as well.

use crate::{
    site::{Body, BodyKind, Shape},
    tree::brush::{FORM, WORK_TO_BREAK_J_M3},
};

/// A touch of the stem under this bruises bark at most, J. Ours.
const BRUISES_J: f64 = 100.0;
/// A touch of the stem under this wounds bark at most, J. Ours.
const WOUNDS_J: f64 = 1_500.0;
/// A limb is bent from this share of what breaks it on. Ours.
const BENDS_SHARE: f64 = 0.1;
/// From so many times what breaks one limb on, several break. Ours.
const SEVERAL: f64 = 10.0;

/// Work that breaks a limb of a tree, J: the middle one of those it is drawn with.
fn breaks_j(body: &Body) -> Option<f64> {
    let mut works: Vec<f64> = body
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Capsule { from_m, to_m, radius_m } => {
                // The stem goes straight up.
                let limb = from_m.truncate().distance(to_m.truncate()) > 1e-6;
                let volume_m3 =
                    FORM * std::f64::consts::PI * radius_m * radius_m * from_m.distance(*to_m);
                limb.then_some(WORK_TO_BREAK_J_M3 * volume_m3)
            }
            Shape::Cuboid { .. } | Shape::Hull { .. } => None,
        })
        .collect();
    works.sort_by(f64::total_cmp);
    works.get(works.len() / 2).copied()
}

/// What a touch with this energy (J) may do to a keep tree; `None` for anything else.
#[must_use]
pub fn to_tree(body: &Body, energy_j: f64) -> Option<&'static str> {
    if body.kind != BodyKind::KeepTree {
        return None;
    }
    Some(match breaks_j(body) {
        Some(breaks_j) if energy_j < BENDS_SHARE * breaks_j => "brushes past, strips some leaves",
        Some(breaks_j) if energy_j < breaks_j => "can bend limbs and tear bark",
        Some(breaks_j) if energy_j < SEVERAL * breaks_j => "can break a limb",
        Some(_) => "can break limbs and wound the stem",
        None if energy_j < BRUISES_J => "can bruise the bark",
        None if energy_j < WOUNDS_J => "can wound the bark",
        None => "can wound the stem deeply",
    })
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;
    use crate::site::Answer;

    fn tree(limbs: bool) -> Body {
        let trunk = Shape::Capsule { from_m: DVec3::ZERO, to_m: DVec3::Z * 9.0, radius_m: 0.15 };
        let limb = Shape::Capsule {
            from_m: DVec3::Z * 3.0,
            to_m: DVec3::new(2.0, 0.0, 3.7),
            radius_m: 0.03,
        };
        Body {
            id: "rowan".into(),
            kind: BodyKind::KeepTree,
            is_target: true,
            answer: Answer::Fixed,
            shapes: if limbs { vec![trunk, limb] } else { vec![trunk] },
        }
    }

    /// A limb 6 cm thick and 2.1 m long breaks at 80 kJ/m³ · 0.45 · its cylinder: 216 J.
    #[test]
    fn verif_words_follow_what_breaks_a_limb() {
        let said = |limbs, energy_j| to_tree(&tree(limbs), energy_j).unwrap();
        assert!((breaks_j(&tree(true)).unwrap() - 215.7).abs() < 0.1);
        assert_eq!(said(true, 10.0), "brushes past, strips some leaves");
        assert_eq!(said(true, 200.0), "can bend limbs and tear bark");
        assert_eq!(said(true, 230.0), "can break a limb");
        assert_eq!(said(true, 9_000.0), "can break limbs and wound the stem");
        assert_eq!(said(false, 50.0), "can bruise the bark");
        assert_eq!(said(false, 5_000.0), "can wound the stem deeply");
        let shed = Body { kind: BodyKind::Structure, ..tree(false) };
        assert_eq!(to_tree(&shed, 50.0), None);
    }
}
