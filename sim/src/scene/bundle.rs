//! One file from a scene and its terrain file: the terrain goes into the scene as `Inline`.
//!
//! The rest of the text stays as it was typed, comments included.

use std::fmt::Write as _;

use crate::terrain::Grid;

use super::{InlineGrid, Scene, SceneError, TerrainSpec, locate, parse};

impl InlineGrid {
    /// The grid that a raster terrain was read to, for a scene that carries it itself.
    ///
    /// `stump` is in the file's own coordinates, one unit of which is `map_unit_m`.
    #[must_use]
    pub fn from_grid(
        grid: &Grid,
        crs: Option<String>,
        (stump, map_unit_m): ([f64; 2], f64),
        source: String,
    ) -> Self {
        Self {
            cell_m: grid.cell_m,
            columns: grid.nx,
            rows: grid.ny,
            south_west_m: [grid.origin_m.x, grid.origin_m.y],
            heights_m: grid.heights_m.iter().map(|h| f64::from(*h)).collect(),
            crs,
            stump: Some(stump),
            map_unit_m,
            source,
            taped: Vec::new(),
        }
    }
}

/// The text of a scene with `grid` in place of its raster file.
///
/// A scene whose terrain is in the file already comes back as it is.
///
/// # Errors
/// The scene with the grid in it would be refused, for example because the grid has holes.
pub fn bundle(scene: &Scene, grid: &InlineGrid) -> Result<String, SceneError> {
    let text: &str = &scene.source.text;
    if let TerrainSpec::Transects(_) | TerrainSpec::Inline(_) = scene.site.terrain {
        return Ok(text.to_owned());
    }
    let found = locate::find(text, "site.terrain").filter(|found| found.whole);
    let (before, after) = found
        .and_then(|found| Some((text.get(..found.span.start)?, text.get(found.span.end..)?)))
        .unwrap_or((text, ""));
    // Legs that bend the grid stay as they are written.
    let taped = locate::find(text, "site.terrain.taped").filter(|found| found.whole);
    let taped = taped.and_then(|found| text.get(found.span));
    let packed = format!("{before}{}{after}", inline_text(grid, taped));
    parse(&packed, &scene.source.name)?;
    Ok(packed)
}

/// A grid as the scene file writes it: one line a row, south row first; `taped` as written.
fn inline_text(grid: &InlineGrid, taped: Option<&str>) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let _ = write!(
        text,
        "Inline(\n            cell: \"{} m\",\n            columns: {},\n            rows: {},\n            \
         south_west: (\"{} m\", \"{} m\"),\n",
        grid.cell_m, grid.columns, grid.rows, grid.south_west_m[0], grid.south_west_m[1],
    );
    if let Some(crs) = &grid.crs {
        let _ = writeln!(text, "            crs: {crs:?},");
    }
    if let Some([x, y]) = grid.stump {
        let _ = writeln!(text, "            stump: ({x:?}, {y:?}),");
    }
    if grid.map_unit_m != 1.0 {
        let _ = writeln!(text, "            map_unit: \"{:?} m\",", grid.map_unit_m);
    }
    let _ = writeln!(text, "            source: {:?},", grid.source);
    if let Some(taped) = taped {
        let _ = writeln!(text, "            taped: {taped},");
    }
    text.push_str("            heights_m: [\n");
    for row in grid.heights_m.chunks(grid.columns.max(1)) {
        text.push_str("                ");
        for height in row {
            // Heights come from single precision: its shortest digits give it back exactly.
            let single = *height as f32;
            let _ = if f64::from(single) == *height {
                write!(text, "{single:?}, ")
            } else {
                write!(text, "{height:?}, ")
            };
        }
        text.truncate(text.trim_end().len());
        text.push('\n');
    }
    text.push_str("            ],\n        )");
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    #[test]
    fn verif_a_bundle_gives_its_terrain_back() {
        let text = r#"( // the job
            version: 1, name: "b", units: Metric,
            site: (
                terrain: GeoTiff(file: "hill.tif", stump: (500.5, 700.25), around: "20 m"), // scanned
                north: True,
                ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry),
            ),
            tree: (species: "White oak", dbh: "50 cm", height: "20 m"),
        )"#;
        let scene = parse(text, "b.ron").unwrap();
        let heights_m: Vec<f32> = (0..12).map(|i| 391.317_14 + i as f32 * 0.1).collect();
        let origin_m = DVec2::new(-1.25, -0.75);
        let grid = Grid { origin_m, cell_m: 1.0, nx: 4, ny: 3, heights_m: heights_m.clone() };
        let inline = InlineGrid::from_grid(
            &grid,
            Some("EPSG:26915".to_owned()),
            ([500.5, 700.25], 1200.0 / 3937.0),
            "hill.tif".to_owned(),
        );
        let packed = bundle(&scene, &inline).unwrap();
        assert!(packed.contains("// the job") && packed.contains("// scanned"));
        let again = parse(&packed, "b.ron").unwrap();
        let TerrainSpec::Inline(read) = &again.site.terrain else { panic!("not inline") };
        let back: Vec<f32> = read.heights_m.iter().map(|h| *h as f32).collect();
        assert_eq!(back, heights_m);
        assert_eq!((read.columns, read.rows, read.cell_m), (4, 3, 1.0));
        assert_eq!((read.south_west_m, read.stump), ([-1.25, -0.75], Some([500.5, 700.25])));
        assert_eq!(read.map_unit_m, 1200.0 / 3937.0);
        assert!(again.site.terrain.is_georeferenced());
        assert_eq!(bundle(&again, &inline).unwrap(), packed, "a bundle is its own bundle");
    }

    #[test]
    fn verif_a_grid_with_a_hole_is_refused() {
        let scene = parse(
            r#"(version: 1, name: "b", units: Metric, site: (north: True,
                terrain: AsciiGrid(file: "h.asc", stump: (0.5, 0.5)),
                ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)),
                tree: (species: "White oak", dbh: "50 cm", height: "20 m"))"#,
            "b.ron",
        )
        .unwrap();
        let heights_m = vec![1.0, f32::NAN, 1.0, 1.0];
        let grid = Grid { origin_m: DVec2::splat(-0.5), cell_m: 1.0, nx: 2, ny: 2, heights_m };
        let inline = InlineGrid::from_grid(&grid, None, ([0.5, 0.5], 1.0), String::new());
        let refused = bundle(&scene, &inline).unwrap_err().to_string();
        assert!(refused.contains("site.terrain.heights_m[1]"), "{refused}");
    }
}
