use std::path::PathBuf;

use glam::DVec3;

use super::*;

/// A GeoTIFF to be written byte by byte: little endian, one strip, no compression.
#[derive(Clone)]
struct Tiff {
    nx: u32,
    ny: u32,
    heights: Vec<f32>,
    /// GeoKeys of short values.
    keys: Vec<(u16, u16)>,
    scale: [f64; 3],
    matrix: Option<[f64; 16]>,
    tie: [f64; 6],
    nodata: Option<&'static str>,
    bands: u16,
    bits: u16,
    format: u16,
}

const UTM: [(u16, u16); 4] = [(1024, 1), (1025, 1), (3072, 26915), (3076, 9001)];

fn plane(nx: u32, ny: u32) -> Tiff {
    let heights = (0..ny)
        .flat_map(|row| (0..nx).map(move |i| 380.0 + 0.3 * i as f32 - 0.7 * (ny - 1 - row) as f32))
        .collect();
    Tiff {
        nx,
        ny,
        heights,
        keys: UTM.to_vec(),
        scale: [1.0, 1.0, 0.0],
        matrix: None,
        tie: [0.0, 0.0, 0.0, 500_000.0, 4_600_000.0 + f64::from(ny), 0.0],
        nodata: Some("-9999"),
        bands: 1,
        bits: 32,
        format: 3,
    }
}

impl Tiff {
    fn bytes(&self) -> Vec<u8> {
        let data: Vec<u8> = self.heights.iter().flat_map(|h| h.to_le_bytes()).collect();
        let mut keys = vec![1_u16, 1, 0, self.keys.len() as u16];
        for (key, value) in &self.keys {
            keys.extend([*key, 0, 1, *value]);
        }
        let doubles = |d: &[f64]| d.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
        let shorts = |s: &[u16]| s.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
        let longs = |l: &[u32]| l.iter().flat_map(|v| v.to_le_bytes()).collect::<Vec<u8>>();
        let data_at = 8_u32;
        // (tag, type, count, bytes)
        let mut tags: Vec<(u16, u16, u32, Vec<u8>)> = vec![
            (256, 4, 1, longs(&[self.nx])),
            (257, 4, 1, longs(&[self.ny])),
            (258, 3, 1, shorts(&[self.bits])),
            (259, 3, 1, shorts(&[1])),
            (262, 3, 1, shorts(&[1])),
            (273, 4, 1, longs(&[data_at])),
            (277, 3, 1, shorts(&[self.bands])),
            (278, 4, 1, longs(&[self.ny])),
            (279, 4, 1, longs(&[data.len() as u32])),
            (339, 3, 1, shorts(&[self.format])),
        ];
        if let Some(m) = self.matrix {
            tags.push((34264, 12, 16, doubles(&m)));
        } else if self.scale[0] != 0.0 {
            tags.push((33550, 12, 3, doubles(&self.scale)));
            tags.push((33922, 12, 6, doubles(&self.tie)));
        }
        tags.push((34735, 3, keys.len() as u32, shorts(&keys)));
        if let Some(n) = self.nodata {
            let text = format!("{n}\0").into_bytes();
            tags.push((42113, 2, text.len() as u32, text));
        }
        tags.sort_by_key(|t| t.0);
        let mut out = b"II\x2a\0".to_vec();
        let ifd_at = data_at + data.len() as u32;
        out.extend(ifd_at.to_le_bytes());
        out.extend(data);
        out.extend((tags.len() as u16).to_le_bytes());
        let mut extra_at = ifd_at + 2 + 12 * tags.len() as u32 + 4;
        let mut extra = Vec::new();
        for (tag, kind, count, bytes) in tags {
            out.extend(tag.to_le_bytes());
            out.extend(kind.to_le_bytes());
            out.extend(count.to_le_bytes());
            if bytes.len() <= 4 {
                let mut field = bytes;
                field.resize(4, 0);
                out.extend(field);
            } else {
                out.extend(extra_at.to_le_bytes());
                extra_at += bytes.len() as u32;
                extra.extend(bytes);
            }
        }
        out.extend(0_u32.to_le_bytes());
        out.extend(extra);
        out
    }
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn write(&self, bytes: &[u8]) -> PathBuf {
        let path = self.0.path().join("bank.tif");
        std::fs::write(&path, bytes).unwrap();
        path
    }

    fn read(&self, tiff: &Tiff) -> Result<Raster, TerrainError> {
        read(&self.write(&tiff.bytes()), None, None)
    }
}

#[test]
fn verif_a_tilted_plane_comes_through() {
    let folder = Folder::new();
    let r = folder.read(&plane(40, 30)).unwrap();
    assert_eq!((r.nx, r.ny, r.cell_m, r.epsg), (40, 30, 1.0, Some(26915)));
    // Middle of the south-west cell.
    assert_eq!(r.origin_m, DVec2::new(500_000.5, 4_600_000.5));
    assert_eq!(r.nearest_height_m(DVec2::new(500_003.4, 4_600_000.9)), Some(f64::from(380.9_f32)));
    assert!(r.warnings.iter().any(|w| w.contains("taken as metres")));
    let t = r.into_terrain(DVec3::new(500_000.5, 4_600_000.5, 380.0)).unwrap();
    for (x, y) in [(0.0, 0.0), (7.25, 20.5), (39.0, 29.0)] {
        let s = t.surface(x, y).unwrap();
        assert!((s.height_m - (0.3 * x - 0.7 * y)).abs() < 1e-3);
        assert!((s.gradient - DVec2::new(0.3, -0.7)).length() < 1e-3);
    }
    assert!((t.crs.unwrap().offset_m - DVec3::new(500_000.5, 4_600_000.5, 380.0)).length() < 1e-9);
}

#[test]
fn verif_pixel_is_point_and_a_matrix_place_the_nodes_right() {
    let folder = Folder::new();
    let mut t = plane(10, 8);
    t.keys[1] = (1025, 2);
    assert_eq!(folder.read(&t).unwrap().origin_m, DVec2::new(500_000.0, 4_600_001.0));
    let mut t = plane(10, 8);
    let mut m = [0.0; 16];
    (m[0], m[3], m[5], m[7], m[15]) = (1.0, 500_000.0, -1.0, 4_600_008.0, 1.0);
    t.matrix = Some(m);
    assert_eq!(folder.read(&t).unwrap().origin_m, DVec2::new(500_000.5, 4_600_000.5));
}

#[test]
fn verif_a_window_is_the_same_ground() {
    let folder = Folder::new();
    let path = folder.write(&plane(60, 50).bytes());
    let window = Window { centre: DVec2::new(500_030.5, 4_600_020.5), half: DVec2::splat(6.0) };
    let r = read(&path, None, Some(window)).unwrap();
    assert_eq!((r.nx, r.ny, r.origin_m), (13, 13, DVec2::new(500_024.5, 4_600_014.5)));
    let want = 380.0 + 0.3 * 24.0 - 0.7 * 14.0;
    assert!((f64::from(r.heights_m[0]) - want).abs() < 1e-3);
}

#[test]
fn verif_feet_become_metres_where_the_file_or_the_user_says_so() {
    let folder = Folder::new();
    let mut t = plane(10, 8);
    t.keys = vec![(1024, 1), (1025, 1), (3072, 2994), (3076, 9002), (4099, 9003)];
    let r = folder.read(&t).unwrap();
    assert!((r.cell_m - 0.3048).abs() < 1e-12);
    assert!((f64::from(r.heights_m[0]) - (380.0 - 0.0) * 1200.0 / 3937.0).abs() < 1e-3);
    assert!(r.warnings.iter().any(|w| w.contains("units of")));
    t.keys.truncate(3);
    assert_eq!(folder.read(&t).unwrap_err().field, "unit of coordinates");
    let path = folder.write(&t.bytes());
    let r = read(&path, Some(LengthUnit::Foot), None).unwrap();
    assert!((r.cell_m - 0.3048).abs() < 1e-12 && r.warnings.is_empty());
}

#[test]
fn verif_no_data_is_a_hole() {
    let folder = Folder::new();
    for (nodata, value) in [
        (Some("-9999"), -9999.0),
        (Some("-3.4028234663852886e+38"), f32::MIN),
        (None, f32::NAN),
        (None, f32::MIN),
        (Some("nan"), f32::NAN),
    ] {
        let mut t = plane(10, 8);
        t.nodata = nodata;
        t.heights[35] = value;
        let r = folder.read(&t).unwrap();
        assert_eq!(r.heights_m.iter().filter(|h| h.is_nan()).count(), 1, "{nodata:?}");
        // Row 3 from the north is row 4 from the south.
        assert!(r.heights_m[4 * 10 + 5].is_nan());
    }
}

#[test]
fn verif_what_cannot_be_told_is_refused() {
    let folder = Folder::new();
    let with = |change: &dyn Fn(&mut Tiff)| {
        let mut t = plane(10, 8);
        change(&mut t);
        t
    };
    let rotated = {
        let mut m = [0.0; 16];
        (m[0], m[1], m[4], m[5], m[15]) = (0.8, 0.6, 0.6, -0.8, 1.0);
        m
    };
    let table: Vec<(Tiff, &str, &str)> = vec![
        (with(&|t| t.scale = [1.0, 2.0, 0.0]), "cell size", "1 by 2"),
        (with(&|t| t.matrix = Some(rotated)), "georeference", "rotated"),
        (with(&|t| t.scale = [-1.0, 1.0, 0.0]), "georeference", "mirrored"),
        (with(&|t| t.scale = [0.0; 3]), "georeference", "none"),
        (with(&|t| t.scale = [1e-6, 1e-6, 0.0]), "cell size", "0.000001"),
        (with(&|t| t.scale = [900.0, 900.0, 0.0]), "cell size", "900"),
        (with(&|t| t.tie[3] = 1e12), "georeference", "1000000000000"),
        (with(&|t| t.keys = vec![(1024, 2), (2048, 4326)]), "coordinate system", "degrees"),
        (with(&|t| t.keys = vec![(1024, 3)]), "coordinate system", "geocentric"),
        (with(&|t| t.keys = vec![(1025, 1)]), "coordinate system", "none"),
        (with(&|t| t.keys[2] = (3072, 3857)), "coordinate system", "3857"),
        (with(&|t| t.keys = vec![(1024, 1), (3072, 2994)]), "unit of coordinates", "2994"),
        (with(&|t| t.keys[3] = (3076, 9035)), "unit of coordinates", "9035"),
        (with(&|t| t.keys[3] = (3076, 9002)), "unit of heights", "feet"),
        (with(&|t| t.heights[7] = 20_000.0), "height", "20000"),
        (with(&|t| t.heights[7] = f32::INFINITY), "height", "inf"),
        (with(&|t| t.nodata = Some("none")), "", ""),
        (with(&|t| (t.bits, t.format) = (16, 3)), "heights", "16"),
        (with(&|t| t.nx = 0), "", ""),
        (with(&|t| (t.nx, t.ny) = (4_000_000_000, 4_000_000_000)), "", ""),
        (with(&|t| (t.nx, t.ny) = (60_000, 60_000)), "size", "60000"),
        (with(&|t| t.nx = 4000), "", ""),
        (with(&|t| t.bands = 3), "bands", "3"),
    ];
    for (k, (tiff, field, read)) in table.into_iter().enumerate() {
        let error = folder.read(&tiff).err().unwrap_or_else(|| panic!("row {k} was accepted"));
        assert!(error.field.contains(field) && error.read.contains(read), "row {k}: {error}");
        assert!(error.file.ends_with("bank.tif") && !error.allowed.is_empty());
    }
    let path = folder.write(&plane(10, 8).bytes());
    assert!(read(&path, Some(LengthUnit::Foot), None).unwrap_err().read.contains("given beside"));
    let far = Window { centre: DVec2::ZERO, half: DVec2::ONE };
    assert_eq!(read(&path, None, Some(far)).unwrap_err().field, "part wanted");
    assert!(read(folder.0.path(), None, None).is_err());
    assert!(read(&folder.0.path().join("none.tif"), None, None).is_err());
}

#[test]
fn prop_no_cut_short_or_damaged_file_panics() {
    let folder = Folder::new();
    let whole = plane(7, 6).bytes();
    assert!(read(&folder.write(&whole), None, None).is_ok());
    for cut in (0..whole.len()).step_by(3) {
        assert!(read(&folder.write(&whole[..cut]), None, None).is_err(), "{cut}");
    }
    let ifd = 8 + 4 * 7 * 6;
    for at in (0..8).chain(ifd..whole.len()) {
        for value in [0, 1, 0x7f, 0xff] {
            let mut bytes = whole.clone();
            bytes[at] = value;
            // Either outcome will do; what is read has the size it says.
            if let Ok(r) = read(&folder.write(&bytes), None, None) {
                assert_eq!(r.heights_m.len(), r.nx * r.ny);
            }
        }
    }
}

#[test]
fn verif_a_small_part_of_a_raster_over_the_limit_is_read() {
    // 4,100 by 4,100 heights of one byte, all 0: more than a terrain may have.
    let side = 4100_u32;
    let heights = vec![0.0; (side * side / 4) as usize];
    let tiff = Tiff { heights, bits: 8, format: 1, nodata: None, ..plane(side, side) };
    let folder = Folder::new();
    let file = folder.write(&tiff.bytes());
    assert_eq!(read(&file, None, None).unwrap_err().field, "size");
    assert!((unit_m(&file).unwrap() - 1.0).abs() < 1e-12);
    let centre = DVec2::new(502_000.0, 4_602_000.0);
    let part = read(&file, None, Some(Window { centre, half: DVec2::splat(10.0) })).unwrap();
    assert!(part.nx >= 20 && part.nx <= 24 && part.ny >= 20 && part.ny <= 24);
    assert!(part.heights_m.iter().all(|h| *h == 0.0));
}
