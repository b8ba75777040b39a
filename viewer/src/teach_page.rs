//! A lesson made out of the scene that is open, without a line of its file: what it is about, what
//! is kept until it is asked for, what is changed, what is asked; and its place in a course.
//!
//! The page holds a [`LessonSpec`] and offers what the scene can answer; what leaves it is put into
//! the scene's text like any other change, can be undone and is saved with the scene.

mod course;
mod screen;

use std::{
    path::{Path, PathBuf},
    sync::{Arc, atomic::AtomicBool},
};

use tumblewood::{
    forecast::{Ask, Progress},
    job::Job,
    lesson::{LessonError, ask_of, claim, lesson_of, reveal, suggest},
    scene::{
        Scene,
        edit::{Field, fields, set_lesson, splice::apply, things},
        model::{
            AS_IT_STANDS, Asked, CaseSpec, ClaimSpec, Event, HiddenSpec, LessonSpec, QuestionSpec,
        },
    },
};

pub(crate) use course::CourseForm;
pub(crate) use screen::teach_page;

/// What leaves the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum TeachMessage {
    /// Back to the hillside.
    Back,
    /// The lesson is to stand in the scene.
    Put(Box<LessonSpec>),
    /// The lesson in the scene is to be dropped, for what it could claim.
    Measure,
    /// That is to stop.
    Cancel,
    /// The scene is to have no lesson.
    Remove,
    /// The scene is to be saved under a name.
    SaveAs,
    /// The lesson in this file is to be taken.
    Take(PathBuf),
}

/// A change to a case that is being typed.
#[derive(Clone, Debug, Default)]
pub(super) struct Typing {
    /// Which field, by its place in the list of fields.
    pub(super) field: usize,
    /// The text.
    pub(super) text: String,
    /// Why it can't be.
    pub(super) wrong: Option<String>,
}

/// The page.
#[derive(Clone, Debug)]
pub(crate) struct TeachPage {
    /// The scene it was made for.
    pub(super) scene: Arc<Scene>,
    /// Its text.
    pub(super) text: String,
    /// The lesson as it is so far.
    pub(super) draft: LessonSpec,
    /// Questions to choose from; chosen ones are in the draft.
    pub(super) offered: Vec<QuestionSpec>,
    /// What can be kept until it is asked for; chosen ones are in the draft.
    pub(super) keepable: Vec<HiddenSpec>,
    /// Fields that a case can change, with what they belong to.
    pub(super) changeable: Vec<(String, Field)>,
    /// What is being typed for each case but the first.
    pub(super) typing: Vec<Typing>,
    /// The case that is to have the keyboard: it has just come.
    pub(super) new_case: Option<usize>,
    /// Cautions, one a line.
    pub(super) cautions: String,
    /// How far the drops for its claims are; nothing while there are none.
    pub(crate) running: Option<Progress>,
    /// What came of the last try to put it into the scene.
    pub(super) said: Option<Result<String, String>>,
    /// The course.
    pub(crate) course: CourseForm,
}

impl TeachPage {
    /// A page for a scene as it is open, its cut the one that is looked at.
    #[must_use]
    pub(crate) fn of(job: &Job, text: &str, cut: usize, home: Option<&Path>) -> Self {
        let scene = &job.scene;
        let draft = scene.lesson.clone().unwrap_or_else(|| {
            suggest::blank(scene.cuts.get(cut).map_or("", |cut| cut.id.as_str()))
        });
        let mut page = Self {
            scene: Arc::new(scene.clone()),
            text: text.to_owned(),
            cautions: draft.cautions.join("\n"),
            draft,
            offered: Vec::new(),
            keepable: Vec::new(),
            changeable: Vec::new(),
            typing: Vec::new(),
            new_case: None,
            running: None,
            said: None,
            course: CourseForm::starting(home),
        };
        page.offer();
        page
    }

    /// Whether the page is of the scene as it is now.
    #[must_use]
    pub(crate) fn is_of(&self, job: &Job) -> bool {
        self.scene.hash == job.scene.hash
    }

    /// The scene was changed beside the page: what is written stays, what can be chosen is new.
    pub(crate) fn renew(&mut self, job: &Job, text: &str) {
        (self.scene, self.text) = (Arc::new(job.scene.clone()), text.to_owned());
        self.offer();
    }

    /// Another cut is asked about.
    pub(super) fn ask_about(&mut self, cut: &str) {
        self.draft.cut = cut.to_owned();
        self.offer();
    }

    fn offer(&mut self) {
        let (scene, cut) = (&self.scene, &self.draft.cut);
        self.offered = suggest::questions(scene, cut);
        self.keepable = suggest::hidden(scene, cut);
        for own in &self.draft.questions {
            if self.offered.iter().all(|q| q.id != own.id) {
                self.offered.push(own.clone());
            }
        }
        for own in &self.draft.hidden {
            if self.keepable.iter().all(|h| h.id != own.id) {
                self.keepable.push(own.clone());
            }
        }
        let mut all = things::all(scene);
        // What the lesson is about comes first.
        all.sort_by_key(|thing| things::id(thing) != cut);
        self.changeable = all
            .iter()
            .flat_map(|thing| {
                let id = things::id(thing).replace('_', " ");
                // What a thing is called changes nothing of what is dropped.
                let is_of_it = |field: &Field| !field.path.ends_with(".id");
                let fields = fields(scene, &self.text, thing).into_iter().filter(is_of_it);
                fields.map(move |field| (id.clone(), field))
            })
            .collect();
        self.typing.resize(self.draft.cases.len().saturating_sub(1), Typing::default());
    }

    /// Adds a case without a change in it yet.
    pub(super) fn add_case(&mut self) {
        let taken = |id: &str| self.draft.cases.iter().any(|case| case.id == id);
        let id = (2..).map(|n| format!("other-{n}")).find(|id| !taken(id)).unwrap_or_default();
        self.new_case = Some(self.draft.cases.len());
        self.draft.cases.push(CaseSpec { id, label: String::new(), set: Vec::new() });
        self.typing.push(Typing::default());
    }

    /// Takes a case away, with the questions and claims that are about it.
    pub(super) fn remove_case(&mut self, index: usize) {
        if index == 0 || index >= self.draft.cases.len() {
            return;
        }
        self.draft.cases.remove(index);
        self.typing.remove(index - 1);
        let is_kept = |of: usize| of != index;
        let moved = |of: usize| if of > index { of - 1 } else { of };
        self.draft.questions.retain_mut(|question| {
            let kept = is_kept(question.of);
            question.of = moved(question.of);
            if let Asked::Fewest { among, .. } = &mut question.asked {
                among.retain(|of| is_kept(*of));
                among.iter_mut().for_each(|of| *of = moved(*of));
                return kept && among.len() > 1;
            }
            kept
        });
        // What the forecast must give was of the cases as they were.
        self.draft.claims.clear();
        self.offered.retain(|q| !matches!(q.asked, Asked::Fewest { .. }));
        self.offer();
    }

    /// Puts what is typed for a case into it.
    pub(super) fn change_case(&mut self, index: usize) {
        let Some(typing) = index.checked_sub(1).and_then(|k| self.typing.get_mut(k)) else {
            return;
        };
        let Some((_, field)) = self.changeable.get(typing.field) else { return };
        let Some(case) = self.draft.cases.get_mut(index) else { return };
        match tumblewood::scene::edit::change_case(
            &self.scene,
            &self.text,
            case,
            field,
            &typing.text,
        ) {
            Ok(set) if set.is_empty() => {
                typing.wrong =
                    Some("read what stands there already; allowed: another value".to_owned())
            }
            Ok(set) => {
                case.set = set;
                if case.label.is_empty() {
                    case.label = format!("{} {}", field.label, typing.text.trim()).to_lowercase();
                }
                *typing = Typing { field: typing.field, ..Typing::default() };
            }
            Err(error) => typing.wrong = Some(error.to_string()),
        }
    }

    /// Asks in which case an event happens least often, among all of them.
    pub(super) fn ask_fewest(&mut self, event: Event, words: &str) {
        let among = (0..self.draft.cases.len()).collect();
        let id = format!("fewest-{}", event.word().replace(['_', ':'], "-"));
        self.draft.questions.retain(|q| q.id != id);
        self.offered.retain(|q| q.id != id);
        let ask = format!("In which of these is it least often that {words}?");
        let question = QuestionSpec { id, ask, of: 0, asked: Asked::Fewest { event, among } };
        self.draft.questions.push(question.clone());
        self.offered.push(question);
    }

    /// Takes a question up or leaves it out, in the order in which they are offered.
    pub(super) fn choose(&mut self, index: usize, is_asked: bool) {
        let Some(question) = self.offered.get(index).cloned() else { return };
        self.draft.questions.retain(|q| q.id != question.id);
        if is_asked {
            self.draft.questions.push(question);
            let place =
                |id: &str| self.offered.iter().position(|q| q.id == id).unwrap_or(usize::MAX);
            self.draft.questions.sort_by_key(|q| place(&q.id));
        }
    }

    /// Whether the scene has the lesson as it stands here, but for its claims.
    pub(super) fn is_put(&self) -> bool {
        let own = LessonSpec { cautions: self.cautioned(), ..self.draft.clone() };
        let put = self.scene.lesson.as_ref();
        put.is_some_and(|put| LessonSpec { claims: own.claims.clone(), ..put.clone() } == own)
    }

    /// Takes what the drops would have the lesson claim.
    pub(crate) fn take(&mut self, done: Result<Vec<ClaimSpec>, String>) {
        self.running = None;
        match done {
            Ok(claims) if claims.is_empty() => {
                self.said = Some(Err("No question has an answer that can be claimed.".to_owned()));
            }
            Ok(claims) => {
                self.draft.claims = claims;
                self.said = Some(Ok("Put the lesson into the scene once more, for it to claim \
                                     this."
                    .to_owned()));
            }
            Err(why) => self.said = Some(Err(why)),
        }
    }

    fn cautioned(&self) -> Vec<String> {
        let lines = self.cautions.lines().map(str::trim).filter(|line| !line.is_empty());
        lines.map(str::to_owned).collect()
    }

    /// The lesson as it would stand in the scene, or why it can't, in the words of the scene's
    /// reader.
    pub(super) fn checked(&self) -> Result<LessonSpec, String> {
        let mut lesson = self.draft.clone();
        if let Some(own) = lesson.cases.first_mut() {
            own.id = AS_IT_STANDS.to_owned();
        }
        lesson.cautions = self.cautioned();
        let text = set_lesson(&self.scene, &self.text, &lesson)
            .and_then(|splice| apply(&self.text, &[splice]))
            .map_err(|error| error.to_string())?;
        match tumblewood::scene::parse(&text, &self.scene.source.name) {
            Ok(_) => Ok(lesson),
            Err(error) => Err(match error.problem() {
                Some(problem) => {
                    let (what, allowed) = (&problem.what, &problem.allowed);
                    format!("{}: {what}; allowed: {allowed}", called(&problem.path))
                }
                None => error.to_string(),
            }),
        }
    }
}

/// A path of the lesson in the words of the page.
fn called(path: &str) -> String {
    let path = path.strip_prefix("lesson.").unwrap_or(path);
    let words = [
        ("title", "Title"),
        ("about", "The one thing"),
        ("situation", "What the learner is told"),
        ("cut", "Cut"),
        ("hidden", "Kept until it is asked for"),
        ("cases", "What is changed"),
        ("questions", "What is asked"),
        ("why", "Why"),
        ("try_next", "Then try"),
        ("cautions", "Cautions"),
        ("claims", "What the forecast must give"),
    ];
    let known = words.iter().find(|(field, _)| path.starts_with(field));
    known.map_or_else(|| path.to_owned(), |(_, word)| (*word).to_owned())
}

/// Drops what the lesson of a job asks about, on the ground as told, for what it could claim.
///
/// # Errors
/// The scene has no lesson, a case of it can't be simulated, or it was stopped.
pub(crate) fn measured(
    job: &Job,
    stop: &AtomicBool,
    tell: &(dyn Fn(Progress) + Sync),
) -> Result<Vec<ClaimSpec>, String> {
    let drop = || {
        let ask = Ask { grounds: 0, ..ask_of(job)? };
        Ok(claim::measured(&reveal(job, &ask, stop, tell)?, lesson_of(job)?))
    };
    drop().map_err(|error: LessonError| error.to_string())
}

#[cfg(test)]
mod tests;
