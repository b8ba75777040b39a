use glam::{DVec2, DVec3};

use super::*;
use crate::terrain::Terrain;

/// A bank that rises 0.4 in y, with a wall of 0.5 m along y = 0.37, low side south; the whole turned.
fn walled(cell_m: f64, turn_rad: f64, offset_m: f64) -> Terrain {
    let (sin, cos) = (libm::sin(turn_rad), libm::cos(turn_rad));
    let along = DVec2::new(cos, sin);
    let into = DVec2::new(-sin, cos);
    let n = (40.0 / cell_m) as usize + 1;
    let origin = DVec2::splat(-20.0 + offset_m);
    let face = CutFace {
        id: "wall".into(),
        line_m: vec![into * 0.37 - along * 12.0, into * 0.37 + along * 12.0],
        height_m: 0.5,
        low_side: Side::Right,
    };
    Terrain::from_heights(origin, cell_m, n, n, move |x, y| {
        let s = DVec2::new(x, y).dot(into);
        0.4 * s + if s > 0.37 { 0.5 } else { 0.0 }
    })
    .with_faces(&[face], Units::Metric)
}

#[test]
fn verif_the_depth_at_a_step_does_not_depend_on_the_cell() {
    for turn_rad in [0.0, 0.3, 0.785, 2.0] {
        let (sin, cos) = (libm::sin(turn_rad), libm::cos(turn_rad));
        for (cell_m, offset_m) in [(0.25, 0.0), (0.5, 0.1), (1.0, 0.0), (1.0, 0.37), (1.0, 0.6)] {
            let t = walled(cell_m, turn_rad, offset_m);
            assert!(t.warnings.is_empty(), "{:?}", t.warnings);
            for k in 0..60 {
                for l in 0..8 {
                    let (s, q) = (0.37 - 0.45 + 0.015 * f64::from(k), -5.0 + 1.3 * f64::from(l));
                    for z in [-0.3, 0.1, 0.3, 0.5, 0.9] {
                        let at = DVec3::new(cos * q - sin * s, sin * q + cos * s, z);
                        let slope = 1.0_f64 + 0.4 * 0.4;
                        let low = (0.4 * s - z) / slope.sqrt();
                        let high = (0.4 * s + 0.5 - z) / slope.sqrt();
                        let want = low.max(high.min(s - 0.37));
                        let got = t.depth_m(at).unwrap();
                        assert!(
                            (got - want).abs() < 2e-5,
                            "cell {cell_m} turn {turn_rad} s {s}: {got} against {want}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn verif_the_surface_is_low_in_front_and_high_behind() {
    let t = walled(1.0, 0.0, 0.0);
    let front = t.surface(1.0, 0.36).unwrap();
    let behind = t.surface(1.0, 0.38).unwrap();
    assert!((front.height_m - 0.4 * 0.36).abs() < 1e-5);
    assert!((behind.height_m - (0.4 * 0.38 + 0.5)).abs() < 1e-5);
    for s in [front, behind] {
        assert!((s.gradient - DVec2::new(0.0, 0.4)).length() < 1e-5, "{:?}", s.gradient);
    }
}

#[test]
fn verif_the_step_is_the_stated_height_where_the_grid_holds_none() {
    let face = CutFace {
        id: "ditch".into(),
        line_m: vec![DVec2::new(-9.0, 0.0), DVec2::new(9.0, 0.0)],
        height_m: 0.6,
        low_side: Side::Left,
    };
    let t = Terrain::from_heights(DVec2::splat(-10.0), 0.5, 41, 41, |x, _| 0.2 * x)
        .with_faces(std::slice::from_ref(&face), Units::Metric);
    assert!(t.warnings.iter().any(|w| w.contains("ditch")), "{:?}", t.warnings);
    // Left of a line to the east is north: low there.
    let high = t.surface(2.0, -1e-7).unwrap().height_m;
    let low = t.surface(2.0, 1e-7).unwrap().height_m;
    assert!((high - low - 0.6).abs() < 1e-5);
    assert!((high + low - 0.8).abs() < 1e-5);
    // The gradient is that of the surface, by differences.
    for y in [-0.7, -0.2, 0.3, 0.8] {
        let s = t.surface(2.0, y).unwrap();
        let d = 1e-4;
        let rise =
            t.surface(2.0, y + d).unwrap().height_m - t.surface(2.0, y - d).unwrap().height_m;
        assert!((s.gradient.y - rise / (2.0 * d)).abs() < 1e-3, "{y}: {}", s.gradient.y);
    }
}

#[test]
fn prop_depth_has_no_jump_into_out_of_or_past_the_end_of_a_face() {
    // An L-shaped wall on curved ground: steps of 1 mm along many lines must change depth little.
    let line_m = vec![DVec2::new(-4.0, 0.3), DVec2::new(2.0, 0.3), DVec2::new(2.0, 5.0)];
    for low_side in [Side::Left, Side::Right] {
        let face = CutFace { id: "l".into(), line_m: line_m.clone(), height_m: 0.5, low_side };
        let t = Terrain::from_heights(DVec2::splat(-15.0), 0.5, 61, 61, |x, y| {
            0.3 * y + 0.05 * libm::sin(0.4 * x) + 0.02 * x
        })
        .with_faces(&[face], Units::Metric);
        let jump = |from: DVec3, to: DVec3| {
            let n = (from.distance(to) / 1e-3) as usize;
            let depth = |k: usize| t.depth_m(from.lerp(to, k as f64 / n as f64)).unwrap();
            // The slope of the plane that depth is measured to may jump, as from cell to cell: by
            // up to a tenth of the depth here, where the face bends levels that hold no step.
            (1..=n)
                .map(|k| (depth(k) - depth(k - 1)).abs() - 0.1 * depth(k).abs())
                .fold(f64::NEG_INFINITY, f64::max)
        };
        // Into and out of the band, through the face, and past the open end.
        for x in [-3.1, 0.2] {
            let worst = jump(DVec3::new(x, -3.0, 0.2), DVec3::new(x, 3.0, 0.2));
            assert!(worst < 0.01, "across: {worst}");
        }
        let worst = jump(DVec3::new(-7.0, 0.5, 0.15), DVec3::new(0.5, 0.5, 0.15));
        assert!(worst < 0.01, "past the end: {worst}");
    }
}

#[test]
fn verif_nothing_is_near_where_no_face_is() {
    let t = walled(0.5, 0.0, 0.0);
    assert!(!t.faces.near_face(0.0, 8.0, 1.0));
    assert!(!t.faces.near_face(0.0, -80.0, 1.0));
    assert!(t.faces.near_face(0.0, 0.37, 0.0));
    assert!(t.faces.near_face(0.0, 8.0, 8.0));
    assert!(!CutFaces::default().near_face(0.0, 0.0, 1e9));
    // Never a false no: wherever a band answers, the test says near.
    for k in 0..4000 {
        let at = DVec2::new(-15.0 + 0.37 * f64::from(k % 80), -3.0 + 0.12 * f64::from(k / 80));
        if t.faces.band(&t.grid, at).is_some() {
            assert!(t.faces.near_face(at.x, at.y, 0.0), "{at}");
        }
    }
}

#[test]
fn verif_the_wrong_low_side_is_noticed() {
    let face = CutFace {
        id: "wall".into(),
        line_m: vec![DVec2::new(-5.0, 0.0), DVec2::new(5.0, 0.0)],
        height_m: 1.0,
        low_side: Side::Left,
    };
    let step = |_: f64, y: f64| if y > 0.0 { 1.0 } else { 0.0 };
    let t = Terrain::from_heights(DVec2::splat(-10.0), 0.5, 41, 41, step)
        .with_faces(&[face], Units::Metric);
    assert!(t.warnings.iter().any(|w| w.contains("low side")), "{:?}", t.warnings);
}
