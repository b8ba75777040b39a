//! Undergrowth: returns between the ground and a person's height, patch by patch.
//!
//! Of each square of 2 m the share of returns from 0.2 to 2.5 m above the ground among all up to
//! there. Where the share is a seventh or more over 20 m² and more, a patch is proposed with its
//! height. Points say nothing of how far stems stand apart nor how thick they are: both stay "don't
//! know". Limits are ours. Left out: plants that a scan doesn't see (winter, a canopy above).

use glam::DVec2;

use super::{
    Cloud, GROUND, Item, Proposal, Proposals, Sure,
    cells::{Cells, at_share},
};

/// Heights of undergrowth above the ground, m.
const BAND_M: [f64; 2] = [0.2, 2.5];
/// Side of a square, m.
const CELL_M: f64 = 2.0;
/// Least share of returns that makes a square overgrown.
const LEAST_SHARE: f64 = 1.0 / 7.0;
/// Fewest returns up to the band's top that say anything of a square.
const LEAST_RETURNS: u32 = 4;
/// Fewest squares and returns of a patch.
const LEAST_SQUARES: usize = 5;
const LEAST_POINTS: usize = 20;

pub(super) fn find(cloud: &Cloud, roofed: &dyn Fn(DVec2) -> bool, found: &mut Proposals) {
    let cells = Cells::over(cloud.bounds, CELL_M);
    // Ground is ground beside a step too, where heights pass under it.
    let in_band = |p: &super::Over| p.class != GROUND && (BAND_M[0]..=BAND_M[1]).contains(&p.above);
    // What is built isn't brush, whatever its height.
    let counts = |p: &&super::Over| p.class != 6 && !roofed(p.at);
    let mut returns = vec![[0_u32; 2]; cells.count()];
    for p in cloud.points.iter().filter(counts).filter(|p| p.above <= BAND_M[1]) {
        if let Some(cell) = cells.of(p.at).and_then(|k| returns.get_mut(k)) {
            cell[usize::from(in_band(p))] += 1;
        }
    }
    let grown: Vec<bool> = returns
        .iter()
        .map(|[low, band]| {
            low + band >= LEAST_RETURNS
                && *band >= 2
                && f64::from(*band) >= LEAST_SHARE * f64::from(low + band)
        })
        .collect();
    let mut groups: Vec<Vec<usize>> =
        cells.groups(&grown).into_iter().filter(|g| g.len() >= LEAST_SQUARES).collect();
    groups.sort_by_key(|g| std::cmp::Reverse(g.len()));
    let mut owner = vec![usize::MAX; cells.count()];
    for (g, group) in groups.iter().enumerate() {
        for k in group {
            if let Some(slot) = owner.get_mut(*k) {
                *slot = g;
            }
        }
    }
    let mut heights: Vec<Vec<f64>> = vec![Vec::new(); groups.len()];
    for p in cloud.points.iter().filter(counts).filter(|p| in_band(p)) {
        let own = cells.of(p.at).and_then(|k| owner.get(k)).and_then(|g| heights.get_mut(*g));
        if let Some(list) = own {
            list.push(p.above);
        }
    }
    let mut number = 0;
    for (group, mut heights) in groups.into_iter().zip(heights) {
        if heights.len() < LEAST_POINTS {
            continue;
        }
        heights.sort_by(f64::total_cmp);
        let all: u32 =
            group.iter().filter_map(|k| returns.get(*k)).map(|[low, band]| low + band).sum();
        number += 1;
        let points = heights.len() as u64;
        found.proposals.push(Proposal {
            id: format!("brush-{number}"),
            from: cloud.name.clone(),
            points,
            sure: Sure::Poor,
            why: format!(
                "{:.0} in 100 returns up to {} m above the ground lie over {} m, on {:.0} m²: \
                 undergrowth, low limbs or clutter. Points don't say how far stems stand apart nor \
                 how thick they are: look at both on site",
                100.0 * points as f64 / f64::from(all.max(1)),
                BAND_M[1],
                BAND_M[0],
                group.len() as f64 * CELL_M * CELL_M
            ),
            item: Item::Brush {
                outline_m: cells.outline(&group, 0.75 * CELL_M),
                height_m: [at_share(&heights, 0.5), at_share(&heights, 0.95)],
            },
        });
    }
}
