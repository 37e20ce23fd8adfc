//! Two leads on one job: each with a device and a chain, brought together in either order.

use std::sync::Arc;

use cladlog::day::Book;
use cladlog::record::{Body, CloseDay, Draft, Entry, OpenDay, ReleaseHold, StepDone, Strike, read_jsonl, unite};
use proptest::prelude::*;
use serde_json::Value;

use crate::harness::site::Site;
use crate::rules::site::JOB;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

/// Lea's job, the day open and the frame checked, and Ivo's file, begun from her export.
struct Two {
    lea: Site,
    ivo: Site,
}

impl Two {
    fn begun() -> Self {
        let lea = Site::folder(MONDAY, "tests/rules/small.toml").beside("lea", "Lea");
        lea.file("job.toml", JOB);
        lea.ok("job add job.toml");
        lea.open_day(&["Lea", "Ivo"]);
        lea.ok("record frame --on N,E --answer flat=2");
        let ivo = lea.second("ivo", "Ivo");
        Self { lea, ivo }
    }

    /// What a file of this text is refused with, in Lea's database and in a fresh one; neither is written.
    fn refused(&self, text: &str) -> String {
        self.lea.file("bad.jsonl", text);
        let before = self.lea.hashes();
        let run = self.lea.run("merge bad.jsonl");
        assert_eq!(self.lea.hashes(), before);
        // A record that does not hold is refused by R1; what is no record is bad input.
        match run.code {
            1 => assert_eq!(run.json()["refused"]["rule"], "R1"),
            _ => assert_eq!((run.code, run.stdout.as_str()), (2, ""), "{run:?}"),
        }
        // Lines are wrapped for the screen.
        run.stderr.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The same where the file contradicts nothing that a fresh database could know: there too.
    fn refused_everywhere(&self, text: &str) -> String {
        let fresh = self.lea.beside("fresh", "Lea");
        self.lea.file("bad.jsonl", text);
        assert!((1..=2).contains(&fresh.run("merge bad.jsonl").code));
        assert!(!fresh.path("fresh.db").exists(), "nothing is left behind");
        self.refused(text)
    }
}

#[test]
fn a_second_lead_begins_from_an_export_and_writes_a_book_of_their_own() {
    let two = Two::begun();
    assert_eq!(two.ivo.hashes(), two.lea.hashes());
    let told = two.ivo.ok(["note", "--on", "N", "--text", "by Ivo"]);
    let id = told["entries"][0]["id"].as_str().unwrap();
    let leas = two.lea.ok(["log"])["entries"][0]["device"].as_str().unwrap().to_owned();
    assert!(!id.starts_with(&leas) && id.ends_with("-1"), "{id}");
    two.ivo.run(["verify"]).exits(0);
    // It came from a rehearsal, and stays one.
    assert_eq!(two.ivo.ok(["job", "show"])["rehearsal"], true);
}

#[test]
fn the_default_database_is_made_where_there_is_none_yet() {
    let two = Two::begun();
    let here = |args: &[&str]| two.lea.bare(args);
    here(&["merge", "begin.jsonl"]).exits(0);
    assert_eq!(here(&["--json", "log"]).exits(0).json()["entries"].as_array().unwrap().len(), two.lea.hashes().len());
}

#[test]
fn the_union_is_the_same_whichever_way_round_and_merging_again_adds_nothing() {
    let two = Two::begun();
    for (minute, site, text) in [(1, &two.lea, "a"), (2, &two.ivo, "b"), (3, &two.ivo, "c"), (4, &two.lea, "d")] {
        two.lea.clock(&format!("2026-03-02T08:0{minute}:00+13:00"));
        site.ok(["note", "--on", "N", "--text", text]);
    }
    two.lea.ok(["export", "lea.jsonl"]);
    two.ivo.ok(["export", "ivo.jsonl"]);
    let told = two.lea.ok(["merge", "ivo.jsonl"]);
    assert_eq!(told["entries"].as_array().unwrap().len(), 2);
    assert_eq!(told["opened"], serde_json::json!([]));
    two.ivo.ok(["merge", "lea.db"]);
    assert_eq!(two.lea.hashes(), two.ivo.hashes());
    two.lea.ok(["export", "both.jsonl"]);
    two.ivo.ok(["export", "other.jsonl"]);
    assert_eq!(two.lea.read("both.jsonl"), two.lea.read("other.jsonl"));
    for again in ["ivo.jsonl", "both.jsonl", "lea.db", "begin.jsonl"] {
        assert_eq!(two.lea.ok(["merge", again])["entries"], serde_json::json!([]), "{again}");
    }
    for site in [&two.lea, &two.ivo] {
        site.run(["verify"]).exits(0);
        site.ok(["next"]);
    }
    // The pack of both is the same, and verifies.
    two.lea.ok(["pack", "pack", "--interim"]);
    two.lea.run(["verify", "pack"]).exits(0);
    two.lea.run(["verify", "pack.zip"]).exits(0);
}

#[test]
fn what_two_leads_did_without_knowing_of_one_another_comes_out_as_defects() {
    let two = Two::begun();
    let release = ["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"];
    for site in [&two.lea, &two.ivo] {
        site.ok(release);
        site.ok(["reading", "--on", "N", "--air", "15", "--humidity", "60", "--surface", "15"]);
        site.ok(["record", "prime", "--on", "N/J1"]);
    }
    two.lea.clock("2026-03-02T09:00:00+13:00");
    for site in [&two.lea, &two.ivo] {
        site.ok(["record", "gun", "--on", "N/J1"]);
    }
    let told = two.lea.ok(["merge", "ivo.db"]);
    let said: Vec<&str> =
        told["opened"].as_array().unwrap().iter().map(|mark| mark["says"].as_str().unwrap()).collect();
    assert!(said.iter().any(|says| says.contains("Ines has already released it")), "{said:?}");
    let twice = said.iter().filter(|says| says.contains("also recorded this")).count();
    assert_eq!(twice, 2, "primed twice and sealed twice: {said:?}");
    two.ivo.ok(["merge", "lea.db"]);
    assert_eq!(two.lea.ok(["defect", "list"]), two.ivo.ok(["defect", "list"]));
    // Striking the one that is not so clears it.
    let defects = two.lea.ok(["defect", "list"]);
    let gunned = defects["defects"].as_array().unwrap().iter().find(|d| d["what"].as_str().unwrap().starts_with("Gun"));
    let entry = gunned.unwrap()["opened_by_entry"].as_str().unwrap().to_owned();
    two.lea.ok(["strike", &entry, "--why", "Lea gunned it", "--anyway"]);
    let left = two.lea.ok(["defect", "list"]);
    assert!(!left["defects"].as_array().unwrap().iter().any(|d| d["opened_by_entry"] == entry.as_str()));
    // What one lead does knowing of the other's is no conflict.
    two.lea.clock("2026-03-02T09:10:00+13:00");
    let before = two.ivo.ok(["defect", "list"]);
    two.ivo.ok(["record", "frame", "--on", "N", "--answer", "flat=1"]);
    assert_eq!(two.ivo.ok(["defect", "list"]), before);
}

#[test]
fn both_strikes_of_one_entry_stay_readable() {
    let two = Two::begun();
    let told = two.lea.ok(["log"]);
    let frame = told["entries"][2]["id"].as_str().unwrap().to_owned();
    for site in [&two.lea, &two.ivo] {
        site.ok(["strike", &frame, "--why", "wrong wall"]);
    }
    two.lea.ok(["merge", "ivo.db"]);
    two.ivo.ok(["merge", "lea.db"]);
    assert_eq!(two.lea.ok(["log"])["entries"], two.ivo.ok(["log"])["entries"]);
    let log = two.lea.ok(["log"]);
    let strikes = log["entries"].as_array().unwrap().iter().filter(|entry| entry["kind"] == "struck").count();
    assert_eq!(strikes, 2);
    assert!(log["entries"][2]["struck_by"].is_string());
    two.lea.run(["verify"]).exits(0);
}

#[test]
fn each_of_two_crews_opens_and_closes_its_own_day() {
    let two = Two::begun();
    two.lea.ok(["day", "close", "--hours", "Lea=1", "--hours", "Ivo=1"]);
    two.ivo.ok(["merge", "lea.db"]);
    two.lea.clock("2026-03-03T07:00:00+13:00");
    two.lea.ok(["day", "open", "--crew", "Lea", "--talk", "t"]);
    two.lea.clock("2026-03-03T07:05:00+13:00");
    two.ivo.ok(["day", "open", "--crew", "Ivo", "--talk", "t"]);
    two.ivo.ok(["caution", "acknowledge", "dust", "--person", "Ivo"]);
    two.ivo.ok(["hold", "release", "cover", "--on", "N", "--person", "Ines", "--how", "on site"]);
    two.ivo.ok(["record", "course", "--on", "N/C1"]);
    two.lea.clock("2026-03-03T15:00:00+13:00");
    two.lea.ok(["day", "close", "--hours", "Lea=8"]);
    two.lea.clock("2026-03-03T16:00:00+13:00");
    two.ivo.ok(["record", "course", "--on", "N/C2"]);
    two.ivo.ok(["day", "close", "--hours", "Ivo=9"]);
    let told = two.lea.ok(["merge", "ivo.db"]);
    let defects = told["opened"].as_array().unwrap().iter().filter(|mark| mark["what"] == "defect").count();
    assert_eq!(defects, 0, "{told}");
}

#[test]
fn a_forged_cut_or_reordered_chain_is_refused_and_named() {
    let two = Two::begun();
    let text = two.lea.read("begin.jsonl");
    let lines: Vec<&str> = text.lines().collect();
    let whole = |lines: &[&str]| lines.iter().map(|line| format!("{line}\n")).collect::<String>();
    let id = |line: &str| {
        let value: Value = serde_json::from_str(line).unwrap();
        format!("{}-{}", value["device"].as_str().unwrap(), value["seq"])
    };
    // Changed and not sealed again; one taken out; two turned round; the beginning gone; the end cut in a line.
    let said = two.refused_everywhere(&text.replacen("\"flat\":2", "\"flat\":1", 1));
    assert!(said.contains(&id(lines[2])) && said.contains("changed after it was recorded"), "{said}");
    let said = two.refused_everywhere(&whole(&[lines[0], lines[2], lines[3]]));
    assert!(said.contains(&id(lines[2])) && said.contains("entries are missing between them"), "{said}");
    let said = two.refused_everywhere(&whole(&[lines[0], lines[2], lines[1], lines[3]]));
    assert!(said.contains(&id(lines[2])), "{said}");
    let last = lines[lines.len() - 1];
    let said = two.refused_everywhere(&format!("{text}{last}\n"));
    assert!(said.contains(&id(last)) && said.contains("is there twice"), "{said}");
    let said = two.refused_everywhere(&format!("{text}\n"));
    assert!(said.contains(&format!("line {}", lines.len() + 1)) && said.contains("the line is blank"), "{said}");
    let said = two.refused_everywhere(&whole(&lines[1..]));
    assert!(said.contains(&id(lines[1])) && said.contains("number 2 follows number 0"), "{said}");
    let said = two.refused_everywhere(&text[..text.len() - 1]);
    assert!(said.contains("line 4") && said.contains("cut short"), "{said}");
    assert!(two.refused_everywhere("").contains("holds no entries"));
    assert!(two.refused_everywhere("{}\n").contains("line 1"));
    let said = two.refused_everywhere(&text.replacen("{\"body\"", "{ \"body\"", 1));
    assert!(said.contains("not written as the program writes it"), "{said}");
    let said = two.refused_everywhere(&whole(&[lines[0], lines[1], lines[1], lines[2], lines[3]]));
    assert!(said.contains(&id(lines[1])), "{said}");
}

#[test]
fn a_chain_sealed_again_with_other_words_and_another_job_are_refused() {
    let two = Two::begun();
    let entries = read_jsonl(&two.lea.read("begin.jsonl")).unwrap();
    let resealed = |change: &dyn Fn(&Entry) -> Body| -> String {
        let mut prev = "0".repeat(64);
        let seal = |entry: &Entry| {
            let (job, by) = (entry.job.clone(), entry.by.clone());
            let (happened_at, recorded_at) = (entry.happened_at, entry.recorded_at);
            let draft = Draft { job, happened_at, recorded_at, by, body: change(entry), rehearsal: true };
            let sealed =
                Entry::finalize(draft, Arc::clone(&entry.device), entry.seq, &prev, entry.seen.clone()).unwrap();
            prev = sealed.hash.clone();
            sealed.jsonl() + "\n"
        };
        entries.iter().map(seal).collect()
    };
    // The chain holds, but the job is set up otherwise.
    let forged = resealed(&|entry| match &entry.body {
        Body::JobAdded(set_up) => {
            let mut set_up = set_up.clone();
            set_up.building.name = "Another house".into();
            Body::JobAdded(set_up)
        }
        other => other.clone(),
    });
    let said = two.refused(&forged);
    assert!(said.contains(&entries[0].id().to_string()) && said.contains("one of the two was altered"), "{said}");
    // The chain holds, but the same number says something else: that is how a copy that went on looks, too. Both are
    // kept, and said.
    let forged = resealed(&|entry| match &entry.body {
        Body::DayOpened(day) => Body::DayOpened(OpenDay { talk: Some("another talk".into()), ..day.clone() }),
        other => other.clone(),
    });
    two.ivo.file("forged.jsonl", &forged);
    let fork = two.ivo.ok("merge forged.jsonl")["forks"][0].clone();
    assert_eq!((&fork["after"], &fork["entries"]), (&entries[0].id().to_string().into(), &3.into()));
    let ids: Vec<String> = two.ivo.log().iter().map(|entry| entry["id"].as_str().unwrap().to_owned()).collect();
    assert_eq!(ids.len(), 7);
    assert!(entries.iter().all(|entry| two.ivo.hashes().contains(&entry.hash)));
    let verified = two.ivo.ok("verify");
    assert!(verified["notes"][0].as_str().unwrap().contains("one was copied or altered"), "{verified}");
    // The same job set up a second time, by another device.
    let other = two.lea.beside("other", "Lea");
    other.ok("job add job.toml");
    other.ok(["export", "other.jsonl"]);
    let said = two.refused(&two.lea.read("other.jsonl"));
    assert!(said.contains("another job with the same key"), "{said}");
    // Lines of another job among these.
    let job = two.lea.read("job.toml").replacen("key = \"test\"", "key = \"second\"", 1);
    two.lea.file("second.toml", &job);
    let second = two.lea.beside("second", "Lea");
    second.ok("job add second.toml");
    second.ok(["export", "second.jsonl"]);
    let said = two.refused_everywhere(&(two.lea.read("begin.jsonl") + &two.lea.read("second.jsonl")));
    assert!(said.contains("is of job second"), "{said}");
    // A job that is not here yet is made.
    two.lea.ok(["merge", "second.jsonl"]);
    assert_eq!(two.lea.ok(["job", "list"])["jobs"].as_array().unwrap().len(), 2);
    // From after this machine's now: one of the clocks is wrong.
    two.lea.file("late.jsonl", &two.lea.read("begin.jsonl").replace("MONDAY", MONDAY));
    let early = Two::begun();
    early.lea.clock("2026-03-01T08:00:00+13:00");
    let said = early.lea.beside("fresh", "Lea").run("merge begin.jsonl").exits(1).json();
    assert_eq!(said["refused"]["rule"], "R14");
    assert!(!early.lea.path("fresh.db").exists());
}

/// Entries of three devices on one job, by chance.
fn books(picks: &[(usize, i64)]) -> Vec<Vec<Entry>> {
    let text = std::fs::read_to_string(crate::harness::root().join("tests/rules/small.toml")).unwrap();
    let job = cladlog::building::read_job(JOB).unwrap();
    let set_up = cladlog::day::set_up(job, &cladlog::sequence::read(&text).unwrap()).unwrap();
    let mut now = cladlog::moment::Moment::parse_from_rfc3339(MONDAY).unwrap();
    let mut books: Vec<Vec<Entry>> = vec![Vec::new(); 3];
    let mut write = |device: usize, minutes: i64, body: Body| {
        now += chrono::TimeDelta::minutes(minutes);
        let book: &mut Vec<Entry> = &mut books[device];
        let prev = book.last().map_or(cladlog::record::NO_PREVIOUS, |entry| &entry.hash);
        let (job, by) = ("test".into(), "Lea".into());
        let draft = Draft { job, happened_at: now, recorded_at: now, by, body, rehearsal: true };
        let entry =
            Entry::finalize(draft, ["a", "b", "c"][device], book.len() as u64 + 1, prev, Default::default()).unwrap();
        book.push(entry);
    };
    let step = |step: &str, subject: String| {
        Body::StepDone(StepDone {
            step: step.to_owned(),
            subject,
            answers: Default::default(),
            began: None,
            anyway: None,
            stopped_by: Vec::new(),
        })
    };
    write(0, 0, Body::JobAdded(set_up));
    for (number, (pick, minutes)) in picks.iter().enumerate() {
        let subject = ["N", "E"][number % 2].to_owned();
        let body = match pick / 3 {
            0 => Body::DayOpened(OpenDay { crew: vec!["Lea".into()], ..OpenDay::default() }),
            1 => step("frame", subject),
            2 => step("coat", subject),
            3 => Body::DayClosed(CloseDay::default()),
            4 => {
                let entry = format!("{}-{}", ["a", "b", "c"][number % 3], 2 + number / 4).parse().unwrap();
                Body::Struck(Strike { entry, why: "x".into(), anyway: false })
            }
            _ => Body::HoldReleased(ReleaseHold {
                hold: "cover".into(),
                subject,
                person: "Ines".into(),
                how: "on site".into(),
                evidence: None,
            }),
        };
        write(pick % 3, *minutes, body);
    }
    books
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn merging_is_order_free_and_idempotent(
        picks in proptest::collection::vec((0usize..18, 0i64..3), 0..24),
        turn in 0usize..6,
    ) {
        let books = books(&picks);
        // The record of a device: its own book, and the first, from which it began.
        let record = |device: usize| -> Vec<Entry> {
            if device == 0 { books[0].clone() } else { books[0].iter().chain(&books[device]).cloned().collect() }
        };
        let union = |order: &[usize]| {
            let mut all: Vec<Entry> = Vec::new();
            for device in order {
                let united = unite(&all, record(*device)).unwrap();
                assert!(united.moved.is_empty() && united.forks.is_empty());
                all.extend(united.new);
            }
            assert!(unite(&all, record(order[0])).unwrap().new.is_empty());
            Book::open(all).unwrap()
        };
        let orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
        let (one, other) = (union(&orders[0]), union(&orders[turn]));
        prop_assert_eq!(cladlog::record::jsonl(&one.entries), cladlog::record::jsonl(&other.entries));
        let (one, other) = (one.state.read_tables(), other.state.read_tables());
        prop_assert_eq!((one.struck, one.holds, one.defects), (other.struck, other.holds, other.defects));
    }
}
