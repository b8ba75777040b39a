//! `practice`: a lesson or a course in a terminal, wholly by words: it asks, takes the answers, and only
//! then drops the pieces and shows.

use std::{
    fmt::Write as _,
    io::{BufRead as _, IsTerminal as _},
    path::{Path, PathBuf},
    sync::atomic::AtomicBool,
};

use clap::Args;
use tumblewood::{
    forecast::Ask,
    job::Job,
    lesson::{
        self, Answer, Facts, Form, LessonError, Reveal, Terms, Truth, calibration,
        claim::claims,
        facts, fill, form,
        record::{self, Record, Row},
        score, shown,
        tally::{Hands, Tally},
        truth,
        words::{self, NO_PERMISSION},
        worst,
    },
    report::{
        Stamp,
        calibration::calibration as picture,
        lesson_sheet,
        stamp::{NOT_COMPARED, PLANNING_AID},
        text,
    },
    scene::{
        self, Course,
        model::{LessonSpec, QuestionSpec},
    },
};

use super::{
    Failure,
    output::{Folder, stamp},
    progress::{Bar, stop_flag},
    say::{note, say},
};

#[derive(Debug, Args)]
pub(super) struct PracticeArgs {
    /// A course, or a lesson: a scene that asks. Not needed with --scores.
    #[arg(required_unless_present = "scores")]
    file: Option<PathBuf>,
    /// One lesson of a course, from 1.
    #[arg(long, value_name = "N")]
    lesson: Option<usize>,
    /// List the lessons of a course and end.
    #[arg(long)]
    list: bool,
    /// An answer given beforehand, as mode="4 70 %"; give it once for each question. The others are
    /// read from the terminal, a line each.
    #[arg(long, value_name = "ID=ANSWER")]
    answer: Vec<String>,
    /// Find out beforehand what the lesson hides, by its id.
    #[arg(long, value_name = "ID")]
    find: Vec<String>,
    /// The file that answers are kept in; answers.csv in your data folder if left out. Nothing leaves
    /// this machine.
    #[arg(long, value_name = "CSV")]
    record: Option<PathBuf>,
    /// Keep no answers.
    #[arg(long, conflicts_with = "record")]
    no_record: bool,
    /// Hands of a room for one answer, as mode:12:"4 70 %"; give it once for each answer. Questions
    /// with hands are not asked.
    #[arg(long, value_name = "ID:HANDS:ANSWER")]
    hands: Vec<String>,
    /// Write a sheet of the lesson as HTML: what was asked, what the room said, what happened.
    #[arg(long, value_name = "HTML")]
    sheet: Option<PathBuf>,
    /// Say whether the forecast gives what each lesson claims, and ask nothing.
    #[arg(long, conflicts_with_all = ["answer", "find", "hands", "sheet", "scores"])]
    check: bool,
    /// Say what the kept answers tell of how you judge, and ask nothing.
    #[arg(long)]
    scores: bool,
    /// Folder for the picture of --scores.
    #[arg(long, requires = "scores")]
    out: Option<PathBuf>,
    /// Replace a sheet that is there.
    #[arg(long)]
    force: bool,
}

pub(super) fn practice(args: &PracticeArgs) -> Result<(), Failure> {
    let record = if args.no_record { None } else { Some(record_path(args.record.as_deref())?) };
    if args.scores {
        return scores(record.as_deref(), args.out.as_deref());
    }
    let Some(file) = &args.file else { return Err(Failure::input("FILE: read nothing")) };
    let text = scene::read_text(file)?;
    let (course, lessons) = if scene::is_course(&text) {
        let course = scene::load_course(file)?;
        let files = (0..course.lessons.len()).filter_map(|i| course.file(i)).collect();
        (Some(course), files)
    } else {
        (None, vec![file.clone()])
    };
    let lessons: Vec<PathBuf> = lessons;
    if args.list {
        return list(course.as_ref(), &lessons);
    }
    let wanted: Vec<(usize, &PathBuf)> = match args.lesson {
        None => lessons.iter().enumerate().collect(),
        Some(n) => {
            let file = n.checked_sub(1).and_then(|i| Some((i, lessons.get(i)?)));
            vec![file.ok_or_else(|| {
                Failure::input(format!("--lesson: read {n}; allowed: 1 to {}", lessons.len()))
            })?]
        }
    };
    if wanted.len() > 1 && args.sheet.is_some() {
        return Err(Failure::input("--sheet: read a course; allowed: one lesson, with --lesson N"));
    }
    let title = course.as_ref().map_or("", |course| course.title.as_str());
    say_wrapped(&format!("{NOT_COMPARED} {PLANNING_AID}\n{NO_PERMISSION}\n"))?;
    let stop = stop_flag();
    if args.check {
        return check(&wanted, &stop);
    }
    if let Some(record) = &record {
        // Better to know of a file that is no record before the first question.
        warn_of_damage(&kept(record)?);
    }
    if let Some(course) = course.as_ref().filter(|_| args.lesson.is_none()) {
        say_wrapped(&format!("\n{}\n{}\n", course.title, course.words))?;
    }
    let mut typed = Typed::new();
    for (i, file) in wanted {
        let job = lesson_job(file)?;
        let taken = Taken {
            job: &job,
            args,
            course: title,
            number: [i + 1, lessons.len()],
            record: record.as_deref(),
            stop: &stop,
        };
        if taken.one(&mut typed)? == Went::Quit {
            break;
        }
    }
    Ok(())
}

/// A lesson's job, or why it is none.
fn lesson_job(file: &Path) -> Result<Job, Failure> {
    let job = super::load(file)?;
    lesson::lesson_of(&job).map_err(failed)?;
    Ok(job)
}

fn failed(error: LessonError) -> Failure {
    match error {
        LessonError::Stopped => Failure::Interrupted,
        other => Failure::Input(other.into()),
    }
}

fn list(course: Option<&Course>, files: &[PathBuf]) -> Result<(), Failure> {
    let mut out = String::new();
    if let Some(course) = course {
        let _ = writeln!(out, "{}\n{}\n", course.title, course.words);
    }
    for (i, file) in files.iter().enumerate() {
        let job = lesson_job(file)?;
        let lesson = lesson::lesson_of(&job).map_err(failed)?;
        let _ = writeln!(out, "{}. {}: {}", i + 1, lesson.title, lesson.about);
    }
    say_wrapped(&out)
}

/// All that a lesson asks, claims and tells about, dropped.
fn revealed(job: &Job, ask: &Ask, stop: &AtomicBool) -> Result<Reveal, Failure> {
    let bar = Bar::new();
    lesson::reveal(job, ask, stop, &|p| bar.tell(p)).map_err(failed)
}

fn check(wanted: &[(usize, &PathBuf)], stop: &AtomicBool) -> Result<(), Failure> {
    let mut broken = 0;
    for (_, file) in wanted {
        let job = lesson_job(file)?;
        let lesson = lesson::lesson_of(&job).map_err(failed)?;
        // Claims are of the ground as told.
        let ask = Ask { grounds: 0, ..lesson::ask_of(&job).map_err(failed)? };
        let reveal = revealed(&job, &ask, stop)?;
        let mut out = format!("\n{}\n", lesson.title);
        for checked in claims(&reveal, lesson) {
            broken += u32::from(!checked.holds);
            let mark = if checked.holds { "holds" } else { "BROKEN" };
            let _ = writeln!(out, "  {mark}: {}; found {}", checked.claim, checked.found);
        }
        say(&out)?;
    }
    if broken == 0 {
        return Ok(());
    }
    Err(Failure::CantAnswer(format!("{broken} claims are not what the forecast gives")))
}

/// Words broken into lines; what is indented stays so.
fn say_wrapped(text: &str) -> Result<(), Failure> {
    let lines = text.lines().map(|line| {
        let indent = line.len() - line.trim_start().len();
        text::wrapped(line, indent)
    });
    say(&lines.collect::<String>())
}

/// How a lesson ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Went {
    On,
    Quit,
}

/// Lines that a learner types.
struct Typed {
    lines: std::io::Lines<std::io::StdinLock<'static>>,
    /// Whether anybody sees a prompt.
    is_terminal: bool,
}

impl Typed {
    fn new() -> Self {
        let stdin = std::io::stdin();
        Self { is_terminal: stdin.is_terminal(), lines: stdin.lock().lines() }
    }

    /// The next line; nothing when there is no more.
    fn next(&mut self) -> Result<Option<String>, Failure> {
        if self.is_terminal {
            say("> ")?;
        }
        self.lines
            .next()
            .transpose()
            .map_err(|e| Failure::input(format!("what was typed can't be read: {e}")))
    }
}

/// A lesson being taken.
struct Taken<'a> {
    job: &'a Job,
    args: &'a PracticeArgs,
    /// Title of the course; empty for a lesson alone.
    course: &'a str,
    /// Which lesson, of how many.
    number: [usize; 2],
    record: Option<&'a Path>,
    stop: &'a AtomicBool,
}

/// What was asked, said and found of a lesson.
struct Shown<'a> {
    lesson: &'a LessonSpec,
    terms: Terms,
    stamp: Stamp,
    reveal: Reveal,
    truths: Vec<Option<Truth>>,
    answers: Vec<Option<Answer>>,
    tallies: Vec<(String, Tally)>,
    facts: Facts,
}

impl Taken<'_> {
    /// Ask, lock, drop, show, keep.
    fn one(&self, typed: &mut Typed) -> Result<Went, Failure> {
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
            if tallies.iter().any(|(id, tally)| *id == question.id && tally.count() > 0) {
                answers.push(None);
                continue;
            }
            match typed_answer(lesson, &form, &terms, typed)? {
                Said::Answer(answer) => {
                    say(&format!("Your answer: {}\n", answer.said(&form, &terms)))?;
                    answers.push(Some(answer));
                }
                Said::Skip => answers.push(None),
                Said::Quit => return Ok(Went::Quit),
            }
        }
        say("\nThe answers are locked. Now it is dropped.\n")?;
        let ask = lesson::ask_of(job).map_err(failed)?;
        let reveal = revealed(job, &ask, self.stop)?;
        let truths = lesson.questions.iter().map(|question| truth(&reveal, question)).collect();
        let facts = facts(&reveal, lesson)?;
        let stamp = stamp(job, &ask);
        let shown = Shown { lesson, terms, stamp, reveal, truths, answers, tallies, facts };
        let (said, rows) = self.questions(&shown);
        say_wrapped(&(said + &words_after(&shown)?))?;
        if let Some(path) = self.record.filter(|_| !rows.is_empty()) {
            record::append(path, &rows).map_err(|e| Failure::input(e.to_string()))?;
            note(&format!("Kept {} answers in {}.", rows.len(), path.display()));
        }
        self.sheet(&shown)?;
        Ok(Went::On)
    }

    /// What happened to each question, and the rows of the answers.
    fn questions(&self, shown: &Shown<'_>) -> (String, Vec<Row>) {
        let Shown { lesson, terms, .. } = shown;
        let mut out = String::new();
        let mut rows = Vec::new();
        for (i, question) in lesson.questions.iter().enumerate() {
            let form = form(lesson, question);
            let answer = shown.answers.get(i).and_then(Option::as_ref);
            let Some(truth) = shown.truths.get(i).and_then(Option::as_ref) else { continue };
            let Some(run) = shown.reveal.run(question.of) else { continue };
            let _ = writeln!(out, "\n{}. {}", i + 1, question.ask);
            let happened = words::happened(truth, terms);
            for line in &happened {
                let _ = writeln!(out, "  {line}");
            }
            if let Some(answer) = answer {
                let _ = writeln!(out, "  Your answer: {}.", answer.said(&form, terms));
                match score(answer, truth) {
                    Some(score) => {
                        for line in words::scored(&score, terms) {
                            let _ = writeln!(out, "  {line}");
                        }
                        let row = Row::begun(run, lesson, question, self.course, &shown.stamp.date);
                        let answer = answer.written(&form, terms);
                        let happened = happened.join(" ");
                        rows.push(Row { answer, happened, ..row }.scored(&score));
                    }
                    None => out.push_str("  No drop tells, so nothing is scored.\n"),
                }
            }
            if let Some((_, tally)) = shown.tallies.iter().find(|(id, _)| *id == question.id) {
                for hands in &tally.hands {
                    let said = hands.answer.said(&form, terms);
                    let _ = writeln!(out, "  {} hands: {said}", hands.hands);
                }
                for line in lesson_sheet::room(&tally.spread(truth), &form, Some(truth)) {
                    let _ = writeln!(out, "  {line}");
                }
            }
        }
        (out, rows)
    }

    /// Writes the sheet, where one is wanted.
    fn sheet(&self, shown: &Shown<'_>) -> Result<(), Failure> {
        let Some(to) = &self.args.sheet else { return Ok(()) };
        let none = Tally::default();
        let tally =
            |id: &String| shown.tallies.iter().find(|(known, _)| known == id).map(|(_, t)| t);
        let asked: Vec<lesson_sheet::Asked<'_>> = shown
            .lesson
            .questions
            .iter()
            .zip(&shown.truths)
            .map(|(question, truth)| lesson_sheet::Asked {
                tally: tally(&question.id).unwrap_or(&none),
                truth: truth.as_ref(),
            })
            .collect();
        let sheet = lesson_sheet::Sheet {
            course: self.course,
            lesson: shown.lesson,
            stamp: &shown.stamp,
            terms: &shown.terms,
            asked: &asked,
            facts: Some(&shown.facts),
            invented: self.job.scene.invented,
        };
        scene::write(to, lesson_sheet::html(&sheet).as_bytes(), self.args.force)?;
        note(&format!("Wrote {}.", to.display()));
        Ok(())
    }
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

/// What was typed to a question.
enum Said {
    Answer(Answer),
    Skip,
    Quit,
}

fn typed_answer(
    lesson: &LessonSpec,
    form: &Form,
    terms: &Terms,
    typed: &mut Typed,
) -> Result<Said, Failure> {
    loop {
        let Some(line) = typed.next()? else {
            return Err(Failure::input(
                "the answers end before the questions do: nothing is shown; allowed: a line for each \
                 question, or skip, or quit",
            ));
        };
        let line = line.trim();
        match line {
            "" => continue,
            "skip" => return Ok(Said::Skip),
            "quit" => return Ok(Said::Quit),
            _ => {}
        }
        if let Some(id) = line.strip_prefix("find") {
            let hidden = lesson.hidden.iter().find(|hidden| hidden.id == id.trim());
            let ids: Vec<&str> = lesson.hidden.iter().map(|hidden| hidden.id.as_str()).collect();
            say(&match hidden {
                Some(hidden) => format!("{}: {}\n", hidden.by, hidden.finds),
                None => {
                    format!("read {:?}; allowed: find and one of {}\n", id.trim(), ids.join(", "))
                }
            })?;
            continue;
        }
        match Answer::read(line, form, terms) {
            Ok(answer) => return Ok(Said::Answer(answer)),
            // Typed by hand it can be typed again; out of a pipe nobody would.
            Err(wrong) if typed.is_terminal => say(&format!("{wrong}\n"))?,
            Err(wrong) => return Err(Failure::input(wrong)),
        }
    }
}

/// The question of an id that a flag names.
fn question_of<'a>(
    lesson: &'a LessonSpec,
    id: &str,
    flag: &str,
) -> Result<&'a QuestionSpec, Failure> {
    lesson.questions.iter().find(|question| question.id == id).ok_or_else(|| {
        let ids: Vec<&str> = lesson.questions.iter().map(|q| q.id.as_str()).collect();
        Failure::input(format!(
            "{flag}: read {id}, no question of this lesson; allowed: {}",
            ids.join(", ")
        ))
    })
}

/// Answers given by flags.
fn given(
    flags: &[String],
    lesson: &LessonSpec,
    terms: &Terms,
    flag: &str,
) -> Result<Vec<(String, Answer)>, Failure> {
    flags
        .iter()
        .map(|text| {
            let (id, answer) = text.split_once('=').ok_or_else(|| {
                Failure::input(format!(
                    "{flag}: read {text}; allowed: ID=ANSWER, as mode=\"4 70 %\""
                ))
            })?;
            let question = question_of(lesson, id, flag)?;
            let answer = Answer::read(answer, &form(lesson, question), terms)
                .map_err(|wrong| Failure::input(format!("{flag} {id}: {wrong}")))?;
            Ok((id.to_owned(), answer))
        })
        .collect()
}

/// A room's hands given by flags.
fn hands(
    flags: &[String],
    lesson: &LessonSpec,
    terms: &Terms,
) -> Result<Vec<(String, Tally)>, Failure> {
    /// More than any room holds.
    const HANDS_MAX: u32 = 10_000;
    let mut tallies: Vec<(String, Tally)> = Vec::new();
    for text in flags {
        let wrong = || {
            Failure::input(format!(
                "--hands: read {text}; allowed: ID:HANDS:ANSWER, hands from 1 to {HANDS_MAX}, as \
                 mode:12:\"4 70 %\""
            ))
        };
        let (id, rest) = text.split_once(':').ok_or_else(wrong)?;
        let (count, answer) = rest.split_once(':').ok_or_else(wrong)?;
        let count: u32 = count.trim().parse().map_err(|_| wrong())?;
        if !(1..=HANDS_MAX).contains(&count) {
            return Err(wrong());
        }
        let question = question_of(lesson, id, "--hands")?;
        let answer = Answer::read(answer, &form(lesson, question), terms)
            .map_err(|wrong| Failure::input(format!("--hands {id}: {wrong}")))?;
        let entry = Hands { answer, hands: count };
        match tallies.iter_mut().find(|(known, _)| known == id) {
            Some((_, tally)) => tally.hands.push(entry),
            None => tallies.push((id.to_owned(), Tally { hands: vec![entry] })),
        }
    }
    Ok(tallies)
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
            "  To see it: tumblewood drop {} --cut {id} --drop {drop} --seed {} --out out",
            run.job.scene.source.name, run.ask.seed
        );
    }
    Ok(out)
}

/// Where answers are kept: the flag's file, or one in the user's data folder.
fn record_path(flag: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(path) = flag {
        return Ok(path.to_owned());
    }
    let path = record::place(|name| std::env::var_os(name)).ok_or_else(|| {
        Failure::input(
            "--record: read nothing, and no data folder is known; allowed: a file to keep \
                        answers in, or --no-record",
        )
    })?;
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(|e| {
            Failure::input(format!(
                "--record: {}: {e}; allowed: a file to keep answers in, or --no-record",
                folder.display()
            ))
        })?;
    }
    Ok(path)
}

fn kept(path: &Path) -> Result<Record, Failure> {
    record::read(path).map_err(|e| Failure::input(e.to_string()))
}

/// Damaged lines are named and stay.
fn warn_of_damage(record: &Record) {
    for damage in &record.damaged {
        note(&format!("{damage}; the line stays where it is"));
    }
}

fn scores(path: Option<&Path>, out: Option<&Path>) -> Result<(), Failure> {
    let path =
        path.ok_or_else(|| Failure::input("--scores: read --no-record; allowed: --record CSV"))?;
    let record = kept(path)?;
    let calibration = calibration::of(&record.rows);
    let mut folder = out.map(Folder::make).transpose()?;
    let mut text = format!("{NOT_COMPARED} {PLANNING_AID}\nAnswers kept in {}\n\n", path.display());
    for line in words::calibration(&calibration, &record) {
        let _ = writeln!(text, "{line}");
    }
    say_wrapped(&text)?;
    if let Some(folder) = &mut folder {
        let date = jiff::Zoned::now().date().to_string();
        folder.picture("calibration", &picture(&calibration, &date))?;
        folder.put("calibration.txt", text.as_bytes())?;
        folder.tell();
    }
    Ok(())
}
