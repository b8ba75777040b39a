//! What the views look at: the bank with all that stands on it, its fall line, the climber's eye.

use bevy::math::Vec3;
use glam::{DVec2, DVec3};
use tumblewood::site::{Answer, BodyKind, Shape, Site};

use crate::{camera::Sight, desk::Desk, shape::single};

/// Round everything that stands, m.
const MARGIN_M: f64 = 12.0;
/// How far the climber leans out, toward the face and to the right of it, m.
const LEAN_M: [f64; 2] = [0.5, 0.8];
/// The climber's eye over the top of the capsule's axis, m.
const EYE_UP_M: f64 = 0.1;

/// What the desk's hillside gives to look at.
pub(crate) fn sight(desk: &Desk) -> Option<Sight> {
    let shown = desk.shown.as_ref()?;
    let site = shown.ready.as_ref().map_or(&shown.world.site, |ready| &ready.site);
    let mut lines: Vec<DVec2> =
        shown.lines().flat_map(|(_, line)| line.points_m).map(|at| at.truncate()).collect();
    let tied = shown.ready.iter().flat_map(|ready| &ready.tied);
    lines.extend(tied.map(|tied| tied.tether.to_m.truncate()));
    lines.extend(desk.lesson.iter().flat_map(|lesson| &lesson.ends_m));
    let (low_m, high_m) = stage(site, &lines)?;
    let toward_rad = desk
        .job
        .as_ref()
        .and_then(|job| Some(job.scene.cuts.get(desk.cut)?.release.toward_rad().told));
    let turn_rad = desk.job.as_ref().map_or(0.0, |job| job.frame().turn_rad);
    let climber = site
        .bodies
        .iter()
        .find(|body| matches!(body.kind, BodyKind::Climber | BodyKind::Feller))
        .and_then(|body| body.shapes.iter().find_map(top))
        .zip(toward_rad)
        .map(|(eye_m, toward)| {
            let azimuth_rad = toward + turn_rad;
            let (sin, cos) = azimuth_rad.sin_cos();
            // Who is tied to the far side of a stem leans out to see past it.
            let lean_m =
                DVec3::new(sin, cos, 0.0) * LEAN_M[0] + DVec3::new(cos, -sin, 0.0) * LEAN_M[1];
            (single(eye_m + lean_m), azimuth_rad as f32)
        });
    Some(Sight { low_m, high_m, fall_rad: fall_rad(site, toward_rad) as f32, climber })
}

fn top(shape: &Shape) -> Option<DVec3> {
    match shape {
        Shape::Capsule { from_m, to_m, .. } => {
            Some(if from_m.z > to_m.z { *from_m } else { *to_m } + DVec3::Z * EYE_UP_M)
        }
        Shape::Cuboid { .. } | Shape::Hull { .. } => None,
    }
}

/// Where the ground at the stump falls, clockwise from north, rad; where it is level, the face.
fn fall_rad(site: &Site, toward_rad: Option<f64>) -> f64 {
    let slope = site.terrain.surface(site.stump_m.x, site.stump_m.y).map(|s| s.gradient);
    match slope {
        Some(slope) if slope.length() > 0.05 => (-slope.x).atan2(-slope.y),
        _ => toward_rad.unwrap_or(0.0),
    }
}

/// The corners of the part of the terrain where something stands, or a line goes.
fn stage(site: &Site, lines_m: &[DVec2]) -> Option<(Vec3, Vec3)> {
    let mut places: Vec<DVec2> = vec![site.stump_m.truncate()];
    places.extend(lines_m);
    for body in &site.bodies {
        for shape in &body.shapes {
            match shape {
                Shape::Cuboid { centre_m, half_m, .. } => {
                    let reach = DVec2::splat(half_m.length());
                    places.extend([centre_m.truncate() - reach, centre_m.truncate() + reach]);
                }
                Shape::Capsule { from_m, to_m, .. } => {
                    places.extend([from_m.truncate(), to_m.truncate()]);
                }
                Shape::Hull { points_m } => places.extend(points_m.iter().map(|p| p.truncate())),
            }
        }
        if let Answer::Free { motion, .. } = &body.answer {
            places.push(motion.centre_m.truncate());
        }
    }
    let grid = &site.terrain.grid;
    let far = grid.origin_m + grid.cell_m * DVec2::new(grid.nx as f64 - 1.0, grid.ny as f64 - 1.0);
    let low = places.iter().copied().fold(DVec2::INFINITY, DVec2::min) - MARGIN_M;
    let high = places.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max) + MARGIN_M;
    let (low, high) = (low.max(grid.origin_m), high.min(far));
    let (mut floor, mut roof) = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..=20 {
        for j in 0..=20 {
            let share = DVec2::new(f64::from(i), f64::from(j)) / 20.0;
            let at = low + (high - low) * share;
            if let Some(surface) = site.terrain.surface(at.x, at.y) {
                floor = floor.min(surface.height_m);
                roof = roof.max(surface.height_m);
            }
        }
    }
    (floor <= roof).then(|| (single(low.extend(floor)), single(high.extend(roof))))
}
