//! Matches the world: logs scaled for a mill against printed tables.

use tumblewood::mill::{doyle_bd_ft, international_bd_ft, scribner_bd_ft, smalian_m3};
use tumblewood_tests::table::{Allowed::By, Check, Table};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;

/// Half of the last printed digit is allowed.
#[test]
fn val_smalian() {
    let mut check = Check::new(
        Table::World,
        "val_scale::val_smalian",
        "volume of a log by Smalian's rule",
        "University of Missouri page on the cubic volume of logs, its two worked examples",
    );
    let inch = smalian_m3(10.0 * M_PER_IN, 12.0 * M_PER_IN, 16.0 * M_PER_FT);
    check.near("10 in, 12 in, 16 ft", "ft³", inch / M_PER_FT.powi(3), 10.647, By(5e-4));
    check.near("25 cm, 29 cm, 5 m", "m³", smalian_m3(0.25, 0.29, 5.0), 0.287_848, By(5e-7));
    check.end();
}

#[test]
fn val_doyle() {
    let mut check = Check::new(
        Table::World,
        "val_scale::val_doyle",
        "board feet by Doyle's rule, logs of 16 and 8 ft",
        "Doyle table of a log-scale page (tinytimbers.com), as printed",
    );
    let long = [
        (8.0, 16.0),
        (10.0, 36.0),
        (12.0, 64.0),
        (14.0, 100.0),
        (16.0, 144.0),
        (18.0, 196.0),
        (20.0, 256.0),
        (24.0, 400.0),
        (30.0, 676.0),
    ];
    let short = [(12.0, 32.0), (16.0, 72.0), (20.0, 128.0), (24.0, 200.0)];
    for (feet, table) in [(16.0, &long[..]), (8.0, &short[..])] {
        for &(inches, board) in table {
            let ours = doyle_bd_ft(inches * M_PER_IN, feet * M_PER_FT);
            check.near(&format!("{inches} in, {feet} ft"), "bd ft", ours, board, By(0.5));
        }
    }
    check.end();
}

#[test]
fn val_scribner() {
    let mut check = Check::new(
        Table::World,
        "val_scale::val_scribner",
        "board feet by Scribner's formula, logs of 16 ft; allowed: what its two printed forms differ \
         by",
        "boardfeetcalculator.com, by the form 0.0494 D² L − 0.124 D L − 0.269 L",
    );
    for (inches, board) in [(12.0, 85.7), (16.0, 166.3), (20.0, 272.2), (24.0, 403.4)] {
        let ours = scribner_bd_ft(inches * M_PER_IN, 16.0 * M_PER_FT);
        check.near(&format!("{inches} in"), "bd ft", ours, board, By(0.6));
    }
    check.end();
}

#[test]
fn val_international() {
    let mut check = Check::new(
        Table::World,
        "val_scale::val_international",
        "board feet by the International ¼-inch rule, logs of 16 ft, rounded to 5",
        "0.796 D² − 1.375 D − 1.230 rounded to 5, from memory",
    );
    for (inches, board) in [(12.0, 95.0), (16.0, 180.0), (20.0, 290.0), (24.0, 425.0)] {
        let ours = international_bd_ft(inches * M_PER_IN, 16.0 * M_PER_FT);
        let rounded = 5.0 * (ours / 5.0).round();
        check.near(&format!("{inches} in"), "bd ft", rounded, board, By(0.1));
    }
    check.end();
}
