//! Drops on the rough bank of 33°: what they come to and what they cost.
//!
//! `cargo run --release -p tumblewood-benches --example bank [DROPS] [FILE]`; with FILE, one line
//! a drop is written there, for comparing two versions of the law or the steps.

#![allow(clippy::print_stdout, reason = "a table is what it is for")]

use std::fmt::Write as _;

use tumblewood::{
    drop::{Ending, GroundLaw, Setup},
    soil::testing::{firm, soft, turf, wet},
};
use tumblewood_benches::{Fall, drop_one, lasted_s, letter, rollout_m, rough_bank, section};

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let drops = args.next().and_then(|text| text.parse().ok()).unwrap_or(60_u64);
    let file = args.next();
    let mut lines =
        String::from("ground,length_m,fall,drop,ending,turns,rollout_m,lasted_s,steps,rolled\n");
    println!(
        "ground length fall   | tumbled stayed  rest left | p50 m p90 m rolled | s/drop steps/s us/step drops/s  sim/cpu"
    );
    for (name, ground) in [("firm", firm()), ("turf", turf()), ("soft", soft()), ("wet", wet())] {
        let site = rough_bank(ground);
        let mut setup = Setup::new(&site, GroundLaw::Soil);
        setup.horizon_s = 60.0;
        for (length, fall) in [
            (1.8, Fall::Nose),
            (2.4, Fall::Nose),
            (3.6, Fall::Nose),
            (1.8, Fall::Across),
            (3.6, Fall::Across),
        ] {
            let piece = section(length);
            let begun = tumblewood_benches::thread_cpu_s().unwrap_or(0.0);
            let tracks: Vec<_> = (0..drops).map(|i| drop_one(&setup, &piece, fall, i)).collect();
            let cpu = tumblewood_benches::thread_cpu_s().unwrap_or(0.0) - begun;
            let n = drops as f64;
            let share =
                |f: &dyn Fn(usize) -> bool| (0..tracks.len()).filter(|i| f(*i)).count() as f64 / n;
            let mut out: Vec<f64> = tracks.iter().map(rollout_m).collect();
            let stayed = share(&|i| out[i] < 1.0);
            let tumbled = share(&|i| tracks[i].turns_end_over_end >= 0.5);
            let rest = share(&|i| tracks[i].ending == Ending::Rest);
            let left = share(&|i| tracks[i].ending == Ending::LeftTerrain);
            let lasted: f64 = tracks.iter().map(lasted_s).sum();
            let steps: f64 = tracks.iter().map(|t| f64::from(t.steps)).sum();
            let rolled = tracks.iter().map(|t| t.rolled_m / t.path_m.max(1e-9)).sum::<f64>() / n;
            for (i, t) in tracks.iter().enumerate() {
                let _ = writeln!(
                    lines,
                    "{name},{length},{},{i},{},{:.4},{:.4},{:.4},{},{:.4}",
                    fall.name(),
                    letter(t.ending),
                    t.turns_end_over_end,
                    rollout_m(t),
                    lasted_s(t),
                    t.steps,
                    t.rolled_m / t.path_m.max(1e-9),
                );
            }
            out.sort_by(f64::total_cmp);
            println!(
                "{name:<6} {length:<6} {:<6} | {tumbled:.3}   {stayed:.3}  {rest:.3} {left:.3} | {:5.1} {:5.1} {rolled:.3}  | {:5.2}  {:6.0} {:7.3} {:7.1} {:7.0}",
                fall.name(),
                out[out.len() / 2],
                out[out.len() * 9 / 10],
                lasted / n,
                steps / lasted,
                cpu * 1e6 / steps,
                n / cpu,
                lasted / cpu,
            );
        }
    }
    if let Some(file) = file {
        std::fs::write(file, lines)?;
    }
    Ok(())
}
