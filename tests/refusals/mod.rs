//! Bad input: each gets one clear message, the right exit code, and nothing is written.

mod databases;
mod files;
mod typed;
