//! Where pieces ended, as GeoJSON (RFC 7946: longitude and latitude on WGS 84).

use serde_json::{Value, json};

use super::stamp::{self, Stamp};
use crate::{
    drop::Ending,
    outcome::{Mode, Outcome, Reach},
};

/// Ends of drops as a collection of points. A piece that was not at rest says so
/// (`at_rest: false`): it went at least so far. `to_lonlat` turns the site's x, y (m) into
/// longitude and latitude (degrees); an end it can't place (not finite) is left out.
#[must_use]
pub fn ends(
    drops: &[(u32, &Outcome)],
    target_ids: &[&str],
    stamp: &Stamp,
    to_lonlat: &dyn Fn(f64, f64) -> (f64, f64),
) -> String {
    let features: Vec<Value> = drops
        .iter()
        .filter_map(|(index, outcome)| {
            let (longitude, latitude) = to_lonlat(outcome.end_m.x, outcome.end_m.y);
            let reached: Vec<&str> = target_ids
                .iter()
                .zip(&outcome.reaches)
                .filter(|(_, r)| matches!(r, Reach::Reached { .. }))
                .map(|(id, _)| *id)
                .collect();
            (longitude.is_finite() && latitude.is_finite()).then(|| {
                json!({
                    "type": "Feature",
                    "geometry": {
                        "type": "Point",
                        "coordinates": [rounded(longitude, 1e7), rounded(latitude, 1e7)],
                    },
                    "properties": {
                        "drop": index,
                        "mode": match outcome.mode {
                            Mode::Tumbled => "tumbled",
                            Mode::Stayed => "stayed",
                            Mode::Rolled => "rolled",
                            Mode::Slid => "slid",
                        },
                        "at_rest": outcome.ending == Ending::Rest,
                        "rollout_m": rounded(outcome.rollout_m, 1e3),
                        "reached": reached,
                    },
                })
            })
        })
        .collect();
    let collection = json!({
        "type": "FeatureCollection",
        "made_from": stamp.line(),
        "caution": stamp::NOT_COMPARED,
        "features": features,
    });
    format!("{collection:#}\n")
}

/// Seven decimals of a degree are a centimetre.
fn rounded(x: f64, steps: f64) -> f64 {
    (x * steps).round() / steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn prop_every_end_is_a_point_in_its_place() {
        let site = sample::site();
        let drops = sample::drops(30, &site);
        let ids: Vec<&str> =
            site.bodies.iter().filter(|b| b.is_target).map(|b| b.id.as_str()).collect();
        let rows: Vec<(u32, &Outcome)> =
            drops.iter().enumerate().map(|(i, (o, _))| (i as u32, o)).collect();
        let text = ends(&rows, &ids, &sample::stamp(), &|x, y| (10.0 + x * 1e-5, 50.0 + y * 1e-5));
        let value: Value = serde_json::from_str(&text).expect("JSON");
        let features = value["features"].as_array().expect("a list");
        assert_eq!(features.len(), 30);
        for (feature, (outcome, _)) in features.iter().zip(&drops) {
            let at = &feature["geometry"]["coordinates"];
            let (x, y) = (at[0].as_f64().expect("x"), at[1].as_f64().expect("y"));
            assert!(((x - 10.0) * 1e5 - outcome.end_m.x).abs() < 0.02);
            assert!(((y - 50.0) * 1e5 - outcome.end_m.y).abs() < 0.02);
        }
        // What can't be placed is left out, never null.
        let none = ends(&rows, &ids, &sample::stamp(), &|_, _| (f64::NAN, 0.0));
        assert!(!none.contains("null") && !none.contains("Point"));
    }
}
