//! What somebody may try who is on the network, or whose page the phone is looking at.

use std::io::{Read, Write};

use serde_json::json;

use super::server::{LONG, answer, form, plain};
use crate::rules::site::with_frame;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

const FORMS: [&str; 11] =
    ["/record", "/reading", "/caution", "/hold", "/photo", "/undo", "/stoppage", "/note", "/day", "/key", "/saying"];

#[test]
fn another_origin_or_none_is_forbidden() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.log().len();
    let own = format!("http://{}", server.address());
    let body = form(&[("token", &phone.token), ("request_id", "a"), ("on", "N"), ("text", "x")]);
    let heads: [&[(&str, &str)]; 6] = [
        &[],
        &[("Origin", "http://evil.example")],
        &[("Origin", "null")],
        &[("Origin", &own.replace("http:", "https:"))],
        &[("Origin", &own), ("Sec-Fetch-Site", "cross-site")],
        &[("Origin", &own), ("Sec-Fetch-Site", "same-site")],
    ];
    for head in heads {
        let mut all = vec![("Cookie".to_owned(), phone.cookie.clone().unwrap())];
        all.push(("Content-Type".to_owned(), "application/x-www-form-urlencoded".to_owned()));
        all.extend(head.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
        for path in FORMS {
            phone.ask("POST", path, &all, body.as_bytes()).is(403);
        }
        phone.ask("POST", "/api/record", &all, b"{}").is(403);
    }
    assert_eq!(site.log().len(), before);
}

#[test]
fn a_form_without_the_token_of_its_session_is_forbidden() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let other = server.phone(&site, "Lea");
    let before = site.log().len();
    for path in FORMS {
        for token in ["", "guessed", other.token.as_str()] {
            phone.post(path, &[("token", token), ("request_id", "a"), ("on", "N"), ("text", "x")]).is(403);
        }
        phone.post(path, &[("request_id", "a"), ("on", "N"), ("text", "x")]).is(403);
    }
    let body = json!({ "request_id": "a", "step": "prime", "on": "N/J1" });
    let forged = super::server::Phone { token: other.token.clone(), ..phone.clone() };
    forged.record(&body).is(403);
    phone.ask("POST", "/api/record", &phone.own_head(), body.to_string().as_bytes()).is(403);
    assert_eq!(site.log().len(), before);
}

#[test]
fn get_changes_nothing() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.hashes();
    let fields = form(&[("token", &phone.token), ("request_id", "a"), ("on", "N"), ("text", "x"), ("what", "open")]);
    for path in FORMS {
        phone.get(&format!("{path}?{fields}")).is(405);
    }
    for path in ["/", "/clocks", "/wall/N", "/on/N/J1", "/step/prime?on=N/J1", "/cautions", "/holds", "/evening"] {
        phone.get(path).is(200);
        phone.ask("HEAD", path, &phone.own_head(), b"").is(200);
    }
    phone.get("/no/such/page").is(404);
    phone.get("/wall/../../etc/passwd").is(404);
    phone.get("/style.css/../../Cargo.toml").is(404);
    assert_eq!(site.hashes(), before);
}

#[test]
fn only_forms_are_taken_for_forms() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.hashes();
    let body = form(&[("token", &phone.token), ("request_id", "a"), ("on", "N"), ("text", "x")]);
    for kind in ["text/plain", "application/json", "application/x-www-form-urlencodedx"] {
        let head = [phone.own_head(), vec![("Content-Type".to_owned(), kind.to_owned())]].concat();
        phone.ask("POST", "/note", &head, body.as_bytes()).is(415);
    }
    assert_eq!(site.hashes(), before);
}

#[test]
fn every_answer_says_how_it_may_be_used() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let refused = phone.send("/record", "a", &[("step", "course"), ("on", "N/C1")]);
    let answers = [
        phone.get("/"),
        phone.get("/style.css"),
        phone.get("/api/head"),
        phone.get("/no/such/page"),
        server.stranger().get("/"),
        server.stranger().get("/pair/wrong"),
        phone.post("/note", &[]),
        refused,
    ];
    for answer in answers {
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.starts_with("default-src 'self';") && policy.contains("frame-ancestors 'none'"));
        assert!(!policy.contains("unsafe") && !policy.contains('*') && !policy.contains("http"));
        assert_eq!(answer.header("referrer-policy"), Some("same-origin"));
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(answer.header("x-frame-options"), Some("DENY"));
        assert!(
            answer.header("content-type").is_none_or(|kind| !kind.contains("html") || !answer.body.contains("style="))
        );
    }
}

#[test]
fn the_cookie_is_for_this_server_alone_and_for_no_script() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let path = server.said["pairing"]["url"].as_str().unwrap().split_once(&server.address()).unwrap().1.to_owned();
    let page = server.stranger().get(&path).body;
    let token = super::server::hidden(&page, "token");
    let fields = [("token", token.as_str()), ("request_id", "a"), ("person", "Ivo")];
    let done = server.stranger().post(&path, &fields).is(303);
    let cookie = done.header("set-cookie").unwrap();
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    assert!(!cookie.contains("Domain"));
}

#[test]
fn what_is_too_large_is_not_taken() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.log().len();
    let long = "x".repeat(200_000);
    phone.send("/note", "a", &[("on", "N"), ("text", &long)]).is(413);
    phone.record(&json!({ "request_id": "b", "step": "prime", "on": long })).is(413);
    let fields = [("token", phone.token.as_str()), ("request_id", "c"), ("on", "N"), ("text", long.as_str())];
    phone.upload("/photo", &fields, &[]).is(413);
    // Announced only: not a byte of it need be sent.
    let mut stream = phone.connect();
    let head: String = phone.own_head().iter().map(|(name, value)| format!("{name}: {value}\r\n")).collect();
    let kind = "Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 5000000000\r\nConnection: close\r\n";
    write!(stream, "POST /photo HTTP/1.1\r\nHost: {}\r\n{head}{kind}\r\n", server.address()).unwrap();
    answer(&mut stream).is(413);
    assert_eq!(site.log().len(), before);
}

#[test]
fn what_makes_no_sense_is_answered_and_ends_nothing() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    for body in ["", "{", "[]", "{\"request_id\":1}", "null", "\u{0}"] {
        let mut head = phone.own_head();
        head.push(("X-Form-Token".to_owned(), phone.token.clone()));
        phone.ask("POST", "/api/record", &head, body.as_bytes()).is(400);
    }
    for (path, fields) in [
        ("/record", &[("step", "none"), ("on", "N")][..]),
        ("/record", &[("step", "prime"), ("on", "Q/J9")]),
        ("/record", &[("on", "N/J1")]),
        ("/reading", &[("on", "N\u{202e}"), ("air", "1")]),
        ("/note", &[("on", "N"), ("text", "\u{1b}[2J")]),
        ("/hold", &[("key", "none"), ("on", "N"), ("what", "ask")]),
        ("/saying", &[("entry", "none"), ("signature", "00")]),
        ("/key", &[("public", "-----BEGIN PUBLIC KEY-----\nAAAA\n-----END PUBLIC KEY-----")]),
    ] {
        phone.send(path, "a", fields).is(400);
    }
    phone.post("/note", &[("token", &phone.token), ("on", "N"), ("text", "x")]).is(400);
    for junk in [
        &b"\x16\x03\x01\x02\x00"[..],
        b"GET / HTTP/9.9\r\n\r\n",
        b"\r\n\r\n\r\n",
        b"POST / HTTP/1.1\r\nContent-Length: -1\r\n\r\n",
    ] {
        let mut stream = phone.connect();
        // The server may have hung up already.
        let _ = stream.write_all(junk).and_then(|()| stream.shutdown(std::net::Shutdown::Write));
        let _ = stream.read_to_end(&mut Vec::new());
    }
    phone.get("/").is(200);
    assert_eq!(site.read("serve-errors.txt"), "");
}

#[test]
fn whoever_sends_slowly_keeps_nobody_waiting() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let mut slow: Vec<_> = (0..60).map(|_| phone.connect()).collect();
    for stream in &mut slow {
        write!(stream, "POST /note HTTP/1.1\r\nHost: {}\r\n", server.address()).unwrap();
    }
    phone.get("/").is(200);
    phone.send("/note", "a", &[("on", "N"), ("text", "x")]).is(303);
    // In the end they are given up.
    let begun = std::time::Instant::now();
    slow[0].read_to_end(&mut Vec::new()).unwrap();
    assert!(begun.elapsed() < LONG);
}

#[test]
fn hostile_names_and_notes_are_shown_and_not_obeyed() {
    let site = with_frame(EIGHT);
    site.ok(["job", "person", "<script>alert(1)</script>", "--role", "installer"]);
    let server = plain(&site);
    let path = server.said["pairing"]["url"].as_str().unwrap().split_once(&server.address()).unwrap().1.to_owned();
    assert!(!server.stranger().get(&path).is(200).body.contains("<script>alert"));
    let phone = server.first_phone("<script>alert(1)</script>");
    phone.send("/note", "a", &[("on", "N"), ("text", "<img src=x onerror=alert(1)>")]).is(303);
    for page in ["/", "/on/N", "/wall/N", "/evening", "/cautions", "/holds", "/clocks"] {
        let body = phone.get(page).is(200).body;
        assert!(!body.contains("<script>alert") && !body.contains("<img src=x"), "{page}");
    }
}
