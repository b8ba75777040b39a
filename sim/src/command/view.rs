//! `view`: starts the window, a program of its own, so that this one needs nothing that draws.

use std::{
    env,
    path::{Path, PathBuf},
    process::Command,
};

use super::Failure;

/// The program that draws.
const VIEWER: &str = "tumblewood-viewer";

/// Starts it on a scene and waits until it is closed.
pub(super) fn view(scene: Option<&Path>) -> Result<(), Failure> {
    let beside = env::current_exe().ok().and_then(|own| Some(own.parent()?.to_owned()));
    let on_path = env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = beside.into_iter().chain(env::split_paths(&on_path)).collect();
    let name = format!("{VIEWER}{}", env::consts::EXE_SUFFIX);
    let Some(program) = folders.iter().map(|folder| folder.join(&name)).find(|at| at.is_file())
    else {
        return Err(Failure::CantAnswer(format!(
            "no {VIEWER} beside this program or on PATH; cargo build --release -p {VIEWER} makes it"
        )));
    };
    let ended = Command::new(&program)
        .args(scene)
        .status()
        .map_err(|e| Failure::CantAnswer(format!("{}: {e}", program.display())))?;
    match ended.code() {
        Some(0) => Ok(()),
        // It has said why.
        Some(2) => Err(Failure::Said(2)),
        _ => Err(Failure::Said(1)),
    }
}
