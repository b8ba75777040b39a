//! Matches the world: the same logs on the same rigid hillside in another engine, MuJoCo.
//!
//! `tests/engines/hillside.csv` holds initial states and what MuJoCo made of them; here both of our
//! grounds start from the same states: rapier's rigid one, and the soil law where soil is so hard
//! that nothing sinks in. Equivalence is two one-sided tests at 5 % each: the 90 % interval of the
//! mean difference, drop by drop of the same start, lies within the margin stated. Each
//! case is the end of that interval that lies furthest off. Margins: a twentieth for logs that roll
//! across the bank, whose paths are smooth; a tenth for any attitude, about what pacing out a
//! distance is good for. Margins, and how hard the soil is, were settled after a first look at the
//! drops: tests/engines/README.md says what was seen and is not compared.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::{
    f64::consts::TAU,
    fs,
    sync::{Arc, OnceLock},
};

use glam::{DQuat, DVec2, DVec3};
use rayon::prelude::*;
use serde_json::Value;
use tumblewood::{
    drop::{GroundLaw, Setup, drop},
    ground::{Ground, Strength},
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::Site,
    soil::testing::{bank, firm, log},
    terrain::{Grid, Terrain},
    tree::Piece,
};
use tumblewood_tests::{
    proof::{bearing_all, dragged, is_long},
    root,
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

const MUJOCO: &str = "MuJoCo 4.0.0: rigid contact, elliptic cone, a damped spring of 4 ms that gives \
                      2 % of the speed back; tests/engines/README.md";
/// Where all drops begin, m.
const START_X_M: f64 = -150.0;
/// Nodes of the terrain, which rapier's triangles stand on, m.
const CELL_M: f64 = 0.5;
/// Soil so strong that a log at rest sinks by micrometres, Pa: its side bears 8 MPa.
const HARD_PA: f64 = 1.6e6;
/// Quantile of Student's t for a one-sided 5 % with 15 degrees of freedom, the fewest here.
const T_OF_5_PERCENT: f64 = 1.753;
/// Moments of `hillside.json`.
const MOMENTS_S: [f64; 5] = [0.6, 1.0, 4.0, 6.0, 10.0];

/// Where a log is and how fast it goes at each of [`MOMENTS_S`]: x, y (m), speed (m/s).
type Seen = [[f64; 3]; 5];

/// One drop of the other engine.
struct Theirs {
    piece: Piece,
    start: Motion,
    touched_s: f64,
    seen: Seen,
}

/// A site of one ground, and the drops on it.
struct Case {
    site: Site,
    drops: Vec<Theirs>,
}

fn json() -> &'static Value {
    static JSON: OnceLock<Value> = OnceLock::new();
    JSON.get_or_init(|| {
        let text = fs::read_to_string(root().join("tests/engines/hillside.json")).expect("there");
        serde_json::from_str(&text).expect("JSON")
    })
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// One of the grounds of `hillside.json` with the first of its drops, or all in long runs.
fn case(name: &str, drops: usize) -> Case {
    let scene = json();
    let moments: Vec<f64> =
        scene["sample_s"].as_array().expect("times").iter().map(number).collect();
    assert_eq!(moments, MOMENTS_S);
    let text = fs::read_to_string(root().join("tests/engines/hillside.csv")).expect("there");
    let rows = text.lines().filter_map(|line| line.strip_prefix(&format!("{name},")));
    let drops = rows.take(if is_long() { usize::MAX } else { drops }).map(theirs).collect();
    let ground = scene["grounds"].as_array().expect("grounds").iter().find(|g| g["name"] == name);
    Case { site: site(ground.expect("this ground")["bumps"] == true), drops }
}

/// A row of `hillside.csv` after its ground: drop, length, diameter, state 13, touch, 4 a moment.
fn theirs(row: &str) -> Theirs {
    let cells: Vec<f64> = row.split(',').map(|cell| cell.parse().expect("a number")).collect();
    let [_, length_m, diameter_m] = cells[..3] else { panic!("{row}") };
    let vector = |from: usize| DVec3::from_slice(&cells[from..from + 3]);
    let start = Motion {
        centre_m: vector(3),
        attitude: DQuat::from_xyzw(cells[7], cells[8], cells[9], cells[6]).normalize(),
        velocity_m_s: vector(10),
        spin_rad_s: vector(13),
    };
    let seen = std::array::from_fn(|k| std::array::from_fn(|i| cells[17 + 4 * k + i]));
    // What wood bears is not asked for.
    let piece = bearing_all(&log(length_m, diameter_m), 1e9);
    Theirs { piece, start, touched_s: cells[16], seen }
}

/// The hillside: a plane or bumps that a log is long to, of soil as hard as pavement.
fn site(bumpy: bool) -> Site {
    let scene = json();
    let fall = number(&scene["slope_deg"]).to_radians().tan();
    let waves: Vec<[f64; 4]> = scene["bumps"]
        .as_array()
        .expect("waves")
        .iter()
        .map(|wave| std::array::from_fn(|i| number(&wave[i])))
        .collect();
    let height = |x: f64, y: f64| {
        let bumps = waves
            .iter()
            .map(|[a, wave, d, p]| a * (TAU * (x * d.cos() + y * d.sin()) / wave + p).sin());
        -x * fall + if bumpy { bumps.sum() } else { 0.0 }
    };
    let low = DVec2::new(-170.0, -120.0);
    let [nx, ny] = [(290.0 / CELL_M) as usize + 1, (240.0 / CELL_M) as usize + 1];
    let at = |k: usize| low + CELL_M * DVec2::new((k % nx) as f64, (k / nx) as f64);
    let heights_m = (0..nx * ny).map(|k| height(at(k).x, at(k).y) as f32).collect();
    let grid = Grid { origin_m: low, cell_m: CELL_M, nx, ny, heights_m };
    Site { terrain: Arc::new(Terrain::from(grid)), ..bank(0.0, hard(number(&scene["friction"]))) }
}

/// The soil law at its hard end: nothing given back, no inertial term, no top layer, no direction.
fn hard(friction: f64) -> Ground {
    Ground {
        soil: Strength::Cohesive { shear_strength_pa: HARD_PA },
        friction,
        restitution: 0.0,
        inertial_factor: 0.0,
        sideways_share: 1.0,
        ..firm()
    }
}

/// The same drops on one of our grounds, followed for a while: first touch, and what was seen.
fn ours(case: &Case, law: GroundLaw, until_s: f64) -> Vec<(f64, Seen)> {
    let setup = Setup { horizon_s: until_s + 0.01, ..Setup::new(&case.site, law) };
    let one = |drop_of: &Theirs| {
        let launch = Launch { motion: drop_of.start, time_s: 0.0 };
        let track = drop(&setup, &drop_of.piece, &launch, Key::root(1), 0.01);
        let at = |k: usize| {
            let m = track.samples[k.min(track.samples.len() - 1)].motion;
            [m.centre_m.x, m.centre_m.y, m.velocity_m_s.length()]
        };
        let seen = MOMENTS_S.map(|t| {
            let k = track.samples.partition_point(|s| s.time_s < t);
            let (Some(a), Some(b)) = (track.samples.get(k - 1), track.samples.get(k)) else {
                // At rest it stays where it ended; later moments of short runs are not looked at.
                return at(k);
            };
            let share = (t - a.time_s) / (b.time_s - a.time_s);
            std::array::from_fn(|i| at(k - 1)[i] + share * (at(k)[i] - at(k - 1)[i]))
        });
        (track.touches.first().map_or(f64::INFINITY, |t| t.time_s), seen)
    };
    case.drops.par_iter().map(one).collect()
}

/// Both sides at moment `k`, by drop.
fn pairs(case: &Case, ours: &[(f64, Seen)], k: usize) -> Vec<([f64; 3], [f64; 3])> {
    ours.iter().zip(&case.drops).map(|((_, o), t)| (o[k], t.seen[k])).collect()
}

/// Adds the mean way down the bank and the mean speed at the moments `from..`, as the furthest end
/// of the 90 % interval of the difference in percent of theirs.
fn equivalent(
    check: &mut Check,
    name: &str,
    case: &Case,
    ours: &[(f64, Seen)],
    moments: std::ops::Range<usize>,
    margin_percent: f64,
) {
    for k in moments {
        for (what, i, start) in [("way", 0, START_X_M), ("speed", 2, 0.0)] {
            let pairs = pairs(case, ours, k);
            let n = pairs.len() as f64;
            let theirs = pairs.iter().map(|(_, t)| t[i] - start).sum::<f64>() / n;
            let mean = pairs.iter().map(|(o, t)| o[i] - t[i]).sum::<f64>() / n;
            let square = pairs.iter().map(|(o, t)| (o[i] - t[i] - mean).powi(2)).sum::<f64>();
            let half = T_OF_5_PERCENT * (square / (n - 1.0) / n).sqrt();
            let [mean, half] = [mean, half].map(|x| 100.0 * x / theirs);
            let furthest = mean + half.copysign(mean);
            println!(
                "{name}, {what} at {} s: {mean:+.1} ± {half:.1} % of {theirs:.1}",
                MOMENTS_S[k]
            );
            let case = format!("{name}, {what} at {} s", MOMENTS_S[k]);
            check.near(&case, "%", furthest, 0.0, By(margin_percent));
        }
    }
}

/// The distance (m) that nine drops in ten are closer together than at moment `k`.
fn nine_in_ten_m(case: &Case, ours: &[(f64, Seen)], k: usize) -> f64 {
    let mut gaps: Vec<f64> =
        pairs(case, ours, k).iter().map(|(o, t)| (o[0] - t[0]).hypot(o[1] - t[1])).collect();
    gaps.sort_by(f64::total_cmp);
    gaps[(gaps.len() * 9).div_ceil(10) - 1]
}

/// Drop by drop: our steps of 2 ms against 1 ms for the touch; for the place, a tenth of the 3 m
/// that a log has gone by then.
#[test]
fn val_rigid_ground_in_the_first_second() {
    let mut check = Check::new(
        Table::World,
        "val_engine::val_rigid_ground_in_the_first_second",
        "rigid ground (--ground rigid), drop by drop, any attitude: when a log touches (half of \
         them within), and where nine in ten are a little after",
        MUJOCO,
    );
    for (name, drops, until) in [("across", 16, 2), ("plane", 16, 2), ("bumpy", 32, 1)] {
        let case = case(name, drops);
        let ours = ours(&case, GroundLaw::Rigid, 1.0);
        let mut late: Vec<f64> =
            ours.iter().zip(&case.drops).map(|((o, _), t)| (o - t.touched_s).abs()).collect();
        late.sort_by(f64::total_cmp);
        check.near(&format!("{name}, touch"), "ms", 1e3 * late[late.len() / 2], 0.0, By(3.0));
        for (k, at_s) in MOMENTS_S.iter().enumerate().take(until) {
            let gap = nine_in_ten_m(&case, &ours, k);
            check.near(&format!("{name}, place at {at_s} s"), "m", gap, 0.0, By(0.3));
        }
    }
    check.end();
}

#[test]
fn val_rigid_ground_rolls_as_another_engines() {
    let mut check = Check::new(
        Table::World,
        "val_engine::val_rigid_ground_rolls_as_another_engines",
        "rigid ground, logs that land across a plane of 33° (within 15°): mean way and speed, \
         furthest end of the 90 % interval of the difference",
        MUJOCO,
    );
    let case = case("across", 16);
    let ours = ours(&case, GroundLaw::Rigid, 10.0);
    equivalent(&mut check, "across", &case, &ours, 2..5, 5.0);
    check.end();
}

#[test]
fn val_rigid_ground_at_any_attitude() {
    let mut check = Check::new(
        Table::World,
        "val_engine::val_rigid_ground_at_any_attitude",
        "rigid ground, any attitude, on a plane and on bumps: mean way and speed, furthest end of \
         the 90 % interval of the difference",
        MUJOCO,
    )
    .known_wrong(
        "a log that slides askew swings round and rolls off in rapier, and rattles from end to end \
         and slides on in MuJoCo: what presses where along a rigid line of contact is not \
         determined, and MuJoCo's two friction cones differ as much",
    );
    for (name, drops) in [("plane", 16), ("bumpy", 32)] {
        let case = case(name, drops);
        let ours = ours(&case, GroundLaw::Rigid, 10.0);
        equivalent(&mut check, name, &case, &ours, 2..5, 10.0);
    }
    check.end();
}

#[test]
fn val_hard_soil_rolls_as_rigid_ground() {
    let mut check = Check::new(
        Table::World,
        "val_engine::val_hard_soil_rolls_as_rigid_ground",
        "the soil law on ground of 8 MPa that gives nothing back, logs that land across a plane of \
         33° (within 15°): place of nine in ten after a second; mean way and speed, furthest end of \
         the 90 % interval of the difference",
        MUJOCO,
    );
    let case = case("across", 20);
    let ours = ours(&case, GroundLaw::Soil, 10.0);
    check.near("place at 1 s", "m", nine_in_ten_m(&case, &ours, 1), 0.0, By(0.3));
    equivalent(&mut check, "across", &case, &ours, 2..5, 5.0);
    check.end();
}

#[test]
fn val_hard_soil_at_any_attitude() {
    let mut check = Check::new(
        Table::World,
        "val_engine::val_hard_soil_at_any_attitude",
        "the soil law on ground of 8 MPa that gives nothing back, any attitude, on a plane and on \
         bumps: mean way and speed, furthest end of the 90 % interval of the difference",
        MUJOCO,
    )
    .known_wrong(
        "however hard, ground that gives nothing back is plastic to the soil law, not rigid: a rim \
         that is dragged ploughs (tan(α + atan μ) for μ), and a face stays buried in the print it \
         landed in; so logs lose more where they land",
    );
    for (name, drops) in [("plane", 20), ("bumpy", 140)] {
        let case = case(name, drops);
        let ours = ours(&case, GroundLaw::Soil, 10.0);
        equivalent(&mut check, name, &case, &ours, 1..5, 10.0);
    }
    check.end();
}

/// Why hard soil is not rigid ground: only what goes in pushes.
#[test]
fn verif_a_dragged_rim_ploughs() {
    let mut check = Check::new(
        Table::Equations,
        "val_engine::verif_a_dragged_rim_ploughs",
        "force along over force up of a log's rim that is dragged level over ground that gives \
         nothing back, μ = 0.5, its side or its face leading at α",
        "closed form: tan(α + atan μ), whatever the strength",
    );
    let piece = bearing_all(&log(2.4, 0.4), 1e9);
    // The side's arc under 2 mm is 23° wide to either hand: its normals lean that far out, less
    // than 1 % in the sum.
    for alpha_deg in [10.0_f64, 20.0, 30.0, 45.0] {
        let theirs = (alpha_deg.to_radians() + 0.5_f64.atan()).tan();
        let side = dragged(hard(0.5), &piece, alpha_deg, 1.0, 0.002);
        let face = dragged(hard(0.5), &piece, 90.0 - alpha_deg, -1.0, 0.002);
        check.near(&format!("side, {alpha_deg}°"), "", side, theirs, Share(0.01));
        check.near(&format!("face, {alpha_deg}°"), "", face, theirs, Share(0.01));
    }
    check.end();
}
