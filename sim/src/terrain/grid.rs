//! A square grid of heights with bilinear interpolation.

use glam::DVec2;

/// Height and gradient of the ground at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Height, m.
    pub height_m: f64,
    /// ∂h/∂x and ∂h/∂y.
    pub gradient: DVec2,
}

/// Heights at the nodes of a square grid; node (0, 0) is the south-west corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// World x, y of node (0, 0), m.
    pub origin_m: DVec2,
    /// Distance between nodes, m.
    pub cell_m: f64,
    /// Nodes in x.
    pub nx: usize,
    /// Nodes in y.
    pub ny: usize,
    /// Heights, row by row from the south, x fastest, m.
    pub heights_m: Vec<f32>,
}

impl Grid {
    /// A grid of a function of x and y (m → m); `nx` and `ny` are raised to 2 where less is asked.
    #[must_use]
    pub fn from_heights(
        origin_m: DVec2,
        cell_m: f64,
        nx: usize,
        ny: usize,
        height_m: impl Fn(f64, f64) -> f64,
    ) -> Self {
        let (nx, ny) = (nx.max(2), ny.max(2));
        let mut heights_m = Vec::with_capacity(nx * ny);
        for j in 0..ny {
            for i in 0..nx {
                let at = origin_m + DVec2::new(i as f64, j as f64) * cell_m;
                heights_m.push(height_m(at.x, at.y) as f32);
            }
        }
        Self { origin_m, cell_m, nx, ny, heights_m }
    }

    /// South-west and north-east corners, m.
    #[inline]
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        let span = DVec2::new((self.nx - 1) as f64, (self.ny - 1) as f64) * self.cell_m;
        (self.origin_m, self.origin_m + span)
    }

    /// Height and gradient at a place, off the grid those of the nearest place on it.
    #[must_use]
    pub fn nearest_surface(&self, at_m: DVec2) -> Surface {
        let (low, high) = self.bounds();
        let at = at_m.max(low).min(high);
        self.surface(at.x, at.y).unwrap_or(Surface { height_m: f64::NAN, gradient: DVec2::ZERO })
    }

    /// Height and gradient at a place, or `None` off the grid.
    #[inline]
    #[must_use]
    pub fn surface(&self, x_m: f64, y_m: f64) -> Option<Surface> {
        let per_m = 1.0 / self.cell_m;
        let u = (x_m - self.origin_m.x) * per_m;
        let v = (y_m - self.origin_m.y) * per_m;
        let (last_u, last_v) = ((self.nx - 1) as f64, (self.ny - 1) as f64);
        // A billionth of a cell over, so that rounding doesn't cut off the outermost nodes.
        if !(u >= -1e-9 && v >= -1e-9 && u <= last_u + 1e-9 && v <= last_v + 1e-9) {
            return None;
        }
        // Through i32, which processors convert in one instruction; a grid has under 2²⁴ nodes.
        let i = (u as i32 as usize).min(self.nx - 2);
        let j = (v as i32 as usize).min(self.ny - 2);
        let (fu, fv) = (u - f64::from(i as i32), v - f64::from(j as i32));
        let k = j * self.nx + i;
        let cell = self.heights_m.get(k..k + self.nx + 2)?;
        let (sw, se) = (f64::from(cell[0]), f64::from(cell[1]));
        let (nw, ne) = (f64::from(cell[self.nx]), f64::from(cell[self.nx + 1]));
        let (s, n) = (sw + (se - sw) * fu, nw + (ne - nw) * fu);
        let dx = ((se - sw) * (1.0 - fv) + (ne - nw) * fv) * per_m;
        Some(Surface { height_m: s + (n - s) * fv, gradient: DVec2::new(dx, (n - s) * per_m) })
    }
}
