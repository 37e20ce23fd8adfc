//! The weather on a wall.

use cladlog::moment::Moment;
use cladlog::record::{Body, TakeReading};
use cladlog::sequence::Limit;

use super::{Place, Second};

/// Where in the record something ended, and when.
type Ended = (usize, Moment);

impl Second<'_> {
    pub(super) fn readings(&self, wall: &str, places: std::ops::Range<usize>) -> Vec<&TakeReading> {
        let reading = |at: usize| match &self.entries[at].body {
            Body::ReadingTaken(it) if it.subject == wall || it.subject == "job" => Some(it),
            _ => None,
        };
        places.filter_map(reading).collect()
    }

    /// The stoppages for rain on a wall, as far as a place: where and when each began, and where and when it ended.
    pub(super) fn stopped_by_rain(&self, wall: &str, place: Place) -> Vec<(usize, Moment, Option<Ended>)> {
        let began = (0..place.before).filter(|at| match &self.entries[*at].body {
            Body::StoppageStarted(it) if it.rain && it.subject == "job" => true,
            Body::StoppageStarted(it) if it.rain => self.walls(self.subject(&it.subject)).iter().any(|on| on == wall),
            _ => false,
        });
        let ended = |at: usize| {
            let id = self.entries[at].id();
            let end = (at..place.before).find(|end| match &self.entries[*end].body {
                Body::StoppageEnded(it) => it.stoppage.as_ref() == Some(&id),
                _ => false,
            });
            end.map(|end| (end, self.entries[end].happened_at))
        };
        began.map(|at| (at, self.entries[at].happened_at, ended(at))).collect()
    }

    /// Whether what a limit asks for was read on a wall, each value not too long ago, and lies within it.
    pub(super) fn is_within(&self, limit: &Limit, wall: &str, place: Place) -> bool {
        let limit = self.bounds(place.before).limits.iter().find(|it| it.key == limit.key).unwrap();
        let readings: Vec<(Moment, &TakeReading)> = (0..place.before)
            .rev()
            .filter_map(|at| match &self.entries[at].body {
                Body::ReadingTaken(it) if it.subject == wall || it.subject == "job" => {
                    Some((self.entries[at].happened_at, it))
                }
                _ => None,
            })
            .collect();
        let fresh = |at: Moment| place.at - at <= limit.reading_within;
        // The newest reading that has the value, if it is new enough.
        let value = |of: fn(&TakeReading) -> Option<f64>| {
            let (at, value) = readings.iter().find_map(|(at, it)| Some((*at, of(it)?)))?;
            fresh(at).then_some(value)
        };
        let (air, humidity) = (value(|it| it.air_c), value(|it| it.humidity_pct));
        let (surface, wind) = (value(|it| it.surface_c), value(|it| it.wind_kmh));
        let within = |(least, most): (Option<f64>, Option<f64>), value: Option<f64>| {
            least.is_none_or(|least| value.is_some_and(|value| value >= least))
                && most.is_none_or(|most| value.is_some_and(|value| value <= most))
        };
        let margin = || {
            // Magnus over water, WMO-No. 8, Annex 4.B.
            let (air, humidity, surface) = (air?, humidity?, surface?);
            let g = (humidity / 100.0).ln() + 17.62 * air / (243.12 + air);
            Some(surface - 243.12 * g / (17.62 - g))
        };
        // Every reading says whether it rains; a stoppage for rain says so as long as it lasts, and then until it is read.
        let read = readings.first().map(|(at, it)| (*at, it.rain));
        let wet = self.stopped_by_rain(wall, place).into_iter().any(|(_, _, ended)| match ended {
            None => true,
            Some((_, until)) => fresh(until) && read.is_none_or(|(at, _)| at < until),
        });
        let dry = !wet && read.is_some_and(|(at, rain)| fresh(at) && !rain);
        within(limit.air_c, air)
            && within(limit.surface_c, surface)
            && limit.dew_margin_c.is_none_or(|least| margin().is_some_and(|margin| margin >= least))
            && within((None, limit.humidity_pct), humidity)
            && within((None, limit.wind_kmh), wind)
            && (!limit.dry || dry)
    }
}
