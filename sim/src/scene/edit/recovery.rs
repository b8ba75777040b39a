//! Copies of what isn't saved: what they are called and how they are found again.

use std::{
    fs,
    path::{Path, PathBuf},
    time::SystemTime,
};

use crate::scene::read_text;

use super::document::DocumentError;

/// Behind the name of the file whose unsaved text it is.
const ENDING: &str = ".tumblewood-unsaved";
/// What a scene without a file is kept as, with a number behind it.
const NEW: &str = ".new-scene-";

/// What was left unsaved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recovered {
    /// Where it is.
    pub path: PathBuf,
    /// The scene's text.
    pub text: String,
    /// When it was kept, where the system knows.
    pub kept_at: Option<SystemTime>,
    /// When the scene file itself was last changed, if there is one.
    pub saved_at: Option<SystemTime>,
}

/// What is left unsaved of scenes without a file in a folder, the latest first.
#[must_use]
pub fn unsaved_in(folder: &Path) -> Vec<Recovered> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let is_new = |path: &PathBuf| {
        let name = path.file_name().map(|name| name.to_string_lossy());
        name.is_some_and(|name| name.starts_with(NEW) && name.ends_with(ENDING))
    };
    let mut found: Vec<Recovered> =
        entries.map(|entry| entry.path()).filter(is_new).filter_map(read).collect();
    found.sort_by(|a, b| b.kept_at.cmp(&a.kept_at).then(a.path.cmp(&b.path)));
    found
}

fn read(path: PathBuf) -> Option<Recovered> {
    let text = read_text(&path).ok()?;
    let kept_at = changed_at(&path);
    Some(Recovered { path, text, kept_at, saved_at: None })
}

fn changed_at(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).ok()?.modified().ok()
}

/// What is left unsaved of a file whose text on disk is `saved`; a copy of just that is no work
/// and is removed.
pub(super) fn beside(path: &Path, saved: &str) -> Option<Recovered> {
    let mut found = read(name_beside(path))?;
    if found.text == saved {
        // One that can't be removed now is found again, and is as little work then.
        let _ = remove(&found.path);
        return None;
    }
    found.saved_at = changed_at(path);
    Some(found)
}

/// Where the unsaved text of a file is kept.
pub(super) fn name_beside(path: &Path) -> PathBuf {
    let name = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    path.with_file_name(format!(".{name}{ENDING}"))
}

/// Where the text of a scene without a file is kept.
pub(super) fn fresh_name(folder: &Path) -> PathBuf {
    let name = |n: u32| folder.join(format!("{NEW}{n}.ron{ENDING}"));
    (1..10_000).map(name).find(|path| !path.exists()).unwrap_or_else(|| name(0))
}

/// Removes a copy; one that is gone is removed.
pub(super) fn remove(path: &Path) -> Result<(), DocumentError> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(DocumentError::File {
            file: path.to_owned(),
            what: format!("can't be removed: {e}"),
        }),
        _ => Ok(()),
    }
}
