//! Whole files, coarse: what they are, how far they go and what their ground looks like, so that a
//! place on it can be chosen.
//!
//! The same readers and systems as of [`take`](super::take), on a lattice of some
//! [`NODES_A_SIDE`] nodes over everything. Holes stay holes. Memory goes with the lattice: a raster
//! is read in bands. Known answer: `prop_an_overview_is_the_ground_that_is_taken`.

use glam::DVec2;

use super::{
    About, CELL_RANGE_M, Lattice, Progress, Wanted, cloud,
    holes::Sheet,
    open::{self, Kind, Opened, What},
    place, rasters, stopped, survey,
};
use crate::terrain::{TerrainError, ascii, system::System};

/// Nodes along the longer side, about: as many as a small picture has room for.
pub const NODES_A_SIDE: usize = 200;
/// Heights of a raster that are held at once, about.
const BAND: f64 = 4e6;

/// Files, opened and looked over.
pub struct Overview {
    files: Vec<Opened>,
    /// The system of the lattice: metres on the ground.
    pub system: System,
    /// South-west and north-east corner of everything, m in that system.
    pub corners_m: [DVec2; 2],
    /// The lattice.
    pub lattice: Lattice,
    /// Heights, row by row from the south, x fastest, m; NaN where nothing says one.
    pub heights_m: Vec<f32>,
    /// One line a file: kind, size, system, units.
    pub words: Vec<String>,
    /// What a user should know.
    pub warnings: Vec<String>,
}

impl std::fmt::Debug for Overview {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Overview").field("words", &self.words).finish_non_exhaustive()
    }
}

/// Opens files and looks them over. What `wanted` says of place, distance and cell isn't heeded.
///
/// # Errors
/// What can't be read or told, with the file and what is allowed; `stopped` where `progress` said
/// no.
pub fn overview(
    wanted: &Wanted,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Overview, TerrainError> {
    let files = open::open(wanted)?;
    let first = files
        .first()
        .ok_or_else(|| TerrainError::new("terrain", "files", "none", "at least one file"))?;
    let (low, high) = files.iter().fold((first.low, first.high), |(low, high), file| {
        place::file_box(file, &first.system).map_or((low, high), |(a, b)| (low.min(a), high.max(b)))
    });
    let middle = as_typed(&first.system, 0.5 * (low + high));
    let place = place::place(Some(&middle), &files)?;
    let system = place.system;
    let corners = [low, high, DVec2::new(low.x, high.y), DVec2::new(high.x, low.y)];
    let corners = corners.iter().filter_map(|corner| carried(&first.system, *corner, &system));
    let (low_m, high_m) = corners
        .fold((place.at_m, place.at_m), |(low, high), corner| (low.min(corner), high.max(corner)));
    let at_m = 0.5 * (low_m + high_m);
    let around_m = (0.5 * (high_m - low_m).max_element()).max(CELL_RANGE_M.0);
    let cell_m = 2.0 * around_m / NODES_A_SIDE as f64;
    let coarse = Wanted { around_m, cell_m: Some(cell_m), at: None, ..wanted.clone() };
    let mut about = About::default();
    let mut sheet = match open::kind(&files) {
        Kind::Raster => {
            raster(&files, &system, Lattice::about(at_m, around_m, cell_m), BAND, progress)?
        }
        Kind::Cloud => cloud::sheet(&coarse, &files, &system, at_m, &mut about, progress)?,
        Kind::Survey => survey::sheet(&coarse, &files, &system, at_m, &mut about)?,
    };
    for (height, known) in sheet.heights_m.iter_mut().zip(&sheet.known) {
        if !known {
            *height = f32::NAN;
        }
    }
    sheet.trim(&first.name)?;
    let mut warnings: Vec<String> = Vec::new();
    for warning in files.iter().flat_map(|file| &file.warnings) {
        if !warnings.contains(warning) {
            warnings.push(warning.clone());
        }
    }
    Ok(Overview {
        words: files.iter().map(|file| file.words.clone()).collect(),
        warnings,
        system,
        corners_m: [low_m, high_m],
        lattice: sheet.lattice,
        heights_m: sheet.heights_m,
        files,
    })
}

impl Overview {
    /// The place that was typed, as [`Wanted::at`] is, m in the lattice's system.
    ///
    /// # Errors
    /// No place of the files, and what is allowed.
    pub fn place_m(&self, typed: &str) -> Result<DVec2, TerrainError> {
        Ok(place::place(Some(typed), &self.files)?.at_m)
    }

    /// A place of the lattice's system as it is typed for [`Wanted::at`]; nothing where the files'
    /// coordinates don't reach.
    #[must_use]
    pub fn typed(&self, at_m: DVec2) -> Option<String> {
        let own = &self.files.first()?.system;
        carried(&self.system, at_m, own).map(|at| as_typed(own, at))
    }

    /// Latitude and longitude of a place of the lattice's system, degrees on WGS 84, if known.
    #[must_use]
    pub fn latitude_longitude(&self, at_m: DVec2) -> Option<(f64, f64)> {
        let lonlat = self.system.on_earth.then(|| self.system.lonlat(at_m)).flatten()?;
        Some((lonlat.y, lonlat.x))
    }

    /// Least and greatest height, m.
    #[must_use]
    pub fn height_range_m(&self) -> Option<(f64, f64)> {
        let known = self.heights_m.iter().copied().filter(|height| height.is_finite());
        let range = known.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), height| {
            (low.min(height), high.max(height))
        });
        (range.0 <= range.1).then(|| (f64::from(range.0), f64::from(range.1)))
    }
}

/// Coordinates of a file as a place is typed: a centimetre, or its like in degrees.
fn as_typed(system: &System, at: DVec2) -> String {
    match system.unit_m {
        Some(_) => format!("{:.2},{:.2}", at.x, at.y),
        None => format!("{:.7},{:.7}", at.y, at.x),
    }
}

/// A place of one system in another.
fn carried(from: &System, at: DVec2, to: &System) -> Option<DVec2> {
    if from.same(to) { Some(at) } else { from.to(at, to) }
}

/// Heights of rasters, a band of rows after the other, about so many of a file's at once.
fn raster(
    files: &[Opened],
    system: &System,
    lattice: Lattice,
    at_once: f64,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Sheet, TerrainError> {
    let mut heights_m = vec![f32::NAN; lattice.count()];
    let rows_at_once = |file: &Opened| match &file.what {
        What::GeoTiff(sheet) => {
            let [columns, rows] = sheet.size.map(|n| n as f64);
            let a_row = columns * (rows / lattice.ny as f64).max(1.0);
            ((at_once / a_row) as usize).clamp(1, lattice.ny)
        }
        // A text is read from its beginning for every band.
        _ => lattice.ny,
    };
    let total = (files.len() * lattice.ny) as u64;
    let mut done = 0;
    for file in files {
        let band_rows = rows_at_once(file);
        for from in (0..lattice.ny).step_by(band_rows) {
            if !progress(Progress { done, total }) {
                return Err(stopped());
            }
            let ny = band_rows.min(lattice.ny - from);
            done += ny as u64;
            let low_m = lattice.low_m + DVec2::new(0.0, from as f64 * lattice.cell_m);
            let band = Lattice { low_m, ny, ..lattice };
            let Some(window) = rasters::window(file, system, &band) else { continue };
            let (patch, from_known) = match &file.what {
                What::GeoTiff(sheet) => {
                    let patch = sheet.patch(file.height_unit, Some(window))?;
                    (patch, sheet.how_far_from_known_m(Some(window))?)
                }
                What::Ascii { .. } => (ascii::patch(&file.path, file.height_unit, window)?, None),
                What::Cloud { .. } | What::Survey(_) => continue,
            };
            let nodes = heights_m.iter_mut().skip(from * lattice.nx).take(band.count());
            for (k, height) in nodes.enumerate().filter(|(_, height)| !height.is_finite()) {
                let at = rasters::in_file(file, system, band.node_m(k));
                let known = at.filter(|at| rasters::surveyed(from_known.as_ref(), *at));
                *height = known.and_then(|at| patch.height_m(at)).unwrap_or(f32::NAN);
            }
        }
    }
    let known = heights_m.iter().map(|height| height.is_finite()).collect();
    Ok(Sheet { lattice, heights_m, known })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn verif_bands_of_a_raster_are_the_raster_and_a_stop_is_heeded() {
        let file =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/terrain/lidar-hillside.tif");
        let wanted = Wanted {
            files: vec![file],
            at: None,
            around_m: 0.0,
            cell_m: None,
            crs: None,
            heights_in: None,
            find_ground: false,
        };
        let files = open::open(&wanted).unwrap();
        let (low, high) = (files[0].low, files[0].high);
        let lattice = Lattice::about(0.5 * (low + high), 100.0, 2.7);
        let system = files[0].system.clone();
        let whole = raster(&files, &system, lattice, f64::INFINITY, &mut |_| true).unwrap();
        let mut steps = 0;
        let banded = raster(&files, &system, lattice, 1.0, &mut |_| {
            steps += 1;
            true
        });
        assert!(steps > 20, "{steps}");
        let bits = |sheet: &Sheet| sheet.heights_m.iter().map(|h| h.to_bits()).collect::<Vec<_>>();
        assert_eq!(bits(&banded.unwrap()), bits(&whole));
        assert!(whole.known.iter().filter(|known| **known).count() > 1000);
        assert!(raster(&files, &system, lattice, 1.0, &mut |_| false).is_err());
    }
}
