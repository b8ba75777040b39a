//! Buildings and walls.

use bevy::math::{Vec2, Vec3};
use tumblewood::{
    scene::{Place, Window},
    site::Body,
};

use super::{Look, Scenery, hulls};
use crate::drape::{flat, on_ground};

/// Faces that look up at least this much are roof.
const ROOF_UP: f32 = 0.2;
/// How far windows stand off the wall, m.
const OFF_WALL_M: f32 = 0.02;
/// Width of a window's frame, m.
const FRAME_M: f32 = 0.08;

/// Walls, a roof, and windows on their walls.
pub(super) fn building(
    scenery: &Scenery<'_>,
    body: &Body,
    corners: &[Place],
    windows: &[Window],
) -> Look {
    let palette = scenery.palette;
    let (wall, roof) = (palette.target_wall.linear(), palette.target_roof.linear());
    let edge = palette.target.linear();
    let plan: Vec<Vec2> = corners.iter().map(|place| flat(scenery.world.place_m(place))).collect();
    // One that isn't convex is made of parts, whose own edges nobody wants to see.
    let convex = is_convex(&plan);
    let mut look = Look::default();
    for points in hulls(body) {
        let colour = |normal: Vec3| if normal.z > ROOF_UP { roof } else { wall };
        look.solid.hull(&points, colour, convex.then_some(edge));
    }
    if let Some((low, high)) = look.solid.extent_m().filter(|_| !convex) {
        let eaves: Vec<Vec3> = plan.iter().map(|p| p.extend(high.z)).collect();
        look.solid.outline(&eaves, edge);
        for corner in eaves {
            look.solid.polyline(&[corner.with_z(low.z), corner], edge);
        }
    }
    for window in windows {
        add_window(&mut look, scenery, &plan, window);
    }
    look
}

fn is_convex(plan: &[Vec2]) -> bool {
    let next = |k: usize| plan.iter().cycle().skip(k);
    let turns =
        || plan.iter().zip(next(1)).zip(next(2)).map(|((a, b), c)| (*b - *a).perp_dot(*c - *b));
    turns().all(|turn| turn >= -1e-6) || turns().all(|turn| turn <= 1e-6)
}

/// A wall that stands to stop pieces: what it is for is said by its edges' colour.
pub(super) fn wall(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let mut look = Look::default();
    for points in hulls(body) {
        let wall = palette.aid_wall.linear();
        look.solid.hull(&points, |_| wall, Some(palette.aid.linear()));
    }
    look
}

fn add_window(look: &mut Look, scenery: &Scenery<'_>, plan: &[Vec2], window: &Window) {
    let (Some(&from), Some(&to)) =
        (plan.get(window.wall), plan.get((window.wall + 1) % plan.len().max(1)))
    else {
        return;
    };
    let Some(along) = (to - from).try_normalize() else { return };
    // Anticlockwise corners have the outside on the right.
    let area: f32 = plan.iter().zip(plan.iter().cycle().skip(1)).map(|(a, b)| a.perp_dot(*b)).sum();
    let out = if area >= 0.0 { -along.perp() } else { along.perp() };
    let (start, width) = (window.along_m as f32, window.width_m as f32);
    // The wall's foot on a slope: the ground under the middle of the window.
    let middle = from + along * (start + 0.5 * width);
    let Some(foot) = on_ground(scenery.terrain, middle, window.sill_m as f32) else { return };
    let palette = scenery.palette;
    let mut pane = |grow_m: f32, off_m: f32, colour| {
        let corner =
            |along_m: f32, up_m: f32| (from + along * along_m + out * off_m).extend(foot.z + up_m);
        let (left, right) = (start - grow_m, start + width + grow_m);
        let (low, high) = (-grow_m, window.height_m as f32 + grow_m);
        let mut corners =
            [corner(left, low), corner(right, low), corner(right, high), corner(left, high)];
        if area < 0.0 {
            corners.reverse();
        }
        look.dressing.face(&corners, colour);
    };
    pane(FRAME_M, OFF_WALL_M, palette.pale.linear());
    pane(0.0, 2.0 * OFF_WALL_M, palette.window.linear());
}
