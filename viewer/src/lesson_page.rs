//! Practice: a lesson asks on the hillside, waits for locked answers, then shows what happens and
//! how often.
//!
//! Plain state, drawn by a function that returns messages. What an answer is, what the drops say of
//! it and every sentence about it are the library's (`tumblewood::lesson`). Nothing of the forecast
//! is worked out, let alone drawn, before the answers are locked.

mod ask;
mod map;
mod room;
mod run;
mod screen;
#[cfg(test)]
pub(crate) mod tests;

use std::{collections::BTreeSet, path::PathBuf, sync::Arc};

use glam::DVec2;
use tumblewood::{
    forecast::{Ask, Progress, renew::Renewed},
    job::Job,
    lesson::{Answer, Form, Terms, ask_of, form, found::hands_words, lesson_of, tally::Tally},
    report::bank::Bank,
    scene::{self, model::LessonSpec},
};

pub(crate) use ask::Draft;
pub(crate) use map::Mark;
pub(crate) use room::Counted;
pub(crate) use run::{RevealAsk, Revealed, run};
pub(crate) use screen::lesson_page;

use room::Printed;

use crate::{wish::Same, worker::shown};

/// What is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Step {
    /// It asks.
    Asking,
    /// The answers are locked; it is dropped.
    Dropping,
    /// One drop.
    One,
    /// All drops, and what they say of the answers.
    Many,
    /// The worst of them.
    Worst,
    /// The lesson's own words.
    Why,
}

/// What leaves the panel.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum LessonMessage {
    /// To the list of lessons.
    Back,
    /// Letters larger or as usual.
    Large(bool),
    /// The answers are locked: everything is to be dropped, with [`run`].
    Reveal(Box<RevealAsk>),
    /// The drops under way are to stop.
    Cancel,
    /// Where all drops end, m: the views are to take them in.
    Ends(Vec<DVec2>),
    /// A drop is to be played.
    Play(u32),
    /// All drops are to be drawn.
    Many(Same<Renewed>),
    /// The scene is to be changed and tried.
    Try,
    /// To the next lesson.
    Next,
    /// To what was kept over many lessons.
    Scores,
}

/// The panel.
pub(crate) struct LessonPage {
    /// The lesson's file.
    pub(crate) path: PathBuf,
    /// Its scene.
    pub(crate) job: Arc<Job>,
    /// What it asks.
    pub(crate) lesson: LessonSpec,
    /// Its drops, grounds and seed.
    pub(crate) drops: Ask,
    /// Title of its course; empty if it has none.
    pub(crate) course: String,
    /// Which lesson of the course, from 0, and of how many.
    pub(crate) place: [usize; 2],
    /// The learner's file.
    pub(crate) record: Option<PathBuf>,
    /// Letters are large.
    pub(crate) large: bool,
    bank: Bank,
    terms: Terms,
    forms: Vec<Form>,
    /// What was asked for of what isn't shown.
    pub(crate) found_out: BTreeSet<usize>,
    /// Answers as they are being made.
    pub(crate) drafts: Vec<Draft>,
    /// Answers of a room as they are counted, for each question, if one is asked.
    pub(crate) room: Option<Vec<Vec<Counted>>>,
    /// Of a question's answers by a room one that is to have the keyboard.
    new_row: Option<(usize, usize)>,
    /// Answers that are locked.
    pub(crate) locked: Vec<Option<Answer>>,
    /// A room's answers that are locked.
    tallies: Vec<Tally>,
    /// The sheet that is printed.
    printed: Printed,
    /// A lock was tried: what is wrong is said.
    tried: bool,
    /// What is shown.
    pub(crate) step: Step,
    /// The button to what is next is to have the keyboard.
    fresh: bool,
    /// How far the drops are.
    pub(crate) running: Option<f32>,
    /// What they say.
    pub(crate) revealed: Option<Arc<Revealed>>,
    /// Why they could not be made.
    pub(crate) said: Option<String>,
}

impl LessonPage {
    /// Opens a lesson.
    ///
    /// # Errors
    /// Its file can't be read, or is no lesson.
    pub(crate) fn open(
        path: PathBuf,
        course: &str,
        place: [usize; 2],
        record: Option<PathBuf>,
    ) -> Result<Self, String> {
        let scene = scene::load(&path).map_err(|error| shown(&error))?;
        let job = Job::load(scene).map_err(|error| shown(&error))?;
        let lesson = lesson_of(&job).map_err(|error| shown(&error))?.clone();
        Ok(Self {
            drops: ask_of(&job).map_err(|error| shown(&error))?,
            bank: Bank::of(&job).map_err(|error| shown(&error))?,
            terms: Terms::of(&job),
            forms: lesson.questions.iter().map(|question| form(&lesson, question)).collect(),
            drafts: vec![Draft::default(); lesson.questions.len()],
            job: Arc::new(job),
            path,
            lesson,
            course: course.to_owned(),
            place,
            record,
            large: false,
            found_out: BTreeSet::new(),
            room: None,
            new_row: None,
            locked: Vec::new(),
            tallies: Vec::new(),
            printed: Printed::default(),
            tried: false,
            step: Step::Asking,
            fresh: false,
            running: None,
            revealed: None,
            said: None,
        })
    }

    /// What is made of an answer: nothing where nothing was said.
    fn read(&self, i: usize) -> Result<Option<Answer>, String> {
        let (Some(form), Some(draft)) = (self.forms.get(i), self.draft(i)) else {
            return Ok(None);
        };
        draft.read(form, &self.terms)
    }

    /// The answer that hand and keys make now: the learner's, or the last of a room's.
    fn draft(&self, i: usize) -> Option<&Draft> {
        match &self.room {
            Some(room) => room.get(i)?.last().map(|counted| &counted.draft),
            None => self.drafts.get(i),
        }
    }

    fn draft_mut(&mut self, i: usize) -> Option<&mut Draft> {
        match &mut self.room {
            Some(room) => room.get_mut(i)?.last_mut().map(|counted| &mut counted.draft),
            None => self.drafts.get_mut(i),
        }
    }

    /// What is made of a room's answers.
    fn tally(&self, i: usize) -> Result<Tally, String> {
        let counted = self.room.as_ref().and_then(|room| room.get(i));
        let (Some(form), Some(counted)) = (self.forms.get(i), counted) else {
            return Ok(Tally::default());
        };
        room::tally(counted, form, &self.terms)
    }

    /// What is wrong with what was said of a question.
    fn wrong_with(&self, i: usize) -> Option<String> {
        match self.room {
            Some(_) => self.tally(i).err(),
            None => self.read(i).err(),
        }
    }

    /// Questions of which nothing was said.
    fn left_out(&self) -> usize {
        let is_left_out = |i: &usize| match self.room {
            Some(_) => self.tally(*i).is_ok_and(|tally| tally.count() == 0),
            None => matches!(self.read(*i), Ok(None)),
        };
        (0..self.forms.len()).filter(is_left_out).count()
    }

    /// A room is asked, in large letters, or one learner.
    pub(crate) fn for_room(&mut self, room: bool, messages: &mut Vec<LessonMessage>) {
        self.room = room.then(|| self.forms.iter().map(room::blank).collect());
        self.tried = false;
        messages.push(LessonMessage::Large(room));
    }

    /// Locks the answers and asks for the drops, unless something is wrong with one.
    pub(crate) fn lock(&mut self, messages: &mut Vec<LessonMessage>) {
        self.tried = true;
        let all = 0..self.forms.len();
        if self.room.is_some() {
            let read: Result<Vec<Tally>, String> = all.clone().map(|i| self.tally(i)).collect();
            let Ok(tallies) = read else { return };
            (self.locked, self.tallies) = (all.map(|_| None).collect(), tallies);
        } else {
            let read: Result<Vec<Option<Answer>>, String> = all.map(|i| self.read(i)).collect();
            let Ok(answers) = read else { return };
            (self.locked, self.tallies) = (answers, Vec::new());
        }
        self.step = Step::Dropping;
        self.ask(messages);
        self.running = Some(0.0);
    }

    /// Asks for the drops.
    fn ask(&self, messages: &mut Vec<LessonMessage>) {
        messages.push(LessonMessage::Reveal(Box::new(RevealAsk {
            job: Same(self.job.clone()),
            ask: self.drops.clone(),
            course: self.course.clone(),
            answers: self.locked.clone(),
            room: self.tallies.clone(),
            record: self.record.clone(),
            date: jiff::Zoned::now().date().to_string(),
        })));
    }

    /// What was locked, a line a question.
    fn said_of_answers(&self) -> Vec<String> {
        let said = |(i, (answer, form)): (usize, (&Option<Answer>, &Form))| match (
            answer,
            self.tallies.get(i).map_or(0, Tally::count),
        ) {
            (Some(answer), _) => format!("Your answer: {}.", answer.said(form, &self.terms)),
            (None, 0) => "Left out.".to_owned(),
            (None, hands) => format!("{}.", hands_words(hands)),
        };
        self.locked.iter().zip(&self.forms).enumerate().map(said).collect()
    }

    /// Takes how far the drops are.
    pub(crate) fn work(&mut self, progress: Progress) {
        if self.step == Step::Dropping {
            self.running = Some(progress.done as f32 / progress.total.max(1) as f32);
        }
    }

    /// Takes what the drops say, and begins to show it.
    pub(crate) fn take(
        &mut self,
        done: Result<Revealed, String>,
        messages: &mut Vec<LessonMessage>,
    ) {
        self.running = None;
        match done {
            Err(why) => self.said = Some(why),
            Ok(revealed) if self.step == Step::Dropping => {
                self.said = None;
                self.revealed = Some(Arc::new(revealed));
                self.go(Step::One, messages);
            }
            Ok(_) => {}
        }
    }

    /// Goes on to what is shown next.
    pub(crate) fn go(&mut self, to: Step, messages: &mut Vec<LessonMessage>) {
        self.step = to;
        self.fresh = true;
        let Some(revealed) = &self.revealed else { return };
        match to {
            Step::Asking | Step::Dropping | Step::Why => {}
            Step::One => {
                messages.push(LessonMessage::Ends(revealed.ends_m()));
                messages.push(LessonMessage::Play(revealed.shown));
            }
            Step::Many => messages.push(LessonMessage::Many(Same(revealed.renewed.clone()))),
            Step::Worst => {
                messages.extend(revealed.worst.map(LessonMessage::Play));
            }
        }
    }

    /// What the hillside is to show of a lesson that is come back to.
    pub(crate) fn again(&self) -> Vec<LessonMessage> {
        let revealed = self.revealed.as_ref().filter(|_| self.step >= Step::Many);
        revealed.map_or_else(Vec::new, |revealed| {
            let many = LessonMessage::Many(Same(revealed.renewed.clone()));
            vec![LessonMessage::Ends(revealed.ends_m()), many]
        })
    }

    /// Puts a mark as an answer.
    fn put_mark(&mut self, i: usize, (at_m, radius_m): Mark) {
        let text = Answer::Mark { at_m, radius_m }.written(&Form::Mark, &self.terms);
        if let Some(draft) = self.draft_mut(i) {
            draft.text = text;
        }
    }

    /// Puts the mark of the first question that wants one, m, from a click on the hillside.
    pub(crate) fn marked(&mut self, at_m: DVec2) {
        if self.step != Step::Asking {
            return;
        }
        if let Some(i) = self.forms.iter().position(|form| *form == Form::Mark) {
            let radius_m = self.mark().map_or(map::RADIUS_M, |(_, radius_m)| radius_m);
            self.put_mark(i, (at_m, radius_m));
        }
    }

    /// The mark of the first question that wants one, as it is or as it was locked.
    pub(crate) fn mark(&self) -> Option<Mark> {
        self.mark_of(self.forms.iter().position(|form| *form == Form::Mark)?)
    }

    /// The mark of a question, as it is or as it was locked.
    fn mark_of(&self, i: usize) -> Option<Mark> {
        let answer = match self.locked.get(i) {
            Some(locked) => locked.clone(),
            None => self.read(i).ok()?,
        };
        match answer? {
            Answer::Mark { at_m, radius_m } => Some((at_m, radius_m)),
            _ => None,
        }
    }

    /// A click on the hillside puts a mark.
    pub(crate) fn wants_mark(&self) -> bool {
        self.step == Step::Asking && self.forms.contains(&Form::Mark)
    }
}
