//! The brief: what a crew is handed before the first cut, as one page for a phone and as paper.
//!
//! [`sheet`] says everything once, as sections of lines with notes that trace each number to a
//! formula, a count or a quoted source; [`html`] and [`pages`] lay the same sheet out. Ranges over
//! the grounds come first, counts as told second, counting noise never alone. Of people it says
//! "struck" and nothing else.

use std::collections::BTreeMap;

use crate::{
    forecast::{
        Run,
        result::{GroundRow, Interval},
    },
    job::CutReady,
    report::{Stamp, stamp},
    scene::model::Scene,
};

mod beside;
mod cuts;
mod distances;
mod felling;
mod html;
mod pages;
mod pdf;
mod plan_key;
mod pulled;
mod sheet;
mod site;
mod stamped;

pub use felling::Turning;
pub use html::html;
pub use pages::{Paper, pages};
pub use pdf::{PdfError, pdf};
pub use sheet::{Block, Line, Section, Sources, Stretch};
pub use stamped::{Stamped, read_stamp};

/// What a brief is made of.
#[derive(Clone, Copy, Debug)]
pub struct Brief<'a> {
    /// The scene as told.
    pub scene: &'a Scene,
    /// Where its numbers come from.
    pub stamp: &'a Stamp,
    /// The forecast of all its cuts and the drops as told.
    pub run: &'a Run,
    /// The cuts as told, in the order of the forecast's.
    pub ready: &'a [CutReady],
    /// What turns each of them and what holds it, in the same order.
    pub turning: &'a [Turning],
    /// What the plan shows of the drops, in words.
    pub plan_words: &'a str,
    /// What takes an azimuth of the scene to one of the map, rad.
    pub turn_rad: f64,
}

/// A brief in words, not yet laid out.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// The scene's hash, the law, the seed and the date.
    pub stamp: Stamp,
    /// What the plan shows of the drops.
    pub plan_words: String,
    /// The sections in the order they are read.
    pub sections: Vec<Section>,
    /// Where each number comes from.
    pub sources: Sources,
}

/// Writes the brief's sections and the notes to their numbers.
#[must_use]
pub fn sheet(brief: &Brief<'_>) -> Sheet {
    let mut sources = Sources::default();
    let mut sections = vec![
        cuts::section(brief, &mut sources),
        distances::section(brief, &mut sources),
        site::stop(brief, &mut sources),
        site::roles(),
        cuts::lying(brief, &mut sources),
        felling::section(brief, &mut sources),
    ];
    sections.extend(pulled::section(brief, &mut sources));
    sections.extend([site::changes(brief, &mut sources), site::cautions(brief)]);
    let invented = if brief.scene.invented { " (invented)" } else { "" };
    Sheet {
        title: format!("{}{invented}", brief.scene.name),
        stamp: brief.stamp.clone(),
        plan_words: brief.plan_words.to_owned(),
        sections,
        sources,
    }
}

impl Sheet {
    /// What stands under the title: first the caution, then where the brief comes from.
    #[must_use]
    pub fn under_title(&self) -> [String; 2] {
        let stamp = &self.stamp;
        [
            format!("{} {}", stamp::NOT_COMPARED, stamp::PLANNING_AID),
            format!(
                "Made {} from scene {} by law {}, seed {}. Not for this job any more once the \
                 scene has changed: tumblewood brief --check tells.",
                stamp.date,
                short(&stamp.scene_hash),
                stamp.law,
                stamp.seed
            ),
        ]
    }
}

/// The start of a hash, as much as is read out or compared by eye.
fn short(hash: &str) -> String {
    hash.chars().take(12).collect()
}

/// Least and greatest share of something among the grounds.
fn over_grounds(grounds: &[GroundRow], count: impl Fn(&GroundRow) -> u32) -> Interval {
    let grounds = grounds.iter().filter(|g| g.drops > 0);
    Interval::of(grounds.map(|g| f64::from(count(g)) / f64::from(g.drops)))
}

/// "0 to 13 in 100", "about 7 in 100", "none" or "all".
fn range_words(range: Interval) -> String {
    use crate::report::words::in_hundred;
    let (low, high) = (in_hundred(range.low), in_hundred(range.high));
    if range.high <= 0.0 {
        "none".to_owned()
    } else if range.low >= 1.0 {
        "all".to_owned()
    } else if low == high {
        format!("about {high} in 100")
    } else {
        format!("{low} to {high} in 100")
    }
}

/// Cuts by the azimuth they are meant to fall toward, whole degrees of the scene's north: what
/// arrows on the plan are called.
#[must_use]
pub fn arrows(scene: &Scene) -> Vec<(f64, String)> {
    let mut by_azimuth: BTreeMap<i64, Vec<&str>> = BTreeMap::new();
    for cut in &scene.cuts {
        let degrees = cut.release.toward_rad().told.to_degrees().rem_euclid(360.0).round();
        by_azimuth.entry(degrees as i64).or_default().push(&cut.id);
    }
    by_azimuth
        .into_iter()
        .map(|(degrees, ids)| ((degrees as f64).to_radians(), ids.join(", ")))
        .collect()
}

#[cfg(test)]
mod tests;
