//! The tree after each cut of an order.

use super::{columns, wrapped};
use crate::{felling::TreeState, report::units::Units};

/// The tree as told before the first cut and after each: what it weighs, how it leans and what is
/// left to tie to.
#[must_use]
pub fn tree_states(states: &[TreeState], units: Units) -> String {
    let mut out = "The tree after each cut, as told\n".to_owned();
    out.push_str(&wrapped(
        "  The moment of its weight about the stump: toward the face of the last cut (− away from \
         it), and to the right of that. Left to tie to: the top of the spar, and limbs.",
        2,
    ));
    let head =
        ["", "up to", "mass", "its centre", "moment fore", "to the right", "thick there", "sound"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for state in states {
        let name = name(state);
        let mut row = vec![name];
        if state.up_to_m > 0.0 {
            row.extend([
                units.length(state.up_to_m),
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
            out.push_str(&wrapped(&format!("    {}: {}", name(state), said.join("; ")), 8));
        }
    }
    out
}

fn name(state: &TreeState) -> String {
    state.after.as_ref().map_or_else(|| "before any cut".to_owned(), |cut| format!("after {cut}"))
}
