//! What the pack of a small job says, kept as text beside the test.

use cladlog::day::{Book, DefectState};
use cladlog::handover::{Album, Document, NoOriginals, Outcome, PackOptions, Signer, elevation, pack};
use cladlog::moment::Moment;
use cladlog::record::{Entry, Store};

use super::story::Story;

fn book(story: &Story) -> Book {
    let store = Store::read(&story.path("job.db")).unwrap();
    let entries: Vec<Entry> = store.entries("shed").unwrap();
    Book::open(entries).unwrap()
}

/// Every table of a pack, and the words of its page, without what differs from one setting-up to the next: the device
/// and its hashes.
fn words(book: &Book, made_at: Moment) -> String {
    let signer = Signer::rehearsal();
    let options = PackOptions { originals: &NoOriginals, no_places: false, signer: &signer, pdf_a1b: false };
    let made = pack(book, made_at, &options, &mut |_, _, _| ()).unwrap();
    let mut words = String::new();
    for (path, blob) in &made.files {
        let text = || String::from_utf8(blob.read().unwrap().into_owned()).unwrap().replace("\r\n", "\n");
        match path.as_str() {
            table if table.ends_with(".csv") => words += &format!("== {path}\n{}\n", text()),
            "handover.html" => words += &format!("== {path}\n{}\n", without_tags(&text())),
            _ => {}
        }
    }
    without_hashes(&words).replace(&*book.entries[0].device, "device")
}

/// The text of a page, a line for each element.
fn without_tags(page: &str) -> String {
    let body = page.split_once("<body>").unwrap().1;
    let text = body.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text));
    text.filter(|text| !text.trim().is_empty()).collect::<Vec<_>>().join("\n")
}

/// With a mark for each SHA-256, be it written in one piece or in groups of eight.
fn without_hashes(text: &str) -> String {
    let is_hex = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
    let mut out = String::new();
    let mut run = String::new();
    for c in text.chars().chain(['\n']) {
        if is_hex(c) || (c == ' ' && run.len() % 9 == 8) {
            run.push(c);
            continue;
        }
        let digits = run.chars().filter(|c| is_hex(*c)).count();
        out += if digits == 64 { "(SHA-256)" } else { &run };
        run.clear();
        out.push(c);
    }
    out.pop();
    out
}

#[test]
fn the_pack_of_a_small_job_says_what_is_kept() {
    let story = Story::nearly_done();
    let made_at = Moment::parse_from_rfc3339("2026-03-02T20:00:00+13:00").unwrap();
    let found = words(&book(&story), made_at);
    let kept = crate::harness::root().join("tests/handover/pack.txt");
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        std::fs::write(&kept, &found).unwrap();
    }
    let expected = std::fs::read_to_string(&kept).unwrap_or_default();
    for (number, (found, expected)) in found.lines().zip(expected.lines()).enumerate() {
        assert_eq!(found, expected, "line {} of tests/handover/pack.txt", number + 1);
    }
    assert_eq!(found.lines().count(), expected.lines().count(), "UPDATE_SNAPSHOTS=1 writes it again");
}

#[test]
fn it_says_what_became_of_everything() {
    let story = Story::nearly_done();
    let book = book(&story);
    let album = Album::default();
    let document = Document::of(&book, book.state.last_recorded().unwrap(), &album, None);
    assert!(!document.is_complete() && document.is_rehearsal());
    // Only the last hold point and the handing over are left.
    let missing: Vec<&str> = document.missing.iter().map(|one| one.what.as_str()).collect();
    assert_eq!(missing, ["Hold point: Finished cladding accepted", "Papers and care advice handed over"]);
    let flat = document.steps.iter().filter(|step| step.done.step == "frame-flat" && step.done.subject == "N");
    let flat: Vec<_> = flat.map(|step| &step.answers[0]).collect();
    assert_eq!((flat[0].held, flat[1].held), (Some(false), Some(true)));
    let defect = document.defect_in_words(flat[0].defect.as_ref().unwrap());
    assert_eq!(defect.as_deref(), Some("defect 1, closed"));
    assert!(flat[0].ask.basis.as_ref().unwrap().to_string().contains("2 m straightedge"));
    assert_eq!(document.basis(flat[0].ask.basis.as_ref().unwrap()), Some(1));
    let states: Vec<DefectState> = document.defects().iter().map(|(_, one)| one.state).collect();
    assert_eq!(states, [DefectState::Conceded, DefectState::Closed]);
    assert_eq!((book.state.struck.len(), document.summary.late), (1, 1));
    let primer: Vec<_> = document.windows.iter().filter(|one| one.run.window.key == "primer-to-sealant").collect();
    assert_eq!((primer.len(), primer[0].outcome), (1, Outcome::Met));
    assert!(document.papers.iter().any(|paper| paper.held.is_none()));
    assert!(document.remarks.iter().any(|remark| remark.starts_with("The job lists no copy of")));
    // The elevation carries the numbers of the defects.
    let marks = [elevation::DefectMark { number: 2, subject: "N/O1".into(), open: false }];
    let wall = document.parts.iter().find_map(|part| part.wall).unwrap();
    assert!(elevation::elevation(wall, None, &marks).contains(">2</text>"));
}
