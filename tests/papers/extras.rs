//! Extra work: what, who asked, how much; bad input.

use crate::rules::site;

const MORNING: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn extra_work_is_kept_with_who_asked_for_it() {
    let site = site::open(MORNING);
    let told = site.ok([
        "extra",
        "add",
        "--what",
        "Soffit over the porch",
        "--asked-by",
        "Mr Orr, the owner",
        "--told",
        "Bea",
        "--on",
        "N",
        "--hours",
        "1.5",
        "--people",
        "2",
        "--quantity",
        "4.8",
        "--unit",
        "m2",
    ]);
    assert_eq!(told["entries"][0]["kind"], "extra-added");
    assert_eq!(told["entries"][0]["subject"], "N");
    let one = &site.ok(["extra", "list"])["extras"][0];
    assert_eq!(one["what"], "Soffit over the porch");
    assert_eq!(one["asked_by"], "Mr Orr, the owner");
    assert_eq!(one["crew_hours"], 3.0);
    assert_eq!(one["quantity"], 4.8);
    assert_eq!(one["unit"], "m2");
    let text = site.text(["extra", "list"]);
    assert!(
        text.contains(
            "asked for by Mr Orr, the owner; notified Bea; 2 people, 1.5 h each: 3\n      crew-hours; 4.8 m2\n"
        ),
        "{text}"
    );
    assert_eq!(site.ok(["extra", "list", "--person", "Bea"])["extras"].as_array().unwrap().len(), 1);
    assert_eq!(site.ok(["extra", "list", "--on", "E"])["extras"].as_array().unwrap().len(), 0);
    let csv = site.bare(["--db", "job.db", "extra", "list", "--csv", "-"]).exits(0).stdout;
    assert!(csv.lines().nth(1).unwrap().ends_with("\"Mr Orr, the owner\",Bea,1.5,2,3,4.8,m2,Lea"), "{csv}");
}

#[test]
fn bad_input_is_named_and_nothing_is_written() {
    let site = site::open(MORNING);
    for (more, wanted) in [
        (["--hours", "0"], "--hours 0 must be more than 0 and at most 10000"),
        (["--hours", "two"], "'two' is not a number"),
        (["--people", "201"], "--people 201 is outside 1 to 200"),
        (["--quantity", "5"], "a quantity has a unit: --unit m2, m, each, …"),
        (["--unit", "m2"], "--unit says of what: give --quantity too"),
        (["--on", "N/J9"], "there is no 'N/J9' on job test"),
    ] {
        let said = site.bad(["extra", "add", "--what", "x", "--asked-by", "Bea", more[0], more[1]]);
        assert!(said.contains(wanted), "{wanted} is not in {said}");
    }
    let said = site.bad(["extra", "add", "--what", "x", "--asked-by", "Bea", "--hours", "2", "--on", "N,E"]);
    assert!(said.contains("hours and quantity of an extra are of one subject"), "{said}");
    assert!(site.bad(["extra", "add", "--what", " ", "--asked-by", "Bea"]).contains("--what is empty"));
    assert!(site.bad(["extra", "add", "--what", "x", "--asked-by", ""]).contains("--asked-by: the name is empty"));
}
