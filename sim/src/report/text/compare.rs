//! Lengths against faces, side by side.

use super::{columns, wrapped};
use crate::report::{stamp, stamp::Stamp, units::Units, words};

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
    let in_100 = |count: u32, of: u32| words::in_hundred(f64::from(count) / f64::from(of.max(1)));
    let mut out = format!("{}\n\n{}\n", stamp::NOT_COMPARED, stamp.line());
    out.push_str("\nRolled / tumbled end over end, in 100 drops on the ground as you told it\n");
    out.push_str(&grid(&|c| {
        let back = if c.sat_back > 0 {
            format!(" ({} sit back)", in_100(c.sat_back, c.drops))
        } else {
            String::new()
        };
        format!("{} / {}{back}", in_100(c.rolled, c.drops), in_100(c.tumbled, c.drops))
    }));
    out.push_str(
        "\nReach a target by any mode, in 100 drops over all grounds that fit your notes\n",
    );
    out.push_str(&grid(&|c| {
        if c.reached > 0 { in_100(c.reached, c.all_drops) } else { "none seen".to_owned() }
    }));
    let name = |c: &CompareCell| format!("{} with face {}", units.length(c.length_m), c.face);
    out.push_str("\nWhat did reach\n");
    let mut any = false;
    for cell in cells.iter().filter(|c| c.reached > 0) {
        any = true;
        let targets: Vec<String> = cell
            .reached_targets
            .iter()
            .filter(|(_, n)| *n > 0)
            .map(|(id, n)| format!("{} {n}", words::name(id)))
            .collect();
        let mut text = format!("  {}: {} of {} drops", name(cell), cell.reached, cell.all_drops);
        if !targets.is_empty() {
            text.push_str(&format!(" ({})", targets.join(", ")));
        }
        if cell.unknown > 0 {
            text.push_str(&format!(", {} more can't be told", cell.unknown));
        }
        out.push_str(&wrapped(&text, 6));
    }
    if !any {
        out.push_str("  nothing, in the drops made\n");
    }
    let quiet: Vec<&CompareCell> = cells.iter().filter(|c| c.reached == 0).collect();
    if !quiet.is_empty() {
        out.push_str("\nWhat did not reach in these drops, with the most its share could be\n");
        for cell in &quiet {
            let mut text = format!(
                "  {}: 0 of {} drops over all grounds; {} on the ground as you told it",
                name(cell),
                cell.all_drops,
                words::at_most(cell.high_corrected)
            );
            if cell.unknown > 0 {
                text.push_str(&format!(", {} can't be told", cell.unknown));
            }
            out.push_str(&wrapped(&text, 6));
        }
        out.push_str(&wrapped(
            &format!(
                "  These drops are fresh ones, not those that the cells were picked by. Bounds: 95 %, \
                 one-sided, corrected for the {} cells looked at, from the drops on the ground as \
                 you told it: drops that share a drawn ground would not count as so many. They \
                 speak of counting alone, not of other grounds.",
                cells.len()
            ),
            4,
        ));
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
