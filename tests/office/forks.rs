//! Two copies of one file that both went on: refused and named until they are brought together, taken from then on.

use std::collections::BTreeSet;
use std::path::Path;

use cladlog::office::{OfficeError, jobs, push, record, verify};
use cladlog::record::{AddNote, Body, Draft, Entry, Store, jsonl, origin, read_jsonl};
use proptest::prelude::*;

use super::postgres::Office;
use super::{exported, office, office_as, pulled, small};
use crate::harness::site::Site;
use crate::trust::copies::{Model, union};

/// The entries, gone on with by so many of the first one's device.
fn gone_on(entries: &[Entry], text: &str, many: usize) -> Vec<Entry> {
    let mut all = entries.to_vec();
    for number in 1..=many {
        let last = &all[all.len() - 1];
        let text = format!("{text}, {number}");
        let draft = Draft {
            job: last.job.clone(),
            happened_at: last.happened_at,
            recorded_at: last.recorded_at,
            by: "Lea".to_owned(),
            body: Body::Noted(AddNote { subject: "N".to_owned(), text }),
            rehearsal: true,
        };
        all.push(Entry::finalize(draft, &*last.device, last.seq + 1, &last.hash, Default::default()).unwrap());
    }
    all
}

/// A file of a name that these records were merged into.
fn file(site: &Site, name: &str, records: &[&[Entry]]) -> Site {
    let file = site.beside(name, "Lea");
    for (place, entries) in records.iter().enumerate() {
        let from = format!("{name}-{place}.jsonl");
        site.file(&from, &jsonl(entries));
        file.ok(["merge", from.as_str()]);
    }
    file
}

#[test]
fn copies_are_refused_until_they_are_brought_together() {
    let site = small("one");
    let base = read_jsonl(&exported(&site)).unwrap();
    let (left, right) = (gone_on(&base, "on the left", 2), gone_on(&base, "on the right", 3));
    let device = base[0].device.to_string();
    // Whichever comes first.
    for (number, [one, other]) in [[&left, &right], [&right, &left]].into_iter().enumerate() {
        let Some(of) = Office::new() else { return };
        let (ana, bo) = (of.login("ana", "crew"), of.login("bo", "crew"));
        let first = file(&site, &format!("first{number}"), &[one.as_slice()]);
        office_as(&first, &of, &ana, &["push"]);
        let other_alone = file(&site, &format!("other{number}"), &[other.as_slice()]);
        let run = other_alone.run(["office", "--server", &of.url_of(&ana), "push"].as_slice()).exits(1);
        let refused = &run.json()["refused"];
        assert_eq!(refused["rule"], "R1");
        assert!(refused["what"].as_str().unwrap().contains(&format!("{device}-{}", base.len() + 1)), "{refused}");
        assert!(refused["clears"].as_str().unwrap().contains("merge the other one into this one"), "{refused}");
        assert_eq!(of.sql("SELECT count(*) FROM cladlog.entry"), one.len().to_string());
        // Brought together all of it is taken, once, and comes back as the file has it.
        let both = file(&site, &format!("both{number}"), &[other.as_slice(), one.as_slice()]);
        let tail = other.len() - base.len();
        let sent = office_as(&both, &of, &ana, &["push"]);
        assert_eq!(sent, serde_json::json!({ "sent": tail, "already": one.len(), "jobs": 1 }));
        assert_eq!(office_as(&both, &of, &ana, &["push"])["sent"], 0);
        assert_eq!(pulled(&site, &of, &ana, "one"), exported(&both));
        // Each copy goes on, though it has not heard of the other.
        for (name, copy) in [("first", one), ("other", other)] {
            let on = file(&site, &format!("{name}-on{number}"), &[&gone_on(copy, "later", 1)]);
            assert_eq!(office_as(&on, &of, &ana, &["push"])["sent"], 1, "{name}");
            assert_eq!(office_as(&on, &of, &ana, &["push"])["sent"], 0, "{name}");
        }
        // Another crew that has all of it adds nothing to it: the books are Ana's.
        let third = gone_on(&one[..one.len() - 1], "a third way", 1);
        let all = file(&site, &format!("all{number}"), &[other.as_slice(), one.as_slice(), &third]);
        let sent = office_as(&all, &of, &bo, &["push"]);
        assert_eq!((&sent["sent"], &sent["left_to_others"]), (&0.into(), &1.into()));
        assert_eq!(office_as(&all, &of, &ana, &["push"])["sent"], 1);
        assert_eq!(office(&site, &of, &["verify"])["ok"], true);
        // The worker and whoever does without it see the same.
        let board = || office(&site, &of, &["board"]);
        let without = board();
        assert_eq!(without["jobs"].as_array().map(Vec::len), Some(1), "{without}");
        office(&site, &of, &["work", "--once"]);
        assert_eq!(board(), without);
    }
}

/// What the program would have checked: a tail by itself is none.
#[test]
fn a_tail_begins_only_beside_an_entry_of_the_same_number() {
    let Some(of) = Office::new() else { return };
    let site = small("one");
    let (ana, bo) = (of.login("ana", "crew"), of.login("bo", "crew"));
    office_as(&site, &of, &ana, &["push"]);
    let base = read_jsonl(&exported(&site)).unwrap();
    let device = &*base[0].device;
    let send = |login: &str, book: &str, entry: &Entry| {
        let Entry { line, hash, .. } = entry;
        let (book, line) = (format!("ARRAY['{book}']"), format!("ARRAY[$line${line}$line$]"));
        of.try_as(login, &format!("SELECT cladlog.add('one', '{device}', {book}, {line}, ARRAY['{hash}'])"))
    };
    let named = |entry: &Entry| format!("{device}~{}", &entry.hash[..12]);
    let beside = gone_on(&base[..base.len() - 1], "beside the last", 1).pop().unwrap();
    let after = gone_on(&base, "after the last", 1).pop().unwrap();
    for (login, book, entry, says) in [
        (&ana, named(&after), &after, "entries are missing before it"),
        (&ana, named(&after), &beside, "entries are missing before it"),
        (&bo, named(&beside), &beside, "another login began this book"),
        (&ana, device.to_owned(), &beside, "the office has another entry of this number"),
        (&ana, "elsewhere".to_owned(), &after, "a book of another device"),
        (&ana, format!("{device}~x"), &beside, "book_device_check"),
    ] {
        let said = send(login, &book, entry).unwrap_err();
        assert!(said.contains(says), "{book}: {said}");
    }
    assert_eq!(send(&ana, &named(&beside), &beside).as_deref(), Ok("1"));
    assert_eq!(send(&ana, &named(&beside), &beside).as_deref(), Ok("0"));
}

/// A file that holds these entries.
fn store(folder: &Path, number: usize, entries: &[Entry]) -> Store {
    let mut store = Store::create(&folder.join(format!("{number}.db"))).unwrap();
    let (entries, last) = (entries.to_vec(), entries.iter().map(|entry| entry.recorded_at).max().unwrap());
    store.write(|writing| cladlog::journal::merge(writing, entries, "own", last).map(|_| ())).unwrap();
    store
}

/// Whether a file would begin a tail beside entries of the office that it does not have: by the lines alone.
fn knows_not(there: &[Entry], file: &[Entry]) -> bool {
    let hashes = |entries: &[Entry]| entries.iter().map(|entry| entry.hash.clone()).collect::<BTreeSet<_>>();
    let (known, held) = (hashes(there), hashes(file));
    file.iter().filter(|entry| !known.contains(&entry.hash)).any(|entry| {
        let beside = |other: &&Entry| {
            (origin(&other.device), other.seq, &other.prev) == (origin(&entry.device), entry.seq, &entry.prev)
        };
        let beside: Vec<&Entry> = there.iter().filter(beside).collect();
        !beside.is_empty() && !beside.iter().any(|other| held.contains(&other.hash))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { max_shrink_iters: 40, ..ProptestConfig::with_cases(16) })]

    /// Files that recorded, were copied and merged, sent in any order: each is taken whole or refused whole, as the lines
    /// alone say it, and what the office holds is at every moment what bringing them together comes to.
    #[test]
    fn any_histories_are_taken_in_any_order_and_come_back(
        steps in proptest::collection::vec((0u8..20, any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0i64..3), 1..28),
        order in proptest::collection::vec(any::<prop::sample::Index>(), 1..8),
    ) {
        static OFFICE: std::sync::LazyLock<Option<Office>> = std::sync::LazyLock::new(Office::new);
        let Some(of) = OFFICE.as_ref() else { return Ok(()) };
        let (model, folder) = (Model::of(steps), tempfile::tempdir().unwrap());
        let (mut server, mut there) = (of.server(), Vec::new());
        of.sql("SELECT cladlog.delete_job(key) FROM cladlog.job");
        let mut all: Vec<Entry> = Vec::new();
        for file in &model.files {
            union(&mut all, &file.entries);
        }
        let files = order.iter().map(|file| &model.files[file.index(model.files.len())].entries).chain([&all]);
        for (number, file) in files.enumerate() {
            let store = store(folder.path(), number, file);
            let job = store.jobs().unwrap().remove(0);
            let refused = knows_not(&there, file);
            match push(&mut server, &store, &job) {
                Ok(pushed) => {
                    prop_assert!(!refused);
                    prop_assert_eq!(pushed.sent + pushed.already, file.len() as u64);
                    union(&mut there, file);
                    prop_assert_eq!(push(&mut server, &store, &job).unwrap().sent, 0);
                }
                Err(OfficeError::Refused { what, .. }) => prop_assert!(refused, "{}", what),
                Err(error) => panic!("{error}"),
            }
            for job in jobs(&mut server, None).unwrap() {
                cladlog::record::in_order(&mut there);
                prop_assert_eq!(jsonl(&record(&mut server, &job).unwrap()), jsonl(&there));
                prop_assert_eq!(verify(&mut server, &job).unwrap().failures, Vec::new());
            }
        }
        prop_assert_eq!(there.len(), all.len());
    }
}
