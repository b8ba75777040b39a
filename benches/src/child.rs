//! The command as a child process: built, run, and watched from outside.

use std::{
    path::{Path, PathBuf},
    process::{Child, Command},
    thread,
    time::Duration,
};

/// The top of the tree.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Builds the `tumblewood` command as it is shipped and says where it is.
///
/// # Errors
///
/// When it can't be built or found.
pub fn command() -> Result<PathBuf, String> {
    // A bench lies in TARGET/release/deps.
    let bench = std::env::current_exe().map_err(|e| format!("current_exe: {e}"))?;
    let above = |n: usize| bench.ancestors().nth(n).unwrap_or(Path::new("."));
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = Command::new(cargo)
        // With the benches' own features, or every dependency is built again.
        .args(["build", "--release", "--quiet", "--bin", "tumblewood"])
        .args(["--package", "tumblewood", "--package", "tumblewood-benches"])
        .arg("--target-dir")
        .arg(above(3))
        .current_dir(root())
        .status()
        .map_err(|e| format!("cargo: {e}"))?;
    if !built.success() {
        return Err(format!("the command can't be built: {built}"));
    }
    let path = above(2).join(format!("tumblewood{}", std::env::consts::EXE_SUFFIX));
    if path.is_file() { Ok(path) } else { Err(format!("{}: not there", path.display())) }
}

/// Waits for a child and says the most memory it held at once, MB, as the system counted it.
///
/// # Errors
///
/// When the child fails or the system doesn't tell.
pub fn peak_memory_mb(mut child: Child) -> Result<f64, String> {
    let status = format!("/proc/{}/status", child.id());
    let mut peak_kb = None;
    loop {
        // The mark only rises, so the last one read before the end is the peak but for the last
        // hundredth of a second.
        peak_kb = high_water_kb(&status).or(peak_kb);
        if let Some(ended) = child.try_wait().map_err(|e| e.to_string())? {
            return match (ended.success(), peak_kb) {
                (false, _) => Err(format!("the command ended with {ended}")),
                (true, None) => Err(format!("{status} tells no peak")),
                (true, Some(kb)) => Ok(kb * 1024e-6),
            };
        }
        thread::sleep(Duration::from_millis(10));
    }
}

fn high_water_kb(status: &str) -> Option<f64> {
    let text = std::fs::read_to_string(status).ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok()
}
