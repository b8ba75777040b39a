//! Solves its equations: barrier logs that hold, that are carried away, and what they reach then.

use glam::{DQuat, DVec3};
use tumblewood::{
    drop::{Ending, GroundLaw, Setup, Track, drop},
    keyed::Key,
    motion::Motion,
    outcome::judge,
    release::Launch,
    site::{Answer, Body, BodyKind, Holding, Shape, Site},
    soil::testing::{bank, bank_normal, firm, log},
    tree::Piece,
};

/// Radius of the barrier log, m.
const RADIUS_M: f64 = 0.2;
/// Its length, m.
const LENGTH_M: f64 = 4.0;

/// A barrier log across a bank that goes down along x, with the middle of its axis over `x_m`.
fn barrier(slope_rad: f64, x_m: f64, held: impl Fn(Piece, Motion) -> Answer) -> Body {
    let piece = log(LENGTH_M, 2.0 * RADIUS_M);
    let at_m = DVec3::new(x_m, 0.0, -x_m * slope_rad.tan()) + bank_normal(slope_rad) * RADIUS_M;
    let attitude = DQuat::from_rotation_arc(DVec3::Z, DVec3::Y);
    let motion =
        Motion { centre_m: at_m, attitude, velocity_m_s: DVec3::ZERO, spin_rad_s: DVec3::ZERO };
    let half_m = DVec3::Y * (0.5 * LENGTH_M - RADIUS_M);
    let answer = held(piece, motion);
    let shape = Shape::Capsule { from_m: at_m - half_m, to_m: at_m + half_m, radius_m: RADIUS_M };
    let shapes = if matches!(answer, Answer::Free { .. }) { vec![] } else { vec![shape] };
    Body { id: "barrier".into(), kind: BodyKind::BarrierLog, is_target: false, answer, shapes }
}

fn held(force_n: f64, travel_m: f64) -> impl Fn(Piece, Motion) -> Answer {
    move |piece, motion| Answer::Held {
        piece: Box::new(piece),
        motion,
        hold: Holding { force_n, travel_m },
    }
}

fn free(piece: Piece, motion: Motion) -> Answer {
    Answer::Free { piece: Box::new(piece), motion }
}

/// A shed across the bank down at `x_m`.
fn shed(slope_rad: f64, x_m: f64) -> Body {
    let centre_m = DVec3::new(x_m, 0.0, -x_m * slope_rad.tan());
    let shape =
        Shape::Cuboid { centre_m, attitude: DQuat::IDENTITY, half_m: DVec3::new(0.5, 12.0, 2.5) };
    Body {
        id: "shed".into(),
        kind: BodyKind::Structure,
        is_target: true,
        answer: Answer::Fixed,
        shapes: vec![shape],
    }
}

/// A log thrown along x, end on, at the axis of the barrier, a hand's breadth before it.
fn thrown(site: &Site, piece: &Piece, at: &Body, speed_m_s: f64, horizon_s: f64) -> Track {
    let (Answer::Held { motion, .. } | Answer::Free { motion, .. }) = &at.answer else { panic!() };
    let back_m = RADIUS_M + 0.5 * piece.length_m() + 0.02;
    let centre_m = motion.centre_m - DVec3::X * back_m;
    let attitude = DQuat::from_rotation_arc(DVec3::Z, DVec3::X);
    let motion =
        Motion { centre_m, attitude, velocity_m_s: DVec3::X * speed_m_s, spin_rad_s: DVec3::ZERO };
    let setup = Setup { horizon_s, ..Setup::new(site, GroundLaw::Soil) };
    drop(&setup, piece, &Launch { motion, time_s: 0.0 }, Key::root(1), f64::INFINITY)
}

#[test]
fn verif_a_held_log_is_let_go_where_a_blow_passes_what_holds_it() {
    // m²v²/(2(m + M)) against F·s, both sides of it by a few per cent; level ground.
    let piece = log(1.2, 0.3);
    let (m, mass) = (piece.mass_kg, log(LENGTH_M, 2.0 * RADIUS_M).mass_kg);
    for (force_n, travel_m) in [(500.0, 0.4), (2_500.0, 0.2), (6_000.0, 0.15)] {
        let limit_m_s = (2.0 * (m + mass) * force_n * travel_m).sqrt() / m;
        for (share, goes) in [(0.9, false), (1.1, true)] {
            let mut site = bank(0.0, firm());
            site.bodies.push(barrier(0.0, 5.0, held(force_n, travel_m)));
            let track = thrown(&site, &piece, &site.bodies[0], share * limit_m_s, 6.0);
            let went = !track.loose.is_empty();
            assert_eq!(went, goes, "{force_n} N over {travel_m} m, {share} of {limit_m_s} m/s");
        }
    }
}

#[test]
fn prop_a_log_that_holds_is_as_one_that_can_not_move() {
    let piece = log(1.2, 0.3);
    let slope_rad = 0.4;
    let run = |answer: &dyn Fn(Piece, Motion) -> Answer| {
        let mut site = bank(slope_rad, firm());
        site.bodies.push(barrier(slope_rad, 6.0, answer));
        let body = barrier(slope_rad, 6.0, held(1.0, 1.0));
        thrown(&site, &piece, &body, 4.0, 20.0)
    };
    let fixed = run(&|_, _| Answer::Fixed);
    let held = run(&held(1e7, 1.0));
    assert_eq!(fixed, held);
    assert!(held.loose.is_empty());
}

#[test]
fn verif_a_log_set_going_is_followed_to_its_rest_and_what_it_reaches_is_told() {
    let piece = log(1.2, 0.3);
    let slope_rad = 0.5;
    for hold in [true, false] {
        let mut site = bank(slope_rad, firm());
        let log = if hold {
            barrier(slope_rad, 4.0, held(400.0, 0.2))
        } else {
            barrier(slope_rad, 4.0, free)
        };
        site.bodies.push(log.clone());
        site.bodies.push(shed(slope_rad, 16.0));
        let track = thrown(&site, &piece, &log, 6.0, 60.0);
        let again = thrown(&site, &piece, &log, 6.0, 60.0);
        assert_eq!(track, again);
        let gone = &track.loose[0];
        assert_eq!(gone.body, 0);
        assert!(gone.moved_m > 8.0, "{gone:?}");
        assert_eq!(gone.ending, Ending::Rest, "{gone:?}");
        let outcome = judge(&track, &site);
        let told = &outcome.loose[0];
        assert_eq!(told.id, "barrier");
        // It rolls against the shed and stops there, a radius before its wall.
        assert!(told.reached[0].energy_j > 10.0, "{told:?}");
        let end_m = gone.end.centre_m;
        assert!(end_m.x < 15.5 && end_m.x > 13.0, "{gone:?}");
    }
}

#[test]
fn verif_what_holds_a_log_takes_its_work_from_it() {
    // Let go on level pavement-like ground, a log rolls less far the more it took to free it.
    let piece = log(1.2, 0.3);
    let far = |force_n: f64| {
        let mut site = bank(0.0, firm());
        site.bodies.push(barrier(0.0, 5.0, held(force_n, 0.3)));
        let track = thrown(&site, &piece, &site.bodies[0], 9.0, 60.0);
        track.loose.first().map_or(0.0, |log| log.moved_m)
    };
    let (light, heavy, held) = (far(50.0), far(500.0), far(60_000.0));
    assert!(light > heavy && heavy > 0.1 && held == 0.0, "{light} {heavy} {held}");
}
