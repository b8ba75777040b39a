//! What drops are run with: a site made ready for many of them, and what its ground is.

use crate::{
    drop::{bending::Beam, mover::Pace, near::Solids, tether::Tether},
    site::Site,
    soil::bed::Bed,
};

/// Version of the soil law that made a number: `soil N`.
pub const LAW: u32 = 6;

/// What the ground is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GroundLaw {
    /// The soil law.
    Soil,
    /// A rigid surface with friction, as a second opinion.
    Rigid,
}

impl GroundLaw {
    /// The word that stands beside every number this law made.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::Soil => format!("soil {LAW}"),
            Self::Rigid => format!("rigid {LAW}"),
        }
    }
}

/// A site made ready for many drops.
#[derive(Debug)]
pub struct Setup<'a> {
    /// The ground, compiled.
    pub bed: Bed<'a>,
    /// The bodies, ready for contact.
    pub solids: Solids,
    /// How finely drops are stepped.
    pub pace: Pace,
    /// What the ground is.
    pub law: GroundLaw,
    /// A drop is given up after this long, s.
    pub horizon_s: f64,
    /// The piece as a beam, where it matters whether it breaks.
    pub beam: Option<Beam>,
    /// The lines that hold the piece.
    pub tethers: Vec<Tether>,
}

impl<'a> Setup<'a> {
    /// Prepares a site; drops are given up after 120 s.
    #[must_use]
    pub fn new(site: &'a Site, law: GroundLaw) -> Self {
        Self {
            bed: Bed::new(site),
            solids: Solids::new(&site.bodies),
            pace: Pace::default(),
            law,
            horizon_s: 120.0,
            beam: None,
            tethers: Vec::new(),
        }
    }
}
