//! Solves its equations: how deep a piece goes in, and what a caught end does, against closed forms.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use glam::{DQuat, DVec3};
use tumblewood::{
    drop::mover::{Mover, Pace},
    ground::Ground,
    soil::{
        bed::Bed,
        testing::{bank, log},
    },
    tree::Piece,
};
use tumblewood_tests::{
    proof::{DOWN, bearing_all, constant, falling},
    table::{
        Allowed::{self, Share},
        Check, Table,
    },
};

const M_PER_FT: f64 = 0.3048;

/// How deep a log goes into level ground at this speed before it stops, with no gravity, m.
fn deepest_m(
    pace: &Pace,
    piece: &Piece,
    ground: Ground,
    attitude: DQuat,
    half_m: f64,
    speed_m_s: f64,
) -> f64 {
    let site = bank(0.0, ground);
    let bed = Bed::new(&site);
    let start = falling(DVec3::Z * (half_m + 1e-3), attitude, DVec3::Z * -speed_m_s);
    let mut mover = Mover::new(piece, &start, &bed);
    mover.look(&bed, pace);
    let mut time = 0.0;
    while time < 1.0 && mover.velocity_m_s.z < -1e-4 {
        let dt = mover.next_step_s();
        mover.step(&bed, DVec3::ZERO, dt, pace);
        time += dt;
    }
    half_m - mover.centre_m.z
}

/// Depth end on over Poncelet's, at strengths, speeds and inertial factors.
fn against_poncelet(mut check: Check, pace: &Pace, allowed: Allowed) {
    let (length_m, radius_m) = (2.4, 0.2);
    let area_m2 = PI * radius_m * radius_m;
    for strength_pa in [100e3, 400e3] {
        let piece = bearing_all(&log(length_m, 2.0 * radius_m), strength_pa);
        for speed_m_s in [4.0_f64, 12.0] {
            for c in [0.0, 1.0, 2.0] {
                let density_kg_m3 = 1_600.0;
                let ground = Ground { inertial_factor: c, density_kg_m3, ..constant(0.25) };
                let grown = c * density_kg_m3 * speed_m_s * speed_m_s / strength_pa;
                // ln(1 + x)/x, 1 where there is no inertial term.
                let less = if grown > 0.0 { grown.ln_1p() / grown } else { 1.0 };
                let plain = piece.mass_kg * speed_m_s * speed_m_s / (2.0 * strength_pa * area_m2);
                let upright = DQuat::IDENTITY;
                let ours = deepest_m(pace, &piece, ground, upright, 0.5 * length_m, speed_m_s);
                let name = format!("S {:.0} kPa, {speed_m_s} m/s, c {c}", strength_pa / 1e3);
                check.near(&name, "m", ours, plain * less, allowed);
            }
        }
    }
    check.end();
}

#[test]
fn verif_an_end_goes_in_as_deep_as_poncelet_says() {
    let check = Check::new(
        Table::Equations,
        "verif_penetration::verif_an_end_goes_in_as_deep_as_poncelet_says",
        "depth at which a log stops end on in ground of one strength S with an inertial term c ρ v²",
        "closed form (Poncelet): z = m/(2 c ρ A) ln(1 + c ρ v²/S); c = 0: z = m v²/(2 S A)",
    );
    // The inertial term is taken with the speed after each step, which is less than in its middle.
    against_poncelet(check, &Pace::default(), Share(0.02));
}

#[test]
fn verif_an_end_goes_in_as_deep_as_poncelet_says_with_fine_steps() {
    let check = Check::new(
        Table::Equations,
        "verif_penetration::verif_an_end_goes_in_as_deep_as_poncelet_says_with_fine_steps",
        "depth at which a log stops end on in ground of one strength S, in steps of a twentieth",
        "closed form (Poncelet): z = m/(2 c ρ A) ln(1 + c ρ v²/S)",
    );
    let plain = Pace::default();
    let pace = Pace {
        steps_across: 20.0 * plain.steps_across,
        longest_touching_s: 0.05 * plain.longest_touching_s,
        longest_sunk_s: 0.05 * plain.longest_touching_s,
        ..plain
    };
    against_poncelet(check, &pace, Share(0.002));
}

/// A flush end takes up `½·S·A·z²/q` while its depth is under q, its share of the diameter, and
/// `S·A·(z − q/2)` past it.
#[test]
fn verif_an_end_is_met_by_a_spring_until_strength_is_mobilised() {
    let mut check = Check::new(
        Table::Equations,
        "verif_penetration::verif_an_end_is_met_by_a_spring_until_strength_is_mobilised",
        "depth at which a log stops end on in ground of one strength S that takes a depth q to \
         resist in full",
        "closed form: z = v √(m q/(S A)) up to q; m v²/(2 S A) + q/2 past it",
    );
    let (length_m, radius_m) = (2.4, 0.2);
    let area_m2 = PI * radius_m * radius_m;
    let mobilised_at = 1.0 / 85.0;
    let q_m = mobilised_at * 2.0 * radius_m;
    for strength_pa in [400e3, 4e6, 24e6] {
        let piece = bearing_all(&log(length_m, 2.0 * radius_m), strength_pa);
        for speed_m_s in [1.0_f64, 2.0, 8.0] {
            let ground = Ground { mobilised_at, ..constant(0.25) };
            let upright = DQuat::IDENTITY;
            let z = deepest_m(&Pace::default(), &piece, ground, upright, 0.5 * length_m, speed_m_s);
            let spring = speed_m_s * (piece.mass_kg * q_m / (strength_pa * area_m2)).sqrt();
            let past = piece.mass_kg * speed_m_s * speed_m_s / (2.0 * strength_pa * area_m2);
            let theirs = if spring < q_m { spring } else { past + 0.5 * q_m };
            let name = format!("S {:.1} MPa, {speed_m_s} m/s", strength_pa / 1e6);
            check.near(&name, "m", z, theirs, Share(0.01));
        }
    }
    check.end();
}

#[test]
fn verif_a_side_goes_in_until_the_ground_pressed_away_has_taken_its_energy() {
    let mut check = Check::new(
        Table::Equations,
        "verif_penetration::verif_a_side_goes_in_until_the_ground_pressed_away_has_taken_its_energy",
        "depth at which a log lying level stops in ground of one strength S",
        "closed form: S times the volume under the surface is m v²/2; with e = 1 that is the \
         law's potential energy",
    );
    let (length_m, radius_m) = (2.4, 0.2);
    for (strength_pa, e) in [(100e3, 0.0), (400e3, 0.0), (400e3, 0.5), (400e3, 1.0)] {
        let piece = bearing_all(&log(length_m, 2.0 * radius_m), strength_pa);
        for speed_m_s in [2.0, 5.0] {
            // Faces bear (1 + e²)/2·S sideways, each against the other.
            let lying = DQuat::from_rotation_x(FRAC_PI_2);
            let z = deepest_m(&Pace::default(), &piece, constant(e), lying, radius_m, speed_m_s);
            let half = (1.0 - z / radius_m).acos();
            let volume_m3 = radius_m * radius_m * (half - half.sin() * half.cos()) * length_m;
            let energy = 0.5 * piece.mass_kg * speed_m_s * speed_m_s;
            let name = format!("S {:.0} kPa, e {e}, {speed_m_s} m/s", strength_pa / 1e3);
            check.near(&name, "J", strength_pa * volume_m3, energy, Share(0.005));
        }
    }
    check.end();
}

/// A thin rod whose lower end is just over hard ground that holds it: how it moves.
fn rod(
    lean_rad: f64,
    perpendicular_m_s: f64,
    gravity: DVec3,
    until: impl Fn(&Mover<'_>, f64) -> bool,
) -> [f64; 2] {
    let length_m = 8.0 * M_PER_FT;
    let radius_m = 0.003;
    let piece = bearing_all(&log(length_m, 2.0 * radius_m), 200e6);
    let site = bank(0.0, Ground { friction: 20.0, ..constant(0.0) });
    let bed = Bed::new(&site);
    // Leaning back, its top behind, and going forward: level, so that the end is caught by a
    // part of the speed across the rod and all of it along the rod.
    let attitude = DQuat::from_rotation_y(-lean_rad);
    let low = 0.5 * length_m * lean_rad.cos() + radius_m * lean_rad.sin();
    let speed = perpendicular_m_s / lean_rad.cos();
    // Forward and a little down, along the rod, so that the end meets the ground at all.
    let along = DVec3::new(lean_rad.sin(), 0.0, -lean_rad.cos());
    let velocity = DVec3::X * speed + along * 0.5;
    let start = falling(DVec3::Z * (low + 1e-4), attitude, velocity);
    let mut mover = Mover::new(&piece, &start, &bed);
    let pace = Pace {
        longest_touching_s: 2e-5,
        longest_sunk_s: 2e-5,
        shortest_s: 1e-6,
        ..Pace::default()
    };
    mover.look(&bed, &pace);
    let mut time = 0.0;
    while time < 3.0 && !until(&mover, time) {
        let dt = mover.next_step_s().min(1e-3);
        mover.step(&bed, gravity, dt, &pace);
        time += dt;
    }
    [mover.spin_rad_s().y, (mover.attitude * DVec3::Z).x]
}

#[test]
fn verif_a_caught_rod_turns_at_three_halves_of_its_speed_over_its_length() {
    let mut check = Check::new(
        Table::Equations,
        "verif_penetration::verif_a_caught_rod_turns_at_three_halves_of_its_speed_over_its_length",
        "a rod of 8 ft whose end hits hard ground that holds it: spin after the hit, and whether it \
         vaults past vertical",
        "closed form: ω = 3 v/(2L), v across the rod; over the top if ω² ≥ 3 g (1 − cos β)/L",
    );
    // Contact is at the rod's rim, 3 mm off its axis, which the speed along it turns by up to 0.5 %.
    let allowed = Share(0.006);
    for (lean_deg, theirs) in
        [(30.0_f64, 3.2476), (45.0, 30.0 * 0.5_f64.sqrt() / 8.0), (60.0, 15.0 / 8.0)]
    {
        let lean = lean_deg.to_radians();
        // 20 ft/s level.
        let across = 20.0 * M_PER_FT * lean.cos();
        let [spin, _] = rod(lean, across, DVec3::ZERO, |_, time| time > 0.01);
        let name = format!("20 ft/s, {lean_deg}° from vertical");
        check.near(&name, "rad/s", spin, theirs, allowed);
    }
    // 10.03 ft/s across at 45°: less by a twentieth falls back, more goes over.
    for (share, goes) in [(0.95, false), (1.05, true)] {
        let across = share * 10.03 * M_PER_FT;
        let [_, top] = rod(FRAC_PI_4, across, DOWN, |m, time| {
            time > 0.2 && ((m.attitude * DVec3::Z).x > 0.1 || m.spin_rad_s().y < -0.1)
        });
        let seen = if top > 0.0 { "went over" } else { "fell back" };
        check.holds(&format!("{share} of 10.03 ft/s"), (top > 0.0) == goes, seen);
    }
    check.end();
}
