//! Proposals as a RON file that a user reads, changes, and takes things from.
//!
//! Each item stands there as a scene would have it, in the ground's own coordinates, so that it can
//! be copied by hand as well.

use std::fmt::Write as _;

use glam::DVec2;

use super::{Base, Item, Proposal, Proposals, Sure};
use crate::{
    scene::edit::splice::quoted,
    terrain::{Side, system::System},
};

/// Longest id that a scene takes.
const ID_MAX: usize = 40;

/// What a system is called in a file of proposals: its EPSG code, its name, or nothing.
#[must_use]
pub fn system_text(system: &System) -> String {
    system.epsg.map_or_else(|| system.name.clone(), |code| format!("EPSG:{code}"))
}

/// An id out of any words, or another where none is left of them: scenes take plain letters, digits
/// and dashes.
pub(super) fn id_of(words: &str, else_id: &str) -> String {
    let mut id = String::new();
    for c in words.chars().flat_map(char::to_lowercase).take(ID_MAX) {
        if c.is_ascii_alphanumeric() {
            id.push(c);
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    let id = id.trim_end_matches('-');
    if id.is_empty() { else_id.to_owned() } else { id.to_owned() }
}

/// An id with a number behind it, no longer than an id may be.
pub(super) fn numbered(id: &str, number: usize) -> String {
    let number = format!("-{number}");
    let id: String = id.chars().take(ID_MAX.saturating_sub(number.len())).collect();
    id.trim_end_matches('-').to_owned() + &number
}

/// The text of the file.
#[must_use]
pub fn ron(base: &Base, found: &Proposals) -> String {
    let file = base.file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let mut out = format!(
        "// Proposed from files, not surveyed: look at each on site, change what is different, and \
         leave\n// out what isn't so. Into a scene on {}:\n//   tumblewood accept SCENE THIS \
         --take ID,ID\n",
        one_line(&file)
    );
    for line in &found.files {
        let _ = writeln!(out, "// {}", one_line(line));
    }
    for note in &found.notes {
        let _ = writeln!(out, "// Note: {}", one_line(note));
    }
    let _ = write!(
        out,
        "(\n    version: 1,\n    ground: (file: {}, system: {}),\n    proposals: [\n",
        quoted(&file),
        quoted(&system_text(&base.system))
    );
    for proposal in &found.proposals {
        let _ = write!(
            out,
            "        (\n            id: {},\n            from: {},\n            points: {},\n            \
             sure: {},\n            why: {},\n            {},\n        ),\n",
            quoted(&proposal.id),
            quoted(&proposal.from),
            proposal.points,
            match proposal.sure {
                Sure::Fair => "Fair",
                Sure::Poor => "Poor",
            },
            quoted(&proposal.why),
            item(base, proposal).replace('\n', "\n            ")
        );
    }
    out + "    ],\n)\n"
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The field of an item.
fn item(base: &Base, proposal: &Proposal) -> String {
    let id = quoted(&proposal.id);
    let corners = |points: &[DVec2]| places(base, points);
    match &proposal.item {
        Item::Roughness { bumps_m } => {
            // To the centimetre: a range of less says nothing.
            let [low, high] = bumps_m.map(|m| (100.0 * m).round());
            format!("roughness: Bumps({})", range(low, high.max(low + 1.0), "cm", 0))
        }
        Item::Brush { outline_m, height_m: [low, high] } => format!(
            "patch: (\n    id: {id},\n    outline: {},\n    // Soil, cover and wetness become those of \
             the scene's own ground.\n    ground: (soil: DontKnow, cover: DontKnow, roughness: \
             DontKnow, undergrowth: (spacing: DontKnow, thickness: DontKnow, height: {}), wetness: \
             DontKnow),\n)",
            corners(outline_m),
            range(*low, *high, "m", 1)
        ),
        Item::Face { line_m, height_m: [low, high], low_side } => format!(
            "breakline: (\n    id: {id},\n    points: {},\n    height: {},\n    low_side: {},\n)",
            corners(line_m),
            range(*low, *high, "m", 1),
            match low_side {
                Side::Left => "Left",
                Side::Right => "Right",
            }
        ),
        Item::Structure { corners_m, wall_m, roof_m } => format!(
            "target: Structure(\n    id: {id},\n    corners: {},\n    wall: {},\n    roof: {},\n)",
            corners(corners_m),
            range(wall_m[0], wall_m[1], "m", 1),
            range(roof_m[0], roof_m[1], "m", 1)
        ),
        Item::KeepTree { at_m, height_m, limbs_m } => {
            let limbs = limbs_m.map_or(String::new(), |[from, spread]| {
                format!(
                    "\n    limbs: (from: Eyed(\"{from:.1} m\"), spread: Eyed(\"{:.1} m\")),",
                    spread.max(0.2)
                )
            });
            format!(
                "target: KeepTree(\n    id: {id},\n    at: {},\n    diameter: DontKnow,\n    height: \
                 {},{limbs}\n)",
                place(base, *at_m),
                range(height_m[0], height_m[1], "m", 1)
            )
        }
    }
}

/// A number and its doubt; plain where there is none.
fn range(low: f64, high: f64, unit: &str, places: usize) -> String {
    let (low, high) = (format!("{low:.places$} {unit}"), format!("{high:.places$} {unit}"));
    if low == high { quoted(&low) } else { format!("Between(\"{low}\", \"{high}\")") }
}

fn place(base: &Base, at: DVec2) -> String {
    let at = at + base.at_m;
    format!("Grid(x: {:.2}, y: {:.2})", at.x, at.y)
}

fn places(base: &Base, points: &[DVec2]) -> String {
    if points.len() <= 2 {
        let all: Vec<String> = points.iter().map(|p| place(base, *p)).collect();
        return format!("[{}]", all.join(", "));
    }
    let mut out = String::from("[");
    for pair in points.chunks(2) {
        let pair: Vec<String> = pair.iter().map(|p| place(base, *p)).collect();
        let _ = write!(out, "\n        {},", pair.join(", "));
    }
    out + "\n    ]"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_ids_are_made_of_any_words() {
        assert_eq!(id_of("Old Mill (north)", "x"), "old-mill-north");
        assert_eq!(id_of("  ../\"\n", "mesh"), "mesh");
        assert_eq!(id_of(&"a".repeat(500), "x").len(), ID_MAX);
        assert_eq!(id_of("Mühle «Süd» 3", "x"), "m-hle-s-d-3");
        assert_eq!(id_of("水車", "mesh"), "mesh");
        assert_eq!(numbered("mill", 2), "mill-2");
        let (long, dash) = ("a".repeat(ID_MAX), format!("{}-bc", "a".repeat(ID_MAX - 3)));
        assert_eq!(numbered(&long, 12), format!("{}-12", "a".repeat(ID_MAX - 3)));
        assert_eq!(numbered(&dash, 2), format!("{}-2", "a".repeat(ID_MAX - 3)));
    }
}
