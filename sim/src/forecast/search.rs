//! A search over lengths and faces of one cut, toward where least reaches over all grounds.
//!
//! A coarse grid over the whole box first; then, as long as the drops last, four neighbours at half
//! the spacing about the try of which least has reached so far. A piece that sits back reaches
//! nothing and is no answer: it counts as if it had reached, and so does a drop that was lost. All
//! tries have the same draws, so that they are paired.
//!
//! What a search ends at was picked by looking, many times over. So every try is run again on fresh
//! draws over all grounds; those alone are shown, all of them, with bounds corrected for the number
//! of tries (Bonferroni). No try is named best.

use std::sync::atomic::AtomicBool;

use super::{
    AnyReach, Ask, Progress,
    compare::{FRESH, Lengths, Misfit, fits, with_length},
    interval,
    result::{CutForecast, Interval},
    run,
};
use crate::{
    job::{Job, JobError},
    quantity::Units,
};

/// The box that is searched.
#[derive(Clone, Debug, PartialEq)]
pub struct Span {
    /// The cut's index in the scene.
    pub cut: usize,
    /// Least and greatest length, m.
    pub lengths_m: [f64; 2],
    /// First and last azimuth of the face from the scene's north, rad; the scene's own if `None`.
    pub faces_rad: Option<[f64; 2]>,
    /// Drops to spend in all.
    pub drops: u32,
}

/// One length and face that was tried, by its fresh drops.
#[derive(Clone, Debug)]
pub struct Try {
    /// Length of the piece, m.
    pub length_m: f64,
    /// Azimuth of the face from the scene's north, rad.
    pub face_rad: f64,
    /// The forecast on the fresh draws.
    pub forecast: CutForecast,
    /// Drops on the ground as told in which anything touched a target.
    pub told: AnyReach,
    /// The same over all grounds, the told one included.
    pub any: AnyReach,
    /// Least and greatest share among the grounds.
    pub over_grounds: Interval,
    /// Upper bound of the share on the ground as told, corrected for all tries.
    pub at_most: f64,
}

/// All that was tried.
#[derive(Clone, Debug)]
pub struct Search {
    /// The cut's id.
    pub cut: String,
    /// In order of length, then face.
    pub tries: Vec<Try>,
    /// Drops that chose where to look.
    pub choosing: u32,
    /// Fresh drops, which are counted.
    pub counted: u32,
    /// True when it was stopped before its end.
    pub partial: bool,
}

/// A cell of the box by whole steps of the finest spacing.
type Node = [u32; 2];

/// Fewest tries that are a search.
const LEAST_TRIES: u32 = 6;
/// Share of the tries that the coarse grid gets.
const COARSE: f64 = 0.5;
/// How often the coarse spacing is halved at most.
const HALVINGS: u32 = 3;
const FINEST: u32 = 1 << HALVINGS;

/// Drops that one try costs: it is made twice.
fn cost(ask: &Ask) -> u32 {
    2 * (ask.drops + ask.grounds * ask.drops_per_ground)
}

/// Refuses a box that runs backwards, that the stem or the release doesn't fit, or too few drops.
///
/// # Errors
/// The first that doesn't fit.
pub fn check(job: &Job, span: &Span, ask: &Ask) -> Result<(), Misfit> {
    let least = LEAST_TRIES.saturating_mul(cost(ask));
    if span.drops < least {
        return Err(Misfit::Search(format!(
            "read {} drops; allowed: at least {least}, for {LEAST_TRIES} tries of {} drops twice",
            span.drops,
            cost(ask) / 2
        )));
    }
    let [low_m, high_m] = span.lengths_m;
    let lengths = Lengths {
        cut: span.cut,
        lengths_m: vec![low_m, high_m],
        faces_rad: span.faces_rad.map_or_else(Vec::new, |faces| faces.to_vec()),
    };
    fits(job, &lengths)
}

/// The tries of a box: the coarse grid and what lies about a node, in whole steps.
struct Grid {
    coarse: [u32; 2],
    span: Span,
    own_rad: f64,
    units: Units,
}

impl Grid {
    /// As many coarse nodes as the tries allow, at least two a side.
    fn new(span: &Span, tries: u32, own_rad: f64, units: Units) -> Self {
        let first = (f64::from(tries) * COARSE).max(4.0);
        let coarse = if span.faces_rad.is_some() {
            let side = libm::sqrt(first).floor().max(2.0);
            [(first / side).floor() as u32, side as u32]
        } else {
            [first as u32, 1]
        };
        Self { coarse, span: span.clone(), own_rad, units }
    }

    fn nodes(&self) -> Vec<Node> {
        let [lengths, faces] = self.coarse;
        let all = (0..lengths).flat_map(|i| (0..faces).map(move |j| [i * FINEST, j * FINEST]));
        all.collect()
    }

    /// The four nodes `step` away, those in the box.
    fn about(&self, [i, j]: Node, step: u32) -> Vec<Node> {
        let last = self.coarse.map(|n| (n - 1) * FINEST);
        let beside = [
            (i.checked_sub(step), Some(j)),
            (i.checked_add(step), Some(j)),
            (Some(i), j.checked_sub(step)),
            (Some(i), j.checked_add(step)),
        ];
        let inside = beside.into_iter().filter_map(|(i, j)| Some([i?, j?]));
        inside.filter(|node| node[0] <= last[0] && node[1] <= last[1]).collect()
    }

    /// Length, m, to the unit a tape is read in, and face, rad, to the degree.
    fn at(&self, [i, j]: Node) -> (f64, f64) {
        let along = |k: u32, n: u32, [low, high]: [f64; 2]| {
            let last = f64::from((n - 1).max(1) * FINEST);
            low + (high - low) * f64::from(k) / last
        };
        let tape_m = match self.units {
            Units::Metric => 0.01,
            Units::Imperial => 0.0254,
        };
        let round = |x: f64, to: f64| (x / to).round() * to;
        let [low_m, high_m] = self.span.lengths_m;
        let length_m = round(along(i, self.coarse[0], [low_m, high_m]), tape_m);
        let face = |faces| round(along(j, self.coarse[1], faces), 1_f64.to_radians());
        let face_rad = self.span.faces_rad.map_or(self.own_rad, face);
        (length_m.clamp(low_m, high_m), face_rad)
    }
}

/// What steers the search: drops that reached, could have, or sat back, among all.
fn share(any: AnyReach, sat_back: u32) -> f64 {
    f64::from(any.reached + any.unknown + sat_back) / f64::from(any.drops.max(1))
}

fn sat_back(cut: &CutForecast) -> u32 {
    cut.sat_back + cut.grounds.iter().map(|ground| ground.sat_back).sum::<u32>()
}

/// Runs a search; `ask.cuts` is not used.
///
/// # Errors
/// As [`run`], for the first try that can't be built.
pub fn search(
    job: &Job,
    span: &Span,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Search, JobError> {
    let ask = Ask { cuts: vec![span.cut], ..ask.clone() };
    let fresh_ask = Ask { seed: ask.seed.wrapping_add(FRESH), ..ask.clone() };
    let most = span.drops / cost(&ask).max(1);
    let own_rad = job.scene.cuts.get(span.cut).map_or(0.0, |c| c.release.toward_rad().told);
    let grid = Grid::new(span, most, own_rad, job.scene.units);
    let each = cost(&ask) / 2;
    let done = std::cell::Cell::new(0);
    let one = |node: Node, ask: &Ask| {
        let (length_m, face_rad) = grid.at(node);
        let face = span.faces_rad.map(|_| face_rad);
        let job = job.with_scene(with_length(&job.scene, span.cut, length_m, face));
        let before = done.get();
        let tell = |p: Progress| {
            // What this cut hangs on is run too: a try stands for its own drops.
            let part = u64::from(each) * u64::from(p.done) / u64::from(p.total.max(1));
            progress(Progress {
                done: before + part as u32,
                total: most * each * 2,
                reached: p.reached,
            });
        };
        let found = run(&job, ask, stop, &tell)?;
        done.set(before + each);
        Ok::<_, JobError>(found)
    };
    // Nodes tried, with what was found and the next step about each.
    let mut tried: Vec<(Node, f64, u32)> = Vec::new();
    let mut partial = false;
    let mut waiting = grid.nodes();
    let mut places: Vec<(f64, f64)> = Vec::new();
    while (tried.len() as u32) < most {
        let Some(node) = (!waiting.is_empty()).then(|| waiting.remove(0)) else {
            let finest = |(_, _, step): &&mut (Node, f64, u32)| *step > 0;
            let by = |a: &(Node, f64, u32)| (a.1, FINEST - a.2, a.0);
            let next = tried.iter_mut().filter(finest).min_by(|a, b| {
                let (a, b) = (by(a), by(b));
                a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2))
            });
            let Some((node, _, step)) = next else { break };
            waiting = grid.about(*node, *step);
            *step /= 2;
            continue;
        };
        let place = grid.at(node);
        if places.contains(&place) {
            continue;
        }
        let found = one(node, &ask)?;
        if found.forecast.partial {
            partial = true;
            break;
        }
        let any = found.any.first().copied().unwrap_or_default();
        let back = found.forecast.cuts.first().map_or(0, sat_back);
        places.push(place);
        tried.push((node, share(any, back), FINEST / 2));
    }
    let mut search = Search {
        cut: job.scene.cuts.get(span.cut).map_or_else(String::new, |c| c.id.clone()),
        tries: Vec::new(),
        choosing: tried.len() as u32 * each,
        counted: 0,
        partial,
    };
    tried.sort_by_key(|(node, ..)| *node);
    for (node, ..) in &tried {
        if search.partial {
            break;
        }
        let found = one(*node, &fresh_ask)?;
        search.partial |= found.forecast.partial;
        let (length_m, face_rad) = grid.at(*node);
        let told = found.told.first().map_or_else(AnyReach::default, |(_, f)| AnyReach::of(f));
        let by_ground = found.by_ground.first().map_or(&[][..], Vec::as_slice);
        let shares = by_ground.iter().filter(|any| any.drops > 0);
        let over_grounds =
            Interval::of(shares.map(|any| f64::from(any.reached) / f64::from(any.drops)));
        let any = found.any.first().copied().unwrap_or_default();
        let Some(forecast) = found.forecast.cuts.into_iter().next() else { continue };
        let tail = (1.0 - interval::CONFIDENCE) / tried.len().max(1) as f64;
        let open = (told.reached + told.unknown).min(told.drops);
        let at_most = interval::tail_high(open, told.drops, tail);
        search.counted += any.drops;
        search.tries.push(Try { length_m, face_rad, forecast, told, any, over_grounds, at_most });
    }
    Ok(search)
}
