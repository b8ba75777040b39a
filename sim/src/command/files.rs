//! Scenes written: a new one, a packed one.

use std::path::Path;

use tumblewood::{
    job::Job,
    scene::{self, InlineGrid, TerrainSpec},
    terrain::{Terrain, TerrainError, Window, ascii, geotiff, shape::azimuth_rad},
};

use super::{Failure, say::say};

/// Most that a new scene uses of a terrain file to each side, m (ours).
const AROUND_M: f64 = 250.0;
/// Least ground to each side that a new scene fits on, m.
const LEAST_REACH_M: f64 = 5.0;
/// Baseline of the way down, m.
const BASELINE_M: f64 = 20.0;

pub(super) fn new(file: &Path, force: bool) -> Result<(), Failure> {
    scene::write(file, scene::starter().as_bytes(), force)?;
    say(&format!(
        "Wrote {0}, an invented scene to change.\nNext: tumblewood check {0}\n      tumblewood \
         forecast {0}\n",
        file.display()
    ))
}

/// A new scene on the ground of a GeoTIFF, the stump at the place that it was made for, else in its
/// middle.
pub(super) fn new_on(file: &Path, ground: &Path, force: bool) -> Result<(), Failure> {
    let wrong = |e: TerrainError| Failure::input(e.to_string());
    let sheet = geotiff::Sheet::open(ground).map_err(wrong)?;
    let unit_m = geotiff::unit_m(ground).map_err(wrong)?;
    let (low, high) = (sheet.south_west, sheet.north_east());
    let stump = sheet.place().unwrap_or(0.5 * (low + high));
    let reach_m = ((stump - low).min(high - stump)).min_element() * unit_m;
    let widest_m = (stump - low).max(high - stump).max_element() * unit_m;
    let around_m = widest_m.min(AROUND_M);
    if reach_m < LEAST_REACH_M {
        return Err(Failure::input(format!(
            "{}: the ground ends {reach_m:.1} m from its place; allowed: {LEAST_REACH_M} m or more to \
             each side; a larger --around",
            ground.display()
        )));
    }
    let window = Window { centre: stump, half: glam::DVec2::splat(around_m / unit_m) };
    let terrain = geotiff::read(ground, None, Some(window))
        .and_then(|raster| raster.into_terrain_at(stump))
        .map_err(wrong)?;
    let gradient = terrain.mean_gradient(glam::DVec2::ZERO, BASELINE_M.min(reach_m));
    let down_rad = gradient.map_or(0.0, |g| azimuth_rad(-g));
    let text = scene::starter_on(&scene::OnGround {
        file: path_from(file, ground),
        stump: stump.into(),
        around_m,
        reach_m,
        down_rad,
    });
    scene::write(file, text.as_bytes(), force)?;
    say(&format!(
        "Wrote {0}: an invented tree, shed and cuts on {1}, to change.\nNext: tumblewood check \
         {0}\n      tumblewood forecast {0}\n",
        file.display(),
        ground.display()
    ))
}

/// How a scene names a terrain file: by its name in the same folder, else from the root.
fn path_from(scene: &Path, ground: &Path) -> String {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (scene, ground) = (whole(scene), whole(ground));
    let named = scene.parent().and_then(|folder| ground.strip_prefix(folder).ok());
    named.unwrap_or(&ground).display().to_string()
}

pub(super) fn new_notes(file: &Path, job: &Job, scene: &Path, force: bool) -> Result<(), Failure> {
    if job.scene.cuts.is_empty() {
        return Err(Failure::CantAnswer("the scene has no cuts to note anything of".into()));
    }
    scene::write(file, scene::happened::starter(&job.scene).as_bytes(), force)?;
    say(&format!(
        "Wrote {0}, to note in what happens with each cut.\nNext: tumblewood tune {1} --notes {0}\n",
        file.display(),
        scene.display()
    ))
}

pub(super) fn bundle(path: &Path, to: &Path, force: bool) -> Result<(), Failure> {
    let job = super::load(path)?;
    let scene = &job.scene;
    let grid = match &scene.site.terrain {
        TerrainSpec::AsciiGrid(spec) | TerrainSpec::GeoTiff(spec) => {
            let terrain = cropped(scene, spec).map_err(|e| Failure::input(e.to_string()))?;
            let said = terrain.warnings.iter().map(|w| format!("; {w}")).collect::<String>();
            let crs = terrain.crs.as_ref();
            let name = crs.and_then(|c| c.epsg).map(|code| format!("EPSG:{code}"));
            let source = format!("{}, cropped{said}", spec.file.display());
            InlineGrid::from_grid(&terrain.grid, name, spec.stump, source)
        }
        TerrainSpec::Inline(grid) => grid.clone(),
        TerrainSpec::Transects(_) => {
            // Nothing to pack in: the legs are in the file already.
            scene::write(to, scene.source.text.as_bytes(), force)?;
            return say(&format!(
                "Wrote {}; its terrain was in the scene already.\n",
                to.display()
            ));
        }
    };
    let text = scene::bundle(scene, &grid)?;
    scene::write(to, text.as_bytes(), force)?;
    say(&format!("Wrote {} with {} × {} heights in it.\n", to.display(), grid.columns, grid.rows))
}

fn cropped(scene: &scene::Scene, spec: &scene::RasterSpec) -> Result<Terrain, TerrainError> {
    let path = scene.file(&spec.file);
    let stump = glam::DVec2::new(spec.stump[0], spec.stump[1]);
    let around =
        |unit_m: f64| Window { centre: stump, half: glam::DVec2::splat(spec.around_m / unit_m) };
    let raster = if matches!(scene.site.terrain, TerrainSpec::AsciiGrid(_)) {
        ascii::read(&path, tumblewood::terrain::LengthUnit::Metre, Some(around(1.0)))?
    } else {
        let unit_m = geotiff::unit_m(&path)?;
        geotiff::read(&path, None, Some(around(unit_m)))?
    };
    raster.into_terrain_at(stump)
}
