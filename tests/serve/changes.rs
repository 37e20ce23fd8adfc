//! What one person records is on the others' phones, whoever recorded it and wherever.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;

use serde_json::{Value, json};

use super::server::{Phone, plain};
use crate::rules::site::with_frame;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// A phone that listens.
struct Listener(BufReader<TcpStream>);

impl Listener {
    fn of(phone: &Phone, last: Option<&str>) -> Self {
        let mut stream = phone.connect();
        let last = last.map(|id| format!("Last-Event-ID: {id}\r\n")).unwrap_or_default();
        let cookie = phone.cookie.as_ref().unwrap();
        write!(stream, "GET /api/changes HTTP/1.1\r\nHost: {}\r\nCookie: {cookie}\r\n{last}\r\n", phone.address)
            .unwrap();
        let mut listener = Self(BufReader::new(stream));
        assert!(listener.line().unwrap().contains("200"));
        while !listener.line().unwrap().is_empty() {}
        listener
    }

    fn line(&mut self) -> Option<String> {
        let mut line = String::new();
        let read = self.0.read_line(&mut line).unwrap();
        (read > 0).then(|| line.trim_end().to_owned())
    }

    /// The next event; nothing where the stream ended.
    fn next(&mut self) -> Option<Value> {
        loop {
            if let Some(data) = self.line()?.strip_prefix("data: ") {
                return Some(serde_json::from_str(data).unwrap());
            }
        }
    }
}

#[test]
fn each_new_entry_is_an_event_whoever_recorded_it() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let mut listener = Listener::of(&phone, None);
    let done = phone.record(&json!({ "request_id": "a", "step": "prime", "on": "N/J1,N/J2" })).is(200).json();
    for subject in ["N/J1", "N/J2"] {
        let event = listener.next().unwrap();
        assert_eq!((&event["kind"], &event["subject"]), (&json!("step-done"), &json!(subject)));
        assert!(done["entries"].as_array().unwrap().iter().any(|entry| entry["hash"] == event["hash"]));
    }
    // By another program.
    let entry = site.entry("note --on N --text dry");
    let event = listener.next().unwrap();
    assert_eq!((&event["id"], &event["kind"]), (&json!(entry), &json!("noted")));
    // And the pages have it.
    assert!(phone.get("/api/head").json()["head"].as_str().unwrap().starts_with(entry.rsplit('-').next().unwrap()));
}

#[test]
fn whoever_comes_back_has_what_was_recorded_meanwhile() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let first = site.entry("note --on N --text one");
    let second = site.entry("note --on N --text two");
    let third = site.entry("note --on N --text three");
    // Until the server has seen them.
    while !phone.get("/api/head").json()["head"].as_str().unwrap().starts_with(third.rsplit('-').next().unwrap()) {
        std::thread::yield_now();
    }
    let mut listener = Listener::of(&phone, Some(&first));
    assert_eq!(listener.next().unwrap()["id"], json!(second));
    assert_eq!(listener.next().unwrap()["id"], json!(third));
}

#[test]
#[cfg(unix)]
fn the_stream_ends_with_the_server_and_with_the_phone() {
    let site = with_frame(EIGHT);
    let mut server = plain(&site);
    let phone = server.first_phone("Ivo");
    let other = server.phone(&site, "Lea");
    let (mut listener, mut others) = (Listener::of(&phone, None), Listener::of(&other, None));
    let phones = site.ok("serve phones");
    let id = phones["phones"].as_array().unwrap().iter().find(|phone| phone["person"] == "Ivo").unwrap()["id"].clone();
    site.ok(["--by", "Lea", "serve", "forget", id.as_str().unwrap()]);
    assert_eq!(listener.next(), None);
    assert_eq!(others.next().unwrap()["kind"], "phone-forgotten");
    server.signal("TERM");
    assert_eq!(others.next(), None);
    assert_eq!(server.ends(), Some(0));
}
