//! The form of what is recorded is frozen: every body is written as the first version of its kind was.

use cladlog::record::{Body, Draft, Entry, Store};
use serde_json::{Value, json};

use crate::harness::root;

/// Every kind with as little in it as it may have, and with everything.
fn bodies() -> Vec<(&'static str, Value)> {
    let photo = json!({ "format": "jpeg", "bytes": 812 });
    let hour = json!({ "at": "2026-03-02T08:00:00+13:00", "air_c": 14.5, "humidity_pct": 60.0, "wind_kmh": 9.0, "rain": false });
    vec![
        ("sequence-adopted", json!({ "sequence": "key = \"s\"", "why": "a step more" })),
        ("person-added", json!({ "name": "Kim", "roles": ["installer"] })),
        ("day-opened", json!({ "crew": ["Lea"] })),
        ("day-opened", json!({ "crew": ["Lea"], "talk": "lifting", "hazards": ["wind"] })),
        ("day-joined", json!({ "crew": ["Ivo"] })),
        ("day-left", json!({ "crew": ["Ivo"] })),
        ("day-closed", json!({ "hours": {} })),
        ("day-closed", json!({ "hours": { "Lea": 8.5 }, "note": "wet" })),
        ("step-done", json!({ "step": "frame", "subject": "N" })),
        (
            "step-done",
            json!({
                "step": "frame", "subject": "N", "anyway": "told to",
                "answers": {
                    "flat": 2.5, "sound": true, "batch": "B-7", "old": { "file": "a.jpg", "sha256": "00" },
                    "shot": { "file": "a.jpg", "sha256": "00", "photo": photo },
                },
            }),
        ),
        (
            "reading-taken",
            json!({ "subject": "N", "air_c": 14.0, "humidity_pct": 60.5, "surface_c": -1.0, "rain": false }),
        ),
        (
            "reading-taken",
            json!({
                "subject": "N", "air_c": 14.0, "humidity_pct": 60.5, "surface_c": 17.0, "wind_kmh": 9.0, "rain": true
            }),
        ),
        ("forecast-added", json!({ "hours": [hour] })),
        ("forecast-added", json!({ "source": "the met office", "hours": [hour] })),
        ("caution-acknowledged", json!({ "caution": "dust", "people": ["Lea"] })),
        ("hold-asked", json!({ "hold": "cover", "subject": "N" })),
        ("hold-released", json!({ "hold": "cover", "subject": "N", "person": "Ines", "how": "on site" })),
        (
            "hold-released",
            json!({ "hold": "cover", "subject": "N", "person": "Ines", "how": "by phone", "evidence": "a text" }),
        ),
        ("hold-refused", json!({ "hold": "cover", "subject": "N", "person": "Ines", "why": "torn" })),
        ("defect-opened", json!({ "subject": "N", "what": "torn wrap" })),
        ("defect-closed", json!({ "defect": "demo-7.defect", "person": "Bea", "how": "taped" })),
        ("defect-closed", json!({ "defect": "demo-7.r4-order", "person": "Bea", "how": "done" })),
        ("defect-conceded", json!({ "defect": "demo-7.r8-flat", "person": "Dag", "why": "hidden" })),
        ("struck", json!({ "entry": "demo-7", "why": "a slip" })),
        ("plan-kept", json!({ "sum": "calc courses", "subject": "N", "inputs": { "a": 1 }, "result": [2] })),
        ("photo-added", json!({ "subject": "N", "file": "a.jpg", "sha256": "00", "photo": photo })),
        (
            "photo-added",
            json!({ "subject": "N", "step": "frame", "file": "a.jpg", "sha256": "00", "photo": photo, "note": "the sill" }),
        ),
        ("key-used", json!({ "fingerprint": "00" })),
        ("phone-paired", json!({ "phone": "0a1b2c3d", "person": "Ivo" })),
        ("phone-forgotten", json!({ "phone": "0a1b2c3d", "person": "Ivo" })),
        ("noted", json!({ "subject": "N", "text": "dry" })),
        ("batch-delivered", json!({ "product": "panel", "batch": "P", "count": 20.0, "unit": "panels" })),
        (
            "batch-delivered",
            json!({
                "product": "sealant", "batch": "S", "colour": "grey", "count": 1.125, "unit": "cartridges",
                "expires": "2026-11-30", "condition": "wet", "note": "two boxes",
            }),
        ),
        ("stock-taken", json!({ "product": "panel", "batch": "P", "subject": "N", "how": "used" })),
        (
            "stock-taken",
            json!({
                "product": "panel", "batch": "P", "subject": "job", "how": "thrown-away", "count": 0.5, "note": "bent",
                "anyway": "the last one",
            }),
        ),
        ("stock-taken", json!({ "product": "panel", "batch": "P", "subject": "N", "how": "off-cut" })),
        ("stock-taken", json!({ "product": "panel", "batch": "P", "subject": "N", "how": "cut-up" })),
        (
            "stock-taken",
            json!({ "product": "panel", "batch": "P", "subject": "job", "how": "sent-back", "count": 2.0 }),
        ),
        ("stoppage-started", json!({ "subject": "job", "cause": "rain", "told": ["Bea"] })),
        ("stoppage-started", json!({ "subject": "N", "cause": "rain", "told": ["Bea"], "people": 2 })),
        ("stoppage-ended", json!({ "stoppage": "demo-7" })),
        ("stoppage-ended", json!({ "stoppage": "demo-7", "note": "dry again" })),
        ("extra-added", json!({ "subject": "N", "what": "a soffit", "asked_by": "Mr Orr" })),
        (
            "extra-added",
            json!({
                "subject": "N", "what": "a soffit", "asked_by": "Mr Orr", "told": ["Bea"], "hours": 1.5, "people": 2,
                "quantity": 4.8, "unit": "m2",
            }),
        ),
    ]
}

#[test]
fn every_kind_is_read_and_written_as_it_was() {
    for (kind, body) in bodies() {
        let written = json!({ "kind": kind, "body": body });
        let read: Body = serde_json::from_value(written.clone()).unwrap_or_else(|error| panic!("{written}: {error}"));
        assert_eq!(read.kind(), kind);
        assert_eq!(serde_json::to_value(&read).unwrap(), written);
    }
}

/// What was kept of earlier versions, written again, gives the same lines and the same hashes.
#[test]
fn every_entry_that_is_kept_is_written_to_the_same_bytes() {
    let fixtures = std::fs::read_dir(root().join("tests/trust/fixtures")).unwrap();
    let fixtures = fixtures.map(|file| file.unwrap().path()).filter(|path| path.extension().is_some_and(|e| e == "db"));
    let mut kinds = std::collections::BTreeSet::new();
    for kept in fixtures.chain([root().join("demo-db/demo.db")]) {
        // A reader may leave a log beside the file.
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("kept.db");
        std::fs::copy(&kept, &path).unwrap();
        let store = Store::write_to(&path).unwrap();
        for job in store.jobs().unwrap() {
            for entry in store.entries(&job.key).unwrap() {
                kinds.insert(entry.body.kind().to_owned());
                assert!(!matches!(entry.body, Body::Unknown { .. }), "{}", entry.line);
                let draft = Draft {
                    job: entry.job.clone(),
                    happened_at: entry.happened_at,
                    recorded_at: entry.recorded_at,
                    by: entry.by.clone(),
                    body: entry.body.clone(),
                    rehearsal: entry.rehearsal,
                };
                let (device, seen) = (entry.device.clone(), entry.seen.clone());
                let again = Entry::finalize(draft, device, entry.seq, &entry.prev, seen).unwrap();
                assert_eq!((again.line, again.hash), (entry.line, entry.hash));
            }
        }
    }
    assert!(kinds.contains("job-added") && kinds.len() >= 18, "{kinds:?}");
}

/// Ids and words that are none: the entry is kept, and not understood.
#[test]
fn what_can_not_be_read_in_a_body_is_kept_as_it_is() {
    for (kind, body) in [
        ("struck", json!({ "entry": "no id", "why": "x" })),
        ("defect-closed", json!({ "defect": "demo-7", "person": "Bea", "how": "x" })),
        ("defect-conceded", json!({ "defect": "demo-7.r99-x", "person": "Bea", "why": "x" })),
        ("stoppage-ended", json!({ "stoppage": "" })),
        ("stock-taken", json!({ "product": "panel", "batch": "P", "subject": "N", "how": "eaten" })),
        ("from-the-future", json!({ "subject": "N" })),
    ] {
        let draft = Draft {
            job: "test".into(),
            happened_at: cladlog::moment::Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap(),
            recorded_at: cladlog::moment::Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap(),
            by: "Lea".into(),
            body: Body::Unknown { kind: kind.into(), body },
            rehearsal: false,
        };
        let entry = Entry::finalize(draft, "lea", 1, cladlog::record::NO_PREVIOUS, Default::default()).unwrap();
        let read = Entry::from_jsonl(&entry.jsonl()).unwrap();
        assert!(matches!(read.body, Body::Unknown { .. }), "{kind}");
        assert_eq!(read.line, entry.line);
    }
}
