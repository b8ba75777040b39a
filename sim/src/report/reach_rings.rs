//! The lines of a reach map on the plan.

use std::f64::consts::TAU;

use glam::DVec2;

use super::{plan::Ring, words};
use crate::forecast::reach_map::{AZIMUTHS, ReachMap, Reaching, Sector};

/// Per piece and answer, its dashes: laid down and dropped, as it is cut and uncut.
const DASHES: [[&str; 2]; 2] = [["none", "2 4"], ["14 4 2 4", "7 5"]];

/// The lines of a map, the piece as it is cut first.
#[must_use]
pub fn rings(map: &ReachMap) -> Vec<Ring> {
    map.pieces.iter().flat_map(|piece| of_piece(map, piece)).collect()
}

/// What a piece of a map is called.
#[must_use]
pub fn name(map: &ReachMap, piece: &Reaching) -> String {
    if piece.uncut { "uncut".to_owned() } else { format!("{} as cut", map.cut) }
}

/// A run of azimuths in words: "drying-shed from 83° to 107°".
#[must_use]
pub fn sector_words(sector: &Sector) -> String {
    let name = words::name(&sector.target);
    let [from, to] = [sector.from_rad, sector.to_rad].map(|rad| rad.to_degrees().round());
    if from == to {
        format!("{name} at {from}°")
    } else {
        format!("{name} from {from}° to {to}°")
    }
}

fn of_piece(map: &ReachMap, piece: &Reaching) -> Vec<Ring> {
    let [laid, dropped] = DASHES[usize::from(piece.uncut)];
    let name = name(map, piece);
    let with = if piece.uncut { ", its top and limbs on it" } else { "" };
    let mut rings = Vec::new();
    let fine: Vec<Option<DVec2>> =
        piece.laid.iter().map(|at| at.map(|laid| DVec2::from(laid.at_m))).collect();
    let parts_m = parts(&fine);
    if !parts_m.is_empty() {
        rings.push(Ring {
            name: format!("{name}, laid down"),
            words: format!(
                "{name}: the farthest any part of it comes to, laid down on its hinge{with}"
            ),
            parts_m,
            dashes: laid,
        });
    }
    // The stump is the map's origin.
    let place = |(i, far_m): (usize, &f64)| {
        let (sin, cos) = libm::sincos((i as f64 + 0.5) / piece.farthest_m.len() as f64 * TAU);
        Some(DVec2::new(sin, cos) * *far_m)
    };
    let round: Vec<Option<DVec2>> = piece.farthest_m.iter().enumerate().map(place).collect();
    // A run that was stopped is no ring, nor is one without drops.
    if piece.dropped.len() == AZIMUTHS as usize && map.drops > 0 {
        rings.push(Ring {
            name: format!("{name}, dropped"),
            words: format!(
                "{name}: the farthest any part of it got about that way in {} drops, {} on each of \
                 {AZIMUTHS} azimuths, sliding and rolling too; more drops go farther",
                map.drops * AZIMUTHS,
                map.drops
            ),
            parts_m: parts(&round),
            dashes: dropped,
        });
    }
    rings
}

/// A line round, in parts where it isn't known; closed where it is known all round.
fn parts(round: &[Option<DVec2>]) -> Vec<Vec<DVec2>> {
    if let Some(mut whole) = round.iter().copied().collect::<Option<Vec<DVec2>>>() {
        whole.extend(whole.first().copied());
        return if whole.is_empty() { Vec::new() } else { vec![whole] };
    }
    let known = round.split(Option::is_none).map(|run| run.iter().flatten().copied().collect());
    known.filter(|part: &Vec<DVec2>| part.len() > 1).collect()
}
