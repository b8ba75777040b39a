//! The tree and its cuts.

use super::{super::doubt::Doubtful, CrownSpec, LimbSpec, Place};

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
    /// Limbs.
    pub limbs: Vec<LimbSpec>,
    /// What of the crown is not listed as limbs.
    pub crown: Option<CrownSpec>,
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
    /// The logs to be had from it, where a mill takes them.
    pub log: Option<LogSpec>,
}

/// What a mill takes.
#[derive(Clone, Debug, PartialEq)]
pub struct LogSpec {
    /// The lengths that it takes, m.
    pub lengths_m: Vec<f64>,
    /// How much more is cut for each, m.
    pub trim_m: f64,
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
    /// A limb.
    Limb {
        /// Which, by its index in the tree's limbs.
        limb: usize,
        /// How far from the bark it is cut, m.
        at_m: Doubtful,
    },
    /// Everything that stands above a height: stem, and the limbs still on it.
    Top {
        /// Height of its butt, m.
        from_m: Doubtful,
    },
}

impl PieceSpec {
    /// Height of a cut through the stem, m; `None` for a limb.
    #[must_use]
    pub fn stem_cut_m(&self) -> Option<Doubtful> {
        match self {
            Self::Section { from_m, .. } | Self::Top { from_m } => Some(*from_m),
            Self::Limb { .. } => None,
        }
    }
}

impl TreeSpec {
    /// Height of the place where a piece is cut, as told, m: its butt on the stem, or the foot of
    /// its limb.
    #[must_use]
    pub fn cut_height_m(&self, piece: &PieceSpec) -> f64 {
        match piece {
            PieceSpec::Section { from_m, .. } | PieceSpec::Top { from_m } => from_m.told,
            PieceSpec::Limb { limb, .. } => self.limbs.get(*limb).map_or(0.0, |l| l.height_m.told),
        }
    }
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
    /// A cut from below and one from above, on a limb: it tears off between them.
    UnderAndTop {
        /// Depth of the under cut as a share of the limb's diameter.
        under_share: Doubtful,
        /// How far the top cut lies outside the under cut, m; negative inside it.
        step_m: Doubtful,
        /// Azimuth of the limb as told, rad.
        toward_rad: f64,
    },
}

impl ReleaseSpec {
    /// Azimuth the piece is meant to fall toward, rad.
    #[must_use]
    pub fn toward_rad(&self) -> Doubtful {
        match self {
            Self::Hinge { face, .. } | Self::BoredHinge { face, .. } => face.toward_rad,
            Self::Snap { toward_rad, .. } | Self::PushOver { toward_rad, .. } => *toward_rad,
            Self::UnderAndTop { toward_rad, .. } => Doubtful::exact(*toward_rad),
        }
    }

    /// The push, if there is one.
    pub fn push_mut(&mut self) -> Option<&mut Push> {
        match self {
            Self::Hinge { push, .. } | Self::BoredHinge { push, .. } => push.as_mut(),
            Self::Snap { push, .. } | Self::PushOver { push, .. } => Some(push),
            Self::UnderAndTop { .. } => None,
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
            // A limb falls where it points.
            Self::UnderAndTop { .. } => {}
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
