//! What the hand does on the hillside: turn, slide and zoom the camera, take hold of things, move
//! and turn them, measure.

use bevy::{
    ecs::system::SystemParam,
    input::mouse::{AccumulatedMouseScroll, MouseScrollUnit},
    input::touch::Touches,
    prelude::*,
};
use bevy_egui::input::EguiWantsInput;
use glam::DVec2;
use tumblewood::{
    scene::edit::{Thing, things},
    terrain::Terrain,
};

use crate::{
    camera::Orbit,
    desk::{Desk, Tool},
    frame::{double, from_screen_frame},
    layers::Pickable,
    pick::{self, Picked, Ray},
    tracks::under,
    view::Bench,
    wish::{Edit, Wish},
};

/// A wheel that reports pixels: this many are one notch.
const PIXELS_A_NOTCH: f32 = 50.0;
/// The camera stays at least this far over the ground, m.
const EYE_CLEARANCE_M: f32 = 0.5;
/// A press that moves less than this is a click, px.
const CLICK_PX: f32 = 5.0;
/// Thin things are met within this of the line of sight, rad.
const SLACK_RAD: f32 = 0.006;
/// What lies on the ground may be drawn a little below it, m.
const BURIED_M: f32 = 0.5;
/// Two fingers this much nearer or farther, as a share, are one notch of the wheel.
const PINCH_A_NOTCH: f32 = 1.12;

/// Where the camera is.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Deref, DerefMut)]
pub(crate) struct Eye(pub(crate) Orbit);

/// What the hand is doing since its button went down on the hillside.
#[derive(Resource, Clone, Debug, Default, PartialEq)]
pub(crate) enum Hold {
    #[default]
    Nothing,
    /// The camera round the place looked at; a press that has not moved yet may be a click.
    Turning {
        /// Way of the pointer so far, px.
        moved_px: f32,
    },
    /// The camera over the ground.
    Sliding,
    /// Something over the ground.
    Moving {
        /// What.
        thing: Thing,
        /// Where it was taken hold of, m.
        from_m: DVec2,
        /// Where the hand is, m.
        to_m: DVec2,
    },
    /// Something about its middle.
    Spinning {
        /// What.
        thing: Thing,
        /// Its middle, m.
        about_m: DVec2,
        /// Azimuth of the hand from there when it took hold, rad.
        from_rad: f64,
        /// And now, rad.
        to_rad: f64,
    },
}

/// Where the pointer is on the ground.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Pointed(pub(crate) Option<pick::OnGround>);

/// What a hand can do to the hillside.
#[derive(SystemParam)]
pub(crate) struct Hands<'w, 's> {
    eye: ResMut<'w, Eye>,
    hold: ResMut<'w, Hold>,
    pointed: ResMut<'w, Pointed>,
    bench: ResMut<'w, Bench>,
    pickable: Res<'w, Pickable>,
    buttons: Res<'w, ButtonInput<MouseButton>>,
    keys: Res<'w, ButtonInput<KeyCode>>,
    scroll: Res<'w, AccumulatedMouseScroll>,
    touches: Res<'w, Touches>,
    wanted_by_panel: Option<Res<'w, EguiWantsInput>>,
    camera: Single<'w, 's, (&'static Camera, &'static GlobalTransform)>,
}

/// Follows the pointer and the fingers. A drag belongs to where it began: one that began on the
/// panel moves nothing here, even when it leaves the panel.
pub(crate) fn follow_hand(
    mut hands: Hands<'_, '_>,
    mut moves: MessageReader<CursorMoved>,
    mut at_px: Local<Option<Vec2>>,
) {
    let over_panel =
        hands.wanted_by_panel.as_ref().is_some_and(|wanted| wanted.wants_any_pointer_input());
    let (camera, placed) = *hands.camera;
    let height = camera.logical_viewport_size().map_or(1.0, |size| size.y.max(1.0));
    let mut drag_px = Vec2::ZERO;
    for moved in moves.read() {
        // The pointer's own way, not the mouse's: what it held on the ground stays under it.
        drag_px += moved.delta.unwrap_or_default();
        *at_px = Some(moved.position);
    }
    let ray = at_px.and_then(|at| camera.viewport_to_world(placed, at).ok()).map(|ray| Ray {
        from_m: from_screen_frame(ray.origin),
        way: from_screen_frame(*ray.direction),
    });
    let Some(terrain) = hands.bench.desk.shown.as_ref().map(|s| s.world.site.terrain.clone())
    else {
        return;
    };
    let heights_m = hands.pickable.heights_m;
    let spot = ray.and_then(|ray| pick::ground(&ray, &terrain, heights_m));
    let pointed = Pointed(if over_panel { None } else { spot });
    if *hands.pointed != pointed {
        *hands.pointed = pointed;
    }
    if *hands.hold == Hold::Nothing && !over_panel {
        let begun = begin(&hands, ray.as_ref(), spot);
        if begun != Hold::Nothing {
            *hands.hold = begun;
            // What the pointer went before the press, in the same frame, is no drag.
            drag_px = Vec2::ZERO;
        }
    }
    let held = hands.hold.clone();
    let mut orbit = hands.eye.0;
    let drag = drag_px / height;
    match held {
        Hold::Nothing => {}
        Hold::Turning { moved_px } => {
            let moved_px = moved_px + drag_px.length();
            *hands.hold = Hold::Turning { moved_px };
            if moved_px >= CLICK_PX {
                orbit = orbit.turned(drag);
            }
        }
        Hold::Sliding => orbit = on_ground(orbit.slid(drag), &terrain),
        Hold::Moving { thing, from_m, to_m } => {
            let to_m = spot.map_or(to_m, |spot| map_m(spot));
            *hands.hold = Hold::Moving { thing, from_m, to_m };
        }
        Hold::Spinning { thing, about_m, from_rad, to_rad } => {
            let to_rad = spot.map_or(to_rad, |spot| azimuth(map_m(spot) - about_m));
            *hands.hold = Hold::Spinning { thing, about_m, from_rad, to_rad };
        }
    }
    let up = match *hands.hold {
        Hold::Nothing => false,
        Hold::Sliding => !hands.buttons.any_pressed([MouseButton::Right, MouseButton::Middle]),
        _ => !hands.buttons.pressed(MouseButton::Left),
    };
    if up {
        let ended = std::mem::take(&mut *hands.hold);
        end(&mut hands, ended, ray.as_ref(), spot);
    }
    if !over_panel {
        let notches = match hands.scroll.unit {
            MouseScrollUnit::Line => hands.scroll.delta.y,
            MouseScrollUnit::Pixel => hands.scroll.delta.y / PIXELS_A_NOTCH,
        };
        orbit = orbit.zoomed(notches);
        orbit = fingers(orbit, &hands.touches, height, &terrain);
    }
    hands.eye.set_if_neq(Eye(above_ground(orbit, &terrain)));
}

/// What a press begins.
fn begin(hands: &Hands<'_, '_>, ray: Option<&Ray>, spot: Option<pick::OnGround>) -> Hold {
    if hands.buttons.any_just_pressed([MouseButton::Right, MouseButton::Middle]) {
        return Hold::Sliding;
    }
    if !hands.buttons.just_pressed(MouseButton::Left) {
        return Hold::Nothing;
    }
    let turning = Hold::Turning { moved_px: 0.0 };
    let (Some(ray), Some(spot)) = (ray, spot) else { return turning };
    let desk = &hands.bench.desk;
    let hit = met(hands, ray);
    let (Tool::Hand, Some(thing)) = (&desk.tool, &desk.picked) else { return turning };
    if hit.is_none_or(|hit| hit.thing != *thing) && !reaches(hands, ray, thing) {
        return turning;
    }
    let at_m = map_m(spot);
    let shift = hands.keys.any_pressed([KeyCode::ShiftLeft, KeyCode::ShiftRight]);
    match thing {
        // A tree stands where it stands, and a line hangs on it; a cut's face turns about it, a limb
        // too.
        Thing::Tree => turning,
        Thing::Line(_) if is_pull(desk, thing) => turning,
        Thing::Cut(_) | Thing::Limb(_) => spinning(thing, DVec2::ZERO, at_m),
        _ if shift => {
            middle_m(desk, thing).map_or(turning, |about_m| spinning(thing, about_m, at_m))
        }
        _ => Hold::Moving { thing: thing.clone(), from_m: at_m, to_m: at_m },
    }
}

fn is_pull(desk: &Desk, thing: &Thing) -> bool {
    let line = desk.job.as_ref().and_then(|job| things::line_of(&job.scene, thing));
    line.is_some_and(|line| line.pull().is_some())
}

fn spinning(thing: &Thing, about_m: DVec2, at_m: DVec2) -> Hold {
    let from_rad = azimuth(at_m - about_m);
    Hold::Spinning { thing: thing.clone(), about_m, from_rad, to_rad: from_rad }
}

/// Where something is on the map, m.
pub(crate) fn middle_m(desk: &Desk, thing: &Thing) -> Option<DVec2> {
    let job = desk.job.as_ref()?;
    things::position_m(&job.scene, &job.frame(), thing)
}

fn map_m(spot: pick::OnGround) -> DVec2 {
    double(spot.at_m).truncate()
}

fn met(hands: &Hands<'_, '_>, ray: &Ray) -> Option<Picked> {
    pick::thing(ray, &hands.pickable.things, &hands.pickable.boxes, SLACK_RAD)
}

/// Whether the hand reaches what it holds through what stands before it: a block hangs on a tree, and a
/// far end is made fast to one.
fn reaches(hands: &Hands<'_, '_>, ray: &Ray, thing: &Thing) -> bool {
    let mut things = hands.pickable.things.iter();
    matches!(thing, Thing::Redirect(_) | Thing::Anchor(_) | Thing::Line(_))
        && things
            .any(|(other, drawn)| other == thing && pick::meets(ray, drawn, SLACK_RAD).is_finite())
}

/// Clockwise from north, rad.
fn azimuth(way: DVec2) -> f64 {
    way.x.atan2(way.y)
}

/// What the end of a hold asks for.
fn end(hands: &mut Hands<'_, '_>, held: Hold, ray: Option<&Ray>, spot: Option<pick::OnGround>) {
    let wish = match held {
        Hold::Nothing | Hold::Sliding => None,
        Hold::Turning { moved_px } if moved_px >= CLICK_PX => None,
        Hold::Turning { .. } => clicked(hands, ray, spot),
        Hold::Moving { thing, from_m, to_m } => {
            (from_m != to_m).then(|| Wish::Edit(Edit::Move(thing, to_m - from_m)))
        }
        Hold::Spinning { thing, from_rad, to_rad, .. } => {
            (from_rad != to_rad).then(|| Wish::Edit(Edit::Turn(thing, to_rad - from_rad)))
        }
    };
    hands.bench.wishes.extend(wish);
}

fn clicked(hands: &Hands<'_, '_>, ray: Option<&Ray>, spot: Option<pick::OnGround>) -> Option<Wish> {
    if let Some(lesson) = &hands.bench.desk.lesson
        && (lesson.wants_mark || !lesson.is_shown)
    {
        return lesson.wants_mark.then_some(Wish::Marked(map_m(spot?)));
    }
    match &hands.bench.desk.tool {
        Tool::Hand => {
            let hit = ray.and_then(|ray| met(hands, ray));
            // What lies behind the ground isn't meant.
            let ground_m = spot.map_or(f32::INFINITY, |spot| spot.distance_m);
            let before = |hit: &Picked| hit.distance_m < ground_m + BURIED_M;
            let thing = hit.filter(before).map(|hit| hit.thing);
            // Beside all things, a track plays its drop.
            let desk = &hands.bench.desk;
            let track = || {
                let (ray, drops) = (ray?, desk.drops()?);
                under(ray, &drops, &desk.filter, SLACK_RAD)
            };
            match thing.is_none().then(track).flatten() {
                Some(drop) => Some(Wish::Play { drop: drop as u32, with_others: false }),
                // Nothing of a lesson is taken hold of.
                None => desk.lesson.is_none().then_some(Wish::Pick(thing)),
            }
        }
        Tool::Measure(points) => {
            let mut points = if points.len() >= 2 { vec![] } else { points.clone() };
            points.push(double(spot?.at_m));
            Some(Wish::Use(Tool::Measure(points)))
        }
        Tool::Put(new) => Some(Wish::Edit(Edit::Add(*new, map_m(spot?)))),
    }
}

/// One finger turns, two slide and pinch.
fn fingers(orbit: Orbit, touches: &Touches, height: f32, terrain: &Terrain) -> Orbit {
    let now: Vec<_> = touches.iter().collect();
    match now.as_slice() {
        [one] => orbit.turned(one.delta() / height),
        [one, two] => {
            let slid = on_ground(orbit.slid(0.5 * (one.delta() + two.delta()) / height), terrain);
            let apart = one.position().distance(two.position());
            let before = one.previous_position().distance(two.previous_position());
            if apart < 1.0 || before < 1.0 {
                return slid;
            }
            slid.zoomed((apart / before).ln() / PINCH_A_NOTCH.ln())
        }
        _ => orbit,
    }
}

/// Looks at the ground itself, where there is any.
pub(crate) fn on_ground(mut orbit: Orbit, terrain: &Terrain) -> Orbit {
    if let Some(surface) = terrain.surface(orbit.focus_m.x.into(), orbit.focus_m.y.into()) {
        orbit.focus_m.z = surface.height_m as f32;
    }
    orbit
}

/// Raises the camera until the ground no longer hides everything.
pub(crate) fn above_ground(mut orbit: Orbit, terrain: &Terrain) -> Orbit {
    let step = Vec2::new(0.0, 0.01);
    for _ in 0..60 {
        let eye_m = orbit.eye_m();
        let ground = terrain.surface(eye_m.x.into(), eye_m.y.into());
        if ground.is_none_or(|ground| eye_m.z >= ground.height_m as f32 + EYE_CLEARANCE_M) {
            break;
        }
        orbit = orbit.turned(step);
    }
    orbit
}
