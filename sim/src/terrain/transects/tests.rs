use super::*;

/// Legs along an azimuth on the plane z = gradient·(x, y).
fn on_plane(id: &str, from: Start, azimuth_deg: f64, gradient: DVec2, legs: &[f64]) -> Transect {
    let azimuth_rad = azimuth_deg.to_radians();
    let inclination_rad = libm::atan(gradient.dot(bearing(azimuth_rad)));
    let legs = legs.iter().map(|&l| Leg { slope_distance_m: l, inclination_rad }).collect();
    Transect { id: id.into(), from, azimuth_rad, legs, closes: None }
}

fn is_plane(t: &Terrain, gradient: DVec2, stump: DVec3) {
    let (low, high) = t.bounds();
    for k in 0..400 {
        let share = DVec2::new(f64::from(k % 20), f64::from(k / 20)) / 19.0;
        let at = (low + (high - low) * share * 0.999_999).min(high);
        let s = t.surface(at.x, at.y).unwrap();
        let want = stump.z + gradient.dot(at - stump.truncate());
        assert!((s.height_m - want).abs() < 1e-4, "{at}: {} against {want}", s.height_m);
        assert!((s.gradient - gradient).length() < 1e-3, "{at}: {}", s.gradient);
    }
}

#[test]
fn verif_a_plane_surveyed_by_transects_is_that_plane_to_the_margin() {
    let gradient = DVec2::new(0.25, -0.6);
    let stump = DVec3::new(3.0, -2.0, 7.0);
    let transects = [
        on_plane("down", Start::Stump, 10.0, gradient, &[8.0, 12.0, 9.0, 14.0]),
        on_plane("side", Start::Stump, 95.0, gradient, &[6.0, 11.0]),
        on_plane("other", Start::Station { transect: 0, leg: 2 }, 280.0, gradient, &[10.0, 5.0]),
    ];
    let t = survey(&transects, stump, &[], &SurveySpec::default()).unwrap();
    is_plane(&t, gradient, stump);
    assert!(t.warnings.iter().any(|w| w.contains("beyond the surveyed")), "{:?}", t.warnings);
}

/// Eight transects from the stump at random azimuths, three legs of random length each, as a tape
/// and an inclinometer meet a surface; the surface is 0 at the origin.
fn scattered(key: crate::keyed::Key, height_m: &dyn Fn(DVec2) -> f64) -> Vec<Transect> {
    (0..8)
        .map(|k| {
            let key = key.word("transect").number(k);
            let azimuth_rad = std::f64::consts::TAU * key.word("azimuth").uniform();
            let mut at = DVec2::ZERO;
            let legs = (0..3)
                .map(|leg| {
                    let level_m = 4.0 + 14.0 * key.word("leg").number(leg).uniform();
                    let from_m = height_m(at);
                    at += bearing(azimuth_rad) * level_m;
                    let rise_m = height_m(at) - from_m;
                    Leg {
                        slope_distance_m: level_m.hypot(rise_m),
                        inclination_rad: libm::atan2(rise_m, level_m),
                    }
                })
                .collect();
            Transect { id: format!("t{k}"), from: Start::Stump, azimuth_rad, legs, closes: None }
        })
        .collect()
}

#[test]
fn verif_a_plane_surveyed_at_random_is_carried_on_as_that_plane() {
    let gradient = DVec2::new(-0.4, 0.55);
    for seed in 0..12 {
        let transects = scattered(crate::keyed::Key::root(seed), &|at| gradient.dot(at));
        let t = survey(&transects, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
        is_plane(&t, gradient, DVec3::ZERO);
    }
}

#[test]
fn prop_no_step_where_the_survey_ends() {
    // A bank of 31° with a shoulder, as a survey meets them; the ground itself is never over 42°.
    let bank = |at: DVec2| -0.6 * at.y + 2.0 * libm::sin(at.y / 8.0) + libm::sin(at.x / 9.0);
    for seed in 0..24 {
        let key = crate::keyed::Key::root(seed);
        let transects = scattered(key, &bank);
        let t = survey(&transects, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
        let (low, high) = t.bounds();
        for walk in 0..40 {
            let key = key.word("walk").number(walk);
            let share = |word: &str| key.word(word).uniform();
            let from = low + (high - low) * DVec2::new(share("ax"), share("ay"));
            let to = low + (high - low) * DVec2::new(share("bx"), share("by"));
            let steps = (from.distance(to) / 0.1).ceil().max(1.0);
            let step_m = from.distance(to) / steps;
            let mut before: Option<f64> = None;
            for k in 0..=steps as usize {
                let at = from.lerp(to, k as f64 / steps);
                let h = t.surface(at.x, at.y).unwrap().height_m;
                let rise = before.replace(h).map_or(0.0, |b| (h - b).abs());
                assert!(rise < 1.4 * step_m + 1e-9, "seed {seed}, {at}: {rise} in {step_m}");
            }
        }
    }
}

#[test]
fn regress_a_chord_past_a_lower_station_is_no_cliff() {
    // Side legs 30 m long at the top, half way and at the foot of a bank, the middle one a metre
    // shorter: the chord from top to foot passes it by a metre, 4 m above.
    let side = |id: &str, y: f64, z: f64, l: f64| Transect {
        id: id.into(),
        from: Start::Point(DVec3::new(0.0, y, z)),
        azimuth_rad: std::f64::consts::FRAC_PI_2,
        legs: vec![Leg { slope_distance_m: l, inclination_rad: 0.0 }],
        closes: None,
    };
    let transects = [
        side("top", 0.0, 0.0, 30.0),
        side("mid", -20.0, -14.0, 29.0),
        side("foot", -40.0, -20.0, 30.0),
    ];
    let t = survey(&transects, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
    assert!(t.too_steep().is_none(), "{:?}", t.steepness_warning(Units::Metric));
    let beside = t.surface(33.0, -20.0).unwrap().height_m;
    assert!((beside + 14.0).abs() < 1.0, "{beside}");
}

#[test]
fn verif_one_transect_down_the_fall_line_is_the_same_all_across() {
    let down = DVec2::new(-0.6, -0.8) * 0.65;
    let azimuth = crate::terrain::shape::azimuth_rad(-down).to_degrees() + 180.0;
    let transects = [on_plane("a", Start::Stump, azimuth, down, &[10.0, 12.0, 8.0])];
    let t = survey(&transects, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
    is_plane(&t, down, DVec3::ZERO);
    assert!(t.warnings.iter().any(|w| w.contains("one line")), "{:?}", t.warnings);
}

#[test]
fn verif_legs_of_different_slope_keep_their_stations_and_their_ends() {
    // 20 m at -30°, 10 m flat: due south from the stump.
    let legs = vec![
        Leg { slope_distance_m: 20.0, inclination_rad: (-30.0_f64).to_radians() },
        Leg { slope_distance_m: 10.0, inclination_rad: 0.0 },
        Leg { slope_distance_m: 10.0, inclination_rad: 0.0 },
    ];
    let south = Transect {
        id: "s".into(),
        from: Start::Stump,
        azimuth_rad: std::f64::consts::PI,
        legs,
        closes: None,
    };
    let placed = stations(std::slice::from_ref(&south), DVec3::ZERO).unwrap();
    let foot = 20.0 * libm::cos(30.0_f64.to_radians());
    assert!((placed[0][1] - DVec3::new(0.0, -foot, -10.0)).length() < 1e-9);
    let spec = SurveySpec { cell_m: 0.25, margin_m: 20.0, ..SurveySpec::default() };
    let t = survey(&[south], DVec3::ZERO, &[], &spec).unwrap();
    for x in [-19.0, 0.0, 19.0] {
        let half = t.surface(x, -0.5 * foot).unwrap();
        assert!((half.height_m + 5.0).abs() < 1e-4);
        assert!((t.surface(x, -foot - 10.0).unwrap().height_m + 10.0).abs() < 1e-4);
        // It goes on nearly flat past the flat legs, steeply above the stump.
        let past = t.surface(x, -foot - 35.0).unwrap().height_m;
        assert!((past + 10.0).abs() < 1.0, "{past}");
        let above = t.surface(x, 10.0).unwrap().height_m;
        assert!(above > 3.5, "{above}");
    }
}

#[test]
fn verif_a_breakline_is_followed() {
    // Two transects 20 m apart across a terrace edge that lies between their stations.
    let legs = |d: &[f64]| {
        d.iter().map(|&l| Leg { slope_distance_m: l, inclination_rad: 0.0 }).collect::<Vec<_>>()
    };
    let west = Transect {
        id: "w".into(),
        from: Start::Point(DVec3::new(-10.0, 0.0, 0.0)),
        azimuth_rad: 0.0,
        legs: legs(&[10.0, 10.0]),
        closes: None,
    };
    let east = Transect {
        id: "e".into(),
        from: Start::Point(DVec3::new(10.0, 0.0, 0.0)),
        azimuth_rad: 0.0,
        legs: legs(&[10.0, 10.0]),
        closes: None,
    };
    let edge = vec![DVec3::new(-9.0, 13.0, 3.0), DVec3::new(9.0, 15.0, 3.0)];
    let t = survey(&[west, east], DVec3::ZERO, &[edge], &SurveySpec::default()).unwrap();
    for x in [-8.0, -4.5, 0.0, 4.5] {
        let y = 14.0 + x / 9.0;
        assert!((t.surface(x, y).unwrap().height_m - 3.0).abs() < 0.2, "{x}");
    }
}

#[test]
fn verif_crossing_transects_and_two_heights_at_one_place_are_said() {
    let flat = Leg { slope_distance_m: 10.0, inclination_rad: 0.0 };
    let line = |id: &str, from: DVec3, azimuth_rad: f64, legs: usize| Transect {
        id: id.into(),
        from: Start::Point(from),
        azimuth_rad,
        legs: vec![flat; legs],
        closes: None,
    };
    use std::f64::consts::FRAC_PI_2;
    let crossing =
        [line("a", DVec3::ZERO, 0.0, 2), line("b", DVec3::new(-5.0, 5.0, 0.0), FRAC_PI_2, 1)];
    let t = survey(&crossing, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
    assert!(t.warnings.iter().any(|w| w.contains("cross")), "{:?}", t.warnings);
    let meeting =
        [line("a", DVec3::ZERO, 0.0, 2), line("b", DVec3::new(-10.0, 10.0, 1.0), FRAC_PI_2, 2)];
    let t = survey(&meeting, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
    assert!(t.warnings.iter().any(|w| w.contains("1.00 m off")), "{:?}", t.warnings);
}

#[test]
fn verif_impossible_surveys_say_what_was_read_and_what_is_allowed() {
    let good = Transect {
        id: "t".into(),
        from: Start::Stump,
        azimuth_rad: 1.0,
        legs: vec![Leg { slope_distance_m: 5.0, inclination_rad: -0.4 }; 3],
        closes: None,
    };
    let spec = SurveySpec::default();
    let with_leg = |l: f64, i: f64| {
        let mut t = good.clone();
        t.legs[1] = Leg { slope_distance_m: l, inclination_rad: i };
        vec![t]
    };
    let with = |change: &dyn Fn(&mut Transect)| {
        let mut t = good.clone();
        change(&mut t);
        vec![t]
    };
    let cell = |cell_m: f64| SurveySpec { cell_m, ..spec };
    let margin = |margin_m: f64| SurveySpec { margin_m, ..spec };
    let table: Vec<(Vec<Transect>, SurveySpec, &str)> = vec![
        (vec![], spec, "transects"),
        (with(&|t| t.legs.truncate(1)), spec, "transects"),
        (with(&|t| t.legs.clear()), spec, "legs"),
        (with(&|t| t.legs = vec![t.legs[0]; 6000]), spec, "legs"),
        (with_leg(0.0, 0.0), spec, "leg 2, distance"),
        (with_leg(-3.0, 0.0), spec, "leg 2, distance"),
        (with_leg(f64::NAN, 0.0), spec, "leg 2, distance"),
        (with_leg(f64::INFINITY, 0.0), spec, "leg 2, distance"),
        (with_leg(900.0, 0.0), spec, "leg 2, distance"),
        (with_leg(5.0, f64::NAN), spec, "leg 2, inclination"),
        (with_leg(5.0, 1.5), spec, "leg 2, inclination"),
        (with_leg(5.0, -2.0), spec, "leg 2, inclination"),
        (with(&|t| t.azimuth_rad = f64::NAN), spec, "azimuth"),
        (with(&|t| t.azimuth_rad = 400.0), spec, "azimuth"),
        (with(&|t| t.from = Start::Point(DVec3::splat(f64::NAN))), spec, "from"),
        (with(&|t| t.from = Start::Point(DVec3::splat(1e9))), spec, "from"),
        (with(&|t| t.from = Start::Station { transect: 0, leg: 0 }), spec, "from"),
        (vec![good.clone()], cell(0.0), "cell"),
        (vec![good.clone()], cell(f64::NAN), "cell"),
        (vec![good.clone()], margin(-1.0), "margin"),
        (vec![good.clone()], margin(1e9), "margin"),
        (vec![good.clone()], SurveySpec { cell_m: 0.05, margin_m: 500.0, ..spec }, "size"),
    ];
    for (transects, spec, field) in table {
        let error = survey(&transects, DVec3::ZERO, &[], &spec).expect_err(field);
        assert_eq!(error.field, field, "{error}");
        assert!(!error.read.is_empty() && !error.allowed.is_empty());
    }
    let bad = [vec![DVec3::ZERO], vec![DVec3::ZERO, DVec3::splat(f64::NAN)]];
    for line in bad {
        let error = survey(std::slice::from_ref(&good), DVec3::ZERO, &[line], &spec).unwrap_err();
        assert_eq!(error.field, "breakline");
    }
}

/// A loop of four sides of 10, 20, 10 and 20 m by the compass, the first a metre too long: each side is
/// shortened by its share of the 60 m, by hand.
#[test]
fn verif_a_loop_is_closed_by_the_length_of_its_legs() {
    let side = |id: &str, from: Start, azimuth_deg: f64, length_m: f64| Transect {
        id: id.into(),
        from,
        azimuth_rad: azimuth_deg.to_radians(),
        legs: vec![Leg { slope_distance_m: length_m / 2.0, inclination_rad: 0.0 }; 2],
        closes: None,
    };
    let end = |transect: usize| Start::Station { transect, leg: 2 };
    let mut sides = vec![
        side("north", Start::Stump, 0.0, 11.0),
        side("east", end(0), 90.0, 20.0),
        side("south", end(1), 180.0, 10.0),
        side("west", end(2), 270.0, 20.0),
    ];
    sides[3].closes = Some(Start::Stump);
    let (stations, closings) = walk(&sides, DVec3::ZERO).unwrap();
    assert!((closings[0].off_m - DVec3::new(0.0, -1.0, 0.0)).length() < 1e-12, "{closings:?}");
    assert_eq!(closings[0].length_m, 61.0);
    for (side, station, want) in [
        (0, 1, DVec3::new(0.0, 5.5 - 5.5 / 61.0, 0.0)),
        (0, 2, DVec3::new(0.0, 11.0 - 11.0 / 61.0, 0.0)),
        (1, 2, DVec3::new(20.0, 11.0 - 31.0 / 61.0, 0.0)),
        (2, 2, DVec3::new(20.0, 1.0 - 41.0 / 61.0, 0.0)),
        (3, 2, DVec3::ZERO),
    ] {
        let at: DVec3 = stations[side][station];
        assert!((at - want).length() < 1e-9, "{side}:{station} {at} for {want}");
    }
    let t = survey(&sides, DVec3::ZERO, &[], &SurveySpec::default()).unwrap();
    let said = "transect west comes back 1.00 m beside its station and 0.00 m above it, after 61 m \
                of tape (1 in 61): shared out along the legs of the loop by their length";
    assert!(t.warnings.iter().any(|w| w == said), "{:?}", t.warnings);
}

/// Three ways up to one station, each wrong by itself: two loops that share the first of them. Least
/// squares weighted by 1 / length puts the station at the mean of the three, so weighted.
#[test]
fn verif_loops_that_share_legs_close_by_least_squares() {
    let way = |id: &str, azimuth_deg: f64, length_m: f64, up_m: f64| Transect {
        id: id.into(),
        from: Start::Stump,
        azimuth_rad: azimuth_deg.to_radians(),
        legs: vec![Leg { slope_distance_m: length_m, inclination_rad: (up_m / length_m).asin() }],
        closes: None,
    };
    let mut ways = [way("a", 0.0, 30.0, 5.0), way("b", 0.0, 10.0, 5.6), way("c", 0.0, 20.0, 4.4)];
    for closing in [1, 2] {
        ways[closing].closes = Some(Start::Station { transect: 0, leg: 1 });
    }
    let (stations, _) = walk(&ways, DVec3::ZERO).unwrap();
    // The mean of the three, each weighted by 1 / length.
    let weights = [1.0 / 30.0, 1.0 / 10.0, 1.0 / 20.0];
    let mean =
        (5.0 * weights[0] + 5.6 * weights[1] + 4.4 * weights[2]) / weights.iter().sum::<f64>();
    for line in &stations {
        assert!((line[1].z - mean).abs() < 1e-5, "{} for {mean}", line[1].z);
    }
}

#[test]
fn verif_a_loop_closes_on_a_station_before_it() {
    let mut t = Transect {
        id: "t".into(),
        from: Start::Stump,
        azimuth_rad: 1.0,
        legs: vec![Leg { slope_distance_m: 5.0, inclination_rad: -0.4 }; 3],
        closes: Some(Start::Station { transect: 1, leg: 1 }),
    };
    let error = stations(&[t.clone()], DVec3::ZERO).unwrap_err();
    assert_eq!(error.field, "closes_on");
    // Its own first station is no loop that could be wrong by more than its legs.
    t.closes = Some(Start::Station { transect: 0, leg: 3 });
    assert!(walk(&[t], DVec3::ZERO).unwrap().1[0].off_m.length() < 1e-12);
}
