//! The set-out sums: published and worked examples, brute force, an outside solver, and the binary.

// Helpers of tests may stop a test as the tests themselves may.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod asked;
mod boards;
mod bound;
mod checks;
mod cli;
mod columns;
mod courses;
mod drawing;
mod house;
mod lapped;
mod packing;
mod panels;
