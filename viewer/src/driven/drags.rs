//! Turning, sliding, zooming, and what belongs to the panel.

use super::*;
use bevy::math::vec2;

#[test]
fn prop_left_turns_right_slides_and_the_wheel_zooms() {
    let mut user = User::new();
    let start = user.orbit();
    user.drag(MouseButton::Left, vec2(300.0, 300.0), vec2(500.0, 250.0));
    let turned = user.orbit();
    assert_ne!(turned.azimuth_rad, start.azimuth_rad);
    assert!(turned.elevation_rad < start.elevation_rad);
    assert_eq!(turned.focus_m, start.focus_m);

    user.drag(MouseButton::Right, vec2(300.0, 300.0), vec2(350.0, 330.0));
    let slid = user.orbit();
    assert_ne!(slid.focus_m, turned.focus_m);
    assert_eq!(slid.azimuth_rad, turned.azimuth_rad);
    let focus_m = DVec2::new(slid.focus_m.x.into(), slid.focus_m.y.into());
    let ground_m = user.desk().ground_m(focus_m).unwrap();
    assert!((f64::from(slid.focus_m.z) - ground_m.z).abs() < 1e-3);

    user.wheel(2.0);
    assert!(user.orbit().distance_m < slid.distance_m);
}

#[test]
fn prop_a_moving_pointer_without_a_button_moves_nothing() {
    let mut user = User::new();
    let start = user.orbit();
    user.move_to(vec2(100.0, 100.0));
    user.move_to(vec2(700.0, 500.0));
    assert_eq!(user.orbit(), start);
    assert_eq!(user.hold(), Hold::Nothing);
}

#[test]
fn prop_a_drag_belongs_to_where_it_began() {
    let mut user = User::new();
    let start = user.orbit();
    let over_panel = vec2(panel_x(), 500.0);
    user.drag(MouseButton::Left, over_panel, vec2(300.0, 300.0));
    user.move_to(over_panel);
    user.frames(1);
    user.wheel(3.0);
    assert_eq!(user.orbit(), start, "the panel's own drag or wheel moved the camera");

    user.drag(MouseButton::Left, vec2(300.0, 300.0), over_panel);
    assert_ne!(user.orbit(), start, "a drag over the panel that began on the hillside");
}

#[test]
fn prop_the_camera_never_goes_below_the_ground() {
    let mut user = User::new();
    user.move_to(vec2(300.0, 300.0));
    user.frames(1);
    user.wheel(12.0);
    user.drag(MouseButton::Left, vec2(300.0, 590.0), vec2(300.0, 10.0));
    let eye_m = user.orbit().eye_m();
    let ground_m = user.desk().ground_m(DVec2::new(eye_m.x.into(), eye_m.y.into()));
    assert!(ground_m.is_none_or(|ground_m| f64::from(eye_m.z) >= ground_m.z + 0.49), "{eye_m}");
}

#[test]
fn prop_one_finger_turns_two_slide_and_pinch() {
    let mut user = User::new();
    let start = user.orbit();
    user.touch(1, TouchPhase::Started, vec2(300.0, 300.0));
    user.touch(1, TouchPhase::Moved, vec2(360.0, 300.0));
    let turned = user.orbit();
    assert_ne!(turned.azimuth_rad, start.azimuth_rad);
    assert_eq!(turned.distance_m, start.distance_m);
    user.touch(2, TouchPhase::Started, vec2(460.0, 300.0));
    user.touch(2, TouchPhase::Moved, vec2(560.0, 300.0));
    let pinched = user.orbit();
    assert!(pinched.distance_m < 0.7 * turned.distance_m);
    assert_eq!(pinched.azimuth_rad, turned.azimuth_rad);
    user.touch(2, TouchPhase::Ended, vec2(560.0, 300.0));
    user.touch(1, TouchPhase::Ended, vec2(360.0, 300.0));
    assert_eq!(user.hold(), Hold::Nothing);
}

#[test]
fn prop_arrows_and_letters_do_what_the_hand_does() {
    let mut user = User::new();
    let start = user.orbit();
    user.key(KeyCode::ArrowLeft, Key::ArrowLeft);
    assert_ne!(user.orbit().azimuth_rad, start.azimuth_rad);
    user.letter(KeyCode::Equal, "+");
    assert!(user.orbit().distance_m < start.distance_m);
    let slid = user.orbit();
    let held = [(KeyCode::ShiftLeft, Key::Shift)];
    user.key_with(&held, KeyCode::ArrowUp, Key::ArrowUp);
    assert_ne!(user.orbit().focus_m, slid.focus_m);
    user.from_above();
    assert_eq!(user.orbit().elevation_rad, std::f32::consts::FRAC_PI_2);
    user.letter(KeyCode::KeyE, "e");
    assert!(user.orbit().elevation_rad < 1.0);
}
