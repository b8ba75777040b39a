//! What a lesson of a scene can ask and hide, in words to begin with, for a trainer to choose from.

use crate::scene::{
    edit::{Field, FieldKind, Thing, fields, site_fields, splice::value},
    model::{
        AS_IT_STANDS, Asked, CaseSpec, Event, HiddenSpec, LessonSpec, QuestionSpec, ReleaseSpec,
        Scene,
    },
};

/// Drops, grounds and seed of a new lesson.
const DROPS: u32 = 100;
const GROUNDS: u32 = 8;
const SEED: u64 = 1;

/// What stands in every new lesson.
const CAUTION: &str = "A lesson is no permission to let a piece go. Where the drop zone is not clear \
                       and closed, the piece does not go.";

/// A lesson about a cut with nothing chosen yet: its words are to be written.
#[must_use]
pub fn blank(cut: &str) -> LessonSpec {
    LessonSpec {
        title: String::new(),
        about: String::new(),
        situation: String::new(),
        cut: cut.to_owned(),
        drops: DROPS,
        grounds: GROUNDS,
        seed: SEED,
        hidden: Vec::new(),
        cases: vec![CaseSpec {
            id: AS_IT_STANDS.to_owned(),
            label: "as it stands".to_owned(),
            set: Vec::new(),
        }],
        questions: Vec::new(),
        why: String::new(),
        try_next: String::new(),
        cautions: vec![CAUTION.to_owned()],
        claims: Vec::new(),
    }
}

/// Questions that the cut can answer, in an order that a learner would think in.
#[must_use]
pub fn questions(scene: &Scene, cut: &str) -> Vec<QuestionSpec> {
    let ask = |id: String, ask: String, asked: Asked| QuestionSpec { id, ask, of: 0, asked };
    let plain = |id: &str, words: &str, asked: Asked| ask(id.to_owned(), words.to_owned(), asked);
    let mut found = vec![
        plain("first-end", "Which end touches the ground first?", Asked::FirstEnd),
        plain("first-touch", "Where does it first touch the ground?", Asked::FirstTouch),
        plain("mode", "How does it go?", Asked::Mode),
        plain("how-far", "How far does it run along the ground?", Asked::HowFar),
        plain("rest", "Where does its middle come to lie?", Asked::Rest),
        plain("lies", "How does it lie at the end, and what holds it there?", Asked::HowItLies),
    ];
    found.extend(scene.targets.iter().map(|target| {
        let words = format!("In how many of 100 drops does it reach {}?", target.id);
        let event = Event::Reaches(target.id.clone());
        ask(format!("reaches-{}", target.id), words, Asked::Chance(event))
    }));
    let released = scene.cuts.iter().find(|c| c.id == cut).map(|c| &c.release);
    if matches!(released, Some(ReleaseSpec::Hinge { .. })) {
        let words = "How far has it turned when the hinge lets go?";
        found.push(plain("lets-go", words, Asked::LetsGoAt));
        let words = "How likely is it that the hinge holds the side load, in 100?";
        found.push(plain("hinge-holds", words, Asked::Chance(Event::HingeHolds)));
    }
    for line in scene.lines.iter().filter_map(|line| line.pull()).filter(|line| line.cut == cut) {
        let words = format!("How hard must {} pull at the stem, gusts and all?", line.id);
        found.push(ask(format!("pull-{}", line.id), words, Asked::Pull(line.id.clone())));
    }
    found
}

/// What one may keep from the learner until it is asked for as on site: with what tool it is found,
/// and what the scene says.
#[must_use]
pub fn hidden(scene: &Scene, cut: &str) -> Vec<HiddenSpec> {
    let piece = format!("{cut}.piece");
    let all = [
        (
            "tape",
            "how long the piece is and how high it stands",
            "a tape from the cut to the ground and along the piece",
            piece.as_str(),
        ),
        ("plumb-line", "how the stem leans", "a plumb line from the spar", "tree.lean"),
        (
            "thumb",
            "how firm the soil is",
            "pressing fist, thumb or heel into the bank under the litter",
            "site.ground.soil",
        ),
        (
            "finger",
            "what lies on the soil, and how deep",
            "a finger through the litter",
            "site.ground.cover",
        ),
        ("wetness", "how wet the ground is", "a handful of it, squeezed", "site.ground.wetness"),
        ("sounding", "how sound the stem is", "a mallet and a drill", "tree.hollows"),
        (
            "wind",
            "how it blows",
            "a look at the crowns about, and the forecast of the day",
            "site.wind",
        ),
    ];
    let text = &scene.source.text;
    let told: Vec<Field> = site_fields(scene, text)
        .into_iter()
        .chain(fields(scene, text, &Thing::Tree))
        .chain(fields(scene, text, &Thing::Cut(cut.to_owned())))
        .collect();
    let cut_at = scene.cuts.iter().position(|c| c.id == cut);
    all.into_iter()
        .filter_map(|(id, what, by, field)| {
            let path = match (field == piece, cut_at) {
                (true, Some(k)) => format!("cuts[{k}].piece"),
                _ => field.to_owned(),
            };
            value(text, &path)?;
            let of_it = |f: &&Field| {
                let rest = f.path.strip_prefix(&path);
                rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
            };
            let said = told.iter().filter(of_it).filter(|f| !f.text.is_empty());
            let finds: Vec<String> =
                said.map(|f| format!("{}: {}", f.label, in_words(f))).collect();
            Some(HiddenSpec {
                id: id.to_owned(),
                what: what.to_owned(),
                by: by.to_owned(),
                fields: vec![path],
                finds: finds.join("; "),
            })
        })
        .filter(|hidden| !hidden.finds.is_empty())
        .collect()
}

/// What stands in a field, as its form says it.
fn in_words(field: &Field) -> &str {
    let FieldKind::Choice(words) = field.kind else { return &field.text };
    words.iter().find(|word| word.word == field.text).map_or(&field.text, |word| word.label)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{
        edit::{set_lesson, splice::apply},
        parse, starter,
    };

    /// Whatever is offered can be asked and hidden: the scene's reader takes it.
    #[test]
    fn prop_what_is_offered_can_be_asked() {
        let scene = parse(starter(), "starter").expect("a scene");
        let mut asked = 0;
        for cut in &scene.cuts {
            let questions = questions(&scene, &cut.id);
            asked += questions.len();
            let lesson = LessonSpec {
                title: "One".to_owned(),
                about: "thing".to_owned(),
                situation: "There.".to_owned(),
                why: "Because.".to_owned(),
                hidden: hidden(&scene, &cut.id),
                questions,
                ..blank(&cut.id)
            };
            let text =
                apply(starter(), &[set_lesson(&scene, starter(), &lesson).unwrap()]).unwrap();
            let read = parse(&text, "starter").unwrap_or_else(|e| panic!("{}: {e}", cut.id));
            assert_eq!(read.lesson.map(|l| l.questions.len()), Some(lesson.questions.len()));
        }
        assert!(asked > 7 * scene.cuts.len(), "{asked}");
        // In words, not as the file writes it.
        let found = hidden(&scene, &scene.cuts[0].id);
        let thumb = found.iter().find(|h| h.id == "thumb").expect("the soil");
        assert_eq!(thumb.finds, "Soil, by thumb or heel: thumb goes in with effort");
        assert!(found.iter().all(|h| !h.finds.contains(['(', '"'])), "{found:?}");
    }
}
