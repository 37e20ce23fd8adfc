//! Crew-hours present and crew-hours lost, from who was there and when work stood still.

use crate::moment::Moment;

/// One person's presence on site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shift {
    /// Since when.
    pub from: Moment,
    /// Until when.
    pub until: Moment,
}

/// A time in which work stood still.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Halt {
    /// Since when.
    pub from: Moment,
    /// Until when.
    pub until: Moment,
    /// How many stood idle; everybody present when `None`.
    pub people: Option<u32>,
}

/// What a stretch of time comes to, in crew-hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Everybody's presence together.
    pub present_h: f64,
    /// Of it lost to stoppages, time that two of them share counted once.
    pub lost_h: f64,
    /// Lost to each halt alone, in the order given.
    pub each_h: Vec<f64>,
}

/// Adds up the crew-hours between `from` and `until`.
///
/// At any moment a halt idles as many people as it says, or everybody present, never more than are present.
/// Halts that run together idle the sum of theirs, and together never more than are present: nobody is lost
/// twice. A shift or halt that ends before it begins counts for nothing.
///
/// # Example
/// Three people from seven to three; rain from noon to one keeps two of them idle, a missing key everybody from
/// half past twelve to one (common practice, no source): 24 crew-hours, of which 2 + 1.5 are lost to each alone,
/// and 2.5 in all, since the two run together for half an hour.
/// ```
/// use cladlog::accounts::idle::{Halt, Shift, stretch};
/// let at = |hour: u32, minute: u32| {
///     cladlog::moment::parse(
///         &format!("2026-03-04T{hour:02}:{minute:02}:00+13:00"),
///         chrono::NaiveDate::MIN,
///         chrono_tz::Pacific::Auckland,
///     )
///     .unwrap()
/// };
/// let crew = [Shift { from: at(7, 0), until: at(15, 0) }; 3];
/// let rain = Halt { from: at(12, 0), until: at(13, 0), people: Some(2) };
/// let key = Halt { from: at(12, 30), until: at(13, 0), people: None };
/// let sum = stretch(&crew, &[rain, key], at(0, 0), at(23, 0));
/// assert_eq!((sum.present_h, sum.lost_h, sum.each_h), (24.0, 2.5, vec![2.0, 1.5]));
/// ```
pub fn stretch(shifts: &[Shift], halts: &[Halt], from: Moment, until: Moment) -> Stretch {
    let within = |moment: &Moment| *moment > from && *moment < until;
    let mut cuts: Vec<Moment> = vec![from];
    cuts.extend(shifts.iter().flat_map(|shift| [shift.from, shift.until]).filter(within));
    cuts.extend(halts.iter().flat_map(|halt| [halt.from, halt.until]).filter(within));
    cuts.push(until);
    cuts.sort_unstable();
    // Whole seconds are added up, so that the order of the cuts can't change the sum.
    let (mut present, mut lost, mut each) = (0i64, 0i64, vec![0i64; halts.len()]);
    for pair in cuts.windows(2) {
        let (start, end) = (pair[0], pair[1]);
        let seconds = (end - start).num_seconds();
        if seconds <= 0 {
            continue;
        }
        let here = shifts.iter().filter(|shift| shift.from <= start && end <= shift.until).count() as i64;
        let mut idle = 0;
        for (halt, sum) in halts.iter().zip(&mut each) {
            if halt.from <= start && end <= halt.until {
                let stands = halt.people.map_or(here, |people| here.min(i64::from(people)));
                *sum += stands * seconds;
                idle += stands;
            }
        }
        present += here * seconds;
        lost += idle.min(here) * seconds;
    }
    let hours = |seconds: i64| seconds as f64 / 3600.0;
    Stretch { present_h: hours(present), lost_h: hours(lost), each_h: each.into_iter().map(hours).collect() }
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
        fn nobody_is_lost_twice_and_parts_add_up(
            shifts in proptest::collection::vec((0i64..600, 0i64..600), 0..5),
            halts in proptest::collection::vec((0i64..600, 0i64..600, proptest::option::of(1u32..4)), 0..5),
            middle in 0i64..600,
        ) {
            let shifts: Vec<Shift> = shifts.into_iter().map(|(a, b)| Shift { from: at(a), until: at(b) }).collect();
            let halts: Vec<Halt> =
                halts.into_iter().map(|(a, b, people)| Halt { from: at(a), until: at(b), people }).collect();
            let whole = stretch(&shifts, &halts, at(0), at(600));
            prop_assert!(whole.lost_h <= whole.present_h);
            prop_assert!(whole.lost_h <= whole.each_h.iter().sum::<f64>() + 1e-9);
            let (first, second) =
                (stretch(&shifts, &halts, at(0), at(middle)), stretch(&shifts, &halts, at(middle), at(600)));
            prop_assert!((first.lost_h + second.lost_h - whole.lost_h).abs() < 1e-9);
            prop_assert!((first.present_h + second.present_h - whole.present_h).abs() < 1e-9);
        }
    }
}
