//! What would change the plan, when to stop, who does what, and the cautions.

use super::{
    Brief,
    cuts::ranges,
    sheet::{Block, Line, Section, Sources},
};
use crate::{
    report::{cut_words, input_words, stamp, words},
    scene::model::Wetness,
};

/// Inputs named for each cut at most.
const HANGS_MOST: usize = 3;

/// What is filled in by hand.
const ROLES: [&str; 10] = [
    "Climber",
    "Feller",
    "In charge on the ground",
    "Lines, winch or vehicle",
    "Lookout, path and road closed by",
    "Rescue climber",
    "First aid, kit lies at",
    "Stop signal, radio channel",
    "Address for the ambulance, way in",
    "Emergency number, nearest hospital",
];

pub(super) fn changes(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let scene = brief.scene;
    let range = ranges(brief, sources);
    let hangs = sources.of(
        "What the answer hangs on: the grounds are split at the median of each input; named are \
         inputs whose halves differ in the share that reaches by over 3.5 standard errors.",
    );
    let mut blocks = Vec::new();
    for cut in &brief.run.forecast.cuts {
        let moves = cut.hangs_on.iter().filter(|h| (h.share_high - h.share_low).abs() >= 0.005);
        for hang in moves.take(HANGS_MOST) {
            let (low, high) =
                (words::in_hundred(hang.share_low), words::in_hundred(hang.share_high));
            let (word, target) =
                (input_words::input(&hang.input, scene), words::name(&hang.target));
            let said = if input_words::is_yes_or_no(&hang.input) {
                format!("{word}: {low} in 100 come to {target} where not, {high} where so")
            } else {
                format!("{word}: {low} in 100 come to {target} where it is low, {high} where high")
            };
            blocks.push(Block::Item(
                Line::new()
                    .plain("Cut ")
                    .strong(words::name(&cut.id))
                    .plain(format!(" hangs on {said}"))
                    .mark(hangs)
                    .mark(range)
                    .plain("."),
            ));
        }
    }
    if blocks.is_empty() {
        blocks.push(Block::Item(
            Line::new()
                .plain("No single input moves the answers by more than chance would")
                .mark(hangs)
                .plain("."),
        ));
    }
    let wet = match scene.site.ground.wetness {
        Wetness::Dry => "told as dry. Rain before or during the job makes it another job",
        Wetness::Wet => "told as wet: traction is limited by the soil's strength on every ground",
        Wetness::Damp => {
            "told as damp: on half of the grounds traction is limited by the soil's strength. Rain \
             makes it another job"
        }
        Wetness::DontKnow => {
            "not known: on half of the grounds traction is limited by the soil's strength. Look on \
             the day; rain makes it another job"
        }
    };
    let told = sources.of("As the scene tells it; the scene says how sure each number is.");
    blocks.push(Block::Item(
        Line::new()
            .strong("Ground")
            .plain(format!(", {}. Wetness {wet}", words::ground(&scene.site.ground)))
            .mark(told)
            .plain("."),
    ));
    let wind = scene.site.wind.as_ref().map_or_else(
        || "still air is reckoned with; any wind makes it another job".to_owned(),
        |wind| {
            format!(
                "{} from {}, gusts of {} are reckoned with as each piece starts",
                cut_words::speed(wind.speed_m_s.told, scene.units),
                cut_words::angle(wind.from_rad.told, scene.units),
                cut_words::speed(wind.gust_m_s.told, scene.units)
            )
        },
    );
    blocks.push(Block::Item(
        Line::new().strong("Wind").plain(format!(": {wind}")).mark(told).plain("."),
    ));
    let open: Vec<String> = scene
        .assumed
        .iter()
        .filter(|a| a.path != "doubt" && a.path != "site.wind")
        .map(|a| format!("{}: {}", input_words::field(&a.path, scene), a.taken))
        .collect();
    if !open.is_empty() {
        blocks.push(Block::Item(
            Line::new()
                .strong("Left open in the scene, and taken: ")
                .plain(open.join("; "))
                .mark(told)
                .plain("."),
        ));
    }
    Section { id: "changes", title: "What would change the plan".to_owned(), blocks }
}

pub(super) fn stop(brief: &Brief<'_>, sources: &mut Sources) -> Section {
    let scene = brief.scene;
    let practice = sources.of("Common practice, no source.");
    let gust = scene.site.wind.as_ref().map_or_else(
        || "there is wind: this brief reckons with still air".to_owned(),
        |w| {
            let gust = cut_words::speed(w.gust_m_s.told, scene.units);
            format!("gusts go over {gust}, the most this brief reckons with")
        },
    );
    let wet = match scene.site.ground.wetness {
        Wetness::Wet => "the ground is softer than the test said",
        _ => "it rains, or the ground is wetter or softer than told",
    };
    let mut when = vec![
        "anyone is where no one stands, or no one knows where somebody is".to_owned(),
        gust,
        wet.to_owned(),
        "the stem shows a crack, a fork, rot or a hollow that the scene does not have".to_owned(),
        "a piece goes otherwise than this brief counts, or farther".to_owned(),
        "a piece hangs, or lies above somebody and is not secured".to_owned(),
        "a piece sits back: nobody goes near till it is held".to_owned(),
    ];
    if !scene.aids.is_empty() {
        let aids: Vec<String> = scene.aids.iter().map(|a| words::name(&a.id)).collect();
        when.push(format!("an aid has moved or is worn: {}", aids.join(", ")));
    }
    when.push("a cut is to be longer, shorter or faced otherwise than written here".to_owned());
    when.push("lookout, signal or radio fails, or light goes".to_owned());
    let blocks = when
        .into_iter()
        .map(|text| Block::Tick(Line::new().plain(text).mark(practice).plain(".")))
        .collect();
    Section { id: "stop", title: "Stop work when".to_owned(), blocks }
}

pub(super) fn roles() -> Section {
    Section {
        id: "roles",
        title: "Who does what, filled in by hand".to_owned(),
        blocks: ROLES.iter().map(|role| Block::Blank((*role).to_owned())).collect(),
    }
}

pub(super) fn cautions(brief: &Brief<'_>) -> Section {
    let mut said = vec![
        stamp::NOT_COMPARED.to_owned(),
        stamp::PLANNING_AID.to_owned(),
        "A none is a bound, not a promise: it says how seldom a thing was in these drops."
            .to_owned(),
        "For people there is no scale of harm, only “struck”.".to_owned(),
        "Not in the model: what a breaking piece sheds, a brake that lets a rope run, bending and give \
         of the spar, what the brush of pieces already down does beyond holding them up."
            .to_owned(),
        "Distances quoted from rules are quoted with their source; which rule holds here is for \
         local codes to say."
            .to_owned(),
    ];
    if brief.scene.invented {
        said.push("The scene is marked invented: no such place.".to_owned());
    }
    let blocks = said.into_iter().map(|text| Block::Item(Line::new().plain(text))).collect();
    Section { id: "cautions", title: "Cautions".to_owned(), blocks }
}
