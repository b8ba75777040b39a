//! The numbers behind the words for ground, each an interval with its source.
//!
//! "Ours" means a judgement without a published source. μ and e are reworked from handbook and
//! rockfall figures that were not checked against logs.

use super::words::{Heel, Range, Thumb};

/// Pascals in a US ton-force per square foot (2,000 lbf / ft²).
const TSF_PA: f64 = 95_760.518;

const fn even(
    path: &'static str,
    [low, told, high]: [f64; 3],
    unit: &'static str,
    source: &'static str,
) -> Range {
    Range { path, low, told, high, unit, log: false, source }
}

const fn log(
    path: &'static str,
    [low, told, high]: [f64; 3],
    unit: &'static str,
    source: &'static str,
) -> Range {
    Range { path, low, told, high, unit, log: true, source }
}

/// s_u = q_u/2 from q_u in tons per square foot.
const fn thumb_row([low, told, high]: [f64; 3], source: &'static str) -> Range {
    let half = 0.5 * TSF_PA;
    log("soil.shear_strength", [low * half, told * half, high * half], "Pa", source)
}

const fn heel_row(centre_deg: f64) -> Range {
    let rad = std::f64::consts::PI / 180.0;
    let (low, high) = (centre_deg - 3.0, centre_deg + 3.0);
    even("soil.friction_angle", [low * rad, centre_deg * rad, high * rad], "rad", "ours")
}

const TM: &str = "TM 5-818-1 Table 2-2 (q_u), s_u = q_u/2; told: geometric mean";

/// Shear strength by fist and thumb.
pub(super) const THUMB: [(Thumb, Range); 6] = [
    (
        Thumb::FistEasily,
        thumb_row([0.1, 0.16, 0.25], "TM 5-818-1 Table 2-2 (q_u < 0.25 tsf); lower end ours"),
    ),
    (Thumb::ThumbEasily, thumb_row([0.25, 0.354, 0.5], TM)),
    (Thumb::ThumbWithEffort, thumb_row([0.5, 0.707, 1.0], TM)),
    (Thumb::ThumbIndents, thumb_row([1.0, 1.414, 2.0], TM)),
    (Thumb::Thumbnail, thumb_row([2.0, 2.828, 4.0], TM)),
    (
        Thumb::ThumbnailWithDifficulty,
        thumb_row([4.0, 5.657, 8.0], "TM 5-818-1 Table 2-2 (q_u > 4 tsf); upper end ours"),
    ),
];

/// Friction angle by the mark of a heel.
pub(super) const HEEL: [(Heel, Range); 4] = [
    (Heel::None, heel_row(40.0)),
    (Heel::OneCm, heel_row(36.0)),
    (Heel::ThreeCm, heel_row(32.0)),
    (Heel::OverTheWelt, heel_row(28.0)),
];

/// Friction angle of gravel.
pub(super) const GRAVEL_ANGLE: Range = heel_row(39.0);
/// Strength of asphalt or concrete: past what wood bears, so that the wood gives.
pub(super) const PAVEMENT_STRENGTH: Range =
    log("soil.shear_strength", [1e6, 2.2e6, 5e6], "Pa", "ours: past what green wood bears");
/// The whole plausible range where the soil wasn't tested.
pub(super) const ANY_STRENGTH: Range = thumb_row(
    [0.1, 0.707, 8.0],
    "ours: every word of the thumb test is as likely; told: thumb with effort",
);
/// The same for loose ground, which an untested soil may be.
pub(super) const ANY_ANGLE: Range = Range {
    path: "soil.friction_angle",
    low: HEEL[3].1.low,
    told: HEEL[1].1.told,
    high: HEEL[0].1.high,
    unit: "rad",
    log: false,
    source: "ours: if untested soil is loose, every heel mark is as likely",
};

/// Soil density.
pub(super) const DENSITY: Range =
    even("soil.density", [1300.0, 1650.0, 2000.0], "kg/m³", "ours (common soils, dry to wet)");
/// Inertial factor.
pub(super) const INERTIA: Range = even("soil.inertial_factor", [0.5, 1.0, 1.5], "1", "ours");
/// Quick loading.
pub(super) const RATE: Range = log(
    "soil.rate_factor",
    [1.0, 1.732, 3.0],
    "1",
    "common practice, from memory: clay loaded in milliseconds is 1 to 3 times as strong",
);
/// No gain from quick loading.
pub(super) const NO_RATE: Range =
    even("soil.rate_factor", [1.0, 1.0, 1.0], "1", "ours: no gain on pavement or loose ground");
/// Deep bearing factor on the side.
pub(super) const SIDE_BEARING: Range = even(
    "soil.side_bearing_deep",
    [7.5, 7.5, 9.0],
    "1",
    "strip bearing factor at depth, from memory; 9 (deep pile) as upper doubt",
);
/// Share of strength against sideways faces.
pub(super) const SIDEWAYS: Range = even("soil.sideways_share", [0.3, 0.45, 0.6], "1", "ours");
/// Depth at which strength is mobilised, over width.
pub(super) const MOBILISED: Range = log(
    "soil.mobilised_at",
    [1.0 / 120.0, 1.0 / 85.0, 1.0 / 60.0],
    "1",
    "what pile driving calls quake, D/120 in hard to D/60 in other ground (from memory)",
);
/// Traction limit as a share of shear strength.
pub(super) const ADHESION: Range = even(
    "soil.adhesion",
    [0.3, 0.6, 1.0],
    "1",
    "ours, after the adhesion factor of piles in clay (from memory)",
);
/// Strength of what a stop is made of.
pub(super) const STOP: Range =
    log("stop.shear_strength", [5e5, 1.6e6, 5e6], "Pa", "ours: hardpan to rock");

const MU: &str = "ours, after skidding handbooks (0.4 to 0.7 on firm soil and litter; unchecked)";
const MU_WET: &str = "ours, after skidding handbooks (barkless wet wood 0.3 to 0.4; unchecked)";
/// Friction on dry, damp and wet ground.
pub(super) const FRICTION: [Range; 3] = [
    even("soil.friction", [0.4, 0.55, 0.7], "1", MU),
    even("soil.friction", [0.35, 0.47, 0.6], "1", "ours: between dry and wet"),
    even("soil.friction", [0.3, 0.4, 0.5], "1", MU_WET),
];
/// Friction on top of dry, damp and wet litter or turf.
pub(super) const TOP_FRICTION: [Range; 3] = [
    even("top.friction", [0.4, 0.55, 0.7], "1", MU),
    even("top.friction", [0.35, 0.47, 0.6], "1", "ours: between dry and wet"),
    even("top.friction", [0.3, 0.4, 0.5], "1", MU_WET),
];
/// Friction on a brush mat, wet or dry.
pub(super) const BRUSH_FRICTION: Range = even(
    "top.friction",
    [0.5, 0.7, 0.9],
    "1",
    "ours, after skidding handbooks (0.7 to 1.0 over limbs; unchecked)",
);

/// Thickness and strength of the layer on top: litter, turf, brush mat.
pub(super) const TOP_STRENGTH: [Range; 3] = [
    log("top.shear_strength", [3e3, 5.5e3, 10e3], "Pa", "ours"),
    log("top.shear_strength", [10e3, 16e3, 25e3], "Pa", "ours: roots hold it together"),
    log("top.shear_strength", [1e3, 2.2e3, 5e3], "Pa", "ours"),
];
/// Thickness where it wasn't measured: litter, turf, brush mat.
pub(super) const TOP_THICKNESS: [Range; 3] = [
    even("top.thickness", [0.02, 0.05, 0.1], "m", "ours"),
    even("top.thickness", [0.02, 0.04, 0.08], "m", "ours"),
    even("top.thickness", [0.15, 0.3, 0.6], "m", "ours"),
];

const E: &str = "ours, after rockfall figures (0.1 to 0.3 on soil); none published for logs";
/// Restitution of litter, turf, brush mat.
pub(super) const TOP_RESTITUTION: [Range; 3] = [
    even("restitution", [0.05, 0.1, 0.15], "1", E),
    even("restitution", [0.1, 0.15, 0.2], "1", E),
    even("restitution", [0.0, 0.05, 0.1], "1", "ours"),
];
/// Restitution of bare firm soil.
pub(super) const FIRM_RESTITUTION: Range = even("restitution", [0.15, 0.22, 0.3], "1", E);
/// Restitution of bare soft or loose soil.
pub(super) const SOFT_RESTITUTION: Range =
    even("restitution", [0.05, 0.1, 0.15], "1", "ours: as litter");
/// Restitution of gravel.
pub(super) const GRAVEL_RESTITUTION: Range = even("restitution", [0.2, 0.28, 0.35], "1", E);
/// Restitution of pavement.
pub(super) const PAVEMENT_RESTITUTION: Range = even("restitution", [0.25, 0.32, 0.4], "1", E);
/// Restitution over untested soil with nothing on it.
pub(super) const ANY_RESTITUTION: Range =
    even("restitution", [0.05, 0.15, 0.3], "1", "ours: soft to firm soil");

const PACE: &str = "ours: peak to trough over 0.8 m";
/// Roughness: lawn, ankle, knee, not looked at.
pub(super) const ROUGHNESS: [Range; 4] = [
    even("roughness", [0.01, 0.03, 0.05], "m", PACE),
    even("roughness", [0.05, 0.1, 0.2], "m", PACE),
    even("roughness", [0.2, 0.4, 0.6], "m", PACE),
    log("roughness", [0.03, 0.1, 0.4], "m", "ours: lawn to knee, each size as likely"),
];
