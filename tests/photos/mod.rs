//! Photos: taken in by what is in the file, kept whole, flagged where they do not fit, and without their place
//! where that is wanted.

mod files;
mod heic;
mod hostile;
mod merged;
#[cfg(unix)]
mod packed;
pub mod record;
