//! The page: buttons, what is wrong with the notes, the form, and what can be drawn of it.

use bevy_egui::egui::{self, RichText, ScrollArea, Ui, vec2};

use super::{
    NotesMessage, NotesPage,
    pen::{complaints_of, words_field},
    picture,
    rows::form,
};
use crate::{
    page::{follow_keyboard, readable, wrong},
    panel::CAUTION,
};

/// Under this width form and drawings stand one above the other, points.
const SIDE_BY_SIDE: f32 = 820.0;

/// Draws the page; edits go into its form, which is judged anew in the same frame.
pub(crate) fn notes_page(ui: &mut Ui, page: &mut NotesPage) -> Vec<NotesMessage> {
    let mut messages = Vec::new();
    let before = page.form.clone();
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.horizontal_wrapped(|ui| {
        ui.heading("New from notes");
        buttons(ui, page, &mut messages);
    });
    if let Some(said) = &page.said {
        ui.label(said);
    }
    verdict(ui, page);
    ui.separator();
    let width = ui.available_width();
    if width < SIDE_BY_SIDE {
        ScrollArea::vertical().id_salt("notes").show(ui, |ui| {
            form(ui, page);
            ui.separator();
            drawings(ui, page, 200.0);
            follow_keyboard(ui);
        });
    } else {
        let height = ui.available_height();
        ui.horizontal_top(|ui| {
            let down = egui::Layout::top_down(egui::Align::Min);
            ui.allocate_ui_with_layout(vec2(0.58 * width, height), down, |ui| {
                ScrollArea::vertical().id_salt("notes").auto_shrink(false).show(ui, |ui| {
                    form(ui, page);
                    follow_keyboard(ui);
                });
            });
            ui.separator();
            ui.vertical(|ui| drawings(ui, page, (0.5 * height - 40.0).max(120.0)));
        });
    }
    if page.form != before {
        page.renew();
        page.said = None;
        // What is wrong now stands on the page of the next frame.
        ui.ctx().request_repaint();
    }
    messages
}

fn buttons(ui: &mut Ui, page: &mut NotesPage, messages: &mut Vec<NotesMessage>) {
    if ui.button("Back").clicked() {
        messages.push(NotesMessage::Back);
    }
    let runs = page.judged.job.is_some();
    if ui.add_enabled(runs, egui::Button::new("Show on the hillside")).clicked() {
        messages.push(NotesMessage::Show { text: page.text().to_owned() });
    }
    ui.label("File");
    words_field(ui, "File to save to", &mut page.save_to, 180.0, "notes.ron");
    if ui.button("Save").clicked() {
        let (path, text) = (page.save_to.trim().to_owned(), page.text().to_owned());
        messages.push(NotesMessage::Save { path, text });
    }
}

/// What is wrong with the notes as a whole, in one line.
fn verdict(ui: &mut Ui, page: &NotesPage) {
    let complaints = &page.judged.complaints;
    if complaints.is_empty() {
        ui.label("These notes make a scene that runs.");
    } else {
        let count = complaints.len();
        let things = if count == 1 { "thing is" } else { "things are" };
        ui.label(wrong(format!("{count} {things} to be put right, marked beside the field.")));
    }
    complaints_of(ui, complaints, "");
}

fn drawings(ui: &mut Ui, page: &mut NotesPage, height: f32) {
    let lines = &page.sketch.lines;
    let units = page.form.units;
    ui.horizontal_wrapped(|ui| {
        ui.label("From the side");
        for (i, line) in lines.iter().enumerate() {
            if ui.selectable_label(i == page.shown_line, &line.id).clicked() {
                page.shown_line = i;
            }
        }
    });
    match lines.get(page.shown_line).or(lines.first()) {
        Some(line) => {
            picture::profile(ui, line, units, height);
            if !line.whole {
                ui.label("Drawn as far as its legs can be read.");
            }
        }
        None => {
            ui.label("No line can be drawn yet: it needs a start and an azimuth.");
        }
    }
    let interval_m = page.sketch.contours.1;
    if interval_m > 0.0 {
        let apart = units.distance(interval_m);
        ui.label(format!("From above; {apart} of height between contours"));
    } else {
        ui.label("From above; two lines in different directions make a hillside");
    }
    picture::plan(ui, &page.sketch, units, height);
}
