//! Many phones at once, a server that is killed, and a database that is replaced.

use std::collections::BTreeSet;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use cladlog::record::{Body, Entry};
use serde_json::json;

use super::server::{LONG, plain};
use crate::rules::site::with_frame;

/// What is acknowledged before the server is killed.
const ENOUGH: usize = 40;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn twenty_phones_and_another_program_record_side_by_side() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phones: Vec<_> = (0..20).map(|_| server.phone(&site, "Ivo")).collect();
    let before = site.log().len();
    std::thread::scope(|scope| {
        for (number, phone) in phones.iter().enumerate() {
            scope.spawn(move || {
                for round in 0..3 {
                    let text = format!("phone {number} round {round}");
                    phone.send("/note", &round.to_string(), &[("on", "N"), ("text", &text)]).is(303);
                    phone.get("/").is(200);
                }
            });
        }
        (0..5).for_each(|_| drop(site.ok("note --on E --text meanwhile")));
    });
    assert_eq!(site.log().len(), before + 65);
    assert_eq!(site.ok("verify")["ok"], true);
}

#[test]
fn killed_under_load_it_keeps_all_that_it_acknowledged() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phones: Vec<_> = (0..4).map(|_| server.phone(&site, "Ivo")).collect();
    let (acknowledged, killed) = (Mutex::new(Vec::new()), AtomicBool::new(false));
    std::thread::scope(|scope| {
        for (number, phone) in phones.iter().enumerate() {
            let (acknowledged, killed) = (&acknowledged, &killed);
            scope.spawn(move || {
                for round in 0.. {
                    let mut head = phone.own_head();
                    head.push(("Accept".to_owned(), "application/json".to_owned()));
                    let id = round.to_string();
                    let text = format!("phone {number} round {round}");
                    let own = [("token", phone.token.as_str()), ("request_id", &id), ("on", "N"), ("text", &text)];
                    let body = super::server::form(&own);
                    let Ok(answer) = std::panic::catch_unwind(|| phone.ask("POST", "/note", &head, body.as_bytes()))
                    else {
                        break;
                    };
                    if answer.status == 200 {
                        acknowledged.lock().unwrap().push(answer.json()["entries"][0]["hash"].clone());
                    } else if killed.load(Ordering::SeqCst) {
                        break;
                    }
                }
            });
        }
        let begun = Instant::now();
        while acknowledged.lock().unwrap().len() < ENOUGH && begun.elapsed() < 5 * LONG {
            std::thread::yield_now();
        }
        server.kill();
        killed.store(true, Ordering::SeqCst);
    });
    let hashes = site.hashes();
    let acknowledged = acknowledged.into_inner().unwrap();
    assert!(acknowledged.len() >= ENOUGH, "{acknowledged:?}");
    for hash in &acknowledged {
        assert!(hashes.iter().any(|kept| hash == kept), "{hash}");
    }
    assert_eq!(site.ok("verify")["ok"], true);
    // What was sent and not answered is sent again, and is there once.
    let server = plain(&site);
    let phone = super::server::Phone { address: server.address(), ..phones[0].clone() };
    for round in 0..200 {
        let text = format!("phone 0 round {round}");
        phone.send("/note", &round.to_string(), &[("on", "N"), ("text", &text)]).is(303);
    }
    let entries = cladlog::record::Store::read(&site.path("job.db")).unwrap().entries("test").unwrap();
    let notes: Vec<&str> = entries.iter().filter(|entry| entry.line.contains("phone 0 round")).map(text).collect();
    let once: BTreeSet<&str> = notes.iter().copied().collect();
    assert!(notes.len() >= 200 && notes.len() == once.len());
}

/// The text of a note.
fn text(entry: &Entry) -> &str {
    match &entry.body {
        Body::Noted(note) => &note.text,
        _ => "",
    }
}

#[test]
#[cfg(unix)]
fn a_database_that_is_replaced_ends_the_server_and_loses_nothing() {
    let site = with_frame(EIGHT);
    site.ok("backup older.db");
    let mut server = plain(&site);
    let phone = server.first_phone("Ivo");
    phone.record(&json!({ "request_id": "a", "step": "prime", "on": "N/J1" })).is(200);
    std::fs::rename(site.path("older.db"), site.path("job.db")).unwrap();
    // Nothing is acknowledged that would not be in the file.
    let answer =
        std::panic::catch_unwind(|| phone.record(&json!({ "request_id": "b", "step": "prime", "on": "N/J2" })));
    assert!(answer.is_err() || answer.is_ok_and(|answer| matches!(answer.status, 0 | 503)));
    assert_eq!(server.ends(), Some(3));
    assert!(site.read("serve-errors.txt").contains("replaced"));
    site.ok("merge job.db.saved.jsonl");
    assert!(site.log().iter().any(|entry| entry["kind"] == "step-done" && entry["subject"] == "N/J1"));
    assert_eq!(site.ok("verify")["ok"], true);
}
