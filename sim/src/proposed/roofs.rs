//! What is built: points classed as buildings, else flat patches high above the ground.
//!
//! Points of class 6 (ASPRS) are taken as they are. Where a cloud has none, squares of 2 m whose
//! points over 2 m up lie within 0.12 m of a plane make a patch: a roof, but as well a deck, a
//! bridge or a trimmed hedge, which is said. The footprint is the least rectangle where that is
//! filled by three quarters or more, else the outline of its cells. Eaves stand at the tenth of its
//! points from the lowest, the roof at the highest but one in fifty; both count, as a scene's walls
//! do, from the ground at the highest corner. Limits are ours. Left out: walls, which stand in from
//! the eaves; windows; anything under trees; roofs smaller than 6 m². Known answers:
//! `verif_a_house_comes_back_with_eaves_and_ridge`.

use glam::{DVec2, DVec3};

use super::{
    Base, Cloud, GROUND, Item, Over, Proposal, Proposals, Sure,
    cells::{Cells, at_share, rectangle},
};
use crate::scene::outline::area_m2;

/// The class of buildings.
const BUILDING: u8 = 6;
/// Classes of plants, which no roof is made of; nor is one of what is classed as ground.
const PLANTS: [u8; 3] = [3, 4, 5];
/// Lowest points of a roof that nobody classed, above the ground, m.
const LEAST_ABOVE_M: f64 = 2.0;
/// Side of a square that is tried for a plane, m.
const SQUARE_M: f64 = 2.0;
/// Most that its points may be off the plane, root mean square, m.
const FLAT_M: f64 = 0.12;
/// Steepest roof, as a gradient: 60°.
const STEEPEST: f64 = 1.732;
/// Roofs that differ by more, and what a pitch makes of half a cell, are two, m.
const LEVEL_M: f64 = 1.0;
/// A square beside a flat one belongs to it where so many of its high points lie as near its plane.
const BESIDE: (f64, f64) = (0.6, 0.4);
/// Least area, m², and fewest points.
const LEAST_AREA_M2: f64 = 6.0;
const LEAST_POINTS: usize = 20;
/// Least part of a rectangle that its cells must fill.
const FILLED: f64 = 0.75;
/// Lowest wall that a scene takes, m.
const LEAST_WALL_M: f64 = 0.2;
/// Most of them; the largest go first.
const MOST: usize = 30;
/// A roof's height by points, to either side, m (ours).
const OFF_M: f64 = 0.2;

/// Finds roofs; answers whether a place lies under one.
pub(super) fn find(
    base: &Base,
    cloud: &Cloud,
    found: &mut Proposals,
) -> Box<dyn Fn(DVec2) -> bool> {
    let classed = cloud.has(BUILDING);
    let is_roof = |p: &&Over| {
        if classed { p.class == BUILDING } else { may_be_roof(p) }
    };
    let (cells, marked) = if classed { by_class(cloud) } else { by_shape(cloud) };
    let mut tops = vec![f64::NEG_INFINITY; cells.count()];
    for p in cloud.points.iter().filter(is_roof) {
        if let Some(top) = cells.of(p.at).and_then(|k| tops.get_mut(k)) {
            *top = top.max(p.z);
        }
    }
    // A lower roof beside a higher one is another: a scene's structure has one height of eaves.
    let step = LEVEL_M + STEEPEST * cells.cell_m * 0.5;
    let top = |k: usize| tops.get(k).copied().unwrap_or(0.0);
    let mut groups = cells.linked(&marked, |a, b| (top(a) - top(b)).abs() < step);
    let area = |g: &[usize]| g.len() as f64 * cells.cell_m * cells.cell_m;
    groups.retain(|g| area(g) >= LEAST_AREA_M2);
    groups.sort_by_key(|g| std::cmp::Reverse(g.len()));
    if groups.len() > MOST {
        found.notes.push(format!(
            "{} smaller roofs are left out, beyond the {MOST} largest",
            groups.len() - MOST
        ));
        groups.truncate(MOST);
    }
    let mut owner = vec![u32::MAX; cells.count()];
    for (g, group) in groups.iter().enumerate() {
        for k in group {
            if let Some(slot) = owner.get_mut(*k) {
                *slot = g as u32;
            }
        }
    }
    let mut own: Vec<Vec<DVec3>> = vec![Vec::new(); groups.len()];
    for p in cloud.points.iter().filter(is_roof) {
        let g = cells.of(p.at).and_then(|k| owner.get(k)).copied().unwrap_or(u32::MAX);
        if let Some(list) = own.get_mut(g as usize) {
            list.push(p.at.extend(p.z));
        }
    }
    let (mut number, mut sunk) = (0, 0);
    for (group, points) in groups.iter().zip(&own) {
        if points.len() < LEAST_POINTS {
            continue;
        }
        let plan: Vec<DVec2> = points.iter().map(|p| p.truncate()).collect();
        // Points end half their distance inside the edge.
        let grow = 0.5 * (area(group) / points.len() as f64).sqrt();
        let box_of = rectangle(&plan, grow.min(0.5 * cells.cell_m));
        let corners_m = match box_of {
            Some(corners) if area(group) >= FILLED * area_m2(&corners) => corners.to_vec(),
            _ => cells.outline(group, cells.cell_m),
        };
        let base_m =
            corners_m.iter().filter_map(|c| base.ground_m(*c)).fold(f64::NEG_INFINITY, f64::max);
        if !base_m.is_finite() || corners_m.len() < 3 {
            continue;
        }
        let mut heights: Vec<f64> = points.iter().map(|p| p.z - base_m).collect();
        heights.sort_by(f64::total_cmp);
        let (wall, roof) = (at_share(&heights, 0.1), at_share(&heights, 0.98));
        // Eaves at the ground are a bank's or a terrace's; one that is classed may be dug into it.
        if (if classed { roof } else { wall }) < LEAST_WALL_M {
            sunk += 1;
            continue;
        }
        let wall_m = [wall - OFF_M, wall + OFF_M].map(|h| h.max(LEAST_WALL_M));
        let roof_m = [roof - OFF_M, roof + OFF_M].map(|h| h.max(wall_m[1]));
        number += 1;
        // A roof no wider than it is high has something else in it.
        let narrow =
            rectangle(&corners_m, 0.0).map_or(0.0, |[a, b, c, _]| a.distance(b).min(b.distance(c)));
        let odd = roof - wall > 0.5 * STEEPEST * narrow;
        let what = if classed {
            "points classed as a building; the outline is the roof's, walls may stand in from it"
        } else {
            "a flat patch high above the ground that nobody classed: a roof, or a deck, a bridge or a \
             trimmed hedge"
        };
        found.proposals.push(Proposal {
            id: format!("building-{number}"),
            from: cloud.name.clone(),
            points: points.len() as u64,
            sure: if classed && !odd { Sure::Fair } else { Sure::Poor },
            why: format!(
                "{what}{}. {:.0} m², eaves at {wall:.1} m and ridge at {roof:.1} m above the ground at \
                 its highest corner. Windows aren't seen from above: measure them",
                if odd { "; too steep for a roof, so limbs over it may be classed with it" } else { "" },
                area_m2(&corners_m).abs()
            ),
            item: Item::Structure { corners_m, wall_m, roof_m },
        });
    }
    if sunk > 0 {
        found.notes.push(format!(
            "{sunk} flat patches are left out as roofs: they begin under {LEAST_WALL_M} m above the \
             ground at their highest corner"
        ));
    }
    Box::new(move |at| cells.of(at).and_then(|k| owner.get(k)).is_some_and(|g| *g != u32::MAX))
}

/// Whether a point of a cloud without classed buildings may be on one.
fn may_be_roof(p: &Over) -> bool {
    p.above > LEAST_ABOVE_M && p.class != GROUND && !PLANTS.contains(&p.class)
}

/// Cells that hold points of buildings.
fn by_class(cloud: &Cloud) -> (Cells, Vec<bool>) {
    let cells = Cells::over(cloud.bounds, (2.0 * cloud.spacing_m).clamp(0.5, 2.0));
    let mut marked = vec![false; cells.count()];
    for p in cloud.points.iter().filter(|p| p.class == BUILDING) {
        if let Some(cell) = cells.of(p.at).and_then(|k| marked.get_mut(k)) {
            *cell = true;
        }
    }
    (cells, marked)
}

/// Squares whose high points lie in a plane.
fn by_shape(cloud: &Cloud) -> (Cells, Vec<bool>) {
    let cells = Cells::over(cloud.bounds, SQUARE_M);
    let mut high: Vec<(u32, DVec3)> = cloud
        .points
        .iter()
        .filter(|p| may_be_roof(p))
        .filter_map(|p| Some((cells.of(p.at)? as u32, p.at.extend(p.z))))
        .collect();
    high.sort_by_key(|(k, _)| *k);
    let mut planes: Vec<Option<(DVec3, DVec2)>> = vec![None; cells.count()];
    let mut squares: Vec<&[(u32, DVec3)]> = vec![&[]; cells.count()];
    for square in high.chunk_by(|a, b| a.0 == b.0) {
        let points: Vec<DVec3> = square.iter().map(|(_, p)| *p).collect();
        let Some(k) = square.first().map(|(k, _)| *k as usize) else { continue };
        if let Some(slot) = squares.get_mut(k) {
            *slot = square;
        }
        if let Some((off_m, slope)) = super::rough::over_plane(&points, SQUARE_M)
            && off_m < FLAT_M
            && slope.length() < STEEPEST
            && points.len() >= 5
            && let Some(plane) = planes.get_mut(k)
        {
            *plane = Some((points.iter().sum::<DVec3>() / points.len() as f64, slope));
        }
    }
    // Rims: squares that a flat one's plane runs on into, though a rail or a limb is in them too.
    for _ in 0..2 {
        let before = planes.clone();
        for (k, plane) in planes.iter_mut().enumerate().filter(|(_, p)| p.is_none()) {
            let points = squares.get(k).copied().unwrap_or(&[]);
            *plane = cells.beside(k).find_map(|n| {
                let (middle, slope) = before.get(n).copied().flatten()?;
                let off = |p: &DVec3| p.z - middle.z - slope.dot((*p - middle).truncate());
                let near = points.iter().filter(|(_, p)| off(p).abs() < BESIDE.1).count();
                (near >= 3 && near as f64 >= BESIDE.0 * points.len() as f64)
                    .then_some((middle, slope))
            });
        }
    }
    let marked = planes.iter().map(Option::is_some).collect();
    (cells, marked)
}
