//! Moments: an instant with the site's offset, as the record keeps it and as people read it.

use chrono::{DateTime, Datelike, FixedOffset, LocalResult, NaiveDate, NaiveTime, TimeZone, Timelike};
use chrono_tz::Tz;
use serde::Serializer;

/// An instant together with the offset that the site's clocks showed.
pub type Moment = DateTime<FixedOffset>;

/// Why a typed time was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MomentFault {
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
}

/// Prints a moment as RFC 3339 with its offset, whole seconds.
pub fn rfc3339(moment: &Moment) -> String {
    moment.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

/// Serialises a moment as RFC 3339 with its offset.
///
/// # Errors
/// Whatever the serializer reports.
pub fn serialize_rfc3339<S: Serializer>(moment: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc3339(moment))
}

/// Serialises an optional moment as RFC 3339 with its offset.
///
/// # Errors
/// Whatever the serializer reports.
pub fn rfc3339_option<S: Serializer>(moment: &Option<Moment>, serializer: S) -> Result<S::Ok, S::Error> {
    match moment {
        Some(moment) => serialize_rfc3339(moment, serializer),
        None => serializer.serialize_none(),
    }
}

/// The moment as the site's clocks show it, cut to whole seconds.
pub fn at_site(instant: &Moment, zone: Tz) -> Moment {
    let cut = instant.with_nanosecond(0).unwrap_or(*instant);
    cut.with_timezone(&zone).fixed_offset()
}

/// Whether a moment lies in a year that the record can keep and read back.
pub fn in_range(moment: &Moment) -> bool {
    (1970..9000).contains(&moment.year())
}

/// Reads `10:40` (on `today`, by the site's clocks) or a full RFC 3339 time.
///
/// # Errors
/// [`MomentFault`]: unreadable, a year outside 1970 to 8999, or a clock time that summer time skips or repeats.
pub fn parse(text: &str, today: NaiveDate, zone: Tz) -> Result<Moment, MomentFault> {
    let text = text.trim();
    if let Ok(full) = DateTime::parse_from_rfc3339(text) {
        return if in_range(&full) { Ok(at_site(&full, zone)) } else { Err(MomentFault::Year(text.to_owned())) };
    }
    let clock = NaiveTime::parse_from_str(text, "%H:%M")
        .or_else(|_| NaiveTime::parse_from_str(text, "%H:%M:%S"))
        .map_err(|_| MomentFault::Unreadable(crate::units::number::shortened(text)))?;
    match zone.from_local_datetime(&today.and_time(clock)) {
        // Cut like a full time: the 60th second of a minute is the end of its 59th, typed either way.
        LocalResult::Single(moment) => Ok(at_site(&moment.fixed_offset(), zone)),
        LocalResult::Ambiguous(first, second) => Err(MomentFault::Twice {
            time: text.to_owned(),
            date: today,
            first: rfc3339(&first.fixed_offset()),
            second: rfc3339(&second.fixed_offset()),
        }),
        LocalResult::None => Err(MomentFault::Skipped { time: text.to_owned(), date: today }),
    }
}

/// The first moment of a day by the site's clocks. Where summer time jumps over midnight, the day begins later.
pub fn day_begins(date: NaiveDate, zone: Tz) -> Moment {
    let mut hours = (0..24).filter_map(|hour| date.and_hms_opt(hour, 0, 0));
    let first = hours.find_map(|clock| zone.from_local_datetime(&clock).earliest());
    // A day that a time zone skips altogether begins with the next.
    first.map_or_else(|| date.and_time(NaiveTime::MIN).and_utc().fixed_offset(), |moment| moment.fixed_offset())
}

/// The clock time for a person: `10:40`, with the day in front when it is not `today`.
pub fn clock(moment: &Moment, today: NaiveDate) -> String {
    if moment.date_naive() == today {
        moment.format("%H:%M").to_string()
    } else {
        moment.format("%a %-d %b %H:%M").to_string()
    }
}

/// A span in words: "29 min", "5 h 20 min", "3 days 4 h".
pub fn span(length: chrono::TimeDelta) -> String {
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
        assert_eq!(rfc3339(&parse("01:59", gap, zone).unwrap()), "2026-09-27T01:59:00+12:00");
    }

    #[test]
    fn spans_read_as_people_say_them() {
        let minutes = chrono::TimeDelta::minutes;
        assert_eq!(span(minutes(29)), "29 min");
        assert_eq!(span(minutes(320)), "5 h 20 min");
        assert_eq!(span(minutes(3 * 1440 + 240)), "3 days 4 h");
        assert_eq!(span(chrono::TimeDelta::seconds(1)), "1 min");
    }

    #[test]
    fn a_day_begins_where_its_clocks_begin() {
        // tz database, Africa/Cairo: on 2026-04-24 the clocks go from 00:00 to 01:00.
        let date = NaiveDate::from_ymd_opt(2026, 4, 24).unwrap();
        assert_eq!(rfc3339(&day_begins(date, chrono_tz::Africa::Cairo)), "2026-04-24T01:00:00+03:00");
        assert_eq!(rfc3339(&day_begins(date, chrono_tz::Pacific::Auckland)), "2026-04-24T00:00:00+12:00");
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_a_moment_or_a_message(text in "\\PC{0,40}") {
            let day = NaiveDate::from_ymd_opt(2026, 4, 5).unwrap();
            let _ = parse(&text, day, chrono_tz::Pacific::Auckland);
        }
    }
}
