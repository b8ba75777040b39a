//! Outlines of solids as seen from one side: hulls of their projected points.

use glam::{DVec2, DVec3};

pub(crate) use crate::scene::outline::{distance, hull};
use crate::{
    motion::Motion,
    site::{Answer, Body, Shape},
    tree::{Piece, Round},
};

/// Corners that stand for a circle.
const CIRCLE: usize = 24;

/// Outline of one solid under a projection that keeps lengths in its plane, m.
pub(crate) fn shape_outline(shape: &Shape, project: &dyn Fn(DVec3) -> DVec2) -> Vec<DVec2> {
    let points = match shape {
        Shape::Cuboid { centre_m, attitude, half_m } => (0..8)
            .map(|corner| {
                let sign = |bit: usize| if corner >> bit & 1 == 1 { 1.0 } else { -1.0 };
                let arm = *half_m * DVec3::new(sign(0), sign(1), sign(2));
                project(*centre_m + *attitude * arm)
            })
            .collect(),
        Shape::Capsule { from_m, to_m, radius_m } => [*from_m, *to_m]
            .into_iter()
            .flat_map(|end| {
                let middle = project(end);
                circle().map(move |(c, s)| middle + DVec2::new(c, s) * *radius_m)
            })
            .collect(),
        Shape::Hull { points_m } => points_m.iter().map(|&p| project(p)).collect(),
    };
    hull(points)
}

/// Outlines of everything a body is made of as seen from above, x east, y north, m.
#[must_use]
pub fn footprint(body: &Body) -> Vec<Vec<DVec2>> {
    body_outlines(body, &|p| p.truncate())
}

/// Outlines of everything a body is made of, m.
pub(crate) fn body_outlines(body: &Body, project: &dyn Fn(DVec3) -> DVec2) -> Vec<Vec<DVec2>> {
    if let Answer::Free { piece, motion } = &body.answer {
        return piece_outlines(piece, motion, project);
    }
    body.shapes.iter().map(|shape| shape_outline(shape, project)).collect()
}

/// Outlines of a piece's rounds, m.
pub(crate) fn piece_outlines(
    piece: &Piece,
    motion: &Motion,
    project: &dyn Fn(DVec3) -> DVec2,
) -> Vec<Vec<DVec2>> {
    piece
        .rounds
        .iter()
        .map(|round| {
            let mut points = disc(round, motion, false, project);
            points.extend(disc(round, motion, true, project));
            hull(points)
        })
        .collect()
}

/// Outlines of a piece's brush, m: the limb wood that bends, and each spray as a circle.
pub(crate) fn brush_outlines(
    piece: &Piece,
    motion: &Motion,
    project: &dyn Fn(DVec3) -> DVec2,
) -> (Vec<Vec<DVec2>>, Vec<Vec<DVec2>>) {
    let rod = |round: &Round| {
        let mut points = disc(round, motion, false, project);
        points.extend(disc(round, motion, true, project));
        hull(points)
    };
    let ball = |spray: &crate::tree::Spray| {
        let middle = project(motion.point_m(spray.at_m));
        circle().map(|(c, s)| middle + DVec2::new(c, s) * spray.radius_m).collect()
    };
    let twigs = piece.brush.sprays.iter().filter(|s| s.mass_kg > 0.0);
    (piece.brush.rods.iter().map(rod).collect(), twigs.map(ball).collect())
}

/// The rim of one end of a round as a closed outline, m; `top` picks the end nearer the top.
pub(crate) fn disc(
    round: &Round,
    motion: &Motion,
    top: bool,
    project: &dyn Fn(DVec3) -> DVec2,
) -> Vec<DVec2> {
    let along = (round.to_m - round.from_m).normalize_or(DVec3::Z);
    let across = along.any_orthonormal_vector();
    let other = along.cross(across);
    let (centre, radius) =
        if top { (round.to_m, round.to_radius_m) } else { (round.from_m, round.from_radius_m) };
    circle()
        .map(|(c, s)| project(motion.point_m(centre + (across * c + other * s) * radius)))
        .collect()
}

fn circle() -> impl Iterator<Item = (f64, f64)> {
    (0..CIRCLE).map(|i| {
        let angle = std::f64::consts::TAU * i as f64 / CIRCLE as f64;
        (libm::cos(angle), libm::sin(angle))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_capsule_seen_from_above_has_its_area() {
        let shape = Shape::Capsule {
            from_m: DVec3::new(0.0, 0.0, 3.0),
            to_m: DVec3::new(4.0, 3.0, 1.0),
            radius_m: 0.5,
        };
        let outline = shape_outline(&shape, &|p| p.truncate());
        let area: f64 = (0..outline.len())
            .map(|i| outline[i].perp_dot(outline[(i + 1) % outline.len()]) / 2.0)
            .sum();
        // A 24-gon is 1.1 % smaller than its circle.
        let exact = 5.0 + std::f64::consts::PI * 0.25;
        assert!((area / exact - 1.0).abs() < 0.01, "{area} {exact}");
    }
}
