//! A graphics card that goes away while it is drawn with.
//!
//! What isn't saved is kept first, whatever comes next. A loss is told, and everything is drawn
//! anew on what card there is; a second one soon after, or any other error of the renderer, ends
//! the program in order with its reason. So does a loss in the middle of a frame where bevy 0.19
//! panics on it before it can be told; the panic is caught in `start`.

use std::{
    ops::DerefMut,
    time::{Duration, Instant},
};

use bevy::{
    app::PluginGroupBuilder,
    light::cluster::GlobalClusterSettings,
    prelude::*,
    render::{
        GpuResourceAppExt, RenderApp,
        error_handler::{ErrorType, RenderError, RenderErrorHandler, RenderErrorPolicy},
        pipelined_rendering::PipelinedRenderingPlugin,
        render_resource::{PollType, SpecializedRenderPipelines},
        renderer::RenderDevice,
    },
    window::PrimaryWindow,
};
use bevy_egui::render::{
    EguiPipeline,
    systems::{EguiRenderData, EguiTransforms},
};

use crate::{start::end_because, view::Bench};

/// A card that is lost again within this time is not taken up once more: it would flash.
const AGAIN_WITHIN: Duration = Duration::from_secs(10);
/// What the user is told.
const TOLD: &str = "The graphics card was lost and taken up again: everything is drawn anew, and \
     nothing was forgotten. If it happens again soon, the program ends; what is not saved is kept \
     beside the scene's file.";
/// Frames drawn before a card is lost on purpose, and after it.
const FRAMES_BETWEEN: u32 = 4;

/// What became of the card so far.
#[derive(Resource, Default)]
struct Losses {
    last: Option<Instant>,
    /// The card is back, but what was on it isn't.
    is_bare: bool,
}

/// How often the card is to be lost on purpose, so that the way back can be tried.
#[derive(Resource, Clone, Copy, Debug, Default)]
pub(crate) struct ToLose {
    /// So many times.
    pub(crate) times: u32,
    frames: u32,
}

impl ToLose {
    /// So many times.
    pub(crate) fn new(times: u32) -> Self {
        Self { times, frames: 0 }
    }

    /// A card is lost between two frames then: bevy 0.19 can't be told of it in the middle of one,
    /// where making a buffer panics, which ends the program in order.
    pub(crate) fn between_frames(self, plugins: PluginGroupBuilder) -> PluginGroupBuilder {
        if self.times > 0 { plugins.disable::<PipelinedRenderingPlugin>() } else { plugins }
    }

    /// Something is still to come of it.
    pub(crate) fn is_under_way(&self) -> bool {
        self.times > 0 || self.frames < FRAMES_BETWEEN
    }
}

/// Comes back after the loss of a graphics card.
pub(crate) struct LostPlugin;

impl Plugin for LostPlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<Losses>()
            .insert_resource(RenderErrorHandler(respond))
            .add_systems(Startup, read_nothing_back)
            .add_systems(First, draw_all_anew)
            .add_systems(Last, lose.run_if(resource_exists::<ToLose>));
        // bevy's own resources are made anew on a new card; these are left to us.
        if let Some(renderer) = app.get_sub_app_mut(RenderApp) {
            renderer
                .init_gpu_resource::<EguiPipeline>()
                .init_gpu_resource::<SpecializedRenderPipelines<EguiPipeline>>()
                .init_gpu_resource::<EguiTransforms>()
                .init_gpu_resource::<EguiRenderData>();
        }
    }
}

/// bevy sorts lights on the card and reads back how many there are, which panics where the card has
/// gone since. There are none to sort.
fn read_nothing_back(settings: Option<ResMut<GlobalClusterSettings>>) {
    if let Some(mut settings) = settings {
        settings.gpu_clustering = None;
    }
}

/// What is done about an error of the renderer.
fn respond(error: &RenderError, main: &mut World, _: &mut World) -> RenderErrorPolicy {
    if let Some(mut bench) = main.get_resource_mut::<Bench>()
        && let Some(document) = &mut bench.desk.document
    {
        document.keep();
    }
    let now = Instant::now();
    let mut losses = main.get_resource_or_init::<Losses>();
    let is_again = losses.last.is_some_and(|last| now.duration_since(last) < AGAIN_WITHIN);
    losses.last = Some(now);
    if let Some(why) = why_it_ends(error, is_again) {
        end_because(why);
        main.write_message(AppExit::error());
        return RenderErrorPolicy::StopRendering;
    }
    losses.is_bare = true;
    // They were moved to the card and are nowhere else: they are made anew, not fetched.
    if let Some(mut meshes) = main.get_resource_mut::<Assets<Mesh>>() {
        let gone: Vec<_> = meshes.ids().collect();
        for id in gone {
            meshes.remove(id);
        }
    }
    // Nobody reads a message on a picture.
    let has_window = main.query_filtered::<(), With<PrimaryWindow>>().iter(main).next().is_some();
    if has_window && let Some(mut bench) = main.get_resource_mut::<Bench>() {
        bench.desk.message = Some(TOLD.to_owned());
    }
    RenderErrorPolicy::Recover(default())
}

/// Why the program ends, in one line; nothing where it goes on.
fn why_it_ends(error: &RenderError, is_again: bool) -> Option<String> {
    let what = match error.ty {
        ErrorType::DeviceLost if is_again => "the graphics card was lost twice in a short time",
        ErrorType::DeviceLost => return None,
        ErrorType::OutOfMemory => "the graphics card is out of memory",
        ErrorType::Validation | ErrorType::Internal => "the graphics driver refused a picture",
    };
    let said = error.description.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(if said.is_empty() { what.to_owned() } else { format!("{what}: {said}") })
}

/// Once a new card is there, everything that was on the old one is put on it.
fn draw_all_anew(
    device: Option<Res<RenderDevice>>,
    mut losses: ResMut<Losses>,
    mut bench: ResMut<Bench>,
    mut images: ResMut<Assets<Image>>,
) {
    if !losses.is_bare || !device.is_some_and(|device| device.is_changed()) {
        return;
    }
    losses.is_bare = false;
    bench.desk.stamps.all();
    // Pictures and letters of the panels: touched, they are sent again.
    let all: Vec<_> = images.ids().collect();
    for id in all {
        if let Some(mut image) = images.get_mut(id) {
            let _touched = image.deref_mut();
        }
    }
}

/// Loses the card on purpose, once there is something to be lost.
fn lose(mut to_lose: ResMut<ToLose>, device: Option<Res<RenderDevice>>, bench: Res<Bench>) {
    let Some(device) = device else { return };
    if device.is_changed() {
        to_lose.frames = 0;
    }
    to_lose.frames += 1;
    if to_lose.times == 0 || to_lose.frames < FRAMES_BETWEEN || bench.desk.counts().is_none() {
        return;
    }
    *to_lose = ToLose::new(to_lose.times - 1);
    device.wgpu_device().destroy();
    // The renderer hears of it as soon as the card has nothing left to do.
    let _ = device.poll(PollType::wait_indefinitely());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_only_a_first_loss_is_come_back_from_and_every_end_is_one_line() {
        let error = |ty, description: &str| RenderError {
            ty,
            description: description.to_owned(),
            source: None,
        };
        let lost = error(ErrorType::DeviceLost, "driver\n  went away");
        assert_eq!(why_it_ends(&lost, false), None);
        let why = why_it_ends(&lost, true).unwrap();
        assert_eq!(why, "the graphics card was lost twice in a short time: driver went away");
        for ty in [ErrorType::OutOfMemory, ErrorType::Validation, ErrorType::Internal] {
            for again in [false, true] {
                let why = why_it_ends(&error(ty, ""), again).unwrap();
                assert!(why.starts_with("the graphics ") && !why.ends_with(':'), "{why}");
            }
        }
    }
}
