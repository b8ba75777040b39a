//! The desk on the screen: the only place that knows bevy's world, with `hand`, `keys`, `layers`
//! and `labels` below it.
//!
//! Each frame hears what the threads have to tell, lets hands and keys wish, grants what was
//! wished, and draws anew the layers that changed.

use std::sync::Arc;

use bevy::{
    a11y::ActionRequest,
    asset::RenderAssetUsages,
    camera::RenderTarget,
    mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology},
    pbr::{MaterialPipeline, MaterialPipelineKey},
    prelude::*,
    render::{
        render_resource::{AsBindGroup, RenderPipelineDescriptor, SpecializedMeshPipelineError},
        renderer::RenderAdapterInfo,
    },
    window::{FileDragAndDrop, PrimaryWindow, RequestRedraw, WindowCloseRequested},
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};

use crate::{
    camera::{FIELD_OF_VIEW_RAD, Orbit},
    desk::{Desk, Leaving, Screen},
    frame::to_screen_frame,
    grant::{grant, is_over},
    hand::{Eye, Hold, Pointed, follow_hand},
    keys::follow_keys,
    labels::labels,
    layers::{Pickable, draw_layers, move_what_moves},
    lost::LostPlugin,
    pages::beside_notes,
    panel::PANEL_WIDTH,
    reader::hear_reader,
    screens::{Screens, draw_screens},
    shape::{Drawn, single},
    sight::sight,
    strip::strip_height,
    wish::Wish,
    worker::Workers,
};

/// Everything that lies on the desk, who works, and what is wished for.
#[derive(Resource, Debug)]
pub(crate) struct Bench {
    /// The state.
    pub(crate) desk: Desk,
    /// Who works.
    pub(crate) workers: Workers,
    /// What is to be done next.
    pub(crate) wishes: Vec<Wish>,
}

/// The desk, ready to be looked at.
pub(crate) struct ViewPlugin {
    /// Where it is drawn; the window if nothing.
    pub(crate) target: Option<RenderTarget>,
    /// Panels are drawn too.
    pub(crate) panels: bool,
    /// Edges are smoothed whatever that costs.
    pub(crate) smooth: bool,
}

/// Where the camera is to draw to, and with what.
#[derive(Resource, Clone)]
struct Target {
    place: Option<RenderTarget>,
    panels: bool,
    smooth: bool,
}

/// A surface that shows the colours of its nodes and nothing else. Lighting it with bevy's own
/// material takes eight times as long where the processor has to draw.
#[derive(Asset, TypePath, AsBindGroup, Clone, Default)]
pub(crate) struct Painted {}

impl Material for Painted {
    fn enable_prepass() -> bool {
        false
    }

    fn enable_shadows() -> bool {
        false
    }

    fn specialize(
        _: &MaterialPipeline,
        descriptor: &mut RenderPipelineDescriptor,
        _: &MeshVertexBufferLayoutRef,
        _: MaterialPipelineKey<Self>,
    ) -> Result<(), SpecializedMeshPipelineError> {
        // A line's pixel may lie half a pixel down the slope from the line itself: the ground is
        // moved back by what it falls on one pixel, or it shows through and dashes the contours.
        if descriptor.primitive.topology == PrimitiveTopology::TriangleList
            && let Some(depth) = &mut descriptor.depth_stencil
        {
            depth.bias.slope_scale = -2.0;
        }
        // Signs lie on the ground and are seen from below through it nowhere: no side is hidden.
        descriptor.primitive.cull_mode = None;
        Ok(())
    }
}

impl Plugin for ViewPlugin {
    fn build(&self, app: &mut App) {
        app.insert_resource(Eye(Orbit::framing(Vec3::splat(-50.0), Vec3::splat(50.0))))
            .init_resource::<Hold>()
            .init_resource::<Pointed>()
            .init_resource::<Pickable>()
            .init_resource::<Screens>()
            .insert_resource(Target {
                place: self.target.clone(),
                panels: self.panels,
                smooth: self.smooth,
            })
            .add_plugins((EguiPlugin::default(), MaterialPlugin::<Painted>::default(), LostPlugin))
            // The camera below carries the panel; a second context would draw it twice.
            .insert_resource(EguiGlobalSettings { auto_create_primary_context: false, ..default() })
            .add_message::<ActionRequest>()
            .add_systems(Startup, set_up_camera)
            .add_systems(First, hear_reader)
            .add_systems(
                Update,
                (
                    hear,
                    follow_keys,
                    follow_hand,
                    want_to_close,
                    take_dropped,
                    grant_wishes,
                    tick,
                    look,
                    follow_piece,
                    place_camera,
                    draw_layers,
                    move_what_moves,
                    leave,
                )
                    .chain(),
            )
            .add_systems(EguiPrimaryContextPass, draw_screen);
    }
}

fn set_up_camera(
    mut commands: Commands,
    target: Res<Target>,
    adapter: Option<Res<RenderAdapterInfo>>,
) {
    // Smoothed edges halve the frame rate where the processor has to draw.
    let drawn_by_processor =
        adapter.is_none_or(|adapter| adapter.device_type == wgpu_types::DeviceType::Cpu);
    // A picture is made once, and may take its time.
    let smooth = target.smooth || !drawn_by_processor;
    let mut camera = commands.spawn((
        Camera3d::default(),
        PrimaryEguiContext,
        Projection::Perspective(PerspectiveProjection {
            fov: FIELD_OF_VIEW_RAD,
            far: 100_000.0,
            ..default()
        }),
        if smooth { Msaa::Sample4 } else { Msaa::Off },
    ));
    if let Some(target) = &target.place {
        camera.insert(target.clone());
    }
}

fn hear(mut bench: ResMut<Bench>) {
    let news = bench.workers.news();
    if news.is_empty() {
        return;
    }
    let Bench { desk, workers, .. } = &mut *bench;
    for news in news {
        desk.hear(news, workers);
    }
}

fn want_to_close(mut bench: ResMut<Bench>, mut requests: MessageReader<WindowCloseRequested>) {
    if requests.read().last().is_some() {
        bench.wishes.push(Wish::Leave(Leaving::Quit));
    }
}

fn take_dropped(mut bench: ResMut<Bench>, mut files: MessageReader<FileDragAndDrop>) {
    for file in files.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = file {
            bench.wishes.push(Wish::Dropped(path_buf.clone()));
        }
    }
}

fn grant_wishes(mut bench: ResMut<Bench>) {
    if bench.wishes.is_empty() {
        return;
    }
    let Bench { desk, workers, wishes } = &mut *bench;
    for wish in std::mem::take(wishes) {
        grant(desk, workers, wish);
    }
}

/// Moves the clock on, and asks for the next frame while anything is under way.
fn tick(mut bench: ResMut<Bench>, time: Res<Time<Real>>, mut redraw: MessageWriter<RequestRedraw>) {
    if bench.desk.playing.clock.runs {
        // Drops that are played together begin together.
        if bench.desk.playing.waiting.is_empty() {
            bench.desk.playing.clock.tick(time.delta_secs_f64());
        }
        redraw.write(RequestRedraw);
    }
}

/// Goes to the view that is wanted.
fn look(mut bench: ResMut<Bench>, mut eye: ResMut<Eye>) {
    let Some(view) = bench.desk.wanted_view else { return };
    bench.desk.wanted_view = None;
    if let Some(sight) = sight(&bench.desk) {
        eye.set_if_neq(Eye(Orbit::of(view, &sight)));
    }
}

fn follow_piece(bench: Res<Bench>, mut eye: ResMut<Eye>) {
    let playing = &bench.desk.playing;
    if playing.follows
        && let Some(motion) = playing.motions().next()
    {
        let focus_m = single(motion.centre_m);
        if eye.focus_m != focus_m {
            eye.focus_m = focus_m;
        }
    }
}

fn place_camera(
    eye: Res<Eye>,
    bench: Res<Bench>,
    target: Res<Target>,
    camera: Single<(&Camera, &mut Transform)>,
) {
    let (camera, mut transform) = camera.into_inner();
    let size = camera.logical_viewport_size().unwrap_or(Vec2::ONE).max(Vec2::ONE);
    let zoom = bench.desk.look.text_scale;
    // Something at the left covers as much as something at the right, the other way.
    let covered = match bench.desk.screen {
        _ if !target.panels => Vec2::ZERO,
        Screen::Hillside | Screen::Lesson => {
            zoom * Vec2::new(PANEL_WIDTH, strip_height(&bench.desk)) / size.y
        }
        Screen::Notes => Vec2::X * (beside_notes(size.x / zoom) - 1.0) * size.x / size.y,
        Screen::Start | Screen::Ground | Screen::Practice | Screen::Compare | Screen::Teach => {
            Vec2::ZERO
        }
    };
    transform.set_if_neq(eye.transform(covered));
}

fn draw_screen(
    mut contexts: EguiContexts,
    mut bench: ResMut<Bench>,
    mut screens: ResMut<Screens>,
    eye: Res<Eye>,
    hold: Res<Hold>,
    pointed: Res<Pointed>,
    pickable: Res<Pickable>,
    target: Res<Target>,
    camera: Single<(&Camera, &Transform)>,
    mut redraw: MessageWriter<RequestRedraw>,
    mut lettered: Local<bool>,
) -> Result {
    let context = contexts.ctx_mut()?;
    if !*lettered {
        *lettered = true;
        letter(context);
    }
    bench.desk.look.dress(context);
    screens.is_typing = context.text_edit_focused();
    let (camera, placed) = *camera;
    let placed = GlobalTransform::from(*placed);
    if matches!(bench.desk.screen, Screen::Hillside | Screen::Lesson) {
        let covered = egui::vec2(PANEL_WIDTH, strip_height(&bench.desk));
        let covered = if target.panels { covered } else { egui::Vec2::ZERO };
        let seen = (&*eye, &*hold, pointed.0, covered);
        labels(context, &bench.desk, seen, &pickable, |at_m: Vec3| {
            camera.world_to_viewport(&placed, to_screen_frame(at_m)).ok().map(|at| {
                // The camera's pixels are the window's, egui's points are scaled by the zoom.
                let zoom = context.zoom_factor();
                egui::pos2(at.x / zoom, at.y / zoom)
            })
        });
    }
    if !target.panels {
        return Ok(());
    }
    if !bench.desk.mail.come.is_empty() {
        for news in std::mem::take(&mut bench.desk.mail.come) {
            screens.pages.hear(context, news);
        }
    }
    let mut wishes = Vec::new();
    draw_screens(context, &bench.desk, &mut screens, eye.azimuth_rad, &mut wishes);
    if !wishes.is_empty() {
        bench.wishes.extend(wishes);
        redraw.write(RequestRedraw);
    }
    Ok(())
}

/// Letters of the printed pictures, which can be read from farther than thin ones.
pub(crate) fn letter(context: &egui::Context) {
    let mut fonts = egui::FontDefinitions::default();
    let own = Arc::new(egui::FontData::from_static(tumblewood::report::font::REGULAR));
    fonts.font_data.insert("own".to_owned(), own);
    if let Some(family) = fonts.families.get_mut(&egui::FontFamily::Proportional) {
        // What it has no sign for is taken from egui's own.
        family.insert(0, "own".to_owned());
    }
    context.set_fonts(fonts);
}

fn leave(
    bench: Res<Bench>,
    mut exit: MessageWriter<AppExit>,
    window: Query<Entity, With<PrimaryWindow>>,
) {
    if is_over(&bench.desk) && !window.is_empty() {
        exit.write(AppExit::Success);
    }
}

/// What is drawn, for the renderer: its triangles and its lines.
pub(crate) fn meshes(drawn: &Drawn) -> impl Iterator<Item = Mesh> {
    let triangles = drawn.triangles.iter().flatten().copied().collect::<Vec<u32>>();
    let lines = drawn.lines.iter().flatten().copied().collect::<Vec<u32>>();
    [(PrimitiveTopology::TriangleList, triangles), (PrimitiveTopology::LineList, lines)]
        .into_iter()
        .filter(|(_, nodes)| !nodes.is_empty())
        .map(|(topology, nodes)| {
            painted(topology, &drawn.points_m, &drawn.colours)
                .with_inserted_indices(Indices::U32(nodes))
        })
}

/// A mesh of nodes in the site's frame with their linear colours.
pub(crate) fn painted(
    topology: PrimitiveTopology,
    points_m: &[Vec3],
    colours: &[[f32; 4]],
) -> Mesh {
    let points: Vec<Vec3> = points_m.iter().map(|&point| to_screen_frame(point)).collect();
    Mesh::new(topology, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, points)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colours.to_vec())
}
