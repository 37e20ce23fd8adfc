//! The pack of a job of 10,000 entries: making it, zipping it, checking it. `cargo bench --bench pack`, and with
//! `--no-default-features` the same without the PDF.
//!
//! `CLADLOG_BENCH_KEEP=FOLDER` leaves the record there as `record.jsonl`, to be merged into a database and packed by the
//! program itself.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench stops where it can't go on")]

use std::sync::OnceLock;

use cladlog::day::Book;
use cladlog::handover::{Contents, Making, NoOriginals, Pack, Signer, pack, verify, zip_into};
use cladlog::moment::Moment;

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../tests/harness/crew.rs"]
mod crew;

fn main() {
    divan::main();
}

/// A building of 6 walls and 10,000 entries, and the evening of its last day; made once.
fn job() -> &'static (Book, Moment) {
    static MADE: OnceLock<(Book, Moment)> = OnceLock::new();
    MADE.get_or_init(|| {
        let mut crew = crew::Crew::start(&crew::job_text("bench", 6), "bench");
        crew.work_until(10_000);
        if let Some(folder) = std::env::var_os("CLADLOG_BENCH_KEEP") {
            let file = std::path::Path::new(&folder).join("record.jsonl");
            std::fs::write(file, cladlog::record::jsonl(&crew.book.entries)).unwrap();
        }
        (crew.book, crew.now)
    })
}

fn packed() -> Pack {
    let (book, now) = job();
    let making = Making { originals: &NoOriginals, no_places: false, signer: &Signer::rehearsal() };
    pack(book, *now, &making, &mut |_, _, _| ()).unwrap()
}

/// Gathering, pages, tables, drawings, with the feature the PDF, the manifest and its signature.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn pack_of_10_000_entries(bencher: divan::Bencher) {
    job();
    bencher.bench_local(|| packed().files.len());
}

/// The zip of it, into nothing.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn zip_of_10_000_entries(bencher: divan::Bencher) {
    let (made, now) = (packed(), job().1);
    bencher.bench_local(|| {
        let mut bytes = 0;
        let mut count = |given: &[u8]| {
            bytes += given.len();
            Ok(())
        };
        zip_into("pack", &made.files, &now, &mut count).unwrap();
        bytes
    });
}

/// Hashes, chain, signature, and everything written again from the record and compared.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn verify_of_10_000_entries(bencher: divan::Bencher) {
    let files = packed().files.into_iter().map(|(path, blob)| (path, blob.read().unwrap().into_owned())).collect();
    let contents = Contents { files, ..Contents::default() };
    bencher.bench_local(|| assert_eq!(verify(&contents).failures, []));
}
