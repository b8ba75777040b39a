//! What a hinge of wood holds, bending forward and from side to side, and what practice makes it.
//!
//! A hinge is a strip of the cut, width w across the face and thickness t along it, less a rotten
//! core of width c in its middle. With the modulus of rupture MOR (Pa):
//!
//! ```text
//! area           A      = (w − c)·t                   m²
//! bending fore   M_fore = MOR·(w − c)·t²/6            N m, what the pull has to bend
//! side to side   M_side = MOR·t·(w³ − c³)/(6·w)       N m, what holds against a side lean
//! shear          τ      = 1.5·V/A                     Pa, V the force across the stem
//! worst end      σ      = M/(t·(w³ − c³)/(6·w)) ± N/A Pa, N the weight along the stem
//! ```
//!
//! Beams of one material, stressed to their rupture at the outermost fibre (textbook mechanics, from
//! memory). A core that lies in the middle hardly takes from the side moment and takes all of its
//! width from the bending one. Left out: that a hinge bending forward has less to spare for the
//! side, shakes, reaction wood. Sizes of practice: OSHA Logging eTool (read), Forestry Mutual
//! newsletter, fall 2021 (read).
//!
//! Known answers: `val_felling::val_hinge_sections`, `val_felling::val_hinge_as_sized_by_practice`.

/// A hinge of wood with a rotten core in its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HingeWood {
    /// Width across the face, m.
    pub width_m: f64,
    /// How much of the width is rotten or missing in the middle, m.
    pub core_m: f64,
    /// Thickness along the face's direction, m.
    pub thickness_m: f64,
}

impl HingeWood {
    /// Sound area, m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        (self.width_m - self.core_m).max(0.0) * self.thickness_m
    }

    /// Section modulus of bending forward, m³.
    #[must_use]
    pub fn fore_modulus_m3(&self) -> f64 {
        self.area_m2() * self.thickness_m / 6.0
    }

    /// Section modulus of bending from side to side, m³.
    #[must_use]
    pub fn side_modulus_m3(&self) -> f64 {
        let (w, c) = (self.width_m, self.core_m.min(self.width_m));
        if w > 0.0 { self.thickness_m * (w.powi(3) - c.powi(3)) / (6.0 * w) } else { 0.0 }
    }

    /// Shear stress under a force across the stem, Pa.
    #[must_use]
    pub fn shear_pa(&self, across_n: f64) -> f64 {
        1.5 * across_n / self.area_m2()
    }

    /// Stress at the end a side moment pulls open, Pa (positive: tension), and at the end that it
    /// presses, Pa (positive: compression), under a weight along the stem.
    #[must_use]
    pub fn end_stresses_pa(&self, side_n_m: f64, along_n: f64) -> [f64; 2] {
        if self.area_m2() <= 0.0 {
            return [f64::INFINITY; 2];
        }
        let bending = side_n_m.abs() / self.side_modulus_m3();
        let weight = along_n / self.area_m2();
        [bending - weight, bending + weight]
    }
}

/// Width of a rotten core across a strip whose middle is `off_m` from the stem's axis, m.
#[must_use]
pub fn core_chord_m(core_radius_m: f64, off_m: f64) -> f64 {
    2.0 * (core_radius_m * core_radius_m - off_m * off_m).max(0.0).sqrt()
}

/// Depth of a face as a share of the diameter, least and greatest: a quarter to a third (OSHA
/// Logging eTool, read).
pub const USUAL_FACE_DEPTH: [f64; 2] = [0.25, 1.0 / 3.0];
/// Opening of an open face, rad: at least 70°, best 90° (OSHA Logging eTool, read).
pub const FACE_OPENING_RAD: [f64; 2] = [70.0 * DEG, 90.0 * DEG];
/// Length of a hinge across the face as a share of the diameter at breast height: at least 80 %
/// (OSHA Logging eTool, read; Forestry Mutual, read), and the whole chord at most.
pub const HINGE_WIDTH: [f64; 2] = [0.8, 1.0];
/// Thickness of a hinge as a share of the diameter at breast height: a tenth (OSHA Logging eTool,
/// read), down to a twentieth on large stems (common practice, from memory).
pub const USUAL_HINGE_THICKNESS: [f64; 2] = [0.05, 0.1];

const DEG: f64 = std::f64::consts::PI / 180.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// Strips of the strip, summed.
    #[test]
    fn verif_moduli_are_those_of_strips() {
        let wood = HingeWood { width_m: 0.5, core_m: 0.2, thickness_m: 0.05 };
        let (n, mut area, mut fore, mut side) = (2000, 0.0, 0.0, 0.0);
        for i in 0..n {
            let y = (f64::from(i) + 0.5) / f64::from(n) * wood.width_m - 0.5 * wood.width_m;
            if y.abs() > 0.5 * wood.core_m {
                let strip = wood.width_m / f64::from(n) * wood.thickness_m;
                area += strip;
                fore += strip * wood.thickness_m * wood.thickness_m / 12.0;
                side += strip * y * y;
            }
        }
        assert!((wood.area_m2() / area - 1.0).abs() < 1e-9);
        assert!((wood.fore_modulus_m3() / (fore / (0.5 * wood.thickness_m)) - 1.0).abs() < 1e-9);
        assert!((wood.side_modulus_m3() / (side / (0.5 * wood.width_m)) - 1.0).abs() < 1e-5);
        assert_eq!(core_chord_m(0.1, 0.2), 0.0);
        assert!((core_chord_m(0.5, 0.3) - 0.8).abs() < 1e-12);
    }
}
