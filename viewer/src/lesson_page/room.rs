//! A room's answers: hands for each, counted and typed by whoever teaches; what the room said beside
//! the drops; and a sheet of it for the printer.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{ColorImage, Image, RichText, TextureHandle, TextureOptions, Ui};
use tumblewood::{
    lesson::{
        Answer, Form, Terms,
        tally::{Hands, Tally, read_hands},
    },
    report::{
        Stamp,
        lesson_sheet::{self, Sheet},
    },
    scene,
};

use super::{
    LessonPage, Revealed,
    ask::{Draft, by_hand, field, typed},
    map::{Mark, Seen},
    run,
};
use crate::{
    page::{fine, named, wrong},
    panel::caution_under_counts,
    start_page::{Asked, TypedPath},
};

/// One answer of a room, as it is being typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Counted {
    /// The answer.
    pub(crate) draft: Draft,
    /// How many hands.
    pub(crate) hands: String,
}

/// Where the sheet goes, and pictures of what it says.
#[derive(Default)]
pub(super) struct Printed {
    pub(super) path: TypedPath,
    /// Written by this page: may be written over.
    wrote: Option<PathBuf>,
    said: Option<Result<String, String>>,
    pictures: Vec<Option<TextureHandle>>,
}

/// Room for a question's answers: one for each option, else one to begin with.
pub(super) fn blank(form: &Form) -> Vec<Counted> {
    let options = if let Form::Options(options) = form { options.len() } else { 1 };
    let counted = |k| {
        let option = matches!(form, Form::Options(_)).then_some(k);
        Counted { draft: Draft { option, ..Draft::default() }, hands: String::new() }
    };
    (0..options).map(counted).collect()
}

/// What is made of a room's answers to a question; those of which nothing was typed are left out.
///
/// # Errors
/// What is wrong and what is allowed, in words.
pub(super) fn tally(counted: &[Counted], form: &Form, terms: &Terms) -> Result<Tally, String> {
    let mut tally = Tally::default();
    for Counted { draft, hands } in counted {
        // An option is there, whether anybody raises a hand for it or not.
        let is_option = matches!(form, Form::Options(_));
        if hands.trim().is_empty() && draft.sure.trim().is_empty() && is_option {
            continue;
        }
        match draft.read(form, terms)? {
            Some(answer) => tally.hands.push(Hands { answer, hands: read_hands(hands)? }),
            None if hands.trim().is_empty() => {}
            None => return Err(format!("hands and no answer; allowed: {}", form.allowed())),
        }
    }
    Ok(tally)
}

/// Fields for a room's answers to a question.
pub(super) fn asking(ui: &mut Ui, page: &mut LessonPage, i: usize, form: &Form) {
    let number = i + 1;
    let mut away = None;
    // A row that comes or goes moves all that is below it: the keyboard is led to where it was.
    let new_row = page.new_row.take_if(|(question, _)| *question == i);
    let Some(counted) = page.room.as_mut().and_then(|room| room.get_mut(i)) else { return };
    match form {
        Form::Options(options) => {
            ui.label(fine("For each: how many hands, and how sure they are in 100."));
            for (Counted { draft, hands }, option) in counted.iter_mut().zip(options) {
                ui.horizontal_wrapped(|ui| {
                    field(ui, hands, 34.0, "", &format!("Hands, question {number}: {option}"));
                    let name = format!("How sure, question {number}: {option}");
                    field(ui, &mut draft.sure, 34.0, "", &name);
                    ui.label(option);
                });
            }
        }
        _ => {
            let several = counted.len() > 1;
            for (k, Counted { draft, hands }) in counted.iter_mut().enumerate() {
                let name = format!("answer {} to question {number}", k + 1);
                ui.horizontal_wrapped(|ui| {
                    let hands = field(ui, hands, 36.0, "", &format!("Hands, {name}"));
                    if new_row == Some((i, k)) {
                        hands.request_focus();
                    }
                    ui.label("hands:");
                    typed(ui, form, draft, &name);
                    if several {
                        let button = ui.small_button("✖").on_hover_text("take it away");
                        named(ui, &button, &format!("Take {name} away"));
                        if button.clicked() {
                            away = Some(k);
                        }
                    }
                });
            }
            if let Some(k) = away {
                counted.remove(k);
                page.new_row = Some((i, k.min(counted.len() - 1)));
            }
            if ui.button(format!("Another answer to {number}")).clicked() {
                page.new_row = Some((i, counted.len()));
                counted.push(Counted::default());
            }
        }
    }
    if *form == Form::Mark {
        let others = marks(page, i);
        let mark = page.mark_of(i);
        let seen = Seen { mark, others: &others, drops_m: &[] };
        by_hand(ui, page, i, seen);
    }
}

/// Marks of a room but the last, which hand and keys move.
fn marks(page: &LessonPage, i: usize) -> Vec<Mark> {
    let counted = page.room.as_ref().and_then(|room| room.get(i));
    let Some((_, before)) = counted.and_then(|counted| counted.split_last()) else {
        return Vec::new();
    };
    let read =
        before.iter().filter_map(|counted| match counted.draft.read(&Form::Mark, &page.terms) {
            Ok(Some(Answer::Mark { at_m, radius_m })) => Some((at_m, radius_m)),
            _ => None,
        });
    read.collect()
}

/// Each question with what the room said, beside the drops.
pub(super) fn found(ui: &mut Ui, page: &mut LessonPage, revealed: &Revealed) {
    if page.printed.pictures.len() != revealed.found.len() {
        let load = |(i, said): (usize, &run::Said)| {
            let pixels = said.picture.as_ref()?;
            let size = [pixels.width as usize, pixels.height as usize];
            let image = ColorImage::from_rgba_premultiplied(size, &pixels.rgba);
            Some(ui.ctx().load_texture(format!("room {i}"), image, TextureOptions::LINEAR))
        };
        page.printed.pictures = revealed.found.iter().enumerate().map(load).collect();
    }
    for (i, (question, said)) in page.lesson.questions.iter().zip(&revealed.found).enumerate() {
        ui.separator();
        ui.label(RichText::new(format!("{}. {}", i + 1, question.ask)).strong());
        if let Some(Some(picture)) = page.printed.pictures.get(i) {
            let size = picture.size_vec2() / run::FINE;
            let fits = (ui.available_width() / size.x).min(1.0);
            let image = Image::new((picture.id(), size * fits));
            ui.add(image.alt_text("The room and the drops; in sentences below"));
        }
        for line in said.happened.iter().chain(&said.room) {
            ui.label(line);
        }
        if said.room.is_empty() {
            ui.label("No hands.");
        }
    }
    caution_under_counts(ui);
}

/// The sheet with lines for a pen, before anything is dropped.
pub(super) fn sheet_to_fill_in(ui: &mut Ui, page: &mut LessonPage) {
    if page.room.is_none() {
        return;
    }
    ui.label("The lesson on paper, with lines for a pen:");
    if let Some(path) = where_to(ui, page) {
        let stamp = Stamp::of(&page.job, &page.drops, &jiff::Zoned::now().date().to_string());
        let html = lesson_sheet::html(&Sheet {
            course: &page.course,
            lesson: &page.lesson,
            stamp: &stamp,
            terms: &page.terms,
            found: &[],
            bank: &page.bank,
            facts: None,
            invented: page.job.scene.invented,
        });
        page.printed.write(path, html.as_bytes());
    }
}

/// The sheet of what the room said and what the drops did.
pub(super) fn sheet(ui: &mut Ui, page: &mut LessonPage, html: &[u8]) {
    ui.label("What the room said is kept on this sheet alone.");
    if let Some(path) = where_to(ui, page) {
        page.printed.write(path, html);
    }
}

/// Asks where the sheet goes, and says what came of it.
fn where_to(ui: &mut Ui, page: &mut LessonPage) -> Option<PathBuf> {
    let home = std::env::var_os("HOME").map(PathBuf::from);
    let asked = Asked {
        words: "Sheet",
        name: "File of the sheet",
        hint: "sheet.html",
        button: "Write the sheet",
        wanted: None,
        home: home.as_deref(),
    };
    let path = page.printed.path.show(ui, &asked);
    match &page.printed.said {
        Some(Ok(said)) => {
            ui.label(said);
        }
        Some(Err(why)) => {
            ui.label(wrong(why));
        }
        None => {}
    }
    path
}

impl Printed {
    /// Writes the sheet: over a file only that this page wrote.
    fn write(&mut self, path: PathBuf, html: &[u8]) {
        let path = if path.extension().is_none() { path.with_extension("html") } else { path };
        let is_ours = self.wrote.as_deref() == Some(Path::new(&path));
        self.said = Some(if path.exists() && !is_ours {
            Err(format!("{} is there already; allowed: the name of a new file", path.display()))
        } else {
            let written = scene::write(&path, html, is_ours).map_err(|error| error.to_string());
            written.map(|()| {
                format!("Written to {}: any browser opens and prints it.", path.display())
            })
        });
        if matches!(self.said, Some(Ok(_))) {
            self.wrote = Some(path);
        }
    }
}
