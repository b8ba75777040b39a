//! Which limbs are where at each cut: on its piece, or still on the spar beside it.
//!
//! Told once from the numbers as told; how long each is comes from the draw.

use glam::DVec3;

use crate::{
    job::{JobError, World},
    scene::{
        model::{BrushSpec, PieceSpec, Scene},
        standing::Left,
    },
    site::Shape,
    tree::{
        Limb, LimbPart, Stem,
        crown::{self, Crown},
    },
    wood::Species,
};

/// What the spar and its limbs are short of where they were cut, so that a piece that leaves doesn't
/// begin inside them, m.
pub(super) const KERF_M: f64 = 0.02;
/// Longest part of a limb on the spar, m: each is as thick as its middle.
const PART_M: f64 = 1.5;

/// The limbs at one cut, by index; those of the crown follow the listed ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct AtCut {
    /// On the piece.
    pub(super) on_piece: Vec<(usize, Left)>,
    /// On what stays.
    pub(super) on_spar: Vec<(usize, Left)>,
}

/// Sorts the limbs of a scene, as told, by cut.
pub(super) fn by_cut(scene: &Scene) -> Vec<AtCut> {
    let tree = &scene.tree;
    let listed = tree.limbs.len();
    let crown = tree.crown.map(|c| crown::heights_m(c.from_m.told, tree.height_m.told));
    let crown: Vec<f64> = crown.into_iter().flatten().collect();
    (0..scene.cuts.len())
        .map(|index| {
            let standing = scene.standing(index);
            let taken = scene.stem_taken_m(index);
            let mut on_piece = scene.limbs_on(index);
            let mut on_spar: Vec<(usize, Left)> = standing
                .limbs
                .iter()
                .enumerate()
                .filter(|(i, left)| {
                    let gone = matches!(left, Left::Gone(_));
                    !gone && on_piece.iter().all(|(other, _)| other != i)
                })
                .map(|(i, left)| (i, *left))
                .collect();
            for (k, height_m) in crown.iter().enumerate() {
                let limb = (listed + k, Left::Whole);
                match taken {
                    Some([from_m, to_m]) if (from_m..=to_m).contains(height_m) => {
                        on_piece.push(limb);
                    }
                    Some([from_m, _]) if *height_m < from_m => on_spar.push(limb),
                    None if *height_m <= standing.top_m => on_spar.push(limb),
                    _ => {}
                }
            }
            // A limb that is cut leaves its own inner part.
            if let Some(PieceSpec::Limb { limb, .. }) = scene.cuts.get(index).map(|c| &c.piece) {
                for (i, left) in &mut on_spar {
                    if i == limb {
                        *left = Left::Stub(index);
                    }
                }
            }
            AtCut { on_piece, on_spar }
        })
        .collect()
}

/// All limbs of a drawn scene on its stem: the listed ones, then the crown's.
pub(super) fn limbs(scene: &Scene, stem: &Stem, turn_rad: f64, species: &Species) -> Vec<Limb> {
    let upright = stem.lean.attitude().inverse();
    let listed = scene.tree.limbs.iter().map(|spec| {
        let (sin, cos) = libm::sincos(spec.azimuth_rad.told + turn_rad);
        let (rise, level) = libm::sincos(spec.angle_rad.told);
        let mut limb = Limb {
            height_m: spec.height_m.told.min(stem.top_m()),
            along: upright * DVec3::new(sin * level, cos * level, rise),
            length_m: spec.length_m.told,
            diameter_m: spec.diameter_m.told,
            brush_kg: 0.0,
        };
        limb.brush_kg = match spec.brush {
            BrushSpec::Share(share) => share.told * limb.wood_m3() * stem.density_kg_m3,
            BrushSpec::Mass(mass) => mass.told,
        };
        limb
    });
    let listed: Vec<Limb> = listed.collect();
    let listed_kg: f64 = listed.iter().map(|l| l.wood_m3() * stem.density_kg_m3 + l.brush_kg).sum();
    let crown = scene.tree.crown.map(|c| {
        let from_m = c.from_m.told.min(0.95 * stem.top_m());
        let crown = Crown { from_m, spread_m: c.spread_m.told, factor: c.factor.told };
        crown::limbs(&crown, stem, scene.tree.dbh_m.told, species, listed_kg)
    });
    listed.into_iter().chain(crown.into_iter().flatten()).collect()
}

/// What stands of a tree above a height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Above {
    /// Its mass, limbs and brush with it, kg.
    pub mass_kg: f64,
    /// Its centre in the stem frame of the whole stem (origin at the foot), m.
    pub centre_m: DVec3,
    /// How far up the stem it goes, m.
    pub up_to_m: f64,
}

impl World {
    /// What stands above a height along the stem once so many cuts are made, at least `least_m` of
    /// stem.
    ///
    /// # Errors
    /// A height that is not on the stem.
    pub fn standing(&self, cuts: usize, from_m: f64, least_m: f64) -> Result<Above, JobError> {
        let standing = self.scene.standing(cuts);
        let up_to_m = standing.top_m.min(self.stem.top_m()).max(from_m + least_m);
        let listed = standing.limbs.iter().enumerate().map(|(i, left)| (i, *left));
        let crown = (standing.limbs.len()..self.limbs.len()).map(|i| (i, Left::Whole));
        let stands = |(i, left): &(usize, Left)| {
            let there =
                self.limbs.get(*i).is_some_and(|l| (from_m..=up_to_m).contains(&l.height_m));
            there && !matches!(left, Left::Gone(_))
        };
        let on_it: Vec<(usize, Left)> = listed.chain(crown).filter(stands).collect();
        let limbs = parts(&self.scene, &self.limbs, &on_it, [from_m, up_to_m]);
        let section = self.stem.limbed_section(from_m, up_to_m, &[], &limbs)?;
        Ok(Above {
            mass_kg: section.piece.mass_kg,
            centre_m: section.centre_m + DVec3::Z * from_m,
            up_to_m,
        })
    }
}

/// How far from the bark what is left of a limb goes, m.
pub(super) fn left_m(scene: &Scene, limb: &Limb, left: Left) -> f64 {
    match left {
        Left::Whole => limb.length_m,
        Left::Stub(cut) => match scene.cuts.get(cut).map(|cut| &cut.piece) {
            Some(PieceSpec::Limb { at_m, .. }) => at_m.told.min(limb.length_m),
            _ => limb.length_m,
        },
        Left::Gone(_) => 0.0,
    }
}

/// The limbs on a section between two heights.
pub(super) fn parts(
    scene: &Scene,
    limbs: &[Limb],
    on_piece: &[(usize, Left)],
    [from_m, to_m]: [f64; 2],
) -> Vec<LimbPart> {
    let part = |(i, left): &(usize, Left)| {
        let limb = limbs.get(*i)?;
        let at = Limb { height_m: limb.height_m.clamp(from_m, to_m), ..*limb };
        Some(LimbPart { limb: at, to_m: left_m(scene, limb, *left) })
    };
    on_piece.iter().filter_map(part).collect()
}

/// The limbs on a spar, as solids.
pub(super) fn on_spar(
    scene: &Scene,
    stem: &Stem,
    limbs: &[Limb],
    on_spar: &[(usize, Left)],
) -> Vec<Shape> {
    let lean = stem.lean.attitude();
    let mut shapes = Vec::new();
    for (i, left) in on_spar {
        let Some(limb) = limbs.get(*i) else { continue };
        let whole = *left == Left::Whole;
        let end_m = left_m(scene, limb, *left) - if whole { 0.0 } else { KERF_M };
        let base_m = limb.base_m(stem);
        let parts = (end_m / PART_M).ceil().max(1.0) as usize;
        for k in 0..parts {
            let at = |k: usize| end_m * k as f64 / parts as f64;
            let radius_m = 0.5 * limb.diameter_at_m(0.5 * (at(k) + at(k + 1)));
            // Round ends go no further than the wood does.
            let [from_m, to_m] = [at(k), at(k + 1) - if k + 1 == parts { radius_m } else { 0.0 }];
            if to_m > from_m {
                let [from_m, to_m] = [from_m, to_m].map(|s| lean * (base_m + limb.along * s));
                shapes.push(Shape::Capsule { from_m, to_m, radius_m });
            }
        }
    }
    shapes
}
