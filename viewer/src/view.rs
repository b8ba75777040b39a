//! The scene on the screen: what a window and a picture without one have in common.
//!
//! Each frame reads the state and draws; the hand changes nothing but the camera.

use bevy::{
    asset::RenderAssetUsages,
    camera::RenderTarget,
    mesh::{Indices, MeshVertexBufferLayoutRef, PrimitiveTopology},
    pbr::{MaterialPipeline, MaterialPipelineKey},
    prelude::*,
    render::{
        render_resource::{AsBindGroup, RenderPipelineDescriptor, SpecializedMeshPipelineError},
        renderer::RenderAdapterInfo,
    },
};
use bevy_egui::{
    EguiContexts, EguiGlobalSettings, EguiPlugin, EguiPrimaryContextPass, PrimaryEguiContext, egui,
};

use crate::{
    camera::{FIELD_OF_VIEW_RAD, Orbit},
    frame::to_screen_frame,
    hand::{Eye, Ground, Hold, follow_hand},
    hillside::Hillside,
    mesh::{ContourPiece, Relief, contours, relief},
    panel::{CONTOURS_A_DARK_ONE, Facts, PANEL_WIDTH, panel},
};

/// Bare ground, lit from the front.
const GROUND: Color = Color::srgb(0.86, 0.82, 0.70);
const CONTOUR: Color = Color::srgb(0.42, 0.30, 0.18);
const DARK_CONTOUR: Color = Color::srgb(0.16, 0.10, 0.05);
/// The sky, and whatever else nothing is drawn on.
pub(crate) const SKY: Color = Color::srgb(0.80, 0.86, 0.92);
/// Contours are lifted off the ground by this part of the terrain's size, or they flicker.
const CONTOUR_LIFT: f32 = 0.0003;

/// The hillside, ready to be looked at.
pub(crate) struct ViewPlugin {
    /// What is shown.
    pub(crate) hillside: Hillside,
    /// Where it is drawn.
    pub(crate) target: Option<RenderTarget>,
}

/// What is on the screen.
#[derive(Resource, Clone, Debug)]
struct Shown {
    facts: Facts,
    relief: Relief,
    contours: Vec<ContourPiece>,
}

/// Where the camera is to draw to; the window if nothing.
#[derive(Resource)]
struct Target(Option<RenderTarget>);

/// A surface that shows the colours of its nodes and nothing else. Lighting it with bevy's own
/// material takes eight times as long where the processor has to draw.
#[derive(Asset, TypePath, AsBindGroup, Clone, Default)]
struct Painted {}

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
        Ok(())
    }
}

impl Plugin for ViewPlugin {
    fn build(&self, app: &mut App) {
        let relief = relief(&self.hillside.terrain);
        let facts = Facts::of(&self.hillside.name, &relief);
        let (low_m, high_m) = relief.extent_m();
        app.insert_resource(Eye(Orbit::framing(low_m, high_m)))
            .insert_resource(Ground(self.hillside.terrain.clone()))
            .init_resource::<Hold>()
            .insert_resource(Shown {
                contours: contours(&relief, facts.contour_interval_m),
                relief,
                facts,
            })
            .insert_resource(Target(self.target.clone()))
            .add_plugins((EguiPlugin::default(), MaterialPlugin::<Painted>::default()))
            .insert_resource(ClearColor(SKY))
            // The camera below carries the panel; a second context would draw it twice.
            .insert_resource(EguiGlobalSettings { auto_create_primary_context: false, ..default() })
            .add_systems(Startup, (set_up_camera, set_up_hillside))
            .add_systems(Update, (follow_hand, place_camera).chain())
            .add_systems(EguiPrimaryContextPass, draw_panel);
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
    let mut camera = commands.spawn((
        Camera3d::default(),
        PrimaryEguiContext,
        Projection::Perspective(PerspectiveProjection {
            fov: FIELD_OF_VIEW_RAD,
            far: 100_000.0,
            ..default()
        }),
        if drawn_by_processor { Msaa::Off } else { Msaa::Sample4 },
    ));
    if let Some(target) = &target.0 {
        camera.insert(target.clone());
    }
}

fn set_up_hillside(
    mut commands: Commands,
    shown: Res<Shown>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Painted>>,
) {
    let material = materials.add(Painted {});
    for mesh in [ground_mesh(&shown.relief), contour_mesh(&shown)] {
        commands.spawn((Mesh3d(meshes.add(mesh)), MeshMaterial3d(material.clone())));
    }
}

fn ground_mesh(relief: &Relief) -> Mesh {
    // A hole has no triangle; its node still needs a place that a box can be put round.
    let points = relief
        .points_m
        .iter()
        .map(|&point| if point.is_finite() { to_screen_frame(point) } else { Vec3::ZERO });
    let ground = GROUND.to_linear();
    let colours = relief.light.iter().map(|&light| (ground * light).with_alpha(1.0));
    let indices = relief.triangles.iter().flatten().copied().collect();
    painted(PrimitiveTopology::TriangleList, points, colours)
        .with_inserted_indices(Indices::U32(indices))
}

fn contour_mesh(shown: &Shown) -> Mesh {
    let (width_m, depth_m) = shown.facts.size_m;
    let lift = Vec3::Z * CONTOUR_LIFT * width_m.hypot(depth_m);
    let points =
        shown.contours.iter().flat_map(|piece| piece.ends_m.map(|end| to_screen_frame(end + lift)));
    let colours = shown.contours.iter().flat_map(|piece| {
        let dark = piece.level.rem_euclid(CONTOURS_A_DARK_ONE) == 0;
        [if dark { DARK_CONTOUR } else { CONTOUR }.to_linear(); 2]
    });
    painted(PrimitiveTopology::LineList, points, colours)
}

fn painted(
    topology: PrimitiveTopology,
    points: impl Iterator<Item = Vec3>,
    colours: impl Iterator<Item = LinearRgba>,
) -> Mesh {
    Mesh::new(topology, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, points.collect::<Vec<_>>())
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_COLOR,
            colours.map(|colour| colour.to_f32_array()).collect::<Vec<_>>(),
        )
}

fn place_camera(eye: Res<Eye>, camera: Single<(&Camera, &mut Transform)>) {
    let (camera, mut transform) = camera.into_inner();
    let covered = camera.logical_viewport_size().map_or(0.0, |size| PANEL_WIDTH / size.y.max(1.0));
    transform.set_if_neq(eye.transform(covered));
}

fn draw_panel(mut contexts: EguiContexts, shown: Res<Shown>, eye: Res<Eye>) -> Result {
    let context = contexts.ctx_mut()?;
    // Dark letters on a bright ground can be read in sunlight.
    context.set_theme(egui::Theme::Light);
    let screen = context.viewport_rect();
    // An area of its own, because a panel in the background lets clicks through to the hillside.
    egui::Area::new("panel".into())
        .order(egui::Order::Middle)
        .movable(false)
        .constrain(false)
        .fixed_pos(egui::pos2(screen.right() - PANEL_WIDTH, screen.top()))
        .show(context, |ui| {
            let frame = egui::Frame::side_top_panel(ui.style()).inner_margin(12.0);
            let inside = egui::vec2(PANEL_WIDTH, screen.height()) - frame.total_margin().sum();
            frame.show(ui, |ui| {
                ui.set_min_size(inside);
                ui.set_max_size(inside);
                panel(ui, &shown.facts, eye.azimuth_rad);
            });
        });
    Ok(())
}
