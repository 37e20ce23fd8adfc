//! The evening report: what is in it, as of when, and in which forms. How it reads is in `tests/messages`.

use crate::harness::site::Site;
use crate::rules::site;

const MORNING: &str = "2026-03-02T08:00:00+13:00";

/// A day with a reading, a frame out of tolerance, a stoppage, an extra, a release asked for.
fn day() -> Site {
    let site = site::open(MORNING);
    site.ok(["reading", "--on", "N,E", "--air", "17", "--humidity", "60", "--surface", "18", "--rain"]);
    site.clock("2026-03-02T09:00:00+13:00");
    site.ok(["record", "frame", "--on", "N,E", "--answer", "flat@N=2", "--answer", "flat@E=5"]);
    site.ok(["stoppage", "start", "--cause", "rain", "--told", "Bea"]);
    site.clock("2026-03-02T10:00:00+13:00");
    site.ok(["stoppage", "end"]);
    site.ok(["extra", "add", "--what", "porch soffit", "--asked-by", "Bea", "--hours", "2"]);
    site.ok(["hold", "ask", "cover", "--on", "N"]);
    site.clock("2026-03-02T16:00:00+13:00");
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=7.5", "--note", "wet"]);
    site.clock("2026-03-04T09:00:00+13:00");
    site
}

#[test]
fn the_report_gives_what_became_of_the_day() {
    let site = day();
    let json = site.ok(["day", "report"]);
    assert_eq!(json["date"], "2026-03-02");
    assert_eq!(json["as_of"], "2026-03-02T16:00:00+13:00", "what was to come is seen from that evening");
    assert_eq!(json["hours"], 15.5);
    assert_eq!(json["stoppages"][0]["told"], serde_json::json!(["Bea"]));
    assert_eq!(json["extras"][0]["asked_by"], "Bea");
    assert_eq!(json["holds"][0]["what"], "asked");
    // By its title where people read it.
    assert_eq!(
        (&json["holds"][0]["key"], &json["holds"][0]["title"]),
        (&"cover".into(), &"Frame before cover-up".into())
    );
    // What is out of tolerance is open, and not done.
    assert_eq!((&json["done"][0]["step"], &json["done"][0]["on"]), (&"frame".into(), &"N".into()));
    assert!(json["defects"][0].as_str().unwrap().contains(" on E (open)"), "{}", json["defects"]);
}

#[test]
fn slips_keys_and_phones_are_for_the_log() {
    let site = site::open(MORNING);
    site.ok(["note", "--on", "N", "--text", "a slip"]);
    site.ok("undo");
    site.ok(["record", "frame", "--on", "N", "--answer", "flat=5"]);
    site.ok("undo");
    site.ok("pack pack --interim");
    let json = site.ok("day report");
    assert_eq!((&json["defects"], &json["done"]), (&serde_json::json!([]), &serde_json::json!([])));
    let also = json["also"].to_string();
    assert!(!also.contains("struck") && !also.contains("slip") && !also.contains("key"), "{also}");
    // What an earlier evening said and is no longer so is named.
    site.ok(["note", "--on", "N", "--text", "ladder against the wall"]);
    site.ok(["day", "close", "--hours", "Lea=8", "Ivo=8"]);
    site.clock("2026-03-03T08:00:00+13:00");
    site.ok(["day", "open", "--crew", "Lea"]);
    let note = site.log().iter().rfind(|entry| entry["kind"] == "noted").unwrap()["id"].as_str().unwrap().to_owned();
    site.ok(["strike", &note, "--why", "another site"]);
    let also = site.ok("day report")["also"].to_string();
    assert!(also.contains("struck: another site"), "{also}");
}

#[test]
fn what_was_written_down_late_stands_where_it_happened() {
    let site = site::open(MORNING);
    site.clock("2026-03-02T10:00:00+13:00");
    site.ok(["note", "--on", "N", "--text", "the second"]);
    site.ok(["note", "--on", "N", "--text", "the first", "--at", "08:30"]);
    let json = site.ok(["day", "report"]);
    let also = json["also"].to_string();
    assert!(also.find("the first") < also.find("the second") && also.contains("the first"), "{also}");
}

#[test]
fn as_of_an_earlier_time_it_says_what_was_known_then() {
    let site = day();
    let json = site.ok(["day", "report", "--at", "2026-03-02T09:30:00+13:00"]);
    assert_eq!(json["as_of"], "2026-03-02T09:30:00+13:00");
    assert!(json["stoppages"][0].get("ended_at").is_none(), "{json}");
    assert_eq!(json["extras"], serde_json::json!([]));
    for args in [["day", "report", "--at", "23:00"], ["day", "report", "--day", "2026-03-05"]] {
        site.bad(args);
    }
}

#[test]
fn it_is_written_as_a_page() {
    let site = day();
    site.bare(["--db", "job.db", "day", "report", "--html", "day.html"]).exits(0);
    let html = std::fs::read_to_string(site.path("day.html")).unwrap();
    for wanted in ["Monday 2 March 2026", "REHEARSAL", "Stoppages", "porch soffit", "asked for by Bea"] {
        assert!(html.contains(wanted), "{wanted}");
    }
    assert!(!html.contains("<script"));
    // It ends in the code that it can be checked by.
    let check = format!("Check {}", site.ok("day report")["head"].as_str().unwrap());
    let (before, after) = html.split_once(&check).unwrap();
    assert!(
        !before.contains("Check")
            && after.split('<').all(|part| part.split_once('>').is_none_or(|(_, text)| text.trim().is_empty())),
        "{after}"
    );
    let run = site.bare(["--db", "job.db", "day", "report", "--pdf", "day.pdf"]);
    if cfg!(feature = "pdf") {
        run.exits(0);
        let pdf = std::fs::read(site.path("day.pdf")).unwrap();
        assert!(pdf.starts_with(b"%PDF-"));
    } else {
        assert!(run.exits(2).stderr.contains("--html FILE"), "the way that is left");
        assert!(!site.path("day.pdf").exists());
    }
}

#[test]
fn reading_commands_answer_as_of_a_time() {
    let site = site::with_frame("2026-03-02T08:00:00+13:00");
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "18"]);
    site.clock("2026-03-02T09:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T12:00:00+13:00");
    let state = |at: &str| {
        let list = site.ok(["window", "list", "--at", at]);
        list["windows"].as_array().unwrap().first().map(|window| window["state"].as_str().unwrap().to_owned())
    };
    assert_eq!(state("08:30"), None, "nothing was primed then");
    assert_eq!(state("09:10").as_deref(), Some("waiting"));
    assert_eq!(state("12:00").as_deref(), Some("open"));
    assert_eq!(state("14:10").as_deref(), Some("closing"), "as far as the record goes now");
    assert_eq!(state("15:10").as_deref(), Some("lapsed"));
    let ready = |at: &str| {
        let list = site.ok(["next", "--at", at]);
        let found = list["actions"].as_array().unwrap().clone();
        found.into_iter().find(|one| one["step"] == "gun" && one["subject"] == "N/J1").map(|one| one["state"].clone())
    };
    assert_eq!(ready("12:00"), Some("ready".into()));
    assert_eq!(ready("09:10"), Some("waiting".into()));
    site.bad(["pack", "pack", "--at", "09:10"]);
    assert_eq!(site.ok(["watch", "--once", "--at", "09:10"])["windows"][0]["state"], "waiting");
}

#[test]
fn the_text_for_the_phone_is_short_and_ends_in_the_head_code() {
    let site = day();
    let json = site.ok(["day", "report"]);
    let text = json["text"].as_str().unwrap();
    assert!(text.chars().count() <= 320, "{text}");
    assert!(text.ends_with(&format!("Check {}", json["head"].as_str().unwrap())), "{text}");
    assert_eq!(site.bare(["--db", "job.db", "day", "report", "--text"]).exits(0).stdout.trim_end(), text);
    // What the builder has to do comes first.
    let place = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
    let for_you = place("For you: ");
    assert!(
        for_you < place("you asked for (2 crew-hours): porch soffit")
            && for_you < place("Stopped: 09:00 to 10:00, rain"),
        "{text}"
    );
    assert!(place("1 defect that we put right (E)") < place("Check ") && !text.contains("measure"), "{text}");
}

#[test]
fn what_stopped_and_what_is_open_is_told_however_much_waits_for_the_builder() {
    let site = site::with_frame(MORNING);
    for what in ["porch soffit in two pieces", "the recess of the meter box", "a second bin store beside the garage"] {
        let what = format!("{what}, measured, cut, edges sealed and fixed with screws of stainless steel");
        site.ok(["extra", "add", "--on", "N", "--what", &what, "--asked-by", "Bea", "--hours", "2"]);
    }
    site.clock("2026-03-02T14:00:00+13:00");
    site.ok(["stoppage", "start", "--cause", "no access", "--told", "Bea"]);
    site.clock("2026-03-02T15:20:00+13:00");
    site.ok("stoppage end");
    site.ok(["reading", "--on", "N", "--air", "18", "--humidity", "60", "--surface", "18"]);
    site.clock("2026-03-02T15:30:00+13:00");
    site.ok("record prime --on N/J1");
    let json = site.ok("day report");
    let text = json["text"].as_str().unwrap();
    assert!(text.chars().count() <= 320, "{text}");
    for told in ["For you: 'Frame", "; and 3 more", "Stopped: 14:00 to 15:20", "Open tonight: N/J1", "Check "] {
        assert!(text.contains(told), "{told}: {text}");
    }
}
