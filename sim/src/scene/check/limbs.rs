//! Limbs, crown, and cuts that take a limb or the top.

use super::{
    super::{model::*, standing::Left},
    Checks,
    job::{SAME_HEIGHT_M, stem_diameter_m},
};

/// About what share of its thickness a limb has lost at its tip.
const LOST_BY_THE_TIP: f64 = 0.7;
/// Shortest piece of a limb, m.
const LIMB_MIN_M: f64 = 0.1;
/// Furthest that the face of a limb's hinge may look from where the limb points, rad (45°): it
/// falls about a hinge line across itself.
const FACE_OFF_RAD: f64 = std::f64::consts::FRAC_PI_4;

impl Checks {
    pub(super) fn limbs(&mut self, tree: &TreeSpec) {
        let top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
        for (i, limb) in tree.limbs.iter().enumerate() {
            let path = format!("tree.limbs[{i}]");
            if limb.height_m.told > top_m {
                let allowed = format!("up to {}, the top of what stands", self.m(top_m));
                self.wrong(&format!("{path}.height"), "a limb above the top", allowed);
            }
            let stem_m = stem_diameter_m(tree, limb.height_m.told);
            if limb.diameter_m.told > stem_m {
                let about = self.thick(stem_m);
                self.wrong(
                    &format!("{path}.diameter"),
                    "a limb thicker than the stem",
                    format!("at most the stem's diameter there, about {about}"),
                );
            }
            if limb.diameter_m.told > 0.5 * limb.length_m.told {
                let allowed = format!("at most half its length, {}", self.m(limb.length_m.told));
                self.wrong(&format!("{path}.diameter"), "a limb as thick as it is long", allowed);
            }
        }
        if let Some(crown) = &tree.crown
            && crown.from_m.told >= top_m
        {
            let allowed = format!("below {}, the top of what stands", self.m(top_m));
            self.wrong("tree.crown.from", "a crown that begins above the top", allowed);
        }
    }

    /// A cut that takes a limb.
    pub(super) fn limb_cut(&mut self, scene: &Scene, index: usize, limb: usize, at_m: f64) {
        let path = format!("cuts[{index}]");
        // An unknown id was refused when the scene was read.
        let Some(spec) = scene.tree.limbs.get(limb) else { return };
        let by = |cut: usize| scene.cuts.get(cut).map_or("", |cut| cut.id.as_str());
        let standing = scene.standing(index);
        let left_m = match standing.limbs.get(limb).copied().unwrap_or(Left::Gone(None)) {
            Left::Whole => spec.length_m.told,
            Left::Stub(cut) => {
                let left_m = match scene.cuts.get(cut).map(|cut| &cut.piece) {
                    Some(PieceSpec::Limb { at_m, .. }) => at_m.told,
                    _ => 0.0,
                };
                if at_m > left_m - LIMB_MIN_M {
                    let what = format!(
                        "limb {:?} was cut {} from the bark by the cut {:?} before: nothing is \
                         left there",
                        spec.id,
                        self.m(left_m),
                        by(cut)
                    );
                    let allowed = format!(
                        "less than {} from the bark, a limb that still stands, or another order",
                        self.m((left_m - LIMB_MIN_M).max(0.0))
                    );
                    self.wrong(&format!("{path}.piece.limb"), what, allowed);
                    return;
                }
                left_m
            }
            Left::Gone(cut) => {
                let what = match cut {
                    Some(cut) => format!(
                        "limb {:?} has come down already, on the piece of the cut {:?}",
                        spec.id,
                        by(cut)
                    ),
                    None => format!("limb {:?} stands above what is left of the stem", spec.id),
                };
                self.wrong(&format!("{path}.piece.limb"), what, "a limb that still stands");
                return;
            }
        };
        if at_m > left_m - LIMB_MIN_M {
            self.wrong(
                &format!("{path}.piece.at"),
                "a cut beyond the limb's tip",
                format!("at most {} from the bark", self.m((left_m - LIMB_MIN_M).max(0.0))),
            );
            return;
        }
        let Some(cut) = scene.cuts.get(index) else { return };
        if !cut.stubs.is_empty() {
            let allowed = "no stubs on a limb: its brush is told by `brush`";
            self.wrong(&format!("{path}.stubs"), "stubs on a limb", allowed);
        }
        // About: only for refusing what can't be.
        let taper = 1.0 - LOST_BY_THE_TIP * at_m / spec.length_m.told;
        self.release(
            &format!("{path}.release"),
            &cut.release,
            spec.diameter_m.told * taper,
            left_m - at_m,
        );
        let release = format!("{path}.release");
        match &cut.release {
            ReleaseSpec::Hinge { face, .. } | ReleaseSpec::BoredHinge { face, .. } => {
                let off = (face.toward_rad.told - spec.azimuth_rad.told)
                    .rem_euclid(std::f64::consts::TAU);
                if off.min(std::f64::consts::TAU - off) > FACE_OFF_RAD {
                    let allowed = format!(
                        "within 45° of {:.0}°, where the limb points: it falls about a hinge line \
                         across itself",
                        spec.azimuth_rad.told.to_degrees()
                    );
                    self.wrong(
                        &format!("{release}.face"),
                        "a face that the limb does not fall to",
                        allowed,
                    );
                }
            }
            ReleaseSpec::UnderAndTop { .. } => {}
            ReleaseSpec::Snap { .. } | ReleaseSpec::PushOver { .. } => self.wrong(
                &release,
                "a limb is not snapped or pushed off",
                "Hinge(..), BoredHinge(..) or UnderAndTop(..)",
            ),
        }
    }

    /// A release that only a limb can have.
    pub(super) fn not_a_limb(&mut self, index: usize, release: &ReleaseSpec) {
        if matches!(release, ReleaseSpec::UnderAndTop { .. }) {
            self.wrong(
                &format!("cuts[{index}].release"),
                "an under-and-top cut on the stem",
                "Hinge(..), BoredHinge(..), Snap(..) or PushOver(..); it is for limbs",
            );
        }
    }

    /// A top that has a length.
    pub(super) fn top(&mut self, index: usize, from_m: f64, top_m: f64, top_is: &str) -> bool {
        let wrong = from_m > top_m - SAME_HEIGHT_M;
        if wrong {
            self.wrong(
                &format!("cuts[{index}].piece.from"),
                format!("above {top_is}"),
                format!("less than {}", self.m(top_m)),
            );
        }
        !wrong
    }
}
