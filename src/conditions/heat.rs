//! C13, heat index: how hot damp air feels in the shade.
//!
//! U.S. National Weather Service, after Rothfusz, SR 90-23 (1990), as its forecasters compute it
//! (wpc.ncep.noaa.gov/html/heatindex_equation.shtml): a simple sum below 80 °F, the regression with two adjustments from
//! there on. For shade and light wind; direct sun can add 8 °C. The printed chart leaves the adjustments out, so
//! some of its corner cells differ by a degree or more. A caution, not a limit: local law comes first.

use crate::units::{Humidity, OutOfRange, Temperature, bounds};

/// The heat index of shade air; humidity above 0 and up to 100 %.
///
/// # Errors
/// [`OutOfRange`] when the air or the humidity is out of range.
///
/// # Example
/// ```
/// use cladlog::conditions::heat::heat_index;
/// use cladlog::units::{Humidity, Temperature};
/// // "88 °F and 60 % feel like 95 °F."
/// let index = heat_index(Temperature::celsius(31.11), Humidity::percent(60.0))?;
/// assert!((index.as_celsius() - 35.08).abs() < 0.05);
/// # Ok::<(), cladlog::units::OutOfRange>(())
/// ```
pub fn heat_index(air: Temperature, humidity: Humidity) -> Result<Temperature, OutOfRange> {
    let air = bounds::AIR.check(air.as_celsius())?;
    let percent = bounds::HUMIDITY.check(humidity.as_percent())?;
    Ok(celsius(index_f(air * 1.8 + 32.0, percent)))
}

fn celsius(fahrenheit: f64) -> Temperature {
    Temperature::celsius((fahrenheit - 32.0) / 1.8)
}

/// The formula in the units it was published in, °F and %.
fn index_f(t: f64, r: f64) -> f64 {
    let simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094);
    let simple = 0.5 * (simple + t);
    if simple < 80.0 {
        return simple;
    }
    let regression =
        -42.379 + 2.04901523 * t + 10.14333127 * r - 0.22475541 * t * r - 0.00683783 * t * t - 0.05481717 * r * r
            + 0.00122874 * t * t * r
            + 0.00085282 * t * r * r
            - 0.00000199 * t * t * r * r;
    if r < 13.0 && (80.0..=112.0).contains(&t) {
        regression - (13.0 - r) / 4.0 * ((17.0 - (t - 95.0).abs()) / 17.0).sqrt()
    } else if r > 85.0 && (80.0..=87.0).contains(&t) {
        regression + (r - 85.0) / 10.0 * (87.0 - t) / 5.0
    } else {
        regression
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn index(f: f64, percent: f64) -> f64 {
        heat_index(celsius(f), Humidity::percent(percent)).unwrap().as_celsius() * 1.8 + 32.0
    }

    /// (°F, %, exact by MetPy 1.7.1 or the formula, cell of the NWS chart where it has one).
    const ROWS: [(f64, f64, f64, Option<f64>); 11] = [
        (80.0, 40.0, 79.79, Some(80.0)),
        (88.0, 60.0, 95.15, Some(95.0)),
        (90.0, 60.0, 99.68, Some(100.0)),
        (96.0, 50.0, 107.64, Some(108.0)),
        (96.0, 65.0, 121.03, Some(121.0)),
        (100.0, 40.0, 109.26, Some(109.0)),
        (100.0, 55.0, 123.64, Some(124.0)),
        (110.0, 40.0, 135.66, Some(136.0)),
        // The dry and the damp adjustment.
        (100.0, 10.0, 94.12, None),
        (84.0, 90.0, 98.34, Some(98.0)),
        // The chart prints 91 here: it leaves the adjustment out.
        (82.0, 90.0, 91.99, None),
    ];

    #[test]
    fn rows_of_the_weather_service_chart() {
        for (t, r, exact, chart) in ROWS {
            assert!((index(t, r) - exact).abs() < 0.0051, "{t} {r}: {}", index(t, r));
            assert!(chart.is_none_or(|cell| index(t, r).round() == cell), "{t} {r}");
        }
    }

    #[test]
    fn air_and_humidity_out_of_range_are_named() {
        let said =
            |c, percent| heat_index(Temperature::celsius(c), Humidity::percent(percent)).unwrap_err().to_string();
        assert_eq!(said(95.0, 50.0), "air temperature 95 °C is outside -60 to 60 °C");
        assert_eq!(said(30.0, 130.0), "humidity 130 % must be above 0 and at most 100 %");
    }

    proptest::proptest! {
        #[test]
        fn every_air_has_an_index(c in -60.0f64..=60.0, percent in 0.001f64..=100.0) {
            let index = heat_index(Temperature::celsius(c), Humidity::percent(percent)).unwrap().as_celsius();
            proptest::prop_assert!(index.is_finite());
        }

        #[test]
        fn warmer_air_feels_warmer(f in 88.0f64..110.0, percent in 40.0f64..80.0) {
            proptest::prop_assert!(index(f + 1.0, percent) > index(f, percent));
        }
    }
}
