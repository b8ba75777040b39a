//! Ropes by name: least breaking strength and stretch, from `assets/ropes.csv`, whose head names the
//! sources.
//!
//! A rope is taken for a spring of one stiffness: EA = (strength/10)/(stretch under a tenth of the
//! strength), N, the load that rope makers give stretch for.
//!
//! Known answers: `val_felling::val_ropes`, `verif_a_rope_gives_what_is_printed_for_it`.

use std::sync::LazyLock;

use crate::{
    quantity::{Force, Quantity as _},
    table::rows,
};

/// One rope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RopeKind {
    /// Its name.
    pub name: &'static str,
    /// Least breaking strength, new and without knots, N.
    pub strength_n: f64,
    /// Where the number is from.
    pub source: &'static str,
    /// Whether that was read, or is from memory.
    pub standing: &'static str,
    /// How much longer it is under a tenth of that strength, as a share: least, usual, greatest.
    pub stretch_shares: [f64; 3],
    /// Whether that was read, or is from memory.
    pub stretch_standing: &'static str,
}

/// Share of a rope's breaking strength under which its stretch is told (rope makers; the Cordage
/// Institute sorts ropes by it, read second hand).
const STRETCH_AT: f64 = 0.1;

/// Stiffness EA of a rope, N: force over relative stretch.
#[must_use]
pub fn stiffness_n(strength_n: f64, stretch_share: f64) -> f64 {
    STRETCH_AT * strength_n / stretch_share
}

/// All ropes of the table, in its order.
#[must_use]
pub fn all() -> &'static [RopeKind] {
    &TABLE
}

/// The rope of a name; case doesn't matter.
#[must_use]
pub fn named(name: &str) -> Option<&'static RopeKind> {
    TABLE.iter().find(|rope| rope.name.eq_ignore_ascii_case(name.trim()))
}

static TABLE: LazyLock<Vec<RopeKind>> =
    LazyLock::new(|| rows(include_str!("../../assets/ropes.csv")).filter_map(row).collect());

/// A row it can't read is left out, which a test rules out.
fn row(cells: Vec<&'static str>) -> Option<RopeKind> {
    let [name, strength_lbf, source, standing, low, usual, high, stretch_standing] = cells[..]
    else {
        return None;
    };
    let strength_n = format!("{strength_lbf} lbf").parse::<Force>().ok()?.si();
    let share = |percent: &str| Some(percent.parse::<f64>().ok()? / 100.0);
    let stretch_shares = [share(low)?, share(usual)?, share(high)?];
    Some(RopeKind { name, strength_n, source, standing, stretch_shares, stretch_standing })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_every_row_is_read() {
        assert_eq!(all().len(), rows(include_str!("../../assets/ropes.csv")).count());
        assert_eq!(all().len(), 13);
        assert!(named(" Nylon 3-Strand 5/8 in").is_some() && named("string").is_none());
        for rope in all() {
            let [low, usual, high] = rope.stretch_shares;
            assert!(0.0 < low && low < usual && usual < high, "{}", rope.name);
        }
    }

    #[test]
    fn verif_a_rope_gives_what_is_printed_for_it() {
        // By hand: 16,000 lbf that is 2 % longer under 1,600 lbf is a spring of 80,000 lbf.
        let lbf_n = 4.448_221_615;
        let ea_n = stiffness_n(16_000.0 * lbf_n, 0.02);
        assert!((ea_n / lbf_n / 80_000.0 - 1.0).abs() < 1e-9, "{ea_n}");
    }
}
