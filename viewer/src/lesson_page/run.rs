//! The reveal, for a thread of its own: all drops of a lesson, what they say of each question and of
//! each answer, and the answers kept in the learner's file.

use std::{
    path::{Path, PathBuf},
    sync::{Arc, atomic::AtomicBool},
};

use glam::DVec2;
use tumblewood::{
    forecast::{
        self, Ask, Progress,
        renew::{Kept, Renewed, renew},
    },
    job::{Job, JobError},
    lesson::{
        Answer, CaseRun, LessonError, Reveal, Terms, Truth, case_job, cases_needed, facts, fill,
        form, lesson_of,
        record::{self, Row},
        score, shown, truth, words, worst,
    },
    report::Stamp,
    scene::model::LessonSpec,
};

use crate::wish::Same;

/// Answers that are locked, and what they are answers to.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct RevealAsk {
    /// The lesson's scene as it stands.
    pub(crate) job: Same<Job>,
    /// Its drops, grounds and seed.
    pub(crate) ask: Ask,
    /// Title of the course; empty for a lesson alone.
    pub(crate) course: String,
    /// An answer for each question; nothing for one that was left out.
    pub(crate) answers: Vec<Option<Answer>>,
    /// The learner's file; answers aren't kept if nothing.
    pub(crate) record: Option<PathBuf>,
    /// The day, year-month-day.
    pub(crate) date: String,
}

/// What the drops say.
#[derive(Debug)]
pub(crate) struct Revealed {
    /// The drops of the scene as it stands, with their paths.
    pub(crate) renewed: Arc<Renewed>,
    /// The drop that is played first.
    pub(crate) shown: u32,
    /// The one that went worst; nothing if none left the spar.
    pub(crate) worst: Option<u32>,
    /// For each question, what they say.
    pub(crate) found: Vec<Found>,
    /// The lesson's own words with the numbers of this run.
    pub(crate) why: String,
    /// What to change, with them.
    pub(crate) try_next: String,
    /// Where the numbers come from.
    pub(crate) stamp: Stamp,
    /// How many answers were kept, or why none could be.
    pub(crate) kept: Result<usize, String>,
}

impl Revealed {
    /// Where each drop of the scene as it stands ends, m.
    pub(crate) fn ends_m(&self) -> Vec<DVec2> {
        let told = self.renewed.run.told.first().map_or(&[][..], |(_, fates)| fates);
        let ends = told.iter().filter_map(|fate| fate.outcome());
        ends.map(|outcome| outcome.end_m.truncate()).collect()
    }
}

/// What the drops say of a question.
#[derive(Debug)]
pub(crate) struct Found {
    /// What was answered, in words.
    pub(crate) answer: Option<String>,
    /// What happened, a sentence each.
    pub(crate) happened: Vec<String>,
    /// What the answer's score means, a sentence each.
    pub(crate) scored: Vec<String>,
    /// Where each drop was, m, if that was asked.
    pub(crate) points_m: Vec<DVec2>,
}

/// Drops all that a lesson asks and tells about.
///
/// # Errors
/// A case can't be simulated, or it was stopped.
pub(crate) fn run(
    ask: &RevealAsk,
    stop: &AtomicBool,
    tell: &(dyn Fn(Progress) + Sync),
) -> Result<Revealed, String> {
    let job = &ask.job.0;
    let lesson = lesson_of(job).map_err(|error| error.to_string())?;
    let (reveal, renewed) = drops(job, lesson, &ask.ask, stop, tell).map_err(|e| e.to_string())?;
    let facts = facts(&reveal, lesson).map_err(|error| error.to_string())?;
    let terms = Terms::of(job);
    let (mut found, mut rows) = (Vec::new(), Vec::new());
    for (question, answer) in lesson.questions.iter().zip(&ask.answers) {
        let form = form(lesson, question);
        let truth = truth(&reveal, question);
        let happened = truth.as_ref().map_or_else(Vec::new, |truth| words::happened(truth, &terms));
        let mut scored = Vec::new();
        if let (Some(answer), Some(truth), Some(run)) = (answer, &truth, reveal.run(question.of)) {
            match score(answer, truth) {
                Some(score) => {
                    scored = words::scored(&score, &terms);
                    let row = Row::begun(run, lesson, question, &ask.course, &ask.date);
                    let (answer, happened) = (answer.written(&form, &terms), happened.join(" "));
                    rows.push(Row { answer, happened, ..row }.scored(&score));
                }
                None => scored.push("No drop tells, so nothing is scored.".to_owned()),
            }
        }
        found.push(Found {
            answer: answer.as_ref().map(|answer| answer.said(&form, &terms)),
            happened,
            scored,
            points_m: match truth {
                Some(Truth::Points { at_m, .. }) => at_m,
                _ => Vec::new(),
            },
        });
    }
    let own = reveal.run(0).ok_or("the scene as it stands was not dropped")?;
    let kept = match &ask.record {
        Some(path) if !rows.is_empty() => keep(path, &rows).map(|()| rows.len()),
        _ => Ok(0),
    };
    Ok(Revealed {
        shown: shown(own),
        worst: worst(own),
        why: fill(&lesson.why, lesson, &facts),
        try_next: fill(&lesson.try_next, lesson, &facts),
        stamp: Stamp {
            scene: job.scene.name.clone(),
            scene_hash: job.scene.hash.clone(),
            law: ask.ask.law.name(),
            seed: ask.ask.seed,
            date: ask.date.clone(),
        },
        renewed,
        found,
        kept,
    })
}

/// Adds answers to the learner's file, its folder made where it isn't there yet.
fn keep(path: &Path, rows: &[Row]) -> Result<(), String> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    record::append(path, rows).map_err(|error| error.to_string())
}

/// As the library's `reveal`, with the paths of the scene as it stands, which the hillside draws.
fn drops(
    job: &Job,
    lesson: &LessonSpec,
    ask: &Ask,
    stop: &AtomicBool,
    tell: &(dyn Fn(Progress) + Sync),
) -> Result<(Reveal, Arc<Renewed>), LessonError> {
    let cases = cases_needed(lesson);
    let each = ask.drops + ask.grounds * ask.drops_per_ground;
    let total = each * cases.len() as u32;
    let (mut runs, mut own) = (Vec::new(), None);
    for (i, &case) in cases.iter().enumerate() {
        let before = each * i as u32;
        let of_all = |p: Progress| tell(Progress { done: before + p.done.min(each), total, ..p });
        let job = case_job(job, case)?;
        let cut = job.scene.cuts.iter().position(|cut| cut.id == lesson.cut);
        let cut = cut.ok_or_else(|| JobError::Other(format!("no cut {:?}", lesson.cut)))?;
        let ask = Ask { cuts: vec![cut], ..ask.clone() };
        let run = if case == 0 {
            let renewed = renew(&job, &ask, &mut Kept::default(), stop, &of_all)?;
            let run = renewed.run.clone();
            own = Some(Arc::new(renewed));
            run
        } else {
            forecast::run(&job, &ask, stop, &of_all)?
        };
        if stop.load(std::sync::atomic::Ordering::Relaxed) {
            return Err(LessonError::Stopped);
        }
        runs.push(CaseRun::of(lesson, case, job, ask, cut, run)?);
    }
    let own = own.ok_or_else(|| JobError::Other("no case of the lesson".to_owned()))?;
    Ok((Reveal { runs }, own))
}
