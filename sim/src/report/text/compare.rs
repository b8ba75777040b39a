//! Lengths against faces, side by side.

use super::{columns, wrapped};
use crate::{
    forecast::{
        compare::{Cell, Comparison},
        result::CutForecast,
    },
    report::{stamp, stamp::Stamp, units::Units, words},
};

/// Above the table of modes.
pub const MODES_HEAD: &str =
    "Rolled / tumbled end over end, in 100 drops on the ground as you told it";
/// Above the table of reaches.
pub const REACH_HEAD: &str =
    "Reach a target by any mode, in 100 drops over all grounds that fit your notes";
/// Above the cells that reached.
pub const REACHED_HEAD: &str = "What did reach";
/// Where no cell reached.
pub const NOTHING_REACHED: &str = "nothing, in the drops made";
/// Above the cells that did not reach.
pub const QUIET_HEAD: &str = "What did not reach in these drops, with the most its share could be";

/// One length with one face.
#[derive(Clone, Debug, PartialEq)]
pub struct CompareCell {
    /// Length of the piece, m.
    pub length_m: f64,
    /// Where its face points, in the user's words ("180 deg"); one column for each.
    pub face: String,
    /// Drops on the ground as told, those that sat back included.
    pub drops: u32,
    /// Of `drops`, those in which the piece did not leave.
    pub sat_back: u32,
    /// Of `drops`, those that rolled.
    pub rolled: u32,
    /// Of `drops`, those that tumbled end over end.
    pub tumbled: u32,
    /// Drops over all grounds, on fresh seeds where nothing was reached at first.
    pub all_drops: u32,
    /// Of `all_drops`, per target: its id and how many touched it. Targets none touched may be
    /// left out.
    pub reached_targets: Vec<(String, u32)>,
    /// Of `all_drops`, those that touched any target.
    pub reached: u32,
    /// Of `all_drops`, those lost before it could be told.
    pub unknown: u32,
    /// Upper bound on the share that reaches anything, corrected for the number of cells.
    pub high_corrected: f64,
}

impl CompareCell {
    /// One cell as its table says it. Where nothing reached at first, the counts are those of the
    /// fresh run.
    #[must_use]
    pub fn of(cell: &Cell, all: &Comparison) -> Self {
        let reached_first = (0..all.targets.len()).any(|k| cell.reaches(k));
        let counted = match (&cell.fresh, reached_first) {
            (Some(fresh), false) => fresh,
            _ => &cell.forecast,
        };
        let told = &cell.forecast;
        let told_drops = |f: &CutForecast| {
            f.sat_back + f.modes.stayed + f.modes.slid + f.modes.rolled + f.modes.tumbled
        };
        let hits = |id: &str| -> u32 {
            let told = counted.targets.iter().filter(|t| t.id == id).map(|t| t.reached);
            let drawn = counted
                .grounds
                .iter()
                .flat_map(|g| g.targets.iter().filter(|t| t.id == id))
                .map(|t| t.reached);
            told.chain(drawn).sum()
        };
        let per_target: Vec<(String, u32)> =
            all.targets.iter().map(|id| (id.clone(), hits(id))).filter(|(_, n)| *n > 0).collect();
        // Where the second look is missing, nothing bounds the share.
        let looked_at = all.cells.len() * all.targets.len();
        let high_corrected = (0..all.targets.len())
            .filter(|k| !cell.reaches(*k))
            .map(|k| cell.corrected_bound(k, looked_at).unwrap_or(1.0))
            .fold(0.0, f64::max);
        Self {
            length_m: cell.length_m,
            face: format!("{:.0} deg", cell.face_rad.to_degrees()),
            drops: told_drops(told),
            sat_back: told.sat_back,
            rolled: told.modes.rolled,
            tumbled: told.modes.tumbled,
            all_drops: cell.any.drops,
            reached: cell.any.reached,
            reached_targets: per_target,
            unknown: cell.any.unknown,
            high_corrected,
        }
    }

    /// Its length and face.
    #[must_use]
    pub fn name(&self, units: Units) -> String {
        format!("{} with face {}", units.length(self.length_m), self.face)
    }

    /// Rolled and tumbled in 100: "24 / 52 (10 sit back)".
    #[must_use]
    pub fn modes(&self) -> String {
        let back = if self.sat_back > 0 {
            format!(" ({} sit back)", in_100(self.sat_back, self.drops))
        } else {
            String::new()
        };
        format!("{} / {}{back}", in_100(self.rolled, self.drops), in_100(self.tumbled, self.drops))
    }

    /// Reaches in 100.
    #[must_use]
    pub fn reach(&self) -> String {
        if self.reached > 0 { in_100(self.reached, self.all_drops) } else { "none seen".to_owned() }
    }

    /// What it reached, where it reached anything, else the most its share could be.
    #[must_use]
    pub fn found(&self, units: Units) -> String {
        let name = self.name(units);
        if self.reached == 0 {
            let mut text = format!(
                "{name}: 0 of {} drops over all grounds; {} on the ground as you told it",
                self.all_drops,
                words::at_most(self.high_corrected)
            );
            if self.unknown > 0 {
                text.push_str(&format!(", {} can't be told", self.unknown));
            }
            return text;
        }
        let targets: Vec<String> = self
            .reached_targets
            .iter()
            .filter(|(_, n)| *n > 0)
            .map(|(id, n)| format!("{} {n}", words::name(id)))
            .collect();
        let mut text = format!("{name}: {} of {} drops", self.reached, self.all_drops);
        if !targets.is_empty() {
            text.push_str(&format!(" ({})", targets.join(", ")));
        }
        if self.unknown > 0 {
            text.push_str(&format!(", {} more can't be told", self.unknown));
        }
        text
    }
}

/// What the bounds under [`QUIET_HEAD`] are.
#[must_use]
pub fn bounds_note(cells: usize) -> String {
    format!(
        "These drops are fresh ones, not those that the cells were picked by. Bounds: 95 %, \
         one-sided, corrected for the {cells} cells looked at, from the drops on the ground as you \
         told it: drops that share a drawn ground would not count as so many. They speak of \
         counting alone, not of other grounds."
    )
}

pub(super) fn in_100(count: u32, of: u32) -> String {
    words::in_hundred(f64::from(count) / f64::from(of.max(1)))
}

/// The grid in words: how it goes, then what did reach, then what did not and its bound. Rows and
/// columns keep the order of their cells; none is singled out.
#[must_use]
pub fn compare(cells: &[CompareCell], stamp: &Stamp, units: Units) -> String {
    let mut lengths: Vec<f64> = Vec::new();
    let mut faces: Vec<&str> = Vec::new();
    for cell in cells {
        if !lengths.contains(&cell.length_m) {
            lengths.push(cell.length_m);
        }
        if !faces.contains(&cell.face.as_str()) {
            faces.push(&cell.face);
        }
    }
    let grid = |entry: &dyn Fn(&CompareCell) -> String| {
        let mut rows = vec![vec!["length".to_owned()]];
        rows[0].extend(faces.iter().map(|face| format!("face {face}")));
        for &length_m in &lengths {
            let mut row = vec![units.length(length_m)];
            row.extend(faces.iter().map(|&face| {
                let found = cells.iter().find(|c| c.length_m == length_m && c.face == face);
                found.map_or("–".to_owned(), entry)
            }));
            rows.push(row);
        }
        columns(&rows, 2)
    };
    let mut out = format!("{}\n\n{}\n", stamp::NOT_COMPARED, stamp.line());
    out.push_str(&format!("\n{MODES_HEAD}\n{}", grid(&CompareCell::modes)));
    out.push_str(&format!("\n{REACH_HEAD}\n{}", grid(&CompareCell::reach)));
    out.push_str(&format!("\n{REACHED_HEAD}\n"));
    let (reached, quiet): (Vec<&CompareCell>, Vec<&CompareCell>) =
        cells.iter().partition(|c| c.reached > 0);
    for cell in &reached {
        out.push_str(&wrapped(&format!("  {}", cell.found(units)), 6));
    }
    if reached.is_empty() {
        out.push_str(&format!("  {NOTHING_REACHED}\n"));
    }
    if !quiet.is_empty() {
        out.push_str(&format!("\n{QUIET_HEAD}\n"));
        for cell in &quiet {
            out.push_str(&wrapped(&format!("  {}", cell.found(units)), 6));
        }
        out.push_str(&wrapped(&format!("  {}", bounds_note(cells.len())), 4));
    }
    out.push('\n');
    out.push_str(&wrapped(stamp::PLANNING_AID, 0));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn regress_a_grid_names_what_reaches_and_bounds_the_rest() {
        let cell = |length_m: f64, face: &str, reached: u32| CompareCell {
            length_m,
            face: face.to_owned(),
            drops: 500,
            sat_back: if length_m > 4.0 { 50 } else { 0 },
            rolled: 120,
            tumbled: 260,
            all_drops: 1440,
            reached_targets: vec![("boat_house".to_owned(), reached), ("wire".to_owned(), 0)],
            reached,
            unknown: 0,
            high_corrected: 0.0042,
        };
        let cells = [
            cell(1.2192, "180 deg", 45),
            cell(1.2192, "210 deg", 0),
            cell(4.8768, "180 deg", 3),
            cell(4.8768, "210 deg", 0),
        ];
        let text = compare(&cells, &sample::stamp(), Units::Imperial);
        for line in [
            "  length            face 180 deg            face 210 deg",
            "  4 ft                   24 / 52                 24 / 52",
            "  16 ft    24 / 52 (10 sit back)   24 / 52 (10 sit back)",
            "  4 ft with face 180 deg: 45 of 1440 drops (boat house 45)",
            "  16 ft with face 210 deg: 0 of 1440 drops over all grounds; at most 5 in 1000 on the",
            "corrected for the 4 cells looked at, from the drops on the",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
        let lower = text.to_lowercase();
        assert!(!lower.contains("best") && !lower.contains(concat!("sa", "fe")));
    }
}
