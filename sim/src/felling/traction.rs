//! What a vehicle can pull before its tyres spin.
//!
//! Weight W, of which W_d on driven wheels; μ between tyre and ground; σ the slope in the direction
//! it drives, up positive; β the rope's angle above the ground there, seen from the hitch:
//!
//! ```text
//! T·cos β = μ·(W_d·cos σ − T·sin β) − W·sin σ
//! T       = (μ·W_d·cos σ − W·sin σ)/(cos β + μ·sin β)             N; none below zero
//! ```
//!
//! With β = 0 it is the usual F = W_d·μ·cos σ − W·sin σ (textbook statics, from memory). A rope that
//! climbs from the hitch takes weight off the tyres. Tyre friction by ground from
//! `assets/traction.csv`, whose head names the sources. Left out: the engine, weight that goes from
//! one axle to the other, side slopes, tyres that dig themselves in, chains and tracks.
//!
//! Known answer: `val_felling::val_traction_of_a_pickup`.

use std::sync::LazyLock;

use crate::{
    scene::model::{Cover, GroundSpec, SoilWord, Wetness},
    table::rows,
};

/// Friction of a rubber tyre on one kind of ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TyreGround {
    /// The ground: pavement, gravel, turf or soil.
    pub ground: &'static str,
    /// Dry, damp or wet.
    pub wetness: &'static str,
    /// Friction: least, as told, greatest.
    pub friction: [f64; 3],
    /// Where the numbers are from.
    pub source: &'static str,
    /// Whether that was read, or is from memory, or ours.
    pub standing: &'static str,
}

/// All grounds of the table, in its order.
#[must_use]
pub fn all() -> &'static [TyreGround] {
    &TABLE
}

/// The friction that a tyre finds on a ground as told. Where wetness isn't known it is taken as wet,
/// where the soil isn't, as soil.
#[must_use]
pub fn on(ground: &GroundSpec) -> Option<&'static TyreGround> {
    let name = match (ground.soil, ground.cover) {
        (SoilWord::Pavement, _) => "pavement",
        (SoilWord::Gravel, _) => "gravel",
        (_, Cover::Turf(_)) => "turf",
        _ => "soil",
    };
    let wetness = match ground.wetness {
        Wetness::Dry => "dry",
        Wetness::Damp => "damp",
        Wetness::Wet | Wetness::DontKnow => "wet",
    };
    TABLE.iter().find(|row| row.ground == name && row.wetness == wetness)
}

/// The most a vehicle can pull, N: its weight and how much of it on driven wheels, the tyre's
/// friction, the slope in the direction it drives and the rope's angle above that slope, rad.
#[must_use]
pub fn pull_n(
    weight_n: f64,
    driven_share: f64,
    friction: f64,
    slope_rad: f64,
    rope_rad: f64,
) -> f64 {
    let holds = friction * weight_n * driven_share * libm::cos(slope_rad);
    let climbs = weight_n * libm::sin(slope_rad);
    let eased = libm::cos(rope_rad) + friction * libm::sin(rope_rad);
    ((holds - climbs) / eased).max(0.0)
}

static TABLE: LazyLock<Vec<TyreGround>> =
    LazyLock::new(|| rows(include_str!("../../../assets/traction.csv")).filter_map(row).collect());

/// A row it can't read is left out, which a test rules out.
fn row(cells: Vec<&'static str>) -> Option<TyreGround> {
    let [ground, wetness, low, told, high, source, standing] = cells[..] else { return None };
    let friction = [low.parse().ok()?, told.parse().ok()?, high.parse().ok()?];
    Some(TyreGround { ground, wetness, friction, source, standing })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_every_ground_has_its_row_in_every_wetness() {
        assert_eq!(all().len(), 12);
        for soil in [SoilWord::Pavement, SoilWord::Gravel, SoilWord::DontKnow] {
            for wetness in [Wetness::Dry, Wetness::Damp, Wetness::Wet, Wetness::DontKnow] {
                let ground = GroundSpec {
                    soil,
                    cover: Cover::Bare,
                    roughness: crate::scene::model::Roughness::Lawn,
                    undergrowth: None,
                    wetness,
                    hard_at_m: None,
                };
                let [low, told, high] = on(&ground).expect("a row").friction;
                assert!(low <= told && told <= high);
            }
        }
    }

    #[test]
    fn prop_uphill_and_a_climbing_rope_take_from_the_pull() {
        let level = pull_n(30_000.0, 1.0, 0.35, 0.0, 0.0);
        assert!((level - 10_500.0).abs() < 1e-9);
        assert!(pull_n(30_000.0, 1.0, 0.35, 0.1, 0.0) < level);
        assert!(pull_n(30_000.0, 1.0, 0.35, -0.1, 0.0) > level);
        assert!(pull_n(30_000.0, 1.0, 0.35, 0.0, 0.3) < level);
        assert_eq!(pull_n(30_000.0, 0.5, 0.2, 0.4, 0.0), 0.0);
    }
}
