//! What a mill would have of a piece, in words.

use super::{columns, wrapped};
use crate::{
    forecast::result::{LogForecast, MillLog},
    report::units::{Units, decimals},
};

/// The logs, their scale, and what landings do to them.
pub(super) fn log(log: &LogForecast, units: Units) -> String {
    let mut out = "\n  The log\n".to_owned();
    if log.whole.is_empty() {
        out.push_str("    too short for any of the mill's lengths\n");
    } else {
        let head = ["", "small end in bark", "volume", "Doyle", "Scribner", "International ¼ in"];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        rows.extend(log.whole.iter().map(|log| scaled(log, units)));
        out.push_str(&columns(&rows, 4));
        out.push_str(&wrapped(
            "    Small end inside bark; volume by Smalian's rule; board feet before anything is \
             taken off for rot, sweep or crook.",
            4,
        ));
    }
    let number = |x: Option<f64>| x.map_or("–".to_owned(), |x| decimals(100.0 * x, 0));
    let share = &log.strength_share;
    out.push_str(&wrapped(
        &format!(
            "    Landing bends it, in hundredths of what green wood of its kind bears before it \
             breaks: half of {} drops over {}, 1 in 10 over {}, the most {}.",
            log.drops,
            number(share.p50),
            number(share.p90),
            number(share.max)
        ),
        4,
    ));
    let flag = match (log.breaks, log.may_break) {
        (0, 0) => "    No landing is near breaking it by bending.".to_owned(),
        (0, near) => format!("    A landing may break it: {near} come near its strength."),
        (n, near) => {
            let place = log.breaks_at_m.map_or(String::new(), |at_m| {
                format!(", half of them within {} of the butt", units.distance(at_m))
            });
            format!(
                "    A landing is likely to break it in {n} of {}{place}; {near} more come near its strength.",
                log.drops
            )
        }
    };
    out.push_str(&wrapped(&flag, 4));
    if log.struck_solid > 0 {
        let text = format!(
            "    {} struck something solid hard, which is not in these numbers.",
            log.struck_solid
        );
        out.push_str(&wrapped(&text, 4));
    }
    let left: Vec<String> = log
        .left
        .iter()
        .map(|left| {
            let lengths = match &left.lengths_m[..] {
                [] => "nothing".to_owned(),
                lengths => {
                    let lengths: Vec<String> = lengths.iter().map(|m| units.length(*m)).collect();
                    lengths.join(" and ")
                }
            };
            format!("{lengths} in {}", left.drops)
        })
        .collect();
    out.push_str(&wrapped(&format!("    Left for the mill: {}.", left.join(", ")), 4));
    out.push_str(&wrapped(
        "    Reckoned as a stiff beam against mean strengths of small clear pieces: single stems \
         differ by a third either way, knots and cracks weaken, and bending waves are left out.",
        4,
    ));
    out
}

fn scaled(log: &MillLog, units: Units) -> Vec<String> {
    let board = |feet: f64| format!("{} bd ft", decimals(feet, 0));
    vec![
        units.length(log.length_m),
        units.diameter(log.small_end_m),
        units.volume(log.volume_m3),
        board(log.doyle_bd_ft),
        board(log.scribner_bd_ft),
        board(log.international_bd_ft),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn regress_a_log_in_words() {
        let text = log(sample::forecast().cuts[0].log.as_ref().unwrap(), Units::Imperial);
        for line in [
            "8 ft",
            "50 bd ft",
            "half of 487 drops over 31, 1 in 10 over 84, the most 162",
            "likely to break it in 21 of 487, half of them within 4.3 ft of the butt",
            "Left for the mill: 8 ft in 466, nothing in 21.",
        ] {
            assert!(text.replace("\n    ", " ").contains(line), "{line}\n{text}");
        }
    }
}
