//! One drop as a sentence and as a table.

use glam::DVec3;

use super::columns;
use crate::{
    drop::{Against, Ending, RestsOn, Sample, Track},
    motion::Motion,
    outcome::{Mode, Outcome, Reach},
    report::{
        units::{Units, decimals},
        words,
    },
    site::Site,
};

/// Rows of samples in the table, more or less.
const ROWS: f64 = 30.0;

/// What one drop did with what lay loose, a line each; nothing where it did nothing.
#[must_use]
pub fn what_went(outcome: &Outcome, site: &Site, units: Units) -> String {
    let is_person =
        |id: &str| site.bodies.iter().any(|body| body.id == id && body.kind.is_person());
    let mut out = String::new();
    for cut in &outcome.absent {
        out.push_str(&format!("The piece of cut {cut} lies nowhere in this drop.\n"));
    }
    for loose in &outcome.loose {
        let end = match loose.ending {
            Ending::Rest => "comes to rest",
            Ending::LeftTerrain => "leaves the known terrain",
            Ending::OutOfTime => "is not at rest when time runs out",
        };
        let name = words::name(&loose.id);
        out.push_str(&format!("Sets {name} going by {}; it {end}", units.distance(loose.moved_m)));
        for reach in &loose.reached {
            let target = words::name(&reach.target);
            // For people there is no scale.
            out.push_str(&if is_person(&reach.target) {
                format!(", and {target} is struck")
            } else {
                format!(", and reaches {target} with {}", units.energy(reach.energy_j))
            });
        }
        out.push_str(".\n");
    }
    out
}

/// What happened in one drop, in a sentence without a full stop.
#[must_use]
pub fn what_happened(outcome: &Outcome, track: &Track, site: &Site, units: Units) -> String {
    let mut parts = Vec::new();
    let body_name = |against| match against {
        Against::Ground => None,
        Against::Body(index) => site.bodies.get(index).map(|b| words::name(&b.id)),
    };
    if let Some(touch) = outcome.first_touch {
        parts.push(match body_name(touch.against) {
            Some(name) => format!("Strikes {name} first"),
            None => format!("Lands on its {}", landed(touch.place)),
        });
    }
    parts.push(match outcome.mode {
        Mode::Stayed => "stays".to_owned(),
        Mode::Slid => "slides".to_owned(),
        Mode::Rolled => "rolls".to_owned(),
        Mode::Tumbled => format!("goes end over end, {} turns", decimals(outcome.turns, 1)),
    });
    let reached: Vec<String> = site
        .bodies
        .iter()
        .filter(|b| b.is_target)
        .zip(&outcome.reaches)
        .filter(|(_, r)| matches!(r, Reach::Reached { .. }))
        .map(|(b, _)| words::name(&b.id))
        .collect();
    if !reached.is_empty() {
        parts.push(format!("reaches {}", reached.join(", ")));
    }
    let run = units.distance(outcome.rollout_m);
    for line in &outcome.lines {
        let name = words::name(&line.id);
        let peak = units.force(line.load.peak_n);
        if line.is_broken() {
            parts.push(format!("breaks {name} at {peak}"));
        } else if line.load.tight_s.is_some() {
            parts.push(format!("loads {name} with up to {peak}"));
        }
    }
    parts.push(match outcome.ending {
        Ending::Rest if outcome.rests_on == Some(RestsOn::Line) && !outcome.lines.is_empty() => {
            "hangs on its line".to_owned()
        }
        Ending::Rest => {
            let on = outcome.rests_on.map_or("the ground", words::rests_on);
            let last = track.touches.iter().rev().find_map(|t| body_name(t.against));
            match last.filter(|_| on != "the ground") {
                Some(name) => format!("stops against {name} after {run}"),
                None => format!("stops on {on} after {run}"),
            }
        }
        Ending::LeftTerrain => format!("leaves the known terrain after {run}"),
        Ending::OutOfTime if outcome.mode == Mode::Stayed => {
            format!("not quite at rest after {run}")
        }
        Ending::OutOfTime => format!("still going after {run}"),
    });
    let mut text = parts.join(", ");
    if let Some(first) = text.get(..1).map(str::to_uppercase) {
        text.replace_range(..1, &first);
    }
    text
}

fn landed(place: crate::drop::Place) -> &'static str {
    match place {
        crate::drop::Place::Flat => "whole length",
        other => words::place(other),
    }
}

/// How a piece lies in the air or on the ground.
#[must_use]
fn attitude(motion: &Motion) -> &'static str {
    let axis = motion.attitude * DVec3::Z;
    let way = motion.velocity_m_s.truncate().normalize_or_zero();
    let along = axis.truncate().normalize_or_zero().dot(way);
    match axis.z {
        // Within 20° of upright.
        z if z > 0.94 => "upright",
        z if z < -0.94 => "top straight down",
        // Over 20° from lying.
        z if z > 0.34 => "leaning, butt down",
        z if z < -0.34 => "leaning, top down",
        _ if way == glam::DVec2::ZERO => "lying",
        // Within 30° of its way.
        _ if along > 0.87 => "lying, top ahead",
        _ if along < -0.87 => "lying, butt ahead",
        _ if along.abs() < 0.5 => "lying across its way",
        _ => "lying askew",
    }
}

/// The drop as a table: evenly spaced moments with every touch between them; distances east and
/// north of the stump and up from it.
#[must_use]
pub fn drop_table(track: &Track, site: &Site, units: Units) -> String {
    let unit = units.distance_name();
    let mut rows = vec![
        ["time, s", &format!("east, {unit}"), &format!("north, {unit}"), &format!("up, {unit}")]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows[0].extend(["speed", "how it lies", "touches"].map(str::to_owned));
    let last_s = track.samples.last().map_or(0.0, |s| s.time_s);
    let step_s = (last_s / ROWS).max(0.1);
    let mut next_s = 0.0;
    let mut touches = track.touches.iter().peekable();
    let mut sample_row = |sample: &Sample, note: String| {
        let from = sample.motion.centre_m - site.stump_m;
        let mut row = vec![decimals(sample.time_s, 2)];
        row.extend([from.x, from.y, from.z].map(|d| units.distance_number(d)));
        row.push(units.speed(sample.motion.velocity_m_s.length()));
        row.push(attitude(&sample.motion).to_owned());
        row.push(note);
        rows.push(row);
    };
    for (i, sample) in track.samples.iter().enumerate() {
        let mut notes = Vec::new();
        while let Some(touch) = touches.next_if(|t| t.time_s <= sample.time_s) {
            let on = match touch.against {
                Against::Ground => String::new(),
                Against::Body(index) => site
                    .bodies
                    .get(index)
                    .map_or(String::new(), |b| format!(" on {}", words::name(&b.id))),
            };
            let speed = units.speed(touch.speed_m_s);
            notes.push(format!("{}{on} at {speed}", words::place(touch.place)));
        }
        let is_last = i + 1 == track.samples.len();
        if !notes.is_empty() || sample.time_s >= next_s || is_last {
            sample_row(sample, notes.join("; "));
            next_s = next_s.max(sample.time_s + step_s);
        }
    }
    columns(&rows, 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn regress_a_drop_in_words() {
        let site = sample::site();
        let (outcome, track) = (0..500)
            .map(|i| sample::drop(i, &site))
            .find(|(o, t)| {
                let last = t.touches.last().map(|t| t.against);
                o.mode == Mode::Tumbled
                    && matches!(last, Some(Against::Body(i)) if site.bodies[i].id == "boathouse")
            })
            .expect("among 500");
        let said = what_happened(&outcome, &track, &site, Units::Metric);
        assert!(said.starts_with("Lands on its top, goes end over end, "), "{said}");
        assert!(said.contains("reaches boathouse"), "{said}");
        assert!(said.contains("stops against boathouse after"), "{said}");
        let table = drop_table(&track, &site, Units::Metric);
        assert!(table.starts_with("time, s"), "{table}");
        assert_eq!(table.matches(" at ").count(), track.touches.len(), "{table}");
        assert!(table.lines().count() > 20 && table.lines().count() < 80, "{table}");
    }

    #[test]
    fn verif_attitudes() {
        let lies = |axis: DVec3, way: DVec3| {
            attitude(&Motion {
                centre_m: DVec3::ZERO,
                attitude: glam::DQuat::from_rotation_arc(DVec3::Z, axis.normalize()),
                velocity_m_s: way,
                spin_rad_s: DVec3::ZERO,
            })
        };
        assert_eq!(lies(DVec3::Z, DVec3::X), "upright");
        assert_eq!(lies(DVec3::new(1.0, 0.0, -1.0), DVec3::X), "leaning, top down");
        assert_eq!(lies(DVec3::X, DVec3::X), "lying, top ahead");
        assert_eq!(lies(-DVec3::X, DVec3::X), "lying, butt ahead");
        assert_eq!(lies(DVec3::Y, DVec3::X), "lying across its way");
        assert_eq!(lies(DVec3::Y, DVec3::ZERO), "lying");
    }
}
