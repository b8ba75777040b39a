//! Words to a terminal: answers on stdout, everything else on stderr.

use std::io::{ErrorKind, IsTerminal as _, Write as _};

use super::Failure;

/// Prints an answer. A reader that has seen enough, like `head`, is no failure.
pub(super) fn say(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::CantAnswer(format!("stdout can't be written: {e}")))
        }
        _ => Ok(()),
    }
}

/// Prints a line beside the answer. Where no one can read it there is no one left to tell.
pub(super) fn note(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// Errors wrap at a terminal's edge; in a file or a pipe they keep one line each, so that
/// `file:line:column` can be searched for and followed.
pub(super) fn plain_errors() {
    let wraps = std::io::stderr().is_terminal();
    // Fails only when it was set before, which nothing does.
    let _ = miette::set_hook(Box::new(move |_| {
        Box::new(miette::MietteHandlerOpts::new().wrap_lines(wraps).build())
    }));
}
