//! Words over the hillside: names of things, how far pieces get, the pointer's place, north.

use std::cell::RefCell;

use bevy::math::Vec3;
use bevy_egui::egui::{
    Align2, Color32, Context, FontId, Id, LayerId, Order, Painter, Pos2, Rect, Stroke, Vec2, vec2,
};
use glam::{DVec2, DVec3};
use tumblewood::{
    quantity::Units,
    report::{plan::pass_words, words},
    scene::{edit::Thing, model::Anchor},
    site::{Body, Shape},
};

use crate::{
    camera::FIELD_OF_VIEW_RAD,
    desk::{Desk, Shown, Tool},
    frame::double,
    furniture::{m_a_px, north_arrow, scale},
    hand::{Eye, Hold},
    layers::Pickable,
    lesson_page::Mark,
    palette::palette,
    pick::OnGround,
    shape::single,
    signs::colour,
    tracks::left_out,
};

/// Size of the letters, points.
const LETTERS: f32 = 15.0;
/// Width of the rim round them, points.
const RIM: f32 = 1.6;
/// Sides of the ring of a mark.
const RING_SIDES: u32 = 40;
/// Longest the scale may be, points.
const SCALE_PX: f32 = 160.0;

/// Where the words go: the part of the screen that no panel covers, and what they are written with.
struct Pen<'a> {
    painter: &'a Painter,
    ink: Color32,
    paper: Color32,
    units: Units,
    /// What is left of the screen to write on.
    free: Rect,
    /// Where words stand already.
    taken: RefCell<Vec<Rect>>,
}

impl Pen<'_> {
    /// The name of something at a place, moved up off other names; left out where it would stand
    /// far from what it names.
    fn name(&self, at: Pos2, align: Align2, text: &str) {
        let font = FontId::proportional(LETTERS);
        let size = self.painter.layout_no_wrap(text.to_owned(), font, self.ink).size();
        if !self.free.contains(at) {
            return;
        }
        let wide = align.anchor_size(at, size);
        let inward =
            (self.free.left() - wide.left()).max(0.0) - (wide.right() - self.free.right()).max(0.0);
        for up in 0..4 {
            let at = at + vec2(inward, -(up as f32) * (LETTERS + 2.0));
            if self.takes(align.anchor_size(at, size)) {
                self.word(at, align, text);
                return;
            }
        }
    }

    /// The name of a line on the ground beside that end of it where there is room, else over its
    /// first end with a line to it: moved alone it would stand at another line.
    fn name_of_line(&self, ends: [Pos2; 2], text: &str) {
        let font = FontId::proportional(LETTERS);
        let size = self.painter.layout_no_wrap(text.to_owned(), font, self.ink).size();
        let [a, b] = ends;
        let (left, right) = if a.x < b.x { (a, b) } else { (b, a) };
        let beside = [
            (right + vec2(5.0, 0.0), Align2::LEFT_CENTER),
            (left - vec2(5.0, 0.0), Align2::RIGHT_CENTER),
        ];
        for (at, align) in beside {
            let place = align.anchor_size(at, size);
            if self.free.contains_rect(place) && self.takes(place) {
                self.word(at, align, text);
                return;
            }
        }
        for up in 1..5 {
            let at = right + vec2(5.0, -(up as f32) * (LETTERS + 2.0));
            let place = Align2::LEFT_CENTER.anchor_size(at, size);
            if self.free.contains_rect(place) && self.takes(place) {
                self.line(right, at, 1.0);
                self.word(at, Align2::LEFT_CENTER, text);
                return;
            }
        }
    }

    /// Takes a place for words if none stand there.
    fn takes(&self, place: Rect) -> bool {
        let mut taken = self.taken.borrow_mut();
        let is_free = taken.iter().all(|other| !other.intersects(place));
        if is_free {
            taken.push(place);
        }
        is_free
    }

    /// A word with a rim, so that it can be read over anything.
    fn word(&self, at: Pos2, align: Align2, text: &str) {
        let font = FontId::proportional(LETTERS);
        for k in 0..8 {
            let (sin, cos) = (std::f32::consts::FRAC_PI_4 * k as f32).sin_cos();
            let rim = at + RIM * vec2(cos, sin);
            self.painter.text(rim, align, text, font.clone(), self.paper);
        }
        self.painter.text(at, align, text, font, self.ink);
    }

    fn line(&self, from: Pos2, to: Pos2, width: f32) {
        self.painter.line_segment([from, to], Stroke::new(width + 2.0, self.paper));
        self.painter.line_segment([from, to], Stroke::new(width, self.ink));
    }
}

/// Draws all words over the hillside, but for what is `covered` at the right and below; `project`
/// is where a place of the site is on the screen.
pub(crate) fn labels(
    context: &Context,
    desk: &Desk,
    (eye, hold, pointed, covered): (&Eye, &Hold, Option<OnGround>, Vec2),
    pickable: &Pickable,
    project: impl Fn(Vec3) -> Option<Pos2>,
) {
    let (Some(shown), Some(job)) = (&desk.shown, &desk.job) else { return };
    let painter = context.layer_painter(LayerId::new(Order::Background, Id::new("labels")));
    let screen = context.viewport_rect();
    let free = Rect::from_min_max(screen.min, screen.max - covered);
    let painter = painter.with_clip_rect(free);
    let palette = palette(desk.look.theme);
    let (ink, paper) = (colour(palette.ink), colour(palette.paper));
    let units = job.scene.units;
    let pen = Pen { painter: &painter, ink, paper, units, free, taken: RefCell::default() };
    if let Some(words) = desk.drops().and_then(|drops| left_out(&drops, &desk.filter)) {
        pen.name(free.left_top() + vec2(12.0, 12.0), Align2::LEFT_TOP, &words);
    }
    let site = shown.ready.as_ref().map_or(&shown.world.site, |ready| &ready.site);
    for body in site.bodies.iter().filter(|body| body.is_target) {
        if let Some(at) = crown_m(body).and_then(|at| project(single(at))) {
            pen.name(at - vec2(0.0, 4.0), Align2::CENTER_BOTTOM, &words::name(&body.id));
        }
    }
    for (line, at) in shown.lines() {
        let names = line.redirects.iter().map(|redirect| words::name(&redirect.id));
        let far = format!("{}, {}", words::name(&line.id), far_end(&line.anchor));
        for (at_m, name) in at.points_m.iter().zip(names.chain([far])) {
            if let Some(at) = project(single(*at_m)) {
                pen.name(at + vec2(12.0, -6.0), Align2::LEFT_BOTTOM, &name);
            }
        }
        if let Some(at) = at.touches_ground_at_m.and_then(|at_m| project(single(at_m))) {
            let name = format!("! {} meets the ground", words::name(&line.id));
            pen.name(at + vec2(10.0, 4.0), Align2::LEFT_TOP, &name);
        }
    }
    for tied in shown.ready.iter().flat_map(|ready| &ready.tied) {
        let end_m = tied.tether.tail.map_or(tied.tether.to_m, |tail| tail.brake_m);
        if let Some(at) = project(single(end_m)) {
            pen.name(at + vec2(12.0, -6.0), Align2::LEFT_BOTTOM, &words::name(&tied.id));
        }
    }
    for ([from_m, to_m], line) in &pickable.passed {
        if let (Some(from), Some(to)) = (project(*from_m), project(*to_m)) {
            pen.name_of_line([from, to], &pass_words(line, pen.units));
        }
    }
    if let Tool::Measure(points) = &desk.tool {
        measured(&pen, points, pointed, free, &project);
    }
    held(&pen, desk, hold, pointed, &project);
    drawn_out(&pen, shown, desk, hold, &project);
    // What a tape would tell is asked for in a lesson, as on site.
    let hidden = desk.lesson.as_ref().is_some_and(|lesson| !lesson.is_shown);
    if let Some(mark) = desk.lesson.as_ref().and_then(|lesson| lesson.mark) {
        marked(&pen, desk, mark, &project);
    }
    if let Some(spot) = pointed.filter(|_| !hidden) {
        let at = free.left_bottom() + vec2(12.0, -12.0);
        pen.word(at, Align2::LEFT_BOTTOM, &place(&spot, job.frame().turn_rad, pen.units));
    }
    north(&pen, free.right_top() + vec2(-40.0, 52.0), eye.azimuth_rad);
    if hidden {
        return;
    }
    let zoom = context.zoom_factor();
    let height_px = screen.height() * zoom;
    let m_a_point = m_a_px(eye.distance_m, FIELD_OF_VIEW_RAD, height_px) * f64::from(zoom);
    if let Some(bar) = scale(m_a_point, SCALE_PX, pen.units) {
        let from = free.right_bottom() + vec2(-48.0 - bar.length_px, -18.0);
        let along = |share: f32| from + vec2(share * bar.length_px, 0.0);
        pen.line(along(0.0), along(1.0), 2.5);
        for (share, word) in [(0.0, "0"), (0.5, &*bar.middle), (1.0, &*bar.end)] {
            let at = along(share);
            pen.line(at - vec2(0.0, 5.0), at + vec2(0.0, 1.0), 1.5);
            pen.word(at - vec2(0.0, 7.0), Align2::CENTER_BOTTOM, word);
        }
    }
}

/// The learner's mark, as a ring on the ground with a cross in it.
fn marked(
    pen: &Pen<'_>,
    desk: &Desk,
    (at_m, radius_m): Mark,
    project: &impl Fn(Vec3) -> Option<Pos2>,
) {
    let on_screen = |at_m: DVec2| desk.ground_m(at_m).and_then(|at_m| project(single(at_m)));
    let line = |from_m: DVec2, to_m: DVec2| {
        if let (Some(from), Some(to)) = (on_screen(from_m), on_screen(to_m)) {
            pen.line(from, to, 2.0);
        }
    };
    let around = |k: u32| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / f64::from(RING_SIDES)).sin_cos();
        at_m + radius_m * DVec2::new(sin, cos)
    };
    for k in 0..RING_SIDES {
        line(around(k), around(k + 1));
    }
    let arm_m = (0.3 * radius_m).clamp(0.3, 1.5);
    for way in [DVec2::new(arm_m, arm_m), DVec2::new(arm_m, -arm_m)] {
        line(at_m - way, at_m + way);
    }
    if let Some(at) = on_screen(at_m) {
        pen.name(at + vec2(8.0, -8.0), Align2::LEFT_BOTTOM, "your mark");
    }
}

/// The highest place of a body.
fn crown_m(body: &Body) -> Option<DVec3> {
    let tops = body.shapes.iter().map(|shape| match shape {
        Shape::Cuboid { centre_m, half_m, .. } => *centre_m + DVec3::Z * half_m.z,
        Shape::Capsule { from_m, to_m, radius_m } => {
            (if from_m.z > to_m.z { *from_m } else { *to_m }) + DVec3::Z * *radius_m
        }
        Shape::Hull { points_m } => {
            let sum: DVec3 = points_m.iter().sum();
            let top = points_m.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
            (sum / points_m.len().max(1) as f64).with_z(top)
        }
    });
    tops.max_by(|a, b| a.z.total_cmp(&b.z)).filter(|top| top.is_finite())
}

/// Where the pointer is: from the stump, height, slope.
fn place(spot: &OnGround, turn_rad: f64, units: Units) -> String {
    let way = spot.at_m.truncate();
    let degrees = |rad: f64| (rad - turn_rad).to_degrees().rem_euclid(360.0).round() % 360.0;
    let toward = degrees(f64::from(way.x).atan2(f64::from(way.y)));
    let up = f64::from(spot.at_m.z);
    let level = format!(
        "{} {} the stump",
        units.distance(up.abs()),
        if up < 0.0 { "below" } else { "above" }
    );
    let slope = f64::from(spot.slope_rad);
    let fall = if slope.to_degrees() < 0.5 {
        "level".to_owned()
    } else {
        format!(
            "slope {:.0}° ({:.0} %) falling toward {:.0}°",
            slope.to_degrees(),
            100.0 * slope.tan(),
            degrees(f64::from(spot.aspect_rad))
        )
    };
    let far = units.distance(f64::from(way.length()));
    format!("{far} from the stump toward {toward:.0}°, {level}; {fall}")
}

/// What lies between two points.
fn measured(
    pen: &Pen<'_>,
    points: &[DVec3],
    pointed: Option<OnGround>,
    free: Rect,
    project: &impl Fn(Vec3) -> Option<Pos2>,
) {
    let hint = |text: &str| pen.word(free.center_top() + vec2(0.0, 16.0), Align2::CENTER_TOP, text);
    let (from, to) = match (points, pointed) {
        ([], _) => return hint("Measure: click the first point; Esc leaves off"),
        ([from], Some(spot)) => (*from, double(spot.at_m)),
        ([_], None) => return hint("Measure: click the second point; Esc leaves off"),
        ([from, to, ..], _) => (*from, *to),
    };
    let (Some(a), Some(b)) = (project(single(from)), project(single(to))) else { return };
    pen.line(a, b, 2.0);
    let way = to - from;
    let level = way.truncate().length();
    let slope = way.z.atan2(level).to_degrees();
    let text = format!(
        "{} along the slope, {} level, {} {}, {slope:.0}°",
        pen.units.length(way.length()),
        pen.units.length(level),
        pen.units.length(way.z.abs()),
        if way.z < 0.0 { "down" } else { "up" },
    );
    pen.word(a.lerp(b, 0.5) - vec2(0.0, 8.0), Align2::CENTER_BOTTOM, &text);
}

/// How far what is held has been moved or turned.
fn held(
    pen: &Pen<'_>,
    desk: &Desk,
    hold: &Hold,
    pointed: Option<OnGround>,
    project: &impl Fn(Vec3) -> Option<Pos2>,
) {
    let words = match hold {
        Hold::Moving { from_m, to_m, .. } => {
            let (Some(from), Some(to)) = (desk.ground_m(*from_m), desk.ground_m(*to_m)) else {
                return;
            };
            let up = to.z - from.z;
            let level = if up < 0.0 { "down" } else { "up" };
            let (far, high) =
                (pen.units.length((to - from).truncate().length()), pen.units.length(up.abs()));
            format!("Moved {far}, {high} {level}")
        }
        Hold::Spinning { from_rad, to_rad, .. } => {
            let turn = (to_rad - from_rad).to_degrees();
            format!("Turned {:.0}°", (turn + 180.0).rem_euclid(360.0) - 180.0)
        }
        Hold::Nothing | Hold::Turning { .. } | Hold::Sliding => return,
    };
    if let Some(at) = pointed.and_then(|spot| project(spot.at_m)) {
        pen.word(at + vec2(14.0, -14.0), Align2::LEFT_BOTTOM, &words);
    }
}

/// The rope's legs to a redirect or a far end that is held.
fn drawn_out(
    pen: &Pen<'_>,
    shown: &Shown,
    desk: &Desk,
    hold: &Hold,
    project: &impl Fn(Vec3) -> Option<Pos2>,
) {
    let Hold::Moving { thing, from_m, to_m } = hold else { return };
    let (Some(from), Some(to)) = (desk.ground_m(*from_m), desk.ground_m(*to_m)) else { return };
    for (line, at) in shown.lines() {
        let place = match thing {
            Thing::Redirect(id) => line.redirects.iter().position(|r| r.id == *id),
            Thing::Anchor(id) if line.id == *id => at.points_m.len().checked_sub(1),
            _ => None,
        };
        let Some(place) = place else { continue };
        let mut points = at.points();
        // The first of them is the knot on the stem.
        let Some(moved) = points.get_mut(place + 1) else { continue };
        *moved += to - from;
        for leg in points.windows(2).skip(place).take(2) {
            if let (Some(a), Some(b)) = (project(single(leg[0])), project(single(leg[1]))) {
                pen.line(a, b, 2.0);
            }
        }
    }
}

/// What a line is made fast to, in a word.
fn far_end(anchor: &Anchor) -> &'static str {
    match anchor {
        Anchor::Tree { .. } => "at a tree",
        Anchor::Stump { .. } => "at a stump",
        Anchor::Vehicle { .. } => "at a vehicle",
    }
}

fn north(pen: &Pen<'_>, at: Pos2, azimuth_rad: f32) {
    let arrow = north_arrow(azimuth_rad, 22.0);
    let place = |by: bevy::math::Vec2| at + vec2(by.x, by.y);
    for (half, fill) in [(arrow.dark, pen.ink), (arrow.light, pen.paper)] {
        let corners = half.map(place).to_vec();
        let stroke = Stroke::new(1.0, pen.ink);
        pen.painter.add(bevy_egui::egui::Shape::convex_polygon(corners, fill, stroke));
    }
    pen.word(place(arrow.letter), Align2::CENTER_CENTER, "N");
}
