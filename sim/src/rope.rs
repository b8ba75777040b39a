//! Ropes by name: least breaking strength, from `assets/ropes.csv`, whose head names the sources.
//!
//! Known answer: `val_felling::val_ropes`.

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
    let [name, strength_lbf, source, standing] = cells[..] else { return None };
    let strength_n = format!("{strength_lbf} lbf").parse::<Force>().ok()?.si();
    Some(RopeKind { name, strength_n, source, standing })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_every_row_is_read() {
        assert_eq!(all().len(), rows(include_str!("../../assets/ropes.csv")).count());
        assert_eq!(all().len(), 13);
        assert!(named(" Nylon 3-Strand 5/8 in").is_some() && named("string").is_none());
    }
}
