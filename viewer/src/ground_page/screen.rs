//! The page: which file, what was understood of it, where the stump stands, what is cropped.

use bevy_egui::egui::{
    Button, ComboBox, Image, Key, Layout, ProgressBar, RichText, ScrollArea, TextEdit, Ui, vec2,
};
use tumblewood::{quantity::Units, terrain::LengthUnit};

use super::{GroundMessage, GroundPage, map::map};
use crate::{
    page::{fine, follow_keyboard, named, readable, wrong},
    panel::{CAUTION, REDO, UNDO},
    start_page::{Asked, OpenedAs},
};

/// Under this width form and picture stand one above the other, points.
const SIDE_BY_SIDE: f32 = 820.0;
/// The form's share of the width.
const FORM: f32 = 0.46;
/// Units that heights can be in.
const UNITS: [(Option<LengthUnit>, &str); 4] = [
    (None, "as the file says"),
    (Some(LengthUnit::Metre), "metres"),
    (Some(LengthUnit::Foot), "feet"),
    (Some(LengthUnit::UsSurveyFoot), "US survey feet"),
];

/// Draws the page.
pub(crate) fn ground_page(ui: &mut Ui, page: &mut GroundPage) -> Vec<GroundMessage> {
    let mut messages = Vec::new();
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.horizontal_wrapped(|ui| {
        ui.heading("Ground from a file");
        if ui.button("Back").clicked() {
            messages.push(GroundMessage::Back);
        }
    });
    ui.separator();
    let width = ui.available_width();
    if width < SIDE_BY_SIDE {
        ScrollArea::vertical().id_salt("ground").show(ui, |ui| {
            form(ui, page, &mut messages);
            ui.separator();
            picture(ui, page, 0.8 * width);
            follow_keyboard(ui);
        });
    } else {
        let height = ui.available_height();
        ui.horizontal_top(|ui| {
            let down = Layout::top_down(bevy_egui::egui::Align::Min);
            ui.allocate_ui_with_layout(vec2(FORM * width, height), down, |ui| {
                ScrollArea::vertical().id_salt("ground").auto_shrink(false).show(ui, |ui| {
                    ui.set_max_width(ui.available_width() - 12.0);
                    form(ui, page, &mut messages);
                    follow_keyboard(ui);
                });
            });
            ui.separator();
            ui.vertical(|ui| picture(ui, page, height - 60.0));
        });
    }
    history(ui, page);
    if let Some(ask) = page.next() {
        messages.push(GroundMessage::Ask(ask));
    }
    if let Some(scene) = page.written.take() {
        messages.push(GroundMessage::Open(scene));
    }
    messages
}

fn form(ui: &mut Ui, page: &mut GroundPage, messages: &mut Vec<GroundMessage>) {
    let home = page.home.clone();
    let asked = Asked {
        words: "File",
        name: "Path of a terrain file",
        hint: "hill.laz, or drop it onto the window",
        button: "Read",
        wanted: Some(OpenedAs::Ground),
        home: home.as_deref(),
    };
    if let Some(path) = page.typed.show(ui, &asked) {
        page.open(path);
    }
    ui.label(fine(
        "GeoTIFF, ESRI ASCII grid (.asc), points (.las, .laz, .copc.laz), surveyed points (.csv, \
         .gpx). Nothing of it is changed.",
    ));
    told_by_hand(ui, page);
    progress(ui, page, messages);
    // What was said last stands at what it is about.
    if page.seen.is_none() {
        said(ui, page);
    }
    understood(ui, page);
    if page.seen.is_some() {
        put(ui, page);
    }
    cropped(ui, page);
}

/// What a file may leave open.
fn told_by_hand(ui: &mut Ui, page: &mut GroundPage) {
    let before = page.told.clone();
    let mut go = false;
    ui.add_space(6.0);
    ui.label("Where the file doesn't say it:");
    ui.horizontal_wrapped(|ui| {
        ui.label("Coordinate system (--crs)");
        let field = TextEdit::singleline(&mut page.told.epsg).desired_width(90.0);
        let response = ui.add(field.hint_text("EPSG:2994"));
        named(ui, &response, "Coordinate system, EPSG number");
        go |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        ui.label("heights in (--heights-in)");
        let chosen = UNITS.iter().find(|(unit, _)| *unit == page.told.heights_in);
        let list = ComboBox::from_id_salt("heights")
            .selected_text(chosen.map_or("", |(_, words)| words))
            .show_ui(ui, |ui| {
                for (unit, words) in UNITS {
                    ui.selectable_value(&mut page.told.heights_in, unit, words);
                }
            });
        named(ui, &list.response, "Unit of the heights");
    });
    let words = "Find the ground among all points of a cloud (--find-ground)";
    ui.checkbox(&mut page.told.find_ground, words);
    if page.told != before {
        // What was understood was understood otherwise.
        page.forget();
    }
    if page.seen.is_none() && !page.files.is_empty() && page.running.is_none() {
        go |= ui.button("Read again").clicked();
    }
    if go && !page.files.is_empty() {
        page.look();
    }
}

fn progress(ui: &mut Ui, page: &GroundPage, messages: &mut Vec<GroundMessage>) {
    let Some((words, share)) = page.running else { return };
    ui.horizontal(|ui| {
        ui.add(
            ProgressBar::new(share)
                .desired_width(260.0)
                .text(format!("{words}: {:.0} %", 100.0 * share)),
        );
        if ui.button("Cancel").clicked() {
            messages.push(GroundMessage::Cancel);
        }
    });
}

fn understood(ui: &mut Ui, page: &GroundPage) {
    let Some(seen) = &page.seen else { return };
    ui.add_space(6.0);
    ui.heading("What was understood");
    for line in &seen.words {
        ui.label(line);
    }
    for warning in &seen.overview.warnings {
        ui.label(RichText::new(format!("! {warning}")).strong());
    }
}

/// Where the stump stands and how far around it is cropped.
fn put(ui: &mut Ui, page: &mut GroundPage) {
    ui.add_space(6.0);
    ui.heading("Where the stump stands");
    let mut go = false;
    let before = page.put.clone();
    ui.horizontal_wrapped(|ui| {
        ui.label("Stump at");
        let field = TextEdit::singleline(&mut page.put.at).desired_width(230.0);
        let response = ui.add(field.hint_text("X,Y or latitude,longitude"));
        named(ui, &response, "Place of the stump");
        go |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    });
    ui.label(fine("Typed, clicked on the map, or moved there with the arrows."));
    ui.horizontal_wrapped(|ui| {
        for (words, name, text, hint) in [
            ("To each side", "From the stump to each side", &mut page.put.around, "100 m"),
            ("heights apart", "Distance between heights", &mut page.put.cell, "the file's own"),
        ] {
            ui.label(words);
            let field = TextEdit::singleline(text).desired_width(90.0).hint_text(hint);
            let response = ui.add(field);
            named(ui, &response, name);
            go |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        }
    });
    if page.put != before {
        page.renew();
    }
    if let Some(why) = &page.misplaced {
        ui.label(wrong(why));
    }
    if let Err(why) = page.around_m() {
        ui.label(wrong(why));
    }
    if let Err(why) = page.cell_m() {
        ui.label(wrong(why));
    }
    ui.horizontal(|ui| {
        let can = page.can_crop();
        go &= can;
        go |= ui.add_enabled(can, Button::new("Crop and look at it")).clicked();
        if ui.add_enabled(!page.done.is_empty(), Button::new("Undo")).clicked() {
            page.undo();
        }
        if ui.add_enabled(!page.undone.is_empty(), Button::new("Redo")).clicked() {
            page.redo();
        }
    });
    if go {
        page.crop();
    }
    if page.cropped.is_none() {
        said(ui, page);
    }
}

fn said(ui: &mut Ui, page: &GroundPage) {
    if let Some(said) = &page.said {
        ui.label(wrong(said));
    }
}

fn cropped(ui: &mut Ui, page: &mut GroundPage) {
    let Some(cropped) = &page.cropped else { return };
    ui.add_space(6.0);
    ui.heading("What is cropped");
    if cropped.of != page.put {
        ui.label(wrong("The stump or the frame was changed since: crop again."));
    }
    let mut go = false;
    ui.horizontal_wrapped(|ui| {
        ui.label("New scene");
        let field = TextEdit::singleline(&mut page.scene).desired_width(260.0);
        let response = ui.add(field.hint_text("my-job.ron"));
        named(ui, &response, "File of the new scene");
        go |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let can = page.running.is_none() && cropped.of == page.put;
        go &= can;
        go |= ui.add_enabled(can, Button::new("Use this ground")).clicked();
    });
    ui.label(fine(
        "Writes the cropped heights beside the scene, under its name and .tif. Tree, shed and cuts \
         on it are invented, to be changed.",
    ));
    said(ui, page);
    for line in &cropped.words {
        ui.label(line);
    }
    if go {
        page.settle();
    }
}

fn picture(ui: &mut Ui, page: &mut GroundPage, height: f32) {
    if page.seen.is_none() {
        ui.label("The file is shown here once it is read.");
        return;
    }
    ui.horizontal_wrapped(|ui| {
        for (cropped, words) in [(false, "The whole file"), (true, "What is cropped")] {
            let there = !cropped || page.cropped.is_some();
            let label = Button::selectable(page.shows_cropped == cropped, words);
            if ui.add_enabled(there, label).clicked() {
                page.shows_cropped = cropped;
            }
        }
    });
    if let Some(cropped) = page.cropped.as_ref().filter(|_| page.shows_cropped) {
        ScrollArea::vertical().id_salt("cropped").max_height(height).show(ui, |ui| {
            let size = cropped.texture.size_vec2();
            let height = height - 40.0;
            let fits = (ui.available_width() / size.x).min(height / size.y).clamp(0.2, 1.0);
            let image = Image::new((cropped.texture.id(), size * fits));
            ui.add(image.alt_text("The cropped ground from above, what is filled in hatched"));
            ui.label(fine(
                "Grid north is up; the cross is the stump; hatched: filled in, not surveyed.",
            ));
        });
        return;
    }
    let step_m = page.seen.as_ref().map_or(0.0, |seen| seen.step_m);
    map(ui, page, height - 40.0);
    ui.label(fine(format!(
        "Grid north is up; metres from the south-west corner; contours every {}; hatched: no \
         heights. A click puts the stump, dragging draws the frame round it.",
        Units::Metric.distance(step_m)
    )));
}

/// Takes up what was put where, once hand and letters rest, and steps back and forth in it.
fn history(ui: &Ui, page: &mut GroundPage) {
    let typing = ui.ctx().text_edit_focused();
    let held = ui.input(|input| input.pointer.any_down());
    if !typing && !held {
        page.remember();
    }
    if typing {
        return;
    }
    // The one with Shift goes first, or the other takes it.
    if ui.input_mut(|input| input.consume_shortcut(&REDO)) {
        page.redo();
    } else if ui.input_mut(|input| input.consume_shortcut(&UNDO)) {
        page.undo();
    }
}
