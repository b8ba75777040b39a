//! Roughness of the ground at the scale of a piece: bumps that the terrain's cells cannot hold.
//!
//! Models a random surface added to the terrain: independent heights uniform in ±a at the nodes
//! of a square lattice of 0.4 m, joined by smoothsteps so that height and gradient are
//! continuous. The mean range of three neighbouring nodes, which span 0.8 m, is a; so `a` is the
//! roughness that a boot sees, peak to trough over 0.8 m. Ours; drawn anew for each drop.

use glam::DVec2;

use crate::keyed::mix;

/// Distance between lattice nodes, m.
pub const LATTICE_M: f64 = 0.4;

/// Height (m) and gradient of the roughness at a place.
#[inline]
#[must_use]
pub fn bumps(key: u64, amplitude_m: f64, x_m: f64, y_m: f64) -> (f64, DVec2) {
    let (u, v) = (x_m / LATTICE_M, y_m / LATTICE_M);
    let (i, j) = (below(u), below(v));
    let (fu, fv) = (u - i as f64, v - j as f64);
    let node = |di: i64, dj: i64| {
        let x = (i + di) as u64;
        let y = (j + dj) as u64;
        let bits = mix(key
            ^ x.wrapping_mul(0x9e37_79b9_7f4a_7c15)
            ^ y.wrapping_mul(0xc2b2_ae3d_27d4_eb4f));
        // 53 random bits to ±1.
        (bits >> 11) as f64 * (2.0 / (1_u64 << 53) as f64) - 1.0
    };
    let (sw, se, nw, ne) = (node(0, 0), node(1, 0), node(0, 1), node(1, 1));
    let (su, sv) = (fu * fu * (3.0 - 2.0 * fu), fv * fv * (3.0 - 2.0 * fv));
    let (du, dv) = (6.0 * fu * (1.0 - fu), 6.0 * fv * (1.0 - fv));
    let (s, n) = (sw + (se - sw) * su, nw + (ne - nw) * su);
    let slope_u = ((se - sw) + ((ne - nw) - (se - sw)) * sv) * du;
    let scale = amplitude_m / LATTICE_M;
    (amplitude_m * (s + (n - s) * sv), DVec2::new(slope_u * scale, (n - s) * dv * scale))
}

/// The greatest whole number not above `x`: without the call that `floor` is on older processors.
#[inline]
fn below(x: f64) -> i64 {
    let whole = x as i64;
    whole - i64::from((whole as f64) > x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_gradient_is_the_slope_of_the_height() {
        let step = 1e-6;
        for i in 0..200 {
            let (x, y) = (f64::from(i) * 0.137 - 9.0, f64::from(i) * 0.091 - 3.0);
            let (_, g) = bumps(5, 0.1, x, y);
            let dx = (bumps(5, 0.1, x + step, y).0 - bumps(5, 0.1, x - step, y).0) / (2.0 * step);
            let dy = (bumps(5, 0.1, x, y + step).0 - bumps(5, 0.1, x, y - step).0) / (2.0 * step);
            assert!((g - DVec2::new(dx, dy)).length() < 1e-5, "{x} {y}: {g} {dx} {dy}");
        }
    }

    #[test]
    fn verif_peak_to_trough_over_80_cm_is_the_roughness_asked_for() {
        let amplitude = 0.1;
        let spans = 4_000;
        let mean: f64 = (0..spans)
            .map(|k| {
                let x0 = f64::from(k) * 1.2;
                let heights =
                    (0..=40).map(|i| bumps(9, amplitude, x0 + f64::from(i) * 0.02, 0.0).0);
                let (low, high) =
                    heights.fold((f64::MAX, f64::MIN), |(l, h), z| (l.min(z), h.max(z)));
                (high - low) / f64::from(spans)
            })
            .sum();
        assert!((mean / amplitude - 1.0).abs() < 0.05, "{mean}");
    }
}
