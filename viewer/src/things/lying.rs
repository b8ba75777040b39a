//! Vehicles, wires and lines, logs and brush.

use bevy::math::{Quat, Vec2, Vec3, vec2, vec3};
use tumblewood::{
    keyed::Key,
    scene::Held,
    site::{Body, Shape},
};

use super::{Look, Scenery, THIN_SIDES, capsules, free_look, round_log};
use crate::{
    drape::{extent, inside, normal, on_ground},
    shape::{Drawn, End, ROUND_SIDES, single},
};

/// A wire is drawn this thick at least, or it is seen from nowhere, m (radius).
const WIRE_SHOWN_M: f32 = 0.025;
/// Radius of a pole, m.
const POLE_RADIUS_M: f32 = 0.12;
/// Distance between stakes along a log, m.
const STAKE_EVERY_M: f32 = 1.5;
/// Sticks on a square metre of a mat, and on a whole mat at most.
const STICKS_A_M2: f32 = 9.0;
const MOST_STICKS: f32 = 1_500.0;

/// A vehicle: body, cab and wheels within its box, nose along the box's x.
pub(super) fn vehicle(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let mut look = Look::default();
    for shape in &body.shapes {
        let Shape::Cuboid { centre_m, attitude, half_m } = shape else { continue };
        let (centre, half) = (single(*centre_m), single(*half_m));
        let turn = Quat::from_xyzw(
            attitude.x as f32,
            attitude.y as f32,
            attitude.z as f32,
            attitude.w as f32,
        );
        let axes = [Vec3::X, Vec3::Y, Vec3::Z].map(|axis| turn * axis);
        let place = |share: Vec3| centre + turn * (share * half);
        let mut part = |low: Vec3, high: Vec3, colour| {
            let middle = 0.5 * (low + high);
            look.solid.cuboid(place(middle), axes, 0.5 * (high - low) * half, colour);
        };
        let paint = palette.target_wall.linear();
        // Within the wheels, which are as far apart as the box is wide.
        part(vec3(-1.0, -0.94, -0.6), vec3(1.0, 0.94, 0.05), paint);
        part(vec3(-0.75, -0.84, 0.05), vec3(0.4, 0.84, 0.85), palette.window.linear());
        part(vec3(-0.78, -0.87, 0.85), vec3(0.38, 0.87, 1.0), paint);
        // Lamps say which end is the nose.
        for side in [-0.7, 0.7] {
            part(
                vec3(0.99, side - 0.2, -0.35),
                vec3(1.005, side + 0.2, -0.1),
                palette.pale.linear(),
            );
        }
        let radius = 0.35 * half.z;
        let tyre = palette.window.linear();
        let rim = End::Face { wood: palette.pale.linear(), ring: tyre };
        for (x, side) in [(-0.62, -1.0), (-0.62, 1.0), (0.62, -1.0), (0.62, 1.0)] {
            let hub = place(vec3(x, side, -1.0)) + axes[2] * radius;
            let ends = [hub, hub - axes[1] * (side * 0.12 * half.y)];
            look.solid.tube(&ends, &[radius; 2], ROUND_SIDES, [rim; 2], tyre);
        }
    }
    look
}

/// An overhead wire with a pole at either end.
pub(super) fn wire(scenery: &Scenery<'_>, body: &Body) -> Look {
    let mut look = rope(scenery, body);
    let mut spans = capsules(body);
    let (first, last) = (spans.next(), spans.last());
    let ends = [first.map(|(from, ..)| from), last.or(first).map(|(_, to, _)| to)];
    let wood = scenery.palette.bark.linear();
    for top in ends.into_iter().flatten() {
        let Some(foot) = on_ground(scenery.terrain, top.truncate(), 0.0) else { continue };
        if top.z - foot.z < 0.5 {
            continue;
        }
        // Beside the wire's end, which stays where it is.
        let points = [foot - Vec3::Z * 0.3, top + Vec3::Z * 0.3];
        let end = End::Face { wood: scenery.palette.wood.linear(), ring: wood };
        look.dressing.tube(&points, &[POLE_RADIUS_M, 0.8 * POLE_RADIUS_M], 10, [end; 2], wood);
        let arm = [top - Vec3::X * 0.5, top + Vec3::X * 0.5];
        look.dressing.tube(&arm, &[0.05; 2], THIN_SIDES, [end; 2], wood);
    }
    look
}

/// A wire or a line alone: a thin tube, and a line so that it is never thinner than a pixel.
pub(super) fn rope(scenery: &Scenery<'_>, body: &Body) -> Look {
    let colour = scenery.palette.wire.linear();
    let mut look = Look::default();
    for (from, to, radius) in capsules(body) {
        let radii = [radius.max(WIRE_SHOWN_M); 2];
        look.solid.tube(&[from, to], &radii, THIN_SIDES, [End::Round; 2], colour);
        look.solid.polyline(&[from, to], colour);
    }
    look
}

/// A log across the bank, with bands that say that it is there to stop pieces, and its stakes.
pub(super) fn barrier_log(scenery: &Scenery<'_>, body: &Body, held: Held) -> Look {
    let palette = scenery.palette;
    let mut look = log(scenery, body);
    for (from, to, radius) in capsules(body) {
        let along = (to - from).normalize_or(Vec3::X);
        for at in [0.15, 0.85] {
            let middle = from.lerp(to, at);
            let points = [middle - along * 0.12, middle + along * 0.12];
            let radii = [radius + 0.01; 2];
            let band = palette.aid.linear();
            look.dressing.tube(&points, &radii, ROUND_SIDES, [End::Open; 2], band);
        }
        if held == Held::Staked {
            stakes(&mut look.dressing, scenery, (from, to, radius));
        }
    }
    look
}

/// A log alone.
pub(super) fn log(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let mut look = Look::default();
    if let Some(free) = free_look(scenery, body) {
        look.solid.append(&free);
    }
    for capsule in capsules(body) {
        round_log(&mut look.solid, capsule, palette.bark.linear());
    }
    look
}

/// Stakes on the lower side, one near each end and more between on a long log.
fn stakes(drawn: &mut Drawn, scenery: &Scenery<'_>, (from, to, radius): (Vec3, Vec3, f32)) {
    let along = (to - from).normalize_or(Vec3::X);
    let count = ((to - from).length() / STAKE_EVERY_M).ceil().clamp(1.0, 40.0);
    let wood = scenery.palette.wood.linear();
    for k in 0..=count as usize {
        let middle = from.lerp(to, 0.06 + 0.88 * k as f32 / count);
        let up = normal(scenery.terrain, middle.truncate());
        // Downhill, square to the log.
        let down = up.truncate().extend(0.0);
        let down = (down - along * down.dot(along)).normalize_or(up.cross(along));
        let at = middle + down * (radius + 0.05);
        let Some(foot) = on_ground(scenery.terrain, at.truncate(), 0.0) else { continue };
        let top = at.z.max(foot.z) + 1.3 * radius + 0.1;
        let points = [foot - Vec3::Z * 0.3, foot.truncate().extend(top)];
        let face = End::Face { wood, ring: scenery.palette.ring.linear() };
        drawn.tube(&points, &[0.04, 0.05], THIN_SIDES, [End::Open, face], wood);
    }
}

/// Brush within an outline: a heap of sticks up to its thickness, always the same ones for an id.
pub(super) fn brush(
    scenery: &Scenery<'_>,
    id: &str,
    outline_m: &[Vec2],
    thickness_m: f32,
) -> Drawn {
    let palette = scenery.palette;
    let mut drawn = Drawn::default();
    let (low, high) = extent(outline_m);
    let size = high - low;
    if !size.is_finite() {
        return drawn;
    }
    let count = (size.x * size.y * STICKS_A_M2).min(MOST_STICKS) as u64;
    let key = Key::root(0).word("brush").word(id);
    let colours = [palette.bark.linear(), palette.ring.linear(), palette.leaf.linear()];
    for k in 0..count {
        let draw = |word: &str| key.number(k).word(word).uniform() as f32;
        let middle = low + size * vec2(draw("x"), draw("y"));
        let half =
            Vec2::from_angle(std::f32::consts::TAU * draw("turn")) * (0.2 + 0.5 * draw("long"));
        let ends = [middle - half, middle + half];
        if !ends.iter().chain([&middle]).all(|at| inside(outline_m, *at)) {
            continue;
        }
        let lift = |share: f32| 0.03 + thickness_m * share;
        let (Some(from), Some(to)) = (
            on_ground(scenery.terrain, ends[0], lift(draw("from"))),
            on_ground(scenery.terrain, ends[1], lift(draw("to"))),
        ) else {
            continue;
        };
        let radius = 0.012 + 0.02 * draw("thick");
        let [one, two, three] = colours;
        let colour = match (draw("colour") * 3.0) as u32 {
            0 => one,
            1 => two,
            _ => three,
        };
        drawn.tube(&[from, to], &[radius, 0.6 * radius], 3, [End::Open; 2], colour);
    }
    drawn
}
