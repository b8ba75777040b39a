//! Rasters → the lattice: cropped as they are where they lie in true metres, else sampled.

use glam::DVec2;

use super::{
    About, CELL_RANGE_M, Lattice, Progress, Wanted, check_nodes,
    holes::Sheet,
    open::{Opened, What},
    stopped,
};
use crate::terrain::{
    TerrainError, Window, ascii,
    raster::{MOST_NODES, Patch},
    system::System,
};

/// Places along each side of the lattice whose coordinates in a file bound the window read of it.
const SIDE_PLACES: usize = 33;

/// Heights of the files on a lattice about the place.
pub(super) fn sheet(
    wanted: &Wanted,
    files: &[Opened],
    system: &System,
    at_m: DVec2,
    about: &mut About,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Sheet, TerrainError> {
    let lattice = lattice(wanted, files, system, at_m, about)?;
    check_nodes(&lattice, MOST_NODES as u64)?;
    let mut patches: Vec<(&Opened, Patch, Option<Patch>)> = Vec::new();
    for file in files {
        let Some(window) = window(file, system, &lattice) else { continue };
        let (patch, from_known) = match &file.what {
            What::GeoTiff(sheet) => {
                about.hand_held |= sheet.hand_held_words().is_some();
                let patch = sheet.patch(file.height_unit, Some(window))?;
                (patch, sheet.how_far_from_known_m(Some(window))?)
            }
            What::Ascii { .. } => (ascii::patch(&file.path, file.height_unit, window)?, None),
            _ => continue,
        };
        patches.push((file, patch, from_known));
    }
    let total = lattice.count() as u64;
    let mut heights_m = Vec::with_capacity(lattice.count());
    let mut known = Vec::with_capacity(lattice.count());
    for k in 0..lattice.count() {
        if k % 65_536 == 0 && !progress(Progress { done: k as u64, total }) {
            return Err(stopped());
        }
        let at = lattice.node_m(k);
        let found = patches.iter().find_map(|(file, patch, from_known)| {
            let at = in_file(file, system, at)?;
            Some((patch.height_m(at)?, surveyed(from_known.as_ref(), at)))
        });
        heights_m.push(found.map_or(f32::NAN, |(height, _)| height));
        known.push(found.is_some_and(|(_, surveyed)| surveyed));
    }
    let filled_before = known.iter().zip(&heights_m).any(|(known, h)| !known && h.is_finite());
    about.fill_method = if filled_before {
        "as its file has them, or with the mean of their neighbours, from the edge of the hole inwards"
    } else {
        "with the mean of their neighbours, from the edge of the hole inwards"
    };
    Ok(Sheet { lattice, heights_m, known })
}

/// Whether a height between a file's own was surveyed: where the program made the file, whether all
/// those about the place were.
pub(super) fn surveyed(from_known: Option<&Patch>, at: DVec2) -> bool {
    from_known.is_none_or(|distances| distances.height_m(at) == Some(0.0))
}

/// A place of the lattice in a file's own coordinates.
pub(super) fn in_file(file: &Opened, system: &System, at_m: DVec2) -> Option<DVec2> {
    if file.system.same(system) { Some(at_m) } else { system.to(at_m, &file.system) }
}

/// The nodes of the first file where they are in true metres and no cell is asked for, else nodes
/// about the place.
fn lattice(
    wanted: &Wanted,
    files: &[Opened],
    system: &System,
    at_m: DVec2,
    about: &mut About,
) -> Result<Lattice, TerrainError> {
    let Some(first) = files.first() else {
        return Err(TerrainError::new("terrain", "files", "none", "at least one file"));
    };
    let step = step(first);
    let square = (step.x - step.y).abs() <= 1e-6 * step.x;
    let own = first.system.same(system);
    if let (true, true, None) = (own, square, wanted.cell_m) {
        let cell = step.x;
        check_cell(first, cell)?;
        let low = ((at_m - wanted.around_m - first.low) / cell - 1e-6).ceil().max(DVec2::ZERO);
        let last = ((first.high - first.low) / cell).round();
        let end = ((at_m + wanted.around_m - first.low) / cell + 1e-6).floor();
        // With several files the lattice goes on beyond the first one.
        let end = if files.len() == 1 { end.min(last) } else { end };
        let low = if files.len() == 1 {
            low
        } else {
            ((at_m - wanted.around_m - first.low) / cell - 1e-6).ceil()
        };
        let count = end - low + 1.0;
        if count.min_element() >= 2.0 && count.max_element() < 1e6 {
            about.method = "the file's own heights, unchanged".to_owned();
            return Ok(Lattice {
                low_m: first.low + low * cell,
                cell_m: cell,
                nx: count.x as usize,
                ny: count.y as usize,
            });
        }
    }
    let ground = if own { step } else { step_on_ground(first, system, at_m).unwrap_or(step) };
    let cell_m = match wanted.cell_m {
        Some(cell_m) => cell_m,
        None => (ground.min_element() * 100.0).round() / 100.0,
    };
    check_cell(first, cell_m)?;
    about.method = format!(
        "sampled between the file's own heights, which are {:.2} m by {:.2} m apart",
        ground.x, ground.y
    );
    Ok(Lattice::about(at_m, wanted.around_m, cell_m))
}

fn check_cell(file: &Opened, cell_m: f64) -> Result<(), TerrainError> {
    let (low, high) = CELL_RANGE_M;
    if (low..=high).contains(&cell_m) {
        return Ok(());
    }
    Err(TerrainError::new(
        file.name.clone(),
        "cell size",
        format!("{cell_m} m"),
        format!("{low} m to {high} m; --cell says another"),
    ))
}

fn step(file: &Opened) -> DVec2 {
    match &file.what {
        What::GeoTiff(sheet) => sheet.step,
        What::Ascii { cell } => DVec2::splat(*cell),
        _ => DVec2::ONE,
    }
}

/// How far apart a file's heights are on the ground, m.
fn step_on_ground(file: &Opened, system: &System, at_m: DVec2) -> Option<DVec2> {
    let here = system.to(at_m, &file.system)?;
    let step = step(file);
    let east = file.system.to(here + DVec2::new(step.x, 0.0), system)?;
    let north = file.system.to(here + DVec2::new(0.0, step.y), system)?;
    Some(DVec2::new(at_m.distance(east), at_m.distance(north)))
}

/// The part of a file that the lattice covers, in its own coordinates and a little over; nothing
/// where it covers none.
pub(super) fn window(file: &Opened, system: &System, lattice: &Lattice) -> Option<Window> {
    let (low_m, high_m) = (lattice.low_m, lattice.high_m());
    let side = |k: usize| k as f64 / (SIDE_PLACES - 1) as f64;
    let border = (0..SIDE_PLACES).flat_map(|k| {
        [(side(k), 0.0), (side(k), 1.0), (0.0, side(k)), (1.0, side(k))]
            .map(|(u, v)| low_m + (high_m - low_m) * DVec2::new(u, v))
    });
    let mut found = border.filter_map(|p| in_file(file, system, p));
    let first = found.next()?;
    let (low, high) = found.fold((first, first), |(low, high), p| (low.min(p), high.max(p)));
    let margin = 2.0 * step(file);
    let (low, high) = ((low - margin).max(file.low), (high + margin).min(file.high));
    low.cmplt(high).all().then(|| Window { centre: 0.5 * (low + high), half: 0.5 * (high - low) })
}
