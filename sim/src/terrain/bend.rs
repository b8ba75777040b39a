//! A grid bent to what a tape says of the same ground.
//!
//! A raster may be old, coarse, or blind to what stands under a crown; a few legs by tape know better
//! where they were walked. What a station lies above the grid is added to it there, in full, and
//! less and less away from it:
//!
//! ```text
//! h(x) += k(x)·(K + n·1)⁻¹·δ        δ station less grid, m; k, K Matérn's correlation, ν = 5/2
//! ```
//!
//! simple kriging to a mean of nought (as in [`between`](super::between), source there) with a
//! correlation length of [`LENGTH_M`] and a nugget n of [`NUGGET`], so that stations a step apart
//! don't make waves. Stations off the grid are left out. Known answer: the tests below.

use glam::{DVec2, DVec3};
use nalgebra::{Cholesky, DMatrix, DVector};

use super::{Grid, between::matern};

/// How far a station bends the grid, as a correlation length, m (ours).
pub const LENGTH_M: f64 = 12.0;
/// Share of a departure that a lone station may leave (ours).
pub const NUGGET: f64 = 1e-3;
/// Correlation lengths beyond which a station bends nothing (numerical: 2 in 1000 are left there).
const AS_FAR: f64 = 4.0;
/// A coarser grid gets more nodes before it is bent, m (ours).
const COARSEST_M: f64 = 1.0;
/// Most nodes on a side that it is made to have (numerical).
const MOST_SIDE: usize = 2_000;
/// Most stations that a grid is bent to; more are thinned out evenly (ours).
const MOST: usize = 300;

/// How far a grid was off the stations it was bent to.
#[derive(Clone, Debug, PartialEq)]
pub struct Bent {
    /// Stations on the grid.
    pub stations: usize,
    /// Stations off it.
    pub off_it: usize,
    /// Root mean square, m.
    pub rms_m: f64,
    /// The greatest one, m, above nought where the tape is above the grid.
    pub most_m: f64,
}

/// Bends a grid to stations, m in its frame; `None` where none lies on it. A grid too coarse to
/// follow them gets more nodes.
pub fn bend(grid: &mut Grid, stations: &[DVec3]) -> Option<Bent> {
    let mut known: Vec<(DVec2, f64)> = Vec::new();
    let mut off_it = 0;
    let step = stations.len().div_ceil(MOST).max(1);
    for p in stations.iter().step_by(step) {
        let at = p.truncate();
        match grid.surface(at.x, at.y) {
            _ if known.iter().any(|(q, _)| q.distance(at) < 0.05) => {}
            Some(ground) => known.push((at, p.z - ground.height_m)),
            None => off_it += 1,
        }
    }
    let n = known.len();
    let at = |k: usize| known.get(k).map_or(DVec2::ZERO, |(p, _)| *p);
    let matrix = DMatrix::from_fn(n, n, |i, j| {
        matern(at(i).distance(at(j)) / LENGTH_M) + if i == j { NUGGET } else { 0.0 }
    });
    let off = DVector::from_iterator(n, known.iter().map(|(_, off)| *off));
    let weights = Cholesky::new(matrix).filter(|_| n > 0)?.solve(&off);
    let between = (grid.cell_m / COARSEST_M).ceil().max(1.0) as usize;
    if grid.nx.max(grid.ny).saturating_mul(between) < MOST_SIDE {
        *grid = finer(grid, between);
    }
    for j in 0..grid.ny {
        for i in 0..grid.nx {
            let here = grid.origin_m + DVec2::new(i as f64, j as f64) * grid.cell_m;
            let up: f64 = (known.iter().zip(weights.iter()))
                .map(|((p, _), w)| (p.distance(here) / LENGTH_M, w))
                .filter(|(lengths, _)| *lengths < AS_FAR)
                .map(|(lengths, w)| w * matern(lengths))
                .sum();
            if let Some(height) = grid.heights_m.get_mut(j * grid.nx + i) {
                *height += up as f32;
            }
        }
    }
    let most_m = known.iter().fold(0.0_f64, |m, (_, d)| if d.abs() > m.abs() { *d } else { m });
    Some(Bent { stations: n, off_it, rms_m: (off.norm_squared() / n as f64).sqrt(), most_m })
}

/// The same surface with `between` nodes to each step.
fn finer(grid: &Grid, between: usize) -> Grid {
    if between < 2 {
        return grid.clone();
    }
    let (nx, ny) = ((grid.nx - 1) * between + 1, (grid.ny - 1) * between + 1);
    let far = DVec2::new((grid.nx - 1) as f64, (grid.ny - 1) as f64) * grid.cell_m;
    let cell_m = grid.cell_m / between as f64;
    let nodes = (0..ny).flat_map(|j| (0..nx).map(move |i| DVec2::new(i as f64, j as f64) * cell_m));
    let heights_m = nodes.map(|way| {
        let at = grid.origin_m + way.min(far);
        grid.surface(at.x, at.y).map_or(0.0, |s| s.height_m as f32)
    });
    Grid { origin_m: grid.origin_m, cell_m, nx, ny, heights_m: heights_m.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slope() -> Grid {
        let heights_m = (0..81 * 81).map(|k| (k % 81) as f32 * 0.5).collect();
        Grid { origin_m: DVec2::splat(-40.0), cell_m: 1.0, nx: 81, ny: 81, heights_m }
    }

    /// By hand: one station 1 m above the grid lifts it there by 1/1.001 m, by Matérn's share of
    /// that a correlation length away, (1 + √5 + 5/3)·exp(−√5) = 0.5240, and nothing 50 m off.
    #[test]
    fn verif_a_station_lifts_the_ground_about_it() {
        let (mut grid, before) = (slope(), slope());
        let at = DVec2::new(4.0, -3.0);
        let up = before.surface(at.x, at.y).unwrap().height_m + 1.0;
        let bent = bend(&mut grid, &[at.extend(up)]).unwrap();
        assert!((bent.most_m - 1.0).abs() < 1e-5 && (bent.rms_m - 1.0).abs() < 1e-5, "{bent:?}");
        let lift = |p: DVec2| {
            grid.surface(p.x, p.y).unwrap().height_m - before.surface(p.x, p.y).unwrap().height_m
        };
        assert!((lift(at) - 1.0 / 1.001).abs() < 1e-4, "{}", lift(at));
        assert!((lift(at + DVec2::new(12.0, 0.0)) - 0.5240).abs() < 1e-3);
        assert!(lift(DVec2::new(-36.0, 33.0)).abs() < 1e-6);
    }

    #[test]
    fn verif_a_finer_grid_is_the_same_surface() {
        let mut grid = slope();
        grid.heights_m[40 * 81 + 41] += 3.0;
        let fine = finer(&grid, 4);
        assert_eq!((fine.nx, fine.ny, fine.cell_m), (321, 321, 0.25));
        for (x, y) in [(0.0, 0.0), (1.25, 0.5), (0.75, -0.25), (-40.0, 40.0), (40.0, 40.0)] {
            let [a, b] = [&grid, &fine].map(|g| g.surface(x, y).map(|s| s.height_m));
            assert!((a.unwrap() - b.unwrap()).abs() < 1e-5, "{x} {y}: {a:?} {b:?}");
        }
    }

    #[test]
    fn prop_stations_off_the_grid_are_left_out() {
        let mut grid = slope();
        let far = DVec3::new(500.0, 0.0, 3.0);
        assert_eq!(bend(&mut grid, &[far]), None);
        assert_eq!(grid.heights_m, slope().heights_m);
        let on = DVec3::new(0.0, 0.0, 20.0);
        let bent = bend(&mut grid, &[far, on, on]).unwrap();
        assert_eq!((bent.stations, bent.off_it), (1, 1));
    }
}
