//! The pack of a job of 10,000 entries: making it, zipping it, checking it. `cargo bench --bench pack`, and with
//! `--no-default-features` the same without the PDF.
//!
//! Of 6 walls most entries are notes, of 60 walls most are steps, and the pack is twice as large.
//! `CLADLOG_BENCH_KEEP=FOLDER` leaves each record there as `record-WALLS.jsonl`: `cladlog --db FILE merge` makes a
//! database of it, which the program itself packs.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench stops where it can't go on")]

use std::sync::OnceLock;

use cladlog::day::Book;
use cladlog::handover::{Contents, Locations, NoOriginals, Pack, PackOptions, Signer, pack, verify, zip_into};
use cladlog::moment::Moment;

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../tests/harness/crew.rs"]
mod crew;

fn main() {
    divan::main();
}

/// A building of so many walls and 10,000 entries, and the time that they end; made once.
fn job(walls: usize) -> &'static (Book, Moment) {
    static SMALL: OnceLock<(Book, Moment)> = OnceLock::new();
    static LARGE: OnceLock<(Book, Moment)> = OnceLock::new();
    let made = if walls > 6 { &LARGE } else { &SMALL };
    made.get_or_init(|| {
        let mut crew = crew::Crew::start(&crew::job_text("bench", walls), "bench");
        crew.work_until(10_000);
        if let Some(folder) = std::env::var_os("CLADLOG_BENCH_KEEP") {
            let file = std::path::Path::new(&folder).join(format!("record-{walls}.jsonl"));
            std::fs::write(file, cladlog::record::jsonl(&crew.book.entries)).unwrap();
        }
        (crew.book, crew.now)
    })
}

fn packed(walls: usize) -> Pack {
    let (book, now) = job(walls);
    let signer = Signer::rehearsal();
    let options = PackOptions { originals: &NoOriginals, locations: Locations::Kept, signer: &signer, pdf_a1b: false };
    pack(book, *now, &options, &mut |_, _, _| ()).unwrap()
}

/// Gathering, pages, tables, drawings, with the feature the PDF, the manifest and its signature.
#[divan::bench(args = [6, 60], sample_count = 5, sample_size = 1)]
fn pack_of_10_000_entries(bencher: divan::Bencher, walls: usize) {
    job(walls);
    bencher.bench_local(|| packed(walls).files.len());
}

/// The zip of it, into nothing.
#[divan::bench(args = [6, 60], sample_count = 5, sample_size = 1)]
fn zip_of_10_000_entries(bencher: divan::Bencher, walls: usize) {
    let (made, now) = (packed(walls), job(walls).1);
    bencher.bench_local(|| zip_into("pack", &made.files, &now, std::io::sink()).unwrap());
}

/// Hashes, chain, signature, and everything written again from the record and compared.
#[divan::bench(args = [6, 60], sample_count = 5, sample_size = 1)]
fn verify_of_10_000_entries(bencher: divan::Bencher, walls: usize) {
    let files = packed(walls).files.into_iter().collect();
    let contents = Contents { files, ..Contents::default() };
    bencher.bench_local(|| assert_eq!(verify(&contents).failures, []));
}
