//! Targets, people at work and aids.

use super::{
    Sketch,
    pen::{Kind, Pen},
    sites::{local, place, quad},
};

/// Up to four targets of any kind.
pub(super) fn targets(pen: &mut Pen, sketch: &mut Sketch) -> String {
    let kinds = ["Structure", "KeepTree", "Person", "Vehicle", "Road", "Path", "Wire"];
    let all: Vec<String> = (0..pen.whole(0, 4))
        .map(|_| {
            let kind = pen.pick(&kinds);
            let id = sketch.id("target");
            let rest = target(pen, sketch, kind);
            format!("{kind}(id: \"{id}\", {rest})")
        })
        .collect();
    all.join(",\n        ")
}

fn target(pen: &mut Pen, sketch: &mut Sketch, kind: &str) -> String {
    match kind {
        "Structure" => {
            let corners = quad(pen, sketch, 8.0, 5.0);
            let wall_m = pen.within(2.0, 4.0);
            let wall = pen.told(Kind::Length, wall_m);
            let roof = if pen.one_in(2) {
                let roof_m = wall_m + pen.within(0.3, 3.0);
                format!(", roof: {}", pen.told(Kind::Length, roof_m))
            } else {
                String::new()
            };
            let windows = if pen.one_in(2) {
                let wall = pen.whole(1, 4);
                let [along, width, sill, height] = [0.1, 0.8, 0.5, 0.9].map(|m| pen.length(m));
                format!(
                    ", windows: [(wall: {wall}, along: {along}, width: {width}, sill: {sill}, \
                     height: {height})]"
                )
            } else {
                String::new()
            };
            format!("corners: {corners}, wall: {wall}{roof}{windows}")
        }
        "KeepTree" => {
            let (at, diameter) = (place(pen, sketch), pen.within(0.1, 0.6));
            let height_m = pen.within(6.0, 20.0);
            let diameter = pen.told(Kind::Thickness, diameter);
            let height = pen.told(Kind::Length, height_m);
            let limbs = if pen.one_in(2) {
                let from = pen.lengths(1.0, 5.0);
                format!(", limbs: (from: {from}, spread: {})", pen.lengths(0.5, 4.0))
            } else {
                String::new()
            };
            format!("at: {at}, diameter: {diameter}, height: {height}{limbs}")
        }
        "Person" => format!("at: {}", place(pen, sketch)),
        "Vehicle" => {
            let (at, heading) = (place(pen, sketch), pen.within(0.0, 360.0).floor());
            let heading = pen.told(Kind::Azimuth, heading);
            let [length, width, height] =
                [[3.0, 7.0], [1.5, 2.4], [1.2, 3.0]].map(|[low, high]| pen.lengths(low, high));
            format!(
                "at: {at}, heading: {heading}, length: {length}, width: {width}, height: {height}"
            )
        }
        "Road" | "Path" => {
            let line = line(pen, sketch);
            format!("line: {line}, width: {}", pen.lengths(0.6, 5.0))
        }
        _ => {
            let mut end = |side: f64| {
                let (down, left) = (pen.within(3.0, 16.0), side * pen.within(4.0, 14.0));
                let at = local(pen, sketch, down, left);
                format!("(at: {at}, height: {})", pen.lengths(3.0, 9.0))
            };
            let (from, to) = (end(-1.0), end(1.0));
            let sag = if pen.one_in(2) {
                let sag = pen.within(0.0, 1.0);
                format!(", sag: {}", pen.told_or_not(Kind::Length, sag))
            } else {
                String::new()
            };
            format!("from: {from}, to: {to}{sag}")
        }
    }
}

/// A line of three points across the bank, in a list.
fn line(pen: &mut Pen, sketch: &Sketch) -> String {
    let down = pen.within(3.0, 15.0);
    let points: Vec<String> = [-12.0, 0.0, 12.0]
        .iter()
        .map(|left| {
            let (down, left) = (down + pen.within(-2.0, 2.0), left + pen.within(-2.0, 2.0));
            local(pen, sketch, down, left)
        })
        .collect();
    format!("[{}]", points.join(", "))
}

/// Climber, line and feller as fields of the scene.
pub(super) fn people(pen: &mut Pen, sketch: &Sketch) -> String {
    let mut text = String::new();
    match pen.pick(&["", "OnSpar", "MovedTo", "Away"]) {
        "" => {}
        "MovedTo" => {
            let at = place(pen, sketch);
            let feet = pen.lengths(0.5, 8.0);
            text += &format!("    climber: MovedTo(at: {at}, feet: {feet}),\n");
        }
        word => text += &format!("    climber: {word},\n"),
    }
    match pen.pick(&["", "DownTheSpar", "MovedTo", "Away"]) {
        "" => {}
        "MovedTo" => {
            text += &format!("    climber_line: MovedTo(at: {}),\n", place(pen, sketch));
        }
        word => text += &format!("    climber_line: {word},\n"),
    }
    match pen.pick(&["", "AtStump", "MovedTo"]) {
        "" => {}
        "MovedTo" => text += &format!("    feller: MovedTo(at: {}),\n", place(pen, sketch)),
        word => text += &format!("    feller: {word},\n"),
    }
    text
}

/// Up to three aids of any kind.
pub(super) fn aids(pen: &mut Pen, sketch: &mut Sketch) -> String {
    let kinds = ["BarrierLog", "BarrierLog", "BrushMat", "Wall", "Stump"];
    let all: Vec<String> = (0..pen.whole(0, 3))
        .map(|_| {
            let kind = pen.pick(&kinds);
            let id = sketch.id("aid");
            let rest = match kind {
                "BarrierLog" => {
                    let down = pen.within(3.0, 14.0);
                    let mut end = |side: f64| {
                        let left = side * pen.within(1.0, 6.0);
                        local(pen, sketch, down, left)
                    };
                    let (from, to) = (end(-1.0), end(1.0));
                    let diameter = pen.within(0.1, 0.6);
                    let diameter = pen.told(Kind::Thickness, diameter);
                    let held =
                        pen.pick(&["Staked", "AgainstStump", "InDent", "NotHeld", "NotHeld"]);
                    format!("from: {from}, to: {to}, diameter: {diameter}, held: {held}")
                }
                "BrushMat" => {
                    let outline = quad(pen, sketch, 6.0, 4.0);
                    format!("outline: {outline}, thickness: {}", pen.lengths(0.1, 1.0))
                }
                "Wall" => {
                    let (line, height) = (line(pen, sketch), pen.lengths(0.3, 2.0));
                    format!("line: {line}, height: {height}, thickness: {}", pen.lengths(0.1, 0.6))
                }
                _ => {
                    let (at, diameter) = (place(pen, sketch), pen.lengths(0.2, 0.9));
                    format!("at: {at}, diameter: {diameter}, height: {}", pen.lengths(0.1, 1.0))
                }
            };
            format!("{kind}(id: \"{id}\", {rest})")
        })
        .collect();
    all.join(",\n        ")
}
