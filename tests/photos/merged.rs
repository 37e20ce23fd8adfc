//! Photos of two leads, brought together.

use cladlog::digest::sha256_hex;
use serde_json::{Value, json};

use crate::harness::pictures::{Notes, photo};
use crate::harness::{Bench, Run};
use crate::rules::site::JOB;

/// Lea's job with a photo on N, and Ivo's, begun from her export, with one on E.
struct Two(Bench);

impl Two {
    fn begun() -> Self {
        let mut bench = Bench::at("2026-03-02T08:00:00+13:00");
        std::fs::copy(crate::harness::root().join("tests/rules/small.toml"), bench.path("small.toml")).unwrap();
        bench.file("job.toml", JOB);
        for (name, shade) in [("north.jpg", 1), ("east.jpg", 2)] {
            std::fs::write(bench.path(name), photo(shade, Some(&Notes::taken("2026:03:02 07:50:00")))).unwrap();
        }
        let run = |bench: &Bench, who: &str, args: &[&str]| {
            bench.run(["--db", &format!("{who}.db"), "--by", "Lea"].iter().chain(args)).exits(0)
        };
        run(&bench, "lea", &["job", "add", "job.toml"]);
        run(&bench, "lea", &["export", "begin.jsonl"]);
        run(&bench, "ivo", &["merge", "begin.jsonl"]);
        run(&bench, "lea", &["photo", "add", "north.jpg", "--on", "N"]);
        bench.set_clock("2026-03-02T08:05:00+13:00");
        run(&bench, "ivo", &["photo", "add", "east.jpg", "--on", "E"]);
        Self(bench)
    }

    fn run(&self, who: &str, args: &[&str]) -> Run {
        self.0.run(["--db", &format!("{who}.db"), "--json", "--by", "Lea"].iter().chain(args))
    }

    fn ok(&self, who: &str, args: &[&str]) -> Value {
        self.run(who, args).exits(0).json()
    }

    /// The names in the folder of photos of a file.
    fn photos(&self, file: &str) -> Vec<String> {
        let Ok(folder) = std::fs::read_dir(self.0.path(&format!("{file}.photos"))) else { return Vec::new() };
        let mut names: Vec<String> =
            folder.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    fn hashes(&self, who: &str) -> Vec<String> {
        let log = self.ok(who, &["log"]);
        log["entries"].as_array().unwrap().iter().map(|entry| entry["hash"].as_str().unwrap().to_owned()).collect()
    }
}

fn both() -> Vec<String> {
    let name = |shade| format!("{}.jpg", sha256_hex(&photo(shade, Some(&Notes::taken("2026:03:02 07:50:00")))));
    let mut names = vec![name(1), name(2)];
    names.sort();
    names
}

#[test]
fn merging_both_ways_brings_entries_and_pictures_to_both() {
    let two = Two::begun();
    // One by an export with its photos, the other by the database itself.
    let told = two.ok("ivo", &["export", "ivo.jsonl", "--photos"]);
    assert_eq!((&told["photos"], &told["photos_missing"]), (&json!(1), &json!([])));
    assert_eq!(two.photos("ivo.jsonl").len(), 1);
    let told = two.ok("lea", &["merge", "ivo.jsonl"]);
    assert_eq!((&told["photos"], told.get("warnings")), (&json!(1), None), "{told}");
    let told = two.ok("ivo", &["merge", "lea.db"]);
    assert_eq!((&told["photos"], told.get("warnings")), (&json!(1), None), "{told}");
    assert_eq!(two.hashes("lea"), two.hashes("ivo"));
    for who in ["lea", "ivo"] {
        assert_eq!(two.photos(&format!("{who}.db")), both());
        let verified = two.ok(who, &["verify"]);
        assert_eq!((&verified["checked"]["files"], verified.get("notes")), (&json!(2), None), "{verified}");
        let place = two.0.path(&format!("{who}.db.photos/{}", both()[0]));
        let data = std::fs::metadata(place).unwrap();
        #[cfg(unix)]
        assert_eq!(std::os::unix::fs::PermissionsExt::mode(&data.permissions()) & 0o777, 0o600);
        assert!(data.is_file());
        // And the pack shows both.
        two.ok(who, &["pack", &format!("{who}-pack"), "--interim"]);
        assert!(two.0.path(&format!("{who}-pack/photos/small/002-E.jpg")).exists());
        two.run(who, &["verify", &format!("{who}-pack")]).exits(0);
    }
    // Again there is nothing to bring.
    let told = two.ok("lea", &["merge", "ivo.jsonl"]);
    assert_eq!((&told["entries"], told.get("photos"), told.get("warnings")), (&json!([]), None, None), "{told}");
}

#[test]
fn photos_that_are_missing_are_named_and_may_come_later() {
    let two = Two::begun();
    two.ok("ivo", &["export", "ivo.jsonl"]);
    assert!(two.photos("ivo.jsonl").is_empty());
    let told = two.ok("lea", &["merge", "ivo.jsonl"]);
    let entry = told["entries"][0]["id"].as_str().unwrap();
    let says = format!("the photo of entry {entry} is not beside ivo.jsonl");
    assert_eq!(told["warnings"], json!([{ "sort": "photo", "says": says }]));
    let verified = two.ok("lea", &["verify"]);
    assert_eq!(verified["notes"], json!(["1 photo that the record names is not beside this database"]));
    // For a person: what is missing and what brings it.
    let said = two.0.run(["--db", "lea.db", "merge", "ivo.jsonl"]).exits(0).stdout;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted =
        format!("Note: The photo of entry {entry} is not beside ivo.jsonl. To bring photos: cladlog export --photos");
    assert!(said.contains(&wanted), "{said}");
    // The same entries again, this time with their photos.
    two.ok("ivo", &["export", "again.jsonl", "--photos"]);
    let told = two.ok("lea", &["merge", "again.jsonl"]);
    assert_eq!((&told["entries"], &told["photos"]), (&json!([]), &json!(1)));
    assert_eq!(two.ok("lea", &["verify"]).get("notes"), None);
}

#[test]
fn a_photo_that_was_changed_on_the_way_does_not_come() {
    let two = Two::begun();
    two.ok("ivo", &["export", "ivo.jsonl", "--photos"]);
    let name = two.photos("ivo.jsonl").remove(0);
    std::fs::write(two.0.path(&format!("ivo.jsonl.photos/{name}")), photo(9, None)).unwrap();
    let told = two.ok("lea", &["merge", "ivo.jsonl"]);
    assert_eq!(told["warnings"].as_array().unwrap().len(), 1, "{told}");
    assert_eq!(two.photos("lea.db").len(), 1, "only her own");
}

#[test]
fn a_merge_that_is_refused_brings_no_photos_either() {
    let two = Two::begun();
    two.ok("ivo", &["export", "ivo.jsonl", "--photos"]);
    // A copy of Lea's database was written to as well: her number stands for two things.
    std::fs::copy(two.0.path("lea.db"), two.0.path("twin.db")).unwrap();
    two.ok("lea", &["note", "--on", "N", "--text", "by Lea"]);
    two.ok("twin", &["note", "--on", "N", "--text", "by her twin"]);
    two.ok("twin", &["merge", "ivo.jsonl"]);
    let before = two.hashes("lea");
    two.run("lea", &["merge", "twin.db"]).exits(1);
    assert_eq!((two.hashes("lea"), two.photos("lea.db").len()), (before, 1));
}

#[cfg(unix)]
#[test]
fn a_photo_that_can_not_be_kept_stops_the_merge() {
    let two = Two::begun();
    two.ok("ivo", &["export", "ivo.jsonl", "--photos"]);
    std::fs::remove_dir_all(two.0.path("lea.db.photos")).unwrap();
    two.0.file("lea.db.photos", "a file where the folder would be");
    let before = two.hashes("lea");
    let run = two.run("lea", &["merge", "ivo.jsonl"]).exits(3);
    assert!(run.stderr.contains("lea.db.photos: the folder for photos can't be made"), "{}", run.stderr);
    assert_eq!(two.hashes("lea"), before);
}
