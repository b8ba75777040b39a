//! What of the tree stands before a cut: how high the stem goes and what is left of each limb.
//!
//! Told from the numbers as told, so that a limb at the edge of a section is on the same piece in
//! every draw.

use super::model::{After, PieceSpec, Scene};

/// What is left of a limb.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Left {
    /// All of it.
    Whole,
    /// What the cut with this index left on the stem.
    Stub(usize),
    /// Nothing: the cut with this index took it, or none if it stands above the tree's own top.
    Gone(Option<usize>),
}

/// The tree before a cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Height of the top of the stem, m.
    pub top_m: f64,
    /// What is left of each limb, in the order of the scene.
    pub limbs: Vec<Left>,
}

impl Scene {
    /// The tree before the cut at an index; with `cuts.len()`, after all of them.
    #[must_use]
    pub fn standing(&self, before: usize) -> Standing {
        let tree = &self.tree;
        let top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
        let whole = |height_m: f64| height_m <= top_m;
        let limbs = (tree.limbs.iter())
            .map(|l| if whole(l.height_m.told) { Left::Whole } else { Left::Gone(None) });
        let mut standing = Standing { top_m, limbs: limbs.collect() };
        for (index, cut) in self.cuts.iter().enumerate().take(before) {
            match &cut.piece {
                PieceSpec::Section { from_m, .. } | PieceSpec::Top { from_m } => {
                    standing.top_m = from_m.told;
                    for (left, limb) in standing.limbs.iter_mut().zip(&tree.limbs) {
                        let above = limb.height_m.told >= from_m.told;
                        if above && !matches!(left, Left::Gone(_)) {
                            *left = Left::Gone(Some(index));
                        }
                    }
                }
                PieceSpec::Limb { limb, .. } => {
                    if let Some(left) = standing.limbs.get_mut(*limb) {
                        *left = Left::Stub(index);
                    }
                }
            }
        }
        standing
    }

    /// Cuts before one whose pieces are left where they stop, by index, in order.
    pub fn left_before(&self, cut: usize) -> impl Iterator<Item = usize> + '_ {
        let left = |(_, cut): &(usize, &super::model::Cut)| cut.after == After::LeftWhereItStops;
        self.cuts.iter().enumerate().take(cut).filter(left).map(|(i, _)| i)
    }

    /// The cut by whose id the bumps of the ground under a cut's piece are drawn: its own, but where
    /// pieces lie that are left where they stop, or its own will be, the first of those by name. So
    /// what rests on bumps finds the same ones under it, in whatever order the cuts are made.
    #[must_use]
    pub fn bumps_of(&self, cut: usize) -> &str {
        let all = || self.left_before(self.cuts.len());
        let shares = self.left_before(cut + 1).next().is_some();
        let names = all().filter_map(|i| self.cuts.get(i)).map(|cut| cut.id.as_str());
        let own = self.cuts.get(cut).map_or("", |cut| &cut.id);
        if shares { names.min().unwrap_or(own) } else { own }
    }

    /// Between which heights a cut takes the stem, as told, m; `None` for a limb.
    #[must_use]
    pub fn stem_taken_m(&self, cut: usize) -> Option<[f64; 2]> {
        match &self.cuts.get(cut)?.piece {
            PieceSpec::Section { from_m, to_m } => Some([from_m.told, to_m.told]),
            PieceSpec::Top { from_m } => Some([from_m.told, self.standing(cut).top_m]),
            PieceSpec::Limb { .. } => None,
        }
    }

    /// Length of a cut's piece along its stem or limb, as told, m.
    #[must_use]
    pub fn piece_length_m(&self, cut: usize) -> Option<f64> {
        match &self.cuts.get(cut)?.piece {
            PieceSpec::Section { .. } | PieceSpec::Top { .. } => {
                self.stem_taken_m(cut).map(|[from_m, to_m]| to_m - from_m)
            }
            PieceSpec::Limb { limb, at_m } => {
                Some(self.tree.limbs.get(*limb)?.length_m.told - at_m.told)
            }
        }
    }

    /// Which limbs a cut's piece carries, by index, and what is left of each.
    #[must_use]
    pub fn limbs_on(&self, cut: usize) -> Vec<(usize, Left)> {
        let Some([from_m, to_m]) = self.stem_taken_m(cut) else { return Vec::new() };
        let limbs = self.standing(cut).limbs.into_iter().zip(&self.tree.limbs).enumerate();
        limbs
            .filter(|(_, (left, limb))| {
                let on = (from_m..=to_m).contains(&limb.height_m.told);
                on && !matches!(left, Left::Gone(_))
            })
            .map(|(i, (left, _))| (i, left))
            .collect()
    }
}
