//! A whole drop: from Launch until the piece rests, leaves the known ground or runs out of time.
//!
//! Two regimes, one state. *Open*: nothing solid is near; the soil law alone ([`Mover`]).
//! *Near*: rapier holds the piece and the solids near it, the soil acts on every moving body there,
//! and each step of at most 1 ms is drift ½ · soil and gravity · rapier's contact impulses · drift ½.
//! Entry and exit have hysteresis, and what is out of reach alters no bit ([`GapWatch`]).
//!
//! What is held is let go by the step that overcomes what holds it ([`HeldLog`]).
//!
//! A piece is at rest as [`Quiet`] has it, or on a line when it has hung there, off the ground, for a
//! whole swing. What lies loose and is set going is followed beside the piece ([`Loose`]) and the
//! drop ends when all are at rest. Left out: on rigid ground, whose window goes with the piece, what
//! was set going stops where the piece leaves it.

mod beside;
mod lines;

use std::borrow::Cow;

use glam::{DQuat, DVec3};

use crate::{
    GRAVITY_M_S2,
    drop::{
        bending::Bent,
        footprint::{Footprint, Painter},
        free::turn,
        held::HeldLog,
        loose::Loose,
        mover::Mover,
        near::{
            APART_M, GapWatch, NEAR_STEP_S, Near, Passage, Response, RigidGround, Size, Solids,
            surface_speed_m_s,
        },
        observe::{Observer, nearest_place},
        quiet::Quiet,
        rest,
        setup::{GroundLaw, Setup},
        tether::Taut,
        track::{Against, Ending, Nearest, RestsOn, Track},
    },
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::{Answer, BodyKind},
    soil::{
        bed::Bed,
        kick::{Kicked, Twist},
    },
    tree::Piece,
};

/// Gravity in the world frame, m/s².
const DOWN: DVec3 = DVec3::new(0.0, 0.0, -GRAVITY_M_S2);
/// Step on rigid ground, s.
const RIGID_STEP_S: f64 = 2e-3;
/// Poses kept of one step at most; ours, beyond any speed a piece comes to.
const MOST_PARTS: f64 = 1000.0;
/// Friction of green wood on walls, wood and pavement; mid-range of 0.4–0.6, from memory.
const SOLID_FRICTION: f64 = 0.5;

/// Follows one piece from its launch over the bumps that `roughness` draws; a sample is kept every `sample_s` (infinity: ends only).
#[must_use]
pub fn drop(
    setup: &Setup<'_>,
    piece: &Piece,
    launch: &Launch,
    roughness: Key,
    sample_s: f64,
) -> Track {
    let mut run = Run::new(setup, piece, launch, roughness, sample_s);
    let ending = loop {
        if let Some(ending) = run.step() {
            break ending;
        }
    };
    run.finish(ending)
}

/// Centre, m, and attitude.
type Pose = (DVec3, DQuat);

struct Run<'s, 'p> {
    setup: &'s Setup<'p>,
    bed: Bed<'p>,
    piece: Mover<'s>,
    size: Size,
    /// As the setup's, but for logs that were let go.
    solids: Cow<'s, Solids>,
    /// What lies loose, in the order of `Site::bodies`.
    loose: Vec<Loose<'s>>,
    /// What is held.
    held: Vec<HeldLog<'s>>,
    footprint: Footprint,
    painter: Painter,
    watch: GapWatch,
    /// Bodies that the piece, or what goes beside it, is near, by index in `Site::bodies`,
    /// ascending; with them what goes.
    together: Vec<usize>,
    near: Option<Near>,
    rigid: Option<RigidGround>,
    seen: Observer,
    bent: Option<Bent>,
    nearest: Vec<Nearest>,
    passage: Passage,
    kept: Pose,
    /// Longest next step that what is solid allows, s.
    clear_s: f64,
    time_s: f64,
    quiet: Quiet,
    /// The piece left the known ground, and something that it set going goes on.
    gone: bool,
    sample_s: f64,
    leans_on: Option<usize>,
    steps: u32,
    near_steps: u32,
    motions: Vec<Motion>,
    speeds_m_s: Vec<f64>,
    /// Bodies that the piece's brush is pressed into, one a press.
    pressed: Vec<usize>,
    lines: Vec<Taut<'s>>,
    /// For how long it has hung on a line, s.
    hung_s: f64,
}

impl<'s, 'p: 's> Run<'s, 'p> {
    fn new(
        setup: &'s Setup<'p>,
        piece: &'s Piece,
        launch: &Launch,
        roughness: Key,
        sample_s: f64,
    ) -> Self {
        let bed = setup.bed.with_roughness(roughness.raw());
        let site = bed.site();
        let mut mover = Mover::new(piece, &launch.motion, &bed);
        mover.look(&bed, &setup.pace);
        let loose = site
            .bodies
            .iter()
            .enumerate()
            .filter_map(|(i, body)| match &body.answer {
                Answer::Free { piece, motion } => {
                    let mut log = Mover::new(piece, motion, &bed);
                    log.look(&bed, &setup.pace);
                    Some(Loose::new(i, log, &setup.solids))
                }
                Answer::Fixed | Answer::Noted | Answer::Held { .. } => None,
            })
            .collect();
        let bodies = site.bodies.iter().enumerate();
        let held = bodies.filter_map(|(i, body)| HeldLog::of(i, body)).collect();
        let mut run = Self {
            setup,
            bed,
            footprint: Footprint::default(),
            painter: Painter::new(piece),
            size: Size::new(piece),
            piece: mover,
            solids: Cow::Borrowed(&setup.solids),
            loose,
            held,
            watch: GapWatch::new(&setup.solids, piece),
            together: Vec::new(),
            near: None,
            rigid: None,
            seen: Observer::new(&launch.motion, sample_s),
            bent: None,
            nearest: vec![
                Nearest { gap_m: f64::INFINITY, energy_j: None, speed_m_s: None };
                site.bodies.len()
            ],
            passage: Passage::default(),
            kept: (launch.motion.centre_m, launch.motion.attitude),
            clear_s: 0.0,
            time_s: 0.0,
            quiet: Quiet::new(),
            gone: false,
            sample_s,
            leans_on: None,
            steps: 0,
            near_steps: 0,
            motions: Vec::new(),
            speeds_m_s: Vec::new(),
            pressed: Vec::new(),
            lines: Vec::new(),
            hung_s: 0.0,
        };
        run.lines = setup.tethers.iter().map(|tether| Taut::new(tether, &run.piece)).collect();
        run.passage.keep(run.kept.0, run.kept.1);
        run.look_at_bodies(0.0);
        run
    }

    fn step(&mut self) -> Option<Ending> {
        let goes = self.loose.iter().any(Loose::goes);
        if self.gone && !goes {
            return Some(Ending::LeftTerrain);
        }
        if self.time_s >= self.setup.horizon_s {
            return Some(match (self.gone, goes && self.is_at_rest(0.0)) {
                (true, _) => Ending::LeftTerrain,
                (_, true) => Ending::Rest,
                (_, false) => Ending::OutOfTime,
            });
        }
        let at = self.piece.centre_m;
        let known = at.is_finite() && self.bed.site().terrain.contains(at.x, at.y);
        if !(self.gone || known) {
            if !goes || !at.is_finite() {
                return Some(Ending::LeftTerrain);
            }
            self.leave();
        }
        let (piece, pace) = (&self.piece, &self.setup.pace);
        let line_s = self.lines.iter().map(|line| line.longest_step_s(piece, pace));
        let line_s = line_s.fold(f64::INFINITY, f64::min);
        let mut dt = self.clear_s.min(line_s);
        let before = (self.piece.motion(), self.piece.momentum);
        let on_ground = match self.setup.law {
            GroundLaw::Rigid => {
                dt = RIGID_STEP_S.min(line_s);
                self.rigid_step(dt)
            }
            GroundLaw::Soil if self.together.is_empty() => self.open_step(dt),
            GroundLaw::Soil => {
                let logs = self.loose.iter().filter(|log| log.in_play);
                dt = logs.fold(dt.min(NEAR_STEP_S), |d, log| d.min(log.mover.next_step_s()));
                self.near_steps += 1;
                self.near_step(dt)
            }
        };
        self.steps += 1;
        self.time_s += dt;
        self.quiet.pass(dt);
        if !self.gone {
            self.seen.step(&self.piece, self.time_s, dt, on_ground);
            self.note_lines(on_ground, dt);
            self.keep_way(before, dt);
        }
        for log in self.loose.iter_mut().filter(|log| log.in_play) {
            log.after_step(&self.bed, self.time_s, dt, self.sample_s);
        }
        self.look_at_bodies(dt);
        let rests = !self.gone && self.is_at_rest(dt);
        (rests && !self.loose.iter().any(Loose::goes)).then_some(Ending::Rest)
    }

    /// The piece is off the known ground and takes no part any more.
    fn leave(&mut self) {
        self.seen.finish(&self.piece, self.time_s, false);
        self.gone = true;
        self.piece.velocity_m_s = DVec3::ZERO;
        self.piece.momentum = DVec3::ZERO;
    }

    fn open_step(&mut self, dt: f64) -> bool {
        for log in self.loose.iter_mut().filter(|log| log.in_play) {
            log.step(&self.bed, DOWN, dt, &self.setup.pace);
        }
        self.near = None;
        if self.gone {
            return false;
        }
        self.piece.solids.clear();
        self.piece.drift(0.5 * dt);
        self.pull_by_lines(dt);
        let kicked = self.piece.push(&self.bed, DOWN, dt, &self.setup.pace);
        self.piece.drift(0.5 * dt);
        self.note_bending(&kicked);
        let touching = !self.piece.contact.quads.is_empty();
        let smoothing_m_s = self.setup.pace.exactness.smoothing_m_s;
        self.quiet.note(touching, kicked.fastest_m_s, smoothing_m_s, dt);
        self.piece.is_on_ground()
    }

    fn near_step(&mut self, dt: f64) -> bool {
        let setup = self.setup;
        let mut near = self.near.take().unwrap_or_else(|| self.near_world());
        let moving: Vec<usize> = near.free().collect();
        let kicked = self.half_way(&moving, dt);
        if let Some(kicked) = &kicked {
            self.note_bending(kicked);
        }
        for log in self.loose.iter_mut().filter(|log| moving.contains(&log.body)) {
            log.push(&self.bed, DOWN, dt, &setup.pace);
        }
        self.take_motions(&moving);
        let mut motions = std::mem::take(&mut self.motions);
        near.step(&mut motions, dt);
        let overcome = self.overcome(&near, &motions, &moving, dt);
        let moving = if overcome.is_empty() {
            moving
        } else {
            near = self.once_more(&overcome, &mut motions, dt);
            near.free().collect()
        };
        self.motions = motions;
        self.rest_of_step(near.response(), &moving, dt);
        self.near = Some(near);
        let touching = !self.piece.contact.quads.is_empty();
        let fastest_m_s = kicked.map_or(0.0, |k| k.fastest_m_s);
        self.quiet.note(touching, fastest_m_s, setup.pace.exactness.smoothing_m_s, dt);
        self.piece.is_on_ground()
    }

    /// A world of all that is together.
    fn near_world(&self) -> Near {
        let at = if self.gone { self.middle_of_play() } else { self.piece.centre_m };
        Near::new(&self.solids, self.piece.piece, &self.together, SOLID_FRICTION, at)
    }

    fn rigid_step(&mut self, dt: f64) -> bool {
        let setup = self.setup;
        let site = self.bed.site();
        let at = self.piece.centre_m;
        let mut rigid = self.rigid.take().unwrap_or_else(|| {
            RigidGround::new(
                site.terrain.clone(),
                site.ground.friction,
                &self.solids,
                self.piece.piece,
                &self.together,
                SOLID_FRICTION,
                at,
            )
        });
        let moving: Vec<usize> = rigid.free().collect();
        self.half_way(&moving, dt);
        self.take_motions(&moving);
        let mut motions = std::mem::take(&mut self.motions);
        let response = rigid.step(&mut motions, dt);
        self.motions = motions;
        let touching =
            response.contacts.iter().any(|c| c.mover == 0 && c.against == Against::Ground);
        self.rest_of_step(response, &moving, dt);
        self.rigid = Some(rigid);
        self.piece.look(&self.bed, &setup.pace);
        if touching {
            self.quiet.pushed_by_solid();
        }
        touching
    }

    /// Drifts half a step; on soil, lets ground and gravity act on the piece there.
    fn half_way(&mut self, moving: &[usize], dt: f64) -> Option<Kicked> {
        for log in self.loose.iter_mut().filter(|log| moving.contains(&log.body)) {
            log.mover.drift(0.5 * dt);
        }
        if self.gone {
            return None;
        }
        self.piece.drift(0.5 * dt);
        self.press_brush();
        self.pull_by_lines(dt);
        if self.setup.law == GroundLaw::Rigid {
            self.kick_by_lines(dt);
        }
        (self.setup.law == GroundLaw::Soil)
            .then(|| self.piece.push(&self.bed, DOWN, dt, &self.setup.pace))
    }

    /// Presses the piece's brush into the solids near it.
    fn press_brush(&mut self) {
        let piece: &'s Piece = self.piece.piece;
        let brush = &piece.brush;
        if brush.is_empty() {
            return;
        }
        let motion = self.piece.motion();
        let into = (&mut self.piece.solids, &mut self.pressed);
        let skip = |body| self.watch.is_stiff_only(body);
        let near = self.watch.near();
        self.solids.press(brush, &motion, near, skip, SOLID_FRICTION, into);
        if let Some(body) = self.pressed.first() {
            self.quiet.pushed_by_solid();
            self.leans_on = Some(*body);
        }
    }

    /// The motions of the piece and of the free bodies that are near, as rapier wants them.
    fn take_motions(&mut self, moving: &[usize]) {
        self.motions.clear();
        self.motions.push(self.piece.motion());
        let logs = self.loose.iter().filter(|log| moving.contains(&log.body));
        self.motions.extend(logs.map(|log| log.mover.motion()));
    }

    /// Takes over what rapier's contacts did and drifts the other half of the step.
    fn rest_of_step(&mut self, response: &Response, moving: &[usize], dt: f64) {
        let rigid = self.setup.law == GroundLaw::Rigid;
        let logs = self.loose.iter_mut().filter(|log| moving.contains(&log.body));
        let logs = logs.map(|log| &mut log.mover);
        let bodies = std::iter::once(&mut self.piece).chain(logs);
        for ((body, motion), push) in bodies.zip(&self.motions).zip(&response.pushes) {
            // On soil a body that nothing pushed keeps its twist to the last bit.
            if rigid || !response.contacts.is_empty() {
                let twist =
                    Twist { linear_m_s: motion.velocity_m_s, angular_rad_s: motion.spin_rad_s };
                body.set_twist(&twist, &body.inertia());
                let moved = push.moved(motion);
                (body.centre_m, body.attitude) = (moved.centre_m, moved.attitude);
            }
            body.drift(0.5 * dt);
        }
        for contact in &response.contacts {
            let Against::Body(body) = contact.against else { continue };
            if let Some(log) = contact.mover.checked_sub(1).and_then(|k| moving.get(k)) {
                self.loose_touches(*log, body);
                continue;
            }
            if let Some(log) = self.loose.iter_mut().find(|log| log.body == body) {
                log.quiet.pushed_by_solid();
            }
            self.quiet.pushed_by_solid();
            self.leans_on = Some(body);
            if self.watch.note_touch(body) {
                self.note_reach(body);
                self.seen.body_touch(
                    &self.piece,
                    self.time_s,
                    body,
                    contact.place,
                    contact.point_m,
                );
            }
        }
    }

    fn is_target(&self, body: usize) -> bool {
        self.bed.site().bodies.get(body).is_some_and(|b| b.is_target)
    }

    fn note_bending(&mut self, kicked: &Kicked) {
        let Some(beam) = &self.setup.beam else { return };
        let smoothing_m_s = self.setup.pace.exactness.smoothing_m_s;
        let Some(bent) = beam.stress(&self.piece, kicked, smoothing_m_s) else { return };
        if self.bent.is_none_or(|worst| bent.stress_pa > worst.stress_pa) {
            self.bent = Some(Bent { time_s: self.time_s, ..bent });
        }
    }

    /// Keeps where the piece went in a step from `before`, so finely that no point of it goes
    /// further than [`APART_M`] from one kept pose to the next.
    fn keep_way(&mut self, (from, momentum): (Motion, DVec3), dt: f64) {
        let to = (self.piece.centre_m, self.piece.attitude);
        let way_m = self.size.apart_m((from.centre_m, from.attitude), to);
        if way_m > APART_M && self.piece.contact.quads.is_empty() {
            // In flight: constant acceleration and torque-free turning, as the step itself goes.
            let push = (self.piece.velocity_m_s - from.velocity_m_s) * (0.5 / dt);
            let parts = (way_m / APART_M).ceil().min(MOST_PARTS);
            for part in 1..parts as u32 {
                let s = dt * f64::from(part) / parts;
                let centre_m = from.centre_m + (from.velocity_m_s + push * s) * s;
                let inertia = self.piece.piece.inertia_kg_m2;
                self.keep((centre_m, turn(from.attitude, momentum, inertia, s)));
            }
        }
        self.keep(to);
    }

    fn keep(&mut self, pose: Pose) {
        if self.size.apart_m(self.kept, pose) >= APART_M {
            self.passage.keep(pose.0, pose.1);
            self.kept = pose;
        }
    }

    fn look_at_bodies(&mut self, dt: f64) {
        self.motions.clear();
        self.motions.push(self.piece.motion());
        self.motions.extend(self.loose.iter().map(|log| log.mover.motion()));
        self.speeds_m_s.clear();
        let speed_m_s =
            if self.gone { 0.0 } else { surface_speed_m_s(&self.motions[0], &self.size) };
        self.speeds_m_s.push(speed_m_s);
        self.speeds_m_s.extend(self.loose.iter().map(Loose::speed_m_s));
        let solids = &self.solids;
        let step_s =
            if self.gone { self.setup.pace.longest_flight_s } else { self.piece.next_step_s() };
        let noticed = self.watch.look(solids, &self.motions, &self.speeds_m_s, dt, step_s);
        self.clear_s = noticed.step_s;
        if !self.gone {
            self.painter.paint(&mut self.footprint, &self.piece.motion(), noticed.reach_m);
        }
        let changed = self.look_at_loose(dt, noticed.reach_m);
        if noticed.near_changed || changed {
            self.near = None;
            self.rigid = None;
        }
        if noticed.touched {
            for body in self.watch.touched().to_vec() {
                // A piece leaves with its butt on the spar; that is no touch.
                if self.gone || (self.time_s == 0.0 && self.is_spar(body)) {
                    continue;
                }
                let at_m = self.brush_touches(body).unwrap_or(DVec3::ZERO);
                let place = nearest_place(&self.piece, at_m);
                let point_m = self.piece.centre_m + at_m;
                self.seen.body_touch(&self.piece, self.time_s, body, place, point_m);
                self.note_reach(body);
            }
        }
    }

    /// Arm from the piece's centre to where its brush is deepest in a body, if it is in it, m.
    fn brush_touches(&mut self, body: usize) -> Option<DVec3> {
        let brush = &self.piece.piece.brush;
        if brush.is_empty() || self.watch.is_stiff_only(body) {
            return None;
        }
        let (mut presses, mut bodies) = (Vec::new(), Vec::new());
        let (motion, into) = (self.piece.motion(), (&mut presses, &mut bodies));
        self.solids.press(brush, &motion, &[body], |_| false, SOLID_FRICTION, into);
        let deepest = presses.iter().reduce(|a, b| if b.depth_m > a.depth_m { b } else { a });
        deepest.map(|press| press.arm_m)
    }

    fn is_spar(&self, body: usize) -> bool {
        self.bed.site().bodies.get(body).is_some_and(|b| b.kind == BodyKind::Spar)
    }

    fn note_reach(&mut self, body: usize) {
        let (energy, speed) = (self.piece.kinetic_j(), self.piece.velocity_m_s.length());
        if let Some(nearest) = self.nearest.get_mut(body) {
            nearest.energy_j = nearest.energy_j.or(Some(energy));
            nearest.speed_m_s = nearest.speed_m_s.or(Some(speed));
        }
    }

    fn finish(mut self, ending: Ending) -> Track {
        self.passage.keep(self.piece.centre_m, self.piece.attitude);
        self.footprint.tidy();
        let bodies = &self.bed.site().bodies;
        let missed = |i: usize| {
            let is_target = bodies.get(i).is_some_and(|b| b.is_target);
            is_target && self.nearest.get(i).is_some_and(|n| n.energy_j.is_none())
        };
        let gaps_m = self.passage.gaps_m(self.piece.piece, &self.setup.solids, missed);
        for (nearest, gap_m) in self.nearest.iter_mut().zip(gaps_m) {
            nearest.gap_m = if nearest.energy_j.is_some() { 0.0 } else { gap_m };
        }
        let on_ground = self.piece.is_on_ground();
        if !self.gone {
            self.seen.finish(&self.piece, self.time_s, on_ground);
        }
        let leans_on = self.leans_on.filter(|_| self.quiet.leans());
        let rests = ending == Ending::Rest;
        let kind = leans_on.and_then(|i| self.bed.site().bodies.get(i)).map(|b| b.kind);
        let hangs = self.is_held_by_a_line();
        let rests_on = rests.then_some(match kind {
            _ if self.hung_s > 0.0 => RestsOn::Line,
            None if hangs => RestsOn::Line,
            None => RestsOn::Ground,
            Some(BodyKind::KeepTree | BodyKind::Spar) => RestsOn::Tree,
            Some(BodyKind::Wire | BodyKind::ClimberLine) => RestsOn::Line,
            Some(_) => RestsOn::Structure,
        });
        let soil = self.setup.law == GroundLaw::Soil;
        let hold = (rests && soil).then(|| {
            rest::hold(&self.piece, &self.bed, &self.setup.pace, hangs || leans_on.is_some())
        });
        let loose = self.loose.into_iter().map(|log| log.finish(self.time_s)).collect();
        Track {
            bent: self.bent,
            lines: self.lines.iter().map(|line| line.load).collect(),
            first_touch: self.seen.first_touch,
            ending,
            rests_on,
            hold,
            nearest: self.nearest,
            passage: self.passage,
            footprint: self.footprint,
            path_m: self.seen.path_m,
            rolled_m: self.seen.rolled_m,
            tumbled_m: self.seen.tumbled_m,
            turns_end_over_end: self.seen.turns_end_over_end(),
            turns_about_axis: self.seen.turns_about_axis(),
            height_over_ground_m: self.seen.height_m,
            near_steps: self.near_steps,
            steps: self.steps,
            samples: self.seen.samples,
            touches: self.seen.touches,
            loose,
        }
    }
}
