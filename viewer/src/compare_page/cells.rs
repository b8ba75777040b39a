//! The cells as a table: a small plan of each with where its pieces ended, and its counts.

use bevy_egui::egui::{
    Button, Grid, Rect, Response, RichText, Sense, Stroke, StrokeKind, Ui, accesskit::Role, vec2,
};
use glam::DVec2;
use tumblewood::{
    drop::Ending,
    forecast::{Fate, interval, result::TargetForecast},
    outcome::{Mode, Outcome, Reach},
    report::{
        text::CompareCell,
        words::{at_most, in_hundred},
    },
};

use super::{CompareMessage, Compared};
use crate::{
    chart::{self, INK, PAPER, SOFT, Scale},
    page::{described, fine, sentence},
};

/// Size of a cell's plan, points.
const PLAN: (f32, f32) = (176.0, 118.0);

/// Draws the table; `pinned` are the cells held side by side.
pub(super) fn cells(
    ui: &mut Ui,
    compared: &Compared,
    pinned: &mut Vec<usize>,
    messages: &mut Vec<CompareMessage>,
) {
    let cells = &compared.words;
    let (mut lengths, mut faces): (Vec<f64>, Vec<&str>) = (Vec::new(), Vec::new());
    for cell in cells {
        if !lengths.contains(&cell.length_m) {
            lengths.push(cell.length_m);
        }
        if !faces.contains(&cell.face.as_str()) {
            faces.push(&cell.face);
        }
    }
    let seen = seen(compared);
    Grid::new("cells").num_columns(faces.len() + 1).spacing([12.0, 10.0]).show(ui, |ui| {
        ui.label("Length");
        for face in &faces {
            ui.label(RichText::new(format!("Face {face}")).strong());
        }
        ui.end_row();
        for length_m in lengths {
            ui.label(RichText::new(compared.units.length(length_m)).strong());
            for face in &faces {
                let found = cells.iter().position(|c| c.length_m == length_m && c.face == *face);
                match found {
                    Some(k) => {
                        ui.vertical(|ui| cell(ui, compared, k, &seen, pinned, messages));
                    }
                    None => {
                        ui.label("–");
                    }
                }
            }
            ui.end_row();
        }
    });
}

/// What every plan shows, so that they have one scale: stump, bodies and all ends.
fn seen(compared: &Compared) -> Vec<DVec2> {
    let told = compared.comparison.cells.iter().flat_map(|cell| &cell.told);
    let ends = told.filter_map(Fate::outcome).map(|outcome| outcome.end_m.truncate());
    ends.chain(compared.bank.corners_m()).chain([DVec2::ZERO]).collect()
}

fn cell(
    ui: &mut Ui,
    compared: &Compared,
    k: usize,
    seen: &[DVec2],
    pinned: &mut Vec<usize>,
    messages: &mut Vec<CompareMessage>,
) {
    let Some((words, cell)) = compared.words.get(k).zip(compared.comparison.cells.get(k)) else {
        return;
    };
    let name = words.name(compared.units);
    let response = plan(ui, compared, &cell.told, seen);
    described(ui, &response, Role::Button, &format!("Show {name}"));
    if response.on_hover_text(format!("Show {name} on the hillside")).clicked() {
        messages
            .push(CompareMessage::ShowCell { length_m: cell.length_m, face_rad: cell.face_rad });
    }
    ui.label(format!("{} in 100", words.modes()));
    ui.label(fine(noise(words)));
    let reach = if words.reached > 0 {
        format!("Reach {} in 100", words.reach())
    } else {
        format!("Reach: {}", words.reach())
    };
    ui.label(RichText::new(reach).strong());
    ui.label(fine(reach_doubt(compared, k)));
    let place = pinned.iter().position(|pin| *pin == k);
    let text = match place {
        Some(0) => "Pinned: first",
        Some(_) => "Pinned: second",
        None => "Pin",
    };
    let pin = ui.add(Button::new(text).selected(place.is_some()));
    described(ui, &pin, Role::Button, &format!("Pin {name}"));
    if pin.clicked() {
        match place {
            Some(place) => {
                pinned.remove(place);
            }
            None => {
                // Of two that are held, the one held longer goes.
                if pinned.len() > 1 {
                    pinned.remove(0);
                }
                pinned.push(k);
            }
        }
    }
}

/// Counting noise of both shares.
fn noise(words: &CompareCell) -> String {
    let between = |count: u32| {
        format!(
            "{}–{}",
            in_hundred(interval::low(count, words.drops)),
            in_hundred(interval::high(count, words.drops))
        )
    };
    format!("{} / {} by counting alone", between(words.rolled), between(words.tumbled))
}

/// What stands beside a share of reaches: its range over grounds, or the most it could be.
fn reach_doubt(compared: &Compared, k: usize) -> String {
    let Some((words, cell)) = compared.words.get(k).zip(compared.comparison.cells.get(k)) else {
        return String::new();
    };
    if words.reached == 0 {
        return format!("{} as told, by counting", at_most(words.high_corrected));
    }
    // What was reached on fresh seeds alone has its grounds there.
    let first = (0..cell.forecast.targets.len()).any(|t| cell.reaches(t));
    let counted = cell.fresh.as_ref().filter(|_| !first).unwrap_or(&cell.forecast);
    let widest = counted.targets.iter().max_by(|a, b| {
        let high = |target: &TargetForecast| target.over_grounds.high;
        high(a).total_cmp(&high(b)).then(a.reached.cmp(&b.reached))
    });
    widest.map_or_else(String::new, |target| {
        format!(
            "{}: {} to {} by ground",
            tumblewood::report::words::name(&target.id),
            in_hundred(target.over_grounds.low),
            in_hundred(target.over_grounds.high)
        )
    })
}

/// A plan of the bank with where the drops ended.
fn plan(ui: &mut Ui, compared: &Compared, told: &[Fate], seen: &[DVec2]) -> Response {
    let (response, painter) = ui.allocate_painter(vec2(PLAN.0, PLAN.1), Sense::click());
    let rect = response.rect;
    let painter = painter.with_clip_rect(rect.intersect(painter.clip_rect()));
    painter.rect_filled(rect, 0.0, PAPER);
    let scale = Scale::around(seen.iter().copied(), rect.shrink(2.0), 12.0);
    chart::contours(&painter, &scale, &compared.bank.contours_m);
    for (kind, outlines) in &compared.bank.bodies {
        for outline in outlines {
            chart::body(&painter, &scale, *kind, outline);
        }
    }
    chart::stump(&painter, scale.at(DVec2::ZERO), 4.0);
    for outcome in told.iter().filter_map(Fate::outcome) {
        let at = scale.at(outcome.end_m.truncate());
        chart::mode_mark(&painter, outcome.mode, at, outcome.ending == Ending::Rest, 0.75);
    }
    for outcome in told.iter().filter_map(Fate::outcome).filter(|outcome| reaches(outcome)) {
        chart::reached_ring(&painter, scale.at(outcome.end_m.truncate()), 0.75);
    }
    let edge = if response.has_focus() {
        Stroke::new(3.0, INK)
    } else if response.hovered() {
        Stroke::new(2.0, INK)
    } else {
        Stroke::new(1.0, SOFT)
    };
    painter.rect_stroke(rect, 0.0, edge, StrokeKind::Inside);
    response
}

fn reaches(outcome: &Outcome) -> bool {
    outcome.reaches.iter().any(|reach| matches!(reach, Reach::Reached { .. }))
}

/// A mark as large as a letter; a line where the piece sat back.
pub(super) fn mark_button(ui: &mut Ui, mode: Option<Mode>, at_rest: bool, reached: bool) {
    let (response, painter) = ui.allocate_painter(vec2(18.0, 16.0), Sense::hover());
    let at = Rect::from_center_size(response.rect.center(), vec2(1.0, 1.0)).center();
    match mode {
        Some(mode) => chart::mode_mark(&painter, mode, at, at_rest, 0.9),
        None => {
            let arm = vec2(5.0, 0.0);
            painter.line_segment([at - arm, at + arm], Stroke::new(1.5, INK));
        }
    }
    if reached {
        chart::reached_ring(&painter, at, 0.9);
    }
}

/// The signs and what they mean.
pub(super) fn legend(ui: &mut Ui) {
    ui.horizontal_wrapped(|ui| {
        ui.label("Where pieces ended on the ground as you told it:");
        for (mode, word) in [
            (Mode::Stayed, "stayed"),
            (Mode::Slid, "slid"),
            (Mode::Rolled, "rolled"),
            (Mode::Tumbled, "tumbled end over end"),
        ] {
            mark_button(ui, Some(mode), true, false);
            ui.label(sentence(word));
        }
        mark_button(ui, Some(Mode::Rolled), false, false);
        ui.label("Hollow: not at rest");
        mark_button(ui, Some(Mode::Rolled), true, true);
        ui.label("Ring: reached a target");
    });
}
