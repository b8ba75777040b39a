//! Next to something solid, where rapier works: its share of the steps and what it costs, on the
//! open bank, on the same bank with twelve trees about the path, and in the demo.

use glam::DVec3;
use tumblewood::{
    drop::{GroundLaw, Setup},
    forecast::{self, Ask},
    job::{Job, Outer},
    keyed::Key,
    scene,
    site::{Answer, Body, BodyKind, Shape, Site},
    soil::testing::firm,
};
use tumblewood_benches::{
    Fall, SLOPE_RAD,
    child::root,
    cpu_s, drop_one, lasted_s, rough_bank, section,
    table::{Goal, median, not_run, remark, row},
};

const AREA: &str = "near";
const DROPS: u64 = 40;
const ROUNDS: usize = 3;
/// Longest step near something solid, s: with it, near steps bound near time from above.
const NEAR_STEP_S: f64 = 1e-3;

fn main() {
    let open = rough_bank(firm());
    let wooded = Site { bodies: trees(), ..open.clone() };
    let mut rounds = Vec::new();
    for _ in 0..ROUNDS {
        rounds.push([measure(&open), measure(&wooded)]);
    }
    let of = |f: &dyn Fn(&[Cost; 2]) -> f64| median(rounds.iter().map(f).collect());
    row(AREA, "open bank: near share of steps", of(&|r| 100.0 * r[0].near_steps), "%", Goal::None);
    row(
        AREA,
        "wooded bank: near share of steps",
        of(&|r| 100.0 * r[1].near_steps),
        "%",
        Goal::None,
    );
    row(AREA, "wooded bank: near share of time", of(&|r| 100.0 * r[1].near_time), "%", Goal::None);
    row(
        AREA,
        "wooded bank: near share of processor time",
        of(&|r| 100.0 * r[1].near_cpu),
        "%",
        Goal::None,
    );
    row(AREA, "wooded bank: a near step", of(&|r| r[1].near_step_us), "µs", Goal::None);
    row(AREA, "wooded bank: an open step", of(&|r| r[1].open_step_us), "µs", Goal::None);
    row(AREA, "open bank: a simulated second", of(&|r| r[0].second_ms), "ms", Goal::None);
    row(
        AREA,
        "wooded bank: a simulated second near",
        of(&|r| r[1].near_second_ms),
        "ms",
        Goal::None,
    );
    row(
        AREA,
        "near / open, a simulated second",
        of(&|r| r[1].near_second_ms / r[0].second_ms),
        "×",
        Goal::None,
    );
    row(AREA, "wooded / open, a drop", of(&|r| r[1].drop_ms / r[0].drop_ms), "×", Goal::None);
    remark(
        AREA,
        "near and open steps are told apart by least squares over drops; near time is at most 1 ms a step",
    );
    match demo_share() {
        Ok([steps, time]) => {
            row(AREA, "demo: near share of steps", 100.0 * steps, "%", Goal::None);
            row(AREA, "demo: near share of time", 100.0 * time, "%", Goal::None);
        }
        Err(why) => not_run(AREA, &format!("demo: {why}")),
    }
}

/// Twelve trees of 30 to 50 cm within 5 m of the path, over the first 70 m of it.
fn trees() -> Vec<Body> {
    (0..12_u32)
        .map(|i| {
            let key = Key::root(12).number(u64::from(i));
            let x = -144.0 + 6.0 * f64::from(i);
            let y = if i % 2 == 0 { 1.0 } else { -1.0 } * (0.8 + 4.2 * key.number(1).uniform());
            let foot = DVec3::new(x, y, -x * SLOPE_RAD.tan());
            Body {
                id: format!("tree-{i}"),
                kind: BodyKind::KeepTree,
                is_target: true,
                answer: Answer::Fixed,
                shapes: vec![Shape::Capsule {
                    from_m: foot - DVec3::Z,
                    to_m: foot + 15.0 * DVec3::Z,
                    radius_m: 0.15 + 0.1 * key.number(2).uniform(),
                }],
            }
        })
        .collect()
}

/// What drops on a bank cost.
#[derive(Clone, Copy, Debug)]
struct Cost {
    near_steps: f64,
    near_time: f64,
    near_cpu: f64,
    near_step_us: f64,
    open_step_us: f64,
    near_second_ms: f64,
    second_ms: f64,
    drop_ms: f64,
}

fn measure(site: &Site) -> Cost {
    let mut setup = Setup::new(site, GroundLaw::Soil);
    setup.horizon_s = 60.0;
    let piece = section(1.8);
    // Per drop: open steps, near steps, processor time, simulated time.
    let drops: Vec<[f64; 4]> = (0..DROPS)
        .map(|index| {
            let begun = cpu_s();
            let track = drop_one(&setup, &piece, Fall::Nose, index);
            let cpu = cpu_s() - begun;
            let near = f64::from(track.near_steps);
            [f64::from(track.steps) - near, near, cpu, lasted_s(&track)]
        })
        .collect();
    let sum = |f: &dyn Fn(&[f64; 4]) -> f64| drops.iter().map(f).sum::<f64>();
    let (open, near, cpu, lasted) =
        (sum(&|d| d[0]), sum(&|d| d[1]), sum(&|d| d[2]), sum(&|d| d[3]));
    // cpu = a · open steps + b · near steps, by least squares.
    let (oo, on, nn) = (sum(&|d| d[0] * d[0]), sum(&|d| d[0] * d[1]), sum(&|d| d[1] * d[1]));
    let (oc, nc) = (sum(&|d| d[0] * d[2]), sum(&|d| d[1] * d[2]));
    let (a, b) = if near > 0.0 {
        let det = oo * nn - on * on;
        ((oc * nn - nc * on) / det, (oo * nc - on * oc) / det)
    } else {
        (oc / oo, f64::NAN)
    };
    Cost {
        near_steps: near / (open + near),
        near_time: near * NEAR_STEP_S / lasted,
        near_cpu: b * near / cpu,
        near_step_us: b * 1e6,
        open_step_us: a * 1e6,
        near_second_ms: b / NEAR_STEP_S * 1e3,
        second_ms: cpu / lasted * 1e3,
        drop_ms: cpu / drops.len() as f64 * 1e3,
    }
}

/// Near share of steps and of time in the demo's cut.
fn demo_share() -> Result<[f64; 2], String> {
    let scene = scene::load(&root().join("scenes/lake-oak.ron")).map_err(|e| e.to_string())?;
    let job = Job::load(scene).map_err(|e| e.to_string())?;
    let cut = job.scene.cuts.iter().position(|c| c.id == "s3").ok_or("no cut s3")?;
    let (mut near, mut all, mut time) = (0.0, 0.0, 0.0);
    for index in 0..20 {
        let ask = Ask::default();
        let replay = forecast::replay(&job, &ask, Outer::Told, cut, index, f64::INFINITY)
            .map_err(|e| e.to_string())?;
        if let Ok((track, _)) = replay.what {
            near += f64::from(track.near_steps);
            all += f64::from(track.steps);
            time += track.samples.last().map_or(0.0, |s| s.time_s);
        }
    }
    Ok([near / all, near * NEAR_STEP_S / time])
}
