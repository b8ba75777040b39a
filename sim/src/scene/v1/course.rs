//! A course as it is written: lessons in order.

use serde::Deserialize;

/// A course.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Course {
    /// 1.
    pub version: u32,
    /// Its title.
    pub title: String,
    /// Its lessons describe no real place.
    #[serde(default)]
    pub invented: bool,
    /// What it is about.
    #[serde(default)]
    pub words: String,
    /// Lesson files in order, relative to the course.
    pub lessons: Vec<String>,
}
