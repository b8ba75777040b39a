//! Orders of the same cuts, side by side.

use super::{REACHED_HEAD, columns, compare::in_100, states::tree_states, wrapped};
use crate::{
    forecast::{
        orders::{OrderRun, Orders, reached},
        result::{CutForecast, JobTarget},
    },
    report::{stamp, stamp::Stamp, units::Units, words},
};

/// The orders in words: what the whole job reaches, what each cut does, then what did reach, then
/// what did not and its bound. Orders keep the order they were listed in; none is singled out.
#[must_use]
pub fn orders(all: &Orders, stamp: &Stamp, units: Units) -> String {
    let mut out = format!("{}\n\n{}\n", stamp::NOT_COMPARED, stamp.line());
    out.push_str("\nOrders, on the same grounds and for each cut the same draws\n");
    for (k, order) in all.orders.iter().enumerate() {
        out.push_str(&wrapped(&format!("  {}: {}", k + 1, order.ids.join(", ")), 6));
    }
    if !all.left_out.is_empty() {
        let text = format!("  None of them makes the scene's {}.", all.left_out.join(", "));
        out.push_str(&wrapped(&text, 2));
    }
    out.push_str(
        "\nThe whole job reaches, in 100 jobs: range over the grounds; count on the ground as told\n",
    );
    let head = |first: &str| -> Vec<String> {
        let names = (1..=all.orders.len()).map(|k| format!("order {k}"));
        std::iter::once(first.to_owned()).chain(names).collect()
    };
    let mut rows = vec![head("target")];
    for id in &all.targets {
        let cell = |order: &OrderRun| job_target(order, id).map_or("–".to_owned(), whole);
        rows.push(row(words::name(id), all.orders.iter().map(cell)));
    }
    out.push_str(&columns(&rows, 2));
    let ids: Vec<&String> = all.orders.first().map_or(vec![], |order| order.ids.iter().collect());
    let grid = |entry: &dyn Fn(&OrderRun, &CutForecast) -> String| {
        let mut rows = vec![head("cut")];
        for id in &ids {
            let cell = |order: &OrderRun| {
                let cut = order.run.forecast.cuts.iter().find(|cut| cut.id == **id);
                cut.map_or("–".to_owned(), |cut| entry(order, cut))
            };
            rows.push(row(words::name(id), all.orders.iter().map(cell)));
        }
        columns(&rows, 2)
    };
    out.push_str("\nEach cut reaches a target, by its piece or by what that sets going, in 100 drops over all grounds\n");
    out.push_str(&grid(&|order, cut| {
        let at = order.run.forecast.cuts.iter().position(|one| one.id == cut.id);
        let any = at.and_then(|k| order.run.any.get(k)).copied().unwrap_or_default();
        if any.reached > 0 { in_100(any.reached, any.drops) } else { "none seen".to_owned() }
    }));
    out.push_str("\nEach cut's piece rolled / tumbled end over end, in 100 drops on the ground as you told it\n");
    out.push_str(&grid(&|_, cut| {
        let (drops, m) = (cut.drops(), &cut.modes);
        let back = if cut.sat_back > 0 {
            format!(" ({} sit back)", in_100(cut.sat_back, drops))
        } else {
            String::new()
        };
        format!("{} / {}{back}", in_100(m.rolled, drops), in_100(m.tumbled, drops))
    }));
    let loose = |order: &OrderRun| order.run.forecast.cuts.iter().any(|c| !c.loose.is_empty());
    if all.orders.iter().any(loose) {
        out.push_str(
            "\nEach cut sets going what lies loose, in 100 drops on the ground as you told it\n",
        );
        out.push_str(&grid(&|_, cut| {
            let one = |l: &crate::forecast::result::LooseForecast| {
                format!("{} {}", words::name(&l.id), in_100(l.set_going, cut.drops()))
            };
            let said: Vec<String> = cut.loose.iter().map(one).collect();
            if said.is_empty() { "–".to_owned() } else { said.join(", ") }
        }));
    }
    out.push_str(&found(all));
    for (k, order) in all.orders.iter().enumerate() {
        let states = tree_states(&order.run.forecast.job.states, units);
        let states =
            states.replacen("The tree after", &format!("Order {}: the tree after", k + 1), 1);
        out.push_str(&format!("\n{states}"));
    }
    out.push('\n');
    out.push_str(&wrapped(stamp::PLANNING_AID, 0));
    out
}

/// What did reach, then what did not and its bound.
fn found(all: &Orders) -> String {
    let mut out = format!("\n{REACHED_HEAD}\n");
    let mut quiet = String::new();
    let before = out.len();
    for (k, order) in all.orders.iter().enumerate() {
        for target in &order.run.forecast.job.targets {
            let name = format!("  order {}, {}", k + 1, words::name(&target.id));
            let fresh = order.fresh.as_ref();
            let fresh = fresh.and_then(|f| f.job.targets.iter().find(|t| t.id == target.id));
            let again = fresh.map(|t| [t.reached + t.drawn_reached, t.jobs + t.drawn_jobs]);
            if let Some([hits, jobs]) = again.filter(|a| a[0] > 0 && !reached(target)) {
                let text = format!(
                    "{name}: none in the first jobs, {hits} of {jobs} on fresh draws over all grounds"
                );
                out.push_str(&wrapped(&text, 6));
            } else if reached(target) {
                let text = format!(
                    "{name}: {} of {} jobs on the ground as you told it, {} of {} over the drawn \
                     grounds",
                    target.reached, target.jobs, target.drawn_reached, target.drawn_jobs
                );
                out.push_str(&wrapped(&text, 6));
            } else {
                let high = all.corrected_bound(order, &target.id).unwrap_or(1.0);
                let counts = again.map_or("not looked at again".to_owned(), |[_, jobs]| {
                    format!("0 of {jobs} fresh jobs over all grounds")
                });
                let text = format!(
                    "{name}: {counts}; {} on the ground as you told it",
                    words::at_most(high)
                );
                quiet.push_str(&wrapped(&text, 6));
            }
        }
    }
    if out.len() == before {
        out.push_str(&format!("  {}\n", super::NOTHING_REACHED));
    }
    if !quiet.is_empty() {
        out.push_str(&format!("\n{}\n{quiet}", super::QUIET_HEAD));
        let looked_at = all.orders.len() * all.targets.len();
        let note = format!(
            "  These jobs are fresh ones. Bounds: 95 %, one-sided, corrected for the {looked_at} \
             orders times targets looked at, from the jobs on the ground as you told it. They speak \
             of counting alone, not of other grounds."
        );
        out.push_str(&wrapped(&note, 4));
    }
    out
}

fn job_target<'a>(order: &'a OrderRun, id: &str) -> Option<&'a JobTarget> {
    order.run.forecast.job.targets.iter().find(|target| target.id == id)
}

fn whole(target: &JobTarget) -> String {
    let range = target.over_grounds;
    format!(
        "{} to {}; {} of {}",
        words::in_hundred(range.low),
        words::in_hundred(range.high),
        target.reached,
        target.jobs
    )
}

fn row(name: String, cells: impl Iterator<Item = String>) -> Vec<String> {
    std::iter::once(name).chain(cells).collect()
}
