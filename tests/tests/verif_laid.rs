//! Solves its equations: where a stem comes to lie that follows its hinge to the ground, and the map
//! of which way it can reach.

use std::{fs, path::PathBuf, sync::atomic::AtomicBool};

use tumblewood::{
    drop::GroundLaw,
    forecast::reach_map::{FINE, MapAsk, MapError, ReachMap, reach_map},
    job::Job,
    scene,
};
use tumblewood_tests::table::{Allowed, Check, Table};

/// Height of the cut and length of the stem above it, m.
const CUT_M: f64 = 0.5;
const STEM_M: f64 = 12.0;

/// An upright stem on a plane that falls toward 90° at this slope (percent), its hinge a third in.
fn on_a_plane(percent: f64) -> Job {
    // Twelve lines from the stump: a plane rises by its slope times the cosine.
    let lines: String = (0..12)
        .map(|i| {
            let azimuth = 30.0 * f64::from(i);
            let rise = percent * -(azimuth - 90.0).to_radians().cos();
            format!("(id: \"l{i}\", azimuth: \"{azimuth} deg\", legs: [(\"20 m\", \"{rise:.9} %\"), (\"20 m\", \"{rise:.9} %\")]),")
        })
        .collect();
    let text = format!(
        "(version: 1, name: \"Plane\", invented: true, units: Metric, doubt: Measured,
          site: (terrain: Transects(lines: [{lines}]),
            ground: (soil: ThumbIndents, cover: Turf(\"3 cm\"), roughness: Lawn, wetness: Damp)),
          tree: (species: \"White ash\", dbh: \"40 cm\", height: \"20 m\", topped_at: \"{top} m\",
            diameters: [(\"1 m\", \"40 cm\"), (\"12.5 m\", \"40 cm\")], lean: Angle(angle: \"0 deg\", toward: \"0 deg\")),
          targets: [Structure(id: \"shed\", corners: [At(azimuth: \"350 deg\", distance: \"10 m\"), At(azimuth: \"10 deg\", distance: \"10 m\"), At(azimuth: \"10 deg\", distance: \"14 m\"), At(azimuth: \"350 deg\", distance: \"14 m\")], wall: \"2 m\", roof: \"3 m\")],
          cuts: [
            (id: \"upper\", piece: Section(from: \"{upper} m\", to: \"{top} m\"), release: PushOver(toward: \"90 deg\")),
            (id: \"stem\", piece: Section(from: \"{CUT_M} m\", to: \"{upper} m\"), release: Hinge(face: \"90 deg\", opening: \"80 deg\", depth: \"25 %\", hinge: \"3 cm\")),
          ])",
        top = CUT_M + STEM_M,
        upper = CUT_M + 0.5 * STEM_M,
    );
    let scene = scene::parse(&text, "plane.ron").unwrap_or_else(|e| panic!("{e}"));
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

fn map(job: &Job, cut: usize, drops: u32) -> Result<ReachMap, MapError> {
    let ask = MapAsk { cut, drops, seed: 1, law: GroundLaw::Soil };
    reach_map(job, &ask, &AtomicBool::new(false), &|_| {})
}

/// The top's rim comes down on its circle about the hinge: on a plane of any slope its place is where
/// the circle meets the line that the axis of a stem of that radius lies on.
#[test]
fn verif_a_stem_laid_down_on_a_plane() {
    let mut check = Check::new(
        Table::Equations,
        "verif_laid::verif_a_stem_laid_down_on_a_plane",
        "how far from the stump a stem reaches that follows its hinge down a plane, whole and shortened",
        "closed form: circle about the hinge and a line (whole-tree reach by geometry)",
    );
    for percent in [0.0, 20.0, 55.0] {
        let job = on_a_plane(percent);
        let map = map(&job, 1, 0).unwrap_or_else(|e| panic!("{e}"));
        let [cut, whole] = &map.pieces[..] else { panic!("two pieces") };
        for (piece, length_m) in [(cut, 0.5 * STEM_M), (whole, STEM_M)] {
            for (azimuth, name) in [(90, "down"), (0, "across"), (270, "up")] {
                let slope = percent / 100.0 * f64::from(azimuth - 90).to_radians().cos();
                // Hinge: half a hinge behind the face's apex, 25 % of the diameter in.
                let radius_m = 0.5 * 0.4;
                let (x0, z0) = (radius_m - 0.25 * 0.4 - 0.5 * 0.03, CUT_M);
                let s = (length_m * length_m + x0 * x0).sqrt();
                // The axis's end is at s on its circle when it is a radius off the plane.
                let clear = radius_m * (1.0 + slope * slope).sqrt();
                // z0 + s·cos φ = −slope·(x0 + s·sin φ) + clear, solved by halving.
                let over = |phi: f64| z0 + s * phi.cos() + slope * (x0 + s * phi.sin()) - clear;
                let (mut low, mut high) = (0.3_f64, 2.6);
                for _ in 0..80 {
                    let middle = 0.5 * (low + high);
                    if over(middle) > 0.0 { low = middle } else { high = middle }
                }
                let theirs = x0 + s * low.sin();
                let ours = piece.laid[azimuth as usize].expect("known ground").top_m;
                let case = format!("{percent} %, {name}, {length_m} m");
                check.near(&case, "m", ours, theirs, Allowed::By(0.003));
            }
        }
    }
    check.end();
}

/// A shed before the stump is met on the azimuths at which it is seen, widened by the stem.
#[test]
fn verif_a_shed_is_met_where_it_is_seen() {
    let job = on_a_plane(0.0);
    let map = map(&job, 1, 0).unwrap_or_else(|e| panic!("{e}"));
    let [cut, whole] = &map.pieces[..] else { panic!("two pieces") };
    assert!(cut.sectors.is_empty(), "6 m don't come to a shed at 10 m");
    let [sector] = &whole.sectors[..] else { panic!("{:?}", whole.sectors) };
    let (from, to) = (sector.from_rad.to_degrees(), sector.to_rad.to_degrees());
    // Its near corners are at 350° and 10°, 10 m off; a stem of 0.2 m is 1.1° wide there.
    assert!((from - 349.0).abs() <= 1.0 && (to - 11.0).abs() <= 1.0, "{from} to {to}");
    assert_eq!(whole.laid.len(), FINE as usize);
}

#[test]
fn prop_a_map_is_the_same_on_any_number_of_threads() {
    let job = on_a_plane(35.0);
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| map(&job, 1, 1)).unwrap_or_else(|e| panic!("{e}"))
    };
    assert_eq!(on(1), on(3));
}

/// Down the bank a dropped stem gets at least as far as it lies; no cut without a hinge has a map.
#[test]
fn prop_what_is_dropped_gets_as_far_as_it_lies() {
    let job = on_a_plane(35.0);
    let found = map(&job, 1, 2).unwrap_or_else(|e| panic!("{e}"));
    for piece in &found.pieces {
        assert_eq!(piece.dropped.len(), 24);
        let down = piece.dropped.iter().find(|d| (d.azimuth_rad.to_degrees() - 90.0).abs() < 1e-6);
        let down = down.expect("toward 90°");
        let laid = piece.laid[90].expect("known ground");
        assert_eq!(down.sat_back, 0);
        assert!(down.farthest_m > 0.9 * laid.farthest_m, "{} {}", down.farthest_m, laid.farthest_m);
    }
    assert!(matches!(map(&job, 0, 1), Err(MapError::NoHinge(id)) if id == "upper"));
}

#[test]
fn regress_the_mill_ash_comes_onto_the_shed_only_uncut() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../scenes/mill-ash.ron");
    let scene = scene::parse(&fs::read_to_string(path).expect("the scene"), "mill-ash.ron");
    let job = Job::load(scene.unwrap_or_else(|e| panic!("{e}"))).unwrap_or_else(|e| panic!("{e}"));
    let map = map(&job, 2, 0).unwrap_or_else(|e| panic!("{e}"));
    let met =
        |k: usize| -> Vec<&str> { map.pieces[k].sectors.iter().map(|s| &s.target[..]).collect() };
    assert!(met(0).is_empty());
    assert_eq!(met(1), ["drying-shed", "lane-oak"]);
}
