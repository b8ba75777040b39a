//! What turns each piece and what its hinge holds: the numbers of pull and hinge.
//!
//! One section, filled from the release's own balance of moments. Cuts that are felled from the
//! ground or pulled have a section of their own.

use super::{
    Brief,
    cuts::{counts, each, ranges},
    over_grounds, range_words,
    sheet::{Block, Line, Section, Sources},
};
use crate::{
    felling::Felling,
    forecast::reach_map::ReachMap,
    release::{Balance, Method},
    report::words,
};

/// What is known of one cut before it moves; worked out by whoever makes the brief.
#[derive(Clone, Debug, PartialEq)]
pub struct Turning {
    /// The balance of moments as told.
    pub balance: Balance,
    /// Moment that a strap at the back would hold, N m, if there is one.
    pub strap_moment_n_m: Option<f64>,
    /// Its felling numbers, where it is felled from the ground or pulled.
    pub felling: Option<Felling>,
    /// Which way it can lie, beside them.
    pub reach: Option<ReachMap>,
}

pub(super) fn section(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let units = brief.scene.units;
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let balance_source = sources.of(
        "Moments about the hinge or the rim, before it moves: weight m·g·d·sin(θ+β₀) with d the \
         distance to the centre and θ+β₀ the angle of that line from the vertical; push force times \
         its height over the cut; wind on the piece's side, mean speed.",
    );
    let mut blocks = Vec::new();
    for ((counted, ready, cut), turning) in each(brief).zip(brief.turning) {
        let balance = turning.balance;
        let has_line = brief.scene.lines.iter().any(|line| line.cut() == cut.id);
        let push = if has_line { "push and line" } else { "push" };
        let moment = |n_m: f64| units.moment(n_m);
        let mut line = Line::new()
            .strong(words::name(&counted.id))
            .plain(format!(
                ": toward the face weight turns it with {}, {push} {}, wind {}",
                moment(balance.weight_moment_n_m),
                moment(balance.push_moment_n_m),
                moment(balance.wind_moment_n_m)
            ))
            .mark(balance_source);
        if matches!(ready.method, Method::Hinge(_) | Method::BoredHinge(_)) {
            let hinge_source = sources.of(
                "Hinge: MOR·w·t²/6, from C_par·w·t²/6 (first yield) to MOR·w·t²/4 (upper bound, \
                 ours), w its width, t its thickness; strengths of clear green wood of the species \
                 table. Decay, a fork or a crooked grain holds less.",
            );
            line = line
                .plain(format!(
                    "; the hinge holds {} ({} to {})",
                    moment(balance.hinge_moment_n_m),
                    moment(balance.hinge_moment_low_n_m),
                    moment(balance.hinge_moment_high_n_m)
                ))
                .mark(hinge_source);
        }
        line = line.plain("; ");
        line = if balance.margin_n_m > 0.0 {
            line.plain(format!("{} to spare", moment(balance.margin_n_m)))
        } else {
            line.strong(format!("sits back, {} missing", moment(-balance.margin_n_m)))
        };
        line = line
            .mark(balance_source)
            .plain(format!(
                ". Sits back in {}",
                range_words(over_grounds(&counted.grounds, |g| g.sat_back))
            ))
            .mark(range)
            .plain(format!("; {} of {} as told", counted.sat_back, counted.drops()))
            .mark(count)
            .plain(".");
        if let Some(strap) = turning.strap_moment_n_m {
            let strap_source = sources.of(
                "Strap: its area times the modulus of rupture at the distance to the hinge (a low \
                 estimate of clear wood's tension strength; Wood Handbook ch. 5, from memory).",
            );
            line = line
                .plain(format!(
                    " The strap, sound and straight-grained, would hold {}",
                    moment(strap)
                ))
                .mark(strap_source)
                .plain(".");
        }
        blocks.push(Block::Item(line));
    }
    Section { id: "pull", title: "Pull and hinge".to_owned(), blocks }
}
