//! C10.

use cladlog::conditions::dew::{dew_point, humidity, margin, saturation_pressure_hpa};
use cladlog::units::{Humidity, Temperature};

use super::{answer, printed, refused};

fn dew(air: f64, percent: f64) -> f64 {
    dew_point(Temperature::celsius(air), Humidity::percent(percent)).unwrap().as_celsius()
}

/// (air °C, %, this formula, PsychroLib 2.5.0 = ASHRAE, MetPy 1.7.1 = Ambaum): the last two are independent formulations.
const ROWS: [(f64, f64, f64, f64, f64); 8] = [
    (5.0, 85.0, 2.686, 2.691, 2.682),
    (10.0, 50.0, 0.041, 0.063, 0.048),
    (15.0, 60.0, 7.292, 7.307, 7.295),
    (20.0, 60.0, 11.995, 12.007, 11.993),
    (25.0, 80.0, 21.307, 21.309, 21.286),
    (30.0, 70.0, 23.927, 23.928, 23.894),
    (35.0, 40.0, 19.384, 19.385, 19.345),
    (20.0, 100.0, 20.0, 20.0, 19.985),
];

#[test]
fn dew_points_of_two_other_libraries() {
    for (air, percent, own, psychrolib, metpy) in ROWS {
        let found = dew(air, percent);
        assert!((found - own).abs() < 0.0006, "{air} {percent}: {found}");
        assert!((found - psychrolib).abs() < 0.05 && (found - metpy).abs() < 0.05, "{air} {percent}: {found}");
    }
}

#[test]
fn over_water_below_freezing_too() {
    // By the formula over water; PsychroLib goes over to ice and says −1.273.
    assert!((dew(0.0, 90.0) + 1.445).abs() < 0.001);
}

#[test]
fn humidity_and_pressure_from_the_formula() {
    // PsychroLib 2.5.0: 52.505, 53.813 and 74.640 %; e_s(20 °C) 23.388 hPa.
    for (air, dew, own, psychrolib) in
        [(20.0, 10.0, 52.561, 52.505), (25.0, 15.0, 53.849, 53.813), (30.0, 25.0, 74.640, 74.640)]
    {
        let percent = humidity(Temperature::celsius(air), Temperature::celsius(dew)).unwrap().as_percent();
        assert!((percent - own).abs() < 0.001 && (percent - psychrolib).abs() < 0.1);
    }
    assert!((saturation_pressure_hpa(Temperature::celsius(20.0)).unwrap() - 23.326).abs() < 0.001);
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
    assert_eq!(
        printed("dew --air 25 --humidity 60 --surface 18"),
        "Dew point  16.7 °C\nMargin     1.3 °C, surface over dew point\n\
         Too near the dew point: the surface has to reach 19.7 °C (3 °C over it).\n"
    );
    // Any humidity above nought is taken.
    assert!(answer("dew --air 20 --humidity 0.01")["dew_point_c"].as_f64().unwrap() < -60.0);
}

#[test]
fn bad_air_gets_one_clear_message() {
    let said = "cladlog: humidity 130 % is not above 0 and up to 100 %\n";
    assert_eq!(refused("dew --air 20 --humidity 130"), said);
    assert!(refused("dew --air 20 --humidity 0").contains("humidity 0 % is not above 0"));
    assert_eq!(
        refused("dew --air -273.15 --humidity 50"),
        "cladlog: air temperature -273.15 °C is outside -60 to 60 °C\n"
    );
    assert!(refused("dew --air NaN --humidity 50").contains("'NaN' is not a number that can be measured"));
    assert!(refused("dew --air 2,5 --humidity 50").contains("'2,5' has a comma"));
    assert!(refused("dew --air 20").contains("--humidity <PCT>"));
    assert!(refused("dew --air 20 --humidity 50 --surface 900").contains("surface temperature 900 °C is outside"));
}
