//! A lesson, against the scene it is a part of.

use crate::quantity::Quantity;

use super::{
    super::{edit::splice, items::path_of, model::*, v1},
    Reader,
};

/// Drops, grounds and seed where a lesson leaves them open.
const DROPS: u32 = 100;
const GROUNDS: u32 = 8;
const SEED: u64 = 1;

impl Reader {
    pub(super) fn lesson(&mut self, lesson: &v1::Lesson, scene: &Scene) -> LessonSpec {
        if scene.cuts.iter().all(|cut| cut.id != lesson.cut) {
            let ids: Vec<&str> = scene.cuts.iter().map(|c| c.id.as_str()).collect();
            let ids = if ids.is_empty() { "the scene has no cuts".into() } else { ids.join(", ") };
            self.wrong("lesson.cut", "no such cut in the scene", ids);
        }
        let trimmed = |text: &str| text.trim().to_owned();
        let label = lesson.as_it_stands.as_deref().unwrap_or("as it stands").trim();
        let own =
            CaseSpec { id: AS_IT_STANDS.to_owned(), label: label.to_owned(), set: Vec::new() };
        let changed = lesson.cases.iter().map(|case| CaseSpec {
            id: case.id.clone(),
            label: trimmed(&case.label),
            set: case
                .set
                .iter()
                .map(|(field, value)| (path_of(scene, field), trimmed(value.get_ron())))
                .collect(),
        });
        let cases: Vec<CaseSpec> = std::iter::once(own).chain(changed).collect();
        let hidden = self.each_of(&lesson.hidden, |r, path, hidden| r.hidden(path, hidden, scene));
        let questions = lesson
            .questions
            .iter()
            .enumerate()
            .map(|(i, question)| self.question(&format!("lesson.questions[{i}]"), question, &cases))
            .collect();
        let claims = lesson
            .claims
            .iter()
            .enumerate()
            .map(|(i, claim)| self.claim(&format!("lesson.claims[{i}]"), claim, &cases))
            .collect();
        LessonSpec {
            title: trimmed(&lesson.title),
            about: trimmed(&lesson.about),
            situation: trimmed(&lesson.situation),
            cut: lesson.cut.clone(),
            drops: lesson.drops.unwrap_or(DROPS),
            grounds: lesson.grounds.unwrap_or(GROUNDS),
            seed: lesson.seed.unwrap_or(SEED),
            hidden,
            cases,
            questions,
            why: trimmed(&lesson.why),
            try_next: trimmed(&lesson.try_next),
            cautions: lesson.cautions.iter().map(|text| trimmed(text)).collect(),
            claims,
        }
    }

    fn each_of<T, U>(&mut self, items: &[T], read: impl Fn(&mut Self, &str, &T) -> U) -> Vec<U> {
        let path = |i: usize| format!("lesson.hidden[{i}]");
        items.iter().enumerate().map(|(i, item)| read(self, &path(i), item)).collect()
    }

    fn hidden(&mut self, path: &str, hidden: &v1::Hidden, scene: &Scene) -> HiddenSpec {
        let fields: Vec<String> = hidden.fields.iter().map(|field| path_of(scene, field)).collect();
        let mut found = Vec::new();
        for (i, field) in fields.iter().enumerate() {
            match splice::value(&scene.source.text, field) {
                Some(value) => found.push(value),
                None => self.wrong(
                    &format!("{path}.fields[{i}]"),
                    "no such field in the scene",
                    "a path such as site.ground.soil, or an id and a field of it, as stem.piece.to",
                ),
            }
        }
        let finds = match hidden.finds.as_deref().map(str::trim) {
            Some(words) => words.to_owned(),
            None => found.join("; "),
        };
        if finds.is_empty() {
            self.wrong(
                path,
                "nothing that is found",
                "fields: [..] of the scene, or finds: \"..\"",
            );
        }
        let (what, by) = (hidden.what.trim().to_owned(), hidden.by.trim().to_owned());
        HiddenSpec { id: hidden.id.clone(), what, by, fields, finds }
    }

    fn question(
        &mut self,
        path: &str,
        question: &v1::Question,
        cases: &[CaseSpec],
    ) -> QuestionSpec {
        let asked = match &question.answer {
            v1::Asked::Mode => Asked::Mode,
            v1::Asked::FirstEnd => Asked::FirstEnd,
            v1::Asked::HowItLies => Asked::HowItLies,
            v1::Asked::Chance(event) => Asked::Chance(event.into()),
            v1::Asked::Fewest { event, among } => Asked::Fewest {
                event: event.into(),
                among: among
                    .iter()
                    .enumerate()
                    .map(|(i, id)| self.case(&format!("{path}.answer.among[{i}]"), Some(id), cases))
                    .collect(),
            },
            v1::Asked::FirstTouch => Asked::FirstTouch,
            v1::Asked::Rest => Asked::Rest,
            v1::Asked::HowFar => Asked::HowFar,
            v1::Asked::LetsGoAt => Asked::LetsGoAt,
            v1::Asked::Pull(line) => Asked::Pull(line.clone()),
        };
        QuestionSpec {
            id: question.id.clone(),
            ask: question.ask.trim().to_owned(),
            of: self.case(&format!("{path}.of"), question.of.as_deref(), cases),
            asked,
        }
    }

    fn claim(&mut self, path: &str, claim: &v1::Claim, cases: &[CaseSpec]) -> ClaimSpec {
        let at = |field: &str| format!("{path}.{field}");
        let mut case = |of: Option<&str>| self.case(&at("of"), of, cases);
        match claim {
            v1::Claim::Share { of, event, low, high } => ClaimSpec::Share {
                of: case(of.as_deref()),
                event: event.into(),
                low: *low,
                high: *high,
            },
            v1::Claim::HowFar { of, low, high } => {
                ClaimSpec::HowFar { of: case(of.as_deref()), low_m: low.si(), high_m: high.si() }
            }
            v1::Claim::LetsGoAt { of, low, high } => ClaimSpec::LetsGoAt {
                of: case(of.as_deref()),
                low_rad: low.si(),
                high_rad: high.si(),
            },
            v1::Claim::Pull { of, line, low, high } => ClaimSpec::Pull {
                of: case(of.as_deref()),
                line: line.clone(),
                low_n: low.si(),
                high_n: high.si(),
            },
            v1::Claim::Fewer { event, of, than } => ClaimSpec::Fewer {
                event: event.into(),
                of: case(Some(of)),
                than: self.case(&at("than"), Some(than), cases),
            },
        }
    }

    /// The index of a case; the scene as it stands if none is named.
    fn case(&mut self, path: &str, id: Option<&str>, cases: &[CaseSpec]) -> usize {
        let Some(id) = id else { return 0 };
        cases.iter().position(|case| case.id == id).unwrap_or_else(|| {
            let ids: Vec<&str> = cases.iter().map(|case| case.id.as_str()).collect();
            self.wrong(path, "no such case of the lesson", ids.join(", "));
            0
        })
    }
}

impl From<&v1::Event> for Event {
    fn from(event: &v1::Event) -> Self {
        match event {
            v1::Event::SitsBack => Self::SitsBack,
            v1::Event::Stayed => Self::Stayed,
            v1::Event::Slid => Self::Slid,
            v1::Event::Rolled => Self::Rolled,
            v1::Event::Tumbled => Self::Tumbled,
            v1::Event::ButtFirst => Self::ButtFirst,
            v1::Event::TopFirst => Self::TopFirst,
            v1::Event::SideFirst => Self::SideFirst,
            v1::Event::LiesFirmly => Self::LiesFirmly,
            v1::Event::LiesBarely => Self::LiesBarely,
            v1::Event::HeldByAidOnly => Self::HeldByAidOnly,
            v1::Event::NotAtRest => Self::NotAtRest,
            v1::Event::Reaches(id) => Self::Reaches(id.clone()),
            v1::Event::SetsGoing(id) => Self::SetsGoing(id.clone()),
            v1::Event::LineOver(id) => Self::LineOver(id.clone()),
            v1::Event::HingeHolds => Self::HingeHolds,
        }
    }
}
