//! What a lesson tells and asks, before anything of the forecast is shown.

use bevy_egui::egui::{Button, Response, RichText, TextEdit, Ui};
use tumblewood::lesson::{Answer, Form, Terms};

use super::{
    LessonMessage, LessonPage,
    map::{self, Seen},
    room,
};
use crate::page::{fine, named, sentence, wrong};

/// An answer as it is being made.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Draft {
    /// The option that was chosen.
    pub(crate) option: Option<usize>,
    /// How sure, in 100.
    pub(crate) sure: String,
    /// The ends of a range.
    pub(crate) ends: [String; 2],
    /// A chance or a mark.
    pub(crate) text: String,
}

impl Draft {
    /// The answer as one would type it in a terminal; nothing where nothing was said.
    pub(crate) fn typed(&self, form: &Form) -> Option<String> {
        let said = |text: &str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
        match form {
            Form::Options(_) => {
                let option = self.option?;
                Some(format!("{} {} %", option + 1, self.sure.trim().trim_end_matches('%').trim()))
            }
            Form::Chance | Form::Mark => said(&self.text),
            Form::Range(_) => {
                let [low, high] = &self.ends;
                (said(low).is_some() || said(high).is_some())
                    .then(|| format!("{} to {}", low.trim(), high.trim()))
            }
        }
    }
}

impl Draft {
    /// What is made of it; nothing where nothing was said.
    ///
    /// # Errors
    /// What is wrong and what is allowed, in words.
    pub(super) fn read(&self, form: &Form, terms: &Terms) -> Result<Option<Answer>, String> {
        let Some(typed) = self.typed(form) else { return Ok(None) };
        if matches!(form, Form::Options(_)) && self.sure.trim().is_empty() {
            return Err("how sure is not said; allowed: a number from 0 to 100".to_owned());
        }
        Answer::read(&typed, form, terms).map(Some)
    }
}

/// Situation, what may be found out, questions and the lock.
pub(super) fn asking(ui: &mut Ui, page: &mut LessonPage, messages: &mut Vec<LessonMessage>) {
    ui.label(&page.lesson.situation);
    found_out(ui, page);
    for i in 0..page.lesson.questions.len() {
        question(ui, page, i);
    }
    ui.separator();
    let left_out = page.left_out();
    if left_out > 0 && left_out < page.lesson.questions.len() {
        ui.label(format!("{left_out} left out: nothing is said or kept of those."));
    }
    let can = left_out < page.lesson.questions.len() && page.running.is_none();
    let lock = Button::new(RichText::new("Lock the answer").strong());
    if ui.add_enabled(can, lock).clicked() {
        page.lock(messages);
    }
    ui.label(fine("Nothing of the forecast is shown before. Locked, it can't be changed."));
    room::sheet_to_fill_in(ui, page);
}

/// What isn't known until it is asked for, as on site.
fn found_out(ui: &mut Ui, page: &mut LessonPage) {
    if page.lesson.hidden.is_empty() {
        return;
    }
    ui.add_space(4.0);
    ui.label(RichText::new("What you may find out first").strong());
    for (i, hidden) in page.lesson.hidden.iter().enumerate() {
        let is_known = page.found_out.contains(&i);
        ui.horizontal_wrapped(|ui| {
            // It stays where it is once pressed, and the keyboard with it.
            let button = Button::new(sentence(&hidden.by)).selected(is_known);
            if ui.add(button).clicked() {
                page.found_out.insert(i);
            }
            match is_known {
                true => ui.label(format!("{}.", sentence(&hidden.finds))),
                false => ui.label(format!("tells {}", hidden.what)),
            }
        });
    }
}

fn question(ui: &mut Ui, page: &mut LessonPage, i: usize) {
    let Some(question) = page.lesson.questions.get(i) else { return };
    let Some(form) = page.forms.get(i).cloned() else { return };
    let case = page.lesson.cases.get(question.of).filter(|_| question.of > 0);
    let case = case.map(|case| format!(" ({})", case.label)).unwrap_or_default();
    ui.separator();
    ui.label(RichText::new(format!("{}. {}{case}", i + 1, question.ask)).strong());
    let number = i + 1;
    if page.room.is_some() {
        room::asking(ui, page, i, &form);
    } else {
        let name = format!("answer {number}");
        if let Some(draft) = page.draft_mut(i) {
            answer(ui, &form, draft, &name);
        }
        if form == Form::Mark {
            let mark = page.mark_of(i);
            let seen = Seen { mark, others: &[], drops_m: &[] };
            by_hand(ui, page, i, seen);
        }
    }
    if !matches!(form, Form::Options(_) | Form::Chance | Form::Mark) {
        ui.label(fine(form.allowed()));
    }
    if page.tried
        && let Some(why) = page.wrong_with(i)
    {
        ui.label(wrong(why));
    }
}

/// The mark of a question on the bank from above, put there by hand or keys.
pub(super) fn by_hand(ui: &mut Ui, page: &mut LessonPage, i: usize, seen: Seen<'_>) {
    let name = format!("The bank from above, answer {}", i + 1);
    if let Some(mark) = map::map(ui, &page.bank, &name, seen, true) {
        page.put_mark(i, mark);
    }
    ui.label(fine(format!(
        "Click it here or on the hillside, move it with the arrows, or type {}.",
        Form::Mark.allowed()
    )));
}

/// The fields of one learner's answer; `name` tells it from others.
fn answer(ui: &mut Ui, form: &Form, draft: &mut Draft, name: &str) {
    if let Form::Options(options) = form {
        for (k, option) in options.iter().enumerate() {
            if ui.radio(draft.option == Some(k), option).clicked() {
                draft.option = Some(k);
            }
        }
        ui.horizontal_wrapped(|ui| {
            ui.label("How sure");
            field(ui, &mut draft.sure, 50.0, "70", &format!("How sure of {name}"));
            ui.label("in 100");
        });
        return;
    }
    ui.horizontal_wrapped(|ui| typed(ui, form, draft, name));
}

/// The fields of an answer that is typed: a chance, a range or a mark.
pub(super) fn typed(ui: &mut Ui, form: &Form, draft: &mut Draft, name: &str) {
    match form {
        Form::Options(_) => {}
        Form::Chance => {
            field(ui, &mut draft.text, 50.0, "35", &format!("How often, {name}"));
            ui.label("in 100");
        }
        Form::Range(_) => {
            ui.label("8 in 10 between");
            let [low, high] = &mut draft.ends;
            field(ui, low, 80.0, "", &format!("Low end of {name}"));
            ui.label("and");
            field(ui, high, 80.0, "", &format!("High end of {name}"));
        }
        Form::Mark => {
            field(ui, &mut draft.text, 250.0, "", &format!("Mark of {name}"));
        }
    }
}

/// A field with its name for those who hear the page.
pub(super) fn field(
    ui: &mut Ui,
    text: &mut String,
    width: f32,
    hint: &str,
    name: &str,
) -> Response {
    let response = ui.add(TextEdit::singleline(text).desired_width(width).hint_text(hint));
    named(ui, &response, name);
    response
}
