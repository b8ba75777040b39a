//! The window.

use bevy::{prelude::*, winit::WinitSettings};

use crate::{
    display::NoPicture,
    hillside::Hillside,
    start::{plugins, run},
    view::ViewPlugin,
};

/// Shows the hillside until the window is closed.
pub(crate) fn window(hillside: Hillside) -> Result<(), NoPicture> {
    run(move || {
        let mut app = App::new();
        app.add_plugins(plugins().set(WindowPlugin {
            primary_window: Some(Window {
                title: format!("Tumblewood: {}", hillside.name),
                name: Some("tumblewood-viewer".to_owned()),
                ..default()
            }),
            ..default()
        }))
        // Nothing moves by itself: a frame is drawn when the hand does something.
        .insert_resource(WinitSettings::desktop_app())
        .add_plugins(ViewPlugin { hillside, target: None });
        app
    })
}
