//! `check`: what was understood of a scene, in its own units, and every warning.

use glam::DVec2;
use tumblewood::{
    felling::{check_order, tree_states},
    job::{Job, Outer, World},
    quantity::Units,
    release::{Method, describe, strap_moment_n_m},
    report::{
        cut_words::{angle, force, length, mass, release_words, share, speed},
        stamp, text,
        units::decimals,
        words,
    },
    scene::model::{AidKind, Anchor, Held, Line, PullLine, ReleaseSpec, TerrainSpec, TiedLine},
    site::{Answer, Body},
    terrain::shape::azimuth_rad,
};

use super::{Failure, limbs, say::say};

/// Baseline of a slope, m.
const BASELINE_M: f64 = 5.0;
/// How far down the fall line is traced, m, and at what steps.
const FALL_LINE_M: f64 = 150.0;
const FALL_STEP_M: f64 = 0.5;
/// The known ground should go on this far down the fall line, m, or drops are lost.
const ENOUGH_GROUND_M: f64 = 60.0;
/// Breast height, m (FPL and forest inventory practice, 4.5 ft).
const BREAST_M: f64 = 1.37;
/// Diameters told twice may differ by this share before it is said.
const SAME_DIAMETER: f64 = 0.05;

/// Lines of an answer.
#[derive(Default)]
pub(super) struct Page(String);

impl Page {
    pub(super) fn line(&mut self, text: impl AsRef<str>) {
        self.0 += text.as_ref();
        self.0.push('\n');
    }

    /// Rows as columns, each as wide as its widest.
    fn table(&mut self, rows: &[Vec<String>]) {
        let width = |c: usize| {
            rows.iter().filter_map(|r| r.get(c)).map(|t| t.chars().count()).max().unwrap_or(0)
        };
        for row in rows {
            let cells = row.iter().enumerate().map(|(c, text)| format!("{text:<0$}", width(c)));
            let line = cells.collect::<Vec<_>>().join("   ");
            self.line(format!("  {}", line.trim_end()));
        }
    }
}

pub(super) fn check(job: &Job) -> Result<(), Failure> {
    let scene = &job.scene;
    let units = scene.units;
    let world = job.world(Outer::Told)?;
    let mut page = Page::default();
    page.line(format!("{}{}", scene.name, if scene.invented { " (invented)" } else { "" }));
    if !scene.note.is_empty() {
        page.line(format!("  {}", scene.note));
    }
    let terrain = &world.site.terrain;
    let (low, high) = terrain.bounds();
    let fall: Vec<DVec2> = terrain
        .fall_line(DVec2::ZERO, FALL_STEP_M, FALL_LINE_M, BASELINE_M)
        .iter()
        .map(|p| p.truncate())
        .collect();
    page.line("\nGround");
    page.line(format!(
        "  known {} by {}, cells of {}",
        units.distance(high.x - low.x),
        units.distance(high.y - low.y),
        units.length(terrain.grid.cell_m)
    ));
    if let TerrainSpec::Inline(grid) = &scene.site.terrain
        && !grid.source.is_empty()
    {
        page.line(format!("  heights from {}", grid.source));
    }
    slopes(&mut page, &world, &fall, units);
    page.line(format!("  told as {}", words::ground(&scene.site.ground)));
    for patch in &scene.site.patches {
        page.line(format!("  patch {}: {}", patch.id, words::ground(&patch.ground)));
    }
    page.line("\nTree");
    page.line(format!(
        "  {}, {} across at breast height, {} tall, {} kg/m³ green",
        scene.tree.species,
        units.diameter(world.stem.diameter_m(BREAST_M)),
        units.length(scene.tree.height_m.told),
        decimals(world.stem.density_kg_m3, 0)
    ));
    let lean = world.stem.lean;
    page.line(format!(
        "  leans {}° toward {}°",
        decimals(lean.angle_rad.to_degrees(), 1),
        decimals(lean.azimuth_rad.to_degrees(), 0)
    ));
    limbs::limbs(&mut page, &world, units);
    page.line("\nTargets: distance from the stump, and along the fall line where it passes");
    for body in world.site.bodies.iter().filter(|b| b.is_target) {
        page.line(format!("  {}: {}", body.id, target_words(body, &fall, units)));
    }
    limbs::clearances(&mut page, &world, units)?;
    page.line("  climber and line (or feller) are targets of every cut");
    if !scene.aids.is_empty() {
        page.line("\nAids");
    }
    for aid in &scene.aids {
        let held = hold_words(&world, &aid.id, units);
        page.line(format!("  {}: {}{held}", aid.id, aid_words(&aid.kind, units)));
    }
    page.line(if scene.cuts.is_empty() { "\nNo cuts" } else { "\nCuts, in order" });
    for index in 0..scene.cuts.len() {
        cut(&mut page, &world, index, units)?;
    }
    if !scene.cuts.is_empty() {
        page.0.push('\n');
        page.0.push_str(&text::tree_states(&tree_states(&world)?, units));
    }
    if !scene.lines.is_empty() {
        page.line("\nLines");
    }
    for line in &scene.lines {
        let words = match line {
            Line::Pull(line) => line_words(line, units),
            Line::Tied(line) => tied_words(line, units),
        };
        page.line(format!("  {}: {words}", line.id()));
    }
    page.line("\nDoubts: each number as told, and the limits it is drawn from");
    let rows: Vec<Vec<String>> = scene
        .doubts()
        .iter()
        .map(|(path, number)| {
            let (name, text) = in_units(path);
            let limits = [number.spread.low, number.spread.high].map(|x| text(x, units));
            let how = number.spread.how.word().to_owned();
            vec![name.to_owned(), text(number.told, units), limits.join(" to "), how]
        })
        .collect();
    page.table(&rows);
    if !scene.assumed.is_empty() {
        page.line("\nLeft open in the scene, and what was taken");
    }
    for assumed in &scene.assumed {
        page.line(format!("  {}: {}", assumed.path, assumed.taken));
    }
    page.line("\nWarnings");
    let mut warnings = world.warnings.clone();
    warnings.extend(diameter_told_twice(job, &world));
    warnings.extend(ends_early(&fall, low, high, units));
    if warnings.is_empty() {
        page.line("  none");
    }
    for warning in warnings {
        page.line(format!("  {warning}"));
    }
    page.line(format!("\n{}\n{}", stamp::NOT_COMPARED, stamp::PLANNING_AID));
    say(&page.0)
}

/// Measured diameters are used where there are some; the one at breast height should fit them.
fn diameter_told_twice(job: &Job, world: &World) -> Option<String> {
    let tree = &job.scene.tree;
    let (told_m, used_m) = (tree.dbh_m.told, world.stem.diameter_m(BREAST_M));
    let apart = (used_m / told_m - 1.0).abs();
    (!tree.diameters.is_empty() && apart > SAME_DIAMETER).then(|| {
        let units = job.scene.units;
        format!(
            "tree.dbh says {}, but between the measured diameters the stem is {} at breast \
             height: the measured ones are used",
            units.diameter(told_m),
            units.diameter(used_m)
        )
    })
}

/// Whether the known ground ends too soon down the fall line.
fn ends_early(fall: &[DVec2], low: DVec2, high: DVec2, units: Units) -> Option<String> {
    let (first, last) = (fall.first()?, fall.last()?);
    let run_m = first.distance(*last);
    let at_edge = (*last - low).min(high - *last).min_element() < 2.0 * FALL_STEP_M;
    (at_edge && run_m < ENOUGH_GROUND_M).then(|| {
        format!(
            "the known ground ends {} down the fall line: drops that get there are lost, and \
             count as unknown for what lies below",
            units.distance(run_m)
        )
    })
}

fn slopes(page: &mut Page, world: &World, fall: &[DVec2], units: Units) {
    let terrain = &world.site.terrain;
    let slope = |at: DVec2| match terrain.mean_gradient(at, BASELINE_M) {
        Some(g) => format!("{}°", decimals(libm::atan(g.length()).to_degrees(), 0)),
        None => "not known".to_owned(),
    };
    let mut line = format!("  slope under the tree {}", slope(DVec2::ZERO));
    for down_m in [10.0, 20.0, 40.0] {
        let steps = (down_m / FALL_STEP_M) as usize;
        if let Some(at) = fall.get(steps) {
            line += &format!(", {} below {}", units.distance(down_m), slope(*at));
        }
    }
    page.line(line);
    if let Some(g) = terrain.mean_gradient(DVec2::ZERO, BASELINE_M) {
        let toward = azimuth_rad(-g).to_degrees().rem_euclid(360.0);
        page.line(format!("  falls toward {}° at the stump", decimals(toward, 0)));
    }
}

fn target_words(body: &Body, fall: &[DVec2], units: Units) -> String {
    let from = |at: DVec2| tumblewood::site::distance_in_plan_m(body, at);
    let straight = units.distance(from(DVec2::ZERO));
    let nearest = fall
        .iter()
        .enumerate()
        .map(|(i, at)| (i as f64 * FALL_STEP_M, from(*at)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    match nearest {
        Some((along, off)) if off < 0.5 => {
            format!("{straight}, {} down the fall line", units.distance(along))
        }
        Some((along, off)) => format!(
            "{straight}, fall line passes {} from it after {}",
            units.distance(off),
            units.distance(along)
        ),
        None => straight,
    }
}

/// What holds a barrier log, by our reckoning.
fn hold_words(world: &World, id: &str, units: Units) -> String {
    let body = world.site.bodies.iter().find(|body| body.id == id);
    let Some(Answer::Held { hold, .. }) = body.map(|body| &body.answer) else {
        return String::new();
    };
    format!(
        "; taken to hold {} over {}, past which it is carried away (ours, drawn anew on each ground)",
        force(hold.force_n, units),
        length(hold.travel_m, units)
    )
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

fn line_words(line: &PullLine, units: Units) -> String {
    let far = match &line.anchor {
        Anchor::Tree { .. } => "a tree",
        Anchor::Stump { .. } => "a stump",
        Anchor::Vehicle { .. } => "a vehicle",
    };
    let redirects: Vec<&str> = line.redirects.iter().map(|r| r.id.as_str()).collect();
    let over = if redirects.is_empty() {
        String::new()
    } else {
        format!(" over {}", redirects.join(", "))
    };
    format!(
        "pulls the piece of {} from {} up{over} to {far}, with {} at most; its numbers: tumblewood \
         fell",
        line.cut,
        units.length(line.height_m.told),
        force(line.pull_n.told, units)
    )
}

fn tied_words(line: &TiedLine, units: Units) -> String {
    let over = match &line.block {
        Some(block) => format!("over a block on {}, brake on ", block.on.words()),
        None => "to ".to_owned(),
    };
    format!(
        "{} on the piece of {}, {} from its cut, {over}{}, {} longer than straight; {}; its \
         numbers: tumblewood fell",
        line.kind.words(),
        line.cut,
        units.length(line.from_cut_m.told),
        line.hitch.words(),
        units.length(line.slack_m.told),
        line.rope
    )
}

fn cut(page: &mut Page, world: &World, index: usize, units: Units) -> Result<(), Failure> {
    let ready = world.cut(index)?;
    let piece = &ready.section.piece;
    page.line(format!(
        "  {}: {} from {} up, {}, centre {} above the cut",
        ready.id,
        units.length(piece.length_m()),
        units.length(ready.from_height_m),
        units.mass(piece.mass_kg),
        units.length(ready.section.centre_m.z)
    ));
    if let Some(cut) = world.scene.cuts.get(index) {
        page.line(format!("      {}", release_words(&cut.release, units)));
    }
    if let Err(error) = check_order(&world.scene, index) {
        page.line(format!("      ! {error}"));
    }
    let balance = describe(&ready.stand(), &ready.method);
    let by = if world.lines_of(&ready.id).next().is_some() { "push and line" } else { "push" };
    limbs::of_cut(page, world, &ready, &balance, units);
    let moment = |n_m: f64| units.moment(n_m);
    page.line(format!(
        "      weight turns it with {}, {by} {}, wind {}; the wood holds {} ({} to {}): {}",
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
    ));
    if let (Some(strap_m), Method::BoredHinge(hinge)) = (strap_m(world, index), &ready.method) {
        let strap = strap_moment_n_m(hinge, ready.stand().cut_radius_m, strap_m);
        let turns = balance.weight_moment_n_m + balance.wind_moment_n_m - balance.hinge_moment_n_m;
        page.line(format!(
            "      the strap, sound and straight-grained, would hold {} against {} that turns the piece{};",
            moment(strap),
            moment(turns.max(0.0)),
            if turns < strap { "" } else { ": NOT ENOUGH" }
        ));
        page.line("      rot, a fork or a crooked grain holds less");
    }
    Ok(())
}

fn strap_m(world: &World, index: usize) -> Option<f64> {
    match world.scene.cuts.get(index)?.release {
        ReleaseSpec::BoredHinge { strap_m, .. } => Some(strap_m.told),
        _ => None,
    }
}

/// A value in SI as a reader of these units sees it.
type InWords = fn(f64, Units) -> String;

/// An input's path without its unit, and how its values read.
fn in_units(path: &str) -> (&str, InWords) {
    let kinds: [(&str, InWords); 6] = [
        ("_m_s", speed),
        ("_rad", angle),
        ("_share", share),
        ("_n", force),
        ("_kg", mass),
        ("_m", length),
    ];
    kinds
        .into_iter()
        .find_map(|(ending, text)| Some((path.strip_suffix(ending)?, text)))
        .unwrap_or((path, |x, _| decimals(x, 3)))
}
