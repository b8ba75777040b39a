//! Heights on a lattice, some missing: trimmed, filled, and how far each is from a known one.
//!
//! Distances are exact (Felzenszwalb & Huttenlocher 2012, Theory of Computing 8:415–428). Outside
//! of what triangles or cells cover, a node takes the mean of its known neighbours, ring by ring.
//! Limits are ours: ground that nobody surveyed is no ground to drop a tree on.

use glam::DVec2;

use super::Lattice;
use crate::terrain::TerrainError;

/// Most of the nodes that may be without a known height.
pub const MOST_FILLED: f64 = 0.25;
/// Furthest from a known height that a node may be between known ones, m: half a house.
pub const FURTHEST_BETWEEN_M: f64 = 25.0;
/// Furthest from a known height that a node may be beyond the last ones, m.
pub const FURTHEST_OUTSIDE_M: f64 = 10.0;

/// Heights on a lattice.
pub(super) struct Sheet {
    pub(super) lattice: Lattice,
    /// Heights, m; NaN where nothing says one.
    pub(super) heights_m: Vec<f32>,
    /// Whether a node's height was surveyed, rather than carried there from further off.
    pub(super) known: Vec<bool>,
}

impl Sheet {
    /// Takes off outer rows and columns without any known height.
    pub(super) fn trim(&mut self, file: &str) -> Result<(), TerrainError> {
        let (nx, ny) = (self.lattice.nx, self.lattice.ny);
        let is_known = |i: usize, j: usize| self.known.get(j * nx + i) == Some(&true);
        let columns: Vec<usize> = (0..nx).filter(|&i| (0..ny).any(|j| is_known(i, j))).collect();
        let rows: Vec<usize> = (0..ny).filter(|&j| (0..nx).any(|i| is_known(i, j))).collect();
        let (Some(&west), Some(&east), Some(&south), Some(&north)) =
            (columns.first(), columns.last(), rows.first(), rows.last())
        else {
            return Err(TerrainError::new(
                file,
                "heights",
                "none within --around of the place",
                "a place with ground about it; another --at",
            ));
        };
        if east == west || north == south {
            return Err(TerrainError::new(
                file,
                "heights",
                "those of one row of nodes",
                "ground with some width; a finer --cell or another --at",
            ));
        }
        let first = DVec2::new(west as f64, south as f64);
        let lattice = Lattice {
            low_m: self.lattice.low_m + first * self.lattice.cell_m,
            nx: east - west + 1,
            ny: north - south + 1,
            ..self.lattice
        };
        let picked = || (south..=north).flat_map(|j| (west..=east).map(move |i| j * nx + i));
        self.heights_m =
            picked().map(|k| self.heights_m.get(k).copied().unwrap_or(f32::NAN)).collect();
        self.known = picked().map(|k| self.known.get(k) == Some(&true)).collect();
        self.lattice = lattice;
        Ok(())
    }

    /// Fills what is missing and returns each node's distance from a known height, m.
    pub(super) fn fill(&mut self, file: &str, at_m: DVec2) -> Result<Vec<f32>, TerrainError> {
        let from_known_m = distances(&self.known, &self.lattice);
        let outside: Vec<bool> = self.heights_m.iter().map(|h| !h.is_finite()).collect();
        if let Some(read) = refused(&from_known_m, &outside, &self.lattice, at_m, f64::INFINITY) {
            let fits = self.around_that_fits(&from_known_m, &outside, at_m);
            let hint = match fits {
                Some(around) => format!("--around {around:.0}m may do"),
                None => "no --around about this place would do; another --at".to_owned(),
            };
            return Err(TerrainError::new(
                file,
                "holes",
                read,
                format!(
                    "up to {:.0} % of the heights filled in, up to {FURTHEST_BETWEEN_M} m from known \
                     ground between known heights and {FURTHEST_OUTSIDE_M} m beyond the last ones: \
                     {hint}",
                    100.0 * MOST_FILLED
                ),
            ));
        }
        fill_outside(&mut self.heights_m, &self.lattice);
        Ok(from_known_m)
    }

    /// By these heights: with less around there are fewer points, and what they leave is seen then.
    fn around_that_fits(&self, from: &[f32], outside: &[bool], at_m: DVec2) -> Option<f64> {
        let widest = (at_m - self.lattice.low_m).max(self.lattice.high_m() - at_m).max_element();
        let mut around = widest.floor();
        while around >= super::AROUND_RANGE_M.0 {
            if refused(from, outside, &self.lattice, at_m, around).is_none() {
                return Some(around);
            }
            around = (0.95 * around).floor();
        }
        None
    }
}

/// What speaks against filling the holes within `around` of the place; nothing if they may be.
fn refused(
    from_known_m: &[f32],
    outside: &[bool],
    lattice: &Lattice,
    at_m: DVec2,
    around_m: f64,
) -> Option<String> {
    let (mut of, mut count) = (0_usize, 0_usize);
    let (mut between, mut beyond) = (0.0_f64, 0.0_f64);
    for (k, (d, out)) in from_known_m.iter().zip(outside).enumerate() {
        if (lattice.node_m(k) - at_m).abs().max_element() > around_m {
            continue;
        }
        of += 1;
        count += usize::from(*d > 0.0);
        let furthest = if *out { &mut beyond } else { &mut between };
        *furthest = furthest.max(f64::from(*d));
    }
    let share = count as f64 / of.max(1) as f64;
    if share > MOST_FILLED {
        return Some(format!("{count} of {of} heights missing ({:.0} %)", 100.0 * share));
    }
    if between > FURTHEST_BETWEEN_M {
        return Some(format!("a hole that reaches {between:.0} m from known ground"));
    }
    (beyond > FURTHEST_OUTSIDE_M)
        .then(|| format!("an edge that lies {beyond:.0} m from known ground"))
}

/// Distance of each node to the nearest known one, m; 0 at known ones.
fn distances(known: &[bool], lattice: &Lattice) -> Vec<f32> {
    let (nx, ny) = (lattice.nx, lattice.ny);
    // Squares of distances in cells; a number no distance reaches stands for "none".
    let none = ((nx + ny) as f64).powi(2);
    let mut squares: Vec<f64> = known.iter().map(|k| if *k { 0.0 } else { none }).collect();
    let mut line = vec![0.0; nx.max(ny)];
    let mut out = vec![0.0; nx.max(ny)];
    for i in 0..nx {
        for (j, value) in line.iter_mut().enumerate().take(ny) {
            *value = squares.get(j * nx + i).copied().unwrap_or(none);
        }
        along(line.get(..ny).unwrap_or(&[]), &mut out);
        for (j, value) in out.iter().enumerate().take(ny) {
            if let Some(square) = squares.get_mut(j * nx + i) {
                *square = *value;
            }
        }
    }
    for row in squares.chunks_exact_mut(nx) {
        along(row, &mut out);
        row.copy_from_slice(out.get(..nx).unwrap_or(&[]));
    }
    squares.iter().map(|s| (s.sqrt() * lattice.cell_m) as f32).collect()
}

/// Lower envelope of parabolas along one line: out(q) = min over p of (q − p)² + f(p).
fn along(f: &[f64], out: &mut [f64]) {
    let n = f.len();
    let mut apex: Vec<usize> = Vec::with_capacity(n);
    let mut from: Vec<f64> = Vec::with_capacity(n);
    for (q, &height) in f.iter().enumerate() {
        let mut start = f64::NEG_INFINITY;
        while let (Some(&p), Some(&since)) = (apex.last(), from.last()) {
            let (pf, qf) = (p as f64, q as f64);
            let below = f.get(p).copied().unwrap_or(0.0);
            let meet = ((height + qf * qf) - (below + pf * pf)) / (2.0 * (qf - pf));
            if meet > since {
                start = meet;
                break;
            }
            apex.pop();
            from.pop();
        }
        apex.push(q);
        from.push(start);
    }
    let mut k = 0;
    for (q, value) in out.iter_mut().enumerate().take(n) {
        while from.get(k + 1).is_some_and(|next| *next < q as f64) {
            k += 1;
        }
        let p = apex.get(k).copied().unwrap_or(q);
        let off = q as f64 - p as f64;
        *value = off * off + f.get(p).copied().unwrap_or(0.0);
    }
}

/// Gives nodes without a height the mean of their known neighbours, ring by ring.
fn fill_outside(heights_m: &mut [f32], lattice: &Lattice) {
    let (nx, ny) = (lattice.nx, lattice.ny);
    let mut left: Vec<usize> =
        heights_m.iter().enumerate().filter(|(_, h)| !h.is_finite()).map(|(k, _)| k).collect();
    while !left.is_empty() {
        let (mut found, mut next) = (Vec::new(), Vec::new());
        for &k in &left {
            let (i, j) = (k % nx, k / nx);
            let (mut sum, mut count) = (0.0, 0.0);
            for b in j.saturating_sub(1)..=(j + 1).min(ny - 1) {
                for a in i.saturating_sub(1)..=(i + 1).min(nx - 1) {
                    if let Some(h) = heights_m.get(b * nx + a).filter(|h| h.is_finite()) {
                        sum += f64::from(*h);
                        count += 1.0;
                    }
                }
            }
            if count > 0.0 {
                found.push((k, (sum / count) as f32));
            } else {
                next.push(k);
            }
        }
        if found.is_empty() {
            return;
        }
        for (k, h) in found {
            if let Some(node) = heights_m.get_mut(k) {
                *node = h;
            }
        }
        left = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(n: usize, hole: impl Fn(usize, usize) -> bool) -> Sheet {
        let lattice = Lattice { low_m: DVec2::ZERO, cell_m: 2.0, nx: n, ny: n };
        let known: Vec<bool> = (0..n * n).map(|k| !hole(k % n, k / n)).collect();
        let heights_m =
            (0..n * n).map(|k| if known[k] { (k % n) as f32 } else { f32::NAN }).collect();
        Sheet { lattice, heights_m, known }
    }

    #[test]
    fn verif_distances_are_those_of_a_search_over_all() {
        let s = sheet(23, |i, j| (i * 7 + j * 11) % 13 != 0);
        let found = distances(&s.known, &s.lattice);
        for (k, d) in found.iter().enumerate() {
            let want = (0..s.known.len())
                .filter(|p| s.known[*p])
                .map(|p| s.lattice.node_m(p).distance(s.lattice.node_m(k)))
                .fold(f64::INFINITY, f64::min);
            assert!((f64::from(*d) - want).abs() < 1e-4, "{k}: {d} {want}");
        }
    }

    #[test]
    fn verif_what_is_filled_is_told_and_too_much_is_refused_with_what_would_do() {
        let at = DVec2::splat(20.0);
        let mut small = sheet(21, |i, j| (9..12).contains(&i) && j == 3);
        let from = small.fill("t", at).unwrap();
        assert_eq!(from.iter().filter(|d| **d > 0.0).count(), 3);
        assert!(small.heights_m.iter().all(|h| h.is_finite()));
        // A corner without heights: the place keeps what is nearer than the corner.
        let mut corner = sheet(41, |i, j| i + j < 14);
        let error = corner.fill("t", DVec2::splat(50.0)).unwrap_err();
        assert!(error.read.contains("an edge that lies 20 m"), "{error}");
        assert!(error.allowed.contains("--around 4"), "{error}");
        let mut most = sheet(21, |i, _| i > 8);
        assert!(most.fill("t", at).unwrap_err().read.contains("missing"));
    }

    #[test]
    fn verif_empty_rims_are_trimmed() {
        let mut s = sheet(11, |i, j| i < 2 || j > 8);
        s.trim("t").unwrap();
        assert_eq!((s.lattice.nx, s.lattice.ny), (9, 9));
        assert_eq!(s.lattice.low_m, DVec2::new(4.0, 0.0));
        assert!(s.heights_m.iter().all(|h| h.is_finite()));
        assert!(sheet(5, |_, _| true).trim("t").is_err());
    }
}
