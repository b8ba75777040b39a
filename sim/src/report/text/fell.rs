//! The felling numbers of one cut, in words: the numbers first, then what each is worked out by.

use super::{columns, wrapped};
use crate::{
    felling::{Felling, Figure, Group, Measure, Rule},
    report::{
        stamp::{NOT_COMPARED, PLANNING_AID},
        units::{Units, decimals},
    },
};

/// Headings of the groups, in the order they are printed.
pub const FELLING_GROUPS: [(Group, &str); 8] = [
    (Group::Stem, "The stem above the cut"),
    (Group::Hinge, "The hinge"),
    (Group::Strength, "Decay and the stem's own strength"),
    (Group::Pull, "The pull"),
    (Group::Line, "Line, blocks and far end"),
    (Group::Vehicle, "The vehicle"),
    (Group::Wedge, "Wedges"),
    (Group::Tied, "Lines that hold the piece in its drop"),
];

/// What the trade does around a pulled stem; no one measured it.
pub const PULL_PRACTICE: [&str; 6] = [
    "Put the line under a little tension before the back cut, and hold the truck on its brakes.",
    "Keep wedges in the back cut against sitting back; pull steadily, never with a jerk, and stop \
     the moment it commits.",
    "Nobody in the bight of a redirected line, nobody within 1.5 heights of what falls at the line \
     (ANSI Z133 as quoted by ArborTIMES, fall 2025), nobody else within 2.",
    "Side lean: leave the hinge thicker at the end in tension, put the rope against the lean.",
    "Dead or decayed wood: take the hinge to hold little, and the strength for half or less.",
    "Retreat at 45° to the side and back, never straight behind (OSHA Logging eTool).",
];

/// A number in the scene's units.
#[must_use]
pub fn quantity(measure: Measure, value: f64, units: Units) -> String {
    if !value.is_finite() {
        // A pull where the line has no arm; a load where no wood is left to bear it.
        let is_pull = measure == Measure::Force;
        return if is_pull { "none will do" } else { "nothing holds" }.to_owned();
    }
    match measure {
        Measure::Mass => units.mass(value),
        Measure::Length => units.length(value),
        Measure::Thickness => units.diameter(value),
        Measure::Angle => format!("{}°", decimals(value.to_degrees(), 1)),
        Measure::Force => units.force(value),
        Measure::Moment => units.moment(value),
        Measure::Stress => units.stress(value),
        Measure::Share => {
            let percent = 100.0 * value;
            format!("{} %", decimals(percent, usize::from(percent.abs() < 9.95)))
        }
        Measure::Number => decimals(value, 2),
    }
}

/// The numbers of a cut.
#[must_use]
pub fn fell(felling: &Felling, date: &str, units: Units) -> String {
    let mut out = format!("{}\n", felling.scene);
    let across = units.diameter(felling.diameter_m);
    out += &wrapped(
        &format!(
            "Cut {}, {} up, {across} across there, {} toward {}°. Every number as told, and the \
             least and greatest over {} draws of what is in doubt.",
            felling.cut,
            units.length(felling.from_m),
            if felling.without_line.is_some() { "face" } else { "let go" },
            decimals(felling.face_rad.to_degrees(), 0),
            felling.draws
        ),
        0,
    );
    if felling.without_line.is_some() {
        out += &wrapped(&without_line(felling, units), 0);
    }
    if !felling.states.is_empty() {
        out += "\nWhat stands above this cut's hinge, as told; fore is toward the face, − away from \
                it\n";
        out += &columns(&states(felling, units), 2);
    }
    let mut rules: Vec<Rule> = Vec::new();
    let mut number = |rule: &Rule| {
        let at = rules.iter().position(|r| r == rule).unwrap_or_else(|| {
            rules.push(*rule);
            rules.len() - 1
        });
        format!("[{}]", at + 1)
    };
    let mut rows = vec![row(["", "this cut", "practice", ""])];
    for size in &felling.sizes {
        let text = |x| quantity(size.measure, x, units);
        let practice = format!("{} – {}", text(size.practice_low), text(size.practice_high));
        rows.push(row([size.label, &text(size.own), &practice, &number(&size.rule)]));
    }
    if !felling.sizes.is_empty() {
        out += "\nFace and hinge as cut, and by practice\n";
        out += &columns(&rows, 2);
    }
    for size in &felling.sizes {
        out += &outside(size.label, &size.outside);
    }
    for (group, heading) in FELLING_GROUPS {
        let figures: Vec<&Figure> = felling.figures.iter().filter(|f| f.group == group).collect();
        if figures.is_empty() {
            continue;
        }
        out += &format!("\n{heading}\n");
        let mut rows = vec![row(["", "low", "as told", "high", ""])];
        for figure in &figures {
            let text = |x| quantity(figure.measure, x, units);
            rows.push(row([
                &figure.label,
                &text(figure.low),
                &text(figure.told),
                &text(figure.high),
                &number(&figure.rule),
            ]));
        }
        out += &columns(&rows, 2);
        for figure in figures {
            out += &outside(&figure.label, &figure.outside);
        }
    }
    out += "\nWorked out by\n";
    for (i, rule) in rules.iter().enumerate() {
        let text = format!(
            "[{}] {}. Source: {} ({}). Taken for granted: {}.",
            i + 1,
            rule.formula,
            rule.source,
            rule.standing.words(),
            rule.assumption
        );
        out += &wrapped(&format!("  {text}"), 6);
    }
    if !felling.warnings.is_empty() {
        out += "\nWarnings\n";
        for warning in &felling.warnings {
            out += &wrapped(&format!("  {warning}"), 4);
        }
    }
    if felling.without_line.is_some() {
        out += "\nCommon practice\n";
        for line in PULL_PRACTICE {
            out += &wrapped(&format!("  {line}"), 4);
        }
    }
    let short: String = felling.scene_hash.chars().take(12).collect();
    let (version, seed) = (felling.version, felling.seed);
    out += &format!(
        "\nScene {} ({short}) · felling {version} · seed {seed} · {date}\n",
        felling.scene
    );
    out += &format!("{NOT_COMPARED} Nor have these numbers been compared with pulled stems.\n");
    out += &format!("{PLANNING_AID}\n");
    out
}

fn row<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

/// Whether it sits back with no line on it, in a sentence; empty where it turns on no hinge.
#[must_use]
pub fn without_line(felling: &Felling, units: Units) -> String {
    let Some(without) = &felling.without_line else { return String::new() };
    let told = match without.missing_n_m {
        Some(missing) => format!("it sits back, {} missing", units.moment(missing)),
        None => "it goes".to_owned(),
    };
    let drawn = match without.draws {
        0 => String::new(),
        draws => format!("; it sits back in {} of {draws} draws", without.sits_back),
    };
    format!("With no line on it, as told: {told}{drawn}.")
}

fn states(felling: &Felling, units: Units) -> Vec<Vec<String>> {
    let mut rows = vec![row([
        "",
        "up to",
        "whole",
        "above the hinge",
        "its centre",
        "moment fore",
        "to the right",
    ])];
    for state in &felling.states {
        let after = match &state.after {
            Some(cut) => format!("after {cut}"),
            None => "before any cut".to_owned(),
        };
        rows.push(vec![
            after,
            units.length(state.up_to_m),
            units.mass(state.whole_kg),
            units.mass(state.mass_kg),
            units.length(state.centre_m),
            units.moment(state.fore_n_m),
            units.moment(state.side_n_m),
        ]);
    }
    rows
}

fn outside(label: &str, words: &[String]) -> String {
    words.iter().map(|words| wrapped(&format!("  ! {label}: {words}"), 4)).collect()
}
