//! Felling numbers: what stands above a cut after those before it, what its hinge holds, what pull
//! brings it over, and what of line, anchors, vehicle and wedge gives that pull.
//!
//! One cut released over a hinge, before it is made. Every number is worked out with the scene as
//! told and again under draws of all that is in doubt (the scene's own numbers as in a forecast; the
//! wood's strength, the hinge's moment between first yield and its upper bound, friction of blocks
//! and tyres); its low and high are the least and greatest among them. Each comes with its formula,
//! source and standing, what is taken for granted, and where the case is outside (see [`Rule`]).
//!
//! | file | what |
//! |---|---|
//! | [`hinge`] | what a hinge of wood holds fore and to the side; sizes of practice |
//! | [`decay`] | what a hollow takes |
//! | [`statics`] | the pull from first tension to past balance |
//! | [`traction`] | what a vehicle gives |
//! | [`wedge`] | what a wedge lifts |
//! | `state` | the tree after each cut, orders that can't be |
//! | `hinged` | a cut that turns on a hinge, in one truth |
//! | `numbers`, `strength`, `pulled` | all numbers of it: the stem and wedges, hinge and decay, pull and line |
//! | `tied` | lines that hold the piece in its drop, by closed forms |
//! | [`rules`] | formula, source, standing and assumption of each number |
//!
//! Blocks, slings and ropes are in [`crate::line`] and [`crate::rope`]. The release without a line
//! is that of [`crate::release`], which the forecast uses. Symbols: W weight (N), h and l distance of
//! centre and knot from the hinge (m), λ lean away from the pull and β the rope's angle below level
//! (rad), w, c, t width, rotten width and thickness of the hinge (m), M moments (N m), T tensions
//! (N), μ friction, φ angle of wrap (rad), σ slope (rad).
//!
//! Left out: everything that moves (inertia, jerks, rocking, shock, but for a fall straight into a
//! line that holds the piece), a pulled rope's stretch, roots and
//! stumps that give, twisting of the hinge, a hinge cut crooked, reaction wood.
//!
//! Known answers: `val_felling.rs` and `verif_felling.rs` of the acceptance tests.

pub mod decay;
mod draw;
pub mod hinge;
mod hinged;
pub mod laid;
mod numbers;
mod page;
mod pulled;
pub mod result;
pub mod rules;
mod state;
pub mod statics;
mod strength;
mod tied;
pub mod traction;
pub mod wedge;

use std::collections::BTreeMap;

use crate::{
    job::{CutReady, Job, JobError, Outer, World},
    scene::model::ReleaseSpec,
    wood,
};

use draw::Draw;
use hinged::Hinged;
use numbers::{Numbers, numbers};

pub use numbers::ATTACH_SHARE;
use page::{Found, Page};

pub use result::{
    Curve, Felling, Figure, Group, Measure, Sized, Standing, TreeState, VERSION, WithoutLine,
};
pub use rules::Rule;
pub use state::{check_order, tree_states};

/// Draws of all that is in doubt.
pub const DRAWS: u32 = 64;
/// Angles of a curve.
const ANGLES: u32 = 61;
/// A curve goes on past balance for this much, rad.
const PAST_RAD: f64 = 3.0 * DEG;
/// Least and greatest reach of a curve, rad.
const REACH_RAD: [f64; 2] = [5.0 * DEG, 60.0 * DEG];
const DEG: f64 = std::f64::consts::PI / 180.0;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// Index of the cut.
    pub cut: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// How many.
    pub draws: u32,
}

/// Why there are no numbers.
#[derive(Debug, thiserror::Error)]
pub enum FellError {
    /// Something in the scene.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The cut turns on no hinge.
    #[error(
        "the cut {0} is released by {1}: it turns on no hinge that a line could pull over, and no line \
         holds its piece"
    )]
    NoHinge(String, &'static str),
}

/// The numbers of a cut.
///
/// # Errors
/// A cut that isn't possible after those before it, or that turns on no hinge.
pub fn fell(job: &Job, question: &Question) -> Result<Felling, FellError> {
    let scene = &job.scene;
    state::check_order(scene, question.cut)?;
    let species = wood::species(&scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
    let world = job.world(Outer::Told)?;
    let Some(cut) = Hinged::of(&world, species, question.cut, Draw::TOLD)? else {
        return unhinged(job, question, &world);
    };
    let of = |world: &World, cut: &Hinged<'_>, draw: Draw| -> Result<Numbers, JobError> {
        let mut found = numbers(cut, draw)?;
        let mut page = Page { figures: std::mem::take(&mut found.figures), group: Group::Tied };
        tied::tied_figures(&mut page, world, &cut.ready, draw);
        found.figures = page.figures;
        Ok(found)
    };
    let told = of(&world, &cut, Draw::TOLD)?;
    let drawn = (0..question.draws)
        .map(|index| {
            let index = u64::from(index);
            let world = job.world(Outer::Drawn { seed: question.seed, index })?;
            let draw = Draw::at(question.seed, index);
            let Some(cut) = Hinged::of(&world, species, question.cut, draw)? else {
                return Err(no_hinge(job, question.cut));
            };
            Ok(of(&world, &cut, draw)?)
        })
        .collect::<Result<Vec<Numbers>, FellError>>()?;

    let states = state::states(
        &world,
        question.cut,
        cut.ready.from_height_m,
        told.still.pivot_m,
        told.still.forward(),
    )?;
    // What else the world warns of is about drops.
    let mut warnings = world.site.terrain.warnings.clone();
    warnings.extend(cut.ready.warnings.iter().cloned());
    warnings.extend(told.warnings.iter().cloned());
    if told.pulled.len() > 1 {
        warnings.push("each pull line is worked out as if it pulled alone".to_owned());
    }
    Ok(Felling {
        version: VERSION,
        scene: scene.name.clone(),
        scene_hash: scene.hash.clone(),
        seed: question.seed,
        cut: cut.ready.id.clone(),
        from_m: cut.ready.from_height_m,
        diameter_m: world.stem.diameter_m(cut.ready.from_height_m),
        face_rad: cut.face.toward_rad.told,
        states,
        sizes: cut.sizes(),
        figures: figures(&told.figures, &drawn.iter().map(|n| &n.figures[..]).collect::<Vec<_>>()),
        draws: question.draws,
        without_line: Some(WithoutLine {
            missing_n_m: told.missing_n_m,
            sits_back: drawn.iter().filter(|n| n.missing_n_m.is_some()).count() as u32,
            draws: question.draws,
        }),
        curves: curves(&told, &drawn),
        warnings,
    })
}

/// The numbers of a cut by their keys: with everything as told, then in each draw.
///
/// # Errors
/// As [`fell`].
pub fn draws(job: &Job, question: &Question) -> Result<Vec<BTreeMap<String, f64>>, FellError> {
    let scene = &job.scene;
    state::check_order(scene, question.cut)?;
    let species = wood::species(&scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
    let seed = question.seed;
    let told = (Outer::Told, Draw::TOLD);
    let drawn = (0..question.draws).map(|index| {
        let index = u64::from(index);
        (Outer::Drawn { seed, index }, Draw::at(seed, index))
    });
    std::iter::once(told)
        .chain(drawn)
        .map(|(outer, draw)| {
            let world = job.world(outer)?;
            let Some(cut) = Hinged::of(&world, species, question.cut, draw)? else {
                return Err(no_hinge(job, question.cut));
            };
            let found = numbers(&cut, draw)?.figures;
            Ok(found.into_iter().map(|found| (found.key, found.value)).collect())
        })
        .collect()
}

/// The numbers of the lines that hold a piece which turns on no hinge.
fn unhinged(job: &Job, question: &Question, world: &World) -> Result<Felling, FellError> {
    let of = |world: &World, draw: Draw| -> Result<(CutReady, Vec<Found>), JobError> {
        let ready = world.cut(question.cut)?;
        let mut page = Page { figures: Vec::new(), group: Group::Tied };
        tied::tied_figures(&mut page, world, &ready, draw);
        Ok((ready, page.figures))
    };
    let (ready, told) = of(world, Draw::TOLD)?;
    if told.is_empty() {
        return Err(no_hinge(job, question.cut));
    }
    let drawn = (0..question.draws)
        .map(|index| {
            let index = u64::from(index);
            let world = job.world(Outer::Drawn { seed: question.seed, index })?;
            Ok(of(&world, Draw::at(question.seed, index))?.1)
        })
        .collect::<Result<Vec<Vec<Found>>, JobError>>()?;
    let drawn: Vec<&[Found]> = drawn.iter().map(Vec::as_slice).collect();
    let cut = job.scene.cuts.get(question.cut);
    let mut warnings = world.site.terrain.warnings.clone();
    warnings.extend(ready.warnings.iter().cloned());
    Ok(Felling {
        version: VERSION,
        scene: job.scene.name.clone(),
        scene_hash: job.scene.hash.clone(),
        seed: question.seed,
        cut: ready.id.clone(),
        from_m: ready.from_height_m,
        diameter_m: 2.0 * ready.stand().cut_radius_m,
        draws: question.draws,
        face_rad: cut.map_or(0.0, |cut| cut.release.toward_rad().told),
        states: Vec::new(),
        sizes: Vec::new(),
        figures: figures(&told, &drawn),
        without_line: None,
        curves: Vec::new(),
        warnings,
    })
}

fn no_hinge(job: &Job, cut: usize) -> FellError {
    let cut = job.scene.cuts.get(cut);
    let id = cut.map_or_else(String::new, |cut| cut.id.clone());
    let how = match cut.map(|cut| cut.release) {
        Some(ReleaseSpec::Snap { .. }) => "a snap cut",
        Some(ReleaseSpec::PushOver { .. }) => "a flat cut and a push",
        _ => "something else",
    };
    FellError::NoHinge(id, how)
}

/// Numbers as told with the least and greatest of the draws.
fn figures(told: &[Found], drawn: &[&[Found]]) -> Vec<Figure> {
    let mut limits: BTreeMap<&str, [f64; 2]> = BTreeMap::new();
    for found in drawn.iter().copied().flatten().chain(told) {
        let [low, high] = limits.entry(&found.key).or_insert([found.value; 2]);
        *low = low.min(found.value);
        *high = high.max(found.value);
    }
    told.iter()
        .map(|found| {
            let [low, high] = limits.get(&found.key[..]).copied().unwrap_or([found.value; 2]);
            let mut outside = found.outside.clone();
            if let Some(limit) = &found.limit {
                let is_past = |x: f64| !(limit.least..=limit.most).contains(&x);
                if is_past(found.value) {
                    outside.push(limit.words.clone());
                } else if is_past(low) || is_past(high) {
                    outside.push(format!("within your doubts: {}", limit.words));
                }
            }
            Figure {
                key: found.key.clone(),
                group: found.group,
                label: found.label.clone(),
                measure: found.measure,
                low,
                told: found.value,
                high,
                rule: found.rule,
                outside,
            }
        })
        .collect()
}

fn curves(told: &Numbers, drawn: &[Numbers]) -> Vec<Curve> {
    let in_gust = |n: &Numbers| n.still.in_wind(n.gust_n);
    let [least, most] = REACH_RAD;
    let balance = [told.still, in_gust(told)]
        .iter()
        .map(|above| above.balance_rad(most).unwrap_or(most))
        .fold(0.0, f64::max);
    let reach_rad = (balance + PAST_RAD).clamp(least, most);
    let turn_rad: Vec<f64> =
        (0..ANGLES).map(|i| reach_rad * f64::from(i) / f64::from(ANGLES - 1)).collect();
    told.pulled
        .iter()
        .enumerate()
        .map(|(i, pulled)| {
            let along = |n: &Numbers, gust: bool| -> Vec<Option<f64>> {
                let above = if gust { in_gust(n) } else { n.still };
                let rope = n.pulled.get(i).map(|pulled| pulled.rope);
                turn_rad.iter().map(|turn| above.pull_n(&rope?, *turn)).collect()
            };
            let (still_n, gust_n) = (along(told, false), along(told, true));
            let mut low_n: Vec<f64> = still_n.iter().map(|n| n.unwrap_or(0.0)).collect();
            let mut high_n: Vec<f64> = gust_n.iter().map(|n| n.unwrap_or(0.0)).collect();
            for n in drawn {
                for (low, pull) in low_n.iter_mut().zip(along(n, false)) {
                    *low = pull.map_or(*low, |pull| low.min(pull));
                }
                for (high, pull) in high_n.iter_mut().zip(along(n, true)) {
                    *high = pull.map_or(*high, |pull| high.max(pull));
                }
            }
            Curve {
                line: pulled.line.clone(),
                turn_rad: turn_rad.clone(),
                still_n,
                gust_n,
                low_n,
                high_n,
                working_load_n: pulled.working_load_n,
                told_pull_n: pulled.told_pull_n,
                vehicle_n: pulled.vehicle_n,
            }
        })
        .collect()
}
