//! `cladlog alarms`: read back by another parser, stable from run to run, and empty but valid when nothing runs.

use std::collections::BTreeMap;

use super::house::{self, at};
use crate::harness::site::Site;

/// One event: its properties by name, and the trigger of its alarm.
type Read = (BTreeMap<String, String>, Option<String>);

/// The events of a calendar file, by their ids, as the `ical` crate reads them.
fn read(house: &Site, name: &str) -> BTreeMap<String, Read> {
    let text = std::fs::read_to_string(house.path(name)).unwrap();
    assert!(
        text.split_inclusive("\r\n")
            .all(|line| line.ends_with("\r\n") && line.len() <= 77 && !line[..line.len() - 2].contains('\n'))
    );
    let mut calendars: Vec<_> = ical::IcalParser::new(text.as_bytes()).collect::<Result<_, _>>().unwrap();
    assert_eq!(calendars.len(), 1);
    let property = |list: &[ical::property::Property], name: &str| {
        list.iter().find(|property| property.name == name).and_then(|property| property.value.clone())
    };
    let calendar = calendars.remove(0);
    assert_eq!(property(&calendar.properties, "VERSION").as_deref(), Some("2.0"));
    assert!(property(&calendar.properties, "PRODID").is_some());
    calendar
        .events
        .into_iter()
        .map(|event| {
            let all: BTreeMap<String, String> =
                event.properties.iter().map(|p| (p.name.clone(), p.value.clone().unwrap_or_default())).collect();
            // RFC 5545, 3.6.1 and 3.6.6: what an event and its alarm must have.
            for needed in ["UID", "DTSTAMP", "DTSTART"] {
                assert!(all.contains_key(needed), "{needed}");
            }
            let trigger = event.alarms.first().map(|alarm| {
                assert_eq!(property(&alarm.properties, "ACTION").as_deref(), Some("DISPLAY"));
                assert!(property(&alarm.properties, "DESCRIPTION").is_some());
                property(&alarm.properties, "TRIGGER").unwrap()
            });
            (all["UID"].clone(), (all, trigger))
        })
        .collect()
}

/// S/J1 primed at 08:10.
fn primed() -> Site {
    let house = house::open(&at("08:00"));
    house.dry();
    house.ok(["record", "clean", "--on", "S/J1"]);
    house.clock("08:10");
    house.ok(["record", "primed", "--on", "S/J1"]);
    house
}

#[test]
fn running_windows_ring_when_they_open_warn_and_close() {
    let house = primed();
    house.text(["alarms", "a.ics"]);
    let events = read(&house, "a.ics");
    let told: Vec<(&str, &str, Option<&str>)> = events
        .values()
        .map(|(all, trigger)| (all["SUMMARY"].as_str(), all["DTSTART"].as_str(), trigger.as_deref()))
        .collect();
    // 08:10 NZDT is 19:10 UTC the day before: open after 30 min, closed after 4 h, warned 30 min before.
    assert_eq!(
        told,
        [
            ("S/J1: Primer to sealant closes", "20260301T231000Z", Some("-PT5M")),
            ("S/J1: Primer to sealant opens", "20260301T194000Z", Some("PT0S")),
            ("S/J1: Primer to sealant is closing", "20260301T224000Z", Some("PT0S")),
        ]
    );
    // The same record: the same bytes.
    house.ok(["alarms", "b.ics"]);
    assert_eq!(std::fs::read(house.path("a.ics")).unwrap(), std::fs::read(house.path("b.ics")).unwrap());
    assert!(!house.path("a.ics.part").exists());
}

#[test]
fn loading_again_updates_what_moved_and_cancels_what_is_done() {
    let house = primed();
    house.ok(["sealplan", "--keep"]);
    house.ok(["alarms", "a.ics"]);
    let before = read(&house, "a.ics");
    house.clock("08:45");
    house.ok(["record", "gunned", "--on", "S/J1"]);
    house.ok(["sealplan", "--keep", "--on", "S/J2..3"]);
    house.ok(["alarms", "b.ics"]);
    let after = read(&house, "b.ics");
    let sequence = |read: &Read| read.0["SEQUENCE"].parse::<u32>().unwrap();
    for (uid, event) in &before {
        match after.get(uid) {
            Some(later) => assert!(sequence(later) >= sequence(event), "{uid}"),
            None => assert!(event.0["DTSTART"].as_str() <= "20260301T194500Z", "{uid} is past"),
        }
    }
    let gone: Vec<&str> = after
        .values()
        .filter(|event| event.0["STATUS"] == "CANCELLED")
        .map(|event| {
            assert_eq!(event.1, None, "what is cancelled does not ring");
            event.0["SUMMARY"].as_str()
        })
        .collect();
    assert!(gone.contains(&"S/J1: Primer to sealant closes"), "{gone:?}");
    // The east wall was dropped from the plan.
    assert!(gone.iter().any(|said| said.ends_with("primes E/J1")), "{gone:?}");
    let moved = before.iter().filter(|(uid, _)| uid.contains(".seal-plan.2026-03-02.S/J2.gun@")).count();
    assert_eq!(moved, 1, "{:?}", before.keys());
}

/// RFC 5546, 2.1.4: a calendar ignores an event whose SEQUENCE is lower than that of the one it holds.
#[test]
fn the_sequence_of_an_event_never_falls_also_when_entries_are_struck() {
    let house = primed();
    house.ok(["sealplan", "--keep"]);
    house.clock("08:20");
    let read_again = house.ok(["reading", "--on", "S,E", "--air", "16", "--humidity", "60", "--surface", "14"]);
    let plan = house.ok(["sealplan", "--keep"]);
    house.ok(["alarms", "a.ics"]);
    let before = read(&house, "a.ics");
    house.clock("08:25");
    let entries = read_again["entries"].as_array().unwrap().iter().chain(plan["entries"].as_array().unwrap());
    for entry in entries {
        house.ok(["strike", entry["id"].as_str().unwrap(), "--why", "read on the wrong wall", "--anyway"]);
    }
    house.ok(["alarms", "b.ics"]);
    let after = read(&house, "b.ics");
    let sequence = |read: &Read| read.0["SEQUENCE"].parse::<u32>().unwrap();
    let both: Vec<_> = before.iter().filter_map(|(uid, event)| Some((event, after.get(uid)?))).collect();
    assert!(both.len() > 6, "{:?}", after.keys());
    for (event, later) in both {
        assert!(sequence(later) > sequence(event), "{event:?} became {later:?}");
    }
}

#[test]
fn nothing_running_is_an_empty_calendar_and_said_so() {
    let house = house::shut(super::house::JOB, &at("08:00"));
    house.ok("alarms a.ics");
    assert!(read(&house, "a.ics").is_empty());
    let text = std::fs::read_to_string(house.path("a.ics")).unwrap();
    // RFC 5545, 3.6: a calendar holds at least one component.
    assert!(text.contains("BEGIN:VTIMEZONE\r\nTZID:Etc/UTC\r\n"));
    house.run(["alarms", "no/such/folder/a.ics"]).exits(3);
}
