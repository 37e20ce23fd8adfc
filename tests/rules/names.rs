//! R5 and R10: a person is the same under every spelling, and nothing unseen stands in a name.

use super::site;
use crate::harness::site::Site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn r10_one_person_has_one_spelling() {
    let site = site::open(MONDAY);
    for other in ["lea", " LEA", "Ｌｅａ", "Lea\u{ad}"] {
        let said = site.bad(["job", "person", other.trim(), "--role", "builder"]);
        assert!(said.contains("Lea") || said.contains("can't be seen"), "{other:?}: {said}");
    }
    // A Greek or Cyrillic letter looks like ours.
    for other in ["Αnn Lead", "Lеa Stone"] {
        assert!(site.bad(["job", "person", other, "--role", "builder"]).contains("two alphabets"), "{other}");
    }
    // So may every letter of a name: of one who is on the job it is refused, else it is said.
    assert!(site.bad(["job", "person", "Ινο", "--role", "builder"]).contains("'Ivo'"));
    assert!(
        site.shown(["job", "person", "Сора", "--role", "builder"])
            .exits(0)
            .stderr
            .contains("looks like a Latin letter")
    );
    assert_eq!(site.shown(["job", "person", "Анна Иванова", "--role", "builder"]).exits(0).stderr, "");
    for hidden in ["Ruth \u{202e}Build", "Ruth\u{200b}Build", "Ruth\u{2028}Build", "Ruth\u{e0041}"] {
        assert!(site.bad(["job", "person", hidden, "--role", "builder"]).contains("can't be seen"), "{hidden:?}");
    }
}

#[test]
fn a_name_is_taken_however_it_is_typed_and_recorded_as_the_job_spells_it() {
    let site = site::closed(MONDAY);
    site.ok("--by LEA day open --crew lea ＩＶＯ Lea");
    site.ok("caution acknowledge dust --person LEA ivo");
    site.ok("record frame --on N --answer flat=9");
    let defect = site.open_defect_ids().remove(0);
    site.ok(["defect", "concede", &defect, "--person", "dag", "--why", "within the drawings"]);
    site.ok("hold refuse cover --on N --person INES --why 'a tear'");
    site.ok("hold release cover --on N --person inEs --how 'on site'");
    site.ok("stoppage start --cause crane --told bea 'Somebody Else' BEA");
    site.ok("stoppage end");
    site.ok("extra add --on N --what ledger --asked-by dAG --told bea");
    assert_eq!(site.ok("log --person iNES")["entries"].as_array().unwrap().len(), 2);
    let twice = site.bad("day close --hours lea=8 LEA=8 ivo=7");
    assert!(twice.contains("the hours of Lea are given twice"), "{twice}");
    site.ok("day close --hours lea=8 IVO=7.5");
    site.ok("export all.jsonl");
    let text = site.read("all.jsonl");
    let typed = ["lea", "LEA", "ivo", "ＩＶＯ", "IVO", "dag", "dAG", "INES", "inEs", "bea", "BEA", "Somebody Else"];
    let kept: Vec<&str> = typed.into_iter().filter(|name| text.contains(&format!("\"{name}\""))).collect();
    assert_eq!(kept, ["Somebody Else"], "who is not on the job has no other spelling");
    assert!(
        text.contains(r#""told":["Bea","Somebody Else"]"#) && text.contains(r#""hours":{"Ivo":7.5,"Lea":8"#),
        "{text}"
    );
    // Not part of a name, nor a name like it.
    assert!(site.bad("--by le note --text x").contains("did you mean Lea?"));
}

#[test]
fn r5_work_released_under_a_second_spelling_is_a_defect() {
    // Each lead adds a person on their own; the record then has the one name in two spellings.
    let lea = site::open(MONDAY);
    let ivo = lea.second("ivo", "Ivo");
    ivo.ok("job person 'Ann Lead' --role inspector");
    lea.ok("job person 'ann lead' --role installer");
    lea.ok("day join --crew 'ann lead'");
    lea.clock("09:00").ok("--by 'ann lead' record frame --on N --answer flat=1");
    lea.ok("merge ivo.db");
    lea.refused("R5", "hold release cover --on N --person 'Ann Lead' --how 'on site'");
}

#[test]
fn what_is_not_seen_never_reaches_the_terminal() {
    let site = Site::set_up(MONDAY, site::JOB, "tests/rules/small.toml");
    site.ok(["note", "--on", "N", "--text", "a\u{200b}b\u{200f}c\u{61c}d\u{2028}e\u{e0041}f"]);
    let shown = site.text("log");
    assert!(shown.contains("a\u{fffd}b\u{fffd}c\u{fffd}d\u{fffd}e\u{fffd}f"), "{shown}");
    let json = site.run("log").exits(0).stdout;
    assert!(json.is_ascii(), "{json}");
    assert!(site.log().last().unwrap()["what"].as_str().unwrap().contains('\u{2028}'), "the same text, escaped");
}
