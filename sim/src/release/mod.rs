//! How a piece leaves the spar: hinge over a face, snap cut, push over the rim, bored hinge.
//!
//! The piece turns in the upright plane through the face's azimuth, about a level line: first the
//! hinge, then, once the face has closed, its lower lip; or the far rim of a flat cut. It is free
//! when nothing presses it on the spar any more. The equations are in [`turn`]; geometry between
//! the plane and the world is in [`plane`]. Wind and a hand's push act on the way.
//!
//! Left out: bending of the spar; the piece's rubbing on the spar after it is free (the drop
//! looks after that); side tearing of the hinge, for which only the heading's scatter stands.
//!
//! Known answers: `verif_release.rs` of the acceptance tests, and the tests of [`turn`].

pub mod plane;
mod step;
pub mod turn;

use glam::{DQuat, DVec3};

use crate::{
    motion::Motion,
    tree::{Section, Stem},
    wood::Species,
};

/// Turn at which a hinge's fibres break in bending, least and most, rad: a thick hinge of short
/// fibre early, a thin one of long fibre late. No source is known; ours.
pub const BREAK_ANGLE_RANGE_RAD: [f64; 2] = [15_f64.to_radians(), 60_f64.to_radians()];
/// Turn on the closed face that tears a hinge still whole, least and most, rad. Ours.
pub const TEAR_ANGLE_RANGE_RAD: [f64; 2] = [0.0, 8_f64.to_radians()];
/// Friction of fresh cut wood on wood, least and most. From memory.
pub const FRICTION_RANGE: [f64; 2] = [0.4, 0.6];

/// The moment a piece is free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Launch {
    /// Position, attitude and velocities at that moment.
    pub motion: Motion,
    /// Time since the piece began to move, s.
    pub time_s: f64,
}

/// What came of a release.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Release {
    /// The piece left the spar.
    Left(Launch),
    /// Gravity, push and pull cannot turn it.
    SitsBack {
        /// The moment about the hinge that is missing, N m.
        missing_moment_n_m: f64,
    },
}

/// A section as it stands on the spar, cut but not yet moving.
#[derive(Clone, Copy, Debug)]
pub struct Stand<'a> {
    /// The section.
    pub section: &'a Section,
    /// The stem's axis at the cut, world, m.
    pub cut_m: DVec3,
    /// Turns the stem frame into the world frame (the lean).
    pub attitude: DQuat,
    /// Radius of the stem at the cut, m.
    pub cut_radius_m: f64,
    /// Coulomb friction of wood on wood, fresh cut ([`FRICTION_RANGE`]).
    pub friction: f64,
    /// Force of the wind on the section, at its centre, world, N.
    pub wind_n: DVec3,
}

/// A hand's push, level and toward the face, until the hand has gone its way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Push {
    /// Force, N.
    pub force_n: f64,
    /// Height of the hand over the cut, along the stem, m.
    pub height_m: f64,
    /// Level way of the hand, m.
    pub travel_m: f64,
}

/// A face and the hinge behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HingeSpec {
    /// Azimuth the face looks to, clockwise from north, rad.
    pub face_azimuth_rad: f64,
    /// Opening of the face from lower to upper cut, rad.
    pub face_opening_rad: f64,
    /// How much of the opening lies below square to the stem, rad: 0 for a level lower cut.
    pub face_below_rad: f64,
    /// Depth of the face from the bark to the hinge, m.
    pub face_depth_m: f64,
    /// Thickness of the hinge along the face's direction, m.
    pub hinge_thickness_m: f64,
    /// Width of the hinge across it, m.
    pub hinge_width_m: f64,
    /// Compression strength along the grain, Pa.
    pub compression_along_pa: f64,
    /// Modulus of rupture, Pa.
    pub rupture_pa: f64,
    /// Where in its range the hinge's moment lies: −1 first yield C_par·w·t²/6, 0 central
    /// MOR·w·t²/6, 1 upper bound MOR·w·t²/4 (the upper bound and the mixing are ours).
    pub moment_factor: f64,
    /// Turn at which the hinge's fibres break in bending, rad ([`BREAK_ANGLE_RANGE_RAD`]).
    pub break_angle_rad: f64,
    /// Turn on the closed face that tears a hinge still whole, rad ([`TEAR_ANGLE_RANGE_RAD`]).
    pub tear_angle_rad: f64,
    /// Push, if any.
    pub push: Push,
}

/// A flat cut through the stem, or two opposed cuts past each other, and a push over the far rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RimSpec {
    /// Azimuth it is pushed to, clockwise from north, rad.
    pub azimuth_rad: f64,
    /// Moment that the wood left between two opposed cuts holds until it snaps, N m; 0 for a cut
    /// right through.
    pub holding_moment_n_m: f64,
    /// Push.
    pub push: Push,
}

/// A cut from below and one from above: a limb tears off between them.
///
/// The last wood between the cuts is a strip that folds under the limb's weight. Where the top cut
/// lies **outside** the under cut the strip splits along the grain and the limb is free almost at
/// once, hardly turned. Where they face each other it folds until the under cut's kerf has closed.
/// Where the top cut lies **inside** the under cut the limb's end lies on what is left of the
/// stub and turns on it, tip down, until it slides off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnderAndTopSpec {
    /// Azimuth the limb points to, clockwise from north, rad.
    pub azimuth_rad: f64,
    /// Depth of the under cut, m.
    pub under_depth_m: f64,
    /// How far the top cut lies outside the under cut, m; negative inside it.
    pub step_m: f64,
    /// Modulus of rupture, Pa.
    pub rupture_pa: f64,
    /// What the strip holds of the weight's moment while it folds ([`LAST_HOLD_RANGE`]).
    pub hold_share: f64,
    /// Where between none and all of [`SPLIT_RAD`] the strip has split, 0 to 1.
    pub split_share: f64,
}

/// What the last wood holds of the moment of the weight as it folds, least and most. Ours: it gives
/// way when the saw has made it just too thin.
pub const LAST_HOLD_RANGE: [f64; 2] = [0.3, 0.9];
/// Width of a saw cut, m (chain of 3/8 in pitch; common practice).
pub const KERF_M: f64 = 0.008;
/// Turn at which a strip that may split along the grain has done so, rad (2°). Ours.
pub const SPLIT_RAD: f64 = 2.0 * std::f64::consts::PI / 180.0;

/// How the piece is let go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Method {
    /// Face, back cut, and a push if it needs one.
    Hinge(HingeSpec),
    /// Face, hinge set by boring, the strap at the back let go last; a push if it needs one then.
    BoredHinge(HingeSpec),
    /// Two opposed cuts, broken off by hand.
    SnapCut(RimSpec),
    /// Cut through flat and pushed over the far rim.
    FlatCut(RimSpec),
    /// A limb's under cut and top cut.
    UnderAndTop(UnderAndTopSpec),
}

/// What differs from drop to drop.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scatter {
    /// Turn of the heading clockwise from the azimuth aimed at, rad.
    pub heading_rad: f64,
    /// Twist about the vertical when it leaves, counter-clockwise from above, rad/s.
    pub yaw_rad_s: f64,
    /// Share of its side lean that the piece follows, 0 (the hinge steers) to 1. Ours.
    pub side_follow: f64,
}

/// What happened on the way off the spar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// It began to turn.
    Started,
    /// The hinge broke in bending, or the holding wood snapped.
    HingeBroke,
    /// The face closed.
    FaceClosed,
    /// The hinge tore on the closed face.
    HingeTore,
    /// The butt began to slide outward over the rim or the lip.
    SlidOut,
    /// The butt began to slide back over the spar's top.
    SlidBack,
    /// Sliding stopped.
    Held,
    /// It is free.
    Left,
    /// It came to a stop.
    Stopped,
}

/// One moment on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// What happened.
    pub event: Event,
    /// Time since it began to move, s.
    pub time_s: f64,
    /// Turn since it began, rad.
    pub turn_rad: f64,
    /// Turning rate, rad/s.
    pub rate_rad_s: f64,
    /// Angle from vertical of the line from the pivot to the centre, rad.
    pub line_rad: f64,
}

/// What a climber wants to know before the back cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Angle from vertical of the line hinge (or rim) → centre, positive toward the face, rad.
    pub start_angle_rad: f64,
    /// Distance from hinge (or rim) to the centre, m.
    pub arm_m: f64,
    /// Moment of the weight about it, positive toward the face, N m.
    pub weight_moment_n_m: f64,
    /// Moment of the push at the start, N m.
    pub push_moment_n_m: f64,
    /// Moment of the wind at the start, N m.
    pub wind_moment_n_m: f64,
    /// Moment the hinge (or the holding wood) resists with, N m.
    pub hinge_moment_n_m: f64,
    /// First yield of the hinge, N m.
    pub hinge_moment_low_n_m: f64,
    /// Upper bound of the hinge, N m.
    pub hinge_moment_high_n_m: f64,
    /// Weight, push and wind less the hinge, N m: below zero it does not start.
    pub margin_n_m: f64,
    /// Side lean of the centre from the plane of the face, positive to the right, rad.
    pub side_angle_rad: f64,
}

impl<'a> Stand<'a> {
    /// A section cut from a stem whose foot is at `foot_m` in the world, in still air.
    #[must_use]
    pub fn on(stem: &Stem, section: &'a Section, from_m: f64, foot_m: DVec3) -> Self {
        let attitude = stem.lean.attitude();
        Self {
            section,
            cut_m: foot_m + attitude * (DVec3::Z * from_m),
            attitude,
            cut_radius_m: 0.5 * stem.diameter_m(from_m),
            friction: 0.5,
            wind_n: DVec3::ZERO,
        }
    }

    /// The section at rest on the spar.
    #[must_use]
    pub fn motion(&self) -> Motion {
        Motion {
            centre_m: self.cut_m + self.attitude * self.section.centre_m,
            attitude: self.attitude * self.section.attitude,
            velocity_m_s: DVec3::ZERO,
            spin_rad_s: DVec3::ZERO,
        }
    }
}

impl HingeSpec {
    /// The usual face and hinge on a stem of radius `cut_radius_m`: 70° opening with 20° of it
    /// below (OSHA Logging eTool, open face), face a third of the diameter deep, hinge a tenth of
    /// it thick and 80 % of it wide (same source); no push. Break and tear angles are ours.
    #[must_use]
    pub fn usual(face_azimuth_rad: f64, cut_radius_m: f64, species: &Species) -> Self {
        let diameter_m = 2.0 * cut_radius_m;
        Self {
            face_azimuth_rad,
            face_opening_rad: 70_f64.to_radians(),
            face_below_rad: 20_f64.to_radians(),
            face_depth_m: diameter_m / 3.0,
            hinge_thickness_m: 0.1 * diameter_m,
            hinge_width_m: 0.8 * diameter_m,
            compression_along_pa: species.compression_along_pa,
            rupture_pa: species.rupture_pa,
            moment_factor: 0.0,
            break_angle_rad: 40_f64.to_radians(),
            tear_angle_rad: 3_f64.to_radians(),
            push: Push::default(),
        }
    }

    /// Moment of the hinge at first yield, central and at its upper bound, N m.
    #[must_use]
    pub fn moments_n_m(&self) -> [f64; 3] {
        let section_m3 = self.hinge_width_m * self.hinge_thickness_m * self.hinge_thickness_m;
        let central = self.rupture_pa * section_m3 / 6.0;
        [self.compression_along_pa * section_m3 / 6.0, central, 1.5 * central]
    }

    /// Moment of the hinge at its factor, N m.
    #[must_use]
    pub fn moment_n_m(&self) -> f64 {
        let [low, central, high] = self.moments_n_m();
        let factor = self.moment_factor.clamp(-1.0, 1.0);
        central + factor.max(0.0) * (high - central) + factor.min(0.0) * (central - low)
    }
}

impl UnderAndTopSpec {
    /// The cuts as told; the strip holds and splits as in the middle of what it may.
    #[must_use]
    pub fn usual(azimuth_rad: f64, under_depth_m: f64, step_m: f64, species: &Species) -> Self {
        Self {
            azimuth_rad,
            under_depth_m,
            step_m,
            rupture_pa: species.rupture_pa,
            hold_share: 0.5 * (LAST_HOLD_RANGE[0] + LAST_HOLD_RANGE[1]),
            split_share: 0.5,
        }
    }

    /// Thickness of the wood left between the cuts when it can carry the limb no longer, m: where
    /// MOR·b·h²/6 is the moment of the weight, b the width of the limb's round section in the
    /// middle of it. `None` if it breaks before the top cut is begun: the under cut is too deep.
    #[must_use]
    pub fn tears_at_m(&self, cut_radius_m: f64, moment_n_m: f64) -> Option<f64> {
        let most_m = 2.0 * cut_radius_m - self.under_depth_m;
        let holds_n_m = |h_m: f64| {
            let off_m = self.under_depth_m + 0.5 * h_m - cut_radius_m;
            let half_m = (cut_radius_m * cut_radius_m - off_m * off_m).max(0.0).sqrt();
            self.rupture_pa * 2.0 * half_m * h_m * h_m / 6.0
        };
        if holds_n_m(most_m) < moment_n_m && holds_n_m(0.8 * most_m) < moment_n_m {
            return None;
        }
        let (mut low_m, mut high_m) = (0.0, 0.8 * most_m);
        if holds_n_m(high_m) < moment_n_m {
            high_m = most_m;
        }
        for _ in 0..40 {
            let middle_m = 0.5 * (low_m + high_m);
            if holds_n_m(middle_m) < moment_n_m {
                low_m = middle_m;
            } else {
                high_m = middle_m;
            }
        }
        Some(high_m)
    }
}

/// Moment about a bored hinge that the strap at the back holds until it is cut, N m.
///
/// The strap is the part of the cut's disc within `strap_m` of the bark at the back; it holds its
/// area times the modulus of rupture, which stands for the tension strength along the grain (Forest
/// Products Laboratory, Wood Handbook ch. 5, from memory: a low estimate of it for clear wood), at
/// the distance of its middle from the middle of the hinge. Rot, a fork or a crooked grain holds less.
#[must_use]
pub fn strap_moment_n_m(hinge: &HingeSpec, cut_radius_m: f64, strap_m: f64) -> f64 {
    let r = cut_radius_m;
    let off = (r - strap_m).clamp(-r, r);
    let area_m2 = r * r * libm::acos((off / r).clamp(-1.0, 1.0)) - off * (r * r - off * off).sqrt();
    let arm_m = 2.0 * r - hinge.face_depth_m - 0.5 * hinge.hinge_thickness_m - 0.5 * strap_m;
    hinge.rupture_pa * area_m2 * arm_m.max(0.0)
}

/// Lets the piece go.
#[must_use]
pub fn release(stand: &Stand, how: &Method, scatter: &Scatter) -> Release {
    trace(stand, how, scatter).0
}

/// Lets the piece go and says what happened on the way.
#[must_use]
pub fn trace(stand: &Stand, how: &Method, scatter: &Scatter) -> (Release, Vec<Moment>) {
    let plane = plane::Plane::new(stand, how, scatter);
    let (end, moments) = turn::turn(&plane.task);
    let release = match end {
        turn::End::Left { pose, time_s } => {
            Release::Left(Launch { motion: plane.motion(stand, &pose, scatter), time_s })
        }
        turn::End::Stopped { missing_moment_n_m } => Release::SitsBack { missing_moment_n_m },
    };
    (release, moments)
}

/// The balance of moments before the piece moves.
#[must_use]
pub fn describe(stand: &Stand, how: &Method) -> Balance {
    let plane = plane::Plane::new(stand, how, &Scatter::default());
    let [low, high] = match how {
        Method::Hinge(h) | Method::BoredHinge(h) => [h.moments_n_m()[0], h.moments_n_m()[2]],
        Method::SnapCut(r) => [r.holding_moment_n_m; 2],
        Method::FlatCut(_) => [0.0; 2],
        Method::UnderAndTop(_) => {
            let weight_n_m = plane.task.start_moments().weight_n_m.max(0.0);
            LAST_HOLD_RANGE.map(|share| share * weight_n_m)
        }
    };
    let start = plane.task.start_moments();
    Balance {
        start_angle_rad: start.line_rad,
        arm_m: start.arm_m,
        weight_moment_n_m: start.weight_n_m,
        push_moment_n_m: start.push_n_m,
        wind_moment_n_m: start.wind_n_m,
        hinge_moment_n_m: start.holding_n_m,
        hinge_moment_low_n_m: low,
        hinge_moment_high_n_m: high,
        margin_n_m: start.weight_n_m + start.push_n_m + start.wind_n_m - start.holding_n_m,
        side_angle_rad: plane.side_angle_rad,
    }
}

#[cfg(test)]
#[path = "release_tests.rs"]
mod tests;
