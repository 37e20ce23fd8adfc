//! The pack as the binary writes it.

use cladlog::digest::sha256_hex;
use serde_json::Value;

use super::story::{Story, long_name};
use cladlog::handover::has_pdf;

#[test]
fn an_unfinished_job_is_packed_only_as_interim_and_says_first_what_is_missing() {
    let story = Story::begun();
    let refused = story.run(["pack", "pack"]).exits(1);
    assert!(refused.stdout.contains("Missing:"), "{}", refused.stdout);
    let words = refused.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("Finished cladding accepted"), "{words}");
    assert!(refused.stderr.contains("--interim"));
    assert!(!story.path("pack").exists() && !story.path("pack.zip").exists());
    let answer = story.run(["pack", "pack", "--json"]).exits(1).json();
    assert_eq!(answer["complete"], false);

    let made = story.json(["pack", "pack", "--interim"]);
    assert_eq!(made["complete"], false);
    assert!(!made["missing"].as_array().unwrap().is_empty());
    let html = std::fs::read_to_string(story.path("pack/handover.html")).unwrap();
    let verdict = html.find("NOT COMPLETE").unwrap();
    let first = html.find("id=\"missing\"").unwrap();
    assert!(verdict < first && first < html.find("id=\"built\"").unwrap());
    assert!(html.contains("REHEARSAL"));
    story.run(["verify", "pack"]).exits(0);
    story.run(["verify", "pack.zip"]).exits(0);
}

#[test]
fn a_finished_job_makes_a_complete_pack_the_same_bytes_every_time() {
    let story = Story::done();
    let made = story.json(["pack", "first/pack"]);
    assert_eq!(made["complete"], true, "{made}");
    story.json(["pack", "second/pack"]);
    let files: Vec<&str> = made["files"].as_array().unwrap().iter().map(|file| file.as_str().unwrap()).collect();
    assert!(files.contains(&"handover.html") && files.contains(&"drawings/wall-1-N.svg"));
    assert_eq!(files.contains(&"handover.pdf"), has_pdf());
    for file in &files {
        let read = |folder: &str| std::fs::read(story.path(&format!("{folder}/pack/{file}"))).unwrap();
        assert!(read("first") == read("second"), "{file} differs");
    }
    let zip = |folder: &str| std::fs::read(story.path(&format!("{folder}/pack.zip"))).unwrap();
    assert!(zip("first") == zip("second"), "the zips differ");
    let verified = story.json(["verify", "first/pack"]);
    assert_eq!(verified["ok"], true);
    assert_eq!(verified["checked"]["files"], files.len());
    assert_eq!(story.json(["verify", "first/pack.zip"])["ok"], true);

    // Not written over, unless it is asked for.
    let again = story.run(["pack", "first/pack"]).exits(2);
    assert!(again.stderr.contains("already exists"), "{}", again.stderr);
    story.run(["pack", "first/pack", "--replace"]).exits(0);
    story.run(["verify", "first/pack.zip"]).exits(0);
    let left: Vec<_> = std::fs::read_dir(story.path("first")).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "{left:?}");
    std::fs::create_dir(story.path("mine")).unwrap();
    story.run(["pack", "mine", "--replace"]).exits(2);

    the_record_hashes_as_the_contract_says(&story);
    the_tables_are_whole_and_disarmed(&story);
    the_pages_carry_every_name(&story);
    if has_pdf() {
        the_pdf_carries_the_record(&story);
    }
}

fn the_record_hashes_as_the_contract_says(story: &Story) {
    let text = std::fs::read_to_string(story.path("first/pack/record.jsonl")).unwrap();
    let mut before = "0".repeat(64);
    for line in text.lines() {
        let mut entry: serde_json::Map<String, Value> = serde_json::from_str(line).unwrap();
        let mut keys: Vec<&str> = entry.keys().map(String::as_str).collect();
        keys.sort_unstable();
        let wanted = ["body", "by", "device", "happened_at", "hash", "kind", "prev", "recorded_at", "seq", "version"];
        assert_eq!(keys, wanted);
        let hash = entry.remove("hash").unwrap();
        let bare = serde_json_canonicalizer::to_vec(&entry).unwrap();
        assert_eq!(hash, sha256_hex(&bare).as_str());
        assert_eq!(entry["prev"], before.as_str());
        before = hash.as_str().unwrap().to_owned();
    }
    let manifest: Value =
        serde_json::from_slice(&std::fs::read(story.path("first/pack/manifest.json")).unwrap()).unwrap();
    assert_eq!(manifest["entries"], text.lines().count());
    for file in manifest["files"].as_array().unwrap() {
        let path = file["path"].as_str().unwrap();
        let bytes = std::fs::read(story.path(&format!("first/pack/{path}"))).unwrap();
        assert_eq!(file["sha256"], sha256_hex(&bytes).as_str());
        assert_eq!(file["bytes"], bytes.len());
    }
}

fn the_tables_are_whole_and_disarmed(story: &Story) {
    for name in ["steps", "measurements", "readings", "windows", "holds", "defects", "entries", "hours", "cautions"] {
        let path = story.path(&format!("first/pack/tables/{name}.csv"));
        let mut reader = csv::Reader::from_path(path).unwrap();
        let mut rows = 0;
        for row in reader.records() {
            rows += 1;
            for cell in &row.unwrap() {
                let risky = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
                assert!(!risky || cell.parse::<f64>().is_ok(), "{name}: {cell}");
            }
        }
        assert!(rows > 0, "{name} is empty");
    }
    let hours = std::fs::read_to_string(story.path("first/pack/tables/hours.csv")).unwrap();
    assert!(hours.contains("'=cmd|'/C calc'!A0"), "{hours}");
}

fn the_pages_carry_every_name(story: &Story) {
    let html = std::fs::read_to_string(story.path("first/pack/handover.html")).unwrap();
    assert!(html.contains(&long_name()));
    assert!(html.contains("&lt;b&gt;тест&lt;/b&gt; &amp; 試験"));
    assert!(!html.contains("<b>") && !html.contains("<script") && !html.contains("http://localhost"));
    assert!(
        !html.replace("src=\"data:image/jpeg;base64,", "").contains("src=") && !html.contains("@import"),
        "the page reaches for something outside"
    );
    for said in ["COMPLETE, WITH", "typed by mistake", "Hidden by the sill", "5.5 mm", "OUT", "D1, closed"] {
        assert!(html.contains(said), "{said}");
    }
}

fn the_pdf_carries_the_record(story: &Story) {
    let pdf = std::fs::read(story.path("first/pack/handover.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
    let find = |from: usize, what: &[u8]| pdf[from..].windows(what.len()).position(|at| at == what).map(|at| at + from);
    assert!(find(0, b"<pdfaid:part>3</pdfaid:part>").is_some(), "no mark of PDF/A-3");
    assert!(find(0, b"<pdfaid:conformance>B</pdfaid:conformance>").is_some());
    // Every stream of the file, unpacked; one of them is the record.
    let record = std::fs::read(story.path("first/pack/record.jsonl")).unwrap();
    let mut at = 0;
    let mut found = false;
    while let Some(start) = find(at, b"stream\n") {
        let Some(end) = find(start, b"endstream") else { break };
        let packed = &pdf[start + 7..end];
        let mut plain = Vec::new();
        let unpacked = std::io::Read::read_to_end(&mut flate2::read::ZlibDecoder::new(packed), &mut plain);
        found |= (unpacked.is_ok() && plain == record) || packed.starts_with(&record);
        at = end + 9;
    }
    assert!(found, "the record is not in the PDF byte for byte");
}
