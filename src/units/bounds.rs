//! What a quantity may be, and the words of the refusal where it is not. Here stand the ranges that more than one room
//! keeps to; any other stands beside the sum that it belongs to.

use super::number::show;

/// What a quantity is called in messages, its unit, and the values it may take.
#[derive(Debug, Clone, Copy)]
pub struct Bounds {
    /// The words for it in a message, such as "air temperature".
    pub what: &'static str,
    /// The unit as written after a number, such as "°C".
    pub unit: &'static str,
    /// The least value that is taken.
    pub least: f64,
    /// The greatest value that is taken.
    pub most: f64,
}

/// A value outside its [`Bounds`].
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} {}{} {}{}", show(*.given), suffix(.unit), range(*.least, *.most), suffix(.unit))]
pub struct OutOfRange {
    /// The words for the quantity.
    pub what: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What was given.
    pub given: f64,
    /// The least value that is taken.
    pub least: f64,
    /// The greatest value that is taken.
    pub most: f64,
}

/// The range in words. A least value that is shown as 0 is one that 0 itself does not reach.
fn range(least: f64, most: f64) -> String {
    match show(least).as_str() {
        "0" if least > 0.0 => format!("must be above 0 and at most {}", show(most)),
        least => format!("is outside {least} to {}", show(most)),
    }
}

/// The unit after a number; a count has none.
fn suffix(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}

impl Bounds {
    /// Returns `value` when it lies within the bounds, both ends included.
    ///
    /// # Errors
    /// [`OutOfRange`] when it does not, or is not a number.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        if value >= self.least && value <= self.most {
            Ok(value)
        } else {
            Err(OutOfRange { what: self.what, unit: self.unit, given: value, least: self.least, most: self.most })
        }
    }
}

/// Shade air temperature on a site: the records for the Earth's surface lie inside it.
pub const AIR: Bounds = Bounds { what: "air temperature", unit: "°C", least: -60.0, most: 60.0 };
/// Surface temperature of a panel, dark ones in the sun included.
pub const SURFACE: Bounds = Bounds { what: "surface temperature", unit: "°C", least: -60.0, most: 110.0 };
/// Relative humidity: 0 has no dew point.
pub const HUMIDITY: Bounds = Bounds { what: "humidity", unit: "%", least: 0.000_001, most: 100.0 };
/// Wind speed.
pub const WIND: Bounds = Bounds { what: "wind", unit: "km/h", least: 0.0, most: 300.0 };
/// Any length measured or set out on one building, up to 200 m.
pub const LENGTH: Bounds = Bounds { what: "length", unit: "mm", least: -200_000.0, most: 200_000.0 };
/// An angle read on site.
pub const ANGLE: Bounds = Bounds { what: "angle", unit: "°", least: -360.0, most: 360.0 };
/// A share.
pub const PERCENT: Bounds = Bounds { what: "percentage", unit: "%", least: 0.0, most: 100.0 };
/// Things that are counted.
pub const COUNT: Bounds = Bounds { what: "count", unit: "", least: 0.0, most: 100_000.0 };
/// A bearing, clockwise from north.
pub const BEARING: Bounds = Bounds { what: "bearing", unit: "°", least: 0.0, most: 360.0 };
/// Latitude, north positive.
pub const LATITUDE: Bounds = Bounds { what: "latitude", unit: "°", least: -90.0, most: 90.0 };
/// Longitude, east positive.
pub const LONGITUDE: Bounds = Bounds { what: "longitude", unit: "°", least: -180.0, most: 180.0 };
/// How long a metre of joint takes: beyond that it is a slip of the keyboard.
pub const SEALING_RATE: Bounds = Bounds { what: "rate", unit: "min/m", least: 0.0, most: 1_000.0 };

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_count_has_no_unit() {
        assert_eq!(COUNT.check(100_001.0).unwrap_err().to_string(), "count 100001 is outside 0 to 100000");
        assert_eq!(HUMIDITY.check(0.0).unwrap_err().to_string(), "humidity 0 % must be above 0 and at most 100 %");
        assert_eq!(WIND.check(-1.0).unwrap_err().to_string(), "wind -1 km/h is outside 0 to 300 km/h");
    }
}
