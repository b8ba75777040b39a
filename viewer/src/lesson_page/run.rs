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
        Answer, Found, LessonError, Reveal, Terms, Truth, facts, fill,
        found::{found, hands_words, rows},
        lesson_of,
        record::{self, Row},
        reveal_by, shown,
        tally::Tally,
        worst,
    },
    report::{
        Stamp,
        bank::Bank,
        hands::hands as hands_picture,
        lesson_sheet::{self, Sheet},
        png::{self, Pixels},
    },
};

use crate::{page::sentence, wish::Same};

/// Dots of a picture to its points: enough for large letters.
pub(super) const FINE: f32 = 2.0;

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
    /// A room's hands for each question; none of a learner alone.
    pub(crate) room: Vec<Tally>,
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
    pub(crate) found: Vec<Said>,
    /// The lesson's own words with the numbers of this run.
    pub(crate) why: String,
    /// What to change, with them.
    pub(crate) try_next: String,
    /// Where the numbers come from.
    pub(crate) stamp: Stamp,
    /// How many answers were kept, or why none could be.
    pub(crate) kept: Result<usize, String>,
    /// The printed sheet of it, HTML.
    pub(crate) sheet: String,
}

impl Revealed {
    /// Where each drop of the scene as it stands ends, m.
    pub(crate) fn ends_m(&self) -> Vec<DVec2> {
        let told = self.renewed.run.told.first().map_or(&[][..], |(_, fates)| fates);
        let ends = told.iter().filter_map(|fate| fate.outcome());
        ends.map(|outcome| outcome.end_m.truncate()).collect()
    }
}

/// What the drops say of a question, beside what was answered.
#[derive(Debug)]
pub(crate) struct Said {
    /// What was answered, in words.
    pub(crate) answer: Option<String>,
    /// What a room answered, a line each, and how far it is from the drops.
    pub(crate) room: Vec<String>,
    /// The same as a picture.
    pub(crate) picture: Option<Pixels>,
    /// What happened, a sentence each.
    pub(crate) happened: Vec<String>,
    /// What the answer's score means, a sentence each.
    pub(crate) scored: Vec<String>,
    /// Where each drop was, m, if that was asked.
    pub(crate) points_m: Vec<DVec2>,
}

impl Said {
    fn of(found: Found, terms: &Terms, bank: &Bank) -> Self {
        let hands = found.tally.hands.iter().map(|hands| {
            let answer = hands.answer.said(&found.form, terms);
            format!("{}: {answer}.", sentence(&hands_words(hands.hands)))
        });
        let svg = hands_picture(&found, terms, bank);
        Self {
            answer: found.answer.as_ref().map(|answer| answer.said(&found.form, terms)),
            room: hands.chain(found.room(terms)).collect(),
            picture: svg.and_then(|svg| png::pixels(&svg, FINE).ok()),
            happened: found.happened(terms),
            scored: found.scored(terms),
            points_m: match found.truth {
                Some(Truth::Points { at_m, .. }) => at_m,
                _ => Vec::new(),
            },
        }
    }
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
    let (reveal, renewed) = drops(job, &ask.ask, stop, tell).map_err(|e| e.to_string())?;
    let facts = facts(&reveal, lesson).map_err(|error| error.to_string())?;
    let terms = Terms::of(job);
    let found = found(&reveal, lesson, &ask.answers, &ask.room);
    let rows = rows(&reveal, lesson, &found, &ask.course, &ask.date, &terms);
    let stamp = Stamp::of(job, &ask.ask, &ask.date);
    let bank = Bank::of(job).map_err(|error| error.to_string())?;
    let sheet = lesson_sheet::html(&Sheet {
        course: &ask.course,
        lesson,
        stamp: &stamp,
        terms: &terms,
        found: &found,
        bank: &bank,
        facts: Some(&facts),
        invented: job.scene.invented,
    });
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
        stamp,
        sheet,
        renewed,
        found: found.into_iter().map(|found| Said::of(found, &terms, &bank)).collect(),
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
    ask: &Ask,
    stop: &AtomicBool,
    tell: &(dyn Fn(Progress) + Sync),
) -> Result<(Reveal, Arc<Renewed>), LessonError> {
    let mut own = None;
    let reveal = reveal_by(job, ask, stop, tell, &mut |case, job, ask, tell| {
        if case > 0 {
            return forecast::run(job, ask, stop, tell);
        }
        let renewed = renew(job, ask, &mut Kept::default(), stop, tell)?;
        let run = renewed.run.clone();
        own = Some(Arc::new(renewed));
        Ok(run)
    })?;
    let own = own.ok_or_else(|| JobError::Other("no case of the lesson".to_owned()))?;
    Ok((reveal, own))
}
