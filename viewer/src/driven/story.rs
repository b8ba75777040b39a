//! What a climber does from opening a scene to leaving it.

use super::*;
use crate::desk::{Leaving, Question, Tool};
use tumblewood::scene::edit::New;

#[test]
fn prop_a_boathouse_is_dragged_counted_again_undone_and_saved() {
    let mut user = User::counting();
    user.wait_for_counts();
    let (text, told) = (user.text(), user.told());
    user.from_above();

    let boathouse = target("boathouse");
    let from_m = user.middle_m(&boathouse);
    // Uphill is toward the stump.
    let uphill_m = 5.0 * -from_m.normalize();
    let roof_m = user.desk().ground_m(from_m).unwrap() + 3.5 * DVec3::Z;
    let at = user.seen(roof_m);
    user.click(at);
    assert_eq!(user.desk().picked, Some(boathouse.clone()));
    let order = user.desk().answer.order;
    // What is under the pointer on the ground goes five metres.
    let hand_m =
        crate::frame::double(user.app.world().resource::<crate::hand::Pointed>().0.unwrap().at_m);
    let to = user.seen_ground(hand_m.truncate() + uphill_m);
    user.drag(MouseButton::Left, at, to);
    let moved_m = user.middle_m(&boathouse);
    assert!((moved_m - from_m).distance(uphill_m) < 0.1, "{moved_m} {from_m}");
    assert!(user.document().is_dirty());
    assert_eq!(user.desk().answer.order, order + 1);
    // On a quick machine there are new ones already.
    let is_stale = user.told() == told;
    assert!(!(is_stale && user.counts().is_now), "the counts are of the boathouse where it was");
    user.wait_for_counts();
    let moved_told = user.told();
    assert_ne!(moved_told, told);
    let moved_text = user.text();

    user.undo();
    assert_eq!(user.text(), text);
    assert!(!user.document().is_dirty());
    user.wait_for_counts();
    assert_eq!(user.told(), told);
    user.redo();
    assert_eq!(user.text(), moved_text);
    assert!(user.document().is_dirty());
    assert_ne!(fs::read_to_string(user.file()).unwrap(), moved_text);
    user.save();
    assert!(!user.document().is_dirty());
    assert_eq!(fs::read(user.file()).unwrap(), moved_text.as_bytes());

    let mut user = user.again(COUNTED);
    assert_eq!((&*user.text(), &user.desk().question), (&*moved_text, &None));
    user.wait_for_counts();
    assert_eq!(user.told(), moved_told);
}

#[test]
fn prop_a_barrier_is_put_down_and_the_worst_drops_are_played() {
    let mut user = User::counting();
    user.letter(KeyCode::Digit3, "3");
    assert_eq!(user.desk().cut_id(), Some("s3"));
    user.wait_for_counts();
    let told = user.told();
    user.from_above();

    user.wish(Wish::Use(Tool::Put(New::BarrierLog)));
    let at = user.seen_ground(0.5 * user.middle_m(&target("boathouse")));
    user.click(at);
    assert_eq!(user.desk().tool, Tool::Hand);
    let Some(Thing::Aid(id)) = &user.desk().picked else { panic!("{:?}", user.desk().picked) };
    assert!(user.text().contains(&format!("\"{id}\"")));
    user.wait_for_counts();
    assert_ne!(user.told(), told);
    user.undo();

    user.wait_for_counts();
    let worst: Vec<u32> = user.desk().reaching(true).into_iter().take(3).collect();
    assert!(!worst.is_empty(), "the demo's third cut reaches nothing in 12 drops");
    user.letter(KeyCode::KeyW, "w");
    user.wait_until("worst", |desk| desk.playing.drops.len() == worst.len());
    let playing = &user.desk().playing;
    assert_eq!(playing.drops.iter().map(|made| made.drop).collect::<Vec<_>>(), worst);
    assert!(playing.clock.runs && playing.clock.time_s < 0.1, "{:?}", playing.clock);
    let end_s = playing.clock.end_s;
    assert!(end_s > 0.5 && end_s < 120.0, "{end_s}");

    // Half a second of the world at true speed, then at half.
    user.frames(25);
    let before_s = user.desk().playing.clock.time_s;
    assert!(before_s > 0.35, "{before_s}");
    user.letter(KeyCode::BracketLeft, "[");
    let slow_s = user.desk().playing.clock.time_s;
    user.frames(10);
    let on_s = user.desk().playing.clock.time_s - slow_s;
    assert!((on_s - 5.0 * FRAME.as_secs_f64()).abs() < 1e-9, "{on_s}");
    for _ in 0..3 {
        user.letter(KeyCode::BracketLeft, "[");
    }
    let slow_s = user.desk().playing.clock.time_s;
    user.frames(10);
    let on_s = user.desk().playing.clock.time_s - slow_s;
    assert!((on_s - 10.0 / 16.0 * FRAME.as_secs_f64()).abs() < 1e-9, "{on_s}");

    user.letter(KeyCode::Period, ".");
    let stepped_s = user.desk().playing.clock.time_s;
    user.frames(5);
    assert_eq!(user.desk().playing.clock.time_s, stepped_s, "a step stops the clock");
    user.letter(KeyCode::Comma, ",");
    assert!(user.desk().playing.clock.time_s < stepped_s);
    user.wish(Wish::Seek(1.0));
    assert_eq!(user.desk().playing.clock.time_s, end_s.min(1.0));

    let ghosts = user.desk().playing.ghosts;
    user.letter(KeyCode::KeyG, "g");
    assert_ne!(user.desk().playing.ghosts, ghosts);
    user.letter(KeyCode::KeyF, "f");
    user.frames(1);
    let piece_m = user.desk().playing.motions().next().unwrap().centre_m;
    assert!(user.orbit().focus_m.distance(single(piece_m)) < 1e-4, "the camera follows");
    user.letter(KeyCode::KeyV, "v");
    user.wait_until("side view", |desk| desk.playing.strip.is_some());
    assert_eq!(user.desk().playing.strip.as_ref().unwrap().0, worst[0]);

    // A change of the scene puts away what was played of the scene before.
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.3, 0.0)));
    assert!(user.desk().playing.drops.is_empty() && user.desk().playing.strip.is_none());
    assert!(user.desk().playing.side_view);
}

#[test]
fn prop_unsaved_work_is_asked_about_and_kept() {
    let mut user = User::new();
    let text = user.text();
    let copy = user.folder.path().join(".scene.ron.tumblewood-unsaved");
    assert!(!copy.exists());
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    let work = user.text();
    assert_ne!(work, text);
    assert_eq!(fs::read_to_string(&copy).unwrap(), work);

    for to in [Leaving::Start, Leaving::Quit, Leaving::Open(user.file())] {
        user.wish(Wish::Leave(to.clone()));
        assert_eq!(user.desk().question, Some(Question::Leave(to)));
        user.escape();
        assert_eq!(user.desk().question, None);
        assert_eq!(user.text(), work);
    }
    user.wish(Wish::Leave(Leaving::Open(user.file())));
    assert!(matches!(user.desk().question, Some(Question::Leave(_))), "opening another file");
    user.escape();

    // As after a crash.
    let mut user = user.again(FEW);
    assert!(matches!(user.desk().question, Some(Question::Recover(_))));
    assert_eq!(user.text(), text);
    user.wish(Wish::Recover(true));
    assert_eq!((&*user.text(), user.document().is_dirty()), (&*work, true));
    user.check();
    user.undo();
    assert_eq!(user.text(), text);
    user.redo();

    let elsewhere = user.folder.path().join("jobs");
    fs::create_dir(&elsewhere).unwrap();
    user.wish(Wish::SaveAs(elsewhere.join("bank")));
    assert_eq!(fs::read_to_string(elsewhere.join("bank.ron")).unwrap(), work);
    assert!(!user.document().is_dirty() && !copy.exists());
    assert_eq!(fs::read_to_string(user.file()).unwrap(), text, "the first file is as it was");
    user.wish(Wish::SaveAs(user.file()));
    assert_eq!(user.desk().question, Some(Question::Replace(user.file())));
    user.wish(Wish::Replace(user.file()));
    assert_eq!(fs::read_to_string(user.file()).unwrap(), work);
    user.wish(Wish::Leave(Leaving::Start));
    assert_eq!(user.desk().screen, Screen::Start);
}

#[test]
fn prop_leaving_without_saving_keeps_nothing_and_saving_first_keeps_all() {
    let mut user = User::new();
    let copy = user.folder.path().join(".scene.ron.tumblewood-unsaved");
    let (text, drops) = (user.text(), user.desk().ask.drops);
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    user.wish(Wish::LeaveAnyway(Leaving::Start));
    assert_eq!(user.desk().screen, Screen::Start);
    assert!(!copy.exists());
    user.wish(Wish::Leave(Leaving::Open(user.file())));
    assert_eq!((&*user.text(), &user.desk().question), (&*text, &None));
    assert_eq!(user.desk().ask.drops, drops, "what was asked for goes on");
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    let work = user.text();
    user.wish(Wish::Leave(Leaving::Quit));
    user.wish(Wish::SaveAndLeave(Leaving::Quit));
    assert_eq!(fs::read_to_string(user.file()).unwrap(), work);
    assert!(user.desk().is_over && !copy.exists());
}
