//! What one drop amounts to.

use glam::{DVec2, DVec3};

use crate::{
    drop::{
        Against, Ending, Hold, LooseTouch, LooseTrack, RestsOn, Touch, Track, bending::Bent,
        tether::LineLoad,
    },
    motion::Motion,
    site::{Answer, Body, Shape, Site},
    thrown::{Dig, digs},
};

/// How a piece went: the first that holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// At least half a turn end over end after first touch.
    Tumbled,
    /// Rollout under 1 m and less than a quarter turn about any axis.
    Stayed,
    /// At least half the path with slip under 30 % of the centre's speed.
    Rolled,
    /// None of the others.
    Slid,
}

/// What a drop did to one target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reach {
    /// Touched, with this energy (J) and speed (m/s).
    Reached {
        /// Kinetic energy of the piece at first touch, J.
        energy_j: f64,
        /// Speed of its centre at first touch, m/s.
        speed_m_s: f64,
    },
    /// Not touched; the least 3D surface gap, m.
    Missed {
        /// Least gap, m.
        gap_m: f64,
    },
    /// The drop was lost before it could be told.
    Unknown,
}

/// What one drop amounts to.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// How it went.
    pub mode: Mode,
    /// First touch on the ground, if any.
    pub first_touch: Option<Touch>,
    /// Shares of the path slid, rolled and tumbled; they sum to 1 (or are all 0).
    pub parts: [f64; 3],
    /// Turns end over end after first touch.
    pub turns: f64,
    /// Distance along the ground from first touch to the end, m.
    pub rollout_m: f64,
    /// Greatest height over ground of the lowest point after first touch, m.
    pub height_over_ground_m: f64,
    /// Why it ended.
    pub ending: Ending,
    /// What it rests on, if it rests.
    pub rests_on: Option<RestsOn>,
    /// How firmly it rests, if it rests.
    pub hold: Option<Hold>,
    /// Where it ended, m.
    pub end_m: DVec3,
    /// Unit vector butt to top at the end.
    pub end_axis: DVec3,
    /// Per target, in the site's order of targets.
    pub reaches: Vec<Reach>,
    /// The hardest that the ground bent it, where that was asked for.
    pub bent: Option<Bent>,
    /// What each of its lines bore, by the cut's order; [`judge`] knows of none.
    pub lines: Vec<LineOutcome>,
    /// Touches that dug in and threw soil.
    pub digs: Vec<Dig>,
    /// What lay loose and was set going, or touched a target, in the order of the site's bodies.
    pub loose: Vec<LooseOutcome>,
    /// Cuts whose pieces are left where they stop and lay nowhere in this drop: they had sat back,
    /// left the known terrain or not come to rest.
    pub absent: Vec<String>,
    /// The hardest blow against something solid, by the speed of the point that struck, m/s; 0 if
    /// there was none.
    pub struck_m_s: f64,
}

/// What one line bore in a drop, beside what it may bear.
#[derive(Clone, Debug, PartialEq)]
pub struct LineOutcome {
    /// The line's id.
    pub id: String,
    /// What it bore.
    pub load: LineLoad,
    /// Its peak over its working load.
    pub working_share: f64,
    /// Share of the spar's bending strength that was used, where the line hangs on it.
    pub spar_share: Option<f64>,
}

impl LineOutcome {
    /// Whether it bore more than its working load.
    #[must_use]
    pub fn is_above_working(&self) -> bool {
        self.working_share > 1.0
    }

    /// Whether it broke.
    #[must_use]
    pub fn is_broken(&self) -> bool {
        self.load.broke_s.is_some()
    }
}

/// What became of something that lay loose, where it was set going or touched a target.
#[derive(Clone, Debug, PartialEq)]
pub struct LooseOutcome {
    /// The body's id.
    pub id: String,
    /// No point of it is further from where it lay than this, m.
    pub moved_m: f64,
    /// Why it ended.
    pub ending: Ending,
    /// Where it ended, m.
    pub end_m: DVec3,
    /// Targets it touched, in time order.
    pub reached: Vec<LooseReach>,
}

/// A target touched by something that lay loose.
#[derive(Clone, Debug, PartialEq)]
pub struct LooseReach {
    /// The target's id.
    pub target: String,
    /// Kinetic energy of what touched it, J.
    pub energy_j: f64,
    /// Speed of its centre, m/s.
    pub speed_m_s: f64,
}

impl LooseOutcome {
    /// What it did to a target.
    #[must_use]
    pub fn reach(&self, target: &Body) -> Reach {
        match self.reached.iter().find(|reach| reach.target == target.id) {
            Some(LooseReach { energy_j, speed_m_s, .. }) => {
                Reach::Reached { energy_j: *energy_j, speed_m_s: *speed_m_s }
            }
            None if is_unknown(self.ending, self.end_m, target) => Reach::Unknown,
            // How near it came isn't measured.
            None => Reach::Missed { gap_m: f64::INFINITY },
        }
    }
}

/// What lay loose was set going if it was moved by this, m; less is a nudge (ours).
const SET_GOING_M: f64 = 0.1;
/// A piece has turned end over end from this many turns on.
const TUMBLED_TURNS: f64 = 0.5;
/// A piece that stayed turned less than this about any axis, turns.
const STAYED_TURNS: f64 = 0.25;
/// A piece that stayed ran less than this, m.
const STAYED_M: f64 = 1.0;
/// A piece that rolled did so for this share of its path.
const ROLLED_SHARE: f64 = 0.5;

/// Judges a drop against the targets of its site, in the site's order.
#[must_use]
pub fn judge(track: &Track, site: &Site) -> Outcome {
    let end = track.samples.last().map_or(AT_ORIGIN, |sample| sample.motion);
    let first = track.first_touch.unwrap_or(end);
    let rollout_m = on_ground(site, first.centre_m).distance(on_ground(site, end.centre_m));
    let ground = track.touches.iter().find(|touch| touch.against == Against::Ground);
    let path = track.path_m.max(1e-9);
    let (rolled, tumbled) = (track.rolled_m / path, track.tumbled_m / path);
    let slid = if track.path_m > 0.0 { (1.0 - rolled - tumbled).max(0.0) } else { 0.0 };
    // The least angle between the two attitudes, in turns.
    let turned = first.attitude.angle_between(end.attitude) / std::f64::consts::TAU;
    let most_turned = turned.max(track.turns_about_axis).max(track.turns_end_over_end);
    let mode = if track.turns_end_over_end >= TUMBLED_TURNS {
        Mode::Tumbled
    } else if rollout_m < STAYED_M && most_turned < STAYED_TURNS {
        Mode::Stayed
    } else if rolled >= ROLLED_SHARE {
        Mode::Rolled
    } else {
        Mode::Slid
    };
    let blows = track.touches.iter().filter(|touch| touch.against != Against::Ground);
    let targets = site.bodies.iter().zip(&track.nearest).filter(|(body, _)| body.is_target);
    Outcome {
        mode,
        first_touch: ground.or(track.touches.first()).copied(),
        parts: [slid, rolled, tumbled],
        turns: track.turns_end_over_end,
        rollout_m,
        height_over_ground_m: track.height_over_ground_m,
        ending: track.ending,
        rests_on: track.rests_on,
        hold: track.hold,
        end_m: end.centre_m,
        end_axis: end.attitude * DVec3::Z,
        bent: track.bent,
        lines: Vec::new(),
        digs: digs(&track.touches, site),
        loose: track.loose.iter().filter_map(|loose| judge_loose(loose, site)).collect(),
        absent: Vec::new(),
        struck_m_s: blows.map(|touch| touch.speed_m_s).fold(0.0, f64::max),
        reaches: targets
            .map(|(body, nearest)| match (nearest.energy_j, nearest.speed_m_s) {
                (Some(energy_j), Some(speed_m_s)) => Reach::Reached { energy_j, speed_m_s },
                _ if is_unknown(track.ending, end.centre_m, body) => Reach::Unknown,
                _ => Reach::Missed { gap_m: nearest.gap_m },
            })
            .collect(),
    }
}

fn judge_loose(loose: &LooseTrack, site: &Site) -> Option<LooseOutcome> {
    if loose.moved_m < SET_GOING_M && loose.touches.is_empty() {
        return None;
    }
    let id = |body: usize| site.bodies.get(body).map_or_else(String::new, |b| b.id.clone());
    let reach = |touch: &LooseTouch| LooseReach {
        target: id(touch.body),
        energy_j: touch.energy_j,
        speed_m_s: touch.speed_m_s,
    };
    Some(LooseOutcome {
        id: id(loose.body),
        moved_m: loose.moved_m,
        ending: loose.ending,
        end_m: loose.end.centre_m,
        reached: loose.touches.iter().map(reach).collect(),
    })
}

/// Whether a drop that touched a body nowhere might still have come to it: it was lost above it.
#[must_use]
pub fn is_unknown(ending: Ending, end_m: DVec3, body: &Body) -> bool {
    ending != Ending::Rest && end_m.z > foot_m(body)
}

const AT_ORIGIN: Motion = Motion {
    centre_m: DVec3::ZERO,
    attitude: glam::DQuat::IDENTITY,
    velocity_m_s: DVec3::ZERO,
    spin_rad_s: DVec3::ZERO,
};

/// The ground under a place, or the place itself off the terrain.
fn on_ground(site: &Site, at: DVec3) -> DVec3 {
    site.terrain.surface(at.x, at.y).map_or(at, |s| DVec2::new(at.x, at.y).extend(s.height_m))
}

/// Height of the lowest point of a body, m: a drop lost above it might still have come.
pub(crate) fn foot_m(body: &Body) -> f64 {
    if let Answer::Free { motion, .. } = &body.answer {
        return motion.centre_m.z;
    }
    let lowest = |shape: &Shape| match shape {
        Shape::Cuboid { centre_m, attitude, half_m } => {
            let x = (*attitude * DVec3::X).z.abs() * half_m.x;
            let y = (*attitude * DVec3::Y).z.abs() * half_m.y;
            let z = (*attitude * DVec3::Z).z.abs() * half_m.z;
            centre_m.z - x - y - z
        }
        Shape::Capsule { from_m, to_m, radius_m } => from_m.z.min(to_m.z) - radius_m,
        Shape::Hull { points_m } => points_m.iter().map(|p| p.z).fold(f64::INFINITY, f64::min),
    };
    body.shapes.iter().map(lowest).fold(f64::INFINITY, f64::min)
}
