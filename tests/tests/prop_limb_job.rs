//! A tree taken down limb by limb: what is on each piece, what lets go early, what is brushed past.

use std::fs;

use tumblewood::{
    drop::{GroundLaw, Setup, drop},
    job::{Job, Outer, World},
    keyed::Key,
    outcome::{Reach, judge},
    release::{Method, Release, release},
    scene::{self, standing::Left},
    site::BodyKind,
};
use tumblewood_tests::root;

fn job() -> Job {
    let text = fs::read_to_string(root().join("scenes/garden-maple.ron")).expect("a scene");
    Job::load(scene::parse(&text, "garden-maple").expect("a scene")).expect("a job")
}

fn cut(job: &Job, id: &str) -> usize {
    job.scene.cuts.iter().position(|c| c.id == id).expect("a cut")
}

fn told() -> (Job, World) {
    let job = job();
    let world = job.world(Outer::Told).expect("a world");
    (job, world)
}

#[test]
fn prop_a_section_takes_the_limbs_that_stand_on_it_unless_an_earlier_cut_took_them() {
    let (job, world) = told();
    let ids = |cut| -> Vec<(&str, Left)> {
        let limbs = job.scene.limbs_on(cut);
        limbs.into_iter().map(|(i, left)| (job.scene.tree.limbs[i].id.as_str(), left)).collect()
    };
    let [snag, south] = ["snag-off", "south-off"].map(|id| cut(&job, id));
    let upper = cut(&job, "upper");
    let found = ids(upper);
    assert_eq!(
        found,
        [("south-limb", Left::Stub(south)), ("east-limb", Left::Whole), ("snag", Left::Stub(snag))]
    );
    assert_eq!(ids(cut(&job, "stem")), [("west-limb", Left::Stub(cut(&job, "west-off")))]);
    assert_eq!(ids(cut(&job, "top")), []);
    // The top weighs its bare stem and the crown; the upper section its stem and a limb of 31 kg.
    let mass = |id| world.cut(cut(&job, id)).expect("a cut").section.piece.mass_kg;
    let bare = |from, to| world.stem.section(from, to, &[]).expect("a section").piece.mass_kg;
    assert!(mass("top") > 1.4 * bare(10.0, 19.0));
    let limb = mass("upper") - bare(7.0, 10.0);
    assert!(limb > 30.0 && limb < 40.0, "{limb}");
    // Both pieces of one limb, and the stub, are the limb.
    let both = mass("south-tip") + mass("south-off");
    let whole = &world.limbs()[1];
    let limb_kg = whole.wood_m3() * world.stem.density_kg_m3 + whole.brush_kg;
    assert!(both < limb_kg && both > 0.92 * limb_kg, "{both} {limb_kg}");
}

/// The hinge over the hollow foot is as wide as the sound wood, and in as many drops as its width
/// is gone it breaks early; one in sound wood never does.
#[test]
fn prop_a_hinge_over_a_hollow_lets_go_early_in_its_share_of_drops() {
    let (job, world) = told();
    let [stem, upper] = ["stem", "upper"].map(|id| world.cut(cut(&job, id)).expect("a cut"));
    assert_eq!(upper.decay_share, 0.0);
    // By hand: r = 23 cm, core 14 cm, hinge 25 mm behind a face a quarter of 46 cm deep.
    let radius = 0.5 * world.stem.diameter_m(0.5);
    let (core, off) = (radius - 0.09, radius - 0.25 * 2.0 * radius - 0.0125);
    let chord = 2.0 * (radius * radius - (0.5 * radius) * (0.5 * radius)).sqrt();
    let share = 2.0 * (core * core - off * off).sqrt() / chord;
    assert!((stem.decay_share - share).abs() < 1e-9, "{} {share}", stem.decay_share);
    let early = |ready: &tumblewood::job::CutReady| {
        let one = |i: u64| {
            let (_, method, _) = ready.scatter(Key::root(2).number(i));
            let Method::Hinge(spec) = method else { panic!("a hinge") };
            spec.break_angle_rad < 15_f64.to_radians()
        };
        (0..2_000).filter(|i| one(*i)).count() as f64 / 2_000.0
    };
    assert_eq!(early(&upper), 0.0);
    assert!((early(&stem) - share).abs() < 0.04, "{} {share}", early(&stem));
    let Method::Hinge(spec) = stem.method else { panic!("a hinge") };
    assert!((spec.hinge_width_m - chord * (1.0 - share)).abs() < 1e-9);
}

/// The limb toward the hornbeam brushes its crown on the way down and not the rowan's, and what
/// it touches says with which energy.
#[test]
fn prop_a_limb_brushes_the_tree_it_grows_toward() {
    let (job, world) = told();
    let ready = world.cut(cut(&job, "west-off")).expect("a cut");
    let setup = Setup { horizon_s: 25.0, ..Setup::new(&ready.site, GroundLaw::Soil) };
    let keep: Vec<&str> = ready
        .site
        .bodies
        .iter()
        .filter(|b| b.is_target)
        .map(|b| if b.kind == BodyKind::KeepTree { b.id.as_str() } else { "" })
        .collect();
    let (mut hornbeam, mut rowan) = (0, 0);
    for i in 0..8 {
        let key = Key::root(4).number(i);
        let (stand, method, scatter) = ready.scatter(key);
        let Release::Left(launch) = release(&stand, &method, &scatter) else { continue };
        let track =
            drop(&setup, &ready.section.piece, &launch, key.word("roughness"), f64::INFINITY);
        for (id, reach) in keep.iter().zip(&judge(&track, &ready.site).reaches) {
            if let Reach::Reached { energy_j, speed_m_s } = reach {
                assert!(*energy_j > 0.0 && *speed_m_s > 0.0);
                hornbeam += u32::from(*id == "hornbeam");
                rowan += u32::from(*id == "rowan");
            }
        }
    }
    assert!(hornbeam >= 5 && rowan == 0, "{hornbeam} {rowan}");
}
