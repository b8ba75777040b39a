//! One lesson taken in a terminal: ask, lock, drop, show, keep.

use std::{fmt::Write as _, path::Path, sync::atomic::AtomicBool};

use tumblewood::{
    job::Job,
    lesson::{
        self, Answer, Facts, Form, Found, Reveal, Terms, facts, fill, form,
        found::{found, hands_words, rows},
        record, shown,
        words::NO_PERMISSION,
        worst,
    },
    report::{
        Stamp,
        bank::Bank,
        lesson_sheet,
        stamp::{NOT_COMPARED, PLANNING_AID},
        text,
    },
    scene::{
        self,
        model::{LessonSpec, QuestionSpec},
    },
};

use super::{
    PracticeArgs, TO_SEE, failed, revealed, say_wrapped,
    typed::{Said, Typed, given, hands, typed_answer},
};
use crate::command::{
    Failure,
    output::stamp,
    say::{note, say},
};

/// How a lesson ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Went {
    On,
    Quit,
}

/// A lesson being taken.
pub(super) struct Taken<'a> {
    pub(super) job: &'a Job,
    pub(super) args: &'a PracticeArgs,
    /// Title of the course; empty for a lesson alone.
    pub(super) course: &'a str,
    /// Which lesson, of how many.
    pub(super) number: [usize; 2],
    pub(super) record: Option<&'a Path>,
    pub(super) stop: &'a AtomicBool,
}

/// What was asked, said and found of a lesson.
struct Shown<'a> {
    lesson: &'a LessonSpec,
    terms: Terms,
    stamp: Stamp,
    reveal: Reveal,
    found: Vec<Found>,
    facts: Facts,
}

impl Taken<'_> {
    /// Ask, lock, drop, show, keep.
    pub(super) fn one(&self, typed: &mut Typed) -> Result<Went, Failure> {
        let Self { job, args, .. } = *self;
        let lesson = lesson::lesson_of(job).map_err(failed)?;
        let terms = Terms::of(job);
        let given = given(&args.answer, lesson, &terms, "--answer")?;
        let tallies = hands(&args.hands, lesson, &terms)?;
        say_wrapped(&before(job, lesson, self.number))?;
        for id in &args.find {
            let hidden = lesson.hidden.iter().find(|hidden| hidden.id == *id);
            let ids: Vec<&str> = lesson.hidden.iter().map(|hidden| hidden.id.as_str()).collect();
            let hidden = hidden.ok_or_else(|| {
                Failure::input(format!("--find: read {id}; allowed: {}", ids.join(", ")))
            })?;
            say(&format!("{}: {}\n", hidden.by, hidden.finds))?;
        }
        let mut answers: Vec<Option<Answer>> = Vec::new();
        for (i, question) in lesson.questions.iter().enumerate() {
            let form = form(lesson, question);
            say_wrapped(&question_words(lesson, i, question, &form))?;
            let known = given.iter().find(|(id, _)| *id == question.id).map(|(_, answer)| answer);
            if let Some(answer) = known {
                say(&format!("Your answer: {}\n", answer.said(&form, &terms)))?;
                answers.push(Some(answer.clone()));
                continue;
            }
            if tallies.get(i).is_some_and(|tally| tally.count() > 0) {
                answers.push(None);
                continue;
            }
            match typed_answer(lesson, &form, &terms, typed)? {
                Said::Answer(answer) => {
                    say(&format!("Your answer: {}\n", answer.said(&form, &terms)))?;
                    answers.push(Some(answer));
                }
                Said::Skip => answers.push(None),
                Said::Quit => {
                    if args.sheet.is_some() {
                        note("No sheet was written: the lesson was left.");
                    }
                    return Ok(Went::Quit);
                }
            }
        }
        say("\nThe answers are locked. Now it is dropped.\n")?;
        let ask = lesson::ask_of(job).map_err(failed)?;
        let reveal = revealed(job, &ask, self.stop)?;
        let found = found(&reveal, lesson, &answers, &tallies);
        let facts = facts(&reveal, lesson)?;
        let stamp = stamp(job, &ask);
        let rows = rows(&reveal, lesson, &found, self.course, &stamp.date, &terms);
        let shown = Shown { lesson, terms, stamp, reveal, found, facts };
        say_wrapped(&(questions(&shown) + &words_after(&shown)?))?;
        if let Some(path) = self.record.filter(|_| !rows.is_empty()) {
            record::append(path, &rows).map_err(|e| Failure::input(e.to_string()))?;
            note(&format!("Kept {} answers in {}.", rows.len(), path.display()));
        }
        self.sheet(&shown)?;
        Ok(Went::On)
    }

    /// Writes the sheet, where one is wanted.
    fn sheet(&self, shown: &Shown<'_>) -> Result<(), Failure> {
        let Some(to) = &self.args.sheet else { return Ok(()) };
        let bank = Bank::of(self.job).map_err(|e| failed(e.into()))?;
        let sheet = lesson_sheet::Sheet {
            course: self.course,
            lesson: shown.lesson,
            stamp: &shown.stamp,
            terms: &shown.terms,
            found: &shown.found,
            bank: &bank,
            facts: Some(&shown.facts),
            invented: self.job.scene.invented,
        };
        scene::write(to, lesson_sheet::html(&sheet).as_bytes(), self.args.force)?;
        note(&format!("Wrote {}.", to.display()));
        Ok(())
    }
}

/// What was said of each question, and what happened.
fn questions(shown: &Shown<'_>) -> String {
    let Shown { lesson, terms, .. } = shown;
    let mut out = String::new();
    for (i, (question, found)) in lesson.questions.iter().zip(&shown.found).enumerate() {
        if found.truth.is_none() {
            continue;
        }
        let _ = writeln!(out, "\n{}. {}", i + 1, question.ask);
        let answer = found.answer.iter();
        let answer = answer.map(|a| format!("Your answer: {}.", a.said(&found.form, terms)));
        let hands = found.tally.hands.iter();
        let hands = hands
            .map(|h| format!("{}: {}", hands_words(h.hands), h.answer.said(&found.form, terms)));
        for line in (found.happened(terms).into_iter())
            .chain(answer)
            .chain(found.scored(terms))
            .chain(hands)
            .chain(found.room(terms))
        {
            let _ = writeln!(out, "  {line}");
        }
    }
    out
}

/// Why, the drops that are played, what to change, and the cautions.
fn words_after(shown: &Shown<'_>) -> Result<String, Failure> {
    let Shown { lesson, facts, .. } = shown;
    let mut out = format!("\nWhy\n{}\n", fill(&lesson.why, lesson, facts));
    out.push_str(&drops_shown(&shown.reveal)?);
    let next = fill(&lesson.try_next, lesson, facts);
    if !next.is_empty() {
        let _ = writeln!(out, "\nChange one thing\n{next}");
    }
    for caution in &lesson.cautions {
        let _ = writeln!(out, "\n{caution}");
    }
    let _ =
        writeln!(out, "\n{}\n{NOT_COMPARED}\n{PLANNING_AID}\n{NO_PERMISSION}", shown.stamp.line());
    Ok(out)
}

/// What a learner is told first.
fn before(job: &Job, lesson: &LessonSpec, [number, of]: [usize; 2]) -> String {
    let number = if of > 1 { format!("Lesson {number} of {of}: ") } else { String::new() };
    let invented = if job.scene.invented { " (an invented place)" } else { "" };
    let mut out =
        format!("\n{number}{}{invented}\n{}\n\n{}\n", lesson.title, lesson.about, lesson.situation);
    if !lesson.hidden.is_empty() {
        out.push_str("\nWhat you may find out first; type find and its name:\n");
        for hidden in &lesson.hidden {
            let _ = writeln!(out, "  {}: {}, by {}", hidden.id, hidden.what, hidden.by);
        }
    }
    out
}

fn question_words(lesson: &LessonSpec, i: usize, question: &QuestionSpec, form: &Form) -> String {
    let case = lesson.cases.get(question.of).filter(|_| question.of > 0);
    let of = case.map(|case| format!(" ({})", case.label)).unwrap_or_default();
    let mut out = format!("\n{}. {}{of}\n", i + 1, question.ask);
    if let Form::Options(options) = form {
        for (k, option) in options.iter().enumerate() {
            let _ = writeln!(out, "  {}: {option}", k + 1);
        }
    }
    let _ = writeln!(out, "  Type {}; or skip, or quit.", form.allowed());
    out
}

/// The drop that is played first and the one that went worst, in words, and how to see them.
fn drops_shown(reveal: &Reveal) -> Result<String, Failure> {
    let Some(run) = reveal.runs.first() else { return Ok(String::new()) };
    let mut out = String::new();
    let first = shown(run);
    let worst = worst(run).filter(|worst| *worst != first);
    for (what, drop) in
        std::iter::once(("One drop", first)).chain(worst.map(|w| ("The worst drop", w)))
    {
        let replay = run.replay(drop)?;
        let said = match &replay.what {
            Ok((track, outcome)) => {
                text::what_happened(outcome, track, &replay.ready.site, run.job.scene.units)
            }
            Err(missing) => {
                format!("sits back; {} are missing", run.job.scene.units.moment(*missing))
            }
        };
        let _ = writeln!(out, "\n{what}, number {drop}: {said}.");
        let id = run.job.scene.cuts.get(run.cut).map_or("", |cut| cut.id.as_str());
        let _ = writeln!(
            out,
            "  {TO_SEE} tumblewood drop {} --cut {id} --drop {drop} --seed {} --out out",
            run.job.scene.source.name, run.ask.seed
        );
    }
    Ok(out)
}
