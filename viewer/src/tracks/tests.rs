use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};
use tumblewood::{
    job::{Job, Outer},
    outcome::Mode,
    scene,
    site::BodyKind,
    terrain::Terrain,
};

use super::*;
use crate::palette::{Theme, palette};

fn height_m(x: f32, y: f32) -> f32 {
    0.1 * x + 0.5 * y
}

/// A bank that falls to the south, with a hut 20 m down it and a wire over it.
fn site() -> Site {
    let job = Job::load(scene::parse(scene::starter(), "starter").unwrap()).unwrap();
    let mut site = job.world(Outer::Told).unwrap().site;
    site.terrain = Arc::new(Terrain::from_heights(DVec2::splat(-60.0), 1.0, 121, 121, |x, y| {
        0.1 * x + 0.5 * y
    }));
    let body = |id: &str, kind, shapes| Body {
        id: id.to_owned(),
        kind,
        is_target: true,
        answer: Answer::Fixed,
        shapes,
    };
    let hut = Shape::Cuboid {
        centre_m: DVec3::new(0.0, -20.0, -9.0),
        attitude: DQuat::IDENTITY,
        half_m: DVec3::splat(1.0),
    };
    let wire = Shape::Capsule {
        from_m: DVec3::new(-30.0, -40.0, -15.0),
        to_m: DVec3::new(30.0, -40.0, -15.0),
        radius_m: 0.01,
    };
    site.bodies =
        vec![body("hut", BodyKind::Structure, vec![hut]), body("wire", BodyKind::Wire, vec![wire])];
    site
}

fn outcome(mode: Mode, end: (f64, f64), reaches: [Reach; 2]) -> Outcome {
    Outcome {
        mode,
        first_touch: None,
        parts: [0.0; 3],
        turns: 0.0,
        rollout_m: 0.0,
        height_over_ground_m: 0.0,
        ending: Ending::Rest,
        rests_on: None,
        hold: None,
        end_m: DVec3::new(end.0, end.1, 0.1 * end.0 + 0.5 * end.1),
        end_axis: DVec3::X,
        bent: None,
        lines: Vec::new(),
        digs: vec![],
        struck_m_s: 0.0,
        loose: vec![],
        absent: vec![],
        reaches: reaches.to_vec(),
    }
}

const HIT: Reach = Reach::Reached { energy_j: 500.0, speed_m_s: 3.0 };

fn missed(gap_m: f64) -> Reach {
    Reach::Missed { gap_m }
}

/// Straight down the bank to y, a little inside the ground on the way.
fn path(to_y: f32, points: usize) -> Path {
    let at = |k: usize| {
        let y = to_y * k as f32 / (points - 1).max(1) as f32;
        [0.5, y, height_m(0.5, y) - 0.05]
    };
    Path((0..points).map(at).collect())
}

fn fates() -> (Vec<Fate>, Vec<Path>) {
    let left = |o| Fate::Left(Box::new(o));
    let fates = vec![
        left(outcome(Mode::Slid, (0.5, -15.0), [missed(4.0), missed(20.0)])),
        left(outcome(Mode::Tumbled, (0.5, -30.0), [HIT, missed(9.0)])),
        Fate::SatBack { missing_moment_n_m: 40.0 },
        left(outcome(Mode::Rolled, (0.5, -45.0), [missed(1.5), HIT])),
        left(outcome(Mode::Stayed, (0.5, -2.0), [Reach::Unknown, missed(30.0)])),
    ];
    (
        fates,
        vec![path(-15.0, 40), path(-30.0, 2_000), Path::default(), path(-45.0, 500), path(-2.0, 5)],
    )
}

fn check(what: impl FnOnce(&Drops<'_>)) {
    let (fates, paths) = fates();
    let site = site();
    let palette = palette(Theme::Day);
    what(&Drops { fates: &fates, paths: &paths, site: &site, unit_m: 0.5, palette });
}

/// The track of one drop, shown or not, as one that reaches a target or as one that doesn't.
fn track(drops: &Drops<'_>, drop: usize, filter: &Filter) -> Drawn {
    let mut drawn = Drawn::default();
    if let (Some(outcome), Some(path)) =
        (drops.fates.get(drop).and_then(Fate::outcome), drops.paths.get(drop))
    {
        add_track(&mut drawn, drops, &path.0, filter.reaches(outcome));
    }
    drawn
}

#[test]
fn verif_filters_keep_what_they_say() {
    check(|drops| {
        let all = Filter::default();
        let shown =
            |filter: Filter| -> Vec<usize> { drops.shown(&filter).map(|(k, ..)| k).collect() };
        assert_eq!(shown(all), [0, 1, 3, 4], "what sat back went nowhere");
        assert_eq!(shown(Filter { modes: [false, true, false, true], ..all }), [0, 1]);
        assert_eq!(shown(Filter { only_reaching: true, ..all }), [1, 3]);
        assert_eq!(shown(Filter { only_reaching: true, target: Some(1), ..all }), [3]);
        assert_eq!(shown(Filter { within_m: Some(2.0), ..all }), [1, 3, 4]);
        assert_eq!(shown(Filter { within_m: Some(9.0), target: Some(1), ..all }), [1, 3]);
        assert_eq!(shown(Filter { target: Some(7), only_reaching: true, ..all }), [0usize; 0]);
        assert_eq!(counted(drops, &all), (4, 2));
        assert_eq!(counted(drops, &Filter { target: Some(0), ..all }), (4, 1));
    });
}

#[test]
fn prop_tracks_keep_over_the_ground_and_keep_their_ends() {
    check(|drops| {
        for path in drops.paths {
            let points = over_ground_m(drops, &path.0);
            assert!(points.len() <= MOST_POINTS && points.len() >= path.0.len().min(60) / 2);
            for p in &points {
                assert!((p.z - height_m(p.x, p.y) - LIFT_M).abs() < 1e-3);
            }
            if let (Some(first), Some(last)) = (path.0.first(), path.0.last()) {
                assert_eq!((points[0].y, points[points.len() - 1].y), (first[1], last[1]));
            }
        }
        // In the air a track stays where the piece was.
        let high = over_ground_m(drops, &[[0.0, 0.0, 12.0], [0.0, -1.0, 11.0]]);
        assert_eq!(high[0].z, 12.0);
    });
}

#[test]
fn prop_reaching_tracks_differ_by_colour_and_by_beads() {
    check(|drops| {
        let palette = drops.palette;
        let quiet = track(drops, 0, &Filter::default());
        let reaching = track(drops, 1, &Filter::default());
        assert!(quiet.is_sound() && reaching.is_sound());
        assert!(quiet.triangles.is_empty() && !quiet.lines.is_empty());
        assert!(!reaching.triangles.is_empty() && !reaching.lines.is_empty());
        assert_eq!(quiet.colours[0], palette.quiet.linear());
        assert_eq!(reaching.colours[0], palette.alarm.linear());
        // Of another target it is one that reaches nothing.
        let other = track(drops, 1, &Filter { target: Some(1), ..Filter::default() });
        assert!(other.triangles.is_empty());
        let all = tracks(drops, &Filter::default());
        assert!(all.is_sound());
        let lines: usize =
            [0, 1, 3, 4].map(|k| track(drops, k, &Filter::default()).lines.len()).iter().sum();
        assert_eq!(all.lines.len(), lines);
        assert_eq!(track(drops, 2, &Filter::default()), Drawn::default());
        assert_eq!(track(drops, 99, &Filter::default()), Drawn::default());
    });
}

#[test]
fn verif_the_track_under_the_pointer_is_the_nearest_one_shown() {
    check(|drops| {
        let over = |y: f32| Ray { from_m: Vec3::new(0.5, y, 40.0), way: -Vec3::Z };
        let all = Filter::default();
        // Only the longest goes so far; what is hidden is not picked.
        assert_eq!(under(&over(-40.0), drops, &all, 0.01), Some(3));
        let tumbled = Filter { modes: [false, false, false, true], ..all };
        assert_eq!(under(&over(-40.0), drops, &tumbled, 0.01), None);
        assert_eq!(under(&over(-25.0), drops, &tumbled, 0.01), Some(1));
        let aside = Ray { from_m: Vec3::new(9.0, -25.0, 40.0), way: -Vec3::Z };
        assert_eq!(under(&aside, drops, &all, 0.01), None);
    });
}

#[test]
fn verif_beads_are_evenly_apart_and_not_too_many() {
    let mut drawn = Drawn::default();
    let line = [Vec3::ZERO, Vec3::X * 5.0, Vec3::X * 10.0];
    beads(&mut drawn, &line, 0.5, [1.0; 4], |at| at.x < 9.0);
    // Every 3 m from 1.5 m on as far as it is low, 8 faces each.
    assert_eq!(drawn.triangles.len(), 3 * 8);
    let (low, high) = drawn.extent_m().unwrap();
    assert!((low.x - 1.3).abs() < 1e-4 && (high.x - 7.7).abs() < 1e-4, "{low} {high}");
    for triangle in &drawn.triangles {
        let [a, b, c] = triangle.map(|k| drawn.points_m[k as usize]);
        let centre = Vec3::X * (1.5 + 3.0 * ((a.x - 1.2) / 3.0).floor());
        assert!((b - a).cross(c - a).dot(a - centre) > 0.0, "it looks inward");
    }
    let mut long = Drawn::default();
    beads(&mut long, &[Vec3::ZERO, Vec3::X * 1_000.0], 0.1, [1.0; 4], |_| true);
    assert!(long.triangles.len() <= 8 * MOST_BEADS);
}

#[test]
fn verif_a_strike_is_marked_next_to_what_was_reached() {
    check(|drops| {
        // The wire is 5 m over the bank of 1 in 2: square to the bank it is nearest from 2 m up.
        for (body, path, want) in [(0, 1, -20.0), (1, 3, -38.0)] {
            let near = nearest_m(&drops.site.bodies[body], &drops.paths[path].0).unwrap();
            assert!((near.y - want).abs() < 1.1, "{near}");
        }
        let all = rests(drops, &Filter::default());
        assert!(all.is_sound());
        let one = rests(drops, &Filter { target: Some(0), ..Filter::default() });
        assert!(one.triangles.len() < all.triangles.len());
        let none = rests(drops, &Filter { modes: [false; 4], ..Filter::default() });
        assert_eq!(none, Drawn::default());
    });
}

#[test]
fn verif_lines_that_pieces_pass_lie_on_the_ground_at_their_distance() {
    let site = site();
    let fates: Vec<Fate> = (1..=200)
        .map(|k| {
            let way = (f64::from(k % 21) - 10.0) * 0.02;
            let far = 0.2 * f64::from(k);
            let end = (far * way.sin(), -far * way.cos());
            Fate::Left(Box::new(outcome(Mode::Slid, end, [missed(9.0), missed(9.0)])))
        })
        .collect();
    let palette = palette(Theme::Day);
    let mut drops = Drops { fates: &fates, paths: &[], site: &site, unit_m: 0.5, palette };
    let lines = passed(&drops);
    assert_eq!(lines.iter().map(|l| l.line.one_in).collect::<Vec<_>>(), [2, 10, 100]);
    let mut covered = Vec::new();
    for passed in &lines {
        assert!(passed.drawn.is_sound());
        for p in passed.drawn.points_m.iter().chain(&passed.ends_m) {
            let far = p.truncate().distance(single(site.stump_m).truncate());
            assert!((far - passed.line.distance_m as f32).abs() < 0.2, "{far}");
            let over = p.z - height_m(p.x, p.y);
            assert!((0.09..0.2).contains(&over), "{over}");
        }
        let ink = passed.drawn.colours.iter().filter(|c| **c == palette.pass_line.linear()).count();
        covered.push(ink);
    }
    assert!(covered.iter().all(|nodes| *nodes > 0));
    // A drop that went farther before it came back has passed the line.
    let out_and_back = Path(vec![[0.0, 0.0, 0.0], [0.0, -55.0, 0.0], [0.0, -0.2, 0.0]]);
    let paths = vec![out_and_back; 50];
    drops.paths = &paths;
    let farther = passed_m(&drops, 10);
    assert!((farther - 55.0).abs() < 1e-3, "{farther}");
    assert!(passed_m(&Drops { paths: &[], ..drops }, 10) < 40.0);
}

fn passed_m(drops: &Drops<'_>, one_in: u32) -> f64 {
    passed(drops).iter().find(|l| l.line.one_in == one_in).unwrap().line.distance_m
}

#[test]
fn prop_each_line_has_dashes_of_its_own() {
    let share = |one_in: u32| {
        let dashes = dashes(one_in, 30.0, 0.5);
        (dashes.len(), dashes.iter().map(|[a, b]| b - a).sum::<f32>() / 30.0)
    };
    let (dotted, dashed, whole) = (share(2), share(10), share(100));
    assert!(dotted.0 > 2 * dashed.0 && dashed.0 > 10 && whole.0 == 1);
    assert!((dotted.1 - 0.4).abs() < 0.02 && (dashed.1 - 0.69).abs() < 0.03 && whole.1 == 1.0);
    assert!(dashes(2, 1e4, 1e-3).len() <= 401);
}

#[test]
fn verif_every_reaching_track_is_drawn_and_an_even_part_of_the_others() {
    let site = site();
    let palette = palette(Theme::Day);
    for (quiet, reaching, every, drawn) in
        [(0, 3, 1, 0), (1, 0, 1, 1), (80, 7, 1, 80), (81, 7, 2, 41), (316, 10, 4, 79)]
    {
        // Those that reach lie scattered among the others.
        let all: usize = quiet + reaching;
        let is_reaching = |k: usize| (k + 1) * reaching / all > k * reaching / all;
        let fates: Vec<Fate> = (0..all)
            .map(|k| {
                let reach = if is_reaching(k) { HIT } else { missed(4.0) };
                let end = (0.5, -15.0);
                Fate::Left(Box::new(outcome(Mode::Slid, end, [reach, missed(20.0)])))
            })
            .collect();
        let paths = vec![path(-15.0, 3); all];
        let drops = Drops { fates: &fates, paths: &paths, site: &site, unit_m: 0.5, palette };
        let filter = Filter::default();
        assert_eq!(drops.quiet_every(&filter), every, "{quiet} {reaching}");
        let with: Vec<(usize, bool)> =
            drops.with_track(&filter).map(|(k, reaches, _)| (k, reaches)).collect();
        let kept = |wanted: bool| with.iter().filter(|(_, reaches)| *reaches == wanted).count();
        assert_eq!((kept(true), kept(false)), (reaching, drawn), "{quiet} {reaching}");
        // Evenly: among any `every` that follow each other and reach nothing one is drawn.
        let others: Vec<usize> = (0..all).filter(|k| !is_reaching(*k)).collect();
        for part in others.chunks_exact(every) {
            assert_eq!(part.iter().filter(|k| with.contains(&(**k, false))).count(), 1);
        }
        let lines = tracks(&drops, &filter).lines.len();
        assert_eq!(lines, (reaching + drawn) * track(&drops, 0, &filter).lines.len());
        let words = left_out(&drops, &filter);
        assert_eq!(words.is_some(), every > 1, "{words:?}");
        if every == 4 {
            let words = words.unwrap();
            assert_eq!(words, "Tracks: each that reaches, every 4th of the others.");
            // What is not drawn is not picked: all lie on one line, and the first is drawn.
            let over = Ray { from_m: Vec3::new(0.5, -9.0, 40.0), way: -Vec3::Z };
            let picked = under(&over, &drops, &filter, 0.01).unwrap();
            assert!(with.iter().any(|(k, _)| *k == picked));
        }
        // Marks of where they came to rest are all there.
        let marks = rests(&drops, &Filter { target: Some(1), ..filter }).triangles.len();
        let one = Drops { fates: &fates[..1], paths: &paths[..1], ..drops };
        assert_eq!(marks, all * rests(&one, &Filter { target: Some(1), ..filter }).triangles.len());
    }
}
