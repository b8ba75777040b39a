//! Practice: the lessons of a course, and how near one's answers come over many of them.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{
    ColorImage, Context, Image, RichText, ScrollArea, TextureHandle, TextureOptions, Ui,
};
use tumblewood::{
    lesson::{
        calibration,
        record::{self, Row},
        words::{self, NO_PERMISSION},
    },
    report::{self, png},
    scene::{self, course},
};

use crate::{
    page::{fine, follow_keyboard, readable, wrong},
    panel::CAUTION,
    start_page::{Asked, OpenedAs, TypedPath},
};

/// Where the first course lies in a folder of scenes.
const FIRST_COURSE: &str = "lessons/course.ron";

/// What leaves the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum PracticeMessage {
    /// To the first page.
    Back,
    /// A lesson is to be taken, of the list by its place.
    Lesson(usize),
}

/// A lesson on the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Listed {
    /// Its file.
    pub(crate) path: PathBuf,
    /// Its title, or why it can't be read.
    pub(crate) title: Result<String, String>,
    /// What it is about.
    pub(crate) about: String,
}

/// The page.
#[derive(Default)]
pub(crate) struct PracticePage {
    /// Title of the course; empty for a lesson alone.
    pub(crate) course: String,
    /// What it is about.
    words: String,
    /// It describes no real place.
    invented: bool,
    /// Its lessons in order.
    pub(crate) lessons: Vec<Listed>,
    /// Why there are none.
    pub(crate) said: Option<String>,
    /// A path that is being typed.
    pub(crate) typed: TypedPath,
    home: Option<PathBuf>,
    /// The learner's file.
    pub(crate) record: Option<PathBuf>,
    /// What is kept in it.
    kept: Vec<Row>,
    /// The scores are shown, and not the lessons.
    pub(crate) scores: bool,
    /// What the answers say, a sentence each, and as a picture.
    sentences: Vec<String>,
    picture: Option<TextureHandle>,
    /// What is kept is to be looked at again.
    stale: bool,
}

impl PracticePage {
    /// The page of this machine: the first course that its folders of scenes have.
    #[must_use]
    pub(crate) fn here(folders: &[PathBuf]) -> Self {
        let mut page = Self {
            home: std::env::var_os("HOME").map(PathBuf::from),
            record: record::place(|name| std::env::var_os(name)),
            stale: true,
            ..Self::default()
        };
        let there = folders.iter().map(|folder| folder.join(FIRST_COURSE));
        match there.into_iter().find(|course| course.is_file()) {
            Some(course) => page.open(&course),
            None => {
                page.said = Some(format!(
                    "No \"scenes/{FIRST_COURSE}\" beside the program or here: type the path of a \
                     course or a lesson."
                ));
            }
        }
        page
    }

    /// Opens a course, or one lesson.
    pub(crate) fn open(&mut self, path: &Path) {
        (self.lessons, self.said) = (Vec::new(), None);
        (self.course, self.words, self.invented) = (String::new(), String::new(), false);
        self.typed.text = path.display().to_string();
        let text = match scene::read_text(path) {
            Ok(text) => text,
            Err(error) => {
                self.said = Some(error.to_string());
                return;
            }
        };
        if !course::is_course(&text) {
            self.lessons = vec![listed(path.to_owned())];
            return;
        }
        let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
        // A lesson that is missing or wrong is said on its row, and the others can be taken.
        match course::parse(&text, &path.display().to_string(), &folder) {
            Ok((course, _)) => {
                self.lessons =
                    course.lessons.iter().map(|file| listed(folder.join(file))).collect();
                (self.course, self.words) = (course.title, course.words);
                self.invented = course.invented;
            }
            Err(error) => self.said = Some(error.to_string()),
        }
    }

    /// What is kept may be more than it was.
    pub(crate) fn look_again(&mut self) {
        self.stale = true;
    }

    /// Reads the learner's file, if it may have changed.
    fn renew(&mut self, context: &Context) {
        if !std::mem::take(&mut self.stale) {
            return;
        }
        let Some(path) = &self.record else { return };
        match record::read(path) {
            Ok(record) => {
                let found = calibration::of(&record.rows);
                self.sentences = words::calibration(&found, &record);
                let date = jiff::Zoned::now().date().to_string();
                let svg = report::calibration::calibration(&found, &date);
                self.picture = png::pixels(&svg, 1.5).ok().map(|pixels| {
                    let size = [pixels.width as usize, pixels.height as usize];
                    let image = ColorImage::from_rgba_premultiplied(size, &pixels.rgba);
                    context.load_texture("calibration", image, TextureOptions::LINEAR)
                });
                self.kept = record.rows;
            }
            Err(error) => {
                (self.kept, self.picture) = (Vec::new(), None);
                self.sentences = vec![error.to_string()];
            }
        }
    }

    /// Answers kept of a lesson.
    fn answered(&self, title: &str) -> usize {
        self.kept.iter().filter(|row| row.lesson == title && row.course == self.course).count()
    }
}

fn listed(path: PathBuf) -> Listed {
    match scene::load(&path) {
        Ok(scene) => match scene.lesson {
            Some(lesson) => Listed { path, title: Ok(lesson.title), about: lesson.about },
            None => {
                let why = format!(
                    "{}: read a scene without a lesson; allowed: a lesson or a course",
                    path.display()
                );
                Listed { path, title: Err(why), about: String::new() }
            }
        },
        Err(error) => Listed { path, title: Err(error.to_string()), about: String::new() },
    }
}

/// Draws the page.
pub(crate) fn practice_page(ui: &mut Ui, page: &mut PracticePage) -> Vec<PracticeMessage> {
    let mut messages = Vec::new();
    page.renew(ui.ctx());
    readable(ui);
    ui.label(RichText::new(CAUTION).strong());
    ui.label(NO_PERMISSION);
    ui.horizontal_wrapped(|ui| {
        ui.heading("Practice");
        if ui.button("Back").clicked() {
            messages.push(PracticeMessage::Back);
        }
        for (scores, words) in [(false, "Lessons"), (true, "How near your answers come")] {
            if ui.selectable_label(page.scores == scores, words).clicked() {
                page.scores = scores;
            }
        }
    });
    ui.separator();
    ScrollArea::vertical().id_salt(("practice", page.scores)).auto_shrink(false).show(ui, |ui| {
        if page.scores {
            scores(ui, page)
        } else {
            lessons(ui, page, &mut messages)
        }
        follow_keyboard(ui);
    });
    messages
}

fn lessons(ui: &mut Ui, page: &mut PracticePage, messages: &mut Vec<PracticeMessage>) {
    ui.label(
        "Each lesson shows a cut from the climber's eye, asks where the piece goes, and waits for \
         your answer before anything is dropped.",
    );
    if !page.course.is_empty() {
        ui.add_space(6.0);
        ui.heading(&page.course);
        if page.invented {
            ui.label("Invented: none of these places is anywhere.");
        }
        ui.label(&page.words);
    }
    if let Some(said) = &page.said {
        ui.label(wrong(said));
    }
    ui.add_space(6.0);
    for (i, lesson) in page.lessons.iter().enumerate() {
        match &lesson.title {
            Ok(title) => {
                ui.horizontal_wrapped(|ui| {
                    if ui.button(format!("{}. {title}", i + 1)).clicked() {
                        messages.push(PracticeMessage::Lesson(i));
                    }
                    ui.label(&lesson.about);
                    match page.answered(title) {
                        0 => {}
                        1 => drop(ui.label(fine("1 answer kept"))),
                        n => drop(ui.label(fine(format!("{n} answers kept")))),
                    }
                });
            }
            Err(why) => drop(ui.label(wrong(format!("{}. {why}", i + 1)))),
        }
    }
    ui.add_space(12.0);
    let home = page.home.clone();
    let asked = Asked {
        words: "Another course or lesson",
        name: "Path of a course or a lesson",
        hint: "folder/course.ron",
        button: "Open",
        wanted: Some(OpenedAs::Scene),
        home: home.as_deref(),
    };
    if let Some(path) = page.typed.show(ui, &asked) {
        page.open(&path);
    }
}

fn scores(ui: &mut Ui, page: &PracticePage) {
    let Some(path) = &page.record else {
        ui.label("No folder for your data is known here, so no answer is kept.");
        return;
    };
    ui.label(format!(
        "Kept in {}, a plain file that is yours: any table program opens it, and nothing of it \
         leaves this machine.",
        path.display()
    ));
    ui.add_space(6.0);
    if let Some(picture) = &page.picture {
        let size = picture.size_vec2();
        let fits = (ui.available_width() / size.x).min(1.0) / 1.5;
        let image = Image::new((picture.id(), size * fits.max(0.3)));
        ui.add(image.alt_text("What you say and what happens; in sentences below"));
    }
    for line in &page.sentences {
        ui.label(line);
    }
}

#[cfg(test)]
mod tests;
