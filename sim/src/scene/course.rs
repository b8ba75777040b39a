//! A course: lessons in order, as a file of its own beside them.

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
    sync::Arc,
};

use super::{
    Scene, SceneError,
    edit::{relocate::named_from, splice::quoted},
    error::Source,
    error::Wrong,
    load, read, read_text, v1, version,
};

/// Most lessons of a course.
const LESSONS_MAX: usize = 100;

/// A course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Its title.
    pub title: String,
    /// Its lessons describe no real place.
    pub invented: bool,
    /// What it is about.
    pub words: String,
    /// Lesson files in order, relative to the course.
    pub lessons: Vec<PathBuf>,
    /// Folder of the course file.
    pub folder: PathBuf,
}

impl Course {
    /// Where a lesson of it is.
    #[must_use]
    pub fn file(&self, lesson: usize) -> Option<PathBuf> {
        self.lessons.get(lesson).map(|file| self.folder.join(file))
    }

    /// A lesson's file as the course names it; as it is told if it has no name.
    #[must_use]
    pub fn named(&self, file: &Path) -> PathBuf {
        named_from(file, &self.folder).map_or_else(|| file.to_owned(), PathBuf::from)
    }

    /// The course as a file, for those who put one together; [`parse`] reads it again.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = format!(
            "(\n    version: 1,\n    title: {},\n    invented: {},\n    words: {},\n    lessons: [\n",
            quoted(&self.title),
            self.invented,
            quoted(&self.words)
        );
        for lesson in &self.lessons {
            // Writing to a String can't fail.
            let _ = writeln!(text, "        {},", quoted(&lesson.display().to_string()));
        }
        text.push_str("    ],\n)\n");
        text
    }
}

/// Whether a file's text is a course rather than a scene: its fields, not its name, tell.
#[must_use]
pub fn is_course(text: &str) -> bool {
    super::edit::splice::value(text, "lessons").is_some()
        && super::edit::splice::value(text, "site").is_none()
}

/// Reads and checks a course; each of its lessons must be there and be one.
///
/// # Errors
/// The file can't be read, what is in it is wrong, or a lesson is missing or no lesson.
pub fn load_course(path: &Path) -> Result<Course, SceneError> {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    let name = path.display().to_string();
    let (course, source) = parse(&read_text(path)?, &name, &folder)?;
    let mut wrongs = Vec::new();
    for (i, file) in course.lessons.iter().enumerate() {
        let there = course.folder.join(file);
        let wrong = |what: String| Wrong {
            path: format!("lessons[{i}]"),
            what,
            allowed: "a scene file with lesson: (..), its path relative to the course".to_owned(),
        };
        if !there.is_file() {
            wrongs.push(wrong("no such file, or no plain file".to_owned()));
        } else {
            match load(&there) {
                Ok(Scene { lesson: Some(_), .. }) => {}
                Ok(_) => wrongs.push(wrong("a scene without a lesson".to_owned())),
                Err(error) => wrongs.push(wrong(format!("it is wrong: {error}"))),
            }
        }
    }
    source.error(&wrongs).map_or(Ok(course), Err)
}

/// Reads a course from its text without looking at its lessons; `name` is what errors call it.
///
/// # Errors
/// What is in it is wrong.
pub fn parse(text: &str, name: &str, folder: &Path) -> Result<(Course, Arc<Source>), SceneError> {
    let source = Arc::new(Source { name: name.to_owned(), text: Arc::from(text) });
    version(&source)?;
    let file: v1::Course = read(&source).map_err(SceneError::Invalid)?;
    let mut wrongs = Vec::new();
    let mut wrong = |path: &str, what: &str, allowed: &str| {
        wrongs.push(Wrong {
            path: path.to_owned(),
            what: what.to_owned(),
            allowed: allowed.to_owned(),
        });
    };
    if file.title.trim().is_empty() || file.title.chars().any(char::is_control) {
        wrong("title", "no title", "one or more printable characters on one line");
    }
    if file.lessons.is_empty() || file.lessons.len() > LESSONS_MAX {
        let what = format!("{} lessons", file.lessons.len());
        wrong("lessons", &what, &format!("1 to {LESSONS_MAX}"));
    }
    for (i, lesson) in file.lessons.iter().enumerate() {
        let path = format!("lessons[{i}]");
        if lesson.trim().is_empty() || Path::new(lesson).is_absolute() {
            wrong(&path, "no path beside the course", "a path relative to the course");
        }
        if file.lessons.iter().take(i).any(|before| before == lesson) {
            wrong(&path, "a lesson that is there twice", "each lesson once");
        }
    }
    if let Some(error) = source.error(&wrongs) {
        return Err(error);
    }
    let course = Course {
        title: file.title.trim().to_owned(),
        invented: file.invented,
        words: file.words.trim().to_owned(),
        lessons: file.lessons.iter().map(PathBuf::from).collect(),
        folder: folder.to_owned(),
    };
    Ok((course, source))
}
