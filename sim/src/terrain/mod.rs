//! Heights of the ground and where they come from: transects, an ESRI ASCII grid or a GeoTIFF.
//!
//! Terrain = one square grid of heights + cut faces (steps no grid can say) + a tilt (the doubt of
//! the survey, as two numbers). Every reader offsets projected coordinates to the site's origin.

pub mod ascii;
pub mod bend;
pub mod between;
pub mod cut_face;
pub mod error;
pub mod geotiff;
pub mod grid;
pub mod intake;
pub mod raster;
pub mod shape;
pub mod system;
pub mod transects;

use std::sync::Arc;

use glam::{DVec2, DVec3};

use crate::quantity::Units;

pub use cut_face::{CutFace, CutFaces, Side};
pub use error::TerrainError;
pub use grid::{Grid, Surface};
pub use raster::{LengthUnit, Raster, Window};
pub use transects::{Leg, Start, SurveySpec, Transect};

/// What some programs begin a UTF-8 text with; it is none of it (Unicode 16, 2.6).
pub(crate) const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

/// The bytes of a text without such a mark.
pub(crate) fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes)
}

/// Steepest ground between two nodes that a height field is trusted with, as a gradient: tan 60°
/// (ours: beyond it a metre of survey error moves the foot by 0.6 m and the step is a face).
pub const STEEPEST_GRADIENT: f64 = 1.732_050_807_568_877_2;

/// The coordinate reference system that a georeferenced terrain came in.
#[derive(Clone, Debug, PartialEq)]
pub struct Crs {
    /// EPSG code, if the file names one.
    pub epsg: Option<u32>,
    /// The system's name as the file has it; empty if it has none.
    pub name: String,
    /// What was taken off: projected coordinates = world + this, all in metres.
    pub offset_m: DVec3,
    /// Metres in one unit of the projected coordinates.
    pub unit_m: f64,
}

/// A uniform tilt of the whole ground about a point: a cheap stand-in for survey doubt.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Tilt {
    /// Gradient added everywhere, rise over run in x and y.
    pub gradient: DVec2,
    /// Where the height stays as it is, m.
    pub about_m: DVec2,
}

/// The ground's surface: a grid of heights and the cut faces that no grid can say.
#[derive(Clone, Debug)]
pub struct Terrain {
    /// Heights on a square grid; shared by all draws that leave them as they are.
    pub grid: Arc<Grid>,
    /// Banks, walls and ditches with a step of their own.
    pub faces: CutFaces,
    /// What a user should know about how this ground was made.
    pub warnings: Vec<String>,
    /// Where on earth it is, if known.
    pub crs: Option<Crs>,
    /// Survey doubt, added to every height.
    pub tilt: Tilt,
}

impl From<Grid> for Terrain {
    fn from(grid: Grid) -> Self {
        Self {
            grid: Arc::new(grid),
            faces: CutFaces::default(),
            warnings: Vec::new(),
            crs: None,
            tilt: Tilt::default(),
        }
    }
}

impl Terrain {
    /// Terrain from a function of x and y (m → m) sampled at the nodes of a grid.
    ///
    /// `nx` and `ny` are raised to 2 where less is asked for.
    #[must_use]
    pub fn from_heights(
        origin_m: DVec2,
        cell_m: f64,
        nx: usize,
        ny: usize,
        height_m: impl Fn(f64, f64) -> f64,
    ) -> Self {
        Grid::from_heights(origin_m, cell_m, nx, ny, height_m).into()
    }

    /// The same ground with cut faces in it; warnings, in these units, say where faces and grid
    /// disagree.
    #[must_use]
    pub fn with_faces(mut self, faces: &[CutFace], units: Units) -> Self {
        let (faces, warnings) = CutFaces::new(&self.grid, faces, units);
        self.faces = faces;
        self.warnings.extend(warnings);
        self
    }

    /// The same ground tilted by `gradient` (rise over run) about a point, on top of any tilt.
    #[must_use]
    pub fn raise(mut self, gradient: DVec2, about_m: DVec2) -> Self {
        // Two tilts add up to one; the height change at the first's pivot is kept by moving it
        // along the sum, and where the sum vanishes by putting the constant into the grid.
        let sum = self.tilt.gradient + gradient;
        let constant = self.tilt.gradient.dot(self.tilt.about_m) + gradient.dot(about_m);
        if self.tilt.gradient == DVec2::ZERO {
            self.tilt = Tilt { gradient, about_m };
        } else if sum.length_squared() > 1e-18 {
            self.tilt = Tilt { gradient: sum, about_m: sum * (constant / sum.length_squared()) };
        } else {
            for h in &mut Arc::make_mut(&mut self.grid).heights_m {
                *h -= constant as f32;
            }
            self.tilt = Tilt::default();
        }
        self
    }

    /// Whether the ground is the same everywhere, to the bit.
    #[must_use]
    pub fn same_ground(&self, other: &Self) -> bool {
        let same_grid = Arc::ptr_eq(&self.grid, &other.grid) || self.grid == other.grid;
        same_grid && self.faces == other.faces && self.tilt == other.tilt
    }

    /// Height and gradient at a place, or `None` off the grid.
    ///
    /// Next to a cut face the height is the low level in front of it and the high level behind it;
    /// the step itself is in [`Terrain::depth_m`].
    #[inline]
    #[must_use]
    pub fn surface(&self, x_m: f64, y_m: f64) -> Option<Surface> {
        let mut surface = self.grid.surface(x_m, y_m)?;
        if self.faces.near_face(x_m, y_m, 0.0)
            && let Some(band) = self.faces.band(&self.grid, DVec2::new(x_m, y_m))
        {
            surface = if band.behind_m >= 0.0 { band.high } else { band.low };
        }
        surface.height_m += self.lift_m(x_m, y_m);
        surface.gradient += self.tilt.gradient;
        Some(surface)
    }

    /// How deep a point is in the ground, m, negative above it; `None` off the grid.
    ///
    /// Away from cut faces it is the distance to the local plane, (h − z)/√(1 + |∇h|²). Within the
    /// band of a face the ground is {below the low level} ∪ {behind the face, below the high
    /// level}, and the depth max(low, min(high, distance behind the face)). It is continuous but
    /// for the jumps of |∇h| from cell to cell, which vanish at the surface.
    #[inline]
    #[must_use]
    pub fn depth_m(&self, point_m: DVec3) -> Option<f64> {
        let (x, y) = (point_m.x, point_m.y);
        let z = point_m.z - self.lift_m(x, y);
        if self.faces.near_face(x, y, 0.0)
            && let Some(band) = self.faces.band(&self.grid, DVec2::new(x, y))
        {
            let low = self.plane_depth_m(&band.low, z);
            let high = self.plane_depth_m(&band.high, z);
            return Some(low.max(high.min(band.stretched_m())));
        }
        self.grid.surface(x, y).map(|s| self.plane_depth_m(&s, z))
    }

    #[inline]
    fn plane_depth_m(&self, s: &Surface, z_m: f64) -> f64 {
        let gradient = s.gradient + self.tilt.gradient;
        (s.height_m - z_m) / (1.0 + gradient.length_squared()).sqrt()
    }

    #[inline]
    fn lift_m(&self, x_m: f64, y_m: f64) -> f64 {
        self.tilt.gradient.dot(DVec2::new(x_m, y_m) - self.tilt.about_m)
    }

    /// South-west and north-east corners of the known ground, m.
    #[must_use]
    pub fn bounds(&self) -> (DVec2, DVec2) {
        self.grid.bounds()
    }

    /// Whether the ground at a place is known.
    #[inline]
    #[must_use]
    pub fn contains(&self, x_m: f64, y_m: f64) -> bool {
        let (low, high) = self.bounds();
        x_m >= low.x && y_m >= low.y && x_m <= high.x && y_m <= high.y
    }
}

/// A length in a warning, with so many decimals, in the units of who reads it.
pub(crate) fn said(length_m: f64, places: usize, units: Units) -> String {
    match units {
        Units::Metric => format!("{length_m:.places$} m"),
        Units::Imperial => format!("{:.places$} ft", length_m / 0.3048),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plane() -> Terrain {
        Terrain::from_heights(DVec2::new(-10.0, -5.0), 0.5, 41, 41, |x, y| 0.3 * x - 0.7 * y + 2.0)
    }

    #[test]
    fn verif_a_plane_has_its_height_gradient_and_depth_everywhere() {
        let t = plane();
        for (x, y) in [(-10.0, -5.0), (0.13, 2.71), (10.0, 15.0), (-3.3, 14.99)] {
            let s = t.surface(x, y).unwrap();
            assert!((s.height_m - (0.3 * x - 0.7 * y + 2.0)).abs() < 1e-5);
            assert!((s.gradient - DVec2::new(0.3, -0.7)).length() < 1e-5);
            // A point a metre in along the inward normal is a metre deep.
            let inward = DVec3::new(0.3, -0.7, -1.0).normalize();
            let deep = DVec3::new(x, y, s.height_m) + inward;
            if t.contains(deep.x, deep.y) {
                assert!((t.depth_m(deep).unwrap() - 1.0).abs() < 1e-5);
            }
        }
    }

    #[test]
    fn verif_off_the_grid_there_is_no_ground() {
        let t = plane();
        for (x, y) in [(-10.01, 0.0), (10.01, 0.0), (0.0, -5.01), (0.0, 15.01), (f64::NAN, 0.0)] {
            assert!(t.surface(x, y).is_none() && !t.contains(x, y));
            assert!(t.depth_m(DVec3::new(x, y, 0.0)).is_none());
        }
    }

    #[test]
    fn verif_tilts_add_up_whatever_their_pivots() {
        let (g1, p1) = (DVec2::new(0.02, -0.01), DVec2::new(3.0, 4.0));
        for (g2, p2) in [(DVec2::new(0.01, 0.05), DVec2::new(-2.0, 7.0)), (-g1, DVec2::ZERO)] {
            let t = plane().raise(g1, p1).raise(g2, p2);
            for at in [DVec2::new(0.0, 0.0), DVec2::new(5.0, 9.0)] {
                let s = t.surface(at.x, at.y).unwrap();
                let want = 0.3 * at.x - 0.7 * at.y + 2.0 + g1.dot(at - p1) + g2.dot(at - p2);
                assert!((s.height_m - want).abs() < 1e-5, "{} {want}", s.height_m);
                assert!((s.gradient - DVec2::new(0.3, -0.7) - g1 - g2).length() < 1e-5);
                let above = DVec3::new(at.x, at.y, want);
                assert!(t.depth_m(above).unwrap().abs() < 1e-5);
            }
        }
    }
}
