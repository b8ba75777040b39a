//! Lines made fast to pieces: those that pull them over, and those that hold them in their drop.

use super::{super::doubt::Doubtful, Place};

/// A line made fast to a piece.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a scene has few lines")]
pub enum Line {
    /// It pulls the piece over its hinge.
    Pull(PullLine),
    /// It holds the piece once it has left.
    Tied(TiedLine),
}

impl Line {
    /// Stable id.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            Self::Pull(line) => &line.id,
            Self::Tied(line) => &line.id,
        }
    }

    /// Id of the cut whose piece it is on.
    #[must_use]
    pub fn cut(&self) -> &str {
        match self {
            Self::Pull(line) => &line.cut,
            Self::Tied(line) => &line.cut,
        }
    }

    /// The rope's name, and its breaking strength if the scene gives it, N.
    #[must_use]
    pub fn rope(&self) -> (&str, Option<&Doubtful>) {
        match self {
            Self::Pull(line) => (&line.rope, line.strength_n.as_ref()),
            Self::Tied(line) => (&line.rope, line.strength_n.as_ref()),
        }
    }

    /// The pull line, if it is one.
    #[must_use]
    pub fn pull(&self) -> Option<&PullLine> {
        match self {
            Self::Pull(line) => Some(line),
            Self::Tied(_) => None,
        }
    }

    /// The line that holds a piece in its drop, if it is one.
    #[must_use]
    pub fn tied(&self) -> Option<&TiedLine> {
        match self {
            Self::Pull(_) => None,
            Self::Tied(line) => Some(line),
        }
    }
}

/// A line that holds a piece in its drop: a tied butt, a tag line, a lowering line over a block.
#[derive(Clone, Debug, PartialEq)]
pub struct TiedLine {
    /// Stable id.
    pub id: String,
    /// Id of the cut whose piece it holds.
    pub cut: String,
    /// What the trade calls it.
    pub kind: TiedKind,
    /// How far from the cut, along the piece, it is made fast, m.
    pub from_cut_m: Doubtful,
    /// The rope's name.
    pub rope: String,
    /// The rope's breaking strength, N, if the scene gives it; else that of its table.
    pub strength_n: Option<Doubtful>,
    /// How much longer the rope is under a tenth of its breaking strength, as a share.
    pub stretch_share: Doubtful,
    /// Its damping as a share of what would let the piece come to rest on it without a bounce.
    pub damping_share: Doubtful,
    /// Share of its strength that its knots take.
    pub knot_loss_share: Doubtful,
    /// Breaking strength over the most it is to be loaded with.
    pub design_factor: f64,
    /// How much longer it is than the straight way from piece to hitch or block before the cut, m.
    pub slack_m: Doubtful,
    /// What its far end is made fast to; where it is lowered, what the brake is on.
    pub hitch: Hitch,
    /// The block it runs over on its way there.
    pub block: Option<BlockSpec>,
}

/// What the trade calls a line that holds a piece in its drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TiedKind {
    /// Tied butt: made fast so that the butt can't run.
    TiedButt,
    /// Tag line: it steers a piece and checks its swing.
    TagLine,
    /// The piece is lowered over a block.
    Lowering,
}

impl TiedKind {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::TiedButt => "tied butt",
            Self::TagLine => "tag line",
            Self::Lowering => "lowering line",
        }
    }
}

/// What a line that holds a piece is made fast to, and what blocks hang on.
#[derive(Clone, Debug, PartialEq)]
pub enum Hitch {
    /// The spar that stays, on the side that the piece leaves to.
    Spar {
        /// Height on the stem, m.
        height_m: Doubtful,
    },
    /// Another tree.
    Tree {
        /// Where.
        at: Place,
        /// Height above the ground there, m.
        height_m: Doubtful,
    },
    /// A stump.
    Stump {
        /// Where.
        at: Place,
        /// Height above the ground there, m.
        height_m: Doubtful,
    },
    /// Someone's hands, which let it run when it pulls harder than they hold.
    Hand {
        /// Where.
        at: Place,
        /// The most they hold, N.
        hold_n: Doubtful,
    },
}

impl Hitch {
    /// Where it is on the map; `None` for the spar.
    #[must_use]
    pub fn at(&self) -> Option<&Place> {
        match self {
            Self::Spar { .. } => None,
            Self::Tree { at, .. } | Self::Stump { at, .. } | Self::Hand { at, .. } => Some(at),
        }
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::Spar { .. } => "the spar",
            Self::Tree { .. } => "a tree",
            Self::Stump { .. } => "a stump",
            Self::Hand { .. } => "someone's hands",
        }
    }
}

/// A block that a piece is lowered over.
#[derive(Clone, Debug, PartialEq)]
pub struct BlockSpec {
    /// What it hangs on.
    pub on: Hitch,
    /// Friction of the rope over it.
    pub friction: Doubtful,
    /// The most the block is to be loaded with, by its own tag, N.
    pub working_n: Option<Doubtful>,
    /// The most a leg of its sling is to be loaded with, by its own tag, N.
    pub sling_working_n: Option<Doubtful>,
    /// Angle between the two legs of its sling, rad; `None` for one leg.
    pub sling_rad: Option<Doubtful>,
}

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
