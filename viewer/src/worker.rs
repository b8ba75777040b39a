//! Everything that takes time, on threads of its own: renewing the forecast, making drops again.
//!
//! Four threads. One renews the forecast of the newest order, coarse first, then finer; a newer
//! order stops it at once, and what was done is kept. One works out pull and hinge of the newest
//! order. One does errands in the order they come. One does what pages wait for ([`Task`]); a newer
//! one stops it. Each tells what it made as [`News`]; a panic in any is news too, and its thread goes
//! on with the next order.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    path::PathBuf,
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, Ordering},
        mpsc::{Receiver, Sender, channel},
    },
    thread,
};

use glam::DVec2;
use tumblewood::{
    felling::{self, FellError, Felling},
    forecast::{
        Ask, Progress, Replay,
        renew::{Kept, Renewed, renew},
        replay,
    },
    job::{Job, Outer},
    report::{Stamp, filmstrip, png},
};

use crate::{
    export, start_page,
    task::{self, Done, Task},
};

/// Drops of a coarse answer: of the demo's cuts so many take under a second on two cores, letting go
/// and drawing included.
const COARSE: u32 = 16;

/// How much of the full forecast an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Stage {
    /// A first few drops on the ground as told.
    Coarse,
    /// More drops, and a few on some other grounds.
    Finer,
    /// All drops and grounds of this cut.
    Full,
    /// All drops and grounds of all cuts: the whole job.
    WholeJob,
}

impl Stage {
    /// In the order they are run.
    pub(crate) const ALL: [Self; 4] = [Self::Coarse, Self::Finer, Self::Full, Self::WholeJob];

    /// Drops as told, grounds, and drops a ground, of the full ones.
    pub(crate) fn ask(self, full: &Ask, cut: usize) -> Ask {
        let part = |share: u32, of: u32| of.min((of / share).max(1));
        let (drops, grounds, drops_per_ground) = match self {
            Self::Coarse => (full.drops.min(COARSE), 0, 0),
            Self::Finer => (
                part(4, full.drops),
                part(3, full.grounds).min(full.grounds),
                part(6, full.drops_per_ground),
            ),
            Self::Full | Self::WholeJob => (full.drops, full.grounds, full.drops_per_ground),
        };
        let cuts = if self == Self::WholeJob { vec![] } else { vec![cut] };
        Ask { cuts, drops, grounds, drops_per_ground, ..full.clone() }
    }
}

/// A forecast to be made.
#[derive(Clone, Debug)]
pub(crate) struct Order {
    /// Counts up with each order, so that late news is known as such.
    pub(crate) number: u64,
    /// The scene as it is now.
    pub(crate) job: Arc<Job>,
    /// The full forecast.
    pub(crate) ask: Ask,
    /// The cut that is looked at.
    pub(crate) cut: usize,
}

/// Numbers of pull and hinge to be worked out.
#[derive(Clone, Debug)]
pub(crate) struct ToFell {
    /// Of which order.
    pub(crate) order: u64,
    /// The scene as it is now.
    pub(crate) job: Arc<Job>,
    /// The cut and the draws.
    pub(crate) question: felling::Question,
}

/// A single thing to be made.
#[derive(Clone, Debug)]
pub(crate) enum Errand {
    /// One drop of the ground as told, again, with its track.
    Replay {
        /// The scene.
        job: Arc<Job>,
        /// Seed and law.
        ask: Ask,
        /// The cut.
        cut: usize,
        /// The drop.
        drop: u32,
    },
    /// The filmstrip of a replayed drop.
    Filmstrip {
        /// The scene.
        job: Arc<Job>,
        /// Where it comes from.
        stamp: Stamp,
        /// The drop.
        made: Arc<Made>,
        /// Drops of its forecast.
        of: u32,
    },
    /// A replayed drop as a file for 3D programs.
    Export {
        /// The scene.
        job: Arc<Job>,
        /// The drop.
        made: Arc<Made>,
        /// Where to.
        path: PathBuf,
    },
    /// The picture of a scene on its card.
    Card(PathBuf),
}

/// A drop made again.
#[derive(Debug)]
pub(crate) struct Made {
    /// The scene that it is of.
    pub(crate) job: Arc<Job>,
    /// The cut's index in the scene.
    pub(crate) cut: usize,
    /// Which drop.
    pub(crate) drop: u32,
    /// How it went.
    pub(crate) replay: Replay,
}

/// What a thread tells.
#[derive(Debug)]
pub(crate) enum News {
    /// A forecast, or a part of one.
    Renewed {
        /// Of which order.
        order: u64,
        /// How much of it this is.
        stage: Stage,
        /// The forecast.
        renewed: Arc<Renewed>,
    },
    /// How far it has come.
    Progress {
        /// Of which order.
        order: u64,
        /// In which stage.
        stage: Stage,
        /// How far.
        progress: Progress,
    },
    /// The order can't be answered.
    Failed {
        /// Which.
        order: u64,
        /// Why.
        why: String,
    },
    /// The numbers of pull and hinge, or why there are none.
    Felled {
        /// Of which order.
        order: u64,
        /// The numbers.
        felling: Result<Arc<Felling>, String>,
    },
    /// A drop was made again.
    Replayed(Arc<Made>),
    /// A filmstrip was drawn.
    Filmstrip {
        /// Of which drop.
        made: Arc<Made>,
        /// The picture.
        pixels: png::Pixels,
    },
    /// A drop was written to a file.
    Exported(PathBuf),
    /// Something for a page beside the hillside.
    ToPage(ToPage),
    /// An errand could not be done.
    Undone(String),
}

/// What is told to a page.
#[derive(Debug)]
pub(crate) enum ToPage {
    /// The picture of a scene's card, or why there is none.
    Card {
        /// The scene.
        path: PathBuf,
        /// The picture.
        drawn: Result<png::Pixels, String>,
    },
    /// How far a task has come.
    Working {
        /// Which.
        number: u64,
        /// How far.
        progress: Progress,
    },
    /// What came of a task, or why nothing did; it is the last that is told of it.
    Done {
        /// Which.
        number: u64,
        /// What.
        done: Result<Done, String>,
    },
    /// Lessons of this course are to be listed, or this lesson taken.
    Practice(PathBuf),
    /// A place of the hillside was clicked for a lesson's mark, m.
    Marked(DVec2),
    /// Ground is to be taken out of this file.
    Ground {
        /// The file.
        path: PathBuf,
        /// Where the stump stands, as typed, if that was said.
        at: Option<String>,
    },
}

/// Time between samples of a replayed drop, s: a frame of a screen that shows 120 a second.
pub(crate) const SAMPLE_S: f64 = 1.0 / 120.0;

/// The threads, as those who give orders know them.
#[derive(Debug)]
pub(crate) struct Workers {
    /// The newest counts, and nothing is an order too.
    orders: Sender<Option<Order>>,
    to_fell: Sender<ToFell>,
    errands: Sender<Errand>,
    tasks: Sender<(u64, Task, Arc<AtomicBool>)>,
    news: Mutex<Receiver<News>>,
    /// Stops the order under way.
    stop: Arc<Mutex<Arc<AtomicBool>>>,
    /// Stops the newest task.
    stop_task: Mutex<Arc<AtomicBool>>,
}

impl Workers {
    /// Starts the threads; `wake` is called after each news.
    pub(crate) fn start(wake: impl Fn() + Send + Sync + Clone + 'static) -> Self {
        let (orders, to_renew) = channel::<Option<Order>>();
        let (to_fell, fellings) = channel::<ToFell>();
        let (errands, to_run) = channel::<Errand>();
        let (tasks, to_do) = channel::<(u64, Task, Arc<AtomicBool>)>();
        let (tell, news) = channel();
        let stop = Arc::new(Mutex::new(Arc::new(AtomicBool::new(false))));
        let (renew_stop, renew_tell, renew_wake) = (stop.clone(), tell.clone(), wake.clone());
        thread::spawn(move || {
            renew_all(&to_renew, &renew_stop, &|news| {
                // Nobody listens once the window is closed.
                let _ = renew_tell.send(news);
                renew_wake();
            })
        });
        let (fell_tell, fell_wake) = (tell.clone(), wake.clone());
        thread::spawn(move || {
            while let Ok(first) = fellings.recv() {
                // Only the newest counts.
                let newest = fellings.try_iter().last().unwrap_or(first);
                let _ = fell_tell.send(fell_one(&newest));
                fell_wake();
            }
        });
        let (task_tell, task_wake) = (tell.clone(), wake.clone());
        thread::spawn(move || {
            for (number, task, stop) in to_do {
                task::run(number, &task, &stop, &|news| {
                    let _ = task_tell.send(News::ToPage(news));
                    task_wake();
                });
            }
        });
        thread::spawn(move || {
            for errand in to_run {
                let done = catch_unwind(AssertUnwindSafe(|| run(errand)));
                let news = done.unwrap_or_else(|panic| News::Undone(panicked(panic.as_ref())));
                let _ = tell.send(news);
                wake();
            }
        });
        let news = Mutex::new(news);
        let stop_task = Mutex::default();
        Self { orders, to_fell, errands, tasks, news, stop, stop_task }
    }

    /// Asks for a forecast; one under way is stopped.
    pub(crate) fn order(&self, order: Order) {
        // Under one lock with the taking of orders, or a stop could fall between two of them.
        let stop = lock(&self.stop);
        stop.store(true, Ordering::Relaxed);
        let _ = self.orders.send(Some(order));
    }

    /// Stops the forecast under way, and takes back one that was not begun.
    pub(crate) fn stop(&self) {
        let stop = lock(&self.stop);
        stop.store(true, Ordering::Relaxed);
        let _ = self.orders.send(None);
    }

    /// Asks for the numbers of pull and hinge.
    pub(crate) fn fell(&self, to_fell: ToFell) {
        let _ = self.to_fell.send(to_fell);
    }

    /// Asks for a single thing.
    pub(crate) fn errand(&self, errand: Errand) {
        let _ = self.errands.send(errand);
    }

    /// Asks for what a page waits for; a task under way is stopped.
    pub(crate) fn task(&self, number: u64, task: Task) {
        let flag = Arc::new(AtomicBool::new(false));
        std::mem::replace(&mut *lock(&self.stop_task), flag.clone()).store(true, Ordering::Relaxed);
        let _ = self.tasks.send((number, task, flag));
    }

    /// Stops the task under way.
    pub(crate) fn stop_task(&self) {
        lock(&self.stop_task).store(true, Ordering::Relaxed);
    }

    /// What was told since.
    pub(crate) fn news(&self) -> Vec<News> {
        lock(&self.news).try_iter().collect()
    }
}

impl Drop for Workers {
    /// Nobody waits for what is under way.
    fn drop(&mut self) {
        self.stop();
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
}

/// What is told of a panic.
pub(crate) fn panicked(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().map(String::as_str);
    let text = text.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no reason given");
    format!("an error of this program, please report it: {text}")
}

/// Renews forecasts until nobody asks any more.
fn renew_all(
    orders: &Receiver<Option<Order>>,
    stop: &Mutex<Arc<AtomicBool>>,
    tell: &(dyn Fn(News) + Sync),
) {
    let mut kept = Kept::default();
    while let Ok(mut order) = orders.recv() {
        let flag = Arc::new(AtomicBool::new(false));
        {
            let mut stop = lock(stop);
            // Only the newest order counts.
            while let Ok(newer) = orders.try_recv() {
                order = newer;
            }
            *stop = flag.clone();
        }
        let Some(order) = order else { continue };
        let number = order.number;
        let done = catch_unwind(AssertUnwindSafe(|| renew_one(&order, &mut kept, &flag, tell)));
        if let Err(panic) = done {
            kept = Kept::default();
            tell(News::Failed { order: number, why: panicked(panic.as_ref()) });
        }
    }
}

fn renew_one(order: &Order, kept: &mut Kept, stop: &AtomicBool, tell: &(dyn Fn(News) + Sync)) {
    for stage in Stage::ALL {
        if stage == Stage::WholeJob && order.job.scene.cuts.len() < 2 {
            break;
        }
        let ask = stage.ask(&order.ask, order.cut);
        let every = (ask.drops / 50).max(1);
        let progress = |progress: Progress| {
            if progress.done % every == 0 {
                tell(News::Progress { order: order.number, stage, progress });
            }
        };
        match renew(&order.job, &ask, kept, stop, &progress) {
            Err(error) => {
                tell(News::Failed { order: order.number, why: shown(&error) });
                return;
            }
            Ok(_) if stop.load(Ordering::Relaxed) => return,
            Ok(renewed) => {
                tell(News::Renewed { order: order.number, stage, renewed: Arc::new(renewed) });
            }
        }
    }
}

fn fell_one(ToFell { order, job, question }: &ToFell) -> News {
    let done = catch_unwind(AssertUnwindSafe(|| felling::fell(job, question)));
    let felling = match done {
        Ok(felled) => felled.map(Arc::new).map_err(|error| match error {
            FellError::Job(error) => shown(&error),
            FellError::NoHinge(..) => error.to_string(),
        }),
        Err(panic) => Err(panicked(panic.as_ref())),
    };
    News::Felled { order: *order, felling }
}

/// An error with its causes and its place, as the command prints it.
pub(crate) fn shown(error: &(dyn miette::Diagnostic + Send + Sync)) -> String {
    let mut text = String::new();
    let plain =
        miette::GraphicalReportHandler::new_themed(miette::GraphicalTheme::unicode_nocolor());
    match plain.render_report(&mut text, error) {
        Ok(()) => text,
        Err(_) => error.to_string(),
    }
}

fn run(errand: Errand) -> News {
    match errand {
        Errand::Replay { job, ask, cut, drop } => {
            match replay(&job, &ask, Outer::Told, cut, drop, SAMPLE_S) {
                Ok(replay) => News::Replayed(Arc::new(Made { job, cut, drop, replay })),
                Err(error) => News::Undone(shown(&error)),
            }
        }
        Errand::Filmstrip { job, stamp, made, of } => {
            let Ok((track, outcome)) = &made.replay.what else {
                return News::Undone("a piece that sat back has no filmstrip".to_owned());
            };
            let ready = &made.replay.ready;
            let svg = filmstrip::of_drop(&job.scene, &stamp, ready, made.drop, of, outcome, track);
            match png::pixels(&svg, 1.0) {
                Ok(pixels) => News::Filmstrip { made, pixels },
                Err(error) => News::Undone(error.to_string()),
            }
        }
        Errand::Export { job, made, path } => match export::write(&job, &made, &path) {
            Ok(()) => News::Exported(path),
            Err(why) => News::Undone(why),
        },
        Errand::Card(path) => {
            // The page waits for an answer, whatever it is.
            let drawn = catch_unwind(AssertUnwindSafe(|| start_page::picture(&path)));
            let drawn = drawn.unwrap_or_else(|panic| Err(panicked(panic.as_ref())));
            News::ToPage(ToPage::Card { path, drawn })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    fn job() -> Arc<Job> {
        let scene = tumblewood::scene::parse(tumblewood::scene::starter(), "starter.ron").unwrap();
        Arc::new(Job::load(scene).unwrap())
    }

    /// News until `last` says it was the last; fails after a minute.
    fn listen(workers: &Workers, last: impl Fn(&News) -> bool) -> Vec<News> {
        let mut heard = Vec::new();
        for _ in 0..6_000 {
            for news in workers.news() {
                let ends = last(&news);
                heard.push(news);
                if ends {
                    return heard;
                }
            }
            thread::sleep(Duration::from_millis(10));
        }
        panic!("nothing more was told: {}", heard.len());
    }

    #[test]
    fn prop_an_order_is_answered_coarse_first_and_a_newer_one_wins() {
        let (workers, job) = (Workers::start(|| {}), job());
        let ask = Ask { drops: 40, grounds: 3, drops_per_ground: 6, ..Ask::default() };
        let order = |number| Order { number, job: job.clone(), ask: ask.clone(), cut: 1 };
        workers.order(order(1));
        workers.order(order(2));
        let whole =
            |news: &News| matches!(news, News::Renewed { order: 2, stage: Stage::WholeJob, .. });
        let heard = listen(&workers, whole);
        let stages: Vec<Stage> = heard
            .iter()
            .filter_map(|news| match news {
                News::Renewed { order: 2, stage, .. } => Some(*stage),
                _ => None,
            })
            .collect();
        assert_eq!(stages, Stage::ALL);
        let Some(News::Renewed { renewed, .. }) = heard.last() else { panic!("{heard:?}") };
        assert_eq!(renewed.run.forecast.drops, 40);
        assert!(!renewed.run.forecast.partial);
        assert_eq!(renewed.run.told.len(), job.scene.cuts.len());
    }

    #[test]
    fn prop_pull_and_hinge_are_those_of_the_command() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes/mill-ash.ron");
        let scene = tumblewood::scene::load(std::path::Path::new(path)).unwrap();
        let job = Arc::new(Job::load(scene).unwrap());
        let workers = Workers::start(|| {});
        let question = |cut, draws| felling::Question { cut, seed: 1, draws };
        // A snap has no hinge; of two orders that wait only the newer is told of.
        for (order, cut) in [(6, 0), (7, 2)] {
            let question = question(cut, felling::DRAWS);
            workers.fell(ToFell { order, job: job.clone(), question });
        }
        let heard = listen(&workers, |news| matches!(news, News::Felled { order: 7, .. }));
        for news in &heard {
            let News::Felled { order, felling } = news else { panic!("{news:?}") };
            match felling {
                Ok(felling) => {
                    let own = felling::fell(&job, &question(2, felling::DRAWS)).unwrap();
                    let json = |f| tumblewood::report::json::felling(f).unwrap();
                    assert_eq!((*order, json(felling)), (7, json(&own)));
                }
                Err(why) => assert!(*order == 6 && why.contains("no hinge"), "{why}"),
            }
        }
    }

    #[test]
    fn prop_a_drop_is_made_again_as_it_was_counted() {
        let (workers, job) = (Workers::start(|| {}), job());
        let ask = Ask::default();
        workers.errand(Errand::Replay { job: job.clone(), ask: ask.clone(), cut: 0, drop: 3 });
        let heard = listen(&workers, |news| matches!(news, News::Replayed(_)));
        let Some(News::Replayed(made)) = heard.last() else { panic!("{heard:?}") };
        let small = Ask { cuts: vec![0], drops: 4, grounds: 0, ..ask };
        let full = tumblewood::forecast::run(&job, &small, &AtomicBool::new(false), &|_| {});
        let fates = &full.unwrap().told[0].1;
        let (_, outcome) = made.replay.what.as_ref().unwrap();
        assert_eq!(fates[3].outcome(), Some(outcome));
        let stamp = Stamp {
            scene: String::new(),
            scene_hash: String::new(),
            law: String::new(),
            seed: 1,
            date: String::new(),
        };
        let made = made.clone();
        workers.errand(Errand::Filmstrip { job, stamp, made, of: 4 });
        let heard = listen(&workers, |news| matches!(news, News::Filmstrip { .. }));
        let Some(News::Filmstrip { pixels, .. }) = heard.last() else { panic!("{heard:?}") };
        assert_eq!(pixels.rgba.len(), 4 * (pixels.width * pixels.height) as usize);
    }
}
