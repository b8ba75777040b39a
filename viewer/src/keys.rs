//! What keys do on the hillside, while no field is being typed in.

use bevy::prelude::*;
use bevy_egui::input::EguiWantsInput;

use crate::{
    camera::View,
    desk::{Desk, Screen, Tool},
    hand::{Eye, above_ground, on_ground},
    screens::Screens,
    view::Bench,
    wish::{Edit, Wish},
};

/// What one press of an arrow turns or slides, in parts of the window's height.
const ARROW: f32 = 0.06;

/// Keys with Ctrl (Cmd on a Mac), and keys alone, each with what it asks for.
type Row = (KeyCode, fn(&Desk) -> Option<Wish>);

const WITH_CTRL: [Row; 3] = [
    (KeyCode::KeyZ, |_| Some(Wish::Undo)),
    (KeyCode::KeyY, |_| Some(Wish::Redo)),
    (KeyCode::KeyS, |_| Some(Wish::Save)),
];

const ALONE: [Row; 22] = [
    (KeyCode::KeyP, |_| Some(Wish::View(View::Plan))),
    (KeyCode::KeyS, |_| Some(Wish::View(View::Side))),
    (KeyCode::KeyE, |_| Some(Wish::View(View::Climber))),
    (KeyCode::KeyH, |_| Some(Wish::View(View::Oblique))),
    (KeyCode::KeyM, |desk| {
        let measuring = matches!(desk.tool, Tool::Measure(_));
        Some(Wish::Use(if measuring { Tool::Hand } else { Tool::Measure(vec![]) }))
    }),
    (KeyCode::Space, |desk| Some(Wish::Run(!desk.playing.clock.runs))),
    (KeyCode::Comma, |_| Some(Wish::Step(-1))),
    (KeyCode::Period, |_| Some(Wish::Step(1))),
    (KeyCode::BracketLeft, |_| Some(Wish::Slower(1))),
    (KeyCode::BracketRight, |_| Some(Wish::Slower(-1))),
    (KeyCode::KeyN, |_| Some(Wish::NextReaching(1))),
    (KeyCode::KeyB, |_| Some(Wish::NextReaching(-1))),
    (KeyCode::KeyW, |_| Some(Wish::Worst)),
    (KeyCode::KeyT, |_| Some(Wish::Typical)),
    (KeyCode::KeyF, |desk| Some(Wish::Follow(!desk.playing.follows))),
    (KeyCode::KeyG, |desk| Some(Wish::Ghosts(!desk.playing.ghosts))),
    (KeyCode::KeyV, |desk| Some(Wish::SideView(!desk.playing.side_view))),
    (KeyCode::Delete, |desk| Some(Wish::Edit(Edit::Remove(desk.picked.clone()?)))),
    (KeyCode::KeyL, |_| Some(Wish::StopPlaying)),
    (KeyCode::KeyC, |_| Some(Wish::Go(Screen::Compare))),
    (KeyCode::KeyK, |_| Some(Wish::Tab(crate::desk::Tab::Pull))),
    (KeyCode::F1, |_| Some(Wish::Tab(crate::desk::Tab::View))),
];

/// Keys that look around: in a lesson they are there before its drops are shown, those of replays
/// after; the others aren't.
const VIEWS: [KeyCode; 4] = [KeyCode::KeyP, KeyCode::KeyS, KeyCode::KeyE, KeyCode::KeyH];
const REPLAYS: [KeyCode; 14] = [
    KeyCode::Space,
    KeyCode::Comma,
    KeyCode::Period,
    KeyCode::BracketLeft,
    KeyCode::BracketRight,
    KeyCode::KeyN,
    KeyCode::KeyB,
    KeyCode::KeyW,
    KeyCode::KeyT,
    KeyCode::KeyF,
    KeyCode::KeyG,
    KeyCode::KeyV,
    KeyCode::KeyL,
    KeyCode::KeyM,
];

const DIGITS: [KeyCode; 9] = [
    KeyCode::Digit1,
    KeyCode::Digit2,
    KeyCode::Digit3,
    KeyCode::Digit4,
    KeyCode::Digit5,
    KeyCode::Digit6,
    KeyCode::Digit7,
    KeyCode::Digit8,
    KeyCode::Digit9,
];

/// Turns keys into wishes, and moves the camera by arrows.
pub(crate) fn follow_keys(
    keys: Res<ButtonInput<KeyCode>>,
    wanted: Option<Res<EguiWantsInput>>,
    screens: Res<Screens>,
    mut bench: ResMut<Bench>,
    mut eye: ResMut<Eye>,
) {
    // A button that has the keyboard wants Space and the arrows; a field wants letters too.
    let is_open = wanted.as_ref().is_some_and(|wanted| wanted.is_popup_open());
    let has_focus = wanted.is_some_and(|wanted| wanted.wants_any_keyboard_input());
    let typing = screens.is_typing || is_open;
    if keys.get_just_pressed().next().is_none() {
        return;
    }
    // Where frames take long, a key may be let go of in the one it was pressed in.
    let held = |any: &[KeyCode]| any.iter().any(|k| keys.pressed(*k) || keys.just_pressed(*k));
    let ctrl = held(&[
        KeyCode::ControlLeft,
        KeyCode::ControlRight,
        KeyCode::SuperLeft,
        KeyCode::SuperRight,
    ]);
    let shift = held(&[KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    if keys.just_pressed(KeyCode::Escape) {
        // What has the keyboard is let go of first.
        let over = bench.desk.question.is_some() || bench.desk.message.is_some();
        if over || !has_focus {
            bench.wishes.push(Wish::Dismiss);
        }
        return;
    }
    if bench.desk.question.is_some() {
        return;
    }
    if ctrl {
        // A field that is being typed in undoes its own letters.
        let rows = WITH_CTRL.iter().filter(|(key, _)| !typing || *key == KeyCode::KeyS);
        for (key, wish) in rows.filter(|(key, _)| keys.just_pressed(*key)) {
            let wish =
                if *key == KeyCode::KeyZ && shift { Some(Wish::Redo) } else { wish(&bench.desk) };
            bench.wishes.extend(wish);
        }
        if keys.just_pressed(KeyCode::KeyQ) {
            bench.wishes.push(Wish::Leave(crate::desk::Leaving::Quit));
        }
        return;
    }
    if typing || !matches!(bench.desk.screen, Screen::Hillside | Screen::Lesson) {
        return;
    }
    let lesson = bench.desk.lesson.as_ref().map(|lesson| lesson.is_shown);
    let meant = |key: KeyCode| keys.just_pressed(key) && !(has_focus && key == KeyCode::Space);
    let there = |key: KeyCode| match lesson {
        None => true,
        Some(false) => VIEWS.contains(&key),
        Some(true) => VIEWS.contains(&key) || REPLAYS.contains(&key),
    };
    for (_, wish) in ALONE.iter().filter(|(key, _)| meant(*key) && there(*key)) {
        let wish = wish(&bench.desk);
        bench.wishes.extend(wish);
    }
    let digit = DIGITS.iter().position(|key| keys.just_pressed(*key));
    if let Some(cut) = digit.filter(|_| lesson.is_none()) {
        bench.wishes.push(Wish::Cut(cut));
    }
    if !has_focus {
        move_camera(&keys, shift, &bench.desk, &mut eye);
    }
}

fn move_camera(keys: &ButtonInput<KeyCode>, shift: bool, desk: &Desk, eye: &mut ResMut<Eye>) {
    let way = |less: KeyCode, more: KeyCode| {
        f32::from(u8::from(keys.just_pressed(more))) - f32::from(u8::from(keys.just_pressed(less)))
    };
    let drag = ARROW
        * Vec2::new(
            way(KeyCode::ArrowLeft, KeyCode::ArrowRight),
            way(KeyCode::ArrowUp, KeyCode::ArrowDown),
        );
    let nearer =
        way(KeyCode::Minus, KeyCode::Equal) + way(KeyCode::NumpadSubtract, KeyCode::NumpadAdd);
    if drag == Vec2::ZERO && nearer == 0.0 {
        return;
    }
    let Some(shown) = &desk.shown else { return };
    let terrain = &shown.world.site.terrain;
    let moved = if shift { on_ground(eye.slid(-drag), terrain) } else { eye.turned(drag) };
    eye.set_if_neq(Eye(above_ground(moved.zoomed(nearer), terrain)));
}
