//! A lesson made as a trainer makes it: by keys and clicks, from the demo's scene.

use std::{path::PathBuf, sync::Arc};

use bevy_egui::egui::{accesskit::Role, vec2};
use egui_kittest::{
    Harness,
    kittest::{NodeT, Queryable},
};
use tumblewood::scene::{self, edit::splice::apply};

use super::*;

fn page() -> TeachPage {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes/lake-oak.ron");
    let scene = scene::load(&path).expect("the demo");
    let text = scene.source.text.to_string();
    let job = Job::load(scene).expect("a job");
    let cut = job.scene.cuts.iter().position(|cut| cut.id == "s3").expect("s3");
    TeachPage::of(&job, &text, cut, None)
}

struct State {
    page: TeachPage,
    /// Where the scene is saved, once it is.
    file: Option<PathBuf>,
    messages: Vec<TeachMessage>,
}

fn harness<'a>() -> Harness<'a, State> {
    let state = State { page: page(), file: None, messages: Vec::new() };
    Harness::builder().with_size(vec2(1280.0, 2400.0)).build_ui_state(
        |ui, state: &mut State| {
            let messages = teach_page(ui, &mut state.page, state.file.as_deref());
            state.messages.extend(messages);
        },
        state,
    )
}

fn type_into(harness: &mut Harness<'_, State>, label: &str, text: &str) {
    let field = harness
        .get_all_by_label(label)
        .find(|node| {
            let role = node.accesskit_node().role();
            matches!(role, Role::TextInput | Role::MultilineTextInput)
        })
        .unwrap_or_else(|| panic!("no field {label}"));
    field.focus();
    field.type_text(text);
    harness.run();
}

#[test]
fn prop_a_lesson_is_made_without_touching_its_file() {
    let mut harness = harness();
    harness.run();
    harness.get_by_label("Put the lesson into the scene").click();
    harness.run();
    let said = harness.state().page.said.clone();
    assert!(matches!(&said, Some(Err(why)) if why.starts_with("Title:")), "{said:?}");
    for (label, text) in [
        ("Title", "The boathouse"),
        ("The one thing", "How often a log gets there"),
        ("What the learner is told", "You stand in the oak."),
        ("Why", "It reached in {reaches:boathouse}."),
    ] {
        type_into(&mut harness, label, text);
    }
    harness.get_by_label("how the stem leans").click();
    harness.run();
    harness.get_by_label("Ask: In how many of 100 drops does it reach boathouse?").click();
    harness.run();
    harness.get_by_label("Put the lesson into the scene").click();
    harness.run();
    let state = harness.state();
    assert!(matches!(state.page.said, Some(Ok(_))), "{:?}", state.page.said);
    let Some(TeachMessage::Put(lesson)) = state.messages.last() else { panic!("nothing put") };
    assert_eq!((lesson.cut.as_str(), lesson.questions.len(), lesson.hidden.len()), ("s3", 1, 1));
    let page = &state.page;
    let splice = set_lesson(&page.scene, &page.text, lesson).expect("a splice");
    let text = apply(&page.text, &[splice]).expect("a text");
    let read = scene::parse(&text, "lake-oak.ron").unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(read.lesson.as_ref(), Some(&**lesson));

    // It is taken once it stands in the scene and the scene is saved.
    let file = PathBuf::from("oak.ron");
    harness.state_mut().file = Some(file.clone());
    harness.run();
    harness.get_by_label("Take it").click();
    harness.run();
    assert!(!harness.state().messages.contains(&TeachMessage::Take(file.clone())));
    let job = Job::load(read).expect("a job");
    harness.state_mut().page.renew(&job, &text);
    harness.run();
    harness.get_by_label("Take it").click();
    harness.run();
    assert_eq!(harness.state().messages.last(), Some(&TeachMessage::Take(file)));
}

#[test]
fn prop_what_the_forecast_must_give_is_measured_by_the_lesson_that_is_put() {
    let mut page = page();
    let words = "It went end over end in {tumbled}.".to_owned();
    page.draft = LessonSpec {
        title: "The boathouse".to_owned(),
        about: "How it goes".to_owned(),
        situation: "You stand in the oak.".to_owned(),
        why: words,
        drops: 12,
        questions: page.offered.iter().filter(|q| q.id == "mode").cloned().collect(),
        ..page.draft
    };
    assert!(!page.is_put());
    let lesson = page.checked().expect("a lesson");
    let splice = set_lesson(&page.scene, &page.text, &lesson).expect("a splice");
    let text = apply(&page.text, &[splice]).expect("a text");
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes/lake-oak.ron");
    let job = Job::load(scene::parse(&text, &path.display().to_string()).expect("a scene"));
    let job = job.expect("a job");
    page.renew(&job, &text);
    assert!(page.is_put());

    let found = measured(&job, &AtomicBool::new(false), &|_| {}).expect("claims");
    let [ClaimSpec::Share { of: 0, event, low, high }] = &found[..] else { panic!("{found:?}") };
    let again = LessonSpec { claims: found.clone(), ..lesson };
    page.running = Some(Progress { done: 3, total: 12, reached: 0 });
    page.take(Ok(found.clone()));
    assert!(page.running.is_none() && page.is_put() && page.draft.claims == found);
    assert_eq!(page.checked().expect("a lesson"), again);
    let said = claim::words(&found[0], &again, page.scene.units);
    assert!(said.contains(&format!("{} in {low} to {high} of 100", event.said())), "{said}");
    page.take(Err("stopped before all drops were done".to_owned()));
    assert!(page.draft.claims == found && matches!(page.said, Some(Err(_))));
}

#[test]
fn verif_what_a_case_changes_is_said_in_words() {
    let mut page = page();
    page.add_case();
    let is_face = |(_, f): &(String, Field)| f.label == "Face azimuth";
    let field = page.changeable.iter().position(is_face).expect("a face");
    page.typing[0] = Typing { field, text: "205 deg".into(), wrong: None };
    page.change_case(1);
    let words = screen::changes(&page.draft.cases[1], &page.changeable);
    assert_eq!(words, ["s3: Face azimuth becomes 205 deg"]);
    // From a free drop to a hinge: one value, its parts with it.
    let is_release = |(_, f): &(String, Field)| f.label == "Release";
    let field = page.changeable.iter().position(is_release).expect("a release");
    page.typing[0] = Typing { field, text: "Free".into(), wrong: None };
    page.change_case(1);
    assert_eq!(page.draft.cases[1].set.len(), 1, "{:?}", page.draft.cases[1].set);
    assert!(page.changeable.iter().all(|(_, f)| f.label != "Id"));
}

#[test]
fn prop_cases_come_and_go_with_what_is_asked_of_them() {
    let mut page = page();
    page.add_case();
    page.add_case();
    let length = |page: &TeachPage| {
        let is = |(_, f): &(String, Field)| f.label == "Length of the piece";
        page.changeable.iter().position(is).expect("a length")
    };
    for (index, text) in [(1, "6 ft"), (2, "9 ft")] {
        page.typing[index - 1] = Typing { field: length(&page), text: text.into(), wrong: None };
        page.change_case(index);
        assert_eq!(page.typing[index - 1].wrong, None);
        assert!(!page.draft.cases[index].set.is_empty());
    }
    assert_eq!(page.draft.cases[1].label, "length of the piece 6 ft");
    page.ask_fewest(Event::Tumbled, "it goes end over end");
    let mode = page.offered.iter().position(|q| q.id == "mode").expect("mode");
    page.choose(mode, true);
    page.draft.questions.iter_mut().filter(|q| q.id == "mode").for_each(|q| q.of = 2);
    page.remove_case(1);
    // The one left is now the first changed one, and two are still to choose between.
    let among = page.draft.questions.iter().find_map(|q| match &q.asked {
        Asked::Fewest { among, .. } => Some(among.clone()),
        _ => None,
    });
    assert_eq!(among, Some(vec![0, 1]));
    assert!(page.draft.questions.iter().any(|q| q.id == "mode" && q.of == 1));
    page.remove_case(1);
    assert!(page.draft.questions.is_empty(), "{:?}", page.draft.questions);
    page.typing.clear();
    page.change_case(1);
    page.remove_case(0);
    assert_eq!(page.draft.cases.len(), 1);
}

#[test]
fn prop_what_can_not_be_typed_is_said() {
    let mut page = page();
    page.add_case();
    page.typing[0] = Typing { field: 0, text: "twelve".into(), wrong: None };
    for field in 0..page.changeable.len() {
        page.typing[0].field = field;
        page.typing[0].text = "\" ) , 12 furlongs".into();
        page.change_case(1);
    }
    assert_eq!(Arc::strong_count(&page.scene), 1);
    let why = page.checked().expect_err("no title yet");
    assert!(why.starts_with("Title:"), "{why}");
}
