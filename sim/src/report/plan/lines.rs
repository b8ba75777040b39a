//! The lines that pieces pass, drawn.

use super::{PassLine, Plan, frame::Frame, labels::Box, labels::Labels, polar};
use crate::report::{
    font, marks,
    svg::{Anchor, Svg, TextStyle},
    units::Units,
};

pub(crate) fn draw_pass_lines(
    svg: &mut Svg,
    frame: &Frame,
    input: &Plan<'_>,
    lines: &[PassLine],
    spread: Option<(f64, f64)>,
    map_labels: &mut Labels,
) {
    let Some((from, to)) = spread else { return };
    let stump = input.site.stump_m.truncate();
    for line in lines {
        // A little beyond the spread on either side, by the same length on the ground.
        let pad = (36.0 / frame.px_m / line.distance_m.max(1.0)).min(0.6);
        let (from, to) = (from - pad, to + pad);
        let steps = 48;
        let arc: Vec<(f64, f64)> = (0..=steps)
            .map(|i| from + (to - from) * f64::from(i) / f64::from(steps))
            .map(|a| frame.page(stump + polar(line.distance_m, a)))
            .collect();
        for (colour, width, dashes) in
            [("#ffffff", 5.0, "none"), (marks::PASS, 2.4, pass_dashes(line.one_in))]
        {
            svg.polyline(
                &arc,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" \
                     stroke-dasharray=\"{dashes}\" stroke-opacity=\"0.95\""
                ),
            );
        }
        let name = pass_words(line, input.units);
        let width = font::text_width(&name, 14.0, true) + 6.0;
        // At whichever end of the line is freer.
        let mut best: Option<(f64, Box)> = None;
        for end in [arc.first(), arc.last()].into_iter().flatten() {
            for (dx, dy) in [
                (1.0, 0.0),
                (-1.0, 0.0),
                (0.0, 1.0),
                (0.0, -1.0),
                (1.0, 1.0),
                (-1.0, 1.0),
                (1.0, -1.0),
                (-1.0, -1.0),
            ] {
                let area = Box::around(
                    end.0 + dx * (width / 2.0 + 6.0),
                    end.1 + dy * 14.0,
                    width / 2.0,
                    9.0,
                );
                let on_line = arc.iter().filter(|p| area.holds(p.0, p.1)).count() as f64;
                let cost = map_labels.cost(&area) + 8.0 * on_line;
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, area));
                }
            }
        }
        let Some((_, area)) = best else { continue };
        map_labels.take(area);
        for p in arc.iter().step_by(2) {
            map_labels.take(Box::around(p.0, p.1, 3.0, 3.0));
        }
        let (x, y) = area.middle();
        svg.text(
            x,
            y + 14.0 * font::CAP_HEIGHT / 2.0,
            &name,
            TextStyle {
                size: 14.0,
                bold: true,
                fill: marks::PASS,
                anchor: Anchor::Middle,
                halo: Some("#ffffff"),
                ..TextStyle::default()
            },
        );
    }
}

pub(crate) fn pass_dashes(one_in: u32) -> &'static str {
    match one_in {
        2 => "2 4",
        10 => "11 5",
        _ => "none",
    }
}

/// How far one piece in so many passes.
#[must_use]
pub fn pass_words(line: &PassLine, units: Units) -> String {
    let at_least = if line.at_least { "at least " } else { "" };
    format!("1 in {} pass {at_least}{}", line.one_in, units.distance(line.distance_m))
}
