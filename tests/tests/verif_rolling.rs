//! Solves its equations: rolling and sliding down a slope against closed forms.
//!
//! Ground of one strength S, so that how deep a log lies and what that costs it are known.

use glam::{DQuat, DVec2, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::mover::{Mover, Pace},
    ground::{Ground, Strength},
    motion::Motion,
    site::Site,
    soil::{
        bed::Bed,
        testing::{across, along, bank, bank_normal, log, pavement},
    },
    terrain::Terrain,
    tree::Piece,
};
use tumblewood_tests::{
    proof::{DOWN, bearing_all, constant, falling, run_for},
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

const RADIUS_M: f64 = 0.2;
const LENGTH_M: f64 = 2.4;
const M_PER_FT: f64 = 0.3048;
/// What a strip bears over its shear strength (Prandtl 1920).
const SIDE_BEARING: f64 = 5.14;

/// A slice of an endless log: no end face rubs on the ground.
fn slice() -> Piece {
    let mut piece = bearing_all(&log(LENGTH_M, 2.0 * RADIUS_M), 1e9);
    for round in &mut piece.rounds {
        (round.from_is_face, round.to_is_face) = (false, false);
    }
    piece
}

/// Ground of one strength with friction; a log's side bears [`SIDE_BEARING`] times its shear strength at
/// any depth, so that it is the ground that gives way and not the wood.
fn rubbing(strength_pa: f64, friction: f64, restitution: f64) -> Ground {
    let shear_strength_pa = strength_pa / SIDE_BEARING;
    Ground {
        soil: Strength::Cohesive { shear_strength_pa },
        friction,
        side_bearing_deep: SIDE_BEARING,
        sideways_share: 1.0,
        ..constant(restitution)
    }
}

/// Half the arc in the ground, rad: the front bears S and the back e²·S, straight from the axis, so
/// `S·R·L·(1 + e²)·sin φ` bears the weight across the slope.
fn arc_rad(piece: &Piece, strength_pa: f64, slope_rad: f64, e: f64) -> f64 {
    let weight_n = piece.mass_kg * GRAVITY_M_S2 * slope_rad.cos();
    (weight_n / (strength_pa * RADIUS_M * LENGTH_M * (1.0 + e * e))).asin()
}

/// Rolling resistance as a share of the weight across the slope. The same pressures along the
/// slope are `S·R·L·(1 − e²)·(1 − cos φ)`: with e = 0 the work to press the rut, S·L times its depth
/// a metre of way, Bekker's rigid wheel on ground whose pressure doesn't grow with depth (n = 0).
fn resistance(arc_rad: f64, e: f64) -> f64 {
    (0.5 * arc_rad).tan() * (1.0 - e * e) / (1.0 + e * e)
}

/// Steps fine enough to resolve sinking by micrometres.
fn fine() -> Pace {
    Pace { longest_touching_s: 2e-4, longest_sunk_s: 2e-4, ..Pace::default() }
}

/// A log on a bank as deep in it as it lies, with a speed down the slope and a spin to go with it.
fn start(slope_rad: f64, depth_m: f64, attitude: DQuat, speed_m_s: f64, spin: f64) -> Motion {
    let downhill = DVec3::Y.cross(bank_normal(slope_rad));
    Motion {
        spin_rad_s: DVec3::Y * spin,
        ..falling(bank_normal(slope_rad) * (RADIUS_M - depth_m), attitude, downhill * speed_m_s)
    }
}

/// Time, way down the slope, speed and spin after each step until `done` says so.
fn follow(
    piece: &Piece,
    ground: Ground,
    slope_rad: f64,
    from: &Motion,
    pace: &Pace,
    done: impl Fn(&[f64; 4]) -> bool,
) -> Vec<[f64; 4]> {
    let site = bank(slope_rad, ground);
    let bed = Bed::new(&site);
    let downhill = DVec3::Y.cross(bank_normal(slope_rad));
    let mut mover = Mover::new(piece, from, &bed);
    mover.look(&bed, pace);
    let mut seen = vec![[0.0, 0.0, mover.velocity_m_s.dot(downhill), mover.spin_rad_s().y]];
    while !seen.last().is_some_and(&done) {
        let dt = mover.next_step_s();
        mover.step(&bed, DOWN, dt, pace);
        seen.push([
            seen[seen.len() - 1][0] + dt,
            (mover.centre_m - from.centre_m).dot(downhill),
            mover.velocity_m_s.dot(downhill),
            mover.spin_rad_s().y,
        ]);
    }
    seen
}

/// What it was when quantity `k` passed `value`.
fn when(seen: &[[f64; 4]], k: usize, value: f64) -> [f64; 4] {
    let i = seen.iter().position(|s| s[k] >= value).expect("it got there").max(1);
    let (a, b) = (seen[i - 1], seen[i]);
    let share = (value - a[k]) / (b[k] - a[k]);
    std::array::from_fn(|j| a[j] + share * (b[j] - a[j]))
}

/// Mean acceleration of a log that was set rolling, from a moment until `time_s`, m/s².
fn rolling_m_s2(
    strength_pa: f64,
    e: f64,
    friction: f64,
    slope_rad: f64,
    from_m_s: f64,
    time_s: f64,
    pace: &Pace,
) -> f64 {
    let piece = slice();
    let depth_m = RADIUS_M * (1.0 - arc_rad(&piece, strength_pa, slope_rad, e).cos());
    let from = start(slope_rad, depth_m, across(), from_m_s, from_m_s / RADIUS_M);
    let ground = rubbing(strength_pa, friction, e);
    let seen = follow(&piece, ground, slope_rad, &from, pace, |s| s[0] >= time_s);
    // What it takes to find its depth is over by then.
    let (a, b) = (when(&seen, 0, 0.25 * time_s), seen[seen.len() - 1]);
    (b[2] - a[2]) / (b[0] - a[0])
}

#[test]
fn verif_a_cylinder_rolls_at_two_thirds_g_sin() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_cylinder_rolls_at_two_thirds_g_sin",
        "rolling without slip on hard ground, steps of 0.2 ms",
        "closed form: a = (2/3) g sin θ, from rest",
    );
    // What pressing the rut takes at 4 MPa, tan φ/2 = 0.0006 of the weight, is 0.2 % at 20°.
    let allowed = Share(0.005);
    for (deg, theirs) in [(20.0_f64, 2.2360), (30.0, 3.2689), (35.0, 3.7499), (40.0, 4.2024)] {
        let ours = rolling_m_s2(4e6, 0.0, 0.5, deg.to_radians(), 0.0, 2.0, &fine());
        check.near(&format!("{deg}°"), "m/s²", ours, theirs, allowed);
    }
    for (deg, way_m, unit, speed, time_s) in
        [(30.0_f64, 10.0, 1.0, 8.086, 2.474), (35.0, 60.0 * M_PER_FT, M_PER_FT, 38.42, 3.123)]
    {
        let piece = slice();
        let from = start(deg.to_radians(), 1e-6, across(), 0.0, 0.0);
        let seen = follow(&piece, rubbing(4e6, 0.5, 0.0), deg.to_radians(), &from, &fine(), |s| {
            s[1] > way_m
        });
        let there = when(&seen, 1, way_m);
        let name = if unit < 1.0 { "60 ft down 35°" } else { "10 m down 30°" };
        check.near(name, if unit < 1.0 { "ft/s" } else { "m/s" }, there[2] / unit, speed, allowed);
        check.near(name, "s", there[0], time_s, allowed);
    }
    check.end();
}

#[test]
fn verif_a_cylinder_rolls_down_pavement_as_drops_are_stepped() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_cylinder_rolls_down_pavement_as_drops_are_stepped",
        "rolling without slip on bare pavement, at the steps of a drop",
        "closed form: a = (2/3) g (sin θ − C cos θ) with C = (1 − e²)/(1 + e²)·(3/16)·c/R for a chord \
         c in ground whose pressure grows with depth, whole at q·c",
    );
    for deg in [20.0_f64, 30.0, 35.0] {
        let (slope, piece, ground) = (deg.to_radians(), log(LENGTH_M, 2.0 * RADIUS_M), pavement());
        // The parabola under a chord bears S·(2/3)·d/q a metre at the front, e² of that at the back,
        // with its middle 3/8 of half the chord from the axis.
        let e_sq = ground.restitution * ground.restitution;
        let weight_n = piece.mass_kg * GRAVITY_M_S2 * slope.cos();
        let springy = (1.0 + e_sq) / 3.0 * piece.side_crush_pa / ground.mobilised_at * LENGTH_M;
        let chord_m = 2.0 * (2.0 * RADIUS_M * weight_n / springy).sqrt();
        let resists = (1.0 - e_sq) / (1.0 + e_sq) * 3.0 / 16.0 * chord_m / RADIUS_M;
        let theirs = 2.0 / 3.0 * GRAVITY_M_S2 * (slope.sin() - resists * slope.cos());
        let from = start(slope, 0.0, across(), 0.0, 0.0);
        let seen = follow(&piece, ground, slope, &from, &Pace::default(), |s| s[0] >= 2.0);
        let end = seen[seen.len() - 1];
        check.near(&format!("{deg}°"), "m/s²", end[2] / end[0], theirs, Share(0.005));
    }
    check.end();
}

#[test]
fn verif_rolling_resistance_is_that_of_a_rigid_wheel_in_plastic_soil() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_rolling_resistance_is_that_of_a_rigid_wheel_in_plastic_soil",
        "rolling resistance in ground of one strength, as a share of the weight",
        "closed form: tan(φ/2)(1 − e²)/(1 + e²), φ half the buried arc; e = 0: Bekker 1956, rigid \
         wheel, n = 0 (from memory)",
    );
    // Friction along the arc, forward at its front and back under the log, carries some of the
    // weight: up to about μφ/4 + φ²/12 of it, which the form leaves out.
    let allowed = Share(0.02);
    for (strength_pa, e) in [(20e3, 0.0), (50e3, 0.0), (200e3, 0.0), (50e3, 0.25), (50e3, 0.5)] {
        let arc = arc_rad(&slice(), strength_pa, 0.0, e);
        let ours = -rolling_m_s2(strength_pa, e, 0.1, 0.0, 4.0, 1.0, &Pace::default()) * 1.5
            / GRAVITY_M_S2;
        let name = format!("{:.0} kPa, e = {e}", strength_pa / 1e3);
        check.near(&name, "", ours, resistance(arc, e), allowed);
    }
    check.end();
}

#[test]
fn verif_rolling_down_a_slope_with_resistance() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_rolling_down_a_slope_with_resistance",
        "rolling down soil of one strength that resists with C_rr of the weight",
        "closed form: a = (2/3) g (sin θ − C_rr cos θ)",
    );
    for (c_rr, theirs) in [(0.05_f64, 2.9858), (0.1, 2.7027), (0.2, 2.1365)] {
        // The strength at which a log that gives nothing back meets this resistance.
        let slope = 30_f64.to_radians();
        let weight_n = slice().mass_kg * GRAVITY_M_S2 * slope.cos();
        let strength_pa = weight_n / (RADIUS_M * LENGTH_M * (2.0 * c_rr.atan()).sin());
        let ours = rolling_m_s2(strength_pa, 0.0, 0.25, slope, 3.0, 2.0, &Pace::default());
        check.near(&format!("30°, C_rr {c_rr}"), "m/s²", ours, theirs, Share(0.01));
    }
    check.end();
}

#[test]
fn verif_a_log_sets_off_rolling_where_its_rut_lets_it() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_log_sets_off_rolling_where_its_rut_lets_it",
        "a log across a slope in its own rut stays below the angle of its resistance and rolls above",
        "closed form: tan θ = tan(φ/2)(1 − e²)/(1 + e²)",
    );
    for (strength_pa, e) in [(20e3, 0.0), (50e3, 0.0), (50e3, 0.25)] {
        let piece = slice();
        let arc = arc_rad(&piece, strength_pa, 0.0, e);
        let limit = resistance(arc, e).atan();
        for (share, goes) in [(0.95, false), (1.05, true)] {
            let slope = share * limit;
            let depth_m = RADIUS_M * (1.0 - arc.cos());
            let from = start(slope, depth_m, across(), 0.0, 0.0);
            let seen =
                follow(&piece, rubbing(strength_pa, 0.5, e), slope, &from, &Pace::default(), |s| {
                    s[0] >= 20.0
                });
            let way = seen[seen.len() - 1][1];
            let seen = format!("{way:.2} m in 20 s at {share} of the limit's angle");
            let name = format!("{:.0} kPa, e = {e}", strength_pa / 1e3);
            check.holds(&name, (way > 0.3) == goes && (goes || way < 0.02), &seen);
        }
    }
    check.end();
}

#[test]
fn verif_a_cylinder_slips_where_friction_is_less_than_a_third_of_tan() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_cylinder_slips_where_friction_is_less_than_a_third_of_tan",
        "least friction to roll at 30°, 0.1925: slip over speed above it, acceleration and spin below",
        "closed form: μ = tan θ/3; below it a = g(sin θ − μ cos θ), R dω/dt = 2 μ g cos θ",
    );
    let slope = 30_f64.to_radians();
    for mu in [0.05, 0.1, 0.18, 0.19, 0.195, 0.2, 0.3] {
        let piece = slice();
        let from = start(slope, 1e-6, across(), 0.0, 0.0);
        let seen = follow(&piece, rubbing(4e6, mu, 0.0), slope, &from, &fine(), |s| s[0] >= 1.0);
        let [time, _, speed, spin] = seen[seen.len() - 1];
        if mu < 0.1925 {
            let along = GRAVITY_M_S2 * (slope.sin() - mu * slope.cos());
            check.near(&format!("μ {mu}"), "m/s²", speed / time, along, Share(0.005));
            let spun = 2.0 * mu * GRAVITY_M_S2 * slope.cos();
            check.near(&format!("μ {mu}, spin"), "m/s²", RADIUS_M * spin / time, spun, Share(0.01));
        } else {
            let slip = 1.0 - RADIUS_M * spin / speed;
            check.near(&format!("μ {mu}, slip"), "", slip, 0.0, By(0.005));
        }
    }
    check.end();
}

#[test]
fn verif_sliding_and_stopping() {
    let check = Check::new(
        Table::Equations,
        "verif_rolling::verif_sliding_and_stopping",
        "a log sliding along the fall line of hard ground, steps of 0.2 ms: acceleration, way to a stop",
        "closed form: a = g(sin θ − μ cos θ); from v it stops after v²/(2a)",
    );
    slides(check, &fine(), 0.002);
}

#[test]
fn verif_sliding_and_stopping_as_drops_are_stepped() {
    let check = Check::new(
        Table::Equations,
        "verif_rolling::verif_sliding_and_stopping_as_drops_are_stepped",
        "a log sliding along the fall line of hard ground, at the steps of a drop",
        "closed form: a = g(sin θ − μ cos θ); from v it stops after v²/(2a)",
    );
    slides(check, &Pace::default(), 0.01);
}

/// Slides and stops, each off by no more than a share of the closed form.
fn slides(mut check: Check, pace: &Pace, share: f64) {
    for (mu, deg, theirs) in [
        (0.4, 20.0_f64, -0.332),
        (0.4, 30.0, 1.506),
        (0.4, 35.0, 2.412),
        (0.6, 30.0, -0.192),
        (0.6, 35.0, 0.805),
        (0.4, 0.0, -0.4 * GRAVITY_M_S2),
    ] {
        let slope = deg.to_radians();
        let piece = bearing_all(&log(LENGTH_M, 2.0 * RADIUS_M), 4e6);
        let speed = 2.0;
        let from = start(slope, 1e-6, along(slope), speed, 0.0);
        let done = |s: &[f64; 4]| s[0] >= 15.0 || s[2] < 1e-4 || (theirs > 0.0 && s[0] >= 2.0);
        let seen = follow(&piece, rubbing(4e6, mu, 0.0), slope, &from, pace, done);
        let [time, way, at_end, _] = seen[seen.len() - 1];
        let name = format!("μ {mu}, {deg}°");
        // Values are given to a thousandth.
        let allowed = By(0.0005 + share * f64::abs(theirs));
        check.near(&name, "m/s²", (at_end - speed) / time, theirs, allowed);
        if theirs < 0.0 {
            let exact = GRAVITY_M_S2 * (mu * slope.cos() - slope.sin());
            check.near(
                &format!("{name}, stops after"),
                "m",
                way,
                0.5 * speed * speed / exact,
                Share(share),
            );
        }
    }
    check.end();
}

#[test]
fn verif_a_log_stays_where_friction_is_more_than_tan() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_log_stays_where_friction_is_more_than_tan",
        "a log laid along the fall line stays while tan θ < μ and goes where it is more",
        "closed form",
    );
    for mu in [0.2_f64, 0.4, 0.6] {
        for (off_deg, goes) in [(-0.5_f64, false), (0.5, true)] {
            let slope = mu.atan() + off_deg.to_radians();
            let piece = bearing_all(&log(LENGTH_M, 2.0 * RADIUS_M), 400e3);
            let from = start(slope, 1e-5, along(slope), 0.0, 0.0);
            let seen = follow(&piece, rubbing(4e6, mu, 0.0), slope, &from, &Pace::default(), |s| {
                s[0] >= 20.0
            });
            let way = seen[seen.len() - 1][1];
            let exact = 0.5 * GRAVITY_M_S2 * (slope.sin() - mu * slope.cos()) * 400.0;
            let seen = format!("{way:.4} m in 20 s {off_deg:+}° off the limit");
            check.holds(
                &format!("μ {mu}"),
                if goes { (way / exact - 1.0).abs() < 0.05 } else { way.abs() < 1e-3 },
                &seen,
            );
        }
    }
    check.end();
}

#[test]
fn verif_a_log_in_a_dent_rolls_out_where_its_edge_lets_it() {
    let mut check = Check::new(
        Table::Equations,
        "verif_rolling::verif_a_log_in_a_dent_rolls_out_where_its_edge_lets_it",
        "a log in a dent of hard ground as wide as its chord, in cells of 2 cm, stays at 0.8 of the \
         limit's angle and rolls out at 1.2 of it",
        "closed form: tan θ = b/√(R² − b²), b² = 2 R z − z²",
    )
    .known_wrong(
        "each part of a log sees the plane of the ground under its axis: dents narrower than it \
         hold it by their walls' slope, not by their edge",
    );
    const M_PER_IN: f64 = 0.0254;
    for (d_in, z_in, limit_deg) in [(16.0, 0.5, 20.36_f64), (16.0, 1.0, 28.96), (24.0, 0.5, 16.60)]
    {
        let (radius_m, dent_m) = (0.5 * d_in * M_PER_IN, z_in * M_PER_IN);
        let half_m = (dent_m * (2.0 * radius_m - dent_m)).sqrt();
        for (share, goes) in [(0.8, false), (1.2, true)] {
            let slope = (share * limit_deg).to_radians();
            let height = |x: f64, _: f64| {
                let dent = if x.abs() < half_m * slope.cos() { dent_m / slope.cos() } else { 0.0 };
                -x * slope.tan() - dent
            };
            let terrain = Terrain::from_heights(DVec2::splat(-4.0), 0.02, 401, 401, height);
            let site = Site { terrain: terrain.into(), ..bank(slope, rubbing(4e6, 1.0, 0.0)) };
            let bed = Bed::new(&site);
            let piece = bearing_all(&log(LENGTH_M, 2.0 * radius_m), 4e6);
            let at = bank_normal(slope) * (radius_m - dent_m);
            let mut mover = Mover::new(&piece, &falling(at, across(), DVec3::ZERO), &bed);
            run_for(&mut mover, &bed, DOWN, &Pace::default(), 1.0);
            let way = mover.centre_m.distance(at);
            let name = format!("D {d_in} in, dent {z_in} in, {limit_deg}°");
            let seen = format!("{way:.2} m in 1 s at {share} of the limit's angle");
            check.holds(&name, (way > 2.0 * half_m) == goes, &seen);
        }
    }
    check.end();
}
