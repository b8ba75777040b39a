//! A lesson under hands and keys, its drops made between two frames.

use std::{
    cell::RefCell,
    fs,
    path::{Path, PathBuf},
    rc::Rc,
    sync::atomic::AtomicBool,
};

use bevy_egui::egui::{Key, vec2};
use egui_kittest::{Harness, kittest::Queryable};
use tempfile::TempDir;
use tumblewood::{lesson::record, scene};

use super::*;

/// A lesson on the starter's bank, invented.
const LESSON: &str = r#"
    lesson: (
        title: "One of each",
        about: "What can be asked.",
        situation: "You stand above a shed.",
        cut: "CUT",
        drops: 12,
        grounds: 1,
        seed: 5,
        hidden: [
            (id: "thumb", what: "how firm the soil is", by: "a thumb pressed into the bank",
             fields: ["site.ground"]),
        ],
        questions: [
            (id: "mode", ask: "How does it go?", answer: Mode),
            (id: "rolls", ask: "How often does it roll?", answer: Chance(Rolled)),
            (id: "far", ask: "How far does it run?", answer: HowFar),
            (id: "rest", ask: "Where does it lie?", answer: Rest),
        ],
        why: "It stayed in {stayed} and ran {far}; drop {shown}: {shown_how}.",
        try_next: "Make it longer.",
        cautions: ["This permits nothing."],
    ),
)
"#;

/// The starter with that lesson, in a folder.
pub(crate) fn lesson_file(folder: &Path) -> PathBuf {
    let starter = scene::starter();
    let cut = scene::parse(starter, "starter").unwrap().cuts[0].id.clone();
    let body = starter.trim_end().strip_suffix(')').expect("a scene ends in a bracket");
    let path = folder.join("one-of-each.ron");
    fs::write(&path, format!("{body}{}", LESSON.replace("CUT", &cut))).unwrap();
    path
}

type Sent = Rc<RefCell<Vec<LessonMessage>>>;

struct Hand {
    harness: Harness<'static, LessonPage>,
    sent: Sent,
    folder: TempDir,
}

impl Hand {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = lesson_file(folder.path());
        let record = Some(folder.path().join("data/answers.csv"));
        let page = LessonPage::open(path, "A course", [0, 2], record).expect("a lesson");
        let sent = Sent::default();
        let kept = Rc::clone(&sent);
        let mut harness = Harness::builder().with_size(vec2(372.0, 2600.0)).build_ui_state(
            move |ui, page: &mut LessonPage| kept.borrow_mut().extend(lesson_page(ui, page)),
            page,
        );
        harness.run();
        Self { harness, sent, folder }
    }

    fn page(&self) -> &LessonPage {
        self.harness.state()
    }

    fn write(&mut self, field: &str, text: &str) {
        self.harness.get_by_label(field).focus();
        self.harness.run();
        self.harness.get_by_label(field).type_text(text);
        self.harness.run();
    }

    fn press(&mut self, button: &str) {
        self.harness.get_by_label(button).click();
        self.harness.run();
    }

    fn shows(&self, part: &str) -> bool {
        self.harness.query_all_by_label_contains(part).next().is_some()
    }

    /// The drops that were asked for, made now.
    fn drop_it(&mut self) -> Vec<LessonMessage> {
        let mut sent = self.sent.take();
        let Some(LessonMessage::Reveal(ask)) = sent.pop() else { panic!("{sent:?}") };
        let done = run::run(&ask, &AtomicBool::new(false), &|_| {});
        let mut messages = Vec::new();
        self.harness.state_mut().take(done, &mut messages);
        self.harness.run();
        messages
    }
}

#[test]
fn prop_a_lesson_asks_locks_and_then_shows_one_thing_after_the_other() {
    let mut hand = Hand::new();
    let caution = hand.harness.get_by_label(crate::panel::CAUTION).rect();
    assert!(caution.top() < 40.0 && caution.right() <= 372.0);
    // What isn't known on site isn't known here, until one looks.
    assert!(hand.shows("tells how firm the soil is"));
    let finds = hand.page().lesson.hidden[0].finds.clone();
    let finds = crate::page::sentence(&finds);
    assert!(!hand.shows(&finds));
    hand.press("A thumb pressed into the bank");
    assert!(hand.shows(&finds));

    hand.press("stays where it lands");
    hand.write("How sure of answer 1", "many");
    hand.write("Low end of answer 3", "2 m");
    hand.write("High end of answer 3", "9 m");
    hand.press("Lock the answer");
    assert_eq!((hand.page().step, hand.sent.borrow().len()), (Step::Asking, 0));
    assert!(hand.shows("2 left out") && hand.shows("no number"), "what is wrong is said");
    hand.harness.state_mut().drafts[0].sure.clear();
    hand.harness.run();
    hand.write("How sure of answer 1", "60");
    hand.write("How often, answer 2", "30");
    // The mark by keys: the first arrow puts it beside the stump.
    hand.harness
        .get_by_label(
            "The bank from above, answer 4: arrows move the mark, plus and minus its radius",
        )
        .focus();
    hand.harness.run();
    for key in [Key::ArrowUp, Key::ArrowRight, Key::ArrowRight, Key::Plus] {
        hand.harness.key_press(key);
        hand.harness.run();
    }
    let (at_m, radius_m) = hand.page().mark().expect("a mark");
    // The scene is in feet: a step is 2 ft.
    assert!((at_m - 0.3048 * DVec2::new(4.0, 2.0)).length() < 0.1, "{at_m}");
    assert!((radius_m - 3.0 - 0.3048 * 2.0).abs() < 0.1, "{radius_m}");
    assert!(hand.page().wants_mark());
    hand.harness.state_mut().marked(DVec2::new(1.0, -8.0));
    assert!((hand.page().mark().unwrap().0 - DVec2::new(1.0, -8.0)).length() < 0.1);
    hand.press("Lock the answer");
    assert_eq!(hand.page().step, Step::Dropping);
    assert!(!hand.page().wants_mark() && hand.page().revealed.is_none());
    let locked = hand.page().locked.clone();
    assert!(locked.iter().all(Option::is_some), "{locked:?}");
    assert_eq!(locked[0], Some(Answer::Choice { option: 1, confidence: 0.6 }));

    let played = hand.drop_it();
    let revealed = hand.page().revealed.clone().expect("revealed");
    let ends_m = revealed.ends_m();
    let play = LessonMessage::Play(revealed.shown);
    assert_eq!(played, [LessonMessage::Ends(ends_m), play]);
    assert!(hand.shows("one drop, at true speed") && !hand.shows("It happened"));
    // Enter goes on: the button that does has the keyboard.
    hand.harness.key_press(Key::Enter);
    hand.harness.run();
    assert_eq!(hand.page().step, Step::Many);
    assert!(matches!(hand.sent.take()[..], [LessonMessage::Many(_)]));
    assert!(
        hand.shows("All 12 drops")
            && hand.shows("60 in 100 sure")
            && hand.shows("You said 30 in 100")
    );
    assert!(hand.shows("within what you said would hold 80"), "range and mark");
    assert!(!hand.shows("The worst: ") && !hand.shows("Make it longer."));
    let button = hand.harness.get_by_label("Show the worst drop").rect();
    assert!(button.bottom() < 400.0, "what is next is in sight at once");
    hand.harness.key_press(Key::Enter);
    hand.harness.run();
    assert!(matches!(hand.sent.take()[..], [LessonMessage::Play(_)]));
    hand.harness.key_press(Key::Enter);
    hand.harness.run();
    assert_eq!(hand.page().step, Step::Why);
    assert!(!revealed.why.contains('{') && hand.shows(&revealed.why));
    assert!(hand.shows("This permits nothing.") && hand.shows("4 answers kept in"));
    let kept = record::read(&hand.folder.path().join("data/answers.csv")).unwrap();
    assert_eq!((kept.rows.len(), kept.damaged.len()), (4, 0));
    assert!(kept.rows.iter().all(|row| row.course == "A course" && row.seed == 5));
    hand.press("Next lesson");
    hand.press("Change one thing…");
    assert_eq!(hand.sent.take(), [LessonMessage::Next, LessonMessage::Try]);
}

#[test]
fn prop_the_drops_of_a_lesson_are_those_of_the_command() {
    let hand = Hand::new();
    let (page, stop) = (hand.page(), AtomicBool::new(false));
    let ask = RevealAsk {
        job: Same(page.job.clone()),
        ask: page.drops.clone(),
        course: String::new(),
        answers: vec![None; 4],
        room: Vec::new(),
        record: None,
        date: "2031-05-01".to_owned(),
    };
    let ours = run::run(&ask, &stop, &|_| {}).unwrap();
    let theirs = tumblewood::lesson::reveal(&page.job, &page.drops, &stop, &|_| {}).unwrap();
    let fates = |told: &[(usize, Vec<tumblewood::forecast::Fate>)]| format!("{told:?}");
    assert_eq!(fates(&ours.renewed.run.told), fates(&theirs.runs[0].run.told));
    assert_eq!(ours.shown, tumblewood::lesson::shown(&theirs.runs[0]));
    assert!(ours.found.iter().all(|found| found.answer.is_none() && found.scored.is_empty()));
    assert_eq!(ours.found[3].points_m.len(), 12);
    let stopped = run::run(&ask, &AtomicBool::new(true), &|_| {});
    assert!(stopped.unwrap_err().contains("stopped"));
}

#[test]
fn prop_answers_that_can_not_be_kept_are_said_and_shown() {
    let mut hand = Hand::new();
    let file = hand.folder.path().join("data/answers.csv");
    fs::create_dir(hand.folder.path().join("data")).unwrap();
    fs::write(&file, "my shopping list\n").unwrap();
    hand.write("How often, answer 2", "30");
    hand.press("Lock the answer");
    hand.drop_it();
    for _ in 0..3 {
        hand.harness.key_press(Key::Enter);
        hand.harness.run();
    }
    assert!(hand.shows("could not be kept") && hand.page().step == Step::Why);
    assert_eq!(fs::read_to_string(&file).unwrap(), "my shopping list\n", "nothing is lost");
    // What is no lesson is refused with the file's name.
    let scene = hand.folder.path().join("scene.ron");
    fs::write(&scene, scene::starter()).unwrap();
    let why = LessonPage::open(scene, "", [0, 1], None).err().expect("no lesson");
    assert!(why.contains("scene.ron") && why.contains("lesson"), "{why}");
}

#[test]
fn prop_a_room_is_asked_and_its_sheet_written() {
    let mut hand = Hand::new();
    hand.press("A room answers");
    assert_eq!(hand.sent.take(), [LessonMessage::Large(true)]);
    assert!(hand.harness.query_by_label("rolls").is_some() && !hand.shows("How sure of answer 1"));
    // Lines for a pen, before anything is dropped.
    let blank = hand.folder.path().join("blank.html");
    hand.write("File of the sheet", &blank.display().to_string());
    hand.press("Write the sheet");
    let html = fs::read_to_string(&blank).unwrap();
    assert!(html.contains("Answers and hands") && !html.contains("What happened"), "{html}");

    hand.write("Hands, question 1: rolls", "7");
    hand.press("Lock the answer");
    assert_eq!((hand.page().step, hand.sent.borrow().len()), (Step::Asking, 0));
    assert!(hand.shows("how sure is not said"), "how sure is wanted");
    hand.write("How sure, question 1: rolls", "70");
    hand.write("Hands, question 1: slides", "3");
    hand.write("How sure, question 1: slides", "60");
    hand.write("Hands, answer 1 to question 2", "10");
    hand.write("How often, answer 1 to question 2", "40");
    hand.write("Hands, answer 1 to question 4", "4");
    hand.harness.state_mut().marked(DVec2::new(1.0, -8.0));
    hand.harness.run();
    hand.press("Another answer to 4");
    hand.harness.state_mut().marked(DVec2::new(-3.0, -5.0));
    hand.harness.run();
    hand.write("Hands, answer 2 to question 4", "6");
    let mark = hand.page().mark().expect("the last mark").0;
    assert!((mark - DVec2::new(-3.0, -5.0)).length() < 0.1, "{mark}");
    hand.press("Lock the answer");
    assert_eq!(hand.page().step, Step::Dropping);
    assert!(hand.shows("10 hands.") && hand.shows("Left out."));
    hand.drop_it();
    for _ in 0..3 {
        hand.harness.key_press(Key::Enter);
        hand.harness.run();
    }
    for part in
        ["7 hands: rolls, 70 in 100 sure", "The room says 40 in 100", "Mean score of 10 hands"]
    {
        assert!(hand.shows(part), "{part}");
    }
    let pictures = hand.harness.query_all_by_label_contains("The room and the drops").count();
    assert_eq!(pictures, 3, "one for each question that was answered");
    assert!(hand.page().revealed.as_ref().unwrap().found.iter().all(|said| said.answer.is_none()));
    assert!(
        !hand.folder.path().join("data/answers.csv").exists(),
        "hands are no learner's answers"
    );

    // A file that is there is not written over, unless it is this page's own.
    let taken = hand.folder.path().join("one-of-each.ron");
    let text = fs::read_to_string(&taken).unwrap();
    hand.harness.state_mut().printed.path.text = taken.display().to_string();
    hand.press("Write the sheet");
    assert!(hand.shows("is there already"));
    assert_eq!(fs::read_to_string(&taken).unwrap(), text);
    hand.harness.state_mut().printed.path.text = blank.display().to_string();
    hand.press("Write the sheet");
    assert!(hand.shows("Written to"));
    let html = fs::read_to_string(&blank).unwrap();
    assert_eq!(html.matches("<svg").count(), 3);
    assert!(html.contains("What happened") && html.contains("7</td>"));
}
