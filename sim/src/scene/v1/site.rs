//! Terrain, ground and wind as they are written, and places on them.

use serde::Deserialize;

use super::super::{model, told::Told};
use crate::quantity::{Angle, Azimuth, Length, Slope, Speed};

/// Ground and its shape.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Where heights come from.
    pub terrain: Terrain,
    /// What azimuths count from.
    pub north: Option<North>,
    /// Cut banks, walls and ditches.
    #[serde(default)]
    pub breaklines: Vec<Breakline>,
    /// Ground where no patch says otherwise.
    pub ground: Ground,
    /// Other ground inside outlines; a later one wins.
    #[serde(default)]
    pub patches: Vec<Patch>,
    /// Wind.
    pub wind: Option<Wind>,
}

/// Where heights come from.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Terrain {
    /// Tape and inclinometer.
    Transects {
        /// The lines.
        lines: Vec<Transect>,
    },
    /// An ESRI ASCII grid.
    AsciiGrid(Raster),
    /// A GeoTIFF.
    GeoTiff(Raster),
    /// Heights in metres inside the scene.
    Inline(Inline),
}

/// A line of legs on one azimuth.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Transect {
    /// Stable id.
    pub id: String,
    /// `stump`, or `ID:N`, the end of the Nth leg of an earlier transect; the stump if left out.
    pub from: Option<String>,
    /// Which way.
    pub azimuth: Told<Azimuth>,
    /// Distance along the slope and its inclination, up is positive.
    pub legs: Vec<(Told<Length>, Told<Slope>)>,
    /// `stump` or `ID:N`, a station known before that the last leg was walked back to.
    pub closes_on: Option<String>,
}

/// A raster file.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Raster {
    /// Path, relative to the scene file.
    pub file: String,
    /// The stump in the file's own coordinates.
    pub stump: (f64, f64),
    /// Half the side of the square that is used; 100 m if left out.
    pub around: Option<Length>,
    /// Legs by tape on it, which it is bent to: the tape's heights count where they differ.
    #[serde(default)]
    pub taped: Vec<Transect>,
}

/// Heights inside the scene.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inline {
    /// Distance between heights.
    pub cell: Length,
    /// Heights from west to east.
    pub columns: usize,
    /// Heights from south to north.
    pub rows: usize,
    /// The first height, east and north of the stump.
    pub south_west: (Length, Length),
    /// South row first, west to east, metres.
    pub heights_m: Vec<f64>,
    /// Coordinate system, if any.
    pub crs: Option<String>,
    /// The stump in the coordinates the heights came with; if there, y is grid north.
    pub stump: Option<(f64, f64)>,
    /// One unit of those coordinates; 1 m if left out.
    pub map_unit: Option<Length>,
    /// Where the heights came from.
    #[serde(default)]
    pub source: String,
    /// Legs by tape on it, which it is bent to: the tape's heights count where they differ.
    #[serde(default)]
    pub taped: Vec<Transect>,
}

/// What azimuths count from.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum North {
    /// Compass north.
    Magnetic {
        /// East of true north is positive.
        declination: Angle,
    },
    /// True north.
    True,
    /// The grid's y.
    Grid,
}

/// A cut bank, wall or ditch edge.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Breakline {
    /// Stable id.
    pub id: String,
    /// The edge.
    pub points: Vec<Place>,
    /// How far the ground drops.
    pub height: Told<Length>,
    /// On which side it is lower.
    pub low_side: Side,
}

/// A place on the ground.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Place {
    /// Tape and compass.
    At {
        /// `stump` or `ID:N`; the stump if left out.
        from: Option<String>,
        /// Which way.
        azimuth: Told<Azimuth>,
        /// How far.
        distance: Told<Length>,
        /// Inclination of the tape; level if left out.
        slope: Option<Told<Slope>>,
    },
    /// The end of the Nth leg of a transect, `ID:N`.
    Station(String),
    /// From the stump.
    Local {
        /// East.
        east: Told<Length>,
        /// North.
        north: Told<Length>,
    },
    /// The terrain's own coordinates.
    Grid {
        /// x.
        x: f64,
        /// y.
        y: f64,
    },
}

/// The ground in words.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// By fist, thumb or heel.
    pub soil: Soil,
    /// Litter or turf.
    pub cover: Cover,
    /// Bumps.
    pub roughness: Roughness,
    /// Undergrowth, none if left out.
    pub undergrowth: Option<Undergrowth>,
    /// How wet.
    pub wetness: Wetness,
    /// Depth at which rock begins.
    pub hard_at: Option<Told<Length>>,
}

/// The soil by a test in the field.
#[derive(Clone, Copy, Debug, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Soil {
    FistEasily,
    ThumbEasily,
    ThumbWithEffort,
    ThumbIndents,
    Thumbnail,
    ThumbnailWithDifficulty,
    HeelNoMark,
    HeelOneCm,
    HeelThreeCm,
    HeelOverTheWelt,
    Gravel,
    Pavement,
    DontKnow,
}

impl From<Soil> for model::SoilWord {
    fn from(word: Soil) -> Self {
        use model::{Heel, Thumb};
        match word {
            Soil::FistEasily => Self::Thumb(Thumb::FistEasily),
            Soil::ThumbEasily => Self::Thumb(Thumb::ThumbEasily),
            Soil::ThumbWithEffort => Self::Thumb(Thumb::ThumbWithEffort),
            Soil::ThumbIndents => Self::Thumb(Thumb::ThumbIndents),
            Soil::Thumbnail => Self::Thumb(Thumb::Thumbnail),
            Soil::ThumbnailWithDifficulty => Self::Thumb(Thumb::ThumbnailWithDifficulty),
            Soil::HeelNoMark => Self::Heel(Heel::None),
            Soil::HeelOneCm => Self::Heel(Heel::OneCm),
            Soil::HeelThreeCm => Self::Heel(Heel::ThreeCm),
            Soil::HeelOverTheWelt => Self::Heel(Heel::OverTheWelt),
            Soil::Gravel => Self::Gravel,
            Soil::Pavement => Self::Pavement,
            Soil::DontKnow => Self::DontKnow,
        }
    }
}

/// What lies on the soil, by finger depth.
#[derive(Clone, Copy, Debug, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Cover {
    Litter(Told<Length>),
    Turf(Told<Length>),
    Bare,
    DontKnow,
}

/// Bumps of the ground.
#[derive(Clone, Copy, Debug, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Roughness {
    Lawn,
    Ankle,
    Knee,
    Bumps(Told<Length>),
    DontKnow,
}

/// Undergrowth.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Undergrowth {
    /// Between stems.
    pub spacing: Told<Length>,
    /// Of a stem at knee height.
    pub thickness: Told<Length>,
    /// How high it stands.
    pub height: Told<Length>,
}

/// Other ground inside an outline.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Patch {
    /// Stable id.
    pub id: String,
    /// Corners in order.
    pub outline: Vec<Place>,
    /// Its ground.
    pub ground: Ground,
}

/// Wind.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wind {
    /// Mean speed.
    pub speed: Told<Speed>,
    /// Gust.
    pub gust: Told<Speed>,
    /// Where it comes from.
    pub from: Told<Azimuth>,
}

words!(
    /// Which side of a line is lower, walking its points in order.
    Side => model::Side { Left, Right }
);

words!(
    /// How wet the ground is.
    Wetness => model::Wetness { Dry, Damp, Wet, DontKnow }
);
