//! Trees: tops of what stands high above the ground, and how far their crowns spread.
//!
//! The highest point of each square metre that isn't ground, building or roof; a square is a top if
//! nothing within 1.5 m and a sixteenth of its height more stands higher. Squares join the crown of
//! their highest neighbour, from the tops down (a watershed). Spread is the radius of a circle of
//! the crown's area. A scan's points miss the very top, by up to a metre (common practice), so the
//! height proposed reaches that much higher. The trunk isn't seen: its diameter stays "don't know",
//! its place is taken under the top. Limits are ours. Left out: trees under trees, under 4 m, and
//! what stands at the place itself, which is taken for the tree that comes down. Known answer:
//! `verif_crowns_come_back_as_trees`.

use glam::DVec2;

use super::{
    Cloud, GROUND, Item, Over, Proposal, Proposals, Sure,
    cells::{Cells, at_share},
};

/// Lowest crown that counts, above the ground, m, and lowest tree.
const CROWN_M: f64 = 2.0;
const TREE_M: f64 = 4.0;
/// Nothing stands higher than a top within so far, m and share of its height.
const ALONE: (f64, f64) = (1.5, 1.0 / 16.0);
/// Fewest points of a crown, and its least area, m².
const LEAST_POINTS: usize = 12;
const LEAST_AREA_M2: f64 = 3.0;
/// By how much the top is missed at most, m.
const MISSED_M: f64 = 1.0;
/// Nearer to the place than this a tree is the one that comes down, m.
const AT_PLACE_M: f64 = 2.5;
/// Most of them; the nearest go first.
const MOST: usize = 40;
/// Classes of plants (ASPRS: low, medium, high).
const PLANTS: [u8; 3] = [3, 4, 5];

pub(super) fn find(cloud: &Cloud, roofed: &dyn Fn(DVec2) -> bool, found: &mut Proposals) {
    let classed = PLANTS.iter().any(|c| cloud.has(*c));
    let is_plant = |p: &&Over| {
        let own = if classed { PLANTS.contains(&p.class) } else { matches!(p.class, 0 | 1) };
        own && p.class != GROUND && p.above >= CROWN_M && !roofed(p.at)
    };
    let cells = Cells::over(cloud.bounds, (1.5 * cloud.spacing_m).clamp(1.0, 2.0));
    let mut top: Vec<f64> = vec![0.0; cells.count()];
    let mut top_at: Vec<DVec2> = vec![DVec2::ZERO; cells.count()];
    for p in cloud.points.iter().filter(is_plant) {
        if let Some(k) = cells.of(p.at)
            && let (Some(height), Some(at)) = (top.get_mut(k), top_at.get_mut(k))
            && p.above > *height
        {
            (*height, *at) = (p.above, p.at);
        }
    }
    let height = |k: usize| top.get(k).copied().unwrap_or(0.0);
    let mut order: Vec<usize> = (0..top.len()).filter(|k| height(*k) >= CROWN_M).collect();
    order.sort_by(|a, b| height(*b).total_cmp(&height(*a)).then(a.cmp(b)));
    let mut owner = vec![u32::MAX; cells.count()];
    let mut tops: Vec<usize> = Vec::new();
    for &k in &order {
        let own = if is_top(&cells, &top, k) {
            tops.push(k);
            tops.len() as u32 - 1
        } else {
            let joined = cells
                .around(k)
                .filter(|n| owner.get(*n).is_some_and(|o| *o != u32::MAX))
                .max_by(|a, b| height(*a).total_cmp(&height(*b)).then(b.cmp(a)));
            joined.and_then(|n| owner.get(n)).copied().unwrap_or(u32::MAX)
        };
        if let Some(slot) = owner.get_mut(k) {
            *slot = own;
        }
    }
    let mut crowns: Vec<Vec<f64>> = vec![Vec::new(); tops.len()];
    for p in cloud.points.iter().filter(is_plant) {
        let own = cells.of(p.at).and_then(|k| owner.get(k)).copied().unwrap_or(u32::MAX);
        if let Some(list) = crowns.get_mut(own as usize) {
            list.push(p.above);
        }
    }
    let mut squares = vec![0_u32; tops.len()];
    for own in owner.iter().filter(|o| **o != u32::MAX) {
        if let Some(count) = squares.get_mut(*own as usize) {
            *count += 1;
        }
    }
    let mut trees: Vec<Proposal> = Vec::new();
    let mut at_place = None;
    for ((&k, mut crown), squares) in tops.iter().zip(crowns).zip(squares) {
        let area = f64::from(squares) * cells.cell_m * cells.cell_m;
        if height(k) < TREE_M || crown.len() < LEAST_POINTS || area < LEAST_AREA_M2 {
            continue;
        }
        let at_m = top_at.get(k).copied().unwrap_or(DVec2::ZERO);
        let high = height(k);
        if at_m.length() < AT_PLACE_M {
            at_place = Some(high);
            continue;
        }
        crown.sort_by(f64::total_cmp);
        let spread = (area / std::f64::consts::PI).sqrt();
        let from = at_share(&crown, 0.05).min(0.8 * high);
        let sure = if classed { Sure::Fair } else { Sure::Poor };
        let guess = if classed {
            "Points classed as plants"
        } else {
            "Points that nobody classed, high above the ground and in no plane"
        };
        trees.push(Proposal {
            id: String::new(),
            from: cloud.name.clone(),
            points: crown.len() as u64,
            sure,
            why: format!(
                "{guess}. The trunk isn't seen: measure it, and where it stands, as a tree that \
                 leans has its top elsewhere"
            ),
            item: Item::KeepTree {
                at_m,
                height_m: [high, high + MISSED_M],
                limbs_m: Some([from, spread]),
            },
        });
    }
    if let Some(high) = at_place {
        found.notes.push(format!(
            "a tree {high:.1} m high stands at the place itself: taken for the one that comes down, \
             and not proposed"
        ));
    }
    let far = |p: &Proposal| match &p.item {
        Item::KeepTree { at_m, .. } => at_m.length(),
        _ => 0.0,
    };
    trees.sort_by(|a, b| far(a).total_cmp(&far(b)));
    if trees.len() > MOST {
        found.notes.push(format!(
            "{} trees further off are left out, beyond the {MOST} nearest",
            trees.len() - MOST
        ));
        trees.truncate(MOST);
    }
    for (k, tree) in trees.iter_mut().enumerate() {
        tree.id = format!("tree-{}", k + 1);
    }
    found.proposals.append(&mut trees);
}

/// Whether nothing near stands higher than a square; of two alike the first is the top.
fn is_top(cells: &Cells, top: &[f64], k: usize) -> bool {
    let own = top.get(k).copied().unwrap_or(0.0);
    let reach_m = ALONE.0 + ALONE.1 * own;
    let reach = (reach_m / cells.cell_m).ceil() as i64;
    let (i, j) = ((k % cells.nx) as i64, (k / cells.nx) as i64);
    (-reach..=reach).all(|dj| {
        (-reach..=reach).all(|di| {
            let (a, b) = (i + di, j + dj);
            let off = DVec2::new(di as f64, dj as f64).length() * cells.cell_m;
            if off > reach_m || a < 0 || b < 0 || a >= cells.nx as i64 || b >= cells.ny as i64 {
                return true;
            }
            let n = (b * cells.nx as i64 + a) as usize;
            let other = top.get(n).copied().unwrap_or(0.0);
            other < own || (other == own && n >= k)
        })
    })
}
