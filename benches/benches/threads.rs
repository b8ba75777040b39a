//! A forecast of the demo on one thread and on two: wall time as a ratio. Its second cut, whose
//! drops last about as long as each other: among a few drops of the third one alone decides.

use std::{sync::atomic::AtomicBool, time::Instant};

use tumblewood::{
    forecast::{self, Ask},
    job::Job,
    scene,
};
use tumblewood_benches::{
    child::root,
    table::{Goal, figures, median, not_run, remark, row},
};

const AREA: &str = "threads";
const ROUNDS: usize = 3;

fn main() {
    if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

fn measure() -> Result<(), String> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    if cores < 2 {
        return Err(format!("two threads need two cores, here is {cores}"));
    }
    let scene = scene::load(&root().join("scenes/lake-oak.ron")).map_err(|e| e.to_string())?;
    let job = Job::load(scene).map_err(|e| e.to_string())?;
    let cut = job.scene.cuts.iter().position(|c| c.id == "s2").ok_or("no cut s2")?;
    let ask =
        Ask { cuts: vec![cut], drops: 120, grounds: 2, drops_per_ground: 20, ..Ask::default() };
    let (mut ratios, mut quiet, mut waited) = (Vec::new(), Vec::new(), 0.0_f64);
    for _ in 0..ROUNDS {
        let (mut walls, mut alone) = ([0.0; 2], [0.0; 2]);
        for threads in [1, 2] {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .map_err(|e| e.to_string())?;
            let before = pool.broadcast(|_| core_wait_s());
            let begun = Instant::now();
            let run = pool.install(|| forecast::run(&job, &ask, &AtomicBool::new(false), &|_| {}));
            run.map_err(|e| e.to_string())?;
            let wall = begun.elapsed().as_secs_f64();
            let waits = pool.broadcast(|_| core_wait_s()).into_iter().zip(before);
            let wait = waits.map(|(b, a)| b - a).sum::<f64>() / threads as f64;
            (walls[threads - 1], alone[threads - 1]) = (wall, wall - wait);
            waited = waited.max(wait / wall);
        }
        ratios.push(walls[0] / walls[1]);
        quiet.push(alone[0] / alone[1]);
    }
    let what = "demo, cut s2, 160 drops: 1 thread / 2 threads";
    row(AREA, &format!("{what}, wall"), median(ratios), "×", Goal::AtLeast(1.8));
    row(AREA, &format!("{what}, without waits"), median(quiet), "×", Goal::AtLeast(1.8));
    let text = format!(
        "\"without waits\" takes off the time threads stood ready and other work had the cores: \
         up to {} % of the wall here",
        figures(100.0 * waited)
    );
    remark(AREA, &text);
    Ok(())
}

/// Time this thread has stood ready without a core so far, s; 0 where the system doesn't tell.
fn core_wait_s() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let second = text.split_whitespace().nth(1);
    second.and_then(|ns| ns.parse::<f64>().ok()).map_or(0.0, |ns| ns * 1e-9)
}
