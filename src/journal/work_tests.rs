//! How much of the book a record goes through: counted, never timed.

#![allow(clippy::unwrap_used, reason = "a test stops where it can't go on")]

use std::sync::Arc;

use chrono::TimeDelta;

use super::{Journal, NewJob};
use crate::building::read_job;
use crate::day::{FOLDED, RecordStep, set_up};
use crate::moment::Moment;
use crate::record::{AddNote, Store};
use crate::sequence;

/// Entries of the book that is recorded in.
const NOTES: usize = 300;

const JOB: &str = "key = \"test\"\nname = \"Test house\"\ntime_zone = \"Pacific/Auckland\"\nsequence = \"small.toml\"\n\
                   [[person]]\nname = \"Lea\"\nroles = [\"lead\"]\n[[wall]]\nkey = \"N\"\ncourses = 30\njoints = 4\n";

/// A journal of one job and some hundred notes, a minute apart; and the time after the last.
fn journal() -> (tempfile::TempDir, Journal, Moment) {
    let folder = tempfile::tempdir().unwrap();
    let text = include_str!("../../tests/rules/small.toml");
    let set_up = set_up(read_job(JOB).unwrap(), &sequence::read(text).unwrap()).unwrap();
    let begun = Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap();
    let new = NewJob { set_up, rates: &[], device: "bcdfghjk", rehearsal: true };
    let store = Store::create(&folder.path().join("job.db")).unwrap();
    let (mut journal, _) = Journal::set_up(store, new, "Lea", begun, begun).unwrap();
    let at = |minutes: usize| begun + TimeDelta::minutes(i64::try_from(minutes).unwrap());
    for number in 0..NOTES {
        journal.record(&note(), "Lea", at(number), at(number)).unwrap();
    }
    (folder, journal, at(NOTES))
}

fn note() -> AddNote {
    AddNote { subject: "N".into(), text: "walked the wall".into() }
}

/// House 6: with a past time, each entry of a record replayed the whole book.
#[test]
fn what_happened_earlier_is_replayed_once_however_many_entries_it_makes() {
    let (_folder, mut journal, now) = journal();
    let anyway = Some("it happened".to_owned());
    let step = "course".to_owned();
    let courses = RecordStep { step, subject: "N/C1..30".into(), answers: Vec::new(), began: None, anyway };
    for at in [now - TimeDelta::minutes(2), now - TimeDelta::hours(2), now - TimeDelta::hours(4)] {
        let before = FOLDED.get();
        assert_eq!(journal.record(&courses, "Lea", at, now).unwrap().entries.len(), 30);
        // To that moment and from there on: each entry once.
        let (folded, entries) = (FOLDED.get() - before, journal.book().entries.len());
        assert!(folded <= entries, "{folded} of {entries}");
    }
}

/// House 7: every question of the walk copied the book, and every look-up by id went through it.
#[test]
fn a_look_and_a_record_copy_nothing_and_an_entry_is_found_by_its_place() {
    let (_folder, mut journal, now) = journal();
    let place = Arc::as_ptr(journal.book());
    let before = FOLDED.get();
    assert!(!journal.refresh().unwrap());
    let recorded = journal.record(&note(), "Lea", now, now).unwrap();
    assert_eq!((Arc::as_ptr(journal.book()), FOLDED.get() - before), (place, 1));
    let book = journal.book();
    assert!(!book.has_places(), "nobody asked for one yet");
    let id = &recorded.entries[0].id;
    assert_eq!(book.entry(id).map(|entry| &entry.hash), Some(&recorded.entries[0].hash));
    assert!(book.has_places());
    // It is kept up, not made again.
    let recorded = journal.record(&note(), "Lea", now, now).unwrap();
    assert!(journal.book().has_places());
    assert!(journal.book().entry(&recorded.entries[0].id).is_some());
    // Whoever holds on to the book sees it as it was.
    let held = Arc::clone(journal.book());
    journal.record(&note(), "Lea", now, now).unwrap();
    assert_eq!(held.entries.len() + 1, journal.book().entries.len());
}
