//! The cuts in order, and what their pieces do once they lie.

use super::{
    Brief, beside, over_grounds, range_words,
    sheet::{Block, Line, Section, Sources},
};
use crate::{
    drop::Ending,
    forecast::result::{CutForecast, GroundTarget, Percentiles, TargetForecast},
    job::CutReady,
    outcome::Outcome,
    report::{cut_words, words},
    scene::model::{After, Cut, Cutter},
};

/// Where ranges over the grounds come from.
pub(super) fn ranges(brief: &Brief<'_>, sources: &mut Sources) -> usize {
    let (grounds, drops) = brief
        .run
        .forecast
        .cuts
        .first()
        .map_or((0, 0), |c| (c.grounds.len(), c.grounds.first().map_or(0, |g| g.drops)));
    sources.of(format!(
        "Range: the least and the greatest share among {grounds} grounds, every number in doubt \
         drawn anew for each from what the notes leave open, {drops} drops a cut on each."
    ))
}

/// Where counts as told come from.
pub(super) fn counts(brief: &Brief<'_>, sources: &mut Sources) -> usize {
    let forecast = &brief.run.forecast;
    sources.of(format!(
        "Count: {} drops a cut with every number as told. tumblewood drop SCENE --cut ID --drop N \
         --seed {} makes any one of them again.",
        forecast.drops, forecast.seed
    ))
}

fn noise(brief: &Brief<'_>, sources: &mut Sources) -> usize {
    sources.of(format!(
        "By counting alone: upper bound of Clopper and Pearson, {:.0} %, two-sided, for the drops \
         as told; it knows nothing of other grounds.",
        100.0 * brief.run.forecast.confidence
    ))
}

/// Cuts of the brief: as forecast, as told, as written.
pub(super) fn each<'a>(
    brief: &Brief<'a>,
) -> impl Iterator<Item = (&'a CutForecast, &'a CutReady, &'a Cut)> {
    let (run, ready, scene) = (brief.run, brief.ready, brief.scene);
    run.forecast
        .cuts
        .iter()
        .zip(ready)
        .filter_map(move |(counted, ready)| Some((counted, ready, scene.cuts.get(ready.index)?)))
}

pub(super) fn section(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let mut blocks = vec![Block::Text(
        Line::new()
            .plain("First the range over the grounds that fit the notes")
            .mark(range)
            .plain(format!("; in brackets the count of {} drops as told", brief.run.forecast.drops))
            .mark(count)
            .plain("."),
    )];
    for (number, (counted, ready, cut)) in each(brief).enumerate() {
        one(brief, sources, &mut blocks, (number + 1, counted, ready, cut));
    }
    let any: Vec<_> = brief.run.forecast.job.targets.iter().collect();
    if brief.run.forecast.cuts.len() > 1 && !any.is_empty() {
        let job = sources.of(
            "The whole job: drop N of every cut together is one job on one ground; reached by any \
             of its cuts.",
        );
        blocks.push(Block::Head(Line::new().strong("The whole job, any of its cuts")));
        let (quiet, any): (Vec<_>, Vec<_>) =
            any.into_iter().partition(|t| t.share <= 0.0 && t.over_grounds.high <= 0.0);
        if !quiet.is_empty() {
            let names: Vec<String> = quiet.iter().map(|t| words::name(&t.id)).collect();
            blocks.push(Block::Item(
                Line::new()
                    .plain(format!(
                        "Neither reached nor struck in any drop, over the grounds or as told: {}",
                        names.join(", ")
                    ))
                    .mark(job)
                    .plain("."),
            ));
        }
        for target in any {
            let told = if target.share <= 0.0 {
                "none as told".to_owned()
            } else {
                format!("{} in 100 jobs as told", words::in_hundred(target.share))
            };
            blocks.push(Block::Item(
                Line::new()
                    .plain(format!(
                        "{} {} in {} over the grounds; {told}",
                        words::name(&target.id),
                        if is_someone(brief, &target.id) { "struck" } else { "reached" },
                        range_words(target.over_grounds)
                    ))
                    .mark(job)
                    .plain("."),
            ));
        }
    }
    Section { id: "cuts", title: "Cuts, in order".to_owned(), blocks }
}

fn one(
    brief: &Brief<'_>,
    sources: &mut Sources,
    blocks: &mut Vec<Block>,
    (number, counted, ready, cut): (usize, &CutForecast, &CutReady, &Cut),
) {
    let units = brief.scene.units;
    let piece = &counted.piece;
    let weight = sources.of(
        "Weight: volume of the section between the diameters told (tapered, hollow taken off, stubs \
         and limbs added) times the green density of the species table, and the brush of its limbs; \
         ±10 % over the grounds.",
    );
    let told = sources.of("As the scene tells it; the scene says how sure each number is.");
    blocks.push(Block::Head(
        Line::new()
            .strong(format!("{number}. {}", words::name(&counted.id)))
            .plain(format!(
                ": {} long, {} to {} thick, ",
                units.length(piece.length_m),
                units.diameter(piece.butt_diameter_m),
                units.diameter(piece.top_diameter_m)
            ))
            .strong(units.mass(piece.mass_kg))
            .mark(weight)
            .plain(format!(", butt {} up", units.distance(piece.from_height_m)))
            .mark(told),
    ));
    let from = match cut.cutter {
        Cutter::OnTheSpar => "from the spar",
        Cutter::OnTheGround => "from the ground",
    };
    let after = match cut.after {
        After::Cleared => "cleared away before the next cut",
        After::LeftWhereItStops => "left where it stops",
        After::LeftAt { .. } => "left lying where the scene notes it",
    };
    blocks.push(Block::Text(
        Line::new()
            .plain(format!(
                "Cut {from}: {}; afterwards {after}",
                cut_words::release_words(&cut.release, units)
            ))
            .mark(told)
            .plain("."),
    ));
    blocks.push(Block::Item(goes(brief, sources, counted)));
    blocks.push(Block::Item(farthest(brief, sources, counted, ready)));
    for line in reaches(brief, sources, counted, ready) {
        blocks.push(Block::Item(line));
    }
    for line in beside::lines(brief, sources, counted, ready) {
        blocks.push(Block::Item(line));
    }
}

fn goes(brief: &Brief<'_>, sources: &mut Sources, counted: &CutForecast) -> Line {
    let mode = sources.of(
        "How a piece goes, the first that holds: tumbled, at least half a turn end over end after \
         first touch; stayed, under 1 m and a quarter turn; rolled, half its path with slip under \
         30 %; else slid.",
    );
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let m = &counted.modes;
    let grounds = &counted.grounds;
    let rows = [
        ("tumbles end over end", m.tumbled, over_grounds(grounds, |g| g.modes.tumbled)),
        ("rolls", m.rolled, over_grounds(grounds, |g| g.modes.rolled)),
        ("slides", m.slid, over_grounds(grounds, |g| g.modes.slid)),
        ("stays", m.stayed, over_grounds(grounds, |g| g.modes.stayed)),
        ("sits back", counted.sat_back, over_grounds(grounds, |g| g.sat_back)),
    ];
    let said: Vec<String> = rows
        .iter()
        .filter(|(_, told, over)| *told > 0 || over.high > 0.0)
        .map(|(word, told, over)| format!("{word} {} ({told})", range_words(*over)))
        .collect();
    Line::new().plain("It ").plain(said.join(", ")).mark(mode).mark(range).mark(count).plain(".")
}

/// Level distance from the stump that one drop is known to have got to, m.
pub(super) fn distance_m(outcome: &Outcome) -> f64 {
    [Some(outcome.end_m), outcome.first_touch.map(|t| t.point_m)]
        .into_iter()
        .flatten()
        .map(|p| p.truncate().length())
        .fold(0.0, f64::max)
}

pub(super) fn far_source(sources: &mut Sources) -> usize {
    sources.of(
        "Distance from the stump, level: the greater of first touch and end of a drop. A drop that \
         was lost or not yet at rest counts as far as it was followed, “at least”.",
    )
}

/// Outcomes of a cut as told.
pub(super) fn outcomes<'a>(brief: &Brief<'a>, index: usize) -> Vec<&'a Outcome> {
    let told = brief.run.told.iter().find(|(i, _)| *i == index);
    told.map_or_else(Vec::new, |(_, fates)| fates.iter().filter_map(|f| f.outcome()).collect())
}

fn farthest(
    brief: &Brief<'_>,
    sources: &mut Sources,
    counted: &CutForecast,
    ready: &CutReady,
) -> Line {
    let units = brief.scene.units;
    let (far, range, count) = (far_source(sources), ranges(brief, sources), counts(brief, sources));
    let left = outcomes(brief, ready.index);
    let mut told: Vec<f64> = left.iter().map(|o| distance_m(o)).collect();
    told.sort_by(f64::total_cmp);
    let reached = counted.grounds.iter().map(|g| g.farthest_m);
    let (low, high) =
        reached.fold((f64::INFINITY, 0.0_f64), |(low, high), d| (low.min(d), high.max(d)));
    let at_least = if left.iter().any(|o| o.ending != Ending::Rest) { "at least " } else { "" };
    let (Some(most), Some(half)) = (told.last(), told.get(told.len() / 2)) else {
        return Line::new().plain("It left the spar in no drop as told.").mark(count);
    };
    Line::new()
        .plain(format!(
            "Gets {} to {} from the stump at the farthest, by ground",
            units.distance(low.min(high)),
            units.distance(high)
        ))
        .mark(far)
        .mark(range)
        .plain(format!(
            "; as told half get past {}, the farthest {at_least}{}",
            units.distance(*half),
            units.distance(*most)
        ))
        .mark(count)
        .plain(".")
}

/// Whether an id is a person's, of the scene or the one who cuts.
fn is_someone(brief: &Brief<'_>, id: &str) -> bool {
    let bodies = brief.ready.iter().flat_map(|ready| &ready.site.bodies);
    bodies.filter(|b| b.is_target && b.id == id).any(|b| b.kind.is_person())
}

/// One line for each target that something came to, one for all the others.
fn reaches(
    brief: &Brief<'_>,
    sources: &mut Sources,
    counted: &CutForecast,
    ready: &CutReady,
) -> Vec<Line> {
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let units = brief.scene.units;
    let drops = counted.drops();
    let quiet = |t: &&TargetForecast| t.reached == 0 && t.over_grounds.high <= 0.0;
    let mut lines = Vec::new();
    for target in counted.targets.iter().filter(|t| !quiet(t)) {
        let body = ready.site.bodies.iter().find(|b| b.is_target && b.id == target.id);
        let person = body.is_some_and(|b| b.kind.is_person());
        let verb = if person { "is struck" } else { "is reached" };
        let mut line = Line::new()
            .strong(words::name(&target.id))
            .plain(format!(" {verb} in {}", range_words(target.over_grounds)))
            .mark(range)
            .plain(format!("; {} of {drops} as told", target.reached))
            .mark(count);
        if target.unknown > 0 {
            line = line.plain(format!(", {} more can’t be told", target.unknown));
        }
        if target.reached == 0 {
            let bound = noise(brief, sources);
            line = line
                .plain(format!(", {} by counting alone", words::at_most(target.high)))
                .mark(bound);
        }
        // Of people nothing is graded.
        if let (false, Some(Percentiles { max: Some(most), .. })) = (person, target.energy_j) {
            let energy = sources.of(
                "Energy: half the mass times the square of the centre's speed, and that of its \
                 turning, at first touch; the greatest of the drops as told.",
            );
            line = line.plain(format!(", with up to {}", units.energy(most))).mark(energy);
        }
        if let Some(harm) = target.harm {
            let source = sources.of(
                "Harm to a tree that stays: the energy of the hardest of those touches against the \
                 work that breaks its limbs or bark; the whole piece's energy, so at most this.",
            );
            line = line.plain(format!("; the hardest {harm}")).mark(source);
        }
        lines.push(line.plain("."));
    }
    let none: Vec<&TargetForecast> = counted.targets.iter().filter(quiet).collect();
    if let Some(first) = none.first() {
        let bound = noise(brief, sources);
        let names: Vec<String> = none.iter().map(|t| words::name(&t.id)).collect();
        let high = none.iter().map(|t| t.high).fold(first.high, f64::max);
        let lost = none.iter().map(|t| t.unknown).max().unwrap_or(0);
        let on_grounds = counted.grounds.iter().map(|g| {
            let of = |t: &&GroundTarget| none.iter().any(|n| n.id == t.id);
            g.targets.iter().filter(of).map(|t| t.unknown).max().unwrap_or(0)
        });
        let [lost, over] = [lost, on_grounds.sum()].map(|n: u32| match n {
            0 => String::new(),
            n => format!(" ({n} more can’t be told of all of them)"),
        });
        lines.push(
            Line::new()
                .plain(format!(
                    "Neither reached nor struck in any drop over the grounds: {}{over}",
                    names.join(", ")
                ))
                .mark(range)
                .plain(format!("; none of {drops} as told{lost}"))
                .mark(count)
                .plain(format!(", {} by counting alone", words::at_most(high)))
                .mark(bound)
                .plain(". A count, not a promise."),
        );
    }
    lines
}

pub(super) fn lying(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let hold = sources.of(
        "Hold: the ground under the resting piece is tilted by 5°. Firmly: it stays. Barely: it \
         goes. By what it lies against: without the log, tree or wall it would go now.",
    );
    let mut blocks = vec![Block::Text(
        Line::new()
            .strong("No one goes below a piece that lies on the bank until it is secured.")
            .plain(
                " What lies firmly here may not on the day: look at each. What lies barely is \
                     freed by a push, a foot on it, rain or ground 5° steeper; what only lies \
                     against something, by moving that",
            )
            .mark(hold)
            .plain("."),
    )];
    for (counted, ..) in each(brief) {
        let h = &counted.hold;
        let resting = h.firm + h.marginal + h.by_aid_only;
        let grounds = &counted.grounds;
        let rows = [
            ("firmly", h.firm, over_grounds(grounds, |g| g.hold.firm)),
            ("barely", h.marginal, over_grounds(grounds, |g| g.hold.marginal)),
            (
                "only by what it lies against",
                h.by_aid_only,
                over_grounds(grounds, |g| g.hold.by_aid_only),
            ),
        ];
        let said: Vec<String> = rows
            .iter()
            .filter(|(_, told, over)| *told > 0 || over.high > 0.0)
            .map(|(word, told, over)| format!("{word} {} ({told})", range_words(*over)))
            .collect();
        let said = if said.is_empty() { "in no drop at rest".to_owned() } else { said.join(", ") };
        let rests = &counted.rests_on;
        let on: Vec<String> = [
            (rests.ground, "on the ground"),
            (rests.structure, "on something solid"),
            (rests.tree, "on a tree"),
            (rests.line, "on a line"),
        ]
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
        let on = if on.is_empty() { "none".to_owned() } else { on.join(", ") };
        blocks.push(Block::Item(
            Line::new()
                .strong(words::name(&counted.id))
                .plain(format!(" lies {said}"))
                .mark(hold)
                .mark(range)
                .plain(format!("; of {resting} at rest: {on}"))
                .mark(count)
                .plain("."),
        ));
    }
    Section { id: "lying", title: "What holds each piece, and what frees it".to_owned(), blocks }
}
