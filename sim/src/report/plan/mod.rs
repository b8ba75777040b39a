//! The plan: the bank from above with what stands on it and where pieces go.

mod frame;
mod furniture;
mod ground;
mod labels;
mod legend;
mod lines;
mod map;
mod names;
mod passing;
mod proposed;
mod relief;
mod rings;

use glam::DVec2;

use self::frame::Frame;
use super::{
    font, marks, outline,
    stamp::{self, Stamp},
    svg::{Svg, TextStyle, n},
    units::Units,
};
use crate::{
    drop::Track,
    forecast::result::CutForecast,
    motion::Motion,
    outcome::{Outcome, Reach},
    site::Site,
    tree::Piece,
};

pub(super) use furniture::tidy;
pub(super) use map::arrow;

pub use ground::ground;
pub use lines::pass_words;
pub use passing::{PassLine, farthest_m, lines_passed, pass_arc, pass_lines, spread};
pub use proposed::proposed;
pub use rings::Ring;

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

/// Where a face points: an arrow from the stump.
#[derive(Clone, Copy, Debug)]
pub struct FaceArrow<'a> {
    /// Clockwise from the map's north, rad.
    pub azimuth_rad: f64,
    /// What it is called; nothing where there is one alone.
    pub name: &'a str,
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
    /// Where faces point.
    pub faces: &'a [FaceArrow<'a>],
    /// Lines that pieces pass where they were counted over more drops than are shown.
    pub lines: Option<&'a [PassLine]>,
    /// Lines round the stump that show how far something can reach.
    pub rings: &'a [Ring],
    /// Drops that left the spar.
    pub drops: &'a [DropView<'a>],
    /// The piece as it stands on the tree, to draw its limbs and brush.
    pub standing: Option<(&'a Piece, Motion)>,
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
    let lines = lines_of(input);
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
    let interval_m = map::draw_map(&mut map, input, &frame, &lines, spread, &reaching, &quiet);
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

/// The map of a plan alone, without title, legend and footer, of a width and height in px: for a
/// card in a list. What carries it must carry the caution too.
#[must_use]
pub fn map_alone(input: &Plan<'_>, size: (f64, f64)) -> String {
    let lines = lines_of(input);
    let spread = passing::spread(input.site.stump_m, input.drops);
    let (reaching, quiet) = chosen_tracks(input.drops);
    let shown = extent(input, &lines, spread);
    let frame = Frame::filling(&shown, (0.0, 0.0), size);
    let mut map = Svg::new(1.0, 1.0);
    map::draw_map(&mut map, input, &frame, &lines, spread, &reaching, &quiet);
    let mut svg = Svg::new(frame.width_px(), frame.height_px());
    marks::define_hatches(&mut svg, marks::HATCHES.min(input.site.patches.len()));
    svg.append(map);
    svg.finish(input.title)
}

fn lines_of(input: &Plan<'_>) -> Vec<PassLine> {
    let counted = || pass_lines(input.site.stump_m, input.drops);
    input.lines.map_or_else(counted, <[PassLine]>::to_vec)
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
    points.extend(input.rings.iter().flat_map(|ring| &ring.parts_m).flatten());
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn picture(count: u64, units: Units) -> String {
        picture_by(count, units, plan)
    }

    fn picture_by(count: u64, units: Units, draw: fn(&Plan<'_>) -> String) -> String {
        let site = sample::site();
        let drops = sample::drops(count, &site);
        let words = sample::patch_words();
        let forecast = sample::forecast();
        draw(&Plan {
            title: "Where the second section goes",
            subtitle: "Cut 2: stem section 7 ft 10 in long, 22 to 18 in thick, 1,060 lb, over a face",
            stamp: &sample::stamp(),
            units,
            site: &site,
            ground_words: "turf, thumb indents with effort",
            patch_words: &words,
            north_words: "true north",
            lines: None,
            rings: &[],
            faces: &[FaceArrow { azimuth_rad: std::f64::consts::PI, name: "" }],
            drops: &sample::views(&drops),
            standing: None,
            forecast: forecast.cuts.first().filter(|_| count > 0),
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
    fn prop_the_map_alone_has_its_names_and_no_page_around_it() {
        let svg = picture_by(0, Units::Metric, |plan| map_alone(plan, (480.0, 320.0)));
        sample::leave("map_alone", &svg);
        assert!(svg.contains("boathouse") && !svg.contains("law soil 1"));
        let pixels = super::super::png::pixels(&svg, 1.0).expect("drawn");
        assert_eq!((pixels.width, pixels.height), (480, 320));
    }

    #[test]
    fn prop_a_site_without_drops_is_a_map() {
        let svg = picture(0, Units::Metric);
        sample::leave("plan_empty", &svg);
        assert!(svg.contains("boathouse") && !svg.contains("1 in 2"));
        assert!(super::super::png::parse(&svg).is_ok());
    }
}
