//! Hold points and site days.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use cladlog::building::Subject;
use cladlog::moment::Moment;
use cladlog::record::{Body, ReleaseHold, StepDone};

use super::{Place, Second};

/// A site day that nobody closed is over after this long.
const LONGEST_DAY: TimeDelta = TimeDelta::hours(18);

/// A site day.
pub(super) struct Day {
    device: String,
    pub(super) from: Moment,
    closed: Option<Moment>,
    pub(super) crew: Vec<String>,
    pub(super) acknowledged: BTreeSet<(String, String)>,
}

impl Second<'_> {
    pub(super) fn hold(&self, key: &str, on: &Subject, before: usize) -> &'static str {
        let on = on.to_string();
        let last = (0..before).rev().find_map(|at| match &self.entries[at].body {
            Body::StepDone(it) if self.is_covered_again(at, it, key, &on) => Some("held"),
            Body::HoldReleased(it) if it.hold == key && it.subject == on && self.may_release(at, it) => {
                Some("released")
            }
            Body::HoldRefused(it) if it.hold == key && it.subject == on => Some("refused"),
            _ => None,
        });
        last.unwrap_or("held")
    }

    /// Whether a step is one that a hold point covers, done again by somebody who knew that it was done, after a release.
    pub(super) fn is_covered_again(&self, at: usize, done: &StepDone, key: &str, on: &str) -> bool {
        let hold = &self.sequence.holds[self.sequence.hold(key).unwrap()];
        let (step, subject) = (self.sequence.step(&done.step).unwrap(), self.subject(&done.subject));
        if !hold.after.contains(&step) || !self.belong(self.subject(on), subject) {
            return false;
        }
        let (entry, before) = (self.entries[at], self.work(step, subject, at));
        let unaware = |other: &usize| {
            let other = self.entries[*other];
            !entry.had_seen(&other.id()) && !other.had_seen(&entry.id())
        };
        !before.is_empty() && !before.iter().any(unaware) && self.hold(key, self.subject(on), at) == "released"
    }

    /// Whether a release is one: what it covers is complete, and none of it is the work of whoever gives it.
    pub(super) fn may_release(&self, at: usize, release: &ReleaseHold) -> bool {
        let hold = &self.sequence.holds[self.sequence.hold(&release.hold).unwrap()];
        let (on, place) = (self.subject(&release.subject), Place { before: at, at: self.entries[at].happened_at });
        let installs = self.job.person(&release.person).is_none_or(|person| person.installs());
        hold.after.iter().all(|step| {
            self.related(*step, on).all(|on| {
                let by_others = |done: &usize| {
                    let (entry, place) =
                        (self.entries[*done], Place { before: *done, at: self.entries[*done].happened_at });
                    let on_crew =
                        || self.day(&entry.device, place).is_some_and(|day| day.crew.contains(&release.person));
                    entry.by != release.person && !(installs && on_crew())
                };
                self.is_complete(*step, on, place) && self.work(*step, on, at).iter().all(by_others)
            })
        })
    }

    /// The site day that something falls into: of the device's own days the last that was open then, else of another's.
    pub(super) fn day(&self, device: &str, place: Place) -> Option<Day> {
        let mut days = self.days(place.before);
        let found = open_at(&days, device, place.at)?;
        // Whoever has acknowledged a caution on any day of the date has done so.
        let of_date = days.iter().filter(|day| day.from.date() == days[found].from.date());
        let acknowledged = of_date.flat_map(|day| day.acknowledged.iter().cloned()).collect();
        Some(Day { acknowledged, ..days.swap_remove(found) })
    }

    /// The site days that were begun before a place.
    pub(super) fn days(&self, before: usize) -> Vec<Day> {
        let mut days: Vec<Day> = Vec::new();
        for entry in &self.entries[..before] {
            let open = open_at(&days, &entry.device, entry.happened_at);
            match &entry.body {
                Body::DayOpened(it) => days.push(Day {
                    device: entry.device.to_string(),
                    from: entry.happened_at,
                    closed: None,
                    crew: it.crew.clone(),
                    acknowledged: BTreeSet::new(),
                }),
                Body::DayClosed(_) => {
                    if let Some(day) = to_close(&days, &entry.device) {
                        days[day].closed = Some(entry.happened_at);
                    }
                }
                Body::DayJoined(it) => open.into_iter().for_each(|day| days[day].crew.extend(it.crew.iter().cloned())),
                Body::DayLeft(it) => {
                    open.into_iter().for_each(|day| days[day].crew.retain(|one| !it.crew.contains(one)))
                }
                Body::CautionAcknowledged(it) => open.into_iter().for_each(|day| {
                    days[day].acknowledged.extend(it.people.iter().map(|name| (it.caution.clone(), name.clone())));
                }),
                _ => {}
            }
        }
        days
    }
}

/// The day that a device closes: the last of its own that is not closed.
pub(super) fn to_close(days: &[Day], device: &str) -> Option<usize> {
    days.iter().rposition(|day| day.device == device && day.closed.is_none())
}

fn open_at(days: &[Day], device: &str, at: Moment) -> Option<usize> {
    let is_open =
        |day: &Day| day.from <= at && at - day.from <= LONGEST_DAY && day.closed.is_none_or(|closed| at < closed);
    let own = days.iter().rposition(|day| day.device == device && is_open(day));
    own.or_else(|| days.iter().rposition(is_open))
}
