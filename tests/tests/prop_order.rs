//! Cuts in their order: pieces already down lie there for the cuts after, drop for drop; orders are
//! compared on the same draws; a search spends no more drops than it was given.

use std::{fs, sync::atomic::AtomicBool};

use rayon::ThreadPoolBuilder;
use tumblewood::{
    drop::GroundLaw,
    forecast::{
        Ask, Run,
        orders::{self, compare, jobs, read},
        replay, run,
        search::{Span, check, search},
    },
    job::{Job, Outer},
    report::{Stamp, Units, json, text, tried},
    scene,
    scene::model::After,
    site::Answer,
};
use tumblewood_tests::root;

const FEW: Ask = Ask {
    cuts: Vec::new(),
    drops: 6,
    grounds: 2,
    drops_per_ground: 3,
    seed: 1,
    law: GroundLaw::Soil,
};

/// The lake oak with what becomes of all its pieces.
fn oak(after: After) -> Job {
    let mut scene = scene::load(&root().join("scenes/lake-oak.ron")).expect("a scene");
    scene.cuts.iter_mut().for_each(|cut| cut.after = after);
    Job::load(scene).expect("a job")
}

fn maple() -> Job {
    let scene = scene::load(&root().join("scenes/garden-maple.ron")).expect("a scene");
    Job::load(scene).expect("a job")
}

fn go(job: &Job, ask: &Ask) -> Run {
    run(job, ask, &AtomicBool::new(false), &|_| {}).expect("a forecast")
}

fn stamp() -> Stamp {
    Stamp {
        scene: "invented".to_owned(),
        scene_hash: "0".repeat(64),
        law: "soil".to_owned(),
        seed: 1,
        date: "2026-11-27".to_owned(),
    }
}

#[test]
fn prop_where_all_is_cleared_no_cut_knows_of_another() {
    let job = oak(After::Cleared);
    let all = go(&job, &Ask { cuts: vec![0, 1], ..FEW });
    for cut in [0, 1] {
        let alone = go(&job, &Ask { cuts: vec![cut], ..FEW });
        assert_eq!(alone.told[0], all.told[cut]);
        let text = |run: &Run, k: usize| format!("{:?}", run.forecast.cuts[k]);
        assert_eq!(text(&alone, 0), text(&all, cut));
        assert!(all.forecast.cuts[cut].loose.is_empty());
    }
}

#[test]
fn prop_a_job_is_the_same_on_any_threads_and_each_of_its_drops_made_again_alone() {
    let job = oak(After::LeftWhereItStops);
    let ask = Ask { cuts: vec![0, 1], ..FEW };
    let on = |threads: usize| {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| go(&job, &ask))
    };
    let [one, three] = [1, 3].map(on);
    let text = |run: &Run| json::forecast(&run.forecast).expect("no NaN");
    assert_eq!(text(&one), text(&three));
    assert_eq!(one.told, three.told);
    // The second cut alone runs the first too, and is the same.
    let alone = go(&job, &Ask { cuts: vec![1], ..FEW });
    assert_eq!(alone.told[0], one.told[1]);
    let (mut lain, mut set_going) = (0, 0);
    for (index, fate) in one.told[1].1.iter().enumerate() {
        let again = replay(&job, &ask, Outer::Told, 1, index as u32, 0.05).expect("a replay");
        let outcome = again.what.as_ref().ok().map(|(_, outcome)| outcome);
        assert_eq!(outcome, fate.outcome(), "{index}");
        // The first piece lies where its own drop came to rest, if it did.
        let before = replay(&job, &ask, Outer::Told, 0, index as u32, 0.05).expect("a replay");
        let here = again.ready.site.bodies.iter().find(|body| body.id == "s1");
        let there = before.what.ok().map(|(track, _)| track.samples[track.samples.len() - 1]);
        if let (Some(body), Some(end)) = (here, there) {
            let Answer::Free { motion, .. } = &body.answer else { panic!("{body:?}") };
            assert_eq!(
                (motion.centre_m, motion.attitude),
                (end.motion.centre_m, end.motion.attitude)
            );
            lain += 1;
        }
        set_going += outcome.map_or(0, |o| o.loose.len());
    }
    assert!(lain > 3, "{lain}");
    let counted = &one.forecast.cuts[1].loose[0];
    assert_eq!((counted.id.as_str(), counted.set_going as usize), ("s1", set_going));
    // Its layout is the published one.
    let schema = fs::read_to_string(root().join("assets/forecast.schema.json")).expect("schema");
    let schema: serde_json::Value = serde_json::from_str(&schema).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let value: serde_json::Value = serde_json::from_str(&text(&one)).expect("JSON");
    let errors: Vec<String> = validator.iter_errors(&value).map(|e| e.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
}

#[test]
fn prop_what_lies_has_the_same_bumps_under_it_in_any_order() {
    let mut scene = oak(After::LeftWhereItStops).scene;
    assert!((0..4).all(|cut| scene.bumps_of(cut) == "s1"));
    scene.cuts.reverse();
    assert!((0..4).all(|cut| scene.bumps_of(cut) == "s1"));
    // What comes before anything is left has its own.
    scene.cuts[0].after = After::Cleared;
    assert_eq!((scene.bumps_of(0), scene.bumps_of(1)), ("s4", "s1"));
}

fn ids(text: &str) -> Vec<String> {
    text.split(',').map(str::to_owned).collect()
}

#[test]
fn prop_orders_that_cannot_be_are_refused_with_why() {
    let job = maple();
    for (orders, said) in [
        (&["snag-off,west-off"][..], &["1 order", "2 to 24"][..]),
        (&["snag-off,west-off", "snag-off,nope"], &["nope", "south-tip"]),
        (&["snag-off,west-off", "snag-off,snag-off"], &["snag-off twice"]),
        (&["snag-off,west-off", "west-off,snag-off,top"], &["it has top", "same cuts"]),
        (&["snag-off,west-off", "snag-off"], &["it lacks west-off", "same cuts"]),
        (&["snag-off,west-off", "snag-off,west-off"], &["each order once"]),
        (&["top,upper", "upper,top"], &["cut top.piece.from", "\"upper\"", "less than 7 m"]),
        (&["snag-off,upper", "upper,snag-off"], &["cut upper: 9 m of stem", "takes that down"]),
        (&["top,south-tip,upper", "top,upper,south-tip"], &["south-limb", "\"upper\""]),
        (&["south-tip,south-off", "south-off,south-tip"], &["south-tip", "15 cm"]),
    ] {
        let orders: Vec<Vec<String>> = orders.iter().map(|order| ids(order)).collect();
        let error = read(&job.scene, &orders).and_then(|orders| jobs(&job, &orders).map(|_| ()));
        let error = error.expect_err("an order that can't be").to_string();
        for said in said {
            assert!(error.contains(said), "{said}: {error}");
        }
        assert!(error.contains("read ") && error.contains("allowed: "), "{error}");
    }
}

#[test]
fn prop_orders_share_their_draws_and_none_is_singled_out() {
    let job = maple();
    let orders = [ids("snag-off,west-off"), ids("west-off,snag-off")];
    let orders = read(&job.scene, &orders).expect("orders");
    let all_jobs = jobs(&job, &orders).expect("orders that can be");
    let stop = AtomicBool::new(false);
    let all = compare(&job, &all_jobs, &FEW, &stop, &|_| {}).expect("a comparison");
    // All is cleared away, and a limb does not lean the stem here: a cut is the same in both but
    // for the limb that still stands by it.
    let of = |k: usize, id: &str| {
        let run: &Run = &all.orders[k].run;
        let at = run.forecast.cuts.iter().position(|cut| cut.id == id).expect("a cut");
        run.told[at].1.iter().map(|fate| fate.outcome().is_some()).collect::<Vec<_>>()
    };
    assert_eq!(of(0, "west-off"), of(1, "west-off"));
    assert_eq!(all.left_out, ["south-tip", "south-off", "top", "upper", "stem"]);
    for order in &all.orders {
        assert_eq!(order.run.forecast.job.states.len(), 3);
        for target in &order.run.forecast.job.targets {
            assert_eq!(target.jobs, 6);
            assert_eq!(
                all.corrected_bound(order, &target.id).is_none(),
                orders::reached(target),
                "{target:?}"
            );
        }
    }
    let words = text::orders(&all, &stamp(), Units::Metric);
    let lower = words.to_lowercase();
    assert!(words.contains("1: snag-off, west-off") && words.contains("Order 2: the tree after"));
    assert!(!lower.contains("best") && !lower.contains(concat!("sa", "fe")), "{words}");
    assert!(words.lines().all(|line| line.chars().count() <= 110), "{words}");
}

#[test]
fn prop_a_search_stays_in_its_box_and_its_drops_and_tells_all_it_tried() {
    let job = oak(After::Cleared);
    let ask = Ask { drops: 2, grounds: 1, drops_per_ground: 1, ..FEW };
    let span = Span { cut: 0, lengths_m: [1.0, 2.0], faces_rad: Some([3.2, 4.0]), drops: 78 };
    check(&job, &span, &ask).expect("a search that can be");
    let few = check(&job, &Span { drops: 35, ..span.clone() }, &ask).expect_err("too few");
    assert!(few.to_string().contains("at least 36"), "{few}");
    let stop = AtomicBool::new(false);
    let all = search(&job, &span, &ask, &stop, &|p| assert!(p.done <= p.total)).expect("a search");
    assert!(all.choosing + all.counted <= span.drops && all.tries.len() > 8, "{}", all.tries.len());
    let places: Vec<(f64, f64)> = all.tries.iter().map(|t| (t.length_m, t.face_rad)).collect();
    assert!(places.is_sorted() && places.windows(2).all(|p| p[0] != p[1]), "{places:?}");
    for one in &all.tries {
        assert!((1.0..=2.0).contains(&one.length_m), "{one:?}");
        // Faces are told to the degree.
        assert!((3.19..=4.01).contains(&one.face_rad), "{one:?}");
        assert!(one.at_most >= f64::from(one.told.reached) / f64::from(one.told.drops));
        assert_eq!((one.told.drops, one.any.drops), (2, 3));
    }
    let again = search(&job, &span, &ask, &stop, &|_| {}).expect("a search");
    assert_eq!(format!("{all:?}"), format!("{again:?}"));
    let words = text::search(&all, &stamp(), Units::Metric);
    let picture = tried::tried(&all, &stamp(), Units::Metric);
    for said in [&words, &picture] {
        let lower = said.to_lowercase();
        assert!(lower.contains("no instruction"), "{said}");
        assert!(!lower.contains("best") && !lower.contains(concat!("sa", "fe")), "{said}");
    }
    assert_eq!(picture.matches("<circle").count(), all.tries.len());
}
