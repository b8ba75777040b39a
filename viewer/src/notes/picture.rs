//! The notes as drawings to scale: a line from the side, and the bank from above.

use bevy_egui::egui::{Align2, Pos2, Rect, Sense, Shape, Stroke, Ui, accesskit::Role, vec2};
use glam::DVec2;
use tumblewood::quantity::Units;

use super::sketch::{LineSketch, Sketch, What};
use crate::{
    chart::{self, INK, SOFT, Scale},
    page::described,
};

/// Narrowest part of the world that is drawn, m.
const LEAST_M: f64 = 8.0;

/// One line of legs from the side: distance on the level to the right, height up.
pub(super) fn profile(ui: &mut Ui, line: &LineSketch, units: Units, height: f32) {
    let (response, painter) =
        ui.allocate_painter(vec2(ui.available_width(), height), Sense::hover());
    described(ui, &response, Role::Image, &format!("{} from the side, to scale", line.id));
    let font = chart::small(ui);
    let start = line.stations_m.first().map_or(DVec2::ZERO, |p| p.truncate());
    let points: Vec<DVec2> =
        line.stations_m.iter().map(|p| DVec2::new(p.truncate().distance(start), p.z)).collect();
    let scale = Scale::around(points.iter().copied(), chart::inside_axes(response.rect), LEAST_M);
    chart::axes(&painter, &scale, units, &font);
    painter.add(Shape::line(scale.path(&points), Stroke::new(2.0, INK)));
    for (k, point) in points.iter().enumerate() {
        let at = scale.at(*point);
        painter.circle_filled(at, 3.0, INK);
        if k > 0 {
            painter.text(at + vec2(0.0, -5.0), Align2::CENTER_BOTTOM, k, font.clone(), INK);
        }
    }
    if let Some(first) = points.first()
        && start == DVec2::ZERO
    {
        let foot = scale.at(*first);
        painter.line_segment([foot, foot - vec2(0.0, 26.0)], Stroke::new(4.0, INK));
        painter.text(foot + vec2(5.0, -20.0), Align2::LEFT_CENTER, "tree", font.clone(), INK);
    }
}

/// The bank from above: contours, lines of legs with their stations, tree and targets.
pub(super) fn plan(ui: &mut Ui, sketch: &Sketch, units: Units, height: f32) {
    let (response, painter) =
        ui.allocate_painter(vec2(ui.available_width(), height), Sense::hover());
    described(ui, &response, Role::Image, "The bank from above, to scale");
    let font = chart::small(ui);
    let points = sketch
        .lines
        .iter()
        .flat_map(|line| line.stations_m.iter().map(|p| p.truncate()))
        .chain(sketch.targets.iter().flat_map(|target| target.points_m.iter().copied()))
        .chain([DVec2::ZERO]);
    let scale = Scale::around(points, chart::inside_axes(response.rect), LEAST_M);
    chart::axes(&painter, &scale, units, &font);
    chart::contours(&painter, &scale, &sketch.contours.0);
    for line in &sketch.lines {
        let path: Vec<DVec2> = line.stations_m.iter().map(|p| p.truncate()).collect();
        let path = scale.path(&path);
        painter.add(Shape::line(path.clone(), Stroke::new(1.2, SOFT)));
        for at in path.iter().skip(1) {
            painter.circle_filled(*at, 2.2, INK);
        }
        if let Some(end) = path.last() {
            painter.text(*end + vec2(4.0, 0.0), Align2::LEFT_CENTER, &line.id, font.clone(), SOFT);
        }
    }
    for target in &sketch.targets {
        let corners = scale.path(&target.points_m);
        let middle = Rect::from_points(&corners).center();
        match target.what {
            What::Building => chart::building(&painter, corners),
            What::Tree(radius_m) => {
                chart::tree(&painter, middle, ((radius_m * scale.px_m) as f32).max(4.0));
            }
            What::Person => chart::person(&painter, middle),
            What::Path(width_m) => band(&painter, &corners, (width_m * scale.px_m) as f32),
        }
        let below = middle + vec2(0.0, 8.0);
        painter.text(below, Align2::CENTER_TOP, &target.id, font.clone(), INK);
    }
    chart::stump(&painter, scale.at(DVec2::ZERO), 5.0);
    chart::north(&painter, scale.rect, &font);
}

fn band(painter: &bevy_egui::egui::Painter, line: &[Pos2], width: f32) {
    for side in [-0.5, 0.5] {
        let edge: Vec<Pos2> = line
            .iter()
            .enumerate()
            .map(|(i, at)| {
                let before = line.get(i.saturating_sub(1)).unwrap_or(at);
                let after = line.get(i + 1).unwrap_or(at);
                *at + (*after - *before).normalized().rot90() * (side * width)
            })
            .collect();
        painter.extend(Shape::dashed_line(&edge, Stroke::new(1.2, SOFT), 6.0, 3.0));
    }
}
