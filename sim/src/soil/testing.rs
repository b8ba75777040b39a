//! Grounds and pieces that the tests of the soil and the drop share; the numbers are ours.

use std::{f64::consts::FRAC_PI_2, sync::Arc};

use glam::{DQuat, DVec2, DVec3};

use crate::{
    ground::{Ground, Strength, TopLayer},
    site::Site,
    terrain::{Grid, Terrain},
    tree::{Piece, Round},
};

/// Firm soil, bare, dry: thumb indents with effort.
#[must_use]
pub fn firm() -> Ground {
    Ground {
        top: None,
        soil: Strength::Cohesive { shear_strength_pa: 40e3 },
        stop_depth_m: f64::INFINITY,
        stop_strength_pa: 1e6,
        rate_factor: 1.0,
        restitution: 0.25,
        friction: 0.5,
        adhesion: None,
        inertial_factor: 1.0,
        density_kg_m3: 1_600.0,
        side_bearing_deep: 7.5,
        sideways_share: 0.45,
        mobilised_at: 1.0 / 85.0,
        roughness_m: 0.0,
        undergrowth: None,
    }
}

/// Soft soil under 6 cm of litter.
#[must_use]
pub fn soft() -> Ground {
    Ground {
        top: Some(TopLayer { thickness_m: 0.06, shear_strength_pa: 6e3, friction: 0.55 }),
        soil: Strength::Cohesive { shear_strength_pa: 20e3 },
        restitution: 0.1,
        friction: 0.55,
        ..firm()
    }
}

/// The firm bank under a little turf: what most of the figures are told on.
#[must_use]
pub fn turf() -> Ground {
    Ground {
        top: Some(TopLayer { thickness_m: 0.05, shear_strength_pa: 8e3, friction: 0.5 }),
        ..firm()
    }
}

/// Wet clay whose traction is capped.
#[must_use]
pub fn wet() -> Ground {
    Ground { adhesion: Some(0.5), friction: 0.4, ..soft() }
}

/// Pavement.
#[must_use]
pub fn pavement() -> Ground {
    Ground {
        soil: Strength::Cohesive { shear_strength_pa: 20e6 },
        restitution: 0.3,
        friction: 0.5,
        inertial_factor: 0.0,
        ..firm()
    }
}

/// A straight log of green wood: length and diameter in m.
#[must_use]
pub fn log(length_m: f64, diameter_m: f64) -> Piece {
    let radius = 0.5 * diameter_m;
    let mass = 900.0 * std::f64::consts::PI * radius * radius * length_m;
    let across = mass * (3.0 * radius * radius + length_m * length_m) / 12.0;
    Piece {
        rounds: vec![Round {
            from_m: DVec3::new(0.0, 0.0, -0.5 * length_m),
            to_m: DVec3::new(0.0, 0.0, 0.5 * length_m),
            from_radius_m: radius,
            to_radius_m: radius,
            from_is_face: true,
            to_is_face: true,
        }],
        stem_rounds: 1,
        mass_kg: mass,
        inertia_kg_m2: DVec3::new(across, across, 0.5 * mass * radius * radius),
        side_crush_pa: 4.2e6,
        end_crush_pa: 24e6,
        brush: crate::tree::Brush::default(),
    }
}

/// A site that is a plane falling toward +x, 400 m across, with nothing on it: one cell, so that
/// no rounding of heights roughens it.
#[must_use]
pub fn bank(slope_rad: f64, ground: Ground) -> Site {
    bank_of_cells(slope_rad, ground, 400.0)
}

/// The same with another cell size, m.
#[must_use]
pub fn bank_of_cells(slope_rad: f64, ground: Ground, cell_m: f64) -> Site {
    let n = (400.0 / cell_m) as usize + 1;
    let half = 0.5 * cell_m * (n - 1) as f64;
    let fall = libm::tan(slope_rad);
    let heights_m = (0..n * n).map(|k| -(((k % n) as f64 * cell_m - half) * fall) as f32).collect();
    let grid = Grid { origin_m: DVec2::splat(-half), cell_m, nx: n, ny: n, heights_m };
    Site {
        terrain: Arc::new(Terrain::from(grid)),
        ground,
        patches: vec![],
        bodies: vec![],
        roughness_key: 1,
        stump_m: DVec3::ZERO,
    }
}

/// The ground's normal on [`bank`].
#[must_use]
pub fn bank_normal(slope_rad: f64) -> DVec3 {
    let (sine, cosine) = libm::sincos(slope_rad);
    DVec3::new(sine, 0.0, cosine)
}

/// Attitude of a log that lies along the fall line of [`bank`], top downhill.
#[must_use]
pub fn along(slope_rad: f64) -> DQuat {
    DQuat::from_rotation_y(FRAC_PI_2 + slope_rad)
}

/// Attitude of a log that lies across the slope of [`bank`].
#[must_use]
pub fn across() -> DQuat {
    DQuat::from_rotation_x(FRAC_PI_2)
}
