//! One row a drop, for spreadsheets (RFC 4180).

use std::fmt::Write as _;

use crate::{
    drop::{Ending, Hold, RestsOn},
    outcome::{Mode, Outcome, Reach},
    report::words,
};

/// Drops as CSV; `None` is a drop in which the piece sat back. Numbers are SI; a target's columns
/// follow the order of `target_ids`, as a drop's reaches do.
#[must_use]
pub fn drops_csv(drops: &[(u32, Option<&Outcome>)], target_ids: &[&str]) -> String {
    let mut out = String::from(
        "drop,mode,first_touch_with,first_touch_speed_m_s,turns,slid_share,rolled_share,\
         tumbled_share,rollout_m,at_least,height_over_ground_m,ending,rests_on,hold,end_x_m,\
         end_y_m,end_z_m",
    );
    for id in target_ids {
        for part in ["reached", "energy_j", "speed_m_s", "gap_m"] {
            let _ = write!(out, ",{}", field(&format!("{id}:{part}")));
        }
    }
    out.push_str("\r\n");
    for (index, outcome) in drops {
        let _ = write!(out, "{index}");
        match outcome {
            None => {
                let _ = write!(out, ",sat back{}", ",".repeat(15 + 4 * target_ids.len()));
            }
            Some(outcome) => row(&mut out, outcome, target_ids.len()),
        }
        out.push_str("\r\n");
    }
    out
}

fn row(out: &mut String, o: &Outcome, targets: usize) {
    let mode = match o.mode {
        Mode::Tumbled => "tumbled",
        Mode::Stayed => "stayed",
        Mode::Rolled => "rolled",
        Mode::Slid => "slid",
    };
    let (with, speed) = o
        .first_touch
        .map_or(("", String::new()), |t| (words::place(t.place), format!("{:.3}", t.speed_m_s)));
    let ending = match o.ending {
        Ending::Rest => "rest",
        Ending::LeftTerrain => "left terrain",
        Ending::OutOfTime => "out of time",
    };
    let rests_on = o.rests_on.map_or("", |on| match on {
        RestsOn::Ground => "ground",
        RestsOn::Structure => "structure",
        RestsOn::Tree => "tree",
        RestsOn::Line => "line",
    });
    let hold = o.hold.map_or("", |hold| match hold {
        Hold::Firm => "firm",
        Hold::Marginal => "marginal",
        Hold::ByAidOnly => "by aid only",
    });
    let at_least = o.ending != Ending::Rest;
    let [slid, rolled, tumbled] = o.parts;
    let _ = write!(
        out,
        ",{mode},{with},{speed},{:.3},{slid:.3},{rolled:.3},{tumbled:.3},{:.3},{at_least},{:.3},\
         {ending},{rests_on},{hold},{:.3},{:.3},{:.3}",
        o.turns, o.rollout_m, o.height_over_ground_m, o.end_m.x, o.end_m.y, o.end_m.z
    );
    for target in 0..targets {
        let _ = match o.reaches.get(target) {
            Some(Reach::Reached { energy_j, speed_m_s }) => {
                write!(out, ",yes,{energy_j:.1},{speed_m_s:.3},0")
            }
            Some(Reach::Missed { gap_m }) => write!(out, ",no,,,{gap_m:.3}"),
            Some(Reach::Unknown) => write!(out, ",unknown,,,"),
            None => write!(out, ",,,,"),
        };
    }
}

fn field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn prop_every_row_has_every_column() {
        let site = sample::site();
        let drops = sample::drops(40, &site);
        let ids: Vec<&str> =
            site.bodies.iter().filter(|b| b.is_target).map(|b| b.id.as_str()).collect();
        let mut rows: Vec<(u32, Option<&Outcome>)> =
            drops.iter().enumerate().map(|(i, (o, _))| (i as u32, Some(o))).collect();
        rows.push((40, None));
        let csv = drops_csv(&rows, &ids);
        let lines: Vec<&str> = csv.split_terminator("\r\n").collect();
        assert_eq!(lines.len(), 42);
        let columns = lines[0].split(',').count();
        assert_eq!(columns, 17 + 4 * ids.len());
        for line in &lines {
            assert_eq!(line.split(',').count(), columns, "{line}");
        }
        assert!(lines[41].starts_with("40,sat back,,"));
        let reached = lines.iter().filter(|l| l.contains(",yes,")).count();
        assert_eq!(
            reached,
            drops
                .iter()
                .filter(|(o, _)| o.reaches.iter().any(|r| matches!(r, Reach::Reached { .. })))
                .count()
        );
    }

    #[test]
    fn verif_a_comma_in_a_name_is_quoted() {
        assert_eq!(field("a,b"), "\"a,b\"");
        assert_eq!(field("say \"hi\""), "\"say \"\"hi\"\"\"");
        assert_eq!(field("plain"), "plain");
    }
}
