//! The tree after each cut of an order.

use super::{columns, wrapped};
use crate::{
    felling::TreeState,
    report::{units::Units, words},
};

/// The tree as told before the first cut and after each: what it weighs, how it leans and what is
/// left to tie to.
#[must_use]
pub fn tree_states(states: &[TreeState], units: Units) -> String {
    let mut out = "The tree after each cut, as told\n".to_owned();
    out.push_str(&wrapped(
        "  Fore and to the right: the moment of its weight about the stump, toward the face of the last \
         cut (− away from it). Left to tie to: the top of the spar, as thick as that and so much of \
         it sound, and limbs.",
        2,
    ));
    let head = ["after", "up to", "mass", "centre", "fore", "to the right", "top", "sound"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for state in states {
        let name = name(state);
        let mut row = vec![if state.after.is_some() { name } else { format!("(before {name})") }];
        if state.up_to_m > 0.0 {
            row.extend([
                units.distance(state.up_to_m),
                units.mass(state.mass_kg),
                units.distance(state.centre_m),
                units.moment(state.fore_n_m),
                units.moment(state.side_n_m),
                units.diameter(state.top_diameter_m),
                units.diameter(state.top_sound_m),
            ]);
        } else {
            row.push("nothing".to_owned());
        }
        rows.push(row);
    }
    out.push_str(&columns(&rows, 2));
    for state in states {
        let said = [("limbs", &state.limbs), ("stubs of", &state.stubs)]
            .into_iter()
            .filter(|(_, ids)| !ids.is_empty())
            .map(|(word, ids)| format!("{word} {}", ids.join(", ")))
            .collect::<Vec<_>>();
        if !said.is_empty() {
            let when = if state.after.is_some() { "after " } else { "before " };
            let text = format!("    {when}{}: {}", name(state), said.join("; "));
            out.push_str(&wrapped(&text, 8));
        }
    }
    out
}

fn name(state: &TreeState) -> String {
    state.after.as_ref().map_or_else(|| "any cut".to_owned(), |cut| words::name(cut))
}
