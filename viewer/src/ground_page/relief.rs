//! Coarse heights as a picture: shaded as by a low sun in the north-west, where nothing says a
//! height hatched, with lines of equal height.

use bevy_egui::egui::{Color32, ColorImage};
use glam::DVec2;
use tumblewood::{
    quantity::Units,
    report::contours::{Field, contours},
    terrain::intake::Overview,
};

/// Contours on the picture, about.
const LINES: f64 = 14.0;
/// Most contours: a hole in a mountain has no end of them.
const MOST_LINES: i64 = 200;
/// Nodes from one line of the hatching to the next.
const HATCH: usize = 5;
/// The lowest and the highest ground, in even light.
const LOW: [f64; 3] = [201.0, 214.0, 190.0];
const HIGH: [f64; 3] = [236.0, 224.0, 196.0];
/// What nothing is known of: its lines, and between them.
const HATCHED: [Color32; 2] =
    [Color32::from_rgb(0xa8, 0x36, 0x1f), Color32::from_rgb(0xf4, 0xdd, 0xd6)];

/// The picture, its first row the northernmost.
#[must_use]
pub(super) fn relief(seen: &Overview) -> ColorImage {
    let lattice = &seen.lattice;
    let (nx, ny) = (lattice.nx, lattice.ny);
    let at = |i: usize, j: usize| {
        seen.heights_m.get(j * nx + i).copied().filter(|h| h.is_finite()).map(f64::from)
    };
    let (low, high) = seen.height_range_m().unwrap_or((0.0, 1.0));
    // Between known neighbours, one of which may be the node itself.
    let slope = |here: f64, before: Option<f64>, after: Option<f64>| match (before, after) {
        (Some(before), Some(after)) => (after - before) / (2.0 * lattice.cell_m),
        (Some(before), None) => (here - before) / lattice.cell_m,
        (None, Some(after)) => (after - here) / lattice.cell_m,
        (None, None) => 0.0,
    };
    let mut pixels = Vec::with_capacity(nx * ny);
    for j in (0..ny).rev() {
        for i in 0..nx {
            let Some(here) = at(i, j) else {
                pixels.push(HATCHED[usize::from(!(i + j).is_multiple_of(HATCH))]);
                continue;
            };
            let west = i.checked_sub(1).and_then(|i| at(i, j));
            let east = (i + 1 < nx).then(|| at(i + 1, j)).flatten();
            let south = j.checked_sub(1).and_then(|j| at(i, j));
            let north = (j + 1 < ny).then(|| at(i, j + 1)).flatten();
            let gradient = DVec2::new(slope(here, west, east), slope(here, south, north));
            // Sun 45° high in the north-west: direction (−½, ½, 1/√2).
            let toward_sun = (gradient.x - gradient.y) / 2.0 + std::f64::consts::FRAC_1_SQRT_2;
            let light = toward_sun / (1.0 + gradient.length_squared()).sqrt();
            let bright = (1.0 + 0.45 * (light - std::f64::consts::FRAC_1_SQRT_2)).clamp(0.5, 1.15);
            let share = ((here - low) / (high - low).max(1e-6)).clamp(0.0, 1.0);
            let [r, g, b] = [0, 1, 2].map(|part: usize| {
                let part = LOW[part] + share * (HIGH[part] - LOW[part]);
                (bright * part).clamp(0.0, 255.0) as u8
            });
            pixels.push(Color32::from_rgb(r, g, b));
        }
    }
    ColorImage::new([nx, ny], pixels)
}

/// Lines of equal height, m in the overview's system, and the height between them, m.
#[must_use]
pub(super) fn lines(seen: &Overview) -> (Vec<Vec<DVec2>>, f64) {
    let Some((low, high)) = seen.height_range_m() else { return (Vec::new(), 0.0) };
    let step_m = Units::Metric.round_step_m((high - low).max(0.1) / LINES);
    let lattice = &seen.lattice;
    let field = Field {
        origin_m: lattice.low_m,
        step_m: lattice.cell_m,
        nx: lattice.nx,
        ny: lattice.ny,
        values: seen.heights_m.iter().map(|h| f64::from(*h)).collect(),
    };
    let (first, last) = ((low / step_m).ceil() as i64, (high / step_m).floor() as i64);
    let levels = first..=last.min(first.saturating_add(MOST_LINES));
    (levels.flat_map(|level| contours(&field, level as f64 * step_m)).collect(), step_m)
}
