//! A lesson as the file writes it, put into a scene by those who write none of it by hand.
//!
//! What is written reads back as the same lesson; a lesson that its scene can't answer is refused
//! by the scene's reader like anything else that is typed. Known answer: every lesson of the first
//! course, in the tests below.

use std::fmt::Write as _;

use crate::scene::{
    items::ids,
    model::{AS_IT_STANDS, Asked, CaseSpec, ClaimSpec, Event, LessonSpec, Scene},
};

use super::{
    Field, fields, set_field,
    splice::{EditError, Splice, apply, quoted, set, unset, value},
    things,
    written::Doubt,
};

/// Puts a lesson into a scene's text, in place of the one that is there.
///
/// # Errors
/// The text is no scene.
pub fn set_lesson(scene: &Scene, text: &str, lesson: &LessonSpec) -> Result<Splice, EditError> {
    set(text, "lesson", &lesson_text(scene, lesson))
}

/// Takes a scene's lesson out; nothing if there is none.
///
/// # Errors
/// The text is no scene.
pub fn remove_lesson(text: &str) -> Result<Option<Splice>, EditError> {
    unset(text, "lesson")
}

/// What a case sets once something more is typed into a field of the scene as the case has it: the
/// field, and whatever goes with it.
///
/// # Errors
/// What was typed can't stand there, or a field that the case sets isn't there any more.
pub fn change_case(
    scene: &Scene,
    text: &str,
    case: &CaseSpec,
    field: &Field,
    typed: &str,
) -> Result<Vec<(String, String)>, EditError> {
    let now = with(text, &case.set)?;
    let doubt = field.doubt.clone().unwrap_or(Doubt::Plain);
    let after = apply(&now, &[set_field(&now, field, typed, &doubt)?])?;
    let all = things::all(scene);
    let paths = all.iter().flat_map(|thing| fields(scene, text, thing)).map(|field| field.path);
    let mut set: Vec<(String, String)> = paths
        .filter_map(|path| {
            let new = value(&after, &path)?;
            (value(text, &path) != Some(new)).then(|| (path, new.to_owned()))
        })
        .collect();
    // Of a whole and its parts, both of which differ, one says it all.
    let mut i = 0;
    while i < set.len() {
        let mut rest = set.clone();
        rest.remove(i);
        if with(text, &rest).is_ok_and(|same| same == after) {
            set = rest;
        } else {
            i += 1;
        }
    }
    Ok(set)
}

/// The text with these values at these paths.
fn with(text: &str, values: &[(String, String)]) -> Result<String, EditError> {
    values.iter().try_fold(text.to_owned(), |now, (path, value)| {
        let splice = set(&now, path, value)?;
        apply(&now, &[splice])
    })
}

/// A path of the file by the id of what it belongs to, so that it holds when things are moved about.
fn named(scene: &Scene, path: &str) -> String {
    let owner = ids(scene)
        .into_iter()
        .filter_map(|(at, id)| {
            let rest = path.strip_prefix(at.trim_end_matches(".id"))?;
            (rest.starts_with(['.', '[']) || rest.is_empty()).then(|| (id.to_owned(), rest))
        })
        .min_by_key(|(_, rest)| rest.len());
    owner.map_or_else(|| path.to_owned(), |(id, rest)| format!("{id}{rest}"))
}

/// A lesson as the value of a scene's `lesson`.
#[must_use]
pub fn lesson_text(scene: &Scene, lesson: &LessonSpec) -> String {
    let mut text = String::from("(\n");
    let mut line = |name: &str, value: String| {
        // Writing to a String can't fail.
        let _ = writeln!(text, "    {name}: {value},");
    };
    line("title", quoted(&lesson.title));
    line("about", quoted(&lesson.about));
    line("situation", quoted(&lesson.situation));
    line("cut", quoted(&lesson.cut));
    if let Some(own) = lesson.cases.first() {
        line("as_it_stands", quoted(&own.label));
    }
    line("drops", lesson.drops.to_string());
    line("grounds", lesson.grounds.to_string());
    line("seed", lesson.seed.to_string());
    line(
        "hidden",
        list(lesson.hidden.iter().map(|h| {
            let fields: Vec<String> = h.fields.iter().map(|f| named(scene, f)).collect();
            let fields = words(&fields);
            format!(
                "(id: {}, what: {}, by: {}, fields: {fields}, finds: {})",
                quoted(&h.id),
                quoted(&h.what),
                quoted(&h.by),
                quoted(&h.finds)
            )
        })),
    );
    line(
        "cases",
        list(lesson.cases.iter().skip(1).map(|c| {
            let set: Vec<String> = c
                .set
                .iter()
                .map(|(path, value)| format!("({}, {value})", quoted(&named(scene, path))))
                .collect();
            let (id, label) = (quoted(&c.id), quoted(&c.label));
            format!("(id: {id}, label: {label}, set: [{}])", set.join(", "))
        })),
    );
    line(
        "questions",
        list(lesson.questions.iter().map(|q| {
            let answer = match &q.asked {
                Asked::Mode => "Mode".to_owned(),
                Asked::FirstEnd => "FirstEnd".to_owned(),
                Asked::HowItLies => "HowItLies".to_owned(),
                Asked::Chance(event) => format!("Chance({})", event_text(event)),
                Asked::Fewest { event, among } => {
                    let among: Vec<String> = among.iter().map(|k| case(lesson, *k)).collect();
                    format!("Fewest(event: {}, among: {})", event_text(event), words(&among))
                }
                Asked::FirstTouch => "FirstTouch".to_owned(),
                Asked::Rest => "Rest".to_owned(),
                Asked::HowFar => "HowFar".to_owned(),
                Asked::LetsGoAt => "LetsGoAt".to_owned(),
                Asked::Pull(line) => format!("Pull({})", quoted(line)),
            };
            format!(
                "(id: {}, ask: {}, {}answer: {answer})",
                quoted(&q.id),
                quoted(&q.ask),
                of(lesson, q.of)
            )
        })),
    );
    line("why", quoted(&lesson.why));
    line("try_next", quoted(&lesson.try_next));
    line("cautions", list(lesson.cautions.iter().map(|c| quoted(c))));
    line("claims", claims_text(lesson));
    text.push(')');
    text
}

/// Claims of a lesson as the value of its `claims`.
#[must_use]
pub fn claims_text(lesson: &LessonSpec) -> String {
    list(lesson.claims.iter().map(|claim| match claim {
        ClaimSpec::Share { of: k, event, low, high } => {
            let event = event_text(event);
            format!("Share({}event: {event}, low: {low:?}, high: {high:?})", of(lesson, *k))
        }
        ClaimSpec::HowFar { of: k, low_m, high_m } => format!(
            "HowFar({}low: {}, high: {})",
            of(lesson, *k),
            exact(*low_m, "m"),
            exact(*high_m, "m")
        ),
        ClaimSpec::LetsGoAt { of: k, low_rad, high_rad } => format!(
            "LetsGoAt({}low: {}, high: {})",
            of(lesson, *k),
            exact(*low_rad, "deg"),
            exact(*high_rad, "deg")
        ),
        ClaimSpec::Pull { of: k, line, low_n, high_n } => format!(
            "Pull({}line: {}, low: {}, high: {})",
            of(lesson, *k),
            quoted(line),
            exact(*low_n, "N"),
            exact(*high_n, "N")
        ),
        ClaimSpec::Fewer { event, of: k, than } => format!(
            "Fewer(event: {}, of: {}, than: {})",
            event_text(event),
            quoted(&case(lesson, *k)),
            quoted(&case(lesson, *than))
        ),
    }))
}

fn case(lesson: &LessonSpec, index: usize) -> String {
    lesson.cases.get(index).map_or(AS_IT_STANDS, |case| case.id.as_str()).to_owned()
}

/// The scene as it stands is what a question is about if nothing is said.
fn of(lesson: &LessonSpec, index: usize) -> String {
    match index {
        0 => String::new(),
        _ => format!("of: {}, ", quoted(&case(lesson, index))),
    }
}

/// A number with a unit that reads back as near as its digits allow.
fn exact(si: f64, unit: &str) -> String {
    let number = if unit == "deg" { si.to_degrees() } else { si };
    // Twelve digits hide what an angle loses on its way through radians.
    let rounded: f64 = format!("{number:.11e}").parse().unwrap_or(number);
    quoted(&format!("{rounded} {unit}"))
}

fn words(items: &[String]) -> String {
    let quoted: Vec<String> = items.iter().map(|item| quoted(item)).collect();
    format!("[{}]", quoted.join(", "))
}

/// Items, one a line.
fn list(items: impl Iterator<Item = String>) -> String {
    let items: Vec<String> = items.map(|item| format!("        {item},\n")).collect();
    if items.is_empty() { "[]".to_owned() } else { format!("[\n{}    ]", items.concat()) }
}

fn event_text(event: &Event) -> String {
    let named = |word: &str, id: &str| format!("{word}({})", quoted(id));
    match event {
        Event::Reaches(id) => named("Reaches", id),
        Event::SetsGoing(id) => named("SetsGoing", id),
        Event::LineOver(id) => named("LineOver", id),
        plain => format!("{plain:?}"),
    }
}

#[cfg(test)]
mod tests {
    use std::{fs, path::Path};

    use super::*;
    use crate::scene::{edit::splice::apply, parse, starter};

    fn course() -> impl Iterator<Item = (String, String)> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenes/lessons");
        fs::read_dir(folder).expect("lessons").map(|file| file.expect("a file").path()).filter_map(
            |path| {
                let name = path.file_name()?.to_str()?.to_owned();
                (name != "course.ron").then(|| (name, fs::read_to_string(&path).expect("text")))
            },
        )
    }

    #[test]
    fn verif_a_written_lesson_reads_back_as_it_was() {
        let mut seen = 0;
        for (name, text) in course() {
            let scene = parse(&text, &name).expect(&name);
            let lesson = scene.lesson.clone().expect("a lesson");
            let splice = set_lesson(&scene, &text, &lesson).expect("a splice");
            let again = apply(&text, &[splice]).expect("a text");
            let read = parse(&again, &name).unwrap_or_else(|e| panic!("{name}: {e}\n{again}"));
            assert_eq!(read.lesson.as_ref(), Some(&lesson), "{name}");
            let without = remove_lesson(&again).expect("a scene").expect("a lesson in it");
            let plain = apply(&again, &[without]).expect("a text");
            assert_eq!(parse(&plain, &name).expect("a scene").lesson, None);
            // And into a scene that had none.
            let splice = set_lesson(&scene, &plain, &lesson).expect("a splice");
            let put = apply(&plain, &[splice]).expect("a text");
            assert_eq!(parse(&put, &name).expect("a scene").lesson, Some(lesson));
            seen += 1;
        }
        assert!(seen >= 12, "{seen} lessons");
    }

    /// A longer piece, typed as a length: the butt goes lower, and the file is told so by the id of
    /// its cut; typed again, from where the case has it.
    #[test]
    fn verif_a_case_is_made_by_typing_into_a_field() {
        let scene = parse(starter(), "starter").expect("a scene");
        let cut = crate::scene::edit::Thing::Cut(scene.cuts[1].id.clone());
        let all = fields(&scene, starter(), &cut);
        let length = all.iter().find(|f| f.label == "Length of the piece").expect("a length");
        let mut case = CaseSpec { id: "longer".into(), label: "longer".into(), set: Vec::new() };
        case.set = change_case(&scene, starter(), &case, length, "9 ft").expect("a change");
        assert!(case.set.iter().any(|(path, _)| path == "cuts[1].piece.from"), "{:?}", case.set);
        let before = case.set.clone();
        case.set = change_case(&scene, starter(), &case, length, "10 ft").expect("a change");
        assert!(case.set != before && case.set.len() == before.len(), "{:?}", case.set);
        assert!(change_case(&scene, starter(), &case, length, "10").is_err());
        assert_eq!(named(&scene, "cuts[1].piece.from"), format!("{}.piece.from", scene.cuts[1].id));
        assert_eq!(named(&scene, "site.ground.soil"), "site.ground.soil");
    }

    #[test]
    fn prop_words_that_would_break_a_file_are_quoted() {
        let scene = parse(starter(), "starter").expect("a scene");
        let cut = scene.cuts[0].id.clone();
        let lesson = LessonSpec {
            title: "\"Quoted\" \\ and\nbroken".to_owned(),
            about: "é ü 木 ) , }".to_owned(),
            situation: "(id: 3)".to_owned(),
            cut,
            drops: 40,
            grounds: 0,
            seed: 9,
            hidden: Vec::new(),
            cases: vec![crate::scene::model::CaseSpec {
                id: AS_IT_STANDS.to_owned(),
                label: "as it stands".to_owned(),
                set: Vec::new(),
            }],
            questions: vec![crate::scene::model::QuestionSpec {
                id: "mode".to_owned(),
                ask: "How does it go?".to_owned(),
                of: 0,
                asked: Asked::Mode,
            }],
            why: "In {tumblewood} … {{".to_owned(),
            try_next: String::new(),
            cautions: vec!["// no comment".to_owned()],
            claims: Vec::new(),
        };
        let text = apply(starter(), &[set_lesson(&scene, starter(), &lesson).unwrap()]).unwrap();
        // A placeholder that doesn't exist is told by the reader, at its place.
        let error = parse(&text, "starter").unwrap_err().to_string();
        assert!(error.contains("lesson.why"), "{error}");
        let lesson = LessonSpec { why: "It went in {stayed}.".to_owned(), ..lesson };
        let text = apply(starter(), &[set_lesson(&scene, starter(), &lesson).unwrap()]).unwrap();
        assert_eq!(parse(&text, "starter").unwrap_or_else(|e| panic!("{e}")).lesson, Some(lesson));
    }
}
