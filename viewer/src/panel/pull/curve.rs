//! The pull at the stem against how far it has turned, from first tension to past balance.
//!
//! Laid out as the printed curve is: [`tumblewood::report::pull_curve::Scales`].

use bevy_egui::egui::{
    Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, RichText, Sense, Shape, Stroke, Ui,
    accesskit::Role, pos2, vec2,
};
use tumblewood::{
    felling::{Curve, Felling, Measure},
    quantity::Units,
    report::{pull_curve::Scales, text::quantity, units::decimals, words},
};

use crate::{
    page::{described, fine, sentence},
    palette::Palette,
    signs::colour,
};

/// Height of the drawing, points.
const HEIGHT: f32 = 236.0;
/// Room for numbers at the left and below, and for words above, points.
const LEFT: f32 = 52.0;
const BELOW: f32 = 34.0;
const ABOVE: f32 = 8.0;
/// Size of its letters, points.
const LETTERS: f32 = 11.5;
/// Dashes of the gust's curve and of the levels, and the gaps between them, points.
const GUST_DASH: (f32, f32) = (7.0, 4.0);
const LEVEL_DASHES: [(f32, f32); 3] = [(2.0, 3.0), (9.0, 4.0), (5.0, 2.0)];

/// Draws one curve with its legend, and its numbers for those who want to read them.
pub(super) fn drawn(
    ui: &mut Ui,
    felling: &Felling,
    curve: &Curve,
    units: Units,
    palette: &Palette,
) {
    let name = curve.line.as_deref().map_or("a level line two thirds up".to_owned(), words::name);
    let title = format!("{name}: pull in the rope at the stem that holds it");
    ui.label(RichText::new(sentence(&title)).strong());
    let scales = Scales::of(felling, curve, units);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    let inside = Rect::from_min_max(rect.min + vec2(LEFT, ABOVE), rect.max - vec2(10.0, BELOW));
    let sheet = Sheet { painter: ui.painter(), inside, scales: &scales, units, palette };
    sheet.axes();
    sheet.curves(curve);
    let beyond = sheet.levels();
    sheet.marks();
    described(ui, &response, Role::Image, &heard(&name, &scales, units));
    if let Some(at) = response.hover_pos() {
        let turn_rad = sheet.turn_at(at);
        if let Some(words) = at_turn(curve, turn_rad, units) {
            sheet.upright(turn_rad, Stroke::new(1.0, colour(palette.soft_ink)));
            response.on_hover_text_at_pointer(words);
        }
    }
    legend(ui, felling, palette);
    if !beyond.is_empty() {
        ui.label(fine(format!("Above the picture: {}.", beyond.join("; "))));
    }
    if super::unfolded(
        ui,
        &format!("curve of {name}"),
        &format!("{name}, the curve in numbers"),
        false,
    ) {
        numbers(ui, curve, &scales, units);
    }
}

/// The drawing in words.
fn heard(name: &str, scales: &Scales, units: Units) -> String {
    let mut words = format!("{name}: the pull against how far it has turned");
    if let Some(first_n) = scales.first_tension_n {
        words += &format!("; first tension {}", units.force(first_n));
    }
    if let Some(balance_rad) = scales.balance_rad {
        words += &format!("; goes by itself from {}", angle(balance_rad));
    }
    for (label, n) in scales.levels {
        if let Some(n) = n {
            words += &format!("; {label} {}", units.force(n));
        }
    }
    words
}

fn angle(rad: f64) -> String {
    format!("{}°", decimals(rad.to_degrees(), 1))
}

struct Sheet<'a> {
    painter: &'a Painter,
    inside: Rect,
    scales: &'a Scales,
    units: Units,
    palette: &'a Palette,
}

impl Sheet<'_> {
    fn at(&self, turn_rad: f64, pull_n: f64) -> Pos2 {
        let along = (turn_rad / self.scales.reach_rad) as f32;
        let up = (pull_n / self.scales.most_n).clamp(0.0, 1.0) as f32;
        pos2(
            self.inside.left() + along * self.inside.width(),
            self.inside.bottom() - up * self.inside.height(),
        )
    }

    fn turn_at(&self, at: Pos2) -> f64 {
        let along = (at.x - self.inside.left()) / self.inside.width();
        f64::from(along.clamp(0.0, 1.0)) * self.scales.reach_rad
    }

    fn font(&self) -> FontId {
        FontId::proportional(LETTERS)
    }

    /// Words on a ground of paper, so that lines don't cross them; where they stand.
    fn word(&self, at: Pos2, align: Align2, text: &str) -> Rect {
        let (ink, paper) = (colour(self.palette.ink), colour(self.palette.paper));
        let galley = self.painter.layout_no_wrap(text.to_owned(), self.font(), ink);
        let place = align.anchor_size(at, galley.size());
        self.painter.rect_filled(place.expand2(vec2(2.0, -1.0)), 2.0, paper);
        self.painter.galley(place.min, galley, ink);
        place
    }

    fn upright(&self, turn_rad: f64, stroke: Stroke) {
        let ends = [self.at(turn_rad, 0.0), self.at(turn_rad, self.scales.most_n)];
        self.painter.line_segment(ends, stroke);
    }

    fn axes(&self) {
        let Sheet { scales, inside, .. } = *self;
        let faint = Stroke::new(1.0, colour(self.palette.soft_ink).gamma_multiply(0.35));
        // Every second number where they would touch.
        let turns = (scales.reach_rad / scales.turn_step_rad) as u32;
        let every = if turns > 8 { 2 } else { 1 };
        for i in 0..=turns {
            let turn_rad = f64::from(i) * scales.turn_step_rad;
            self.upright(turn_rad, faint);
            if i % every == 0 {
                let at = self.at(turn_rad, 0.0) + vec2(0.0, 3.0);
                let text = format!("{}°", decimals(turn_rad.to_degrees(), 0));
                self.word(at, Align2::CENTER_TOP, &text);
            }
        }
        for i in 0..=(scales.most_n / scales.pull_step_n) as u32 {
            let n = f64::from(i) * scales.pull_step_n;
            self.painter.line_segment([self.at(0.0, n), self.at(scales.reach_rad, n)], faint);
            let at = self.at(0.0, n) - vec2(5.0, 0.0);
            self.word(at, Align2::RIGHT_CENTER, &self.units.force(n));
        }
        let ink = Stroke::new(1.5, colour(self.palette.ink));
        self.painter.line_segment([inside.left_top(), inside.left_bottom()], ink);
        self.painter.line_segment([inside.left_bottom(), inside.right_bottom()], ink);
        let below = inside.center_bottom() + vec2(0.0, 18.0);
        self.word(below, Align2::CENTER_TOP, "turned from where it stands");
    }

    fn curves(&self, curve: &Curve) {
        let band = band(self.palette);
        let sides: Vec<(Pos2, Pos2)> = (curve.turn_rad.iter())
            .zip(curve.low_n.iter().zip(&curve.high_n))
            .map(|(turn, (low, high))| (self.at(*turn, *low), self.at(*turn, *high)))
            .collect();
        // One mesh: polygons beside each other have seams.
        let mut mesh = Mesh::default();
        for (i, (low, high)) in sides.iter().enumerate() {
            mesh.colored_vertex(*low, band);
            mesh.colored_vertex(*high, band);
            if let Some(k) = i.checked_sub(1).map(|k| 2 * k as u32) {
                mesh.add_triangle(k, k + 1, k + 2);
                mesh.add_triangle(k + 1, k + 3, k + 2);
            }
        }
        self.painter.add(Shape::mesh(mesh));
        let path = |pulls: &[Option<f64>]| -> Vec<Pos2> {
            let points = curve.turn_rad.iter().zip(pulls);
            points.filter_map(|(turn, n)| Some(self.at(*turn, (*n)?))).collect()
        };
        let [still, gust] = strokes(self.palette);
        self.painter.add(Shape::line(path(&curve.still_n), still));
        let (dash, gap) = GUST_DASH;
        self.painter.extend(Shape::dashed_line(&path(&curve.gust_n), gust, dash, gap));
    }

    /// What limits the pull; what lies above the picture is given back.
    fn levels(&self) -> Vec<String> {
        let stroke = Stroke::new(1.5, colour(self.palette.soft_ink));
        let mut taken: Vec<Rect> = Vec::new();
        let mut beyond = Vec::new();
        for ((label, n), (dash, gap)) in self.scales.levels.into_iter().zip(LEVEL_DASHES) {
            let Some(n) = n else { continue };
            let words = format!("{label} {}", self.units.force(n));
            if n > self.scales.most_n {
                beyond.push(words);
                continue;
            }
            let ends = [self.at(0.0, n), self.at(self.scales.reach_rad, n)];
            self.painter.extend(Shape::dashed_line(&ends, stroke, dash, gap));
            // Beside its line; below where another stands there.
            let mut at = ends[1] + vec2(-2.0, -8.0);
            while taken.iter().any(|other| (other.center().y - at.y).abs() < LETTERS + 2.0) {
                at.y += LETTERS + 4.0;
            }
            taken.push(self.word(at, Align2::RIGHT_CENTER, &words));
        }
        beyond
    }

    /// First tension, balance, and what is past it.
    fn marks(&self) {
        let [still, _] = strokes(self.palette);
        if let Some(first_n) = self.scales.first_tension_n {
            let at = self.at(0.0, first_n);
            self.painter.circle_filled(at, 4.5, still.color);
            let words = format!("first tension {}", self.units.force(first_n));
            self.word(at + vec2(9.0, 2.0), Align2::LEFT_CENTER, &words);
        }
        if let Some(balance_rad) = self.scales.balance_rad {
            let at = self.at(balance_rad, 0.0);
            let ends = [at, self.at(balance_rad, self.scales.most_n)];
            let stroke = Stroke::new(1.5, still.color);
            self.painter.extend(Shape::dashed_line(&ends, stroke, 3.0, 3.0));
            let diamond = [(0.0, -5.5), (5.5, 0.0), (0.0, 5.5), (-5.5, 0.0)];
            let corners = diamond.map(|(x, y)| at + vec2(x, y)).to_vec();
            self.painter.add(Shape::convex_polygon(corners, still.color, Stroke::NONE));
            let words = format!("balance, {}", angle(balance_rad));
            self.word(at - vec2(5.0, 12.0), Align2::RIGHT_CENTER, &words);
            // To the right of it, or what fits there.
            let right = self.inside.right();
            if right - at.x > 24.0 {
                let middle = pos2(0.5 * (at.x + right), at.y - 20.0);
                self.word(middle, Align2::CENTER_CENTER, "past it");
            }
        }
    }
}

/// Still air and the gust.
fn strokes(palette: &Palette) -> [Stroke; 2] {
    [Stroke::new(2.5, colour(palette.chosen)), Stroke::new(2.5, colour(palette.alarm))]
}

/// From the least to the greatest: the colour of still air, mostly paper.
fn band(palette: &Palette) -> Color32 {
    let mix = |a: u8, b: u8| ((u16::from(a) + 3 * u16::from(b)) / 4) as u8;
    let ([r, g, b], paper) = (palette.chosen.srgb(), palette.paper.srgb());
    Color32::from_rgb(mix(r, paper[0]), mix(g, paper[1]), mix(b, paper[2]))
}

fn legend(ui: &mut Ui, felling: &Felling, palette: &Palette) {
    let [still, gust] = strokes(palette);
    let draws = felling.draws;
    let words = [
        "still air, as told".to_owned(),
        "in the gust, as told".to_owned(),
        format!("least in still air to greatest in the gust, {draws} draws"),
    ];
    for (i, words) in words.into_iter().enumerate() {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(30.0, 12.0), Sense::hover());
            let ends = [rect.left_center(), rect.right_center()];
            match i {
                0 => {
                    ui.painter().line_segment(ends, still);
                }
                1 => {
                    let (dash, gap) = GUST_DASH;
                    ui.painter().extend(Shape::dashed_line(&ends, gust, dash, gap));
                }
                _ => {
                    ui.painter().rect_filled(rect, 0.0, band(palette));
                }
            }
            ui.label(fine(words));
        });
    }
}

/// What a curve says at a turn, in words.
fn at_turn(curve: &Curve, turn_rad: f64, units: Units) -> Option<String> {
    let near = |turn: &f64| (turn - turn_rad).abs();
    let turns = curve.turn_rad.iter().enumerate();
    let (i, turn) = turns.min_by(|a, b| near(a.1).total_cmp(&near(b.1)))?;
    let pull = |n: Option<f64>| n.map_or("none will do".to_owned(), |n| units.force(n));
    Some(format!(
        "at {}: {} in still air, {} in the gust; {} to {} over the draws",
        angle(*turn),
        pull(*curve.still_n.get(i)?),
        pull(*curve.gust_n.get(i)?),
        units.force(*curve.low_n.get(i)?),
        quantity(Measure::Force, *curve.high_n.get(i)?, units)
    ))
}

/// The curve at the turns of its ticks.
fn numbers(ui: &mut Ui, curve: &Curve, scales: &Scales, units: Units) {
    for i in 0..=(scales.reach_rad / scales.turn_step_rad) as u32 {
        if let Some(words) = at_turn(curve, f64::from(i) * scales.turn_step_rad, units) {
            ui.label(sentence(&words));
        }
    }
}
