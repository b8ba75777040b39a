//! The same bank as grids of 129², 513² and 2049² nodes: a drop must cost the same.
//!
//! Drops are chaotic, so that a rounding of the heights sends them elsewhere; compared is what a
//! step costs, with the cost of a simulated second beside it.

use tumblewood::{
    drop::{GroundLaw, Setup},
    ground::Ground,
    soil::testing::{bank_of_cells, turf},
};
use tumblewood_benches::{
    Fall, ROUGHNESS_M, SLOPE_RAD, cpu_s, drop_one, lasted_s, section,
    table::{Goal, median, row},
};

const AREA: &str = "grid";
const DROPS: u64 = 16;
const ROUNDS: usize = 3;
/// Nodes along each side of the 400 m.
const NODES: [u32; 3] = [129, 513, 2049];

fn main() {
    let ground = Ground { roughness_m: ROUGHNESS_M, ..turf() };
    let sites = NODES.map(|n| bank_of_cells(SLOPE_RAD, ground, 400.0 / f64::from(n - 1)));
    let setups = sites.each_ref().map(|site| {
        let mut setup = Setup::new(site, GroundLaw::Soil);
        setup.horizon_s = 60.0;
        setup
    });
    let piece = section(1.8);
    // Per round and grid: µs a step, ms a simulated second.
    let mut rounds: Vec<[[f64; 2]; 3]> = Vec::new();
    for _ in 0..ROUNDS {
        rounds.push(setups.each_ref().map(|setup| {
            let begun = cpu_s();
            let (mut steps, mut lasted) = (0.0, 0.0);
            for index in 0..DROPS {
                let track = drop_one(setup, &piece, Fall::Across, index);
                steps += f64::from(track.steps);
                lasted += lasted_s(&track);
            }
            let cpu = cpu_s() - begun;
            [cpu * 1e6 / steps, cpu * 1e3 / lasted]
        }));
    }
    let of = |grid: usize, what: usize| median(rounds.iter().map(|r| r[grid][what]).collect());
    row(AREA, "129²: a step", of(0, 0), "µs", Goal::None);
    for (k, n) in NODES.iter().enumerate().skip(1) {
        let ratio = |what: usize| median(rounds.iter().map(|r| r[k][what] / r[0][what]).collect());
        row(AREA, &format!("{n}² / 129²: a step"), ratio(0), "×", Goal::AtMost(1.1));
        row(AREA, &format!("{n}² / 129²: a simulated second"), ratio(1), "×", Goal::None);
    }
}
