//! The same ground through every path: rasters in every encoding, degrees and feet, points packed
//! and unpacked, points against a raster of them. What is written is read back by a scene.

use std::{
    fs,
    path::{Path, PathBuf},
};

use glam::DVec2;
use tumblewood::terrain::{
    LengthUnit, Window, geotiff,
    intake::{Intake, Wanted, near, overview, take, write},
    system::{System, Told},
};
use tumblewood_tests::{
    ground::{RIM, STUMP, wanted},
    root, written_files,
};

fn took(wanted: &Wanted) -> Intake {
    take(wanted, &mut |_| true).unwrap_or_else(|e| panic!("{e}"))
}

fn form(name: &str) -> PathBuf {
    root().join("assets/terrain/forms").join(name)
}

fn cloud() -> PathBuf {
    root().join("assets/terrain/river-bank.laz")
}

fn points(file: &Path) -> Wanted {
    Wanted { heights_in: Some(LengthUnit::Foot), ..wanted(file, RIM, 25.0) }
}

/// Heights of two grounds at the same places on earth, root mean square and greatest difference.
fn apart_m(a: &Intake, b: &Intake, around_m: f64) -> (f64, f64) {
    let (one, other) = (a.terrain(), b.terrain());
    let lift = one.crs.as_ref().expect("placed").offset_m.z
        - other.crs.as_ref().expect("placed").offset_m.z;
    let n = around_m as i32;
    let (mut sum, mut most, mut count) = (0.0, 0.0_f64, 0.0);
    for (i, j) in (-n..=n).flat_map(|i| (-n..=n).map(move |j| (f64::from(i), f64::from(j)))) {
        let (h, k) = (one.surface(i, j).expect("known"), other.surface(i, j).expect("known"));
        let off = h.height_m + lift - k.height_m;
        sum += off * off;
        most = most.max(off.abs());
        count += 1.0;
    }
    ((sum / count).sqrt(), most)
}

#[test]
fn prop_every_encoding_of_a_raster_gives_the_same_heights() {
    let plain = took(&wanted(form("plain.tif"), STUMP, 15.0));
    assert_eq!((plain.lattice.nx, plain.lattice.ny), (30, 30));
    assert_eq!(plain.about.filled.count, 0);
    let mut seen = 0;
    for file in written_files(&root().join("assets/terrain/forms"), &["tif", "asc"]) {
        let name = file.file_stem().expect("a name").to_string_lossy().into_owned();
        if ["degrees", "mercator", "survey-feet", "scaled"].contains(&name.as_str()) {
            continue;
        }
        seen += 1;
        let ground = took(&wanted(&file, STUMP, 15.0));
        assert_eq!(ground.lattice, plain.lattice, "{name}");
        assert_eq!(ground.system.epsg, Some(26915), "{name}");
        let bound: f32 = match name.as_str() {
            _ if name.starts_with("whole") => 0.5001,
            "lerc" => 0.0011,
            "ascii" => 0.0001,
            _ => 0.0,
        };
        for (k, (a, b)) in plain.heights_m.iter().zip(&ground.heights_m).enumerate() {
            if ground.from_known_m[k] == 0.0 {
                assert!((a - b).abs() <= bound, "{name}: {a} and {b} at {k}");
            } else {
                assert_eq!(name, "holes");
                // Filled with its neighbours' mean: off by what a metre of bank curves.
                assert!((a - b).abs() < 0.4, "{name}: {a} and {b} at {k}");
            }
        }
        assert_eq!(ground.about.filled.count > 0, name == "holes", "{name}");
    }
    assert_eq!(seen, 21, "forms of the raster");
}

/// Sampled between heights twice (by GDAL into the file's system, by us out of it), a bank that
/// bends by some 0.1 m over a cell is off by a few centimetres.
#[test]
fn prop_degrees_mercator_and_survey_feet_give_the_same_heights_in_metres() {
    let plain = took(&wanted(form("plain.tif"), STUMP, 15.0));
    let place = plain.about.lonlat.expect("a place on earth");
    for name in ["degrees.tif", "mercator.tif", "survey-feet.tif"] {
        let at = format!("{},{}", place.y, place.x);
        let heights_in = (name == "survey-feet.tif").then_some(LengthUnit::UsSurveyFoot);
        let ground = took(&Wanted { heights_in, ..wanted(form(name), &at, 14.0) });
        assert_eq!(ground.system.epsg, Some(32615), "{name}");
        assert!(ground.at_m.distance(plain.at_m) < 1.0, "NAD83 is taken as WGS 84");
        let (rms, most) = apart_m(&plain, &ground, 13.0);
        assert!(rms < 0.05 && most < 0.25, "{name}: {rms:.3} m, at most {most:.3} m");
    }
    let scaled = take(&wanted(form("scaled.tif"), STUMP, 14.0), &mut |_| true).unwrap_err();
    assert!(scaled.to_string().contains("scale of heights: read offset 300"), "{scaled}");
    // Heights in metres that are taken for feet are refused, not guessed.
    let unsaid = take(&wanted(form("survey-feet.tif"), STUMP, 14.0), &mut |_| true).unwrap_err();
    assert!(unsaid.to_string().contains("--heights-in us-ft"), "{unsaid}");
}

#[test]
fn prop_packed_and_unpacked_points_give_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let bare = folder.path().join("bare.las");
    let mut reader = las::Reader::from_path(cloud()).expect("points");
    let mut header = las::Builder::from(reader.header().clone());
    header.point_format.is_compressed = false;
    let mut writer =
        las::Writer::from_path(&bare, header.into_header().expect("a header")).expect("a file");
    for point in reader.read_all().expect("points").points() {
        writer.write_point(point.expect("a point")).expect("written");
    }
    writer.close().expect("written");
    let (packed, unpacked) = (took(&points(&cloud())), took(&points(&bare)));
    assert_eq!(packed.heights_m, unpacked.heights_m);
    assert_eq!(write::geotiff(&packed).expect("bytes"), write::geotiff(&unpacked).expect("bytes"));
    let found = packed.about.points.expect("points");
    assert_eq!((found.read, found.found), (14_077, false));
}

/// Heights under a mask are no heights: a page that says it is one is refused by name.
#[test]
fn prop_a_raster_with_a_mask_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut bytes = fs::read(form("plain.tif")).expect("a kept file");
    // A second page of one cell, its kind (tag 254) a mask, after the first in the chain of pages.
    let at = |bytes: &[u8], k: usize| u32::from_le_bytes(bytes[k..k + 4].try_into().expect("four"));
    let first = at(&bytes, 4) as usize;
    let tags = usize::from(u16::from_le_bytes([bytes[first], bytes[first + 1]]));
    let (next, page) = (first + 2 + 12 * tags, bytes.len() as u32);
    assert_eq!(at(&bytes, next), 0, "one page");
    bytes[next..next + 4].copy_from_slice(&page.to_le_bytes());
    let tags: [(u16, u32); 10] = [
        (254, 4),
        (256, 1),
        (257, 1),
        (258, 8),
        (259, 1),
        (262, 4),
        (273, 8),
        (277, 1),
        (278, 1),
        (279, 1),
    ];
    bytes.extend(10_u16.to_le_bytes());
    for (tag, value) in tags {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(4_u16.to_le_bytes());
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend(0_u32.to_le_bytes());
    let path = folder.path().join("masked.tif");
    fs::write(&path, bytes).expect("written");
    let error = take(&wanted(&path, STUMP, 15.0), &mut |_| true).expect_err("a mask").to_string();
    assert!(error.contains("mask") && error.contains("allowed"), "{error}");
}

/// By its octree only the chunks about the place are read; every point there is among them.
#[test]
fn prop_an_octree_gives_the_same_ground_as_all_points() {
    let folder = tempfile::tempdir().expect("a folder");
    let octree = form("layered.copc.laz");
    let bare = folder.path().join("bare.las");
    let mut reader = las::Reader::from_path(&octree).expect("points");
    let all = reader.header().number_of_points();
    let mut header = las::Builder::from(reader.header().clone());
    header.point_format.is_compressed = false;
    header.vlrs.retain(|v| v.user_id != "copc");
    header.evlrs.clear();
    let mut writer =
        las::Writer::from_path(&bare, header.into_header().expect("a header")).expect("a file");
    for point in reader.read_all().expect("points").points() {
        writer.write_point(point.expect("a point")).expect("written");
    }
    writer.close().expect("written");
    let metres = System::utm(49.36, -117.245).expect("a zone");
    let at_m = metres.from_lonlat(DVec2::new(-117.245, 49.36)).expect("a place");
    let points = |file: &Path| {
        let wanted = wanted(file, "", 700.0);
        let mut read = 0;
        let found = near(&wanted, &metres, at_m, 0.0, &mut |progress| {
            read = progress.done;
            true
        });
        let mut found: Vec<[i64; 4]> = found
            .unwrap_or_else(|e| panic!("{e}"))
            .points
            .iter()
            .map(|p| {
                let [x, y, z] = p.at_m.map(|m| (f64::from(m) * 1000.0).round() as i64);
                [x, y, z, i64::from(p.class)]
            })
            .collect();
        found.sort_unstable();
        (found, read)
    };
    let ((part, some), (whole, every)) = (points(&octree), points(&bare));
    assert!(part.len() > 40 && part == whole, "{} and {} points", part.len(), whole.len());
    assert!(every == all && some < all / 2, "{some} of {all} points read");
}

/// Triangles between the cloud's own ground points by SciPy (frozen by `tests/terrain/make.py`),
/// each place in PROJ's coordinates. Ours go through the mean of each half metre's points.
#[test]
fn val_points_become_the_heights_of_another_triangulation() {
    let ground = took(&Wanted { cell_m: Some(0.25), ..points(&cloud()) });
    let terrain = ground.terrain();
    let lift = terrain.crs.as_ref().expect("placed").offset_m;
    let text = fs::read_to_string(root().join("tests/terrain/triangles.csv")).expect("a table");
    let mut off: Vec<f64> = text
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| {
            let row: Vec<f64> = line.split(',').map(|c| c.parse().expect("a number")).collect();
            let s = terrain.surface(row[0] - lift.x, row[1] - lift.y).expect("on the ground");
            (s.height_m + lift.z - row[2]).abs()
        })
        .collect();
    assert!(off.len() > 150);
    off.sort_by(f64::total_cmp);
    let (median, most) = (off[off.len() / 2], off[off.len() - 1]);
    assert!(median < 0.02 && most < 0.3, "median {median:.3} m, most {most:.3} m");
}

/// The filter against the classes that a surveyor gave the same points (Oregon's, in the file).
#[test]
fn val_the_ground_filter_finds_what_was_classed_as_ground() {
    let classed = took(&points(&cloud()));
    let found = took(&Wanted { find_ground: true, ..points(&cloud()) });
    assert!(found.about.points.expect("points").found);
    let (a, b) = (&classed, &found);
    let mut off: Vec<f64> = (0..a.lattice.count())
        .filter(|k| a.from_known_m[*k] == 0.0 && b.from_known_m[*k] == 0.0)
        .map(|k| f64::from((a.heights_m[k] - b.heights_m[k]).abs()))
        .collect();
    off.sort_by(f64::total_cmp);
    let at = |share: f64| off[(share * (off.len() - 1) as f64) as usize];
    assert!(off.len() > 8000, "{}", off.len());
    assert!(at(0.5) < 0.1 && at(0.9) < 0.35, "half {:.2}, nine tenths {:.2} m", at(0.5), at(0.9));
}

/// Points on the raster's own nodes, as a survey and with edges, in metres and in feet.
#[test]
fn prop_a_survey_of_a_raster_gives_the_raster_back() {
    let raster = took(&wanted(form("plain.tif"), STUMP, 15.0));
    let folder = tempfile::tempdir().expect("a folder");
    for (name, unit_m) in [("m", 1.0), ("ft", 0.3048)] {
        let mut text = format!("x_{name},y_{name},height_{name}\n");
        for (k, h) in raster.heights_m.iter().enumerate() {
            let at = raster.lattice.node_m(k) / unit_m;
            text += &format!("{},{},{}\n", at.x, at.y, f64::from(*h) / unit_m);
        }
        let file = folder.path().join(format!("survey-{name}.csv"));
        fs::write(&file, text).expect("written");
        let at = format!("{},{}", 429_340.8 / unit_m, 5_150_646.9 / unit_m);
        let ground = take(&Wanted { cell_m: Some(1.0), ..wanted(&file, &at, 12.0) }, &mut |_| true);
        if name == "ft" {
            // Nothing says where feet are: they can't be laid on metres.
            assert!(ground.expect_err("feet").to_string().contains("--crs"));
            continue;
        }
        let ground = ground.unwrap_or_else(|e| panic!("{e}"));
        assert!(!ground.system.on_earth);
        let (rms, most) = apart_m(&raster, &ground, 11.0);
        assert!(rms < 0.03 && most < 0.15, "{rms:.3} m, at most {most:.3} m");
    }
}

#[test]
fn prop_what_is_written_is_read_by_a_scene_with_its_holes_said() {
    let folder = tempfile::tempdir().expect("a folder");
    for (file, wanted) in
        [("holes.tif", wanted(form("holes.tif"), STUMP, 15.0)), ("points.tif", points(&cloud()))]
    {
        let ground = took(&wanted);
        let path = folder.path().join(file);
        fs::write(&path, write::geotiff(&ground).expect("bytes")).expect("written");
        let sheet = geotiff::Sheet::open(&path).expect("our own");
        assert_eq!(sheet.place(), Some(ground.at_m));
        let window = Window { centre: ground.at_m, half: DVec2::splat(40.0) };
        let raster = geotiff::read(&path, None, Some(window)).expect("our own");
        assert_eq!(raster.heights_m, ground.heights_m);
        assert_eq!(raster.epsg, ground.system.epsg.map(u32::from));
        assert_eq!(raster.cell_m, ground.lattice.cell_m);
        let said = raster.warnings.join(" ");
        let filled = ground.about.filled;
        assert!(filled.count > 0);
        assert!(said.contains(&format!("{} of {} heights", filled.count, filled.of)), "{said}");
        // Another program's eye on it: gdalinfo reads the same (`tests/terrain/make.py`).
        let again = raster.into_terrain_at(ground.at_m).expect("a terrain");
        assert!(again.surface(0.0, 0.0).expect("known").height_m.abs() < 1e-6);
    }
}

#[test]
fn prop_an_overview_is_the_ground_that_is_taken() {
    let raster = |file: PathBuf| wanted(file, STUMP, 12.0);
    for (wanted, rms_m) in [
        (raster(root().join("assets/terrain/lidar-hillside.tif")), 0.05),
        (raster(form("degrees.tif")), 0.1),
        (raster(form("holes.tif")), 0.05),
        // Means over coarser cells, of a bank with a rim.
        (points(&cloud()), 1.0),
    ] {
        let name = wanted.files[0].display().to_string();
        let mut typed = wanted.clone();
        if name.ends_with("degrees.tif") {
            typed.at = Some("46.505684,-93.920956".to_owned());
        }
        let seen = overview(&typed, &mut |_| true).unwrap_or_else(|e| panic!("{e}"));
        let at = typed.at.clone().expect("a place");
        let place_m = seen.place_m(&at).expect("a place of the file");
        let again = seen.place_m(&seen.typed(place_m).expect("typed")).expect("its own words");
        assert!(again.distance(place_m) < 0.02, "{name}: {again} {place_m}");
        let ground = took(&typed);
        assert!(ground.at_m.distance(place_m) < 1e-6 && ground.system.same(&seen.system), "{name}");
        let (terrain, lift) = (ground.terrain(), ground.terrain().crs.expect("placed").offset_m.z);
        let (mut sum, mut count) = (0.0, 0.0);
        for (k, height) in seen.heights_m.iter().enumerate().filter(|(_, h)| h.is_finite()) {
            let at = seen.lattice.node_m(k) - ground.at_m;
            if let Some(surface) = terrain.surface(at.x, at.y) {
                let off = surface.height_m + lift - f64::from(*height);
                (sum, count) = (sum + off * off, count + 1.0);
            }
        }
        let rms = (sum / count).sqrt();
        assert!(count > 20.0 && rms < rms_m, "{name}: {rms} m over {count}");
        let holes = seen.heights_m.iter().filter(|h| h.is_nan()).count();
        assert!(!name.ends_with("holes.tif") || holes > 0, "holes stay holes");
        let [low, high] = seen.corners_m;
        assert!(place_m.cmpge(low).all() && place_m.cmple(high).all());
        assert!(seen.latitude_longitude(place_m).is_some());
    }
}

/// Heights of a hand-held receiver are marked wherever they go: on taking, in the file, in a scene.
#[test]
fn prop_heights_of_a_hand_held_receiver_stay_marked() {
    let folder = tempfile::tempdir().expect("a folder");
    let points: String = (0..42)
        .map(|k| {
            let (lat, lon) = (46.5 + f64::from(k % 6) * 1e-4, 8.4 + f64::from(k / 6) * 1e-4);
            format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"><ele>{}</ele></trkpt>\n", 500 + k)
        })
        .collect();
    let file = folder.path().join("walk.gpx");
    let text =
        format!("<gpx version=\"1.1\" creator=\"a\"><trk><trkseg>\n{points}</trkseg></trk></gpx>");
    fs::write(&file, text).expect("written");
    let ground = took(&wanted(&file, "46.50025,8.4003", 15.0));
    assert!(ground.about.hand_held && ground.about.warnings.join(" ").contains("5 to 10 m off"));
    let picture = tumblewood::report::plan::ground(&ground, "walk");
    assert!(picture.contains("5 to 10 m off"));
    let path = folder.path().join("ground.tif");
    fs::write(&path, write::geotiff(&ground).expect("bytes")).expect("written");
    let sheet = geotiff::Sheet::open(&path).expect("our own");
    assert_eq!(sheet.place(), Some(ground.at_m));
    let raster = geotiff::read(&path, None, None).expect("our own");
    assert!(raster.warnings.join(" ").contains("hand-held receiver"), "{:?}", raster.warnings);
    // Nor is it lost by cropping the ground once more.
    let place = format!("{},{}", ground.at_m.x, ground.at_m.y);
    let again = took(&wanted(&path, &place, 8.0)).about;
    assert!(again.hand_held && again.warnings.join(" ").contains("hand-held receiver"));
}

#[test]
fn prop_what_was_filled_in_stays_so_when_a_ground_is_cropped_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("ground.tif");
    let first = took(&wanted(form("holes.tif"), STUMP, 15.0));
    fs::write(&path, write::geotiff(&first).expect("bytes")).expect("written");
    let again = took(&wanted(&path, STUMP, 15.0));
    assert_eq!(again.lattice, first.lattice);
    assert_eq!((again.heights_m, again.from_known_m), (first.heights_m, first.from_known_m));
    // Sampled between its nodes, a height that leans on a filled one is none that was surveyed.
    let finer = took(&Wanted { cell_m: Some(0.5), ..wanted(&path, STUMP, 14.0) });
    assert!(finer.about.filled.count > 4 * first.about.filled.count);
}

fn refused(wanted: &Wanted) -> String {
    take(wanted, &mut |_| true).map(|g| g.about.files).expect_err("refused").to_string()
}

/// A plane that rises 20° to the east, as headings and 36 points two metres apart.
fn plane(headings: &str, low: DVec2, unit_m: f64) -> String {
    let row = |k: u32| {
        let (i, j) = (f64::from(k % 6) * 2.0, f64::from(k / 6) * 2.0);
        let z = 100.0 + i * 20_f64.to_radians().tan();
        format!("{},{},{}\n", low.x + i / unit_m, low.y + j / unit_m, z / unit_m)
    };
    (0..36).fold(format!("{headings}\n"), |text, k| text + &row(k))
}

#[test]
fn prop_a_unit_that_a_file_states_is_not_overruled() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("survey.csv");
    let asked = Wanted { crs: Some(Told::Epsg(32610)), ..wanted(&file, "500005,4500005", 5.0) };
    fs::write(&file, plane("x_ft,y_ft,z_ft", DVec2::new(500_000.0, 4.5e6), 1.0)).expect("written");
    let error = refused(&asked);
    assert!(error.contains("unit of coordinates: read feet in the file, metres of"), "{error}");
    // Feet of heights alone say nothing of the places.
    fs::write(&file, plane("x,y,z_ft", DVec2::new(500_000.0, 4.5e6), 1.0)).expect("written");
    let ground = took(&asked);
    let (low, high) = ground.height_range_m();
    assert!(ground.system.on_earth && low > 30.0 && high < 32.0, "{low} {high}");
}

#[test]
fn prop_files_that_cannot_be_laid_on_each_other_are_not_joined() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, headings: &str, low: DVec2| {
        let file = folder.path().join(name);
        fs::write(&file, plane(headings, low, 1.0)).expect("written");
        file
    };
    let metres = write("metres.csv", "x_m,y_m,z_m", DVec2::ZERO);
    let feet = write("feet.csv", "x_ft,y_ft,z_ft", DVec2::new(12.0, 0.0));
    let beside = write("beside.csv", "x_m,y_m,z_m", DVec2::new(12.0, 0.0));
    let both = |files: [&PathBuf; 2], at: &str| Wanted {
        files: files.map(Clone::clone).to_vec(),
        ..wanted(files[0], at, 5.0)
    };
    let error = refused(&both([&metres, &feet], "8,5"));
    assert!(
        error.contains("feet.csv: coordinate system: read no named") && error.contains("metres")
    );
    // Of all that was read, only what lies about the place counts as within.
    let ground = took(&both([&metres, &beside], "5,5"));
    let points = ground.about.points.expect("points");
    assert!(points.read == 72 && points.within < 40 && points.within >= 25, "{points:?}");
    let text: String = (0..20).map(|_| "5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5\n").collect();
    let grid = |name: &str, x: u32| {
        let file = folder.path().join(name);
        let head = format!("ncols 20\nnrows 20\nxllcorner {x}\nyllcorner 4500000\ncellsize 1\n");
        fs::write(&file, head + &text).expect("written");
        file
    };
    let (known, unknown) = (grid("known.asc", 500_000), grid("unknown.asc", 500_020));
    let utm = "PROJCS[\"WGS_1984_UTM_Zone_10N\",AUTHORITY[\"EPSG\",\"32610\"]]";
    fs::write(folder.path().join("known.prj"), utm).expect("written");
    for files in [[&known, &unknown], [&unknown, &known]] {
        let error = refused(&both(files, "500020,4500010"));
        assert!(
            error.contains(".asc: coordinate system: read") && error.contains("32610"),
            "{error}"
        );
    }
}

/// Every seventh ground point raised by 30 m and marked as withheld: the ground is that of the rest.
#[test]
fn prop_withheld_points_are_no_ground() {
    let folder = tempfile::tempdir().expect("a folder");
    let rewritten = |name: &str, format: u8, keep: bool| {
        let file = folder.path().join(name);
        let mut reader = las::Reader::from_path(cloud()).expect("points");
        let mut header = las::Builder::from(reader.header().clone());
        header.version = las::Version::new(1, 4);
        header.point_format = las::point::Format::new(format).expect("a format");
        let header = header.into_header().expect("a header");
        let mut writer = las::Writer::from_path(&file, header).expect("a file");
        let all = reader.read_all().expect("points");
        for (k, point) in all.points().enumerate() {
            let mut point = las::Point { is_overlap: false, ..point.expect("a point") };
            point.gps_time = (format != 0).then_some(0.0);
            point.color = None;
            point.extra_bytes.clear();
            if k % 7 == 0 {
                point.is_withheld = true;
                point.z += 30.0;
            }
            if keep || k % 7 != 0 {
                writer.write_point(point).expect("written");
            }
        }
        writer.close().expect("written");
        took(&points(&file))
    };
    for format in [1, 6] {
        let (all, rest) =
            (rewritten("all.las", format, true), rewritten("rest.las", format, false));
        assert_eq!(all.heights_m, rest.heights_m, "format {format}");
        let (all, rest) = (all.about.points.expect("points"), rest.about.points.expect("points"));
        assert!(all.withheld > 100 && rest.withheld == 0, "{all:?}");
        assert_eq!((all.ground, all.within), (rest.ground, rest.within));
    }
}

#[test]
fn prop_a_surveyed_height_that_no_ground_has_is_refused_with_its_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("survey.csv");
    let text = plane("x_m,y_m,z_m", DVec2::ZERO, 1.0) + "5,5,-9999\n";
    fs::write(&file, text).expect("written");
    let error = refused(&wanted(&file, "5,5", 5.0));
    assert!(error.contains("line 38: height: read -9999; allowed: -500 to 9000 m"), "{error}");
    // Heights of feet: 20,000 ft is a mountain, 30,000 ft none.
    for (height, good) in [(20_000, true), (30_000, false)] {
        let text = plane("x,y,z_ft", DVec2::new(5e5, 4.5e6), 1.0);
        fs::write(&file, text + &format!("500005,4500005,{height}\n")).expect("written");
        let asked = Wanted { crs: Some(Told::Epsg(32610)), ..wanted(&file, "500005,4500005", 5.0) };
        assert_eq!(take(&asked, &mut |_| true).is_ok(), good, "{height} ft");
    }
}

#[test]
fn prop_an_old_datum_without_a_shift_is_no_place_on_earth() {
    let wkt = |datum: &str| {
        format!(
            r#"PROJCS["x",GEOGCS["x",DATUM["D_x",SPHEROID[{datum},PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",400000.0],PARAMETER["False_Northing",-100000.0],PARAMETER["Central_Meridian",-2.0],PARAMETER["Scale_Factor",0.9996012717],PARAMETER["Latitude_Of_Origin",49.0],UNIT["Meter",1.0]]"#
        )
    };
    for (datum, known) in [
        (r#""Airy_1830",6377563.396,299.3249646]]"#, false),
        (
            r#""Airy_1830",6377563.396,299.3249646],TOWGS84[446.4,-125.2,542.1,0.15,0.25,0.84,-20.5]]"#,
            true,
        ),
        (r#""Bessel_1841",6377397.155,299.1528128],TOWGS84[0,0,0,0,0,0,0]]"#, true),
        (r#""GRS_1980",6378137.0,298.257222101]]"#, true),
        (r#""WGS_1984",6378137.0,298.257223563]]"#, true),
    ] {
        let system = System::from_wkt("t", &wkt(datum)).expect("read");
        assert_eq!(system.on_earth, known, "{datum}");
        // Its metres are metres still: a lattice can lie in it.
        assert!(system.is_true_metres(DVec2::new(400_000.0, 300_000.0)), "{datum}");
    }
}

/// A system that a file names and that isn't understood can be told, in the unit that it states.
#[test]
fn prop_a_told_system_stands_for_one_that_is_not_understood() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("grid.asc");
    let text: String = (0..20).map(|_| "5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5 5\n").collect();
    let head = "ncols 20\nnrows 20\nxllcorner 500000\nyllcorner 4500000\ncellsize 1\n";
    fs::write(&file, head.to_owned() + &text).expect("written");
    let prj = |unit: &str| {
        let text = format!("PROJCS[\"Mine\",PROJECTION[\"Of_My_Own\"],UNIT[{unit}]]");
        fs::write(folder.path().join("grid.prj"), text).expect("written");
    };
    prj("\"Meter\",1.0");
    let bare = wanted(&file, "500010,4500010", 6.0);
    assert!(refused(&bare).contains("--crs EPSG:N names it"));
    let told = Wanted { crs: Some(Told::Epsg(32610)), ..bare };
    let ground = took(&told);
    assert_eq!(ground.system.epsg, Some(32610));
    assert!(ground.about.warnings.join(" ").contains("isn't understood"));
    prj("\"Foot_US\",0.3048006096012192");
    assert!(refused(&told).contains("unit of coordinates: read US survey feet in the file"));
    fs::write(folder.path().join("grid.prj"), "GEOGCS[\"Mine\",DATUM[\"Mine\"]]").expect("written");
    assert!(refused(&told).contains("unit of coordinates: read degrees in the file"));
}

/// Small numbers may be degrees: metres of no known place have to be told, and degrees never are.
#[test]
fn prop_local_metres_have_a_way_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("survey.csv");
    fs::write(&file, plane("x,y,z", DVec2::ZERO, 1.0)).expect("written");
    let bare = wanted(&file, "5,5", 5.0);
    assert!(refused(&bare).contains("--crs none"));
    let told = Wanted { crs: Some(Told::Nowhere), ..bare };
    let ground = took(&told);
    assert!(!ground.system.on_earth && ground.system.epsg.is_none());
    let slope = ground.terrain().mean_gradient(DVec2::ZERO, 5.0).expect("a slope").length();
    assert!((slope.atan().to_degrees() - 20.0).abs() < 0.1, "{slope}");
    for headings in ["lon,lat,z", "x_ft,y_ft,z_ft"] {
        fs::write(&file, plane(headings, DVec2::ZERO, 1.0)).expect("written");
        assert!(refused(&told).contains("by --crs"), "{headings}");
    }
    assert_eq!(("none".parse(), "EPSG:2994".parse()), (Ok(Told::Nowhere), Ok(Told::Epsg(2994))));
    assert!("nowhere".parse::<Told>().is_err());
}
