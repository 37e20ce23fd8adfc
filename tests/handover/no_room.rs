//! A pack that can't be written: the message names path and cause, exit 3, nothing half there, nothing left behind,
//! the pack that was there and the record as they were.

#![cfg(unix)]

use std::collections::BTreeMap;
use std::os::unix::fs::{PermissionsExt, chown};
use std::path::Path;
use std::process::Command;

use super::story::Story;
use crate::harness::{Run, not_tried};
use crate::trust::disk::SmallDisk;

/// Everything below a folder, by path; folders with nothing in them too.
fn tree(folder: &Path) -> BTreeMap<String, Option<Vec<u8>>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        // SQLite's own, while the file is open.
        if name.ends_with("-wal") || name.ends_with("-shm") {
            continue;
        }
        if path.is_dir() {
            found.extend(tree(&path).into_iter().map(|(below, bytes)| (format!("{name}/{below}"), bytes)));
            found.insert(name, None);
        } else {
            found.insert(name, Some(std::fs::read(&path).unwrap()));
        }
    }
    found
}

/// Runs the program from a shell that does something first, and hands over with the last word.
fn after(story: &Story, before: &str, args: &[&str]) -> Run {
    let line = format!("{before} \"$@\"");
    let clock = story
        .site
        .bench()
        .command()
        .get_envs()
        .find_map(|(name, value)| (name == "CLADLOG_CLOCK").then_some(value?.to_owned()));
    let output = Command::new("sh")
        .args(["-c", &line, "sh", env!("CARGO_BIN_EXE_cladlog"), "--db", "job.db"])
        .args(args)
        .env_clear()
        .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
        .env("CLADLOG_CLOCK", clock.unwrap())
        .current_dir(story.path(""))
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code().unwrap_or(-1), stdout: text(output.stdout), stderr: text(output.stderr) }
}

#[test]
fn wherever_the_room_ends_there_is_the_old_pack_or_the_new_one() {
    let story = Story::begun();
    // Something to write that is larger than what SQLite wants beside the record.
    for number in 0..12 {
        let text = format!("remark {number}: {}", "the same again, and then some; ".repeat(60));
        story.run(["note", "--on", "N", "--text", &text]).exits(0);
    }
    story.run(["pack", "old/pack", "--interim"]).exits(0);
    story.run(["note", "--on", "N", "--text", "one more thing"]).exits(0);
    let before = tree(&story.path(""));
    let packed = before.iter().filter(|(name, _)| name.starts_with("old/"));
    let largest = packed.filter_map(|(_, bytes)| Some(bytes.as_ref()?.len())).max().unwrap() / 512;
    let mut named = 0;
    // The largest file that may be written, in blocks of 512 bytes; SQLite wants 64 of them.
    for most in (72..largest).step_by(largest / 6) {
        let ulimit = format!("trap '' XFSZ; ulimit -f {most}; exec");
        for args in [&["pack", "new/deep/pack", "--interim"][..], &["pack", "old/pack", "--interim", "--replace"]] {
            let run = after(&story, &ulimit, args).exits(3);
            assert_eq!(run.stdout, "");
            let why = ": can't be written: the file would be too large for this disk\n";
            assert!(run.stderr.starts_with(&format!("cladlog: {}", args[1])) && run.stderr.contains(why), "{run:?}");
            named += 1;
            let now = tree(&story.path(""));
            assert!(now == before, "{most}: {:?} became {:?}", before.keys(), now.keys());
        }
    }
    assert!(named > 4, "{named} runs");
    // And with room enough it is written.
    story.run(["pack", "old/pack", "--interim", "--replace"]).exits(0);
    story.run(["verify", "old/pack.zip"]).exits(0);
    assert!(tree(&story.path("")) != before);
}

#[test]
#[ignore = "mounts a small disk, which takes root: .ci/run runs it"]
fn a_small_disk_that_is_full_in_the_middle_is_named() {
    let story = Story::begun();
    let at = story.path("disk");
    let _disk = SmallDisk::mounted(&at, "400k");
    std::fs::write(at.join("ballast"), vec![1; 200_000]).unwrap();
    let before = tree(&at);
    let record = std::fs::read(story.path("job.db")).unwrap();
    let run = story.run(["pack", "disk/pack", "--interim"]).exits(3);
    let first = run.stderr.lines().find(|line| line.starts_with("cladlog: ")).unwrap();
    assert!(
        first.starts_with("cladlog: disk/pack") && first.ends_with(": can't be written: the disk is full"),
        "{first}"
    );
    assert!(run.stderr.contains("make room on it, or write to another disk"), "{}", run.stderr);
    assert!(tree(&at) == before);
    assert!(std::fs::read(story.path("job.db")).unwrap() == record);
    std::fs::remove_file(at.join("ballast")).unwrap();
    // Room for one pack, and not for a second one beside it.
    while story.run(["pack", "disk/pack", "--interim", "--replace"]).code == 0 {
        let ballast = std::fs::read(at.join("ballast")).unwrap_or_default();
        std::fs::write(at.join("ballast"), vec![1; ballast.len() + 40_000]).unwrap();
    }
    let names: Vec<String> = tree(&at).into_keys().filter(|name| !name.contains('/')).collect();
    assert!(names.iter().all(|name| ["ballast", "pack", "pack.zip"].contains(&name.as_str())), "{names:?}");
    if story.path("disk/pack").exists() {
        story.run(["verify", "disk/pack"]).exits(0);
        story.run(["verify", "disk/pack.zip"]).exits(0);
    }
}

#[test]
fn a_place_where_nothing_can_be_written_is_named_before_the_pack_is_built() {
    let story = Story::begun();
    story.site.file("letter", "Dear Sir or Madam");
    let before = tree(&story.path(""));
    let run = story.run(["pack", "letter/pack", "--interim"]).exits(3);
    assert_eq!(
        run.stderr.lines().next().unwrap(),
        "cladlog: letter/pack: can't be written: part of its path is a file, not a folder"
    );
    story.run(["pack", "letter/deep/down/pack", "--interim"]).exits(3);
    if Path::new("/proc/self").exists() {
        let run = story.run(["pack", "/proc/pack", "--interim"]).exits(3);
        assert!(run.stderr.starts_with("cladlog: /proc/pack: can't be written: "), "{}", run.stderr);
    }
    assert!(tree(&story.path("")) == before);
}

#[test]
fn what_a_killed_run_left_does_not_get_into_the_pack() {
    let story = Story::begun();
    // The shell's number is that of the program that it hands over to.
    let left = "for kind in part old; do mkdir pack.$kind-$$-0; echo left > pack.$kind-$$-0/left; done; exec";
    after(&story, left, &["pack", "pack", "--interim"]).exits(0);
    after(&story, left, &["pack", "pack", "--interim", "--replace"]).exits(0);
    story.run(["verify", "pack"]).exits(0);
    story.run(["verify", "pack.zip"]).exits(0);
    let kept = tree(&story.path("")).into_keys().filter(|name| name.ends_with("-0/left")).count();
    assert_eq!(kept, 4, "what was left may be the only copy of something");
}

/// A folder that this user may not write in. Root may write anywhere, so root becomes somebody else for it.
#[test]
fn a_folder_without_the_right_to_write_is_named() {
    let story = Story::begun();
    let locked = story.path("locked");
    std::fs::create_dir(&locked).unwrap();
    let mode = |path: &Path, mode: u32| std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    mode(&locked, 0o555);
    let is_root = std::fs::create_dir(locked.join("try")).is_ok();
    let mut user = "exec";
    if is_root {
        std::fs::remove_dir(locked.join("try")).unwrap();
        let nobody = Some(65_534);
        for path in ["", "job.db", "job.db-wal", "job.db-shm", "job.db.photos"].map(|name| story.path(name)) {
            let _ = chown(path, nobody, None);
        }
        user = "exec setpriv --reuid=65534 --clear-groups";
        let works = after(&story, user, &["log"]);
        if works.code != 0 {
            return not_tried("root can't become another user here");
        }
    }
    let before = tree(&story.path(""));
    let run = after(&story, user, &["pack", "locked/pack", "--interim"]);
    let run = run.exits(3);
    assert_eq!(run.stderr.lines().next().unwrap(), "cladlog: locked/pack: can't be written: you may not write there");
    assert!(tree(&story.path("")) == before);
    mode(&locked, 0o755);
}
