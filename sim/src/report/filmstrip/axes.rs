//! Heights at the left, the way gone at the bottom.

use glam::DVec2;

use super::{Filmstrip, LEFT, Scale, TOP};
use crate::report::{
    font, marks,
    plan::tidy,
    svg::{Anchor, Svg, TextStyle},
};

pub(crate) fn height_axis(
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

pub(crate) fn distance_axis(
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
    let name =
        format!("Distance over the map from where it was let go, {}", input.units.distance_name());
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
