//! A phone is paired once by a code, is its person's and nobody else's, and stays so until it is forgotten.

use serde_json::json;

use super::server::{Phone, hidden, plain, start};
use crate::rules::site::{closed, open};

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// Every page and every list that only paired phones see.
const PAGES: [&str; 15] = [
    "/",
    "/clocks",
    "/wall/N",
    "/on/N/J1",
    "/step/prime?on=N/J1",
    "/cautions",
    "/holds",
    "/evening",
    "/defects",
    "/stock",
    "/extra",
    "/sealplan",
    "/icon.svg",
    "/api/token",
    "/api/head",
];

#[test]
fn a_code_pairs_one_phone_and_the_pairing_stands_in_the_record() {
    let site = open(EIGHT);
    let server = plain(&site);
    let pairing = &server.said["pairing"];
    assert_eq!(pairing["expires_at"], "2026-03-02T08:10:00+13:00");
    let phone = server.first_phone("Ivo");
    let log = site.log();
    let entry = log.last().unwrap();
    assert_eq!((&entry["kind"], &entry["by"]), (&json!("phone-paired"), &json!("Ivo")));
    let phones = site.ok("serve phones");
    let listed = &phones["phones"][0];
    assert_eq!((&listed["person"], &listed["paired_at"]), (&json!("Ivo"), &json!(EIGHT)));
    assert!(listed["id"].is_string() && listed["last_seen_at"].is_string());
    phone.get("/").is(200);
    // The code is used: nobody else is paired by it.
    let path = pairing["url"].as_str().unwrap().split_once(&server.address()).unwrap().1;
    server.stranger().get(path).is(403);
    assert_eq!(site.log().len(), log.len());
    site.ok("verify");
}

#[test]
fn a_pairing_form_that_is_sent_twice_pairs_one_phone_and_leads_on_both_times() {
    let site = open(EIGHT);
    let server = plain(&site);
    let url = server.said["pairing"]["url"].as_str().unwrap();
    let path = url.split_once(&server.address()).unwrap().1;
    let stranger = server.stranger();
    let page = stranger.get(path).is(200).body;
    let (token, id) = (hidden(&page, "token"), hidden(&page, "request_id"));
    let form = [("token", token.as_str()), ("request_id", &id), ("person", "Ivo")];
    for _ in 0..2 {
        let done = stranger.post(path, &form).is(303);
        assert_eq!(done.header("location"), Some("/"));
        let mut phone = server.stranger();
        phone.keep(&done);
        phone.get("/").is(200);
    }
    assert_eq!(site.log().iter().filter(|entry| entry["kind"] == "phone-paired").count(), 1);
    assert_eq!(site.ok("serve phones")["phones"].as_array().unwrap().len(), 1);
    // Another form of the same code is another phone, and the code is used.
    stranger.post(path, &[("token", &token), ("request_id", "another"), ("person", "Ivo")]).is(403);
    stranger.post(path, &[("token", &token), ("request_id", &id), ("person", "Lea")]).is(403);
}

#[test]
fn a_stranger_is_told_how_to_pair_and_nothing_else() {
    let site = open(EIGHT);
    let server = plain(&site);
    let strangers = [server.stranger(), Phone { cookie: Some("cladlog=guessed".to_owned()), ..server.stranger() }];
    for stranger in strangers {
        for page in PAGES {
            let answer = stranger.get(page).is(401);
            assert!(!answer.body.contains("Test house") && !answer.body.contains("Lea"), "{}", answer.body);
        }
        stranger.get("/no/such/page").is(401);
        // Nor that there is such a path, asked otherwise.
        stranger.get("/record").is(401);
        stranger.ask("PUT", "/clocks", &[], b"").is(401);
        let forms = ["/record", "/reading", "/caution", "/hold", "/photo", "/undo", "/stoppage", "/note", "/day"];
        for form in forms.into_iter().chain(["/defect", "/stock", "/extra", "/sealplan", "/key", "/saying"]) {
            stranger.send(form, "1", &[("on", "N"), ("text", "x")]).is(401);
        }
        stranger.record(&json!({ "request_id": "1", "step": "prime", "on": "N/J1" })).is(401);
        stranger.get("/style.css").is(200);
        stranger.get("/script.js").is(200);
    }
    assert!(server.stranger().get("/").body.contains("cladlog serve pair"));
}

#[test]
fn a_phone_that_is_paired_again_is_no_longer_what_it_was() {
    let site = open(EIGHT);
    let server = plain(&site);
    let old = server.first_phone("Ivo");
    let url = site.ok("serve pair")["pairing"]["url"].as_str().unwrap().to_owned();
    let path = url.split_once(&server.address()).unwrap().1;
    let page = old.get(path).is(200).body;
    assert!(page.contains("This phone is <bdi>Ivo</bdi>'s now."), "{page}");
    let (token, id) = (hidden(&page, "token"), hidden(&page, "request_id"));
    let done = old.post(path, &[("token", &token), ("request_id", &id), ("person", "Lea")]).is(303);
    let mut new = old.clone();
    new.keep(&done);
    old.get("/").is(401);
    let phones = site.ok("serve phones");
    let listed: Vec<&str> =
        phones["phones"].as_array().unwrap().iter().map(|phone| phone["person"].as_str().unwrap()).collect();
    assert_eq!(listed, ["Lea"]);
    // Both stand in the record, by whoever paired it.
    let log = site.log();
    let last: Vec<_> = log.iter().rev().take(2).map(|entry| (entry["kind"].clone(), entry["by"].clone())).collect();
    assert_eq!(last, [(json!("phone-forgotten"), json!("Lea")), (json!("phone-paired"), json!("Lea"))]);
    // Another phone of the same person is another phone.
    let second = server.phone(&site, "Lea");
    new.get("/").is(200);
    second.get("/").is(200);
}

#[test]
fn wrong_codes_are_slowed_down() {
    let site = open(EIGHT);
    let server = plain(&site);
    let stranger = server.stranger();
    let statuses: Vec<u16> = (0..16).map(|n| stranger.get(&format!("/pair/wrong{n}")).status).collect();
    assert_eq!(statuses[0], 403);
    let slowed = stranger.get("/pair/wrong").is(429);
    assert!(slowed.header("retry-after").unwrap().parse::<u64>().unwrap() >= 1);
    // The right one as well: else slowing down would hinder nobody.
    let path = server.said["pairing"]["url"].as_str().unwrap().split_once(&server.address()).unwrap().1.to_owned();
    stranger.get(&path).is(429);
}

#[test]
fn nobody_is_paired_as_somebody_who_is_not_on_the_job() {
    let site = open(EIGHT);
    let server = plain(&site);
    let before = site.log().len();
    let path = server.said["pairing"]["url"].as_str().unwrap().split_once(&server.address()).unwrap().1.to_owned();
    let page = server.stranger().get(&path).is(200).body;
    for person in ["Lea", "Ivo", "Bea", "Ines", "Dag"] {
        assert!(page.contains(person));
    }
    let (token, id) = (hidden(&page, "token"), hidden(&page, "request_id"));
    let fields = |person| [("token", token.as_str()), ("request_id", id.as_str()), ("person", person)];
    server.stranger().post(&path, &fields("Nobody")).is(400);
    server.stranger().post(&path, &[("token", "guessed"), ("request_id", "1"), ("person", "Ivo")]).is(403);
    assert_eq!(site.log().len(), before);
    // Neither used the code up.
    server.stranger().post(&path, &fields("Ivo")).is(303);
}

#[test]
fn a_phone_stays_paired_through_a_restart_until_it_is_forgotten() {
    let site = open(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    server.kill();
    let server = plain(&site);
    let phone = Phone { address: server.address(), ..phone };
    phone.get("/").is(200);
    let id = site.ok("serve phones")["phones"][0]["id"].as_str().unwrap().to_owned();
    site.bad("serve forget nothing");
    let forgotten = site.ok(["--by", "Lea", "serve", "forget", &id]);
    assert_eq!(forgotten["entries"][0]["kind"], "phone-forgotten");
    phone.get("/").is(401);
    phone.send("/note", "1", &[("on", "N"), ("text", "x")]).is(401);
    assert_eq!(site.ok("serve phones")["phones"], json!([]));
}

#[test]
fn the_phones_file_is_private_and_no_secret_is_in_it() {
    let site = open(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let (_, secret) = phone.cookie.as_ref().unwrap().split_once('=').unwrap();
    for ending in ["", "-wal"] {
        let Ok(bytes) = std::fs::read(site.path(&format!("job.db.phones{ending}"))) else { continue };
        assert!(!bytes.windows(secret.len()).any(|part| part == secret.as_bytes()));
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(site.path("job.db.phones")).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0);
    }
}

#[test]
fn a_database_is_served_once_and_codes_come_only_from_a_running_server() {
    let site = closed(EIGHT);
    assert!(site.bad("serve pair").contains("is not being served"));
    let server = plain(&site);
    assert!(site.bad("serve --plain").contains("is being served already"));
    let another = site.ok("serve pair");
    assert_eq!(another["pairing"]["expires_at"], "2026-03-02T08:10:00+13:00");
    server.stranger().get(another["pairing"]["url"].as_str().unwrap().split_once(&server.address()).unwrap().1).is(200);
    server.kill();
    assert!(site.bad("serve pair").contains("is not being served"));
    // A code of the run before is no good in the next.
    let server = plain(&site);
    let old = another["pairing"]["url"].as_str().unwrap();
    let (_, path) = old.split_once("/pair/").unwrap();
    server.stranger().get(&format!("/pair/{path}")).is(403);
}

#[test]
#[cfg(unix)]
fn it_ends_when_it_is_told_to_and_listens_on_loopback_unless_told_otherwise() {
    for signal in ["INT", "TERM"] {
        let site = closed(EIGHT);
        let mut server = start(&site, "--plain");
        assert!(server.said["url"].as_str().unwrap().starts_with("http://127.0.0.1:"));
        assert!(server.said.get("fingerprint").is_none());
        server.signal(signal);
        assert_eq!(server.ends(), Some(0));
    }
    let site = closed(EIGHT);
    let _server = start(&site, "--plain --listen 0.0.0.0:0");
    assert!(site.read("serve-errors.txt").contains("WARNING"));
}
