//! Forged books, two at once, a server that dies: nothing is lost, nothing is there twice, and what is wrong is named.

use cladlog::office::{OfficeError, Server, migrate, push};
use cladlog::record::Store;

use super::postgres::{Cluster, Office};
use super::{exported, office, pulled, small};
use crate::harness::crew::{Crew, job_text};

#[test]
fn a_book_that_was_written_otherwise_since_is_refused_and_named() {
    let Some(of) = Office::new() else { return };
    let site = small("one");
    office(&site, &of, &["push"]);
    // The same book from its second entry on, written again: every hash and every chain in it holds.
    let text = exported(&site);
    let (first, _) = text.split_once('\n').unwrap();
    let first = cladlog::record::Entry::from_jsonl(first).unwrap();
    let forged = site.beside("forged", "Lea");
    let note = cladlog::record::Body::Noted(
        serde_json::from_value(serde_json::json!({ "subject": "N", "text": "forged" })).unwrap(),
    );
    let draft = cladlog::record::Draft {
        job: first.job.clone(),
        happened_at: first.happened_at,
        recorded_at: first.recorded_at,
        by: "Lea".to_owned(),
        body: note,
        rehearsal: true,
    };
    let second = cladlog::record::Entry::finalize(draft, &*first.device, 2, &first.hash, Default::default()).unwrap();
    site.file("forged.jsonl", &cladlog::record::jsonl(&[first.clone(), second]));
    forged.ok("merge forged.jsonl");
    let url = of.url();
    let run = forged.run(["office", "--server", &url, "push"].as_slice()).exits(1);
    let refused = &run.json()["refused"];
    assert_eq!(refused["rule"], "R1");
    assert!(refused["what"].as_str().unwrap().contains(&format!("{}-2", first.device)), "{refused}");
    assert_eq!(pulled(&site, &of, "postgres", "one"), text);
}

#[test]
fn another_job_of_the_same_key_is_refused() {
    let Some(of) = Office::new() else { return };
    let (one, other) = (small("one"), small("one"));
    office(&one, &of, &["push"]);
    let run = other.run(["office", "--server", &of.url(), "push"].as_slice()).exits(1);
    let refused = &run.json()["refused"];
    assert!(refused["why"].as_str().unwrap().contains("another job with the same key"), "{refused}");
    assert_eq!(pulled(&one, &of, "postgres", "one"), exported(&one));
}

#[test]
fn tampering_on_the_server_is_found() {
    let Some(of) = Office::new() else { return };
    let site = small("one");
    for note in 1..=5 {
        site.ok(["note", "--on", "N", "--text", &format!("note {note}")]);
    }
    let entries = site.log().len() as u64;
    office(&site, &of, &["push"]);
    let url = of.url();
    let verify = || {
        let run = site.run(["office", "--server", &url, "verify"].as_slice()).exits(1).json();
        assert_eq!(run["ok"], false);
        run["failures"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| format!("{} {}", one["entry"], one["what"]))
            .collect::<String>()
    };
    let free = "ALTER TABLE cladlog.entry DISABLE TRIGGER USER; ALTER TABLE cladlog.entry DROP CONSTRAINT IF EXISTS entry_check;";
    of.sql(&format!("{free} UPDATE cladlog.entry SET line = replace(line, 'note 2', 'note 7')"));
    assert!(verify().contains("it was changed after it was recorded"));
    // With the hash made to fit as well, the chain is broken.
    of.sql("UPDATE cladlog.entry SET hash = sha256(convert_to(line, 'UTF8'))");
    assert!(verify().contains("does not follow from the entry before it"));
    of.sql("UPDATE cladlog.entry SET line = replace(line, 'note 7', 'note 2')");
    of.sql("UPDATE cladlog.entry SET hash = sha256(convert_to(line, 'UTF8'))");
    assert_eq!(office(&site, &of, &["verify"])["checked"]["entries"], entries);
    // The end cut off: the rest is a whole chain.
    of.sql(&format!("DELETE FROM cladlog.entry WHERE seq = {entries}"));
    assert!(verify().contains("the end is missing"));
    // One cut out of the middle.
    of.sql("DELETE FROM cladlog.entry WHERE seq = 3");
    assert!(verify().contains("entries are missing between them"));
    let said = site.run(["office", "--server", &url, "pull", "--job", "one", "x.jsonl"].as_slice()).exits(3).stderr;
    assert!(said.contains("office verify"), "{said}");
    assert!(!site.path("x.jsonl").exists());
}

/// A record of a few thousand entries, and the file that holds it.
pub(super) fn large(key: &str, device: &str, entries: usize, folder: &std::path::Path) -> std::path::PathBuf {
    let mut crew = Crew::start(&job_text(key, 2), device);
    crew.work_until(entries);
    let path = folder.join(format!("{key}.db"));
    let mut store = Store::create(&path).unwrap();
    let entries = crew.book.entries.clone();
    store.write(|writing| cladlog::journal::merge(writing, entries, device, crew.now).map(|_| ())).unwrap();
    path
}

fn push_all(url: &str, path: &std::path::Path) -> Result<u64, OfficeError> {
    let store = Store::read(path).unwrap();
    let mut server = Server::connect(url)?.made()?;
    let mut sent = 0;
    for job in store.jobs().unwrap() {
        sent += push(&mut server, &store, &job)?.sent;
    }
    Ok(sent)
}

#[test]
fn fifty_push_at_once_and_each_entry_is_there_once() {
    let Some(of) = Office::new() else { return };
    let folder = tempfile::tempdir().unwrap();
    // Ten crews, each with five machines that send the same file at the same time.
    let files: Vec<_> =
        (0..10).map(|crew| large(&format!("job{crew}"), &format!("crew{crew}"), 60, folder.path())).collect();
    let entries: u64 = files.iter().map(|file| Store::read(file).unwrap().verify().unwrap().0).sum();
    let url = of.url();
    let sent: u64 = std::thread::scope(|scope| {
        let pushers: Vec<_> = files
            .iter()
            .flat_map(|file| std::iter::repeat_n(file, 5))
            .map(|file| scope.spawn(|| push_all(&url, file).unwrap()))
            .collect();
        pushers.into_iter().map(|one| one.join().unwrap()).sum()
    });
    assert_eq!(sent, entries);
    assert_eq!(of.sql("SELECT count(*) FROM cladlog.entry"), entries.to_string());
    assert_eq!(of.sql("SELECT sum(entries) FROM cladlog.job"), entries.to_string());
}

/// CLADLOG_CRASHES says how often.
#[test]
fn a_server_that_dies_in_the_middle_loses_nothing_that_it_said_it_has() {
    if Office::empty().is_none() {
        return;
    }
    let mut cluster = Cluster::start().unwrap();
    let url = cluster.url("postgres", "postgres");
    migrate(&mut Server::connect(&url).unwrap()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = large("long", "crew", 400, folder.path());
    let entries = Store::read(&file).unwrap().verify().unwrap().0;
    let count = |url: &str| -> i64 {
        let mut client = postgres::Client::connect(url, postgres::NoTls).unwrap();
        client.query_one("SELECT coalesce(sum(entries), 0)::bigint FROM cladlog.job", &[]).unwrap().get(0)
    };
    let mut before = 0;
    let crashes: u32 = std::env::var("CLADLOG_CRASHES").map_or(5, |number| number.parse().unwrap());
    for _ in 0..crashes {
        // The server is stopped while the push is under way, wherever that is.
        let pushed = std::thread::scope(|scope| {
            let pusher = scope.spawn(|| push_all(&url, &file));
            cluster.crash();
            pusher.join().unwrap()
        });
        let there = count(&url);
        assert!(there >= before && (there == 0 || there == entries as i64), "{there} of {entries}");
        if pushed.is_ok() {
            assert_eq!(there, entries as i64);
        }
        before = there;
    }
    push_all(&url, &file).unwrap();
    assert_eq!(count(&url), entries as i64);
    assert_eq!(push_all(&url, &file).unwrap(), 0);
}
