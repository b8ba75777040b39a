//! Reading a terrain of 2049² heights: an ESRI ASCII grid and an uncompressed GeoTIFF, in seconds
//! and against reading the same bytes alone.

use std::{fmt::Write as _, fs, path::Path, time::Instant};

use tumblewood::terrain::{LengthUnit, Raster, TerrainError, ascii, geotiff};
use tumblewood_benches::table::{Goal, median, not_run, remark, row};

const AREA: &str = "load";
const NODES: u32 = 2049;
const ROUNDS: usize = 3;

fn main() {
    if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

fn measure() -> Result<(), String> {
    let folder = std::env::temp_dir().join(format!("tumblewood-load-{}", std::process::id()));
    fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let (asc, tif) = (folder.join("bank.asc"), folder.join("bank.tif"));
    let result = fs::write(&asc, ascii_grid()).and_then(|()| fs::write(&tif, geotiff_file()));
    let result = result.map_err(|e| e.to_string()).and_then(|()| {
        time("2049² ESRI ASCII grid", &asc, &|p| ascii::read(p, LengthUnit::Metre, None))?;
        time("2049² GeoTIFF", &tif, &|p| geotiff::read(p, None, None))
    });
    let _ = fs::remove_dir_all(&folder);
    result
}

fn time(
    what: &str,
    path: &Path,
    read: &dyn Fn(&Path) -> Result<Raster, TerrainError>,
) -> Result<(), String> {
    let (mut seconds, mut ratios) = (Vec::new(), Vec::new());
    let mut bytes = 0;
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        bytes = fs::read(path).map_err(|e| e.to_string())?.len();
        let alone = begun.elapsed().as_secs_f64();
        let begun = Instant::now();
        let raster = read(path).map_err(|e| e.to_string())?;
        let all = begun.elapsed().as_secs_f64();
        if (raster.nx, raster.ny) != (NODES as usize, NODES as usize) {
            return Err(format!("{what}: {} × {} nodes came back", raster.nx, raster.ny));
        }
        seconds.push(all);
        ratios.push(all / alone);
    }
    row(AREA, what, median(seconds), "s", Goal::AtMost(2.0));
    row(AREA, &format!("{what} / its bytes alone"), median(ratios), "×", Goal::None);
    remark(AREA, &format!("{:.0} MB", bytes as f64 * 1e-6));
    Ok(())
}

/// A bank with some relief, so that its numbers have all their digits.
fn height_m(i: u32, j: u32) -> f32 {
    let (x, y) = (f64::from(i), f64::from(j));
    (300.0 + 0.6 * y + 3.0 * libm::sin(x * 0.05) * libm::cos(y * 0.03)) as f32
}

fn heights() -> impl Iterator<Item = f32> {
    (0..NODES).flat_map(|row| (0..NODES).map(move |i| height_m(i, NODES - 1 - row)))
}

fn ascii_grid() -> String {
    let mut text = format!(
        "ncols {NODES}\nnrows {NODES}\nxllcorner 500000\nyllcorner 4600000\ncellsize 1\n\
         NODATA_value -9999\n"
    );
    for (k, height) in heights().enumerate() {
        let end = if (k + 1) % NODES as usize == 0 { '\n' } else { ' ' };
        let _ = write!(text, "{height:.3}{end}");
    }
    text
}

/// One band of 32-bit floats in one strip, little endian, UTM zone 15 north in metres.
fn geotiff_file() -> Vec<u8> {
    let data: Vec<u8> = heights().flat_map(f32::to_le_bytes).collect();
    let shorts = |s: &[u16]| s.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
    let doubles = |d: &[f64]| d.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
    let long = |v: u32| v.to_le_bytes().to_vec();
    let keys = [1, 1, 0, 4, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 26915, 3076, 0, 1, 9001];
    let corner = [0.0, 0.0, 0.0, 500_000.0, 4_600_000.0, 0.0];
    // Tag, type (3 short, 4 long, 12 double), count, bytes: in the order of the tags.
    let tags: [(u16, u16, u32, Vec<u8>); 13] = [
        (256, 4, 1, long(NODES)),
        (257, 4, 1, long(NODES)),
        (258, 3, 1, shorts(&[32])),
        (259, 3, 1, shorts(&[1])),
        (262, 3, 1, shorts(&[1])),
        (273, 4, 1, long(8)),
        (277, 3, 1, shorts(&[1])),
        (278, 4, 1, long(NODES)),
        (279, 4, 1, long(data.len() as u32)),
        (339, 3, 1, shorts(&[3])),
        (33550, 12, 3, doubles(&[1.0, 1.0, 0.0])),
        (33922, 12, 6, doubles(&corner)),
        (34735, 3, keys.len() as u32, shorts(&keys)),
    ];
    let mut out = b"II\x2a\0".to_vec();
    let at = 8 + data.len() as u32;
    out.extend(long(at));
    out.extend(data);
    out.extend((tags.len() as u16).to_le_bytes());
    let mut extra = Vec::new();
    let extra_at = at + 2 + 12 * tags.len() as u32 + 4;
    for (tag, kind, count, mut bytes) in tags {
        out.extend(tag.to_le_bytes());
        out.extend(kind.to_le_bytes());
        out.extend(long(count));
        if bytes.len() > 4 {
            out.extend(long(extra_at + extra.len() as u32));
            extra.extend(bytes);
        } else {
            bytes.resize(4, 0);
            out.extend(bytes);
        }
    }
    out.extend(long(0));
    out.extend(extra);
    out
}
