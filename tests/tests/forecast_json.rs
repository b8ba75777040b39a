//! The forecast's JSON is what its schema says.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use tumblewood::{
    felling::TreeState,
    forecast::result::{
        CutForecast, Forecast, GroundRow, GroundTarget, HangsOn, HoldCounts, Interval, Job,
        JobTarget, Modes, Parts, Percentiles, Percentiles4, PieceSummary, RestsOnCounts,
        TargetForecast, Unfinished,
    },
    report,
};

/// An invented forecast, one of everything.
fn sample() -> Forecast {
    let over_grounds = Interval { low: 0.0, high: 0.31 };
    let energy_j = Percentiles { p50: Some(8_100.0), p90: Some(9_000.0), max: Some(9_500.0) };
    let four = Percentiles4 { p10: Some(0.5), p50: Some(12.0), p90: Some(36.0), max: Some(60.0) };
    let target = |id: &str, reached: u32, energy_j| TargetForecast {
        id: id.to_owned(),
        reached,
        unknown: 1,
        share: f64::from(reached) / 500.0,
        low: 0.0,
        high: 0.03,
        over_grounds,
        energy_j,
        nearest_miss_m: Some(0.4),
        harm: (reached > 0).then_some("can break a limb"),
    };
    Forecast {
        version: 1,
        scene: "invented".to_owned(),
        scene_hash: "0123456789abcdef".repeat(4),
        law: "soil 1".to_owned(),
        seed: u64::MAX,
        drops: 500,
        confidence: 0.95,
        job: Job {
            targets: vec![JobTarget {
                id: "boathouse".to_owned(),
                share: 0.04,
                low: 0.02,
                high: 0.06,
                over_grounds,
                reached: 21,
                unknown: 2,
                jobs: 500,
                drawn_reached: 40,
                drawn_jobs: 1440,
            }],
            states: vec![TreeState {
                after: Some("first".to_owned()),
                up_to_m: 9.0,
                mass_kg: 640.0,
                centre_m: 4.1,
                fore_n_m: -820.0,
                side_n_m: 15.0,
                top_diameter_m: 0.4,
                top_sound_m: 0.3,
                limbs: vec!["low-limb".to_owned()],
                stubs: vec![],
            }],
        },
        cuts: vec![CutForecast {
            id: "second".to_owned(),
            piece: PieceSummary {
                length_m: 2.4,
                mass_kg: 480.0,
                butt_diameter_m: 0.56,
                top_diameter_m: 0.46,
                from_height_m: 10.5,
            },
            sat_back: 12,
            lets_go_early: Some(0.4),
            modes: Modes { stayed: 118, slid: 85, rolled: 118, tumbled: 167 },
            parts: Parts { slid: 0.2, rolled: 0.3, tumbled: 0.5 },
            unfinished: Unfinished { left_terrain: 3, out_of_time: 4 },
            rests_on: RestsOnCounts { ground: 460, structure: 13, tree: 8, line: 0 },
            rollout_m: Percentiles4 { max: None, ..four },
            rollout_at_least_m: four,
            turns: energy_j,
            height_over_ground_m: Percentiles::default(),
            hold: HoldCounts { firm: 402, marginal: 58, by_aid_only: 21 },
            targets: vec![target("boathouse", 7, Some(energy_j)), target("climber", 0, None)],
            grounds: vec![GroundRow {
                id: 0,
                inputs: BTreeMap::from([("wetness".to_owned(), 0.5)]),
                words: BTreeMap::from([("site.ground.soil.word".to_owned(), "gravel".to_owned())]),
                warnings: vec!["a hut lies beyond the terrain".to_owned()],
                drops: 60,
                sat_back: 1,
                modes: Modes { stayed: 9, slid: 30, rolled: 0, tumbled: 20 },
                hold: HoldCounts { firm: 50, marginal: 6, by_aid_only: 3 },
                farthest_m: 41.5,
                targets: vec![GroundTarget { id: "boathouse".to_owned(), reached: 3, unknown: 0 }],
            }],
            thrown: None,
            log: None,
            lines: vec![],
            loose: vec![],
            hangs_on: vec![HangsOn {
                input: "wetness".to_owned(),
                target: "boathouse".to_owned(),
                share_low: 0.02,
                share_high: 0.3,
            }],
        }],
        partial: false,
    }
}

fn written(forecast: &Forecast) -> Value {
    let text = report::json::forecast(forecast).expect("finite numbers");
    serde_json::from_str(&text).expect("JSON")
}

#[test]
fn prop_the_schema_takes_a_forecast_and_refuses_a_sabotaged_one() {
    let schema: Value = serde_json::from_str(report::json::SCHEMA).expect("JSON");
    assert!(jsonschema::meta::is_valid(&schema), "the schema is one itself");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let good = written(&sample());
    let errors: Vec<String> = validator.iter_errors(&good).map(|e| e.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
    let partial = written(&Forecast { partial: true, ..sample() });
    assert!(validator.is_valid(&partial));

    // One thing wrong at a time.
    let sabotage: [(&str, Value); 12] = [
        ("/version", json!(2)),
        ("/law", json!("guess")),
        ("/scene_hash", json!("abc")),
        ("/drops", json!(-1)),
        ("/job/targets/0/share", json!(1.2)),
        ("/cuts/0/id", json!("")),
        ("/cuts/0/modes/tumbled", json!(0.5)),
        ("/cuts/0/rollout_m", json!({"p10": 1, "p50": 2, "p90": 3})),
        ("/cuts/0/targets/0/share", json!(null)),
        ("/cuts/0/targets/0/energy_j", json!(7)),
        ("/cuts/0/grounds/0/inputs/wetness", json!("wet")),
        ("/cuts/0/hangs_on/0", json!({"input": "wetness", "extra": 1})),
    ];
    for (place, wrong) in sabotage {
        let mut bad = good.clone();
        *bad.pointer_mut(place).expect("a field of the sample") = wrong;
        assert!(!validator.is_valid(&bad), "{place}");
    }
    for missing in ["job", "cuts", "seed", "confidence"] {
        let mut bad = good.clone();
        bad.as_object_mut().expect("an object").remove(missing);
        assert!(!validator.is_valid(&bad), "{missing}");
    }
}

#[test]
fn prop_counts_and_nulls_come_out_as_they_went_in() {
    let value = written(&sample());
    assert_eq!(value["seed"], json!(u64::MAX));
    assert_eq!(value["cuts"][0]["rollout_m"]["max"], Value::Null);
    assert_eq!(value["cuts"][0]["targets"][1]["energy_j"], Value::Null);
    assert_eq!(value.get("partial"), None);
}
