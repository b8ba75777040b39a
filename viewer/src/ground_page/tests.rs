//! The page under hands and keys, its threads' work done between two frames.

use std::{
    cell::RefCell,
    fs,
    path::{Path, PathBuf},
    rc::Rc,
    sync::atomic::AtomicBool,
};

use bevy_egui::egui::{self, Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::{Harness, kittest::Queryable};
use tumblewood::{
    job::scene_on,
    terrain::intake::{take, write},
};

use super::{map::NAME, *};

fn asset(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/terrain").join(name)
}

type Sent = Rc<RefCell<Vec<GroundMessage>>>;

/// Someone at the page.
struct Hand {
    harness: Harness<'static, GroundPage>,
    sent: Sent,
    opened: Option<PathBuf>,
}

impl Hand {
    fn new() -> Self {
        let sent = Sent::default();
        let kept = Rc::clone(&sent);
        let harness = Harness::builder().with_size(vec2(1280.0, 720.0)).build_ui_state(
            move |ui, page: &mut GroundPage| kept.borrow_mut().extend(ground_page(ui, page)),
            GroundPage::default(),
        );
        Self { harness, sent, opened: None }
    }

    fn at(file: PathBuf) -> Self {
        let mut hand = Self::new();
        hand.harness.state_mut().open(file);
        hand.rest();
        hand
    }

    fn page(&self) -> &GroundPage {
        self.harness.state()
    }

    /// Lets threads and page come to rest.
    fn rest(&mut self) {
        for _ in 0..6 {
            self.harness.run();
            for message in self.sent.take() {
                match message {
                    GroundMessage::Ask(ask) => {
                        let done = run(&ask, &AtomicBool::new(false), &|_| {});
                        let context = self.harness.ctx.clone();
                        self.harness.state_mut().take(&context, done);
                    }
                    GroundMessage::Open(scene) => self.opened = Some(scene),
                    GroundMessage::Back | GroundMessage::Cancel => {}
                }
            }
        }
    }

    fn write(&mut self, field: &str, text: &str) {
        self.harness.get_by_label(field).focus();
        self.harness.run();
        self.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.harness.get_by_label(field).type_text(text);
        self.harness.run();
        self.harness.key_press(Key::Enter);
        self.rest();
    }

    fn press(&mut self, button: &str) {
        self.harness.get_by_label(button).click();
        self.rest();
    }

    fn button(&mut self, at: Pos2, pressed: bool) {
        self.harness.event(egui::Event::PointerMoved(at));
        self.harness.event(egui::Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
        self.harness.step();
    }
}

#[test]
fn prop_ground_is_read_put_cropped_and_used_by_keys_as_the_commands_do_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut hand = Hand::new();
    hand.write("Path of a terrain file", &asset("lidar-hillside.tif").display().to_string());
    let seen = hand.page().seen.as_ref().expect("seen");
    let words = seen.words.join(" ");
    for part in ["EPSG:26915", "200 by 200 heights", "latitude 46.5", "covers 199 m by 199 m"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert!(hand.page().place_m.is_none() && !hand.page().can_crop());

    // The arrows put it down, and move it by a tenth of the frame.
    hand.harness.get_by_label(NAME).focus();
    hand.harness.run();
    hand.harness.key_press(Key::ArrowUp);
    hand.rest();
    let middle_m = hand.page().place_m.expect("put");
    let around_m = hand.page().around_m().unwrap();
    hand.harness.key_press(Key::ArrowLeft);
    hand.harness.key_press(Key::Minus);
    hand.rest();
    let place_m = hand.page().place_m.unwrap();
    assert!(hand.harness.get_by_label(NAME).is_focused(), "arrows stay on the map");
    let moved_m = place_m - middle_m;
    assert!((moved_m - DVec2::new(-0.1 * around_m, 0.0)).length() < 0.05, "{moved_m}");
    assert!((hand.page().around_m().unwrap() - around_m / 1.1).abs() < 0.6);
    hand.write("From the stump to each side", "40 m");
    let cropped = hand.page().cropped.as_ref().expect("cropped by Enter");
    assert!(cropped.words.iter().any(|line| line.starts_with("slope at the place")));

    let scene = folder.path().join("job");
    hand.write("File of the new scene", scene.to_str().unwrap());
    let (scene, terrain) = (folder.path().join("job.ron"), folder.path().join("job.tif"));
    assert_eq!(hand.opened, Some(scene.clone()), "{:?}", hand.page().said);
    let wanted = hand.page().wanted().unwrap();
    let ground = take(&wanted, &mut |_| true).unwrap();
    assert!(ground.at_m.distance(place_m) < 1e-6);
    assert_eq!(fs::read(&terrain).unwrap(), write::geotiff(&ground).unwrap());
    let text = fs::read_to_string(&scene).unwrap();
    assert_eq!(text, scene_on(&terrain, &scene).unwrap());
    assert!(text.contains("job.tif") && tumblewood::scene::load(&scene).is_ok());

    // What is there is not written over.
    hand.opened = None;
    hand.press("Use this ground");
    let said = hand.page().said.clone().expect("said");
    assert!(said.contains("is there already") && hand.opened.is_none(), "{said}");
    hand.write("File of the new scene", folder.path().join("no/such/job.ron").to_str().unwrap());
    assert!(hand.page().said.is_some() && hand.opened.is_none());
}

#[test]
fn prop_what_a_file_leaves_open_is_asked_and_said_as_the_command_says_it() {
    let mut hand = Hand::at(asset("river-bank.laz"));
    let said = hand.page().said.clone().expect("said");
    let command = overview_error(&hand);
    assert!(said == command && said.contains("unit of heights"), "{said}");
    hand.harness.state_mut().told.heights_in = Some(LengthUnit::Foot);
    hand.press("Read again");
    assert!(hand.page().said.is_none() && hand.page().seen.is_some(), "{:?}", hand.page().said);
    let image = relief::relief(&hand.page().seen.as_ref().unwrap().overview);
    let red = image.pixels.iter().filter(|pixel| pixel.r() > pixel.g().saturating_add(20)).count();
    assert!(red > 100, "what nothing is known of is hatched: {red}");
    // Beside the cloud, and on it.
    hand.write("Place of the stump", "0,0");
    let why = hand.page().misplaced.clone().expect("off the file");
    assert!(why.contains("latitude 44.0") && !hand.page().can_crop(), "{why}");
    hand.write("Place of the stump", "44.05073,-123.0712");
    hand.write("From the stump to each side", "25 m");
    let lines = &hand.page().cropped.as_ref().expect("cropped").words;
    assert!(lines.iter().any(|line| line.starts_with("holes:") && line.contains("%")), "{lines:?}");
    // Another unit makes it another ground.
    hand.write("Coordinate system, EPSG number", "here");
    assert!(hand.page().seen.is_none());
    assert!(hand.page().said.as_ref().is_some_and(|said| said.contains("read here")));
    hand.write("Coordinate system, EPSG number", "4326");
    let said = hand.page().said.clone().expect("another system than the file's");
    assert_eq!(said, overview_error(&hand));
}

fn overview_error(hand: &Hand) -> String {
    let wanted = hand.page().wanted().unwrap();
    tumblewood::terrain::intake::overview(&wanted, &mut |_| true).unwrap_err().to_string()
}

#[test]
fn prop_bad_files_and_lengths_are_said_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in
        [("none.tif", None), ("cut.laz", Some(&b"LASF"[..])), ("x.csv", Some(b"a,b"))]
    {
        let file = folder.path().join(name);
        if let Some(bytes) = bytes {
            fs::write(&file, bytes).unwrap();
        }
        let hand = Hand::at(file);
        let said = hand.page().said.clone().unwrap_or_default();
        assert!(said.contains(name) && hand.page().seen.is_none(), "{name}: {said}");
    }
    let mut hand = Hand::at(asset("forms/ascii.asc"));
    hand.harness.get_by_label(NAME).focus();
    hand.harness.run();
    hand.harness.key_press(Key::ArrowUp);
    hand.rest();
    hand.write("From the stump to each side", "12");
    assert!(hand.page().around_m().unwrap_err().contains("unit"));
    assert!(hand.page().place_m.is_some() && hand.page().cropped.is_none());
    hand.write("From the stump to each side", "1 m");
    let said = hand.page().said.clone().expect("said");
    assert!(said.contains("--around") && said.contains("5 m"), "{said}");
    hand.write("Distance between heights", "1 parsec");
    assert!(hand.page().cell_m().is_err() && !hand.page().can_crop());
}

#[test]
fn prop_a_click_puts_the_stump_a_drag_draws_the_frame_and_both_are_undone() {
    let mut hand = Hand::at(asset("lidar-hillside.tif"));
    let map = hand.harness.get_by_label(NAME).rect();
    let at = map.center() + vec2(20.0, -30.0);
    hand.button(at, true);
    hand.button(at, false);
    hand.rest();
    let place_m = hand.page().place_m.expect("put");
    let typed = hand.page().put.at.clone();
    assert_eq!(hand.page().seen.as_ref().unwrap().overview.place_m(&typed).unwrap(), place_m);
    let around = hand.page().put.around.clone();
    hand.button(at, true);
    hand.harness.event(egui::Event::PointerMoved(at + vec2(60.0, 10.0)));
    hand.harness.step();
    hand.harness.event(egui::Event::PointerMoved(at + vec2(90.0, 10.0)));
    hand.harness.step();
    hand.button(at + vec2(90.0, 10.0), false);
    hand.rest();
    assert_eq!(hand.page().place_m, Some(place_m), "the stump stays");
    assert_ne!(hand.page().put.around, around);
    let framed = hand.page().put.clone();
    // 90 points of some 470 that show 199 m.
    let around_m = hand.page().around_m().unwrap();
    assert!((25.0..50.0).contains(&around_m), "{around_m}");
    hand.harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    hand.rest();
    assert_eq!((&hand.page().put.around, &hand.page().put.at), (&around, &typed));
    hand.press("Undo");
    assert_eq!((&*hand.page().put.at, hand.page().place_m), ("", None));
    hand.harness.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    hand.press("Redo");
    assert_eq!(hand.page().put, framed);
}

#[test]
fn prop_a_stop_is_heeded_and_the_page_goes_on() {
    let mut hand = Hand::at(asset("lidar-hillside.tif"));
    let wanted = hand.page().wanted().unwrap();
    let stopped = run(&GroundAsk::Look(wanted), &AtomicBool::new(true), &|_| {});
    let why = stopped.as_ref().unwrap_err();
    assert!(why.contains("stop"), "{why}");
    let context = hand.harness.ctx.clone();
    hand.harness.state_mut().take(&context, stopped);
    hand.rest();
    assert!(hand.page().running.is_none() && hand.page().seen.is_some());
}
