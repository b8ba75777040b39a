//! What a survey leaves open: the ground between its stations.
//!
//! A tape knows the ground where its legs end. Between and beyond the stations the surface of
//! [`survey`](super::transects::survey) is a guess, and a forecast that took it for the ground
//! would claim more than anybody measured. Every draw of the doubt therefore adds a departure from
//! it: a smooth random surface, nought at the stations, that grows away from them.
//!
//! ```text
//! u(x) = σ·√(2/n)·Σ cos(ω·x + φ)               a Gaussian field of covariance σ²·C, m
//! C(d) = (1 + a + a²/3)·exp(−a), a = √5·d/ℓ    Matérn's, ν = 5/2: slopes are steady
//! e(x) = u(x) − X(x)·β − k(x)·K⁻¹·(u_s − X_s·β)   what of u its stations don't tell
//! β = (X_sᵀ·K⁻¹·X_s)⁻¹·X_sᵀ·K⁻¹·u_s            the plane through it, X = (1, x, y)
//! spread(x)² = σ²·[1 − k·K⁻¹·k + o·(X_sᵀ·K⁻¹·X_s)⁻¹·o],  o = X(x) − X_sᵀ·K⁻¹·k
//! σ² = Σ r² / tr(P·K)                          r the stations off their plane, P what is off it
//! ```
//!
//! k holds C from a place to each station, K between stations, u_s and X_s are at the stations:
//! simulation conditioned by universal kriging (Journel & Huijbregts 1978, ch. VII), Matérn's
//! covariance with the frequencies of its cosines, a Student t of five degrees (Rasmussen & Williams
//! 2006, §4.2; Rahimi & Recht 2007); all from memory. σ is the method of moments: the mean square
//! that stations off a fitted plane would show under that covariance. So ground that bends along
//! the tapes is taken to bend as much between them. ℓ is [`LENGTH_SHARE`] of how far the stations
//! spread about their middle, root mean square.
//!
//! Both were chosen on one laser-scanned hillside (`val_between_stations`): ours for any other. Left
//! out: banks and walls between stations, which only a breakline can say; that tapes along and
//! across a bank may know it to be the same all along. A raster has no such doubt here. Known
//! answers: nought at the stations and the spread above, in the tests below.

use glam::{DVec2, DVec3};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::keyed::Key;

use super::Grid;

/// Correlation length over the stations' spread about their middle (ours, fitted).
pub const LENGTH_SHARE: f64 = 0.6;
/// Least departure that ground is believed to have between stations, m (ours).
pub const LEAST_M: f64 = 0.05;
/// Waves that a field is made of (ours).
const WAVES: u64 = 128;
/// Share of σ² that a station leaves open, so that K can be inverted (ours, numerical).
const NUGGET: f64 = 1e-6;
/// Stations that a departure is tied down to; more are thinned out evenly (ours).
const MOST_TIED: usize = 300;

/// How far the ground may be off between the stations of one survey.
#[derive(Clone, Debug)]
pub struct Between {
    stations_m: Vec<DVec2>,
    /// Standard deviation far from any station, m.
    pub sigma_m: f64,
    /// Correlation length, m.
    pub length_m: f64,
    /// Middle of the stations, m.
    middle: DVec2,
    /// Root mean square distance of the stations from their middle, m.
    around_m: f64,
    factor: Cholesky<f64, Dyn>,
    /// 1, x and y at each station, in spreads about the middle.
    plane: DMatrix<f64>,
    /// Xᵀ·K⁻¹·X, X the plane.
    drift: Cholesky<f64, Dyn>,
}

impl Between {
    /// Of a survey's stations, m; `None` where there are too few to say how ground bends.
    #[must_use]
    pub fn new(stations: &[DVec3]) -> Option<Self> {
        let mut places: Vec<DVec3> = Vec::new();
        for p in stations {
            if places.iter().all(|q| q.truncate().distance(p.truncate()) > 0.05) {
                places.push(*p);
            }
        }
        let step = places.len().div_ceil(MOST_TIED).max(1);
        let places: Vec<DVec3> = places.into_iter().step_by(step).collect();
        if places.len() < 4 {
            return None;
        }
        let stations_m: Vec<DVec2> = places.iter().map(|p| p.truncate()).collect();
        let n = stations_m.len();
        let at = |k: usize| stations_m.get(k).copied().unwrap_or_default();
        let middle = stations_m.iter().sum::<DVec2>() / n as f64;
        let around_m =
            (stations_m.iter().map(|p| p.distance_squared(middle)).sum::<f64>() / n as f64).sqrt();
        let length_m = LENGTH_SHARE * around_m;
        let matrix = DMatrix::from_fn(n, n, |i, j| {
            matern(at(i).distance(at(j)) / length_m) + if i == j { NUGGET } else { 0.0 }
        });
        let plane = DMatrix::from_fn(n, 3, |i, j| {
            *plane_at(at(i), middle, around_m).get(j).unwrap_or(&0.0)
        });
        let normal = Cholesky::new(plane.transpose() * &plane)?;
        let heights = DVector::from_iterator(n, places.iter().map(|p| p.z));
        let off = &heights - &plane * normal.solve(&(plane.transpose() * &heights));
        let within = normal.solve(&(plane.transpose() * &matrix * &plane)).trace();
        let free = matrix.trace() - within;
        let sigma_m = (off.norm_squared() / free).sqrt().max(LEAST_M);
        let factor = Cholesky::new(matrix)?;
        let drift = Cholesky::new(plane.transpose() * factor.solve(&plane))?;
        Some(Self { stations_m, sigma_m, length_m, middle, around_m, factor, plane, drift })
    }

    /// Standard deviation of the ground from the surveyed surface at a place, m.
    #[must_use]
    pub fn spread_m(&self, at: DVec2) -> f64 {
        let stations = self.stations_m.iter();
        let near = stations.map(|p| matern(p.distance(at) / self.length_m));
        let near = DVector::from_iterator(self.stations_m.len(), near);
        let told = self.factor.solve(&near);
        let here = DVector::from_row_slice(&plane_at(at, self.middle, self.around_m));
        let open = here - self.plane.transpose() * &told;
        let share = 1.0 - near.dot(&told) + open.dot(&self.drift.solve(&open));
        self.sigma_m * share.max(0.0).sqrt()
    }

    /// The same at places all over the ground that the stations spread over, m.
    #[must_use]
    pub fn spreads_m(&self) -> Vec<f64> {
        let steps =
            (-8..=8).flat_map(|i| (-8..=8).map(move |j| DVec2::new(f64::from(i), f64::from(j))));
        let within = steps.map(|step| step / 8.0).filter(|step| step.length() <= 1.0);
        within.map(|step| self.spread_m(self.middle + step * self.around_m)).collect()
    }

    /// Adds one departure, drawn by key, to a surface; returns its mean over the ground that the
    /// stations spread over, m: above nought where it lies higher.
    pub fn add(&self, grid: &mut Grid, key: Key) -> f64 {
        let waves: Vec<Wave> =
            (0..WAVES).map(|k| Wave::draw(key.number(k), self.length_m)).collect();
        let amplitude = self.sigma_m * (2.0 / WAVES as f64).sqrt();
        let free = |at: DVec2| amplitude * waves.iter().map(|w| w.at(at)).sum::<f64>();
        let free_there =
            DVector::from_iterator(self.stations_m.len(), self.stations_m.iter().map(|p| free(*p)));
        let plane = self.drift.solve(&(self.plane.transpose() * self.factor.solve(&free_there)));
        let weights = self.factor.solve(&(free_there - &self.plane * &plane));
        let (mut sum, mut count) = (0.0, 0.0);
        let mut row = vec![0.0; grid.nx];
        for (j, heights) in grid.heights_m.chunks_mut(grid.nx.max(1)).enumerate() {
            let start = grid.origin_m + DVec2::new(0.0, j as f64) * grid.cell_m;
            row.fill(0.0);
            along(&waves, start, grid.cell_m, amplitude, &mut row);
            for (i, (height, free)) in heights.iter_mut().zip(&row).enumerate() {
                let at = start + DVec2::new(i as f64 * grid.cell_m, 0.0);
                let told: f64 = (self.stations_m.iter().zip(weights.iter()))
                    .map(|(p, w)| w * matern(p.distance(at) / self.length_m))
                    .sum();
                let flat: f64 = (plane_at(at, self.middle, self.around_m).iter())
                    .zip(plane.iter())
                    .map(|(x, b)| x * b)
                    .sum();
                let departure = free - told - flat;
                *height += departure as f32;
                if at.distance(self.middle) < self.around_m {
                    sum += departure;
                    count += 1.0;
                }
            }
        }
        if count > 0.0 { sum / count } else { 0.0 }
    }
}

/// What a plane is made of at a place: 1, and how far it is from the middle.
fn plane_at(at: DVec2, middle: DVec2, around_m: f64) -> [f64; 3] {
    let d = (at - middle) / around_m;
    [1.0, d.x, d.y]
}
/// Matérn's correlation, ν = 5/2, at a distance in correlation lengths.
pub(super) fn matern(lengths: f64) -> f64 {
    let a = 5.0_f64.sqrt() * lengths;
    (1.0 + a + a * a / 3.0) * libm::exp(-a)
}

/// One cosine of a field.
struct Wave {
    /// rad/m.
    number: DVec2,
    /// rad.
    phase: f64,
}

impl Wave {
    fn draw(key: Key, length_m: f64) -> Self {
        let normal = |k| key.number(k).normal();
        let chi2: f64 = (2..7).map(|k| normal(k) * normal(k)).sum();
        let stretch = (5.0 / chi2.max(1e-6)).sqrt() / length_m;
        Self {
            number: DVec2::new(normal(0), normal(1)) * stretch,
            phase: std::f64::consts::TAU * key.number(7).uniform(),
        }
    }

    fn at(&self, at: DVec2) -> f64 {
        libm::cos(self.number.dot(at) + self.phase)
    }
}

/// Adds waves along a row of places from west to east, by turning each one step at a time; eight side
/// by side, since one alone waits for its own last step.
fn along(waves: &[Wave], start: DVec2, step_m: f64, amplitude: f64, row: &mut [f64]) {
    for waves in waves.chunks(8) {
        let (mut now, mut turn) = ([DVec2::ZERO; 8], [DVec2::X; 8]);
        for ((now, turn), wave) in now.iter_mut().zip(&mut turn).zip(waves) {
            let (from, by) = (wave.number.dot(start) + wave.phase, wave.number.x * step_m);
            *now = DVec2::new(libm::cos(from), libm::sin(from)) * amplitude;
            *turn = DVec2::new(libm::cos(by), libm::sin(by));
        }
        for value in row.iter_mut() {
            for (now, turn) in now.iter_mut().zip(&turn) {
                *value += now.x;
                *now = turn.rotate(*now);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four tapes from the stump over ground that bends, stations 6 m apart in plan.
    fn stations() -> Vec<DVec3> {
        let mut all = vec![DVec3::ZERO];
        for k in 0..4 {
            let along = super::super::shape::bearing(0.3 + 1.5 * f64::from(k));
            all.extend((1..8).map(|n| {
                let p = along * 6.0 * f64::from(n);
                p.extend(0.3 * p.x + 0.01 * p.x * p.x - 0.006 * p.x * p.y)
            }));
        }
        all
    }

    fn flat() -> Grid {
        Grid {
            origin_m: DVec2::splat(-60.0),
            cell_m: 1.0,
            nx: 121,
            ny: 121,
            heights_m: vec![0.0; 121 * 121],
        }
    }

    #[test]
    fn verif_a_departure_is_nought_at_the_stations() {
        let between = Between::new(&stations()).expect("a survey");
        let mut grid = flat();
        between.add(&mut grid, Key::root(3));
        let far = grid.heights_m.iter().fold(0.0_f32, |m, h| m.max(h.abs()));
        assert!(f64::from(far) > 0.5 * between.sigma_m, "{far} of {}", between.sigma_m);
        // The stump is a node; other stations lie within 0.71 m of one.
        let at =
            |x: f64, y: f64| f64::from(grid.heights_m[((y + 60.0) * 121.0 + x + 60.0) as usize]);
        assert!(at(0.0, 0.0).abs() < 5e-3 * between.sigma_m, "{}", at(0.0, 0.0));
        assert!(between.spread_m(DVec2::ZERO) < 5e-3 * between.sigma_m);
    }

    /// The spread of 400 draws against the closed form at places near and far, within four
    /// standard errors of a standard deviation (1/√(2n)), and their mean within four of nought.
    #[test]
    fn verif_departures_spread_as_kriging_says() {
        let between = Between::new(&stations()).expect("a survey");
        let n = 400;
        let places = [
            DVec2::new(3.0, -2.0),
            DVec2::new(9.0, -12.0),
            DVec2::new(-20.0, 8.0),
            DVec2::new(45.0, 40.0),
        ];
        let (mut sums, mut squares) = ([0.0; 4], [0.0; 4]);
        for k in 0..n {
            for (i, place) in places.iter().enumerate() {
                let mut grid =
                    Grid { origin_m: *place, cell_m: 1.0, nx: 1, ny: 1, heights_m: vec![0.0] };
                between.add(&mut grid, Key::root(k));
                let h = f64::from(grid.heights_m[0]);
                sums[i] += h / n as f64;
                squares[i] += h * h / n as f64;
            }
        }
        for (i, place) in places.iter().enumerate() {
            let spread = between.spread_m(*place);
            let seen = squares[i].sqrt();
            let allowed = 4.0 / (2.0 * n as f64).sqrt();
            assert!((seen / spread - 1.0).abs() < allowed, "{place}: {seen} for {spread}");
            assert!(sums[i].abs() < 4.0 * spread / (n as f64).sqrt(), "{place}: mean {}", sums[i]);
        }
        // It grows with the way to the nearest station.
        assert!(between.spread_m(places[0]) < between.spread_m(places[1]));
    }

    #[test]
    fn verif_rows_are_the_sum_of_their_waves() {
        let waves: Vec<Wave> = (0..11).map(|k| Wave::draw(Key::root(k), 12.0)).collect();
        let mut row = vec![0.0; 400];
        let start = DVec2::new(-80.0, 7.0);
        along(&waves, start, 0.5, 2.0, &mut row);
        for (i, seen) in row.iter().enumerate() {
            let at = start + DVec2::new(0.5 * i as f64, 0.0);
            let there = waves.iter().map(|wave| 2.0 * wave.at(at)).sum::<f64>();
            assert!((seen - there).abs() < 1e-9, "{i}: {seen} for {there}");
        }
    }

    #[test]
    fn prop_stations_on_a_line_or_too_few_say_nothing() {
        let line: Vec<DVec3> = (0..9).map(|k| DVec3::new(f64::from(k), 2.0, 0.0)).collect();
        assert!(Between::new(&line).is_none());
        assert!(Between::new(&line[..3]).is_none());
        // A plane leaves the least doubt.
        let plane: Vec<DVec3> = stations().iter().map(|p| p.truncate().extend(0.4 * p.x)).collect();
        assert_eq!(Between::new(&plane).expect("a survey").sigma_m, LEAST_M);
    }
}
