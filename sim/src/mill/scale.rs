//! Volume of a log in cubic metres and in board feet by three published rules.
//!
//! ```text
//! Smalian          V  = L·(A_s + A_l)/2                                   m, m²
//! Doyle            BF = (D − 4)²·L/16
//! Scribner         BF = (0.79·D² − 2·D − 4)·L/16
//! International ¼  BF = Σ over sections of 4 ft of 0.199·d² − 0.642·d, d growing by ½ in a section
//! ```
//!
//! D small-end diameter inside bark (in), L length (ft), A_s and A_l areas of the ends. A part of a
//! section counts by its share. Smalian: University of Missouri, page on the cubic volume of logs.
//! Doyle: its table for 8 and 16 ft logs as printed on public pages, the formula from memory.
//! Scribner: its formula as printed on public pages. International: its taper of ½ in in 4 ft and
//! rounding to 5 board feet as printed, its coefficients from memory.
//!
//! Known answers: `val_scale` of the acceptance tests. Left out: cull for rot, sweep and crook,
//! which a scaler takes off by eye.

use std::f64::consts::PI;

const M_PER_IN: f64 = 0.0254;
const M_PER_FT: f64 = 0.3048;
/// Length of a section of the International rule, ft, and what the log grows by in it, in.
const SECTION_FT: f64 = 4.0;
const SECTION_TAPER_IN: f64 = 0.5;

/// Volume by Smalian's rule, m³, from the diameters of both ends, m.
#[must_use]
pub fn smalian_m3(small_m: f64, large_m: f64, length_m: f64) -> f64 {
    length_m * 0.125 * PI * (small_m * small_m + large_m * large_m)
}

/// Doyle's board feet from the small end inside bark, m, and the length, m. Nothing under 4 in.
#[must_use]
pub fn doyle_bd_ft(small_m: f64, length_m: f64) -> f64 {
    let (inches, feet) = (small_m / M_PER_IN, length_m / M_PER_FT);
    (inches - 4.0).max(0.0).powi(2) * feet / 16.0
}

/// Scribner's board feet by its formula.
#[must_use]
pub fn scribner_bd_ft(small_m: f64, length_m: f64) -> f64 {
    let (inches, feet) = (small_m / M_PER_IN, length_m / M_PER_FT);
    (0.79 * inches * inches - 2.0 * inches - 4.0).max(0.0) * feet / 16.0
}

/// Board feet of the International ¼-inch rule, not rounded.
#[must_use]
pub fn international_bd_ft(small_m: f64, length_m: f64) -> f64 {
    let (mut inches, mut feet) = (small_m / M_PER_IN, length_m / M_PER_FT);
    let mut sum = 0.0;
    while feet > 1e-9 {
        let share = (feet / SECTION_FT).min(1.0);
        sum += share * (0.199 * inches * inches - 0.642 * inches).max(0.0);
        inches += SECTION_TAPER_IN;
        feet -= SECTION_FT;
    }
    sum
}
