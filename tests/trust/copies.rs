//! Copies of one file that both go on: a copy begins a book of its own; where two have given the same numbers all the
//! same, both tails are kept, and it comes to the same whichever is merged into which.

use std::collections::{BTreeMap, BTreeSet};

use cladlog::day::{Book, State, next};
use cladlog::moment::Moment;
use cladlog::record::{
    AddNote, Answer, Body, CloseDay, Draft, Entry, NO_PREVIOUS, OpenDay, ReleaseHold, StepDone, Strike, TakeReading,
    crew, forks, in_order, jsonl, read_jsonl, unite,
};
use proptest::prelude::*;
use serde_json::Value;

use crate::harness::site::Site;
use crate::rules::site::JOB;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

fn begun() -> Site {
    let site = Site::folder(EIGHT, "tests/rules/small.toml").beside("job", "Lea");
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site.open_day(&["Lea", "Ivo"]);
    site
}

/// A copy of the file by hand, and who goes on with it.
fn copied(site: &Site, name: &str, by: &str) -> Site {
    std::fs::copy(site.path("job.db"), site.path(&format!("{name}.db"))).unwrap();
    site.beside(name, by)
}

/// A copy that takes itself for the file that it was copied from, as files of earlier programs did.
fn twin(site: &Site, name: &str, by: &str) -> Site {
    let path = site.path(&format!("{name}.db"));
    let twin = site.beside(name, by);
    twin.ok("job add job.toml");
    let query = "SELECT mark FROM home_line";
    let mark: String = rusqlite::Connection::open(&path).unwrap().query_row(query, [], |row| row.get(0)).unwrap();
    // Over the file that is there: its place stays the same.
    std::fs::write(&path, std::fs::read(site.path("job.db")).unwrap()).unwrap();
    rusqlite::Connection::open(&path).unwrap().execute("UPDATE home_line SET mark = ?1", [mark]).unwrap();
    twin
}

fn note(site: &Site, text: &str) -> Value {
    site.ok(["note", "--on", "N", "--text", text])["entries"][0].clone()
}

fn device(id: &Value) -> &str {
    id.as_str().unwrap().rsplit_once('-').unwrap().0
}

#[test]
fn a_copy_goes_on_in_a_book_of_its_own_and_the_file_itself_in_the_one_it_had() {
    let site = begun();
    let first = note(&site, "before");
    let (one, two) = (copied(&site, "one", "Lea"), copied(&site, "two", "Ivo"));
    std::fs::rename(site.path("job.db"), site.path("moved.db")).unwrap();
    let moved = site.beside("moved", "Lea");
    let (a, b, c) = (note(&one, "A"), note(&two, "B"), note(&moved, "C"));
    let (a, b, c) = (device(&a["id"]), device(&b["id"]), device(&c["id"]));
    assert_eq!(c, device(&first["id"]), "a file that is renamed is the same file");
    assert!(a != b && a != c && b != c, "{a} {b} {c}");
    assert!(crew(a) == crew(c) && crew(b) == crew(c));
    // It goes on in that one, and undoes what it recorded itself.
    assert_eq!(device(&note(&one, "again")["id"]), a);
    // Merged all ways: nothing is lost, all agree.
    for (into, from) in [(&one, "two.db"), (&moved, "one.db"), (&two, "moved.db"), (&one, "two.db"), (&moved, "two.db")]
    {
        let merged = into.ok(["merge", from]);
        assert!(merged.get("forks").is_none(), "{merged}");
    }
    assert_eq!(one.hashes().len(), 7);
    for site in [&two, &moved] {
        assert_eq!(site.hashes(), one.hashes());
        site.run("verify").exits(0);
    }
}

#[test]
fn a_copy_made_in_the_middle_of_a_day_closes_it() {
    let site = begun();
    let copy = copied(&site, "copy", "Lea");
    let closed = copy.ok(["day", "close", "--hours", "Lea=8", "--hours", "Ivo=8"]);
    assert_eq!(closed["closed"][0]["what"], "day");
    assert_eq!(copy.open_defects(), [] as [&str; 0]);
}

#[test]
fn a_backup_that_is_restored_gives_no_number_twice() {
    let site = begun();
    site.ok("backup backup.db");
    let lost = note(&site, "after the backup");
    site.ok("export sent.jsonl");
    site.ok("restore backup.db");
    let after = note(&site, "after the restore");
    assert_ne!(device(&after["id"]), device(&lost["id"]));
    let merged = site.ok("merge sent.jsonl");
    assert_eq!(merged["entries"][0]["hash"], lost["hash"]);
    assert!(merged.get("forks").is_none());
}

#[test]
fn files_that_forked_are_brought_together_and_lose_nothing() {
    let site = begun();
    let twin = twin(&site, "twin", "Ivo");
    site.clock("2026-03-02T08:05:00+13:00");
    let mine = note(&site, "mine");
    site.clock("2026-03-02T08:06:00+13:00");
    let other = note(&twin, "the twin's");
    assert_eq!(mine["id"], other["id"], "that is the trouble");
    let struck = twin.ok(["strike", other["id"].as_str().unwrap(), "--why", "typo"]);
    let (mine_alone, twin_alone) = (site.hashes(), twin.hashes());
    // Either way round.
    let merged = site.ok("merge twin.db");
    let fork = &merged["forks"][0];
    assert_eq!((device(&fork["after"]), &fork["entries"]), (device(&mine["id"]), &2.into()));
    let forked_device = fork["book"].as_str().unwrap().to_owned();
    assert!(forked_device.starts_with(&format!("{}~", device(&mine["id"]))));
    twin.ok("export twin.jsonl");
    let third = site.beside("third", "Lea");
    for file in ["twin.jsonl", "job.db"] {
        third.ok(["merge", file]);
    }
    site.ok("export both.jsonl");
    twin.ok("merge both.jsonl");
    for one in [&site, &twin, &third] {
        let log = one.log();
        let all: BTreeSet<&str> = log.iter().map(|entry| entry["hash"].as_str().unwrap()).collect();
        assert!(mine_alone.iter().chain(&twin_alone).all(|hash| all.contains(hash.as_str())));
        assert_eq!(log, site.log());
        let strike = log.iter().find(|entry| entry["hash"] == struck["entries"][0]["hash"]).unwrap();
        let typo = log.iter().find(|entry| entry["hash"] == other["hash"]).unwrap();
        assert_eq!(typo["struck_by"], strike["id"], "what the twin struck is the twin's");
        assert_eq!(device(&typo["id"]), forked_device);
        let kept = log.iter().find(|entry| entry["hash"] == mine["hash"]).unwrap();
        assert!(kept["id"] == mine["id"] && kept["struck_by"].is_null());
        // It is said, and holds.
        let verified = one.ok("verify");
        assert!(verified["notes"][0].as_str().unwrap().contains(&forked_device), "{verified}");
        assert!(one.shown("log").stdout.split_whitespace().collect::<String>().contains(&forked_device));
        // Whatever is left out of the list.
        for some in ["log --limit 1", "log --on E", "log --day 2026-03-02 --limit 1"] {
            assert!(one.shown(some).stdout.split_whitespace().collect::<String>().contains(&forked_device), "{some}");
        }
        assert_eq!(one.ok(["merge", "twin.jsonl"])["entries"], serde_json::json!([]));
        one.ok("rebuild");
        one.run("verify").exits(0);
    }
    // Which side this file was nobody knows: nothing of either is taken back unasked.
    for one in [&site, &twin] {
        let refused = one.refused("R17", "undo");
        assert!(refused["why"].as_str().unwrap().contains(fork["after"].as_str().unwrap()), "{refused}");
        assert!(refused["clears"].as_str().unwrap().contains("cladlog strike ENTRY"), "{refused}");
    }
    // A pack of it says so as well, and verifies.
    site.ok(["pack", "pack", "--interim"]);
    assert!(site.ok("verify pack")["notes"][0].as_str().unwrap().contains(&forked_device));
    assert!(site.read("pack/handover.html").contains(&forked_device));
    // Both go on, each in a book that no other goes on with.
    let (a, b) = (note(&site, "on"), note(&twin, "on"));
    assert!(device(&a["id"]) != device(&b["id"]) && !device(&a["id"]).contains('~'));
    // What it records from then on is its own.
    let undone = site.ok("undo")["entries"][0]["id"].clone();
    assert_eq!(device(&undone), device(&a["id"]));
    site.refused("R17", "undo");
    site.ok("merge twin.db");
    twin.ok("merge job.db");
    assert_eq!(site.hashes(), twin.hashes());
}

#[test]
fn a_file_that_was_filed_wrongly_is_found_out() {
    let site = begun();
    let twin = twin(&site, "twin", "Ivo");
    note(&site, "mine");
    note(&twin, "the twin's");
    site.ok("merge twin.db");
    let swap = "UPDATE entry SET device = device || '!' WHERE device LIKE '%~%'; \
                UPDATE entry SET device = (SELECT replace(device, '!', '') FROM entry WHERE device LIKE '%!') \
                WHERE seq = 3 AND device NOT LIKE '%!'; \
                UPDATE entry SET device = substr(device, 1, instr(device, '~') - 1) WHERE device LIKE '%!';";
    rusqlite::Connection::open(site.path("job.db")).unwrap().execute_batch(swap).unwrap();
    let verified = site.run("verify").exits(1).json();
    assert!(verified["failures"][0]["what"].as_str().unwrap().contains("filed in the wrong"), "{verified}");
}

/// A file in the model: its entries and the book that it writes.
#[derive(Clone)]
pub struct File {
    /// What it holds.
    pub entries: Vec<Entry>,
    device: String,
}

/// What the model did: files that recorded, were copied and merged, by chance.
pub struct Model {
    /// The files that there are.
    pub files: Vec<File>,
    /// Hash of every entry that was acknowledged.
    recorded: BTreeSet<String>,
    /// Which entry, by hash, each strike struck.
    struck: BTreeMap<String, String>,
    now: Moment,
    devices: usize,
}

impl Model {
    fn begun() -> Self {
        let text = std::fs::read_to_string(crate::harness::root().join("tests/rules/small.toml")).unwrap();
        let job = cladlog::building::read_job(JOB).unwrap();
        let set_up = cladlog::day::set_up(job, &cladlog::sequence::read(&text).unwrap()).unwrap();
        let now = Moment::parse_from_rfc3339(EIGHT).unwrap();
        let file = File { entries: Vec::new(), device: "device00".into() };
        let (recorded, struck) = Default::default();
        let mut model = Self { files: vec![file], recorded, struck, now, devices: 1 };
        model.write(0, Body::JobAdded(set_up));
        model
    }

    fn write(&mut self, file: usize, body: Body) -> String {
        let File { entries, device } = &mut self.files[file];
        let mut seen: BTreeMap<String, u64> = BTreeMap::new();
        for entry in entries.iter().filter(|entry| *entry.device != **device) {
            let last = seen.entry(entry.device.to_string()).or_default();
            *last = entry.seq.max(*last);
        }
        let last = entries.iter().filter(|entry| *entry.device == **device).max_by_key(|entry| entry.seq);
        let (seq, prev) = last.map_or((1, NO_PREVIOUS.to_owned()), |last| (last.seq + 1, last.hash.clone()));
        let (job, by, at) = ("test".to_owned(), "Lea".to_owned(), self.now);
        let draft = Draft { job, happened_at: at, recorded_at: at, by, body, rehearsal: true };
        let entry = Entry::finalize(draft, device.as_str(), seq, &prev, seen).unwrap();
        let hash = entry.hash.clone();
        self.recorded.insert(hash.clone());
        entries.push(entry);
        hash
    }

    /// Records one of the things of a day, whether the rules would let it pass or not: a record may say anything.
    fn record(&mut self, file: usize, what: u8, minutes: i64) {
        self.now += chrono::TimeDelta::minutes(minutes);
        let step = |step: &str, subject: &str, answers: &[(&str, f64)]| {
            let answers = answers.iter().map(|(key, value)| ((*key).to_owned(), Answer::Number(*value))).collect();
            let (step, subject) = (step.to_owned(), subject.to_owned());
            Body::StepDone(StepDone { step, subject, answers, began: None, anyway: None, stopped_by: Vec::new() })
        };
        let crew = vec!["Lea".to_owned(), "Ivo".to_owned()];
        let body = match what {
            0 => Body::DayOpened(OpenDay { crew, ..OpenDay::default() }),
            1 => Body::DayClosed(CloseDay { hours: BTreeMap::from([("Lea".to_owned(), 8.0)]), note: None }),
            2 => step("frame", "N", &[("flat", 9.0)]),
            3 => step("frame", "N", &[("flat", 1.0)]),
            4 => step("course", ["N/C1", "N/C2"][file % 2], &[]),
            5 => step("prime", "N/J1", &[]),
            6 => step("gun", "N/J1", &[]),
            7 => Body::HoldReleased(ReleaseHold {
                hold: "cover".into(),
                subject: "N".into(),
                person: "Ines".into(),
                how: "on site".into(),
                evidence: None,
            }),
            8 => Body::ReadingTaken(TakeReading {
                subject: "N".into(),
                surface_c: Some(12.0),
                rain: file.is_multiple_of(2),
                ..TakeReading::default()
            }),
            9 => return self.strike(file),
            _ => Body::Noted(AddNote { subject: "N".into(), text: format!("{} by {file}", self.recorded.len()) }),
        };
        self.write(file, body);
    }

    /// Strikes what the file's own book recorded last and is not struck, where it holds anything but the job.
    fn strike(&mut self, file: usize) {
        let File { entries, device } = &self.files[file];
        let left = |entry: &&Entry| {
            *entry.device == **device
                && !matches!(entry.body, Body::JobAdded(_) | Body::Struck(_))
                && !self.struck.values().any(|hash| *hash == entry.hash)
        };
        let last = entries.iter().filter(left).max_by_key(|entry| entry.seq);
        if let Some((entry, hash)) = last.map(|last| (last.id(), last.hash.clone())) {
            let strike = self.write(file, Body::Struck(Strike { entry, why: "x".into(), anyway: false }));
            self.struck.insert(strike, hash);
        }
    }

    /// What was done to which file: recorded, copied or merged.
    pub fn of(steps: Vec<(u8, prop::sample::Index, prop::sample::Index, i64)>) -> Self {
        let mut model = Self::begun();
        for (what, one, other, minutes) in steps {
            let (one, other) = (one.index(model.files.len()), other.index(model.files.len()));
            match what {
                0..=12 => model.record(one, what, minutes),
                13 | 14 if model.files.len() < 6 => {
                    let copy = model.files[one].clone();
                    model.files.push(copy);
                }
                _ if one != other => {
                    let theirs = model.files[other].entries.clone();
                    model.merge(one, &theirs);
                }
                _ => {}
            }
        }
        model
    }

    fn merge(&mut self, into: usize, theirs: &[Entry]) {
        let file = &mut self.files[into];
        if union(&mut file.entries, theirs) {
            file.device = format!("device{:02}", self.devices);
            self.devices += 1;
        }
    }
}

/// Brings in what another file holds, as it comes in an export; whether a book was seen to fork by it.
pub fn union(ours: &mut Vec<Entry>, theirs: &[Entry]) -> bool {
    let mut theirs = theirs.to_vec();
    in_order(&mut theirs);
    let united = unite(ours, read_jsonl(&jsonl(&theirs)).unwrap()).unwrap();
    let forked = !united.new.is_empty() && !united.forks.is_empty();
    match united.whole {
        Some(whole) => *ours = whole,
        None => ours.extend(united.new),
    }
    forked
}

/// All that a record comes to, in words.
fn come_to(state: &State, now: Moment) -> [String; 7] {
    [
        format!("{:#?}", state.defects),
        format!("{:#?}", state.days),
        format!("{:#?}", state.holds()),
        format!("{:#?}", state.struck),
        format!("{:#?}", state.all_readings().collect::<Vec<_>>()),
        format!("{:#?}", state.runs()),
        format!("{:#?}", next(state, now)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_histories_merge_in_any_order_to_the_same_and_lose_nothing(
        steps in proptest::collection::vec((0u8..20, any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0i64..3), 1..28),
        order in Just((0..8usize).collect::<Vec<_>>()).prop_shuffle(),
    ) {
        let model = Model::of(steps);
        let all = |order: &[usize]| {
            let mut all: Vec<Entry> = Vec::new();
            for file in order.iter().filter_map(|file| model.files.get(*file)) {
                union(&mut all, &file.entries);
            }
            // Again adds nothing.
            prop_assert!(!union(&mut all, &model.files[0].entries));
            Ok(all)
        };
        let (one, two) = (all(&[0, 1, 2, 3, 4, 5])?, all(&order)?);
        let hashes: BTreeSet<String> = one.iter().map(|entry| entry.hash.clone()).collect();
        prop_assert_eq!(&hashes, &model.recorded);
        let ids: BTreeSet<_> = one.iter().map(Entry::id).collect();
        prop_assert_eq!(ids.len(), one.len());
        prop_assert_eq!(forks(&one), forks(&two));
        // What a file struck is what stands struck.
        let by_hash: BTreeMap<&str, &Entry> = one.iter().map(|entry| (entry.hash.as_str(), entry)).collect();
        for (strike, struck) in &model.struck {
            let Body::Struck(body) = &by_hash[strike.as_str()].body else { panic!("no strike") };
            prop_assert_eq!(&body.entry, &by_hash[struck.as_str()].id());
        }
        let (one, two) = (Book::open(one).unwrap(), Book::open(two).unwrap());
        prop_assert_eq!(jsonl(&one.entries), jsonl(&two.entries));
        let ids = |book: &Book| book.entries.iter().map(|entry| entry.id().to_string()).collect::<Vec<_>>();
        prop_assert_eq!(ids(&one), ids(&two));
        prop_assert_eq!(one.state.read_tables(), two.state.read_tables());
        let (one, two) = (come_to(&one.state, model.now), come_to(&two.state, model.now));
        for (one, two) in one.iter().zip(&two) {
            prop_assert_eq!(one, two);
        }
    }
}
