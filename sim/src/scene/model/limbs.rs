//! Limbs and crown of the tree.

use super::super::doubt::Doubtful;

/// A limb of the tree.
#[derive(Clone, Debug, PartialEq)]
pub struct LimbSpec {
    /// Stable id.
    pub id: String,
    /// Height where it leaves the stem, m.
    pub height_m: Doubtful,
    /// Azimuth it points to, rad.
    pub azimuth_rad: Doubtful,
    /// Angle above the horizontal, rad.
    pub angle_rad: Doubtful,
    /// Length from the bark to the tip, m.
    pub length_m: Doubtful,
    /// Diameter at the bark, m.
    pub diameter_m: Doubtful,
    /// Its twigs and leaves.
    pub brush: BrushSpec,
}

/// Twigs and leaves of a limb.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BrushSpec {
    /// As a share of the mass of its wood.
    Share(Doubtful),
    /// By weight, kg.
    Mass(Doubtful),
}

/// What of the crown is not listed as limbs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrownSpec {
    /// Height of its lowest limbs, m.
    pub from_m: Doubtful,
    /// Reach from the stem, m.
    pub spread_m: Doubtful,
    /// How heavy it is, 1 for a forest-grown tree of that diameter.
    pub factor: Doubtful,
}
