//! Pull lines: the rope from the stem over its redirects to what it is made fast to.
//!
//! Where each point is comes from [`tumblewood::job::LineReady`]; blocks and far ends are drawn larger
//! than they are, or they are seen from nowhere. None of it is in a drop's way.

use bevy::math::{Vec3, vec3};
use tumblewood::{
    job::{CutReady, LineReady},
    scene::{
        edit::Thing,
        model::{Anchor, Over, PullLine},
    },
};

use super::{Look, Scenery, THIN_SIDES};
use crate::{
    drape::on_ground,
    shape::{Colour, Drawn, End, ROUND_SIDES, circle, single},
};

/// Radius of a rope as it is drawn, m.
const ROPE_M: f32 = 0.05;
/// Radius and half width of a block, m: it stands out of the trunk that it hangs on.
const BLOCK_M: [f32; 2] = [0.38, 0.09];
/// Radius of the ring where a leg goes into the ground, m.
const TOUCH_M: f32 = 0.6;

/// The lines of a cut, each with its redirects and its far end.
pub(super) fn looks(scenery: &Scenery<'_>, ready: &CutReady) -> Vec<(Thing, Look)> {
    let mut looks = Vec::new();
    for (_, line) in scenery.world.lines_of(&ready.id) {
        let Ok(at) = scenery.world.line(ready, line) else { continue };
        let points: Vec<Vec3> = at.points().into_iter().map(single).collect();
        looks.push((Thing::Line(line.id.clone()), rope(scenery, &at, &points)));
        for (redirect, legs) in line.redirects.iter().zip(points.windows(3)) {
            let look = turn(scenery, redirect.over, [legs[0], legs[1], legs[2]]);
            looks.push((Thing::Redirect(redirect.id.clone()), look));
        }
        if let [.., before, end] = points[..] {
            looks.push((Thing::Anchor(line.id.clone()), far_end(scenery, line, before, end)));
        }
    }
    looks
}

fn rope(scenery: &Scenery<'_>, at: &LineReady, points: &[Vec3]) -> Look {
    let palette = scenery.palette;
    let colour = palette.wire.linear();
    let mut look = Look::default();
    let drawn = &mut look.dressing;
    for leg in points.windows(2) {
        drawn.tube(leg, &[ROPE_M; 2], THIN_SIDES, [End::Round; 2], colour);
        drawn.polyline(leg, colour);
    }
    if let Some(&knot) = points.first() {
        // Round the stem.
        ball(drawn, knot, 4.0 * ROPE_M, colour);
    }
    if let Some(touch) = at.touches_ground_at_m.map(single) {
        let alarm = palette.alarm.linear();
        let place = on_ground(scenery.terrain, touch.truncate(), 0.15).unwrap_or(touch);
        drawn.tube(&ring(place), &[0.07; 25], THIN_SIDES, [End::Open; 2], alarm);
        for arm in [vec3(TOUCH_M, TOUCH_M, 0.0), vec3(TOUCH_M, -TOUCH_M, 0.0)] {
            let arm = 0.7 * arm;
            drawn.tube(&[place - arm, place + arm], &[0.07; 2], THIN_SIDES, [End::Round; 2], alarm);
        }
    }
    look
}

fn ring(middle: Vec3) -> Vec<Vec3> {
    let corners = circle(middle, Vec3::Z, TOUCH_M, 24);
    corners.iter().chain(corners.first()).copied().collect()
}

/// A block with its sheave in the plane of the rope, or the ring that bark or wood is marked by; a
/// strap says to which side it is held.
fn turn(scenery: &Scenery<'_>, over: Over, [before, at, after]: [Vec3; 3]) -> Look {
    let palette = scenery.palette;
    let mut look = Look::default();
    let drawn = &mut look.dressing;
    let (back, on) = ((before - at).normalize_or(Vec3::X), (after - at).normalize_or(Vec3::Y));
    let axle = back.cross(on).normalize_or(back.any_orthonormal_vector());
    // The rope pulls it this way, what holds it the other.
    let held = -(back + on).normalize_or(Vec3::Z);
    let [radius, half] = BLOCK_M;
    match over {
        Over::Block => {
            let cheek = End::Face { wood: palette.chosen.linear(), ring: palette.ink.linear() };
            let ends = [at - axle * half, at + axle * half];
            drawn.tube(&ends, &[radius; 2], ROUND_SIDES, [cheek; 2], palette.ink.linear());
        }
        Over::Wood => {
            let bark = palette.bark.linear();
            let end = End::Face { wood: palette.wood.linear(), ring: palette.ring.linear() };
            let ends = [at - axle * 3.0 * half, at + axle * 3.0 * half];
            drawn.tube(&ends, &[0.7 * radius; 2], ROUND_SIDES, [end; 2], bark);
        }
    }
    let strap = [at + held * radius, at + held * 2.0 * radius];
    drawn.tube(&strap, &[0.04; 2], THIN_SIDES, [End::Round; 2], palette.aid.linear());
    upright(drawn, scenery, at);
    look
}

/// A thin line down to the ground, so that it can be seen over which place something is.
fn upright(drawn: &mut Drawn, scenery: &Scenery<'_>, at: Vec3) {
    if let Some(foot) = on_ground(scenery.terrain, at.truncate(), 0.0) {
        drawn.polyline(&[at, foot], scenery.palette.ink.linear());
    }
}

/// What the far end is made fast to.
fn far_end(scenery: &Scenery<'_>, line: &PullLine, before: Vec3, at: Vec3) -> Look {
    let palette = scenery.palette;
    let mut look = Look::default();
    let drawn = &mut look.dressing;
    let along = (at - before).truncate().normalize_or(bevy::math::Vec2::Y).extend(0.0);
    let across = Vec3::Z.cross(along);
    let foot = on_ground(scenery.terrain, at.truncate(), 0.0).unwrap_or(at - Vec3::Z * 0.5);
    match line.anchor {
        Anchor::Vehicle { .. } => {
            // A drawbar and an axle behind it: the vehicle itself may stand in the scene as well.
            let paint = palette.target_wall.linear();
            let axes = [along, across, Vec3::Z];
            drawn.cuboid(at + along * 0.35, axes, vec3(0.35, 0.08, 0.06), paint);
            drawn.cuboid(at + along * 0.7, axes, vec3(0.1, 0.85, 0.1), paint);
            let tyre = palette.window.linear();
            let rim = End::Face { wood: palette.pale.linear(), ring: tyre };
            let radius = (at.z - foot.z).clamp(0.25, 0.45);
            for side in [-1.0, 1.0] {
                let hub = at + along * 0.7 + across * (side * 0.85);
                let hub = hub.with_z(foot.z + radius);
                let ends = [hub, hub + across * (side * 0.22)];
                drawn.tube(&ends, &[radius; 2], ROUND_SIDES, [rim; 2], tyre);
            }
        }
        Anchor::Tree { .. } => {
            let bark = palette.bark.linear();
            let end = End::Face { wood: palette.wood.linear(), ring: palette.ring.linear() };
            let middle = (at + along * 0.2).truncate();
            let points = [middle.extend(foot.z - 0.3), middle.extend(at.z + 1.5)];
            drawn.tube(&points, &[0.22, 0.2], ROUND_SIDES, [End::Open, end], bark);
            band(drawn, middle.extend(at.z), 0.24, palette.aid.linear());
        }
        Anchor::Stump { .. } => {
            let bark = palette.bark.linear();
            let end = End::Face { wood: palette.wood.linear(), ring: palette.ring.linear() };
            let middle = (at + along * 0.25).truncate();
            let points = [middle.extend(foot.z - 0.3), middle.extend(at.z.max(foot.z) + 0.15)];
            drawn.tube(&points, &[0.32, 0.27], ROUND_SIDES, [End::Open, end], bark);
            band(drawn, middle.extend(at.z), 0.31, palette.aid.linear());
        }
    }
    ball(drawn, at, 0.12, palette.chosen.linear());
    upright(drawn, scenery, at);
    look
}

fn band(drawn: &mut Drawn, at: Vec3, radius: f32, colour: Colour) {
    let ends = [at - Vec3::Z * 0.05, at + Vec3::Z * 0.05];
    drawn.tube(&ends, &[radius; 2], ROUND_SIDES, [End::Open; 2], colour);
}

fn ball(drawn: &mut Drawn, at: Vec3, radius: f32, colour: Colour) {
    drawn.tube(&[at, at + Vec3::Z * 0.001], &[radius; 2], 10, [End::Round; 2], colour);
}
