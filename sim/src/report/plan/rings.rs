//! Lines round the stump: how far something can reach, by azimuth.

use glam::DVec2;

use super::{Plan, frame::Frame, labels::Box, labels::Labels};
use crate::report::{
    font, marks,
    svg::{Anchor, Svg, TextStyle},
};

/// One line round the stump.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    /// A short name for the map.
    pub name: String,
    /// What it shows, for the legend.
    pub words: String,
    /// The line on the map in as many parts as it is known in, m; one that ends where it began is
    /// closed.
    pub parts_m: Vec<Vec<DVec2>>,
    /// Dashes, as SVG has them; no two rings of a plan share theirs.
    pub dashes: &'static str,
}

fn paint(ring: &Ring) -> String {
    format!(
        "fill=\"none\" stroke=\"{}\" stroke-width=\"2\" stroke-dasharray=\"{}\"",
        marks::PASS,
        ring.dashes
    )
}

pub(crate) fn draw(svg: &mut Svg, frame: &Frame, input: &Plan<'_>, map_labels: &mut Labels) {
    for ring in input.rings {
        for part in &ring.parts_m {
            let page = frame.path(part);
            let under =
                "fill=\"none\" stroke=\"#ffffff\" stroke-width=\"4\" stroke-opacity=\"0.7\"";
            svg.polyline(&page, false, format_args!("{under}"));
            svg.polyline(&page, false, format_args!("{}", paint(ring)));
            page.iter().step_by(6).for_each(|&(x, y)| map_labels.avoid(x, y));
        }
    }
}

/// Names on the map, each where its line leaves most room.
pub(crate) fn name(svg: &mut Svg, frame: &Frame, input: &Plan<'_>, map_labels: &mut Labels) {
    const SIZE: f64 = 14.0;
    for ring in input.rings {
        let half = font::text_width(&ring.name, SIZE, true) / 2.0 + 3.0;
        let mut best: Option<(f64, Box)> = None;
        for at in ring.parts_m.iter().flatten().step_by(5) {
            let (x, y) = frame.page(*at);
            let area = Box::around(x, y, half, 9.0);
            let cost = map_labels.cost(&area);
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, area));
            }
        }
        let Some((_, area)) = best else { continue };
        map_labels.take(area);
        let (x, y) = area.middle();
        svg.text(
            x,
            y + SIZE * font::CAP_HEIGHT / 2.0,
            &ring.name,
            TextStyle {
                size: SIZE,
                bold: true,
                fill: marks::PASS,
                anchor: Anchor::Middle,
                halo: Some("#ffffff"),
                ..TextStyle::default()
            },
        );
    }
}

/// Its sign in the legend.
pub(crate) fn sign(svg: &mut Svg, (x, y): (f64, f64), ring: &Ring) {
    svg.polyline(&[(x - 19.0, y), (x + 15.0, y)], false, format_args!("{}", paint(ring)));
}
