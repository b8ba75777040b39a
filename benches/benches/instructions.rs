//! Instructions of a fixed set of drops, counted by valgrind: the same on a busy machine.
//!
//! The bench runs itself under callgrind twice, with few drops and with more; what the added drops
//! took is theirs alone.

use std::process::Command;

use tumblewood::drop::{GroundLaw, Setup};
use tumblewood_benches::{
    drop_one,
    engine::{CASES, HORIZON_S, firm_bank},
    section,
    table::{Goal, not_run, row},
};

const AREA: &str = "instructions";
/// Said to the child, with the number of drops of each case.
const FIXED: &str = "fixed-drops";

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let asked = args.iter().position(|a| a == FIXED).and_then(|at| args.get(at + 1)?.parse().ok());
    if let Some(drops) = asked {
        let steps = fixed(drops);
        // For the parent, which has no other way to know.
        eprintln!("steps {steps}");
    } else if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

/// Drops 0..n of each case; their steps.
fn fixed(drops: u64) -> u64 {
    let site = firm_bank();
    let mut setup = Setup::new(&site, GroundLaw::Soil);
    setup.horizon_s = HORIZON_S;
    let mut steps = 0;
    for (length_m, fall) in CASES {
        let piece = section(length_m);
        for index in 0..drops {
            steps += u64::from(drop_one(&setup, &piece, fall, index).steps);
        }
    }
    steps
}

fn measure() -> Result<(), String> {
    let (few, more) = (counted(1)?, counted(4)?);
    let (instructions, steps) = (more[0] - few[0], more[1] - few[1]);
    let drops = 3.0 * CASES.len() as f64;
    row(AREA, "a drop, mean of 12", instructions / drops * 1e-6, "million", Goal::None);
    row(AREA, "a step, over the same", instructions / steps, "", Goal::None);
    row(AREA, "steps of a drop", steps / drops, "", Goal::None);
    Ok(())
}

/// Instructions and steps of the fixed set.
fn counted(drops: u64) -> Result<[f64; 2], String> {
    let bench = std::env::current_exe().map_err(|e| e.to_string())?;
    let out = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(bench)
        .args([FIXED, &drops.to_string()])
        .output()
        .map_err(|e| format!("valgrind: {e}"))?;
    let said = String::from_utf8_lossy(&out.stderr);
    let number = |after: &str| -> Option<f64> {
        let tail = said.rsplit_once(after)?.1;
        tail.split_whitespace().next()?.parse().ok()
    };
    match (number("Collected :"), number("steps ")) {
        (Some(instructions), Some(steps)) => Ok([instructions, steps]),
        _ => Err(format!("valgrind counted nothing: {said}")),
    }
}
