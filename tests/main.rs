//! Every integration test, in one binary: linking the PDF library once is enough.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod conditions;
mod demo;
mod handover;
mod harness;
mod materials;
mod messages;
#[cfg(feature = "office")]
mod office;
mod papers;
mod photos;
mod refusals;
mod rooms;
mod rules;
mod sealplan;
mod sequence;
mod serve;
mod setout;
mod stock;
mod trust;
mod walk;
mod weather;
