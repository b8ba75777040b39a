//! The list of lessons and what is kept, under hands.

use std::{cell::RefCell, fs, rc::Rc};

use bevy_egui::egui::vec2;
use egui_kittest::{Harness, kittest::Queryable};
use tumblewood::lesson::record::COLUMNS;

use super::*;
use crate::lesson_page::tests::lesson_file;

#[test]
fn prop_a_course_lists_its_lessons_and_says_which_are_missing_and_what_is_damaged() {
    let folder = tempfile::tempdir().unwrap();
    let file = lesson_file(folder.path());
    let course = folder.path().join("course.ron");
    let text = "(version: 1, title: \"Two\", invented: true, words: \"Both short.\", lessons: \
                [\"one-of-each.ron\", \"gone.ron\"])";
    fs::write(&course, text).unwrap();
    let record = folder.path().join("answers.csv");
    let row = "2031-05-01,Two,One of each,abc,law,5,12,mode,options,as-it-stands,2 60 %,it stayed,\
               0.5,0.2,0.6,0.7,,";
    fs::write(&record, format!("{}\n{row}\nbroken line\n", COLUMNS.join(","))).unwrap();

    let sent: Rc<RefCell<Vec<PracticeMessage>>> = Rc::default();
    let kept = Rc::clone(&sent);
    let mut page = PracticePage { record: Some(record), stale: true, ..PracticePage::default() };
    page.open(&course);
    let mut harness = Harness::builder().with_size(vec2(1280.0, 720.0)).build_ui_state(
        move |ui, page: &mut PracticePage| kept.borrow_mut().extend(practice_page(ui, page)),
        page,
    );
    harness.run();
    let shows = |harness: &Harness<'_, PracticePage>, part: &str| {
        harness.query_all_by_label_contains(part).next().is_some()
    };
    assert!(shows(&harness, crate::panel::CAUTION) && shows(&harness, NO_PERMISSION));
    assert!(shows(&harness, "Both short.") && shows(&harness, "1 answer kept"));
    assert!(shows(&harness, "gone.ron"), "the missing lesson is named");
    harness.get_by_label("1. One of each").click();
    harness.run();
    assert_eq!(sent.take(), [PracticeMessage::Lesson(0)]);

    harness.get_by_label("How near your answers come").click();
    harness.run();
    assert!(shows(&harness, "answers.csv") && shows(&harness, "a plain file that is yours"));
    let sentences = harness.state().sentences.clone();
    assert!(sentences.len() > 2 && sentences.iter().all(|line| shows(&harness, line)));
    assert!(shows(&harness, "answers.csv:3:"), "the damaged line is named");
    assert!(shows(&harness, "What you say and what happens"), "the picture");

    // One lesson alone, a file that is none, and one that isn't there.
    harness.state_mut().scores = false;
    harness.state_mut().open(&file);
    assert_eq!((harness.state().lessons.len(), &*harness.state().course), (1, ""));
    harness.state_mut().open(&folder.path().join("no.ron"));
    harness.run();
    assert!(shows(&harness, "no.ron: can't be read") && harness.state().lessons.is_empty());
    fs::write(&course, text.replace("lessons: [", "lessons: [3, ")).unwrap();
    harness.state_mut().open(&course);
    assert!(harness.state().said.as_ref().is_some_and(|said| said.contains("course.ron")));
}
