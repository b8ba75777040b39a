//! Stems from diameter and height against the national biomass models they come from.

use glam::DVec3;
use tumblewood::{
    tree::{Hollow, Piece, Station, Stem, stem::published_diameter_m},
    wood::{Species, all_species, species},
};
use tumblewood_tests::table::{Allowed, Check, Table};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
const KG_PER_LB: f64 = 0.453_592_37;

/// A stem from breast-height diameter and height alone.
fn stem(wood: &Species, dbh_in: f64, height_ft: f64) -> Stem {
    Stem::published(dbh_in * M_PER_IN, height_ft * M_PER_FT, wood).expect("a stem")
}

/// A tree of 20 in and 80 ft by the models of Westfall et al. 2023 with their national
/// coefficients, worked apart from the program: height of the stem's centre over the tree's, dry
/// stem wood and dry bark, lb; then moisture of wood and of bark by FIADB, %.
const TREES: [(&str, f64, f64, f64, f64, f64); 21] = [
    ("Black cherry", 0.282, 2081.0, 233.0, 53.0, 91.0),
    ("White oak", 0.265, 2381.0, 305.0, 68.0, 89.0),
    ("Northern red oak", 0.269, 2283.0, 370.0, 83.0, 91.0),
    ("Sugar maple", 0.287, 2505.0, 259.0, 57.0, 90.0),
    ("Red maple", 0.266, 1925.0, 249.0, 64.0, 79.0),
    ("Silver maple", 0.256, 1637.0, 153.0, 68.0, 80.0),
    ("American sycamore", 0.270, 1886.0, 83.0, 81.0, 84.0),
    ("Yellow-poplar", 0.280, 1571.0, 270.0, 95.0, 124.0),
    ("Hackberry", 0.259, 1922.0, 212.0, 64.0, 90.0),
    ("White ash", 0.275, 2060.0, 194.0, 46.0, 89.0),
    ("American elm", 0.251, 2088.0, 359.0, 94.0, 78.0),
    ("Black walnut", 0.277, 1976.0, 266.0, 79.0, 89.0),
    ("Black locust", 0.273, 2255.0, 330.0, 41.0, 88.0),
    ("Eastern white pine", 0.299, 1552.0, 237.0, 65.0, 70.0),
    ("Douglas-fir (coast)", 0.288, 1652.0, 273.0, 35.0, 89.0),
    ("Loblolly pine", 0.296, 1910.0, 204.0, 81.0, 99.0),
    ("Eastern redcedar", 0.263, 2411.0, 121.0, 35.0, 60.0),
    ("Eastern hemlock", 0.277, 1624.0, 310.0, 111.0, 99.0),
    ("American beech", 0.272, 2544.0, 158.0, 55.0, 89.0),
    ("Eastern cottonwood", 0.267, 1322.0, 202.0, 117.0, 56.0),
    ("Sweetgum", 0.275, 1907.0, 301.0, 74.0, 91.0),
];

#[test]
fn print() {
    for (name, cg, wood_lb, bark_lb, mw, mb) in TREES {
        let w = species(name).unwrap();
        let s = stem(w, 20.0, 80.0);
        let sec = s.section(0.0, s.top_m(), &[]).unwrap();
        let green = wood_lb * (1.0 + mw / 100.0) + bark_lb * (1.0 + mb / 100.0);
        let ours = sec.piece.mass_kg / KG_PER_LB;
        let d = published_diameter_m(&w.taper, 0.508, 80.0 * 0.3048, 4.5 * 0.3048) / 0.508;
        let t = w.taper;
        let vob = t.a * 20f64.powf(t.b) * 80f64.powf(t.c);
        let volob = vob * w.density_kg_m3 / 16.018463;
        println!(
            "{name:20} cg {:.4} for {cg} {:+.4}; mass {ours:.0} for {green:.0} {:+.1} %; d/dbh {d:.3}; unscaled by vob {:+.1} %, by V {:+.1}",
            sec.centre_m.z / s.top_m(),
            sec.centre_m.z / s.top_m() - cg,
            (ours / green - 1.0) * 100.0,
            (volob / green - 1.0) * 100.0,
            (ours / volob - 1.0) * 100.0
        );
    }
}
