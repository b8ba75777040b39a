//! The pulled stem by hand: its line taken hold of on the hillside, its numbers worked out anew.

use super::*;
use tumblewood::{felling::Felling, scene::edit::New};

use crate::{
    desk::{Tab, Tool},
    frame::double,
    layers::Pickable,
};

/// The numbers of the scene as it is, once they are there.
fn numbers(user: &mut User) -> Felling {
    user.wait_until("pull and hinge", |desk| {
        let known = desk.felled.newest.as_ref();
        known.is_some_and(|(order, _)| *order == desk.answer.order)
    });
    let (_, felling) = user.desk().felled.newest.clone().expect("an answer");
    Felling::clone(&felling.expect("numbers"))
}

fn told(felling: &Felling, key: &str) -> f64 {
    felling.figures.iter().find(|f| f.key == key).expect("a number").told
}

#[test]
fn prop_a_redirect_and_a_far_end_are_dragged_and_the_numbers_follow() {
    let mut user = User::of("mill-ash.ron", FEW);
    user.wish(Wish::Cut(2));
    user.letter(KeyCode::KeyK, "k");
    assert_eq!(user.desk().tab, Tab::Pull);
    let first = numbers(&mut user);
    let text = user.text();
    user.from_above();
    for thing in [Thing::Redirect("oak-block".to_owned()), Thing::Anchor("pull-line".to_owned())] {
        let from_m = user.middle_m(&thing);
        user.wish(Wish::Pick(Some(thing.clone())));
        user.wish(Wish::Tab(Tab::Pull));
        let things = &user.app.world().resource::<Pickable>().things;
        let (_, drawn) = things.iter().find(|(other, _)| *other == thing).expect("it is drawn");
        let (low, high) = drawn.extent_m().expect("something");
        assert!((double(low + high).truncate() / 2.0).distance(from_m) < 1.0);
        let high_m = double(high).z;
        let at = user.seen(from_m.extend(high_m));
        user.move_to(at);
        user.frames(1);
        let hand_m = double(user.app.world().resource::<crate::hand::Pointed>().0.unwrap().at_m);
        let to = user.seen_ground(hand_m.truncate() + DVec2::new(-1.5, 2.0));
        user.drag(MouseButton::Left, at, to);
        assert!(user.message().is_empty(), "{}", user.message());
        let by_m = user.middle_m(&thing) - from_m;
        assert!(by_m.distance(DVec2::new(-1.5, 2.0)) < 0.15, "{thing:?} {by_m}");
        let second = numbers(&mut user);
        assert_ne!(first.scene_hash, second.scene_hash);
        let load = "line.pull-line.oak-block.load";
        assert_ne!(told(&first, load), told(&second, load));
        user.check();
        user.undo();
        assert_eq!(user.text(), text);
        assert_eq!(numbers(&mut user), first);
    }
}

#[test]
fn prop_a_line_is_put_to_a_cut_and_redirected() {
    let mut user = User::of("mill-ash.ron", FEW);
    user.wish(Wish::Cut(1));
    user.from_above();
    user.wish(Wish::Use(Tool::Put(New::PullLine)));
    let at = user.seen_ground(DVec2::new(0.0, 14.0));
    user.click(at);
    assert!(user.message().is_empty(), "{}", user.message());
    let Some(Thing::Line(id)) = user.desk().picked.clone() else { panic!("a line") };
    let line = |user: &User| {
        let job = user.desk().job.as_ref().unwrap();
        let mut lines = job.scene.lines.iter().filter_map(|line| line.pull());
        lines.find(|line| line.id == id).cloned().unwrap()
    };
    assert_eq!(line(&user).cut, "b");
    user.wish(Wish::Use(Tool::Put(New::Redirect)));
    let at = user.seen_ground(DVec2::new(3.0, 9.0));
    user.click(at);
    assert!(user.message().is_empty(), "{}", user.message());
    assert_eq!(line(&user).redirects.len(), 1);
    assert_eq!(user.middle_m(&Thing::Redirect("redirect".to_owned())).x.round(), 3.0);
    user.undo();
    user.undo();
    assert!(!user.document().is_dirty());
}

#[test]
fn prop_a_limb_is_turned_about_its_stem() {
    let mut user = User::of("garden-maple.ron", FEW);
    let limb = Thing::Limb("east-limb".to_owned());
    user.wish(Wish::Pick(Some(limb.clone())));
    user.from_above();
    let toward = |user: &User| {
        let job = user.desk().job.as_ref().unwrap();
        job.scene.tree.limbs[2].azimuth_rad.told.to_degrees()
    };
    let before = toward(&user);
    let things = &user.app.world().resource::<Pickable>().things;
    let (_, drawn) = things.iter().find(|(thing, _)| *thing == limb).expect("it is drawn");
    let tip_m = double(*drawn.points_m.last().expect("a tip"));
    let at = user.seen(tip_m);
    user.move_to(at);
    user.frames(1);
    user.button(MouseButton::Left, ButtonState::Pressed);
    assert!(matches!(user.hold(), Hold::Spinning { .. }), "{:?}", user.hold());
    user.move_to(at + Vec2::new(0.0, 60.0));
    user.button(MouseButton::Left, ButtonState::Released);
    user.frames(2);
    assert!(toward(&user) > before + 5.0, "{} {before}", toward(&user));
    user.check();
    user.undo();
    assert_eq!(toward(&user), before);
}
