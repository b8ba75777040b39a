//! Matches the world: volumes of logs against a forester's worked examples.

use glam::DVec3;
use tumblewood::tree::mass::Frustum;
use tumblewood_tests::table::{Allowed, Check, Table};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;

const MISSOURI: &str = "University of Missouri page on the cubic volume of logs, its two worked \
                        examples";

fn log(small_m: f64, large_m: f64, length_m: f64) -> Frustum {
    Frustum {
        from_m: DVec3::ZERO,
        to_m: DVec3::Z * length_m,
        from_radius_m: 0.5 * large_m,
        to_radius_m: 0.5 * small_m,
        density_kg_m3: 1.0,
    }
}

/// Half of the last printed digit is allowed.
#[test]
fn val_volumes_of_logs() {
    let mut check = Check::new(
        Table::World,
        "val_volumes::val_volumes_of_logs",
        "volume of a log as a cone frustum, which lies between the paraboloid of Smalian's rule and \
         the neiloid",
        MISSOURI,
    );
    let cubic_ft = M_PER_FT.powi(3);
    let inch = log(10.0 * M_PER_IN, 12.0 * M_PER_IN, 16.0 * M_PER_FT).volume_m3();
    let metric = log(0.25, 0.29, 5.0).volume_m3();
    check.near("10 in, 12 in, 16 ft", "ft³", inch / cubic_ft, 10.588, Allowed::By(5e-4));
    check.near("25 cm, 29 cm, 5 m", "m³", metric, 0.286_801, Allowed::By(5e-7));
    check.holds(
        "both logs",
        10.568 < inch / cubic_ft
            && inch / cubic_ft < 10.647
            && 0.286_452 < metric
            && metric < 0.287_848,
        "neiloid < ours < Smalian",
    );
    check.end();
}
