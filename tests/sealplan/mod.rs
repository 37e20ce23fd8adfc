//! The seal plan (C12): held against its rules, brute force, an outside solver, and its contract.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "helpers of tests fail tests by panicking")]

mod binary;
mod check;
mod days;
mod errors;
mod outside;
mod proof;
mod rules;
