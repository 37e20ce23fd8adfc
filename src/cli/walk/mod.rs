//! The walk: a skin over `next` and `decide`, with no rules of its own.
//!
//! It takes the first task of `next` that can be done on the spot, asks what that needs, records it,
//! says what came of it, and looks again. What was recorded is durable before it is said, so that leaving
//! at any question loses only that question.

mod aside;
mod clocks;
mod crew;
mod defects;
mod go;
mod goods;
mod holds;
mod late;
mod place;
mod readings;
mod session;
mod step;
mod tape;
mod tasks;
mod ways;

pub use session::Walk;
