//! The tree above a cut's hinge as the cuts before it take it down, and orders that can't be.
//!
//! Moments are those of the weight of what stands above the hinge, M = r × W, r from the middle of
//! the hinge to the centre: fore toward the face, side to its right.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    job::{Above, JobError, World},
    scene::{model::Scene, standing::Left},
};

use super::result::{Standing, TreeState};

/// What stands above a piece before its cut may be this long, m: a kerf, and what a tape misses.
const GAP_M: f64 = 0.05;

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
    let before = world.scene.cuts.get(..index).unwrap_or_default();
    let after = std::iter::once(None).chain(before.iter().map(|cut| Some(cut.id.clone())));
    after
        .enumerate()
        .map(|(done, after)| {
            // Drawn heights may cross: something of the piece always stands.
            let above = world.standing(done, from_m, GAP_M)?;
            let whole = world.standing(done, 0.0, from_m + GAP_M)?;
            let (arm, [fore_n_m, side_n_m]) = lean_moment(world, &above, pivot_m, forward);
            Ok(Standing {
                after,
                up_to_m: above.up_to_m,
                whole_kg: whole.mass_kg,
                mass_kg: above.mass_kg,
                centre_m: arm.z,
                fore_n_m,
                side_n_m,
            })
        })
        .collect()
}

/// Arm from a pivot to the centre of what stands, m, and the moment of its weight about the pivot,
/// N m: toward `forward`, and to the right of that.
fn lean_moment(world: &World, above: &Above, pivot_m: DVec3, forward: DVec3) -> (DVec3, [f64; 2]) {
    let arm = world.stem.lean.attitude() * above.centre_m - pivot_m;
    let moment = arm.cross(-DVec3::Z * (above.mass_kg * GRAVITY_M_S2));
    (arm, [moment.dot(DVec3::Z.cross(forward)), moment.dot(forward)])
}

/// The whole tree before the first cut and after each one.
///
/// # Errors
/// A section that is not on the stem.
pub fn tree_states(world: &World) -> Result<Vec<TreeState>, JobError> {
    let scene = &world.scene;
    (0..=scene.cuts.len())
        .map(|done| {
            let after = done.checked_sub(1).and_then(|i| scene.cuts.get(i));
            let toward_rad = scene.cuts.last().map_or(0.0, |cut| cut.release.toward_rad().told);
            let forward = world.heading(toward_rad).extend(0.0);
            let standing = scene.standing(done);
            let stands = standing.top_m > GAP_M;
            let above = world.standing(done, 0.0, GAP_M)?;
            let (arm, [fore_n_m, side_n_m]) = lean_moment(world, &above, DVec3::ZERO, forward);
            let or_none = |x: f64| if stands { x } else { 0.0 };
            let top_diameter_m = or_none(world.stem.diameter_m(above.up_to_m));
            let limbs = |wanted: &dyn Fn(&Left) -> bool| -> Vec<String> {
                let limbs = standing.limbs.iter().zip(&scene.tree.limbs);
                limbs.filter(|(left, _)| wanted(left)).map(|(_, limb)| limb.id.clone()).collect()
            };
            Ok(TreeState {
                after: after.map(|cut| cut.id.clone()),
                up_to_m: or_none(above.up_to_m),
                mass_kg: or_none(above.mass_kg),
                centre_m: or_none(arm.z),
                fore_n_m: or_none(fore_n_m),
                side_n_m: or_none(side_n_m),
                top_diameter_m,
                top_sound_m: or_none(
                    top_diameter_m - 2.0 * world.stem.core_radius_m(above.up_to_m),
                ),
                limbs: limbs(&|left| *left == Left::Whole),
                stubs: limbs(&|left| matches!(left, Left::Stub(_))),
            })
        })
        .collect()
}

/// Refuses a cut whose piece isn't at the top of what stands when its turn comes.
///
/// # Errors
/// An earlier cut, or this one, would bring down what stands above its piece.
pub fn check_order(scene: &Scene, index: usize) -> Result<(), JobError> {
    let tree = &scene.tree;
    let mut top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
    let mut top_is = "what stands".to_owned();
    for (i, cut) in scene.cuts.iter().take(index + 1).enumerate() {
        let Some([from_m, to_m]) = scene.stem_taken_m(i) else { continue };
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
