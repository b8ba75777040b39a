//! How hard one kind of ground resists being indented, as numbers ready for the hot loop.
//!
//! Models the pressure `S` (Pa) that ground at depth `z` (m) below its surface bears under a
//! surface element of width `w` (m) and outward normal `n`:
//!
//! ```text
//! cohesive:    S = N(z/w) · s_u(z) · r · D(z/w, n)
//! frictional:  S = (γ·z·N_q + ½·γ·w·N_γ·s_γ) · D(z/w, n)
//! N(ζ) = N₀ + (N_∞ − N₀)·min(ζ/4, 1)           ζ = z/w
//! resisting:   S · min(z/(m·b), 1)
//! D(ζ, n) = f + (1 − f)·min(ζ/4, 1)              f = q + (1 − q)·max(0, n·down)
//! ```
//!
//! m share of the width at which strength is mobilised, b the chord of the patch at the surface (m);
//! s_u undrained shear strength (Pa), top layer first, then soil, then the stop; r rate factor;
//! q the share left to a surface that faces sideways; γ unit weight (N/m³).
//!
//! Sources: end N₀ 6.2 (circular footing) and N_∞ 9 (deep circular), side N₀ 5.14 (strip, Prandtl
//! 1920): bearing-capacity theory as in Skempton 1951, from memory; N_q = e^{π tan φ}·tan²(45° +
//! φ/2) (Reissner 1924) and N_γ = 2(N_q + 1)·tan φ with shape factor s_γ 0.6 for a circle (Vesić
//! 1973), from memory. The direction term D is ours.
//!
//! Strength is not there at once: a rigid footing sinks by about m = 1/120 to 1/60 of its width
//! before the ground gives way, the elastic settlement (π/4)·(1 − ν²)·N·s_u·b/E_u with E_u of 300
//! to 600 s_u, what pile driving calls quake (all from memory). Under a log's side that is a spring
//! of (2/3)·S/m a metre of depth and a metre of log, as the line contact of Hertz with E* =
//! (8/(3π))·S/m. Without it a face flush with hard ground has no rest, because e² of its strength
//! outweighs the piece.
//!
//! Leaves out: pore pressure, layering within a footing's width, remoulding by earlier passes.
//!
//! The strength of neighbouring layers is blended over a fifth of the upper one's thickness, so
//! that a point crossing the border does not jump. Known answers:
//! `verif_strength_has_the_bearing_factors_of_its_source`.

use crate::ground::{Ground, Strength};

/// End of a piece: N at the surface (circular footing).
const END_SHALLOW: f64 = 6.2;
/// End of a piece: N at four diameters and more.
const END_DEEP: f64 = 9.0;
/// End of a piece: what is left of N_γ, s_γ (circular footing).
const END_SHAPE: f64 = 0.6;
/// Side of a piece: N at the surface (strip footing).
const SIDE_SHALLOW: f64 = 5.14;
/// Widths of depth over which bearing goes from shallow to deep.
const DEEP_AFTER_WIDTHS: f64 = 4.0;
/// Half-width of the blend between layers, as a share of the upper layer's thickness.
const BLEND_SHARE: f64 = 0.2;

/// Which part of the piece bears on the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The round side.
    Side,
    /// A cut face.
    End,
}

/// One ground, compiled for the hot loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Law {
    top_depth_m: f64,
    top_blend_per_m: f64,
    top_shear_pa: f64,
    top_friction: f64,
    has_top: bool,
    soil_shear_pa: f64,
    depth_weight_n_m3: f64,
    width_weight_n_m3: f64,
    is_frictional: bool,
    stop_depth_m: f64,
    stop_shear_pa: f64,
    side_deep: f64,
    sideways_share: f64,
    /// One over [`Ground::mobilised_at`].
    per_mobilised: f64,
    soil_friction: f64,
    adhesion: f64,
    /// e² of the ground.
    pub restitution_sq: f64,
    /// c·ρ_s, kg/m³.
    pub inertial_kg_m3: f64,
}

/// Strength and traction limit at one element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bearing {
    /// S, Pa.
    pub strength_pa: f64,
    /// Coulomb friction μ.
    pub friction: f64,
    /// Greatest traction, Pa.
    pub traction_limit_pa: f64,
    /// The wood gives way before the ground does.
    pub wood_gives: bool,
}

impl Law {
    /// Compiles one draw of the ground.
    #[must_use]
    pub fn new(ground: &Ground) -> Self {
        let rate = ground.rate_factor;
        let top = ground.top.filter(|layer| layer.thickness_m > 0.0);
        let (soil_shear_pa, depth_weight, width_weight, is_frictional) = match ground.soil {
            Strength::Cohesive { shear_strength_pa } => (shear_strength_pa * rate, 0.0, 0.0, false),
            Strength::Frictional { friction_angle_rad: phi, unit_weight_n_m3: weight } => {
                let (nq, ngamma) = bearing_factors(phi);
                (0.0, weight * nq, 0.5 * weight * ngamma, true)
            }
        };
        let thickness = top.map_or(0.0, |layer| layer.thickness_m);
        Self {
            top_depth_m: thickness,
            top_blend_per_m: if thickness > 0.0 { 0.5 / (BLEND_SHARE * thickness) } else { 0.0 },
            top_shear_pa: top.map_or(0.0, |layer| layer.shear_strength_pa * rate),
            top_friction: top.map_or(ground.friction, |layer| layer.friction),
            has_top: top.is_some(),
            soil_shear_pa,
            depth_weight_n_m3: depth_weight,
            width_weight_n_m3: width_weight,
            is_frictional,
            stop_depth_m: ground.stop_depth_m,
            stop_shear_pa: ground.stop_strength_pa,
            side_deep: ground.side_bearing_deep,
            sideways_share: ground.sideways_share,
            per_mobilised: 1.0 / ground.mobilised_at.max(1e-12),
            soil_friction: ground.friction,
            adhesion: ground.adhesion.unwrap_or(f64::INFINITY),
            restitution_sq: ground.restitution * ground.restitution,
            inertial_kg_m3: ground.inertial_factor * ground.density_kg_m3,
        }
    }

    /// Strength and traction limit under an element at `depth_m` of width `width_m` whose outward
    /// normal has `downward` = n·down; `crush_pa` is what the wood itself bears.
    #[inline]
    #[must_use]
    pub fn bearing(
        &self,
        part: Part,
        depth_m: f64,
        width_m: f64,
        downward: f64,
        crush_pa: f64,
    ) -> Bearing {
        let deep = (depth_m / (DEEP_AFTER_WIDTHS * width_m)).min(1.0);
        let (shallow_n, deep_n, shape) = match part {
            Part::Side => (SIDE_SHALLOW, self.side_deep, 1.0),
            Part::End => (END_SHALLOW, END_DEEP, END_SHAPE),
        };
        let bearing_n = shallow_n + (deep_n - shallow_n) * deep;
        // Share of the soil at this depth, 0 in the top layer and 1 below it.
        let soil = if self.has_top {
            ((depth_m - self.top_depth_m) * self.top_blend_per_m + 0.5).clamp(0.0, 1.0)
        } else {
            1.0
        };
        let (soil_pa, soil_shear_pa) = if self.is_frictional {
            let below = (depth_m - self.top_depth_m).max(0.0);
            let pa = self.depth_weight_n_m3 * below + self.width_weight_n_m3 * shape * width_m;
            (pa, f64::INFINITY)
        } else {
            let shear =
                if depth_m > self.stop_depth_m { self.stop_shear_pa } else { self.soil_shear_pa };
            (bearing_n * shear, shear)
        };
        let undirected = bearing_n * self.top_shear_pa * (1.0 - soil)
            + if soil > 0.0 { soil_pa * soil } else { 0.0 };
        let facing = self.sideways_share + (1.0 - self.sideways_share) * downward.max(0.0);
        let ground_pa = undirected * (facing + (1.0 - facing) * deep);
        let friction = self.top_friction + (self.soil_friction - self.top_friction) * soil;
        let shear_pa = if soil >= 0.5 { soil_shear_pa } else { self.top_shear_pa };
        Bearing {
            strength_pa: ground_pa.min(crush_pa),
            friction,
            traction_limit_pa: self.adhesion * shear_pa,
            wood_gives: ground_pa > crush_pa,
        }
    }

    /// Share of its strength with which ground resists at `depth_m` where the patch that is in it is
    /// `chord_m` wide at the surface.
    #[inline]
    #[must_use]
    pub fn mobilised(&self, depth_m: f64, chord_m: f64) -> f64 {
        (depth_m * self.per_mobilised / chord_m.max(1e-9)).min(1.0)
    }

    /// Strength of the top layer and of what lies below it at the surface, Pa, with the top
    /// layer's thickness in m: what a step length is judged by.
    #[must_use]
    pub fn surface_strength_pa(&self, part: Part, width_m: f64, crush_pa: f64) -> [f64; 2] {
        let at = |depth| self.bearing(part, depth, width_m, 1.0, crush_pa).strength_pa;
        [at(0.0), at(self.top_depth_m * 1.5 + 1e-3)]
    }

    /// Thickness of the top layer, m.
    #[must_use]
    pub fn top_depth_m(&self) -> f64 {
        self.top_depth_m
    }
}

/// N_q (Reissner 1924) and N_γ (Vesić 1973) for a friction angle in rad.
fn bearing_factors(phi_rad: f64) -> (f64, f64) {
    let tan = libm::tan(phi_rad);
    let half = libm::tan(std::f64::consts::FRAC_PI_4 + 0.5 * phi_rad);
    let nq = libm::exp(std::f64::consts::PI * tan) * half * half;
    (nq, 2.0 * (nq + 1.0) * tan)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::soil::testing::firm;

    #[test]
    fn verif_strength_has_the_bearing_factors_of_its_source() {
        let law = Law::new(&Ground { rate_factor: 1.0, top: None, ..firm() });
        let s_u = 40e3;
        let pressed = |part, depth| law.bearing(part, depth, 0.3, 1.0, 1e9).strength_pa / s_u;
        assert!((pressed(Part::End, 0.0) - 6.2).abs() < 1e-12);
        assert!((pressed(Part::End, 5.0) - 9.0).abs() < 1e-12);
        assert!((pressed(Part::Side, 0.0) - 5.14).abs() < 1e-12);
        assert!((pressed(Part::Side, 5.0) - 7.5).abs() < 1e-12);
        let sideways = law.bearing(Part::Side, 0.0, 0.3, 0.0, 1e9).strength_pa / s_u;
        assert!((sideways - 0.45 * 5.14).abs() < 1e-12);
    }

    #[test]
    fn val_bearing_factors_of_vesic_1973() {
        // Vesić 1973 table, φ = 30°: N_q 18.40, N_γ 22.40; φ = 40°: 64.20, 109.41 (from memory).
        for (deg, nq, ngamma) in [(30.0_f64, 18.40, 22.40), (40.0, 64.20, 109.41)] {
            let (q, g) = bearing_factors(deg.to_radians());
            assert!((q - nq).abs() / nq < 1e-3 && (g - ngamma).abs() / ngamma < 1e-3, "{q} {g}");
        }
    }

    #[test]
    fn verif_wood_limits_what_pavement_bears() {
        let law = Law::new(&Ground {
            soil: Strength::Cohesive { shear_strength_pa: 20e6 },
            top: None,
            ..firm()
        });
        assert!((law.bearing(Part::Side, 0.0, 0.1, 1.0, 4e6).strength_pa - 4e6).abs() < 1.0);
    }
}
