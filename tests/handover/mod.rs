//! The handover pack: what it says, that it stays the same, and that no change to it goes unseen.

mod by_hand;
mod changed;
mod confirm;
mod document;
mod handed_on;
mod hostile_zip;
mod keys;
mod no_room;
mod packed;
mod reservations;
pub mod story;
mod written_over;
