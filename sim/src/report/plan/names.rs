//! Names of things on the map.

use super::{
    frame::Frame,
    labels::{Box, Labels, Placed},
};
use crate::{
    report::{
        font, marks, outline,
        svg::{Anchor, Svg, TextStyle},
        words,
    },
    site::{Answer, Body, BodyKind},
};

/// Writes names on the map.
pub(crate) struct Named<'a> {
    pub(crate) svg: &'a mut Svg,
    pub(crate) labels: &'a mut Labels,
}

impl Named<'_> {
    /// Writes a name beside one of the places its thing is at.
    pub(crate) fn write(&mut self, things: &[Box], name: &str, bold: bool) {
        const SIZE: f64 = 15.0;
        let (width, height) = (font::text_width(name, SIZE, bold) + 4.0, SIZE);
        let Placed { area, thing, far } = self.labels.place(things, width, height);
        let (x, y) = area.middle();
        if far {
            let (ax, ay) = thing.middle();
            let near_x = ax.clamp(area.left, area.right);
            let near_y = ay.clamp(area.top, area.bottom);
            self.svg.polyline(
                &[(ax, ay), (near_x, near_y)],
                false,
                format_args!("fill=\"none\" stroke=\"{}\" stroke-width=\"0.9\"", marks::INK),
            );
        }
        self.svg.text(
            x,
            y + SIZE * font::CAP_HEIGHT / 2.0,
            name,
            TextStyle {
                size: SIZE,
                bold,
                anchor: Anchor::Middle,
                halo: Some("#ffffff"),
                ..TextStyle::default()
            },
        );
    }
}

pub(crate) fn name_body(named: &mut Named<'_>, frame: &Frame, body: &Body, stump: (f64, f64)) {
    let Some(area) = body_box(frame, body) else { return };
    let at_stump = body.kind.is_person() && near(area.middle(), stump);
    if at_stump || matches!(body.kind, BodyKind::Spar | BodyKind::ClimberLine) {
        return;
    }
    let (x, y) = area.middle();
    let (half_x, half_y) = ((area.right - area.left) / 2.0, (area.bottom - area.top) / 2.0);
    let loose = matches!(body.answer, Answer::Free { .. });
    let name =
        if loose { format!("{} (loose)", words::name(&body.id)) } else { words::name(&body.id) };
    let width = font::text_width(&name, 15.0, body.is_target) + 4.0;
    let long_and_thin = matches!(body.kind, BodyKind::Path | BodyKind::Wire | BodyKind::BarrierLog);
    if !long_and_thin && 2.0 * half_x > width + 12.0 && 2.0 * half_y > 24.0 {
        // It fits inside.
        let inside = Box::around(x, y, width / 2.0, 9.0);
        named.labels.take(inside);
        named.svg.text(
            x,
            y + 15.0 * font::CAP_HEIGHT / 2.0,
            &name,
            TextStyle {
                size: 15.0,
                bold: body.is_target,
                anchor: Anchor::Middle,
                halo: Some("#d9d2c6"),
                ..TextStyle::default()
            },
        );
        return;
    }
    let around = Box::around(x, y, half_x.max(9.0), half_y.max(9.0));
    if long_and_thin && half_x.max(half_y) > 40.0 {
        let along = along(frame, body);
        along.iter().for_each(|thing| named.labels.take(*thing));
        named.write(&along, &name, body.is_target);
    } else {
        named.labels.take(around);
        named.write(&[around], &name, body.is_target);
    }
}

/// Places along a long thing where its name may stand.
fn along(frame: &Frame, body: &Body) -> Vec<Box> {
    let mut places = Vec::new();
    for outline in outline::body_outlines(body, &|p| p.truncate()) {
        let page = frame.path(&outline);
        let Some(&first) = page.first() else { continue };
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        let farthest = |from: (f64, f64)| {
            page.iter()
                .copied()
                .fold(from, |best, p| if apart(p, from) > apart(best, from) { p } else { best })
        };
        let end = farthest(first);
        let other = farthest(end);
        for share in [0.06, 0.25, 0.5, 0.75, 0.94] {
            let x = end.0 + (other.0 - end.0) * share;
            let y = end.1 + (other.1 - end.1) * share;
            places.push(Box::around(x, y, 6.0, 8.0));
        }
    }
    places
}

pub(crate) fn near(a: (f64, f64), b: (f64, f64)) -> bool {
    (a.0 - b.0).hypot(a.1 - b.1) < 18.0
}

/// Where a body lies on the page.
pub(crate) fn body_box(frame: &Frame, body: &Body) -> Option<Box> {
    let mut area: Option<Box> = None;
    for outline in outline::body_outlines(body, &|p| p.truncate()) {
        for (x, y) in frame.path(&outline) {
            let a = area.get_or_insert(Box { left: x, top: y, right: x, bottom: y });
            a.left = a.left.min(x);
            a.right = a.right.max(x);
            a.top = a.top.min(y);
            a.bottom = a.bottom.max(y);
        }
    }
    area
}
