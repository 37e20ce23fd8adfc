//! The sequences that come with the program, from `checklists/`.

use super::read::read;
use crate::materials::allowances::{Allowance, Measure};

/// Key and text of each.
pub static SHIPPED: &[(&str, &str)] = &[
    ("panels-on-clips", include_str!("../../checklists/panels-on-clips.toml")),
    ("planks-lapped", include_str!("../../checklists/planks-lapped.toml")),
    ("weatherboards-cavity", include_str!("../../checklists/weatherboards-cavity.toml")),
];

/// The text of the shipped sequence of this key.
pub fn shipped(key: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(shipped, _)| *shipped == key).map(|(_, text)| *text)
}

/// What stands in for the allowances of a sequence that has none: those of the first that comes with the program.
pub fn usual_allowances() -> Vec<Allowance> {
    let first = SHIPPED.first().and_then(|(_, text)| read(text).ok());
    let mut usual = first.map(|sequence| sequence.allowances).unwrap_or_default();
    // Boards are what the other sequence hangs.
    usual.iter_mut().filter(|allowance| allowance.per == Measure::Board).for_each(|boards| boards.product = None);
    usual
}
