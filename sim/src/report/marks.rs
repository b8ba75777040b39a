//! Signs shared by the pictures: how a thing of the site, a mode and a kind of ground look.
//!
//! Nothing is told by colour alone: every mode has its own shape, every line its own dashes,
//! every ground its own hatch. Colours are ours, chosen to differ in lightness too.

use super::svg::{Svg, n};
use crate::{outcome::Mode, site::BodyKind};

/// Text and frames.
pub(crate) const INK: &str = "#1c2321";
/// Second-rank text.
pub(crate) const SOFT_INK: &str = "#59625f";
/// A track that reaches nothing.
pub(crate) const QUIET: &str = "#46627f";
/// A track that reaches a target.
pub(crate) const ALARM: &str = "#b3261e";
/// The way a face points.
pub(crate) const FACE: &str = "#7c3f00";
/// Lines that pieces pass.
pub(crate) const PASS: &str = "#3d2a66";

/// A limb that stays on the spar.
pub(crate) const LIMB: &str =
    "fill=\"none\" stroke=\"#6b543a\" stroke-width=\"2\" stroke-opacity=\"0.7\"";
/// Brush: dotted round, so that what is behind it can be seen.
pub(crate) const BRUSH: &str = "fill=\"#6f8f4e\" fill-opacity=\"0.14\" stroke=\"#4c6a2e\" \
     stroke-width=\"0.9\" stroke-dasharray=\"2 2.5\"";

/// Dashes of a reaching track.
pub(crate) const ALARM_DASHES: &str = "9 4";

/// The modes in the order of legends, with the word for each.
pub(crate) const MODES: [(Mode, &str); 4] = [
    (Mode::Stayed, "stayed"),
    (Mode::Slid, "slid"),
    (Mode::Rolled, "rolled"),
    (Mode::Tumbled, "tumbled"),
];

/// Draws the sign of a mode; hollow where the piece was not at rest.
pub(crate) fn mode_mark(svg: &mut Svg, mode: Mode, (x, y): (f64, f64), at_rest: bool, size: f64) {
    let colour = match mode {
        Mode::Stayed => "#20233a",
        Mode::Slid => "#cf8f00",
        Mode::Rolled => "#1c7f93",
        Mode::Tumbled => "#933a77",
    };
    let paint = if at_rest {
        format!("fill=\"{colour}\" fill-opacity=\"0.85\" stroke=\"#ffffff\" stroke-width=\"0.8\"")
    } else {
        format!("fill=\"#ffffff\" fill-opacity=\"0.9\" stroke=\"{colour}\" stroke-width=\"1.6\"")
    };
    match mode {
        Mode::Stayed => rect(svg, (x, y), (4.2 * size, 4.2 * size), &paint),
        Mode::Slid => rect(svg, (x, y), (7.0 * size, 2.8 * size), &paint),
        Mode::Rolled => svg.element(
            "circle",
            format_args!("cx=\"{}\" cy=\"{}\" r=\"{}\" {paint}", n(x), n(y), n(4.8 * size)),
        ),
        Mode::Tumbled => {
            let star: Vec<(f64, f64)> = (0..8)
                .map(|i| {
                    let turn = std::f64::consts::FRAC_PI_4 * f64::from(i);
                    let radius = if i % 2 == 0 { 8.2 * size } else { 3.0 * size };
                    (x + radius * libm::sin(turn), y - radius * libm::cos(turn))
                })
                .collect();
            svg.polyline(&star, true, format_args!("{paint}"));
        }
    }
}

fn rect(svg: &mut Svg, (x, y): (f64, f64), half: (f64, f64), paint: &str) {
    svg.element(
        "rect",
        format_args!(
            "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {paint}",
            n(x - half.0),
            n(y - half.1),
            n(2.0 * half.0),
            n(2.0 * half.1)
        ),
    );
}

/// Fill and stroke of a thing's outline.
pub(crate) fn body_paint(kind: BodyKind) -> &'static str {
    match kind {
        BodyKind::Structure => "fill=\"#b5aa9a\" stroke=\"#3b352d\" stroke-width=\"1.6\"",
        BodyKind::Vehicle => "fill=\"#c9c5d6\" stroke=\"#3a3550\" stroke-width=\"1.6\"",
        BodyKind::Path => {
            "fill=\"#efe6d0\" fill-opacity=\"0.85\" stroke=\"#7d6a3f\" stroke-width=\"1.2\" \
             stroke-dasharray=\"7 4\""
        }
        BodyKind::BarrierLog | BodyKind::Spar => {
            "fill=\"#8a5a2e\" stroke=\"#3f2710\" stroke-width=\"1.4\" stroke-linejoin=\"round\""
        }
        BodyKind::KeepTree => "fill=\"#3c7446\" stroke=\"#1d3f24\" stroke-width=\"1.2\"",
        BodyKind::Stump => "fill=\"#d9b98c\" stroke=\"#5a3c1a\" stroke-width=\"1.4\"",
        BodyKind::Wire => "fill=\"#1f2a44\" stroke=\"#1f2a44\" stroke-width=\"1.2\"",
        BodyKind::Person | BodyKind::Climber | BodyKind::ClimberLine | BodyKind::Feller => {
            "fill=\"#5b2a86\" stroke=\"#ffffff\" stroke-width=\"1\""
        }
    }
}

/// What a kind of thing is called in a legend.
pub(crate) fn body_word(kind: BodyKind) -> &'static str {
    match kind {
        BodyKind::Structure => "building or wall",
        BodyKind::KeepTree => "tree that stays",
        BodyKind::Person => "person",
        BodyKind::Vehicle => "vehicle",
        BodyKind::Path => "road or path",
        BodyKind::Wire => "overhead wire",
        BodyKind::Climber => "climber",
        BodyKind::ClimberLine => "climber's line",
        BodyKind::Feller => "feller",
        BodyKind::BarrierLog => "barrier log",
        BodyKind::Stump => "stump",
        BodyKind::Spar => "the rest of the tree",
    }
}

/// A target touched: a ring with a cross in it.
pub(crate) fn strike(svg: &mut Svg, (x, y): (f64, f64)) {
    svg.element(
        "path",
        format_args!(
            "d=\"M{0} {2}L{1} {3}M{0} {3}L{1} {2}M{4} {5}a6 6 0 1 0 12 0a6 6 0 1 0 -12 0\" \
             fill=\"#ffffff\" fill-opacity=\"0.75\" stroke=\"{ALARM}\" stroke-width=\"1.7\"",
            n(x - 3.6),
            n(x + 3.6),
            n(y - 3.6),
            n(y + 3.6),
            n(x - 6.0),
            n(y)
        ),
    );
}

/// A person: head and shoulders.
pub(crate) fn person(svg: &mut Svg, (x, y): (f64, f64)) {
    let paint = body_paint(BodyKind::Person);
    svg.element(
        "path",
        format_args!("d=\"M{} {}a6.5 7 0 0 1 13 0z\" {paint}", n(x - 6.5), n(y + 7.5)),
    );
    svg.element("circle", format_args!("cx=\"{}\" cy=\"{}\" r=\"4\" {paint}", n(x), n(y - 3.5)));
}

/// A trunk with a ring round it.
pub(crate) fn keep_tree(svg: &mut Svg, (x, y): (f64, f64), radius: f64) {
    let paint = body_paint(BodyKind::KeepTree);
    let (x, y) = (n(x), n(y));
    svg.element(
        "circle",
        format_args!(
            "cx=\"{x}\" cy=\"{y}\" r=\"{}\" fill=\"#3c7446\" fill-opacity=\"0.22\" \
             stroke=\"#1d3f24\" stroke-width=\"1.2\" stroke-dasharray=\"2.5 2\"",
            n(radius + 5.0)
        ),
    );
    svg.element("circle", format_args!("cx=\"{x}\" cy=\"{y}\" r=\"{}\" {paint}", n(radius)));
}

/// The stump: rings and a cross.
pub(crate) fn stump(svg: &mut Svg, (x, y): (f64, f64), radius: f64) {
    let paint = body_paint(BodyKind::Stump);
    svg.element(
        "circle",
        format_args!("cx=\"{}\" cy=\"{}\" r=\"{}\" {paint}", n(x), n(y), n(radius)),
    );
    svg.element(
        "circle",
        format_args!(
            "cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"none\" stroke=\"#5a3c1a\"",
            n(x),
            n(y),
            n(radius * 0.5)
        ),
    );
    svg.element(
        "path",
        format_args!(
            "d=\"M{0} {2}H{1}M{3} {4}V{5}\" stroke=\"#5a3c1a\" stroke-width=\"1\"",
            n(x - radius * 1.5),
            n(x + radius * 1.5),
            n(y),
            n(x),
            n(y - radius * 1.5),
            n(y + radius * 1.5)
        ),
    );
}

/// A wire: long dashes with a small ring at either end.
pub(crate) fn wire(svg: &mut Svg, from: (f64, f64), to: (f64, f64)) {
    svg.polyline(
        &[from, to],
        false,
        format_args!(
            "fill=\"none\" stroke=\"#1f2a44\" stroke-width=\"2\" stroke-dasharray=\"14 4 2 4\""
        ),
    );
    for (x, y) in [from, to] {
        svg.element(
            "circle",
            format_args!(
                "cx=\"{}\" cy=\"{}\" r=\"3\" fill=\"#ffffff\" stroke=\"#1f2a44\" \
                 stroke-width=\"1.6\"",
                n(x),
                n(y)
            ),
        );
    }
}

/// How many hatches there are.
pub(crate) const HATCHES: usize = 6;

/// Defines the hatches `hatch0` … as patterns.
pub(crate) fn define_hatches(svg: &mut Svg, used: usize) {
    const DRAWINGS: [(&str, &str, &str); HATCHES] = [
        ("12", "#7a5230", "<path d=\"M0 12L12 0M-3 3L3 -3M9 15L15 9\"/>"),
        ("11", "#2f6f4f", "<path d=\"M2 8V3M5.5 6V2M8.5 9V4\"/>"),
        ("12", "#2a5d8f", "<path d=\"M0 4q3 -3 6 0t6 0M0 10q3 -3 6 0t6 0\" fill=\"none\"/>"),
        (
            "9",
            "#555555",
            "<circle cx=\"2.5\" cy=\"2.5\" r=\"0.9\"/><circle cx=\"7\" cy=\"7\" r=\"0.9\"/>",
        ),
        ("12", "#8a6a00", "<path d=\"M0 6H12M6 0V12\"/>"),
        ("12", "#6b3a6b", "<path d=\"M0 0L12 12M9 -3L15 3M-3 9L3 15\"/>"),
    ];
    for (i, (size, colour, drawing)) in DRAWINGS.iter().enumerate().take(used) {
        svg.define(&format!(
            "<pattern id=\"hatch{i}\" width=\"{size}\" height=\"{size}\" \
             patternUnits=\"userSpaceOnUse\"><rect width=\"{size}\" height=\"{size}\" \
             fill=\"{colour}\" fill-opacity=\"0.08\"/><g stroke=\"{colour}\" \
             stroke-opacity=\"0.6\" stroke-width=\"0.9\">{drawing}</g></pattern>"
        ));
    }
}
