//! The rules R1 to R15: each has tests named after it, on the real binary with a fixed clock.

mod properties;
mod record;
pub mod site;
mod windows;
mod work;
