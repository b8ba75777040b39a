//! A mesh as a scene's structure: footprint, eaves and ridge; the rest is lost, and that is said.
//!
//! The footprint is the convex hull of all corners in plan. Seen from above on a raster of 48 cells
//! a side, the eaves are the tenth from the lowest of the tops along the hull's rim, the ridge the
//! highest corner, both over the lowest corner: what a mesh stands on isn't known. Known answer:
//! `verif_a_gabled_mesh_keeps_its_eaves_and_ridge`.

use glam::{DVec2, DVec3};

use super::{
    Base, Item, Proposal, Proposals, Sure,
    cells::{Cells, at_share, off_line},
    mesh::Mesh,
};
use crate::{
    scene::outline::{area_m2, hull},
    terrain::{TerrainError, intake, shape::bearing},
};

/// Cells along the longer side of the raster.
const SIDE: f64 = 48.0;
/// Size of a mesh in plan, least and greatest, m.
const SIZE_M: [f64; 2] = [0.5, 500.0];
/// Height of a structure, least and greatest, m.
const HEIGHT_M: [f64; 2] = [0.2, 100.0];
/// Corners of the hull are left out within this share of its size.
const OFF_SHARE: f64 = 0.005;

/// Which of a mesh's axes is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// y up, −z ahead, as glTF has it.
    Y,
    /// z up, y ahead.
    Z,
}

/// Where a mesh goes.
#[derive(Clone, Debug, Default)]
pub struct Put {
    /// Where its origin goes, as typed; nothing where it is in the ground's own coordinates.
    pub at: Option<String>,
    /// To which azimuth of the ground's grid what is ahead in it points, rad.
    pub turn_rad: f64,
}

/// What a mesh proposes.
pub(super) fn propose(
    base: &Base,
    name: &str,
    mesh: &Mesh,
    put: &Put,
) -> Result<Proposals, TerrainError> {
    let [low, high] = base.bounds_m();
    let error = |field: &str, read: String, allowed: String| {
        Err(TerrainError::new(name, field, read, allowed))
    };
    let ahead = bearing(put.turn_rad);
    let turned = |p: DVec3| {
        let flat = ahead * p.y - ahead.perp() * p.x;
        flat.extend(p.z)
    };
    let (offset, words) = match &put.at {
        Some(text) => {
            let corners = [low + base.at_m, high + base.at_m];
            let at = intake::place_on(text, name, &base.system, corners)?;
            (at - base.at_m, "its origin put where --at says")
        }
        None => (-base.at_m, "in the ground's own coordinates"),
    };
    let triangles: Vec<[DVec3; 3]> =
        mesh.triangles.iter().map(|t| t.map(|p| turned(p) + offset.extend(0.0))).collect();
    let corners = || triangles.iter().flatten().copied();
    let plan = hull(corners().map(|p| p.truncate()).collect());
    let (least, most) =
        corners().fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(a, b), p| (a.min(p), b.max(p)));
    let size = most - least;
    let across = size.truncate().max_element();
    if plan.len() < 3 || !(SIZE_M[0]..=SIZE_M[1]).contains(&across) {
        return error(
            "size",
            format!("{across:.3} m across in plan"),
            format!(
                "{} to {} m; --heights-in tells a unit that isn't metres",
                SIZE_M[0], SIZE_M[1]
            ),
        );
    }
    if !(HEIGHT_M[0]..=HEIGHT_M[1]).contains(&size.z) {
        return error(
            "height",
            format!("{:.3} m", size.z),
            format!("{} to {} m; --up tells which way is up", HEIGHT_M[0], HEIGHT_M[1]),
        );
    }
    let inside = least.truncate().cmpge(low).all() && most.truncate().cmple(high).all();
    if !inside {
        let (a, b) = (least.truncate() + base.at_m, most.truncate() + base.at_m);
        return error(
            "place",
            format!("x {:.1} to {:.1}, y {:.1} to {:.1}, {words}", a.x, b.x, a.y, b.y),
            format!(
                "within x {:.1} to {:.1}, y {:.1} to {:.1}; --at X,Y or LAT,LON puts its origin \
                 elsewhere",
                low.x + base.at_m.x,
                high.x + base.at_m.x,
                low.y + base.at_m.y,
                high.y + base.at_m.y
            ),
        );
    }
    let corners_m = fewer(plan, OFF_SHARE * across);
    let seen = from_above(&triangles, [least.truncate(), most.truncate()]);
    let rim = 1.5 * seen.cells.cell_m;
    let covered = seen.tops.iter().filter(|t| t.is_finite()).count() as f64;
    let mut along: Vec<f64> = (0..seen.tops.len())
        .filter_map(|k| Some((seen.cells.middle_m(k), *seen.tops.get(k)?)))
        .filter(|(at, top)| top.is_finite() && from_rim(&corners_m, *at) <= rim)
        .map(|(_, top)| top - least.z)
        .collect();
    along.sort_by(f64::total_cmp);
    let roof = size.z;
    let wall = if along.is_empty() { roof } else { at_share(&along, 0.1) };
    let wall = wall.clamp(HEIGHT_M[0], roof);
    let area = area_m2(&corners_m).abs();
    let empty = 1.0 - covered * seen.cells.cell_m.powi(2) / area.max(1e-9);
    let notch = if covered == 0.0 {
        "it has no surface that is seen from above".to_owned()
    } else if empty > 0.03 {
        format!("{:.0} % of that outline the mesh doesn't cover", 100.0 * empty)
    } else {
        "the mesh fills that outline".to_owned()
    };
    let id = std::path::Path::new(name).file_stem().map_or("mesh".into(), |s| s.to_string_lossy());
    let count = mesh.corners as u64;
    let mut found = Proposals::default();
    found.files.push(format!(
        "{name}: a mesh of {count} corners and {} triangles, {:.1} by {:.1} by {:.1} m; {words}",
        triangles.len(),
        size.x,
        size.y,
        size.z
    ));
    found.notes.extend(mesh.notes.iter().map(|note| format!("{name}: {note}")));
    found.proposals.push(Proposal {
        id: super::write::id_of(&id, "mesh"),
        from: name.to_owned(),
        points: count,
        sure: Sure::Fair,
        why: format!(
            "a mesh as its outline of {} corners in plan, {area:.0} m² ({notch}), eaves at {wall:.1} \
             m and ridge at {roof:.1} m over its lowest corner. Lost are windows, inner corners, \
             overhangs and the shape of the roof. If its lowest corner is under the ground, take \
             that off both heights",
            corners_m.len()
        ),
        item: Item::Structure { corners_m, wall_m: [wall, wall], roof_m: [roof, roof] },
    });
    Ok(found)
}

/// The highest surface over each cell of a raster; −∞ where there is none.
struct Seen {
    cells: Cells,
    tops: Vec<f64>,
}

fn from_above(triangles: &[[DVec3; 3]], [low, high]: [DVec2; 2]) -> Seen {
    let cell_m = ((high - low).max_element() / SIDE).max(1e-3);
    let cells = Cells::over([low, high], cell_m);
    let mut tops = vec![f64::NEG_INFINITY; cells.count()];
    for [a, b, c] in triangles {
        let (p, u, v) = (a.truncate(), (b - a).truncate(), (c - a).truncate());
        let det = u.perp_dot(v);
        if det.abs() < 1e-12 {
            continue;
        }
        let box_low = p.min(p + u).min(p + v) - low;
        let box_high = p.max(p + u).max(p + v) - low;
        let first = (box_low / cell_m).floor().max(DVec2::ZERO);
        let last = (box_high / cell_m).floor();
        let (i1, j1) = ((last.x as usize).min(cells.nx - 1), (last.y as usize).min(cells.ny - 1));
        for j in first.y as usize..=j1 {
            for i in first.x as usize..=i1 {
                let k = j * cells.nx + i;
                let d = cells.middle_m(k) - p;
                let (s, t) = (d.perp_dot(v) / det, u.perp_dot(d) / det);
                if s >= -1e-9
                    && t >= -1e-9
                    && s + t <= 1.0 + 1e-9
                    && let Some(top) = tops.get_mut(k)
                {
                    *top = top.max(a.z + s * (b.z - a.z) + t * (c.z - a.z));
                }
            }
        }
    }
    Seen { cells, tops }
}

fn from_rim(outline: &[DVec2], at: DVec2) -> f64 {
    outline
        .iter()
        .zip(outline.iter().cycle().skip(1))
        .map(|(a, b)| off_line(at, *a, *b))
        .fold(f64::INFINITY, f64::min)
}

/// A convex outline without corners that stand out by less than `off_m`, the least first.
fn fewer(mut outline: Vec<DVec2>, off_m: f64) -> Vec<DVec2> {
    while outline.len() > 3 {
        let n = outline.len();
        let stands_out = |k: usize| match (outline.get((k + n - 1) % n), outline.get((k + 1) % n)) {
            (Some(a), Some(b)) => outline.get(k).map_or(0.0, |p| off_line(*p, *a, *b)),
            _ => f64::INFINITY,
        };
        let least = (0..n).map(|k| (k, stands_out(k))).min_by(|a, b| a.1.total_cmp(&b.1));
        match least {
            Some((k, off)) if off < off_m => outline.remove(k),
            _ => break,
        };
    }
    outline
}
