//! Roughness of the ground from its points: what is left over a plane within the length of a piece's
//! bumps.
//!
//! Ground points (class 2) of each square window of 0.8 m, the length over which a scene's bumps
//! count; a plane is taken out by least squares. Of a ripple z = H/2·sin(k·x) with whole waves in
//! the window the residuals' variance is H²/8, so the peak to trough is
//!
//! ```text
//! H = 2·√2·s      s² = Σ r²/(n − 3)
//! ```
//!
//! s: spread of the residuals (m); n: points in the window. Of the range of few points H would hang
//! on how many there are. The plane takes a part of waves as long as the window: 8 % of H at most
//! two to a window. A scanner's own noise within one surface, 1 to 3 cm (common practice), adds to
//! s²; so the range proposed reaches from H with [`NOISE_M`] taken out to H as it is. The typical
//! (median) window is proposed. Left out: what whoever classed the ground took away with the plants,
//! so that true bumps may be larger; logs and stones that were classed otherwise. Known answer:
//! `verif_ripples_come_back_as_their_peak_to_trough`.

use glam::{DMat3, DVec2, DVec3};

use super::{
    Cloud, GROUND, Item, Proposal, Proposals, Sure,
    cells::{Cells, at_share},
};

/// Side of a window, m: bumps of a scene are told over this length.
pub const WINDOW_M: f64 = 0.8;
/// Fewest points that say anything of a window: three make the plane, five are left over.
pub const LEAST_WINDOW_POINTS: usize = 8;
/// Fewest windows that say anything of the ground.
const LEAST_WINDOWS: usize = 30;
/// Noise of a scanner within one surface, m (common practice: 1 to 3 cm).
pub const NOISE_M: f64 = 0.02;
/// Steeper windows, as a gradient, are the edge of a step and not its roughness: 60°.
const STEEPEST: f64 = 1.732;
/// Bumps of the words of a scene, peak to trough, m.
const WORDS: [(&str, f64); 3] = [("lawn", 0.03), ("ankle", 0.10), ("knee", 0.40)];

pub(super) fn find(cloud: &Cloud, found: &mut Proposals) {
    let name = &cloud.name;
    if !cloud.has(GROUND) {
        found.notes.push(format!(
            "{name}: roughness can't be told: no points are classed as ground, and bumps can't be \
             told from low plants"
        ));
        return;
    }
    let windows = Cells::over(cloud.bounds, WINDOW_M);
    let mut own: Vec<(u32, DVec3)> = cloud
        .points
        .iter()
        .filter(|p| p.class == GROUND)
        .filter_map(|p| Some((windows.of(p.at)? as u32, p.at.extend(p.z))))
        .collect();
    own.sort_by_key(|(window, _)| *window);
    let ground = own.len();
    let (mut spreads, mut counts, mut held) = (Vec::new(), Vec::new(), 0_usize);
    for window in own.chunk_by(|a, b| a.0 == b.0) {
        held += 1;
        if window.len() < LEAST_WINDOW_POINTS {
            continue;
        }
        let points: Vec<DVec3> = window.iter().map(|(_, p)| *p).collect();
        if let Some((spread, gradient)) = over_plane(&points, WINDOW_M)
            && gradient.length() < STEEPEST
        {
            spreads.push(spread);
            counts.push(points.len() as f64);
        }
    }
    if spreads.len() < LEAST_WINDOWS {
        let density = ground as f64 / (held.max(1) as f64 * WINDOW_M * WINDOW_M);
        found.notes.push(format!(
            "{name}: roughness can't be told: {} of {held} windows of {WINDOW_M} m hold \
             {LEAST_WINDOW_POINTS} ground points or more (where there are any there are {density:.1} \
             a square metre); it takes some {:.0} a square metre, a low flight or a scan from the \
             ground",
            spreads.len(),
            LEAST_WINDOW_POINTS as f64 / (WINDOW_M * WINDOW_M) * 1.5
        ));
        return;
    }
    spreads.sort_by(f64::total_cmp);
    let bumps = |share: f64| 2.0 * std::f64::consts::SQRT_2 * at_share(&spreads, share);
    counts.sort_by(f64::total_cmp);
    // The smoothest windows bound the noise from above: of normal noise the tenth least of spreads
    // over n − 3 points lies 1.28/√(2·(n − 3)) under the typical one.
    let under = 1.0 - 1.28 / (2.0 * (at_share(&counts, 0.5) - 3.0)).max(4.0).sqrt();
    let noise = NOISE_M.min(at_share(&spreads, 0.1) / under);
    let middle = at_share(&spreads, 0.5);
    let without = (middle * middle - noise * noise).max(0.0).sqrt();
    let bumps_m = [2.0 * std::f64::consts::SQRT_2 * without, bumps(0.5)];
    let floor = 2.0 * std::f64::consts::SQRT_2 * NOISE_M;
    let likely = 0.5 * (bumps_m[0] + bumps_m[1]);
    let word = WORDS
        .iter()
        .min_by(|a, b| {
            let off = |w: &f64| libm::log(likely.max(0.005) / w).abs();
            off(&a.1).total_cmp(&off(&b.1))
        })
        .map_or("", |w| w.0);
    let mut why = format!(
        "what ground points of {} windows of {WINDOW_M} m leave over a plane, peak to trough: {:.0} \
         cm in the typical one, {:.0} to {:.0} cm in the middle half; nearest to the word {word}. A \
         scanner's noise of 2 cm alone would look like {:.0} cm. What was classed as plants is left \
         out, so bumps may be larger",
        spreads.len(),
        100.0 * bumps(0.5),
        100.0 * bumps(0.25),
        100.0 * bumps(0.75),
        100.0 * floor
    );
    let sure = if bumps(0.5) > 1.5 * floor { Sure::Fair } else { Sure::Poor };
    if sure == Sure::Poor {
        why += "; too near that noise to be told from smoother ground";
    }
    found.proposals.push(Proposal {
        id: "roughness".to_owned(),
        from: name.clone(),
        points: counts.iter().sum::<f64>() as u64,
        sure,
        why,
        item: Item::Roughness { bumps_m },
    });
}

/// Spread of points of a square about their plane (m) and the plane's gradient.
pub(super) fn over_plane(points: &[DVec3], side_m: f64) -> Option<(f64, DVec2)> {
    let n = points.len() as f64;
    let middle = points.iter().sum::<DVec3>() / n;
    let (mut m, mut rhs) = (DMat3::ZERO, DVec3::ZERO);
    for p in points {
        let d = *p - middle;
        let row = DVec3::new(d.x, d.y, 1.0);
        m += DMat3::from_cols(row * row.x, row * row.y, row * row.z);
        rhs += row * d.z;
    }
    // Points on one line make no plane: an eighth of a window's own spread, squared, is asked for.
    let least = (side_m * side_m / 12.0 / 8.0).powi(2) * n * n;
    if m.x_axis.x * m.y_axis.y - m.x_axis.y * m.y_axis.x < least || points.len() < 4 {
        return None;
    }
    let plane = m.inverse() * rhs;
    let rest: f64 = points
        .iter()
        .map(|p| {
            let d = *p - middle;
            let r = d.z - plane.dot(DVec3::new(d.x, d.y, 1.0));
            r * r
        })
        .sum();
    let spread = (rest / (n - 3.0)).sqrt();
    spread.is_finite().then_some((spread, plane.truncate()))
}
