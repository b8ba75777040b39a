//! What is wrong with a terrain file or a survey.

use std::fmt;

/// A terrain that can't be used: where, what was read and what is allowed.
#[derive(Clone, Debug, PartialEq)]
pub struct TerrainError {
    /// The file, or the part of the survey.
    pub file: String,
    /// Line in the file, from 1, where there is one.
    pub line: Option<u64>,
    /// What the value is for.
    pub field: String,
    /// What was read.
    pub read: String,
    /// What is allowed.
    pub allowed: String,
}

impl TerrainError {
    /// An error about a whole file or survey.
    #[must_use]
    pub fn new(
        file: impl Into<String>,
        field: impl Into<String>,
        read: impl Into<String>,
        allowed: impl Into<String>,
    ) -> Self {
        Self {
            file: file.into(),
            line: None,
            field: field.into(),
            read: read.into(),
            allowed: allowed.into(),
        }
    }

    /// The same error at a line (from 1).
    #[must_use]
    pub fn at_line(mut self, line: u64) -> Self {
        self.line = Some(line);
        self
    }
}

impl fmt::Display for TerrainError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        write!(f, ": {}: read {}; allowed: {}", self.field, self.read, self.allowed)
    }
}

impl std::error::Error for TerrainError {}
