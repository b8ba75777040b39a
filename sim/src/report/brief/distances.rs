//! Where no one stands, and why: how far pieces got, and distances quoted from rules.
//!
//! What is quoted is quoted: each row names its source and whether that was read itself, in
//! another's quotation, or stands here from memory. Nothing here says where one may stand; local
//! codes and licensed practice do. For wires no source gives a figure that holds without the
//! voltage, so none is given.

use super::{
    Brief,
    cuts::{counts, each, far_source, ranges},
    over_grounds,
    sheet::{Block, Line, Section, Sources},
};
use crate::{
    felling::rules::Standing,
    job::CutReady,
    report::{plan, words},
    scene::model::{Cutter, TargetKind},
};

/// Whom a row is for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum For {
    /// Every job.
    Any,
    /// Cuts from the ground.
    Ground,
    /// Cuts from the spar.
    Spar,
}

/// How far.
#[derive(Clone, Copy)]
enum Far {
    /// So many heights of the tree as it stands.
    Heights(f64),
    /// So many lengths of the piece.
    Lengths(f64),
    /// As said in the words.
    Said,
}

struct Rule {
    whom: For,
    what: &'static str,
    far: Far,
    source: &'static str,
    standing: Standing,
}

const fn rule(
    whom: For,
    what: &'static str,
    far: Far,
    source: &'static str,
    standing: Standing,
) -> Rule {
    Rule { whom, what, far, source, standing }
}

const RULES: [Rule; 16] = [
    rule(
        For::Any,
        "machines and anyone coming near the one who cuts keep off",
        Far::Heights(2.0),
        "29 CFR 1910.266(h)(1), OSHA, logging",
        Standing::Seen,
    ),
    rule(
        For::Any,
        "between work areas with people in them; more where a piece may roll or slide down the \
         slope",
        Far::Heights(2.0),
        "WAC 296-54-539, Washington, logging",
        Standing::Seen,
    ),
    rule(
        For::Any,
        "no work near a danger tree that still stands",
        Far::Heights(2.0),
        "29 CFR 1910.266(h)(1), OSHA, logging",
        Standing::Seen,
    ),
    rule(
        For::Any,
        "those at a pull line",
        Far::Heights(1.5),
        "ANSI Z133 as ArborTIMES, fall 2025, quotes it",
        Standing::SeenSecondHand,
    ),
    rule(
        For::Any,
        "two tree lengths in British, New Zealand and British Columbian guidance",
        Far::Heights(2.0),
        "FISA 301; WorkSafe NZ code of practice; WorkSafeBC part 26",
        Standing::Memory,
    ),
    rule(
        For::Spar,
        "drop zone of a piece cut by a climber, outward: twice its length",
        Far::Lengths(2.0),
        "ANSI Z133 as ArborTIMES, fall 2025, quotes it",
        Standing::SeenSecondHand,
    ),
    rule(
        For::Spar,
        "cones for a removal stand 20 ft beyond the drip line (10 ft for pruning)",
        Far::Said,
        "ArborTIMES, fall 2025, after ANSI Z133",
        Standing::SeenSecondHand,
    ),
    rule(
        For::Ground,
        "everyone but the feller is clear: twice the height of the tree being cut",
        Far::Heights(2.0),
        "Michigan R 408.15336",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "drop zone of a tree felled",
        Far::Heights(2.0),
        "ANSI Z133 as ArborTIMES, fall 2025, quotes it; the clause itself from memory",
        Standing::SeenSecondHand,
    ),
    rule(
        For::Ground,
        "the feller's retreat: 45° to the side and back, never straight behind, 20 ft",
        Far::Said,
        "OSHA Logging eTool (guidance)",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "the retreat in Oregon: 25 ft away and to the side",
        Far::Said,
        "OAR 437-007-0810(9), Oregon",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "the retreat runs slantwise away from the line of fall and is cleared first",
        Far::Said,
        "WAC 296-54-539(6), Washington; 29 CFR 1910.266(h)(2)(i) from memory",
        Standing::Seen,
    ),
    rule(
        For::Any,
        "where a tree may slide or roll, the one who cuts stands on the uphill side",
        Far::Said,
        "Michigan R 408.15336; Quebec S-2.1 r.17 s.43(3)",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "not felled straight uphill where it may slide back past the stump (a British volunteers' \
         guide says the contrary: uphill where possible)",
        Far::Said,
        "OAR 437-007-0810(13), Oregon",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "where it may fall the wrong way: wedges, block and tackle or rope",
        Far::Said,
        "Michigan R 408.15336(9)",
        Standing::Seen,
    ),
    rule(
        For::Ground,
        "a danger tree: deep undercut, wide face, felled with its lean where possible",
        Far::Said,
        "OAR 437-007-0810(7), Oregon",
        Standing::Seen,
    ),
];

pub(super) fn section(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let mut blocks = vec![Block::Item(reached(brief, sources))];
    blocks.extend(people(brief, sources).map(Block::Item));
    blocks.push(Block::Item(
        Line::new().strong("Below a piece that lies on the bank: no one, until it is secured."),
    ));
    let scene = brief.scene;
    let is = |cutter| scene.cuts.iter().any(|c| c.cutter == cutter);
    let (ground, spar) = (is(Cutter::OnTheGround), is(Cutter::OnTheSpar));
    blocks.push(Block::Text(
        Line::new().strong("Distances quoted from rules.").plain(
            " They are written for other places and jobs than this one; local codes decide.",
        ),
    ));
    let shown = |rule: &&Rule| match rule.whom {
        For::Any => true,
        For::Ground => ground,
        For::Spar => spar,
    };
    // One line for each distance, and one for each rule without.
    let mut by_distance: Vec<(Option<String>, Vec<&Rule>)> = Vec::new();
    for rule in RULES.iter().filter(shown) {
        let far = far(brief, rule.far);
        match by_distance.iter_mut().find(|(d, _)| far.is_some() && *d == far) {
            Some((_, rules)) => rules.push(rule),
            None => by_distance.push((far, vec![rule])),
        }
    }
    for (far, rules) in by_distance {
        let mut line = far.map_or_else(Line::new, |far| Line::new().strong(far).plain(": "));
        for (i, rule) in rules.iter().enumerate() {
            line = line.plain(if i == 0 { "" } else { "; " }).plain(rule.what);
            line = line.mark(source(sources, rule));
        }
        blocks.push(Block::Item(line.plain(".")));
    }
    blocks.push(Block::Item(wires(brief, sources)));
    Section { id: "stand", title: "Where no one stands, and why".to_owned(), blocks }
}

/// How far pieces of any cut got, and toward where.
fn reached(brief: &Brief<'_>, sources: &mut Sources) -> Line {
    let units = brief.scene.units;
    let (far, range, count) = (far_source(sources), ranges(brief, sources), counts(brief, sources));
    let forecast = &brief.run.forecast;
    let by_ground = forecast.cuts.iter().flat_map(|c| &c.grounds).map(|g| g.farthest_m);
    let over = by_ground.fold(0.0_f64, f64::max);
    let told: Vec<_> =
        brief.run.told.iter().flat_map(|(_, fates)| fates).filter_map(|f| f.outcome()).collect();
    let most = told.iter().map(|o| super::cuts::distance_m(o)).fold(0.0, f64::max);
    let mut line = Line::new()
        .strong("Where pieces get to.")
        .plain(format!(
            " The farthest of any cut: {} from the stump over the grounds",
            units.distance(over)
        ))
        .mark(far)
        .mark(range)
        .plain(format!(", {} as told", units.distance(most)))
        .mark(count);
    let views: Vec<plan::DropView<'_>> =
        told.iter().map(|outcome| plan::DropView { outcome, track: None }).collect();
    if let Some((from, to)) = plan::spread(glam::DVec3::ZERO, &views) {
        // Bearings run the other way round, from east; azimuths from north.
        let azimuth = |bearing: f64| {
            let turned = 90.0 - bearing.to_degrees() - brief.turn_rad.to_degrees();
            turned.rem_euclid(360.0)
        };
        line = line
            .plain(format!(
                "; nine in ten end between {:.0}° and {:.0}° from it",
                azimuth(to),
                azimuth(from)
            ))
            .mark(count);
    }
    line.plain(". How far drops got is a count, not a limit: thrown soil and what a piece knocks loose are not in it.")
}

/// What is said of people: struck, over grounds and as told, for each person of any cut.
fn people(brief: &Brief<'_>, sources: &mut Sources) -> Option<Line> {
    let (range, count) = (ranges(brief, sources), counts(brief, sources));
    let mut said = Vec::new();
    for (counted, ready, _) in each(brief) {
        for target in counted.targets.iter().filter(|t| is_person(ready, &t.id)) {
            let k = counted.targets.iter().position(|t| t.id == target.id).unwrap_or(0);
            let over =
                over_grounds(&counted.grounds, |g| g.targets.get(k).map_or(0, |t| t.reached));
            if over.high > 0.0 || target.reached > 0 {
                said.push(format!(
                    "{} by cut {} in {} ({} of {})",
                    words::name(&target.id),
                    words::name(&counted.id),
                    super::range_words(over),
                    target.reached,
                    counted.drops()
                ));
            }
        }
    }
    (!said.is_empty()).then(|| {
        Line::new()
            .strong("Struck where they stand in the scene: ")
            .plain(said.join("; "))
            .mark(range)
            .mark(count)
            .plain(".")
    })
}

fn is_person(ready: &CutReady, id: &str) -> bool {
    ready.site.bodies.iter().any(|b| b.is_target && b.id == id && b.kind.is_person())
}

/// A rule's distance on this job, with how it is made.
fn far(brief: &Brief<'_>, far: Far) -> Option<String> {
    let (tree, units) = (&brief.scene.tree, brief.scene.units);
    let height = tree.topped_at_m.as_ref().unwrap_or(&tree.height_m).told;
    let longest = brief.run.forecast.cuts.iter().map(|c| c.piece.length_m).fold(0.0, f64::max);
    let (times, of, length) = match far {
        Far::Heights(times) => (times, "the tree as it stands before the first cut", height),
        Far::Lengths(times) => (times, "the longest piece", longest),
        Far::Said => return None,
    };
    let [product, length] = [times * length, length].map(|m| units.distance(m));
    Some(format!("{product} ({times} × {of}, {length})"))
}

fn source(sources: &mut Sources, rule: &Rule) -> usize {
    let standing = rule.standing.words();
    sources.of(format!("{} ({standing}).", rule.source))
}

fn wires(brief: &Brief<'_>, sources: &mut Sources) -> Line {
    let named: Vec<String> = brief
        .scene
        .targets
        .iter()
        .filter(|t| matches!(t.kind, TargetKind::Wire { .. }))
        .map(|t| words::name(&t.id))
        .collect();
    let here = if named.is_empty() {
        "none is in the scene; look again".to_owned()
    } else {
        format!("in the scene: {}", named.join(", "))
    };
    let none = sources.of(
        "No figure is given: the distance depends on the voltage, and no source read for this brief \
         gives one.",
    );
    Line::new()
        .strong("Overhead wires")
        .plain(format!(
            " ({here}): how near anyone, any piece and any line may come depends on the voltage and \
             on local code. Ask whoever runs the wire before the job"
        ))
        .mark(none)
        .plain(".")
}
