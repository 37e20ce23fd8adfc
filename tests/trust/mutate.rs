//! The short form of the fuzzing: every way into the program fed with mutations of real files. `fuzz/` is the long one.

#[path = "../../fuzz/inputs.rs"]
pub mod inputs;

use super::{Chance, rounds};
use crate::harness::{pictures, root};

/// What turns a reader's head.
const TOKENS: &[&str] = &[
    "",
    "\u{0}",
    "\u{1b}[31m",
    "\u{202e}",
    "[[",
    "]]",
    "\"",
    "\"\"\"",
    "{",
    "}",
    "\n",
    "\r\n",
    ",",
    "=",
    "..",
    "-",
    "+",
    "e",
    "nan",
    "inf",
    "-0",
    "1e999",
    "99999999999999999999",
    "0.1",
    "4294967296",
    "-1",
    "null",
    "true",
    "2026-02-30",
    "24:60",
    "T",
    "Z",
    "+99:99",
    "job",
    "N/J1..4000000000",
    "\u{feff}",
    "\u{10ffff}",
];

fn mutated(seed: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut data = seed.to_vec();
    for _ in 0..=chance.below(4) {
        let at = chance.below(data.len() as u64 + 1) as usize;
        let end = (at + chance.below(24) as usize).min(data.len());
        match chance.below(6) {
            0 if at < data.len() => data[at] ^= 1 << chance.below(8),
            1 => drop(data.drain(at..end)),
            2 => {
                let part = data[at..end].to_vec();
                data.splice(at..at, part);
            }
            3 => data.truncate(at),
            _ => {
                let token = TOKENS[chance.below(TOKENS.len() as u64) as usize];
                data.splice(at..end.min(at + token.len()), token.bytes());
            }
        }
    }
    data
}

/// `CLADLOG_MUTATIONS=100000` is the long form.
fn try_all(seeds: &[Vec<u8>], short: usize, feed: fn(&[u8])) {
    let mut chance = Chance(3);
    for seed in seeds {
        feed(seed);
    }
    for _ in 0..rounds("CLADLOG_MUTATIONS", short) {
        let seed = &seeds[chance.below(seeds.len() as u64) as usize];
        feed(&mutated(seed, &mut chance));
    }
}

fn files(names: &[&str]) -> Vec<Vec<u8>> {
    names.iter().map(|name| std::fs::read(root().join(name)).unwrap()).collect()
}

fn words(words: &[&str]) -> Vec<Vec<u8>> {
    words.iter().map(|word| word.as_bytes().to_vec()).collect()
}

/// The record of a small job, as an export.
fn export() -> String {
    let store = cladlog::record::Store::read(&root().join("tests/trust/fixtures/schema-1.db")).unwrap();
    cladlog::record::jsonl(&store.entries("test").unwrap())
}

#[test]
fn any_sequence_file_is_read_or_its_mistakes_are_told() {
    try_all(&files(&["tests/rules/small.toml", "checklists/panels-on-clips.toml"]), 60, inputs::sequence);
}

#[test]
fn any_job_file_is_read_or_its_mistakes_are_told() {
    try_all(&files(&["demo-db/job.toml"]), 100, inputs::job);
}

#[test]
fn any_day_to_plan_is_read_or_its_mistakes_are_told() {
    try_all(&files(&["tests/sealplan/fixtures/days/fair-05-0.toml", "tests/weather/seal.toml"]), 200, inputs::sealing);
}

#[test]
fn any_list_of_subjects_is_found_or_refused() {
    try_all(&words(&["N", "N/J1,N/J4", "N/J1..6", "NE,E/O1", "job"]), 1000, inputs::subject);
}

#[test]
fn any_photo_is_looked_over_or_refused_and_its_copy_has_no_place() {
    let notes = pictures::Notes { place: Some((-43.5, 172.6)), looking: Some(12.5), ..pictures::Notes::default() };
    let mut seeds = vec![pictures::photo(90, Some(&notes)), pictures::photo(30, None)];
    let dots = image::RgbImage::from_fn(24, 16, |x, y| image::Rgb([x as u8 * 9, y as u8 * 9, 40]));
    for format in [image::ImageFormat::Png, image::ImageFormat::WebP] {
        seeds.push(pictures::encoded(&dots, format));
    }
    try_all(&seeds, 100, inputs::photo);
}

#[test]
fn any_table_is_read_or_its_mistake_is_told() {
    try_all(&files(&["demo-db/north-frame.csv"]), 400, inputs::table);
}

#[test]
fn any_record_is_replayed_or_refused() {
    let seed = vec![export().into_bytes()];
    try_all(&seed, 40, inputs::record);
    // Sealed again after the mutation: what the lines say reaches the rules.
    try_all(&seed, 80, inputs::sealed);
}

#[test]
fn any_pack_is_verified_or_its_failures_are_told() {
    let file = |name: &str, text: String| (name.to_owned(), text.into_bytes().into());
    let manifest = "{\"files\": [{\"path\": \"record.jsonl\", \"sha256\": \"00\", \"bytes\": 1}]}".to_owned();
    let both = format!("{manifest}\n----\n{}", export());
    try_all(&[both.into_bytes()], 60, inputs::files);
    let at = cladlog::moment::Moment::parse_from_rfc3339("2026-03-02T08:00:00+13:00").unwrap();
    let mut zip = Vec::new();
    let files = [file("manifest.json", manifest), file("record.jsonl", export())];
    cladlog::handover::zip_into("pack", &files, &at, &mut zip).unwrap();
    try_all(&[zip], 200, inputs::pack);
}

#[test]
fn any_form_of_a_phone_is_read_or_refused() {
    let forms = [
        "token=t&request_id=r&step=gun&on=N%2FJ1..4&answer%3Adepth=6&answer%3Adepth%40N%2FJ2=7&began=10%3A40&anyway=1&why=a%0D%0Ab",
        "on=N&air=18.5&humidity=60&surface=-1&beaufort=5&rain=1",
        "key=cover&on=N&what=release&how=on+site&evidence=%E2%9C%93&happened_at=2026-03-02T08%3A00%3A00%2B13%3A00",
        "what=start&on=job&told=Bea&told=Ines&stoppage=demo-7&note=x",
    ];
    try_all(&words(&forms), 2000, inputs::form);
}

#[test]
fn any_time_and_any_number_is_read_or_refused() {
    let times = ["10:40", "2:30", "23:59:59", "2026-03-02T10:40:00+13:00", "2026-03-02T10:40:00.5Z", "02:30"];
    try_all(&words(&times), 2000, inputs::time);
    try_all(&words(&["2.5", "-12", "+0.001", "100000", "1,5", "12 mm", "１２"]), 4000, inputs::number);
}

/// Found by fuzzing: it was kept as a 60th second, and read back as the 59th.
#[test]
fn a_leap_second_typed_as_a_clock_time_is_read_back_as_it_was_kept() {
    inputs::time(b"4:49:60");
    let day = "2026-04-05".parse().unwrap();
    let zone = "Pacific/Auckland".parse().unwrap();
    let moment = cladlog::moment::parse("4:49:60", day, zone).unwrap();
    assert_eq!(moment.to_string(), "2026-04-05T04:49:59+12:00");
}
