//! What a search over lengths and faces tried.

use super::{columns, compare::in_100, wrapped};
use crate::{
    forecast::search::{Search, Try},
    report::{stamp, stamp::Stamp, units::Units, words},
};

/// Said with every search.
pub const NOT_AN_INSTRUCTION: &str = "What was tried, in order of length and face. It is no \
     instruction and none is singled out: what reaches least in a model may not be what can be cut, \
     roped or stood beside.";

/// All tries in words.
#[must_use]
pub fn search(all: &Search, stamp: &Stamp, units: Units) -> String {
    let mut out = format!("{}\n\n{}\n\n", stamp::NOT_COMPARED, stamp.line());
    let about = format!(
        "Cut {}: {} lengths and faces tried. {} drops chose where to look next; what is counted \
         here are {} fresh ones, over all grounds.",
        words::name(&all.cut),
        all.tries.len(),
        all.choosing,
        all.counted
    );
    out.push_str(&wrapped(&about, 0));
    out.push_str(&wrapped(NOT_AN_INSTRUCTION, 0));
    out.push_str("\nReach a target, by the piece or by what it sets going, in 100 drops\n");
    let head = ["length", "face", "over the grounds", "as told", "at most", "sits back"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for one in &all.tries {
        let range = one.over_grounds;
        rows.push(vec![
            units.length(one.length_m),
            face(one),
            format!("{} to {}", words::in_hundred(range.low), words::in_hundred(range.high)),
            format!("{} of {}", one.told.reached, one.told.drops),
            words::in_hundred((100.0 * one.at_most).ceil() / 100.0),
            in_100(one.forecast.sat_back, one.told.drops),
        ]);
    }
    out.push_str(&columns(&rows, 2));
    out.push_str(&wrapped(
        &format!(
            "  Over the grounds: least and greatest share among those that fit your notes. At most: \
             95 %, one-sided, corrected for the {} tries, from the fresh drops on the ground as you \
             told it; it speaks of counting alone, not of other grounds. Drops that were lost count \
             in it as if they had reached.",
            all.tries.len()
        ),
        4,
    ));
    out.push_str("\nWhat they reached, of all fresh drops\n");
    for one in &all.tries {
        let text =
            format!("  {} with face {}: {}", units.length(one.length_m), face(one), hits(one));
        out.push_str(&wrapped(&text, 6));
    }
    out.push('\n');
    out.push_str(&wrapped(stamp::PLANNING_AID, 0));
    out
}

/// Where its face points.
#[must_use]
fn face(one: &Try) -> String {
    format!("{:.0} deg", one.face_rad.to_degrees())
}

fn hits(one: &Try) -> String {
    let cut = &one.forecast;
    let count = |id: &str| -> u32 {
        let told = cut.targets.iter().filter(|t| t.id == id).map(|t| t.reached);
        let drawn = cut.grounds.iter().flat_map(|g| &g.targets).filter(|t| t.id == id);
        told.chain(drawn.map(|t| t.reached)).sum()
    };
    let said: Vec<String> = cut
        .targets
        .iter()
        .map(|t| (words::name(&t.id), count(&t.id)))
        .filter(|(_, n)| *n > 0)
        .map(|(name, n)| format!("{name} {n}"))
        .collect();
    let lost = if one.any.unknown > 0 {
        format!("; {} can't be told", one.any.unknown)
    } else {
        String::new()
    };
    let by_piece = if said.is_empty() { "none seen".to_owned() } else { said.join(", ") };
    format!("{} of {} ({by_piece}){lost}", one.any.reached, one.any.drops)
}
