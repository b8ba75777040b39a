//! Where pieces ended and the lines that one in so many pass, as GeoJSON (RFC 7946: longitude and
//! latitude on WGS 84).

use glam::DVec2;
use serde_json::{Value, json};

use super::{
    plan::PassLine,
    stamp::{self, Stamp},
};
use crate::{
    drop::Ending,
    outcome::{Mode, Outcome, Reach},
};

/// Drops of one cut and where on earth they are.
pub struct OnEarth<'a> {
    /// Drops by index.
    pub drops: &'a [(u32, &'a Outcome)],
    /// Targets, in the order of an outcome's reaches.
    pub target_ids: &'a [&'a str],
    /// Lines that one in so many pass, as places of the site, m.
    pub lines: Vec<(PassLine, Vec<DVec2>)>,
    /// Where the result is from.
    pub stamp: &'a Stamp,
    /// The site's x, y (m) as longitude and latitude (degrees); not finite where there are none.
    pub to_lonlat: &'a dyn Fn(f64, f64) -> (f64, f64),
}

impl OnEarth<'_> {
    /// A place of the site (m) as longitude and latitude, to a centimetre.
    #[must_use]
    pub fn place(&self, at_m: DVec2) -> Option<[f64; 2]> {
        let (longitude, latitude) = (self.to_lonlat)(at_m.x, at_m.y);
        let known = longitude.is_finite() && latitude.is_finite();
        // Seven decimals of a degree are a centimetre.
        known.then(|| [rounded(longitude, 1e7), rounded(latitude, 1e7)])
    }

    /// Lines whose places are all known.
    pub fn lines_on_earth(&self) -> impl Iterator<Item = (&PassLine, Vec<[f64; 2]>)> {
        self.lines.iter().filter_map(|(line, places)| {
            let places: Option<Vec<_>> = places.iter().map(|p| self.place(*p)).collect();
            Some((line, places.filter(|p| p.len() > 1)?))
        })
    }

    /// Names of what a drop reached.
    #[must_use]
    pub fn reached(&self, outcome: &Outcome) -> Vec<&str> {
        let each = self.target_ids.iter().zip(&outcome.reaches);
        each.filter(|(_, r)| matches!(r, Reach::Reached { .. })).map(|(id, _)| *id).collect()
    }
}

/// A mode in one word.
#[must_use]
pub fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::Tumbled => "tumbled",
        Mode::Stayed => "stayed",
        Mode::Rolled => "rolled",
        Mode::Slid => "slid",
    }
}

/// Ends of drops as points and lines as lines. A piece that was not at rest says so
/// (`at_rest: false`): it went at least so far. What can't be placed is left out.
#[must_use]
pub fn ends(on: &OnEarth<'_>) -> String {
    let points = on.drops.iter().filter_map(|(index, outcome)| {
        Some(json!({
            "type": "Feature",
            "geometry": { "type": "Point", "coordinates": on.place(outcome.end_m.truncate())? },
            "properties": {
                "drop": index,
                "mode": mode_word(outcome.mode),
                "at_rest": outcome.ending == Ending::Rest,
                "rollout_m": rounded(outcome.rollout_m, 1e3),
                "reached": on.reached(outcome),
            },
        }))
    });
    let lines = on.lines_on_earth().map(|(line, places)| {
        json!({
            "type": "Feature",
            "geometry": { "type": "LineString", "coordinates": places },
            "properties": {
                "one_in": line.one_in,
                "distance_m": rounded(line.distance_m, 1e3),
                "at_least": line.at_least,
            },
        })
    });
    let features: Vec<Value> = points.chain(lines).collect();
    let collection = json!({
        "type": "FeatureCollection",
        "made_from": on.stamp.line(),
        "caution": stamp::NOT_COMPARED,
        "features": features,
    });
    format!("{collection:#}\n")
}

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
        let line = PassLine { one_in: 10, distance_m: 25.0, at_least: false };
        let stamp = sample::stamp();
        let on = OnEarth {
            drops: &rows,
            target_ids: &ids,
            lines: vec![(line, vec![DVec2::ZERO, DVec2::X, DVec2::Y])],
            stamp: &stamp,
            to_lonlat: &|x, y| (10.0 + x * 1e-5, 50.0 + y * 1e-5),
        };
        let text = ends(&on);
        let value: Value = serde_json::from_str(&text).expect("JSON");
        let features = value["features"].as_array().expect("a list");
        assert_eq!(features.len(), 31);
        let last = &features[30];
        assert_eq!(last["geometry"]["coordinates"][1][0], json!(10.00001));
        assert_eq!(last["properties"]["one_in"], json!(10));
        for (feature, (outcome, _)) in features.iter().zip(&drops) {
            let at = &feature["geometry"]["coordinates"];
            let (x, y) = (at[0].as_f64().expect("x"), at[1].as_f64().expect("y"));
            assert!(((x - 10.0) * 1e5 - outcome.end_m.x).abs() < 0.02);
            assert!(((y - 50.0) * 1e5 - outcome.end_m.y).abs() < 0.02);
        }
        // What can't be placed is left out, never null.
        let none = ends(&OnEarth { to_lonlat: &|_, _| (f64::NAN, 0.0), ..on });
        assert!(!none.contains("null") && !none.contains("Point") && !none.contains("Line"));
    }
}
