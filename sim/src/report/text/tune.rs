//! What notes of what happened change, in plain words.

use super::{columns, wrapped};
use crate::{
    forecast::tune::{InputChange, Span, Tuned},
    report::{
        Stamp, input_words,
        stamp::{NOT_COMPARED, PLANNING_AID},
        words,
    },
    scene::model::Scene,
};

/// Under so many effective draws it is said that they are few.
const FEW: f64 = 20.0;
/// Numbers of the ground shown that moved no more than by chance.
const SHOWN: usize = 8;
/// Under so many that they say next to nothing.
const NEXT_TO_NOTHING: f64 = 5.0;

/// Before and after, with what the notes are worth first.
#[must_use]
pub fn tune(tuned: &Tuned, scene: &Scene, stamp: &Stamp) -> String {
    let units = scene.units;
    let mut out = format!("{NOT_COMPARED}\n\n{}\n", stamp.line());
    let notes = tuned.agreement.len();
    out.push_str(&wrapped(
        &format!(
            "{notes} {} noted, against {} grounds drawn from what the scene leaves open, {} drops \
             of a cut on each.",
            if notes == 1 { "cut" } else { "cuts" },
            tuned.draws,
            tuned.drops_per_draw
        ),
        0,
    ));
    if tuned.partial {
        out.push_str("INTERRUPTED: only the grounds done so far are in it.\n");
    }
    out.push_str("\nWhat the notes are worth\n");
    let worth = format!(
        "  {:.1} of {} grounds: so many even ones the weights are worth. The heaviest ground has \
         {} in 100 of the weight.",
        tuned.effective,
        tuned.draws,
        words::in_hundred(tuned.heaviest)
    );
    out.push_str(&wrapped(&worth, 4));
    if tuned.effective < NEXT_TO_NOTHING {
        out.push_str(&wrapped(
            "  NEXT TO NOTHING: hardly any ground agrees with the notes. What stands under “after” is \
             one or two grounds by chance. More draws (--draws) help if the notes and the scene are \
             right.",
            4,
        ));
    } else if tuned.effective < FEW {
        out.push_str(&wrapped(
            "  FEW: take what follows as a hint. More draws (--draws) make it steadier; only more \
             notes make it surer.",
            4,
        ));
    } else if notes <= 2 {
        out.push_str(&wrapped(
            "  One or two cuts say little of the ground: what chance alone could do is marked below.",
            4,
        ));
    }
    for met in &tuned.agreement {
        let nearest = met
            .nearest_m
            .map_or(String::new(), |m| format!("; the nearest is {} off", units.distance(m)));
        let width = if met.width_m > 0.0 {
            format!(", a width of {} about each place", units.distance(met.width_m))
        } else {
            String::new()
        };
        let tells = if met.credibility > 0.0 {
            format!(
                "; {} in 100 of the difference between grounds is more than the scatter of drops",
                words::in_hundred(met.credibility)
            )
        } else {
            "; it tells no ground from another".to_owned()
        };
        let line = format!(
            "  {}: {} of {} drops agree{width}{nearest}{tells}",
            words::name(&met.cut),
            met.agree,
            met.drops
        );
        out.push_str(&wrapped(&line, 4));
    }
    out.push_str(&inputs(tuned, scene));
    out.push_str(&reach(tuned));
    out.push('\n');
    out.push_str(&wrapped(
        "How it is weighed: a ground weighs by how near its drops come to each noted place, exp(−½·d²) \
         with d in widths and none beyond 3 widths; the width is the note's own doubt and the \
         scatter of the drops, widened for their small number; how it went counts 0.95 where it was \
         seen and 0.7 where it was guessed; what only the scatter of a ground's few drops explains is \
         taken off. Widths that wide say less than the notes might, not \
         more.",
        0,
    ));
    out.push_str(&wrapped(
        "What the model has wrong, the notes can't mend: they choose among grounds of this model.",
        0,
    ));
    out.push_str(&wrapped(PLANNING_AID, 0));
    out
}

fn inputs(tuned: &Tuned, scene: &Scene) -> String {
    let (moved, still): (Vec<_>, Vec<_>) = tuned.inputs.iter().partition(|c| c.beyond_chance);
    let mut out = String::from("\nWhat the notes move beyond what chance would (1 in 100 each)\n");
    if moved.is_empty() && tuned.words.is_empty() {
        out.push_str("  nothing\n");
    } else {
        out.push_str(&table(&moved, scene));
    }
    for change in &tuned.words {
        out.push_str(&format!(
            "  {}: {} in 100 before, {} after\n",
            change.word,
            words::in_hundred(change.before),
            words::in_hundred(change.after)
        ));
    }
    let ground: Vec<&InputChange> =
        still.iter().copied().filter(|c| input_words::is_of_ground(&c.input)).take(SHOWN).collect();
    if !ground.is_empty() {
        out.push_str("\nOf the ground, what they leave as chance could too\n");
        out.push_str(&table(&ground, scene));
    }
    let others = still.len() - ground.len();
    if others > 0 {
        out.push_str(&format!("  and {others} more of ground, survey, tree and cuts\n"));
    }
    out
}

fn table(changes: &[&InputChange], scene: &Scene) -> String {
    if changes.is_empty() {
        return String::new();
    }
    let units = scene.units;
    let mut rows = vec![["", "before", "after"].map(str::to_owned).to_vec()];
    for change in changes {
        let span = |s: &Span| {
            let value = |x: f64| input_words::value(&change.input, x, units);
            if input_words::is_yes_or_no(&change.input) {
                value(s.middle)
            } else {
                between(&value(s.middle), &value(s.low), &value(s.high))
            }
        };
        rows.push(vec![
            input_words::input(&change.input, scene),
            span(&change.before),
            span(&change.after),
        ]);
    }
    columns(&rows, 2)
}

/// "1.9 (1.2 to 2.8) psi": a unit that all three have is said once.
fn between(middle: &str, low: &str, high: &str) -> String {
    let split = |text: &str| {
        let (number, unit) = text.split_once(' ')?;
        (!unit.contains(' ')).then(|| (number.to_owned(), unit.to_owned()))
    };
    match (split(middle), split(low), split(high)) {
        (Some((m, a)), Some((l, b)), Some((h, c))) if a == b && b == c => {
            format!("{m} ({l} to {h}) {a}")
        }
        _ => format!("{middle} ({low} to {high})"),
    }
}

fn reach(tuned: &Tuned) -> String {
    if tuned.reach.is_empty() {
        return "\nEvery cut of the scene is noted: none is left to forecast.\n".to_owned();
    }
    let mut out = String::from(
        "\nReach of the cuts not noted: in 100 drops, nine in ten of the grounds, and their mean\n",
    );
    let mut rows = vec![["", "before", "after"].map(str::to_owned).to_vec()];
    let mut quiet = 0;
    for change in &tuned.reach {
        if change.before.high <= 0.0 && change.before.middle <= 0.0 {
            quiet += 1;
            continue;
        }
        let span = |s: &Span| {
            let [low, middle, high] = [s.low, s.middle, s.high].map(words::in_hundred);
            format!("{low} to {high}, mean {middle}")
        };
        rows.push(vec![
            format!("{}: {}", words::name(&change.cut), words::name(&change.target)),
            span(&change.before),
            span(&change.after),
        ]);
    }
    if rows.len() > 1 {
        out.push_str(&columns(&rows, 2));
    }
    if quiet > 0 {
        out.push_str(&format!(
            "  {quiet} other pairs of cut and target: none in any of these drops, before and after\n"
        ));
    }
    out
}
