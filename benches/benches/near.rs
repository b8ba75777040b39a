//! Next to something solid, where rapier works: its share of the steps and what it costs, on the
//! open bank, on the same bank with twelve trees about the path, held by two trees, and in the demo.

use glam::DVec3;
use tumblewood::{
    drop::{GroundLaw, Setup, drop},
    forecast::{self, Ask},
    job::{Job, Outer},
    keyed::Key,
    motion::Motion,
    release::Launch,
    scene,
    site::{Answer, Body, BodyKind, Shape, Site},
    soil::testing::firm,
};
use tumblewood_benches::{
    Fall, SLOPE_RAD,
    child::root,
    cpu_s, lasted_s, rough_bank, section, start,
    table::{Goal, median, not_run, row},
};

const AREA: &str = "near";
const DROPS: u64 = 40;
const ROUNDS: usize = 3;
/// Longest step near something solid, s: with it, near steps bound near time from above.
const NEAR_STEP_S: f64 = 1e-3;

/// What, how to tell it from the three banks, and the unit.
type Row<'a> = (&'a str, &'a dyn Fn(&[Cost; 3]) -> f64, &'a str);

fn main() {
    let open = rough_bank(firm());
    let wooded = Site { bodies: trees(), ..open.clone() };
    let held = Site { bodies: stakes(), ..open.clone() };
    let mut rounds = Vec::new();
    for _ in 0..ROUNDS {
        let open = measure(&open, &let_go);
        rounds.push([open, measure(&wooded, &let_go), measure(&held, &laid_down)]);
    }
    let of = |f: &dyn Fn(&[Cost; 3]) -> f64| median(rounds.iter().map(f).collect());
    // Held by two trees a piece is near nearly always; its few open steps are taken off.
    let near_step_us =
        |[open, _, held]: &[Cost; 3]| (held.cpu_us - held.open * open.step_us()) / held.near;
    let near_second_ms = |r: &[Cost; 3]| near_step_us(r) / NEAR_STEP_S * 1e-3;
    let rows: [Row<'_>; 11] = [
        ("open bank: near share of steps", &|r| r[0].share_of_steps(), "%"),
        ("wooded bank: near share of steps", &|r| r[1].share_of_steps(), "%"),
        ("wooded bank: near share of time", &|r| r[1].share_of_time(), "%"),
        (
            "wooded bank: near share of processor time",
            &|r| 100.0 * r[1].near * near_step_us(r) / r[1].cpu_us,
            "%",
        ),
        ("wooded / open, a drop", &|r| r[1].cpu_us / r[0].cpu_us, "×"),
        ("held by two trees: near share of steps", &|r| r[2].share_of_steps(), "%"),
        ("a near step, held by two trees", &near_step_us, "µs"),
        ("an open step, open bank", &|r| r[0].step_us(), "µs"),
        ("a simulated second near, held by two trees", &near_second_ms, "ms"),
        ("a simulated second on the open bank", &|r| r[0].second_ms(), "ms"),
        ("near / open, a simulated second", &|r| near_second_ms(r) / r[0].second_ms(), "×"),
    ];
    for (what, number, unit) in rows {
        row(AREA, what, of(number), unit, Goal::None);
    }
    match demo_share() {
        Ok([steps, time]) => {
            row(AREA, "demo: near share of steps", 100.0 * steps, "%", Goal::None);
            row(AREA, "demo: near share of time", 100.0 * time, "%", Goal::None);
        }
        Err(why) => not_run(AREA, &format!("demo: {why}")),
    }
}

/// Let go over the bank, nose down.
fn let_go(index: u64) -> (Motion, Key) {
    start(Fall::Nose, index)
}

/// Laid down across the slope, just above two stakes.
fn laid_down(index: u64) -> (Motion, Key) {
    let (mut motion, key) = start(Fall::Across, index);
    motion.centre_m = DVec3::new(0.0, 0.0, 0.35);
    motion.velocity_m_s = DVec3::ZERO;
    motion.spin_rad_s = DVec3::ZERO;
    (motion, key)
}

/// Two trees side by side, below a log that lies across the slope at the origin.
fn stakes() -> Vec<Body> {
    vec![tree("left".into(), 0.6, 0.5, 0.1), tree("right".into(), 0.6, -0.5, 0.1)]
}

/// Twelve trees of 30 to 50 cm within 5 m of the path, over the first 70 m of it.
fn trees() -> Vec<Body> {
    (0..12_u32)
        .map(|i| {
            let key = Key::root(12).number(u64::from(i));
            let x = -144.0 + 6.0 * f64::from(i);
            let y = if i % 2 == 0 { 1.0 } else { -1.0 } * (0.8 + 4.2 * key.number(1).uniform());
            tree(format!("tree-{i}"), x, y, 0.15 + 0.1 * key.number(2).uniform())
        })
        .collect()
}

fn tree(id: String, x_m: f64, y_m: f64, radius_m: f64) -> Body {
    let foot = DVec3::new(x_m, y_m, -x_m * SLOPE_RAD.tan());
    Body {
        id,
        kind: BodyKind::KeepTree,
        is_target: true,
        answer: Answer::Fixed,
        shapes: vec![Shape::Capsule {
            from_m: foot - DVec3::Z,
            to_m: foot + 15.0 * DVec3::Z,
            radius_m,
        }],
    }
}

/// What the drops of a bank cost, all together.
#[derive(Clone, Copy, Debug, Default)]
struct Cost {
    /// Open steps, near steps.
    open: f64,
    near: f64,
    cpu_us: f64,
    lasted_s: f64,
}

impl Cost {
    fn share_of_steps(&self) -> f64 {
        100.0 * self.near / (self.open + self.near)
    }

    /// At most: near steps are no longer than a millisecond.
    fn share_of_time(&self) -> f64 {
        100.0 * self.near * NEAR_STEP_S / self.lasted_s
    }

    fn step_us(&self) -> f64 {
        self.cpu_us / (self.open + self.near)
    }

    fn second_ms(&self) -> f64 {
        self.cpu_us * 1e-3 / self.lasted_s
    }
}

fn measure(site: &Site, start: &dyn Fn(u64) -> (Motion, Key)) -> Cost {
    let mut setup = Setup::new(site, GroundLaw::Soil);
    setup.horizon_s = 60.0;
    let piece = section(1.8);
    let mut cost = Cost::default();
    let begun = cpu_s();
    for index in 0..DROPS {
        let (motion, rough) = start(index);
        let track = drop(&setup, &piece, &Launch { motion, time_s: 0.0 }, rough, f64::INFINITY);
        let near = f64::from(track.near_steps);
        cost.open += f64::from(track.steps) - near;
        cost.near += near;
        cost.lasted_s += lasted_s(&track);
    }
    cost.cpu_us = (cpu_s() - begun) * 1e6;
    cost
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
