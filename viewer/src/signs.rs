//! The signs of the modes on panels: the same shapes as on the hillside and on printed plans.

use bevy_egui::egui::{Color32, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, vec2};
use tumblewood::outcome::Mode;

use crate::palette::{Paint, Theme, palette};

/// A colour as egui wants it.
pub(crate) fn colour(paint: Paint) -> Color32 {
    let [r, g, b] = paint.srgb();
    Color32::from_rgb(r, g, b)
}

/// Draws the sign of a mode in a row of text; hollow where the piece is not at rest.
pub(crate) fn mode_mark(ui: &mut Ui, mode: Mode, at_rest: bool, theme: Theme) {
    let side = ui.text_style_height(&bevy_egui::egui::TextStyle::Body);
    let (place, _) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    let shape = mode_shape(mode, at_rest, place.center(), 0.5 * side, theme);
    ui.painter().add(shape);
}

/// The sign of a mode within a radius of a place.
pub(crate) fn mode_shape(mode: Mode, at_rest: bool, at: Pos2, radius: f32, theme: Theme) -> Shape {
    let palette = palette(theme);
    let paint = colour(palette.mode(mode));
    let (fill, stroke) = if at_rest {
        (paint, Stroke::new(0.1 * radius, colour(palette.paper)))
    } else {
        (colour(palette.paper), Stroke::new(0.25 * radius, paint))
    };
    let block = |half| {
        Shape::Rect(bevy_egui::egui::epaint::RectShape::new(
            Rect::from_center_size(at, 2.0 * half),
            0.0,
            fill,
            stroke,
            StrokeKind::Inside,
        ))
    };
    match mode {
        Mode::Stayed => block(vec2(0.7 * radius, 0.7 * radius)),
        Mode::Slid => block(vec2(radius, 0.4 * radius)),
        Mode::Rolled => Shape::Circle(bevy_egui::egui::epaint::CircleShape {
            center: at,
            radius: 0.75 * radius,
            fill,
            stroke,
        }),
        Mode::Tumbled => {
            let star: Vec<Pos2> = (0..8)
                .map(|i| {
                    let turn = std::f32::consts::FRAC_PI_4 * i as f32;
                    let out = radius * if i % 2 == 0 { 1.0 } else { 0.4 };
                    at + vec2(out * turn.sin(), -out * turn.cos())
                })
                .collect();
            // A star is not convex: its points are filled one by one round a middle square.
            let mut shapes = Vec::new();
            for i in [0, 2, 4, 6] {
                let corner = |k: usize| star[(i + k) % 8];
                let point = vec![corner(7), corner(0), corner(1), at];
                shapes.push(Shape::convex_polygon(point, fill, Stroke::NONE));
            }
            shapes.push(Shape::closed_line(star, stroke));
            Shape::Vec(shapes)
        }
    }
}
