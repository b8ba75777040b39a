//! Where pieces ended and the lines that one in so many pass, as KML (OGC 12-007r2) for maps on a
//! phone; the same things as in [`super::geojson`].

use std::fmt::Write as _;

use super::{
    geojson::{OnEarth, mode_word},
    stamp,
    svg::escape,
};
use crate::drop::Ending;

/// Ends as points, lines as lines; what a place on earth can't be told of is left out.
#[must_use]
pub fn ends(on: &OnEarth<'_>) -> String {
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\">\n\
         <Document>\n<name>{}</name>\n<description>{}</description>\n",
        escape(&on.stamp.scene),
        escape(&format!("{} {} {}", stamp::NOT_COMPARED, stamp::PLANNING_AID, on.stamp.line()))
    );
    for (id, colour) in [("end", "ff7a5a2e"), ("reached", "ff1f36a8"), ("line", "ff1f36a8")] {
        let _ = writeln!(
            out,
            "<Style id=\"{id}\"><IconStyle><color>{colour}</color><scale>0.5</scale></IconStyle>\
             <LineStyle><color>{colour}</color><width>2</width></LineStyle></Style>"
        );
    }
    for (line, places) in on.lines_on_earth() {
        let at_least = if line.at_least { "at least " } else { "" };
        let _ = writeln!(
            out,
            "<Placemark><name>1 in {} pass</name><description>{at_least}{:.1} m from the stump\
             </description><styleUrl>#line</styleUrl><LineString><tessellate>1</tessellate>\
             <coordinates>{}</coordinates></LineString></Placemark>",
            line.one_in,
            line.distance_m,
            places.iter().map(|[x, y]| format!("{x},{y}")).collect::<Vec<_>>().join(" ")
        );
    }
    for (index, outcome) in on.drops {
        let Some([x, y]) = on.place(outcome.end_m.truncate()) else { continue };
        let reached = on.reached(outcome);
        let rest =
            if outcome.ending == Ending::Rest { "" } else { ", not at rest: at least so far" };
        let what = if reached.is_empty() {
            String::new()
        } else {
            format!(", reached {}", reached.join(", "))
        };
        let _ = writeln!(
            out,
            "<Placemark><name>drop {index}</name><description>{}</description>\
             <styleUrl>#{}</styleUrl><Point><coordinates>{x},{y}</coordinates></Point></Placemark>",
            escape(&format!(
                "{}, {:.1} m from first touch{what}{rest}",
                mode_word(outcome.mode),
                outcome.rollout_m
            )),
            if reached.is_empty() { "end" } else { "reached" }
        );
    }
    out.push_str("</Document>\n</kml>\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        outcome::Outcome,
        report::{plan::PassLine, sample},
    };

    #[test]
    fn prop_every_end_and_line_is_in_it_and_it_is_whole() {
        let site = sample::site();
        let drops = sample::drops(30, &site);
        let rows: Vec<(u32, &Outcome)> =
            drops.iter().enumerate().map(|(i, (o, _))| (i as u32, o)).collect();
        let line = PassLine { one_in: 10, distance_m: 25.0, at_least: true };
        let stamp = sample::stamp();
        let on = OnEarth {
            drops: &rows,
            target_ids: &["shed & barn"],
            lines: vec![(line, vec![glam::DVec2::ZERO, glam::DVec2::X])],
            stamp: &stamp,
            to_lonlat: &|x, y| (10.0 + x * 1e-5, 50.0 + y * 1e-5),
        };
        let text = ends(&on);
        assert_eq!(text.matches("<Point>").count(), 30);
        assert!(text.contains("1 in 10 pass") && text.contains("at least 25.0 m"));
        assert!(text.contains("10,50 10.00001,50") && text.contains(stamp::NOT_COMPARED));
        // Every element that is opened is closed, as the pictures' reader sees it.
        assert!(resvg::usvg::roxmltree::Document::parse(&text).is_ok());
        let nowhere = OnEarth { to_lonlat: &|_, _| (f64::NAN, 0.0), ..on };
        let text = ends(&nowhere);
        assert!(!text.contains("NaN") && !text.contains("<Point>"));
    }
}
