//! Solves its equations: what a landing makes a stem bear in bending, against closed forms.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::{
        bending::Beam,
        mover::{Mover, Pace},
    },
    soil::{
        bed::Bed,
        kick::pushes,
        testing::{bank, log, turf},
    },
    tree::Section,
};
use tumblewood_tests::{
    proof::{DOWN, falling},
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

const LENGTH_M: f64 = 6.0;
const DIAMETER_M: f64 = 0.2;

fn section() -> Section {
    let piece = log(LENGTH_M, DIAMETER_M);
    Section { piece, centre_m: DVec3::Z * 0.5 * LENGTH_M, attitude: DQuat::IDENTITY }
}

#[test]
fn verif_bending_of_a_free_beam() {
    let mut check = Check::new(
        Table::Equations,
        "verif_bending::verif_bending_of_a_free_beam",
        "greatest bending stress of a free uniform log, and where, under one push across it at its \
         middle or its end, two at its quarters, an even push, and while it only spins; a shell of \
         0.3 of the radius",
        "closed form: F L/8 in the middle; 4 F L/27 at a third (Euler–Bernoulli with the inertia of \
         a rigid free rod); F L/32 at the quarters and in the middle; none; over π D³/32 (1 − (d/D)⁴)",
    );
    let section = section();
    let beam = Beam::new(&section, |_| 0.0);
    let modulus_m3 = PI * DIAMETER_M.powi(3) / 32.0;
    let force_n = 10e3;
    let push = |at_m: f64, share: f64| (DVec3::Z * at_m, DVec3::X * force_n * share);
    let stress = |loads: &[(DVec3, DVec3)]| beam.bend(loads, &section.piece, DVec3::ZERO);
    let of = |moment_n_m: f64| moment_n_m / modulus_m3 / 1e6;

    let middle = stress(&[push(0.0, 1.0)]);
    check.near("middle", "MPa", middle.stress_pa / 1e6, of(force_n * LENGTH_M / 8.0), Share(0.005));
    check.near("middle, where", "m", middle.from_butt_m, 0.5 * LENGTH_M, By(0.001));
    for (name, end, third) in [("top end", 0.5, 2.0 / 3.0), ("butt end", -0.5, 1.0 / 3.0)] {
        let bent = stress(&[push(end * LENGTH_M, 1.0)]);
        let theirs = of(4.0 * force_n * LENGTH_M / 27.0);
        check.near(name, "MPa", bent.stress_pa / 1e6, theirs, Share(0.005));
        check.near(&format!("{name}, where"), "m", bent.from_butt_m, third * LENGTH_M, By(0.001));
    }
    let quarters = stress(&[push(-0.25 * LENGTH_M, 0.5), push(0.25 * LENGTH_M, 0.5)]);
    let theirs = of(force_n * LENGTH_M / 32.0);
    check.near("quarters", "MPa", quarters.stress_pa / 1e6, theirs, Share(0.005));
    let even: Vec<(DVec3, DVec3)> = (0..240)
        .map(|k| push(LENGTH_M * ((f64::from(k) + 0.5) / 240.0 - 0.5), 1.0 / 240.0))
        .collect();
    check.near("even", "MPa", stress(&even).stress_pa / 1e6, 0.0, By(0.005));
    let spinning = beam.bend(&[], &section.piece, DVec3::new(9.0, -3.0, 20.0));
    // A spinning log that is no slender rod turns its axis: what its slices then bear across is
    // of the order of its radius over its length.
    check.near("spin", "MPa", spinning.stress_pa / 1e6, 0.0, By(0.05));
    let shell = Beam::new(&section, |_| 0.7 * DIAMETER_M);
    let hollow = shell.bend(&[push(0.0, 1.0)], &section.piece, DVec3::ZERO);
    let theirs = of(force_n * LENGTH_M / 8.0) / (1.0 - 0.7_f64.powi(4));
    check.near("shell of 0.3", "MPa", hollow.stress_pa / 1e6, theirs, Share(0.005));
    check.end();
}

/// The pushes that bend a log are those that stop it.
#[test]
fn verif_pushes_add_up_to_the_change_of_momentum() {
    let mut check = Check::new(
        Table::Equations,
        "verif_bending::verif_pushes_add_up_to_the_change_of_momentum",
        "sum of the ground's pushes on the elements over a landing of 6 m/s, flat and on its nose, \
         against what the log's momentum changes by besides gravity; furthest of all steps, as a \
         share of the greatest push",
        "conservation of momentum",
    );
    let piece = log(2.4, 0.4);
    let site = bank(0.0, turf());
    let bed = Bed::new(&site);
    let pace = Pace::default();
    for (name, turned_rad, high_m) in [("flat", FRAC_PI_2, 0.21), ("nose", 0.5, 1.2)] {
        let attitude = DQuat::from_rotation_y(turned_rad);
        let mut mover =
            Mover::new(&piece, &falling(DVec3::Z * high_m, attitude, DVec3::Z * -6.0), &bed);
        mover.look(&bed, &pace);
        let (mut time_s, mut furthest_n, mut greatest_n) = (0.0, 0.0_f64, 0.0_f64);
        while time_s < 0.3 {
            let dt = mover.next_step_s();
            let before = mover.velocity_m_s;
            let kicked = mover.step(&bed, DOWN, dt, &pace);
            time_s += dt;
            let mut force = DVec3::ZERO;
            let v0 = pace.exactness.smoothing_m_s;
            pushes(&mover.contact.quads, &kicked, v0, |_, push| force += push);
            let gained = (mover.velocity_m_s - before) * (piece.mass_kg / dt);
            let by_ground = gained + DVec3::Z * piece.mass_kg * GRAVITY_M_S2;
            furthest_n = furthest_n.max((force - by_ground).length());
            greatest_n = greatest_n.max(force.length());
        }
        check.near(name, "", furthest_n / greatest_n, 0.0, By(1e-6));
    }
    check.end();
}
