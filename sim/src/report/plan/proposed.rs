//! What is proposed, on the ground it lies on, to be looked at before anything is taken.

use glam::DVec2;

use super::{
    frame::Frame,
    ground::map,
    labels::{Box, Labels},
    names::Named,
};
use crate::{
    proposed::{Base, Item, Proposals, Sure},
    report::{
        marks,
        svg::{Svg, TextStyle, n},
    },
    site::BodyKind,
    terrain::Side,
};

/// Colour of breaklines, and of undergrowth.
const FACE: &str = "#7c1f5e";
const BRUSH: &str = "#4c6a2e";
/// Ticks on the low side of a breakline, px apart and long.
const TICKS: (f64, f64) = (14.0, 9.0);

/// A map of proposals, each by its id; what is a guess has a dashed rim.
#[must_use]
pub fn proposed(base: &Base, found: &Proposals, title: &str) -> String {
    let said = "Grid north is up; the cross is the place. Dashed: a guess by shape.";
    let draw = |svg: &mut Svg, frame: &Frame, labels: &mut Labels| {
        for one in &found.proposals {
            thing(svg, frame, &one.item, one.sure);
        }
        let mut named = Named { svg, labels };
        for one in &found.proposals {
            let points = match &one.item {
                Item::Roughness { .. } => continue,
                Item::KeepTree { at_m, .. } => vec![*at_m],
                Item::Brush { outline_m: points, .. }
                | Item::Face { line_m: points, .. }
                | Item::Structure { corners_m: points, .. } => points.clone(),
            };
            let middle = points.get(points.len() / 2).copied().unwrap_or(DVec2::ZERO);
            let at = match &one.item {
                Item::Structure { .. } | Item::Brush { .. } => {
                    points.iter().sum::<DVec2>() / points.len().max(1) as f64
                }
                _ => middle,
            };
            let (x, y) = frame.page(at);
            let solid = matches!(one.item, Item::Structure { .. });
            named.write(&[Box::around(x, y, 4.0, 4.0)], &one.id, solid);
        }
    };
    map(&base.terrain, title, said, draw, |svg, key, line| {
        let small = TextStyle { size: 14.0, fill: marks::SOFT_INK, ..TextStyle::default() };
        svg.text(
            key,
            line,
            "Not surveyed: look at each on site. Toothed lines are steps, teeth on the low side;",
            small,
        );
        svg.text(
            key,
            line + 20.0,
            "green areas undergrowth; circles trees with the reach of their limbs; grey buildings.",
            small,
        );
    })
}

fn thing(svg: &mut Svg, frame: &Frame, item: &Item, sure: Sure) {
    let dashes = if sure == Sure::Poor { "stroke-dasharray=\"7 4\"" } else { "" };
    match item {
        Item::Roughness { .. } => {}
        Item::Brush { outline_m, .. } => svg.polyline(
            &frame.path(outline_m),
            true,
            format_args!(
                "fill=\"#6f8f4e\" fill-opacity=\"0.3\" stroke=\"{BRUSH}\" stroke-width=\"1.4\" \
                 {dashes}"
            ),
        ),
        Item::Structure { corners_m, .. } => svg.polyline(
            &frame.path(corners_m),
            true,
            format_args!(
                "{} fill-opacity=\"0.8\" {dashes}",
                marks::body_paint(BodyKind::Structure)
            ),
        ),
        Item::KeepTree { at_m, limbs_m, .. } => {
            let (x, y) = frame.page(*at_m);
            let radius = limbs_m.map_or(1.0, |l| l[1]) * frame.px_m;
            svg.element(
                "circle",
                format_args!(
                    "cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"#3c7446\" fill-opacity=\"0.22\" \
                     stroke=\"#1d3f24\" stroke-width=\"1.4\" {dashes}",
                    n(x),
                    n(y),
                    n(radius)
                ),
            );
            svg.element(
                "circle",
                format_args!("cx=\"{}\" cy=\"{}\" r=\"3\" fill=\"#1d3f24\"", n(x), n(y)),
            );
        }
        Item::Face { line_m, low_side, .. } => {
            let path = frame.path(line_m);
            svg.polyline(
                &path,
                false,
                format_args!("fill=\"none\" stroke=\"{FACE}\" stroke-width=\"2.6\" {dashes}"),
            );
            for (a, b) in path.iter().zip(path.iter().skip(1)) {
                let (a, b) = (DVec2::from(*a), DVec2::from(*b));
                let along = (b - a).normalize_or_zero();
                // The page's y runs down, so its left is the map's right.
                let out = if *low_side == Side::Left { -along.perp() } else { along.perp() };
                let count = (a.distance(b) / TICKS.0).floor() as usize;
                for k in 0..=count {
                    let foot = a + along * (k as f64 * TICKS.0);
                    let tip = foot + out * TICKS.1;
                    svg.polyline(
                        &[foot.into(), tip.into()],
                        false,
                        format_args!("fill=\"none\" stroke=\"{FACE}\" stroke-width=\"1.6\""),
                    );
                }
            }
        }
    }
}
