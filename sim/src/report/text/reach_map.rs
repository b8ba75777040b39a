//! Which way a piece can reach, in words.

use super::{columns, wrapped};
use crate::{
    forecast::reach_map::{AZIMUTHS, FINE, ReachMap, Reaching},
    report::{
        reach_rings,
        stamp::{NOT_COMPARED, PLANNING_AID, Stamp},
        units::{Units, decimals},
        words,
    },
};

/// The map as tables: per piece what it comes onto, then azimuth by azimuth.
#[must_use]
pub fn reach_map(map: &ReachMap, stamp: &Stamp, units: Units) -> String {
    let mut out = format!("{NOT_COMPARED}\n\n");
    out += &wrapped(
        &format!(
            "Cut {}: which way it can reach. Laid down: it follows its hinge to the ground, every \
             number as told. Dropped: {} on each azimuth, every drop on another of the grounds that \
             fit the notes; where its weight would keep it back it is pulled as hard as turns it. \
             Distances are level, from the stump.",
            map.cut, map.drops
        ),
        0,
    );
    if map.partial {
        out += "Stopped before the end: not all azimuths are here.\n";
    }
    for piece in &map.pieces {
        out += &one(map, piece, units);
    }
    out += &wrapped(
        "A drop that went farther than these would be no surprise: a few drops on each azimuth say \
         little of what is seldom. Between two azimuths narrow things can be missed; what is laid \
         down was looked at on every degree.",
        0,
    );
    out += &format!("\n{}\n{PLANNING_AID}\n", stamp.line());
    out
}

fn one(map: &ReachMap, piece: &Reaching, units: Units) -> String {
    let mut out = format!(
        "\n{}: {}, {}\n",
        capital(&reach_rings::name(map, piece)),
        units.length(piece.length_m),
        units.mass(piece.mass_kg)
    );
    if piece.sectors.is_empty() {
        out += "  Laid down it comes onto no target on any azimuth.\n";
    }
    for sector in &piece.sectors {
        let met = reach_rings::sector_words(sector);
        out += &wrapped(&format!("  Laid down it comes onto {met}"), 4);
    }
    let head = [
        "toward",
        "top laid down",
        "any part, laid down",
        "any part, dropped",
        "reached or struck",
    ];
    let mut rows: Vec<Vec<String>> = vec![head.map(str::to_owned).to_vec()];
    for (k, dropped) in piece.dropped.iter().enumerate() {
        let fine = k * (FINE / AZIMUTHS) as usize;
        let laid = piece.laid.get(fine).copied().flatten();
        let far = |m: Option<f64>| m.map_or("not told".to_owned(), |m| units.distance(m));
        let at_least = if dropped.at_least { "at least " } else { "" };
        let mut reached: Vec<String> = dropped
            .reached
            .iter()
            .map(|(id, count)| format!("{} {count}", words::name(id)))
            .collect();
        if dropped.sat_back > 0 {
            reached.push(format!("sat back {}", dropped.sat_back));
        }
        let went = if dropped.sat_back < dropped.drops {
            format!("{at_least}{}", units.distance(dropped.farthest_m))
        } else {
            "none left".to_owned()
        };
        rows.push(vec![
            format!("{}°", decimals(dropped.azimuth_rad.to_degrees(), 0)),
            far(laid.map(|l| l.top_m)),
            far(laid.map(|l| l.farthest_m)),
            went,
            if reached.is_empty() { "none".to_owned() } else { reached.join(", ") },
        ]);
    }
    out += &columns(&rows, 2);
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
