//! Lines that hold a piece in its drop, on their site.

use glam::DVec3;

use crate::{
    drop::tether::{LineLoad, Tail, Tether},
    line, rope,
    scene::{
        model::{Cut, Hitch, TiedKind, TiedLine},
        places::heading,
    },
    spar::{Spar, SparLoad},
    tree::Piece,
    wood,
};

use super::{JobError, World, cut::Stand0, terrain::Footing};

/// Height at which hands hold a line, m: a person's hip to chest; ours.
const HANDS_M: f64 = 1.1;

/// A line that holds a piece, before its cut is made.
#[derive(Clone, Debug, PartialEq)]
pub struct TiedReady {
    /// The line's id.
    pub id: String,
    /// What the trade calls it.
    pub kind: TiedKind,
    /// The rope's name.
    pub rope: String,
    /// The line as the drop knows it.
    pub tether: Tether,
    /// Where on the standing piece it is made fast, m.
    pub attach_m: DVec3,
    /// Its breaking strength, new and without knots, N.
    pub strength_n: f64,
    /// The most it is to be loaded with, N.
    pub working_n: f64,
    /// The most the block is to be loaded with, N, if that is told.
    pub block_working_n: Option<f64>,
    /// Whether hitch or block is on the spar, and whether the brake is.
    pub on_spar: [bool; 2],
    /// The spar as a beam, if any of it is.
    pub spar: Option<Spar>,
}

impl TiedReady {
    /// Loads on the spar from what hangs on hitch or block, N, and the pull on the brake's side, N.
    #[must_use]
    pub fn spar_loads(&self, hitch_n: DVec3, tail_n: f64) -> Vec<SparLoad> {
        let mut loads = Vec::new();
        if self.on_spar[0] {
            loads.push(SparLoad { at_m: self.tether.to_m, force_n: hitch_n });
        }
        if let Some(tail) = self.tether.tail.filter(|_| self.on_spar[1]) {
            let up = (self.tether.to_m - tail.brake_m).normalize_or_zero();
            loads.push(SparLoad { at_m: tail.brake_m, force_n: up * tail_n });
        }
        loads
    }

    /// The greatest share of the spar's bending strength that a drop's loads used; `None` where
    /// nothing of the line is on the spar.
    #[must_use]
    pub fn spar_share(&self, load: &LineLoad) -> Option<f64> {
        let spar = self.spar.as_ref()?;
        let share = |hitch_n, tail_n| spar.weakest(&self.spar_loads(hitch_n, tail_n)).0;
        let most = share(load.hitch_n, load.hitch_tail_n);
        Some(most.max(share(load.level_n, load.level_tail_n)))
    }
}

impl World {
    /// The lines that hold a cut's piece, by the scene's order, each with its place in the scene's
    /// list.
    pub fn tied_of<'a>(&'a self, cut: &'a str) -> impl Iterator<Item = (usize, &'a TiedLine)> {
        let lines = self.scene.lines.iter().enumerate();
        lines.filter_map(|(i, line)| Some((i, line.tied()?))).filter(move |(_, l)| l.cut == cut)
    }

    /// The lines that hold the piece of a cut as it stands.
    ///
    /// # Errors
    ///
    /// A place off the terrain.
    pub(super) fn tied(
        &self,
        cut: &Cut,
        piece: &Piece,
        (stand, section): (&Stand0, &crate::tree::Section),
        spar_top_m: f64,
        footing: &Footing<'_>,
    ) -> Result<Vec<TiedReady>, JobError> {
        let mut ready = Vec::new();
        let species =
            wood::species(&self.scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
        for (_, tied) in self.tied_of(&cut.id) {
            let axis = (piece.top_m() - piece.butt_m()).normalize_or(DVec3::Z);
            // Drawn lengths may cross; a line stays on its piece.
            let up_m = tied.from_cut_m.told.clamp(0.0, piece.length_m());
            let at_m = piece.butt_m() + axis * up_m;
            let attitude = stand.attitude * section.attitude;
            let attach_m = stand.cut_m + stand.attitude * section.centre_m + attitude * at_m;
            let toward = cut.release.toward_rad().told;
            let fast = |hitch: &Hitch| self.hitch_m(hitch, toward, spar_top_m, &tied.id, footing);
            let to = tied.block.as_ref().map_or(&tied.hitch, |block| &block.on);
            let to_m = fast(to)?;
            let tail = match &tied.block {
                Some(block) => {
                    let brake_m = fast(&tied.hitch)?;
                    Some(Tail { brake_m, friction: block.friction.told })
                }
                None => None,
            };
            let of_table = rope::named(&tied.rope);
            let strength_n = tied
                .strength_n
                .map_or(of_table.map_or(0.0, |kind| kind.strength_n), |told| told.told);
            let loss = tied.knot_loss_share.told;
            let is_spar = |hitch: &Hitch| matches!(hitch, Hitch::Spar { .. });
            let on_spar = [is_spar(to), tied.block.is_some() && is_spar(&tied.hitch)];
            ready.push(TiedReady {
                id: tied.id.clone(),
                kind: tied.kind,
                rope: tied.rope.clone(),
                attach_m,
                tether: Tether {
                    at_m,
                    to_m,
                    free_m: attach_m.distance(to_m) + tied.slack_m.told,
                    tail,
                    stiffness_n: rope::stiffness_n(strength_n, tied.stretch_share.told),
                    damping: tied.damping_share.told,
                    breaks_n: strength_n * (1.0 - loss),
                    runs_n: match &tied.hitch {
                        Hitch::Hand { hold_n, .. } => hold_n.told,
                        _ => f64::INFINITY,
                    },
                },
                strength_n,
                working_n: line::working_load_n(strength_n, loss, tied.design_factor),
                block_working_n: tied.block.as_ref().and_then(|b| b.working_n).map(|n| n.told),
                on_spar,
                spar: (on_spar[0] || on_spar[1])
                    .then(|| Spar::new(&self.stem, spar_top_m, species.rupture_pa)),
            });
        }
        Ok(ready)
    }

    /// Where a hitch is, m: on the spar in its bark on the side the piece leaves to.
    fn hitch_m(
        &self,
        hitch: &Hitch,
        toward_rad: f64,
        spar_top_m: f64,
        what: &str,
        footing: &Footing<'_>,
    ) -> Result<DVec3, JobError> {
        Ok(match hitch {
            Hitch::Spar { height_m } => {
                let height_m = height_m.told.min(spar_top_m);
                let out_m = 0.5 * self.stem.diameter_m(height_m);
                let out = heading(toward_rad, &self.frame) * out_m;
                self.on_stem(height_m) + out.extend(0.0)
            }
            Hitch::Tree { at, height_m } | Hitch::Stump { at, height_m } => {
                footing.on(what, self.place_m(at))? + DVec3::Z * height_m.told
            }
            Hitch::Hand { at, .. } => footing.on(what, self.place_m(at))? + DVec3::Z * HANDS_M,
        })
    }
}
