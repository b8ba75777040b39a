//! A limb: a straight tapering beam out of the stem, with brush on its outer part.
//!
//! ```text
//! d(s) = d·(1 − (1 − q)·s/L)          (1 + q + q²)/3 = 0.45, the form factor
//! ```
//!
//! s distance from the bark (m), L length, d diameter at the bark. A limb is a tapering beam of
//! form factor 0.4 to 0.5 with twigs and leaves a fifth to two fifths more (common practice, no
//! source). Its brush stands on the outer part in sprays ([`super::brush`]).
//!
//! Of a limb that stands on a piece only the part next to the bark is stiff: beyond it the ground
//! bends it, and it breaks there. A limb that was cut off is stiff up to where it becomes slender.
//! Left out: crooks, side branches, the collar. Known answers: `verif_a_limb_weighs_what_its_form_says`,
//! `verif_compound_inertia_is_that_of_its_parts`.

use glam::{DQuat, DVec3};

use crate::GRAVITY_M_S2;

use super::{
    brush::{
        AREA_M2_KG, Brush, Carrier, FORM, SPRAYS, Spray, WORK_TO_BREAK_J_M3, Wood, slender_end,
        split,
    },
    mass::{Frustum, Mass, principal},
    piece::{Piece, Round},
    section::Section,
    stem::{Stem, StemError, above_zero},
};

/// Thickness of a limb at its tip over that at the bark: what makes [`FORM`].
const TIP_SHARE: f64 = 0.274;
/// Brush stands on a limb from this share of its length outward. Ours.
const BRUSH_FROM: f64 = 0.4;
/// Twigs stand out of a limb this share of its length. Ours.
const TWIG_LENGTH_SHARE: f64 = 0.15;
/// Twigs are this share of the limb's own tip thick. Ours.
const TWIG_THICKNESS_SHARE: f64 = 0.5;
/// Of a limb on a piece this share of its length is stiff; it breaks there and leaves a stub. Ours.
const STIFF_SHARE: f64 = 0.25;

/// A limb on the stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limb {
    /// Height along the stem from its foot, m.
    pub height_m: f64,
    /// Where it points, away from the stem: a unit vector in the stem frame.
    pub along: DVec3,
    /// Length from the bark to the tip of its wood, m.
    pub length_m: f64,
    /// Diameter at the bark, m.
    pub diameter_m: f64,
    /// Mass of twigs and leaves on the whole limb, kg.
    pub brush_kg: f64,
}

/// What of a limb is on a piece: from the bark outward to a distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimbPart {
    /// The limb.
    pub limb: Limb,
    /// How far from the bark it goes, m; its length if nothing of it was cut.
    pub to_m: f64,
}

/// A limb that was cut off, and how it sat.
#[derive(Clone, Debug, PartialEq)]
pub struct LimbCut {
    /// The piece; its frame's z runs from the cut to the tip.
    pub section: Section,
    /// The limb's axis at the cut in the stem frame, from the stem's foot, m.
    pub cut_m: DVec3,
    /// Turns the limb's frame (z along it, from the cut outward) into the stem frame.
    pub attitude: DQuat,
    /// Radius at the cut, m.
    pub cut_radius_m: f64,
}

impl Limb {
    /// Unit vector away from the stem, square to it.
    #[must_use]
    pub fn outward(&self) -> DVec3 {
        DVec3::new(self.along.x, self.along.y, 0.0).normalize_or(DVec3::Y)
    }

    /// Where its axis leaves the bark, in the stem frame from the stem's foot, m.
    #[must_use]
    pub fn base_m(&self, stem: &Stem) -> DVec3 {
        self.outward() * (0.5 * stem.diameter_m(self.height_m)) + DVec3::Z * self.height_m
    }

    /// Diameter at a distance from the bark, m.
    #[must_use]
    pub fn diameter_at_m(&self, s_m: f64) -> f64 {
        self.diameter_m * (1.0 - (1.0 - TIP_SHARE) * (s_m / self.length_m).clamp(0.0, 1.0))
    }

    /// Its wood between two distances from the bark, as if the bark were at `base_m` and it
    /// pointed `along`.
    fn wood(&self, base_m: DVec3, along: DVec3, from_m: f64, to_m: f64, density: f64) -> Frustum {
        Frustum {
            from_m: base_m + along * from_m,
            to_m: base_m + along * to_m,
            from_radius_m: 0.5 * self.diameter_at_m(from_m),
            to_radius_m: 0.5 * self.diameter_at_m(to_m),
            density_kg_m3: density,
        }
    }

    /// Volume of all its wood, m³.
    #[must_use]
    pub fn wood_m3(&self) -> f64 {
        std::f64::consts::FRAC_PI_4 * self.diameter_m.powi(2) * self.length_m * FORM
    }

    /// Twigs and leaves between two distances from the bark, kg.
    #[must_use]
    pub fn brush_between_kg(&self, from_m: f64, to_m: f64) -> f64 {
        let begins_m = BRUSH_FROM * self.length_m;
        let covered = (to_m.min(self.length_m) - from_m.max(begins_m)).max(0.0);
        self.brush_kg * covered / (self.length_m - begins_m)
    }

    /// Sprays of what stands between two distances from the bark; `carried` if the limb may bend
    /// and break under them.
    fn sprays(
        &self,
        (base_m, along): (DVec3, DVec3),
        [from_m, to_m]: [f64; 2],
        wood: &Wood,
        carried: bool,
    ) -> impl Iterator<Item = Spray> {
        let (limb, wood) = (*self, *wood);
        let part_m = (to_m - from_m) / SPRAYS as f64;
        let share = 1.0 / SPRAYS as f64;
        (0..SPRAYS).filter_map(move |k| {
            let low_m = from_m + part_m * k as f64;
            let s_m = low_m + 0.5 * part_m;
            let mass_kg = limb.brush_between_kg(low_m, low_m + part_m);
            let wood_radius_m = 0.5 * limb.diameter_at_m(s_m);
            let carrier = carried.then(|| Carrier {
                bending: wood.cantilever(s_m, limb.diameter_m).share(share),
                work_j: share * WORK_TO_BREAK_J_M3 * limb.wood_m3(),
            });
            if carrier.is_none() && mass_kg <= 0.0 {
                return None;
            }
            let twig_m = TWIG_LENGTH_SHARE * limb.length_m;
            let thick_m = TWIG_THICKNESS_SHARE * TIP_SHARE * limb.diameter_m;
            Some(Spray {
                at_m: base_m + along * s_m,
                radius_m: if mass_kg > 0.0 { twig_m.max(wood_radius_m) } else { wood_radius_m },
                wood_radius_m,
                mass_kg,
                drag_area_m2: AREA_M2_KG * mass_kg,
                twigs: wood.twigs(mass_kg, twig_m, thick_m),
                carrier,
            })
        })
    }
}

impl Stem {
    /// What limbs on it are made of.
    #[must_use]
    pub fn wood(&self) -> Wood {
        Wood {
            density_kg_m3: self.density_kg_m3,
            rupture_pa: self.rupture_pa,
            elasticity_pa: self.elasticity_pa,
        }
    }

    /// What limbs add to a piece whose frame begins at `foot_m` up the stem.
    pub(super) fn limbs_on(&self, foot_m: f64, parts: &[LimbPart]) -> Limbs {
        let wood = self.wood();
        let mut limbs = Limbs { frusta: Vec::new(), stiff: Vec::new(), brush: Brush::default() };
        limbs.brush.yields_at_m_s = self.brush_yields_at_m_s;
        for LimbPart { limb, to_m } in parts {
            let to_m = to_m.min(limb.length_m);
            if to_m <= 0.0 {
                continue;
            }
            let base_m = limb.base_m(self) - DVec3::Z * foot_m;
            let part =
                |from_m, to_m| limb.wood(base_m, limb.along, from_m, to_m, self.density_kg_m3);
            let stiff_m = (STIFF_SHARE * limb.length_m).min(to_m);
            limbs.frusta.push(part(0.0, to_m));
            limbs.stiff.push((part(0.0, stiff_m), stiff_m >= to_m));
            if stiff_m < to_m {
                let rod = part(stiff_m, to_m);
                limbs.brush.rods.push(Round {
                    from_m: rod.from_m,
                    to_m: rod.to_m,
                    from_radius_m: rod.from_radius_m,
                    to_radius_m: rod.to_radius_m,
                    from_is_face: false,
                    to_is_face: to_m < limb.length_m,
                });
                let at = (base_m, limb.along);
                limbs.brush.sprays.extend(limb.sprays(at, [stiff_m, to_m], &wood, true));
            }
        }
        limbs
    }

    /// A limb cut off at a distance from the bark; `part` says how far it goes.
    ///
    /// # Errors
    /// Sizes not above zero; nothing of the limb beyond the cut.
    pub fn limb(&self, part: &LimbPart, at_m: f64) -> Result<LimbCut, StemError> {
        let limb = &part.limb;
        above_zero("a limb's length in m", limb.length_m)?;
        above_zero("a limb's diameter in m", limb.diameter_m)?;
        let to_m = part.to_m.min(limb.length_m);
        above_zero("the length of a cut limb in m", to_m - at_m)?;
        let wood = limb.wood(DVec3::Z * -at_m, DVec3::Z, at_m, to_m, self.density_kg_m3);
        let begins_m = at_m.max(BRUSH_FROM * limb.length_m).min(to_m);
        let at = (DVec3::Z * -at_m, DVec3::Z);
        let sprays: Vec<Spray> = limb.sprays(at, [begins_m, to_m], &self.wood(), false).collect();
        let mass = sprays.iter().map(ball).fold(wood.mass(), Mass::with);
        above_zero("the limb's mass in kg", mass.mass_kg)?;
        let centre_m = mass.centre_m();
        let (inertia_kg_m2, attitude) = principal(mass.inertia_about_centre_kg_m2());
        let to_body = |p: DVec3| attitude.inverse() * (p - centre_m);
        let weight_n = mass.mass_kg * GRAVITY_M_S2;
        let [stiff, slender] = split(&[wood], &self.wood(), weight_n);
        let slender_from = (!slender.is_empty()).then_some(stiff.len());
        let sprays = sprays.into_iter().chain(slender_end(&slender, &self.wood()));
        let rounds = [stiff, slender].concat();
        let last = rounds.len() - 1;
        let piece = Piece {
            rounds: (rounds.iter().enumerate())
                .map(|(i, f)| Round {
                    from_m: to_body(f.from_m),
                    to_m: to_body(f.to_m),
                    from_radius_m: f.from_radius_m,
                    to_radius_m: f.to_radius_m,
                    from_is_face: i == 0,
                    to_is_face: i == last,
                })
                .collect(),
            stem_rounds: rounds.len(),
            mass_kg: mass.mass_kg,
            inertia_kg_m2,
            side_crush_pa: self.side_crush_pa,
            end_crush_pa: self.end_crush_pa,
            brush: Brush {
                sprays: sprays.map(|s| Spray { at_m: to_body(s.at_m), ..s }).collect(),
                rods: Vec::new(),
                slender_from,
                yields_at_m_s: self.brush_yields_at_m_s,
            },
        };
        Ok(LimbCut {
            section: Section { piece, centre_m, attitude },
            cut_m: limb.base_m(self) + limb.along * at_m,
            attitude: DQuat::from_rotation_arc(DVec3::Z, limb.along),
            cut_radius_m: wood.from_radius_m,
        })
    }
}

/// What limbs add to a piece, in its stem frame.
pub(super) struct Limbs {
    /// All their wood.
    pub(super) frusta: Vec<Frustum>,
    /// The stiff part of each, and whether it ends in a cut face.
    pub(super) stiff: Vec<(Frustum, bool)>,
    pub(super) brush: Brush,
}

/// Mass of a spray: a ball of even density.
pub(super) fn ball(spray: &Spray) -> Mass {
    Mass::ball(spray.mass_kg, spray.at_m, spray.radius_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        tree::{Station, brush::FORM},
        wood::species,
    };
    use glam::DMat3;

    fn stem() -> Stem {
        let at = |height_m, diameter_m| Station { height_m, diameter_m };
        let oak = species("white oak").unwrap();
        Stem::measured(vec![at(0.0, 0.5), at(12.0, 0.3)], None, oak).unwrap()
    }

    fn limb() -> Limb {
        let (sine, cosine) = libm::sincos(25_f64.to_radians());
        let out = DVec3::new(0.6, 0.8, 0.0);
        Limb {
            height_m: 8.0,
            along: out * cosine + DVec3::Z * sine,
            length_m: 5.0,
            diameter_m: 0.18,
            brush_kg: 17.0,
        }
    }

    #[test]
    fn verif_a_limb_weighs_what_its_form_says() {
        let (stem, limb) = (stem(), limb());
        let whole = LimbPart { limb, to_m: limb.length_m };
        let cut = stem.limb(&whole, 0.0).unwrap();
        let wood_kg = stem.density_kg_m3 * std::f64::consts::FRAC_PI_4 * 0.18 * 0.18 * 5.0 * FORM;
        let mass = cut.section.piece.mass_kg;
        assert!((mass - wood_kg - 17.0).abs() < 0.05, "{mass} {wood_kg}");
        assert!((limb.wood_m3() * stem.density_kg_m3 - wood_kg).abs() < 1e-9);
        // Two halves of it weigh as much as the whole, brush and all.
        let inner = LimbPart { limb, to_m: 3.1 };
        let [outer, inner] = [stem.limb(&whole, 3.1), stem.limb(&inner, 0.0)].map(Result::unwrap);
        let both = outer.section.piece.mass_kg + inner.section.piece.mass_kg;
        assert!((both - mass).abs() < 1e-9, "{both} {mass}");
        assert!(stem.limb(&LimbPart { limb, to_m: 3.0 }, 3.0).is_err());
    }

    /// Stem and limb as one body: parallel axes, and the principal axes by nalgebra.
    #[test]
    fn verif_compound_inertia_is_that_of_its_parts() {
        let (stem, limb) = (stem(), limb());
        let part = LimbPart { limb, to_m: limb.length_m };
        let top = stem.limbed_section(6.0, 12.0, &[], &[part]).unwrap();
        let bare = stem.section(6.0, 12.0, &[]).unwrap();
        let cut = stem.limb(&part, 0.0).unwrap();
        let tensor = |s: &Section| {
            let turn = DMat3::from_quat(s.attitude);
            turn * DMat3::from_diagonal(s.piece.inertia_kg_m2) * turn.transpose()
        };
        let shift = |m: f64, r: DVec3| {
            let outer = DMat3::from_cols(r * r.x, r * r.y, r * r.z);
            (DMat3::IDENTITY * r.length_squared() - outer) * m
        };
        let turn = DMat3::from_quat(cut.attitude);
        let at_m = cut.cut_m - DVec3::Z * 6.0 + cut.attitude * cut.section.centre_m;
        let (m1, m2) = (bare.piece.mass_kg, cut.section.piece.mass_kg);
        let centre_m = (bare.centre_m * m1 + at_m * m2) / (m1 + m2);
        let by_parts = tensor(&bare)
            + shift(m1, bare.centre_m - centre_m)
            + turn * tensor(&cut.section) * turn.transpose()
            + shift(m2, at_m - centre_m);
        // The sprays of a limb on a piece stand elsewhere than those of a cut limb: each half of
        // the outer part instead of each third of the brushed one. Without brush they are equal.
        let bald = Limb { brush_kg: 0.0, ..limb };
        let part = LimbPart { limb: bald, to_m: bald.length_m };
        let bald_cut = stem.limb(&part, 0.0).unwrap();
        let bald_top = stem.limbed_section(6.0, 12.0, &[], &[part]).unwrap();
        let at_m = bald_cut.cut_m - DVec3::Z * 6.0 + bald_cut.attitude * bald_cut.section.centre_m;
        let m2 = bald_cut.section.piece.mass_kg;
        let bald_centre_m = (bare.centre_m * m1 + at_m * m2) / (m1 + m2);
        let exact = tensor(&bare)
            + shift(m1, bare.centre_m - bald_centre_m)
            + turn * tensor(&bald_cut.section) * turn.transpose()
            + shift(m2, at_m - bald_centre_m);
        assert!((bald_top.centre_m - bald_centre_m).length() < 1e-12);
        assert!(tensor(&bald_top).abs_diff_eq(exact, 1e-9 * exact.x_axis.x));
        // With brush, where it stands is known to a fraction of its spray's width.
        assert!((top.centre_m - centre_m).length() < 0.02);
        assert!(tensor(&top).abs_diff_eq(by_parts, 0.03 * by_parts.x_axis.x));
        // The principal axes are tilted, and all three moments differ.
        let i = top.piece.inertia_kg_m2;
        assert!((i.x - i.y).abs() > 0.02 * i.x && (top.attitude * DVec3::Z).z < 0.9999);
    }

    #[test]
    fn prop_a_bare_section_has_no_brush_and_keeps_its_bits() {
        let stem = stem();
        let plain = stem.section(6.0, 12.0, &[]).unwrap();
        assert!(plain.piece.brush.is_empty() && plain.piece.soft_rounds().next().is_none());
        assert_eq!(plain, stem.limbed_section(6.0, 12.0, &[], &[]).unwrap());
    }

    #[test]
    fn prop_a_limb_reaches_where_it_is_told_to() {
        let (stem, limb) = (stem(), limb());
        let part = LimbPart { limb, to_m: limb.length_m };
        let cut = stem.limb(&part, 0.5).unwrap();
        let piece = &cut.section.piece;
        let tip = cut.cut_m
            + cut.attitude * (cut.section.centre_m + cut.section.attitude * piece.top_m());
        assert!((tip - (limb.base_m(&stem) + limb.along * 5.0)).length() < 1e-12);
        let top = stem.limbed_section(6.0, 12.0, &[], &[part]).unwrap();
        let rod = top.piece.brush.rods[0];
        let tip = top.centre_m + top.attitude * rod.to_m + DVec3::Z * 6.0;
        assert!((tip - (limb.base_m(&stem) + limb.along * 5.0)).length() < 1e-12);
        assert!(piece.bounding_radius_m() > 2.5 && top.piece.bounding_radius_m() > 4.5);
    }
}
