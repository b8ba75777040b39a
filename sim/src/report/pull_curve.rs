//! The pull at the stem against how far it has turned, from first tension to past balance.

use super::{
    marks::INK,
    stamp::{NOT_COMPARED, PLANNING_AID},
    svg::{Anchor, Svg, TextStyle, n},
    units::{Units, decimals},
};
use crate::felling::{Curve, Felling};

/// Size of the picture, px.
const SIZE: [f64; 2] = [900.0, 560.0];
/// The drawing inside it: left, top, right, bottom, px.
const INSIDE: [f64; 4] = [96.0, 92.0, 870.0, 440.0];
const FAINT: &str = "#c9d1cc";
const BAND: &str = "#d7e3f1";
const STILL: &str = "#0b4f8a";
const GUST: &str = "#a03c00";
const LIMIT: &str = "#5b5f66";

/// Dashes of the level lines, in the order of [`Scales::levels`].
const DASHES: [&str; 3] = ["2 3", "9 4", "9 3 2 3"];

/// How a curve is laid out, on paper and on a screen.
#[derive(Clone, Debug, PartialEq)]
pub struct Scales {
    /// The turn at the right edge, rad.
    pub reach_rad: f64,
    /// The pull at the upper edge, N.
    pub most_n: f64,
    /// Between ticks of the turn, rad.
    pub turn_step_rad: f64,
    /// Between ticks of the pull, N: round in the reader's own unit.
    pub pull_step_n: f64,
    /// What limits the pull: in words and N; above the upper edge some may be.
    pub levels: [(&'static str, Option<f64>); 3],
    /// First tension, N.
    pub first_tension_n: Option<f64>,
    /// The turn from which on it goes by itself, rad, if it is on the picture.
    pub balance_rad: Option<f64>,
}

impl Scales {
    /// The layout of one of a cut's curves.
    #[must_use]
    pub fn of(felling: &Felling, curve: &Curve, units: Units) -> Self {
        let levels = [
            ("rope's working load", curve.working_load_n),
            ("pulled with, at most", curve.told_pull_n),
            ("vehicle gives", curve.vehicle_n),
        ];
        let reach_rad = curve.turn_rad.last().copied().unwrap_or(1.0);
        let high = |all: &[f64]| all.iter().copied().filter(|n| n.is_finite()).fold(0.0, f64::max);
        // Limits not far above the pulls are worth the room.
        let needed_n = high(&curve.high_n).max(1.0);
        let near = levels.iter().filter_map(|level| level.1).filter(|n| *n < 2.0 * needed_n);
        let most_n = 1.1 * near.fold(needed_n, f64::max);
        let reach_deg = reach_rad.to_degrees();
        let step_deg = [1.0, 2.0, 5.0, 10.0].into_iter().find(|s| reach_deg / s <= 12.0);
        let unit_n = match units {
            Units::Metric => 1000.0,
            Units::Imperial => 4.448_221_615,
        };
        // Five to ten of them.
        let mut step = 1e-3;
        let factors = [2.0, 2.5, 2.0];
        let mut k = 0;
        while most_n / unit_n / step > 8.0 {
            step *= factors[k % 3];
            k += 1;
        }
        let told = |name: &str| {
            let key = format!("pull.{}.{name}", curve.line.as_deref().unwrap_or("level"));
            felling.figures.iter().find(|f| f.key == key).map(|f| f.told).filter(|x| x.is_finite())
        };
        Self {
            reach_rad,
            most_n,
            turn_step_rad: step_deg.unwrap_or(20.0).to_radians(),
            pull_step_n: step * unit_n,
            levels,
            first_tension_n: told("first_tension"),
            balance_rad: told("balance").filter(|turn| *turn < reach_rad),
        }
    }
}

/// One curve as SVG.
#[must_use]
pub fn pull_curve(felling: &Felling, curve: &Curve, date: &str, units: Units) -> String {
    let mut svg = Svg::new(SIZE[0], SIZE[1]);
    let name = curve.line.as_deref().unwrap_or("a level line two thirds up");
    let title = format!("{}: cut {}, {name}", felling.scene, felling.cut);
    svg.text(24.0, 36.0, &title, TextStyle { size: 19.0, bold: true, ..TextStyle::default() });
    let about = "Pull in the rope at the stem that holds it, by how far it has turned from where it \
                 stands";
    svg.text(24.0, 60.0, about, TextStyle::default());

    let scales = Scales::of(felling, curve, units);
    let Scales { reach_rad, most_n, .. } = scales;
    let [left, top, right, bottom] = INSIDE;
    let x = |rad: f64| left + (right - left) * rad / reach_rad;
    let y = |n: f64| bottom - (bottom - top) * (n / most_n).clamp(0.0, 1.0);
    let mut band: Vec<(f64, f64)> =
        curve.turn_rad.iter().zip(&curve.high_n).map(|(t, n)| (x(*t), y(*n))).collect();
    let low = curve.turn_rad.iter().zip(&curve.low_n).map(|(t, n)| (x(*t), y(*n)));
    band.extend(low.rev());
    svg.polyline(&band, true, format_args!("fill=\"{BAND}\" stroke=\"none\""));
    axes(&mut svg, &scales, units, &x, &y);
    for (pulls, colour, dashes) in [(&curve.still_n, STILL, ""), (&curve.gust_n, GUST, "7 4")] {
        let points: Vec<(f64, f64)> = curve
            .turn_rad
            .iter()
            .zip(pulls.iter())
            .filter_map(|(t, n)| Some((x(*t), y((*n)?))))
            .collect();
        svg.polyline(
            &points,
            false,
            format_args!(
                "fill=\"none\" stroke=\"{colour}\" stroke-width=\"2.5\" \
                 stroke-dasharray=\"{dashes}\""
            ),
        );
    }
    let small = TextStyle { size: 12.0, ..TextStyle::default() };
    if let Some(first_n) = scales.first_tension_n {
        let (at, words) = ((x(0.0), y(first_n)), units.force(first_n));
        svg.element(
            "circle",
            format_args!("cx=\"{}\" cy=\"{}\" r=\"5\" fill=\"{STILL}\"", n(at.0), n(at.1)),
        );
        let words = format!("first tension, before the back cut: {words}");
        let halo = TextStyle { halo: Some("#ffffff"), ..small };
        svg.text(at.0 + 10.0, at.1 + 4.0, &words, halo);
    }
    if let Some(balance_rad) = scales.balance_rad {
        let at = x(balance_rad);
        svg.element(
            "circle",
            format_args!("cx=\"{}\" cy=\"{}\" r=\"5\" fill=\"{STILL}\"", n(at), n(bottom)),
        );
        let words = format!("goes by itself from {}°", decimals(balance_rad.to_degrees(), 1));
        let halo = TextStyle { anchor: Anchor::Middle, halo: Some("#ffffff"), ..small };
        svg.text(at, bottom - 12.0, &words, halo);
    }
    let mut beyond = Vec::new();
    for ((label, n), dashes) in scales.levels.into_iter().zip(DASHES) {
        let Some(n) = n else { continue };
        let words = format!("{label} {}", units.force(n));
        if n > most_n {
            beyond.push(words);
            continue;
        }
        svg.polyline(
            &[(left, y(n)), (right, y(n))],
            false,
            format_args!("stroke=\"{LIMIT}\" stroke-width=\"1.5\" stroke-dasharray=\"{dashes}\""),
        );
        let halo = TextStyle { anchor: Anchor::End, halo: Some("#ffffff"), ..small };
        svg.text(right - 4.0, y(n) - 5.0, &words, halo);
    }
    legend(&mut svg, felling.draws, &beyond);
    let short: String = felling.scene_hash.chars().take(12).collect();
    let stamp = format!(
        "Scene ({short}) · felling {} · seed {} · {date} · {NOT_COMPARED}",
        felling.version, felling.seed
    );
    svg.text(24.0, SIZE[1] - 30.0, &stamp, small);
    svg.text(24.0, SIZE[1] - 12.0, PLANNING_AID, small);
    svg.finish(&title)
}

fn axes(
    svg: &mut Svg,
    scales: &Scales,
    units: Units,
    x: &dyn Fn(f64) -> f64,
    y: &dyn Fn(f64) -> f64,
) {
    let [left, top, right, bottom] = INSIDE;
    let faint = format!("stroke=\"{FAINT}\" stroke-width=\"1\"");
    let style = TextStyle { size: 12.0, ..TextStyle::default() };
    for i in 0..=(scales.reach_rad / scales.turn_step_rad) as u32 {
        let rad = f64::from(i) * scales.turn_step_rad;
        let at = x(rad);
        svg.polyline(&[(at, top), (at, bottom)], false, format_args!("{faint}"));
        let middle = TextStyle { anchor: Anchor::Middle, ..style };
        svg.text(at, bottom + 18.0, &format!("{}°", decimals(rad.to_degrees(), 0)), middle);
    }
    for i in 0..=(scales.most_n / scales.pull_step_n) as u32 {
        let n = f64::from(i) * scales.pull_step_n;
        svg.polyline(&[(left, y(n)), (right, y(n))], false, format_args!("{faint}"));
        let end = TextStyle { anchor: Anchor::End, ..style };
        svg.text(left - 8.0, y(n) + 4.0, &units.force(n), end);
    }
    svg.polyline(
        &[(left, top), (left, bottom), (right, bottom)],
        false,
        format_args!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.5\""),
    );
    let middle = TextStyle { anchor: Anchor::Middle, ..TextStyle::default() };
    svg.text(0.5 * (left + right), bottom + 38.0, "turned from where it stands", middle);
}

fn legend(svg: &mut Svg, draws: u32, beyond: &[String]) {
    let y = SIZE[1] - 62.0;
    let line = |svg: &mut Svg, at: f64, colour: &str, dashes: &str, words: &str| {
        svg.polyline(
            &[(at, y - 4.0), (at + 34.0, y - 4.0)],
            false,
            format_args!("stroke=\"{colour}\" stroke-width=\"2.5\" stroke-dasharray=\"{dashes}\""),
        );
        svg.text(at + 42.0, y, words, TextStyle { size: 12.0, ..TextStyle::default() });
    };
    line(svg, 24.0, STILL, "", "still air, as told");
    line(svg, 190.0, GUST, "7 4", "in the gust, as told");
    svg.element(
        "rect",
        format_args!("x=\"370\" y=\"{}\" width=\"34\" height=\"12\" fill=\"{BAND}\"", y - 11.0),
    );
    let words = format!("least in still air to greatest in the gust, {draws} draws");
    svg.text(412.0, y, &words, TextStyle { size: 12.0, ..TextStyle::default() });
    if !beyond.is_empty() {
        let words = format!("Above the picture: {}", beyond.join("; "));
        svg.text(24.0, y + 17.0, &words, TextStyle { size: 12.0, ..TextStyle::default() });
    }
}
