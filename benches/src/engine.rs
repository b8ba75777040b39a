//! The same logs on the same bank in another engine: what it is handed, and how it is asked.
//!
//! The engine's side is `tests/engines/mujoco_drops.py`. It gets the bank as a height field in the
//! bank's own plane (u down the fall line, v across, n out of the ground): next to a tilted plane
//! its boxes are tight, which is the cheapest way to hold a steep bank. The bumps are the soil
//! law's own, one draw of them for all drops; drops differ by attitude, spin and place across.

use std::{
    fs,
    io::{self, BufRead, BufReader, Write as _},
    ops::Range,
    path::{Path, PathBuf},
    process::{Child, ChildStdin, ChildStdout, Command, Stdio},
};

use glam::DQuat;
use serde_json::{Value, json};
use tumblewood::{
    GRAVITY_M_S2,
    drop::{Ending, Setup, drop},
    keyed::Key,
    motion::Motion,
    release::Launch,
    site::Site,
    soil::{bed::Bed, rough::LATTICE_M, testing::firm},
};

use crate::{Fall, SLOPE_RAD, cpu_s, lasted_s, rough_bank, section, start};

/// Diameter of the logs, m.
pub const DIAMETER_M: f64 = 0.4;
/// A drop is given up after this long, s.
pub const HORIZON_S: f64 = 60.0;
/// Drops start within this far from the middle of the bank, m: each meets ground of its own.
const SIDEWAYS_M: f64 = 40.0;
/// What is compared: length in m and fall.
pub const CASES: [(f64, Fall); 4] =
    [(1.8, Fall::Nose), (3.6, Fall::Nose), (1.8, Fall::Across), (3.6, Fall::Across)];

/// The bank of the comparison: firm soil, 33°, bumps of 8 cm.
#[must_use]
pub fn firm_bank() -> Site {
    rough_bank(firm())
}

/// The bumps of the comparison.
#[must_use]
pub fn bumps() -> Key {
    Key::root(1).word("engine")
}

/// How drop `index` is let go.
#[must_use]
pub fn launch(fall: Fall, index: u64) -> Motion {
    let (mut motion, key) = start(fall, index);
    motion.centre_m.y += SIDEWAYS_M * (2.0 * key.word("sideways").uniform() - 1.0);
    motion
}

/// What some drops came to, in either program.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Drops.
    pub drops: u64,
    /// Processor time of the one thread, s.
    pub cpu_s: f64,
    /// Simulated time from first touch to the end, s.
    pub lasted_s: f64,
    /// Of that, with the ground pushing on the log, s; `NaN` where it wasn't looked at.
    pub touching_s: f64,
    /// At rest, out of the bank, out of time.
    pub endings: [u64; 3],
}

impl Tally {
    /// Simulated seconds, first touch to the end, per processor second.
    #[must_use]
    pub fn pace(&self) -> f64 {
        self.lasted_s / self.cpu_s
    }

    /// Simulated seconds of contact with the ground per processor second.
    #[must_use]
    pub fn touching_pace(&self) -> f64 {
        self.touching_s / self.cpu_s
    }

    /// Drops per processor second.
    #[must_use]
    pub fn drops_per_s(&self) -> f64 {
        self.drops as f64 / self.cpu_s
    }
}

/// Some of our drops of a case.
#[must_use]
pub fn ours(setup: &Setup<'_>, case: (f64, Fall), drops: Range<u64>) -> Tally {
    let (length_m, fall) = case;
    let piece = section(length_m);
    let mut tally =
        Tally { drops: drops.end - drops.start, touching_s: f64::NAN, ..Tally::default() };
    let begun = cpu_s();
    for index in drops {
        let launch = Launch { motion: launch(fall, index), time_s: 0.0 };
        let track = drop(setup, &piece, &launch, bumps(), f64::INFINITY);
        tally.lasted_s += lasted_s(&track);
        tally.endings[match track.ending {
            Ending::Rest => 0,
            Ending::LeftTerrain => 1,
            Ending::OutOfTime => 2,
        }] += 1;
    }
    tally.cpu_s = cpu_s() - begun;
    tally
}

/// Share of the time after first touch in which the ground pushes on our logs; not for timing.
#[must_use]
pub fn touching(setup: &Setup<'_>, case: (f64, Fall), drops: Range<u64>) -> f64 {
    let piece = section(case.0);
    let (mut on, mut all) = (0_u32, 0_u32);
    for index in drops {
        let launch = Launch { motion: launch(case.1, index), time_s: 0.0 };
        let track = drop(setup, &piece, &launch, bumps(), 0.02);
        let first_s = track.touches.first().map_or(f64::INFINITY, |t| t.time_s);
        for sample in track.samples.iter().filter(|s| s.time_s >= first_s) {
            all += 1;
            on += u32::from(sample.on_ground);
        }
    }
    f64::from(on) / f64::from(all.max(1))
}

/// Writes the bank and the initial states of `drops` drops of each case into a folder:
/// `scene.json` and `ground.f32`. `fine` nodes per lattice cell of the bumps in each direction.
///
/// # Errors
///
/// When the folder can't be written.
pub fn export(folder: &Path, drops: u64, fine: usize) -> io::Result<()> {
    let site = firm_bank();
    let bed = Bed::new(&site).with_roughness(bumps().raw());
    let (low, high) = site.terrain.bounds();
    let (sine, cosine) = SLOPE_RAD.sin_cos();
    // Nodes stand where the lattice of the bumps has its own.
    let cell_v_m = LATTICE_M / fine as f64;
    let cell_u_m = cell_v_m / cosine;
    let (nu, nv) = (((high.x - low.x) / cell_v_m) as usize, ((high.y - low.y) / cell_v_m) as usize);
    let mut bytes = Vec::with_capacity(nu * nv * 4);
    for j in 0..nv {
        for i in 0..nu {
            let (x0, y) = (low.x + i as f64 * cell_v_m, low.y + j as f64 * cell_v_m);
            bytes.extend((over_plane_m(&bed, x0, y) as f32).to_le_bytes());
        }
    }
    // From the world into the bank's frame.
    let tilt = DQuat::from_rotation_y(-SLOPE_RAD);
    let cases: Vec<Value> = CASES
        .iter()
        .map(|&(length_m, fall)| {
            let piece = section(length_m);
            let states: Vec<Vec<f64>> =
                (0..drops).map(|index| state(&launch(fall, index), tilt)).collect();
            json!({
                "name": format!("{length_m} {}", fall.name()),
                "length_m": length_m,
                "diameter_m": DIAMETER_M,
                "mass_kg": piece.mass_kg,
                "inertia_kg_m2": piece.inertia_kg_m2.to_array(),
                "states": states,
            })
        })
        .collect();
    let scene = json!({
        "gravity_m_s2": [GRAVITY_M_S2 * sine, 0.0, -GRAVITY_M_S2 * cosine],
        "friction": site.ground.friction,
        "horizon_s": HORIZON_S,
        "ground": {
            "nu": nu, "nv": nv, "cell_u_m": cell_u_m, "cell_v_m": cell_v_m,
            "centre_u_m": low.x / cosine + 0.5 * cell_u_m * (nu - 1) as f64,
            "centre_v_m": low.y + 0.5 * cell_v_m * (nv - 1) as f64,
        },
        "cases": cases,
    });
    fs::create_dir_all(folder)?;
    fs::write(folder.join("ground.f32"), bytes)?;
    fs::write(folder.join("scene.json"), scene.to_string())
}

/// Height of the rough ground over the plane of the bank, along the plane's normal, above the
/// point of the plane that lies under (x, y), m.
fn over_plane_m(bed: &Bed<'_>, x0_m: f64, y_m: f64) -> f64 {
    let (sine, cosine) = SLOPE_RAD.sin_cos();
    // Bumps stand upright, so a bump b over the plane is b·cos away from it and b·sin uphill of
    // the normal's foot. The map is a contraction (0.27 for these bumps).
    let bump = |x_m: f64| bed.plane(0, x_m, y_m).map_or(0.0, |p| p.at_m.z + x_m * SLOPE_RAD.tan());
    let mut b = bump(x0_m);
    for _ in 0..30 {
        b = bump(x0_m + b * sine * cosine);
    }
    b * cosine
}

/// Place, attitude (w first), velocity and spin in another frame.
fn state(motion: &Motion, frame: DQuat) -> Vec<f64> {
    let turn = frame * motion.attitude;
    let place = frame * motion.centre_m;
    let (velocity, spin) = (frame * motion.velocity_m_s, frame * motion.spin_rad_s);
    [place.x, place.y, place.z, turn.w, turn.x, turn.y, turn.z]
        .into_iter()
        .chain(velocity.to_array())
        .chain(spin.to_array())
        .collect()
}

/// The other engine, waiting to be asked.
#[derive(Debug)]
pub struct Engine {
    child: Child,
    asks: ChildStdin,
    answers: BufReader<ChildStdout>,
    /// Its name and version.
    pub name: String,
}

impl Engine {
    /// Starts it on an exported folder.
    ///
    /// # Errors
    ///
    /// When it can't be had on this machine: the text says why.
    pub fn start(folder: &Path) -> Result<Self, String> {
        let mut child = Command::new("bash")
            .arg(engines().join("with-mujoco"))
            .arg(engines().join("mujoco_drops.py"))
            .arg("serve")
            .arg(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|e| format!("bash: {e}"))?;
        let (Some(asks), Some(out)) = (child.stdin.take(), child.stdout.take()) else {
            return Err("no pipes to the engine".into());
        };
        let mut engine = Self { child, asks, answers: BufReader::new(out), name: String::new() };
        let hello = engine.answer()?;
        engine.name = hello["engine"].as_str().unwrap_or("an engine without a name").to_owned();
        Ok(engine)
    }

    /// Some of its drops of a case; `how` names its settings, see the script.
    ///
    /// # Errors
    ///
    /// When it ended or answered nothing that can be read.
    pub fn drops(&mut self, how: &str, case: usize, drops: Range<u64>) -> Result<Tally, String> {
        writeln!(self.asks, "{how} {case} {} {}", drops.start, drops.end)
            .and_then(|()| self.asks.flush())
            .map_err(|e| format!("the engine ended: {e}"))?;
        let answer = self.answer()?;
        let number = |key: &str| answer[key].as_f64().ok_or(format!("no {key} in its answer"));
        let count = |key: &str| answer[key].as_u64().ok_or(format!("no {key} in its answer"));
        if count("broken")? > 0 {
            return Err("a drop of the engine broke".into());
        }
        Ok(Tally {
            drops: drops.end - drops.start,
            cpu_s: number("cpu_s")?,
            lasted_s: number("lasted_s")?,
            touching_s: number("touching_s")?,
            endings: [count("rest")?, count("left")?, count("time")?],
        })
    }

    fn answer(&mut self) -> Result<Value, String> {
        let mut line = String::new();
        self.answers.read_line(&mut line).map_err(|e| format!("the engine: {e}"))?;
        if line.is_empty() {
            return Err("it did not start; what it said is above".into());
        }
        serde_json::from_str(&line).map_err(|e| format!("the engine said {line:?}: {e}"))
    }
}

impl Drop for Engine {
    fn drop(&mut self) {
        // It is a script that waits for the next ask; nothing is lost.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Where the scripts of other engines live.
fn engines() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/engines")
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;

    #[test]
    fn verif_the_exported_ground_lies_on_the_soil_laws_ground() {
        let site = firm_bank();
        let bed = Bed::new(&site).with_roughness(bumps().raw());
        let (sine, cosine) = SLOPE_RAD.sin_cos();
        let mut greatest_m: f64 = 0.0;
        for i in 0..400 {
            let (x0, y) = (f64::from(i) * 0.31 - 60.0, f64::from(i) * 0.17 - 30.0);
            let over_m = over_plane_m(&bed, x0, y);
            greatest_m = greatest_m.max(over_m.abs());
            // Up along the normal from the plane's point.
            let x = x0 + over_m * sine;
            let z = -x0 * SLOPE_RAD.tan() + over_m * cosine;
            let ground = bed.plane(0, x, y).unwrap().at_m.z;
            assert!((z - ground).abs() < 1e-6, "{x0} {y}: {z} {ground}");
        }
        assert!(greatest_m > 0.04, "no bumps: {greatest_m}");
    }

    #[test]
    fn verif_a_launch_keeps_its_height_and_speed_in_the_banks_frame() {
        let motion = launch(Fall::Nose, 3);
        let out = state(&motion, DQuat::from_rotation_y(-SLOPE_RAD));
        let normal = DVec3::new(SLOPE_RAD.sin(), 0.0, SLOPE_RAD.cos());
        assert!((out[2] - motion.centre_m.dot(normal)).abs() < 1e-9);
        let speed = DVec3::new(out[7], out[8], out[9]).length();
        assert!((speed - motion.velocity_m_s.length()).abs() < 1e-12);
    }
}
