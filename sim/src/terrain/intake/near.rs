//! The points of clouds about a place themselves, for what is to be found among them.
//!
//! Streamed as [`super::take`] does; where there are more than [`MOST_POINTS`] only every second,
//! fourth, ... is kept, in the files' order, so that memory is bounded and the answer is the same
//! each time.

use glam::DVec2;

use super::{
    Lattice, Progress, Wanted,
    cloud::{self, NOISE},
    open::{self, Kind, Opened, What},
    place,
};
use crate::terrain::{TerrainError, raster::HEIGHT_RANGE_M, system::System};

/// Most points that are kept: 16 bytes each, twice that while they are thinned.
pub const MOST_POINTS: usize = 8_000_000;

/// A point of a cloud, from the place: east, north and up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearPoint {
    /// East, north, up, m; within a kilometre f32 holds a tenth of a millimetre.
    pub at_m: [f32; 3],
    /// ASPRS class (LAS 1.4 R15, table 17).
    pub class: u8,
}

/// Points about a place.
#[derive(Clone, Debug, Default)]
pub struct Near {
    /// The points, noise left out.
    pub points: Vec<NearPoint>,
    /// Of so many points in a row one was kept.
    pub one_in: usize,
    /// Points of each class within reach, kept or not.
    pub classes: Vec<u64>,
    /// What was understood of each file.
    pub files: Vec<String>,
    /// What a user should know.
    pub warnings: Vec<String>,
}

/// The points of clouds within `around_m` of a place, whose heights count from `height_m`.
///
/// # Errors
/// Files that aren't clouds, can't be read, or lie in a system that can't be carried to the
/// ground's.
pub fn near(
    wanted: &Wanted,
    system: &System,
    at_m: DVec2,
    height_m: f64,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Near, TerrainError> {
    let files = open::open(wanted)?;
    let mut found = Near { one_in: 1, classes: vec![0; 256], ..Near::default() };
    for file in &files {
        if open::kind(std::slice::from_ref(file)) != Kind::Cloud {
            return Err(TerrainError::new(
                file.name.clone(),
                "kind of file",
                "heights, not points",
                "a point cloud (.las, .laz, .copc.laz)",
            ));
        }
        open::laid_on(file, system, "the ground's coordinates")?;
        found.files.push(file.words.clone());
        found.warnings.extend(file.warnings.iter().cloned());
    }
    let lattice = Lattice::about(at_m, wanted.around_m, 1.0);
    let mut seen = 0_usize;
    cloud::stream(&files, system, &lattice, progress, |_, point| {
        let off = point.at - at_m;
        let fits = (HEIGHT_RANGE_M.0..=HEIGHT_RANGE_M.1).contains(&point.height_m)
            && off.abs().max_element() <= wanted.around_m;
        if NOISE.contains(&point.class) || !fits {
            return Ok(());
        }
        if let Some(count) = found.classes.get_mut(usize::from(point.class)) {
            *count += 1;
        }
        if seen.is_multiple_of(found.one_in) {
            let up = point.height_m - height_m;
            let at_m = [off.x as f32, off.y as f32, up as f32];
            found.points.push(NearPoint { at_m, class: point.class });
        }
        seen += 1;
        if found.points.len() > MOST_POINTS {
            let mut k = 0_usize;
            found.points.retain(|_| {
                k += 1;
                k % 2 == 1
            });
            found.one_in *= 2;
        }
        Ok(())
    })?;
    if found.points.is_empty() {
        return Err(TerrainError::new(
            files.first().map_or("", |f| f.name.as_str()),
            "points",
            "none near the place",
            "a cloud that covers the ground",
        ));
    }
    Ok(found)
}

/// A place as typed, on ground in metres that reaches from `low` to `high`.
///
/// # Errors
/// What is no place on that ground, and what is.
pub fn place_on(
    text: &str,
    name: &str,
    system: &System,
    [low, high]: [DVec2; 2],
) -> Result<DVec2, TerrainError> {
    let ground = Opened {
        path: name.into(),
        name: name.to_owned(),
        system: system.clone(),
        height_unit: crate::terrain::LengthUnit::Metre,
        low,
        high,
        what: What::Ascii { cell: 1.0 },
        words: String::new(),
        warnings: Vec::new(),
    };
    let place = place::place(Some(text), &[ground])?;
    if place.system.same(system) {
        return Ok(place.at_m);
    }
    place.system.to(place.at_m, system).ok_or_else(|| {
        TerrainError::new("--at", "place", format!("{text:?}"), "a place on the ground")
    })
}
