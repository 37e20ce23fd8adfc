//! C10.

use cladlog::conditions::dew::{dew_point, margin};
use cladlog::units::{Humidity, Temperature};

use super::answer;

fn dew(air: f64, percent: f64) -> f64 {
    dew_point(Temperature::celsius(air), Humidity::percent(percent)).unwrap().as_celsius()
}

/// (air °C, %, PsychroLib 2.5.0 = ASHRAE, MetPy 1.7.1 = Ambaum), two formulations other than this one.
const ROWS: [(f64, f64, f64, f64); 8] = [
    (5.0, 85.0, 2.691, 2.682),
    (10.0, 50.0, 0.063, 0.048),
    (15.0, 60.0, 7.307, 7.295),
    (20.0, 60.0, 12.007, 11.993),
    (25.0, 80.0, 21.309, 21.286),
    (30.0, 70.0, 23.928, 23.894),
    (35.0, 40.0, 19.385, 19.345),
    (20.0, 100.0, 20.0, 19.985),
];

#[test]
fn dew_points_of_two_other_libraries() {
    for (air, percent, psychrolib, metpy) in ROWS {
        let found = dew(air, percent);
        assert!((found - psychrolib).abs() < 0.05 && (found - metpy).abs() < 0.05, "{air} {percent}: {found}");
    }
}

/// The definition, by the equation as WMO-No. 8, Annex 4.B prints it: where air cooled down has the vapour pressure that
/// it held before. Found by halving, not by the closed form.
#[test]
fn dew_points_by_their_definition() {
    let pressure = |t: f64| 6.112 * (17.62 * t / (243.12 + t)).exp();
    // hPa at 20 °C and 35 °C by PsychroLib 2.5.0 and MetPy 1.7.1.
    for (air, psychrolib, metpy) in [(20.0, 23.388, 23.347), (35.0, 56.278, 56.094)] {
        let found = pressure(air);
        assert!((found / psychrolib - 1.0).abs() < 0.005 && (found / metpy - 1.0).abs() < 0.005, "{air}: {found}");
    }
    for (air, percent) in ROWS.iter().map(|row| (row.0, row.1)).chain([(-40.0, 30.0), (0.0, 90.0), (60.0, 5.0)]) {
        let held = pressure(air) * percent / 100.0;
        let (mut low, mut high) = (-150.0, air);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if pressure(middle) < held { low = middle } else { high = middle }
        }
        assert!((dew(air, percent) - high).abs() < 1e-9, "{air} {percent}: {high}");
    }
}

#[test]
fn over_water_below_freezing_too() {
    // MetPy 1.7.1, over water as well: -1.453, -14.451 and -22.583. PsychroLib goes over to ice and says -1.273.
    for (air, percent, metpy) in [(0.0, 90.0, -1.453), (-10.0, 70.0, -14.451), (-20.0, 80.0, -22.583)] {
        assert!((dew(air, percent) - metpy).abs() < 0.05, "{air} {percent}: {}", dew(air, percent));
    }
}

#[test]
fn dew_points_that_two_other_libraries_gave_humidities_for() {
    // (air °C, dew point °C, % by PsychroLib 2.5.0, by MetPy 1.7.1).
    for (air, wanted, psychrolib, metpy) in
        [(20.0, 10.0, 52.505, 52.539), (25.0, 15.0, 53.813, 53.856), (30.0, 25.0, 74.640, 74.678)]
    {
        for percent in [psychrolib, metpy] {
            assert!((dew(air, percent) - wanted).abs() < 0.05, "{air} {percent}: {}", dew(air, percent));
        }
    }
}

#[test]
fn coating_charts_and_their_verdicts() {
    // Coating guide "Ambient Application Conditions": air 16 °C, 71 %, surface 13 °C: dew point 11, margin 2, do not coat.
    let wall = margin(Temperature::celsius(13.0), Temperature::celsius(16.0), Humidity::percent(71.0)).unwrap();
    assert!((wall.dew_point.as_celsius() - 11.0).abs() < 1.0 && !wall.ok);
    // The same guide, dry bulb 21 °C and wet bulb 17 °C (66.8 % by PsychroLib), surface 19 °C: dew point 15, margin 4, may coat.
    let wall = margin(Temperature::celsius(19.0), Temperature::celsius(21.0), Humidity::percent(66.8)).unwrap();
    assert!((wall.dew_point.as_celsius() - 15.0).abs() < 1.0 && wall.ok);
    // Charts that cut to whole degrees: handypdf.com 70 °F 65 % 57 °F; scribd.com/557686649 80 °F 50 % 59 °F;
    // ranachem.com 24 °C 35 % 7 °C.
    let fahrenheit = |f: f64, percent| dew((f - 32.0) / 1.8, percent) * 1.8 + 32.0;
    assert_eq!(fahrenheit(70.0, 65.0).floor(), 57.0);
    assert_eq!(fahrenheit(80.0, 50.0).floor(), 59.0);
    assert_eq!(dew(24.0, 35.0).floor(), 7.0);
}

#[test]
fn the_command_gives_margin_and_verdict_and_exits_well_either_way() {
    let wet = answer("dew --air 25 --humidity 60 --surface 18");
    assert!((wet["dew_point_c"].as_f64().unwrap() - 16.693).abs() < 0.001);
    assert!((wet["margin_c"].as_f64().unwrap() - 1.307).abs() < 0.001);
    assert_eq!(wet["ok"], false);
    assert_eq!(answer("dew --air 25 --humidity 60 --surface 20")["ok"], true);
    // Without a surface there is no margin to speak of, and no key for it.
    assert_eq!(answer("dew --air -5 --humidity 100"), serde_json::json!({ "dew_point_c": -5.0 }));
    // Any humidity above 0 is accepted.
    assert!(answer("dew --air 20 --humidity 0.01")["dew_point_c"].as_f64().unwrap() < -60.0);
}
