//! Scenes written: a new one, a packed one.

use std::path::Path;

use tumblewood::{
    job::{Job, scene_on},
    scene::{self, InlineGrid, TerrainSpec},
    terrain::{Terrain, TerrainError, Window, ascii, geotiff},
};

use super::{Failure, say::say};

pub(super) fn new(file: &Path, force: bool) -> Result<(), Failure> {
    scene::write(file, scene::starter().as_bytes(), force)?;
    say(&format!(
        "Wrote {0}, an invented scene to change.\nNext: tumblewood check {0}\n      tumblewood \
         forecast {0}\n",
        file.display()
    ))
}

/// A new scene on the ground of a GeoTIFF.
pub(super) fn new_on(file: &Path, ground: &Path, force: bool) -> Result<(), Failure> {
    let text = scene_on(ground, file).map_err(|e| Failure::input(e.to_string()))?;
    scene::write(file, text.as_bytes(), force)?;
    say(&format!(
        "Wrote {0}: an invented tree, shed and cuts on {1}, to change.\nNext: tumblewood check \
         {0}\n      tumblewood forecast {0}\n",
        file.display(),
        ground.display()
    ))
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
