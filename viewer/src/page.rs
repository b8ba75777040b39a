//! What all pages share: letters that can be read in sunlight, how wrong things are said, names for
//! those who hear the page, and a page that follows the keyboard.

use bevy_egui::egui::{Color32, Id, Key, Response, RichText, Stroke, Ui, accesskit::Role, vec2};

use crate::chart::{INK, SOFT};

/// Letters that say what is wrong.
const WRONG: Color32 = Color32::from_rgb(0x9c, 0x1c, 0x14);

/// Dark letters and an edge round every field and button, to be read in sunlight.
pub(crate) fn readable(ui: &mut Ui) {
    let visuals = ui.visuals_mut();
    visuals.override_text_color = Some(INK);
    visuals.widgets.inactive.bg_stroke = Stroke::new(1.0, SOFT.gamma_multiply(0.7));
}

/// What is wrong: a sign, bold letters and a colour.
#[must_use]
pub(crate) fn wrong(text: impl AsRef<str>) -> RichText {
    RichText::new(format!("✖ {}", text.as_ref())).color(WRONG).strong()
}

/// Words of second rank, a little smaller than the page's.
#[must_use]
pub(crate) fn fine(text: impl Into<String>) -> RichText {
    RichText::new(text).size(11.0)
}

/// Words that begin a line of their own, with a capital.
#[must_use]
pub(crate) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Names a field, a list or a sign for those who hear the page: the word that stands beside it is
/// not its own.
pub(crate) fn named(ui: &Ui, response: &Response, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
}

/// The same for what is drawn here: those who hear the page are told what it is as well.
pub(crate) fn described(ui: &Ui, response: &Response, role: Role, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(role);
        node.set_label(name);
    });
}

/// Scrolls to what the keyboard has just come to, and by a page with Page up and Page down; to be
/// called last inside a scrolled part of the page.
pub(crate) fn follow_keyboard(ui: &mut Ui) {
    let by_page = 0.9 * ui.clip_rect().height();
    for (key, way) in [(Key::PageDown, -by_page), (Key::PageUp, by_page)] {
        if ui.input(|input| input.key_pressed(key)) {
            ui.scroll_with_delta(vec2(0.0, way));
            ui.ctx().request_repaint();
        }
    }
    follow_focus(ui);
}

/// Scrolls to what the keyboard has just come to, if it lies in this scrolled part of the page.
pub(crate) fn follow_focus(ui: &mut Ui) {
    let Some(focused) = ui.memory(|memory| memory.focused()) else { return };
    let Some(response) = ui.ctx().read_response(focused) else { return };
    if response.layer_id != ui.layer_id() {
        return;
    }
    // What is elsewhere on the page is clipped to its own part, not to this one.
    let seen = response.interact_rect;
    if seen.is_positive() && !ui.clip_rect().expand(1.0).contains_rect(seen) {
        return;
    }
    let last = Id::new("follow_focus");
    let before = ui.data_mut(|data| {
        let before = data.get_temp::<Id>(last);
        data.insert_temp(last, focused);
        before
    });
    if before != Some(focused) {
        ui.scroll_to_rect(response.rect, None);
        ui.ctx().request_repaint();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::ScrollArea;
    use egui_kittest::{Harness, kittest::Queryable};

    #[test]
    fn verif_a_line_begins_with_a_capital() {
        for (words, wanted) in
            [("", ""), ("a first answer", "A first answer"), ("2 m", "2 m"), ("élan", "Élan")]
        {
            assert_eq!(sentence(words), wanted);
        }
    }

    #[test]
    fn prop_the_page_follows_the_keyboard() {
        let mut harness = Harness::builder().with_size(vec2(200.0, 100.0)).build_ui(|ui| {
            let _ = ui.button("above");
            ScrollArea::vertical().show(ui, |ui| {
                for i in 0..30 {
                    let _ = ui.button(format!("button {i}"));
                }
                follow_keyboard(ui);
            });
        });
        harness.run();
        let seen = |harness: &Harness<'_>, name: &str| {
            let rect = harness.get_by_label(name).rect();
            rect.top() >= 0.0 && rect.bottom() <= 100.0
        };
        assert!(!seen(&harness, "button 20"));
        harness.key_press(Key::PageDown);
        harness.run();
        assert!(!seen(&harness, "button 0") && seen(&harness, "button 4"));
        for _ in 0..22 {
            harness.key_press(Key::Tab);
            harness.run();
        }
        assert!(harness.get_by_label("button 20").is_focused() && seen(&harness, "button 20"));
    }
}
