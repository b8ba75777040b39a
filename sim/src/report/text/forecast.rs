//! A forecast as a page of text.

use super::{columns, wrapped};
use crate::{
    forecast::result::{
        CutForecast, Forecast, HangsOn, JobTarget, LooseForecast, Percentiles, TargetForecast,
        ThrownForecast,
    },
    report::{
        stamp::{self, Stamp},
        units::{Units, decimals},
        words,
    },
};

/// The forecast in plain words: for each cut what it reaches (range over the grounds first, then
/// the counts as told, counting noise last), how it goes and what the answer hangs on.
#[must_use]
pub fn forecast(forecast: &Forecast, date: &str, units: Units) -> String {
    let stamp = Stamp {
        scene: forecast.scene.clone(),
        scene_hash: forecast.scene_hash.clone(),
        law: forecast.law.clone(),
        seed: forecast.seed,
        date: date.to_owned(),
    };
    let mut out = format!("{}\n\n{}\n", stamp::NOT_COMPARED, stamp.line());
    let grounds = forecast.cuts.iter().map(|c| c.grounds.len()).max().unwrap_or(0);
    out.push_str(&wrapped(
        &format!(
            "{} drops a cut on the ground as you told it, and drops on {} drawn \
             from what your notes leave open.",
            forecast.drops,
            if grounds == 1 { "1 ground".to_owned() } else { format!("{grounds} grounds") }
        ),
        0,
    ));
    if forecast.partial {
        out.push_str("INTERRUPTED: counts are of the drops done so far.\n");
    }
    for cut in &forecast.cuts {
        out.push('\n');
        out.push_str(&one_cut(cut, forecast.confidence, units));
    }
    if !forecast.job.states.is_empty() {
        out.push('\n');
        out.push_str(&super::states::tree_states(&forecast.job.states, units));
    }
    if forecast.cuts.len() > 1 && !forecast.job.targets.is_empty() {
        out.push_str("\nThe whole job: any of its cuts, by its piece or by what that sets going, all on one ground\n");
        for target in &forecast.job.targets {
            let line = format!("  {}", job_target(target, forecast.confidence));
            out.push_str(&wrapped(&line, 6));
        }
    }
    out.push('\n');
    out.push_str(&wrapped(stamp::PLANNING_AID, 0));
    out.push_str("No one goes below until what lies on the bank is secured.\n");
    out
}

/// One target over the whole job, in a sentence without a full stop.
#[must_use]
pub fn job_target(target: &JobTarget, confidence: f64) -> String {
    let told = if target.share <= 0.0 {
        format!("none on the ground as you told it, {}", words::at_most(target.high))
    } else {
        format!(
            "{} in 100 jobs on the ground as you told it, {} to {}",
            words::in_hundred(target.share),
            words::in_hundred(target.low),
            words::in_hundred(target.high)
        )
    };
    format!(
        "{}: {}; {told} by counting alone ({:.0} %, two-sided)",
        words::name(&target.id),
        words::over_grounds(target.over_grounds),
        100.0 * confidence
    )
}

/// What moves the answer most, a sentence each, at most five.
#[must_use]
pub fn hangs_on(cut: &CutForecast) -> Vec<String> {
    let moves = |hang: &&HangsOn| (hang.share_high - hang.share_low).abs() >= 0.005;
    let words = |hang: &HangsOn| {
        format!(
            "{}: {} in 100 reach {} where it is low, {} where it is high",
            words::name(&hang.input),
            words::in_hundred(hang.share_low),
            words::name(&hang.target),
            words::in_hundred(hang.share_high)
        )
    };
    cut.hangs_on.iter().filter(moves).take(5).map(words).collect()
}

fn one_cut(cut: &CutForecast, confidence: f64, units: Units) -> String {
    let drops = cut.drops();
    let piece = &cut.piece;
    let mut out = format!(
        "Cut {}: {} long, {} to {} thick, {}, its butt {} up\n",
        words::name(&cut.id),
        units.length(piece.length_m),
        units.diameter(piece.butt_diameter_m),
        units.diameter(piece.top_diameter_m),
        units.mass(piece.mass_kg),
        units.distance(piece.from_height_m),
    );
    if cut.sat_back > 0 {
        out.push_str(&wrapped(
            &format!(
                "  Sits back in {} of {drops}: it does not leave without more pull, push or wedge.",
                cut.sat_back
            ),
            4,
        ));
    }
    if let Some(share) = cut.lets_go_early {
        let text = format!(
            "  The hinge stands in hollow wood: {} in 100 of its width are gone, and in as many drops \
             it is let break early, before it can steer (ours).",
            words::in_hundred(share)
        );
        out.push_str(&wrapped(&text, 4));
    }
    out.push_str("\n  What it reaches, by any mode\n");
    if cut.targets.is_empty() {
        out.push_str("    no target is named in the scene\n");
    }
    for target in &cut.targets {
        out.push_str(&one_target(target, drops, confidence, units));
    }
    for loose in &cut.loose {
        out.push_str(&set_going(loose, cut, confidence, units));
    }
    out.push_str(&how_it_goes(cut, drops, units));
    if !cut.lines.is_empty() {
        out.push_str(&super::lines::lines(&cut.lines, drops, units));
    }
    if let Some(thrown) = &cut.thrown {
        out.push_str(&thrown_soil(thrown, units));
    }
    if let Some(log) = &cut.log {
        out.push_str(&super::log::log(log, units));
    }
    out.push_str(&assumed(cut));
    let hangs = hangs_on(cut);
    if !hangs.is_empty() {
        out.push_str("\n  What the answer hangs on\n");
        for hang in hangs {
            out.push_str(&wrapped(&format!("    {hang}"), 8));
        }
    }
    out
}

/// What it does with something that lies loose, apart from the piece.
fn set_going(loose: &LooseForecast, cut: &CutForecast, confidence: f64, units: Units) -> String {
    let drops = cut.drops();
    let left = drops - cut.sat_back;
    let how = if loose.held { "is held" } else { "lies loose" };
    let mut out = format!("\n  What it does with {}, which {how}\n", words::name(&loose.id));
    let mut text = format!("    set going in {} of {drops} drops", loose.set_going);
    if let Percentiles { p50: Some(half), max: Some(most), .. } = loose.moved_m {
        text.push_str(&format!(
            ", half of those by more than {}, at most {}",
            units.distance(half),
            units.distance(most)
        ));
    }
    let lost = loose.unfinished.left_terrain + loose.unfinished.out_of_time;
    if lost > 0 {
        text.push_str(&format!("; in {lost} it did not come to rest on known ground"));
    }
    if loose.there < left {
        text.push_str(&format!("; it lay there in {} of {left} that left", loose.there));
    }
    out.push_str(&wrapped(&text, 8));
    let touched = |t: &&TargetForecast| t.reached + t.unknown > 0 || t.over_grounds.high > 0.0;
    let reached: Vec<&TargetForecast> = loose.targets.iter().filter(touched).collect();
    for target in &reached {
        out.push_str(&one_target(target, drops, confidence, units));
    }
    if reached.is_empty() && !loose.targets.is_empty() {
        let most = loose.targets.iter().map(|t| t.high).fold(0.0, f64::max);
        let text = format!(
            "    it reaches no target in these drops, {} by counting alone ({:.0} %, two-sided)",
            words::at_most(most),
            100.0 * confidence
        );
        out.push_str(&wrapped(&text, 8));
    }
    out
}

/// How far clods can go, apart from the piece.
fn thrown_soil(thrown: &ThrownForecast, units: Units) -> String {
    let mut out = "\n  Thrown soil, apart from the piece (bounds, not counts)\n".to_owned();
    out.push_str(&wrapped(
        &format!(
            "    Clods no faster than what throws them end within {} of where it digs in, down the \
             bank; splashes may go farther. One touch moves up to {}, mats and litter with it.",
            units.distance(thrown.radius_m),
            units.volume(thrown.dug_m3)
        ),
        4,
    ));
    for target in &thrown.targets {
        let name = words::name(&target.id);
        let text = match target.short_m {
            None => format!("    {name}: none comes so high, by this reckoning"),
            Some(short_m) if short_m <= 0.0 => {
                format!("    {name}: within reach of clods on some grounds")
            }
            Some(short_m) => {
                format!("    {name}: the outermost end {} short of it", units.distance(short_m))
            }
        };
        out.push_str(&wrapped(&text, 8));
    }
    out
}

/// What had to be assumed on drawn grounds, and on how many of them.
fn assumed(cut: &CutForecast) -> String {
    let mut rows = std::collections::BTreeMap::<&str, u32>::new();
    for warning in cut.grounds.iter().flat_map(|g| &g.warnings) {
        *rows.entry(warning).or_default() += 1;
    }
    if rows.is_empty() {
        return String::new();
    }
    let of = cut.grounds.len();
    let lines = rows.iter().map(|(text, n)| wrapped(&format!("    on {n} of {of}: {text}"), 8));
    format!("\n  Warnings of the drawn grounds\n{}", lines.collect::<String>())
}

fn one_target(target: &TargetForecast, drops: u32, confidence: f64, units: Units) -> String {
    let mut text = format!(
        "    {}: {}; {}",
        words::name(&target.id),
        words::over_grounds(target.over_grounds),
        words::as_told(target, drops)
    );
    if let Some(Percentiles { p50: Some(half), max: Some(most), .. }) = target.energy_j {
        text.push_str(&format!(
            "; half of those with over {}, at most {}",
            units.energy(half),
            units.energy(most)
        ));
    }
    if let Some(harm) = target.harm {
        text.push_str(&format!("; the hardest {harm}"));
    }
    if let Some(miss) = target.nearest_miss_m {
        text.push_str(&format!("; the nearest miss {}", units.distance(miss)));
    }
    let mut out = wrapped(&text, 8);
    out.push_str(&wrapped(&format!("        {}", words::counting_noise(target, confidence)), 8));
    out
}

fn how_it_goes(cut: &CutForecast, drops: u32, units: Units) -> String {
    let m = &cut.modes;
    let mut out = format!("\n  How it goes ({drops} drops on the ground as you told it)\n");
    out.push_str(&columns(
        &[
            ["", "stayed", "slid", "rolled", "tumbled"].map(String::from).to_vec(),
            [
                "drops".to_owned(),
                m.stayed.to_string(),
                m.slid.to_string(),
                m.rolled.to_string(),
                m.tumbled.to_string(),
            ]
            .to_vec(),
            [
                "of the path, in 100".to_owned(),
                String::new(),
                words::in_hundred(cut.parts.slid),
                words::in_hundred(cut.parts.rolled),
                words::in_hundred(cut.parts.tumbled),
            ]
            .to_vec(),
        ],
        4,
    ));
    out.push('\n');
    let or_at_least = |sure: Option<f64>, least: Option<f64>| match (sure, least) {
        (Some(x), _) => units.distance(x),
        (None, Some(x)) => format!("at least {}", units.distance(x)),
        (None, None) => "–".to_owned(),
    };
    let number = |x: Option<f64>| x.map_or("–".to_owned(), |x| decimals(x, 1));
    let height = |x: Option<f64>| x.map_or("–".to_owned(), |x| units.distance(x));
    let (sure, least) = (&cut.rollout_m, &cut.rollout_at_least_m);
    out.push_str(&columns(
        &[
            ["", "1 in 10 stay under", "half go past", "1 in 10 go past", "the most"]
                .map(String::from)
                .to_vec(),
            vec![
                "rollout".to_owned(),
                or_at_least(sure.p10, least.p10),
                or_at_least(sure.p50, least.p50),
                or_at_least(sure.p90, least.p90),
                or_at_least(sure.max, least.max),
            ],
            vec![
                "turns end over end".to_owned(),
                String::new(),
                number(cut.turns.p50),
                number(cut.turns.p90),
                number(cut.turns.max),
            ],
            vec![
                "height over the ground".to_owned(),
                String::new(),
                height(cut.height_over_ground_m.p50),
                height(cut.height_over_ground_m.p90),
                height(cut.height_over_ground_m.max),
            ],
        ],
        4,
    ));
    let unfinished = cut.unfinished.left_terrain + cut.unfinished.out_of_time;
    if unfinished > 0 {
        out.push_str(&wrapped(
            &format!(
                "    Not at rest: {unfinished} ({} left the known terrain, {} ran out of time); \
                 their distances are “at least”.",
                cut.unfinished.left_terrain, cut.unfinished.out_of_time
            ),
            8,
        ));
    }
    let rests = &cut.rests_on;
    let kinds = [
        (rests.ground, "on the ground"),
        (rests.structure, "on something solid"),
        (rests.tree, "on a tree"),
        (rests.line, "on a line"),
    ];
    let holds = [
        (cut.hold.firm, "firmly"),
        (cut.hold.marginal, "barely (it would go on ground less than 5° steeper)"),
        (cut.hold.by_aid_only, "only by what it lies against"),
    ];
    for (lead, counts) in [("Comes to rest", &kinds[..]), ("Lies there", &holds[..])] {
        let said: Vec<String> =
            counts.iter().filter(|(n, _)| *n > 0).map(|(n, word)| format!("{n} {word}")).collect();
        if !said.is_empty() {
            out.push_str(&wrapped(&format!("    {lead}: {}.", said.join(", ")), 8));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn regress_a_forecast_in_words() {
        let text = forecast(&sample::forecast(), "2026-11-25", Units::Imperial);
        for line in [
            "The model has not been compared with dropped logs.",
            "    boathouse: between 0 and 31 in 100 over other grounds that fit your notes; 7 of 500",
            "    keep beech: none in any drop over other grounds that fit your notes; 0 of 500",
            "        at most 8 in 1000 by counting alone (95 %, two-sided)",
            "at least 203 ft",
            "wetness: 2 in 100 reach boathouse where it is low, 31 where it is high",
            "Not at rest: 7",
            "Clods no faster than what throws them end within 47 ft of where it digs in",
            "climber: the outermost end 10 ft short of it",
        ] {
            assert!(text.contains(line), "{line}\n{text}");
        }
        assert!(text.lines().all(|l| l.chars().count() <= super::super::WIDTH), "{text}");
        assert!(!text.to_lowercase().contains(concat!("sa", "fe")));
        // Counting noise never stands without the range over grounds before it.
        let range = "over other grounds that fit your notes;";
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let noise: Vec<&str> = flat.split("by counting alone").collect();
        assert!(noise.len() > 2, "{text}");
        for before in &noise[..noise.len() - 1] {
            assert!(before.contains(range), "{before}");
        }
    }
}
