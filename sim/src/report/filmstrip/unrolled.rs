//! The path of a drop laid out flat, and the moments that are shown of it.

use glam::{DVec2, DVec3};

use crate::drop::Sample;

/// Silhouettes at most, more or less.
const MOST_SILHOUETTES: f64 = 44.0;
/// Times between silhouettes, s.
const TIME_STEPS_S: [f64; 9] = [0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0];

/// The path laid out flat: per sample the way gone and the heading there.
pub(crate) struct Unrolled<'a> {
    pub(crate) samples: &'a [Sample],
    pub(crate) gone_m: Vec<f64>,
    pub(crate) heading: Vec<DVec2>,
}

impl<'a> Unrolled<'a> {
    pub(crate) fn new(samples: &'a [Sample]) -> Self {
        let flat = |i: usize| samples[i].motion.centre_m.truncate();
        let mut gone_m = Vec::with_capacity(samples.len());
        let mut way = 0.0;
        for i in 0..samples.len() {
            way += if i == 0 { 0.0 } else { flat(i).distance(flat(i - 1)) };
            gone_m.push(way);
        }
        let whole = samples.first().zip(samples.last()).map_or(DVec2::X, |(a, b)| {
            (b.motion.centre_m - a.motion.centre_m).truncate().normalize_or(DVec2::X)
        });
        // The heading over about a metre: a piece that rocks in place keeps the one it had.
        let (mut back, mut ahead) = (0, 0);
        let mut last = whole;
        let mut heading = Vec::with_capacity(samples.len());
        for i in 0..samples.len() {
            while gone_m[i] - gone_m[back] > 0.6 {
                back += 1;
            }
            while ahead + 1 < samples.len() && gone_m[ahead] - gone_m[i] < 0.6 {
                ahead += 1;
            }
            let along = flat(ahead) - flat(back);
            if along.length() > 0.25 {
                last = along.normalize();
            }
            heading.push(last);
        }
        Self { samples, gone_m, heading }
    }

    pub(crate) fn length_m(&self) -> f64 {
        self.gone_m.last().copied().unwrap_or(0.0)
    }

    /// The sample nearest in time.
    pub(crate) fn at(&self, time_s: f64) -> usize {
        let after = self.samples.partition_point(|s| s.time_s < time_s);
        let before = after.saturating_sub(1);
        match (self.samples.get(before), self.samples.get(after)) {
            (Some(b), Some(a)) if a.time_s - time_s < time_s - b.time_s => after,
            _ => before.min(self.samples.len().saturating_sub(1)),
        }
    }

    /// A point near sample `i` seen from the side: way gone and height, m.
    pub(crate) fn side(&self, i: usize, point_m: DVec3) -> DVec2 {
        let off = (point_m - self.samples[i].motion.centre_m).truncate();
        DVec2::new(self.gone_m[i] + off.dot(self.heading[i]), point_m.z)
    }
}

/// The time between silhouettes, s, and the samples to draw: even in time, but not on top of
/// one another, and always the first and the last.
pub(crate) fn silhouettes(path: &Unrolled<'_>, length_m: f64) -> (f64, Vec<usize>) {
    let last = path.samples.len() - 1;
    let from_s = path.samples[0].time_s;
    let moving_s = path.samples[last].time_s - from_s;
    // As many as stand clear of each other along the way, fall included.
    let way_m: f64 =
        path.samples.windows(2).map(|w| w[1].motion.centre_m.distance(w[0].motion.centre_m)).sum();
    let room = (way_m / (0.75 * length_m.max(0.2))).clamp(4.0, MOST_SILHOUETTES);
    let step_s = TIME_STEPS_S
        .into_iter()
        .find(|step| moving_s / step <= room)
        .unwrap_or(TIME_STEPS_S[TIME_STEPS_S.len() - 1]);
    let mut shown = vec![0];
    let mut k = 1.0;
    while k * step_s < moving_s {
        let i = path.at(from_s + k * step_s);
        if apart(path, &shown, i, length_m) {
            shown.push(i);
        }
        k += 1.0;
    }
    if shown.last() != Some(&last) {
        if shown.len() > 1 && !apart(path, &shown, last, length_m) {
            shown.pop();
        }
        shown.push(last);
    }
    (step_s, shown)
}

fn apart(path: &Unrolled<'_>, shown: &[usize], i: usize, length_m: f64) -> bool {
    let Some(&before) = shown.last() else { return true };
    let (a, b) = (&path.samples[before].motion, &path.samples[i].motion);
    let turned = (a.attitude * DVec3::Z).dot(b.attitude * DVec3::Z) < 0.9;
    a.centre_m.distance(b.centre_m) > 0.3 * length_m || turned
}
