//! Ground and proposals out of large files: points streamed, a window out of a wide raster; seconds
//! against reading the same bytes alone, and the most memory the command holds.
//!
//! Files are made at run time, 5 million points and 2,500² heights; `TUMBLEWOOD_MILLION_POINTS=100`
//! and `TUMBLEWOOD_RASTER_SIDE=10000` make them as large as files come (2 GB and 400 MB).

use std::{
    fs::{self, File},
    io::{self, BufWriter, Write as _},
    path::Path,
    process::{Command, Stdio},
    time::Instant,
};

use tumblewood_benches::{
    child::{command, peak_memory_mb, root},
    table::{Goal, not_run, remark, row},
};

const AREA: &str = "intake";
/// The place, m, in UTM zone 15 north, and how far the points reach from it.
const AT: [f64; 2] = [500_000.0, 4_600_000.0];
const HALF_M: f64 = 500.0;
/// Most memory that any size of file may take, MB.
const MOST_MB: f64 = 1000.0;

fn main() {
    if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

fn of_env(name: &str, otherwise: u32) -> u32 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(otherwise)
}

fn measure() -> Result<(), String> {
    let command = command()?;
    let folder = std::env::temp_dir().join(format!("tumblewood-intake-{}", std::process::id()));
    fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let result = points(&command, &folder).and_then(|()| raster(&command, &folder));
    let _ = fs::remove_dir_all(&folder);
    result
}

/// Runs the command on a file: seconds, and MB at most.
fn run(command: &Path, args: &[&str]) -> Result<(f64, f64), String> {
    let begun = Instant::now();
    let child = Command::new(command)
        .args(args)
        .current_dir(root())
        .stdout(Stdio::null())
        .spawn()
        .map_err(|e| e.to_string())?;
    let peak = peak_memory_mb(child)?;
    Ok((begun.elapsed().as_secs_f64(), peak))
}

/// Seconds to read a file's bytes alone, a megabyte at a time.
fn bytes_alone(path: &Path) -> Result<f64, String> {
    let begun = Instant::now();
    let mut file = File::open(path).map_err(|e| e.to_string())?;
    let mut buffer = vec![0; 1 << 20];
    while io::Read::read(&mut file, &mut buffer).map_err(|e| e.to_string())? > 0 {}
    Ok(begun.elapsed().as_secs_f64().max(1e-6))
}

fn points(command: &Path, folder: &Path) -> Result<(), String> {
    let million = of_env("TUMBLEWOOD_MILLION_POINTS", 5).clamp(1, 1000);
    let mut peaks = Vec::new();
    for count in [u64::from(million) * 100_000, u64::from(million) * 1_000_000] {
        let (cloud, ground) = (folder.join("points.las"), folder.join("ground.tif"));
        las(&cloud, count).map_err(|e| e.to_string())?;
        let (file, to) = (cloud.display().to_string(), ground.display().to_string());
        let at = format!("{},{}", AT[0], AT[1]);
        let crs = ["--crs", "EPSG:26915", "--around", "100m", "--force"];
        let args = ["terrain", &file, "--at", &at, "--to", &to];
        let (seconds, peak) = run(command, &[&args[..], &crs].concat())?;
        let alone = bytes_alone(&cloud)?;
        let words = format!("{:.1} million points", count as f64 * 1e-6);
        row(AREA, &format!("{words} to ground, wall"), seconds, "s", Goal::None);
        row(AREA, &format!("{words} / their bytes alone"), seconds / alone, "×", Goal::None);
        row(AREA, &format!("{words}, peak"), peak, "MB", Goal::AtMost(MOST_MB));
        peaks.push(peak);
        let proposed = folder.join("proposed.ron").display().to_string();
        let args = ["propose", &file, "--terrain", &to, "--to", &proposed, "--force"];
        let (seconds, peak) = run(command, &[&args[..], &crs[..2]].concat())?;
        row(AREA, &format!("{words} to proposals, wall"), seconds, "s", Goal::None);
        row(AREA, &format!("{words} to proposals, peak"), peak, "MB", Goal::AtMost(MOST_MB));
    }
    if let [few, many] = peaks[..] {
        row(AREA, "peak, ten times the points / a tenth of them", many / few, "×", Goal::None);
    }
    Ok(())
}

fn raster(command: &Path, folder: &Path) -> Result<(), String> {
    let side = of_env("TUMBLEWOOD_RASTER_SIDE", 2500).clamp(500, 30_000);
    let (tif, ground) = (folder.join("wide.tif"), folder.join("window.tif"));
    geotiff(&tif, side).map_err(|e| e.to_string())?;
    let (file, to) = (tif.display().to_string(), ground.display().to_string());
    let at = format!("{},{}", AT[0] + f64::from(side) / 2.0, AT[1] - f64::from(side) / 2.0);
    let args = ["terrain", &file, "--at", &at, "--around", "120m", "--to", &to];
    let (seconds, peak) = run(command, &args)?;
    let alone = bytes_alone(&tif)?;
    row(AREA, &format!("240² out of {side}² heights, wall"), seconds, "s", Goal::None);
    row(AREA, &format!("240² out of {side}² / all its bytes"), seconds / alone, "×", Goal::None);
    row(AREA, &format!("240² out of {side}² heights, peak"), peak, "MB", Goal::AtMost(MOST_MB));
    remark(AREA, &format!("{:.0} MB of heights", f64::from(side).powi(2) * 4e-6));
    Ok(())
}

/// Place and height of a point: spread evenly over the square by the golden ratio's multiples (in
/// one dimension Weyl's, in two Roberts's), some of them plants.
fn point(k: u64, count: u64) -> ([f64; 2], f64, u8) {
    const STEPS: [f64; 2] = [0.754_877_666_246_692_7, 0.569_840_290_998_053_2];
    let share = STEPS.map(|s| (0.5 + s * k as f64).fract());
    let at = share.map(|s| (2.0 * s - 1.0) * HALF_M);
    let ground = 300.0 + 0.4 * at[1] + 3.0 * libm::sin(at[0] * 0.05);
    let plant = k.is_multiple_of(5) && (at[0] * 0.02).fract() > 0.3;
    let above = if plant { 1.0 + 12.0 * (k as f64 / count as f64) } else { 0.0 };
    (at, ground + above, if plant { 5 } else { 2 })
}

/// LAS 1.2, point format 0 (ASPRS), millimetres.
fn las(path: &Path, count: u64) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(path)?);
    let mut head = vec![0_u8; 227];
    let mut put = |at: usize, bytes: &[u8]| {
        for (slot, byte) in head.iter_mut().skip(at).zip(bytes) {
            *slot = *byte;
        }
    };
    put(0, b"LASF");
    put(24, &[1, 2]);
    put(94, &227_u16.to_le_bytes());
    put(96, &227_u32.to_le_bytes());
    put(105, &20_u16.to_le_bytes());
    put(107, &(count as u32).to_le_bytes());
    put(111, &(count as u32).to_le_bytes());
    for k in 0..3 {
        put(131 + 8 * k, &0.001_f64.to_le_bytes());
    }
    for (k, offset) in [AT[0], AT[1], 0.0].into_iter().enumerate() {
        put(155 + 8 * k, &offset.to_le_bytes());
    }
    let bounds = [AT[0] + HALF_M, AT[0] - HALF_M, AT[1] + HALF_M, AT[1] - HALF_M, 600.0, 0.0];
    for (k, bound) in bounds.into_iter().enumerate() {
        put(179 + 8 * k, &bound.to_le_bytes());
    }
    out.write_all(&head)?;
    for k in 0..count {
        let (at, height, class) = point(k, count);
        let mut record = [0_u8; 20];
        let numbers = [at[0], at[1], height].map(|v| (v * 1000.0).round() as i32);
        for (slot, byte) in record.iter_mut().zip(numbers.iter().flat_map(|n| n.to_le_bytes())) {
            *slot = byte;
        }
        record[14] = 0b00_001_001;
        record[15] = class;
        out.write_all(&record)?;
    }
    out.flush()
}

/// One band of 32-bit floats, a row a strip, little endian, UTM zone 15 north in metres.
fn geotiff(path: &Path, side: u32) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(path)?);
    let data = u64::from(side) * u64::from(side) * 4;
    let at = u32::try_from(8 + data).map_err(io::Error::other)?;
    out.write_all(b"II\x2a\0")?;
    out.write_all(&at.to_le_bytes())?;
    for j in 0..side {
        for i in 0..side {
            let (x, y) = (f64::from(i), f64::from(j));
            let height = 300.0 + 0.02 * y + 3.0 * libm::sin(x * 0.05) * libm::cos(y * 0.03);
            out.write_all(&(height as f32).to_le_bytes())?;
        }
    }
    let shorts = |s: &[u16]| s.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
    let doubles = |d: &[f64]| d.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
    let long = |v: u32| v.to_le_bytes().to_vec();
    let longs =
        |v: &mut dyn Iterator<Item = u32>| v.flat_map(u32::to_le_bytes).collect::<Vec<u8>>();
    let keys = [1, 1, 0, 4, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 26915, 3076, 0, 1, 9001];
    // Tag, type (3 short, 4 long, 12 double), count, bytes: in the order of the tags.
    let tags: [(u16, u16, u32, Vec<u8>); 13] = [
        (256, 4, 1, long(side)),
        (257, 4, 1, long(side)),
        (258, 3, 1, shorts(&[32])),
        (259, 3, 1, shorts(&[1])),
        (262, 3, 1, shorts(&[1])),
        (273, 4, side, longs(&mut (0..side).map(|j| 8 + j * side * 4))),
        (277, 3, 1, shorts(&[1])),
        (278, 4, 1, long(1)),
        (279, 4, side, longs(&mut (0..side).map(|_| side * 4))),
        (339, 3, 1, shorts(&[3])),
        (33550, 12, 3, doubles(&[1.0, 1.0, 0.0])),
        (33922, 12, 6, doubles(&[0.0, 0.0, 0.0, AT[0], AT[1], 0.0])),
        (34735, 3, keys.len() as u32, shorts(&keys)),
    ];
    out.write_all(&(tags.len() as u16).to_le_bytes())?;
    let mut extra = Vec::new();
    let extra_at = at + 2 + 12 * tags.len() as u32 + 4;
    for (tag, kind, count, mut bytes) in tags {
        out.write_all(&tag.to_le_bytes())?;
        out.write_all(&kind.to_le_bytes())?;
        out.write_all(&count.to_le_bytes())?;
        if bytes.len() > 4 {
            out.write_all(&(extra_at + extra.len() as u32).to_le_bytes())?;
            extra.extend(bytes);
        } else {
            bytes.resize(4, 0);
            out.write_all(&bytes)?;
        }
    }
    out.write_all(&0_u32.to_le_bytes())?;
    out.write_all(&extra)?;
    out.flush()
}
