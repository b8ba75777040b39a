use std::fmt::Write as _;

use glam::{DVec2, DVec3};

use super::*;

fn text(nodata: &str, nx: usize, ny: usize, height: impl Fn(usize, usize) -> String) -> String {
    let mut out = format!(
        "ncols {nx}\nnrows {ny}\nxllcorner 1000.5\nyllcorner 2000.5\ncellsize 1.0\n{nodata}"
    );
    for j in (0..ny).rev() {
        for i in 0..nx {
            let _ = write!(out, "{} ", height(i, j));
        }
        out.push('\n');
    }
    out
}

fn metres(text: &str) -> Result<Raster, TerrainError> {
    parse(text.as_bytes(), "bank.asc", LengthUnit::Metre, None)
}

#[test]
fn verif_a_tilted_plane_comes_through() {
    let file = text("NODATA_value -9999\n", 30, 20, |i, j| {
        format!("{:.4}", 100.0 + 0.3 * i as f64 - 0.7 * j as f64)
    });
    let t = metres(&file).unwrap().into_terrain(DVec3::new(1001.0, 2001.0, 100.0)).unwrap();
    for (x, y) in [(0.0, 0.0), (3.3, 7.7), (28.9, 18.9)] {
        let s = t.surface(x, y).unwrap();
        assert!((s.height_m - (0.3 * x - 0.7 * y)).abs() < 1e-4);
        assert!((s.gradient - DVec2::new(0.3, -0.7)).length() < 1e-4);
    }
    assert!(t.surface(-0.01, 0.0).is_none());
}

#[test]
fn verif_corner_centre_and_feet_are_what_they_say() {
    let file = "NCOLS 2\r\nNROWS 2\r\nXLLCENTER 10\r\nYLLCENTER 20\r\nCELLSIZE 2\r\n3 4\r\n1 2\r\n";
    let r = metres(file).unwrap();
    assert_eq!((r.origin_m, r.cell_m), (DVec2::new(10.0, 20.0), 2.0));
    assert_eq!(r.heights_m, [1.0, 2.0, 3.0, 4.0]);
    let corner = file.replace("CENTER", "CORNER");
    assert_eq!(metres(&corner).unwrap().origin_m, DVec2::new(11.0, 21.0));
    let feet = parse(file.as_bytes(), "f", LengthUnit::Foot, None).unwrap();
    assert!((feet.origin_m - DVec2::new(3.048, 6.096)).length() < 1e-12);
    assert!((f64::from(feet.heights_m[3]) - 1.2192).abs() < 1e-6);
}

#[test]
fn verif_no_data_in_all_its_spellings_is_a_hole() {
    for (header, word) in [
        ("NODATA_value -9999\n", "-9999"),
        ("NODATA_value -9999.00\n", "-9999"),
        ("", "-9999"),
        ("NODATA_value -3.4e38\n", "-3.4e38"),
        ("NODATA_value -3.4028234663852886e+38\n", "-3.40282e+38"),
        ("NODATA_value nan\n", "nan"),
        ("nodata_value -32768\n", "-32768"),
    ] {
        let r =
            metres(&text(
                header,
                9,
                9,
                |i, j| {
                    if i == 4 && j == 2 { word.into() } else { "7".into() }
                },
            ))
            .unwrap();
        assert!(r.heights_m[2 * 9 + 4].is_nan(), "{header}{word}");
        assert_eq!(r.heights_m.iter().filter(|h| h.is_nan()).count(), 1);
    }
}

#[test]
fn verif_a_window_keeps_its_part_alone() {
    let file = text("", 50, 40, |i, j| format!("{}", i + 100 * j));
    let window = Window { centre: DVec2::new(1021.0, 2011.0), half: DVec2::new(3.0, 2.0) };
    let r = parse(file.as_bytes(), "w", LengthUnit::Metre, Some(window)).unwrap();
    assert_eq!((r.nx, r.ny, r.origin_m), (7, 5, DVec2::new(1018.0, 2009.0)));
    assert_eq!(r.heights_m[0], 17.0 + 800.0);
    assert_eq!(r.heights_m[34], 23.0 + 1200.0);
    let far = Window { centre: DVec2::new(9e9, 0.0), half: DVec2::ONE };
    assert!(parse(file.as_bytes(), "w", LengthUnit::Metre, Some(far)).is_err());
}

#[test]
fn verif_bad_files_say_where_what_and_what_is_allowed() {
    let good = "ncols 3\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\nNODATA_value -9999\n1 2 3\n4 5 6\n";
    assert!(metres(good).is_ok());
    let swap = |from: &str, to: &str| good.replace(from, to);
    let long = "9".repeat(100_000);
    // (file, line, part of the field, part of what was read)
    let table: Vec<(String, Option<u64>, &str, &str)> = vec![
        (String::new(), None, "ncols", "no such line"),
        ("1 2 3\n4 5 6\n".into(), None, "ncols", "no such line"),
        ("PK\u{3}\u{4}\u{0}\u{ff}".into(), Some(1), "header", "PK"),
        (swap("ncols 3\n", ""), None, "ncols", "no such line"),
        (swap("nrows 2\n", ""), None, "nrows", "no such line"),
        (swap("cellsize 1\n", ""), None, "cellsize", "no such line"),
        (swap("xllcorner 0\n", ""), None, "xllcorner", "no such line"),
        (swap("yllcorner 0\n", ""), None, "yllcorner", "no such line"),
        (swap("xllcorner 0", "xllcorner 0\nxllcenter 0"), Some(4), "xllcenter", "xllcorner"),
        (swap("cellsize 1", "dx 1\ndy 2"), Some(5), "header", "dx"),
        (swap("cellsize 1", "cellsize 1 1"), Some(6), "height", "NODATA_value"),
        (swap("ncols 3", "ncols three"), Some(1), "ncols", "three"),
        (swap("ncols 3", "ncols 3.5"), Some(1), "ncols", "3.5"),
        (swap("ncols 3", "ncols -3"), Some(1), "ncols", "-3"),
        (swap("ncols 3", "ncols 1"), Some(1), "ncols", "1"),
        (swap("ncols 3", "ncols 99999999999999999999"), Some(1), "ncols", "999"),
        (swap("ncols 3", "ncols 3\nncols 3"), Some(2), "ncols", "twice"),
        (swap("ncols 3\nnrows 2", "ncols 1000000\nnrows 1000000"), None, "size", "1000000"),
        (swap("ncols 3\nnrows 2", "ncols 4000\nnrows 4000"), Some(9), "heights", "end of the file"),
        (swap("cellsize 1", "cellsize 0"), Some(5), "cellsize", "0"),
        (swap("cellsize 1", "cellsize -1"), Some(5), "cellsize", "-1"),
        (swap("cellsize 1", "cellsize nan"), Some(5), "cellsize", "nan"),
        (swap("cellsize 1", "cellsize 1e-9"), Some(5), "cell size", "0.000000001"),
        (swap("cellsize 1", "cellsize 5000"), Some(5), "cell size", "5000"),
        (swap("xllcorner 0", "xllcorner inf"), Some(3), "xllcorner", "inf"),
        (swap("xllcorner 0", "xllcorner 1e300"), Some(3), "xllcorner", "1e300"),
        (swap("cellsize 1", "cellsize"), Some(6), "cellsize", "NODATA_value"),
        (swap("cellsize 1", "cells 1"), Some(5), "header", "cells"),
        (swap("4 5 6\n", "4 5\n"), Some(9), "heights", "1 rows and 2 values"),
        (swap("4 5 6\n", ""), Some(8), "heights", "1 rows and 0 values"),
        (swap("5 6", "5 6 7"), Some(8), "heights", "\"7\""),
        (swap("2 3", "x 3"), Some(7), "height", "\"x\""),
        (swap("2 3", "nan 3"), Some(7), "height", "nan"),
        (swap("2 3", "inf 3"), Some(7), "height", "inf"),
        (swap("2 3", "-inf 3"), Some(7), "height", "-inf"),
        (swap("2 3", "12000 3"), Some(7), "height", "12000"),
        (swap("2 3", "2,5 3"), Some(7), "height", "2,5"),
        (swap("2 3", &long), Some(7), "text", "over 64"),
        (swap("1 2 3", "1 2 \u{7f} 3"), Some(7), "height", "\\u{7f}"),
    ];
    assert!(table.len() >= 25);
    for (file, line, field, read) in table {
        let head: String = file.chars().take(120).collect();
        let error = metres(&file).expect_err(&head);
        assert_eq!(error.line, line, "{error}\n{head}");
        assert!(error.field.contains(field), "{error}\n{head}");
        assert!(error.read.contains(read), "{error}\n{head}");
        assert!(error.file == "bank.asc" && !error.allowed.is_empty(), "{error}");
    }
}

#[test]
fn prop_no_cut_short_file_panics_or_passes() {
    let file = text("NODATA_value -9999\n", 6, 5, |i, j| format!("{}", 10 + i * j));
    let whole = file.trim_end().len();
    // Short of the last number's own digits it could be a shorter number.
    for cut in 0..whole - 1 {
        assert!(metres(&file[..cut]).is_err(), "{cut}");
    }
}

#[test]
fn verif_a_directory_and_a_missing_file_are_errors() {
    let folder = tempfile::tempdir().unwrap();
    assert!(read(folder.path(), LengthUnit::Metre, None).is_err());
    assert!(read(&folder.path().join("none.asc"), LengthUnit::Metre, None).is_err());
}

#[test]
fn verif_a_byte_order_mark_is_no_header() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marked.asc");
    let file = text("", 3, 3, |i, j| format!("{}", i + j));
    std::fs::write(&path, format!("\u{feff}{file}")).unwrap();
    let marked = read(&path, LengthUnit::Metre, None).unwrap();
    assert_eq!(marked.heights_m, metres(&file).unwrap().heights_m);
}
