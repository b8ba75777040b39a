//! Cut faces: steps of the ground that heights smear over a few cells, traced as lines.
//!
//! At each node, along the way up: the ground in front and behind is carried on to the node at its
//! own slope, from one and two half-widths b of a cut face's band (`terrain::cut_face`, whose low(P)
//! and high(P) these are); what lies between the two levels is the step:
//!
//! ```text
//! H = [2·h(C) − h(C')] − [2·h(A) − h(A')]      A, A' at −b, −2b and C, C' at +b, +2b
//! ```
//!
//! It is 0 on any slope, and the whole height of a step within the band. A step is proposed where H
//! is a quarter or more of the drop across the band (on a steep bank the rest is the bank's) and the
//! ground between either can't be told from a vertical face (no wider than twice the cells or the
//! points are apart) or is steeper than a height field is trusted with. Wider and flatter banks are
//! held by the heights as they are. A line goes where the ground is steepest, and ends where the
//! step changes by half. Limits are ours. Left out: steps under 0.4 m; branches of a line; the lean
//! of the face. Known answer:
//! `verif_a_step_is_found_where_it_is_and_as_high`.

use std::{
    cmp::{Ordering, Reverse},
    collections::BinaryHeap,
};

use glam::DVec2;

use super::{
    Base, Cloud, GROUND, Item, Proposal, Proposals, Sure,
    cells::{Cells, at_share, simplified},
};
use crate::terrain::{STEEPEST_GRADIENT, Side, Terrain, cut_face::HALF_WIDTH_M};

/// Lowest step that is proposed, m.
const LEAST_M: f64 = 0.4;
/// Height of the lowest step as a share of what ground points are apart: what is less steep between
/// two of them, some 39°, is a slope as far as they can tell.
const LEAST_SLOPE: f64 = 0.8;
/// Least part of the drop across the band, and of the slope across the step, that must be the step's
/// own.
const LEAST_PART: f64 = 0.25;
/// Shortest line, m.
const LEAST_LENGTH_M: f64 = 3.0;
/// A line ends where its step is so many times higher or lower than so far.
const CHANGE: f64 = 1.5;
/// Ground steeper than this that isn't a step is said: 45°.
const STEEP: f64 = 1.0;
/// Most lines; the longest go first.
const MOST: usize = 12;

/// What heights and points can tell.
#[derive(Clone, Copy, Debug)]
struct Seen {
    /// Half-width of the band of a cut face, m.
    half_m: f64,
    /// Within so much no slope can be told from a step, m.
    apart_m: f64,
    /// Lowest step, m.
    least_m: f64,
}

/// A place on a step.
#[derive(Clone, Copy, Debug)]
struct Step {
    at: DVec2,
    /// Unit vector up the step.
    up: DVec2,
    height_m: f64,
    /// The ground's greatest slope across it.
    steepest: f64,
}

pub(super) fn find(base: &Base, cloud: &Cloud, found: &mut Proposals) {
    let terrain = &base.terrain;
    let (nx, ny, cell_m) = (terrain.grid.nx, terrain.grid.ny, terrain.grid.cell_m);
    let half_m = HALF_WIDTH_M.max(1.5 * cell_m);
    let spacing_m = ground_spacing_m(cloud);
    let seen = Seen {
        half_m,
        apart_m: 2.0 * spacing_m.max(cell_m),
        least_m: LEAST_M.max(LEAST_SLOPE * spacing_m),
    };
    let steps: Vec<Option<Step>> = (0..nx * ny)
        .map(|k| {
            let node = DVec2::new((k % nx) as f64, (k / nx) as f64);
            step(terrain, terrain.grid.origin_m + node * cell_m, seen)
        })
        .collect();
    let mut lines: Vec<Vec<Step>> =
        chains(&steps, nx, ny).into_iter().flat_map(|chain| pieces(&chain)).collect();
    lines.sort_by(|a, b| length_m(b).total_cmp(&length_m(a)));
    let left_out = lines.len().saturating_sub(MOST);
    lines.truncate(MOST);
    if left_out > 0 {
        found.notes.push(format!(
            "{left_out} shorter steps of the ground are left out, beyond the {MOST} longest"
        ));
    }
    steep_ground(terrain, &lines, half_m, found);
    let counts = ground_points(cloud, &lines, 2.0 * half_m);
    let mut number = 0;
    for (line, points) in lines.iter().zip(counts) {
        let metres = length_m(line);
        // Heights that are filled in make steps that nobody saw.
        if (points as f64) < metres {
            continue;
        }
        number += 1;
        let mut heights: Vec<f64> = line.iter().map(|s| s.height_m).collect();
        heights.sort_by(f64::total_cmp);
        let mut slopes: Vec<f64> = line.iter().map(|s| s.steepest).collect();
        slopes.sort_by(f64::total_cmp);
        let slope = at_share(&slopes, 0.5);
        let steep = libm::atan(slope).to_degrees();
        let seen = slope >= STEEPEST_GRADIENT && points as f64 > 4.0 * metres;
        let places: Vec<DVec2> = line.iter().map(|s| s.at).collect();
        let line_m = simplified(&places, 0.4 * cell_m.max(0.5));
        found.proposals.push(Proposal {
            id: format!("face-{number}"),
            from: cloud.name.clone(),
            points,
            sure: if seen { Sure::Fair } else { Sure::Poor },
            why: format!(
                "a step of the ground {metres:.0} m long, {:.1} m high in the middle of its length, \
                 {steep:.0}° steep in these heights; {}. Look whether it is a face, and how high",
                at_share(&heights, 0.5),
                if seen {
                    "steeper than heights can hold"
                } else {
                    "points so far apart can't tell it from a vertical face, nor from a bank"
                }
            ),
            item: Item::Face {
                low_side: low_side(line),
                line_m,
                height_m: [at_share(&heights, 0.1), at_share(&heights, 0.9)],
            },
        });
    }
}

/// Says how much ground is steep but no step.
fn steep_ground(terrain: &Terrain, lines: &[Vec<Step>], half_m: f64, found: &mut Proposals) {
    let (nx, cell_m) = (terrain.grid.nx, terrain.grid.cell_m);
    let near_line = |p: DVec2| {
        let reach = 2.0 * half_m;
        lines.iter().flatten().any(|s| s.at.distance_squared(p) < reach * reach)
    };
    let (mut count, mut most, mut at) = (0_u32, 0.0, DVec2::ZERO);
    for k in 0..nx * terrain.grid.ny {
        let node = DVec2::new((k % nx) as f64 + 0.5, (k / nx) as f64 + 0.5);
        let p = terrain.grid.origin_m + node * cell_m;
        let Some(slope) = terrain.grid.surface(p.x, p.y).map(|s| s.gradient.length()) else {
            continue;
        };
        if slope > STEEP && !near_line(p) {
            count += 1;
            if slope > most {
                (most, at) = (slope, p);
            }
        }
    }
    let area = f64::from(count) * cell_m * cell_m;
    if area >= LEAST_LENGTH_M {
        found.notes.push(format!(
            "{area:.0} m² of ground is steeper than 45°, at most {:.0}°, {:.0} m {} and {:.0} m {} of \
             the place, but too wide for a step: heights hold it as a slope. Where it is a \
             vertical face after all, give it as a breakline with the height that you measure",
            libm::atan(most).to_degrees(),
            at.x.abs(),
            if at.x < 0.0 { "west" } else { "east" },
            at.y.abs(),
            if at.y < 0.0 { "south" } else { "north" }
        ));
    }
}

/// The step at a place, if there is one.
fn step(terrain: &Terrain, at: DVec2, seen: Seen) -> Option<Step> {
    let Seen { half_m, apart_m, least_m } = seen;
    let grid = &terrain.grid;
    let h = |p: DVec2| grid.surface(p.x, p.y).map(|s| s.height_m);
    let d = grid.cell_m;
    let gradient = DVec2::new(
        h(at + DVec2::X * d)? - h(at - DVec2::X * d)?,
        h(at + DVec2::Y * d)? - h(at - DVec2::Y * d)?,
    );
    // Over so little a node has no way up.
    if gradient.length() < 0.2 * LEAST_M {
        return None;
    }
    let up = gradient.normalize_or_zero();
    let level = |side: f64| -> Option<(f64, f64, f64)> {
        let (near, far) = (h(at + up * (side * half_m))?, h(at + up * (2.0 * side * half_m))?);
        Some((2.0 * near - far, near, side * (far - near) / half_m))
    };
    let ((low, low_at, slope_low), (high, high_at, slope_high)) = (level(-1.0)?, level(1.0)?);
    let (height_m, drop) = (high - low, high_at - low_at);
    if height_m < least_m || height_m < LEAST_PART * drop || height_m > 1.5 * drop {
        return None;
    }
    // The profile across: how steep at most, and where the step's middle is.
    // Where a slope but begins or ends, nothing is steeper than the steeper side.
    let outside = slope_low.max(slope_high).max(0.0);
    let parts = (4.0 * half_m / d).ceil().clamp(4.0, 64.0);
    let width = 2.0 * half_m / parts;
    let (mut steepest, mut moment, mut sum) = (0.0_f64, 0.0, 0.0);
    let mut before = low_at;
    for k in 0..parts as usize {
        let middle = -half_m + (k as f64 + 0.5) * width;
        let after = h(at + up * (middle + 0.5 * width))?;
        let slope = (after - before) / width;
        before = after;
        steepest = steepest.max(slope);
        let over = (slope - outside).max(0.0);
        moment += over * middle;
        sum += over;
    }
    let steeper = steepest - outside;
    let wide_m = height_m / steeper.max(1e-6);
    let slope = wide_m > apart_m && steepest < STEEPEST_GRADIENT;
    if slope || steeper < LEAST_PART * steepest {
        return None;
    }
    let off = moment / sum.max(1e-9);
    // A node beside the step sees it too; the nearest ones stand for it.
    (off.abs() <= 0.75 * d).then(|| Step { at: at + up * off, up, height_m, steepest })
}

/// Steps that are neighbours, each chain from one far end to the other.
fn chains(steps: &[Option<Step>], nx: usize, ny: usize) -> Vec<Vec<Step>> {
    let near = |k: usize| {
        let (i, j) = ((k % nx) as i64, (k / nx) as i64);
        (-2..=2_i64).flat_map(move |dj| (-2..=2_i64).map(move |di| (i + di, j + dj))).filter_map(
            move |(a, b)| {
                let inside = a >= 0 && b >= 0 && a < nx as i64 && b < ny as i64;
                let n = inside.then_some((b * nx as i64 + a) as usize)?;
                (n != k && steps.get(n).copied().flatten().is_some()).then_some(n)
            },
        )
    };
    let place = |k: usize| steps.get(k).copied().flatten().map_or(DVec2::ZERO, |s| s.at);
    let mut seen = vec![false; steps.len()];
    let mut found = Vec::new();
    for start in 0..steps.len() {
        if seen.get(start) != Some(&false) || steps.get(start).copied().flatten().is_none() {
            continue;
        }
        let (reached, _) = walk(start, &place, &near);
        for k in &reached {
            if let Some(s) = seen.get_mut(k.0) {
                *s = true;
            }
        }
        let far = |reached: &[(usize, f64)]| {
            reached.iter().fold((start, 0.0), |far, one| if one.1 > far.1 { *one } else { far }).0
        };
        let end = far(&reached);
        let (back, came_from) = walk(end, &place, &near);
        let mut at = far(&back);
        let mut chain = Vec::new();
        loop {
            chain.extend(steps.get(at).copied().flatten());
            match came_from.iter().find(|(k, _)| *k == at) {
                Some((_, from)) if *from != at => at = *from,
                _ => break,
            }
        }
        found.push(smoothed(chain));
    }
    found
}

/// Every place that is reached from one, with its distance; and from where.
#[allow(clippy::type_complexity, reason = "two short lists, used in the next lines alone")]
fn walk<I: Iterator<Item = usize>>(
    start: usize,
    place: &dyn Fn(usize) -> DVec2,
    near: &dyn Fn(usize) -> I,
) -> (Vec<(usize, f64)>, Vec<(usize, usize)>) {
    #[derive(PartialEq)]
    struct Far(f64, usize, usize);
    impl Eq for Far {}
    impl PartialOrd for Far {
        fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
            Some(self.cmp(other))
        }
    }
    impl Ord for Far {
        fn cmp(&self, other: &Self) -> Ordering {
            self.0.total_cmp(&other.0).then(self.1.cmp(&other.1)).then(self.2.cmp(&other.2))
        }
    }
    let mut done = std::collections::BTreeMap::new();
    let mut reached = Vec::new();
    let mut heap = BinaryHeap::from([Reverse(Far(0.0, start, start))]);
    while let Some(Reverse(Far(far, k, from))) = heap.pop() {
        if done.contains_key(&k) {
            continue;
        }
        done.insert(k, from);
        reached.push((k, far));
        for n in near(k).filter(|n| !done.contains_key(n)) {
            heap.push(Reverse(Far(far + place(k).distance(place(n)), n, k)));
        }
    }
    (reached, done.into_iter().collect())
}

/// Places of a chain as the mean of each and its two neighbours: nodes lie to either side of a step.
fn smoothed(chain: Vec<Step>) -> Vec<Step> {
    let at: Vec<DVec2> = chain.iter().map(|s| s.at).collect();
    let last = at.len().saturating_sub(1);
    let mean = |k: usize| match (k.checked_sub(1).and_then(|a| at.get(a)), at.get(k + 1)) {
        (Some(a), Some(b)) if k < last => at.get(k).map(|own| (*a + *own + *b) / 3.0),
        _ => at.get(k).copied(),
    };
    chain.iter().enumerate().map(|(k, s)| Step { at: mean(k).unwrap_or(s.at), ..*s }).collect()
}

/// A chain cut where its step changes for good, pieces that are too short left out.
fn pieces(chain: &[Step]) -> Vec<Vec<Step>> {
    let mut pieces: Vec<Vec<Step>> = Vec::new();
    let mut own: Vec<Step> = Vec::new();
    let median = |steps: &[Step]| {
        let mut heights: Vec<f64> = steps.iter().map(|s| s.height_m).collect();
        heights.sort_by(f64::total_cmp);
        at_share(&heights, 0.5)
    };
    for (k, step) in chain.iter().enumerate() {
        // Three in a row on the same side: one alone is the survey's.
        let ahead = chain.get(k..(k + 3).min(chain.len())).unwrap_or(&[]);
        let so_far = median(&own);
        let changed = own.len() >= 3
            && ahead.len() == 3
            && (ahead.iter().all(|s| s.height_m > CHANGE * so_far)
                || ahead.iter().all(|s| s.height_m * CHANGE < so_far));
        if changed {
            pieces.push(std::mem::take(&mut own));
        }
        own.push(*step);
    }
    pieces.push(own);
    pieces.retain(|p| length_m(p) >= LEAST_LENGTH_M);
    pieces
}

fn length_m(line: &[Step]) -> f64 {
    line.iter().zip(line.iter().skip(1)).map(|(a, b)| a.at.distance(b.at)).sum()
}

/// The low side, walking the line.
fn low_side(line: &[Step]) -> Side {
    let left: f64 = line
        .iter()
        .zip(line.iter().skip(1))
        .map(|(a, b)| (b.at - a.at).perp().dot(a.up + b.up))
        .sum();
    if left > 0.0 { Side::Right } else { Side::Left }
}

fn ground_spacing_m(cloud: &Cloud) -> f64 {
    if !cloud.has(GROUND) {
        return cloud.spacing_m;
    }
    let ground = cloud.points.iter().filter(|p| p.class == GROUND).count().max(1);
    cloud.spacing_m * (cloud.points.len() as f64 / ground as f64).sqrt()
}

/// Ground points beside each line.
fn ground_points(cloud: &Cloud, lines: &[Vec<Step>], reach_m: f64) -> Vec<u64> {
    let cells = Cells::over(cloud.bounds, 0.5);
    let mut owner = vec![u8::MAX; cells.count()];
    let reach = (reach_m / cells.cell_m).ceil() as i64;
    for (l, line) in lines.iter().enumerate() {
        for step in line {
            for dj in -reach..=reach {
                for di in -reach..=reach {
                    let off = DVec2::new(di as f64, dj as f64) * cells.cell_m;
                    if off.length() <= reach_m
                        && let Some(slot) = cells.of(step.at + off).and_then(|k| owner.get_mut(k))
                    {
                        *slot = l as u8;
                    }
                }
            }
        }
    }
    let mut counts = vec![0; lines.len()];
    let is_ground = |p: &&super::Over| {
        if cloud.has(GROUND) { p.class == GROUND } else { p.above.abs() < 0.3 }
    };
    for p in cloud.points.iter().filter(is_ground) {
        let own = cells.of(p.at).and_then(|k| owner.get(k)).copied().unwrap_or(u8::MAX);
        if let Some(count) = counts.get_mut(usize::from(own)) {
            *count += 1;
        }
    }
    counts
}
