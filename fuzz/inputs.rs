//! What is fed with anything at all: one function for each way into the program. libFuzzer calls them from
//! `fuzz_targets/`, and `tests/trust/mutate.rs` calls them on every run of the tests, with mutations of real files.
//!
//! None may panic, run away or use memory out of all proportion; what comes back is a value or a message.

use cladlog::building::read_job;
use cladlog::day::{Book, next};
use cladlog::form::{Columns, Row, read_rows, read_typed_rows};
use cladlog::handover::{Contents, unzip, verify};
use cladlog::record::{Entry, read_jsonl};

fn text(data: &[u8]) -> Option<&str> {
    std::str::from_utf8(data).ok()
}

/// An install sequence.
pub fn sequence(data: &[u8]) {
    if let Some(text) = text(data)
        && let Err(mistakes) = cladlog::sequence::read(text)
    {
        assert!(mistakes.iter().all(|mistake| !mistake.in_file("f").is_empty()));
    }
}

/// A job file.
pub fn job(data: &[u8]) {
    if let Some(text) = text(data)
        && let Ok(job) = read_job(text)
        && job.walls.iter().map(|wall| wall.courses as usize + wall.joints.len()).sum::<usize>() < 10_000
    {
        let subjects = job.subjects();
        assert_eq!(subjects.index("job"), Some(cladlog::building::Subjects::JOB));
    }
}

/// A list of subjects as typed, on the job of `job.toml`.
pub fn subject(data: &[u8]) {
    static JOB: std::sync::LazyLock<Option<cladlog::building::Subjects>> =
        std::sync::LazyLock::new(|| read_job(include_str!("../demo-db/job.toml")).ok().map(|job| job.subjects()));
    if let (Some(text), Some(subjects)) = (text(data), JOB.as_ref())
        && let Ok(found) = subjects.parse(text)
    {
        assert!(!found.is_empty());
    }
}

/// A day to plan the sealing of.
pub fn sealing(data: &[u8]) {
    if let Some(text) = text(data) {
        let _ = cladlog::sealing::plan::read_toml(text);
    }
}

/// A photo: what the camera wrote, and a copy without the place.
pub fn photo(data: &[u8]) {
    if cladlog::photos::look(data, chrono_tz::Pacific::Auckland).is_ok() {
        let _ = cladlog::photos::small(data, cladlog::photos::SMALL_PX);
    }
    if let Some(copy) = cladlog::photos::stripped(data) {
        assert_eq!(cladlog::photos::camera(&copy).place, None);
    }
}

/// A table of readings.
pub fn table(data: &[u8]) {
    let columns = Columns { required: &["stud_mm", "height_mm", "reading_mm"], optional: &["count"] };
    let Some(text) = text(data) else { return };
    let read = |row: &Row<'_>| Ok((row.number_or_blank("reading_mm")?, row.count("count")?));
    if let Err(mistakes) = read_rows("f.csv", text, &columns, read) {
        assert!(!mistakes.is_empty());
    }
    let _ = read_typed_rows(&[text.to_owned()], &columns, read);
}

/// A record that comes from another machine, and what the rules make of it.
pub fn record(data: &[u8]) {
    let Some(text) = text(data) else { return };
    let Ok(entries) = read_jsonl(text) else { return };
    replayed(entries);
}

/// A record whose every line is sealed again, so that what it says is not stopped by its hashes.
pub fn sealed(data: &[u8]) {
    let Some(text) = text(data) else { return };
    if let Ok(entries) = read_jsonl(&seal_again(text)) {
        replayed(entries);
    }
}

fn replayed(entries: Vec<Entry>) {
    for entry in &entries {
        let _ = entry.body.in_words();
    }
    if let Ok(book) = Book::open(entries)
        && book.state.subjects.all().len() < 10_000
        && let Some(now) = book.latest()
    {
        let _ = next(&book.state, now);
        let _ = book.state.read_tables();
        let _ = book.state.runs();
    }
}

/// Gives each line that is an object the hashes that its text asks for.
pub fn seal_again(text: &str) -> String {
    let mut heads: std::collections::BTreeMap<String, String> = std::collections::BTreeMap::new();
    let mut sealed = String::new();
    for line in text.lines() {
        let Ok(serde_json::Value::Object(mut whole)) = serde_json::from_str(line) else { continue };
        whole.remove("hash");
        let device = whole.get("device").and_then(|device| device.as_str()).unwrap_or_default().to_owned();
        let prev = heads.get(&device).cloned().unwrap_or_else(|| "0".repeat(64));
        whole.insert("prev".into(), prev.into());
        let Ok(bare) = serde_json_canonicalizer::to_string(&whole) else { continue };
        let hash = cladlog::digest::sha256_hex(bare.as_bytes());
        whole.insert("hash".into(), hash.clone().into());
        heads.insert(device, hash);
        sealed.push_str(&serde_json_canonicalizer::to_string(&whole).unwrap_or_default());
        sealed.push('\n');
    }
    sealed
}

/// A zipped pack.
pub fn pack(data: &[u8]) {
    if let Ok((_, contents)) = unzip(data) {
        let _ = verify(&contents);
    }
}

/// The files of a pack: the manifest, then the record, parted by a line of dashes.
pub fn files(data: &[u8]) {
    let Some((manifest, record)) = text(data).and_then(|text| text.split_once("\n----\n")) else { return };
    let mut contents = Contents::default();
    contents.files.insert("manifest.json".into(), manifest.as_bytes().to_vec().into());
    contents.files.insert("record.jsonl".into(), record.as_bytes().to_vec().into());
    let _ = verify(&contents);
}

/// A time as typed.
pub fn time(data: &[u8]) {
    let Some(text) = text(data) else { return };
    for (day, zone) in
        [("2026-04-05", "Pacific/Auckland"), ("2026-03-29", "Europe/London"), ("2026-11-01", "America/St_Johns")]
    {
        let (Ok(day), Ok(zone)) = (day.parse(), zone.parse()) else { continue };
        if let Ok(moment) = cladlog::moment::parse(text, day, zone) {
            let again = moment.to_string();
            assert_eq!(cladlog::moment::parse(&again, day, zone), Ok(moment));
        }
    }
}

/// A number as typed.
pub fn number(data: &[u8]) {
    let Some(text) = text(data) else { return };
    if let Ok(value) = cladlog::units::parse_decimal(text) {
        assert!(value.is_finite());
        let shown = cladlog::units::number::show(value);
        assert!(cladlog::units::parse_decimal(&shown).is_ok(), "{text} is shown as {shown}");
    }
    let _ = cladlog::units::parse_count(text);
}

/// A form as a phone sends it: what it asks for does not hang on the session that it comes from.
pub fn form(data: &[u8]) {
    let paths = cladlog::serve::paths_of_form(data);
    if data.iter().filter(|byte| **byte == b'&').count() < 300 {
        let sent = [data, b"&token=t&request_id=r"].concat();
        assert_eq!(cladlog::serve::paths_of_form(&sent), paths);
    }
}
