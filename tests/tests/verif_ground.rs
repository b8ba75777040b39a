//! Solves its equations: rest on the grounds that drops are made on, and undergrowth.

use std::f64::consts::PI;

use glam::DVec3;
use tumblewood::{
    drop::mover::{Mover, Pace},
    ground::{Ground, Undergrowth},
    soil::{
        bed::Bed,
        testing::{across, along, bank, bank_normal, firm, log, pavement, soft, turf},
    },
    tree::Piece,
};
use tumblewood_tests::{
    proof::{DOWN, falling, run_for},
    table::{Allowed::Share, Check, Table},
};

/// Sinks a log to its settled depth on level ground, then lays it on the slope.
fn settled_depth_m(piece: &Piece, ground: Ground) -> f64 {
    let site = bank(0.0, ground);
    let bed = Bed::new(&site);
    let radius = piece.rounds[0].from_radius_m;
    let mut mover = Mover::new(piece, &falling(DVec3::Z * radius, across(), DVec3::ZERO), &bed);
    let pace = Pace::default();
    mover.look(&bed, &pace);
    for _ in 0..2_000 {
        mover.step(&bed, DOWN, mover.next_step_s(), &pace);
    }
    mover.contact.deepest_m()
}

/// How far a log lying along the fall line creeps or slides in `time_s`, m.
fn slides_m(ground: Ground, slope_rad: f64, time_s: f64) -> f64 {
    let piece = log(2.4, 0.4);
    let depth = settled_depth_m(&piece, ground);
    let site = bank(slope_rad, ground);
    let bed = Bed::new(&site);
    let at = bank_normal(slope_rad) * (0.2 - depth);
    let mut mover = Mover::new(&piece, &falling(at, along(slope_rad), DVec3::ZERO), &bed);
    run_for(&mut mover, &bed, DOWN, &Pace::default(), time_s);
    mover.centre_m.distance(at)
}

#[test]
fn verif_a_log_stays_below_its_friction_angle_and_goes_above_it() {
    let mut check = Check::new(
        Table::Equations,
        "verif_ground::verif_a_log_stays_below_its_friction_angle_and_goes_above_it",
        "a log in firm soil and on pavement creeps less than 1 mm in 60 s at 2° under its angle of \
         friction and goes at 0.5° over it",
        "closed form: tan θ = μ",
    );
    // Freezing is off here.
    for (name, ground) in [("firm", firm()), ("pavement", pavement())] {
        let angle = ground.friction.atan();
        let below = slides_m(ground, angle - 2.0_f64.to_radians(), 60.0);
        let above = slides_m(ground, angle + 0.5_f64.to_radians(), 60.0);
        check.holds(name, below < 1e-3, &format!("{:.3} mm in 60 s under", below * 1e3));
        check.holds(name, above > 1.0, &format!("{above:.1} m in 60 s over"));
    }
    check.end();
}

/// How far a log lying across a slope gets in `time_s` from its settled depth, m.
fn rolls_m(ground: Ground, deg: f64, time_s: f64) -> f64 {
    let (piece, slope) = (log(2.4, 0.4), deg.to_radians());
    let depth = settled_depth_m(&piece, ground);
    let site = bank(slope, ground);
    let bed = Bed::new(&site);
    let at = bank_normal(slope) * (0.2 - depth);
    let mut mover = Mover::new(&piece, &falling(at, across(), DVec3::ZERO), &bed);
    run_for(&mut mover, &bed, DOWN, &Pace::default(), time_s);
    mover.centre_m.distance(at)
}

#[test]
fn verif_logs_across_a_slope_stay_on_turf_and_litter_and_roll_where_it_is_steep() {
    let mut check = Check::new(
        Table::Equations,
        "verif_ground::verif_logs_across_a_slope_stay_on_turf_and_litter_and_roll_where_it_is_steep",
        "a log across turf and litter stays at 2° and rolls at 10°",
        "in kind: it sets off where tan θ is the ground's rolling resistance, 3 to 30 %",
    );
    // In kind: rolling resistance of turf and litter is 3 to 30 % of the weight, so a log across a
    // slope stays at 1° (1.7 %) and rolls at 17° (31 %) at the latest; on this turf it sets off
    // at 3° (5 %).
    for (name, ground) in [("turf", turf()), ("litter", soft())] {
        let went: Vec<(f64, f64)> = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0]
            .map(|deg| (deg, rolls_m(ground, deg, 20.0)))
            .to_vec();
        for (deg, metres) in went {
            let seen = format!("{metres:.3} m in 20 s");
            let name = format!("{name}, {deg}°");
            if deg <= 2.0 {
                check.holds(&name, metres < 0.05, &seen);
            }
            if deg >= 10.0 {
                check.holds(&name, metres > 1.0, &seen);
            }
        }
    }
    check.end();
}

#[test]
fn verif_undergrowth_stops_a_log_after_its_energy_is_spent() {
    let mut check = Check::new(
        Table::Equations,
        "verif_ground::verif_undergrowth_stops_a_log_after_its_energy_is_spent",
        "way of a log of 6 m/s through undergrowth, end on and across",
        "closed form: m v²/2 over the work of the stems met in a metre",
    );
    // Work a stem costs: MOR·(π/32)·d³·1 rad; stems a metre of way: swept width over spacing². A
    // log end on sweeps its diameter, one across its length too. It stops after ½mv² over both.
    let bushes = Undergrowth { spacing_m: 0.25, thickness_m: 0.02, height_m: 2.0 };
    let site = bank(0.0, Ground { undergrowth: Some(bushes), ..firm() });
    let bed = Bed::new(&site);
    let piece = log(2.4, 0.4);
    let stem_j = 50e6 * PI / 32.0 * bushes.thickness_m.powi(3);
    for (attitude, swept_m) in [(along(0.0), 0.4), (across(), 2.4 + 0.4)] {
        let at = DVec3::Z * 1.0;
        let start = falling(at, attitude, DVec3::X * 6.0);
        let exact = 0.5 * piece.mass_kg * 36.0 / (stem_j * swept_m / bushes.spacing_m.powi(2));
        let mut mover = Mover::new(&piece, &start, &bed);
        let pace = Pace { longest_flight_s: 2e-3, ..Pace::default() };
        run_for(&mut mover, &bed, DVec3::ZERO, &pace, 20.0);
        let went = mover.centre_m.distance(at);
        assert!(mover.velocity_m_s.length() < 1e-3, "{}", mover.velocity_m_s);
        check.near(&format!("{swept_m} m swept"), "m", went, exact, Share(0.005));
    }
    check.end();
}
