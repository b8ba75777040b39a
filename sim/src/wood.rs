//! Species: green density and strength.
