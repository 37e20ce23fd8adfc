//! What is done in one go is recorded by one form, each step with its own time, and taken back as one.

use serde_json::Value;

use super::server::{Answer, Phone, Server, plain};
use crate::harness::site::Site;
use crate::rules::square::open;

const SEALED: [(&str, &str); 4] =
    [("step", "gun"), ("on", "N/J1"), ("answer:sealant-batch", "S9"), ("so_far", "tape-off")];

/// The joint of N is primed at eight; the server's clock stands at a time after that.
fn primed(now: &str) -> (Site, Server, Phone) {
    let site = open();
    for wall in ["N", "E"] {
        site.ok(format!("record frame-square --on {wall} --answer out=1"));
    }
    site.ok("record prime --on N/J1");
    site.clock(now);
    let server = plain(&site);
    let phone = server.first_phone("Lea");
    (site, server, phone)
}

fn seal(phone: &Phone, id: &str, more: &[(&str, &str)]) -> Answer {
    phone.send("/record", id, &[&SEALED[..], more].concat())
}

/// The last steps done that are not struck: step, when it was begun, when it was done.
fn done(site: &Site) -> Vec<[String; 3]> {
    let _ = std::fs::remove_file(site.path("all.jsonl"));
    site.ok("export all.jsonl");
    let struck: Vec<bool> = site.log().iter().map(|entry| entry["struck_by"].is_string()).collect();
    let clock = |time: &Value| time.as_str().map_or_else(String::new, |time| time[11..16].to_owned());
    let lines = site.read("all.jsonl");
    let lines = lines.lines().map(|line| serde_json::from_str::<Value>(line).unwrap()).zip(struck);
    let steps = lines.filter(|(line, struck)| line["kind"] == "step-done" && !struck).skip(3);
    let text = |line: &Value| line["body"]["step"].as_str().unwrap().to_owned();
    steps.map(|(line, _)| [text(&line), clock(&line["body"]["began"]), clock(&line["happened_at"])]).collect()
}

fn sealed(times: [[&str; 2]; 3]) -> Vec<[String; 3]> {
    let steps = ["gun", "tool", "tape-off"].into_iter().zip(times);
    steps.map(|(step, [began, at])| [step, began, at].map(str::to_owned)).collect()
}

#[test]
fn a_bead_is_gunned_tooled_and_freed_of_its_tape_by_one_press() {
    let (site, _server, phone) = primed("08:20");
    let page = phone.get("/step/gun?on=N/J1").is(200).body;
    assert!(page.contains("Gunned, tooled, tape off") && page.contains("When was it begun?"), "{page}");
    let to = seal(&phone, "a", &[("began", "5")]).is(303).header("location").unwrap().to_owned();
    assert_eq!(done(&site), sealed([["08:15", "08:20"], ["", "08:20"], ["", "08:20"]]));
    assert!(site.defects().is_empty());
    let page = phone.get(&to).is(200).body;
    assert!(page.contains("Gunned, tooled, tape off on N/J1"), "{page}");
    // Recorded later, something else is not what this page takes back.
    phone.send("/note", "b", &[("on", "N"), ("text", "dry")]).is(303);
    let run = to.split_once("done=").unwrap().1.to_owned();
    phone.send("/undo", "c", &[("entries", &run)]).is(303);
    assert_eq!(done(&site), sealed([["", ""]; 3])[..0]);
    assert!(site.log().iter().any(|entry| entry["kind"] == "noted" && entry.get("struck_by").is_none()));
    let again = phone.send("/undo", "d", &[("entries", &run)]).is(409).body;
    assert!(again.contains("already taken back"), "{again}");
    phone.send("/undo", "e", &[("entries", "nothing")]).is(400);
}

#[test]
fn each_has_its_own_time_where_it_was_not_just_now() {
    let (site, _server, phone) = primed("08:20");
    let clock = [("began_at", "08:10"), ("time:tool", "08:15"), ("time:tape-off", "08:17")];
    seal(&phone, "a", &clock).is(303);
    assert_eq!(done(&site), sealed([["08:10", "08:15"], ["", "08:15"], ["", "08:17"]]));
}

#[test]
fn what_waited_on_the_phone_counts_from_when_it_was_pressed() {
    let (site, _server, phone) = primed("10:40");
    seal(&phone, "a", &[("began", "5"), ("pressed_at", "2026-03-02T08:20:00+13:00")]).is(303);
    assert_eq!(done(&site), sealed([["08:15", "08:20"], ["", "08:20"], ["", "08:20"]]));
    assert!(site.defects().is_empty());
}

#[test]
fn times_that_can_not_be_are_refused_and_what_was_typed_stays() {
    let (site, _server, phone) = primed("08:20");
    for (id, more, why) in [
        ("a", &[][..], "say when it was begun"),
        ("b", &[("began_at", "08:30")][..], "that is still to come"),
        ("c", &[("began_at", "08:10"), ("time:tool", "08:05")][..], "in the order in which it was done"),
        ("d", &[("began", "soon")][..], "soon"),
    ] {
        let page = seal(&phone, id, more).is(400).body;
        assert!(page.contains(why) && page.contains("value=\"tape-off\" required checked"), "{id}: {page}");
        assert!(done(&site).is_empty());
    }
    phone.send("/record", "f", &[("step", "gun"), ("on", "N/J1"), ("so_far", "prime")]).is(400);
}

#[test]
fn a_window_that_was_missed_stops_all_of_it_unless_the_reason_is_given() {
    let (site, _server, phone) = primed("08:20");
    let late = [("began_at", "08:02")];
    let page = seal(&phone, "a", &late).is(409).body;
    assert!(page.contains("Record it anyway? Reason"), "{page}");
    assert!(done(&site).is_empty());
    seal(&phone, "b", &[("began_at", "08:02"), ("anyway", "yes"), ("why", "the phone was in the van")]).is(303);
    assert_eq!(done(&site), sealed([["08:02", "08:20"], ["", "08:20"], ["", "08:20"]]));
    let defects: Vec<String> = site.defects().iter().map(|one| one["id"].as_str().unwrap().to_owned()).collect();
    assert!(matches!(defects.as_slice(), [one] if one.ends_with(".r6-tool")), "{defects:?}");
}
