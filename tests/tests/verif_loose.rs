//! What lies loose on a bank: it stops what runs into it, takes no more than that brought, and is
//! followed on its own.

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::{Ending, GroundLaw, Setup, Track, drop},
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::{Answer, Body, BodyKind, Shape, Site},
    soil::testing::{across, bank, bank_normal, firm, log, turf},
    tree::Piece,
};

/// Steep enough for a log to roll on, once it is set going.
const STEEP_RAD: f64 = 0.25;
/// So gentle that a log across it lies still on turf.
const GENTLE_RAD: f64 = 0.05;

/// A log that lies across the bank, so far down it, its axis so far off the ground.
fn across_at(slope_rad: f64, down_m: f64, off_m: f64) -> Motion {
    let (sine, cosine) = libm::sincos(slope_rad);
    Motion {
        centre_m: DVec3::new(cosine, 0.0, -sine) * down_m + bank_normal(slope_rad) * off_m,
        attitude: across(),
        velocity_m_s: DVec3::ZERO,
        spin_rad_s: DVec3::ZERO,
    }
}

fn free(id: &str, piece: Piece, motion: Motion) -> Body {
    Body {
        id: id.to_owned(),
        kind: BodyKind::BarrierLog,
        is_target: false,
        answer: Answer::Free { piece: Box::new(piece), motion },
        shapes: Vec::new(),
    }
}

/// A target that stands across the bank so far down it.
fn wall(down_m: f64) -> Body {
    let at = across_at(STEEP_RAD, down_m, 0.5).centre_m;
    Body {
        id: "wall".into(),
        kind: BodyKind::Structure,
        is_target: true,
        answer: Answer::Fixed,
        shapes: vec![Shape::Cuboid {
            centre_m: at,
            attitude: DQuat::IDENTITY,
            half_m: DVec3::new(0.2, 6.0, 1.5),
        }],
    }
}

/// A log of 2 m set rolling down the bank at 3 m/s.
fn rolled(slope_rad: f64, site: &Site) -> (Piece, Motion, Track) {
    let piece = log(2.0, 0.3);
    let (sine, cosine) = libm::sincos(slope_rad);
    let start = Motion {
        velocity_m_s: DVec3::new(cosine, 0.0, -sine) * 3.0,
        spin_rad_s: DVec3::Y * 20.0,
        ..across_at(slope_rad, 0.0, 0.16)
    };
    let mut setup = Setup::new(site, GroundLaw::Soil);
    setup.horizon_s = 30.0;
    let launch = Launch { motion: start, time_s: 0.0 };
    let track = drop(&setup, &piece, &launch, Key::root(1), f64::INFINITY);
    (piece, start, track)
}

fn down_m(slope_rad: f64, at_m: DVec3) -> f64 {
    at_m.x / libm::cos(slope_rad)
}

fn end_m(track: &Track) -> DVec3 {
    track.samples[track.samples.len() - 1].motion.centre_m
}

#[test]
fn verif_a_heavy_log_across_the_bank_stops_what_rolls_into_it() {
    let mut site = bank(GENTLE_RAD, turf());
    let (_, _, open) = rolled(GENTLE_RAD, &site);
    let run_m = down_m(GENTLE_RAD, end_m(&open));
    assert!(run_m > 5.5, "{run_m}");
    // Half a tonne of log, sunk a little as what has come to rest on turf is.
    site.bodies.push(free("lies", log(4.0, 0.45), across_at(GENTLE_RAD, 3.0, 0.19)));
    let (_, _, stopped) = rolled(GENTLE_RAD, &site);
    let lies = &stopped.loose[0];
    assert_eq!((stopped.ending, lies.ending), (Ending::Rest, Ending::Rest));
    let (piece_m, log_m) =
        (down_m(GENTLE_RAD, end_m(&stopped)), down_m(GENTLE_RAD, lies.end.centre_m));
    // Behind it, not in it.
    assert!(piece_m < log_m && log_m - piece_m > 0.3, "{piece_m} {log_m}");
    assert!(piece_m < run_m - 1.5, "{piece_m} of {run_m}");
    // Far off its path it changes no bit.
    site.bodies[0] = free("lies", log(4.0, 0.45), {
        let at = across_at(GENTLE_RAD, 3.0, 0.19);
        Motion { centre_m: at.centre_m + DVec3::Y * 40.0, ..at }
    });
    let (_, _, aside) = rolled(GENTLE_RAD, &site);
    assert_eq!((aside.samples, aside.steps), (open.samples, open.steps));
    assert_eq!(aside.loose[0].moved_m, 0.0);
}

#[test]
fn verif_what_is_knocked_loose_takes_no_more_than_was_brought() {
    // A lighter log, and one as heavy, knocked on toward a wall.
    for lies in [log(1.5, 0.16), log(2.0, 0.3)] {
        let mut site = bank(STEEP_RAD, firm());
        let mass_kg = lies.mass_kg;
        site.bodies.push(wall(12.0));
        let radius_m = lies.rounds[0].from_radius_m;
        site.bodies.push(free("lies", lies, across_at(STEEP_RAD, 3.0, radius_m)));
        let (piece, start, track) = rolled(STEEP_RAD, &site);
        let knocked = &track.loose[0];
        assert!(knocked.moved_m > 0.5, "{}", knocked.moved_m);
        let brought_j = 0.5 * piece.mass_kg * start.velocity_m_s.length_squared()
            + 0.5 * piece.inertia_kg_m2.z * start.spin_rad_s.length_squared();
        // Height is what else it can have had: of both, down to the wall.
        let fall_j = |mass_kg: f64, from_m: f64| {
            mass_kg * GRAVITY_M_S2 * (12.0 - from_m) * libm::sin(STEEP_RAD)
        };
        let most_j = brought_j + fall_j(piece.mass_kg, 0.0) + fall_j(mass_kg, 3.0);
        for touch in &knocked.touches {
            assert_eq!(touch.body, 0);
            assert!(touch.energy_j > 0.0 && touch.energy_j < most_j, "{touch:?} of {most_j}");
        }
        // What the log did is not the piece's: the wall stands in the way of both.
        let own = track.nearest[0].energy_j;
        assert!(!knocked.touches.is_empty() || own.is_none() || knocked.ending == Ending::Rest);
        assert!(down_m(STEEP_RAD, knocked.end.centre_m) < 12.0, "{:?}", knocked.end);
    }
}

#[test]
fn verif_a_free_log_set_going_in_the_open_goes_as_a_piece_would() {
    // One that lies at the foot of a steeper bank is struck and left behind: from the moment that
    // nothing is near it its energy only falls with its height, by the soil alone.
    let mut site = bank(STEEP_RAD, firm());
    site.bodies.push(free("lies", log(1.5, 0.16), across_at(STEEP_RAD, 3.0, 0.08)));
    let piece = log(2.0, 0.3);
    let (sine, cosine) = libm::sincos(STEEP_RAD);
    let start = Motion {
        velocity_m_s: DVec3::new(cosine, 0.0, -sine) * 3.0,
        spin_rad_s: DVec3::Y * 20.0,
        ..across_at(STEEP_RAD, 0.0, 0.16)
    };
    let mut setup = Setup::new(&site, GroundLaw::Soil);
    setup.horizon_s = 30.0;
    let launch = Launch { motion: start, time_s: 0.0 };
    let track = drop(&setup, &piece, &launch, Key::root(1), 0.02);
    let knocked = &track.loose[0];
    let mass_kg = log(1.5, 0.16).mass_kg;
    assert!(knocked.samples.len() > 20, "{}", knocked.samples.len());
    let energy_j = |m: &Motion| {
        0.5 * mass_kg * m.velocity_m_s.length_squared() + mass_kg * GRAVITY_M_S2 * m.centre_m.z
    };
    // Well after the last blow it only loses, but for what its spin gives back.
    let late: Vec<f64> =
        knocked.samples.iter().rev().take(15).map(|s| energy_j(&s.motion)).collect();
    assert!(late.windows(2).all(|pair| pair[0] <= pair[1] + 0.5), "{late:?}");
}
