//! A small forecast of the demo's cut on one thread and on two: wall time as a ratio.

use std::{sync::atomic::AtomicBool, time::Instant};

use tumblewood::{
    forecast::{self, Ask},
    job::Job,
    scene,
};
use tumblewood_benches::{
    child::{process_cpu_s, root},
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
    let cut = job.scene.cuts.iter().position(|c| c.id == "s3").ok_or("no cut s3")?;
    let ask =
        Ask { cuts: vec![cut], drops: 40, grounds: 2, drops_per_ground: 10, ..Ask::default() };
    let (mut ratios, mut served) = (Vec::new(), [f64::INFINITY; 2]);
    for _ in 0..ROUNDS {
        let mut walls = [0.0; 2];
        for threads in [1, 2] {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .map_err(|e| e.to_string())?;
            let (begun, cpu) = (Instant::now(), process_cpu_s());
            let run = pool.install(|| forecast::run(&job, &ask, &AtomicBool::new(false), &|_| {}));
            run.map_err(|e| e.to_string())?;
            let wall = begun.elapsed().as_secs_f64();
            walls[threads - 1] = wall;
            if let (Some(a), Some(b)) = (cpu, process_cpu_s()) {
                let share = (b - a) / (wall * threads as f64);
                served[threads - 1] = served[threads - 1].min(share);
            }
        }
        ratios.push(walls[0] / walls[1]);
    }
    row(
        AREA,
        "demo cut, 60 drops: 1 thread / 2 threads, wall",
        median(ratios),
        "×",
        Goal::AtLeast(1.8),
    );
    if served[1].is_finite() {
        let shares = served.map(|s| figures(100.0 * s));
        let text = format!(
            "least share of its cores it got: {} % on one thread, {} % on two (less than 100 on two: \
             other work, or idle at the end)",
            shares[0], shares[1]
        );
        remark(AREA, &text);
    }
    Ok(())
}
