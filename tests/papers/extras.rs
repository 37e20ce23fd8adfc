//! Extra work: what, who asked, how much. What can't be is in `tests/messages/stoppages.txt`.

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
    assert_eq!(site.ok(["extra", "list", "--person", "Bea"])["extras"].as_array().unwrap().len(), 1);
    assert_eq!(site.ok(["extra", "list", "--on", "E"])["extras"].as_array().unwrap().len(), 0);
    let csv = site.bare(["--db", "job.db", "extra", "list", "--csv", "-"]).exits(0).stdout;
    assert!(csv.lines().nth(1).unwrap().ends_with("\"Mr Orr, the owner\",Bea,1.5,2,3,4.8,m2,Lea"), "{csv}");
}
