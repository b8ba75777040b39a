//! What the hand does to the camera: turn, slide, zoom.

use bevy::{
    input::mouse::{AccumulatedMouseScroll, MouseScrollUnit},
    prelude::*,
};
use bevy_egui::input::EguiWantsInput;
use tumblewood::terrain::Terrain;

use crate::camera::Orbit;

/// A wheel that reports pixels: this many are one notch.
const PIXELS_A_NOTCH: f32 = 50.0;
/// The camera stays at least this far over the ground, m.
const EYE_CLEARANCE_M: f32 = 0.5;

/// Where the camera is.
#[derive(Resource, Clone, Copy, Debug, PartialEq, Deref, DerefMut)]
pub(crate) struct Eye(pub(crate) Orbit);

/// What the hand is doing to the camera since its button went down on the hillside.
#[derive(Resource, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Hold {
    #[default]
    Nothing,
    Turning,
    Sliding,
}

/// The ground that the camera stays over.
#[derive(Resource, Clone, Debug)]
pub(crate) struct Ground(pub(crate) Terrain);

/// Turns, slides and zooms. A drag belongs to where it began: one that began on the panel moves
/// nothing here, even when it leaves the panel.
pub(crate) fn follow_hand(
    mut eye: ResMut<Eye>,
    mut hold: ResMut<Hold>,
    ground: Res<Ground>,
    buttons: Res<ButtonInput<MouseButton>>,
    mut moves: MessageReader<CursorMoved>,
    scroll: Res<AccumulatedMouseScroll>,
    wanted_by_panel: Option<Res<EguiWantsInput>>,
    camera: Single<&Camera>,
) {
    let over_panel = wanted_by_panel.is_some_and(|wanted| wanted.wants_any_pointer_input());
    let height = camera.logical_viewport_size().map_or(1.0, |size| size.y.max(1.0));

    let held = |hold| match hold {
        Hold::Nothing => false,
        Hold::Turning => buttons.pressed(MouseButton::Left),
        Hold::Sliding => buttons.any_pressed([MouseButton::Right, MouseButton::Middle]),
    };
    if !held(*hold) {
        *hold = Hold::Nothing;
    }
    if *hold == Hold::Nothing && !over_panel {
        if buttons.just_pressed(MouseButton::Left) {
            *hold = Hold::Turning;
        } else if buttons.any_just_pressed([MouseButton::Right, MouseButton::Middle]) {
            *hold = Hold::Sliding;
        }
    }

    // The pointer's own way, not the mouse's: what it held on the ground stays under it.
    let drag = moves.read().filter_map(|moved| moved.delta).sum::<Vec2>() / height;
    let mut orbit = match *hold {
        Hold::Nothing => eye.0,
        Hold::Turning => eye.turned(drag),
        Hold::Sliding => on_ground(eye.slid(drag), &ground.0),
    };
    if !over_panel {
        let notches = match scroll.unit {
            MouseScrollUnit::Line => scroll.delta.y,
            MouseScrollUnit::Pixel => scroll.delta.y / PIXELS_A_NOTCH,
        };
        orbit = orbit.zoomed(notches);
    }
    eye.set_if_neq(Eye(above_ground(orbit, &ground.0)));
}

/// Looks at the ground itself, where there is any.
fn on_ground(mut orbit: Orbit, terrain: &Terrain) -> Orbit {
    if let Some(surface) = terrain.surface(orbit.focus_m.x.into(), orbit.focus_m.y.into()) {
        orbit.focus_m.z = surface.height_m as f32;
    }
    orbit
}

/// Raises the camera until the ground no longer hides everything.
fn above_ground(mut orbit: Orbit, terrain: &Terrain) -> Orbit {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{hillside::hillside, panel::PANEL_WIDTH, view::ViewPlugin};
    use bevy::{
        app::{PanicHandlerPlugin, TerminalCtrlCHandlerPlugin},
        input::{
            ButtonState,
            mouse::{MouseButtonInput, MouseWheel},
        },
        log::LogPlugin,
        render::{
            RenderPlugin,
            settings::{RenderCreation, WgpuSettings},
        },
        window::{PrimaryWindow, WindowEvent, WindowResolution},
        winit::WinitPlugin,
    };

    const WINDOW: (u32, u32) = (1280, 720);

    /// The whole app with a window that is only described: no display and no graphics card.
    struct Hand {
        app: App,
        window: Entity,
        at: Vec2,
    }

    impl Hand {
        fn new() -> Self {
            let mut app = App::new();
            let nothing_draws = WgpuSettings { backends: None, ..default() };
            app.add_plugins(
                DefaultPlugins
                    .build()
                    .disable::<WinitPlugin>()
                    .disable::<LogPlugin>()
                    .disable::<PanicHandlerPlugin>()
                    .disable::<TerminalCtrlCHandlerPlugin>()
                    .set(RenderPlugin {
                        render_creation: RenderCreation::Automatic(Box::new(nothing_draws)),
                        ..default()
                    })
                    .set(WindowPlugin {
                        primary_window: Some(Window {
                            resolution: WindowResolution::new(WINDOW.0, WINDOW.1),
                            ..default()
                        }),
                        ..default()
                    }),
            )
            .add_plugins(ViewPlugin { hillside: hillside(None).unwrap(), target: None });
            app.finish();
            app.cleanup();
            let window = app
                .world_mut()
                .query_filtered::<Entity, With<PrimaryWindow>>()
                .single(app.world())
                .unwrap();
            let mut hand = Self { app, window, at: Vec2::ZERO };
            for _ in 0..4 {
                hand.app.update();
            }
            hand
        }

        fn orbit(&self) -> Orbit {
            self.app.world().resource::<Eye>().0
        }

        /// The message itself and the wrapper the panel reads, as the window system sends them.
        fn send<M: Message + Clone + Into<WindowEvent>>(&mut self, message: M) {
            self.app.world_mut().write_message(message.clone().into());
            self.app.world_mut().write_message(message);
        }

        fn move_to(&mut self, x: f32, y: f32) {
            let (window, position) = (self.window, Vec2::new(x, y));
            let delta = position - self.at;
            self.at = position;
            let mut entity = self.app.world_mut().entity_mut(window);
            entity.get_mut::<Window>().unwrap().set_cursor_position(Some(position));
            self.send(CursorMoved { window, position, delta: Some(delta) });
            self.app.update();
        }

        fn button(&mut self, button: MouseButton, state: ButtonState) {
            let window = self.window;
            self.send(MouseButtonInput { button, state, window });
            self.app.update();
        }

        fn drag(&mut self, button: MouseButton, from: (f32, f32), to: (f32, f32)) {
            self.move_to(from.0, from.1);
            self.button(button, ButtonState::Pressed);
            self.move_to((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
            self.move_to(to.0, to.1);
            self.button(button, ButtonState::Released);
        }

        fn wheel(&mut self, notches: f32) {
            let window = self.window;
            self.send(MouseWheel {
                unit: MouseScrollUnit::Line,
                x: 0.0,
                y: notches,
                window,
                phase: bevy::input::touch::TouchPhase::Moved,
            });
            self.app.update();
        }
    }

    fn panel_x() -> f32 {
        WINDOW.0 as f32 - PANEL_WIDTH / 2.0
    }

    #[test]
    fn prop_left_turns_right_slides_and_the_wheel_zooms() {
        let mut hand = Hand::new();
        let start = hand.orbit();
        hand.drag(MouseButton::Left, (300.0, 300.0), (500.0, 250.0));
        let turned = hand.orbit();
        assert_ne!(turned.azimuth_rad, start.azimuth_rad);
        assert!(turned.elevation_rad < start.elevation_rad);
        assert_eq!(turned.focus_m, start.focus_m);

        hand.drag(MouseButton::Right, (300.0, 300.0), (350.0, 330.0));
        let slid = hand.orbit();
        assert_ne!(slid.focus_m, turned.focus_m);
        assert_eq!(slid.azimuth_rad, turned.azimuth_rad);
        let ground = hand.app.world().resource::<Ground>();
        let surface = ground.0.surface(slid.focus_m.x.into(), slid.focus_m.y.into()).unwrap();
        assert!((f64::from(slid.focus_m.z) - surface.height_m).abs() < 1e-3);

        hand.wheel(2.0);
        assert!(hand.orbit().distance_m < slid.distance_m);
    }

    #[test]
    fn prop_a_moving_pointer_without_a_button_moves_nothing() {
        let mut hand = Hand::new();
        let start = hand.orbit();
        hand.move_to(100.0, 100.0);
        hand.move_to(700.0, 500.0);
        assert_eq!(hand.orbit(), start);
    }

    #[test]
    fn prop_a_drag_belongs_to_where_it_began() {
        let mut hand = Hand::new();
        let start = hand.orbit();
        hand.move_to(panel_x(), 500.0);
        hand.drag(MouseButton::Left, (panel_x(), 500.0), (300.0, 300.0));
        hand.move_to(panel_x(), 500.0);
        hand.wheel(3.0);
        assert_eq!(hand.orbit(), start, "the panel's own drag or wheel moved the camera");

        hand.drag(MouseButton::Left, (300.0, 300.0), (panel_x(), 500.0));
        assert_ne!(hand.orbit(), start, "a drag over the panel that began on the hillside");
    }

    #[test]
    fn prop_the_camera_never_goes_below_the_ground() {
        let mut hand = Hand::new();
        hand.wheel(12.0);
        hand.drag(MouseButton::Left, (300.0, 600.0), (300.0, 10.0));
        let eye_m = hand.orbit().eye_m();
        let ground = &hand.app.world().resource::<Ground>().0;
        let surface = ground.surface(eye_m.x.into(), eye_m.y.into()).unwrap();
        assert!(f64::from(eye_m.z) >= surface.height_m + 0.49, "{eye_m} {surface:?}");
    }
}
