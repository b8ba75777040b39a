//! Arrows point one way: the viewer, the tests and the benchmarks know `sim`; `sim` knows none of
//! them, and nothing that opens a window or talks to a graphics card.
//!
//! Which member names which comes from `cargo metadata`; what they pull in through others comes
//! from the lock file, which needs no download.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    process::Command,
};

use serde_json::Value;
use tumblewood_tests::root;

/// No package of `sim` may begin with one of these.
const SCREEN_PACKAGES: [&str; 7] = ["bevy", "egui", "epaint", "winit", "wgpu", "naga", "wayland"];

/// Member name → names it depends on for any purpose, its own tests included.
fn direct_dependencies() -> BTreeMap<String, BTreeSet<String>> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(root())
        .output()
        .expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
    let name = |value: &Value| value["name"].as_str().expect("a name").to_owned();
    let list = |value: &Value| value.as_array().expect("a list").clone();
    list(&metadata["packages"])
        .iter()
        .map(|member| (name(member), list(&member["dependencies"]).iter().map(name).collect()))
        .collect()
}

/// Every package that `start` pulls in on any system, itself included, by the lock file.
fn pulled_in(start: &str) -> BTreeSet<String> {
    let lock = fs::read_to_string(root().join("Cargo.lock")).expect("the lock file");
    let mut needs: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in lock.split("[[package]]").skip(1) {
        let quoted = |line: &str| line.split('"').nth(1).unwrap_or_default().to_owned();
        let name = package.lines().find(|line| line.starts_with("name = ")).map(quoted);
        // A dependency reads "name", "name version" or "name version (source)"; two versions of
        // one package are taken together, which can only find more.
        let dependencies = package
            .lines()
            .filter(|line| line.starts_with(" \""))
            .map(|line| quoted(line).split(' ').next().unwrap_or_default().to_owned());
        needs.entry(name.expect("a package has a name")).or_default().extend(dependencies);
    }
    let mut found = BTreeSet::new();
    let mut waiting = vec![start.to_owned()];
    while let Some(package) = waiting.pop() {
        waiting.extend(needs.get(&package).into_iter().flatten().cloned());
        if !found.insert(package) {
            waiting.retain(|next| !found.contains(next));
        }
    }
    found
}

fn screen_packages(packages: &BTreeSet<String>) -> Vec<&String> {
    packages
        .iter()
        .filter(|name| SCREEN_PACKAGES.iter().any(|screen| name.starts_with(screen)))
        .collect()
}

#[test]
fn verif_sim_knows_nothing_above_it() {
    let direct = direct_dependencies();
    let members: BTreeSet<&String> = direct.keys().collect();
    let sim = &direct["tumblewood"];
    let above: Vec<_> = sim.iter().filter(|name| members.contains(name)).collect();
    assert!(above.is_empty(), "sim depends on {above:?}");
    for member in ["tumblewood-viewer", "tumblewood-tests", "tumblewood-benches"] {
        assert!(direct[member].contains("tumblewood"), "{member} does not use sim");
    }
}

#[test]
fn verif_sim_pulls_in_no_window_and_no_graphics() {
    let sim = pulled_in("tumblewood");
    assert!(sim.contains("rapier3d"), "the lock file was not understood: {sim:?}");
    let screen = screen_packages(&sim);
    assert!(screen.is_empty(), "sim pulls in {screen:?}");
    // The same question asked of the viewer must find them, or it would find them nowhere.
    assert!(screen_packages(&pulled_in("tumblewood-viewer")).len() > 20);
}
