//! What is felled, pulled or held by a line: what stands after each cut, the numbers of pull, hinge, line and vehicle, and
//! which way it can lie.

use super::{
    Brief,
    cuts::each,
    felling::Turning,
    sheet::{Block, Line, Section, Sources},
};
use crate::{
    felling::{Felling, Figure, Rule},
    forecast::reach_map::ReachMap,
    report::{
        reach_rings,
        text::{PULL_PRACTICE, quantity},
        units::Units,
        words,
    },
};

/// Which numbers of a felling a crew is handed, by the last word of their keys; the others are in
/// what `fell` prints. A number that is outside of what its rule is good for is always handed on.
const HANDED: [&str; 29] = [
    "weight",
    "moment_fore",
    "moment_side",
    "hinge_fore",
    "hinge_side",
    "side_share",
    "shell_ratio",
    "stem_share_pulled",
    "first_tension",
    "still",
    "gust",
    "greatest",
    "balance",
    "far_pull",
    "load",
    "sling",
    "anchor",
    "working",
    "rope_share",
    "gives",
    "wedge_lift",
    // Of lines that hold a piece in its drop.
    "fall",
    "peak",
    "block",
    "reach",
    "spar",
    "spar_out",
    "working_share",
    "swing",
];

/// The section; `None` where no cut is worked out.
pub(super) fn section(brief: &Brief<'_>, sources: &mut Sources) -> Option<Section> {
    let mut blocks = Vec::new();
    for ((_, ready, _), turning) in each(brief).zip(brief.turning) {
        let Turning { felling: Some(felling), reach, .. } = turning else { continue };
        one(&mut blocks, sources, felling, brief.scene.units);
        if let Some(map) = reach {
            lies(&mut blocks, sources, map, brief, &ready.id);
        }
    }
    if blocks.is_empty() {
        return None;
    }
    for practice in PULL_PRACTICE {
        let common = sources.of("Common practice, but where another source is named.");
        blocks.push(Block::Tick(Line::new().plain(practice).mark(common)));
    }
    Some(Section {
        id: "pulled",
        title: "Cuts that are felled, pulled or on a line".to_owned(),
        blocks,
    })
}

fn one(blocks: &mut Vec<Block>, sources: &mut Sources, felling: &Felling, units: Units) {
    let range = sources.of(format!(
        "As told, and in brackets the least and greatest of {} draws of all that is in doubt, the \
         strength of wood and friction with it.",
        felling.draws
    ));
    blocks.push(Block::Head(
        Line::new().strong(words::name(&felling.cut)).plain(", before it is cut"),
    ));
    if let Some(without) = &felling.without_line {
        let goes = match without.missing_n_m {
            Some(missing) => format!("it sits back, {} missing", units.moment(missing)),
            None => "it goes".to_owned(),
        };
        blocks.push(Block::Item(
            Line::new()
                .strong("With no line on it")
                .plain(format!(
                    " {goes}; it sits back in {} of {} draws",
                    without.sits_back, without.draws
                ))
                .mark(range)
                .plain("."),
        ));
    }
    if !felling.states.is_empty() {
        let states = sources.of(
            "What stands after each cut: stem, limbs and brush above this cut's hinge, as told; moments \
             of their weight about the hinge, − away from the face.",
        );
        let after: Vec<String> = felling
            .states
            .iter()
            .map(|state| {
                let when = state
                    .after
                    .as_deref()
                    .map_or("before any cut".to_owned(), |id| format!("after {}", words::name(id)));
                format!(
                    "{when} {}, fore {}, to the right {}",
                    units.mass(state.mass_kg),
                    units.moment(state.fore_n_m),
                    units.moment(state.side_n_m)
                )
            })
            .collect();
        blocks.push(Block::Item(
            Line::new()
                .strong("Above its hinge")
                .plain(format!(": {}", after.join("; ")))
                .mark(states)
                .plain("."),
        ));
    }
    for figure in felling.figures.iter().filter(|f| handed(f)) {
        let text = |x| quantity(figure.measure, x, units);
        let mut line = Line::new().strong(figure.label.clone()).plain(format!(
            ": {} ({} to {})",
            text(figure.told),
            text(figure.low),
            text(figure.high)
        ));
        for words in &figure.outside {
            line = line.strong(format!(" ! {words}"));
        }
        let line = line.mark(sources.of(rule_words(&figure.rule))).mark(range);
        blocks.push(Block::Item(line.plain(".")));
    }
    for size in felling.sizes.iter().filter(|s| !s.outside.is_empty()) {
        blocks.push(Block::Item(
            Line::new()
                .strong(format!("! {}", size.label))
                .plain(format!(
                    " {}: {}; practice {} to {}",
                    quantity(size.measure, size.own, units),
                    size.outside.join(", "),
                    quantity(size.measure, size.practice_low, units),
                    quantity(size.measure, size.practice_high, units)
                ))
                .mark(sources.of(rule_words(&size.rule)))
                .plain("."),
        ));
    }
}

fn handed(figure: &Figure) -> bool {
    let last = figure.key.rsplit('.').next().unwrap_or("");
    HANDED.contains(&last) || !figure.outside.is_empty()
}

fn rule_words(rule: &Rule) -> String {
    format!(
        "{}. Source: {} ({}). Taken for granted: {}.",
        rule.formula,
        rule.source,
        rule.standing.words(),
        rule.assumption
    )
}

/// Which way it can lie, whatever its face is meant for.
fn lies(
    blocks: &mut Vec<Block>,
    sources: &mut Sources,
    map: &ReachMap,
    brief: &Brief<'_>,
    id: &str,
) {
    let units = brief.scene.units;
    let source = sources.of(
        "Which way it can lie: every point of the stem goes round the hinge on a circle until it \
         meets the ground, as told, on each of 360 azimuths; no scatter, no sliding or rolling after. \
         tumblewood fell SCENE --cut ID --reach maps both.",
    );
    for piece in &map.pieces {
        let far = piece.laid.iter().flatten().map(|l| l.farthest_m).fold(0.0, f64::max);
        if far <= 0.0 {
            continue;
        }
        let what = if piece.uncut { "uncut, with all on it that stands now" } else { "as cut" };
        let mut line = Line::new().strong("If it goes another way").plain(format!(
            ": {} {what} lies at most {} from the stump",
            words::name(id),
            units.distance(far)
        ));
        let onto: Vec<String> = piece.sectors.iter().map(reach_rings::sector_words).collect();
        line = if onto.is_empty() {
            line.plain("; laid down it comes onto no target")
        } else {
            line.plain(format!("; laid down it comes onto {}", onto.join(", ")))
        };
        blocks.push(Block::Item(line.mark(source).plain(".")));
    }
}
