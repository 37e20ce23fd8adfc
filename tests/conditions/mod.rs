//! Dew, sun, shade, exposure and sealing against published values, other libraries, and through the binary.

// Tests say what went wrong by panicking.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod dew;
mod exposure;
mod sealing;
mod shade;
mod sun;

use crate::harness::Bench;

/// The moment that these runs see; none of these sums asks for it.
const CLOCK: &str = "2026-03-02T10:40:00+13:00";

/// The lines of a fixture under its header, each cut at its commas.
fn fixture(name: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(crate::harness::root().join("tests/conditions/fixtures").join(name)).unwrap();
    text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

/// A cell as a number.
#[track_caller]
fn number(cell: &str) -> f64 {
    cell.parse().unwrap()
}

/// The JSON of `cladlog calc …`.
#[track_caller]
fn answer(arguments: &str) -> serde_json::Value {
    Bench::at(CLOCK).run(["calc"].into_iter().chain(arguments.split(' ')).chain(["--json"])).exits(0).json()
}
