use super::*;
use crate::keyed::Key;

fn words(soil: SoilWord) -> GroundWords {
    GroundWords {
        soil,
        cover: Cover::Bare,
        roughness: Roughness::Ankle,
        undergrowth: None,
        wetness: Wetness::Dry,
        hard_at_m: None,
    }
}

fn all_words() -> Vec<GroundWords> {
    let thickness = Some(Between { low: 0.04, told: 0.05, high: 0.06 });
    let mut soils = vec![SoilWord::Gravel, SoilWord::Pavement, SoilWord::DontKnow];
    soils.extend(table::THUMB.iter().map(|(w, _)| SoilWord::Thumb(*w)));
    soils.extend(table::HEEL.iter().map(|(w, _)| SoilWord::Heel(*w)));
    let mut all = Vec::new();
    for soil in soils {
        for cover in [
            Cover::Bare,
            Cover::DontKnow,
            Cover::Litter(thickness),
            Cover::Turf(None),
            Cover::BrushMat(None),
        ] {
            for wetness in [Wetness::Dry, Wetness::Damp, Wetness::Wet, Wetness::DontKnow] {
                all.push(GroundWords { cover, wetness, ..words(soil) });
            }
        }
    }
    all
}

/// TM 5-818-1 (1983) Table 2-2: unconfined compressive strength in tons per square foot.
#[test]
fn val_thumb_words_are_the_strengths_of_tm_5_818_1() {
    let kpa_per_tsf = 95.76;
    for (word, low, high) in [
        (Thumb::ThumbEasily, 0.25, 0.5),
        (Thumb::ThumbWithEffort, 0.5, 1.0),
        (Thumb::ThumbIndents, 1.0, 2.0),
        (Thumb::Thumbnail, 2.0, 4.0),
    ] {
        let row = thumb(word).unwrap();
        assert!((row.low / (500.0 * kpa_per_tsf * low) - 1.0).abs() < 1e-3);
        assert!((row.high / (500.0 * kpa_per_tsf * high) - 1.0).abs() < 1e-3);
    }
    // Open ends: under 0.25 and over 4.
    let (softest, hardest) =
        (thumb(Thumb::FistEasily).unwrap(), thumb(Thumb::ThumbnailWithDifficulty).unwrap());
    assert!((softest.high / (125.0 * kpa_per_tsf) - 1.0).abs() < 1e-3);
    assert!((hardest.low / (2000.0 * kpa_per_tsf) - 1.0).abs() < 1e-3);
}

#[test]
fn prop_every_draw_of_every_word_lies_in_its_ranges() {
    for w in all_words() {
        let rows = w.ranges();
        for row in &rows {
            assert!(row.low <= row.told && row.told <= row.high, "{row:?}");
            assert!(!row.source.is_empty() && row.low >= 0.0 && row.high.is_finite());
            if row.log {
                // Told is the middle of the scale that is drawn on.
                let middle = (row.low * row.high).sqrt();
                let untested = row.source.contains("as likely");
                assert!(untested || (row.told / middle - 1.0).abs() < 0.05, "{row:?}");
            }
        }
        for k in 0..40 {
            let key = Key::root(k);
            let ground = w.draw(k == 0, &|path| key.word(path).uniform());
            let within = |path: &str, x: f64| {
                let mut named = rows.iter().filter(|r| r.path == path).peekable();
                assert!(named.peek().is_some(), "{path}");
                assert!(named.any(|r| x >= r.low && x <= r.high), "{path} {x}");
            };
            within("soil.friction", ground.friction);
            within("soil.density", ground.density_kg_m3);
            within("soil.inertial_factor", ground.inertial_factor);
            within("soil.side_bearing_deep", ground.side_bearing_deep);
            within("soil.sideways_share", ground.sideways_share);
            within("roughness", ground.roughness_m);
            assert!((0.0..=0.4).contains(&ground.restitution));
            assert!((1.0..=3.0).contains(&ground.rate_factor));
            match ground.soil {
                Strength::Cohesive { shear_strength_pa } => {
                    within("soil.shear_strength", shear_strength_pa);
                }
                Strength::Frictional { friction_angle_rad, unit_weight_n_m3 } => {
                    within("soil.friction_angle", friction_angle_rad);
                    assert!((unit_weight_n_m3 / ground.density_kg_m3 - GRAVITY_M_S2).abs() < 1e-9);
                }
            }
            if let Some(top) = ground.top {
                assert!(top.thickness_m > 0.0 && top.shear_strength_pa >= 1e3);
                assert!((0.3..=0.9).contains(&top.friction));
            }
            assert_eq!(ground.stop_depth_m, f64::INFINITY);
            assert!(ground.adhesion.is_none() || w.wetness != Wetness::Dry);
        }
    }
}

#[test]
fn prop_a_number_is_drawn_by_its_path_alone() {
    let key = Key::root(5);
    let pick = |path: &str| key.word(path).uniform();
    let bare = words(SoilWord::Thumb(Thumb::ThumbIndents)).draw(false, &pick);
    let covered = GroundWords {
        cover: Cover::Litter(None),
        hard_at_m: Some(Between { low: 0.2, told: 0.3, high: 0.4 }),
        ..words(SoilWord::Thumb(Thumb::ThumbIndents))
    }
    .draw(false, &pick);
    assert_eq!(bare.soil, covered.soil);
    assert_eq!(bare.friction, covered.friction);
    assert_eq!(bare.roughness_m, covered.roughness_m);
    assert!((0.2..=0.4).contains(&covered.stop_depth_m));
}

#[test]
fn verif_wetness_decides_whether_strength_limits_traction() {
    let of = |wetness| GroundWords { wetness, ..words(SoilWord::Thumb(Thumb::ThumbEasily)) };
    let capped = |wetness, share: f64| of(wetness).draw(false, &|_| share).adhesion.is_some();
    assert!(!capped(Wetness::Dry, 0.1) && !capped(Wetness::Dry, 0.9));
    assert!(capped(Wetness::Wet, 0.1) && capped(Wetness::Wet, 0.9));
    for unknown in [Wetness::Damp, Wetness::DontKnow] {
        assert!(capped(unknown, 0.49) && !capped(unknown, 0.51));
        assert!(of(unknown).draw(true, &|_| 0.0).adhesion.is_none());
        assert!(of(unknown).assumed().iter().any(|s| s.contains("half of the grounds")));
    }
    assert!(
        of(Wetness::Wet).draw(true, &|_| 0.0).friction
            < of(Wetness::Dry).draw(true, &|_| 0.0).friction
    );
}

#[test]
fn verif_untested_soil_meets_every_word_alike() {
    let mut loose = 0;
    let n = 4000;
    for k in 0..n {
        let key = Key::root(k).word("ground");
        let g = words(SoilWord::DontKnow).draw(false, &|p| key.word(p).uniform());
        loose += i32::from(matches!(g.soil, Strength::Frictional { .. }));
    }
    // Four words of ten; five standard errors.
    assert!((f64::from(loose) / n as f64 - 0.4).abs() < 0.04, "{loose}");
    let told = words(SoilWord::DontKnow).draw(true, &|_| 0.99);
    let middle = words(SoilWord::Thumb(Thumb::ThumbWithEffort)).draw(true, &|_| 0.0);
    assert_eq!(told.soil, middle.soil);
}

#[test]
fn verif_nothing_lies_on_pavement_and_it_is_harder_than_any_soil() {
    let unseen = GroundWords { cover: Cover::DontKnow, ..words(SoilWord::Pavement) };
    let g = unseen.draw(true, &|_| 0.5);
    assert!(g.top.is_none());
    let hardest = thumb(Thumb::ThumbnailWithDifficulty).unwrap();
    assert!(matches!(g.soil, Strength::Cohesive { shear_strength_pa: s } if s > hardest.high));
    assert!(g.restitution > 0.3 && g.rate_factor == 1.0);
}
