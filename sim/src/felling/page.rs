//! A page of numbers as they are found in one truth.

use super::{
    result::{Group, Measure},
    rules::Rule,
};

/// A limit past which a number is said to be outside.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Limit {
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) words: String,
}

/// One number in one truth.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    pub(super) key: String,
    pub(super) group: Group,
    pub(super) label: String,
    pub(super) measure: Measure,
    pub(super) value: f64,
    pub(super) rule: Rule,
    pub(super) limit: Option<Limit>,
    pub(super) outside: Vec<String>,
}

/// Gathers numbers.
pub(super) struct Page {
    pub(super) figures: Vec<Found>,
    pub(super) group: Group,
}

impl Page {
    /// Adds a number; what comes back can be told its limit and where it is outside.
    pub(super) fn put(
        &mut self,
        key: impl Into<String>,
        label: impl Into<String>,
        measure: Measure,
        value: f64,
        rule: Rule,
    ) -> &mut Found {
        self.figures.push(Found {
            key: key.into(),
            group: self.group,
            label: label.into(),
            measure,
            value,
            rule,
            limit: None,
            outside: Vec::new(),
        });
        // Just pushed.
        let last = self.figures.len() - 1;
        &mut self.figures[last]
    }
}

impl Found {
    /// Past this it is said to be outside, in these words.
    pub(super) fn most(&mut self, most: f64, words: impl Into<String>) {
        self.limit = Some(Limit { least: f64::NEG_INFINITY, most, words: words.into() });
    }

    /// Under this it is said to be outside, in these words.
    pub(super) fn least(&mut self, least: f64, words: impl Into<String>) {
        self.limit = Some(Limit { least, most: f64::INFINITY, words: words.into() });
    }
}

/// A load over what bears it: none over nothing is none.
pub(super) fn over(load: f64, bears: f64) -> f64 {
    if load > 0.0 { load / bears } else { 0.0 }
}
