//! Starting the renderer, and turning its panics into one line.
//!
//! bevy has no error to return when there is no graphics driver or no display: it panics. The
//! panic is caught here, and only here.

use std::{
    panic::{self, AssertUnwindSafe, PanicHookInfo},
    sync::{
        Mutex,
        atomic::{AtomicBool, Ordering},
    },
};

use bevy::{
    app::{PanicHandlerPlugin, PluginGroupBuilder},
    log::{Level, LogPlugin},
    prelude::*,
};

use crate::display::NoPicture;

/// The first frame has been reached.
static STARTED: AtomicBool = AtomicBool::new(false);
/// Why it ended, or what the first panic said: those after it are its consequences.
static REASON: Mutex<Option<String>> = Mutex::new(None);

/// bevy's own plugins, silent unless something is wrong; what the graphics driver says on its own
/// comes again in the panic or the error that it leads to.
pub(crate) fn plugins() -> PluginGroupBuilder {
    DefaultPlugins.build().disable::<PanicHandlerPlugin>().set(LogPlugin {
        level: Level::ERROR,
        filter: "wgpu_hal=off,bevy_render::error_handler=off".to_owned(),
        ..default()
    })
}

/// Builds an app and runs it to its end.
pub(crate) fn run(build: impl FnOnce() -> App) -> Result<(), NoPicture> {
    panic::set_hook(Box::new(note_panic));
    let ended = panic::catch_unwind(AssertUnwindSafe(|| {
        let mut app = build();
        app.add_systems(First, || STARTED.store(true, Ordering::Relaxed));
        app.run()
    }));
    if let Ok(AppExit::Success) = ended {
        return Ok(());
    }
    let reason = REASON.lock().unwrap_or_else(|poisoned| poisoned.into_inner()).take();
    let reason = reason.unwrap_or_else(|| "no reason given".to_owned());
    Err(if STARTED.load(Ordering::Relaxed) {
        NoPicture::Stopped { reason }
    } else {
        NoPicture::NotStarted { reason }
    })
}

fn note_panic(info: &PanicHookInfo<'_>) {
    let said = info.payload_as_str().unwrap_or("no reason given");
    let mut line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    if STARTED.load(Ordering::Relaxed)
        && let Some(place) = info.location()
    {
        line.push_str(&format!(" ({}:{})", place.file(), place.line()));
    }
    end_because(line);
}

/// Says why the program is about to end; the first reason counts.
pub(crate) fn end_because(reason: String) {
    REASON.lock().unwrap_or_else(|poisoned| poisoned.into_inner()).get_or_insert(reason);
}
