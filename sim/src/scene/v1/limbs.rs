//! Limbs and crown of the tree as they are written.

use serde::Deserialize;

use super::super::told::Told;
use crate::quantity::{Angle, Azimuth, Length, Mass};

/// A limb.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limb {
    /// Stable id.
    pub id: String,
    /// Where it leaves the stem.
    pub height: Told<Length>,
    /// Where it points.
    pub azimuth: Told<Azimuth>,
    /// Above the horizontal; below it negative.
    pub angle: Told<Angle>,
    /// From the bark to its tip.
    pub length: Told<Length>,
    /// At the bark.
    pub diameter: Told<Length>,
    /// Twigs and leaves; as usual if left out.
    pub brush: Option<Brush>,
}

/// Twigs and leaves of a limb.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Brush {
    /// None: dead or stripped.
    Bare,
    /// Little.
    Thin,
    /// As limbs are.
    Usual,
    /// Much.
    Thick,
    /// As much as it weighs.
    Weighs(Told<Mass>),
}

/// What of the crown is not listed as limbs.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crown {
    /// Height of its lowest limbs.
    pub from: Told<Length>,
    /// Reach from the stem.
    pub spread: Told<Length>,
    /// How full it is; as forest-grown trees are if left out.
    pub full: Option<Full>,
}

/// How full a crown is.
#[derive(Clone, Copy, Debug, Deserialize)]
#[allow(missing_docs, reason = "the words say it")]
pub enum Full {
    Thin,
    Usual,
    Full,
}
