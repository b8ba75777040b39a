//! The tree above a cut's hinge as the cuts before it take it down, and orders that can't be.
//!
//! Moments are those of the weight of what stands above the hinge, M = r × W, r from the middle of
//! the hinge to the centre: fore toward the face, side to its right.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    job::{JobError, World},
    scene::model::{Cut, PieceSpec, Scene},
    tree::{Stem, StemError},
};

use super::result::Standing;

/// What stands above a piece before its cut may be this long, m: a kerf, and what a tape misses.
const GAP_M: f64 = 0.05;

/// Mass (kg) and centre (m, stem frame from the ground up) of what stands between two heights along
/// the stem. The one place where limbs that still stand there come in.
fn standing(stem: &Stem, from_m: f64, to_m: f64) -> Result<(f64, DVec3), StemError> {
    let section = stem.section(from_m, to_m, &[])?;
    Ok((section.piece.mass_kg, section.centre_m + DVec3::Z * from_m))
}

/// The tree above the hinge at `pivot_m` of a cut at `from_m`, before the first cut and after each
/// one before this; the stem's foot is the origin.
///
/// # Errors
/// A section that is not on the stem.
pub(super) fn states(
    world: &World,
    index: usize,
    from_m: f64,
    pivot_m: DVec3,
    forward: DVec3,
) -> Result<Vec<Standing>, JobError> {
    let stem = &world.stem;
    let attitude = stem.lean.attitude();
    let before = world.scene.cuts.get(..index).unwrap_or_default();
    let top_m = world.scene.tree.topped_at_m.map_or(stem.top_m(), |top| top.told);
    let tops = std::iter::once((None, top_m)).chain(before.iter().map(|cut| {
        let PieceSpec::Section { from_m, .. } = &cut.piece;
        (Some(cut.id.clone()), from_m.told)
    }));
    tops.map(|(after, up_to_m)| {
        // Drawn heights may cross: something of the piece always stands.
        let up_to_m = up_to_m.min(stem.top_m()).max(from_m + GAP_M);
        let (mass_kg, centre_m) = standing(stem, from_m, up_to_m)?;
        let whole_kg = standing(stem, 0.0, up_to_m)?.0;
        let arm = attitude * centre_m - pivot_m;
        let moment = arm.cross(-DVec3::Z * (mass_kg * GRAVITY_M_S2));
        Ok(Standing {
            after,
            up_to_m,
            whole_kg,
            mass_kg,
            centre_m: arm.z,
            fore_n_m: moment.dot(DVec3::Z.cross(forward)),
            side_n_m: moment.dot(forward),
        })
    })
    .collect()
}

/// Refuses a cut whose piece isn't at the top of what stands when its turn comes.
///
/// # Errors
/// An earlier cut, or this one, would bring down what stands above its piece.
pub(super) fn check_order(scene: &Scene, index: usize) -> Result<(), JobError> {
    let tree = &scene.tree;
    let mut top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
    let mut top_is = "what stands".to_owned();
    for (i, cut) in scene.cuts.iter().take(index + 1).enumerate() {
        let (from_m, to_m) = ends(cut);
        if to_m < top_m - GAP_M {
            let units = scene.units;
            let what = format!(
                "{} of stem stands on this piece and would come down with it",
                units.length(top_m - to_m)
            );
            let allowed = format!(
                "up to {}, the top of {top_is}, or a cut before it that takes that down{}",
                units.length(top_m),
                if i == 0 && tree.topped_at_m.is_none() { ", or tree.topped_at" } else { "" }
            );
            let error = scene.refuse(&format!("cuts[{i}].piece.to"), &what, &allowed);
            return error.map_or(Ok(()), |error| Err(error.into()));
        }
        top_m = from_m;
        top_is = format!("what the cut {:?} leaves", cut.id);
    }
    Ok(())
}

fn ends(cut: &Cut) -> (f64, f64) {
    let PieceSpec::Section { from_m, to_m } = &cut.piece;
    (from_m.told, to_m.told)
}
