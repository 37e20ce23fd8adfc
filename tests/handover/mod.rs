//! The handover pack: what it says, that it stays the same, and that no change to it goes unseen.

mod changed;
mod document;
mod hostile_zip;
mod packed;
pub mod story;
