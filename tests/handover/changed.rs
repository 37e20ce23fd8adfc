//! No change to a pack goes unseen.

#![allow(clippy::print_stdout, reason = "the long form says how long it took")]

use std::collections::BTreeMap;

use cladlog::handover::{Blob, Contents, Failed, has_pdf, unzip, verify, zip_into};
use serde_json::Value;

use super::story::{Story, copy};

fn contents(story: &Story, folder: &str) -> Contents {
    let zip = std::fs::read(story.path(&format!("{folder}.zip"))).unwrap();
    unzip(&zip).unwrap().1
}

fn names(failures: &[Failed]) -> Vec<&str> {
    failures.iter().filter_map(|failed| failed.file.as_deref()).collect()
}

#[test]
fn every_changed_byte_is_caught_and_its_file_named() {
    let story = Story::begun();
    story.json(["pack", "pack", "--interim"]);
    change_bytes(&contents(&story, "pack"), 300);
}

/// The demonstration's pack, photos and PDF included. By hand, after a change to `verify`; it says how long it took:
/// `cargo test --test all ten_thousand -- --ignored --nocapture`
#[test]
#[ignore = "half a minute to some minutes"]
fn ten_thousand_changed_bytes_are_all_caught() {
    let bench = crate::harness::Bench::at("2031-01-01T00:00:00Z");
    bench.run(["demo", "out"]).exits(0);
    let (_, whole) = unzip(&std::fs::read(bench.path("out/pack.zip")).unwrap()).unwrap();
    assert_eq!(whole.files.contains_key("handover.pdf"), has_pdf());
    assert!(whole.files.keys().any(|path| path.starts_with("photos/")));
    let begun = std::time::Instant::now();
    change_bytes(&whole, 10_000);
    println!("10,000 changed bytes, all caught, in {:.1} s", begun.elapsed().as_secs_f64());
}

/// Changes a byte at a time, in one file after the other, and sees that `verify` names the file.
fn change_bytes(whole: &Contents, rounds: usize) {
    assert_eq!(verify(whole).failures, []);
    let paths: Vec<&String> = whole.files.keys().collect();
    let many = std::thread::available_parallelism().map_or(1, usize::from);
    let some = |first: usize| {
        let mut changed = whole.clone();
        for round in (first..rounds).step_by(many) {
            let path = paths[round % paths.len()];
            // Knuth's multiplicative hash: any will do, as long as it repeats.
            let drawn = (round as u64 + 7).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            let mut bytes = changed.files[path].read().unwrap().into_owned();
            let (at, bit) = ((drawn >> 16) as usize % bytes.len(), 1 << (drawn >> 8 & 7));
            bytes[at] ^= bit;
            let before = changed.files.insert(path.clone(), bytes.into()).unwrap();
            let verified = verify(&changed);
            assert!(names(&verified.failures).contains(&path.as_str()), "{path} at {at}: {:?}", verified.failures);
            changed.files.insert(path.clone(), before);
        }
    };
    std::thread::scope(|scope| {
        (0..many).for_each(|first| {
            drop(scope.spawn({
                let some = &some;
                move || some(first)
            }))
        })
    });
}

#[test]
fn changes_made_good_in_the_manifest_are_still_caught() {
    let story = Story::begun();
    story.json(["pack", "pack", "--interim"]);
    let whole = contents(&story, "pack");
    // A page that says something else, and a manifest to fit it.
    let mut forged = whole.clone();
    let page = text(&forged, "handover.html").replace("NOT COMPLETE", "COMPLETE");
    forged.files.insert("handover.html".into(), page.into_bytes().into());
    refit(&mut forged.files);
    let verified = verify(&forged);
    assert_eq!(names(&verified.failures), ["handover.html"]);
    assert_eq!(verified.failures[0].what, "does not match the record");
    // A pack without one of its tables.
    let mut lacking = whole.clone();
    lacking.files.remove("tables/defects.csv");
    refit(&mut lacking.files);
    assert_eq!(names(&verify(&lacking).failures), ["tables/defects.csv"]);
    // A pack with something more, listed or not.
    let mut more = whole.clone();
    more.files.insert("approval.pdf".into(), b"approved".to_vec().into());
    assert_eq!(verify(&more).failures, [Failed::file("approval.pdf", "it is not in the manifest")]);
    refit(&mut more.files);
    assert_eq!(names(&verify(&more).failures), ["approval.pdf"]);
    // A record cut short, with nothing else to fit it.
    let mut short = whole.clone();
    let lines: Vec<String> = text(&short, "record.jsonl").lines().map(|line| format!("{line}\n")).collect();
    short.files.insert("record.jsonl".into(), lines[..lines.len() - 1].concat().into_bytes().into());
    refit(&mut short.files);
    assert_eq!(
        verify(&short).failures[0].what,
        format!("it has {} entries, the manifest says {}", lines.len() - 1, lines.len())
    );
    // A manifest that says the job is complete, with its own hash put right.
    let mut complete = whole.clone();
    let manifest = text(&complete, "manifest.json").replace("\"complete\": false", "\"complete\": true");
    complete.files.insert("manifest.json".into(), manifest.into_bytes().into());
    refit(&mut complete.files);
    assert_eq!(names(&verify(&complete).failures), ["manifest.json"]);
}

fn text(contents: &Contents, path: &str) -> String {
    String::from_utf8(contents.files[path].read().unwrap().into_owned()).unwrap()
}

/// Puts the hashes of a manifest right, as somebody would who edits a pack.
fn refit(files: &mut BTreeMap<String, Blob>) {
    let manifest = files["manifest.json"].read().unwrap();
    let mut manifest: cladlog::handover::Manifest = serde_json::from_slice(&manifest).unwrap();
    manifest.files = files
        .iter()
        .filter(|(path, _)| !path.starts_with("manifest."))
        .map(|(path, blob)| cladlog::handover::FileLine {
            path: path.clone(),
            sha256: blob.sha256().into_owned(),
            bytes: blob.len(),
            copy_of: None,
        })
        .collect();
    manifest.sha256 = String::new();
    let bare: Value = serde_json::to_value(&manifest).unwrap();
    manifest.sha256 = cladlog::digest::sha256_hex(&serde_json_canonicalizer::to_vec(&bare).unwrap());
    let bytes = manifest.bytes().unwrap();
    // Whoever has the key can sign anything; the one for rehearsals everybody has.
    files.insert("manifest.sig".into(), cladlog::handover::Signer::rehearsal().sign(&bytes).to_vec().into());
    files.insert("manifest.json".into(), bytes.into());
}

#[test]
fn the_binary_names_what_was_changed_and_exits_1() {
    let story = Story::begun();
    story.json(["pack", "pack", "--interim"]);
    let flip = |name: &str, at: usize| {
        let path = story.path(name);
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[at] ^= 1;
        std::fs::write(&path, bytes).unwrap();
    };
    let fails = |what: &str| {
        let found = story.run(["verify", what, "--json"]).exits(1).json();
        assert_eq!(found["ok"], false);
        found["failures"].clone()
    };
    copy(&story.path("pack"), &story.path("a"));
    flip("a/record.jsonl", 200);
    let failures = fails("a");
    assert_eq!(failures[0]["file"], "record.jsonl");
    assert!(failures.as_array().unwrap().iter().any(|one| one["entry"].is_string()), "{failures}");

    copy(&story.path("pack"), &story.path("b"));
    flip("b/manifest.json", 30);
    assert_eq!(fails("b")[0]["file"], "manifest.json");
    std::fs::remove_file(story.path("b/record.jsonl")).unwrap();
    fails("b");

    // The zip: sampled bytes all over it, the ends included.
    let zip = std::fs::read(story.path("pack.zip")).unwrap();
    for at in (0..zip.len()).step_by(zip.len() / 40).chain([0, 1, 10, zip.len() - 1, zip.len() - 22]) {
        let mut changed = zip.clone();
        changed[at] ^= 0x20;
        std::fs::write(story.path("c.zip"), changed).unwrap();
        let failures = fails("c.zip");
        assert!(failures[0]["file"].is_string(), "byte {at}: {failures}");
    }
    std::fs::write(story.path("c.zip"), &zip[..zip.len() / 2]).unwrap();
    fails("c.zip");
}

#[test]
fn what_is_no_pack_and_no_database_is_bad_input() {
    let story = Story::begun();
    std::fs::create_dir(story.path("empty")).unwrap();
    let run = story.run(["verify", "empty"]).exits(2);
    assert!(run.stderr.contains("it has no manifest.json"), "{}", run.stderr);
    story.site.file("letter.zip", "Dear Sir or Madam");
    story.run(["verify", "letter.zip"]).exits(2);
    story.site.file("letter.txt", "Dear Sir or Madam");
    assert!([2, 3].contains(&story.run(["verify", "letter.txt"]).code));
    assert!([2, 3].contains(&story.run(["verify", "nowhere"]).code));
    story.run(["pack", ".."]).exits(2);
    story.run(["pack", ""]).exits(2);
}

#[test]
fn a_zip_that_leads_out_of_its_folder_is_refused() {
    let story = Story::begun();
    let zip_of = |folder: &str, name: &str, content: &[u8]| {
        let made_at = cladlog::moment::Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap();
        let mut zip = Vec::new();
        zip_into(folder, &[(name.to_owned(), content.to_vec().into())], &made_at, &mut zip).unwrap();
        zip
    };
    for name in ["../evil", "a/../../evil", "C:/evil", "a\\b", "./a", "a//b"] {
        let zip = zip_of("pack", name, b"x");
        assert!(unzip(&zip).is_err(), "{name}");
        std::fs::write(story.path("slip.zip"), zip).unwrap();
        let failures = story.run(["verify", "slip.zip", "--json"]).exits(1).json();
        assert_eq!(failures["failures"][0]["file"], "slip.zip");
    }
    for folder in ["", "/tmp", ".."] {
        let zip = zip_of(folder, "manifest.json", b"{}");
        assert!(unzip(&zip).is_err(), "{folder}");
    }
    assert!(!story.path("evil").exists());
}
