//! Terrain files of any kind → one square grid of heights in metres about a place.
//!
//! ```text
//! files ─open→ systems, units, extents ─at→ place ─target→ lattice ─┬ rasters ─┬─ holes → Intake
//!                                                                    ├ cloud ───┤
//!                                                                    └ survey ──┘
//! ```
//!
//! The lattice lies in a system whose metres are metres on the ground: the file's own where that
//! is one, else the place's UTM zone. Everything the files leave open is refused or said. Memory
//! goes with the lattice, never with the files. Known answers: `prop_terrain`, `val_projections`.

mod bare;
mod caught;
mod cloud;
mod guard;
mod holes;
mod near;
mod octree;
mod open;
mod overview;
mod place;
mod rasters;
mod surface;
mod survey;
pub mod write;

use std::path::PathBuf;

use glam::DVec2;

use super::{
    Crs, Grid, LengthUnit, Terrain, TerrainError,
    raster::Filled,
    system::{System, Told},
};

pub(crate) use caught::caught;
pub use cloud::Points;
pub use holes::{FURTHEST_BETWEEN_M, FURTHEST_OUTSIDE_M, MOST_FILLED};
pub use near::{MOST_POINTS, Near, NearPoint, near, place_on};
pub use overview::{NODES_A_SIDE, Overview, overview};

/// Least and greatest distance from the place to each side, m.
pub const AROUND_RANGE_M: (f64, f64) = (5.0, 5_000.0);
/// Least and greatest distance between heights, m.
pub const CELL_RANGE_M: (f64, f64) = (0.05, 50.0);
/// Most nodes made of points: triangulating them takes some 200 bytes each.
pub const MOST_POINT_NODES: u64 = 2_000_000;
/// Distance between heights made of points where none is asked for, m (ours).
pub const POINT_CELL_M: f64 = 0.5;

/// What is wanted of which files.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Files, all of one kind.
    pub files: Vec<PathBuf>,
    /// The place as typed: "X,Y" in the files' coordinates, or "latitude,longitude".
    pub at: Option<String>,
    /// From the place to each side, m.
    pub around_m: f64,
    /// Distance between heights, m; the raster's own, or [`POINT_CELL_M`], if left out.
    pub cell_m: Option<f64>,
    /// Coordinate system of files that don't name theirs.
    pub crs: Option<Told>,
    /// Unit of heights of files that don't name theirs.
    pub heights_in: Option<LengthUnit>,
    /// Find the ground among all points, whatever their classes.
    pub find_ground: bool,
}

/// How far a long step has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Points or nodes done.
    pub done: u64,
    /// Of so many.
    pub total: u64,
}

/// Heights about a place, none missing, and what a user should know of them.
#[derive(Clone, Debug)]
pub struct Intake {
    /// The system of the lattice, in metres.
    pub system: System,
    /// The place asked for, m in that system.
    pub at_m: DVec2,
    /// The lattice.
    pub lattice: Lattice,
    /// Heights, row by row from the south, x fastest, m.
    pub heights_m: Vec<f32>,
    /// Distance of each node from a known height, m; 0 where it is one itself.
    pub from_known_m: Vec<f32>,
    /// How it came about.
    pub about: About,
}

/// What was understood of the files.
#[derive(Clone, Debug, Default)]
pub struct About {
    /// One line a file.
    pub files: Vec<String>,
    /// The place, how it was understood.
    pub place: String,
    /// Longitude and latitude of the place, degrees on WGS 84, if known.
    pub lonlat: Option<DVec2>,
    /// How far grid north lies clockwise of true north at the place, rad, if known.
    pub convergence_rad: Option<f64>,
    /// How the heights of the lattice were made.
    pub method: String,
    /// Of points: how many.
    pub points: Option<Points>,
    /// Nodes without a known height.
    pub filled: Filled,
    /// How they were filled.
    pub fill_method: &'static str,
    /// Heights are those of a receiver held in the hand, some 5 to 10 m off (common practice).
    pub hand_held: bool,
    /// What a user should know.
    pub warnings: Vec<String>,
}

/// Nodes of a square grid in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lattice {
    /// South-west node.
    pub low_m: DVec2,
    /// Distance between nodes, m.
    pub cell_m: f64,
    /// Nodes in x.
    pub nx: usize,
    /// Nodes in y.
    pub ny: usize,
}

impl Lattice {
    /// The node of an index, row by row from the south.
    #[must_use]
    pub fn node_m(&self, k: usize) -> DVec2 {
        let (i, j) = (k % self.nx.max(1), k / self.nx.max(1));
        self.low_m + DVec2::new(i as f64, j as f64) * self.cell_m
    }

    /// The north-east node.
    #[must_use]
    pub fn high_m(&self) -> DVec2 {
        self.node_m((self.nx * self.ny).saturating_sub(1))
    }

    /// How many nodes.
    #[must_use]
    pub fn count(&self) -> usize {
        self.nx * self.ny
    }

    /// The node nearest to a place, if the place is in its cell.
    #[must_use]
    fn nearest(&self, at_m: DVec2) -> Option<usize> {
        let cell = (at_m - self.low_m) / self.cell_m + 0.5;
        let inside =
            cell.x >= 0.0 && cell.y >= 0.0 && cell.x < self.nx as f64 && cell.y < self.ny as f64;
        inside.then(|| cell.y as usize * self.nx + cell.x as usize)
    }

    /// Nodes about a place, the place itself one of them.
    fn about(at_m: DVec2, around_m: f64, cell_m: f64) -> Self {
        let n = (around_m / cell_m + 1e-9).floor().max(1.0);
        let nx = 2 * n as usize + 1;
        Self { low_m: at_m - n * cell_m, cell_m, nx, ny: nx }
    }
}

/// Takes the ground about a place out of files. `progress` hears how far a long step is and answers
/// whether to go on.
///
/// # Errors
/// What can't be read, told or trusted, with the file and what is allowed; `stopped` where
/// `progress` said no.
pub fn take(
    wanted: &Wanted,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Intake, TerrainError> {
    check_range("--around", wanted.around_m, AROUND_RANGE_M)?;
    if let Some(cell_m) = wanted.cell_m {
        check_range("--cell", cell_m, CELL_RANGE_M)?;
    }
    let files = open::open(wanted)?;
    let place = place::place(wanted.at.as_deref(), &files)?;
    let mut about = About {
        files: files.iter().map(|f| f.words.clone()).collect(),
        place: place.words.clone(),
        lonlat: place.lonlat,
        ..About::default()
    };
    for file in &files {
        for warning in &file.warnings {
            if !about.warnings.contains(warning) {
                about.warnings.push(warning.clone());
            }
        }
    }
    let system = place.system;
    about.convergence_rad = system.scale_and_convergence(place.at_m).map(|(_, c)| c);
    let mut sheet = match open::kind(&files) {
        open::Kind::Raster => {
            rasters::sheet(wanted, &files, &system, place.at_m, &mut about, progress)?
        }
        open::Kind::Cloud => {
            cloud::sheet(wanted, &files, &system, place.at_m, &mut about, progress)?
        }
        open::Kind::Survey => survey::sheet(wanted, &files, &system, place.at_m, &mut about)?,
    };
    let name = files.first().map_or("", |f| f.name.as_str());
    sheet.trim(name)?;
    let asked = 2.0 * wanted.around_m - 2.0 * sheet.lattice.cell_m;
    let span = sheet.lattice.high_m() - sheet.lattice.low_m;
    if span.min_element() < asked {
        let (low, high) = (place.at_m - sheet.lattice.low_m, sheet.lattice.high_m() - place.at_m);
        about.warnings.push(format!(
            "{name}: the heights end before --around does: they reach {:.0} m west, {:.0} m east, \
             {:.0} m south and {:.0} m north of the place",
            low.x, high.x, low.y, high.y
        ));
    }
    let from_known_m = sheet.fill(name, place.at_m)?;
    about.filled = Filled::count(from_known_m.iter().map(|d| f64::from(*d)));
    Ok(Intake {
        system,
        at_m: place.at_m,
        lattice: sheet.lattice,
        heights_m: sheet.heights_m,
        from_known_m,
        about,
    })
}

fn check_range(flag: &str, value_m: f64, (low, high): (f64, f64)) -> Result<(), TerrainError> {
    if (low..=high).contains(&value_m) {
        return Ok(());
    }
    Err(TerrainError::new(flag, "length", format!("{value_m} m"), format!("{low} m to {high} m")))
}

/// The error of a run that was stopped from outside.
fn stopped() -> TerrainError {
    TerrainError::new("terrain", "run", "a stop", "leave it running to its end")
}

/// Checks how many nodes a lattice has before any memory of that size is taken.
fn check_nodes(lattice: &Lattice, most: u64) -> Result<(), TerrainError> {
    if lattice.count() as u64 <= most {
        return Ok(());
    }
    Err(TerrainError::new(
        "--around and --cell",
        "nodes",
        format!("{} by {} heights", lattice.nx, lattice.ny),
        format!(
            "at most {most}: a wider --cell ({:.2} m would do) or a smaller --around",
            lattice.cell_m * (lattice.count() as f64 / most as f64).sqrt() + 0.005
        ),
    ))
}

impl Intake {
    /// The ground with the place as its origin: x, y and height 0.
    #[must_use]
    pub fn terrain(&self) -> Terrain {
        let mut grid = Grid {
            origin_m: self.lattice.low_m - self.at_m,
            cell_m: self.lattice.cell_m,
            nx: self.lattice.nx,
            ny: self.lattice.ny,
            heights_m: self.heights_m.clone(),
        };
        let here = grid.nearest_surface(DVec2::ZERO).height_m;
        grid.heights_m.iter_mut().for_each(|h| *h = (f64::from(*h) - here) as f32);
        let mut terrain = Terrain::from(grid);
        terrain.crs = Some(Crs {
            epsg: self.system.epsg.map(u32::from),
            name: self.system.name.clone(),
            offset_m: self.at_m.extend(here),
            unit_m: 1.0,
        });
        terrain
    }

    /// Least and greatest height, m.
    #[must_use]
    pub fn height_range_m(&self) -> (f64, f64) {
        let each = self.heights_m.iter().map(|h| f64::from(*h));
        each.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| (low.min(h), high.max(h)))
    }
}
