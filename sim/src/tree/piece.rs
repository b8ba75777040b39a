//! One severed body as the physics sees it: tapered rounds, brush, mass and principal moments.

use glam::DVec3;

use super::brush::Brush;

/// Half the length of the round that stands for a spray, m.
const SPRAY_HALF_M: f64 = 0.01;

/// A tapered round (cone frustum) of the piece, in the body frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Centre of the disc nearer the butt, m.
    pub from_m: DVec3,
    /// Centre of the disc nearer the top, m.
    pub to_m: DVec3,
    /// Radius at `from_m`, m.
    pub from_radius_m: f64,
    /// Radius at `to_m`, m.
    pub to_radius_m: f64,
    /// The disc at `from_m` is a free cut face and meets the ground.
    pub from_is_face: bool,
    /// The disc at `to_m` is a free cut face and meets the ground.
    pub to_is_face: bool,
}

/// One severed body: geometry, mass, centre and inertia.
///
/// Body frame: origin at the centre of mass, axes along the principal axes of inertia, z from
/// butt to top as nearly as the principal axes allow.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The rounds it is made of; the main stem first, butt to top, then stubs.
    pub rounds: Vec<Round>,
    /// How many of `rounds` are the main stem.
    pub stem_rounds: usize,
    /// Mass with bark, kg.
    pub mass_kg: f64,
    /// Principal moments of inertia about the centre of mass, body axes, kg m².
    pub inertia_kg_m2: DVec3,
    /// Most pressure the side grain bears, Pa (compression across the grain).
    pub side_crush_pa: f64,
    /// Most pressure the end grain bears, Pa (compression along the grain).
    pub end_crush_pa: f64,
    /// Its brush, and the limb wood that bends; empty for a bare section.
    pub brush: Brush,
}

impl Piece {
    /// Centre of the butt face in the body frame, m.
    #[must_use]
    pub fn butt_m(&self) -> DVec3 {
        self.rounds.first().map_or(DVec3::ZERO, |r| r.from_m)
    }

    /// Centre of the top face of the main stem in the body frame, m.
    #[must_use]
    pub fn top_m(&self) -> DVec3 {
        self.rounds.get(self.stem_rounds.saturating_sub(1)).map_or(DVec3::ZERO, |r| r.to_m)
    }

    /// Length of the main stem from butt to top, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.butt_m().distance(self.top_m())
    }

    /// Radius of a sphere about the centre of mass that holds the whole piece, brush and all, m.
    #[must_use]
    pub fn bounding_radius_m(&self) -> f64 {
        let rounds = self.rounds.iter().chain(&self.brush.rods);
        let sprays = self.brush.sprays.iter().map(|s| s.at_m.length() + s.radius_m);
        rounds
            .flat_map(|r| [r.from_m.length() + r.from_radius_m, r.to_m.length() + r.to_radius_m])
            .chain(sprays)
            .fold(0.0, f64::max)
    }

    /// Whether the round with this index gives way under brush and does not bear as wood.
    #[must_use]
    pub fn is_slender(&self, round: usize) -> bool {
        self.brush.slender_from.is_some_and(|from| (from..self.stem_rounds).contains(&round))
    }

    /// Its stiff rounds.
    pub fn stiff_rounds(&self) -> impl Iterator<Item = Round> + '_ {
        let rounds = self.rounds.iter().enumerate();
        rounds.filter(|(i, _)| !self.is_slender(*i)).map(|(_, r)| *r)
    }

    /// What of it can touch besides its rounds, as rounds: the limb wood that bends, and each spray
    /// as a short one of its own width.
    pub fn soft_rounds(&self) -> impl Iterator<Item = Round> + '_ {
        let spray = |s: &super::brush::Spray| {
            let half = DVec3::Z * SPRAY_HALF_M;
            Round {
                from_m: s.at_m - half,
                to_m: s.at_m + half,
                from_radius_m: s.radius_m,
                to_radius_m: s.radius_m,
                from_is_face: false,
                to_is_face: false,
            }
        };
        self.brush.rods.iter().copied().chain(self.brush.sprays.iter().map(spray))
    }
}
