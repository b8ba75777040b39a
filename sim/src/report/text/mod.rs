//! Tables for a terminal, in plain words.

mod compare;
mod drop;
mod fell;
mod forecast;
mod lines;
mod log;
mod orders;
mod proposed;
mod reach_map;
mod search;
mod states;
mod terrain;
mod tune;

pub use compare::{
    CompareCell, MODES_HEAD, NOTHING_REACHED, QUIET_HEAD, REACH_HEAD, REACHED_HEAD, bounds_note,
    compare,
};
pub use drop::{drop_table, what_happened, what_went};
pub use fell::{FELLING_GROUPS, PULL_PRACTICE, fell, quantity, without_line};
pub use forecast::{forecast, hangs_on, job_target};
pub use orders::orders;
pub use proposed::proposed;
pub use reach_map::reach_map;
pub use search::{NOT_AN_INSTRUCTION, search};
pub use states::tree_states;
pub use terrain::terrain;
pub use tune::tune;

/// Characters on a line at most.
const WIDTH: usize = 98;

/// `text` broken into lines; the first keeps the spaces it begins with, the others begin with
/// `indent` spaces.
#[must_use]
pub fn wrapped(text: &str, indent: usize) -> String {
    let words = text.trim_start_matches(' ');
    let mut column = text.len() - words.len();
    let mut out = " ".repeat(column);
    let mut at_start = true;
    for word in words.split(' ') {
        let length = word.chars().count();
        if !at_start && column + 1 + length > WIDTH {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if !at_start {
            out.push(' ');
            column += 1;
        }
        at_start = false;
        out.push_str(word);
        column += length;
    }
    out.push('\n');
    out
}

/// Rows as columns of equal width: the first to the left, the others to the right.
fn columns(rows: &[Vec<String>], indent: usize) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |c: usize| {
        rows.iter().filter_map(|r| r.get(c)).map(|t| t.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut out = String::new();
    for row in rows {
        let mut line = " ".repeat(indent);
        for (c, cell) in row.iter().enumerate() {
            let gap = " ".repeat(widths[c] - cell.chars().count());
            let space = if c == 0 { "" } else { "   " };
            line.push_str(space);
            if c == 0 {
                line.push_str(cell);
                line.push_str(&gap);
            } else {
                line.push_str(&gap);
                line.push_str(cell);
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}
