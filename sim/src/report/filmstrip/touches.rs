//! Touches: a sign where each was, and words under the ground for as many as have room.

use super::{Filmstrip, LEFT, PAGE_WIDTH, RIGHT, Scale, unrolled::Unrolled};
use crate::{
    drop::{Against, Place, Touch},
    report::{
        font, marks,
        svg::{Anchor, Svg, TextStyle},
        units::decimals,
        words,
    },
};

/// A touch told under the ground, with a line up to where it was.
pub(crate) struct Callout {
    at: (f64, f64),
    place: Place,
    is_strike: bool,
    label: Option<(f64, f64, [String; 2])>,
}

const CALLOUT_ROW: f64 = 42.0;

/// Marks for all touches; words for as many as find room in three rows, the hardest first.
pub(crate) fn callouts(
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
    pub(crate) fn draw(&self, svg: &mut Svg) {
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
pub(crate) fn touch_mark(svg: &mut Svg, place: Place, (x, y): (f64, f64)) {
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
