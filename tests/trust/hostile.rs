//! Whatever text stands in the record, it reaches a terminal, a page, a table or a file as text and nothing else.
//!
//! The demonstration's record, every free text in it made hostile and the chain sealed again, as a forger on another
//! machine could send it. So every kind of entry that the demonstration has is covered, and every new one with it.

use std::path::Path;

use serde_json::Value;

use super::hostile_pdf;
use super::mutate::inputs::seal_again;
use crate::harness::{Bench, root};

/// An escape sequence in both forms, a bell, a turn of the line, markup, and ends of quotes.
const TAIL: &str =
    "\u{1b}]0;x\u{7}\u{1b}[2J\u{9b}31m\u{202e}\u{2066}\r<script>alert(1)</script><img src=x onerror=y>\"'`&]]>";
/// What a spreadsheet would run.
const HEAD: &str = "=HYPERLINK(\"http://x\")";

/// Keys whose values are references into the job or the sequence, or have a form of their own.
const KEPT: &[&str] = &[
    "kind",
    "subject",
    "step",
    "hold",
    "caution",
    "defect",
    "entry",
    "sum",
    "sequence",
    "time_zone",
    "key",
    "walls",
    "roles",
    "sha256",
    "device",
    "hash",
    "prev",
    "happened_at",
    "recorded_at",
    "job",
    "inputs",
    "result",
];

fn hostile(text: &str) -> String {
    format!("{HEAD}{text}{TAIL}")
}

/// Makes every free text hostile; a name stays one name wherever it stands.
fn poison(value: &mut Value, key: &str, parsed: &dyn Fn(&str) -> bool) {
    if KEPT.contains(&key) {
        return;
    }
    match value {
        // Times, dates and ids that an entry's kind has to parse stay what they are.
        Value::String(text) if !parsed(text) => *text = hostile(text),
        Value::Array(list) => list.iter_mut().for_each(|each| poison(each, key, parsed)),
        Value::Object(fields) => {
            if key == "hours" && fields.values().all(Value::is_number) {
                *fields = std::mem::take(fields).into_iter().map(|(name, hours)| (hostile(&name), hours)).collect();
            }
            for (key, value) in fields.iter_mut() {
                poison(value, key, parsed);
            }
        }
        _ => {}
    }
}

fn looks_parsed(text: &str) -> bool {
    let id = text
        .split_once('-')
        .is_some_and(|(device, rest)| device == "demo" && rest.starts_with(|c: char| c.is_ascii_digit()));
    let time = text.len() >= 10 && text.as_bytes()[4] == b'-' && text[..4].chars().all(|c| c.is_ascii_digit());
    let word = !text.is_empty() && text.chars().all(|c| c.is_ascii_lowercase() || c == '-' || c == '_');
    id || time || word
}

fn must_be_text(what: &str, bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for bad in ['\u{1b}', '\u{7}', '\u{9b}', '\u{202e}', '\u{2066}', '\r'] {
        // Tables end their lines with a carriage return and a line feed, as RFC 4180 has it.
        let text = if what.ends_with(".csv") { text.replace("\r\n", "\n") } else { text.to_string() };
        assert!(!text.contains(bad), "{what}: {:?} in …{}…", bad, around(&text, bad));
    }
}

fn around(text: &str, bad: char) -> String {
    let at = text.find(bad).unwrap_or(0);
    text.chars()
        .skip(text[..at].chars().count().saturating_sub(60))
        .take(90)
        .collect::<String>()
        .escape_debug()
        .to_string()
}

fn each_file(folder: &Path, see: &mut dyn FnMut(&Path)) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { each_file(&path, see) } else { see(&path) }
    }
}

#[test]
fn hostile_text_in_every_field_of_every_kind_reaches_every_output_as_text() {
    let store = cladlog::record::Store::read(&root().join("demo-db/demo.db")).unwrap();
    let job = store.jobs().unwrap().remove(0).key;
    let entries = store.entries(&job).unwrap();
    let last = entries.iter().map(|entry| entry.recorded_at).max().unwrap();
    let bench = Bench::at(&last.to_string());
    let mut poisoned = 0;
    let lines: String = entries
        .iter()
        .map(|entry| {
            let mut whole: Value = serde_json::from_str(&entry.jsonl()).unwrap();
            let before = whole.clone();
            let building = whole["kind"] == "job-added";
            poison(&mut whole["body"], "body", &|text| looks_parsed(text) && !(building && text.contains(' ')));
            whole["by"] = hostile(&entry.by).into();
            poisoned += usize::from(before != whole);
            format!("{whole}\n")
        })
        .collect();
    assert_eq!(poisoned, entries.len());
    let sealed = seal_again(&lines);
    // Each is still of its kind: nothing is passed over as not understood.
    let opened = cladlog::record::read_jsonl(&sealed).unwrap();
    for (entry, was) in opened.iter().zip(&entries) {
        let unknown = matches!(entry.body, cladlog::record::Body::Unknown { .. });
        assert!(!unknown || matches!(was.body, cladlog::record::Body::Unknown { .. }), "{}", entry.line);
    }
    bench.file("hostile.jsonl", &sealed);
    bench.run(["--db", "h.db", "merge", "hostile.jsonl"]).exits(0);
    let wall = "N";
    for command in [
        vec!["log"],
        vec!["log", "--on", wall],
        vec!["next", "--all"],
        vec!["job", "show"],
        vec!["job", "list"],
        vec!["hold", "list"],
        vec!["defect", "list"],
        vec!["window", "list"],
        vec!["watch", "--once"],
        vec!["day", "report"],
        vec!["verify"],
        vec!["sequence", "show"],
        vec!["day", "close"],
        vec!["record", "no-such-step", "--on", "N"],
        vec!["note", "--text", "x", "--by", "nobody"],
        vec!["strike", "demo-1", "--why", "x"],
    ] {
        for more in [&["--color", "never"][..], &["--color", "never", "--json"]] {
            let run = bench.run(["--db", "h.db"].iter().chain(&command).chain(more));
            assert!((0..=2).contains(&run.code), "{command:?}: {run:?}");
            must_be_text(&format!("{command:?}"), run.stdout.as_bytes());
            must_be_text(&format!("{command:?}"), run.stderr.as_bytes());
        }
    }
    bench.run(["--db", "h.db", "pack", "pack", "--interim"]).exits(0);
    let (mut seen, mut pdfs) = (0, 0);
    each_file(&bench.path("pack"), &mut |path| {
        seen += 1;
        let (name, bytes) = (path.display().to_string(), std::fs::read(path).unwrap());
        // The record is what was recorded, byte for byte; JSON writes control characters as \u escapes.
        let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_owned();
        match ending.as_str() {
            "jsonl" | "json" => return assert!(!bytes.contains(&0x1b), "{name}"),
            "pdf" => {
                pdfs += 1;
                return assert_eq!(hostile_pdf::errors(&bytes), Vec::<String>::new(), "{name}");
            }
            // Bytes that nobody reads as text.
            "sig" | "jpg" | "jpeg" | "png" => return,
            _ => {}
        }
        must_be_text(&name, &bytes);
        let text = String::from_utf8_lossy(&bytes).to_lowercase();
        if matches!(ending.as_str(), "html" | "svg") {
            assert!(!text.contains("<script>alert") && !text.contains("<img src=x"), "{name}");
        }
        if ending == "csv" {
            let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&bytes[..]);
            for row in reader.records() {
                for cell in row.unwrap().iter().filter(|cell| cell.starts_with(['=', '+', '-', '@', '\t', '\r'])) {
                    assert!(cell.parse::<f64>().is_ok(), "{name}: {cell}");
                }
            }
        }
    });
    assert!(seen > 5);
    assert_eq!(pdfs, usize::from(cfg!(feature = "pdf")));
    bench.run(["verify", "pack"]).exits(0);
}
