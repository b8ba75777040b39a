//! A lesson taken on the hillside: nothing of its forecast before the lock, and back from a try.

use super::*;
use crate::{
    desk::Tab,
    lesson_page::{LessonPage, Step, tests::lesson_file},
    screens::Screens,
    worker::ToPage,
};
use tumblewood::scene::edit::New;

impl User {
    fn lesson<T>(&mut self, act: impl FnOnce(&mut LessonPage) -> T) -> T {
        let mut screens = self.app.world_mut().resource_mut::<Screens>();
        let done = act(screens.pages.lesson.as_mut().expect("a lesson"));
        self.frames(3);
        done
    }

    /// Presses a button of the lesson's panel.
    fn press(
        &mut self,
        act: impl FnOnce(&mut LessonPage, &mut Vec<crate::lesson_page::LessonMessage>),
    ) {
        let mut screens = self.app.world_mut().resource_mut::<Screens>();
        let pages = &mut screens.pages;
        act(pages.lesson.as_mut().expect("a lesson"), &mut pages.from_lesson);
        self.frames(4);
    }

    fn takes_a_lesson() -> Self {
        let mut user = Self::new();
        let file = lesson_file(user.folder.path());
        user.wish(Wish::Leave(Leaving::Practice));
        {
            let mut bench = user.app.world_mut().resource_mut::<Bench>();
            bench.desk.mail.come.push(ToPage::Practice(file));
        }
        user.frames(6);
        assert_eq!((user.desk().screen, &user.desk().message), (Screen::Lesson, &None));
        user.lesson(|page| page.record = None);
        user
    }
}

/// Whether anything of the forecast can be seen.
fn tells(desk: &Desk) -> bool {
    desk.answer.newest.is_some()
        || desk.answer.progress.is_some()
        || desk.felled.asked.is_some()
        || !desk.playing.drops.is_empty()
        || !desk.playing.waiting.is_empty()
}

#[test]
fn prop_nothing_of_the_forecast_is_there_before_the_answer_is_shown() {
    let mut user = User::takes_a_lesson();
    let before = user.desk().lesson.as_ref().unwrap().before.clone();
    assert!(!tells(user.desk()) && !user.desk().is_working());
    // Keys that would tell or change something do nothing; those that look around do.
    for (code, letter) in [
        (KeyCode::KeyW, "w"),
        (KeyCode::KeyT, "t"),
        (KeyCode::KeyN, "n"),
        (KeyCode::KeyC, "c"),
        (KeyCode::KeyK, "k"),
        (KeyCode::KeyM, "m"),
        (KeyCode::Digit2, "2"),
        (KeyCode::Delete, ""),
    ] {
        user.letter(code, letter);
    }
    user.frames(10);
    let desk = user.desk();
    assert!(!tells(desk) && desk.screen == Screen::Lesson && desk.cut == 0, "{:?}", desk.message);
    assert_eq!((&desk.message, &desk.tool), (&None, &crate::desk::Tool::Hand));
    let eye = user.orbit();
    user.from_above();
    assert_ne!(user.orbit(), eye);

    // A click on the hillside puts the mark, and picks nothing.
    let place_m = DVec2::new(2.0, -6.0);
    let at = user.seen_ground(place_m);
    user.click(at);
    user.frames(4);
    let desk = user.desk();
    let (at_m, _) = desk.lesson.as_ref().unwrap().mark.expect("a mark");
    assert!(at_m.distance(place_m) < 0.3 && desk.picked.is_none(), "{at_m}");

    // Locked, it is dropped: one first, then all.
    user.press(|page, messages| page.lock(messages));
    assert!(!user.desk().lesson.as_ref().unwrap().wants_mark);
    user.wait_until("the drops", |desk| desk.mail.waiting == 0 && desk.mail.come.is_empty());
    user.wait_until("one drop", |desk| desk.playing.drops.len() == 1);
    let shown = user.lesson(|page| page.revealed.as_ref().unwrap().shown);
    let desk = user.desk();
    assert_eq!((desk.playing.drops[0].drop, desk.playing.clock.speed), (shown, 0));
    assert!(desk.counts().is_none(), "one drop is played before any are counted");
    user.press(|page, messages| page.go(Step::Many, messages));
    let counts = user.desk().counts().expect("all drops");
    assert_eq!((counts.fates.len(), counts.paths.len(), counts.is_now), (12, 12, true));
    assert!(user.desk().playing.drops.is_empty());
    assert!(user.desk().lesson.as_ref().unwrap().mark.is_some(), "the mark beside the spread");
    user.press(|page, messages| page.go(Step::Worst, messages));
    user.press(|page, messages| page.go(Step::Why, messages));

    // One thing is changed in a copy, as in any scene; the lesson and its file stay.
    let file = user.folder.path().join("one-of-each.ron");
    let text = fs::read_to_string(&file).unwrap();
    user.wish(Wish::Try(file.clone()));
    let desk = user.desk();
    assert_eq!((desk.screen, desk.tab, desk.is_trying), (Screen::Hillside, Tab::Change, true));
    assert_eq!((&desk.message, &desk.trouble, &desk.ask), (&None, &None, &before));
    user.edit(Edit::Add(New::Stump, DVec2::new(1.0, -4.0)));
    assert!(user.document().is_dirty() && user.document().path().is_none());
    user.wish(Wish::Leave(Leaving::Lesson));
    user.frames(4);
    let desk = user.desk();
    assert_eq!((desk.screen, &desk.question, desk.is_trying), (Screen::Lesson, &None, false));
    assert_eq!(desk.counts().expect("the lesson's drops").fates.len(), 12);
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
    assert_eq!(user.lesson(|page| page.step), Step::Why);

    user.wish(Wish::Leave(Leaving::Practice));
    let desk = user.desk();
    assert_eq!((desk.screen, &desk.ask), (Screen::Practice, &before));
    assert!(desk.lesson.is_none() && desk.job.is_none());
}

#[test]
fn prop_a_lesson_that_is_left_while_it_is_dropped_stays_left() {
    let mut user = User::takes_a_lesson();
    user.lesson(|page| page.drafts[1].text = "30".to_owned());
    user.press(|page, messages| page.lock(messages));
    user.wish(Wish::StopTask);
    user.wish(Wish::Leave(Leaving::Practice));
    user.wait_until("the end", |desk| desk.mail.waiting == 0 && desk.mail.come.is_empty());
    user.frames(6);
    assert_eq!(user.desk().screen, Screen::Practice);
    assert!(!tells(user.desk()));
}
