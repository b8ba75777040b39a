//! Lengths and faces that were tried, as a picture: where in the box, and what reached there.

use super::{
    marks::INK,
    stamp::{NOT_COMPARED, PLANNING_AID, Stamp},
    svg::{Anchor, Svg, TextStyle, n},
    text::NOT_AN_INSTRUCTION,
    units::Units,
    words,
};
use crate::forecast::search::{Search, Try};

/// Size of the picture, px.
const SIZE: [f64; 2] = [980.0, 700.0];
/// The drawing inside it: left, top, right, bottom, px.
const INSIDE: [f64; 4] = [110.0, 140.0, 850.0, 560.0];
/// Radius of a try of which every drop reached on its worst ground, and of none, px.
const RADIUS: [f64; 2] = [24.0, 4.0];
const FAINT: &str = "#c9d1cc";
const FILL: &str = "#e3b59c";

/// All tries over length and face: a disc as large as the greatest share among the grounds, open
/// where none reached, with that share in 100 beside it and its bound in brackets.
#[must_use]
pub fn tried(all: &Search, stamp: &Stamp, units: Units) -> String {
    let mut svg = Svg::new(SIZE[0], SIZE[1]);
    let title =
        format!("{}: lengths and faces tried of cut {}", stamp.scene, words::name(&all.cut));
    svg.text(24.0, 36.0, &title, TextStyle { size: 19.0, bold: true, ..TextStyle::default() });
    let small = TextStyle { size: 12.0, ..TextStyle::default() };
    let about = "Beside each: in 100 drops, how many reach a target on the ground where most do; in \
                 brackets the most it could be on the ground as told, by counting alone (95 %).";
    let signs = "A larger disc is more; an open ring is none in these drops, which is a bound and no \
                 promise. Some sit back where that is said.";
    svg.text(24.0, 54.0, about, small);
    svg.text(24.0, 69.0, signs, small);
    let (first, second) = split(NOT_AN_INSTRUCTION);
    svg.text(24.0, 84.0, first, small);
    svg.text(24.0, 99.0, second, small);
    let lengths = axis(all.tries.iter().map(|one| one.length_m));
    let faces = axis(all.tries.iter().map(|one| one.face_rad));
    let [left, top, right, bottom] = INSIDE;
    let x = |face: f64| left + (right - left) * faces.share(face);
    let y = |length: f64| bottom - (bottom - top) * lengths.share(length);
    let faint = format!("stroke=\"{FAINT}\" stroke-width=\"1\"");
    let mut last = f64::INFINITY;
    for &length_m in &lengths.values {
        svg.polyline(
            &[(left - 30.0, y(length_m)), (right + 30.0, y(length_m))],
            false,
            format_args!("{faint}"),
        );
        // Rows that lie closer than letters are not all named.
        if (last - y(length_m)).abs() >= 14.0 {
            let end = TextStyle { anchor: Anchor::End, ..small };
            svg.text(left - 36.0, y(length_m) + 4.0, &units.length(length_m), end);
            last = y(length_m);
        }
    }
    let mut last = f64::NEG_INFINITY;
    for &face in &faces.values {
        svg.polyline(
            &[(x(face), top - 26.0), (x(face), bottom + 26.0)],
            false,
            format_args!("{faint}"),
        );
        if x(face) - last >= 40.0 {
            let middle = TextStyle { anchor: Anchor::Middle, ..small };
            svg.text(x(face), bottom + 44.0, &format!("{:.0}°", face.to_degrees()), middle);
            last = x(face);
        }
    }
    let middle = TextStyle { anchor: Anchor::Middle, ..small };
    svg.text(0.5 * (left + right), bottom + 66.0, "where the face points", middle);
    let turned = TextStyle { turn_deg: -90.0, ..middle };
    svg.text(26.0, 0.5 * (top + bottom), "length of the piece", turned);
    for one in &all.tries {
        mark(&mut svg, one, (x(one.face_rad), y(one.length_m)));
    }
    svg.text(24.0, SIZE[1] - 38.0, &stamp.line(), small);
    svg.text(24.0, SIZE[1] - 22.0, NOT_COMPARED, small);
    svg.text(24.0, SIZE[1] - 6.0, PLANNING_AID, small);
    svg.finish(&title)
}

fn mark(svg: &mut Svg, one: &Try, (x, y): (f64, f64)) {
    let high =
        one.over_grounds.high.max(f64::from(one.told.reached) / f64::from(one.told.drops.max(1)));
    let radius = (RADIUS[0] * high.max(0.0).sqrt()).max(RADIUS[1]);
    let fill = if high > 0.0 { FILL } else { "#ffffff" };
    svg.element(
        "circle",
        format_args!(
            "cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"1.4\"",
            n(x),
            n(y),
            n(radius)
        ),
    );
    let bold = TextStyle { size: 12.0, bold: true, halo: Some("#ffffff"), ..TextStyle::default() };
    let most = words::in_hundred((100.0 * one.at_most).ceil() / 100.0);
    let mut said = format!("{} (at most {most})", words::in_hundred(high));
    if one.forecast.sat_back > 0 {
        let share = f64::from(one.forecast.sat_back) / f64::from(one.told.drops.max(1));
        said.push_str(&format!(", {} sit back", words::in_hundred(share)));
    }
    svg.text(x + radius + 3.0, y + 4.0, &said, bold);
}

/// Distinct values in order, and how they lie between the least and the greatest.
struct Axis {
    values: Vec<f64>,
}

impl Axis {
    fn share(&self, value: f64) -> f64 {
        let (Some(low), Some(high)) = (self.values.first(), self.values.last()) else { return 0.5 };
        if high > low { (value - low) / (high - low) } else { 0.5 }
    }
}

fn axis(values: impl Iterator<Item = f64>) -> Axis {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    Axis { values }
}

/// A sentence as two lines of about the same length.
fn split(text: &str) -> (&str, &str) {
    let half = text.len() / 2;
    let at = text.char_indices().filter(|(_, c)| *c == ' ').map(|(i, _)| i);
    match at.min_by_key(|i| i.abs_diff(half)) {
        Some(i) => (text.get(..i).unwrap_or(text), text.get(i + 1..).unwrap_or("")),
        None => (text, ""),
    }
}
