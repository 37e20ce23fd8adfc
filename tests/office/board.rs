//! The board, traces and hours against the commands on each single file.

use std::collections::BTreeMap;

use cladlog::day::Book;
use cladlog::moment::Moment;
use cladlog::office::BoardLine;
use cladlog::record::Store;
use serde_json::{Value, json};

use super::postgres::Office;
use super::{office, small};
use crate::harness::root;
use crate::harness::site::Site;

/// The demonstration of the repository beside a small job, both in the office.
fn both(of: &Office) -> (Site, Site) {
    let one = small("one");
    one.ok("record frame --on N --answer flat=2");
    one.ok("hold ask start-sealing --on job");
    one.ok("defect open --on N --what 'scratched at the corner'");
    std::fs::copy(root().join("demo-db/demo.db"), one.path("demo.db")).unwrap();
    let demo = one.beside("demo", "Lea");
    office(&one, of, &["push"]);
    office(&demo, of, &["push"]);
    (one, demo)
}

fn at(rfc3339: &str) -> Moment {
    Moment::parse_from_rfc3339(rfc3339).unwrap()
}

/// The times at which the demonstration is looked at: its whole length, and the days after.
fn times(demo: &Site) -> Vec<String> {
    let log = demo.log();
    let first = at(log[0]["happened_at"].as_str().unwrap());
    let last = at(log[log.len() - 1]["happened_at"].as_str().unwrap());
    let mut times = Vec::new();
    for step in 0..=6 {
        let passed = (last - first).num_seconds() * step / 6;
        times.push((first + chrono::TimeDelta::seconds(passed)).to_string());
    }
    for hours in [1, 5, 30] {
        times.push((last + chrono::TimeDelta::hours(hours)).to_string());
    }
    times
}

/// Holds the board at a moment to what the commands say of a file at that moment.
#[track_caller]
fn agree(site: &Site, board: &Value, time: &str) {
    let key = site.ok("job list")["jobs"][0]["key"].clone();
    let line = board["jobs"].as_array().unwrap().iter().find(|line| line["key"] == key).unwrap();
    let list = |command: &str, name: &str| site.ok(format!("{command} --at {time}"))[name].as_array().unwrap().clone();
    let mut closing = list("window list", "windows");
    closing.retain(|window| window["state"] == "closing");
    assert_eq!(line["windows_closing"], json!(closing), "{time}");
    let mut waiting = list("hold list", "holds");
    waiting.retain(|hold| hold.get("asked_at").is_some() && hold["state"] != "released");
    let names = |holds: &[Value]| {
        holds.iter().map(|hold| json!([hold["key"], hold["subject"], hold["asked_at"]])).collect::<Vec<_>>()
    };
    assert_eq!(names(line["holds_waiting"].as_array().unwrap()), names(&waiting), "{time}");
    let open = list("defect list", "defects").iter().filter(|defect| defect["state"] == "open").count();
    assert_eq!(line["defects_open"], open, "{time}");
    let next = site.ok(format!("next --at {time}"));
    let stopped: Vec<&Value> = next["stoppages"].as_array().into_iter().flatten().map(|one| &one["id"]).collect();
    let listed: Vec<&Value> = line["stopped"].as_array().into_iter().flatten().map(|one| &one["id"]).collect();
    assert_eq!(listed, stopped, "{time}");
    let mut short: Vec<Value> = list("stock", "stock");
    short.retain(|line| line["short"].as_f64().is_some_and(|short| short > 0.0));
    let amounts = |rows: &[Value]| rows.iter().map(|row| json!([row["product"], row["short"]])).collect::<Vec<_>>();
    assert_eq!(amounts(line["short_of"].as_array().unwrap()), amounts(&short), "{time}");
}

#[test]
fn the_board_is_right_against_every_file_with_the_worker_and_without() {
    let Some(of) = Office::new() else { return };
    let (one, demo) = both(&of);
    let times = times(&demo);
    let boards =
        |site: &Site| -> Vec<Value> { times.iter().map(|time| office(site, &of, &["board", "--at", time])).collect() };
    let without = boards(&one);
    for (time, board) in times.iter().zip(&without) {
        agree(&demo, board, time);
        agree(&one, board, time);
    }
    // Read tables made at another time of day each; dropped, and made again.
    for clock in ["2026-03-02T07:00:00+13:00", &times[3], &times[8]] {
        one.clock(clock);
        assert_eq!(office(&one, &of, &["work", "--once"])["jobs"], 2, "at {clock}");
        assert_eq!(office(&one, &of, &["work", "--once"])["jobs"], 0);
        assert_eq!(boards(&one), without, "made at {clock}");
        of.sql("DROP SCHEMA cladlog_read CASCADE");
        assert_eq!(boards(&one), without);
    }
    // What was sent since is in it, though nobody worked.
    office(&one, &of, &["work", "--once"]);
    one.clock("2026-03-02T07:10:00+13:00").ok("defect open --on E --what 'chipped'");
    let last = one.log().len();
    office(&one, &of, &["push"]);
    let board = office(&one, &of, &["board", "--at", "2026-03-02T07:11:00+13:00"]);
    agree(&one, &board, "2026-03-02T07:11:00+13:00");
    let line = board["jobs"].as_array().unwrap().iter().find(|line| line["key"] == "one").unwrap();
    assert!(line["last_head"].as_str().unwrap().starts_with(&format!("{last}-")), "{line}");
    assert_eq!(line["crew_on_site"], json!(["Lea", "Ivo"]));
    assert_eq!(line["last_entry_at"], "2026-03-02T07:10:00+13:00");
}

/// A record under another key, as another crew would have it: every line is hashed and chained again.
fn under_key(text: &str, key: &str) -> String {
    let mut last: BTreeMap<String, String> = BTreeMap::new();
    let mut lines = String::new();
    for line in text.lines() {
        let mut entry: Value = serde_json::from_str(line).unwrap();
        entry.as_object_mut().unwrap().remove("hash");
        entry["body"]["job"] = json!(key);
        if entry["kind"] == "job-added" {
            entry["body"]["building"]["key"] = json!(key);
        }
        let device = entry["device"].as_str().unwrap().to_owned();
        if let Some(hash) = last.get(&device) {
            entry["prev"] = json!(hash);
        }
        let line = serde_json_canonicalizer::to_string(&entry).unwrap();
        let hash = cladlog::digest::sha256_hex(line.as_bytes());
        entry["hash"] = json!(hash);
        last.insert(device, hash);
        lines += &(serde_json_canonicalizer::to_string(&entry).unwrap() + "\n");
    }
    lines
}

/// Two crews' demonstrations and jobs that were made up, of several lengths: CLADLOG_JOBS says how many of those.
#[test]
fn the_board_of_many_jobs_is_right_against_every_file() {
    let Some(of) = Office::new() else { return };
    let made_up = std::env::var("CLADLOG_JOBS").map_or(3, |number| number.parse().unwrap());
    let (one, demo) = both(&of);
    one.file("other.jsonl", &under_key(&super::exported(&demo), "other-crew"));
    let other = demo.beside("other", "Lea");
    other.clock("2027-03-02T08:00:00+13:00").ok("merge other.jsonl");
    let mut sites = vec![demo, other];
    for number in 0..made_up {
        let (key, device) = (format!("made-up-{number}"), format!("crew{number:04}"));
        super::faults::large(&key, &device, 30 + number * 41 % 190, &one.path(""));
        sites.push(one.beside(&key, "Lea"));
    }
    for site in &sites {
        office(site, &of, &["push"]);
    }
    // The middle of the demonstration, its last entry, and an hour after it; each job is compared at one of them.
    let times = [3, 6, 7].map(|nth| times(&sites[0])[nth].clone());
    let boards = || times.each_ref().map(|time| office(&one, &of, &["board", "--at", time]));
    let without = boards();
    for (number, site) in sites.iter().enumerate() {
        let nth = number % times.len();
        agree(site, &without[nth], &times[nth]);
    }
    for board in &without {
        assert_eq!(board["jobs"].as_array().unwrap().len(), sites.len() + 1);
    }
    office(&one, &of, &["work", "--once"]);
    assert_eq!(boards(), without, "with the worker");
}

/// A time of day is that of each site's clocks, on its day, as every other command takes it.
#[test]
fn a_time_of_day_is_that_of_each_site() {
    let Some(of) = Office::new() else { return };
    let far = small("far");
    // Twelve hours behind: the evening before.
    let near = crate::rules::site::FULL
        .replace("key = \"test\"", "key = \"near\"")
        .replace("Pacific/Auckland", "Europe/Berlin");
    let near = Site::set_up("2026-03-02T07:00:00+13:00", &near, "tests/rules/full.toml").beside("job", "Lea");
    near.open_day(&["Lea", "Ivo"]);
    for site in [&far, &near] {
        site.ok("defect open --on N --what 'scratched at the corner'");
        office(site, &of, &["push"]);
    }
    let clock = "2026-03-02T23:30:00+13:00";
    far.clock(clock);
    near.clock(clock);
    for _ in ["without the worker", "with it"] {
        for time in ["06:59", "07:00", "10:40", "18:59", "19:00", "23:00"] {
            let board = office(&far, &of, &["board", "--at", time]);
            agree(&far, &board, time);
            agree(&near, &board, time);
            let at: Vec<&Value> = board["jobs"].as_array().unwrap().iter().map(|line| &line["at"]).collect();
            let full = |day: &str, offset: &str| json!(format!("2026-03-0{day}T{time}:00{offset}"));
            assert_eq!(at, [&full("2", "+13:00"), &full("2", "+01:00")], "{board}");
        }
        office(&far, &of, &["work", "--once"]);
    }
    far.run(["office", "--server", &of.url(), "board", "--at", "noon"].as_slice()).exits(2);
}

/// The lines that are worked out ahead say at every moment what is worked out at that moment.
#[test]
fn the_lines_ahead_are_those_of_each_moment() {
    let store = Store::read(&root().join("demo-db/demo.db")).unwrap();
    let key = store.jobs().unwrap()[0].key.clone();
    let all = store.entries(&key).unwrap();
    for part in [all.len() / 4, all.len() / 2, all.len() * 3 / 4, all.len()] {
        let book = Book::open(all[..part].to_vec()).unwrap();
        let from = all[..part].iter().map(|entry| entry.happened_at).max().unwrap();
        let ahead = BoardLine::ahead(&book, from).unwrap();
        assert_eq!(ahead[0].since, from);
        for pair in ahead.windows(2) {
            assert_eq!(pair[0].until, pair[1].since);
            assert_ne!(pair[0].line, pair[1].line);
        }
        let mut at = from;
        for stretch in &ahead {
            // Both ends, and in between.
            let second = chrono::TimeDelta::seconds(1);
            let middle = stretch.since + (stretch.until - stretch.since) / 2;
            for at in [stretch.since, middle.at_site(book.state.job.time_zone), stretch.until - second] {
                assert_eq!(BoardLine::at(&book, at).unwrap(), stretch.line, "{at}");
            }
        }
        while at < ahead[ahead.len() - 1].until {
            let stretch = ahead.iter().find(|stretch| stretch.since <= at && at < stretch.until).unwrap();
            assert_eq!(BoardLine::at(&book, at).unwrap(), stretch.line, "{at}");
            at += chrono::TimeDelta::minutes(47);
        }
    }
}

#[test]
fn traces_and_hours_are_those_of_every_file() {
    let Some(of) = Office::new() else { return };
    let (one, demo) = both(&of);
    let batches = demo.ok("batch list")["batches"].as_array().unwrap().clone();
    assert!(!batches.is_empty());
    let key = demo.ok("job list")["jobs"][0]["key"].clone();
    let traced = || -> Vec<Value> {
        batches
            .iter()
            .map(|batch| {
                let label = batch["batch"].as_str().unwrap();
                let run = one.run(["office", "--server", &of.url(), "trace", label].as_slice());
                assert!(run.code == 0 || run.code == 1, "{run:?}");
                let traced = run.json();
                assert_eq!(traced["batch"], label);
                let uses = demo.ok(["batch", "trace", label].as_slice());
                let on_wall: std::collections::BTreeSet<String> = uses["batches"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .flat_map(|batch| batch["subjects"].as_array().unwrap().clone())
                    .map(|subject| subject.as_str().unwrap().to_owned())
                    .collect();
                let places = traced["places"].as_array().unwrap();
                let found = places.iter().map(|place| place["subject"].as_str().unwrap().to_owned()).collect();
                assert_eq!(on_wall, found, "{label}");
                assert!(places.iter().all(|place| place["job"] == key && place["entry"].is_string()));
                traced
            })
            .collect()
    };
    let weeks = demo.ok("hours --week")["hours"].as_array().unwrap().clone();
    assert!(!weeks.is_empty());
    let hours = || -> Vec<Value> {
        weeks
            .iter()
            .map(|week| {
                let name = week["week"].as_str().unwrap();
                let hours = office(&one, &of, &["hours", "--week", name]);
                assert_eq!(hours["hours"].as_f64(), week["hours"].as_f64(), "{name}");
                assert_eq!(hours["week"], name);
                hours
            })
            .collect()
    };
    let before = (traced(), hours());
    office(&one, &of, &["work", "--once"]);
    assert_eq!((traced(), hours()), before);
    let said = one.run(["office", "--server", &of.url(), "hours", "--week", "2026-10"].as_slice()).exits(2).stderr;
    assert!(said.contains("2026-W10"), "{said}");
}

#[test]
fn the_board_is_a_table_and_a_page_too() {
    let Some(of) = Office::new() else { return };
    let (one, _) = both(&of);
    let url = of.url();
    let csv = one.shown(["office", "--server", &url, "board", "--csv", "-"].as_slice()).exits(0).stdout;
    assert_eq!(csv.lines().count(), 3, "{csv}");
    assert!(csv.starts_with("key,name,crew_on_site,"), "{csv}");
    one.text(["office", "--server", &url, "board", "--html", "board.html", "--reload", "60"].as_slice());
    let page = one.read("board.html");
    for part in
        ["Closing within two hours", "Hold points waiting", "start-sealing", "http-equiv=\"refresh\"", "Lea, Ivo"]
    {
        assert!(page.contains(part), "{part}");
    }
    assert!(!page.contains("<script"));
    // What closes first stands first, and each heading once.
    let places: Vec<usize> = ["Closing within", "Stopped", "Hold points waiting", "All jobs"]
        .iter()
        .map(|heading| {
            let found: Vec<usize> = page.match_indices(&format!(">{heading}")).map(|(place, _)| place).collect();
            assert_eq!(found.len(), 1, "{heading}");
            found[0]
        })
        .collect();
    assert!(places.is_sorted());
    let text = one.text(["office", "--server", &url, "board"].as_slice());
    assert!(text.contains("1 defect open.") && text.contains("job start-sealing for inspector or builder"), "{text}");
}
