//! C10, dew point: where air drops its water on a surface.
//!
//! Magnus form over water with the constants of WMO-No. 8 (Guide to Instruments and Methods of Observation),
//! Annex 4.B, after Sonntag (1990):
//!
//! ```text
//! e_s(t) = 6.112 hPa · exp(17.62 · t / (243.12 + t))
//! g      = ln(humidity / 100) + 17.62 · t / (243.12 + t)
//! t_d    = 243.12 · g / (17.62 − g)
//! ```
//!
//! The guide gives them for −45 to 60 °C. They are used over water at every temperature, below 0 °C too: that is what
//! humidity sensors report against, and what falls on a wall as dew.

use serde::Serialize;

use crate::units::{Humidity, OutOfRange, Temperature, bounds};

/// Slope of the Magnus exponent over water (WMO-No. 8, Annex 4.B).
const SLOPE: f64 = 17.62;
/// Offset of the Magnus exponent over water, °C (WMO-No. 8, Annex 4.B).
const OFFSET_C: f64 = 243.12;

/// How far a surface has to stand over the dew point before it is coated, primed or sealed: 3 °C.
///
/// The rule of the coating trade (elcometer.com, "What is dewpoint?"); 5 °F in American guides.
pub const LEAST_MARGIN: Temperature = Temperature::celsius(3.0);

/// Sums of decimals such as 23.1 − 20.1 must not fall short of 3 by the last bit of a float.
const FUZZ_C: f64 = 1e-9;

/// The margin of a surface over the dew point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DewMargin {
    /// The dew point.
    #[serde(rename = "dew_point_c")]
    pub dew_point: Temperature,
    /// Surface less dew point, °C; negative when the surface is wet already.
    #[serde(rename = "margin_c")]
    pub margin: Temperature,
    /// Whether the margin is at least [`LEAST_MARGIN`].
    pub ok: bool,
}

/// The dew point of air, over water at every temperature; never above the air itself.
///
/// `air` from −60 to 60 °C (the formula is published for −45 to 60 °C), `humidity` above 0 and up to 100 %.
///
/// # Errors
/// [`OutOfRange`] when either is outside its range or not a number.
///
/// # Example
/// ```
/// use cladlog::conditions::dew::dew_point;
/// use cladlog::units::{Humidity, Temperature};
/// let dew = dew_point(Temperature::celsius(25.0), Humidity::percent(60.0))?;
/// assert!((dew.as_celsius() - 16.69).abs() < 0.01);
/// // Saturated air is at its dew point.
/// let fog = dew_point(Temperature::celsius(8.3), Humidity::percent(100.0))?;
/// assert_eq!(fog, Temperature::celsius(8.3));
/// # Ok::<(), cladlog::units::OutOfRange>(())
/// ```
pub fn dew_point(air: Temperature, humidity: Humidity) -> Result<Temperature, OutOfRange> {
    let air_c = bounds::AIR.check(air.as_celsius())?;
    let percent = bounds::HUMIDITY.check(humidity.as_percent())?;
    if percent == 100.0 {
        return Ok(air);
    }
    let g = (percent / 100.0).ln() + exponent(air_c);
    Ok(Temperature::celsius((OFFSET_C * g / (SLOPE - g)).min(air_c)))
}

/// How far `surface` stands over the dew point of the air round it, and whether that is enough to coat it.
///
/// `surface` from −60 to 110 °C; the air as for [`dew_point`].
///
/// # Errors
/// [`OutOfRange`] when a value is outside its range or not a number.
///
/// # Example
/// ```
/// use cladlog::conditions::dew::margin;
/// use cladlog::units::{Humidity, Temperature};
/// // A cool wall on a mild, damp morning: 2.3 °C over the dew point is too little.
/// let wall = margin(Temperature::celsius(13.0), Temperature::celsius(16.0), Humidity::percent(71.0))?;
/// assert!(!wall.ok);
/// # Ok::<(), cladlog::units::OutOfRange>(())
/// ```
pub fn margin(surface: Temperature, air: Temperature, humidity: Humidity) -> Result<DewMargin, OutOfRange> {
    let dew_point = dew_point(air, humidity)?;
    bounds::SURFACE.check(surface.as_celsius())?;
    let margin = surface - dew_point;
    Ok(DewMargin { dew_point, margin, ok: margin.as_celsius() >= LEAST_MARGIN.as_celsius() - FUZZ_C })
}

/// The Magnus exponent at `t` °C.
fn exponent(t: f64) -> f64 {
    SLOPE * t / (OFFSET_C + t)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dew(air: f64, percent: f64) -> f64 {
        dew_point(Temperature::celsius(air), Humidity::percent(percent)).unwrap().as_celsius()
    }

    #[test]
    fn what_has_no_dew_point_is_named() {
        let error =
            |air, percent| dew_point(Temperature::celsius(air), Humidity::percent(percent)).unwrap_err().to_string();
        assert_eq!(error(20.0, 130.0), "humidity 130 % must be above 0 and at most 100 %");
        assert_eq!(error(20.0, 0.0), "humidity 0 % must be above 0 and at most 100 %");
        assert_eq!(error(20.0, f64::NAN), "humidity not a number % must be above 0 and at most 100 %");
        assert_eq!(error(-273.15, 50.0), "air temperature -273.15 °C is outside -60 to 60 °C");
    }

    #[test]
    fn three_degrees_exactly_is_enough_whatever_the_float() {
        for tenths in -200..=400 {
            let air = f64::from(tenths) / 10.0;
            let surface = f64::from(tenths + 30) / 10.0;
            let wall = margin(Temperature::celsius(surface), Temperature::celsius(air), Humidity::percent(100.0));
            assert!(wall.unwrap().ok, "{air}");
        }
    }

    proptest::proptest! {
        #[test]
        fn damper_air_has_a_higher_dew_point_and_none_above_itself(air in -60.0f64..60.0, percent in 0.001f64..99.0) {
            let (dry, damp) = (dew(air, percent), dew(air, percent + 1.0));
            proptest::prop_assert!(dry < damp && damp <= air);
        }
    }
}
