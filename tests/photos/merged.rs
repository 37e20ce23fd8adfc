//! Photos of two leads, brought together.

use cladlog::digest::sha256_hex;
use serde_json::json;

use crate::harness::pictures::{Notes, photo};
use crate::harness::site::Site;
use crate::rules::site::JOB;

/// Lea's job with a photo on N, and Ivo's, begun from her export, with one on E.
struct Two {
    lea: Site,
    ivo: Site,
}

impl Two {
    fn begun() -> Self {
        let lea = Site::folder("2026-03-02T08:00:00+13:00", "tests/rules/small.toml").beside("lea", "Lea");
        lea.file("job.toml", JOB);
        for (name, shade) in [("north.jpg", 1), ("east.jpg", 2)] {
            std::fs::write(lea.path(name), photo(shade, Some(&Notes::taken("2026:03:02 07:50:00")))).unwrap();
        }
        lea.ok("job add job.toml");
        let ivo = lea.second("ivo", "Lea");
        lea.ok("photo add north.jpg --on N");
        ivo.clock("08:05").ok("photo add east.jpg --on E");
        Self { lea, ivo }
    }
}

/// The names in the folder of photos of a file.
fn photos(site: &Site, file: &str) -> Vec<String> {
    let Ok(folder) = std::fs::read_dir(site.path(&format!("{file}.photos"))) else { return Vec::new() };
    let mut names: Vec<String> =
        folder.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn both() -> Vec<String> {
    let name = |shade| format!("{}.jpg", sha256_hex(&photo(shade, Some(&Notes::taken("2026:03:02 07:50:00")))));
    let mut names = vec![name(1), name(2)];
    names.sort();
    names
}

#[test]
fn a_photo_used_before_is_noted_also_where_the_other_clock_was_ahead() {
    let two = Two::begun();
    // Ivo's clock is a minute ahead of Lea's: what he recorded stands after what she records now.
    two.ivo.clock("2026-03-02T08:11:00+13:00").ok("note --on E --text 'east is wrapped'");
    two.ivo.ok("export ivo.jsonl");
    two.lea.clock("08:10").ok("merge ivo.jsonl");
    let told = two.lea.ok("photo add north.jpg --on E");
    assert_eq!(told["warnings"][0]["sort"], "photo", "{told}");
}

#[test]
fn merging_both_ways_brings_entries_and_pictures_to_both() {
    let two = Two::begun();
    // One by an export with its photos, the other by the database itself.
    let told = two.ivo.ok(["export", "ivo.jsonl", "--photos"]);
    assert_eq!((&told["photos"], &told["photos_missing"]), (&json!(1), &json!([])));
    assert_eq!(photos(&two.lea, "ivo.jsonl").len(), 1);
    let told = two.lea.ok(["merge", "ivo.jsonl"]);
    assert_eq!((&told["photos"], told.get("warnings")), (&json!(1), None), "{told}");
    let told = two.ivo.ok(["merge", "lea.db"]);
    assert_eq!((&told["photos"], told.get("warnings")), (&json!(1), None), "{told}");
    assert_eq!(two.lea.hashes(), two.ivo.hashes());
    for (who, site) in [("lea", &two.lea), ("ivo", &two.ivo)] {
        assert_eq!(photos(&two.lea, &format!("{who}.db")), both());
        let verified = site.ok(["verify"]);
        assert_eq!((&verified["checked"]["files"], verified.get("notes")), (&json!(2), None), "{verified}");
        let place = two.lea.path(&format!("{who}.db.photos/{}", both()[0]));
        let data = std::fs::metadata(place).unwrap();
        #[cfg(unix)]
        assert_eq!(std::os::unix::fs::PermissionsExt::mode(&data.permissions()) & 0o777, 0o600);
        assert!(data.is_file());
        // And the pack shows both.
        site.ok(["pack", &format!("{who}-pack"), "--interim"]);
        assert!(two.lea.path(&format!("{who}-pack/photos/small/002-E.jpg")).exists());
        site.run(["verify", &format!("{who}-pack")]).exits(0);
    }
    // Again there is nothing to bring.
    let told = two.lea.ok(["merge", "ivo.jsonl"]);
    assert_eq!((&told["entries"], told.get("photos"), told.get("warnings")), (&json!([]), None, None), "{told}");
}

#[test]
fn photos_that_are_missing_are_named_and_may_come_later() {
    let two = Two::begun();
    two.ivo.ok(["export", "ivo.jsonl"]);
    assert!(photos(&two.lea, "ivo.jsonl").is_empty());
    let told = two.lea.ok(["merge", "ivo.jsonl"]);
    let entry = told["entries"][0]["id"].as_str().unwrap();
    assert_eq!(told["warnings"][0]["sort"], "photo");
    assert!(told["warnings"][0]["says"].as_str().unwrap().contains(entry), "{told}");
    assert_eq!(two.lea.ok(["verify"])["notes"].as_array().unwrap().len(), 1);
    // The same entries again, this time with their photos.
    two.ivo.ok(["export", "again.jsonl", "--photos"]);
    let told = two.lea.ok(["merge", "again.jsonl"]);
    assert_eq!((&told["entries"], &told["photos"]), (&json!([]), &json!(1)));
    assert_eq!(two.lea.ok(["verify"]).get("notes"), None);
}

#[test]
fn a_photo_that_was_changed_on_the_way_does_not_come() {
    let two = Two::begun();
    two.ivo.ok(["export", "ivo.jsonl", "--photos"]);
    let name = photos(&two.lea, "ivo.jsonl").remove(0);
    std::fs::write(two.lea.path(&format!("ivo.jsonl.photos/{name}")), photo(9, None)).unwrap();
    let told = two.lea.ok(["merge", "ivo.jsonl"]);
    assert_eq!(told["warnings"].as_array().unwrap().len(), 1, "{told}");
    assert_eq!(photos(&two.lea, "lea.db").len(), 1, "only her own");
}

#[test]
fn a_merge_that_is_refused_brings_no_photos_either() {
    let two = Two::begun();
    // Somebody set the job up once more, for themselves.
    let other = two.lea.beside("other", "Lea");
    other.ok("job add job.toml");
    other.ok("photo add east.jpg --on E");
    let before = two.lea.hashes();
    two.lea.run(["merge", "other.db"]).exits(1);
    assert_eq!((two.lea.hashes(), photos(&two.lea, "lea.db").len()), (before, 1));
}

#[cfg(unix)]
#[test]
fn a_photo_that_can_not_be_kept_stops_the_merge() {
    let two = Two::begun();
    two.ivo.ok(["export", "ivo.jsonl", "--photos"]);
    std::fs::remove_dir_all(two.lea.path("lea.db.photos")).unwrap();
    two.lea.file("lea.db.photos", "a file where the folder would be");
    let before = two.lea.hashes();
    let run = two.lea.run(["merge", "ivo.jsonl"]).exits(3);
    assert!(run.stderr.contains("lea.db.photos"), "{}", run.stderr);
    assert_eq!(two.lea.hashes(), before);
}
