//! Shared set-up of the benchmarks: the bank, the pieces let go on it, and what drops came to.
//!
//! `cargo bench -p tumblewood-benches` runs all targets and prints one table (see README.md here);
//! `--bench NAME` runs one. Speed is shown as ratios within one run, of both sides in turns.

pub mod child;
pub mod engine;
pub mod table;

use std::f64::consts::PI;

use glam::{DQuat, DVec3};
use tumblewood::{
    drop::{Ending, Setup, Track, drop},
    ground::Ground,
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::Site,
    soil::testing::{across, bank, log},
    tree::Piece,
};

/// Slope of the bank, rad.
pub const SLOPE_RAD: f64 = 33.0 * PI / 180.0;
/// Roughness of the bank, m.
pub const ROUGHNESS_M: f64 = 0.08;
/// Where pieces are let go, m: 250 m of bank lie below.
const FROM_X_M: f64 = -150.0;
/// Height of the centre over the bank there, m.
const OVER_M: f64 = 8.0;

/// How a piece comes down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fall {
    /// Top first, along the fall line.
    Nose,
    /// Lying across the slope.
    Across,
}

impl Fall {
    /// The word in tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Nose => "nose",
            Self::Across => "across",
        }
    }
}

/// A bank of 33° with bumps of 8 cm, of one ground.
#[must_use]
pub fn rough_bank(ground: Ground) -> Site {
    bank(SLOPE_RAD, Ground { roughness_m: ROUGHNESS_M, ..ground })
}

/// A section of 0.4 m in diameter.
#[must_use]
pub fn section(length_m: f64) -> Piece {
    log(length_m, 0.4)
}

/// How drop `index` is let go, and the key of its bumps.
#[must_use]
pub fn start(fall: Fall, index: u64) -> (Motion, Key) {
    let key = Key::root(1).number(index);
    let attitude = match fall {
        Fall::Nose => DQuat::from_rotation_y(PI * (0.75 + 0.2 * (key.number(5).uniform() - 0.5))),
        Fall::Across => DQuat::from_rotation_z(0.105 * key.number(6).normal()) * across(),
    };
    let motion = Motion {
        centre_m: DVec3::new(FROM_X_M, 0.0, -FROM_X_M * SLOPE_RAD.tan() + OVER_M),
        attitude,
        velocity_m_s: DVec3::X,
        spin_rad_s: DVec3::new(0.0, 0.8 * key.number(7).normal(), 0.1 * key.number(8).normal()),
    };
    (motion, key.word("rough"))
}

/// One drop of the bench.
#[must_use]
pub fn drop_one(setup: &Setup<'_>, piece: &Piece, fall: Fall, index: u64) -> Track {
    let (motion, rough) = start(fall, index);
    drop(setup, piece, &Launch { motion, time_s: 0.0 }, rough, f64::INFINITY)
}

/// Simulated time from first touch to the end, s.
#[must_use]
pub fn lasted_s(track: &Track) -> f64 {
    let end = track.samples.last().map_or(0.0, |s| s.time_s);
    track.touches.first().map_or(0.0, |t| end - t.time_s)
}

/// Straight line from first touch to the end, m.
#[must_use]
pub fn rollout_m(track: &Track) -> f64 {
    let end = track.samples.last().map(|s| s.motion.centre_m);
    end.zip(track.touches.first()).map_or(0.0, |(e, t)| e.distance(t.point_m))
}

/// What became of a drop, as one letter: at rest, left the terrain, out of time.
#[must_use]
pub fn letter(ending: Ending) -> char {
    match ending {
        Ending::Rest => 'R',
        Ending::LeftTerrain => 'L',
        Ending::OutOfTime => 'T',
    }
}

/// Processor time of this thread so far, s: other work on the machine does not count in it.
#[must_use]
pub fn thread_cpu_s() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|ns| ns * 1e-9)
}

/// The same, or wall time since the first call where the system doesn't tell.
#[must_use]
pub fn cpu_s() -> f64 {
    static BEGUN: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
    let begun = BEGUN.get_or_init(std::time::Instant::now);
    thread_cpu_s().unwrap_or_else(|| begun.elapsed().as_secs_f64())
}
