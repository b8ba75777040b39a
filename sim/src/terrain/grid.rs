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
        // Just inside, so that rounding can't put the place off the grid again.
        let inset = DVec2::splat(1e-9 * self.cell_m);
        let at = at_m.max(low + inset).min(high - inset);
        self.surface(at.x, at.y).unwrap_or(Surface { height_m: f64::NAN, gradient: DVec2::ZERO })
    }

    /// Height and gradient at a place, or `None` off the grid.
    #[inline]
    #[must_use]
    pub fn surface(&self, x_m: f64, y_m: f64) -> Option<Surface> {
        let u = (x_m - self.origin_m.x) / self.cell_m;
        let v = (y_m - self.origin_m.y) / self.cell_m;
        let (last_u, last_v) = ((self.nx - 1) as f64, (self.ny - 1) as f64);
        if !(u >= 0.0 && v >= 0.0 && u <= last_u && v <= last_v) {
            return None;
        }
        let i = (u as usize).min(self.nx - 2);
        let j = (v as usize).min(self.ny - 2);
        let (fu, fv) = (u - i as f64, v - j as f64);
        let k = j * self.nx + i;
        let south = self.heights_m.get(k..k + 2)?;
        let north = self.heights_m.get(k + self.nx..k + self.nx + 2)?;
        let (sw, se) = (f64::from(south[0]), f64::from(south[1]));
        let (nw, ne) = (f64::from(north[0]), f64::from(north[1]));
        let (s, n) = (sw + (se - sw) * fu, nw + (ne - nw) * fu);
        let dx = ((se - sw) * (1.0 - fv) + (ne - nw) * fv) / self.cell_m;
        Some(Surface {
            height_m: s + (n - s) * fv,
            gradient: DVec2::new(dx, (n - s) / self.cell_m),
        })
    }
}
