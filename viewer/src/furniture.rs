//! North arrow and distance scale of the hillside's picture, as plain geometry and numbers.

use bevy::math::{Vec2, vec2};
use tumblewood::quantity::Units;

/// A scale of a round length.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scale {
    /// What it stands for, m.
    pub(crate) length_m: f64,
    /// How long it is on the screen, px.
    pub(crate) length_px: f32,
    /// At its middle, without a unit.
    pub(crate) middle: String,
    /// At its end, with the unit.
    pub(crate) end: String,
}

/// The longest round scale of at most `most_px`, where the picture is looked at; nothing where
/// that is no length.
#[must_use]
pub(crate) fn scale(m_a_px: f64, most_px: f32, units: Units) -> Option<Scale> {
    let most_m = m_a_px * f64::from(most_px);
    // Less than a millimetre or more than a thousand kilometres is no hillside.
    if !(1e-3..1e6).contains(&most_m) {
        return None;
    }
    let length_m = units.round_step_m(most_m);
    let number = |length_m: f64| {
        let rounded = (length_m / units.distance_unit_m() * 1e4).round() / 1e4;
        format!("{rounded}")
    };
    Some(Scale {
        length_m,
        length_px: (length_m / m_a_px) as f32,
        middle: number(0.5 * length_m),
        end: format!("{} {}", number(length_m), units.distance_name()),
    })
}

/// Metres in a pixel at the place looked at, by its distance, the vertical angle of view and the
/// height of the picture.
#[must_use]
pub(crate) fn m_a_px(distance_m: f32, field_of_view_rad: f32, height_px: f32) -> f64 {
    f64::from(2.0 * distance_m * (0.5 * field_of_view_rad).tan() / height_px.max(1.0))
}

/// A north arrow on the screen, px from its middle, x right and y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct NorthArrow {
    /// The dark half, to the right of the way to north.
    pub(crate) dark: [Vec2; 3],
    /// The light half.
    pub(crate) light: [Vec2; 3],
    /// Middle of the letter, beyond the tip.
    pub(crate) letter: Vec2,
}

/// The arrow for a camera that looks along `azimuth_rad`, clockwise from north, seen from above;
/// `half_px` from its middle to its tip.
#[must_use]
pub(crate) fn north_arrow(azimuth_rad: f32, half_px: f32) -> NorthArrow {
    let (sin, cos) = azimuth_rad.sin_cos();
    // What lies ahead is up.
    let north = vec2(-sin, -cos);
    let right = vec2(-north.y, north.x);
    let at = |along: f32, aside: f32| (north * along + right * aside) * half_px;
    let (tip, notch) = (at(1.0, 0.0), at(-0.65, 0.0));
    NorthArrow {
        dark: [tip, at(-1.0, 0.45), notch],
        light: [tip, notch, at(-1.0, -0.45)],
        letter: at(1.45, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_scales_are_round_in_their_own_unit() {
        for (m_a_px, units, middle, end) in [
            (0.1, Units::Metric, "5", "10 m"),
            (0.033, Units::Metric, "2.5", "5 m"),
            (0.003, Units::Metric, "0.1", "0.2 m"),
            (0.1, Units::Imperial, "25", "50 ft"),
            (0.01, Units::Imperial, "2.5", "5 ft"),
            (10.0, Units::Metric, "500", "1000 m"),
        ] {
            let scale = scale(m_a_px, 160.0, units).unwrap();
            assert_eq!((scale.middle.as_str(), scale.end.as_str()), (middle, end));
            assert!(scale.length_px <= 160.001 && scale.length_px > 60.0, "{}", scale.length_px);
            assert!(
                (f64::from(scale.length_px) * m_a_px - scale.length_m).abs()
                    < 1e-3 * scale.length_m
            );
        }
        for nothing in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e9] {
            assert_eq!(scale(nothing, 160.0, Units::Metric), None);
        }
    }

    #[test]
    fn verif_a_pixel_at_the_focus() {
        // 90° of view over 1000 px at 50 m shows 100 m.
        let m = m_a_px(50.0, std::f32::consts::FRAC_PI_2, 1000.0);
        assert!((m - 0.1).abs() < 1e-6);
    }

    #[test]
    fn verif_north_turns_against_the_camera() {
        for (azimuth_deg, want) in [
            (0.0_f32, vec2(0.0, -1.0)),
            // Looking east, north is to the left.
            (90.0, vec2(-1.0, 0.0)),
            (180.0, vec2(0.0, 1.0)),
            (270.0, vec2(1.0, 0.0)),
        ] {
            let arrow = north_arrow(azimuth_deg.to_radians(), 20.0);
            assert!(
                arrow.dark[0].abs_diff_eq(want * 20.0, 1e-4),
                "{azimuth_deg}: {}",
                arrow.dark[0]
            );
            assert!(arrow.letter.dot(want) > 20.0);
            let area = |t: [Vec2; 3]| (t[1] - t[0]).perp_dot(t[2] - t[0]);
            assert!((area(arrow.dark) - area(arrow.light)).abs() < 1e-3 && area(arrow.dark) > 0.0);
        }
    }
}
