//! The scene's file: opened, saved, read again, taken up after a loss, left; and looked after on the
//! disk.

use std::path::{Path, PathBuf};

use tumblewood::scene::edit::{Document, DocumentError, OnDisk, Recovered};

use super::{changed, put_on_desk};
use crate::{
    desk::{Desk, Leaving, Question, Screen},
    start_page::{self, GROUND_ENDINGS, OpenedAs, opened_as},
    worker::{ToPage, Workers},
};

/// Opens a file; one that can't be read as a scene is kept in sight with its error, and read again
/// when it changes.
fn open(desk: &mut Desk, workers: &Workers, path: &Path) {
    match Document::open(path) {
        Ok(document) => {
            desk.question = document.found().map(recovered);
            put_on_desk(desk, workers, document);
            remember(desk, path);
        }
        Err(error) if desk.screen == Screen::Start => desk.said = Some(error.to_string()),
        Err(error) => desk.message = Some(error.to_string()),
    }
}

/// Puts a file on the list of recent ones. A list that can't be written is no reason to stop.
fn remember(desk: &Desk, path: &Path) {
    if let Some(list) = &desk.recent {
        let _ = start_page::remember(list, path);
    }
}

/// What to ask about unsaved work that was found.
pub(crate) fn recovered(found: &Recovered) -> Question {
    let when = found.kept_at.map(|time| {
        let time = jiff::Timestamp::try_from(time).unwrap_or_default();
        time.to_zoned(jiff::tz::TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string()
    });
    Question::Recover(when.unwrap_or_else(|| "an unknown time".to_owned()))
}

/// Takes a file that was dropped onto the window for what its name says it is.
pub(super) fn dropped(desk: &mut Desk, workers: &Workers, path: PathBuf) {
    if desk.question.is_some() {
        return;
    }
    match opened_as(&path) {
        Some(OpenedAs::Scene) => leave(desk, workers, Leaving::Open(path), false),
        Some(OpenedAs::Ground) if desk.screen == Screen::Ground => {
            desk.mail.come.push(ToPage::Ground { path, at: None });
        }
        Some(OpenedAs::Ground) => leave(desk, workers, Leaving::Ground(path), false),
        None => {
            desk.message = Some(format!(
                "{}: neither a scene nor ground; allowed: .ron, {}",
                path.display(),
                GROUND_ENDINGS.map(|ending| format!(".{ending}")).join(", ")
            ));
        }
    }
}

pub(super) fn begin(desk: &mut Desk, workers: &Workers, text: &str) {
    let folder = std::env::current_dir().unwrap_or_default();
    put_on_desk(desk, workers, Document::new(text, &folder));
}

pub(super) fn save(desk: &mut Desk, over: bool) {
    let Some(document) = &mut desk.document else { return };
    match document.save(over) {
        Ok(()) => {
            (desk.question, desk.message) = (None, None);
            if let Some(path) = document.path().map(Path::to_owned) {
                remember(desk, &path);
            }
        }
        Err(DocumentError::NoName) => desk.question = Some(Question::SaveAs(String::new())),
        Err(DocumentError::Changed(_)) => desk.question = Some(Question::Overwrite),
        // Nothing is written over.
        Err(DocumentError::Gone(_)) if !over => save(desk, true),
        Err(error) => desk.message = Some(error.to_string()),
    }
}

pub(super) fn save_as(desk: &mut Desk, path: &Path, over: bool) {
    let Some(document) = &mut desk.document else { return };
    let path =
        if path.extension().is_none() { path.with_extension("ron") } else { path.to_owned() };
    if document.path() == Some(&*path) {
        return save(desk, over);
    }
    match document.save_as(&path, over) {
        Ok(()) => {
            (desk.question, desk.message) = (None, None);
            remember(desk, &path);
        }
        Err(DocumentError::Taken(_)) => desk.question = Some(Question::Replace(path)),
        Err(error) => desk.message = Some(error.to_string()),
    }
}

pub(super) fn reload(desk: &mut Desk, workers: &Workers) {
    let Some(document) = &mut desk.document else { return };
    desk.question = None;
    match document.reload() {
        Ok(()) => changed(desk, workers),
        Err(error) => desk.message = Some(error.to_string()),
    }
}

pub(super) fn recover(desk: &mut Desk, workers: &Workers, take: bool) {
    let Some(document) = &mut desk.document else { return };
    desk.question = None;
    if take {
        document.take_found();
        changed(desk, workers);
    } else if let Err(error) = document.drop_found() {
        desk.message = Some(error.to_string());
    }
}

pub(super) fn leave(desk: &mut Desk, workers: &Workers, to: Leaving, anyway: bool) {
    let is_gone = |document: &Document| matches!(document.on_disk(), Ok(OnDisk::Gone));
    let unsaved = |document: &Document| document.is_dirty() || is_gone(document);
    // What is tried of a lesson is a copy that nobody means to keep.
    let kept = !(desk.is_trying && to == Leaving::Lesson);
    if desk.document.as_ref().is_some_and(unsaved) && kept && !anyway {
        desk.question = Some(Question::Leave(to));
        return;
    }
    desk.question = None;
    if (anyway || !kept)
        && let Some(document) = &mut desk.document
    {
        // Who leaves without saving wants nothing kept.
        document.give_up();
    }
    match to {
        Leaving::Quit => {
            workers.stop();
            desk.is_over = true;
        }
        Leaving::Start | Leaving::Ground(_) | Leaving::Practice | Leaving::Lesson => {
            workers.stop();
            workers.stop_task();
            let before = std::mem::replace(desk, Desk::new());
            let ask = before.lesson.map_or(before.ask, |lesson| lesson.before);
            (desk.look, desk.ask, desk.mail) = (before.look, ask, before.mail);
            (desk.stamps, desk.recent) = (before.stamps, before.recent);
            desk.answer.order = before.answer.order + 1;
            desk.stamps.all();
            match to {
                Leaving::Ground(path) => {
                    desk.screen = Screen::Ground;
                    desk.mail.come.push(ToPage::Ground { path, at: None });
                }
                Leaving::Practice => desk.screen = Screen::Practice,
                // Its page puts the lesson on the hillside again.
                Leaving::Lesson => desk.screen = Screen::Lesson,
                Leaving::Start | Leaving::Quit | Leaving::Open(_) => {}
            }
        }
        Leaving::Open(path) => open(desk, workers, &path),
    }
}

/// Looks whether the file was changed by something else, and reads it again where no work of ours
/// would be lost.
pub(crate) fn look_at_disk(desk: &mut Desk, workers: &Workers) {
    let Some(document) = &desk.document else { return };
    match document.on_disk() {
        Ok(OnDisk::Changed) if !document.is_dirty() => reload(desk, workers),
        Ok(OnDisk::Changed) if desk.question.is_none() && !desk.told_of_disk => {
            desk.told_of_disk = true;
            desk.question = Some(Question::Overwrite);
        }
        Ok(OnDisk::Gone) if !desk.told_of_disk => {
            desk.told_of_disk = true;
            desk.message =
                Some("The scene's file is gone. What is here is kept: save it again.".to_owned());
        }
        Ok(OnDisk::Same) => desk.told_of_disk = false,
        Ok(OnDisk::Changed | OnDisk::Gone) | Err(_) => {}
    }
}
