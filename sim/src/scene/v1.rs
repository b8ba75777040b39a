//! The scene file, version 1, as it is written.
//!
//! These types are the file format: they change only by a new version. Fields that may be left out
//! are `Option`s; what is taken instead is said in [`super::Scene::assumed`]. A position is a
//! [`Place`], a number with its doubt a [`Told`].

use serde::Deserialize;

use super::{model, told::Told};
use crate::quantity::{self, Angle, Azimuth, Force, Length, Share, Slope, Speed};

/// A word of the file and the core's word for it.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident => $core:path { $($word:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Deserialize)]
        #[allow(missing_docs, reason = "the words are those of the core type")]
        pub enum $name { $($word),* }

        impl From<$name> for $core {
            fn from(word: $name) -> Self {
                match word { $($name::$word => Self::$word),* }
            }
        }
    };
}

words!(
    /// Units the scene is printed in.
    Units => quantity::Units { Metric, Imperial }
);
words!(
    /// Which side of a line is lower, walking its points in order.
    Side => model::Side { Left, Right }
);
words!(
    /// How wet the ground is.
    Wetness => model::Wetness { Dry, Damp, Wet, DontKnow }
);
words!(
    /// How a barrier log is held.
    Held => model::Held { Staked, AgainstStump, InDent, NotHeld }
);
words!(
    /// Where a cut is made from.
    Cutter => model::Cutter { OnTheSpar, OnTheGround }
);

/// How plain numbers were taken.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Doubt {
    Exactly,
    #[default]
    Measured,
    Paced,
    Eyed,
}

/// A scene.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scene {
    /// 1.
    pub version: u32,
    /// The job's name.
    pub name: String,
    /// It describes no real place.
    #[serde(default)]
    pub invented: bool,
    /// Free words.
    #[serde(default)]
    pub note: String,
    /// Units it is printed in.
    pub units: Units,
    /// How numbers without a word of their own were taken; measured if left out.
    pub doubt: Option<Doubt>,
    /// Ground and its shape.
    pub site: Site,
    /// The tree.
    pub tree: Tree,
    /// What must not be touched.
    #[serde(default)]
    pub targets: Vec<Target>,
    /// The climber; on the spar if left out.
    pub climber: Option<Climber>,
    /// The climber's line; down the spar if left out.
    pub climber_line: Option<ClimberLine>,
    /// The feller; at the stump if left out.
    pub feller: Option<Feller>,
    /// What stops or softens pieces.
    #[serde(default)]
    pub aids: Vec<Aid>,
    /// The cuts in order.
    #[serde(default)]
    pub cuts: Vec<Cut>,
}

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
    /// Where the heights came from.
    #[serde(default)]
    pub source: String,
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

/// The tree.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tree {
    /// Species by name.
    pub species: String,
    /// Diameter at breast height, over bark.
    pub dbh: Told<Length>,
    /// Height of the whole tree.
    pub height: Told<Length>,
    /// Height up to which it stands, if its top is gone.
    pub topped_at: Option<Told<Length>>,
    /// Height and diameter, lowest first.
    #[serde(default)]
    pub diameters: Vec<(Told<Length>, Told<Length>)>,
    /// How it leans; upright if left out.
    pub lean: Option<Lean>,
    /// Hollow parts.
    #[serde(default)]
    pub hollows: Vec<Hollow>,
}

/// How the stem leans.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Lean {
    /// Upright as far as one can see.
    Upright,
    /// By plumb line.
    Plumb {
        /// Sideways.
        offset: Told<Length>,
        /// At this height.
        height: Told<Length>,
        /// Toward.
        toward: Told<Azimuth>,
    },
    /// By angle from the vertical.
    Angle {
        /// From the vertical.
        angle: Told<Angle>,
        /// Toward.
        toward: Told<Azimuth>,
    },
}

/// A hollow part of the stem.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hollow {
    /// From this height.
    pub from: Told<Length>,
    /// To this height.
    pub to: Told<Length>,
    /// Thickness of the sound shell.
    pub shell: Told<Length>,
}

/// Something that must not be touched.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Target {
    Structure {
        id: String,
        corners: Vec<Place>,
        wall: Told<Length>,
        roof: Option<Told<Length>>,
        #[serde(default)]
        windows: Vec<Window>,
    },
    KeepTree {
        id: String,
        at: Place,
        diameter: Told<Length>,
        height: Told<Length>,
        limbs: Option<Limbs>,
    },
    Person {
        id: String,
        at: Place,
    },
    Vehicle {
        id: String,
        at: Place,
        heading: Told<Azimuth>,
        length: Told<Length>,
        width: Told<Length>,
        height: Told<Length>,
    },
    Road {
        id: String,
        line: Vec<Place>,
        width: Told<Length>,
    },
    Path {
        id: String,
        line: Vec<Place>,
        width: Told<Length>,
    },
    Wire {
        id: String,
        from: WireEnd,
        to: WireEnd,
        sag: Option<Told<Length>>,
    },
}

/// A window.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Wall 1 runs from the first corner to the second.
    pub wall: usize,
    /// Near edge from the wall's first corner.
    pub along: Length,
    /// Width.
    pub width: Length,
    /// Sill above the wall's foot.
    pub sill: Length,
    /// Height of the opening.
    pub height: Length,
}

/// Limbs of a keep tree.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limbs {
    /// Height of the lowest.
    pub from: Told<Length>,
    /// Reach from the stem.
    pub spread: Told<Length>,
}

/// One end of a wire.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireEnd {
    /// Where.
    pub at: Place,
    /// Above the ground there.
    pub height: Told<Length>,
}

/// Where the climber is.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Climber {
    OnSpar,
    MovedTo { at: Place, feet: Told<Length> },
    Away,
}

/// Where the climber's line runs.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum ClimberLine {
    DownTheSpar,
    MovedTo { at: Place },
    Away,
}

/// Where the feller is.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum Feller {
    AtStump,
    MovedTo { at: Place },
}

/// Something that stops or softens pieces.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Aid {
    BarrierLog { id: String, from: Place, to: Place, diameter: Told<Length>, held: Held },
    BrushMat { id: String, outline: Vec<Place>, thickness: Told<Length> },
    Wall { id: String, line: Vec<Place>, height: Told<Length>, thickness: Told<Length> },
    Stump { id: String, at: Place, diameter: Told<Length>, height: Told<Length> },
}

/// One cut.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cut {
    /// Stable id.
    pub id: String,
    /// What is cut off.
    pub piece: Piece,
    /// Stubs left on it.
    #[serde(default)]
    pub stubs: Vec<Stub>,
    /// How it is released.
    pub release: Release,
    /// From where; the ground below 5 ft, else the spar.
    pub cutter: Option<Cutter>,
    /// What becomes of it; cleared if left out.
    pub after: Option<After>,
}

/// What is cut off.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Piece {
    /// A section of the stem.
    Section {
        /// Height of its butt above the stump's ground.
        from: Told<Length>,
        /// Height of its top.
        to: Told<Length>,
    },
}

/// A stub.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stub {
    /// On the stem.
    pub height: Told<Length>,
    /// Where it points.
    pub azimuth: Told<Azimuth>,
    /// From the bark.
    pub length: Told<Length>,
    /// Its diameter.
    pub diameter: Told<Length>,
}

/// How a piece is released.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Release {
    Hinge {
        face: Told<Azimuth>,
        opening: Told<Angle>,
        depth: Told<Share>,
        hinge: Told<Length>,
        width: Option<Told<Share>>,
        push: Option<Push>,
    },
    Snap {
        toward: Told<Azimuth>,
        push: Option<Push>,
    },
    PushOver {
        toward: Told<Azimuth>,
        push: Option<Push>,
    },
    BoredHinge {
        face: Told<Azimuth>,
        opening: Told<Angle>,
        depth: Told<Share>,
        hinge: Told<Length>,
        width: Option<Told<Share>>,
        strap: Told<Length>,
        push: Option<Push>,
    },
}

/// A push by hand, pole or wedge.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Push {
    /// How hard.
    pub force: Told<Force>,
    /// Above the cut.
    pub height: Told<Length>,
}

/// What becomes of a piece.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the words are those of the core type")]
pub enum After {
    Cleared,
    LeftWhereItStops,
    LeftAt { at: Place, axis: Told<Azimuth> },
}
