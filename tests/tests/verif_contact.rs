//! Solves its equations: the buried elements of a piece against closed forms and the divergence
//! theorem.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::f64::consts::{FRAC_PI_2, PI};

use glam::{DQuat, DVec3};
use tumblewood::{
    keyed::Key,
    motion::Motion,
    soil::{
        bed::Bed,
        contact::{Contact, Fineness},
        testing::{bank, bank_normal, firm, log},
    },
    tree::{Piece, Round},
};
use tumblewood_tests::{
    proof::{draws, falling},
    table::{
        Allowed::{By, Share},
        Check, Table,
    },
};

/// The finest sampling that the elements allow.
const FINEST: Fineness = Fineness { segment_m: 0.05, stations: 4, arcs: 4 };

fn frustum(length_m: f64, from_radius_m: f64, to_radius_m: f64) -> Piece {
    let plain = log(length_m, 2.0 * from_radius_m);
    let round = Round { from_radius_m, to_radius_m, ..plain.rounds[0] };
    Piece { rounds: vec![round], ..plain }
}

/// What the buried elements of a piece add up to.
#[derive(Clone, Copy, Debug)]
struct Wet {
    side_m2: f64,
    ends_m2: f64,
    /// Σ A·n, m².
    facing_m2: DVec3,
    /// Σ A·depth·n, m³: by the divergence theorem −V·(ground's normal).
    pressed_m3: DVec3,
    /// Σ A·depth·r × n, m⁴: −V·(centre of the buried volume × ground's normal).
    turned_m4: DVec3,
}

fn wet(piece: &Piece, motion: &Motion, slope: f64, fine: Fineness) -> Wet {
    let site = bank(slope, firm());
    let bed = Bed::new(&site);
    let mut contact = Contact::default();
    contact.gather(piece, motion, &bed, fine);
    let axis = motion.attitude * (piece.top_m() - piece.butt_m()).normalize();
    let zero = DVec3::ZERO;
    let mut sum =
        Wet { side_m2: 0.0, ends_m2: 0.0, facing_m2: zero, pressed_m3: zero, turned_m4: zero };
    for quad in &contact.quads {
        for lane in 0..4 {
            let at = |v: &[[f64; 4]; 3]| DVec3::new(v[0][lane], v[1][lane], v[2][lane]);
            let (n, r) = (at(&quad.normal), at(&quad.arm_m));
            let (area, depth) = (quad.area_m2[lane], quad.depth_m[lane]);
            if n.dot(axis).abs() > 0.999 {
                sum.ends_m2 += area;
            } else {
                sum.side_m2 += area;
            }
            sum.facing_m2 += area * n;
            sum.pressed_m3 += area * depth * n;
            sum.turned_m4 += area * depth * r.cross(n);
        }
    }
    sum
}

/// The same by slices across the axis, each a segment of a circle in closed form, in a plane
/// through the origin: no part of the program.
#[derive(Clone, Copy, Debug, Default)]
struct Slices {
    side_m2: f64,
    ends_m2: f64,
    volume_m3: f64,
    /// Σ volume · arm of the slice's centre from the centre of mass, m⁴.
    moment_m4: DVec3,
}

fn slices(piece: &Piece, motion: &Motion, normal: DVec3) -> Slices {
    let count = 40_000;
    let mut sum = Slices::default();
    let round = &piece.rounds[0];
    let (from, to) = (motion.point_m(round.from_m), motion.point_m(round.to_m));
    let length = from.distance(to);
    let axis = (to - from) / length;
    let across = axis * normal.dot(axis) - normal;
    let sine = across.length().max(1e-12);
    let into = across / sine;
    let taper = (round.to_radius_m - round.from_radius_m) / length;
    let lean = (1.0 + taper * taper).sqrt();
    // Half the buried arc, and the segment's area, of the disc at a share of the axis.
    let disc = |share: f64| {
        let centre = from + (to - from) * share;
        let r = round.from_radius_m + (round.to_radius_m - round.from_radius_m) * share;
        let half = (centre.dot(normal) / (r * sine)).clamp(-1.0, 1.0).acos();
        (centre, r, half, r * r * (half - half.sin() * half.cos()))
    };
    for i in 0..count {
        let (centre, r, half, area) = disc((f64::from(i) + 0.5) / f64::from(count));
        let thick = length / f64::from(count);
        sum.side_m2 += 2.0 * half * r * lean * thick;
        sum.volume_m3 += area * thick;
        // First moment of a segment of a circle about its diameter: 2/3·(r·sin φ)³.
        let first = 2.0 / 3.0 * (r * half.sin()).powi(3);
        sum.moment_m4 += ((centre - motion.centre_m) * area + into * first) * thick;
    }
    sum.ends_m2 = disc(0.0).3 + disc(1.0).3;
    sum
}

/// A piece in the ground of a slope with any lean, spin and depth.
fn buried(piece: &Piece, case: u64) -> (f64, Motion) {
    let draw = draws(Key::root(5).word("buried").number(case));
    let slope = 0.35 + 0.35 * draw(0);
    let normal = bank_normal(slope);
    let attitude = DQuat::from_rotation_z(PI * draw(1))
        * DQuat::from_rotation_y(FRAC_PI_2 * draw(2) + 1e-3)
        * DQuat::from_rotation_z(PI * draw(3));
    let reach = 0.5 * piece.length_m() * (attitude * DVec3::Z).dot(normal).abs() + 0.15;
    (slope, falling(normal * (reach * draw(4)), attitude, DVec3::ZERO))
}

#[test]
fn verif_buried_area_and_volume_are_those_of_a_level_cylinder_and_an_upright_one() {
    let mut check = Check::new(
        Table::Equations,
        "verif_contact::verif_buried_area_and_volume_are_those_of_a_level_cylinder_and_an_upright_one",
        "buried side, ends and volume of a cylinder lying and standing, from 1 µm to all but 1 mm deep",
        "closed form: 2 R φ L, 2 R²(φ − sin φ cos φ) and half of that times L; 2π R d, π R², π R² d",
    );
    // Lying with half the buried arc φ: side 2·R·φ·L, ends 2·R²(φ − sin φ·cos φ), volume half of
    // the ends times L. Standing: side 2π·R·d, end π·R², volume π·R²·d.
    let (r, l) = (0.2, 2.4);
    let piece = log(l, 2.0 * r);
    for depth in [1e-6, 0.01, 0.1, 0.2, 0.3, 0.399] {
        let lying = falling(DVec3::Z * (r - depth), DQuat::from_rotation_x(FRAC_PI_2), DVec3::ZERO);
        let got = wet(&piece, &lying, 0.0, FINEST);
        let half = (1.0 - depth / r).acos();
        let segment = r * r * (half - half.sin() * half.cos());
        for (what, got, exact) in [
            ("side", got.side_m2, 2.0 * r * half * l),
            ("ends", got.ends_m2, 2.0 * segment),
            ("volume", -got.pressed_m3.z, segment * l),
        ] {
            let unit = if what == "volume" { "m³" } else { "m²" };
            check.near(&format!("lying {depth} m in, {what}"), unit, got, exact, Share(1e-4));
        }
        let standing = falling(DVec3::Z * (0.5 * l - depth), DQuat::IDENTITY, DVec3::ZERO);
        let got = wet(&piece, &standing, 0.0, Fineness::default());
        for (what, got, exact) in [
            ("side", got.side_m2, 2.0 * PI * r * depth),
            ("ends", got.ends_m2, PI * r * r),
            ("volume", -got.pressed_m3.z, PI * r * r * depth),
        ] {
            let unit = if what == "volume" { "m³" } else { "m²" };
            check.near(&format!("standing {depth} m in, {what}"), unit, got, exact, Share(2e-3));
        }
    }
    check.end();
}

#[test]
fn verif_buried_area_and_volume_are_those_of_tilted_cylinders_and_frustums() {
    let mut check = Check::new(
        Table::Equations,
        "verif_contact::verif_buried_area_and_volume_are_those_of_tilted_cylinders_and_frustums",
        "worst miss of 600 buried poses of cylinders and frusta, as a share of the whole piece",
        "closed circular segments summed over 40 000 slices; divergence theorem",
    );
    let (mut worst_fine, mut worst_plain) = ([0.0_f64; 5], [0.0_f64; 5]);
    for piece in [log(2.4, 0.4), log(0.5, 0.6), frustum(3.0, 0.3, 0.12), frustum(1.2, 0.15, 0.3)] {
        let r = piece.rounds[0];
        let mean = 0.5 * (r.from_radius_m + r.to_radius_m);
        let (l, whole) = (piece.length_m(), PI * mean * mean * piece.length_m());
        for case in 0..150 {
            let (slope, motion) = buried(&piece, case);
            let normal = bank_normal(slope);
            let exact = slices(&piece, &motion, normal);
            let misses = |fine: Fineness| {
                let got = wet(&piece, &motion, slope, fine);
                [
                    (got.side_m2 - exact.side_m2).abs() / (2.0 * PI * mean * l),
                    (got.ends_m2 - exact.ends_m2).abs() / (2.0 * PI * mean * mean),
                    (got.pressed_m3 + exact.volume_m3 * normal).length() / whole,
                    (got.turned_m4 + exact.moment_m4.cross(normal)).length() / (whole * l),
                    // What is wet faces as the cut through the piece does, turned round: the rest
                    // of the closed surface lies in the plane, so nothing is left across it.
                    got.facing_m2.reject_from(normal).length() / (2.0 * PI * mean * l),
                ]
            };
            for (worst, miss) in worst_fine.iter_mut().zip(misses(FINEST)) {
                *worst = worst.max(miss);
            }
            // Four points on an arc can't weigh depth over much more than half a disc: pressed
            // volume and its moment are asked for where the axis stays above the ground.
            let axis_above =
                motion.point_m(r.from_m).dot(normal).min(motion.point_m(r.to_m).dot(normal)) > 0.0;
            let asked = [true, true, axis_above, axis_above, true];
            for ((worst, miss), asked) in
                worst_plain.iter_mut().zip(misses(Fineness::default())).zip(asked)
            {
                *worst = if asked { worst.max(miss) } else { *worst };
            }
        }
    }
    println!("worst of whole, [side, ends, volume, moment, facing]: finest {worst_fine:?}");
    println!("                                    as drops are stepped {worst_plain:?}");
    let of = ["side", "ends", "volume", "its moment", "facing"];
    for (what, worst, most) in [
        ("finest", worst_fine, [1e-4; 5]),
        ("as drops are stepped", worst_plain, [5e-3, 1e-4, 5e-3, 5e-3, 1e-2]),
    ] {
        for (k, (worst, most)) in worst.into_iter().zip(most).enumerate() {
            check.near(&format!("{}, {what}", of[k]), "", worst, 0.0, By(most));
        }
    }
    check.end();
}
