//! Ours against another engine on the firm bank of 33°: simulated seconds, first touch to rest or
//! horizon, per processor second of one thread, and drops a second beside it.
//!
//! Both run the same drops in turns; each number is the median of the rounds. The other engine's
//! log meets rigid ground and seldom stops, ours sinks and mostly does. What that flatters is said
//! under the table.

use tumblewood::drop::{GroundLaw, Setup};
use tumblewood_benches::{
    engine::{CASES, Engine, HORIZON_S, Tally, export, firm_bank, ours, touching},
    table::{Goal, figures, geometric_mean, median, not_run, remark, row},
};

const AREA: &str = "engine";
/// The other engine: a name, its settings, and the nodes of its ground per lattice cell of the
/// bumps. First its quickest that keeps a log's spin, on the coarsest ground; then the same on
/// ground that follows ours; then its quickest whatever it keeps.
const HOWS: [(&str, &str, usize); 3] =
    [("rk4", "rk4", 1), ("rk4, fine ground", "rk4", 2), ("implicitfast", "implicitfast", 1)];
/// What is divided by processor time: simulated time from first touch, drops, and that part of the
/// time in which the ground pushes on the log, which is what an engine is for.
type Way = (&'static str, fn(&Tally) -> f64);
const WAYS: [Way; 3] = [
    ("", Tally::pace),
    (", by drops", Tally::drops_per_s),
    (", by time in contact", Tally::touching_pace),
];
/// Drops of each case in a round.
const DROPS: u64 = 40;
/// Rounds: ours, theirs, ours, theirs.
const ROUNDS: u64 = 3;

fn main() {
    if let Err(why) = compare() {
        not_run(AREA, &why);
    }
}

fn compare() -> Result<(), String> {
    let site = firm_bank();
    let mut setup = Setup::new(&site, GroundLaw::Soil);
    setup.horizon_s = HORIZON_S;
    // One waiting process per ground, coarse and fine.
    let mut engines = match (start(1), start(2)) {
        (Ok(coarse), Ok(fine)) => vec![coarse, fine],
        (Err(why), _) | (_, Err(why)) => {
            not_run(AREA, &format!("the other engine: {why}"));
            vec![]
        }
    };
    if let Some(engine) = engines.first() {
        remark(AREA, &format!("{DROPS} drops a case, {ROUNDS} rounds in turns, {}", engine.name));
    }
    let mut ratios: [Vec<[f64; 3]>; HOWS.len()] = Default::default();
    for (k, case) in CASES.into_iter().enumerate() {
        let mut rounds: Vec<(Tally, Vec<Tally>)> = Vec::new();
        for _ in 0..ROUNDS {
            let a = ours(&setup, case, 0..DROPS);
            let mut b = Vec::new();
            for (_, how, fine) in HOWS {
                if let Some(engine) = engines.get_mut(fine - 1) {
                    b.push(engine.drops(how, k, 0..DROPS)?);
                }
            }
            rounds.push((a, b));
        }
        let name = format!("{} m {}", case.0, case.1.name());
        let touching_share = touching(&setup, case, 0..DROPS / 2);
        for (a, _) in &mut rounds {
            a.touching_s = touching_share * a.lasted_s;
        }
        tell(&format!("{name}: ours"), rounds.iter().map(|r| r.0));
        if engines.is_empty() {
            continue;
        }
        for (h, (how, _, _)) in HOWS.iter().enumerate() {
            tell(&format!("{name}: {how}"), rounds.iter().filter_map(|r| r.1.get(h).copied()));
            let ratio = |f: fn(&Tally) -> f64| {
                median(rounds.iter().filter_map(|(a, b)| Some(f(a) / f(b.get(h)?))).collect())
            };
            let all = WAYS.map(|(_, f)| ratio(f));
            for ((way, _), number) in WAYS.iter().zip(all) {
                row(AREA, &format!("{name}: ours / {how}{way}"), number, "×", Goal::None);
            }
            ratios[h].push(all);
        }
    }
    if !engines.is_empty() {
        for (h, (how, _, _)) in HOWS.iter().enumerate() {
            let mean =
                |k: usize| geometric_mean(&ratios[h].iter().map(|r| r[k]).collect::<Vec<_>>());
            for (k, (way, _)) in WAYS.iter().enumerate() {
                let goal = if h == 0 && k == 0 { Goal::AtLeast(3.0) } else { Goal::None };
                let what = format!("geometric mean, ours / {how}{way}");
                row(AREA, &what, mean(k), "×", goal);
            }
        }
        for text in FLATTERS {
            remark(AREA, text);
        }
    }
    Ok(())
}

fn start(fine: usize) -> Result<Engine, String> {
    let folder = std::env::temp_dir().join(format!("tumblewood-engine-{}", std::process::id()));
    export(&folder, DROPS, fine).map_err(|e| format!("{}: {e}", folder.display()))?;
    let engine = Engine::start(&folder);
    let _ = std::fs::remove_dir_all(&folder);
    engine
}

/// What the comparison flatters.
const FLATTERS: [&str; 4] = [
    "flatters theirs by time: its log never stops, and most of its time is free flight, which is cheap; ours lies in the soil",
    "flatters theirs: flat triangles, nodes 0.4 m apart, where ours has smooth bumps; \"fine ground\" has them at 0.2 m",
    "flatters ours by drops where ours stops early, theirs by drops where ours creeps on",
    "implicitfast keeps 12 % of a log's angular momentum over 3 s of free flight, rk4 all: only rk4 answers the same question",
];

fn tell(what: &str, rounds: impl Iterator<Item = Tally>) {
    let rounds: Vec<Tally> = rounds.collect();
    row(AREA, what, median(rounds.iter().map(Tally::pace).collect()), "sim s/CPU s", Goal::None);
    let Some(one) = rounds.first() else { return };
    remark(
        AREA,
        &format!(
            "{} drops/s of {} s each, {:.0} % of it touching; at rest {}, off the bank {}, out of time {}",
            figures(median(rounds.iter().map(Tally::drops_per_s).collect())),
            figures(one.lasted_s / one.drops as f64),
            100.0 * one.touching_s / one.lasted_s,
            one.endings[0],
            one.endings[1],
            one.endings[2],
        ),
    );
}
