//! A new scene on the ground of a terrain file.

use std::path::Path;

use glam::DVec2;

use crate::{
    scene::{OnGround, starter_on},
    terrain::{TerrainError, Window, geotiff, shape::azimuth_rad},
};

/// Most that a new scene uses of a terrain file to each side, m (ours).
const AROUND_M: f64 = 250.0;
/// Least ground to each side that a new scene fits on, m.
const LEAST_REACH_M: f64 = 5.0;
/// Baseline of the way down, m.
const BASELINE_M: f64 = 20.0;

/// The text of a new scene, to be written to `scene`, on the ground of a GeoTIFF: the stump at the
/// place that the ground was made for, else in its middle, with an invented tree and shed.
///
/// # Errors
/// A ground that can't be read, or that ends too near to the stump.
pub fn scene_on(ground: &Path, scene: &Path) -> Result<String, TerrainError> {
    let sheet = geotiff::Sheet::open(ground)?;
    let unit_m = geotiff::unit_m(ground)?;
    let (low, high) = (sheet.south_west, sheet.north_east());
    let stump = sheet.place().unwrap_or(0.5 * (low + high));
    let reach_m = ((stump - low).min(high - stump)).min_element() * unit_m;
    let widest_m = (stump - low).max(high - stump).max_element() * unit_m;
    let around_m = widest_m.min(AROUND_M);
    if reach_m < LEAST_REACH_M {
        return Err(TerrainError::new(
            ground.display().to_string(),
            "extent",
            format!("ground that ends {reach_m:.1} m from its place"),
            format!("{LEAST_REACH_M} m or more to each side; a larger --around"),
        ));
    }
    let window = Window { centre: stump, half: DVec2::splat(around_m / unit_m) };
    let terrain = geotiff::read(ground, None, Some(window))?.into_terrain_at(stump)?;
    let gradient = terrain.mean_gradient(DVec2::ZERO, BASELINE_M.min(reach_m));
    let down_rad = gradient.map_or(0.0, |g| azimuth_rad(-g));
    Ok(starter_on(&OnGround {
        file: path_from(scene, ground),
        stump: stump.into(),
        around_m,
        reach_m,
        down_rad,
    }))
}

/// How a scene names a terrain file: by its name in the same folder, else from the root.
fn path_from(scene: &Path, ground: &Path) -> String {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (scene, ground) = (whole(scene), whole(ground));
    let named = scene.parent().and_then(|folder| ground.strip_prefix(folder).ok());
    named.unwrap_or(&ground).display().to_string()
}
