//! The set-out sums: published and worked examples, brute force, an outside solver, and the binary.

mod cli;
mod columns;
mod courses;
mod drawing;
mod packing;
mod panels;
