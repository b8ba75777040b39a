//! One drop is a function of its inputs: the same track, bit for bit, on whatever thread, in
//! whatever order and after whatever else that thread has followed.

use std::fs;

use rayon::{ThreadPoolBuilder, prelude::*};
use tumblewood::{
    drop::GroundLaw,
    forecast::{Ask, replay},
    job::{Job, Outer},
    scene,
};
use tumblewood_tests::root;

/// The lake oak with its barrier log loose, so that soil and solids act on two bodies at once.
fn job() -> Job {
    let text = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("a scene");
    let text = text.replacen("held: AgainstStump", "held: NotHeld", 1);
    let mut scene = scene::parse(&text, "lake-oak").unwrap_or_else(|e| panic!("{e}"));
    scene.folder = root().join("scenes");
    Job::load(scene).unwrap_or_else(|e| panic!("{e}"))
}

/// How many drops are followed.
const DROPS: usize = 6;

/// Law, cut and index of the drops that are followed.
fn drops() -> Vec<(GroundLaw, usize, u32)> {
    let laws = [GroundLaw::Soil, GroundLaw::Soil, GroundLaw::Rigid];
    (0..DROPS as u32).map(|i| (laws[i as usize % 3], i as usize % 4, i)).collect()
}

/// A whole track in words that tell every bit of its numbers.
fn track(job: &Job, (law, cut, index): (GroundLaw, usize, u32)) -> String {
    let ask = Ask { law, seed: 3, ..Ask::default() };
    let outer = if index % 2 == 0 { Outer::Told } else { Outer::Drawn { seed: 3, index: 1 } };
    let again = replay(job, &ask, outer, cut, index, 0.01).unwrap_or_else(|e| panic!("{e}"));
    format!("{:?}", again.what)
}

#[test]
fn prop_a_track_is_the_same_on_any_thread_and_after_any_other() {
    let job = job();
    let alone: Vec<String> = drops().into_iter().map(|drop| track(&job, drop)).collect();
    let lengths: Vec<usize> = alone.iter().map(String::len).collect();
    assert!(
        lengths.iter().filter(|&&n| n > 20_000).count() > 3,
        "too few were followed: {lengths:?}"
    );

    // One thread, backwards, every drop after another.
    for (k, drop) in drops().into_iter().enumerate().rev() {
        let _ = track(&job, drops()[(k + 4) % DROPS]);
        assert!(track(&job, drop) == alone[k], "{drop:?} after another on its thread");
    }
    for threads in [1, 2, 4] {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let together: Vec<String> =
            pool.install(|| drops().into_par_iter().map(|drop| track(&job, drop)).collect());
        for (k, (said, drop)) in together.iter().zip(drops()).enumerate() {
            assert!(*said == alone[k], "{drop:?} on {threads} threads");
        }
    }
}
