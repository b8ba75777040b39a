//! Scenes written: a new one, a packed one.

use std::path::Path;

use tumblewood::{
    job::{Job, scene_on},
    proposed::accept::{Proposed, Take},
    scene::{self, InlineGrid, TerrainSpec, edit::splice},
    terrain::{Terrain, TerrainError, Window, ascii, geotiff},
};

use super::{
    Failure,
    output::{apart, new_file},
    propose,
    say::say,
};

pub(super) fn new(file: &Path, force: bool) -> Result<(), Failure> {
    new_file("FILE", file, &["ron"], force, &[])?;
    scene::write(file, scene::starter().as_bytes(), force)?;
    say(&format!(
        "Wrote {0}, an invented scene to change.\nNext: tumblewood check {0}\n      tumblewood \
         forecast {0}\n",
        file.display()
    ))
}

/// A new scene on the ground of a GeoTIFF.
///
/// `with` are proposals that it takes; with any target among them the invented ones are left out.
pub(super) fn new_on(
    file: &Path,
    ground: &Path,
    with: Option<(&Path, Take)>,
    force: bool,
) -> Result<(), Failure> {
    let inputs: Vec<&Path> =
        std::iter::once(ground).chain(with.as_ref().map(|(from, _)| *from)).collect();
    new_file("FILE", file, &["ron"], force, &inputs)?;
    let text = scene_on(ground, file).map_err(|e| Failure::input(e.to_string()))?;
    let (text, invented, taken) = match with {
        Some((from, take)) => with_proposals(file, &text, from, &take)?,
        None => (text, "tree, shed and cuts", String::new()),
    };
    scene::write(file, text.as_bytes(), force)?;
    say(&format!(
        "Wrote {0}: an invented {invented} on {1}, to change.\n{taken}Next: tumblewood check \
         {0}\n      tumblewood forecast {0}\n",
        file.display(),
        ground.display()
    ))
}

/// A new scene's text with proposals in it, what of it is invented, and what it took.
fn with_proposals(
    file: &Path,
    text: &str,
    from: &Path,
    take: &Take,
) -> Result<(String, &'static str, String), Failure> {
    let name = file.display().to_string();
    let folder = file.parent().unwrap_or(Path::new(""));
    let proposed = Proposed::load(from)?;
    let accept = |text: &str| proposed.accept(text, &name, folder, take).map_err(propose::failure);
    let mut invented = "tree, shed and cuts";
    let mut done = None;
    if proposed.has_target(take) {
        // What is invented would stand among what is there.
        let mut text = text.to_owned();
        let said = "what stands around is proposed from files, not surveyed; tree and cuts are \
                    invented.";
        let note = splice::value(&text, "note").and_then(splice::unquoted).unwrap_or_default();
        let start = note.split(';').next().unwrap_or_default();
        let apply =
            |text: &str, s| splice::apply(text, &[s]).map_err(|e| propose::failure(e.into()));
        let words = splice::quoted(&format!("{start}; {said}"));
        text = apply(
            &text,
            splice::set(&text, "note", &words).map_err(|e| propose::failure(e.into()))?,
        )?;
        let targets =
            splice::set(&text, "targets", "[]").map_err(|e| propose::failure(e.into()))?;
        text = apply(&text, targets)?;
        // It stays where nothing takes its place.
        done =
            Some(accept(&text)?).filter(|done| proposed.has_target(&Take::Ids(done.taken.clone())));
        if done.is_some() {
            invented = "tree and cuts";
        }
    }
    let done = done.map_or_else(|| accept(text), Ok)?;
    propose::check_taken(&done, &name, from)?;
    let words = propose::words(&done, &name);
    Ok((done.text, invented, words))
}

pub(super) fn new_notes(file: &Path, job: &Job, scene: &Path, force: bool) -> Result<(), Failure> {
    if job.scene.cuts.is_empty() {
        return Err(Failure::CantAnswer("the scene has no cuts to note anything of".into()));
    }
    new_file("--notes", file, &["ron"], force, &[scene])?;
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
    let terrain = match &scene.site.terrain {
        TerrainSpec::AsciiGrid(spec) | TerrainSpec::GeoTiff(spec) => Some(scene.file(&spec.file)),
        TerrainSpec::Inline(_) | TerrainSpec::Transects(_) => None,
    };
    let inputs: Vec<&Path> = std::iter::once(path).chain(terrain.as_deref()).collect();
    apart("--to", to, &inputs)?;
    let grid = match &scene.site.terrain {
        TerrainSpec::AsciiGrid(spec) | TerrainSpec::GeoTiff(spec) => {
            let terrain = cropped(scene, spec).map_err(|e| Failure::input(e.to_string()))?;
            let said = terrain.warnings.iter().map(|w| format!("; {w}")).collect::<String>();
            let crs = terrain.crs.as_ref();
            let name = crs.and_then(|c| c.epsg).map(|code| format!("EPSG:{code}"));
            let source = format!("{}, cropped{said}", spec.file.display());
            let unit_m = crs.map_or(1.0, |crs| crs.unit_m);
            InlineGrid::from_grid(&terrain.grid, name, (spec.stump, unit_m), source)
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
