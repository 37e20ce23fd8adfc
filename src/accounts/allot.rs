//! The hours of a day shared out among what was done in it, by the times of the record.

use std::collections::BTreeMap;

use super::idle::{Halt, Shift, stretch};
use crate::moment::Moment;

/// Something that the record says was done at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark<K> {
    /// When.
    pub at: Moment,
    /// What it is put down to.
    pub to: K,
    /// Its share among what was recorded at the same moment; zero counts only where all are zero.
    pub weight: f64,
}

/// A site day, as far as sharing out its hours goes.
#[derive(Debug, Clone, Copy)]
pub struct DayHours<'d> {
    /// When it was opened.
    pub opened_at: Moment,
    /// When it was closed.
    pub closed_at: Moment,
    /// Who was there.
    pub shifts: &'d [Shift],
    /// When work stood still.
    pub halts: &'d [Halt],
    /// Hours of all people together, as they were given when the day was closed.
    pub hours: f64,
}

/// Shares a day's hours out.
///
/// The method, which is common practice and has no source: the time since the record before (or since the day was
/// opened) is put down to what a record says was done, because a lead records a thing when it is finished. It
/// counts for as many people as were there, less those whom a stoppage kept idle. Records of one moment share
/// their time by weight. The whole is then scaled so that, together with the hours lost to stoppages, it comes to
/// the hours given at closing: breaks, getting ready and clearing up fall on the work in proportion.
///
/// The result is only as good as the times of the record: a day written down at one go in the evening puts all its
/// hours to that moment. A day without records, or with all its hours lost, shares out nothing.
///
/// # Example
/// Two people, seven to three, 16 hours given; frames done at nine, courses at noon: two hours and three, so 6.4
/// and 9.6 of the sixteen. With everybody idle from ten to eleven, 14 hours are left, 7 to each.
/// ```
/// use cladlog::accounts::allot::{DayHours, Mark, allot};
/// use cladlog::accounts::idle::{Halt, Shift};
/// let at = |hour: u32| {
///     let text = format!("2026-03-04T{hour:02}:00:00+13:00");
///     cladlog::moment::parse(&text, chrono::NaiveDate::MIN, chrono_tz::Pacific::Auckland).unwrap()
/// };
/// let crew = [Shift { from: at(7), until: at(15) }; 2];
/// let marks = [Mark { at: at(9), to: "frame", weight: 1.0 }, Mark { at: at(12), to: "courses", weight: 1.0 }];
/// let day = DayHours { opened_at: at(7), closed_at: at(15), shifts: &crew, halts: &[], hours: 16.0 };
/// let shares = allot(&marks, &day);
/// assert!((shares["courses"] - 9.6).abs() < 1e-9 && (shares["frame"] - 6.4).abs() < 1e-9);
/// let rain = [Halt { from: at(10), until: at(11), people: None }];
/// let day = DayHours { halts: &rain, ..day };
/// let shares = allot(&marks, &day);
/// assert!(shares.values().all(|hours| (hours - 7.0).abs() < 1e-9));
/// ```
pub fn allot<K: Ord + Clone>(marks: &[Mark<K>], day: &DayHours<'_>) -> BTreeMap<K, f64> {
    let mut sorted: Vec<&Mark<K>> =
        marks.iter().filter(|mark| mark.at >= day.opened_at && mark.at <= day.closed_at).collect();
    sorted.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.to.cmp(&b.to)));
    let mut shares: BTreeMap<K, f64> = BTreeMap::new();
    let mut from = day.opened_at;
    for together in sorted.chunk_by(|a, b| a.at == b.at) {
        let Some(first) = together.first() else { continue };
        let time = stretch(day.shifts, day.halts, from, first.at);
        let worked = time.present_h - time.lost_h;
        let weights: f64 = together.iter().map(|mark| mark.weight.max(0.0)).sum();
        for mark in together {
            let share = if weights > 0.0 { mark.weight.max(0.0) / weights } else { 1.0 / together.len() as f64 };
            *shares.entry(mark.to.clone()).or_default() += worked * share;
        }
        from = first.at;
    }
    let lost = stretch(day.shifts, day.halts, day.opened_at, day.closed_at).lost_h;
    let (left, worked) = ((day.hours - lost).max(0.0), shares.values().sum::<f64>());
    if worked <= 0.0 || left <= 0.0 {
        return BTreeMap::new();
    }
    shares.retain(|_, share| *share > 0.0);
    shares.values_mut().for_each(|share| *share *= left / worked);
    shares
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{DateTime, TimeDelta};
    use proptest::prelude::*;

    fn at(minute: i64) -> Moment {
        Moment::from(DateTime::UNIX_EPOCH) + TimeDelta::minutes(minute)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn what_is_shared_out_is_what_was_worked(
            marks in proptest::collection::vec((1i64..480, 0u8..4, 0.0f64..3.0), 0..8),
            halts in proptest::collection::vec((0i64..480, 0i64..480), 0..3),
            hours in 0.0f64..30.0,
        ) {
            let marks: Vec<Mark<u8>> =
                marks.into_iter().map(|(minute, to, weight)| Mark { at: at(minute), to, weight }).collect();
            let halts: Vec<Halt> =
                halts.into_iter().map(|(a, b)| Halt { from: at(a), until: at(b), people: Some(1) }).collect();
            let shifts = [Shift { from: at(0), until: at(480) }, Shift { from: at(60), until: at(480) }];
            let day = DayHours { opened_at: at(0), closed_at: at(480), shifts: &shifts, halts: &halts, hours };
            let shares = allot(&marks, &day);
            let lost = stretch(&shifts, &halts, at(0), at(480)).lost_h;
            let sum: f64 = shares.values().sum();
            prop_assert!(shares.values().all(|share| *share > 0.0));
            prop_assert!(shares.is_empty() || (sum - (hours - lost)).abs() < 1e-9, "{sum} of {hours} less {lost}");
        }
    }
}
