//! Species: green density and strength.
//!
//! Clear-wood averages from `assets/species.csv`, whose head names every source. Strengths vary
//! by about a sixth from stem to stem, weights by up to a fifth (FPL Technical Note 218): they
//! are starting numbers for a doubt, not measurements. Decay is not in them.
//!
//! Known answers: `val_green_weights_agree_with_the_park_service_table`.

use std::sync::LazyLock;

use thiserror::Error;

use crate::table::rows;

/// Pascal in one pound-force per square inch.
const PA_PER_PSI: f64 = 6_894.757;
/// Kilogram per cubic metre in one pound per cubic foot.
pub const KG_M3_PER_LB_FT3: f64 = 16.018_463;

/// Coefficients of the published stem volume and taper (Westfall et al. 2023, GTR-WO-104),
/// in the units of the publication: inches, feet, cubic feet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TaperCoefficients {
    /// Model 1: volume outside bark = a·D^b·H^c.
    pub a: f64,
    /// Exponent of the diameter.
    pub b: f64,
    /// Exponent of the height.
    pub c: f64,
    /// Model 6: cumulative volume share R = (1 − (1 − h/H)^α)^β.
    pub alpha: f64,
    /// Model 6, β.
    pub beta: f64,
}

/// One species, green.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Species {
    /// Species code of the Forest Inventory and Analysis program.
    pub fia: u32,
    /// Common name.
    pub name: &'static str,
    /// Green density of wood and bark together, kg/m³.
    pub density_kg_m3: f64,
    /// The heaviest of the published green densities, kg/m³.
    pub heavy_density_kg_m3: f64,
    /// Volume of the bark as a share of the wood's.
    pub bark_share: f64,
    /// Modulus of rupture, Pa.
    pub rupture_pa: f64,
    /// Modulus of elasticity in bending, Pa.
    pub elasticity_pa: f64,
    /// Compression along the grain, Pa.
    pub compression_along_pa: f64,
    /// Compression across the grain at the proportional limit, Pa.
    pub compression_across_pa: f64,
    /// Shear along the grain, Pa.
    pub shear_pa: f64,
    /// Volume and taper of the stem.
    pub taper: TaperCoefficients,
}

/// A name that is no species of the table.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("no species \"{name}\"; {}", hint(near))]
pub struct UnknownSpecies {
    /// What was asked for.
    pub name: String,
    /// Names in the table that look like it, the likest first; empty if none does.
    pub near: Vec<&'static str>,
}

/// All species of the table, in its order.
#[must_use]
pub fn all_species() -> &'static [Species] {
    &TABLE
}

/// The species of a common name; case and what stands in brackets don't matter.
///
/// # Errors
/// [`UnknownSpecies`] with the names that look like it.
pub fn species(name: &str) -> Result<&'static Species, UnknownSpecies> {
    let wanted = normal(name);
    TABLE
        .iter()
        .find(|s| normal(s.name) == wanted || normal(base_name(s.name)) == wanted)
        .ok_or_else(|| UnknownSpecies { name: name.trim().to_owned(), near: near_names(&wanted) })
}

static TABLE: LazyLock<Vec<Species>> = LazyLock::new(|| {
    rows(include_str!("../../assets/species.csv")).filter_map(species_of).collect()
});

/// Reads a row of the built-in table; one it can't read is left out, which a test rules out.
fn species_of(cells: Vec<&'static str>) -> Option<Species> {
    let (fia, name) = (*cells.first()?, *cells.get(1)?);
    let numbers = cells.iter().skip(2).map(|n| n.parse());
    let numbers: Vec<f64> = numbers.collect::<Result<_, _>>().ok()?;
    let [_, mor, moe, along, across, shear, _, _, _, bark, _, density, heavy, a, b, c, alpha, beta] =
        numbers[..]
    else {
        return None;
    };
    Some(Species {
        fia: fia.parse().ok()?,
        name,
        density_kg_m3: density * KG_M3_PER_LB_FT3,
        heavy_density_kg_m3: heavy * KG_M3_PER_LB_FT3,
        bark_share: bark / 100.0,
        rupture_pa: mor * PA_PER_PSI,
        elasticity_pa: moe * 1e6 * PA_PER_PSI,
        compression_along_pa: along * PA_PER_PSI,
        compression_across_pa: across * PA_PER_PSI,
        shear_pa: shear * PA_PER_PSI,
        taper: TaperCoefficients { a, b, c, alpha, beta },
    })
}

fn normal(name: &str) -> String {
    name.split(|c: char| c.is_whitespace() || c == '-' || c == '_')
        .filter(|w| !w.is_empty())
        .map(str::to_lowercase)
        .collect::<Vec<_>>()
        .join(" ")
}

fn base_name(name: &str) -> &str {
    name.split(" (").next().unwrap_or(name)
}

/// Names with a word of `wanted` in them, or a few letters away from it.
fn near_names(wanted: &str) -> Vec<&'static str> {
    let mut scored: Vec<(usize, &'static str)> = TABLE
        .iter()
        .filter_map(|s| {
            let name = normal(base_name(s.name));
            let shared = wanted.split(' ').any(|w| w.len() > 2 && name.split(' ').any(|n| n == w));
            let distance = letters_apart(wanted, &name);
            (shared || distance <= 3).then_some((distance, s.name))
        })
        .collect();
    scored.sort_unstable();
    scored.into_iter().map(|(_, name)| name).collect()
}

fn hint(near: &[&'static str]) -> String {
    if near.is_empty() {
        let names: Vec<_> = TABLE.iter().map(|s| s.name).collect();
        return format!("the table has {}", names.join(", "));
    }
    format!("did you mean {}?", near.join(", "))
}

/// Levenshtein distance: how many letters to change, add or take away.
fn letters_apart(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for (j, &other) in b.iter().enumerate() {
            next.push((row[j] + usize::from(letter != other)).min(row[j + 1] + 1).min(next[j] + 1));
        }
        row = next;
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_every_row_of_the_table_is_read() {
        let text = include_str!("../../assets/species.csv");
        let rows = text.lines().filter(|l| !l.starts_with('#') && !l.is_empty()).count() - 1;
        assert_eq!(all_species().len(), rows);
        assert_eq!(rows, 21);
    }

    /// Wood Handbook, FPL-GTR-282, Table 5-3b: white oak, green.
    #[test]
    fn val_white_oak_has_the_handbook_strengths() {
        let oak = species("white oak").unwrap();
        assert!((oak.rupture_pa / 1e6 - 57.2).abs() < 0.05);
        assert!((oak.elasticity_pa / 1e9 - 8.62).abs() < 0.005);
        assert!((oak.compression_along_pa / 1e6 - 24.5).abs() < 0.05);
        assert!((oak.shear_pa / 1e6 - 8.6).abs() < 0.05);
    }

    /// FIADB REF_SPECIES: density rebuilt from gravity, moisture and bark; the table's moistures
    /// are whole percent, so a pound in a hundred may be lost.
    #[test]
    fn verif_density_is_wood_and_bark_by_volume() {
        let text = include_str!("../../assets/species.csv");
        for line in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
            let f: Vec<f64> = line.split(',').map(|x| x.parse().unwrap_or(0.0)).collect();
            let bark = f[9] * 62.428 * (1.0 + f[10] / 100.0);
            let share = f[11] / 100.0;
            let both = (f[12] + share * bark) / (1.0 + share);
            assert!((both / f[13] - 1.0).abs() < 0.01, "{line}: {both}");
        }
    }

    /// National Park Service table of green log weights, lb/ft³ (through a reprint). Nature
    /// varies by up to 20 % (FPL Technical Note 218); yellow-poplar's 38 is known to be low.
    #[test]
    fn val_green_weights_agree_with_the_park_service_table() {
        let table = [
            ("black cherry", 45.0),
            ("white ash", 48.0),
            ("american beech", 54.0),
            ("american elm", 54.0),
            ("eastern cottonwood", 49.0),
            ("hackberry", 50.0),
            ("red maple", 50.0),
            ("eastern hemlock", 50.0),
            ("northern red oak", 63.0),
            ("white oak", 62.0),
            ("black walnut", 58.0),
        ];
        for (name, lb_ft3) in table {
            let ours = species(name).unwrap().density_kg_m3 / KG_M3_PER_LB_FT3;
            assert!((ours / lb_ft3 - 1.0).abs() < 0.07, "{name}: {ours} against {lb_ft3}");
        }
    }

    #[test]
    fn prop_heavy_is_never_lighter() {
        for s in all_species() {
            assert!(s.heavy_density_kg_m3 >= s.density_kg_m3, "{}", s.name);
        }
        let sycamore = species("American sycamore").unwrap();
        assert!(sycamore.heavy_density_kg_m3 > 1.15 * sycamore.density_kg_m3);
    }

    #[test]
    fn prop_names_are_found_whatever_their_case_and_unknown_ones_get_a_hint() {
        assert_eq!(species("WHITE  Oak").unwrap().fia, 802);
        assert_eq!(species("douglas fir").unwrap().fia, 202);
        let error = species("red oka").unwrap_err();
        assert!(error.near.contains(&"Red maple") && !error.near.contains(&"Black walnut"));
        assert_eq!(species("whte oak").unwrap_err().near[0], "White oak");
        assert!(species("baobab").unwrap_err().to_string().contains("Black cherry"));
    }
}
