//! North arrow and scale bar.

use super::{Plan, frame::Frame, labels::Box, labels::Labels};
use crate::report::{
    marks, outline,
    svg::{Anchor, Svg, TextStyle, n},
    units::Units,
};

/// North arrow and scale bar, on a paper of their own.
pub(crate) fn furniture(svg: &mut Svg, input: &Plan<'_>, frame: &Frame, map_labels: &mut Labels) {
    // On a small map a third of its width is enough.
    let bar_m = input.units.round_step_m(220.0_f64.min(frame.width_px() / 3.0) / frame.px_m);
    let bar_px = bar_m * frame.px_m;
    let (width, height) = (bar_px + 116.0, 52.0);
    let w = &frame.window;
    // The corner that hides least.
    let corner = |right: bool, low: bool| {
        let x = if right { w.right - width / 2.0 - 10.0 } else { w.left + width / 2.0 + 10.0 };
        let y = if low { w.bottom - height / 2.0 - 10.0 } else { w.top + height / 2.0 + 10.0 };
        Box::around(x, y, width / 2.0, height / 2.0)
    };
    let corners = [(false, true), (true, true), (false, false), (true, false)];
    let mut area = corner(false, true);
    let mut least = f64::INFINITY;
    for (right, low) in corners {
        let candidate = corner(right, low);
        let corners = input.site.bodies.iter().flat_map(outline::footprint).flatten();
        let hidden = corners.filter(|corner| {
            let (x, y) = frame.page(*corner);
            candidate.holds(x, y)
        });
        let cost = map_labels.cost(&candidate) + hidden.count() as f64;
        if cost < least {
            (area, least) = (candidate, cost);
        }
    }
    map_labels.take(area);
    svg.element(
        "rect",
        format_args!(
            "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"4\" fill=\"#ffffff\" \
             fill-opacity=\"0.88\" stroke=\"#8b8f8c\" stroke-width=\"0.8\"",
            n(area.left),
            n(area.top),
            n(width),
            n(height)
        ),
    );
    let (x, y) = (area.left + 24.0, area.top + 26.0);
    svg.polyline(
        &[(x, y - 19.0), (x + 7.0, y + 8.0), (x, y + 3.0)],
        true,
        format_args!("fill=\"{}\" stroke=\"{0}\"", marks::INK),
    );
    svg.polyline(
        &[(x, y - 19.0), (x - 7.0, y + 8.0), (x, y + 3.0)],
        true,
        format_args!("fill=\"#ffffff\" stroke=\"{}\"", marks::INK),
    );
    let middle = TextStyle { anchor: Anchor::Middle, bold: true, ..TextStyle::default() };
    svg.text(x, y + 21.0, "N", middle);
    let (left, base) = (area.left + 56.0, area.top + 32.0);
    for (i, share) in [0.0, 0.5].into_iter().enumerate() {
        svg.element(
            "rect",
            format_args!(
                "x=\"{}\" y=\"{}\" width=\"{}\" height=\"6\" fill=\"{}\" stroke=\"{}\"",
                n(left + share * bar_px),
                n(base),
                n(bar_px / 2.0),
                if i == 0 { marks::INK } else { "#ffffff" },
                marks::INK
            ),
        );
    }
    let small = TextStyle { size: 12.5, anchor: Anchor::Middle, ..TextStyle::default() };
    let end = format!("{} {}", tidy(input.units, bar_m), input.units.distance_name());
    svg.text(left, base - 7.0, "0", small);
    svg.text(left + bar_px / 2.0, base - 7.0, &tidy(input.units, bar_m / 2.0), small);
    svg.text(left + bar_px, base - 7.0, &end, small);
}

/// A round distance without needless decimals.
pub(crate) fn tidy(units: Units, distance_m: f64) -> String {
    n((distance_m / units.distance_unit_m() * 100.0).round() / 100.0)
}
