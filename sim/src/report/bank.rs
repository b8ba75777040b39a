//! The bank for small drawings: lines of equal height and what stands on it.

use super::{
    contours::{Field, contours},
    outline::footprint,
};
use crate::{
    job::{Job, JobError, Outer},
    quantity::Units,
    site::BodyKind,
    terrain::Terrain,
};
use glam::DVec2;

/// Nodes of the lattice that contours are drawn from, on the longer side.
const NODES: f64 = 90.0;
/// Contours on a drawing, about.
const LINES: f64 = 12.0;

/// A bank as told, from above.
#[derive(Clone, Debug)]
pub struct Bank {
    /// Lines of equal height, m.
    pub contours_m: Vec<Vec<DVec2>>,
    /// What stands on it, by kind, with its outlines, m.
    pub bodies: Vec<(BodyKind, Vec<Vec<DVec2>>)>,
    /// What lengths on it are written in.
    pub units: Units,
}

impl Bank {
    /// The bank of a job as told.
    ///
    /// # Errors
    /// The told world can't be built.
    pub fn of(job: &Job) -> Result<Self, JobError> {
        let site = job.world(Outer::Told)?.site;
        Ok(Self {
            contours_m: contour_lines(&site.terrain, job.scene.units).0,
            bodies: site.bodies.iter().map(|body| (body.kind, footprint(body))).collect(),
            units: job.scene.units,
        })
    }

    /// Every corner of what stands on it, m.
    pub fn corners_m(&self) -> impl Iterator<Item = DVec2> {
        self.bodies.iter().flat_map(|(_, outlines)| outlines.iter().flatten().copied())
    }
}

/// Contours of a ground, at a round height between them, and that height, m.
#[must_use]
pub fn contour_lines(terrain: &Terrain, units: Units) -> (Vec<Vec<DVec2>>, f64) {
    let (low, high) = terrain.bounds();
    let step_m = (high - low).max_element() / NODES;
    let nodes = |m: f64| (m / step_m).floor() as usize + 1;
    let (nx, ny) = (nodes(high.x - low.x), nodes(high.y - low.y));
    let values: Vec<f64> = (0..nx * ny)
        .map(|k| {
            let at = low + DVec2::new((k % nx) as f64, (k / nx) as f64) * step_m;
            terrain.surface(at.x, at.y).map_or(f64::NAN, |surface| surface.height_m)
        })
        .collect();
    let known = values.iter().copied().filter(|height| height.is_finite());
    let (bottom, top) =
        known.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let interval_m = units.round_step_m((top - bottom).max(0.1) / LINES);
    let field = Field { origin_m: low, step_m, nx, ny, values };
    let (first, last) = ((bottom / interval_m).ceil() as i64, (top / interval_m).floor() as i64);
    let levels = first..=last.min(first.saturating_add(200));
    (levels.flat_map(|level| contours(&field, level as f64 * interval_m)).collect(), interval_m)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_contours_of_a_plane_lie_at_round_heights() {
        let plane =
            Terrain::from_heights(DVec2::new(-20.0, -10.0), 0.5, 81, 41, |_, y| 0.5 * y + 0.1);
        let (lines, interval_m) = contour_lines(&plane, Units::Metric);
        assert!((interval_m - 0.5).abs() < 1e-12, "{interval_m}");
        assert_eq!(lines.len(), 20);
        for point in lines.iter().flatten() {
            let level = (0.5 * point.y + 0.1) / interval_m;
            assert!((level - level.round()).abs() < 1e-6, "{point}");
        }
    }
}
