//! A path that is typed or pasted, with its folders completed.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{Key, TextEdit, Ui};

use super::files::{OpenedAs, completions, typed_path};
use crate::page::named;

/// A path as it is being typed.
#[derive(Clone, Debug, Default)]
pub(crate) struct TypedPath {
    /// The text.
    pub(crate) text: String,
    /// What was typed when suggestions were last looked for, and what was found.
    suggested: Option<(String, Vec<String>)>,
}

/// What is asked for.
pub(crate) struct Asked<'a> {
    /// The words before the field.
    pub(crate) words: &'a str,
    /// The field's name for those who hear the page.
    pub(crate) name: &'a str,
    /// What is to be typed, as an example.
    pub(crate) hint: &'a str,
    /// The word of the button.
    pub(crate) button: &'a str,
    /// Which files are suggested; folders alone for one that is to be written.
    pub(crate) wanted: Option<OpenedAs>,
    /// The home folder, that `~/` stands for.
    pub(crate) home: Option<&'a Path>,
}

impl TypedPath {
    /// Draws field, button and suggestions; the path, once it is meant.
    pub(crate) fn show(&mut self, ui: &mut Ui, asked: &Asked<'_>) -> Option<PathBuf> {
        let mut go = false;
        ui.horizontal_wrapped(|ui| {
            ui.label(asked.words);
            let width = (ui.available_width() - 80.0).clamp(160.0, 520.0);
            let field = TextEdit::singleline(&mut self.text).desired_width(width);
            let response = ui.add(field.hint_text(asked.hint));
            named(ui, &response, asked.name);
            go = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
            go |= ui.button(asked.button).clicked();
        });
        let is_new = self.suggested.as_ref().is_none_or(|(typed, _)| *typed != self.text);
        if is_new {
            let found = if self.text.trim().is_empty() {
                Vec::new()
            } else {
                completions(&self.text, asked.home, asked.wanted)
            };
            self.suggested = Some((self.text.clone(), found));
        }
        let mut meant = None;
        let path = typed_path(&self.text, asked.home);
        if go && path.is_dir() {
            if !self.text.ends_with('/') {
                self.text.push('/');
            }
        } else if go && !self.text.trim().is_empty() {
            meant = Some(path);
        }
        let found = self.suggested.as_ref().map_or(&[][..], |(_, found)| found);
        let mut chosen = None;
        ui.horizontal_wrapped(|ui| {
            for suggestion in found.iter().filter(|suggestion| **suggestion != self.text) {
                if ui.small_button(suggestion).clicked() {
                    chosen = Some(suggestion.clone());
                }
            }
        });
        if let Some(chosen) = chosen {
            if !chosen.ends_with('/') {
                meant = Some(typed_path(&chosen, asked.home));
            }
            self.text = chosen;
        }
        meant
    }
}
