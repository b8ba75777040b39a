//! Solves its equations: a bank that a piece runs into is the same whatever the terrain's cells.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use glam::{DVec2, DVec3};
use tumblewood::{
    drop::mover::{Mover, Pace},
    ground::Ground,
    site::Site,
    soil::{
        bed::Bed,
        testing::{along, bank, firm, log, pavement, turf},
    },
    terrain::{CutFace, Side, Terrain},
};
use tumblewood_tests::{
    proof::falling,
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

/// Height of the bank, m.
const STEP_M: f64 = 0.5;
/// Speed of the log that runs into it, m/s.
const SPEED_M_S: f64 = 8.0;

/// Ground hollowed by `bend_per_m`·x² with a step of half a metre up at x = 0: a grid of `cell_m` that
/// starts `shift_m` off, and a cut face.
fn stepped(ground: Ground, bend_per_m: f64, cell_m: f64, shift_m: f64) -> Site {
    let n = (24.0 / cell_m) as usize + 1;
    let height = |x: f64, _: f64| bend_per_m * x * x + if x >= 0.0 { STEP_M } else { 0.0 };
    let face = CutFace {
        id: "bank".to_owned(),
        // Looking from south to north the low ground, at smaller x, lies to the left.
        line_m: vec![DVec2::new(0.0, -11.0), DVec2::new(0.0, 11.0)],
        height_m: STEP_M,
        low_side: Side::Left,
    };
    let terrain = Terrain::from_heights(DVec2::splat(-12.0 - shift_m), cell_m, n, n, height)
        .with_faces(&[face], tumblewood::quantity::Units::Metric);
    Site { terrain: terrain.into(), ..bank(0.0, ground) }
}

/// What a log that runs end on into the step at 8 m/s does there.
#[derive(Clone, Copy, Debug)]
struct Hit {
    /// How far its nose went behind the face, m.
    into_m: f64,
    /// Its speed away from the face once it has let go or stopped, m/s.
    back_m_s: f64,
}

fn hit(site: &Site) -> Hit {
    let bed = Bed::new(site);
    let piece = log(2.4, 0.4);
    // Clear of the low ground and lower than the bank, its nose half a metre in front of the face;
    // no gravity, so that only the bank stops it.
    let start = DVec3::new(-1.7, 0.0, 0.27);
    let mut mover = Mover::new(&piece, &falling(start, along(0.0), DVec3::X * SPEED_M_S), &bed);
    let pace = Pace::default();
    mover.look(&bed, &pace);
    let mut hit = Hit { into_m: f64::NEG_INFINITY, back_m_s: 0.0 };
    let mut time = 0.0;
    while time < 0.4 {
        let dt = mover.next_step_s();
        mover.step(&bed, DVec3::ZERO, dt, &pace);
        time += dt;
        hit.into_m = hit.into_m.max(mover.motion().point_m(piece.top_m()).x);
        hit.back_m_s = hit.back_m_s.max(-mover.velocity_m_s.x);
    }
    hit
}

/// Least and greatest of something over hits.
fn span(hits: &[Hit], what: fn(&Hit) -> f64) -> (f64, f64) {
    hits.iter()
        .map(what)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
}

#[test]
fn verif_a_cut_face_is_the_same_at_any_cell() {
    let mut check = Check::new(
        Table::Equations,
        "verif_cut_face::verif_a_cut_face_is_the_same_at_any_cell",
        "a log of 8 m/s run end on into a cut face: how far in and how fast back differ over cells of \
         0.25 to 1 m; how far into pavement; at most e comes back",
        "itself at other cells; closed form: m v²/2 over what its end bears and its area, and half of \
         the depth that mobilises it; bound: e",
    );
    for (name, ground) in [("firm", firm()), ("turf", turf()), ("pavement", pavement())] {
        for (bend_per_m, into_m, back_m_s) in [
            // On level ground only rounding may differ; in a hollow the levels are carried on to
            // the face from 1 m before and behind it, from 1.5 m at cells of 1 m, and so differ by
            // up to 7 mm in height.
            (0.0, 1e-9, 1e-9),
            (0.003, 8e-3, 0.05),
        ] {
            let hits: Vec<Hit> = [0.25, 0.5, 1.0]
                .into_iter()
                .flat_map(|cell| {
                    [0.0, 0.07, 0.31].map(|shift| hit(&stepped(ground, bend_per_m, cell, shift)))
                })
                .collect();
            let (least, most) = span(&hits, |hit| hit.into_m);
            let (slow, quick) = span(&hits, |hit| hit.back_m_s);
            println!(
                "{name}, hollow {bend_per_m}/m: in by {least:.4} to {most:.4} m, back at {slow:.3} \
                 to {quick:.3} m/s"
            );
            let case = format!("{name}, hollow {bend_per_m}/m");
            check.near(&format!("{case}, in"), "m", most - least, 0.0, By(into_m));
            check.near(&format!("{case}, back"), "m/s", quick - slow, 0.0, By(back_m_s));
            // Soil keeps what digs in; pavement gives back e at most, less where the hit is not
            // central.
            let e = if name == "pavement" { ground.restitution } else { 0.0 };
            let seen = format!("{:.4} to {:.4} of e = {e}", slow / SPEED_M_S, quick / SPEED_M_S);
            let holds = quick / SPEED_M_S < e * 1.02 + 1e-3 && slow / SPEED_M_S >= e * 0.75;
            check.holds(&format!("{case}, back"), holds, &seen);
            assert!(name == "pavement" || least > 0.2, "{name}: {least}");
            if name == "pavement" {
                // Its end bears what end grain does: ½·m·v² over that and its area, and half of the
                // depth at which all of it resists.
                let piece = log(2.4, 0.4);
                let exact = 0.5 * piece.mass_kg * SPEED_M_S * SPEED_M_S
                    / (piece.end_crush_pa * std::f64::consts::PI * 0.2 * 0.2)
                    + 0.5 * ground.mobilised_at * 0.4;
                check.near(&format!("{case}, in"), "m", most, exact, Share(0.03));
            }
        }
    }
    check.end();
}
