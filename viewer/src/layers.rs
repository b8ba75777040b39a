//! The layers of the hillside as the renderer holds them: ground, things, drops, what is played.
//! A layer is made anew when its stamp on the desk is another than when it was made.

use std::collections::BTreeMap;

use bevy::prelude::*;
use tumblewood::{drop::Touch, scene::edit::Thing, site::Answer};

use crate::{
    desk::{Desk, Stamps},
    frame::to_screen_frame,
    hand::Hold,
    marks::held,
    mesh::{contour_interval_m, contours, relief},
    palette::{Palette, palette},
    pick::Boxes,
    playing::{ghosts, motion_at, touches_until},
    shape::{Drawn, single},
    things::{held_at, piece, piece_at, things},
    tracks::{passed, rests, tracks},
    view::{Bench, Painted, meshes},
};

/// Every fifth contour is darker.
pub(crate) const CONTOURS_A_DARK_ONE: i32 = 5;
/// Contours are lifted off the ground by this part of the terrain's size, or they flicker.
const CONTOUR_LIFT: f32 = 0.0003;
/// Ghosts are drawn anew this many times a second of the clock at most.
const GHOSTS_A_SECOND: f64 = 4.0;

/// What can be picked, as it is drawn.
#[derive(Resource, Default)]
pub(crate) struct Pickable {
    /// The things.
    pub(crate) things: Vec<(Thing, Drawn)>,
    /// Boxes round them.
    pub(crate) boxes: Boxes,
    /// Lowest and highest ground, m.
    pub(crate) heights_m: (f32, f32),
    /// Where the lines that pieces pass have their names, m, and what they are.
    pub(crate) passed: Vec<([Vec3; 2], tumblewood::report::plan::PassLine)>,
}

/// Part of a layer.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Layer {
    Ground,
    Things,
    Drops,
    Pieces,
    Trail,
    Moving,
}

/// Something of the scene, moved while it is held.
#[derive(Component, Clone, Debug, PartialEq)]
pub(crate) struct Standing(Thing);

/// The piece of a played drop, by its place among them.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Played(usize);

/// Stamps of what is drawn, and of the trail the moment it was drawn at.
#[derive(Default)]
pub(crate) struct Made {
    stamps: Option<Stamps>,
    trail: Option<(u64, i64, usize)>,
    moving: Option<(u64, u64)>,
}

/// Who draws.
#[derive(bevy::ecs::system::SystemParam)]
pub(crate) struct Easel<'w, 's> {
    commands: Commands<'w, 's>,
    meshes: ResMut<'w, Assets<Mesh>>,
    materials: ResMut<'w, Assets<Painted>>,
    paint: Local<'s, Option<Handle<Painted>>>,
    there: Query<'w, 's, (Entity, &'static Layer)>,
}

impl Easel<'_, '_> {
    fn clear(&mut self, layer: Layer) {
        for (entity, of) in &self.there {
            if *of == layer {
                self.commands.entity(entity).despawn();
            }
        }
    }

    fn hang(&mut self, layer: Layer, drawn: &Drawn, with: impl Bundle + Clone) {
        let paint = self.paint.get_or_insert_with(|| self.materials.add(Painted {})).clone();
        for mesh in meshes(drawn) {
            let mesh = Mesh3d(self.meshes.add(mesh));
            self.commands.spawn((mesh, MeshMaterial3d(paint.clone()), layer, with.clone()));
        }
    }
}

/// Draws anew what changed on the desk.
pub(crate) fn draw_layers(
    mut easel: Easel<'_, '_>,
    mut made: Local<'_, Made>,
    bench: Res<Bench>,
    mut pickable: ResMut<Pickable>,
    mut sky: ResMut<ClearColor>,
) {
    let desk = &bench.desk;
    let palette = palette(desk.look.theme);
    let before = made.stamps;
    let new = |of: fn(&Stamps) -> u64| before.is_none_or(|before| of(&before) != of(&desk.stamps));
    let [r, g, b, _] = palette.sky.linear();
    let wanted = ClearColor(Color::linear_rgb(r, g, b));
    if sky.0 != wanted.0 {
        *sky = wanted;
    }
    if new(|s| s.ground) {
        draw_ground(&mut easel, desk, palette, &mut pickable);
    }
    if new(|s| s.things) || new(|s| s.ground) {
        draw_things(&mut easel, desk, palette, &mut pickable);
    }
    if new(|s| s.drops) || new(|s| s.things) {
        draw_drops(&mut easel, desk, &mut pickable);
    }
    if new(|s| s.playing) {
        draw_pieces(&mut easel, desk, palette);
    }
    let clock = desk.playing.clock;
    let touched = played(desk).map(|(track, _)| touches_until(track, clock.time_s).count()).sum();
    let trail = (desk.stamps.playing, (clock.time_s * GHOSTS_A_SECOND).floor() as i64, touched);
    if made.trail != Some(trail) {
        draw_trail(&mut easel, desk, palette);
        made.trail = Some(trail);
    }
    let moving = (desk.stamps.playing, clock.time_s.to_bits());
    if made.moving != Some(moving) {
        draw_moving(&mut easel, desk, palette);
        made.moving = Some(moving);
    }
    if made.stamps != Some(desk.stamps) {
        made.stamps = Some(desk.stamps);
    }
}

fn draw_ground(easel: &mut Easel<'_, '_>, desk: &Desk, palette: &Palette, pickable: &mut Pickable) {
    easel.clear(Layer::Ground);
    let Some(shown) = &desk.shown else { return };
    let relief = relief(&shown.world.site.terrain);
    let (low_m, high_m) = relief.extent_m();
    pickable.heights_m = (low_m.z, high_m.z);
    let [r, g, b, a] = palette.ground.linear();
    let lift = Vec3::Z * CONTOUR_LIFT * (high_m - low_m).truncate().length();
    let mut lines = Drawn::default();
    for piece in contours(&relief, contour_interval_m(low_m.z, high_m.z)) {
        let dark = piece.level.rem_euclid(CONTOURS_A_DARK_ONE) == 0;
        let colour = if dark { palette.dark_contour } else { palette.contour };
        lines.polyline(&piece.ends_m.map(|end| end + lift), colour.linear());
    }
    let mut ground = Drawn::default();
    // A hole has no triangle; its node still needs a place that a box can be put round.
    ground.points_m = relief.points_m;
    for point in ground.points_m.iter_mut().filter(|point| !point.is_finite()) {
        *point = low_m;
    }
    ground.colours = relief.light.iter().map(|l| [r * l, g * l, b * l, a]).collect();
    ground.triangles = relief.triangles;
    easel.hang(Layer::Ground, &ground, ());
    easel.hang(Layer::Ground, &lines, ());
}

fn draw_things(easel: &mut Easel<'_, '_>, desk: &Desk, palette: &Palette, pickable: &mut Pickable) {
    easel.clear(Layer::Things);
    pickable.things.clear();
    if let Some(shown) = &desk.shown {
        pickable.things = things(&shown.world, shown.ready.as_deref(), palette);
    }
    pickable.boxes = Boxes::round(&pickable.things);
    for (thing, drawn) in &pickable.things {
        easel.hang(Layer::Things, drawn, Standing(thing.clone()));
        if desk.picked.as_ref() == Some(thing)
            && let Some(shown) = &desk.shown
        {
            let ring = held(drawn, &shown.world.site.terrain, desk.unit_m(), palette);
            easel.hang(Layer::Things, &ring, Standing(thing.clone()));
        }
    }
}

fn draw_drops(easel: &mut Easel<'_, '_>, desk: &Desk, pickable: &mut Pickable) {
    easel.clear(Layer::Drops);
    pickable.passed.clear();
    let Some(drops) = desk.drops() else { return };
    easel.hang(Layer::Drops, &tracks(&drops, &desk.filter), ());
    easel.hang(Layer::Drops, &rests(&drops, &desk.filter), ());
    for line in passed(&drops) {
        easel.hang(Layer::Drops, &line.drawn, ());
        pickable.passed.push((line.ends_m, line.line));
    }
}

/// The tracks of what is played, each with its cut.
fn played(
    desk: &Desk,
) -> impl Iterator<Item = (&tumblewood::drop::Track, &tumblewood::tree::Piece)> {
    desk.playing.drops.iter().filter_map(|made| {
        let (track, _) = made.replay.what.as_ref().ok()?;
        Some((track, &made.replay.ready.section.piece))
    })
}

fn draw_pieces(easel: &mut Easel<'_, '_>, desk: &Desk, palette: &Palette) {
    easel.clear(Layer::Pieces);
    for (k, (_, of)) in played(desk).enumerate() {
        easel.hang(Layer::Pieces, &piece(of, palette), (Played(k), Transform::default()));
    }
}

/// Ghosts of earlier places and the marks of touches so far.
fn draw_trail(easel: &mut Easel<'_, '_>, desk: &Desk, palette: &Palette) {
    easel.clear(Layer::Trail);
    let Some(shown) = &desk.shown else { return };
    let time_s = desk.playing.clock.time_s;
    let unit_m = desk.unit_m();
    for (track, of) in played(desk) {
        let touches: Vec<Touch> = touches_until(track, time_s).copied().collect();
        let marks = crate::marks::touches(&touches, &shown.world.site.terrain, unit_m, palette);
        easel.hang(Layer::Trail, &marks, ());
        let path: Vec<Vec3> = track
            .samples
            .iter()
            .take_while(|sample| sample.time_s <= time_s)
            .map(|sample| single(sample.motion.centre_m))
            .collect();
        let mut trail = Drawn::default();
        trail.polyline(&path, palette.chosen.linear());
        if desk.playing.ghosts {
            let earlier = ghosts(&track.samples, time_s);
            for motion in earlier.iter().rev().skip(1) {
                trail.append(&paled(piece_at(of, motion, palette), palette));
            }
        }
        easel.hang(Layer::Trail, &trail, ());
    }
}

/// What else moves at this moment: the lines that hold pieces, and what lay loose, with pieces that
/// were left where they stopped.
fn draw_moving(easel: &mut Easel<'_, '_>, desk: &Desk, palette: &Palette) {
    easel.clear(Layer::Moving);
    let time_s = desk.playing.clock.time_s;
    let mut drawn = Drawn::default();
    for made in &desk.playing.drops {
        let Ok((track, _)) = &made.replay.what else { continue };
        let ready = &made.replay.ready;
        if let Some(motion) = motion_at(&track.samples, time_s) {
            for (tied, load) in ready.tied.iter().zip(&track.lines) {
                if load.broke_s.is_none_or(|broke_s| time_s < broke_s) {
                    drawn.append(&held_at(tied, &motion, palette));
                }
            }
        }
        for loose in &track.loose {
            let Some(body) = ready.site.bodies.get(loose.body) else { continue };
            let Answer::Free { piece, .. } = &body.answer else { continue };
            let motion = motion_at(&loose.samples, time_s).unwrap_or(loose.start);
            drawn.append(&paled(piece_at(piece, &motion, palette), palette));
        }
    }
    if !drawn.points_m.is_empty() {
        easel.hang(Layer::Moving, &drawn, ());
    }
}

/// Half way to the colour of bare ground.
fn paled(mut drawn: Drawn, palette: &Palette) -> Drawn {
    let ground = palette.ground.linear();
    for colour in &mut drawn.colours {
        for (part, of) in colour.iter_mut().zip(ground) {
            *part = 0.5 * (*part + of);
        }
    }
    drawn
}

/// Puts what is held where the hand has it, and pieces where they are at this moment.
pub(crate) fn move_what_moves(
    bench: Res<Bench>,
    hold: Res<Hold>,
    mut standing: Query<(&Standing, &mut Transform), Without<Played>>,
    mut pieces: Query<(&Played, &mut Transform), Without<Standing>>,
) {
    let desk = &bench.desk;
    let held = held_transform(desk, &hold);
    for (thing, mut transform) in &mut standing {
        let wanted = match &held {
            Some((held, by)) if thing.0 == *held => *by,
            _ => Transform::IDENTITY,
        };
        transform.set_if_neq(wanted);
    }
    let motions: BTreeMap<usize, _> = desk.playing.motions().enumerate().collect();
    for (Played(k), mut transform) in &mut pieces {
        let Some(motion) = motions.get(k) else { continue };
        let [x, y, z, w] = motion.attitude.to_array().map(|part| part as f32);
        // Axes change as places do: (x, y, z) of the site is (x, z, −y) of the screen.
        let rotation = Quat::from_xyzw(x, z, -y, w).normalize();
        let translation = to_screen_frame(single(motion.centre_m));
        transform.set_if_neq(Transform { translation, rotation, scale: Vec3::ONE });
    }
}

/// How far the hand has moved or turned what it holds.
fn held_transform(desk: &Desk, hold: &Hold) -> Option<(Thing, Transform)> {
    match hold {
        Hold::Moving { thing, from_m, to_m } => {
            let (from, to) = (desk.ground_m(*from_m)?, desk.ground_m(*to_m)?);
            let by = Transform::from_translation(to_screen_frame(single(to - from)));
            Some((thing.clone(), by))
        }
        Hold::Spinning { thing, about_m, from_rad, to_rad } => {
            let about = to_screen_frame(single(desk.ground_m(*about_m)?));
            // Clockwise from above is negative about the screen's upward axis.
            let turn = Quat::from_rotation_y(-(to_rad - from_rad) as f32);
            let mut by = Transform::from_rotation(turn);
            by.translation = about - turn * about;
            Some((thing.clone(), by))
        }
        Hold::Nothing | Hold::Turning { .. } | Hold::Sliding => None,
    }
}
