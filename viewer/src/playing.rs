//! Playing drops again: the clock, and where a piece is at a moment.

use tumblewood::{
    drop::{Sample, Touch, Track},
    motion::Motion,
};

/// Speeds of the clock, as shares of the true one.
pub(crate) const SPEEDS: [f64; 5] = [1.0, 0.5, 0.25, 0.125, 0.0625];
/// One step of the clock by hand, s.
pub(crate) const FRAME_S: f64 = 1.0 / 60.0;
/// Time between two ghosts, s.
pub(crate) const GHOST_S: f64 = 0.25;
/// Most ghosts that are drawn of one drop.
const MOST_GHOSTS: usize = 160;

/// The clock of what is played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Clock {
    /// Time since the piece left, s.
    pub(crate) time_s: f64,
    /// Time at which the last piece stops, s.
    pub(crate) end_s: f64,
    /// Which of [`SPEEDS`].
    pub(crate) speed: usize,
    /// It runs.
    pub(crate) runs: bool,
}

impl Clock {
    /// Stands at the start of something that ends at `end_s`.
    pub(crate) fn new(end_s: f64) -> Self {
        Self { time_s: 0.0, end_s: end_s.max(0.0), speed: 0, runs: false }
    }

    /// Moves on by so much of the world's time, s, if it runs; it stops at the end.
    pub(crate) fn tick(&mut self, world_s: f64) {
        if !self.runs {
            return;
        }
        let share = SPEEDS.get(self.speed).copied().unwrap_or(1.0);
        self.seek(self.time_s + share * world_s);
        self.runs = self.time_s < self.end_s;
    }

    /// Goes to a moment, s.
    pub(crate) fn seek(&mut self, time_s: f64) {
        if time_s.is_finite() {
            self.time_s = time_s.clamp(0.0, self.end_s);
        }
    }

    /// Starts or stops; from the end it starts anew.
    pub(crate) fn play(&mut self, runs: bool) {
        if runs && self.time_s >= self.end_s {
            self.time_s = 0.0;
        }
        self.runs = runs;
    }

    /// Stops and goes so many frames on, or back.
    pub(crate) fn step(&mut self, frames: i32) {
        self.runs = false;
        self.seek(self.time_s + f64::from(frames) * FRAME_S);
    }

    /// Slower for 1, faster for −1.
    pub(crate) fn slower(&mut self, by: i32) {
        let most = SPEEDS.len() as i32 - 1;
        self.speed = (self.speed as i32 + by).clamp(0, most) as usize;
    }
}

/// Where a piece is at a moment, between the samples on either side of it.
pub(crate) fn motion_at(samples: &[Sample], time_s: f64) -> Option<Motion> {
    let after = samples.partition_point(|sample| sample.time_s <= time_s);
    let before = samples.get(after.saturating_sub(1))?;
    let Some(next) = samples.get(after) else { return Some(before.motion) };
    let span_s = next.time_s - before.time_s;
    let share =
        if span_s > 0.0 { ((time_s - before.time_s) / span_s).clamp(0.0, 1.0) } else { 0.0 };
    let (a, b) = (&before.motion, &next.motion);
    Some(Motion {
        centre_m: a.centre_m.lerp(b.centre_m, share),
        attitude: a.attitude.slerp(b.attitude, share),
        velocity_m_s: a.velocity_m_s.lerp(b.velocity_m_s, share),
        spin_rad_s: a.spin_rad_s.lerp(b.spin_rad_s, share),
    })
}

/// Where a piece was every [`GHOST_S`] up to a moment, and where it came to rest last.
pub(crate) fn ghosts(samples: &[Sample], until_s: f64) -> Vec<Motion> {
    let n = ((until_s / GHOST_S).floor().max(0.0) as usize).min(MOST_GHOSTS);
    let mut ghosts: Vec<Motion> = Vec::new();
    for k in 0..=n {
        let Some(motion) = motion_at(samples, k as f64 * GHOST_S) else { continue };
        // A piece that lies still needs one.
        let moved = ghosts.last().is_none_or(|last: &Motion| {
            last.centre_m.distance(motion.centre_m) > 0.05
                || last.attitude.angle_between(motion.attitude) > 0.05
        });
        if moved {
            ghosts.push(motion);
        }
    }
    ghosts
}

/// The touches up to a moment, the last first.
pub(crate) fn touches_until(track: &Track, time_s: f64) -> impl Iterator<Item = &Touch> {
    track.touches.iter().rev().filter(move |touch| touch.time_s <= time_s)
}

/// When a track ends, s.
pub(crate) fn end_s(track: &Track) -> f64 {
    track.samples.last().map_or(0.0, |sample| sample.time_s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::{DQuat, DVec3};

    fn sample(time_s: f64, x: f64, turn: f64) -> Sample {
        Sample {
            time_s,
            motion: Motion {
                centre_m: DVec3::new(x, 0.0, 0.0),
                attitude: DQuat::from_rotation_y(turn),
                velocity_m_s: DVec3::ZERO,
                spin_rad_s: DVec3::ZERO,
            },
            on_ground: false,
        }
    }

    #[test]
    fn verif_between_samples_a_piece_is_between_their_places() {
        let samples = [sample(0.0, 0.0, 0.0), sample(1.0, 4.0, 1.0), sample(3.0, 5.0, 1.0)];
        let at = |t| motion_at(&samples, t).unwrap();
        assert!((at(0.25).centre_m.x - 1.0).abs() < 1e-12);
        assert!((at(0.25).attitude.angle_between(DQuat::from_rotation_y(0.25))).abs() < 1e-7);
        assert!((at(2.0).centre_m.x - 4.5).abs() < 1e-12);
        assert_eq!((at(-1.0).centre_m.x, at(9.0).centre_m.x), (0.0, 5.0));
        assert!(motion_at(&[], 1.0).is_none());
    }

    #[test]
    fn prop_a_clock_stays_within_what_it_plays_and_stops_at_the_end() {
        let mut clock = Clock::new(2.0);
        clock.tick(1.0);
        assert_eq!(clock.time_s, 0.0, "it stands");
        clock.play(true);
        clock.slower(1);
        clock.tick(1.0);
        assert_eq!(clock.time_s, 0.5);
        clock.slower(9);
        assert_eq!(SPEEDS[clock.speed], 1.0 / 16.0);
        clock.slower(-9);
        clock.tick(99.0);
        assert_eq!((clock.time_s, clock.runs), (2.0, false));
        clock.play(true);
        assert_eq!(clock.time_s, 0.0, "from the end it starts anew");
        clock.step(-5);
        assert_eq!((clock.time_s, clock.runs), (0.0, false));
        clock.seek(f64::NAN);
        clock.seek(f64::INFINITY);
        assert_eq!(clock.time_s, 0.0);
        assert_eq!(Clock::new(f64::NAN).end_s, 0.0);
    }

    #[test]
    fn prop_ghosts_are_where_the_piece_was_and_not_twice() {
        let samples = [sample(0.0, 0.0, 0.0), sample(1.0, 4.0, 0.0), sample(60.0, 4.0, 0.0)];
        let xs: Vec<f64> = ghosts(&samples, 50.0).iter().map(|m| m.centre_m.x).collect();
        assert_eq!(xs, [0.0, 1.0, 2.0, 3.0, 4.0]);
        assert_eq!(ghosts(&samples, 0.3).len(), 2);
    }
}
