//! What pages ask to have worked out: one thing at a time, and a newer one stops the older.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
};

use tumblewood::{forecast::Progress, job::Job, scene::model::ClaimSpec};

use crate::{
    compare_page::{self, CompareAsk, Compared},
    ground_page::{self, GroundAsk, Grounded},
    lesson_page::{self, RevealAsk, Revealed},
    teach_page,
    worker::{ToPage, panicked},
};

/// Something that a page waits for.
#[derive(Clone, Debug)]
pub(crate) enum Task {
    /// Lengths and faces side by side.
    Compare {
        /// The scene.
        job: Arc<Job>,
        /// What is asked.
        ask: CompareAsk,
        /// The day, as it is to be shown.
        date: String,
    },
    /// Ground out of a file.
    Ground(GroundAsk),
    /// The drops of a lesson whose answers are locked.
    Reveal(RevealAsk),
    /// What the lesson of a scene could claim.
    Claims(Arc<Job>),
}

/// What came of it.
#[derive(Debug)]
pub(crate) enum Done {
    /// Lengths and faces side by side.
    Compared(Box<Compared>),
    /// Ground out of a file.
    Grounded(Grounded),
    /// The drops of a lesson.
    Revealed(Box<Revealed>),
    /// What a lesson could claim.
    Claimed(Vec<ClaimSpec>),
}

/// Does a task; a stopped comparison gives the cells it had come to. `number` lets the page know
/// its own.
pub(crate) fn run(number: u64, task: &Task, stop: &AtomicBool, tell: &(dyn Fn(ToPage) + Sync)) {
    let progress = |progress: Progress| {
        if progress.done.is_multiple_of((progress.total / 200).max(1)) {
            tell(ToPage::Working { number, progress });
        }
    };
    let work = || match task {
        Task::Compare { job, ask, date } => compare_page::run(job, ask, date, stop, &progress)
            .map(|compared| Done::Compared(Box::new(compared))),
        Task::Reveal(ask) => lesson_page::run(ask, stop, &progress)
            .map(|revealed| Done::Revealed(Box::new(revealed))),
        Task::Claims(job) => teach_page::measured(job, stop, &progress).map(Done::Claimed),
        Task::Ground(ask) => ground_page::run(ask, stop, &progress).map(Done::Grounded),
    };
    let done = if stop.load(Ordering::Relaxed) {
        Err("stopped before it began".to_owned())
    } else {
        catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| Err(panicked(panic.as_ref())))
    };
    tell(ToPage::Done { number, done });
}
