//! The ground alone, as it came out of terrain files: what is filled in is hatched.

use glam::DVec2;

use super::{
    frame::Frame,
    labels::{Box, Labels},
    relief,
};
use crate::{
    report::{
        marks,
        svg::{Anchor, Svg, TextStyle, n},
        units::Units,
    },
    terrain::{Terrain, intake::Intake},
};

/// Width of the picture, px.
const WIDTH: f64 = 1000.0;
/// Room above and below the map, px.
const HEAD: f64 = 64.0;
const FOOT: f64 = 76.0;
/// Room at the sides, px.
const SIDE: f64 = 20.0;

/// A map of the heights with contours, the place in the middle and what is filled in.
#[must_use]
pub fn ground(ground: &Intake, title: &str) -> String {
    let terrain = ground.terrain();
    let said = if ground.about.hand_held {
        "Heights by a hand-held receiver, some 5 to 10 m off. Grid north is up; the cross is the place."
    } else {
        "Grid north is up; the cross is the place."
    };
    let draw = |svg: &mut Svg, frame: &Frame, _: &mut Labels| filled(svg, frame, ground);
    map(&terrain, title, said, draw, |svg, key, base| {
        let small = TextStyle { size: 14.0, fill: marks::SOFT_INK, ..TextStyle::default() };
        match ground.about.filled.words() {
            Some(words) => {
                svg.element(
                    "rect",
                    format_args!(
                        "x=\"{}\" y=\"{}\" width=\"30\" height=\"16\" fill=\"url(#filled)\" \
                         stroke=\"#a8361f\"",
                        n(key),
                        n(base - 12.0)
                    ),
                );
                svg.text(key + 40.0, base, &words, small);
            }
            None => svg.text(key, base, "No height is filled in.", small),
        }
    })
}

/// A map of heights with contours, its place a cross; `draw` puts things on it, `key` says what they
/// are, from a place on the page on.
pub(super) fn map(
    terrain: &Terrain,
    title: &str,
    said: &str,
    draw: impl FnOnce(&mut Svg, &Frame, &mut Labels),
    key: impl FnOnce(&mut Svg, f64, f64),
) -> String {
    let (low, high) = terrain.bounds();
    let width = WIDTH - 2.0 * SIDE;
    let height = (width * (high - low).y / (high - low).x).clamp(200.0, 1400.0);
    let frame = Frame::filling(&[low, high], (SIDE, HEAD), (width, height));
    let area = format!(
        "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"",
        n(SIDE),
        n(HEAD),
        n(width),
        n(height)
    );
    let mut svg = Svg::new(WIDTH, HEAD + height + FOOT);
    svg.define(&format!("<clipPath id=\"map\"><rect {area}/></clipPath>"));
    svg.define(
        "<pattern id=\"filled\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"7\" height=\"7\" fill=\"#c8503c\" \
         fill-opacity=\"0.16\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"7\" stroke=\"#a8361f\" \
         stroke-width=\"2.4\"/></pattern>",
    );
    let heading = TextStyle { size: 22.0, bold: true, ..TextStyle::default() };
    svg.text(SIDE, 30.0, title, heading);
    let small = TextStyle { size: 14.0, fill: marks::SOFT_INK, ..TextStyle::default() };
    svg.open(format_args!("clip-path=\"url(#map)\""));
    relief::shade(&mut svg, &frame, terrain);
    let (bold, step_m) = relief::draw_contours(&mut svg, &frame, terrain, 0.0, Units::Metric);
    let mut labels =
        Labels::new(Box { left: SIDE, top: HEAD, right: SIDE + width, bottom: HEAD + height });
    draw(&mut svg, &frame, &mut labels);
    relief::label_contours(&mut svg, &bold, &mut labels);
    let (x, y) = frame.page(DVec2::ZERO);
    for (dx, dy) in [(14.0, 0.0), (0.0, 14.0)] {
        svg.polyline(
            &[(x - dx, y - dy), (x + dx, y + dy)],
            false,
            format_args!("stroke=\"{}\" stroke-width=\"2.4\"", marks::INK),
        );
    }
    svg.close();
    svg.element(
        "rect",
        format_args!("{area} fill=\"none\" stroke=\"{}\" stroke-width=\"1.4\"", marks::INK),
    );
    svg.text(
        SIDE,
        52.0,
        &format!("{said} Contours every {} m, heights against the place.", n(step_m)),
        small,
    );
    let base = HEAD + height + 26.0;
    let bar_m = Units::Metric.round_step_m(200.0 / frame.px_m);
    let bar_px = bar_m * frame.px_m;
    svg.polyline(
        &[(SIDE, base - 9.0), (SIDE, base), (SIDE + bar_px, base), (SIDE + bar_px, base - 9.0)],
        false,
        format_args!("fill=\"none\" stroke=\"{}\" stroke-width=\"2\"", marks::INK),
    );
    svg.text(
        SIDE + bar_px / 2.0,
        base + 18.0,
        &format!("{} m", n(bar_m)),
        TextStyle { anchor: Anchor::Middle, ..small },
    );
    key(&mut svg, SIDE + bar_px + 60.0, base);
    svg.finish(title)
}

/// Hatches the cells of nodes that are filled in, run by run.
fn filled(svg: &mut Svg, frame: &Frame, ground: &Intake) {
    let lattice = &ground.lattice;
    let half = DVec2::splat(0.5 * lattice.cell_m);
    for (j, row) in ground.from_known_m.chunks(lattice.nx.max(1)).enumerate() {
        let mut i = 0;
        while let Some(from) = row.iter().skip(i).position(|d| *d > 0.0).map(|k| k + i) {
            let length = row.iter().skip(from).take_while(|d| **d > 0.0).count();
            let corner = |i: usize| lattice.node_m(j * lattice.nx + i) - ground.at_m;
            let (left, bottom) = frame.page(corner(from) - half);
            let (right, top) = frame.page(corner(from + length - 1) + half);
            svg.element(
                "rect",
                format_args!(
                    "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"url(#filled)\"",
                    n(left),
                    n(top),
                    n(right - left),
                    n(bottom - top)
                ),
            );
            i = from + length;
        }
    }
}
