//! How far pieces get, as lines on the ground that 1 in 2, 1 in 10 and 1 in 100 pass.
//!
//! A drop's distance is the greatest horizontal distance from the stump that its path came to.
//! Of n drops, `n / k` (rounded down) went farther than the line "1 in k". A drop that didn't
//! come to rest went at least so far; where one ended short of a line, the line is "at least".

use glam::{DVec2, DVec3};

use super::DropView;
use crate::drop::Ending;

/// One line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassLine {
    /// One piece in this many passes it.
    pub one_in: u32,
    /// Horizontal distance from the stump, m.
    pub distance_m: f64,
    /// Some drops that didn't come to rest ended short of it.
    pub at_least: bool,
}

/// Greatest horizontal distance from the stump along one drop's path, m.
#[must_use]
pub fn farthest_m(stump_m: DVec3, drop: &DropView<'_>) -> f64 {
    let from = stump_m.truncate();
    let seen = [Some(drop.outcome.end_m), drop.outcome.first_touch.map(|t| t.point_m)];
    let path = drop.track.map_or(&[][..], |t| &t.samples[..]);
    seen.into_iter()
        .flatten()
        .chain(path.iter().map(|s| s.motion.centre_m))
        .map(|p| p.truncate().distance(from))
        .fold(0.0, f64::max)
}

/// The lines, nearest first; one that too few drops could pass is left out.
#[must_use]
pub fn pass_lines(stump_m: DVec3, drops: &[DropView<'_>]) -> Vec<PassLine> {
    lines_passed(
        drops.iter().map(|d| (farthest_m(stump_m, d), d.outcome.ending == Ending::Rest)).collect(),
    )
}

/// The lines from each drop's greatest distance from the stump (m) and whether it came to rest.
#[must_use]
pub fn lines_passed(mut farthest: Vec<(f64, bool)>) -> Vec<PassLine> {
    farthest.sort_by(|a, b| b.0.total_cmp(&a.0));
    [2, 10, 100]
        .into_iter()
        .filter_map(|one_in| {
            let passing = farthest.len() / one_in as usize;
            let &(distance_m, _) = farthest.get(passing).filter(|_| passing > 0)?;
            let at_least = farthest.iter().any(|&(d, rest)| !rest && d <= distance_m);
            Some(PassLine { one_in, distance_m, at_least })
        })
        .collect()
}

/// A line as places of the site, m: the arc about the stump between the bearings where drops end.
#[must_use]
pub fn pass_arc(stump_m: DVec3, line: &PassLine, (from, to): (f64, f64)) -> Vec<DVec2> {
    const STEPS: u32 = 32;
    (0..=STEPS)
        .map(|k| from + (to - from) * f64::from(k) / f64::from(STEPS))
        .map(|bearing| stump_m.truncate() + super::polar(line.distance_m, bearing))
        .collect()
}

/// The bearings (anticlockwise from east, rad) between which nine in ten drops end, or `None`
/// if none ends over 1 m from the stump.
#[must_use]
pub fn spread(stump_m: DVec3, drops: &[DropView<'_>]) -> Option<(f64, f64)> {
    let ends: Vec<DVec2> = drops
        .iter()
        .map(|d| (d.outcome.end_m - stump_m).truncate())
        .filter(|p| p.length() > 1.0)
        .collect();
    let mean = ends.iter().map(|p| p.normalize()).sum::<DVec2>();
    if ends.is_empty() || mean.length() < 1e-9 {
        return None;
    }
    let middle = libm::atan2(mean.y, mean.x);
    let mut off: Vec<f64> =
        ends.iter().map(|&p| libm::atan2(mean.perp_dot(p), mean.dot(p))).collect();
    off.sort_by(f64::total_cmp);
    let at = |share: f64| off[((off.len() - 1) as f64 * share).round() as usize];
    Some((middle + at(0.05), middle + at(0.95)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        outcome::{Mode, Outcome},
        report::plan::DropView,
    };

    fn ended(distance_m: f64, ending: Ending) -> Outcome {
        Outcome {
            mode: Mode::Slid,
            first_touch: None,
            parts: [0.0; 3],
            turns: 0.0,
            rollout_m: distance_m,
            height_over_ground_m: 0.0,
            ending,
            rests_on: None,
            hold: None,
            end_m: DVec3::new(0.0, -distance_m, 3.0),
            end_axis: DVec3::X,
            bent: None,
            lines: vec![],
            digs: vec![],
            struck_m_s: 0.0,
            loose: vec![],
            absent: vec![],
            reaches: Vec::new(),
        }
    }

    #[test]
    fn verif_so_many_pieces_pass_as_the_line_says() {
        let mut outcomes: Vec<Outcome> =
            (1..=250).map(|i| ended(f64::from(i), Ending::Rest)).collect();
        let views = |outcomes: &[Outcome]| {
            let views: Vec<DropView<'_>> =
                outcomes.iter().map(|outcome| DropView { outcome, track: None }).collect();
            (pass_lines(DVec3::ZERO, &views), spread(DVec3::ZERO, &views))
        };
        let (lines, bearings) = views(&outcomes);
        for line in &lines {
            let passing = outcomes.iter().filter(|o| o.rollout_m > line.distance_m).count();
            assert_eq!(passing, 250 / line.one_in as usize);
            assert!(!line.at_least);
        }
        assert_eq!(lines.len(), 3);
        let (from, to) = bearings.expect("they all went south");
        assert!((from + std::f64::consts::FRAC_PI_2).abs() < 1e-12 && (from - to).abs() < 1e-12);
        // One lost at 200 m: it may have gone past the line at 225 m, not short of 125 m.
        outcomes[199].ending = Ending::OutOfTime;
        let (lines, _) = views(&outcomes);
        assert_eq!(lines.iter().map(|l| l.at_least).collect::<Vec<_>>(), [false, true, true]);
        // Fifty drops can't say what one in a hundred does.
        assert_eq!(views(&outcomes[..50]).0.len(), 2);
    }
}
