//! Signs that lie on the ground: how a piece went, where it reached something, what touched.
//!
//! Every sign has a shape of its own, so that none is told by colour alone: a square stayed, a bar
//! slid, a round rolled, a star tumbled; hollow where the piece was not at rest. Signs are drawn
//! in metres by a given unit, so that they can be kept legible from any distance.

use bevy::math::{Vec2, Vec3, vec2};
use tumblewood::{
    drop::{Against, Ending, Place, Touch},
    outcome::{Mode, Outcome},
    terrain::Terrain,
};

use crate::{
    drape::{band, normal, on_ground},
    palette::{Paint, Palette},
    shape::{Colour, Drawn, single},
};

/// Signs lie so far over the ground, m, and so much more for each unit of their size.
const LIFT_M: f32 = 0.1;
const LIFT_A_UNIT: f32 = 0.08;
/// From one layer of a sign to the next, as a part of its unit.
const LAYER: f32 = 0.02;
/// What is nearer to the ground than this has its sign on it, m.
const NEAR_GROUND_M: f32 = 3.0;
/// Width of a sign's rim, units.
const RIM: f32 = 0.09;

/// Where a sign lies: the middle, and which way is across and uphill, along the ground.
struct Spot<'a> {
    terrain: &'a Terrain,
    centre_m: Vec3,
    across: Vec3,
    uphill: Vec3,
    unit_m: f32,
}

impl<'a> Spot<'a> {
    fn new(terrain: &'a Terrain, at_m: Vec3, unit_m: f32) -> Self {
        let normal = normal(terrain, at_m.truncate());
        let level = -normal.truncate();
        // Level ground has no uphill: north then.
        let way = level.try_normalize().unwrap_or(Vec2::Y).extend(0.0);
        let uphill = (way - normal * way.dot(normal)).normalize_or(Vec3::Y);
        // A piece's centre is over the ground it lies on; what hangs in the air has its sign there.
        let centre_m = on_ground(terrain, at_m.truncate(), 0.0)
            .filter(|ground| (at_m.z - ground.z).abs() < NEAR_GROUND_M)
            .unwrap_or(at_m);
        Self { terrain, centre_m, across: uphill.cross(normal), uphill, unit_m }
    }

    /// A point of the sign on the ground; off the known ground or over a cut face, on its plane.
    fn point(&self, sign: Vec2, layer: f32) -> Vec3 {
        let off = (self.across * sign.x + self.uphill * sign.y) * self.unit_m;
        let lift_m = LIFT_M + (LIFT_A_UNIT + LAYER * layer) * self.unit_m;
        let flat = self.centre_m + off;
        on_ground(self.terrain, flat.truncate(), lift_m)
            .filter(|point| (point.z - flat.z).abs() < lift_m + 0.5 * self.unit_m)
            .unwrap_or(flat + Vec3::Z * lift_m)
    }

    /// A filled outline about the middle, which all of it can be seen from.
    fn fill(&self, drawn: &mut Drawn, outline: &[Vec2], size: f32, layer: f32, colour: Colour) {
        let middle = outline.iter().sum::<Vec2>() / outline.len().max(1) as f32;
        let corners: Vec<Vec3> = [Vec2::ZERO]
            .iter()
            .chain(outline.iter().map(|p| *p - middle).collect::<Vec<_>>().iter())
            .chain(outline.first().map(|p| *p - middle).as_ref())
            .map(|p| self.point(middle + *p * size, layer))
            .collect();
        drawn.sign(&corners, colour);
    }
}

/// Corners of the sign of a mode, in units, anticlockwise; grown by so many units on all sides.
#[must_use]
pub(crate) fn mode_outline(mode: Mode, grown: f32) -> Vec<Vec2> {
    match mode {
        Mode::Stayed => bar(0.45 + grown, 0.45 + grown, 0.0),
        Mode::Slid => bar(0.8 + grown, 0.28 + grown, 0.0),
        Mode::Rolled => around(16, |_| 0.52 + grown),
        // Its points are sharp: grown by as much on both flanks they reach much farther out.
        Mode::Tumbled => around(8, |k| if k % 2 == 0 { 0.9 + 2.2 * grown } else { 0.33 + grown }),
    }
}

fn bar(half_width: f32, half_height: f32, up: f32) -> Vec<Vec2> {
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| vec2(x * half_width, y * half_height + up))
        .to_vec()
}

fn around(corners: usize, radius: impl Fn(usize) -> f32) -> Vec<Vec2> {
    (0..corners)
        .map(|k| {
            let turn =
                std::f32::consts::TAU * k as f32 / corners as f32 + std::f32::consts::FRAC_PI_2;
            Vec2::from_angle(turn) * radius(k)
        })
        .collect()
}

/// The sign of how a drop went, where it ended.
pub(crate) fn rest(
    drawn: &mut Drawn,
    terrain: &Terrain,
    outcome: &Outcome,
    unit_m: f32,
    palette: &Palette,
) {
    let spot = Spot::new(terrain, single(outcome.end_m), unit_m);
    let mut layer = |grown: f32, layer: f32, colour: Paint| {
        spot.fill(drawn, &mode_outline(outcome.mode, grown), 1.0, layer, colour.linear());
    };
    layer(RIM, 0.0, palette.ink);
    layer(0.0, 1.0, palette.mode(outcome.mode));
    if outcome.ending != Ending::Rest {
        layer(-0.14, 2.0, palette.paper);
    }
}

/// A ring with a cross in it: a target was reached here.
pub(crate) fn strike(
    drawn: &mut Drawn,
    terrain: &Terrain,
    at_m: Vec3,
    unit_m: f32,
    palette: &Palette,
) {
    let spot = Spot::new(terrain, at_m, unit_m);
    let ring = around(20, |_| 1.0);
    spot.fill(drawn, &ring, 1.1, 3.0, palette.paper.linear());
    spot.fill(drawn, &ring, 1.0, 4.0, palette.alarm.linear());
    spot.fill(drawn, &ring, 0.78, 5.0, palette.paper.linear());
    for turn in [std::f32::consts::FRAC_PI_4, -std::f32::consts::FRAC_PI_4] {
        let turn = Vec2::from_angle(turn);
        let arm: Vec<Vec2> = bar(0.72, 0.11, 0.0).into_iter().map(|p| turn.rotate(p)).collect();
        spot.fill(drawn, &arm, 1.0, 6.0, palette.alarm.linear());
    }
}

/// A ring on the ground round something that is held or looked at; it keeps `unit_m` off.
#[must_use]
pub(crate) fn held(what: &Drawn, terrain: &Terrain, unit_m: f32, palette: &Palette) -> Drawn {
    let mut drawn = Drawn::default();
    let Some((low, high)) = what.extent_m() else { return drawn };
    let (low, high) = (low.truncate(), high.truncate());
    let (middle, radius) = (0.5 * (low + high), 0.5 * low.distance(high) + unit_m);
    let ring: Vec<Vec2> = (0..=48)
        .map(|k| middle + Vec2::from_angle(std::f32::consts::TAU * k as f32 / 48.0) * radius)
        .collect();
    let size = |width: f32, lift_m: f32| (width * unit_m, lift_m, 0.5);
    band(&mut drawn, terrain, &ring, size(0.5, LIFT_M), palette.paper.linear());
    band(&mut drawn, terrain, &ring, size(0.25, LIFT_M + 0.05), palette.chosen.linear());
    drawn
}

/// Where a replayed piece touched, by the part that touched: a full wedge for the butt, a hollow
/// one for the top, a bar for the side, two for the whole length; a ring with a cross on a body.
#[must_use]
pub(crate) fn touches(
    touches: &[Touch],
    terrain: &Terrain,
    unit_m: f32,
    palette: &Palette,
) -> Drawn {
    let (ink, paper) = (palette.ink.linear(), palette.paper.linear());
    let mut drawn = Drawn::default();
    for touch in touches {
        let at = single(touch.point_m);
        if matches!(touch.against, Against::Body(_)) {
            strike(&mut drawn, terrain, at, unit_m, palette);
            continue;
        }
        let spot = Spot::new(terrain, at, unit_m);
        let mut sign = |outline: &[Vec2], rim: &[Vec2]| {
            spot.fill(&mut drawn, rim, 1.0, 0.0, paper);
            spot.fill(&mut drawn, outline, 1.0, 1.0, ink);
        };
        // Its tip points downhill.
        let wedge = [vec2(0.0, -0.6), vec2(0.5, 0.4), vec2(-0.5, 0.4)];
        let wide = wedge.map(|p| p * 1.4 - vec2(0.0, -0.03));
        let mut bars = |ups: &[f32]| {
            for up in ups {
                sign(&bar(0.7, 0.13, *up), &bar(0.7 + RIM, 0.13 + RIM, *up));
            }
        };
        match touch.place {
            Place::Side => bars(&[0.0]),
            Place::Flat => bars(&[0.28, -0.28]),
            Place::Butt => sign(&wedge, &wide),
            Place::Top => {
                sign(&wedge, &wide);
                spot.fill(&mut drawn, &wedge, 0.55, 2.0, paper);
            }
        }
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::{MODES, Theme, palette};
    use glam::{DVec2, DVec3};

    fn bank() -> Terrain {
        Terrain::from_heights(DVec2::splat(-20.0), 1.0, 41, 41, |x, y| 0.3 * x - 0.6 * y)
    }

    fn height_over_bank_m(p: Vec3) -> f32 {
        p.z - (0.3 * p.x - 0.6 * p.y)
    }

    fn outcome(mode: Mode, ending: Ending, end_m: DVec3) -> Outcome {
        Outcome {
            mode,
            first_touch: None,
            parts: [0.0; 3],
            turns: 0.0,
            rollout_m: 0.0,
            height_over_ground_m: 0.0,
            ending,
            rests_on: None,
            hold: None,
            end_m,
            end_axis: DVec3::X,
            bent: None,
            lines: Vec::new(),
            digs: vec![],
            struck_m_s: 0.0,
            loose: vec![],
            absent: vec![],
            reaches: Vec::new(),
        }
    }

    /// Corners of a mark's outline, by area and by how far they lie from its middle.
    #[test]
    fn prop_no_two_modes_have_the_same_shape() {
        let measure = |mode| {
            let outline = mode_outline(mode, 0.0);
            let radii = outline.iter().map(|p| p.length());
            let (low, high) =
                radii.fold((f32::INFINITY, 0.0_f32), |(l, h), r| (l.min(r), h.max(r)));
            (outline.len(), high / low)
        };
        let shapes = MODES.map(|(mode, _)| measure(mode));
        for (i, a) in shapes.iter().enumerate() {
            for b in shapes.iter().skip(i + 1) {
                let (size, ratio) = (a.0 != b.0, (a.1 - b.1).abs());
                // The bar's corners are as far from its middle as each other, and so are a
                // square's: their own sides tell them apart.
                assert!(size || ratio > 0.3 || a.0 == 4, "{a:?} {b:?}");
            }
        }
        let sides = |mode| {
            let o = mode_outline(mode, 0.0);
            o[0].distance(o[1]) / o[1].distance(o[2])
        };
        assert!((sides(Mode::Stayed) - 1.0).abs() < 1e-6 && sides(Mode::Slid) > 2.0);
    }

    #[test]
    fn verif_marks_lie_flat_on_the_ground_and_grow_with_their_unit() {
        let p = palette(Theme::Day);
        for (mode, _) in MODES {
            for unit_m in [0.3, 2.0] {
                let mut drawn = Drawn::default();
                let at = DVec3::new(3.0, -2.0, 0.0);
                rest(&mut drawn, &bank(), &outcome(mode, Ending::Rest, at), unit_m, p);
                assert!(drawn.is_sound());
                for point in &drawn.points_m {
                    let over = height_over_bank_m(*point);
                    assert!((0.09..0.1 + 0.11 * unit_m).contains(&over), "{over}");
                    assert!(point.truncate().distance(vec2(3.0, -2.0)) < 1.3 * unit_m);
                }
                for triangle in &drawn.triangles {
                    let [a, b, c] = triangle.map(|k| drawn.points_m[k as usize]);
                    assert!((b - a).cross(c - a).z >= 0.0, "it looks down");
                }
                let (low, high) = drawn.extent_m().unwrap();
                assert!((high - low).truncate().max_element() > 0.7 * unit_m);
            }
        }
    }

    #[test]
    fn prop_what_is_not_at_rest_is_hollow() {
        let p = palette(Theme::Day);
        let middle = |ending| {
            let mut drawn = Drawn::default();
            rest(&mut drawn, &bank(), &outcome(Mode::Rolled, ending, DVec3::ZERO), 1.0, p);
            // The uppermost node over the middle.
            let over = |k: &usize| {
                let point = drawn.points_m[*k];
                if point.truncate().length() < 0.01 { point.z } else { f32::NEG_INFINITY }
            };
            let top = (0..drawn.points_m.len()).max_by(|a, b| over(a).total_cmp(&over(b)));
            drawn.colours[top.unwrap()]
        };
        assert_eq!(middle(Ending::Rest), p.mode(Mode::Rolled).linear());
        assert_eq!(middle(Ending::OutOfTime), p.paper.linear());
        assert_eq!(middle(Ending::LeftTerrain), p.paper.linear());
    }

    #[test]
    fn verif_the_ring_goes_round_what_is_held() {
        let mut hut = Drawn::default();
        let axes = [Vec3::X, Vec3::Y, Vec3::Z];
        hut.cuboid(Vec3::new(2.0, 3.0, 0.0), axes, Vec3::new(3.0, 4.0, 1.0), [1.0; 4]);
        let ring = held(&hut, &bank(), 1.0, palette(Theme::Day));
        assert!(ring.is_sound() && !ring.triangles.is_empty());
        for p in &ring.points_m {
            // Half the hut's diagonal and a metre, and half the ring's width to either side.
            let far = p.truncate().distance(vec2(2.0, 3.0));
            assert!((far - 6.0).abs() < 0.27, "{far}");
            assert!((0.09..0.16).contains(&height_over_bank_m(*p)));
        }
        assert_eq!(held(&Drawn::default(), &bank(), 1.0, palette(Theme::Day)), Drawn::default());
    }

    #[test]
    fn prop_every_part_that_touches_has_its_sign() {
        let p = palette(Theme::Day);
        let touch = |place, against| Touch {
            time_s: 0.0,
            against,
            place,
            point_m: DVec3::new(1.0, 1.0, -0.3),
            speed_m_s: 1.0,
            energy_j: 1.0,
            dug_m3: 0.0,
        };
        let ground = [Place::Butt, Place::Top, Place::Side, Place::Flat]
            .map(|place| touches(&[touch(place, Against::Ground)], &bank(), 1.0, p));
        let body = touches(&[touch(Place::Butt, Against::Body(0))], &bank(), 1.0, p);
        let all: Vec<&Drawn> = ground.iter().chain([&body]).collect();
        for (i, a) in all.iter().enumerate() {
            assert!(a.is_sound() && !a.triangles.is_empty());
            for b in all.iter().skip(i + 1) {
                assert_ne!(a.points_m, b.points_m);
            }
        }
        // Off the known ground there is still a sign.
        let far =
            Touch { point_m: DVec3::new(90.0, 0.0, 5.0), ..touch(Place::Top, Against::Ground) };
        let off = touches(&[far], &bank(), 1.0, p);
        assert!(off.is_sound() && off.points_m.iter().all(|p| (p.z - 5.0).abs() < 1.0));
    }
}
