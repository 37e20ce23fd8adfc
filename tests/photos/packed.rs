//! Photos in a pack, and the signature over it.

use std::os::unix::fs::PermissionsExt;

use cladlog::digest::sha256_hex;
use cladlog::handover::{Blob, Contents, Locations, MissingKind, Originals, Signer, check_signature, open_zip, verify};
use cladlog::photos::{LARGE_PX, PhotoSort, SMALL_PX, camera, stripped};
use serde_json::Value;

use crate::handover::story::{Story, copy};
use crate::harness::pictures::{Notes, encoded, jpeg, photo};

/// A job with photos of three sorts on it, packed with `more` options into `pack`.
fn packed(more: &[&str]) -> Story {
    let story = Story::begun();
    let notes = Notes { place: Some((-41.3, 174.8)), looking: Some(90.0), ..Notes::taken("2026:03:02 07:20:00") };
    std::fs::write(story.path("a.jpg"), photo(1, Some(&notes))).unwrap();
    let picture = image::RgbImage::from_fn(50, 40, |x, _| image::Rgb([x as u8 * 4, 0, 90]));
    std::fs::write(story.path("b.png"), encoded(&picture, image::ImageFormat::Png)).unwrap();
    let heic = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic\0\0\0\x0cmeta\0\0\0\0\0\0\0\x0cmdatabcd";
    std::fs::write(story.path("c.heic"), heic).unwrap();
    story.json(["photo", "add", "a.jpg", "b.png", "c.heic", "--on", "N", "--text", "<i>as found</i>"]);
    story.run(&[&["pack", "pack", "--interim"], more].concat()).exits(0);
    story
}

fn read(story: &Story, path: &str) -> String {
    std::fs::read_to_string(story.path(path)).unwrap()
}

#[test]
fn a_pack_holds_the_originals_and_shows_each_with_its_digest() {
    let story = packed(&[]);
    let original = std::fs::read(story.path("a.jpg")).unwrap();
    assert!(std::fs::read(story.path("pack/photos/001-N.jpg")).unwrap() == original);
    assert!(story.path("pack/photos/small/001-N.jpg").exists());
    assert!(story.path("pack/photos/003-N.heic").exists() && !story.path("pack/photos/small/003-N.jpg").exists());
    let html = read(&story, "pack/handover.html");
    for said in [
        "P1. Photo: N",
        "src=\"data:image/jpeg;base64,",
        "&lt;i&gt;as found&lt;/i&gt;",
        "Note: the camera gives no time.",
        "no preview: HEIC files are stored but not shown",
    ] {
        assert!(html.contains(said), "{said}");
    }
    let table = read(&story, "pack/tables/photos.csv");
    assert!(table.contains("174.8") && table.contains(&sha256_hex(&original)), "{table}");
    // Each photo opens from its small picture.
    assert!(html.contains("href=\"photos/001-N.jpg\""));
    assert_eq!(story.json(["verify", "pack"])["ok"], true);
    assert_eq!(story.json(["verify", "pack.zip"])["ok"], true);
}

#[test]
fn the_two_newest_photos_of_a_wall_are_printed_large() {
    let story = Story::begun();
    for (name, at) in [("a.jpg", "07:20"), ("b.jpg", "07:21"), ("c.jpg", "07:22")] {
        let picture = image::RgbImage::from_fn(2000, 1500, |x, y| image::Rgb([x as u8, y as u8, at.as_bytes()[4]]));
        let taken = format!("2026:03:02 {at}:00").leak();
        std::fs::write(story.path(name), jpeg(&picture, 80, Some(&Notes::taken(taken)))).unwrap();
        story.json(["photo", "add", name, "--on", "N", "--at", at]);
    }
    story.json(["pack", "pack", "--interim"]);
    let size = |path: &str| image::image_dimensions(story.path(path)).unwrap();
    assert_eq!(size("pack/photos/small/001-N.jpg"), (400, 300));
    assert!(!story.path("pack/photos/large/001-N.jpg").exists(), "two, and no more");
    for name in ["002-N.jpg", "003-N.jpg"] {
        assert_eq!(size(&format!("pack/photos/large/{name}")), (1600, 1200), "{name}");
    }
    assert_eq!(story.json(["verify", "pack"])["ok"], true);
    // One that shows something else is found, also where the manifest is made to fit.
    let (_, mut contents) = open_zip(&story.path("pack.zip")).unwrap();
    let other = cladlog::photos::small(&photo(200, None), LARGE_PX).unwrap().unwrap().jpeg;
    contents.files.insert("photos/large/003-N.jpg".into(), Blob::Memory(other));
    refit(&mut contents, &Signer::rehearsal());
    assert!(verify(&contents).failures.iter().any(|one| one.file.as_deref() == Some("photos/large/003-N.jpg")));
}

#[test]
fn a_copy_without_names_keeps_the_photos_that_name_nobody() {
    let story = Story::begun();
    let notes = || Notes { place: Some((-41.3, 174.8)), ..Notes::taken("2026:03:02 07:20:00") };
    for (name, shade) in [("a.jpg", 1), ("b.jpg", 2), ("Ruth Tarn.jpg", 3)] {
        std::fs::write(story.path(name), photo(shade, Some(&notes()))).unwrap();
    }
    story.json(["photo", "add", "a.jpg", "--on", "N", "--text", "as found"]);
    story.json(["photo", "add", "b.jpg", "--on", "N", "--text", "Mere Tahana beside it"]);
    story.json(["photo", "add", "Ruth Tarn.jpg", "--on", "N"]);
    story.run(["pack", "copy", "--interim", "--without-people"]).exits(0);
    let kept: Vec<_> = std::fs::read_dir(story.path("copy/photos"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .filter(|path| path.is_file())
        .collect();
    assert_eq!(kept.len(), 1, "{kept:?}");
    assert_eq!(camera(&std::fs::read(&kept[0]).unwrap()).place, None);
    let html = read(&story, "copy/handover.html");
    assert!(html.contains("a withheld name stands in its file name or its note"));
    assert!(!html.contains("Ruth Tarn") && !html.contains("Mere Tahana"));
}

#[test]
fn without_places_there_is_no_place_anywhere_in_the_pack() {
    let story = packed(&["--no-places"]);
    let copied = std::fs::read(story.path("pack/photos/001-N.jpg")).unwrap();
    assert_eq!(camera(&copied).place, None);
    assert!(!story.path("pack/photos/003-N.heic").exists(), "HEIC can't be copied without its place");
    for file in ["handover.html", "tables/photos.csv", "record.jsonl"] {
        let text = read(&story, &format!("pack/{file}"));
        assert!(!text.contains("174.8") && !text.contains("lat_deg"), "{file}");
        assert!(text.contains("a.jpg") || file == "handover.html", "{file}");
    }
    let html = read(&story, "pack/handover.html");
    assert!(
        html.contains("A copy without the location and the camera&#39;s other notes")
            || html.contains("A copy without the location and the camera's other notes")
    );
    assert!(
        html.contains("Not in this pack: a HEIC file can't be copied without its location.")
            || html.contains("a HEIC file can&#39;t")
    );
    let original = sha256_hex(&std::fs::read(story.path("a.jpg")).unwrap());
    let manifest: Value = serde_json::from_str(&read(&story, "pack/manifest.json")).unwrap();
    assert_eq!(manifest["no_places"], true);
    let line = manifest["files"].as_array().unwrap().iter().find(|line| line["path"] == "photos/001-N.jpg").unwrap();
    assert_eq!((&line["copy_of"], &line["sha256"]), (&original.into(), &sha256_hex(&copied).into()));
    let verified = story.json(["verify", "pack.zip"]);
    assert_eq!(verified["notes"].as_array().unwrap().len(), 1, "{verified}");
}

/// A picture with notes: PNG third edition 11.3.3.4 and RFC 9649 section 2.7.1.5 have where they go.
fn with_notes(format: image::ImageFormat, notes: &Notes) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(50, 30, |x, y| image::Rgb([x as u8 * 4, y as u8 * 8, 90]));
    let (mut bytes, tiff) = (encoded(&picture, format), notes.tiff());
    if format == image::ImageFormat::Png {
        let chunk = [&b"eXIf"[..], &tiff].concat();
        let length = u32::try_from(tiff.len()).unwrap().to_be_bytes();
        let sum = crc32fast::hash(&chunk).to_be_bytes();
        // Behind the signature and the 25 bytes of the head.
        bytes.splice(33..33, [&length[..], &chunk, &sum].concat());
    } else {
        let odd = if tiff.len() % 2 == 1 { &[0][..] } else { &[] };
        bytes.extend([&b"EXIF"[..], &u32::try_from(tiff.len()).unwrap().to_le_bytes(), &tiff, odd].concat());
        let size = u32::try_from(bytes.len() - 8).unwrap();
        bytes[4..8].copy_from_slice(&size.to_le_bytes());
    }
    bytes
}

#[test]
fn a_turned_picture_stays_turned_without_its_place() {
    let story = Story::begun();
    let notes = Notes { turned: Some(6), place: Some((-41.3, 174.8)), ..Notes::taken("2026:03:02 07:20:00") };
    for (name, format) in [("a.png", image::ImageFormat::Png), ("b.webp", image::ImageFormat::WebP)] {
        let bytes = with_notes(format, &notes);
        assert_eq!((camera(&bytes).turned, camera(&bytes).place.is_some()), (6, true), "{name}");
        let copy = stripped(&bytes).unwrap();
        assert_eq!((camera(&copy).turned, camera(&copy).place), (6, None), "{name}");
        assert_eq!(stripped(&copy).as_ref(), Some(&copy), "{name}");
        let small = cladlog::photos::small(&copy, SMALL_PX).unwrap().unwrap();
        assert_eq!((small.width_px, small.height_px), (30, 50), "{name}");
        assert!(image::load_from_memory(&copy).is_ok(), "{name}");
        std::fs::write(story.path(name), bytes).unwrap();
    }
    story.json(["photo", "add", "a.png", "b.webp", "--on", "N"]);
    story.json(["pack", "pack", "--interim", "--no-places"]);
    assert_eq!(story.json(["verify", "pack"])["ok"], true);
}

/// Photos that are longer than any photo, and must not be read.
struct Endless;

impl Originals for Endless {
    fn file(&self, sha256: &str, _: PhotoSort, _: &str) -> Option<Blob> {
        let read = || -> std::io::Result<Vec<u8>> { panic!("it was read") };
        Some(Blob::OnDisk { sha256: sha256.to_owned(), bytes: 200_000_000_000, read: std::sync::Arc::new(read) })
    }

    fn picture(&self, _: &str) -> Option<Vec<u8>> {
        None
    }
}

#[test]
fn a_file_longer_than_any_photo_is_missing_and_not_read() {
    let story = packed(&[]);
    let store = cladlog::record::Store::read(&story.path("job.db")).unwrap();
    let book = cladlog::day::Book::open(store.entries("shed").unwrap()).unwrap();
    let album = cladlog::handover::Album::of(&book, &Endless, Locations::Kept, &mut |_, _| ());
    let document = cladlog::handover::Document::of(&book, book.state.last_recorded().unwrap(), &album, None);
    assert_eq!(document.missing.iter().filter(|one| one.kind == MissingKind::Photo).count(), 3);
}

#[test]
fn a_photo_that_was_changed_is_named_even_when_the_manifest_is_made_to_fit() {
    let story = packed(&[]);
    copy(&story.path("pack"), &story.path("changed"));
    let other = photo(9, Some(&Notes::taken("2026:03:02 07:20:00")));
    std::fs::write(story.path("changed/photos/001-N.jpg"), &other).unwrap();
    let found = story.run(["verify", "changed", "--json"]).exits(1).json();
    assert_eq!(found["failures"][0]["file"], "photos/001-N.jpg");

    let (_, mut contents) = open_zip(&story.path("pack.zip")).unwrap();
    assert_eq!(verify(&contents).failures, []);
    contents.files.insert("photos/001-N.jpg".into(), other.into());
    refit(&mut contents, &Signer::rehearsal());
    let failures = verify(&contents).failures;
    assert_eq!(failures[0].file.as_deref(), Some("photos/001-N.jpg"));
    assert!(failures[0].entry.is_some());

    // A small picture that shows something else.
    let (_, mut contents) = open_zip(&story.path("pack.zip")).unwrap();
    let small = cladlog::photos::small(&photo(200, None), SMALL_PX).unwrap().unwrap().jpeg;
    contents.files.insert("photos/small/001-N.jpg".into(), Blob::Memory(small));
    refit(&mut contents, &Signer::rehearsal());
    assert!(verify(&contents).failures.iter().any(|one| one.file.as_deref() == Some("photos/small/001-N.jpg")));
}

/// Puts manifest and signature right, as somebody would who edits a pack.
fn refit(contents: &mut Contents, signer: &Signer) {
    let manifest = contents.files["manifest.json"].read().unwrap();
    let mut manifest: cladlog::handover::Manifest = serde_json::from_slice(&manifest).unwrap();
    for line in &mut manifest.files {
        let blob = &contents.files[&line.path];
        (line.sha256, line.bytes) = (blob.sha256().into_owned(), blob.len());
    }
    manifest.sha256 = String::new();
    let bare = serde_json::to_value(&manifest).unwrap();
    manifest.sha256 = sha256_hex(&serde_json_canonicalizer::to_vec(&bare).unwrap());
    let bytes = manifest.bytes().unwrap();
    contents.files.insert("manifest.sig".into(), signer.sign(&bytes).to_vec().into());
    contents.files.insert("manifest.pub".into(), signer.public_pem().into_bytes().into());
    contents.files.insert("manifest.json".into(), bytes.into());
}

#[test]
fn a_photo_that_is_gone_is_missing_from_the_job() {
    let story = packed(&[]);
    let digest = sha256_hex(&std::fs::read(story.path("a.jpg")).unwrap());
    std::fs::remove_file(story.path(&format!("job.db.photos/{digest}.jpg"))).unwrap();
    let made = story.json(["pack", "later", "--interim"]);
    let missing = made["missing"].as_array().unwrap();
    assert!(missing.iter().any(|one| one["sort"] == "photo" && one["on"] == "N"), "{missing:?}");
    assert!(read(&story, "later/handover.html").contains("NOT IN THIS PACK"));
    assert_eq!(story.json(["verify", "later"])["ok"], true);
}

#[test]
fn a_pack_is_signed_and_every_part_of_the_signature_counts() {
    let story = packed(&[]);
    let part = |name: &str| std::fs::read(story.path(&format!("pack/{name}"))).unwrap();
    let fingerprint = check_signature(&part("manifest.json"), &part("manifest.sig"), &part("manifest.pub")).unwrap();
    assert_eq!(fingerprint, Signer::rehearsal().fingerprint());
    let verified = story.json(["verify", "pack"]);
    assert_eq!((&verified["signed_by"], &verified["rehearsal_key"]), (&fingerprint.into(), &true.into()));
    assert!(!story.path("job.db.key").exists(), "rehearsals need no key of their own");
    for name in ["manifest.sig", "manifest.pub"] {
        copy(&story.path("pack"), &story.path("b"));
        let path = story.path(&format!("b/{name}"));
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[30] ^= 1;
        std::fs::write(&path, bytes).unwrap();
        let failures = story.run(["verify", "b", "--json"]).exits(1).json()["failures"].to_string();
        assert!(failures.contains(name), "{failures}");
        std::fs::remove_file(&path).unwrap();
        let failures = story.run(["verify", "b", "--json"]).exits(1).json()["failures"].to_string();
        assert!(failures.contains(name), "{failures}");
        std::fs::remove_dir_all(story.path("b")).unwrap();
    }
    // Signed again by somebody else: the pages name another key.
    let (_, mut contents) = open_zip(&story.path("pack.zip")).unwrap();
    refit(&mut contents, &Signer::from_seed(&[7; 32]));
    let verified = verify(&contents);
    assert!(verified.failures.iter().any(|one| one.file.as_deref() == Some("handover.html")), "{verified:?}");
}

#[test]
fn the_crew_s_key_is_made_once_and_private() {
    let story = Story::begun();
    // By the machine's own clock: a job that is no rehearsal.
    let run = |args: &[&str]| {
        let mut command = story.site.bench().command();
        command.env_remove("CLADLOG_CLOCK").args(["--db", "real.db"]).args(args);
        let output = command.output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    assert_eq!(run(&["job", "add", "job.toml"]).0, Some(0));
    let (code, said) = run(&["pack", "one", "--interim"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("real.db.key"), "the key is told: {said}");
    let data = std::fs::metadata(story.path("real.db.key")).unwrap();
    assert_eq!(data.permissions().mode() & 0o777, 0o600);
    assert!(!run(&["pack", "two", "--interim"]).1.contains("real.db.key"), "once");
    let key = |pack: &str| read(&story, &format!("{pack}/manifest.pub"));
    assert_eq!(key("one"), key("two"));
    let verified = story.json(["verify", "one"]);
    assert!(verified["signed_by"].is_string() && verified.get("rehearsal_key").is_none(), "{verified}");
    story.site.file("no.key", "not a key");
    let (code, said) = run(&["pack", "three", "--interim", "--key", "no.key"]);
    assert_eq!(code, Some(2), "{said}");
    let (code, said) = run(&["pack", "three", "--interim", "--key", "nowhere/crew.key"]);
    assert_eq!(code, Some(3), "{said}");
    assert!(!story.path("three").exists() && !story.path("three.zip").exists());
}
