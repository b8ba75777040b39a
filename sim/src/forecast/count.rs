//! Outcomes counted: modes, parts, percentiles, targets.

use crate::{
    drop::{Ending, Hold, RestsOn},
    forecast::{
        interval,
        result::{
            HoldCounts, Interval, Modes, Parts, Percentiles, Percentiles4, RestsOnCounts,
            TargetForecast, Unfinished,
        },
    },
    outcome::{Mode, Outcome, Reach},
};

/// Counts by mode.
#[must_use]
pub fn modes<'a>(outcomes: impl Iterator<Item = &'a Outcome>) -> Modes {
    let mut counts = Modes::default();
    for outcome in outcomes {
        *match outcome.mode {
            Mode::Stayed => &mut counts.stayed,
            Mode::Slid => &mut counts.slid,
            Mode::Rolled => &mut counts.rolled,
            Mode::Tumbled => &mut counts.tumbled,
        } += 1;
    }
    counts
}

/// Mean shares of the path; all 0 without drops.
#[must_use]
pub fn parts(outcomes: &[&Outcome]) -> Parts {
    let n = outcomes.len().max(1) as f64;
    // A sum of nothing is −0, which would be printed.
    let mean = |k: usize| (outcomes.iter().map(|o| o.parts[k]).sum::<f64>() + 0.0) / n;
    Parts { slid: mean(0), rolled: mean(1), tumbled: mean(2) }
}

/// Drops that did not come to rest.
#[must_use]
pub fn unfinished(outcomes: &[&Outcome]) -> Unfinished {
    let count = |ending| outcomes.iter().filter(|o| o.ending == ending).count() as u32;
    Unfinished { left_terrain: count(Ending::LeftTerrain), out_of_time: count(Ending::OutOfTime) }
}

/// What resting pieces rest on.
#[must_use]
pub fn rests_on(outcomes: &[&Outcome]) -> RestsOnCounts {
    let count = |what| outcomes.iter().filter(|o| o.rests_on == Some(what)).count() as u32;
    RestsOnCounts {
        ground: count(RestsOn::Ground),
        structure: count(RestsOn::Structure),
        tree: count(RestsOn::Tree),
        line: count(RestsOn::Line),
    }
}

/// How firmly resting pieces rest.
#[must_use]
pub fn hold(outcomes: &[&Outcome]) -> HoldCounts {
    let count = |what| outcomes.iter().filter(|o| o.hold == Some(what)).count() as u32;
    HoldCounts {
        firm: count(Hold::Firm),
        marginal: count(Hold::Marginal),
        by_aid_only: count(Hold::ByAidOnly),
    }
}

/// Rollout, null where an unfinished drop could change it, and rollout with unfinished drops at
/// the distance they had.
#[must_use]
pub fn rollout(outcomes: &[&Outcome]) -> (Percentiles4, Percentiles4) {
    let at_least: Vec<f64> = outcomes.iter().map(|o| o.rollout_m).collect();
    let at_most: Vec<f64> = outcomes
        .iter()
        .map(|o| if o.ending == Ending::Rest { o.rollout_m } else { f64::INFINITY })
        .collect();
    let (least, most) = (sorted(at_least), sorted(at_most));
    let known = |p| match (rank(&least, p), rank(&most, p)) {
        (Some(a), Some(b)) if a == b => Some(a),
        _ => None,
    };
    let four = |f: &dyn Fn(f64) -> Option<f64>| Percentiles4 {
        p10: f(0.1),
        p50: f(0.5),
        p90: f(0.9),
        max: f(1.0),
    };
    (four(&known), four(&|p| rank(&least, p)))
}

/// Median, 90th percentile and greatest of finite values.
#[must_use]
pub fn percentiles(values: Vec<f64>) -> Percentiles {
    let values = sorted(values.into_iter().filter(|v| v.is_finite()).collect());
    Percentiles { p50: rank(&values, 0.5), p90: rank(&values, 0.9), max: rank(&values, 1.0) }
}

fn sorted(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

/// The value that at least a share `p` of the sorted values do not exceed (nearest rank).
fn rank(values: &[f64], p: f64) -> Option<f64> {
    let index = ((p * values.len() as f64).ceil() as usize).saturating_sub(1);
    values.get(index).copied()
}

/// Greatest level distance from the stump of a first touch or an end, m; 0 without drops.
#[must_use]
pub fn farthest_m(outcomes: &[&Outcome]) -> f64 {
    let places = |o: &Outcome| [Some(o.end_m), o.first_touch.map(|t| t.point_m)];
    let far = |o: &&Outcome| places(o).into_iter().flatten().map(|p| p.truncate().length());
    outcomes.iter().flat_map(far).fold(0.0, f64::max)
}

/// Drops that touched target `k` and drops lost before it could be told.
#[must_use]
pub fn reached<'a>(outcomes: impl Iterator<Item = &'a Outcome>, k: usize) -> (u32, u32) {
    let (mut reached, mut unknown) = (0, 0);
    for outcome in outcomes {
        match outcome.reaches.get(k) {
            Some(Reach::Reached { .. }) => reached += 1,
            Some(Reach::Unknown) => unknown += 1,
            Some(Reach::Missed { .. }) | None => {}
        }
    }
    (reached, unknown)
}

/// One target of one cut; `drops` includes those that sat back.
#[must_use]
pub fn target(
    id: &str,
    is_person: bool,
    outcomes: &[&Outcome],
    k: usize,
    drops: u32,
    over_grounds: Interval,
) -> TargetForecast {
    let (reached, unknown) = reached(outcomes.iter().copied(), k);
    let energies: Vec<f64> = outcomes
        .iter()
        .filter_map(|o| match o.reaches.get(k) {
            Some(Reach::Reached { energy_j, .. }) => Some(*energy_j),
            _ => None,
        })
        .collect();
    let nearest = outcomes
        .iter()
        .filter_map(|o| match o.reaches.get(k) {
            Some(Reach::Missed { gap_m }) if gap_m.is_finite() => Some(*gap_m),
            _ => None,
        })
        .reduce(f64::min);
    TargetForecast {
        id: id.to_owned(),
        reached,
        unknown,
        share: f64::from(reached) / f64::from(drops.max(1)),
        low: interval::low(reached, drops),
        high: interval::high((reached + unknown).min(drops), drops),
        over_grounds,
        energy_j: (!is_person && !energies.is_empty()).then(|| percentiles(energies)),
        nearest_miss_m: nearest,
        harm: None,
    }
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;

    fn outcome(rollout_m: f64, ending: Ending) -> Outcome {
        Outcome {
            mode: Mode::Slid,
            first_touch: None,
            parts: [1.0, 0.0, 0.0],
            turns: 0.0,
            rollout_m,
            height_over_ground_m: 0.0,
            ending,
            rests_on: None,
            hold: None,
            end_m: DVec3::ZERO,
            end_axis: DVec3::X,
            bent: None,
            lines: vec![],
            digs: vec![],
            struck_m_s: 0.0,
            loose: vec![],
            absent: vec![],
            reaches: vec![],
        }
    }

    #[test]
    fn verif_percentiles_that_unfinished_drops_touch_are_null() {
        let mut drops: Vec<Outcome> =
            (1..=8).map(|i| outcome(f64::from(i), Ending::Rest)).collect();
        drops.push(outcome(20.0, Ending::LeftTerrain));
        drops.push(outcome(30.0, Ending::OutOfTime));
        let (known, least) = rollout(&drops.iter().collect::<Vec<_>>());
        assert_eq!(
            (known.p10, known.p50, known.p90, known.max),
            (Some(1.0), Some(5.0), None, None)
        );
        assert_eq!((least.p90, least.max), (Some(20.0), Some(30.0)));
        // One lost early could end anywhere beyond where it was lost: the median is open too.
        drops.push(outcome(0.5, Ending::LeftTerrain));
        assert_eq!(rollout(&drops.iter().collect::<Vec<_>>()).0.p50, None);
    }
}
