//! Matches the world: weights and strengths of green wood against handbook tables.

use tumblewood::{
    tree::{Station, Stem},
    wood::{Species, all_species, species},
};
use tumblewood_tests::table::{Allowed, Check, Table};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
const KG_PER_LB: f64 = 0.453_592_37;
/// Kilogram per cubic metre in one pound per cubic foot.
const KG_M3_PER_LB_FT3: f64 = KG_PER_LB / (M_PER_FT * M_PER_FT * M_PER_FT);
/// Pascal in one pound-force per square inch.
const PA_PER_PSI: f64 = 6_894.757_293;

const PARK_SERVICE: &str = "green log weights of the US National Park Service manual Safety for \
                            Tree Workers, in an owner's manual's reprint";

/// Diameters of the table of green log weights, in.
const INCHES: [f64; 6] = [10.0, 12.0, 14.0, 16.0, 18.0, 20.0];

/// Species, lb/ft³ and pounds of a foot of log at each of [`INCHES`], as printed.
const LOG_WEIGHTS: [(&str, f64, [f64; 6]); 11] = [
    ("black cherry", 45.0, [25.0, 35.0, 48.0, 63.0, 79.0, 98.0]),
    ("ash", 48.0, [26.0, 38.0, 51.0, 67.0, 85.0, 105.0]),
    ("beech, American elm", 54.0, [29.0, 42.0, 58.0, 75.0, 95.0, 118.0]),
    ("cottonwood", 49.0, [27.0, 38.0, 52.0, 68.0, 87.0, 107.0]),
    ("hackberry, red maple, eastern hemlock", 50.0, [27.0, 39.0, 53.0, 70.0, 88.0, 109.0]),
    ("red oak", 63.0, [34.0, 49.0, 67.0, 88.0, 111.0, 137.0]),
    ("white oak, black oak", 62.0, [34.0, 49.0, 66.0, 87.0, 110.0, 135.0]),
    ("black walnut", 58.0, [32.0, 46.0, 62.0, 81.0, 102.0, 126.0]),
    ("hickory", 64.0, [35.0, 50.0, 68.0, 89.0, 113.0, 140.0]),
    ("yellow-poplar", 38.0, [21.0, 30.0, 41.0, 53.0, 67.0, 83.0]),
    ("live oak", 76.0, [41.0, 60.0, 81.0, 106.0, 134.0, 166.0]),
];

/// Which row of [`LOG_WEIGHTS`] each species of the program stands in.
const ROW_OF: [(&str, usize); 11] = [
    ("Black cherry", 0),
    ("White ash", 1),
    ("American beech", 2),
    ("American elm", 2),
    ("Eastern cottonwood", 3),
    ("Hackberry", 4),
    ("Red maple", 4),
    ("Eastern hemlock", 4),
    ("Northern red oak", 5),
    ("White oak", 6),
    ("Black walnut", 7),
];

/// Pounds of one foot of a straight log of this species.
fn pounds_a_foot(wood: &Species, diameter_in: f64) -> f64 {
    let at = |height_m| Station { height_m, diameter_m: diameter_in * M_PER_IN };
    let stem = Stem::measured(vec![at(0.0), at(6.0)], None, wood).expect("a stem");
    let foot = stem.section(2.0, 2.0 + M_PER_FT, &[]).expect("a section");
    foot.piece.mass_kg / KG_PER_LB
}

/// At the density of the table's own heading. The table prints whole pounds, most of them rounded,
/// two of 66 cut off just above the half (cherry of 18 in at 79.52, walnut of 20 in at 126.54).
#[test]
fn val_log_weights_at_the_tables_density() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_log_weights_at_the_tables_density",
        "weight of a foot of log, 11 densities by 6 diameters, at the density the table heads \
         each row with: geometry and units alone",
        PARK_SERVICE,
    );
    let oak = species("white oak").expect("in the table");
    for (name, lb_ft3, pounds) in LOG_WEIGHTS {
        let wood = Species { density_kg_m3: lb_ft3 * KG_M3_PER_LB_FT3, ..*oak };
        for (inches, lb) in INCHES.into_iter().zip(pounds) {
            let case = format!("{name}, {inches} in");
            check.near(&case, "lb", pounds_a_foot(&wood, inches), lb, Allowed::By(0.55));
        }
    }
    check.end();
}

/// The program's own densities are another source's (FIADB, wood and bark together). Sources may
/// differ by the doubt the program itself gives a green density, 10 %: half of the 20 % by which
/// single stems "may occasionally" vary (FPL Technical Note 218). The printed pound is 2 % more at
/// most.
#[test]
fn val_log_weights_of_our_species() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_log_weights_of_our_species",
        "weight of a foot of log at the program's own green densities, 11 species by 6 diameters; \
         allowed: half the 20 % that FPL Technical Note 218 gives for single stems",
        PARK_SERVICE,
    );
    for (name, row) in ROW_OF {
        let wood = species(name).expect("in the table");
        for (inches, lb) in INCHES.into_iter().zip(LOG_WEIGHTS[row].2) {
            let case = format!("{name}, {inches} in");
            check.near(&case, "lb", pounds_a_foot(wood, inches), lb, Allowed::Share(0.10));
        }
    }
    check.end();
}

/// The one species two tables are at odds about.
#[test]
fn val_log_weights_of_yellow_poplar() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_log_weights_of_yellow_poplar",
        "weight of a foot of yellow-poplar at the program's own green density, 6 diameters",
        PARK_SERVICE,
    )
    .known_wrong(
        "this table's 38 lb/ft³ is 22 % under the 49 lb/ft³ that FIADB and the Wood Handbook's \
         moistures both give; the program keeps the heavier",
    );
    let wood = species("Yellow-poplar").expect("in the table");
    for (inches, lb) in INCHES.into_iter().zip(LOG_WEIGHTS[9].2) {
        let case = format!("{inches} in");
        check.near(&case, "lb", pounds_a_foot(wood, inches), lb, Allowed::Share(0.20));
    }
    check.end();
}

/// Specific gravity (green volume) and moisture of heart and sap, %, of the Wood Handbook; where
/// it has no sapwood the heart stands for both.
const MOISTURES: [(&str, f64, [f64; 2]); 18] = [
    ("Black cherry", 0.47, [58.0, 58.0]),
    ("White oak", 0.60, [64.0, 78.0]),
    ("Northern red oak", 0.56, [80.0, 69.0]),
    ("Sugar maple", 0.56, [65.0, 72.0]),
    ("Silver maple", 0.44, [58.0, 97.0]),
    ("American sycamore", 0.46, [114.0, 130.0]),
    ("Yellow-poplar", 0.40, [83.0, 106.0]),
    ("Hackberry", 0.49, [61.0, 65.0]),
    ("White ash", 0.55, [46.0, 44.0]),
    ("American elm", 0.46, [95.0, 92.0]),
    ("Black walnut", 0.51, [90.0, 73.0]),
    ("Douglas-fir (coast)", 0.45, [37.0, 115.0]),
    ("Loblolly pine", 0.47, [33.0, 110.0]),
    ("Eastern redcedar", 0.44, [33.0, 33.0]),
    ("Eastern hemlock", 0.38, [97.0, 119.0]),
    ("American beech", 0.56, [55.0, 72.0]),
    ("Eastern cottonwood", 0.37, [162.0, 146.0]),
    ("Sweetgum", 0.46, [79.0, 137.0]),
];

/// ρ = G·(1 + moisture), half heart and half sap; how much of a stem is which differs from tree to
/// tree, so the whole 20 % of Technical Note 218 is allowed.
#[test]
fn val_green_density_from_gravity_and_moisture() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_green_density_from_gravity_and_moisture",
        "green density against specific gravity and moisture, half heartwood and half sapwood, 18 \
         species; allowed: the 20 % that FPL Technical Note 218 gives for single stems",
        "Wood Handbook FPL-GTR-282, Table 5-3b and Table 4-1 (moistures of cherry, ash, \
         Douglas-fir, redcedar and beech read, the others from memory)",
    );
    for (name, gravity, moistures) in MOISTURES {
        let wood = species(name).expect("in the table");
        let moisture = 0.5 * (moistures[0] + moistures[1]) / 100.0;
        let theirs = gravity * 1_000.0 * (1.0 + moisture);
        check.near(name, "kg/m³", wood.density_kg_m3, theirs, Allowed::Share(0.20));
    }
    check.end();
}

/// Wood Handbook FPL-GTR-282 Table 5-3b, green: specific gravity, then MOR, MOE (10⁶), compression
/// along, across, shear, all psi.
const STRENGTHS: [(&str, f64, [f64; 5]); 21] = [
    ("Black cherry", 0.47, [8000.0, 1.31, 3540.0, 360.0, 1130.0]),
    ("White oak", 0.60, [8300.0, 1.25, 3560.0, 670.0, 1250.0]),
    ("Northern red oak", 0.56, [8300.0, 1.35, 3440.0, 610.0, 1210.0]),
    ("Sugar maple", 0.56, [9400.0, 1.55, 4020.0, 640.0, 1460.0]),
    ("Red maple", 0.49, [7700.0, 1.39, 3280.0, 400.0, 1150.0]),
    ("Silver maple", 0.44, [5800.0, 0.94, 2490.0, 370.0, 1050.0]),
    ("American sycamore", 0.46, [6500.0, 1.06, 2920.0, 360.0, 1000.0]),
    ("Yellow-poplar", 0.40, [6000.0, 1.22, 2660.0, 270.0, 790.0]),
    ("Hackberry", 0.49, [6500.0, 0.95, 2650.0, 400.0, 1070.0]),
    ("White ash", 0.55, [9500.0, 1.44, 3990.0, 670.0, 1350.0]),
    ("American elm", 0.46, [7200.0, 1.11, 2910.0, 360.0, 1000.0]),
    ("Black walnut", 0.51, [9500.0, 1.42, 4300.0, 490.0, 1220.0]),
    ("Black locust", 0.66, [13800.0, 1.85, 6800.0, 1160.0, 1760.0]),
    ("Eastern white pine", 0.34, [4900.0, 0.99, 2440.0, 220.0, 680.0]),
    ("Douglas-fir (coast)", 0.45, [7700.0, 1.56, 3780.0, 380.0, 900.0]),
    ("Loblolly pine", 0.47, [7300.0, 1.40, 3510.0, 390.0, 860.0]),
    ("Eastern redcedar", 0.44, [7000.0, 0.65, 3570.0, 700.0, 1010.0]),
    ("Eastern hemlock", 0.38, [6400.0, 1.07, 3080.0, 360.0, 850.0]),
    ("American beech", 0.56, [8600.0, 1.38, 3550.0, 540.0, 1290.0]),
    ("Eastern cottonwood", 0.37, [5300.0, 1.01, 2280.0, 200.0, 680.0]),
    ("Sweetgum", 0.46, [7100.0, 1.20, 3040.0, 370.0, 990.0]),
];

#[test]
fn val_strengths_of_the_handbook() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_strengths_of_the_handbook",
        "green strengths of all 21 species, five of each: that table and units were copied right, \
         no more",
        "Wood Handbook FPL-GTR-282 (2021) Table 5-3b, inch-pound, through a retyped copy",
    );
    assert_eq!(STRENGTHS.len(), all_species().len());
    for (name, _, [mor, moe, along, across, shear]) in STRENGTHS {
        let s = species(name).expect("in the table");
        for (what, ours_pa, psi) in [
            ("MOR", s.rupture_pa, mor),
            ("MOE", s.elasticity_pa, moe * 1e6),
            ("compression along", s.compression_along_pa, along),
            ("compression across", s.compression_across_pa, across),
            ("shear", s.shear_pa, shear),
        ] {
            let case = format!("{name}, {what}");
            check.near(&case, "psi", ours_pa / PA_PER_PSI, psi, Allowed::Share(1e-6));
        }
    }
    check.end();
}

/// A strength by its name, its coefficient of variation among stems of a species (Wood Handbook,
/// from memory), ours in Pa, and its regression on specific gravity in psi.
type Law = (&'static str, f64, fn(&Species) -> f64, fn(f64) -> f64);

/// TM 5-852-4 Table 2-2, green.
const LAWS: [Law; 3] = [
    ("MOR", 0.16, |s| s.rupture_pa, |g| 17_600.0 * g.powf(1.25)),
    ("MOE", 0.22, |s| s.elasticity_pa, |g| 2_360_000.0 * g),
    ("compression along", 0.18, |s| s.compression_along_pa, |g| 6_730.0 * g),
];

const REGRESSIONS: &str = "TM 5-852-4 Table 2-2 (Forest Products Laboratory): 17,600 G^1.25, \
                           2,360,000 G and 6,730 G psi";

/// Ours over the regression, by species.
fn over_regression((_, _, ours_pa, psi): &Law) -> Vec<(&'static str, f64)> {
    let ratio = |(name, gravity, _): (&'static str, f64, _)| {
        let wood = species(name).expect("in the table");
        (name, ours_pa(wood) / PA_PER_PSI / psi(gravity))
    };
    STRENGTHS.into_iter().map(ratio).collect()
}

/// Strength from specific gravity alone. Species lie off such a line by about as much as stems of
/// one species differ, so nineteen of twenty must lie within two coefficients of variation.
#[test]
fn val_strength_follows_specific_gravity() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_strength_follows_specific_gravity",
        "MOR, MOE and compression along the grain of 21 species against their regressions on \
         specific gravity: 19 of 20 within two coefficients of variation of single stems (16, 22, \
         18 %, from memory)",
        REGRESSIONS,
    );
    let (mut cases, mut outside) = (0, Vec::new());
    for law in &LAWS {
        for (name, ratio) in over_regression(law) {
            cases += 1;
            if (ratio - 1.0).abs() > 2.0 * law.1 {
                outside.push(format!("{name}, {} {:+.0} %", law.0, (ratio - 1.0) * 100.0));
            }
        }
    }
    let seen = format!("{} of {cases} outside: {}", outside.len(), outside.join("; "));
    check.holds("", 20 * outside.len() <= cases, &seen);
    check.end();
}

/// A green strength by its name, ours in Pa, and its lines on specific gravity for hardwoods and
/// for softwoods: factor in MPa, exponent.
type Lines = (&'static str, fn(&Species) -> f64, [(f64, f64); 2]);

/// Wood Handbook, green, from memory.
const LINES: [Lines; 5] = [
    ("MOR", |s| s.rupture_pa, [(118.7, 1.16), (109.6, 1.01)]),
    ("MOE", |s| s.elasticity_pa, [(13_900.0, 0.72), (16_100.0, 0.76)]),
    ("compression along", |s| s.compression_along_pa, [(49.0, 1.11), (49.7, 0.94)]),
    ("compression across", |s| s.compression_across_pa, [(18.5, 2.48), (8.8, 1.53)]),
    ("shear", |s| s.shear_pa, [(17.8, 1.24), (11.0, 0.73)]),
];

/// Those of the 21 species that are softwoods.
const SOFTWOODS: [&str; 5] = [
    "Eastern white pine",
    "Douglas-fir (coast)",
    "Loblolly pine",
    "Eastern redcedar",
    "Eastern hemlock",
];

/// The mean over species; a line holds for a mean over many, so two standard errors are allowed
/// and no more than 8 %.
#[test]
fn val_strength_follows_the_handbooks_lines_on_average() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_strength_follows_the_handbooks_lines_on_average",
        "five green strengths over their lines on specific gravity for hardwoods and softwoods: \
         mean over 21 species; allowed: two standard errors, 8 % at most",
        "Wood Handbook ch. 5, functions relating mechanical properties to specific gravity, green, \
         from memory",
    );
    for (name, ours_pa, [hard, soft]) in &LINES {
        let ratios: Vec<f64> = STRENGTHS
            .iter()
            .map(|(wood, gravity, _)| {
                let (factor, exponent) = if SOFTWOODS.contains(wood) { *soft } else { *hard };
                ours_pa(species(wood).expect("in the table"))
                    / 1e6
                    / factor
                    / gravity.powf(exponent)
            })
            .collect();
        let n = ratios.len() as f64;
        let mean = ratios.iter().sum::<f64>() / n;
        let squares = ratios.iter().map(|r| (r - mean).powi(2)).sum::<f64>();
        let error = (squares / (n - 1.0) / n).sqrt();
        check.near(name, "", mean, 1.0, Allowed::By((2.0 * error).min(0.08)));
    }
    check.end();
}

/// The mean over species within two standard errors; for the handbook's later lines, of hardwoods
/// and softwoods apart, see the test above.
#[test]
fn val_strength_follows_specific_gravity_on_average() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_strength_follows_specific_gravity_on_average",
        "the same ratios, their mean over 21 species; allowed: two standard errors",
        REGRESSIONS,
    )
    .known_wrong(
        "these lines pool hardwoods and softwoods and run under the light species of either; \
         beside the handbook's later lines for each (from memory) the same means are 2 to 3 % high",
    );
    for law in &LAWS {
        let ratios = over_regression(law);
        let n = ratios.len() as f64;
        let mean = ratios.iter().map(|(_, r)| r).sum::<f64>() / n;
        let squares = ratios.iter().map(|(_, r)| (r - mean).powi(2)).sum::<f64>();
        let error = (squares / (n - 1.0) / n).sqrt();
        check.near(law.0, "", mean, 1.0, Allowed::By(2.0 * error));
    }
    check.end();
}

/// Crushing strength of small clear green pieces along the grain, psi: tests of a hundred years
/// ago, before the handbook's averages. They had few trees of each species, so two coefficients of
/// variation are allowed.
#[test]
fn val_crushing_strength_of_other_tests() {
    let mut check = Check::new(
        Table::World,
        "val_wood::val_crushing_strength_of_other_tests",
        "compression along the grain of 8 species against tests of other trees; allowed: two \
         coefficients of variation of single stems (18 %, from memory)",
        "Record 1914, The Mechanical Properties of Wood, table of endwise compression of small \
         clear green pieces (Forest Service tests)",
    );
    for (name, psi) in [
        ("White ash", 4220.0),
        ("American beech", 3480.0),
        ("Hackberry", 3310.0),
        ("Sugar maple", 3670.0),
        ("Northern red oak", 3210.0),
        ("White oak", 3520.0),
        ("American sycamore", 2790.0),
        ("Eastern white pine", 2720.0),
    ] {
        let ours = species(name).expect("in the table").compression_along_pa / PA_PER_PSI;
        check.near(name, "psi", ours, psi, Allowed::Share(0.36));
    }
    check.end();
}

#[test]
fn val_european_strengths() {
    let ratio = |name: &str, gpa: f64| {
        let ours = species(name).expect("in the table").elasticity_pa / 1e9;
        format!("{name} {ours:.1} for {gpa} GPa")
    };
    Check::unscored(
        "val_wood::val_european_strengths",
        "stiffness of three species that stand in a European catalogue of living stems",
        "Stuttgart strength catalogue (Wessolly), from memory",
        &[ratio("Black locust", 7.05), ratio("Douglas-fir", 10.0), ratio("American beech", 8.5)]
            .join(", "),
        "the catalogue tested whole green stems and gives the compression at the elastic limit, \
         the program small clear pieces and the crushing strength; its other species aren't ours, \
         and its figures are from memory",
    );
}
