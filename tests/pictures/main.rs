//! `pictures STORED NEW PAGE`: each picture of the folder STORED against that of its name in NEW.
//!
//! Prints a line for each. Where one differs by more than a driver may, exit code 1, and the folder
//! PAGE has an `index.html` with stored, new and difference side by side; its path is printed.

#![allow(clippy::print_stdout, reason = "a command that says what it saw")]

use std::{
    collections::BTreeSet,
    env, fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use tumblewood_tests::pictures::{Failure, MOST, Picture, difference, page};

fn main() -> ExitCode {
    let folders: Vec<PathBuf> = env::args_os().skip(1).map(PathBuf::from).collect();
    let [stored, new, page] = &folders[..] else {
        eprintln!("pictures: read {} folders, needed are STORED NEW PAGE", folders.len());
        return ExitCode::from(2);
    };
    match compare(stored, new, page) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(why) => {
            eprintln!("pictures: {why}");
            ExitCode::from(2)
        }
    }
}

/// True if no picture differs.
fn compare(stored: &Path, new: &Path, beside: &Path) -> Result<bool, String> {
    let names: BTreeSet<String> = names(stored)?.union(&names(new)?).cloned().collect();
    if names.is_empty() {
        return Err(format!("{} and {} hold no picture", stored.display(), new.display()));
    }
    let mut failures = Vec::new();
    for name in names {
        let file = format!("{name}.png");
        let both = [("stored", stored.join(&file)), ("new", new.join(&file))];
        let (share, drawn) = match both.each_ref().map(|(_, path)| Picture::read(path)) {
            [Ok(a), Ok(b)] => match difference(&a, &b) {
                Ok(found) => (Ok(found.share), Some(found.drawn)),
                Err(why) => (Err(why), None),
            },
            [Err(why), _] | [_, Err(why)] => (Err(why), None),
        };
        let said = match &share {
            Ok(share) => {
                format!("{:.3} % differs, allowed {:.3} %", 100.0 * share, 100.0 * MOST)
            }
            Err(why) => why.clone(),
        };
        println!("{name}: {said}");
        if share.is_ok_and(|share| share <= MOST) {
            continue;
        }
        fs::create_dir_all(beside).map_err(|error| format!("{}: {error}", beside.display()))?;
        let mut pictures = Vec::new();
        for (what, path) in both.iter().filter(|(_, path)| path.exists()) {
            let copy = format!("{name}-{what}.png");
            fs::copy(path, beside.join(&copy))
                .map_err(|error| format!("{}: {error}", path.display()))?;
            pictures.push((*what, copy));
        }
        if let Some(drawn) = drawn {
            let copy = format!("{name}-difference.png");
            drawn.write(&beside.join(&copy))?;
            pictures.push(("difference", copy));
        }
        failures.push(Failure { name, why: said, pictures });
    }
    if failures.is_empty() {
        return Ok(true);
    }
    let file = beside.join("index.html");
    fs::write(&file, page(&failures)).map_err(|error| format!("{}: {error}", file.display()))?;
    println!("{} differ: see {}", failures.len(), file.display());
    Ok(false)
}

/// Names of the pictures of a folder, without their ending.
fn names(folder: &Path) -> Result<BTreeSet<String>, String> {
    let failed = |error: std::io::Error| format!("{}: {error}", folder.display());
    let mut names = BTreeSet::new();
    for entry in fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|ending| ending == "png") {
            names.extend(path.file_stem().map(|name| name.to_string_lossy().into_owned()));
        }
    }
    Ok(names)
}
