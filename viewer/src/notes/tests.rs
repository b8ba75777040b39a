//! The form, its text and the scene that comes of it; typing on the screen.

use std::sync::atomic::AtomicBool;

use bevy_egui::egui;
use egui_kittest::{Harness, kittest::Queryable};
use tumblewood::{
    forecast::{Ask, run},
    quantity::Units,
    scene::{self, How, Lean, PieceSpec, ReleaseSpec, Scene, Station, TargetKind, TerrainSpec},
};

use super::{
    form::{Footprint, Noted, Sure, TargetKind as Kind},
    *,
};
use crate::panel::CAUTION;

const FT: f64 = 0.3048;
const IN: f64 = 0.0254;

/// Most of the drops leave the spar: a form to start from that sits back would show nothing.
#[test]
fn prop_the_starting_values_drop_a_piece() {
    let job = NotesPage::default().judged.job.expect("a job");
    let ask = Ask { drops: 12, grounds: 1, drops_per_ground: 1, ..Ask::default() };
    let ran = run(&job, &ask, &AtomicBool::new(false), &|_| {}).expect("run");
    assert!(ran.forecast.cuts[0].sat_back < 4, "{}", ran.forecast.cuts[0].sat_back);
}

#[test]
fn prop_the_starting_values_run_as_they_stand() {
    let page = NotesPage::default();
    assert!(page.judged.complaints.is_empty(), "{:?}\n{}", page.judged.complaints, page.text());
    assert!(!page.sketch.contours.0.is_empty());
    let job = page.judged.job.expect("a job");
    assert!(job.scene.invented && job.scene.cuts.len() == 1);
}

fn read(form: &NotesForm) -> Scene {
    scene::parse(&to_ron(form), "notes").unwrap_or_else(|e| panic!("{e}\n{}", to_ron(form)))
}

#[test]
fn verif_every_field_comes_back_from_its_scene() {
    let mut form = NotesForm {
        name: "The \"old\" bank\\".to_owned(),
        note: "Two words".to_owned(),
        invented: false,
        doubt: Sure::Paced,
        ..NotesForm::default()
    };
    form.lines[0].legs[1] = form::Leg { distance: Noted::eyed("31 ft"), slope: "-60 %".into() };
    form.lines[0].azimuth = "161".into();
    form.lines[1].id = "uphill".to_owned();
    form.soil = "HeelOneCm";
    form.cover = "Turf";
    form.cover_depth = "1 1/2".into();
    form.roughness = "Bumps";
    form.bumps = "5".into();
    form.wetness = "Damp";
    form.tree.topped_at = "45 ft 6 in".into();
    form.cut.from.sure = Sure::Measured;
    let scene = read(&form);
    assert_eq!((scene.name.as_str(), scene.note.as_str()), ("The \"old\" bank\\", "Two words"));
    assert!(!scene.invented && scene.units == Units::Imperial);
    let TerrainSpec::Transects(lines) = &scene.site.terrain else { panic!("no transects") };
    assert_eq!(lines.len(), form.lines.len());
    assert_eq!(
        (lines[1].id.as_str(), lines[4].from),
        ("uphill", Station::LegEnd { transect: 0, legs: 3 })
    );
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    near(lines[0].azimuth_rad.told, 161_f64.to_radians());
    near(lines[0].legs[1].slope_distance_m.told, 31.0 * FT);
    assert_eq!(lines[0].legs[1].slope_distance_m.spread.how, How::Eyed);
    near(lines[0].legs[1].inclination_rad.told, -0.6_f64.atan());
    assert_eq!(lines[0].legs[2].slope_distance_m.spread.how, How::Paced, "as the form says");
    let ground = &scene.site.ground;
    assert_eq!(ground.soil.name(), "loose, heel mark 1 cm");
    assert!(matches!(ground.cover, scene::Cover::Turf(d) if (d.told - 1.5 * IN).abs() < 1e-9));
    assert!(
        matches!(ground.roughness, scene::Roughness::Measured(d) if (d.told - 5.0 * IN).abs() < 1e-9)
    );
    assert_eq!(ground.wetness, scene::Wetness::Damp);
    let tree = &scene.tree;
    assert_eq!(tree.species, "Red maple");
    near(tree.dbh_m.told, 18.0 * IN);
    near(tree.height_m.told, 65.0 * FT);
    assert_eq!(tree.height_m.spread.how, How::Eyed);
    near(tree.topped_at_m.expect("topped").told, 45.5 * FT);
    near(tree.diameters[2].height_m.told, 40.0 * FT);
    near(tree.diameters[2].diameter_m.told, 9.0 * IN);
    let Lean::Plumb { offset_m, height_m, toward_rad } = tree.lean else { panic!("no plumb") };
    near(offset_m.told, 2.0 * FT);
    near(height_m.told, 30.0 * FT);
    near(toward_rad.told, 160_f64.to_radians());
    let cut = &scene.cuts[0];
    let PieceSpec::Section { from_m, to_m } = cut.piece else { panic!("no section") };
    near(from_m.told, 36.0 * FT);
    assert_eq!(from_m.spread.how, How::Measured);
    near(to_m.told, 44.0 * FT);
    let ReleaseSpec::Hinge { face, push } = cut.release else { panic!("no hinge") };
    near(face.toward_rad.told, 160_f64.to_radians());
    near(face.opening_rad.told, 70_f64.to_radians());
    near(face.depth_share.told, 0.25);
    near(face.hinge_m.told, 0.5 * IN);
    let push = push.expect("a push");
    near(push.force_n.told, 60.0 * 4.448_221_615_260_5);
    near(push.height_m.told, 6.0 * FT);
}

#[test]
fn verif_every_kind_of_target_and_release_comes_back() {
    let mut form = NotesForm { units: Units::Metric, ..NotesForm::default() };
    form.lines.truncate(4);
    for line in &mut form.lines {
        line.legs.iter_mut().for_each(|leg| leg.distance.text.push_str(" ft"));
    }
    form.targets = Kind::starting()
        .into_iter()
        .enumerate()
        .map(|(i, kind)| form::Target::new(kind, format!("t{i}")))
        .collect();
    form.tree.lean = None;
    form.tree.girths.clear();
    form.tree.topped_at = Noted::default();
    let (dbh, height): (Noted, Noted) = ("46".into(), "20".into());
    (form.tree.dbh, form.tree.height) = (dbh, height);
    (form.cut.from, form.cut.to) = ("10".into(), "12".into());
    form.cut.push_height = "1".into();
    for release in ["Snap", "PushOver"] {
        form.cut.release = release;
        let scene = read(&form);
        let kinds: Vec<&TargetKind> = scene.targets.iter().map(|t| &t.kind).collect();
        let [
            TargetKind::Structure { corners, wall_m, .. },
            TargetKind::KeepTree { diameter_m, height_m, .. },
            TargetKind::Person { .. },
            TargetKind::Path { line, width_m },
        ] = kinds[..]
        else {
            panic!("{kinds:?}")
        };
        assert_eq!((corners.len(), line.len()), (4, 2));
        assert!((wall_m.told - 9.0).abs() < 1e-9 && (width_m.told - 4.0).abs() < 1e-9);
        assert!((diameter_m.told - 0.07).abs() < 1e-9 && (height_m.told - 35.0).abs() < 1e-9);
        assert!(matches!(scene.tree.lean, Lean::Upright(_)) && scene.tree.topped_at_m.is_none());
        match scene.cuts[0].release {
            ReleaseSpec::Snap { toward_rad, .. } => {
                assert!(release == "Snap" && (toward_rad.told - 160_f64.to_radians()).abs() < 1e-9);
            }
            ReleaseSpec::PushOver { toward_rad, .. } => {
                assert!((toward_rad.told - 160_f64.to_radians()).abs() < 1e-9);
            }
            _ => panic!("{:?}", scene.cuts[0].release),
        }
    }
    let Kind::Structure { footprint, .. } = &mut form.targets[0].kind else { panic!() };
    *footprint = Footprint::Middle {
        at: form::Spot::new("stump", "180", "30"),
        length: "6".into(),
        width: "4".into(),
        heading: "90".into(),
    };
    let scene = read(&form);
    let TargetKind::Structure { corners, .. } = &scene.targets[0].kind else { panic!() };
    let at = scene::place_m(&scene.site, &corners[2], &scene::MapFrame::default());
    assert!((at - glam::DVec2::new(3.0, -28.0)).length() < 0.01, "{at}");
}

/// Each wrong text, and the field under which its message must stand.
#[test]
fn verif_what_is_wrong_stands_beside_its_field() {
    type Break = fn(&mut NotesForm);
    let cases: [(Break, &str); 22] = [
        (|f| f.name.clear(), "name"),
        (|f| f.lines[2].id.clear(), "site.terrain.lines[2].id"),
        (|f| f.lines[2].id = "down".into(), "site.terrain.lines[2].id"),
        (|f| f.lines[4].from = "down:9".into(), "site.terrain.lines[4].from"),
        (|f| f.lines[1].azimuth = "north".into(), "site.terrain.lines[1].azimuth"),
        (|f| f.lines[1].legs[1].distance = "".into(), "site.terrain.lines[1].legs[1][0]"),
        (|f| f.lines[1].legs[0].distance = "9000".into(), "site.terrain.lines[1].legs[0][0]"),
        (|f| f.lines[1].legs[0].slope = "86".into(), "site.terrain.lines[1].legs[0][1]"),
        (|f| f.lines.truncate(1), "site.terrain.lines"),
        (|f| f.lines[3].legs.truncate(1), "site.terrain.lines[3]"),
        (|f| f.cover_depth = "2 kg".into(), "site.ground.cover"),
        (|f| f.tree.dbh = "thick".into(), "tree.dbh"),
        (|f| f.tree.topped_at = "90".into(), "tree.topped_at"),
        (|f| f.tree.girths[1].height = "1".into(), "tree.diameters[1][0]"),
        (|f| f.tree.species = "Baobab".into(), "tree.species"),
        (|f| f.targets[0].id = "the shed".into(), "targets[0].id"),
        (
            |f| {
                if let Kind::Structure { footprint: Footprint::Wall { depth, .. }, .. } =
                    &mut f.targets[0].kind
                {
                    *depth = "deep".into();
                }
            },
            "targets[0].depth",
        ),
        (
            |f| {
                if let Kind::Structure { footprint, .. } = &mut f.targets[0].kind {
                    *footprint = Footprint::Middle {
                        at: form::Spot::new("stump", "160", "90"),
                        length: "12".into(),
                        width: "wide".into(),
                        heading: "90".into(),
                    };
                }
            },
            "targets[0].width",
        ),
        (|f| f.cut.to = "60".into(), "cuts[0].piece.to"),
        (|f| f.cut.hinge = "30".into(), "cuts[0].release.hinge"),
        (|f| f.cut.push = "hard".into(), "cuts[0].release.push.force"),
        (
            |f| {
                f.cut.release = "Snap";
                f.cut.face = "400".into();
            },
            "cuts[0].release.face",
        ),
    ];
    for (wrong, field) in cases {
        let mut form = NotesForm::default();
        wrong(&mut form);
        let judged = judge(&form);
        let found = judged.complaints.iter().any(|c| c.field == field);
        assert!(found && judged.job.is_none(), "{field}: {:?}", judged.complaints);
    }
}

/// As large as a page that holds the whole form at once, so that nothing is scrolled away.
fn harness(page: NotesPage) -> Harness<'static, NotesPage> {
    let mut harness = Harness::builder().with_size(egui::vec2(1280.0, 4000.0)).build_ui_state(
        |ui, page: &mut NotesPage| {
            notes_page(ui, page);
        },
        page,
    );
    harness.run();
    harness
}

#[test]
fn prop_every_field_can_say_what_is_wrong_with_it() {
    let mut page = NotesPage::default();
    page.form.targets = Kind::starting()
        .into_iter()
        .enumerate()
        .map(|(i, kind)| form::Target::new(kind, format!("t{i}")))
        .collect();
    page.form.roughness = "Bumps";
    page.renew();
    let fields: Vec<String> = page.judged.written.fields().cloned().collect();
    assert!(fields.len() > 90, "{}", fields.len());
    page.judged.complaints = fields
        .iter()
        .map(|field| Complaint { field: field.clone(), said: format!("here: {field}") })
        .collect();
    let harness = harness(page);
    for field in fields {
        let said = format!("✖ here: {field}");
        assert!(harness.query_by_label(&said).is_some(), "{field}");
    }
}

#[test]
fn prop_typing_changes_the_scene_and_the_hillside() {
    let mut harness = harness(NotesPage::default());
    let before = harness.state().sketch.lines[0].stations_m[1];
    let field = harness.get_by_label("down leg 1: distance");
    field.focus();
    harness.run();
    harness.key_press(egui::Key::End);
    harness.get_by_label("down leg 1: distance").type_text("5");
    harness.run();
    assert_eq!(harness.state().form.lines[0].legs[0].distance.text, "205");
    let after = harness.state().sketch.lines[0].stations_m[1];
    assert!((after.length() / before.length() - 10.25).abs() < 1e-6, "{before} {after}");
    assert!(harness.state().text().contains("(\"205 ft\", \"-24 deg\")"));

    harness.get_by_label("down leg 1: slope").focus();
    harness.run();
    harness.get_by_label("down leg 1: slope").type_text("x");
    harness.run();
    assert!(harness.state().judged.job.is_none());
    assert!(harness.query_by_label_contains("1 thing is to be put right").is_some());
    let said = harness.state().judged.complaints[0].said.clone();
    let message = harness.get_by_label(&format!("✖ {said}")).rect();
    let field = harness.get_by_label("down leg 1: slope").rect();
    let next = harness.get_by_label("down leg 2: slope").rect();
    assert!(message.top() >= field.bottom() - 1.0 && message.bottom() <= next.top() + 1.0);
}

#[test]
fn prop_legs_and_targets_come_and_go() {
    let mut harness = harness(NotesPage::default());
    harness.get_by_label("Add a leg to up").click();
    harness.run();
    harness.get_by_label("Add: person").click();
    harness.run();
    let form = &harness.state().form;
    assert_eq!((form.lines[1].legs.len(), form.targets.len()), (3, 2));
    assert_eq!(form.targets[1].id, "person-1");
    harness.get_by_label("Remove person-1").click();
    harness.run();
    harness.get_by_label("Remove line up").click();
    harness.run();
    let form = &harness.state().form;
    assert_eq!((form.lines.len(), form.targets.len()), (5, 1));
    harness.get_by_label("Fist easily").click();
    harness.run();
    assert_eq!(harness.state().form.soil, "FistEasily");
    assert!(harness.state().judged.complaints.is_empty());
}

#[test]
fn prop_the_caution_stands_first_and_a_small_window_holds_the_page() {
    for (width, height) in [(1280.0, 720.0), (640.0, 360.0)] {
        let mut harness = Harness::builder().with_size(egui::vec2(width, height)).build_ui_state(
            |ui, page: &mut NotesPage| {
                notes_page(ui, page);
            },
            NotesPage::default(),
        );
        harness.run();
        let caution = harness.get_by_label(CAUTION).rect();
        for other in ["New from notes", "Back", "Save", "Show on the hillside"] {
            let rect = harness.get_by_label(other).rect();
            assert!(rect.top() >= caution.bottom() && rect.right() <= width, "{other} {rect}");
        }
        let field = harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "Name").rect();
        assert!(field.right() <= width, "{field}");
    }
}

#[test]
fn prop_the_keyboard_reaches_show_and_it_sends_the_scene() {
    let sent = std::rc::Rc::new(std::cell::RefCell::new(Vec::new()));
    let kept = std::rc::Rc::clone(&sent);
    let mut harness = Harness::builder().with_size(egui::vec2(1280.0, 720.0)).build_ui_state(
        move |ui, page: &mut NotesPage| kept.borrow_mut().extend(notes_page(ui, page)),
        NotesPage::default(),
    );
    harness.run();
    for _ in 0..10 {
        if harness.get_by_label("Show on the hillside").is_focused() {
            break;
        }
        harness.key_press(egui::Key::Tab);
        harness.run();
    }
    harness.key_press(egui::Key::Enter);
    harness.run();
    let sent = sent.borrow();
    let [NotesMessage::Show { text }] = &sent[..] else { panic!("{sent:?}") };
    assert!(scene::parse(text, "notes").is_ok());
}
