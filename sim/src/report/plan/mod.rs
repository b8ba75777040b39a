//! The plan: the bank from above with what stands on it and where pieces go.

mod frame;
mod labels;
mod legend;
mod passing;
mod relief;

use glam::{DVec2, DVec3};

use self::{
    frame::Frame,
    labels::{Box, Labels, Placed},
};
use super::{
    font, marks, outline,
    stamp::{self, Stamp},
    svg::{Anchor, Svg, TextStyle, n},
    units::Units,
    words,
};
use crate::{
    drop::{Against, Ending, Track},
    forecast::result::CutForecast,
    outcome::{Outcome, Reach},
    site::{Answer, Body, BodyKind, Shape, Site},
};

pub use passing::{PassLine, farthest_m, pass_lines};

/// One drop to be drawn.
#[derive(Clone, Copy, Debug)]
pub struct DropView<'a> {
    /// What it amounts to.
    pub outcome: &'a Outcome,
    /// Its track, if it was kept.
    pub track: Option<&'a Track>,
}

impl DropView<'_> {
    /// It touched a target.
    #[must_use]
    pub fn reaches(&self) -> bool {
        self.outcome.reaches.iter().any(|r| matches!(r, Reach::Reached { .. }))
    }
}

/// What a plan shows.
#[derive(Clone, Debug)]
pub struct Plan<'a> {
    /// First line.
    pub title: &'a str,
    /// Second line: cut and piece in words.
    pub subtitle: &'a str,
    /// Where it comes from.
    pub stamp: &'a Stamp,
    /// Units of the scene.
    pub units: Units,
    /// Terrain, patches and bodies.
    pub site: &'a Site,
    /// The ground outside all patches, in the user's words.
    pub ground_words: &'a str,
    /// Per patch of the site, its ground in the user's words (its id where missing).
    pub patch_words: &'a [String],
    /// What north is, as "true north".
    pub north_words: &'a str,
    /// Where the face points, clockwise from north, rad.
    pub face_azimuth_rad: Option<f64>,
    /// Drops that left the spar.
    pub drops: &'a [DropView<'a>],
    /// Their counts; without them the plan counts the drops it has.
    pub forecast: Option<&'a CutForecast>,
}

const PAGE_WIDTH: f64 = 1480.0;
const MARGIN: f64 = 36.0;
const MAP_WIDTH: f64 = 1010.0;
const MAP_TOP: f64 = 96.0;
/// Tracks drawn at most, of those that reach something and of the others each.
const MOST_TRACKS: usize = 60;

/// Draws the plan as SVG.
#[must_use]
pub fn plan(input: &Plan<'_>) -> String {
    let lines = pass_lines(input.site.stump_m, input.drops);
    let spread = passing::spread(input.site.stump_m, input.drops);
    let (reaching, quiet) = chosen_tracks(input.drops);
    let legend_left = MARGIN + MAP_WIDTH + 30.0;
    let draw_legend = |interval_m: f64| {
        let mut side = Svg::new(1.0, 1.0);
        let contents = legend::Contents {
            pass_lines: &lines,
            reaching_drawn: reaching.len(),
            quiet_drawn: quiet.len(),
            interval_m,
        };
        let width = PAGE_WIDTH - MARGIN - legend_left;
        let bottom = legend::draw(&mut side, input, &contents, (legend_left, MAP_TOP + 4.0), width);
        (side, bottom)
    };
    // The legend is measured first: the map is as high.
    let least_height = draw_legend(1.0).1 - MAP_TOP;
    let frame = Frame::around(
        &extent(input, &lines, spread),
        (MARGIN, MAP_TOP),
        MAP_WIDTH,
        least_height.max(0.68 * MAP_WIDTH),
    );
    let mut map = Svg::new(1.0, 1.0);
    let interval_m = draw_map(&mut map, input, &frame, &lines, spread, &reaching, &quiet);
    let (side, legend_bottom) = draw_legend(interval_m);
    let bottom = legend_bottom.max(frame.window.bottom);

    let mut svg = Svg::new(PAGE_WIDTH, bottom + 78.0);
    marks::define_hatches(&mut svg, marks::HATCHES.min(input.site.patches.len()));
    let w = &frame.window;
    let (left, top) = (n(w.left), n(w.top));
    let (width, height) = (n(frame.width_px()), n(frame.height_px()));
    let area = format!("x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\"");
    svg.define(&format!("<clipPath id=\"map\"><rect {area}/></clipPath>"));
    svg.text(
        MARGIN,
        46.0,
        input.title,
        TextStyle { size: 28.0, bold: true, ..TextStyle::default() },
    );
    svg.text(
        MARGIN,
        74.0,
        input.subtitle,
        TextStyle { size: 16.0, fill: marks::SOFT_INK, ..TextStyle::default() },
    );
    svg.open(format_args!("clip-path=\"url(#map)\""));
    svg.append(map);
    svg.close();
    svg.element(
        "rect",
        format_args!("{area} fill=\"none\" stroke=\"{}\" stroke-width=\"1.4\"", marks::INK),
    );
    svg.append(side);
    footer(&mut svg, input.stamp, bottom + 28.0);
    svg.finish(input.title)
}

/// The caution first, then where the picture comes from.
pub(super) fn footer(svg: &mut Svg, stamp: &Stamp, y: f64) {
    let first = TextStyle { size: 14.0, bold: true, ..TextStyle::default() };
    svg.text(MARGIN, y, stamp::NOT_COMPARED, first);
    let after = MARGIN + font::text_width(stamp::NOT_COMPARED, 14.0, true) + 6.0;
    svg.text(after, y, stamp::PLANNING_AID, TextStyle { size: 14.0, ..TextStyle::default() });
    svg.text(
        MARGIN,
        y + 22.0,
        &stamp.line(),
        TextStyle { size: 13.0, fill: marks::SOFT_INK, ..TextStyle::default() },
    );
}

/// What must be in the window.
fn extent(input: &Plan<'_>, lines: &[PassLine], spread: Option<(f64, f64)>) -> Vec<DVec2> {
    let stump = input.site.stump_m.truncate();
    let mut points = vec![stump];
    points.extend(input.drops.iter().map(|d| d.outcome.end_m.truncate()));
    for body in &input.site.bodies {
        points.extend(outline::body_outlines(body, &|p| p.truncate()).into_iter().flatten());
    }
    if let (Some((from, to)), Some(line)) = (spread, lines.last()) {
        points.extend([from, (from + to) / 2.0, to].map(|a| stump + polar(line.distance_m, a)));
    }
    points
}

fn polar(radius_m: f64, bearing: f64) -> DVec2 {
    DVec2::new(libm::cos(bearing), libm::sin(bearing)) * radius_m
}

/// Tracks to draw, evenly picked: those that reach a target, and the others.
fn chosen_tracks<'a>(drops: &[DropView<'a>]) -> (Vec<DropView<'a>>, Vec<DropView<'a>>) {
    let (reaching, quiet): (Vec<_>, Vec<_>) =
        drops.iter().filter(|d| d.track.is_some()).copied().partition(DropView::reaches);
    let thin = |all: Vec<DropView<'a>>| {
        let stride = all.len().div_ceil(MOST_TRACKS).max(1);
        all.into_iter().step_by(stride).collect()
    };
    (thin(reaching), thin(quiet))
}

/// Draws everything inside the window; returns the step between contours, m.
fn draw_map(
    svg: &mut Svg,
    input: &Plan<'_>,
    frame: &Frame,
    lines: &[PassLine],
    spread: Option<(f64, f64)>,
    reaching: &[DropView<'_>],
    quiet: &[DropView<'_>],
) -> f64 {
    let site = input.site;
    relief::shade(svg, frame, &site.terrain);
    for (i, patch) in site.patches.iter().enumerate() {
        svg.polyline(
            &frame.path(&patch.outline_m),
            true,
            format_args!(
                "fill=\"url(#hatch{})\" stroke=\"#6d6455\" stroke-width=\"0.9\" \
                 stroke-dasharray=\"1.5 2.5\"",
                i % marks::HATCHES
            ),
        );
    }
    let (bold, interval_m) =
        relief::draw_contours(svg, frame, &site.terrain, site.stump_m.z, input.units);
    let mut map_labels = Labels::new(Box {
        left: frame.window.left + 4.0,
        top: frame.window.top + 4.0,
        right: frame.window.right - 4.0,
        bottom: frame.window.bottom - 4.0,
    });

    for body in site.bodies.iter().filter(|b| b.kind == BodyKind::Path) {
        draw_body(svg, frame, body);
    }
    draw_tracks(svg, frame, quiet, false, &mut map_labels);
    for body in site.bodies.iter().filter(|b| b.kind != BodyKind::Path) {
        draw_body(svg, frame, body);
    }
    draw_tracks(svg, frame, reaching, true, &mut map_labels);
    let stump = frame.page(site.stump_m.truncate());
    draw_ends(svg, frame, input.drops, site.stump_m, &mut map_labels);
    draw_strikes(svg, frame, site, reaching);
    if let Some(azimuth) = input.face_azimuth_rad {
        face_arrow(svg, stump, azimuth, &mut map_labels);
    }
    marks::stump(svg, stump, 6.0);
    map_labels.take(Box::around(stump.0, stump.1, 10.0, 10.0));

    furniture(svg, input, frame, &mut map_labels);
    let mut named = Named { svg: &mut *svg, labels: &mut map_labels };
    for body in &site.bodies {
        name_body(&mut named, frame, body, stump);
    }
    let together: Vec<&str> = site
        .bodies
        .iter()
        .filter(|b| {
            is_person(b.kind) && body_box(frame, b).is_some_and(|a| near(a.middle(), stump))
        })
        .map(|b| marks::body_word(b.kind))
        .collect();
    let stump_name = [&["stump"], &together[..]].concat().join(", ");
    named.write(&[Box::around(stump.0, stump.1, 10.0, 10.0)], &stump_name, true);
    draw_pass_lines(svg, frame, input, lines, spread, &mut map_labels);
    relief::label_contours(svg, &bold, &mut map_labels);
    interval_m
}

fn near(a: (f64, f64), b: (f64, f64)) -> bool {
    (a.0 - b.0).hypot(a.1 - b.1) < 18.0
}

fn is_person(kind: BodyKind) -> bool {
    matches!(kind, BodyKind::Person | BodyKind::Climber | BodyKind::Feller)
}

/// Where a body lies on the page.
fn body_box(frame: &Frame, body: &Body) -> Option<Box> {
    let mut area: Option<Box> = None;
    for outline in outline::body_outlines(body, &|p| p.truncate()) {
        for (x, y) in frame.path(&outline) {
            let a = area.get_or_insert(Box { left: x, top: y, right: x, bottom: y });
            a.left = a.left.min(x);
            a.right = a.right.max(x);
            a.top = a.top.min(y);
            a.bottom = a.bottom.max(y);
        }
    }
    area
}

fn draw_body(svg: &mut Svg, frame: &Frame, body: &Body) {
    let Some(area) = body_box(frame, body) else { return };
    let (x, y) = area.middle();
    match body.kind {
        // Drawn as the stump: from above there is nothing else to see.
        BodyKind::Spar | BodyKind::ClimberLine => {}
        BodyKind::Person | BodyKind::Climber | BodyKind::Feller => {
            marks::person(svg, (x, y));
        }
        BodyKind::KeepTree => {
            marks::keep_tree(svg, (x, y), ((area.right - area.left) / 2.0).clamp(4.5, 40.0));
        }
        BodyKind::Wire => {
            for (from_m, to_m) in axes(body) {
                marks::wire(svg, frame.page(from_m.truncate()), frame.page(to_m.truncate()));
            }
        }
        _ => {
            let paint = marks::body_paint(body.kind);
            for outline in outline::body_outlines(body, &|p| p.truncate()) {
                svg.polyline(&frame.path(&outline), true, format_args!("{paint}"));
            }
        }
    }
}

fn axes(body: &Body) -> impl Iterator<Item = (DVec3, DVec3)> {
    body.shapes.iter().filter_map(|shape| match shape {
        Shape::Capsule { from_m, to_m, .. } => Some((*from_m, *to_m)),
        _ => None,
    })
}

fn draw_tracks(
    svg: &mut Svg,
    frame: &Frame,
    drops: &[DropView<'_>],
    reaching: bool,
    map_labels: &mut Labels,
) {
    for drop in drops {
        let Some(track) = drop.track else { continue };
        let mut page: Vec<(f64, f64)> = Vec::new();
        for sample in &track.samples {
            let p = frame.page(sample.motion.centre_m.truncate());
            // Steps under 2 px can't be seen and make the file heavy.
            if page.last().is_none_or(|q| (p.0 - q.0).hypot(p.1 - q.1) >= 2.0) {
                page.push(p);
            }
        }
        page.push(frame.page(drop.outcome.end_m.truncate()));
        page.iter().step_by(4).for_each(|&(x, y)| map_labels.avoid(x, y));
        if reaching {
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"#ffffff\" stroke-width=\"4.6\" stroke-opacity=\"0.8\""
                ),
            );
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{}\" stroke-width=\"2.4\" stroke-dasharray=\"{}\"",
                    marks::ALARM,
                    marks::ALARM_DASHES
                ),
            );
        } else {
            svg.polyline(
                &page,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{}\" stroke-width=\"1\" stroke-opacity=\"0.55\"",
                    marks::QUIET
                ),
            );
        }
    }
}

/// Where the drops ended; those not at rest are hollow and point on.
fn draw_ends(
    svg: &mut Svg,
    frame: &Frame,
    drops: &[DropView<'_>],
    stump_m: DVec3,
    map_labels: &mut Labels,
) {
    for drop in drops {
        let end = drop.outcome.end_m.truncate();
        let p = frame.page(end);
        let at_rest = drop.outcome.ending == Ending::Rest;
        if !at_rest {
            let on = (end - stump_m.truncate()).normalize_or(DVec2::X);
            let tip = (p.0 + 17.0 * on.x, p.1 - 17.0 * on.y);
            arrow(svg, p, tip, marks::INK, 1.4);
        }
        // Many marks are drawn smaller.
        let size = if drops.len() > 150 { 0.8 } else { 1.0 };
        marks::mode_mark(svg, drop.outcome.mode, p, at_rest, size);
        map_labels.avoid(p.0, p.1);
    }
}

/// Where drawn drops first touch a target.
fn draw_strikes(svg: &mut Svg, frame: &Frame, site: &Site, reaching: &[DropView<'_>]) {
    for track in reaching.iter().filter_map(|d| d.track) {
        let strike = track.touches.iter().find(|t| match t.against {
            Against::Ground => false,
            Against::Body(index) => site.bodies.get(index).is_some_and(|b| b.is_target),
        });
        if let Some(touch) = strike {
            marks::strike(svg, frame.page(touch.point_m.truncate()));
        }
    }
}

pub(super) fn arrow(svg: &mut Svg, from: (f64, f64), to: (f64, f64), colour: &str, width: f64) {
    let along = DVec2::new(to.0 - from.0, to.1 - from.1).normalize_or(DVec2::X);
    let across = along.perp();
    let back = DVec2::new(to.0, to.1) - along * (3.0 + 3.0 * width);
    let wing = across * (1.5 + 1.4 * width);
    svg.polyline(
        &[from, (back.x, back.y)],
        false,
        format_args!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"", n(width)),
    );
    let (a, b) = (back + wing, back - wing);
    svg.polyline(&[(a.x, a.y), to, (b.x, b.y)], true, format_args!("fill=\"{colour}\""));
}

fn face_arrow(svg: &mut Svg, stump: (f64, f64), azimuth: f64, map_labels: &mut Labels) {
    let (dx, dy) = (libm::sin(azimuth), -libm::cos(azimuth));
    let at = |d: f64| (stump.0 + d * dx, stump.1 + d * dy);
    arrow(svg, at(11.0), at(58.0), "#ffffff", 6.0);
    arrow(svg, at(11.0), at(56.0), "#7c3f00", 3.0);
    for d in [20.0, 35.0, 50.0] {
        let (x, y) = at(d);
        map_labels.take(Box::around(x, y, 8.0, 8.0));
    }
}

/// North arrow and scale bar, on a paper of their own.
fn furniture(svg: &mut Svg, input: &Plan<'_>, frame: &Frame, map_labels: &mut Labels) {
    let bar_m = input.units.round_step_m(220.0 / frame.px_m);
    let bar_px = bar_m * frame.px_m;
    let (width, height) = (bar_px + 116.0, 52.0);
    let w = &frame.window;
    // The corner that hides least.
    let corner = |right: bool, low: bool| {
        let x = if right { w.right - width / 2.0 - 10.0 } else { w.left + width / 2.0 + 10.0 };
        let y = if low { w.bottom - height / 2.0 - 10.0 } else { w.top + height / 2.0 + 10.0 };
        Box::around(x, y, width / 2.0, height / 2.0)
    };
    let corners = [(false, true), (true, true), (false, false), (true, false)];
    let mut area = corner(false, true);
    let mut least = f64::INFINITY;
    for (right, low) in corners {
        let candidate = corner(right, low);
        let cost = map_labels.cost(&candidate);
        if cost < least {
            (area, least) = (candidate, cost);
        }
    }
    map_labels.take(area);
    svg.element(
        "rect",
        format_args!(
            "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"4\" fill=\"#ffffff\" \
             fill-opacity=\"0.88\" stroke=\"#8b8f8c\" stroke-width=\"0.8\"",
            n(area.left),
            n(area.top),
            n(width),
            n(height)
        ),
    );
    let (x, y) = (area.left + 24.0, area.top + 26.0);
    svg.polyline(
        &[(x, y - 19.0), (x + 7.0, y + 8.0), (x, y + 3.0)],
        true,
        format_args!("fill=\"{}\" stroke=\"{0}\"", marks::INK),
    );
    svg.polyline(
        &[(x, y - 19.0), (x - 7.0, y + 8.0), (x, y + 3.0)],
        true,
        format_args!("fill=\"#ffffff\" stroke=\"{}\"", marks::INK),
    );
    let middle = TextStyle { anchor: Anchor::Middle, bold: true, ..TextStyle::default() };
    svg.text(x, y + 21.0, "N", middle);
    let (left, base) = (area.left + 56.0, area.top + 32.0);
    for (i, share) in [0.0, 0.5].into_iter().enumerate() {
        svg.element(
            "rect",
            format_args!(
                "x=\"{}\" y=\"{}\" width=\"{}\" height=\"6\" fill=\"{}\" stroke=\"{}\"",
                n(left + share * bar_px),
                n(base),
                n(bar_px / 2.0),
                if i == 0 { marks::INK } else { "#ffffff" },
                marks::INK
            ),
        );
    }
    let small = TextStyle { size: 12.5, anchor: Anchor::Middle, ..TextStyle::default() };
    let end = format!("{} {}", tidy(input.units, bar_m), input.units.distance_name());
    svg.text(left, base - 7.0, "0", small);
    svg.text(left + bar_px / 2.0, base - 7.0, &tidy(input.units, bar_m / 2.0), small);
    svg.text(left + bar_px, base - 7.0, &end, small);
}

/// A round distance without needless decimals.
pub(super) fn tidy(units: Units, distance_m: f64) -> String {
    n((distance_m / units.distance_unit_m() * 100.0).round() / 100.0)
}

struct Named<'a> {
    svg: &'a mut Svg,
    labels: &'a mut Labels,
}

impl Named<'_> {
    /// Writes a name beside one of the places its thing is at.
    fn write(&mut self, things: &[Box], name: &str, bold: bool) {
        const SIZE: f64 = 15.0;
        let (width, height) = (font::text_width(name, SIZE, bold) + 4.0, SIZE);
        let Placed { area, thing, far } = self.labels.place(things, width, height);
        let (x, y) = area.middle();
        if far {
            let (ax, ay) = thing.middle();
            let near_x = ax.clamp(area.left, area.right);
            let near_y = ay.clamp(area.top, area.bottom);
            self.svg.polyline(
                &[(ax, ay), (near_x, near_y)],
                false,
                format_args!("fill=\"none\" stroke=\"{}\" stroke-width=\"0.9\"", marks::INK),
            );
        }
        self.svg.text(
            x,
            y + SIZE * font::CAP_HEIGHT / 2.0,
            name,
            TextStyle {
                size: SIZE,
                bold,
                anchor: Anchor::Middle,
                halo: Some("#ffffff"),
                ..TextStyle::default()
            },
        );
    }
}

fn name_body(named: &mut Named<'_>, frame: &Frame, body: &Body, stump: (f64, f64)) {
    let Some(area) = body_box(frame, body) else { return };
    let at_stump = is_person(body.kind) && near(area.middle(), stump);
    if at_stump || matches!(body.kind, BodyKind::Spar | BodyKind::ClimberLine) {
        return;
    }
    let (x, y) = area.middle();
    let (half_x, half_y) = ((area.right - area.left) / 2.0, (area.bottom - area.top) / 2.0);
    let loose = matches!(body.answer, Answer::Free { .. });
    let name =
        if loose { format!("{} (loose)", words::name(&body.id)) } else { words::name(&body.id) };
    let width = font::text_width(&name, 15.0, body.is_target) + 4.0;
    let long_and_thin = matches!(body.kind, BodyKind::Path | BodyKind::Wire | BodyKind::BarrierLog);
    if !long_and_thin && 2.0 * half_x > width + 12.0 && 2.0 * half_y > 24.0 {
        // It fits inside.
        let inside = Box::around(x, y, width / 2.0, 9.0);
        named.labels.take(inside);
        named.svg.text(
            x,
            y + 15.0 * font::CAP_HEIGHT / 2.0,
            &name,
            TextStyle {
                size: 15.0,
                bold: body.is_target,
                anchor: Anchor::Middle,
                halo: Some("#d9d2c6"),
                ..TextStyle::default()
            },
        );
        return;
    }
    let around = Box::around(x, y, half_x.max(9.0), half_y.max(9.0));
    if long_and_thin && half_x.max(half_y) > 40.0 {
        let along = along(frame, body);
        along.iter().for_each(|thing| named.labels.take(*thing));
        named.write(&along, &name, body.is_target);
    } else {
        named.labels.take(around);
        named.write(&[around], &name, body.is_target);
    }
}

/// Places along a long thing where its name may stand.
fn along(frame: &Frame, body: &Body) -> Vec<Box> {
    let mut places = Vec::new();
    for outline in outline::body_outlines(body, &|p| p.truncate()) {
        let page = frame.path(&outline);
        let Some(&first) = page.first() else { continue };
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        let farthest = |from: (f64, f64)| {
            page.iter()
                .copied()
                .fold(from, |best, p| if apart(p, from) > apart(best, from) { p } else { best })
        };
        let end = farthest(first);
        let other = farthest(end);
        for share in [0.06, 0.25, 0.5, 0.75, 0.94] {
            let x = end.0 + (other.0 - end.0) * share;
            let y = end.1 + (other.1 - end.1) * share;
            places.push(Box::around(x, y, 6.0, 8.0));
        }
    }
    places
}

fn draw_pass_lines(
    svg: &mut Svg,
    frame: &Frame,
    input: &Plan<'_>,
    lines: &[PassLine],
    spread: Option<(f64, f64)>,
    map_labels: &mut Labels,
) {
    let Some((from, to)) = spread else { return };
    let stump = input.site.stump_m.truncate();
    for line in lines {
        // A little beyond the spread on either side, by the same length on the ground.
        let pad = (36.0 / frame.px_m / line.distance_m.max(1.0)).min(0.6);
        let (from, to) = (from - pad, to + pad);
        let steps = 48;
        let arc: Vec<(f64, f64)> = (0..=steps)
            .map(|i| from + (to - from) * f64::from(i) / f64::from(steps))
            .map(|a| frame.page(stump + polar(line.distance_m, a)))
            .collect();
        for (colour, width, dashes) in
            [("#ffffff", 5.0, "none"), (marks::PASS, 2.4, pass_dashes(line.one_in))]
        {
            svg.polyline(
                &arc,
                false,
                format_args!(
                    "fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" \
                     stroke-dasharray=\"{dashes}\" stroke-opacity=\"0.95\""
                ),
            );
        }
        let name = pass_words(line, input.units);
        let width = font::text_width(&name, 14.0, true) + 6.0;
        // At whichever end of the line is freer.
        let mut best: Option<(f64, Box)> = None;
        for end in [arc.first(), arc.last()].into_iter().flatten() {
            for (dx, dy) in [
                (1.0, 0.0),
                (-1.0, 0.0),
                (0.0, 1.0),
                (0.0, -1.0),
                (1.0, 1.0),
                (-1.0, 1.0),
                (1.0, -1.0),
                (-1.0, -1.0),
            ] {
                let area = Box::around(
                    end.0 + dx * (width / 2.0 + 6.0),
                    end.1 + dy * 14.0,
                    width / 2.0,
                    9.0,
                );
                let on_line = arc.iter().filter(|p| area.holds(p.0, p.1)).count() as f64;
                let cost = map_labels.cost(&area) + 8.0 * on_line;
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, area));
                }
            }
        }
        let Some((_, area)) = best else { continue };
        map_labels.take(area);
        for p in arc.iter().step_by(2) {
            map_labels.take(Box::around(p.0, p.1, 3.0, 3.0));
        }
        let (x, y) = area.middle();
        svg.text(
            x,
            y + 14.0 * font::CAP_HEIGHT / 2.0,
            &name,
            TextStyle {
                size: 14.0,
                bold: true,
                fill: marks::PASS,
                anchor: Anchor::Middle,
                halo: Some("#ffffff"),
                ..TextStyle::default()
            },
        );
    }
}

fn pass_dashes(one_in: u32) -> &'static str {
    match one_in {
        2 => "2 4",
        10 => "11 5",
        _ => "none",
    }
}

fn pass_words(line: &PassLine, units: Units) -> String {
    let at_least = if line.at_least { "at least " } else { "" };
    format!("1 in {} pass {at_least}{}", line.one_in, units.distance(line.distance_m))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn picture(count: u64, units: Units) -> String {
        let site = sample::site();
        let drops = sample::drops(count, &site);
        let words = sample::patch_words();
        plan(&Plan {
            title: "Where the second section goes",
            subtitle: "Cut 2: stem section 7 ft 10 in long, 22 to 18 in thick, 1,060 lb, over a face",
            stamp: &sample::stamp(),
            units,
            site: &site,
            ground_words: "turf, thumb indents with effort",
            patch_words: &words,
            north_words: "true north",
            face_azimuth_rad: Some(std::f64::consts::PI),
            drops: &sample::views(&drops),
            forecast: None,
        })
    }

    #[test]
    fn regress_the_plan_names_everything_and_parses() {
        let svg = picture(500, Units::Imperial);
        sample::leave("plan", &svg);
        for word in [
            "boathouse",
            "keep beech",
            "service wire",
            "1 in 10 pass",
            "stump, climber",
            "law soil 1",
        ] {
            assert!(svg.contains(word), "{word}");
        }
        assert!(svg.contains(stamp::NOT_COMPARED));
        let markup = |line: &&str| !line.starts_with("<image");
        assert!(!svg.lines().filter(markup).any(|l| l.contains("NaN") || l.contains("inf")));
        assert!(super::super::png::parse(&svg).is_ok());
        assert_eq!(svg, picture(500, Units::Imperial));
    }

    #[test]
    fn prop_a_site_without_drops_is_a_map() {
        let svg = picture(0, Units::Metric);
        sample::leave("plan_empty", &svg);
        assert!(svg.contains("boathouse") && !svg.contains("1 in 2"));
        assert!(super::super::png::parse(&svg).is_ok());
    }
}
