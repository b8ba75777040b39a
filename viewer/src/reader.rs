//! What a screen reader wants done, handed to the panels.
//!
//! bevy_egui tells readers what stands on the panels, and does not listen to what they ask: to come
//! to a button, to press it, to type into a field.

use bevy::{a11y::ActionRequest, prelude::*};
use bevy_egui::{PrimaryEguiContext, egui, input::EguiInputEvent};

/// Hands on what was asked for since the last frame.
pub(crate) fn hear_reader(
    mut asked: MessageReader<ActionRequest>,
    panels: Single<Entity, With<PrimaryEguiContext>>,
    mut events: MessageWriter<EguiInputEvent>,
) {
    for ActionRequest(request) in asked.read() {
        let event = egui::Event::AccessKitActionRequest(request.clone());
        events.write(EguiInputEvent { context: *panels, event });
    }
}
