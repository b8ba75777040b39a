//! The files from above, with the stump and the frame of what is cropped, under hand and keys.

use bevy_egui::egui::{
    Color32, EventFilter, Image, Key, Rect, Sense, Stroke, StrokeKind, Ui, accesskit::Role, pos2,
    vec2,
};
use glam::DVec2;
use tumblewood::quantity::Units;

use super::{GroundPage, Seen};
use crate::{
    chart::{INK, PAPER, Scale, axes, contours, inside_axes, north, small, stump},
    page::described,
};

/// What the map is called for those who hear the page.
pub(super) const NAME: &str =
    "The files from above: arrows move the stump, plus and minus widen and narrow the frame";
/// An arrow moves the stump by this part of the frame, and with Shift by this length, m.
const ARROW: f64 = 0.1;
const FINE_M: f64 = 0.5;
/// Plus and minus make the frame this much wider or narrower.
const WIDER: f64 = 1.1;

/// Draws the map; hand and keys change where the stump is put.
pub(super) fn map(ui: &mut Ui, page: &mut GroundPage, height: f32) {
    let Some(seen) = page.seen.take() else { return };
    let size = vec2(ui.available_width(), height.max(160.0));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    described(ui, &response, Role::Image, NAME);
    if response.clicked() || response.dragged() {
        response.request_focus();
    }
    let overview = &seen.overview;
    let font = small(ui);
    let [low_m, high_m] = overview.corners_m;
    // The axes count from the south-west corner: coordinates of maps have seven digits.
    let half = 0.5 * overview.lattice.cell_m;
    let from = low_m.min(overview.lattice.low_m - half);
    let to = high_m.max(overview.lattice.high_m() + half);
    let scale = filling(to - from, inside_axes(rect));
    let painter = ui.painter().with_clip_rect(rect);
    axes(&painter, &scale, Units::Metric, &font);
    let corner = |at_m: DVec2| scale.at(at_m - from);
    let lattice = &overview.lattice;
    let of_map = Rect::from_two_pos(corner(lattice.low_m - half), corner(lattice.high_m() + half));
    Image::new(&seen.texture).paint_at(ui, of_map);
    let lines: Vec<Vec<DVec2>> =
        seen.lines_m.iter().map(|line| line.iter().map(|p| *p - from).collect()).collect();
    contours(&painter, &scale, &lines);
    north(&painter, scale.rect, &font);

    let to_m = |at: bevy_egui::egui::Pos2| {
        let px = DVec2::new((at.x - scale.rect.left()).into(), (scale.rect.bottom() - at.y).into());
        from + scale.origin_m + px / scale.px_m
    };
    let inside = |at_m: DVec2| at_m.clamp(low_m, high_m);
    let around_m = page.around_m().ok();
    if let Some(pointer) = response.interact_pointer_pos() {
        let at_m = to_m(pointer);
        let begun = response.drag_started() && page.place_m.is_none();
        if response.clicked() || begun {
            page.put_at(&seen, inside(at_m));
        } else if let Some(place_m) = page.place_m.filter(|_| response.dragged()) {
            page.frame((at_m - place_m).abs().max_element());
        }
    }
    if response.has_focus() {
        let filter = EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        by_keys(ui, page, &seen, around_m.unwrap_or(10.0), inside);
    }

    if let Some(place_m) = page.place_m {
        if let Ok(around_m) = page.around_m() {
            let frame = Rect::from_two_pos(corner(place_m - around_m), corner(place_m + around_m));
            for (width, colour) in [(4.0, PAPER), (2.0, INK)] {
                let stroke = Stroke::new(width, colour);
                painter.rect_stroke(frame, 0.0, stroke, StrokeKind::Middle);
            }
        }
        let at = corner(place_m);
        for (width, colour) in [(4.0, PAPER), (1.5, Color32::from_rgb(0x93, 0x1c, 0x14))] {
            let stroke = Stroke::new(width, colour);
            painter.hline(at.x - 14.0..=at.x + 14.0, at.y, stroke);
            painter.vline(at.x, at.y - 14.0..=at.y + 14.0, stroke);
        }
        stump(&painter, pos2(at.x, at.y), 4.5);
    }
    page.seen = Some(seen);
}

/// A scale on which ground of this size fills a rectangle as far as it can, its corner at zero.
fn filling(size_m: DVec2, rect: Rect) -> Scale {
    let px = DVec2::new(rect.width().into(), rect.height().into());
    let px_m = (px / size_m.max(DVec2::ONE)).min_element().max(1e-6);
    Scale { rect, origin_m: 0.5 * (size_m - px / px_m), px_m }
}

fn by_keys(
    ui: &Ui,
    page: &mut GroundPage,
    seen: &Seen,
    around_m: f64,
    inside: impl Fn(DVec2) -> DVec2,
) {
    let pressed = |key: Key| ui.input(|input| f64::from(input.num_presses(key) as u32));
    let step_m = if ui.input(|input| input.modifiers.shift) { FINE_M } else { ARROW * around_m };
    let way = DVec2::new(
        pressed(Key::ArrowRight) - pressed(Key::ArrowLeft),
        pressed(Key::ArrowUp) - pressed(Key::ArrowDown),
    );
    if way != DVec2::ZERO {
        let [low_m, high_m] = seen.overview.corners_m;
        // The first press puts it in the middle.
        let to_m = match page.place_m {
            Some(place_m) => place_m + way * step_m,
            None => 0.5 * (low_m + high_m),
        };
        page.put_at(seen, inside(to_m));
    }
    let wider = pressed(Key::Plus) + pressed(Key::Equals) - pressed(Key::Minus);
    if wider != 0.0 {
        page.frame(around_m * WIDER.powf(wider));
    }
}
