//! What is asked, how pairs are counted, and the page under hands.

use std::{
    cell::RefCell,
    rc::Rc,
    sync::{LazyLock, atomic::AtomicBool},
};

use bevy_egui::egui;
use egui_kittest::{Harness, kittest::Queryable};
use tumblewood::{outcome::Mode, scene};

use super::{pair::Went, *};

/// The starter scene and a small comparison of its first cut, run once for all tests.
static RUN: LazyLock<(Job, Compared)> = LazyLock::new(|| {
    let scene = scene::parse(scene::starter(), "starter").expect("the starter");
    let job = Job::load(scene).expect("its job");
    let typed = Typed {
        cut: 0,
        lengths: "4ft, 8ft".to_owned(),
        faces: "160deg, 250deg".to_owned(),
        drops: "8".to_owned(),
    };
    let mut ask = asked(&typed, &job).expect("asked");
    (ask.ask.grounds, ask.ask.drops_per_ground) = (1, 2);
    let compared =
        run(&job, &ask, "1 May 2031", &AtomicBool::new(false), &|_| {}).expect("compared");
    (job, compared)
});

#[test]
fn verif_fields_are_read_as_the_command_reads_its_flags() {
    let job = &RUN.0;
    let typed = |lengths: &str, faces: &str, drops: &str| Typed {
        cut: 0,
        lengths: lengths.to_owned(),
        faces: faces.to_owned(),
        drops: drops.to_owned(),
    };
    let ask = asked(&typed("4ft..8ft:2ft", "", "60"), job).expect("read");
    assert_eq!((ask.lengths.lengths_m.len(), ask.lengths.faces_rad.len()), (3, 0));
    assert_eq!((ask.ask.drops, ask.ask.grounds, ask.ask.drops_per_ground), (60, 24, 20));
    for (typed, field, part) in [
        (typed("4", "", "60"), Field::Lengths, "needs a unit"),
        (typed("4ft, 4ft", "", "60"), Field::Lengths, "each value once"),
        (typed("0ft", "", "60"), Field::Lengths, "above zero"),
        (typed("60ft", "", "60"), Field::Lengths, "the stem under the top of cut first"),
        (typed("4ft", "400deg", "60"), Field::Faces, "limits"),
        (typed("4ft", "", "many"), Field::Drops, "1 to 100000"),
        (Typed { cut: 9, ..typed("4ft", "", "60") }, Field::Cut, "no such cut"),
    ] {
        let (found, why) = asked(&typed, job).expect_err(part);
        assert!(found == field && why.contains(part), "{found:?} {why}");
    }
}

#[test]
fn prop_told_drops_make_up_each_cells_counts() {
    let comparison = &RUN.1.comparison;
    assert_eq!(comparison.cells.len(), 4);
    for cell in &comparison.cells {
        assert_eq!(cell.told.len(), 8);
        let tumbled = |fate: &tumblewood::forecast::Fate| {
            fate.outcome().is_some_and(|outcome| outcome.mode == Mode::Tumbled)
        };
        let count = cell.told.iter().filter(|fate| tumbled(fate)).count();
        assert_eq!(count as u32, cell.forecast.modes.tumbled);
    }
}

#[test]
fn prop_a_cell_paired_with_itself_changes_nothing() {
    let cells = &RUN.1.comparison.cells;
    let same = Pair::of(&cells[0], &cells[0]);
    assert!(same.drops.iter().all(|(a, b)| a == b) && same.drops.len() == 8);
    let lines = same.counts();
    assert!(lines[0].starts_with("0 of 8 drops reached in the first and not"), "{lines:?}");
    assert!(lines.iter().all(|line| !line.contains("in the first and tumbled")), "{lines:?}");
    let other = Pair::of(&cells[0], &cells[1]);
    assert!(other.drops.iter().any(|(a, b)| a != b), "{other:?}");
}

#[test]
fn verif_changed_outcomes_are_counted_in_words() {
    let went = |mode, reached: bool, unknown: bool| Went {
        mode,
        rollout_m: 4.0,
        at_rest: !unknown,
        reached: if reached { vec!["foot_bridge".to_owned()] } else { Vec::new() },
        unknown,
    };
    let pair = Pair {
        drops: vec![
            (went(Some(Mode::Tumbled), true, false), went(Some(Mode::Rolled), false, false)),
            (went(Some(Mode::Tumbled), true, false), went(Some(Mode::Tumbled), true, false)),
            (went(Some(Mode::Slid), false, false), went(Some(Mode::Slid), true, false)),
            (went(Some(Mode::Slid), true, false), went(Some(Mode::Slid), false, true)),
            (went(None, false, false), went(Some(Mode::Stayed), false, false)),
        ],
    };
    assert_eq!(
        pair.counts(),
        [
            "1 of 5 drops reached in the first and not in the second",
            "1 of 5 drops reached in the second and not in the first",
            "1 of 5 drops reached in both",
            "1 of 5 drops reached in neither",
            "1 of 5 drops can't be told: lost in one of the two",
            "1 of 5 drops tumbled end over end in the first and rolled in the second",
            "1 of 5 drops sat back in the first and stayed in the second",
        ]
    );
    let (first, _) = &pair.drops[0];
    let units = tumblewood::quantity::Units::Metric;
    assert_eq!(first.words(units), "tumbled end over end, 4.0 m, reached foot bridge");
    let lost = &pair.drops[3].1;
    assert!(lost.words(units).contains("at least 4.0 m, lost before"));
}

type Sent = Rc<RefCell<Vec<CompareMessage>>>;

fn harness(page: ComparePage, size: egui::Vec2) -> (Harness<'static, ComparePage>, Sent) {
    let sent = Sent::default();
    let kept = Rc::clone(&sent);
    let mut harness = Harness::builder().with_size(size).build_ui_state(
        move |ui, page: &mut ComparePage| {
            kept.borrow_mut().extend(compare_page(ui, page, &RUN.0));
        },
        page,
    );
    harness.run();
    (harness, sent)
}

fn ran() -> ComparePage {
    let mut page = ComparePage::of(&RUN.0);
    page.take(Ok(RUN.1.clone()));
    page
}

#[test]
fn prop_a_wrong_field_says_so_and_a_right_one_runs() {
    let (mut harness, sent) = harness(ComparePage::of(&RUN.0), egui::vec2(1280.0, 720.0));
    harness.state_mut().typed.lengths = "4".to_owned();
    harness.run();
    harness.get_by_label("Run").click();
    harness.run();
    assert!(harness.query_by_label_contains("✖ Lengths:").is_some() && sent.borrow().is_empty());
    harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "Lengths").focus();
    harness.run();
    harness.key_press(egui::Key::End);
    harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "Lengths").type_text("ft");
    harness.run();
    assert!(harness.query_by_label_contains("✖ Lengths:").is_none());
    harness.key_press(egui::Key::Enter);
    harness.run();
    let messages = sent.borrow();
    assert!(
        matches!(&messages[..], [CompareMessage::Run(ask)] if ask.lengths.lengths_m.len() == 1),
        "{messages:?}"
    );
}

#[test]
fn prop_a_run_shows_its_progress_and_can_be_cancelled() {
    let mut page = ComparePage::of(&RUN.0);
    page.running = Some(Progress { done: 30, total: 120, reached: 2 });
    let (mut harness, sent) = harness(page, egui::vec2(1280.0, 720.0));
    assert!(harness.query_by_label("Run").is_none());
    harness.get_by_label("Cancel").click();
    harness.run();
    assert_eq!(sent.borrow()[..], [CompareMessage::Cancel]);
    harness.state_mut().take(Err("no ground".to_owned()));
    harness.run();
    assert!(harness.query_by_label("✖ no ground").is_some());
}

#[test]
fn prop_cells_are_shown_and_pinned_and_the_cautions_stand_under_counts() {
    let (mut harness, sent) = harness(ran(), egui::vec2(1280.0, 3000.0));
    let caution = format!("{} {}", stamp::NOT_COMPARED, stamp::PLANNING_AID);
    let before = harness.query_all_by_label(&caution).count();
    assert!(before >= 2, "{before}");
    for cell in &RUN.1.words {
        let units = RUN.1.units;
        assert!(harness.query_by_label(&format!("Show {}", cell.name(units))).is_some());
        assert!(harness.query_by_label(&cell.found(units)).is_some(), "{}", cell.found(units));
    }
    harness.get_by_label("Show 8 ft with face 250 deg").click();
    harness.run();
    let [CompareMessage::ShowCell { length_m, face_rad }] = sent.borrow()[..] else {
        panic!("{:?}", sent.borrow())
    };
    assert!((length_m - 8.0 * 0.3048).abs() < 1e-9);
    assert!((face_rad - 250_f64.to_radians()).abs() < 1e-9);
    for name in ["4 ft with face 160 deg", "8 ft with face 160 deg"] {
        harness.get_by_label(&format!("Pin {name}")).click();
        harness.run();
    }
    let first = "First: 4 ft with face 160 deg. Second: 8 ft with face 160 deg.";
    assert!(harness.query_by_label(first).is_some());
    assert!(harness.query_by_label_contains("reached in the first and not").is_some());
    assert_eq!(harness.query_all_by_label(&caution).count(), before + 1);
    harness.get_by_label("Pin 4 ft with face 160 deg").click();
    harness.run();
    assert!(harness.query_by_label(first).is_none());
}

#[test]
fn prop_the_keyboard_reaches_a_cell_in_a_small_window() {
    let (mut harness, sent) = harness(ran(), egui::vec2(640.0, 360.0));
    let wanted = "Show 4 ft with face 160 deg";
    for _ in 0..12 {
        if harness.get_by_label(wanted).is_focused() {
            break;
        }
        harness.key_press(egui::Key::Tab);
        harness.run();
    }
    assert!(harness.get_by_label(wanted).is_focused());
    let rect = harness.get_by_label(wanted).rect();
    assert!(rect.top() >= 0.0 && rect.bottom() <= 360.0, "{rect}");
    harness.key_press(egui::Key::Enter);
    harness.run();
    assert!(matches!(sent.borrow()[..], [CompareMessage::ShowCell { .. }]));
    let words: Vec<String> =
        ["be", "sa"].iter().zip(["st", "fe"]).map(|(a, b)| format!("{a}{b}")).collect();
    for word in words {
        assert_eq!(harness.query_all_by_label_contains(&word).count(), 0, "{word}");
    }
}
