//! The panel of a lesson: it asks, locks, and then shows one thing after the other.

use bevy_egui::egui::{Button, ProgressBar, RichText, ScrollArea, Ui};
use tumblewood::lesson::{Answer, words::NO_PERMISSION};

use super::{
    LessonMessage, LessonPage, Revealed, Step,
    ask::asking,
    map::{self, Seen},
    room,
};
use crate::{
    page::{fine, follow_keyboard, readable, wrong},
    panel::{CAUTION, caution_under_counts},
};

/// Draws the panel.
pub(crate) fn lesson_page(ui: &mut Ui, page: &mut LessonPage) -> Vec<LessonMessage> {
    let mut messages = Vec::new();
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.label(fine(NO_PERMISSION));
    ui.separator();
    ScrollArea::vertical().id_salt(("lesson", page.step)).auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 12.0);
        head(ui, page, &mut messages);
        match page.step {
            Step::Asking => asking(ui, page, &mut messages),
            Step::Dropping => dropping(ui, page, &mut messages),
            Step::One | Step::Many | Step::Worst | Step::Why => shown(ui, page, &mut messages),
        }
        if let Some(said) = &page.said {
            ui.label(wrong(said));
        }
        follow_keyboard(ui);
    });
    messages
}

fn head(ui: &mut Ui, page: &mut LessonPage, messages: &mut Vec<LessonMessage>) {
    let place = match page.place {
        [i, of] if of > 1 => format!("Lesson {} of {of}: ", i + 1),
        _ => String::new(),
    };
    ui.heading(format!("{place}{}", page.lesson.title));
    ui.label(&page.lesson.about);
    if page.job.scene.invented {
        ui.label("Invented: no such place.");
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("All lessons").clicked() {
            messages.push(LessonMessage::Back);
        }
        if page.step == Step::Asking {
            let is_room = page.room.is_some();
            if ui.selectable_label(is_room, "A room answers").clicked() {
                page.for_room(!is_room, messages);
            }
        }
        let large = page.large;
        if ui.selectable_label(large, "Large letters").clicked() {
            messages.push(LessonMessage::Large(!large));
        }
    });
    ui.separator();
}

fn dropping(ui: &mut Ui, page: &LessonPage, messages: &mut Vec<LessonMessage>) {
    ui.label("The answers are locked. Now it is dropped.");
    for (question, answer) in page.lesson.questions.iter().zip(page.said_of_answers()) {
        ui.label(RichText::new(&question.ask).strong());
        ui.label(answer);
    }
    if let Some(share) = page.running {
        ui.add(ProgressBar::new(share).text(format!("{:.0} % of the drops", 100.0 * share)));
        if ui.button("Cancel").clicked() {
            messages.push(LessonMessage::Cancel);
        }
    } else if ui.button("Drop it again").clicked() {
        page.ask(messages);
    }
}

/// What is shown now comes first, with the button to what is next; below it stands what the drops say.
fn shown(ui: &mut Ui, page: &mut LessonPage, messages: &mut Vec<LessonMessage>) {
    let Some(revealed) = page.revealed.clone() else { return };
    match page.step {
        Step::Asking | Step::Dropping => return,
        Step::One => {
            ui.label(format!(
                "First one drop, at true speed: drop {}, the first of those that go as most do.",
                revealed.shown
            ));
            go_on(ui, page, messages, "Show all drops", Step::Many);
            return;
        }
        Step::Many => {
            let cut = revealed.renewed.run.forecast.cuts.first();
            let drops = cut.map_or(0, |cut| cut.drops());
            ui.label(format!(
                "All {drops} drops on the ground as told, each a track on the bank. What is shown \
                 is the model's, not a log's."
            ));
            go_on(ui, page, messages, "Show the worst drop", Step::Worst);
        }
        Step::Worst => {
            match revealed.worst {
                Some(worst) => ui.label(format!(
                    "The worst: drop {worst}, by what it touches, then by how far it runs. One \
                     drop grades nobody."
                )),
                None => ui.label("There is no worst drop: the piece left the spar in none."),
            };
            go_on(ui, page, messages, "Why", Step::Why);
        }
        Step::Why => why(ui, page, &revealed, messages),
    }
    found(ui, page, &revealed);
}

/// Each question with its answer, what happened, and what the answer's score means.
fn found(ui: &mut Ui, page: &mut LessonPage, revealed: &Revealed) {
    if page.room.is_some() {
        room::found(ui, page, revealed);
        return;
    }
    for (i, (question, found)) in page.lesson.questions.iter().zip(&revealed.found).enumerate() {
        ui.separator();
        ui.label(RichText::new(format!("{}. {}", i + 1, question.ask)).strong());
        let answer = found.answer.as_deref().unwrap_or("left out");
        ui.label(format!("Your answer: {answer}."));
        for line in &found.happened {
            ui.label(line);
        }
        if !found.points_m.is_empty() {
            let mark = match page.locked.get(i) {
                Some(Some(Answer::Mark { at_m, radius_m })) => Some((*at_m, *radius_m)),
                _ => None,
            };
            let name = format!("The bank from above, answer {}", i + 1);
            let seen = Seen { mark, others: &[], drops_m: &found.points_m };
            map::map(ui, &page.bank, &name, seen, false);
        }
        for line in &found.scored {
            ui.label(RichText::new(line).italics());
        }
    }
    caution_under_counts(ui);
}

fn why(ui: &mut Ui, page: &mut LessonPage, revealed: &Revealed, messages: &mut Vec<LessonMessage>) {
    ui.heading("Why");
    ui.label(&revealed.why);
    for caution in &page.lesson.cautions {
        ui.label(RichText::new(caution).strong());
    }
    ui.separator();
    ui.heading("Change one thing and try again");
    ui.label(&revealed.try_next);
    ui.horizontal_wrapped(|ui| {
        let change = ui.button("Change one thing…");
        if std::mem::take(&mut page.fresh) {
            change.request_focus();
        }
        if change.clicked() {
            messages.push(LessonMessage::Try);
        }
        let [i, of] = page.place;
        if ui.add_enabled(i + 1 < of, Button::new("Next lesson")).clicked() {
            messages.push(LessonMessage::Next);
        }
        if ui.button("How near your answers come").clicked() {
            messages.push(LessonMessage::Scores);
        }
    });
    if page.room.is_some() {
        room::sheet(ui, page, revealed.sheet.as_bytes());
        ui.label(fine(revealed.stamp.line()));
        return;
    }
    match (&revealed.kept, &page.record) {
        (Ok(0), _) | (_, None) => ui.label(fine("No answer was kept.")),
        (Ok(kept), Some(record)) => {
            let answers = if *kept == 1 { "answer" } else { "answers" };
            ui.label(fine(format!("{kept} {answers} kept in {}.", record.display())))
        }
        (Err(why), _) => ui.label(wrong(format!("The answers could not be kept: {why}"))),
    };
    ui.label(fine(revealed.stamp.line()));
}

/// The button to what is shown next; it has the keyboard.
fn go_on(
    ui: &mut Ui,
    page: &mut LessonPage,
    messages: &mut Vec<LessonMessage>,
    words: &str,
    to: Step,
) {
    let button = ui.button(RichText::new(words).strong());
    if page.fresh {
        page.fresh = false;
        button.request_focus();
    }
    if button.clicked() {
        page.go(to, messages);
    }
}
