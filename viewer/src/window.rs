//! The window.

use std::time::Duration;

use bevy::{
    prelude::*,
    winit::{UpdateMode, WinitSettings},
};

use crate::{
    desk::Desk,
    display::NoPicture,
    grant::look_at_disk,
    lost::ToLose,
    start::{plugins, run},
    view::{Bench, ViewPlugin},
    worker::Workers,
};

/// While threads work, what they tell is asked for this often.
const WHILE_WORKING: Duration = Duration::from_millis(60);
/// Otherwise a frame is drawn when the hand does something, and at least this often, for what
/// changes on disk.
const WHILE_IDLE: Duration = Duration::from_secs(1);

/// Shows the desk until the window is closed.
pub(crate) fn window(desk: Desk, to_lose: ToLose) -> Result<(), NoPicture> {
    run(move || {
        let mut app = App::new();
        app.add_plugins(to_lose.between_frames(plugins()).set(WindowPlugin {
            primary_window: Some(Window {
                title: "Tumblewood".to_owned(),
                name: Some("tumblewood-viewer".to_owned()),
                ..default()
            }),
            // Unsaved work is asked about first.
            close_when_requested: false,
            ..default()
        }));
        let mut bench = Bench { desk, workers: Workers::start(|| {}), wishes: vec![] };
        crate::grant::order(&mut bench.desk, &bench.workers);
        app.insert_resource(WinitSettings::desktop_app())
            .insert_resource(bench)
            .insert_resource(to_lose)
            .add_plugins(ViewPlugin { target: None, panels: true, smooth: false })
            .add_systems(Update, (name_window, watch_disk, keep_awake));
        app
    })
}

fn name_window(bench: Res<Bench>, mut window: Single<&mut Window>) {
    let desk = &bench.desk;
    let name = desk.job.as_ref().map_or("", |job| job.scene.name.as_str());
    let dirty = desk.document.as_ref().is_some_and(|document| document.is_dirty());
    let title = match (name, dirty) {
        ("", _) => "Tumblewood".to_owned(),
        (name, true) => format!("Tumblewood: {name} *"),
        (name, false) => format!("Tumblewood: {name}"),
    };
    if window.title != title {
        window.title = title;
    }
}

fn watch_disk(mut bench: ResMut<Bench>, time: Res<Time<Real>>, mut last_s: Local<f64>) {
    let now_s = time.elapsed_secs_f64();
    if now_s - *last_s >= WHILE_IDLE.as_secs_f64() {
        *last_s = now_s;
        let Bench { desk, workers, .. } = bench.bypass_change_detection();
        look_at_disk(desk, workers);
    }
}

fn keep_awake(bench: Res<Bench>, mut settings: ResMut<WinitSettings>) {
    let desk = &bench.desk;
    let wanted = if desk.playing.clock.runs {
        UpdateMode::Continuous
    } else if desk.is_working() {
        UpdateMode::reactive(WHILE_WORKING)
    } else {
        UpdateMode::reactive(WHILE_IDLE)
    };
    if settings.focused_mode != wanted {
        settings.focused_mode = wanted;
        settings.unfocused_mode = wanted;
    }
}
