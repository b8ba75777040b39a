//! Matches the world: what people who work on steep banks take for granted. None of it has a
//! source that measured it; each rule is an order or a yes or no, and so is each check.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::{DQuat, DVec2, DVec3};
use rayon::prelude::*;
use tumblewood::{
    drop::{Ending, GroundLaw, Setup, drop},
    ground::{Ground, TopLayer},
    keyed::Key,
    motion::Motion,
    outcome::{Mode, Outcome, Reach, judge},
    release::{HingeSpec, Launch, Method, Push, Release, Scatter, Stand, describe, release},
    site::{Answer, Body, BodyKind, Patch, Shape, Site},
    soil::testing::{across, along, bank, bank_normal, firm, log, pavement, soft, turf},
    tree::{Piece, Station, Stem, Stub},
    wood::species,
};
use tumblewood_tests::{
    count::median_within,
    proof::{clearance_m, draws},
    table::{Allowed, Check, Table},
};

const PRACTICE: &str = "common practice";

/// Outcomes of `n` drops on one site, each launched by its own key.
fn outcomes(
    site: &Site,
    piece: &Piece,
    word: &str,
    n: u64,
    launch: impl Fn(&dyn Fn(u64) -> f64) -> Motion + Sync,
) -> Vec<Outcome> {
    let setup = Setup { horizon_s: 25.0, ..Setup::new(site, GroundLaw::Soil) };
    (0..n)
        .into_par_iter()
        .map(|index| {
            let key = Key::root(41).word(word).number(index);
            let launch = Launch { motion: launch(&draws(key)), time_s: 0.0 };
            let track = drop(&setup, piece, &launch, key.word("roughness"), f64::INFINITY);
            judge(&track, site)
        })
        .collect()
}

/// A piece with its lowest point this far over the bank at `x_m`.
fn over(
    piece: &Piece,
    slope_rad: f64,
    x_m: f64,
    clear_m: f64,
    attitude: DQuat,
    velocity_m_s: DVec3,
    spin_rad_s: DVec3,
) -> Motion {
    let ground = DVec3::new(x_m, 0.0, -x_m * slope_rad.tan());
    let motion = Motion { centre_m: ground, attitude, velocity_m_s, spin_rad_s };
    let normal = bank_normal(slope_rad);
    let lift = clear_m - clearance_m(piece, &motion, normal);
    Motion { centre_m: ground + normal * lift, ..motion }
}

fn share(all: &[Outcome], holds: impl Fn(&Outcome) -> bool) -> f64 {
    all.iter().filter(|o| holds(o)).count() as f64 / all.len() as f64
}

/// Distances run, sorted, m.
fn rollouts(all: &[Outcome]) -> Vec<f64> {
    let mut run: Vec<f64> = all.iter().map(|o| o.rollout_m).collect();
    run.sort_by(f64::total_cmp);
    run
}

fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// Whether a round set down on its end on a bank still stands after ten seconds; the bank's tangent
/// is `over_limit` times the round's diameter over its length. Friction is set so high that it
/// tips before it slides: what is asked is whether it tips.
fn stands(ground: Ground, over_limit: f64, index: u64) -> bool {
    let draw = draws(Key::root(43).word("stands").number(index));
    let diameter_m = 0.45 + 0.15 * draw(0);
    // From as long as wide to two and a half times that.
    let length_m = diameter_m * (1.75 + 0.75 * draw(1));
    let slope_rad = (over_limit * diameter_m / length_m).atan();
    let piece = log(length_m, diameter_m);
    let attitude = DQuat::from_rotation_y(slope_rad) * DQuat::from_rotation_z(PI * draw(2));
    let top = ground.top.map(|layer| TopLayer { friction: 1.5, ..layer });
    let site = bank(slope_rad, Ground { friction: 1.5, top, ..ground });
    let setup = Setup { horizon_s: 10.0, ..Setup::new(&site, GroundLaw::Soil) };
    let motion = over(&piece, slope_rad, 0.0, 1e-5, attitude, DVec3::ZERO, DVec3::ZERO);
    let launch = Launch { motion, time_s: 0.0 };
    let track = drop(&setup, &piece, &launch, Key::root(index), f64::INFINITY);
    let end = track.samples.last().expect("its end").motion;
    let upright = (end.attitude * DVec3::Z).dot(bank_normal(slope_rad)) > 0.98;
    upright && end.centre_m.distance(motion.centre_m) < 0.2
}

/// How many of `n` rounds stand.
fn standing(ground: Ground, over_limit: f64, n: u64) -> u64 {
    (0..n).into_par_iter().filter(|&i| stands(ground, over_limit, i)).count() as u64
}

/// Soil gives way under the lower edge, so a round that stands on it needs something in hand: half
/// of the limit is asked for. None may stand past the limit.
#[test]
fn val_rounds_stand_or_roll() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_rounds_stand_or_roll",
        "on soil a short round stands on its end only where the bank's tangent is under its \
         diameter over its length, and rolls when it lies on its side",
        PRACTICE,
    );
    let n = 30;
    for (name, ground) in [("turf", turf()), ("firm soil", firm())] {
        let [under, past] = [0.5, 1.05].map(|limit| standing(ground, limit, n));
        let case = format!("{name}, half the limit");
        check.holds(&case, under == n, &format!("{under} of {n} stand"));
        let case = format!("{name}, 1.05 of the limit");
        check.holds(&case, past == 0, &format!("{past} of {n} stand"));
    }
    let past = standing(pavement(), 1.05, n);
    check.holds("pavement, 1.05 of the limit", past == 0, &format!("{past} of {n} stand"));
    let (slope_rad, round) = (20_f64.to_radians(), log(0.5, 0.4));
    let rolls = outcomes(&bank(slope_rad, turf()), &round, "on its side", n, |draw| {
        let attitude = DQuat::from_rotation_z(0.2 * draw(0)) * across();
        over(&round, slope_rad, 0.0, 0.02, attitude, DVec3::ZERO, DVec3::ZERO)
    });
    let rolled = share(&rolls, |o| o.mode == Mode::Rolled);
    check.holds("on its side at 20°", rolled > 0.95, &format!("{} roll", percent(rolled)));
    check.end();
}

#[test]
fn val_rounds_stand_on_pavement() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_rounds_stand_on_pavement",
        "a short round stands on its end on pavement, level and at half the limit of its diameter \
         over its length",
        PRACTICE,
    );
    let n = 30;
    for (name, limit) in [("level", 0.0), ("half the limit", 0.5)] {
        let under = standing(pavement(), limit, n);
        check.holds(name, under == n, &format!("{under} of {n} stand"));
    }
    check.end();
}

/// At half the limit, where none falls over.
#[test]
fn val_standing_rounds_come_to_rest() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_standing_rounds_come_to_rest",
        "a round that stands on its end on level ground is at rest within ten seconds",
        PRACTICE,
    );
    let piece = log(0.8, 0.4);
    for (name, ground) in [("firm soil", firm()), ("turf", turf()), ("pavement", pavement())] {
        let site = bank(0.0, ground);
        let setup = Setup { horizon_s: 10.0, ..Setup::new(&site, GroundLaw::Soil) };
        let motion = over(&piece, 0.0, 0.0, 1e-5, DQuat::IDENTITY, DVec3::ZERO, DVec3::ZERO);
        let launch = Launch { motion, time_s: 0.0 };
        let track = drop(&setup, &piece, &launch, Key::root(1), f64::INFINITY);
        let end = track.samples.last().expect("its end").motion;
        let moved_mm = 1e3 * end.centre_m.distance(motion.centre_m);
        let seen = format!("80 by 40 cm moved by under {:.0} mm", moved_mm.ceil());
        check.holds(name, track.ending == Ending::Rest, &seen);
    }
    check.end();
}

#[test]
fn val_long_sections_slide_along_and_roll_across() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_long_sections_slide_along_and_roll_across",
        "a long section that lands along the fall line slides or stays, one that lands across it \
         rolls",
        PRACTICE,
    );
    let (slope_rad, piece, n) = (25_f64.to_radians(), log(3.6, 0.35), 40);
    let site = bank(slope_rad, Ground { roughness_m: 0.05, ..turf() });
    let land = |word: &str, turned: DQuat| {
        outcomes(&site, &piece, word, n, |draw| {
            let attitude = DQuat::from_rotation_z(0.15 * draw(0)) * turned;
            let velocity = DVec3::new(1.0 + 0.5 * draw(1), 0.3 * draw(2), -3.0 - draw(3));
            over(&piece, slope_rad, -150.0, 0.2, attitude, velocity, DVec3::ZERO)
        })
    };
    let (lengthwise, crosswise) = (land("along", along(slope_rad)), land("across", across()));
    let quiet = share(&lengthwise, |o| matches!(o.mode, Mode::Slid | Mode::Stayed));
    let rolled = share(&crosswise, |o| o.mode == Mode::Rolled);
    check.holds("along", quiet > 0.9, &format!("{} slide or stay", percent(quiet)));
    check.holds("across", rolled > 0.9, &format!("{} roll", percent(rolled)));
    check.end();
}

#[test]
fn val_flat_on_brush_runs_less_than_on_the_nose() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_flat_on_brush_runs_less_than_on_the_nose",
        "a section that lands flat on a brush mat runs less far than one that lands on its nose on \
         firm ground: medians, with what holds the true one in 99 % of samples",
        PRACTICE,
    );
    let (slope_rad, piece, n) = (28_f64.to_radians(), log(2.4, 0.35), 60);
    let bare = bank(slope_rad, Ground { roughness_m: 0.08, ..firm() });
    let mut mat = bare.clone();
    let corner = |x: f64, y: f64| DVec2::new(-150.0 + x, y);
    mat.patches.push(Patch {
        id: "mat".to_owned(),
        outline_m: vec![corner(-4.0, -4.0), corner(4.0, -4.0), corner(4.0, 4.0), corner(-4.0, 4.0)],
        within_m: None,
        ground: Ground {
            top: Some(TopLayer { thickness_m: 0.4, shear_strength_pa: 2.2e3, friction: 0.7 }),
            ..bare.ground
        },
    });
    let land = |site: &Site, word: &str, pitch_rad: f64| {
        outcomes(site, &piece, word, n, |draw| {
            let attitude = DQuat::from_rotation_z(0.1 * draw(0))
                * DQuat::from_rotation_y(FRAC_PI_2 + pitch_rad + 0.1 * draw(1));
            // Six metres of fall.
            let velocity = DVec3::new(1.0, 0.3 * draw(2), -10.8);
            let spin = DVec3::new(0.0, 0.5 * draw(3), 0.0);
            over(&piece, slope_rad, -150.0, 0.1, attitude, velocity, spin)
        })
    };
    let flat = rollouts(&land(&mat, "flat", slope_rad));
    let nose = rollouts(&land(&bare, "nose", 60_f64.to_radians()));
    let ((flat_m, flat_in), (nose_m, nose_in)) = (median_within(&flat), median_within(&nose));
    let seen = format!(
        "{flat_m:.1} m ({:.1} to {:.1}) flat, {nose_m:.1} m ({:.1} to {:.1}) on the nose",
        flat_in[0], flat_in[1], nose_in[0], nose_in[1]
    );
    check.holds("2.4 m at 28°", flat_in[1] < nose_in[0], &seen);
    check.end();
}

#[test]
fn val_a_stub_stops_rolling() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_a_stub_stops_rolling",
        "a section with a stub branch left on runs less far across a bank than the bare one: \
         medians, with what holds the true one in 99 % of samples",
        PRACTICE,
    );
    let at = |height_m| Station { height_m, diameter_m: 0.35 };
    let oak = species("white oak").expect("in the table");
    let stem = Stem::measured(vec![at(0.0), at(8.0)], None, oak).expect("a stem");
    let stub =
        Stub { height_m: 5.0, azimuth_rad: 0.0, rise_rad: 0.6, length_m: 0.5, diameter_m: 0.12 };
    let slope_rad = 20_f64.to_radians();
    let site = bank(slope_rad, Ground { roughness_m: 0.05, ..turf() });
    let run = |stubs: &[Stub]| {
        let section = stem.section(4.0, 6.4, stubs).expect("a section");
        let all = outcomes(&site, &section.piece, "stub", 60, |draw| {
            let attitude = DQuat::from_rotation_z(0.1 * draw(0))
                * across()
                * DQuat::from_rotation_z(PI * draw(1))
                * section.attitude;
            let velocity = DVec3::new(1.0, 0.3 * draw(2), -2.0 - draw(3));
            over(&section.piece, slope_rad, -150.0, 0.2, attitude, velocity, DVec3::ZERO)
        });
        median_within(&rollouts(&all))
    };
    let ((stub_m, stub_in), (bare_m, bare_in)) = (run(&[stub]), run(&[]));
    let seen = format!(
        "{stub_m:.1} m ({:.1} to {:.1}) with a stub, {bare_m:.0} m bare and still rolling",
        stub_in[0], stub_in[1]
    );
    check.holds("2.4 m at 20°", stub_in[1] < bare_in[0], &seen);
    check.end();
}

/// M = MOR·w·t²/6, by the textbook; and a push that turns the piece on the thin hinge doesn't on
/// the thick one.
#[test]
fn val_a_thick_hinge_needs_more() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_a_thick_hinge_needs_more",
        "a hinge twice as thick needs four times the moment, and the push that was enough leaves \
         the piece standing",
        PRACTICE,
    );
    let at = |height_m| Station { height_m, diameter_m: 0.35 };
    let oak = species("white oak").expect("in the table");
    let stem = Stem::measured(vec![at(0.0), at(12.0)], None, oak).expect("a stem");
    let section = stem.section(8.0, 10.0, &[]).expect("a section");
    let stand = Stand::on(&stem, &section, 8.0, DVec3::ZERO);
    let hinge = |thickness_m: f64, force_n: f64| {
        Method::Hinge(HingeSpec {
            hinge_thickness_m: thickness_m,
            push: Push { force_n, height_m: 1.8, travel_m: 0.8 },
            ..HingeSpec::usual(0.0, stand.cut_radius_m, oak)
        })
    };
    let moment = |thickness_m| describe(&stand, &hinge(thickness_m, 0.0)).hinge_moment_n_m;
    for thickness_m in [0.008, 0.012, 0.02] {
        let ratio = moment(2.0 * thickness_m) / moment(thickness_m);
        let case = format!("{} mm doubled", 1e3 * thickness_m);
        check.near(&case, "", ratio, 4.0, Allowed::Share(1e-12));
        // A tenth more than the thin hinge asks for.
        let missing = -describe(&stand, &hinge(thickness_m, 0.0)).margin_n_m;
        let enough_n = 1.1 * missing / 1.8;
        let [thin, thick] = [thickness_m, 2.0 * thickness_m].map(|t| {
            matches!(release(&stand, &hinge(t, enough_n), &Scatter::default()), Release::Left(_))
        });
        let seen = format!("thin leaves: {thin}, thick leaves: {thick}");
        check.holds(&format!("{enough_n:.0} N"), thin && !thick, &seen);
    }
    check.end();
}

fn solid(id: &str, centre_m: DVec3, half_m: DVec3) -> Body {
    Body {
        id: id.to_owned(),
        kind: BodyKind::Structure,
        is_target: true,
        answer: Answer::Fixed,
        shapes: vec![Shape::Cuboid { centre_m, attitude: DQuat::IDENTITY, half_m }],
    }
}

/// A place on the bank.
fn place(slope_rad: f64, x_m: f64) -> DVec3 {
    DVec3::new(x_m, 0.0, -x_m * slope_rad.tan())
}

/// The fence stands as something solid, which brush isn't: it gives way, and may be jumped less.
#[test]
fn val_a_low_fence_is_jumped() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_a_low_fence_is_jumped",
        "a low fence across a bumpy bank is jumped by some rounds and stops others",
        "common practice; a forum report of a round of about 50 lb that bounced over a fence of \
         limbs",
    );
    let slope_rad = 30_f64.to_radians();
    let mut site = bank(slope_rad, Ground { roughness_m: 0.12, ..turf() });
    let fence = place(slope_rad, -135.0);
    site.bodies.push(solid("fence", fence, DVec3::new(0.2, 60.0, 0.45)));
    let round = log(0.35, 0.3);
    let all = outcomes(&site, &round, "fence", 60, |draw| {
        let attitude = DQuat::from_rotation_z(0.2 * draw(0)) * across();
        let velocity = DVec3::new(1.5 + 0.5 * draw(1), 0.3 * draw(2), -9.0);
        let spin = DVec3::new(0.0, 2.0 * draw(3), 0.0);
        over(&round, slope_rad, -150.0, 0.2, attitude, velocity, spin)
    });
    let jumped = share(&all, |o| o.end_m.x > fence.x + 1.0);
    let seen = format!("{} jump, {} kg", percent(jumped), round.mass_kg.round());
    check.holds("15 m down at 30°", jumped > 0.02 && jumped < 0.98, &seen);
    check.end();
}

#[test]
fn val_end_over_end_to_the_building() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_end_over_end_to_the_building",
        "a section that lands on its nose on a steep bank can go end over end all the way to a \
         building below",
        PRACTICE,
    );
    let slope_rad = 33_f64.to_radians();
    let mut site = bank(slope_rad, Ground { roughness_m: 0.08, ..firm() });
    let wall = place(slope_rad, -110.0);
    site.bodies.push(solid("building", wall, DVec3::new(3.0, 30.0, 3.0)));
    let piece = log(1.2, 0.5);
    let all = outcomes(&site, &piece, "building", 60, |draw| {
        // Nose first: 3 to 21° steeper than the bank.
        let attitude = DQuat::from_rotation_z(0.1 * draw(0))
            * DQuat::from_rotation_y(PI * (0.75 + 0.05 * draw(1)));
        let spin = DVec3::new(0.0, 0.8 * draw(2), 0.1 * draw(3));
        over(&piece, slope_rad, -150.0, 0.3, attitude, DVec3::new(1.0, 0.0, -11.0), spin)
    });
    let hit = |o: &Outcome| matches!(o.reaches[0], Reach::Reached { .. });
    let tumbled = share(&all, |o| hit(o) && o.mode == Mode::Tumbled && o.turns > 3.0);
    let seen = format!("{} reach it after three turns and more", percent(tumbled));
    check.holds("1.2 m, 37 m down at 33°", tumbled > 0.02, &seen);
    check.end();
}

#[test]
fn val_thrown_soil() {
    let mut check = Check::new(
        Table::World,
        "val_practice::val_thrown_soil",
        "a section that lands on its nose on a soft bank throws mud onto a building just below, and \
         none as far as one 130 m down",
        PRACTICE,
    );
    let slope_rad = 33_f64.to_radians();
    let mut site = bank(slope_rad, Ground { roughness_m: 0.08, ..soft() });
    for x_m in [-140.0, -20.0] {
        let wall = place(slope_rad, x_m);
        site.bodies.push(solid("building", wall, DVec3::new(1.0, 30.0, 3.0)));
    }
    let piece = log(2.4, 0.4);
    let all = outcomes(&site, &piece, "mud", 20, |draw| {
        let attitude = DQuat::from_rotation_z(0.1 * draw(0))
            * DQuat::from_rotation_y(PI * (0.75 + 0.05 * draw(1)));
        over(&piece, slope_rad, -150.0, 0.3, attitude, DVec3::new(1.0, 0.0, -11.0), DVec3::ZERO)
    });
    // From where it comes down: what a piece throws where it ends stands beside what it strikes.
    let short_m = |k: usize| {
        let firsts = all.iter().filter_map(|outcome| outcome.digs.first());
        firsts.filter_map(|dig| dig.short_m(&site.bodies[k])).fold(f64::INFINITY, f64::min)
    };
    let (near_m, far_m) = (short_m(0), short_m(1));
    let seen = format!("{near_m:.1} m short of the near one, {far_m:.1} m of the far one");
    check.holds("2.4 m at 33°, 12 m/s", near_m < 0.0 && far_m > 0.0, &seen);
    check.end();
}
