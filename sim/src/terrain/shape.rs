//! What the ground looks like from a point: slopes, profiles, fall lines, steps that are too steep.
//!
//! Slopes are taken over a baseline, because the gradient of one cell is mostly roughness. Known
//! answers: planes, in the tests below.

use glam::{DVec2, DVec3};

use super::{STEEPEST_GRADIENT, Terrain, said};
use crate::quantity::Units;

/// Unit vector in plan of an azimuth, clockwise from the frame's y (north), rad.
#[must_use]
pub fn bearing(azimuth_rad: f64) -> DVec2 {
    DVec2::new(libm::sin(azimuth_rad), libm::cos(azimuth_rad))
}

/// Azimuth of a direction in plan, clockwise from north, 0 to 2π rad.
#[must_use]
pub fn azimuth_rad(direction: DVec2) -> f64 {
    let azimuth = libm::atan2(direction.x, direction.y);
    if azimuth < 0.0 { azimuth + std::f64::consts::TAU } else { azimuth }
}

/// Where neighbouring nodes are too far apart in height for a height field.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooSteep {
    /// How many cell sides are steeper than [`STEEPEST_GRADIENT`] and not at a cut face.
    pub count: usize,
    /// Where the steepest is, m.
    pub at_m: DVec2,
    /// Its slope, rad.
    pub slope_rad: f64,
}

impl Terrain {
    /// Gradient of the mean plane through a ring about a place, `None` if part of it is unknown.
    ///
    /// Ring of 16 points at half the baseline (m); exact on planes.
    #[must_use]
    pub fn mean_gradient(&self, at_m: DVec2, baseline_m: f64) -> Option<DVec2> {
        let radius = 0.5 * baseline_m;
        let mut sum = DVec2::ZERO;
        for k in 0..16 {
            let out = bearing(std::f64::consts::TAU * f64::from(k) / 16.0);
            let p = at_m + out * radius;
            sum += out * self.surface(p.x, p.y)?.height_m;
        }
        Some(sum * (2.0 / (16.0 * radius)))
    }

    /// Slope along an azimuth over a baseline centred on a place, rad, positive uphill.
    #[must_use]
    pub fn slope_along_rad(&self, at_m: DVec2, azimuth_rad: f64, baseline_m: f64) -> Option<f64> {
        let half = bearing(azimuth_rad) * (0.5 * baseline_m);
        let (a, b) = (at_m - half, at_m + half);
        let rise = self.surface(b.x, b.y)?.height_m - self.surface(a.x, a.y)?.height_m;
        Some(libm::atan2(rise, baseline_m))
    }

    /// The ground along an azimuth, one point every `step_m` in plan up to `length_m`; it ends
    /// early where the terrain does.
    #[must_use]
    pub fn profile(
        &self,
        from_m: DVec2,
        azimuth_rad: f64,
        step_m: f64,
        length_m: f64,
    ) -> Vec<DVec3> {
        if !(step_m > 0.0 && length_m >= 0.0 && length_m / step_m < 1e6) {
            return Vec::new();
        }
        let along = bearing(azimuth_rad);
        (0..=(length_m / step_m + 1e-9) as usize)
            .map(|k| from_m + along * (step_m * k as f64))
            .map_while(|p| self.surface(p.x, p.y).map(|s| p.extend(s.height_m)))
            .collect()
    }

    /// The way down the steepest ground from a place, one point every `step_m` in plan.
    ///
    /// The direction is that of the mean plane over `baseline_m` (midpoint rule). It ends at
    /// `length_m` in plan, where the terrain ends (the last half baseline goes by the local
    /// gradient), on ground under 1 in 100, or where it stops going down.
    #[must_use]
    pub fn fall_line(
        &self,
        from_m: DVec2,
        step_m: f64,
        length_m: f64,
        baseline_m: f64,
    ) -> Vec<DVec3> {
        let mut points = Vec::new();
        let Some(start) = self.surface(from_m.x, from_m.y) else { return points };
        if !(step_m > 0.0 && length_m / step_m < 1e6) {
            return points;
        }
        points.push(from_m.extend(start.height_m));
        let down = |p: DVec2| {
            let gradient = self
                .mean_gradient(p, baseline_m)
                .or_else(|| self.surface(p.x, p.y).map(|s| s.gradient))?;
            (gradient.length() > 0.01).then(|| -gradient.normalize())
        };
        let mut at = from_m;
        // A pool of roughness may be crossed: what counts is the descent over a baseline.
        let back = ((baseline_m / step_m).ceil() as usize).max(1);
        for _ in 0..(length_m / step_m + 1e-9) as usize {
            let Some(first) = down(at) else { break };
            let Some(next) = down(at + first * (0.5 * step_m)) else { break };
            at += next * step_m;
            let Some(s) = self.surface(at.x, at.y) else { break };
            points.push(at.extend(s.height_m));
            let before = points.len().checked_sub(1 + back).and_then(|k| points.get(k));
            if before.is_some_and(|p| p.z <= s.height_m) {
                points.truncate(points.len() - back);
                break;
            }
        }
        points
    }

    /// Cell sides steeper than a height field can say, away from cut faces.
    #[must_use]
    pub fn too_steep(&self) -> Option<TooSteep> {
        let g = &self.grid;
        let limit = (STEEPEST_GRADIENT * g.cell_m) as f32;
        let (mut count, mut worst, mut at) = (0, 0.0_f32, DVec2::ZERO);
        let mut look = |rise: f32, x: f64, y: f64| {
            if rise.abs() > limit {
                let p = g.origin_m + DVec2::new(x, y) * g.cell_m;
                if self.faces.is_empty() || self.faces.band(g, p).is_none() {
                    count += 1;
                    if rise.abs() > worst {
                        (worst, at) = (rise.abs(), p);
                    }
                }
            }
        };
        for (j, row) in g.heights_m.chunks_exact(g.nx).enumerate() {
            for (i, pair) in row.windows(2).enumerate() {
                if let [a, b] = pair {
                    look(b - a, i as f64 + 0.5, j as f64);
                }
            }
        }
        let north = g.heights_m.iter().skip(g.nx);
        for (k, (a, b)) in g.heights_m.iter().zip(north).enumerate() {
            look(b - a, (k % g.nx) as f64, (k / g.nx) as f64 + 0.5);
        }
        (count > 0).then(|| TooSteep {
            count,
            at_m: at,
            slope_rad: libm::atan2(f64::from(worst), g.cell_m),
        })
    }

    /// The warning for [`Terrain::too_steep`], if there is anything to warn of, in these units.
    #[must_use]
    pub fn steepness_warning(&self, units: Units) -> Option<String> {
        self.too_steep().map(|t| {
            format!(
                "the terrain is steeper than {:.0}° between {} pairs of cells (steepest {:.0}° at \
                 x {}, y {}): a grid can't say a face; give it as a cut face with its \
                 height",
                libm::atan(STEEPEST_GRADIENT).to_degrees(),
                t.count,
                t.slope_rad.to_degrees(),
                said(t.at_m.x, 1, units),
                said(t.at_m.y, 1, units)
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bank() -> Terrain {
        Terrain::from_heights(DVec2::splat(-30.0), 1.0, 61, 61, |x, y| 0.3 * x + 0.4 * y)
    }

    #[test]
    fn verif_slopes_of_a_plane() {
        let t = bank();
        let g = t.mean_gradient(DVec2::new(1.3, -2.2), 4.0).unwrap();
        assert!((g - DVec2::new(0.3, 0.4)).length() < 1e-6);
        let up = azimuth_rad(DVec2::new(0.3, 0.4));
        let slope = t.slope_along_rad(DVec2::ZERO, up, 10.0).unwrap();
        assert!((slope - libm::atan(0.5)).abs() < 1e-6);
        let across = t.slope_along_rad(DVec2::ZERO, up + std::f64::consts::FRAC_PI_2, 10.0);
        assert!(across.unwrap().abs() < 1e-6);
        assert!(t.mean_gradient(DVec2::new(29.5, 0.0), 4.0).is_none());
    }

    #[test]
    fn verif_azimuths_run_clockwise_from_north() {
        use std::f64::consts::FRAC_PI_2;
        assert!((bearing(FRAC_PI_2) - DVec2::X).length() < 1e-12);
        assert!((azimuth_rad(-DVec2::X) - 3.0 * FRAC_PI_2).abs() < 1e-12);
    }

    #[test]
    fn verif_the_fall_line_of_a_plane_is_straight_and_ends_at_the_edge() {
        let t = bank();
        let line = t.fall_line(DVec2::ZERO, 0.5, 200.0, 4.0);
        let last = line.last().unwrap();
        let down = DVec2::new(-0.6, -0.8);
        assert!(last.truncate().perp_dot(down).abs() < 1e-4, "{last}");
        assert!(last.y < -29.0);
        assert!(line.windows(2).all(|w| w[1].z < w[0].z));
        // A valley floor stops it.
        let v = Terrain::from_heights(DVec2::splat(-30.0), 1.0, 61, 61, |_, y| 0.3 * y.abs());
        let end = *v.fall_line(DVec2::new(3.3, 20.0), 0.5, 200.0, 4.0).last().unwrap();
        assert!(end.y.abs() < 4.0 && (end.x - 3.3).abs() < 1e-3, "{end}");
    }

    #[test]
    fn verif_a_profile_stops_at_the_edge() {
        let p = bank().profile(DVec2::ZERO, 0.0, 1.0, 100.0);
        assert_eq!(p.len(), 31);
        assert!((p[10] - DVec3::new(0.0, 10.0, 4.0)).length() < 1e-5);
        assert!(bank().profile(DVec2::ZERO, 0.0, 0.0, 1.0).is_empty());
    }

    #[test]
    fn verif_a_wall_in_the_grid_is_warned_of_unless_it_is_a_face() {
        use crate::terrain::{CutFace, Side};
        let step = |_: f64, y: f64| if y > 0.25 { 2.0 } else { 0.0 };
        let t = Terrain::from_heights(DVec2::splat(-10.0), 0.5, 41, 41, step);
        let found = t.too_steep().unwrap();
        assert_eq!(found.count, 41);
        assert!((found.slope_rad - libm::atan(4.0)).abs() < 1e-6);
        let t = t.with_faces(
            &[CutFace {
                id: "w".into(),
                line_m: vec![DVec2::new(-11.0, 0.25), DVec2::new(11.0, 0.25)],
                height_m: 2.0,
                low_side: Side::Right,
            }],
            Units::Metric,
        );
        assert!(t.too_steep().is_none());
    }
}
