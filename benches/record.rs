//! The record: appending, starting up, verifying. `cargo bench --no-default-features --bench record`.
//!
//! What is compared stands side by side: `recording` with a bare insert, `verify` with SHA-256 over the same bytes,
//! `next` on a job alone with the same job among a thousand. `CLADLOG_BENCH_JOBS` makes the large file smaller.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench stops where it can't go on")]

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use cladlog::day::{Book, Request, next};
use cladlog::journal::Journal;
use cladlog::moment::Moment;
use cladlog::record::{AddNote, Body, Draft, Entry, Store, StoreError, StoredJob, TakeReading};

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../tests/harness/crew.rs"]
mod crew;

fn main() {
    divan::main();
}

/// Files entries as a job's book, in one transaction.
fn file(store: &mut Store, entries: &[Entry]) {
    store
        .write(|writing| -> Result<(), StoreError> {
            let first = &entries[0];
            let (key, device) = (first.job.clone(), first.device.to_string());
            writing.list_job(&StoredJob { key: key.clone(), name: "bench".into(), device, rehearsal: true })?;
            entries.iter().try_for_each(|entry| writing.insert(entry))?;
            writing.replace_read_tables(&key, &Book::open(entries.to_vec()).unwrap().state.read_tables())
        })
        .unwrap();
}

fn built(walls: usize, entries: usize) -> (Book, Moment) {
    let mut crew = crew::Crew::start(&crew::job_text("bench", walls), "bench");
    crew.work_until(entries);
    (crew.book, crew.now)
}

/// The same entries as the book of another job.
fn copied(entries: &[Entry], number: usize) -> Vec<Entry> {
    let (job, device) = (format!("job{number}"), format!("device{number}"));
    let mut prev = cladlog::record::NO_PREVIOUS.to_owned();
    let seal = |entry: &Entry| {
        let mut body = entry.body.clone();
        if let Body::JobAdded(set_up) = &mut body {
            set_up.building.key.clone_from(&job);
        }
        let draft = Draft {
            job: job.clone(),
            happened_at: entry.happened_at,
            recorded_at: entry.recorded_at,
            by: entry.by.clone(),
            body,
            rehearsal: true,
        };
        let sealed = Entry::finalize(draft, device.as_str(), entry.seq, &prev, Default::default()).unwrap();
        prev.clone_from(&sealed.hash);
        sealed
    };
    entries.iter().map(seal).collect()
}

/// A file of many jobs of a thousand entries each, and one of ten thousand; made once.
fn large() -> &'static (tempfile::TempDir, PathBuf, Moment) {
    static MADE: std::sync::OnceLock<(tempfile::TempDir, PathBuf, Moment)> = std::sync::OnceLock::new();
    MADE.get_or_init(|| {
        let jobs = std::env::var("CLADLOG_BENCH_JOBS").ok().and_then(|text| text.parse().ok()).unwrap_or(990);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("large.db");
        let mut store = Store::create(&path).unwrap();
        let model = built(2, 1000).0.entries;
        for number in 0..jobs / 2 {
            file(&mut store, &copied(&model, number));
        }
        let (book, now) = built(6, 10_000);
        file(&mut store, &book.entries);
        for number in jobs / 2..jobs {
            file(&mut store, &copied(&model, number));
        }
        (folder, path, now)
    })
}

fn alone(walls: usize, entries: usize) -> (tempfile::TempDir, PathBuf, Moment) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("alone.db");
    let (book, now) = built(walls, entries);
    file(&mut Store::create(&path).unwrap(), &book.entries);
    (folder, path, now)
}

/// What `cladlog next` does, but for starting the process and printing.
fn next_of(path: &Path, now: Moment) -> usize {
    let store = Store::read(path).unwrap();
    let book = Book::open(store.entries("bench").unwrap()).unwrap();
    next(&book.state, now).len()
}

/// Opening the file, reading and checking 10,000 entries, replaying them, saying what is next: 6 walls and 60.
#[divan::bench(args = [6, 60], sample_count = 30, sample_size = 1)]
fn next_on_10_000_entries(bencher: divan::Bencher, walls: usize) {
    let (_folder, path, now) = alone(walls, 10_000);
    bencher.bench_local(|| next_of(&path, now));
}

/// The same job of 6 walls among a thousand jobs and a million entries.
#[divan::bench(sample_count = 30, sample_size = 1)]
fn next_on_10_000_entries_of_a_million(bencher: divan::Bencher) {
    let (_, path, now) = large();
    bencher.bench_local(|| next_of(path, *now));
}

#[divan::bench(sample_count = 30, sample_size = 1)]
fn log_first_page_of_a_million(bencher: divan::Bencher) {
    let (_, path, _) = large();
    bencher.bench_local(|| Store::read(path).unwrap().log("bench", Some(20)).unwrap().0.len());
}

/// Hashes, chains, places, pages and triggers of a million entries.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn verify_a_million(bencher: divan::Bencher) {
    let (_, path, _) = large();
    bencher.bench_local(|| {
        let (count, errors) = Store::read(path).unwrap().verify().unwrap();
        assert!(errors.is_empty());
        count
    });
}

/// SHA-256 over the same lines, from memory, one after the other.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn verify_a_million_sha256_alone(bencher: divan::Bencher) {
    let (_, path, _) = large();
    let connection = rusqlite::Connection::open(path).unwrap();
    let mut statement = connection.prepare("SELECT line, hash FROM entry").unwrap();
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
    let lines: Vec<(String, String)> = rows.collect::<Result<_, _>>().unwrap();
    bencher
        .bench_local(|| lines.iter().filter(|(line, hash)| cladlog::digest::is_sha256(line.as_bytes(), hash)).count());
}

/// One note after the other in one process, each decided, sealed, chained, committed and flushed: as many phones send
/// them at once.
#[divan::bench(args = ["disk", "memory"], sample_count = 300, sample_size = 1)]
fn recording_notes(bencher: divan::Bencher, on: &str) {
    recording(bencher, on, false, |_| AddNote {
        subject: "W1".into(),
        text: "walked the wall with the builder".into(),
    });
}

/// One reading after the other: what it opens and closes is found, and the tables that are read are brought along.
#[divan::bench(args = ["disk", "memory"], sample_count = 300, sample_size = 1)]
fn recording_readings(bencher: divan::Bencher, on: &str) {
    recording(bencher, on, false, reading);
}

/// The same with a pause after each, in which it is carried into the file: as in the walk. What is timed is what the lead
/// waits for.
#[divan::bench(args = ["disk", "memory"], sample_count = 300, sample_size = 1)]
fn recording_readings_with_pauses(bencher: divan::Bencher, on: &str) {
    recording(bencher, on, true, reading);
}

fn reading(number: u32) -> TakeReading {
    TakeReading {
        subject: "W1".into(),
        air_c: Some(12.0 + f64::from(number % 10)),
        humidity_pct: Some(60.0),
        surface_c: Some(14.0),
        wind_kmh: Some(10.0),
        ..TakeReading::default()
    }
}

fn recording<R: Request>(bencher: divan::Bencher, on: &str, pauses: bool, request: impl Fn(u32) -> R) {
    let folder = place(on);
    let path = folder.path().join("job.db");
    let (book, now) = built(6, 1000);
    let mut store = Store::create(&path).unwrap();
    file(&mut store, &book.entries);
    let job = store.jobs().unwrap().remove(0);
    drop(book);
    let journal = RefCell::new(Journal::open(store, job).unwrap());
    let pause = || {
        if pauses {
            journal.borrow_mut().carry().unwrap();
        }
    };
    let mut number = 0;
    bencher.with_inputs(pause).bench_local_values(|()| {
        number += 1;
        journal.borrow_mut().record(&request(number), "Lea", now, now).unwrap().entries.len()
    });
}

/// The same bytes inserted into a bare table with the same durability: write-ahead log, flushed at every commit.
#[divan::bench(args = ["disk", "memory"], sample_count = 300, sample_size = 1)]
fn recording_bare_insert(bencher: divan::Bencher, on: &str) {
    let folder = place(on);
    let connection = rusqlite::Connection::open(folder.path().join("bare.db")).unwrap();
    connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    connection.pragma_update(None, "synchronous", "FULL").unwrap();
    connection.execute_batch("CREATE TABLE bare (id INTEGER PRIMARY KEY, line TEXT, hash TEXT) STRICT").unwrap();
    let entry = built(6, 1000).0.entries.pop().unwrap();
    bencher.bench_local(|| {
        let mut statement = connection.prepare_cached("INSERT INTO bare (line, hash) VALUES (?1, ?2)").unwrap();
        statement.execute([&entry.line, &entry.hash]).unwrap()
    });
}

/// The disk that temporary files lie on, or memory: there a flush costs nothing, and only our own work is left.
fn place(on: &str) -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if on == "memory" && memory.is_dir() {
        return tempfile::tempdir_in(memory).unwrap();
    }
    tempfile::tempdir().unwrap()
}
