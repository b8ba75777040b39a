//! How the hillside is looked at: views, colours, size of letters, keys.

use bevy_egui::egui::{self, RichText, Ui};

use crate::{
    camera::View,
    desk::{Desk, Tool},
    page::sentence,
    palette::THEMES,
    wish::Wish,
};

/// Size of letters against the usual.
const TEXT_SCALES: [f32; 6] = [0.85, 1.0, 1.2, 1.5, 1.75, 2.0];

/// Hands and keys, and what they do.
const HANDS: [(&str, &str); 24] = [
    ("Left drag, one finger", "turn"),
    ("Right drag, two fingers", "slide"),
    ("Wheel, pinch, + −", "nearer, farther"),
    ("Arrows", "turn; with Shift slide"),
    ("Click", "take hold of what is there"),
    ("Drag what is held", "move it; with Shift turn it"),
    ("P, S, E, H", "plan, side, climber's eye, whole bank"),
    ("M", "measure between two points"),
    ("Space", "play, pause"),
    (", .", "a frame back, on"),
    ("[ ]", "slower, faster"),
    ("N, B", "next, earlier reaching drop"),
    ("W", "the three that reach hardest"),
    ("T", "the drop of the median rollout"),
    ("F", "follow the piece"),
    ("G", "ghosts of earlier places"),
    ("V", "side view"),
    ("K", "pull and hinge"),
    ("1 to 9", "cut"),
    ("Tab, Enter", "through the buttons"),
    ("Ctrl Z, Ctrl Shift Z", "undo, redo"),
    ("Ctrl S", "save"),
    ("Delete", "remove what is held"),
    ("Esc", "let go, put away"),
];

pub(super) fn tab(ui: &mut Ui, desk: &Desk, azimuth_rad: f32, wishes: &mut Vec<Wish>) {
    ui.label(looking(azimuth_rad));
    ui.horizontal_wrapped(|ui| {
        for view in View::ALL {
            if ui.button(view.word()).on_hover_text(format!("Key {}", view.key())).clicked() {
                wishes.push(Wish::View(view));
            }
        }
    });
    let measuring = matches!(desk.tool, Tool::Measure(_));
    if ui.selectable_label(measuring, "Measure between two points").clicked() {
        wishes.push(Wish::Use(if measuring { Tool::Hand } else { Tool::Measure(vec![]) }));
    }
    ui.separator();
    let mut look = desk.look;
    ui.label(RichText::new("Colours").strong());
    for (theme, word) in THEMES {
        ui.radio_value(&mut look.theme, theme, sentence(word));
    }
    ui.label(RichText::new("Letters").strong());
    ui.horizontal_wrapped(|ui| {
        for scale in TEXT_SCALES {
            ui.radio_value(&mut look.text_scale, scale, format!("{:.0} %", 100.0 * scale));
        }
    });
    if look != desk.look {
        wishes.push(Wish::Look(look));
    }
    ui.separator();
    egui::Grid::new("hands").num_columns(2).striped(true).show(ui, |ui| {
        for (hand, what) in HANDS {
            ui.label(hand);
            ui.label(sentence(what));
            ui.end_row();
        }
    });
}

/// Where the camera looks, in degrees and as a point of the compass.
pub(crate) fn looking(azimuth_rad: f32) -> String {
    const POINTS: [&str; 8] =
        ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
    let degrees = azimuth_rad.to_degrees().round() as i32;
    let degrees = degrees.rem_euclid(360);
    let point = POINTS[((degrees + 22) / 45) as usize % POINTS.len()];
    format!("Looking {degrees}°, {point}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_the_compass_turns_clockwise() {
        for (degrees, words) in [
            (0.0, "Looking 0°, north"),
            (22.0, "Looking 22°, north"),
            (23.0, "Looking 23°, north-east"),
            (90.0, "Looking 90°, east"),
            (225.0, "Looking 225°, south-west"),
            (337.0, "Looking 337°, north-west"),
            (338.0, "Looking 338°, north"),
            (359.9, "Looking 0°, north"),
        ] {
            assert_eq!(looking(f32::to_radians(degrees)), words);
        }
    }
}
