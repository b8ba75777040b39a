//! The pulled stem, limbs and lines on the panel.

use super::*;

fn pulled_stem() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes/mill-ash.ron")
}

/// The numbers of the pulled stem, of fewer draws than are usual.
static FELLED: LazyLock<Arc<Felling>> = LazyLock::new(|| {
    let job = Job::load(scene::load(&pulled_stem()).expect("the stem")).expect("its job");
    let question = felling::Question { cut: CUT, seed: 1, draws: 6 };
    Arc::new(felling::fell(&job, &question).expect("numbers"))
});

fn felled() -> Desk {
    let mut desk = desk_of(Document::open(&pulled_stem()).expect("the stem"));
    desk.tab = Tab::Pull;
    desk.felled = Felled { asked: Some(0), newest: Some((0, Ok(FELLED.clone()))) };
    desk
}

#[test]
fn prop_pull_and_hinge_are_all_reached_by_keys_and_named() {
    for ((theme, word), size) in THEMES.into_iter().zip([WINDOW, AT_TWICE, WINDOW]) {
        let mut desk = felled();
        desk.look.theme = theme;
        go_round(under_hands(desk, size), &format!("pull, {word} {size}"));
    }
}

#[test]
fn prop_every_number_of_the_pull_stands_there_as_the_command_prints_it() {
    let hands = under_hands(felled(), vec2(1280.0, 9000.0));
    let units = hands.state().desk.job.as_ref().unwrap().scene.units;
    let said = |words: &str| hands.query_all_by_label(words).count();
    assert!(FELLED.figures.len() > 30);
    let mut warned = 0;
    for figure in &FELLED.figures {
        assert_eq!(said(&format!("{}: what it is worked out by", figure.label)), 1);
        let text = |x| quantity(figure.measure, x, units);
        for (word, value) in [("low", figure.low), ("as told", figure.told), ("high", figure.high)]
        {
            assert!(said(&format!("{word} {}", text(value))) > 0, "{} {word}", figure.key);
        }
        for words in &figure.outside {
            // Before all numbers and below its own.
            assert_eq!(said(&format!("! {}: {words}", figure.label)), 1, "{}", figure.key);
            assert!(said(&format!("! {words}")) > 0, "{}", figure.key);
            warned += 1;
        }
    }
    assert!(warned > 0 && FELLED.sizes.len() == 4);
    for size in &FELLED.sizes {
        let own = quantity(size.measure, size.own, units);
        assert!(hands.query_all_by_label_contains(&format!("{own}; by practice")).count() > 0);
    }
    for state in &FELLED.states {
        let moments = format!("{}\n{}", units.moment(state.fore_n_m), units.moment(state.side_n_m));
        assert_eq!(said(&moments), 1);
    }
    assert_eq!(said(&without_line(&FELLED, units)), 1);
    let drawn = hands.get_by_role(Role::Image);
    let heard = drawn.accesskit_node().label().unwrap_or_default();
    assert!(heard.contains("first tension") && heard.contains("goes by itself from"), "{heard}");
}

#[test]
fn prop_what_a_number_is_worked_out_by_is_unfolded_by_keys() {
    let mut hands = under_hands(felled(), vec2(1280.0, 9000.0));
    let figure = FELLED.figures.iter().find(|f| f.key == "hinge_side").expect("a number");
    assert_eq!(hands.query_all_by_label(figure.rule.formula).count(), 0);
    let name = format!("{}: what it is worked out by", figure.label);
    hands.get_by_label(&name).focus();
    settle(&mut hands);
    hands.key_press(Key::Enter);
    settle(&mut hands);
    assert_eq!(hands.query_all_by_label(figure.rule.formula).count(), 1);
    assert!(hands.query_by_label_contains(figure.rule.source).is_some());
    assert!(hands.query_by_label_contains(figure.rule.standing.words()).is_some());
    assert!(hands.query_by_label_contains(figure.rule.assumption).is_some());
    // The curve has its numbers too.
    let before = hands.query_all_by_label_contains("in still air,").count();
    hands.get_by_label_contains("the curve in numbers").click();
    settle(&mut hands);
    assert!(hands.query_all_by_label_contains("in still air,").count() > before + 4);
}

#[test]
fn prop_numbers_of_the_pull_say_when_they_are_of_the_scene_before() {
    let (mut desk, workers) = (felled(), Workers::start(|| {}));
    let before = "These numbers are of the scene before the last change.";
    let thing = Thing::Redirect("oak-block".to_owned());
    grant(&mut desk, &workers, Wish::Edit(Edit::Move(thing.clone(), glam::DVec2::new(1.0, 0.0))));
    assert!(desk.is_felling() && desk.message.is_none());
    let mut hands = under_hands(desk, WINDOW);
    assert!(hands.query_by_label(before).is_some());
    for _ in 0..6_000 {
        for news in workers.news() {
            hands.state_mut().desk.hear(news, &workers);
        }
        if !hands.state().desk.is_felling() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    settle(&mut hands);
    assert!(hands.query_by_label(before).is_none());
    // A cut without a hinge says so, and no numbers of another cut stand there.
    let desk = &mut hands.state_mut().desk;
    desk.felled.newest = Some((desk.answer.order, Err("it turns on no hinge".to_owned())));
    settle(&mut hands);
    assert!(hands.query_by_label("it turns on no hinge").is_some());
    assert_eq!(hands.query_all_by_label_contains("what it is worked out by").count(), 0);
}

#[test]
fn prop_limbs_tops_and_lines_are_changed_by_keys() {
    let maple = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes/garden-maple.ron");
    for (path, all) in [
        (
            maple,
            vec![
                Thing::Tree,
                Thing::Limb("west-limb".to_owned()),
                Thing::Cut("south-tip".to_owned()),
                Thing::Cut("top".to_owned()),
            ],
        ),
        (
            pulled_stem(),
            vec![
                Thing::Cut("stem".to_owned()),
                Thing::Line("pull-line".to_owned()),
                Thing::Redirect("oak-block".to_owned()),
                Thing::Anchor("pull-line".to_owned()),
            ],
        ),
    ] {
        for thing in all {
            let mut desk = desk_of(Document::open(&path).expect("a scene"));
            let what = format!("{thing:?}");
            (desk.tab, desk.picked) = (Tab::Change, Some(thing));
            go_round(under_hands(desk, AT_TWICE), &what);
        }
    }
}

#[test]
fn prop_buttons_for_limbs_and_lines_wish_for_what_they_say() {
    let zero = glam::DVec2::ZERO;
    let part = |thing: Thing| Wish::Pick(Some(thing));
    for (thing, name, wanted) in [
        (
            Thing::Cut("stem".to_owned()),
            "Add a pull line",
            Wish::Use(Tool::Put(scene::edit::New::PullLine)),
        ),
        (
            Thing::Cut("stem".to_owned()),
            "pull-line (pull line)",
            part(Thing::Line("pull-line".to_owned())),
        ),
        (
            Thing::Line("pull-line".to_owned()),
            "Add a redirect",
            Wish::Use(Tool::Put(scene::edit::New::Redirect)),
        ),
        (
            Thing::Line("pull-line".to_owned()),
            "oak-block (redirect)",
            part(Thing::Redirect("oak-block".to_owned())),
        ),
        (
            Thing::Redirect("oak-block".to_owned()),
            "pull-line (far end)",
            part(Thing::Anchor("pull-line".to_owned())),
        ),
        (Thing::Tree, "Add a limb", Wish::Use(Tool::Put(scene::edit::New::Limb))),
    ] {
        let mut desk = desk_of(Document::open(&pulled_stem()).expect("the stem"));
        (desk.tab, desk.picked) = (Tab::Change, Some(thing));
        let mut hands = under_hands(desk, vec2(1280.0, 2000.0));
        hands.get_by_label(name).click();
        settle(&mut hands);
        assert_eq!(hands.state().wishes, [wanted], "{name}");
    }
    let maple = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes/garden-maple.ron");
    let mut desk = desk_of(Document::open(&maple).expect("a scene"));
    (desk.tab, desk.picked) = (Tab::Change, Some(Thing::Limb("east-limb".to_owned())));
    let mut hands = under_hands(desk, vec2(1280.0, 2000.0));
    hands.get_by_label("Cut this limb").click();
    settle(&mut hands);
    let wanted = Wish::Edit(Edit::Add(scene::edit::New::LimbCut, zero));
    assert_eq!(hands.state().wishes, [wanted]);
    // The cut comes before what would bring the limb down with it.
    let Seen { mut desk, wishes, .. } = hands.into_state();
    for wish in wishes {
        grant(&mut desk, &Workers::start(|| {}), wish);
    }
    assert_eq!(desk.message, None);
    let ids: Vec<_> = desk.job.unwrap().scene.cuts.iter().map(|cut| cut.id.clone()).collect();
    assert_eq!(ids[5..7], ["limb-cut", "upper"], "{ids:?}");
    assert_eq!(desk.picked, Some(Thing::Cut("limb-cut".to_owned())));
}
