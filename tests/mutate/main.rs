//! `tests/run mutation`: whether the checks notice a constant that is a tenth off.
//!
//! Copies the tree, opens every constant in the copy (`tumblewood_tests::mutation`), builds the
//! checks once, notes which constant each of them uses, and runs those that use it with each
//! physical constant times 0.9 and times 1.1 until one fails; with each numerical constant all of
//! them, of which none may. Writes `tests/mutation.md`. Exit code 1 where a check doesn't pass with
//! nothing changed.
//!
//! `tests/run mutation NAME…` looks at those constants, and at those whose row is missing or has
//! another value.

#![allow(clippy::print_stdout, reason = "a command that says how far it is")]

mod runs;
mod table;

use std::{
    env,
    path::PathBuf,
    process::ExitCode,
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
    time::Instant,
};

use runs::{Check, Outcome};
use table::Row;
use tumblewood_tests::mutation::{Constant, Kind, constants, sources};

/// By how much a constant is off.
const FACTORS: [f64; 2] = [0.9, 1.1];

/// Checks that say no more than that a number was copied right: they catch none of these constants,
/// or none at all.
const COPIES: [(&str, &[&str]); 13] = [
    ("val_wood::val_strengths_of_the_handbook", &[]),
    ("wood::tests::val_white_oak_has_the_handbook_strengths", &[]),
    ("soil::law::tests::verif_strength_has_the_bearing_factors_of_its_source", &[]),
    ("ground::words::tests::val_thumb_words_are_the_strengths_of_tm_5_818_1", &[]),
    ("ground::words::tests::verif_nothing_lies_on_pavement_and_it_is_harder_than_any_soil", &[]),
    ("val_ground::val_thumb_test", &[]),
    ("val_hinge::val_the_usual_hinge", &[]),
    ("val_felling::val_hinge_as_sized_by_practice", &[]),
    ("release::tests::verif_balance_by_hand", &["HingeSpec::usual.hinge_width_m"]),
    ("val_hinge::val_what_a_hinge_holds", &["species.mor_psi"]),
    ("release::tests::verif_hinge_moment", &["species.mor_psi"]),
    ("val_ground::val_bearing_of_clay", &["END_SHALLOW", "END_DEEP", "DEEP_AFTER_WIDTHS"]),
    (
        "verif_ground::verif_undergrowth_stops_a_log_after_its_energy_is_spent",
        &["RUPTURE_PA", "BENT_RAD"],
    ),
];

/// Checks left out because each takes more than five seconds, so that a run of all the rest takes
/// about as long as the slowest of them.
const SLOW: [&str; 19] = [
    "verif_tune::verif_a_known_ground_is_covered_and_better_known_than_before",
    "verif_calibration::verif_truths_rank_among_drops_as_one_more_drop",
    "val_engine::val_hard_soil_at_any_attitude",
    "val_engine::val_hard_soil_rolls_as_rigid_ground",
    "val_engine::val_rigid_ground_at_any_attitude",
    "val_engine::val_rigid_ground_rolls_as_another_engines",
    "verif_invariance::verif_halving_v0_or_the_step_or_doubling_the_points_moves_no_share_or_median",
    "val_real_ground::val_grids_of_a_real_hillside",
    "verif_regimes::verif_first_contact_is_the_same_in_both_regimes",
    "verif_regimes::verif_many_drops_are_equivalent_in_both_regimes",
    "val_practice::val_a_stub_stops_rolling",
    "val_practice::val_long_sections_slide_along_and_roll_across",
    "val_practice::val_rounds_stand_or_roll",
    "val_practice::val_a_low_fence_is_jumped",
    "val_practice::val_end_over_end_to_the_building",
    "verif_rebound::verif_rebound_is_e_with_constant_strength_and_a_central_hit",
    "verif_energy::verif_energy_is_kept_where_strength_depends_on_depth_alone",
    "verif_energy::verif_a_touch_returns_at_most_e_squared_of_what_was_put_in",
    "verif_contact::verif_buried_area_and_volume_are_those_of_tilted_cylinders_and_frustums",
];

fn main() -> ExitCode {
    let begun = Instant::now();
    let sources = sources();
    let all = constants(&sources);
    let copy = target().join("mutation");
    if let Err(why) = runs::copy_tree(&copy, &sources, &all) {
        println!("the tree could not be copied to {}: {why}", copy.display());
        return ExitCode::FAILURE;
    }
    let left_out = |name: &str| SLOW.contains(&name) || COPIES.contains(&(name, [].as_slice()));
    let mut checks = match runs::build(&copy) {
        Ok(checks) => checks,
        Err(why) => {
            println!("{why}");
            return ExitCode::FAILURE;
        }
    };
    checks.retain(|check| !left_out(&check.name));
    println!("{} constants, {} checks", all.len(), checks.len());

    let notes = copy.join("notes");
    let measured = in_parallel(checks.len(), |i| {
        let measured = checks[i].measure(&notes, i);
        if let Some((took, _)) = &measured {
            println!("{:6.2} s  {}", took.as_secs_f64(), checks[i].name);
        }
        measured
    });
    for (check, measured) in checks.iter_mut().zip(measured) {
        let Some((took, uses)) = measured else {
            println!("{} does not pass with nothing changed", check.name);
            return ExitCode::FAILURE;
        };
        (check.took, check.uses) = (took, uses);
    }
    checks.sort_by_key(|check| check.took);

    let old = table::read();
    let asked: Vec<String> = env::args().skip(1).collect();
    let is_asked = |constant: &Constant| {
        asked.is_empty()
            || asked.contains(&constant.name)
            || !old.iter().any(|row| row.is_current(constant))
    };
    let counted: Vec<(usize, &Constant)> =
        all.iter().enumerate().filter(|(_, c)| c.kind != Kind::Neither).collect();
    let tries: Vec<(usize, &Constant, f64)> = counted
        .iter()
        .filter(|(_, c)| is_asked(c))
        .flat_map(|(id, c)| FACTORS.map(|factor| (*id, *c, factor)))
        .collect();
    let outcomes = in_parallel(tries.len(), |i| {
        let (id, constant, factor) = tries[i];
        let before = old.iter().find(|row| row.is_of(constant));
        let outcome = attempt(&checks, id, constant, factor, before);
        println!("{}/{} {} × {factor}: {outcome}", i + 1, tries.len(), constant.name);
        outcome
    });
    let rows: Vec<Row> = counted
        .iter()
        .map(|(id, constant)| {
            let seen = |factor: f64| {
                let at = tries.iter().position(|t| t.0 == *id && t.2 == factor)?;
                Some(outcomes[at].to_string())
            };
            let old = old.iter().find(|row| row.is_of(constant));
            let users = checks.iter().filter(|check| check.uses.contains(id)).count();
            Row::new(constant, FACTORS.map(seen), users, old)
        })
        .collect();
    table::write(&rows, checks.len());
    println!("{} rows in {} s", rows.len(), begun.elapsed().as_secs());
    ExitCode::SUCCESS
}

/// Runs the checks that use a constant: a physical one's until one fails, those first that caught
/// it last time; a numerical one's all.
fn attempt(
    checks: &[Check],
    id: usize,
    constant: &Constant,
    factor: f64,
    before: Option<&Row>,
) -> Outcome {
    let is_copy = |check: &Check| {
        COPIES.iter().any(|(name, of)| *name == check.name && of.contains(&constant.name.as_str()))
    };
    let uses = |check: &&Check| check.uses.contains(&id) && !is_copy(check);
    let mut users: Vec<&Check> = checks.iter().filter(uses).collect();
    if users.is_empty() {
        return Outcome::Unused;
    }
    users.sort_by_key(|check| !before.is_some_and(|row| row.names(&check.name)));
    let mut failed = Vec::new();
    for check in users {
        if let Some(how) = check.fails(id, factor) {
            failed.push(format!("`{}`{how}", check.name));
            if constant.kind == Kind::Physical {
                break;
            }
        }
    }
    if failed.is_empty() { Outcome::Passed } else { Outcome::Failed(failed) }
}

/// `work` on 0 to `count`, as many at a time as there are processors, in the order of the numbers.
fn in_parallel<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(count));
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        break;
                    }
                    let result = work(i);
                    done.lock().expect("no worker panics").push((i, result));
                }
            });
        }
    });
    let mut done = done.into_inner().expect("no worker panics");
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, result)| result).collect()
}

fn target() -> PathBuf {
    let given = env::var_os("CARGO_TARGET_DIR").map(PathBuf::from);
    given.unwrap_or_else(|| tumblewood_tests::root().join("target"))
}
