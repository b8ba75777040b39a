//! Terrain and places on it.

use glam::DVec2;

use super::{
    super::{
        items::all_places,
        model::*,
        places::{MapFrame, heading},
    },
    Checks,
};

/// Least number of legs of a transect: one leg says nothing of how the slope goes on.
const LEGS_MIN: usize = 2;
/// Least angle between the lines of two transects, rad: nearer than that they are one line, and
/// one line is no surface.
const LINES_APART_RAD: f64 = 15.0 * std::f64::consts::PI / 180.0;
/// Largest inline terrain, nodes along one side.
const INLINE_MAX: usize = 4_097;

impl Checks {
    pub(super) fn site(&mut self, site: &SiteSpec) {
        match &site.terrain {
            TerrainSpec::Transects(lines) => self.transects(lines),
            TerrainSpec::Inline(grid) => self.inline(grid),
            TerrainSpec::AsciiGrid(_) | TerrainSpec::GeoTiff(_) => {}
        }
        if site.terrain.is_georeferenced() && site.north.is_none() {
            self.wrong(
                "site",
                "the terrain has coordinates of its own, so north must be said",
                "north: Magnetic(declination: \"-8 deg\"), True or Grid",
            );
        }
        if let Some(wind) = &site.wind
            && wind.gust_m_s.told < wind.speed_m_s.told
        {
            self.wrong(
                "site.wind.gust",
                "a gust slower than the wind",
                "at least the wind's speed",
            );
        }
        for (i, line) in site.breaklines.iter().enumerate() {
            self.line(site, &format!("site.breaklines[{i}].points"), &line.points);
        }
        for (i, patch) in site.patches.iter().enumerate() {
            self.outline(site, &format!("site.patches[{i}].outline"), &patch.outline);
        }
    }

    fn transects(&mut self, lines: &[Transect]) {
        for (i, line) in lines.iter().enumerate() {
            if line.legs.len() < LEGS_MIN {
                self.wrong(
                    &format!("site.terrain.lines[{i}].legs"),
                    format!("a transect of {} leg(s)", line.legs.len()),
                    "at least two legs, so that the change of slope is known",
                );
            }
        }
        let apart = |a: &Transect, b: &Transect| {
            let frame = MapFrame::default();
            let (a, b) = (heading(a.azimuth_rad.told, &frame), heading(b.azimuth_rad.told, &frame));
            a.perp_dot(b).abs() >= libm::sin(LINES_APART_RAD)
        };
        let surface =
            lines.iter().enumerate().any(|(i, a)| lines.iter().skip(i + 1).any(|b| apart(a, b)));
        if !surface {
            self.wrong(
                "site.terrain.lines",
                "transects along one line only, which make no surface",
                "at least two transects whose lines are 15 deg or more apart",
            );
        }
    }

    fn inline(&mut self, grid: &InlineGrid) {
        for (path, side) in
            [("site.terrain.columns", grid.columns), ("site.terrain.rows", grid.rows)]
        {
            if !(2..=INLINE_MAX).contains(&side) {
                self.wrong(path, "no usable number of heights", format!("2 to {INLINE_MAX}"));
                return;
            }
        }
        if grid.heights_m.len() != grid.columns * grid.rows {
            self.wrong(
                "site.terrain.heights_m",
                format!("{} heights", grid.heights_m.len()),
                format!("columns x rows = {}", grid.columns * grid.rows),
            );
        }
        let bad = |h: &f64| !(h.is_finite() && h.abs() < 10_000.0);
        if let Some(i) = grid.heights_m.iter().position(bad) {
            self.wrong(
                &format!("site.terrain.heights_m[{i}]"),
                "no height",
                "metres between -10000 and 10000, no holes",
            );
        }
        let low = DVec2::from(grid.south_west_m);
        let high =
            low + DVec2::new((grid.columns - 1) as f64, (grid.rows - 1) as f64) * grid.cell_m;
        if low.max_element() >= 0.0 || high.min_element() <= 0.0 {
            self.wrong(
                "site.terrain.south_west",
                "the stump is not on the terrain",
                "a south-west corner from which the grid reaches past the stump at (0, 0)",
            );
        }
        if grid.crs.is_some() && grid.stump.is_none() {
            let allowed = "stump: (x, y) in that crs, or no crs";
            self.wrong("site.terrain", "half a georeference", allowed);
        }
    }

    /// Coordinates of the terrain only where it has some.
    pub(super) fn places(&mut self, scene: &Scene) {
        if scene.site.terrain.stump().is_some() {
            return;
        }
        for (path, place) in all_places(scene) {
            if matches!(place, Place::Grid { .. }) {
                self.wrong(
                    &path,
                    "coordinates of a terrain that has none",
                    "At(azimuth: .., distance: ..), Station(..) or Local(east: .., north: ..)",
                );
            }
        }
    }
}
