//! Matches the world: the usual face and hinge against felling guidance, and what a hinge holds
//! against a worked example.

use tumblewood::{release::HingeSpec, wood::species};
use tumblewood_tests::table::{Allowed, Check, Table};

const M_PER_IN: f64 = 0.0254;
const N_M_PER_FT_LB: f64 = 1.355_817_948;

/// The usual face and hinge of a white oak of this diameter.
fn usual(diameter_in: f64) -> HingeSpec {
    let oak = species("white oak").expect("in the table");
    HingeSpec::usual(0.0, 0.5 * diameter_in * M_PER_IN, oak)
}

#[test]
fn val_the_usual_hinge() {
    let mut check = Check::new(
        Table::World,
        "val_hinge::val_the_usual_hinge",
        "face and hinge where a scene names none: length, thickness, depth and opening",
        "OSHA Logging eTool (open face: 70° at least, depth a quarter to a third, hinge 80 % long \
         and 10 % thick; 9.6 by 1.2 in on a tree of 12 in); Forestry Mutual newsletter, fall 2021 \
         (2 in on 20 in)",
    );
    let (small, large) = (usual(12.0), usual(20.0));
    for (case, ours_m, inches) in [
        ("length on 12 in", small.hinge_width_m, 9.6),
        ("thickness on 12 in", small.hinge_thickness_m, 1.2),
        ("thickness on 20 in", large.hinge_thickness_m, 2.0),
    ] {
        check.near(case, "in", ours_m / M_PER_IN, inches, Allowed::Share(1e-9));
    }
    let depth = large.face_depth_m / (20.0 * M_PER_IN);
    let seen = format!("{depth:.3} of the diameter");
    check.holds("depth", (0.25..1.0 / 3.0 + 1e-9).contains(&depth), &seen);
    let opening_deg = large.face_opening_rad.to_degrees();
    let seen = format!("{opening_deg:.0}°");
    check.holds("opening", opening_deg > 70.0 - 1e-9, &seen);
    check.end();
}

/// Printed in whole foot-pounds.
#[test]
fn val_what_a_hinge_holds() {
    let mut check = Check::new(
        Table::World,
        "val_hinge::val_what_a_hinge_holds",
        "moment that a white oak hinge holds until it breaks, 16 by 2 in and 9.6 by 1.2 in",
        "MOR 8,300 psi (Wood Handbook FPL-GTR-282 Table 5-3b) times w·t²/6, worked by hand: 7,378 \
         and 1,594 ft-lb",
    );
    for (width_in, thickness_in, ft_lb) in [(16.0, 2.0, 7378.0), (9.6, 1.2, 1594.0)] {
        let hinge = HingeSpec {
            hinge_width_m: width_in * M_PER_IN,
            hinge_thickness_m: thickness_in * M_PER_IN,
            ..usual(20.0)
        };
        let ours = hinge.moment_n_m() / N_M_PER_FT_LB;
        let case = format!("{width_in} by {thickness_in} in");
        check.near(&case, "ft-lb", ours, ft_lb, Allowed::By(0.5));
    }
    check.end();
}
