//! Lengths against faces of one cut: what is asked, the table, and two cells side by side.
//!
//! The words and counts are those of the command `compare`; no cell is singled out.

mod ask;
mod cells;
mod pair;

use bevy_egui::egui::{ComboBox, Key, ProgressBar, RichText, ScrollArea, TextEdit, Ui};
use tumblewood::{
    forecast::Progress,
    job::Job,
    report::{
        stamp,
        text::{MODES_HEAD, NOTHING_REACHED, QUIET_HEAD, REACH_HEAD, REACHED_HEAD, bounds_note},
    },
};

pub(crate) use ask::{CompareAsk, Compared, Field, Typed, asked, run};
pub(crate) use pair::Pair;

use crate::page::{fine, follow_keyboard, named, readable, wrong};

/// What leaves the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum CompareMessage {
    /// Back to the hillside.
    Back,
    /// A comparison is to be run, with [`run`].
    Run(CompareAsk),
    /// The one that runs is to stop.
    Cancel,
    /// One cell is to be shown on the hillside.
    ShowCell {
        /// Length of the piece, m.
        length_m: f64,
        /// Azimuth of its face, rad.
        face_rad: f64,
    },
}

/// The page.
#[derive(Clone, Debug)]
pub(crate) struct ComparePage {
    /// The fields.
    pub(crate) typed: Typed,
    /// How far the run has come, while there is one.
    pub(crate) running: Option<Progress>,
    /// What the last run gave.
    pub(crate) compared: Option<Compared>,
    /// The scene was changed since then.
    pub(crate) outdated: bool,
    /// Why the last run gave nothing.
    pub(crate) said: Option<String>,
    /// Cells held side by side, by index; two at most.
    pub(crate) pinned: Vec<usize>,
    /// The two that are held, paired, and which they are.
    pair: Option<(Vec<usize>, Pair)>,
    /// The field that can't be used, after a run was asked for.
    wrong: Option<(Field, String)>,
}

impl ComparePage {
    /// A page for a job.
    #[must_use]
    pub(crate) fn of(job: &Job) -> Self {
        Self {
            typed: Typed::starting(job.scene.units),
            running: None,
            compared: None,
            outdated: false,
            said: None,
            pinned: Vec::new(),
            pair: None,
            wrong: None,
        }
    }

    /// Takes what a run gave.
    pub(crate) fn take(&mut self, ran: Result<Compared, String>) {
        self.running = None;
        match ran {
            Ok(compared) => {
                self.compared = Some(compared);
                (self.said, self.outdated) = (None, false);
                self.pinned.clear();
                self.pair = None;
            }
            Err(why) => self.said = Some(why),
        }
    }

    /// Pairs the two cells that are held, if they are others than before.
    fn pair_up(&mut self) {
        if self.pair.as_ref().is_some_and(|(of, _)| *of == self.pinned) {
            return;
        }
        let cells = self.compared.as_ref().map_or(&[][..], |compared| &compared.comparison.cells);
        let held = |k: usize| cells.get(*self.pinned.get(k)?);
        self.pair = held(0)
            .zip(held(1))
            .map(|(first, second)| (self.pinned.clone(), Pair::of(first, second)));
    }
}

/// Draws the page.
pub(crate) fn compare_page(ui: &mut Ui, page: &mut ComparePage, job: &Job) -> Vec<CompareMessage> {
    let mut messages = Vec::new();
    readable(ui);
    ui.label(RichText::new(stamp::NOT_COMPARED).strong());
    ui.label(RichText::new(stamp::PLANNING_AID).strong());
    ui.horizontal(|ui| {
        ui.heading("Compare lengths and faces");
        if ui.button("Back").clicked() {
            messages.push(CompareMessage::Back);
        }
    });
    controls(ui, page, job, &mut messages);
    ui.separator();
    ScrollArea::both().id_salt("compare").auto_shrink(false).show(ui, |ui| {
        page.pair_up();
        if let Some(compared) = &page.compared {
            if page.outdated {
                let text = "The scene was changed since: these counts are of the scene before.";
                ui.label(wrong(text));
            }
            let pair = page.pair.as_ref().map(|(_, pair)| pair);
            let before = page.pinned.clone();
            result(ui, compared, &mut page.pinned, pair, &mut messages);
            if page.pinned != before {
                ui.ctx().request_repaint();
            }
        } else {
            ui.label(
                "Every cell is dropped with the same draws, on the ground as you told it and over \
                 all grounds that fit your notes. The top of the piece stays; a longer piece is \
                 cut lower down.",
            );
        }
        follow_keyboard(ui);
    });
    messages
}

fn controls(ui: &mut Ui, page: &mut ComparePage, job: &Job, messages: &mut Vec<CompareMessage>) {
    let mut go = false;
    let before = page.typed.clone();
    ui.horizontal_wrapped(|ui| {
        ui.label("Cut");
        let cuts = &job.scene.cuts;
        let chosen = cuts.get(page.typed.cut).map_or("none", |cut| cut.id.as_str());
        let list = ComboBox::from_id_salt("cut").selected_text(chosen).show_ui(ui, |ui| {
            for (i, cut) in cuts.iter().enumerate() {
                ui.selectable_value(&mut page.typed.cut, i, &cut.id);
            }
        });
        named(ui, &list.response, "Cut");
        for (label, text, width, hint) in [
            ("Lengths", &mut page.typed.lengths, 150.0, "4ft..16ft:4ft"),
            ("Faces", &mut page.typed.faces, 150.0, "the scene's own"),
            ("Drops a cell", &mut page.typed.drops, 50.0, "120"),
        ] {
            ui.label(label);
            let response = ui.add(TextEdit::singleline(text).desired_width(width).hint_text(hint));
            named(ui, &response, label);
            go |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        }
        match page.running {
            None => go |= ui.button("Run").clicked(),
            Some(_) => {
                if ui.button("Cancel").clicked() {
                    messages.push(CompareMessage::Cancel);
                }
            }
        }
    });
    if page.typed != before {
        page.wrong = None;
    }
    if go && page.running.is_none() {
        match asked(&page.typed, job) {
            Ok(ask) => {
                page.wrong = None;
                messages.push(CompareMessage::Run(ask));
            }
            Err(wrong) => page.wrong = Some(wrong),
        }
    }
    if let Some((field, why)) = &page.wrong {
        let name = match field {
            Field::Cut => "Cut",
            Field::Lengths => "Lengths",
            Field::Faces => "Faces",
            Field::Drops => "Drops a cell",
        };
        ui.label(wrong(format!("{name}: {why}")));
    }
    if let Some(why) = &page.said {
        ui.label(wrong(why));
    }
    if let Some(progress) = page.running {
        let share = progress.done as f32 / progress.total.max(1) as f32;
        let text = format!("{} of {} drops", progress.done, progress.total);
        ui.add(ProgressBar::new(share).text(text));
        ui.label(
            "A cell in which nothing reached is run again on fresh drops; the bar waits then.",
        );
    }
}

/// The caution that stands under every count.
fn caution(ui: &mut Ui) {
    ui.label(fine(format!("{} {}", stamp::NOT_COMPARED, stamp::PLANNING_AID)));
}

fn result(
    ui: &mut Ui,
    compared: &Compared,
    pinned: &mut Vec<usize>,
    pair: Option<&Pair>,
    messages: &mut Vec<CompareMessage>,
) {
    let units = compared.units;
    ui.label(compared.stamp.line());
    if compared.comparison.partial {
        ui.label(wrong("Stopped: counts are of the drops done so far."));
    }
    ui.label(format!("{MODES_HEAD}."));
    ui.label(format!("{REACH_HEAD}."));
    cells::legend(ui);
    cells::cells(ui, compared, pinned, messages);
    caution(ui);
    ui.add_space(8.0);
    ui.heading(REACHED_HEAD);
    let (reached, quiet): (Vec<_>, Vec<_>) =
        compared.words.iter().partition(|cell| cell.reached > 0);
    for cell in &reached {
        ui.label(cell.found(units));
    }
    if reached.is_empty() {
        ui.label(NOTHING_REACHED);
    }
    caution(ui);
    if !quiet.is_empty() {
        ui.add_space(8.0);
        ui.heading(QUIET_HEAD);
        for cell in &quiet {
            ui.label(cell.found(units));
        }
        ui.label(bounds_note(compared.words.len()));
        caution(ui);
    }
    ui.add_space(8.0);
    ui.heading("Two side by side");
    let names: Vec<String> =
        pinned.iter().filter_map(|k| compared.words.get(*k)).map(|cell| cell.name(units)).collect();
    match (pair, &names[..]) {
        (Some(pair), [first, second]) => pair::pair(ui, pair, [first, second], units, &caution),
        _ => {
            ui.label("Pin two cells to see drop by drop what differs between them.");
        }
    }
}

#[cfg(test)]
mod tests;
