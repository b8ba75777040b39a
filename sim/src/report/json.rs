//! A forecast as JSON, as `assets/forecast.schema.json` describes it.

use crate::forecast::result::{CutForecast, Forecast, Percentiles, Percentiles4, TargetForecast};

/// JSON Schema (2020-12) of [`forecast`]'s output.
pub const SCHEMA: &str = include_str!("../../../assets/forecast.schema.json");

/// Why a forecast can't be written as JSON.
#[derive(Debug, thiserror::Error)]
pub enum JsonError {
    /// A number isn't finite; JSON has none such, and null means something else here.
    #[error("{field} is {value}, which JSON cannot say")]
    NotFinite {
        /// Path of the field.
        field: String,
        /// The number.
        value: f64,
    },
    /// The serialiser failed.
    #[error(transparent)]
    Write(#[from] serde_json::Error),
}

/// The forecast as JSON with a line end.
///
/// # Errors
/// A number in it is NaN or infinite.
pub fn forecast(forecast: &Forecast) -> Result<String, JsonError> {
    for (field, value) in numbers(forecast) {
        if !value.is_finite() {
            return Err(JsonError::NotFinite { field, value });
        }
    }
    let mut text = serde_json::to_string_pretty(forecast)?;
    text.push('\n');
    Ok(text)
}

/// The felling numbers as JSON with a line end; a pull that nothing will do is null.
///
/// # Errors
/// The serialiser failed.
pub fn felling(felling: &crate::felling::Felling) -> Result<String, JsonError> {
    // The serialiser writes what is infinite as null.
    let mut text = serde_json::to_string_pretty(felling)?;
    text.push('\n');
    Ok(text)
}

/// A map of what can be reached as JSON with a line end.
///
/// # Errors
/// The serialiser failed.
pub fn reach_map(map: &crate::forecast::reach_map::ReachMap) -> Result<String, JsonError> {
    let mut text = serde_json::to_string(map)?;
    text.push('\n');
    Ok(text)
}

/// Every number that is no count, with its path.
fn numbers(forecast: &Forecast) -> Vec<(String, f64)> {
    let mut all = vec![("confidence".to_owned(), forecast.confidence)];
    for t in &forecast.job.targets {
        let at = |name: &str| format!("job.targets[{}].{name}", t.id);
        all.extend([
            (at("share"), t.share),
            (at("low"), t.low),
            (at("high"), t.high),
            (at("over_grounds.low"), t.over_grounds.low),
            (at("over_grounds.high"), t.over_grounds.high),
        ]);
    }
    for (i, state) in forecast.job.states.iter().enumerate() {
        let at = |name: &str| format!("job.states[{i}].{name}");
        all.extend([
            (at("up_to_m"), state.up_to_m),
            (at("mass_kg"), state.mass_kg),
            (at("centre_m"), state.centre_m),
            (at("fore_n_m"), state.fore_n_m),
            (at("side_n_m"), state.side_n_m),
            (at("top_diameter_m"), state.top_diameter_m),
            (at("top_sound_m"), state.top_sound_m),
        ]);
    }
    for cut in &forecast.cuts {
        let before = all.len();
        cut_numbers(cut, &mut all);
        for (path, _) in &mut all[before..] {
            path.insert_str(0, &format!("cuts[{}].", cut.id));
        }
    }
    all
}

fn cut_numbers(cut: &CutForecast, all: &mut Vec<(String, f64)>) {
    let p = &cut.piece;
    for (name, value) in [
        ("piece.length_m", p.length_m),
        ("piece.mass_kg", p.mass_kg),
        ("piece.butt_diameter_m", p.butt_diameter_m),
        ("piece.top_diameter_m", p.top_diameter_m),
        ("piece.from_height_m", p.from_height_m),
        ("parts.slid", cut.parts.slid),
        ("parts.rolled", cut.parts.rolled),
        ("parts.tumbled", cut.parts.tumbled),
    ] {
        all.push((name.to_owned(), value));
    }
    let mut three = |name: &str, p: &Percentiles| {
        for (part, value) in [("p50", p.p50), ("p90", p.p90), ("max", p.max)] {
            all.extend(value.map(|v| (format!("{name}.{part}"), v)));
        }
    };
    let four = |name: &str, p: &Percentiles4, three: &mut dyn FnMut(&str, &Percentiles)| {
        three(name, &Percentiles { p50: p.p50, p90: p.p90, max: p.max });
        three(&format!("{name}.p10"), &Percentiles { p50: p.p10, p90: None, max: None });
    };
    four("rollout_m", &cut.rollout_m, &mut three);
    four("rollout_at_least_m", &cut.rollout_at_least_m, &mut three);
    three("turns", &cut.turns);
    three("height_over_ground_m", &cut.height_over_ground_m);
    for line in &cut.lines {
        let at = |name: &str| format!("lines[{}].{name}", line.id);
        three(&at("peak_n"), &line.peak_n);
        three(&at("swing_m"), &line.swing_m);
        let may = [("ran_m", &line.ran_m), ("block_n", &line.block_n)];
        for (name, may) in may {
            if let Some(percentiles) = may {
                three(&at(name), percentiles);
            }
        }
        if let Some(spar) = &line.spar {
            three(&at("spar.strength_share"), &spar.strength_share);
        }
    }
    let own = cut.targets.iter().map(|t| (format!("targets[{}]", t.id), t));
    let loose = cut.loose.iter().flat_map(|l| {
        l.targets.iter().map(move |t| (format!("loose[{}].targets[{}]", l.id, t.id), t))
    });
    let targets: Vec<(String, &TargetForecast)> = own.chain(loose).collect();
    for loose in &cut.loose {
        three(&format!("loose[{}].moved_m", loose.id), &loose.moved_m);
    }
    for (path, t) in &targets {
        if let Some(energy) = &t.energy_j {
            three(&format!("{path}.energy_j"), energy);
        }
    }
    for (path, t) in &targets {
        let at = |name: &str| format!("{path}.{name}");
        all.extend([
            (at("share"), t.share),
            (at("low"), t.low),
            (at("high"), t.high),
            (at("over_grounds.low"), t.over_grounds.low),
            (at("over_grounds.high"), t.over_grounds.high),
        ]);
        all.extend(t.nearest_miss_m.map(|v| (at("nearest_miss_m"), v)));
    }
    for line in &cut.lines {
        let at = |name: &str| format!("lines[{}].{name}", line.id);
        let over = &line.over_grounds;
        all.extend([
            (at("working_load_n"), line.working_load_n),
            (at("breaks_n"), line.breaks_n),
            (at("over_grounds.peak_n"), over.peak_n),
            (at("over_grounds.broken.low"), over.broken.low),
            (at("over_grounds.broken.high"), over.broken.high),
            (at("over_grounds.above_working.low"), over.above_working.low),
            (at("over_grounds.above_working.high"), over.above_working.high),
        ]);
    }
    for g in &cut.grounds {
        all.push((format!("grounds[{}].farthest_m", g.id), g.farthest_m));
        all.extend(g.inputs.iter().map(|(k, &v)| (format!("grounds[{}].inputs.{k}", g.id), v)));
    }
    for (i, h) in cut.hangs_on.iter().enumerate() {
        all.push((format!("hangs_on[{i}].share_low"), h.share_low));
        all.push((format!("hangs_on[{i}].share_high"), h.share_high));
    }
    if let Some(thrown) = &cut.thrown {
        all.push(("thrown.dug_m3".to_owned(), thrown.dug_m3));
        all.push(("thrown.radius_m".to_owned(), thrown.radius_m));
        let targets = thrown.targets.iter();
        all.extend(
            targets.filter_map(|t| Some((format!("thrown.targets[{}].short_m", t.id), t.short_m?))),
        );
    }
    let Some(log) = &cut.log else { return };
    let share = &log.strength_share;
    for (name, value) in [("p50", share.p50), ("p90", share.p90), ("max", share.max)] {
        all.extend(value.map(|v| (format!("log.strength_share.{name}"), v)));
    }
    all.extend(log.breaks_at_m.map(|v| ("log.breaks_at_m".to_owned(), v)));
    for (i, cut) in log.whole.iter().enumerate() {
        let at = |name: &str| format!("log.whole[{i}].{name}");
        all.extend([
            (at("from_butt_m"), cut.from_butt_m),
            (at("length_m"), cut.length_m),
            (at("small_end_m"), cut.small_end_m),
            (at("volume_m3"), cut.volume_m3),
            (at("doyle_bd_ft"), cut.doyle_bd_ft),
            (at("scribner_bd_ft"), cut.scribner_bd_ft),
            (at("international_bd_ft"), cut.international_bd_ft),
        ]);
    }
    for (i, left) in log.left.iter().enumerate() {
        let lengths = left.lengths_m.iter().enumerate();
        all.extend(lengths.map(|(k, &v)| (format!("log.left[{i}].lengths_m[{k}]"), v)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn floats(value: &serde_json::Value) -> usize {
        match value {
            serde_json::Value::Number(n) => usize::from(n.is_f64()),
            serde_json::Value::Array(a) => a.iter().map(floats).sum(),
            serde_json::Value::Object(o) => o.values().map(floats).sum(),
            _ => 0,
        }
    }

    #[test]
    fn verif_every_number_is_looked_at() {
        // A field added to the forecast but not to `numbers` makes the two counts differ.
        let sample = sample::forecast();
        let value = serde_json::to_value(&sample).expect("plain data");
        assert_eq!(floats(&value), numbers(&sample).len());
    }

    #[test]
    fn prop_a_number_json_can_not_say_is_refused() {
        let mut broken = sample::forecast();
        broken.cuts[0].targets[0].nearest_miss_m = Some(f64::NAN);
        let said = forecast(&broken).expect_err("NaN").to_string();
        assert!(
            said.starts_with("cuts[second_section].targets[boathouse].nearest_miss_m is NaN"),
            "{said}"
        );
    }
}
