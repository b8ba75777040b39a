//! What files say of a site beyond its heights, proposed for the user to take or leave.
//!
//! ```text
//! points ─┬ rough ─ brush ─ faces ─ roofs ─ trees ┐
//! footprints (GeoJSON) ───────────────────────────┼→ Proposals ─write→ RON file ─accept→ scene
//! meshes (OBJ, glTF) ─────────────────────────────┘
//! ```
//!
//! Nothing gets into a scene by itself: each proposal says where it came from, how many points it
//! rests on and how sure it is, and has to be looked at on site. What points can't say (the spacing
//! of stems, the thickness of a trunk, the soil) is left as not known. Coordinates are metres from
//! the ground's place. Thresholds are ours unless a source stands beside them. Known answers:
//! `verif_proposed`.

pub mod accept;
mod brush;
mod cells;
mod faces;
pub mod footprint;
pub mod mesh;
mod roofs;
mod rough;
mod solid;
mod trees;
pub mod write;

use std::path::{Path, PathBuf};

use glam::DVec2;

use crate::terrain::{
    LengthUnit, Side, Terrain, TerrainError, Window, geotiff,
    intake::{self, NearPoint, Progress, Wanted},
    system::System,
};

pub use rough::{LEAST_WINDOW_POINTS, NOISE_M, WINDOW_M};
pub use solid::{Put, Up};

/// Most of the ground to each side that is looked at, m.
pub const AROUND_M: f64 = 250.0;
/// The class of ground (ASPRS LAS 1.4 R15, table 17).
const GROUND: u8 = 2;

/// The ground that things are proposed on: a GeoTIFF in metres, as `terrain` writes it.
#[derive(Clone, Debug)]
pub struct Base {
    /// Its file.
    pub file: PathBuf,
    /// Heights from the place.
    pub terrain: Terrain,
    /// Its coordinate system.
    pub system: System,
    /// The place, in its coordinates, m.
    pub at_m: DVec2,
    /// Height of the ground there, m.
    pub height_m: f64,
    /// How far it reaches from the place at most, m.
    pub around_m: f64,
}

impl Base {
    /// Opens the ground.
    ///
    /// # Errors
    /// What can't be read, or ground whose coordinates aren't metres.
    pub fn open(file: &Path) -> Result<Self, TerrainError> {
        let sheet = geotiff::Sheet::open(file)?;
        let system = System::from_keys(&sheet.name, &sheet.keys())?
            .unwrap_or_else(|| System::nowhere(LengthUnit::Metre));
        if system.unit_m != Some(1.0) {
            return Err(TerrainError::new(
                sheet.name,
                "coordinates",
                system.unit_words(),
                "ground in metres, as tumblewood terrain writes it",
            ));
        }
        let (low, high) = (sheet.south_west, sheet.north_east());
        let at_m = sheet.place().unwrap_or(0.5 * (low + high));
        let around_m = (at_m - low).max(high - at_m).max_element().min(AROUND_M);
        let window = Window { centre: at_m, half: DVec2::splat(around_m) };
        let terrain = geotiff::read(file, None, Some(window))?.into_terrain_at(at_m)?;
        let height_m = terrain.crs.as_ref().map_or(0.0, |crs| crs.offset_m.z);
        Ok(Self { file: file.to_owned(), terrain, system, at_m, height_m, around_m })
    }

    /// South-west and north-east corner, m from the place.
    #[must_use]
    pub fn bounds_m(&self) -> [DVec2; 2] {
        let (low, high) = self.terrain.bounds();
        [low, high]
    }

    fn ground_m(&self, at: DVec2) -> Option<f64> {
        self.terrain.surface(at.x, at.y).map(|s| s.height_m)
    }
}

/// How sure a proposal is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Told as such by who made the file, or seen by many points.
    Fair,
    /// A guess by shape.
    Poor,
}

/// One thing that a scene could hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Its id in the file of proposals, and in the scene.
    pub id: String,
    /// The file it came from.
    pub from: String,
    /// Points, or corners of a footprint or mesh, that it rests on.
    pub points: u64,
    /// How sure it is.
    pub sure: Sure,
    /// Why it is proposed, and what to look at on site.
    pub why: String,
    /// What it would be.
    pub item: Item,
}

/// What a scene could hold, in metres from the place; ranges are least and greatest.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// Bumps of the whole ground, peak to trough.
    Roughness {
        /// Height.
        bumps_m: [f64; 2],
    },
    /// A patch of undergrowth.
    Brush {
        /// Corners.
        outline_m: Vec<DVec2>,
        /// How high it stands.
        height_m: [f64; 2],
    },
    /// A step of the ground.
    Face {
        /// Its edge.
        line_m: Vec<DVec2>,
        /// How far the ground drops.
        height_m: [f64; 2],
        /// On which side it is lower.
        low_side: Side,
    },
    /// Something built; heights count from the ground at its highest corner.
    Structure {
        /// Corners.
        corners_m: Vec<DVec2>,
        /// Height of the eaves.
        wall_m: [f64; 2],
        /// Height of the roof.
        roof_m: [f64; 2],
    },
    /// A tree that stays.
    KeepTree {
        /// Under its top.
        at_m: DVec2,
        /// Height.
        height_m: [f64; 2],
        /// Where its limbs begin and how far they reach from the stem.
        limbs_m: Option<[f64; 2]>,
    },
}

/// All that was found in files.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposals {
    /// One line a file.
    pub files: Vec<String>,
    /// What could be a scene's.
    pub proposals: Vec<Proposal>,
    /// What could not be told, and what was left out.
    pub notes: Vec<String>,
}

/// A point of a cloud over ground.
#[derive(Clone, Copy, Debug)]
struct Over {
    at: DVec2,
    /// Height from the place's, m.
    z: f64,
    /// Height above the ground under it, m.
    above: f64,
    class: u8,
}

/// A cloud about the place, as the finders see it.
struct Cloud {
    /// Name of its file or files.
    name: String,
    points: Vec<Over>,
    /// Corners of what is looked at.
    bounds: [DVec2; 2],
    /// Mean distance between neighbouring points, m.
    spacing_m: f64,
    /// Whether any are of a class.
    classed: [bool; 32],
}

impl Cloud {
    fn new(base: &Base, name: &str, points: &[NearPoint]) -> Self {
        let mut classed = [false; 32];
        let points: Vec<Over> = points
            .iter()
            .filter_map(|p| {
                let [x, y, z] = p.at_m.map(f64::from);
                let at = DVec2::new(x, y);
                let above = z - base.ground_m(at)?;
                if let Some(seen) = classed.get_mut(usize::from(p.class)) {
                    *seen = true;
                }
                Some(Over { at, z, above, class: p.class })
            })
            .collect();
        let bounds = base.bounds_m();
        // Over the square metres that hold any: a cloud may end within the ground.
        let metres = cells::Cells::over(bounds, 1.0);
        let mut hit = vec![false; metres.count()];
        for p in &points {
            if let Some(cell) = metres.of(p.at).and_then(|k| hit.get_mut(k)) {
                *cell = true;
            }
        }
        let area = hit.iter().filter(|h| **h).count().max(1) as f64;
        let spacing_m = (area / points.len().max(1) as f64).sqrt();
        Self { name: name.to_owned(), points, bounds, spacing_m, classed }
    }

    fn has(&self, class: u8) -> bool {
        self.classed.get(usize::from(class)) == Some(&true)
    }
}

/// What a cloud proposes on the ground. `progress` as of [`intake::take`].
///
/// # Errors
/// A file that can't be read, or lies elsewhere.
pub fn from_points(
    base: &Base,
    wanted: &Wanted,
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Proposals, TerrainError> {
    let near = intake::near(wanted, &base.system, base.at_m, base.height_m, progress)?;
    let names: Vec<String> = wanted
        .files
        .iter()
        .filter_map(|f| f.file_name().map(|n| n.to_string_lossy().into_owned()))
        .collect();
    let cloud = Cloud::new(base, &names.join(", "), &near.points);
    let mut found = Proposals { files: near.files, ..Proposals::default() };
    found.notes.extend(near.warnings);
    if near.one_in > 1 {
        found
            .notes
            .push(format!("there are so many points that one in {} was looked at", near.one_in));
    }
    rough::find(&cloud, &mut found);
    faces::find(base, &cloud, &mut found);
    let roofed = roofs::find(base, &cloud, &mut found);
    brush::find(&cloud, &roofed, &mut found);
    trees::find(&cloud, &roofed, &mut found);
    Ok(found)
}

impl Proposals {
    /// Adds what another file proposes.
    pub fn join(&mut self, other: Self) {
        self.files.extend(other.files);
        self.notes.extend(other.notes);
        for proposal in other.proposals {
            self.push(proposal);
        }
    }

    /// Adds a proposal; an id that is there already gets a number.
    fn push(&mut self, mut proposal: Proposal) {
        let own = proposal.id.clone();
        let mut number = 2;
        while self.proposals.iter().any(|p| p.id == proposal.id) {
            proposal.id = format!("{own}-{number}");
            number += 1;
        }
        self.proposals.push(proposal);
    }
}

impl Item {
    /// What it is, in the words of scenes.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::Roughness { .. } => "roughness",
            Self::Brush { .. } => "undergrowth",
            Self::Face { .. } => "breakline",
            Self::Structure { .. } => "structure",
            Self::KeepTree { .. } => "keep tree",
        }
    }
}
