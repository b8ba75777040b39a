use super::*;
use crate::{
    keyed::Key,
    scene::{
        edit::{
            New, add,
            splice::{apply, inverse},
            turn_by,
        },
        starter,
    },
};

/// Every scene of the tree with the frame it is drawn in, the laser-scanned one turned as a
/// compass would.
fn scenes() -> Vec<(String, MapFrame)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "ron"));
    paths.sort();
    assert!(paths.len() >= 4);
    let mut texts: Vec<String> =
        paths.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect();
    texts.push(starter().to_owned());
    let frame = |text: &str| {
        let turn_rad = if text.contains("GeoTiff(\n") { 0.14 } else { 0.0 };
        MapFrame { turn_rad, unit_m: if turn_rad > 0.0 { 0.3048 } else { 1.0 } }
    };
    texts.into_iter().map(|text| (text.clone(), frame(&text))).collect()
}

/// The scene with something of this id.
fn scene_with(id: &str) -> String {
    let named = |text: &String| text.contains(&quoted(id));
    scenes().into_iter().map(|(text, _)| text).find(named).unwrap()
}

#[test]
fn verif_the_file_has_things_where_the_lists_have_them() {
    for (text, _) in scenes() {
        let scene = parse(&text, "s").unwrap();
        for thing in all(&scene) {
            let Some((list, index)) = item(&scene, &thing) else { continue };
            let found = splice::value(&text, &format!("{list}[{index}].id")).unwrap();
            assert_eq!(found, quoted(id(&thing)));
            assert_eq!(by_id(&scene, id(&thing)), Some(thing));
        }
    }
}

#[test]
fn prop_what_is_moved_is_where_it_was_meant_to_be() {
    let mut moved = 0;
    for (text, frame) in scenes() {
        let scene = parse(&text, "s").unwrap();
        for (i, thing) in all(&scene).into_iter().enumerate() {
            for k in 0..16 {
                let key = Key::root(3).number(i as u64).number(k);
                let far = 10.0_f64.powf(2.6 * key.word("far").uniform() - 1.3);
                let angle = std::f64::consts::TAU * key.word("angle").uniform();
                let by_m = DVec2::from_angle(angle) * far;
                let Some(before) = position_m(&scene, &frame, &thing) else { continue };
                let Ok(splices) = move_by(&scene, &frame, &text, &thing, by_m) else {
                    let stays = matches!(
                        thing,
                        Thing::Tree | Thing::Cut(_) | Thing::Limb(_) | Thing::Line(_)
                    );
                    assert!(stays, "{thing:?}");
                    continue;
                };
                let after = apply(&text, &splices).unwrap();
                let back = inverse(&text, &splices).unwrap();
                assert_eq!(apply(&after, &back).unwrap(), text);
                // Some places are refused: in the stump, or past a line's neighbour.
                let Ok(now) = parse(&after, "s") else { continue };
                let at = position_m(&now, &frame, &thing).unwrap();
                assert!(at.distance(before + by_m) < 0.02, "{thing:?} by {by_m}: {at}");
                let (old, new) = (points_m(&scene, &frame, &thing), points_m(&now, &frame, &thing));
                for (old, new) in old.iter().zip(&new) {
                    assert!(new.distance(*old + by_m) < 0.02, "{thing:?}: {new} from {old}");
                }
                assert_eq!(scene.doubts().len(), now.doubts().len() - new_doubts(&scene, &thing));
                moved += 1;
            }
        }
    }
    assert!(moved > 700, "only {moved} moves");
}

/// Numbers in doubt that a thing has once it is told by a place of its own.
fn new_doubts(scene: &Scene, thing: &Thing) -> usize {
    match thing {
        Thing::Climber if scene.climber == ClimberSpec::OnSpar => 3,
        Thing::ClimberLine if scene.climber_line == ClimberLineSpec::DownTheSpar => 2,
        Thing::Feller if scene.feller == FellerSpec::AtStump => 2,
        // A line of stations gets a tape of its own.
        Thing::Target(id) if id == "lower-walk" || id == "garden-walk" => 2,
        _ => 0,
    }
}

#[test]
fn prop_what_is_turned_keeps_its_middle_and_its_shape() {
    for (text, frame) in scenes() {
        let scene = parse(&text, "s").unwrap();
        for thing in all(&scene) {
            for k in 0..12 {
                let angle_rad = 0.5 + f64::from(k) * 0.51;
                let splices = turn_by(&scene, &frame, &text, &thing, angle_rad).unwrap();
                let after = apply(&text, &splices).unwrap();
                let Ok(now) = parse(&after, "s") else { continue };
                let (old, new) = (points_m(&scene, &frame, &thing), points_m(&now, &frame, &thing));
                let (a, b) = (middle(&old), middle(&new));
                for (old, new) in old.iter().zip(&new) {
                    let arm = *old - a;
                    let clockwise = DVec2::new(
                        arm.x * angle_rad.cos() + arm.y * angle_rad.sin(),
                        arm.y * angle_rad.cos() - arm.x * angle_rad.sin(),
                    );
                    let meant = if old_only(&thing, &scene) { arm } else { clockwise };
                    assert!(b.distance(a) < 0.02 && (*new - b).distance(meant) < 0.03, "{thing:?}");
                }
            }
        }
    }
}

/// Turned by an azimuth of its own, or round.
fn old_only(thing: &Thing, scene: &Scene) -> bool {
    matches!(thing, Thing::Cut(_) | Thing::Limb(_)) || places(scene, thing).len() < 2
}

#[test]
fn verif_a_vehicle_and_a_face_turn_by_their_azimuths() {
    let text = &scene_with("chipper-truck");
    let scene = parse(text, "lane-ash").unwrap();
    let frame = MapFrame::default();
    let turned = |thing: &Thing, deg: f64| {
        let splices = turn_by(&scene, &frame, text, thing, deg.to_radians()).unwrap();
        splices.into_iter().map(|s| s.text).collect::<String>()
    };
    assert_eq!(turned(&Thing::Target("chipper-truck".into()), -10.0), "\"355 deg\"");
    assert_eq!(turned(&Thing::Cut("a".into()), 20.0), "\"115 deg\"");
    assert_eq!(turned(&Thing::Cut("b".into()), 20.0), "\"115 deg\"");
    assert_eq!(turned(&Thing::Target("lane-guard".into()), 20.0), "");
}

#[test]
fn verif_a_moved_place_keeps_how_it_was_told() {
    let text = &scene_with("keep-maple");
    let scene = parse(text, "lake-oak").unwrap();
    // From 26 ft at 300 deg to 7.247 m at 300.35 deg.
    let by = DVec2::new(0.61, -0.3);
    let frame = MapFrame::default();
    let splices = move_by(&scene, &frame, text, &Thing::Target("keep-maple".into()), by).unwrap();
    let after = apply(text, &splices).unwrap();
    let at = splice::value(&after, "targets[1].at").unwrap();
    assert_eq!(at, "At(from: \"down:2\", azimuth: \"300.4 deg\", distance: \"23 ft 9 1/2 in\")");
    let splices = move_by(&scene, &frame, text, &Thing::Climber, DVec2::ZERO).unwrap();
    let after = apply(text, &splices).unwrap();
    assert!(after.contains("climber: MovedTo(at: At("), "{after}");
    assert!(after.contains("feet: \"51 ft 1 in\""), "{after}");
}

/// What goes with a thing that is taken out: itself, the lines that pull a cut's piece with all that
/// belongs to them, the cuts of a limb.
fn going(scene: &Scene, thing: &Thing) -> Vec<Thing> {
    let mut gone: Vec<Thing> =
        item(scene, thing).is_some().then(|| thing.clone()).into_iter().collect();
    let limb = |cut: &Cut| match cut.piece {
        PieceSpec::Limb { limb, .. } => {
            scene.tree.limbs.get(limb).map(|l| Thing::Limb(l.id.clone()))
        }
        _ => None,
    };
    let cuts = scene.cuts.iter().filter(|cut| limb(cut).as_ref() == Some(thing));
    gone.extend(cuts.map(|cut| Thing::Cut(cut.id.clone())));
    for line in &scene.lines {
        let own = Thing::Line(line.id().to_owned());
        if *thing == own || *thing == Thing::Cut(line.cut().to_owned()) {
            gone.retain(|other| *other != own);
            gone.push(own);
            let Some(line) = line.pull() else { continue };
            gone.extend(line.redirects.iter().map(|r| Thing::Redirect(r.id.clone())));
            gone.push(Thing::Anchor(line.id.clone()));
        }
    }
    gone
}

/// A thing and what belongs to it.
fn with_parts(scene: &Scene, thing: &Thing) -> usize {
    let mut pulls = scene.lines.iter().filter_map(Line::pull);
    let line = pulls.find(|line| *thing == Thing::Line(line.id.clone()));
    line.map_or(1, |line| 2 + line.redirects.len())
}

#[test]
fn prop_a_copy_is_read_and_a_thing_taken_out_is_gone() {
    for (text, frame) in scenes() {
        let scene = parse(&text, "s").unwrap();
        for thing in all(&scene) {
            if let Ok(splices) = remove(&scene, &text, &thing) {
                let gone = parse(&apply(&text, &splices).unwrap(), "s").unwrap();
                let count = all(&scene).len() - going(&scene, &thing).len();
                assert_eq!(all(&gone).len(), count);
            }
            let Ok((splices, copy)) =
                self::copy(&scene, &frame, &text, &thing, DVec2::new(0.5, 0.3))
            else {
                continue;
            };
            let both = parse(&apply(&text, &splices).unwrap(), "s").unwrap();
            assert_eq!(all(&both).len(), all(&scene).len() + with_parts(&scene, &thing));
            assert!(all(&both).contains(&copy) && all(&both).contains(&thing));
            assert_eq!(kind(&both, &copy), kind(&scene, &thing));
        }
    }
}

#[test]
fn verif_fresh_ids_count_on() {
    let scene = parse(starter(), "s").unwrap();
    assert_eq!(fresh_id(&scene, "shed"), "shed");
    assert_eq!(fresh_id(&scene, "footpath"), "footpath-2");
    assert_eq!(fresh_id(&scene, "stump"), "stump-2");
    let text = starter().replace("\"footpath\"", "\"path-9\"");
    assert_eq!(fresh_id(&parse(&text, "s").unwrap(), "path-9"), "path-10");
}

/// A text without comments, on as few lines as it goes.
fn on_one_line(text: &str) -> String {
    let without: Vec<&str> =
        text.lines().map(|line| line.split("//").next().unwrap_or_default().trim()).collect();
    let joined = without.join(" ");
    let tight = joined.split_whitespace().collect::<Vec<_>>().join(" ");
    [("( ", "("), ("[ ", "["), (" )", ")"), (" ]", "]"), (",)", ")"), (",]", "]")]
        .iter()
        .fold(tight, |text, (from, to)| text.replace(from, to))
}

#[test]
fn prop_any_layout_can_be_edited() {
    let frame = MapFrame::default();
    for (text, _) in scenes() {
        let crlf = text.replace('\n', "\r\n");
        let tabs = text.replace("    ", "\t");
        let no_commas = text.replace(",\n    ]", "\n    ]").replace(",\n        )", "\n        )");
        let remarks = text.replace(",\n", ", // a remark, with (brackets]\n/* and\nmore */");
        for text in [on_one_line(&text), crlf, tabs, no_commas, remarks] {
            let scene = parse(&text, "s").unwrap_or_else(|e| panic!("{e}"));
            let lines_alike = |after: &str| {
                !text.contains("\r\n")
                    || after.matches('\n').count() == after.matches("\r\n").count()
            };
            for thing in all(&scene) {
                if let Ok(splices) = remove(&scene, &text, &thing) {
                    let after = apply(&text, &splices).unwrap();
                    let gone = parse(&after, "s").unwrap_or_else(|e| panic!("{e}\n{after}"));
                    let went = going(&scene, &thing);
                    assert_eq!(all(&gone).len(), all(&scene).len() - went.len());
                    let remarks = |text: &str| text.matches("/* and").count();
                    let own = |thing: &Thing| {
                        splice::value(&text, &path(&scene, thing).unwrap()).map_or(0, remarks)
                    };
                    let inside: usize =
                        if went.is_empty() { own(&thing) } else { went.iter().map(own).sum() };
                    let kept = remarks(&after) + inside + went.len().max(1);
                    assert!(kept >= remarks(&text) && lines_alike(&after));
                }
                let by_m = DVec2::new(0.31, -0.17);
                if let Ok((splices, copy)) = copy(&scene, &frame, &text, &thing, by_m) {
                    let after = apply(&text, &splices).unwrap();
                    let both = parse(&after, "s").unwrap_or_else(|e| panic!("{e}\n{after}"));
                    assert!(all(&both).contains(&copy) && lines_alike(&after));
                }
            }
            for new in New::all() {
                let at = DVec2::new(7.0, 4.0);
                let Ok((splice, thing)) = add(&scene, &frame, &text, new, at, None) else {
                    let lacks = match new {
                        New::Redirect => scene.lines.iter().all(|line| line.pull().is_none()),
                        New::LimbCut => scene.tree.limbs.is_empty(),
                        _ => false,
                    };
                    assert!(lacks, "{new:?}");
                    continue;
                };
                let after = apply(&text, &[splice]).unwrap();
                let more = parse(&after, "s").unwrap_or_else(|e| panic!("{e}\n{after}"));
                assert!(all(&more).contains(&thing) && lines_alike(&after));
            }
        }
    }
}

#[test]
fn prop_lists_are_emptied_and_filled_again() {
    let frame = MapFrame::default();
    for (text, _) in scenes() {
        for mut text in [on_one_line(&text), text] {
            loop {
                let scene = parse(&text, "s").unwrap();
                let things = all(&scene);
                let Some(thing) = things.iter().find(|t| item(&scene, t).is_some()) else { break };
                text = apply(&text, &remove(&scene, &text, thing).unwrap()).unwrap();
            }
            for new in New::all() {
                let scene = parse(&text, "s").unwrap();
                // A redirect is between the stem and the far end.
                let at = DVec2::new(6.0, -5.0) * if new == New::Redirect { 0.5 } else { 1.0 };
                let (splice, _) = add(&scene, &frame, &text, new, at, None).unwrap();
                text = apply(&text, &[splice]).unwrap();
            }
            let scene = parse(&text, "s").unwrap_or_else(|e| panic!("{e}\n{text}"));
            assert_eq!((scene.targets.len(), scene.aids.len(), scene.cuts.len()), (7, 4, 3));
        }
    }
}

#[test]
fn prop_doubt_and_the_slope_of_a_tape_go_along() {
    let text = starter()
        .replace(
            "At(azimuth: \"120 deg\", distance: \"33 ft\")",
            "At(slope: Within(\"-30 deg\", \"2 deg\"), azimuth: Between(\"118 deg\", \"122 deg\"), \
             distance: Between(\"31 ft\", \"35 ft\"))",
        )
        .replace(
            "At(azimuth: \"160 deg\", distance: \"104 ft\")",
            "Local(east: Paced(\"10 m\"), north: Eyed(\"-29 m\"))",
        );
    let scene = parse(&text, "s").unwrap();
    let frame = MapFrame { turn_rad: -0.3, unit_m: 1.0 };
    for id in ["young-beech", "footpath"] {
        let thing = Thing::Target(id.to_owned());
        for k in 0..60 {
            let key = Key::root(5).number(k);
            let by_m = DVec2::new(key.word("x").normal(), key.word("y").normal()) * 4.0;
            let splices = move_by(&scene, &frame, &text, &thing, by_m).unwrap();
            let Ok(now) = parse(&apply(&text, &splices).unwrap(), "s") else { continue };
            let (old, new) = (points_m(&scene, &frame, &thing), points_m(&now, &frame, &thing));
            for (old, new) in old.iter().zip(&new) {
                assert!(new.distance(*old + by_m) < 0.02, "{id}: {new} from {old}");
            }
            let widths = |scene: &Scene| -> Vec<_> {
                let doubts = scene.doubts().into_iter();
                doubts.map(|(path, d)| (path, d.spread.how, d.spread.high - d.spread.low)).collect()
            };
            for (old, new) in widths(&scene).iter().zip(&widths(&now)) {
                assert_eq!((&old.0, old.1), (&new.0, new.1));
                let stated = old.1 == crate::scene::How::Stated;
                assert!(!stated || (old.2 - new.2).abs() < 0.02, "{}", old.0);
            }
        }
    }
}
