//! One constant scaled, as the environment says: part of the copy that `tests/run mutation` makes,
//! not of the program.
//!
//! `TUMBLEWOOD_MUTATE="12 0.9"` multiplies constant 12 by 0.9 wherever it is used; with
//! `TUMBLEWOOD_READ` the ids of all constants used are appended to that file.
#![allow(missing_docs, reason = "nobody reads the copy")]

use std::{
    env, fs,
    io::Write as _,
    path::PathBuf,
    sync::{
        LazyLock,
        atomic::{AtomicBool, Ordering},
    },
};

use glam::DVec3;

use crate::ground::Range;

struct Choice {
    id: usize,
    factor: f64,
    read: Option<PathBuf>,
}

static CHOICE: LazyLock<Choice> = LazyLock::new(|| {
    let text = env::var("TUMBLEWOOD_MUTATE").unwrap_or_default();
    let (id, factor) = text.split_once(' ').unwrap_or_default();
    Choice {
        id: id.parse().unwrap_or(usize::MAX),
        factor: factor.parse().unwrap_or(1.0),
        read: env::var_os("TUMBLEWOOD_READ").map(PathBuf::from),
    }
});

static SEEN: [AtomicBool; 1024] = [const { AtomicBool::new(false) }; 1024];

#[inline]
#[must_use]
pub fn of<T: Scaled>(id: usize, value: T) -> T {
    let choice = &*CHOICE;
    if choice.read.is_some() {
        note(id, choice);
    }
    if id == choice.id { value.scaled(choice.factor) } else { value }
}

#[cold]
fn note(id: usize, choice: &Choice) {
    if !SEEN[id].swap(true, Ordering::Relaxed)
        && let Some(path) = &choice.read
        && let Ok(mut file) = fs::File::options().create(true).append(true).open(path)
    {
        file.write_all(format!("{id}\n").as_bytes()).expect("a file to note uses in");
    }
}

pub trait Scaled: Sized {
    #[must_use]
    fn scaled(self, factor: f64) -> Self;
}

impl Scaled for f64 {
    fn scaled(self, factor: f64) -> Self {
        self * factor
    }
}

impl Scaled for f32 {
    fn scaled(self, factor: f64) -> Self {
        (f64::from(self) * factor) as Self
    }
}

/// A tenth, and at least one.
fn whole(value: f64, factor: f64) -> f64 {
    (value + (value * (factor - 1.0)).abs().max(1.0).round().copysign(factor - 1.0)).max(1.0)
}

impl Scaled for u32 {
    fn scaled(self, factor: f64) -> Self {
        whole(f64::from(self), factor) as Self
    }
}

impl Scaled for usize {
    fn scaled(self, factor: f64) -> Self {
        whole(self as f64, factor) as Self
    }
}

impl Scaled for DVec3 {
    fn scaled(self, factor: f64) -> Self {
        self * factor
    }
}

impl Scaled for Range {
    fn scaled(self, factor: f64) -> Self {
        let [low, told, high] = [self.low, self.told, self.high].map(|x| x * factor);
        Self { low, told, high, ..self }
    }
}

impl<A, T: Scaled> Scaled for (A, T) {
    fn scaled(self, factor: f64) -> Self {
        (self.0, self.1.scaled(factor))
    }
}

impl<T: Scaled, const N: usize> Scaled for [T; N] {
    fn scaled(self, factor: f64) -> Self {
        self.map(|x| x.scaled(factor))
    }
}
