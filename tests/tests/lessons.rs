//! The lessons that come with the program: each says what the forecast gives.

use std::{collections::BTreeSet, path::PathBuf, sync::atomic::AtomicBool};

use tumblewood::{
    forecast::Ask,
    job::Job,
    lesson::{
        ask_of,
        claim::{claims, measured},
        facts, fill, lesson_of, reveal, truth,
    },
    scene::{
        self, Course,
        edit::{claims_text, set_lesson, splice::apply},
        model::LessonSpec,
    },
};

fn course() -> Course {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes/lessons/course.ron");
    scene::load_course(&path).unwrap_or_else(|e| panic!("{e}"))
}

fn job(course: &Course, lesson: usize) -> Job {
    let scene = scene::load(&course.file(lesson).unwrap()).unwrap_or_else(|e| panic!("{e}"));
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn regress_every_lesson_gives_what_it_claims() {
    let course = course();
    for i in 0..course.lessons.len() {
        let job = job(&course, i);
        let lesson = lesson_of(&job).unwrap();
        assert!(!lesson.claims.is_empty(), "{} claims something", lesson.title);
        let ask = Ask { grounds: 0, ..ask_of(&job).unwrap() };
        let reveal = reveal(&job, &ask, &AtomicBool::new(false), &|_| {}).unwrap();
        for checked in claims(&reveal, lesson) {
            assert!(checked.holds, "{}: {}, found {}", lesson.title, checked.claim, checked.found);
        }
        // What these drops would have it claim is so by them, and reads back from its file.
        let own = LessonSpec { claims: measured(&reveal, lesson), ..lesson.clone() };
        for checked in claims(&reveal, &own) {
            assert!(checked.holds, "{}: {}, found {}", own.title, checked.claim, checked.found);
        }
        let text = job.scene.source.text.to_string();
        let splice = set_lesson(&job.scene, &text, &own).unwrap();
        let read = scene::parse(&apply(&text, &[splice]).unwrap(), "claims").unwrap();
        assert!(!own.claims.is_empty());
        assert_eq!(read.lesson.map(|lesson| claims_text(&lesson)), Some(claims_text(&own)));
        for question in &lesson.questions {
            assert!(truth(&reveal, question).is_some(), "{}: {}", lesson.title, question.id);
        }
        let facts = facts(&reveal, lesson).unwrap();
        for text in [&lesson.why, &lesson.try_next] {
            let filled = fill(text, lesson, &facts);
            assert!(!filled.contains(['{', '}']) && !filled.contains("no drop tells"), "{filled}");
        }
    }
}

#[test]
fn prop_the_course_is_invented_cautious_and_about_twelve_things() {
    let course = course();
    assert!(course.invented && course.lessons.len() >= 12);
    let mut about = BTreeSet::new();
    for i in 0..course.lessons.len() {
        let job = job(&course, i);
        let lesson = lesson_of(&job).unwrap();
        assert!(job.scene.invented, "{} is invented", lesson.title);
        assert!(!lesson.cautions.is_empty(), "{} cautions", lesson.title);
        assert!(about.insert(lesson.about.clone()), "{} is about its own thing", lesson.title);
    }
}

/// A lesson asks; it changes nothing of what is simulated.
#[test]
fn verif_a_scene_with_its_lesson_taken_away_is_the_same_scene() {
    let course = course();
    for i in 0..course.lessons.len() {
        let with = job(&course, i).scene;
        let text = with.source.text.to_string();
        let splice = scene::edit::splice::unset(&text, "lesson").unwrap().unwrap();
        let text = scene::edit::splice::apply(&text, &[splice]).unwrap();
        let without = scene::parse(&text, &with.source.name).unwrap();
        assert!(without.lesson.is_none());
        let same = scene::Scene {
            lesson: with.lesson.clone(),
            hash: with.hash.clone(),
            folder: with.folder.clone(),
            source: with.source.clone(),
            ..without
        };
        assert!(same == with, "{}", with.name);
    }
}
