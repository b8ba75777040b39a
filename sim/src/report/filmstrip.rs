//! One drop from the side, to scale: the piece's own silhouettes along the profile of its path.
//!
//! The path is unrolled: across the page runs the distance the centre has gone over the map,
//! whichever way it turned; up the page runs height against the stump. Both have one scale.

use glam::{DVec2, DVec3};

use super::{
    font, marks, outline,
    plan::{footer, tidy},
    stamp::Stamp,
    svg::{Anchor, Svg, TextStyle, n},
    units::{Units, decimals},
    words,
};
use crate::{
    drop::{Against, Place, Sample, Touch, Track},
    site::{Body, BodyKind, Shape, Site},
    tree::Piece,
};

/// What a filmstrip shows.
#[derive(Clone, Copy, Debug)]
pub struct Filmstrip<'a> {
    /// First line: what happened, in words.
    pub title: &'a str,
    /// Second line: which cut and which drop of how many.
    pub subtitle: &'a str,
    /// Where it comes from.
    pub stamp: &'a Stamp,
    /// Units of the scene.
    pub units: Units,
    /// Terrain and bodies.
    pub site: &'a Site,
    /// The piece that was dropped.
    pub piece: &'a Piece,
    /// Its track.
    pub track: &'a Track,
}

const PAGE_WIDTH: f64 = 1480.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 36.0;
const TOP: f64 = 112.0;
/// Highest the drawing may be, px.
const MOST_HEIGHT: f64 = 820.0;
/// Most pixels a metre: a short drop need not fill the page.
const MOST_PX_M: f64 = 70.0;
/// Silhouettes at most, more or less.
const MOST_SILHOUETTES: f64 = 44.0;
/// Times between silhouettes, s.
const TIME_STEPS_S: [f64; 9] = [0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0];

/// The path laid out flat: per sample the way gone and the heading there.
struct Unrolled<'a> {
    samples: &'a [Sample],
    gone_m: Vec<f64>,
    heading: Vec<DVec2>,
}

impl<'a> Unrolled<'a> {
    fn new(samples: &'a [Sample]) -> Self {
        let flat = |i: usize| samples[i].motion.centre_m.truncate();
        let mut gone_m = Vec::with_capacity(samples.len());
        let mut way = 0.0;
        for i in 0..samples.len() {
            way += if i == 0 { 0.0 } else { flat(i).distance(flat(i - 1)) };
            gone_m.push(way);
        }
        let whole = samples.first().zip(samples.last()).map_or(DVec2::X, |(a, b)| {
            (b.motion.centre_m - a.motion.centre_m).truncate().normalize_or(DVec2::X)
        });
        // The heading over about a metre: a piece that rocks in place keeps the one it had.
        let (mut back, mut ahead) = (0, 0);
        let mut last = whole;
        let mut heading = Vec::with_capacity(samples.len());
        for i in 0..samples.len() {
            while gone_m[i] - gone_m[back] > 0.6 {
                back += 1;
            }
            while ahead + 1 < samples.len() && gone_m[ahead] - gone_m[i] < 0.6 {
                ahead += 1;
            }
            let along = flat(ahead) - flat(back);
            if along.length() > 0.25 {
                last = along.normalize();
            }
            heading.push(last);
        }
        Self { samples, gone_m, heading }
    }

    fn length_m(&self) -> f64 {
        self.gone_m.last().copied().unwrap_or(0.0)
    }

    /// The sample nearest in time.
    fn at(&self, time_s: f64) -> usize {
        let after = self.samples.partition_point(|s| s.time_s < time_s);
        let before = after.saturating_sub(1);
        match (self.samples.get(before), self.samples.get(after)) {
            (Some(b), Some(a)) if a.time_s - time_s < time_s - b.time_s => after,
            _ => before.min(self.samples.len().saturating_sub(1)),
        }
    }

    /// A point near sample `i` seen from the side: way gone and height, m.
    fn side(&self, i: usize, point_m: DVec3) -> DVec2 {
        let off = (point_m - self.samples[i].motion.centre_m).truncate();
        DVec2::new(self.gone_m[i] + off.dot(self.heading[i]), point_m.z)
    }
}

/// Where the drawing's scale and corner are.
struct Scale {
    px_m: f64,
    low: DVec2,
    bottom: f64,
}

impl Scale {
    fn page(&self, side: DVec2) -> (f64, f64) {
        (LEFT + (side.x - self.low.x) * self.px_m, self.bottom - (side.y - self.low.y) * self.px_m)
    }

    fn path(&self, sides: &[DVec2]) -> Vec<(f64, f64)> {
        sides.iter().map(|&s| self.page(s)).collect()
    }
}

/// Draws the filmstrip as SVG.
#[must_use]
pub fn filmstrip(input: &Filmstrip<'_>) -> String {
    let path = Unrolled::new(&input.track.samples);
    if path.samples.is_empty() {
        let mut svg = Svg::new(PAGE_WIDTH, 160.0);
        heading(&mut svg, input);
        footer(&mut svg, input.stamp, 120.0);
        return svg.finish(input.title);
    }
    let radius = input.piece.bounding_radius_m();
    let ground = profile(input, &path, margin_m(&path, radius));
    let bodies = beside(input, &path, radius);
    let shown = silhouettes(&path, input.piece.length_m());

    // One scale for both directions.
    let tops = path.samples.iter().map(|s| DVec2::new(0.0, s.motion.centre_m.z + radius));
    let known: Vec<DVec2> = ground.iter().copied().chain(tops).collect();
    let low = known.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    let mut high = known.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
    // Tall things that stand by may be cut off 3 m above all else.
    let body_top = bodies
        .iter()
        .filter(|(body, _)| body.kind != BodyKind::Spar)
        .flat_map(|(_, outlines)| outlines.iter().flatten())
        .map(|p| p.y + 0.5)
        .fold(high.y, f64::max);
    high.y = body_top.min(high.y + 3.0);
    let size = (high - low).max(DVec2::splat(1.0));
    let width = PAGE_WIDTH - LEFT - RIGHT;
    let px_m = (width / size.x).min(MOST_HEIGHT / size.y).min(MOST_PX_M);
    let bottom = TOP + size.y * px_m;
    let scale = Scale { px_m, low, bottom };

    let (callouts, callouts_bottom) = callouts(input, &path, &scale, bottom + 34.0);
    let axis_y = callouts_bottom.max(bottom + 34.0);
    let mut svg = Svg::new(PAGE_WIDTH, axis_y + 128.0);
    heading(&mut svg, input);
    let drawing_right = LEFT + size.x * px_m;
    height_axis(&mut svg, input, &scale, (low.y, high.y), drawing_right);
    distance_axis(&mut svg, input, &scale, (low.x, high.x), axis_y);
    svg.define(&format!(
        "<clipPath id=\"strip\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>",
        n(LEFT),
        n(TOP),
        n(drawing_right - LEFT),
        n(axis_y - TOP)
    ));
    svg.open(format_args!("clip-path=\"url(#strip)\""));
    for (body, outlines) in &bodies {
        draw_body(&mut svg, &scale, body, outlines);
    }
    draw_ground(&mut svg, &scale, &ground, axis_y);
    for (_, outlines) in bodies.iter().filter(|(body, _)| body.kind == BodyKind::Path) {
        draw_way(&mut svg, &scale, &ground, outlines);
    }
    svg.close();
    draw_trail(&mut svg, &path, &scale);
    for (rank, &i) in shown.1.iter().enumerate() {
        let last = rank + 1 == shown.1.len();
        draw_piece(&mut svg, input.piece, &path, i, &scale, last);
    }
    name_bodies(&mut svg, &bodies, &scale);
    for callout in &callouts {
        callout.draw(&mut svg);
    }
    key(&mut svg, shown.0, axis_y + 52.0);
    footer(&mut svg, input.stamp, axis_y + 88.0);
    svg.finish(input.title)
}

fn heading(svg: &mut Svg, input: &Filmstrip<'_>) {
    svg.text(36.0, 46.0, input.title, TextStyle { size: 25.0, bold: true, ..TextStyle::default() });
    svg.text(
        36.0,
        74.0,
        input.subtitle,
        TextStyle { size: 16.0, fill: marks::SOFT_INK, ..TextStyle::default() },
    );
}

/// How much ground to show before and after the path: room for the piece, or what fills the page
/// where height sets the scale.
fn margin_m(path: &Unrolled<'_>, radius_m: f64) -> f64 {
    let heights = || path.samples.iter().map(|s| s.motion.centre_m.z);
    let fall_m =
        heights().fold(f64::NEG_INFINITY, f64::max) - heights().fold(f64::INFINITY, f64::min);
    let px_m = (MOST_HEIGHT / (fall_m + 2.5 * radius_m)).min(MOST_PX_M);
    let fills_m = ((PAGE_WIDTH - LEFT - RIGHT) / px_m - path.length_m()) / 2.0;
    fills_m.max(1.5 * radius_m + 1.0).min(20.0)
}

/// Way gone and ground height along the path, with `margin_m` straight on at either end.
fn profile(input: &Filmstrip<'_>, path: &Unrolled<'_>, margin_m: f64) -> Vec<DVec2> {
    let step_m = (input.site.terrain.grid.cell_m / 2.0).clamp(0.1, 0.5);
    let height = |p: DVec2| input.site.terrain.surface(p.x, p.y).map(|s| s.height_m);
    let (first, last) = (0, path.samples.len() - 1);
    let flat = |i: usize| path.samples[i].motion.centre_m.truncate();
    let steps = (margin_m / step_m).ceil() as i32;
    let mut ground = Vec::new();
    for k in (1..=steps).rev() {
        let back = f64::from(k) * step_m;
        let p = flat(first) - path.heading[first] * back;
        ground.extend(height(p).map(|z| DVec2::new(-back, z)));
    }
    let mut next_m = 0.0;
    for i in first..=last {
        if path.gone_m[i] >= next_m || i == last {
            ground.extend(height(flat(i)).map(|z| DVec2::new(path.gone_m[i], z)));
            next_m = path.gone_m[i] + step_m;
        }
    }
    for k in 1..=steps {
        let on = f64::from(k) * step_m;
        let p = flat(last) + path.heading[last] * on;
        ground.extend(height(p).map(|z| DVec2::new(path.length_m() + on, z)));
    }
    if ground.is_empty() {
        let z = path.samples.iter().map(|s| s.motion.centre_m.z).fold(f64::INFINITY, f64::min);
        ground = vec![DVec2::new(-margin_m, z), DVec2::new(path.length_m() + margin_m, z)];
    }
    ground
}

/// Bodies the path comes by, seen from the side at the path's nearest sample.
fn beside<'a>(
    input: &Filmstrip<'a>,
    path: &Unrolled<'_>,
    radius_m: f64,
) -> Vec<(&'a Body, Vec<Vec<DVec2>>)> {
    let touched =
        |index: usize| input.track.touches.iter().any(|t| t.against == Against::Body(index));
    input
        .site
        .bodies
        .iter()
        .enumerate()
        .filter(|(_, body)| body.kind != BodyKind::ClimberLine)
        .filter_map(|(index, body)| {
            let plan = outline::body_outlines(body, &|p| p.truncate());
            let off = |i: usize| {
                let p = path.samples[i].motion.centre_m.truncate();
                plan.iter().map(|o| outline::distance(p, o)).fold(f64::INFINITY, f64::min)
            };
            let nearest = (0..path.samples.len()).min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
            if !(off(nearest) <= radius_m + 0.5) && !touched(index) {
                return None;
            }
            let at_m = path.samples[nearest].motion.centre_m.truncate();
            let project = |p: DVec3| path.side(nearest, p);
            let outlines = if body.kind == BodyKind::Wire {
                wire_over(body, at_m).map(|p| vec![vec![project(p)]])?
            } else {
                // Of a long thing only the parts the path comes by.
                outline::body_outlines(body, &project)
                    .into_iter()
                    .zip(&plan)
                    .filter(|(_, flat)| outline::distance(at_m, flat) <= off(nearest) + radius_m)
                    .map(|(side, _)| side)
                    .collect()
            };
            Some((body, outlines))
        })
        .collect()
}

/// The point of a wire nearest to a place, in the plan.
fn wire_over(body: &Body, at_m: DVec2) -> Option<DVec3> {
    body.shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Capsule { from_m, to_m, .. } => {
                let (from, along) = (from_m.truncate(), (*to_m - *from_m).truncate());
                let share = (at_m - from).dot(along) / along.length_squared().max(1e-12);
                Some(from_m.lerp(*to_m, share.clamp(0.0, 1.0)))
            }
            _ => None,
        })
        .min_by(|a, b| {
            let off = |p: &DVec3| p.truncate().distance(at_m);
            off(a).total_cmp(&off(b))
        })
}

/// The time between silhouettes, s, and the samples to draw: even in time, but not on top of
/// one another, and always the first and the last.
fn silhouettes(path: &Unrolled<'_>, length_m: f64) -> (f64, Vec<usize>) {
    let last = path.samples.len() - 1;
    let from_s = path.samples[0].time_s;
    let moving_s = path.samples[last].time_s - from_s;
    // As many as stand clear of each other along the way, fall included.
    let way_m: f64 =
        path.samples.windows(2).map(|w| w[1].motion.centre_m.distance(w[0].motion.centre_m)).sum();
    let room = (way_m / (0.75 * length_m.max(0.2))).clamp(4.0, MOST_SILHOUETTES);
    let step_s = TIME_STEPS_S
        .into_iter()
        .find(|step| moving_s / step <= room)
        .unwrap_or(TIME_STEPS_S[TIME_STEPS_S.len() - 1]);
    let mut shown = vec![0];
    let mut k = 1.0;
    while k * step_s < moving_s {
        let i = path.at(from_s + k * step_s);
        if apart(path, &shown, i, length_m) {
            shown.push(i);
        }
        k += 1.0;
    }
    if shown.last() != Some(&last) {
        if shown.len() > 1 && !apart(path, &shown, last, length_m) {
            shown.pop();
        }
        shown.push(last);
    }
    (step_s, shown)
}

fn apart(path: &Unrolled<'_>, shown: &[usize], i: usize, length_m: f64) -> bool {
    let Some(&before) = shown.last() else { return true };
    let (a, b) = (&path.samples[before].motion, &path.samples[i].motion);
    let turned = (a.attitude * DVec3::Z).dot(b.attitude * DVec3::Z) < 0.9;
    a.centre_m.distance(b.centre_m) > 0.3 * length_m || turned
}

/// A thing that stands there, from the side; a wire is a dot where the path crosses under it.
fn draw_body(svg: &mut Svg, scale: &Scale, body: &Body, outlines: &[Vec<DVec2>]) {
    let paint = marks::body_paint(body.kind);
    match body.kind {
        BodyKind::Path => {}
        BodyKind::Wire => {
            let points: Vec<DVec2> = outlines.iter().flatten().copied().collect();
            let (x, y) = scale.page(points.iter().sum::<DVec2>() / points.len().max(1) as f64);
            svg.element(
                "circle",
                format_args!(
                    "cx=\"{}\" cy=\"{}\" r=\"5\" fill=\"#ffffff\" stroke=\"#1f2a44\" \
                     stroke-width=\"2.4\"",
                    n(x),
                    n(y)
                ),
            );
        }
        _ => {
            for outline in outlines {
                svg.polyline(&scale.path(outline), true, format_args!("{paint}"));
            }
        }
    }
}

/// A road or path: a stretch of the ground itself.
fn draw_way(svg: &mut Svg, scale: &Scale, ground: &[DVec2], outlines: &[Vec<DVec2>]) {
    for outline in outlines {
        let from = outline.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        let to = outline.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        let on: Vec<DVec2> = ground.iter().copied().filter(|p| p.x >= from && p.x <= to).collect();
        svg.polyline(
            &scale.path(&on),
            false,
            format_args!("fill=\"none\" stroke=\"#7d6a3f\" stroke-width=\"7\""),
        );
        svg.polyline(
            &scale.path(&on),
            false,
            format_args!(
                "fill=\"none\" stroke=\"#efe6d0\" stroke-width=\"4\" stroke-dasharray=\"7 4\""
            ),
        );
    }
}

fn draw_ground(svg: &mut Svg, scale: &Scale, ground: &[DVec2], floor: f64) {
    let line = scale.path(ground);
    let mut area = line.clone();
    if let (Some(first), Some(last)) = (line.first(), line.last()) {
        area.push((last.0, floor));
        area.push((first.0, floor));
    }
    svg.polyline(&area, true, format_args!("fill=\"#efe9df\""));
    svg.polyline(&line, false, format_args!("fill=\"none\" stroke=\"#6b543a\" stroke-width=\"2\""));
}

fn draw_trail(svg: &mut Svg, path: &Unrolled<'_>, scale: &Scale) {
    let mut trail: Vec<(f64, f64)> = Vec::new();
    for (i, sample) in path.samples.iter().enumerate() {
        let p = scale.page(path.side(i, sample.motion.centre_m));
        if trail.last().is_none_or(|q| (p.0 - q.0).hypot(p.1 - q.1) >= 2.0) {
            trail.push(p);
        }
    }
    svg.polyline(
        &trail,
        false,
        format_args!(
            "fill=\"none\" stroke=\"{}\" stroke-width=\"1\" stroke-dasharray=\"1.5 3\"",
            marks::QUIET
        ),
    );
}

fn draw_piece(
    svg: &mut Svg,
    piece: &Piece,
    path: &Unrolled<'_>,
    i: usize,
    scale: &Scale,
    last: bool,
) {
    let motion = &path.samples[i].motion;
    let project = |p: DVec3| path.side(i, p);
    let (fill, stroke) = if last { ("#a86a32", "#3f2710") } else { ("#e3c9a3", "#7a5a36") };
    for outline in outline::piece_outlines(piece, motion, &project) {
        svg.polyline(
            &scale.path(&outline),
            true,
            format_args!(
                "fill=\"{fill}\" fill-opacity=\"0.82\" stroke=\"{stroke}\" stroke-width=\"1.1\""
            ),
        );
    }
    // The butt end is dark, so that turns can be read.
    if let Some(butt) = piece.rounds.first() {
        let face = scale.path(&outline::disc(butt, motion, false, &project));
        let up = motion.attitude * (butt.to_m - butt.from_m).normalize_or(DVec3::Z);
        let band: Vec<DVec2> = outline::hull(
            [0.0, 0.12]
                .into_iter()
                .flat_map(|share| {
                    let shift = up * share * butt.to_m.distance(butt.from_m);
                    outline::disc(butt, motion, false, &|p| project(p + shift))
                })
                .collect(),
        );
        svg.polyline(&scale.path(&band), true, format_args!("fill=\"{stroke}\""));
        svg.polyline(&face, true, format_args!("fill=\"#f5e6cb\" stroke=\"{stroke}\""));
    }
}

fn name_bodies(svg: &mut Svg, bodies: &[(&Body, Vec<Vec<DVec2>>)], scale: &Scale) {
    for (body, outlines) in bodies {
        if body.kind == BodyKind::Spar {
            continue;
        }
        let page: Vec<(f64, f64)> = outlines.iter().flat_map(|o| scale.path(o)).collect();
        let top = page.iter().map(|p| p.1).fold(f64::INFINITY, f64::min).max(TOP + 14.0);
        let bottom = page.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        let left = page.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let right = page.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        let name = words::name(&body.id);
        let style = TextStyle {
            size: 15.0,
            bold: body.is_target,
            halo: Some("#ffffff"),
            ..TextStyle::default()
        };
        if matches!(body.kind, BodyKind::Climber | BodyKind::Feller) {
            // Beside the spar, on the side where nothing falls.
            let style = TextStyle { anchor: Anchor::End, ..style };
            svg.text(left - 6.0, (top + bottom) / 2.0 + 5.0, &name, style);
        } else {
            let half = font::text_width(&name, 15.0, body.is_target) / 2.0;
            let x = ((left + right) / 2.0).clamp(LEFT + half, PAGE_WIDTH - RIGHT - half);
            svg.text(x, top - 9.0, &name, TextStyle { anchor: Anchor::Middle, ..style });
        }
    }
}

/// A touch told under the ground, with a line up to where it was.
struct Callout {
    at: (f64, f64),
    place: Place,
    is_strike: bool,
    label: Option<(f64, f64, [String; 2])>,
}

const CALLOUT_ROW: f64 = 42.0;

/// Marks for all touches; words for as many as find room in three rows, the hardest first.
fn callouts(
    input: &Filmstrip<'_>,
    path: &Unrolled<'_>,
    scale: &Scale,
    first_row: f64,
) -> (Vec<Callout>, f64) {
    let mut order: Vec<(usize, &Touch)> = input.track.touches.iter().enumerate().collect();
    let strike = |t: &Touch| match t.against {
        Against::Ground => None,
        Against::Body(i) => input.site.bodies.get(i),
    };
    // Touches of bodies and the first touch before the others, those by speed.
    order.sort_by(|(i, a), (j, b)| {
        let rank = |i: usize, t: &Touch| (strike(t).is_none(), i != 0);
        rank(*i, a).cmp(&rank(*j, b)).then(b.speed_m_s.total_cmp(&a.speed_m_s))
    });
    let mut rows: [Vec<(f64, f64)>; 3] = Default::default();
    let mut bottom: f64 = first_row;
    let mut callouts = Vec::new();
    for (_, touch) in order.into_iter().take(400) {
        let at = scale.page(path.side(path.at(touch.time_s), touch.point_m));
        let what = match strike(touch) {
            Some(body) => format!("{} on {}", words::place(touch.place), words::name(&body.id)),
            None => words::place(touch.place).to_owned(),
        };
        let lines = [
            what,
            format!("{} at {} s", input.units.speed(touch.speed_m_s), decimals(touch.time_s, 1)),
        ];
        let width = lines.iter().map(|l| font::text_width(l, 13.0, false)).fold(0.0, f64::max);
        let x = at.0.clamp(LEFT + width / 2.0, PAGE_WIDTH - RIGHT - width / 2.0);
        let (from, to) = (x - width / 2.0 - 7.0, x + width / 2.0 + 7.0);
        // A row is free where neither words nor another's line are; lines go through the rows
        // above, so those must be free at the point as well.
        let free = |row: usize| {
            rows[row].iter().all(|&(a, b)| to < a || from > b)
                && rows[..row].iter().flatten().all(|&(a, b)| at.0 < a || at.0 > b)
        };
        let label = (0..rows.len()).find(|&row| free(row)).map(|row| {
            rows[row].push((from, to));
            for below in &mut rows[..row] {
                below.push((at.0 - 2.0, at.0 + 2.0));
            }
            let y = first_row + CALLOUT_ROW * row as f64;
            bottom = bottom.max(y + CALLOUT_ROW);
            (x, y, lines)
        });
        callouts.push(Callout {
            at,
            place: touch.place,
            is_strike: strike(touch).is_some(),
            label,
        });
    }
    (callouts, bottom)
}

impl Callout {
    fn draw(&self, svg: &mut Svg) {
        let (x, y) = self.at;
        let colour = if self.is_strike { marks::ALARM } else { marks::INK };
        if let Some((text_x, text_y, lines)) = &self.label {
            svg.polyline(
                &[(x, y + 6.0), (x, text_y - 4.0)],
                false,
                format_args!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"0.8\""),
            );
            for (i, line) in lines.iter().enumerate() {
                svg.text(
                    *text_x,
                    text_y + 9.0 + 15.0 * i as f64,
                    line,
                    TextStyle {
                        size: 13.0,
                        bold: i == 0,
                        fill: colour,
                        anchor: Anchor::Middle,
                        ..TextStyle::default()
                    },
                );
            }
        }
        if self.is_strike {
            marks::strike(svg, self.at);
        } else {
            touch_mark(svg, self.place, self.at);
        }
    }
}

/// The sign of the part that touched: wedge down for the butt, hollow wedge for the top, a bar
/// for the side, two bars for the whole length.
fn touch_mark(svg: &mut Svg, place: Place, (x, y): (f64, f64)) {
    let wedge = [(x, y + 7.0), (x - 5.5, y - 3.0), (x + 5.5, y - 3.0)];
    let ink = marks::INK;
    match place {
        Place::Butt => {
            svg.polyline(&wedge, true, format_args!("fill=\"{ink}\" stroke=\"#ffffff\""))
        }
        Place::Top => svg.polyline(
            &wedge,
            true,
            format_args!("fill=\"#ffffff\" stroke=\"{ink}\" stroke-width=\"1.6\""),
        ),
        Place::Side | Place::Flat => {
            let bars: &[f64] = if place == Place::Side { &[2.0] } else { &[0.0, 5.0] };
            for down in bars {
                svg.polyline(
                    &[(x - 7.0, y + down), (x + 7.0, y + down)],
                    false,
                    format_args!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"2.4\""),
                );
            }
        }
    }
}

fn height_axis(
    svg: &mut Svg,
    input: &Filmstrip<'_>,
    scale: &Scale,
    (low_m, high_m): (f64, f64),
    right: f64,
) {
    let step_m = input.units.round_step_m((90.0 / scale.px_m).max(0.1));
    let zero_m = input.site.stump_m.z;
    let first = ((low_m - zero_m) / step_m).ceil() as i64;
    let last = ((high_m - zero_m) / step_m).floor() as i64;
    for k in first..=last {
        let (_, y) = scale.page(DVec2::new(0.0, zero_m + k as f64 * step_m));
        svg.polyline(
            &[(LEFT, y), (right, y)],
            false,
            format_args!("fill=\"none\" stroke=\"#d5d8d6\" stroke-width=\"0.8\""),
        );
        let value = tidy(input.units, step_m * k.unsigned_abs() as f64);
        let sign = match k {
            0 => "",
            k if k > 0 => "+",
            _ => "−",
        };
        svg.text(
            LEFT - 9.0,
            y + 4.5,
            &format!("{sign}{value}"),
            TextStyle {
                size: 13.5,
                anchor: Anchor::End,
                fill: marks::SOFT_INK,
                ..TextStyle::default()
            },
        );
    }
    svg.text(
        36.0,
        TOP - 12.0,
        &format!("Height against the stump, {}", input.units.distance_name()),
        TextStyle { size: 13.5, fill: marks::SOFT_INK, ..TextStyle::default() },
    );
}

fn distance_axis(
    svg: &mut Svg,
    input: &Filmstrip<'_>,
    scale: &Scale,
    (low_m, high_m): (f64, f64),
    y: f64,
) {
    let (left, right) =
        (scale.page(DVec2::new(low_m, 0.0)).0, scale.page(DVec2::new(high_m, 0.0)).0);
    svg.polyline(
        &[(left, y), (right, y)],
        false,
        format_args!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\"", marks::INK),
    );
    let step_m = input.units.round_step_m((120.0 / scale.px_m).max(0.1));
    let name = format!("Distance gone over the map, {}", input.units.distance_name());
    let name_left = right - font::text_width(&name, 13.5, false);
    for k in 0..=(high_m / step_m).floor() as i64 {
        let (x, _) = scale.page(DVec2::new(k as f64 * step_m, 0.0));
        if x + 16.0 >= name_left {
            break;
        }
        svg.polyline(
            &[(x, y), (x, y + 6.0)],
            false,
            format_args!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\"", marks::INK),
        );
        svg.text(
            x,
            y + 21.0,
            &tidy(input.units, step_m * k as f64),
            TextStyle {
                size: 13.5,
                anchor: Anchor::Middle,
                fill: marks::SOFT_INK,
                ..TextStyle::default()
            },
        );
    }
    svg.text(
        right,
        y + 21.0,
        &name,
        TextStyle {
            size: 13.5,
            anchor: Anchor::End,
            fill: marks::SOFT_INK,
            ..TextStyle::default()
        },
    );
}

/// The key in one line.
fn key(svg: &mut Svg, step_s: f64, y: f64) {
    let mut x = 36.0;
    let words = |svg: &mut Svg, x: &mut f64, text: &str| {
        svg.text(*x, y + 4.5, text, TextStyle { size: 13.5, ..TextStyle::default() });
        *x += font::text_width(text, 13.5, false) + 24.0;
    };
    words(
        svg,
        &mut x,
        &format!(
            "One silhouette every {} s, butt end banded, the last one dark; true scale.",
            n(step_s)
        ),
    );
    words(svg, &mut x, "Touches:");
    x -= 14.0;
    for (place, text) in [
        (Place::Butt, "butt"),
        (Place::Top, "top"),
        (Place::Side, "side"),
        (Place::Flat, "whole length"),
    ] {
        touch_mark(svg, place, (x + 6.0, y - 1.5));
        x += 18.0;
        words(svg, &mut x, text);
    }
    marks::strike(svg, (x + 6.0, y));
    x += 20.0;
    words(svg, &mut x, "something that stands there");
    svg.polyline(
        &[(x, y), (x + 30.0, y)],
        false,
        format_args!(
            "fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\" stroke-dasharray=\"1.5 3\"",
            marks::QUIET
        ),
    );
    x += 38.0;
    words(svg, &mut x, "path of its centre");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{outcome::Mode, report::sample};

    fn picture(index: u64, units: Units) -> String {
        let site = sample::site();
        let (_, track) = sample::drop(index, &site);
        filmstrip(&Filmstrip {
            title: "Lands on its top, goes end over end and stops against the boathouse",
            subtitle: &format!("Cut 2, drop {index} of 500, the worst"),
            stamp: &sample::stamp(),
            units,
            site: &site,
            piece: &sample::piece(),
            track: &track,
        })
    }

    #[test]
    fn regress_filmstrips_of_a_short_a_long_and_a_lying_drop() {
        let site = sample::site();
        let drops = sample::drops(500, &site);
        let find = |f: &dyn Fn(&crate::outcome::Outcome) -> bool| {
            drops.iter().position(|(o, _)| f(o)).expect("among 500") as u64
        };
        let long = find(&|o| o.mode == Mode::Tumbled && o.rollout_m > 55.0);
        let short = find(&|o| o.mode == Mode::Stayed);
        let slid = find(&|o| o.mode == Mode::Slid && o.rollout_m > 20.0);
        for (name, index, units) in [
            ("film_long", long, Units::Imperial),
            ("film_short", short, Units::Metric),
            ("film_slid", slid, Units::Metric),
        ] {
            let svg = picture(index, units);
            sample::leave(name, &svg);
            assert!(svg.contains("One silhouette every"));
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
            assert!(super::super::png::parse(&svg).is_ok());
            assert!(svg.len() < 400_000, "{}", svg.len());
        }
    }

    #[test]
    fn verif_both_axes_have_one_scale() {
        let scale = Scale { px_m: 12.0, low: DVec2::new(-2.0, 3.0), bottom: 700.0 };
        let (a, b) = (scale.page(DVec2::new(1.0, 5.0)), scale.page(DVec2::new(4.0, 9.0)));
        assert!(((b.0 - a.0).hypot(b.1 - a.1) - 12.0 * 5.0).abs() < 1e-9);
    }
}
