//! What a hollow takes from a stem's strength.
//!
//! Diameter D, core d, sound shell t = (D − d)/2, radius R = D/2:
//!
//! ```text
//! Z = π·D³/32·(1 − (d/D)⁴)          section modulus of a round stem with a round hollow, m³
//! loss of it                        (d/D)⁴
//! loss by Wagener (1963)            (d/D)³
//! loss by Smiley & Fraedrich (1992) (d³ + r·(D³ − d³))/D³,  r the opening over the girth
//! ```
//!
//! The section is textbook mechanics; both loss rules are from memory, rules of thumb on purpose
//! harder than the section. t/R below about 0.3 is the usual line for trees with a full crown
//! (Mattheck & Breloer, read second hand), and mature stems have stood with much thinner shells
//! (Rinn, read): it says nothing of a stem whose crown is off. Left out: an opening to the side, but
//! for the last rule; a core off the middle; cracks.
//!
//! Known answer: `val_felling::val_hollow_sections`.

use std::f64::consts::PI;

/// Section modulus of a round stem with a round hollow, m³.
#[must_use]
pub fn modulus_m3(diameter_m: f64, core_m: f64) -> f64 {
    PI * diameter_m.powi(3) / 32.0 * (1.0 - modulus_loss(diameter_m, core_m))
}

/// Share of its section modulus that a stem has lost.
#[must_use]
pub fn modulus_loss(diameter_m: f64, core_m: f64) -> f64 {
    (core_m / diameter_m).powi(4)
}

/// Share of its strength that a stem has lost by Wagener's rule.
#[must_use]
pub fn wagener_loss(diameter_m: f64, core_m: f64) -> f64 {
    (core_m / diameter_m).powi(3)
}

/// Share of its strength that a stem has lost by the rule of Smiley and Fraedrich; `opening` is the
/// hollow's opening over the stem's girth.
#[must_use]
pub fn smiley_fraedrich_loss(diameter_m: f64, core_m: f64, opening: f64) -> f64 {
    let (whole, core) = (diameter_m.powi(3), core_m.powi(3));
    (core + opening * (whole - core)) / whole
}

/// How a hollow stem of this t/R was found to fail in bending (Huang et al. 2017, abstract read,
/// of Taiwan red cypress).
#[must_use]
pub fn fails_by(shell_over_radius: f64) -> &'static str {
    if shell_over_radius < 0.06 {
        "its shell buckling"
    } else if shell_over_radius < 0.27 {
        "cracking along and splitting"
    } else {
        "breaking as a solid stem does"
    }
}
