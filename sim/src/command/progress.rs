//! Progress on stderr, and Ctrl-C.

use std::{
    io::IsTerminal as _,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
};

use indicatif::{ProgressBar, ProgressStyle};
use tumblewood::forecast::Progress;

/// A bar on stderr when it is a terminal; silent otherwise.
pub(super) struct Bar(ProgressBar);

impl Bar {
    pub(super) fn new() -> Self {
        if !std::io::stderr().is_terminal() {
            return Self(ProgressBar::hidden());
        }
        let bar = ProgressBar::new(1);
        if let Ok(style) = ProgressStyle::with_template(
            "{bar:32} {pos}/{len} drops, {msg} reached a target, about {eta} left",
        ) {
            bar.set_style(style);
        }
        Self(bar)
    }

    pub(super) fn tell(&self, progress: Progress) {
        self.0.set_length(u64::from(progress.total));
        self.0.set_position(u64::from(progress.done));
        self.0.set_message(progress.reached.to_string());
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

/// A flag that the first Ctrl-C sets; the second ends the program.
pub(super) fn stop_flag() -> Arc<AtomicBool> {
    let stop = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&stop);
    // A handler that can't be set leaves the system's own: Ctrl-C then ends the program at once.
    let _ = ctrlc::set_handler(move || {
        if flag.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
    stop
}
