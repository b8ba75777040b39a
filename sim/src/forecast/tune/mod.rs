//! What notes of what happened say about the ground: approximate Bayesian weights.
//!
//! Every outer input is drawn many times, as a forecast's grounds are, and the noted cuts are
//! dropped a few times on each draw. A draw i weighs
//!
//! ```text
//! w_i ∝ Π_c  L_ci      L_ci = L_c + Z_c·(1/K · Σ_k κ_c(drop k of cut c on draw i) − L_c)
//! κ = exp(−½·δᵀ·H⁻¹·δ) for each noted place with δᵀ·H⁻¹·δ ≤ 9, else 0      δ = place of the drop − place noted
//!     × 1 or 0          for how it left, as noted or not
//!     × p or (1 − p)/3  for how it went, as noted or not: p = 0.95 seen, 0.7 guessed
//! H = Σ + (b² + f²)·1   Σ the note's own doubt, f = 0.3 m, b = s·K^(−1/(d + 4))
//! ```
//!
//! over the noted cuts c and their K drops; s is the scatter of drops about their mean on one draw
//! (an axis, pooled over draws), d two for each noted place of the cut: Scott's rule for a kernel
//! estimate from K points (Scott 1992, Multivariate Density Estimation, from memory). The kernel
//! widens what the notes say, so that weights say less than the notes might, not more. Places are
//! noted by tape from a station, so that they are worked out on each draw's own survey.
//!
//! L_c is the mean of κ_c over all draws, and Z_c = B/(B + V/K) how much of the difference between
//! draws is more than the scatter of their few drops: V the variance of κ within draws, B what the
//! means vary by beyond V/K (credibility, Bühlmann 1967, from memory). Without it a handful of draws
//! whose drops came near by luck took all the weight, and true grounds lay outside what was left
//! more often than stated. Where notes tell no ground from another, Z is 0 and all weigh the same.
//!
//! p, f and the bound of three widths are ours. Where no drop agrees with a note, or no draw with
//! all of them, there is no answer. (Σw)²/Σw² is how many draws the weights are worth.
//!
//! Known answers: `verif_tune` of the acceptance tests.

mod changes;

use std::{
    collections::BTreeMap,
    sync::atomic::{AtomicBool, Ordering},
};

use glam::{DMat2, DVec2};
use rayon::prelude::*;
use serde::Serialize;

use super::{
    Ask, Fate, Progress, order,
    run::{Watch, asked, ground_key},
};
use crate::{
    job::{Job, JobError, Outer},
    outcome::{Mode, Outcome},
    scene::{
        Doubtful, How, PieceSpec, Scene, Spread,
        happened::{CutNote, Happened, Left, Way},
        model::Place,
        places::{MapFrame, place_m},
    },
};

pub use changes::{InputChange, NoAnswer, ReachChange, Span, Tuned, WordChange, tuned};

/// Probability that a way it went is noted as it was: seen, guessed. Ours.
const RIGHT: [f64; 2] = [0.95, 0.7];
/// What "where it lay" leaves open even by tape: a log has no point, m. Ours.
const FLOOR_M: f64 = 0.3;
/// Places farther off than this many widths of the kernel do not agree.
const WIDTHS: f64 = 3.0;

/// One drawn truth and what pieces did on it.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Which outer draw.
    pub index: u64,
    /// What was drawn, by input path, SI.
    pub inputs: BTreeMap<String, f64>,
    /// Which words were drawn where none was told.
    pub words: BTreeMap<String, String>,
    /// Fates of each cut asked for, in that order.
    pub fates: Vec<Vec<Fate>>,
    /// The scene with the numbers of this draw: where stations are.
    scene: Scene,
}

/// Draws that were dropped on.
#[derive(Clone, Debug)]
pub struct Bank {
    /// Cuts dropped, by index in the scene.
    pub cuts: Vec<usize>,
    /// The draws in order; those not finished when the run was stopped are left off.
    pub draws: Vec<Draw>,
    /// Per cut, ids of its targets.
    pub targets: Vec<Vec<String>>,
    /// The run was stopped before its end.
    pub partial: bool,
    frame: MapFrame,
}

/// The job with pieces as long as they were noted to have been cut: the top stays, the cut moves.
#[must_use]
pub fn as_cut(job: &Job, happened: &Happened) -> Job {
    let mut scene = job.scene.clone();
    for note in &happened.notes {
        let told_m = scene.piece_length_m(note.cut);
        let (Some(length), Some(told_m), Some(cut)) =
            (note.length_m, told_m, scene.cuts.get_mut(note.cut))
        else {
            continue;
        };
        let half = 0.5 * (length.spread.high - length.spread.low);
        let about = |told: f64| {
            let spread = Spread { low: told - half, high: told + half, how: How::Stated };
            Doubtful { told, spread }
        };
        match &mut cut.piece {
            PieceSpec::Section { from_m, to_m } => {
                *from_m = Doubtful::exact((to_m.told - length.told).max(0.0));
                *to_m = about(to_m.told);
            }
            // What is cut shorter is cut farther out.
            PieceSpec::Top { from_m: at_m } | PieceSpec::Limb { at_m, .. } => {
                *at_m = about((at_m.told + told_m - length.told).max(0.0));
            }
        }
    }
    job.with_scene(scene)
}

/// Drops every cut of `ask` on `ask.grounds` draws, `ask.drops_per_ground` times each.
///
/// # Errors
/// A drawn ground can't be built, or a cut is not in the scene.
pub fn bank(
    job: &Job,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Bank, JobError> {
    let ask = Ask { drops: 0, ..ask.clone() };
    let needed = order::needed(&job.scene, &ask.cuts);
    let watch = Watch::new(&ask, needed.len(), stop, progress);
    let told = job.world(Outer::Told)?;
    let mut targets = Vec::new();
    for &cut in &ask.cuts {
        let ready = told.cut(cut)?;
        let bodies = ready.site.bodies.iter().filter(|b| b.is_target);
        targets.push(bodies.map(|b| b.id.clone()).collect());
    }
    let draws = (0..ask.grounds)
        .into_par_iter()
        .with_max_len(1)
        .map(|index| draw(job, &ask, &needed, u64::from(index), &watch))
        .collect::<Result<Vec<_>, _>>()?;
    let draws: Vec<Draw> = draws.into_iter().flatten().collect();
    let partial = stop.load(Ordering::Relaxed);
    Ok(Bank { cuts: ask.cuts.clone(), draws, targets, partial, frame: job.frame() })
}

/// One draw; `None` if the run was stopped before it was done.
fn draw(
    job: &Job,
    ask: &Ask,
    needed: &[usize],
    index: u64,
    watch: &Watch<'_>,
) -> Result<Option<Draw>, JobError> {
    if watch.stopped() {
        return Ok(None);
    }
    let world = job.world(Outer::Drawn { seed: ask.seed, index })?;
    let key = ground_key(ask.seed, index);
    let done = order::fates(&world, ask, needed, key, ask.drops_per_ground, watch)?;
    let done = asked(&ask.cuts, needed, done).into_iter();
    let fates: Vec<Vec<Fate>> = done.map(|(_, fates)| fates).collect();
    let whole = fates.iter().all(|f| f.len() == ask.drops_per_ground as usize);
    Ok(whole.then_some(Draw {
        index,
        inputs: world.inputs,
        words: world.words,
        fates,
        scene: world.scene,
    }))
}

/// How one note is met by the drops.
#[derive(Clone, Debug, Serialize)]
pub struct Agreement {
    /// The cut's id.
    pub cut: String,
    /// Drops of it over all draws.
    pub drops: u32,
    /// Of those, drops that agree: within three widths of every noted place and left as noted.
    pub agree: u32,
    /// How much of the difference between grounds is more than the scatter of their few drops, 0 to
    /// 1: at 0 the note tells no ground from another.
    pub credibility: f64,
    /// Width of the kernel about each noted place, m (root mean square of its two axes).
    pub width_m: f64,
    /// Least distance of a drop from the noted place, m: of where it lay, or else first touched.
    pub nearest_m: Option<f64>,
}

/// Weights of the draws.
#[derive(Clone, Debug)]
pub struct Weights {
    /// Per draw of the bank; they sum to 1, or are all 0 where none agrees.
    pub weights: Vec<f64>,
    /// How many draws they are worth, (Σw)²/Σw².
    pub effective: f64,
    /// Draws on which at least one drop of each noted cut agrees.
    pub meet_all: u32,
    /// Per note.
    pub agreement: Vec<Agreement>,
}

/// Weighs draws by notes. Draw `without`, if any, gets none: for tests that take a draw as truth.
/// A note of a cut that is not in the bank says nothing.
#[must_use]
pub fn weigh(bank: &Bank, notes: &[CutNote], without: Option<usize>) -> Weights {
    let mut logs = vec![0.0; bank.draws.len()];
    let mut meets_all: Vec<bool> = (0..bank.draws.len()).map(|i| Some(i) != without).collect();
    let mut agreement = Vec::new();
    for note in notes {
        let Some(k) = bank.cuts.iter().position(|c| *c == note.cut) else { continue };
        let kernel = Kernel::new(bank, k, note);
        let mut met = Agreement {
            cut: bank
                .draws
                .first()
                .and_then(|d| d.scene.cuts.get(note.cut))
                .map_or_else(String::new, |c| c.id.clone()),
            drops: 0,
            agree: 0,
            width_m: kernel.width_m(),
            nearest_m: None,
            credibility: 0.0,
        };
        let mut sums = Vec::with_capacity(bank.draws.len());
        for (i, draw) in bank.draws.iter().enumerate() {
            if Some(i) == without {
                sums.push(Sum::default());
                continue;
            }
            let at = kernel.places(&draw.scene);
            let mut sum = Sum::default();
            for fate in draw.fates.get(k).map_or(&[][..], Vec::as_slice) {
                let (value, off) = kernel.value(fate, &at);
                sum.add(value);
                met.nearest_m = match (met.nearest_m, off) {
                    (Some(a), Some(b)) => Some(a.min(b)),
                    (a, b) => a.or(b),
                };
            }
            met.drops += sum.count as u32;
            met.agree += sum.agree;
            if let Some(all) = meets_all.get_mut(i) {
                *all &= sum.agree > 0;
            }
            sums.push(sum);
        }
        let (pooled, credibility) = credibility(&sums);
        met.credibility = credibility;
        for (sum, log) in sums.iter().zip(&mut logs) {
            *log += libm::log(pooled + credibility * (sum.mean() - pooled));
        }
        agreement.push(met);
    }
    if let Some(log) = without.and_then(|i| logs.get_mut(i)) {
        *log = f64::NEG_INFINITY;
    }
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut weights: Vec<f64> =
        logs.iter().map(|log| if most.is_finite() { libm::exp(log - most) } else { 0.0 }).collect();
    let sum: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let effective = if squares > 0.0 { sum * sum / squares } else { 0.0 };
    if sum > 0.0 {
        weights.iter_mut().for_each(|w| *w /= sum);
    }
    let meet_all = meets_all.iter().filter(|m| **m).count() as u32;
    Weights { weights, effective, meet_all, agreement }
}

/// κ of the drops of one draw, added up.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    count: f64,
    sum: f64,
    squares: f64,
    agree: u32,
}

impl Sum {
    fn add(&mut self, value: f64) {
        self.count += 1.0;
        self.sum += value;
        self.squares += value * value;
        self.agree += u32::from(value > 0.0);
    }

    fn mean(&self) -> f64 {
        self.sum / self.count.max(1.0)
    }
}

/// Mean of κ over all draws, and how much of the difference between draws is more than the scatter
/// of their drops, 0 to 1.
fn credibility(sums: &[Sum]) -> (f64, f64) {
    let some: Vec<&Sum> = sums.iter().filter(|s| s.count > 0.0).collect();
    let draws = some.len() as f64;
    let drops: f64 = some.iter().map(|s| s.count).sum();
    if draws < 2.0 || drops <= draws {
        return (some.first().map_or(0.0, |s| s.mean()), 0.0);
    }
    let pooled = some.iter().map(|s| s.sum).sum::<f64>() / drops;
    let within = some.iter().map(|s| s.squares - s.count * s.mean() * s.mean()).sum::<f64>();
    let noise = within.max(0.0) / (drops - draws) / (drops / draws);
    let spread = some.iter().map(|s| (s.mean() - pooled) * (s.mean() - pooled)).sum::<f64>();
    let between = (spread / (draws - 1.0) - noise).max(0.0);
    let total = between + noise;
    (pooled, if total > 0.0 { between / total } else { 0.0 })
}

/// How far off a drop of one cut may be.
struct Kernel<'a> {
    note: &'a CutNote,
    frame: MapFrame,
    /// For first touch and lay: covariance and its inverse, m² and 1/m².
    widths: [Option<(DMat2, DMat2)>; 2],
}

impl<'a> Kernel<'a> {
    fn new(bank: &Bank, k: usize, note: &'a CutNote) -> Self {
        let noted = [&note.first_touch, &note.lay];
        let dimensions = 2.0 * noted.iter().filter(|p| p.is_some()).count() as f64;
        let drops = bank.draws.first().and_then(|d| d.fates.get(k)).map_or(1, Vec::len).max(1);
        let shrink = libm::pow(drops as f64, -1.0 / (dimensions + 4.0));
        let mut widths = [None, None];
        for (which, (place, width)) in noted.into_iter().zip(&mut widths).enumerate() {
            let (Some(place), Some(first)) = (place, bank.draws.first()) else { continue };
            let b = shrink * scatter_m(bank, k, which);
            let own = doubt_m2(&first.scene, place, &bank.frame);
            let h = own + DMat2::from_diagonal(DVec2::splat(b * b + FLOOR_M * FLOOR_M));
            *width = Some((h, h.inverse()));
        }
        Self { note, frame: bank.frame, widths }
    }

    fn width_m(&self) -> f64 {
        let widths = self.widths.iter().flatten().map(|(h, _)| 0.5 * (h.x_axis.x + h.y_axis.y));
        widths.fold(0.0, f64::max).sqrt()
    }

    /// The noted places on the survey of a draw, m.
    fn places(&self, scene: &Scene) -> [Option<DVec2>; 2] {
        [&self.note.first_touch, &self.note.lay]
            .map(|p| p.as_ref().map(|p| place_m(&scene.site, p, &self.frame)))
    }

    /// κ of one drop, and how far off it is from the last noted place, m.
    fn value(&self, fate: &Fate, at: &[Option<DVec2>; 2]) -> (f64, Option<f64>) {
        let left = match fate {
            Fate::Left(_) => Left::OverTheFace,
            Fate::SatBack { .. } => Left::SatBack,
        };
        let went_on = at.iter().any(Option::is_some) || self.note.went.is_some();
        let wrong = self.note.left.is_some_and(|noted| noted != left);
        let Some(outcome) = fate.outcome() else {
            return (f64::from(u8::from(!wrong && !went_on)), None);
        };
        let mut value = f64::from(u8::from(!wrong));
        let mut off = None;
        for (which, (noted, width)) in at.iter().zip(&self.widths).enumerate() {
            let (Some(noted), Some((_, inverse))) = (noted, width) else { continue };
            let Some(place) = place_of(outcome, which) else {
                value = 0.0;
                continue;
            };
            let delta = place - *noted;
            let square = delta.dot(*inverse * delta);
            value *= if square <= WIDTHS * WIDTHS { libm::exp(-0.5 * square) } else { 0.0 };
            off = Some(delta.length());
        }
        if let Some((way, seen)) = self.note.went {
            let right = RIGHT[usize::from(!seen)];
            let same = mode_of(way) == outcome.mode;
            value *= if same { right } else { (1.0 - right) / 3.0 };
        }
        (value, off)
    }
}

/// First touch (0) or end (1) of a drop in plan, m.
fn place_of(outcome: &Outcome, which: usize) -> Option<DVec2> {
    match which {
        0 => outcome.first_touch.map(|t| t.point_m.truncate()),
        _ => Some(outcome.end_m.truncate()),
    }
}

fn mode_of(way: Way) -> Mode {
    match way {
        Way::Stayed => Mode::Stayed,
        Way::Slid => Mode::Slid,
        Way::Rolled => Mode::Rolled,
        Way::Tumbled => Mode::Tumbled,
    }
}

/// Scatter of a cut's first touches or ends about their mean on one draw, m: an axis, pooled.
fn scatter_m(bank: &Bank, k: usize, which: usize) -> f64 {
    let (mut squares, mut freedom) = (0.0, 0.0);
    for draw in &bank.draws {
        let fates = draw.fates.get(k).map_or(&[][..], Vec::as_slice);
        let places: Vec<DVec2> =
            fates.iter().filter_map(Fate::outcome).filter_map(|o| place_of(o, which)).collect();
        if places.len() < 2 {
            continue;
        }
        let mean = places.iter().sum::<DVec2>() / places.len() as f64;
        squares += places.iter().map(|p| p.distance_squared(mean)).sum::<f64>();
        freedom += 2.0 * (places.len() - 1) as f64;
    }
    if freedom > 0.0 { (squares / freedom).sqrt() } else { 0.0 }
}

/// Covariance of a noted place by the doubt of its own numbers, each even within its limits, m².
fn doubt_m2(scene: &Scene, place: &Place, frame: &MapFrame) -> DMat2 {
    let at = |place: &Place| place_m(&scene.site, place, frame);
    let mut sum = DMat2::ZERO;
    let numbers: usize = 3;
    for n in 0..numbers {
        let moved = |high: bool| {
            let mut place = *place;
            let number = match (&mut place, n) {
                (Place::Taped { azimuth_rad, .. }, 0) => azimuth_rad,
                (Place::Taped { distance_m, .. }, 1) => distance_m,
                (Place::Taped { inclination_rad, .. }, 2) => inclination_rad,
                (Place::Local { east_m, .. }, 0) => east_m,
                (Place::Local { north_m, .. }, 1) => north_m,
                _ => return None,
            };
            *number = Doubtful::exact(if high { number.spread.high } else { number.spread.low });
            Some(at(&place))
        };
        if let (Some(low), Some(high)) = (moved(false), moved(true)) {
            // A number that is even within ±h has a standard deviation of h/√3.
            let v = 0.5 * (high - low) / 3.0_f64.sqrt();
            sum += DMat2::from_cols(v * v.x, v * v.y);
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_scatter_alone_has_no_credibility() {
        let sums = |means: &[f64]| -> Vec<Sum> {
            let drops = |m: f64| {
                let mut sum = Sum::default();
                [m - 0.1, m + 0.1].into_iter().for_each(|x| sum.add(x));
                sum
            };
            means.iter().map(|m| drops(*m)).collect()
        };
        // Two drops each, 0.02 apart squared: noise of a mean is 0.01.
        let (pooled, none) = credibility(&sums(&[0.5, 0.5, 0.5]));
        assert!((pooled - 0.5).abs() < 1e-12 && none == 0.0);
        let (_, some) = credibility(&sums(&[0.3, 0.5, 0.7]));
        assert!((some - 0.03 / 0.04).abs() < 1e-9, "{some}");
        assert_eq!(credibility(&[]), (0.0, 0.0));
    }

    #[test]
    fn verif_doubt_of_a_taped_place_is_long_across_or_along() {
        let scene = crate::scene::parse(crate::scene::starter(), "s").expect("a scene");
        let place = Place::Taped {
            from: crate::scene::Station::Stump,
            azimuth_rad: Doubtful::around(0.0, 0.1, How::Stated),
            distance_m: Doubtful::around(20.0, 0.5, How::Stated),
            inclination_rad: Doubtful::exact(0.0),
        };
        let m = doubt_m2(&scene, &place, &MapFrame::default());
        // Along north ±0.5 m, across it ±20 m · sin 0.1.
        assert!((m.y_axis.y.sqrt() - 0.5 / 3.0_f64.sqrt()).abs() < 1e-9);
        let across = 20.0 * libm::sin(0.1) / 3.0_f64.sqrt();
        assert!((m.x_axis.x.sqrt() - across).abs() < 1e-9, "{m}");
        assert!(m.x_axis.y.abs() < 1e-12);
    }
}
