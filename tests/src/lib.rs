//! Shared helpers of the acceptance tests.

pub mod count;
pub mod fuzz;
pub mod ground;
pub mod invented;
pub mod mutation;
pub mod pictures;
pub mod proof;
pub mod ranks;
pub mod scenes;
pub mod table;

use std::{
    fs,
    path::{Path, PathBuf},
};

/// Folders that hold what was built, not what was written.
const NOT_WRITTEN: [&str; 3] = ["target", "out", ".git"];

/// The top of the tree.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every file below a folder of the tree whose name ends in one of `endings` (without the dot),
/// in the order of their names. A folder that doesn't exist has none.
#[must_use]
pub fn written_files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            let is_named = |name: &&str| path.file_name().is_some_and(|file| file == *name);
            if path.is_dir() {
                if !NOT_WRITTEN.iter().any(is_named) {
                    waiting.push(path);
                }
            } else if endings.iter().any(|ending| path.extension().is_some_and(|e| e == *ending)) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}
