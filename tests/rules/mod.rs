//! The rules R1 to R15: each has tests named after it, on the real binary with a fixed clock.

pub mod again;
mod clock;
mod editions;
mod ended;
mod histories;
mod known;
mod language;
mod left;
mod names;
mod properties;
mod record;
mod revised;
mod second;
pub mod site;
pub mod square;
mod weather;
mod windows;
mod work;

/// Whether a refusal names this among what clears it: a command that can be typed, or a number. The words around it stand
/// in `tests/messages`.
pub fn clears(refusal: &serde_json::Value, what: &str) -> bool {
    refusal["clears"].as_str().unwrap().contains(what)
}
