//! A scene being edited: its text, its file, what was done to it, and a copy of what isn't saved.
//!
//! Nothing here throws work away. An edit that would make the scene wrong is refused and leaves
//! everything as it was; a file that can't be written, or that someone else has changed, leaves the
//! text in hand; what isn't saved is kept beside the file, under its name with a dot before it and
//! `.tumblewood-unsaved` behind it, until it is.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::Arc,
};

use crate::{
    scene::{self, Scene, SceneError},
    terrain::without_mark,
};

use super::{
    recovery::{self, Recovered},
    relocate::relocated,
    splice::{EditError, Splice, apply, inverse},
};

/// What a scene without a file is called in errors.
const UNNAMED: &str = "new scene";

/// Why a document can't be read or written; the text in hand is as it was.
#[derive(Debug, thiserror::Error)]
pub enum DocumentError {
    /// A file can't be read or written.
    #[error("{}: {what}", file.display())]
    File {
        /// Which.
        file: PathBuf,
        /// Why not.
        what: String,
    },
    /// It was changed since it was read.
    #[error("{}: changed on disk since it was read here; read it again, or save over it", .0.display())]
    Changed(PathBuf),
    /// It is no longer there.
    #[error("{}: no longer there; save over it to write it again, or save it elsewhere", .0.display())]
    Gone(PathBuf),
    /// Another file has that name.
    #[error("{}: there already; save over it, or under another name", .0.display())]
    Taken(PathBuf),
    /// The scene has no file yet.
    #[error("this scene has no file yet; save it under a name")]
    NoName,
}

impl DocumentError {
    /// The same about a file, without advice for the command line.
    pub(super) fn of(error: &SceneError, path: &Path) -> Self {
        match error {
            SceneError::File { file, what, .. } => {
                Self::File { file: file.clone(), what: what.clone() }
            }
            other => Self::File { file: path.to_owned(), what: other.to_string() },
        }
    }
}

/// How a document's file is on disk, against what was last read or written here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnDisk {
    /// As it was, or there never was one.
    Same,
    /// Changed by someone else.
    Changed,
    /// No longer there.
    Gone,
}

/// One thing done, as it is done and undone.
#[derive(Clone, Debug)]
struct Step {
    /// In words for a menu: "move boathouse".
    name: String,
    forth: Vec<Splice>,
    back: Vec<Splice>,
}

/// The last step while more of the same may come: what it began from.
#[derive(Debug)]
struct Open {
    key: String,
    text: Arc<str>,
    scene: Read,
}

type Read = Result<Arc<Scene>, Arc<SceneError>>;

/// A scene being edited.
#[derive(Debug)]
pub struct Document {
    text: Arc<str>,
    scene: Read,
    path: Option<PathBuf>,
    /// Where paths in the scene count from, and where a scene without a file is kept.
    folder: PathBuf,
    /// The text on disk as last read or written; nothing of a new scene.
    saved: Arc<str>,
    done: Vec<Step>,
    undone: Vec<Step>,
    /// What could be done again before the last edit, for [`Document::take_back`].
    given_up: Vec<Step>,
    open: Option<Open>,
    /// Where this document's own unsaved copy is, once there is one.
    copy: Option<PathBuf>,
    copy_is_due: bool,
    copy_trouble: Option<String>,
    found: Option<Recovered>,
}

impl Document {
    /// A new scene without a file; `folder` is where paths in it count from and where it is kept
    /// until it is saved. It is dirty: its text is in no file.
    #[must_use]
    pub fn new(text: &str, folder: &Path) -> Self {
        let mut document = Self::with(text, None, folder.to_owned());
        document.saved = Arc::from("");
        document
    }

    /// Reads a scene file. A scene that is wrong is opened too: see [`Document::error`].
    ///
    /// What was left unsaved of it earlier is not taken by itself: see [`Document::found`].
    ///
    /// # Errors
    /// The file can't be read or is no text.
    pub fn open(path: &Path) -> Result<Self, DocumentError> {
        let text = scene::read_text(path).map_err(|e| DocumentError::of(&e, path))?;
        let mut document = Self::with(&text, Some(path.to_owned()), folder_of(path));
        document.found = recovery::beside(path, &text);
        Ok(document)
    }

    /// What was kept of a scene that never had a file, as a new one; its copy stays until this one
    /// is saved or given up.
    #[must_use]
    pub fn recover(kept: &Recovered, folder: &Path) -> Self {
        let mut document = Self::with(&kept.text, None, folder.to_owned());
        document.saved = Arc::from("");
        document.copy = Some(kept.path.clone());
        document
    }

    fn with(text: &str, path: Option<PathBuf>, folder: PathBuf) -> Self {
        Self {
            text: Arc::from(text),
            scene: read(text, path.as_deref(), &folder),
            path,
            folder,
            saved: Arc::from(text),
            done: Vec::new(),
            undone: Vec::new(),
            given_up: Vec::new(),
            open: None,
            copy: None,
            copy_is_due: false,
            copy_trouble: None,
            found: None,
        }
    }

    fn read(&self, text: &str) -> Read {
        read(text, self.path.as_deref(), &self.folder)
    }

    /// The text as it is now.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The scene that the text is; none if it is wrong.
    #[must_use]
    pub fn scene(&self) -> Option<&Arc<Scene>> {
        self.scene.as_ref().ok()
    }

    /// What is wrong with the scene, if anything is.
    #[must_use]
    pub fn error(&self) -> Option<&SceneError> {
        self.scene.as_ref().err().map(|error| &**error)
    }

    /// The same as the command shows it, without colour.
    #[must_use]
    pub fn error_text(&self) -> Option<String> {
        self.error().map(shown)
    }

    /// Its file, if it has one.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What errors call it: its file, or "new scene".
    #[must_use]
    pub fn name(&self) -> String {
        name(self.path.as_deref())
    }

    /// True when the text is not what is on disk.
    #[must_use]
    pub fn is_dirty(&self) -> bool {
        self.text != self.saved
    }

    /// What the next step undoes, in words.
    #[must_use]
    pub fn undo_name(&self) -> Option<&str> {
        self.done.last().map(|step| step.name.as_str())
    }

    /// What the next step does again, in words.
    #[must_use]
    pub fn redo_name(&self) -> Option<&str> {
        self.undone.last().map(|step| step.name.as_str())
    }

    /// The scene and the text that an edit under this key is made for: those before the last step
    /// if that has the same key and goes on, else those of now.
    ///
    /// A drag is made anew from where it began at each of its steps, so that nothing is lost to
    /// rounding on the way.
    #[must_use]
    pub fn base(&self, key: Option<&str>) -> (Option<&Arc<Scene>>, &str) {
        match self.going_on(key) {
            Some(open) => (open.scene.as_ref().ok(), &open.text),
            None => (self.scene(), &self.text),
        }
    }

    fn going_on(&self, key: Option<&str>) -> Option<&Open> {
        self.open.as_ref().filter(|open| Some(open.key.as_str()) == key)
    }

    /// Does an edit: splices of the text that [`Document::base`] gives for the same key. With the
    /// key of the last step it takes that step's place.
    ///
    /// # Errors
    /// The scene would be wrong afterwards and is not so before, or the splices are for another
    /// text; nothing is changed then.
    pub fn apply(
        &mut self,
        name: &str,
        key: Option<&str>,
        splices: &[Splice],
    ) -> Result<(), EditError> {
        let goes_on = self.going_on(key).is_some();
        let (base_scene, base) = match self.going_on(key) {
            Some(open) => (open.scene.clone(), Arc::clone(&open.text)),
            None => (self.scene.clone(), Arc::clone(&self.text)),
        };
        let text = apply(&base, splices)?;
        if *text == *self.text {
            return Ok(());
        }
        let scene = if *text == *base {
            base_scene.clone()
        } else {
            match scene::parse_in(&text, &self.name(), &self.folder) {
                Err(error) if base_scene.is_ok() => return Err(EditError::Scene(error)),
                read => read.map(Arc::new).map_err(Arc::new),
            }
        };
        let back = inverse(&base, splices)?;
        if goes_on {
            self.done.pop();
        }
        if *text != *base {
            self.done.push(Step { name: name.to_owned(), forth: splices.to_vec(), back });
        }
        if !goes_on {
            self.given_up = std::mem::take(&mut self.undone);
            self.open = key.map(|key| Open { key: key.to_owned(), text: base, scene: base_scene });
        }
        (self.text, self.scene) = (Arc::from(text), scene);
        self.copy_is_due = true;
        if !goes_on {
            self.keep();
        }
        Ok(())
    }

    /// Ends a drag or the typing in a field: the next edit is a step of its own.
    pub fn seal(&mut self) {
        self.open = None;
        self.keep();
    }

    /// Undoes the last step; its name, if there was one.
    pub fn undo(&mut self) -> Option<String> {
        let step = self.done.pop()?;
        self.go(&step.back);
        let name = step.name.clone();
        self.undone.push(step);
        Some(name)
    }

    /// Takes the last edit back as if it had never been made: it can't be done again, and what
    /// could be done again before it can be so still.
    pub fn take_back(&mut self) {
        if self.undo().is_some() {
            self.undone = std::mem::take(&mut self.given_up);
        }
    }

    /// Does what was undone last again; its name, if there was one.
    pub fn redo(&mut self) -> Option<String> {
        let step = self.undone.pop()?;
        self.go(&step.forth);
        let name = step.name.clone();
        self.done.push(step);
        Some(name)
    }

    fn go(&mut self, splices: &[Splice]) {
        // Steps fit the texts they were made between.
        if let Ok(text) = apply(&self.text, splices) {
            self.scene = self.read(&text);
            self.text = Arc::from(text);
        }
        self.open = None;
        self.copy_is_due = true;
        self.keep();
    }

    /// How its file is on disk.
    ///
    /// # Errors
    /// It is there and can't be read.
    pub fn on_disk(&self) -> Result<OnDisk, DocumentError> {
        let Some(path) = &self.path else { return Ok(OnDisk::Same) };
        match fs::read(path) {
            // Someone else may have written just what is in hand.
            Ok(bytes)
                if [&self.saved, &self.text]
                    .map(|t| t.as_bytes())
                    .contains(&without_mark(&bytes)) =>
            {
                Ok(OnDisk::Same)
            }
            Ok(_) => Ok(OnDisk::Changed),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(OnDisk::Gone),
            Err(e) => {
                Err(DocumentError::File { file: path.clone(), what: format!("can't be read: {e}") })
            }
        }
    }

    /// Writes the text to its file, whole or not at all; what someone else has written there
    /// meanwhile is replaced only with `over`.
    ///
    /// # Errors
    /// It has no file, the file was changed or taken away, or it can't be written.
    pub fn save(&mut self, over: bool) -> Result<(), DocumentError> {
        let path = self.path.clone().ok_or(DocumentError::NoName)?;
        if !over {
            match self.on_disk()? {
                OnDisk::Same => {}
                OnDisk::Changed => return Err(DocumentError::Changed(path)),
                OnDisk::Gone => return Err(DocumentError::Gone(path)),
            }
        }
        write(&path, &self.text)?;
        self.is_saved();
        Ok(())
    }

    /// Writes the text to another file, which is the document's own from then on. A terrain file
    /// with a relative path is named from the new folder, in what can be undone as well.
    ///
    /// # Errors
    /// A file is there already and `over` isn't given, or it can't be written.
    pub fn save_as(&mut self, path: &Path, over: bool) -> Result<(), DocumentError> {
        if self.path.as_deref() == Some(path) {
            return self.save(over);
        }
        if path.is_file() && !over {
            return Err(DocumentError::Taken(path.to_owned()));
        }
        let folder = folder_of(path);
        let carried = self.carried(&folder);
        let text = carried.as_ref().map_or(&*self.text, |(_, _, text)| text);
        write(path, text)?;
        if let Some((done, undone, text)) = carried {
            (self.done, self.undone, self.text) = (done, undone, Arc::from(text));
        }
        self.path = Some(path.to_owned());
        self.folder = folder;
        self.scene = self.read(&self.text);
        self.is_saved();
        self.found = recovery::beside(path, &self.text);
        Ok(())
    }

    fn is_saved(&mut self) {
        self.saved = Arc::clone(&self.text);
        self.open = None;
        self.remove_copy();
    }

    /// The steps and the text as they are where relative paths count from another folder; `None`
    /// if nothing differs.
    fn carried(&self, folder: &Path) -> Option<(Vec<Step>, Vec<Step>, String)> {
        let moved = |text: &str| relocated(text, &self.folder, folder);
        let steps = |steps: &[Step], is_back: bool| {
            let mut text = self.text.to_string();
            let mut carried: Vec<Step> = steps
                .iter()
                .rev()
                .map_while(|step| {
                    let other =
                        apply(&text, if is_back { &step.back } else { &step.forth }).ok()?;
                    let (here, there) =
                        (or_same(moved(&text), &text), or_same(moved(&other), &other));
                    text = other;
                    let (from, to) = if is_back { (there, here) } else { (here, there) };
                    Some(Step {
                        name: step.name.clone(),
                        forth: vec![Splice::between(&from, &to)],
                        back: vec![Splice::between(&to, &from)],
                    })
                })
                .collect();
            carried.reverse();
            carried
        };
        let text = moved(&self.text)?;
        Some((steps(&self.done, true), steps(&self.undone, false), text))
    }

    /// Reads the file again; what was in hand can be had back by undo.
    ///
    /// # Errors
    /// It has no file, or that can't be read.
    pub fn reload(&mut self) -> Result<(), DocumentError> {
        let path = self.path.clone().ok_or(DocumentError::NoName)?;
        let text = scene::read_text(&path).map_err(|e| DocumentError::of(&e, &path))?;
        self.replace("read again from disk", &text);
        self.is_saved();
        Ok(())
    }

    fn replace(&mut self, name: &str, text: &str) {
        if *text != *self.text {
            let forth = vec![Splice::between(&self.text, text)];
            let back = vec![Splice::between(text, &self.text)];
            self.done.push(Step { name: name.to_owned(), forth, back });
            self.undone.clear();
            self.text = Arc::from(text);
        }
        self.scene = self.read(text);
        self.open = None;
    }

    /// What was left unsaved of this file earlier, until it is taken or dropped. Meanwhile nothing
    /// else is kept under its name.
    #[must_use]
    pub fn found(&self) -> Option<&Recovered> {
        self.found.as_ref()
    }

    /// Takes what was left unsaved as a step that can be undone.
    pub fn take_found(&mut self) {
        if let Some(found) = self.found.take() {
            self.copy = Some(found.path);
            self.replace("take what was left unsaved", &found.text);
        }
    }

    /// Drops what was left unsaved, for good.
    ///
    /// # Errors
    /// It can't be removed.
    pub fn drop_found(&mut self) -> Result<(), DocumentError> {
        let Some(found) = &self.found else { return Ok(()) };
        recovery::remove(&found.path)?;
        self.found = None;
        self.copy_is_due = self.is_dirty();
        self.keep();
        Ok(())
    }

    /// Keeps a copy of what isn't saved, if there is something new to keep. Done by itself after
    /// each step, but not while one goes on: call it now and then during a long one.
    pub fn keep(&mut self) {
        if !self.copy_is_due {
            return;
        }
        if !self.is_dirty() {
            self.remove_copy();
            return;
        }
        if self.found.is_some() {
            let what = "what was left unsaved earlier is still there: take it or drop it first";
            self.copy_trouble = Some(what.to_owned());
            return;
        }
        let path = self.copy.clone().unwrap_or_else(|| match &self.path {
            Some(path) => recovery::name_beside(path),
            None => recovery::fresh_name(&self.folder),
        });
        match scene::write(&path, self.text.as_bytes(), true) {
            Ok(()) => {
                (self.copy, self.copy_trouble, self.copy_is_due) = (Some(path), None, false);
            }
            Err(error) => self.copy_trouble = Some(DocumentError::of(&error, &path).to_string()),
        }
    }

    /// Why what isn't saved can't be kept, if it can't.
    #[must_use]
    pub fn keep_error(&self) -> Option<&str> {
        self.copy_trouble.as_deref()
    }

    /// Gives up what isn't saved: its copy is removed. The text in hand stays.
    pub fn give_up(&mut self) {
        self.remove_copy();
    }

    fn remove_copy(&mut self) {
        self.copy_is_due = false;
        self.copy_trouble = None;
        if let Some(path) = self.copy.take()
            && let Err(error) = recovery::remove(&path)
        {
            self.copy_trouble = Some(error.to_string());
        }
    }
}

fn or_same(changed: Option<String>, text: &str) -> String {
    changed.unwrap_or_else(|| text.to_owned())
}

fn name(path: Option<&Path>) -> String {
    path.map_or_else(|| UNNAMED.to_owned(), |path| path.display().to_string())
}

fn read(text: &str, path: Option<&Path>, folder: &Path) -> Read {
    scene::parse_in(text, &name(path), folder).map(Arc::new).map_err(Arc::new)
}

fn folder_of(path: &Path) -> PathBuf {
    path.parent().map_or_else(PathBuf::new, Path::to_owned)
}

/// An error as the command shows it, without colour and without wrapping.
#[must_use]
pub fn shown(error: &SceneError) -> String {
    let handler =
        miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor())
            .with_wrap_lines(false);
    let mut text = String::new();
    match handler.render_report(&mut text, error) {
        Ok(()) => text,
        Err(_) => error.to_string(),
    }
}

/// A file written whole, where a link leads and with the rights it had.
fn write(path: &Path, text: &str) -> Result<(), DocumentError> {
    scene::write(path, text.as_bytes(), true).map_err(|e| DocumentError::of(&e, path))
}

#[cfg(test)]
mod tests;
