//! What was understood of terrain files, in plain words.

use super::wrapped;
use crate::{
    report::units::{Units, decimals},
    terrain::{
        intake::{Intake, Points},
        shape::azimuth_rad,
    },
};

/// Baselines of the slope at the place, m.
const BASELINES_M: [f64; 2] = [5.0, 20.0];

/// Files, place, system, heights, holes and warnings.
#[must_use]
pub fn terrain(ground: &Intake) -> String {
    let about = &ground.about;
    let mut out = String::new();
    let mut line = |text: String| out.push_str(&wrapped(&text, 4));
    for file in &about.files {
        line(format!("  {file}"));
    }
    line(format!("  place: {}", about.place));
    let name = match (ground.system.name.as_str(), ground.system.epsg) {
        ("", None) => "metres of a system that isn't named".to_owned(),
        (name, Some(code)) if name != format!("EPSG:{code}") => {
            format!("{name} (EPSG:{code}), metres")
        }
        (name, _) => format!("{name}, metres"),
    };
    line(format!("  written in {name}: x {:.2}, y {:.2}", ground.at_m.x, ground.at_m.y));
    if let Some(turn) = about.convergence_rad {
        let side = if turn >= 0.0 { "east" } else { "west" };
        line(format!(
            "  north: grid north lies {}° {side} of true north here",
            decimals(turn.to_degrees().abs(), 2)
        ));
    }
    let lattice = &ground.lattice;
    let span = lattice.high_m() - lattice.low_m;
    line(format!(
        "  heights: {} by {}, {} m apart, over {} by {}; {}",
        lattice.nx,
        lattice.ny,
        decimals(lattice.cell_m, 2),
        Units::Metric.distance(span.x),
        Units::Metric.distance(span.y),
        about.method
    ));
    if let Some(points) = &about.points {
        line(format!("  {}", points_words(points)));
    }
    let (low, high) = ground.height_range_m();
    line(format!("  least {low:.1} m, greatest {high:.1} m"));
    let terrain = ground.terrain();
    let slopes: Vec<String> = BASELINES_M
        .iter()
        .filter_map(|baseline| {
            let gradient = terrain.mean_gradient(glam::DVec2::ZERO, *baseline)?;
            Some(format!(
                "{}° over {baseline} m, down toward grid {}°",
                decimals(libm::atan(gradient.length()).to_degrees(), 0),
                decimals(azimuth_rad(-gradient).to_degrees(), 0)
            ))
        })
        .collect();
    if !slopes.is_empty() {
        line(format!("  slope at the place: {}", slopes.join("; ")));
    }
    match about.filled.words() {
        Some(words) => line(format!("  holes: {words}; filled {}", about.fill_method)),
        None => line("  holes: none".to_owned()),
    }
    let mut warnings = about.warnings.clone();
    warnings.extend(terrain.steepness_warning(Units::Metric));
    if !warnings.is_empty() {
        out.push_str("\nWarnings\n");
        for warning in warnings {
            out.push_str(&wrapped(&format!("  {warning}"), 4));
        }
    }
    out
}

fn points_words(points: &Points) -> String {
    let how = if points.found { "taken for ground by the filter" } else { "ground" };
    let withheld = match points.withheld {
        0 => String::new(),
        n => format!("{n} of them withheld and left out, "),
    };
    format!(
        "points: {} read, {withheld}{} within, {} {how}, in {} places on average {} apart",
        points.read,
        points.within,
        points.ground,
        points.nodes,
        Units::Metric.distance(points.spacing_m)
    )
}
