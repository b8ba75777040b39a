//! The tree and its cuts as they are written.

use serde::Deserialize;

use super::{
    super::{model, told::Told},
    Crown, Limb, Place,
};
use crate::quantity::{Angle, Azimuth, Force, Length, Share};

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
    /// Limbs, in any order.
    #[serde(default)]
    pub limbs: Vec<Limb>,
    /// What of the crown is not listed as limbs; none if left out.
    pub crown: Option<Crown>,
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
    /// The logs to be had from it, where a mill takes them.
    pub log: Option<Log>,
}

/// What a mill takes.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Log {
    /// The lengths that it takes.
    pub lengths: Vec<Length>,
    /// How much more is cut for each.
    pub trim: Option<Length>,
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
    /// A limb.
    Limb {
        /// Which.
        limb: String,
        /// How far from the bark it is cut.
        at: Told<Length>,
    },
    /// Everything that stands above a height.
    Top {
        /// Height of its butt above the stump's ground.
        from: Told<Length>,
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
    UnderAndTop {
        under: Told<Share>,
        step: Option<Told<Length>>,
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

words!(
    /// Where a cut is made from.
    Cutter => model::Cutter { OnTheSpar, OnTheGround }
);
