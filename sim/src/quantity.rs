//! Units at files and flags: what a user types and reads.
