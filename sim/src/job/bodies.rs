//! Everything that stands or lies on a site, as solids.
//!
//! Sizes that the scene doesn't give are ours and named here. Footprints that are not convex are
//! cut into triangles, so that nothing stands where the building doesn't.

use glam::{DQuat, DVec2, DVec3};

use crate::{
    motion::Motion,
    scene::{
        model::{AidKind, Cutter, Held, Limbs, Place, Scene, Target, TargetKind},
        outline::area_m2,
        places::{MapFrame, heading},
    },
    site::{Answer, Body, BodyKind, Holding, Shape},
    terrain::Terrain,
    tree::{Piece, Stem, stem::Station},
};

use super::{JobError, TargetInfo, holding::Lies, terrain::Footing};

/// A person is a capsule this wide and tall, m.
pub(super) const PERSON_M: [f64; 2] = [0.5, 1.8];
/// Paths are this thick, m: what comes nearer to the ground than that has entered.
const PATH_THICK_M: f64 = 0.05;
/// Longest straight part of a path, wall or wire, m.
const STRETCH_M: f64 = 2.0;
/// Radius of a wire, m.
const WIRE_RADIUS_M: f64 = 0.01;
/// How deep a log that lies in a dent sits, as a share of its diameter.
const DENT_SHARE: f64 = 0.25;
/// Depth to which walls of a structure or a wall go into the ground, m.
const FOOT_M: f64 = 0.5;

type Placer<'a> = &'a dyn Fn(&Place) -> DVec2;
type Holder<'a> = &'a mut dyn FnMut(&str, Held, &Lies, DVec2) -> Option<Holding>;

struct Ground<'a> {
    footing: &'a Footing<'a>,
    terrain: &'a Terrain,
    place: Placer<'a>,
}

impl Ground<'_> {
    fn on(&self, what: &str, at: DVec2) -> Result<DVec3, JobError> {
        self.footing.on(what, at)
    }

    fn at(&self, what: &str, place: &Place) -> Result<DVec3, JobError> {
        self.on(what, (self.place)(place))
    }

    /// A line over the ground with points no further apart than [`STRETCH_M`].
    fn along(&self, what: &str, line: &[Place]) -> Result<Vec<DVec3>, JobError> {
        let corners: Vec<DVec2> = line.iter().map(self.place).collect();
        let mut points = Vec::new();
        for pair in corners.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            let parts = (a.distance(b) / STRETCH_M).ceil().max(1.0) as usize;
            for i in 0..parts {
                points.push(self.on(what, a.lerp(b, i as f64 / parts as f64))?);
            }
        }
        if let Some(last) = corners.last() {
            points.push(self.on(what, *last)?);
        }
        Ok(points)
    }
}

/// All bodies of a scene but spar, climber and line; and all its targets in report order.
///
/// `hold` says what holds a log of this id, held so, that lies so at a place on the map.
pub(super) fn bodies(
    scene: &Scene,
    footing: &Footing<'_>,
    stem: &Stem,
    place: Placer<'_>,
    frame: MapFrame,
    hold: Holder<'_>,
) -> Result<(Vec<Body>, Vec<TargetInfo>), JobError> {
    let ground = Ground { footing, terrain: footing.terrain, place };
    let mut bodies = Vec::new();
    for target in &scene.targets {
        bodies.push(target_body(&ground, target, frame)?);
    }
    let mut targets: Vec<TargetInfo> =
        bodies.iter().map(|b| TargetInfo { id: b.id.clone(), kind: b.kind }).collect();
    let named = |id: &str, kind| TargetInfo { id: id.to_owned(), kind };
    if scene.cuts.iter().any(|c| c.cutter == Cutter::OnTheSpar) {
        targets.push(named("climber", BodyKind::Climber));
        targets.push(named("climber_line", BodyKind::ClimberLine));
    }
    if scene.cuts.iter().any(|c| c.cutter == Cutter::OnTheGround) {
        targets.push(named("feller", BodyKind::Feller));
    }
    for aid in &scene.aids {
        bodies.extend(aid_body(&ground, &aid.id, &aid.kind, stem, hold)?);
    }
    Ok((bodies, targets))
}

fn body(id: &str, kind: BodyKind, is_target: bool, answer: Answer, shapes: Vec<Shape>) -> Body {
    Body { id: id.to_owned(), kind, is_target, answer, shapes }
}

fn target_body(ground: &Ground<'_>, target: &Target, frame: MapFrame) -> Result<Body, JobError> {
    let id = target.id.as_str();
    Ok(match &target.kind {
        TargetKind::Structure { corners, wall_m, roof_m, .. } => {
            let shapes = building(ground, id, corners, wall_m.told, roof_m.told)?;
            body(id, BodyKind::Structure, true, Answer::Fixed, shapes)
        }
        TargetKind::KeepTree { at, diameter_m, height_m, limbs } => {
            let foot = ground.at(id, at)?;
            let shapes = keep_tree(foot, diameter_m.told, height_m.told, limbs.as_ref());
            body(id, BodyKind::KeepTree, true, Answer::Fixed, shapes)
        }
        TargetKind::Person { at } => {
            let shapes = vec![person(ground.at(id, at)?)];
            body(id, BodyKind::Person, true, Answer::Noted, shapes)
        }
        TargetKind::Vehicle { at, heading_rad, length_m, width_m, height_m } => {
            let foot = ground.at(id, at)?;
            let nose = heading(heading_rad.told, &frame);
            let gradient =
                ground.terrain.mean_gradient(foot.truncate(), length_m.told).unwrap_or(DVec2::ZERO);
            let up = DVec3::new(-gradient.x, -gradient.y, 1.0).normalize();
            let along = (nose.extend(gradient.dot(nose))).normalize();
            let across = up.cross(along);
            let attitude = DQuat::from_mat3(&glam::DMat3::from_cols(along, across, up)).normalize();
            let half_m = 0.5 * DVec3::new(length_m.told, width_m.told, height_m.told);
            let shape = Shape::Cuboid { centre_m: foot + up * half_m.z, attitude, half_m };
            body(id, BodyKind::Vehicle, true, Answer::Fixed, vec![shape])
        }
        TargetKind::Path { line, width_m } => {
            let points = ground.along(id, line)?;
            let shapes = ribbon(ground, &points, width_m.told, 0.0, PATH_THICK_M);
            body(id, BodyKind::Path, true, Answer::Noted, shapes)
        }
        TargetKind::Wire { from, to, sag_m } => {
            let a = ground.at(id, &from.at)? + DVec3::Z * from.height_m.told;
            let b = ground.at(id, &to.at)? + DVec3::Z * to.height_m.told;
            // A parabola with the given sag at mid span.
            let parts = (a.distance(b) / STRETCH_M).ceil().max(2.0) as usize;
            let at = |i: usize| {
                let u = i as f64 / parts as f64;
                a.lerp(b, u) - DVec3::Z * (4.0 * sag_m.told * u * (1.0 - u))
            };
            let shapes = (0..parts)
                .map(|i| Shape::Capsule { from_m: at(i), to_m: at(i + 1), radius_m: WIRE_RADIUS_M })
                .collect();
            body(id, BodyKind::Wire, true, Answer::Noted, shapes)
        }
    })
}

fn aid_body(
    ground: &Ground<'_>,
    id: &str,
    aid: &AidKind,
    stem: &Stem,
    hold: Holder<'_>,
) -> Result<Option<Body>, JobError> {
    Ok(Some(match aid {
        AidKind::BrushMat { .. } => return Ok(None),
        AidKind::BarrierLog { from, to, diameter_m, held } => {
            let radius_m = 0.5 * diameter_m.told;
            let sunk = if *held == Held::InDent { DENT_SHARE * diameter_m.told } else { 0.0 };
            let (a, b) = (ground.at(id, from)?, ground.at(id, to)?);
            let up = off_the_ground(ground.terrain, [a, b], radius_m, sunk);
            let (piece, motion) = log(a + up, b + up, radius_m, stem)?;
            let across = (b - a).truncate().normalize_or_zero().perp();
            let middle = 0.5 * (a + b).truncate();
            let gradient = ground.terrain.mean_gradient(middle, 1.0).unwrap_or(DVec2::ZERO);
            let lies = Lies {
                mass_kg: piece.mass_kg,
                radius_m,
                sunk_m: sunk,
                slope_rad: libm::atan(gradient.dot(across).abs()),
            };
            let piece = Box::new(piece);
            let (answer, shapes) = match hold(id, *held, &lies, middle) {
                None => (Answer::Free { piece, motion }, Vec::new()),
                Some(hold) => {
                    let shape = Shape::Capsule { from_m: a + up, to_m: b + up, radius_m };
                    (Answer::Held { piece, motion, hold }, vec![shape])
                }
            };
            body(id, BodyKind::BarrierLog, false, answer, shapes)
        }
        AidKind::Wall { line, height_m, thickness_m } => {
            let points = ground.along(id, line)?;
            let shapes = ribbon(ground, &points, thickness_m.told, FOOT_M, height_m.told);
            body(id, BodyKind::Structure, false, Answer::Fixed, shapes)
        }
        AidKind::Stump { at, diameter_m, height_m } => {
            let foot = ground.at(id, at)?;
            let radius_m = 0.5 * diameter_m.told;
            // Round in plan, flat on top: an octagon's hull.
            let ring = |z: f64| {
                (0..8).map(move |k| {
                    let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / 8.0);
                    foot + DVec3::new(c * radius_m, s * radius_m, z)
                })
            };
            let points_m = ring(-FOOT_M).chain(ring(height_m.told)).collect();
            body(id, BodyKind::Stump, false, Answer::Fixed, vec![Shape::Hull { points_m }])
        }
    }))
}

/// From the line between two places of the ground to the axis of a log that lies along it: off the
/// slope, so far that the log touches the highest ground under it and is `sunk_m` in it.
pub(super) fn off_the_ground(
    terrain: &Terrain,
    [a, b]: [DVec3; 2],
    radius_m: f64,
    sunk_m: f64,
) -> DVec3 {
    let middle = 0.5 * (a + b).truncate();
    let gradient = terrain
        .mean_gradient(middle, a.truncate().distance(b.truncate()).max(1.0))
        .or_else(|| terrain.surface(middle.x, middle.y).map(|s| s.gradient))
        .unwrap_or(DVec2::ZERO);
    let along = (b - a).normalize_or_zero();
    let up = DVec3::new(-gradient.x, -gradient.y, 1.0);
    // Square to the log: moved along itself it would lie somewhere else.
    let up = (up - along * up.dot(along)).normalize_or(DVec3::Z);
    let mut off_m = radius_m;
    // The ground is not a plane: set it down again from where it came to lie.
    for _ in 0..4 {
        let deepest = (0..=16)
            .filter_map(|i| terrain.depth_m(a.lerp(b, f64::from(i) / 16.0) + up * off_m))
            .fold(f64::NEG_INFINITY, f64::max);
        if deepest.is_finite() {
            off_m += deepest + radius_m;
        }
    }
    up * (off_m - sunk_m)
}

/// A person standing at a place.
pub(super) fn person(foot: DVec3) -> Shape {
    let [wide, tall] = PERSON_M;
    Shape::Capsule {
        from_m: foot + DVec3::Z * (0.5 * wide),
        to_m: foot + DVec3::Z * (tall - 0.5 * wide),
        radius_m: 0.5 * wide,
    }
}

fn log(
    from_m: DVec3,
    to_m: DVec3,
    radius_m: f64,
    stem: &Stem,
) -> Result<(Piece, Motion), JobError> {
    let length = from_m.distance(to_m);
    let log = Stem {
        stations: vec![
            Station { height_m: 0.0, diameter_m: 2.0 * radius_m },
            Station { height_m: length, diameter_m: 2.0 * radius_m },
        ],
        hollows: Vec::new(),
        ..stem.clone()
    };
    let section = log.section(0.0, length, &[])?;
    let axis = (to_m - from_m) / length.max(1e-9);
    let lies = DQuat::from_rotation_arc(DVec3::Z, axis);
    let motion = Motion {
        centre_m: from_m + lies * section.centre_m,
        attitude: lies * section.attitude,
        velocity_m_s: DVec3::ZERO,
        spin_rad_s: DVec3::ZERO,
    };
    Ok((section.piece, motion))
}

/// Boxes along a line over the ground, from `below_m` under it to `above_m` over it.
fn ribbon(
    ground: &Ground<'_>,
    points: &[DVec3],
    width_m: f64,
    below_m: f64,
    above_m: f64,
) -> Vec<Shape> {
    points
        .windows(2)
        .filter_map(|pair| {
            let [a, b] = [pair[0], pair[1]];
            let along = (b - a).truncate().try_normalize()?;
            let across = along.perp() * (0.5 * width_m);
            // Each corner stands on its own ground, so that a wide path follows a side slope.
            let corner = |p: DVec3, side: f64, z: f64| {
                let q = p.truncate() + across * side;
                let height = ground.terrain.surface(q.x, q.y).map_or(p.z, |s| s.height_m);
                q.extend(height + z)
            };
            let points_m = [a, b]
                .into_iter()
                .flat_map(|p| {
                    [(-1.0, -below_m), (-1.0, above_m), (1.0, -below_m), (1.0, above_m)]
                        .map(|(side, z)| corner(p, side, z))
                })
                .collect();
            Some(Shape::Hull { points_m })
        })
        .collect()
}

/// Walls over a footprint, up to `wall_m` above the ground at each corner, and a roof up to
/// `roof_m`: a ridge along the longer side of a convex footprint, else a flat one.
fn building(
    ground: &Ground<'_>,
    id: &str,
    corners: &[Place],
    wall_m: f64,
    roof_m: f64,
) -> Result<Vec<Shape>, JobError> {
    let mut plan: Vec<DVec3> =
        corners.iter().map(|c| ground.at(id, c)).collect::<Result<_, _>>()?;
    let flat = |points: &[DVec3]| points.iter().map(|p| p.truncate()).collect::<Vec<_>>();
    if area_m2(&flat(&plan)) < 0.0 {
        plan.reverse();
    }
    let low = plan.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let eaves = plan.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max) + wall_m;
    let prism = |points: &[DVec3], top: f64| Shape::Hull {
        points_m: points
            .iter()
            .flat_map(|p| [p.truncate().extend(low - FOOT_M), p.truncate().extend(top)])
            .collect(),
    };
    let convex = is_convex(&flat(&plan));
    // Under a roof that is not modelled the walls go up to where its ridge would be.
    let top = if convex { eaves } else { eaves.max(eaves - wall_m + roof_m) };
    let mut shapes: Vec<Shape> = if convex {
        vec![prism(&plan, top)]
    } else {
        triangles(&plan).iter().map(|t| prism(t, top)).collect()
    };
    let ridge = eaves + (roof_m - wall_m);
    if convex && ridge > eaves + 1e-6 {
        shapes.push(Shape::Hull { points_m: roof(&flat(&plan), eaves, ridge) });
    }
    Ok(shapes)
}

/// Eaves all round and a ridge between the middles of the two sides that face the longest way.
fn roof(plan: &[DVec2], eaves: f64, ridge: f64) -> Vec<DVec3> {
    let n = plan.len();
    let longest = (0..n)
        .max_by(|&i, &j| {
            let side = |k: usize| plan[k].distance(plan[(k + 1) % n]);
            side(i).total_cmp(&side(j))
        })
        .unwrap_or(0);
    let along = (plan[(longest + 1) % n] - plan[longest]).normalize_or(DVec2::X);
    let middle = plan.iter().sum::<DVec2>() / n as f64;
    let reach = |sign: f64| {
        plan.iter().map(|p| sign * (*p - middle).dot(along)).fold(f64::NEG_INFINITY, f64::max)
    };
    let ends = [middle + along * reach(1.0), middle - along * reach(-1.0)];
    plan.iter().map(|p| p.extend(eaves)).chain(ends.map(|p| p.extend(ridge))).collect()
}

fn is_convex(plan: &[DVec2]) -> bool {
    let n = plan.len();
    (0..n).all(|i| {
        let (a, b, c) = (plan[i], plan[(i + 1) % n], plan[(i + 2) % n]);
        (b - a).perp_dot(c - b) >= -1e-9
    })
}

/// Cuts a counter-clockwise outline into triangles by clipping ears (Meisters 1975).
fn triangles(plan: &[DVec3]) -> Vec<[DVec3; 3]> {
    let mut left: Vec<DVec3> = plan.to_vec();
    let mut cut = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let ear = (0..n).find(|&i| {
            let (a, b, c) = (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
            let turn =
                |p: DVec3, q: DVec3, r: DVec3| (q - p).truncate().perp_dot((r - q).truncate());
            turn(a, b, c) > 0.0
                && left.iter().all(|&p| {
                    p == a
                        || p == b
                        || p == c
                        || !(turn(a, b, p) >= 0.0 && turn(b, c, p) >= 0.0 && turn(c, a, p) >= 0.0)
                })
        });
        let Some(i) = ear else { break };
        cut.push([left[(i + n - 1) % n], left[i], left[(i + 1) % n]]);
        left.remove(i);
    }
    if let [a, b, c] = left[..] {
        cut.push([a, b, c]);
    }
    cut
}

/// A trunk that tapers to a third of its girth, and a crown of limbs all round.
fn keep_tree(foot: DVec3, diameter_m: f64, height_m: f64, limbs: Option<&Limbs>) -> Vec<Shape> {
    let radius = 0.5 * diameter_m;
    let parts = 4;
    let mut shapes: Vec<Shape> = (0..parts)
        .map(|i| {
            let (a, b) = (f64::from(i) / f64::from(parts), f64::from(i + 1) / f64::from(parts));
            Shape::Capsule {
                from_m: foot + DVec3::Z * (height_m * a - if i == 0 { FOOT_M } else { 0.0 }),
                to_m: foot + DVec3::Z * (height_m * b),
                radius_m: radius * (1.0 - 2.0 / 3.0 * 0.5 * (a + b)),
            }
        })
        .collect();
    if let Some(limbs) = limbs {
        let (low, spread) = (limbs.from_m.told.min(height_m), limbs.spread_m.told);
        // Three whorls of eight limbs, rising; each a fifth of the stem thick at most.
        for (share, reach) in [(0.0, 1.0), (0.35, 0.8), (0.7, 0.45)] {
            let z = low + (height_m - low) * share;
            for k in 0..8 {
                let angle = std::f64::consts::TAU * (f64::from(k) + share) / 8.0;
                let (s, c) = libm::sincos(angle);
                let out = DVec3::new(c, s, 0.35) * (spread * reach);
                shapes.push(Shape::Capsule {
                    from_m: foot + DVec3::Z * z,
                    to_m: foot + DVec3::Z * z + out,
                    radius_m: (0.2 * radius).min(0.05),
                });
            }
        }
    }
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{scene::Doubtful, site::distance_in_plan_m};

    fn local(east_m: f64, north_m: f64) -> Place {
        Place::Local { east_m: Doubtful::exact(east_m), north_m: Doubtful::exact(north_m) }
    }

    fn plan_of(place: &Place) -> DVec2 {
        match place {
            Place::Local { east_m, north_m } => DVec2::new(east_m.told, north_m.told),
            _ => DVec2::ZERO,
        }
    }

    #[test]
    fn verif_a_log_on_a_slope_touches_it_and_is_not_buried() {
        let gradient = DVec2::new(0.3, -0.7);
        let terrain =
            Terrain::from_heights(DVec2::splat(-20.0), 0.5, 81, 81, |x, y| 0.3 * x - 0.7 * y);
        let on = |x: f64, y: f64| DVec3::new(x, y, gradient.dot(DVec2::new(x, y)));
        // Across, down and askew.
        for [a, b] in [
            [on(-3.5, -1.5), on(3.5, 1.5)],
            [on(1.5, -3.5), on(-1.5, 3.5)],
            [on(0.0, 0.0), on(4.0, 4.0)],
        ] {
            for sunk in [0.0, 0.1] {
                let off = off_the_ground(&terrain, [a, b], 0.22, sunk);
                for p in [a, b, a.lerp(b, 0.3)] {
                    let depth = terrain.depth_m(p + off).unwrap();
                    assert!((depth + 0.22 - sunk).abs() < 1e-4, "{depth}");
                }
            }
        }
        // Over a hump it lies on the hump.
        let hump = Terrain::from_heights(DVec2::splat(-20.0), 0.5, 81, 81, |x, _| {
            (1.0 - 0.2 * x.abs()).max(0.0)
        });
        let ends = [DVec3::new(-6.0, 0.0, 0.0), DVec3::new(6.0, 0.0, 0.0)];
        let off = off_the_ground(&hump, ends, 0.2, 0.0);
        assert!((off.z - 1.2).abs() < 0.02, "{off}");
    }

    #[test]
    fn verif_nothing_stands_in_the_notch_of_an_l() {
        let terrain = Terrain::from_heights(DVec2::splat(-20.0), 1.0, 41, 41, |_, _| 0.0);
        let footing = Footing::new(&terrain, false);
        let ground = Ground { footing: &footing, terrain: &terrain, place: &plan_of };
        // 8 by 8 with the north-east quarter left out, either way round.
        let mut corners: Vec<Place> =
            [(0.0, 0.0), (8.0, 0.0), (8.0, 4.0), (4.0, 4.0), (4.0, 8.0), (0.0, 8.0)]
                .map(|(x, y)| local(x, y))
                .to_vec();
        for _ in 0..2 {
            let shapes = building(&ground, "house", &corners, 3.0, 5.0).unwrap();
            let plans: Vec<Vec<DVec2>> = shapes
                .iter()
                .map(|shape| match shape {
                    Shape::Hull { points_m } => points_m.iter().map(|p| p.truncate()).collect(),
                    _ => Vec::new(),
                })
                .collect();
            let stands = |at: DVec2| {
                plans.iter().any(|plan| {
                    // Inside a convex hull: no direction has all of it on one side of the place.
                    (0..360).all(|k| {
                        let (s, c) = libm::sincos(f64::from(k).to_radians());
                        plan.iter().any(|p| (*p - at).dot(DVec2::new(c, s)) > 0.0)
                    })
                })
            };
            let house = body("house", BodyKind::Structure, true, Answer::Fixed, shapes.clone());
            for notch in [DVec2::new(4.6, 4.6), DVec2::new(6.0, 6.0), DVec2::new(7.5, 4.5)] {
                assert!(!stands(notch), "{notch}");
                let gap = (notch - 4.0).min_element();
                assert!((distance_in_plan_m(&house, notch) - gap).abs() < 1e-9, "{notch}");
            }
            for within in [DVec2::new(2.1, 6.9), DVec2::new(6.8, 2.2), DVec2::new(1.3, 1.1)] {
                assert!(stands(within), "{within}");
            }
            corners.reverse();
        }
    }
}
