//! The copy of the tree, its checks, and runs of them.

use std::{
    collections::BTreeSet,
    env, fmt, fs, io,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use serde_json::Value;
use tumblewood_tests::{
    mutation::{Constant, SCALED, Source, opened},
    root, written_files,
};

/// What of the tree the checks need, and what cargo needs to read it.
const COPIED: [&str; 8] =
    ["Cargo.toml", "Cargo.lock", "sim", "tests", "assets", "scenes", "benches", "viewer"];

/// One test whose name says that its truth comes from outside.
#[derive(Clone, Debug)]
pub(crate) struct Check {
    /// `file::function`, or the path in the library's own tests.
    pub(crate) name: String,
    program: PathBuf,
    argument: String,
    /// How long it takes.
    pub(crate) took: Duration,
    /// Ids of the constants it uses.
    pub(crate) uses: BTreeSet<usize>,
}

/// What came of the checks with one constant changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// No check uses it.
    Unused,
    /// All passed.
    Passed,
    /// These failed, as they stand in the table.
    Failed(Vec<String>),
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unused => f.write_str("unused"),
            Self::Passed => f.write_str("nobody"),
            Self::Failed(names) => f.write_str(&names.join(", ")),
        }
    }
}

/// Copies the tree with its constants open; a file that is the same already is left alone, so that
/// cargo builds only what changed.
pub(crate) fn copy_tree(copy: &Path, sources: &[Source], all: &[Constant]) -> io::Result<()> {
    let top = root();
    for part in COPIED {
        let from = top.join(part);
        let files = if from.is_dir() { everything(&from)? } else { vec![from] };
        for path in files {
            let place = path.strip_prefix(&top).map_err(io::Error::other)?;
            let is_source = |s: &Source| place == Path::new("sim/src").join(&s.file);
            if !sources.iter().any(is_source) {
                put(&copy.join(place), &fs::read(&path)?)?;
            }
        }
    }
    for source in sources {
        let mut text = opened(source, all);
        if source.file == "lib.rs" {
            text += "pub mod mutation;\n";
        }
        put(&copy.join("sim/src").join(&source.file), text.as_bytes())?;
    }
    put(&copy.join("sim/src/mutation.rs"), SCALED.as_bytes())
}

fn everything(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if !path.is_dir() {
            all.push(path);
        } else if !path.ends_with("target") && !path.ends_with("out") {
            all.extend(everything(&path)?);
        }
    }
    Ok(all)
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if fs::read(path).is_ok_and(|old| old == bytes) {
        return Ok(());
    }
    fs::create_dir_all(path.parent().unwrap_or(path))?;
    fs::write(path, bytes)
}

/// Builds the checks of the copy.
pub(crate) fn build(copy: &Path) -> Result<Vec<Check>, String> {
    let tests = written_files(&copy.join("tests/tests"), &["rs"]);
    let names = tests.iter().filter_map(|path| path.file_stem()?.to_str());
    let targets = names.filter(|name| is_check(name)).flat_map(|name| ["--test", name]);
    let output = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(["test", "--no-run", "--message-format=json-render-diagnostics"])
        .args(["-p", "tumblewood", "-p", "tumblewood-tests", "--lib"])
        .args(targets)
        .current_dir(copy)
        // Cargo tells the copy's programs from the tree's by nothing: they need a folder of their own.
        .env("CARGO_TARGET_DIR", copy.join("target"))
        .stderr(Stdio::inherit())
        .output()
        .map_err(|why| format!("cargo does not run: {why}"))?;
    if !output.status.success() {
        return Err("the copy does not build".to_owned());
    }
    let mut checks = Vec::new();
    for message in String::from_utf8_lossy(&output.stdout).lines() {
        let Ok(message) = serde_json::from_str::<Value>(message) else { continue };
        if let (Some(program), Some(target)) =
            (message["executable"].as_str(), message["target"]["name"].as_str())
        {
            checks.extend(listed(Path::new(program), target)?);
        }
    }
    Ok(checks)
}

fn is_check(name: &str) -> bool {
    name.starts_with("val_") || name.starts_with("verif_")
}

/// The checks among the tests of one program.
fn listed(program: &Path, target: &str) -> Result<Vec<Check>, String> {
    let output = Command::new(program)
        .args(["--list", "--format", "terse"])
        .output()
        .map_err(|why| format!("{} does not run: {why}", program.display()))?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let tests = text.lines().filter_map(|line| line.strip_suffix(": test"));
    let checks = tests.filter(|name| is_check(name.rsplit("::").next().unwrap_or(name)));
    let is_library = target.starts_with("tumblewood");
    Ok(checks
        .map(|argument| Check {
            name: if is_library { argument.to_owned() } else { format!("{target}::{argument}") },
            program: program.to_owned(),
            argument: argument.to_owned(),
            took: Duration::ZERO,
            uses: BTreeSet::new(),
        })
        .collect())
}

impl Check {
    fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        command
            .args(["--exact", &self.argument, "--test-threads", "1"])
            // What rows show is no matter here, only what is allowed.
            .env("TUMBLEWOOD_TABLES", "off")
            .env("RAYON_NUM_THREADS", "1")
            .env_remove("TUMBLEWOOD_LONG")
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        command
    }

    /// How long it takes with nothing changed, and which constants it uses; nothing if it fails.
    pub(crate) fn measure(&self, notes: &Path, i: usize) -> Option<(Duration, BTreeSet<usize>)> {
        let note = notes.join(format!("{i}"));
        fs::create_dir_all(notes).ok()?;
        fs::write(&note, "").ok()?;
        let begun = Instant::now();
        let passed = self.command().env("TUMBLEWOOD_READ", &note).status().ok()?.success();
        let took = begun.elapsed();
        let ids = fs::read_to_string(&note).ok()?;
        passed.then(|| (took, ids.lines().filter_map(|id| id.parse().ok()).collect()))
    }

    /// Nothing if it passes with a constant changed, or how it fails; a run that takes four times
    /// as long and more is ended, which is said.
    pub(crate) fn fails(&self, id: usize, factor: f64) -> Option<&'static str> {
        let limit = self.took * 4 + Duration::from_secs(10);
        let mut command = self.command();
        let Ok(mut run) = command.env("TUMBLEWOOD_MUTATE", format!("{id} {factor}")).spawn() else {
            return Some(" (not run)");
        };
        let begun = Instant::now();
        loop {
            match run.try_wait() {
                Ok(Some(status)) if status.success() => return None,
                Ok(Some(_)) => return Some(""),
                Ok(None) if begun.elapsed() < limit => thread::sleep(Duration::from_millis(3)),
                _ => {
                    run.kill().ok();
                    run.wait().ok();
                    return Some(" (no end)");
                }
            }
        }
    }
}
