//! The release against an adaptive integrator of another hand, written as another model.
//!
//! The hinge is solved in the turning angle alone by Dormand–Prince 8(5,3). The rim is solved
//! with no events at all: the spar's edge is a stiff damped spring under the piece's cut, friction
//! a steep function of the sliding speed, and what our own solver finds by switching contacts must
//! come out of it by itself.

use differential_equations::prelude::*;
use glam::{DVec2, DVec3};
use tumblewood::{
    GRAVITY_M_S2,
    release::{
        Event as Happened, HingeSpec, Method, Push, Release, RimSpec, Scatter, Stand, plane::Plane,
        trace, turn::Task,
    },
    tree::{Lean, Station, Stem},
    wood::species,
};
use tumblewood_tests::table::{
    Allowed::{By, Share},
    Check, Table,
};

const CUT_M: f64 = 8.0;

fn stem(lean_deg: f64) -> Stem {
    let stations = vec![
        Station { height_m: 0.0, diameter_m: 0.46 },
        Station { height_m: 16.0, diameter_m: 0.3 },
    ];
    let oak = species("white oak").expect("in the table");
    let stem = Stem::measured(stations, None, oak).expect("a stem");
    Stem { lean: Lean { angle_rad: lean_deg.to_radians(), azimuth_rad: 0.4 }, ..stem }
}

/// The hinge in its angle alone, up to where it breaks.
struct Hinge<'a>(&'a Task);

impl ODE<f64, [f64; 2]> for Hinge<'_> {
    fn diff(&self, _t: f64, y: &[f64; 2], dydt: &mut [f64; 2]) {
        let task = self.0;
        let r = task.centre_m - task.pivot_m;
        let d = r.length();
        let hand = task.push_at_m - task.pivot_m;
        let (reach, start) = (hand.length(), hand.x.atan2(hand.y));
        let way = reach * ((start + y[0]).sin() - start.sin());
        let up = reach * (start + y[0]).cos();
        let push = if way < task.push_travel_m { task.push_n * up } else { 0.0 };
        let weight = task.mass_kg * GRAVITY_M_S2 * d * (r.x.atan2(r.y) + y[0]).sin();
        dydt[0] = y[1];
        dydt[1] =
            (weight + push - task.holding.moment_n_m) / (task.inertia_kg_m2 + task.mass_kg * d * d);
    }
}

#[test]
fn verif_hinge_against_dormand_prince() {
    let mut check = Check::new(
        Table::Equations,
        "verif_release::verif_hinge_against_dormand_prince",
        "turn and turning rate at which a hinge breaks, with lean and push, at the same moment",
        "Dormand–Prince 8(5,3) of differential-equations, in the turning angle alone",
    );
    let oak = species("white oak").expect("in the table");
    for (lean_deg, length_m, force_n) in [(0.0, 1.8, 900.0), (6.0, 2.4, 600.0), (12.0, 3.6, 0.0)] {
        let stem = stem(lean_deg);
        let section = stem.section(CUT_M, CUT_M + length_m, &[]).expect("a section");
        let stand = Stand::on(&stem, &section, CUT_M, DVec3::ZERO);
        let hinge = HingeSpec {
            hinge_thickness_m: 0.012,
            push: Push { force_n, height_m: 0.9, travel_m: 0.5 },
            ..HingeSpec::usual(0.4, stand.cut_radius_m, oak)
        };
        let how = Method::Hinge(hinge);
        let (_, moments) = trace(&stand, &how, &Scatter::default());
        let broke = moments
            .iter()
            .find(|m| m.event == Happened::HingeBroke)
            .unwrap_or_else(|| panic!("{moments:?}"));
        let plane = Plane::new(&stand, &how, &Scatter::default());
        let solution = IVP::ode(&Hinge(&plane.task), 0.0, broke.time_s, [0.0, 0.0])
            .method(ExplicitRungeKutta::dop853().rtol(1e-10).atol(1e-12))
            .solve()
            .expect("solved");
        let (_, y) = solution.iter().next_back().expect("an end");
        let name = format!("lean {lean_deg}°, {length_m} m");
        check.near(&name, "rad", broke.turn_rad, y[0], Share(1e-5));
        check.near(&name, "rad/s", broke.rate_rad_s, y[1], Share(1e-5));
    }
    check.end();
}

/// A piece on a springy edge: x, y, turn and their rates.
struct Springy<'a>(&'a Task);

impl Springy<'_> {
    const SPRING_N_M: f64 = 2e7;
    const CREEP_M_S: f64 = 2e-4;

    /// How deep the edge is under the cut, how fast it goes deeper, the normal and the sliding
    /// speed.
    fn edge(&self, y: &[f64; 6]) -> (f64, f64, DVec2, DVec2, f64) {
        let task = self.0;
        let tilt = task.stem_tilt_rad + y[2];
        let n = DVec2::new(tilt.sin(), tilt.cos());
        let t = DVec2::new(n.y, -n.x);
        let up = DVec2::new(task.stem_tilt_rad.sin(), task.stem_tilt_rad.cos());
        let butt = (task.centre_m - task.pivot_m).dot(up);
        let rho = task.pivot_m - DVec2::new(y[0], y[1]);
        let deep = butt + rho.dot(n);
        let at_edge = DVec2::new(y[3], y[4]) + DVec2::new(rho.y, -rho.x) * y[5];
        (deep, -at_edge.dot(n), n, t, at_edge.dot(t))
    }
}

impl ODE<f64, [f64; 6]> for Springy<'_> {
    fn diff(&self, _t: f64, y: &[f64; 6], dydt: &mut [f64; 6]) {
        let task = self.0;
        let (deep, deeper, n, t, slides) = self.edge(y);
        let damping = 0.2 * (Self::SPRING_N_M * task.mass_kg).sqrt();
        let press = (Self::SPRING_N_M * deep + damping * deeper).max(0.0);
        let rub = task.friction * press * (slides / Self::CREEP_M_S).tanh();
        let contact = n * press - t * rub;
        let rho = task.pivot_m - DVec2::new(y[0], y[1]);
        let a = (task.steady_n + contact) / task.mass_kg;
        let moment = rho.y * contact.x - rho.x * contact.y;
        *dydt = [y[3], y[4], y[5], a.x, a.y, moment / task.inertia_kg_m2];
    }
}

#[test]
fn verif_rim_against_a_springy_edge() {
    let mut check = Check::new(
        Table::Equations,
        "verif_release::verif_rim_against_a_springy_edge",
        "turn, turning rate and speed of a piece as it leaves the rim it tips over and slips off",
        "Dormand–Prince 8(5,3) of differential-equations on another model: the edge a stiff damped \
         spring, friction a steep function of sliding, no events",
    );
    for (friction, length_m) in [(0.4, 1.2), (0.5, 1.2), (0.6, 1.2), (0.5, 2.4)] {
        // A lean past the balance: no push, and the same model from the first moment.
        let stem = stem(25.0);
        let section = stem.section(CUT_M, CUT_M + length_m, &[]).expect("a section");
        let stand = Stand { friction, ..Stand::on(&stem, &section, CUT_M, DVec3::ZERO) };
        let how = Method::FlatCut(RimSpec {
            azimuth_rad: 0.4,
            holding_moment_n_m: 0.0,
            push: Push::default(),
        });
        let (release, moments) = trace(&stand, &how, &Scatter::default());
        let Release::Left(launch) = release else { panic!("{moments:?}") };
        let task = Plane::new(&stand, &how, &Scatter::default()).task;

        let model = Springy(&task);
        let c = task.centre_m;
        let solution = IVP::ode(&model, 0.0, launch.time_s, [c.x, c.y, 0.0, 0.0, 0.0, 0.0])
            .method(ExplicitRungeKutta::dop853().rtol(1e-8).atol(1e-9).max_steps(2_000_000))
            .solve()
            .expect("solved");
        let (_, y) = solution.iter().next_back().expect("an end");
        let left = moments.last().expect("it left");
        let speed = launch.motion.velocity_m_s.length();
        let theirs = DVec2::new(y[3], y[4]).length();
        let name = format!("friction {friction}, {length_m} m");
        // The spring gives way by a tenth of a millimetre and friction creeps.
        check.near(&name, "rad", left.turn_rad, y[2], Share(0.01));
        check.near(&name, "rad/s", left.rate_rad_s, y[5], Share(0.01));
        check.near(&name, "m/s", speed, theirs, Share(0.01));
        // Theirs is about to leave too: what presses is small against the weight.
        let (deep, ..) = model.edge(y);
        let pressed = deep * Springy::SPRING_N_M / (task.mass_kg * GRAVITY_M_S2);
        check.near(&format!("{name}, pressed of its weight"), "", pressed.max(0.0), 0.0, By(0.05));
    }
    check.end();
}
