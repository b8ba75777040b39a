//! Lines that pieces are pulled with.

use super::{super::doubt::Doubtful, Place};

/// A pull line: from the stem over its redirects to what pulls.
#[derive(Clone, Debug, PartialEq)]
pub struct PullLine {
    /// Stable id.
    pub id: String,
    /// Id of the cut whose piece it pulls.
    pub cut: String,
    /// Height on the stem at which it is made fast, m.
    pub height_m: Doubtful,
    /// The rope's name.
    pub rope: String,
    /// The rope's breaking strength, N, if the scene gives it; else that of its table.
    pub strength_n: Option<Doubtful>,
    /// Share of its strength that its knots take.
    pub knot_loss_share: Doubtful,
    /// Breaking strength over the most it is to be loaded with.
    pub design_factor: f64,
    /// Turns on the way, from the stem on.
    pub redirects: Vec<Redirect>,
    /// What its far end is made fast to.
    pub anchor: Anchor,
    /// The most it is pulled with at the far end, N.
    pub pull_n: Doubtful,
}

/// A turn of a line on its way.
#[derive(Clone, Debug, PartialEq)]
pub struct Redirect {
    /// Stable id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Height above the ground there, m.
    pub height_m: Doubtful,
    /// What the rope turns on.
    pub over: Over,
    /// Angle between the two legs of its sling, rad; `None` for one leg.
    pub sling_rad: Option<Doubtful>,
}

/// What a rope turns on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// A block.
    Block,
    /// Bark or wood: a crotch, a stem.
    Wood,
}

/// What the far end of a line is made fast to; a winch or tackle pulls it at a tree or stump.
#[derive(Clone, Debug, PartialEq)]
pub enum Anchor {
    /// A standing tree.
    Tree {
        /// Where.
        at: Place,
        /// Height of the line above the ground there, m.
        height_m: Doubtful,
    },
    /// A stump.
    Stump {
        /// Where.
        at: Place,
        /// Height of the line above the ground there, m.
        height_m: Doubtful,
    },
    /// A vehicle that drives away from the line.
    Vehicle {
        /// Where.
        at: Place,
        /// Height of its hitch above the ground, m.
        height_m: Doubtful,
        /// Mass, laden as it is, kg.
        mass_kg: Doubtful,
        /// Share of its weight on driven wheels or tracks.
        driven_share: Doubtful,
    },
}

impl Anchor {
    /// Where it is.
    #[must_use]
    pub fn at(&self) -> &Place {
        match self {
            Self::Tree { at, .. } | Self::Stump { at, .. } | Self::Vehicle { at, .. } => at,
        }
    }

    /// Height of the line above the ground there, m.
    #[must_use]
    pub fn height_m(&self) -> &Doubtful {
        match self {
            Self::Tree { height_m, .. }
            | Self::Stump { height_m, .. }
            | Self::Vehicle { height_m, .. } => height_m,
        }
    }
}
