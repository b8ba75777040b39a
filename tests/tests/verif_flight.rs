//! Solves its equations: flight, free rotation, bounces and toppling against closed forms.

use std::f64::consts::TAU;

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::{
        GroundLaw, Setup, drop,
        free::turn,
        mover::{Mover, Pace},
    },
    ground::Ground,
    keyed::Key,
    motion::Motion,
    release::Launch,
    soil::{
        bed::Bed,
        testing::{along, bank, bank_normal, firm, log, pavement},
    },
    tree::Piece,
};
use tumblewood_tests::{
    proof::{DOWN, bearing_all, constant, falling, run_for},
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

#[test]
fn verif_flight_is_a_parabola() {
    let mut check = Check::new(
        Table::Equations,
        "verif_flight::verif_flight_is_a_parabola",
        "a whole drop from a level launch to its first touch: time, way, speed, angle",
        "closed form: h = g t²/2 on level ground, R = 2 v² tan θ/(g cos θ) down a slope",
    );
    let piece = log(2.4, 0.4);
    let first = |slope_rad: f64, height_m: f64| {
        let site = bank(slope_rad, firm());
        // Along the slope: the whole log touches at once, its axis a radius over the ground.
        let centre_m = bank_normal(slope_rad) * 0.2 + DVec3::Z * height_m;
        let motion = falling(centre_m, along(slope_rad), DVec3::X * 8.0);
        let launch = Launch { motion, time_s: 0.0 };
        let setup = Setup { horizon_s: 3.0, ..Setup::new(&site, GroundLaw::Soil) };
        let track = drop(&setup, &piece, &launch, Key::root(1), f64::INFINITY);
        let touch = track.first_touch.expect("it touches");
        (touch.centre_m - centre_m, touch.velocity_m_s, -touch.velocity_m_s.z / GRAVITY_M_S2)
    };
    // A touch is known to the step it is found in, which starts within 3 mm of the ground.
    let allowed = Share(0.005);
    let (way, velocity, time_s) = first(0.0, 5.0);
    check.near("8 m/s, 5 m up", "s", time_s, 1.0098, allowed);
    check.near("8 m/s, 5 m up", "m", way.x, 8.078, allowed);
    check.near("8 m/s, 5 m up", "m/s", velocity.length(), 12.731, allowed);
    let down = (-velocity.z / velocity.x).atan().to_degrees();
    check.near("8 m/s, 5 m up", "°", down, 51.07, By(0.1));
    for (deg, along_m, theirs_s) in
        [(20.0_f64, 5.056, 0.594), (30.0, 8.702, 0.942), (40.0, 14.297, 1.369)]
    {
        // A millimetre up, so that it leaves at all.
        let (way, _, time_s) = first(deg.to_radians(), 1e-3);
        check.near(&format!("8 m/s off {deg}°"), "m", way.length(), along_m, allowed);
        check.near(&format!("8 m/s off {deg}°"), "s", time_s, theirs_s, allowed);
    }
    check.end();
}

#[test]
fn verif_a_free_body_precesses_flips_and_keeps_its_energy() {
    let mut check = Check::new(
        Table::Equations,
        "verif_flight::verif_a_free_body_precesses_flips_and_keeps_its_energy",
        "torque-free rotation: a log's axis after 3.7 precessions in one step and in 1000; energy and \
         flips of a lopsided piece in steps of 1 ms",
        "closed form: precession at L/A (Landau & Lifshitz, Mechanics §35); flips about the middle \
         axis (Ashbaugh, Chicone & Cushman 1991) by Runge–Kutta on Euler's equations",
    );
    let top = log(2.4, 0.4).inertia_kg_m2;
    let momentum = DVec3::new(60.0, 25.0, 40.0);
    let start = DQuat::from_rotation_y(0.9);
    let time_s = 3.7 * TAU * top.x / momentum.length();
    // The axis goes round the momentum at |L|/A.
    let exact = DQuat::from_axis_angle(momentum.normalize(), 3.7 * TAU) * (start * DVec3::Z);
    for steps in [1, 1000] {
        let mut q = start;
        for _ in 0..steps {
            q = turn(q, momentum, top, time_s / f64::from(steps));
        }
        let off = (q * DVec3::Z).angle_between(exact);
        check.near(&format!("{steps} steps"), "rad", off, 0.0, By(1e-7));
    }
    let lopsided = DVec3::new(1.0, 2.0, 3.0);
    // Euler's equations by Runge–Kutta at 0.1 ms say when it flips.
    let (mut body, mut flips, mut theirs) = (DVec3::new(0.01, 5.0, 0.01), Vec::new(), Vec::new());
    let l = lopsided * body;
    let energy = |q: DQuat| {
        let l = q.inverse() * l;
        0.5 * l.dot(l / lopsided)
    };
    let euler = |w: DVec3| (lopsided * w).cross(w) / lopsided;
    let (mut q, mut worst) = (DQuat::IDENTITY, 0.0_f64);
    let begin = energy(q);
    for i in 0..200_000_u32 {
        let before = body.y;
        let h = 1e-4;
        let k1 = euler(body);
        let k2 = euler(body + k1 * (0.5 * h));
        let k3 = euler(body + k2 * (0.5 * h));
        let k4 = euler(body + k3 * h);
        body += (k1 + 2.0 * k2 + 2.0 * k3 + k4) * (h / 6.0);
        if before * body.y < 0.0 {
            theirs.push(f64::from(i) * h);
        }
        if i % 10 == 0 {
            let up = (q.inverse() * l).y;
            q = turn(q, l, lopsided, 1e-3);
            if up * (q.inverse() * l).y < 0.0 {
                flips.push(f64::from(i) * h);
            }
            worst = worst.max((energy(q) / begin - 1.0).abs());
        }
    }
    check.near("flips in 20 s", "", flips.len() as f64, theirs.len() as f64, By(0.5));
    check.near("first flip", "s", flips[0], theirs[0], By(0.005));
    check.near("last flip", "s", flips[flips.len() - 1], theirs[theirs.len() - 1], By(0.02));
    check.near("energy, worst of 20 s", "", worst, 0.0, By(2e-4));
    check.end();
}

#[test]
fn verif_a_flight_keeps_energy_and_angular_momentum() {
    let mut check = Check::new(
        Table::Equations,
        "verif_flight::verif_a_flight_keeps_energy_and_angular_momentum",
        "a log and a lopsided piece that turn through 1.2 s of flight",
        "conservation laws; parabola",
    );
    let site = bank(0.0, firm());
    let bed = Bed::new(&site);
    let plain = log(2.4, 0.4);
    let lopsided = plain.inertia_kg_m2 * DVec3::new(1.0, 1.2, 1.0);
    for (name, piece, least) in [
        ("a log", plain.clone(), 1e-9),
        // The split of a lopsided body's rotation keeps its energy within bounds only.
        ("a lopsided piece", Piece { inertia_kg_m2: lopsided, ..plain }, 1e-4),
    ] {
        let start = Motion {
            spin_rad_s: DVec3::new(0.5, 1.0, 4.0),
            ..falling(DVec3::Z * 12.0, DQuat::from_rotation_x(0.6), DVec3::new(3.0, 1.0, 2.0))
        };
        let mut mover = Mover::new(&piece, &start, &bed);
        let total = |m: &Mover<'_>| m.kinetic_j() + piece.mass_kg * GRAVITY_M_S2 * m.centre_m.z;
        let (energy, momentum, mut time) = (total(&mover), mover.momentum, 0.0);
        let pace = Pace::default();
        mover.look(&bed, &pace);
        while time < 1.2 {
            let dt = mover.next_step_s();
            mover.step(&bed, DOWN, dt, &pace);
            time += dt;
        }
        let exact = start.centre_m + start.velocity_m_s * time + DOWN * (0.5 * time * time);
        check.near(&format!("{name}, place"), "m", mover.centre_m.distance(exact), 0.0, By(1e-9));
        check.near(&format!("{name}, energy"), "J", total(&mover), energy, Share(least));
        let off = mover.momentum.distance(momentum) / momentum.length();
        check.near(&format!("{name}, angular momentum"), "", off, 0.0, By(1e-9));
    }
    check.end();
}

#[test]
fn verif_bounces_die_down_as_a_series() {
    let mut check = Check::new(
        Table::Equations,
        "verif_flight::verif_bounces_die_down_as_a_series",
        "an upright log dropped from 2 m on hard ground of one strength with e = 0.3, fine steps: height \
         and time of three peaks",
        "closed form: peaks h e^(2n), time √(2h/g)(1 + 2e + 2e² + …)",
    );
    let piece = bearing_all(&log(2.4, 0.4), 100e6);
    let site = bank(0.0, constant(0.3));
    let bed = Bed::new(&site);
    let half_m = 1.2;
    let mut mover =
        Mover::new(&piece, &falling(DVec3::Z * (half_m + 2.0), DQuat::IDENTITY, DVec3::ZERO), &bed);
    // Steps that resolve half a millimetre of stopping, at the last bounce as at the first.
    let pace =
        Pace { steps_across: 200.0, shortest_s: 1e-6, longest_touching_s: 2e-6, ..Pace::default() };
    mover.look(&bed, &pace);
    let (mut time, mut peaks, mut up) = (0.0, Vec::new(), false);
    while time < 2.0 && peaks.len() < 3 {
        let dt = mover.next_step_s();
        let (vz, z) = (mover.velocity_m_s.z, mover.centre_m.z);
        mover.step(&bed, DOWN, dt, &pace);
        if up && mover.velocity_m_s.z <= 0.0 {
            let over_s = vz / GRAVITY_M_S2;
            peaks.push((time + over_s, z - half_m + 0.5 * vz * over_s));
        }
        time += dt;
        up = mover.velocity_m_s.z > 0.0 && mover.contact.quads.is_empty();
    }
    let fall_s = (4.0 / GRAVITY_M_S2).sqrt();
    // Its weight over the way back out, 0.3 % of what comes back, isn't in the series; the rest is the
    // steps'.
    for (n, (theirs_m, at)) in
        [(0.18, 1.3), (0.0162, 1.69), (0.001_458, 1.807)].into_iter().enumerate()
    {
        let Some(&(at_s, peak_m)) = peaks.get(n) else { panic!("{peaks:?}") };
        let tries = (n + 1) as f64;
        check.near(&format!("peak {}", n + 1), "m", peak_m, theirs_m, Share(0.015 * tries));
        check.near(&format!("peak {}", n + 1), "s", at_s, fall_s * at, Share(0.003));
    }
    check.end();
}

/// Stands chunks on pavement, with friction that holds them, this far off the limit, °; whether each
/// of them has fallen over in four seconds.
fn chunks(mut check: Check, off: &[(f64, bool)]) {
    const IN: f64 = 0.0254;
    for (d_in, l_in) in [(16.0, 16.0), (16.0, 24.0), (16.0, 48.0), (24.0, 18.0)] {
        let piece = log(l_in * IN, d_in * IN);
        let ground = Ground { friction: 3.0, restitution: 0.0, ..pavement() };
        let limit = (d_in / l_in).atan();
        for (off_deg, goes) in off {
            let slope = limit + off_deg.to_radians();
            let site = bank(slope, ground);
            let bed = Bed::new(&site);
            let normal = bank_normal(slope);
            let start = falling(
                normal * (0.5 * l_in * IN - 1e-4),
                DQuat::from_rotation_y(slope),
                DVec3::ZERO,
            );
            let mut mover = Mover::new(&piece, &start, &bed);
            let tilt = (0..8).fold(0.0_f64, |most, _| {
                run_for(&mut mover, &bed, DOWN, &Pace::default(), 0.5);
                most.max((mover.attitude * DVec3::Z).angle_between(normal))
            });
            let seen = format!("tilted {:.2}° in 4 s at {off_deg:+}°", tilt.to_degrees());
            let name = format!("D {d_in} in, L {l_in} in, {:.2}°", limit.to_degrees());
            check.holds(&name, if *goes { tilt > 0.5 } else { tilt < 0.02 }, &seen);
        }
    }
    check.end();
}

/// At 4° each stands with any of the step's numbers a tenth off.
#[test]
fn verif_a_standing_chunk_topples_where_tan_is_more_than_d_over_l() {
    let check = Check::new(
        Table::Equations,
        "verif_flight::verif_a_standing_chunk_topples_where_tan_is_more_than_d_over_l",
        "a chunk standing on pavement stays 4° under the limit and topples half a degree over it",
        "closed form: tan θ = D/L",
    );
    chunks(check, &[(-4.0, false), (0.5, true)]);
}

#[test]
fn verif_a_standing_chunk_stays_close_under_its_limit() {
    let check = Check::new(
        Table::Equations,
        "verif_flight::verif_a_standing_chunk_stays_close_under_its_limit",
        "the same 1.5° under the limit",
        "closed form: tan θ = D/L",
    )
    .known_wrong(
        "a rim that bears all of the weight gives by tenths of a millimetre over a centimetre or two, \
         end grain several times more than it should: the chunk tilts, and turns about a line further \
         in; between 1.5 and 4° it stands or falls by how steps are solved",
    );
    chunks(check, &[(-1.5, false)]);
}
