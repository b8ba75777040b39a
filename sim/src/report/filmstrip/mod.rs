//! One drop from the side, to scale: the piece's own silhouettes along the profile of its path.
//!
//! The path is unrolled: across the page runs the distance the centre has gone over the map,
//! whichever way it turned; up the page runs height against the stump. Both have one scale.

mod axes;
mod standing;
mod touches;
mod unrolled;

use glam::{DVec2, DVec3};

use self::{
    axes::{distance_axis, height_axis},
    standing::{Standing, beside, draw_body, draw_way, name_bodies},
    touches::{callouts, touch_mark},
    unrolled::{Unrolled, silhouettes},
};
use super::{
    font, marks, outline,
    plan::footer,
    stamp::Stamp,
    svg::{Svg, TextStyle, n},
    text,
    units::Units,
};
use crate::{
    drop::{Place, Track},
    job::{CutReady, TiedReady},
    outcome::Outcome,
    scene::Scene,
    site::{BodyKind, Site},
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
    /// The lines that held it.
    pub tied: &'a [TiedReady],
}

const PAGE_WIDTH: f64 = 1480.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 36.0;
const TOP: f64 = 112.0;
/// Highest the drawing may be, px.
const MOST_HEIGHT: f64 = 820.0;
/// Most pixels a metre: a short drop need not fill the page.
const MOST_PX_M: f64 = 70.0;
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

/// The filmstrip of drop `drop` of `of` of a cut, with what happened as its title.
#[must_use]
pub fn of_drop(
    scene: &Scene,
    stamp: &Stamp,
    ready: &CutReady,
    drop: u32,
    of: u32,
    outcome: &Outcome,
    track: &Track,
) -> String {
    filmstrip(&Filmstrip {
        title: &text::what_happened(outcome, track, &ready.site, scene.units),
        subtitle: &format!("{}: cut {}, drop {drop} of {of}", scene.name, ready.id),
        stamp,
        units: scene.units,
        site: &ready.site,
        piece: &ready.section.piece,
        track,
        tied: &ready.tied,
    })
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
        .filter(|s| s.body.kind != BodyKind::Spar)
        .flat_map(|s| s.outlines.iter().flatten())
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
    let (brush, tied) = (!input.piece.brush.is_empty(), !input.tied.is_empty());
    // A second line of the key takes room.
    let more = if brush || tied { 20.0 } else { 0.0 };
    let mut svg = Svg::new(PAGE_WIDTH, axis_y + 128.0 + more);
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
    for standing in &bodies {
        draw_body(&mut svg, &scale, standing);
    }
    draw_ground(&mut svg, &scale, &ground, axis_y);
    for Standing { outlines, .. } in bodies.iter().filter(|s| s.body.kind == BodyKind::Path) {
        draw_way(&mut svg, &scale, &ground, outlines);
    }
    svg.close();
    draw_trail(&mut svg, &path, &scale);
    for (rank, &i) in shown.1.iter().enumerate() {
        let last = rank + 1 == shown.1.len();
        svg.open(format_args!("clip-path=\"url(#strip)\""));
        draw_lines(&mut svg, input, &path, i, &scale, last);
        svg.close();
        draw_piece(&mut svg, input.piece, &path, i, &scale, last);
    }
    name_bodies(&mut svg, &bodies, &scale);
    for callout in &callouts {
        callout.draw(&mut svg);
    }
    key(&mut svg, shown.0, brush, tied, axis_y + 52.0);
    footer(&mut svg, input.stamp, axis_y + 88.0 + more);
    svg.finish(input.title)
}

fn heading(svg: &mut Svg, input: &Filmstrip<'_>) {
    // A long sentence is set smaller rather than cut.
    let fits = 25.0 * (PAGE_WIDTH - 72.0) / font::text_width(input.title, 25.0, true).max(1.0);
    let style = TextStyle { size: fits.clamp(14.0, 25.0), bold: true, ..TextStyle::default() };
    svg.text(36.0, 46.0, input.title, style);
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

/// The lines that hold the piece at a sample, from piece over block to brake; not once they broke.
fn draw_lines(
    svg: &mut Svg,
    input: &Filmstrip<'_>,
    path: &Unrolled<'_>,
    i: usize,
    scale: &Scale,
    last: bool,
) {
    let sample = path.samples[i];
    for (tied, load) in input.tied.iter().zip(&input.track.lines) {
        if load.broke_s.is_some_and(|broke_s| broke_s <= sample.time_s) {
            continue;
        }
        let tether = &tied.tether;
        let on_piece_m = sample.motion.point_m(tether.at_m);
        let brake_m = tether.tail.map(|tail| tail.brake_m);
        let points: Vec<DVec2> = [Some(on_piece_m), Some(tether.to_m), brake_m]
            .into_iter()
            .flatten()
            .map(|at_m| path.side(i, at_m))
            .collect();
        let (width, opacity) = if last { (2.0, 1.0) } else { (1.0, 0.5) };
        svg.polyline(
            &scale.path(&points),
            false,
            format_args!(
                "fill=\"none\" stroke=\"#2f6f9f\" stroke-width=\"{width}\" \
                 stroke-opacity=\"{opacity}\" stroke-dasharray=\"7 3\""
            ),
        );
    }
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
    let (rods, sprays) = outline::brush_outlines(piece, motion, &project);
    for outline in sprays {
        svg.polyline(&scale.path(&outline), true, format_args!("{}", marks::BRUSH));
    }
    for outline in rods.into_iter().chain(outline::piece_outlines(piece, motion, &project)) {
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

/// The key in one line.
fn key(svg: &mut Svg, step_s: f64, brush: bool, tied: bool, y: f64) {
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
    let said = [
        (brush, "Brush dotted; what bends or breaks is drawn as it grew."),
        (tied, "Lines dashed, straight, slack or not, over their block; gone once they break."),
    ];
    let said: Vec<&str> = said.into_iter().filter(|(is, _)| *is).map(|(_, text)| text).collect();
    if !said.is_empty() {
        let text = &said.join(" ");
        svg.text(36.0, y + 23.0, text, TextStyle { size: 13.5, ..TextStyle::default() });
    }
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
    words(svg, &mut x, "something that stands there (pale: not touched)");
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
        let (outcome, track) = sample::drop(index, &site);
        let title = crate::report::text::what_happened(&outcome, &track, &site, units);
        filmstrip(&Filmstrip {
            title: &title,
            subtitle: &format!("Cut 2, drop {index} of 500, invented"),
            stamp: &sample::stamp(),
            units,
            site: &site,
            piece: &sample::piece(),
            track: &track,
            tied: &[],
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
