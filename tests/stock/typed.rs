//! What is mistyped is told in one message, and nothing is written.

use super::MORNING;
use super::site;

#[test]
fn deliveries_that_can_not_be_are_bad_input() {
    let site = site::open(MORNING);
    for (words, wanted) in [
        ("--product panel --batch P --count 0", "0: a count must be more than 0"),
        ("--product panel --batch P --count -4", "-4: a count must be more than 0"),
        ("--product panel --batch P --count 1000000000", "1000000000 is more than 100000: use a larger unit"),
        ("--product panel --batch P --count many", "'many' is not a number"),
        ("--product panel --batch P --count 1e9", "'1e9' has a unit or letters in it"),
        ("--product pannel --batch P --count 4", "there is no product 'pannel': did you mean panel?"),
        ("--product granite --batch P --count 4", "there is no product 'granite': the products are panel, plank"),
        ("--product panel --batch ' ' --count 4", "--batch is empty"),
        ("--product panel --batch P --count 4 --expires soon", "'soon' is not a date"),
        ("--product panel --batch P --count 4 --expires 2026-11", "'2026-11' is not a date"),
        ("--product panel --batch P --count 4 --expires 2026-02-30", "'2026-02-30' is not a date"),
        (
            "--product panel --batch P --count 4 --expires 2026-03-02",
            "--expires 2 Mar 2026: that is before the delivery, on 3 Mar 2026",
        ),
        ("--product panel --batch P --count 4 --colour ''", "--colour is empty"),
    ] {
        let said = site.bad(&format!("batch add {words}"));
        assert!(said.contains(wanted), "{words}: {said}");
    }
    let long = "x".repeat(61);
    let said = site.bad(&format!("batch add --product panel --batch {long} --count 4"));
    assert_eq!(said, "cladlog: --batch is 61 characters long, at most 60\n");
    let said = site.bad("batch add --product panel --batch 'P\n1' --count 4");
    assert!(said.contains("has a control character in it: nothing was written"), "{said}");
    site.ok("batch add --product sealant --batch S --count 4");
    let said = site.bad("batch add --product sealant --batch T --count 4 --unit boxes");
    assert_eq!(
        said,
        "cladlog: --unit boxes: sealant is counted in cartridges on this job; give the count in cartridges\n"
    );
}

#[test]
fn uses_that_can_not_be_are_bad_input() {
    let site = site::open(MORNING);
    site.ok("batch add --product panel --batch P --count 20");
    site.ok("batch add --product sealant --batch B --count 20");
    site.ok("batch add --product primer --batch B --count 2");
    for (words, wanted) in [
        ("P", "--on: say what it went to"),
        ("P --on N/C1 --count 0", "0: a count must be more than 0"),
        ("P --on N/C9", "there is no 'N/C9' on job test"),
        ("P --on N/C1 --as eaten", "[possible values: used, cut-up, off-cut, thrown-away, sent-back"),
        ("P --as thrown-away", "--count: say how many were thrown away"),
        ("P2 --on N/C1", "no delivery of a batch 'P2' is recorded; did you mean P?"),
        ("ZZZ --on N/C1", "no delivery of a batch 'ZZZ' is recorded. If it is on site anyway"),
        ("B --on N/J1", "batch B is of primer and of sealant: say which with --product"),
    ] {
        let said = site.bad(&format!("batch use {words}"));
        assert!(said.contains(wanted), "{words}: {said}");
    }
}

#[test]
fn odd_labels_are_kept_as_they_are() {
    let site = site::open(MORNING);
    for label in ["A,1", "=SUM(A1)", "-12", "Ω № 7", "\"quoted\""] {
        let quoted = shlex::try_quote(label).unwrap();
        site.ok(&format!("batch add --product tape --batch={quoted} --count 1"));
        let told = site.ok(&format!("batch trace -- {quoted}"));
        assert_eq!(told["batches"][0]["batch"], label);
    }
}

#[test]
fn only_a_batch_is_of_a_product() {
    let site = site::open(MORNING);
    let text = std::fs::read_to_string(site.path("small.toml")).unwrap();
    site.file("wrong.toml", &text.replacen("kind = \"batch\"\nproduct", "kind = \"text\"\nproduct", 1));
    let said = site.bare("sequence check wrong.toml").exits(2).stderr;
    assert!(said.contains("wrong.toml:21:11: 'product' is only for asks of kind \"batch\""), "{said}");
}
