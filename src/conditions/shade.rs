//! C11, when each wall is in direct sun on a day; sunrise, sunset and civil twilight.
//!
//! A wall is upright, known by its outward bearing, and in direct sun while the sun is up and less than 90° from the
//! wall's outward normal. The sun is up while its upper limb is over a sea horizon; a wall may have a higher horizon of
//! its own, for hills and neighbours.
//!
//! Edges are found by bisection on the sun's track, to the second, after a look every five minutes for sign changes and
//! for turning points that a look could miss.

use chrono::{FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use serde::Serialize;

use super::sun::{CIVIL_TWILIGHT, Direction, HALF_DISC_DEG, Place, SunError, Track, UPPER_LIMB, as_seen_deg};
use crate::building::Wall;
use crate::moment::Moment;
use crate::units::{Angle, bounds};

/// Seconds in the day that is looked at, whatever the clocks do: it has one offset.
const DAY_S: f64 = 86_400.0;
/// Seconds between two looks.
const STEP_S: f64 = 300.0;
/// Looks: one before the day, one after it, and each end.
const LOOKS: usize = 291;
/// A turning point further from 0 than this (radians, or sine) can't reach it between two looks.
const NEAR: f64 = 0.03;

/// An upright wall as the sun sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facing {
    bearing: Angle,
    horizon: Option<Angle>,
}

impl Facing {
    /// A wall by its outward bearing, clockwise from north, 0° to 360°.
    ///
    /// # Errors
    /// [`SunError::OutOfRange`] when the bearing is outside its range.
    pub fn new(bearing: Angle) -> Result<Self, SunError> {
        bounds::BEARING.check(bearing.as_degrees())?;
        Ok(Self { bearing, horizon: None })
    }

    /// The same wall with a horizon of its own: no direct sun until the upper limb, as seen, clears this height
    /// (0° to 90°).
    ///
    /// # Errors
    /// [`SunError::OutOfRange`] when the horizon is outside its range.
    pub fn with_horizon(self, horizon: Angle) -> Result<Self, SunError> {
        Wall::HORIZON.check(horizon.as_degrees())?;
        Ok(Self { horizon: Some(horizon), ..self })
    }

    /// A wall of a job, with its own horizon if it has one; nothing where the job does not say which way it faces.
    ///
    /// # Errors
    /// As [`Facing::new`] and [`Facing::with_horizon`].
    pub fn of_wall(wall: &Wall) -> Result<Option<Self>, SunError> {
        let Some(bearing) = wall.bearing_deg else { return Ok(None) };
        let facing = Self::new(Angle::degrees(bearing))?;
        wall.horizon_deg.map_or(Ok(facing), |horizon| facing.with_horizon(Angle::degrees(horizon))).map(Some)
    }
}

/// A stretch of time, from its first moment up to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Stretch {
    /// Its beginning.
    pub from: Moment,
    /// Its end; the end of the day is the next day's 00:00.
    pub to: Moment,
}

/// When one wall is in direct sun.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WallLight {
    /// The wall's outward bearing.
    #[serde(rename = "bearing_deg")]
    pub bearing: Angle,
    /// The stretches of direct sun, in order.
    pub lit: Vec<Stretch>,
}

/// A day on which the sun neither rises nor sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Polar {
    /// The sun is up all day.
    Day,
    /// The sun is down all day.
    Night,
}

/// The sun's day at a place: the 24 hours of a date at an offset.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SunDay {
    /// The sun rises; absent when it does not within the day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sunrise: Option<Moment>,
    /// The sun sets; absent when it does not within the day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sunset: Option<Moment>,
    /// First light to work by: the sun's centre passes 6° below the horizon, rising.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub civil_dawn: Option<Moment>,
    /// Last light to work by: the sun's centre passes 6° below the horizon, sinking.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub civil_dusk: Option<Moment>,
    /// Whether the sun stays up or down all day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub polar: Option<Polar>,
    /// The walls in the order given.
    pub walls: Vec<WallLight>,
}

/// The sun's day: sunrise, sunset, twilight, and when each wall is in direct sun.
///
/// The day is the 24 hours of `date` at `offset`, also where the clocks change on that date. Where the offset does not
/// suit the longitude, sunset may come before sunrise. Where the sun sets twice (near the polar day), the one after
/// sunrise is given.
///
/// # Errors
/// [`SunError::Year`] outside the years 1 to 2999.
///
/// # Example
/// ```
/// use chrono::{FixedOffset, NaiveDate};
/// use cladlog::conditions::{shade::{Facing, day}, sun::Place};
/// use cladlog::units::Angle;
/// let wellington = Place::new(Angle::degrees(-41.29), Angle::degrees(174.78))?;
/// let walls = [Facing::new(Angle::degrees(0.0))?, Facing::new(Angle::degrees(180.0))?];
/// let midwinter = NaiveDate::from_ymd_opt(2026, 6, 21).unwrap();
/// let sun = day(&wellington, midwinter, FixedOffset::east_opt(12 * 3600).unwrap(), &walls)?;
/// // The north wall has the sun all day; the south wall none.
/// assert_eq!(sun.walls[0].lit[0].from, sun.sunrise.unwrap());
/// assert!(sun.walls[1].lit.is_empty());
/// # Ok::<(), cladlog::conditions::sun::SunError>(())
/// ```
pub fn day(place: &Place, date: NaiveDate, offset: FixedOffset, walls: &[Facing]) -> Result<SunDay, SunError> {
    // A fixed offset skips nothing; only the last day that can be written at all has no midnight in it.
    let midnight = offset
        .from_local_datetime(&date.and_time(NaiveTime::MIN))
        .single()
        .map(Moment::from)
        .ok_or(SunError::Year(chrono::Datelike::year(&date)))?;
    let sky = Sky::of_day(Track::of_day(place, &midnight)?);
    let up = sky.crossings(over(UPPER_LIMB));
    let twilight = sky.crossings(over(CIVIL_TWILIGHT));
    let moment = |seconds: f64| midnight + TimeDelta::seconds(seconds.round() as i64);
    let (sunrise, sunset) = up.rise_and_set();
    let (civil_dawn, civil_dusk) = twilight.rise_and_set();
    let polar = match (up.edges.is_empty(), up.above_at_start) {
        (true, true) => Some(Polar::Day),
        (true, false) => Some(Polar::Night),
        (false, _) => None,
    };
    let daylight = up.spans();
    let walls = walls.iter().map(|wall| {
        let mut lit = both(&daylight, &sky.crossings(in_front_of(wall.bearing)).spans());
        if let Some(horizon) = wall.horizon {
            lit = both(&lit, &sky.crossings(clear_of(horizon)).spans());
        }
        let lit = lit.iter().map(|&(from, to)| Stretch { from: moment(from), to: moment(to) });
        WallLight { bearing: wall.bearing, lit: lit.filter(|stretch| stretch.from < stretch.to).collect() }
    });
    Ok(SunDay {
        sunrise: sunrise.map(moment),
        sunset: sunset.map(moment),
        civil_dawn: civil_dawn.map(moment),
        civil_dusk: civil_dusk.map(moment),
        polar,
        walls: walls.collect(),
    })
}

/// The offset that the clocks of a zone show at noon of a date: the one to ask [`day`] with, also on the day that summer
/// time begins or ends, when the sun is never up while the clocks change.
pub fn offset_at_noon(date: NaiveDate, zone: Tz) -> FixedOffset {
    let noon = date.and_time(NaiveTime::MIN).checked_add_signed(TimeDelta::hours(12)).unwrap_or(NaiveDateTime::MAX);
    let offset = zone.offset_from_local_datetime(&noon).earliest();
    offset.unwrap_or_else(|| zone.offset_from_utc_datetime(&noon)).fix()
}

/// Positive while the sun's centre, unrefracted, is over `height`.
fn over(height: Angle) -> impl Fn(&Direction) -> f64 {
    let sine = height.as_degrees().to_radians().sin();
    move |sun| sun.up - sine
}

/// Positive while the sun is in front of an upright wall. Refraction lifts the sun but moves it to neither side.
fn in_front_of(bearing: Angle) -> impl Fn(&Direction) -> f64 {
    let (east, north) = bearing.as_degrees().to_radians().sin_cos();
    move |sun| sun.east * east + sun.north * north
}

/// Positive while the upper limb, as seen, is over a wall's own horizon.
fn clear_of(horizon: Angle) -> impl Fn(&Direction) -> f64 {
    move |sun| {
        let elevation = sun.up.clamp(-1.0, 1.0).asin().to_degrees();
        // Far below the horizon the formula for refraction has no meaning, and nothing can be seen.
        let seen = if elevation < UPPER_LIMB.as_degrees() { elevation } else { as_seen_deg(elevation) };
        (seen + HALF_DISC_DEG - horizon.as_degrees()).to_radians()
    }
}

/// The track together with its five-minute looks.
struct Sky {
    track: Track,
    looks: Vec<(f64, Direction)>,
}

/// Where a function of the sun's direction crosses 0 within the day.
struct Crossings {
    above_at_start: bool,
    /// Seconds from the day's beginning, in order; each turns above to below or back.
    edges: Vec<f64>,
}

impl Sky {
    fn of_day(track: Track) -> Self {
        let looks = (0..LOOKS).map(|look| (look as f64 - 1.0) * STEP_S).map(|at| (at, track.at(at))).collect();
        Self { track, looks }
    }

    fn crossings(&self, f: impl Fn(&Direction) -> f64) -> Crossings {
        let values: Vec<(f64, f64)> = self.looks.iter().map(|(at, sun)| (*at, f(sun))).collect();
        let mut edges = Vec::new();
        for window in values.windows(3) {
            let [(a, fa), (b, fb), (c, fc)] = window else { continue };
            let above = *fb > 0.0;
            if (*fa > 0.0) != above {
                edges.push(self.edge(&f, *a, *b));
            } else if above == (*fc > 0.0) && fb.abs() < NEAR && fb.abs() <= fa.abs() && fb.abs() < fc.abs() {
                // A turning point near 0: the sun may have dipped across and back between two looks.
                let turn = self.turning_point(|sun| if above { f(sun) } else { -f(sun) }, *a, *c);
                if (f(&self.track.at(turn)) > 0.0) != above {
                    edges.push(self.edge(&f, *a, turn));
                    edges.push(self.edge(&f, turn, *c));
                }
            }
        }
        // The last two looks have no window of their own; past the end of the day they need none.
        edges.retain(|edge| (0.0..DAY_S).contains(edge));
        edges.sort_by(f64::total_cmp);
        Crossings { above_at_start: f(&self.track.at(0.0)) > 0.0, edges }
    }

    /// The sign change between `low` and `high`, to well under a second.
    fn edge(&self, f: &impl Fn(&Direction) -> f64, mut low: f64, mut high: f64) -> f64 {
        let above = f(&self.track.at(low)) > 0.0;
        while high - low > 0.01 {
            let middle = 0.5 * (low + high);
            if (f(&self.track.at(middle)) > 0.0) == above {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// Where `f`, which falls and then rises, is least between `low` and `high`.
    fn turning_point(&self, f: impl Fn(&Direction) -> f64, mut low: f64, mut high: f64) -> f64 {
        while high - low > 0.01 {
            let third = (high - low) / 3.0;
            if f(&self.track.at(low + third)) < f(&self.track.at(high - third)) {
                high -= third;
            } else {
                low += third;
            }
        }
        0.5 * (low + high)
    }
}

impl Crossings {
    /// The stretches above 0, seconds from the day's beginning.
    fn spans(&self) -> Vec<(f64, f64)> {
        let mut spans = Vec::new();
        let mut since = self.above_at_start.then_some(0.0);
        for &edge in &self.edges {
            since = match since {
                Some(from) => {
                    spans.push((from, edge));
                    None
                }
                None => Some(edge),
            };
        }
        spans.extend(since.map(|from| (from, DAY_S)));
        spans
    }

    /// The first rise, and the first set after it, or before it where there is none after.
    fn rise_and_set(&self) -> (Option<f64>, Option<f64>) {
        let every_other = |first: usize| self.edges.iter().copied().skip(first).step_by(2);
        let (first_rise, first_set) = if self.above_at_start { (1, 0) } else { (0, 1) };
        let rise = every_other(first_rise).next();
        let set = every_other(first_set).find(|set| rise.is_none_or(|rise| *set > rise));
        (rise, set.or_else(|| every_other(first_set).next()))
    }
}

/// What two lists of stretches, each in order, have in common.
fn both(one: &[(f64, f64)], other: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (a.0.max(b.0), a.1.min(b.1))));
    pairs.filter(|(from, to)| from < to).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conditions::sun::position;

    fn place(latitude: f64, longitude: f64) -> Place {
        Place::new(Angle::degrees(latitude), Angle::degrees(longitude)).unwrap()
    }

    fn offset(hours: i32) -> FixedOffset {
        FixedOffset::east_opt(hours * 3600).unwrap()
    }

    fn facing(bearing: f64) -> Facing {
        Facing::new(Angle::degrees(bearing)).unwrap()
    }

    fn date(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn polar_day_and_night_have_neither_sunrise_nor_sunset() {
        let tromso = place(69.65, 18.96);
        let summer = day(&tromso, date(2026, 6, 21), offset(2), &[facing(0.0), facing(180.0)]).unwrap();
        assert_eq!((summer.sunrise, summer.sunset, summer.polar), (None, None, Some(Polar::Day)));
        // The north wall is lit on both sides of midnight, and the day ends at the next day's 00:00.
        let north = &summer.walls[0].lit;
        assert_eq!(north.len(), 2);
        assert_eq!(north[0].from.to_string(), "2026-06-21T00:00:00+02:00");
        assert_eq!(north[1].to.to_string(), "2026-06-22T00:00:00+02:00");
        assert_eq!(summer.walls[1].lit, [Stretch { from: north[0].to, to: north[1].from }]);
        let winter = day(&tromso, date(2026, 12, 21), offset(1), &[facing(180.0)]).unwrap();
        assert_eq!((winter.sunrise, winter.sunset, winter.polar), (None, None, Some(Polar::Night)));
        assert!(winter.walls[0].lit.is_empty());
        // Twilight comes all the same: it is light enough to work for a few hours.
        assert!(winter.civil_dawn.unwrap() < winter.civil_dusk.unwrap());
    }

    #[test]
    fn a_brow_of_day_shorter_than_the_looks_is_found() {
        // Somewhere between polar night and short day the sun shows for a moment only: walk through latitudes.
        let mut shortest = i64::MAX;
        for step in 0..400 {
            let site = place(67.0 + f64::from(step) * 0.002, 20.0);
            let sun = day(&site, date(2026, 12, 21), offset(1), &[]).unwrap();
            match (sun.sunrise, sun.sunset) {
                (Some(rise), Some(set)) => shortest = shortest.min((set - rise).num_seconds()),
                (None, None) => assert_eq!(sun.polar, Some(Polar::Night)),
                other => panic!("{other:?}"),
            }
        }
        assert!(shortest < 600, "{shortest} s");
    }

    #[test]
    fn a_hill_takes_light_from_both_ends() {
        let site = place(-41.29, 174.78);
        let walls = [facing(0.0), facing(0.0).with_horizon(Angle::degrees(10.0)).unwrap()];
        let sun = day(&site, date(2026, 6, 21), offset(12), &walls).unwrap();
        let (open, hill) = (sun.walls[0].lit[0], sun.walls[1].lit[0]);
        assert!(open.from < hill.from && hill.to < open.to);
        for edge in [hill.from, hill.to] {
            let seen = position(&site, &edge).unwrap().elevation.as_degrees() + HALF_DISC_DEG;
            assert!((seen - 10.0).abs() < 0.003, "{seen}");
        }
        let high = [facing(0.0).with_horizon(Angle::degrees(90.0)).unwrap()];
        assert!(day(&site, date(2026, 6, 21), offset(12), &high).unwrap().walls[0].lit.is_empty());
    }

    #[test]
    fn the_day_that_summer_time_begins_has_the_new_offset() {
        // tz database, Pacific/Auckland: clocks forward on 2026-09-27 at 02:00.
        let zone = chrono_tz::Pacific::Auckland;
        assert_eq!(offset_at_noon(date(2026, 9, 26), zone), offset(12));
        assert_eq!(offset_at_noon(date(2026, 9, 27), zone), offset(13));
        let site = place(-41.29, 174.78);
        let before = day(&site, date(2026, 9, 26), offset(12), &[]).unwrap().sunrise.unwrap();
        let after = day(&site, date(2026, 9, 27), offset(13), &[]).unwrap().sunrise.unwrap();
        // The sun knows nothing of it: sunrise comes a day less a minute or two later, by the clock an hour later.
        assert!((after - before - TimeDelta::days(1)).num_seconds().abs() < 150);
    }

    #[test]
    fn bearings_and_horizons_that_are_not_are_told() {
        assert_eq!(Facing::new(Angle::degrees(400.0)).unwrap_err().to_string(), "bearing 400 ° is outside 0 to 360 °");
        assert_eq!(
            facing(0.0).with_horizon(Angle::degrees(-1.0)).unwrap_err().to_string(),
            "horizon -1 ° is outside 0 to 90 °"
        );
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(60))]
        #[test]
        fn stretches_say_what_the_position_says(
            latitude in -90.0f64..=90.0, longitude in -180.0f64..=180.0, days in 0i64..40_000, hours in -12i32..=14,
            bearing in 0.0f64..=360.0, seconds in proptest::collection::vec(0i64..86_400, 20),
        ) {
            let site = place(latitude, longitude);
            let date = date(1950, 1, 1) + TimeDelta::days(days);
            let sun = day(&site, date, offset(hours), &[facing(bearing)]).unwrap();
            let midnight = Moment::from(offset(hours).from_local_datetime(&date.and_time(NaiveTime::MIN)).unwrap());
            let lit = &sun.walls[0].lit;
            for second in seconds {
                let moment = midnight + TimeDelta::seconds(second);
                // An edge is rounded to the second, so the second beside it may go either way.
                let beside = lit.iter().flat_map(|s| [s.from, s.to]).any(|edge| (edge - moment).num_seconds().abs() <= 1);
                let inside = lit.iter().any(|stretch| stretch.from <= moment && moment < stretch.to);
                let exact = position(&site, &moment).unwrap();
                proptest::prop_assert!(beside || inside == exact.lights(Angle::degrees(bearing)).unwrap(), "{moment} {exact:?} {lit:?}");
            }
        }
    }
}
