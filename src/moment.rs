//! Moments: an instant with the site's offset, as the record keeps it and as people read it.

use std::fmt;
use std::ops::{Add, AddAssign, Sub};

use chrono::{
    DateTime, Datelike, FixedOffset, LocalResult, NaiveDate, NaiveTime, SecondsFormat, TimeDelta, TimeZone, Timelike,
};
use chrono_tz::Tz;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::units::number::shortened;

/// The years that the record can keep and read back.
const YEARS: std::ops::Range<i32> = 1970..9000;

/// An instant together with the offset that the site's clocks showed, whole seconds.
///
/// It prints and serialises as RFC 3339 with its offset. Two moments are equal when they are the same instant, whatever
/// their offsets.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(DateTime<FixedOffset>);

impl Moment {
    /// Reads RFC 3339, such as `2026-03-02T10:40:00+13:00`.
    ///
    /// # Errors
    /// [`chrono::ParseError`] for anything else.
    pub fn parse_from_rfc3339(text: &str) -> Result<Self, chrono::ParseError> {
        DateTime::parse_from_rfc3339(text).map(Self)
    }

    /// The moment as the site's clocks show it, cut to whole seconds.
    pub fn at_site(self, zone: Tz) -> Self {
        let cut = self.0.with_nanosecond(0).unwrap_or(self.0);
        Self(cut.with_timezone(&zone).fixed_offset())
    }

    /// The same instant, as clocks of this offset show it.
    pub fn at_offset(self, offset: FixedOffset) -> Self {
        Self(self.0.with_timezone(&offset))
    }

    /// Seconds since 1970 began in UTC.
    pub fn unix_seconds(self) -> f64 {
        self.0.timestamp() as f64 + f64::from(self.0.timestamp_subsec_nanos()) / 1e9
    }

    /// Whether it lies in a year that the record can keep and read back.
    pub fn in_range(self) -> bool {
        YEARS.contains(&self.0.year())
    }

    /// The day on the site's clocks.
    pub fn date(self) -> NaiveDate {
        self.0.date_naive()
    }

    /// The time of day on the site's clocks.
    pub fn time(self) -> NaiveTime {
        self.0.time()
    }

    /// The offset of the site's clocks from UTC.
    pub fn offset(self) -> FixedOffset {
        *self.0.offset()
    }

    /// As chrono knows it.
    pub fn instant(self) -> DateTime<FixedOffset> {
        self.0
    }

    /// Printed by a pattern of chrono's, such as `%a %-d %b`.
    pub fn format<'a>(&self, pattern: &'a str) -> impl fmt::Display + use<'a> {
        self.0.format(pattern)
    }

    /// The moment so much later, where there is one.
    pub fn checked_add(self, length: TimeDelta) -> Option<Self> {
        self.0.checked_add_signed(length).map(Self)
    }

    /// The clock time for a person: `10:40`, with the day in front when it is not `today`.
    pub fn clock(self, today: NaiveDate) -> String {
        let clock = self.0.format("%H:%M");
        if self.date() == today { clock.to_string() } else { format!("{} {clock}", day(self.date(), today)) }
    }

    /// Day, year and clock time for a person: `Mon 2 Mar 2026 10:40`.
    pub fn full(self) -> String {
        self.0.format("%a %-d %b %Y %H:%M").to_string()
    }
}

impl<Z: TimeZone> From<DateTime<Z>> for Moment {
    fn from(instant: DateTime<Z>) -> Self {
        Self(instant.fixed_offset())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.to_rfc3339_opts(SecondsFormat::Secs, false))
    }
}

impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        DateTime::deserialize(deserializer).map(Self)
    }
}

impl Add<TimeDelta> for Moment {
    type Output = Self;

    fn add(self, length: TimeDelta) -> Self {
        Self(self.0 + length)
    }
}

impl AddAssign<TimeDelta> for Moment {
    fn add_assign(&mut self, length: TimeDelta) {
        self.0 += length;
    }
}

impl Sub<TimeDelta> for Moment {
    type Output = Self;

    fn sub(self, length: TimeDelta) -> Self {
        Self(self.0 - length)
    }
}

impl Sub for Moment {
    type Output = TimeDelta;

    fn sub(self, earlier: Self) -> TimeDelta {
        self.0 - earlier.0
    }
}

/// Why a typed time was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MomentError {
    /// Neither `10:40` nor RFC 3339.
    #[error("'{0}' is not a time: write 10:40 for today, or a full one such as 2026-03-02T10:40:00+13:00")]
    Unreadable(String),
    /// A year in which no site day fell or will: its offset or its digits would not be read back.
    #[error("'{0}' is outside the years 1970 to 8999")]
    Year(String),
    /// A clock time that summer time jumps over.
    #[error("{time} does not exist on {date}: the clocks go forward over it; give the full time with its offset")]
    Skipped {
        /// The clock time that was typed.
        time: String,
        /// The day.
        date: NaiveDate,
    },
    /// A clock time that happens twice.
    #[error("{time} happens twice on {date}, when the clocks go back; say which: {first} or {second}")]
    Twice {
        /// The clock time that was typed.
        time: String,
        /// The day.
        date: NaiveDate,
        /// The first of the two, in full.
        first: String,
        /// The second.
        second: String,
    },
    /// Not a date.
    #[error("'{0}' is not a date: write 2026-11-30, or 30/11/2026 with the day first, or 11/2026 for its last day")]
    Date(String),
}

/// Reads a date: `2026-11-30`, or as labels have it: `30/11/2027`, the day first, or `11/2027`, the last day of that month.
/// Two figures are a year after 2000.
///
/// # Errors
/// [`MomentError::Date`].
///
/// # Example
/// ```
/// use cladlog::moment::parse_date;
/// assert_eq!(parse_date("30/11/2027"), parse_date("2027-11-30"));
/// assert_eq!(parse_date("2/2028"), parse_date("2028-02-29"));
/// assert_eq!(parse_date("30/6/27"), parse_date("2027-06-30"));
/// ```
pub fn parse_date(text: &str) -> Result<NaiveDate, MomentError> {
    let text = text.trim();
    let parts: Vec<&str> = text.split(['/', '.']).collect();
    let number = |part: &str, digits: std::ops::RangeInclusive<usize>| {
        let plain = digits.contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse::<u32>().ok().filter(|_| plain)
    };
    // Labels print two figures of the year as well.
    let year = |part: &str| match part.len() {
        2 => number(part, 2..=2).map(|year| 2000 + year),
        _ => number(part, 4..=4),
    };
    let year = |part: &str| year(part).and_then(|year| i32::try_from(year).ok());
    let date = match parts.as_slice() {
        [_] => NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|_| text.len() == 10),
        [month, of] => year(of).zip(number(month, 1..=2)).and_then(|(year, month)| {
            let first = NaiveDate::from_ymd_opt(year, month, 1)?;
            first.checked_add_months(chrono::Months::new(1))?.pred_opt()
        }),
        [day, month, of] => {
            let (day, month) = (number(day, 1..=2), number(month, 1..=2));
            year(of).zip(month.zip(day)).and_then(|(year, (month, day))| NaiveDate::from_ymd_opt(year, month, day))
        }
        _ => None,
    };
    date.filter(|date| YEARS.contains(&date.year())).ok_or_else(|| MomentError::Date(shortened(text)))
}

/// Reads `10:40` (on `today`, by the site's clocks) or a full RFC 3339 time.
///
/// # Errors
/// [`MomentError`]: unreadable, a year outside 1970 to 8999, or a clock time that summer time skips or repeats.
pub fn parse(text: &str, today: NaiveDate, zone: Tz) -> Result<Moment, MomentError> {
    let text = text.trim();
    if let Ok(full) = Moment::parse_from_rfc3339(text) {
        return if full.in_range() { Ok(full.at_site(zone)) } else { Err(MomentError::Year(text.to_owned())) };
    }
    let clock = NaiveTime::parse_from_str(text, "%H:%M")
        .or_else(|_| NaiveTime::parse_from_str(text, "%H:%M:%S"))
        .map_err(|_| MomentError::Unreadable(shortened(text)))?;
    match zone.from_local_datetime(&today.and_time(clock)) {
        // Cut like a full time: the 60th second of a minute is the end of its 59th, typed either way.
        LocalResult::Single(moment) => Ok(Moment::from(moment).at_site(zone)),
        LocalResult::Ambiguous(first, second) => Err(MomentError::Twice {
            time: text.to_owned(),
            date: today,
            first: Moment::from(first).to_string(),
            second: Moment::from(second).to_string(),
        }),
        LocalResult::None => Err(MomentError::Skipped { time: text.to_owned(), date: today }),
    }
}

/// The first moment of a day by the site's clocks. Where summer time jumps over midnight, the day begins later.
pub fn day_begins(date: NaiveDate, zone: Tz) -> Moment {
    let mut hours = (0..24).filter_map(|hour| date.and_hms_opt(hour, 0, 0));
    let first = hours.find_map(|clock| zone.from_local_datetime(&clock).earliest());
    // A day that a time zone skips altogether begins with the next.
    first.map_or_else(|| date.and_time(NaiveTime::MIN).and_utc().into(), Moment::from)
}

/// A time of day by the site's clocks; where summer time leaves it out, the first moment of that day.
pub fn at_time(date: NaiveDate, time: NaiveTime, zone: Tz) -> Moment {
    zone.from_local_datetime(&date.and_time(time)).earliest().map_or_else(|| day_begins(date, zone), Moment::from)
}

/// A date with its year: `30 Nov 2026`.
pub fn dated(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// A day for a person: `Mon 2 Mar`, with its year where that is not today's or the day is far from today.
pub fn day(date: NaiveDate, today: NaiveDate) -> String {
    /// Half a year from today, a day without its year could be the one before or after.
    const FAR: i64 = 183;
    let far = date.year() != today.year() || (date - today).num_days().abs() > FAR;
    date.format(if far { "%a %-d %b %Y" } else { "%a %-d %b" }).to_string()
}

/// A span in words: "29 min", "5 h 20 min", "3 days 4 h".
pub fn span(length: TimeDelta) -> String {
    // Part minutes count as whole ones, so that no wait of hours is told shorter than it is; beyond a day the minutes
    // are left out.
    let minutes = (length.num_seconds() + 59).div_euclid(60);
    let (days, hours, rest) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    match (days, hours, rest) {
        (0, 0, m) => format!("{m} min"),
        (0, h, 0) => format!("{h} h"),
        (0, h, m) => format!("{h} h {m} min"),
        (1, 0, _) => "1 day".to_owned(),
        (d, 0, _) => format!("{d} days"),
        (1, h, _) => format!("1 day {h} h"),
        (d, h, _) => format!("{d} days {h} h"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gap_and_the_overlap_of_summer_time_are_told() {
        // tz database, Pacific/Auckland: clocks forward on 2026-09-27 at 02:00, back on 2026-04-05 at 03:00.
        let zone = chrono_tz::Pacific::Auckland;
        let gap = NaiveDate::from_ymd_opt(2026, 9, 27).unwrap();
        let overlap = NaiveDate::from_ymd_opt(2026, 4, 5).unwrap();
        assert_eq!(
            parse("02:30", gap, zone).unwrap_err().to_string(),
            "02:30 does not exist on 2026-09-27: the clocks go forward over it; give the full time with its offset"
        );
        assert_eq!(
            parse("02:30", overlap, zone).unwrap_err().to_string(),
            "02:30 happens twice on 2026-04-05, when the clocks go back; say which: \
             2026-04-05T02:30:00+13:00 or 2026-04-05T02:30:00+12:00"
        );
        assert_eq!(parse("01:59", gap, zone).unwrap().to_string(), "2026-09-27T01:59:00+12:00");
    }

    #[test]
    fn spans_read_as_people_say_them() {
        let minutes = TimeDelta::minutes;
        assert_eq!(span(minutes(29)), "29 min");
        assert_eq!(span(minutes(320)), "5 h 20 min");
        assert_eq!(span(minutes(3 * 1440 + 240)), "3 days 4 h");
        assert_eq!(span(TimeDelta::seconds(1)), "1 min");
    }

    #[test]
    fn a_day_begins_where_its_clocks_begin() {
        // tz database, Africa/Cairo: on 2026-04-24 the clocks go from 00:00 to 01:00.
        let date = NaiveDate::from_ymd_opt(2026, 4, 24).unwrap();
        assert_eq!(day_begins(date, chrono_tz::Africa::Cairo).to_string(), "2026-04-24T01:00:00+03:00");
        assert_eq!(day_begins(date, chrono_tz::Pacific::Auckland).to_string(), "2026-04-24T00:00:00+12:00");
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_a_moment_or_a_message(text in "\\PC{0,40}") {
            let day = NaiveDate::from_ymd_opt(2026, 4, 5).unwrap();
            let _ = parse(&text, day, chrono_tz::Pacific::Auckland);
        }
    }
}
