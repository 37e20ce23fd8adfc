//! C11, where the sun stands, and how its light strikes a wall.
//!
//! The position is the Solar Position Algorithm of Reda and Andreas (NREL/TP-560-34302, revised 2008), good to
//! 0.0003° for the years taken here, from the `solar-positioning` crate. Observer at sea level. Refraction is the
//! report's own, at 1013.25 hPa and 12 °C; as in the report it is left out once the sun's centre is geometrically
//! more than 0.83° below the horizon, when no part of the disc can be seen.
//!
//! The time between terrestrial time and the clock (ΔT) is estimated from the date; an error of a second in it moves
//! the sun by 0.00001°.

use chrono::Datelike;
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, RefractionCorrection, SolarPositions, delta_t};

use crate::building::Job;
use crate::moment::Moment;
use crate::units::{Angle, Bounds, OutOfRange, bounds, number::show};

/// The sun counts as up while its centre, unrefracted, is above this: upper limb on a sea horizon.
///
/// 34′ of refraction and 16′ of half the disc: the definition of published sunrise tables (U.S. Naval Observatory).
pub const UPPER_LIMB: Angle = Angle::degrees(-0.8333);

/// The sun's centre, unrefracted, at the beginning of morning and the end of evening civil twilight.
pub const CIVIL_TWILIGHT: Angle = Angle::degrees(-6.0);

/// Half the disc of the sun, °.
pub(super) const HALF_DISC_DEG: f64 = 16.0 / 60.0;

/// Air pressure and temperature that refraction is reckoned for.
const PRESSURE_HPA: f64 = 1013.25;
const AIR_C: f64 = 12.0;

/// The years whose ΔT can be estimated.
const YEARS: Bounds = Bounds { what: "year", unit: "AD", least: 1.0, most: 2999.0 };

/// Why the sun was not placed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SunError {
    /// Latitude, longitude, bearing or horizon outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A year for which the sun's position is not known well enough.
    #[error("the year {0}: sun positions are available for the years {least} to {most} only", least = show(YEARS.least), most = show(YEARS.most))]
    Year(i32),
    /// The library under this refused; none of the checked inputs is known to bring it about.
    #[error("the sun's position can't be worked out: {0}")]
    Position(String),
}

impl From<solar_positioning::Error> for SunError {
    fn from(error: solar_positioning::Error) -> Self {
        Self::Position(error.to_string())
    }
}

/// A place on the Earth, at sea level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    latitude: Angle,
    longitude: Angle,
}

impl Place {
    /// A place by latitude (north positive, −90° to 90°) and longitude (east positive, −180° to 180°).
    ///
    /// # Errors
    /// [`SunError::OutOfRange`] when either is outside its range or not a number.
    pub fn new(latitude: Angle, longitude: Angle) -> Result<Self, SunError> {
        bounds::LATITUDE.check(latitude.as_degrees())?;
        bounds::LONGITUDE.check(longitude.as_degrees())?;
        Ok(Self { latitude, longitude })
    }

    /// The place of a job; nothing where the job does not say where it is.
    ///
    /// # Errors
    /// As [`Place::new`].
    pub fn of_job(job: &Job) -> Result<Option<Self>, SunError> {
        let degrees = job.latitude_deg.zip(job.longitude_deg);
        degrees.map(|(latitude, longitude)| Self::new(Angle::degrees(latitude), Angle::degrees(longitude))).transpose()
    }

    fn location(&self) -> Location {
        Location { latitude: self.latitude.as_degrees(), longitude: self.longitude.as_degrees() }
    }
}

/// Where the sun's centre stands, seen from one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Height over the horizon as seen, with refraction.
    pub elevation: Angle,
    /// Height over the horizon by geometry alone.
    pub true_elevation: Angle,
    /// Direction from north, clockwise, 0° up to 360°.
    pub azimuth: Angle,
}

/// Where the sun stands at a moment.
///
/// # Errors
/// [`SunError::Year`] outside the years 1 to 2999.
///
/// # Example
/// ```
/// use cladlog::conditions::sun::{Place, position};
/// use cladlog::units::Angle;
/// let wellington = Place::new(Angle::degrees(-41.29), Angle::degrees(174.78))?;
/// let noon = cladlog::moment::Moment::parse_from_rfc3339("2026-06-21T12:00:00+12:00").unwrap();
/// let sun = position(&wellington, &noon)?;
/// // A low winter sun, and in the north: this is the southern hemisphere.
/// assert!((sun.elevation.as_degrees() - 25.09).abs() < 0.01);
/// assert!(sun.azimuth.as_degrees() < 10.0);
/// # Ok::<(), cladlog::conditions::sun::SunError>(())
/// ```
pub fn position(place: &Place, moment: &Moment) -> Result<SunPosition, SunError> {
    let prepared = SolarPositions::new().for_time_from_julian(julian(moment)?)?;
    let seen = prepared.at(place.location(), 0.0, Some(RefractionCorrection::new(PRESSURE_HPA, AIR_C)?))?;
    let geometric = prepared.at(place.location(), 0.0, None)?;
    Ok(SunPosition {
        elevation: Angle::degrees(seen.elevation_angle()),
        true_elevation: Angle::degrees(geometric.elevation_angle()),
        azimuth: Angle::degrees(seen.azimuth()),
    })
}

impl SunPosition {
    /// Whether any of the disc is over a sea horizon: see [`UPPER_LIMB`].
    pub fn is_up(&self) -> bool {
        self.true_elevation > UPPER_LIMB
    }

    /// The angle between the sun as seen and the outward normal of an upright wall, 0° to 180°.
    ///
    /// # Errors
    /// [`SunError::OutOfRange`] when the bearing is outside 0° to 360°.
    pub fn incidence(&self, bearing: Angle) -> Result<Angle, SunError> {
        Ok(Angle::degrees(self.cos_incidence(bearing)?.acos().to_degrees()))
    }

    /// Whether an upright wall of this outward bearing is in direct sun: the sun is up and in front of it.
    ///
    /// # Errors
    /// As [`SunPosition::incidence`].
    pub fn lights(&self, bearing: Angle) -> Result<bool, SunError> {
        // At exactly 90° the light only grazes the wall; rounding must not turn that into light.
        Ok(self.is_up() && self.incidence(bearing)?.as_degrees() < 90.0)
    }

    fn cos_incidence(&self, bearing: Angle) -> Result<f64, SunError> {
        let bearing = bounds::BEARING.check(bearing.as_degrees())?;
        // cos i = cos(elevation) · cos(azimuth − bearing), the tilted-plane formula with a tilt of 90°.
        let across = (self.azimuth.as_degrees() - bearing).to_radians().cos();
        Ok((self.elevation.as_degrees().to_radians().cos() * across).clamp(-1.0, 1.0))
    }
}

/// The direction as people name it, in sixteen points: `N`, `NNE`, `NE`, …
pub fn compass(bearing: Angle) -> &'static str {
    const POINTS: [&str; 16] =
        ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"];
    let point = (bearing.as_degrees().rem_euclid(360.0) / 22.5).round() as usize;
    POINTS.get(point % POINTS.len()).copied().unwrap_or("N")
}

/// The moment as the algorithm counts time: Julian day, with ΔT for its date.
fn julian(moment: &Moment) -> Result<JulianDate, SunError> {
    let seconds = moment.unix_seconds();
    Ok(JulianDate::new(julian_day(seconds), delta_t_seconds(moment)?)?)
}

/// Julian day of a Unix time in seconds.
fn julian_day(unix: f64) -> f64 {
    2_440_587.5 + unix / 86_400.0
}

/// ΔT at a moment, seconds; the year is checked here.
fn delta_t_seconds(moment: &Moment) -> Result<f64, SunError> {
    let year = moment.date().year();
    YEARS.check(f64::from(year)).map_err(|_| SunError::Year(year))?;
    Ok(delta_t::estimate(f64::from(year) + f64::from(moment.date().ordinal0()) / 366.0)?)
}

/// How far apart the track's exact positions lie, seconds.
const NODE_S: f64 = 43_200.0;
/// Nodes from twelve hours before the day to twelve hours after it.
const NODES: usize = 5;

/// An observer at the middle of the Earth, for whom the sun has no parallax: the radius that the algorithm reckons with.
const DOWN_TO_THE_MIDDLE_M: f64 = -6_378_140.0;
/// The Earth's polar over its equatorial radius, as the algorithm reckons it.
const FLATTENING: f64 = 0.996_647_19;

/// The sun's path over one day, for asking many times.
///
/// Seen from the middle of the Earth, the sun's hour angle and declination change so evenly that a cubic through four exact
/// positions twelve hours apart is as good as the algorithm itself; the parallax of the place, which goes round with the
/// day, is put on afterwards, by the algorithm's own step 3.11. A hundredth of the cost of asking it for every moment.
#[derive(Debug, Clone)]
pub(super) struct Track {
    sin_latitude: f64,
    cos_latitude: f64,
    /// Hour angle and declination at each node, radians; the hour angle runs on past a full turn.
    nodes: [(f64, f64); NODES],
    /// What parallax takes off towards the equator and towards the pole, in radians.
    parallax: (f64, f64),
}

/// The direction of the sun, unrefracted, as a vector of length 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Direction {
    pub(super) east: f64,
    pub(super) north: f64,
    pub(super) up: f64,
}

impl Track {
    /// The path over the day that begins at `midnight`.
    pub(super) fn of_day(place: &Place, midnight: &Moment) -> Result<Self, SunError> {
        let delta_t = delta_t_seconds(midnight)?;
        let sun = SolarPositions::new();
        let middle = Location { latitude: 0.0, longitude: place.longitude.as_degrees() };
        let mut nodes = [(0.0, 0.0); NODES];
        let (mut before, mut distance) = (f64::NEG_INFINITY, 1.0);
        for (index, node) in nodes.iter_mut().enumerate() {
            let unix = midnight.unix_seconds() + (index as f64 - 1.0) * NODE_S;
            let exact = sun.for_time_from_julian(JulianDate::new(julian_day(unix), delta_t)?)?;
            let seen = exact.at(middle, DOWN_TO_THE_MIDDLE_M, None)?;
            let (sin_elevation, cos_elevation) = seen.elevation_angle().to_radians().sin_cos();
            let mut hour = (-cos_elevation * seen.azimuth().to_radians().sin()).atan2(sin_elevation);
            while hour < before {
                hour += std::f64::consts::TAU;
            }
            before = hour;
            distance = exact.earth_radius_vector().unwrap_or(distance);
            *node = (hour, exact.declination().to_radians());
        }
        let (sin_latitude, cos_latitude) = place.latitude.as_degrees().to_radians().sin_cos();
        let (sin_reduced, cos_reduced) = (FLATTENING * sin_latitude).atan2(cos_latitude).sin_cos();
        let horizontal = (8.794 / 3600.0 / distance).to_radians();
        let parallax = (horizontal * cos_reduced, horizontal * FLATTENING * sin_reduced);
        Ok(Self { sin_latitude, cos_latitude, nodes, parallax })
    }

    /// The direction of the sun `seconds` after the day's beginning, from −12 h to 36 h.
    pub(super) fn at(&self, seconds: f64) -> Direction {
        let place = seconds / NODE_S + 1.0;
        // The four nodes round the moment, two on either side where there are two.
        let first = (place.floor() as usize).saturating_sub(1).min(NODES - 4);
        let s = place - first as f64;
        let (a, b, c) = (s - 1.0, s - 2.0, s - 3.0);
        let weights = [-a * b * c / 6.0, s * b * c / 2.0, -s * a * c / 2.0, s * a * b / 6.0];
        let (mut hour, mut declination) = (0.0, 0.0);
        for (weight, node) in weights.iter().zip(self.nodes.iter().skip(first)) {
            hour += weight * node.0;
            declination += weight * node.1;
        }
        let (sin_hour, cos_hour) = hour.sin_cos();
        let (sin_dec, cos_dec) = declination.sin_cos();
        let (west, equator, pole) =
            (cos_dec * sin_hour, cos_dec * cos_hour - self.parallax.0, sin_dec - self.parallax.1);
        let length = (west * west + equator * equator + pole * pole).sqrt();
        Direction {
            east: -west / length,
            north: (pole * self.cos_latitude - equator * self.sin_latitude) / length,
            up: (pole * self.sin_latitude + equator * self.cos_latitude) / length,
        }
    }
}

/// The sun's height as seen, °, from its height by geometry: the report's refraction, without its cut-off.
pub(super) fn as_seen_deg(elevation: f64) -> f64 {
    let pull = 1.02 / (60.0 * (elevation + 10.3 / (elevation + 5.11)).to_radians().tan());
    elevation + PRESSURE_HPA / 1010.0 * 283.0 / (273.0 + AIR_C) * pull
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(latitude: f64, longitude: f64) -> Place {
        Place::new(Angle::degrees(latitude), Angle::degrees(longitude)).unwrap()
    }

    fn at(text: &str) -> Moment {
        Moment::parse_from_rfc3339(text).unwrap()
    }

    #[test]
    fn places_and_years_out_of_range_are_named() {
        let said = |latitude, longitude| {
            Place::new(Angle::degrees(latitude), Angle::degrees(longitude)).unwrap_err().to_string()
        };
        assert_eq!(said(95.0, 0.0), "latitude 95 ° is outside -90 to 90 °");
        assert_eq!(said(0.0, -200.0), "longitude -200 ° is outside -180 to 180 °");
        assert_eq!(said(f64::NAN, 0.0), "latitude not a number ° is outside -90 to 90 °");
        assert_eq!(
            position(&place(0.0, 0.0), &at("4026-01-01T00:00:00Z")).unwrap_err().to_string(),
            "the year 4026: sun positions are available for the years 1 to 2999 only"
        );
    }

    #[test]
    fn refraction_stops_when_the_whole_disc_is_down() {
        // Wellington at dusk, second by second: the switch is at 0.83° of true depression, and nowhere else.
        let (site, start) = (place(-41.29, 174.78), at("2026-06-21T16:54:00+12:00"));
        for second in 0..600 {
            let sun = position(&site, &(start + chrono::TimeDelta::seconds(second))).unwrap();
            let (geometric, seen) = (sun.true_elevation.as_degrees(), sun.elevation.as_degrees());
            if geometric > -0.83 {
                assert!((seen - as_seen_deg(geometric)).abs() < 1e-9 && seen > geometric + 0.3);
            } else if geometric < -0.834 {
                assert_eq!(seen, geometric);
            }
        }
    }

    #[test]
    fn compass_points() {
        let named = |bearing| compass(Angle::degrees(bearing));
        assert_eq!([named(0.0), named(11.0), named(12.0), named(359.0), named(-90.0)], ["N", "N", "NNE", "N", "W"]);
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(200))]
        #[test]
        fn the_track_keeps_to_the_exact_position(
            latitude in -90.0f64..90.0, longitude in -180.0f64..180.0, day in 0i64..50_000, second in 0i64..86_400,
        ) {
            let site = place(latitude, longitude);
            let midnight = at("1950-01-01T00:00:00Z") + chrono::TimeDelta::days(day);
            let exact = position(&site, &(midnight + chrono::TimeDelta::seconds(second))).unwrap();
            let near = Track::of_day(&site, &midnight).unwrap().at(second as f64);
            let (elevation, azimuth) =
                (exact.true_elevation.as_degrees().to_radians(), exact.azimuth.as_degrees().to_radians());
            let apart = (near.east - elevation.cos() * azimuth.sin()).hypot(near.north - elevation.cos() * azimuth.cos())
                .hypot(near.up - elevation.sin());
            proptest::prop_assert!(apart.to_degrees() < 2e-6, "{} °", apart.to_degrees());
        }
    }
}
