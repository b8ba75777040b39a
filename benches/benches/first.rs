//! The demo forecast as its user meets it: from the start of the command to the first counts on
//! the terminal, and to 500 drops.
//!
//! Counts are shown only on a terminal, so `script` (util-linux) plays one.

use std::{
    io::Read as _,
    path::Path,
    process::{Command, Stdio},
    time::Instant,
};

use tumblewood_benches::{
    child::{command, root},
    table::{Goal, median, not_run, row},
};

const AREA: &str = "first counts";
const ROUNDS: usize = 3;

fn main() {
    if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

fn measure() -> Result<(), String> {
    let command = command()?;
    let mut firsts = Vec::new();
    for _ in 0..ROUNDS {
        firsts.push(until(&command, 1)?);
    }
    row(AREA, "demo: start to first counts, wall", median(firsts), "s", Goal::AtMost(0.5));
    row(AREA, "demo: start to 500 drops, wall, all cores", until(&command, 500)?, "s", Goal::None);
    Ok(())
}

/// Seconds from the start of the command until its bar tells of `drops` drops; it is ended then.
fn until(command: &Path, drops: u64) -> Result<f64, String> {
    let line = format!("'{}' forecast scenes/lake-oak.ron --cut s3", command.display());
    let begun = Instant::now();
    let mut child = Command::new("script")
        .args(["-qec", &line, "/dev/null"])
        .current_dir(root())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("script, which plays the terminal: {e}"))?;
    let mut screen = child.stdout.take().ok_or("no pipe")?;
    let (mut seen, mut buffer) = (Vec::new(), [0; 4096]);
    let took = loop {
        let n = screen.read(&mut buffer).map_err(|e| e.to_string())?;
        seen.extend_from_slice(buffer.get(..n).unwrap_or_default());
        if told(&String::from_utf8_lossy(&seen)).is_some_and(|done| done >= drops) {
            break Ok(begun.elapsed().as_secs_f64());
        }
        if n == 0 {
            break Err(format!("it ended before it told of {drops} drops"));
        }
    };
    let _ = child.kill();
    let _ = child.wait();
    took
}

/// The last "N/TOTAL drops" on the screen with a total of its own: N.
fn told(screen: &str) -> Option<u64> {
    let counts = screen.rmatch_indices(" drops").find_map(|(end, _)| {
        let head = screen.get(..end)?;
        let word = head.rsplit(char::is_whitespace).next()?;
        let (done, total) = word.split_once('/')?;
        Some((done.parse::<u64>().ok()?, total.parse::<u64>().ok()?))
    });
    counts.filter(|(_, total)| *total > 1).map(|(done, _)| done)
}
