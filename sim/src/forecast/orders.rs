//! Orders of the same cuts side by side, on the same grounds and the same draws.
//!
//! A cut keeps its id, so drop j of it has the same inner draws in every order, and pieces left
//! where they stop find the same bumps ([`Scene::bumps_of`]): what differs is what stands and lies
//! when its turn comes. A target that no job of an order reached was picked by looking, so that
//! order is run again on a fresh seed over all grounds, and its bound is corrected for the number
//! of orders and targets looked at (Bonferroni). No order is named best.

use std::sync::atomic::AtomicBool;

use super::{
    Ask, Progress, Run,
    compare::{FRESH, Misfit},
    interval,
    result::{Forecast, JobTarget},
    run,
};
use crate::{
    job::{Job, JobError},
    scene::model::Scene,
};

/// Most orders of one comparison.
pub const ORDERS_MAX: usize = 24;
/// A piece stands at the top of what stands within this, m: a kerf, and what a tape misses.
const GAP_M: f64 = 0.05;

/// One order.
#[derive(Debug)]
pub struct OrderRun {
    /// Ids of its cuts, in order.
    pub ids: Vec<String>,
    /// The job in this order.
    pub run: Run,
    /// The same on a fresh seed, where a target was reached in none of the first.
    pub fresh: Option<Forecast>,
}

/// All orders.
#[derive(Debug)]
pub struct Orders {
    /// As they were listed.
    pub orders: Vec<OrderRun>,
    /// Cuts of the scene that none of them makes, by id.
    pub left_out: Vec<String>,
    /// Ids of everything that was a target of any.
    pub targets: Vec<String>,
    /// True when the run was stopped before all orders were done.
    pub partial: bool,
}

impl Orders {
    /// Upper bound of the share of jobs, on the ground as told, in which an order reaches a target
    /// that its first run reached on no ground: from the fresh run alone, corrected for all that was
    /// looked at. `None` where the first run reached it, or the second is missing.
    #[must_use]
    pub fn corrected_bound(&self, order: &OrderRun, target: &str) -> Option<f64> {
        let job = |f: &Forecast| f.job.targets.iter().find(|t| t.id == target).cloned();
        if job(&order.run.forecast).is_none_or(|first| reached(&first)) {
            return None;
        }
        let fresh = job(order.fresh.as_ref()?)?;
        let looked_at = self.orders.len() * self.targets.len();
        let tail = (1.0 - interval::CONFIDENCE) / looked_at.max(1) as f64;
        let open = (fresh.reached + fresh.unknown).min(fresh.jobs);
        Some(interval::tail_high(open, fresh.jobs, tail))
    }
}

/// Whether any job, on any ground, reached a target.
#[must_use]
pub fn reached(target: &JobTarget) -> bool {
    target.reached + target.drawn_reached > 0
}

/// The cuts, by index, that each order names.
///
/// # Errors
/// No such cut, one named twice, orders of different cuts, the same order twice, too few or many.
pub fn read(scene: &Scene, orders: &[Vec<String>]) -> Result<Vec<Vec<usize>>, Misfit> {
    let wrong =
        |read: String, allowed: String| Misfit::Order(format!("read {read}; allowed: {allowed}"));
    let ids: Vec<&str> = scene.cuts.iter().map(|cut| cut.id.as_str()).collect();
    if !(2..=ORDERS_MAX).contains(&orders.len()) {
        let allowed = format!("2 to {ORDERS_MAX} orders, one --order each");
        return Err(wrong(format!("{} order(s)", orders.len()), allowed));
    }
    let mut all: Vec<Vec<usize>> = Vec::new();
    for order in orders {
        let text = order.join(",");
        let mut cuts = Vec::new();
        for id in order {
            let Some(cut) = ids.iter().position(|one| one == id) else {
                let allowed = format!("cuts of the scene: {}", ids.join(", "));
                return Err(wrong(format!("{text}: no cut {id:?}"), allowed));
            };
            if cuts.contains(&cut) {
                return Err(wrong(format!("{text}: {id} twice"), "each cut once".to_owned()));
            }
            cuts.push(cut);
        }
        if let Some(first) = all.first() {
            let missing = first.iter().find(|cut| !cuts.contains(cut));
            let more = cuts.iter().find(|cut| !first.contains(cut));
            let first = orders.first().map_or_else(String::new, |o| o.join(","));
            for (cut, word) in [(missing, "lacks"), (more, "has")] {
                if let Some(id) = cut.and_then(|cut| ids.get(*cut)) {
                    let read = format!("{text}: it {word} {id} and {first} doesn't");
                    let read = if word == "lacks" {
                        format!("{text}: it lacks {id}, which {first} has")
                    } else {
                        read
                    };
                    return Err(wrong(read, "the same cuts in every order".to_owned()));
                }
            }
        }
        if all.contains(&cuts) {
            return Err(wrong(format!("{text} twice"), "each order once".to_owned()));
        }
        all.push(cuts);
    }
    Ok(all)
}

/// The scene with these of its cuts, in this order, and the lines that pull them.
#[must_use]
pub fn with_order(scene: &Scene, order: &[usize]) -> Scene {
    let mut new = scene.clone();
    new.cuts = order.iter().filter_map(|&cut| scene.cuts.get(cut).cloned()).collect();
    new.lines.retain(|line| new.cuts.iter().any(|cut| cut.id == line.cut()));
    new
}

/// The jobs of all orders.
///
/// # Errors
/// An order that can't be, and why.
pub fn jobs(job: &Job, orders: &[Vec<usize>]) -> Result<Vec<Job>, Misfit> {
    orders.iter().map(|order| one_job(job, order)).collect()
}

fn one_job(job: &Job, order: &[usize]) -> Result<Job, Misfit> {
    let scene = with_order(&job.scene, order);
    let ids: Vec<String> = scene.cuts.iter().map(|cut| cut.id.clone()).collect();
    let refuse = |why: String| Misfit::Order(format!("read {}; {why}", ids.join(",")));
    if let Some(wrong) = scene.wrongs().first() {
        let at = (0..scene.cuts.len()).find_map(|i| {
            let rest = wrong.path.strip_prefix(&format!("cuts[{i}]"))?;
            Some(format!("cut {}{rest}", ids.get(i)?))
        });
        let path = at.unwrap_or_else(|| wrong.path.clone());
        return Err(refuse(format!("{path}: {}; allowed: {}", wrong.what, wrong.allowed)));
    }
    for (i, &cut) in order.iter().enumerate() {
        let above = |scene: &Scene, cut: usize| {
            scene.stem_taken_m(cut).map(|[_, to_m]| scene.standing(cut).top_m - to_m)
        };
        let (Some(here_m), Some(own_m)) = (above(&scene, i), above(&job.scene, cut)) else {
            continue;
        };
        if here_m > own_m + GAP_M {
            return Err(refuse(format!(
                "cut {}: {} of stem still stands on its piece when its turn comes; allowed: a cut \
                 before it that takes that down",
                ids.get(i).map_or("", String::as_str),
                scene.units.length(here_m)
            )));
        }
    }
    // What can be told from the scene alone has been; the rest needs the world.
    job.edited(scene).map_err(|error| refuse(format!("{error}; allowed: an order that can be")))
}

/// Runs a comparison of orders that [`read`] gave; `ask.cuts` is not used.
///
/// # Errors
/// As [`run`], for the first order that can't be built.
pub fn compare(
    job: &Job,
    jobs: &[Job],
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Orders, JobError> {
    let ask = Ask { cuts: Vec::new(), ..ask.clone() };
    let fresh_ask = Ask { seed: ask.seed.wrapping_add(FRESH), ..ask.clone() };
    let cuts = jobs.first().map_or(0, |job| job.scene.cuts.len()) as u32;
    let each = cuts * (ask.drops + ask.grounds * ask.drops_per_ground);
    let made = |id: &String| {
        jobs.first().is_some_and(|job| job.scene.cuts.iter().any(|cut| cut.id == *id))
    };
    let mut all = Orders {
        orders: Vec::new(),
        left_out: job.scene.cuts.iter().map(|c| c.id.clone()).filter(|id| !made(id)).collect(),
        targets: Vec::new(),
        partial: false,
    };
    let mut before = 0;
    for job in jobs {
        let tell = |done: u32, reached: u32| {
            progress(Progress { done, total: each * jobs.len() as u32, reached });
        };
        let first = run(job, &ask, stop, &|p| tell(before + p.done, p.reached))?;
        before += each;
        let targets = &first.forecast.job.targets;
        for target in targets {
            if !all.targets.contains(&target.id) {
                all.targets.push(target.id.clone());
            }
        }
        let quiet = targets.iter().any(|target| !reached(target));
        all.partial |= first.forecast.partial;
        let fresh = if quiet && !all.partial {
            // A second look takes as long again; progress stands still meanwhile.
            let again = run(job, &fresh_ask, stop, &|p| tell(before, p.reached))?;
            all.partial |= again.forecast.partial;
            Some(again.forecast).filter(|f| !f.partial)
        } else {
            None
        };
        let ids = job.scene.cuts.iter().map(|cut| cut.id.clone()).collect();
        all.orders.push(OrderRun { ids, run: first, fresh });
        if all.partial {
            break;
        }
    }
    Ok(all)
}
