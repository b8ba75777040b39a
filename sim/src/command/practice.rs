//! `practice`: a lesson or a course in a terminal, wholly by words: it asks, takes the answers, and only
//! then drops the pieces and shows.

mod taking;
mod typed;

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
    sync::atomic::AtomicBool,
};

use clap::Args;
use tumblewood::{
    forecast::Ask,
    job::Job,
    lesson::{
        self, LessonError, Reveal, calibration,
        claim::{claims, measured},
        record::{self, Record},
        words::{self, NO_PERMISSION},
    },
    report::{
        calibration::calibration as picture,
        stamp::{NOT_COMPARED, PLANNING_AID},
        text,
    },
    scene::{self, Course, edit::claims_text, model::LessonSpec},
};

use super::{
    Failure,
    output::{Folder, new_file},
    progress::{Bar, stop_flag},
    say::{note, say},
};
use taking::{Taken, Went};
use typed::Typed;

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
    if let Some(sheet) = &args.sheet {
        let inputs: Vec<&Path> =
            std::iter::once(file).chain(&lessons).chain(&record).map(PathBuf::as_path).collect();
        new_file("--sheet", sheet, &["html"], args.force, &inputs)?;
    }
    if let Some(record) = &record {
        // Better to know of a file that is no record, or takes no answers, before the first question.
        warn_of_damage(&kept(record)?);
        record::can_append(record).map_err(|e| Failure::input(e.to_string()))?;
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
        if lesson.claims.is_empty() {
            let found = LessonSpec { claims: measured(&reveal, lesson), ..lesson.clone() };
            let found = claims_text(&found);
            let _ = writeln!(
                out,
                "It claims nothing. By these drops it could:\n\n    claims: {found},"
            );
        }
        say(&out)?;
    }
    if broken == 0 {
        return Ok(());
    }
    Err(Failure::CantAnswer(format!("{broken} claims are not what the forecast gives")))
}

/// How the line with a command begins, which stays whole so that it can be copied.
const TO_SEE: &str = "To see it:";

/// Words broken into lines; what is indented stays so.
fn say_wrapped(text: &str) -> Result<(), Failure> {
    let broken = |line: &str| {
        let words = line.trim_start();
        let indent = line.len() - words.len();
        let is_command = words.starts_with(TO_SEE);
        if is_command { format!("{line}\n") } else { text::wrapped(line, indent) }
    };
    say(&text.lines().map(broken).collect::<String>())
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
