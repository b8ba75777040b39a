//! The bank from above with the learner's mark, under hand and keys; beside it, once they are shown,
//! where the drops were.

use bevy_egui::egui::{
    Align2, Color32, EventFilter, Key, Painter, Rect, Sense, Stroke, Ui, accesskit::Role, pos2,
    vec2,
};
use glam::DVec2;
use tumblewood::{quantity::Units, report::bank::Bank};

use crate::{
    chart::{INK, PAPER, Scale, body, contours, north, small, stump},
    page::described,
};

/// An arrow moves the mark, and plus and minus its radius, by the longest round length of at most
/// this; with Shift by a quarter, m.
const STEP_M: f64 = 1.0;
/// A mark that is put down has this radius, m.
pub(super) const RADIUS_M: f64 = 3.0;
/// Height to width.
const HIGH: f32 = 0.8;
/// The mark.
const MARK: Color32 = Color32::from_rgb(0x1d, 0x4f, 0x91);
/// The drops.
const DROPS: Color32 = Color32::from_rgb(0x7c, 0x3f, 0x00);

/// A mark: where, m, and its radius, m.
pub(crate) type Mark = (DVec2, f64);

/// What is drawn on the bank.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    /// The mark that hand and keys move.
    pub(super) mark: Option<Mark>,
    /// Marks that stand.
    pub(super) others: &'a [Mark],
    /// Where the drops were, m.
    pub(super) drops_m: &'a [DVec2],
}

/// Draws the bank with marks and drops; a mark that hand or keys made of it.
pub(super) fn map(
    ui: &mut Ui,
    bank: &Bank,
    name: &str,
    Seen { mark, others, drops_m }: Seen<'_>,
    open: bool,
) -> Option<Mark> {
    let width = ui.available_width();
    let sense = if open { Sense::click() } else { Sense::hover() };
    let (rect, response) = ui.allocate_exact_size(vec2(width, HIGH * width), sense);
    let words = if open {
        format!("{name}: arrows move the mark, plus and minus its radius")
    } else {
        format!("{name}: your mark, and a point for each drop")
    };
    described(ui, &response, Role::Image, &words);
    let painter = ui.painter().with_clip_rect(rect);
    painter.rect_filled(rect, 0.0, PAPER);
    let all = bank
        .corners_m()
        .chain(drops_m.iter().copied())
        .chain(mark.iter().chain(others).map(|(at_m, _)| *at_m));
    let around = all.chain([DVec2::splat(-25.0), DVec2::splat(25.0)]);
    let scale = Scale::around(around, rect, 30.0);
    contours(&painter, &scale, &bank.contours_m);
    for (kind, outlines) in &bank.bodies {
        for outline in outlines {
            body(&painter, &scale, *kind, outline);
        }
    }
    stump(&painter, scale.at(DVec2::ZERO), 4.0);
    for drop_m in drops_m {
        painter.circle_filled(scale.at(*drop_m), 2.2, DROPS);
    }
    for (at_m, radius_m) in others {
        let px = (radius_m * scale.px_m) as f32;
        painter.circle_stroke(scale.at(*at_m), px, Stroke::new(1.2, MARK));
    }
    if let Some((at_m, radius_m)) = mark {
        let (at, px) = (scale.at(at_m), (radius_m * scale.px_m) as f32);
        painter.circle_stroke(at, px, Stroke::new(4.0, PAPER));
        painter.circle_stroke(at, px, Stroke::new(2.0, MARK));
        let arm = 6.0;
        for way in [vec2(arm, arm), vec2(arm, -arm)] {
            painter.line_segment([at - way, at + way], Stroke::new(2.0, MARK));
        }
    }
    north(&painter, rect, &small(ui));
    length(&painter, &scale, bank.units, rect, ui);
    if !open {
        return None;
    }
    if response.clicked() {
        response.request_focus();
        let pointer = response.interact_pointer_pos()?;
        let px = DVec2::new((pointer.x - rect.left()).into(), (rect.bottom() - pointer.y).into());
        let radius_m = mark.map_or(RADIUS_M, |(_, radius_m)| radius_m);
        return Some((scale.origin_m + px / scale.px_m, radius_m));
    }
    if !response.has_focus() {
        return None;
    }
    let filter =
        EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    by_keys(ui, mark, bank.units)
}

fn by_keys(ui: &Ui, mark: Option<Mark>, units: Units) -> Option<Mark> {
    let pressed = |key: Key| ui.input(|input| f64::from(input.num_presses(key) as u32));
    let round_m = units.round_step_m(STEP_M);
    let step_m = if ui.input(|input| input.modifiers.shift) { 0.25 * round_m } else { round_m };
    let way = DVec2::new(
        pressed(Key::ArrowRight) - pressed(Key::ArrowLeft),
        pressed(Key::ArrowUp) - pressed(Key::ArrowDown),
    );
    let wider = pressed(Key::Plus) + pressed(Key::Equals) - pressed(Key::Minus);
    if way == DVec2::ZERO && wider == 0.0 {
        return None;
    }
    // The first press puts it at the stump.
    let (at_m, radius_m) = mark.unwrap_or((DVec2::ZERO, RADIUS_M));
    Some((at_m + way * step_m, (radius_m + wider * step_m).max(0.25)))
}

/// A round length about 10 m long.
fn length(painter: &Painter, scale: &Scale, units: Units, rect: Rect, ui: &Ui) {
    let length_m = units.round_step_m(10.0);
    let from = pos2(rect.left() + 10.0, rect.bottom() - 8.0);
    let to = from + vec2((length_m * scale.px_m) as f32, 0.0);
    painter.line_segment([from, to], Stroke::new(2.0, INK));
    let text = units.distance(length_m);
    painter.text(from - vec2(0.0, 3.0), Align2::LEFT_BOTTOM, text, small(ui), INK);
}
