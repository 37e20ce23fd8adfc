//! What somebody else holds of a record tells when its end is cut off or all of it is written again: a head code from an
//! evening report, an earlier pack, export or database.

use cladlog::handover::has_pdf;

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

/// The lines of an export with one left off at the end, in a new database.
fn cut(site: &Site, name: &str) -> Site {
    site.ok(["export", &format!("{name}.jsonl")]);
    let text = site.read(&format!("{name}.jsonl"));
    let kept: Vec<&str> = text.lines().collect();
    let kept: String = kept[..kept.len() - 1].iter().map(|line| format!("{line}\n")).collect();
    site.file(&format!("{name}-cut.jsonl"), &kept);
    let cut = site.beside(&format!("{name}-cut"), "Lea");
    cut.ok(["merge", &format!("{name}-cut.jsonl")]);
    cut
}

#[test]
fn a_report_ends_in_the_head_code_and_verify_holds_a_record_against_it() {
    let site = begun();
    site.ok(["note", "--on", "N", "--text", "the last of the day"]);
    let last = site.log().last().unwrap().clone();
    let head = site.ok("day report")["head"].as_str().unwrap().to_owned();
    assert_eq!(head, format!("{}-{}", last["seq"], &last["hash"].as_str().unwrap()[..20]));
    assert_eq!(site.text("day report").lines().last(), Some(&*format!("Check {head}")));
    site.ok(["pack", "pack", "--interim"]);
    for path in ["job.db", "pack", "pack.zip"] {
        assert_eq!(site.ok(["verify", path, "--head", &head, "--head", &head])["ok"], true, "{path}");
    }
    // The PDF alone: the record is inside it.
    if has_pdf() {
        let verified = site.ok(["verify", "pack/handover.pdf", "--head", &head, "--against", "pack"]);
        assert_eq!((&verified["ok"], &verified["checked"]["entries"]), (&true.into(), &last["seq"]), "{verified}");
        let pdf = std::fs::read(site.path("pack/handover.pdf")).unwrap();
        let at = pdf.windows(13).position(|part| part == b"/EmbeddedFile").unwrap() + 250;
        let mut changed = pdf.clone();
        changed[at] ^= 1;
        std::fs::write(site.path("changed.pdf"), changed).unwrap();
        site.run(["verify", "changed.pdf"]).exits(1);
        std::fs::write(site.path("other.pdf"), b"%PDF-1.7\n%%EOF\n").unwrap();
        site.run(["verify", "other.pdf"]).exits(2);
        let later = format!("{}-{}", last["seq"].as_u64().unwrap() + 1, &head[2..]);
        site.run(["verify", "pack/handover.pdf", "--head", &later]).exits(1);
    }
    // The end cut off; another record; more recorded since.
    cut(&site, "short");
    let failed = site.run(["verify", "short-cut.db", "--head", &head]).exits(1).json();
    assert!(failed["failures"][0]["what"].as_str().unwrap().contains("there is no entry 3"), "{failed}");
    let changed = format!("{}f{}", &head[..2], if head.ends_with('0') { "1".repeat(19) } else { "0".repeat(19) });
    let failed = site.run(["verify", "job.db", "--head", &changed]).exits(1).json();
    assert!(failed["failures"][0]["what"].as_str().unwrap().contains("no entry 3 has that hash"), "{failed}");
    site.ok(["note", "--on", "N", "--text", "later"]);
    site.ok(["verify", "--head", &head]);
    // Made again the next day, the page of the evening still bears what was sent that evening.
    let of_evening = site.ok("day report")["head"].clone();
    site.clock("2026-03-03T08:00:00+13:00").ok(["note", "--on", "N", "--text", "the next day"]);
    assert_eq!(site.ok("day report --day 2026-03-02")["head"], of_evening);
    assert_ne!(site.ok("day report --day 2026-03-03")["head"], of_evening);
    for bad in ["3", "3-abc", "0-00000000000000000000", "x-00000000000000000000", "3-0000000000000000000g"] {
        site.run(["verify", "--head", bad]).exits(2);
    }
}

#[test]
fn a_record_is_held_against_an_earlier_pack_export_or_database() {
    let site = begun();
    site.ok(["pack", "pack", "--interim"]);
    site.ok("export early.jsonl");
    site.ok("backup early.db");
    site.ok(["note", "--on", "N", "--text", "since"]);
    for earlier in ["pack", "pack.zip", "early.jsonl", "early.db"] {
        let verified = site.ok(["verify", "--against", earlier]);
        assert!(verified["notes"][0].as_str().unwrap().contains("2 entries"), "{verified}");
    }
    cut(&site, "one");
    let twice = site.beside("one-cut", "Lea");
    cut(&twice, "two");
    let failed = site.run(["verify", "two-cut.db", "--against", "pack", "--against", "early.jsonl"]).exits(1).json();
    assert_eq!(failed["failures"].as_array().unwrap().len(), 2);
    assert!(failed["failures"][0]["entry"].as_str().unwrap().ends_with("-2"), "{failed}");
    site.run(["verify", "--against", "none.db"]).exits(2);
    site.run(["verify", "--against", "job.toml"]).exits(2);
}
