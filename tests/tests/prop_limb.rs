//! Limbs and tops: how they leave, fall, land and rest. What practice takes for granted has no
//! source; each check is an order or a yes or no.

use std::f64::consts::PI;

use glam::{DQuat, DVec3};
use tumblewood::{
    drop::{Against, Ending, GroundLaw, Place, Setup, Track, drop},
    keyed::Key,
    motion::Motion,
    release::{
        HingeSpec, Launch, Method, Release, SPLIT_RAD, Scatter, Stand, UnderAndTopSpec, release,
    },
    site::Site,
    soil::testing::{bank, firm, turf},
    tree::{Limb, LimbCut, LimbPart, Piece, Section, Station, Stem},
    wood::species,
};

fn stem() -> Stem {
    let at = |height_m, diameter_m| Station { height_m, diameter_m };
    let maple = species("red maple").unwrap();
    Stem::measured(vec![at(0.0, 0.45), at(18.0, 0.15)], None, maple).unwrap()
}

/// A limb of 5 m, 17 cm thick, toward +x, rising so many degrees.
fn limb(rise_deg: f64, brush_share: f64) -> LimbPart {
    let (sine, cosine) = libm::sincos(rise_deg.to_radians());
    let mut limb = Limb {
        height_m: 9.0,
        along: DVec3::new(cosine, 0.0, sine),
        length_m: 5.0,
        diameter_m: 0.17,
        brush_kg: 0.0,
    };
    limb.brush_kg = brush_share * limb.wood_m3() * stem().density_kg_m3;
    LimbPart { limb, to_m: 5.0 }
}

fn stand<'a>(cut: &'a LimbCut, section: &'a Section) -> Stand<'a> {
    Stand {
        section,
        cut_m: cut.cut_m,
        attitude: cut.attitude,
        cut_radius_m: cut.cut_radius_m,
        friction: 0.5,
        wind_n: DVec3::ZERO,
    }
}

fn under_and_top(step_m: f64) -> Method {
    let maple = species("red maple").unwrap();
    Method::UnderAndTop(UnderAndTopSpec::usual(0.5 * PI, 0.055, step_m, maple))
}

fn face_and_hinge(cut: &LimbCut) -> Method {
    let maple = species("red maple").unwrap();
    Method::Hinge(HingeSpec::usual(0.5 * PI, cut.cut_radius_m, maple))
}

fn launched(cut: &LimbCut, how: &Method) -> Launch {
    match release(&stand(cut, &cut.section), how, &Scatter::default()) {
        Release::Left(launch) => launch,
        Release::SitsBack { missing_moment_n_m } => panic!("sits back: {missing_moment_n_m}"),
    }
}

fn dropped(site: &Site, piece: &Piece, launch: &Launch, key: u64) -> Track {
    let setup = Setup { horizon_s: 25.0, ..Setup::new(site, GroundLaw::Soil) };
    drop(&setup, piece, launch, Key::root(key), 0.05)
}

/// How far the limb's axis has turned, tip down, from where it stood, degrees.
fn tip_down_deg(cut: &LimbCut, motion: &Motion) -> f64 {
    let rise = |axis: DVec3| axis.z.asin().to_degrees();
    let axis = cut.section.attitude.inverse() * DVec3::Z;
    rise(cut.attitude * DVec3::Z) - rise(motion.attitude * axis)
}

fn first_place(track: &Track) -> Place {
    let ground = track.touches.iter().find(|t| t.against == Against::Ground);
    ground.expect("it lands").place
}

/// Common practice: a limb on an under-and-top cut comes down butt first; one over a face and
/// hinge swings its tip down; one whose top cut lies inside the under cut turns on the stub.
#[test]
fn prop_a_limb_on_an_under_and_top_cut_comes_down_butt_first() {
    let site = bank(0.0, firm());
    for rise_deg in [10.0, 20.0, 25.0, 30.0, 45.0] {
        let cut = stem().limb(&limb(rise_deg, 0.3), 0.15).unwrap();
        let piece = &cut.section.piece;
        let free = launched(&cut, &under_and_top(0.05));
        let turned_deg = tip_down_deg(&cut, &free.motion);
        // A steep one leans on its stub a little longer.
        let most_deg = SPLIT_RAD.to_degrees() + if rise_deg > 30.0 { 8.0 } else { 1.0 };
        assert!(turned_deg < most_deg, "{rise_deg}: {turned_deg}");
        let track = dropped(&site, piece, &free, 1);
        let place = first_place(&track);
        // One that grows all but level comes down flat, with whichever end, and a steep one turns on
        // its stub before it slides off.
        let usual = (15.0..35.0).contains(&rise_deg);
        assert!(place == Place::Butt || !usual, "{rise_deg}: {place:?}");
        let hinged = launched(&cut, &face_and_hinge(&cut));
        let track = dropped(&site, piece, &hinged, 1);
        assert_eq!(first_place(&track), Place::Top, "{rise_deg} over a hinge");
        let inside = launched(&cut, &under_and_top(-0.05));
        let [free, inside, hinged] =
            [free, inside, hinged].map(|launch| tip_down_deg(&cut, &launch.motion));
        assert!(free < inside && free < hinged, "{rise_deg}: {free} {inside} {hinged}");
    }
}

/// Brush holds the tip back: the same limb without it comes down flatter to its launch.
#[test]
fn prop_brush_holds_the_tip_back_in_the_air() {
    let fallen = |brush_share: f64| {
        let cut = stem().limb(&limb(10.0, brush_share), 0.15).unwrap();
        let site = bank(0.0, firm());
        let free = launched(&cut, &under_and_top(0.05));
        let track = dropped(&site, &cut.section.piece, &free, 1);
        let landed = track.first_touch.expect("it lands");
        tip_down_deg(&cut, &landed) - tip_down_deg(&cut, &free.motion)
    };
    let [bare, thin, thick] = [0.0, 0.2, 0.5].map(fallen);
    assert!(thick < thin && thin < bare, "{bare} {thin} {thick}");
}

/// A top lands on its brush and stays; bare, the same stem goes down the bank.
#[test]
fn prop_brush_holds_a_top_on_a_bank() {
    let stem = stem();
    let parts: Vec<LimbPart> = (0..6)
        .map(|k| {
            let (y, x) = libm::sincos(f64::from(k) * PI / 3.0);
            let limb = Limb {
                height_m: 12.0 + 0.8 * f64::from(k),
                along: DVec3::new(0.8 * x, 0.8 * y, 0.6),
                length_m: 2.2,
                diameter_m: 0.07,
                brush_kg: 2.0,
            };
            LimbPart { limb, to_m: 2.2 }
        })
        .collect();
    let slope = 28_f64.to_radians();
    let site = bank(slope, turf());
    let run = |section: &Section| {
        let motion = Motion {
            centre_m: DVec3::Z * 6.0,
            // Across the slope, as it comes off a hinge along it.
            attitude: DQuat::from_rotation_x(0.5 * PI) * section.attitude,
            velocity_m_s: DVec3::new(2.0, 0.0, -1.0),
            spin_rad_s: DVec3::ZERO,
        };
        let launch = Launch { motion, time_s: 0.0 };
        let track = dropped(&site, &section.piece, &launch, 3);
        let end = track.samples.last().expect("an end").motion.centre_m;
        (end.x, track.ending)
    };
    let bare = run(&stem.section(11.0, 18.0, &[]).unwrap());
    let brushy = run(&stem.limbed_section(11.0, 18.0, &[], &parts).unwrap());
    assert_eq!(brushy.1, Ending::Rest);
    assert!(brushy.0 < 6.0 && bare.0 > 2.0 * brushy.0, "{brushy:?} {bare:?}");
}

/// A limb let down gently comes to rest on its brush, its tip off the ground; the bare one
/// lies or rolls.
#[test]
fn prop_a_limb_comes_to_rest_on_its_brush() {
    let site = bank(3_f64.to_radians(), turf());
    let tip_m = |brush_share: f64| {
        let cut = stem().limb(&limb(25.0, brush_share), 0.15).unwrap();
        let section = &cut.section;
        let motion = Motion {
            centre_m: DVec3::Z * 1.1,
            attitude: DQuat::from_rotation_x(0.5 * PI) * section.attitude,
            velocity_m_s: DVec3::ZERO,
            spin_rad_s: DVec3::ZERO,
        };
        let track = dropped(&site, &section.piece, &Launch { motion, time_s: 0.0 }, 5);
        let rests = track.ending == Ending::Rest;
        let tip = track.samples.last().expect("an end").motion.point_m(section.piece.top_m());
        let ground = site.terrain.surface(tip.x, tip.y).expect("ground").height_m;
        (rests, tip.z - ground)
    };
    let [brushy, bare] = [0.3, 0.0].map(tip_m);
    assert!(brushy.0 && brushy.1 > 0.25 && bare.1 < 0.1, "{brushy:?} {bare:?}");
}
