//! `cladlog office`: many crews, one PostgreSQL. A build without the feature `office` says how to get one that has it.

#[cfg(feature = "office")]
mod commands;
#[cfg(not(feature = "office"))]
mod without;

#[cfg(feature = "office")]
pub use commands::{OfficeArgs, run};
#[cfg(not(feature = "office"))]
pub use without::{OfficeArgs, run};
