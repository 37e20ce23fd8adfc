//! The document as a value: what it says of a small job, kept as text beside the test.

use cladlog::day::Book;
use cladlog::handover::{Document, elevation};
use cladlog::record::{Entry, Store};

use super::story::Story;

fn book(story: &Story) -> Book {
    let store = Store::read(&story.path("job.db")).unwrap();
    let entries: Vec<Entry> = store.entries("shed").unwrap();
    Book::open(entries).unwrap()
}

/// The document without what differs from one setting-up to the next: the device and its hashes.
fn steady(document: &Document, device: &str) -> String {
    let mut value = serde_json::to_value(document).unwrap();
    value["record_sha256"] = "…".into();
    for entry in value["log"].as_array_mut().unwrap() {
        entry["hash"] = "…".into();
    }
    for edition in value["job"]["editions"].as_array_mut().unwrap() {
        edition["sha256"] = "…".into();
    }
    let text = serde_json::to_string_pretty(&value).unwrap();
    text.replace(device, "device") + "\n"
}

#[test]
fn the_document_of_a_small_job_is_the_one_kept() {
    let story = Story::nearly_done();
    let book = book(&story);
    let made_at = cladlog::moment::Moment::parse_from_rfc3339("2026-03-02T20:00:00+13:00").unwrap();
    let document = Document::of(&book, made_at);
    let found = steady(&document, &book.entries[0].device);
    let kept = crate::harness::root().join("tests/handover/document.json");
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        std::fs::write(&kept, &found).unwrap();
    }
    let expected = std::fs::read_to_string(&kept).unwrap_or_default();
    for (number, (found, expected)) in found.lines().zip(expected.lines()).enumerate() {
        assert_eq!(found, expected, "line {} of tests/handover/document.json", number + 1);
    }
    assert_eq!(found.lines().count(), expected.lines().count(), "UPDATE_SNAPSHOTS=1 writes it anew");
}

#[test]
fn it_says_what_became_of_everything() {
    let story = Story::nearly_done();
    let book = book(&story);
    let document = Document::of(&book, book.state.last_recorded().unwrap());
    assert!(!document.complete && document.rehearsal);
    // Only the last hold point and the handing over are left.
    let missing: Vec<&str> = document.missing.iter().map(|one| one.what.as_str()).collect();
    assert_eq!(missing, ["Hold point: Finished cladding accepted", "Papers and care advice handed over"]);
    let flat: Vec<_> = document.steps.iter().filter(|step| step.step == "frame-flat" && step.subject == "N").collect();
    assert_eq!(flat[0].answers[0].within, Some(false));
    assert_eq!(flat[0].answers[0].defect.as_deref(), Some("defect 1, closed"));
    assert_eq!(flat[1].answers[0].within, Some(true));
    assert!(document.bases[flat[0].answers[0].basis.unwrap() - 1].contains("2 m straightedge"));
    assert_eq!(document.defects.iter().map(|one| one.state).collect::<Vec<_>>(), ["conceded", "closed"]);
    assert_eq!(document.struck.len(), 1);
    assert_eq!(document.struck[0].why, "typed by mistake");
    assert_eq!(document.late.len(), 1);
    let primer: Vec<_> = document.windows.iter().filter(|window| window.key == "primer-to-sealant").collect();
    assert_eq!((primer.len(), primer[0].state), (1, "met"));
    assert!(document.papers.iter().any(|paper| paper.held.is_none()));
    assert!(document.remarks.iter().any(|remark| remark.starts_with("The job lists no copy of")));
    // The elevation carries the numbers of the defects.
    let marks = [elevation::DefectMark { number: 2, subject: "N/O1".into(), open: false }];
    let wall = document.parts.iter().find_map(|part| part.wall.clone()).unwrap();
    assert!(elevation::elevation(&wall, None, &marks).contains(">2</text>"));
}
