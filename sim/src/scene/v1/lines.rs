//! Lines as they are written.

use serde::Deserialize;

use super::{
    super::{model, told::Told},
    Place,
};
use crate::quantity::{Angle, Force, Length, Mass, Share};

/// A line made fast to the tree.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
#[allow(clippy::large_enum_variant, reason = "a scene has few lines")]
pub enum Line {
    PullLine {
        id: String,
        cut: String,
        height: Told<Length>,
        rope: String,
        strength: Option<Told<Force>>,
        knot_loss: Option<Told<Share>>,
        design_factor: Option<f64>,
        #[serde(default)]
        redirects: Vec<Redirect>,
        anchor: Anchor,
        pull: Told<Force>,
    },
    TiedButt {
        id: String,
        cut: String,
        from_cut: Told<Length>,
        rope: String,
        strength: Option<Told<Force>>,
        stretch: Option<Told<Share>>,
        damping: Option<Told<Share>>,
        knot_loss: Option<Told<Share>>,
        design_factor: Option<f64>,
        slack: Told<Length>,
        anchor: Hitch,
    },
    TagLine {
        id: String,
        cut: String,
        from_cut: Told<Length>,
        rope: String,
        strength: Option<Told<Force>>,
        stretch: Option<Told<Share>>,
        damping: Option<Told<Share>>,
        knot_loss: Option<Told<Share>>,
        design_factor: Option<f64>,
        slack: Told<Length>,
        anchor: Hitch,
    },
    Lowering {
        id: String,
        cut: String,
        from_cut: Told<Length>,
        rope: String,
        strength: Option<Told<Force>>,
        stretch: Option<Told<Share>>,
        damping: Option<Told<Share>>,
        knot_loss: Option<Told<Share>>,
        design_factor: Option<f64>,
        slack: Told<Length>,
        block: Hitch,
        friction: Option<Told<Share>>,
        block_limit: Option<Told<Force>>,
        sling_limit: Option<Told<Force>>,
        sling: Option<Told<Angle>>,
        brake: Hitch,
    },
}

/// What a line that holds a piece is made fast to, and what blocks hang on.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Hitch {
    Spar { height: Told<Length> },
    Tree { at: Place, height: Told<Length> },
    Stump { at: Place, height: Told<Length> },
    Hand { at: Place, hold: Told<Force> },
}

/// A turn of a line on its way.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Redirect {
    /// Stable id.
    pub id: String,
    /// Where.
    pub at: Place,
    /// Height above the ground there.
    pub height: Told<Length>,
    /// What the rope turns on; a block if left out.
    pub over: Option<Over>,
    /// Angle between the two legs of its sling; one leg if left out.
    pub sling: Option<Told<Angle>>,
}

/// What the far end of a line is made fast to.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the fields are those of the core type")]
pub enum Anchor {
    Tree { at: Place, height: Told<Length> },
    Stump { at: Place, height: Told<Length> },
    Vehicle { at: Place, height: Told<Length>, mass: Told<Mass>, driven: Told<Share> },
}

words!(
    /// What a rope turns on.
    Over => model::Over { Block, Wood }
);
