//! The pull that holds a stem about its hinge, from where it stands to past its balance.
//!
//! The stem above the cut is rigid and turns by θ about the hinge's middle line, level and square
//! to the face, as in [`crate::release`]. With P a point of that line and a its direction (a turn
//! about it takes the vertical forward), C the centre, A the attachment, u the way of the rope from
//! A to its first fixed point, all as turned by θ:
//!
//! ```text
//! M_W(θ) = a·((C − P) × (−W·z))          moment of the weight, N m; positive forward
//! M_V(θ) = a·((C − P) × F)               of the wind's force F at the centre
//! ℓ(θ)   = a·((A − P) × u)               arm of the rope, m
//! T(θ)   = (M_hinge − M_W − M_V)/ℓ       pull in the rope at the stem, N; none below zero
//! ```
//!
//! In one upright plane it is T = (W·h·sin λ + M_hinge + M_wind)/(l·cos(λ + β)), λ the lean away
//! from the pull and β the rope's angle below level (textbook statics, from memory). M_hinge holds
//! from the start to the angle at which the hinge breaks. Left out: inertia, the rope's stretch and
//! weight, the stem's and the roots' bending, which all let a real tree rock.
//!
//! Known answers: `val_felling::val_pull_on_a_leaning_stem`, `verif_felling`.

use glam::{DQuat, DVec3};

/// Looks along the way of a stem that comes over.
const LOOKS: i32 = 200;

/// A stem above its hinge, standing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Above {
    /// Weight, N.
    pub weight_n: f64,
    /// Centre of mass, m.
    pub centre_m: DVec3,
    /// Middle of the hinge, m.
    pub pivot_m: DVec3,
    /// The hinge's line, level: a turn about it takes the vertical forward.
    pub axis: DVec3,
    /// Force of the wind at the centre, N.
    pub wind_n: DVec3,
    /// Moment that the hinge holds against bending, N m.
    pub hinge_n_m: f64,
    /// Turn at which the hinge breaks, rad.
    pub until_rad: f64,
}

/// The rope at the stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rope {
    /// Where it is made fast, the stem standing, m.
    pub from_m: DVec3,
    /// Its first fixed point, m.
    pub to_m: DVec3,
}

/// Moments at one turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    /// Of the weight, forward, N m.
    pub weight_n_m: f64,
    /// Of the wind, forward, N m.
    pub wind_n_m: f64,
    /// Of the hinge, against, N m.
    pub hinge_n_m: f64,
    /// Angle from vertical of hinge → centre, positive forward, rad.
    pub line_rad: f64,
}

impl Above {
    /// Level, toward the face.
    #[must_use]
    pub fn forward(&self) -> DVec3 {
        self.axis.cross(DVec3::Z)
    }

    /// The same in another wind, N.
    #[must_use]
    pub fn in_wind(&self, wind_n: DVec3) -> Self {
        Self { wind_n, ..*self }
    }

    /// Where a point of the stem is after a turn, m.
    #[must_use]
    pub fn turned(&self, point_m: DVec3, turn_rad: f64) -> DVec3 {
        let v = self.axis * libm::sin(0.5 * turn_rad);
        let turn = DQuat::from_xyzw(v.x, v.y, v.z, libm::cos(0.5 * turn_rad));
        self.pivot_m + turn * (point_m - self.pivot_m)
    }

    /// Moments about the hinge after a turn.
    #[must_use]
    pub fn moments(&self, turn_rad: f64) -> Moments {
        let arm = self.turned(self.centre_m, turn_rad) - self.pivot_m;
        let about = |force: DVec3| self.axis.dot(arm.cross(force));
        Moments {
            weight_n_m: about(-DVec3::Z * self.weight_n),
            wind_n_m: about(self.wind_n),
            hinge_n_m: if turn_rad < self.until_rad { self.hinge_n_m } else { 0.0 },
            line_rad: libm::atan2(arm.dot(self.forward()), arm.z),
        }
    }

    /// Moment that is missing to turn it further, N m; negative where it goes by itself.
    #[must_use]
    pub fn missing_n_m(&self, turn_rad: f64) -> f64 {
        let m = self.moments(turn_rad);
        m.hinge_n_m - m.weight_n_m - m.wind_n_m
    }

    /// Way of the rope from the stem after a turn, of length one.
    #[must_use]
    pub fn way(&self, rope: &Rope, turn_rad: f64) -> DVec3 {
        (rope.to_m - self.turned(rope.from_m, turn_rad)).normalize_or_zero()
    }

    /// Arm of the rope about the hinge after a turn, m; none or less where it pulls the wrong way.
    #[must_use]
    pub fn arm_m(&self, rope: &Rope, turn_rad: f64) -> f64 {
        let from = self.turned(rope.from_m, turn_rad) - self.pivot_m;
        self.axis.dot(from.cross(self.way(rope, turn_rad)))
    }

    /// Pull in the rope at the stem that holds it after a turn, N: 0 where it goes by itself; `None`
    /// where this rope can't hold it.
    #[must_use]
    pub fn pull_n(&self, rope: &Rope, turn_rad: f64) -> Option<f64> {
        let missing = self.missing_n_m(turn_rad);
        if missing <= 0.0 {
            return Some(0.0);
        }
        let arm_m = self.arm_m(rope, turn_rad);
        (arm_m > 0.0).then(|| missing / arm_m)
    }

    /// The greatest pull on the way from standing to a turn, N; infinite where this rope can't hold
    /// it somewhere on the way.
    #[must_use]
    pub fn greatest_pull_n(&self, rope: &Rope, to_rad: f64) -> f64 {
        (0..=LOOKS)
            .map(|i| to_rad * f64::from(i) / f64::from(LOOKS))
            .map(|turn| self.pull_n(rope, turn).unwrap_or(f64::INFINITY))
            .fold(0.0, f64::max)
    }

    /// The turn from which on it goes by itself, rad, within `most_rad`; by halving.
    #[must_use]
    pub fn balance_rad(&self, most_rad: f64) -> Option<f64> {
        let at = |i: i32| most_rad * f64::from(i) / f64::from(LOOKS);
        let first = (0..=LOOKS).find(|i| self.missing_n_m(at(*i)) <= 0.0)?;
        let (mut low, mut high) = (at((first - 1).max(0)), at(first));
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if self.missing_n_m(middle) <= 0.0 { high = middle } else { low = middle }
        }
        Some(high)
    }
}
