use super::*;
use crate::GRAVITY_M_S2;

/// A rod of radius nothing standing on a rim, tilted.
fn rod(length_m: f64, tilt_rad: f64) -> Task {
    let mass_kg = 100.0;
    Task {
        mass_kg,
        inertia_kg_m2: mass_kg * length_m * length_m / 12.0,
        centre_m: DVec2::new(tilt_rad.sin(), tilt_rad.cos()) * (0.5 * length_m),
        stem_tilt_rad: tilt_rad,
        pivot_m: DVec2::ZERO,
        face: None,
        holding: Holding { moment_n_m: 0.0, until_rad: 0.0 },
        push_n: 0.0,
        push_at_m: DVec2::ZERO,
        push_travel_m: 0.0,
        steady_n: -DVec2::Y * mass_kg * GRAVITY_M_S2,
        friction: 0.5,
        spar_width_m: 0.0,
    }
}

fn at(moments: &[Moment], event: Event) -> Moment {
    *moments.iter().find(|m| m.event == event).unwrap_or_else(|| panic!("{event:?}: {moments:?}"))
}

/// A rod hinged at its foot, from rest at 5°: ω² = 3g(cos 5° − cos φ)/L. For L = 20 m the fall to
/// 90° ends at 1.2105 rad/s after 4.242 s (elliptic integral).
#[test]
fn verif_falling_rod() {
    for stop_deg in [30_f64, 60.0, 90.0] {
        let start = 5_f64.to_radians();
        let turn_rad = stop_deg.to_radians() - start;
        let task = Task {
            face: Some(Face {
                lip_m: DVec2::X,
                opening_rad: 3.0,
                below_rad: 0.0,
                length_m: 1.0,
                tear_rad: 0.0,
            }),
            holding: Holding { moment_n_m: 0.0, until_rad: turn_rad },
            ..rod(20.0, start)
        };
        let (_, moments) = turn(&task);
        let broke = at(&moments, Event::HingeBroke);
        let expected =
            (3.0 * GRAVITY_M_S2 * (start.cos() - stop_deg.to_radians().cos()) / 20.0).sqrt();
        assert!((broke.rate_rad_s / expected - 1.0).abs() < 1e-9, "{stop_deg}");
        if stop_deg == 90.0 {
            assert!((broke.rate_rad_s - 1.2105).abs() < 5e-5);
            assert!((broke.time_s - 4.242).abs() < 5e-4, "{}", broke.time_s);
        }
    }
}

/// A slender cone on its foot: I = m·h²/10 about the foot, so ω² = 5g(cos φ₀ − cos φ)/h.
#[test]
fn verif_falling_cone() {
    let (h, start) = (20.0, 0.01_f64);
    let up = DVec2::new(start.sin(), start.cos());
    let task = Task {
        inertia_kg_m2: 100.0 * h * h * (0.1 - 1.0 / 16.0),
        centre_m: up * (h / 4.0),
        friction: 1e9,
        ..rod(h, start)
    };
    // With endless friction the rod leaves only when the rim can't press any more.
    let (end, moments) = turn(&task);
    let left = at(&moments, Event::Left);
    let expected = (5.0 * GRAVITY_M_S2 * (start.cos() - left.line_rad.cos()) / h).sqrt();
    assert!((left.rate_rad_s / expected - 1.0).abs() < 1e-6);
    assert!(matches!(end, End::Left { .. }));
}

/// A rod on a rim slides out where the forces of the pinned rod say: along the rod
/// m·g·(5cos φ − 3cos φ₀)/2 presses, across m·g·sin φ/4 holds it back.
#[test]
fn verif_rod_slips_where_the_ratio_says() {
    for friction in [0.4, 0.5, 0.6] {
        let start = 0.02_f64;
        let task = Task { friction, spar_width_m: 0.4, ..rod(1.2, start) };
        let (_, moments) = turn(&task);
        let slip = at(&moments, Event::SlidOut);
        let phi = slip.line_rad;
        let ratio = 0.25 * phi.sin() / (0.5 * (5.0 * phi.cos() - 3.0 * start.cos()));
        assert!((ratio / friction - 1.0).abs() < 1e-6, "{friction} {ratio}");
        assert!(slip.line_rad.to_degrees() > 40.0 && slip.line_rad.to_degrees() < 47.0);
    }
}

/// Without friction a sliding piece keeps its energy until it is free, and the rim takes away no
/// more than that.
#[test]
fn verif_sliding_without_friction_keeps_energy() {
    let task = Task { friction: 0.0, spar_width_m: 0.4, ..rod(1.2, 0.1) };
    let (end, _) = turn(&task);
    let End::Left { pose, .. } = end else { panic!("{end:?}") };
    let energy = 0.5 * 100.0 * pose.velocity_m_s.length_squared()
        + 0.5 * task.inertia_kg_m2 * pose.rate_rad_s.powi(2)
        + 100.0 * GRAVITY_M_S2 * pose.centre_m.y;
    let before = 100.0 * GRAVITY_M_S2 * task.centre_m.y;
    assert!((energy / before - 1.0).abs() < 1e-6, "{energy} {before}");
}

/// Friction only takes.
#[test]
fn prop_energy_never_rises() {
    for friction in [0.1, 0.3, 0.5, 0.8] {
        for tilt in [0.05, 0.3, 0.8] {
            let task = Task { friction, spar_width_m: 0.4, ..rod(1.2, tilt) };
            let (end, moments) = turn(&task);
            let End::Left { pose, .. } = end else { panic!("{end:?} {moments:?}") };
            let energy = 0.5 * 100.0 * pose.velocity_m_s.length_squared()
                + 0.5 * task.inertia_kg_m2 * pose.rate_rad_s.powi(2)
                + 100.0 * GRAVITY_M_S2 * (pose.centre_m.y - task.centre_m.y);
            assert!(energy <= 1e-6, "{friction} {tilt}: {energy}");
        }
    }
}

/// Closure, by hand: rod of 2 m hinged at the origin, lip 0.1 m ahead.
#[test]
fn verif_closure_keeps_angular_momentum_about_the_lip() {
    let face = Face {
        lip_m: DVec2::new(0.1, 0.0),
        opening_rad: 0.8,
        below_rad: 0.0,
        length_m: 0.1,
        tear_rad: 0.05,
    };
    let task = Task {
        face: Some(face),
        holding: Holding { moment_n_m: 50.0, until_rad: 2.0 },
        ..rod(2.0, 0.2)
    };
    let (_, moments) = turn(&task);
    // Before: energy less the hinge's work.
    let inertia = 100.0 * 4.0 / 3.0;
    let work = 100.0 * GRAVITY_M_S2 * (0.2_f64.cos() - 1.0_f64.cos()) - 50.0 * 0.8;
    let before = (2.0 * work / inertia).sqrt();
    let c = DVec2::new(1.0_f64.sin(), 1.0_f64.cos());
    let v = DVec2::new(c.y, -c.x) * before;
    let r = c - face.lip_m;
    let central = 100.0 * 4.0 / 12.0;
    let after = (central * before + 100.0 * (r.y * v.x - r.x * v.y))
        / (central + 100.0 * r.length_squared());
    let closed = at(&moments, Event::FaceClosed);
    assert!((closed.rate_rad_s / after - 1.0).abs() < 1e-9);
    assert!((closed.turn_rad - 0.8).abs() < 1e-9);
    let tore = at(&moments, Event::HingeTore);
    assert!((tore.turn_rad - 0.85).abs() < 1e-9 && tore.time_s > closed.time_s);
}

/// Just too little push, and just enough.
#[test]
fn verif_missing_moment() {
    let base = Task { push_at_m: DVec2::Y, push_travel_m: 0.5, friction: 10.0, ..rod(1.2, -0.1) };
    let needed = 100.0 * GRAVITY_M_S2 * 0.6 * 0.1_f64.sin();
    let (end, moments) = turn(&Task { push_n: needed - 7.0, ..base });
    let End::Stopped { missing_moment_n_m } = end else { panic!("{end:?}") };
    assert!((missing_moment_n_m - 7.0).abs() < 1e-9 && moments.is_empty());
    let (end, _) = turn(&Task { push_n: needed + 7.0, ..base });
    assert!(matches!(end, End::Left { .. }));
    // Enough to start, but the hand's way is too short to bring it over.
    let (end, moments) = turn(&Task { push_n: needed + 7.0, push_travel_m: 0.02, ..base });
    let End::Stopped { missing_moment_n_m } = end else { panic!("{end:?}") };
    assert!(missing_moment_n_m > 0.0 && missing_moment_n_m < needed);
    assert_eq!(moments.last().map(|m| m.event), Some(Event::Stopped));
}

/// A face closing on a butt that already slides takes energy and leaves the lip's point of the
/// upper cut no deeper into the spar.
#[test]
fn prop_a_face_closing_on_a_sliding_butt_takes_energy() {
    for friction in [0.0, 0.3, 0.6] {
        let face = Face {
            lip_m: DVec2::new(0.15, -0.03),
            opening_rad: 1.2,
            below_rad: 0.2,
            length_m: 0.2,
            tear_rad: 0.05,
        };
        let task = Task {
            face: Some(face),
            holding: Holding { moment_n_m: 100.0, until_rad: 0.5 },
            friction,
            spar_width_m: 0.4,
            ..rod(1.2, 0.3)
        };
        let (end, moments) = turn(&task);
        let End::Left { pose, .. } = end else { panic!("{end:?} {moments:?}") };
        assert!(moments.iter().any(|m| m.event == Event::HingeBroke));
        assert!(moments.iter().any(|m| m.event == Event::SlidOut));
        let energy = 0.5 * 100.0 * pose.velocity_m_s.length_squared()
            + 0.5 * task.inertia_kg_m2 * pose.rate_rad_s.powi(2)
            + 100.0 * GRAVITY_M_S2 * (pose.centre_m.y - task.centre_m.y);
        assert!(energy <= -50.0 + 1e-6, "{friction}: {energy}");
    }
}
