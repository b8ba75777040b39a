//! What nobody means to do: off the terrain, into the sky, wrong numbers, everything removed.

use super::*;
use crate::{desk::Tool, layers::Pickable, worker::News};
use bevy::math::vec2;
use tumblewood::scene::edit::{Doubt, Field, New, fields, site_fields, things};

/// Takes hold of something from above and drags it; it is let go of at `to`.
fn drag_target(user: &mut User, id: &str, to: Vec2) {
    user.from_above();
    let at_m = user.middle_m(&target(id));
    let at = user.seen_ground(at_m);
    user.click(at);
    assert_eq!(user.desk().picked, Some(target(id)));
    user.drag(MouseButton::Left, at, to);
}

#[test]
fn prop_nothing_is_dragged_out_of_the_world() {
    let mut user = User::new();
    let text = user.text();
    // Above there is no ground under these corners of the window.
    for to in [vec2(2.0, 2.0), vec2(panel_x(), 300.0), vec2(300.0, 715.0)] {
        drag_target(&mut user, "boathouse", to);
        user.check();
        assert_eq!(user.hold(), Hold::Nothing);
        if user.text() == text {
            continue;
        }
        // It may be anywhere that the scene's reader takes, and it can be had back.
        assert_eq!(user.document().scene().map(|scene| scene.targets.len()), Some(3));
        user.undo();
        assert_eq!(user.text(), text);
    }
    // Into the sky.
    user.letter(KeyCode::KeyS, "s");
    user.frames(2);
    let at_m = user.middle_m(&target("keep-maple"));
    let trunk_m = user.desk().ground_m(at_m).unwrap() + 1.5 * DVec3::Z;
    let at = user.seen(trunk_m);
    user.click(at);
    user.drag(MouseButton::Left, at, vec2(at.x, 1.0));
    user.check();
    for thing in ["boathouse", "keep-maple"] {
        for far in [1e3, 1e9, f64::INFINITY, f64::NAN] {
            let before = user.text();
            user.edit(Edit::Move(target(thing), DVec2::new(far, 0.0)));
            user.check();
            assert_eq!(user.text(), before, "{thing} moved {far} m");
            assert!(!user.message().is_empty(), "{thing} moved {far} m");
            user.escape();
            user.edit(Edit::Turn(target(thing), far));
            user.check();
            user.escape();
        }
    }
}

/// A field of a thing by the end of its path.
fn field(user: &User, thing: &Thing, end: &str) -> Field {
    let scene = &user.desk().job.as_ref().unwrap().scene;
    let found = fields(scene, user.document().text(), thing);
    let paths: Vec<_> = found.iter().map(|field| field.path.clone()).collect();
    found
        .into_iter()
        .find(|field| field.path.ends_with(end))
        .unwrap_or_else(|| panic!("{end}: {paths:?}"))
}

#[test]
fn prop_wrong_numbers_are_refused_with_a_reason_and_change_nothing() {
    let mut user = User::new();
    let text = user.text();
    let barrier = Thing::Aid("barrier".to_owned());
    let rows = [
        (target("boathouse"), "wall"),
        (target("keep-maple"), "diameter"),
        (barrier, "diameter"),
        (Thing::Tree, "dbh"),
        (Thing::Cut("s2".to_owned()), "to"),
    ];
    for (thing, end) in &rows {
        let field = Box::new(field(&user, thing, end));
        for typed in ["0 ft", "-3 ft", "8", "NaN ft", "1e999 ft", "", "\"", "8 ft) (", "8 feat"] {
            user.edit(Edit::Field {
                field: field.clone(),
                typed: typed.to_owned(),
                doubt: field.doubt.clone().unwrap_or(Doubt::Plain),
            });
            assert_eq!(user.text(), text, "{} of {thing:?} set to {typed:?}", field.path);
            assert!(!user.message().is_empty(), "{} of {thing:?}: {typed:?}", field.path);
            user.check();
            user.escape();
        }
    }
    assert_eq!(user.document().undo_name(), None);
    assert_eq!(user.document().redo_name(), None);
}

#[test]
fn prop_how_sure_a_number_is_can_be_said_and_taken_back() {
    let mut user = User::new();
    let text = user.text();
    let scene = user.desk().job.as_ref().unwrap().scene.clone();
    let mut found = site_fields(&scene, &text);
    found.extend(things::all(&scene).iter().flat_map(|thing| fields(&scene, &text, thing)));
    let doubted = found.into_iter().filter(|field| field.doubt.is_some());
    let doubts = [Doubt::Exactly, Doubt::Paced, Doubt::Eyed, Doubt::DontKnow];
    let mut given = 0;
    for (field, doubt) in doubted.filter(|field| !field.text.is_empty()).zip(doubts.iter().cycle())
    {
        let (typed, field) = (field.text.clone(), Box::new(field));
        user.edit(Edit::Field { typed, field, doubt: doubt.clone() });
        user.check();
        given += u32::from(user.message().is_empty());
        if user.text() != text {
            user.undo();
        }
        assert_eq!(user.text(), text);
        user.escape();
    }
    assert!(given > 20, "{given} could be given");
}

#[test]
fn prop_ten_thousand_drops_are_called_off_by_the_next_change() {
    let mut user = User::counting();
    user.wait_for_counts();
    let told = user.told();
    user.wish(Wish::Drops(10_000));
    assert!(!user.counts().is_now);
    user.frames(3);
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    user.undo();
    user.check();
    user.wish(Wish::Drops(12));
    user.wait_for_counts();
    assert_eq!((user.counts().fates.len(), user.told()), (12, told));
}

#[test]
fn prop_everything_can_be_removed_and_had_back() {
    let mut user = User::new();
    let text = user.text();
    let mut texts = vec![];
    for turn in 0.. {
        assert!(turn < 100, "things come back");
        let scene = user.desk().job.as_ref().unwrap().scene.clone();
        let before = user.text();
        let gone = things::all(&scene).into_iter().any(|thing| {
            user.wish(Wish::Pick(Some(thing)));
            user.key(KeyCode::Delete, Key::Delete);
            user.check();
            let changed = user.text() != before;
            assert!(!changed || user.message().is_empty(), "{}", user.message());
            user.escape();
            changed
        });
        if !gone {
            break;
        }
        texts.push(before);
    }
    let scene = &user.desk().job.as_ref().unwrap().scene;
    let left = (scene.cuts.len(), scene.targets.len(), scene.aids.len(), scene.site.patches.len());
    assert_eq!(left, (0, 0, 0, 0));
    assert!(user.desk().counts().is_none() && !user.desk().is_working());
    // Nothing is there to play or to look at.
    for (code, letter) in [
        (KeyCode::KeyW, "w"),
        (KeyCode::KeyT, "t"),
        (KeyCode::KeyN, "n"),
        (KeyCode::KeyE, "e"),
        (KeyCode::KeyV, "v"),
        (KeyCode::Digit2, "2"),
    ] {
        user.letter(code, letter);
        user.check();
    }
    user.escape();
    for before in texts.iter().rev() {
        user.undo();
        assert_eq!(user.text(), *before);
        user.check();
    }
    assert_eq!(user.text(), text);
    assert!(!user.document().is_dirty());
}

#[test]
fn prop_the_face_of_a_cut_is_turned_by_its_piece() {
    let mut user = User::new();
    let cut = Thing::Cut("s1".to_owned());
    user.wish(Wish::Pick(Some(cut.clone())));
    user.from_above();
    let things = &user.app.world().resource::<Pickable>().things;
    let (_, piece) = things.iter().find(|(thing, _)| *thing == cut).expect("it is drawn");
    // Its upper end: elsewhere the sign of its face or the climber may be before it.
    let (_, high_m) = piece.extent_m().unwrap();
    let top_m = piece.points_m.iter().filter(|point_m| point_m.z > high_m.z - 0.1);
    let top_m: Vec<DVec3> = top_m.map(|point_m| crate::frame::double(*point_m)).collect();
    let top_m = top_m.iter().sum::<DVec3>() / top_m.len() as f64;
    let toward = |user: &User| {
        let job = user.desk().job.as_ref().unwrap();
        job.scene.cuts[0].release.toward_rad().told.to_degrees()
    };
    let before = toward(&user);
    let at = user.seen(top_m);
    user.move_to(at);
    user.frames(1);
    user.button(MouseButton::Left, ButtonState::Pressed);
    assert!(matches!(user.hold(), Hold::Spinning { .. }), "{:?}", user.hold());
    user.move_to(at + vec2(60.0, 0.0));
    user.move_to(at + vec2(0.0, 90.0));
    user.button(MouseButton::Left, ButtonState::Released);
    user.frames(2);
    assert_ne!(toward(&user), before);
    user.check();
    user.undo();
    assert_eq!(toward(&user), before);
}

#[test]
fn prop_new_things_go_where_the_click_is_and_nowhere_else() {
    let mut user = User::new();
    user.from_above();
    let text = user.text();
    // The demo has no line that could be redirected.
    let placed = |new: &New| new.has_place() && *new != New::Redirect;
    for new in New::all().into_iter().filter(placed) {
        user.wish(Wish::Use(Tool::Put(new)));
        user.click(vec2(2.0, 2.0));
        user.check();
        user.escape();
        user.wish(Wish::Use(Tool::Put(new)));
        let at = user.seen_ground(0.4 * user.middle_m(&target("boathouse")));
        user.click(at);
        user.check();
        assert!(user.message().is_empty(), "{new:?}: {}", user.message());
        assert_ne!(user.text(), text, "{new:?}");
        while user.text() != text {
            user.undo();
        }
        user.check();
    }
}

#[test]
fn prop_a_filter_stays_with_its_target() {
    let mut user = User::counting();
    user.wait_for_counts();
    let ids = |user: &User| {
        user.counts().cut.targets.iter().map(|target| target.id.clone()).collect::<Vec<_>>()
    };
    let path = ids(&user).iter().position(|id| id == "shore-path").unwrap();
    let mut filter = user.desk().filter;
    filter.target = Some(path);
    user.wish(Wish::Filter(filter));
    user.edit(Edit::Remove(target("boathouse")));
    user.wait_for_counts();
    let k = user.desk().filter.target.expect("the path is still there");
    assert_eq!(ids(&user)[k], "shore-path");
    user.edit(Edit::Remove(target("shore-path")));
    assert_eq!(user.desk().filter.target, None);
}

#[test]
fn prop_drops_of_a_scene_that_has_changed_are_not_played() {
    let mut user = User::new();
    let other = user.desk().job.clone().unwrap();
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    user.wish(Wish::Play { drop: 1, with_others: false });
    user.wait_until("a drop", |desk| !desk.playing.drops.is_empty());
    let made = user.desk().playing.drops[0].clone();
    assert!(std::sync::Arc::ptr_eq(&made.job, user.desk().job.as_ref().unwrap()));
    // The same drop of the scene before the change, come late.
    let (ask, told) = (user.desk().ask.clone(), tumblewood::job::Outer::Told);
    let replay = tumblewood::forecast::replay(&other, &ask, told, 0, 1, 0.01).unwrap();
    let late = crate::worker::Made { job: other, cut: 0, drop: 1, replay };
    let mut bench = user.app.world_mut().resource_mut::<Bench>();
    let Bench { desk, workers, .. } = &mut *bench;
    desk.play(&[1], false, workers);
    desk.hear(News::Replayed(std::sync::Arc::new(late)), workers);
    assert!(desk.playing.drops.is_empty() && desk.playing.waiting == [1]);
}
