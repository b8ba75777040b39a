//! Notes as the text of a scene, and which field of the form each path of that text is.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec2;
use tumblewood::quantity::Units;

use super::{
    form::{Cut, Footprint, Girth, Kind, Leg, Line, Noted, NotesForm, Spot, Target, TargetKind},
    sketch::corners_m,
};

/// Said first in every scene from notes.
const HEAD: &str = "\
// Every number has its unit: \"6 ft 4 in\", \"1.9 m\", \"34 deg\", \"65 %\" (slope), \"60 lbf\".
// How sure it is can stand around it:
//   Measured(\"24 in\")  2 % or 2 deg      Paced(\"40 ft\")  8 % or 5 deg      Eyed(\"60 ft\")  20 % or 10 deg
// A number without a word of its own is as sure as `doubt` below says.
// Azimuths run clockwise from north; a face's azimuth is where the piece is meant to fall.
";

/// A form as text, with the fields that stand in it.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    /// The scene.
    pub(super) text: String,
    /// Path of every field of the form and of every group of fields.
    fields: BTreeSet<String>,
    /// Paths of the text that belong to a field of another path.
    aliases: BTreeMap<String, String>,
}

/// The commented text of a scene that says what the form says.
#[cfg(test)]
pub(super) fn to_ron(form: &NotesForm) -> String {
    written(form).text
}

impl Written {
    /// The field that a path of the text belongs to: itself, or the nearest group around it; the
    /// whole form ("") if there is none.
    pub(super) fn field(&self, path: &str) -> String {
        let mut path = path;
        loop {
            if let Some(field) = self.aliases.get(path) {
                return field.clone();
            }
            if self.fields.contains(path) {
                return path.to_owned();
            }
            let Some(cut) = path.rfind(['.', '[']) else { return String::new() };
            path = path.get(..cut).unwrap_or("");
        }
    }

    /// Every field and group of the form.
    #[cfg(test)]
    pub(super) fn fields(&self) -> impl Iterator<Item = &String> {
        self.fields.iter()
    }

    fn line(&mut self, depth: usize, text: &str) {
        self.text.push_str(&"    ".repeat(depth));
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn group(&mut self, path: &str) {
        self.fields.insert(path.to_owned());
    }

    /// A name or other words; `path` is its field.
    fn words(&mut self, path: &str, text: &str) -> String {
        self.group(path);
        quoted(text)
    }

    /// A number; `path` is its field.
    fn number(&mut self, form: &NotesForm, path: &str, noted: &Noted, kind: Kind) -> String {
        self.group(path);
        told(form, noted, kind)
    }

    fn spot(&mut self, form: &NotesForm, path: &str, spot: &Spot) -> String {
        self.group(path);
        let from = self.words(&format!("{path}.from"), station(&spot.from));
        let azimuth = self.number(form, &format!("{path}.azimuth"), &spot.azimuth, Kind::Turn);
        let distance = self.number(form, &format!("{path}.distance"), &spot.distance, Kind::Far);
        format!("At(from: {from}, azimuth: {azimuth}, distance: {distance})")
    }
}

/// A form as text with its fields.
pub(super) fn written(form: &NotesForm) -> Written {
    let mut out = Written { text: HEAD.to_owned(), ..Written::default() };
    out.line(0, "(");
    out.line(1, "version: 1,");
    let name = out.words("name", form.name.trim());
    out.line(1, &format!("name: {name},"));
    if form.invented {
        out.line(1, "invented: true,");
    }
    let note = out.words("note", form.note.trim());
    out.line(1, &format!("note: {note},"));
    let units = match form.units {
        Units::Metric => "Metric",
        Units::Imperial => "Imperial",
    };
    out.line(1, &format!("units: {units},"));
    out.line(1, &format!("doubt: {},\n", form.doubt.file().unwrap_or("Measured")));
    site(&mut out, form);
    tree(&mut out, form);
    out.line(1, "// What must not be touched. The climber, the climber's line and, for a cut from");
    out.line(1, "// the ground, the feller are always among it.");
    out.group("targets");
    out.line(1, "targets: [");
    for (i, what) in form.targets.iter().enumerate() {
        target(&mut out, form, i, what);
    }
    out.line(1, "],\n");
    out.line(1, "// In order, from the top down. Heights are above the ground at the stump.");
    out.group("cuts");
    out.line(1, "cuts: [");
    cut(&mut out, form, &form.cut);
    out.line(1, "],");
    out.line(0, ")");
    out
}

fn site(out: &mut Written, form: &NotesForm) {
    out.line(1, "site: (");
    out.line(
        2,
        "// Tape and inclinometer: from the stump or from \"ID:N\", the end of the Nth leg of",
    );
    out.line(
        2,
        "// a line listed before. Each leg is the distance along the slope and its slope, down",
    );
    out.line(2, "// is negative.");
    out.group("site.terrain.lines");
    out.line(2, "terrain: Transects(lines: [");
    for (i, line) in form.lines.iter().enumerate() {
        let path = format!("site.terrain.lines[{i}]");
        out.group(&path);
        let Line { id, from, azimuth, legs } = line;
        let id = out.words(&format!("{path}.id"), id.trim());
        let from = out.words(&format!("{path}.from"), station(from));
        let azimuth = out.number(form, &format!("{path}.azimuth"), azimuth, Kind::Turn);
        let legs: Vec<String> = legs
            .iter()
            .enumerate()
            .map(|(j, Leg { distance, slope })| {
                let path = format!("{path}.legs[{j}]");
                let far = out.number(form, &format!("{path}[0]"), distance, Kind::Far);
                let slope = out.number(form, &format!("{path}[1]"), slope, Kind::Slope);
                format!("({far}, {slope})")
            })
            .collect();
        out.line(3, &format!("(id: {id}, from: {from}, azimuth: {azimuth}, legs: ["));
        out.line(4, &format!("{},", legs.join(", ")));
        out.line(3, "]),");
    }
    out.line(2, "]),");
    out.group("site.ground");
    out.line(2, "ground: (");
    out.line(3, &format!("soil: {},", form.soil));
    let cover = match form.cover {
        word @ ("Litter" | "Turf") => {
            let depth = out.number(form, "site.ground.cover", &form.cover_depth, Kind::Thick);
            format!("{word}({depth})")
        }
        word => word.to_owned(),
    };
    out.line(3, &format!("cover: {cover},"));
    let roughness = match form.roughness {
        "Bumps" => {
            let bumps = out.number(form, "site.ground.roughness", &form.bumps, Kind::Thick);
            format!("Bumps({bumps})")
        }
        word => word.to_owned(),
    };
    out.line(3, &format!("roughness: {roughness},"));
    out.line(3, "// Much hangs on it.");
    out.line(3, &format!("wetness: {},", form.wetness));
    out.line(2, "),");
    out.line(1, "),\n");
}

fn tree(out: &mut Written, form: &NotesForm) {
    let tree = &form.tree;
    out.group("tree");
    out.line(1, "tree: (");
    let species = out.words("tree.species", &tree.species);
    out.line(2, &format!("species: {species},"));
    let dbh = out.number(form, "tree.dbh", &tree.dbh, Kind::Thick);
    out.line(2, &format!("dbh: {dbh},"));
    let height = out.number(form, "tree.height", &tree.height, Kind::Far);
    out.line(2, &format!("height: {height},"));
    out.group("tree.topped_at");
    if !tree.topped_at.is_empty() {
        let topped = told(form, &tree.topped_at, Kind::Far);
        out.line(2, &format!("topped_at: {topped},"));
    }
    let girths: Vec<String> = tree
        .girths
        .iter()
        .enumerate()
        .map(|(i, Girth { height, diameter })| {
            let path = format!("tree.diameters[{i}]");
            let height = out.number(form, &format!("{path}[0]"), height, Kind::Far);
            let diameter = out.number(form, &format!("{path}[1]"), diameter, Kind::Thick);
            format!("({height}, {diameter})")
        })
        .collect();
    if !girths.is_empty() {
        out.line(2, "// Height and diameter over bark, lowest first.");
        out.line(2, &format!("diameters: [{}],", girths.join(", ")));
    }
    if let Some(lean) = &tree.lean {
        let offset = out.number(form, "tree.lean.offset", &lean.offset, Kind::Far);
        let height = out.number(form, "tree.lean.height", &lean.height, Kind::Far);
        let toward = out.number(form, "tree.lean.toward", &lean.toward, Kind::Turn);
        out.line(2, &format!("lean: Plumb(offset: {offset}, height: {height}, toward: {toward}),"));
    }
    out.line(1, "),\n");
}

fn target(out: &mut Written, form: &NotesForm, i: usize, target: &Target) {
    let path = format!("targets[{i}]");
    out.group(&path);
    let id = out.words(&format!("{path}.id"), target.id.trim());
    match &target.kind {
        TargetKind::Structure { footprint, wall } => {
            out.line(2, &format!("Structure(\n            id: {id},"));
            corners(out, form, &path, footprint);
            let wall = out.number(form, &format!("{path}.wall"), wall, Kind::Far);
            out.line(3, &format!("wall: {wall},"));
        }
        TargetKind::KeepTree { at, diameter, height } => {
            out.line(2, &format!("KeepTree(\n            id: {id},"));
            let at = out.spot(form, &format!("{path}.at"), at);
            out.line(3, &format!("at: {at},"));
            let diameter = out.number(form, &format!("{path}.diameter"), diameter, Kind::Thick);
            let height = out.number(form, &format!("{path}.height"), height, Kind::Far);
            out.line(3, &format!("diameter: {diameter},\n            height: {height},"));
        }
        TargetKind::Person { at } => {
            out.line(2, &format!("Person(\n            id: {id},"));
            let at = out.spot(form, &format!("{path}.at"), at);
            out.line(3, &format!("at: {at},"));
        }
        TargetKind::Path { line, width } => {
            out.line(2, &format!("Path(\n            id: {id},\n            line: ["));
            for (j, spot) in line.iter().enumerate() {
                let spot = out.spot(form, &format!("{path}.line[{j}]"), spot);
                out.line(4, &format!("{spot},"));
            }
            let width = out.number(form, &format!("{path}.width"), width, Kind::Far);
            out.line(3, &format!("],\n            width: {width},"));
        }
    }
    out.line(2, "),");
}

/// The corners of a building. The file knows corners alone: the others are worked out, and where
/// a number can't be read it stands in their place, for the file's reader to say so.
fn corners(out: &mut Written, form: &NotesForm, path: &str, footprint: &Footprint) {
    let found = corners_m(form, footprint);
    let at = |k: usize, sure: &Noted| {
        let place = found.and_then(|corners| corners.get(k).copied()).unwrap_or(DVec2::ZERO);
        let told = |m: f64| {
            let (unit_m, unit) = (form.units.distance_unit_m(), form.units.distance_name());
            let text = quoted(&format!("{:.2} {unit}", m / unit_m));
            sure.sure
                .file()
                .filter(|word| *word != "DontKnow")
                .map_or(text.clone(), |word| format!("{word}({text})"))
        };
        format!("Local(east: {}, north: {})", told(place.x), told(place.y))
    };
    let list: [String; 4] = match footprint {
        Footprint::Wall { one, two, depth } => {
            let field = format!("{path}.depth");
            out.group(&field);
            let shown = Kind::Far.with_unit(&depth.text, form).replace(['\n', '\r'], " ");
            out.line(
                3,
                &format!("// One wall's corners as noted; it goes back {shown} from there."),
            );
            let one_at = out.spot(form, &format!("{path}.corners[0]"), one);
            let two_at = out.spot(form, &format!("{path}.corners[1]"), two);
            let third = if depth.metres(Kind::Far, form).is_none() {
                let text = told(form, depth, Kind::Far);
                for part in ["east", "north"] {
                    let alias = format!("{path}.corners[2].{part}");
                    out.aliases.insert(alias, field.clone());
                }
                format!("Local(east: {text}, north: {text})")
            } else {
                at(2, &two.distance)
            };
            [one_at, two_at, third, at(3, &one.distance)]
        }
        Footprint::Middle { at: spot, length, width, heading } => {
            let from = format!("{path}.at");
            let spot_at = out.spot(form, &from, spot);
            let sizes = [("length", length, Kind::Far), ("width", width, Kind::Far)];
            let sized = sizes.map(|(name, noted, kind)| {
                out.number(form, &format!("{path}.{name}"), noted, kind)
            });
            let turned = out.number(form, &format!("{path}.heading"), heading, Kind::Turn);
            out.line(3, &format!("// Noted: the middle {spot_at},"));
            out.line(3, &format!("// {} by {}, its length toward {turned}.", sized[0], sized[1]));
            if found.is_some() {
                [0, 1, 2, 3].map(|k| at(k, &spot.distance))
            } else {
                for part in ["from", "azimuth", "distance"] {
                    let alias = format!("{path}.corners[0].{part}");
                    out.aliases.insert(alias, format!("{from}.{part}"));
                }
                for (k, part, name) in
                    [(1, "east", "length"), (2, "east", "width"), (3, "azimuth", "heading")]
                {
                    let alias = format!("{path}.corners[{k}].{part}");
                    out.aliases.insert(alias, format!("{path}.{name}"));
                }
                [
                    spot_at,
                    format!("Local(east: {}, north: \"0 m\")", sized[0]),
                    format!("Local(east: {}, north: \"0 m\")", sized[1]),
                    format!("At(azimuth: {turned}, distance: \"1 m\")"),
                ]
            }
        }
    };
    out.line(3, "corners: [");
    for corner in list {
        out.line(4, &format!("{corner},"));
    }
    out.line(3, "],");
}

fn cut(out: &mut Written, form: &NotesForm, cut: &Cut) {
    out.group("cuts[0]");
    let id = out.words("cuts[0].id", cut.id.trim());
    let from = out.number(form, "cuts[0].piece.from", &cut.from, Kind::Far);
    let to = out.number(form, "cuts[0].piece.to", &cut.to, Kind::Far);
    let face = out.number(form, "cuts[0].release.face", &cut.face, Kind::Turn);
    out.aliases.insert("cuts[0].release.toward".to_owned(), "cuts[0].release.face".to_owned());
    let mut parts = Vec::new();
    if cut.release == "Hinge" {
        let opening = out.number(form, "cuts[0].release.opening", &cut.opening, Kind::Turn);
        let depth = out.number(form, "cuts[0].release.depth", &cut.depth, Kind::Share);
        let hinge = out.number(form, "cuts[0].release.hinge", &cut.hinge, Kind::Thick);
        parts.push(format!("face: {face}, opening: {opening}, depth: {depth}, hinge: {hinge}"));
    } else {
        parts.push(format!("toward: {face}"));
    }
    out.group("cuts[0].release.push.force");
    if !cut.push.is_empty() {
        let force = told(form, &cut.push, Kind::Force);
        let height = out.number(form, "cuts[0].release.push.height", &cut.push_height, Kind::Far);
        parts.push(format!("push: (force: {force}, height: {height})"));
    }
    out.line(2, "(");
    out.line(3, &format!("id: {id},"));
    out.line(3, &format!("piece: Section(from: {from}, to: {to}),"));
    out.line(3, &format!("release: {}({}),", cut.release, parts.join(", ")));
    out.line(3, "after: Cleared,");
    out.line(2, "),");
}

/// A number as the file has it: with its unit, in its word.
fn told(form: &NotesForm, noted: &Noted, kind: Kind) -> String {
    let text = quoted(&kind.with_unit(&noted.text, form));
    match noted.sure.file() {
        None => text,
        Some("DontKnow") => "DontKnow".to_owned(),
        Some(word) => format!("{word}({text})"),
    }
}

/// A station as the file has it.
fn station(text: &str) -> &str {
    let text = text.trim();
    if text.is_empty() { "stump" } else { text }
}

/// Text in quotes, on one line.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
