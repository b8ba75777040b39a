//! From what a climber has on paper to a scene.
//!
//! The form is text as typed; its scene is written anew at every change and read by the scene's
//! own reader, which alone says what is wrong, beside the field it is about.

mod form;
mod pen;
mod picture;
mod rows;
mod screen;
mod sketch;
mod words;
mod write;

use std::sync::Arc;

use tumblewood::{
    job::{Job, JobError},
    scene::{self, error::Problem},
};

pub(crate) use form::NotesForm;
pub(crate) use screen::notes_page;
pub(crate) use sketch::Sketch;
#[cfg(test)]
use write::to_ron;

use write::{Written, written};

/// What the scene's reader is told that the text is called.
const NAME: &str = "notes";

/// What leaves the page.
#[derive(Clone, Debug)]
pub(crate) enum NotesMessage {
    /// Back to where it was opened from; nothing is kept.
    Back,
    /// The scene as it stands is to be shown; sent only if nothing is wrong.
    Show {
        /// Its text.
        text: String,
    },
    /// The text is to be written to a file, whatever may be wrong with it.
    Save {
        /// Where, as typed.
        path: String,
        /// The text.
        text: String,
    },
}

/// Something wrong and the field it belongs to; the whole form if that is empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Complaint {
    /// Path of the field.
    pub(crate) field: String,
    /// What is wrong and what would be right.
    pub(crate) said: String,
}

/// What the scene's reader makes of a form.
#[derive(Clone, Debug)]
pub(crate) struct Judged {
    written: Written,
    /// What is wrong, in the order of the text.
    pub(crate) complaints: Vec<Complaint>,
    /// The job, if nothing is wrong.
    pub(crate) job: Option<Arc<Job>>,
}

/// Writes a form's scene and has it read.
#[must_use]
pub(crate) fn judge(form: &NotesForm) -> Judged {
    let written = written(form);
    let read = scene::parse(&written.text, NAME).map_err(JobError::from).and_then(Job::load);
    match read {
        Ok(job) => Judged { written, complaints: Vec::new(), job: Some(Arc::new(job)) },
        Err(error) => Judged { complaints: complaints(&written, &error), written, job: None },
    }
}

fn complaints(written: &Written, error: &JobError) -> Vec<Complaint> {
    let of_field = |field: &str, said: String| Complaint { field: field.to_owned(), said };
    match error {
        JobError::Scene(error) => match error.problem() {
            Some(first) => std::iter::once(first)
                .chain(&first.others)
                .map(|problem| of_field(&written.field(&problem.path), said(problem)))
                .collect(),
            None => vec![of_field("", error.to_string())],
        },
        JobError::Terrain(error) => vec![of_field("site.terrain.lines", error.to_string())],
        JobError::Stem(error) => vec![of_field("tree", error.to_string())],
        JobError::Other(text) => vec![of_field("", text.clone())],
    }
}

fn said(problem: &Problem) -> String {
    format!("{}; allowed: {}", problem.what, problem.allowed)
}

/// The page: the form, what is made of it, and where it is to be saved.
#[derive(Clone, Debug)]
pub(crate) struct NotesPage {
    /// As typed.
    pub(crate) form: NotesForm,
    /// What the reader makes of it.
    pub(crate) judged: Judged,
    /// What can be drawn of it.
    pub(crate) sketch: Sketch,
    /// Which line is seen from the side.
    pub(crate) shown_line: usize,
    /// Where it is to be saved, as typed.
    pub(crate) save_to: String,
    /// What came of the last save, for the page to say.
    pub(crate) said: Option<String>,
}

impl Default for NotesPage {
    fn default() -> Self {
        Self::of(NotesForm::default())
    }
}

impl NotesPage {
    /// A page of a form.
    #[must_use]
    pub(crate) fn of(form: NotesForm) -> Self {
        Self {
            judged: judge(&form),
            sketch: Sketch::of(&form),
            form,
            shown_line: 0,
            save_to: "notes.ron".to_owned(),
            said: None,
        }
    }

    /// The scene's text as it stands.
    #[must_use]
    pub(crate) fn text(&self) -> &str {
        &self.judged.written.text
    }

    /// Judges and sketches the form again, after a change.
    pub(crate) fn renew(&mut self) {
        self.judged = judge(&self.form);
        self.sketch = Sketch::of(&self.form);
    }
}

#[cfg(test)]
mod tests;
