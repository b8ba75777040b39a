//! What a mill would have of a piece, counted over its drops.

use crate::{
    forecast::{
        count,
        result::{LogForecast, MillLeft, MillLog},
    },
    job::{CutReady, Log},
    mill::{buck, doyle_bd_ft, international_bd_ft, scribner_bd_ft, smalian_m3},
    outcome::Outcome,
};

/// A stress of this share of the modulus of rupture and more may break a single stem: two
/// coefficients of variation (16 %, Wood Handbook, from memory) under the mean.
const MAY_BREAK: f64 = 0.68;
/// A blow against something solid counts from this speed of the point that struck, m/s. Ours: a
/// fall of half a metre.
const HARD_BLOW_M_S: f64 = 3.0;

pub(super) fn of(log: &Log, cut: &CutReady, left: &[&Outcome]) -> LogForecast {
    let length_m = cut.section.piece.length_m();
    let (lengths_m, trim_m) = (&log.wanted.lengths_m, log.wanted.trim_m);
    let share = |outcome: &Outcome| outcome.bent.map_or(0.0, |b| b.stress_pa / log.rupture_pa);
    let count = |is: &dyn Fn(&Outcome) -> bool| left.iter().filter(|o| is(o)).count() as u32;
    let whole = buck(0.0, length_m, lengths_m, trim_m);
    let broken = left.iter().filter(|o| share(o) >= 1.0).filter_map(|o| o.bent);
    let breaks_at_m = count::percentiles(broken.map(|b| b.from_butt_m).collect()).p50;

    let mut kinds: Vec<MillLeft> = Vec::new();
    for outcome in left {
        let logs = match outcome.bent.filter(|_| share(outcome) >= 1.0) {
            None => whole.clone(),
            Some(bent) => {
                let mut logs = buck(0.0, bent.from_butt_m, lengths_m, trim_m);
                logs.extend(buck(bent.from_butt_m, length_m, lengths_m, trim_m));
                logs
            }
        };
        let mut lengths_m: Vec<f64> = logs.iter().map(|log| log.length_m).collect();
        lengths_m.sort_by(|a, b| b.total_cmp(a));
        match kinds.iter_mut().find(|kind| kind.lengths_m == lengths_m) {
            Some(kind) => kind.drops += 1,
            None => kinds.push(MillLeft { lengths_m, drops: 1 }),
        }
    }
    // Stable: of equals the one met first.
    kinds.sort_by_key(|kind| std::cmp::Reverse(kind.drops));
    LogForecast {
        whole: whole.iter().map(|cut| mill_log(log, cut.from_butt_m, cut.length_m)).collect(),
        drops: left.len() as u32,
        strength_share: count::percentiles(left.iter().map(|o| share(o)).collect()),
        breaks: count(&|o| share(o) >= 1.0),
        may_break: count(&|o| (MAY_BREAK..1.0).contains(&share(o))),
        breaks_at_m,
        struck_solid: count(&|o| o.struck_m_s >= HARD_BLOW_M_S),
        left: kinds,
    }
}

fn mill_log(log: &Log, from_butt_m: f64, length_m: f64) -> MillLog {
    let inside_m = |at_m| log.inside_bark * 2.0 * log.beam.radius_m(at_m);
    let (large_m, small_end_m) = (inside_m(from_butt_m), inside_m(from_butt_m + length_m));
    MillLog {
        from_butt_m,
        length_m,
        small_end_m,
        volume_m3: smalian_m3(small_end_m, large_m, length_m),
        doyle_bd_ft: doyle_bd_ft(small_end_m, length_m),
        scribner_bd_ft: scribner_bd_ft(small_end_m, length_m),
        international_bd_ft: international_bd_ft(small_end_m, length_m),
    }
}
