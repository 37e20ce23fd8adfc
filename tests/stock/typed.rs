//! Labels that can't stand in a session of `tests/messages/batches.txt`, where the rest of what is typed is.

use super::MORNING;
use super::site;

#[test]
fn a_label_is_one_line() {
    site::open(MORNING).bad("batch add --product panel --batch 'P\n1' --count 4");
}

#[test]
fn odd_labels_are_kept_as_they_are() {
    let site = site::open(MORNING);
    for label in ["A,1", "=SUM(A1)", "-12", "Ω № 7", "\"quoted\""] {
        let quoted = shlex::try_quote(label).unwrap();
        site.ok(format!("batch add --product tape --batch={quoted} --count 1"));
        let told = site.ok(format!("batch trace -- {quoted}"));
        assert_eq!(told["batches"][0]["batch"], label);
    }
}
