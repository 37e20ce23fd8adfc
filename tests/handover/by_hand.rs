//! A pack without the program: README.txt says how to check it and what every column means. What is put beside its files
//! later, or left there by a desktop, does it no harm; one of an earlier program is still checked.

use std::process::Command;

use super::story::{Story, copy};
use crate::harness::{not_tried, root};

/// The commands of README.txt, in its order.
fn commands(readme: &str) -> Vec<&str> {
    let (commands, _) = readme.split_once("WHAT IS IN IT").unwrap();
    commands.lines().filter_map(|line| line.strip_prefix("    ")).collect()
}

/// Runs a command in a pack's folder, in a cleared environment; whether it succeeded, and what it printed.
fn sh(story: &Story, pack: &str, command: &str) -> (bool, String) {
    let mut shell = Command::new("sh");
    shell.args(["-c", command]).current_dir(story.path(pack)).env_clear().env("PATH", std::env::var("PATH").unwrap());
    let output = shell.output().unwrap();
    (output.status.success(), String::from_utf8(output.stdout).unwrap() + &String::from_utf8_lossy(&output.stderr))
}

#[test]
fn the_commands_of_the_readme_check_a_pack() {
    if Command::new("openssl").arg("version").output().is_err() {
        return not_tried("there is no openssl");
    }
    let story = Story::nearly_done();
    story.json(["pack", "pack", "--interim"]);
    let readme = std::fs::read_to_string(story.path("pack/README.txt")).unwrap();
    let commands = commands(&readme);
    let [files, extra, signature, fingerprint, entries, chain, _] = commands[..] else { panic!("{commands:?}") };
    let verified = story.json(["verify", "pack"]);
    assert_eq!(sh(&story, "pack", files), (true, String::new()));
    assert_eq!(sh(&story, "pack", extra), (true, String::new()));
    assert!(sh(&story, "pack", signature).1.contains("Verified Successfully"));
    assert!(sh(&story, "pack", fingerprint).1.starts_with(verified["signed_by"].as_str().unwrap()));
    assert_eq!(sh(&story, "pack", entries), (true, String::new()));
    let last = story.json(["log"])["entries"].as_array().unwrap().last().unwrap().clone();
    let of = |key: &str| last[key].to_string().trim_matches('"').to_owned();
    assert_eq!(sh(&story, "pack", chain), (true, format!("{} {} {}\n", of("device"), of("seq"), of("hash"))));
    // Each finds what is changed.
    let change = |pack: &str, file: &str, from: &str, to: &str| {
        copy(&story.path("pack"), &story.path(pack));
        let text = std::fs::read_to_string(story.path(&format!("{pack}/{file}"))).unwrap();
        let changed = text.replacen(from, to, 1);
        assert_ne!(text, changed);
        std::fs::write(story.path(&format!("{pack}/{file}")), changed).unwrap();
    };
    change("page", "handover.html", "NOT COMPLETE", "COMPLETE");
    assert!(sh(&story, "page", files).1.contains("handover.html: FAILED"));
    change("list", "manifest.json", "\"complete\": false", "\"complete\": true");
    assert!(!sh(&story, "list", signature).1.contains("Verified Successfully"));
    change("entry", "record.jsonl", "5.5", "2.5");
    assert!(sh(&story, "entry", entries).1.starts_with("line "));
    copy(&story.path("pack"), &story.path("cut"));
    let lines: Vec<&str> = readme_record(&story).leak().lines().collect();
    let kept: String =
        lines.iter().enumerate().filter(|(at, _)| *at != 3).map(|(_, line)| format!("{line}\n")).collect();
    std::fs::write(story.path("cut/record.jsonl"), kept).unwrap();
    assert!(sh(&story, "cut", chain).1.contains("BROKEN at "));
    std::fs::write(story.path("cut/more.txt"), "more").unwrap();
    assert_eq!(sh(&story, "cut", extra).1, "./more.txt\n");
}

fn readme_record(story: &Story) -> String {
    std::fs::read_to_string(story.path("pack/record.jsonl")).unwrap()
}

#[test]
fn the_readme_explains_every_column_and_the_sequence_is_beside_it() {
    let story = Story::begun();
    let made = story.json(["pack", "pack", "--interim"]);
    let readme = std::fs::read_to_string(story.path("pack/README.txt")).unwrap();
    let mut tables = 0;
    for file in made["files"].as_array().unwrap().iter().filter_map(|file| file.as_str()?.strip_prefix("tables/")) {
        let text = std::fs::read_to_string(story.path(&format!("pack/tables/{file}"))).unwrap();
        let (_, section) = readme.split_once(&format!("\n{file}: ")).unwrap_or_else(|| panic!("{file}"));
        let (section, _) = section.split_once("\n\n").unwrap_or((section, ""));
        let explained: Vec<&str> =
            section.lines().skip(1).map(|line| line.split_whitespace().next().unwrap()).collect();
        let columns: Vec<&str> = text.lines().next().unwrap().split(',').collect();
        assert_eq!(explained, columns, "{file}");
        tables += 1;
    }
    assert_eq!(readme.matches(".csv: ").count(), tables, "no table is explained that there is not");
    let shipped = std::fs::read_to_string(crate::harness::EARLIER_PANELS).unwrap();
    let folder: Vec<_> =
        std::fs::read_dir(story.path("pack/sequences")).unwrap().map(|file| file.unwrap().path()).collect();
    assert_eq!(folder.len(), 1);
    assert!(folder[0].file_name().unwrap().to_str().unwrap().starts_with("panels-on-clips-"));
    assert_eq!(std::fs::read_to_string(&folder[0]).unwrap(), shipped);
}

#[test]
fn the_list_of_what_is_attached_runs_no_formula() {
    let story = Story::begun();
    story.json(["pack", "pack", "--interim"]);
    story.site.file("=cmd.txt", "x");
    story.json(["attach", "pack", "=cmd.txt", "--as", "=1+1"]);
    story.site.file("-3 mm.txt", "y");
    story.json(["attach", "pack", "--as", "-3 mm", "--", "-3 mm.txt"]);
    let list = std::fs::read_to_string(story.path("pack/attached/list.csv")).unwrap();
    let cells = list.lines().skip(1).flat_map(|line| line.split(','));
    let sha256: Vec<String> = [&b"x"[..], b"y"].map(cladlog::digest::sha256_hex).to_vec();
    let named: Vec<&str> = cells.filter(|cell| cell.starts_with('\'') || sha256.iter().any(|it| it == cell)).collect();
    assert_eq!(named, ["'=cmd.txt", &sha256[0], "'=1+1", "'-3 mm.txt", &sha256[1], "'-3 mm"]);
    // They are found again by their own names.
    let notes = story.json(["verify", "pack"])["notes"].to_string();
    for name in ["attached/=cmd.txt was attached later", "attached/-3 mm.txt was attached later"] {
        assert!(notes.contains(name) && !notes.contains("MISSING"), "{notes}");
    }
}

#[test]
fn what_is_attached_later_is_listed_and_breaks_nothing() {
    let story = Story::begun();
    story.json(["pack", "pack", "--interim"]);
    story.site.file("signed page.txt", "signed");
    story.site.file("note 14.txt", "site visit");
    let made = story.json(["attach", "pack", "signed page.txt", "note 14.txt", "--as", "Signed by the inspector"]);
    assert_eq!(made["attached"][0]["file"], "signed page.txt");
    let notes = |pack: &str| story.json(["verify", pack])["notes"].to_string();
    let said = notes("pack");
    let sha256 = cladlog::digest::sha256_hex(b"signed");
    assert!(said.contains("Signed by the inspector") && said.contains(&sha256), "{said}");
    // Not twice, not without a pack, not over the list.
    story.run(["attach", "pack", "signed page.txt", "--as", "again"]).exits(2);
    story.run(["attach", "pack.zip", "signed page.txt", "--as", "again"]).exits(2);
    story.site.file("list.csv", "mine");
    story.run(["attach", "pack", "list.csv", "--as", "mine"]).exits(2);
    // Changed, gone, or put there by hand: said, and the pack itself holds.
    std::fs::write(story.path("pack/attached/signed page.txt"), "forged").unwrap();
    std::fs::remove_file(story.path("pack/attached/note 14.txt")).unwrap();
    std::fs::write(story.path("pack/attached/by hand.txt"), "x").unwrap();
    let said = notes("pack");
    for part in ["CHANGED", "MISSING", "by hand.txt was put there later"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    // What a desktop leaves.
    for left in [".DS_Store", "tables/Thumbs.db", "desktop.ini"] {
        std::fs::write(story.path(&format!("pack/{left}")), "x").unwrap();
    }
    assert_eq!(notes("pack").matches("left by a desktop").count(), 3);
    story.site.file("pack/approval.txt", "approved");
    story.run(["verify", "pack"]).exits(1);
}

/// Made by version 0.1.0 with the first numbered edition of its pages.
#[test]
fn a_pack_of_an_earlier_program_is_checked_as_far_as_that_goes() {
    let story = Story::begun();
    let old = root().join("tests/handover/fixtures/pack-0.1.0-pages.1.zip");
    let old = old.to_str().unwrap();
    let verified = story.json(["verify", old]);
    assert_eq!((&verified["ok"], &verified["checked"]["entries"]), (&true.into(), &6.into()), "{verified}");
    assert!(verified["notes"][0].as_str().unwrap().contains("0.1.0+pages.1"), "{verified}");
    // Its hashes and its chain are checked all the same.
    let zip = std::fs::read(old).unwrap();
    let (_, mut contents) = cladlog::handover::unzip(&zip).unwrap();
    let record = String::from_utf8(contents.files["record.jsonl"].read().unwrap().into_owned()).unwrap();
    contents
        .files
        .insert("record.jsonl".into(), record.replacen("an invented note", "another note", 1).into_bytes().into());
    let failures = cladlog::handover::verify(&contents).failures;
    assert!(failures.iter().any(|one| one.entry.is_some()) && failures.iter().any(|one| one.entry.is_none()));
}
