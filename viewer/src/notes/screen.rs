//! The form on the screen.

use bevy_egui::egui::{self, Color32, ComboBox, RichText, ScrollArea, TextEdit, Ui, vec2};
use tumblewood::{quantity::Units, wood};

use super::{
    Complaint, NotesMessage, NotesPage,
    form::{
        Footprint, Girth, Kind, Leg, Line, Noted, NotesForm, Plumb, Spot, Sure, Target, TargetKind,
        is_bare,
    },
    picture,
    words::{self, Word},
};
use crate::{chart::readable, panel::CAUTION};

/// Under this width form and drawings stand one above the other, points.
const SIDE_BY_SIDE: f32 = 820.0;
/// Width of the words before a field, points.
const BEFORE: f32 = 150.0;
/// Width of a field for a number, points.
const NUMBER: f32 = 56.0;
/// What is wrong; a sign stands before it too.
const WRONG: Color32 = Color32::from_rgb(0x9c, 0x1c, 0x14);

/// Draws the page; edits go into its form, which is judged anew in the same frame.
pub(crate) fn notes_page(ui: &mut Ui, page: &mut NotesPage) -> Vec<NotesMessage> {
    let mut messages = Vec::new();
    let before = page.form.clone();
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.horizontal_wrapped(|ui| {
        ui.heading("New from notes");
        buttons(ui, page, &mut messages);
    });
    if let Some(said) = &page.said {
        ui.label(said);
    }
    verdict(ui, page);
    ui.separator();
    let width = ui.available_width();
    if width < SIDE_BY_SIDE {
        ScrollArea::vertical().id_salt("notes").show(ui, |ui| {
            drawings(ui, page, 200.0);
            ui.separator();
            form(ui, page);
        });
    } else {
        let height = ui.available_height();
        ui.horizontal_top(|ui| {
            let down = egui::Layout::top_down(egui::Align::Min);
            ui.allocate_ui_with_layout(vec2(0.58 * width, height), down, |ui| {
                ScrollArea::vertical().id_salt("notes").auto_shrink(false).show(ui, |ui| {
                    form(ui, page);
                });
            });
            ui.separator();
            ui.vertical(|ui| drawings(ui, page, (0.5 * height - 40.0).max(120.0)));
        });
    }
    if page.form != before {
        page.renew();
        page.said = None;
    }
    messages
}

fn buttons(ui: &mut Ui, page: &mut NotesPage, messages: &mut Vec<NotesMessage>) {
    if ui.button("Back").clicked() {
        messages.push(NotesMessage::Back);
    }
    let job = page.judged.job.clone();
    let show = ui.add_enabled(job.is_some(), egui::Button::new("Show on the hillside"));
    if show.clicked()
        && let Some(job) = job
    {
        messages.push(NotesMessage::Show { text: page.text().to_owned(), job });
    }
    ui.label("File");
    words_field(ui, "File to save to", &mut page.save_to, 180.0, "notes.ron");
    if ui.button("Save").clicked() {
        let (path, text) = (page.save_to.trim().to_owned(), page.text().to_owned());
        messages.push(NotesMessage::Save { path, text });
    }
}

/// What is wrong with the notes as a whole, in one line.
fn verdict(ui: &mut Ui, page: &NotesPage) {
    let complaints = &page.judged.complaints;
    if complaints.is_empty() {
        ui.label("These notes make a scene that runs.");
    } else {
        let count = complaints.len();
        let things = if count == 1 { "thing is" } else { "things are" };
        let text = format!("✖ {count} {things} to be put right, marked beside the field.");
        ui.label(RichText::new(text).color(WRONG).strong());
    }
    wrong(ui, complaints, "");
}

/// What is wrong at a field or group, under it.
fn wrong(ui: &mut Ui, complaints: &[Complaint], field: &str) {
    for complaint in complaints.iter().filter(|complaint| complaint.field == field) {
        ui.label(RichText::new(format!("✖ {}", complaint.said)).color(WRONG).strong());
    }
}

fn drawings(ui: &mut Ui, page: &mut NotesPage, height: f32) {
    let lines = &page.sketch.lines;
    let units = page.form.units;
    ui.horizontal_wrapped(|ui| {
        ui.label("From the side");
        for (i, line) in lines.iter().enumerate() {
            if ui.selectable_label(i == page.shown_line, &line.id).clicked() {
                page.shown_line = i;
            }
        }
    });
    match lines.get(page.shown_line).or(lines.first()) {
        Some(line) => {
            picture::profile(ui, line, units, height);
            if !line.whole {
                ui.label("Drawn as far as its legs can be read.");
            }
        }
        None => {
            ui.label("No line can be drawn yet: it needs a start and an azimuth.");
        }
    }
    let interval_m = page.sketch.contours.1;
    if interval_m > 0.0 {
        let apart = units.distance(interval_m);
        ui.label(format!("From above; {apart} of height between contours"));
    } else {
        ui.label("From above; two lines in different directions make a hillside");
    }
    picture::plan(ui, &page.sketch, units, height);
}

/// What every part of the form needs to draw its fields.
struct Pen<'a> {
    units_of: NotesForm,
    complaints: &'a [Complaint],
}

fn form(ui: &mut Ui, page: &mut NotesPage) {
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

impl Pen<'_> {
    fn wrong(&self, ui: &mut Ui, field: &str) {
        wrong(ui, self.complaints, field);
    }

    /// A row of words and fields, with what is wrong under it.
    fn row(&self, ui: &mut Ui, words: &str, fields: &[&str], add: impl FnOnce(&mut Ui)) {
        ui.horizontal_wrapped(|ui| {
            let left = egui::Layout::left_to_right(egui::Align::Center);
            ui.allocate_ui_with_layout(vec2(BEFORE, 18.0), left, |ui| {
                ui.set_min_width(BEFORE);
                ui.label(words);
            });
            add(ui);
        });
        for field in fields {
            self.wrong(ui, field);
        }
    }

    /// A number with its unit and how it is known; `name` says which it is.
    fn number(&self, ui: &mut Ui, name: &str, noted: &mut Noted, kind: Kind) {
        let known = noted.sure != Sure::DontKnow;
        let field = TextEdit::singleline(&mut noted.text).desired_width(NUMBER);
        let response = ui.add_enabled(known, field);
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
        if is_bare(&noted.text) || noted.text.trim().is_empty() {
            ui.label(kind.unit(&self.units_of));
        }
        let form_doubt = self.units_of.doubt;
        ComboBox::from_id_salt(("sure", name))
            .width(70.0)
            .selected_text(noted.sure.shown(form_doubt, kind))
            .show_ui(ui, |ui| {
                for sure in Sure::OF_A_NUMBER {
                    let shown = match sure {
                        Sure::AsForm => format!("as above, {}", sure.shown(form_doubt, kind)),
                        _ => sure.shown(form_doubt, kind),
                    };
                    ui.selectable_value(&mut noted.sure, sure, shown);
                }
            });
    }

    /// One number in a row of its own.
    fn number_row(&self, ui: &mut Ui, words: &str, field: &str, noted: &mut Noted, kind: Kind) {
        self.row(ui, words, &[field], |ui| self.number(ui, words, noted, kind));
    }

    /// A place by tape and compass in one row.
    fn spot(&self, ui: &mut Ui, words: &str, path: &str, spot: &mut Spot) {
        let field = |part: &str| format!("{path}.{part}");
        let fields = [path.to_owned(), field("from"), field("azimuth"), field("distance")];
        let fields: Vec<&str> = fields.iter().map(String::as_str).collect();
        self.row(ui, words, &fields, |ui| {
            ui.label("from");
            words_field(ui, &format!("{words}: from"), &mut spot.from, 70.0, "stump");
            ui.label("toward");
            self.number(ui, &format!("{words}: toward"), &mut spot.azimuth, Kind::Turn);
            ui.label("level");
            self.number(ui, &format!("{words}: distance"), &mut spot.distance, Kind::Far);
        });
    }

    /// Buttons for the words of a test, and how the chosen one is found.
    fn words(&self, ui: &mut Ui, words: &str, table: &[Word], chosen: &mut &'static str) {
        self.row(ui, words, &[], |ui| {
            for word in table {
                let button = ui.selectable_label(*chosen == word.file, word.shown);
                if button.on_hover_text(word.how).clicked() {
                    *chosen = word.file;
                }
            }
        });
        ui.label(RichText::new(words::how(table, chosen)).italics());
    }
}

fn words_field(ui: &mut Ui, name: &str, text: &mut String, width: f32, hint: &str) {
    let field = TextEdit::singleline(text).desired_width(width).hint_text(hint);
    let response = ui.add(field);
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
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
            if legs > 1 && ui.button("✖").on_hover_text("Remove this leg").clicked() {
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
        ComboBox::from_id_salt("species").width(220.0).selected_text(&tree.species).show_ui(
            ui,
            |ui| {
                for species in wood::all_species() {
                    let chosen = tree.species == species.name;
                    if ui.selectable_label(chosen, species.name).clicked() {
                        species.name.clone_into(&mut tree.species);
                    }
                }
            },
        );
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
            if ui.button("✖").on_hover_text("Remove this diameter").clicked() {
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
