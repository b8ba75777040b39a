//! What a learner has answered, in a plain file of theirs: CSV, one line an answer.
//!
//! Lines are only ever added, each in one write at the end of the file; what stands in it is never
//! written again, put in order or thrown away. A line that can't be read is named and left where it
//! is, and the others count. The file is the export: any table program opens it.

use std::{
    fs::OpenOptions,
    io::{Read as _, Seek as _, SeekFrom, Write as _},
    path::{Path, PathBuf},
};

use crate::{
    scene::{
        folder_of,
        model::{Asked, LessonSpec, QuestionSpec},
    },
    terrain::{BYTE_ORDER_MARK, without_mark},
};

use super::{reveal::CaseRun, score::Score};

/// The columns, in order; what each holds is said at [`Row`].
pub const COLUMNS: [&str; 18] = [
    "date",
    "course",
    "lesson",
    "scene_hash",
    "law",
    "seed",
    "drops",
    "question",
    "kind",
    "case",
    "answer",
    "happened",
    "score",
    "could_know",
    "stated",
    "share",
    "below",
    "above",
];
/// Name of a learner's file.
const FILE: &str = "answers.csv";
/// Largest record that is read, bytes: some hundred thousand answers.
const FILE_MAX: u64 = 64 << 20;
/// What answers can be added to.
const APPENDED: &str = "a file of answers that can be written, or a name where there is none";
/// Longest field, characters; longer words are cut when they are written.
const FIELD_MAX: usize = 2_000;

/// One answered question.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Day of the answer, year-month-day.
    pub date: String,
    /// Title of the course; empty for a lesson alone.
    pub course: String,
    /// Title of the lesson.
    pub lesson: String,
    /// SHA-256 of the scene of the case, hex; of the scene as it stands that of the lesson's file.
    pub scene_hash: String,
    /// Which ground law the drops were made by.
    pub law: String,
    /// Seed of its draws.
    pub seed: u64,
    /// Drops of the case on the ground as told.
    pub drops: u32,
    /// Id of the question.
    pub question: String,
    /// What was asked, in a word.
    pub kind: Kind,
    /// Id of the case.
    pub case: String,
    /// The answer, as it can be read again.
    pub answer: String,
    /// What happened, in words.
    pub happened: String,
    /// Score; lower is nearer. Without unit, or in m, rad or N.
    pub score: f64,
    /// What of the score could have been known.
    pub could_know: f64,
    /// How often the learner said that it happens, 0 to 1.
    pub stated: f64,
    /// How often it did, 0 to 1.
    pub share: f64,
    /// Shares of drops below and above a range, or nearer and farther than a mark.
    pub beside: Option<[f64; 2]>,
}

/// Where answers are kept where nobody says otherwise: `answers.csv` in the user's data folder, by the
/// environment; nowhere if that names none.
#[must_use]
pub fn place(environment: impl Fn(&str) -> Option<std::ffi::OsString>) -> Option<PathBuf> {
    let folder = |name: &str| environment(name).map(PathBuf::from);
    ["XDG_DATA_HOME", "APPDATA"]
        .into_iter()
        .filter_map(folder)
        .chain(folder("HOME").map(|home| home.join(".local/share")))
        .find(|folder| folder.is_absolute())
        .map(|folder| folder.join("tumblewood").join(FILE))
}

/// What was asked, in a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// One of several.
    Options,
    /// A chance.
    Chance,
    /// In which case something happens least.
    Fewest,
    /// A distance.
    Distance,
    /// A turn.
    Turn,
    /// A pull.
    Force,
    /// A mark on the ground.
    Mark,
}

const KINDS: [(Kind, &str); 7] = [
    (Kind::Options, "options"),
    (Kind::Chance, "chance"),
    (Kind::Fewest, "fewest"),
    (Kind::Distance, "distance"),
    (Kind::Turn, "turn"),
    (Kind::Force, "force"),
    (Kind::Mark, "mark"),
];

impl Kind {
    /// Of what is asked.
    #[must_use]
    pub fn of(asked: &Asked) -> Self {
        match asked {
            Asked::Mode | Asked::FirstEnd | Asked::HowItLies => Self::Options,
            Asked::Chance(_) => Self::Chance,
            Asked::Fewest { .. } => Self::Fewest,
            Asked::FirstTouch | Asked::Rest => Self::Mark,
            Asked::HowFar => Self::Distance,
            Asked::LetsGoAt => Self::Turn,
            Asked::Pull(_) => Self::Force,
        }
    }

    /// Its word in the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        KINDS.iter().find(|(kind, _)| *kind == self).map_or("", |(_, word)| word)
    }
}

/// A line of the file that can't be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {field}: {what}; read {read}; allowed: {allowed}")]
pub struct Damage {
    /// The file.
    pub file: String,
    /// Line, from 1.
    pub line: u64,
    /// Which column.
    pub field: String,
    /// What is wrong.
    pub what: String,
    /// What was read.
    pub read: String,
    /// What would be right.
    pub allowed: String,
}

/// A record as far as it can be read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Answers, in the order of the file.
    pub rows: Vec<Row>,
    /// Lines that can't be read; they stay in the file.
    pub damaged: Vec<Damage>,
}

/// A record that can't be read or added to.
#[derive(Debug, thiserror::Error)]
#[error("{file}: {what}; allowed: {allowed}")]
pub struct RecordError {
    /// The file.
    pub file: PathBuf,
    /// Why not.
    pub what: String,
    /// What would be right.
    pub allowed: String,
}

impl Row {
    /// A row but for its answer, what happened and its score.
    #[must_use]
    pub fn begun(
        run: &CaseRun,
        lesson: &LessonSpec,
        question: &QuestionSpec,
        course: &str,
        date: &str,
    ) -> Self {
        Self {
            date: date.to_owned(),
            course: course.to_owned(),
            lesson: lesson.title.clone(),
            scene_hash: run.job.scene.hash.clone(),
            law: run.ask.law.name(),
            seed: run.ask.seed,
            drops: run.fates().len() as u32,
            question: question.id.clone(),
            kind: Kind::of(&question.asked),
            case: lesson.cases.get(question.of).map_or_else(String::new, |case| case.id.clone()),
            answer: String::new(),
            happened: String::new(),
            score: 0.0,
            could_know: 0.0,
            stated: 0.0,
            share: 0.0,
            beside: None,
        }
    }

    /// Puts what a score says into the row.
    #[must_use]
    pub fn scored(self, score: &Score) -> Self {
        Self {
            score: score.value,
            could_know: score.could_know,
            stated: score.stated,
            share: score.share,
            beside: score.beside,
            ..self
        }
    }

    fn fields(&self) -> [String; COLUMNS.len()] {
        let number = |x: f64| format!("{x:.6}");
        let [below, above] = self.beside.map_or_else(Default::default, |b| b.map(number));
        [
            self.date.clone(),
            self.course.clone(),
            self.lesson.clone(),
            self.scene_hash.clone(),
            self.law.clone(),
            self.seed.to_string(),
            self.drops.to_string(),
            self.question.clone(),
            self.kind.word().to_owned(),
            self.case.clone(),
            self.answer.clone(),
            self.happened.clone(),
            number(self.score),
            number(self.could_know),
            number(self.stated),
            number(self.share),
            below,
            above,
        ]
    }
}

/// Whether answers could be added to a record, or to one where there is none yet. It is left as it
/// is: a lesson that nobody answers leaves no file.
///
/// # Errors
/// The file can't be opened for writing, or its folder isn't there or can't be written.
pub fn can_append(path: &Path) -> Result<(), RecordError> {
    let wrong =
        |what: String| RecordError { file: path.to_owned(), what, allowed: APPENDED.to_owned() };
    let folder = folder_of(path);
    if !folder.is_dir() {
        return Err(wrong(format!("can't be written: there is no folder {}", folder.display())));
    }
    if path.exists() {
        let opened = OpenOptions::new().append(true).open(path);
        return opened.map(|_| ()).map_err(|e| wrong(format!("can't be written: {e}")));
    }
    tempfile::tempfile_in(folder)
        .map(|_| ())
        .map_err(|_| wrong(format!("the folder {} can't be written", folder.display())))
}

/// Adds answers at the end of a record; makes it, with its header, where there is none.
///
/// All lines go in one write to a file opened for appending, so that two programs do not mix theirs.
/// A last line that was cut off is ended first, so that nothing is glued to it.
///
/// # Errors
/// The file can't be opened or written, or is no record: nothing is added then.
pub fn append(path: &Path, rows: &[Row]) -> Result<(), RecordError> {
    let wrong =
        |what: String| RecordError { file: path.to_owned(), what, allowed: APPENDED.to_owned() };
    let io = |e: std::io::Error| wrong(format!("can't be written: {e}"));
    if path.is_dir() {
        return Err(wrong("is a directory".to_owned()));
    }
    let mut file =
        OpenOptions::new().read(true).append(true).create(true).open(path).map_err(io)?;
    let length = file.metadata().map_err(io)?.len();
    let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    let to_csv = |e: csv::Error| wrong(format!("can't be written: {e}"));
    if length == 0 {
        writer.write_record(COLUMNS).map_err(to_csv)?;
    } else {
        check_header(&mut file).map_err(wrong)?;
        file.seek(SeekFrom::End(-1)).map_err(io)?;
        let mut last = [0_u8];
        file.read_exact(&mut last).map_err(io)?;
        if last != *b"\n" {
            // A cut line may have left a quote open: the newline ends it for readers of lines, and
            // `read` takes each line by itself.
            file.write_all(b"\n").map_err(io)?;
        }
    }
    for row in rows {
        // One answer is one line: a name with a line break would make two.
        writer.write_record(row.fields().map(|field| one_line(&field))).map_err(to_csv)?;
    }
    let lines = writer.into_inner().map_err(|e| wrong(format!("can't be written: {e}")))?;
    file.write_all(&lines).and_then(|()| file.sync_data()).map_err(io)
}

/// The first line of a file that isn't empty is this record's header.
fn check_header(file: &mut std::fs::File) -> Result<(), String> {
    let header = COLUMNS.join(",");
    let mut start = Vec::new();
    let most = (BYTE_ORDER_MARK.len() + header.len()) as u64;
    let read = file.seek(SeekFrom::Start(0)).and_then(|_| file.take(most).read_to_end(&mut start));
    let start = without_mark(&start);
    if read.is_err() || !start.starts_with(header.as_bytes()) {
        let start = String::from_utf8_lossy(start);
        let start: String = start.chars().take_while(|c| !c.is_control()).take(60).collect();
        return Err(format!(
            "is no record of answers: it begins with {start:?}, not {:?}",
            COLUMNS[0]
        ));
    }
    Ok(())
}

/// A field as it can be read again: one line, and not too long.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(FIELD_MAX).collect()
}

/// Reads a record: all lines that can be read, and those that can't, named. No file is an empty one.
///
/// # Errors
/// The file can't be opened, is too large or is no record.
pub fn read(path: &Path) -> Result<Record, RecordError> {
    let wrong = |what: String| RecordError {
        file: path.to_owned(),
        what,
        allowed: format!("a file of answers, whose first line is {}", COLUMNS.join(",")),
    };
    if !path.exists() {
        return Ok(Record::default());
    }
    let io = |e: std::io::Error| wrong(format!("can't be read: {e}"));
    if !path.is_file() {
        return Err(wrong("is a directory or no plain file".to_owned()));
    }
    let length = std::fs::metadata(path).map_err(io)?.len();
    if length > FILE_MAX {
        return Err(wrong(format!("{} MB is too large", length >> 20)));
    }
    let bytes = std::fs::read(path).map_err(io)?;
    if bytes.is_empty() {
        return Ok(Record::default());
    }
    // Line by line, so that a quote that was cut off swallows no line after it.
    let mut lines = without_mark(&bytes).split(|b| *b == b'\n');
    let first = lines.next().unwrap_or_default();
    if first.strip_suffix(b"\r").unwrap_or(first) != COLUMNS.join(",").as_bytes() {
        let start: String = String::from_utf8_lossy(first).chars().take(60).collect();
        return Err(wrong(format!("is no record of answers: its first line is {start:?}")));
    }
    let mut record = Record::default();
    for (i, line) in lines.enumerate() {
        if line.trim_ascii().is_empty() {
            continue;
        }
        match row(line) {
            Ok(row) => record.rows.push(row),
            Err(bad) => record.damaged.push(Damage {
                file: path.display().to_string(),
                line: i as u64 + 2,
                field: bad.field.to_owned(),
                what: bad.what,
                read: bad.read.chars().take(60).collect(),
                allowed: bad.allowed,
            }),
        }
    }
    Ok(record)
}

struct Bad {
    field: &'static str,
    what: String,
    read: String,
    allowed: String,
}

/// One line as a row.
fn row(line: &[u8]) -> Result<Row, Bad> {
    let whole = |what: String, allowed: &str| Bad {
        field: "(the whole line)",
        what,
        read: String::from_utf8_lossy(line).into_owned(),
        allowed: allowed.to_owned(),
    };
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(line);
    let mut fields = csv::StringRecord::new();
    match reader.read_record(&mut fields) {
        Ok(true) => {}
        Ok(false) => return Err(whole("nothing stands there".to_owned(), "a line of answers")),
        Err(_) => return Err(whole("no UTF-8 text".to_owned(), "a line of plain text")),
    }
    if fields.len() != COLUMNS.len() {
        let allowed = format!("{} fields, as the first line names them", COLUMNS.len());
        return Err(whole(format!("{} fields", fields.len()), &allowed));
    }
    let text = |column: usize| fields.get(column).unwrap_or("");
    let bad = |column: usize, what: &str, allowed: String| Bad {
        field: COLUMNS.get(column).copied().unwrap_or(""),
        what: what.to_owned(),
        read: format!("{:?}", text(column)),
        allowed,
    };
    let words = |column: usize| {
        let text = text(column);
        if text.chars().count() > FIELD_MAX {
            return Err(bad(column, "too long", format!("at most {FIELD_MAX} characters")));
        }
        Ok(text.to_owned())
    };
    let whole_number = |column: usize| {
        let wrong = || bad(column, "no whole number", "0 or more".to_owned());
        text(column).parse::<u64>().map_err(|_| wrong())
    };
    let number = |column: usize, [low, high]: [f64; 2]| {
        let limits = if high.is_finite() {
            format!("a number from {low} to {high}")
        } else {
            format!("a number from {low} up")
        };
        let x: f64 = text(column).parse().map_err(|_| bad(column, "no number", limits.clone()))?;
        if x.is_finite() && (low..=high).contains(&x) {
            Ok(x)
        } else {
            Err(bad(column, "out of its limits", limits))
        }
    };
    let date: jiff::civil::Date = text(0)
        .parse()
        .map_err(|_| bad(0, "no date", "year-month-day, as 2026-03-14".to_owned()))?;
    let kind = KINDS.iter().find(|(_, word)| *word == text(8)).map(|(kind, _)| *kind);
    let kind =
        kind.ok_or_else(|| bad(8, "no such kind", KINDS.map(|(_, word)| word).join(", ")))?;
    let seed = whole_number(5)?;
    let drops = whole_number(6)?;
    let drops = u32::try_from(drops).map_err(|_| bad(6, "too many", "fewer drops".to_owned()))?;
    let score = number(12, [0.0, f64::INFINITY])?;
    let could_know = number(13, [0.0, f64::INFINITY])?;
    let share = [0.0, 1.0];
    let beside = match (text(16), text(17)) {
        ("", "") => None,
        _ => Some([number(16, share)?, number(17, share)?]),
    };
    Ok(Row {
        date: date.to_string(),
        course: words(1)?,
        lesson: words(2)?,
        scene_hash: words(3)?,
        law: words(4)?,
        seed,
        drops,
        question: words(7)?,
        kind,
        case: words(9)?,
        answer: words(10)?,
        happened: words(11)?,
        score,
        could_know,
        stated: number(14, share)?,
        share: number(15, share)?,
        beside,
    })
}
