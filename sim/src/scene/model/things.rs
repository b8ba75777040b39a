//! What must not be touched, who works there, and what stops or softens pieces.

use super::{super::doubt::Doubtful, Place};

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
