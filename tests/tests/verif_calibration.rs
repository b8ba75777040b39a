#![allow(clippy::print_stdout, reason = "figures")]
use rayon::prelude::*;
use tumblewood::forecast::{Ask, replay};
use tumblewood::job::Outer;
use tumblewood::drop::Ending;
use tumblewood_tests::invented::{Invented, Other};
use std::time::Instant;

#[test]
fn probe() {
    let n: u64 = std::env::var("JOBS").ok().and_then(|v| v.parse().ok()).unwrap_or(10);
    let d: u64 = std::env::var("DROPS").ok().and_then(|v| v.parse().ok()).unwrap_or(20);
    let rows: Vec<_> = (0..n).into_par_iter().map(|j| {
        let t0 = Instant::now();
        let job = Invented::new(1, j);
        let t1 = t0.elapsed();
        let ask = Ask { cuts: vec![0], drops: 0, grounds: d as u32, drops_per_ground: 1, seed: j, ..Ask::default() };
        let t = Instant::now();
        for l in 0..d { let _ = job.job.world(Outer::Drawn { seed: j, index: l }).unwrap(); }
        let t2 = t.elapsed();
        let t = Instant::now();
        let mut sat = 0; let mut lost = 0; let mut time = 0; let mut roll = vec![];
        for l in 0..d {
            let again = replay(&job.job, &ask, Outer::Drawn { seed: j, index: l }, 0, 0, f64::INFINITY).unwrap();
            match again.what { Err(_) => sat += 1, Ok((_, o)) => { roll.push(o.rollout_m); match o.ending { Ending::LeftTerrain => lost += 1, Ending::OutOfTime => time += 1, _ => {} } } }
        }
        let t3 = t.elapsed();
        let truth = job.drop_once(&Other::NONE).unwrap().map(|o| o.rollout_m);
        roll.sort_by(f64::total_cmp);
        format!("{j}: new {t1:?} world {:?} replay {:?} sat {sat} lost {lost} time {time} median {:?} max {:?} truth {truth:?}", t2 / d as u32, t3 / d as u32, roll.get(roll.len()/2), roll.last())
    }).collect();
    for r in rows { println!("{r}"); }
}
