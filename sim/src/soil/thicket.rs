//! Undergrowth that a piece runs through.
//!
//! Models a stand of stems, each bent over at its foot: a piece that sweeps the width `w` meets
//! `w/a²` stems a metre of way and spends on each the work of a plastic hinge turned by a radian,
//!
//! ```text
//! F = (w/a²)·MOR·(π/32)·d³·1 rad        against the centre's velocity
//! ```
//!
//! a mean distance between stems (m), d their thickness at knee height (m), MOR 50 MPa, about
//! green hardwood (USDA FPL-GTR-282 Table 5-3b has 40–66 MPa for those listed). Thin stems slow a
//! piece; thick ones stop it. The model and the radian are ours; no source is known. Leaves out:
//! turning moments, stems torn out, and stems bent over by an earlier piece.
//! Known answer: `verif_undergrowth_stops_a_log_after_its_energy_is_spent`.

use crate::ground::Undergrowth;

/// Bending strength of green shoots, Pa.
const RUPTURE_PA: f64 = 50e6;
/// Turn of the hinge at a stem's foot, rad.
const BENT_RAD: f64 = 1.0;

/// Undergrowth, compiled for the hot loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thicket {
    /// Force for each metre of swept width, N/m.
    pub force_n_m: f64,
    /// Height above which nothing is met, m.
    pub height_m: f64,
}

impl Thicket {
    /// Compiles undergrowth.
    #[must_use]
    pub fn new(undergrowth: &Undergrowth) -> Self {
        let d = undergrowth.thickness_m;
        let work_j = RUPTURE_PA * std::f64::consts::PI / 32.0 * d * d * d * BENT_RAD;
        let spacing = undergrowth.spacing_m.max(0.05);
        Self { force_n_m: work_j / (spacing * spacing), height_m: undergrowth.height_m }
    }
}
