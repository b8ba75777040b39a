use super::*;
use crate::scene::{
    edit::{set_field, splice::apply, things::all},
    parse, starter,
};

fn scenes() -> Vec<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes/");
    [
        "lake-oak",
        "lane-ash",
        "lidar-slope",
        "terrace-walnut",
        "mill-ash",
        "garden-maple",
        "quarry-poplar",
    ]
    .map(|name| std::fs::read_to_string(format!("{folder}{name}.ron")).unwrap())
    .into_iter()
    .chain([starter().to_owned()])
    .collect()
}

fn every_field(scene: &Scene, text: &str) -> Vec<Field> {
    let things = all(scene);
    let of_things = things.iter().flat_map(|thing| fields(scene, text, thing));
    scene_fields(scene, text).into_iter().chain(site_fields(scene, text)).chain(of_things).collect()
}

/// The field of a thing at a path, in a scene.
fn field(text: &str, thing: &Thing, path: &str) -> Field {
    let scene = parse(text, "s").unwrap();
    let found = fields(&scene, text, thing).into_iter().find(|field| field.path == path);
    found.unwrap_or_else(|| panic!("no field {path}"))
}

fn typed(text: &str, thing: &Thing, path: &str, new: &str, doubt: &Doubt) -> String {
    let field = field(text, thing, path);
    let splice = set_field(text, &field, new, doubt).unwrap_or_else(|e| panic!("{e}"));
    apply(text, &[splice]).unwrap()
}

#[test]
fn prop_what_stands_there_typed_again_changes_nothing() {
    let mut count = 0;
    for text in scenes() {
        let scene = parse(&text, "s").unwrap();
        for field in every_field(&scene, &text) {
            let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
            let splice = set_field(&text, &field, &field.text, &doubt).unwrap();
            assert_eq!(apply(&text, &[splice]).unwrap(), text, "{}", field.path);
            assert!(!field.label.is_empty(), "{}", field.path);
            let is_there = value(&text, &field.path).is_some();
            assert!(is_there || field.text.is_empty() || field.need == Need::Derived);
            count += 1;
        }
    }
    assert!(count > 400, "only {count} fields");
}

#[test]
fn prop_every_word_of_every_choice_can_be_chosen() {
    let mut count = 0;
    for text in scenes() {
        let scene = parse(&text, "s").unwrap();
        for field in every_field(&scene, &text) {
            let FieldKind::Choice(words) = field.kind else { continue };
            // A piece that a line pulls turns on a hinge.
            let pulled = |cut: &crate::scene::Cut| {
                scene.lines.iter().any(|l| l.pull().is_some() && l.cut() == cut.id)
            };
            let release = |i: usize| format!("cuts[{i}].release") == field.path;
            let hinged = scene.cuts.iter().enumerate().any(|(i, cut)| release(i) && pulled(cut));
            let may = |word: &&Word| !hinged || word.word.ends_with("Hinge");
            for word in words.iter().filter(may) {
                let splice = set_field(&text, &field, word.word, &Doubt::Plain).unwrap();
                let after = apply(&text, &[splice]).unwrap();
                let now = parse(&after, "s");
                let now = now.unwrap_or_else(|e| panic!("{} {}: {e}", field.path, word.word));
                let fields = every_field(&now, &after);
                let again = fields.iter().find(|f| f.path == field.path).unwrap();
                assert_eq!(again.text, word.word, "{}", field.path);
                count += 1;
            }
        }
    }
    assert!(count > 300, "only {count} words");
}

#[test]
fn verif_what_is_typed_is_checked_as_the_file_is() {
    let text = starter();
    let bridge = Thing::Target("footbridge".to_owned());
    let field = field(text, &bridge, "targets[0].wall");
    assert_eq!((field.text.as_str(), field.doubt.clone()), ("4 ft", Some(Doubt::Plain)));
    let refused = set_field(text, &field, "8", &Doubt::Plain).unwrap_err().to_string();
    let house = "8".parse::<crate::quantity::Length>().unwrap_err().to_string();
    assert_eq!(refused, format!("targets[0].wall: {house}"));
    for (new, doubt) in [
        ("", Doubt::Plain),
        ("4 lb", Doubt::Eyed),
        ("4 ft", Doubt::Within("1".to_owned())),
        ("4 ft", Doubt::Between(String::new())),
    ] {
        assert!(set_field(text, &field, new, &doubt).is_err(), "{new} {doubt:?}");
    }
    let after = typed(text, &bridge, "targets[0].wall", " 5 ft ", &Doubt::Within("6 in".into()));
    assert!(after.contains("wall: Within(\"5 ft\", \"6 in\"),"));
    parse(&after, "s").unwrap();
}

#[test]
fn verif_what_may_be_left_out_comes_and_goes() {
    let text = starter();
    let bridge = Thing::Target("footbridge".to_owned());
    let roof = field(text, &bridge, "targets[0].roof");
    assert!(roof.optional && roof.text.is_empty());
    assert_eq!(roof.assumed.as_deref(), Some("flat, as high as the walls"));
    let with = typed(text, &bridge, "targets[0].roof", "7 ft", &Doubt::Eyed);
    assert!(with.contains("wall: \"4 ft\",\n            roof: Eyed(\"7 ft\"),\n"), "{with}");
    assert_eq!(typed(&with, &bridge, "targets[0].roof", "", &Doubt::Eyed), text);
    let third = Thing::Cut("third".to_owned());
    let pushed = typed(text, &third, "cuts[2].release.push.force", "90 lbf", &Doubt::Eyed);
    assert!(
        pushed.contains("width: \"90 %\", push: (force: Eyed(\"90 lbf\"), height: \"4 ft\")),")
    );
    parse(&pushed, "s").unwrap();
    let back = typed(&pushed, &third, "cuts[2].release.push.height", "", &Doubt::Plain);
    assert_eq!(back, text);
    let scene = parse(text, "s").unwrap();
    let speed = site_fields(&scene, text).into_iter().find(|f| f.path == "site.wind.speed");
    let splice = set_field(text, &speed.unwrap(), "12 mph", &Doubt::Eyed).unwrap();
    let windy = parse(&apply(text, &[splice]).unwrap(), "s").unwrap();
    assert_eq!(windy.site.wind.unwrap().gust_m_s.told, 12.0 * 0.447_04);
}

#[test]
fn verif_a_length_moves_the_butt_and_the_next_top() {
    let text = starter();
    let second = Thing::Cut("second".to_owned());
    let path = "cuts[1].piece.length";
    assert_eq!(field(text, &second, path).text, "8 ft");
    let short = typed(text, &second, path, "3 ft", &Doubt::Plain);
    let scene = parse(&short, "s").unwrap();
    let [_, cut, next] = &scene.cuts[..] else { panic!("three cuts") };
    assert_eq!(field(&short, &second, "cuts[1].piece.from").text, "39 ft");
    assert!(cut.stubs.is_empty(), "the stub at 38 ft stays on the spar");
    assert_eq!(field(&short, &second, "cuts[1].release.push.height").text, "3 ft");
    let crate::scene::PieceSpec::Section { to_m, .. } = next.piece else { panic!() };
    assert!((to_m.told - 39.0 * 0.3048).abs() < 1e-9);
    assert!(short.contains("// A limb left on, to stop it rolling."));
    let longer = typed(text, &second, path, "10 ft", &Doubt::Plain);
    assert_eq!(parse(&longer, "s").unwrap().cuts[1].stubs.len(), 1);
    let field = field(text, &second, path);
    for bad in ["0 ft", "43 ft", "-2 ft", "3"] {
        assert!(set_field(text, &field, bad, &Doubt::Plain).is_err(), "{bad}");
    }
}

#[test]
fn verif_a_release_keeps_what_the_new_kind_has_too() {
    let text = starter();
    let second = Thing::Cut("second".to_owned());
    let snap = typed(text, &second, "cuts[1].release", "Snap", &Doubt::Plain);
    let meant =
        "release: Snap(toward: \"250 deg\", push: (force: Eyed(\"60 lbf\"), height: \"4 ft\")),";
    assert!(snap.contains(meant), "{snap}");
    let bored = typed(&snap, &second, "cuts[1].release", "BoredHinge", &Doubt::Plain);
    let meant = "release: BoredHinge(face: \"250 deg\", opening: \"70 deg\", depth: \"25 %\", hinge: \"3/8 in\", strap: \"1 in\", push: (force";
    assert!(bored.contains(meant), "{bored}");
    let ground = typed(
        text,
        &Thing::Patch("creek-flat".into()),
        "site.patches[0].ground.cover",
        "Litter",
        &Doubt::Plain,
    );
    assert!(ground.contains("cover: Litter(\"1 in\"), roughness: Lawn"));
}
