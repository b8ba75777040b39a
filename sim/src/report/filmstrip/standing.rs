//! What stands beside the path, seen from the side.

use glam::{DVec2, DVec3};

use super::{Filmstrip, LEFT, PAGE_WIDTH, RIGHT, Scale, TOP, unrolled::Unrolled};
use crate::{
    drop::Against,
    report::{
        font, marks, outline,
        svg::{Anchor, Svg, TextStyle, n},
        words,
    },
    site::{Body, BodyKind, Shape},
};

/// Something that stands beside the path.
pub(crate) struct Standing<'a> {
    pub(crate) body: &'a Body,
    /// Its outlines from the side, m.
    pub(crate) outlines: Vec<Vec<DVec2>>,
    /// The piece touched it.
    pub(crate) touched: bool,
}

/// Bodies the path comes by, seen from the side at the path's nearest sample.
pub(crate) fn beside<'a>(
    input: &Filmstrip<'a>,
    path: &Unrolled<'_>,
    radius_m: f64,
) -> Vec<Standing<'a>> {
    let touched =
        |index: usize| input.track.touches.iter().any(|t| t.against == Against::Body(index));
    input
        .site
        .bodies
        .iter()
        .enumerate()
        .filter(|(_, body)| body.kind != BodyKind::ClimberLine)
        .filter_map(|(index, body)| {
            let plan = outline::body_outlines(body, &|p| p.truncate());
            let off = |i: usize| {
                let p = path.samples[i].motion.centre_m.truncate();
                plan.iter().map(|o| outline::distance(p, o)).fold(f64::INFINITY, f64::min)
            };
            let nearest = (0..path.samples.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
            let comes_by = off(nearest) <= radius_m + 0.5;
            if !comes_by && !touched(index) {
                return None;
            }
            let at_m = path.samples[nearest].motion.centre_m.truncate();
            let project = |p: DVec3| path.side(nearest, p);
            let outlines = if body.kind == BodyKind::Wire {
                wire_over(body, at_m).map(|p| vec![vec![project(p)]])?
            } else {
                // Of a long thing only the parts the path comes by.
                outline::body_outlines(body, &project)
                    .into_iter()
                    .zip(&plan)
                    .filter(|(_, flat)| outline::distance(at_m, flat) <= off(nearest) + radius_m)
                    .map(|(side, _)| side)
                    .collect()
            };
            Some(Standing { body, outlines, touched: touched(index) })
        })
        .collect()
}

/// The point of a wire nearest to a place, in the plan.
fn wire_over(body: &Body, at_m: DVec2) -> Option<DVec3> {
    body.shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Capsule { from_m, to_m, .. } => {
                let (from, along) = (from_m.truncate(), (*to_m - *from_m).truncate());
                let share = (at_m - from).dot(along) / along.length_squared().max(1e-12);
                Some(from_m.lerp(*to_m, share.clamp(0.0, 1.0)))
            }
            _ => None,
        })
        .min_by(|a, b| {
            let off = |p: &DVec3| p.truncate().distance(at_m);
            off(a).total_cmp(&off(b))
        })
}

/// A thing that stands there, from the side; a wire is a dot where the path crosses under it.
pub(crate) fn draw_body(svg: &mut Svg, scale: &Scale, standing: &Standing<'_>) {
    let Standing { body, outlines, .. } = standing;
    let paint = marks::body_paint(body.kind);
    // What was passed by and not touched is pale.
    let solid = standing.touched || body.kind == BodyKind::Spar;
    svg.open(format_args!("opacity=\"{}\"", if solid { "1" } else { "0.42" }));
    match body.kind {
        BodyKind::Path => {}
        BodyKind::Wire => {
            let points: Vec<DVec2> = outlines.iter().flatten().copied().collect();
            let (x, y) = scale.page(points.iter().sum::<DVec2>() / points.len().max(1) as f64);
            svg.element(
                "circle",
                format_args!(
                    "cx=\"{}\" cy=\"{}\" r=\"5\" fill=\"#ffffff\" stroke=\"#1f2a44\" \
                     stroke-width=\"2.4\"",
                    n(x),
                    n(y)
                ),
            );
        }
        _ => {
            for outline in outlines {
                svg.polyline(&scale.path(outline), true, format_args!("{paint}"));
            }
        }
    }
    svg.close();
}

/// A road or path: a stretch of the ground itself.
pub(crate) fn draw_way(svg: &mut Svg, scale: &Scale, ground: &[DVec2], outlines: &[Vec<DVec2>]) {
    for outline in outlines {
        let from = outline.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        let to = outline.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        let on: Vec<DVec2> = ground.iter().copied().filter(|p| p.x >= from && p.x <= to).collect();
        svg.polyline(
            &scale.path(&on),
            false,
            format_args!("fill=\"none\" stroke=\"#7d6a3f\" stroke-width=\"7\""),
        );
        svg.polyline(
            &scale.path(&on),
            false,
            format_args!(
                "fill=\"none\" stroke=\"#efe6d0\" stroke-width=\"4\" stroke-dasharray=\"7 4\""
            ),
        );
    }
}

/// Names of what stands there, one above the other where they would run together.
pub(crate) fn name_bodies(svg: &mut Svg, bodies: &[Standing<'_>], scale: &Scale) {
    let mut written: Vec<(f64, f64, f64)> = Vec::new();
    for Standing { body, outlines, .. } in bodies {
        if body.kind == BodyKind::Spar {
            continue;
        }
        let page: Vec<(f64, f64)> = outlines.iter().flat_map(|o| scale.path(o)).collect();
        let top = page.iter().map(|p| p.1).fold(f64::INFINITY, f64::min).max(TOP + 14.0);
        let bottom = page.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        let left = page.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let right = page.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        let person = matches!(body.kind, BodyKind::Climber | BodyKind::Feller);
        let name = words::name(&body.id);
        let style = TextStyle {
            size: 15.0,
            bold: body.is_target,
            halo: Some("#ffffff"),
            ..TextStyle::default()
        };
        if person {
            // Beside the spar, on the side where nothing falls.
            let style = TextStyle { anchor: Anchor::End, ..style };
            svg.text(left - 6.0, (top + bottom) / 2.0 + 5.0, &name, style);
        } else {
            let half = font::text_width(&name, 15.0, body.is_target) / 2.0;
            let x = ((left + right) / 2.0).clamp(LEFT + half, PAGE_WIDTH - RIGHT - half);
            let mut y = top - 9.0;
            while y > TOP + 20.0
                && written.iter().any(|&(from, to, at)| {
                    x + half + 6.0 > from && x - half - 6.0 < to && (y - at).abs() < 16.0
                })
            {
                y -= 8.0;
            }
            written.push((x - half, x + half, y));
            svg.text(x, y, &name, TextStyle { anchor: Anchor::Middle, ..style });
        }
    }
}
