//! What the signs on the brief's plan mean, as a strip below it.

use crate::{
    outcome::Mode,
    report::{
        font, marks,
        svg::{Svg, TextStyle, n},
    },
};

const SIZE: f64 = 13.0;
const LINE: f64 = 20.0;
const SIGN: f64 = 34.0;
const GAP: f64 = 14.0;

/// A sign of the strip.
#[derive(Clone, Copy)]
enum Sign {
    Mode(Mode),
    Reaching,
    Strike,
    Pass,
    Face,
    Stump,
}

const SIGNS: [(Sign, &str); 9] = [
    (Sign::Face, "meant to fall"),
    (Sign::Mode(Mode::Stayed), "stayed"),
    (Sign::Mode(Mode::Slid), "slid"),
    (Sign::Mode(Mode::Rolled), "rolled"),
    (Sign::Mode(Mode::Tumbled), "tumbled end over end"),
    (Sign::Reaching, "reaches a target"),
    (Sign::Strike, "touches it here"),
    (Sign::Pass, "1 in 100 pieces pass"),
    (Sign::Stump, "stump"),
];

/// The strip, `width` px wide and as high as it takes, and that height.
pub(super) fn key(width: f64) -> (Svg, f64) {
    let mut svg = Svg::new(width, 1.0);
    let (mut x, mut y) = (0.0, 0.5 * LINE);
    for (sign, text) in SIGNS {
        let long = SIGN + font::text_width(text, SIZE, false) + GAP;
        if x > 0.0 && x + long - GAP > width {
            x = 0.0;
            y += LINE;
        }
        let middle = (x + 0.5 * SIGN - 4.0, y);
        let line = |dashes: &str, colour: &str, width: f64| {
            format!(
                "d=\"M{} {}h{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" \
                 stroke-dasharray=\"{dashes}\"",
                n(x + 1.0),
                n(y),
                n(SIGN - 8.0)
            )
        };
        match sign {
            Sign::Mode(mode) => marks::mode_mark(&mut svg, mode, middle, true, 0.9),
            Sign::Reaching => {
                let drawn = line(marks::ALARM_DASHES, marks::ALARM, 2.4);
                svg.element("path", format_args!("{drawn}"));
            }
            Sign::Strike => marks::strike(&mut svg, middle),
            Sign::Pass => {
                let drawn = line("none", marks::PASS, 2.0);
                svg.element("path", format_args!("{drawn}"));
            }
            Sign::Face => crate::report::plan::arrow(
                &mut svg,
                (x + 1.0, y),
                (x + SIGN - 7.0, y),
                marks::FACE,
                2.4,
            ),
            Sign::Stump => marks::stump(&mut svg, middle, 5.0),
        }
        svg.text(x + SIGN, y + 4.5, text, TextStyle { size: SIZE, ..TextStyle::default() });
        x += long;
    }
    (svg, y + 0.5 * LINE)
}

/// The strip as a picture of its own.
pub(super) fn picture(width: f64) -> String {
    let (strip, height) = key(width);
    let mut svg = Svg::new(width, height);
    svg.append(strip);
    svg.finish("What the signs mean")
}
