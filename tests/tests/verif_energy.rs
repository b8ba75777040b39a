//! Solves its equations: where the ground law has a potential energy is kept, and elsewhere no
//! touch gives back more than e² of what it took.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::f64::consts::PI;

use glam::{DVec2, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::mover::{Mover, Pace},
    ground::{Ground, Strength, TopLayer},
    keyed::Key,
    motion::Motion,
    site::{Patch, Site},
    soil::{
        bed::Bed,
        contact::Fineness,
        kick::Exactness,
        testing::{bank, bank_normal, firm, log, pavement, soft, turf, wet},
    },
    tree::{Piece, Round},
};
use tumblewood_tests::{
    proof::{
        DOWN, any_attitude, bearing_all, clearance_m, constant, draws, log_with_stub, unless_long,
    },
    table::{Allowed::By, Check, Table},
};

/// Just above the ground in any attitude, coming down on it with some spin.
fn arriving(piece: &Piece, normal: DVec3, draw: &impl Fn(u64) -> f64) -> Motion {
    let level = DVec3::Y.cross(normal);
    let mut motion = Motion {
        centre_m: DVec3::ZERO,
        attitude: any_attitude(draw(1), draw(2), draw(3)),
        velocity_m_s: normal * (-5.0 + 3.0 * draw(4)) + level * 4.0 * draw(5) + DVec3::Y * draw(6),
        spin_rad_s: DVec3::new(draw(7), draw(8), draw(9)) * 3.0,
    };
    motion.centre_m = normal * (0.05 - clearance_m(piece, &motion, normal));
    motion
}

/// ∫ S(depth) dV over what lies under the plane through the origin, by slices across the axis and
/// strips across each (no part of the program).
fn stored_j(
    piece: &Piece,
    motion: &Motion,
    normal: DVec3,
    strength_pa: &impl Fn(f64) -> f64,
) -> f64 {
    let (slices, strips) = (600, 60);
    let mut energy = 0.0;
    for round in &piece.rounds {
        let (from, to) = (motion.point_m(round.from_m), motion.point_m(round.to_m));
        let axis = (to - from).normalize();
        let sine = (1.0 - axis.dot(normal).powi(2)).max(0.0).sqrt();
        let thick = from.distance(to) / f64::from(slices);
        for i in 0..slices {
            let share = (f64::from(i) + 0.5) / f64::from(slices);
            let depth = -(from + (to - from) * share).dot(normal);
            let r = round.from_radius_m + (round.to_radius_m - round.from_radius_m) * share;
            // Strips at r·cos ψ below the centre, from the surface (or the top) to the bottom.
            let most = (-depth / (r * sine)).clamp(-1.0, 1.0).acos();
            for j in 0..strips {
                let psi = most * (f64::from(j) + 0.5) / f64::from(strips);
                let area = 2.0 * (r * psi.sin()).powi(2) * most / f64::from(strips);
                energy += strength_pa(depth + r * sine * psi.cos()) * area * thick;
            }
        }
    }
    energy
}

/// Greatest error of kinetic + potential + stored energy through a second, as a share of the
/// kinetic energy at the start.
fn energy_error(
    piece: &Piece,
    ground: Ground,
    slope: f64,
    pace: &Pace,
    key: Key,
    strength_pa: &impl Fn(f64) -> f64,
) -> f64 {
    let site = bank(slope, ground);
    let bed = Bed::new(&site);
    let normal = bank_normal(slope);
    let start = arriving(piece, normal, &draws(key));
    let mut mover = Mover::new(piece, &start, &bed);
    let total = |m: &Mover<'_>| {
        m.kinetic_j()
            + piece.mass_kg * GRAVITY_M_S2 * m.centre_m.z
            + stored_j(piece, &m.motion(), normal, strength_pa)
    };
    let (begin, kinetic) = (total(&mover), mover.kinetic_j());
    mover.look(&bed, pace);
    let (mut time, mut steps, mut worst) = (0.0, 0, 0.0_f64);
    while time < 0.5 {
        let dt = mover.next_step_s();
        mover.step(&bed, DOWN, dt, pace);
        time += dt;
        steps += 1;
        if steps % 40 == 0 {
            worst = worst.max((total(&mover) - begin).abs() / kinetic);
        }
    }
    worst.max((total(&mover) - begin).abs() / kinetic)
}

/// Conservation is asked of 4 stations a segment, 12 points an arc and fine steps: what the
/// equations say, not what a drop needs.
fn fine(segment_m: f64) -> Pace {
    let fineness = Fineness { segment_m, stations: 4, arcs: 3 };
    Pace { fineness, steps_across: 60.0, longest_touching_s: 5e-4, ..Pace::default() }
}

#[test]
fn verif_energy_is_kept_where_strength_is_constant() {
    // e = 1, μ = c = 0, S constant: kinetic + potential + S·V is constant through whole touches.
    let (piece, strength) = (bearing_all(&log(2.4, 0.4), 400e3), 400e3);
    let (mut worst, mut worst_plain) = (0.0_f64, 0.0_f64);
    for case in 0..unless_long("energy, constant strength", 30, 300) {
        let key = Key::root(3).word("constant").number(case);
        let slope = 0.3 + 0.3 * draws(key)(0);
        let miss = |pace: &Pace| {
            energy_error(&piece, constant(1.0), slope, pace, key, &|d| {
                if d > 0.0 { strength } else { 0.0 }
            })
        };
        let (fine, plain) = (miss(&fine(0.3)), miss(&Pace::default()));
        worst = worst.max(fine);
        worst_plain = worst_plain.max(plain);
    }
    println!(
        "worst energy error of kinetic energy: {worst:.5}, as drops are stepped {worst_plain:.5}"
    );
    let mut check = Check::new(
        Table::Equations,
        "verif_energy::verif_energy_is_kept_where_strength_is_constant",
        "worst error of kinetic, potential and stored energy through touches with e = 1, as a share of \
         the kinetic energy",
        "conservation: the law is a potential, strength times volume under the surface (by slices)",
    );
    check.near("fine steps and points", "", worst, 0.0, By(0.003));
    check.near("as drops are stepped", "", worst_plain, 0.0, By(0.03));
    check.end();
}

/// Two cones back to back over a short cylinder: a closed surface without cut faces, whose
/// strength is that of the side everywhere.
fn spindle() -> Piece {
    let plain = log(2.4, 0.4);
    let round = |from: f64, to: f64, from_radius_m: f64, to_radius_m: f64| Round {
        from_m: DVec3::Z * from,
        to_m: DVec3::Z * to,
        from_radius_m,
        to_radius_m,
        from_is_face: false,
        to_is_face: false,
    };
    Piece {
        rounds: vec![
            round(-1.2, -0.3, 1e-4, 0.2),
            round(-0.3, 0.3, 0.2, 0.2),
            round(0.3, 1.2, 0.2, 1e-4),
        ],
        stem_rounds: 3,
        ..plain
    }
}

#[test]
fn verif_energy_is_kept_where_strength_depends_on_depth_alone() {
    // N the same at any depth and any facing, so S is N·s_u of the layer that the element is in,
    // blended over a fifth of the top layer's thickness to either side of its foot.
    let (thickness, top, soil, n) = (0.08, 30e3, 120e3, 5.14);
    let ground = Ground {
        top: Some(TopLayer { thickness_m: thickness, shear_strength_pa: top, friction: 0.0 }),
        soil: Strength::Cohesive { shear_strength_pa: soil },
        side_bearing_deep: n,
        sideways_share: 1.0,
        mobilised_at: 0.0,
        ..constant(1.0)
    };
    let strength = |depth: f64| {
        let share = ((depth - thickness) / (0.4 * thickness) + 0.5).clamp(0.0, 1.0);
        if depth > 0.0 { n * (top + (soil - top) * share) } else { 0.0 }
    };
    let piece = bearing_all(&spindle(), 1e9);
    let (mut worst, mut worst_coarse) = (0.0_f64, 0.0_f64);
    for case in 0..unless_long("energy, layered", 20, 200) {
        let key = Key::root(3).word("layered").number(case);
        let slope = 0.3 + 0.3 * draws(key)(0);
        let miss = |pace: &Pace| energy_error(&piece, ground, slope, pace, key, &strength);
        // The border of the layers is a knot along the axis that only short segments resolve.
        worst = worst.max(miss(&fine(0.05)));
        worst_coarse = worst_coarse.max(miss(&fine(0.3)));
    }
    println!("worst, layered: {worst:.5}, with segments of 0.3 m {worst_coarse:.5}");
    let mut check = Check::new(
        Table::Equations,
        "verif_energy::verif_energy_is_kept_where_strength_depends_on_depth_alone",
        "worst error of kinetic, potential and stored energy through touches of layered ground with \
         e = 1, as a share of the kinetic energy",
        "conservation: the law is a potential, strength summed over the volume (by slices)",
    );
    check.near("", "", worst, 0.0, By(0.005));
    check.end();
    // It is the sampling, not the law: longer segments must show it.
    assert!(worst_coarse > 2.0 * worst && worst_coarse < 0.04, "{worst_coarse}");
}

/// Work of one touch, J, measured from what anyone can see: twists, elements and the law's own
/// words, not the ledger.
#[derive(Clone, Copy, Debug, Default)]
struct Work {
    /// Against strength, by elements that go in.
    put_in_j: f64,
    /// Given back: what kinetic energy gained over what was put in and rubbed away.
    returned_j: f64,
}

/// One step; what it put in and what came back. Traction of elements on their way out is not
/// counted, so what came back is never overstated.
fn step_and_weigh(mover: &mut Mover<'_>, bed: &Bed<'_>, dt_s: f64, pace: &Pace) -> Work {
    mover.drift(0.5 * dt_s);
    let (before, kinetic) = (mover.motion(), mover.kinetic_j());
    let _ = mover.push(bed, DVec3::ZERO, dt_s, pace);
    let after = mover.motion();
    let v = |m: &Motion, r: DVec3| m.velocity_m_s + m.spin_rad_s.cross(r);
    let (mut against_strength, mut else_lost) = (0.0, 0.0);
    for quad in &mover.contact.quads {
        for lane in 0..4 {
            let at = |a: &[[f64; 4]; 3]| DVec3::new(a[0][lane], a[1][lane], a[2][lane]);
            let (n, r) = (at(&quad.normal), at(&quad.arm_m));
            let now = v(&after, r);
            let mean = 0.5 * (v(&before, r) + now);
            let (going_in, area) = (now.dot(n), quad.area_m2[lane]);
            if going_in <= 0.0 {
                continue;
            }
            let smooth = going_in / going_in.hypot(pace.exactness.smoothing_m_s);
            let e_sq = quad.restitution_sq;
            let strength =
                quad.strength_pa[lane] * (0.5 * (1.0 + e_sq) + 0.5 * (1.0 - e_sq) * smooth);
            let inertial = quad.inertial_kg_m3 * going_in * going_in;
            let slip = now - n * going_in;
            let pull =
                (quad.friction[lane] * (strength + inertial)).min(quad.traction_limit_pa[lane]);
            against_strength += strength * area * mean.dot(n) * dt_s;
            let rubbed = pull * slip.dot(mean) / slip.length().hypot(pace.exactness.smoothing_m_s);
            else_lost += (inertial * mean.dot(n) + rubbed) * area * dt_s;
        }
    }
    let gained = mover.kinetic_j() - kinetic;
    mover.drift(0.5 * dt_s);
    Work { put_in_j: against_strength, returned_j: gained + against_strength + else_lost }
}

/// A ground of any kind, from wet litter to pavement, loose ground among them.
fn any_ground(draw: &impl Fn(u64) -> f64, frictionless: bool) -> Ground {
    let loose = Strength::Frictional {
        friction_angle_rad: (34.0 + 6.0 * draw(40)).to_radians(),
        unit_weight_n_m3: 17e3,
    };
    let kinds = [firm(), turf(), soft(), wet(), pavement(), Ground { soil: loose, ..turf() }];
    let kind = kinds[((0.5 * (draw(41) + 1.0)) * 6.0) as usize % 6];
    let friction = |mu: f64| if frictionless { 0.0 } else { mu };
    Ground {
        top: kind.top.map(|top| TopLayer { friction: friction(top.friction), ..top }),
        friction: friction(kind.friction),
        restitution: 0.25 + 0.2 * draw(42),
        ..kind
    }
}

/// A bank with another ground beyond a line through the origin.
fn bordered(slope: f64, here: Ground, beyond: Ground, turn_rad: f64) -> Site {
    let along = DVec2::from_angle(turn_rad);
    let out = along.perp();
    let outline_m =
        vec![along * -50.0, along * 50.0, along * 50.0 + out * 50.0, along * -50.0 + out * 50.0];
    Site {
        patches: vec![Patch { id: "beyond".to_owned(), outline_m, within_m: None, ground: beyond }],
        ..bank(slope, here)
    }
}

#[test]
fn verif_a_touch_returns_at_most_e_squared_of_what_was_put_in() {
    // As drops are stepped, and four times as finely with every sweep settled: what is over e² is
    // the steps' doing and goes with them.
    let exactness =
        Exactness { most_sweeps: 40, share: 1e-7, fast_m_s: f64::INFINITY, ..Exactness::default() };
    let plain = Pace::default();
    let fine = Pace {
        exactness,
        steps_across: 4.0 * plain.steps_across,
        longest_touching_s: 0.5 * plain.longest_touching_s,
        longest_sunk_s: 0.5 * plain.longest_touching_s,
        ..plain
    };
    let mut check = Check::new(
        Table::Equations,
        "verif_energy::verif_a_touch_returns_at_most_e_squared_of_what_was_put_in",
        "most that a touch gives back over e² of the work put in, as a share of that work; touches on \
         grounds of all kinds and across their borders",
        "bound: e², weighed from twists and elements",
    );
    for (name, pace, most) in [("as stepped", plain, 0.02), ("four times as finely", fine, 0.005)] {
        let worst = touches_return_at_most(name, &pace);
        check.near(name, "", worst.max(0.0), 0.0, By(most));
    }
    check.end();
}

/// Most over e² that came back of the work put in.
fn touches_return_at_most(name: &str, pace: &Pace) -> f64 {
    let pieces = [log(2.4, 0.4), log_with_stub(1.8, 0.35), log_with_stub(3.6, 0.3)];
    let (mut touches, mut worst, mut worst_gain, mut shares) = (0, f64::NEG_INFINITY, 0.0_f64, 0.0);
    for case in 0..unless_long("energy of a touch", 120, 2_000) {
        let key = Key::root(3).word("touch").number(case);
        let draw = draws(key);
        let there = draws(key.word("beyond"));
        let frictionless = case % 2 == 0;
        let (here, beyond) = (any_ground(&draw, frictionless), any_ground(&there, frictionless));
        let slope = 0.3 + 0.3 * draw(0);
        let site = bordered(slope, here, beyond, PI * draw(30));
        let bed = Bed::new(&site);
        let e_sq = here.restitution.max(beyond.restitution).powi(2);
        let piece = &pieces[case as usize % pieces.len()];
        let start = arriving(piece, bank_normal(slope), &draw);
        let mut mover = Mover::new(piece, &start, &bed);
        mover.look(&bed, pace);
        let most_j = mover.kinetic_j();
        let (mut time, mut touch, mut touching) = (0.0, Work::default(), false);
        while time < 0.6 {
            let dt = mover.next_step_s();
            let work = step_and_weigh(&mut mover, &bed, dt, pace);
            time += dt;
            worst_gain = worst_gain.max(mover.kinetic_j() / most_j - 1.0);
            touch.put_in_j += work.put_in_j;
            touch.returned_j += work.returned_j;
            let now = !mover.contact.quads.is_empty();
            if touching && !now || time >= 0.6 {
                // What a touch of a thousandth of the start's energy leaves is rounding.
                if touch.put_in_j > 1e-3 * most_j {
                    touches += 1;
                    let over = touch.returned_j / touch.put_in_j - e_sq;
                    shares += touch.returned_j / touch.put_in_j / e_sq;
                    worst = worst.max(over);
                }
                touch = Work::default();
            }
            touching = now;
        }
    }
    println!(
        "{name}: {touches} touches: at most e² {worst:+.5} of the work put in came back, {:.2} of e² on \
         average; kinetic energy rose by at most {worst_gain:.1e} of itself",
        shares / f64::from(touches)
    );
    assert!(touches > 100, "{touches}");
    assert!(worst_gain < 1e-3, "{worst_gain}");
    // Not because nothing came back at all.
    assert!(shares / f64::from(touches) > 0.3, "{shares}");
    worst
}
