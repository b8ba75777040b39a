//! What files propose, in plain words.

use super::wrapped;
use crate::proposed::{Item, Proposals, Sure};

/// Files, proposals and what could not be told.
#[must_use]
pub fn proposed(found: &Proposals) -> String {
    let mut out = String::new();
    for file in &found.files {
        out.push_str(&wrapped(&format!("  {file}"), 4));
    }
    if found.proposals.is_empty() {
        out.push_str("\nNothing is proposed.\n");
    } else {
        out.push_str("\nProposed, not surveyed: look at each on site\n");
    }
    let mut last = "";
    for one in &found.proposals {
        // Forty trees have one reason.
        let why = if one.why == last { "As the one before" } else { one.why.as_str() };
        last = &one.why;
        let sure = match one.sure {
            Sure::Fair => "fairly sure",
            Sure::Poor => "a guess",
        };
        let text = format!(
            "  {}: {}, {}; {} points, {sure}. {}",
            one.id,
            one.item.words(),
            numbers(&one.item),
            one.points,
            why
        );
        out.push_str(&wrapped(&text, 4));
    }
    if !found.notes.is_empty() {
        out.push_str("\nNot told, or left out\n");
        for note in &found.notes {
            out.push_str(&wrapped(&format!("  {note}"), 4));
        }
    }
    out
}

fn numbers(item: &Item) -> String {
    let range = |[low, high]: [f64; 2]| {
        if high - low < 0.05 { format!("{low:.1} m") } else { format!("{low:.1} to {high:.1} m") }
    };
    match item {
        Item::Roughness { bumps_m: [low, high] } => {
            format!("bumps of {:.0} to {:.0} cm", 100.0 * low, 100.0 * high)
        }
        Item::Brush { height_m, .. } => format!("{} high", range(*height_m)),
        Item::Face { height_m, .. } => format!("{} high", range(*height_m)),
        Item::Structure { wall_m, roof_m, .. } => {
            format!("eaves {}, ridge {}", range(*wall_m), range(*roof_m))
        }
        Item::KeepTree { height_m, at_m, limbs_m } => {
            let limbs = limbs_m.map_or(String::new(), |[from, spread]| {
                format!(", limbs from {from:.1} m up, {spread:.1} m out")
            });
            format!("{} high, {:.0} m from the place{limbs}", range(*height_m), at_m.length())
        }
    }
}
