//! An invented bank with invented drops, for the tests of pictures and tables. No physics: hops
//! drawn by hand, so that every sign and sentence has something to show.

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};

use super::{plan::DropView, stamp::Stamp};
use crate::{
    drop::{
        Against, Ending, Hold, Nearest, Place, RestsOn, Sample, Touch, Track, footprint::Footprint,
        near::Passage,
    },
    ground::{Ground, Strength},
    keyed::Key,
    motion::Motion,
    outcome::{Mode, Outcome, Reach},
    site::{Answer, Body, BodyKind, Patch, Shape, Site},
    terrain::{Grid, Terrain},
    tree::{Piece, Round},
};

pub(crate) fn stamp() -> Stamp {
    Stamp {
        scene: "invented lake bank".to_owned(),
        scene_hash: "9f2c41d07be65a3318c0ffee9f2c41d07be65a3318c0ffee9f2c41d07be65a33".to_owned(),
        law: "soil 1".to_owned(),
        seed: 7,
        date: "2026-11-25".to_owned(),
    }
}

/// A bank that falls south to a shore, with a gully and a knoll.
pub(crate) fn terrain() -> Terrain {
    let (nx, ny, cell_m) = (141, 161, 1.0);
    let origin_m = DVec2::new(-70.0, -120.0);
    let heights_m = (0..nx * ny)
        .map(|k| {
            let p = origin_m + DVec2::new((k % nx) as f64, (k / nx) as f64) * cell_m;
            let fall =
                20.0 * (1.0 + (p.y + 42.0) / (1.0 + ((p.y + 42.0) / 30.0).powi(2)).sqrt() / 30.0);
            let gully = -3.0 * libm::exp(-((p.x + 22.0 + 0.15 * p.y) / 7.0).powi(2));
            let knoll = 2.5 * libm::exp(-((p - DVec2::new(32.0, -20.0)).length() / 11.0).powi(2));
            let swell = 0.4 * libm::sin(p.x / 6.0) * libm::sin(p.y / 8.0);
            (fall + gully + knoll + swell) as f32
        })
        .collect();
    Terrain::from(Grid { origin_m, cell_m, nx, ny, heights_m })
}

fn ground() -> Ground {
    Ground {
        top: None,
        soil: Strength::Cohesive { shear_strength_pa: 40_000.0 },
        stop_depth_m: f64::INFINITY,
        stop_strength_pa: 0.0,
        rate_factor: 1.5,
        restitution: 0.1,
        friction: 0.5,
        adhesion: None,
        inertial_factor: 1.0,
        density_kg_m3: 1600.0,
        side_bearing_deep: 7.5,
        sideways_share: 0.45,
        mobilised_at: 1.0 / 85.0,
        roughness_m: 0.1,
        undergrowth: None,
    }
}

fn body(id: &str, kind: BodyKind, is_target: bool, shapes: Vec<Shape>) -> Body {
    let answer = match kind {
        BodyKind::Person | BodyKind::Path | BodyKind::Wire | BodyKind::Climber => Answer::Noted,
        _ => Answer::Fixed,
    };
    Body { id: id.to_owned(), kind, is_target, answer, shapes }
}

pub(crate) fn site() -> Site {
    let terrain = terrain();
    let on = |x: f64, y: f64, up: f64| {
        DVec3::new(x, y, up + terrain.surface(x, y).map_or(0.0, |s| s.height_m))
    };
    let capsule =
        |from_m: DVec3, to_m: DVec3, radius_m: f64| Shape::Capsule { from_m, to_m, radius_m };
    let block = |x: f64, y: f64, turn: f64, half_m: DVec3| Shape::Cuboid {
        centre_m: on(x, y, half_m.z),
        attitude: DQuat::from_rotation_z(turn),
        half_m,
    };
    let stump_m = on(0.0, 0.0, 0.0);
    let tree = |x: f64, y: f64, r: f64| capsule(on(x, y, 0.0), on(x, y, 14.0), r);
    let bodies = vec![
        body(
            "climber",
            BodyKind::Climber,
            true,
            vec![capsule(on(0.4, 0.3, 9.0), on(0.4, 0.3, 10.3), 0.25)],
        ),
        body(
            "climber_line",
            BodyKind::ClimberLine,
            true,
            vec![capsule(on(0.0, 0.2, 0.0), on(0.0, 0.2, 10.0), 0.02)],
        ),
        body(
            "boathouse",
            BodyKind::Structure,
            true,
            vec![block(7.0, -66.0, 0.2, DVec3::new(5.5, 3.5, 2.0))],
        ),
        body(
            "lakeside_path",
            BodyKind::Path,
            true,
            vec![
                block(-22.0, -57.5, 0.06, DVec3::new(21.0, 1.0, 0.05)),
                block(18.0, -56.4, -0.02, DVec3::new(20.0, 1.0, 0.05)),
            ],
        ),
        body("keep_beech", BodyKind::KeepTree, true, vec![tree(9.0, -24.0, 0.3)]),
        body("keep_oak", BodyKind::KeepTree, true, vec![tree(-13.0, -33.0, 0.4)]),
        body("birch", BodyKind::KeepTree, false, vec![tree(24.0, -9.0, 0.2)]),
        body(
            "service_wire",
            BodyKind::Wire,
            true,
            vec![capsule(on(-34.0, -50.0, 6.0), on(31.0, -46.0, 6.0), 0.01)],
        ),
        body(
            "barrier_log",
            BodyKind::BarrierLog,
            false,
            vec![capsule(on(-6.0, -43.0, 0.2), on(5.0, -42.0, 0.2), 0.22)],
        ),
        body(
            "spotter",
            BodyKind::Person,
            true,
            vec![capsule(on(30.0, -36.0, 0.3), on(30.0, -36.0, 1.5), 0.25)],
        ),
        body("spar", BodyKind::Spar, false, vec![capsule(stump_m, on(0.0, 0.0, 11.0), 0.3)]),
    ];
    let patch = |id: &str, corners: &[(f64, f64)]| Patch {
        id: id.to_owned(),
        outline_m: corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect(),
        within_m: None,
        ground: ground(),
    };
    Site {
        terrain: Arc::new(terrain),
        ground: ground(),
        patches: vec![
            patch(
                "litter",
                &[(-30.0, 4.0), (26.0, 6.0), (22.0, -37.0), (-10.0, -40.0), (-33.0, -34.0)],
            ),
            patch("wet_foot", &[(-40.0, -47.0), (38.0, -44.0), (42.0, -61.0), (-44.0, -63.0)]),
        ],
        bodies,
        roughness_key: 0,
        stump_m,
    }
}

pub(crate) fn patch_words() -> Vec<String> {
    vec![
        "litter a finger deep over soil the thumb indents".into(),
        "wet clay, thumb goes in easily".into(),
    ]
}

/// A section 2.4 m long, 56 to 46 cm thick.
pub(crate) fn piece() -> Piece {
    let half = DVec3::new(0.0, 0.0, 1.2);
    Piece {
        rounds: vec![Round {
            from_m: -half,
            to_m: half,
            from_radius_m: 0.28,
            to_radius_m: 0.23,
            from_is_face: true,
            to_is_face: true,
        }],
        stem_rounds: 1,
        mass_kg: 480.0,
        inertia_kg_m2: DVec3::new(240.0, 240.0, 16.0),
        side_crush_pa: 5e6,
        end_crush_pa: 25e6,
        brush: crate::tree::Brush::default(),
    }
}

/// One invented drop.
pub(crate) fn drop(index: u64, site: &Site) -> (Outcome, Track) {
    let key = Key::root(11).number(index);
    let ground = |p: DVec2| site.terrain.surface(p.x, p.y).map_or(0.0, |s| s.height_m);
    let bearing = -std::f64::consts::FRAC_PI_2 + 0.17 * key.word("bearing").normal();
    let heading = DVec2::new(libm::cos(bearing), libm::sin(bearing));
    let side = heading.perp();
    let run_m = 4.0 + 17.0 * -libm::log(key.word("run").uniform());
    let kind = key.word("kind").uniform();
    let mode = match kind {
        u if u < 0.2 || run_m < 5.0 => Mode::Stayed,
        u if u < 0.4 => Mode::Slid,
        u if u < 0.65 => Mode::Rolled,
        _ => Mode::Tumbled,
    };
    let run_m = if mode == Mode::Stayed { 0.6 } else { run_m };
    let axis = (DVec3::Z).cross(heading.extend(0.0));
    let lying = 0.5 * std::f64::consts::PI + 0.5;
    let mut samples = Vec::new();
    let mut touches = Vec::new();
    let mut push = |t: f64, p: DVec3, turn: f64, v: f64, on_ground: bool| {
        samples.push(Sample {
            time_s: t,
            motion: Motion {
                centre_m: p,
                attitude: DQuat::from_axis_angle(axis, turn),
                velocity_m_s: heading.extend(0.0) * v,
                spin_rad_s: DVec3::ZERO,
            },
            on_ground,
        });
    };
    // The fall: 11 m up, out to 5 m, tipping over onto its top.
    let start = site.stump_m + DVec3::Z * 11.5;
    let first = site.stump_m.truncate() + heading * 5.0;
    let (fall_s, fall_m) = (1.5, start.z - ground(first) - 1.1);
    for i in 0..=30 {
        let share = f64::from(i) / 30.0;
        let p = (site.stump_m.truncate() + heading * (5.0 * share))
            .extend(start.z - fall_m * share * share);
        push(fall_s * share, p, 2.6 * share, 4.0, false);
    }
    // Then hops of about 4 m, half a turn each, or an even run.
    let bend = 2.5 * key.word("bend").normal();
    let mut stop = None;
    let steps = (run_m / 0.25).ceil().max(1.0) as usize;
    let mut t = fall_s;
    for i in 1..=steps {
        let s = run_m * i as f64 / steps as f64;
        let speed = 1.0 + 7.0 * (1.0 - s / run_m).sqrt();
        t += run_m / steps as f64 / speed;
        let sway = bend * libm::sin(s / 11.0);
        let p = first + heading * s + side * sway;
        let settle = 1.0_f64.min((run_m - s) / 3.0);
        let (hop, turn) = match mode {
            Mode::Tumbled => {
                let phase = s / 4.2;
                let up = libm::sin(std::f64::consts::PI * phase).abs();
                let full = 2.6 + std::f64::consts::PI * phase;
                (0.3 + settle * (0.6 + 0.7 * up), full)
            }
            _ => (0.3 + 0.9 * (1.0 - (s / 1.5).min(1.0)), 2.6 + (lying - 2.6) * (s / 2.0).min(1.0)),
        };
        let on_ground = hop < 1.0;
        push(t, p.extend(ground(p) + hop), turn, speed, on_ground);
        let new_hop = mode == Mode::Tumbled && (s / 4.2) as usize != ((s - 0.25) / 4.2) as usize;
        if i == 1 || new_hop {
            touches.push(Touch {
                time_s: t,
                against: Against::Ground,
                place: if touches.len() % 2 == 0 { Place::Top } else { Place::Butt },
                point_m: p.extend(ground(p)),
                speed_m_s: if i == 1 { 14.8 } else { speed },
                energy_j: 240.0 * speed * speed,
                dug_m3: 0.002,
            });
        }
        let struck = site.bodies.iter().position(|b| {
            let near = |x: f64, y: f64, r: f64| p.distance(DVec2::new(x, y)) < r;
            match b.id.as_str() {
                "boathouse" => near(7.0, -66.0, 5.0),
                "keep_beech" => near(9.0, -24.0, 1.2),
                "keep_oak" => near(-13.0, -33.0, 1.2),
                "barrier_log" => near(-0.5, -42.5, 3.0) && key.word("barrier").uniform() < 0.7,
                _ => false,
            }
        });
        if let Some(index) = struck {
            touches.push(Touch {
                time_s: t,
                against: Against::Body(index),
                place: Place::Side,
                point_m: p.extend(ground(p) + 0.5),
                speed_m_s: speed,
                energy_j: 240.0 * speed * speed,
                dug_m3: 0.002,
            });
            stop = Some((index, speed));
            break;
        }
    }
    let end_m = samples.last().map_or(start, |s| s.motion.centre_m);
    let went_on = end_m.y < -95.0 || index % 83 == 5;
    let reaches = site
        .bodies
        .iter()
        .enumerate()
        .filter(|(_, b)| b.is_target)
        .map(|(i, b)| {
            let crossed = b.id == "lakeside_path" && end_m.y < -56.0;
            match stop {
                Some((struck, speed_m_s)) if struck == i => {
                    Reach::Reached { energy_j: 240.0 * speed_m_s * speed_m_s, speed_m_s }
                }
                _ if crossed => Reach::Reached { energy_j: 900.0, speed_m_s: 2.0 },
                _ => Reach::Missed { gap_m: 3.0 },
            }
        })
        .collect();
    let ending = if went_on { Ending::OutOfTime } else { Ending::Rest };
    let rests_on = (!went_on).then_some(match stop {
        Some((i, _)) if site.bodies[i].kind == BodyKind::KeepTree => RestsOn::Tree,
        Some(_) => RestsOn::Structure,
        None => RestsOn::Ground,
    });
    let hold = (!went_on).then_some(if stop.is_some() { Hold::ByAidOnly } else { Hold::Marginal });
    let turns = if mode == Mode::Tumbled { run_m / 8.4 } else { 0.1 };
    let outcome = Outcome {
        mode,
        first_touch: touches.first().copied(),
        parts: [0.2, 0.3, 0.5],
        turns,
        rollout_m: run_m,
        height_over_ground_m: 0.8,
        ending,
        rests_on,
        hold,
        end_m,
        end_axis: DVec3::X,
        bent: None,
        lines: Vec::new(),
        digs: vec![],
        struck_m_s: 0.0,
        loose: vec![],
        absent: vec![],
        reaches,
    };
    let track = Track {
        first_touch: None,
        samples,
        touches,
        ending,
        rests_on,
        hold,
        nearest: vec![Nearest { gap_m: 1.0, energy_j: None, speed_m_s: None }; site.bodies.len()],
        passage: Passage::default(),
        footprint: Footprint::default(),
        bent: None,
        lines: Vec::new(),
        path_m: run_m,
        rolled_m: 0.0,
        tumbled_m: 0.0,
        turns_end_over_end: turns,
        turns_about_axis: 0.0,
        height_over_ground_m: 0.8,
        near_steps: 0,
        loose: vec![],
        steps: 1000,
    };
    (outcome, track)
}

fn line() -> crate::forecast::result::LineForecast {
    use crate::forecast::result::{LineForecast, LineOverGrounds, Percentiles, SparForecast};
    let three = |p50: f64, max: f64| Percentiles { p50: Some(p50), p90: Some(max), max: Some(max) };
    LineForecast {
        id: "butt-line".to_owned(),
        kind: "lowering line",
        rope: "nylon 3-strand 5/8 in".to_owned(),
        working_load_n: 2_080.0,
        breaks_n: 20_800.0,
        tight: 480,
        peak_n: three(6_100.0, 11_900.0),
        above_working: 480,
        broken: 0,
        over_grounds: LineOverGrounds {
            above_working: crate::forecast::result::Interval { low: 0.96, high: 1.0 },
            broken: crate::forecast::result::Interval { low: 0.0, high: 0.02 },
            peak_n: 20_800.0,
        },
        ran_m: None,
        swing_m: three(2.2, 3.9),
        block_n: Some(three(11_000.0, 22_000.0)),
        block_above: Some(3),
        spar: Some(SparForecast { strength_share: three(0.2, 0.8), breaks: 0, may_break: 2 }),
    }
}

fn log() -> crate::forecast::result::LogForecast {
    use crate::forecast::result::{LogForecast, MillLeft, MillLog, Percentiles};
    let whole = MillLog {
        from_butt_m: 0.0,
        length_m: 2.4384,
        small_end_m: 0.3556,
        volume_m3: 0.267,
        doyle_bd_ft: 50.0,
        scribner_bd_ft: 61.4,
        international_bd_ft: 65.7,
    };
    LogForecast {
        whole: vec![whole],
        drops: 487,
        strength_share: Percentiles { p50: Some(0.31), p90: Some(0.84), max: Some(1.62) },
        breaks: 21,
        may_break: 60,
        breaks_at_m: Some(1.3),
        struck_solid: 12,
        left: vec![
            MillLeft { lengths_m: vec![2.4384], drops: 466 },
            MillLeft { lengths_m: vec![], drops: 21 },
        ],
    }
}

pub(crate) fn drops(count: u64, site: &Site) -> Vec<(Outcome, Track)> {
    (0..count).map(|i| drop(i, site)).collect()
}

pub(crate) fn views(drops: &[(Outcome, Track)]) -> Vec<DropView<'_>> {
    drops.iter().map(|(outcome, track)| DropView { outcome, track: Some(track) }).collect()
}

/// Leaves a picture to look at where `TUMBLEWOOD_PICTURES` names a folder.
pub(crate) fn leave(name: &str, svg: &str) {
    if let Ok(folder) = std::env::var("TUMBLEWOOD_PICTURES") {
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join(format!("{name}.svg")), svg).expect("the folder is there");
        let png = super::png::png(svg, 1.0).expect("our own picture");
        std::fs::write(folder.join(format!("{name}.png")), png).expect("the folder is there");
    }
}

/// An invented forecast with something in every field.
pub(crate) fn forecast() -> crate::forecast::result::Forecast {
    use crate::forecast::result::*;
    let over = |low, high| Interval { low, high };
    let target = |id: &str, reached: u32, low, high, over_grounds, energy_j, miss| TargetForecast {
        id: id.to_owned(),
        reached,
        unknown: 0,
        share: f64::from(reached) / 500.0,
        low,
        high,
        over_grounds,
        energy_j,
        nearest_miss_m: miss,
        harm: None,
    };
    let energy = Percentiles { p50: Some(8_100.0), p90: Some(14_000.0), max: Some(21_500.0) };
    let targets = vec![
        target("boathouse", 7, 0.0056, 0.0286, over(0.0, 0.31), Some(energy), Some(0.4)),
        target("keep_beech", 0, 0.0, 0.00735, over(0.0, 0.0), None, Some(1.25)),
        target("climber", 0, 0.0, 0.00735, over(0.0, 0.002), None, Some(0.3)),
    ];
    let struck = target("boathouse", 3, 0.001, 0.017, over(0.0, 0.02), Some(energy), None);
    let grounds = (0..2)
        .map(|id| GroundRow {
            id,
            inputs: [("ground.friction".to_owned(), 0.45), ("wetness".to_owned(), 0.5)].into(),
            words: std::collections::BTreeMap::new(),
            warnings: Vec::new(),
            drops: 60,
            sat_back: 0,
            modes: Modes { stayed: 6, slid: 30, rolled: 10 * id, tumbled: 24 - 10 * id },
            hold: HoldCounts { firm: 50, marginal: 6, by_aid_only: 3 },
            farthest_m: 41.5,
            targets: vec![GroundTarget {
                id: "boathouse".to_owned(),
                reached: 19 * id,
                unknown: 0,
            }],
        })
        .collect();
    Forecast {
        version: 1,
        scene: "invented lake bank".to_owned(),
        scene_hash: "9f2c41d07be65a3318c0ffee9f2c41d07be65a3318c0ffee9f2c41d07be65a33".to_owned(),
        law: "soil 1".to_owned(),
        seed: 7,
        drops: 500,
        confidence: 0.95,
        job: Job {
            targets: vec![JobTarget {
                id: "boathouse".to_owned(),
                share: 0.042,
                low: 0.026,
                high: 0.064,
                over_grounds: over(0.0, 0.62),
                reached: 21,
                unknown: 2,
                jobs: 500,
                drawn_reached: 40,
                drawn_jobs: 1440,
            }],
            states: vec![crate::felling::TreeState {
                after: Some("second_section".to_owned()),
                up_to_m: 10.5,
                mass_kg: 1_900.0,
                centre_m: 4.6,
                fore_n_m: -3_100.0,
                side_n_m: 420.0,
                top_diameter_m: 0.5588,
                top_sound_m: 0.5588,
                limbs: vec![],
                stubs: vec![],
            }],
        },
        cuts: vec![CutForecast {
            id: "second_section".to_owned(),
            piece: PieceSummary {
                length_m: 2.4384,
                mass_kg: 481.0,
                butt_diameter_m: 0.5588,
                top_diameter_m: 0.4572,
                from_height_m: 10.5,
            },
            sat_back: 12,
            lets_go_early: None,
            modes: Modes { stayed: 118, slid: 85, rolled: 118, tumbled: 167 },
            parts: Parts { slid: 0.22, rolled: 0.35, tumbled: 0.43 },
            unfinished: Unfinished { left_terrain: 3, out_of_time: 4 },
            rests_on: RestsOnCounts { ground: 460, structure: 13, tree: 8, line: 0 },
            rollout_m: Percentiles4 { p10: Some(0.6), p50: Some(12.1), p90: Some(36.2), max: None },
            rollout_at_least_m: Percentiles4 {
                p10: Some(0.6),
                p50: Some(12.1),
                p90: Some(36.2),
                max: Some(61.9),
            },
            turns: Percentiles { p50: Some(0.12), p90: Some(3.6), max: Some(7.25) },
            height_over_ground_m: Percentiles { p50: Some(0.31), p90: Some(0.92), max: Some(2.2) },
            hold: HoldCounts { firm: 402, marginal: 58, by_aid_only: 21 },
            targets,
            grounds,
            loose: vec![LooseForecast {
                id: "barrier".to_owned(),
                held: true,
                there: 500,
                set_going: 16,
                unfinished: Unfinished { left_terrain: 0, out_of_time: 1 },
                moved_m: Percentiles { p50: Some(8.5), p90: Some(9.2), max: Some(9.5) },
                targets: vec![struck],
            }],
            hangs_on: vec![HangsOn {
                input: "wetness".to_owned(),
                target: "boathouse".to_owned(),
                share_low: 0.018,
                share_high: 0.306,
            }],
            thrown: Some(ThrownForecast {
                dug_m3: 0.04,
                radius_m: 14.2,
                targets: vec![
                    ThrownTarget { id: "boathouse".to_owned(), short_m: Some(-2.5) },
                    ThrownTarget { id: "climber".to_owned(), short_m: Some(3.1) },
                ],
            }),
            log: Some(log()),
            lines: vec![line()],
        }],
        partial: false,
    }
}
