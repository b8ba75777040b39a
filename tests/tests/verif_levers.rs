//! Solves its equations: rods and cones that turn off a hinge or a rim, in the planar problem of a
//! release, against closed forms.

use glam::DVec2;
use tumblewood::{
    GRAVITY_M_S2,
    release::{
        Event, Moment,
        turn::{End, Face, Holding, Task, turn},
    },
};
use tumblewood_tests::table::{
    Allowed::{By, Share},
    Check, Table,
};

const MASS_KG: f64 = 100.0;

/// A rod of radius nothing that stands on a rim, tilted.
fn rod(length_m: f64, tilt_rad: f64) -> Task {
    Task {
        mass_kg: MASS_KG,
        inertia_kg_m2: MASS_KG * length_m * length_m / 12.0,
        centre_m: DVec2::new(tilt_rad.sin(), tilt_rad.cos()) * (0.5 * length_m),
        stem_tilt_rad: tilt_rad,
        pivot_m: DVec2::ZERO,
        face: None,
        holding: Holding { moment_n_m: 0.0, until_rad: 0.0 },
        push_n: 0.0,
        push_at_m: DVec2::ZERO,
        push_travel_m: 0.0,
        steady_n: -DVec2::Y * MASS_KG * GRAVITY_M_S2,
        friction: 0.5,
        spar_width_m: 0.0,
    }
}

/// The same with a hinge that holds nothing and breaks at a turn, behind a face that never closes.
fn hinged(task: Task, until_rad: f64) -> Task {
    let face =
        Face { lip_m: DVec2::X, opening_rad: 3.0, below_rad: 0.0, length_m: 1.0, tear_rad: 0.0 };
    Task { face: Some(face), holding: Holding { moment_n_m: 0.0, until_rad }, ..task }
}

fn at(moments: &[Moment], event: Event) -> Moment {
    *moments.iter().find(|m| m.event == event).unwrap_or_else(|| panic!("{event:?}: {moments:?}"))
}

#[test]
fn verif_a_rod_and_a_cone_fall_about_their_foot() {
    let mut check = Check::new(
        Table::Equations,
        "verif_levers::verif_a_rod_and_a_cone_fall_about_their_foot",
        "turning rate of a hinged rod and a hinged cone of 20 m at 30°, 60° and 90°; time of the \
         rod from 5°",
        "closed form: ω = √(3g(1 − cos φ)/L), √(5g(1 − cos φ)/h); time by an elliptic integral",
    );
    let length_m = 20.0;
    // From a hair off vertical: 1e-4 rad is 3e-9 of the energy at 90°.
    let start = 1e-4_f64;
    let cone = Task {
        inertia_kg_m2: MASS_KG * length_m * length_m * (0.1 - 1.0 / 16.0),
        centre_m: DVec2::new(start.sin(), start.cos()) * (0.25 * length_m),
        ..rod(length_m, start)
    };
    for (name, task, rates) in [
        ("rod", rod(length_m, start), [0.4439, 0.8576, 1.2128]),
        ("cone", cone, [0.5731, 1.1072, 1.5658]),
    ] {
        for (deg, theirs) in [30.0_f64, 60.0, 90.0].into_iter().zip(rates) {
            let (_, moments) = turn(&hinged(task, deg.to_radians() - start));
            let ours = at(&moments, Event::HingeBroke).rate_rad_s;
            // To the digits given.
            check.near(&format!("{name}, {deg}°"), "rad/s", ours, theirs, By(5.1e-5));
        }
    }
    let start = 5_f64.to_radians();
    let (_, moments) = turn(&hinged(rod(length_m, start), 85_f64.to_radians()));
    let broke = at(&moments, Event::HingeBroke);
    check.near("rod from 5° to 90°", "rad/s", broke.rate_rad_s, 1.2105, By(5e-5));
    check.near("rod from 5° to 90°", "s", broke.time_s, 4.242, By(5e-4));
    check.end();
}

#[test]
fn verif_a_face_that_closes_keeps_angular_momentum_about_its_lip() {
    let mut check = Check::new(
        Table::Equations,
        "verif_levers::verif_a_face_that_closes_keeps_angular_momentum_about_its_lip",
        "turning rate of a rod of 2 m after its face has closed, with a hinge that held 50 N m till then",
        "closed form: energy less the hinge's work before, angular momentum about the lip across",
    );
    for (opening, ahead) in [(0.5_f64, 0.1), (0.8, 0.1), (0.8, 0.25)] {
        let face = Face {
            lip_m: DVec2::new(ahead, 0.0),
            opening_rad: opening,
            below_rad: 0.0,
            length_m: ahead,
            tear_rad: 0.05,
        };
        let holding = Holding { moment_n_m: 50.0, until_rad: 2.0 };
        let task = Task { face: Some(face), holding, ..rod(2.0, 0.2) };
        let (_, moments) = turn(&task);
        let end = 0.2 + opening;
        let work = MASS_KG * GRAVITY_M_S2 * (0.2_f64.cos() - end.cos()) - 50.0 * opening;
        let before = (2.0 * work / (MASS_KG * 4.0 / 3.0)).sqrt();
        let centre = DVec2::new(end.sin(), end.cos());
        let velocity = DVec2::new(centre.y, -centre.x) * before;
        let arm = centre - face.lip_m;
        let about_centre = MASS_KG * 4.0 / 12.0;
        let after = (about_centre * before + MASS_KG * (arm.y * velocity.x - arm.x * velocity.y))
            / (about_centre + MASS_KG * arm.length_squared());
        let ours = at(&moments, Event::FaceClosed).rate_rad_s;
        let name = format!("closes at {opening} rad, lip {ahead} m ahead");
        check.near(&name, "rad/s", ours, after, Share(1e-8));
    }
    check.end();
}

#[test]
fn verif_a_rod_slips_off_its_rim_where_the_ratio_of_forces_says() {
    let mut check = Check::new(
        Table::Equations,
        "verif_levers::verif_a_rod_slips_off_its_rim_where_the_ratio_of_forces_says",
        "friction that a rod tipping over a rim needs at the angle at which it starts to slide",
        "closed form: the pinned rod's forces m g (5 cos φ − 3 cos φ₀)/2 along and m g sin φ/4 across; \
         outward by the rod's own foot, back over the spar's cut where friction is little",
    );
    let start = 0.02_f64;
    let forces = |phi: f64| (0.5 * (5.0 * phi.cos() - 3.0 * start.cos()), 0.25 * phi.sin());
    for friction in [0.1, 0.2, 0.3] {
        let task = Task { friction, spar_width_m: 0.4, ..rod(1.2, start) };
        let (_, moments) = turn(&task);
        let phi = at(&moments, Event::SlidBack).line_rad;
        let ((along, across), turned) = (forces(phi), phi - start);
        let needs = (along * turned.sin() - across * turned.cos())
            / (along * turned.cos() + across * turned.sin());
        check.near(&format!("back at {:.1}°", phi.to_degrees()), "", needs, friction, Share(1e-6));
    }
    for friction in [0.4, 0.5, 0.6, 0.8] {
        let task = Task { friction, spar_width_m: 0.4, ..rod(1.2, start) };
        let (_, moments) = turn(&task);
        let phi = at(&moments, Event::SlidOut).line_rad;
        let (along, across) = forces(phi);
        let needs = across / along;
        check.near(&format!("out at {:.1}°", phi.to_degrees()), "", needs, friction, Share(1e-6));
    }
    check.end();
}

#[test]
fn verif_a_push_that_is_just_enough_tips_a_rod() {
    let mut check = Check::new(
        Table::Equations,
        "verif_levers::verif_a_push_that_is_just_enough_tips_a_rod",
        "push at 1 m that tips a rod of 1.2 m leaning back: missing moment 7 N m under it, gone 7 N m \
         over it; least way of a hand that pushes with twice as much",
        "closed form: m g L/2 sin φ₀; energy to the balance, push × way = m g L/2 (1 − cos φ₀)",
    );
    for lean in [0.05_f64, 0.1, 0.2] {
        let base =
            Task { push_at_m: DVec2::Y, push_travel_m: 0.5, friction: 10.0, ..rod(1.2, -lean) };
        let needed = MASS_KG * GRAVITY_M_S2 * 0.6 * lean.sin();
        let name = format!("leaning back {lean} rad");
        let (end, _) = turn(&Task { push_n: needed - 7.0, ..base });
        let End::Stopped { missing_moment_n_m } = end else { panic!("{end:?}") };
        check.near(&name, "N m", missing_moment_n_m, 7.0, By(1e-9));
        let (end, _) = turn(&Task { push_n: needed + 7.0, ..base });
        check.holds(&name, matches!(end, End::Left { .. }), "it tips 7 N m over");
        let way = MASS_KG * GRAVITY_M_S2 * 0.6 * (1.0 - lean.cos()) / (2.0 * needed);
        for (share, goes) in [(0.999, false), (1.001, true)] {
            let task = Task { push_n: 2.0 * needed, push_travel_m: share * way, ..base };
            let (end, _) = turn(&task);
            let seen = if matches!(end, End::Left { .. }) { "it tips" } else { "it comes back" };
            let name = format!("{name}, {share} of the way");
            check.holds(&name, matches!(end, End::Left { .. }) == goes, seen);
        }
    }
    check.end();
}

#[test]
fn verif_a_rod_that_slides_without_friction_keeps_its_energy() {
    let mut check = Check::new(
        Table::Equations,
        "verif_levers::verif_a_rod_that_slides_without_friction_keeps_its_energy",
        "kinetic and potential energy of a rod when it leaves a rim without friction",
        "conservation of energy",
    );
    for (length_m, tilt) in [(0.8, 0.05), (1.2, 0.1), (2.4, 0.4)] {
        let task = Task { friction: 0.0, spar_width_m: 0.4, ..rod(length_m, tilt) };
        let (end, _) = turn(&task);
        let End::Left { pose, .. } = end else { panic!("{end:?}") };
        let energy = 0.5 * MASS_KG * pose.velocity_m_s.length_squared()
            + 0.5 * task.inertia_kg_m2 * pose.rate_rad_s.powi(2)
            + MASS_KG * GRAVITY_M_S2 * pose.centre_m.y;
        let before = MASS_KG * GRAVITY_M_S2 * task.centre_m.y;
        check.near(&format!("{length_m} m from {tilt} rad"), "J", energy, before, Share(1e-6));
    }
    check.end();
}
