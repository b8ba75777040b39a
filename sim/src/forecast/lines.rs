//! What the lines that hold a piece bear, counted.

use crate::{
    forecast::{
        count::percentiles,
        result::{Interval, LineForecast, LineOverGrounds, SparForecast},
    },
    job::CutReady,
    outcome::{LineOutcome, Outcome},
};

/// The spar's wood may be weaker than its species' by this share (as [`crate::felling`] draws it:
/// the 16 % of the Wood Handbook as a coefficient of variation, from memory).
const WEAKER_SHARE: f64 = 0.28;

/// One entry a line of the cut; `grounds` holds the drops of each drawn ground.
pub(super) fn of(
    cut: &CutReady,
    left: &[&Outcome],
    grounds: &[Vec<&Outcome>],
) -> Vec<LineForecast> {
    let one = |(k, tied): (usize, &crate::job::TiedReady)| {
        let all: Vec<&LineOutcome> = left.iter().filter_map(|o| o.lines.get(k)).collect();
        let tight: Vec<&LineOutcome> =
            all.iter().copied().filter(|line| line.load.tight_s.is_some()).collect();
        let of = |f: &dyn Fn(&LineOutcome) -> f64| {
            percentiles(tight.iter().map(|line| f(line)).collect())
        };
        let spar = tight.iter().any(|line| line.spar_share.is_some()).then(|| {
            let shares = || tight.iter().filter_map(|line| line.spar_share);
            let past = |least: f64| shares().filter(|share| *share > least).count() as u32;
            let breaks = past(1.0);
            SparForecast {
                strength_share: percentiles(shares().collect()),
                breaks,
                may_break: past(1.0 - WEAKER_SHARE) - breaks,
            }
        });
        let over = |f: &dyn Fn(&LineOutcome) -> bool| {
            Interval::of(grounds.iter().filter(|drops| !drops.is_empty()).map(|drops| {
                let lines = drops.iter().filter_map(|o| o.lines.get(k));
                lines.filter(|line| f(line)).count() as f64 / drops.len() as f64
            }))
        };
        let peaks = grounds.iter().flatten().filter_map(|o| Some(o.lines.get(k)?.load.peak_n));
        LineForecast {
            id: tied.id.clone(),
            kind: tied.kind.words(),
            rope: tied.rope.clone(),
            working_load_n: tied.working_n,
            breaks_n: tied.tether.breaks_n,
            tight: tight.len() as u32,
            peak_n: of(&|line| line.load.peak_n),
            above_working: count(&tight, LineOutcome::is_above_working),
            broken: count(&tight, LineOutcome::is_broken),
            over_grounds: LineOverGrounds {
                above_working: over(&LineOutcome::is_above_working),
                broken: over(&LineOutcome::is_broken),
                peak_n: peaks.fold(0.0, f64::max),
            },
            ran_m: (tied.tether.runs_n.is_finite()).then(|| of(&|line| line.load.ran_m)),
            swing_m: of(&|line| line.load.swing_m),
            block_n: tied.tether.tail.map(|_| of(&|line| line.load.hitch_n.length())),
            block_above: tied
                .block_working_n
                .map(|most_n| count(&tight, |line| line.load.hitch_n.length() > most_n)),
            spar,
        }
    };
    cut.tied.iter().enumerate().map(one).collect()
}

fn count(lines: &[&LineOutcome], f: impl Fn(&LineOutcome) -> bool) -> u32 {
    lines.iter().filter(|line| f(line)).count() as u32
}
