//! A line on its way from the stem to what pulls: what its turns do to the pull, and what hangs on
//! blocks, slings and the rope.
//!
//! ```text
//! block    F = |T₁·u₁ + T₂·u₂|, with no friction 2·T·cos(α/2)     α between the two legs of rope
//! capstan  T₂ = T₁·exp(μ·φ), φ = π − α                           what pulls is the greater
//! sling    T_leg = F/(2·cos(γ/2)) = F/2·1/sin(angle from square)  γ between the sling's legs
//! rope     working load = breaking strength·(1 − knot loss)/design factor
//! ```
//!
//! Textbook statics; the block chart and the sling chart are printed by rigging makers (read); what
//! knots take and the design factor: Cordage Institute CI 1401 (read). Friction of arborist blocks
//! was measured between 0.049 and 0.99 by load and block (abstract read), of rope on bark 0.2 to 0.5
//! (from memory). Left out: the rope's weight and sag, rope running in a corner, shock.
//!
//! Known answers: `val_felling::val_block_chart`, `val_felling::val_sling_chart`,
//! `val_felling::val_capstan`.

use std::f64::consts::PI;

use glam::DVec3;

use crate::scene::model::Over;

/// Friction of a rope over a block: least, as told, greatest. The least is the least that was
/// measured on arborist blocks (0.049 to 0.99, abstract read); the others are ours, for a block that
/// runs.
pub const BLOCK_FRICTION: [f64; 3] = [0.049, 0.1, 0.2];
/// The most that was measured on an arborist block (abstract read).
pub const WORST_BLOCK_FRICTION: f64 = 0.99;
/// Friction of a rope over bark or wood: least, as told, greatest (from memory).
pub const WOOD_FRICTION: [f64; 3] = [0.2, 0.3, 0.5];

/// Friction of a rope over what it turns on: least, as told, greatest.
#[must_use]
pub fn friction(over: Over) -> [f64; 3] {
    match over {
        Over::Block => BLOCK_FRICTION,
        Over::Wood => WOOD_FRICTION,
    }
}

/// Load on a block in pulls of the rope, by the angle between the two legs of rope, no friction.
#[must_use]
pub fn block_factor(between_rad: f64) -> f64 {
    2.0 * libm::cos(0.5 * between_rad)
}

/// Tension of a sling's leg over that of a leg straight along the pull, by the angle of the leg from
/// square to the pull.
#[must_use]
pub fn sling_factor(from_square_rad: f64) -> f64 {
    1.0 / libm::sin(from_square_rad)
}

/// Tension of one of a sling's two legs under a load, N, by the angle between them.
#[must_use]
pub fn sling_leg_n(load_n: f64, between_rad: f64) -> f64 {
    0.5 * load_n * sling_factor(0.5 * (PI - between_rad))
}

/// Greater over smaller tension of a rope turned by an angle over something.
#[must_use]
pub fn capstan(friction: f64, turn_rad: f64) -> f64 {
    libm::exp(friction * turn_rad)
}

/// The most a rope is to be loaded with, N.
#[must_use]
pub fn working_load_n(strength_n: f64, knot_loss: f64, design_factor: f64) -> f64 {
    strength_n * (1.0 - knot_loss) / design_factor
}

/// A turn of the line under load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Angle between the two legs of rope, rad.
    pub between_rad: f64,
    /// Tension on the stem's side, N.
    pub before_n: f64,
    /// Tension on the side of what pulls, N.
    pub after_n: f64,
    /// What hangs on the block, N.
    pub load_n: DVec3,
}

/// The line under a pull at the stem: its turns, and the tension at its far end, N.
///
/// `points_m` runs from the stem over the redirects to the far end; `frictions` has one number a
/// redirect.
#[must_use]
pub fn run(points_m: &[DVec3], frictions: &[f64], pull_n: f64) -> (Vec<Turn>, f64) {
    let mut tension_n = pull_n;
    let turns = points_m
        .windows(3)
        .zip(frictions)
        .map(|(p, friction)| {
            let back = (p[0] - p[1]).normalize_or_zero();
            let on = (p[2] - p[1]).normalize_or_zero();
            let between_rad = libm::acos(back.dot(on).clamp(-1.0, 1.0));
            let before_n = tension_n;
            tension_n *= capstan(*friction, PI - between_rad);
            let load_n = back * before_n + on * tension_n;
            Turn { between_rad, before_n, after_n: tension_n, load_n }
        })
        .collect();
    (turns, tension_n)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_run_without_friction_keeps_its_tension() {
        let points = [DVec3::Z * 10.0, DVec3::X * 10.0, DVec3::new(10.0, 10.0, 0.0)];
        let (turns, far_n) = run(&points, &[0.0], 1000.0);
        assert_eq!(far_n, 1000.0);
        let turn = turns[0];
        // (−1, 0, 1)/√2 and (0, 1, 0) are square to each other.
        assert!((turn.between_rad - 0.5 * PI).abs() < 1e-12);
        assert!((turn.load_n.length() / 1000.0 - block_factor(turn.between_rad)).abs() < 1e-12);
        let (turns, far_n) = run(&points, &[0.3], 1000.0);
        assert!((far_n / 1000.0 - libm::exp(0.15 * PI)).abs() < 1e-12);
        assert_eq!(turns[0].after_n, far_n);
        assert_eq!(run(&points[..2], &[], 5.0), (Vec::new(), 5.0));
    }
}
