//! Terrain, ground and wind, and places on them.

use std::path::PathBuf;

pub use crate::ground::words::{Heel, SoilWord, Thumb, Wetness};

use super::super::doubt::Doubtful;

/// Terrain, ground and wind.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteSpec {
    /// Where heights come from.
    pub terrain: TerrainSpec,
    /// What azimuths count from; always there when the terrain is georeferenced.
    pub north: Option<North>,
    /// Cut banks, walls and ditches.
    pub breaklines: Vec<Breakline>,
    /// Ground where no patch says otherwise.
    pub ground: GroundSpec,
    /// Patches of other ground; a later one wins.
    pub patches: Vec<PatchSpec>,
    /// Wind, if any.
    pub wind: Option<Wind>,
}

/// What azimuths count from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum North {
    /// Compass north.
    Magnetic {
        /// East of true north is positive, rad.
        declination_rad: f64,
    },
    /// True north.
    True,
    /// The grid's y.
    Grid,
}

/// Where heights come from.
#[derive(Clone, Debug, PartialEq)]
pub enum TerrainSpec {
    /// Tape and inclinometer.
    Transects(Vec<Transect>),
    /// An ESRI ASCII grid.
    AsciiGrid(RasterSpec),
    /// A GeoTIFF.
    GeoTiff(RasterSpec),
    /// Heights inside the scene file.
    Inline(InlineGrid),
}

impl TerrainSpec {
    /// The legs of a survey, or those that a grid is bent to.
    #[must_use]
    pub fn legs(&self) -> &[Transect] {
        match self {
            Self::Transects(lines) => lines,
            Self::AsciiGrid(raster) | Self::GeoTiff(raster) => &raster.taped,
            Self::Inline(grid) => &grid.taped,
        }
    }

    /// The same, to be changed.
    pub fn legs_mut(&mut self) -> &mut [Transect] {
        match self {
            Self::Transects(lines) => lines,
            Self::AsciiGrid(raster) | Self::GeoTiff(raster) => &mut raster.taped,
            Self::Inline(grid) => &mut grid.taped,
        }
    }

    /// True when the terrain has coordinates of its own, so that its y is grid north.
    #[must_use]
    pub fn is_georeferenced(&self) -> bool {
        match self {
            Self::Transects(_) => false,
            Self::AsciiGrid(_) | Self::GeoTiff(_) => true,
            Self::Inline(grid) => grid.stump.is_some(),
        }
    }
}

/// A line of legs on one azimuth.
#[derive(Clone, Debug, PartialEq)]
pub struct Transect {
    /// Stable id.
    pub id: String,
    /// Where it starts.
    pub from: Station,
    /// Clockwise from the scene's north, rad.
    pub azimuth_rad: Doubtful,
    /// Legs in order, each starting where the last ended.
    pub legs: Vec<Leg>,
    /// A station known before that the last leg was walked back to.
    pub closes_on: Option<Station>,
}

/// One leg of a transect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Along the slope, m.
    pub slope_distance_m: Doubtful,
    /// Up is positive, rad.
    pub inclination_rad: Doubtful,
}

/// A point that a tape can start from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Station {
    /// The stump.
    Stump,
    /// The end of a leg of a transect.
    LegEnd {
        /// Index into the transects.
        transect: usize,
        /// Legs walked from the transect's start, at least 1.
        legs: usize,
    },
}

/// A raster file.
#[derive(Clone, Debug, PartialEq)]
pub struct RasterSpec {
    /// Path, relative to the scene's folder unless absolute.
    pub file: PathBuf,
    /// The stump in the file's coordinates.
    pub stump: [f64; 2],
    /// Half the side of the square that is used, m.
    pub around_m: f64,
    /// Legs by tape that it is bent to; unlike those of a survey they go down steps too.
    pub taped: Vec<Transect>,
}

/// Heights inside the scene file; south row first, west to east.
#[derive(Clone, Debug, PartialEq)]
pub struct InlineGrid {
    /// Distance between nodes, m.
    pub cell_m: f64,
    /// Nodes from west to east.
    pub columns: usize,
    /// Nodes from south to north.
    pub rows: usize,
    /// First node, metres east and north of the stump.
    pub south_west_m: [f64; 2],
    /// Heights, m.
    pub heights_m: Vec<f64>,
    /// Coordinate system, such as `EPSG:26915`, if any.
    pub crs: Option<String>,
    /// The stump in the coordinates the heights came with; if there, y is grid north.
    pub stump: Option<[f64; 2]>,
    /// One unit of those coordinates, m.
    pub map_unit_m: f64,
    /// Where the heights came from.
    pub source: String,
    /// Legs by tape that it is bent to; unlike those of a survey they go down steps too.
    pub taped: Vec<Transect>,
}

/// A cut bank, wall or ditch edge.
///
/// Legs of transects don't include the step: one that meets it ends on the upper edge and the next
/// starts at the foot; the step's height is added by the breakline alone.
#[derive(Clone, Debug, PartialEq)]
pub struct Breakline {
    /// Stable id.
    pub id: String,
    /// The edge, point by point.
    pub points: Vec<Place>,
    /// How far the ground drops there, m.
    pub height_m: Doubtful,
    /// The side on which the ground is lower, walking the points in order.
    pub low_side: Side,
}

/// Left or right of a line, walking its points in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// On the left hand.
    Left,
    /// On the right hand.
    Right,
}

/// A place on the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// Tape and compass.
    Taped {
        /// Where the tape starts.
        from: Station,
        /// Clockwise from the scene's north, rad.
        azimuth_rad: Doubtful,
        /// Along the tape, m.
        distance_m: Doubtful,
        /// Inclination of the tape, rad; 0 is level, so that the distance is horizontal.
        inclination_rad: Doubtful,
    },
    /// At a station itself.
    AtStation(Station),
    /// Metres east (the frame's x) and north (the frame's y) of the stump.
    Local {
        /// East, m.
        east_m: Doubtful,
        /// North, m.
        north_m: Doubtful,
    },
    /// The terrain's own coordinates.
    Grid {
        /// x in the terrain's unit.
        x: f64,
        /// y in the terrain's unit.
        y: f64,
    },
}

/// The ground in words a climber can say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundSpec {
    /// The soil under the cover.
    pub soil: SoilWord,
    /// Litter or turf on it.
    pub cover: Cover,
    /// Bumps.
    pub roughness: Roughness,
    /// Undergrowth, if any.
    pub undergrowth: Option<UndergrowthSpec>,
    /// How wet it is.
    pub wetness: Wetness,
    /// Depth at which rock or something as hard begins, m, if it was met.
    pub hard_at_m: Option<Doubtful>,
}

/// What lies on the soil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cover {
    /// Leaves and twigs, by finger depth, m.
    Litter(Doubtful),
    /// Grass and its roots, by finger depth, m.
    Turf(Doubtful),
    /// Nothing.
    Bare,
    /// Not looked at.
    DontKnow,
}

/// Bumps of the ground, peak to trough over about a pace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Roughness {
    /// Like a lawn.
    Lawn,
    /// Up to the ankle.
    Ankle,
    /// Up to the knee.
    Knee,
    /// As measured, m.
    Measured(Doubtful),
    /// Not looked at.
    DontKnow,
}

/// Stems that a piece runs through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UndergrowthSpec {
    /// Mean distance between stems, m.
    pub spacing_m: Doubtful,
    /// Thickness of a stem at knee height, m.
    pub thickness_m: Doubtful,
    /// Height, m.
    pub height_m: Doubtful,
}

/// Ground inside an outline.
#[derive(Clone, Debug, PartialEq)]
pub struct PatchSpec {
    /// Stable id.
    pub id: String,
    /// Corners in order.
    pub outline: Vec<Place>,
    /// Its ground.
    pub ground: GroundSpec,
}

/// Wind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Mean speed, m/s.
    pub speed_m_s: Doubtful,
    /// Gust, m/s.
    pub gust_m_s: Doubtful,
    /// Azimuth it blows from, rad.
    pub from_rad: Doubtful,
}
