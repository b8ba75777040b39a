//! The column beside the map: what was reached, how pieces went, and what every sign means.

use super::{PassLine, Plan, lines::pass_dashes, map::arrow, rings};
use crate::{
    drop::Ending,
    outcome::Reach,
    report::{
        font, marks,
        svg::{Svg, TextStyle, n},
        words,
    },
    site::BodyKind,
};

/// What the legend must know of the map.
pub(crate) struct Contents<'a> {
    pub(crate) pass_lines: &'a [PassLine],
    pub(crate) reaching_drawn: usize,
    pub(crate) quiet_drawn: usize,
    /// Step between contours, m; 0 without any.
    pub(crate) interval_m: f64,
}

const SIGN_WIDTH: f64 = 46.0;
const LINE: f64 = 18.0;

/// A column that grows downward.
struct Column<'a> {
    svg: &'a mut Svg,
    left: f64,
    width: f64,
    y: f64,
}

impl Column<'_> {
    fn heading(&mut self, text: &str) {
        self.y += 12.0;
        self.svg.text(
            self.left,
            self.y + 8.0,
            text,
            TextStyle { size: 16.0, bold: true, ..TextStyle::default() },
        );
        self.svg.element(
            "path",
            format_args!(
                "d=\"M{} {}h{}\" stroke=\"#b9bdba\" stroke-width=\"0.8\"",
                n(self.left),
                n(self.y + 15.0),
                n(self.width)
            ),
        );
        self.y += 32.0;
    }

    /// Wrapped text from `indent` px in.
    fn text(&mut self, text: &str, indent: f64, bold: bool, fill: &str) {
        for line in font::wrap(text, 14.0, bold, self.width - indent) {
            self.svg.text(
                self.left + indent,
                self.y + 4.0,
                &line,
                TextStyle { size: 14.0, bold, fill, ..TextStyle::default() },
            );
            self.y += LINE;
        }
    }

    /// A sign with what it means.
    fn sign(&mut self, draw: impl FnOnce(&mut Svg, (f64, f64)), text: &str) {
        draw(self.svg, (self.left + SIGN_WIDTH / 2.0 - 4.0, self.y - 0.5));
        self.text(text, SIGN_WIDTH, false, marks::INK);
        self.y += 4.0;
    }
}

/// Draws the legend; returns where it ends, px.
pub(crate) fn draw(
    svg: &mut Svg,
    input: &Plan<'_>,
    contents: &Contents<'_>,
    (left, top): (f64, f64),
    width: f64,
) -> f64 {
    let mut column = Column { svg, left, width, y: top };
    if !input.drops.is_empty() {
        column.y -= 12.0;
        reached(&mut column, input);
        modes(&mut column, input);
        tracks(&mut column, input, contents);
    }
    if !input.rings.is_empty() {
        if input.drops.is_empty() {
            column.y -= 12.0;
        }
        rings(&mut column, input);
    }
    things(&mut column, input);
    ground(&mut column, input, contents);
    column.y
}

fn reached(column: &mut Column<'_>, input: &Plan<'_>) {
    column.heading("What was reached");
    let targets = input.site.bodies.iter().filter(|b| b.is_target);
    for (index, target) in targets.enumerate() {
        let name = words::name(&target.id);
        let counted = input.forecast.and_then(|f| {
            let drops =
                f.sat_back + f.modes.stayed + f.modes.slid + f.modes.rolled + f.modes.tumbled;
            f.targets.iter().find(|t| t.id == target.id).map(|t| (t, drops))
        });
        let (hit, headline, second) = match counted {
            Some((t, drops)) => {
                let bound = if t.reached == 0 && t.high < 1.0 {
                    format!(": {} by counting alone", words::at_most(t.high))
                } else {
                    String::new()
                };
                let second = format!("{}{bound}", words::as_told(t, drops));
                (t.reached > 0, words::over_grounds(t.over_grounds), second)
            }
            None => {
                let is = |r: &&Reach, f: fn(&Reach) -> bool| f(r);
                let reaches = || input.drops.iter().filter_map(|d| d.outcome.reaches.get(index));
                let hits =
                    reaches().filter(|r| is(r, |r| matches!(r, Reach::Reached { .. }))).count();
                let lost = reaches().filter(|r| is(r, |r| matches!(r, Reach::Unknown))).count();
                let mut text = format!("{hits} of {} drops", input.drops.len());
                if lost > 0 {
                    text.push_str(&format!(", {lost} more can't be told"));
                }
                (hits > 0, text, String::new())
            }
        };
        let fill = if hit { marks::ALARM } else { marks::INK };
        if hit {
            // A second sign beside the colour.
            let (x, y) = (column.left, column.y);
            column.svg.polyline(
                &[(x, y + 4.0), (x + 5.5, y - 7.0), (x + 11.0, y + 4.0)],
                true,
                format_args!("fill=\"{}\"", marks::ALARM),
            );
        }
        column.text(&name, if hit { 17.0 } else { 0.0 }, true, fill);
        column.text(&headline, 17.0, false, marks::INK);
        if !second.is_empty() {
            column.text(&second, 17.0, false, marks::SOFT_INK);
        }
        column.y += 5.0;
    }
}

fn modes(column: &mut Column<'_>, input: &Plan<'_>) {
    column.heading(&format!("How {} drops went, and where they ended", input.drops.len()));
    let half = column.width / 2.0;
    let y = column.y;
    for (i, (mode, word)) in marks::MODES.into_iter().enumerate() {
        let count = input.drops.iter().filter(|d| d.outcome.mode == mode).count();
        let (x, y) = (column.left + half * (i % 2) as f64, y + 22.0 * (i / 2) as f64);
        marks::mode_mark(column.svg, mode, (x + 16.0, y - 0.5), true, 1.0);
        column.svg.text(
            x + 36.0,
            y + 4.0,
            &format!("{word}, {count}"),
            TextStyle { size: 14.0, ..TextStyle::default() },
        );
    }
    column.y = y + 48.0;
    if let Some(sat_back) = input.forecast.map(|f| f.sat_back).filter(|&n| n > 0) {
        column.text(&format!("{sat_back} more sat back and did not leave"), 0.0, false, marks::INK);
        column.y += 4.0;
    }
    let unfinished = input.drops.iter().filter(|d| d.outcome.ending != Ending::Rest).count();
    if unfinished > 0 {
        let mode = input
            .drops
            .iter()
            .find(|d| d.outcome.ending != Ending::Rest)
            .map_or(crate::outcome::Mode::Rolled, |d| d.outcome.mode);
        column.sign(
            |svg, (x, y)| {
                arrow(svg, (x - 6.0, y), (x + 12.0, y), marks::INK, 1.4);
                marks::mode_mark(svg, mode, (x - 6.0, y), false, 1.0);
            },
            &format!("hollow, with an arrow: {unfinished} not at rest, went at least so far"),
        );
    }
}

fn tracks(column: &mut Column<'_>, input: &Plan<'_>, contents: &Contents<'_>) {
    let reaching = input.drops.iter().filter(|d| d.reaches()).count();
    let quiet = input.drops.len() - reaching;
    column.heading("Tracks and how far pieces get");
    let line = |svg: &mut Svg, (x, y): (f64, f64), paint: String| {
        svg.polyline(&[(x - 19.0, y), (x + 15.0, y)], false, format_args!("fill=\"none\" {paint}"));
    };
    if contents.reaching_drawn > 0 {
        column.sign(
            |svg, p| {
                line(
                    svg,
                    p,
                    format!(
                        "stroke=\"{}\" stroke-width=\"2.4\" stroke-dasharray=\"{}\"",
                        marks::ALARM,
                        marks::ALARM_DASHES
                    ),
                );
            },
            &format!("reaches a target: {}", drawn(contents.reaching_drawn, reaching)),
        );
    }
    if contents.reaching_drawn > 0 {
        column.sign(marks::strike, "where it first touches one");
    }
    if contents.quiet_drawn > 0 {
        column.sign(
            |svg, p| line(svg, p, format!("stroke=\"{}\" stroke-width=\"1\"", marks::QUIET)),
            &format!("reaches none: {}", drawn(contents.quiet_drawn, quiet)),
        );
    }
    for pass in contents.pass_lines {
        column.sign(
            |svg, p| {
                line(
                    svg,
                    p,
                    format!(
                        "stroke=\"{}\" stroke-width=\"2.4\" stroke-dasharray=\"{}\"",
                        marks::PASS,
                        pass_dashes(pass.one_in)
                    ),
                );
            },
            &format!("1 in {} pieces pass this line", pass.one_in),
        );
    }
    if !contents.pass_lines.is_empty() {
        column.text(
            "Lines are at one distance from the stump, measured level, across the directions in \
             which nine in ten pieces end, on the ground as you told it.",
            0.0,
            false,
            marks::SOFT_INK,
        );
    }
    if contents.pass_lines.iter().any(|l| l.at_least) {
        column.text(
            "“At least”: pieces that did not come to rest ended short of the line.",
            0.0,
            false,
            marks::SOFT_INK,
        );
    }
}

fn rings(column: &mut Column<'_>, input: &Plan<'_>) {
    column.heading("How far it can reach");
    for ring in input.rings {
        column.sign(|svg, at| rings::sign(svg, at, ring), &ring.words);
    }
}

fn drawn(drawn: usize, all: usize) -> String {
    if drawn == all { format!("all {all} drawn") } else { format!("{drawn} of {all} drawn") }
}

fn things(column: &mut Column<'_>, input: &Plan<'_>) {
    column.heading("Signs");
    if !input.faces.is_empty() {
        column.sign(
            |svg, (x, y)| arrow(svg, (x - 19.0, y), (x + 15.0, y), "#7c3f00", 3.0),
            "the way the face points",
        );
    }
    column.sign(|svg, p| marks::stump(svg, p, 6.0), "stump");
    let order = [
        BodyKind::Structure,
        BodyKind::Path,
        BodyKind::Wire,
        BodyKind::KeepTree,
        BodyKind::BarrierLog,
        BodyKind::Vehicle,
    ];
    for kind in order {
        if input.site.bodies.iter().any(|b| b.kind == kind) {
            column.sign(|svg, p| body_sign(svg, kind, p), marks::body_word(kind));
        }
    }
    if input.site.bodies.iter().any(|b| b.kind.is_person()) {
        column.sign(marks::person, "person");
    }
}

fn body_sign(svg: &mut Svg, kind: BodyKind, (x, y): (f64, f64)) {
    match kind {
        BodyKind::KeepTree => marks::keep_tree(svg, (x, y), 4.0),
        BodyKind::Wire => marks::wire(svg, (x - 17.0, y), (x + 15.0, y)),
        _ => {
            let half = if kind == BodyKind::BarrierLog { 3.0 } else { 6.5 };
            svg.element(
                "rect",
                format_args!(
                    "x=\"{}\" y=\"{}\" width=\"34\" height=\"{}\" {}",
                    n(x - 19.0),
                    n(y - half),
                    n(2.0 * half),
                    marks::body_paint(kind)
                ),
            );
        }
    }
}

fn ground(column: &mut Column<'_>, input: &Plan<'_>, contents: &Contents<'_>) {
    column.heading("Ground");
    for (i, patch) in input.site.patches.iter().enumerate().filter(|(_, p)| p.within_m.is_none()) {
        let words = input.patch_words.get(i).unwrap_or(&patch.id);
        column.sign(
            |svg, (x, y)| {
                svg.element(
                    "rect",
                    format_args!(
                        "x=\"{}\" y=\"{}\" width=\"34\" height=\"15\" fill=\"url(#hatch{})\" \
                         stroke=\"#6d6455\" stroke-width=\"0.9\" stroke-dasharray=\"1.5 2.5\"",
                        n(x - 19.0),
                        n(y - 7.5),
                        i % marks::HATCHES
                    ),
                );
            },
            words,
        );
    }
    let elsewhere = if input.site.patches.is_empty() { "everywhere" } else { "elsewhere" };
    column.text(&format!("{elsewhere}: {}", input.ground_words), 0.0, false, marks::INK);
    column.y += 4.0;
    if contents.interval_m > 0.0 {
        column.text(
            &format!(
                "Contours every {} {unit}, heights in {unit} above (+) or below (−) the stump. \
                 Up is {}.",
                super::tidy(input.units, contents.interval_m),
                input.north_words,
                unit = input.units.distance_name()
            ),
            0.0,
            false,
            marks::SOFT_INK,
        );
    }
}
