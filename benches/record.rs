//! The record: appending, starting up, verifying. `cargo bench --no-default-features --bench record`.

use cladlog::day::{Book, next};
use cladlog::record::{Store, StoredJob};

#[allow(dead_code, reason = "the tests use more of it")]
#[path = "../tests/harness/crew.rs"]
mod crew;

fn main() {
    divan::main();
}

fn stored(entries: &[cladlog::record::Entry]) -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(&folder.path().join("bench.db")).unwrap();
    file(&mut store, entries);
    (folder, store)
}

fn file(store: &mut Store, entries: &[cladlog::record::Entry]) {
    store
        .write(|writing| -> Result<(), cladlog::record::StoreFault> {
            let first = &entries[0];
            writing.list_job(&StoredJob {
                key: first.job.clone(),
                name: "bench".into(),
                device: first.device.clone(),
                rehearsal: true,
            })?;
            for entry in entries {
                writing.insert(entry)?;
            }
            Ok(())
        })
        .unwrap();
}

fn built(walls: usize, entries: usize) -> Book {
    let mut crew = crew::Crew::start(&crew::job_text("bench", walls), "bench");
    crew.work_until(entries);
    let open = crew.book.state.open_defects().count();
    assert!(open < 200, "{open} defects");
    crew.book
}

#[divan::bench(args = [6, 60], sample_count = 20)]
fn entries_10_000(bencher: divan::Bencher, walls: usize) {
    let book = built(walls, 10_000);
    let (_folder, store) = stored(&book.entries);
    bencher.bench_local(|| store.entries("bench").unwrap().len());
}

#[divan::bench(args = [6, 60], sample_count = 20)]
fn replay_10_000(bencher: divan::Bencher, walls: usize) {
    let book = built(walls, 10_000);
    bencher.bench_local(|| cladlog::day::replay(&book.entries, None).unwrap().defects.len());
}

#[divan::bench(args = [6, 60], sample_count = 20)]
fn next_10_000(bencher: divan::Bencher, walls: usize) {
    let crew = {
        let mut crew = crew::Crew::start(&crew::job_text("bench", walls), "bench");
        crew.work_until(10_000);
        crew
    };
    bencher.bench_local(|| next(&crew.book.state, crew.now).len());
}

#[divan::bench(args = [6, 60], sample_count = 20)]
fn subjects(bencher: divan::Bencher, walls: usize) {
    let job = cladlog::building::read_job(&crew::job_text("bench", walls)).unwrap();
    bencher.bench_local(|| job.subjects().len());
}

#[divan::bench(sample_count = 20)]
fn open_one(bencher: divan::Bencher) {
    let book = built(6, 3_000);
    let entries: Vec<_> = book.entries[1..].to_vec();
    bencher.counter(divan::counter::ItemsCount::new(entries.len())).bench_local(|| {
        entries.iter().map(|e| cladlog::record::Entry::open(e.line.clone(), &e.hash).unwrap().seq).sum::<u64>()
    });
}

#[divan::bench(sample_count = 20)]
fn sha_one(bencher: divan::Bencher) {
    let book = built(6, 3_000);
    let entries: Vec<_> = book.entries[1..].to_vec();
    bencher
        .counter(divan::counter::ItemsCount::new(entries.len()))
        .bench_local(|| entries.iter().filter(|e| cladlog::digest::is_sha256(e.line.as_bytes(), &e.hash)).count());
}

#[divan::bench(sample_count = 20)]
fn times_one(bencher: divan::Bencher) {
    let book = built(6, 3_000);
    let entries: Vec<String> = book.entries[1..].iter().map(|e| cladlog::moment::rfc3339(&e.happened_at)).collect();
    bencher
        .counter(divan::counter::ItemsCount::new(entries.len()))
        .bench_local(|| entries.iter().filter(|e| cladlog::moment::Moment::parse_from_rfc3339(e).is_ok()).count());
}
