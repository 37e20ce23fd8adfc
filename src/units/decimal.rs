//! Decimals as JSON numbers, for `#[serde(with = "decimal")]`: of hundredths the shortest number that reads back to the same.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Deserializer, Serializer};

/// The decimal that a number was written as; what can't be one is negative, which everything that reads one refuses.
pub fn exact(value: f64) -> Decimal {
    value.to_string().parse().unwrap_or(Decimal::NEGATIVE_ONE)
}

/// Writes a decimal.
///
/// # Errors
/// Those of the serialiser.
pub fn serialize<S: Serializer>(value: &Decimal, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(value.to_f64().unwrap_or_default())
}

/// Reads a decimal, by [`exact`].
///
/// # Errors
/// Those of the deserialiser.
pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Decimal, D::Error> {
    f64::deserialize(deserializer).map(exact)
}

/// The same, where there may be none.
pub mod option {
    use super::{Decimal, Deserialize, Deserializer, Serializer, exact};

    /// Writes a decimal, if there is one.
    ///
    /// # Errors
    /// Those of the serialiser.
    pub fn serialize<S: Serializer>(value: &Option<Decimal>, serializer: S) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => super::serialize(value, serializer),
            None => serializer.serialize_none(),
        }
    }

    /// Reads a decimal, if there is one.
    ///
    /// # Errors
    /// Those of the deserialiser.
    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Decimal>, D::Error> {
        Ok(Option::<f64>::deserialize(deserializer)?.map(exact))
    }
}
