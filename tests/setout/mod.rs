//! The set-out sums: published and worked examples, brute force, an outside solver, and the binary.

mod cli;
mod columns;
mod courses;
mod packing;
mod panels;
