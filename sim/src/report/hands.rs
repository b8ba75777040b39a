//! A room's hands beside the drops of one question, as a picture.
//!
//! Options and chances: two bars each, what the room believes and how often it happened. Ranges: each
//! answer as a line with its ends over the drops, one tick a drop. Marks: each answer as a circle on
//! the bank, a point for each drop. Words and shapes tell the room from the drops, not colour alone.

use glam::DVec2;

use super::{
    bank::Bank,
    marks::INK,
    svg::{Anchor, Svg, TextStyle, n},
    words::in_hundred,
};
use crate::lesson::{
    Answer, Form, Found, Measure, Terms, Truth,
    found::hands_words,
    tally::{Hands, Tally},
};

/// Width of the picture, px.
const WIDTH: f64 = 420.0;
/// Margin, px.
const EDGE: f64 = 14.0;
/// Height of a bar and of what belongs to one option, px.
const BAR: f64 = 15.0;
const OPTION: f64 = 62.0;
/// Height of a line of a range, px.
const LINE: f64 = 30.0;
const FAINT: &str = "#c9d1cc";
const ROOM: &str = "#1d4f91";
const DROPS: &str = "#7c3f00";
const TEXT: TextStyle<'_> = TextStyle {
    size: 14.0,
    bold: false,
    fill: INK,
    anchor: Anchor::Start,
    halo: None,
    turn_deg: 0.0,
};

/// The picture as one SVG document; nothing without hands or drops.
#[must_use]
pub fn hands(found: &Found, terms: &Terms, bank: &Bank) -> Option<String> {
    let truth = found.truth.as_ref()?;
    if found.tally.count() == 0 {
        return None;
    }
    match (&found.form, truth) {
        (Form::Options(options), _) => Some(bars(found, truth, options)),
        (Form::Chance, _) => Some(bars(found, truth, &["It happens".to_owned()])),
        (Form::Range(measure), Truth::Values { values, .. }) => {
            lines(&found.tally, *measure, values, terms)
        }
        (Form::Mark, Truth::Points { at_m, .. }) => Some(marks(&found.tally, at_m, bank, terms)),
        _ => None,
    }
}

/// Two bars for each option.
fn bars(found: &Found, truth: &Truth, options: &[String]) -> String {
    let spread = found.tally.spread(truth);
    let drops = match truth {
        Truth::Fewest(counted) => counted.iter().map(|counted| counted.share()).collect(),
        _ => found.drops(),
    };
    let height = 34.0 + OPTION * options.len() as f64;
    let mut svg = Svg::new(WIDTH, height);
    let room = hands_words(spread.hands);
    let said = match truth {
        Truth::Fewest(_) => {
            format!("outlined: {room} say it is least; filled: how often")
        }
        _ => format!("outlined: {room}; filled: the drops; in 100"),
    };
    svg.text(EDGE, 20.0, &said, TEXT);
    let long = WIDTH - 2.0 * EDGE - 80.0;
    for (i, option) in options.iter().enumerate() {
        let top = 34.0 + OPTION * i as f64;
        svg.text(EDGE, top + 15.0, option, TextStyle { bold: true, ..TEXT });
        let two = [(spread.room.get(i), "room", false), (drops.get(i), "drops", true)];
        for (k, (share, who, is_filled)) in two.into_iter().enumerate() {
            let Some(share) = share.copied() else { continue };
            let y = top + 21.0 + (BAR + 3.0) * k as f64;
            let wide = long * share.clamp(0.0, 1.0);
            let (colour, fill) = if is_filled { (DROPS, DROPS) } else { (ROOM, "none") };
            svg.element(
                "rect",
                format_args!(
                    "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\" \
                     stroke=\"{colour}\" stroke-width=\"2\"",
                    n(EDGE),
                    n(y),
                    n(wide),
                    n(BAR)
                ),
            );
            let number = format!("{who} {}", in_hundred(share));
            svg.text(EDGE + wide + 8.0, y + BAR - 3.0, &number, TEXT);
        }
    }
    svg.finish("The room and the drops")
}

/// Each answer's range over the drops.
fn lines(tally: &Tally, measure: Measure, values: &[f64], terms: &Terms) -> Option<String> {
    let ranges: Vec<(&Hands, [f64; 2])> = tally
        .hands
        .iter()
        .filter_map(|hands| match hands.answer {
            Answer::Range { low, high } => Some((hands, [low, high])),
            _ => None,
        })
        .collect();
    let all = values.iter().copied().chain(ranges.iter().flat_map(|(_, ends)| *ends));
    let (low, high) = all
        .filter(|x| x.is_finite())
        .fold((0.0_f64, 0.0_f64), |(low, high), x| (low.min(x), high.max(x)));
    if high - low <= 0.0 {
        return None;
    }
    let height = 40.0 + LINE * ranges.len() as f64 + 84.0;
    let mut svg = Svg::new(WIDTH, height);
    let x = |value: f64| EDGE + 4.0 + (WIDTH - 2.0 * EDGE - 8.0) * (value - low) / (high - low);
    svg.text(EDGE, 20.0, "lines: 8 in 10 as hands say; ticks: the drops", TEXT);
    let ink = format!("stroke=\"{ROOM}\" stroke-width=\"2.5\" fill=\"none\"");
    for (i, (hands, [from, to])) in ranges.iter().enumerate() {
        let y = 40.0 + LINE * (i as f64 + 1.0);
        svg.polyline(&[(x(*from), y), (x(*to), y)], false, format_args!("{ink}"));
        for end in [*from, *to] {
            svg.polyline(&[(x(end), y - 6.0), (x(end), y + 6.0)], false, format_args!("{ink}"));
        }
        let said = format!(
            "{}: {} to {}",
            hands_words(hands.hands),
            measure.shown(*from, terms.units),
            measure.shown(*to, terms.units)
        );
        beside(&mut svg, (x(*from), y - 9.0), &said);
    }
    let y = 40.0 + LINE * ranges.len() as f64 + 22.0;
    let faint = format!("stroke=\"{FAINT}\" stroke-width=\"1\"");
    svg.polyline(&[(x(low), y + 18.0), (x(high), y + 18.0)], false, format_args!("{faint}"));
    for value in values.iter().copied().filter(|value| value.is_finite()) {
        svg.polyline(
            &[(x(value), y), (x(value), y + 18.0)],
            false,
            format_args!("stroke=\"{DROPS}\" stroke-width=\"1.5\" stroke-opacity=\"0.5\""),
        );
    }
    let base = y + 38.0;
    svg.text(x(low), base, &measure.shown(low, terms.units), TEXT);
    let end = TextStyle { anchor: Anchor::End, ..TEXT };
    svg.text(x(high), base, &measure.shown(high, terms.units), end);
    Some(svg.finish("The room and the drops"))
}

/// Text from x on, or ending at the right edge where it would run over it.
fn beside(svg: &mut Svg, (x, y): (f64, f64), text: &str) {
    // Letters are about half as wide as high.
    let wide = 0.52 * TEXT.size * text.chars().count() as f64;
    let x = x.min(WIDTH - EDGE - wide).max(EDGE);
    svg.text(x, y, text, TextStyle { halo: Some("#ffffff"), ..TEXT });
}

/// Each answer's mark on the bank, and where the drops were.
fn marks(tally: &Tally, at_m: &[DVec2], bank: &Bank, terms: &Terms) -> String {
    let answers: Vec<(&Hands, DVec2, f64)> = tally
        .hands
        .iter()
        .filter_map(|hands| match hands.answer {
            Answer::Mark { at_m, radius_m } => Some((hands, at_m, radius_m)),
            _ => None,
        })
        .collect();
    let circles = answers
        .iter()
        .flat_map(|(_, at_m, radius_m)| [*at_m - DVec2::splat(*radius_m), *at_m + *radius_m]);
    let points = at_m.iter().copied().chain(circles).filter(|point| point.is_finite());
    let (mut low, mut high) = (DVec2::splat(-5.0), DVec2::splat(5.0));
    for point in points.chain(bank.corners_m()) {
        (low, high) = (low.min(point), high.max(point));
    }
    let (low, high) = (low - 2.0, high + 2.0);
    let size_m = high - low;
    let px_m = ((WIDTH - 2.0 * EDGE) / size_m.x).min(400.0 / size_m.y);
    let top = 34.0;
    let (wide, tall) = (size_m.x * px_m, size_m.y * px_m);
    let at = |p: DVec2| (EDGE + (p.x - low.x) * px_m, top + tall - (p.y - low.y) * px_m);
    let mut svg = Svg::new(WIDTH, top + tall + 34.0);
    svg.text(EDGE, 20.0, "circles: hands; points: the drops; north is up", TEXT);
    svg.define(&format!(
        "<clipPath id=\"bank\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>",
        n(EDGE),
        n(top),
        n(wide),
        n(tall)
    ));
    svg.open(format_args!("clip-path=\"url(#bank)\""));
    let way = |line: &[DVec2]| line.iter().map(|p| at(*p)).collect::<Vec<_>>();
    for line in &bank.contours_m {
        let faint = format!("fill=\"none\" stroke=\"{FAINT}\" stroke-width=\"1\"");
        svg.polyline(&way(line), false, format_args!("{faint}"));
    }
    for outline in bank.bodies.iter().flat_map(|(_, outlines)| outlines) {
        let body = format!("fill=\"#e4e8e5\" stroke=\"{INK}\" stroke-width=\"1.2\"");
        svg.polyline(&way(outline), true, format_args!("{body}"));
    }
    let round = |svg: &mut Svg, p: DVec2, r: f64, look: &str| {
        let (x, y) = at(p);
        let (x, y, r) = (n(x), n(y), n(r));
        svg.element("circle", format_args!("cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {look}"));
    };
    for drop_m in at_m {
        round(&mut svg, *drop_m, 2.4, &format!("fill=\"{DROPS}\""));
    }
    round(&mut svg, DVec2::ZERO, 5.0, &format!("fill=\"{INK}\""));
    for (_, mark_m, radius_m) in &answers {
        let look = format!("fill=\"none\" stroke=\"{ROOM}\" stroke-width=\"2\"");
        round(&mut svg, *mark_m, radius_m * px_m, &look);
    }
    svg.close();
    for (hands, mark_m, _) in &answers {
        let (x, y) = at(*mark_m);
        beside(&mut svg, (x + 4.0, y - 4.0), &hands_words(hands.hands));
    }
    let (stump_x, stump_y) = at(DVec2::ZERO);
    beside(&mut svg, (stump_x + 7.0, stump_y + 4.0), "stump");
    let base = top + tall + 20.0;
    let step_m = terms.units.round_step_m(10.0);
    let end = EDGE + step_m * px_m;
    let bar = format!("stroke=\"{INK}\" stroke-width=\"2\"");
    svg.polyline(&[(EDGE, base), (end, base)], false, format_args!("{bar}"));
    svg.text(end + 8.0, base + 4.0, &terms.units.distance(step_m), TEXT);
    svg.finish("The room and the drops")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{job::Job, lesson::Counted, report::png, scene};

    fn bank() -> (Bank, Terms) {
        let job =
            Job::load(scene::parse(scene::starter(), "starter").expect("a scene")).expect("a job");
        (Bank::of(&job).expect("a bank"), Terms::of(&job))
    }

    fn found(form: Form, answer: Answer, truth: Truth) -> Found {
        let tally = Tally { hands: vec![Hands { answer, hands: 3 }] };
        Found { form, answer: None, tally, truth: Some(truth), score: None }
    }

    /// Widths of the bars, px.
    fn widths(svg: &str) -> Vec<f64> {
        let rects = svg.split("<rect ").skip(2);
        let width = |rect: &str| rect.split("width=\"").nth(1)?.split('"').next()?.parse().ok();
        rects.filter_map(width).collect()
    }

    #[test]
    fn verif_bars_are_as_long_as_shares_and_every_kind_is_drawn() {
        let (bank, terms) = bank();
        let counted = |hits| Counted {
            label: String::new(),
            hits,
            unknown: 0,
            of: 40,
            over_grounds: None,
            draws: false,
        };
        let options = Form::Options(vec!["<rolls>".into(), "stays".into()]);
        let choice = Answer::Choice { option: 0, confidence: 0.75 };
        let truth = Truth::Options(vec![counted(10), counted(30)]);
        let svg = hands(&found(options, choice, truth), &terms, &bank).expect("a picture");
        let [room, drops, room_stays, drops_stays] = widths(&svg)[..] else { panic!("{svg}") };
        // Hands 75 and 25 in 100, drops 25 and 75.
        assert!((room - 3.0 * drops).abs() < 0.1 && (room - drops_stays).abs() < 0.1, "{svg}");
        assert!((drops - room_stays).abs() < 0.1 && svg.contains("&lt;rolls&gt;"), "{svg}");

        let range = Answer::Range { low: 2.0, high: 6.0 };
        let truth = Truth::Values {
            measure: Measure::Distance,
            values: vec![1.0, 8.0],
            at_least: 0,
            left_out: 0,
            draws: false,
        };
        let of_range = found(Form::Range(Measure::Distance), range, truth);
        let mark = Answer::Mark { at_m: DVec2::new(3.0, -4.0), radius_m: 2.0 };
        let truth = Truth::Points { at_m: vec![DVec2::new(1.0, -9.0)], lost: 0, left_out: 0 };
        for found in [of_range, found(Form::Mark, mark, truth)] {
            let svg = hands(&found, &terms, &bank).expect("a picture");
            assert!(png::parse(&svg).is_ok() && svg.contains("3 hands"), "{svg}");
            let none = Found { tally: Tally::default(), ..found };
            assert_eq!(hands(&none, &terms, &bank), None);
        }
    }
}
