//! What work is paid at: the rates of a job file. They are the crew's own business and no part of the record.

use serde::{Deserialize, Serialize};

use crate::form::{Checked, Key, Name, Number, Section, tables, word};

/// What work is measured in and paid by.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    strum::Display,
    strum::EnumString,
    strum::IntoStaticStr,
    strum::VariantNames,
)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum Unit {
    /// Square metres of wall, net of openings.
    M2,
    /// Metres of what is sealed, or of starter line.
    M,
    /// Openings and corners, counted.
    Each,
}

impl Unit {
    /// For people.
    pub fn sign(self) -> &'static str {
        match self {
            Self::M2 => "m²",
            Self::M => "m",
            Self::Each => "each",
        }
    }
}

/// A rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Key of the stage.
    pub stage: String,
    /// What it is paid by.
    pub unit: Unit,
    /// Price of one unit.
    pub price: f64,
    /// Currency, three letters (ISO 4217).
    pub currency: String,
}

/// The rates of a job file.
pub(super) fn rates(top: &Section<'_>) -> Vec<Rate> {
    let rates = top.or_default("rate", tables("rate", rate), "what the work is paid at, one [[rate]] each");
    let rates: Vec<(Rate, [usize; 2])> = rates.into_iter().flatten().collect();
    for (place, (rate, [stage_at, currency_at])) in rates.iter().enumerate() {
        if rates[..place].iter().any(|(other, _)| (&other.stage, other.unit) == (&rate.stage, rate.unit)) {
            top.mistake_at(*stage_at, format!("stage '{}' already has a rate by {}", rate.stage, rate.unit));
        }
        if rate.currency != rates[0].0.currency {
            let first = &rates[0].0.currency;
            top.mistake_at(*currency_at, format!("a job is paid in one currency; the first rate is in {first}"));
        }
    }
    rates.into_iter().map(|(rate, _)| rate).collect()
}

/// A rate and where its stage and its currency stand; kept beside the record, never in it.
fn rate(f: &Section<'_>) -> Option<(Rate, [usize; 2])> {
    let letters = |text: String| match text.len() == 3 && text.chars().all(|c| c.is_ascii_uppercase()) {
        true => Ok(text),
        false => Err("must be three capital letters, as in \"NZD\"".into()),
    };
    let stage = f.required("stage", Key, "key of a stage of the sequence");
    let unit = f.try_required(
        "unit",
        word(),
        "what it is paid by: m2 of wall net of openings, m of sealed joint or of starter line, each",
    );
    let price = f.required("price", Number(0.0, 1_000_000.0), "price of one unit");
    let currency = f.try_required("currency", Checked(Name, letters), "three letters, as in \"NZD\"");
    Some((Rate { stage, unit: unit?, price, currency: currency? }, ["stage", "currency"].map(|key| f.at(key))))
}
