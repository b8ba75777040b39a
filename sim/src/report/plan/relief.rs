//! The ground under the map: shading and contours.

use glam::DVec2;

use super::{frame::Frame, labels::Box, labels::Labels};
use crate::{
    report::{
        contours::{Field, contours},
        png::grey_png,
        svg::{Anchor, Svg, TextStyle, base64, n},
        units::{Units, decimals},
    },
    terrain::Terrain,
};

/// Page pixels a shaded cell covers.
const SHADE_PX: f64 = 4.0;
/// Page pixels between the nodes of the contours' lattice.
const LATTICE_PX: f64 = 5.0;
/// Contours on the map at most, more or less.
const MOST_CONTOURS: f64 = 26.0;
/// Every which contour is bold and labelled.
const BOLD_EVERY: i64 = 5;

/// Shades the slopes as a low sun in the north-west would (Lambert's cosine law), as one small
/// grey picture inside the picture; off the terrain the page stays white.
pub(crate) fn shade(svg: &mut Svg, frame: &Frame, terrain: &Terrain) {
    let columns = (frame.width_px() / SHADE_PX).ceil() as usize;
    let rows = (frame.height_px() / SHADE_PX).ceil() as usize;
    let step_m = SHADE_PX / frame.px_m;
    // Slopes over less than a cell would show the grid's facets.
    let reach_m = step_m.max(terrain.grid.cell_m) / 2.0;
    let height = |p: DVec2| terrain.surface(p.x, p.y).map(|s| s.height_m);
    let slope =
        |p: DVec2, arm: DVec2| Some((height(p + arm)? - height(p - arm)?) / (2.0 * reach_m));
    let top_left = frame.origin_m + DVec2::new(0.0, frame.size_m().y);
    let light: Vec<Option<f64>> = (0..rows * columns)
        .map(|k| {
            let cell = DVec2::new((k % columns) as f64 + 0.5, -((k / columns) as f64 + 0.5));
            let p = top_left + cell * step_m;
            let gradient = DVec2::new(slope(p, DVec2::X * reach_m)?, slope(p, DVec2::Y * reach_m)?);
            // Sun 45° high in the north-west: direction (−½, ½, 1/√2).
            let toward_sun = (gradient.x - gradient.y) / 2.0 + std::f64::consts::FRAC_1_SQRT_2;
            Some(toward_sun / (1.0 + gradient.length_squared()).sqrt())
        })
        .collect();
    let known: Vec<f64> = light.iter().flatten().copied().collect();
    if known.is_empty() {
        return;
    }
    // A bank that faces one way keeps one pale tone; only differences are shaded.
    let mean = known.iter().sum::<f64>() / known.len() as f64;
    let grey: Vec<u8> = light
        .iter()
        .map(|l| l.map_or(255, |l| (238.0 + 75.0 * (l - mean)).clamp(165.0, 252.0) as u8))
        .collect();
    if let Ok(png) = grey_png(columns as u32, &grey) {
        svg.element(
            "image",
            format_args!(
                "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" \
                 href=\"data:image/png;base64,{}\"",
                n(frame.window.left),
                n(frame.window.top),
                n(columns as f64 * SHADE_PX),
                n(rows as f64 * SHADE_PX),
                base64(&png)
            ),
        );
    }
}

/// A bold contour with its number, to be labelled once the map is full.
pub(crate) struct BoldLine {
    number: String,
    page: Vec<(f64, f64)>,
}

/// Draws the contours, heights against the stump; returns the bold ones and the step, m.
pub(crate) fn draw_contours(
    svg: &mut Svg,
    frame: &Frame,
    terrain: &Terrain,
    stump_height_m: f64,
    units: Units,
) -> (Vec<BoldLine>, f64) {
    let step = LATTICE_PX / frame.px_m;
    let (nx, ny) = (
        (frame.width_px() / LATTICE_PX).ceil() as usize + 1,
        (frame.height_px() / LATTICE_PX).ceil() as usize + 1,
    );
    let values: Vec<f64> = (0..nx * ny)
        .map(|k| {
            let p = frame.origin_m + DVec2::new((k % nx) as f64, (k / nx) as f64) * step;
            terrain.surface(p.x, p.y).map_or(f64::NAN, |s| s.height_m - stump_height_m)
        })
        .collect();
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let has_relief = high > low;
    if !has_relief {
        return (Vec::new(), 0.0);
    }
    let field = Field { origin_m: frame.origin_m, step_m: step, nx, ny, values };
    let mut interval_m = units.round_step_m((high - low) / MOST_CONTOURS);
    while (high - low) / interval_m > MOST_CONTOURS {
        interval_m = units.round_step_m(interval_m * 2.6);
    }
    let mut bold = Vec::new();
    for k in (low / interval_m).ceil() as i64..=(high / interval_m).floor() as i64 {
        let is_bold = k % BOLD_EVERY == 0;
        let (width, colour) = if is_bold { ("1.4", "#77634a") } else { ("0.7", "#9a8970") };
        for line in contours(&field, k as f64 * interval_m) {
            let page = frame.path(&line);
            svg.polyline(
                &page,
                false,
                format_args!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\""),
            );
            if is_bold {
                let value = k as f64 * interval_m / units.distance_unit_m();
                let places = if interval_m / units.distance_unit_m() < 0.19 { 1 } else { 0 };
                let sign = if k > 0 { "+" } else { "" };
                bold.push(BoldLine { number: format!("{sign}{}", decimals(value, places)), page });
            }
        }
    }
    (bold, interval_m)
}

/// Writes each bold contour's number on it, once or twice, where the map is free and the line
/// straight.
pub(crate) fn label_contours(svg: &mut Svg, lines: &[BoldLine], labels: &mut Labels) {
    const SIZE: f64 = 12.0;
    for line in lines {
        let width = crate::report::font::text_width(&line.number, SIZE, false) + 8.0;
        let count = line.page.len();
        if length(&line.page) < 4.0 * width {
            continue;
        }
        // Half the label's width in points of the line, at its mean spacing.
        let spacing = length(&line.page) / count as f64;
        let half = ((width / 2.0 / spacing).ceil() as usize).max(1);
        let mut best: Option<(f64, Box, f64)> = None;
        for middle in (half..count.saturating_sub(half)).step_by(half) {
            let (from, to) = (line.page[middle - half], line.page[middle + half]);
            let (x, y) = line.page[middle];
            let chord = (to.0 - from.0).hypot(to.1 - from.1);
            if chord < 1e-9 {
                continue;
            }
            let bend = length(&line.page[middle - half..=middle + half]) / chord - 1.0;
            let mut turn = libm::atan2(to.1 - from.1, to.0 - from.0).to_degrees();
            if turn > 90.0 {
                turn -= 180.0;
            } else if turn < -90.0 {
                turn += 180.0;
            }
            let (c, s) = (libm::cos(turn.to_radians()).abs(), libm::sin(turn.to_radians()).abs());
            let area = Box::around(
                x,
                y,
                (width * c + SIZE * s) / 2.0 + 2.0,
                (width * s + SIZE * c) / 2.0 + 2.0,
            );
            // Straight, level with the eye, and nothing under it.
            let cost = labels.cost(&area) + 400.0 * bend + turn.abs() / 30.0;
            if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                best = Some((cost, area, turn));
            }
        }
        if let Some((cost, area, turn_deg)) = best
            && cost < 60.0
        {
            labels.take(area);
            let (x, y) = area.middle();
            let down = SIZE * crate::report::font::CAP_HEIGHT / 2.0;
            let turn = turn_deg.to_radians();
            svg.text(
                x - down * libm::sin(turn),
                y + down * libm::cos(turn),
                &line.number,
                TextStyle {
                    size: SIZE,
                    fill: "#5c4a33",
                    anchor: Anchor::Middle,
                    halo: Some("#f4f2ee"),
                    turn_deg,
                    ..TextStyle::default()
                },
            );
        }
    }
}

fn length(page: &[(f64, f64)]) -> f64 {
    page.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum()
}
