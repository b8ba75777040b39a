//! Calibration over many lessons as a picture: what was said from left to right, how often it happened
//! from below up, each bin as a point with its interval and the number of its answers beside it.

use super::{
    marks::INK,
    stamp::{NOT_COMPARED, PLANNING_AID},
    svg::{Anchor, Svg, TextStyle, n},
    words::in_hundred,
};
use crate::lesson::{
    calibration::Calibration,
    words::{NO_PERMISSION, kind},
};

/// Width of the picture, px.
const WIDTH: f64 = 900.0;
/// The square inside it: left, top, side, px.
const LEFT: f64 = 90.0;
const TOP: f64 = 120.0;
const SIDE: f64 = 420.0;
/// Height of a row of what ranges and marks hold, px.
const ROW: f64 = 34.0;
const FAINT: &str = "#c9d1cc";
const FILL: &str = "#7c3f00";

/// The picture as one SVG document; `date` is the day it was made.
#[must_use]
pub fn calibration(of: &Calibration, date: &str) -> String {
    let held_top = TOP + SIDE + 96.0;
    let height = held_top + ROW * of.held.len().max(1) as f64 + 70.0;
    let mut svg = Svg::new(WIDTH, height);
    let small = TextStyle { size: 13.0, ..TextStyle::default() };
    let bold = TextStyle { size: 19.0, bold: true, ..TextStyle::default() };
    svg.text(24.0, 36.0, "What you say and what happens", bold);
    svg.text(24.0, 58.0, &format!("{NOT_COMPARED} {}", first_sentence(PLANNING_AID)), small);
    svg.text(24.0, 76.0, first_sentence(NO_PERMISSION), small);
    let about = format!("{} answers; {date}", of.answers);
    svg.text(24.0, 94.0, &about, small);
    square(&mut svg, of, small);
    let title = TextStyle { bold: true, ..small };
    svg.text(24.0, held_top - 24.0, "Ranges and marks that are to hold 80 in 100 drops", title);
    let sides = "before: less, or nearer to the stump, than you said; beyond: more, or farther";
    svg.text(LEFT + 300.0, held_top - 24.0, sides, small);
    for (i, held) in of.held.iter().enumerate() {
        let y = held_top + ROW * i as f64;
        let [low, high] = held.interval;
        svg.text(24.0, y + 5.0, &format!("{}, {} answers", kind(held.kind), held.answers), small);
        bar(&mut svg, y, [low, held.within, high]);
        let said = format!(
            "held {}; {} before, {} beyond",
            in_hundred(held.within),
            in_hundred(held.below),
            in_hundred(held.above)
        );
        svg.text(LEFT + 160.0 + 320.0 + 16.0, y + 5.0, &said, small);
    }
    if of.held.is_empty() {
        svg.text(24.0, held_top + 5.0, "none yet", small);
    }
    svg.finish("What you say and what happens")
}

fn square(svg: &mut Svg, of: &Calibration, small: TextStyle<'_>) {
    let x = |share: f64| LEFT + SIDE * share;
    let y = |share: f64| TOP + SIDE * (1.0 - share);
    let faint = format!("stroke=\"{FAINT}\" stroke-width=\"1\"");
    for tenth in (0..=10).step_by(2) {
        let share = f64::from(tenth) / 10.0;
        svg.polyline(&[(x(0.0), y(share)), (x(1.0), y(share))], false, format_args!("{faint}"));
        svg.polyline(&[(x(share), y(0.0)), (x(share), y(1.0))], false, format_args!("{faint}"));
        let name = format!("{}", 10 * tenth);
        let end = TextStyle { anchor: Anchor::End, ..small };
        svg.text(x(0.0) - 8.0, y(share) + 4.0, &name, end);
        let middle = TextStyle { anchor: Anchor::Middle, ..small };
        svg.text(x(share), y(0.0) + 20.0, &name, middle);
    }
    svg.polyline(
        &[(x(0.0), y(0.0)), (x(1.0), y(1.0))],
        false,
        format_args!("stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"6 5\""),
    );
    let middle = TextStyle { anchor: Anchor::Middle, ..small };
    svg.text(x(0.5), y(0.0) + 42.0, "You said it happens so often in 100", middle);
    let turned = TextStyle { turn_deg: -90.0, ..middle };
    svg.text(34.0, y(0.5), "It happened so often in 100", turned);
    let beside = x(1.0) + 24.0;
    for (i, line) in [
        "On the dashed line: as often as you say.",
        "Above it: more often than you say.",
        "Below it: less often than you say.",
        "The bar is what could be by the number of",
        "answers alone (95 %, two-sided); beside",
        "each point stands that number.",
    ]
    .iter()
    .enumerate()
    {
        svg.text(beside, TOP + 14.0 + 18.0 * i as f64, line, small);
    }
    for bin in &of.bins {
        let at = x(bin.stated);
        let [low, high] = bin.interval.map(y);
        let line = format!("stroke=\"{INK}\" stroke-width=\"2\"");
        svg.polyline(&[(at, low), (at, high)], false, format_args!("{line}"));
        for end in [low, high] {
            svg.polyline(&[(at - 5.0, end), (at + 5.0, end)], false, format_args!("{line}"));
        }
        svg.element(
            "circle",
            format_args!(
                "cx=\"{}\" cy=\"{}\" r=\"6\" fill=\"{FILL}\" stroke=\"{INK}\"",
                n(at),
                n(y(bin.happened))
            ),
        );
        let halo = TextStyle { halo: Some("#ffffff"), bold: true, ..small };
        // At the right edge the number stands to the left of its point.
        let is_last = bin.stated > 0.94;
        let anchor = if is_last { Anchor::End } else { Anchor::Start };
        let aside = if is_last { at - 11.0 } else { at + 11.0 };
        let number = bin.answers.to_string();
        svg.text(aside, y(bin.happened) + 4.0, &number, TextStyle { anchor, ..halo });
    }
    if of.bins.is_empty() {
        svg.text(x(0.5), y(0.5) - 16.0, "no stated chances yet", middle);
    }
}

/// One row of what was held: a scale from 0 to 100 with a tick at 80.
fn bar(svg: &mut Svg, y: f64, [low, within, high]: [f64; 3]) {
    let x = |share: f64| LEFT + 160.0 + 320.0 * share;
    let ink = format!("stroke=\"{INK}\" stroke-width=\"2\"");
    let faint = format!("stroke=\"{FAINT}\" stroke-width=\"6\"");
    svg.polyline(&[(x(0.0), y), (x(1.0), y)], false, format_args!("{faint}"));
    svg.polyline(
        &[(x(0.8), y - 11.0), (x(0.8), y + 11.0)],
        false,
        format_args!("stroke=\"{INK}\" stroke-width=\"1.2\" stroke-dasharray=\"4 3\""),
    );
    svg.polyline(&[(x(low), y), (x(high), y)], false, format_args!("{ink}"));
    svg.element(
        "circle",
        format_args!(
            "cx=\"{}\" cy=\"{}\" r=\"6\" fill=\"{FILL}\" stroke=\"{INK}\"",
            n(x(within)),
            n(y)
        ),
    );
}

/// Up to and with the first full stop that ends a sentence.
fn first_sentence(text: &str) -> &str {
    text.find(". ").and_then(|end| text.get(..=end)).unwrap_or(text)
}
