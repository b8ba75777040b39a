//! The forecast as plain data, in the shape of its JSON (assets/forecast.schema.json).

use serde::Serialize;

use crate::felling::TreeState;

/// A forecast of one scene.
#[derive(Clone, Debug, Serialize)]
pub struct Forecast {
    /// Version of this layout.
    pub version: u32,
    /// The scene's name.
    pub scene: String,
    /// SHA-256 of the scene as read, hex.
    pub scene_hash: String,
    /// Which ground law made every number: `soil N` or `rigid N`.
    pub law: String,
    /// Seed of all draws.
    pub seed: u64,
    /// Drops asked for per cut, on the ground as told.
    pub drops: u32,
    /// Confidence of `low` and `high`.
    pub confidence: f64,
    /// The whole job with one shared ground.
    pub job: Job,
    /// Each cut.
    pub cuts: Vec<CutForecast>,
    /// True when the run was interrupted and counts are partial.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub partial: bool,
}

/// The whole job.
#[derive(Clone, Debug, Serialize)]
pub struct Job {
    /// Per target, the share of shared-ground jobs in which any cut reached it, by its piece or by
    /// what that set going.
    pub targets: Vec<JobTarget>,
    /// Where all cuts were run, the tree as told before the first and after each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub states: Vec<TreeState>,
}

/// A share with its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Least and greatest of shares; of none, all that a share may be.
    pub fn of(shares: impl Iterator<Item = f64>) -> Self {
        let (low, high) =
            shares.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s), h.max(s)));
        if low <= high { Self { low, high } } else { Self { low: 0.0, high: 1.0 } }
    }
}

impl CutForecast {
    /// All its drops on the ground as told, those that sat back among them.
    #[must_use]
    pub fn drops(&self) -> u32 {
        let m = &self.modes;
        self.sat_back + m.stayed + m.slid + m.rolled + m.tumbled
    }
}

/// One target over the whole job.
#[derive(Clone, Debug, Serialize)]
pub struct JobTarget {
    /// Target id.
    pub id: String,
    /// Share of jobs in which any cut reached, by its piece or by what that set going.
    pub share: f64,
    /// Lower Clopper–Pearson bound.
    pub low: f64,
    /// Upper Clopper–Pearson bound.
    pub high: f64,
    /// Least and greatest share among the grounds.
    pub over_grounds: Interval,
    /// Jobs as told in which any cut reached it.
    pub reached: u32,
    /// Of the others, those in which a drop was lost before it could be told.
    pub unknown: u32,
    /// Jobs as told.
    pub jobs: u32,
    /// Jobs on drawn grounds in which any cut reached it.
    pub drawn_reached: u32,
    /// Jobs on drawn grounds.
    pub drawn_jobs: u32,
}

/// The piece of a cut.
#[derive(Clone, Debug, Serialize)]
pub struct PieceSummary {
    /// Length, m.
    pub length_m: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Diameter at the butt, m.
    pub butt_diameter_m: f64,
    /// Diameter at the top, m.
    pub top_diameter_m: f64,
    /// Height of its butt over the stump, m.
    pub from_height_m: f64,
}

/// Counts by mode.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Modes {
    /// Stayed.
    pub stayed: u32,
    /// Slid.
    pub slid: u32,
    /// Rolled.
    pub rolled: u32,
    /// Tumbled, end over end.
    pub tumbled: u32,
}

/// Mean shares of the path.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Parts {
    /// Slid.
    pub slid: f64,
    /// Rolled.
    pub rolled: f64,
    /// Tumbled.
    pub tumbled: f64,
}

/// Drops that did not come to rest on known ground in time.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Unfinished {
    /// Left the known terrain.
    pub left_terrain: u32,
    /// Time ran out.
    pub out_of_time: u32,
}

/// What resting pieces rest on.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct RestsOnCounts {
    /// The ground alone.
    pub ground: u32,
    /// A structure.
    pub structure: u32,
    /// A tree.
    pub tree: u32,
    /// A line.
    pub line: u32,
}

/// Percentiles of a distance; null where unfinished drops touch them.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Percentiles {
    /// Median.
    pub p50: Option<f64>,
    /// 90th percentile.
    pub p90: Option<f64>,
    /// Greatest.
    pub max: Option<f64>,
}

/// Percentiles with the 10th.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct Percentiles4 {
    /// 10th percentile.
    pub p10: Option<f64>,
    /// Median.
    pub p50: Option<f64>,
    /// 90th percentile.
    pub p90: Option<f64>,
    /// Greatest.
    pub max: Option<f64>,
}

/// Counts of hold.
#[derive(Clone, Copy, Debug, Default, Serialize)]
pub struct HoldCounts {
    /// Firm.
    pub firm: u32,
    /// Marginal.
    pub marginal: u32,
    /// Held by something solid alone.
    pub by_aid_only: u32,
}

/// One target of one cut.
#[derive(Clone, Debug, Serialize)]
pub struct TargetForecast {
    /// Target id.
    pub id: String,
    /// Drops that touched it.
    pub reached: u32,
    /// Drops lost before it could be told.
    pub unknown: u32,
    /// reached / drops.
    pub share: f64,
    /// Lower Clopper–Pearson bound of reached.
    pub low: f64,
    /// Upper Clopper–Pearson bound of reached + unknown.
    pub high: f64,
    /// Least and greatest share over the grounds.
    pub over_grounds: Interval,
    /// Energy at touch, J; null when nothing reached or the target is a person.
    pub energy_j: Option<Percentiles>,
    /// Least gap over drops that did not reach, m.
    pub nearest_miss_m: Option<f64>,
    /// What the hardest of those touches may do to a tree that stays.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub harm: Option<&'static str>,
}

/// One ground of the outer doubt.
#[derive(Clone, Debug, Serialize)]
pub struct GroundRow {
    /// Index of the outer draw.
    pub id: u32,
    /// What was drawn: input path and value in SI.
    pub inputs: std::collections::BTreeMap<String, f64>,
    /// Words that were drawn where none was told, by input path.
    #[serde(skip_serializing_if = "std::collections::BTreeMap::is_empty")]
    pub words: std::collections::BTreeMap<String, String>,
    /// What had to be assumed on this ground for the cut.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// Drops on this ground.
    pub drops: u32,
    /// Drops in which the piece did not leave the spar.
    pub sat_back: u32,
    /// Counts by mode; sat_back + modes = drops.
    pub modes: Modes,
    /// How firmly resting pieces rest.
    pub hold: HoldCounts,
    /// Greatest level distance from the stump of a first touch or an end, m.
    pub farthest_m: f64,
    /// Per target.
    pub targets: Vec<GroundTarget>,
}

/// One target on one ground.
#[derive(Clone, Debug, Serialize)]
pub struct GroundTarget {
    /// Target id.
    pub id: String,
    /// Drops that touched it.
    pub reached: u32,
    /// Drops lost before it could be told.
    pub unknown: u32,
}

/// How far one input moves one answer.
#[derive(Clone, Debug, Serialize)]
pub struct HangsOn {
    /// Input path.
    pub input: String,
    /// Target id.
    pub target: String,
    /// Share where the input is low.
    pub share_low: f64,
    /// Share where the input is high.
    pub share_high: f64,
}

/// What a cut does with something that lies loose: a log that isn't held, a piece already down.
#[derive(Clone, Debug, Serialize)]
pub struct LooseForecast {
    /// Its id; of a piece already down, that of its cut.
    pub id: String,
    /// It is held, and told of because what holds it was overcome.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub held: bool,
    /// Drops in which it lay there; of the others the piece before had not come to rest on known
    /// ground, or not left.
    pub there: u32,
    /// Drops that set it going.
    pub set_going: u32,
    /// Of those, drops in which it did not come to rest.
    pub unfinished: Unfinished,
    /// How far it was moved in those, m, as far as it was followed.
    pub moved_m: Percentiles,
    /// What it reached, apart from what the piece itself did; shares are of all drops.
    pub targets: Vec<TargetForecast>,
}

/// One cut.
#[derive(Clone, Debug, Serialize)]
pub struct CutForecast {
    /// Cut id.
    pub id: String,
    /// The piece.
    pub piece: PieceSummary,
    /// Drops in which the piece did not leave the spar.
    pub sat_back: u32,
    /// Share of drops in which a hinge in hollow wood is let break early.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lets_go_early: Option<f64>,
    /// Counts by mode; sat_back + modes = drops.
    pub modes: Modes,
    /// Mean shares of the path.
    pub parts: Parts,
    /// Drops that did not come to rest.
    pub unfinished: Unfinished,
    /// What resting pieces rest on.
    pub rests_on: RestsOnCounts,
    /// Rollout, m; null where unfinished drops touch the percentile.
    pub rollout_m: Percentiles4,
    /// Rollout with unfinished drops counted at the distance they had, m.
    pub rollout_at_least_m: Percentiles4,
    /// Turns end over end.
    pub turns: Percentiles,
    /// Height over ground after first touch, m.
    pub height_over_ground_m: Percentiles,
    /// How firmly resting pieces rest.
    pub hold: HoldCounts,
    /// Per target.
    pub targets: Vec<TargetForecast>,
    /// What lies loose, and what it reached when set going.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub loose: Vec<LooseForecast>,
    /// Per outer draw.
    pub grounds: Vec<GroundRow>,
    /// What the answer hangs on, most first.
    pub hangs_on: Vec<HangsOn>,
    /// How far soil could be thrown, over all drops as told and on drawn grounds; nothing where
    /// none was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thrown: Option<ThrownForecast>,
    /// What a mill would have of it, where the scene asks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub log: Option<LogForecast>,
    /// What the lines that hold it bear.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lines: Vec<LineForecast>,
}

/// What a line that holds a piece bears.
#[derive(Clone, Debug, Serialize)]
pub struct LineForecast {
    /// Line id.
    pub id: String,
    /// What the trade calls it.
    pub kind: &'static str,
    /// The rope's name.
    pub rope: String,
    /// The most it is to be loaded with, N.
    pub working_load_n: f64,
    /// Tension at which rope or knot breaks, N.
    pub breaks_n: f64,
    /// Drops in which it came tight; the numbers below are of them.
    pub tight: u32,
    /// Greatest tension, N.
    pub peak_n: Percentiles,
    /// Drops in which that was above the working load.
    pub above_working: u32,
    /// Drops in which it broke.
    pub broken: u32,
    /// The same over the grounds.
    pub over_grounds: LineOverGrounds,
    /// How much ran out of hands, m, where hands hold it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ran_m: Option<Percentiles>,
    /// How far from its hitch or block, on the map, the piece came while on it, m.
    pub swing_m: Percentiles,
    /// What hung on the block at the most, N, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block_n: Option<Percentiles>,
    /// Drops in which that was above what the block is to be loaded with, where that is told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub block_above: Option<u32>,
    /// What the spar bears, where the line hangs on it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spar: Option<SparForecast>,
}

/// Least and greatest over the grounds of a line.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct LineOverGrounds {
    /// Share of drops above the working load.
    pub above_working: Interval,
    /// Share of drops in which it broke.
    pub broken: Interval,
    /// Greatest tension of all, N.
    pub peak_n: f64,
}

/// What a spar bears of the lines on it.
#[derive(Clone, Debug, Serialize)]
pub struct SparForecast {
    /// Greatest bending moment over what clear green wood bears, at the weakest section.
    pub strength_share: Percentiles,
    /// Drops past that: by this reckoning it breaks.
    pub breaks: u32,
    /// Drops under it by less than what single stems differ by: it may break.
    pub may_break: u32,
}

/// Outer bounds for clods thrown from where a piece digs in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ThrownForecast {
    /// The most that one touch dug, m³.
    pub dug_m3: f64,
    /// Greatest outer radius from where it dug, down the slope there, seen from above, m.
    pub radius_m: f64,
    /// People, and structures with windows.
    pub targets: Vec<ThrownTarget>,
}

/// One target of clods.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ThrownTarget {
    /// Target id.
    pub id: String,
    /// How far short of it the outermost clods end, m; negative where it lies within; null where
    /// none can come so high.
    pub short_m: Option<f64>,
}

/// What a mill would have of a piece, and what landings do to it.
#[derive(Clone, Debug, Serialize)]
pub struct LogForecast {
    /// The logs to be cut from it if it stays whole, butt first.
    pub whole: Vec<MillLog>,
    /// Drops that left the spar.
    pub drops: u32,
    /// Greatest bending stress by the ground over the modulus of rupture of green wood.
    pub strength_share: Percentiles,
    /// Drops whose stress passes that modulus: by this reckoning it breaks.
    pub breaks: u32,
    /// Drops under it by less than what single stems differ by: it may break.
    pub may_break: u32,
    /// Where it breaks in half of those that do, from the butt, m.
    pub breaks_at_m: Option<f64>,
    /// Drops that struck something solid hard, which the stress does not know.
    pub struck_solid: u32,
    /// What is left for the mill, most drops first.
    pub left: Vec<MillLeft>,
}

/// One log for a mill.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MillLog {
    /// Its large end, from the butt of the piece, m.
    pub from_butt_m: f64,
    /// The mill's length, m.
    pub length_m: f64,
    /// Diameter of the small end inside bark, m.
    pub small_end_m: f64,
    /// Volume inside bark by Smalian's rule, m³.
    pub volume_m3: f64,
    /// Board feet by Doyle's rule.
    pub doyle_bd_ft: f64,
    /// Board feet by Scribner's formula.
    pub scribner_bd_ft: f64,
    /// Board feet by the International ¼-inch rule.
    pub international_bd_ft: f64,
}

/// Lengths left for a mill, and in how many drops.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MillLeft {
    /// The mill's lengths, longest first, m.
    pub lengths_m: Vec<f64>,
    /// Drops.
    pub drops: u32,
}
