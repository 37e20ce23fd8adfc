//! The seal plan (C12): held against its rules, brute force, an outside solver, and its contract.

mod binary;
mod days;
mod faults;
mod outside;
mod proof;
mod rules;
