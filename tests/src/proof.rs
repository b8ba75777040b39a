//! Pieces, grounds, motions and intervals that the proofs of the ground law share.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::{
    f64::consts::{FRAC_PI_2, PI},
    sync::OnceLock,
};

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::mover::{Mover, Pace},
    ground::{Ground, Strength},
    keyed::Key,
    motion::Motion,
    release::Launch,
    soil::{
        bed::Bed,
        testing::{bank, firm, log},
    },
    tree::{Piece, Round},
};

/// Gravity in the world frame, m/s².
pub const DOWN: DVec3 = DVec3::new(0.0, 0.0, -GRAVITY_M_S2);

/// Whether the long tests are asked for: `TUMBLEWOOD_LONG=1`.
#[must_use]
pub fn is_long() -> bool {
    static LONG: OnceLock<bool> = OnceLock::new();
    *LONG.get_or_init(|| std::env::var_os("TUMBLEWOOD_LONG").is_some_and(|v| v == "1"))
}

/// `short`, or `long` where long tests are asked for; the first says plainly what it left out.
#[must_use]
pub fn unless_long(what: &str, short: u64, long: u64) -> u64 {
    if is_long() {
        return long;
    }
    #[expect(clippy::print_stdout, reason = "a test that leaves something out says so")]
    {
        println!("{what}: {short} of {long}; all of them with TUMBLEWOOD_LONG=1");
    }
    short
}

/// Ground whose strength is one constant, set by what the piece bears, with no friction.
#[must_use]
pub fn constant(restitution: f64) -> Ground {
    Ground {
        soil: Strength::Cohesive { shear_strength_pa: 1e9 },
        friction: 0.0,
        inertial_factor: 0.0,
        restitution,
        mobilised_at: 0.0,
        ..firm()
    }
}

/// The same piece of a wood that bears the same on side and end.
#[must_use]
pub fn bearing_all(piece: &Piece, strength_pa: f64) -> Piece {
    Piece { side_crush_pa: strength_pa, end_crush_pa: strength_pa, ..piece.clone() }
}

/// A log with a taper and a stub that stands out to one side; its mass and moments are those of
/// the plain log, because only where it meets the ground matters here.
#[must_use]
pub fn log_with_stub(length_m: f64, diameter_m: f64) -> Piece {
    let plain = log(length_m, diameter_m);
    let stem = Round {
        from_radius_m: 0.55 * diameter_m,
        to_radius_m: 0.42 * diameter_m,
        ..plain.rounds[0]
    };
    let stub = Round {
        from_m: DVec3::new(0.3 * diameter_m, 0.0, 0.2 * length_m),
        to_m: DVec3::new(diameter_m, 0.0, 0.25 * length_m),
        from_radius_m: 0.2 * diameter_m,
        to_radius_m: 0.15 * diameter_m,
        from_is_face: false,
        to_is_face: true,
    };
    Piece {
        rounds: vec![stem, stub],
        inertia_kg_m2: plain.inertia_kg_m2 * DVec3::new(1.0, 1.1, 1.0),
        ..plain
    }
}

/// A body that moves without turning.
#[must_use]
pub fn falling(centre_m: DVec3, attitude: DQuat, velocity_m_s: DVec3) -> Motion {
    Motion { centre_m, attitude, velocity_m_s, spin_rad_s: DVec3::ZERO }
}

/// Draws from one key: `draw(i)` is uniform in ±1.
pub fn draws(key: Key) -> impl Fn(u64) -> f64 {
    move |i| 2.0 * key.number(i).uniform() - 1.0
}

/// An attitude uniform over all (Shoemake 1992), from three draws in ±1.
#[must_use]
pub fn any_attitude(u: f64, v: f64, w: f64) -> DQuat {
    let share = 0.5 * (u + 1.0);
    let (a, b) = ((1.0 - share).sqrt(), share.sqrt());
    DQuat::from_xyzw(a * (PI * v).sin(), a * (PI * v).cos(), b * (PI * w).sin(), b * (PI * w).cos())
}

/// Lowest point of a piece above the plane through the origin with this normal, m.
#[must_use]
pub fn clearance_m(piece: &Piece, motion: &Motion, normal: DVec3) -> f64 {
    let mut least = f64::INFINITY;
    for round in &piece.rounds {
        let (from, to) = (motion.point_m(round.from_m), motion.point_m(round.to_m));
        let sine = (1.0 - (to - from).normalize().dot(normal).powi(2)).max(0.0).sqrt();
        least = least
            .min(from.dot(normal) - sine * round.from_radius_m)
            .min(to.dot(normal) - sine * round.to_radius_m);
    }
    least
}

/// Force along over force up of a log's rim that is dragged level, buried by `depth_m`; its axis is
/// `upright_deg` out of the level, its side in front where `way` is 1 and its face where −1. All that
/// the ground may give back it gives, as if the rim had been pressed in before.
#[must_use]
pub fn dragged(ground: Ground, piece: &Piece, upright_deg: f64, way: f64, depth_m: f64) -> f64 {
    let site = bank(0.0, ground);
    let bed = Bed::new(&site);
    let attitude = DQuat::from_rotation_y(FRAC_PI_2 - upright_deg.to_radians());
    let mut from = falling(DVec3::ZERO, attitude, DVec3::X * way * 3.0);
    from.centre_m.z -= clearance_m(piece, &from, DVec3::Z) + depth_m;
    let mut mover = Mover::new(piece, &from, &bed);
    mover.ledger.returnable_j = 1e9;
    mover.step(&bed, DVec3::ZERO, 1e-6, &Pace::default());
    let push = mover.velocity_m_s - from.velocity_m_s;
    -way * push.x / push.z
}

/// Runs until the ground lets go again or `limit_s` has passed; true when it let go.
pub fn until_free(
    mover: &mut Mover<'_>,
    bed: &Bed<'_>,
    gravity: DVec3,
    pace: &Pace,
    limit_s: f64,
) -> bool {
    mover.look(bed, pace);
    let (mut time, mut touched) = (0.0, false);
    while time < limit_s {
        let dt = mover.next_step_s();
        mover.step(bed, gravity, dt, pace);
        time += dt;
        let touching = !mover.contact.quads.is_empty();
        if touched && !touching {
            return true;
        }
        touched |= touching;
    }
    false
}

/// Runs for `time_s`, whatever happens.
pub fn run_for(mover: &mut Mover<'_>, bed: &Bed<'_>, gravity: DVec3, pace: &Pace, time_s: f64) {
    mover.look(bed, pace);
    let mut time = 0.0;
    while time < time_s {
        let dt = mover.next_step_s();
        mover.step(bed, gravity, dt, pace);
        time += dt;
    }
}

/// A launch eight metres over a straight bank, 150 m up from its middle: nose down along the fall
/// line or lying across it, as `key` scatters it.
#[must_use]
pub fn launched(slope_rad: f64, nose: bool, key: Key) -> Launch {
    let x = -150.0;
    let attitude = if nose {
        DQuat::from_rotation_y(PI * (0.75 + 0.2 * (key.number(5).uniform() - 0.5)))
    } else {
        DQuat::from_rotation_z(0.1 * key.number(6).normal()) * DQuat::from_rotation_x(0.5 * PI)
    };
    let motion = Motion {
        centre_m: DVec3::new(x, 0.0, 8.0 - x * slope_rad.tan()),
        attitude,
        velocity_m_s: DVec3::X,
        spin_rad_s: DVec3::new(0.0, 0.8 * key.number(7).normal(), 0.1 * key.number(8).normal()),
    };
    Launch { motion, time_s: 0.0 }
}
