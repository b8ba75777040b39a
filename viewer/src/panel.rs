//! The panel at the right: what is known, what is shown, what can be changed.

mod change;
mod forecast;
mod look;
mod pull;

use bevy_egui::egui::{self, Key, KeyboardShortcut, Modifiers, RichText, ScrollArea, Ui};
use tumblewood::report::stamp::NOT_COMPARED;

use crate::{
    desk::{Desk, Leaving, Screen, Tab},
    page::follow_keyboard,
    wish::Wish,
};

/// Its width, in points.
pub(crate) const PANEL_WIDTH: f32 = 372.0;

pub(crate) const UNDO: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::Z);
pub(crate) const REDO: KeyboardShortcut =
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::Z);
pub(crate) const SAVE: KeyboardShortcut = KeyboardShortcut::new(Modifiers::COMMAND, Key::S);

/// Lower than this, points, all of the panel scrolls: large letters leave too little below its head.
const LOW: f32 = 520.0;

/// Draws the panel of the hillside.
pub(crate) fn panel(ui: &mut Ui, desk: &Desk, azimuth_rad: f32, wishes: &mut Vec<Wish>) {
    let low = ui.available_height() < LOW;
    if !low {
        head(ui, desk, wishes);
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        // Rows keep clear of the bar that scrolls them.
        ui.set_max_width(ui.available_width() - 12.0);
        if low {
            head(ui, desk, wishes);
        }
        match desk.tab {
            Tab::Forecast => forecast::tab(ui, desk, wishes),
            Tab::Pull => pull::tab(ui, desk, wishes),
            Tab::Change => change::tab(ui, desk, wishes),
            Tab::View => look::tab(ui, desk, azimuth_rad, wishes),
        }
        follow_keyboard(ui);
    });
}

/// What stands over every part of the panel.
fn head(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    caution(ui);
    ui.separator();
    file(ui, desk, wishes);
    ui.separator();
    ui.horizontal_wrapped(|ui| {
        for (tab, word) in [
            (Tab::Forecast, "Forecast"),
            (Tab::Pull, "Pull and hinge"),
            (Tab::Change, "Change"),
            (Tab::View, "View"),
        ] {
            if ui.selectable_label(desk.tab == tab, RichText::new(word).strong()).clicked() {
                wishes.push(Wish::Tab(tab));
            }
        }
        if ui.button("Compare lengths…").clicked() {
            wishes.push(Wish::Go(Screen::Compare));
        }
        if ui.button("Make a lesson…").clicked() {
            wishes.push(Wish::Go(Screen::Teach));
        }
    });
    ui.separator();
}

/// The first caution, above everything else.
pub(crate) const CAUTION: &str = "The model has not been compared with dropped logs. A planning \
     aid, not a clearance; local codes and licensed practice decide. Stop if tree, ground or \
     weather is not as described.";

fn caution(ui: &mut Ui) {
    ui.label(RichText::new(CAUTION).strong());
}

/// What stands under every count.
pub(crate) fn caution_under_counts(ui: &mut Ui) {
    ui.label(
        RichText::new(format!(
            "{NOT_COMPARED} Not a clearance. No one goes below until what lies on the bank is \
             secured."
        ))
        .small(),
    );
}

/// The scene's name and what can be done with its file.
fn file(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(document) = &desk.document else { return };
    let scene = desk.job.as_ref().map(|job| &job.scene);
    let name = scene.map_or("This scene can't be read", |scene| scene.name.as_str());
    ui.heading(name);
    if scene.is_some_and(|scene| scene.invented) {
        ui.label("Invented: no such place.");
    }
    ui.horizontal_wrapped(|ui| {
        let mut button = |ui: &mut Ui, word: &str, enabled: bool, hover: String, wish: Wish| {
            if ui.add_enabled(enabled, egui::Button::new(word)).on_hover_text(hover).clicked() {
                wishes.push(wish);
            }
        };
        let short = |shortcut: &KeyboardShortcut| ui.ctx().format_shortcut(shortcut);
        let (undo, redo, save) = (short(&UNDO), short(&REDO), short(&SAVE));
        if desk.is_trying {
            let back = Wish::Leave(Leaving::Lesson);
            button(
                ui,
                "Back to the lesson",
                true,
                "What was changed here is not kept".into(),
                back,
            );
        }
        button(
            ui,
            "All scenes",
            true,
            "Back to the first page".into(),
            Wish::Leave(Leaving::Start),
        );
        // What is here is nowhere else, whether it was changed or its file went away.
        let dirty = document.is_dirty() || desk.told_of_disk;
        button(ui, if dirty { "Save *" } else { "Save" }, dirty, save, Wish::Save);
        let named = document.path().map_or_else(String::new, |path| path.display().to_string());
        let ask = Wish::Ask(crate::desk::Question::SaveAs(named));
        button(ui, "Save as…", true, "Under another name".into(), ask);
        let undone = document.undo_name();
        let words = undone.map_or("Nothing to undo".to_owned(), |name| format!("{name} ({undo})"));
        button(ui, "Undo", undone.is_some(), words, Wish::Undo);
        let redone = document.redo_name();
        let words = redone.map_or("Nothing to redo".to_owned(), |name| format!("{name} ({redo})"));
        button(ui, "Redo", redone.is_some(), words, Wish::Redo);
    });
    if let Some(why) = document.keep_error() {
        ui.label(RichText::new("What is not saved can't be kept beside the file:").strong());
        ui.label(why);
    }
    if let Some(error) = &desk.trouble {
        let words = "The scene can't be read as it is. What is shown is what it was before. The \
                     file is read again as soon as it changes.";
        ui.label(RichText::new(words).strong());
        ScrollArea::horizontal().id_salt("error").show(ui, |ui| {
            ui.label(RichText::new(error).monospace().small());
        });
    }
}

#[cfg(test)]
mod tests;
