//! The page without a scene: saved scenes, recent files, a path, or notes.
//!
//! A path is typed or pasted, with its folders completed: a file dialog of the desktop would need
//! a portal service that bare machines lack, and two dozen crates to talk to it.

mod card;
mod files;
mod typed;

use std::path::{Path, PathBuf};

use bevy_egui::egui::{self, Button, Context, Frame, Image, RichText, ScrollArea, Ui, vec2};
use tumblewood::report::{png::Pixels, stamp};

pub(crate) use card::{Card, CardPicture, picture};
pub(crate) use files::{
    GROUND_ENDINGS, OpenedAs, opened_as, recent_files, recent_list, remember, saved_scenes,
    scene_folders,
};
pub(crate) use typed::{Asked, TypedPath};

use crate::page::{follow_keyboard, readable, wrong};

/// Width of a card and of its picture, points.
const CARD: f32 = 288.0;
/// Height of a card's picture, points.
const PICTURE: f32 = 190.0;
/// Height of a card, points.
const CARD_HEIGHT: f32 = 276.0;

/// What leaves the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum StartMessage {
    /// A file is to be opened.
    Open(PathBuf),
    /// A scene is to be made from notes.
    FromNotes,
    /// A scene is to be made on ground out of a file.
    FromGround,
    /// Lessons are to be taken.
    Practice,
}

/// The page.
#[derive(Clone, Default)]
pub(crate) struct StartPage {
    /// Saved scenes.
    pub(crate) cards: Vec<Card>,
    /// Recent files, the last used first.
    pub(crate) recent: Vec<PathBuf>,
    /// A path as typed.
    pub(crate) typed: TypedPath,
    /// Why the last file could not be opened, for the page to say.
    pub(crate) said: Option<String>,
    /// The home folder, that `~/` stands for.
    pub(crate) home: Option<PathBuf>,
}

impl StartPage {
    /// A page of these scenes and recent files.
    #[must_use]
    pub(crate) fn of(scenes: Vec<PathBuf>, recent: Vec<PathBuf>) -> Self {
        Self { cards: scenes.into_iter().map(Card::of).collect(), recent, ..Self::default() }
    }

    /// The page of this machine: the scenes beside the program and in the working folder, and the
    /// files remembered in this list.
    #[must_use]
    pub(crate) fn here(list: Option<&Path>) -> Self {
        Self {
            home: std::env::var_os("HOME").map(PathBuf::from),
            ..Self::of(saved_scenes(&scene_folders()), list.map_or_else(Vec::new, recent_files))
        }
    }

    /// Scenes whose pictures are still to be drawn, with [`picture`].
    pub(crate) fn waiting(&self) -> impl Iterator<Item = &Path> {
        let waits = |card: &&Card| matches!(card.picture, CardPicture::Waiting);
        self.cards.iter().filter(waits).map(|card| card.path.as_path())
    }

    /// Puts a drawn picture on its card.
    pub(crate) fn take(&mut self, context: &Context, path: &Path, drawn: Result<Pixels, String>) {
        if let Some(card) = self.cards.iter_mut().find(|card| card.path == path) {
            card.take(context, drawn);
        }
    }
}

/// Draws the page.
pub(crate) fn start_page(ui: &mut Ui, page: &mut StartPage) -> Vec<StartMessage> {
    let mut messages = Vec::new();
    readable(ui);
    ui.label(RichText::new(stamp::NOT_COMPARED).strong().size(16.0));
    ui.label(RichText::new(stamp::PLANNING_AID).strong());
    ui.separator();
    ScrollArea::vertical().id_salt("start").auto_shrink(false).show(ui, |ui| {
        ui.heading("Where does it go when it is cut?");
        ui.horizontal_wrapped(|ui| {
            if ui.button("New from notes").clicked() {
                messages.push(StartMessage::FromNotes);
            }
            ui.label("What you have on paper: lines down the bank, the ground, the tree, a cut.");
        });
        ui.horizontal_wrapped(|ui| {
            if ui.button("Ground from a file").clicked() {
                messages.push(StartMessage::FromGround);
            }
            ui.label(
                "A raster of heights, scanned points or surveyed points: put the stump on it. A \
                 file can be dropped onto the window too.",
            );
        });
        ui.horizontal_wrapped(|ui| {
            if ui.button("Practice").clicked() {
                messages.push(StartMessage::Practice);
            }
            ui.label("Lessons: say where the piece goes, then watch.");
        });
        if let Some(said) = &page.said {
            ui.label(wrong(said));
        }
        open_a_file(ui, page, &mut messages);
        recent(ui, page, &mut messages);
        ui.add_space(8.0);
        ui.heading("Saved scenes");
        if page.cards.is_empty() {
            ui.label("None: no folder \"scenes\" beside the program or here.");
        }
        let cards_a_row = ((ui.available_width() / (CARD + 26.0)) as usize).max(1);
        for cards in page.cards.chunks(cards_a_row) {
            ui.horizontal_top(|ui| {
                for card in cards {
                    self::card(ui, card, &mut messages);
                }
            });
        }
        follow_keyboard(ui);
    });
    messages
}

fn open_a_file(ui: &mut Ui, page: &mut StartPage, messages: &mut Vec<StartMessage>) {
    ui.add_space(8.0);
    ui.heading("Open a file");
    let asked = Asked {
        words: "Type or paste the path of a scene",
        name: "Path of a scene",
        hint: "folder/scene.ron",
        button: "Open",
        wanted: Some(OpenedAs::Scene),
        home: page.home.as_deref(),
    };
    messages.extend(page.typed.show(ui, &asked).map(StartMessage::Open));
}

fn recent(ui: &mut Ui, page: &StartPage, messages: &mut Vec<StartMessage>) {
    if page.recent.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.heading("Recent files");
    for path in &page.recent {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let folder = path.parent().unwrap_or(Path::new("")).to_string_lossy();
        ui.horizontal_wrapped(|ui| {
            if ui.button(name).clicked() {
                messages.push(StartMessage::Open(path.clone()));
            }
            ui.label(format!("in {folder}"));
        });
    }
}

fn card(ui: &mut Ui, card: &Card, messages: &mut Vec<StartMessage>) {
    Frame::group(ui.style()).show(ui, |ui| {
        let down = egui::Layout::top_down(egui::Align::Min);
        ui.allocate_ui_with_layout(vec2(CARD, CARD_HEIGHT), down, |ui| {
            ui.set_min_size(vec2(CARD, CARD_HEIGHT));
            ui.set_max_width(CARD);
            match &card.picture {
                CardPicture::Ready(texture) => {
                    let image = Image::new(texture).fit_to_exact_size(vec2(CARD, PICTURE));
                    let alt = format!("{} from above", card.name);
                    ui.add(image.maintain_aspect_ratio(true).alt_text(alt));
                }
                CardPicture::Waiting => {
                    ui.label("The picture is being drawn …");
                }
                CardPicture::Missing => {}
            }
            ui.horizontal_wrapped(|ui| {
                let open = Button::new(RichText::new(&card.name).strong()).wrap();
                if ui.add_enabled(card.error.is_none(), open).clicked() {
                    messages.push(StartMessage::Open(card.path.clone()));
                }
                if card.invented {
                    ui.label(RichText::new("[invented]").italics());
                }
            });
            ui.label(&card.note);
            if let Some(error) = &card.error {
                ui.label(wrong(format!("Can't be opened: {error}")));
            }
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::Key;
    use egui_kittest::{Harness, kittest::Queryable};
    use std::{cell::RefCell, rc::Rc};

    fn scenes() -> Vec<PathBuf> {
        saved_scenes(&[Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes")])
    }

    type Sent = Rc<RefCell<Vec<StartMessage>>>;

    fn harness(page: StartPage, size: egui::Vec2) -> (Harness<'static, StartPage>, Sent) {
        let sent = Sent::default();
        let kept = Rc::clone(&sent);
        let mut harness = Harness::builder().with_size(size).build_ui_state(
            move |ui, page: &mut StartPage| kept.borrow_mut().extend(start_page(ui, page)),
            page,
        );
        harness.run();
        (harness, sent)
    }

    #[test]
    fn prop_the_caution_comes_first_and_every_saved_scene_has_a_card() {
        let (harness, _) = harness(StartPage::of(scenes(), Vec::new()), egui::vec2(1280.0, 1600.0));
        let caution = harness.get_by_label(stamp::NOT_COMPARED).rect();
        let cards = &harness.state().cards;
        assert!(cards.len() >= 4, "{}", cards.len());
        for card in cards {
            assert!(card.error.is_none() && !card.note.is_empty(), "{:?}", card.error);
            let rect = harness.get_by_label(&card.name).rect();
            assert!(rect.top() > caution.bottom() && rect.right() <= 1280.0, "{rect}");
        }
        assert!(harness.query_all_by_label("[invented]").count() >= 3);
    }

    #[test]
    fn prop_a_scene_that_does_not_load_says_so_on_its_card() {
        let folder = tempfile::tempdir().expect("a folder");
        let broken = folder.path().join("broken.ron");
        std::fs::write(&broken, "(version: 1, name: 3)").expect("written");
        assert!(picture(&broken).is_err());
        let page = StartPage::of(vec![broken], Vec::new());
        let (mut harness, sent) = harness(page, egui::vec2(1280.0, 720.0));
        assert!(harness.query_by_label_contains("Can't be opened:").is_some());
        harness.get_by_label("broken.ron").click();
        harness.run();
        assert!(sent.borrow().is_empty());
    }

    #[test]
    fn prop_a_card_gets_its_picture_and_opens_its_scene() {
        let scene = scenes().into_iter().next().expect("a scene");
        let page = StartPage::of(vec![scene.clone()], Vec::new());
        let (mut harness, sent) = harness(page, egui::vec2(1280.0, 720.0));
        assert_eq!(harness.state().waiting().collect::<Vec<_>>(), [scene.as_path()]);
        let drawn = picture(&scene).expect("drawn");
        assert!(drawn.width == 768 && drawn.rgba.chunks_exact(4).any(|p| p[0] < 100));
        let context = harness.ctx.clone();
        harness.state_mut().take(&context, &scene, Ok(drawn));
        harness.run();
        assert_eq!(harness.state().waiting().count(), 0);
        let name = harness.state().cards[0].name.clone();
        assert!(harness.query_by_label(&format!("{name} from above")).is_some());
        harness.get_by_label(&name).click();
        harness.run();
        assert_eq!(sent.borrow()[..], [StartMessage::Open(scene)]);
    }

    #[test]
    fn prop_a_typed_path_is_completed_and_opened_with_enter() {
        let folder = tempfile::tempdir().expect("a folder");
        let inner = folder.path().join("jobs");
        std::fs::create_dir(&inner).expect("made");
        let scene = inner.join("bank.ron");
        std::fs::write(&scene, "").expect("written");
        let (mut harness, sent) = harness(StartPage::default(), egui::vec2(1280.0, 720.0));
        let root = folder.path().to_str().expect("text").to_owned();
        harness.get_by_label("Path of a scene").focus();
        harness.run();
        harness.get_by_label("Path of a scene").type_text(&format!("{root}/j"));
        harness.run();
        harness.get_by_label(&format!("{root}/jobs/")).click();
        harness.run();
        assert_eq!(harness.state().typed.text, format!("{root}/jobs/"));
        harness.get_by_label("Path of a scene").focus();
        harness.run();
        harness.key_press(Key::End);
        harness.get_by_label("Path of a scene").type_text("bank.ron");
        harness.run();
        harness.key_press(Key::Enter);
        harness.run();
        assert_eq!(sent.borrow()[..], [StartMessage::Open(scene)]);
    }

    #[test]
    fn prop_recent_files_notes_and_ground_are_a_few_keys_away() {
        let recent = vec![PathBuf::from("/jobs/oak.ron")];
        let (mut harness, sent) =
            harness(StartPage::of(Vec::new(), recent.clone()), egui::vec2(640.0, 360.0));
        for wanted in ["New from notes", "Ground from a file", "Practice", "oak.ron"] {
            for _ in 0..8 {
                if harness.get_by_label(wanted).is_focused() {
                    break;
                }
                harness.key_press(Key::Tab);
                harness.run();
            }
            assert!(harness.get_by_label(wanted).is_focused(), "{wanted}");
            harness.key_press(Key::Enter);
            harness.run();
        }
        let want = [
            StartMessage::FromNotes,
            StartMessage::FromGround,
            StartMessage::Practice,
            StartMessage::Open(recent[0].clone()),
        ];
        assert_eq!(sent.borrow()[..], want);
    }
}
