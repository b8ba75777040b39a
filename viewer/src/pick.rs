//! What is under the pointer: the ground, by its heights, and things, by their triangles.

use bevy::math::{Vec3, vec3};
use tumblewood::{scene::edit::Thing, terrain::Terrain};

use crate::shape::Drawn;

/// Most looks at the ground along one ray.
const MOST_LOOKS: f32 = 20_000.0;
/// Halvings of the last step: a thousandth of a millimetre.
const HALVINGS: u32 = 24;
/// The ray is followed this far over and under the known heights, m: cut faces reach beyond them.
const BEYOND_M: f32 = 20.0;

/// A straight line of sight, in the site's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ray {
    /// Where it starts, m.
    pub(crate) from_m: Vec3,
    /// Where it goes, a unit vector.
    pub(crate) way: Vec3,
}

impl Ray {
    /// From a place through another one.
    #[cfg(test)]
    pub(crate) fn through(from_m: Vec3, to_m: Vec3) -> Self {
        Self { from_m, way: (to_m - from_m).normalize_or(-Vec3::Z) }
    }

    /// The place so far along it, m.
    #[must_use]
    pub(crate) fn at_m(&self, distance_m: f32) -> Vec3 {
        self.from_m + self.way * distance_m
    }

    /// Where it enters and leaves a box, m along it, if it meets it.
    fn through_box(&self, low_m: Vec3, high_m: Vec3) -> Option<(f32, f32)> {
        let (mut enter, mut leave) = (0.0_f32, f32::INFINITY);
        for axis in 0..3 {
            let (from, way) = (self.from_m[axis], self.way[axis]);
            if way.abs() < 1e-9 {
                if from < low_m[axis] || from > high_m[axis] {
                    return None;
                }
                continue;
            }
            let (a, b) = ((low_m[axis] - from) / way, (high_m[axis] - from) / way);
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
        (enter <= leave).then_some((enter, leave))
    }
}

/// A place on the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OnGround {
    /// Where, m.
    pub(crate) at_m: Vec3,
    /// How far along the ray, m.
    pub(crate) distance_m: f32,
    /// Steepness there, rad from level.
    pub(crate) slope_rad: f32,
    /// Which way it falls, clockwise from the map's north, rad; of no meaning where it is level.
    pub(crate) aspect_rad: f32,
}

/// The first place where a ray meets the ground from above; `heights_m` are the lowest and the
/// highest of the terrain.
#[must_use]
pub(crate) fn ground(ray: &Ray, terrain: &Terrain, heights_m: (f32, f32)) -> Option<OnGround> {
    let (low, high) = terrain.grid.bounds();
    let low = vec3(low.x as f32, low.y as f32, heights_m.0 - BEYOND_M);
    let high = vec3(high.x as f32, high.y as f32, heights_m.1 + BEYOND_M);
    let (enter, leave) = ray.through_box(low, high)?;
    // Half a cell at a time, or half a cell down where the ray is steep.
    let step = (0.5 * terrain.grid.cell_m as f32).max((leave - enter) / MOST_LOOKS);
    let over = |distance_m: f32| {
        let at = ray.at_m(distance_m);
        let surface = terrain.surface(at.x.into(), at.y.into())?;
        let over = f64::from(at.z) - surface.height_m;
        over.is_finite().then_some(over)
    };
    let mut above: Option<f32> = None;
    let looks = ((leave - enter) / step).ceil().max(0.0) as u32;
    for k in 0..=looks {
        let here = (enter + step * k as f32).min(leave);
        match over(here) {
            Some(height) if height > 0.0 => above = Some(here),
            Some(_) => {
                if let Some(above) = above {
                    let distance_m = halve(above, here, over);
                    return on_ground(ray, terrain, distance_m);
                }
            }
            None => above = None,
        }
    }
    None
}

fn halve(mut above: f32, mut under: f32, over: impl Fn(f32) -> Option<f64>) -> f32 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (above + under);
        if over(middle).is_some_and(|height| height > 0.0) {
            above = middle;
        } else {
            under = middle;
        }
    }
    under
}

fn on_ground(ray: &Ray, terrain: &Terrain, distance_m: f32) -> Option<OnGround> {
    let at = ray.at_m(distance_m);
    let surface = terrain.surface(at.x.into(), at.y.into())?;
    let gradient = surface.gradient.as_vec2();
    let aspect = (-gradient.x).atan2(-gradient.y).rem_euclid(std::f32::consts::TAU);
    Some(OnGround {
        at_m: at.with_z(surface.height_m as f32),
        distance_m,
        slope_rad: gradient.length().atan(),
        aspect_rad: aspect,
    })
}

/// Boxes round things, made once for many rays: lowest and highest corner, m.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Boxes(Vec<Option<(Vec3, Vec3)>>);

impl Boxes {
    /// The boxes of things, in their order.
    #[must_use]
    pub(crate) fn round(things: &[(Thing, Drawn)]) -> Self {
        Self(things.iter().map(|(_, drawn)| drawn.extent_m()).collect())
    }
}

/// A thing under the pointer.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Picked {
    /// What it is.
    pub(crate) thing: Thing,
    /// Its place in the list.
    pub(crate) index: usize,
    /// How far along the ray, m.
    pub(crate) distance_m: f32,
    /// Where, m.
    pub(crate) at_m: Vec3,
}

/// The nearest thing that a ray meets. Lines, which have no width, are met within `slack_rad`; so
/// is a wire, which is thinner than a pixel. A triangle counts from either side.
#[must_use]
pub(crate) fn thing(
    ray: &Ray,
    things: &[(Thing, Drawn)],
    boxes: &Boxes,
    slack_rad: f32,
) -> Option<Picked> {
    let mut nearest: Option<(usize, f32)> = None;
    for (index, ((_, drawn), round)) in things.iter().zip(&boxes.0).enumerate() {
        let Some((low, high)) = round else { continue };
        let slack = Vec3::splat(slack_rad * (ray.from_m.distance(*low) + low.distance(*high)));
        let most = nearest.map_or(f32::INFINITY, |(_, distance)| distance);
        let met = ray.through_box(*low - slack, *high + slack);
        if met.is_none_or(|(enter, _)| enter > most) {
            continue;
        }
        let here = meets(ray, drawn, slack_rad);
        if here < most {
            nearest = Some((index, here));
        }
    }
    let (index, distance_m) = nearest?;
    let thing = things.get(index)?.0.clone();
    Some(Picked { thing, index, distance_m, at_m: ray.at_m(distance_m) })
}

/// How far along a ray the nearest triangle or line of a drawing is, m; infinite if it meets none.
#[must_use]
pub(crate) fn meets(ray: &Ray, drawn: &Drawn, slack_rad: f32) -> f32 {
    let corners = |nodes: &[u32]| -> Option<Vec<Vec3>> {
        nodes.iter().map(|&k| drawn.points_m.get(k as usize).copied()).collect()
    };
    let triangles = drawn.triangles.iter().filter_map(|triangle| {
        let [a, b, c] = corners(triangle)?[..] else { return None };
        meets_triangle(ray, [a, b, c])
    });
    let lines = drawn.lines.iter().filter_map(|line| {
        let [a, b] = corners(line)?[..] else { return None };
        meets_line(ray, [a, b], slack_rad)
    });
    triangles.chain(lines).fold(f32::INFINITY, f32::min)
}

/// Möller and Trumbore (1997), "Fast, minimum storage ray–triangle intersection".
fn meets_triangle(ray: &Ray, [a, b, c]: [Vec3; 3]) -> Option<f32> {
    let (ab, ac) = (b - a, c - a);
    let p = ray.way.cross(ac);
    let det = ab.dot(p);
    if det.abs() < 1e-12 {
        return None;
    }
    let s = ray.from_m - a;
    let q = s.cross(ab);
    let (u, v, t) = (s.dot(p) / det, ray.way.dot(q) / det, ac.dot(q) / det);
    (u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t > 0.0).then_some(t)
}

/// Where a ray passes a line within an angle: the places on both that are nearest to each other.
fn meets_line(ray: &Ray, [a, b]: [Vec3; 2], slack_rad: f32) -> Option<f32> {
    let along = b - a;
    let off = ray.from_m - a;
    let (d, e) = (ray.way.dot(along), along.length_squared());
    // Least squared distance of from + t·way and a + s·along, s kept on the line.
    let det = e - d * d;
    let s = if det > 1e-9 { (along.dot(off) - d * ray.way.dot(off)) / det } else { 0.0 };
    let point = a + along * s.clamp(0.0, 1.0);
    let t = (point - ray.from_m).dot(ray.way);
    (t > 0.0 && point.distance(ray.at_m(t)) <= slack_rad * t).then_some(t)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::math::vec2;
    use glam::DVec2;

    /// Falls 1 in 2 to the south-east's east: toward azimuth 110°.
    fn bank() -> Terrain {
        let (sin, cos) = 110_f64.to_radians().sin_cos();
        Terrain::from_heights(DVec2::splat(-50.0), 1.0, 101, 101, move |x, y| {
            -0.5 * (x * sin + y * cos)
        })
    }

    fn height_m(x: f32, y: f32) -> f32 {
        let (sin, cos) = 110_f32.to_radians().sin_cos();
        -0.5 * (x * sin + y * cos)
    }

    #[test]
    fn verif_a_ray_meets_a_plane_where_it_should() {
        let terrain = bank();
        for from in [vec3(-40.0, 30.0, 60.0), vec3(200.0, -300.0, 90.0), vec3(3.0, 4.0, 500.0)] {
            for (x, y) in [(0.0, 0.0), (3.3, -17.2), (-20.1, 8.8), (3.0, 4.0)] {
                let target = vec3(x, y, height_m(x, y));
                let ray = Ray::through(from, target);
                let hit = ground(&ray, &terrain, (-40.0, 40.0)).unwrap();
                assert!(hit.at_m.abs_diff_eq(target, 5e-3), "{} {target}", hit.at_m);
                assert!((hit.slope_rad - 0.5_f32.atan()).abs() < 1e-4);
                assert!((hit.aspect_rad - 110_f32.to_radians()).abs() < 1e-3, "{}", hit.aspect_rad);
                assert!((hit.distance_m - from.distance(target)).abs() < 0.01);
            }
        }
    }

    #[test]
    fn prop_the_first_of_two_hills_is_met() {
        let hills = Terrain::from_heights(DVec2::splat(-50.0), 0.5, 201, 201, |x, _| {
            8.0 * (-((x - 20.0) / 4.0).powi(2)).exp() + 8.0 * (-((x + 20.0) / 4.0).powi(2)).exp()
        });
        let ray = Ray { from_m: vec3(-60.0, 0.0, 5.0), way: Vec3::X };
        let hit = ground(&ray, &hills, (0.0, 8.0)).unwrap();
        assert!(hit.at_m.x < -20.0 && (hit.at_m.z - 5.0).abs() < 1e-3, "{}", hit.at_m);
        // It rises there, so that it falls toward the west.
        assert!((hit.aspect_rad.to_degrees() - 270.0).abs() < 0.1);
        let over = Ray { from_m: vec3(-60.0, 0.0, 9.0), way: Vec3::X };
        assert_eq!(ground(&over, &hills, (0.0, 8.0)), None);
    }

    #[test]
    fn prop_no_ground_is_met_where_there_is_none() {
        let terrain = bank();
        let from = vec3(0.0, 0.0, 30.0);
        for way in [Vec3::Z, Vec3::X, vec3(0.9, 0.0, -0.01).normalize()] {
            assert_eq!(ground(&Ray { from_m: from, way }, &terrain, (-40.0, 40.0)), None);
        }
        let mut holed = bank();
        let (i, j) = (50, 50);
        std::sync::Arc::make_mut(&mut holed.grid).heights_m[j * 101 + i] = f32::NAN;
        assert_eq!(ground(&Ray { from_m: from, way: -Vec3::Z }, &holed, (-40.0, 40.0)), None);
        // From below.
        let below = Ray { from_m: vec3(0.0, 0.0, -30.0), way: Vec3::Z };
        assert_eq!(ground(&below, &terrain, (-40.0, 40.0)), None);
    }

    fn board(z: f32, size: f32) -> Drawn {
        let mut drawn = Drawn::default();
        let corners = [vec2(-1.0, -1.0), vec2(1.0, -1.0), vec2(1.0, 1.0), vec2(-1.0, 1.0)];
        drawn.face(&corners.map(|c| (c * size).extend(z)), [1.0; 4]);
        drawn
    }

    #[test]
    fn verif_the_nearest_thing_is_picked() {
        let mut wire = Drawn::default();
        wire.polyline(&[vec3(5.0, -5.0, 6.0), vec3(5.0, 5.0, 6.0)], [1.0; 4]);
        let things = [
            (Thing::Target("low".into()), board(0.0, 2.0)),
            (Thing::Aid("high".into()), board(3.0, 1.0)),
            (Thing::ClimberLine, wire),
            (Thing::Patch("nothing".into()), Drawn::default()),
        ];
        let boxes = Boxes::round(&things);
        let look = |x: f32, y: f32, slack: f32| {
            let ray = Ray { from_m: vec3(x, y, 10.0), way: -Vec3::Z };
            thing(&ray, &things, &boxes, slack)
        };
        let high = look(0.5, 0.5, 0.0).unwrap();
        assert_eq!((high.thing, high.index), (Thing::Aid("high".into()), 1));
        assert!((high.distance_m - 7.0).abs() < 1e-5 && high.at_m.z == 3.0);
        assert_eq!(look(1.5, 1.5, 0.0).unwrap().thing, Thing::Target("low".into()));
        assert_eq!(look(3.0, 3.0, 0.0), None);
        // A line 4 m away, passed at 4 cm.
        assert_eq!(look(5.04, 0.0, 0.02).unwrap().thing, Thing::ClimberLine);
        assert_eq!(look(5.04, 0.0, 0.005), None);
        // Behind the eye there is nothing, and a triangle counts from below too.
        let down = Ray { from_m: vec3(0.0, 0.0, 1.0), way: -Vec3::Z };
        assert_eq!(thing(&down, &things, &boxes, 0.0).unwrap().thing, Thing::Target("low".into()));
        let up = Ray { from_m: vec3(0.0, 0.0, -1.0), way: Vec3::Z };
        assert_eq!(thing(&up, &things, &boxes, 0.0).unwrap().thing, Thing::Target("low".into()));
    }

    #[test]
    fn verif_lines_are_met_where_they_are_nearest() {
        let ray = Ray { from_m: Vec3::ZERO, way: Vec3::X };
        let met = |a, b, slack| meets_line(&ray, [a, b], slack);
        let cross = met(vec3(10.0, -1.0, 0.05), vec3(10.0, 1.0, 0.05), 0.01).unwrap();
        assert!((cross - 10.0).abs() < 1e-5);
        assert_eq!(met(vec3(10.0, 0.2, 0.0), vec3(10.0, 1.0, 0.0), 0.01), None);
        assert!(met(vec3(10.0, 0.05, 0.0), vec3(10.0, 1.0, 0.0), 0.01).is_some());
        assert_eq!(met(vec3(-10.0, -1.0, 0.0), vec3(-10.0, 1.0, 0.0), 0.01), None);
        // Along the ray itself.
        assert!(met(vec3(2.0, 0.0, 0.0), vec3(8.0, 0.0, 0.0), 0.01).is_some());
    }
}
