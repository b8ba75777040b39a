//! `check`: what was understood of a scene, in its own units, and every warning.

use glam::DVec2;
use tumblewood::{
    job::{Job, Outer, World},
    quantity::Units,
    release::{Balance, describe},
    report::{stamp, units::decimals},
    scene::model::{AidKind, Held},
    site::Body,
    terrain::shape::azimuth_rad,
};

use super::{Failure, output::ground_words};

/// Baseline of a slope, m.
const BASELINE_M: f64 = 5.0;
/// How far down the fall line is traced, m, and at what steps.
const FALL_LINE_M: f64 = 150.0;
const FALL_STEP_M: f64 = 0.5;
/// The known ground should go on this far down the fall line, m, or drops are lost.
const ENOUGH_GROUND_M: f64 = 60.0;

pub(super) fn check(job: &Job) -> Result<(), Failure> {
    let scene = &job.scene;
    let units = scene.units;
    let world = job.world(Outer::Told)?;
    println!("{}{}", scene.name, if scene.invented { " (invented)" } else { "" });
    println!("  {}", scene.note);
    let terrain = &world.site.terrain;
    let (low, high) = terrain.bounds();
    println!("\nGround");
    println!(
        "  known {} by {}, cells of {}",
        units.distance(high.x - low.x),
        units.distance(high.y - low.y),
        units.length(terrain.grid.cell_m)
    );
    let fall: Vec<DVec2> = terrain
        .fall_line(DVec2::ZERO, FALL_STEP_M, FALL_LINE_M, BASELINE_M)
        .iter()
        .map(|p| p.truncate())
        .collect();
    slopes(&world, &fall, units);
    println!("  told as {}", ground_words(&scene.site.ground));
    for patch in &scene.site.patches {
        println!("  patch {}: {}", patch.id, ground_words(&patch.ground));
    }
    println!("\nTree");
    println!(
        "  {}, {} across at breast height, {} tall, {} kg/m³ green",
        scene.tree.species,
        units.diameter(world.stem.diameter_m(1.37)),
        units.length(scene.tree.height_m.told),
        decimals(world.stem.density_kg_m3, 0)
    );
    let lean = world.stem.lean;
    println!(
        "  leans {}° toward {}°",
        decimals(lean.angle_rad.to_degrees(), 1),
        decimals(lean.azimuth_rad.to_degrees(), 0)
    );
    println!("\nTargets: distance from the stump, and along the fall line where it passes");
    for body in world.site.bodies.iter().filter(|b| b.is_target) {
        target(body, &fall, units);
    }
    println!("  climber and line (or feller) are targets of every cut");
    if !scene.aids.is_empty() {
        println!("\nAids");
        for aid in &scene.aids {
            println!("  {}: {}", aid.id, aid_words(&aid.kind, units));
        }
    }
    println!("\nCuts, in order");
    for index in 0..scene.cuts.len() {
        cut(&world, index, units)?;
    }
    println!("\nDoubts: value as told, and the limits it is drawn from (SI)");
    for (path, number) in scene.doubts() {
        println!(
            "  {path}: {} ({} to {}, {})",
            short(number.told),
            short(number.spread.low),
            short(number.spread.high),
            number.spread.how.word()
        );
    }
    if !scene.assumed.is_empty() {
        println!("\nLeft open in the scene, and what was taken");
        for assumed in &scene.assumed {
            println!("  {}: {}", assumed.path, assumed.taken);
        }
    }
    println!("\nWarnings");
    let mut warnings = world.warnings.clone();
    if let (Some(first), Some(last)) = (fall.first(), fall.last()) {
        let run = first.distance(*last);
        let at_edge = (*last - low).min(high - *last).min_element() < 2.0 * FALL_STEP_M;
        if at_edge && run < ENOUGH_GROUND_M {
            warnings.push(format!(
                "the known ground ends {} down the fall line: drops that get there are lost, and \
                 count as unknown for what lies below",
                units.distance(run)
            ));
        }
    }
    if warnings.is_empty() {
        println!("  none");
    }
    for warning in warnings {
        println!("  {warning}");
    }
    println!("\n{}\n{}", stamp::NOT_COMPARED, stamp::PLANNING_AID);
    Ok(())
}

fn slopes(world: &World, fall: &[DVec2], units: Units) {
    let terrain = &world.site.terrain;
    let slope =
        |at: DVec2| terrain.mean_gradient(at, BASELINE_M).map(|g| g.length().atan().to_degrees());
    let words =
        |deg: Option<f64>| deg.map_or("not known".into(), |d| format!("{}°", decimals(d, 0)));
    print!("  slope under the tree {}", words(slope(DVec2::ZERO)));
    for down_m in [10.0, 20.0, 40.0] {
        let steps = (down_m / FALL_STEP_M) as usize;
        if let Some(at) = fall.get(steps) {
            print!(", {} below {}", units.distance(down_m), words(slope(*at)));
        }
    }
    println!();
    if let Some(g) = terrain.mean_gradient(DVec2::ZERO, BASELINE_M) {
        let toward = azimuth_rad(-g).to_degrees().rem_euclid(360.0);
        println!("  falls toward {}° at the stump", decimals(toward, 0));
    }
}

fn target(body: &Body, fall: &[DVec2], units: Units) {
    let from = |at: DVec2| tumblewood::site::distance_in_plan_m(body, at);
    let straight = from(DVec2::ZERO);
    let nearest = fall
        .iter()
        .enumerate()
        .map(|(i, at)| (i as f64 * FALL_STEP_M, from(*at)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    print!("  {}: {}", body.id, units.distance(straight));
    match nearest {
        Some((along, off)) if off < 0.5 => print!(", {} down the fall line", units.distance(along)),
        Some((along, off)) => print!(
            ", fall line passes {} from it after {}",
            units.distance(off),
            units.distance(along)
        ),
        None => {}
    }
    println!();
}

fn aid_words(aid: &AidKind, units: Units) -> String {
    match aid {
        AidKind::BarrierLog { diameter_m, held, .. } => {
            let held = match held {
                Held::Staked => "staked",
                Held::AgainstStump => "against a stump",
                Held::InDent => "in a dent of the ground",
                Held::NotHeld => "not held: it can be set rolling",
            };
            format!("barrier log, {}, {held}", units.diameter(diameter_m.told))
        }
        AidKind::BrushMat { thickness_m, .. } => {
            format!("brush mat, {} thick", units.length(thickness_m.told))
        }
        AidKind::Wall { height_m, .. } => format!("wall, {} high", units.length(height_m.told)),
        AidKind::Stump { height_m, .. } => format!("stump, {} high", units.length(height_m.told)),
    }
}

fn cut(world: &World, index: usize, units: Units) -> Result<(), Failure> {
    let ready = world.cut(index)?;
    let piece = &ready.section.piece;
    println!(
        "  {}: {} from {} up, {}, centre {} above the cut",
        ready.id,
        units.length(piece.length_m()),
        units.length(ready.from_height_m),
        units.mass(piece.mass_kg),
        units.length(ready.section.centre_m.z)
    );
    let balance: Balance = describe(&ready.stand(), &ready.method);
    let moment = |n_m: f64| match units {
        Units::Metric => format!("{} N m", decimals(n_m, 0)),
        Units::Imperial => format!("{} ft·lbf", decimals(n_m / 1.355_818, 0)),
    };
    println!(
        "      weight turns it with {}, push {}, wind {}; the wood holds {} ({} to {}): {}",
        moment(balance.weight_moment_n_m),
        moment(balance.push_moment_n_m),
        moment(balance.wind_moment_n_m),
        moment(balance.hinge_moment_n_m),
        moment(balance.hinge_moment_low_n_m),
        moment(balance.hinge_moment_high_n_m),
        if balance.margin_n_m > 0.0 {
            format!("starts with {} to spare", moment(balance.margin_n_m))
        } else {
            format!("sits back, {} missing", moment(-balance.margin_n_m))
        }
    );
    Ok(())
}

/// Four figures, no more.
fn short(x: f64) -> String {
    let places = if x.abs() >= 100.0 {
        0
    } else if x.abs() >= 1.0 {
        2
    } else {
        4
    };
    decimals(x, places)
}
