//! Matches the world: felling numbers against guidance, handbook values, rigging makers' charts and
//! worked examples, and against what the trade takes for granted around a pulled stem.

use std::f64::consts::PI;

use glam::DVec3;
use tumblewood::{
    felling::{
        decay,
        hinge::{self, HingeWood},
        statics::{Above, Rope},
        traction, wedge,
    },
    line,
    quantity::{Force, Quantity as _},
    rope,
    scene::model::{Cover, GroundSpec, Roughness, SoilWord, Thumb, Wetness},
    scene::{Doubtful, How},
    wood::species,
};
use tumblewood_tests::table::{Allowed, Check, Table};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
const N_PER_LBF: f64 = 4.448_221_615_260_5;
const FT_LB: f64 = M_PER_FT * N_PER_LBF;
const PRACTICE: &str = "common practice";

fn deg(x: f64) -> f64 {
    x.to_radians()
}

/// A stem of a weight in lb whose centre stands `centre_ft` up a stem that leans away by `lean_deg`,
/// toward the face along x; its hinge holds a moment in ft-lb.
fn leaning(weight_lb: f64, centre_ft: f64, lean_deg: f64, hinge_ft_lb: f64) -> Above {
    Above {
        weight_n: weight_lb * N_PER_LBF,
        centre_m: along(lean_deg) * (centre_ft * M_PER_FT),
        pivot_m: DVec3::ZERO,
        axis: DVec3::Y,
        wind_n: DVec3::ZERO,
        hinge_n_m: hinge_ft_lb * FT_LB,
        until_rad: deg(40.0),
    }
}

/// Up a stem that leans away from the face.
fn along(lean_deg: f64) -> DVec3 {
    DVec3::new(-deg(lean_deg).sin(), 0.0, deg(lean_deg).cos())
}

/// A rope made fast `up_ft` up such a stem, running toward the face at an angle below level.
fn rope_at(up_ft: f64, lean_deg: f64, below_deg: f64) -> Rope {
    let from_m = along(lean_deg) * (up_ft * M_PER_FT);
    let way = DVec3::new(deg(below_deg).cos(), 0.0, -deg(below_deg).sin());
    Rope { from_m, to_m: from_m + way * 30.0 }
}

fn pull_lbf(above: &Above, rope: &Rope) -> f64 {
    above.pull_n(rope, 0.0).expect("it pulls toward the face") / N_PER_LBF
}

#[test]
fn val_hinge_as_sized_by_practice() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_hinge_as_sized_by_practice",
        "least length and greatest thickness of a hinge on 12 and 20 in, depth and opening of a \
         face, as `fell` prints them beside the cut's own",
        "OSHA Logging eTool (9.6 by 1.2 in on 12 in; a quarter to a third deep; 70°, best 90°); \
         Forestry Mutual newsletter, fall 2021 (2 in at most on 20 in)",
    );
    for (case, ours, theirs) in [
        ("length on 12 in", 12.0 * hinge::HINGE_WIDTH[0], 9.6),
        ("thickness on 12 in", 12.0 * hinge::USUAL_HINGE_THICKNESS[1], 1.2),
        ("thickness on 20 in", 20.0 * hinge::USUAL_HINGE_THICKNESS[1], 2.0),
        ("least depth on 12 in", 12.0 * hinge::USUAL_FACE_DEPTH[0], 3.0),
        ("greatest depth on 12 in", 12.0 * hinge::USUAL_FACE_DEPTH[1], 4.0),
    ] {
        check.near(case, "in", ours, theirs, Allowed::Share(1e-9));
    }
    for (case, ours, theirs) in [
        ("least opening", hinge::FACE_OPENING_RAD[0], 70.0),
        ("best opening", hinge::FACE_OPENING_RAD[1], 90.0),
    ] {
        check.near(case, "°", ours.to_degrees(), theirs, Allowed::Share(1e-9));
    }
    check.end();
}

#[test]
fn val_hinge_sections() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_hinge_sections",
        "section moduli of hinges, moments that white oak hinges hold fore and to the side, and of \
         a solid stem of 20 in",
        "w·t²/6, t·w²/6 and π·D³/32 worked by hand with MOR 8,300 psi (Wood Handbook FPL-GTR-282 \
         Table 5-3b)",
    );
    let of = |width_in: f64, thickness_in: f64| HingeWood {
        width_m: width_in * M_PER_IN,
        core_m: 0.0,
        thickness_m: thickness_in * M_PER_IN,
    };
    let cubic_in = M_PER_IN.powi(3);
    for (w, t, s) in [(16.0, 2.0, 10.667), (12.8, 1.6, 5.461), (9.6, 1.2, 2.304)] {
        let ours = of(w, t).fore_modulus_m3() / cubic_in;
        check.near(&format!("{w} by {t} in"), "in³", ours, s, Allowed::By(0.000_5));
    }
    let mor_pa = species("white oak").expect("in the table").rupture_pa;
    for (case, ours, theirs) in [
        ("fore, 16 by 2 in", of(16.0, 2.0).fore_modulus_m3(), 7_378.0),
        ("fore, 9.6 by 1.2 in", of(9.6, 1.2).fore_modulus_m3(), 1_594.0),
        ("side, 16 by 2 in", of(16.0, 2.0).side_modulus_m3(), 59_022.0),
        ("stem of 20 in", decay::modulus_m3(20.0 * M_PER_IN, 0.0), 543_234.0),
    ] {
        check.near(case, "ft-lb", mor_pa * ours / FT_LB, theirs, Allowed::By(1.0));
    }
    let solid = decay::modulus_m3(20.0 * M_PER_IN, 0.0) / cubic_in;
    check.near("solid, 20 in", "in³", solid, 785.398, Allowed::By(0.000_5));
    let ratio = of(16.0, 2.0).side_modulus_m3() / of(16.0, 2.0).fore_modulus_m3();
    check.near("side over fore, 16 by 2 in", "", ratio, 8.0, Allowed::Share(1e-9));
    let thicker = of(16.0, 4.0).fore_modulus_m3() / of(16.0, 2.0).fore_modulus_m3();
    check.near("twice as thick", "", thicker, 4.0, Allowed::Share(1e-9));
    check.end();
}

#[test]
fn val_hollow_sections() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_hollow_sections",
        "strength that a hollow takes from a stem of 20 in: of its section modulus, by Wagener's \
         rule, by Smiley and Fraedrich's with an opening of 0.15",
        "1 − (1 − (d/D)⁴) worked by hand; t/R 0.3 loses 24 % (UKTC list, read); both rules from \
         memory",
    );
    for (core, wagener, section, opening) in [
        (10.0, 0.125, 0.0625, 0.2562),
        (13.86, 0.333, 0.2306, 0.4329),
        (14.0, 0.343, 0.2401, 0.4415),
        (16.0, 0.512, 0.4096, 0.5852),
    ] {
        let case = |what: &str| format!("{what}, {core} in");
        for (what, ours, theirs) in [
            ("Wagener", decay::wagener_loss(20.0, core), wagener),
            ("section", decay::modulus_loss(20.0, core), section),
            ("opening", decay::smiley_fraedrich_loss(20.0, core, 0.15), opening),
        ] {
            check.near(&case(what), "", ours, theirs, Allowed::By(0.000_5));
        }
    }
    // t/R of 0.3 is d/D of 0.7.
    check.near("t/R 0.3", "", decay::modulus_loss(1.0, 0.7), 0.24, Allowed::By(0.005));
    check.end();
}

#[test]
fn val_pull_on_a_leaning_stem() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_pull_on_a_leaning_stem",
        "pull in the rope that brings a stem of 6,000 lb over: its centre 3 ft behind the hinge, \
         rope level and 20°, 30°, 45° below; leaning 5° with and without a hinge",
        "T = (W·h·sin λ + M)/(l·cos(λ + β)) worked by hand",
    );
    // Three feet behind the hinge and as good as upright.
    let behind = Above {
        centre_m: DVec3::new(-3.0, 0.0, 24.0) * M_PER_FT,
        ..leaning(6000.0, 0.0, 0.0, 0.0)
    };
    for (below, lbf) in [(0.0, 450.0), (20.0, 478.9), (30.0, 519.6), (45.0, 636.4)] {
        let ours = pull_lbf(&behind, &rope_at(40.0, 0.0, below));
        check.near(&format!("rope {below}° below level"), "lbf", ours, lbf, Allowed::By(0.06));
    }
    let rope = rope_at(40.0, 5.0, 30.0);
    let free = leaning(6000.0, 24.0, 5.0, 0.0);
    let arm_ft = free.arm_m(&rope, 0.0) / M_PER_FT;
    check.near("arm", "ft", arm_ft, 32.77, Allowed::By(0.005));
    let moment = free.missing_n_m(0.0) / FT_LB;
    check.near("lean moment", "ft-lb", moment, 12_550.0, Allowed::By(1.0));
    check.near("no hinge", "lbf", pull_lbf(&free, &rope), 383.0, Allowed::By(0.5));
    let held = leaning(6000.0, 24.0, 5.0, 7_378.0);
    check.near("hinge 16 by 2 in", "lbf", pull_lbf(&held, &rope), 608.0, Allowed::By(0.5));
    check.end();
}

#[test]
fn val_block_chart() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_block_chart",
        "load on a redirect block in pulls of the rope, by the angle between its legs",
        "snatch-block chart that three rigging makers print alike, two decimals, some of them \
         dropped and not rounded; its worked 1,810 and 760 lb of 1,000",
    );
    const CHART: [(f64, f64); 21] = [
        (0.0, 2.00),
        (10.0, 1.99),
        (20.0, 1.97),
        (30.0, 1.93),
        (40.0, 1.87),
        (45.0, 1.84),
        (50.0, 1.81),
        (60.0, 1.73),
        (70.0, 1.64),
        (80.0, 1.53),
        (90.0, 1.41),
        (100.0, 1.29),
        (110.0, 1.15),
        (120.0, 1.00),
        (130.0, 0.84),
        (135.0, 0.76),
        (140.0, 0.68),
        (150.0, 0.52),
        (160.0, 0.35),
        (170.0, 0.17),
        (180.0, 0.00),
    ];
    for (angle, factor) in CHART {
        let ours = line::block_factor(deg(angle));
        check.near(&format!("{angle}°"), "", ours, factor, Allowed::By(0.01));
    }
    // Over a line in the world, as the report works it out.
    for (angle, lb) in [(50.0, 1_810.0), (135.0, 760.0)] {
        let points = [
            DVec3::X * 9.0,
            DVec3::ZERO,
            DVec3::new(deg(angle).cos(), deg(angle).sin(), 0.0) * 7.0,
        ];
        let (turns, _) = line::run(&points, &[0.0], 1_000.0);
        let case = format!("1,000 lb round a block at {angle}°");
        check.near(&case, "lb", turns[0].load_n.length(), lb, Allowed::By(6.0));
    }
    check.end();
}

#[test]
fn val_sling_chart() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_sling_chart",
        "tension factor of a sling's leg by its angle from square to the pull",
        "rigging makers' sling chart (read), whose third decimals are dropped or off by one",
    );
    const CHART: [(f64, f64); 13] = [
        (90.0, 1.0),
        (85.0, 1.004),
        (80.0, 1.015),
        (75.0, 1.035),
        (70.0, 1.064),
        (65.0, 1.104),
        (60.0, 1.155),
        (55.0, 1.221),
        (50.0, 1.305),
        (45.0, 1.414),
        (40.0, 1.555),
        (35.0, 1.742),
        (30.0, 2.0),
    ];
    for (angle, factor) in CHART {
        let ours = line::sling_factor(deg(angle));
        check.near(&format!("{angle}°"), "", ours, factor, Allowed::By(0.001_5));
        // Half of the load on each of two legs spread by twice the rest of a right angle.
        let leg = line::sling_leg_n(2.0, PI - 2.0 * deg(angle));
        check.near(&format!("a leg at {angle}°"), "", leg, factor, Allowed::By(0.001_5));
    }
    check.end();
}

#[test]
fn val_capstan() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_capstan",
        "tensions of a rope before and after a quarter to two turns, μ 0.3",
        "exp(μ·φ) worked by hand",
    );
    for (turns, ratio) in [(0.25, 1.602), (0.5, 2.566), (1.0, 6.586), (2.0, 43.38)] {
        let ours = line::capstan(0.3, 2.0 * PI * turns);
        check.near(&format!("{turns} turns"), "", ours, ratio, Allowed::Share(0.000_4));
    }
    check.end();
}

#[test]
fn val_ropes() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_ropes",
        "breaking strength of ropes by name, and the working load that knots and a design factor \
         leave",
        "Cordage Institute CI 1308 (manila), three-strand minimum tensile table (nylon, \
         polypropylene), both read; CI 1401: knots take up to 50 %, design factor 5 to 12",
    );
    for (kind, strengths) in [
        ("manila 3-strand", [2_385.0, 3_960.0, 4_860.0]),
        ("nylon 3-strand", [5_750.0, 9_350.0, 12_800.0]),
        ("polypropylene 3-strand", [3_780.0, 5_600.0, 7_650.0]),
    ] {
        for (size, lbf) in ["1/2 in", "5/8 in", "3/4 in"].into_iter().zip(strengths) {
            let name = format!("{kind} {size}");
            let ours = rope::named(&name).expect("in the table").strength_n / N_PER_LBF;
            check.near(&name, "lbf", ours, lbf, Allowed::Share(1e-6));
        }
    }
    let nylon = rope::named("nylon 3-strand 5/8 in").expect("in the table").strength_n;
    for (factor, lbf) in [(5.0, 935.0), (12.0, 389.6)] {
        let ours = line::working_load_n(nylon, 0.5, factor) / N_PER_LBF;
        check.near(&format!("knotted, factor {factor}"), "lbf", ours, lbf, Allowed::By(0.1));
    }
    check.end();
}

fn ground(soil: SoilWord, turf: bool, wetness: Wetness) -> GroundSpec {
    GroundSpec {
        soil,
        cover: if turf { Cover::Turf(Doubtful::relative(0.03, How::Eyed)) } else { Cover::Bare },
        roughness: Roughness::Lawn,
        undergrowth: None,
        wetness,
        hard_at_m: None,
    }
}

#[test]
fn val_traction_of_a_pickup() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_traction_of_a_pickup",
        "pull of a pickup of 6,500 lb, all wheels driven, before it spins: wet grass, dirt, asphalt",
        "tyre friction of Noon 1994, Engineering Analysis of Vehicular Accidents, as quoted on a web \
         page; 1,300 and 2,275 lbf worked by hand",
    );
    let firm = SoilWord::Thumb(Thumb::ThumbIndents);
    let weight_n = "6500 lbf".parse::<Force>().expect("a force").si();
    for (case, on, lbf) in [
        ("wet grass", ground(firm, true, Wetness::Wet), 1_300.0),
        ("dirt", ground(firm, false, Wetness::Dry), 2_275.0),
        ("gravel", ground(SoilWord::Gravel, false, Wetness::Dry), 2_275.0),
        ("dry asphalt", ground(SoilWord::Pavement, false, Wetness::Dry), 4_225.0),
        ("wet asphalt", ground(SoilWord::Pavement, false, Wetness::Wet), 3_250.0),
    ] {
        let friction = traction::on(&on).expect("in the table").friction[1];
        let ours = traction::pull_n(weight_n, 1.0, friction, 0.0, 0.0) / N_PER_LBF;
        check.near(case, "lbf", ours, lbf, Allowed::Share(1e-6));
    }
    check.end();
}

#[test]
fn val_wedge_lift() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_wedge_lift",
        "way of the top of 80 ft when a stump of 20 in is wedged up by 1 in",
        "rule of the trade, S·H/D: 4 ft",
    );
    let ours = wedge::moves_m(M_PER_IN, 80.0 * M_PER_FT, 20.0 * M_PER_IN) / M_PER_FT;
    check.near("1 in", "ft", ours, 4.0, Allowed::Share(1e-9));
    // And the lift that a lean asks for moves the centre over the hinge.
    let lean = deg(4.0);
    let lift_m = wedge::lift_m(lean, 0.5);
    let back = wedge::moves_m(lift_m, 24.0, 0.5);
    check.near("4° of lean, 24 m up", "m", back, 24.0 * lean.tan(), Allowed::Share(1e-9));
    check.end();
}

#[test]
fn val_what_a_pull_has_to_bend() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_what_a_pull_has_to_bend",
        "a stem of 6,000 lb: back lean needs a pull, forward lean none; a hinge left thicker needs \
         more; a knot higher up less; a rope led steeply down more; a headwind more; past its \
         balance it goes by itself",
        PRACTICE,
    );
    let pull = |lean: f64, hinge: f64, up: f64, below: f64| {
        pull_lbf(&leaning(6000.0, 24.0, lean, hinge), &rope_at(up, lean, below))
    };
    let [back, forward] = [pull(4.0, 0.0, 40.0, 20.0), pull(-4.0, 0.0, 40.0, 20.0)];
    let seen = format!("{back:.0} and {forward:.0} lbf");
    check.holds("4° back and 4° forward", back > 100.0 && forward == 0.0, &seen);
    let mor_pa = species("white oak").expect("in the table").rupture_pa;
    let hinge = |thickness_in: f64| {
        let wood = HingeWood {
            width_m: 16.0 * M_PER_IN,
            core_m: 0.0,
            thickness_m: thickness_in * M_PER_IN,
        };
        mor_pa * wood.fore_modulus_m3() / FT_LB
    };
    let [thin, thick] = [2.0, 4.0].map(|t| pull(4.0, hinge(t), 40.0, 20.0));
    let ratio = (thick - back) / (thin - back);
    check.near("hinge of 4 for 2 in, what bends it", "", ratio, 4.0, Allowed::Share(1e-6));
    let [low, high] = [20.0, 40.0].map(|up| pull(4.0, hinge(2.0), up, 0.0));
    check.holds("knot at 20 and 40 ft", low > 1.9 * high, &format!("{low:.0} and {high:.0} lbf"));
    let [level, steep] = [0.0, 50.0].map(|below| pull(4.0, hinge(2.0), 40.0, below));
    let seen = format!("{level:.0} and {steep:.0} lbf");
    check.holds("rope level and 50° down", steep > 1.4 * level, &seen);
    let still = leaning(6000.0, 24.0, 4.0, hinge(2.0));
    let rope = rope_at(40.0, 4.0, 20.0);
    let windy = still.in_wind(DVec3::new(-500.0, 0.0, 0.0));
    let [calm, blown] = [&still, &windy].map(|above| pull_lbf(above, &rope));
    check.holds("headwind", blown > calm, &format!("{calm:.0} and {blown:.0} lbf"));
    let balance = still.balance_rad(deg(40.0)).expect("it has one");
    let (before, after) =
        (still.pull_n(&rope, balance - 0.01), still.pull_n(&rope, balance + 0.01));
    let holds = before.is_some_and(|n| n > 0.0) && after == Some(0.0);
    check.holds("0.01 rad either side of balance", holds, &format!("{before:?} and {after:?} N"));
    check.end();
}

#[test]
fn val_what_side_weight_and_decay_do_to_a_hinge() {
    let mut check = Check::new(
        Table::World,
        "val_felling::val_what_side_weight_and_decay_do_to_a_hinge",
        "side weight pulls at one end of a hinge and presses the other; a rotten middle takes from \
         what bends forward and hardly from what holds to the side; a shell of 2 in still carries a \
         stem of 20 in by 40 ft that leans 5° once its crown is off, not one with a crown of three \
         times its weight at 60 ft in a gale",
        PRACTICE,
    );
    let oak = species("white oak").expect("in the table");
    let hinge = HingeWood { width_m: 0.4, core_m: 0.0, thickness_m: 0.05 };
    let [tension, compression] = hinge.end_stresses_pa(5_000.0, 8_000.0);
    let seen = format!("{:.1} and {:.1} MPa", tension / 1e6, compression / 1e6);
    check.holds("5 kN m to the side", tension > 0.0 && compression > tension, &seen);
    let [lifted, pressed] = hinge.end_stresses_pa(0.0, 8_000.0);
    check.holds("none", lifted == -pressed && pressed > 0.0, &format!("{pressed:.0} Pa"));
    let rotten = HingeWood { core_m: 0.2, ..hinge };
    let [fore, side] = [
        rotten.fore_modulus_m3() / hinge.fore_modulus_m3(),
        rotten.side_modulus_m3() / hinge.side_modulus_m3(),
    ];
    check.near("half rotten, fore", "", fore, 0.5, Allowed::Share(1e-9));
    check.near("half rotten, to the side", "", side, 0.875, Allowed::Share(1e-9));

    let (d_m, core_m) = (20.0 * M_PER_IN, 16.0 * M_PER_IN);
    let bears = oak.rupture_pa * decay::modulus_m3(d_m, core_m);
    let height_m = 40.0 * M_PER_FT;
    let weight_n =
        0.25 * PI * (d_m * d_m - core_m * core_m) * height_m * oak.density_kg_m3 * 9.806_65;
    let alone = weight_n * 0.5 * height_m * deg(5.0).sin() / bears;
    check.holds("crown off", alone < 0.1, &format!("{:.0} % used", 100.0 * alone));
    // A gale on a crown: half of air's density, 25 m/s, a drag area of 20 m².
    let crown = (3.0 * weight_n * deg(5.0).sin() + 0.5 * 1.2 * 625.0 * 20.0) * 60.0 * M_PER_FT;
    let crowned = alone + crown / bears;
    check.holds("crown on", crowned > 3.0 * alone, &format!("{:.0} % used", 100.0 * crowned));
    check.end();
}
