//! The camera's maths: looking at a place on the ground from round about it.

use bevy::{
    math::{Vec2, Vec3, vec3},
    transform::components::Transform,
};

use crate::frame::to_screen_frame;

/// Vertical angle of view, rad.
pub(crate) const FIELD_OF_VIEW_RAD: f32 = 0.8;
/// From just over level to straight down.
const ELEVATION_RANGE_RAD: (f32, f32) = (0.03, std::f32::consts::FRAC_PI_2);
/// Turning for a drag across the whole height of the window, rad.
const TURN_FOR_FULL_DRAG_RAD: f32 = 3.0;
/// Distance for each notch of the wheel.
const ZOOM_A_NOTCH: f32 = 0.88;
/// Nearer than this shows nothing but a few triangles, m.
const NEAREST_M: f32 = 3.0;

/// A way of looking at the hillside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum View {
    /// From above, north up.
    Plan,
    /// From the side, level, the bank falling from left to right.
    Side,
    /// From over the bank, all of it.
    Oblique,
    /// As the climber sees it from the spar, toward the face.
    Climber,
}

impl View {
    pub(crate) const ALL: [Self; 4] = [Self::Oblique, Self::Plan, Self::Side, Self::Climber];

    /// Its name on a button.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Plan => "Plan",
            Self::Side => "Side",
            Self::Oblique => "Whole bank",
            Self::Climber => "Climber's eye",
        }
    }

    /// Its key.
    pub(crate) fn key(self) -> char {
        match self {
            Self::Plan => 'P',
            Self::Side => 'S',
            Self::Oblique => 'H',
            Self::Climber => 'E',
        }
    }
}

impl std::str::FromStr for View {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Ok(match text {
            "plan" => Self::Plan,
            "side" => Self::Side,
            "oblique" => Self::Oblique,
            "climber" => Self::Climber,
            _ => return Err(format!("read \"{text}\", allowed are plan, side, oblique, climber")),
        })
    }
}

/// What a view is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sight {
    /// Corners of what must be seen, m.
    pub(crate) low_m: Vec3,
    /// The other one.
    pub(crate) high_m: Vec3,
    /// Where the bank falls, clockwise from north, rad.
    pub(crate) fall_rad: f32,
    /// The climber's eye, m, and where the face points, clockwise from north, rad.
    pub(crate) climber: Option<(Vec3, f32)>,
}

/// A camera that looks at a place of the site.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Orbit {
    /// The place looked at, in the site's frame, m.
    pub(crate) focus_m: Vec3,
    /// Where the camera looks, clockwise from north, rad.
    pub(crate) azimuth_rad: f32,
    /// How high the camera stands over the place, rad from level.
    pub(crate) elevation_rad: f32,
    /// From the camera to the place, m.
    pub(crate) distance_m: f32,
    /// The farthest it may go, m.
    farthest_m: f32,
}

impl Orbit {
    /// Sees the whole box from low to high corner, looking north and down.
    #[must_use]
    pub(crate) fn framing(low_m: Vec3, high_m: Vec3) -> Self {
        let across_m = low_m.distance(high_m).max(NEAREST_M);
        Self {
            focus_m: (low_m + high_m) / 2.0,
            azimuth_rad: 0.35,
            elevation_rad: 0.6,
            distance_m: 0.5 * across_m / (FIELD_OF_VIEW_RAD / 2.0).tan(),
            farthest_m: 5.0 * across_m,
        }
    }

    /// Looks as a view wants it; from the climber's eye only where there is a climber.
    #[must_use]
    pub(crate) fn of(view: View, sight: &Sight) -> Self {
        let whole = Self::framing(sight.low_m, sight.high_m);
        match (view, sight.climber) {
            // The bank falls away from who looks, a little to the right.
            (View::Oblique, _) | (View::Climber, None) => {
                Self { azimuth_rad: sight.fall_rad + std::f32::consts::PI - 0.6, ..whole }
            }
            (View::Plan, _) => {
                let size_m = sight.high_m - sight.low_m;
                let across_m = size_m.y.max(0.8 * size_m.x).max(NEAREST_M);
                Self {
                    azimuth_rad: 0.0,
                    elevation_rad: ELEVATION_RANGE_RAD.1,
                    distance_m: 0.55 * across_m / (FIELD_OF_VIEW_RAD / 2.0).tan(),
                    ..whole
                }
            }
            (View::Side, _) => Self {
                azimuth_rad: sight.fall_rad - std::f32::consts::FRAC_PI_2,
                elevation_rad: 0.06,
                distance_m: 0.8 * whole.distance_m,
                ..whole
            },
            (View::Climber, Some((eye_m, toward_rad))) => {
                let (sin, cos) = toward_rad.sin_cos();
                let below_m = (eye_m.z - sight.low_m.z).max(2.0);
                let ahead_m = 1.2 * below_m;
                Self {
                    focus_m: eye_m + vec3(sin * ahead_m, cos * ahead_m, -below_m),
                    azimuth_rad: toward_rad,
                    elevation_rad: below_m.atan2(ahead_m),
                    distance_m: below_m.hypot(ahead_m),
                    ..whole
                }
            }
        }
    }

    /// Turns round the place by a drag, in parts of the window's height; right and down are
    /// positive, and the ground follows the hand.
    #[must_use]
    pub(crate) fn turned(mut self, drag: Vec2) -> Self {
        self.azimuth_rad =
            (self.azimuth_rad + TURN_FOR_FULL_DRAG_RAD * drag.x).rem_euclid(std::f32::consts::TAU);
        self.elevation_rad = (self.elevation_rad + TURN_FOR_FULL_DRAG_RAD * drag.y)
            .clamp(ELEVATION_RANGE_RAD.0, ELEVATION_RANGE_RAD.1);
        self
    }

    /// Slides over the ground by a drag, in parts of the window's height: what lay under the
    /// hand stays under it as far as the ground is level.
    #[must_use]
    pub(crate) fn slid(mut self, drag: Vec2) -> Self {
        let view_height_m = 2.0 * self.distance_m * (FIELD_OF_VIEW_RAD / 2.0).tan();
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let (right, ahead) = (vec3(cos, -sin, 0.0), vec3(sin, cos, 0.0));
        // Seen at a flat angle the ground is foreshortened; at a very flat one it would run away.
        let foreshortening = self.elevation_rad.sin().max(0.25);
        self.focus_m += view_height_m * (ahead * (drag.y / foreshortening) - right * drag.x);
        self
    }

    /// Nearer by this many notches of the wheel.
    #[must_use]
    pub(crate) fn zoomed(mut self, notches: f32) -> Self {
        self.distance_m = (self.distance_m * ZOOM_A_NOTCH.powf(notches))
            .clamp(NEAREST_M, self.farthest_m.max(NEAREST_M));
        self
    }

    /// Where the camera stands, in the site's frame, m.
    #[must_use]
    pub(crate) fn eye_m(&self) -> Vec3 {
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let (up, level) = self.elevation_rad.sin_cos();
        self.focus_m - self.distance_m * vec3(sin * level, cos * level, -up)
    }

    /// The camera's place and attitude for the renderer. `covered` is what something at the right
    /// covers across and something at the bottom covers upward, in parts of the window's height:
    /// the place looked at is put in the middle of the rest.
    #[must_use]
    pub(crate) fn transform(&self, covered: Vec2) -> Transform {
        // Looking straight down, up on the screen is where the camera looks on the map.
        let (sin, cos) = self.azimuth_rad.sin_cos();
        let (up, level) = self.elevation_rad.sin_cos();
        let up_m = vec3(sin * up, cos * up, level);
        let mut transform = Transform::from_translation(to_screen_frame(self.eye_m()))
            .looking_at(to_screen_frame(self.focus_m), to_screen_frame(up_m));
        let view_height_m = 2.0 * self.distance_m * (FIELD_OF_VIEW_RAD / 2.0).tan();
        transform.translation += transform.right() * (0.5 * covered.x * view_height_m);
        transform.translation -= transform.up() * (0.5 * covered.y * view_height_m);
        transform
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy::math::vec2;

    fn orbit() -> Orbit {
        Orbit::framing(vec3(-80.0, -60.0, 5.0), vec3(80.0, 60.0, 35.0))
    }

    /// Where a place of the site comes to lie, in parts of half the window's height.
    fn on_screen(orbit: &Orbit, site_m: Vec3) -> Vec2 {
        let seen =
            orbit.transform(Vec2::ZERO).to_matrix().inverse().transform_point3(to_screen_frame(site_m));
        seen.truncate() / (-seen.z * (FIELD_OF_VIEW_RAD / 2.0).tan())
    }

    #[test]
    fn verif_the_place_looked_at_is_in_the_middle_and_north_is_up() {
        let north = Orbit { azimuth_rad: 0.0, ..orbit() };
        assert!(on_screen(&north, north.focus_m).length() < 1e-5);
        let right = on_screen(&north, north.focus_m + Vec3::X);
        assert!(right.x > 0.0 && right.y.abs() < 1e-5, "{right}");
        assert!(on_screen(&north, north.focus_m + Vec3::Y).y > 0.0);
        assert!(on_screen(&north, north.focus_m + Vec3::Z).y > 0.0);
    }

    #[test]
    fn verif_looking_east_puts_south_at_the_right() {
        let east = Orbit { azimuth_rad: std::f32::consts::FRAC_PI_2, ..orbit() };
        assert!(on_screen(&east, east.focus_m - Vec3::Y).x > 0.0);
        assert!(on_screen(&east, east.focus_m + Vec3::X).y > 0.0);
    }

    #[test]
    fn verif_turning_keeps_the_distance_and_stops_straight_down() {
        let mut turned = orbit();
        for _ in 0..40 {
            turned = turned.turned(vec2(0.13, 0.31));
            let distance_m = turned.eye_m().distance(turned.focus_m);
            assert!((distance_m / turned.distance_m - 1.0).abs() < 1e-5);
        }
        assert_eq!(turned.elevation_rad, ELEVATION_RANGE_RAD.1);
        assert!(turned.transform(Vec2::ZERO).rotation.is_finite());
        assert!((0.0..std::f32::consts::TAU).contains(&turned.azimuth_rad));
    }

    #[test]
    fn verif_what_lies_under_the_hand_stays_under_it() {
        // Almost from above, so that perspective does not blur the comparison.
        let above = Orbit { elevation_rad: 1.5, azimuth_rad: 0.7, ..orbit() };
        let drag = vec2(0.1, -0.05);
        let slid = above.slid(drag);
        let seen = on_screen(&slid, above.focus_m);
        // Half heights, and the screen's y is up while a drag's is down.
        let expected = 2.0 * vec2(drag.x, -drag.y);
        assert!(seen.distance(expected) < 0.01, "{seen} {expected}");
        assert_eq!(slid.focus_m.z, above.focus_m.z);
    }

    #[test]
    fn verif_zooming_in_and_out_comes_back_and_stays_within_bounds() {
        let there_and_back = orbit().zoomed(4.0).zoomed(-4.0);
        assert!((there_and_back.distance_m / orbit().distance_m - 1.0).abs() < 1e-5);
        assert_eq!(orbit().zoomed(500.0).distance_m, NEAREST_M);
        assert_eq!(orbit().zoomed(-500.0).distance_m, orbit().farthest_m);
    }

    #[test]
    fn verif_panels_move_the_middle_by_half_of_their_size() {
        let orbit = orbit();
        let covered = vec2(0.4, 0.3);
        let moved = orbit.transform(covered);
        let seen = moved.to_matrix().inverse().transform_point3(to_screen_frame(orbit.focus_m));
        let at = seen.truncate() / (-seen.z * (FIELD_OF_VIEW_RAD / 2.0).tan());
        assert!(at.distance(vec2(-covered.x, covered.y)) < 1e-4, "{at}");
    }
}
