//! How firmly a resting piece rests.
//!
//! The slope is made steeper by turning gravity toward the fall line, and the piece is let go for
//! a second with no solids about: what stays on a slope 5° steeper rests firmly; what needs the
//! solids it leans on even on the slope as it is is held by them alone. 5° is ours: about what a
//! boot, a gust or the next piece landing beside it can do.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    drop::{
        mover::{Mover, Pace},
        track::Hold,
    },
    soil::bed::Bed,
};

/// A slope this much steeper must still hold a piece that rests firmly, rad.
const STEEPER_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;
/// For how long it is let go, s.
const LET_GO_S: f64 = 1.0;
/// Elements slower than this many v₀ …
const STILL_SPEEDS: f64 = 4.0;
/// … for this long have found their place, s.
const STILL_S: f64 = 0.1;
/// Moving further than this is going, m.
const GOES_M: f64 = 0.02;

/// Judges a piece at rest; `leans` says whether something solid touches it.
pub(crate) fn hold(mover: &Mover<'_>, bed: &Bed<'_>, pace: &Pace, leans: bool) -> Hold {
    if leans && goes(mover, bed, pace, 0.0) {
        Hold::ByAidOnly
    } else if goes(mover, bed, pace, STEEPER_RAD) {
        Hold::Marginal
    } else {
        Hold::Firm
    }
}

fn goes(mover: &Mover<'_>, bed: &Bed<'_>, pace: &Pace, steeper_rad: f64) -> bool {
    let at = mover.centre_m;
    let gradient = bed.site().terrain.surface(at.x, at.y).map_or(glam::DVec2::ZERO, |s| s.gradient);
    let downhill = (-gradient).normalize_or_zero();
    let (sine, cosine) = libm::sincos(steeper_rad);
    let gravity = GRAVITY_M_S2 * DVec3::new(downhill.x * sine, downhill.y * sine, -cosine);
    let mut trial = mover.clone();
    trial.solids.clear();
    trial.lines = None;
    trial.look(bed, pace);
    let (mut time, mut quiet) = (0.0, 0.0);
    let still = STILL_SPEEDS * pace.exactness.smoothing_m_s;
    while time < LET_GO_S && quiet < STILL_S {
        let dt = trial.next_step_s().min(pace.longest_sunk_s);
        let kicked = trial.step(bed, gravity, dt, pace);
        time += dt;
        let touching = !trial.contact.quads.is_empty();
        quiet = if touching && kicked.fastest_m_s < still { quiet + dt } else { 0.0 };
        if trial.centre_m.distance(at) > GOES_M {
            return true;
        }
    }
    false
}
