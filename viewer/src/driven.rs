//! The whole program driven as a user drives it, with pointer, fingers and keys, without a display
//! and without a graphics card.

mod drags;
mod files;
mod ground;
mod lesson;
mod limits;
mod lost;
mod pull;
mod reader;
mod soon;
mod story;

use std::{
    fs,
    path::{Path, PathBuf},
    thread,
    time::{Duration, Instant},
};

use bevy::{
    app::{PanicHandlerPlugin, TerminalCtrlCHandlerPlugin},
    input::{
        ButtonState,
        keyboard::{Key, KeyboardInput},
        mouse::{MouseButtonInput, MouseScrollUnit, MouseWheel},
        touch::{TouchInput, TouchPhase},
    },
    log::LogPlugin,
    prelude::*,
    render::{
        RenderPlugin,
        settings::{RenderCreation, WgpuSettings},
    },
    time::TimeUpdateStrategy,
    window::{PrimaryWindow, WindowEvent, WindowResolution},
    winit::WinitPlugin,
};
use glam::{DVec2, DVec3};
use tempfile::TempDir;
use tumblewood::scene::edit::{Document, Thing};

use crate::{
    camera::Orbit,
    desk::Leaving,
    desk::{Counts, Desk, Screen},
    frame::to_screen_frame,
    grant,
    hand::{Eye, Hold, middle_m},
    panel::PANEL_WIDTH,
    shape::single,
    view::{Bench, ViewPlugin},
    wish::{Edit, Wish},
    worker::{Stage, Workers},
};

/// Size of the window, px.
const WINDOW: (u32, u32) = (1280, 720);
/// Time from one frame to the next, as the program sees it.
const FRAME: Duration = Duration::from_millis(16);
/// Drops as told, other grounds, drops on each: where the counts are looked at, and where not.
const COUNTED: (u32, u32, u32) = (12, 2, 4);
const FEW: (u32, u32, u32) = (1, 0, 0);
/// What is waited for has gone wrong after this long; no test is faster or slower for it.
const PATIENCE: Duration = Duration::from_secs(120);

/// A user in front of the program. The window is only described: nothing is drawn.
struct User {
    app: App,
    window: Entity,
    at: Vec2,
    /// Where the scene is, and nothing else.
    folder: TempDir,
}

impl User {
    /// Opens a copy of the demo.
    fn new() -> Self {
        Self::with(FEW)
    }

    /// The same, to see its counts.
    fn counting() -> Self {
        Self::with(COUNTED)
    }

    fn with(ask: (u32, u32, u32)) -> Self {
        Self::of("lake-oak.ron", ask)
    }

    /// Opens a copy of a scene that comes with the program.
    fn of(name: &str, ask: (u32, u32, u32)) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let saved = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes").join(name);
        fs::copy(saved, folder.path().join("scene.ron")).expect("copied");
        Self::at(folder, ask)
    }

    /// Opens the scene of a folder, as the program does.
    fn at(folder: TempDir, ask: (u32, u32, u32)) -> Self {
        let mut desk = Desk::new();
        (desk.ask.drops, desk.ask.grounds, desk.ask.drops_per_ground) = ask;
        let workers = Workers::start(|| {});
        grant::grant(
            &mut desk,
            &workers,
            Wish::Leave(Leaving::Open(folder.path().join("scene.ron"))),
        );
        assert_eq!((desk.screen, &desk.message), (Screen::Hillside, &None));
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
                    close_when_requested: false,
                    ..default()
                }),
        )
        .insert_resource(TimeUpdateStrategy::ManualDuration(FRAME))
        .insert_resource(Bench { desk, workers, wishes: vec![] })
        .add_plugins(ViewPlugin { target: None, panels: true, smooth: false });
        app.finish();
        app.cleanup();
        let window = app
            .world_mut()
            .query_filtered::<Entity, With<PrimaryWindow>>()
            .single(app.world())
            .expect("a window");
        let mut user = Self { app, window, at: Vec2::ZERO, folder };
        user.frames(4);
        user
    }

    /// Closes the program, as a crash does, and opens what it left.
    fn again(self, ask: (u32, u32, u32)) -> Self {
        let Self { app, folder, .. } = self;
        drop(app);
        Self::at(folder, ask)
    }

    fn file(&self) -> PathBuf {
        self.folder.path().join("scene.ron")
    }

    fn frames(&mut self, n: u32) {
        for _ in 0..n {
            self.app.update();
        }
    }

    fn desk(&self) -> &Desk {
        &self.app.world().resource::<Bench>().desk
    }

    /// What the user is told; empty if nothing.
    fn message(&self) -> &str {
        self.desk().message.as_deref().unwrap_or_default()
    }

    fn document(&self) -> &Document {
        self.desk().document.as_ref().expect("a document")
    }

    fn text(&self) -> String {
        self.document().text().to_owned()
    }

    fn orbit(&self) -> Orbit {
        self.app.world().resource::<Eye>().0
    }

    fn hold(&self) -> Hold {
        self.app.world().resource::<Hold>().clone()
    }

    /// Does what a button or a row of the panel asks for.
    fn wish(&mut self, wish: Wish) {
        self.app.world_mut().resource_mut::<Bench>().wishes.push(wish);
        self.frames(2);
    }

    fn edit(&mut self, edit: Edit) {
        self.wish(Wish::Edit(edit));
    }

    /// Looks at the disk, as the window does once a second.
    fn look_at_disk(&mut self) {
        let mut bench = self.app.world_mut().resource_mut::<Bench>();
        let Bench { desk, workers, .. } = &mut *bench;
        grant::look_at_disk(desk, workers);
        self.frames(2);
    }

    /// The message itself and the wrapper the panels read, as the window system sends them.
    fn send<M: Message + Clone + Into<WindowEvent>>(&mut self, message: M) {
        self.app.world_mut().write_message(message.clone().into());
        self.app.world_mut().write_message(message);
    }

    fn move_to(&mut self, to: Vec2) {
        let (window, position) = (self.window, to);
        let delta = position - self.at;
        self.at = position;
        let mut entity = self.app.world_mut().entity_mut(window);
        entity.get_mut::<Window>().expect("a window").set_cursor_position(Some(position));
        self.send(CursorMoved { window, position, delta: Some(delta) });
        self.app.update();
    }

    fn button(&mut self, button: MouseButton, state: ButtonState) {
        let window = self.window;
        self.send(MouseButtonInput { button, state, window });
        self.app.update();
    }

    fn click(&mut self, at: Vec2) {
        self.drag(MouseButton::Left, at, at);
    }

    fn drag(&mut self, button: MouseButton, from: Vec2, to: Vec2) {
        self.move_to(from);
        self.frames(1);
        self.button(button, ButtonState::Pressed);
        if from != to {
            self.move_to((from + to) / 2.0);
            self.move_to(to);
        }
        self.button(button, ButtonState::Released);
        self.frames(2);
    }

    fn wheel(&mut self, notches: f32) {
        let window = self.window;
        let (unit, phase) = (MouseScrollUnit::Line, TouchPhase::Moved);
        self.send(MouseWheel { unit, x: 0.0, y: notches, window, phase });
        self.app.update();
    }

    fn touch(&mut self, id: u64, phase: TouchPhase, position: Vec2) {
        let window = self.window;
        self.send(TouchInput { phase, position, window, force: None, id });
        self.app.update();
    }

    fn key_is(&mut self, key_code: KeyCode, logical_key: Key, state: ButtonState) {
        let window = self.window;
        let text = match &logical_key {
            Key::Character(text) => Some(text.clone()),
            Key::Space => Some(" ".into()),
            _ => None,
        };
        let text = text.filter(|_| state == ButtonState::Pressed);
        self.send(KeyboardInput { key_code, logical_key, state, text, repeat: false, window });
        self.app.update();
    }

    /// Presses a key and lets it go, while others are held.
    fn key_with(&mut self, held: &[(KeyCode, Key)], code: KeyCode, key: Key) {
        for (code, key) in held {
            self.key_is(*code, key.clone(), ButtonState::Pressed);
        }
        self.key_is(code, key.clone(), ButtonState::Pressed);
        self.key_is(code, key, ButtonState::Released);
        for (code, key) in held {
            self.key_is(*code, key.clone(), ButtonState::Released);
        }
        self.frames(1);
    }

    fn key(&mut self, code: KeyCode, key: Key) {
        self.key_with(&[], code, key);
    }

    fn letter(&mut self, code: KeyCode, letter: &str) {
        self.key(code, Key::Character(letter.into()));
    }

    fn ctrl(&mut self, code: KeyCode, letter: &str) {
        let held = [(KeyCode::ControlLeft, Key::Control)];
        self.key_with(&held, code, Key::Character(letter.into()));
    }

    fn undo(&mut self) {
        self.ctrl(KeyCode::KeyZ, "z");
    }

    fn redo(&mut self) {
        self.ctrl(KeyCode::KeyY, "y");
    }

    fn save(&mut self) {
        self.ctrl(KeyCode::KeyS, "s");
    }

    fn escape(&mut self) {
        self.key(KeyCode::Escape, Key::Escape);
    }

    /// Where a place of the site is in the window, px.
    fn seen(&mut self, at_m: DVec3) -> Vec2 {
        let mut cameras = self.app.world_mut().query::<(&Camera, &GlobalTransform)>();
        let (camera, placed) = cameras.single(self.app.world()).expect("one camera");
        camera.world_to_viewport(placed, to_screen_frame(single(at_m))).expect("in sight")
    }

    fn seen_ground(&mut self, at_m: DVec2) -> Vec2 {
        let at_m = self.desk().ground_m(at_m).expect("on the terrain");
        self.seen(at_m)
    }

    fn middle_m(&self, thing: &Thing) -> DVec2 {
        middle_m(self.desk(), thing).expect("somewhere")
    }

    /// Looks from above, where nothing stands before anything else.
    fn from_above(&mut self) {
        self.letter(KeyCode::KeyP, "p");
        self.frames(2);
    }

    /// Waits until the desk is as it ought to be after some time.
    fn wait_until(&mut self, what: &str, is_so: impl Fn(&Desk) -> bool) {
        let begun = Instant::now();
        loop {
            self.app.update();
            if is_so(self.desk()) {
                return;
            }
            let desk = self.desk();
            assert!(
                begun.elapsed() < PATIENCE && desk.answer.failed.is_none(),
                "{what}: order {}, {:?}, {:?}, {:?}, {:?}",
                desk.answer.order,
                desk.answer.newest.as_ref().map(|(order, stage, _)| (order, stage)),
                desk.answer.progress,
                desk.answer.failed,
                desk.message,
            );
            thread::sleep(Duration::from_millis(2));
        }
    }

    /// Waits for the full counts of the scene as it is now.
    fn wait_for_counts(&mut self) {
        self.wait_until("counts", |desk| {
            desk.counts().is_some_and(|counts| counts.is_now && counts.stage >= Stage::Full)
        });
    }

    fn counts(&self) -> Counts<'_> {
        self.desk().counts().expect("counts")
    }

    /// Everything the counts say, to be compared.
    fn told(&self) -> String {
        format!("{:?}", self.counts().cut)
    }

    /// What must hold whatever was done: no stale forecast is taken for that of now, and what is
    /// shown is what the text says.
    fn check(&self) {
        let desk = self.desk();
        let document = self.document();
        let job = desk.job.as_ref().expect("a job");
        if desk.trouble.is_none() {
            let scene = document.scene().expect("a scene without trouble");
            assert_eq!(scene.hash, job.scene.hash, "another scene is shown than the text says");
        } else if let Some(counts) = desk.counts() {
            assert!(!counts.is_now, "counts of another scene are taken for those of now");
        }
        assert!(
            desk.answer.newest.as_ref().is_none_or(|(order, ..)| *order <= desk.answer.order),
            "counts of an order that was not given"
        );
    }
}

fn target(id: &str) -> Thing {
    Thing::Target(id.to_owned())
}

fn panel_x() -> f32 {
    WINDOW.0 as f32 - PANEL_WIDTH / 2.0
}
