//! The pull and the hinge of the cut that is looked at: the numbers of `tumblewood fell`, what each is
//! worked out by, and the pull drawn against the turn.

mod curve;

use bevy_egui::egui::{
    Align, Button, Color32, ComboBox, Grid, Id, Layout, RichText, TextWrapMode, Ui,
};
use tumblewood::{
    felling::{Felling, Figure, Rule},
    quantity::Units,
    report::{
        stamp::{NOT_COMPARED, PLANNING_AID},
        text::{FELLING_GROUPS, PULL_PRACTICE, quantity, without_line},
        units::decimals,
        words,
    },
    scene::edit::{New, Thing},
};

use crate::{
    desk::{Desk, Tool},
    page::{fine, named},
    palette::palette,
    signs::colour,
    wish::Wish,
};

pub(super) fn tab(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(job) = &desk.job else {
        ui.label("No scene.");
        return;
    };
    if job.scene.cuts.is_empty() {
        ui.label("The scene has no cuts: add one under Change.");
        return;
    }
    which(ui, desk, wishes);
    let Some((order, known)) = &desk.felled.newest else {
        waits(ui, "Working it out…");
        return;
    };
    if *order != desk.answer.order || desk.trouble.is_some() {
        let before = "These numbers are of the scene before the last change.";
        if desk.is_felling() {
            waits(ui, before);
        } else {
            ui.label(RichText::new(before).strong());
        }
    }
    match known {
        Ok(felling) => {
            let page = Page { units: job.scene.units, alarm: alarm(desk) };
            page.all(ui, felling, desk);
        }
        Err(why) => {
            ui.label(RichText::new("There are no such numbers:").strong());
            ui.label(why);
        }
    }
}

fn alarm(desk: &Desk) -> Color32 {
    colour(palette(desk.look.theme).alarm)
}

fn waits(ui: &mut Ui, words: &str) {
    ui.horizontal_wrapped(|ui| {
        ui.spinner();
        ui.label(RichText::new(words).strong());
    });
}

/// The cut, and the ways to what is changed by hand.
fn which(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(job) = &desk.job else { return };
    let id = desk.cut_id().unwrap_or_default();
    ui.horizontal_wrapped(|ui| {
        ui.label("Cut");
        let list = ComboBox::from_id_salt("felled cut").selected_text(words::name(id)).width(96.0);
        let list = list.show_ui(ui, |ui| {
            for (i, cut) in job.scene.cuts.iter().enumerate() {
                if ui.selectable_label(i == desk.cut, words::name(&cut.id)).clicked() {
                    wishes.push(Wish::Cut(i));
                }
            }
        });
        named(ui, &list.response, "Cut");
        if ui.button("Change the cut").clicked() {
            wishes.push(Wish::Pick(Some(Thing::Cut(id.to_owned()))));
        }
        for line in job.scene.lines.iter().filter(|line| line.cut() == id) {
            if ui.button(format!("Change {}", words::name(line.id()))).clicked() {
                wishes.push(Wish::Pick(Some(Thing::Line(line.id().to_owned()))));
            }
        }
        let putting = desk.tool == Tool::Put(New::PullLine);
        if ui.selectable_label(putting, "Add a pull line").clicked() {
            let tool = if putting { Tool::Hand } else { Tool::Put(New::PullLine) };
            wishes.push(Wish::Use(tool));
        }
    });
    if desk.tool == Tool::Put(New::PullLine) {
        super::change::where_it_goes(ui, desk, New::PullLine, wishes);
    }
    ui.separator();
}

/// How the numbers are written.
struct Page {
    units: Units,
    alarm: Color32,
}

impl Page {
    fn all(&self, ui: &mut Ui, felling: &Felling, desk: &Desk) {
        let units = self.units;
        ui.label(format!(
            "Cut {}, {} up, {} across there, {} toward {}°. Every number as told, and the least and \
             greatest over {} draws of what is in doubt.",
            words::name(&felling.cut),
            units.length(felling.from_m),
            units.diameter(felling.diameter_m),
            if felling.without_line.is_some() { "face" } else { "let go" },
            decimals(felling.face_rad.to_degrees(), 0),
            felling.draws
        ));
        if felling.without_line.is_some() {
            ui.label(RichText::new(without_line(felling, units)).strong());
        }
        self.warnings(ui, felling);
        for curve in &felling.curves {
            ui.separator();
            curve::drawn(ui, felling, curve, units, palette(desk.look.theme));
        }
        // What turns on no hinge has none of them.
        if !felling.states.is_empty() {
            ui.separator();
            self.states(ui, felling);
        }
        if !felling.sizes.is_empty() {
            ui.separator();
            self.sizes(ui, felling);
        }
        for (group, heading) in FELLING_GROUPS {
            let figures: Vec<&Figure> =
                felling.figures.iter().filter(|f| f.group == group).collect();
            if figures.is_empty() {
                continue;
            }
            ui.separator();
            ui.label(RichText::new(heading).strong());
            columns(ui, ["low", "as told", "high"].map(|word| (word.to_owned(), String::new())));
            for figure in figures {
                self.figure(ui, figure);
            }
        }
        if felling.without_line.is_some() {
            ui.separator();
            ui.label(RichText::new("Common practice").strong());
            for line in PULL_PRACTICE {
                ui.label(line);
            }
        }
        ui.separator();
        let short: String = felling.scene_hash.chars().take(12).collect();
        ui.label(
            RichText::new(format!(
                "Scene {} ({short}) · felling {} · seed {}. {NOT_COMPARED} Nor have these numbers \
                 been compared with pulled stems. {PLANNING_AID}",
                felling.scene, felling.version, felling.seed
            ))
            .small(),
        );
    }

    /// Everything that lies outside, before all numbers.
    fn warnings(&self, ui: &mut Ui, felling: &Felling) {
        let of_sizes = felling.sizes.iter().flat_map(|size| {
            size.outside.iter().map(move |words| format!("{}: {words}", size.label))
        });
        let of_figures = felling.figures.iter().flat_map(|figure| {
            figure.outside.iter().map(move |words| format!("{}: {words}", figure.label))
        });
        for words in of_figures.chain(of_sizes).chain(felling.warnings.iter().cloned()) {
            self.warning(ui, &words);
        }
    }

    fn warning(&self, ui: &mut Ui, words: &str) {
        ui.label(RichText::new(format!("! {words}")).color(self.alarm).strong());
    }

    /// The tree above the hinge after each cut: two numbers to a cell.
    fn states(&self, ui: &mut Ui, felling: &Felling) {
        let units = self.units;
        ui.label(RichText::new("What stands above this cut's hinge, as told").strong());
        ui.label("Fore is toward the face, − away from it.");
        let grid = Grid::new("states").num_columns(4).striped(true).spacing([10.0, 4.0]);
        grid.show(ui, |ui| {
            for head in ["", "Whole,\nup to", "Above it,\nits centre", "Moment fore,\nto the right"]
            {
                ui.label(fine(head));
            }
            ui.end_row();
            for state in &felling.states {
                let after = match &state.after {
                    Some(cut) => format!("after\n{}", words::name(cut)),
                    None => "before\nany cut".to_owned(),
                };
                for cell in [
                    after,
                    format!("{}\n{}", units.mass(state.whole_kg), units.length(state.up_to_m)),
                    format!("{}\n{}", units.mass(state.mass_kg), units.length(state.centre_m)),
                    format!("{}\n{}", units.moment(state.fore_n_m), units.moment(state.side_n_m)),
                ] {
                    ui.label(cell);
                }
                ui.end_row();
            }
        });
    }

    fn sizes(&self, ui: &mut Ui, felling: &Felling) {
        ui.label(RichText::new("Face and hinge as cut, and by practice").strong());
        for size in &felling.sizes {
            let text = |x| quantity(size.measure, x, self.units);
            let is_open = unfolded(ui, size.key, size.label, !size.outside.is_empty());
            ui.label(format!(
                "{}; by practice {} to {}",
                text(size.own),
                text(size.practice_low),
                text(size.practice_high)
            ));
            self.below(ui, is_open, &size.rule, &size.outside);
        }
    }

    fn figure(&self, ui: &mut Ui, figure: &Figure) {
        let text = |x| quantity(figure.measure, x, self.units);
        let is_open = unfolded(ui, &figure.key, &figure.label, !figure.outside.is_empty());
        columns(
            ui,
            [("low", figure.low), ("as told", figure.told), ("high", figure.high)]
                .map(|(word, value)| (text(value), word.to_owned())),
        );
        self.below(ui, is_open, &figure.rule, &figure.outside);
    }

    /// Where a number is outside, and if it is unfolded what it is worked out by.
    fn below(&self, ui: &mut Ui, is_open: bool, rule: &Rule, outside: &[String]) {
        for words in outside {
            self.warning(ui, words);
        }
        if is_open {
            ui.indent("worked out by", |ui| {
                ui.label(rule.formula);
                ui.label(format!("Source: {} ({}).", rule.source, rule.standing.words()));
                ui.label(format!("Taken for granted: {}.", rule.assumption));
            });
        }
    }
}

/// A number's label, which unfolds what it is worked out by; whether it is unfolded.
fn unfolded(ui: &mut Ui, key: &str, label: &str, is_outside: bool) -> bool {
    let id = Id::new(("worked out", key));
    let is_open = ui.data(|data| data.get_temp::<bool>(id).unwrap_or(false));
    let (sign, mark) = (if is_open { "▼" } else { "▶" }, if is_outside { "! " } else { "" });
    let button = Button::new(format!("{sign} {mark}{label}")).frame(false);
    let button = ui.add(button.wrap_mode(TextWrapMode::Wrap));
    named(ui, &button, &format!("{label}: what it is worked out by"));
    let is_open = is_open != button.clicked();
    ui.data_mut(|data| data.insert_temp(id, is_open));
    is_open
}

/// Three numbers below each other's heads; what is told is the one between. Who hears the page hears
/// the head with each.
fn columns(ui: &mut Ui, texts: [(String, String); 3]) {
    ui.columns_const(|columns: &mut [Ui; 3]| {
        for (i, (column, (text, head))) in columns.iter_mut().zip(texts).enumerate() {
            column.with_layout(Layout::right_to_left(Align::Min), |ui| {
                let heard = format!("{head} {text}");
                let text = RichText::new(text);
                let label = ui.label(if i == 1 { text.strong() } else { text });
                if !head.is_empty() {
                    ui.ctx().accesskit_node_builder(label.id, |node| node.set_value(heard));
                }
            });
        }
    });
}
