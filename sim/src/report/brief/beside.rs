//! What goes with a piece: its limbs and brush, a hinge that may let go early, what it sets going,
//! the lines that hold it, thrown soil, the log.

use super::{
    Brief,
    cuts::{counts, ranges},
    range_words,
    sheet::{Line, Sources},
};
use crate::{
    forecast::result::{CutForecast, LineForecast, LogForecast, LooseForecast, ThrownForecast},
    job::CutReady,
    report::{
        units::{Units, decimals},
        words,
    },
};

/// Lines that a cut has besides how it goes and what it reaches.
pub(super) fn lines(
    brief: &Brief<'_>,
    sources: &mut Sources,
    counted: &CutForecast,
    ready: &CutReady,
) -> Vec<Line> {
    let units = brief.scene.units;
    let mut lines = Vec::new();
    lines.extend(brush(sources, ready, units));
    if let Some(share) = counted.lets_go_early {
        let early = sources.of(
            "Lets go early: the share of the hinge's width that stands over hollow wood; in so many \
             drops it breaks before it has steered (ours, no source).",
        );
        lines.push(
            Line::new()
                .strong("Its hinge stands over hollow wood")
                .plain(format!(
                    ": in {} in 100 drops it is let go early, and does not steer",
                    words::in_hundred(share)
                ))
                .mark(early)
                .plain("."),
        );
    }
    lines
        .extend(counted.loose.iter().filter_map(|loose| set_going(brief, sources, counted, loose)));
    lines.extend(counted.lines.iter().map(|line| on_line(brief, sources, line)));
    if let Some(thrown) = &counted.thrown {
        lines.push(thrown_soil(sources, thrown, units));
    }
    if let Some(log) = &counted.log {
        lines.push(the_log(brief, sources, log));
    }
    lines
}

fn brush(sources: &mut Sources, ready: &CutReady, units: Units) -> Option<Line> {
    let piece = &ready.section.piece;
    if piece.brush.is_empty() {
        return None;
    }
    let source = sources.of(
        "Brush: limbs as told, and of a crown what the tree's size says it weighs (Jenkins and \
         others 2003); it drags in the air, is crushed, catches and breaks; its sizes are mostly \
         ours.",
    );
    Some(
        Line::new()
            .plain(format!(
                "With its limbs, and {} of twigs and leaves on them",
                units.mass(piece.brush.mass_kg())
            ))
            .mark(source)
            .plain("."),
    )
}

/// What it does with something that lies loose or is held; nothing where it does nothing.
fn set_going(
    brief: &Brief<'_>,
    sources: &mut Sources,
    counted: &CutForecast,
    loose: &LooseForecast,
) -> Option<Line> {
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let source = sources.of(
        "Set going: moved by 10 cm or more (ours); a held log once what holds it is overcome. It is \
         followed to its rest, and what it reaches is told apart from the piece.",
    );
    let met = loose.targets.iter().filter(|t| t.reached > 0 || t.over_grounds.high > 0.0);
    let met: Vec<String> = met
        .map(|t| {
            let name = words::name(&t.id);
            format!("{name} in {} ({})", range_words(t.over_grounds), t.reached)
        })
        .collect();
    if loose.set_going == 0 && met.is_empty() {
        return None;
    }
    let line = Line::new()
        .strong(format!("Sets {} going", words::name(&loose.id)))
        .plain(format!(" in {} of {} drops as told", loose.set_going, counted.drops()))
        .mark(source)
        .mark(count);
    Some(if met.is_empty() {
        line.plain("; it reached and struck nothing.")
    } else {
        line.plain(format!("; that reaches or strikes {}", met.join(", ")))
            .mark(range)
            .mark(count)
            .plain(".")
    })
}

/// What a line that holds it bears.
fn on_line(brief: &Brief<'_>, sources: &mut Sources, line: &LineForecast) -> Line {
    let units = brief.scene.units;
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let source = sources.of(
        "Lines: springs that only pull, by the rope's stretch, slack and damping; hitches and spar \
         don't give. Working load: breaking strength less knots over the design factor.",
    );
    let over = &line.over_grounds;
    Line::new()
        .strong(words::name(&line.id))
        .plain(format!(
            " ({}): above its working load of {} in {} ({}), rope or knot breaks in {} ({}); at most \
             {} on any ground",
            line.kind,
            units.force(line.working_load_n),
            range_words(over.above_working),
            line.above_working,
            range_words(over.broken),
            line.broken,
            units.force(over.peak_n)
        ))
        .mark(source)
        .mark(range)
        .mark(count)
        .plain(".")
}

fn thrown_soil(sources: &mut Sources, thrown: &ThrownForecast, units: Units) -> Line {
    let source = sources.of(
        "Thrown soil: a clod leaves no faster than the piece's point that throws it, at any angle, \
         without drag: an outer bound over all drops and grounds, no count. Splashes can go farther.",
    );
    let within: Vec<String> = thrown
        .targets
        .iter()
        .filter(|t| t.short_m.is_some_and(|short_m| short_m <= 0.0))
        .map(|t| words::name(&t.id))
        .collect();
    let whom = if within.is_empty() {
        "no person or window lies within that".to_owned()
    } else {
        format!("within that on some grounds: {}", within.join(", "))
    };
    Line::new()
        .strong("Thrown soil, apart from the piece")
        .plain(format!(
            ": clods within {} of where it digs in, down the bank; {whom}",
            units.distance(thrown.radius_m)
        ))
        .mark(source)
        .plain(".")
}

fn the_log(brief: &Brief<'_>, sources: &mut Sources, log: &LogForecast) -> Line {
    let units = brief.scene.units;
    let count = counts(brief, sources);
    let source = sources.of(
        "The log: volume inside bark by Smalian's rule; board feet by Doyle's, Scribner's and the \
         International ¼-inch rule, before anything is taken off. A landing breaks it where bending \
         as a stiff beam passes the modulus of rupture of clear green wood (Wood Handbook ch. 5); \
         single stems differ by a third either way.",
    );
    let mut line = Line::new().strong("The log");
    if log.whole.is_empty() {
        return line.plain(": too short for the mill.").mark(source);
    }
    let logs: Vec<String> = log
        .whole
        .iter()
        .map(|l| {
            let [doyle, scribner, international] =
                [l.doyle_bd_ft, l.scribner_bd_ft, l.international_bd_ft].map(|b| decimals(b, 0));
            format!(
                "{}, {} at the small end, {}, {doyle} / {scribner} / {international} bd ft",
                units.length(l.length_m),
                units.diameter(l.small_end_m),
                units.volume(l.volume_m3)
            )
        })
        .collect();
    line = line.plain(format!(": {}", logs.join("; "))).mark(source);
    line.plain(format!(
        ". Its landing breaks it in {} of {} drops, {} more come near",
        log.breaks, log.drops, log.may_break
    ))
    .mark(count)
    .plain(".")
}
