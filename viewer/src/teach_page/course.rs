//! A course: lessons in order, put together and saved as a file.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{TextEdit, Ui};
use tumblewood::scene::{self, Course, load_course};

use crate::{
    page::{named, wrong},
    start_page::{Asked, OpenedAs, TypedPath},
};

/// The course that is being put together.
#[derive(Clone, Debug)]
pub(crate) struct CourseForm {
    path: TypedPath,
    home: Option<PathBuf>,
    /// What is open, and where it was read from or is to be written.
    open: Option<(PathBuf, Course)>,
    /// The course has been changed since it was read or written.
    is_new: bool,
    said: Option<Result<String, String>>,
}

impl CourseForm {
    /// Nothing open.
    #[must_use]
    pub(super) fn starting(home: Option<&Path>) -> Self {
        Self {
            path: TypedPath::default(),
            home: home.map(Path::to_owned),
            open: None,
            is_new: false,
            said: None,
        }
    }

    /// Opens a course, or begins one where there is no file yet.
    fn open(&mut self, path: PathBuf) {
        let path = if path.extension().is_none() { path.with_extension("ron") } else { path };
        let folder = path.parent().map(Path::to_owned).unwrap_or_default();
        if path.exists() {
            match load_course(&path) {
                Ok(course) => (self.open, self.said) = (Some((path, course)), None),
                Err(error) => self.said = Some(Err(error.to_string())),
            }
            self.is_new = false;
        } else {
            let course = Course {
                title: String::new(),
                invented: true,
                words: String::new(),
                lessons: Vec::new(),
                folder,
            };
            (self.open, self.said, self.is_new) = (Some((path, course)), None, true);
        }
    }

    /// Adds a lesson's file at the end, its path counted from the course.
    fn add(&mut self, lesson: &Path) {
        let Some((_, course)) = &mut self.open else { return };
        let named = course.named(lesson);
        if course.lessons.contains(&named) {
            self.said = Some(Err(format!("{} is in it already", named.display())));
            return;
        }
        course.lessons.push(named);
        (self.is_new, self.said) = (true, None);
    }

    /// Writes it, over the file it came from alone.
    fn save(&mut self) {
        let Some((path, course)) = &self.open else { return };
        let written = scene::course::parse(&course.text(), "the course", &course.folder)
            .map_err(|error| error.to_string())
            .and_then(|_| {
                scene::write(path, course.text().as_bytes(), true).map_err(|e| e.to_string())
            });
        self.is_new &= written.is_err();
        self.said = Some(written.map(|()| format!("Saved to {}.", path.display())));
    }

    /// Draws it; `lesson` is the file of the scene that is open, once it has a lesson and a name.
    pub(super) fn show(&mut self, ui: &mut Ui, lesson: Option<&Path>) {
        let home = self.home.clone();
        let asked = Asked {
            words: "Course file",
            name: "Course file",
            hint: "my-course.ron",
            button: "Open or begin",
            wanted: Some(OpenedAs::Scene),
            home: home.as_deref(),
        };
        if let Some(path) = self.path.show(ui, &asked) {
            self.open(path);
        }
        let mut save = false;
        let mut add = false;
        if let Some((path, course)) = &mut self.open {
            ui.label(format!("{}", path.display()));
            for (label, text, rows) in
                [("Title of the course", &mut course.title, 1), ("Its words", &mut course.words, 2)]
            {
                ui.label(label);
                let field =
                    TextEdit::multiline(text).desired_rows(rows).desired_width(f32::INFINITY);
                let response = ui.add(field);
                named(ui, &response, label);
                self.is_new |= response.changed();
            }
            let mut moved = None;
            for (i, file) in course.lessons.iter().enumerate() {
                ui.horizontal(|ui| {
                    ui.label(format!("{}. {}", i + 1, file.display()));
                    for (sign, what, to) in [
                        ("⏶", "earlier", Some(i.wrapping_sub(1))),
                        ("⏷", "later", Some(i + 1)),
                        ("✖", "out of the course", None),
                    ] {
                        let response = ui.small_button(sign).on_hover_text(what);
                        named(ui, &response, &format!("{}: {what}", file.display()));
                        if response.clicked() {
                            moved = Some((i, to));
                        }
                    }
                });
            }
            match moved {
                Some((i, None)) => {
                    course.lessons.remove(i);
                    self.is_new = true;
                }
                Some((i, Some(to))) if to < course.lessons.len() => {
                    course.lessons.swap(i, to);
                    self.is_new = true;
                }
                _ => {}
            }
            ui.horizontal_wrapped(|ui| {
                let is_there = lesson.is_some();
                let button = bevy_egui::egui::Button::new("Add this scene's lesson");
                let hint = "Once the scene has a lesson and a file of its own";
                add = ui.add_enabled(is_there, button).on_disabled_hover_text(hint).clicked();
                save = ui.button("Save the course").clicked();
                if self.is_new {
                    ui.label("not saved yet");
                }
            });
        }
        if add && let Some(lesson) = lesson {
            self.add(lesson);
        }
        if save {
            self.save();
        }
        match &self.said {
            Some(Ok(said)) => {
                ui.label(said);
            }
            Some(Err(why)) => {
                ui.label(wrong(why));
            }
            None => {}
        }
    }
}
