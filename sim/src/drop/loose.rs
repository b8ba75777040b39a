//! What lies loose on the bank: a log that isn't held, a piece already down.
//!
//! It is a body as the piece is: the soil acts on it by the same law, rapier meets it with what is
//! solid near it. It sleeps, and no bit of anything hangs on it, until the piece or something that
//! goes comes near; once it goes it is followed until it rests, leaves the known terrain or time
//! runs out, the piece at rest meanwhile or not. What it touches is its own reach and not the
//! piece's. Its brush holds it up; it neither catches nor cushions what comes.

use glam::DVec3;

use crate::{
    drop::{
        footprint::{Footprint, Painter},
        mover::{Mover, Pace},
        near::{GapWatch, Look, Size, Solids, surface_speed_m_s},
        quiet::Quiet,
        track::{Ending, LooseTouch, LooseTrack, Sample},
    },
    motion::Motion,
    soil::bed::Bed,
};

/// What lies loose and is slower than this lies still, m/s.
const STILL_M_S: f64 = 1e-4;

/// One body that lies loose.
pub(super) struct Loose<'s> {
    /// Its index in `Site::bodies`.
    pub(super) body: usize,
    pub(super) mover: Mover<'s>,
    pub(super) quiet: Quiet,
    /// It moves, or something that could move it is near.
    pub(super) in_play: bool,
    /// Longest next step that it allows, s.
    pub(super) clear_s: f64,
    size: Size,
    painter: Painter,
    /// As nothing is known yet of what it is near.
    fresh: GapWatch,
    watch: GapWatch,
    looked: bool,
    at_rest: bool,
    gone: bool,
    start: Motion,
    touches: Vec<LooseTouch>,
    samples: Vec<Sample>,
    next_sample_s: f64,
}

impl<'s> Loose<'s> {
    pub(super) fn new(body: usize, mover: Mover<'s>, solids: &Solids) -> Self {
        let start = mover.motion();
        let fresh = GapWatch::new(solids, mover.piece).but(body);
        Self {
            body,
            quiet: Quiet::new(),
            in_play: false,
            clear_s: f64::INFINITY,
            size: Size::new(mover.piece),
            painter: Painter::new(mover.piece),
            watch: fresh.clone(),
            fresh,
            looked: false,
            at_rest: true,
            gone: false,
            start,
            touches: Vec::new(),
            samples: vec![Sample { time_s: 0.0, motion: start, on_ground: true }],
            next_sample_s: 0.0,
            mover,
        }
    }

    /// A body that was held has been let go, as `solids` know already.
    pub(super) fn let_go(&mut self, solids: &Solids, body: usize) {
        self.fresh.let_go(solids, body);
        self.watch.let_go(solids, body);
    }

    /// A bound on how fast its surface moves, m/s; 0 while it was never set going.
    pub(super) fn speed_m_s(&self) -> f64 {
        let motion = self.mover.motion();
        if self.is_still(&motion) { 0.0 } else { surface_speed_m_s(&motion, &self.size) }
    }

    fn is_still(&self, motion: &Motion) -> bool {
        motion.velocity_m_s.length_squared() <= STILL_M_S * STILL_M_S
    }

    /// Whether it is on its way.
    pub(super) fn goes(&self) -> bool {
        self.in_play && !self.at_rest && !self.is_still(&self.mover.motion())
    }

    /// Whether it left the known terrain.
    pub(super) fn is_gone(&self) -> bool {
        self.gone
    }

    /// What it is near to, by index in `Site::bodies`.
    pub(super) fn near(&self) -> &[usize] {
        if self.in_play { self.watch.near() } else { &[] }
    }

    /// Takes part from now on.
    pub(super) fn wake(&mut self) {
        if self.in_play {
            return;
        }
        self.in_play = true;
        // Others may have gone while it slept.
        self.watch = self.fresh.clone();
        self.looked = false;
    }

    /// Lies still again where it is, if it was in play.
    pub(super) fn sleep(&mut self) {
        if !self.in_play {
            return;
        }
        self.in_play = false;
        self.clear_s = f64::INFINITY;
        self.mover.velocity_m_s = DVec3::ZERO;
        self.mover.momentum = DVec3::ZERO;
    }

    /// A step on the ground alone.
    pub(super) fn step(&mut self, bed: &Bed<'_>, gravity: DVec3, dt_s: f64, pace: &Pace) {
        let kicked = self.mover.step(bed, gravity, dt_s, pace);
        self.note_quiet(kicked.fastest_m_s, pace, dt_s);
    }

    /// Lets soil and gravity act in mid-step.
    pub(super) fn push(&mut self, bed: &Bed<'_>, gravity: DVec3, dt_s: f64, pace: &Pace) {
        let kicked = self.mover.push(bed, gravity, dt_s, pace);
        self.note_quiet(kicked.fastest_m_s, pace, dt_s);
    }

    fn note_quiet(&mut self, fastest_m_s: f64, pace: &Pace, dt_s: f64) {
        let touching = !self.mover.contact.quads.is_empty();
        self.quiet.note(touching, fastest_m_s, pace.exactness.smoothing_m_s, dt_s);
    }

    /// A step has ended at `time_s`.
    pub(super) fn after_step(&mut self, bed: &Bed<'_>, time_s: f64, dt_s: f64, sample_s: f64) {
        self.quiet.pass(dt_s);
        self.at_rest = self.quiet.is_at_rest(&self.mover, dt_s, false);
        if time_s >= self.next_sample_s && sample_s.is_finite() {
            self.sample(time_s);
            self.next_sample_s = time_s + sample_s;
        }
        let at = self.mover.centre_m;
        if !at.is_finite() || !bed.site().terrain.contains(at.x, at.y) {
            self.sample(time_s);
            self.gone = true;
            self.sleep();
        }
    }

    fn sample(&mut self, time_s: f64) {
        let (motion, on_ground) = (self.mover.motion(), self.mover.is_on_ground());
        self.samples.push(Sample { time_s, motion, on_ground });
    }

    /// Looks round, `dt_s` after the last look; `motions` and `speeds_m_s` are its own first, then
    /// those of all that lie loose.
    pub(super) fn look(
        &mut self,
        solids: &Solids,
        motions: &[Motion],
        speeds_m_s: &[f64],
        dt_s: f64,
    ) -> Look {
        let look = self.watch.look(solids, motions, speeds_m_s, dt_s, self.mover.next_step_s());
        self.clear_s = look.step_s;
        look
    }

    /// What the last look found it to touch, but what it lay against before it was in play.
    pub(super) fn touched(&mut self) -> Vec<usize> {
        let before = !std::mem::replace(&mut self.looked, true);
        if before { Vec::new() } else { self.watch.touched().to_vec() }
    }

    /// A contact's impulse acts between it and a body.
    pub(super) fn pushed_by(&mut self, body: usize) -> bool {
        self.quiet.pushed_by_solid();
        self.watch.note_touch(body)
    }

    /// It touches a target.
    pub(super) fn note_reach(&mut self, body: usize, time_s: f64) {
        if self.touches.iter().all(|touch| touch.body != body) {
            self.touches.push(LooseTouch {
                body,
                time_s,
                energy_j: self.mover.kinetic_j(),
                speed_m_s: self.mover.velocity_m_s.length(),
            });
        }
    }

    /// Paints what is within reach of it.
    pub(super) fn paint(&mut self, footprint: &mut Footprint, reach_m: f64) {
        self.painter.paint(footprint, &self.mover.motion(), reach_m);
    }

    /// What became of it, `time_s` after Launch.
    pub(super) fn finish(mut self, time_s: f64) -> LooseTrack {
        let ending = if self.gone {
            Ending::LeftTerrain
        } else if self.goes() {
            Ending::OutOfTime
        } else {
            Ending::Rest
        };
        if ending == Ending::Rest {
            self.sleep();
        }
        if self.samples.last().is_none_or(|s| s.time_s < time_s) {
            self.sample(time_s);
        }
        let end = self.mover.motion();
        let pose = |m: &Motion| (m.centre_m, m.attitude);
        LooseTrack {
            body: self.body,
            ending,
            moved_m: self.size.apart_m(pose(&self.start), pose(&end)),
            start: self.start,
            end,
            touches: self.touches,
            samples: self.samples,
        }
    }
}
