//! Solves its equations: pieces on lines against closed forms and conservation.

use std::f64::consts::PI;

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::{
        Ending, GroundLaw, RestsOn, Setup, Track, drop,
        mover::Pace,
        tether::{Tail, Tether, peak_n},
    },
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::Site,
    soil::testing::{bank, firm, log},
    tree::Piece,
};
use tumblewood_tests::table::{Allowed::Share, Check, Table};

/// How high over the ground hitches are, m.
const UP_M: f64 = 30.0;
/// Where they are, m.
const HITCH_M: DVec3 = DVec3::new(0.0, 0.0, UP_M);

fn tether(at_m: DVec3, free_m: f64, stiffness_n: f64) -> Tether {
    Tether {
        at_m,
        to_m: HITCH_M,
        free_m,
        tail: None,
        stiffness_n,
        damping: 0.0,
        breaks_n: f64::INFINITY,
        runs_n: f64::INFINITY,
    }
}

/// A drop on lines, begun at rest at a place and attitude, seen every `every_s`.
fn on_lines(
    piece: &Piece,
    tethers: Vec<Tether>,
    (centre_m, attitude): (DVec3, DQuat),
    pace: Pace,
    (horizon_s, every_s): (f64, f64),
) -> Track {
    let site: Site = bank(0.0, firm());
    let setup = Setup { tethers, pace, horizon_s, ..Setup::new(&site, GroundLaw::Soil) };
    let motion = Motion { centre_m, attitude, velocity_m_s: DVec3::ZERO, spin_rad_s: DVec3::ZERO };
    drop(&setup, piece, &Launch { motion, time_s: 0.0 }, Key::root(1), every_s)
}

/// A log straight under its hitch, fast at its top, that falls `fall_m` until the line is tight.
fn caught(piece: &Piece, mut line: Tether, fall_m: f64, pace: Pace) -> Track {
    line.at_m = piece.top_m();
    let top_m = HITCH_M - DVec3::Z * (line.free_m - fall_m);
    let centre_m = top_m - piece.top_m();
    on_lines(piece, vec![line], (centre_m, DQuat::IDENTITY), pace, (2.0, f64::INFINITY))
}

fn finer(pace: Pace) -> Pace {
    Pace { line_share: 0.5 * pace.line_share, ..pace }
}

#[test]
fn verif_a_log_caught_straight_under_its_hitch_peaks_as_the_fall_formula_says() {
    let mut check = Check::new(
        Table::Equations,
        "verif_lines::verif_a_log_caught_straight_under_its_hitch_peaks_as_the_fall_formula_says",
        "peak tension of a line without damping that catches a log straight under it, ropes of 50 to \
         1,000 kN a unit stretch, free falls of 0 to 6 m; and in steps half as long",
        "closed form: W(1 + √(1 + 2 EA h/(W L)))",
    );
    for (length_m, across_m) in [(1.2, 0.3), (3.0, 0.5)] {
        let piece = log(length_m, across_m);
        let weight_n = piece.mass_kg * GRAVITY_M_S2;
        for stiffness_n in [50e3, 222e3, 1e6] {
            for (free_m, fall_m) in [(4.0, 0.0), (4.0, 0.5), (8.0, 6.0), (1.0, 1.9)] {
                let line = tether(DVec3::ZERO, free_m, stiffness_n);
                let theirs_n = peak_n(weight_n, fall_m, free_m, stiffness_n);
                let by_hand = weight_n
                    * (1.0 + (1.0 + 2.0 * stiffness_n * fall_m / (weight_n * free_m)).sqrt());
                assert_eq!(theirs_n, by_hand);
                let case = format!(
                    "{length_m} m log, {:.0} kN, L {free_m} m, h {fall_m} m",
                    stiffness_n / 1e3
                );
                for (steps, pace) in
                    [("", Pace::default()), (", half steps", finer(Pace::default()))]
                {
                    let track = caught(&piece, line.clone(), fall_m, pace);
                    let ours_n = track.lines[0].peak_n;
                    check.near(&format!("{case}{steps}"), "N", ours_n, by_hand, Share(0.005));
                }
            }
        }
    }
    check.end();
}

/// A short log hung by its centre: a point on a string.
fn bob() -> Piece {
    log(0.3, 0.2)
}

/// Swings from `start_rad` off the plumb line on `length_m` of rope that hardly stretches.
fn swing(length_m: f64, start_rad: f64, horizon_s: f64) -> (Piece, Track) {
    let piece = bob();
    let (sine, cosine) = start_rad.sin_cos();
    // Stretched already by what it bears there, and without a bounce of its own.
    let gives = piece.mass_kg * GRAVITY_M_S2 * cosine / 2e7;
    let line = Tether { damping: 0.5, ..tether(DVec3::ZERO, length_m * (1.0 - gives), 2e7) };
    let centre_m = HITCH_M + length_m * DVec3::new(sine, 0.0, -cosine);
    let pose = (centre_m, DQuat::IDENTITY);
    let track = on_lines(&piece, vec![line], pose, Pace::default(), (horizon_s, 0.002));
    (piece, track)
}

/// Time of a whole swing, s, by the arithmetic–geometric mean.
fn pendulum_s(length_m: f64, start_rad: f64) -> f64 {
    let (mut a, mut g) = (1.0_f64, (0.5 * start_rad).cos());
    for _ in 0..8 {
        (a, g) = (0.5 * (a + g), (a * g).sqrt());
    }
    2.0 * PI * (length_m / GRAVITY_M_S2).sqrt() / a
}

#[test]
fn verif_a_tied_log_swings_as_a_pendulum() {
    let mut check = Check::new(
        Table::Equations,
        "verif_lines::verif_a_tied_log_swings_as_a_pendulum",
        "a log hung by its centre and let go 20 to 80° out: speed and tension at the bottom, time of a \
         swing, how far out it comes on the other side",
        "closed form: v = √(2 g L(1 − cos θ)), T = W(3 − 2 cos θ), 4√(L/g) K(sin θ/2) by the \
         arithmetic–geometric mean, L sin θ and half the log",
    );
    for (length_m, deg) in [(2.0, 20.0_f64), (4.0, 60.0), (6.0, 80.0)] {
        let start_rad = deg.to_radians();
        let whole_s = pendulum_s(length_m, start_rad);
        let (piece, track) = swing(length_m, start_rad, 1.1 * whole_s);
        let case = format!("{length_m} m, {deg}°");
        let fastest = track.samples.iter().map(|s| s.motion.velocity_m_s.length());
        let fastest = fastest.fold(0.0, f64::max);
        let theirs = (2.0 * GRAVITY_M_S2 * length_m * (1.0 - start_rad.cos())).sqrt();
        check.near(&case, "m/s", fastest, theirs, Share(0.002));
        // Back where it started: the farthest out on its own side, late in the drop.
        let back = track.samples.iter().filter(|s| s.time_s > 0.6 * whole_s);
        let back = back.max_by(|a, b| a.motion.centre_m.x.total_cmp(&b.motion.centre_m.x));
        let back_s = back.map_or(0.0, |s| s.time_s);
        check.near(&case, "s", back_s, whole_s, Share(0.005));
        let weight_n = piece.mass_kg * GRAVITY_M_S2;
        let theirs_n = weight_n * (3.0 - 2.0 * start_rad.cos());
        check.near(&case, "N", track.lines[0].peak_n, theirs_n, Share(0.005));
        let out_m = track.samples.iter().map(|s| -s.motion.centre_m.x).fold(0.0, f64::max);
        check.near(&case, "m out", out_m, length_m * start_rad.sin(), Share(0.002));
        let far = track.lines[0].swing_m;
        let theirs = length_m * start_rad.sin();
        assert!((far - theirs).abs() < 0.05, "{far} for {theirs}");
    }
    check.end();
}

#[test]
fn verif_energy_on_a_line_is_kept_and_with_damping_only_lost() {
    let piece = log(1.6, 0.3);
    let weight_n = piece.mass_kg * GRAVITY_M_S2;
    let (stiffness_n, free_m) = (60e3, 3.0);
    for damping in [0.0, 0.1] {
        // Fast off its centre, lying level, so that it swings and turns.
        let at_m = piece.butt_m() * 0.8;
        let line = Tether { damping, ..tether(at_m, free_m, stiffness_n) };
        let pose = (HITCH_M + DVec3::new(1.0, 0.4, -0.5), DQuat::from_rotation_x(0.5 * PI));
        let run = (3.0, 0.005);
        let track = on_lines(&piece, vec![line.clone()], pose, Pace::default(), run);
        let energy_j = |motion: &Motion| {
            let over_m = (motion.point_m(at_m).distance(HITCH_M) - free_m).max(0.0);
            let spin = motion.attitude.inverse() * motion.spin_rad_s;
            0.5 * piece.mass_kg * motion.velocity_m_s.length_squared()
                + 0.5 * spin.dot(spin * piece.inertia_kg_m2)
                + weight_n * motion.centre_m.z
                + 0.5 * line.spring_n_m() * over_m * over_m
        };
        let all: Vec<f64> = track.samples.iter().map(|s| energy_j(&s.motion)).collect();
        let (first, last) = (all[0], all[all.len() - 1]);
        let scale_j = weight_n * free_m;
        assert!(track.lines[0].tight_s.is_some());
        if damping == 0.0 {
            let worst = all.iter().map(|e| (e - first).abs()).fold(0.0, f64::max);
            assert!(worst < 0.003 * scale_j, "{worst} of {scale_j} J");
        } else {
            let gained = all.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
            assert!(gained < 0.001 * scale_j, "{gained} of {scale_j} J");
            assert!(last < first - 0.05 * scale_j, "{last} of {first} J");
        }
    }
}

#[test]
fn verif_a_line_breaks_past_its_strength_and_not_below() {
    let piece = log(1.2, 0.3);
    let weight_n = piece.mass_kg * GRAVITY_M_S2;
    let (stiffness_n, free_m, fall_m) = (222e3, 4.0, 2.0);
    let peak = peak_n(weight_n, fall_m, free_m, stiffness_n);
    let run = |breaks_n: f64| {
        let line = Tether { breaks_n, ..tether(DVec3::ZERO, free_m, stiffness_n) };
        caught(&piece, line, fall_m, Pace::default())
    };
    let held = run(1.01 * peak);
    assert!(held.lines[0].broke_s.is_none() && held.first_touch.is_none());
    let broken = run(0.99 * peak);
    let tight_s = (2.0 * fall_m / GRAVITY_M_S2).sqrt();
    let load = broken.lines[0];
    assert!((load.tight_s.unwrap() - tight_s).abs() < 0.01, "{load:?}");
    assert!(load.broke_s.unwrap() > tight_s && load.holds_n == 0.0);
    // It goes on: on the ground in the end, or still on its way down.
    let last = broken.samples.last().unwrap().motion;
    assert!(last.centre_m.z < UP_M - free_m - 5.0, "{last:?}");
}

#[test]
fn verif_a_lowered_log_hangs_still_in_its_block_with_twice_its_weight() {
    let piece = log(1.2, 0.3);
    let weight_n = piece.mass_kg * GRAVITY_M_S2;
    let (stiffness_n, free_m, tail_m, fall_m) = (222e3, 2.0, 10.0, 1.5);
    for friction in [0.0, 0.2] {
        let tail = Tail { brake_m: HITCH_M - DVec3::Z * tail_m, friction };
        let line = Tether { tail: Some(tail), ..tether(DVec3::ZERO, free_m, stiffness_n) };
        let ratio = (-friction * PI).exp();
        let loaded_m = free_m + tail_m * ratio;
        assert!((line.loaded_m() / loaded_m - 1.0).abs() < 1e-9);
        let track = caught(&piece, line, fall_m, Pace::default());
        let theirs_n = peak_n(weight_n, fall_m, loaded_m, stiffness_n);
        let load = track.lines[0];
        assert!((load.peak_n / theirs_n - 1.0).abs() < 0.005, "{} for {theirs_n}", load.peak_n);
        let on_block = load.hitch_n.length() / load.peak_n;
        assert!((on_block / (1.0 + ratio) - 1.0).abs() < 1e-6, "{on_block}");
        assert!((load.hitch_tail_n / load.peak_n / ratio - 1.0).abs() < 1e-6);
    }
    // Damped, it comes to hang there.
    let line = Tether { damping: 0.2, at_m: piece.top_m(), ..tether(DVec3::ZERO, free_m, 222e3) };
    let centre_m = HITCH_M - DVec3::Z * 1.0 - piece.top_m();
    let pose = (centre_m, DQuat::IDENTITY);
    let run = (60.0, f64::INFINITY);
    let track = on_lines(&piece, vec![line.clone()], pose, Pace::default(), run);
    assert_eq!((track.ending, track.rests_on), (Ending::Rest, Some(RestsOn::Line)));
    assert!((track.lines[0].holds_n / weight_n - 1.0).abs() < 0.01, "{:?}", track.lines);
    let again = on_lines(&piece, vec![line], pose, Pace::default(), run);
    assert_eq!(track, again);
}

#[test]
fn verif_hands_let_a_line_run_at_what_they_hold() {
    let piece = log(1.2, 0.3);
    let hold_n = 300.0;
    let weight_n = piece.mass_kg * GRAVITY_M_S2;
    let line = Tether { runs_n: hold_n, ..tether(DVec3::ZERO, 4.0, 222e3) };
    let track = caught(&piece, line, 0.5, Pace::default());
    let load = track.lines[0];
    assert_eq!(load.peak_n, hold_n);
    // From the moment it is tight it falls with what its weight has over the hands.
    let tight_s = load.tight_s.unwrap();
    let net = (weight_n - hold_n) / piece.mass_kg;
    let down_m = |s: f64| (2.0 * GRAVITY_M_S2 * 0.5).sqrt() * s + 0.5 * net * s * s;
    let (mut low, mut high) = (0.0, 2.0 - tight_s);
    // It may have come to the ground by then: what ran is no more than the way there.
    let ground_m = UP_M - 4.0 - piece.length_m();
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if down_m(middle) < ground_m { low = middle } else { high = middle }
    }
    let theirs = down_m(low);
    assert!((load.ran_m / theirs - 1.0).abs() < 0.02, "{} for {theirs}", load.ran_m);
}

#[test]
fn verif_lines_act_on_rigid_ground_as_on_soil() {
    let piece = log(1.2, 0.3);
    let site = bank(0.0, firm());
    let line = Tether { at_m: piece.top_m(), ..tether(DVec3::ZERO, 4.0, 222e3) };
    let centre_m = HITCH_M - DVec3::Z * 2.5 - piece.top_m();
    let motion = Motion {
        centre_m,
        attitude: DQuat::IDENTITY,
        velocity_m_s: DVec3::ZERO,
        spin_rad_s: DVec3::ZERO,
    };
    let setup =
        Setup { tethers: vec![line], horizon_s: 1.5, ..Setup::new(&site, GroundLaw::Rigid) };
    let launch = Launch { motion, time_s: 0.0 };
    let track = drop(&setup, &piece, &launch, Key::root(1), f64::INFINITY);
    let theirs_n = peak_n(piece.mass_kg * GRAVITY_M_S2, 1.5, 4.0, 222e3);
    assert!((track.lines[0].peak_n / theirs_n - 1.0).abs() < 0.01, "{:?}", track.lines);
}
