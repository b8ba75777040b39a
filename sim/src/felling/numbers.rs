//! All numbers of one cut in one truth.

use glam::DVec3;

use crate::{
    job::{JobError, LineReady},
    release::{Release, Scatter, trace},
    scene::model::PullLine,
};

use super::{
    draw::Draw,
    hinged::Hinged,
    page::{Found, Page},
    pulled::{line_figures, pull_figures},
    result::{Group, Measure},
    rules,
    statics::{Above, Rope},
    strength::{hinge_figures, strap_figures, strength_figures},
    wedge,
};

/// Back lean that is too much for wedges alone, as a share of the height (common practice: 5 to
/// 10 %).
const WEDGE_LEAN: f64 = 0.05;
/// Height of a pull line where the scene has none, as a share of the piece (common practice).
pub const ATTACH_SHARE: f64 = 2.0 / 3.0;

/// A rope that holds the stem, with its name if the scene has it.
#[derive(Clone, Debug)]
pub(super) struct Pulled {
    pub(super) line: Option<String>,
    pub(super) rope: Rope,
    pub(super) working_load_n: Option<f64>,
    pub(super) told_pull_n: Option<f64>,
    pub(super) vehicle_n: Option<f64>,
}

/// One cut in one truth.
#[derive(Debug)]
pub(super) struct Numbers {
    pub(super) figures: Vec<Found>,
    pub(super) still: Above,
    pub(super) gust_n: DVec3,
    pub(super) pulled: Vec<Pulled>,
    /// Moment missing without a line, if it sits back, N m.
    pub(super) missing_n_m: Option<f64>,
    pub(super) warnings: Vec<String>,
}

/// All numbers of a cut in one truth.
pub(super) fn numbers(cut: &Hinged<'_>, draw: Draw) -> Result<Numbers, JobError> {
    let (mean_stand, gust_stand) = (cut.ready.stand(), cut.ready.stand_in_gust());
    let mean = cut.above(&mean_stand);
    let (still, gust) = (mean.in_wind(DVec3::ZERO), mean.in_wind(gust_stand.wind_n));
    let has_wind = gust.wind_n != DVec3::ZERO;
    let mut page = Page { figures: Vec::new(), group: Group::Stem };
    let mut warnings = Vec::new();
    stem_figures(&mut page, cut, &mean, &gust);

    let mut pulled = Vec::new();
    let id = cut.ready.id.clone();
    let lines: Vec<&PullLine> = cut.world.lines_of(&id).map(|(_, line)| line).collect();
    let mut readies = Vec::new();
    for line in &lines {
        readies.push(cut.world.line(&cut.ready, line)?);
    }
    let first = readies.first().map_or_else(|| level_rope(cut, &still), rope_of);
    hinge_figures(&mut page, cut, &mean_stand, &gust, &first);
    strength_figures(&mut page, cut, &first, gust.pull_n(&first, 0.0).unwrap_or(0.0));

    page.group = Group::Pull;
    if lines.is_empty() {
        let what = "level line two thirds up";
        pull_figures(&mut page, "level", what, &still, &mean, &gust, has_wind, &first);
        pulled.push(Pulled {
            line: None,
            rope: first,
            working_load_n: None,
            told_pull_n: None,
            vehicle_n: None,
        });
    }
    for (line, ready) in lines.iter().zip(&readies) {
        let rope = rope_of(ready);
        page.group = Group::Pull;
        pull_figures(&mut page, &line.id, &line.id, &still, &mean, &gust, has_wind, &rope);
        let on_line = line_figures(&mut page, cut, line, ready, &gust, draw);
        warnings.extend(on_line.1);
        pulled.push(on_line.0);
    }
    strap_figures(&mut page, cut, &gust, &pulled);
    page.group = Group::Wedge;
    wedge_figures(&mut page, cut, &mean);

    let (release, _) = trace(&mean_stand, &cut.method(), &Scatter::default());
    let missing_n_m = match release {
        Release::Left(_) => None,
        Release::SitsBack { missing_moment_n_m } => Some(missing_moment_n_m),
    };
    let gust_n = gust.wind_n;
    Ok(Numbers { figures: page.figures, still, gust_n, pulled, missing_n_m, warnings })
}

/// The rope at the stem.
pub(super) fn rope_of(ready: &LineReady) -> Rope {
    Rope { from_m: ready.attach_m, to_m: ready.first_m() }
}

/// A level rope toward the face, two thirds up the piece.
fn level_rope(cut: &Hinged<'_>, above: &Above) -> Rope {
    let stand = cut.ready.stand();
    let up_m = ATTACH_SHARE * cut.ready.section.piece.length_m();
    let from_m = stand.cut_m + stand.attitude * (DVec3::Z * up_m);
    // So far away that it stays level while the stem comes over.
    Rope { from_m, to_m: from_m + above.forward() * 1e6 }
}

fn stem_figures(page: &mut Page, cut: &Hinged<'_>, mean: &Above, gust: &Above) {
    let piece = &cut.ready.section.piece;
    let start = mean.moments(0.0);
    let arm = mean.centre_m - mean.pivot_m;
    page.put("weight", "weight above the cut", Measure::Mass, piece.mass_kg, rules::WEIGHT);
    page.put("centre", "its centre above the hinge", Measure::Length, arm.z, rules::WEIGHT);
    page.put("lean", "lean of the centre, fore", Measure::Angle, start.line_rad, rules::LEAN);
    let right = -mean.axis;
    let side_rad = libm::atan2(arm.dot(right), arm.z);
    page.put(
        "side_lean",
        "lean of the centre, to the right",
        Measure::Angle,
        side_rad,
        rules::LEAN,
    );
    page.put(
        "moment_fore",
        "lean moment, fore",
        Measure::Moment,
        start.weight_n_m,
        rules::LEAN_MOMENT,
    );
    let side = arm.cross(-DVec3::Z * mean.weight_n).dot(mean.forward());
    page.put("moment_side", "lean moment, to the right", Measure::Moment, side, rules::LEAN_MOMENT);
    if gust.wind_n != DVec3::ZERO {
        for (key, label, above) in
            [("wind_mean", "wind, fore", mean), ("wind_gust", "gust, fore", gust)]
        {
            let moment = above.moments(0.0).wind_n_m;
            page.put(key, label, Measure::Moment, moment, rules::WIND);
        }
    }
}

fn wedge_figures(page: &mut Page, cut: &Hinged<'_>, mean: &Above) {
    let start = mean.moments(0.0);
    let lever_m = cut.lever_m();
    let back_rad = (-start.line_rad).max(0.0);
    page.put(
        "wedge_lift",
        "wedge lift to stand its centre over the hinge",
        Measure::Thickness,
        wedge::lift_m(back_rad, lever_m),
        rules::WEDGE,
    )
    .most(
        lever_m * WEDGE_LEAN,
        "a back lean over 5 % of the height: not for wedges alone (common practice)",
    );
    let top_m = cut.ready.section.piece.length_m();
    page.put(
        "wedge_moves",
        "the top moves, per 1 of lift",
        Measure::Number,
        wedge::moves_m(1.0, top_m, lever_m),
        rules::WEDGE,
    );
    page.put(
        "wedge_force",
        "force under the wedge to start it",
        Measure::Force,
        mean.missing_n_m(0.0).max(0.0) / lever_m,
        rules::WEDGE_FORCE,
    );
}
