use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};

use super::{Contact, GapWatch, Near, Passage, Push, RigidGround, Solids, gap, gap_m};
use crate::{
    GRAVITY_M_S2,
    drop::{Against, Place},
    keyed::Key,
    motion::Motion,
    site::{Answer, Body, BodyKind, Shape},
    terrain::{Grid, Terrain},
    tree::{Piece, Round},
};

/// A cylinder of green wood, 900 kg/m³.
fn log(length_m: f64, radius_m: f64) -> Piece {
    let half = 0.5 * length_m * DVec3::Z;
    let mass_kg = 900.0 * std::f64::consts::PI * radius_m * radius_m * length_m;
    let across = mass_kg * (3.0 * radius_m * radius_m + length_m * length_m) / 12.0;
    Piece {
        rounds: vec![Round {
            from_m: -half,
            to_m: half,
            from_radius_m: radius_m,
            to_radius_m: radius_m,
            from_is_face: true,
            to_is_face: true,
        }],
        stem_rounds: 1,
        mass_kg,
        inertia_kg_m2: DVec3::new(across, across, 0.5 * mass_kg * radius_m * radius_m),
        side_crush_pa: 5e6,
        end_crush_pa: 2e7,
        brush: crate::tree::Brush::default(),
    }
}

fn at(centre_m: DVec3, attitude: DQuat, velocity_m_s: DVec3) -> Motion {
    Motion { centre_m, attitude, velocity_m_s, spin_rad_s: DVec3::ZERO }
}

fn body(answer: Answer, shapes: Vec<Shape>) -> Body {
    Body { id: "b".into(), kind: BodyKind::Structure, is_target: true, answer, shapes }
}

fn slab(centre_m: DVec3, half_m: DVec3) -> Body {
    let attitude = DQuat::IDENTITY;
    body(Answer::Fixed, vec![Shape::Cuboid { centre_m, attitude, half_m }])
}

/// Turns the body's z (butt to top) into `to`.
fn lying(to: DVec3) -> DQuat {
    DQuat::from_rotation_arc(DVec3::Z, to)
}

/// Half a drift, contact at the middle, half a drift: what a drop does with a step.
fn drift(motions: &mut [Motion], half_s: f64) {
    for m in motions {
        m.centre_m += half_s * m.velocity_m_s;
        m.attitude = gap::turned(m.attitude, half_s * m.spin_rad_s);
    }
}

fn push(motions: &mut [Motion], pushes: &[Push]) {
    for (m, push) in motions.iter_mut().zip(pushes) {
        *m = push.moved(m);
    }
}

/// Runs with gravity; returns every contact.
fn run(
    near: &mut Near,
    motions: &mut [Motion],
    gravity: DVec3,
    dt_s: f64,
    steps: usize,
) -> Vec<Contact> {
    let mut all = Vec::new();
    for _ in 0..steps {
        drift(motions, 0.5 * dt_s);
        motions.iter_mut().for_each(|m| m.velocity_m_s += gravity * dt_s);
        let response = near.step(motions, dt_s);
        all.extend_from_slice(&response.contacts);
        let pushes = response.pushes.clone();
        push(motions, &pushes);
        drift(motions, 0.5 * dt_s);
    }
    all
}

#[test]
fn verif_a_log_rolls_down_a_ramp_at_two_thirds() {
    // A solid cylinder that rolls without slip: a = 2/3·g·sin θ, whatever the step.
    let theta = 20.0_f64.to_radians();
    let gravity = GRAVITY_M_S2 * DVec3::new(libm::sin(theta), 0.0, -libm::cos(theta));
    // A box of 100 m, and a hull as large as a roof.
    let roof =
        (0..8).map(|i| DVec3::new(4.0 + 6.0 * sign(i & 1), 6.0 * sign(i & 2), -1.0 + sign(i & 4)));
    let solids = Solids::new(&[
        slab(DVec3::new(0.0, 0.0, -1.0), DVec3::new(50.0, 50.0, 1.0)),
        body(Answer::Fixed, vec![Shape::Hull { points_m: roof.collect() }]),
    ]);
    let piece = log(2.4, 0.2);
    for (on, dt_s, steps) in [(0, 1e-3, 2000), (0, 2.5e-4, 8000), (1, 1e-3, 2000)] {
        let start = DVec3::new(0.0, 0.0, 0.2);
        let mut near = Near::new(&solids, &piece, &[on], 0.6, start);
        let mut motions = [at(start, lying(DVec3::Y), DVec3::ZERO)];
        let contacts = run(&mut near, &mut motions, gravity, dt_s, steps);
        let speed = motions[0].velocity_m_s.x;
        let expected = 2.0 / 3.0 * gravity.x * dt_s * steps as f64;
        assert!((speed / expected - 1.0).abs() < 3e-3, "{dt_s}: {speed} {expected}");
        assert!((motions[0].spin_rad_s.y * 0.2 / speed - 1.0).abs() < 1e-3);
        assert!((motions[0].centre_m.z - 0.2).abs() < 5e-4, "{}", motions[0].centre_m.z);
        assert!(motions[0].velocity_m_s.y.abs() < 1e-3 * speed);
        assert_eq!(contacts.last().map(|c| c.place), Some(Place::Flat));
    }
}

#[test]
fn verif_a_sliding_log_stops_where_coulomb_says() {
    // End-on along its own axis: stops after v²/2μg.
    let solids = Solids::new(&[slab(DVec3::new(0.0, 0.0, -1.0), DVec3::new(50.0, 50.0, 1.0))]);
    let piece = log(2.4, 0.2);
    let start = DVec3::new(0.0, 0.0, 0.2);
    let mut near = Near::new(&solids, &piece, &[0], 0.5, start);
    let mut motions = [at(start, lying(DVec3::X), DVec3::new(3.0, 0.0, 0.0))];
    run(&mut near, &mut motions, -GRAVITY_M_S2 * DVec3::Z, 1e-3, 1500);
    let expected = 9.0 / (2.0 * 0.5 * GRAVITY_M_S2);
    let got = motions[0].centre_m.x;
    assert!((got / expected - 1.0).abs() < 5e-3, "{got} {expected}");
    assert!(motions[0].velocity_m_s.length() < 1e-4, "{:?}", motions[0]);
}

#[test]
fn verif_a_hit_stops_at_the_wall_and_is_told() {
    let solids = Solids::new(&[
        slab(DVec3::new(0.0, 30.0, 0.0), DVec3::splat(1.0)),
        slab(DVec3::new(3.0, 0.0, 0.0), DVec3::new(1.0, 5.0, 5.0)),
    ]);
    let piece = log(2.0, 0.2);
    for (attitude, speed, place) in [
        (lying(DVec3::X), 8.0, Place::Top),
        (lying(-DVec3::X), 8.0, Place::Butt),
        (lying(DVec3::Y), 30.0, Place::Flat),
    ] {
        let mut near = Near::new(&solids, &piece, &[0, 1], 0.5, DVec3::ZERO);
        let mut motions = [at(DVec3::ZERO, attitude, DVec3::new(speed, 0.0, 0.0))];
        let contacts = run(&mut near, &mut motions, DVec3::ZERO, 1e-3, 500);
        assert!(motions[0].velocity_m_s.x.abs() < 1e-3 * speed, "{:?}", motions[0]);
        let impulse: f64 = contacts.iter().map(|c| c.impulse_n_s).sum();
        let expected = piece.mass_kg * speed;
        assert!((impulse / expected - 1.0).abs() < 2e-3, "{impulse} {expected}");
        let first = contacts[0];
        assert_eq!((first.mover, first.against), (0, Against::Body(1)));
        assert_eq!(first.place, place);
        assert!(first.normal.distance(-DVec3::X) < 1e-4);
        // Found up to one and a half steps' way ahead of the wall.
        assert!((first.point_m.x - 2.0).abs() < 1.6e-3 * speed, "{:?}", first.point_m);
        let reach = if place == Place::Flat { 0.2 } else { 1.0 };
        assert!(motions[0].centre_m.x < 2.0 - reach + 1e-3, "{}", motions[0].centre_m.x);
    }
}

#[test]
fn verif_a_hit_on_a_free_log_conserves_momentum() {
    let piece = log(2.0, 0.25);
    let barrier = log(3.0, 0.15);
    let lies = at(DVec3::new(2.0, 0.3, 0.1), lying(DVec3::Y), DVec3::ZERO);
    let answer = Answer::Free { piece: Box::new(barrier.clone()), motion: lies };
    let solids = Solids::new(&[slab(DVec3::splat(40.0), DVec3::ONE), body(answer, vec![])]);
    let (index, start) = solids.free().next().unwrap();
    assert_eq!((index, start), (1, lies));
    let mut near = Near::new(&solids, &piece, &[0, 1], 0.5, DVec3::ZERO);
    assert_eq!(near.free().collect::<Vec<_>>(), [1]);
    let mut piece_motion = at(DVec3::ZERO, lying(DVec3::X), DVec3::new(6.0, 0.2, 0.0));
    piece_motion.spin_rad_s = DVec3::new(2.0, 0.3, 0.0);
    let mut motions = [piece_motion, start];
    let momentum = |m: &[Motion]| {
        let each = |(p, m): (&Piece, &Motion)| {
            let back = m.attitude.conjugate();
            let spin = m.attitude * (p.inertia_kg_m2 * (back * m.spin_rad_s));
            let line = p.mass_kg * m.velocity_m_s;
            (line, m.centre_m.cross(line) + spin)
        };
        let both: Vec<_> = [&piece, &barrier].into_iter().zip(m).map(each).collect();
        (both[0].0 + both[1].0, both[0].1 + both[1].1)
    };
    let mut touched = 0;
    for _ in 0..400 {
        drift(&mut motions, 5e-4);
        let before = momentum(&motions);
        let contacts = near.step(&mut motions, 1e-3).contacts.clone();
        let after = momentum(&motions);
        touched += usize::from(contacts.iter().any(|c| c.against == Against::Body(1)));
        // f32 rounding of a few hundred N s.
        assert!(before.0.distance(after.0) < 2e-3, "{before:?} {after:?}");
        // A speculative contact acts across what is left of the gap, at most a step's way.
        assert!(before.1.distance(after.1) < 2.0, "{before:?} {after:?}");
        drift(&mut motions, 5e-4);
    }
    assert!(touched > 0);
    assert!(motions[1].velocity_m_s.x > 1.0, "{:?}", motions[1]);
}

#[test]
fn verif_without_touch_every_bit_comes_back() {
    let solids = Solids::new(&[slab(DVec3::new(0.0, 0.0, -1.0), DVec3::new(9.0, 9.0, 1.0))]);
    let piece = log(2.0, 0.2);
    // Within rapier's reach but moving away, and negative zeros among the velocities.
    let mut motions =
        [at(DVec3::new(0.1, 0.2, 0.203), lying(DVec3::Y), DVec3::new(-0.0, 0.1, 0.7))];
    motions[0].spin_rad_s = DVec3::new(0.123_456_789, -0.0, 0.0);
    let before = motions[0];
    let mut near = Near::new(&solids, &piece, &[0], 0.5, DVec3::ZERO);
    let response = near.step(&mut motions, 1e-3).clone();
    assert_eq!(near.rapier_steps(), 1);
    assert!(response.contacts.is_empty());
    assert_eq!(response.pushes, [Push::default()]);
    let bits = |m: &Motion| [m.velocity_m_s, m.spin_rad_s].map(|v| v.to_array().map(f64::to_bits));
    assert_eq!(bits(&motions[0]), bits(&before));
    assert_eq!(motions[0].attitude, before.attitude);
}

#[test]
fn prop_contacts_never_add_energy() {
    let solids = Solids::new(&[
        slab(DVec3::new(0.0, 0.0, -1.0), DVec3::new(9.0, 9.0, 1.0)),
        slab(DVec3::new(2.0, 0.0, 1.0), DVec3::new(0.3, 3.0, 1.0)),
    ]);
    let piece = log(1.8, 0.2);
    let energy = |m: &Motion| {
        let w = m.attitude.conjugate() * m.spin_rad_s;
        0.5 * (piece.mass_kg * m.velocity_m_s.length_squared() + w.dot(piece.inertia_kg_m2 * w))
    };
    let key = Key::root(11).word("energy");
    let mut touched = 0;
    for i in 0..40 {
        let draw = |j: u64| 2.0 * key.number(i).number(j).uniform() - 1.0;
        let turn = DQuat::from_xyzw(draw(1), draw(2), draw(3), draw(4)).normalize();
        let mut motions =
            [at(DVec3::new(0.0, 0.0, 1.2), turn, DVec3::new(6.0, draw(5), 4.0 * draw(6)))];
        motions[0].spin_rad_s = 8.0 * DVec3::new(draw(7), draw(8), draw(9));
        let mut near = Near::new(&solids, &piece, &[0, 1], 0.5, DVec3::ZERO);
        for step in 0..800 {
            // Uneven steps: what warm start gets wrong.
            let dt_s = if step % 7 == 0 { 1e-4 } else { 1e-3 };
            drift(&mut motions, 0.5 * dt_s);
            motions[0].velocity_m_s.z -= GRAVITY_M_S2 * dt_s;
            let before = energy(&motions[0]);
            let response = near.step(&mut motions, dt_s).clone();
            let after = energy(&motions[0]);
            touched += response.contacts.len();
            assert!(after <= before * (1.0 + 1e-12) + 1e-12, "{i} {step}: {before} {after}");
            push(&mut motions, &response.pushes);
            drift(&mut motions, 0.5 * dt_s);
        }
        let m = &motions[0];
        assert!(m.centre_m.z > 0.15, "{i}: went through the floor {m:?}");
    }
    assert!(touched > 1000);
}

fn wooded() -> Vec<Body> {
    let key = Key::root(3).word("wood");
    let place = |i: u64, j: u64| 12.0 * (key.number(i).number(j).uniform() - 0.5);
    let trunk = |i: u64| {
        let foot = DVec3::new(place(i, 1), place(i, 2), -1.0);
        let shape = Shape::Capsule { from_m: foot, to_m: foot + 9.0 * DVec3::Z, radius_m: 0.15 };
        body(Answer::Fixed, vec![shape])
    };
    let mut bodies: Vec<_> = (0..48).map(trunk).collect();
    bodies.push(slab(DVec3::new(0.0, 0.0, -1.0), DVec3::new(30.0, 30.0, 1.0)));
    let lies = at(DVec3::new(3.0, 0.0, 0.15), lying(DVec3::Y), DVec3::ZERO);
    let free = Answer::Free { piece: Box::new(log(2.0, 0.15)), motion: lies };
    bodies.push(body(free, vec![]));
    bodies
}

#[test]
fn prop_the_same_bits_again_and_on_any_thread() {
    let bodies = wooded();
    let solids = Solids::new(&bodies);
    let which: Vec<usize> = (0..bodies.len()).collect();
    let piece = log(1.8, 0.2);
    let once = || {
        let mut near = Near::new(&solids, &piece, &which, 0.5, DVec3::ZERO);
        let (_, lies) = solids.free().next().unwrap();
        let start = at(DVec3::new(-8.0, 0.0, 1.0), lying(DVec3::Y), DVec3::new(9.0, 0.5, 0.0));
        let mut motions = [start, lies];
        let contacts = run(&mut near, &mut motions, -GRAVITY_M_S2 * DVec3::Z, 1e-3, 1200);
        (format!("{motions:?} {contacts:?}"), contacts.len())
    };
    let first = once();
    assert!(first.1 > 100, "{}", first.1);
    let others: Vec<_> = std::thread::scope(|s| {
        let threads: Vec<_> = (0..3).map(|_| s.spawn(once)).collect();
        threads.into_iter().map(|t| t.join().unwrap()).collect()
    });
    assert!(others.iter().all(|o| *o == first));
}

#[test]
fn verif_gaps_match_dense_sampling() {
    // Points on the sharp surface of a tapered round against closed forms of distance to a box
    // and a capsule; the rim's rounding may add up to 0.46·ρ, sampling up to its own spacing.
    let key = Key::root(5).word("gap");
    let (half_m, from_m, to_m) = (0.8, 0.3, 0.2);
    let mut piece = log(2.0 * half_m, from_m);
    piece.rounds[0].to_radius_m = to_m;
    let (box_half, capsule) = (DVec3::new(0.5, 0.7, 0.3), (DVec3::Z * -1.0, DVec3::Z, 0.2));
    let cuboid =
        Shape::Cuboid { centre_m: DVec3::ZERO, attitude: DQuat::IDENTITY, half_m: box_half };
    let tube = Shape::Capsule { from_m: capsule.0, to_m: capsule.1, radius_m: capsule.2 };
    let hull = Shape::Hull {
        points_m: (0..8)
            .map(|i| box_half * DVec3::new(sign(i & 1), sign(i & 2), sign(i & 4)))
            .collect(),
    };
    for i in 0..12 {
        let draw = |j: u64| 2.0 * key.number(i).number(j).uniform() - 1.0;
        let away = DVec3::new(draw(1), draw(2), draw(3)).normalize() * (2.0 + 1.5 * draw(8).abs());
        let turn = DQuat::from_xyzw(draw(4), draw(5), draw(6), draw(7)).normalize();
        let motion = at(away, turn, DVec3::ZERO);
        let (mut to_box, mut to_tube) = (f64::INFINITY, f64::INFINITY);
        let n = 160;
        for a in 0..n {
            let angle = std::f64::consts::TAU * f64::from(a) / f64::from(n);
            let around = DVec3::new(libm::cos(angle), libm::sin(angle), 0.0);
            for k in 0..=n {
                let s = f64::from(k) / f64::from(n);
                let side =
                    around * (from_m + s * (to_m - from_m)) + (2.0 * s - 1.0) * half_m * DVec3::Z;
                let butt = around * (s * from_m) - half_m * DVec3::Z;
                let top = around * (s * to_m) + half_m * DVec3::Z;
                for local in [side, butt, top] {
                    let p = motion.point_m(local);
                    to_box = to_box.min((p.abs() - box_half).max(DVec3::ZERO).length());
                    let on_axis = DVec3::new(0.0, 0.0, p.z.clamp(-1.0, 1.0));
                    to_tube = to_tube.min((p.distance(on_axis) - capsule.2).max(0.0));
                }
            }
        }
        for (shape, sampled) in [(&cuboid, to_box), (&hull, to_box), (&tube, to_tube)] {
            let gap = gap_m(&piece, &motion, &body(Answer::Noted, vec![shape.clone()]));
            assert!(gap > sampled - 0.006 && gap < sampled + 0.0095, "{i}: {gap} {sampled}");
        }
    }
}

fn sign(bit: i32) -> f64 {
    if bit == 0 { -1.0 } else { 1.0 }
}

/// A path over a slab and a wall that rises through the height of a wire.
fn passing(x: f64) -> Motion {
    let z = (6.0 - 0.05 * (x - 20.0).powi(2)).max(0.0);
    at(DVec3::new(x, 0.0, z), lying(DVec3::X), DVec3::new(10.0, 0.0, 0.0))
}

fn passed() -> [Body; 4] {
    let wire = Shape::Capsule {
        from_m: DVec3::new(20.0, -9.0, 6.0),
        to_m: DVec3::new(20.0, 9.0, 6.0),
        radius_m: 0.005,
    };
    [
        slab(DVec3::new(10.0, 4.0, 0.0), DVec3::ONE),
        slab(DVec3::new(30.0, 1.5, 0.0), DVec3::new(1.0, 1.0, 1.0)),
        body(Answer::Noted, vec![wire]),
        body(Answer::Noted, vec![]),
    ]
}

#[test]
fn verif_the_watch_finds_the_near_ones_and_the_touched_ones() {
    let solids = Solids::new(&passed());
    let piece = log(2.0, 0.2);
    let mut watch = GapWatch::new(&solids, &piece);
    let (mut steps, mut near_seen, mut touch_x) = (0_u64, Vec::new(), None);
    let mut x = 0.0;
    while x < 60.0 {
        x += 0.005;
        steps += 1;
        let found = watch.look(&solids, &[passing(x)], &[24.0], 5e-4, 5e-4);
        if found.near_changed {
            near_seen.push((watch.near().to_vec(), x));
        }
        if found.touched {
            assert_eq!(watch.touched(), [2]);
            touch_x = Some(x);
        }
    }
    let first_x = touch_x.unwrap();
    assert!((18.0..20.0).contains(&first_x), "{first_x}");
    // The second slab comes within 0.3 m and is left at 0.6 m; the first and the wire never are.
    assert_eq!(near_seen.iter().map(|n| n.0.clone()).collect::<Vec<_>>(), [vec![1], vec![]]);
    assert!(watch.looks() < steps / 10, "{} of {steps}", watch.looks());
}

#[test]
fn prop_only_what_is_in_reach_shortens_a_step() {
    // The same places looked at with and without the rest of the bodies, and from the middle on:
    // what is allowed depends on the bodies in reach alone, whatever was looked at before.
    let (all, piece) = (passed(), log(2.0, 0.2));
    let look = |watch: &mut GapWatch, solids: &Solids, x: f64, step_s: f64| {
        watch.look(solids, &[passing(x)], &[16.0], 0.05, step_s)
    };
    let whole = Solids::new(&all);
    let mut watch = GapWatch::new(&whole, &piece);
    let (mut shortened, mut free, mut touched) = (0, 0, false);
    for k in 0..120 {
        let x = 0.5 * f64::from(k);
        let found = look(&mut watch, &whole, x, 0.1);
        let gaps_m = all.each_ref().map(|b| gap_m(&piece, &passing(x), b));
        let reach: Vec<Body> = all
            .iter()
            .zip(gaps_m)
            .filter(|(_, gap_m)| *gap_m <= found.reach_m)
            .map(|(body, _)| body.clone())
            .collect();
        let near = watch.near().len();
        let alone = Solids::new(&reach);
        let fresh = look(&mut GapWatch::new(&alone, &piece), &alone, x, 0.1);
        // Leaving is later than coming near, and what was touched shortens nothing any more.
        touched |= found.touched;
        if near == 0 && !touched {
            assert_eq!(found.step_s, fresh.step_s, "at {x}");
        }
        if reach.is_empty() {
            assert_eq!(found.step_s, 0.1, "at {x}");
            free += 1;
        }
        shortened += i32::from(found.step_s < 0.1);
    }
    assert!(shortened > 5 && free > 40, "{shortened} {free}");
}

#[test]
fn verif_the_least_gap_is_measured_from_where_a_piece_went() {
    let (bodies, piece) = (passed(), log(2.0, 0.2));
    let mut passage = Passage::default();
    let mut brute = [f64::INFINITY; 3];
    for k in 0..12_000 {
        let motion = passing(0.005 * f64::from(k));
        if k % 50 == 0 {
            passage.keep(motion.centre_m, motion.attitude);
        }
        for (b, body) in brute.iter_mut().zip(&bodies) {
            *b = b.min(gap_m(&piece, &motion, body));
        }
    }
    for (body, exact) in bodies.iter().zip(brute) {
        let got = passage.gap_m(&piece, body);
        assert!((got - exact).abs() < 0.01 * exact + 0.0025, "{got} {exact}");
    }
    assert_eq!(passage.gap_m(&piece, &bodies[2]), 0.0);
    assert_eq!(passage.gap_m(&piece, &bodies[3]), f64::INFINITY);
    assert!((brute[1] - 0.3).abs() < 1e-3, "{}", brute[1]);
}

#[test]
fn verif_a_log_slides_down_rigid_ground_as_coulomb_says() {
    // a = g·(sin θ − μ·cos θ), end-on, across the triangles of a plane.
    let slope = 0.5_f64;
    let (nx, ny) = (121, 31);
    let heights_m = (0..ny * nx).map(|k| 900.0 - 0.5 * (k % nx) as f32).collect();
    let grid = Grid { origin_m: DVec2::new(-10.0, -15.0), cell_m: 1.0, nx, ny, heights_m };
    let terrain = Arc::new(Terrain::from(grid));
    let down = DVec3::new(1.0, 0.0, -slope).normalize();
    let up = DVec3::new(slope, 0.0, 1.0).normalize();
    let piece = log(2.4, 0.2);
    let ground = terrain.surface(5.0, 0.3).unwrap().height_m;
    let start = DVec3::new(5.0, 0.3, ground) + 0.2 * up;
    let mut rigid = RigidGround::new(terrain, 0.3, &Solids::default(), &piece, &[], 0.5, start);
    let mut motions = [at(start, lying(down), DVec3::ZERO)];
    let (dt_s, steps) = (1e-3, 4000);
    let mut grounded = 0;
    for _ in 0..steps {
        drift(&mut motions, 0.5 * dt_s);
        let response = rigid.step(&mut motions, dt_s);
        grounded += usize::from(response.contacts.iter().any(|c| c.against == Against::Ground));
        let pushes = response.pushes.clone();
        push(&mut motions, &pushes);
        drift(&mut motions, 0.5 * dt_s);
    }
    let expected = GRAVITY_M_S2 * (-down.z - 0.3 * up.z) * dt_s * f64::from(steps);
    let speed = motions[0].velocity_m_s.dot(down);
    assert!((speed / expected - 1.0).abs() < 0.01, "{speed} {expected}");
    // It went through several windows and stayed on the plane.
    let way = motions[0].centre_m.distance(start);
    assert!(way > 12.0, "{way}");
    assert!(((motions[0].centre_m - start).dot(up)).abs() < 2e-3);
    assert!(grounded > 3900, "{grounded}");
}
