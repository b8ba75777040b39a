//! The command as a user types it, and what it says.

use std::{
    path::{Path, PathBuf},
    process::{Command, Output},
};

pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

pub(crate) fn tumblewood(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tumblewood"))
        .args(arguments)
        .current_dir(root())
        .output()
        .expect("the command runs")
}

pub(crate) fn err(output: &Output) -> String {
    // One space for each run of white and of the frame round a place in a file.
    let text = String::from_utf8_lossy(&output.stderr).replace(['│', '×', '╰', '─', '▶'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}
