//! A running job whose building changes: what was recorded keeps its meaning, and nothing loses its part unasked.

use super::site::JOB;
use crate::harness::site::Site;

const TEN: &str = "2026-03-02T10:00:00+13:00";

/// The job with the frame of N checked and released.
fn with_frame(clock: &str) -> Site {
    let site = super::site::with_frame(clock);
    site.ok("caution acknowledge dust --person Lea Ivo");
    site.ok("hold release cover --on N --person Ines --how \"on site\"");
    site
}

/// The job file changed: from, to.
fn revised(site: &Site, changes: &[(&str, &str)]) -> String {
    let text = changes.iter().fold(JOB.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    });
    site.file("revised.toml", &text)
}

fn revise(site: &Site, changes: &[(&str, &str)], more: &str) -> String {
    format!("job revise {} --why \"change 2\" {more}", revised(site, changes))
}

#[test]
fn what_was_recorded_stays_where_it_was_when_walls_come_before_it() {
    let site = with_frame(TEN);
    site.ok("record course --on N/C1..3");
    site.ok("reading --on N --air 15 --humidity 60 --surface 16");
    let before = site.hashes();
    let wall = ("[[wall]]\nkey = \"N\"", "[[wall]]\nkey = \"W\"\ncourses = 3\n[[wall]]\nkey = \"N\"");
    let window = ("joints = 4", "joints = 4\n[[wall.opening]]\nkind = \"window\"");
    let recorded = site.ok(revise(&site, &[wall, window], ""));
    assert_eq!(recorded["entries"][0]["kind"], "job-revised");
    assert_eq!(site.hashes()[..before.len()], before);
    let shown = site.ok("job show");
    assert_eq!(shown["walls"][0]["key"], "W");
    assert_eq!(shown["openings"][0]["id"], "N/O1");
    // The frame of N is done, that of W is new; courses 1 to 3 hang, the next is course 4.
    assert!(site.next_of("frame", "N").is_none());
    assert_eq!(site.next_of("frame", "W").unwrap()["state"], "ready");
    assert_eq!(site.next_of("course", "N/C4").unwrap()["state"], "ready");
    assert!(site.next_of("course", "N/C3").is_none());
    assert!(site.open_defects().is_empty());
    site.ok("record course --on N/C4");
    let log = site.text("log");
    assert!(
        log.contains("change 2") && log.contains("wall W added") && log.contains("wall N, opening O1 added"),
        "{log}"
    );
    site.ok("verify");
    site.ok("pack handover --interim");
    site.ok("verify handover");
    // Built anew from the entries alone it is the same.
    site.ok("rebuild");
    assert!(site.next_of("frame", "N").is_none());
}

#[test]
fn a_part_with_work_on_it_is_not_dropped_unasked() {
    let site = with_frame(TEN);
    site.ok("record course --on N/C1..6");
    let fewer = [("courses = 7", "courses = 4")];
    let refused = site.refused("R2", revise(&site, &fewer, ""));
    assert!(refused["why"].as_str().unwrap().contains("N/C5..6"), "{refused}");
    // A part that nothing is recorded on may go.
    site.ok(revise(&site, &[("courses = 7", "courses = 6")], ""));
    let recorded = site.ok(revise(&site, &fewer, "--anyway"));
    assert_eq!(recorded["opened"].as_array().unwrap().len(), 1, "{recorded}");
    assert_eq!(site.open_defects(), ["job r2-revised"]);
    // Struck, the job is what it was.
    let entry = recorded["entries"][0]["id"].as_str().unwrap();
    site.ok(format!("strike {entry} --why \"wrong file\""));
    assert_eq!(site.ok("job show")["walls"][0]["courses"], 6);
    assert!(site.open_defects().is_empty() && site.next_of("course", "N/C6").is_none());
}

#[test]
fn a_joint_with_work_on_it_is_not_moved_unasked() {
    let site = with_frame(TEN);
    let placed = ("joints = 4", "length_mm = 9000\njoints_mm = [1800, 3600, 5400, 7200]");
    site.ok(revise(&site, &[placed], ""));
    site.ok("record course --on N/C1..7");
    site.ok("record prime --on N/J2");
    let moved = ("joints = 4", "length_mm = 9000\njoints_mm = [1800, 3000, 5400, 7200]");
    let refused = site.refused("R2", revise(&site, &[moved], ""));
    assert!(refused["why"].as_str().unwrap().contains("N/J2 (at 3000 mm, not 3600)"), "{refused}");
    let other = ("joints = 4", "length_mm = 9000\njoints_mm = [1800, 3600, 5400, 7000]");
    site.ok(revise(&site, &[other], ""));
}

#[test]
fn a_job_keeps_its_key_its_zone_and_whoever_the_record_names() {
    let site = with_frame(TEN);
    site.bad(revise(&site, &[], ""));
    site.bad(revise(&site, &[("key = \"test\"", "key = \"other\"")], ""));
    site.bad(revise(&site, &[("Pacific/Auckland", "Europe/London")], ""));
    let ivo = "[[person]]\nname = \"Ivo\"\nroles = [\"installer\"]\n";
    assert!(site.bad(revise(&site, &[(ivo, "")], "")).contains("Ivo"));
    site.bad(revise(&site, &[("[\"designer\"]", "[\"king\"]")], ""));
    let dag = "[[person]]\nname = \"Dag\"\nroles = [\"designer\"]\n";
    site.ok(revise(&site, &[(dag, "")], ""));
    // Its name may change, wherever jobs are listed.
    site.ok(revise(&site, &[(dag, ""), ("name = \"Test house\"", "name = \"Hill house\"")], ""));
    assert_eq!(site.ok("job list")["jobs"][0]["name"], "Hill house");
    site.ok("verify");
}

#[test]
fn two_leads_see_the_building_as_it_was_revised_last() {
    let site = with_frame(TEN);
    let second = site.second("ivo", "Lea");
    site.clock("10:10").ok(revise(&site, &[("courses = 2", "courses = 3")], ""));
    second.clock("10:20").ok("record course --on N/C1");
    site.ok("export out.jsonl");
    second.ok("merge out.jsonl");
    assert_eq!(second.ok("job show")["walls"][1]["courses"], 3);
    second.ok("verify");
    assert!(second.next_of("course", "N/C1").is_none());
}

#[test]
fn the_next_job_starts_from_this_one() {
    let site = with_frame(TEN);
    // As it is now, by its own file: nothing to revise.
    site.ok("job show --file now.toml");
    site.bad("job revise now.toml --why same");
    site.ok("job copy test hill-st");
    let text = site.read("hill-st.toml");
    assert!(text.contains("key = \"hill-st\"") && text.contains("sequence = \"hill-st-sequence.toml\""), "{text}");
    site.bad("job copy test hill-st");
    site.bad("job copy test \"two words\"");
    site.bad("job copy nowhere new");
    let next = site.beside("next", "Lea");
    next.ok("job add hill-st.toml");
    let (old, new) = (site.ok("job show"), next.ok("job show"));
    assert_eq!((&new["walls"], &new["joints"], &new["people"]), (&old["walls"], &old["joints"], &old["people"]));
    assert_eq!(new["sequence"]["sha256"], old["sequence"]["sha256"]);
}

/// A paper, and a figure from it for the gap under the straightedge and for how long the primer stays open.
const SHEETS: &str = r#"
[[paper]]
key = "sheets"
title = "Maker's sheets, edition 2"
[[figure]]
key = "flat"
value = 1.5
paper = "sheets"
clause = "sheet 4"
[[figure]]
key = "primer-open"
value = 45
paper = "sheets"
clause = "sheet 2"
"#;

#[test]
fn a_revised_figure_holds_from_when_it_was_recorded() {
    let site = Site::set_up(TEN, super::site::FULL, "tests/rules/full.toml").beside("job", "Lea").with_day(&["Lea"]);
    site.ok("record access --on job --answer clear=yes");
    site.ok("hold release start-sealing --on job --person Ines --how \"on site\"");
    site.ok("record frame --on N --answer flat=2");
    site.ok("record frame --on E --answer flat=1");
    site.ok("record prime --on N/J1");
    let closes = || site.ok("window list")["windows"][0]["closes_at"].clone();
    assert_eq!(closes(), "2026-03-02T16:00:00+13:00", "6 h by the sequence");
    site.file("revised.toml", &format!("{}{SHEETS}", super::site::FULL));
    let recorded = site.clock("10:05").ok("job revise revised.toml --why \"edition 2 came with the delivery\"");
    // What is open is judged by it; what was measured before keeps its verdict.
    assert_eq!(closes(), "2026-03-02T10:45:00+13:00");
    assert!(site.open_defects().is_empty());
    site.clock("10:10").ok("record frame --on E --answer flat=2");
    assert_eq!(site.open_defects(), ["E r8-flat"]);
    let since = "Maker's sheets, edition 2, sheet 4, in force since Mon 2 Mar 2026 10:05 (revised by Lea)";
    let words = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    site.ok("pack handover --interim");
    assert!(words(site.read("handover/tables/measurements.csv")).contains(since));
    site.ok("verify handover");
    // Past the new figure is past it.
    site.clock("10:50").refused("R6", "record gun --on N/J1");
    // A figure that is no longer given gives way to the sequence's own, and a struck revision to what was before it.
    site.file("revised.toml", super::site::FULL);
    site.clock("10:55").ok("job revise revised.toml --why \"edition 2 withdrawn\"");
    assert_eq!(closes(), "2026-03-02T16:00:00+13:00");
    let last = site.ok("log")["entries"].as_array().unwrap().last().unwrap()["id"].clone();
    site.ok(format!("strike {} --why \"still holds\"", last.as_str().unwrap()));
    assert_eq!(closes(), "2026-03-02T10:45:00+13:00");
    let first = recorded["entries"][0]["id"].as_str().unwrap();
    site.ok(format!("strike {first} --why \"wrong job\""));
    assert_eq!(closes(), "2026-03-02T16:00:00+13:00");
    assert!(site.open_defects().is_empty(), "2 mm is within the sequence's own 3");
    site.ok("rebuild");
    site.ok("verify");
}
