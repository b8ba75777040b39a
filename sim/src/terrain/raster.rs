//! A georeferenced raster as it comes from a file, and what makes a terrain of it.

use std::sync::Arc;

use glam::{DVec2, DVec3};

use super::{Crs, Terrain, TerrainError, grid::Grid};

/// Most nodes a terrain may have: 64 MB of heights, a 4 km square at 1 m.
pub const MOST_NODES: usize = 16_777_216;
/// Least and greatest height a raster may hold, m (Dead Sea shore −430, Everest 8,849).
pub const HEIGHT_RANGE_M: (f64, f64) = (-500.0, 9000.0);
/// Smallest and largest cell, m.
pub const CELL_RANGE_M: (f64, f64) = (0.02, 100.0);
/// Most of a terrain that may be filled holes (ours).
pub const MOST_FILLED: f64 = 0.2;
/// Furthest that a filled hole may be from known ground, m (ours).
pub const FURTHEST_FILL_M: f64 = 10.0;

/// A length unit of horizontal coordinates or heights.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Metres.
    Metre,
    /// International feet, 0.3048 m.
    Foot,
    /// US survey feet, 1200/3937 m.
    UsSurveyFoot,
}

impl LengthUnit {
    /// Metres in one unit.
    #[must_use]
    pub fn metres(self) -> f64 {
        match self {
            Self::Metre => 1.0,
            Self::Foot => 0.3048,
            Self::UsSurveyFoot => 1200.0 / 3937.0,
        }
    }
}

/// The part of a raster that is wanted, in its own projected coordinates and units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Its middle.
    pub centre: DVec2,
    /// From the middle to each side.
    pub half: DVec2,
}

/// Heights as a file lays them out, in its own coordinates whatever their unit; NaN where unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    /// The south-west node.
    pub south_west: DVec2,
    /// From one node to the next, east and north.
    pub step: DVec2,
    /// Nodes in x.
    pub nx: usize,
    /// Nodes in y.
    pub ny: usize,
    /// Heights, row by row from the south, x fastest, m.
    pub heights_m: Vec<f32>,
}

impl Patch {
    /// Height at a place between known nodes, bilinear; at a node that node's own.
    #[must_use]
    pub fn height_m(&self, at: DVec2) -> Option<f32> {
        // A millionth of a cell off a node is that node: rounding makes no hole beside a hole.
        let tidy = |w: f64| if (w - w.round()).abs() < 1e-6 { w.round() } else { w };
        let place = (at - self.south_west) / self.step;
        let (u, v) = (tidy(place.x), tidy(place.y));
        let last = DVec2::new(self.nx as f64 - 1.0, self.ny as f64 - 1.0);
        if !(u >= 0.0 && v >= 0.0 && u <= last.x && v <= last.y) {
            return None;
        }
        let (i, j) = (u as usize, v as usize);
        let (fu, fv) = (u - i as f64, v - j as f64);
        let mut height = 0.0;
        for (di, dj, weight) in [
            (0, 0, (1.0 - fu) * (1.0 - fv)),
            (1, 0, fu * (1.0 - fv)),
            (0, 1, (1.0 - fu) * fv),
            (1, 1, fu * fv),
        ] {
            if weight > 0.0 {
                let h = self.heights_m.get((j + dj) * self.nx + i + di)?;
                height += weight * f64::from(*h);
            }
        }
        height.is_finite().then_some(height as f32)
    }
}

/// How many heights of a terrain are filled in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Filled {
    /// Heights in all.
    pub of: usize,
    /// Those that are filled in.
    pub count: usize,
    /// The furthest of them from a known height, m.
    pub furthest_m: f64,
}

impl Filled {
    /// Counts distances from known heights (m): 0 is known.
    pub fn count(from_known_m: impl Iterator<Item = f64>) -> Self {
        let mut filled = Self::default();
        for d in from_known_m {
            filled.of += 1;
            // What isn't a distance says nothing good of its height.
            if d > 0.0 || d.is_nan() {
                filled.count += 1;
                filled.furthest_m = filled.furthest_m.max(if d.is_finite() { d } else { 0.0 });
            }
        }
        filled
    }

    /// In words, if there are any.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        (self.count > 0).then(|| {
            format!(
                "{} of {} heights ({:.1} %) are filled in, not surveyed, the furthest {:.1} m from \
                 a known one",
                self.count,
                self.of,
                100.0 * self.count as f64 / self.of as f64,
                self.furthest_m
            )
        })
    }
}

/// Heights with their place on earth, holes not yet filled (NaN).
///
/// Coordinates are metres: projected ones times the unit. Row 0 is the southernmost.
#[derive(Clone, Debug, PartialEq)]
pub struct Raster {
    /// File it came from, for messages.
    pub file: String,
    /// Projected x, y of the south-west node, m.
    pub origin_m: DVec2,
    /// Distance between nodes, m.
    pub cell_m: f64,
    /// Nodes in x.
    pub nx: usize,
    /// Nodes in y.
    pub ny: usize,
    /// Heights, row by row from the south, x fastest, m; NaN where unknown.
    pub heights_m: Vec<f32>,
    /// EPSG code, if known.
    pub epsg: Option<u32>,
    /// Name of the coordinate system; empty if unknown.
    pub crs_name: String,
    /// Metres in one unit of the file's coordinates.
    pub unit_m: f64,
    /// What a user should know.
    pub warnings: Vec<String>,
}

impl Raster {
    /// Known height of the node nearest to a projected place (m), if there is one.
    #[must_use]
    pub fn nearest_height_m(&self, at_m: DVec2) -> Option<f64> {
        let cell = (at_m - self.origin_m) / self.cell_m;
        let inside = cell.cmpge(DVec2::splat(-0.5)).all()
            && cell.x <= self.nx as f64 - 0.5
            && cell.y <= self.ny as f64 - 0.5;
        let (i, j) = (cell.x.round().max(0.0) as usize, cell.y.round().max(0.0) as usize);
        let k = j.min(self.ny.saturating_sub(1)) * self.nx + i.min(self.nx.saturating_sub(1));
        self.heights_m.get(k).filter(|h| inside && h.is_finite()).map(|&h| f64::from(h))
    }

    /// The terrain of this raster, with the projected point `site_origin_m` (x, y, height, m) as
    /// the origin of its frame.
    ///
    /// # Errors
    /// Too few nodes, or holes beyond [`MOST_FILLED`] or [`FURTHEST_FILL_M`].
    pub fn into_terrain(mut self, site_origin_m: DVec3) -> Result<Terrain, TerrainError> {
        if self.nx < 2 || self.ny < 2 || self.heights_m.len() != self.nx * self.ny {
            return Err(TerrainError::new(
                self.file,
                "grid",
                format!("{} by {} nodes", self.nx, self.ny),
                "at least 2 by 2 nodes",
            ));
        }
        let filled = fill_holes(&mut self)?;
        if filled > 0 {
            let share = 100.0 * filled as f64 / self.heights_m.len() as f64;
            self.warnings.push(format!(
                "{}: {filled} of {} nodes ({share:.1} %) hold no height; each was filled with the \
                 mean of its neighbours, from the edge of the hole inwards",
                self.file,
                self.heights_m.len()
            ));
        }
        for h in &mut self.heights_m {
            *h = (f64::from(*h) - site_origin_m.z) as f32;
        }
        let grid = Grid {
            origin_m: self.origin_m - site_origin_m.truncate(),
            cell_m: self.cell_m,
            nx: self.nx,
            ny: self.ny,
            heights_m: self.heights_m,
        };
        let mut terrain = Terrain::from(grid);
        terrain.warnings = self.warnings;
        terrain.crs = Some(Crs {
            epsg: self.epsg,
            name: self.crs_name,
            offset_m: site_origin_m,
            unit_m: self.unit_m,
        });
        Ok(terrain)
    }

    /// The terrain of this raster with the stump, in the file's own coordinates and unit, as the
    /// origin of its frame: x, y and height 0.
    ///
    /// # Errors
    /// As [`Raster::into_terrain`], or a stump that isn't on the raster.
    pub fn into_terrain_at(self, stump: DVec2) -> Result<Terrain, TerrainError> {
        let (file, unit_m) = (self.file.clone(), self.unit_m);
        let mut terrain = self.into_terrain((stump * unit_m).extend(0.0))?;
        let Some(ground) = terrain.surface(0.0, 0.0) else {
            let (low, high) = terrain.bounds();
            let (low, high) = (low / unit_m + stump, high / unit_m + stump);
            return Err(TerrainError::new(
                file,
                "stump",
                format!("x {}, y {}", stump.x, stump.y),
                format!("within x {} to {}, y {} to {}", low.x, high.x, low.y, high.y),
            ));
        };
        for h in &mut Arc::make_mut(&mut terrain.grid).heights_m {
            *h = (f64::from(*h) - ground.height_m) as f32;
        }
        if let Some(crs) = &mut terrain.crs {
            crs.offset_m.z = ground.height_m;
        }
        Ok(terrain)
    }
}

/// Fills NaN nodes ring by ring: each node at the edge of a hole takes the mean of its known
/// neighbours of eight. Returns how many were filled.
fn fill_holes(raster: &mut Raster) -> Result<usize, TerrainError> {
    let (nx, ny) = (raster.nx, raster.ny);
    let mut holes: Vec<usize> = (0..raster.heights_m.len())
        .filter(|&k| raster.heights_m.get(k).is_some_and(|h| !h.is_finite()))
        .collect();
    let total = holes.len();
    let refuse = |raster: &Raster, read: String| {
        Err(TerrainError::new(
            raster.file.clone(),
            "holes",
            read,
            format!(
                "holes in at most {:.0} % of the nodes, none further than {FURTHEST_FILL_M} m from \
                 a known height; tumblewood terrain fills more and says where",
                100.0 * MOST_FILLED
            ),
        ))
    };
    if total as f64 > MOST_FILLED * (nx * ny) as f64 {
        let share = 100.0 * total as f64 / (nx * ny) as f64;
        return refuse(raster, format!("{total} nodes without a height ({share:.0} %)"));
    }
    let rings = (FURTHEST_FILL_M / raster.cell_m).ceil() as usize;
    for _ in 0..rings {
        if holes.is_empty() {
            break;
        }
        let mut found = Vec::new();
        let mut left = Vec::new();
        for &k in &holes {
            let (i, j) = (k % nx, k / nx);
            let (mut sum, mut count) = (0.0, 0.0);
            for b in j.saturating_sub(1)..=(j + 1).min(ny - 1) {
                for a in i.saturating_sub(1)..=(i + 1).min(nx - 1) {
                    if let Some(h) = raster.heights_m.get(b * nx + a)
                        && h.is_finite()
                    {
                        sum += f64::from(*h);
                        count += 1.0;
                    }
                }
            }
            if count > 0.0 {
                found.push((k, (sum / count) as f32));
            } else {
                left.push(k);
            }
        }
        for (k, h) in found {
            if let Some(node) = raster.heights_m.get_mut(k) {
                *node = h;
            }
        }
        holes = left;
    }
    if holes.is_empty() {
        return Ok(total);
    }
    refuse(raster, format!("{} nodes too far from any height", holes.len()))
}

/// Checks a raster's size before anything of that size is made.
pub(super) fn check_size(file: &str, nx: u64, ny: u64) -> Result<(), TerrainError> {
    let nodes = nx.checked_mul(ny).filter(|&n| n <= MOST_NODES as u64);
    if nx < 2 || ny < 2 || nodes.is_none() {
        return Err(TerrainError::new(
            file,
            "size",
            format!("{nx} columns by {ny} rows"),
            format!("at least 2 by 2 and at most {MOST_NODES} nodes; crop a larger raster"),
        ));
    }
    Ok(())
}

/// Checks a cell size in metres.
pub(super) fn check_cell(file: &str, cell_m: f64) -> Result<(), TerrainError> {
    if cell_m >= CELL_RANGE_M.0 && cell_m <= CELL_RANGE_M.1 {
        return Ok(());
    }
    Err(TerrainError::new(
        file,
        "cell size",
        format!("{cell_m} m"),
        format!("{} to {} m", CELL_RANGE_M.0, CELL_RANGE_M.1),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn raster(n: usize, hole: impl Fn(usize, usize) -> bool) -> Raster {
        let heights_m = (0..n * n)
            .map(|k| if hole(k % n, k / n) { f32::NAN } else { (k % n) as f32 * 0.5 })
            .collect();
        Raster {
            file: "test".into(),
            origin_m: DVec2::new(400_000.0, 5_000_000.0),
            cell_m: 1.0,
            nx: n,
            ny: n,
            heights_m,
            epsg: Some(26915),
            crs_name: String::new(),
            unit_m: 1.0,
            warnings: Vec::new(),
        }
    }

    #[test]
    fn verif_a_small_hole_in_a_plane_is_filled_with_the_plane_and_said() {
        let r = raster(21, |i, j| i == 10 && j == 10);
        let t = r.into_terrain(DVec3::new(400_010.0, 5_000_010.0, 5.0)).unwrap();
        assert!((t.surface(0.0, 0.0).unwrap().height_m).abs() < 1e-6);
        assert_eq!(t.crs.as_ref().and_then(|c| c.epsg), Some(26915));
        assert!(t.warnings.iter().any(|w| w.contains("1 of 441")), "{:?}", t.warnings);
    }

    #[test]
    fn verif_a_wide_hole_stays_between_its_edges() {
        let r = raster(41, |i, j| (15..25).contains(&i) && (15..25).contains(&j));
        let t = r.into_terrain(DVec3::new(400_000.0, 5_000_000.0, 0.0)).unwrap();
        for i in 15..25 {
            let h = t.surface(f64::from(i), 20.0).unwrap().height_m;
            assert!((7.0..=12.5).contains(&h), "{i}: {h}");
        }
    }

    #[test]
    fn verif_the_stump_becomes_the_origin() {
        let mut feet = raster(21, |_, _| false);
        feet.unit_m = 0.3048;
        let stump = DVec2::new(400_010.0, 5_000_010.0) / 0.3048;
        let t = feet.clone().into_terrain_at(stump).unwrap();
        assert!(t.surface(0.0, 0.0).unwrap().height_m.abs() < 1e-6);
        assert!((t.surface(4.0, 0.0).unwrap().height_m - 2.0).abs() < 1e-6);
        assert!(
            (t.crs.unwrap().offset_m - DVec3::new(400_010.0, 5_000_010.0, 5.0)).length() < 1e-6
        );
        let off = feet.into_terrain_at(DVec2::new(0.0, 0.0)).unwrap_err();
        assert_eq!(off.field, "stump");
    }

    #[test]
    fn verif_too_many_or_too_wide_holes_are_refused() {
        let half = raster(21, |i, _| i > 10).into_terrain(DVec3::ZERO).unwrap_err();
        assert!(half.read.contains("48 %"), "{half}");
        let wide = raster(100, |i, j| i < 40 && j < 40 && i + j > 0).into_terrain(DVec3::ZERO);
        assert!(wide.unwrap_err().read.contains("too far"));
        assert!(raster(5, |_, _| true).into_terrain(DVec3::ZERO).is_err());
    }
}
