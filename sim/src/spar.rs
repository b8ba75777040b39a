//! What loads at blocks and hitches make the standing spar bear, against its green wood.
//!
//! ```text
//! M(z) = Σ (a − p(z)) × F      of the loads above z, without what twists       (N m)
//! share = |M(z)|/(MOR·π·D³/32·(1 − (d/D)⁴)), the weakest z below the loads
//! ```
//!
//! p the middle of the stem at z, a and F where and how a load pulls (m, N), D and d diameter and
//! hollow there. Beam theory; strengths of clear green wood, Wood Handbook FPL-GTR-282 Table 5-3b
//! (read second hand), which differ by 16 % from stem to stem (from memory). Left out: the spar's
//! own weight in its lean, its bend and give (which take from the load), shear, that a shock is borne
//! better than a lasting load, faces and cracks cut into it, roots.
//!
//! Known answer: `verif_a_post_bears_force_times_height`.

use glam::DVec3;

use crate::{felling::decay::modulus_m3, tree::Stem};

/// Sections are this far apart, m.
const LOOK_M: f64 = 0.25;

/// A load on the spar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparLoad {
    /// Where it pulls, m.
    pub at_m: DVec3,
    /// How, N.
    pub force_n: DVec3,
}

/// The standing spar as a beam.
#[derive(Clone, Debug, PartialEq)]
pub struct Spar {
    axis: DVec3,
    /// Middle, m, and the moment that it bears, N m, of each section.
    sections: Vec<(DVec3, f64)>,
}

impl Spar {
    /// The spar from the ground up to `top_m` along the stem, of wood with this modulus of rupture.
    #[must_use]
    pub fn new(stem: &Stem, top_m: f64, rupture_pa: f64) -> Self {
        let axis = stem.lean.attitude() * DVec3::Z;
        let sections = (0..=(top_m.max(0.0) / LOOK_M) as usize)
            .map(|i| {
                let height_m = LOOK_M * i as f64;
                let core_m = 2.0 * stem.core_radius_m(height_m);
                let bears = rupture_pa * modulus_m3(stem.diameter_m(height_m), core_m);
                (axis * height_m, bears)
            })
            .collect();
        Self { axis, sections }
    }

    /// The greatest share of its bending strength that loads use, and how high up that is, m.
    #[must_use]
    pub fn weakest(&self, loads: &[SparLoad]) -> (f64, f64) {
        let of = |(middle_m, bears): &(DVec3, f64)| {
            let above = |load: &&SparLoad| (load.at_m - *middle_m).dot(self.axis) > 0.0;
            let turns = loads.iter().filter(above);
            let moment = turns
                .fold(DVec3::ZERO, |sum, load| sum + (load.at_m - *middle_m).cross(load.force_n));
            let bends = moment - self.axis * moment.dot(self.axis);
            (bends.length() / bears.max(1e-9), middle_m.dot(self.axis))
        };
        self.sections.iter().map(of).fold((0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood;

    #[test]
    fn verif_a_post_bears_force_times_height() {
        let species = wood::species("White oak").unwrap();
        let mut stem = Stem::published(0.5, 20.0, species).unwrap();
        for station in &mut stem.stations {
            station.diameter_m = 0.3;
        }
        stem.hollows.clear();
        let spar = Spar::new(&stem, 8.0, 50e6);
        let load = SparLoad { at_m: DVec3::Z * 6.0, force_n: DVec3::new(1000.0, 0.0, -700.0) };
        let bears = 50e6 * std::f64::consts::PI * 0.3_f64.powi(3) / 32.0;
        let (share, at_m) = spar.weakest(&[load]);
        assert!((share * bears / 6000.0 - 1.0).abs() < 1e-9 && at_m == 0.0, "{share} {at_m}");
        // Off the middle a pull down bends as well, and a brake right under the block takes it back.
        let off = DVec3::new(0.15, 0.0, 6.0);
        let (share, _) = spar.weakest(&[SparLoad { at_m: off, force_n: DVec3::Z * -2000.0 }]);
        assert!((share * bears / 300.0 - 1.0).abs() < 1e-9);
        let up = SparLoad { at_m: DVec3::new(0.15, 0.0, 1.0), force_n: DVec3::Z * 2000.0 };
        let down = SparLoad { at_m: off, force_n: DVec3::Z * -2000.0 };
        let (_, at_m) = spar.weakest(&[down, up]);
        assert!(at_m >= 1.0, "{at_m}");
    }
}
