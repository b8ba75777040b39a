//! Solves its equations: mass, centre and inertia of pieces against closed forms and quadrature.

use std::f64::consts::PI;

use glam::{DMat3, DVec3};
use tumblewood::{
    tree::{Hollow, Station, Stem, Stub, mass::Frustum},
    wood::species,
};
use tumblewood_tests::table::{
    Allowed::{By, Share},
    Check, Table,
};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
const KG_PER_LB: f64 = 0.453_592_37;

fn frustum(from_in: f64, to_in: f64, length_ft: f64, lb_ft3: f64) -> Frustum {
    Frustum {
        from_m: DVec3::ZERO,
        to_m: DVec3::Z * length_ft * M_PER_FT,
        from_radius_m: 0.5 * from_in * M_PER_IN,
        to_radius_m: 0.5 * to_in * M_PER_IN,
        density_kg_m3: lb_ft3 * KG_PER_LB / M_PER_FT.powi(3),
    }
}

#[test]
fn verif_a_frustum_weighs_and_balances_as_its_formulas_say() {
    let mut check = Check::new(
        Table::Equations,
        "verif_body::verif_a_frustum_weighs_and_balances_as_its_formulas_say",
        "volume, weight and centre of a log of 24 in to 18 in by 16 ft at 63 lb/ft³",
        "closed form: π L/3 (R² + Rr + r²); L/4 (R² + 2Rr + 3r²)/(R² + Rr + r²) from the big end",
    );
    let log = frustum(24.0, 18.0, 16.0, 63.0);
    // As many digits as the worked example gives.
    check.near("", "ft³", log.volume_m3() / M_PER_FT.powi(3), 38.7463, By(5e-5));
    check.near("", "ft", log.centre_m().z / M_PER_FT, 7.2432, By(5e-5));
    check.near("", "lb", log.mass().mass_kg / KG_PER_LB, 2_441.0, By(0.5));
    check.end();
}

/// Inertia about the centre of mass by slices across the axis, each a disc in its own right:
/// m·r²/2 about the axis, m·(r²/4 + z²) across it.
fn sliced(f: &Frustum) -> (f64, f64) {
    let length = f.from_m.distance(f.to_m);
    let count = 20_000;
    let each = |i: u32| {
        let share = (f64::from(i) + 0.5) / f64::from(count);
        let r = f.from_radius_m + (f.to_radius_m - f.from_radius_m) * share;
        (share * length, r, f.density_kg_m3 * PI * r * r * length / f64::from(count))
    };
    let mass: f64 = (0..count).map(|i| each(i).2).sum();
    let centre = (0..count).map(|i| each(i).0 * each(i).2).sum::<f64>() / mass;
    (0..count).map(each).fold((0.0, 0.0), |(along, across), (z, r, m)| {
        (along + 0.5 * m * r * r, across + m * (0.25 * r * r + (z - centre).powi(2)))
    })
}

#[test]
fn verif_a_frustum_turns_as_its_formulas_and_slices_of_it_say() {
    let mut check = Check::new(
        Table::Equations,
        "verif_body::verif_a_frustum_turns_as_its_formulas_and_slices_of_it_say",
        "moments of inertia of cylinders, cones and frusta about their centres",
        "closed form: m R²/2, m(3R² + L²)/12; 3 m R²/10, 3 m(4R² + h²)/80; frusta by 20 000 slices",
    );
    let about = |f: &Frustum| {
        let i = f.mass().inertia_about_centre_kg_m2();
        (i.z_axis.z, i.x_axis.x)
    };
    let (exact, by_slices) = (Share(1e-10), Share(1e-7));
    for (d_in, l_ft) in [(20.0, 8.0), (16.0, 2.0)] {
        let f = frustum(d_in, d_in, l_ft, 50.0);
        let (m, r, l) = (f.mass().mass_kg, f.from_radius_m, l_ft * M_PER_FT);
        let (along, across) = about(&f);
        let name = format!("cylinder {d_in} in by {l_ft} ft");
        check.near(&name, "kg m²", along, 0.5 * m * r * r, exact);
        check.near(&name, "kg m²", across, m * (3.0 * r * r + l * l) / 12.0, exact);
        let f = frustum(d_in, 0.0, l_ft, 50.0);
        let m = f.mass().mass_kg;
        let (along, across) = about(&f);
        let name = format!("cone {d_in} in by {l_ft} ft");
        check.near(&name, "kg m²", along, 0.3 * m * r * r, exact);
        check.near(&name, "kg m²", across, 0.0375 * m * (4.0 * r * r + l * l), exact);
    }
    for (from_in, to_in, l_ft) in [(24.0, 18.0, 16.0), (10.0, 30.0, 1.5), (14.0, 13.0, 4.0)] {
        let f = frustum(from_in, to_in, l_ft, 50.0);
        let ((along, across), theirs) = (about(&f), sliced(&f));
        let name = format!("{from_in} in to {to_in} in by {l_ft} ft");
        check.near(&name, "kg m²", along, theirs.0, by_slices);
        check.near(&name, "kg m²", across, theirs.1, by_slices);
    }
    check.end();
}

/// Mass, centre and inertia about it of a body by the midpoints of cubes.
fn cubes(
    low: DVec3,
    high: DVec3,
    count: [u32; 3],
    density_kg_m3: impl Fn(DVec3) -> f64,
) -> (f64, DVec3, DMat3) {
    let cell = (high - low) / DVec3::from(count.map(f64::from));
    let (mut mass, mut moment, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
    for i in 0..count[0] {
        for j in 0..count[1] {
            for k in 0..count[2] {
                let at = low + cell * (DVec3::new(i.into(), j.into(), k.into()) + 0.5);
                let m = density_kg_m3(at) * cell.x * cell.y * cell.z;
                if m > 0.0 {
                    mass += m;
                    moment += m * at;
                    second += DMat3::from_cols(at * at.x, at * at.y, at * at.z) * m;
                }
            }
        }
    }
    let centre = moment / mass;
    second -= DMat3::from_cols(centre * centre.x, centre * centre.y, centre * centre.z) * mass;
    let trace = second.x_axis.x + second.y_axis.y + second.z_axis.z;
    (mass, centre, DMat3::IDENTITY * trace - second)
}

#[test]
fn verif_a_hollow_section_with_a_stub_is_what_its_cubes_add_up_to() {
    let mut check = Check::new(
        Table::Equations,
        "verif_body::verif_a_hollow_section_with_a_stub_is_what_its_cubes_add_up_to",
        "mass, centre and inertia tensor of a tapered section with a hollow and a stub",
        "brute force: cubes of 5 mm, in or out by their midpoints",
    );
    let oak = species("white oak").expect("in the table");
    let stations = vec![
        Station { height_m: 0.0, diameter_m: 0.6 },
        Station { height_m: 3.0, diameter_m: 0.42 },
    ];
    let mut stem = Stem::measured(stations, None, oak).expect("a stem");
    stem.hollows = vec![Hollow { from_m: 0.8, to_m: 1.7, sound_shell_m: 0.12 }];
    let stub = Stub {
        height_m: 1.9,
        azimuth_rad: 0.5 * PI,
        rise_rad: 0.0,
        length_m: 0.4,
        diameter_m: 0.2,
    };
    let section = stem.section(0.5, 2.5, &[stub]).expect("a section");
    let radius = |z: f64| 0.3 - 0.03 * (z + 0.5);
    let density = stem.density_kg_m3;
    // The stub begins at the bark where its axis meets it and points east; where it overlaps the
    // round of the bark it counts as the sum of two bodies.
    let begins = radius(1.4);
    let in_stub =
        |p: DVec3| p.x > begins && p.x < begins + 0.4 && p.y * p.y + (p.z - 1.4).powi(2) < 0.01;
    let here = |p: DVec3| {
        let r = p.x.hypot(p.y);
        let hollow = p.z > 0.3 && p.z < 1.2 && r < radius(p.z) - 0.12;
        let wood = p.z > 0.0 && p.z < 2.0 && r < radius(p.z) && !hollow;
        density * (f64::from(u8::from(wood)) + f64::from(u8::from(in_stub(p))))
    };
    let low = DVec3::new(-0.3, -0.3, 0.0);
    let high = DVec3::new(0.7, 0.3, 2.0);
    let (mass, centre, inertia) = cubes(low, high, [200, 120, 400], here);
    let body = DMat3::from_quat(section.attitude);
    let ours = body * DMat3::from_diagonal(section.piece.inertia_kg_m2) * body.transpose();
    // Cubes of 5 mm miss a round of 30 cm by a few in ten thousand.
    check.near("mass", "kg", section.piece.mass_kg, mass, Share(1e-3));
    check.near("centre", "m", section.centre_m.distance(centre), 0.0, By(1e-3));
    let least = 1e-3 * inertia.x_axis.x;
    for (name, k, l) in
        [("xx", 0, 0), ("yy", 1, 1), ("zz", 2, 2), ("xy", 0, 1), ("xz", 0, 2), ("yz", 1, 2)]
    {
        let (a, b) = (ours.col(k)[l], inertia.col(k)[l]);
        check.near(name, "kg m²", a, b, By(least));
    }
    check.end();
}
