//! Fields of the form: a row of words and fields with what is wrong under it.

use bevy_egui::egui::{self, ComboBox, RichText, TextEdit, Ui, vec2};

use super::{
    Complaint,
    form::{Kind, Noted, NotesForm, Spot, Sure, is_bare},
    words::{self, Word},
};
use crate::page::{named, wrong};

/// Width of the words before a field, points.
const BEFORE: f32 = 150.0;
/// Width of a field for a number, points.
const NUMBER: f32 = 56.0;

/// What every part of the form needs to draw its fields.
pub(super) struct Pen<'a> {
    /// The form as it stands: its units and its doubt.
    pub(super) units_of: NotesForm,
    /// What is wrong.
    pub(super) complaints: &'a [Complaint],
}

/// What is wrong at a field or group, under it.
pub(super) fn complaints_of(ui: &mut Ui, complaints: &[Complaint], field: &str) {
    for complaint in complaints.iter().filter(|complaint| complaint.field == field) {
        ui.label(wrong(&complaint.said));
    }
}

impl Pen<'_> {
    /// What is wrong at a field or group.
    pub(super) fn wrong(&self, ui: &mut Ui, field: &str) {
        complaints_of(ui, self.complaints, field);
    }

    /// A row of words and fields, with what is wrong under it.
    pub(super) fn row(&self, ui: &mut Ui, words: &str, fields: &[&str], add: impl FnOnce(&mut Ui)) {
        ui.horizontal_wrapped(|ui| {
            let left = egui::Layout::left_to_right(egui::Align::Center);
            ui.allocate_ui_with_layout(vec2(BEFORE, 18.0), left, |ui| {
                ui.set_min_width(BEFORE);
                ui.label(words);
            });
            add(ui);
        });
        for field in fields {
            self.wrong(ui, field);
        }
    }

    /// A number with its unit and how it is known; `name` says which it is.
    pub(super) fn number(&self, ui: &mut Ui, name: &str, noted: &mut Noted, kind: Kind) {
        let known = noted.sure != Sure::DontKnow;
        let field = TextEdit::singleline(&mut noted.text).desired_width(NUMBER);
        let response = ui.add_enabled(known, field);
        named(ui, &response, name);
        if is_bare(&noted.text) || noted.text.trim().is_empty() {
            ui.label(kind.unit(&self.units_of));
        }
        let form_doubt = self.units_of.doubt;
        let sure = ComboBox::from_id_salt(("sure", name))
            .width(70.0)
            .selected_text(noted.sure.shown(form_doubt, kind))
            .show_ui(ui, |ui| {
                for sure in Sure::OF_A_NUMBER {
                    let shown = match sure {
                        Sure::AsForm => format!("as above, {}", sure.shown(form_doubt, kind)),
                        _ => sure.shown(form_doubt, kind),
                    };
                    ui.selectable_value(&mut noted.sure, sure, shown);
                }
            });
        named(ui, &sure.response, &format!("How sure: {name}"));
    }

    /// One number in a row of its own.
    pub(super) fn number_row(
        &self,
        ui: &mut Ui,
        words: &str,
        field: &str,
        noted: &mut Noted,
        kind: Kind,
    ) {
        self.row(ui, words, &[field], |ui| self.number(ui, words, noted, kind));
    }

    /// A place by tape and compass in one row.
    pub(super) fn spot(&self, ui: &mut Ui, words: &str, path: &str, spot: &mut Spot) {
        let field = |part: &str| format!("{path}.{part}");
        let fields = [path.to_owned(), field("from"), field("azimuth"), field("distance")];
        let fields: Vec<&str> = fields.iter().map(String::as_str).collect();
        self.row(ui, words, &fields, |ui| {
            ui.label("from");
            words_field(ui, &format!("{words}: from"), &mut spot.from, 70.0, "stump");
            ui.label("toward");
            self.number(ui, &format!("{words}: toward"), &mut spot.azimuth, Kind::Turn);
            ui.label("level");
            self.number(ui, &format!("{words}: distance"), &mut spot.distance, Kind::Far);
        });
    }

    /// Buttons for the words of a test, and how the chosen one is found.
    pub(super) fn words(
        &self,
        ui: &mut Ui,
        words: &str,
        table: &[Word],
        chosen: &mut &'static str,
    ) {
        self.row(ui, words, &[], |ui| {
            for word in table {
                let button = ui.selectable_label(*chosen == word.file, word.shown);
                if button.on_hover_text(word.how).clicked() {
                    *chosen = word.file;
                }
            }
        });
        ui.label(RichText::new(words::how(table, chosen)).italics());
    }
}

/// A field for words; `name` says which it is.
pub(super) fn words_field(ui: &mut Ui, name: &str, text: &mut String, width: f32, hint: &str) {
    let field = TextEdit::singleline(text).desired_width(width).hint_text(hint);
    let response = ui.add(field);
    named(ui, &response, name);
}
