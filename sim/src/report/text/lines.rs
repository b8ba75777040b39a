//! What the lines that hold a piece bear, in words.

use super::wrapped;
use crate::{
    forecast::result::{LineForecast, Percentiles},
    report::{units::Units, words},
};

/// The lines of one cut, of `drops` drops on the ground as told.
pub(super) fn lines(lines: &[LineForecast], drops: u32, units: Units) -> String {
    let mut out = "\n  What its lines bear (as springs; their hitches don't give)\n".to_owned();
    for line in lines {
        let name = words::name(&line.id);
        let mut say = |text: String, by: usize| out.push_str(&wrapped(&text, by));
        if line.tight == 0 {
            say(format!("    {name} ({}): tight in none of {drops}", line.kind), 8);
            continue;
        }
        let two = |p: &Percentiles, text: &dyn Fn(f64) -> String| match (p.p50, p.max) {
            (Some(half), Some(most)) => format!("{} in half, {} at most", text(half), text(most)),
            _ => "–".to_owned(),
        };
        let force = |n: f64| units.force(n);
        say(
            format!(
                "    {name} ({}, {}): above its working load of {} {}; in {} of {drops} as told; \
                 tight in {}",
                line.kind,
                line.rope,
                force(line.working_load_n),
                words::over_grounds(line.over_grounds.above_working),
                line.above_working,
                line.tight
            ),
            8,
        );
        say(
            format!(
                "        peak {}, and {} at most on any ground; rope or knot breaks at {}: {}, in {} \
                 as told",
                two(&line.peak_n, &force),
                force(line.over_grounds.peak_n),
                force(line.breaks_n),
                words::over_grounds(line.over_grounds.broken),
                line.broken
            ),
            8,
        );
        let way = |m: f64| units.distance(m);
        let mut swings = format!("        swings out {} from it", two(&line.swing_m, &way));
        if let Some(ran) = &line.ran_m {
            swings += &format!("; runs out of hands by {}", two(ran, &way));
        }
        say(swings, 8);
        if let Some(block) = &line.block_n {
            let above = line
                .block_above
                .map_or(String::new(), |n| format!("; above what it is to be loaded with in {n}"));
            say(format!("        on the block {}{above}", two(block, &force)), 8);
        }
        if let Some(spar) = &line.spar {
            let share = |share: f64| format!("{:.0} %", 100.0 * share);
            say(
                format!(
                    "        the spar, at its weakest, uses {} of what clear green wood bears in \
                     bending; by this reckoning it breaks in {}, may break in {} more",
                    two(&spar.strength_share, &share),
                    spar.breaks,
                    spar.may_break
                ),
                8,
            );
        }
    }
    out.push_str(&wrapped(
        "    Left out: give of spar, tree or stump, a brake that lets it run, what the rope lies \
         over, wear.",
        8,
    ));
    out
}
