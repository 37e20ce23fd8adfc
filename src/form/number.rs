//! The kinds of number.

use rust_decimal::Decimal;
use serde_json::{Value, json};
use toml::de::DeValue;

use super::reader::{Given, Kind};
use crate::units::Bounds;
use crate::units::number::show;

/// A number between two bounds, both included.
#[derive(Debug, Clone, Copy)]
pub struct Number(pub f64, pub f64);

impl Number {
    /// Between the bounds of a quantity.
    pub const fn within(bounds: Bounds) -> Self {
        Self(bounds.least, bounds.most)
    }
}

impl Kind for Number {
    type Value = f64;

    fn read(&self, given: &Given<'_>) -> Option<f64> {
        let Self(least, most) = *self;
        let number = match given.value() {
            // What is beyond all bounds is out of these.
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).map_or(f64::INFINITY, |n| n as f64),
            DeValue::Float(n) => n.as_str().parse().unwrap_or(f64::NAN),
            _ => return given.must_be("a number"),
        };
        if (least..=most).contains(&number) {
            return Some(number);
        }
        given.must_be(format_args!("{} to {}", show(least), show(most)))
    }

    fn schema(&self) -> Value {
        json!({ "type": "number", "minimum": self.0, "maximum": self.1 })
    }
}

/// A whole number between two bounds, both included.
#[derive(Debug, Clone, Copy)]
pub struct Count(pub u32, pub u32);

impl Kind for Count {
    type Value = u32;

    fn read(&self, given: &Given<'_>) -> Option<u32> {
        let number = Number(self.0.into(), self.1.into()).read(given)?;
        if number.fract() != 0.0 {
            return given.must_be("a whole number");
        }
        Some(number as u32)
    }

    fn schema(&self) -> Value {
        json!({ "type": "integer", "minimum": self.0, "maximum": self.1 })
    }
}

/// A number exactly as its digits are written.
#[derive(Debug, Clone, Copy)]
pub struct Exact;

impl Kind for Exact {
    type Value = Decimal;

    fn read(&self, given: &Given<'_>) -> Option<Decimal> {
        let digits = match given.value() {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).map(Decimal::from).ok(),
            DeValue::Float(n) => {
                let text = n.as_str().trim_start_matches('+').replace("e+", "e").replace("E+", "e");
                if text.contains("nan") || text.contains("inf") {
                    return given.must_be("a number");
                }
                match text.contains(['e', 'E']) {
                    true => Decimal::from_scientific(&text).ok(),
                    false => Decimal::from_str_exact(&text).ok(),
                }
            }
            _ => return given.must_be("a number"),
        };
        digits.or_else(|| given.wrong("is too large or has too many digits"))
    }

    fn schema(&self) -> Value {
        json!({ "type": "number" })
    }
}
