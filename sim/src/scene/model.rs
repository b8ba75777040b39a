//! A scene as the rest of the program sees it: SI, every number with its doubt, checked.
//!
//! Invariant: a `Scene` that [`crate::scene::parse`] returned has passed every check that needs no
//! terrain file. Lists keep the order of the file; every item has an id that is its own.
//! Azimuths are clockwise from the scene's north; a face's azimuth is where the piece is meant to
//! fall. Heights on the tree are above the stump's ground.

use std::{path::PathBuf, sync::Arc};

use crate::quantity::Units;

pub use crate::ground::words::{Heel, SoilWord, Thumb, Wetness};

use super::{doubt::Doubtful, error::Source};

/// A job: site, tree, cuts and what must not be touched.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Its name.
    pub name: String,
    /// It describes no real place.
    pub invented: bool,
    /// Free words.
    pub note: String,
    /// Units it is printed in.
    pub units: Units,
    /// The ground and its shape.
    pub site: SiteSpec,
    /// The tree.
    pub tree: TreeSpec,
    /// What must not be touched, in the order of the file (climber, line and feller are apart).
    pub targets: Vec<Target>,
    /// The climber on the spar.
    pub climber: ClimberSpec,
    /// The climber's line.
    pub climber_line: ClimberLineSpec,
    /// The feller, for cuts from the ground.
    pub feller: FellerSpec,
    /// What is there to stop or soften pieces.
    pub aids: Vec<Aid>,
    /// The cuts in order.
    pub cuts: Vec<Cut>,
    /// What the scene left open and what was taken instead, for printing.
    pub assumed: Vec<Assumed>,
    /// SHA-256 of the file's bytes, hex.
    pub hash: String,
    /// Folder of the scene file; paths in it are relative to this.
    pub folder: PathBuf,
    /// The file itself, so that later steps can point into it.
    pub source: Arc<Source>,
}

/// Something the scene left open and what was taken instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assumed {
    /// Path of the field.
    pub path: String,
    /// What was taken, in words and units.
    pub taken: String,
}

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
    /// Where the heights came from.
    pub source: String,
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

/// The tree.
#[derive(Clone, Debug, PartialEq)]
pub struct TreeSpec {
    /// Species as written.
    pub species: String,
    /// Diameter at breast height, m.
    pub dbh_m: Doubtful,
    /// Height of the whole tree, m.
    pub height_m: Doubtful,
    /// Height up to which it still stands, m, if its top is gone.
    pub topped_at_m: Option<Doubtful>,
    /// Measured diameters over bark, lowest first.
    pub diameters: Vec<StemDiameter>,
    /// How it leans.
    pub lean: Lean,
    /// Hollows and decay.
    pub hollows: Vec<Hollow>,
}

/// A diameter measured up the stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StemDiameter {
    /// Height, m.
    pub height_m: Doubtful,
    /// Diameter over bark, m.
    pub diameter_m: Doubtful,
}

/// How the stem leans; straight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lean {
    /// Upright as far as one can see; the angle is its doubt, rad.
    Upright(Doubtful),
    /// By plumb line.
    Plumb {
        /// Sideways offset, m.
        offset_m: Doubtful,
        /// At this height, m.
        height_m: Doubtful,
        /// Toward this azimuth, rad.
        toward_rad: Doubtful,
    },
    /// By angle from the vertical.
    Angle {
        /// From the vertical, rad.
        angle_rad: Doubtful,
        /// Toward this azimuth, rad.
        toward_rad: Doubtful,
    },
}

/// A hollow part of the stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hollow {
    /// From this height, m.
    pub from_m: Doubtful,
    /// To this height, m.
    pub to_m: Doubtful,
    /// Thickness of the sound shell, m.
    pub shell_m: Doubtful,
}

/// Something that must not be touched.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// Stable id.
    pub id: String,
    /// What it is.
    pub kind: TargetKind,
}

/// What a target is.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetKind {
    /// A building.
    Structure {
        /// Footprint corners in order.
        corners: Vec<Place>,
        /// Height of the walls above the ground at the corners, m.
        wall_m: Doubtful,
        /// Height of the roof above the same, m; equal to the walls for a flat roof.
        roof_m: Doubtful,
        /// Windows.
        windows: Vec<Window>,
    },
    /// A tree that stays.
    KeepTree {
        /// Where.
        at: Place,
        /// Diameter at breast height, m.
        diameter_m: Doubtful,
        /// Height, m.
        height_m: Doubtful,
        /// Its limbs, if they matter.
        limbs: Option<Limbs>,
    },
    /// A person.
    Person {
        /// Where.
        at: Place,
    },
    /// A vehicle.
    Vehicle {
        /// Its middle.
        at: Place,
        /// Azimuth of its nose, rad.
        heading_rad: Doubtful,
        /// Length, m.
        length_m: Doubtful,
        /// Width, m.
        width_m: Doubtful,
        /// Height, m.
        height_m: Doubtful,
    },
    /// A road or path.
    Path {
        /// Centre line.
        line: Vec<Place>,
        /// Width, m.
        width_m: Doubtful,
    },
    /// An overhead wire.
    Wire {
        /// One end.
        from: WireEnd,
        /// The other end.
        to: WireEnd,
        /// Sag at mid span below the straight line, m.
        sag_m: Doubtful,
    },
}

/// A window of a structure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Index of the wall: wall i runs from corner i to the next.
    pub wall: usize,
    /// Distance of its near edge from that wall's first corner, m.
    pub along_m: f64,
    /// Width, m.
    pub width_m: f64,
    /// Height of the sill above the wall's foot, m.
    pub sill_m: f64,
    /// Height of the opening, m.
    pub height_m: f64,
}

/// Limbs of a keep tree: a crown as a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limbs {
    /// Height of the lowest limb, m.
    pub from_m: Doubtful,
    /// Reach of the limbs from the stem, m.
    pub spread_m: Doubtful,
}

/// One end of a wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WireEnd {
    /// Where.
    pub at: Place,
    /// Height above the ground there, m.
    pub height_m: Doubtful,
}

/// Where the climber is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClimberSpec {
    /// On the spar, opposite the face, feet 1.5 m below the cut.
    OnSpar,
    /// Moved.
    At {
        /// Where.
        at: Place,
        /// Height of the feet above the ground there, m.
        feet_m: Doubtful,
    },
    /// Not on the tree.
    Away,
}

/// Where the climber's line runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClimberLineSpec {
    /// A ring round the spar 0.5 m below the cut and straight down to the stump.
    DownTheSpar,
    /// The ring, and from there straight to this place on the ground.
    To(Place),
    /// No line.
    Away,
}

/// Where the feller is, for a cut from the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FellerSpec {
    /// At the stump, then retreating 45° back to 6 m.
    AtStump,
    /// Standing here.
    At(Place),
}

/// Something there to stop or soften pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Aid {
    /// Stable id.
    pub id: String,
    /// What it is.
    pub kind: AidKind,
}

/// What an aid is.
#[derive(Clone, Debug, PartialEq)]
pub enum AidKind {
    /// A log across the bank.
    BarrierLog {
        /// One end.
        from: Place,
        /// The other end.
        to: Place,
        /// Diameter, m.
        diameter_m: Doubtful,
        /// How it is held.
        held: Held,
    },
    /// Brush laid on the ground.
    BrushMat {
        /// Corners in order.
        outline: Vec<Place>,
        /// Thickness, m.
        thickness_m: Doubtful,
    },
    /// A wall.
    Wall {
        /// Centre line.
        line: Vec<Place>,
        /// Height, m.
        height_m: Doubtful,
        /// Thickness, m.
        thickness_m: Doubtful,
    },
    /// A stump.
    Stump {
        /// Where.
        at: Place,
        /// Diameter, m.
        diameter_m: Doubtful,
        /// Height, m.
        height_m: Doubtful,
    },
}

/// How a barrier log is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// By stakes.
    Staked,
    /// Against a stump.
    AgainstStump,
    /// In a dent of the ground.
    InDent,
    /// Not held.
    NotHeld,
}

/// One cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// Stable id.
    pub id: String,
    /// What is cut off.
    pub piece: PieceSpec,
    /// Stubs left on it.
    pub stubs: Vec<Stub>,
    /// How it is released.
    pub release: ReleaseSpec,
    /// Who cuts, and from where.
    pub cutter: Cutter,
    /// What becomes of it.
    pub after: After,
}

/// What is cut off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PieceSpec {
    /// A section of the stem.
    Section {
        /// Height of its butt, m.
        from_m: Doubtful,
        /// Height of its top, m.
        to_m: Doubtful,
    },
}

/// A stub of a limb left on a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stub {
    /// Height on the stem, m.
    pub height_m: Doubtful,
    /// Azimuth it points to, rad.
    pub azimuth_rad: Doubtful,
    /// Length from the bark, m.
    pub length_m: Doubtful,
    /// Diameter, m.
    pub diameter_m: Doubtful,
}

/// Where the cut is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cutter {
    /// By the climber on the spar.
    OnTheSpar,
    /// By the feller on the ground.
    OnTheGround,
}

/// How a piece is released.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ReleaseSpec {
    /// A hinge over a face.
    Hinge {
        /// The face and the hinge behind it.
        face: Face,
        /// Push by hand or wedge, if any.
        push: Option<Push>,
    },
    /// Two opposed cuts past each other, broken off by hand.
    Snap {
        /// Azimuth it is broken toward, rad.
        toward_rad: Doubtful,
        /// The push.
        push: Push,
    },
    /// A flat cut; the piece is pushed over the far rim.
    PushOver {
        /// Azimuth it is pushed toward, rad.
        toward_rad: Doubtful,
        /// The push.
        push: Push,
    },
    /// A bored hinge with a strap left at the back.
    BoredHinge {
        /// The face and the hinge behind it.
        face: Face,
        /// Thickness of the strap, m.
        strap_m: Doubtful,
        /// Push by hand or wedge, if any.
        push: Option<Push>,
    },
}

impl ReleaseSpec {
    /// Azimuth the piece is meant to fall toward, rad.
    #[must_use]
    pub fn toward_rad(&self) -> Doubtful {
        match self {
            Self::Hinge { face, .. } | Self::BoredHinge { face, .. } => face.toward_rad,
            Self::Snap { toward_rad, .. } | Self::PushOver { toward_rad, .. } => *toward_rad,
        }
    }

    /// The push, if there is one.
    pub fn push_mut(&mut self) -> Option<&mut Push> {
        match self {
            Self::Hinge { push, .. } | Self::BoredHinge { push, .. } => push.as_mut(),
            Self::Snap { push, .. } | Self::PushOver { push, .. } => Some(push),
        }
    }

    /// Sets the azimuth the piece is meant to fall toward, rad.
    pub fn set_toward_rad(&mut self, azimuth_rad: Doubtful) {
        match self {
            Self::Hinge { face, .. } | Self::BoredHinge { face, .. } => {
                face.toward_rad = azimuth_rad;
            }
            Self::Snap { toward_rad, .. } | Self::PushOver { toward_rad, .. } => {
                *toward_rad = azimuth_rad;
            }
        }
    }
}

/// A face (notch) and the hinge behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// Azimuth the piece is meant to fall toward, rad.
    pub toward_rad: Doubtful,
    /// Opening angle, rad.
    pub opening_rad: Doubtful,
    /// Depth as a share of the stem's diameter.
    pub depth_share: Doubtful,
    /// Thickness of the hinge, m.
    pub hinge_m: Doubtful,
    /// Width of the hinge as a share of the chord behind the face.
    pub width_share: Doubtful,
}

/// A push on the piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Force, N.
    pub force_n: Doubtful,
    /// Height above the cut, m.
    pub height_m: Doubtful,
}

/// What becomes of a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum After {
    /// It is cleared away before the next cut.
    Cleared,
    /// It lies where it stops.
    LeftWhereItStops,
    /// It lies where it was noted.
    LeftAt {
        /// Its middle.
        at: Place,
        /// Azimuth of its axis, butt to top, rad.
        axis_rad: Doubtful,
    },
}
