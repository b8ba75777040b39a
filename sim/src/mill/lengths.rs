//! Which of the lengths that a mill takes can be cut from a stretch of stem.

/// Most logs cut from one stretch: a guard against lengths of a hand's breadth.
const MOST_LOGS: usize = 24;

/// A log that can be cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bucked {
    /// Where its large end is, from the butt of the piece, m.
    pub from_butt_m: f64,
    /// The mill's length, m; `trim_m` more is cut.
    pub length_m: f64,
}

/// Logs of the mill's lengths (each `trim_m` longer as cut) from the stretch between two places of
/// a piece: those that use up most of it, of equals the fewest and longest, longest first.
#[must_use]
pub fn buck(from_m: f64, to_m: f64, lengths_m: &[f64], trim_m: f64) -> Vec<Bucked> {
    let mut lengths: Vec<f64> = lengths_m.iter().copied().filter(|l| *l > 0.0).collect();
    lengths.sort_by(|a, b| b.total_cmp(a));
    lengths.dedup();
    let mut best = Vec::new();
    fill(to_m - from_m, &lengths, trim_m, &mut Vec::new(), &mut best);
    let mut at_m = from_m;
    best.into_iter()
        .map(|length_m| {
            let log = Bucked { from_butt_m: at_m, length_m };
            at_m += length_m + trim_m;
            log
        })
        .collect()
}

/// Tries all sets of lengths, longest first, and keeps the one that uses up most.
fn fill(left_m: f64, lengths: &[f64], trim_m: f64, taken: &mut Vec<f64>, best: &mut Vec<f64>) {
    let used = |logs: &[f64]| logs.iter().sum::<f64>();
    let better = used(taken) > used(best) + 1e-6
        || used(taken) > used(best) - 1e-6 && taken.len() < best.len();
    if better {
        best.clone_from(taken);
    }
    if taken.len() >= MOST_LOGS {
        return;
    }
    for (k, &length) in lengths.iter().enumerate() {
        if length + trim_m <= left_m + 1e-9 {
            taken.push(length);
            fill(
                left_m - length - trim_m,
                lengths.get(k..).unwrap_or_default(),
                trim_m,
                taken,
                best,
            );
            taken.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(of_m: f64, mill_m: &[f64], trim_m: f64) -> Vec<f64> {
        buck(0.0, of_m, mill_m, trim_m).iter().map(|log| log.length_m).collect()
    }

    #[test]
    fn verif_lengths_use_up_most_of_a_stem() {
        assert_eq!(lengths(7.3, &[2.4, 3.0], 0.1), [3.0, 3.0]);
        assert_eq!(lengths(5.7, &[2.4, 3.0], 0.1), [3.0, 2.4], "2.4 twice would use up less");
        assert_eq!(lengths(7.6, &[2.4, 3.0], 0.1), [2.4, 2.4, 2.4], "3 m twice would use up less");
        assert_eq!(lengths(6.2, &[3.0, 6.0], 0.1), [6.0], "one long log before two short ones");
        assert!(lengths(2.4, &[2.4], 0.1).is_empty(), "its trim is wanting");
        assert!(lengths(5.0, &[], 0.1).is_empty());
        let second = buck(1.0, 8.3, &[2.4], 0.1)[1];
        assert!((second.from_butt_m - 3.5).abs() < 1e-12);
    }
}
