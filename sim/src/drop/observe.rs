//! What a drop amounts to while it runs: path, turns, touches, height over ground.
//!
//! The path is what the centre goes between first touch on the ground and the end (what a piece
//! brushes on its way down begins nothing), split by how it goes:
//! *tumbled* while the ends move by turning end over end at more than half the centre's speed,
//! else *rolled* while the lowest element slips at less than 30 % of it, else *slid*. In the air a
//! piece goes on as it last did. End over end is rotation about the level line across the way it
//! goes, less the piece's turning about its own axis; the count is the furthest it got, so that
//! rocking to and fro adds nothing.

use glam::DVec3;

use crate::{
    drop::{
        mover::Mover,
        track::{Against, Place, Sample, Touch},
    },
    motion::Motion,
};

/// Slip of the lowest element, as a share of the centre's speed, under which a piece rolls.
const ROLLS_BELOW: f64 = 0.3;
/// Speed of the ends by turning end over end, as a share of the centre's, above which it tumbles.
const TUMBLES_ABOVE: f64 = 0.5;
/// A touch after less than this in the air is the same touch, s.
const SAME_TOUCH_S: f64 = 0.03;
/// An axis less upright than this lies flat on the ground (|axis · normal|).
const FLAT_BELOW: f64 = 0.1;
/// Below this speed the way a piece goes is what it was, m/s.
const WAY_ABOVE_M_S: f64 = 0.2;
/// Touches gentler than this throw nothing that is worth a radius, m/s: it would be under 0.4 m.
const THROWS_ABOVE_M_S: f64 = 2.0;
/// Most touches kept of one drop.
const MOST_TOUCHES: usize = 2_000;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Going {
    Slid,
    Rolled,
    Tumbled,
}

/// Running totals of one drop.
#[derive(Clone, Debug)]
pub(crate) struct Observer {
    pub(crate) touches: Vec<Touch>,
    pub(crate) samples: Vec<Sample>,
    pub(crate) first_touch: Option<Motion>,
    pub(crate) path_m: f64,
    pub(crate) rolled_m: f64,
    pub(crate) tumbled_m: f64,
    pub(crate) height_m: f64,
    end_over_end_rad: f64,
    most_end_over_end_rad: f64,
    about_axis_rad: f64,
    most_about_axis_rad: f64,
    across: DVec3,
    going: Going,
    last_touch_s: f64,
    every_s: f64,
    next_sample_s: f64,
}

impl Observer {
    /// Begins at a launch; a sample is kept every `every_s` (infinity: first and last only).
    pub(crate) fn new(start: &Motion, every_s: f64) -> Self {
        Self {
            touches: Vec::new(),
            first_touch: None,
            samples: vec![Sample { time_s: 0.0, motion: *start, on_ground: false }],
            path_m: 0.0,
            rolled_m: 0.0,
            tumbled_m: 0.0,
            height_m: 0.0,
            end_over_end_rad: 0.0,
            most_end_over_end_rad: 0.0,
            about_axis_rad: 0.0,
            most_about_axis_rad: 0.0,
            across: DVec3::X,
            going: Going::Slid,
            last_touch_s: f64::NEG_INFINITY,
            every_s,
            next_sample_s: every_s,
        }
    }

    /// Turns end over end since first touch.
    pub(crate) fn turns_end_over_end(&self) -> f64 {
        self.most_end_over_end_rad / std::f64::consts::TAU
    }

    /// Turns about the stem's axis since first touch.
    pub(crate) fn turns_about_axis(&self) -> f64 {
        self.most_about_axis_rad / std::f64::consts::TAU
    }

    /// Notes one step that ended at `time_s`; `on_ground` says whether the ground pushed.
    pub(crate) fn step(&mut self, mover: &Mover<'_>, time_s: f64, dt_s: f64, on_ground: bool) {
        if time_s >= self.next_sample_s {
            let sample = Sample { time_s, motion: mover.motion(), on_ground };
            self.samples.push(sample);
            self.next_sample_s = time_s + self.every_s;
        }
        if on_ground {
            if time_s - self.last_touch_s > SAME_TOUCH_S {
                self.ground_touch(mover, time_s);
            }
            self.last_touch_s = time_s;
            if let Some(touch) = self.touches.last_mut()
                && touch.against == Against::Ground
                && touch.speed_m_s > THROWS_ABOVE_M_S
            {
                touch.dug_m3 = touch.dug_m3.max(mover.dug_m3());
            }
        }
        if self.first_touch.is_none() {
            return;
        }
        let velocity = mover.velocity_m_s;
        let speed = velocity.length();
        let spin = mover.spin_rad_s();
        let axis =
            mover.attitude * (mover.piece.top_m() - mover.piece.butt_m()).normalize_or(DVec3::Z);
        let about = spin.dot(axis);
        let level = velocity.truncate();
        if level.length() > WAY_ABOVE_M_S {
            self.across = DVec3::new(-level.y, level.x, 0.0) / level.length();
        }
        let end_over_end = (spin - axis * about).dot(self.across);
        self.end_over_end_rad += end_over_end * dt_s;
        self.most_end_over_end_rad = self.most_end_over_end_rad.max(self.end_over_end_rad.abs());
        self.about_axis_rad += about * dt_s;
        self.most_about_axis_rad = self.most_about_axis_rad.max(self.about_axis_rad.abs());
        let way = speed * dt_s;
        self.path_m += way;
        if end_over_end.abs() * 0.5 * mover.piece.length_m() > TUMBLES_ABOVE * speed {
            self.going = Going::Tumbled;
        } else if on_ground {
            let slip = lowest(mover).map_or(speed, |arm| {
                let normal = normal(mover);
                let v = velocity + spin.cross(arm);
                (v - normal * v.dot(normal)).length()
            });
            self.going = if slip < ROLLS_BELOW * speed { Going::Rolled } else { Going::Slid };
        }
        match self.going {
            Going::Rolled => self.rolled_m += way,
            Going::Tumbled => self.tumbled_m += way,
            Going::Slid => {}
        }
        if !on_ground {
            self.height_m = self.height_m.max(-mover.contact.deepest_m());
        }
    }

    /// Notes the beginning of a contact with a body.
    pub(crate) fn body_touch(
        &mut self,
        mover: &Mover<'_>,
        time_s: f64,
        body: usize,
        place: Place,
        point_m: DVec3,
    ) {
        self.push(mover, time_s, Against::Body(body), place, point_m - mover.centre_m);
    }

    /// Ends the drop where the piece is.
    pub(crate) fn finish(&mut self, mover: &Mover<'_>, time_s: f64, on_ground: bool) {
        if self.samples.last().is_none_or(|s| s.time_s < time_s) {
            self.samples.push(Sample { time_s, motion: mover.motion(), on_ground });
        }
    }

    fn ground_touch(&mut self, mover: &Mover<'_>, time_s: f64) {
        if let Some(press) = mover.brush_alone() {
            let place = nearest_place(mover, press.arm_m);
            self.push(mover, time_s, Against::Ground, place, press.arm_m);
            return;
        }
        let Some(node) =
            mover.contact.nodes.iter().reduce(|a, b| if b.depth_m > a.depth_m { b } else { a })
        else {
            return;
        };
        let place =
            if node.upright < FLAT_BELOW { Place::Flat } else { nearest_place(mover, node.arm_m) };
        self.push(mover, time_s, Against::Ground, place, node.arm_m);
    }

    fn push(&mut self, mover: &Mover<'_>, time_s: f64, against: Against, place: Place, arm: DVec3) {
        if against == Against::Ground {
            self.first_touch.get_or_insert_with(|| mover.motion());
        }
        if self.touches.len() < MOST_TOUCHES {
            self.touches.push(Touch {
                time_s,
                against,
                place,
                point_m: mover.centre_m + arm,
                speed_m_s: (mover.velocity_m_s + mover.spin_rad_s().cross(arm)).length(),
                energy_j: mover.kinetic_j(),
                dug_m3: 0.0,
            });
        }
    }
}

/// Which part of the piece a point at `arm` from the centre belongs to.
pub(crate) fn nearest_place(mover: &Mover<'_>, arm: DVec3) -> Place {
    let body = mover.attitude.inverse() * arm;
    let (butt, top) = (mover.piece.butt_m(), mover.piece.top_m());
    let length = mover.piece.length_m().max(1e-9);
    let along = (body - butt).dot(top - butt) / (length * length);
    match along {
        a if a < 0.2 => Place::Butt,
        a if a > 0.8 => Place::Top,
        _ => Place::Side,
    }
}

fn lowest(mover: &Mover<'_>) -> Option<DVec3> {
    if let Some(press) = mover.brush_alone() {
        return Some(press.arm_m);
    }
    let deeper = |a: (DVec3, f64), b: (DVec3, f64)| if b.1 > a.1 { b } else { a };
    mover.contact.nodes.iter().map(|n| (n.arm_m, n.depth_m)).reduce(deeper).map(|n| n.0)
}

fn normal(mover: &Mover<'_>) -> DVec3 {
    mover.contact.nodes.first().map_or(DVec3::Z, |node| node.normal)
}
