//! The panel, the strip and what stands over them, under hands: the demo with a small forecast.

mod felled;

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::{Arc, LazyLock, atomic::AtomicBool},
};

use bevy_egui::egui::{Rect, Shape, Vec2, accesskit::Role, vec2};
use egui_kittest::{
    Harness,
    kittest::{NodeT, Queryable},
};
use tumblewood::{
    felling::{self, Felling},
    forecast::{
        Ask,
        renew::{Kept, Renewed, renew},
        replay,
    },
    job::{Job, Outer},
    report::text::{quantity, without_line},
    scene::{
        self,
        edit::{Document, Doubt, Field, Thing, fields, scene_fields, site_fields, things},
    },
};

use super::*;
use crate::{
    desk::{Felled, Playing, Question, Tool},
    grant::{grant, take_scene},
    palette::{THEMES, palette},
    playing::Clock,
    screens::{Screens, draw_screens},
    signs::colour,
    view::letter,
    wish::Edit,
    worker::{Made, SAMPLE_S, Stage, Workers},
};

/// The window at the usual size of letters, and what is left of it, in points, at twice that.
const WINDOW: Vec2 = vec2(1280.0, 720.0);
const AT_TWICE: Vec2 = vec2(640.0, 360.0);
/// The demo's third cut is the one that reaches something in a handful of drops.
const CUT: usize = 2;
/// Roles of what takes the keyboard.
const TAKES_KEYS: [Role; 7] = [
    Role::Button,
    Role::CheckBox,
    Role::RadioButton,
    Role::ComboBox,
    Role::TextInput,
    Role::Slider,
    Role::SpinButton,
];

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes/lake-oak.ron")
}

fn ask() -> Ask {
    Ask { drops: 24, grounds: 2, drops_per_ground: 4, ..Ask::default() }
}

/// The demo's forecast at each stage.
static RUN: LazyLock<BTreeMap<Stage, Arc<Renewed>>> = LazyLock::new(|| {
    let job = Job::load(scene::load(&demo()).expect("the demo")).expect("its job");
    let mut kept = Kept::default();
    let mut at = |stage: Stage| {
        let ask = stage.ask(&ask(), CUT);
        renew(&job, &ask, &mut kept, &AtomicBool::new(false), &|_| {}).expect("a forecast")
    };
    Stage::ALL.map(|stage| (stage, Arc::new(at(stage)))).into()
});

/// The desk with a scene's text on it.
fn desk_of(document: Document) -> Desk {
    let mut desk = Desk::new();
    (desk.screen, desk.ask, desk.document) = (Screen::Hillside, ask(), Some(document));
    desk.cut = CUT;
    take_scene(&mut desk).expect("a scene");
    desk
}

/// The demo and its counts at a stage.
fn desk(stage: Stage) -> Desk {
    let mut desk = desk_of(Document::open(&demo()).expect("the demo"));
    desk.answer.newest = Some((desk.answer.order, stage, RUN[&stage].clone()));
    desk
}

/// The same while the hardest of its drops is played.
fn playing() -> Desk {
    let mut desk = desk(Stage::WholeJob);
    let (job, ask) = (desk.job.clone().expect("a job"), desk.ask.clone());
    let drop = *desk.reaching(true).first().expect("a drop that reaches");
    let replay = replay(&job, &ask, Outer::Told, CUT, drop, SAMPLE_S).expect("a replay");
    desk.playing = Playing {
        drops: vec![Arc::new(Made { job, cut: CUT, drop, replay })],
        asked: vec![drop],
        clock: Clock { time_s: 2.5, ..Clock::new(6.0) },
        ..Playing::none()
    };
    desk
}

/// What is on the screen, and what hands made of it.
struct Seen {
    desk: Desk,
    screens: Screens,
    wishes: Vec<Wish>,
}

type Hands = Harness<'static, Seen>;

fn under_hands(desk: Desk, size: Vec2) -> Hands {
    let seen = Seen { desk, screens: Screens::default(), wishes: Vec::new() };
    let mut hands = Harness::builder().with_size(size).build_ui_state(
        |ui, seen: &mut Seen| {
            seen.desk.look.dress(ui.ctx());
            let Seen { desk, screens, wishes } = seen;
            draw_screens(ui.ctx(), desk, screens, 0.3, wishes);
        },
        seen,
    );
    letter(&hands.ctx);
    settle(&mut hands);
    hands
}

/// A sign that turns while something is waited for never comes to rest.
fn settle(hands: &mut Hands) {
    hands.run_steps(4);
}

/// Names of all that takes the keyboard, by where they are in the tree.
fn widgets(hands: &Hands) -> BTreeMap<String, String> {
    let all = hands.root().children_recursive().map(|node| node.accesskit_node());
    let all = all.filter(|node| TAKES_KEYS.contains(&node.role()) && !node.is_disabled());
    all.map(|node| (format!("{:?}", node.locate()), node.label().unwrap_or_default())).collect()
}

/// What has the keyboard: where it is in the tree, its name, all of it and what of it is seen.
fn focused(hands: &Hands) -> Option<(String, String, Rect, Rect)> {
    let id = hands.ctx.memory(|memory| memory.focused())?;
    let response = hands.ctx.read_response(id)?;
    let all = hands.root().children_recursive().map(|node| node.accesskit_node());
    let node = all.into_iter().find(|node| node.locate().0 == id.accesskit_id())?;
    let name = node.label().unwrap_or_default();
    Some((format!("{:?}", node.locate()), name, response.rect, response.interact_rect))
}

fn tab_key(hands: &mut Hands) {
    hands.key_press(Key::Tab);
    settle(hands);
}

/// Whether the ring round what has the keyboard is painted.
fn is_ringed(hands: &Hands, seen: Rect) -> bool {
    let wanted = colour(palette(hands.state().desk.look.theme).chosen);
    hands.output().shapes.iter().any(|shape| match &shape.shape {
        Shape::Rect(rect) => {
            rect.stroke.color == wanted
                && rect.stroke.width >= 2.0
                && rect.rect.expand(1.0).contains_rect(seen)
        }
        _ => false,
    })
}

/// Everything has a name, Tab comes to everything, and what it has come to is ringed and in sight.
fn go_round(mut hands: Hands, what: &str) {
    let all = widgets(&hands);
    for name in all.values() {
        assert!(name.chars().any(char::is_alphanumeric), "{what}: {name:?} is no name: {all:?}");
    }
    let screen = Rect::from_min_size(Default::default(), hands.ctx.viewport_rect().size());
    let mut reached = BTreeMap::new();
    for _ in 0..2 * all.len() + 4 {
        tab_key(&mut hands);
        let Some((place, name, rect, seen)) = focused(&hands) else { continue };
        if reached.contains_key(&place) {
            break;
        }
        // What is wider or higher than its part of the window is seen as far as there is room.
        let room = |of: Vec2| of.min(seen.size() + vec2(1.0, 1.0)) == of;
        assert!(seen.is_positive() && screen.contains_rect(seen), "{what}: {name} {seen}");
        assert!(room(rect.size()), "{what}: {name} is cut off: {seen} of {rect}");
        assert!(is_ringed(&hands, seen), "{what}: {name} has no ring");
        reached.insert(place, name);
    }
    let missed: Vec<_> = all.iter().filter(|(place, _)| !reached.contains_key(*place)).collect();
    assert!(missed.is_empty(), "{what}: Tab does not come to {missed:?}");
}

fn picked(thing: Thing) -> Desk {
    let mut desk = desk(Stage::Full);
    (desk.tab, desk.picked) = (Tab::Change, Some(thing));
    desk
}

#[test]
fn prop_the_forecast_and_a_played_drop_are_all_reached_by_keys_and_named() {
    for size in [WINDOW, AT_TWICE] {
        go_round(under_hands(playing(), size), &format!("forecast {size}"));
    }
    go_round(under_hands(desk(Stage::Coarse), AT_TWICE), "coarse");
}

#[test]
fn prop_everything_that_can_be_changed_is_reached_by_keys_and_named() {
    let mut whole = desk(Stage::Full);
    (whole.tab, whole.tool) = (Tab::Change, Tool::Put(scene::edit::New::all()[0]));
    go_round(under_hands(whole, WINDOW), "all things");
    let all = things::all(&desk(Stage::Full).job.expect("a job").scene);
    for thing in all {
        let what = format!("{thing:?}");
        go_round(under_hands(picked(thing), AT_TWICE), &what);
    }
}

#[test]
fn prop_views_and_letters_are_reached_by_keys_and_seen_in_every_theme() {
    for (theme, word) in THEMES {
        let mut desk = desk(Stage::Full);
        (desk.tab, desk.look.theme) = (Tab::View, theme);
        go_round(under_hands(desk, AT_TWICE), word);
    }
}

#[test]
fn prop_questions_and_messages_fit_and_are_answered_by_keys() {
    let path = demo();
    for question in [
        Question::Leave(Leaving::Quit),
        Question::Recover("2031-05-01 08:00".to_owned()),
        Question::Overwrite,
        Question::Replace(path.clone()),
        Question::SaveAs(path.display().to_string()),
        Question::Export("s3-drop-7.glb".to_owned()),
    ] {
        let mut desk = desk(Stage::Full);
        desk.question = Some(question.clone());
        let hands = under_hands(desk, AT_TWICE);
        let (_, name, ..) = focused(&hands).expect("the first answer has the keyboard");
        assert!(!name.is_empty(), "{question:?}");
        go_round(hands, &format!("{question:?}"));
    }
    let mut desk = desk(Stage::Full);
    desk.message =
        Some("a line that goes on for some time, and more than one of them\n".repeat(60));
    let mut hands = under_hands(desk, AT_TWICE);
    hands.get_by_label("Close").click();
    settle(&mut hands);
    assert_eq!(hands.state().wishes, [Wish::Dismiss]);
}

#[test]
fn prop_cautions_come_first_and_stand_under_every_count() {
    for stage in Stage::ALL {
        let mut hands = under_hands(desk(stage), vec2(1280.0, 3000.0));
        let first = hands.get_by_label(CAUTION).rect();
        let under = hands.get_by_label_contains("No one goes below until").rect();
        let counts = hands.query_all_by_label_contains("as you told it;").map(|node| node.rect());
        let ranges = hands.query_all_by_label_contains("grounds that fit").map(|node| node.rect());
        let said: Vec<Rect> = counts.chain(ranges).collect();
        assert!(said.len() >= 5, "{stage:?}: {}", said.len());
        assert!(said.iter().all(|rect| rect.top() > first.bottom()), "{stage:?}");
        let heading = hands.get_by_label("What it reaches, by any mode").rect();
        assert!(heading.top() < under.top(), "{stage:?}");
        // Coarse or full is said, over the counts and in each range.
        let word = match stage {
            Stage::Coarse => "Coarse: 16 drops on the ground as you told it, no other ground yet.",
            Stage::Finer => "Coarse: 6 drops as told and 1 other grounds so far.",
            Stage::Full | Stage::WholeJob => "Full: 24 drops as told and 2 other grounds.",
        };
        let mark = hands.get_by_label(word).rect();
        assert!(mark.top() < heading.top(), "{stage:?}");
        let coarse = hands.query_all_by_label_contains("Coarse: ").count();
        assert_eq!(coarse > 1, stage == Stage::Finer, "{stage:?} {coarse}");
        let untold = hands.query_all_by_label_contains("Other grounds not looked at").count();
        assert_eq!(untold > 0, stage == Stage::Coarse, "{stage:?}");
        let whole = hands.query_by_label_contains("The whole job").is_some();
        assert_eq!(whole, stage == Stage::WholeJob);
        // Counts of an older scene say so.
        let of_before = "These counts are of the scene before the last change.";
        assert!(hands.query_by_label(of_before).is_none());
        hands.state_mut().desk.answer.order += 1;
        settle(&mut hands);
        assert!(hands.query_by_label(of_before).is_some());
    }
}

#[test]
fn prop_no_words_promise_or_name_a_winner() {
    let words: Vec<String> =
        ["be", "sa"].iter().zip(["st", "fe"]).map(|(a, b)| format!("{a}{b}")).collect();
    for tab in [Tab::Forecast, Tab::Pull, Tab::Change, Tab::View] {
        let mut desk = playing();
        desk.tab = tab;
        let hands = under_hands(desk, vec2(1280.0, 3000.0));
        for word in &words {
            assert_eq!(hands.query_all_by_label_contains(word).count(), 0, "{tab:?} {word}");
        }
    }
}

#[test]
fn prop_units_are_the_scenes() {
    let text = std::fs::read_to_string(demo()).expect("the demo");
    let metric = text.replacen("units: Imperial", "units: Metric", 1);
    assert_ne!(text, metric);
    let folder = tempfile::tempdir().expect("a folder");
    for (text, has, has_not) in [(text, " ft", " m long"), (metric, " m", " ft")] {
        let mut desk = desk_of(Document::new(&text, folder.path()));
        desk.answer.newest = Some((0, Stage::WholeJob, RUN[&Stage::WholeJob].clone()));
        desk.picked = Some(Thing::Target("boathouse".to_owned()));
        for tab in [Tab::Forecast, Tab::Change] {
            desk.tab = tab;
            let hands = under_hands(desk, vec2(1280.0, 3000.0));
            let said = |words: &str| hands.query_all_by_label_contains(words).count();
            assert!(said(has) > 0, "{tab:?}: nothing in{has}");
            // Distances that are read from the site, not typed by the user.
            let from_stump = hands.query_by_label_contains("from the stump");
            let cuts = hands.query_all_by_label_contains("long, butt");
            for node in from_stump.into_iter().chain(cuts) {
                let words = format!("{:?}", node.accesskit_node().label());
                let words = format!("{words}{:?}", node.accesskit_node().value());
                assert!(words.contains(has) && !words.contains(has_not), "{words}");
            }
            desk = hands.into_state().desk;
        }
    }
}

/// Types over what stands in a number that can be dragged too, and Enter.
fn type_number(hands: &mut Hands, name: &str, text: &str) {
    hands.get_by_role_and_label(Role::SpinButton, name).click();
    settle(hands);
    hands.key_press_modifiers(Modifiers::COMMAND, Key::A);
    settle(hands);
    hands.event(egui::Event::Text(text.to_owned()));
    settle(hands);
    hands.key_press(Key::Enter);
    settle(hands);
}

/// Types over what stands in a field, and Enter.
fn type_over(hands: &mut Hands, name: &str, text: &str) {
    hands.get_by_role_and_label(Role::TextInput, name).focus();
    settle(hands);
    hands.key_press_modifiers(Modifiers::COMMAND, Key::A);
    settle(hands);
    hands.get_by_role_and_label(Role::TextInput, name).type_text(text);
    settle(hands);
    hands.key_press(Key::Enter);
    settle(hands);
}

/// The field of a thing with this ending of its path.
fn field(desk: &Desk, thing: &Thing, ending: &str) -> Field {
    let (job, document) = (desk.job.as_ref().unwrap(), desk.document.as_ref().unwrap());
    let all = fields(&job.scene, document.text(), thing);
    all.into_iter().find(|field| field.path.ends_with(ending)).expect("a field")
}

#[test]
fn prop_what_is_typed_with_its_unit_is_wished_for() {
    for (thing, ending, typed) in [
        (Thing::Target("boathouse".to_owned()), ".wall", "9 ft"),
        (Thing::Target("keep-maple".to_owned()), ".diameter", "30 cm"),
        (Thing::Aid("barrier".to_owned()), ".diameter", "1 ft 8 in"),
        (Thing::Cut("s3".to_owned()), ".opening", "75 deg"),
        (Thing::Tree, ".dbh", "0.7 m"),
    ] {
        let desk = picked(thing.clone());
        let field = field(&desk, &thing, ending);
        let mut hands = under_hands(desk, vec2(1280.0, 3000.0));
        type_over(&mut hands, &field.label, typed);
        let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
        let wanted = Edit::Field { field: Box::new(field), typed: typed.to_owned(), doubt };
        assert_eq!(hands.state().wishes, [Wish::Edit(wanted)]);
    }
    // What is left as it was, and what is given up, is no wish.
    let thing = Thing::Target("boathouse".to_owned());
    let desk = picked(thing.clone());
    let field = field(&desk, &thing, ".wall");
    let mut hands = under_hands(desk, vec2(1280.0, 3000.0));
    type_over(&mut hands, &field.label, &field.text);
    hands.get_by_role_and_label(Role::TextInput, &field.label).focus();
    settle(&mut hands);
    hands.get_by_role_and_label(Role::TextInput, &field.label).type_text("7");
    settle(&mut hands);
    hands.key_press(Key::Escape);
    settle(&mut hands);
    assert!(hands.state().wishes.is_empty(), "{:?}", hands.state().wishes);
}

#[test]
fn prop_how_sure_a_number_is_is_wished_for() {
    let thing = Thing::Aid("barrier".to_owned());
    let desk = picked(thing.clone());
    let field = field(&desk, &thing, ".diameter");
    let mut hands = under_hands(desk, vec2(1280.0, 3000.0));
    let list = format!("How sure: {}", field.label);
    hands.get_by_role_and_label(Role::ComboBox, &list).click();
    settle(&mut hands);
    hands.get_by_label("eyed").click();
    settle(&mut hands);
    let typed = field.text.clone();
    let wanted = Edit::Field { field: Box::new(field), typed, doubt: Doubt::Eyed };
    assert_eq!(hands.state().wishes, [Wish::Edit(wanted)]);
}

#[test]
fn prop_what_can_not_be_read_is_said_and_changes_nothing() {
    let mut desk = desk(Stage::Full);
    let workers = Workers::start(|| {});
    let (job, document) = (desk.job.clone().unwrap(), desk.document.as_ref().unwrap());
    let (scene, text) = (&job.scene, document.text().to_owned());
    let mut all: Vec<Field> = things::all(scene)
        .iter()
        .flat_map(|thing| fields(scene, &text, thing))
        .chain(scene_fields(scene, &text))
        .chain(site_fields(scene, &text))
        .collect();
    all.retain(|field| field.kind.quantity().is_some());
    assert!(all.len() > 50, "{}", all.len());
    for field in all {
        for typed in ["7", "7 parsecs", "ft", "-"] {
            let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
            let doubt = if doubt == Doubt::DontKnow { Doubt::Plain } else { doubt };
            let edit = Edit::Field { field: Box::new(field.clone()), typed: typed.into(), doubt };
            grant(&mut desk, &workers, Wish::Edit(edit));
            let said = desk.message.take().unwrap_or_else(|| {
                panic!("{} takes {typed:?}", field.path);
            });
            let read = format!("read {typed:?}");
            assert!(said.contains(&read) && said.contains("allowed:"), "{}: {said}", field.path);
            assert!(said.contains(&field.path), "{}: {said}", field.path);
            assert_eq!(desk.document.as_ref().unwrap().text(), text);
        }
    }
    assert!(!desk.document.as_ref().unwrap().is_dirty() && desk.answer.order == 0);
    // The words come up on the screen, and the field shows what the scene has.
    let thing = Thing::Target("boathouse".to_owned());
    let mut desk = picked(thing.clone());
    let field = field(&desk, &thing, ".wall");
    let edit =
        Edit::Field { field: Box::new(field.clone()), typed: "7".into(), doubt: Doubt::Plain };
    grant(&mut desk, &workers, Wish::Edit(edit));
    let hands = under_hands(desk, WINDOW);
    assert!(hands.query_by_label_contains("read \"7\"").is_some());
    let shown = hands.get_by_role_and_label(Role::TextInput, &field.label).value();
    assert_eq!(shown.as_deref(), Some(field.text.as_str()));
}

#[test]
fn prop_buttons_wish_for_what_they_say() {
    let thing = Thing::Target("boathouse".to_owned());
    let step_m = 0.3048;
    let edit = |edit: Edit| Wish::Edit(edit);
    let moved = |x: f64, y: f64| edit(Edit::Move(thing.clone(), step_m * glam::DVec2::new(x, y)));
    for (name, wanted) in [
        ("Move 1 ft left over the map", moved(-1.0, 0.0)),
        ("Move 1 ft up over the map", moved(0.0, 1.0)),
        ("Turn 5° clockwise about its middle", edit(Edit::Turn(thing.clone(), 5_f64.to_radians()))),
        ("Copy", edit(Edit::Copy(thing.clone()))),
        ("Remove", edit(Edit::Remove(thing.clone()))),
        ("◀ All things", Wish::Pick(None)),
    ] {
        let mut hands = under_hands(picked(thing.clone()), WINDOW);
        hands.get_by_label(name).click();
        settle(&mut hands);
        assert_eq!(hands.state().wishes, [wanted], "{name}");
    }
    for (name, wanted) in [
        ("Reaching ▶", Wish::NextReaching(1)),
        ("Worst three", Wish::Worst),
        ("Typical", Wish::Typical),
        ("Put away", Wish::StopPlaying),
        ("▶ Play", Wish::Run(true)),
        ("−1 frame", Wish::Step(-1)),
        ("Follow", Wish::Follow(true)),
        ("Ghosts", Wish::Ghosts(false)),
        ("Side view", Wish::SideView(true)),
        ("Compare lengths…", Wish::Go(Screen::Compare)),
        ("Make a lesson…", Wish::Go(Screen::Teach)),
        ("Change", Wish::Tab(Tab::Change)),
    ] {
        let mut hands = under_hands(playing(), WINDOW);
        hands.get_by_label(name).click();
        settle(&mut hands);
        assert_eq!(hands.state().wishes, [wanted], "{name}");
    }
}

#[test]
fn prop_numbers_of_the_strip_are_typed() {
    for (name, text, wanted) in [
        ("Moment, typed", "4.25 s", Wish::Seek(4.25)),
        ("Drop", "5", Wish::Play { drop: 5, with_others: false }),
        // There is no such drop: the last.
        ("Drop", "500", Wish::Play { drop: 23, with_others: false }),
    ] {
        let mut hands = under_hands(playing(), WINDOW);
        type_number(&mut hands, name, text);
        assert_eq!(hands.state().wishes, [wanted], "{name}");
    }
    // Where none is played yet, the number that stands there is one to ask for.
    let mut hands = under_hands(desk(Stage::Full), WINDOW);
    type_number(&mut hands, "Drop", "0");
    assert_eq!(hands.state().wishes, [Wish::Play { drop: 0, with_others: false }]);
}

#[test]
fn regress_the_clock_of_a_drop_stays_below_the_hillside() {
    // Letters for a room leave its row no space for the slider.
    for size in [WINDOW, vec2(853.0, 480.0), AT_TWICE] {
        let hands = under_hands(playing(), size);
        let slider = hands.get_by_label("Moment").rect();
        assert!(slider.right() <= size.x - PANEL_WIDTH, "{size}: {slider}");
        assert!(slider.width() > 60.0, "{size}: {slider}");
    }
}
