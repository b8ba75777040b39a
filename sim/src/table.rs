//! Built-in tables: lines of cells between commas, comments behind #, names of columns first.

/// The rows below the head, a cell a column.
pub(crate) fn rows(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| line.split(',').collect())
}
