//! R13: another edition of the sequence: who may adopt it, since when it holds, what it changed.

use serde_json::Value;

use super::site;
use crate::harness::root;
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

/// Writes an edition of the small sequence with these replacements.
fn edition(site: &Site, name: &str, changes: &[(&str, &str)]) {
    let text = std::fs::read_to_string(root().join("tests/rules/small.toml")).unwrap();
    let text =
        changes.iter().fold(text.replace("edition = \"1\"", &format!("edition = \"{name}\"")), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        });
    site.file(name, &text);
}

/// The hold point, to be cut out of the sequence.
const HOLD: &str = "[[hold]]\nkey = \"cover\"\ntitle = \"Frame before cover-up\"\nper = \"wall\"\nafter = [\"prep\"]\n\
                    holds = [\"cladding\"]\nroles = [\"inspector\", \"lead\"]\n";

/// The frame of N out of tolerance, a course hung past the hold point, five hours before now.
fn with_defects() -> Site {
    let site = site::open(MONDAY);
    site.ok("record frame --on N --answer flat=6");
    site.ok("caution acknowledge dust --person Lea Ivo");
    site.ok("record course --on N/C1 --anyway --why 'the crane was there'");
    site.clock("13:00");
    site
}

#[test]
fn r13_an_edition_adopted_with_a_past_time_closes_no_defect_and_releases_nothing_before_it() {
    let site = with_defects();
    edition(&site, "weak.toml", &[("most = 3", "most = 30"), (HOLD, "")]);
    let before = site.open_defects();
    assert!(before.contains(&"N r8-flat".to_owned()) && before.contains(&"N/C1 r5-cover".to_owned()), "{before:?}");
    site.ok("sequence adopt weak.toml --why updated --at 07:59");
    assert_eq!(site.open_defects(), before);
    // What is recorded late, but happened before, is judged by the edition of then.
    site.ok("record frame --on E --answer flat=6 --at 09:00");
    assert!(site.open_defects().contains(&"E r8-flat".to_owned()));
}

#[test]
fn r13_an_edition_adopted_elsewhere_with_a_past_time_closes_nothing_by_a_merge() {
    let lea = with_defects().beside("job", "Lea");
    let before = lea.open_defects();
    let ivo = lea.second("ivo", "Lea");
    edition(&ivo, "weak.toml", &[("most = 3", "most = 30"), (HOLD, "")]);
    ivo.ok("sequence adopt weak.toml --why updated --at 07:59");
    lea.ok("merge ivo.db");
    assert_eq!(lea.open_defects(), before);
}

#[test]
fn r10_adopting_an_edition_needs_the_lead_unless_the_sequence_says_otherwise() {
    let site = site::open(MONDAY);
    edition(&site, "weak.toml", &[("most = 3", "most = 30")]);
    let refused = site.refused("R10", "--by Ivo sequence adopt weak.toml --why updated");
    assert!(refused["why"].as_str().unwrap().contains("lead"), "{refused}");
    edition(&site, "say.toml", &[("concede = [\"designer\"]", "concede = [\"designer\"]\nadopt = [\"builder\"]")]);
    site.ok("sequence adopt say.toml --why 'the builder decides'");
    site.refused("R10", "sequence adopt weak.toml --why updated");
    site.ok("--by Bea sequence adopt weak.toml --why updated");
}

#[test]
fn r13_log_and_pack_say_what_an_edition_changed_and_keep_a_dropped_hold_point() {
    let site = with_defects();
    edition(&site, "weak.toml", &[("most = 3", "most = 30"), (HOLD, ""), ("latest = \"6 h\"", "latest = \"12 h\"")]);
    let adopted = site.ok("sequence adopt weak.toml --why updated");
    let says = |value: &Value| value.as_array().unwrap().iter().map(|it| it.to_string()).collect::<Vec<_>>().join("\n");
    let log = site.log();
    let changes = says(&log.last().unwrap()["changes"]);
    for change in ["cover", "at most 30 mm", "at most 3 mm", "12 h", "6 h"] {
        assert!(changes.contains(change), "{change}: {changes}");
        assert!(adopted["warnings"].to_string().contains(change), "{change}: {adopted}");
    }
    let holds = site.ok("hold list")["holds"].clone();
    let dropped: Vec<&Value> = holds.as_array().unwrap().iter().filter(|hold| hold["key"] == "cover").collect();
    assert_eq!(dropped.len(), 2, "{holds}");
    assert!(dropped.iter().all(|hold| hold["dropped_by_entry"] == log.last().unwrap()["id"]), "{holds}");
    site.ok("pack pk --interim");
    let table = site.read("pk/tables/holds.csv");
    assert!(table.contains("cover"), "{table}");
    let page = site.read("pk/handover.html");
    assert!(page.contains("at most 30 mm (was at most 3 mm)"), "the pack says what was changed");
    assert_eq!(site.run("verify").code, 0);
    // Brought back, it stands as it stood.
    edition(&site, "back.toml", &[]);
    site.ok("sequence adopt back.toml --why 'as it was'");
    let holds = site.ok("hold list")["holds"].clone();
    assert!(holds.as_array().unwrap().iter().all(|hold| hold["dropped_by_entry"].is_null()), "{holds}");
    assert_eq!(site.run("verify").code, 0);
}
