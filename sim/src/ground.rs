//! One realisation of the ground: the numbers the soil law needs, at one place, in SI.
//!
//! What a climber can say of the ground (thumb test, heel mark, litter by finger, wetness words)
//! is turned into ranges, and one draw from those ranges is a [`Ground`].

mod table;
pub mod words;

pub use words::{Between, Cover, GroundWords, Heel, Range, Roughness, SoilWord, Thumb, Wetness};

/// What resists indentation in a layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Strength {
    /// Soil that holds together: undrained shear strength s_u, Pa.
    Cohesive {
        /// Undrained shear strength, Pa.
        shear_strength_pa: f64,
    },
    /// Loose, frictional ground.
    Frictional {
        /// Angle of internal friction φ, rad.
        friction_angle_rad: f64,
        /// Unit weight γ, N/m³.
        unit_weight_n_m3: f64,
    },
}

/// The thick weak layer on top: litter, turf or a brush mat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TopLayer {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Undrained shear strength, Pa.
    pub shear_strength_pa: f64,
    /// Coulomb friction of wood on it.
    pub friction: f64,
}

/// Undergrowth a piece runs through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Undergrowth {
    /// Mean distance between stems, m.
    pub spacing_m: f64,
    /// Stem thickness at knee height, m.
    pub thickness_m: f64,
    /// Height, m.
    pub height_m: f64,
}

/// One draw of the ground at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ground {
    /// Litter, turf or brush on top, if any.
    pub top: Option<TopLayer>,
    /// The soil below the top layer.
    pub soil: Strength,
    /// Depth below the surface at which something hard begins, m (`f64::INFINITY`: none).
    pub stop_depth_m: f64,
    /// Shear strength of the stop, Pa.
    pub stop_strength_pa: f64,
    /// Factor on shear strength for quick loading, 1 to 3.
    pub rate_factor: f64,
    /// Restitution e: returned work is at most e² of work put in.
    pub restitution: f64,
    /// Coulomb friction of wood on the soil.
    pub friction: f64,
    /// Traction is at most this share α of the shear strength, if the ground is wet or clayey.
    pub adhesion: Option<f64>,
    /// Inertial factor c of the ρ·v² term.
    pub inertial_factor: f64,
    /// Soil density ρ_s, kg/m³.
    pub density_kg_m3: f64,
    /// Depth-factor end value N_∞ on the side of a piece, 7.5 (9 as upper doubt).
    pub side_bearing_deep: f64,
    /// Share of strength left to a surface facing sideways, 0.45 as told (0.3–0.6 as doubt).
    pub sideways_share: f64,
    /// Depth at which ground is pushed aside with its whole strength, as a share of the width of
    /// what goes in; less deep, in proportion. 0: at once.
    pub mobilised_at: f64,
    /// Roughness, peak to trough over 0.8 m, m.
    pub roughness_m: f64,
    /// Undergrowth, if any.
    pub undergrowth: Option<Undergrowth>,
}
