use bevy::math::{Vec3, vec3};
use tumblewood::{
    job::{Job, Outer},
    scene,
};

use super::*;
use crate::palette::{THEMES, Theme, palette};

/// One of everything on a bank of 30°, invented: an L-shaped house too, and a wall.
const ONE_OF_EVERYTHING: &str = include_str!("one_of_everything.ron");

fn job(text: &str) -> Job {
    Job::load(scene::parse(text, "test").unwrap_or_else(|e| panic!("{e}"))).unwrap()
}

fn jobs() -> [Job; 2] {
    [job(ONE_OF_EVERYTHING), job(scene::starter())]
}

/// The test's own scenes and those that come with the program.
fn all_jobs() -> Vec<Job> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes");
    let mut files: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "ron"));
    files.sort();
    assert!(files.len() >= 3, "{folder}");
    let saved = files.iter().map(|file| Job::load(scene::load(file).unwrap()).unwrap());
    jobs().into_iter().chain(saved).collect()
}

fn extent_of_shapes(body: &Body) -> Option<(Vec3, Vec3)> {
    let mut points = Vec::new();
    for shape in &body.shapes {
        match shape {
            Shape::Cuboid { centre_m, attitude, half_m } => {
                for k in 0..8 {
                    let sign = |bit: u32| if k >> bit & 1 == 0 { -1.0 } else { 1.0 };
                    let corner = *half_m * glam::DVec3::new(sign(0), sign(1), sign(2));
                    points.push(single(*centre_m + *attitude * corner));
                }
            }
            Shape::Capsule { from_m, to_m, radius_m } => {
                for end in [from_m, to_m] {
                    let radius = Vec3::splat(*radius_m as f32);
                    points.extend([single(*end) - radius, single(*end) + radius]);
                }
            }
            Shape::Hull { points_m } => points.extend(points_m.iter().copied().map(single)),
        }
    }
    let first = *points.first()?;
    Some(points.iter().fold((first, first), |(low, high), p| (low.min(*p), high.max(*p))))
}

/// What the physics has a solid for is where the physics has it, within 5 cm on every side.
#[test]
fn prop_things_are_drawn_where_the_physics_has_them() {
    for job in all_jobs() {
        let world = job.world(Outer::Told).unwrap();
        for cut in 0..job.scene.cuts.len() {
            let ready = world.cut(cut).unwrap();
            let looks = looks(&world, Some(&ready), palette(Theme::Day));
            let mut compared = 0;
            for body in &ready.site.bodies {
                let Some((low, high)) = extent_of_shapes(body) else { continue };
                let thing = thing_of(&world.scene, body).unwrap();
                let drawn =
                    looks.iter().find(|(t, look)| *t == thing && !look.solid.points_m.is_empty());
                let mut solid = drawn.unwrap().1.solid.clone();
                let (mut low, mut high) = (low, high);
                // A cab is narrower than the box it is in: a tilted one is compared along its axes.
                if let [Shape::Cuboid { centre_m, attitude, half_m }] = &body.shapes[..] {
                    (low, high) = (-single(*half_m), single(*half_m));
                    solid = solid.moved(|p| {
                        let off = p.as_dvec3().to_array();
                        single(attitude.inverse() * (glam::DVec3::from_array(off) - *centre_m))
                    });
                }
                let (drawn_low, drawn_high) = solid.extent_m().unwrap();
                assert!(
                    low.abs_diff_eq(drawn_low, 0.05) && high.abs_diff_eq(drawn_high, 0.05),
                    "{}: {low} to {high}, drawn {drawn_low} to {drawn_high}",
                    body.id
                );
                compared += 1;
            }
            assert!(compared >= 5);
        }
    }
}

/// Every part of every shape has something drawn near it: extents alone would let a hole pass.
#[test]
fn prop_no_corner_of_a_solid_is_left_undrawn() {
    let world = jobs()[0].world(Outer::Told).unwrap();
    let ready = world.cut(0).unwrap();
    let looks = looks(&world, Some(&ready), palette(Theme::Day));
    for body in &ready.site.bodies {
        if matches!(body.kind, BodyKind::Person | BodyKind::Climber | BodyKind::Feller) {
            continue;
        }
        let thing = thing_of(&world.scene, body).unwrap();
        let (_, look) =
            looks.iter().find(|(t, l)| *t == thing && !l.solid.points_m.is_empty()).unwrap();
        for points in hulls(body) {
            for corner in points {
                let near = look.solid.points_m.iter().map(|p| p.distance(corner));
                let near = near.fold(f32::INFINITY, f32::min);
                // A stem's rings are square to it and a little closer than the physics has them.
                let allowed = if body.kind == BodyKind::Spar { 0.4 } else { 0.06 };
                assert!(near < allowed, "{}: {corner} {near}", body.id);
            }
        }
        for (from, to, radius) in capsules(body) {
            for end in [from, to] {
                let near = look.solid.points_m.iter().map(|p| p.distance(end));
                assert!(near.fold(f32::INFINITY, f32::min) < 1.5 * radius + 0.05, "{}", body.id);
            }
        }
    }
}

#[test]
fn prop_every_drawing_is_sound_and_every_thing_is_there() {
    for job in jobs() {
        let world = job.world(Outer::Told).unwrap();
        for (theme, _) in THEMES {
            for cut in [None, Some(0), Some(job.scene.cuts.len() - 1)] {
                let ready = cut.map(|cut| world.cut(cut).unwrap());
                let all = things(&world, ready.as_ref(), palette(theme));
                for (thing, drawn) in &all {
                    assert!(drawn.is_sound(), "{thing:?}");
                }
                let there = |thing: Thing| all.iter().any(|(t, _)| *t == thing);
                let scene = &job.scene;
                for target in &scene.targets {
                    assert!(there(Thing::Target(target.id.clone())), "{}", target.id);
                }
                for aid in &scene.aids {
                    assert!(there(Thing::Aid(aid.id.clone())), "{}", aid.id);
                }
                for patch in &scene.site.patches {
                    assert!(there(Thing::Patch(patch.id.clone())), "{}", patch.id);
                }
                assert!(there(Thing::Tree));
                let chosen = cut.map_or(&scene.cuts[0], |cut| &scene.cuts[cut]);
                assert!(there(Thing::Cut(chosen.id.clone())));
                let works = there(Thing::Climber) || there(Thing::Feller);
                assert_eq!(works, cut.is_some());
            }
        }
    }
}

#[test]
fn prop_windows_stand_on_their_own_wall_and_look_out() {
    let world = jobs()[0].world(Outer::Told).unwrap();
    let looks = looks(&world, None, palette(Theme::Day));
    let (_, house) =
        looks.iter().find(|(thing, _)| *thing == Thing::Target("house".into())).unwrap();
    // The frame and the pane; the house runs from x −4 to 4 and y −30 to −24, the second wall is its east.
    assert_eq!(house.dressing.triangles.len(), 4);
    for triangle in &house.dressing.triangles {
        let [a, b, c] = triangle.map(|k| house.dressing.points_m[k as usize]);
        assert!((b - a).cross(c - a).x > 0.0, "it looks east: {a} {b} {c}");
        for p in [a, b, c] {
            assert!((4.0..4.1).contains(&p.x) && (-28.1..-26.4).contains(&p.y), "{p}");
        }
    }
}

#[test]
fn verif_a_piece_is_marked_at_its_butt_and_lies_where_it_moved() {
    let world = jobs()[1].world(Outer::Told).unwrap();
    let ready = world.cut(1).unwrap();
    let body = &ready.section.piece;
    let own = piece(body, palette(Theme::Day));
    assert!(own.is_sound());
    let (low, high) = own.extent_m().unwrap();
    assert!((high.z - body.top_m().z as f32).abs() < 0.05);
    assert!((low.z - body.butt_m().z as f32).abs() < 0.05);
    // Its darkest nodes are the band's and the stripe's: all the way round only near the butt.
    let dark = |k: &usize| own.colours[*k].iter().take(3).all(|part| *part < 0.02);
    let round = |from: f32, to: f32| {
        (0..own.points_m.len())
            .filter(dark)
            .map(|k| own.points_m[k])
            .filter(|p| p.z >= from && p.z <= to && p.x < -0.05)
            .count()
    };
    let length = high.z - low.z;
    assert!(round(low.z - 0.1, low.z + 0.13 * length) > 0);
    assert_eq!(round(low.z + 0.2 * length, high.z + 0.1), 0);

    let motion = ready.stand().motion();
    let there = piece_at(body, &motion, palette(Theme::Day));
    let want = single(motion.point_m(body.butt_m()));
    let near = there.points_m.iter().map(|p| p.distance(want)).fold(f32::INFINITY, f32::min);
    assert!(near <= ready.stand().cut_radius_m as f32 + 0.01, "{near}");
}

/// The face opens where the piece is meant to fall, at the height of the cut.
#[test]
fn verif_the_face_and_the_arrow_point_where_the_piece_is_meant_to_fall() {
    let world = jobs()[1].world(Outer::Told).unwrap();
    let ready = world.cut(2).unwrap();
    let looks = looks(&world, Some(&ready), palette(Theme::Day));
    let (_, look) = looks.iter().find(|(t, _)| *t == Thing::Cut("third".into())).unwrap();
    let cut = single(ready.stand().cut_m);
    let azimuth = 160.0_f32.to_radians();
    let want = vec3(azimuth.sin(), azimuth.cos(), 0.0);
    let points = &look.dressing.points_m;
    let mean = points.iter().map(|p| *p - cut).sum::<Vec3>() / points.len() as f32;
    assert!(mean.normalize().dot(want) > 0.99, "{mean}");
    let reach = points.iter().map(|p| (*p - cut).dot(want)).fold(0.0, f32::max);
    assert!((reach - ready.stand().cut_radius_m as f32 - 1.5).abs() < 0.05, "{reach}");
}

fn pulled(text: &str) -> (World, CutReady) {
    let world = job(text).world(Outer::Told).unwrap();
    let index = world.scene.cuts.iter().position(|cut| cut.id == "stem").unwrap();
    let ready = world.cut(index).unwrap();
    (world, ready)
}

fn mill_ash() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes/mill-ash.ron");
    std::fs::read_to_string(path).unwrap()
}

/// A line goes through the points that its numbers are worked out for, with a solid at each.
#[test]
fn verif_a_line_is_drawn_through_its_points() {
    let (world, ready) = pulled(&mill_ash());
    let (_, line) = world.lines_of("stem").next().unwrap();
    let at = world.line(&ready, line).unwrap();
    assert_eq!(at.touches_ground_at_m, None);
    for (theme, _) in THEMES {
        let all = things(&world, Some(&ready), palette(theme));
        let drawn = |thing: Thing| {
            let found = all.iter().find(|(other, _)| *other == thing);
            found.unwrap_or_else(|| panic!("{thing:?}")).1.clone()
        };
        let near = |drawn: &Drawn, at_m: glam::DVec3| {
            let far = drawn.points_m.iter().map(|p| p.distance(single(at_m)));
            far.fold(f32::INFINITY, f32::min)
        };
        let rope = drawn(Thing::Line("pull-line".into()));
        assert!(rope.is_sound() && at.points().iter().all(|p| near(&rope, *p) < 0.05));
        let parts = [Thing::Redirect("oak-block".into()), Thing::Anchor("pull-line".into())];
        for (thing, at_m) in parts.into_iter().zip(&at.points_m) {
            let part = drawn(thing);
            assert!(part.is_sound() && !part.triangles.is_empty() && near(&part, *at_m) < 0.3);
        }
    }
    // At another cut it hangs on nothing.
    let ready = world.cut(1).unwrap();
    let all = things(&world, Some(&ready), palette(Theme::Day));
    assert!(all.iter().all(|(thing, _)| !matches!(thing, Thing::Line(_) | Thing::Anchor(_))));
}

#[test]
fn prop_where_a_line_meets_the_ground_is_marked() {
    // Down the bank east of the stump, which grows steeper: the ground stands above the chord.
    let text = mill_ash()
        .replace(
            "At(azimuth: \"289 deg\", distance: \"16 m\"), height: \"1 m\"",
            "At(azimuth: \"95 deg\", distance: \"2 m\"), height: \"2 cm\"",
        )
        .replace(
            "at: At(from: \"west:3\", azimuth: \"15 deg\", distance: \"14 m\"),\n                height: \"60 cm\"",
            "at: At(azimuth: \"95 deg\", distance: \"15 m\"),\n                height: \"2 cm\"",
        );
    let (world, ready) = pulled(&text);
    let (_, line) = world.lines_of("stem").next().unwrap();
    let at = world.line(&ready, line).unwrap();
    let touch_m = at.touches_ground_at_m.expect("a leg in the ground");
    assert!(world.site.terrain.depth_m(touch_m).unwrap() > 0.0);
    let start_m = at.points()[1];
    let along_m = at.touches_ground_m.unwrap();
    assert!((touch_m.distance(start_m) - along_m).abs() < 1e-9);
    let all = things(&world, Some(&ready), palette(Theme::Day));
    let (_, rope) = all.iter().find(|(t, _)| matches!(t, Thing::Line(_))).unwrap();
    let ring = rope.points_m.iter().filter(|p| p.distance(single(touch_m)) < 1.0).count();
    assert!(rope.is_sound() && ring > 24, "{ring}");
}
