//! What stands and lies on a site, drawn: one entry per thing that can be taken hold of.
//!
//! What physics has a solid for is drawn where that solid is; stakes, poles, leaves and the like
//! are dressing and touch nothing. Each entry belongs to the [`Thing`] of the scene it stands for.

mod building;
mod figure;
mod line;
mod lying;
mod surface;
mod tree;

use bevy::math::Vec3;
use tumblewood::{
    job::{CutReady, World},
    scene::{AidKind, Scene, TargetKind, edit::Thing},
    site::{Answer, Body, BodyKind, Shape},
    terrain::Terrain,
};

use crate::{
    palette::Palette,
    shape::{Drawn, End, ROUND_SIDES, single},
};

pub(crate) use tree::{piece, piece_at};

/// Sides of limbs, wires and lines.
const THIN_SIDES: usize = 6;

/// What the drawing of one thing is made of.
#[derive(Clone, Debug, Default)]
struct Look {
    /// What physics has too.
    solid: Drawn,
    /// What it has not.
    dressing: Drawn,
}

/// What all drawings need.
#[derive(Clone, Copy)]
struct Scenery<'a> {
    world: &'a World,
    terrain: &'a Terrain,
    palette: &'a Palette,
}

/// Everything of a site, as told or as drawn. With a cut: the site as it is at that cut, its
/// piece on the spar in a colour of its own, its face, and the climber or the feller.
#[must_use]
pub(crate) fn things(
    world: &World,
    ready: Option<&CutReady>,
    palette: &Palette,
) -> Vec<(Thing, Drawn)> {
    looks(world, ready, palette)
        .into_iter()
        .map(|(thing, look)| {
            let mut drawn = look.solid;
            drawn.append(&look.dressing);
            (thing, drawn)
        })
        .filter(|(_, drawn)| !drawn.points_m.is_empty())
        .collect()
}

fn looks(world: &World, ready: Option<&CutReady>, palette: &Palette) -> Vec<(Thing, Look)> {
    let site = ready.map_or(&world.site, |ready| &ready.site);
    let scenery = Scenery { world, terrain: &site.terrain, palette };
    let bodies = site
        .bodies
        .iter()
        .filter(|body| body.kind != BodyKind::Spar)
        .filter_map(|body| Some((thing_of(&world.scene, body)?, body_look(&scenery, body))));
    let lines = ready.map(|ready| line::looks(&scenery, ready)).unwrap_or_default();
    surface::looks(&scenery)
        .into_iter()
        .chain(bodies)
        .chain(tree::looks(&scenery, ready))
        .chain(lines)
        .collect()
}

/// What of the scene a body is; nothing if it stands for nothing in it.
#[must_use]
pub(crate) fn thing_of(scene: &Scene, body: &Body) -> Option<Thing> {
    match body.kind {
        BodyKind::Climber => return Some(Thing::Climber),
        BodyKind::ClimberLine => return Some(Thing::ClimberLine),
        BodyKind::Feller => return Some(Thing::Feller),
        BodyKind::Spar => return Some(Thing::Tree),
        _ => {}
    }
    if scene.targets.iter().any(|target| target.id == body.id) {
        return Some(Thing::Target(body.id.clone()));
    }
    if scene.aids.iter().any(|aid| aid.id == body.id) {
        return Some(Thing::Aid(body.id.clone()));
    }
    // A piece of an earlier cut lies where it was noted.
    let cut = scene.cuts.iter().find(|cut| body.id.strip_suffix(" lying") == Some(&cut.id))?;
    Some(Thing::Cut(cut.id.clone()))
}

fn body_look(scenery: &Scenery<'_>, body: &Body) -> Look {
    let scene = &scenery.world.scene;
    let target = scene.targets.iter().find(|target| target.id == body.id).map(|t| &t.kind);
    let aid = scene.aids.iter().find(|aid| aid.id == body.id).map(|aid| &aid.kind);
    match (target, aid) {
        (Some(TargetKind::Structure { corners, windows, .. }), _) => {
            building::building(scenery, body, corners, windows)
        }
        (Some(TargetKind::KeepTree { .. }), _) => tree::keep_tree(scenery, body),
        (Some(TargetKind::Person { .. }), _) => figure::figure(scenery, body, false),
        (Some(TargetKind::Vehicle { .. }), _) => lying::vehicle(scenery, body),
        (Some(TargetKind::Path { .. }), _) => surface::road(scenery, body),
        (Some(TargetKind::Wire { .. }), _) => lying::wire(scenery, body),
        (None, Some(AidKind::BarrierLog { held, .. })) => lying::barrier_log(scenery, body, *held),
        (None, Some(AidKind::Stump { .. })) => tree::stump(scenery, body),
        (None, Some(AidKind::Wall { .. } | AidKind::BrushMat { .. })) => {
            building::wall(scenery, body)
        }
        (None, None) => match body.kind {
            BodyKind::Climber => figure::figure(scenery, body, true),
            BodyKind::Feller => figure::figure(scenery, body, true),
            BodyKind::ClimberLine => lying::rope(scenery, body),
            _ => lying::log(scenery, body),
        },
    }
}

/// A capsule of a body as a tube: ends and radius.
fn capsules(body: &Body) -> impl Iterator<Item = (Vec3, Vec3, f32)> {
    body.shapes.iter().filter_map(|shape| match shape {
        Shape::Capsule { from_m, to_m, radius_m } => {
            Some((single(*from_m), single(*to_m), *radius_m as f32))
        }
        Shape::Cuboid { .. } | Shape::Hull { .. } => None,
    })
}

/// The points of each hull of a body.
fn hulls(body: &Body) -> impl Iterator<Item = Vec<Vec3>> {
    body.shapes.iter().filter_map(|shape| match shape {
        Shape::Hull { points_m } => Some(points_m.iter().copied().map(single).collect()),
        Shape::Cuboid { .. } | Shape::Capsule { .. } => None,
    })
}

/// A body that is free to move, as the piece it is.
fn free_look(scenery: &Scenery<'_>, body: &Body) -> Option<Drawn> {
    let Answer::Free { piece, motion } = &body.answer else { return None };
    Some(tree::log_at(piece, motion, scenery.palette))
}

/// A capsule in wood.
fn round_log(
    drawn: &mut Drawn,
    (from, to, radius): (Vec3, Vec3, f32),
    colour: crate::shape::Colour,
) {
    drawn.tube(&[from, to], &[radius; 2], ROUND_SIDES, [End::Round; 2], colour);
}

#[cfg(test)]
mod tests;
