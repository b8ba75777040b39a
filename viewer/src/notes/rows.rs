//! The parts of the form, row by row.

use bevy_egui::egui::{ComboBox, RichText, Ui};
use tumblewood::{quantity::Units, wood};

use super::{
    NotesPage,
    form::{
        Footprint, Girth, Kind, Leg, Line, Noted, NotesForm, Plumb, Spot, Sure, Target, TargetKind,
    },
    pen::{Pen, words_field},
    words,
};
use crate::page::named;

/// Draws the whole form.
pub(super) fn form(ui: &mut Ui, page: &mut NotesPage) {
    let pen = Pen { units_of: page.form.clone(), complaints: &page.judged.complaints };
    let form = &mut page.form;
    section(ui, "The job", |ui| job(ui, &pen, form));
    section(ui, "The bank, by tape and inclinometer", |ui| bank(ui, &pen, form));
    section(ui, "The ground, by a test you can do", |ui| ground(ui, &pen, form));
    section(ui, "The tree", |ui| tree(ui, &pen, form));
    section(ui, "What must not be touched", |ui| targets(ui, &pen, form));
    section(ui, "The first cut", |ui| cut(ui, &pen, form));
}

fn section(ui: &mut Ui, name: &str, add: impl FnOnce(&mut Ui)) {
    ui.add_space(6.0);
    ui.label(RichText::new(name).heading());
    ui.push_id(name, add);
}

fn job(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    pen.row(ui, "Name", &["name"], |ui| words_field(ui, "Name", &mut form.name, 300.0, ""));
    pen.row(ui, "Note", &["note"], |ui| words_field(ui, "Note", &mut form.note, 300.0, ""));
    pen.row(ui, "", &[], |ui| {
        ui.checkbox(&mut form.invented, "Invented: untick once these are notes of a real place");
    });
    pen.row(ui, "Units", &[], |ui| {
        ui.selectable_value(&mut form.units, Units::Imperial, "Feet, inches, pounds");
        ui.selectable_value(&mut form.units, Units::Metric, "Metres, kilograms");
    });
    pen.row(ui, "Slopes of legs in", &[], |ui| {
        ui.selectable_value(&mut form.percent, false, "Degrees");
        ui.selectable_value(&mut form.percent, true, "Percent");
    });
    pen.row(ui, "Most numbers are", &[], |ui| {
        for sure in Sure::OF_A_FORM {
            let of_lengths = sure.shown(sure, Kind::Far);
            let of_angles = Sure::AsForm.shown(sure, Kind::Turn);
            ui.selectable_value(&mut form.doubt, sure, format!("{of_lengths}, {of_angles}"));
        }
    });
    ui.label("A bare number takes the unit beside its field; any other unit can be typed too.");
}

fn bank(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    ui.label(
        "Walk lines from the stump, or from the end of a leg of a line above, as down:3. Tape along \
         the slope; down is negative. At least two legs a line, and lines in more than one \
         direction.",
    );
    pen.wrong(ui, "site.terrain.lines");
    let mut gone = None;
    let lines = form.lines.len();
    for (i, line) in form.lines.iter_mut().enumerate() {
        ui.push_id(i, |ui| {
            if self::line(ui, pen, i, line, lines) {
                gone = Some(i);
            }
        });
    }
    if let Some(i) = gone {
        form.lines.remove(i);
    }
    if ui.button("Add a line").clicked() {
        let id = fresh("line", form.lines.iter().map(|line| line.id.as_str()));
        form.lines.push(Line::new(&id, "stump", "", &[("", ""), ("", "")]));
    }
}

/// One line of legs; true if it is to go.
fn line(ui: &mut Ui, pen: &Pen<'_>, i: usize, line: &mut Line, lines: usize) -> bool {
    let path = format!("site.terrain.lines[{i}]");
    let field = |part: &str| format!("{path}.{part}");
    let name = line.id.clone();
    let mut gone = false;
    let fields = [field("id"), field("from"), field("azimuth"), path.clone()];
    let fields: Vec<&str> = fields.iter().map(String::as_str).collect();
    ui.separator();
    pen.row(ui, &format!("Line {}", i + 1), &fields, |ui| {
        words_field(ui, &format!("Name of line {}", i + 1), &mut line.id, 90.0, "name");
        ui.label("from");
        words_field(ui, &format!("{name}: from"), &mut line.from, 70.0, "stump");
        ui.label("toward");
        pen.number(ui, &format!("{name}: toward"), &mut line.azimuth, Kind::Turn);
        gone = lines > 1 && ui.button(format!("Remove line {name}")).clicked();
    });
    let (mut out, legs) = (None, line.legs.len());
    for (j, leg) in line.legs.iter_mut().enumerate() {
        let at = format!("{path}.legs[{j}]");
        let fields = [format!("{at}[0]"), format!("{at}[1]")];
        pen.row(ui, &format!("    Leg {}", j + 1), &[&fields[0], &fields[1]], |ui| {
            let leg_name = format!("{name} leg {}", j + 1);
            pen.number(ui, &format!("{leg_name}: distance"), &mut leg.distance, Kind::Far);
            ui.label("at");
            pen.number(ui, &format!("{leg_name}: slope"), &mut leg.slope, Kind::Slope);
            if legs > 1 && cross(ui, &format!("Remove {leg_name}")) {
                out = Some(j);
            }
        });
    }
    if let Some(j) = out {
        line.legs.remove(j);
    }
    if ui.button(format!("Add a leg to {name}")).clicked() {
        line.legs.push(Leg::new("", ""));
    }
    gone
}

fn ground(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    ui.label(words::WHERE);
    pen.wrong(ui, "site.ground");
    pen.words(ui, "Soil", &words::SOILS, &mut form.soil);
    pen.words(ui, "On it lies", &words::COVERS, &mut form.cover);
    if matches!(form.cover, "Litter" | "Turf") {
        let depth = &mut form.cover_depth;
        pen.number_row(ui, "How deep, by finger", "site.ground.cover", depth, Kind::Thick);
    }
    pen.words(ui, "Bumps", &words::BUMPS, &mut form.roughness);
    if form.roughness == "Bumps" {
        let bumps = &mut form.bumps;
        pen.number_row(ui, "How high", "site.ground.roughness", bumps, Kind::Thick);
    }
    pen.words(ui, "How wet", &words::WETNESS, &mut form.wetness);
}

fn tree(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    let tree = &mut form.tree;
    pen.wrong(ui, "tree");
    pen.row(ui, "Species", &["tree.species"], |ui| {
        let list = ComboBox::from_id_salt("species").width(220.0).selected_text(&tree.species);
        let list = list.show_ui(ui, |ui| {
            for species in wood::all_species() {
                let chosen = tree.species == species.name;
                if ui.selectable_label(chosen, species.name).clicked() {
                    species.name.clone_into(&mut tree.species);
                }
            }
        });
        named(ui, &list.response, "Species");
    });
    let number = |ui: &mut Ui, words: &str, field: &str, noted: &mut Noted, kind| {
        pen.number_row(ui, words, field, noted, kind);
    };
    number(ui, "Diameter, breast height", "tree.dbh", &mut tree.dbh, Kind::Thick);
    number(ui, "Height of the tree", "tree.height", &mut tree.height, Kind::Far);
    number(ui, "Topped at, if it is", "tree.topped_at", &mut tree.topped_at, Kind::Far);
    let mut out = None;
    for (i, girth) in tree.girths.iter_mut().enumerate() {
        let path = format!("tree.diameters[{i}]");
        let fields = [path.clone(), format!("{path}[0]"), format!("{path}[1]")];
        let fields: Vec<&str> = fields.iter().map(String::as_str).collect();
        pen.row(ui, &format!("Diameter {} over bark", i + 1), &fields, |ui| {
            let name = format!("Diameter {}", i + 1);
            pen.number(ui, &name, &mut girth.diameter, Kind::Thick);
            ui.label("at height");
            pen.number(ui, &format!("{name}: height"), &mut girth.height, Kind::Far);
            if cross(ui, &format!("Remove {}", name.to_lowercase())) {
                out = Some(i);
            }
        });
    }
    if let Some(i) = out {
        tree.girths.remove(i);
    }
    if ui.button("Add a measured diameter").clicked() {
        tree.girths.push(Girth { height: Noted::default(), diameter: Noted::default() });
    }
    let mut leans = tree.lean.is_some();
    pen.row(ui, "Lean", &[], |ui| {
        ui.selectable_value(&mut leans, false, "Upright as far as one can see");
        ui.selectable_value(&mut leans, true, "By plumb line");
    });
    match (leans, &mut tree.lean) {
        (false, lean) => *lean = None,
        (true, lean @ None) => {
            let [offset, height, toward] = ["1", "20", "160"].map(Noted::from);
            *lean = Some(Plumb { offset, height, toward });
        }
        (true, Some(lean)) => {
            ui.label("Hang a line from the stem; measure from the stem's foot to the bob.");
            number(ui, "From foot to bob", "tree.lean.offset", &mut lean.offset, Kind::Far);
            number(ui, "Line hung at height", "tree.lean.height", &mut lean.height, Kind::Far);
            number(ui, "It leans toward", "tree.lean.toward", &mut lean.toward, Kind::Turn);
        }
    }
}

fn targets(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    ui.label("The climber, the climber's line and the feller are always among it.");
    pen.wrong(ui, "targets");
    let mut gone = None;
    for (i, target) in form.targets.iter_mut().enumerate() {
        ui.push_id(i, |ui| {
            if self::target(ui, pen, i, target) {
                gone = Some(i);
            }
        });
    }
    if let Some(i) = gone {
        form.targets.remove(i);
    }
    ui.horizontal_wrapped(|ui| {
        for kind in TargetKind::starting() {
            let name = kind.name();
            if ui.button(format!("Add: {}", name.to_lowercase())).clicked() {
                let base = name.split(' ').next().unwrap_or(name).to_lowercase();
                let id = fresh(&base, form.targets.iter().map(|target| target.id.as_str()));
                form.targets.push(Target::new(kind, id));
            }
        }
    });
}

/// One target; true if it is to go.
fn target(ui: &mut Ui, pen: &Pen<'_>, i: usize, target: &mut Target) -> bool {
    let path = format!("targets[{i}]");
    let field = |part: &str| format!("{path}.{part}");
    let name = target.id.clone();
    let mut gone = false;
    ui.separator();
    let fields = [field("id"), path.clone()];
    pen.row(ui, target.kind.name(), &[&fields[0], &fields[1]], |ui| {
        words_field(ui, &format!("Name of target {}", i + 1), &mut target.id, 120.0, "name");
        gone = ui.button(format!("Remove {name}")).clicked();
    });
    let number = |ui: &mut Ui, words: &str, part: &str, noted: &mut Noted, kind: Kind| {
        pen.row(ui, words, &[&field(part)], |ui| {
            pen.number(ui, &format!("{name}: {}", words.to_lowercase()), noted, kind);
        });
    };
    match &mut target.kind {
        TargetKind::Structure { footprint, wall } => {
            footprint_rows(ui, pen, &path, &name, footprint);
            number(ui, "Height of its walls", "wall", wall, Kind::Far);
        }
        TargetKind::KeepTree { at, diameter, height } => {
            pen.spot(ui, &format!("{name} stands"), &field("at"), at);
            number(ui, "Diameter", "diameter", diameter, Kind::Thick);
            number(ui, "Height", "height", height, Kind::Far);
        }
        TargetKind::Person { at } => {
            pen.spot(ui, &format!("{name} stands"), &field("at"), at);
        }
        TargetKind::Path { line, width } => {
            for (j, spot) in line.iter_mut().enumerate() {
                let path = field(&format!("line[{j}]"));
                pen.spot(ui, &format!("{name} point {}", j + 1), &path, spot);
            }
            ui.horizontal(|ui| {
                if ui.button(format!("Add a point to {name}")).clicked() {
                    line.push(Spot::new("stump", "", ""));
                }
                if line.len() > 2 && ui.button(format!("Remove its last point ({name})")).clicked()
                {
                    line.pop();
                }
            });
            number(ui, "Width", "width", width, Kind::Far);
        }
    }
    gone
}

fn footprint_rows(ui: &mut Ui, pen: &Pen<'_>, path: &str, name: &str, footprint: &mut Footprint) {
    let field = |part: &str| format!("{path}.{part}");
    let mut by_wall = matches!(footprint, Footprint::Wall { .. });
    let was = by_wall;
    pen.row(ui, "Noted by", &[], |ui| {
        ui.selectable_value(&mut by_wall, true, "Two corners of one wall");
        ui.selectable_value(&mut by_wall, false, "Middle and size");
    });
    if by_wall != was {
        *footprint = other(footprint);
    }
    let number = |ui: &mut Ui, words: &str, part: &str, noted: &mut Noted, kind: Kind| {
        pen.row(ui, words, &[&field(part)], |ui| {
            pen.number(ui, &format!("{name}: {}", words.to_lowercase()), noted, kind);
        });
    };
    match footprint {
        Footprint::Wall { one, two, depth } => {
            pen.spot(ui, &format!("{name} corner 1"), &field("corners[0]"), one);
            pen.spot(ui, &format!("{name} corner 2"), &field("corners[1]"), two);
            number(ui, "Goes back from there", "depth", depth, Kind::Far);
        }
        Footprint::Middle { at, length, width, heading } => {
            pen.spot(ui, &format!("{name} middle"), &field("at"), at);
            number(ui, "Length", "length", length, Kind::Far);
            number(ui, "Width", "width", width, Kind::Far);
            number(ui, "Its length runs toward", "heading", heading, Kind::Turn);
        }
    }
}

/// The other way to note a footprint, with what the two have in common.
fn other(footprint: &Footprint) -> Footprint {
    match footprint {
        Footprint::Wall { one, depth, .. } => Footprint::Middle {
            at: one.clone(),
            length: "16".into(),
            width: depth.clone(),
            heading: "90".into(),
        },
        Footprint::Middle { at, width, .. } => {
            Footprint::Wall { one: at.clone(), two: at.clone(), depth: width.clone() }
        }
    }
}

fn cut(ui: &mut Ui, pen: &Pen<'_>, form: &mut NotesForm) {
    let cut = &mut form.cut;
    pen.wrong(ui, "cuts");
    pen.row(ui, "Name of the cut", &["cuts[0].id", "cuts[0]"], |ui| {
        words_field(ui, "Name of the cut", &mut cut.id, 120.0, "name");
    });
    let number = |ui: &mut Ui, words: &str, field: &str, noted: &mut Noted, kind| {
        pen.number_row(ui, words, &format!("cuts[0].{field}"), noted, kind);
    };
    number(ui, "Cut at height", "piece.from", &mut cut.from, Kind::Far);
    number(ui, "Top of the piece", "piece.to", &mut cut.to, Kind::Far);
    pen.words(ui, "Released by", &words::RELEASES, &mut cut.release);
    number(ui, "Meant to fall toward", "release.face", &mut cut.face, Kind::Turn);
    if cut.release == "Hinge" {
        number(ui, "Face opening", "release.opening", &mut cut.opening, Kind::Turn);
        number(ui, "Face depth", "release.depth", &mut cut.depth, Kind::Share);
        number(ui, "Hinge thickness", "release.hinge", &mut cut.hinge, Kind::Thick);
    }
    number(ui, "Push (empty: none)", "release.push.force", &mut cut.push, Kind::Force);
    if !cut.push.is_empty() {
        let height = &mut cut.push_height;
        number(ui, "Pushed above the cut at", "release.push.height", height, Kind::Far);
    }
}

/// A name that nothing has yet.
fn fresh<'a>(base: &str, taken: impl Iterator<Item = &'a str> + Clone) -> String {
    (1..)
        .map(|n| format!("{base}-{n}"))
        .find(|name| !taken.clone().any(|other| other == name))
        .unwrap_or_else(|| base.to_owned())
}

/// A small button that takes something away; `does` says what.
fn cross(ui: &mut Ui, does: &str) -> bool {
    let button = ui.button("✖").on_hover_text(does);
    named(ui, &button, does);
    button.clicked()
}
