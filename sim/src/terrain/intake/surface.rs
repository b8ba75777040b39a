//! Ground points → heights at nodes: triangles between neighbours (Delaunay, crate `spade`).

use glam::{DVec2, DVec3};
use spade::{
    DelaunayTriangulation, FloatTriangulation as _, HasPosition, Point2, Triangulation as _,
};

use super::{About, Lattice, holes::Sheet};
use crate::terrain::TerrainError;

/// A node is known where a point lies within so many mean spacings: of points strewn at random
/// one place in 300,000 has none so near (e^−4π).
const REACH_SPACINGS: f64 = 2.0;

struct Vertex {
    at: Point2<f64>,
    height_m: f64,
}

impl HasPosition for Vertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// Mean distance between points over the rectangle that they fill, m.
pub(super) fn spacing_m(points: &[DVec3]) -> f64 {
    let first = points.first().map_or(DVec2::ZERO, |p| p.truncate());
    let (low, high) = points
        .iter()
        .fold((first, first), |(low, high), p| (low.min(p.truncate()), high.max(p.truncate())));
    let span = high - low;
    (span.x * span.y / points.len().max(1) as f64).sqrt()
}

/// Heights at the nodes from ground points with places in metres.
pub(super) fn sheet(
    points: &[DVec3],
    lattice: Lattice,
    spacing_m: f64,
    about: &mut About,
    file: &str,
) -> Result<Sheet, TerrainError> {
    if points.len() < 3 {
        return Err(TerrainError::new(
            file,
            "ground points",
            format!("{} nodes with any", points.len()),
            "at least 3 within --around of the place",
        ));
    }
    // From the lattice's corner: coordinates of maps have seven digits before the point.
    let vertices = points
        .iter()
        .map(|p| Vertex {
            at: Point2::new(tidy(p.x - lattice.low_m.x), tidy(p.y - lattice.low_m.y)),
            height_m: p.z,
        })
        .collect();
    let mesh = DelaunayTriangulation::<Vertex>::bulk_load(vertices).map_err(|e| {
        TerrainError::new(file, "ground points", e.to_string(), "places that are numbers")
    })?;
    let interpolation = mesh.barycentric();
    let reach_m = (REACH_SPACINGS * spacing_m).max(lattice.cell_m);
    let (mut heights_m, mut known) = (Vec::new(), Vec::new());
    for k in 0..lattice.count() {
        let at = lattice.node_m(k) - lattice.low_m;
        let height = interpolation
            .interpolate(|v| v.data().height_m, Point2::new(tidy(at.x), tidy(at.y)))
            .filter(|h| h.is_finite());
        heights_m.push(height.map_or(f32::NAN, |h| h as f32));
        known.push(false);
    }
    mark(&mut known, points, &lattice, reach_m);
    for (k, h) in known.iter_mut().zip(&heights_m) {
        *k &= h.is_finite();
    }
    about.fill_method = "between the nearest ground points by the triangles, and beyond the last \
                         ones with the mean of their neighbours";
    Ok(Sheet { lattice, heights_m, known })
}

/// Marks nodes within reach of a point.
fn mark(known: &mut [bool], points: &[DVec3], lattice: &Lattice, reach_m: f64) {
    let reach = (reach_m / lattice.cell_m).floor().min(1000.0);
    for p in points {
        let cell = (p.truncate() - lattice.low_m) / lattice.cell_m;
        let (i0, j0) = ((cell.x - reach).ceil().max(0.0), (cell.y - reach).ceil().max(0.0));
        let i1 = (cell.x + reach).floor().min(lattice.nx as f64 - 1.0);
        let j1 = (cell.y + reach).floor().min(lattice.ny as f64 - 1.0);
        let mut j = j0;
        while j <= j1 {
            let mut i = i0;
            while i <= i1 {
                let off = DVec2::new(i, j) - cell;
                if off.length() * lattice.cell_m <= reach_m
                    && let Some(node) = known.get_mut(j as usize * lattice.nx + i as usize)
                {
                    *node = true;
                }
                i += 1.0;
            }
            j += 1.0;
        }
    }
}

/// A coordinate that spade takes: it refuses numbers under 1e-43 that aren't 0.
fn tidy(x: f64) -> f64 {
    if x.abs() < 1e-12 { 0.0 } else { x }
}
