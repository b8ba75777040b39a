//! A crown of which only its foot, its reach and a word are known, as limbs.
//!
//! Its weight comes from the shares of a tree's dry mass above ground (Jenkins, Chojnacky, Heath &
//! Birdsey 2003, Forest Science 49(1), Table 6, in retyped copies that agree):
//!
//! ```text
//! share = exp(B₁ + B₂/D)          of stem wood, stem bark and foliage; branches are what is left
//! crown = stem·w·(branches + foliage)/(stem wood + stem bark)
//! ```
//!
//! less what is listed as limbs. D breast-height diameter (cm), w the word's factor. The stem is the
//! one that the scene measures, green; branches are taken to be as wet as it is. Those trees grew in forests: open-grown crowns
//! are heavier for their diameter (from memory), which the words allow for.
//!
//! Where the limbs stand is ours: four whorls of three, each limb's mass as the cube of its
//! length, hardwood crowns rounded and rising, softwood crowns pointed and level. Known answers:
//! `val_branch_share_of_a_hard_maple`, `verif_a_crown_weighs_its_share`.

use glam::DVec3;

use super::{
    brush::FORM,
    limb::Limb,
    mass::{Frustum, Mass},
    stem::Stem,
};
use crate::wood::Species;

/// Twigs and leaves over a limb's wood where nothing else is known: the middle of a fifth to two
/// fifths, common practice.
pub const USUAL_BRUSH_SHARE: f64 = 0.3;
/// B₁, B₂ (cm) of stem wood, stem bark and foliage (Jenkins et al. 2003, Table 6), hardwood.
const HARDWOOD: [[f64; 2]; 3] = [[-0.3065, -5.4240], [-2.0129, -1.6805], [-4.0813, 5.8816]];
/// The same of softwood.
const SOFTWOOD: [[f64; 2]; 3] = [[-0.3737, -1.8055], [-2.0980, -1.1432], [-2.9584, 4.4766]];
/// Whorls of a crown, as shares of the way from its foot to the top.
const WHORLS: [f64; 4] = [0.125, 0.375, 0.625, 0.875];
/// Limbs a whorl.
const PER_WHORL: usize = 3;
/// Limbs a crown is taken to have.
pub const LIMBS: usize = WHORLS.len() * PER_WHORL;
/// Turn from one whorl to the next, rad.
const WHORL_TURN_RAD: f64 = std::f64::consts::TAU / 9.0;
/// Rise of a hardwood's limbs above square to the stem, rad (35°). Ours.
const HARDWOOD_RISE_RAD: f64 = 35.0 * std::f64::consts::PI / 180.0;
/// Rise of a softwood's limbs, rad (5°). Ours.
const SOFTWOOD_RISE_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;
/// A limb of a crown is no thicker than this share of the stem where it stands. Ours.
const THICKEST_SHARE: f64 = 0.6;
/// However much is listed as limbs, this share of the whole is left for the crown. Ours.
const LEAST_LEFT: f64 = 0.2;
/// Wind at which hardwood brush lays itself over, m/s: with a drag coefficient of 0.8 in still air
/// (0.6 to 1.0, from memory) it makes 0.2 at 20 m/s, in the middle of 0.15 to 0.22 (Vollsinger et
/// al. 2005, abstract).
const HARDWOOD_YIELDS_AT_M_S: f64 = 5.0;
/// The same of softwood: 0.4 at 20 m/s, within 0.22 to 0.47 (Rudnicki et al. 2004, abstract).
const SOFTWOOD_YIELDS_AT_M_S: f64 = 10.0;

/// A crown as it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crown {
    /// Height of its foot along the stem, m.
    pub from_m: f64,
    /// Reach of its limbs from the stem, m.
    pub spread_m: f64,
    /// How heavy it is for the tree's diameter; 1 as the forest-grown trees of the source.
    pub factor: f64,
}

/// Softwoods come first in the codes of the Forest Inventory and Analysis program (below 300).
fn is_softwood(species: &Species) -> bool {
    species.fia < 300
}

/// Wind from which a species' brush lays itself over, m/s.
#[must_use]
pub fn yields_at_m_s(species: &Species) -> f64 {
    if is_softwood(species) { SOFTWOOD_YIELDS_AT_M_S } else { HARDWOOD_YIELDS_AT_M_S }
}

/// Branches and foliage over stem wood and stem bark, by mass.
#[must_use]
pub fn share_of_stem(dbh_m: f64, species: &Species) -> f64 {
    let rows = if is_softwood(species) { SOFTWOOD } else { HARDWOOD };
    let [wood, bark, _] = rows.map(|[b1, b2]| libm::exp(b1 + b2 / (100.0 * dbh_m)));
    ((1.0 - wood - bark) / (wood + bark)).max(0.0)
}

/// Heights of a crown's limbs along the stem, m, lowest first.
#[must_use]
pub fn heights_m(from_m: f64, top_m: f64) -> Vec<f64> {
    (0..LIMBS).map(|k| from_m + (top_m - from_m) * WHORLS[k / PER_WHORL]).collect()
}

/// The limbs of a crown, lowest first: always [`LIMBS`]; `listed_kg` of it is listed apart.
#[must_use]
pub fn limbs(
    crown: &Crown,
    stem: &Stem,
    dbh_m: f64,
    species: &Species,
    listed_kg: f64,
) -> Vec<Limb> {
    let soft = is_softwood(species);
    let rise_rad = if soft { SOFTWOOD_RISE_RAD } else { HARDWOOD_RISE_RAD };
    let (sine, cosine) = libm::sincos(rise_rad);
    let reach = |u: f64| if soft { 1.0 - u } else { (1.0 - u * u).sqrt() };
    let length = |k: usize| crown.spread_m * reach(WHORLS[k / PER_WHORL]) / cosine;
    let cubes: f64 = (0..LIMBS).map(|k| length(k).powi(3)).sum();
    let whole_kg = stem_kg(stem) * share_of_stem(dbh_m, species) * crown.factor;
    let crown_kg = (whole_kg - listed_kg).max(LEAST_LEFT * whole_kg);
    let heights = heights_m(crown.from_m, stem.top_m());
    (0..LIMBS)
        .map(|k| {
            let turn = std::f64::consts::TAU * (k % PER_WHORL) as f64 / PER_WHORL as f64
                + WHORL_TURN_RAD * (k / PER_WHORL) as f64;
            let (length_m, height_m) = (length(k), heights[k]);
            let kg = crown_kg * length_m.powi(3) / cubes;
            let wood_kg = kg / (1.0 + USUAL_BRUSH_SHARE);
            let a_square = stem.density_kg_m3 * std::f64::consts::FRAC_PI_4 * length_m * FORM;
            let thickest_m = THICKEST_SHARE * stem.diameter_m(height_m);
            let diameter_m = (wood_kg / a_square).sqrt().min(thickest_m);
            Limb {
                height_m,
                along: DVec3::new(libm::sin(turn) * cosine, libm::cos(turn) * cosine, sine),
                length_m,
                diameter_m,
                // What the wood may not hold is brush: the crown keeps its weight.
                brush_kg: kg - a_square * diameter_m * diameter_m,
            }
        })
        .collect()
}

/// Mass of the sound stem from foot to top, kg.
fn stem_kg(stem: &Stem) -> f64 {
    let part = |pair: &[super::Station]| Frustum {
        from_m: DVec3::Z * pair[0].height_m,
        to_m: DVec3::Z * pair[1].height_m,
        from_radius_m: 0.5 * pair[0].diameter_m,
        to_radius_m: 0.5 * pair[1].diameter_m,
        density_kg_m3: stem.density_kg_m3,
    };
    let parts = stem.stations.windows(2).map(|pair| part(pair).mass());
    parts.fold(Mass::ZERO, Mass::with).mass_kg
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{tree::limb::LimbPart, wood::species};

    /// Jenkins et al. 2003, Table 6, worked for a hardwood of 50.8 cm: stem wood 0.6615, bark
    /// 0.1293, foliage 0.0190, branches 0.1903.
    #[test]
    fn val_branch_share_of_a_hard_maple() {
        let maple = species("sugar maple").unwrap();
        let share = share_of_stem(0.508, maple);
        assert!((share - (0.0190 + 0.1903) / (0.6615 + 0.1293)).abs() < 3e-4, "{share}");
        // A softwood has less branch and more needle (same table, by hand for 30 cm).
        let pine = share_of_stem(0.30, species("eastern white pine").unwrap());
        assert!((0.2..0.5).contains(&pine), "{pine}");
    }

    /// Westfall et al. 2023 (GTR-WO-104), 20 in by 80 ft: branches are 10 to 44 % of the dry mass
    /// above ground, 16 to 25 % in most softwoods and 20 to 44 % in hardwoods. Jenkins' share of
    /// all hardwoods together lies at the low end of that.
    #[test]
    fn val_branch_share_lies_among_the_national_rows() {
        for name in ["white oak", "white ash", "american elm", "black cherry", "sugar maple"] {
            let share = share_of_stem(0.508, species(name).unwrap());
            let of_all = share / (1.0 + share);
            assert!((0.16..0.44).contains(&of_all), "{name}: {of_all}");
        }
    }

    #[test]
    fn verif_a_crown_weighs_its_share() {
        for name in ["white oak", "douglas-fir"] {
            let wood = species(name).unwrap();
            let stem = Stem::published(0.508, 24.4, wood).unwrap();
            let crown = Crown { from_m: 9.0, spread_m: 4.0, factor: 1.0 };
            let limbs = limbs(&crown, &stem, 0.508, wood, 0.0);
            assert_eq!(limbs.len(), LIMBS);
            let parts: Vec<LimbPart> =
                limbs.iter().map(|l| LimbPart { limb: *l, to_m: l.length_m }).collect();
            let bare = stem.section(0.0, 24.4, &[]).unwrap().piece.mass_kg;
            let whole = stem.limbed_section(0.0, 24.4, &[], &parts).unwrap().piece;
            let share = share_of_stem(0.508, wood);
            // The stem below one foot is a cylinder here and there; the limbs' form is 0.45 to 1e-4.
            let ratio = (whole.mass_kg - bare) / (bare * share);
            assert!((ratio - 1.0).abs() < 0.005, "{name}: {ratio}");
            assert!(limbs.iter().all(|l| l.diameter_m < 0.2 && l.brush_kg > 0.0));
        }
    }
}
