//! The panel at the right: what is shown, and the caution before anything else.

use bevy_egui::egui::{self, RichText, Ui};

use crate::mesh::{Relief, contour_interval_m};

/// Width of the panel, in points.
pub(crate) const PANEL_WIDTH: f32 = 300.0;

/// Said first on every screen.
pub(crate) const CAUTION: &str = "The model has not been compared with dropped logs. A planning \
     aid, not a clearance; local codes and licensed practice decide.";

/// Every fifth contour is darker.
pub(crate) const CONTOURS_A_DARK_ONE: i32 = 5;

/// What the panel says.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Facts {
    /// The scene's name.
    pub(crate) name: String,
    /// East–west and north–south size of the terrain, m.
    pub(crate) size_m: (f32, f32),
    /// Lowest and highest ground, m.
    pub(crate) heights_m: (f32, f32),
    /// Height between contours, m.
    pub(crate) contour_interval_m: f32,
}

impl Facts {
    /// What is to be said about a terrain.
    #[must_use]
    pub(crate) fn of(name: &str, relief: &Relief) -> Self {
        let (low, high) = relief.extent_m();
        Self {
            name: name.to_owned(),
            size_m: (high.x - low.x, high.y - low.y),
            heights_m: (low.z, high.z),
            contour_interval_m: contour_interval_m(low.z, high.z),
        }
    }
}

/// Draws the panel; `azimuth_rad` is where the camera looks, clockwise from north.
pub(crate) fn panel(ui: &mut Ui, facts: &Facts, azimuth_rad: f32) {
    ui.label(RichText::new(CAUTION).strong());
    ui.separator();
    ui.heading(&facts.name);
    ui.label(format!("Terrain {:.0} × {:.0} m", facts.size_m.0, facts.size_m.1));
    ui.label(format!("Ground from {:.1} to {:.1} m", facts.heights_m.0, facts.heights_m.1));
    ui.label(format!(
        "Contours every {} m, darker every {} m",
        facts.contour_interval_m,
        facts.contour_interval_m * CONTOURS_A_DARK_ONE as f32
    ));
    ui.label(looking(azimuth_rad));
    ui.separator();
    egui::Grid::new("hands").num_columns(2).show(ui, |ui| {
        for (hand, what) in
            [("Left drag", "turn"), ("Right drag", "slide"), ("Wheel", "nearer, farther")]
        {
            ui.label(hand);
            ui.label(what);
            ui.end_row();
        }
    });
}

/// Where the camera looks, in degrees and as a point of the compass.
fn looking(azimuth_rad: f32) -> String {
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
    use egui_kittest::{Harness, kittest::Queryable};

    fn facts() -> Facts {
        Facts {
            name: "Lake bank".to_owned(),
            size_m: (160.0, 120.0),
            heights_m: (5.25, 34.75),
            contour_interval_m: 2.0,
        }
    }

    #[test]
    fn prop_the_caution_stands_above_everything_else() {
        let harness = Harness::new_ui(|ui| panel(ui, &facts(), 0.0));
        let caution = harness.get_by_label(CAUTION).rect();
        for label in ["Lake bank", "Terrain 160 × 120 m", "Contours every 2 m, darker every 10 m"]
        {
            let other = harness.get_by_label(label).rect();
            assert!(other.top() >= caution.bottom(), "{label}");
        }
    }

    #[test]
    fn prop_nothing_is_wider_than_the_panel() {
        let mut harness = Harness::builder()
            .with_size(egui::vec2(PANEL_WIDTH, 600.0))
            .build_ui(|ui| panel(ui, &facts(), 0.0));
        harness.run();
        let caution = harness.get_by_label(CAUTION).rect();
        assert!(caution.right() <= PANEL_WIDTH && caution.height() > 30.0, "{caution}");
    }

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
