//! What phones record: by the same rules as at the laptop, by the phone's own person, once for one request.

use serde_json::{Value, json};

use super::server::plain;
use crate::harness::pictures::photo;
use crate::harness::site::Site;
use crate::rules::site::{JOB, open, with_frame};

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn a_step_is_recorded_as_the_command_records_it() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let done = phone.record(&json!({ "request_id": "a", "step": "prime", "on": "N/J1,N/J2" })).is(200).json();
    let entries = done["entries"].as_array().unwrap();
    assert_eq!(entries.len(), 2);
    for (entry, subject) in entries.iter().zip(["N/J1", "N/J2"]) {
        assert_eq!((&entry["kind"], &entry["subject"]), (&json!("step-done"), &json!(subject)));
        for key in ["id", "hash", "happened_at", "recorded_at"] {
            assert!(entry[key].is_string(), "{key}");
        }
    }
    assert_eq!(done["opened"][0]["what"], "window");
    let log = site.log();
    assert!(log.iter().rev().take(2).all(|entry| entry["by"] == "Ivo"));
    assert!(log.iter().any(|entry| entry["hash"] == entries[0]["hash"]));
    site.ok("verify");
}

#[test]
fn a_refusal_is_what_the_command_says_and_records_nothing() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.log().len();
    let refused = phone.record(&json!({ "request_id": "a", "step": "course", "on": "N/C1" })).is(409).json();
    let said = site.run(["--by", "Ivo", "record", "course", "--on", "N/C1"]).exits(1).json();
    assert_eq!(refused, said);
    // As a form: the page again, with why.
    let page = phone.send("/record", "b", &[("step", "course"), ("on", "N/C1")]).is(409);
    assert!(page.body.contains("<html") && page.header("content-type").unwrap().starts_with("text/html"));
    assert_eq!(site.log().len(), before);
    // What is not answered yet is asked for by its question, not by an option of the command.
    let open = phone.send("/record", "e", &[("step", "frame"), ("on", "E")]).is(400).body;
    assert!(open.contains("There is no answer yet to: ") && !open.contains("--answer"), "{open}");
    // Anyway, with the reason; without one it is not taken.
    let anyway = [("step", "course"), ("on", "N/C1"), ("anyway", "1")];
    phone.send("/record", "c", &anyway).is(400);
    let done = phone.record(&json!({ "request_id": "d", "step": "course", "on": "N/C1", "anyway": "told to" })).is(200);
    assert!(done.json()["opened"].as_array().unwrap().iter().any(|opened| opened["what"] == "defect"));
}

#[test]
fn what_is_sent_twice_is_recorded_once_even_over_a_kill() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let body = json!({ "request_id": "a", "step": "prime", "on": "N/J1" });
    let first = phone.record(&body).is(200).body;
    let count = site.log().len();
    assert_eq!(phone.record(&body).is(200).body, first);
    server.kill();
    let server = plain(&site);
    let phone = super::server::Phone { address: server.address(), ..phone };
    assert_eq!(phone.record(&body).is(200).body, first);
    assert_eq!(site.log().len(), count);
    // Another request under the same id is none.
    phone.record(&json!({ "request_id": "a", "step": "prime", "on": "N/J2" })).is(409);
    // The id is the phone's own: another phone may have the same.
    let other = server.phone(&site, "Lea");
    other.record(&json!({ "request_id": "a", "step": "prime", "on": "N/J2" })).is(200);
    // So with forms.
    let note = [("on", "N"), ("text", "dry")];
    let to = phone.send("/note", "n", &note).is(303).header("location").unwrap().to_owned();
    assert_eq!(phone.send("/note", "n", &note).is(303).header("location").unwrap(), to);
    assert_eq!(site.log().iter().filter(|entry| entry["kind"] == "noted").count(), 1);
}

#[test]
fn what_waited_on_a_phone_is_judged_by_when_it_happened() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let at = "2026-03-02T07:59:00+13:00";
    // The day was opened at eight: nothing of the day happened before.
    let early = json!({ "request_id": "a", "step": "prime", "on": "N/J1", "happened_at": at });
    assert_eq!(phone.record(&early).is(409).json()["refused"]["rule"], "R12");
    let late = json!({ "request_id": "b", "step": "prime", "on": "N/J1", "happened_at": "2026-03-02T09:00:00+13:00" });
    assert_eq!(phone.record(&late).is(409).json()["refused"]["rule"], "R3");
    server.kill();
    site.clock("09:30");
    let server = plain(&site);
    let phone = super::server::Phone { address: server.address(), ..phone };
    let done = phone.record(&late).is(200).json();
    assert_eq!(done["entries"][0]["happened_at"], "2026-03-02T09:00:00+13:00");
    assert_eq!(done["entries"][0]["recorded_at"], "2026-03-02T09:30:00+13:00");
}

#[test]
fn each_acts_for_themselves_and_no_other() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let installer = server.first_phone("Ivo");
    let inspector = server.phone(&site, "Ines");
    let to = installer.send("/caution", "a", &[("key", "dust"), ("person", "Lea"), ("people", "Lea")]).is(303);
    assert!(to.header("location").unwrap().starts_with("/cautions?done="));
    let read = |site: &crate::harness::site::Site| site.log().last().unwrap().clone();
    assert_eq!((&read(&site)["kind"], &read(&site)["by"]), (&json!("caution-acknowledged"), &json!("Ivo")));
    let release = [("key", "cover"), ("on", "N"), ("what", "release"), ("how", "on site"), ("person", "Ines")];
    // Ivo may not release it, whatever name the form says.
    let refused = installer.send("/hold", "b", &release).is(409);
    assert!(refused.body.contains("Ivo"));
    inspector.send("/hold", "c", &release).is(303);
    let hold = site.ok("hold list")["holds"].as_array().unwrap().iter().find(|hold| hold["subject"] == "N").cloned();
    let hold = hold.unwrap();
    assert_eq!((&hold["state"], &hold["released_by"]), (&json!("released"), &json!("Ines")));
    assert_eq!(read(&site)["by"], "Ines");
}

#[test]
fn undo_takes_back_what_this_person_recorded_last() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let installer = server.first_phone("Ivo");
    let lead = server.phone(&site, "Lea");
    installer.send("/record", "a", &[("step", "prime"), ("on", "N/J1")]).is(303);
    lead.send("/note", "b", &[("on", "N"), ("text", "by Lea")]).is(303);
    installer.send("/undo", "c", &[]).is(303);
    let struck: Vec<Value> = site.log().into_iter().filter(|entry| entry["struck_by"].is_string()).collect();
    assert_eq!(struck.len(), 1);
    assert_eq!((&struck[0]["kind"], &struck[0]["by"]), (&json!("step-done"), &json!("Ivo")));
    // Nothing more of his; that his phone was paired is not taken back.
    installer.send("/undo", "d", &[]).is(409);
}

#[test]
fn readings_stoppages_notes_and_days_are_recorded_by_their_forms() {
    let site = open(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let latest = || site.log().last().unwrap().clone();
    phone.send("/reading", "a", &[("on", "N"), ("air", "18.5"), ("humidity", "60"), ("surface", "17")]).is(303);
    assert_eq!(latest()["kind"], "reading-taken");
    phone.send("/reading", "b", &[("on", "N"), ("air", "warm")]).is(400);
    phone.send("/stoppage", "c", &[("what", "start"), ("on", "job"), ("rain", "1")]).is(303);
    assert_eq!(latest()["kind"], "stoppage-started");
    phone.send("/stoppage", "d", &[("what", "end")]).is(303);
    assert_eq!(latest()["kind"], "stoppage-ended");
    let bea = server.phone(&site, "Bea");
    bea.send("/day", "e", &[("what", "join"), ("crew", "Dag")]).is(303);
    assert_eq!((&latest()["kind"], &latest()["by"]), (&json!("day-joined"), &json!("Bea")));
    bea.send("/day", "e2", &[("what", "leave"), ("crew", "Ivo")]).is(303);
    assert_eq!((&latest()["kind"], &latest()["by"]), (&json!("day-left"), &json!("Bea")));
    let refused = bea.send("/day", "f", &[("what", "open"), ("crew", "Bea")]).is(409);
    assert!(refused.body.contains("still open"));
    bea.send("/day", "g", &[("what", "close")]).is(400);
    site.ok("verify");
}

#[test]
fn photos_are_kept_by_their_digest_and_what_is_none_is_not_taken() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let picture = photo(90, None);
    let fields =
        |id: &'static str| [("token", phone.token.as_str()), ("request_id", id), ("on", "N"), ("text", "the sill")];
    phone.upload("/photo", &fields("a"), &[("file", "../../etc/wall.jpg", &picture)]).is(303);
    let photos = site.ok("photo list");
    assert_eq!(photos["photos"][0]["file"], "wall.jpg");
    let sha256 = cladlog::digest::sha256_hex(&picture);
    assert_eq!(std::fs::read(site.path(&format!("job.db.photos/{sha256}.jpg"))).unwrap(), picture);
    // Sent again, it is there once.
    phone.upload("/photo", &fields("a"), &[("file", "../../etc/wall.jpg", &picture)]).is(303);
    assert_eq!(site.ok("photo list")["photos"].as_array().unwrap().len(), 1);
    phone.upload("/photo", &fields("b"), &[("file", "wall.jpg", b"no picture at all")]).is(400);
    phone.upload("/photo", &fields("c"), &[("file", "wall.jpg", &picture[..picture.len() / 2])]).is(400);
    phone.upload("/photo", &fields("d"), &[]).is(400);
    // The token has to come before any photo.
    let late = [("request_id", "e"), ("on", "N")];
    phone.upload("/photo", &late, &[("file", "wall.jpg", &picture)]).is(403);
    site.ok("verify");
}

#[test]
fn a_path_as_an_answer_is_words_and_reads_no_file() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let body = json!({ "request_id": "a", "step": "frame", "on": "E", "answers": { "flat": "/etc/passwd" } });
    phone.record(&body).is(400);
    let page = phone.send("/record", "b", &[("step", "frame"), ("on", "E"), ("answer:flat", "/etc/passwd")]).is(400);
    assert!(!page.body.contains("root:"));
    let done = json!({ "request_id": "c", "step": "frame", "on": "E", "answers": { "flat@E": "2" } });
    phone.record(&done).is(200);
}

#[test]
fn a_photo_answers_the_question_of_its_field() {
    let site = Site::folder(EIGHT, "tests/rules/small.toml");
    let ask = "[[stage.step.ask]]\nkey = \"shot\"\nprompt = \"Photo of the coat\"\nkind = \"photo\"\n";
    let coat = "title = \"Coat the wall\"\non = \"wall\"\n";
    let sequence = site.read("small.toml");
    assert!(sequence.contains(coat));
    site.file("small.toml", &sequence.replace(coat, &format!("{coat}{ask}")));
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site.open_day(&["Lea", "Ivo"]);
    site.ok("record frame --on N --answer flat=2");
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    // Without the photo the question is open.
    assert!(phone.send("/record", "a", &[("step", "coat"), ("on", "N")]).is(400).body.contains("shot"));
    let picture = photo(91, None);
    let fields = [("token", phone.token.as_str()), ("request_id", "b"), ("step", "coat"), ("on", "N")];
    phone.upload("/record", &fields, &[("answer:shot", "IMG_1.jpg", &picture)]).is(303);
    let sha256 = cladlog::digest::sha256_hex(&picture);
    assert!(site.path(&format!("job.db.photos/{sha256}.jpg")).exists());
    assert_eq!(site.ok("verify")["checked"]["files"], 1);
}

#[test]
fn a_defect_is_opened_and_put_right_with_its_photos() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let (installer, lead) = (server.first_phone("Ivo"), server.phone(&site, "Lea"));
    let (before, after) = (photo(90, None), photo(80, None));
    let own = |phone: &super::server::Phone, id: &str| {
        vec![("token".to_owned(), phone.token.clone()), ("request_id".to_owned(), id.to_owned())]
    };
    let send = |phone: &super::server::Phone, id: &str, fields: &[(&str, &str)], picture: &[u8]| {
        let own = own(phone, id);
        let own = own.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        let fields: Vec<(&str, &str)> = own.chain(fields.iter().copied()).collect();
        phone.upload("/defect", &fields, &[("file", "it.jpg", picture)])
    };
    send(&installer, "a", &[("what", "open"), ("on", "N/J1"), ("text", "edge chipped")], &before).is(303);
    let kinds = |site: &Site| site.log().iter().rev().take(2).map(|entry| entry["kind"].clone()).collect::<Vec<_>>();
    assert_eq!(kinds(&site), ["photo-added", "defect-opened"]);
    let defects = site.ok("defect list");
    let id = defects["defects"][0]["id"].as_str().unwrap();
    // Whoever has no role for it is refused, and no photo is kept of it.
    let close = [("what", "close"), ("defect", id), ("text", "piece replaced")];
    let count = site.log().len();
    send(&installer, "b", &close, &after).is(409);
    assert_eq!(site.log().len(), count);
    let to = send(&lead, "c", &close, &after).is(303);
    assert!(to.header("location").unwrap().starts_with("/defects?done="));
    assert_eq!(site.ok("defect list")["defects"][0]["state"], "closed");
    let page = lead.get("/defects").is(200).body;
    assert!(page.contains("closed by <bdi>Lea</bdi>") && page.matches("<img src=\"/photo/").count() == 2, "{page}");
    // What is wrong comes back with what was typed.
    let again = lead.send("/defect", "d", &close).is(409).body;
    assert!(again.contains("already closed"), "{again}");
    lead.send("/defect", "e", &[("what", "close"), ("defect", "none"), ("text", "x")]).is(400);
}

#[test]
fn deliveries_and_extra_work_are_recorded_as_the_commands_record_them() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let came = [("what", "deliver"), ("product", "sealant"), ("batch", "S-1"), ("count", "12"), ("expires", "11/2027")];
    phone.send("/stock", "a", &came).is(303);
    let taken = [("what", "take"), ("product", "sealant"), ("batch", "S-1"), ("count", "1,5"), ("how", "thrown-away")];
    phone.send("/stock", "b", &taken).is(303);
    let line = site.ok("stock --product sealant")["stock"][0].clone();
    assert_eq!((&line["left"], &line["batches"][0]["expires"]), (&json!(10.5), &json!("2027-11-30")));
    let refused =
        phone.send("/stock", "c", &[("what", "deliver"), ("product", "sealant"), ("batch", "S-2")]).is(400).body;
    assert!(refused.contains("count is missing") && refused.contains("value=\"S-2\""), "{refused}");
    let asked = [("text", "Recess"), ("asked_by", "Sam"), ("on", "N"), ("hours", "1,5"), ("people", "2")];
    phone.send("/extra", "d", &asked).is(303);
    let extra = site.ok("extra list")["extras"][0].clone();
    assert_eq!((&extra["asked_by"], &extra["crew_hours"]), (&json!("Sam"), &json!(3.0)));
    assert!(phone.get("/extra").is(200).body.contains("Recess"));
}

/// What is wrong is said in the words of the page: nobody on a scaffold has a command line.
#[test]
fn no_answer_names_an_option_of_the_command_line() {
    let site = with_frame(EIGHT);
    site.ok("stoppage start --on E --cause wind");
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let long = "x".repeat(500);
    let deliver = [("what", "deliver"), ("product", "sealant"), ("count", "1")];
    let extra = [("on", "N"), ("text", "Recess"), ("asked_by", "Bea")];
    let wrong = [
        ("/reading", vec![("on", "N")], 400),
        ("/stoppage", vec![("what", "start"), ("on", "N")], 400),
        ("/stoppage", vec![("what", "start"), ("on", "E"), ("reason", "rain")], 409),
        ("/stoppage", vec![("what", "start"), ("on", "N"), ("reason", "rain"), ("told", &long)], 400),
        ("/note", vec![("on", "N"), ("text", "old"), ("happened_at", "2020-01-01T08:00:00+13:00")], 409),
        ("/note", vec![("on", "N"), ("text", "early"), ("happened_at", "23:00")], 409),
        ("/record", vec![("step", "course"), ("on", "N/C1")], 409),
        ("/record", vec![("step", "frame"), ("on", "E")], 400),
        ("/day", vec![("what", "open"), ("crew", "Ivo")], 409),
        ("/day", vec![("what", "close")], 400),
        ("/caution", vec![("key", "none")], 400),
        ("/stock", [&deliver[..], &[("batch", &*long)]].concat(), 400),
        ("/stock", [&deliver[..], &[("batch", "S"), ("expires", "2020-01-31")]].concat(), 400),
        ("/extra", [&extra[..], &[("hours", "-1")]].concat(), 400),
        ("/extra", [&extra[..], &[("quantity", "2")]].concat(), 400),
        ("/hold", vec![("key", "cover"), ("on", "N"), ("what", "release"), ("how", "on site")], 409),
    ];
    for (place, (path, fields, status)) in wrong.iter().enumerate() {
        let page = phone.send(path, &format!("page {place}"), fields).is(*status).body;
        assert!(!page.contains(" --"), "{path} {fields:?}: {page}");
    }
    phone.record(&json!({ "request_id": "z", "step": "prime", "on": "N/J1", "began": "23:00" })).is(400);
    let named = |body: serde_json::Value| phone.record(&body).is(400).json()["field"].clone();
    for (wrong, field) in [
        (json!({ "request_id": "z", "step": "prime", "on": "N/J1", "answers": { "lean": 2 } }), json!("answers")),
        (json!({ "request_id": "z", "step": "prime", "on": 1 }), json!("on")),
        (json!({ "request_id": "z", "step": "prime", "on": "N/J1", "answer": {} }), json!("answer")),
        (json!({ "request_id": "z", "on": "N/J1" }), json!("step")),
        (json!([]), json!(null)),
    ] {
        assert_eq!(named(wrong.clone()), field, "{wrong}");
    }
    let sheets = ["/", "/?on=N", "/clocks", "/wall/N", "/on/N/J1", "/cautions", "/holds", "/evening", "/defects"];
    for path in sheets.into_iter().chain(["/stock", "/extra", "/sealplan", "/step/gun?on=N/J1", "/step/course?on=N/C1"])
    {
        let page = phone.get(path).is(200).body;
        assert!(!page.contains(" --"), "{path}: {page}");
    }
}
