//! Point clouds → the lattice: streamed once, a few numbers a node kept.
//!
//! Of each node's cell the mean place of its ground points is kept (class 2, ASPRS LAS 1.4 R15,
//! table 17), and of all points but noise the lowest one, for clouds that nobody classed. Memory
//! goes with the lattice: 100 million points take no more than a thousand.

use std::path::Path;

use glam::{DVec2, DVec3};
use las::Reader;

use super::{
    About, Lattice, MOST_POINT_NODES, POINT_CELL_M, Progress, Wanted, bare,
    caught::caught,
    check_nodes, guard,
    holes::{FURTHEST_BETWEEN_M, Sheet},
    octree,
    open::{Opened, Said, What},
    stopped, surface,
};
use crate::terrain::{
    TerrainError,
    raster::HEIGHT_RANGE_M,
    system::{Keys, System},
};

/// Points read at a time.
const BATCH: u64 = 50_000;
/// Classes that are noise (LAS 1.4: low and high).
pub(super) const NOISE: [u8; 2] = [7, 18];
/// The class of ground.
pub(super) const GROUND: usize = 2;
/// Places along a side of the table that carries a cloud's coordinates to the lattice: between
/// them the error is under a millimetre over 10 km (UTM's scale changes by 1e-8 a metre at most).
const TABLE_SIDE: usize = 65;

/// How many points became how much ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Points {
    /// Points read.
    pub read: u64,
    /// Of them marked as withheld near the lattice, and left out.
    pub withheld: u64,
    /// Of them within the lattice.
    pub within: u64,
    /// Of them ground.
    pub ground: u64,
    /// Nodes whose cell holds ground points.
    pub nodes: usize,
    /// Mean distance between neighbouring nodes with points, m.
    pub spacing_m: f64,
    /// Whether the ground was found by a filter, for want of classes.
    pub found: bool,
}

/// What a cloud's header says: units, corners, points, and a few words.
pub(super) fn open(path: &Path) -> Result<(Said, DVec2, DVec2, u64, String), TerrainError> {
    guard::check(path)?;
    let name = path.display().to_string();
    let reader = reader(path)?;
    let header = reader.header();
    let version = header.version();
    let format = header.point_format();
    let count = header.number_of_points();
    if count == 0 {
        return Err(TerrainError::new(name, "points", "none", "at least a few"));
    }
    let said = said(&name, header)?;
    let bounds = header.bounds();
    let packed = if !format.is_compressed {
        "LAS"
    } else if header.vlrs().iter().any(|v| v.user_id == las::copc::USER_ID) {
        "COPC"
    } else {
        "LAZ"
    };
    let words = format!("{packed} {}.{}, {count} points", version.major, version.minor);
    let low = DVec2::new(bounds.min.x, bounds.min.y);
    let high = DVec2::new(bounds.max.x, bounds.max.y);
    Ok((said, low, high, count, words))
}

fn reader(path: &Path) -> Result<Reader, TerrainError> {
    unpacked(path, || Reader::from_path(path))
}

/// What crate `las` reads, or what is wrong with the file.
fn unpacked<T>(path: &Path, read: impl FnOnce() -> las::Result<T>) -> Result<T, TerrainError> {
    match caught(read) {
        Some(result) => result.map_err(|e| unreadable(path, &e)),
        None => Err(TerrainError::new(
            path.display().to_string(),
            "points",
            "packed points that can't be unpacked",
            "a whole LAS or LAZ file",
        )),
    }
}

fn unreadable(path: &Path, error: &las::Error) -> TerrainError {
    let name = path.display().to_string();
    TerrainError::new(name, "points", error.to_string(), "a whole LAS or LAZ file")
}

/// Coordinate system and heights, by WKT or by GeoTIFF keys: what the header's flag names goes
/// first, and what it leaves open is taken from the other.
fn said(name: &str, header: &las::Header) -> Result<Said, TerrainError> {
    let wkt = header
        .get_wkt_crs_bytes()
        .map(|b| String::from_utf8_lossy(b).trim_matches('\0').trim().to_owned())
        .filter(|text| !text.is_empty());
    let by_text = wkt.as_deref().map(|text| Said::by_text(name, text));
    let by_keys = match header.get_geotiff_crs() {
        Ok(Some(found)) => Said::by_keys(name, &keys(&found)),
        _ => Ok(Said::default()),
    };
    let certain = |said: &Said| said.system.as_ref().is_some_and(|s| s.on_earth);
    match (by_text, by_keys) {
        (None, by_keys) => by_keys,
        (Some(text), Err(_)) => Ok(text),
        (Some(text), Ok(keys)) => {
            let by_keys =
                certain(&keys) && (!header.has_wkt_crs() || text.not_understood.is_some());
            let (heights, other) = (text.heights.clone(), keys.heights.clone());
            let said = if by_keys { keys } else { text };
            Ok(Said { heights: heights.or(other), ..said })
        }
    }
}

fn keys(found: &las::crs::GeoTiffCrs) -> Keys {
    use las::crs::GeoTiffData as Data;
    let short = |id: u16| {
        found.entries.iter().find(|e| e.id == id).and_then(|e| match e.data {
            Data::U16(code) if !matches!(code, 0 | 32767) => Some(code),
            _ => None,
        })
    };
    let text = |id: u16| {
        found.entries.iter().find(|e| e.id == id).and_then(|e| match &e.data {
            Data::String(text) => Some(text.clone()),
            _ => None,
        })
    };
    Keys {
        model: short(1024),
        projected: short(3072),
        geographic: short(2048),
        linear_unit: short(3076),
        vertical: short(4096),
        vertical_unit: short(4099),
        citation: text(3073).or_else(|| text(1026)).unwrap_or_default(),
    }
}

/// What is kept of the points in one node's cell.
#[derive(Clone, Copy)]
struct Cell {
    /// Sum of places of ground points from the node, m.
    sum: DVec3,
    count: u32,
    /// The lowest point but noise, from the node, m.
    low: [f32; 3],
}

/// Heights of the clouds' ground on a lattice about the place.
pub(super) fn sheet(
    wanted: &Wanted,
    files: &[Opened],
    system: &System,
    at_m: DVec2,
    about: &mut About,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Sheet, TerrainError> {
    let cell_m = wanted.cell_m.unwrap_or(POINT_CELL_M);
    let inner = Lattice::about(at_m, wanted.around_m, cell_m);
    // Points beyond the last nodes say how the ground goes on there.
    let lattice = Lattice::about(at_m, wanted.around_m + FURTHEST_BETWEEN_M, cell_m);
    check_nodes(&lattice, MOST_POINT_NODES)?;
    let none = Cell { sum: DVec3::ZERO, count: 0, low: [0.0, 0.0, f32::INFINITY] };
    let mut cells = vec![none; lattice.count()];
    let mut classes = [0_u64; 256];
    let Streamed { read, withheld } = stream(files, system, &lattice, progress, |file, point| {
        let Point { at, height_m: height, class } = point;
        let Some(k) = lattice.nearest(at) else { return Ok(()) };
        let (Some(cell), Some(of_class)) = (cells.get_mut(k), classes.get_mut(usize::from(class)))
        else {
            return Ok(());
        };
        *of_class += 1;
        if !(HEIGHT_RANGE_M.0..=HEIGHT_RANGE_M.1).contains(&height) {
            if usize::from(class) == GROUND {
                let (low, high) = HEIGHT_RANGE_M;
                return Err(TerrainError::new(
                    file.name.clone(),
                    "height",
                    format!("a ground point at {}", height / file.height_unit.metres()),
                    format!("{low} to {high} m, in the unit of its heights"),
                ));
            }
            return Ok(());
        }
        let off = at - lattice.node_m(k);
        if usize::from(class) == GROUND {
            cell.sum += off.extend(height);
            cell.count = cell.count.saturating_add(1);
        }
        if !NOISE.contains(&class) && (height as f32) < cell.low[2] {
            cell.low = [off.x as f32, off.y as f32, height as f32];
        }
        Ok(())
    })?;
    let name = files.first().map_or("", |f| f.name.as_str());
    let within: u64 = classes.iter().sum();
    if within == 0 {
        return Err(TerrainError::new(
            name,
            "points",
            "none near the place",
            "a place that the points cover",
        ));
    }
    let found = wanted.find_ground || !classed(name, &classes)?;
    let points = if found { filtered(&cells, &lattice) } else { means(&cells, &lattice) };
    let spacing_m = surface::spacing_m(&points);
    about.points = Some(Points {
        read,
        withheld,
        within,
        ground: if found { points.len() as u64 } else { classes[GROUND] },
        nodes: points.len(),
        spacing_m,
        found,
    });
    let kept = if found {
        about.warnings.push(format!(
            "{name}: the ground was found among all points, as nobody classed it: low brush, logs \
             and ledges may be taken for ground, and the rim of a bank may be cut off; look at the \
             picture (--out)"
        ));
        "the lowest point of each metre that isn't above an opened surface (Pingel, Clarke & \
         McBride 2013)"
    } else {
        "the mean of the ground points of each cell"
    };
    about.method = format!("{kept}, triangles between them");
    surface::sheet(&points, inner, spacing_m, about, name)
}

/// A point of a cloud, in the lattice's coordinates.
pub(super) struct Point {
    pub(super) at: DVec2,
    pub(super) height_m: f64,
    pub(super) class: u8,
}

/// How many points went by.
pub(super) struct Streamed {
    read: u64,
    /// Marked as withheld.
    withheld: u64,
}

/// Gives every point of the clouds over a lattice to `each`, a batch or a chunk in memory at a time,
/// but those that are withheld: they count as deleted (LAS 1.4 R15, tables 9 and 16).
pub(super) fn stream(
    files: &[Opened],
    system: &System,
    lattice: &Lattice,
    progress: &mut dyn FnMut(Progress) -> bool,
    mut each: impl FnMut(&Opened, Point) -> Result<(), TerrainError>,
) -> Result<Streamed, TerrainError> {
    let count = |file: &Opened| if let What::Cloud { points } = file.what { points } else { 0 };
    let total: u64 = files.iter().map(count).sum();
    let (mut read, mut withheld, mut passed) = (0, 0, 0);
    for file in files {
        let Some(warp) = Warp::new(file, system, lattice)? else {
            passed += count(file);
            continue;
        };
        let mut reader = reader(&file.path)?;
        let mut data = unpacked(&file.path, || reader.read_points(0))?;
        let mut octree = octree::Near::open(&file.path, (warp.low, warp.high));
        let unit_m = file.height_unit.metres();
        loop {
            let got = match &mut octree {
                Some(octree) => match octree.next() {
                    Some(read) => {
                        data = unpacked(&file.path, || read)?;
                        data.len() as u64
                    }
                    None => 0,
                },
                None => unpacked(&file.path, || reader.fill_points(BATCH, &mut data))?,
            };
            if got == 0 {
                break;
            }
            let marks = data.classification().zip(withheld_marks(&data));
            let places = data.x().zip(data.y()).zip(data.z()).zip(marks);
            for (((x, y), z), (class, is_withheld)) in places {
                if let Some(at) = warp.map(DVec2::new(x, y)) {
                    if is_withheld {
                        withheld += 1;
                        continue;
                    }
                    each(file, Point { at, height_m: z * unit_m, class })?;
                }
            }
            read += got;
            if !progress(Progress { done: read + passed, total }) {
                return Err(stopped());
            }
        }
    }
    Ok(Streamed { read, withheld })
}

/// Whether each point is marked as withheld: in the byte of flags that every format has as its
/// sixteenth, the last bit of formats 0 to 5, the third of formats 6 to 10.
fn withheld_marks(data: &las::PointData) -> impl Iterator<Item = bool> + '_ {
    let bit = if data.format().is_extended { 0b100 } else { 0b1000_0000 };
    data.raw_bytes()
        .chunks_exact(data.record_len().max(1))
        .map(move |record| record.get(15).is_some_and(|flags| flags & bit != 0))
}

/// Whether the points of a cloud have classes; classes without any ground are an error.
fn classed(name: &str, classes: &[u64; 256]) -> Result<bool, TerrainError> {
    if classes[GROUND] > 0 {
        return Ok(true);
    }
    // 0 and 1 are "never classified" and "unclassified".
    let others: Vec<String> = classes
        .iter()
        .enumerate()
        .skip(2)
        .filter(|(_, n)| **n > 0)
        .map(|(class, n)| format!("{n} of class {class}"))
        .collect();
    if others.is_empty() {
        return Ok(false);
    }
    Err(TerrainError::new(
        name,
        "ground points",
        format!("none of class 2 near the place, but {}", others.join(", ")),
        "points of class 2; --find-ground looks for the ground among all points",
    ))
}

/// Mean places of the ground points, one a cell.
fn means(cells: &[Cell], lattice: &Lattice) -> Vec<DVec3> {
    cells
        .iter()
        .enumerate()
        .filter(|(_, c)| c.count > 0)
        .map(|(k, c)| {
            let mean = c.sum / f64::from(c.count);
            (lattice.node_m(k) + mean.truncate()).extend(mean.z)
        })
        .collect()
}

/// Lowest points that a filter takes for ground.
fn filtered(cells: &[Cell], lattice: &Lattice) -> Vec<DVec3> {
    let lows = cells.iter().enumerate().filter(|(_, c)| c.low[2].is_finite()).map(|(k, c)| {
        let [x, y, z] = c.low.map(f64::from);
        (lattice.node_m(k) + DVec2::new(x, y)).extend(z)
    });
    bare::ground(lows, lattice)
}

/// A cloud's coordinates to those of the lattice, by a table over the part that is wanted.
struct Warp {
    low: DVec2,
    high: DVec2,
    /// Nothing where the coordinates are the lattice's own.
    table: Option<Vec<DVec2>>,
}

impl Warp {
    /// Nothing where the cloud doesn't reach the lattice; an error where its places can't be told.
    fn new(
        file: &Opened,
        system: &System,
        lattice: &Lattice,
    ) -> Result<Option<Self>, TerrainError> {
        let half = DVec2::splat(0.5 * lattice.cell_m);
        let (low_m, high_m) = (lattice.low_m - half, lattice.high_m() + half);
        if file.system.same(system) {
            let warp = Self { low: low_m, high: high_m, table: None };
            return Ok(warp.meets(file).then_some(warp));
        }
        let side = |k: usize| k as f64 / (TABLE_SIDE - 1) as f64;
        let border = (0..TABLE_SIDE).flat_map(|k| {
            [(side(k), 0.0), (side(k), 1.0), (0.0, side(k)), (1.0, side(k))]
                .map(|(u, v)| low_m + (high_m - low_m) * DVec2::new(u, v))
        });
        let mut found = border.filter_map(|p| system.to(p, &file.system));
        let Some(first) = found.next() else { return Ok(None) };
        let (low, high) = found.fold((first, first), |(low, high), p| (low.min(p), high.max(p)));
        let mut warp = Self { low, high, table: None };
        if !warp.meets(file) {
            return Ok(None);
        }
        let mut table = Vec::with_capacity(TABLE_SIDE * TABLE_SIDE);
        for j in 0..TABLE_SIDE {
            for i in 0..TABLE_SIDE {
                let at = low + (high - low) * DVec2::new(side(i), side(j));
                table.push(file.system.to(at, system).ok_or_else(|| {
                    TerrainError::new(
                        file.name.clone(),
                        "place",
                        format!("{}, {}", at.x, at.y),
                        "places that its coordinate system has",
                    )
                })?);
            }
        }
        warp.table = Some(table);
        Ok(Some(warp))
    }

    fn meets(&self, file: &Opened) -> bool {
        self.low.cmple(file.high).all() && self.high.cmpge(file.low).all()
    }

    fn map(&self, at: DVec2) -> Option<DVec2> {
        if !(at.cmpge(self.low).all() && at.cmple(self.high).all()) {
            return None;
        }
        let Some(table) = &self.table else { return Some(at) };
        let cell = (at - self.low) / (self.high - self.low) * (TABLE_SIDE - 1) as f64;
        let (i, j) = ((cell.x as usize).min(TABLE_SIDE - 2), (cell.y as usize).min(TABLE_SIDE - 2));
        let (u, v) = (cell.x - i as f64, cell.y - j as f64);
        let corner = |di: usize, dj: usize| table.get((j + dj) * TABLE_SIDE + i + di).copied();
        let (south, north) =
            (corner(0, 0)?.lerp(corner(1, 0)?, u), corner(0, 1)?.lerp(corner(1, 1)?, u));
        Some(south.lerp(north, v))
    }
}
