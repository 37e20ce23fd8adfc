//! Photos in the record: what is kept, what is said of them, what is refused.

use cladlog::digest::sha256_hex;
use serde_json::Value;

use crate::handover::story::Story;
use crate::harness::pictures::{Notes, photo};
use crate::harness::site::Site;
use crate::rules::site;

const MORNING: &str = "2026-03-02T10:40:00+13:00";

fn write(site: &Site, name: &str, bytes: &[u8]) {
    std::fs::write(site.path(name), bytes).unwrap();
}

/// What is kept beside the database, by name.
fn kept(site: &Site) -> Vec<String> {
    let Ok(folder) = std::fs::read_dir(site.path("job.db.photos")) else { return Vec::new() };
    let mut names: Vec<String> =
        folder.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn body_of_last(site: &Site) -> Value {
    site.ok(["export", "all.jsonl"]);
    let text = std::fs::read_to_string(site.path("all.jsonl")).unwrap();
    std::fs::remove_file(site.path("all.jsonl")).unwrap();
    serde_json::from_str::<Value>(text.lines().last().unwrap()).unwrap()["body"].clone()
}

#[test]
fn photo_add_keeps_the_file_and_prints_the_entry() {
    let site = site::open(MORNING);
    let bytes = photo(1, Some(&Notes { place: Some((-41.0, 174.0)), ..Notes::taken("2026:03:02 10:31:00") }));
    write(&site, "no-ending", &bytes);
    let told = site.ok(["photo", "add", "no-ending", "--on", "N", "--text", "flashing at the sill"]);
    let entry = &told["entries"][0];
    assert_eq!((&entry["kind"], &entry["subject"]), (&"photo-added".into(), &"N".into()));
    assert!(told["opened"].as_array().unwrap().is_empty() && told["closed"].as_array().unwrap().is_empty());
    let digest = sha256_hex(&bytes);
    assert_eq!(kept(&site), [format!("{digest}.jpg")]);
    assert!(std::fs::read(site.path(&format!("job.db.photos/{digest}.jpg"))).unwrap() == bytes);
    let body = body_of_last(&site);
    assert_eq!(body["sha256"], digest.as_str());
    assert_eq!(body["photo"]["taken_at"], "2026-03-02T10:31:00+13:00");
    assert_eq!((&body["photo"]["format"], &body["photo"]["width_px"]), (&"jpeg".into(), &96.into()));
    assert!(!body.to_string().contains("174"), "the place stays in the file: {body}");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path: &str| std::fs::metadata(site.path(path)).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode("job.db.photos"), 0o700);
        assert_eq!(mode(&format!("job.db.photos/{digest}.jpg")), 0o600);
    }
    assert_eq!(site.ok(["verify"])["checked"]["files"], 1);
}

/// A job with photos and what is none in its folder, for the session of `tests/messages/photos.txt`.
pub fn with_files(clock: &str) -> Site {
    let site = site::open(clock);
    let whole = photo(1, None);
    write(&site, "text.jpg", b"not a photo at all");
    write(&site, "empty.jpg", b"");
    write(&site, "cut.jpg", &whole[..whole.len() - 40]);
    write(&site, "good.jpg", &whole);
    write(&site, "same.jpg", &whole);
    std::fs::File::create(site.path("huge.jpg")).unwrap().set_len(300_000_000).unwrap();
    std::fs::create_dir(site.path("papers")).unwrap();
    write(&site, "papers/list.txt", b"nothing to see");
    let placed = Notes { place: Some((-41.0, 174.0)), ..Notes::taken("2026:03:02 07:57:00") };
    write(&site, "in-time.jpg", &photo(2, Some(&placed)));
    for (name, shade, taken) in [
        ("late.jpg", 3, "2026:03:02 11:00:00"),
        ("yesterday.jpg", 4, "2026:03:01 15:00:00"),
        ("early.jpg", 5, "2026:03:02 07:30:00"),
        ("ahead.jpg", 6, "2026:03:03 09:00:00"),
    ] {
        write(&site, name, &photo(shade, Some(&Notes::taken(taken))));
    }
    site
}

#[test]
fn what_is_no_photo_is_bad_input_and_nothing_is_written() {
    let site = with_files(MORNING);
    for file in ["text.jpg", "empty.jpg", "cut.jpg", "huge.jpg", "papers", "gone.jpg"] {
        let said = site.bad(["photo", "add", file, "--on", "N"]);
        assert_eq!(said.lines().count(), 1, "one message: {said}");
        // One bad photo among good ones stops them all.
        site.bad(["photo", "add", "good.jpg", file, "--on", "N"]);
    }
    site.bad(["photo", "add", "good.jpg", "same.jpg", "--on", "N"]);
    site.bad(["photo", "add", "good.jpg", "--on", "N/J1", "--step", "frame"]);
    assert!(kept(&site).is_empty(), "{:?}", kept(&site));
}

#[test]
fn of_a_folder_the_newest_photo_is_taken() {
    let site = site::open(MORNING);
    std::fs::create_dir(site.path("camera")).unwrap();
    let at = |name: &str, bytes: &[u8], seconds: u64| {
        write(&site, name, bytes);
        let time = std::time::UNIX_EPOCH + std::time::Duration::from_secs(1_700_000_000 + seconds);
        std::fs::File::options().write(true).open(site.path(name)).unwrap().set_modified(time).unwrap();
    };
    at("camera/a.jpg", &photo(1, None), 30);
    at("camera/b.jpg", &photo(2, None), 20);
    at("camera/.trashed.jpg", &photo(3, None), 40);
    at("camera/list.txt", b"newest of all", 50);
    site.ok(["photo", "add", "camera", "--on", "N"]);
    assert_eq!(body_of_last(&site)["file"], "a.jpg");
}

#[test]
fn a_photo_answer_is_a_file_that_is_there() {
    let story = Story::begun();
    for step in ["frame-square", "frame-plumb"] {
        story.record(step, "N", &["--anyway", "--why", "to get on"]).exits(0);
    }
    story.record("cavity", "N", &["--answer", "photo=N1", "--anyway", "--why", "to get on"]).exits(2);
    // A rule stops the step: no photo of it is kept.
    story.record("cavity", "N", &[]).exits(1);
    assert!(!story.path("job.db.photos").exists());
    let told = story.record("cavity", "N", &["--anyway", "--why", "to get on", "--json"]).exits(0).json();
    assert_eq!(told["entries"][0]["kind"], "step-done");
    assert_eq!(std::fs::read_dir(story.path("job.db.photos")).unwrap().count(), 1);
}

#[test]
fn a_photo_that_does_not_fit_its_step_is_flagged() {
    let site = with_files("2026-03-02T08:00:00+13:00");
    site.ok(["record", "frame", "--on", "N", "--answer", "flat=2"]);
    site.clock("2026-03-02T16:00:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1", "--anyway", "--why", "for the test"]);
    let flags = |name: &str, step: &str, on: &str| {
        let told = site.ok(["photo", "add", name, "--on", on, "--step", step]);
        told["warnings"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(flags("in-time.jpg", "frame", "N"), 0);
    for (name, step, on) in [
        ("good.jpg", "frame", "N"),
        ("late.jpg", "frame", "N"),
        ("yesterday.jpg", "frame", "N"),
        ("early.jpg", "prime", "N/J1"),
        ("ahead.jpg", "frame", "N"),
        ("in-time.jpg", "frame", "N"),
    ] {
        assert_eq!(flags(name, step, on), 1, "{name}");
    }
}

#[test]
fn one_photo_of_several_subjects_is_one_use() {
    let site = site::open(MORNING);
    write(&site, "a.jpg", &photo(1, Some(&Notes::taken("2026:03:02 10:31:00"))));
    let told = site.ok(["photo", "add", "a.jpg", "--on", "N,E"]);
    assert_eq!(told["entries"].as_array().unwrap().len(), 2);
    assert!(told.get("warnings").is_none(), "{told}");
    assert_eq!(kept(&site).len(), 1);
}

#[test]
fn verify_names_a_photo_that_is_gone_or_changed_and_a_backup_takes_them_along() {
    let site = site::open(MORNING);
    write(&site, "a.jpg", &photo(1, None));
    write(&site, "b.jpg", &photo(2, None));
    site.ok(["photo", "add", "a.jpg", "b.jpg", "--on", "N"]);
    site.ok(["backup", "copy.db"]);
    assert_eq!(site.bare(["verify", "copy.db", "--json"]).exits(0).json()["checked"]["files"], 2);
    let [first, second] = [&kept(&site)[0], &kept(&site)[1]].map(|name| site.path(&format!("job.db.photos/{name}")));
    std::fs::remove_file(&first).unwrap();
    let mut bytes = std::fs::read(&second).unwrap();
    bytes[40] ^= 1;
    std::fs::write(&second, bytes).unwrap();
    let failures = site.run(["verify"]).exits(1).json()["failures"].clone();
    assert_eq!(failures.as_array().unwrap().len(), 2, "{failures}");
    assert!(failures.as_array().unwrap().iter().all(|one| one["entry"].is_string() && one["file"].is_string()));
}

#[test]
fn verify_only_notes_the_photos_of_a_book_that_came_without_them() {
    let site = site::open(MORNING);
    write(&site, "a.jpg", &photo(1, None));
    site.ok(["photo", "add", "a.jpg", "--on", "N"]);
    site.ok(["export", "mine.jsonl"]);
    site.bare(["--db", "other.db", "merge", "mine.jsonl"]).exits(0);
    let said = site.bare(["verify", "other.db", "--json"]).exits(0).json();
    assert_eq!(said["ok"], true);
    assert_eq!(said["notes"].as_array().unwrap().len(), 1, "{said}");
}

#[cfg(unix)]
#[test]
fn a_folder_that_can_not_be_written_is_the_machine_s_failure() {
    use std::os::unix::fs::PermissionsExt;
    let site = site::open(MORNING);
    write(&site, "a.jpg", &photo(1, None));
    // A file where the folder of photos would be: even the owner of everything can't write into it.
    write(&site, "job.db.photos", b"in the way");
    let before = site.log().len();
    let run = site.run(["photo", "add", "a.jpg", "--on", "N"]).exits(3);
    assert!(run.stderr.contains("job.db.photos"), "{}", run.stderr);
    assert_eq!(site.log().len(), before);
    let mode = std::fs::metadata(site.path("a.jpg")).unwrap().permissions().mode();
    assert_eq!(mode & 0o200, 0o200, "the original is left as it was");
}
