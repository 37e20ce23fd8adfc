//! The paired phones: who they belong to, and the secrets by which they are known again.

mod file;
mod token;

pub use file::{CODE_LIVES, Phone, Phones, PhonesError, new_id};
pub use token::{FormToken, PlainToken, random_bytes};
