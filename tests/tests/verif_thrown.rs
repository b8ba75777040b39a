//! Solves its equations: how far soil can be thrown, against trajectories.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::{DQuat, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    drop::mover::{Mover, Pace},
    soil::{
        bed::Bed,
        testing::{bank, firm, log},
    },
    thrown::{reach_down_m, reach_m},
};
use tumblewood_tests::{
    proof::falling,
    table::{Allowed::Share, Check, Table},
};

/// The farthest of 20 000 angles at which something thrown at a speed comes down `fall_m` lower
/// than, or on a plane that falls at `slope` from, where it began; level distance, m.
fn farthest_m(speed_m_s: f64, lands: impl Fn(f64, f64) -> Option<f64>) -> f64 {
    (0..20_000)
        .filter_map(|k| {
            let angle = FRAC_PI_2 * (2.0 * (f64::from(k) + 0.5) / 20_000.0 - 1.0);
            let (across, up) = (speed_m_s * angle.cos(), speed_m_s * angle.sin());
            lands(across, up)
        })
        .fold(0.0, f64::max)
}

#[test]
fn verif_clods_end_where_the_farthest_trajectory_does() {
    let mut check = Check::new(
        Table::Equations,
        "verif_thrown::verif_clods_end_where_the_farthest_trajectory_does",
        "outer radius of what is thrown at 3 to 15 m/s, to places higher and lower and down a slope",
        "parabolas at 20 000 angles",
    );
    let g = GRAVITY_M_S2;
    for speed in [3.0, 8.0, 15.0] {
        for fall in [-0.3_f64, 0.0, 4.0, 20.0] {
            let theirs = farthest_m(speed, |across, up| {
                let square = up * up + 2.0 * g * fall;
                (square >= 0.0).then(|| across * (up + square.sqrt()) / g)
            });
            let ours = reach_m(speed, fall).unwrap_or(0.0);
            check.near(&format!("{speed} m/s, {fall} m lower"), "m", ours, theirs, Share(1e-4));
        }
        for slope in [0.0_f64, 20.0, 33.0, 45.0] {
            let falls = slope.to_radians().tan();
            let theirs = farthest_m(speed, |across, up| {
                // up·t − g t²/2 = −falls·across·t
                Some(across * 2.0 * (up + falls * across) / g)
            });
            let ours = reach_down_m(speed, slope.to_radians());
            check.near(&format!("{speed} m/s down {slope}°"), "m", ours, theirs, Share(1e-4));
        }
    }
    check.holds("5 m up at 3 m/s", reach_m(3.0, -5.0).is_none(), "out of reach");
    check.end();
}

#[test]
fn verif_what_is_dug_is_the_volume_under_the_surface() {
    let mut check = Check::new(
        Table::Equations,
        "verif_thrown::verif_what_is_dug_is_the_volume_under_the_surface",
        "volume that a log fills under the ground, standing and lying",
        "closed form: π R² d; L R² (φ − sin φ cos φ)",
    );
    let (length_m, radius_m) = (2.4, 0.2);
    let piece = log(length_m, 2.0 * radius_m);
    let site = bank(0.0, firm());
    let bed = Bed::new(&site);
    let volume = |height_m: f64, attitude: DQuat| {
        let start = falling(DVec3::Z * height_m, attitude, DVec3::ZERO);
        let mut mover = Mover::new(&piece, &start, &bed);
        mover.look(&bed, &Pace::default());
        1e3 * mover.dug_m3()
    };
    for deep_m in [0.05, 0.3] {
        let standing = volume(0.5 * length_m - deep_m, DQuat::IDENTITY);
        let theirs = 1e3 * PI * radius_m * radius_m * deep_m;
        check.near(&format!("standing {deep_m} m deep"), "l", standing, theirs, Share(0.01));
    }
    for deep_m in [0.02, 0.15] {
        let lying = volume(radius_m - deep_m, DQuat::from_rotation_x(FRAC_PI_2));
        let angle = (1.0 - deep_m / radius_m).acos();
        let segment = radius_m * radius_m * (angle - angle.sin() * angle.cos());
        check.near(
            &format!("lying {deep_m} m deep"),
            "l",
            lying,
            1e3 * length_m * segment,
            Share(0.01),
        );
    }
    check.end();
}
