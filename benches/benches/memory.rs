//! The most memory that the command holds while it counts 10,000 drops.
//!
//! The scene is a shelf where pieces stop soon, with the bodies of the demo: what is kept of a
//! drop goes with the bodies, not with how far it ran.

use std::process::{Command, Stdio};

use tumblewood_benches::{
    child::{command, peak_memory_mb, root},
    table::{Goal, not_run, row},
};

const AREA: &str = "memory";

fn main() {
    if let Err(why) = measure() {
        not_run(AREA, &why);
    }
}

fn measure() -> Result<(), String> {
    let command = command()?;
    for (drops, goal) in [(500_u32, Goal::None), (10_000, Goal::AtMost(300.0))] {
        let child = Command::new(&command)
            .args(["forecast", "benches/scenes/shelf.ron", "--grounds", "1", "--drops"])
            .arg(drops.to_string())
            .current_dir(root())
            .stdout(Stdio::null())
            .spawn()
            .map_err(|e| e.to_string())?;
        row(AREA, &format!("{drops} drops, peak"), peak_memory_mb(child)?, "MB", goal);
    }
    Ok(())
}
