//! What lies on the ground: patches of other ground, brush mats, roads and paths.

use bevy::math::{Vec2, Vec3};
use tumblewood::{
    ground::words::{Heel, SoilWord, Thumb, Wetness},
    scene::{AidKind, Cover, GroundSpec, edit::Thing},
    site::Body,
};

use super::{Look, Scenery, hulls, lying};
use crate::drape::{area, band, extent, flat, hatch, line, on_ground};

/// Hatches lie so far over the ground, m: under what a road's surface is over it.
const LIFT_M: f32 = 0.045;
/// The tint of a patch lies under its hatches, m.
const TINT_LIFT_M: f32 = 0.03;
/// How much of the hatch's colour is in the tint.
const TINT: f32 = 0.2;
/// Points of a hatch are at most so far apart, m.
const STEP_M: f32 = 0.25;
/// Hatches of a patch larger than this across are as much wider apart, m.
const LARGE_M: f32 = 30.0;
/// Width of the edge of a patch, m.
const EDGE_M: f32 = 0.12;
/// A road's surface is cut in parts of this size, m, so that no bump of the ground stands through.
const ROAD_PART_M: f32 = 0.5;

/// Patches and mats.
pub(super) fn looks(scenery: &Scenery<'_>) -> Vec<(Thing, Look)> {
    let scene = &scenery.world.scene;
    let outline = |places: &[tumblewood::scene::Place]| -> Vec<Vec2> {
        places.iter().map(|place| flat(scenery.world.place_m(place))).collect()
    };
    let patches = scene.site.patches.iter().map(|spec| {
        let look = patch(scenery, &outline(&spec.outline), &spec.ground);
        (Thing::Patch(spec.id.clone()), look)
    });
    let mats = scene.aids.iter().filter_map(|aid| {
        let AidKind::BrushMat { outline: places, thickness_m } = &aid.kind else { return None };
        let mut look = Look::default();
        let outline = outline(places);
        tint(&mut look, scenery, &outline, scenery.palette.aid.linear());
        edge(&mut look, scenery, &outline, scenery.palette.aid.linear());
        let heap = lying::brush(scenery, &aid.id, &outline, thickness_m.told as f32);
        look.dressing.append(&heap);
        Some((Thing::Aid(aid.id.clone()), look))
    });
    patches.chain(mats).collect()
}

/// How a ground is hatched: the angles of its lines, rad, and their spacing, m. The kind of soil
/// gives the first angle, its firmness the spacing (closer the softer); litter or turf a second
/// angle, wet ground a third.
fn hatches(ground: &GroundSpec) -> (Vec<f32>, f32) {
    let (degrees, spacing_m): (f32, f32) = match ground.soil {
        SoilWord::Thumb(thumb) => {
            let spacing_m = match thumb {
                Thumb::FistEasily => 0.7,
                Thumb::ThumbEasily => 0.9,
                Thumb::ThumbWithEffort => 1.2,
                Thumb::ThumbIndents => 1.5,
                Thumb::Thumbnail => 1.9,
                Thumb::ThumbnailWithDifficulty => 2.4,
            };
            (45.0, spacing_m)
        }
        SoilWord::Heel(heel) => {
            let spacing_m = match heel {
                Heel::OverTheWelt => 0.7,
                Heel::ThreeCm => 1.0,
                Heel::OneCm => 1.5,
                Heel::None => 2.2,
            };
            (135.0, spacing_m)
        }
        SoilWord::Gravel => (90.0, 0.8),
        SoilWord::Pavement => (0.0, 0.6),
        SoilWord::DontKnow => (20.0, 3.0),
    };
    let second = match ground.cover {
        Cover::Litter(_) => Some(degrees + 90.0),
        Cover::Turf(_) => Some(degrees + 60.0),
        Cover::Bare | Cover::DontKnow => None,
    };
    let third = (ground.wetness == Wetness::Wet).then_some(degrees + 30.0);
    let angles =
        [Some(degrees), second, third].into_iter().flatten().map(f32::to_radians).collect();
    (angles, spacing_m)
}

fn patch(scenery: &Scenery<'_>, outline_m: &[Vec2], ground: &GroundSpec) -> Look {
    let colour = scenery.palette.hatch.linear();
    let mut look = Look::default();
    let (angles, spacing_m) = hatches(ground);
    // A large patch is looked at from farther off.
    let (low, high) = extent(outline_m);
    let spacing_m = spacing_m * (low.distance(high) / LARGE_M).max(1.0);
    tint(&mut look, scenery, outline_m, colour);
    for angle in angles {
        for ends in hatch(outline_m, angle, spacing_m) {
            line(&mut look.dressing, scenery.terrain, &ends, LIFT_M, STEP_M, colour);
        }
    }
    edge(&mut look, scenery, outline_m, colour);
    look
}

/// The ground within an outline in a colour of its own, so that the whole of it can be picked.
fn tint(look: &mut Look, scenery: &Scenery<'_>, outline_m: &[Vec2], colour: crate::shape::Colour) {
    let mut mixed = scenery.palette.ground.linear();
    for (mixed, colour) in mixed.iter_mut().zip(colour) {
        *mixed += TINT * (colour - *mixed);
    }
    area(&mut look.dressing, scenery.terrain, outline_m, TINT_LIFT_M, mixed);
}

fn edge(look: &mut Look, scenery: &Scenery<'_>, outline_m: &[Vec2], colour: crate::shape::Colour) {
    let closed: Vec<Vec2> = outline_m.iter().chain(outline_m.first()).copied().collect();
    let size = (EDGE_M, LIFT_M, STEP_M);
    band(&mut look.dressing, scenery.terrain, &closed, size, colour);
}

/// A road: the surface that must not be entered, with its kerbs.
pub(super) fn road(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let (top, kerb) = (palette.road.linear(), palette.target.linear());
    let mut look = Look::default();
    for points in hulls(body) {
        // Per end of the stretch: right below, right above, left below, left above.
        let [a, b, c, d, e, f, g, h] = points[..] else { continue };
        for [low, high, low_on, high_on] in [[a, b, e, f], [g, h, c, d]] {
            look.solid.face(&[low, low_on, high_on, high], top);
            look.solid.polyline(&[high + Vec3::Z * 0.01, high_on + Vec3::Z * 0.01], kerb);
        }
        let parts = |p: Vec3, q: Vec3| (p.distance(q) / ROAD_PART_M).ceil().clamp(1.0, 40.0);
        let (along, across) = (parts(b, f), parts(b, d));
        let at = |i: usize, j: usize| {
            let (u, v) = (i as f32 / along, j as f32 / across);
            let point = b.lerp(f, u).lerp(d.lerp(h, u), v);
            // Over a bump that no corner stands on.
            let ground = on_ground(scenery.terrain, point.truncate(), 0.05);
            point.with_z(ground.map_or(point.z, |ground| ground.z.max(point.z)))
        };
        for i in 0..along as usize {
            for j in 0..across as usize {
                let corners = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
                look.solid.face(&corners, top);
            }
        }
    }
    look
}
