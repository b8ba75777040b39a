//! Which panels stand on which screen, and the questions that stand over all of them.

use std::{path::PathBuf, sync::Arc};

use bevy::prelude::Resource;
use bevy_egui::egui::{
    self, Align2, ColorImage, Context, Frame, Key, Order, Pos2, Rect, RichText, ScrollArea,
    TextureHandle, TextureOptions, Ui, Vec2, vec2,
};

use crate::{
    desk::{Desk, Question, Screen},
    page::named,
    pages::Pages,
    palette::palette,
    panel::{PANEL_WIDTH, panel},
    signs::colour,
    strip::{strip, strip_height},
    wish::Wish,
};

/// Share of the hillside's height that the side view takes.
const SIDE_VIEW: f32 = 0.8;
/// Most height of a message before it is scrolled, points.
const MESSAGE: f32 = 300.0;
/// Width of the ring round what has the keyboard, points.
const RING: f32 = 2.5;

/// What the screens remember that is not the desk's: letters typed and not yet meant, textures.
#[derive(Resource, Default)]
pub(crate) struct Screens {
    pub(crate) pages: Pages,
    side_view: Option<(u32, Arc<tumblewood::report::png::Pixels>, TextureHandle)>,
    /// The name that is being typed for the file.
    file_name: String,
    /// A field has the keyboard.
    pub(crate) is_typing: bool,
    /// A question that has just opened wants the keyboard.
    asked: Option<Question>,
}

/// Draws the screen that the desk is at.
pub(crate) fn draw_screens(
    context: &Context,
    desk: &Desk,
    screens: &mut Screens,
    azimuth_rad: f32,
    wishes: &mut Vec<Wish>,
) {
    let screen = context.viewport_rect();
    match desk.screen {
        Screen::Hillside | Screen::Lesson => {
            let side = Rect::from_min_max(
                egui::pos2(screen.right() - PANEL_WIDTH, screen.top()),
                screen.max,
            );
            if desk.screen == Screen::Hillside {
                sheet(context, "panel", side, |ui| panel(ui, desk, azimuth_rad, wishes));
            }
            let height = strip_height(desk);
            let below = Rect::from_min_max(
                egui::pos2(screen.left(), screen.bottom() - height),
                egui::pos2(side.left(), screen.bottom()),
            );
            if height > 0.0 {
                sheet(context, "strip", below, |ui| strip(ui, desk, wishes));
            }
            if desk.playing.side_view && height > 0.0 {
                side_view(context, desk, screens, below.left_top(), below.width(), wishes);
            }
        }
        Screen::Start
        | Screen::Notes
        | Screen::Ground
        | Screen::Practice
        | Screen::Compare
        | Screen::Teach => {}
    }
    screens.pages.draw(context, desk, wishes);
    message(context, desk, wishes);
    question(context, desk, screens, wishes);
    ring(context, colour(palette(desk.look.theme).chosen));
}

/// Rings what has the keyboard, over whatever it stands on: marks of their own are thin, or none.
fn ring(context: &Context, colour: egui::Color32) {
    let focused = context.memory(|memory| memory.focused());
    let Some(response) = focused.and_then(|id| context.read_response(id)) else { return };
    let layer = egui::LayerId::new(Order::Foreground, egui::Id::new("ring"));
    let painter = context.layer_painter(layer);
    let seen = response.interact_rect;
    if seen.is_positive() {
        let stroke = egui::Stroke::new(RING, colour);
        painter.rect_stroke(seen.expand(1.0), 3.0, stroke, egui::StrokeKind::Outside);
    }
}

/// A part of the screen with a ground of its own. An area, because a panel in the background lets
/// clicks through to the hillside.
pub(crate) fn sheet(context: &Context, id: &'static str, place: Rect, draw: impl FnOnce(&mut Ui)) {
    egui::Area::new(id.into())
        .order(Order::Middle)
        .movable(false)
        .constrain(false)
        .fixed_pos(place.min)
        .show(context, |ui| {
            let frame = Frame::side_top_panel(ui.style()).inner_margin(10.0);
            let inside = place.size() - frame.total_margin().sum();
            frame.show(ui, |ui| {
                ui.set_min_size(inside);
                ui.set_max_size(inside);
                draw(ui);
            });
        });
}

/// The side view of the drop that is played, to scale.
fn side_view(
    context: &Context,
    desk: &Desk,
    screens: &mut Screens,
    above: Pos2,
    width: f32,
    wishes: &mut Vec<Wish>,
) {
    let wanted = desk.playing.drops.first().map(|made| made.drop);
    let there = desk.playing.strip.as_ref().filter(|(drop, _)| Some(*drop) == wanted);
    if let Some((drop, pixels)) = there {
        let known = screens.side_view.as_ref();
        if known.is_none_or(|(d, p, _)| d != drop || !Arc::ptr_eq(p, pixels)) {
            let size = [pixels.width as usize, pixels.height as usize];
            let image = ColorImage::from_rgba_premultiplied(size, &pixels.rgba);
            let texture = context.load_texture("side view", image, TextureOptions::LINEAR);
            screens.side_view = Some((*drop, pixels.clone(), texture));
        }
    }
    let height = SIDE_VIEW * above.y;
    let place = Rect::from_min_size(above - vec2(0.0, height), vec2(width, height));
    sheet(context, "side view", place, |ui| {
        let drawn = screens.side_view.as_ref().filter(|_| there.is_some());
        ui.horizontal(|ui| {
            ui.label(RichText::new("Side view, to scale").strong());
            if ui.button("Close").clicked() {
                wishes.push(Wish::SideView(false));
            }
            if drawn.is_none() && wanted.is_some() {
                ui.spinner();
            }
            if wanted.is_none() {
                ui.label("Play a drop to see it here.");
            }
        });
        if let Some((_, _, texture)) = drawn {
            ScrollArea::both().auto_shrink(false).show(ui, |ui| {
                let size = texture.size_vec2();
                let fits = (ui.available_width() / size.x).clamp(0.4, 1.0);
                ui.add(egui::Image::new((texture.id(), size * fits)).alt_text("side view"));
            });
        }
    });
}

fn message(context: &Context, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(message) = &desk.message else { return };
    over(context, "Note", |ui| {
        let height = MESSAGE.min(0.5 * context.viewport_rect().height());
        ScrollArea::both().max_height(height).show(ui, |ui| {
            ui.label(RichText::new(message).monospace());
        });
        if ui.button("Close").clicked() {
            wishes.push(Wish::Dismiss);
        }
    });
}

fn question(context: &Context, desk: &Desk, screens: &mut Screens, wishes: &mut Vec<Wish>) {
    let fresh = screens.asked != desk.question;
    if fresh {
        screens.asked = desk.question.clone();
    }
    let Some(question) = &desk.question else { return };
    match question {
        Question::Leave(to) => over(context, "Unsaved work", |ui| {
            ui.label("This scene has changes that are not saved.");
            choose(
                ui,
                wishes,
                fresh,
                [
                    ("Save first", Wish::SaveAndLeave(to.clone())),
                    ("Leave without saving", Wish::LeaveAnyway(to.clone())),
                    ("Stay", Wish::Dismiss),
                ],
            );
        }),
        Question::Recover(when) => over(context, "Unsaved work of an earlier time", |ui| {
            ui.label(format!("Changes of {when} were not saved, and are kept beside the file."));
            choose(
                ui,
                wishes,
                fresh,
                [("Take them up", Wish::Recover(true)), ("Drop them", Wish::Recover(false))],
            );
        }),
        Question::Overwrite => over(context, "Changed by something else", |ui| {
            ui.label("The file on disk is no longer what was opened here.");
            choose(
                ui,
                wishes,
                fresh,
                [
                    ("Keep both: save as…", Wish::Ask(Question::SaveAs(String::new()))),
                    ("Write over it", Wish::Overwrite),
                    ("Take what is on disk", Wish::Reload),
                    ("Neither now", Wish::Dismiss),
                ],
            );
        }),
        Question::Replace(path) => over(context, "There is a file of that name", |ui| {
            ui.label(path.display().to_string());
            choose(
                ui,
                wishes,
                fresh,
                [
                    ("Another name…", Wish::Ask(Question::SaveAs(path.display().to_string()))),
                    ("Write over it", Wish::Replace(path.clone())),
                    ("Cancel", Wish::Dismiss),
                ],
            );
        }),
        Question::SaveAs(named) => over(context, "Save as", |ui| {
            let name = &mut screens.file_name;
            name_file(ui, name, fresh.then_some(named), ".ron", Wish::SaveAs, wishes);
        }),
        Question::Export(named) => over(context, "Export the drop for 3D programs", |ui| {
            let name = &mut screens.file_name;
            name_file(ui, name, fresh.then_some(named), ".glb", Wish::Export, wishes);
        }),
    }
}

/// Asks for the name of a file; a question that has just opened brings the name to begin with.
fn name_file(
    ui: &mut Ui,
    name: &mut String,
    fresh: Option<&String>,
    ending: &str,
    wish: fn(PathBuf) -> Wish,
    wishes: &mut Vec<Wish>,
) {
    if let Some(named) = fresh {
        name.clone_from(named);
    }
    ui.label(format!("File, ending in {ending}"));
    let field = ui.text_edit_singleline(name);
    named(ui, &field, "File");
    if fresh.is_some() {
        field.request_focus();
    }
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    ui.horizontal(|ui| {
        if ui.button("Save").clicked() || entered {
            wishes.push(wish(name.trim().into()));
        }
        if ui.button("Cancel").clicked() {
            wishes.push(Wish::Dismiss);
        }
    });
}

fn choose<const N: usize>(
    ui: &mut Ui,
    wishes: &mut Vec<Wish>,
    fresh: bool,
    choices: [(&str, Wish); N],
) {
    ui.horizontal_wrapped(|ui| {
        for (i, (words, wish)) in choices.into_iter().enumerate() {
            let button = ui.button(words);
            if i == 0 && fresh {
                button.request_focus();
            }
            if button.clicked() {
                wishes.push(wish);
            }
        }
    });
}

/// A sheet in the middle, over everything.
fn over(context: &Context, title: &str, draw: impl FnOnce(&mut Ui)) {
    egui::Window::new(title)
        .order(Order::Foreground)
        .collapsible(false)
        .resizable(false)
        .anchor(Align2::CENTER_CENTER, Vec2::ZERO)
        .default_width(460.0)
        .show(context, draw);
}
