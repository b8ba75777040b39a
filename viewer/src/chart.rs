//! Small drawings to scale inside a page: the same length in both directions, axes with units, and
//! the signs of how a piece went.

use bevy_egui::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, TextStyle, Ui, Vec2,
    epaint::CircleShape, pos2, vec2,
};
use glam::DVec2;
use tumblewood::{outcome::Mode, quantity::Units, site::BodyKind};

/// Letters and frames.
pub(crate) const INK: Color32 = Color32::from_rgb(0x1c, 0x23, 0x21);
/// Axes and contours.
pub(crate) const SOFT: Color32 = Color32::from_rgb(0x6b, 0x73, 0x70);
/// Paper.
pub(crate) const PAPER: Color32 = Color32::from_rgb(0xfb, 0xf9, 0xf3);
/// What reaches a target, always with a ring beside the colour.
pub(crate) const ALARM: Color32 = Color32::from_rgb(0xb3, 0x26, 0x1e);
/// Letters of a drawing to those of the page.
const FINE: f32 = 0.85;
/// Room for the numbers of the axes, points.
const LEFT: f32 = 42.0;
const BELOW: f32 = 18.0;
/// Least distance between two marks of an axis, points.
const MARKS_APART: f32 = 56.0;

/// How metres lie on the page: the same scale both ways, the second axis up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scale {
    /// Where it is drawn.
    pub(crate) rect: Rect,
    /// What lies at the lower left corner, m.
    pub(crate) origin_m: DVec2,
    /// Points a metre.
    pub(crate) px_m: f64,
}

impl Scale {
    /// A scale on which all `points_m` lie inside `rect` with a tenth to spare, at least `least_m`
    /// wide.
    #[must_use]
    pub(crate) fn around(
        points_m: impl IntoIterator<Item = DVec2>,
        rect: Rect,
        least_m: f64,
    ) -> Self {
        let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
        for point in points_m.into_iter().filter(|point| point.is_finite()) {
            (low, high) = (low.min(point), high.max(point));
        }
        if !(low.is_finite() && high.is_finite()) {
            (low, high) = (DVec2::ZERO, DVec2::ZERO);
        }
        let size = ((high - low) * 1.2).max(DVec2::splat(least_m));
        let (width, height) = (f64::from(rect.width()), f64::from(rect.height()));
        let px_m = (width / size.x).min(height / size.y).max(1e-6);
        let origin_m = (low + high) / 2.0 - DVec2::new(width, height) / (2.0 * px_m);
        Self { rect, origin_m, px_m }
    }

    /// Where a point is on the page.
    #[must_use]
    pub(crate) fn at(&self, point_m: DVec2) -> Pos2 {
        let px = (point_m - self.origin_m) * self.px_m;
        pos2(self.rect.left() + px.x as f32, self.rect.bottom() - px.y as f32)
    }

    /// A line on the page.
    #[must_use]
    pub(crate) fn path(&self, points_m: &[DVec2]) -> Vec<Pos2> {
        points_m.iter().map(|point| self.at(*point)).collect()
    }
}

/// The part of a drawing inside its axes.
#[must_use]
pub(crate) fn inside_axes(rect: Rect) -> Rect {
    Rect::from_min_max(
        pos2(rect.left() + LEFT, rect.top() + 4.0),
        pos2(rect.right() - 6.0, rect.bottom() - BELOW),
    )
}

/// Letters of a drawing, a little smaller than the page's.
#[must_use]
pub(crate) fn small(ui: &Ui) -> FontId {
    FontId::proportional(FINE * TextStyle::Body.resolve(ui.style()).size)
}

/// Two axes with round numbers and their unit, around a scale's rectangle.
pub(crate) fn axes(painter: &Painter, scale: &Scale, units: Units, font: &FontId) {
    painter.rect(scale.rect, 0.0, PAPER, Stroke::new(1.0, SOFT), StrokeKind::Outside);
    let unit_m = units.distance_unit_m();
    // A round step at most twice too small is made twice as large, so that marks don't crowd.
    let mut step_m = units.round_step_m(f64::from(MARKS_APART) / scale.px_m);
    if step_m * scale.px_m < f64::from(MARKS_APART) / 1.5 {
        step_m *= 2.0;
    }
    let size_m = DVec2::new(scale.rect.width().into(), scale.rect.height().into()) / scale.px_m;
    let marks = |from: f64, size: f64| {
        let first = (from / step_m).ceil() as i64;
        let last = ((from + size) / step_m).floor() as i64;
        (first..=last.min(first + 100)).map(move |k| k as f64 * step_m)
    };
    let said = |m: f64, last: bool| {
        let number = m / unit_m;
        let digits = usize::from((step_m / unit_m).fract().abs() > 1e-6);
        let number = tumblewood::report::units::decimals(number, digits);
        if last { format!("{number} {}", units.distance_name()) } else { number }
    };
    let grid = Stroke::new(0.5, SOFT.gamma_multiply(0.4));
    let across: Vec<f64> = marks(scale.origin_m.x, size_m.x).collect();
    for (i, x_m) in across.iter().enumerate() {
        let x = scale.at(DVec2::new(*x_m, scale.origin_m.y)).x;
        painter.line_segment([pos2(x, scale.rect.top()), pos2(x, scale.rect.bottom())], grid);
        let (at, anchor) = (pos2(x, scale.rect.bottom() + 2.0), Align2::CENTER_TOP);
        let anchor = if i + 1 == across.len() && x + 24.0 > scale.rect.right() {
            Align2::RIGHT_TOP
        } else {
            anchor
        };
        painter.text(at, anchor, said(*x_m, i + 1 == across.len()), font.clone(), INK);
    }
    let up: Vec<f64> = marks(scale.origin_m.y, size_m.y).collect();
    for (i, y_m) in up.iter().enumerate() {
        let y = scale.at(DVec2::new(scale.origin_m.x, *y_m)).y;
        painter.line_segment([pos2(scale.rect.left(), y), pos2(scale.rect.right(), y)], grid);
        let at = pos2(scale.rect.left() - 3.0, y);
        painter.text(at, Align2::RIGHT_CENTER, said(*y_m, i + 1 == up.len()), font.clone(), INK);
    }
}

/// North is up: an arrow at the upper right corner.
pub(crate) fn north(painter: &Painter, rect: Rect, font: &FontId) {
    let tip = pos2(rect.right() - 12.0, rect.top() + 6.0);
    let point = |x: f32, y: f32| tip + vec2(x, y);
    let half = |side: f32, fill: Color32| {
        let corners = vec![tip, point(side * 6.0, 20.0), point(0.0, 15.0)];
        Shape::convex_polygon(corners, fill, Stroke::new(1.0, INK))
    };
    painter.extend([half(1.0, INK), half(-1.0, PAPER)]);
    painter.text(point(0.0, 21.0), Align2::CENTER_TOP, "N", font.clone(), INK);
}

/// The sign of how a piece went: a square stayed, a bar slid, a round rolled, a star tumbled;
/// hollow where it had not come to rest.
pub(crate) fn mode_mark(painter: &Painter, mode: Mode, at: Pos2, at_rest: bool, size: f32) {
    let colour = match mode {
        Mode::Stayed => Color32::from_rgb(0x20, 0x23, 0x3a),
        Mode::Slid => Color32::from_rgb(0xa8, 0x70, 0x00),
        Mode::Rolled => Color32::from_rgb(0x1c, 0x7f, 0x93),
        Mode::Tumbled => Color32::from_rgb(0x93, 0x3a, 0x77),
    };
    let fill = if at_rest { colour } else { PAPER };
    let stroke = Stroke::new(1.0, if at_rest { PAPER } else { colour });
    let rect = |half: Vec2| {
        let rect = Rect::from_center_size(at, half * 2.0 * size);
        painter.rect(rect, 0.0, fill, stroke, StrokeKind::Outside);
    };
    match mode {
        Mode::Stayed => rect(vec2(3.0, 3.0)),
        Mode::Slid => rect(vec2(5.0, 2.0)),
        Mode::Rolled => {
            painter.add(CircleShape { center: at, radius: 3.4 * size, fill, stroke });
        }
        Mode::Tumbled => {
            // Two crossed diamonds: a star is no convex outline.
            for long in [vec2(1.0, 0.0), vec2(0.0, 1.0)] {
                let (along, across) = (long * 6.5 * size, long.rot90() * 2.8 * size);
                let corners = vec![at + along, at + across, at - along, at - across];
                painter.add(Shape::convex_polygon(corners, fill, stroke));
            }
        }
    }
}

/// A ring round what reached a target.
pub(crate) fn reached_ring(painter: &Painter, at: Pos2, size: f32) {
    painter.circle_stroke(at, 7.5 * size, Stroke::new(1.6, ALARM));
}

/// A thing of the site by its outline: filled grey for what is built, crossed rounds for trees,
/// dashes for paths.
pub(crate) fn body(painter: &Painter, scale: &Scale, kind: BodyKind, outline_m: &[DVec2]) {
    let mut corners = scale.path(outline_m);
    let Some(&first) = corners.first() else { return };
    match kind {
        BodyKind::Path => {
            corners.push(first);
            let stroke = Stroke::new(1.0, SOFT);
            painter.extend(Shape::dashed_line(&corners, stroke, 5.0, 3.0));
        }
        BodyKind::KeepTree => tree(painter, Rect::from_points(&corners).center(), 4.0),
        BodyKind::Person | BodyKind::Climber | BodyKind::Feller => {
            person(painter, Rect::from_points(&corners).center());
        }
        BodyKind::BarrierLog | BodyKind::Stump => {
            let brown = Color32::from_rgb(0x8a, 0x5a, 0x2e);
            painter.add(Shape::convex_polygon(corners, brown, Stroke::new(1.0, INK)));
        }
        BodyKind::Wire => {
            painter.add(Shape::closed_line(corners, Stroke::new(1.0, INK)));
        }
        // From above there is nothing to see of them but the stump.
        BodyKind::Spar | BodyKind::ClimberLine => {}
        BodyKind::Structure | BodyKind::Vehicle => building(painter, corners),
    }
}

/// A building by its corners.
pub(crate) fn building(painter: &Painter, corners: Vec<Pos2>) {
    let grey = Color32::from_rgb(0xb5, 0xaa, 0x9a);
    painter.add(Shape::convex_polygon(corners, grey, Stroke::new(1.5, INK)));
}

/// A tree that stays: a round with a cross.
pub(crate) fn tree(painter: &Painter, at: Pos2, radius: f32) {
    let green = Color32::from_rgb(0x3c, 0x74, 0x46);
    painter.circle(at, radius, green, Stroke::new(1.0, INK));
    let arm = 0.7 * radius;
    for to in [vec2(arm, arm), vec2(arm, -arm)] {
        painter.line_segment([at - to, at + to], Stroke::new(1.0, PAPER));
    }
}

/// A person: head and shoulders.
pub(crate) fn person(painter: &Painter, at: Pos2) {
    let violet = Color32::from_rgb(0x5b, 0x2a, 0x86);
    painter.circle_filled(at - vec2(0.0, 3.0), 2.6, violet);
    let body =
        vec![at + vec2(-4.5, 5.5), at + vec2(-2.5, 0.0), at + vec2(2.5, 0.0), at + vec2(4.5, 5.5)];
    painter.add(Shape::convex_polygon(body, violet, Stroke::NONE));
}

/// The stump: a round with a ring.
pub(crate) fn stump(painter: &Painter, at: Pos2, radius: f32) {
    painter.circle(at, radius, Color32::from_rgb(0xd9, 0xb9, 0x8c), Stroke::new(1.5, INK));
    painter.circle_stroke(at, 0.45 * radius, Stroke::new(1.0, INK));
}

/// Lines of equal height.
pub(crate) fn contours(painter: &Painter, scale: &Scale, lines_m: &[Vec<DVec2>]) {
    let clipped = painter.with_clip_rect(scale.rect.intersect(painter.clip_rect()));
    let stroke = Stroke::new(0.8, Color32::from_rgb(0xb0, 0x9a, 0x7c));
    for line in lines_m {
        clipped.add(Shape::line(scale.path(line), stroke));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_scale_keeps_lengths_and_turns_the_page_up() {
        let rect = Rect::from_min_size(pos2(10.0, 20.0), vec2(240.0, 120.0));
        let scale = Scale::around([DVec2::new(-10.0, 0.0), DVec2::new(10.0, 5.0)], rect, 1.0);
        assert!((scale.px_m - 10.0).abs() < 1e-9, "{scale:?}");
        let (low, high) = (scale.at(DVec2::ZERO), scale.at(DVec2::new(3.0, 4.0)));
        assert!((high - low - vec2(30.0, -40.0)).length() < 1e-4);
        assert_eq!(scale.at(DVec2::new(0.0, 2.5)), rect.center());
        let none = Scale::around([], rect, 24.0);
        assert!((none.px_m - 5.0).abs() < 1e-9);
    }
}
