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
/// So far may a cloud's own ground lie off the terrain, at its median, m (ours): coarse cells and
/// holes move single points, another datum or unit moves all.
const APART_M: f64 = 0.5;
/// Fewest points of ground that tell it.
const LEAST_GROUND: usize = 50;

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

    /// Its own ground must be the terrain's: else every height would be off by as much.
    fn check_ground(&self, base: &Base) -> Result<(), TerrainError> {
        let mut above: Vec<f64> =
            self.points.iter().filter(|p| p.class == GROUND).map(|p| p.above).collect();
        if above.len() < LEAST_GROUND {
            return Ok(());
        }
        above.sort_by(f64::total_cmp);
        let median = cells::at_share(&above, 0.5);
        if median.abs() <= APART_M {
            return Ok(());
        }
        let side = if median > 0.0 { "above" } else { "below" };
        Err(TerrainError::new(
            self.name.clone(),
            "heights",
            format!(
                "points classed as ground {:.2} m {side} {} (the median of {})",
                median.abs(),
                base.file.display(),
                above.len()
            ),
            format!(
                "a cloud and a terrain whose heights have one system and unit, {APART_M} m apart at \
                 most"
            ),
        ))
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
    cloud.check_ground(base)?;
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
            proposal.id = write::numbered(&own, number);
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Level ground at the place's height, 40 m across.
    fn base() -> Base {
        Base {
            file: "level.tif".into(),
            terrain: Terrain::from_heights(DVec2::splat(-20.0), 1.0, 41, 41, |_, _| 0.0),
            system: System::nowhere(LengthUnit::Metre),
            at_m: DVec2::ZERO,
            height_m: 0.0,
            around_m: 20.0,
        }
    }

    /// A point each half metre.
    fn points(of: impl Fn(DVec2) -> (f64, u8)) -> Vec<NearPoint> {
        (0..80 * 80)
            .map(|k| {
                let at = DVec2::new(f64::from(k % 80), f64::from(k / 80)) * 0.5 - 19.8;
                let (z, class) = of(at);
                NearPoint { at_m: [at.x, at.y, z].map(|x| x as f32), class }
            })
            .collect()
    }

    #[test]
    fn verif_a_cloud_whose_ground_is_elsewhere_is_refused() {
        let base = base();
        let check = |raised: f64, pit: f64, class: u8| {
            // A third of the ground lies otherwise, as under a coarse raster.
            let of = |p: DVec2| (raised + if p.x > 7.0 { pit } else { 0.0 }, class);
            Cloud::new(&base, "hill.laz", &points(of)).check_ground(&base)
        };
        check(0.0, 8.0, 2).expect("the same ground");
        check(0.4, -8.0, 2).expect("nearly the same ground");
        check(30.0, 0.0, 1).expect("nothing is known of the ground");
        for (raised, side) in [(30.0, "30.00 m above"), (-2.0, "2.00 m below")] {
            let said = check(raised, 0.1, 2).unwrap_err().to_string();
            for part in ["hill.laz", "level.tif", side, "allowed: ", "one system and unit"] {
                assert!(said.contains(part), "{part:?} in {said}");
            }
        }
    }

    #[test]
    fn verif_what_is_classed_as_ground_is_no_roof() {
        let base = base();
        let house = |p: DVec2| p.abs().max_element() < 5.0;
        for (class, built) in [(1, 1), (2, 0), (6, 1)] {
            let of = |p: DVec2| if house(p) { (4.0, class) } else { (0.0, 2) };
            let mut found = Proposals::default();
            drop(roofs::find(&base, &Cloud::new(&base, "hill.laz", &points(of)), &mut found));
            assert_eq!(found.proposals.len(), built, "class {class}: {found:?}");
        }
    }

    #[test]
    fn verif_a_patch_at_the_ground_of_a_bank_is_no_roof() {
        // A terrace 3 m over its foot, level with the bank behind one of its corners.
        let bank = |x: f64, y: f64| if x > -7.5 && y > 14.5 { 3.0 } else { 0.0 };
        let base = Base {
            terrain: Terrain::from_heights(DVec2::splat(-20.0), 1.0, 41, 41, bank),
            ..base()
        };
        let of = |p: DVec2| if (-10.0..-3.5).contains(&p.x) { (3.0, 1) } else { (0.0, 2) };
        let mut found = Proposals::default();
        drop(roofs::find(&base, &Cloud::new(&base, "hill.laz", &points(of)), &mut found));
        assert!(found.proposals.is_empty(), "{found:?}");
        assert!(found.notes.iter().any(|n| n.contains("left out as roofs")), "{found:?}");
    }

    #[test]
    fn verif_heights_by_flags_have_the_limits_of_those_by_files() {
        let path = Path::new("house.geojson");
        for (wall_m, roof_m, part) in [
            (Some(0.1), None, "--height: read 0.1 m"),
            (Some(f64::NAN), None, "--height"),
            (Some(3.0), Some(101.0), "--roof: read 101 m"),
        ] {
            let told = footprint::Told { epsg: None, wall_m, roof_m };
            let said = footprint::from_footprints(&base(), path, told).unwrap_err().to_string();
            assert!(said.contains(part) && said.contains("allowed: 0.2 to 100 m"), "{said}");
        }
    }
}
