//! Coordinates by PROJ (pyproj 3.7.2 with PROJ 9.5.1, frozen in `tests/terrain/projections.csv` by
//! `tests/terrain/make.py`) against those that terrain files are placed by.

use std::fs;

use glam::DVec2;
use tumblewood::terrain::system::System;
use tumblewood_tests::root;

/// Systems whose datum is shifted to WGS 84 by numbers from memory: within so many metres.
const SHIFTED: [u16; 5] = [27700, 28992, 31370, 21781, 2056];
const SHIFTED_WITHIN_M: f64 = 5.0;
/// A degree of latitude, m.
const DEGREE_M: f64 = 111_200.0;

#[test]
fn val_coordinates_agree_with_proj_there_and_back() {
    let text = fs::read_to_string(root().join("tests/terrain/projections.csv")).expect("a table");
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
        .collect();
    assert_eq!(rows.len(), 25);
    for row in rows {
        let [code, x, y, own_longitude, own_latitude, longitude, latitude] = row[..] else {
            panic!("a row of {} numbers", row.len())
        };
        let code = code as u16;
        let system = System::from_epsg("table", code).unwrap_or_else(|e| panic!("{e}"));
        assert!(system.on_earth, "{code}");
        let at = DVec2::new(x, y);
        let found = system.lonlat(at).unwrap_or_else(|| panic!("{code}: no place"));
        let (want, within_m) = if SHIFTED.contains(&code) {
            (DVec2::new(longitude, latitude), SHIFTED_WITHIN_M)
        } else {
            // Datums of the WGS 84 family are taken as one, so the own one is the truth.
            (DVec2::new(own_longitude, own_latitude), 0.001)
        };
        let off = (found - want) * DEGREE_M * DVec2::new(want.y.to_radians().cos(), 1.0);
        assert!(off.length() < within_m, "EPSG:{code}: {off} m off, {found} for {want}");
        let back = system.from_lonlat(found).expect("a place") - at;
        let unit_m = system.unit_m.expect("projected");
        assert!(back.length() * unit_m < 0.01, "EPSG:{code}: {back} there and back");
    }
}
