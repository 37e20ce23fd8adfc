//! C11: the place of the sun and its incidence.

use cladlog::conditions::sun::{Place, SunPosition, position};
use cladlog::units::Angle;
use proptest::prelude::*;

use super::{answer, fixture, number};

fn at(latitude: f64, longitude: f64, time: &str) -> SunPosition {
    let place = Place::new(Angle::degrees(latitude), Angle::degrees(longitude)).unwrap();
    position(&place, &cladlog::moment::Moment::parse_from_rfc3339(time).unwrap()).unwrap()
}

fn incidence(sun: &SunPosition, bearing: f64) -> f64 {
    sun.incidence(Angle::degrees(bearing)).unwrap().as_degrees()
}

/// The angle between two directions, each by elevation and azimuth.
fn apart(one: (f64, f64), other: (f64, f64)) -> f64 {
    let vector = |(elevation, azimuth): (f64, f64)| {
        let (e, a) = (elevation.to_radians(), azimuth.to_radians());
        [e.cos() * a.sin(), e.cos() * a.cos(), e.sin()]
    };
    let squares = vector(one).into_iter().zip(vector(other)).map(|(a, b)| (a - b) * (a - b));
    squares.sum::<f64>().sqrt().to_degrees()
}

#[test]
fn the_worked_example_of_the_algorithms_report() {
    // NREL/TP-560-34302, Table A5.1: 2003-10-17 12:30:30 at −07:00, 39.742476 N, 105.1786 W, 1830 m, 820 hPa, 11 °C:
    // zenith 50.11162°, azimuth 194.34024°. We stand at sea level under 1013.25 hPa, so the azimuth and the unrefracted
    // height are compared (zenith without refraction at 1830.14 m: 50.127954 by pvlib 0.16.1; parallax of the height
    // is under 0.00001°).
    let sun = at(39.742476, -105.1786, "2003-10-17T12:30:30-07:00");
    assert!((sun.azimuth.as_degrees() - 194.34024).abs() < 0.0003, "{sun:?}");
    assert!((90.0 - sun.true_elevation.as_degrees() - 50.127954).abs() < 0.0003, "{sun:?}");
    // Upright walls at the same instant, by pvlib 0.16.1 with 820 hPa: 0.01° for the different air.
    for (bearing, published) in [
        (0.0, 138.0208),
        (90.0, 100.9553),
        (135.0, 66.9662),
        (180.0, 41.9792),
        (225.0, 48.6974),
        (270.0, 79.0447),
        (315.0, 113.0338),
    ] {
        assert!((incidence(&sun, bearing) - published).abs() < 0.01, "{bearing}: {}", incidence(&sun, bearing));
    }
}

#[test]
fn wellington_has_its_sun_in_the_north() {
    // pvlib 0.16.1 at 41.29 S 174.78 E, UTC+12: true elevation, azimuth, incidence on walls N, E, S, W (at 15 °C).
    for (time, elevation, azimuth, walls) in [
        ("2026-12-21T10:00:00+12:00", 56.0421, 69.1109, [78.515, 58.552, 101.485, 121.448]),
        ("2026-12-21T13:00:00+12:00", 70.1653, 331.0222, [72.738, 99.459, 107.262, 80.541]),
        ("2026-06-21T09:00:00+12:00", 10.0613, 46.0936, [46.951, 44.830, 133.049, 135.170]),
        ("2026-06-21T12:00:00+12:00", 25.0585, 5.7198, [25.696, 84.822, 154.304, 95.178]),
        ("2026-03-20T15:00:00+12:00", 36.5237, 310.1546, [58.798, 127.881, 121.202, 52.119]),
    ] {
        let sun = at(-41.29, 174.78, time);
        assert!(
            apart((sun.true_elevation.as_degrees(), sun.azimuth.as_degrees()), (elevation, azimuth)) < 0.0003,
            "{time}"
        );
        for (bearing, published) in [0.0, 90.0, 180.0, 270.0].into_iter().zip(walls) {
            assert!((incidence(&sun, bearing) - published).abs() < 0.01, "{time} {bearing}");
            assert_eq!(sun.lights(Angle::degrees(bearing)).unwrap(), published < 90.0);
        }
    }
}

#[test]
fn incidence_on_an_upright_wall_is_the_textbook_product() {
    // cos i = cos(altitude) · cos(azimuth difference); altitude 25.2°, difference 48.3°: 52.993° by exact arithmetic on the
    // inputs of coursehero.com/file/6100400 (there worked for a tilt of 40°).
    let sun = SunPosition {
        elevation: Angle::degrees(25.2),
        true_elevation: Angle::degrees(25.2),
        azimuth: Angle::degrees(48.3),
    };
    assert!((incidence(&sun, 0.0) - 52.993).abs() < 0.001);
}

#[test]
fn random_places_and_dates_of_pvlib() {
    // fixtures/pvlib_sun.py, pvlib 0.16.1: 300 rows over all latitudes, 1990 to 2050.
    let mut lit = 0;
    for row in fixture("positions.csv") {
        let [latitude, longitude, time, bearing, elevation, true_elevation, azimuth, across] =
            row.try_into().expect("eight columns");
        let sun = at(number(&latitude), number(&longitude), &time);
        let seen = (sun.elevation.as_degrees(), sun.azimuth.as_degrees());
        assert!(apart(seen, (number(&elevation), number(&azimuth))) < 0.0003, "{time} {latitude} {longitude}: {sun:?}");
        assert!((sun.true_elevation.as_degrees() - number(&true_elevation)).abs() < 0.0003, "{time}");
        assert!((incidence(&sun, number(&bearing)) - number(&across)).abs() < 0.0005, "{time} {bearing}");
        lit += usize::from(sun.lights(Angle::degrees(number(&bearing))).unwrap());
    }
    assert!((40..150).contains(&lit), "the rows see both light and shade: {lit}");
}

#[test]
fn the_command_takes_southern_and_western_places() {
    let sun = answer("sun --lat -43.5 --lon -172.6 --at 2026-06-21T12:00:00+12:00 --bearing 0");
    let keys: Vec<&String> = sun.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["azimuth_deg", "elevation_deg", "incidence_deg", "lit"]);
    // Refracted at 1013.25 hPa and 12 °C, to the last of our digits: pvlib 0.16.1 says the same to 0.0003°.
    let low = answer("sun --lat -41.29 --lon 174.78 --at 2026-06-21T09:00:00+12:00");
    assert!((low["elevation_deg"].as_f64().unwrap() - 10.1509).abs() < 0.001, "{low}");
    assert_eq!(low.as_object().unwrap().len(), 2, "no bearing, no incidence and no verdict");
}

#[test]
fn a_sun_below_the_horizon_lights_nothing_and_is_not_refracted() {
    // Tromsø, polar night: the question has an answer.
    let night = answer("sun --lat 69.65 --lon 18.96 --at 2026-12-21T12:00:00+01:00 --bearing 180");
    assert_eq!(night["lit"], false);
    assert!(night["elevation_deg"].as_f64().unwrap() < -2.0);
    assert!(night["incidence_deg"].as_f64().unwrap() < 90.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]
    #[test]
    fn walls_back_to_back_share_the_sun(
        latitude in -90.0f64..=90.0, longitude in -180.0f64..=180.0, second in 0i64..3_000_000_000, bearing in 0.0f64..180.0,
    ) {
        let time = chrono::DateTime::from_timestamp(second, 0).unwrap().to_rfc3339();
        let sun = at(latitude, longitude, &time);
        let (front, back) = (Angle::degrees(bearing), Angle::degrees(bearing + 180.0));
        // Opposite normals: the angles add up to half a turn, and at most one of the two is lit.
        prop_assert!((incidence(&sun, bearing) + incidence(&sun, bearing + 180.0) - 180.0).abs() < 1e-9);
        prop_assert!(!(sun.lights(front).unwrap() && sun.lights(back).unwrap()));
        prop_assert!(sun.elevation >= sun.true_elevation && (0.0..360.0).contains(&sun.azimuth.as_degrees()));
    }
}
