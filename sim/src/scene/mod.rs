//! The scene file: what a user writes, checked.
