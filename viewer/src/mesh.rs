//! Terrain as triangles and contour lines: plain arrays in the site's frame, no renderer.
//!
//! Hillshade by Lambert's cosine with the light from the north-west, 45° up, as printed relief
//! maps have it. Contours are cut from the very triangles that are drawn, so that they lie on
//! them whatever the terrain does between its nodes. Cells next to a cut face are drawn finer, from
//! the surface that the physics has there: the grid alone says the step as a slope.

use bevy::math::{Vec2, Vec3, vec3};
use tumblewood::terrain::{Grid, Terrain};

/// More nodes than this along a side are thinned: 260 thousand vertices draw on any machine.
const MAX_NODES_A_SIDE: usize = 513;
/// Light of a slope turned away from the sun; black hides what is there.
const AMBIENT: f32 = 0.25;
/// Parts of a cell next to a cut face are about this wide, m, but no more than so many a side.
const FINE_M: f64 = 0.1;
const MOST_FINE: usize = 12;
/// About this many contours over the whole height of the terrain.
const CONTOURS_WANTED: f32 = 25.0;

/// Triangles over the terrain.
#[derive(Clone, Debug, Default)]
pub(crate) struct Relief {
    /// Places of the nodes, m; not finite where the terrain has a hole.
    pub(crate) points_m: Vec<Vec3>,
    /// Light on each node, 0 to 1.
    pub(crate) light: Vec<f32>,
    /// Three nodes a triangle, anticlockwise from above; none touches a hole.
    pub(crate) triangles: Vec<[u32; 3]>,
}

impl Relief {
    /// Lowest and highest corner of the box round the finite nodes, m.
    #[must_use]
    pub(crate) fn extent_m(&self) -> (Vec3, Vec3) {
        let start = (Vec3::splat(f32::INFINITY), Vec3::splat(f32::NEG_INFINITY));
        self.points_m
            .iter()
            .filter(|point| point.is_finite())
            .fold(start, |(low, high), &point| (low.min(point), high.max(point)))
    }

    /// Adds a lattice of nodes, row by row from the south-west, and two triangles for each of its
    /// cells (corners sw, se, nw, ne) that is wanted and has no hole.
    fn lattice(
        &mut self,
        points_m: Vec<Vec3>,
        width: usize,
        mut wanted: impl FnMut(&[Vec3], [usize; 4]) -> bool,
    ) {
        let first = self.points_m.len();
        let light = (0..points_m.len()).map(|k| light(slope_normal(&points_m, width, k)));
        self.light.extend(light);
        for k in 0..points_m.len().saturating_sub(width) {
            let cell @ [sw, se, nw, ne] = [k, k + 1, k + width, k + width + 1];
            if se % width == 0 || !wanted(&points_m, cell) {
                continue;
            }
            for triangle in [[sw, se, ne], [sw, ne, nw]] {
                if triangle.iter().all(|&corner| points_m[corner].is_finite()) {
                    self.triangles.push(triangle.map(|corner| (first + corner) as u32));
                }
            }
        }
        self.points_m.extend(points_m);
    }
}

/// Every node of the terrain, or every n-th if there are too many, joined by triangles.
#[must_use]
pub(crate) fn relief(terrain: &Terrain) -> Relief {
    let grid = &terrain.grid;
    let stride = grid.nx.max(grid.ny).saturating_sub(1).div_ceil(MAX_NODES_A_SIDE - 1).max(1);
    let columns = kept_nodes(grid.nx, stride);
    let rows = kept_nodes(grid.ny, stride);

    let points_m: Vec<Vec3> =
        rows.iter().flat_map(|&j| columns.iter().map(move |&i| node_m(grid, i, j))).collect();
    let width = columns.len();
    let mut relief = Relief::default();
    let mut fine = Vec::new();
    relief.lattice(points_m, width, |points_m, [sw, _, _, ne]| {
        let (low, high) = (points_m[sw].truncate(), points_m[ne].truncate());
        let (middle, reach) = ((low + high) / 2.0, low.distance(high) / 2.0);
        let near = terrain.faces.near_face(middle.x.into(), middle.y.into(), reach.into());
        if near {
            fine.push((low, high));
        }
        !near
    });
    for (low, high) in fine {
        let parts = ((f64::from(high.x - low.x) / FINE_M).ceil() as usize).clamp(2, MOST_FINE);
        let share = |k: usize| k as f32 / parts as f32;
        let points_m = (0..=parts).flat_map(|j| (0..=parts).map(move |i| (i, j))).map(|(i, j)| {
            let at = low + (high - low) * Vec2::new(share(i), share(j));
            let surface = terrain.surface(at.x.into(), at.y.into());
            at.extend(surface.map_or(f32::NAN, |surface| surface.height_m as f32))
        });
        relief.lattice(points_m.collect(), parts + 1, |_, _| true);
    }
    relief
}

/// Every `stride`-th node, and the last one, so that no edge is cut off.
fn kept_nodes(nodes: usize, stride: usize) -> Vec<usize> {
    let mut kept: Vec<usize> = (0..nodes).step_by(stride).collect();
    if nodes > 0 && kept.last() != Some(&(nodes - 1)) {
        kept.push(nodes - 1);
    }
    kept
}

fn node_m(grid: &Grid, i: usize, j: usize) -> Vec3 {
    let height_m = grid.heights_m.get(j * grid.nx + i).copied().unwrap_or(f32::NAN);
    let x_m = grid.origin_m.x + grid.cell_m * i as f64;
    let y_m = grid.origin_m.y + grid.cell_m * j as f64;
    vec3(x_m as f32, y_m as f32, height_m)
}

/// Normal at a node from its neighbours, or straight up where a neighbour is missing.
fn slope_normal(points_m: &[Vec3], width: usize, k: usize) -> Vec3 {
    let at = |wanted: Option<usize>| wanted.and_then(|w| points_m.get(w)).unwrap_or(&points_m[k]);
    let column = k % width;
    let west = at((column > 0).then(|| k - 1));
    let east = at((column + 1 < width).then_some(k + 1));
    let south = at(k.checked_sub(width));
    let north = at(Some(k + width));
    let normal = (east - west).cross(north - south).normalize_or_zero();
    if normal.z > 0.0 { normal } else { Vec3::Z }
}

/// Light on a surface with this normal, 0 to 1.
#[must_use]
pub(crate) fn light(normal: Vec3) -> f32 {
    AMBIENT + (1.0 - AMBIENT) * normal.dot(toward_light()).max(0.0)
}

/// The way to the light, a unit vector.
#[must_use]
pub(crate) fn toward_light() -> Vec3 {
    vec3(-1.0, 1.0, std::f32::consts::SQRT_2).normalize()
}

/// Height between contours, m: 1, 2 or 5 times a power of ten, never under 0.1 m.
#[must_use]
pub(crate) fn contour_interval_m(low_m: f32, high_m: f32) -> f32 {
    let wanted = ((high_m - low_m) / CONTOURS_WANTED).max(0.1);
    let decade = 10.0_f32.powf(wanted.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .map(|step| step * decade)
        .into_iter()
        .find(|step| *step >= wanted * 0.999)
        .unwrap_or(10.0 * decade)
}

/// One straight piece of a contour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ContourPiece {
    /// Which contour: the height in intervals.
    pub(crate) level: i32,
    /// Its ends, m.
    pub(crate) ends_m: [Vec3; 2],
}

/// The pieces of all contours, cut from the triangles.
#[must_use]
pub(crate) fn contours(relief: &Relief, interval_m: f32) -> Vec<ContourPiece> {
    let mut pieces = Vec::new();
    for triangle in &relief.triangles {
        let mut corners = triangle.map(|corner| relief.points_m[corner as usize]);
        corners.sort_by(|a, b| a.z.total_cmp(&b.z));
        let [low, middle, high] = corners;
        // Half open, so that a contour through a node is drawn once.
        let first = (low.z / interval_m).floor() as i32 + 1;
        let last = (high.z / interval_m).floor() as i32;
        for level in first..=last {
            let height_m = level as f32 * interval_m;
            // With `<=`, an edge that lies at the height belongs to the triangle below it.
            let other = if height_m <= middle.z {
                cut(low, middle, height_m)
            } else {
                cut(middle, high, height_m)
            };
            pieces.push(ContourPiece { level, ends_m: [cut(low, high, height_m), other] });
        }
    }
    pieces
}

/// The place at this height on the edge from `low` to `high`, of which `high` is the higher.
fn cut(low: Vec3, high: Vec3, height_m: f32) -> Vec3 {
    low.lerp(high, ((height_m - low.z) / (high.z - low.z)).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use tumblewood::{
        quantity::Units,
        terrain::{CutFace, Side},
    };

    /// A terrain of `nx` by `ny` nodes with heights from a formula.
    fn terrain(nx: usize, ny: usize, height_m: impl Fn(f64, f64) -> f64) -> Terrain {
        let origin_m = DVec2::new(-10.0, 5.0);
        let cell_m = 2.0;
        let heights_m = (0..nx * ny)
            .map(|k| {
                let x_m = origin_m.x + cell_m * (k % nx) as f64;
                let y_m = origin_m.y + cell_m * (k / nx) as f64;
                height_m(x_m, y_m) as f32
            })
            .collect();
        Terrain::from(Grid { origin_m, cell_m, nx, ny, heights_m })
    }

    #[test]
    fn verif_the_triangles_cover_the_grid_once_and_face_up() {
        let relief = relief(&terrain(7, 5, |x, y| 0.3 * x - 0.2 * y));
        assert_eq!(relief.triangles.len(), 2 * 6 * 4);
        let mut area_m2 = 0.0;
        for triangle in &relief.triangles {
            let [a, b, c] = triangle.map(|k| relief.points_m[k as usize]);
            let twice = (b - a).cross(c - a);
            assert!(twice.z > 0.0);
            area_m2 += twice.z / 2.0;
        }
        assert!((area_m2 - 12.0 * 8.0).abs() < 1e-3, "{area_m2}");
    }

    #[test]
    fn verif_a_plane_is_lit_evenly_by_the_cosine() {
        // Facing the light squarely: the slope falls to the north-west at 45°.
        let facing = relief(&terrain(5, 5, |x, y| (x - y) / 2.0_f64.sqrt()));
        for light in &facing.light {
            assert!((light - 1.0).abs() < 1e-5, "{light}");
        }
        let flat = relief(&terrain(5, 5, |_, _| 3.0));
        let expected = 0.25 + 0.75 * 0.5_f32.sqrt();
        for light in &flat.light {
            assert!((light - expected).abs() < 1e-5, "{light}");
        }
    }

    /// A wall 1.2 m high along x = 20.3, drawn as high as it is and no wider than two fine parts.
    #[test]
    fn verif_a_cut_face_is_drawn_where_the_physics_has_it() {
        let face = CutFace {
            id: "wall".to_owned(),
            line_m: vec![DVec2::new(20.3, 0.0), DVec2::new(20.3, 60.0)],
            height_m: 1.2,
            low_side: Side::Right,
        };
        let cell_m = 1.0;
        let bank = Terrain::from_heights(DVec2::ZERO, cell_m, 41, 41, |_, y| 0.2 * y);
        let coarse = relief(&bank);
        let bank = bank.with_faces(&[face], Units::Metric);
        let drawn = relief(&bank);
        assert!(drawn.triangles.len() > coarse.triangles.len());
        let plan = |k: u32| drawn.points_m[k as usize].truncate();
        let mut area_m2 = 0.0;
        for triangle in &drawn.triangles {
            let [a, b, c] = triangle.map(|k| drawn.points_m[k as usize]);
            let [p, q, r] = triangle.map(plan);
            area_m2 += f64::from((q - p).perp_dot(r - p) / 2.0);
            // Steeper than the bank by far only across the wall.
            let steep = (b - a).cross(c - a).normalize().z < 0.5;
            let middle = (p + q + r) / 3.0;
            assert!(!steep || (middle.x - 20.3).abs() < 0.2, "{middle}");
            for corner in [a, b, c] {
                let want = bank.surface(corner.x.into(), corner.y.into()).unwrap().height_m;
                assert!((f64::from(corner.z) - want).abs() < 1e-4, "{corner} {want}");
            }
        }
        assert!((area_m2 - 1600.0).abs() < 0.05, "the ground is covered once: {area_m2}");
    }

    #[test]
    fn prop_a_hole_has_no_triangle_and_spoils_no_other() {
        let mut holed = terrain(6, 6, |x, _| x);
        std::sync::Arc::make_mut(&mut holed.grid).heights_m[6 * 2 + 2] = f32::NAN;
        let relief = relief(&holed);
        // A node inside touches six triangles.
        assert_eq!(relief.triangles.len(), 2 * 25 - 6);
        assert!(relief.light.iter().all(|light| light.is_finite()));
        assert!(relief.extent_m().0.is_finite() && relief.extent_m().1.is_finite());
    }

    #[test]
    fn prop_a_large_grid_is_thinned_and_keeps_its_edges() {
        let relief = relief(&terrain(2049, 30, |x, y| x + y));
        assert!(relief.points_m.len() <= MAX_NODES_A_SIDE * MAX_NODES_A_SIDE);
        let (low, high) = relief.extent_m();
        assert_eq!((low.x, low.y), (-10.0, 5.0));
        assert_eq!((high.x, high.y), (-10.0 + 2.0 * 2048.0, 5.0 + 2.0 * 29.0));
    }

    #[test]
    fn prop_an_empty_or_thin_grid_draws_nothing_and_does_not_panic() {
        for (nx, ny) in [(0, 0), (1, 1), (1, 9), (9, 1)] {
            assert!(relief(&terrain(nx, ny, |_, _| 0.0)).triangles.is_empty());
        }
    }

    #[test]
    fn verif_contours_of_a_cone_are_circles_of_their_height() {
        let cone = relief(&terrain(41, 41, |x, y| 40.0 - (x - 30.0).hypot(y - 45.0)));
        let pieces = contours(&cone, 5.0);
        for level in 3..=7 {
            let radius_m = 40.0 - 5.0 * level as f32;
            let length_m: f32 = pieces
                .iter()
                .filter(|piece| piece.level == level)
                .map(|piece| piece.ends_m[0].distance(piece.ends_m[1]))
                .sum();
            let expected_m = std::f32::consts::TAU * radius_m;
            assert!((length_m / expected_m - 1.0).abs() < 0.03, "{level}: {length_m} {expected_m}");
        }
        for piece in &pieces {
            for end in piece.ends_m {
                assert!((end.z - 5.0 * piece.level as f32).abs() < 1e-4, "{end}");
            }
        }
    }

    #[test]
    fn verif_the_interval_is_a_round_number_that_gives_some_contours() {
        for (range_m, expected_m) in
            [(0.0, 0.1), (3.1, 0.2), (27.0, 2.0), (31.1, 2.0), (900.0, 50.0)]
        {
            let interval_m = contour_interval_m(379.7, 379.7 + range_m);
            assert!((interval_m / expected_m - 1.0).abs() < 1e-3, "{range_m}: {interval_m}");
        }
    }
}
