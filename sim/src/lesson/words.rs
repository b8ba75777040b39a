//! What a lesson says in sentences: what happened, and what a score means. The same on a screen, on a
//! terminal and on paper; each can be read aloud by itself.

use crate::{
    forecast::interval,
    report::{
        units::decimals,
        words::{at_most, in_hundred},
    },
};

use super::{
    answer::{Measure, Terms},
    calibration::Calibration,
    record::{Kind, Record},
    score::{Rule, Score, best_mark},
    truth::{Counted, Truth},
};

/// What stands beside every lesson.
pub const NO_PERMISSION: &str = "Practice on a model. It says nothing of a tree of yours and permits \
                                 nothing: local codes and licensed practice decide.";

/// What happened, one sentence a line.
#[must_use]
pub fn happened(truth: &Truth, terms: &Terms) -> Vec<String> {
    match truth {
        Truth::Options(counted) => counted.iter().map(count).collect(),
        Truth::Chance(counted) => {
            vec![count(&Counted { label: "It happens".into(), ..counted.clone() })]
        }
        Truth::Fewest(counted) => {
            let mut lines: Vec<String> = counted.iter().map(count).collect();
            if near(counted) {
                lines.push(
                    "These counts are near each other: other draws could put them in another order."
                        .to_owned(),
                );
            }
            lines
        }
        Truth::Values { measure, values, at_least, left_out, draws } => {
            let mut lines = vec![spread(*measure, values, *draws, terms)];
            if *at_least > 0 {
                lines.push(format!(
                    "{at_least} drops had not come to rest on known ground: theirs are at least so far."
                ));
            }
            lines.extend(left(*left_out));
            lines
        }
        Truth::Points { at_m, lost, left_out } => {
            let mut lines = Vec::new();
            if let Some((mark_m, radius_m, _)) = best_mark(at_m) {
                let answer = super::Answer::Mark { at_m: mark_m, radius_m };
                let said = answer.said(&super::Form::Mark, terms);
                lines.push(format!("The mark that fits these {} drops: {said}.", at_m.len()));
            }
            if *lost > 0 {
                lines.push(format!(
                    "{lost} drops had not come to rest on known ground: theirs is where they were lost."
                ));
            }
            lines.extend(left(*left_out));
            lines
        }
    }
}

fn left(left_out: u32) -> Option<String> {
    (left_out > 0)
        .then(|| format!("{left_out} drops are left out: the piece did not leave the spar."))
}

fn count(counted: &Counted) -> String {
    let Counted { label, hits, unknown, of, draws, .. } = counted;
    let what = if *draws { "draws of what is in doubt" } else { "drops" };
    let mut text = format!("{label}: in {hits} of {of} {what}");
    if *unknown > 0 {
        text.push_str(&format!(", {unknown} more can't be told"));
    }
    for more in [bound(counted), elsewhere(counted)].into_iter().flatten() {
        text.push_str(&format!("; {more}"));
    }
    text.push('.');
    text
}

/// None of so many is a bound.
pub(super) fn bound(counted: &Counted) -> Option<String> {
    let known = counted.of.checked_sub(counted.unknown).filter(|known| *known > 0)?;
    let most = || format!("{} by counting alone", at_most(interval::high(0, known)));
    (counted.hits == 0).then(most)
}

/// Its share on the grounds that were drawn: the ground as told is another.
pub(super) fn elsewhere(counted: &Counted) -> Option<String> {
    let range = counted.over_grounds?;
    let (low, high) = (in_hundred(range.low), in_hundred(range.high));
    let range = if low == high { high } else { format!("{low} to {high}") };
    Some(format!("{range} in 100 on other grounds that fit the notes"))
}

/// Whether the two least are within each other's counting noise.
fn near(counted: &[Counted]) -> bool {
    let mut sorted: Vec<&Counted> = counted.iter().collect();
    sorted.sort_by(|a, b| a.share().total_cmp(&b.share()));
    let [least, next, ..] = sorted[..] else { return false };
    let told = |c: &Counted| c.of.saturating_sub(c.unknown);
    interval::high(least.hits, told(least)) >= interval::low(next.hits, told(next))
}

fn spread(measure: Measure, values: &[f64], draws: bool, terms: &Terms) -> String {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |p: f64| {
        let index = ((p * sorted.len() as f64).ceil() as usize).saturating_sub(1);
        sorted.get(index).map_or_else(String::new, |x| measure.shown(*x, terms.units))
    };
    if sorted.is_empty() {
        return "No drop tells.".to_owned();
    }
    let of = if draws { "draws of what is in doubt" } else { "drops" };
    format!(
        "Of {} {of} 1 in 10 stay under {}, half go past {}, 1 in 10 go past {}; the most is {}.",
        sorted.len(),
        at(0.1),
        at(0.5),
        at(0.9),
        at(1.0)
    )
}

/// What a score means, one sentence a line.
#[must_use]
pub fn scored(score: &Score, terms: &Terms) -> Vec<String> {
    let number = |x: f64| match score.rule {
        Rule::Options | Rule::Chance => decimals(x, 2),
        Rule::Range(measure) => measure.shown(x, terms.units),
        Rule::Mark => terms.units.distance(x),
    };
    let [value, could, nobody] = [score.value, score.could_know, score.nobody_could].map(number);
    let what = match score.rule {
        Rule::Options => "Brier's score over all of them, from 0, nearest, to 2 (Brier 1950)",
        Rule::Chance => "Brier's score over all of them, from 0, nearest, to 1 (Brier 1950)",
        Rule::Range(_) => {
            "the interval score over all of them, its width and ten times what lies outside, in the mean; \
             less is nearer (Winkler 1972)"
        }
        Rule::Mark => {
            "the score of a mark over all of them, its radius and five times what lies outside, in the \
             mean; less is nearer (ours)"
        }
    };
    let mut lines = vec![match score.beside {
        None if score.rule == Rule::Options => format!(
            "You were {} in 100 sure of what you held likeliest; that happened in {} in 100.",
            in_hundred(score.stated),
            in_hundred(score.share)
        ),
        None => format!(
            "You said {} in 100; it happened in {} in 100.",
            in_hundred(score.stated),
            in_hundred(score.share)
        ),
        Some([before, beyond]) => {
            let [before, within, beyond] = [before, score.share, beyond].map(in_hundred);
            let sides = match score.rule {
                Rule::Mark => {
                    ["outside it and nearer to the stump than your mark", "outside it and farther"]
                }
                _ => ["below it", "above it"],
            };
            format!(
                "Of 100 of them {within} lay within what you said would hold 80, {before} {}, {beyond} {}.",
                sides[0], sides[1]
            )
        }
    }];
    lines.push(format!(
        "{value}: {what}. Of that {nobody} nobody could know, because they differ; {could} is what your \
         answer was off by."
    ));
    lines
}

/// What answers over many lessons say, one sentence a line; each damaged line of the file is named.
#[must_use]
pub fn calibration(calibration: &Calibration, record: &Record) -> Vec<String> {
    let mut lines = vec![match calibration.answers {
        0 => "No answers are kept yet.".to_owned(),
        n => format!("{}.", answers(n)),
    }];
    match calibration.again {
        0 => {}
        1 => lines.push(
            "1 more is to a question whose drops you had seen: it is kept and counts for nothing here."
                .to_owned(),
        ),
        n => lines.push(format!(
            "{n} more are to questions whose drops you had seen: they are kept and count for nothing here."
        )),
    }
    for bin in &calibration.bins {
        lines.push(format!(
            "When you say {} in 100, it happens in {} in 100: {}, {} to {} in 100 by their \
             number alone (95 %, two-sided).",
            in_hundred(bin.stated),
            in_hundred(bin.happened),
            answers(bin.answers),
            in_hundred(bin.interval[0]),
            in_hundred(bin.interval[1])
        ));
    }
    for held in &calibration.held {
        lines.push(format!(
            "{} that are to hold 80 in 100 drops hold {}: {}, {} to {} in 100 by their number \
             alone (95 %, two-sided).",
            kind(held.kind),
            in_hundred(held.within),
            answers(held.answers),
            in_hundred(held.interval[0]),
            in_hundred(held.interval[1])
        ));
    }
    for (of, count, score, could_know) in &calibration.brier {
        lines.push(format!(
            "{}: Brier's score {} in the mean of {}, {} of it to be known.",
            kind(*of),
            decimals(*score, 2),
            answers(*count),
            decimals(*could_know, 2)
        ));
    }
    lines.extend(calibration.errs.iter().cloned());
    if !calibration.bins.is_empty() || !calibration.held.is_empty() {
        lines.push(
            "The drops of one lesson are alike, so answers are counted and not drops. The model has \
             not been compared with dropped logs: being near it is being near the model."
                .to_owned(),
        );
    }
    if !record.damaged.is_empty() {
        lines.push(match record.damaged.len() {
            1 => "1 line of the file can't be read. It stays where it is, and the others count:".to_owned(),
            n => format!("{n} lines of the file can't be read. They stay where they are, and the others count:"),
        });
        lines.extend(record.damaged.iter().map(ToString::to_string));
    }
    lines
}

fn answers(count: u32) -> String {
    if count == 1 { "1 answer".to_owned() } else { format!("{count} answers") }
}

/// What kind of answers, at the head of a sentence.
#[must_use]
pub fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Options => "Options",
        Kind::Chance => "Chances",
        Kind::Fewest => "Choices among cases",
        Kind::Distance => "Distances",
        Kind::Turn => "Turns",
        Kind::Force => "Pulls",
        Kind::Mark => "Marks",
    }
}
