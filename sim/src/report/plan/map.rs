//! What lies in the map's window, from the ground up.

use glam::{DVec2, DVec3};

use super::{
    DropView, PassLine, Plan,
    frame::Frame,
    furniture::furniture,
    labels::{Box, Labels},
    lines::draw_pass_lines,
    names::{Named, body_box, name_body, near},
    relief, rings,
};
use crate::{
    drop::{Against, Ending},
    report::{
        marks, outline,
        svg::{Svg, n},
    },
    site::{Body, BodyKind, Shape, Site},
};

/// Draws everything inside the window; returns the step between contours, m.
pub(crate) fn draw_map(
    svg: &mut Svg,
    input: &Plan<'_>,
    frame: &Frame,
    lines: &[PassLine],
    spread: Option<(f64, f64)>,
    reaching: &[DropView<'_>],
    quiet: &[DropView<'_>],
) -> f64 {
    let site = input.site;
    relief::shade(svg, frame, &site.terrain);
    for (i, patch) in site.patches.iter().enumerate().filter(|(_, p)| p.within_m.is_none()) {
        svg.polyline(
            &frame.path(&patch.outline_m),
            true,
            format_args!(
                "fill=\"url(#hatch{})\" stroke=\"#6d6455\" stroke-width=\"0.9\" \
                 stroke-dasharray=\"1.5 2.5\"",
                i % marks::HATCHES
            ),
        );
    }
    let (bold, interval_m) =
        relief::draw_contours(svg, frame, &site.terrain, site.stump_m.z, input.units);
    let mut map_labels = Labels::new(Box {
        left: frame.window.left + 4.0,
        top: frame.window.top + 4.0,
        right: frame.window.right - 4.0,
        bottom: frame.window.bottom - 4.0,
    });

    for body in site.bodies.iter().filter(|b| b.kind == BodyKind::Path) {
        draw_body(svg, frame, body);
    }
    rings::draw(svg, frame, input, &mut map_labels);
    draw_tracks(svg, frame, quiet, false, &mut map_labels);
    for body in site.bodies.iter().filter(|b| b.kind != BodyKind::Path) {
        draw_body(svg, frame, body);
    }
    draw_limbs(svg, frame, input);
    draw_tracks(svg, frame, reaching, true, &mut map_labels);
    let stump = frame.page(site.stump_m.truncate());
    draw_ends(svg, frame, input.drops, site.stump_m, &mut map_labels);
    draw_strikes(svg, frame, site, reaching);
    for face in input.faces {
        face_arrow(svg, stump, face.azimuth_rad, &mut map_labels);
    }
    marks::stump(svg, stump, 6.0);
    map_labels.take(Box::around(stump.0, stump.1, 10.0, 10.0));

    furniture(svg, input, frame, &mut map_labels);
    let mut named = Named { svg: &mut *svg, labels: &mut map_labels };
    for body in &site.bodies {
        name_body(&mut named, frame, body, stump);
    }
    let together: Vec<&str> = site
        .bodies
        .iter()
        .filter(|b| {
            b.kind.is_person() && body_box(frame, b).is_some_and(|a| near(a.middle(), stump))
        })
        .map(|b| marks::body_word(b.kind))
        .collect();
    let stump_name = [&["stump"], &together[..]].concat().join(", ");
    named.write(&[Box::around(stump.0, stump.1, 10.0, 10.0)], &stump_name, true);
    for face in input.faces.iter().filter(|f| !f.name.is_empty()) {
        let (x, y) = on_arrow(stump, face.azimuth_rad, ARROW_TIP_PX);
        named.write(&[Box::around(x, y, 4.0, 4.0)], face.name, true);
    }
    draw_pass_lines(svg, frame, input, lines, spread, &mut map_labels);
    rings::name(svg, frame, input, &mut map_labels);
    relief::label_contours(svg, &bold, &mut map_labels);
    interval_m
}

fn draw_body(svg: &mut Svg, frame: &Frame, body: &Body) {
    let Some(area) = body_box(frame, body) else { return };
    let (x, y) = area.middle();
    match body.kind {
        // Drawn as the stump: from above there is nothing else to see.
        BodyKind::Spar | BodyKind::ClimberLine => {}
        BodyKind::Person | BodyKind::Climber | BodyKind::Feller => {
            marks::person(svg, (x, y));
        }
        BodyKind::KeepTree => {
            marks::keep_tree(svg, (x, y), ((area.right - area.left) / 2.0).clamp(4.5, 40.0));
        }
        BodyKind::Wire => {
            for (from_m, to_m) in axes(body) {
                marks::wire(svg, frame.page(from_m.truncate()), frame.page(to_m.truncate()));
            }
        }
        _ => {
            let paint = marks::body_paint(body.kind);
            for outline in outline::body_outlines(body, &|p| p.truncate()) {
                svg.polyline(&frame.path(&outline), true, format_args!("{paint}"));
            }
        }
    }
}

/// Limbs that stay on the spar, and limbs and brush of the piece as it stands.
fn draw_limbs(svg: &mut Svg, frame: &Frame, input: &Plan<'_>) {
    for body in input.site.bodies.iter().filter(|b| b.kind == BodyKind::Spar) {
        for (from_m, to_m) in axes(body) {
            let ends = [from_m, to_m].map(|p| frame.page(p.truncate()));
            svg.polyline(&ends, false, format_args!("{}", marks::LIMB));
        }
    }
    let Some((piece, motion)) = input.standing.filter(|(p, _)| !p.brush.is_empty()) else { return };
    let flat = |p: DVec3| p.truncate();
    let (rods, sprays) = outline::brush_outlines(piece, &motion, &flat);
    for spray in sprays {
        svg.polyline(&frame.path(&spray), true, format_args!("{}", marks::BRUSH));
    }
    for wood in rods.into_iter().chain(outline::piece_outlines(piece, &motion, &flat)) {
        let paint = "fill=\"#a86a32\" stroke=\"#3f2710\" stroke-width=\"0.8\"";
        svg.polyline(&frame.path(&wood), true, format_args!("{paint}"));
    }
}

fn axes(body: &Body) -> impl Iterator<Item = (DVec3, DVec3)> {
    body.shapes.iter().filter_map(|shape| match shape {
        Shape::Capsule { from_m, to_m, .. } => Some((*from_m, *to_m)),
        _ => None,
    })
}

fn draw_tracks(
    svg: &mut Svg,
    frame: &Frame,
    drops: &[DropView<'_>],
    reaching: bool,
    map_labels: &mut Labels,
) {
    for drop in drops {
        let Some(track) = drop.track else { continue };
        let mut page: Vec<(f64, f64)> = Vec::new();
        for sample in &track.samples {
            let p = frame.page(sample.motion.centre_m.truncate());
            // Steps under 2 px can't be seen and make the file heavy.
            if page.last().is_none_or(|q| (p.0 - q.0).hypot(p.1 - q.1) >= 2.0) {
                page.push(p);
            }
        }
        page.push(frame.page(drop.outcome.end_m.truncate()));
        page.iter().step_by(4).for_each(|&(x, y)| map_labels.avoid(x, y));
        if reaching {
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"#ffffff\" stroke-width=\"4.6\" stroke-opacity=\"0.8\""
                ),
            );
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{}\" stroke-width=\"2.4\" stroke-dasharray=\"{}\"",
                    marks::ALARM,
                    marks::ALARM_DASHES
                ),
            );
        } else {
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{}\" stroke-width=\"1\" stroke-opacity=\"0.55\"",
                    marks::QUIET
                ),
            );
        }
    }
}

/// Where the drops ended; those not at rest are hollow and point on.
fn draw_ends(
    svg: &mut Svg,
    frame: &Frame,
    drops: &[DropView<'_>],
    stump_m: DVec3,
    map_labels: &mut Labels,
) {
    for drop in drops {
        let end = drop.outcome.end_m.truncate();
        let p = frame.page(end);
        let at_rest = drop.outcome.ending == Ending::Rest;
        if !at_rest {
            let on = (end - stump_m.truncate()).normalize_or(DVec2::X);
            let tip = (p.0 + 17.0 * on.x, p.1 - 17.0 * on.y);
            arrow(svg, p, tip, marks::INK, 1.4);
        }
        // Many marks are drawn smaller.
        let size = if drops.len() > 150 { 0.8 } else { 1.0 };
        marks::mode_mark(svg, drop.outcome.mode, p, at_rest, size);
        map_labels.avoid(p.0, p.1);
    }
}

/// Where drawn drops first touch a target.
fn draw_strikes(svg: &mut Svg, frame: &Frame, site: &Site, reaching: &[DropView<'_>]) {
    for track in reaching.iter().filter_map(|d| d.track) {
        let strike = track.touches.iter().find(|t| match t.against {
            Against::Ground => false,
            Against::Body(index) => site.bodies.get(index).is_some_and(|b| b.is_target),
        });
        if let Some(touch) = strike {
            marks::strike(svg, frame.page(touch.point_m.truncate()));
        }
    }
}

pub(crate) fn arrow(svg: &mut Svg, from: (f64, f64), to: (f64, f64), colour: &str, width: f64) {
    let along = DVec2::new(to.0 - from.0, to.1 - from.1).normalize_or(DVec2::X);
    let across = along.perp();
    let back = DVec2::new(to.0, to.1) - along * (3.0 + 3.0 * width);
    let wing = across * (1.5 + 1.4 * width);
    svg.polyline(
        &[from, (back.x, back.y)],
        false,
        format_args!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"", n(width)),
    );
    let (a, b) = (back + wing, back - wing);
    svg.polyline(&[(a.x, a.y), to, (b.x, b.y)], true, format_args!("fill=\"{colour}\""));
}

/// How far from the stump a face's arrow ends, px.
const ARROW_TIP_PX: f64 = 56.0;

/// A point of a face's arrow, so many px from the stump.
fn on_arrow(stump: (f64, f64), azimuth: f64, px: f64) -> (f64, f64) {
    (stump.0 + px * libm::sin(azimuth), stump.1 - px * libm::cos(azimuth))
}

fn face_arrow(svg: &mut Svg, stump: (f64, f64), azimuth: f64, map_labels: &mut Labels) {
    let at = |d: f64| on_arrow(stump, azimuth, d);
    arrow(svg, at(11.0), at(ARROW_TIP_PX + 2.0), "#ffffff", 6.0);
    arrow(svg, at(11.0), at(ARROW_TIP_PX), marks::FACE, 3.0);
    for d in [20.0, 35.0, 50.0] {
        let (x, y) = at(d);
        map_labels.take(Box::around(x, y, 8.0, 8.0));
    }
}
