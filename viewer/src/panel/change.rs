//! What is there and what can be changed by numbers and words: a list of things, a form for each.

use bevy_egui::egui::{self, ComboBox, Id, Key, RichText, TextEdit, Ui};
use glam::DVec2;
use tumblewood::{
    report::words,
    scene::{
        Scene,
        edit::{
            Doubt, Field, FieldKind, Names, New, Thing, fields, scene_fields, site_fields,
            things::{all, id, kind, line_of, position_m},
        },
        model::{Cut, ReleaseSpec},
    },
};

use crate::{
    desk::{Desk, Tool},
    page::{named, sentence},
    wish::{Edit, Wish},
};

/// What is put down by keys is this far before the face, m.
const BEFORE_FACE_M: f64 = 8.0;
/// Width of what stands before a field, points: longer words take a second line.
const LABEL_WIDTH: f32 = 118.0;
/// The lines that a cut's piece can have; only one that turns on a hinge can be pulled.
const LINES: [(New, &str); 4] = [
    (New::PullLine, "Add a pull line"),
    (New::TiedButt, "Add a tied butt"),
    (New::TagLine, "Add a tag line"),
    (New::Lowering, "Add a lowering line"),
];
/// The words for how sure a number is, with one of each.
const DOUBTS: [(&str, Doubt); 8] = [
    ("as the scene says", Doubt::Plain),
    ("exact", Doubt::Exactly),
    ("measured", Doubt::Measured),
    ("paced", Doubt::Paced),
    ("eyed", Doubt::Eyed),
    ("within ±", Doubt::Within(String::new())),
    ("up to", Doubt::Between(String::new())),
    ("don't know", Doubt::DontKnow),
];

pub(super) fn tab(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let (Some(document), Some(job)) = (&desk.document, &desk.job) else {
        ui.label("No scene.");
        return;
    };
    let scene = &job.scene;
    if let Tool::Put(new) = desk.tool {
        where_it_goes(ui, desk, new, wishes);
    }
    match &desk.picked {
        Some(thing) => one(ui, desk, scene, document.text(), thing, wishes),
        None => whole(ui, desk, scene, document.text(), wishes),
    }
}

/// What to do with something new, by hand or by keys.
pub(super) fn where_it_goes(ui: &mut Ui, desk: &Desk, new: New, wishes: &mut Vec<Wish>) {
    let words = format!("Click where the {} goes; Esc leaves off.", new.words());
    ui.label(RichText::new(words).strong());
    if ui.button("Put it before the face").clicked() {
        let job = desk.job.as_ref();
        let toward_rad =
            job.and_then(|job| Some(job.scene.cuts.get(desk.cut)?.release.toward_rad().told));
        let turn_rad = job.map_or(0.0, |job| job.frame().turn_rad);
        let (sin, cos) = (toward_rad.unwrap_or(0.0) + turn_rad).sin_cos();
        wishes.push(Wish::Edit(Edit::Add(new, BEFORE_FACE_M * DVec2::new(sin, cos))));
    }
}

/// Everything there is, what can be added, and what belongs to no thing.
fn whole(ui: &mut Ui, desk: &Desk, scene: &Scene, text: &str, wishes: &mut Vec<Wish>) {
    ui.label("Click a thing on the hillside or here; drag it to move it, with Shift to turn it.");
    for thing in all(scene) {
        let words = format!("{} ({})", words::name(id(&thing)), kind(scene, &thing));
        if ui.selectable_label(false, words).clicked() {
            wishes.push(Wish::Pick(Some(thing)));
        }
    }
    ui.separator();
    ui.label(RichText::new("Add").strong());
    ui.horizontal_wrapped(|ui| {
        for new in New::all() {
            put(ui, desk, new, sentence(new.words()), wishes);
        }
    });
    ui.separator();
    ui.collapsing("Ground and wind", |ui| form(ui, &site_fields(scene, text), wishes));
    ui.collapsing("The scene", |ui| form(ui, &scene_fields(scene, text), wishes));
}

/// Takes something new in hand; what has no place of its own is put in at once.
fn put(ui: &mut Ui, desk: &Desk, new: New, words: String, wishes: &mut Vec<Wish>) {
    let chosen = desk.tool == Tool::Put(new);
    if ui.selectable_label(chosen, words).clicked() {
        wishes.push(match (new.has_place(), chosen) {
            (false, _) => Wish::Edit(Edit::Add(new, DVec2::ZERO)),
            (true, true) => Wish::Use(Tool::Hand),
            (true, false) => Wish::Use(Tool::Put(new)),
        });
    }
}

/// What belongs to a thing and is a thing itself, and what can be added to it.
fn parts(ui: &mut Ui, desk: &Desk, scene: &Scene, thing: &Thing, wishes: &mut Vec<Wish>) {
    let line = line_of(scene, thing);
    let (parts, new): (Vec<Thing>, &[(New, &str)]) = match (thing, line) {
        (Thing::Tree, _) => {
            let limbs = scene.tree.limbs.iter().map(|limb| Thing::Limb(limb.id.clone()));
            (limbs.collect(), &[(New::Limb, "Add a limb")])
        }
        (Thing::Limb(_), _) => {
            (vec![Thing::Tree], &[(New::Limb, "Add a limb"), (New::LimbCut, "Cut this limb")])
        }
        (Thing::Cut(id), _) => {
            let cut = scene.cuts.iter().find(|cut| cut.id == *id);
            let turns = cut.is_some_and(|cut| {
                let hinge = matches!(
                    cut.release,
                    ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. }
                );
                hinge && cut.piece.stem_cut_m().is_some()
            });
            let lines = scene.lines.iter().filter(|line| line.cut() == *id);
            let lines = lines.map(|line| Thing::Line(line.id().to_owned())).collect();
            (lines, if turns { &LINES } else { LINES.get(1..).unwrap_or_default() })
        }
        (_, Some(line)) => {
            let cut = Thing::Cut(line.cut().to_owned());
            let Some(line) = line.pull() else {
                return links(ui, desk, scene, vec![cut], &[], wishes);
            };
            let whole = [cut, Thing::Line(line.id.clone())].into_iter();
            let turns = line.redirects.iter().map(|r| Thing::Redirect(r.id.clone()));
            let parts = whole.chain(turns).chain([Thing::Anchor(line.id.clone())]);
            (parts.filter(|part| part != thing).collect(), &[(New::Redirect, "Add a redirect")])
        }
        _ => return,
    };
    links(ui, desk, scene, parts, new, wishes);
}

/// Buttons to things, and for new ones.
fn links(
    ui: &mut Ui,
    desk: &Desk,
    scene: &Scene,
    parts: Vec<Thing>,
    new: &[(New, &str)],
    wishes: &mut Vec<Wish>,
) {
    ui.horizontal_wrapped(|ui| {
        for part in parts {
            let words = format!("{} ({})", words::name(id(&part)), kind(scene, &part));
            if ui.button(words).clicked() {
                wishes.push(Wish::Pick(Some(part)));
            }
        }
        for (new, words) in new {
            put(ui, desk, *new, (*words).to_owned(), wishes);
        }
    });
    ui.separator();
}

/// One thing: where it is, its numbers, and what can be done with it.
fn one(ui: &mut Ui, desk: &Desk, scene: &Scene, text: &str, thing: &Thing, wishes: &mut Vec<Wish>) {
    ui.horizontal(|ui| {
        if ui.button("◀ All things").clicked() {
            wishes.push(Wish::Pick(None));
        }
        ui.label(RichText::new(words::name(id(thing))).strong());
        ui.label(kind(scene, thing));
    });
    let frame = desk.job.as_ref().map(|job| job.frame()).unwrap_or_default();
    // What is at the stump has no direction from it.
    let place = position_m(scene, &frame, thing).filter(|at_m| *at_m != DVec2::ZERO);
    if let Some(at_m) = place {
        let way = at_m.length();
        let azimuth = (at_m.x.atan2(at_m.y) - frame.turn_rad).to_degrees().rem_euclid(360.0);
        ui.label(format!("{} from the stump, toward {azimuth:.0}°", scene.units.distance(way)));
    }
    let is_own = matches!(
        thing,
        Thing::Target(_)
            | Thing::Aid(_)
            | Thing::Patch(_)
            | Thing::Cut(_)
            | Thing::Limb(_)
            | Thing::Line(_)
            | Thing::Redirect(_)
    );
    ui.horizontal_wrapped(|ui| {
        if !matches!(thing, Thing::Tree | Thing::Cut(_)) {
            nudge(ui, scene, thing, wishes);
        }
        if is_own && ui.button("Copy").clicked() {
            wishes.push(Wish::Edit(Edit::Copy(thing.clone())));
        }
        let removable = is_own || !matches!(thing, Thing::Tree | Thing::Anchor(_));
        if removable && ui.button("Remove").clicked() {
            wishes.push(Wish::Edit(Edit::Remove(thing.clone())));
        }
    });
    ui.separator();
    parts(ui, desk, scene, thing, wishes);
    form(ui, &fields(scene, text, thing), wishes);
    let own = |cut: &&Cut| *thing == Thing::Cut(cut.id.clone());
    let cut = scene.cuts.iter().find(own);
    if cut.is_some_and(|cut| !matches!(cut.release, ReleaseSpec::UnderAndTop { .. })) {
        ui.label("Drag the piece on the hillside round the tree to turn its face.");
    }
}

/// Moving and turning without a mouse.
fn nudge(ui: &mut Ui, scene: &Scene, thing: &Thing, wishes: &mut Vec<Wish>) {
    let step_m = scene.units.distance_unit_m();
    let unit = scene.units.distance_name();
    let mut button = |ui: &mut Ui, arrow: &str, does: &str, edit: Edit| {
        let button = ui.button(arrow).on_hover_text(does);
        named(ui, &button, does);
        if button.clicked() {
            wishes.push(Wish::Edit(edit));
        }
    };
    let ways = [
        ("←", "left", (-1.0, 0.0)),
        ("↑", "up", (0.0, 1.0)),
        ("↓", "down", (0.0, -1.0)),
        ("→", "right", (1.0, 0.0)),
    ];
    // A limb is where it grew, and turns about its stem.
    let moves = !matches!(thing, Thing::Limb(_));
    for (arrow, way, by) in ways.into_iter().filter(|_| moves) {
        let does = format!("Move 1 {unit} {way} over the map");
        button(ui, arrow, &does, Edit::Move(thing.clone(), DVec2::from(by) * step_m));
    }
    for (arrow, does, degrees) in [
        ("⟲", "Turn 5° anticlockwise about its middle", -5.0_f64),
        ("⟳", "Turn 5° clockwise about its middle", 5.0),
    ] {
        button(ui, arrow, does, Edit::Turn(thing.clone(), degrees.to_radians()));
    }
}

fn form(ui: &mut Ui, fields: &[Field], wishes: &mut Vec<Wish>) {
    egui::Grid::new(ui.next_auto_id()).num_columns(2).spacing([8.0, 6.0]).show(ui, |ui| {
        for field in fields {
            ui.vertical(|ui| {
                ui.set_width(LABEL_WIDTH);
                ui.label(&field.label);
            });
            ui.vertical(|ui| row(ui, field, wishes));
            ui.end_row();
        }
    });
}

fn row(ui: &mut Ui, field: &Field, wishes: &mut Vec<Wish>) {
    let set = |typed: &str, doubt: Doubt| {
        Wish::Edit(Edit::Field { field: Box::new(field.clone()), typed: typed.to_owned(), doubt })
    };
    let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
    if let FieldKind::Choice(words) = field.kind {
        let label = words.iter().find(|word| word.word == field.text).map(|word| word.label);
        let shown = label.or(field.assumed.as_deref()).unwrap_or("choose");
        let list = ComboBox::from_id_salt(&field.path).selected_text(shown).width(170.0);
        let list = list.truncate().show_ui(ui, |ui| {
            for word in words {
                if ui.selectable_label(word.word == field.text, word.label).clicked()
                    && word.word != field.text
                {
                    wishes.push(set(word.word, doubt.clone()));
                }
            }
        });
        named(ui, &list.response, &field.label);
        list.response.on_hover_text(shown);
        return;
    }
    if let FieldKind::Name(names) = field.kind {
        let list = ComboBox::from_id_salt((&field.path, "names")).width(170.0).truncate();
        let list = list.selected_text(&field.text).show_ui(ui, |ui| {
            for name in &field.offered {
                let chosen = *name == field.text;
                if ui.selectable_label(chosen, name).clicked() && !chosen {
                    wishes.push(set(name, doubt.clone()));
                }
            }
        });
        named(ui, &list.response, &format!("{}, from a list", field.label));
        if matches!(names, Names::Limb | Names::Cut | Names::Hinged) {
            return;
        }
    }
    ui.horizontal_wrapped(|ui| {
        let hint = field.assumed.as_deref().unwrap_or_default();
        let (path, text) = (&field.path, &field.text);
        // What is not a number is longer.
        let width = if field.doubt.is_some() { 92.0 } else { 170.0 };
        if let Some(typed) = typing(ui, path, &field.label, text, hint, width) {
            wishes.push(set(&typed, doubt.clone()));
        }
        if field.doubt.is_some() {
            doubts(ui, field, &doubt, &set, wishes);
        }
    });
}

/// How sure a number is, and the second number that belongs to some of the words.
fn doubts(
    ui: &mut Ui,
    field: &Field,
    doubt: &Doubt,
    set: &dyn Fn(&str, Doubt) -> Wish,
    wishes: &mut Vec<Wish>,
) {
    let same = |other: &Doubt| other.word() == doubt.word();
    let shown = DOUBTS.iter().find(|(_, other)| same(other)).map_or("", |(word, _)| word);
    let list = ComboBox::from_id_salt((&field.path, "doubt")).selected_text(shown).width(96.0);
    let list = list.show_ui(ui, |ui| {
        for (word, other) in &DOUBTS {
            if ui.selectable_label(same(other), *word).clicked() && !same(other) {
                // What has a second number begins with the first.
                let begun = match other {
                    Doubt::Within(_) => Doubt::Within(field.text.clone()),
                    Doubt::Between(_) => Doubt::Between(field.text.clone()),
                    plain => plain.clone(),
                };
                wishes.push(set(&field.text, begun));
            }
        }
    });
    named(ui, &list.response, &format!("How sure: {}", field.label));
    if let Some(second) = doubt.second() {
        let path = format!("{} second", field.path);
        let name = format!("{}, {shown}", field.label);
        if let Some(typed) = typing(ui, &path, &name, second, "", 64.0) {
            let changed = match doubt {
                Doubt::Within(_) => Doubt::Within(typed),
                _ => Doubt::Between(typed),
            };
            wishes.push(set(&field.text, changed));
        }
    }
}

/// A field to type in: what was typed comes back when it is left or Enter is pressed, if it is
/// another text than before. Esc forgets it.
fn typing(
    ui: &mut Ui,
    path: &str,
    name: &str,
    text: &str,
    hint: &str,
    width: f32,
) -> Option<String> {
    let id = Id::new(("typing", path));
    let kept = ui.data(|data| data.get_temp::<String>(id));
    let mut typed = kept.clone().unwrap_or_else(|| text.to_owned());
    let field = ui.add(TextEdit::singleline(&mut typed).hint_text(hint).desired_width(width));
    named(ui, &field, name);
    if field.changed() {
        ui.data_mut(|data| data.insert_temp(id, typed.clone()));
    }
    if !field.lost_focus() {
        return None;
    }
    ui.data_mut(|data| data.remove::<String>(id));
    let forgotten = ui.input(|input| input.key_pressed(Key::Escape));
    (kept.is_some() && !forgotten && typed.trim() != text).then(|| typed.trim().to_owned())
}
