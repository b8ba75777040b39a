//! Lines that are walked back to a known station: what they miss it by, shared out.
//!
//! A survey that closes is told more than it needs. What it misses by is shared out along all legs of
//! the loop by their length: the compass rule (Bowditch 1808, from memory) for the plan, the same
//! for heights (common practice). Loops that share legs are taken in turn until all close, which
//! leads to the least corrections, weighted by 1 / length, that close them (Kaczmarz 1937, from
//! memory). Known answers: a loop and three ways to one station by hand, in the tests of
//! [`transects`](super).

use std::collections::BTreeSet;

use glam::DVec3;

use super::{Start, Transect};
use crate::{quantity::Units, terrain::said};

/// Loops are closed to within this, m (numerical).
const CLOSED_M: f64 = 1e-6;
/// Most passes over loops that share legs (numerical).
const CLOSING_PASSES: usize = 200;

/// By how much a transect misses the station it was walked back to.
#[derive(Clone, Debug, PartialEq)]
pub struct Closing {
    /// Of which transect.
    pub id: String,
    /// From where its legs end to the station, as walked, m.
    pub off_m: DVec3,
    /// Length of all legs of the loop along the slope, m.
    pub length_m: f64,
    /// These legs: which transect, and which of its legs, from 0.
    pub legs: Vec<(usize, usize)>,
}

impl Closing {
    /// What a surveyor says of it.
    pub(crate) fn said(&self, units: Units) -> String {
        format!(
            "transect {} comes back {} beside its station and {} {} it, after {} of tape{}: shared \
             out along the legs of the loop by their length",
            self.id,
            said(self.off_m.truncate().length(), 2, units),
            said(self.off_m.z.abs(), 2, units),
            if self.off_m.z > 0.0 { "below" } else { "above" },
            said(self.length_m, 0, units),
            match self.length_m / self.off_m.length() {
                ratio if ratio < 9_999.5 => format!(" (1 in {ratio:.0})"),
                _ => String::new(),
            },
        )
    }
}

/// Legs as ways from station to station, m.
pub(super) struct Legs<'a> {
    pub(super) transects: &'a [Transect],
    pub(super) stump_m: DVec3,
    pub(super) legs: Vec<Vec<DVec3>>,
}

impl Legs<'_> {
    pub(super) fn stations(&self) -> Vec<Vec<DVec3>> {
        let mut all: Vec<Vec<DVec3>> = Vec::with_capacity(self.legs.len());
        for (t, legs) in self.transects.iter().zip(&self.legs) {
            let mut line = vec![at(&all, t.from, self.stump_m)];
            for leg in legs {
                line.push(line.last().copied().unwrap_or_default() + *leg);
            }
            all.push(line);
        }
        all
    }

    /// Legs from a station back to where its walk began, as (transect, leg), legs from 0.
    fn back(&self, mut station: Start) -> BTreeSet<(usize, usize)> {
        let mut legs = BTreeSet::new();
        // A transect starts on an earlier one, so this ends.
        while let Start::Station { transect, leg } = station {
            legs.extend((0..leg).map(|k| (transect, k)));
            match self.transects.get(transect) {
                Some(t) => station = t.from,
                None => break,
            }
        }
        legs
    }

    /// Shares out what loops miss by; returns what they missed by as walked.
    pub(super) fn close(&mut self) -> Vec<Closing> {
        let transects = self.transects;
        // Each loop: the station, its end, and the legs of either side that the other hasn't.
        let loops: Vec<_> = (transects.iter().enumerate())
            .filter_map(|(n, t)| {
                let (station, end) = (t.closes?, Start::Station { transect: n, leg: t.legs.len() });
                let (there, here) = (self.back(station), self.back(end));
                let own: Vec<_> = here.difference(&there).copied().collect();
                let others: Vec<_> = there.difference(&here).copied().collect();
                let length = |(t, k): &(usize, usize)| {
                    let leg = transects.get(*t).and_then(|t| t.legs.get(*k));
                    leg.map_or(0.0, |leg| leg.slope_distance_m)
                };
                let length_m: f64 = own.iter().chain(&others).map(length).sum();
                let shares: Vec<((usize, usize), f64)> = (own.iter().map(|at| (*at, 1.0)))
                    .chain(others.iter().map(|at| (*at, -1.0)))
                    .map(|(at, sign)| (at, sign * length(&at) / length_m))
                    .collect();
                Some((t.id.clone(), station, end, length_m, shares))
            })
            .collect();
        let mut closings = Vec::new();
        for pass in 0..CLOSING_PASSES {
            let mut most_m = 0.0_f64;
            for (id, station, end, length_m, shares) in &loops {
                let all = self.stations();
                let off_m = at(&all, *station, self.stump_m) - at(&all, *end, self.stump_m);
                if pass == 0 {
                    let legs = shares.iter().map(|(at, _)| *at).collect();
                    closings.push(Closing { id: id.clone(), off_m, length_m: *length_m, legs });
                }
                most_m = most_m.max(off_m.length());
                for ((t, k), share) in shares {
                    if let Some(leg) = self.legs.get_mut(*t).and_then(|legs| legs.get_mut(*k)) {
                        *leg += off_m * *share;
                    }
                }
            }
            if most_m < CLOSED_M {
                break;
            }
        }
        closings
    }
}

/// Where a station is among those walked so far, m.
fn at(all: &[Vec<DVec3>], station: Start, stump_m: DVec3) -> DVec3 {
    match station {
        Start::Stump => stump_m,
        Start::Point(p) => p,
        Start::Station { transect, leg } => {
            all.get(transect).and_then(|line| line.get(leg)).copied().unwrap_or(stump_m)
        }
    }
}
