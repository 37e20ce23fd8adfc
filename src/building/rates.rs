//! What work is paid at: the rates of a job file. They are the crew's own business and no part of the record.

use serde::{Deserialize, Serialize};

use super::job_file::JOB_SHAPE;
use crate::form::{Field, Kind, Mistake, Section, Shape, Sheet};

/// Words for what a rate is paid by.
const UNITS: &[&str] = &["m2", "m", "each"];

/// Greatest price of one unit.
const MOST_PRICE: f64 = 1_000_000.0;

/// The shape of a rate in a job file.
pub(super) static RATE: Shape = Shape {
    name: "rate",
    doc: "What a stage is paid at; kept beside the record, never in it",
    fields: &[
        Field::needed("stage", Kind::Key, "key of a stage of the sequence"),
        Field::needed("unit", Kind::OneOf(UNITS), "what it is paid by: m2 of wall net of openings, m of joint, each"),
        Field::needed("price", Kind::Number(0.0, MOST_PRICE), "price of one unit"),
        Field::needed("currency", Kind::Name, "three letters, as in \"NZD\""),
    ],
};

/// A rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Key of the stage.
    pub stage: String,
    /// m2, m or each.
    pub unit: String,
    /// Price of one unit.
    pub price: f64,
    /// Currency, three letters (ISO 4217).
    pub currency: String,
}

/// Reads the rates of a job file.
///
/// # Errors
/// Every mistake in it, with line and column.
pub fn read_rates(text: &str) -> Result<Vec<Rate>, Vec<Mistake>> {
    Sheet::read(text, &JOB_SHAPE, rates)
}

/// The rates of a job file that is being read.
pub(super) fn rates(top: &Section<'_, '_>) -> Vec<Rate> {
    let mut read: Vec<Rate> = Vec::new();
    for section in top.tables("rate") {
        let rate = Rate {
            stage: section.text("stage").to_owned(),
            unit: section.text("unit").to_owned(),
            price: section.number("price").unwrap_or(0.0),
            currency: section.text("currency").to_owned(),
        };
        let letters = rate.currency.len() == 3 && rate.currency.chars().all(|c| c.is_ascii_uppercase());
        if section.has("currency") && !letters {
            section.mistake(section.spot_of("currency"), "a currency is three capital letters, as in \"NZD\"");
        }
        if read.iter().any(|other| (&other.stage, &other.unit) == (&rate.stage, &rate.unit)) {
            let what = format!("stage '{}' has a rate by {} already", rate.stage, rate.unit);
            section.mistake(section.spot_of("stage"), what);
        }
        if let Some(first) = read.first().filter(|first| first.currency != rate.currency && letters) {
            let what = format!("one job is paid in one currency: the first rate is in {}", first.currency);
            section.mistake(section.spot_of("currency"), what);
        }
        read.push(rate);
    }
    read
}
