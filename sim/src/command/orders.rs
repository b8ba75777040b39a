//! `compare --order`: orders of the cuts side by side.

use tumblewood::{
    forecast::{
        self,
        orders::{jobs, read},
    },
    job::Job,
    report::text,
};

use super::{
    Failure, HowArgs, RunArgs,
    drops::{Answer, answer, compare_ask, pool},
    output::{self, Folder},
    progress::{Bar, stop_flag},
};

pub(super) fn compare(
    job: &Job,
    orders: &[String],
    drops: u32,
    run: &RunArgs,
    how: &HowArgs,
) -> Result<(), Failure> {
    let split = |order: &String| order.split(',').map(|id| id.trim().to_owned()).collect();
    let orders: Vec<Vec<String>> = orders.iter().map(split).collect();
    let jobs =
        read(&job.scene, &orders).and_then(|orders| jobs(job, &orders)).map_err(|misfit| {
            Failure::input(format!("{}: --order: {misfit}", job.scene.source.name))
        })?;
    let stop = stop_flag();
    let folder = how.out.as_deref().map(Folder::make).transpose()?;
    let ask = compare_ask(drops, run, how);
    let result = pool(how.threads)?.install(|| {
        let bar = Bar::new();
        forecast::orders::compare(job, &jobs, &ask, &stop, &|p| bar.tell(p))
    })?;
    let stamp = output::stamp(job, &ask);
    let mut words = text::orders(&result, &stamp, job.scene.units);
    if result.partial {
        words.insert_str(0, "INTERRUPTED: counts are of the drops done so far.\n");
    }
    let bounds = |order: &forecast::orders::OrderRun| -> serde_json::Value {
        let bound = |id: &String| (id.clone(), result.corrected_bound(order, id).into());
        result.targets.iter().map(bound).collect::<serde_json::Map<_, _>>().into()
    };
    let table = serde_json::json!({
        "version": forecast::VERSION,
        "scene": stamp.scene,
        "scene_hash": stamp.scene_hash,
        "law": stamp.law,
        "seed": stamp.seed,
        "left_out": result.left_out,
        "partial": result.partial,
        "orders": result.orders.iter().map(|order| serde_json::json!({
            "order": order.ids,
            "forecast": order.run.forecast,
            "fresh": order.fresh,
            "at_most": bounds(order),
        })).collect::<Vec<_>>(),
    });
    answer(how, folder, &Answer { name: "orders", words, table, partial: result.partial }, None)
}
