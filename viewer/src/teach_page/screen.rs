//! The page: a form from top to bottom, in the order in which a trainer thinks.

use bevy_egui::egui::{
    Button, ComboBox, DragValue, Grid, ProgressBar, Response, RichText, ScrollArea, TextEdit, Ui,
};
use tumblewood::{
    forecast::Progress,
    lesson::claim::words as words_of,
    scene::{
        edit::Field,
        model::{CaseSpec, Event, FACTS},
    },
};

use super::{TeachMessage, TeachPage};
use crate::{
    page::{fine, follow_keyboard, named, readable, wrong},
    panel::CAUTION,
};

/// Events that a question between cases can be about, beside reaching a target.
const EVENTS: [Event; 7] = [
    Event::Tumbled,
    Event::Rolled,
    Event::Slid,
    Event::Stayed,
    Event::SitsBack,
    Event::LiesBarely,
    Event::NotAtRest,
];

/// Draws the page; `is_saved` tells that the scene has a file and nothing unsaved.
pub(crate) fn teach_page(
    ui: &mut Ui,
    page: &mut TeachPage,
    file: Option<&std::path::Path>,
) -> Vec<TeachMessage> {
    let mut messages = Vec::new();
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.horizontal_wrapped(|ui| {
        ui.heading(format!("A lesson of {}", page.scene.name));
        if ui.button("Back").clicked() {
            messages.push(TeachMessage::Back);
        }
    });
    ui.separator();
    ScrollArea::vertical().id_salt("teach").auto_shrink(false).show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 12.0);
        about(ui, page);
        kept(ui, page);
        changed(ui, page);
        asked(ui, page);
        words(ui, page);
        claimed(ui, page, &mut messages);
        ui.add_space(6.0);
        let mut is_new = false;
        ui.horizontal_wrapped(|ui| {
            if ui.button(RichText::new("Put the lesson into the scene").strong()).clicked() {
                is_new = true;
                match page.checked() {
                    Ok(lesson) => {
                        messages.push(TeachMessage::Put(Box::new(lesson)));
                        let said = "The lesson stands in the scene. It is saved with it, and can be \
                                    undone like any change.";
                        page.said = Some(Ok(said.to_owned()));
                    }
                    Err(why) => page.said = Some(Err(why)),
                }
            }
            if ui.button("Save the scene as…").clicked() {
                messages.push(TeachMessage::SaveAs);
            }
            let saved = file.filter(|_| page.scene.lesson.is_some());
            let take = ui.add_enabled(saved.is_some(), Button::new("Take it"));
            let hint = "Once the lesson stands in the scene and the scene is saved";
            if take.on_disabled_hover_text(hint).clicked() {
                messages.extend(saved.map(|file| TeachMessage::Take(file.to_owned())));
            }
            let has_one = page.scene.lesson.is_some();
            if ui.add_enabled(has_one, Button::new("Take the lesson out")).clicked() {
                messages.push(TeachMessage::Remove);
                page.said = None;
            }
        });
        let said = match &page.said {
            Some(Ok(said)) => Some(ui.label(said)),
            Some(Err(why)) => Some(ui.label(wrong(why))),
            None => None,
        };
        if let Some(said) = said.filter(|_| is_new) {
            said.scroll_to_me(None);
            ui.ctx().request_repaint();
        }
        part(ui, "A course");
        let saved = file.filter(|_| page.scene.lesson.is_some());
        page.course.show(ui, saved);
        follow_keyboard(ui);
    });
    messages
}

/// A part of the form with its name over it.
fn part(ui: &mut Ui, name: &str) {
    ui.add_space(10.0);
    ui.heading(name);
}

/// A field of one line or more with its label before it.
fn field(ui: &mut Ui, label: &str, text: &mut String, rows: usize) -> Response {
    ui.label(label);
    let field = match rows {
        1 => TextEdit::singleline(text),
        rows => TextEdit::multiline(text).desired_rows(rows),
    };
    let response = ui.add(field.desired_width(f32::INFINITY));
    named(ui, &response, label);
    response
}

fn about(ui: &mut Ui, page: &mut TeachPage) {
    part(ui, "What it is about");
    field(ui, "Title", &mut page.draft.title, 1);
    field(ui, "The one thing", &mut page.draft.about, 1);
    field(ui, "What the learner is told", &mut page.draft.situation, 3);
    ui.horizontal_wrapped(|ui| {
        ui.label("Cut");
        let mut chosen = page.draft.cut.clone();
        let list =
            ComboBox::from_id_salt("cut of the lesson").selected_text(&chosen).show_ui(ui, |ui| {
                for cut in &page.scene.cuts {
                    ui.selectable_value(&mut chosen, cut.id.clone(), &cut.id);
                }
            });
        named(ui, &list.response, "Cut");
        if chosen != page.draft.cut {
            page.ask_about(&chosen);
        }
        for (label, number, range) in [
            ("Drops", &mut page.draft.drops, 10..=2_000),
            ("Other grounds", &mut page.draft.grounds, 0..=24),
        ] {
            ui.label(label);
            let response = ui.add(DragValue::new(number).range(range));
            named(ui, &response, label);
        }
        ui.label("Seed");
        let response = ui.add(DragValue::new(&mut page.draft.seed));
        named(ui, &response, "Seed");
    });
    ui.label(fine("One seed, one answer: two rooms that use it see the same drops."));
}

fn kept(ui: &mut Ui, page: &mut TeachPage) {
    part(ui, "Kept until it is asked for, as on site");
    let mut turned = None;
    for offered in &page.keepable {
        let at = page.draft.hidden.iter().position(|h| h.id == offered.id);
        let mut is_kept = at.is_some();
        if ui.checkbox(&mut is_kept, &offered.what).changed() {
            turned = Some((at, offered.clone()));
        }
        if let Some(hidden) = at.and_then(|at| page.draft.hidden.get_mut(at)) {
            ui.indent(("kept", &offered.id), |ui| {
                field(ui, "Found with", &mut hidden.by, 1);
                field(ui, "What is found", &mut hidden.finds, 1);
            });
        }
    }
    match turned {
        Some((Some(at), _)) => {
            page.draft.hidden.remove(at);
        }
        Some((None, offered)) => page.draft.hidden.push(offered),
        None => {}
    }
}

fn changed(ui: &mut Ui, page: &mut TeachPage) {
    part(ui, "What is changed, to be set beside it");
    if let Some(own) = page.draft.cases.first_mut() {
        field(ui, "The scene as it stands is called", &mut own.label, 1);
    }
    let (mut away, mut change) = (None, None);
    // A case that comes moves the button that called it: the keyboard is led to what is new.
    let new_case = page.new_case.take();
    for index in 1..page.draft.cases.len() {
        let names: Vec<String> =
            page.changeable.iter().map(|(of, f)| format!("{of}: {}", f.label)).collect();
        let (Some(case), Some(typing)) =
            (page.draft.cases.get_mut(index), page.typing.get_mut(index - 1))
        else {
            continue;
        };
        ui.push_id(("case", index), |ui| {
            ui.separator();
            let called = field(ui, "Called", &mut case.label, 1);
            if new_case == Some(index) {
                called.request_focus();
            }
            for words in changes(case, &page.changeable) {
                ui.label(fine(words));
            }
            ui.horizontal_wrapped(|ui| {
                let chosen = names.get(typing.field).map_or("", String::as_str);
                let list =
                    ComboBox::from_id_salt("field").selected_text(chosen).show_ui(ui, |ui| {
                        for (i, name) in names.iter().enumerate() {
                            ui.selectable_value(&mut typing.field, i, name);
                        }
                    });
                named(ui, &list.response, "Field that is changed");
                let there = page.changeable.get(typing.field).map_or("", |(_, f)| f.text.as_str());
                let line = TextEdit::singleline(&mut typing.text).desired_width(120.0);
                let response = ui.add(line.hint_text(there));
                named(ui, &response, "What it becomes");
                let entered = response.lost_focus()
                    && ui.input(|input| input.key_pressed(bevy_egui::egui::Key::Enter));
                if ui.button("Change it").clicked() || entered {
                    change = Some(index);
                }
                if ui.button("Away with it").clicked() {
                    away = Some(index);
                }
            });
            if let Some(why) = &typing.wrong {
                ui.label(wrong(why));
            }
        });
    }
    if let Some(index) = change {
        page.change_case(index);
    }
    if let Some(index) = away {
        page.remove_case(index);
    }
    if ui.button("Something changed…").clicked() {
        page.add_case();
    }
}

/// What a case changes, in the words of the form.
pub(super) fn changes(case: &CaseSpec, changeable: &[(String, Field)]) -> Vec<String> {
    let words = case.set.iter().map(|(path, value)| {
        let field = changeable.iter().find(|(_, field)| field.path == *path);
        let called =
            field.map_or_else(|| path.clone(), |(of, field)| format!("{of}: {}", field.label));
        format!("{called} becomes {}", value.trim_matches('"'))
    });
    words.collect()
}

fn asked(ui: &mut Ui, page: &mut TeachPage) {
    part(ui, "What is asked");
    let cases: Vec<String> = page.draft.cases.iter().map(|case| case.label.clone()).collect();
    let mut choose = None;
    Grid::new("asked").num_columns(2).min_col_width(16.0).show(ui, |ui| {
        for (i, offered) in page.offered.iter().enumerate() {
            let at = page.draft.questions.iter().position(|q| q.id == offered.id);
            let mut is_asked = at.is_some();
            let response = ui.checkbox(&mut is_asked, "");
            named(ui, &response, &format!("Ask: {}", offered.ask));
            if response.changed() {
                choose = Some((i, is_asked));
            }
            ui.horizontal_wrapped(|ui| match at.and_then(|at| page.draft.questions.get_mut(at)) {
                None => {
                    ui.label(&offered.ask);
                }
                Some(question) => {
                    let line = TextEdit::singleline(&mut question.ask).desired_width(420.0);
                    let response = ui.add(line);
                    named(ui, &response, "Question");
                    let is_between =
                        matches!(question.asked, tumblewood::scene::model::Asked::Fewest { .. });
                    if cases.len() > 1 && !is_between {
                        let chosen = cases.get(question.of).map_or("", String::as_str);
                        let list = ComboBox::from_id_salt(("of", i))
                            .selected_text(format!("of: {chosen}"))
                            .show_ui(ui, |ui| {
                                for (k, label) in cases.iter().enumerate() {
                                    ui.selectable_value(&mut question.of, k, label);
                                }
                            });
                        named(ui, &list.response, "Asked of");
                    }
                }
            });
            ui.end_row();
        }
    });
    if let Some((i, is_asked)) = choose {
        page.choose(i, is_asked);
    }
    if cases.len() > 1 {
        ui.horizontal_wrapped(|ui| {
            ui.label("Ask in which of them it is least often that");
            let reaching: Vec<Event> =
                page.scene.targets.iter().map(|t| Event::Reaches(t.id.clone())).collect();
            for event in reaching.into_iter().chain(EVENTS) {
                let words = format!("it {}", event.said());
                if ui.small_button(&words).clicked() {
                    page.ask_fewest(event, &words);
                }
            }
        });
    }
}

fn words(ui: &mut Ui, page: &mut TeachPage) {
    part(ui, "What is said after");
    field(ui, "Why", &mut page.draft.why, 4);
    ui.collapsing("Numbers of the run that words can name", |ui| {
        ui.label(fine(
            "In braces, such as {shown_speed}; for something changed with its name before it, such \
             as {other-2.far}. An event's word gives its count: {tumbled}, {reaches:shed}.",
        ));
        Grid::new("facts").num_columns(2).show(ui, |ui| {
            for (fact, means) in FACTS {
                ui.label(RichText::new(format!("{{{fact}}}")).monospace());
                ui.label(means);
                ui.end_row();
            }
        });
    });
    field(ui, "Then try", &mut page.draft.try_next, 2);
    field(ui, "Cautions, one a line", &mut page.cautions, 3);
}

/// What the forecast must give, so that a change of the program is noticed that takes the lesson its
/// point.
fn claimed(ui: &mut Ui, page: &mut TeachPage, messages: &mut Vec<TeachMessage>) {
    part(ui, "What the forecast must give");
    ui.label(fine(
        "Measured by the lesson's own drops; tumblewood practice FILE --check says whether a later \
         version still gives it.",
    ));
    for claim in &page.draft.claims {
        ui.label(words_of(claim, &page.draft, page.scene.units));
    }
    if let Some(progress) = page.running {
        let share = progress.done as f32 / progress.total.max(1) as f32;
        ui.add(ProgressBar::new(share).text(format!("{:.0} % of the drops", 100.0 * share)));
        if ui.button("Cancel").clicked() {
            messages.push(TeachMessage::Cancel);
        }
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let measure = ui.add_enabled(page.is_put(), Button::new("Measure it"));
        if measure
            .on_disabled_hover_text("Once the lesson stands in the scene as it is here")
            .clicked()
        {
            page.running = Some(Progress { done: 0, total: 0, reached: 0 });
            page.said = None;
            messages.push(TeachMessage::Measure);
        }
        let has = !page.draft.claims.is_empty();
        if ui.add_enabled(has, Button::new("Claim nothing")).clicked() {
            page.draft.claims.clear();
        }
    });
}
